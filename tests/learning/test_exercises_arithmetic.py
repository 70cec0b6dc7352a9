"""What a learner writes for a number, worked out: against Python's own arithmetic of fractions, and by hand."""

from __future__ import annotations

import re
from fractions import Fraction
from math import nextafter, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.exercises.arithmetic import from_float, worked_out
from tests.how_much import in_one

WHOLE = st.integers(0, 10**6)
SUMS = st.recursive(
    st.one_of(WHOLE.map(str), st.decimals(0, 999, places=3).map(str)),
    lambda parts: st.tuples(parts, st.sampled_from(["+", "-", "*", "/"]), parts).map(
        lambda sum_: f"({' '.join(sum_)})"
    ),
    max_leaves=6,
).filter(lambda text: len(text) <= 100)


class TestAgainstPython:
    @given(SUMS)
    def test_sums_of_numbers(self, text):
        """The same sum with every number as a Fraction, worked out by Python (of text that this test made itself)."""
        try:
            expected = eval(re.sub(r"[\d.]+", r"Fraction('\g<0>')", text), {"Fraction": Fraction})
        except ZeroDivisionError:
            with pytest.raises(ValueOutOfRangeError):
                worked_out(text)
            return
        assert worked_out(text) == (expected, "")
        signs = text.replace("*", "·").replace("-", "−").replace("/", "÷").replace(".", ",")
        assert worked_out(f"≈ {signs} mm") == (expected, "mm")

    @given(st.integers(1, 10_000), st.integers(1, 10_000), st.integers(-1, 1))
    def test_a_float_is_the_fraction_that_it_was_worked_out_from(self, top, bottom, step):
        x = top / bottom
        near = nextafter(x, step * 1e9) if step else x
        assert from_float(near) == Fraction(top, bottom)
        assert worked_out(repr(x))[0] == Fraction(top, bottom)
        assert worked_out(f"{top}/{bottom}") == worked_out(f"Fraction({top},{bottom})") == (Fraction(top, bottom), "")

    @given(st.decimals(0, 9999, places=7))
    def test_decimals_stay_what_they_are(self, x):
        assert from_float(float(x)) == Fraction(x)
        assert worked_out(f"{x:f}") == (Fraction(x), "")

    @given(st.text("0123456789.,+-*/():π pi%mFraction", max_size=40))
    def test_any_text_is_a_number_or_an_error(self, text):
        try:
            value, unit = worked_out(text)
        except ValueOutOfRangeError:
            return
        assert isinstance(value, (Fraction, PiMultiple))
        assert isinstance(unit, str)


class TestByHand:
    @in_one(
        ("text", "value", "unit"),
        [
            ("25.4/8", Fraction(127, 40), ""),
            ("25,4 : 8 mm", Fraction(127, 40), "mm"),
            ("5·1.5·8/127", Fraction(60, 127), ""),
            ("1.5 / (25.4 / 8)", Fraction(60, 127), ""),
            ("2 + 3 · 4", Fraction(14), ""),
            ("10 − 4 − 3", Fraction(3), ""),
            ("100 / 10 / 5", Fraction(2), ""),
            ("-(3 - 5)", Fraction(2), ""),
            ("2 · -3", Fraction(-6), ""),
            ("11 1/2 TPI", Fraction(23, 2), "tpi"),
            ("1-1/8", Fraction(9, 8), ""),
            ("1 - 1/8", Fraction(7, 8), ""),
            ("10 000 / 127", Fraction(10_000, 127), ""),
            ("12 101/127", Fraction(1625, 127), ""),
            ("Rational(30, 127)", Fraction(30, 127), ""),
            ("2 · Fraction(15,127)", Fraction(30, 127), ""),
            ("25.4 π / 12 mm", PiMultiple(Fraction(127, 60)), "mm"),
            ("(1/2 + 1/4) π", PiMultiple(Fraction(3, 4)), ""),
            ("3π/(2π)", Fraction(3, 2), ""),
            ("π + π", PiMultiple(Fraction(2)), ""),
            ("5 %", Fraction(5), "%"),
        ],
    )
    def test_sums(self, text, value, unit):
        assert worked_out(text) == (value, unit)

    @in_one(
        "text",
        ["", "mm", "(3", "3)", "()", "3 4", "3 + ", "* 3", "1/0", "3/(2-2)", "Fraction(1, 0)", "1 1/0", "2**3", "1e3",
         "π + 1", "1/π", "π·π", "π/0", "(" * 99, "-" * 99, "1234567890123", "٣", "__import__('os')"],
    )  # fmt: skip
    def test_no_sums(self, text):
        try:
            _, unit = worked_out(text)
        except ValueOutOfRangeError:
            return
        assert unit  # a rest that no answer takes for its unit

    @pytest.mark.parametrize("x", [float("nan"), float("inf")])
    def test_not_finite(self, x):
        with pytest.raises(ValueOutOfRangeError):
            from_float(x)

    def test_pi_stays_a_decimal(self):
        assert from_float(pi) == Fraction("3.141592653589793")
