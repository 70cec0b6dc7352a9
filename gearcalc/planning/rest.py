"""What still has to be moved at least, with some jobs done: learned of the trains as loose sets of gears.

Those are far fewer than the trains as they stand, and no order of their meshes, and no idler, can do with less. What is
learned is kept for all trains of a job together: for which of them so many gears more are too few.

Work is counted in steps, never in seconds, so that the answer is the same on every machine.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from itertools import accumulate, chain, count, islice
from typing import NamedTuple, TypeAlias

from gearcalc.planning.nearness import Close, Loose, Row, Shelf, bit_set, close_by, closest, members, nearest, row_of

Levels: TypeAlias = list[tuple[int, int]]
"""How many gears are to be moved after a job at least, and the jobs of which that is so, as a bit set."""

TOLD_EVERY = 20_000
LOOK, STEP = 1, 20  # what it costs to look something up, and to find it out
ANY = 99  # gears: more than any two trains are apart
_NEAR = 3  # gears: so far neighbours are listed at first, and only where need be all of them
_ANY_JOB: Close = (-1, -1, -1)
_KEPT_BYTES = 60_000_000
_FROM_ONE_JOB = 30


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


class _Learned:
    """Of the trains of a job, with some jobs done: for which so many gears more are too few, for which they do."""

    def __init__(self, too_few: dict[int, int] | None = None, enough: dict[int, int] | None = None) -> None:
        self.too_few, self.enough = too_few or {}, enough or {}

    def not_too_few(self, trains: int, left: int) -> int:
        """Those for which so many may do, as far as is known."""
        for gears, some in self.too_few.items():
            if gears >= left:
                trains &= ~some
        return trains

    def are_enough(self, trains: int, left: int) -> bool:
        """Whether so many are known to do for one of them."""
        for gears, some in self.enough.items():  # noqa: SIM110 - asked very often, and any() takes half as long again
            if gears <= left and trains & some:
                return True
        return False


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
        self.trains = [*chain.from_iterable(jobs), *([start] if start else [])]
        self.start = None if start is None else len(self.trains) - 1
        self._begins = list(accumulate(map(len, jobs), initial=0))  # of each job the place of its first train
        self._job_of = [job for job, trains in enumerate(jobs) for _ in trains] + [len(jobs)] * bool(start)
        self._meshes = max(len(train.drivers) for train in self.trains)
        rows = [[self._row(train) for train in job] for job in jobs]
        self._shelves = [Shelf(each) for each in rows] if keep_order else [Shelf([*chain.from_iterable(rows)])]
        self._all = [(1 << len(job)) - 1 for job in jobs]
        on_a_shelf = max(map(len, jobs)) if keep_order else len(self.trains)
        self._apart = lru_cache(maxsize=_KEPT_BYTES // (on_a_shelf // 2 + 250))(self._all_apart)
        self._learned: defaultdict[tuple[int, int], _Learned] = defaultdict(_Learned)
        if keep_order:
            self._close = [_ANY_JOB] * len(self.trains)
            self._next = self._look_back(rows)
        else:
            self._close = list(close or close_by([*jobs, [start]] if start else jobs))
            self._next = _in_any_order(
                [closest(self._close[n : n + len(job)]) for n, job in zip(self._begins, jobs, strict=False)]
            )
        self.least = next(most for most in count() if next(self._options(0, self.start, most), None))

    def _row(self, train: Loose) -> Row:
        return row_of(train, self._meshes)

    def _look_back(self, rows: Sequence[Sequence[Row]]) -> Callable[[int], Levels]:
        """Jobs in their order: what is still to come is reckoned from the last one back, for each train once."""
        to_come = levels_to_come(self._shelves, rows)
        for job, levels in enumerate(to_come):
            too_few = {gears - 1: trains for gears, trains in levels.items()}
            self._learned[(2 << job) - 1, job] = _Learned(too_few, levels)
        after = [[(min(levels), 1 << job)] for job, levels in enumerate(to_come)]
        return lambda done: after[done.bit_length()]

    def _all_apart(self, train: int, shelf: int, most: int) -> list[int]:
        """For 0, 1, 2 ... gears: the trains on a shelf that differ in so many, as bit sets."""
        self.effort.spend(STEP + len(self.trains) // (200 * len(self._shelves)))
        return self._shelves[shelf].apart(self._row(self.trains[train]), most)

    def _options(self, done: int, train: int | None, left: int) -> Iterator[tuple[int, int]]:
        """What moving so many gears might do for: how many for the job that is next, and which; the best first."""
        if done == self.full:
            return
        levels, most = self._next(done), 0 if train is None else 2 * self._meshes
        close = _ANY_JOB if train is None else self._close[train]
        for total in range(levels[-1][0], left + 1):
            for more, jobs in levels:
                moved = total - more
                if 0 <= moved <= most:
                    for job in members(jobs & close[moved] if moved < len(close) else jobs):
                        yield moved, job

    def _at_hand(self, train: int | None, moved: int, job: int) -> int:
        """The trains of a job that differ in so many gears from one; all of them where nothing is mounted."""
        if train is None:
            return self._all[job]
        apart = self._apart(train, job if self.keep_order else 0, _NEAR if moved <= _NEAR else ANY)
        if moved >= len(apart):
            return 0
        return apart[moved] if self.keep_order else apart[moved] >> self._begins[job] & self._all[job]

    def steps(self, done: int, train: int | None, left: int) -> Iterator[Step]:
        """What may be mounted next, so that so many gears could do for all the rest; the most hopeful first."""
        for moved, job in self._options(done, train, left):
            now, begin = done | 1 << job, self._begins[job]
            for n in members(self._learned[now, job].not_too_few(self._at_hand(train, moved, job), left - moved)):
                if self.within(now, begin + n, left - moved):
                    yield Step(moved, job, begin + n)

    def within(self, done: int, train: int | None, left: int) -> bool:
        """Whether moving so many gears more could do for all that is not done."""
        self.effort.spend(LOOK)
        if train is None or done == self.full:
            return self._goes_on(done, train, left) if train is None else left >= 0
        job = self._job_of[train]
        learned, this = self._learned[done, job], 1 << train - self._begins[job]
        if not learned.not_too_few(this, left):
            return False
        if learned.are_enough(this, left):
            return True
        self.effort.spend(STEP)
        goes_on = self._goes_on(done, train, left)
        kept = learned.enough if goes_on else learned.too_few
        kept[left] = kept.get(left, 0) | this
        return goes_on

    def _goes_on(self, done: int, train: int | None, left: int) -> bool:
        for moved, job in self._options(done, train, left):
            now, begin, more = done | 1 << job, self._begins[job], left - moved
            learned = self._learned[now, job]
            trains = learned.not_too_few(self._at_hand(train, moved, job), more)
            if trains and learned.are_enough(trains, more):
                return True
            for n in members(trains):
                if self.within(now, begin + n, more):
                    return True
        return False

    def hope(self, done: int, train: int | None) -> int:
        """How many gears may do for all that is not done, at first sight."""
        if done == self.full or train is None:
            return 0 if done == self.full else self.least
        job = self._job_of[train]
        this = 1 << train - self._begins[job]
        at_least = max(
            [gears + 1 for gears, some in self._learned[done, job].too_few.items() if some & this], default=0
        )
        return max(at_least, _fewest(self._next(done), self._close[train]))

    def hopeful(self, done: int, train: int | None) -> Iterator[Step]:
        """A few trains that may be mounted next, of each job that may come next."""
        for moved, job in self._options(done, train, self.hope(done, train) + 2):
            for n in islice(members(self._at_hand(train, moved, job)), _FROM_ONE_JOB):
                yield Step(moved, job, self._begins[job] + n)

    def firsts(self, done: int) -> Iterator[Step]:
        """The first train of each job that may come next."""
        for _, jobs in self._next(done):
            yield from (Step(ANY, job, self._begins[job]) for job in members(jobs))


def _in_any_order(close: Sequence[Close]) -> Callable[[int], Levels]:
    """For the jobs done: what may be next, by how many gears are to be moved after that at least; the most first.

    `close`: to which jobs each comes so near. Held and Karp's way: "A Dynamic Programming Approach to Sequencing
    Problems", J. SIAM 10, 1962; from memory.
    """
    full = (1 << len(close)) - 1

    @cache
    def after(done: int) -> Levels:
        levels: defaultdict[int, int] = defaultdict(int)
        for job in members(full & ~done):
            levels[_fewest(after(done | 1 << job), close[job])] |= 1 << job
        return sorted(levels.items(), reverse=True)

    return after


def _fewest(levels: Levels, close: Close) -> int:
    """The fewest gears to move for one of the jobs that may be next and all that come after it."""
    return min([more + nearest(close, jobs) for more, jobs in levels], default=0)


def least_between(between: Sequence[Sequence[int]], first: Sequence[int], *, keep_order: bool) -> int:
    """What no plan can beat, with so many gears to move at least between two jobs, and before each that comes first.

    >>> least_between([[0, 2, 1], [2, 0, 1], [1, 1, 0]], [0, 0, 0], keep_order=False)
    2

    Each is 0 to 3 gears.
    """
    if keep_order:
        return first[0] + sum(row[job] for job, row in enumerate(between[:-1], 1))
    close = [(_at_most(row, 0), _at_most(row, 1), _at_most(row, 2)) for row in (*between, first)]
    return _fewest(_in_any_order(close[:-1])(0), close[-1])


def _at_most(row: Sequence[int], most: int) -> int:
    return sum(1 << job for job, moved in enumerate(row) if moved <= most)


def levels_to_come(shelves: Sequence[Shelf], rows: Sequence[Sequence[Row]]) -> list[dict[int, int]]:
    """For each job, jobs as they stand: how many gears are to be moved after it at least -> with which of its trains.

    Reckoned from the last one back, a shelf and the rows on it for each job.
    """
    found = [{0: shelves[-1].all}]
    for shelf, listed in zip(shelves[:0:-1], rows[-2::-1], strict=False):
        levels: defaultdict[int, list[int]] = defaultdict(list)
        for n, row in enumerate(listed):
            levels[_soonest(found[-1], shelf.apart(row))].append(n)
        found.append({gears: bit_set(trains) for gears, trains in levels.items()})
    return found[::-1]


def _soonest(levels: Mapping[int, int], apart: Sequence[int]) -> int:
    """The fewest gears, with trains that stand so far apart, one of which must have so many to come."""
    for gears in range(min(levels), max(levels) + len(apart)):
        for more, trains in levels.items():
            if 0 <= gears - more < len(apart) and trains & apart[gears - more]:
                return gears
    raise AssertionError("every train is some way apart from every other")
