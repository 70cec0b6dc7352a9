"""Stand-ins and exact make-up against every train counted out the slow way."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, permutations
from math import prod

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError
from gearcalc.finding.stand_ins import MissingPrime, make_up, stand_ins
from tests.how_much import examples, in_one
from tests.strategies import mesh_counts, small_sets, with_pi

sets = small_sets(st.sampled_from([20, 21, 24, 25, 28, 30, 35, 36, 40, 42, 45, 50, 60, 63]), most=8)
meshes = mesh_counts.map(sorted)
fractions = st.fractions(Fraction(1, 10), 10, max_denominator=130)
targets = with_pi(fractions)
few = examples(30)


def every_train(gears, mesh_counts):
    owned = sorted(gears)
    return {
        (drivers, driven)
        for m in mesh_counts
        for drivers in combinations(owned, m)
        for driven in combinations(owned, m)
        if not Counter(drivers) + Counter(driven) - Counter(owned)
        # equal gears on both sides only where the train without some of them has meshes that nobody asked for
        and not any(m - pairs in mesh_counts for pairs in range(1, (Counter(drivers) & Counter(driven)).total() + 1))
    }


def mildest_steepest(drivers, driven):
    """Over every way to pair drivers with driven: the steepest mesh of the mildest way."""
    return min(
        max(max(Fraction(a, b), Fraction(b, a)) for a, b in zip(drivers, order, strict=True))
        for order in permutations(driven)
    )


def in_the_promised_order(trains, x):
    return sorted(
        trains,
        key=lambda train: (
            RelativeError(Fraction(prod(train[0]), prod(train[1])), x),
            len(train[0]),
            mildest_steepest(*train),
            train,
        ),
    )


class TestStandIns:
    @given(targets, sets, meshes, st.integers(1, 200))
    @few
    def test_are_the_best_of_every_train_in_the_promised_order(self, x, gears, mesh_counts, count):
        expected = in_the_promised_order(every_train(gears, mesh_counts), x)[:count]
        found = stand_ins(x, gears, meshes=mesh_counts, count=count)
        assert expected == [(near.drivers, near.driven) for near in found]

    @given(targets, st.integers(6, 30), st.integers(1, 7))
    @few
    def test_a_range_holds_each_gear_once(self, x, first, many):
        counts = range(first, first + many)
        assert stand_ins(x, list(counts), count=1000) == stand_ins(x, counts, count=1000)
        assert all(max(Counter(near.train.gears).values()) == 1 for near in stand_ins(x, counts, count=1000))

    @given(targets, sets)
    @few
    def test_what_each_says_of_itself(self, x, gears):
        for near in stand_ins(x, gears, count=10):
            assert Fraction(prod(near.drivers), prod(near.driven)) == near.ratio == near.train.ratio
            assert RelativeError(near.ratio, x) == near.error
            wanted_um_a_mm = 1000  # a millimetre of thread wanted, as µm; what is cut differs by the error
            assert near.off_um(25) == pytest.approx(25 * wanted_um_a_mm * near.error_ppm / 1e6)
            assert near.off_um(100) == pytest.approx(4 * near.off_um(25))
            assert near.train.steepest == mildest_steepest(near.drivers, near.driven)

    def test_the_usual_question(self):
        # No 127: 80/63 is the best pair to 100 teeth; too small a ratio, so the thread comes out too short.
        best = stand_ins("127/100", range(20, 101), meshes=1, count=1)[0]
        assert (best.drivers, best.driven) == ((80,), (63,))
        assert Fraction(-1, 8001) == best.error.exact
        assert pytest.approx(best.off_um(25)) == -25_000 / 8001
        assert "−125 ppm" in str(best)

    def test_exact_ones_come_first_with_nothing_to_pay(self):
        owned = [20, 40, 50, 60, 63, 80, 100, 127]
        found = stand_ins("127/100", owned)
        exact = [near for near in found if near.is_exact]
        assert found[: len(exact)] == exact
        assert (exact[0].drivers, exact[0].driven) == ((127,), (100,))
        assert {(near.error_ppm, near.off_um(25), near.off_um(1000)) for near in exact} == {(0.0, 0.0, 0.0)}

    def test_pi_in_two_pairs_is_355_over_113(self):
        # 355/113 is a convergent of π (A002485 of the OEIS), 355 = 5 · 71 and 113 is a prime.
        found = stand_ins(sympy.pi, range(20, 128), count=3)
        assert {near.ratio for near in found} == {Fraction(355, 113)}
        assert all(113 in near.driven for near in found)

    def test_no_gears_no_trains(self):
        assert stand_ins("127/100", []) == stand_ins("127/100", [20]) == stand_ins("127/100", [40, 40], meshes=2) == []
        assert stand_ins("127/100", [20, 30, 40], meshes=2) == []

    def test_shows_itself_three_ways(self):
        near = stand_ins("127/100", range(20, 101), meshes=1, count=1)[0]
        assert "80/63" in near._repr_html_()
        assert r"\frac{80}{63}" in near._repr_latex_()

    @in_one("bad", [0, -1, "", "127:100", None, 10**7, Fraction(1, 10**7), float("nan"), sympy.E])
    def test_refuses_what_is_no_ratio(self, bad):
        with pytest.raises(ValueOutOfRangeError):
            stand_ins(bad, range(20, 100))

    @in_one("bad", [None, 127, "20, 30", [20, 5], [20, 30.5], [20, None], [20, 1001], range(1200)])
    def test_refuses_what_are_no_gears(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="gear"):
            stand_ins("127/100", bad)

    @in_one("bad", [0, -1, 7, 1.5, None, True, "12", (), (1, 9), [None]])
    def test_refuses_what_is_no_number_of_meshes(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="meshes"):
            stand_ins("127/100", [20, 30], meshes=bad)

    @in_one("bad", [0, -1, 10_001, 1.5, None, True, "3"])
    def test_refuses_what_is_no_count(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="count"):
            stand_ins("127/100", [20, 30], count=bad)

    def test_refuses_more_than_can_be_searched(self):
        with pytest.raises(NotPossibleError, match="too many ways"):
            stand_ins("127/100", range(20, 300), meshes=4)

    def test_an_endless_list_of_gears_is_refused(self):
        with pytest.raises(ValueOutOfRangeError, match="1000 gears"):
            stand_ins("127/100", (40 for _ in iter(int, 1)))

    @pytest.mark.parametrize("bad", [-1, float("nan")])
    def test_refuses_a_length_below_zero(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="length"):
            stand_ins("127/100", [20, 30])[0].off_um(bad)

    @given(
        st.one_of(st.text(max_size=12), st.floats(), st.fractions(), st.none()),
        st.one_of(st.text(max_size=5), st.lists(st.one_of(st.integers(-5, 200), st.floats(), st.none()), max_size=4)),
        st.one_of(st.integers(-2, 9), st.lists(st.integers(-1, 8), max_size=3), st.text(max_size=2)),
    )
    @examples(50)
    def test_anything_gets_an_answer_or_one_of_our_errors(self, x, gears, mesh_counts):
        try:
            found = stand_ins(x, gears, meshes=mesh_counts)
        except GearcalcError:
            return
        assert all(set(near.train.gears) <= set(gears) for near in found)


class TestMakeUp:
    @given(fractions, sets, meshes)
    @few
    def test_finds_every_exact_train_there_is(self, x, gears, mesh_counts):
        exact = {train for train in every_train(gears, mesh_counts) if Fraction(prod(train[0]), prod(train[1])) == x}
        found = make_up(x, gears, meshes=mesh_counts, count=1000)
        assert exact == {(train.drivers, train.driven) for train in found.trains}
        assert found.can == bool(exact)

    @given(fractions, sets)
    @few
    def test_a_missing_prime_means_that_no_train_makes_it(self, x, gears):
        found = make_up(x, gears, meshes=(1, 2, 3))
        if found.missing:
            assert not any(
                Fraction(prod(drivers), prod(driven)) == x for drivers, driven in every_train(gears, (1, 2, 3, 4))
            )
        assert all(str(missing.prime) in found.why for missing in found.missing)

    def test_127_can_not_be_dodged(self):
        every_other = list(range(20, 121))
        found = make_up("50/127", every_other, meshes=(1, 2))
        assert (MissingPrime(127, "driven", 1, 0),) == found.missing
        assert "127 is a prime" in found.why
        assert "one of the driven must be a multiple of 127 (127, 254 …)" in found.why
        assert make_up("50/127", [50, 127]).can
        assert make_up("50/127", [40, 50, 80, 254]).can

    def test_1_27_mm_is_20_to_the_inch(self):
        # The counterexample: the 127 cancels, and no gear needs to hold it. 8 tpi leadscrew: ratio 8/20.
        ratio = Fraction(127, 100) / Fraction(127, 40)
        found = make_up(ratio, [20, 40, 50, 60])
        assert (found.trains[0].drivers, found.trains[0].driven) == ((20,), (50,))

    def test_a_prime_that_is_there_but_too_seldom(self):
        found = make_up(Fraction(1, 127**2), [20, 30, 127])
        assert MissingPrime(127, "driven", 2, 1) in found.missing
        assert "only once" in found.why

    def test_pi_is_never_made_exactly(self):
        found = make_up(sympy.pi, range(20, 60))
        assert not found.can
        assert "no fraction" in found.why

    def test_primes_there_but_no_train(self):
        found = make_up("8/27", [20, 30, 45])
        assert (found.trains, found.missing) == ((), ())
        assert "no train of 1, 2 or 3 meshes" in found.why

    def test_words_are_safe_in_html(self):
        assert "<sup>50</sup>" in make_up("50/127", [20])._repr_html_()

    def test_refuses_a_ratio_that_can_not_be_factored(self):
        with pytest.raises(ValueOutOfRangeError, match="10\\^12"):
            make_up(Fraction(10**13 + 1, 10**13), [20, 30])
