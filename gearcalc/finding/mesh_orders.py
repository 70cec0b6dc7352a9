"""The order of the meshes: which driver meets which driven gear, and which spare gear can be the idler.

The order changes nothing about the ratio. It decides how steep the steepest mesh is, and how many gears have to be
moved from what is mounted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import permutations

from gearcalc.lathes.trains import STEEPEST_MESH, Train

Gears = tuple[int, ...]

TOO_STEEP = float(STEEPEST_MESH)
"""The limit again, to be held against steepest_mesh: comparing floats takes a twentieth of the time."""


def steepest_mesh(drivers: Sequence[int], driven: Sequence[int]) -> float:
    """The steepest mesh, larger over smaller, of drivers and driven as they stand.

    >>> steepest_mesh((20, 60), (40, 50))
    2.0

    With both sides ascending no other order has a milder steepest mesh. Why: steepness is a distance on a scale of
    logarithms. Take drivers a ≤ b that meet driven y ≥ x, large with small: uncrossing them, a with x and b with y,
    leaves both new distances within the longer of the two old ones. So uncross until nothing is crossed.
    A float tells any two meshes apart that differ at all: with at most 1000 teeth, two different ratios differ by
    at least one part in a million, and dividing two whole numbers rounds correctly.
    """
    steepest = 1.0
    for driver, other in zip(drivers, driven, strict=True):
        steepness = driver / other if driver > other else other / driver
        if steepness > steepest:
            steepest = steepness
    return steepest


def fewest_moved(gears: Gears, places: Gears) -> int:
    """How many of these places, or of those beyond them, must change when the gears go on in the best order.

    >>> fewest_moved((20, 30), (30, 40)), fewest_moved((20, 30), (30, 40, 50))
    (1, 2)

    `gears`: those of one side of the new train; `places`: that side of what is mounted, in its order.
    """
    kept, left = 0, list(gears)
    for mounted in places[: len(gears)]:
        if mounted in left:
            left.remove(mounted)
            kept += 1
    return max(len(gears), len(places)) - kept


def in_order(drivers: Gears, driven: Gears, mounted: Train | None, strained_anyway: bool = False) -> Train:
    """The train in the order of meshes that is best at the machine.

    >>> print(in_order((20, 30), (60, 80), mounted=Train((30,), (80,))))
    (30 · 20)/(80 · 60)

    `drivers`, `driven`: ascending. With nothing mounted: small with small, smallest first. Else the order that
    moves fewest, among those with no mesh too steep if there are any (`strained_anyway`: it makes no difference);
    then the mildest; then the smallest gears first.
    """
    if mounted is None:
        return Train(drivers, driven)

    def handiness(order: tuple[Gears, Gears]) -> tuple[bool, int, float, Gears, Gears]:
        steepest = steepest_mesh(*order)
        moved = _differing(order[0], mounted.drivers) + _differing(order[1], mounted.driven)
        return steepest > TOO_STEEP and not strained_anyway, moved, steepest, *order

    orders = ((over, under) for over in set(permutations(drivers)) for under in set(permutations(driven)))
    return Train(*min(orders, key=handiness))


def _differing(one: Gears, other: Gears) -> int:
    return max(len(one), len(other)) - sum(map(int.__eq__, one, other))


def with_idler(train: Train, owned: Iterable[int], mounted: Train | None) -> Train:
    """The train with one idler more, chosen from the gears that it leaves over.

    >>> print(with_idler(Train((40,), (80,)), owned=(40, 50, 62, 80), mounted=None))
    40/80, idler 62

    The idler goes where `mounted` has one, and is that same gear, if it can be; a gear that is not moved. Else it is
    the gear nearest the mean of the two that it stands between, the smaller of two as near; in the first mesh, or
    where there is one already. `owned`: every gear that may be used, the train's included; it must leave one over.
    """
    spare = sorted((Counter(owned) - Counter(train.gears)).elements())
    standing = mounted.idlers[: train.meshes] if mounted is not None else ()
    for mesh, idlers in enumerate(standing):
        if idlers and idlers[0] in spare:
            return _idler_at(train, mesh, idlers[0])
    mesh = next((mesh for mesh, idlers in enumerate(standing) if idlers), 0)
    between = train.drivers[mesh] + train.driven[mesh]
    return _idler_at(train, mesh, min(spare, key=lambda teeth: (abs(2 * teeth - between), teeth)))


def _idler_at(train: Train, mesh: int, idler: int) -> Train:
    before: tuple[Gears, ...] = ((),) * mesh
    return Train(train.drivers, train.driven, (*before, (idler,)))
