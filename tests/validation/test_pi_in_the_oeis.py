"""Against the On-Line Encyclopedia of Integer Sequences: A001203, A002485, A002486, A360366 (status: S, read)."""

from fractions import Fraction

import sympy

from gearcalc.basics.exact import PiMultiple
from gearcalc.finding.fractions import best_fractions, continued_fraction, convergents
from tests.how_much import in_one

# A001203: the terms of the continued fraction of π.
TERMS = (3, 7, 15, 1, 292, 1, 1, 1, 2, 1, 3, 1, 14, 2, 1, 1, 2, 2, 2, 2)

# A002485 over A002486, from the third entry on (the first two, 0 and 1, start the recurrence).
CONVERGENTS = [
    "3",
    "22/7",
    "333/106",
    "355/113",
    "103993/33102",
    "104348/33215",
    "208341/66317",
    "312689/99532",
    "833719/265381",
    "1146408/364913",
    "4272943/1360120",
    "5419351/1725033",
    "80143857/25510582",
    "165707065/52746197",
    "245850922/78256779",
    "411557987/131002976",
    "1068966896/340262731",
    "2549491779/811528438",
]

# A360366: numerators of the fraction with the smallest denominator within 10^-n of π, n = 0, 1, 2 ...
# Left out (status S!=): n = 1, listed as 22; but 16/5 is within a tenth of π, and 5 is less than 7.
SIMPLEST_WITHIN = (3, None, 22, 201, 333, 355, 355, 75948, 100798, 103993, 312689, 833719, 4272943, 5419351, 58466453)


class TestA001203:
    def test_terms(self):
        assert continued_fraction(sympy.pi, terms=len(TERMS)) == TERMS


class TestA002485:
    def test_convergents(self):
        assert convergents(sympy.pi, count=len(CONVERGENTS)) == tuple(map(Fraction, CONVERGENTS))

    def test_each_is_among_the_best(self):
        best = best_fractions(sympy.pi, max_denominator=10**9)
        listed = [near.fraction for near in best if near.kind == "convergent"]
        assert listed == [Fraction(text) for text in CONVERGENTS if Fraction(text).denominator <= 10**9]


class TestA360366:
    @in_one(("digits", "numerator"), [row for row in enumerate(SIMPLEST_WITHIN) if row[1]])
    def test_the_simplest_within_is_a_best_fraction(self, digits, numerator):
        within = Fraction(1, 10**digits)
        pi = PiMultiple(Fraction(1))
        first = next(
            near.fraction
            for near in best_fractions(sympy.pi, max_denominator=10**9)
            if near.fraction - within < pi < near.fraction + within
        )
        assert first.numerator == numerator

    def test_examples_with_their_denominators(self):
        best = {near.fraction: near.kind for near in best_fractions(sympy.pi, max_denominator=25000)}
        assert best[Fraction(201, 64)] == best[Fraction(75948, 24175)] == "intermediate"
