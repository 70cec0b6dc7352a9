"""The fewest gears to add so that a lathe cuts every thread of a list: a search that says how far it has proved it.

How: for each thread the purchases that make its ratio are known (purchases.py). A purchase for the whole list
contains one of them for each thread. So, with no gear bought, then one, then two ... : take a thread that is not
served yet, try each purchase that would serve it within what may still be bought, and go on with the next thread.
When a number of gears has been tried out without success, one more is needed: that is the proof. Threads whose
purchases have no gear in common each need some of their own, which ends many branches early.

Whether a train goes on the bracket is asked last, of the whole purchase, since it takes longest. A train that makes
the ratio and does not go on may do so with an idler, or there may be another train, once some gear more is there: then
every candidate is tried as that gear. Nothing is left out, so what is said to be the least is the least.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from gearcalc.basics import writing
from gearcalc.basics.progress import Shown
from gearcalc.finding.purchases import OutOfEffortError, Purchase, PurchaseEffects, more_than, parts_of
from gearcalc.lathes.gear_words import of_first_size

_LISTED_AT_FIRST = 2  # so large purchases; there are many larger ones, and they are seldom needed
_PROVED_FULLY = 3  # so many added gears are looked through whatever it takes; only the checks of fit are counted
_MOST_BRANCHES = 10_000
_MOST_CHECKS = 20_000
_CHECKS_ALONE = 600
_TRIED_BY_GAIN = 12
_MOST_LOOKED_AT = 10 * _TRIED_BY_GAIN
_OTHER_STARTS = 16
_CHECKS_TO_CHOOSE, _BRANCHES_TO_CHOOSE = 1000, 3000


class PurchaseSearch:
    """A search for the fewest gears; what it has found can be read at any time, after an interruption too.

    `effects`: what purchases do for each thread; `most`: buy no more gears than this. After run(), or part of it,
    `best` is the purchase that serves most threads, with fewest gears; no purchase of fewer than `lower_bound` gears
    serves all that are not in `left_out`, which has the place of a thread -> why it can't be had, in words.
    """

    def __init__(self, effects: PurchaseEffects, most: int, shown: Shown) -> None:
        self.effects, self.most, self.shown = effects, most, shown
        self.best: Purchase = ()
        self.lower_bound = 0
        self.left_out: dict[int, str] = {}
        self._threads = list(range(len(effects.families)))
        self._needed = sum(1 << thread for thread in self._threads)
        self._best_count = 0
        self._branches_left = inf
        self._visited: set[Purchase] = set()
        self._in_the_way = list(self._threads)
        self._meshes = writing.meshes(effects.shelf.meshes)
        self._of_size = of_first_size(effects.shelf.owned)

    def run(self) -> None:
        """Look until the least is proved, or as much has been looked at as may be."""
        self.effects.grow_to(_LISTED_AT_FIRST)
        self._leave_out_the_hopeless()
        self.effects.checks_left = _MOST_CHECKS
        try:
            self._buy_by_gain()
            while self.lower_bound <= self.most and not self._settled():
                if self.lower_bound > _PROVED_FULLY and self._branches_left == inf:
                    self._branches_left = _MOST_BRANCHES
                    self._buy_from_other_starts()
                self.effects.grow_to(self.lower_bound)
                found = self._first(self.lower_bound, self._needed)
                if found is None:
                    self.lower_bound += 1  # all of that size was tried out
                else:
                    self._note(found)
        except OutOfEffortError:
            pass
        self._choose_among_equals()

    @property
    def proven(self) -> bool:
        """Whether the best serves all that can be served, nothing smaller does, and no question of fit was given up."""
        return self._settled() and not self.effects.unsure

    def _settled(self) -> bool:
        return self._best_count == len(self._threads) and len(self.best) <= self.lower_bound

    def _note(self, bought: Purchase) -> None:
        """Keep a purchase that serves more threads than the best so far, or as many with fewer gears."""
        count = sum(self.effects.serves(thread, bought) for thread in self._threads)
        if (count, -len(bought)) > (self._best_count, -len(self.best)):
            self.best, self._best_count = bought, count

    # Each thread by itself.

    def _leave_out_the_hopeless(self) -> None:
        """Threads that no purchase serves, or none that was found: the others can still be planned for."""
        for thread in self.shown(list(self._threads), "each thread alone"):
            self.effects.checks_left = _CHECKS_ALONE
            try:
                self._look_at_one(thread)
            except OutOfEffortError:
                self.effects.unsure = True
                self._leave_out(thread, "no train was found that goes on the bracket, and the search looked no farther")

    def _look_at_one(self, thread: int) -> None:
        if not self.effects.ever_made(thread):
            added = f", whatever gears{self._of_size} are added" if self._of_size else ""
            self._leave_out(thread, f"no train of {self._meshes} that may be put together comes near enough{added}")
            return
        for size in range(self.most + 1):
            self.effects.grow_to(size)
            if self._first(size, 1 << thread) is not None:
                self.lower_bound = max(self.lower_bound, size)
                return
        gears = writing.counted(self.most, "gear") if self.most else "0 gears"
        if self.effects.opened(()) >> thread & 1:
            serves = "goes on the bracket" if self.effects.bracket else "cuts that hand"
            near = f"no train of {self._meshes} that is near enough {serves}"
            self._leave_out(thread, f"{near}, even with {gears}{self._of_size} added")
        else:
            self._leave_out(thread, f"with {self._meshes} it takes more than {gears}{self._of_size}")

    def _leave_out(self, thread: int, why: str) -> None:
        self.left_out[thread] = why
        self._threads.remove(thread)
        self._needed &= ~(1 << thread)

    # All threads together.

    def _first(self, size: int, needed: int) -> Purchase | None:
        """A purchase of so many gears that serves what is needed; None when there is none."""
        self._visited = set()
        return next(self._purchases((), size, needed), None)

    def _purchases(self, there: Purchase, left: int, needed: int) -> Iterator[Purchase]:
        """Every purchase that serves what is needed and contains what is there, with at most so many gears more.

        But for those that contain another one that is listed.
        """
        if there in self._visited:
            return
        self._visited.add(there)
        self._branches_left -= 1
        if self._branches_left < 0:
            raise OutOfEffortError
        missing = needed & ~self.effects.opened(there)
        if missing:
            rests = self._rests(there, left, missing) if left > 1 else self._last_gears(there, missing) if left else ()
        elif self._unserved(there, needed) is None:
            yield there
            return
        else:
            rests = [(teeth,) for teeth in self.effects.shelf.candidates] if left else ()
        for rest in rests if there else self.shown(rests, f"purchases of {left}"):
            yield from self._purchases(tuple(sorted(there + rest)), left - len(rest), needed)

    def _unserved(self, bought: Purchase, needed: int) -> int | None:
        """A thread that is not served, looking first at those that were in the way before."""
        for place, thread in enumerate(self._in_the_way):
            if needed >> thread & 1 and not self.effects.serves(thread, bought):
                self._in_the_way.insert(0, self._in_the_way.pop(place))
                return thread
        return None

    def _last_gears(self, there: Purchase, missing: int) -> Iterator[Purchase]:
        """The single gears with which the ratio of all that is missing is made."""
        for teeth in self.effects.shelf.candidates:
            if not missing & ~self.effects.opened(tuple(sorted((*there, teeth)))):
                yield (teeth,)

    def _rests(self, there: Purchase, left: int, missing: int) -> list[Purchase]:
        """What else to buy for the thread that leaves least choice; nothing where there is no way left."""
        choices: list[tuple[int, frozenset[int], float, set[Purchase], frozenset[Purchase]]] = []
        for thread in self._threads_in(missing):
            family = self.effects.families[thread]
            small, gears, least = family.up_to(left)
            more = family.still_to_buy(there, left)
            if not small and not more:
                return []
            gears = gears.union(*more) if more else gears
            least = min(least, min(map(len, more), default=inf))
            choices.append((len(small) + len(more), gears, least, more, small))
        choices.sort(key=lambda choice: choice[0])
        apart: set[int] = set()
        needed = 0.0
        for _, gears, least, _, _ in choices:  # threads whose purchases share no gear each need some of their own
            if apart.isdisjoint(gears):
                apart |= gears
                needed += least
        if needed > left:
            return []
        _, _, _, more, small = choices[0]
        rests = small | more
        return sorted((rest for rest in rests if not any(part in rests for part in parts_of(rest))), key=_shortest)

    def _threads_in(self, bit_set: int) -> Iterator[int]:
        return (thread for thread in range(len(self.effects.families)) if bit_set >> thread & 1)

    # A purchase that is good, found soon.

    def _buy_by_gain(self, there: Purchase = ()) -> None:
        """Buy whatever serves most threads a gear, again and again; then give back what is not needed."""
        while len(there) < self.most and (unserved := self._all_unserved(there)):
            best = self._most_gain(there, unserved)
            if best is None:
                return
            there = tuple(sorted(there + best))
            self._note(there)
        for teeth in sorted(set(there), reverse=True):
            less = more_than(there, (teeth,))
            if not self._all_unserved(less):
                there = less
                self._note(there)

    def _buy_from_other_starts(self) -> None:
        starts = self._likely((), self._all_unserved(()))[:_OTHER_STARTS]
        for start in self.shown([start for start in starts if len(start) <= self.most], "other starts"):
            self._buy_by_gain(start)

    def _all_unserved(self, bought: Purchase) -> int:
        return sum(1 << thread for thread in self._threads if not self.effects.serves(thread, bought))

    def _most_gain(self, there: Purchase, unserved: int) -> Purchase | None:
        """What to buy next: the most threads a gear, of those that promise most by their ratios."""

        def gain(rest: Purchase) -> float:
            bought = tuple(sorted(there + rest))
            return sum(self.effects.serves(thread, bought) for thread in self._threads_in(unserved)) / len(rest)

        likely = self._likely(there, unserved)[:_MOST_LOOKED_AT]
        for start in range(0, len(likely), _TRIED_BY_GAIN):
            tried = [(gain(rest), -len(rest), rest) for rest in likely[start : start + _TRIED_BY_GAIN]]
            most, _, best = max(tried, key=lambda each: each[:2])
            if most:
                return best
        return None

    def _likely(self, there: Purchase, unserved: int) -> list[Purchase]:
        """What could be bought next, the most threads a gear first, as far as ratios tell."""
        left = self.most - len(there)
        gains: dict[Purchase, int] = {(teeth,): 0 for teeth in self.effects.shelf.candidates}
        for thread in self._threads_in(unserved):
            family = self.effects.families[thread]
            for rest in filter(None, family.up_to(left)[0] | family.still_to_buy(there, left)):
                gains[rest] = gains.get(rest, 0) | 1 << thread
        for rest in gains:
            for part in parts_of(rest):
                gains[rest] |= gains.get(part, 0)
        return sorted(gains, key=lambda rest: (-gains[rest].bit_count() / len(rest), *_shortest(rest)))

    # Which of several.

    def _choose_among_equals(self) -> None:
        """Of purchases as good as the best, the one with the smallest largest error among the first few hundred."""
        if self._best_count < len(self._threads) or not self.best:
            return
        self._visited = set()
        self._branches_left, self.effects.checks_left = _BRANCHES_TO_CHOOSE, _CHECKS_TO_CHOOSE
        try:
            smallest = self._largest_error(self.best), sum(self.best), self.best
            for bought in self._purchases((), len(self.best), self._needed):
                smallest = min(smallest, (self._largest_error(bought), sum(bought), bought))
                self.best = smallest[-1]
        except OutOfEffortError:
            pass

    def _largest_error(self, bought: Purchase) -> float:
        setups = (self.effects.setup_with(thread, bought) for thread in self._threads)
        return max((abs(setup.error_ppm or 0.0) for setup in setups if setup is not None), default=0.0)


def _shortest(bought: Purchase) -> tuple[int, Purchase]:
    return len(bought), bought
