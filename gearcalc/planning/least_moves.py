"""The fewest gears to move for a row of jobs, each with a choice of trains: in the order given, or in the best order.

Both are exact. Moving from one train to the next costs as many gears as places differ (trains.places_that_differ).

* In the order given: job by job, for each train the least that it can take to get there (Viterbi's way).
* In any order: for each set of jobs done and each train mounted last, the least that it can take (Held and Karp's way,
  "A Dynamic Programming Approach to Sequencing Problems", J. SIAM 10, 1962; from memory). There are 2^n sets, so
  what can't be part of a plan that good is not looked at: a plan of so many moves is tried, from a number that no plan
  can beat upwards, and the first that there is must be the least.

Very many trains are looked at together: a whole number serves as a set of them, its bit n standing for train n, so that
"and", "or" and "not" work on all trains at a time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeAlias

from attrs import frozen

from gearcalc.lathes.trains import Train, places_that_differ


def _places(train: Train) -> Iterator[tuple[tuple[int, int], int]]:
    """Each place and the gear on it: ((0, n), drivers), ((1, n), driven), ((2 + mesh, n), idlers)."""
    for row, gears in enumerate((train.drivers, train.driven, *train.idlers)):
        for n, teeth in enumerate(gears):
            yield (row, n), teeth


class Nearness:
    """Trains, ready to be asked which of them differ in how many places from another."""

    def __init__(self, trains: Sequence[Train]) -> None:
        self.all = (1 << len(trains)) - 1
        self._holding: dict[tuple[int, int], dict[int, int]] = defaultdict(lambda: defaultdict(int))
        for n, train in enumerate(trains):
            for place, teeth in _places(train):
                self._holding[place][teeth] |= 1 << n
        self._empty = {place: self.all & ~sum(by_gear.values()) for place, by_gear in self._holding.items()}

    def apart(self, train: Train, most: int = 99) -> list[int]:
        """For 0, 1, 2 ... places: the trains that differ in just so many, as lamps; up to `most` places.

        The same count as places_that_differ makes: a place that only one of the two has counts.
        """
        gears = dict(_places(train))
        found = [self.all]
        for place in {**self._holding, **gears}:
            if place not in self._holding:
                same = 0
            elif place in gears:
                same = self._holding[place].get(gears[place], 0)
            else:
                same = self._empty[place]
            other = self.all & ~same
            moved = [0, *(lamps & other for lamps in found)]
            found = [lamps & same | more for lamps, more in zip((*found, 0), moved, strict=True)][: most + 1]
        return found


def lit(lamps: int) -> Iterator[int]:
    """Which lamps are lit, from 0, in order.

    >>> list(lit(0b10110))
    [1, 2, 4]
    """
    while lamps:
        lowest = lamps & -lamps
        yield lowest.bit_length() - 1
        lamps ^= lowest


Levels: TypeAlias = dict[int, int]
"""Gears moved so far -> the trains that can be mounted then, as lamps (see Nearness)."""
Progress: TypeAlias = Callable[[Iterable[int]], Iterable[int]]
"""Hands on what it is given, and shows how far it has got."""

_ANY_NUMBER = 1_000_000
_A_FEW = 60  # trains of each job that are tried first: if they do, the rest need not be looked at


@frozen
class Choice:
    """The jobs in the order to do them, the train chosen of each (by its place in the job's list), gears moved."""

    order: tuple[int, ...]
    trains: tuple[int, ...]
    moved: int


def in_this_order(lists: Sequence[Sequence[Train]], start: Train | None = None) -> Choice:
    """A train for each job, jobs as they stand, that moves the fewest gears; among equals those earlier in their lists.

    >>> lists = [[Train((40,), (80,))], [Train((30,), (60,)), Train((40,), (60,))], [Train((40,), (50,))]]
    >>> in_this_order(lists)
    Choice(order=(0, 1, 2), trains=(0, 1, 0), moved=2)

    `lists`: for each job its trains, at least one, the most welcome first. `start`: what is mounted now.
    The order of the lists settles equals from the last job back, each as far as the one after it allows.
    """
    reached = [_first_levels(lists[0], start)]
    shelves = [Nearness(trains) for trains in lists]
    for shelf, trains in zip(shelves, lists[1:], strict=False):
        levels: Levels = defaultdict(int)
        for n, train in enumerate(trains):
            levels[_least(reached[-1], shelf.apart(train))] |= 1 << n
        reached.append(levels)
    moved = min(reached[-1])
    chosen, left = [next(lit(reached[-1][moved]))], moved
    for job in range(len(lists) - 1, 0, -1):
        apart = shelves[job - 1].apart(lists[job][chosen[-1]])
        left, before = _came_from(reached[job - 1], apart, left)
        chosen.append(before)
    return Choice(tuple(range(len(lists))), tuple(reversed(chosen)), moved)


def _first_levels(trains: Sequence[Train], start: Train | None) -> Levels:
    levels: Levels = defaultdict(int)
    for n, train in enumerate(trains):
        levels[places_that_differ(start, train) if start else 0] |= 1 << n
    return levels


def _least(levels: Levels, apart: Sequence[int]) -> int:
    """The fewest gears moved by the time a train is mounted that stands so far apart from those before."""
    for moved in range(min(levels), max(levels) + len(apart)):
        if _meets(levels, apart, moved):
            return moved
    raise AssertionError("every train is some way apart from every other")


def _came_from(levels: Levels, apart: Sequence[int], moved: int) -> tuple[int, int]:
    """Gears moved by then, and the train, from which so many are reached: the one that stands first in its list."""
    ways = [(next(lit(levels.get(moved - n, 0) & lamps), None), moved - n) for n, lamps in enumerate(apart)]
    before, left = min((before, left) for before, left in ways if before is not None)
    return left, before


def in_any_order(
    lists: Sequence[Sequence[Train]], start: Train | None = None, progress: Progress = lambda steps: steps
) -> Choice:
    """The order of the jobs, and a train for each, that move the fewest gears of all orders and all trains.

    >>> lists = [[Train((40,), (80,))], [Train((30,), (60,))], [Train((40,), (60,)), Train((20,), (24,))]]
    >>> in_any_order(lists)
    Choice(order=(0, 2, 1), trains=(0, 0, 0), moved=2)

    `lists`, `start` as for in_this_order; up to 16 jobs. `progress`: is handed the steps of each attempt.
    """
    found = better_order(lists, start, _ANY_NUMBER, progress)
    assert found is not None  # any order will do
    return found


def better_order(
    lists: Sequence[Sequence[Train]], start: Train | None, below: int, progress: Progress = lambda steps: steps
) -> Choice | None:
    """The same, if it moves fewer gears than `below`; None if none does."""
    jobs = _Jobs(lists, start)
    for bound in range(jobs.least_of_all, below):
        few = _Attempt(jobs, bound, jobs.serving(bound, _A_FEW))
        found = few.choice(progress) or _Attempt(jobs, bound, jobs.serving(bound)).choice(progress)
        if found is not None:
            return _forwards(found) if start is None else found
    return None


def least_path(between: Sequence[Sequence[int]], from_start: Sequence[int]) -> int:
    """The shortest way through all jobs, whatever the order, by the distances from job to job and from the start.

    >>> least_path([[0, 5, 1], [5, 0, 1], [1, 1, 0]], [0, 0, 0])
    2
    """
    to_go = _to_go(between)
    return min(first + to_go[1 << job][job] for job, first in enumerate(from_start))


def _to_go(between: Sequence[Sequence[int]]) -> list[list[int]]:
    """For the jobs done and the last of them: the least that is still to come."""
    count = len(between)
    full = (1 << count) - 1
    to_go = [[0] * count for _ in range(full + 1)]
    for done in range(full - 1, 0, -1):
        rest = list(lit(full & ~done))
        onward = [to_go[done | 1 << k][k] for k in rest]
        for j in lit(done):
            row = between[j]
            to_go[done][j] = min([row[k] + more for k, more in zip(rest, onward, strict=True)])
    return to_go


def least_without(between: Sequence[Sequence[int]], from_start: Sequence[int]) -> list[int]:
    """For each job: the shortest way through all the others.

    >>> least_without([[0, 5, 1], [5, 0, 1], [1, 1, 0]], [0, 0, 0])
    [1, 1, 5]
    """
    count = len(between)
    full = (1 << count) - 1
    least = [[0] * count for _ in range(full + 1)]
    for done in range(1, full + 1):
        for j in lit(done):
            before = done & ~(1 << j)
            least[done][j] = min([least[before][k] + between[k][j] for k in lit(before)], default=from_start[j])
    return [min([least[full & ~(1 << j)][k] for k in range(count) if k != j], default=0) for j in range(count)]


def least_through(
    job: int,
    near: Sequence[int],
    first: int | None,
    without: int,
    between: Sequence[Sequence[int]],
    from_start: Sequence[int],
) -> int:
    """What no plan can beat in which a job is done by one particular train.

    Take the train out of such a plan: the step past it is no longer than those to it and from it, and what is left is
    a plan for the other jobs.
    `near`: how near the train comes to each job; `first`: to what is mounted, None where nothing is; `without`: the
    shortest way through the other jobs.
    """
    others = [k for k in range(len(between)) if k != job]
    if not others:
        return first or 0
    detours = [near[k] for k in others]  # it comes last
    detours += [near[j] + near[k] - between[j][k] for j in others for k in others if j != k]
    if first is None:
        detours += [near[k] for k in others]  # it comes first
    else:
        detours += [first + near[k] - from_start[k] for k in others]
    return without + min(detours)


def _forwards(choice: Choice) -> Choice:
    """The same, turned round where the jobs then begin with one that was named earlier: it moves as many."""
    if choice.order[0] <= choice.order[-1]:
        return choice
    return Choice(choice.order[::-1], choice.trains[::-1], choice.moved)


class _Jobs:
    """What is known before any attempt: how near each train can come to each other job, and what follows from it."""

    def __init__(self, lists: Sequence[Sequence[Train]], start: Train | None) -> None:
        self.lists, self.start = lists, start
        self.count, self.full = len(lists), (1 << len(lists)) - 1
        self.trains = [train for trains in lists for train in trains]
        self.job_of = [job for job, trains in enumerate(lists) for _ in trains]
        self.first = [places_that_differ(start, train) if start else 0 for train in self.trains]
        shelf, blocks = Nearness(self.trains), _blocks(self.job_of, self.count)
        self.to_job = [self._nearest(shelf.apart(train), blocks) for train in self.trains]
        self.from_start = [self._least_in(job, self.first) for job in range(self.count)]
        self.between = [
            [self._least_in(j, [near[k] for near in self.to_job]) for k in range(self.count)] for j in range(self.count)
        ]
        self.to_go = _to_go(self.between)
        self.least_of_all = least_path(self.between, self.from_start)
        self.without = least_without(self.between, self.from_start)

    @staticmethod
    def _nearest(apart: Sequence[int], blocks: Sequence[int]) -> list[int]:
        return [next(n for n, lamps in enumerate(apart) if lamps & block) for block in blocks]

    def _least_in(self, job: int, costs: Sequence[int]) -> int:
        return min(cost for cost, at in zip(costs, self.job_of, strict=True) if at == job)

    def serving(self, bound: int, most: int | None = None) -> list[int]:
        """The trains that could be part of a plan of so many moves; of each job at most `most`, those in the middle."""
        serving = [n for n in range(len(self.trains)) if self.serves(n, bound)]
        if most is None:
            return serving
        by_job: dict[int, list[int]] = defaultdict(list)
        for n in sorted(serving, key=lambda n: sum(self.to_job[n])):
            by_job[self.job_of[n]].append(n)
        return sorted(n for trains in by_job.values() for n in trains[:most])

    def serves(self, n: int, bound: int) -> bool:
        """Whether train n could be part of a plan of so many moves."""
        job, first = self.job_of[n], None if self.start is None else self.first[n]
        through = least_through(job, self.to_job[n], first, self.without[job], self.between, self.from_start)
        return through <= bound


class _Attempt:
    """A try to do all jobs with at most so many gears moved, by some of the trains."""

    def __init__(self, jobs: _Jobs, bound: int, kept: Sequence[int]) -> None:
        self.jobs, self.bound, self.kept = jobs, bound, kept
        self.job_of = [jobs.job_of[n] for n in self.kept]
        self.blocks = _blocks(self.job_of, jobs.count)
        shelf = Nearness([jobs.trains[n] for n in self.kept])
        self.apart = [shelf.apart(jobs.trains[n], bound) for n in self.kept]
        self.reached: list[Levels] = [defaultdict(int) for _ in range(jobs.full + 1)]

    def choice(self, progress: Progress) -> Choice | None:
        """The plan, or None when there is none."""
        for n, train in enumerate(self.kept):
            job = self.job_of[n]
            if self.jobs.first[train] + self.jobs.to_go[1 << job][job] <= self.bound:
                self.reached[1 << job][self.jobs.first[train]] |= 1 << n
        for done in progress(range(1, self.jobs.full + 1)):
            if self.reached[done]:
                for job in lit(self.jobs.full & ~done):
                    self._mount_next(done, job)
        last = self.reached[self.jobs.full]
        return self._traced_back(min(last)) if last else None

    def _mount_next(self, done: int, job: int) -> None:
        levels, after = self.reached[done], self.reached[done | 1 << job]
        most, least = self.bound - self.jobs.to_go[done | 1 << job][job], min(levels)
        if least > most:
            return
        for n in lit(self.blocks[job]):
            apart = self.apart[n]
            for moved in range(least, most + 1):
                if _meets(levels, apart, moved):
                    after[moved] |= 1 << n
                    break

    def _traced_back(self, moved: int) -> Choice:
        done, left = self.jobs.full, moved
        n = next(lit(self.reached[done][left]))
        path = [n]
        while done := done & ~(1 << self.job_of[n]):
            left, n = _came_from(self.reached[done], self.apart[n], left)
            path.append(n)
        path.reverse()
        starts = [self.jobs.job_of.index(job) for job in range(self.jobs.count)]
        order = tuple(self.job_of[n] for n in path)
        return Choice(order, tuple(self.kept[n] - starts[self.job_of[n]] for n in path), moved)


def _meets(levels: Levels, apart: Sequence[int], moved: int) -> bool:
    """Whether a train that stands so far apart from others can be mounted with just so many gears moved in all."""
    for so_far, lamps in levels.items():  # noqa: SIM110 - asked millions of times, and any() takes half as long again
        if 0 <= moved - so_far < len(apart) and lamps & apart[moved - so_far]:
            return True
    return False


def _blocks(job_of: Sequence[int], jobs: int) -> list[int]:
    """The trains of each job as lamps."""
    blocks = [0] * jobs
    for n, job in enumerate(job_of):
        blocks[job] |= 1 << n
    return blocks
