"""The picture of a train on its bracket: true to scale, with what is tight marked, and what fouls."""

from __future__ import annotations

from functools import cached_property

from attrs import field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.setups import Setup, turning_of
from gearcalc.fits import Fit, as_train, fit
from gearcalc.fits.gaps import Gap, Gear, Part, gears_of, part_name
from gearcalc.fits.hand_settings import (
    HandSetting,
    MeshState,
    axes_by_hand,
    mesh_states,
    nearest_setting,
    planes_by_hand,
    setting_of,
    short_gaps,
)
from gearcalc.fits.stances import ROUNDING, Layout, layout_of
from gearcalc.fits.triangles import Point
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import turning
from gearcalc.lathes.trains import Train
from gearcalc.pictures.brackets.bracket_panels import ARM_UNCHECKED, gap_sentence, mesh_words, panel, stud_words
from gearcalc.pictures.brackets.bracket_plates import bars, cover, cover_word, hidden_slots, plate
from gearcalc.pictures.brackets.bracket_rooms import room_beside
from gearcalc.pictures.brackets.bracket_sheets import BRACKET_PX, lay_out, panel_of
from gearcalc.pictures.brackets.gap_marks import gap_marks, mesh_marks, shapes, tags
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.strips import frame, strip
from gearcalc.pictures.style import FONT
from gearcalc.pictures.svg import Svg, element
from gearcalc.pictures.trains.edge_views import edge_view
from gearcalc.pictures.trains.front_views import faces, front_words
from gearcalc.pictures.trains.meshing import PlacedGear, place_train, shaft_names
from gearcalc.pictures.trains.train_pictures import TrainDrawing


def bracket_picture(
    given: Fit | Setup | Train | str, lathe: Lathe, *, clockwise: bool | None = None, caption: str | None = None
) -> Picture:
    """A train as it stands on the lathe's bracket, to scale: what is tight is marked, and what fouls.

    >>> from gearcalc.lathes import demo_lathe
    >>> picture = bracket_picture("(40 · 30)/(80 · 60)", demo_lathe("inch"))
    >>> picture.table[0]["place"], picture.table[0]["teeth"]
    ('first driver', 30)

    `given`: what fit() returned, a Setup, or a train (or its text) that is then fitted. A train that doesn't go on
    is drawn as it comes nearest to going on, with the reasons in the caption's words.
    `clockwise`: the way the first driver turns, seen from the gear end; None: as the spindle makes it turn, running
    forward, the reverse set as the Setup needs it, for all else as the lathe file describes it.
    `caption`: in place of the one made from the fit.
    Raises NotPossibleError, saying what to add, when the lathe has no bracket or no size of gear in its file.
    """
    lathe = as_lathe(lathe)
    layout = layout_of(lathe)
    result = _as_fit(given, lathe)
    clockwise, provided = _turning(given, result.train, lathe) if clockwise is None else (clockwise, "")
    drawing = BracketDrawing.of_fit(result, lathe, clockwise=clockwise, provided=provided)
    if drawing is not None:
        return drawing.picture(caption)
    words = " ".join(result.reasons)
    drawn = TrainDrawing(
        result.train,
        clockwise=clockwise,
        module_mm=layout.module_mm,
        pressure_angle_deg=lathe.gear_set.pressure_angle_deg,
        last_shaft=lathe.last_shaft,
        provided=provided,
    ).picture()
    said = caption or f"{result.train} does not go on: {words} Drawn in a row, off the bracket."
    return Picture(drawn.svg, f"{drawn.description} It does not go on: {words}", drawn.table, said)


def _as_fit(given: Fit | Setup | Train | str, lathe: Lathe) -> Fit:
    if isinstance(given, Fit):
        return given
    if not isinstance(given, Setup):
        return fit(as_train(given), lathe)
    return given.fit if given.fit is not None else fit(given.train, lathe)


def _turning(given: object, train: Train, lathe: Lathe) -> tuple[bool, str]:
    """Whether the first driver of the train drawn turns clockwise, and what that holds for."""
    same_way = train.turns_the_same_way
    turns = turning_of(lathe, given, train) if isinstance(given, Setup) else turning(lathe, same_way, None)
    return turns.first_driver, turns.provided


@frozen(slots=False, eq=False)
class BracketDrawing:
    """A train standing on a lathe's bracket, well or badly, ready to be drawn.

    >>> from gearcalc.fits.hand_settings import StudPlace
    >>> from gearcalc.lathes import demo_lathe
    >>> setting = HandSetting(-50, (StudPlace(0, 20.0),))
    >>> [mesh.state for mesh in BracketDrawing.by_hand("(40 · 30)/(80 · 60)", demo_lathe("inch"), setting).meshes]
    ['pressed', 'pressed']

    `axes_mm`: spindle side first, pivot last; `planes`: one a mesh; `reasons`: why it doesn't go on, in sentences;
    `setting`: the studs' places in their slots, None where one stands outside; `steady`: to one scale at every swing.
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
        cls, found: Fit, lathe: Lathe, *, clockwise: bool = True, provided: str = "", steady: bool = False
    ) -> BracketDrawing | None:
        """As a fit has it, or as near as that train comes; None when the bracket can't hold so many studs at all."""
        if found.swing_deg is not None:
            axes, planes, swing, setting = found.axes_mm, found.planes, found.swing_deg, setting_of(found, lathe)
        else:
            try:
                setting = nearest_setting(found.train, lathe)
            except ValueOutOfRangeError:
                return None
            axes, swing = axes_by_hand(lathe, setting), setting.swing_deg
            planes = planes_by_hand(found.train, lathe, axes)
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
        cls, train: Train | str, lathe: Lathe, setting: HandSetting, *, clockwise: bool = True, provided: str = ""
    ) -> BracketDrawing:
        """Wherever a hand has put it. Raises as axes_by_hand() does, and for a setting of other studs."""
        train, axes = as_train(train), axes_by_hand(lathe, setting)
        planes = planes_by_hand(train, lathe, axes)
        return cls(
            train, lathe, axes, planes, setting.swing_deg, setting, clockwise=clockwise, provided=provided, steady=True
        )

    @cached_property
    def layout(self) -> Layout:
        """The bracket in numbers."""
        return layout_of(self.lathe)

    @cached_property
    def gears(self) -> tuple[PlacedGear, ...]:
        """Every gear where it stands, teeth in phase, in chain order."""
        return place_train(self.train, self.axes_mm, self.planes)

    @cached_property
    def meshes(self) -> tuple[MeshState, ...]:
        """How each two neighbours mesh."""
        return mesh_states(self.train, self.lathe, self.axes_mm)

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """Every gap between parts that must not touch, the tightest first."""
        return short_gaps(self.train, self.lathe, self.axes_mm, self.planes)

    @property
    def fouls(self) -> tuple[Gap, ...]:
        """The gaps that are too small."""
        least = self.layout.bracket.running_clearance_mm - ROUNDING
        return tuple(gap for gap in self.gaps if gap.mm < least)

    def svg(self) -> Svg:
        """The drawing as SVG text."""
        width, height = BRACKET_PX
        return element(
            "svg",
            element("title", f"Train {self.train} on its bracket"),
            element("desc", self.description),
            *self._drawn(),
            xmlns="http://www.w3.org/2000/svg",
            viewBox=f"0 0 {width} {height}",
            width=width,
            height=height,
            role="img",
            font_family=FONT,
            style="max-width:100%;height:auto",
        )

    def _drawn(self) -> list[Svg]:
        layout, swing = self.layout, self.swing_deg
        sheet = lay_out(self.train, self.gears, layout, swing, steady=self.steady)
        shafts = shaft_names(self.train, "spindle side", layout.last_shaft)
        marks = [*mesh_marks(sheet, self.meshes, self.axes_mm), *gap_marks(sheet, layout, self.gaps, self.axes_mm)]
        room = room_beside(sheet, layout, marks, self.axes_mm, swing)
        words = front_words(sheet, shafts, self.clockwise, self._as_train_drawing.words_above, room)
        tagged = tags(room, marks)
        beside = panel(panel_of(sheet), layout, swing, self.setting, self.meshes, self.gaps, len(self.axes_mm))
        return [
            frame(sheet),
            cover(sheet, layout),
            plate(sheet, layout, swing),
            faces(sheet, 0.0, self.lathe.gear_set.pressure_angle_deg),
            hidden_slots(sheet, layout, swing),
            bars(sheet, layout, self.axes_mm),
            shapes(marks),
            words,
            tagged,
            cover_word(sheet, layout, room),
            edge_view(sheet),
            strip(sheet, self.lathe.gear_set.pressure_angle_deg),
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
        return " ".join(_sentence(words) for words in (*said, *self.reasons))

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
            for placed, row, (other, mm) in zip(
                self.gears, self._as_train_drawing.rows, map(self._nearest_to, self._gears_in_gaps), strict=True
            )
        )

    @cached_property
    def _gears_in_gaps(self) -> list[Gear]:
        return gears_of(self.train.chain())

    def _nearest_to(self, gear: Gear) -> tuple[Part, float]:
        gap = next(gap for gap in self.gaps if gear in (gap.one, gap.other))
        return (gap.other if gap.one == gear else gap.one), gap.mm

    @cached_property
    def _as_train_drawing(self) -> TrainDrawing:
        return TrainDrawing(
            self.train,
            self.axes_mm,
            self.planes,
            self.clockwise,
            self.layout.module_mm,
            self.lathe.gear_set.pressure_angle_deg,
            last_shaft=self.layout.last_shaft,
            provided=self.provided,
        )


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _without_articles(words: str) -> str:
    return words.replace("The ", "").replace("the ", "")
