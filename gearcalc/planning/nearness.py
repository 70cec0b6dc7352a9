"""How many places differ between one train and each of very many, all of them at once.

A whole number serves as a row of lamps, one for each train; 'and', 'or' and 'not' then work on all trains at a time.

>>> shelf = Nearness([Train((40,), (80,)), Train((40,), (60,)), Train((30,), (60,))])
>>> [f"{lamps:03b}" for lamps in shelf.apart(Train((40,), (80,)))]  # 0, 1, 2 places; the last train on the left
['001', '010', '100']
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from gearcalc.lathes.trains import Train


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
