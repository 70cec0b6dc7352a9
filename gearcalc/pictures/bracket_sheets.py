"""The sheet for a train on its bracket, and the bracket itself: plate, slots, studs, its swing, the cover."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from math import atan2, cos, dist, hypot, pi, radians, sin

from gearcalc.basics import writing
from gearcalc.fits.geometry import PIVOT, Layout, Line, turned
from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import PlacedGear, Point
from gearcalc.pictures.room_for_words import Box, Room, box_around
from gearcalc.pictures.style import FAINT, FRAME_PX, INK, PAPER, SMALL_PX, STEEL, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, path_of, shape, text_line
from gearcalc.pictures.train_sheets import Sheet, view_boxes

BRACKET_PX = (672, 584)
"""Width and height of the picture."""
PANEL_PX = 200.0
"""Width of the panel on the right, for what is measured."""

_SIDE_PX, _MARGIN_PX = 12.0, 31.0  # above the gears stand two lines of words
_METAL_MM = 6.0  # of the plate beside a slot: the lathe's file does not say, so a usual amount
_ROUND_STEPS = 24
_SWEEP_STEPS = 12


def lay_out(
    train: Train, gears: tuple[PlacedGear, ...], layout: Layout, swing_deg: float, *, steady: bool = False
) -> Sheet:
    """The gears and the whole bracket in the front view, the unfolded row beneath it, the panel on the right.

    `steady`: with room for the bracket however it is swung, so that the scale stays while a hand swings it.
    """
    idle = sum(gear.kind == "idle" for gear in gears)
    planes = train.meshes + idle if steady else 1 + max(gear.plane for gear in gears)
    (left, top, right, bottom), edge = view_boxes(BRACKET_PX, planes, _SIDE_PX)
    front = left, top, right - PANEL_PX, bottom
    reach = _reach_mm(gears, layout, swing_deg, steady)
    return Sheet.fitted(train, gears, layout.module_mm, BRACKET_PX, front, edge, reach, _MARGIN_PX)


def panel_of(sheet: Sheet) -> Box:
    """The box of the panel."""
    return sheet.front[2], sheet.front[1] + 8, sheet.size_px[0] - FRAME_PX - _SIDE_PX, sheet.front[3] - 4


def swung_slots(layout: Layout, swing_deg: float) -> tuple[Line, ...]:
    """The centre lines of the slots with the bracket swung."""
    angle = radians(swing_deg)
    return tuple(Line(turned(slot.start, angle), turned(slot.direction, angle), slot.length) for slot in layout.slots)


def plate_outline(layout: Layout, swing_deg: float) -> list[Point]:
    """The bracket's plate, mm: the tightest outline round the pivot and the slots, with metal left all round.

    The lathe's file tells slots and pivot but not the plate, so this is what the plate must at least be.
    """
    bracket = layout.bracket
    discs = [(PIVOT, bracket.shaft_radius_mm + _METAL_MM)]
    for slot in swung_slots(layout, swing_deg):
        discs += [(end, bracket.stud_radius_mm + _METAL_MM) for end in (slot.start, slot.at(slot.length))]
    turns = [2 * pi * step / _ROUND_STEPS for step in range(_ROUND_STEPS)]
    points = sorted({(x + r * cos(turn), y + r * sin(turn)) for (x, y), r in discs for turn in turns})
    return [*_edge(points), *_edge(points[::-1])]


def _edge(points: Sequence[Point]) -> list[Point]:
    """The points that a string pulled along them from the right-hand side would touch, all but the last."""
    edge: list[Point] = []
    for x, y in points:
        while len(edge) > 1:
            (x1, y1), (x2, y2) = edge[-2:]
            if (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1) > 0:  # the way goes on to the left
                break
            edge.pop()
        edge.append((x, y))
    return edge[:-1]


def _reach_mm(
    gears: Sequence[PlacedGear], layout: Layout, swing_deg: float, steady: bool
) -> list[tuple[float, float, float]]:
    """Discs that must be in view, x, y and radius, mm: gears, plate and cover, and where they may be swung to."""
    reach = [(*gear.centre_mm, layout.outside_radius(gear.teeth)) for gear in gears]
    if steady:
        last = max(gear.shaft for gear in gears)
        swings = [radians(swing - swing_deg) for swing in _sweep(layout)]
        reach += [
            (*turned(gear.centre_mm, swing), layout.outside_radius(gear.teeth))
            for gear in gears
            for swing in swings
            if 0 < gear.shaft < last
        ]
    outline = (*plate_outline(layout, swing_deg), *(_swept(layout) if steady else layout.bracket.cover_mm or ()))
    return [*reach, *((x, y, 0.0) for x, y in outline)]


@lru_cache(maxsize=32)
def _swept(layout: Layout) -> tuple[Point, ...]:
    """Points that the plate comes to on its way from stop to stop, and the cover."""
    return (
        *(point for swing in _sweep(layout) for point in plate_outline(layout, swing)),
        *(layout.bracket.cover_mm or ()),
    )


def _sweep(layout: Layout) -> list[float]:
    """Swings from stop to stop, degrees, close enough together for a view."""
    low, high = layout.bracket.swing_deg
    return [low + (high - low) * step / _SWEEP_STEPS for step in range(_SWEEP_STEPS + 1)]


# The bracket itself, drawn under a train: plate, slots, studs and shafts, its swing between the stops, the cover.


_DASHES = "5 3"
_DIAL_PX = 46.0
_SLOT_SHARE = 0.75  # of the collar's width
_EDGE_STEP_PX = 11.0


def plate(sheet: Sheet, layout: Layout, swing_deg: float) -> Svg:
    """Plate and slots, as far as gears leave them to be seen."""
    slots = swung_slots(layout, swing_deg)
    return element(
        "g",
        shape(_path(sheet, plate_outline(layout, swing_deg)), STEEL, INK),
        *(shape(_slot_path(sheet, layout, slot), PAPER, INK, 1) for slot in slots),
        class_="bracket",
    )


def hidden_slots(sheet: Sheet, layout: Layout, swing_deg: float) -> Svg:
    """The slots once more over the gears, dashed as hidden edges are."""
    slots = (_slot_path(sheet, layout, slot) for slot in swung_slots(layout, swing_deg))
    return element("g", *(drawn_line(slot, INK, 0.9, _DASHES, class_="slot") for slot in slots))


def radius_mm(layout: Layout, axis: int, axes: Sequence[Point]) -> float:
    """Of the shaft at an end of the train, or of the stud or its collar between."""
    is_end = axis in (0, len(axes) - 1)
    return layout.bracket.shaft_radius_mm if is_end else layout.bracket.stud_radius_mm


def bars(sheet: Sheet, layout: Layout, axes: Sequence[Point]) -> Svg:
    """Every shaft, stud bush and collar at its full size: what other gears have to clear."""
    circles = []
    for axis, centre in enumerate(axes):
        name = "shaft" if axis in (0, len(axes) - 1) else "stud"
        radius = sheet.scale * radius_mm(layout, axis, axes)
        circles.append(disc(*sheet.at_px(centre), radius, "none", width=1.5, class_=name))
    return element("g", *circles)


def edges_px(sheet: Sheet, layout: Layout, swing_deg: float) -> Iterator[Point]:
    """Points along the edges of plate and cover, close enough together for words to keep off them."""
    for outline in (plate_outline(layout, swing_deg), layout.bracket.cover_mm or ()):
        for start, end in zip(outline, (*outline[1:], *outline[:1]), strict=True):
            yield from _along(sheet.at_px(start), sheet.at_px(end))


def slot_edges_px(sheet: Sheet, layout: Layout, swing_deg: float) -> Iterator[Point]:
    """The same along the edges of the slots."""
    for slot in swung_slots(layout, swing_deg):
        corners = [sheet.at_px(corner) for corner in _slot_corners(layout, slot)]
        yield from _along(corners[0], corners[1])
        yield from _along(corners[2], corners[3])


def _along(start: Point, end: Point) -> Iterator[Point]:
    steps = 1 + int(dist(start, end) / _EDGE_STEP_PX)
    for step in range(steps):
        yield start[0] + (end[0] - start[0]) * step / steps, start[1] + (end[1] - start[1]) * step / steps


def cover(sheet: Sheet, layout: Layout) -> Svg:
    """The room under the cover, where the lathe's file tells it: a heavy outline."""
    outline = layout.bracket.cover_mm
    if outline is None:
        return Svg("")
    return drawn_line(_path(sheet, outline), INK, 2.4, "12 3 3 3", class_="cover")


def cover_word(sheet: Sheet, layout: Layout, room: Room) -> Svg:
    """The word 'cover' beside its outline, where there is room."""
    wide, high = text_width_px("cover", WORD_PX), WORD_PX + 2
    outline = layout.bracket.cover_mm or ()
    for start, end in zip(outline, (*outline[1:], *outline[:1]), strict=True):
        for x, y in _along(sheet.at_px(start), sheet.at_px(end)):
            for across, down in ((0, 1), (0, -1), (1, 0), (-1, 0)):
                at = x + across * (wide / 2 + 5), y + down * (high / 2 + 4)
                box = box_around(*at, wide, high)
                if room.is_free(box, 1.0):
                    room.take(box)
                    return text_line("cover", at[0], at[1] + 4, font_style="italic")
    return Svg("")


def swing_dial(layout: Layout, swing_deg: float, box: Box) -> tuple[Svg, float]:
    """How far the bracket is swung, between its stops, as it lies in the picture; and where the next line may go.

    The needle points along the first slot.
    """
    low, high = layout.bracket.swing_deg
    slot = layout.slots[0]
    ends = slot.start, slot.at(slot.length)
    far = max(ends, key=lambda point: hypot(*point))
    along = atan2(far[1], far[0])
    above, below = _reach(along, low, high)
    centre = (box[0] + box[2]) / 2, box[1] + 26 + above

    def at(turn_deg: float, radius: float) -> Point:
        angle = along + radians(turn_deg)
        return centre[0] + radius * cos(angle), centre[1] - radius * sin(angle)

    steps = [low + (high - low) * step / 24 for step in range(25)]
    arc = path_of(at(turn, _DIAL_PX) for turn in steps)
    beyond = not low - 1e-6 <= swing_deg <= high + 1e-6
    needle, hub = at(swing_deg, _DIAL_PX + 5), at(swing_deg, 4)
    parts = [
        drawn_line(arc, width=1.4),
        *(_spoke(at(stop, _DIAL_PX - 7), at(stop, _DIAL_PX + 5), 1.4) for stop in (low, high)),
        *(_spoke(at(0, inner), at(0, inner + 5), 0.8) for inner in range(8, int(_DIAL_PX), 10) if low <= 0 <= high),
        element(
            "line",
            x1=hub[0],
            y1=hub[1],
            x2=needle[0],
            y2=needle[1],
            stroke=INK,
            stroke_width=3.2,
            stroke_linecap="round",
            stroke_dasharray="5 5" if beyond else None,
            class_="needle",
        ),
        disc(*centre, 5, FAINT),
    ]
    for stop in (low, high):
        x, y = at(stop, _DIAL_PX + 20)
        parts.append(note(_degrees(stop), x, y + 4, size=SMALL_PX, anchor="middle"))
    parts.append(bold(f"Bracket swung to {_degrees(swing_deg)}", box[0], box[1] + 14, size=WORD_PX))
    return element("g", *parts, class_="swing"), centre[1] + below


def _reach(along: float, low: float, high: float) -> tuple[float, float]:
    """How far the dial reaches above and below its pivot, px, the labels of the stops included."""
    heights = [sin(along + radians(low + (high - low) * step / 24)) * (_DIAL_PX + 20) for step in range(25)]
    return max(12.0, max(heights) + 10), max(12.0, 10 - min(heights))


def _degrees(angle: float) -> str:
    return f"{writing.decimal(angle, 1)}°"


def _spoke(start: Point, end: Point, width: float) -> Svg:
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], stroke=INK, stroke_width=width)


def _path(sheet: Sheet, outline: Iterable[Point]) -> Svg:
    return path_of(map(sheet.at_px, outline), closed=True)


def _slot_path(sheet: Sheet, layout: Layout, slot: Line) -> Svg:
    """A slot with its round ends."""
    a, b, c, d = ("{:.1f} {:.1f}".format(*sheet.at_px(corner)) for corner in _slot_corners(layout, slot))
    r = f"{_SLOT_SHARE * layout.bracket.stud_radius_mm * sheet.scale:.1f}"
    return Svg(f"M{a}L{b}A{r} {r} 0 0 1 {c}L{d}A{r} {r} 0 0 1 {a}Z")


def _slot_corners(layout: Layout, slot: Line) -> list[Point]:
    """Where the straight edges of a slot start and end: from, to, back from, back to."""
    half = _SLOT_SHARE * layout.bracket.stud_radius_mm
    across = -slot.direction[1] * half, slot.direction[0] * half
    (x, y), (end_x, end_y) = slot.start, slot.at(slot.length)
    return [
        (x + across[0], y + across[1]),
        (end_x + across[0], end_y + across[1]),
        (end_x - across[0], end_y - across[1]),
        (x - across[0], y - across[1]),
    ]
