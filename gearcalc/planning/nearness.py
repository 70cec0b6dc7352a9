"""Which trains differ from one in how many gears: looked up for very many of them together.

A whole number serves as a set of trains, its bit n standing for train n, so that "and", "or" and "not" work on all
trains at a time.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple, TypeAlias

from gearcalc.lathes.trains import Gears, Train


class Loose(NamedTuple):
    """A train's gears, those of each side ascending; without order and idlers. `goal`: for which lever, by place."""

    drivers: Gears
    driven: Gears
    goal: int = 0

    @classmethod
    def of(cls, train: Train) -> Loose:
        """A train, loosely."""
        return cls(tuple(sorted(train.drivers)), tuple(sorted(train.driven)))


def members(bits: int) -> Iterator[int]:
    """The members of a bit set, from 0, in order.

    >>> list(members(0b10110))
    [1, 2, 4]
    """
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def bit_set(listed: Sequence[int]) -> int:
    """The bit set of these numbers, which ascend.

    >>> f"{bit_set([1, 2, 4]):b}"
    '10110'
    """
    array = bytearray((listed[-1] >> 3) + 1)
    for n in listed:
        array[n >> 3] |= 1 << (n & 7)
    return int.from_bytes(array, "little")


def _places(train: Train, last_stays: bool) -> Iterator[tuple[tuple[int, int], int]]:
    """Each place and the gear on it: ((0, n), drivers), ((1, n), driven), ((2 + mesh, n), idlers)."""
    driven = train.driven[:-1] if last_stays else train.driven
    for row, gears in enumerate((train.drivers, driven, *train.idlers)):
        for n, teeth in enumerate(gears):
            yield (row, n), teeth


class Nearness:
    """Trains, ready to be asked which of them differ in how many places from another.

    >>> shelf = Nearness([Train((40,), (80,)), Train((40,), (60,)), Train((30,), (60,))])
    >>> [f"{bits:03b}" for bits in shelf.apart(Train((40,), (80,)))]  # 0, 1, 2 places; the last train on the left
    ['001', '010', '100']

    `last_stays`: the last driven gear is fixed, on every train, and never moved.
    """

    def __init__(self, trains: Sequence[Train], last_stays: bool = False) -> None:
        self.trains, self.last_stays = trains, last_stays
        self.all = (1 << len(trains)) - 1
        self._holding: dict[tuple[int, int], dict[int, int]] = defaultdict(lambda: defaultdict(int))
        for n, train in enumerate(trains):
            for place, teeth in _places(train, last_stays):
                self._holding[place][teeth] |= 1 << n
        self._empty = {place: self.all & ~sum(by_gear.values()) for place, by_gear in self._holding.items()}

    def apart(self, train: Train, most: int = 99) -> list[int]:
        """For 0, 1, 2 ... places: the trains that differ in just so many, as bit sets; up to `most` places.

        The same count as places_that_differ makes: a place that only one of the two has counts.
        """
        gears = dict(_places(train, self.last_stays))
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


class Shelf:
    """Trains, loosely, ready to be asked which of them differ in how many gears from another.

    >>> shelf = Shelf([Loose((30,), (50,)), Loose((20, 30), (60, 80))])
    >>> [f"{bits:02b}" for bits in shelf.apart(Loose((30, 40), (60, 80)))]  # 0, 1, 2, 3, 4 gears
    ['00', '10', '00', '01', '00']
    """

    def __init__(self, trains: Sequence[Loose]) -> None:
        by_meshes: dict[int, list[int]] = {}
        holding: dict[tuple[int, int, int], list[int]] = {}
        for n, train in enumerate(trains):
            by_meshes.setdefault(len(train.drivers), []).append(n)
            for gear in _gears(train):
                holding.setdefault(gear, []).append(n)
        self._by_meshes = {meshes: bit_set(listed) for meshes, listed in by_meshes.items()}
        self._holding = {gear: bit_set(listed) for gear, listed in holding.items()}

    def apart(self, train: Loose, most: int = 99) -> list[int]:
        """For 0, 1, 2 ... gears: the trains that differ in just so many at best, as bit sets; up to `most` gears."""
        gears, meshes = list(_gears(train)), len(train.drivers)
        found = [0] * (min(most, 2 * max(meshes, *self._by_meshes)) + 1)
        for others, bits in self._by_meshes.items():
            beyond = max(0, 2 * (others - meshes))  # places that only the others have
            lacking = [bits]  # those that lack none of the gears, one, two ...
            for gear in gears:
                holding, before = self._holding.get(gear, 0), 0
                for n, each in enumerate(lacking):
                    lacking[n] = each & holding | before
                    before = each & ~holding
                if beyond + len(lacking) < len(found):
                    lacking.append(before)
            for n, each in enumerate(lacking, beyond):
                if n < len(found):
                    found[n] |= each
        return found


def _gears(train: Loose) -> Iterator[tuple[int, int, int]]:
    """Each gear by side, teeth and how many such there were before it."""
    for side, gears in enumerate((train.drivers, train.driven)):
        before: Counter[int] = Counter()
        for gear in gears:
            yield side, gear, before[gear]
            before[gear] += 1


Close: TypeAlias = tuple[int, int, int]
"""The jobs that have a train as near as 0, 1 and 2 gears, as bit sets."""


def close_by(jobs: Sequence[Sequence[Loose]]) -> list[Close]:
    """For each train of all jobs, which jobs have a train so near.

    >>> close_by([[Loose((40,), (80,))], [Loose((40,), (60,))], [Loose((20, 40), (80, 90))]])
    [(1, 3, 7), (2, 3, 3), (4, 4, 5)]

    What two trains share is left of both when some gears are taken out; each such rest is noted as a number.
    """
    weights: dict[tuple[int, int], int] = {}
    parts = []
    for place, job in enumerate(jobs):
        for train in job:
            gears = [
                weights.setdefault((side, gear), 8 ** len(weights))
                for side, listed in enumerate(train[:2])
                for gear in listed
            ]
            whole = sum(gears)
            one_out = {whole - gear for gear in gears}
            two_out = {whole - gear - other for gear, other in combinations(gears, 2)}
            parts.append((place, whole, one_out, two_out))
    holding: list[defaultdict[int, int]] = [defaultdict(int) for _ in range(3)]
    for place, whole, one_out, two_out in parts:
        holding[0][whole] |= 1 << place
        for part in one_out:
            holding[1][part] |= 1 << place
        for part in two_out:
            holding[2][part] |= 1 << place
    found = []
    for _, whole, one_out, two_out in parts:
        none, one, two = holding[0][whole], 0, 0
        for part in one_out:
            one |= holding[1][part]
        for part in two_out:
            two |= holding[2][part] | holding[0].get(part, 0)
        found.append((none, none | one, none | one | two | holding[2].get(whole, 0)))
    return found


def either(one: Close, other: Close) -> Close:
    return one[0] | other[0], one[1] | other[1], one[2] | other[2]


def nearest(close: Close, job: int) -> int:
    """How many gears a job is away at least: none, one, two, or three and more."""
    return next((moved for moved, jobs in enumerate(close) if jobs >> job & 1), 3)
