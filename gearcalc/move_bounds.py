"""How few gears could be moved at best: a number that no plan can beat, whatever goes on the bracket.

Every train that comes near enough counts here, also those that don't go on, and each in the order of its meshes that
suits best; idlers are left out of account. So a plan that moves no more than this is the least that there can be.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import combinations, islice, product
from typing import TypeAlias

from gearcalc.lathes import Lathe
from gearcalc.products import Products, closest
from gearcalc.rankings import Query, positions
from gearcalc.setups import Wanted
from gearcalc.trains import Train

__all__ = ["Parts", "as_parts", "fewest_between", "parts_of", "parts_of_all"]

_MOST_TRAINS = 40_000

Gears: TypeAlias = tuple[int, ...]
Parts: TypeAlias = dict[tuple[int, int, int], set[tuple[Gears, Gears]]]
"""(meshes, drivers kept, driven kept) -> what can be kept of some train of so many meshes."""


def parts_of(trains: Iterable[tuple[Gears, Gears]]) -> Parts:
    """Everything that can be kept of one of these trains: some of its drivers with some of its driven gears.

    >>> sorted(parts_of([((40,), (80,))]))
    [(1, 0, 0), (1, 0, 1), (1, 1, 0), (1, 1, 1)]

    `trains`: drivers and driven of each.
    """
    parts: Parts = defaultdict(set)
    for drivers, driven in trains:
        for kept in product(_some_of(drivers), _some_of(driven)):
            parts[len(drivers), len(kept[0]), len(kept[1])].add(kept)
    return parts


def as_parts(train: Train) -> Parts:
    """The parts of one train."""
    return parts_of([(train.drivers, train.driven)])


def _some_of(gears: Gears) -> list[Gears]:
    ordered = sorted(gears)
    return [some for count in range(len(ordered) + 1) for some in combinations(ordered, count)]


def parts_of_all(lathe: Lathe, wanted: Wanted, meshes: Sequence[int], within: Fraction) -> Parts | None:
    """The parts of every train that cuts what is wanted within a share of it; None when there are too many to list."""
    query = Query(lathe, wanted, tuple(meshes))
    tables = [Products.of(lathe.gears, each) for each in meshes]
    ties = closest([position.target for position in positions(query)], tables, within)
    trains = {(found.drivers, found.driven) for tie in islice(ties, _MOST_TRAINS) for found in
              islice(tie.trains(), _MOST_TRAINS)}  # fmt: skip
    return parts_of(trains) if len(trains) < _MOST_TRAINS else None


def fewest_between(one: Parts, other: Parts) -> int:
    """The fewest places that differ between some train of the one and some train of the other.

    >>> fewest_between(parts_of([((40, 30), (80, 60))]), parts_of([((30,), (50,)), ((20, 30), (60, 80))]))
    1
    """
    ways = [
        (2 * max(mine, theirs) - over - under, (mine, over, under), (theirs, over, under))
        for mine, over, under in one
        for theirs in {meshes for meshes, *_ in other}
        if (theirs, over, under) in other
    ]
    return next(differ for differ, mine, theirs in sorted(ways) if not one[mine].isdisjoint(other[theirs]))
