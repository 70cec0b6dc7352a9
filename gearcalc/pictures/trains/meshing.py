"""Gears in mesh: where each stands, how it turns, and the angle at which its teeth meet its neighbour's.

Angles are in degrees, anticlockwise, y upwards; at 0 a gear has a tooth pointing along +x.
Gears on one stud are keyed with a tooth in line with the key, so they share one angle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.pictures.trains.outlines import Point, gear_outline

_FARTHEST_MM = 10_000
_LAST_PLANE = 6  # more would leave no room for the gears themselves


@dataclass(frozen=True, slots=True)
class PlacedGear:
    """One gear of a train where it stands.

    `place`: what it does, "first driver"; `kind`: "driver", "driven" or "idler"; `shaft`: 0 on the spindle
    side, counted along the chain; `plane`: 0 next to the headstock; `turns`: for one turn of the first driver,
    negative when the other way; `rest_deg`: its angle while the first driver stands at 0.
    """

    place: str
    kind: str
    teeth: int
    shaft: int
    plane: int
    centre_mm: Point
    turns: Fraction
    rest_deg: float

    def angle_deg(self, first_driver_deg: float) -> float:
        """Its angle when the first driver has turned so far."""
        return self.rest_deg + float(self.turns) * first_driver_deg

    def outline(
        self,
        first_driver_deg: float = 0.0,
        module_mm: float = 1.0,
        pressure_angle_deg: float = 20.0,
        *,
        backlash_mm: float = 0.04,
        flank_points: int = 8,
    ) -> list[Point]:
        """Its outline in place, as in gear_outline."""
        return gear_outline(
            self.teeth,
            module_mm,
            pressure_angle_deg,
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


def chain_angles_deg(teeth: Sequence[int], axes_mm: Sequence[Point], first_deg: float = 0.0) -> list[float]:
    """The angles of gears that mesh one with the next, idlers included, the first standing at `first_deg`.

    >>> chain_angles_deg((20, 40, 20), ((0, 0), (30, 0), (60, 0)))
    [0.0, 175.5, -180.0]

    Not brought back into one turn, so that each moves on smoothly as `first_deg` does.
    """
    angles = [first_deg]
    for k in range(1, len(teeth)):
        bearing = _bearing_deg(axes_mm[k - 1], axes_mm[k])
        angles.append(meshing_angle_deg(teeth[k - 1], angles[-1], teeth[k], bearing))
    return angles


def place_train(train: Train, axes_mm: Sequence[Point], planes: Sequence[int]) -> tuple[PlacedGear, ...]:
    """Every gear of a train, in chain order, on given axes and planes, teeth in mesh.

    >>> [(gear.place, gear.turns) for gear in place_train(Train((20,), (40,)), ((0, 0), (30, 0)), (0,))]
    [('first driver', Fraction(1, 1)), ('first driven', Fraction(-1, 2))]

    `axes_mm`: spindle side first, then each stud along the chain, the last driven gear's axis last.
    `planes`: a number a mesh, 0 to 6, 0 next to the headstock; neighbours differ.
    Raises ValueOutOfRangeError when there are too few or too many of either, or two axes are the same.
    """
    _check_axes(train, axes_mm)
    _check_planes(train, planes)
    places = iter(train.places())
    placed: list[PlacedGear] = []
    shaft, turns, angle = 0, Fraction(1), 0.0
    for chain, plane in zip(train.chain(), planes, strict=True):
        angles = chain_angles_deg(chain, axes_mm[shaft : shaft + len(chain)], angle)
        for position, teeth in enumerate(chain):
            if position:
                shaft += 1
                turns *= -Fraction(chain[position - 1], teeth)
            angle = angles[position]
            place = next(places)[0]
            kind = "idler" if 0 < position < len(chain) - 1 else place.split()[-1]
            placed.append(PlacedGear(place, kind, teeth, shaft, plane, axes_mm[shaft], turns, angle))
    return tuple(placed)


def shaft_count(train: Train) -> int:
    """How many axes a train needs: the two ends and a stud for each idler and each compound pair.

    >>> shaft_count(Train((40, 30), (80, 60), ((50,), ())))
    4
    """
    return 1 + train.meshes + sum(map(len, train.idlers))


def shaft_names(train: Train, first: str = "spindle side", last: str = "leadscrew") -> tuple[str, ...]:
    """The shafts in words, along the chain.

    >>> shaft_names(Train((40, 30), (80, 60)))
    ('spindle side', 'stud', 'leadscrew')
    """
    studs = shaft_count(train) - 2
    if studs == 1:
        return first, "stud", last
    numbered = (f"{ORDINALS[k]} stud" if k < len(ORDINALS) else f"stud {k + 1}" for k in range(studs))
    return first, *numbered, last


def _bearing_deg(start: Point, end: Point) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _check_axes(train: Train, axes_mm: Sequence[Point]) -> None:
    if len(axes_mm) != shaft_count(train):
        raise ValueOutOfRangeError(
            f"this train needs {shaft_count(train)} axes, spindle side first", value=len(axes_mm)
        )
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
