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
    """Trains, ready to be asked which of them differ in how many places from another.

    >>> shelf = Nearness([Train((40,), (80,)), Train((40,), (60,)), Train((30,), (60,))])
    >>> [f"{bits:03b}" for bits in shelf.apart(Train((40,), (80,)))]  # 0, 1, 2 places; the last train on the left
    ['001', '010', '100']
    """

    def __init__(self, trains: Sequence[Train]) -> None:
        self.trains = trains
        self.all = (1 << len(trains)) - 1
        self._holding: dict[tuple[int, int], dict[int, int]] = defaultdict(lambda: defaultdict(int))
        for n, train in enumerate(trains):
            for place, teeth in _places(train):
                self._holding[place][teeth] |= 1 << n
        self._empty = {place: self.all & ~sum(by_gear.values()) for place, by_gear in self._holding.items()}

    def apart(self, train: Train, most: int = 99) -> list[int]:
        """For 0, 1, 2 ... places: the trains that differ in just so many, as bit sets; up to `most` places.

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
            moved = [0, *(bits & other for bits in found)]
            found = [bits & same | more for bits, more in zip((*found, 0), moved, strict=True)][: most + 1]
        return found


def members(bits: int) -> Iterator[int]:
    """The members of a bit set, from 0, in order.

    >>> list(members(0b10110))
    [1, 2, 4]
    """
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


Levels: TypeAlias = dict[int, int]
"""Gears moved so far -> the trains that can be mounted then, as a bit set."""
Progress: TypeAlias = Callable[[Iterable[int]], Iterable[int]]
"""Hands on what it is given, and shows how far it has got."""

ANY_NUMBER = 1_000_000
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
    chosen, left = [next(members(reached[-1][moved]))], moved
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
    ways = [(next(members(levels.get(moved - n, 0) & bits), None), moved - n) for n, bits in enumerate(apart)]
    before, left = min((before, left) for before, left in ways if before is not None)
    return left, before


def in_any_order(
    lists: Sequence[Sequence[Train]],
    start: Train | None = None,
    below: int = ANY_NUMBER,
    progress: Progress = lambda steps: steps,
) -> Choice | None:
    """The order of the jobs, and a train for each, that move the fewest gears; None where that is not below `below`.

    >>> lists = [[Train((40,), (80,))], [Train((30,), (60,))], [Train((40,), (60,)), Train((20,), (24,))]]
    >>> in_any_order(lists)
    Choice(order=(0, 2, 1), trains=(0, 0, 0), moved=2)

    `lists`, `start` as for in_this_order; up to 16 jobs. `progress`: is handed the steps of each attempt.
    """
    jobs = range(len(lists))
    shelf, blocks = Nearness([train for trains in lists for train in trains]), _blocks(list(map(len, lists)))
    nearest = iter([[_nearest(apart, block) for block in blocks] for apart in map(shelf.apart, shelf.trains)])
    near = [[next(nearest) for _ in trains] for trains in lists]
    first = [[places_that_differ(start, train) if start else 0 for train in trains] for trains in lists]
    bounds = Bounds(near, first, started=start is not None)
    for bound in range(bounds.least, below):
        serving = [bounds.promising(job, bound) for job in jobs]
        for most in (_A_FEW, None):
            kept = [sorted(some[:most]) for some in serving]
            found = _Attempt(lists, first, bounds, bound, kept).choice(progress) if all(kept) else None
            if found is not None:
                return _forwards(found) if start is None else found
    return None


class Bounds:
    """What no plan can beat, by how near each train of each job comes to any train of each other job.

    >>> bounds = Bounds(near=[[[0, 5, 1]], [[5, 0, 1]], [[1, 1, 0]]], first=[[0], [0], [0]], started=False)
    >>> bounds.least, bounds.through(2, 0)
    (2, 2)

    `near`: job, train, other job -> the fewest places that differ; `first`: job, train -> places that differ from what
    is mounted, 0 where nothing is (not `started`). `keep_order`: the jobs as they stand; else up to 16, in any order.
    """

    def __init__(
        self,
        near: Sequence[Sequence[Sequence[int]]],
        first: Sequence[Sequence[int]],
        *,
        started: bool,
        keep_order: bool = False,
    ) -> None:
        self.near, self.first, self.started, self.keep_order = near, first, started, keep_order
        self.jobs = range(len(near))
        self.between = [[min(row[k] for row in rows) for k in self.jobs] for rows in near]
        self.from_start = [min(costs) for costs in first]
        if keep_order:
            self.least = self.from_start[0] + sum(self.between[job][job + 1] for job in self.jobs[:-1])
        else:
            self.to_go = _to_go(self.between)
            self.least = self._path(0)
            self.without = [self._path(1 << job) for job in self.jobs]

    def _path(self, done: int) -> int:
        """The shortest way through all jobs that are not done."""
        ways = [self.from_start[k] + self.to_go[done | 1 << k][k] for k in self.jobs if not done >> k & 1]
        return min(ways, default=0)

    def through(self, job: int, n: int) -> int:
        """What no plan can beat in which a job is done by train n of its list.

        Take the train out of such a plan: the step past it is no longer than those to it and from it, and what is left
        is a plan for the other jobs.
        """
        near, first = self.near[job][n], self.first[job][n]
        if self.keep_order:
            more = near[job - 1] - self.between[job - 1][job] if job else first - self.from_start[0]
            return self.least + more + (near[job + 1] - self.between[job][job + 1] if job + 1 in self.jobs else 0)
        others = [k for k in self.jobs if k != job]
        if not others:
            return first
        last = min(near[k] for k in others)
        ahead = min(first + near[k] - self.from_start[k] for k in others) if self.started else last
        amid = min((near[j] + near[k] - self.between[j][k] for j in others for k in others if j != k), default=last)
        return self.without[job] + min(last, ahead, amid)

    def promising(self, job: int, bound: int) -> list[int]:
        """Which trains of a job could be part of a plan of so many moves, those in the middle of the others first."""
        through = {n: self.through(job, n) for n in range(len(self.near[job]))}
        return sorted(
            (n for n in through if through[n] <= bound), key=lambda n: (through[n], sum(self.near[job][n]), n)
        )


def _to_go(between: Sequence[Sequence[int]]) -> list[list[int]]:
    """For the jobs done and the last of them: the least that is still to come."""
    count = len(between)
    full = (1 << count) - 1
    to_go = [[0] * count for _ in range(full + 1)]
    for done in range(full - 1, 0, -1):
        rest = list(members(full & ~done))
        onward = [to_go[done | 1 << k][k] for k in rest]
        for j in members(done):
            row = between[j]
            to_go[done][j] = min([row[k] + more for k, more in zip(rest, onward, strict=True)])
    return to_go


def _nearest(apart: Sequence[int], block: int) -> int:
    return next(n for n, bits in enumerate(apart) if bits & block)


def _forwards(choice: Choice) -> Choice:
    """The same, turned round where the jobs then begin with one that was named earlier: it moves as many."""
    if choice.order[0] <= choice.order[-1]:
        return choice
    return Choice(choice.order[::-1], choice.trains[::-1], choice.moved)


class _Attempt:
    """A try to do all jobs with at most so many gears moved, by those trains of each list that are `kept`."""

    def __init__(
        self,
        lists: Sequence[Sequence[Train]],
        first: Sequence[Sequence[int]],
        bounds: Bounds,
        bound: int,
        kept: Sequence[Sequence[int]],
    ) -> None:
        self.bound, self.to_go, self.full = bound, bounds.to_go, (1 << len(lists)) - 1
        self.kept = [(job, n) for job, some in enumerate(kept) for n in some]
        self.blocks = _blocks(list(map(len, kept)))
        shelf = Nearness([lists[job][n] for job, n in self.kept])
        self.apart = [shelf.apart(train, bound) for train in shelf.trains]
        self.reached: list[Levels] = [defaultdict(int) for _ in range(self.full + 1)]
        for place, (job, n) in enumerate(self.kept):
            if first[job][n] + self.to_go[1 << job][job] <= bound:
                self.reached[1 << job][first[job][n]] |= 1 << place

    def choice(self, progress: Progress) -> Choice | None:
        """The plan, or None when there is none."""
        for done in progress(range(1, self.full + 1)):
            if self.reached[done]:
                for job in members(self.full & ~done):
                    self._mount_next(done, job)
        last = self.reached[self.full]
        return self._traced_back(min(last)) if last else None

    def _mount_next(self, done: int, job: int) -> None:
        levels, after = self.reached[done], self.reached[done | 1 << job]
        most, least = self.bound - self.to_go[done | 1 << job][job], min(levels)
        if least > most:
            return
        for n in members(self.blocks[job]):
            apart = self.apart[n]
            for moved in range(least, most + 1):
                if _meets(levels, apart, moved):
                    after[moved] |= 1 << n
                    break

    def _traced_back(self, moved: int) -> Choice:
        done, left = self.full, moved
        n = next(members(self.reached[done][left]))
        path = [self.kept[n]]
        while done := done & ~(1 << path[-1][0]):
            left, n = _came_from(self.reached[done], self.apart[n], left)
            path.append(self.kept[n])
        order, trains = zip(*reversed(path), strict=True)
        return Choice(order, trains, moved)


def _meets(levels: Levels, apart: Sequence[int], moved: int) -> bool:
    """Whether a train that stands so far apart from others can be mounted with just so many gears moved in all."""
    for so_far, bits in levels.items():  # noqa: SIM110 - asked millions of times, and any() takes half as long again
        if 0 <= moved - so_far < len(apart) and bits & apart[moved - so_far]:
            return True
    return False


def _blocks(lengths: Sequence[int]) -> list[int]:
    """For lists one behind the other: the trains of each as a bit set."""
    return [((1 << length) - 1) << sum(lengths[:job]) for job, length in enumerate(lengths)]
