"""The trains that a plan may choose from: every one that comes near enough, and each as it can be put on.

A train is first looked at loosely: which gears, without their order and without idlers. Only where that promises
something is it looked at as it stands, in each order of its meshes and with each idler with which it goes on: the lead
is the same in all of them, which gears have to be moved for the next thread is not.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, islice, permutations, product, takewhile
from math import comb, inf
from typing import NamedTuple

from gearcalc.basics.exact import RelativeError
from gearcalc.finding.products import closest
from gearcalc.finding.rankings import Query, goals_of
from gearcalc.finding.setups import Setup, assemble
from gearcalc.finding.tables import tables_of
from gearcalc.fits import Fit, arrange, arrange_with
from gearcalc.fits.arrangements import (
    Chain,
    Question,
    Ways,
    count_chains,
    every_chain,
    idlers_may_stand,
    is_steep,
    train_of,
)
from gearcalc.fits.geometry import Layout, layout_if_any
from gearcalc.lathes import Lathe
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.trains import STEEPEST_MESH, TOO_STEEP, Gears, Train, steepest_mesh
from gearcalc.planning.nearness import Loose
from gearcalc.threads.wanted import Wanted

_NO_GEARS = GearSet(())
_MOST_ORDERS = 1500  # of one train; of those with more only the first are looked at
_A_LITTLE = 1e-9  # far more than the roundings of a few floats add up to


class Candidates:
    """The trains that do a job, within an error that they may not exceed (None: as far off as they like).

    `trains`: loosely, of the gears in `gear_set`; first one that goes on, that of `best` if it can be, then those of
    fewest meshes, the nearest first. `whole`: whether these are all there are. `most`: how many are listed at most.
    """

    def __init__(
        self,
        best: Setup,
        wanted: Wanted,
        limit: RelativeError | None,
        gear_set: GearSet,
        meshes: Sequence[int],
        most: int,
    ) -> None:
        self.lathe, self.wanted, self.layout = best.lathe, wanted, layout_if_any(best.lathe)
        self.goals = goals_of(Query(self.lathe, wanted, tuple(meshes)))
        tables = [table for each in meshes for table in tables_of(gear_set, each)]
        ties = closest([goal.target for goal in self.goals], tables)
        near = takewhile(lambda tie: limit is None or tie.miss <= limit, ties)
        found = chain.from_iterable(tie.trains(idle_pairs=True) for tie in near)
        listed = [Loose(each.drivers, each.driven, each.target) for each in islice(found, most + 1)]
        self.whole = len(listed) <= most
        self._orders: dict[Loose, list[Chain]] = {}
        self._fits: dict[Chain, Fit] = {}
        known = Loose.of(best.train)._replace(goal=[goal.lever for goal in self.goals].index(best.position))
        trains = list(dict.fromkeys((known, *sorted(listed[:most], key=lambda train: len(train.drivers)))))
        gentle = [train for train in trains if not self._strains(train)]
        first = next(filter(self._goes_on_gently, gentle), None) if best.strained else known
        self.strained = first is None
        self.trains = trains if first is None else list(dict.fromkeys((first, *gentle)))

    def _goes_on_gently(self, train: Loose) -> bool:
        return any(not is_steep(each, STEEPEST_MESH) and self.goes_on(each) for each in self.orders(train))

    def _strains(self, train: Loose) -> bool:
        """Whether it is strained in every order of its meshes."""
        if steepest_mesh(train.drivers, train.driven) > TOO_STEEP:
            return True
        return self.goals[train.goal].too_fast(train.drivers, train.driven)

    def orders(self, loose: Loose) -> list[Chain]:
        """The train in each order of its meshes, with each choice of as few idlers as it needs."""
        if loose not in self._orders:
            self._orders[loose] = self._with_fewest_idlers(loose)
        return self._orders[loose]

    def _with_fewest_idlers(self, loose: Loose) -> list[Chain]:
        train, goal = Train(loose.drivers, loose.driven), self.goals[loose.goal]
        gear_set = self.lathe.gear_set
        spare = gear_set.left_over(train.gears)
        if self.layout is None:
            numbers = [goal.idlers(train.meshes)]
        else:
            numbers = Ways(Question(train, self.layout, gear_set, goal.same_way)).numbers_of_idlers()
        for idlers in numbers:
            every = list(islice(chains_that_stand(gear_set, train, spare, idlers), _MOST_ORDERS + 1))
            self.whole &= len(every) <= _MOST_ORDERS
            if idlers == numbers[-1] or any(map(self.goes_on, every)):
                return every
        return []

    def knows(self, order: Chain) -> bool:
        """Whether it was looked at already, or there is no bracket to look at."""
        return self.layout is None or order in self._fits

    def may_stand(self, order: Chain) -> bool:
        """Whether it goes on so, and is not strained so where the job can do without."""
        return (self.strained or not is_steep(order, STEEPEST_MESH)) and self.goes_on(order)

    def goes_on(self, order: Chain) -> bool:
        fit = self._fit(order)
        return fit is None or fit.goes_on

    def _fit(self, order: Chain) -> Fit | None:
        if self.layout is None:
            return None
        if order not in self._fits:
            self._fits[order] = _fit_as_it_stands(train_of(order), self.layout)
        return self._fits[order]

    def roomiest(self, loose: Loose) -> Chain | None:
        """The order that goes on with the most room to spare; None where there is no bracket, or none goes on."""
        if self.layout is None:
            return None
        same_way = self.goals[loose.goal].same_way
        question = Question(Train(loose.drivers, loose.driven), self.layout, self.lathe.gear_set, same_way)
        fit = arrange(question)
        return fit.train.chain() if fit.goes_on else None

    def setup(self, loose: Loose, order: Chain) -> Setup:
        """The setup that it makes."""
        return assemble(self.lathe, train_of(order), self.goals[loose.goal].lever, self.wanted, self._fit(order))


def _fit_as_it_stands(train: Train, layout: Layout) -> Fit:
    return arrange_with(Question(train, layout, _NO_GEARS, keep_order=True), train.idler_count)


def chains_that_stand(gear_set: GearSet, train: Train, spare: Gears, idlers: int) -> Iterator[Chain]:
    """A train in every order in which it may stand, with so many idlers out of `spare`."""
    every = every_chain(train, spare, idlers, gears=gear_set)
    return every if gear_set.anything_goes else (each for each in every if idlers_may_stand(gear_set, each, spare))


class Window(NamedTuple):
    """From which to which ratio of drivers to driven a train is near enough, with one position of the lever."""

    low: float
    high: float


def windows(lathe: Lathe, wanted: Wanted, limit: RelativeError | None) -> list[Window]:
    """How near is near enough, a window for each position of the lever, a little too wide rather than too narrow."""
    share = inf if limit is None else abs(limit.ppm) / 1e6 + _A_LITTLE
    targets = [float(goal.target) for goal in goals_of(Query(lathe, wanted, (1,)))]
    return [Window(target * max(0.0, 1 - share), target * (1 + share)) for target in targets]


class Exchanges:
    """By how much a ratio changes when one gear is put in another's place: what no two jobs can beat.

    >>> swaps = Exchanges([20, 40, 60])
    >>> [swaps.fewest([Window(0.5, 0.5)], [Window(wanted, wanted)]) for wanted in (0.5, 0.75, 0.8)]
    [0, 1, 2]
    """

    def __init__(self, gears: Iterable[int]) -> None:
        self.pairs = sorted((one / other, one, other) for one, other in permutations(dict.fromkeys(gears), 2))
        self._ratios = [ratio for ratio, _, _ in self.pairs]

    def fewest(self, one: Sequence[Window], other: Sequence[Window]) -> int:
        """How many gears have to be moved at least between two jobs: none, one, or two."""
        if any(a.low <= b.high * (1 + _A_LITTLE) and b.low <= a.high * (1 + _A_LITTLE) for a, b in product(one, other)):
            return 0
        return 1 if next(self.between(one, other), None) else 2

    def between(self, one: Sequence[Window], other: Sequence[Window]) -> Iterator[tuple[int, int]]:
        """The exchanges of one gear that lead from one job to another."""
        for a, b in product(one, other):
            place = bisect_left(self._ratios, b.low / a.high * (1 - _A_LITTLE))
            highest = b.high / a.low * (1 + _A_LITTLE) if a.low else inf
            for ratio, put, taken in self.pairs[place:]:
                if ratio > highest:
                    break
                yield put, taken


def most_useful(
    gear_set: GearSet, jobs: Sequence[Sequence[Window]], exchanges: Exchanges, meshes: Sequence[int], most: int
) -> GearSet:
    """The gears, or where they make far more than so many trains those that lead from job to job most often."""
    share = sum(min(1.0, window.high / window.low - 1 if window.low else 1.0) for job in jobs for window in job)
    number = len(gear_set.loose)
    if not gear_set.anything_goes:
        share *= _number_of_trains(gear_set, meshes) / _if_anything_goes(number, meshes)
    while number > 1 and share / 4 * _if_anything_goes(number, meshes) > most:
        number -= 1
    if number == len(gear_set.loose):
        return gear_set
    use = dict.fromkeys(gear_set.loose, 0.0)
    for one, other in permutations(jobs, 2):
        found = list(exchanges.between(one, other))
        for gear in chain.from_iterable(found):
            if gear in use:
                use[gear] += 1 / len(found)
    useful = sorted(gear_set.loose, key=lambda gear: (-use[gear], gear))
    if gear_set.anything_goes:
        return GearSet(useful[:number])
    return gear_set.without({*useful[number:]} - {gear_set.fixed.first_driver, gear_set.fixed.last_driven})


def _if_anything_goes(gears: int, meshes: Sequence[int]) -> int:
    """About how many trains so many gears make, whatever they multiply to; never none."""
    return max(1, sum(comb(gears, each) ** 2 for each in meshes))


def _number_of_trains(gear_set: GearSet, meshes: Sequence[int]) -> int:
    """The same, counted in the tables of the set."""
    tables = chain.from_iterable(tables_of(gear_set, each) for each in meshes)
    return sum(len(each.over.choices(drivers=True)) * len(each.under.choices(drivers=False)) for each in tables)


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
    layout = layout_if_any(lathe)
    spare = lathe.gear_set.left_over((*setup.train.drivers, *setup.train.driven))
    for train in map(train_of, chains_that_stand(lathe.gear_set, setup.train, spare, idlers)):
        if train == setup.train or (train.steepest > STEEPEST_MESH and not setup.strained):
            continue
        fit = None if layout is None else _fit_as_it_stands(train, layout)
        if fit is None or fit.goes_on:
            yield assemble(lathe, train, setup.position, setup.wanted, fit)


def ways_to_arrange(lathe: Lathe, setup: Setup) -> int:
    """How many orders there are at most: a measure of the work."""
    train = setup.train
    spare = lathe.gear_set.left_over((*train.drivers, *train.driven))
    return count_chains(train.meshes, len(spare), train.idler_count)
