"""The fewest gears to move for jobs with very many trains each, in the order given or in any.

How: some plan is made first, going forward from a few beginnings at a time. Then one that moves fewer is looked for,
from a number of gears that none can beat upwards; the first that there is moves the fewest (iterative deepening, Korf
1985; from memory). Looking goes from job to job, and turns back where what is left can't do for the rest (see rest.py).
Only where that lets a plan through are trains looked at as they stand.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from functools import lru_cache
from itertools import chain, islice
from operator import ne
from typing import NamedTuple, TypeAlias

from gearcalc.fits.arrangements import Chain
from gearcalc.lathes.trains import Train
from gearcalc.planning.candidates import Candidates
from gearcalc.planning.nearness import Close, Loose, Shelf, members
from gearcalc.planning.rest import ANY, STEP, OutOfStepsError, Rest, Step, levels_to_come

Places: TypeAlias = tuple[int, ...]
"""What stands on each place that a train of any job may have, 0 for nothing."""

_FOLLOWED, _CHILDREN = 30, 60
_BEGINNINGS = 20  # the share of all steps, one part of so many, that goes into plans which begin with the same train
_SIMPLEST, _MOST_PROMISING = 60, 140
_FIT = 100  # steps that it costs to see whether a train goes on as it stands


def promising(jobs: Sequence[Sequence[Loose]], close: Sequence[Close], *, keep_order: bool) -> list[list[Loose]]:
    """Of each job the first trains, and those that come near to trains of the most other jobs; as they stand.

    `close`: what close_by() says of them all. `keep_order`: only the jobs before and after count, before the first one
    what is mounted.
    """
    few, each_close, mounted = [], iter(close), 1 << len(jobs)
    for place, job in enumerate(jobs):
        beside = (5 << place >> 1) % mounted + (0 if place else mounted) if keep_order else -1
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
    """Plans for jobs with these candidates each, the first of which goes on, from what is mounted.

    `rest`: of all their trains, or, if not `whole`, of some of them.
    """

    def __init__(self, jobs: Sequence[Candidates], start: Train | None, rest: Rest, *, whole: bool = True) -> None:
        self.jobs, self.rest, self.whole = jobs, rest, whole
        meshes = max(len(train.drivers) for train in rest.trains)
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
        for moved, order, places in self._mountings(step, before.places, ANY):
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
            if self._too_few.get((now, places), -1) >= left - moved:
                continue
            rest.effort.spend(STEP if job.knows(order) else _FIT)
            if not job.may_stand(order):
                continue
            onward = self._onward(now, step.train, places, left - moved)
            if onward is not None:
                return [Mount(step.job, rest.trains[step.train], order), *onward]
            self._too_few[now, places] = left - moved
        return None

    def _mountings(self, step: Step, standing: Places | None, left: int) -> list[tuple[int, Chain, Places]]:
        """The orders of a train that move at most so many gears from what stands there, the fewest first."""
        loose, job = self.rest.trains[step.train], self.jobs[step.job]
        orders = job.orders(loose)
        self.rest.effort.spend(STEP + len(orders))
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


def chosen_in_order(jobs: Sequence[Sequence[Train]], *, last_stays: bool = False) -> list[int]:
    """For each job the place of a train in its list, so that, jobs as they stand, the fewest gears are moved.

    >>> chosen_in_order([[Train((40,), (80,))], [Train((30,), (60,)), Train((40,), (60,))], [Train((40,), (50,))]])
    [0, 1, 0]

    `jobs`: for each its trains, at least one, the most welcome first. `last_stays`: the last driven gear is fixed.
    The order of the lists settles equals from the last job back, each as far as the one after it allows.
    """
    every = [train for trains in jobs for train in trains]
    meshes, idlers = max(train.meshes for train in every), max(len(mesh) for train in every for mesh in train.idlers)
    rows = [
        [tuple(enumerate(places_of(train.chain(), meshes, idlers, last_stays))) for train in trains]
        for trains in reversed(jobs)
    ]
    shelves = [Shelf(listed) for listed in rows]
    to_come = levels_to_come(shelves, rows)
    left = min(to_come[0])
    chosen = [next(members(to_come[0][left]))]
    for before, shelf, levels in zip(rows, shelves[1:], to_come[1:], strict=False):
        apart = shelf.apart(before[chosen[-1]])
        ways = (
            (n, left - moved) for moved, near in enumerate(apart) for n in members(near & levels.get(left - moved, 0))
        )
        place, left = min(ways)
        chosen.append(place)
    return chosen[::-1]
