"""The fewest gears to move for jobs with very many trains each, in the order given or in any.

How: some plan is made first, going forward from a few beginnings at a time. Then one that moves fewer is looked for,
from a number of gears that none can beat upwards; the first that there is moves the fewest (iterative deepening, Korf
1985; from memory). Looking goes from job to job, and turns back where what is left can't do for the rest. What is
learned on the way is kept: with these jobs done and this train mounted so many more have to be moved. It is learned of
the trains as loose sets of gears, which are far fewer: no order of their meshes, and no idler, can do with less. Only
where that lets a plan through are they looked at as they stand.

Work is counted in steps, never in seconds, so that the answer is the same on every machine.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from functools import lru_cache, reduce
from itertools import accumulate, chain, count, islice
from operator import ne
from typing import NamedTuple, TypeAlias

from gearcalc.fits.arrangements import Chain
from gearcalc.lathes.trains import Train
from gearcalc.planning.candidates import Candidates
from gearcalc.planning.nearness import Close, Loose, Shelf, bit_set, close_by, either, members, nearest

Places: TypeAlias = tuple[int, ...]
"""What stands on each place that a train of any job may have, 0 for nothing."""

TOLD_EVERY = 20_000
_LOOK, _STEP = 1, 20  # what it costs to look something up, and to find it out
_NEAR, _ANY = 3, 99  # gears: so far neighbours are listed at first, and only where need be all of them
_KEPT_BYTES = 60_000_000
_FOLLOWED, _CHILDREN, _FROM_ONE_JOB = 30, 60, 30
_BEGINNINGS = 20  # the share of all steps, one part of so many, that goes into plans which begin with the same train
_SIMPLEST, _MOST_PROMISING = 60, 140


class OutOfStepsError(Exception):
    """As much was looked at as may be."""


class Effort:
    """Steps that may still be taken. `seen`: is told now and then, after TOLD_EVERY of them."""

    def __init__(self, seen: Callable[[], object] = lambda: None) -> None:
        self.left, self.taken, self._seen = 0, 0, seen

    def spend(self, steps: int) -> None:
        """Take so many steps. Raises OutOfStepsError where there are none left."""
        self.taken += steps
        self.left -= steps
        if self.taken // TOLD_EVERY > (self.taken - steps) // TOLD_EVERY:
            self._seen()
        if self.left < 0:
            raise OutOfStepsError


class Step(NamedTuple):
    """A train to mount next: how many gears that moves at least, its job, and its place among all trains."""

    moved: int
    job: int
    train: int


class Rest:
    """What still has to be moved at least, with some jobs done and a train of the last of them mounted.

    `jobs`: the trains of each; `start`: what is mounted; `keep_order`: the jobs as they stand; `close`: what close_by()
    says of them, where that is known. `least`: what no plan can beat, as far as can be seen at once.
    """

    def __init__(
        self,
        jobs: Sequence[Sequence[Loose]],
        start: Loose | None,
        effort: Effort,
        *,
        keep_order: bool,
        close: Sequence[Close] | None = None,
    ) -> None:
        self.keep_order, self.effort, self.full = keep_order, effort, (1 << len(jobs)) - 1
        self.trains = [train for job in jobs for train in job]
        self.start = None if start is None else len(self.trains)
        begins = list(accumulate(map(len, jobs), initial=0))[:-1]
        self._shelves = [Shelf(job) for job in jobs] if keep_order else [Shelf(self.trains)] * len(jobs)
        self._bases = begins if keep_order else [0] * len(jobs)  # the place among all trains of the first on the shelf
        self._blocks = [
            (1 << begin - base + len(job)) - (1 << begin - base)
            for begin, base, job in zip(begins, self._bases, jobs, strict=True)
        ]
        self._close = close or close_by([*jobs, [start]] if start else jobs)
        between = [
            [nearest(reduce(either, self._close[begin : begin + len(job)]), other) for other in range(len(jobs))]
            for begin, job in zip(begins, jobs, strict=True)
        ]
        self.trains += [start] if start else []
        self._to_go = _in_order(between) if keep_order else _in_any_order(between)
        self._too_few: dict[tuple[int, int | None], int] = {}
        self._enough: dict[tuple[int, int | None], int] = {}
        kept = _KEPT_BYTES * 2 // (max(map(len, jobs)) if keep_order else len(self.trains))
        self._apart = lru_cache(maxsize=kept)(self._all_apart)
        if keep_order:
            self._look_back(jobs)
        self.least = next(most for most in count() if next(self._options(0, self.start, most), None))

    def _look_back(self, jobs: Sequence[Sequence[Loose]]) -> None:
        """Jobs in their order: reckon what is still to come from the last one back, for each train once."""
        levels = {0: self._blocks[-1]}
        for job in range(len(jobs) - 2, -1, -1):
            base, now, reached = self._bases[job], (2 << job) - 1, defaultdict(list)
            for n, train in enumerate(jobs[job]):
                apart = enumerate(self._shelves[job + 1].apart(train))
                least = min(more + moved for moved, near in apart for more, bits in levels.items() if near & bits)
                self._enough[now, base + n], self._too_few[now, base + n] = least, least - 1
                reached[least].append(n)
            levels = {least: bit_set(listed) for least, listed in reached.items()}

    def _next(self, done: int) -> Iterator[int]:
        """The jobs that may be done next."""
        if not self.keep_order:
            yield from members(self.full & ~done)
        elif done != self.full:
            yield done.bit_length()

    def _all_apart(self, train: int, job: int, most: int) -> list[int]:
        """For 0, 1, 2 ... gears: the trains on the shelf of a job that differ in so many, as bit sets."""
        self.effort.spend(_STEP + len(self.trains) // (200 * (len(self._blocks) if self.keep_order else 1)))
        return self._shelves[job].apart(self.trains[train], most)

    def _options(self, done: int, train: int | None, left: int) -> Iterator[tuple[int, int, int]]:
        """What moving so many gears might do for: how many in all, how many for the job that is next, and which."""
        for job in self._next(done):
            more = self._to_go(done | 1 << job, job)
            moved = 0 if train is None else nearest(self._close[train], job)
            for each in range(moved, min(left - more, 0 if train is None else _ANY) + 1):
                yield each + more, each, job

    def _at_hand(self, train: int | None, moved: int, job: int) -> Iterator[int]:
        """The trains of a job that differ in so many gears from one; all of them where nothing is mounted."""
        trains, base = self._blocks[job], self._bases[job]
        if train is not None:
            apart = self._apart(train, job if self.keep_order else 0, _NEAR if moved <= _NEAR else _ANY)
            trains &= apart[moved] if moved < len(apart) else 0
        for n in members(trains):
            yield base + n

    def steps(self, done: int, train: int | None, left: int) -> Iterator[Step]:
        """What may be mounted next, so that so many gears could do for all the rest; the most hopeful first."""
        for _, moved, job in sorted(self._options(done, train, left)):
            for n in self._at_hand(train, moved, job):
                if self.within(done | 1 << job, n, left - moved):
                    yield Step(moved, job, n)

    def within(self, done: int, train: int | None, left: int) -> bool:
        """Whether moving so many gears more could do for all that is not done."""
        self.effort.spend(_LOOK)
        if done == self.full:
            return left >= 0
        known = done, train
        if self._too_few.get(known, -1) >= left:
            return False
        if self._enough.get(known, left + 1) <= left:
            return True
        self.effort.spend(_STEP)
        enough = next(self.steps(done, train, left), None) is not None
        (self._enough if enough else self._too_few)[known] = left
        return enough

    def hope(self, done: int, train: int | None) -> int:
        """How many gears may do for all that is not done, at first sight."""
        if done == self.full:
            return 0
        if train is None:
            return self.least
        at_least = self._too_few.get((done, train), -1) + 1
        seen = (nearest(self._close[train], job) + self._to_go(done | 1 << job, job) for job in self._next(done))
        return max(at_least, min(seen))

    def hopeful(self, done: int, train: int | None) -> Iterator[Step]:
        """A few trains that may be mounted next, of each job that may come next."""
        for _, moved, job in sorted(self._options(done, train, self.hope(done, train) + 2)):
            for n in islice(self._at_hand(train, moved, job), _FROM_ONE_JOB):
                yield Step(moved, job, n)

    def firsts(self, done: int) -> Iterator[Step]:
        """The first train of each job that may come next."""
        for job in self._next(done):
            block = self._blocks[job]
            yield Step(_ANY, job, self._bases[job] + (block & -block).bit_length() - 1)


def _in_order(between: Sequence[Sequence[int]]) -> Callable[[int, int], int]:
    """For the jobs done and the last of them: the least that is still to come; jobs as they stand."""
    steps = [between[job][job + 1] for job in range(len(between) - 1)]
    to_go = [*accumulate(reversed(steps), initial=0)][::-1]
    return lambda _, last: to_go[last]


def _in_any_order(between: Sequence[Sequence[int]]) -> Callable[[int, int], int]:
    """The same in any order: Held and Karp's way.

    "A Dynamic Programming Approach to Sequencing Problems", J. SIAM 10, 1962; from memory.
    """
    full = (1 << len(between)) - 1
    to_go = [[0] * len(between) for _ in range(full + 1)]
    for done in range(full - 1, 0, -1):
        rest = list(members(full & ~done))
        onward = [to_go[done | 1 << k][k] for k in rest]
        for j in members(done):
            row = between[j]
            to_go[done][j] = min([row[k] + more for k, more in zip(rest, onward, strict=True)])
    return lambda done, last: to_go[done][last]


def least_between(between: Sequence[Sequence[int]], first: Sequence[int], *, keep_order: bool) -> int:
    """What no plan can beat, with so many gears to move at least between two jobs, and before each that comes first.

    >>> least_between([[0, 2, 1], [2, 0, 1], [1, 1, 0]], [0, 0, 0], keep_order=False)
    2
    """
    to_go = (_in_order if keep_order else _in_any_order)(between)
    return min(first[job] + to_go(1 << job, job) for job in range(1 if keep_order else len(first)))


def promising(
    jobs: Sequence[Sequence[Loose]], start: Loose | None, *, keep_order: bool, close: Sequence[Close] | None = None
) -> list[list[Loose]]:
    """Of each job the first trains, and those that come near to trains of the most other jobs; as they stand."""
    few = []
    each_close = iter(close or close_by([*jobs, [start]] if start else jobs))
    for place, job in enumerate(jobs):
        beside = 5 << place >> 1 | (place == 0) << len(jobs) if keep_order else -1
        near = [sum((jobs & beside).bit_count() for jobs in next(each_close)) for _ in job]
        best = sorted(range(len(job)), key=lambda n: -near[n])[:_MOST_PROMISING]
        few.append([job[n] for n in sorted({*range(min(_SIMPLEST, len(job))), *best})])
    return few


class Mount(NamedTuple):
    """A job, and the train that does it as it stands."""

    job: int
    train: Loose
    order: Chain


class _Begun(NamedTuple):
    """How a plan may begin.

    `hoped`: gears that it may come to move in all; `gears` on all its trains; `moved` so far; `done`: its jobs;
    `train`, `places`: what stands there in the end.
    """

    hoped: int
    gears: int
    moved: int
    done: int
    train: int | None
    places: Places | None
    mounts: tuple[Mount, ...]


class PathSearch:
    """Plans for jobs with these candidates each, the first of which goes on, from what is mounted."""

    def __init__(self, jobs: Sequence[Candidates], start: Train | None, rest: Rest) -> None:
        self.jobs, self.rest = jobs, rest
        meshes = max(3, start.meshes if start else 0)
        idlers = max(2, *map(len, start.idlers)) if start else 2
        last_stays = jobs[0].lathe.gear_set.last_stays
        self._places = lru_cache(maxsize=200_000)(lambda order: places_of(order, meshes, idlers, last_stays))
        self._start = self._places(start.chain()) if start else None
        self._too_few: dict[tuple[int, Places], int] = {}

    def a_good_one(self) -> tuple[int, tuple[Mount, ...]]:
        """A plan that moves few gears, though not always the fewest, and how many."""
        begun = [_Begun(0, 0, 0, 0, self.rest.start, self._start, ())]
        for _ in self.jobs:
            found: dict[tuple[int, Places | None], _Begun] = {}
            hopeful = sorted(chain.from_iterable(map(self._hopeful, begun)))
            for before, step in chain([each[1:] for each in hopeful], self._at_worst(begun[0], found)):
                longer = self._longer(before, step)
                if longer is not None:
                    found.setdefault((longer.done, longer.places), longer)
                if len(found) == _FOLLOWED:
                    break
            begun = sorted(found.values())
        return begun[0].moved, begun[0].mounts

    def _at_worst(self, before: _Begun, found: Collection[object]) -> Iterator[tuple[_Begun, Step]]:
        """Where nothing hopeful goes on: the first train of each job that may be next, for that one does."""
        if not found:
            yield from ((before, step) for step in self.rest.firsts(before.done))

    def _hopeful(self, before: _Begun) -> Iterator[tuple[tuple[int, int], _Begun, Step]]:
        for step in islice(self.rest.hopeful(before.done, before.train), _CHILDREN):
            hope = step.moved + self.rest.hope(before.done | 1 << step.job, step.train)
            gears = 2 * len(self.rest.trains[step.train].drivers)
            yield (before.moved + hope, before.gears + gears), before, step

    def _longer(self, before: _Begun, step: Step) -> _Begun | None:
        """With one train more, in the order that moves the fewest gears; None where it doesn't go on."""
        job, loose, now = self.jobs[step.job], self.rest.trains[step.train], before.done | 1 << step.job
        for moved, order, places in self._mountings(step, before.places, _ANY):
            if job.may_stand(order):
                moved, gears = before.moved + moved, before.gears + sum(map(len, order))
                mounts = (*before.mounts, Mount(step.job, loose, order))
                return _Begun(moved + self.rest.hope(now, step.train), gears, moved, now, step.train, places, mounts)
        return None

    def within(self, most: int) -> list[Mount] | None:
        """A plan that moves at most so many gears; None where there is none. Raises OutOfStepsError."""
        effort, given_up = self.rest.effort, False
        share = effort.left // _BEGINNINGS
        for step in self.rest.steps(0, self.rest.start, most):
            spared = max(0, effort.left - share)
            effort.left -= spared
            try:
                plan = self._from_here(step, 0, self._start, most)
            except OutOfStepsError:
                given_up, plan = True, None
                if not spared:
                    raise
            effort.left = max(effort.left, 0) + spared
            if plan is not None:
                return plan
        if given_up:
            raise OutOfStepsError
        return None

    def _onward(self, done: int, train: int, standing: Places, left: int) -> list[Mount] | None:
        """How to do the rest with at most so many gears moved; None where there is no way."""
        if done == self.rest.full:
            return []
        ways = (self._from_here(step, done, standing, left) for step in self.rest.steps(done, train, left))
        return next((plan for plan in ways if plan is not None), None)

    def _from_here(self, step: Step, done: int, standing: Places | None, left: int) -> list[Mount] | None:
        rest, now, job = self.rest, done | 1 << step.job, self.jobs[step.job]
        for moved, order, places in self._mountings(step, standing, left):
            if not rest.within(now, step.train, left - moved):
                break
            if self._too_few.get((now, places), -1) >= left - moved or not job.may_stand(order):
                continue
            rest.effort.spend(_STEP)
            onward = self._onward(now, step.train, places, left - moved)
            if onward is not None:
                return [Mount(step.job, rest.trains[step.train], order), *onward]
            self._too_few[now, places] = left - moved
        return None

    def _mountings(self, step: Step, standing: Places | None, left: int) -> list[tuple[int, Chain, Places]]:
        """The orders of a train that move at most so many gears from what stands there, the fewest first."""
        loose, job = self.rest.trains[step.train], self.jobs[step.job]
        orders = job.orders(loose)
        self.rest.effort.spend(_STEP + len(orders))
        if standing is None:
            best = job.roomiest(loose)
            return [(0, order, self._places(order)) for order in sorted(orders, key=lambda order: order != best)]
        found = []
        for order in orders:
            places = self._places(order)
            moved = sum(map(ne, standing, places))
            if moved <= left:
                found.append((moved, order, places))
        return sorted(found, key=lambda mounting: mounting[0])


def places_of(order: Chain, meshes: int, idlers: int, last_stays: bool) -> Places:
    """What stands on each place, for trains of at most so many meshes with so many idlers each.

    >>> places_of(((40, 30, 80),), 2, 1, last_stays=False)
    (40, 80, 30, 0, 0, 0)

    `last_stays`: the last driven gear is fixed, so its place is none that may change.
    """
    found: list[int] = []
    if last_stays:
        order = (*order[:-1], (*order[-1][:-1], 0))
    for mesh in (*order, *[()] * (meshes - len(order))):
        between = mesh[1:-1]
        found += (*mesh[:1], *mesh[-1:], *between) or (0, 0)
        found += [0] * (idlers - len(between))
    return tuple(found)
