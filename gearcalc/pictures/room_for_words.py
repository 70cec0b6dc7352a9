"""Finding room for words among gears: boxes that touch no circle they should not, and no other box."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from gearcalc.pictures.gears_in_mesh import Point

Circle = tuple[float, float, float]
"""Centre x, y and radius, in pixels."""
Box = tuple[float, float, float, float]
"""Left, top, right, bottom, in pixels."""

_INSIDE_SHARES = (0.55, 0.66, 0.45, 0.76, 0.36, 0.84)
_INSIDE_BEARINGS = (90, 270, 180, 0, 135, 45, 225, 315, 112, 68, 158, 22, 202, 338, 248, 292)
_STEP_PX, _REACH_PX = 7.0, 150.0


def box_around(x: float, y: float, width: float, height: float) -> Box:
    """The box of that size with its middle at x, y."""
    return x - width / 2, y - height / 2, x + width / 2, y + height / 2


def box_middle(box: Box) -> Point:
    """The middle of a box."""
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def box_from_circle(box: Box, circle: Circle) -> float:
    """How far a box is from a circle's edge; negative where it reaches inside.

    >>> box_from_circle((10, -1, 12, 1), (0, 0, 8)), box_from_circle((-1, -1, 1, 1), (0, 0, 8))
    (2.0, -8.0)
    """
    x, y, radius = circle
    across = max(box[0] - x, 0.0, x - box[2])
    down = max(box[1] - y, 0.0, y - box[3])
    return math.hypot(across, down) - radius


def nearest_in(box: Box, point: Point) -> Point:
    """The point of a box that is nearest to another point."""
    return min(max(point[0], box[0]), box[2]), min(max(point[1], box[1]), box[3])


def is_within(box: Box, zone: Box) -> bool:
    """Whether a box lies in another."""
    return box[0] >= zone[0] and box[1] >= zone[1] and box[2] <= zone[2] and box[3] <= zone[3]


@dataclass(slots=True)
class Room:
    """What is taken already: the gears as circles, words and arrows as boxes. Bearings go clockwise from the right.

    >>> room = Room((0, 0, 100, 100), [(50, 50, 20)])
    >>> room.is_free((0, 0, 10, 10)), room.is_free((40, 40, 60, 60))
    (True, False)
    """

    zone: Box
    circles: Sequence[Circle]
    boxes: list[Box] = field(default_factory=list)

    def take(self, box: Box) -> Box:
        """From now on this box is taken."""
        self.boxes.append(box)
        return box

    def is_free(self, box: Box, gap: float = 2.0) -> bool:
        """Whether a box lies in the zone, off every gear, off every box taken."""
        return self.is_off(box, self.circles, gap) and is_within(box, self.zone)

    def is_off(self, box: Box, circles: Iterable[Circle], gap: float = 2.0) -> bool:
        """Whether a box keeps off these circles and off every box taken."""
        left, top, right, bottom = box[0] - gap, box[1] - gap, box[2] + gap, box[3] + gap
        for other in self.boxes:
            if left < other[2] and other[0] < right and top < other[3] and other[1] < bottom:
                return False
        return all(box_from_circle(box, circle) >= gap for circle in circles)

    def line_is_free(self, start: Point, end: Point) -> bool:
        """Whether a leader from start to end crosses no box taken."""
        (left, right), (top, bottom) = (sorted(ends) for ends in zip(start, end, strict=True))
        near = [box for box in self.boxes if box[0] <= right and left <= box[2] and box[1] <= bottom and top <= box[3]]
        steps = max(1, int(math.dist(start, end) / 5)) if near else -1
        for step in range(steps + 1):
            x = start[0] + (end[0] - start[0]) * step / steps
            y = start[1] + (end[1] - start[1]) * step / steps
            if any(box[0] <= x <= box[2] and box[1] <= y <= box[3] for box in near):
                return False
        return True

    def inside(self, disc: Circle, hole: float, in_front: Iterable[Circle], width: float, height: float) -> Box | None:
        """A free box on a gear's own face: off its hole, off the gears in front; None when there is none."""
        if width * width + height * height > 4 * disc[2] * disc[2]:
            return None
        covers = [(disc[0], disc[1], hole), *in_front]
        for x, y in _spots(disc, _INSIDE_SHARES, _INSIDE_BEARINGS):
            box = box_around(x, y, width, height)
            if _farthest_corner(box, disc) <= disc[2] and self.is_off(box, covers, 1.5):
                return box
        return None

    def beside(
        self,
        disc: Circle,
        width: float,
        height: float,
        bearings: Sequence[float],
        gap: float = 5.0,
        accepts: Callable[[Box], bool] = lambda box: True,
    ) -> Box | None:
        """A free box outside a gear, as near as can be, at the first bearing that serves; None when there is none."""
        distance = disc[2] + gap
        while distance < disc[2] + _REACH_PX:
            for bearing in bearings:
                box = _box_beyond(disc, distance, bearing, width, height)
                if self.is_free(box, min(gap, 3.0)) and accepts(box):
                    return box
            distance += _STEP_PX
        return None


def _spots(disc: Circle, shares: Sequence[float], bearings: Sequence[float]) -> Iterator[Point]:
    for bearing in bearings:
        across, down = math.cos(math.radians(bearing)), math.sin(math.radians(bearing))
        for share in shares:
            yield disc[0] + share * disc[2] * across, disc[1] + share * disc[2] * down


def _farthest_corner(box: Box, disc: Circle) -> float:
    across = max(abs(box[0] - disc[0]), abs(box[2] - disc[0]))
    down = max(abs(box[1] - disc[1]), abs(box[3] - disc[1]))
    return math.hypot(across, down)


def _box_beyond(disc: Circle, distance: float, bearing: float, width: float, height: float) -> Box:
    """A box beyond the point at that distance and bearing from the disc's centre, off towards the outside."""
    across, down = math.cos(math.radians(bearing)), math.sin(math.radians(bearing))
    x = disc[0] + distance * across + width / 2 * _outward(across)
    y = disc[1] + distance * down + height / 2 * _outward(down)
    return box_around(x, y, width, height)


def _outward(component: float) -> float:
    return component if abs(component) < 0.5 else math.copysign(1.0, component)
