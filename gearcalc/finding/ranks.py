"""What a train sorts by: the nearest first, or the simplest that is good enough first.

The order, each rule deciding among what the rules before it leave equal:

1. |exact error|: whole numbers and Fractions, π by bounds, never a float.
2. Goes on the bracket before does not (or is left out): see fits/arrangements.py. Without a bracket it is not checked.
3. Not strained (no higher ratio in one mesh, no faster leadscrew than strain.py allows) before strained.
4. A row of the machine's own plate.
5. Fewest gears, idlers counted.
6. Fewest places that hold another gear than what is mounted, in the best order of the meshes.
7. The mildest steepest mesh.
8. Tooth counts of the drivers, then of the driven, ascending; then the lever's place in the lathe file.

Where a person is to choose, what is good enough comes first, the simplest of it before the nearest (see choosing.py):

1. Not strained before strained.
2. Fewest meshes.
3. Step of error: exact; up to 200 ppm; the rest.
4. Goes on the bracket before does not (or is left out).
5. Fewest places that hold another gear than what is mounted.
6. A row of the machine's own plate.
7. Fewest gears, idlers counted.
8. The mildest steepest mesh.
9. |exact error|; then tooth counts and lever as above.

What is not good enough comes after all that, in the order above. What is mounted comes before all: see staying.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cached_property, total_ordering
from math import inf, prod
from typing import NamedTuple, TypeAlias

from gearcalc.basics.exact import MILLION, Exact, PiMultiple, RelativeError, coefficient
from gearcalc.finding.products import Candidate, size_of
from gearcalc.fits import Fit
from gearcalc.lathes.trains import Gears, Train, steepest_mesh
from gearcalc.threads.deviations import UNJUDGED_CHOSEN_PPM

_MILD = 1.05  # of many equals those are listed first that are at most so many times as steep as need be
_NEARLY = 1e-9  # a share that roundings never come to
_NEAR = Fraction(UNJUDGED_CHOSEN_PPM, MILLION)  # where the step of error ends that comes after what is exact


class Rank(NamedTuple):
    """What one train sorts by among those with the same error.

    `misfit`: does not go on; `unlisted`: not on the plate; `steepest`: its steepest mesh; `counts`: tooth counts of
    drivers and driven, where those of several gears can be the same; `goal`: which one, by place.
    """

    misfit: bool
    strained: bool
    unlisted: bool
    gears: int
    moved: int
    steepest: float
    counts: tuple[Gears, ...]
    drivers: Gears
    driven: Gears
    goal: int


@total_ordering
class Miss:
    """How far off a train is, worked out when it is compared: most ranks are settled before it comes to that.

    A float that is correctly rounded never swaps two sizes; only those that it can't tell apart are compared exactly.
    """

    def __init__(self, target: Exact, drivers: Gears, driven: Gears) -> None:
        self.target, self.drivers, self.driven = target, drivers, driven

    @cached_property
    def products(self) -> tuple[int, int]:
        return prod(self.drivers), prod(self.driven)

    @cached_property
    def share(self) -> tuple[int, int, bool]:
        """What it cuts as a share of what is wanted, not in lowest terms; and whether π times that is wanted."""
        (over, under), wanted = self.products, coefficient(self.target)
        return over * wanted.denominator, under * wanted.numerator, isinstance(self.target, PiMultiple)

    @cached_property
    def size(self) -> float:
        return size_of(self.target)(*self.products)

    @cached_property
    def error(self) -> RelativeError:
        return RelativeError(Fraction(*self.products), self.target)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Miss):
            return NotImplemented
        if self.size != other.size:
            return False
        (over, under, pi), (more, less, other_pi) = self.share, other.share
        return (over * less == more * under and pi is other_pi) or self.error == other.error

    def __lt__(self, other: Miss) -> bool:
        return self.error < other.error if self.size == other.size else self.size < other.size

    __hash__ = None  # type: ignore[assignment]  # it is only compared


class SimplestRank(NamedTuple):
    """What one train sorts by among those that are good enough to choose; names as in Rank.

    `step`: of the error, 0 exact; `miss`: how far off.
    """

    strained: bool
    meshes: int
    step: int
    misfit: bool
    moved: int
    unlisted: bool
    gears: int
    steepest: float
    miss: Miss
    counts: tuple[Gears, ...]
    drivers: Gears
    driven: Gears
    goal: int


AnyRank: TypeAlias = Rank | SimplestRank


class Waiting(NamedTuple):
    """A train in the queue, with its order of meshes and its fit once its turn has come."""

    rank: AnyRank
    train: Train | None = None
    fit: Fit | None = None


def step_of(error: RelativeError) -> int:
    """The step of an error among those that are good enough: 0 exact, 1 up to 200 ppm, 2 the rest.

    >>> [step_of(RelativeError.of_ppm(ppm)) for ppm in (0, 200, 201)]
    [0, 1, 2]
    """
    return 0 if error.is_exact else 1 if error <= RelativeError.of_ppm(UNJUDGED_CHOSEN_PPM) else 2


def bounds_of_steps(within: Fraction) -> list[Fraction]:
    """Where steps of error end that are more than exact, up to a largest error (a share, like all of them).

    >>> bounds_of_steps(Fraction(1, 1000)), bounds_of_steps(Fraction(1, 10000)), bounds_of_steps(Fraction(0))
    ([Fraction(1, 5000), Fraction(1, 1000)], [Fraction(1, 10000)], [])
    """
    return sorted({min(_NEAR, within), within} - {0})


def mild_and_steep(target: Exact, meshes: int, within: Fraction = Fraction(0)) -> list[tuple[float, float]]:
    """How steep the steepest of so many meshes is, from and below: first nearly as mild as can be, then the rest.

    >>> [(round(low, 2), round(high, 2)) for low, high in mild_and_steep(Fraction(1, 4), 2)]
    [(2.0, 2.1), (2.1, inf)]

    `within`: how far off the trains are at most. None is milder than if all its meshes were alike.
    """
    low, high = float(target) * (1 - float(within)), float(target) * (1 + float(within))
    mildest = max(low, 1 / high, 1.0) ** (1 / meshes) * (1 - _NEARLY)
    return [(mildest, mildest * _MILD), (mildest * _MILD, inf)]


def of_steepness(trains: Iterable[Candidate], low: float, high: float) -> Iterator[Candidate]:
    """Those with a steepest mesh of `low` or more and less than `high`."""
    for found in trains:
        _, drivers, driven = found
        one, other = drivers[0], driven[0]
        if one < other * high and other < one * high and low <= steepest_mesh(drivers, driven) < high:
            yield found  # most of many are left out by a look at their first mesh
