"""The trains that a plan may choose from: every one that comes near enough, and each as it can be put on.

A bound on what any plan moves is reckoned with all of them, also those that don't go on, and each in the order of its
meshes that suits best; idlers are left out of account. So no plan can move fewer gears than can be reckoned here. What
is proposed is a setup with its gears in an order that serves: the lead is the same in all of them. Which gears have to
be moved for the next thread is not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import chain, combinations, islice, product
from typing import Any, TypeAlias

from attrs import frozen

from gearcalc.finding.products import closest
from gearcalc.finding.rankings import Query, goals_of
from gearcalc.finding.setups import Setup, assemble
from gearcalc.finding.tables import tables_of
from gearcalc.fits import arrange, arrange_with
from gearcalc.fits.arrangements import Question, count_chains, every_chain, train_of
from gearcalc.fits.geometry import layout_if_any
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.orders import best_order, plus_idler
from gearcalc.lathes.trains import STEEPEST_MESH, Train
from gearcalc.planning.least_moves import Bounds
from gearcalc.threads.wanted import Wanted

_MOST_TRAINS = 20_000

Gears: TypeAlias = tuple[int, ...]


@frozen(slots=False)
class Loose:
    """A train as it is reckoned with here: its gears, ascending, and the lever; neither order nor idlers."""

    drivers: Gears
    driven: Gears
    lever: Lever | None = None

    @classmethod
    def of(cls, train: Train, lever: Lever | None = None) -> Loose:
        return cls(tuple(sorted(train.drivers)), tuple(sorted(train.driven)), lever)

    @cached_property
    def kept(self) -> list[tuple[int, tuple[Gears, Gears]]]:
        """What can be left standing of it, most first: how many gears, and which."""
        over, under = (
            [some for count in range(len(gears) + 1) for some in combinations(gears, count)]
            for gears in (self.drivers, self.driven)
        )
        return sorted(((len(some) + len(more), (some, more)) for some, more in product(over, under)), reverse=True)


class Reach:
    """How near a train can come to any of many trains.

    >>> reach = Reach([Loose((30,), (50,)), Loose((20, 30), (60, 80))])
    >>> reach.nearest(Loose((30, 40), (60, 80)))
    1
    """

    def __init__(self, trains: Sequence[Loose]) -> None:
        self._meshes: dict[tuple[Gears, Gears], set[int]] = {}
        for train in trains:
            for _, part in train.kept:
                self._meshes.setdefault(part, set()).add(len(train.drivers))

    def nearest(self, train: Loose) -> int:
        """The fewest places that differ between the train and one of these, each in the order that suits best."""
        least, meshes = 1000, len(train.drivers)
        for count, part in train.kept:
            if 2 * meshes - count >= least:
                break
            for others in self._meshes.get(part, ()):
                least = min(least, 2 * max(meshes, others) - count)
        return least


def every_train(lathe: Lathe, wanted: Wanted, meshes: Sequence[int], within: Fraction) -> list[Loose] | None:
    """Every train that cuts what is wanted within a share of it, the nearest first; None when there are too many."""
    query = Query(lathe, wanted, tuple(meshes))
    tables, goals = [table for each in meshes for table in tables_of(lathe.gear_set, each)], goals_of(query)
    ties = closest([goal.target for goal in goals], tables, within)
    found = chain.from_iterable(tie.trains(idle_pairs=True) for tie in ties)
    trains = [Loose(each.drivers, each.driven, goals[each.target].lever) for each in islice(found, _MOST_TRAINS + 1)]
    return trains if len(trains) <= _MOST_TRAINS else None


def bounds_of(trains: Sequence[Sequence[Loose]], start: Train | None, keep_order: bool) -> Bounds:
    """What no plan can beat with these trains of each job, so loosely reckoned, from what is mounted.

    `keep_order`: whether the jobs stay in their order.
    """
    reaches = [Reach(job) for job in trains]
    mounted = Reach([Loose.of(start)]) if start is not None else None
    near, first = [], []
    for place, job in enumerate(trains):
        asked = [not keep_order or abs(place - other) == 1 for other in range(len(trains))]  # the rest stay 0
        near.append([[r.nearest(t) if ask else 0 for r, ask in zip(reaches, asked, strict=True)] for t in job])
        first.append([mounted.nearest(train) if mounted else 0 for train in job])
    return Bounds(near, first, started=start is not None, keep_order=keep_order)


def every_arrangement(lathe: Lathe, setup: Setup, most: int = 1000) -> Iterator[Setup]:
    """The setup itself, then the same gears in other orders and with other idlers, each as it goes on.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.search import find_setups
    >>> found = find_setups(demo_lathe("inch"), "M6", count=1)[0]
    >>> for each in every_arrangement(demo_lathe("inch"), found):
    ...     print(each.train)
    (63 · 30)/(50 · 60)
    (30 · 63)/(50 · 60)
    (30 · 63)/(60 · 50)
    (63 · 30)/(60 · 50)

    As many idlers as the setup has, from the gears that it leaves over. An order that would strain the train when the
    setup does not is left out. Where the lathe has no bracket every order counts. `most`: a setup with more orders
    than this comes alone.
    """
    yield setup
    idlers = setup.train.idler_count
    if ways_to_arrange(lathe, setup) > most:
        return
    layout, lever = layout_if_any(lathe), lathe.lever(setup.lever)
    spare = lathe.gear_set.left_over((*setup.train.drivers, *setup.train.driven))
    for train in map(train_of, every_chain(setup.train, spare, idlers)):
        if train == setup.train or (train.steepest > STEEPEST_MESH and not setup.strained):
            continue
        if not (lathe.gear_set.anything_goes or lathe.gear_set.allows(train)):
            continue
        fit: Any = None
        if layout is not None:
            fit = arrange_with(Question(train, layout, (), keep_order=True), idlers)
            if not fit.goes_on:
                continue
        yield assemble(lathe, train, lever, setup.wanted, fit)


def ways_to_arrange(lathe: Lathe, setup: Setup) -> int:
    """How many orders there are at most: a measure of the work."""
    train = setup.train
    spare = lathe.gear_set.left_over((*train.drivers, *train.driven))
    return count_chains(train.meshes, len(spare), train.idler_count)


def arrangements_of(lathe: Lathe, loose: Loose, wanted: Wanted, most: int = 1500) -> Iterator[Setup]:
    """Every arrangement of gears that cut what is wanted, with the fewest idlers; none where they don't go on."""
    train, layout = best_order(lathe.gear_set, loose.drivers, loose.driven, None), layout_if_any(lathe)
    goal = next(each for each in goals_of(Query(lathe, wanted, (train.meshes,))) if each.lever == loose.lever)
    fit: Any = None
    if layout is not None:
        fit = arrange(Question(train, layout, lathe.gear_set, goal.same_way))
        if not fit.goes_on:
            return
        train = fit.train
    elif goal.idlers(train.meshes):
        with_one = plus_idler(lathe.gear_set, train, None)
        if with_one is None:
            return
        train = with_one
    yield from every_arrangement(lathe, assemble(lathe, train, loose.lever, wanted, fit), most)
