"""How a formula is written: the same walk for symbols and numbers, in plain text, LaTeX and HTML."""

from __future__ import annotations

from fractions import Fraction

import pytest
import sympy

from gearcalc.basics import writing
from gearcalc.basics.exact import PiMultiple
from gearcalc.deriving.formulas import Quantity, Step, over, product, total

FIRST = Quantity("z", "driver 1", "first driver", Fraction(40))
SECOND = Quantity("z", "driver 2", "second driver", Fraction(30))
LAST = Quantity("z", "driven 1", "first driven", Fraction(80))
HALF = Quantity("r", "lever", "lever", Fraction(1, 2))
WORM = Quantity("L", "wanted", "lead wanted", PiMultiple(Fraction(3, 2)))
LEAD = Quantity("L", "cut", "lead cut", Fraction(19, 4))
ANSWER = Quantity("r", "train", "train")


def step(formula: sympy.Expr, *known: Quantity, **shown) -> Step:
    return Step("So:", ANSWER, formula, known, **shown)


class TestQuantity:
    def test_its_subscript_is_in_words(self):
        assert FIRST.latex == r"z_{\text{driver 1}}"
        assert FIRST.symbol.name == "z_driver_1"

    def test_an_error_may_be_negative_and_the_rest_not(self):
        assert Quantity("e", "", "error").symbol.is_positive is None
        assert FIRST.symbol.is_positive

    def test_unknown_it_is_written_by_its_name(self):
        assert str(Quantity("z", "driver 1", "first driver").number) == "first driver"


class TestStep:
    def test_formula_then_numbers_then_result(self):
        shown = step(over(product(FIRST.symbol, HALF.symbol), LAST.symbol), FIRST, LAST, HALF)
        assert shown.equation_text == "train = (first driver · lever)/first driven = (40 · (1/2))/80 = 1/4"
        assert shown.latex == (
            r"r_{\text{train}} = \frac{z_{\text{driver 1}} \cdot r_{\text{lever}}}{z_{\text{driven 1}}}"
            r" = \frac{40 \cdot (1/2)}{80} = \frac{1}{4}"
        )

    def test_a_fraction_below_a_line_is_bracketed(self):
        assert step(over(FIRST.symbol, HALF.symbol), FIRST, HALF).equation_text.endswith("= 40/(1/2) = 80")

    def test_pi_below_a_line_is_bracketed(self):
        ends = (writing.rounded(1.0),)
        shown = step(
            over(total(LEAD.symbol, product(sympy.Integer(-1), WORM.symbol)), WORM.symbol), LEAD, WORM, ends=ends
        )
        assert "(19/4 − 1.5 π)/(1.5 π)" in shown.equation_text
        assert r"\frac{19/4 - 1.5\,\pi}{1.5\,\pi}" in shown.latex

    def test_a_stage_that_says_the_same_again_is_left_out(self):
        assert step(product(FIRST.symbol), FIRST).equation_text == "train = first driver = 40"

    def test_nothing_cancels_before_it_is_shown(self):
        idle = step(product(over(FIRST.symbol, SECOND.symbol), over(SECOND.symbol, LAST.symbol)), FIRST, SECOND, LAST)
        assert "first driver/second driver × second driver/first driven = " in idle.equation_text.replace("\n ", "")
        assert idle.eq.rhs.args != (FIRST.symbol, 1 / LAST.symbol)
        assert idle.eq.rhs.has(SECOND.symbol)

    def test_its_equation_holds_for_its_numbers(self):
        shown = step(product(HALF.symbol, over(FIRST.symbol, LAST.symbol)), FIRST, LAST, HALF)
        assert shown.eq.rhs.subs(shown.numbers) == shown.result == sympy.Rational(1, 4)
        assert shown.found.value == Fraction(1, 4)
        assert set(shown.symbols) == shown.eq.free_symbols

    def test_with_a_gear_unknown_there_is_no_result_to_show(self):
        gap = Quantity("z", "driver 1", "first driver")
        shown = step(over(gap.symbol, LAST.symbol), gap, LAST)
        assert shown.equation_text == "train = first driver/first driven = first driver/80"

    def test_a_long_one_takes_more_lines_and_loses_nothing(self):
        many = [Quantity("r", f"mesh {n}", f"mesh number {n}", Fraction(n, 97)) for n in range(1, 7)]
        shown = step(product(*(one.symbol for one in many)), *many)
        assert shown.equation_text.count("\n") == 1
        assert shown.latex.startswith(r"\begin{aligned}r_{\text{train}} & = ")
        assert " ".join(shown.equation_text.split()).count("=") == shown.latex.count("=") == 3

    def test_it_takes_more_lines_by_the_letters_that_are_seen(self):
        """Of a name those below the line, of a fraction those of its longer half; braces and commands are not seen."""
        named = [Quantity("r", "a name of 21 letters" + end, end, Fraction(n, 97)) for n, end in enumerate("xyz", 2)]
        formula = step(product(*(one.symbol for one in named)), *named)
        seen = (
            "r train = "
            + " · ".join("r a name of 21 letters" + end for end in "xyz")
            + " = 2/97 · 3/97 · 4/97 = 24/912673"
        )
        assert "aligned" not in formula.latex_within(len(seen) + 12)
        assert "aligned" in formula.latex_within(len(seen) - 30)


class TestMixed:
    @pytest.mark.parametrize(
        ("x", "said"), [(Fraction(0), "0"), (Fraction(7), "7"), (Fraction(1, 2), "1/2"), (Fraction(5, 2), "2 1/2")]
    )
    def test_whole_and_part(self, x, said):
        assert writing.mixed(x) == said


class TestRounded:
    def test_says_when_it_is(self):
        assert (writing.rounded(Fraction(1, 4)).text, writing.rounded(Fraction(1, 3)).text) == ("0.25", "≈ 0.3333")
        assert writing.rounded(PiMultiple(Fraction(1)), 2).latex == r"\approx 3.14"
