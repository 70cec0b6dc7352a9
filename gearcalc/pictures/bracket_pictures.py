"""The picture of a train on its bracket: true to scale, what is tight or fouls marked, and the panel beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from textwrap import wrap

from attrs import field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.mounted import own_setup
from gearcalc.finding.setups import Setup, turning_of
from gearcalc.fits import Fit, as_train, fit
from gearcalc.fits.arrangements import idle_gears
from gearcalc.fits.by_hand import (
    HandSetting,
    MeshState,
    axes_by_hand,
    mesh_states,
    nearest_setting,
    planes_by_hand,
    setting_of,
    short_gaps,
)
from gearcalc.fits.gaps import Gap, Part, part_name
from gearcalc.fits.geometry import ROUNDING, Layout, Point, layout_of
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import turning
from gearcalc.lathes.trains import Gear, Train, TrainLike, gears_of, shaft_names
from gearcalc.pictures.bracket_marks import gap_marks, gap_words, mesh_marks, room_beside, shapes, tags
from gearcalc.pictures.bracket_sheets import (
    BRACKET_PX,
    bars,
    cover,
    cover_word,
    hidden_slots,
    lay_out,
    panel_of,
    plate,
    swing_dial,
)
from gearcalc.pictures.gears_in_mesh import PlacedGear
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.room_for_words import Box
from gearcalc.pictures.style import SMALL_PX, SOFT, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, document, drawn_line, element, note, paper, text_line
from gearcalc.pictures.train_pictures import TrainDrawing, other_sizes
from gearcalc.pictures.train_sheets import strip
from gearcalc.pictures.train_views import edge_view, faces, front_words


def bracket_picture(
    lathe: Lathe, train_or_setup: TrainLike | Setup | Fit, *, clockwise: bool | None = None, caption: str | None = None
) -> Picture:
    """Draw a train as it stands on the lathe's bracket, to scale: what is tight is marked, and what fouls.

    >>> from gearcalc.lathes import demo_lathe
    >>> picture = bracket_picture(demo_lathe("inch"), "(40 · 30)/(80 · 60)")
    >>> picture.table[0]["place"], picture.table[0]["teeth"]
    ('first driver', 30)

    `lathe`: a Lathe with a bracket. `train_or_setup`: a Setup, what fit() returned, or a train (or its text) that is
    then fitted. A train that doesn't go on is drawn as it comes nearest to going on, with the reasons in the caption's
    words.
    `clockwise`: the way the first driver turns, seen from the gear end; None: as the spindle makes it turn, running
    forward, the reverse set as the Setup needs it, for all else as the lathe file describes it.
    `caption`: in place of the one made from the fit.
    Raises NotPossibleError, saying what to add, when the lathe has no bracket or no size of gear in its file.
    """
    lathe = as_lathe(lathe)
    layout = layout_of(lathe)
    result = _as_fit(lathe, train_or_setup)
    clockwise, provided = _turning(lathe, train_or_setup, result.train) if clockwise is None else (clockwise, "")
    drawing = BracketDrawing.of_fit(lathe, result, clockwise=clockwise, provided=provided)
    if drawing is not None:
        return drawing.picture(caption)
    words = " ".join(result.reasons)
    row = TrainDrawing(
        result.train,
        clockwise=clockwise,
        module_mm=layout.module_mm,
        pressure_angle_deg=lathe.gear_set.pressure_angle_deg,
        sizes=other_sizes(lathe),
        last_shaft=lathe.last_shaft,
        provided=provided,
    )
    said = f"{row.description} It does not go on: {words}"
    caption = caption or f"{result.train} does not go on: {words} Drawn in a row, off the bracket."
    return Picture(row.svg(description=said), said, row.rows, caption)


def _as_fit(lathe: Lathe, given: TrainLike | Setup | Fit) -> Fit:
    if isinstance(given, Fit):
        return given
    if not isinstance(given, Setup):
        return fit(lathe, as_train(given))
    own_setup(lathe, given)
    return given.fit if given.fit is not None else fit(lathe, given.train)


def _turning(lathe: Lathe, given: object, train: Train) -> tuple[bool, str]:
    """Whether the first driver of the train drawn turns clockwise, and what that holds for."""
    same_way = train.turns_the_same_way
    turns = turning_of(given, train) if isinstance(given, Setup) else turning(lathe, same_way, None)
    return turns.first_driver, turns.provided


@frozen(slots=False, eq=False)
class BracketDrawing:
    """A train standing on a lathe's bracket, well or badly, ready to be drawn.

    >>> from gearcalc.fits.by_hand import StudPlace
    >>> from gearcalc.lathes import demo_lathe
    >>> setting = HandSetting(-50, (StudPlace(0, 20.0),))
    >>> [mesh.state for mesh in BracketDrawing.by_hand(demo_lathe("inch"), "(40 · 30)/(80 · 60)", setting).meshes]
    ['pressed', 'pressed']

    `axes_mm`: spindle side first, pivot last; `planes`: one a mesh, then one for each idle gear; `reasons`: why it
    doesn't go on, in sentences; `setting`: the studs' places in their slots, None where one stands outside; `steady`:
    to one scale at every swing.
    Made by of_fit() and by_hand().
    """

    train: Train
    lathe: Lathe
    axes_mm: tuple[Point, ...]
    planes: tuple[int, ...]
    swing_deg: float
    setting: HandSetting | None
    reasons: tuple[str, ...] = ()
    goes_on: bool | None = None
    clockwise: bool = field(default=True, kw_only=True)
    provided: str = field(default="", kw_only=True)
    steady: bool = field(default=False, kw_only=True)

    @classmethod
    def of_fit(
        cls, lathe: Lathe, found: Fit, *, clockwise: bool = True, provided: str = "", steady: bool = False
    ) -> BracketDrawing | None:
        """As a fit has it, or as near as that train comes; None when the bracket can't hold so many studs at all."""
        if found.swing_deg is not None:
            axes, swing, setting = found.axes_mm, found.swing_deg, setting_of(lathe, found)
            planes = (*found.planes, *(plane for _, _, plane in found.idle_gears))
        else:
            try:
                setting = nearest_setting(lathe, found.train)
            except ValueOutOfRangeError:
                return None
            axes, swing = axes_by_hand(lathe, setting), setting.swing_deg
            planes = planes_by_hand(lathe, found.train, axes)
        return cls(
            found.train,
            lathe,
            axes,
            planes,
            swing,
            setting,
            found.reasons,
            found.goes_on,
            clockwise=clockwise,
            provided=provided,
            steady=steady,
        )

    @classmethod
    def by_hand(
        cls, lathe: Lathe, train: Train | str, setting: HandSetting, *, clockwise: bool = True, provided: str = ""
    ) -> BracketDrawing:
        """Wherever a hand has put it. Raises as axes_by_hand() does, and for a setting of other studs."""
        train, axes = as_train(train), axes_by_hand(lathe, setting)
        planes = planes_by_hand(lathe, train, axes)
        return cls(
            train, lathe, axes, planes, setting.swing_deg, setting, clockwise=clockwise, provided=provided, steady=True
        )

    @cached_property
    def layout(self) -> Layout:
        """The bracket in numbers."""
        return layout_of(self.lathe)

    @cached_property
    def gears(self) -> tuple[PlacedGear, ...]:
        """Every gear where it stands, teeth in phase, in chain order; then the idle gears."""
        return self._as_train_drawing.gears

    @cached_property
    def meshes(self) -> tuple[MeshState, ...]:
        """How each two neighbours mesh."""
        return mesh_states(self.lathe, self.train, self.axes_mm)

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """Every gap between parts that must not touch, the tightest first."""
        return short_gaps(self.lathe, self.train, self.axes_mm, self.planes)

    @property
    def fouls(self) -> tuple[Gap, ...]:
        """The gaps that are too small."""
        least = self.layout.bracket.running_clearance_mm - ROUNDING
        return tuple(gap for gap in self.gaps if gap.mm < least)

    def svg(self) -> Svg:
        """The drawing as SVG text."""
        return document(BRACKET_PX, f"Train {self.train} on its bracket", self.description, *self._drawn())

    def _drawn(self) -> list[Svg]:
        layout, swing = self.layout, self.swing_deg
        sheet = lay_out(self.train, self.gears, layout, swing, steady=self.steady)
        shafts = shaft_names(self.train.shafts, last=layout.last_shaft)
        marks = [*mesh_marks(sheet, self.meshes, self.axes_mm), *gap_marks(sheet, layout, self.gaps, self.axes_mm)]
        room = room_beside(sheet, layout, marks, self.axes_mm, swing)
        words = front_words(sheet, shafts, self.clockwise, self._as_train_drawing.words_above, room)
        tagged = tags(room, marks)
        beside = panel(panel_of(sheet), layout, swing, self.setting, self.meshes, self.gaps, len(self.axes_mm))
        return [
            paper(BRACKET_PX),
            cover(sheet, layout),
            plate(sheet, layout, swing),
            faces(sheet, 0.0),
            hidden_slots(sheet, layout, swing),
            bars(sheet, layout, self.axes_mm),
            shapes(marks),
            words,
            tagged,
            cover_word(sheet, layout, room),
            edge_view(sheet),
            strip(sheet),
            beside,
        ]

    def picture(self, caption: str | None = None) -> Picture:
        """The drawing with its description and its table."""
        if caption is None:
            where = "" if self.goes_on is None else " goes on" if self.goes_on else " does not go on"
            swung = f"bracket swung to {writing.decimal(self.swing_deg, 1)}°"
            caption = f"{self.train}{where}, {swung}, seen from the gear end, to scale. {' '.join(self.reasons)}"
        return Picture(self.svg(), self.description, self.rows, caption)

    @cached_property
    def description(self) -> str:
        """What the drawing shows, in words."""
        low, high = self.layout.bracket.swing_deg
        said = [
            self._as_train_drawing.description,
            f"The bracket swings about the {self.layout.last_shaft}, its pivot.",
            f"It is swung to {writing.decimal(self.swing_deg, 1)}°, anticlockwise counted as plus.",
            f"Its stops are at {writing.decimal(low, 1)}° and {writing.decimal(high, 1)}°.",
        ]
        names = self._as_train_drawing.shafts[1:-1]
        for name, place in zip(names, stud_words(self.layout, self.setting), strict=False):
            said.append(f"The {name} stands {place}.")
        said += [f"Mesh of {mesh_words(mesh)}." for mesh in self.meshes]
        said.append(ARM_UNCHECKED)
        sentences = [gap_sentence(gap, len(self.axes_mm), self.layout) for gap in self.fouls or self.gaps[:3]]
        told = _without_articles(" ".join(self.reasons))
        said += [f"{words}." for words in sentences if _without_articles(words) not in told]
        return " ".join(markup.sentence(words) for words in (*said, *self.reasons))

    @property
    def rows(self) -> tuple[Row, ...]:
        """A row a gear: where it stands and how it turns, and what it comes nearest to."""
        return tuple(
            {
                **{key: value for key, value in row.items() if not key.startswith("turns for")},
                "mm across from the pivot": writing.decimal(placed.centre_mm[0], 1),
                "mm up from it": writing.decimal(placed.centre_mm[1], 1),
                "comes nearest to": part_name(other, len(self.axes_mm), self.layout.last_shaft),
                "mm between": writing.decimal(mm, 1),
            }
            for placed, row, gear in zip(self.gears, self._as_train_drawing.rows, self._parts, strict=True)
            for other, mm in (self._nearest_to(gear),)
        )

    @property
    def _parts(self) -> list[Gear]:
        chain = self.train.chain()
        return [*gears_of(chain), *idle_gears(chain)]

    def _nearest_to(self, gear: Gear) -> tuple[Part, float]:
        gap = next(gap for gap in self.gaps if gear in (gap.one, gap.other))
        return (gap.other if gap.one == gear else gap.one), gap.mm

    @cached_property
    def _as_train_drawing(self) -> TrainDrawing:
        return TrainDrawing(
            self.train,
            self.axes_mm,
            self.planes[: self.train.meshes],
            self.clockwise,
            self.layout.module_mm,
            self.lathe.gear_set.pressure_angle_deg,
            sizes=other_sizes(self.lathe),
            idle=tuple((gear.teeth, gear.axis, self.planes[gear.mesh]) for gear in idle_gears(self.train.chain())),
            last_shaft=self.layout.last_shaft,
            provided=self.provided,
        )


def _without_articles(words: str) -> str:
    return words.replace("The ", "").replace("the ", "")


# The panel beside a train on its bracket: the swing, how each mesh stands, and what is tight or fouls, in words.


ARM_UNCHECKED = "Not checked: the edge of the arm, which no lathe file gives."
"""What a fit leaves to the eye: a lathe file has the slots of the bracket, and not its outline."""

_LINE_PX = SMALL_PX + 4
_MOST_GAPS = 4


def panel(
    box: Box,
    layout: Layout,
    swing_deg: float,
    setting: HandSetting | None,
    meshes: Iterable[MeshState],
    gaps: Iterable[Gap],
    axes: int,
) -> Svg:
    """The dial of the swing, under it as many lines as there is room for, and below what is not checked."""
    dial, y = swing_dial(layout, swing_deg, box)
    parts, y = [dial], y + 22
    width = box[2] - box[0]
    in_short = f"{ARM_UNCHECKED.partition(',')[0]}."
    parts.append(note(in_short, box[2], box[3] + _LINE_PX, size=SMALL_PX, anchor="end"))
    for bold, words in _paragraphs(layout, setting, meshes, gaps, axes):
        letters = int(1.08 * width / text_width_px("m", WORD_PX if bold else SMALL_PX))  # estimated on the wide side
        lines = wrap(words, letters, break_long_words=False, break_on_hyphens=False)
        if y + len(lines) * _LINE_PX > box[3] + 2:
            break
        for number, line in enumerate(lines):
            size, weight = (WORD_PX, "bold") if bold else (SMALL_PX, None)
            x = box[0] + (10 if number and not bold else 0)
            parts.append(text_line(line, x, y, size=size, anchor="start", font_weight=weight))
            y += _LINE_PX + (2 if bold else 0)
        y += 0 if bold else 3
    parts.append(drawn_line(f"M{box[0] - 12} {box[1] - 4}V{box[3]}", SOFT, 0.6))
    return element("g", *parts, class_="panel")


def _paragraphs(
    layout: Layout, setting: HandSetting | None, meshes: Iterable[MeshState], gaps: Iterable[Gap], axes: int
) -> Iterator[tuple[bool, str]]:
    """(bold, words), in the order of use at the machine."""
    studs = stud_words(layout, setting)
    if studs:
        yield True, "Studs, from the spindle side" if len(studs) > 1 else "Stud"
        yield from ((False, words) for words in studs)
    yield True, "Meshes"
    yield from ((False, mesh_words(mesh)) for mesh in meshes)
    gaps = list(gaps)
    least = layout.bracket.running_clearance_mm
    fouls = [gap for gap in gaps if gap.mm < least - ROUNDING]
    yield True, "In the way" if fouls else "Tightest"
    for gap in (fouls or gaps)[:_MOST_GAPS]:
        yield False, gap_sentence(gap, axes, layout)


def stud_words(layout: Layout, setting: HandSetting | None) -> list[str]:
    """Where each stud stands in its slot, in words; none where no slot holds them."""
    if setting is None:
        return []
    words = []
    for place in setting.studs:
        slot = layout.slots[place.slot]
        which = f" {('first', 'second', 'third', 'fourth', 'fifth')[place.slot]}" if 1 < len(layout.slots) < 6 else ""
        along, whole = (writing.decimal(length, 1) for length in (place.along_mm, slot.length))
        words.append(f"{along} mm along the{which} slot of {whole} mm")
    return words


def mesh_words(mesh: MeshState) -> str:
    """The two gears and how they mesh.

    >>> from gearcalc.fits.by_hand import mesh_states
    >>> from gearcalc.lathes import demo_lathe
    >>> mesh_words(mesh_states(demo_lathe("inch"), "40/80", ((75.3, 0), (0, 0)))[0])
    '40 and 80: good, 0.22 mm of backlash'
    """
    return f"{mesh.one.teeth} and {mesh.other.teeth}: {mesh.words.replace(':', ',')}"


def gap_sentence(gap: Gap, axes: int, layout: Layout) -> str:
    """What is between two parts, or by how much one is in the other's way."""

    def name(part: Part) -> str:
        return part_name(part, axes, layout.last_shaft)

    words = gap_words(gap.mm, layout.bracket.running_clearance_mm)
    if gap.mm < 0:
        return f"{name(gap.one)} fouls {name(gap.other)} by {words.removeprefix('fouls ')}"
    return f"{words}: {name(gap.one)} to {name(gap.other)}"
