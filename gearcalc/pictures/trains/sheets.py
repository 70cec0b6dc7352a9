"""The sheet that a train is drawn on: where the views go, and how millimetres become pixels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gearcalc.lathes.trains import Train
from gearcalc.pictures.labels import Box, Circle
from gearcalc.pictures.trains.arrangement import row_mm
from gearcalc.pictures.trains.meshing import PlacedGear
from gearcalc.pictures.trains.outlines import DEDENDUM, Point

FRAME_PX = 6.0
STRIP_PX = 36.0
EDGE_GEAR_PX, EDGE_GAP_PX = 19.0, 6.0
EDGE_WORDS_PX, _EDGE_FOOT_PX = 22.0, 12.0
_MARGIN_PX = 30.0  # around the gears, for arrows and words
_SIDE_PX = 14.0
_LARGEST_MODULE_PX = 12.0  # so that two small gears do not fill the sheet


@dataclass(frozen=True, slots=True)
class Sheet:
    """A train laid out on a sheet: gears in mm, and the views' boxes and scales in pixels."""

    train: Train
    gears: tuple[PlacedGear, ...]
    module_mm: float
    size_px: tuple[int, int]
    front: Box
    edge: Box
    scale: float  # pixels to a millimetre in the front view
    origin_px: Point  # where (0, 0) mm comes to lie
    edge_scale: float
    shafts_px: tuple[float, ...]  # where the shafts stand in the edge view
    is_row: bool  # the edge view lies right under the front view

    @classmethod
    def lay_out(
        cls,
        train: Train,
        gears: tuple[PlacedGear, ...],
        module_mm: float,
        size_px: tuple[int, int],
        in_view_mm: Sequence[Point] = (),
        *,
        with_edge_view: bool = True,
    ) -> Sheet:
        """Fit the gears, and points that must be in view, into the front view; the unfolded row into the edge view."""
        planes = 1 + max(gear.plane for gear in gears) if with_edge_view else 0
        front, edge = _boxes(size_px, planes)
        left, bottom, right, top = _extent(gears, module_mm, in_view_mm)
        room = front_room(size_px, planes)
        scale = min(room[0] / (right - left), room[1] / (top - bottom), _LARGEST_MODULE_PX / module_mm)
        middle = (front[0] + front[2]) / 2, (front[1] + front[3]) / 2
        origin = middle[0] - scale * (left + right) / 2, middle[1] + scale * (top + bottom) / 2
        row = row_mm(train, module_mm)
        axes = [gear.centre_mm for gear in gears]
        is_row = all(y == axes[0][1] for _, y in axes) and all(
            abs(axis[0] - axes[0][0] - row[gear.shaft]) < 1e-6 for axis, gear in zip(axes, gears, strict=True)
        )
        edge_scale, start = scale, origin[0] + scale * axes[0][0]
        if not is_row:
            reach = [(row[gear.shaft], module_mm * (gear.teeth / 2 + 1)) for gear in gears]
            low, high = min(x - r for x, r in reach), max(x + r for x, r in reach)
            edge_scale = min(scale, (edge[2] - edge[0]) / (high - low))
            start = (edge[0] + edge[2]) / 2 - edge_scale * (low + high) / 2
        shafts = tuple(start + edge_scale * x for x in row)
        return cls(train, gears, module_mm, size_px, front, edge, scale, origin, edge_scale, shafts, is_row)

    @property
    def module_px(self) -> float:
        """A module on the sheet."""
        return self.scale * self.module_mm

    def at_px(self, point_mm: Point) -> Point:
        """Where a point in mm lies on the sheet (y down)."""
        return self.origin_px[0] + self.scale * point_mm[0], self.origin_px[1] - self.scale * point_mm[1]

    def disc(self, gear: PlacedGear, extra_modules: float = 1.0) -> Circle:
        """A gear as a circle on the sheet: its outside circle, or another that much off its pitch circle."""
        return *self.at_px(gear.centre_mm), self.module_px * (gear.teeth / 2 + extra_modules)

    def in_front_of(self, gear: PlacedGear) -> list[PlacedGear]:
        """The gears drawn over this one where they overlap."""
        return [other for other in self.gears if other.plane > gear.plane]

    @property
    def bore_px(self) -> float:
        """One bore for all, such as leaves the smallest gear a rim."""
        smallest = min(gear.teeth for gear in self.gears)
        return self.module_px * min(3.0, 0.32 * (smallest / 2 - DEDENDUM))

    def largest_on(self, shaft: int) -> PlacedGear:
        """The largest gear on a shaft."""
        return max((gear for gear in self.gears if gear.shaft == shaft), key=lambda gear: gear.teeth)


def front_room(size_px: tuple[int, int], planes: int) -> tuple[float, float]:
    """Width and height that the gears may fill in the front view; `planes`: in the edge view, 0 when there is none.

    >>> front_room((800, 480), 1) > front_room((800, 480), 3)
    True
    """
    front, _ = _boxes(size_px, planes)
    return front[2] - front[0] - 2 * _MARGIN_PX, front[3] - front[1] - 2 * _MARGIN_PX


def _boxes(size_px: tuple[int, int], planes: int) -> tuple[Box, Box]:
    width, height = size_px
    bottom = height - FRAME_PX - STRIP_PX
    edge_height = EDGE_WORDS_PX + planes * (EDGE_GEAR_PX + EDGE_GAP_PX) + _EDGE_FOOT_PX if planes else 0.0
    left, right = FRAME_PX + _SIDE_PX, width - FRAME_PX - _SIDE_PX
    front = (left, FRAME_PX, right, bottom - edge_height)
    return front, (left, bottom - edge_height, right, bottom)


def _extent(gears: Sequence[PlacedGear], module_mm: float, in_view_mm: Sequence[Point]) -> Box:
    """Left, bottom, right, top of all that must be in view, mm."""
    reach = [(*gear.centre_mm, module_mm * (gear.teeth / 2 + 1)) for gear in gears]
    reach += [(x, y, 0.0) for x, y in in_view_mm]
    return (
        min(x - r for x, _, r in reach),
        min(y - r for _, y, r in reach),
        max(x + r for x, _, r in reach),
        max(y + r for _, y, r in reach),
    )
