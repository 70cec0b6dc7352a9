"""Every setup that answers a question, best first, worked out only as far as it is asked for.

The order, each rule deciding among what the rules before it leave equal:

1. |exact error|: whole numbers and Fractions, π by bounds, never a float.
2. Not strained (no mesh steeper, no leadscrew faster than setups.py allows) before strained.
3. A row of the machine's own plate.
4. Fewest gears, idlers counted.
5. Fewest places that hold another gear than what is mounted, in the best order of the meshes.
6. The mildest steepest mesh.
7. Tooth counts of the drivers, then of the driven, ascending; then the lever's place in the lathe file.

A rational lead is often cut exactly by thousands of trains. Those of fewer meshes come before those of more, unless
they are strained or the others on the plate; so the plate's rows are looked at first, then one table of products
after the other, each only when no train that is not strained is left from those before it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cached_property, lru_cache
from heapq import heapify, heappop, heappush
from math import isclose, prod
from typing import TypeAlias

from attrs import frozen

from gearcalc.exact import Exact, RelativeError, coefficient
from gearcalc.lathes import Lathe, Lever
from gearcalc.mesh_orders import Gears, fewest_moved, in_order, steepest_mesh, with_idler
from gearcalc.products import Candidate, Products, Tie, closest
from gearcalc.setups import (
    FASTEST_LEADSCREW,
    STEEPEST_MESH,
    Setup,
    Wanted,
    assemble,
    lead_to_cut,
    natural_hand,
    places_that_differ,
    wanted_hand,
)
from gearcalc.trains import Train

__all__ = ["Position", "Query", "positions", "ranked"]

_KEPT_TABLES = 32
_NEARLY = 1e-9  # sizes of error that a float can't be trusted to tell apart

Rank: TypeAlias = tuple[bool, bool, int, int, float, Gears, Gears, int]
"""Strained, not on the plate, gears, moved, steepest mesh, drivers, driven, the lever's place."""
Waiting: TypeAlias = tuple[Rank, Train | None]


@frozen
class Query:
    """What is asked of the gears; made by find_setups, which also checks it.

    `meshes`: the smallest first; `within`: the largest |error|, a share of what is wanted, or None; `avoid`: tooth
    counts not to use; `one_per_lead`: only the best of those that cut equal leads; `borrowed`: gears to be used as if
    they were owned.
    """

    lathe: Lathe
    wanted: Wanted
    meshes: tuple[int, ...]
    within: Fraction | None = None
    mounted: Train | None = None
    avoid: frozenset[int] = frozenset()
    one_per_lead: bool = False
    borrowed: Gears = ()

    @cached_property
    def gears(self) -> Gears:
        """The gears that may be used, ascending."""
        return tuple(sorted(teeth for teeth in (*self.lathe.gears, *self.borrowed) if teeth not in self.avoid))


@frozen
class Position:
    """A lever position as the search sees it; without a gearbox there is one, with no lever.

    `target`: what drivers over driven should come to. `fastest`: from more than this the leadscrew is too fast.
    `idlers`: number of meshes -> idlers that the direction needs, 0 or 1; a number that can't be built is left out.
    """

    lever: Lever | None
    target: Exact
    fastest: Fraction
    idlers: dict[int, int]


def positions(query: Query) -> list[Position]:
    """The lever positions in the order of the lathe file, each with its own target."""
    lathe, lead = query.lathe, lead_to_cut(query.lathe, query.wanted)
    found = []
    for lever in lathe.gearbox or (None,):
        turns = lathe.spindle_ratio * (lever.ratio if lever else 1)
        target, fastest = lead / (lathe.leadscrew.lead * turns), FASTEST_LEADSCREW / turns
        found.append(Position(lever, target, fastest, _idlers_needed(query, lever)))
    return found


def _idlers_needed(query: Query, lever: Lever | None) -> dict[int, int]:
    if query.lathe.spindle_side.reverse:
        return dict.fromkeys(query.meshes, 0)
    hand = wanted_hand(query.wanted)
    needed = {m: int(natural_hand(query.lathe, m % 2 == 0, lever) != hand) for m in query.meshes}
    return {m: idlers for m, idlers in needed.items() if 2 * m + idlers <= len(query.gears)}


def ranked(query: Query) -> Iterator[Setup]:
    """Every setup that answers the query, best first, each built when it is asked for.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.threads import Thread
    >>> print(next(ranked(Query(demo_lathe("inch"), Thread.parse("16 tpi"), (1, 2)))))
    40/80, lever middle: lead 1.5875 mm (16 tpi), exact

    Whoever checks whether setups go on takes them from here, one after the other, until there are enough.
    Raises NotPossibleError when the lathe has no such feed or the gears can be chosen in too many ways,
    ValueOutOfRangeError when a ratio far beyond gears is wanted.
    """
    ranking = _Ranking(query)
    for tie in closest([position.target for position in ranking.positions], ranking.tables, query.within):
        yield from ranking.best_first(tie)


@lru_cache(maxsize=_KEPT_TABLES)
def _products(gears: Gears, meshes: int) -> Products:
    return Products.of(gears, meshes)


class _Ranking:
    """The ranks of one query's trains, tie by tie."""

    def __init__(self, query: Query) -> None:
        self.query = query
        self.positions = positions(query)
        self.tables = [_products(query.gears, meshes) for meshes in query.meshes]
        self.plate = list(self._plate_rows())
        self.mounted = query.mounted
        self.idlers_mounted = sum(map(len, query.mounted.idlers)) if query.mounted else 0

    def best_first(self, tie: Tie) -> Iterator[Setup]:
        """The setups of one tie in order; with one_per_lead, only the best of each lead."""
        leads, most_leads = set(), 2 if tie.both_sides else 1
        for (*_, drivers, driven, place), train in self._in_order(tie):
            position = self.positions[place]
            if self.query.one_per_lead:
                share = Fraction(prod(drivers), prod(driven)) / coefficient(position.target)
                if share in leads:
                    continue
                leads.add(share)
            yield assemble(self.query.lathe, train, position.lever, self.query.wanted)
            if self.query.one_per_lead and len(leads) == most_leads:
                return

    def _in_order(self, tie: Tie) -> Iterator[tuple[Rank, Train]]:
        rows = set(self._rows_in(tie))
        waiting: list[Waiting] = list(self._ranks(rows, on_plate=True))
        for place in range(len(self.tables)):
            yield from self._taken(waiting, strained_too=False)  # they have fewer gears than anything to come
            waiting += self._ranks((found for found in tie.trains_of(place) if found not in rows), on_plate=False)
        yield from self._taken(waiting, strained_too=True)

    def _taken(self, waiting: list[Waiting], strained_too: bool) -> Iterator[tuple[Rank, Train]]:
        """Take out what is waiting, in order; a train gets its order of meshes, and real rank, when its turn comes."""
        heapify(waiting)
        while waiting and (strained_too or not waiting[0][0][0]):
            rank, train = heappop(waiting)
            if train is None:
                heappush(waiting, self._arranged(rank))
            else:
                yield rank, train

    def _ranks(self, trains: Iterable[Candidate], on_plate: bool) -> Iterator[Waiting]:
        """The rank of each train that serves, its meshes in whatever order would rank it first: the real rank, or one
        before it where something is mounted."""
        for place, drivers, driven in trains:
            position = self.positions[place]
            idlers = position.idlers.get(len(drivers))
            if idlers is None:
                continue
            steepest = steepest_mesh(drivers, driven)
            strained = steepest > STEEPEST_MESH or self._too_fast(position, drivers, driven)
            moved = self._fewest_moved(drivers, driven, idlers) if self.mounted else 0
            yield (strained, not on_plate, 2 * len(drivers) + idlers, moved, steepest, drivers, driven, place), None

    def _arranged(self, rank: Rank) -> tuple[Rank, Train]:
        """The train with its meshes in the best order and its idler, and its real rank."""
        strained, unlisted, gears, moved, steepest, drivers, driven, place = rank
        position = self.positions[place]
        too_fast = strained and self._too_fast(position, drivers, driven)
        train = in_order(drivers, driven, self.mounted, too_fast)
        if gears > 2 * train.meshes:
            train = with_idler(train, self.query.gears, self.mounted)
        if self.mounted:
            moved, steepest = places_that_differ(train, self.mounted), steepest_mesh(train.drivers, train.driven)
            strained = too_fast or steepest > STEEPEST_MESH
        return (strained, unlisted, gears, moved, steepest, drivers, driven, place), train

    def _fewest_moved(self, drivers: Gears, driven: Gears, idlers: int) -> int:
        assert self.mounted is not None
        sides = fewest_moved(drivers, self.mounted.drivers) + fewest_moved(driven, self.mounted.driven)
        return sides + abs(self.idlers_mounted - idlers)

    @staticmethod
    def _too_fast(position: Position, drivers: Gears, driven: Gears) -> bool:
        return prod(drivers) * position.fastest.denominator > prod(driven) * position.fastest.numerator

    def _plate_rows(self) -> Iterator[Candidate]:
        """The rows of the machine's plate that are answers: gears owned, on one side only, as many as asked for."""
        owned = Counter(self.query.gears)
        for row in self.query.lathe.plate:
            needed = Counter(row.drivers) + Counter(row.driven)
            if len(row.drivers) in self.query.meshes and needed <= owned and not set(row.drivers) & set(row.driven):
                for place, position in enumerate(self.positions):
                    if row.lever == (position.lever.lever if position.lever else None):
                        yield Candidate(place, tuple(sorted(row.drivers)), tuple(sorted(row.driven)))

    def _rows_in(self, tie: Tie) -> Iterator[Candidate]:
        size = abs(tie.miss.ppm) / 1_000_000
        for row in self.plate:
            target, over, under = self.positions[row.target].target, prod(row.drivers), prod(row.driven)
            near = isclose(abs(over / under / float(target) - 1), size, rel_tol=_NEARLY, abs_tol=_NEARLY)
            if near and RelativeError(Fraction(over, under), target) == tie.miss:
                yield row
