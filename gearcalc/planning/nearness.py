"""Which trains differ from one in how many gears: looked up for very many of them together.

A whole number serves as a set of trains, its bit n standing for train n, so that "and", "or" and "not" work on all
trains at a time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Sequence
from functools import reduce
from itertools import combinations
from operator import or_
from typing import NamedTuple, TypeAlias

from gearcalc.lathes.trains import Gears, Train

Row: TypeAlias = tuple[Hashable, ...]
"""Gears, each with the place that it has, so that what two rows don't share is what is to be moved."""


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


def row_of(train: Loose, meshes: int) -> Row:
    """Each gear by its side and how many such there are before it; as if it had so many meshes, 0 for no gear.

    >>> row_of(Loose((30, 30), (50, 60)), 2)
    ((0, 30, 0), (0, 30, 1), (1, 50, 0), (1, 60, 0))
    """
    sides = ((*gears, *(0,) * (meshes - len(gears))) for gears in train[:2])
    return tuple((n, gear, gears[:at].count(gear)) for n, gears in enumerate(sides) for at, gear in enumerate(gears))


class Shelf:
    """Rows of gears, all as long, ready to be asked which of them differ in how many gears from another.

    >>> shelf = Shelf([row_of(Loose((30,), (50,)), 2), row_of(Loose((20, 30), (60, 80)), 2)])
    >>> [f"{bits:02b}" for bits in shelf.apart(row_of(Loose((30, 40), (60, 80)), 2))]  # 0, 1, 2, 3, 4 gears
    ['00', '10', '00', '01', '00']
    """

    def __init__(self, rows: Sequence[Row]) -> None:
        self.all = (1 << len(rows)) - 1
        holding: defaultdict[Hashable, list[int]] = defaultdict(list)
        for n, row in enumerate(rows):
            for gear in row:
                holding[gear].append(n)
        self._holding = {gear: bit_set(listed) for gear, listed in holding.items()}

    def apart(self, row: Row, most: int = 99) -> list[int]:
        """For 0, 1, 2 ... gears: the rows that differ in just so many, as bit sets; up to `most` gears."""
        lacking = [self.all]  # those that lack none of the gears so far, one, two ...
        for gear in row:
            holding, before = self._holding.get(gear, 0), 0
            for n, each in enumerate(lacking):
                same = each & holding
                lacking[n] = same | before
                before = each ^ same
            if len(lacking) <= most:
                lacking.append(before)
        return lacking


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


def closest(trains: Sequence[Close]) -> Close:
    """How near the nearest of some trains come to each job."""
    none, one, two = (reduce(or_, jobs) for jobs in zip(*trains, strict=True))
    return none, one, two


def nearest(close: Close, jobs: int) -> int:
    """How many gears the nearest of some jobs is away at least: none, one, two, or three and more."""
    return 0 if close[0] & jobs else 1 if close[1] & jobs else 2 if close[2] & jobs else 3
