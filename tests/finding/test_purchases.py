"""Purchases for one thread: against every train written out, exactly, π included."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import combinations, combinations_with_replacement, product
from math import inf, prod
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import PiMultiple
from gearcalc.finding import purchases
from gearcalc.finding.products import closest
from gearcalc.finding.purchases import (
    Family,
    OutOfEffortError,
    PurchaseEffects,
    Shelf,
    Window,
    minimal_purchases,
    more_than,
    parts_of,
)
from gearcalc.finding.rankings import NothingGoesOnError, Query, ranked
from gearcalc.finding.tables import tables_of
from gearcalc.fits.geometry import layout_if_any
from gearcalc.lathes import GearSet, Lathe
from gearcalc.lathes.frames import frames
from gearcalc.lathes.sizes import Fixed
from gearcalc.threads.wanted import as_wanted
from tests.benches import a_lathe
from tests.how_much import examples, in_one

INCH = gc.demo_lathe("inch")
LEVERS = "gearbox = [{ lever = 'a', ratio = '1' }, { lever = 'b', ratio = '1/2' }]"
gears = st.lists(st.integers(10, 30), max_size=4)


def minimal_by_hand(owned, candidates, window, meshes):
    """Every train from owned gears and candidates, equal gears on both sides too, what each wants bought, and of these
    the ones that hold no other."""
    usable = sorted({*owned, *candidates})
    found = set()
    for m in meshes:
        for drivers in combinations_with_replacement(usable, m):
            for driven in combinations_with_replacement(usable, m):
                ratio = Fraction(prod(drivers), prod(driven))
                if not (ratio < window.low or ratio > window.high):
                    bought = Counter(drivers + driven) - Counter(owned)
                    if set(bought) <= set(candidates):
                        found.add(tuple(sorted(bought.elements())))
    return {each for each in found if not any(other != each and not Counter(other) - Counter(each) for other in found)}


def minimal_as_listed(owned, candidates, window, meshes):
    shelf = Shelf(owned, candidates, meshes)
    found: set[tuple[int, ...]] = set()
    for size in range(shelf.most_bought + 1):
        found |= minimal_purchases(shelf, [window], size, set(found))
    return found


class TestMinimalPurchases:
    @examples(120)
    @given(
        gears,
        st.sets(st.integers(10, 30), min_size=1, max_size=5),
        st.fractions("1/3", 3, max_denominator=20) | st.just(Fraction(1)),
        st.sampled_from([Fraction(0), Fraction(1, 1000), Fraction(1, 50)]),
        st.sampled_from([(1,), (2,), (1, 2)]),
    )
    def test_one_or_two_meshes(self, owned, candidates, target, within, meshes):
        window = Window.around(target, within)
        by_hand = minimal_by_hand(owned, candidates, window, meshes)
        assert minimal_as_listed(owned, candidates, window, meshes) == by_hand

    @examples(25)
    @given(gears, st.sets(st.integers(10, 40), min_size=1, max_size=4), st.fractions("1/4", 1, max_denominator=9))
    def test_with_pi(self, owned, candidates, share):
        window = Window.around(PiMultiple(share), Fraction(1, 100))
        assert minimal_as_listed(owned, candidates, window, (1, 2)) == minimal_by_hand(
            owned, candidates, window, (1, 2)
        )

    @in_one("meshes", [(3,), (1, 3), (2, 3), (1, 2, 3)])
    @in_one("target", ["7/9", "1", "2/3"])
    def test_three_meshes(self, meshes, target):
        owned, candidates, window = [20, 24, 30, 30], [27, 35, 50], Window.around(Fraction(target), Fraction(1, 500))
        by_hand = minimal_by_hand(owned, candidates, window, meshes)
        assert minimal_as_listed(owned, candidates, window, meshes) == by_hand

    @in_one("owned", [(), (30,), (20, 30, 30), (20, 24, 40)])
    @in_one("meshes", [(1,), (2,), (1, 2), (3,)])
    def test_each_train_is_listed_once_and_none_that_a_shorter_one_makes_up_for(self, owned, meshes):
        """Equal gears on both sides only where what is left without them has meshes that nobody asked for, or none."""
        candidates, sizes = [30, 36], sorted({*owned, 30, 36})
        for window in (Window.around(Fraction(1), Fraction(0)), Window.around(Fraction(5, 6), Fraction(1, 100))):
            every: Counter[tuple[int, ...]] = Counter()
            for m in meshes:
                for drivers, driven in product(combinations_with_replacement(sizes, m), repeat=2):
                    shorter = [m - out for out in range(1, (Counter(drivers) & Counter(driven)).total() + 1)]
                    bought = Counter(drivers + driven) - Counter(owned)
                    if window.holds(prod(drivers), prod(driven)) and not set(shorter) & set(meshes):
                        every[tuple(sorted(bought.elements()))] += set(bought) <= set(candidates)
            shelf = Shelf(owned, candidates, meshes)
            listed = Counter(each for n in range(shelf.most_bought + 1) for each in shelf.trains(window, n))
            assert listed == +every

    def test_two_equal_gears_are_bought_or_completed_for_one_to_one(self):
        window = Window.around(Fraction(1), Fraction(0))
        assert minimal_as_listed([40], [40, 50], window, (1,)) == {(40,), (50, 50)}
        assert minimal_as_listed([40, 40], [50], window, (1, 2)) == {()}

    def test_the_ends_of_a_window_belong_to_it(self):
        window = Window.around(Fraction(1, 2), Fraction(1, 100))
        assert window.holds(101, 200)
        assert window.holds(99, 200)
        assert not window.holds(10101, 20000)
        shelf = Shelf([200], [99, 100, 101, 102], (1,))
        assert minimal_purchases(shelf, [window], 1, set()) == {(99,), (100,), (101,)}


HAIRS = (Fraction(0), Fraction(1, 10**14), Fraction(-1, 10**14), Fraction(1, 10**30), Fraction(-1, 10**30))
"""Nothing; what a float may lose; less than any float can tell."""


class TestTheEndsOfAWindow:
    """A window that ends on what a train makes, or a hair beside it, whichever side is bought and whatever is fixed."""

    SIZES = range(97, 104)

    @in_one(
        ("owned", "meshes", "driving"),
        [
            ([200], (1,), True),
            ([50], (1,), False),
            ([200, 40, 40], (2,), True),
            ([50, 40, 40], (2,), False),
            (GearSet([200], fixed=Fixed(last_driven=200)), (1,), True),
            (GearSet([50], fixed=Fixed(first_driver=50)), (1,), False),
            (GearSet([50, 60], fixed=Fixed(first_driver=50)), (1, 2), False),
        ],
    )
    def test_what_lies_in_it_and_nothing_else(self, owned, meshes, driving):
        ratios = {(teeth,): Fraction(teeth, 200) if driving else Fraction(50, teeth) for teeth in self.SIZES}
        for edge in ratios.values():
            for off in HAIRS:
                within = abs(abs(edge / Fraction(1, 2) - 1) + off)
                near = {bought for bought, ratio in ratios.items() if abs(ratio / Fraction(1, 2) - 1) <= within}
                window = Window.around(Fraction(1, 2), within)
                assert minimal_purchases(Shelf(owned, self.SIZES, meshes), [window], 1, set()) == near

    @in_one(("low", "high"), [(Fraction(1, 3), Fraction(1, 2)), (Fraction(2), Fraction(3))])
    def test_by_what_it_says(self, low, high):
        window = Window(low, high)
        for over, under in product(range(1, 13), repeat=2):
            assert window.holds(over, under) is (low <= Fraction(over, under) <= high)
        around = Window.around(Fraction(5, 2), Fraction(1, 5))
        assert around == (2, 3)


class TestShelf:
    def test_the_most_that_one_train_can_want_is_all_of_it(self):
        assert [Shelf([40], [50], meshes).most_bought for meshes in [(1,), (2,), (1, 3)]] == [2, 4, 6]

    def test_what_is_owned_is_not_bought(self):
        shelf = Shelf([40, 40, 60], [40, 50], (2,))
        assert [side.bought for side in shelf.sides(2, 0)[0]] == [(), ()]
        assert {side.bought for side in shelf.sides(2, 1)[0]} == {(50,)}
        assert {side.bought for side in shelf.sides(2, 2)[0]} == {(50, 50)}

    def test_a_second_one_of_a_size_is_bought_where_one_is_there(self):
        shelf = Shelf([40], [40], (2,))
        assert [side.bought for side in shelf.sides(2, 1)[0]] == [(40,)]

    def test_more_than_can_be_listed(self):
        with pytest.raises(NotPossibleError, match="too many ways"):
            Shelf(range(20, 128), range(20, 220), (3,)).sides(3, 3)

    @in_one(
        ("owned", "candidates", "bought", "sides"),
        [(6, 0, 0, 15), (4, 2, 1, 4 * 3), (4, 3, 1, 4 * 4), (0, 5, 2, 21), (5, 2, 2, 6)],
    )
    def test_as_many_sides_as_may_be_and_one_more(self, owned, candidates, bought, sides):
        """Of two gears: 6 owned make 15 pairs. What is bought is counted as if there were one candidate more."""
        for limit in (sides, sides - 1):
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(purchases, "_MOST_SIDES", limit)
                shelf = Shelf(range(50, 50 + owned), range(20, 20 + candidates), (2,))
                if limit == sides:
                    assert shelf.sides(2, bought)[0]
                    continue
                with pytest.raises(NotPossibleError) as caught:
                    shelf.sides(2, bought)
                assert str(caught.value) == (
                    f"{owned} gears and {candidates} that could be added can be chosen in too many ways. Give fewer "
                    "candidates, or fewer meshes."
                )

    @in_one(("meshes", "bought"), [(1, 0), (1, 1), (2, 0), (2, 1), (2, 2), (1, 2), (3, 2)])
    def test_sides_against_those_written_out(self, meshes, bought):
        owned, candidates = [20, 30, 30, 40], [30, 40, 50]
        shelf = Shelf(owned, candidates, (meshes,))
        expected = set()
        for own in set(combinations(owned, meshes - bought)) if bought <= meshes else ():
            for new in combinations_with_replacement(candidates, bought):
                if all(own.count(teeth) == owned.count(teeth) for teeth in new):
                    expected.add((prod(own + new), new, frozenset(own + new)))
        listed, products = shelf.sides(meshes, bought)
        place = {teeth: 1 << at for at, teeth in enumerate(sorted({*owned, *candidates}))}
        assert {(side.product, side.bought) for side in listed} == {each[:2] for each in expected}
        assert {side.counts for side in listed} == {sum(place[teeth] for teeth in each[2]) for each in expected}
        assert products == sorted(products) == [side.product for side in listed]
        assert len(listed) == len(expected)


class TestOddGears:
    """Fixed ends, clusters, several sizes: against each purchase put into the set, and every train that then stands."""

    SETS = (
        GearSet([20, 30, 40, 60], fixed=Fixed(first_driver=30)),
        GearSet([20, 30, 40], fixed=Fixed(last_driven=40)),
        GearSet([20, 30, 45], clusters=[(40, 60)]),
        GearSet([20, 30, 30, 50], fixed=Fixed(first_driver=20, last_driven=50)),
    )

    @in_one("owned", SETS)
    @in_one("meshes", [(1,), (2,), (1, 2)])
    @in_one("target", ["2/3", "1/2", "3/4", "1", "9/8", "3/2"])
    @in_one("within", [Fraction(0), Fraction(1, 50)])
    def test_minimal_purchases(self, owned, meshes, target, within):
        candidates, wanted = (25, 30, 40), Fraction(target)
        self.compare(owned, candidates, meshes, wanted, within, most=2)

    @in_one("owned", [GearSet([30], fixed=Fixed(first_driver=30)), GearSet([30], fixed=Fixed(last_driven=30))])
    @in_one("candidates", [(25,), (25, 40)])
    @in_one("target", ["5/6", "6/5", "16/15", "15/16", "24/25"])
    def test_where_all_but_the_fixed_gear_is_bought(self, owned, candidates, target):
        self.compare(owned, candidates, (1, 2), Fraction(target), Fraction(0), most=4)
        self.compare(owned, candidates, (2,), Fraction(target), Fraction(0), most=4)

    @in_one(("bought", "sides"), [(0, 6), (1, 4 * 3), (2, 6)])
    def test_as_many_sides_as_may_be_and_one_more(self, bought, sides):
        """Of four gears two driven make 6 pairs; what is bought is counted as if there were one candidate more."""
        owned, window = GearSet([30, 40, 45, 60], fixed=Fixed(first_driver=30)), Window(Fraction(1), Fraction(1))
        for limit in (sides, sides - 1):
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(purchases, "_MOST_SIDES", limit)
                (half,) = {frame.below for frame in frames(owned, 2)}
                shelf = Shelf(owned, [20, 25], (2,))
                if limit == sides:
                    assert shelf._of_frame(half, bought)
                    continue
                with pytest.raises(NotPossibleError, match=r"^4 gears and 2 that could be added can be chosen in too"):
                    shelf._of_frame(half, bought)
        assert list(Shelf(owned, [20, 25], (2,)).trains(window, bought)) is not None

    def compare(self, owned, candidates, meshes, wanted, within, most) -> None:
        found: set[tuple[int, ...]] = set()
        smaller: set[tuple[int, ...]] = set()
        shelf = Shelf(owned, candidates, meshes)
        for size in range(most + 1):
            for bought in combinations_with_replacement(candidates, size):
                tables = [table for m in meshes for table in tables_of(owned.with_gears(add=bought), m)]
                makes = next(closest([wanted], tables, within=within), None) is not None
                if makes and not any(not Counter(other) - Counter(bought) for other in found):
                    found.add(bought)
            smaller |= minimal_purchases(shelf, [Window.around(wanted, within)], size, set(smaller))
        assert smaller == found


class TestPurchaseEffects:
    """What buying does for each of several threads, against a search of the lathe with these gears bought."""

    LATHE = a_lathe(20, 30, 60, leadscrew="3 mm", more=LEVERS)
    WANTED = tuple(as_wanted(text) for text in ("1.5 mm", "1.25 mm", "3.1 mm", "0.1 mm", "2 mm LH"))
    CANDIDATES = (25, 40, 50)
    WITHIN = Fraction(1, 1000)

    def effects(self, lathe: Lathe = LATHE, meshes=(1,), **changes: Any) -> PurchaseEffects:
        how = {"must_fit": True, "shown": lambda steps, doing: steps} | changes
        return PurchaseEffects(lathe, self.WANTED, self.WITHIN, self.CANDIDATES, meshes, **how)

    @classmethod
    @cache
    def best(cls, thread: int, bought: tuple[int, ...], meshes=(1,), within_ppm: int | None = None):
        query = Query(cls.LATHE.with_gears(add=bought), cls.WANTED[thread], meshes)
        return next(ranked(evolve(query, within=None if within_ppm is None else Fraction(within_ppm, 10**6))), None)

    def every(self, most: int):
        return [each for size in range(most + 1) for each in combinations_with_replacement(self.CANDIDATES, size)]

    @in_one("meshes", [(1,), (1, 2)])
    def test_the_setup_and_whether_it_serves(self, meshes):
        effects = self.effects(meshes=meshes)
        effects.grow_to(1)
        served = set()
        for thread, bought in product(range(5), self.every(2)):
            expected = self.best(thread, bought, meshes, within_ppm=1000)
            found = effects.setup_with(thread, bought)
            assert (found is None) is (expected is None)
            assert found is None or (found.train, found.lever) == (expected.train, expected.lever)
            assert effects.serves(thread, bought) is (found is not None)
            served.add((thread, found is not None))
        assert {(0, True), (1, True), (1, False), (3, False)} <= served

    def test_the_nearest_today(self):
        effects = self.effects()
        for thread in range(5):
            found, expected = effects.nearest_today(thread), self.best(thread, ())
            assert (found.train, found.lever) == (expected.train, expected.lever)

    @in_one("meshes", [(1,), (1, 2)])
    def test_what_is_listed_and_what_it_opens(self, meshes):
        effects, grown = self.effects(meshes=meshes), 0
        for most in (0, 1, 1, 2, 0, 3):
            effects.grow_to(most)
            grown = min(max(grown, most), 2 * max(meshes))
            for thread in range(5):
                makes = [each for each in self.every(grown) if self.best(thread, each, meshes, within_ppm=1000)]
                least = {each for each in makes if not any(part in makes for part in parts_of(each))}
                assert effects.families[thread].purchases == least
                for bought in self.every(4):
                    opens = any(not Counter(part) - Counter(bought) for part in least)
                    assert bool(effects.opened(bought) >> thread & 1) is opens
                    assert effects.opened(bought) >> 5 == 0

    def test_whether_a_thread_is_ever_made(self):
        """3.1 mm takes a 31, or 62 ..., which is no candidate; where there are no gears 1.5 mm takes two."""
        assert [self.effects().ever_made(thread) for thread in range(5)] == [True, True, False, False, True]
        for grown in range(3):
            effects = self.effects(evolve(self.LATHE, gear_set=GearSet([])), (1,))
            effects.grow_to(grown)
            assert [effects.ever_made(thread) for thread in range(5)] == [True, False, False, False, False]

    @in_one("checks", [0, 1, 3])
    def test_no_more_questions_than_may_be_asked(self, checks):
        effects = self.effects()
        effects.checks_left = checks
        asked = list(product(range(5), self.every(1)))
        for thread, bought in asked[:checks]:
            effects.setup_with(thread, bought)
            effects.setup_with(thread, bought)  # what is known is not asked again
        with pytest.raises(OutOfEffortError):
            effects.setup_with(*asked[checks])

    def test_a_question_of_fit_that_was_given_up_is_a_no_and_said_to_be_unsure(self, monkeypatch):
        def gives_up(query):
            raise NothingGoesOnError("so many trains do not go on")

        effects = self.effects()
        assert effects.setup_with(0, ()) is not None
        assert effects.unsure is False
        monkeypatch.setattr(purchases, "nearest", gives_up)
        assert effects.nearest_today(0) is None
        assert effects.unsure is False
        assert effects.setup_with(0, (25,)) is None
        assert effects.unsure is True

    @in_one(("lathe", "must_fit", "looked_at"), [(LATHE, True, False), (INCH, True, True), (INCH, False, False)])
    def test_whether_a_bracket_is_looked_at(self, lathe, must_fit, looked_at):
        effects = self.effects(lathe, must_fit=must_fit)
        assert effects.bracket is looked_at
        bare = effects.without_bracket()
        assert (bare.bracket, bare.unsure, bare.checks_left) == (False, False, inf)
        fits = [each.nearest_today(0).fit for each in (effects, bare)]
        assert [fit is not None for fit in fits] == [layout_if_any(lathe) is not None, False]


class TestFamily:
    @examples(60)
    @given(
        st.sets(st.lists(st.integers(1, 4), max_size=3).map(sorted).map(tuple), max_size=8),
        st.lists(st.integers(1, 5), max_size=3).map(sorted).map(tuple),
        st.integers(0, 3),
    )
    def test_against_plain_loops(self, listed, there, size):
        family = Family()
        family.add(list(listed)[:2])
        assert family.up_to(size)[0] == {each for each in list(listed)[:2] if len(each) <= size}
        family.add(listed)
        small, gears, least = family.up_to(size)
        assert small == {each for each in listed if len(each) <= size}
        assert gears == {teeth for each in small for teeth in each}
        assert least == min((len(each) for each in small), default=inf)
        rests = {tuple(sorted((Counter(each) - Counter(there)).elements())) for each in listed if {*each} & {*there}}
        assert family.still_to_buy(there, size) == {rest for rest in rests if len(rest) <= size}


class TestPartsOf:
    @given(st.lists(st.integers(1, 5), max_size=5).map(sorted).map(tuple))
    def test_every_smaller_purchase_once(self, bought):
        parts = list(parts_of(bought))
        assert len(set(parts)) == len(parts)
        every = {tuple(sorted(part)) for n in range(len(bought)) for part in combinations_with_replacement(bought, n)}
        assert set(parts) == {part for part in every if not Counter(part) - Counter(bought)}
        assert [len(part) for part in parts] == sorted(len(part) for part in parts)
        for most in range(len(bought) + 2):
            assert list(parts_of(bought, most)) == [part for part in parts if len(part) <= most]

    @given(st.lists(st.integers(1, 5), max_size=5), st.lists(st.integers(1, 5), max_size=5))
    def test_what_is_left_to_buy(self, wanted, there):
        left = Counter(wanted) - Counter(there)
        assert sorted(more_than(tuple(wanted), tuple(there))) == sorted(left.elements())
