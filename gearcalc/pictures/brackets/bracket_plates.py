"""The bracket itself, drawn under a train: plate, slots, studs and shafts, its swing between the stops, the cover."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import atan2, cos, dist, hypot, radians, sin

from gearcalc.basics import writing
from gearcalc.fits.stances import Layout
from gearcalc.fits.triangles import Line
from gearcalc.pictures.brackets.bracket_sheets import plate_outline, swung_slots
from gearcalc.pictures.labels import Box, Room, box_around
from gearcalc.pictures.style import FAINT, INK, PAPER, SMALL_PX, SOFT, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.pictures.trains.outlines import Point
from gearcalc.pictures.trains.sheets import Sheet

_PLATE = "#E9ECEE"
_DASHES = "5 3"
_DIAL_PX = 62.0
_SLOT_SHARE = 0.75  # of the collar's width
_EDGE_STEP_PX = 11.0


def plate(sheet: Sheet, layout: Layout, swing_deg: float) -> Svg:
    """Plate and slots, as far as gears leave them to be seen."""
    slots = swung_slots(layout, swing_deg)
    return element(
        "g",
        element(
            "path",
            d=_path(sheet, plate_outline(layout, swing_deg)),
            fill=_PLATE,
            stroke=INK,
            stroke_width=1.2,
            stroke_linejoin="round",
        ),
        *(element("path", d=_slot_path(sheet, layout, slot), fill=PAPER, stroke=INK, stroke_width=1) for slot in slots),
        class_="bracket",
    )


def hidden_slots(sheet: Sheet, layout: Layout, swing_deg: float) -> Svg:
    """The slots once more over the gears, dashed as hidden edges are."""
    paths = [
        element("path", d=_slot_path(sheet, layout, slot), class_="slot") for slot in swung_slots(layout, swing_deg)
    ]
    return element("g", *paths, fill="none", stroke=INK, stroke_width=0.9, stroke_dasharray=_DASHES)


def bars(sheet: Sheet, layout: Layout, axes: Iterable[Point]) -> Svg:
    """Every shaft, stud bush and collar at its full size: what other gears have to clear."""
    axes = tuple(axes)
    circles = []
    for axis, centre in enumerate(axes):
        is_end = axis in (0, len(axes) - 1)
        radius = layout.bracket.shaft_radius_mm if is_end else layout.bracket.stud_radius_mm
        x, y = sheet.at_px(centre)
        circles.append(element("circle", cx=x, cy=y, r=sheet.scale * radius, class_="shaft" if is_end else "stud"))
    return element("g", *circles, fill="none", stroke=INK, stroke_width=1.5)


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
    return element(
        "path",
        d=_path(sheet, outline),
        fill="none",
        stroke=INK,
        stroke_width=2.4,
        stroke_dasharray="12 3 3 3",
        class_="cover",
    )


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
                    return text_line("cover", at[0], at[1] + 4, size=WORD_PX, fill=INK, font_style="italic")
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
    arc = "M" + "L".join("{:.1f} {:.1f}".format(*at(turn, _DIAL_PX)) for turn in steps)
    beyond = not low - 1e-6 <= swing_deg <= high + 1e-6
    needle, hub = at(swing_deg, _DIAL_PX + 5), at(swing_deg, 4)
    parts = [
        element("path", d=Svg(arc), fill="none", stroke=INK, stroke_width=1.4),
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
        element("circle", cx=centre[0], cy=centre[1], r=5, fill=FAINT, stroke=INK, stroke_width=1.2),
    ]
    for stop in (low, high):
        x, y = at(stop, _DIAL_PX + 20)
        parts.append(text_line(_degrees(stop), x, y + 4, size=SMALL_PX, fill=SOFT))
    title = f"Bracket swung to {_degrees(swing_deg)}"
    parts.append(text_line(title, box[0], box[1] + 14, size=WORD_PX, anchor="start", font_weight="bold", fill=INK))
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
    return Svg("M" + "L".join("{:.1f} {:.1f}".format(*sheet.at_px(point)) for point in outline) + "Z")


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
