"""Plane geometry in closed form, for shafts, studs and slots: lengths in mm, angles in radians."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import acos, atan2, cos, dist, hypot, inf, sin, sqrt
from typing import NamedTuple

Point = tuple[float, float]

_TOUCHING = 1e-9  # mm: what a rounding may take from a line that just touches a circle


class Line(NamedTuple):
    """A straight line with a start and a length; places on it are told by the distance from its start.

    >>> line = Line.between((0, 3), (10, 3))
    >>> line.at(4.0)
    (4.0, 3.0)
    """

    start: Point
    direction: Point
    length: float

    @classmethod
    def between(cls, start: Point, end: Point) -> Line:
        """The line from one point to another; they must differ."""
        length = dist(start, end)
        return cls(start, ((end[0] - start[0]) / length, (end[1] - start[1]) / length), length)

    def at(self, along: float) -> Point:
        """The point so far from the start."""
        return self.start[0] + along * self.direction[0], self.start[1] + along * self.direction[1]

    def beside(self, point: Point) -> tuple[float, float]:
        """How far along the line the point lies, and how far off it (positive to the left).

        >>> Line.between((0, 3), (10, 3)).beside((4, 0))
        (4.0, -3.0)
        """
        x, y = point[0] - self.start[0], point[1] - self.start[1]
        return x * self.direction[0] + y * self.direction[1], y * self.direction[0] - x * self.direction[1]

    def at_distance(self, centre: Point, radius: float) -> tuple[float, ...]:
        """Where the line, longer than it is if need be, comes to `radius` from `centre`: no place, one or two.

        >>> Line.between((0, 3), (10, 3)).at_distance((0, 0), 5)      # 3-4-5
        (-4.0, 4.0)
        >>> Line.between((0, 3), (10, 3)).at_distance((0, 0), 2)
        ()
        """
        foot, off = self.beside(centre)
        square = radius * radius - off * off
        if square <= 0:
            return (foot,) if abs(abs(off) - radius) <= _TOUCHING else ()
        half = sqrt(square)
        return foot - half, foot + half

    def beyond(self, along: float) -> float:
        """How far a place lies beyond the nearer end; zero or less when it is on the line."""
        return max(-along, along - self.length)


def angle_opposite(opposite: float, one: float, other: float) -> float | None:
    """The angle of a triangle opposite its first side, by the law of cosines; None when the sides don't close.

    >>> round(angle_opposite(5, 3, 4) * 2, 6)        # 3-4-5: a right angle, so twice it is π
    3.141593
    >>> angle_opposite(8, 3, 4) is None
    True
    """
    if one <= 0 or other <= 0:
        return None
    if opposite > one + other + _TOUCHING or opposite < abs(one - other) - _TOUCHING:
        return None
    cosine = (one * one + other * other - opposite * opposite) / (2 * one * other)
    return acos(min(1.0, max(-1.0, cosine)))


def bearing(point: Point) -> float:
    """The direction of a point seen from the origin, anticlockwise from +x."""
    return atan2(point[1], point[0])


def turned(point: Point, angle: float) -> Point:
    """A point turned anticlockwise about the origin."""
    c, s = cos(angle), sin(angle)
    return point[0] * c - point[1] * s, point[0] * s + point[1] * c


def depth_inside(outline: Sequence[Point], point: Point) -> float:
    """How far a point lies inside a closed outline; below zero when it is outside.

    >>> square = ((0, 0), (10, 0), (10, 10), (0, 10))
    >>> depth_inside(square, (3, 5)), depth_inside(square, (-2, 5))
    (3.0, -2.0)

    `outline`: the corners in order, either way round, the first not repeated; it may have hollows but no crossings.
    """
    nearest, inside = inf, False
    x, y = point
    for start, end in pairwise((*outline, outline[0])):
        if start == end:
            continue
        line = Line.between(start, end)
        along, off = line.beside(point)
        past = max(line.beyond(along), 0.0)
        nearest = min(nearest, hypot(past, off))
        if (start[1] > y) != (end[1] > y):  # an odd number of edges crossed on the way out to the right: inside
            inside ^= x < start[0] + (y - start[1]) / (end[1] - start[1]) * (end[0] - start[0])
    return nearest if inside else -nearest
