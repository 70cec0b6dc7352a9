"""A change of gears at a glance: the trains before and after, what is moved, and when the lathe is isolated."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING, NamedTuple

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.papers.paper import width_of_words_mm
from gearcalc.papers.steps import SPANS, states_of
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import drawn_line, sheet
from gearcalc.pictures.gears_in_mesh import PlacedGear
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.room_for_words import Room, box_around, box_middle
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.pictures.train_pictures import TrainDrawing
from gearcalc.pictures.train_sheets import Sheet
from gearcalc.pictures.train_views import faces
from gearcalc.planning.gear_moves import Place

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gearcalc.papers.change_cards import ChangeCard

CHANGE_PX = (800, 416)
"""Width and height of the picture."""

_TRAIN_PX = (394, 322)  # a sheet for each train, of which the foot is left blank
_TRAINS_TOP, _TRAINS_FOOT = 30.0, 272.0
_LEFT, _RIGHT = 118.0, 786.0
_ROWS = (("isolated", 334.0), ("cover open", 356.0), ("gears turn", 378.0))
_BAR_PX = 17.0
_LABEL_PX = 36.0
_ABOVE_MM, _BELOW_MM = 7.0, 3.0
_COUNT_PT = 9.0
_HATCH = {"driver": "", "driven": "////", "idler": ""}
_BEARINGS = (210, 330, 150, 30, 180, 0, 240, 300, 120, 60, 90, 270)


def change_picture(card: ChangeCard, step: int | None = None) -> Picture:
    """The trains before and after with what becomes of each gear, over a row of the steps with this one marked.

    >>> from gearcalc.papers.change_cards import change_card
    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> lathe = demo_lathe("inch")
    >>> card = change_card(lathe, to=setup(lathe, 40, 60, "middle", 35), mounted=setup(lathe, 40, 80, "middle", 35))
    >>> print(change_picture(card, 4).description)  # doctest: +ELLIPSIS
    Before: 40 driver stays; 35 idler stays; 80 driven comes off. After: 40 driver stays; 35 idler stays; 60 driven \
goes on. Step 4 of 13: strip, front first. The lathe is isolated, the cover open...

    `step`: counted from 1; None marks none. Raises ValueOutOfRangeError for a step that there isn't.
    """
    if step is not None and not 1 <= step <= len(card.steps):
        raise ValueOutOfRangeError(f"this card has steps 1 to {len(card.steps)}", value=step)
    caption = f"From {card.before.train if card.before else 'what is mounted'} to {card.setup.train}"
    rows = tuple(_step_rows(card))
    description = f"{_gears_in_words(card)} {_over_the_steps(card, rows, step)}"
    svg = sheet(CHANGE_PX, caption, description, *_trains(card), _steps(rows, step))
    at = "" if step is None else f"; step {step} of {len(rows)}"
    return Picture(svg, description, rows, f"{caption}{at}")


def _lower(words: str) -> str:
    return words[0].lower() + words[1:]


# What is said.


def _step_rows(card: ChangeCard) -> Iterator[Row]:
    for number, (step, state) in enumerate(zip(card.steps, states_of(card.steps), strict=True), 1):
        yield {
            "step": number,
            "what": step.title,
            "key": step.key,
            "isolated": state.isolated,
            "cover open": state.cover_open,
            "only if": state.only_if,
            "gears turn by": step.turned_by,
        }


def _over_the_steps(card: ChangeCard, rows: Sequence[Row], step: int | None) -> str:
    if step is not None:
        start = f"Step {step} of {len(rows)}: {_lower(card.steps[step - 1].title)}."
        return f"{start} {_state_in_words(rows[step - 1])}"
    spans = []
    for name in ("isolated", "cover open"):
        begun, done = _span(rows, name)
        spans.append(f"{name} from step {begun} until step {done}{_only_if(rows, name)}")
    return f"Of {len(rows)} steps: {'; '.join(spans)}."


def _span(rows: Sequence[Row], name: str) -> tuple[int, int]:
    """The steps in which something begins and ends."""
    at = {str(row["key"]): int(str(row["step"])) for row in rows}
    start, end = SPANS[name]
    return at[start], at[end]


def _only_if(rows: Sequence[Row], name: str) -> str:
    """When the cover is opened at all, where that is not always so."""
    told = next((str(row["only if"]) for row in rows if row["only if"]), "")
    return f", only if {told}" if told and name == "cover open" else ""


def _state_in_words(row: Row) -> str:
    isolated = "isolated" if row["isolated"] else "not isolated"
    turns = f"the gears turn by {row['gears turn by']}" if row["gears turn by"] else "nothing turns"
    cover = f"open only if {row['only if']}" if row["only if"] else "open" if row["cover open"] else "closed"
    return f"The lathe is {isolated}, the cover {cover}, and {turns}."


def _gears_in_words(card: ChangeCard) -> str:
    parts = []
    if card.before is not None:
        parts.append(f"Before: {_each(card.before, _fate_before(card))}.")
    parts.append(f"After: {_each(card.after, _fate_after(card))}.")
    return " ".join(parts)


def _each(drawing: TrainDrawing, fate: Callable[[PlacedGear], str]) -> str:
    words = {"off": "comes off", "on": "goes on", "stays": "stays", "aside": "is in the way", "back": "goes back on"}
    return "; ".join(f"{gear.teeth} {gear.kind} {words[fate(gear)]}" for gear in drawing.gears)


def _fate_before(card: ChangeCard) -> Callable[[PlacedGear], str]:
    off, aside = set(map(_where, card.change.moves.off)), set(map(_where, card.change.moves.in_the_way))
    return lambda gear: (
        "aside" if (gear.shaft, gear.plane) in aside else "off" if (gear.shaft, gear.plane) in off else "stays"
    )


def _fate_after(card: ChangeCard) -> Callable[[PlacedGear], str]:
    on = set(map(_where, card.change.moves.on))
    back = {(place.plane, place.teeth, place.role) for place in card.change.moves.in_the_way}

    def fate(gear: PlacedGear) -> str:
        if (gear.shaft, gear.plane) not in on:
            return "stays"
        return "back" if (gear.plane, gear.teeth, gear.kind) in back else "on"

    return fate


def _where(place: Place) -> tuple[int, int]:
    return place.shaft, place.plane


# What is drawn.


def _trains(card: ChangeCard) -> list[Svg]:
    parts = [drawn_line(f"M400 {_TRAINS_TOP - 18}V{_TRAINS_FOOT}", style.FAINT, 1.0)]
    if card.before is not None:
        parts.append(_train("Before", card.before, _fate_before(card), 6.0))
    else:
        parts.append(text_line("Before: what you find. Draw it first.", 200, 150, size=style.WORD_PX, fill=style.SOFT))
    parts.append(_train("After", card.after, _fate_after(card), 400.0))
    return parts


def _train(heading: str, drawing: TrainDrawing, fate: Callable[[PlacedGear], str], left: float) -> Svg:
    laid = _moved(
        Sheet.lay_out(drawing.train, drawing.gears, drawing.module_mm, _TRAIN_PX, with_edge_view=False),
        left,
        _TRAINS_TOP - 16,
    )
    box = left + 10, _TRAINS_TOP - 16, left + 80, _TRAINS_TOP + 10
    room = Room(laid.front, [laid.disc(gear) for gear in laid.gears], [box])
    return element(
        "g",
        text_line(heading, left + 18, _TRAINS_TOP, size=15, anchor="start", font_weight="bold"),
        faces(laid, 0.0, drawing.pressure_angle_deg),
        *(_label(laid, room, gear, fate(gear)) for gear in laid.gears),
    )


def _moved(laid: Sheet, across: float, down: float) -> Sheet:
    """The same on another place of the picture."""
    x, y = laid.origin_px
    left, top, right, bottom = laid.front
    return replace(
        laid, origin_px=(x + across, y + down), front=(left + across, top + down, right + across, bottom + down)
    )


_SAID = {"off": "off", "on": "on", "stays": "stays", "aside": "in the way", "back": "back on"}


def _label(laid: Sheet, room: Room, gear: PlacedGear, fate: str) -> Svg:
    """The tooth count and what becomes of the gear, on its face or beside it with a line to its rim."""
    words = _SAID[fate]
    disc = laid.disc(gear)
    in_front = [laid.disc(other) for other in laid.in_front_of(gear)]
    width = max(style.text_width_px(str(gear.teeth), 17), style.text_width_px(words, style.WORD_PX)) + 8
    hidden = any(other.shaft == gear.shaft and other.plane > gear.plane for other in laid.gears)
    middle = box_around(disc[0], disc[1], width, _LABEL_PX)
    in_the_middle = room.is_off(middle, in_front) and width**2 + _LABEL_PX**2 <= 4 * disc[2] ** 2
    box = None if hidden else middle if in_the_middle else room.inside(disc, 0.0, in_front, width, _LABEL_PX)
    if box is not None:
        room.take(box)
        x, _ = box_middle(box)
        return element(
            "g",
            element(
                "rect",
                x=box[0],
                y=box[1],
                width=box[2] - box[0],
                height=box[3] - box[1],
                rx=5,
                fill=style.PAPER,
                stroke=style.INK if fate != "stays" else "none",
                stroke_width=1.4,
            ),
            text_line(str(gear.teeth), x, box[1] + 16, size=17, font_weight="bold"),
            text_line(words, x, box[3] - 5, size=style.WORD_PX),
        )
    return _beside(room, gear, disc, words, hidden)


def _beside(room: Room, gear: PlacedGear, disc: tuple[float, float, float], words: str, hidden: bool) -> Svg:
    said = f"{gear.teeth} {words}"
    width = style.text_width_px(said, style.WORD_PX) + 8
    box = room.beside(disc, width, 18, _BEARINGS, 8.0) or box_around(disc[0], disc[1] + disc[2] + 12, width, 18)
    room.take(box)
    x, y = box_middle(box)
    edge = min(max(disc[0], box[0]), box[2]), min(max(disc[1], box[1]), box[3])
    away = max(((edge[0] - disc[0]) ** 2 + (edge[1] - disc[1]) ** 2) ** 0.5, 1.0)
    rim = tuple(c + (disc[2] - 2) * (e - c) / away for c, e in zip(disc[:2], edge, strict=True))
    return element(
        "g",
        element(
            "circle",
            cx=disc[0],
            cy=disc[1],
            r=disc[2] if hidden else 0,
            fill="none",
            stroke=style.INK,
            stroke_width=1,
            stroke_dasharray="5 3",
        ),
        drawn_line(f"M{edge[0]:.1f} {edge[1]:.1f}L{rim[0]:.1f} {rim[1]:.1f}", style.INK, 0.9),
        element("circle", cx=rim[0], cy=rim[1], r=2, fill=style.INK),
        text_line(said, x, y + 4.5, size=style.WORD_PX, font_weight="bold"),
    )


def _steps(rows: Sequence[Row], step: int | None) -> Svg:
    """A column a step, bars for as long as the lathe is isolated and the cover open, and what turns the gears.

    A bar begins and ends in the middle of the step that brings it about, so that one is seen to lie inside the other.
    """
    width = (_RIGHT - _LEFT) / len(rows)
    parts = [drawn_line(f"M14 {_TRAINS_FOOT + 6}H{CHANGE_PX[0] - 14}", style.FAINT, 1.0)]
    if step is not None:
        here = _LEFT + (step - 1) * width
        parts.append(
            element(
                "rect",
                x=here + 1,
                y=_TRAINS_FOOT + 12,
                width=width - 2,
                height=118,
                rx=4,
                fill=style.tint(style.YELLOW, 0.45),
                stroke=style.INK,
                stroke_width=1.8,
            )
        )
    for row in rows:
        x = _LEFT + (int(str(row["step"])) - 0.5) * width
        weight = "bold" if row["step"] == step else None
        parts.append(text_line(str(row["step"]), x, _TRAINS_FOOT + 30, size=style.WORD_PX, font_weight=weight))
        parts.append(text_line(str(row["key"]), x, _TRAINS_FOOT + 47, size=11.5))
    for (name, y), tone in zip(_ROWS, (style.SKY, style.ORANGE, style.FAINT), strict=True):
        parts.append(text_line(name, _LEFT - 8, y + 12.5, size=style.WORD_PX, anchor="end"))
        parts += [_bar(rows, name, y, width, tone)] if name != "gears turn" else _turning(rows, y, width)
    return element("g", *parts)


def _bar(rows: Sequence[Row], name: str, y: float, width: float, tone: str) -> Svg:
    """One bar from the step that begins it to the one that ends it; dashed, and with a word, where it need not come."""
    left, right = (_LEFT + (step - 0.5) * width for step in _span(rows, name))
    perhaps = bool(_only_if(rows, name))
    bar = element(
        "rect",
        x=left,
        y=y,
        width=right - left,
        height=_BAR_PX,
        rx=3,
        stroke=style.INK,
        stroke_width=1.2,
        fill=style.PAPER if perhaps else style.tint(tone, 0.6),
        stroke_dasharray="5 3" if perhaps else None,
    )
    if not perhaps:
        return bar
    return element("g", bar, text_line("only if reached under it", (left + right) / 2, y + 12.5, size=style.SMALL_PX))


def _turning(rows: Sequence[Row], y: float, width: float) -> list[Svg]:
    return [
        text_line(
            str(row["gears turn by"]),
            _LEFT + (int(str(row["step"])) - 0.5) * width,
            y + 12.5,
            size=style.SMALL_PX,
            font_weight="bold",
        )
        for row in rows
        if row["gears turn by"]
    ]


# A train on paper, in millimetres.


Disc = tuple[float, float, float]
"""A gear on a sheet: its middle and its radius, mm."""


class Frame(NamedTuple):
    """A box on a sheet, mm from its lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    def within(self, other: Frame) -> bool:
        """Whether it lies inside another, clear of its frame and of the words at its top."""
        across = other.left + 1 < self.left and self.left + self.width < other.left + other.width - 1
        return across and other.bottom + 1 < self.bottom and self.bottom + self.height < other.height - _ABOVE_MM

    def meets(self, disc: Disc) -> bool:
        """Whether a disc touches it."""
        x, y = disc[0] - self.left, disc[1] - self.bottom
        return hypot(x - min(max(x, 0.0), self.width), y - min(max(y, 0.0), self.height)) < disc[2] + 0.3


def draw_train(axes: Axes, drawing: TrainDrawing, frame: Frame, heading: str) -> None:
    """The train as seen from the gear end, in a box on a sheet that is measured in mm.

    Drivers carry a ring, driven gears are hatched, idlers are plain, so that print without colour tells them apart.
    """
    from matplotlib.patches import Circle, Polygon, Rectangle

    axes.add_patch(
        Rectangle(frame[:2], frame.width, frame.height, fill=False, edgecolor=style.SOFT, linewidth=0.6, clip_on=False)
    )
    axes.text(
        frame.left + 2,
        frame.bottom + frame.height - 4.5,
        heading,
        size=8,
        weight="bold",
        color=style.INK,
        parse_math=False,
    )
    outlines = drawing.outlines(0.0, 4)
    scale, shift_x, shift_y = _to_the_sheet([point for outline in outlines for point in outline], frame)
    discs: list[Disc] = []
    for gear, outline in zip(drawing.gears, outlines, strict=True):
        x, y = shift_x + scale * gear.centre_mm[0], shift_y + scale * gear.centre_mm[1]
        radius = scale * drawing.module_mm * (gear.teeth / 2 + 1)
        discs.append((x, y, radius))
        look, above = style.LOOKS[gear.kind], 2 + gear.plane
        placed = [(shift_x + scale * a, shift_y + scale * b) for a, b in outline]
        axes.add_patch(
            Polygon(
                placed,
                closed=True,
                hatch=_HATCH[gear.kind],
                facecolor=look.fill,
                edgecolor=style.INK,
                linewidth=0.5,
                zorder=above,
            )
        )
        if look.ring:
            axes.add_patch(Circle((x, y), 0.8 * radius, fill=False, edgecolor=look.accent, linewidth=1.2, zorder=above))
    taken: list[Frame] = []
    for gear, disc in sorted(zip(drawing.gears, discs, strict=True), key=lambda each: -each[0].plane):
        hidden = any(other.shaft == gear.shaft and other.plane > gear.plane for other in drawing.gears)
        if hidden:  # its rim dashed over what stands before it, as hidden edges are drawn
            axes.add_patch(
                Circle(
                    disc[:2], disc[2], fill=False, edgecolor=style.INK, linewidth=0.7, linestyle=(0, (4, 2)), zorder=18
                )
            )
        before = [other for one, other in zip(drawing.gears, discs, strict=True) if one.plane > gear.plane]
        words = str(gear.teeth)
        label = None if hidden else _on_the_face(words, disc, before, taken)
        spot = None if label is not None else _free_spot(words, disc, discs, taken, frame)
        taken.append(label or _around(words, spot or disc[:2]))
        _count(axes, words, disc, spot)


def _to_the_sheet(points: Sequence[tuple[float, float]], frame: Frame) -> tuple[float, float, float]:
    """Scale and shift that put these points into the middle of the frame."""
    low_x, high_x = min(x for x, _ in points), max(x for x, _ in points)
    low_y, high_y = min(y for _, y in points), max(y for _, y in points)
    room_x, room_y = frame.width - 22, frame.height - _ABOVE_MM - _BELOW_MM
    scale = min(room_x / (high_x - low_x), room_y / (high_y - low_y))
    middle_x, middle_y = frame.left + frame.width / 2, frame.bottom + _BELOW_MM + room_y / 2
    return scale, middle_x - scale * (low_x + high_x) / 2, middle_y - scale * (low_y + high_y) / 2


def _count(axes: Axes, words: str, disc: Disc, beside: tuple[float, float] | None) -> None:
    """A tooth count in the middle of a gear, or beside one that another hides, with a line to its rim."""
    x, y, radius = disc
    if beside is not None:
        away = hypot(beside[0] - x, beside[1] - y)
        rim = x + (radius - 0.8) * (beside[0] - x) / away, y + (radius - 0.8) * (beside[1] - y) / away
        axes.plot([rim[0], beside[0]], [rim[1], beside[1]], color=style.INK, linewidth=0.7, zorder=19)
        x, y = beside
    axes.text(
        x,
        y,
        words,
        size=_COUNT_PT,
        weight="bold",
        color=style.INK,
        ha="center",
        va="center",
        zorder=20,
        parse_math=False,
        bbox={"boxstyle": "round,pad=0.15", "facecolor": style.PAPER, "edgecolor": "none"},
    )


def _around(words: str, middle: tuple[float, float]) -> Frame:
    """What a tooth count takes there, its paper included."""
    width, height = width_of_words_mm(words, _COUNT_PT, bold=True) + 1.4, 1.25 * _COUNT_PT * 25.4 / 72
    return Frame(middle[0] - width / 2, middle[1] - height / 2, width, height)


def _on_the_face(words: str, disc: Disc, before: Sequence[Disc], taken: Sequence[Frame]) -> Frame | None:
    """The middle of the face, where the gear is seen round its label and nothing stands before it; else None."""
    label = _around(words, disc[:2])
    seen = hypot(label.width, label.height) <= 1.5 * disc[2]
    return label if seen and not any(label.meets(other) for other in before) and not _on_any(label, taken) else None


def _free_spot(
    words: str, disc: Disc, discs: Sequence[Disc], taken: Sequence[Frame], frame: Frame
) -> tuple[float, float]:
    """A place near a gear's rim, off every gear and label and within the box; the nearest that serves."""
    x, y, radius = disc
    for further in range(4, 60, 3):
        for bearing in (180, 0, 150, 30, 210, 330, 240, 300, 120, 60, 90, 270):
            spot = (x + (radius + further) * cos(radians(bearing)), y + (radius + further) * sin(radians(bearing)))
            label = _around(words, spot)
            if label.within(frame) and not any(map(label.meets, discs)) and not _on_any(label, taken):
                return spot
    return x, y + radius / 2


def _on_any(label: Frame, taken: Sequence[Frame]) -> bool:
    return any(
        label.left < other.left + other.width
        and other.left < label.left + label.width
        and label.bottom < other.bottom + other.height
        and other.bottom < label.bottom + label.height
        for other in taken
    )
