"""The fewest gears to move for jobs in the order given, with a choice of trains for each (Viterbi's way).

Job by job, for each train the least that it can take to get there. Moving from one train to the next costs as many
gears as places differ (trains.places_that_differ).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TypeAlias

from attrs import frozen

from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning.nearness import Nearness, members

Levels: TypeAlias = dict[int, int]
"""Gears moved so far -> the trains that can be mounted then, as a bit set."""


@frozen
class Choice:
    """The jobs in the order to do them, the train chosen of each (by its place in the job's list), gears moved."""

    order: tuple[int, ...]
    trains: tuple[int, ...]
    moved: int


def in_this_order(lists: Sequence[Sequence[Train]], start: Train | None = None, last_stays: bool = False) -> Choice:
    """A train for each job, jobs as they stand, that moves the fewest gears; among equals those earlier in their lists.

    >>> lists = [[Train((40,), (80,))], [Train((30,), (60,)), Train((40,), (60,))], [Train((40,), (50,))]]
    >>> in_this_order(lists)
    Choice(order=(0, 1, 2), trains=(0, 1, 0), moved=2)

    `lists`: for each job its trains, at least one, the most welcome first. `start`: what is mounted now.
    `last_stays`: the last driven gear is fixed, on every train, and never moved.
    The order of the lists settles equals from the last job back, each as far as the one after it allows.
    """
    reached = [_first_levels(lists[0], start, last_stays)]
    shelves = [Nearness(trains, last_stays) for trains in lists]
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


def _first_levels(trains: Sequence[Train], start: Train | None, last_stays: bool) -> Levels:
    levels: Levels = defaultdict(int)
    for n, train in enumerate(trains):
        levels[places_that_differ(start, train, last_stays) if start else 0] |= 1 << n
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


def _meets(levels: Levels, apart: Sequence[int], moved: int) -> bool:
    """Whether a train that stands so far apart from others can be mounted with just so many gears moved in all."""
    for so_far, bits in levels.items():  # noqa: SIM110 - asked millions of times, and any() takes half as long again
        if 0 <= moved - so_far < len(apart) and bits & apart[moved - so_far]:
            return True
    return False
