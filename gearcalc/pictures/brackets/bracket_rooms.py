"""What words must keep off on the picture of a train on its bracket."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import cos, dist, pi, sin

from gearcalc.fits.stances import Layout
from gearcalc.fits.triangles import Point
from gearcalc.pictures.brackets.bracket_plates import edges_px, slot_edges_px
from gearcalc.pictures.brackets.gap_marks import MARK_PX, Mark
from gearcalc.pictures.labels import Room, box_around
from gearcalc.pictures.trains.sheets import Sheet


def room_beside(sheet: Sheet, layout: Layout, marks: Iterable[Mark], axes: Sequence[Point], swing_deg: float) -> Room:
    """What words must keep off from the start: gears, marks, shafts and studs, the bracket's edges."""
    left, top, right, bottom = sheet.front
    room = Room((left, top + 4, right, bottom), [sheet.disc(gear) for gear in sheet.gears])
    for mark in marks:
        room.take(box_around(*mark.at, 2 * MARK_PX - 4, 2 * MARK_PX - 4))
    for axis, centre in enumerate(axes):
        is_end = axis in (0, len(axes) - 1)
        radius = layout.bracket.shaft_radius_mm if is_end else layout.bracket.stud_radius_mm
        room.take(box_around(*sheet.at_px(centre), 1.6 * sheet.scale * radius, 1.6 * sheet.scale * radius))
    for x, y in edges_px(sheet, layout, swing_deg):
        if all(dist((x, y), disc[:2]) > disc[2] for disc in room.circles):
            room.take(box_around(x, y, 2, 2))
    for x, y in (*slot_edges_px(sheet, layout, swing_deg), *_hidden_rims(sheet)):
        room.take(box_around(x, y, 2, 2))
    return room


def _hidden_rims(sheet: Sheet) -> Iterator[Point]:
    """Points on the dashed rims of gears behind larger ones of their own stud."""
    for gear in sheet.gears:
        if any(other.shaft == gear.shaft and other.teeth >= gear.teeth for other in sheet.in_front_of(gear)):
            x, y, r = sheet.disc(gear)
            yield from ((x + r * cos(k * pi / 16), y + r * sin(k * pi / 16)) for k in range(32))
