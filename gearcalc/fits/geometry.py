"""Where the studs of a bracket can stand so that every mesh of a train closes: every way, in closed form.

Seen from the gear side, lengths in mm, angles in radians: the pivot (the last driven gear's axis, about which the
bracket swings) is the origin, the spindle side is fixed, and the studs stand in straight slots that swing with the
bracket. Each axis is a known distance from the next, so, outward from the pivot, every stud stands where a slot's line
meets a circle; the swing then closes the triangle pivot, first stud, spindle side. Only the distances from axis to axis
enter into it, and they depend on the teeth that two gears in mesh have together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import combinations, pairwise
from math import acos, atan2, ceil, cos, degrees, dist, hypot, pi, radians, sin, sqrt, tan, tau
from typing import NamedTuple

from attrs import frozen

from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.lathes import Bracket, Lathe
from gearcalc.lathes.pieces import Piece, kind_of

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
    nearest, inside = dist(outline[0], point), False  # all that there is where each corner is the same
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


PIVOT: Point = (0.0, 0.0)
ROUNDING = 1e-9  # mm or degrees
_KEPT = 100_000
_ADD_BRACKET = "Add [bracket] with the place of the spindle side, the swing and the slots."


_MOST_TEETH = 1000


class Tooth(NamedTuple):
    """One size of gear in numbers, mm: `apart`, the centre distance of two that mesh, by how many teeth they have
    together; `outside`, the radius over the tips by teeth. `play_mm`: what the backlash adds to `apart`."""

    module_mm: float
    pressure_angle_deg: float
    play_mm: float
    apart: tuple[float, ...]
    outside: tuple[float, ...]

    @classmethod
    def of(cls, module_mm: float, pressure_angle_deg: float, backlash_mm: float) -> Tooth:
        """Reckon it: m·(z₁ + z₂)/2 + j/(2·tan α), and m·(z/2 + 1)."""
        play = backlash_mm / (2 * tan(radians(pressure_angle_deg)))
        apart = tuple([module_mm * teeth / 2 + play for teeth in range(2 * _MOST_TEETH + 1)])
        outside = tuple([module_mm * (teeth / 2 + 1) for teeth in range(_MOST_TEETH + 1)])
        return cls(module_mm, pressure_angle_deg, play, apart, outside)


@frozen(eq=False)
class Layout:
    """A bracket and the sizes of the gears that go on it, ready to reckon with.

    `teeth`: the sizes by what Piece.kind calls them, that of the first table ''; `last_shaft`: what the pivot's shaft
    is; `past_shaft`, `past_stud`: mm from the axis that the tips of a gear beside a shaft or a stud must keep off.
    """

    bracket: Bracket
    teeth: Mapping[str, Tooth]
    last_shaft: str
    slots: tuple[Line, ...]
    shafts_apart: float
    spindle_bearing: float
    past_shaft: float
    past_stud: float

    def tooth(self, gear: int) -> Tooth:
        """The size of a gear. Raises ValueOutOfRangeError for one that the lathe has not."""
        try:
            return self.teeth[gear.kind if isinstance(gear, Piece) else ""]
        except KeyError:
            raise ValueOutOfRangeError(
                f"the lathe has no gears of {kind_of(gear)}", remedy="List them in the lathe file under [[more_gears]]."
            ) from None

    @property
    def module_mm(self) -> float:
        """That of the first table."""
        return self.teeth[""].module_mm

    def apart(self, one: int, other: int) -> float:
        """The centre distance of two gears that mesh: m·(z₁ + z₂)/2 + j/(2·tan α)."""
        return self.tooth(one).apart[one + other]

    def half_apart(self, gear: int) -> float:
        """A gear's share of a centre distance: half of that of two such gears."""
        tooth = self.tooth(gear)
        return tooth.apart[2 * gear] / 2

    def outside_radius(self, gear: int) -> float:
        """Half of what a calliper reads over the tips: m·(z/2 + 1)."""
        return self.tooth(gear).outside[gear]

    def swing_within(self, swing: float) -> float | None:
        """The swing in degrees, a whole turn more or less if need be, where the bracket allows it; else None."""
        low, high = self.bracket.swing_deg
        within = None
        for angle in (swing % 360, swing % 360 - 360, swing % 360 - 720, swing % 360 + 360):
            if low - ROUNDING <= angle <= high + ROUNDING and (within is None or abs(angle) < abs(within)):
                within = angle
        return within

    def swing_beyond(self, swing: float) -> tuple[float, float]:
        """The swing, whole turns more or less, that is least beyond the bracket's stops; and by how many degrees."""
        low, high = self.bracket.swing_deg
        past = high + (swing - high) % 360  # the first such angle beyond the upper stop, and a turn less than it
        return (past, past - high) if past - high <= low - (past - 360) else (past - 360, low - (past - 360))


class Stance(NamedTuple):
    """One way to stand: every axis, spindle side first and pivot last, the swing, and how far apart axes are.

    `apart`: mm between axes that are no neighbours; neighbours stand as far apart as their gears ask.
    """

    axes: tuple[Point, ...]
    swing_deg: float
    apart: tuple[float, ...]

    @classmethod
    def at(cls, layout: Layout, studs: tuple[Point, ...], swing_deg: float) -> Stance:
        """Studs as they stand with the bracket at swing 0, carried round with it."""
        angle = radians(swing_deg)
        axes = (layout.bracket.spindle_side_at_mm, *[turned(stud, angle) for stud in studs], PIVOT)
        return cls(axes, swing_deg, tuple([dist(axes[i], axes[j]) for i, j in not_neighbours(len(axes))]))


@lru_cache
def not_neighbours(axes: int) -> list[tuple[int, int]]:
    """Pairs out of so many axes between which another stands, in the order of Stance.apart."""
    return [(i, j) for i, j in combinations(range(axes), 2) if j - i > 1]


def layout_of(lathe: Lathe) -> Layout:
    """What a lathe's bracket and gears come to in numbers.

    >>> from gearcalc.lathes import demo_lathe
    >>> round(layout_of(demo_lathe("metric")).apart(40, 60), 3)     # 50 mm, and 0.2/(2·tan 20°) for the backlash
    50.275

    Raises NotPossibleError, saying what to add to the lathe file, when it describes no bracket or no size of gear.
    """
    if lathe.bracket is None or lathe.module_mm is None:
        what, remedy = lacking(lathe)
        raise NotPossibleError(f"{lathe.name} has {what} in its file, so the fit can't be checked", remedy=remedy)
    sizes = lathe.gear_set.standing.sizes.items()
    teeth = tuple((kind, size.module_mm, size.pressure_angle_deg) for kind, size in sizes if size.module_mm is not None)
    return _layout(lathe.bracket, teeth, lathe.last_shaft)


def layout_of_bracket(lathe: Lathe) -> Layout:
    """A lathe's bracket alone, the size of its gears unasked.

    >>> from gearcalc.lathes import demo_lathe
    >>> layout_of_bracket(demo_lathe("inch")).slots[0].length
    120.0

    Raises NotPossibleError, saying what to add to the lathe file, when it describes no bracket.
    """
    if lathe.bracket is None:
        raise NotPossibleError(f"{lathe.name} has no bracket in its file", remedy=_ADD_BRACKET)
    return _layout(lathe.bracket, (), lathe.last_shaft)


def lacking(lathe: Lathe) -> tuple[str, str]:
    """What a lathe file lacks for the fit to be checked, and what to add; no words where it lacks nothing.

    >>> from attrs import evolve
    >>> from gearcalc.lathes import demo_lathe
    >>> lacking(evolve(demo_lathe("metric"), bracket=None))
    ('no bracket', 'Add [bracket] with the place of the spindle side, the swing and the slots.')
    """
    said = []
    if lathe.bracket is None:
        said.append(("no bracket", _ADD_BRACKET))
    if lathe.module_mm is None:
        said.append(("no size of gear", "Add module_mm (or diametral_pitch) under [gears]."))
    return " and ".join(what for what, _ in said), " ".join(remedy for _, remedy in said)


def layout_if_any(lathe: Lathe) -> Layout | None:
    """layout_of(lathe), or None where its file describes no bracket or no size of gear."""
    return layout_of(lathe) if lathe.bracket is not None and lathe.module_mm is not None else None


@lru_cache(maxsize=32)
def _layout(bracket: Bracket, sizes: tuple[tuple[str, float, float], ...], last_shaft: str) -> Layout:
    clearance = bracket.running_clearance_mm - ROUNDING
    return Layout(
        bracket=bracket,
        teeth={kind: Tooth.of(module, angle, bracket.backlash_mm) for kind, module, angle in sizes},
        last_shaft=last_shaft,
        slots=tuple(Line.between(slot.from_mm, slot.to_mm) for slot in bracket.slots),
        shafts_apart=hypot(*bracket.spindle_side_at_mm),
        spindle_bearing=bearing(bracket.spindle_side_at_mm),
        past_shaft=bracket.shaft_radius_mm + clearance,
        past_stud=bracket.stud_radius_mm + clearance,
    )


class Slip(NamedTuple):
    """A stud beyond the end of its slot. Studs are counted from the pivot here, from 1."""

    stud: int
    slot: int
    along: float
    mm: float


class Studs(NamedTuple):
    """Studs on the lines of their slots, the first stud first, bracket at swing 0."""

    at: tuple[Point, ...] = ()
    slips: tuple[Slip, ...] = ()
    stuck_at: int = 0  # the stud that no slot brings near enough, counted from the pivot; 0 when all stand
    missing: float = 0.0  # mm


class WayToStand(NamedTuple):
    """Studs and how the bracket swings there: `swing` degrees, None when nothing closes the last mesh.

    `missing`: mm in all, degrees of swing counted as the way that the first stud would still have to go; `over`:
    degrees beyond the stop; `short`: mm that the last mesh stays open, below zero when it is too tight.
    """

    studs: Studs
    swing: float | None
    missing: float
    over: float = 0.0
    short: float = 0.0


def ways_to_stand(layout: Layout, apart: tuple[float, ...], *, beyond: bool) -> Iterator[WayToStand]:
    """Every way to stand, given how far each axis is from the next, from the spindle side to the pivot, mm.

    `apart`: two or more. Within the slots and the swing; with those `beyond` as if slots and swing had no ends, and as
    near as can be. Whether anything fouls is not looked at.
    """
    for studs in _studs(layout, apart[1:], beyond):
        yield from closings(layout, studs, apart[0], beyond=beyond)


@lru_cache(maxsize=_KEPT)
def _studs(layout: Layout, apart: tuple[float, ...], beyond: bool) -> tuple[Studs, ...]:
    if not apart:
        return (Studs(),)
    return tuple(outward(layout, _studs(layout, apart[1:], beyond), apart[0], beyond=beyond))


def outward(layout: Layout, places: Iterable[Studs], apart: float, *, beyond: bool) -> Iterator[Studs]:
    """Studs with one more, so many mm from the outermost, or from the pivot when it is the first."""
    for inner in places:
        if inner.stuck_at:
            yield inner
            continue
        centre, stud = (inner.at[0] if inner.at else PIVOT), len(inner.at) + 1
        for number, slot in enumerate(layout.slots):
            found = slot.at_distance(centre, apart)
            if not found and beyond:
                missing = inner.missing + abs(slot.beside(centre)[1]) - apart
                yield Studs(slips=inner.slips, stuck_at=stud, missing=missing)
            for along in found:
                mm = slot.beyond(along)
                if mm <= ROUNDING:
                    yield Studs((slot.at(along), *inner.at), inner.slips, 0, inner.missing)
                elif beyond:
                    slips = (Slip(stud, number, along, mm), *inner.slips)
                    yield Studs((slot.at(along), *inner.at), slips, 0, inner.missing + mm)


def closings(layout: Layout, studs: Studs, apart: float, *, beyond: bool) -> Iterator[WayToStand]:
    """The ways in which the swing brings the outermost stud so many mm from the spindle side."""
    if studs.stuck_at:
        yield WayToStand(studs, None, studs.missing)
        return
    arm = hypot(*studs.at[0])
    angle = angle_opposite(apart, arm, layout.shafts_apart)
    if angle is None:
        if beyond:
            nearest = abs(arm - layout.shafts_apart)
            short = nearest - apart if apart < nearest else layout.shafts_apart + arm - apart
            yield WayToStand(studs, None, studs.missing + abs(short), short=short)
        return
    ahead = layout.spindle_bearing - bearing(studs.at[0])
    for swing in (ahead - angle, ahead + angle) if angle else (ahead,):
        allowed = layout.swing_within(degrees(swing))
        if allowed is not None:
            yield WayToStand(studs, allowed, studs.missing)
        elif beyond:
            nearest, over = layout.swing_beyond(degrees(swing))
            yield WayToStand(studs, nearest, studs.missing + radians(over) * arm, over)


def reach_of(layout: Layout, studs: Studs) -> tuple[float, float]:
    """How near the outermost stud comes to the spindle side as the bracket swings, and how far it gets from it, mm."""
    arm, apart = hypot(*studs.at[0]), layout.shafts_apart
    low, high = map(radians, layout.bracket.swing_deg)
    ahead = bearing(studs.at[0]) - layout.spindle_bearing  # the angle at the pivot between the two, at swing 0

    def farthest(turn: float) -> float:
        """The largest cosine of the angle less `turn`, as it runs."""
        first = ahead + low - turn
        passes = ceil(first / tau) * tau <= first + (high - low)
        return 1.0 if passes else max(cos(first), cos(first + (high - low)))

    most, least = farthest(0.0), -farthest(pi)

    def side(cosine: float) -> float:
        return sqrt(max(arm * arm + apart * apart - 2 * arm * apart * cosine, 0.0))

    return side(most), side(least)
