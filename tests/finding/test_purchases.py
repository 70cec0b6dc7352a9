"""Purchases for one thread: against every train written out, exactly, π included."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations_with_replacement
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import PiMultiple
from gearcalc.finding.purchases import Shelf, Window, minimal_purchases, more_than, parts_of
from tests.how_much import examples, in_one

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


class TestShelf:
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


class TestPartsOf:
    @given(st.lists(st.integers(1, 5), max_size=5).map(sorted).map(tuple))
    def test_every_smaller_purchase_once(self, bought):
        parts = list(parts_of(bought))
        assert len(set(parts)) == len(parts)
        every = {tuple(sorted(part)) for n in range(len(bought)) for part in combinations_with_replacement(bought, n)}
        assert set(parts) == {part for part in every if not Counter(part) - Counter(bought)}

    @given(st.lists(st.integers(1, 5), max_size=5), st.lists(st.integers(1, 5), max_size=5))
    def test_what_is_left_to_buy(self, wanted, there):
        left = Counter(wanted) - Counter(there)
        assert sorted(more_than(tuple(wanted), tuple(there))) == sorted(left.elements())
