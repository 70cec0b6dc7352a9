"""Every setup that answers a question, best first, worked out only as far as it is asked for.

In which order, ranks.py says.

A tooth count that is owned twice may stand on both sides. Such an equal pair changes no ratio, so a train with one is
an answer only where the shorter train without it is none: it has no gears (1:1) or as many as nobody asked for, does
not go on, or moves more of what is mounted; or where the machine's plate says so.

A rational lead is often cut exactly by thousands of trains. Those of fewer gears come before those of more, unless
they are strained or the others on the plate; so the plate's rows are looked at first, then one table of products
after the other, each only when nothing that is left from those before it could come before all of it. Whether a train
goes on is looked at only when its turn has come, as if it went on; if it then ranks lower, it waits again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction
from functools import cache, cached_property, partial
from heapq import heapify, heappop, heappush
from itertools import product
from math import inf, isclose, prod
from typing import Any

from attrs import frozen

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import MILLION, Exact, RelativeError, coefficient
from gearcalc.finding import ranks
from gearcalc.finding.products import Candidate, Step, Tie, closest, in_steps
from gearcalc.finding.ranks import AnyRank, Miss, Rank, SimplestRank, Waiting
from gearcalc.finding.setups import Setup, assemble
from gearcalc.finding.strain import FASTEST_LEADSCREW
from gearcalc.finding.tables import tables_of
from gearcalc.fits import Fit, arrange, arrange_with
from gearcalc.fits.arrangements import Question, Ways, idlers_to_try, turns_right
from gearcalc.fits.geometry import Layout, layout_if_any
from gearcalc.fits.growing import may_reach
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.directions import way_to_turn
from gearcalc.lathes.frames import shorter_ways, ways
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.lathe import lead_to_cut, lent
from gearcalc.lathes.orders import best_order, fewest_moved, gears_moved, leaves_idlers
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.standing import without
from gearcalc.lathes.trains import TOO_STEEP, Gears, Train, steepest_mesh
from gearcalc.threads.wanted import Wanted, wanted_hand

_STEPS_A_TRAIN = 13  # what is done for each besides trying gears, in as many gears tried
_NEARLY = 1e-9  # sizes of error that a float can't be trusted to tell apart


@frozen
class Query:
    """What is asked of the gears; made by find_setups, which also checks it.

    `meshes`: the smallest first; `within`: the largest |error|, a share of what is wanted, or None; `avoid`: tooth
    counts not to use; `one_per_lead`: only the best of those that cut equal leads; `borrowed`: gears to be used as if
    they were owned; `must_fit`: leave out what does not go on the bracket, where there is one; `choose_within`: what is
    off by at most that share comes first, the simplest of it before the nearest; None: the nearest first.
    """

    lathe: Lathe
    wanted: Wanted
    meshes: tuple[int, ...]
    within: Fraction | None = None
    mounted: Train | None = None
    avoid: frozenset[int] = frozenset()
    one_per_lead: bool = False
    borrowed: Gears = ()
    must_fit: bool = True
    choose_within: Fraction | None = None

    @cached_property
    def layout(self) -> Layout | None:
        """The bracket, None where the fit can't be checked."""
        return layout_if_any(self.lathe)

    @cached_property
    def gear_set(self) -> GearSet:
        """The gears that may be used, as a set that knows what it was asked before."""
        return (lent(self.lathe.gear_set, self.borrowed) if self.borrowed else self.lathe.gear_set).without(self.avoid)


@frozen
class Goal:
    """What a train should come to with one lever position; without a gearbox there is one, with no lever.

    `target`: what drivers over driven should come to. `fastest`: from more than this the leadscrew is too fast.
    `same_way`: whether the last driven gear must turn as the first driver does, None when it may turn either way.
    """

    lever: Lever | None
    target: Exact
    fastest: Fraction
    same_way: bool | None

    def idlers(self, meshes: int) -> int:
        """How many idlers the direction needs, 0 or 1."""
        return int(not turns_right(meshes, 0, self.same_way))

    def too_fast(self, drivers: Gears, driven: Gears) -> bool:
        """Whether the leadscrew then turns faster than common practice allows."""
        return prod(drivers) * self.fastest.denominator > prod(driven) * self.fastest.numerator


def goals_of(query: Query) -> list[Goal]:
    """A goal for each lever position, in the order of the lathe file."""
    lathe, lead = query.lathe, lead_to_cut(query.lathe, query.wanted)
    found = []
    for lever in lathe.positions:
        turns = lathe.spindle_ratio * (lever.ratio if lever else 1)
        target, fastest = lead / (lathe.leadscrew.lead * turns), FASTEST_LEADSCREW / turns
        found.append(Goal(lever, target, fastest, way_to_turn(lathe, wanted_hand(query.wanted), lever)))
    return found


def meshes_that_may_go_on(query: Query) -> tuple[int, ...]:
    """The numbers of meshes for which there are studs, and gears that may reach; all where the fit is not checked.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.threads import Thread
    >>> meshes_that_may_go_on(Query(demo_lathe("inch"), Thread.parse("16 tpi"), (1, 2, 3, 4)))     # two studs
    (1, 2, 3)
    """
    layout = query.layout
    if layout is None:
        return query.meshes
    ways = {goal.same_way for goal in goals_of(query)}
    gears = frozenset(query.gear_set.pieces)
    found = []
    for meshes in query.meshes:
        studs = {meshes - 1 + idlers for way in ways for idlers in idlers_to_try(meshes, way)}
        if any(few <= layout.bracket.studs and may_reach(layout, gears, few) for few in studs):
            found.append(meshes)
    return tuple(found)


class StepsLeft:
    """How much work a search may still do for trains that don't go on; searches that belong together share it.

    In steps, and not in seconds: so it comes as far on every machine.
    """

    def __init__(self, steps: int = 120_000) -> None:
        self._left, self._misfits = steps, 0

    def spend(self, steps: int, *, must_fit: bool = True) -> None:
        """Count a train that does not go on. Raises NothingGoesOnError when there have been too many."""
        self._left -= steps
        self._misfits += 1
        if self._left <= 0:
            raise NothingGoesOnError(
                f"{self._misfits} trains that come next do not go on the bracket, and the search looked no farther",
                remedy="Check the bracket in the lathe file, or list what does not go on too: each says why not."
                if must_fit
                else "Ask for fewer meshes.",
            )


def ranked(query: Query, steps_left: StepsLeft | None = None) -> Iterator[Setup]:
    """Every setup that answers the query, best first, each built when it is asked for.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.threads import Thread
    >>> print(next(ranked(Query(demo_lathe("inch"), Thread.parse("16 tpi"), (1, 2)))))
    40/80, idler 25, lever middle: lead 16 tpi (1.5875 mm), exact

    Raises NotPossibleError when the lathe has no such feed or the gears can be chosen in too many ways,
    ValueOutOfRangeError when a ratio far beyond gears is wanted; NothingGoesOnError, after whatever came before, when
    it has looked at so many trains that don't go on the bracket that no steps are left.
    """
    ranking = _Ranking(query, steps_left or StepsLeft())
    chosen = query.choose_within
    if chosen is not None:
        chosen = chosen if query.within is None else min(chosen, query.within)
        yield from ranking.simplest_first(chosen)
    for tie in closest(ranking.targets, ranking.tables, query.within, beyond=chosen):
        yield from ranking.best_first(tie)


class NothingGoesOnError(NotPossibleError):
    """So many trains don't go on the bracket that the search has given up looking farther off."""


class _Ranking:
    """The ranks of one query's trains, tie by tie."""

    def __init__(self, query: Query, steps_left: StepsLeft) -> None:
        self.query, self.steps_left = query, steps_left
        self.goals = goals_of(query)
        self.targets = [goal.target for goal in self.goals]
        self.meshes = meshes_that_may_go_on(query)
        listed = self.meshes if query.must_fit else query.meshes
        self.tables = [table for meshes in listed for table in tables_of(query.gear_set, meshes)]
        self.places = {n: [p for p, table in enumerate(self.tables) if table.meshes == n] for n in query.meshes}
        self.plate = dict(self._plate_rows())
        self.mounted = query.mounted
        self.idlers_mounted = query.mounted.idler_count if query.mounted else 0
        over, under = (query.mounted.drivers, query.mounted.driven) if query.mounted else ((), ())
        under = under[:-1] if query.gear_set.last_stays else under
        self.drivers_moved = cache(partial(fewest_moved, places=over))
        self.driven_moved = cache(partial(fewest_moved, places=under))
        self.fewest_idlers = cache(self._fewest_idlers)
        odd = not query.gear_set.anything_goes
        self.idle_pairs = odd or query.layout is not None or query.mounted is not None  # they may reach, or move less
        self.leads: set[Fraction] = set()  # those that were given, where that is one setup each
        self.standing: dict[Candidate, tuple[bool, int] | None] = {}

    def best_first(self, tie: Tie) -> Iterator[Setup]:
        """The setups of one tie in order; with one_per_lead, only the best of each lead."""
        most = len(self.leads) + (2 if tie.both_sides else 1)
        for waiting in self._in_order(tie):
            yield self._assembled(waiting)
            if self.query.one_per_lead and len(self.leads) == most:
                return

    def simplest_first(self, within: Fraction) -> Iterator[Setup]:
        """The setups within a share of what is wanted, the simplest first.

        A step of so many meshes is listed when its turn comes, lever by lever: none of a lever's trains can have a
        steepest mesh that is milder than if all its meshes were alike.
        """
        bounds, goals, waiting = ranks.bounds_of_steps(within), range(len(self.goals)), list[Waiting]()
        steps = [in_steps(self.targets, self.tables, bounds, only=goal) for goal in goals]
        for meshes in self.query.meshes:
            mildest = sorted(
                (2 * meshes + self.fewest_idlers(goal, meshes), steepness, goal)
                for goal in goals
                for steepness in ranks.mild_and_steep(self.targets[goal], meshes, within)
            )
            for number in range(len(bounds) + 1):
                before = False, meshes, number
                yield from map(self._assembled, self._taken(waiting, before))
                rows = {r for r in self.plate if len(r.drivers) == meshes and steps[0][number].holds(self._miss(r))}
                waiting += self._ranks(rows, on_plate=True, step=number)
                for gears, steepness, goal in mildest:
                    nothing_before = *before, False, 0, True, gears, steepness[0]
                    yield from map(self._assembled, self._taken(waiting, nothing_before))
                    others = self._others(steps[goal][number], meshes, rows, steepness)
                    waiting += self._ranks(others, on_plate=False, step=number)
        yield from map(self._assembled, self._taken(waiting, before=(True, inf)))

    def _others(
        self, bunch: Tie | Step, meshes: int, rows: Collection[Candidate], steepness: tuple[float, float]
    ) -> Iterator[Candidate]:
        """The trains of that steepness that are no rows of the plate."""
        every = (found for place in self.places[meshes] for found in bunch.trains_of(place, self.idle_pairs))
        return (found for found in ranks.of_steepness(every, *steepness) if found not in rows)

    def _assembled(self, waiting: Waiting) -> Setup:
        rank, train, fit = waiting
        assert train is not None
        if self.query.one_per_lead:
            self.leads.add(self._lead(rank))
        return assemble(self.query.lathe, train, self.goals[rank.goal].lever, self.query.wanted, fit)

    def _lead(self, rank: AnyRank) -> Fraction:
        """The lead, as a share of what it should be (and of π where that is in it)."""
        return Fraction(prod(rank.drivers), prod(rank.driven)) / coefficient(self.goals[rank.goal].target)

    def _miss(self, found: Candidate) -> RelativeError:
        return Miss(self.goals[found.target].target, found.drivers, found.driven).error

    def _in_order(self, tie: Tie) -> Iterator[Waiting]:
        rows = set(self._rows_in(tie))
        waiting = list(self._ranks(rows, on_plate=True))
        for meshes in self.places:
            (_, mild), _ = min(ranks.mild_and_steep(target, meshes) for target in self.targets)
            for steepness in ((0.0, mild), (mild, inf)):
                yield from self._taken(waiting, before=(False, False, True, 2 * meshes, 0, steepness[0]))
                waiting += self._ranks(self._others(tie, meshes, rows, steepness), on_plate=False)
        yield from self._taken(waiting, before=(True, True, True, inf))

    def _taken(self, waiting: list[Waiting], before: tuple[float, ...]) -> Iterator[Waiting]:
        """Take out, in order, what ranks before anything to come; a train is arranged when its turn comes."""
        heapify(waiting)
        while waiting and tuple[Any, ...](waiting[0].rank)[: len(before)] < before:
            first = heappop(waiting)
            if self.leads and self._lead(first.rank) in self.leads:
                continue
            if first.train is not None:
                yield first
            elif not self._does_nothing(first.rank):
                for arranged in self._arranged(first.rank):
                    if arranged.train is None or not self._does_nothing(arranged.rank):
                        heappush(waiting, arranged)

    def _does_nothing(self, rank: AnyRank) -> bool:
        """Whether it has an equal pair without which it goes on as well, and moves no more; never a plate's row."""
        for over, under in shorter_ways(self.query.gear_set, rank.drivers, rank.driven) if rank.unlisted else ():
            shorter = self._stands(Candidate(rank.goal, over, under)) if len(over) in self.query.meshes else None
            if shorter is not None and shorter[0] <= rank.misfit and shorter[1] <= rank.moved:
                return True
        return False

    def _stands(self, found: Candidate) -> tuple[bool, int] | None:
        """Whether a train does not go on, and how many gears it moves; None when it is no answer."""
        if found not in self.standing:
            rank = self._rank_of(found, on_plate=False)
            waiting = [] if rank is None else list(self._at_last(rank))
            self.standing[found] = (waiting[0].rank.misfit, waiting[0].rank.moved) if waiting else None
        return self.standing[found]

    def _at_last(self, rank: AnyRank) -> Iterator[Waiting]:
        """The train as it goes on, whatever idlers that takes."""
        fit = None if self.query.layout is None else arrange(self._question(rank))
        if fit is not None and fit.goes_on:
            yield self._as_ranked(rank, fit.train, fit)
        elif fit is None or not self.query.must_fit:
            yield self._as_it_is(rank, fit)

    def _ranks(self, trains: Iterable[Candidate], on_plate: bool, step: int | None = None) -> Iterator[Waiting]:
        """The rank of each train that serves, in the order that ranks it first; where some is mounted, or before it."""
        return (Waiting(rank) for rank in (self._rank_of(found, on_plate, step) for found in trains) if rank)

    def _rank_of(self, found: Candidate, on_plate: bool, step: int | None = None) -> AnyRank | None:
        place, drivers, driven = found
        goal, meshes = self.goals[place], len(drivers)
        idlers = self.fewest_idlers(place, meshes)
        if not leaves_idlers(self.query.gear_set, drivers, driven, idlers):
            return None
        steepest = steepest_mesh(drivers, driven)
        strained = steepest > TOO_STEEP or goal.too_fast(drivers, driven)
        moved = self._fewest_moved(drivers, driven, idlers) if self.mounted else 0
        gears, misfit = 2 * meshes + idlers, meshes not in self.meshes
        counts = () if self.query.gear_set.anything_goes else (tuple(map(plain, drivers)), tuple(map(plain, driven)))
        if step is None:
            return Rank(misfit, strained, not on_plate, gears, moved, steepest, counts, drivers, driven, place)
        miss = Miss(goal.target, drivers, driven)
        return SimplestRank(
            strained, meshes, step, misfit, moved, not on_plate, gears, steepest, miss, counts, drivers, driven, place
        )

    def _fewest_idlers(self, place: int, meshes: int) -> int:
        if self.query.layout is None or not self.query.must_fit:
            return self.goals[place].idlers(meshes)
        return idlers_to_try(meshes, self.goals[place].same_way)[0]

    def _arranged(self, rank: AnyRank) -> Iterator[Waiting]:
        """The train as it goes on, or would with the next number of idlers; or as it is where there is no bracket."""
        if self.query.layout is None:
            yield self._as_it_is(rank, None)
            return
        question = self._question(rank)
        fit, more = self._next_fit(question, inf if rank.misfit else rank.gears - 2 * len(rank.drivers))
        if fit.goes_on:
            yield self._as_ranked(rank, fit.train, fit)
        elif more is not None:
            yield Waiting(self._with_idlers(rank, more))
        elif not self.query.must_fit:
            yield self._as_it_is(rank, fit)
        if not fit.goes_on:
            self.steps_left.spend(_STEPS_A_TRAIN + fit.steps, must_fit=self.query.must_fit)

    def _question(self, rank: AnyRank) -> Question:
        assert self.query.layout is not None
        train, same_way = Train(rank.drivers, rank.driven), self.goals[rank.goal].same_way
        return Question(train, self.query.layout, self.query.gear_set, same_way, self._kept_to(rank))

    def _kept_to(self, rank: AnyRank) -> Train | None:
        """What arranging keeps to as far as it can: what is mounted, else a row of the plate that names idlers."""
        return self.mounted or self.plate.get(Candidate(rank.goal, rank.drivers, rank.driven))

    def _next_fit(self, question: Question, least: float) -> tuple[Fit, int | None]:
        """The fit with the fewest idlers to try that are no fewer than `least`, and the number to try after that."""
        numbers = [number for number in Ways(question).numbers_of_idlers() if number >= least]
        if not numbers:
            return Fit(False, question, None), None
        return arrange_with(question, numbers[0]), numbers[1] if numbers[1:] else None

    def _with_idlers(self, rank: AnyRank, idlers: int) -> AnyRank:
        moved = self._fewest_moved(rank.drivers, rank.driven, idlers) if self.mounted else 0
        return rank._replace(gears=2 * len(rank.drivers) + idlers, moved=moved)

    def _as_it_is(self, rank: AnyRank, fit: Fit | None) -> Waiting:
        """The train with its meshes in the best order and the idler that its direction needs."""
        goal, kept = self.goals[rank.goal], self._kept_to(rank)
        too_fast = rank.strained and goal.too_fast(rank.drivers, rank.driven)
        idler = bool(goal.idlers(len(rank.drivers)))
        train = best_order(self.query.gear_set, rank.drivers, rank.driven, kept, too_fast, idler)
        return self._as_ranked(rank, train, fit)

    def _as_ranked(self, rank: AnyRank, train: Train, fit: Fit | None) -> Waiting:
        """The train, arranged, with its real rank."""
        steepest = steepest_mesh(train.drivers, train.driven)
        too_fast = rank.strained and self.goals[rank.goal].too_fast(rank.drivers, rank.driven)
        real = rank._replace(
            misfit=fit is not None and not fit.goes_on,
            strained=too_fast or steepest > TOO_STEEP,
            gears=len(train.gears),
            moved=gears_moved(self.query.gear_set, train, self.mounted) if self.mounted else 0,
            steepest=steepest,
        )
        return Waiting(real, train, fit)

    def _fewest_moved(self, drivers: Gears, driven: Gears, idlers: int) -> int:
        last = self.query.gear_set.fixed.last_driven
        driven = driven if last is None else without(driven, last)
        return self.drivers_moved(drivers) + self.driven_moved(driven) + abs(self.idlers_mounted - idlers)

    def _plate_rows(self) -> Iterator[tuple[Candidate, Train | None]]:
        """The rows of the machine's plate that are answers; those that name idlers, as they stand there."""
        for row, (place, goal) in product(self.query.lathe.plate, enumerate(self.goals)):
            if len(row.drivers) in self.query.meshes and row.lever == (goal.lever.name if goal.lever else None):
                named = row.train if any(row.idlers) else None
                for drivers, driven in ways(self.query.gear_set, row.drivers, row.driven)[:1]:
                    yield Candidate(place, drivers, driven), named

    def _rows_in(self, tie: Tie) -> Iterator[Candidate]:
        size = abs(tie.miss.ppm) / MILLION if self.plate else 0.0
        for row in self.plate:
            target, over, under = self.goals[row.target].target, prod(row.drivers), prod(row.driven)
            near = isclose(abs(over / under / float(target) - 1), size, rel_tol=_NEARLY, abs_tol=_NEARLY)
            if near and RelativeError(Fraction(over, under), target) == tie.miss:
                yield row
