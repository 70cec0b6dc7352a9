"""Which gears would have to be bought for one thread: the smallest sets with which some train comes near enough.

A purchase is a tuple of tooth counts, ascending, a count twice where two are bought. Purchases are listed by size, and
only those that contain no smaller one that serves the same thread: whoever has more can do with the smaller one.

How: where no tooth count stands on both sides of a train, what the two sides need never overlaps, and the gears bought
for a train are those bought for its drivers and those bought for its driven. So the sides are listed once, by the
number of gears that must be bought for them, sorted by their product. A train with k bought gears has i on the one
side and k − i on the other, and for each driven product the drivers' product is found by bisection.
A train with equal gears on both sides needs all that the shorter train without them does, and more. So it is looked at
only where the shorter train has no gears (1:1), or meshes that nobody asked for.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, combinations_with_replacement, product
from math import comb, inf, prod
from typing import NamedTuple

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import Exact

_MOST_SIDES = 500_000
_MARGIN = 1e-12

Purchase = tuple[int, ...]


class Window(NamedTuple):
    """The ratios, drivers over driven, that are near enough: from `low` to `high`, ends included.

    >>> Window.around(Fraction(1, 2), Fraction(1, 100)).holds(101, 200)
    True
    """

    low: Exact
    high: Exact

    @classmethod
    def around(cls, target: Exact, within: Fraction) -> Window:
        """Ratios that miss a target by at most a share of it."""
        return cls(target * (1 - within), target * (1 + within))

    def holds(self, over: int, under: int) -> bool:
        """Whether over/under is in it, exactly, π or not."""
        ratio = Fraction(over, under)
        return not (ratio < self.low or ratio > self.high)


class _Side(NamedTuple):
    """One way to fill a side: its product, what must be bought for it, and the tooth counts on it as bits."""

    product: int
    bought: Purchase
    bits: int


class Shelf:
    """Owned gears and gears that could be bought, and every side of a train that they make.

    >>> shelf = Shelf([40, 60], [50], (1,))
    >>> [(side.product, side.bought) for side in shelf.sides(1, 0)], [side.bought for side in shelf.sides(1, 1)]
    ([(40, ()), (60, ())], [(50,)])

    `owned`: as counted; `candidates`: tooth counts, each to be had as often as needed. Raises NotPossibleError for
    more sides than can be listed.
    """

    def __init__(self, owned: Iterable[int], candidates: Iterable[int], meshes: Sequence[int]) -> None:
        self.owned = Counter(owned)
        self.candidates = tuple(sorted(set(candidates)))
        self.meshes = tuple(meshes)
        self._bit = {teeth: 1 << place for place, teeth in enumerate(sorted({*self.owned, *self.candidates}))}
        self._sides: dict[tuple[int, int], list[_Side]] = {}
        self._products: dict[tuple[int, int], list[int]] = {}

    @property
    def most_bought(self) -> int:
        """The most gears that one train can want bought: all of them."""
        return 2 * max(self.meshes)

    def sides(self, meshes: int, bought: int) -> list[_Side]:
        """The sides of so many gears, just so many of them bought, by product."""
        if (meshes, bought) not in self._sides:
            listed = sorted(self._listed(meshes, bought))
            self._sides[meshes, bought] = listed
            self._products[meshes, bought] = [side.product for side in listed]
        return self._sides[meshes, bought]

    def products(self, meshes: int, bought: int) -> list[int]:
        """The products of those sides, in the same order."""
        self.sides(meshes, bought)
        return self._products[meshes, bought]

    def _listed(self, meshes: int, bought: int) -> Iterator[_Side]:
        if bought > meshes:
            return
        usable = sorted(teeth for teeth, times in self.owned.items() for _ in range(min(times, meshes)))
        if comb(len(usable), meshes - bought) * comb(len(self.candidates) + bought, bought) > _MOST_SIDES:
            raise NotPossibleError(
                f"{len(usable)} gears and {len(self.candidates)} that could be added can be chosen in too many ways",
                remedy="Give fewer candidates, or fewer meshes.",
            )
        purchases = list(combinations_with_replacement(self.candidates, bought))
        for own, new in product(set(combinations(usable, meshes - bought)), purchases):
            if all(own.count(teeth) == min(self.owned[teeth], meshes) for teeth in new if teeth in self.owned):
                gears = own + new  # a gear that is owned is bought only when all of its size are in use already
                yield _Side(prod(gears), new, sum(self._bit[teeth] for teeth in set(gears)))

    def trains(self, window: Window, bought: int) -> Iterator[Purchase]:
        """What trains with a ratio in the window need, just so many bought gears each; repeats are not removed."""
        low, high = float(window.low), float(window.high)
        for meshes, on_top in product(self.meshes, range(bought + 1)):
            above, below = self.sides(meshes, on_top), self.sides(meshes, bought - on_top)
            if len(above) < len(below):
                yield from _pairs(above, below, self.products(meshes, bought - on_top), 1 / high, 1 / low, window, True)
            else:
                yield from _pairs(below, above, self.products(meshes, on_top), low, high, window, False)
        yield from self._with_equal_gears(window, bought)

    def _with_equal_gears(self, window: Window, bought: int) -> Iterator[Purchase]:
        """The same for trains with equal gears on both sides that no shorter train makes up for."""
        sizes = sorted({*self.owned, *self.candidates})
        for meshes in self.meshes:
            for pairs in range(1, meshes + 1):
                if any(meshes - out in self.meshes for out in range(1, min(pairs, meshes - 1) + 1)):
                    break  # what is left when pairs are taken out is a train that counts, and needs no more
                for rest in self._unequal(window, meshes - pairs, bought):
                    for equal in combinations_with_replacement(sizes, pairs):
                        needed = Counter((*rest, *equal, *equal)) - self.owned
                        if needed.total() == bought and needed.keys() <= set(self.candidates):
                            yield tuple(sorted(needed.elements()))

    def _unequal(self, window: Window, meshes: int, bought: int) -> Iterator[Purchase]:
        """The gears of each train of so many meshes, none on both sides, that wants at most so many bought."""
        sizes = sorted({*self.owned, *self.candidates})
        sides = sorted((prod(gears), gears) for gears in combinations_with_replacement(sizes, meshes))
        for under, below in sides:
            start = bisect_left(sides, (under * float(window.low) * (1 - _MARGIN),))
            end = bisect_right(sides, (under * float(window.high) * (1 + _MARGIN), (inf,)))
            for over, above in sides[start:end]:
                if set(above).isdisjoint(below) and window.holds(over, under):
                    gears = above + below
                    if (Counter(gears) - self.owned).total() <= bought:
                        yield gears


def _pairs(
    few: list[_Side], many: list[_Side], products: list[int], low: float, high: float, window: Window, turned: bool
) -> Iterator[Purchase]:
    """Sides of the longer list that go with each of the shorter; `turned`: the longer one holds the driven."""
    outer_low, outer_high = low * (1 - _MARGIN), high * (1 + _MARGIN)
    inner_low, inner_high = low * (1 + _MARGIN), high * (1 - _MARGIN)
    for one in few:
        size = one.product
        start = bisect_left(products, size * outer_low)
        for other in many[start : bisect_right(products, size * outer_high, lo=start)]:
            if one.bits & other.bits:
                continue
            if inner_low * size < other.product < inner_high * size or (
                window.holds(size, other.product) if turned else window.holds(other.product, size)
            ):
                yield (
                    tuple(sorted(one.bought + other.bought))
                    if one.bought and other.bought
                    else (one.bought or other.bought)
                )


def minimal_purchases(shelf: Shelf, windows: Iterable[Window], size: int, smaller: set[Purchase]) -> set[Purchase]:
    """The purchases of one size with which some train comes into one of the windows, but for those that a smaller does.

    >>> shelf = Shelf([40, 60], range(20, 128), (1,))
    >>> window = Window.around(Fraction(1, 2), Fraction(0))
    >>> sorted(minimal_purchases(shelf, [window], 1, set()))
    [(20,), (30,), (80,), (120,)]

    `smaller`: all minimal purchases of the smaller sizes. Windows: one a lever.
    """
    if () in smaller:
        return set()
    found = {bought for window in windows for bought in shelf.trains(window, size)}
    if not smaller:
        return found
    return {bought for bought in found if not any(part in smaller for part in parts_of(bought))}


def parts_of(gears: Purchase) -> Iterator[Purchase]:
    """Every smaller purchase in a purchase, the empty one first; each once.

    >>> list(parts_of((20, 20, 30)))
    [(), (20,), (30,), (20, 20), (20, 30)]
    """
    for size in range(len(gears)):
        yield from sorted(set(combinations(gears, size)))


def more_than(wanted: Purchase, there: Purchase) -> Purchase:
    """What of one purchase is not in another.

    >>> more_than((20, 20, 30), (20, 40))
    (20, 30)
    """
    missing, left = [], list(there)
    for teeth in wanted:
        if teeth in left:
            left.remove(teeth)
        else:
            missing.append(teeth)
    return tuple(missing)


def by_gear(purchases: Iterable[Purchase]) -> dict[int, list[Purchase]]:
    """The purchases that each gear is part of."""
    holding: dict[int, list[Purchase]] = defaultdict(list)
    for bought in purchases:
        for teeth in set(bought):
            holding[teeth].append(bought)
    return holding
