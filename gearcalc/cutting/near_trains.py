"""Trains that are nearly there: those that differ from a train in few places and come near a ratio.

All but the last place are tried gear by gear; the gears that can stand in the last one lie between two bounds.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, permutations
from math import prod
from typing import NamedTuple

from gearcalc.lathes import Lever
from gearcalc.lathes.trains import Gears, Train

_EMPTY = 0  # a place with no gear yet
_MOST_MESHES = 3  # when a pair is put on
_ROUNDING = 1e-9  # what a float may be off


class Aim(NamedTuple):
    """A lever position, and the train ratios that serve it: from, to; floats, which the caller makes a hair too wide.

    >>> Aim(None, 0.24, 0.26).lever is None
    True
    """

    lever: Lever | None
    lowest: float
    highest: float


class Near(NamedTuple):
    """Drivers and driven that come near enough, and the lever position with which they do.

    >>> Near((40,), (80,), None).driven
    (80,)
    """

    drivers: Gears
    driven: Gears
    lever: Lever | None


def trains_nearby(train: Train, owned: Gears, changed: int, aims: Sequence[Aim]) -> Iterator[Near]:
    """Drivers and driven that differ from a train in just so many places, as far as their ratio serves an aim.

    >>> aims = [Aim(None, 0.24, 0.26)]
    >>> [near[:2] for near in trains_nearby(Train((40,), (80,)), (20, 30, 40, 50, 60, 80), 1, aims)]
    [((20,), (80,))]

    `owned`: all gears, those of the train included; `changed`: places that hold a different gear, 0 or more. A last
    mesh that is taken off or put on counts as two; nothing is put on from three meshes up. Idlers are no matter here.
    """
    drivers, driven = train.drivers, train.driven
    yield from _swapped(drivers, driven, owned, changed, aims)
    if changed < 2:
        return
    if train.meshes > 1:
        yield from _swapped(drivers[:-1], driven[:-1], owned, changed - 2, aims)
    if train.meshes < _MOST_MESHES:
        yield from _swapped((*drivers, _EMPTY), (*driven, _EMPTY), owned, changed - 2, aims)


def _swapped(drivers: Gears, driven: Gears, owned: Gears, changed: int, aims: Sequence[Aim]) -> Iterator[Near]:
    """The same with just so many places changed, and every empty one filled, as far as it comes near."""
    gears = drivers + driven
    filled = [place for place, teeth in enumerate(gears) if teeth != _EMPTY]
    empty = [place for place, teeth in enumerate(gears) if teeth == _EMPTY]
    if not changed and not empty:
        ratio = prod(drivers) / prod(driven)
        yield from (Near(drivers, driven, aim.lever) for aim in aims if aim.lowest <= ratio <= aim.highest)
        return
    for chosen in combinations(filled, changed):
        places = (*chosen, *empty)
        spare = Counter(owned) - Counter(teeth for place, teeth in enumerate(gears) if place not in places)
        for new in _arrangements(spare, len(places) - 1):
            row = list(gears)
            for place, teeth in zip(places, new, strict=False):
                row[place] = teeth
            if all(row[place] != gears[place] for place in places[:-1]):
                yield from _last_place(row, places[-1], sorted(set(spare - Counter(new))), aims)


def _last_place(row: list[int], place: int, spare: list[int], aims: Sequence[Aim]) -> Iterator[Near]:
    """The gears for the last place that bring the row near, found between two bounds rather than one by one."""
    meshes, before = len(row) // 2, row[place]
    row = [*row]
    row[place] = 1
    rest = prod(row[:meshes]) / prod(row[meshes:])
    for aim in aims:
        low, high = (
            (aim.lowest / rest, aim.highest / rest) if place < meshes else (rest / aim.highest, rest / aim.lowest)
        )
        first, last = bisect_left(spare, low * (1 - _ROUNDING)), bisect_right(spare, high * (1 + _ROUNDING))
        for teeth in spare[first:last]:
            if teeth != before:
                row[place] = teeth
                yield Near(tuple(row[:meshes]), tuple(row[meshes:]), aim.lever)


def _arrangements(spare: Counter[int], places: int) -> Iterable[Gears]:
    """Every way to fill so many places from the gears to spare, each once."""
    at_most = [teeth for teeth, count in sorted(spare.items()) for _ in range(min(count, places))]
    return dict.fromkeys(permutations(at_most, places))
