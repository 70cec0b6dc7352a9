"""What purchases do for each thread of a list: which make its ratio, and with which a train of it goes on.

What is asked is kept: whatever serves a thread goes on serving it when more is bought.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from math import inf
from typing import Any

from attrs import evolve

from gearcalc.finding.rankings import NothingGoesOnError, Query, positions, ranked
from gearcalc.finding.sets import Purchase, Shelf, Window, by_gear, minimal_purchases, more_than, parts_of
from gearcalc.finding.setups import Setup, Wanted
from gearcalc.fits.stances import layout_if_any
from gearcalc.lathes import Lathe

Shown = Callable[[Iterable[Any], str], Iterable[Any]]
"""Hands on what it is given, and may show how far that has gone; the words say what is being done."""


class OutOfEffortError(Exception):
    """The search has looked at as much as it may; raised by PurchaseEffects, caught by whoever searches."""


class Family:
    """The minimal purchases of one thread that have been listed so far, by what is asked of them."""

    def __init__(self) -> None:
        self.purchases: set[Purchase] = set()
        self._small: dict[int, tuple[frozenset[Purchase], frozenset[int], float]] = {}
        self._holding: dict[int, list[Purchase]] = {}

    def add(self, purchases: Iterable[Purchase]) -> None:
        self.purchases.update(purchases)
        self._small.clear()
        self._holding = by_gear(self.purchases)

    def up_to(self, size: int) -> tuple[frozenset[Purchase], frozenset[int], float]:
        """The purchases of at most so many gears, all gears in them, and the size of the smallest."""
        if size not in self._small:
            small = frozenset(bought for bought in self.purchases if len(bought) <= size)
            gears = frozenset(teeth for bought in small for teeth in bought)
            self._small[size] = small, gears, min(map(len, small), default=inf)
        return self._small[size]

    def still_to_buy(self, there: Purchase, size: int) -> set[Purchase]:
        """What else a purchase could contain, at most so many gears, where part of it is there."""
        rests = (more_than(bought, there) for teeth in set(there) for bought in self._holding.get(teeth, ()))
        return {rest for rest in rests if len(rest) <= size}


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
        self.shelf = Shelf(lathe.gears, candidates, meshes)
        self.families = [Family() for _ in wanted]
        self.unsure = False
        self.checks_left = inf
        self.bracket = must_fit and layout_if_any(lathe) is not None
        self._parts = lathe, tuple(wanted), within, tuple(candidates), meshes
        self._queries = [Query(lathe, each, meshes, within, must_fit=must_fit) for each in wanted]
        self._windows = [[Window.around(place.target, within) for place in positions(query)] for query in self._queries]
        self._opened_by: dict[Purchase, int] = {}
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
                self._setups[key] = next(ranked(evolve(self._queries[thread], borrowed=bought)), None)
            except NothingGoesOnError:
                self.unsure = True
                self._setups[key] = None
        return self._setups[key]

    def setup_at_last(self, thread: int, bought: Purchase) -> Setup | None:
        """The same, however much has been looked at."""
        self.checks_left = inf
        return self.setup_with(thread, bought)

    def nearest_today(self, thread: int) -> Setup | None:
        """The best setup with the gears that are there, however far off; None where there is none."""
        try:
            return next(ranked(evolve(self._queries[thread], within=None)), None)
        except NothingGoesOnError:
            return None

    def without_bracket(self) -> PurchaseEffects:
        """The same by ratios alone."""
        return PurchaseEffects(*self._parts, must_fit=False, shown=self.shown)

    def grow_to(self, size: int) -> None:
        """List the minimal purchases of every thread up to so many gears."""
        while self._grown < min(size, self.shelf.most_bought):
            self._grown += 1
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
        """The threads whose ratio these gears make, as bits."""
        opened = self._opened_by.get(bought, 0)
        for part in parts_of(bought):
            opened |= self._opened_by.get(part, 0)
        return opened

    def serves(self, thread: int, bought: Purchase) -> bool:
        """Whether a thread is served; what serves it goes on serving it when more is bought."""
        for part in (*parts_of(bought), bought):
            if self._opened_by.get(part, 0) >> thread & 1 and self.setup_with(thread, part) is not None:
                return True
        return self.setup_with(thread, bought) is not None
