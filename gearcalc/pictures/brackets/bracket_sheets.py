"""The sheet for a train on its bracket: where the views and the panel go, and what has to be in view."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import cos, pi, radians, sin

from gearcalc.fits.stances import PIVOT, Layout
from gearcalc.fits.triangles import Line, turned
from gearcalc.lathes.trains import Train
from gearcalc.pictures.labels import Box
from gearcalc.pictures.trains.arrangement import row_mm
from gearcalc.pictures.trains.meshing import PlacedGear
from gearcalc.pictures.trains.outlines import Point
from gearcalc.pictures.trains.sheets import EDGE_GAP_PX, EDGE_GEAR_PX, EDGE_WORDS_PX, FRAME_PX, STRIP_PX, Sheet

BRACKET_PX = (800, 620)
"""Width and height of the picture."""
PANEL_PX = 212.0
"""Width of the panel on the right, for what is measured."""

_SIDE_PX, _MARGIN_PX, _EDGE_FOOT_PX = 12.0, 24.0, 12.0
_METAL_MM = 6.0  # of the plate beside a slot: the lathe's file does not say, so a usual amount
_LARGEST_MODULE_PX = 12.0
_ROUND_STEPS = 24
_SWEEP_STEPS = 12


def lay_out(
    train: Train, gears: tuple[PlacedGear, ...], layout: Layout, swing_deg: float, *, steady: bool = False
) -> Sheet:
    """The gears and the whole bracket in the front view, the unfolded row beneath it, the panel on the right.

    `steady`: with room for the bracket however it is swung, so that the scale stays while a hand swings it.
    """
    planes = train.meshes if steady else 1 + max(gear.plane for gear in gears)
    front, edge = _boxes(planes)
    left, bottom, right, top = _extent(gears, layout, swing_deg, steady)
    room = front[2] - front[0] - 2 * _MARGIN_PX, front[3] - front[1] - 2 * _MARGIN_PX
    scale = min(room[0] / (right - left), room[1] / (top - bottom), _LARGEST_MODULE_PX / layout.module_mm)
    origin = (
        (front[0] + front[2]) / 2 - scale * (left + right) / 2,
        (front[1] + front[3]) / 2 + scale * (top + bottom) / 2,
    )
    row = row_mm(train, layout.module_mm)
    reach = [(row[gear.shaft], layout.outside_radius(gear.teeth)) for gear in gears]
    low, high = min(x - r for x, r in reach), max(x + r for x, r in reach)
    edge_scale = min(scale, (edge[2] - edge[0]) / (high - low))
    start = (edge[0] + edge[2]) / 2 - edge_scale * (low + high) / 2
    shafts = tuple(start + edge_scale * x for x in row)
    return Sheet(train, gears, layout.module_mm, BRACKET_PX, front, edge, scale, origin, edge_scale, shafts, False)


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
    return _hull([point for centre, radius in discs for point in _round(centre, radius)])


def _round(centre: Point, radius: float) -> list[Point]:
    angles = (2 * pi * step / _ROUND_STEPS for step in range(_ROUND_STEPS))
    return [(centre[0] + radius * cos(angle), centre[1] + radius * sin(angle)) for angle in angles]


def _hull(points: Sequence[Point]) -> list[Point]:
    """The convex outline of points, anticlockwise: its lower edge from left to right, then its upper edge back."""
    ordered = sorted(set(points))
    return [*_edge(ordered), *_edge(ordered[::-1])]


def _edge(points: Sequence[Point]) -> list[Point]:
    """The points that a string pulled along them from the right-hand side would touch, all but the last."""
    edge: list[Point] = []
    for point in points:
        while len(edge) > 1 and _turn(edge[-2], edge[-1], point) <= 0:
            edge.pop()
        edge.append(point)
    return edge[:-1]


def _turn(one: Point, two: Point, three: Point) -> float:
    """Above zero when the way from one over two to three turns left."""
    return (two[0] - one[0]) * (three[1] - two[1]) - (two[1] - one[1]) * (three[0] - two[0])


def _boxes(planes: int) -> tuple[Box, Box]:
    width, height = BRACKET_PX
    bottom = height - FRAME_PX - STRIP_PX
    edge_top = bottom - (EDGE_WORDS_PX + planes * (EDGE_GEAR_PX + EDGE_GAP_PX) + _EDGE_FOOT_PX)
    left, right = FRAME_PX + _SIDE_PX, width - FRAME_PX - _SIDE_PX
    return (left, FRAME_PX, right - PANEL_PX, edge_top), (left, edge_top, right, bottom)


def _extent(gears: Sequence[PlacedGear], layout: Layout, swing_deg: float, steady: bool) -> Box:
    """Left, bottom, right, top of gears, plate and cover, mm."""
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
    reach += [(x, y, 0.0) for x, y in outline]
    return (
        min(x - r for x, _, r in reach),
        min(y - r for _, y, r in reach),
        max(x + r for x, _, r in reach),
        max(y + r for _, y, r in reach),
    )


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
