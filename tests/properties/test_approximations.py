"""Near fractions against sympy, against Fraction.limit_denominator, and against every fraction counted out."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby, islice, pairwise
from math import floor

import pytest
import sympy
from hypothesis import example, given
from hypothesis import strategies as st
from sympy.ntheory.continued_fraction import (
    continued_fraction_convergents,
    continued_fraction_iterator,
    continued_fraction_periodic,
    continued_fraction_reduce,
)

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, RelativeError, to_sympy
from gearcalc.finding.fractions import (
    best_fractions,
    continued_fraction,
    convergents,
    factor,
    near_fractions,
    stern_brocot,
)
from tests.how_much import examples, in_one
from tests.strategies import with_pi

fractions = st.fractions(Fraction(1, 200), 200, max_denominator=5000)
targets = with_pi(fractions)
few = examples(30)


def nearest_by_counting(x: Exact, largest: int) -> set[Fraction]:
    """Fractions nearer than every other with the same or a smaller denominator, found the slow way."""
    best: set[Fraction] = set()
    record = None
    for denominator in range(1, largest + 1):
        below = Fraction(floor(float(x) * denominator), denominator)  # floor, then settled exactly
        while below > x:
            below -= Fraction(1, denominator)
        while below + Fraction(1, denominator) <= x:
            below += Fraction(1, denominator)
        near = min(below, below + Fraction(1, denominator), key=lambda fraction: RelativeError(fraction, x))
        error = RelativeError(near, x)
        if record is None or error < record:
            record = error
            best.add(near)
    return best


class TestContinuedFraction:
    @given(fractions)
    @few
    def test_of_a_fraction_agrees_with_sympy(self, x):
        assert continued_fraction_periodic(x.numerator, x.denominator) == list(continued_fraction(x, terms=100))

    @given(fractions)
    @few
    def test_there_and_back(self, x):
        terms = continued_fraction(x, terms=100)
        back = continued_fraction_reduce(list(terms))
        assert x == Fraction(int(back.p), int(back.q))
        assert len(terms) == 1 or terms[-1] >= 2

    @given(st.fractions(Fraction(1, 50), 50, max_denominator=60))
    @examples(10)
    def test_of_a_multiple_of_pi_agrees_with_sympy(self, share):
        reference = continued_fraction_iterator(to_sympy(PiMultiple(share)))
        assert tuple(map(int, islice(reference, 15))) == continued_fraction(PiMultiple(share), terms=15)

    def test_many_terms_of_pi_come_back_to_pi(self):
        # 200 terms pin π down to about 200 digits; sympy's digits come from another library.
        near = convergents(sympy.pi, count=200)[-1]
        assert abs(sympy.Rational(near.numerator, near.denominator) - sympy.pi.n(300)) < sympy.Rational(1, 10**190)

    @in_one("bad", [0, -1, "", "pi+1", "e", "1/0", None, True, float("nan"), float("inf"), []])
    def test_refuses_what_is_no_number_above_zero(self, bad):
        with pytest.raises(ValueOutOfRangeError):
            continued_fraction(bad)

    @in_one("bad", [0, -1, 1001, 2.5, "7", None, True])
    def test_refuses_a_number_of_terms_that_is_none(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="terms"):
            continued_fraction("127/100", terms=bad)

    def test_refuses_more_digits_than_it_can_handle_fast(self):
        with pytest.raises(ValueOutOfRangeError, match="100 digits"):
            continued_fraction(Fraction(10**5000 + 1, 10**4999))


class TestConvergents:
    @given(fractions)
    @few
    def test_agree_with_sympy(self, x):
        reference = continued_fraction_convergents(continued_fraction_periodic(x.numerator, x.denominator))
        assert tuple(Fraction(int(c.p), int(c.q)) for c in reference) == convergents(x, count=100)

    def test_twelve_unless_more_are_asked_for(self):
        assert convergents(sympy.pi) == convergents(sympy.pi, count=12)
        assert len(convergents(sympy.pi)) == 12


class TestBestFractions:
    @given(targets, st.integers(1, 60))
    @few
    @example(Fraction(3, 2), 10)
    @example(Fraction(1, 2), 1)
    @example(Fraction(127, 5), 10)  # 25.4 = [25; 2, 2]: half of the last term is just not good enough or just is
    @example(PiMultiple(Fraction(1, 4)), 60)
    def test_are_those_found_by_counting(self, x, largest):
        found = best_fractions(x, max_denominator=largest)
        assert nearest_by_counting(x, largest) == {near.fraction for near in found}

    @given(fractions, st.integers(1, 6000))
    @few
    def test_the_last_is_what_limit_denominator_gives(self, x, largest):
        assert x.limit_denominator(largest) == best_fractions(x, max_denominator=largest)[-1].fraction

    @given(targets, st.integers(1, 3000))
    @few
    def test_each_is_nearer_than_the_one_before(self, x, largest):
        found = best_fractions(x, max_denominator=largest)
        assert all(b.error < a.error for a, b in pairwise(found))
        assert all(a.fraction.denominator <= b.fraction.denominator for a, b in pairwise(found))
        assert all(near.is_best and near.fraction.denominator <= largest for near in found)

    @given(targets, st.integers(1, 300), st.fractions(0, 200_000, max_denominator=50))
    @few
    def test_max_ppm_keeps_those_within(self, x, largest, ppm):
        limit = RelativeError(1 + ppm / 1_000_000, Fraction(1))
        expected = [near for near in best_fractions(x, max_denominator=largest) if near.error <= limit]
        assert expected == best_fractions(x, max_denominator=largest, max_ppm=ppm)

    @given(targets, st.fractions(20, 50_000, max_denominator=50))
    @few
    def test_the_first_within_has_the_smallest_denominator_of_all(self, x, ppm):
        limit = RelativeError(1 + ppm / 1_000_000, Fraction(1))
        first = best_fractions(x, max_ppm=ppm)[0]
        assert first.error <= limit
        for denominator in range(1, min(first.fraction.denominator, 200)):
            nearest = nearest_numerators(x, denominator)
            assert all(RelativeError(Fraction(top, denominator), x) > limit for top in nearest)

    def test_max_ppm_alone_goes_on_to_1000_or_until_one_is_within(self):
        assert best_fractions(sympy.pi, max_ppm=10) == best_fractions(sympy.pi, 1000, max_ppm=10)
        far = best_fractions(sympy.pi, max_ppm=Fraction(1, 10**9))
        assert len(far) == 1
        assert far[0].fraction.denominator > 1000

    def test_no_bound_means_denominators_to_1000(self):
        assert best_fractions(sympy.pi) == best_fractions(sympy.pi, max_denominator=1000)

    def test_kinds(self):
        found = {str(near.fraction): near.kind for near in best_fractions("127/100", max_denominator=100)}
        assert {text for text, kind in found.items() if kind == "convergent"} == {
            str(fraction) for fraction in convergents("127/100")
        }
        assert found["80/63"] == "intermediate"

    def test_all_forms_of_a_number_are_the_same(self):
        forms = ["127/100", "1.27", "1,27", 1.27, Fraction(127, 100), sympy.Rational(127, 100)]
        assert all(best_fractions(form) == best_fractions(forms[0]) for form in forms)

    def test_an_exact_fraction_of_pi_is_not_possible(self):
        with pytest.raises(NotPossibleError, match="multiple of π"):
            best_fractions(sympy.pi, max_ppm=0)
        assert best_fractions(sympy.pi, max_denominator=1000, max_ppm=0) == []

    def test_an_exact_fraction_of_a_fraction_is_itself(self):
        (found,) = best_fractions("127/10007", max_ppm=0)
        assert (found.fraction, found.is_exact, found.error_ppm) == (Fraction(127, 10007), True, 0)

    def test_more_than_can_be_listed_is_refused_at_once(self):
        with pytest.raises(NotPossibleError, match="10000"):
            best_fractions(Fraction(1, 10**12), max_denominator=10**12)

    @in_one("bad", [0, -1, 10**101, 1.5, "7", True, float("nan"), [3]])
    def test_refuses_what_is_no_denominator(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="max_denominator"):
            best_fractions("127/100", max_denominator=bad)

    @in_one("bad", [-1, 10**7, float("nan"), float("inf"), "x", True, [3]])
    def test_refuses_what_is_no_error(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="max_ppm"):
            best_fractions("127/100", max_ppm=bad)

    @given(st.one_of(st.text(max_size=40), st.floats(), st.integers(), st.fractions(), st.none(), st.booleans()))
    @examples(50)
    def test_anything_gets_an_answer_or_one_of_our_errors(self, x):
        try:
            found = best_fractions(x, max_denominator=100)
        except GearcalcError:
            return
        assert all(near.fraction.denominator <= 100 for near in found)
        assert found


def nearest_numerators(x: Exact, denominator: int) -> tuple[int, ...]:
    about = floor(float(x) * denominator)
    return tuple(top for top in range(about - 1, about + 3) if top >= 0)


class TestNearFractions:
    @given(targets, st.integers(1, 300))
    @few
    def test_the_best_of_them_are_the_best_fractions(self, x, largest):
        best = [near for near in near_fractions(x, max_denominator=largest) if near.is_best]
        assert best_fractions(x, max_denominator=largest) == best

    @given(targets)
    @few
    def test_they_are_the_mediants_of_the_walk(self, x):
        # All but the whole numbers on the way up to x, which are no intermediate fractions.
        walked = [step.mediant for step in stern_brocot(x, steps=60)]
        enough = walked[-1].denominator
        here = {near.fraction for near in near_fractions(x, max_denominator=enough)}
        assert {mediant for mediant in walked if mediant > floor_of(x)} <= here


def floor_of(x: Exact) -> int:
    return continued_fraction(x, terms=1)[0]


class TestSternBrocot:
    @given(targets)
    @few
    def test_runs_are_as_long_as_the_terms_say(self, x):
        steps = stern_brocot(x, steps=200)
        runs = [(way, len(list(run))) for way, run in groupby(step.direction for step in steps)]
        arrived = runs[-1][0] == "arrived"
        terms = list(continued_fraction(x, terms=100))
        if arrived:
            terms[-1] -= 1  # the last step is not gone any more
        expected = [("right" if place % 2 == 0 else "left", term) for place, term in enumerate(terms) if term > 0]
        complete = runs[:-1]  # the last run is 'arrived', or was broken off
        assert expected[: len(complete)] == complete
        assert not arrived or len(complete) == len(expected)

    @given(targets)
    @few
    def test_each_mediant_lies_between_its_neighbours(self, x):
        for step in stern_brocot(x, steps=50):
            (a, b), (c, d) = step.below, step.above
            assert Fraction(a + c, b + d) == step.mediant
            assert b * c - a * d == 1  # neighbours in the tree

    def test_forty_steps_where_nobody_says_how_many(self):
        assert len(stern_brocot("pi")) == 40

    def test_refuses_no_steps(self):
        with pytest.raises(ValueOutOfRangeError, match="steps"):
            stern_brocot(1, steps=0)


class TestFactor:
    @given(st.integers(1, 10**7))
    @few
    def test_agrees_with_sympy(self, n):
        assert sympy.factorint(n) == factor(n)

    @in_one("n", [1, 2, 127, 999_999_999_989, 10**12, 999_983**2])
    def test_edges_agree_with_sympy(self, n):
        assert sympy.factorint(n) == factor(n)

    @in_one("bad", [0, -127, 10**12 + 1, 1.5, "127", None, True])
    def test_refuses_what_it_can_not_factor(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="number to factor"):
            factor(bad)
