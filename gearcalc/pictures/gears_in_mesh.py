"""Outlines of spur gears with true involute teeth, as a rack cutter would leave them.

Every curve is the exact envelope of a straight-sided rack with rounded tip corners: the flank is an
involute, the root fillet a trochoid, and below the undercut limit (18 teeth at 20°, 32 at 14.5°) the
trochoid eats into the flank, so the undercut is the real one. Only the polygon is an approximation.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from gearcalc.basics.arguments import as_teeth, within
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.lathes.trains import Train, gears_of

Point = tuple[float, float]
"""x and y, in mm."""

DEDENDUM = 1.25
"""Depth of the root below the pitch circle, in modules (addendum 1): ISO 53 basic rack."""

_CLEARANCE = DEDENDUM - 1
_LEAST_LAND = 0.1  # modules: a tooth that would end in a point is cut off where it is still this wide
_SHARE_OF_TIP = 0.9  # at most this much of the rack's tip is round, so that some root circle is left
_HALVINGS = 40


def gear_outline(
    teeth: int,
    module_mm: float = 1.0,
    pressure_angle_deg: float = 20.0,
    *,
    backlash_mm: float = 0.04,
    flank_points: int = 8,
    turned_deg: float = 0.0,
    centre_mm: Point = (0.0, 0.0),
) -> list[Point]:
    """The outline of a gear as (x, y) in mm, anticlockwise, the first point not repeated at the end.

    >>> outline = gear_outline(24, 1.25, turned_deg=90, centre_mm=(10, 0))
    >>> round(max(y for x, y in outline), 3)      # a tooth points straight up
    16.25
    >>> len(gear_outline(24, flank_points=3)) < len(outline)
    True

    `teeth`: 6 to 1000. `module_mm`: 0.05 to 100. `pressure_angle_deg`: 10 to 30.
    `backlash_mm`: play along the pitch circle between two such gears at the standard centre distance,
    0 to 0.4 modules; each gear's teeth are thinned by half of it.
    `flank_points`: points along each involute, 2 to 50, half as many on each root; fewer is faster to draw.
    `turned_deg`: 0 has a tooth along +x; positive turns anticlockwise, y upwards.
    A tooth that would come to a point (few teeth, large angle) is cut off where it is 0.1 modules wide.
    Raises ValueOutOfRangeError for anything outside those ranges. Source: ISO 53 proportions, the tip one module above
    the pitch circle and the root 1.25 below (from memory).
    """
    checked_gear(teeth, module_mm, pressure_angle_deg)
    one = tooth_outline(teeth, pressure_angle_deg, backlash_mm / module_mm, flank_points)
    (x0, y0), start = centre_mm, math.radians(turned_deg)
    outline = []
    for tooth in range(teeth):
        angle = start + 2 * math.pi * tooth / teeth
        along, across = module_mm * math.cos(angle), module_mm * math.sin(angle)
        outline += [(x0 + along * x - across * y, y0 + across * x + along * y) for x, y in one]
    return outline


@lru_cache(maxsize=512)
def tooth_outline(
    teeth: int, pressure_angle_deg: float = 20.0, backlash: float = 0.04, flank_points: int = 8
) -> tuple[Point, ...]:
    """One tooth along +x of a gear of module 1, from the root on one side to the root on the other.

    >>> tooth = tooth_outline(20)
    >>> round(max(x for x, y in tooth), 6)        # half the outside diameter
    11.0

    `backlash` in modules. Arguments and errors as in gear_outline.
    """
    teeth, _, angle = checked_gear(teeth, 1.0, pressure_angle_deg)
    within(backlash, what="backlash", most=0.4, unit="modules")
    within(flank_points, what="points on a flank", least=2, most=50)
    upper = _half_tooth(teeth, angle, backlash, flank_points)
    lower = [(radius, -turn) for radius, turn in upper]
    polar = [*lower, (upper[-1][0], 0.0), *reversed(upper)]
    return tuple((radius * math.cos(turn), radius * math.sin(turn)) for radius, turn in polar)


@dataclass(frozen=True, slots=True)
class _Rack:
    """The cutter, in modules: half its gap at the pitch line, and the round at its tip."""

    angle: float
    half_tooth: float  # half the thickness of the gear's tooth at the pitch circle
    tip_radius: float

    @classmethod
    def of(cls, angle: float, backlash: float) -> _Rack:
        """The largest tip round that leaves the flank straight down to one module, and fits on the tip."""
        half_tip = math.pi / 4 + backlash / 4 - DEDENDUM * math.tan(angle)
        widest = _SHARE_OF_TIP * half_tip * math.cos(angle) / (1 - math.sin(angle))
        return cls(angle, math.pi / 4 - backlash / 4, min(_CLEARANCE / (1 - math.sin(angle)), widest))

    @property
    def round_depth(self) -> float:
        """How far the centre of the tip round lies below the pitch line."""
        return DEDENDUM - self.tip_radius

    @property
    def straight_depth(self) -> float:
        """How far below the pitch line the straight flank ends."""
        return self.round_depth + self.tip_radius * math.sin(self.angle)

    def fillet(self, pitch_radius: float, shift: float) -> Point:
        """(radius, half angle) of the root curve; shift runs from 0 at the bottom to the flank's end.

        The common normal of cutter and gear goes through the pitch point, so with the tip round's centre
        `shift` short of it, the point being cut lies on that line, a tip radius beyond the centre.
        """
        depth = self.round_depth
        beyond = 1 + self.tip_radius / math.hypot(depth, shift)
        x, y = pitch_radius - depth * beyond, -shift * beyond
        centre = self.half_tooth + depth * math.tan(self.angle) + self.tip_radius / math.cos(self.angle)
        return math.hypot(x, y), math.atan2(y, x) + (centre + shift) / pitch_radius


def _half_tooth(teeth: int, angle: float, backlash: float, flank_points: int) -> list[Point]:
    """(radius, half angle) from the root up to the tip corner, module 1."""
    rack, pitch = _Rack.of(angle, backlash), teeth / 2
    base = pitch * math.cos(angle)

    def involute(radius: float) -> float:
        return rack.half_tooth / pitch + _involute(math.cos(angle)) - _involute(min(1.0, base / radius))

    tip = pitch + 1
    if involute(tip) * tip < _LEAST_LAND / 2:
        tip = _bisect(lambda radius: involute(radius) * radius > _LEAST_LAND / 2, pitch, tip)
    end = rack.round_depth / math.tan(angle)
    if rack.straight_depth > pitch * math.sin(angle) ** 2:

        def below_flank(shift: float) -> bool:
            radius, turn = rack.fillet(pitch, shift)
            return radius < base or turn < involute(radius)

        end = _bisect(below_flank, 0.0, end)
    start, _ = rack.fillet(pitch, end)
    if start >= tip:  # so few teeth that nothing of the involute is left
        end = _bisect(lambda shift: rack.fillet(pitch, shift)[0] < tip, 0.0, end)
        return [rack.fillet(pitch, end * k / flank_points) for k in range(flank_points + 1)]
    steps = max(3, flank_points // 2)
    fillet = [rack.fillet(pitch, end * k / steps) for k in range(steps)]
    # Equal steps of roll angle, so that the curve is finest near the base circle, where it bends most.
    first, last = _roll(start, base), _roll(tip, base)
    rolls = [first + (last - first) * k / (flank_points - 1) for k in range(flank_points)]
    flank = [base * math.hypot(1, roll) for roll in rolls]
    return fillet + [(radius, involute(radius)) for radius in flank]


def _involute(cosine: float) -> float:
    """inv(α) = tan α − α, from cos α."""
    angle = math.acos(cosine)
    return math.tan(angle) - angle


def _roll(radius: float, base: float) -> float:
    return math.sqrt(max(0.0, (radius / base) ** 2 - 1))


def _bisect(holds: Callable[[float], bool], low: float, high: float) -> float:
    """Where a condition that holds at `low` stops holding on the way to `high`."""
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if holds(middle):
            low = middle
        else:
            high = middle
    return low


def checked_gear(teeth: int, module_mm: float, pressure_angle_deg: float) -> tuple[int, float, float]:
    """Teeth, module, and the pressure angle in radians; raises ValueOutOfRangeError for what is no such gear."""
    teeth = as_teeth(teeth)
    within(module_mm, what="a module", least=0.05, most=100, unit="mm")
    within(pressure_angle_deg, what="a pressure angle", least=10, most=30, unit="°")
    return teeth, module_mm, math.radians(pressure_angle_deg)


# Gears in mesh: where each stands, how it turns, and the angle at which its teeth meet its neighbour's.


_FARTHEST_MM = 10_000
_LAST_PLANE = 6  # more would leave no room for the gears themselves


class Teeth(NamedTuple):
    """A size of tooth, to be drawn."""

    module_mm: float = 1.0
    pressure_angle_deg: float = 20.0


_OF_MODULE_1 = Teeth()


@dataclass(frozen=True, slots=True)
class PlacedGear:
    """One gear of a train where it stands.

    `place`: what it does, "first driver"; `kind`: "driver", "driven", "idler" or "idle" (in one piece with an idler,
    and meshing with nothing); `shaft`: 0 on the spindle side, counted along the chain; `plane`: 0 next to the
    headstock; `turns`: for one turn of the first driver, negative when the other way; `rest_deg`: its angle while the
    first driver stands at 0; `size`: of its teeth.
    """

    place: str
    kind: str
    teeth: int
    shaft: int
    plane: int
    centre_mm: Point
    turns: Fraction
    rest_deg: float
    size: Teeth = _OF_MODULE_1

    @property
    def outside_mm(self) -> float:
        """The radius over the tips."""
        return self.size.module_mm * (self.teeth / 2 + 1)

    def angle_deg(self, first_driver_deg: float) -> float:
        """Its angle when the first driver has turned so far."""
        return self.rest_deg + float(self.turns) * first_driver_deg

    def outline(
        self,
        first_driver_deg: float = 0.0,
        module_mm: float | None = None,
        pressure_angle_deg: float | None = None,
        *,
        backlash_mm: float = 0.04,
        flank_points: int = 8,
    ) -> list[Point]:
        """Its outline in place, as in gear_outline; module and pressure angle its own where none is given."""
        return gear_outline(
            self.teeth,
            module_mm or self.size.module_mm,
            pressure_angle_deg or self.size.pressure_angle_deg,
            backlash_mm=backlash_mm,
            flank_points=flank_points,
            turned_deg=self.angle_deg(first_driver_deg),
            centre_mm=self.centre_mm,
        )


def meshing_angle_deg(teeth: int, angle_deg: float, mate_teeth: int, bearing_deg: float) -> float:
    """The angle at which the mate's teeth stand centred in the gaps of a gear at `angle_deg`.

    >>> meshing_angle_deg(20, 0.0, 40, 0.0)       # a tooth of the 20 points at the mate, so the mate offers a gap
    175.5
    >>> meshing_angle_deg(20, 18.0, 40, 0.0) - meshing_angle_deg(20, 0.0, 40, 0.0)
    -9.0

    `bearing_deg`: the direction from the gear's centre to the mate's.
    Teeth counted from the line of centres, the same way round on both, add up to a half.
    """
    return bearing_deg + 180 - 180 / mate_teeth + (bearing_deg - angle_deg) * teeth / mate_teeth


def place_train(
    train: Train,
    axes_mm: Sequence[Point],
    planes: Sequence[int],
    size_of: Callable[[int], Teeth] = lambda _: _OF_MODULE_1,
    idle: Sequence[tuple[int, int, int]] = (),
) -> tuple[PlacedGear, ...]:
    """Every gear of a train, in chain order, on given axes and planes, teeth in mesh; idle gears after them.

    >>> [(gear.place, gear.turns) for gear in place_train(Train((20,), (40,)), ((0, 0), (30, 0)), (0,))]
    [('first driver', Fraction(1, 1)), ('first driven', Fraction(-1, 2))]

    `axes_mm`: spindle side first, then each stud along the chain, the last driven gear's axis last.
    `planes`: a number a mesh, 0 to 6, 0 next to the headstock; neighbours differ. `size_of`: that of a gear's teeth;
    `idle`: gear, axis and plane of each that is in one piece with an idler.
    Raises ValueOutOfRangeError when there are too few or too many of either, or two axes are the same.
    """
    _check_axes(train, axes_mm)
    _check_planes(train, planes)
    placed: list[PlacedGear] = []
    turns, angle = Fraction(1), 0.0
    for gear, (place, _) in zip(gears_of(train.chain()), train.places(), strict=True):
        axis = axes_mm[gear.axis]
        if placed and placed[-1].shaft != gear.axis:
            mate = placed[-1]
            turns *= -Fraction(mate.teeth, gear.teeth)
            angle = meshing_angle_deg(mate.teeth, angle, gear.teeth, _bearing_deg(axes_mm[mate.shaft], axis))
        size = size_of(gear.teeth)
        placed.append(PlacedGear(place, gear.role, gear.teeth, gear.axis, planes[gear.mesh], axis, turns, angle, size))
    for teeth, shaft, plane in idle:
        turns = next(gear.turns for gear in placed if gear.shaft == shaft)
        placed.append(PlacedGear("idle", "idle", teeth, shaft, plane, axes_mm[shaft], turns, 0.0, size_of(teeth)))
    return tuple(placed)


def row_mm(train: Train, size_of: Callable[[int], Teeth] = lambda _: _OF_MODULE_1) -> tuple[float, ...]:
    """Where the shafts stand when the train is unfolded into one straight row, the first at 0.

    >>> row_mm(Train((40,), (80,), ((50,),)))
    (0.0, 45.0, 110.0)
    """
    row = [0.0]
    for chain in train.chain():
        for teeth, mate in pairwise(chain):
            row.append(row[-1] + size_of(teeth).module_mm * (teeth + mate) / 2)
    return tuple(row)


def _bearing_deg(start: Point, end: Point) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _check_axes(train: Train, axes_mm: Sequence[Point]) -> None:
    if len(axes_mm) != train.shafts:
        raise ValueOutOfRangeError(f"this train needs {train.shafts} axes, spindle side first", value=len(axes_mm))
    for axis in axes_mm:
        if len(axis) != 2 or not all(abs(x) <= _FARTHEST_MM for x in axis):  # no NaN passes this
            raise ValueOutOfRangeError(f"an axis is two numbers, x and y, up to {_FARTHEST_MM} mm", value=repr(axis))
    for start, end in pairwise(axes_mm):
        if math.dist(start, end) == 0:
            raise ValueOutOfRangeError("two gears that mesh can't have the same axis", value=repr(start))


def _check_planes(train: Train, planes: Sequence[int]) -> None:
    if len(planes) != train.meshes or not all(isinstance(p, int) and 0 <= p <= _LAST_PLANE for p in planes):
        raise ValueOutOfRangeError(
            f"this train needs {train.meshes} planes, whole numbers from 0 to {_LAST_PLANE}, one a mesh",
            value=repr(tuple(planes)),
        )
    if any(a == b for a, b in pairwise(planes)):
        raise ValueOutOfRangeError("two gears on one stud can't be in the same plane", value=repr(tuple(planes)))
