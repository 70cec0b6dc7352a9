"""The search for the fewest gears, on threads of which is only stated what opens and what serves them.

Nothing is reckoned of gears here: which purchases make a thread's ratio and which of those go on are made up, a few
at random, and every purchase there is is tried beside it.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import combinations_with_replacement
from math import inf
from types import SimpleNamespace
from typing import Any

import pytest

from gearcalc.finding import least_purchase
from gearcalc.finding.least_purchase import PurchaseSearch
from gearcalc.finding.purchases import Family, OutOfEffortError, Purchase, PurchaseEffects
from gearcalc.lathes import GearSet
from gearcalc.lathes.sizes import GearTable
from tests.how_much import THOROUGH, in_one

GEARS = (20, 30, 40, 50)
ONE_SIZE = GearSet([60])
TWO_SIZES = GearSet([60], module_mm=1.25, more=[GearTable([30], module_mm=1)])
SEEDS = range(2000 if THOROUGH else 150)


def holds(bought: Purchase, part: Purchase) -> bool:
    return not Counter(part) - Counter(bought)


def every(most: int) -> Iterator[Purchase]:
    return (bought for size in range(most + 1) for bought in combinations_with_replacement(GEARS, size))


class Stated(PurchaseEffects):
    """A thread is a pair: the purchases that make its ratio, and those, of these or larger, that serve it.

    `most_bought`: how many gears a train can want; `off_by`: how far off a thread is with a purchase, in ppm.
    """

    def __init__(
        self,
        *threads: tuple[Iterable[Purchase], Iterable[Purchase]],
        candidates: Iterable[int] = GEARS,
        most_bought: int = 4,
        owned: GearSet = ONE_SIZE,
        bracket: bool = False,
        off_by: Any = lambda thread, bought: 0.0,
    ) -> None:
        opening, self.serving = zip(*threads, strict=True)
        self.shown = lambda steps, doing: steps
        self.shelf: Any = SimpleNamespace(
            candidates=tuple(candidates),
            owned=owned,
            meshes=(1, 2),
            most_bought=most_bought,
            trains=lambda window, size: (bought for bought in window if len(bought) == size),
        )
        self.families = [Family() for _ in threads]
        self.unsure, self.bracket, self.off_by = False, bracket, off_by
        self.checks_left = inf
        self._windows: Any = [[tuple(each)] for each in opening]
        self._opened_by, self._opening_parts, self._setups, self._grown = {}, {}, {}, -1

    def setup_with(self, thread: int, bought: Purchase) -> Any:
        if (thread, bought) not in self._setups:
            self.checks_left -= 1
            if self.checks_left < 0:
                raise OutOfEffortError
            good = any(holds(bought, part) for part in self.serving[thread])
            self._setups[thread, bought] = SimpleNamespace(error_ppm=self.off_by(thread, bought)) if good else None
        return self._setups[thread, bought]


def some_threads(seed: int) -> tuple[list[tuple[list[Purchase], list[Purchase]]], int]:
    """One to four threads, most of whose ratios some purchase makes that goes on at once or with a gear more."""
    draw = random.Random(seed)
    threads = []
    for _ in range(draw.randint(1, 4)):
        opening = [each for each in every(3) if draw.random() < draw.choice([0.05, 0.15])]
        serving = [
            tuple(sorted((*each, *draw.choices(GEARS, k=draw.choice([0, 0, 1, 1, 2])))))
            for each in opening
            if draw.random() < 0.7
        ]
        threads.append((opening, serving))
    return threads, draw.randint(0, 4)


def off_by(thread: int, bought: Purchase) -> float:
    return float((sum(bought) * 7 + len(bought) + thread * 13) % 11 - 5)


class TestAgainstEveryPurchase:
    @in_one("seed", SEEDS)
    def test_the_least_the_best_of_the_least_and_what_is_left_out(self, seed):
        threads, most = some_threads(seed)
        for bracket, owned in [(False, ONE_SIZE), (True, TWO_SIZES)]:
            effects = Stated(*threads, bracket=bracket, owned=owned, off_by=off_by)
            search = PurchaseSearch(effects, most, effects.shown)
            search.run()
            size = " (module 1.25)" if owned is TWO_SIZES else ""
            assert search.left_out == dict(self.left_out(threads, most, bracket, size))
            asked = [number for number in range(len(threads)) if number not in search.left_out]
            serve = [bought for bought in every(most) if self.serves(threads, bought, asked)]
            if not serve:
                assert search.lower_bound == most + 1
                assert not search.proven
                continue
            least = len(serve[0])
            assert search.proven
            assert search.lower_bound == least
            as_few = [bought for bought in serve if len(bought) == least]
            worst = {each: max((abs(off_by(n, each)) for n in asked), default=0.0) for each in as_few}
            assert search.best == min(as_few, key=lambda each: (worst[each], sum(each), each))

    @staticmethod
    def serves(threads: Any, bought: Purchase, asked: Iterable[int]) -> bool:
        return all(any(holds(bought, part) for part in threads[number][1]) for number in asked)

    def left_out(self, threads, most, bracket, size) -> Iterator[tuple[int, str]]:
        added = f", whatever gears{size} are added" if size else ""
        gears = {0: "0 gears", 1: "1 gear"}.get(most, f"{most} gears")
        for number, (opening, serving) in enumerate(threads):
            if not opening:
                yield number, f"no train of 1 or 2 meshes that may be put together comes near enough{added}"
            elif not any(len(part) <= most for part in serving):
                on = "goes on the bracket" if bracket else "cuts that hand"
                near = f"no train of 1 or 2 meshes that is near enough {on}, even with {gears}{size} added"
                yield number, near if () in opening else f"with 1 or 2 meshes it takes more than {gears}{size}"

    def test_there_is_something_of_everything(self):
        """Of these, so that the checks above are asked of all that can come out."""
        seen: Counter[Any] = Counter()
        for seed in range(150):
            threads, most = some_threads(seed)
            asked = [n for n, (_, serving) in enumerate(threads) if any(len(part) <= most for part in serving)]
            seen[next((len(each) for each in every(most) if self.serves(threads, each, asked)), "none")] += 1
        assert set(seen) == {0, 1, 2, 3, 4, "none"}


def one_each(number: int) -> list[tuple[list[Purchase], list[Purchase]]]:
    """So many threads, each served by a gear of its own and by nothing else."""
    return [([(20 + n,)], [(20 + n,)]) for n in range(number)]


def covering(*gears: Iterable[int]) -> list[tuple[list[Purchase], list[Purchase]]]:
    """Gears 20, 21 ..., each with the numbers of the threads that it serves."""
    sets = [set(each) for each in gears]
    by_thread = [[(20 + place,) for place, each in enumerate(sets) if n in each] for n in range(len(set.union(*sets)))]
    return [(each, each) for each in by_thread]


FIRST_FOUND = {"PROVED_FULLY": 0, "MOST_BRANCHES": 0, "BRANCHES_TO_CHOOSE": 0}
"""Nothing is looked for but a purchase that is good and soon found."""


class TestLittleEffort:
    """Where less may be looked at, less is proved, and it is said of nothing that it is proved which is not."""

    @staticmethod
    def searched(
        threads: Any, most: int = 8, candidates: Iterable[int] = range(20, 32), unsure: bool = False, **limits: int
    ) -> PurchaseSearch:
        with pytest.MonkeyPatch.context() as patch:
            for name, limit in limits.items():
                patch.setattr(least_purchase, f"_{name}", limit)
            effects = Stated(*threads, candidates=candidates)
            effects.unsure = unsure
            search = PurchaseSearch(effects, most, effects.shown)
            search.run()
            return search

    @in_one("number", range(7))
    def test_up_to_three_gears_whatever_it_takes(self, number):
        search = self.searched(one_each(number), MOST_BRANCHES=0) if number else self.searched([([()], [()])])
        assert search.best == tuple(range(20, 20 + number))
        assert search.lower_bound == min(number, 4)
        assert search.proven is (number <= 4)  # of four it is known before it is looked for that three do not do

    @in_one("unsure", [False, True])
    def test_nothing_is_proved_where_a_question_of_fit_was_given_up(self, unsure):
        search = self.searched(one_each(2), unsure=unsure)
        assert (search.best, search.lower_bound, search.proven) == ((20, 21), 2, not unsure)

    def test_a_thread_that_takes_too_long_is_left_out_and_said_so(self):
        search = self.searched(one_each(2), CHECKS_ALONE=0)
        why = "no train was found that goes on the bracket, and the search looked no farther"
        assert search.left_out == {0: why, 1: why}
        assert search.effects.unsure
        assert not search.proven

    @in_one("number", [1, 2, 3])
    def test_what_a_thread_takes_alone_is_proved_of_all(self, number):
        takes = tuple(range(20, 20 + number))
        search = self.searched([*one_each(3), ([takes], [takes])], MOST_CHECKS=0)
        assert (search.lower_bound, search.proven) == (number, False)

    def test_another_start_may_do_with_fewer(self):
        """The gear that serves most is in no purchase of two: it needs two more, and none can be given back."""
        gears = [range(7), range(7, 14), [*range(4), *range(7, 11)], [4, 5, 11, 12], [6, 13]]
        assert self.searched(covering(*gears), **FIRST_FOUND).best == (20, 21)
        assert self.searched(covering(*gears), OTHER_STARTS=0, **FIRST_FOUND).best == (22, 23, 24)
        assert self.searched(covering(*gears), most=2).best == (20, 21)

    def test_gears_that_others_made_needless_are_given_back(self):
        """Four threads by one gear, then two and two more by others that serve the first four too."""
        gears = [[0, 1, 2, 3], [0, 1, 4, 5], [2, 3, 6, 7]]
        search = self.searched(covering(*gears), OTHER_STARTS=0, **FIRST_FOUND)
        assert search.best == (21, 22)

    def test_what_serves_most_for_each_gear_is_bought_first(self):
        """One gear serves three of four threads and one the fourth; two together serve all, two each."""
        alone = [(20,), (20,), (20,), (21,)]
        threads = [([each, (30, 31)], [each, (30, 31)]) for each in alone]
        assert self.searched(threads, OTHER_STARTS=0, **FIRST_FOUND).best == (20, 21)

    def test_two_gears_that_serve_more_together_are_seen_from_the_start(self):
        alone = [(20 + n,) for n in range(6)]
        threads = [([each, (30, 31)], [each, (30, 31)]) for each in alone]
        search = self.searched(threads, OTHER_STARTS=0, **FIRST_FOUND)
        assert search.best == (30, 31)

    def test_a_larger_purchase_of_one_may_be_the_smallest_for_all(self):
        first, second = [(20, 21), (24, 25, 26)], [(22, 23), (24, 25)]
        search = self.searched([(first, first), (second, second)])
        assert (search.best, search.proven) == ((24, 25, 26), True)

    @in_one("seed", range(0, 150, 12))
    @in_one("limit", ["MOST_CHECKS", "CHECKS_ALONE", "CHECKS_TO_CHOOSE", "BRANCHES_TO_CHOOSE", "MOST_BRANCHES"])
    @in_one("effort", [0, 1, 4, 20])
    def test_what_is_said_holds_however_little_was_done(self, seed, limit, effort):
        threads, most = some_threads(seed)
        search = self.searched(threads, most, GEARS, PROVED_FULLY=0, **{limit: effort})
        asked = [n for n in range(len(threads)) if n not in search.left_out]
        fewest = next((len(each) for each in every(most) if TestAgainstEveryPurchase.serves(threads, each, asked)), inf)
        assert search.lower_bound <= fewest
        assert not search.proven or len(search.best) == fewest
        assert len(search.best) <= most
