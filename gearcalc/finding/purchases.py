"""Which gears would have to be bought for one thread, and what do purchases open?

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
from functools import lru_cache
from itertools import chain, combinations, combinations_with_replacement, product
from math import comb, inf, prod
from typing import NamedTuple

from attrs import evolve

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import Exact
from gearcalc.basics.progress import Shown
from gearcalc.finding.nearest import nearest
from gearcalc.finding.rankings import NothingGoesOnError, Query, goals_of
from gearcalc.finding.setups import Setup
from gearcalc.fits.geometry import layout_if_any
from gearcalc.lathes import GearSet, Lathe
from gearcalc.lathes.frames import HalfFrame, frames
from gearcalc.lathes.gear_sets import as_gear_set
from gearcalc.lathes.trains import Gears
from gearcalc.threads.wanted import Wanted

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
    """One way to fill a side: its product, what must be bought for it, and the tooth counts on it as a bit set."""

    product: int
    bought: Purchase
    counts: int


class Shelf:
    """Owned gears and gears that could be bought, and every side of a train that they make.

    >>> shelf = Shelf([40, 60], [50], (1,))
    >>> [(side.product, side.bought) for side in shelf.sides(1, 0)[0]], shelf.sides(1, 1)[1]
    ([(40, ()), (60, ())], [50])

    `owned`: as counted; `candidates`: tooth counts, each to be had as often as needed. Raises NotPossibleError for
    more sides than can be listed.
    """

    def __init__(self, owned: GearSet | Iterable[int], candidates: Iterable[int], meshes: Sequence[int]) -> None:
        self.owned = as_gear_set(owned)
        self.candidates = tuple(sorted(set(candidates)))
        self.meshes = tuple(meshes)
        self._bit = {teeth: 1 << place for place, teeth in enumerate(sorted({*self.owned.loose, *self.candidates}))}
        self._sides: dict[tuple[int, int], tuple[list[_Side], list[int]]] = {}

    @property
    def most_bought(self) -> int:
        """The most gears that one train can want bought: all of them."""
        return 2 * max(self.meshes)

    def sides(self, meshes: int, bought: int) -> tuple[list[_Side], list[int]]:
        """The sides of so many gears, just so many of them bought, by product; and their products, in that order."""
        if (meshes, bought) not in self._sides:
            listed = sorted(self._listed(meshes, bought))
            self._sides[meshes, bought] = listed, [side.product for side in listed]
        return self._sides[meshes, bought]

    def _listed(self, meshes: int, bought: int) -> Iterator[_Side]:
        if bought > meshes:
            return
        there = len(self.owned.loose)
        if comb(there, meshes - bought) * comb(len(self.candidates) + bought, bought) > _MOST_SIDES:
            raise self._too_many()
        purchases = list(combinations_with_replacement(self.candidates, bought))
        have = Counter(self.owned.loose)
        for own, new in product(self.owned.sides(meshes - bought), purchases):
            gears = own.gears + new
            # What is owned is bought only when all of its size are in use already.
            if all(own.gears.count(teeth) == have[teeth] for teeth in new):
                yield _Side(prod(gears), new, sum(self._bit[teeth] for teeth in set(gears)))

    def trains(self, window: Window, bought: int) -> Iterator[Purchase]:
        """What trains with a ratio in the window need, just so many bought gears each; repeats are not removed."""
        if not self.owned.anything_goes:
            yield from self._framed(window, bought)
            return
        low, high = float(window.low), float(window.high)
        for meshes, on_top in product(self.meshes, range(bought + 1)):
            above, over = self.sides(meshes, on_top)
            below, under = self.sides(meshes, bought - on_top)
            if len(above) < len(below):
                yield from _pairs(above, below, under, 1 / high, 1 / low, window, True)
            else:
                yield from _pairs(below, above, over, low, high, window, False)
        yield from self._with_equal_gears(window, bought)

    def _framed(self, window: Window, bought: int) -> Iterator[Purchase]:
        """The same where gears are fixed, in one piece or of several sizes, frame by frame: what is bought is loose and
        of the first size. Here the sides of a train may need the same gear, so what it needs is asked of both at once.
        """
        for meshes in self.meshes:
            plenty = self.owned.with_gears(add=(self.candidates[0],) * 2 * meshes)
            for frame in frames(plenty, meshes):
                for on_top in range(bought + 1):
                    over, under = self._of_frame(frame.above, on_top), self._of_frame(frame.below, bought - on_top)
                    yield from self._needed(over, under, window, bought)

    def _of_frame(self, half: HalfFrame, bought: int) -> list[tuple[int, Gears]]:
        """Every side of a frame with just so many bought gears, by product."""
        of_kind = dict(half.wanted)
        plain = of_kind.pop("", 0)
        if bought > plain:
            return []
        if (
            comb(len(self.owned.loose), sum(of_kind.values()) + plain - bought)
            * comb(len(self.candidates) + bought, bought)
            > _MOST_SIDES
        ):
            raise self._too_many()
        own = self.owned.sides(plain - bought, of_kind, half.settled)
        purchases = list(combinations_with_replacement(self.candidates, bought))
        return sorted((prod(side.gears) * prod(new), side.gears + new) for side, new in product(own, purchases))

    def _needed(
        self, over: list[tuple[int, Gears]], under: list[tuple[int, Gears]], window: Window, bought: int
    ) -> Iterator[Purchase]:
        low, high = float(window.low) * (1 - _MARGIN), float(window.high) * (1 + _MARGIN)
        for size, driven in under:
            start = bisect_left(over, (size * low,))
            for above, drivers in over[start : bisect_right(over, (size * high, (inf,)))]:
                needed = self.owned.missing(drivers + driven)
                if len(needed) == bought and set(needed) <= set(self.candidates) and window.holds(above, size):
                    yield needed

    def _too_many(self) -> NotPossibleError:
        return NotPossibleError(
            f"{len(self.owned.pieces)} gears and {len(self.candidates)} that could be added can be chosen in too many "
            "ways",
            remedy="Give fewer candidates, or fewer meshes.",
        )

    def _with_equal_gears(self, window: Window, bought: int) -> Iterator[Purchase]:
        """The same for trains with equal gears on both sides that no shorter train makes up for."""
        sizes = sorted({*self.owned.loose, *self.candidates})
        for meshes in self.meshes:
            for pairs in range(1, meshes + 1):
                if any(meshes - out in self.meshes for out in range(1, min(pairs, meshes - 1) + 1)):
                    break  # what is left when pairs are taken out is a train that counts, and needs no more
                for rest in self._unequal(window, meshes - pairs, bought):
                    for equal in combinations_with_replacement(sizes, pairs):
                        needed = self.owned.missing((*rest, *equal, *equal))
                        if len(needed) == bought and set(needed) <= set(self.candidates):
                            yield needed

    def _unequal(self, window: Window, meshes: int, bought: int) -> Iterator[Purchase]:
        """The gears of each train of so many meshes, none on both sides, that wants at most so many bought."""
        sizes = sorted({*self.owned.loose, *self.candidates})
        sides = sorted((prod(gears), gears) for gears in combinations_with_replacement(sizes, meshes))
        for under, below in sides:
            start = bisect_left(sides, (under * float(window.low) * (1 - _MARGIN),))
            end = bisect_right(sides, (under * float(window.high) * (1 + _MARGIN), (inf,)))
            for over, above in sides[start:end]:
                if set(above).isdisjoint(below) and window.holds(over, under):
                    gears = above + below
                    if len(self.owned.missing(gears)) <= bought:
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
            if one.counts & other.counts:
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


def parts_of(gears: Purchase, most: int | None = None) -> Iterator[Purchase]:
    """Every smaller purchase in a purchase, of at most so many gears, the empty one first; each once.

    >>> list(parts_of((20, 20, 30)))
    [(), (20,), (30,), (20, 20), (20, 30)]
    """
    for size in range(len(gears) if most is None else min(len(gears), most + 1)):
        yield from dict.fromkeys(combinations(gears, size))


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


class OutOfEffortError(Exception):
    """The search has looked at as much as it may; raised by PurchaseEffects, caught by whoever searches."""


class Family:
    """The minimal purchases of one thread that have been listed so far, by what is asked of them."""

    def __init__(self) -> None:
        self.purchases: set[Purchase] = set()
        self._small: dict[int, tuple[frozenset[Purchase], frozenset[int], float]] = {}
        self._holding: defaultdict[int, list[Purchase]] = defaultdict(list)

    def add(self, purchases: Iterable[Purchase]) -> None:
        self.purchases.update(purchases)
        self._small.clear()
        self._holding = defaultdict(list)
        for bought in self.purchases:
            for teeth in set(bought):
                self._holding[teeth].append(bought)

    def up_to(self, size: int) -> tuple[frozenset[Purchase], frozenset[int], float]:
        """The purchases of at most so many gears, all gears in them, and the size of the smallest."""
        if size not in self._small:
            small = frozenset(bought for bought in self.purchases if len(bought) <= size)
            gears = frozenset(teeth for bought in small for teeth in bought)
            self._small[size] = small, gears, min(map(len, small), default=inf)
        return self._small[size]

    def still_to_buy(self, there: Purchase, size: int) -> set[Purchase]:
        """What else a purchase could contain, at most so many gears, where part of it is there."""
        rests = (more_than(bought, there) for teeth in set(there) for bought in self._holding[teeth])
        return {rest for rest in rests if len(rest) <= size}


@lru_cache(maxsize=4)
def _shelf(owned: GearSet, candidates: tuple[int, ...], meshes: tuple[int, ...]) -> Shelf:
    """Kept, since the same gears are asked for other threads and other tolerances."""
    return Shelf(owned, candidates, meshes)


class PurchaseEffects:
    """What buying gears does for each of several threads.

    `wanted`: what to cut, all different; `within`: a share of each lead; `candidates`: tooth counts, each to be had
    as often as needed. `bracket`: whether only what goes on one serves; `unsure`: it was too much for some question of
    fit, which was then taken for a no.
    """

    def __init__(
        self,
        lathe: Lathe,
        wanted: Sequence[Wanted],
        within: Fraction,
        candidates: Sequence[int],
        meshes: tuple[int, ...],
        must_fit: bool,
        shown: Shown,
    ) -> None:
        self.shown = shown
        self.shelf = _shelf(lathe.gear_set, tuple(candidates), meshes)
        self.families = [Family() for _ in wanted]
        self.unsure = False
        self.checks_left = inf
        self.bracket = must_fit and layout_if_any(lathe) is not None
        self._parts = evolve(lathe, bracket=None), tuple(wanted), within, tuple(candidates), meshes
        self._queries = [Query(lathe, each, meshes, within, must_fit=must_fit) for each in wanted]
        self._windows = [[Window.around(goal.target, within) for goal in goals_of(query)] for query in self._queries]
        self._opened_by: dict[Purchase, int] = {}
        self._opening_parts: dict[Purchase, list[tuple[Purchase, int]]] = {}  # as far as purchases are listed
        self._grown = -1
        self._setups: dict[tuple[int, Purchase], Setup | None] = {}

    def setup_with(self, thread: int, bought: Purchase) -> Setup | None:
        """The best setup for a thread with these gears bought; None where none is near enough, or goes on."""
        key = thread, bought
        if key not in self._setups:
            self.checks_left -= 1
            if self.checks_left < 0:
                raise OutOfEffortError
            try:
                self._setups[key] = nearest(evolve(self._queries[thread], borrowed=bought))
            except NothingGoesOnError:
                self.unsure = True
                self._setups[key] = None
        return self._setups[key]

    def nearest_today(self, thread: int) -> Setup | None:
        """The best setup with the gears that are there, however far off; None where there is none."""
        try:
            return nearest(evolve(self._queries[thread], within=None))
        except NothingGoesOnError:
            return None

    def without_bracket(self) -> PurchaseEffects:
        """The same by ratios alone."""
        return PurchaseEffects(*self._parts, must_fit=False, shown=self.shown)

    def grow_to(self, size: int) -> None:
        """List the minimal purchases of every thread up to so many gears."""
        while self._grown < min(size, self.shelf.most_bought):
            self._grown += 1
            self._opening_parts.clear()
            doing = f"purchases of {self._grown}" if self._grown else "gears that are there"
            for thread, family in enumerate(self.shown(self.families, doing)):
                found = minimal_purchases(self.shelf, self._windows[thread], self._grown, family.purchases)
                family.add(found)
                for bought in found:
                    self._opened_by[bought] = self._opened_by.get(bought, 0) | 1 << thread

    def ever_made(self, thread: int) -> bool:
        """Whether any purchase at all makes the ratio of a thread."""
        if self.families[thread].purchases:
            return True
        sizes = range(self._grown + 1, self.shelf.most_bought + 1)
        return any(any(True for _ in self.shelf.trains(window, n)) for n in sizes for window in self._windows[thread])

    def opened(self, bought: Purchase) -> int:
        """The threads whose ratio these gears make, as a bit set."""
        opened = 0
        for _, threads in self._opening(bought):
            opened |= threads
        return opened

    def _opening(self, bought: Purchase) -> list[tuple[Purchase, int]]:
        """The listed purchases in a purchase, smallest first, each with the threads whose ratio it makes."""
        if bought not in self._opening_parts:
            parts = chain(parts_of(bought, self._grown), [bought] if len(bought) <= self._grown else [])
            self._opening_parts[bought] = [(part, self._opened_by[part]) for part in parts if part in self._opened_by]
        return self._opening_parts[bought]

    def serves(self, thread: int, bought: Purchase) -> bool:
        """Whether a thread is served; what serves it goes on serving it when more is bought."""
        for part, threads in self._opening(bought):
            if threads >> thread & 1 and self.setup_with(thread, part) is not None:
                return True
        return self.setup_with(thread, bought) is not None
