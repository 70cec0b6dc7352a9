"""Arrows that say which way a shaft turns: round its largest gear, or on that gear's face when it is crowded."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from gearcalc.pictures.labels import Box, Circle, Room, box_around
from gearcalc.pictures.style import INK, PAPER
from gearcalc.pictures.svg import Svg, element
from gearcalc.pictures.trains.gear_faces import ring_radius_px
from gearcalc.pictures.trains.meshing import PlacedGear
from gearcalc.pictures.trains.sheets import Sheet

_GAP_PX, _LENGTH_PX, _HEAD_PX = 8.0, 46.0, 8.0
_BEARINGS = (-90, 90, -60, -120, 60, 120, -30, -150, 30, 150, 180, 0, -75, -105, 75, 105, -45, -135, 45, 135)


def turning_arrow(sheet: Sheet, room: Room, shaft: int, clockwise: bool) -> Svg:
    """The arrow of a shaft where there is room, and that room taken; `clockwise`: the way the first driver turns."""
    gear = sheet.largest_on(shaft)
    sweep = 1 if (gear.turns > 0) == clockwise else -1
    for circle, covers in _rings(sheet, gear):
        half = min(_LENGTH_PX / circle[2] / 2, 0.9)
        for bearing in _BEARINGS:
            middle = math.radians(bearing)
            boxes = _boxes_along(circle, middle, half)
            if all(room.is_off(box, covers, 1.0) and _within(box, room.zone) for box in boxes):
                for box in boxes:
                    room.take(box)
                return _arrow(circle, middle - sweep * half, middle + sweep * half)
    return _arrow(circle, middle - sweep * half, middle + sweep * half)


def _rings(sheet: Sheet, gear: PlacedGear) -> Iterator[tuple[Circle, Sequence[Circle]]]:
    """Circles on which an arrow may lie, best first, each with what may cover it."""
    x, y, outside = sheet.disc(gear)
    others = [sheet.disc(other) for other in sheet.gears if other.shaft != gear.shaft]
    yield (x, y, outside + _GAP_PX), others
    in_front = [sheet.disc(other) for other in sheet.in_front_of(gear)]
    for share in (0.8, 0.6):
        yield (x, y, share * ring_radius_px(gear.teeth, sheet.module_px)), in_front


def _boxes_along(circle: Circle, middle: float, half: float) -> list[Box]:
    x, y, radius = circle
    angles = (middle + share * half for share in (-1, -0.5, 0, 0.5, 1))
    return [box_around(x + radius * math.cos(a), y + radius * math.sin(a), 9, 9) for a in angles]


def _within(box: Box, zone: Box) -> bool:
    return box[0] >= zone[0] and box[1] >= zone[1] and box[2] <= zone[2] and box[3] <= zone[3]


def _arrow(circle: Circle, start: float, end: float) -> Svg:
    """An arc from one angle to another (radians, y down) with a head at its end."""
    x, y, radius = circle
    sweep = 1 if end > start else -1
    neck = end - sweep * _HEAD_PX / radius

    def at(angle: float, off: float = 0.0) -> str:
        return f"{x + (radius + off) * math.cos(angle):.2f} {y + (radius + off) * math.sin(angle):.2f}"

    line = Svg(f"M{at(start)}A{radius:.2f} {radius:.2f} 0 0 {int(sweep > 0)} {at(neck)}")
    head = Svg(f"M{at(end)}L{at(neck, -0.45 * _HEAD_PX)}L{at(neck, 0.45 * _HEAD_PX)}Z")
    return element(
        "g",
        element("path", d=line, fill="none", stroke=PAPER, stroke_width=5),
        element("path", d=line, fill="none", stroke=INK, stroke_width=1.6),
        element("path", d=head, fill=INK, stroke=PAPER, stroke_width=1, paint_order="stroke"),
        class_="arrow",
    )
