"""How a formula is written: the same walk for symbols and numbers, in plain text, LaTeX and HTML."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
import sympy
from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.exact import PiMultiple
from gearcalc.basics.markup import Written
from gearcalc.deriving.formulas import Quantity, Step, Worked, in_lines, over, product, total
from gearcalc.deriving.in_short import Line
from tests.how_much import in_one

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

    def test_its_equation_is_one_even_if_it_can_not_hold(self):
        false = step(product(sympy.Integer(-1), FIRST.symbol), FIRST)
        assert isinstance(false.eq, sympy.Eq)
        assert false.eq.lhs == ANSWER.symbol

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


class TestRows:
    """A line of a sum ends where the next stage would take it too far."""

    def named(self, length: int) -> Step:
        """A step that says `train = first × x… = 1 × 2 = 2`, in so many signs."""
        rest = "train = first ×  = 1 × 2 = 2"
        long = "x" * (length - len(rest))
        known = (Quantity("z", "1", "first", Fraction(1)), Quantity("z", "2", long, Fraction(2)))
        return step(product(*(one.symbol for one in known)), *known)

    @in_one("length", range(70, 82))
    def test_of_text(self, length):
        rows = self.named(length).equation_text.split("\n  ")
        assert len(" ".join(rows)) == length
        assert len(rows) == (1 if length < 76 else 2)

    @in_one("count", range(4, 12))
    def test_the_rest_goes_below_as_far_as_there_is_room(self, count):
        stages = tuple(writing.plain(str(number) * 20) for number in range(1, count))
        first, *below = step(product(FIRST.symbol), FIRST, via=stages, ends=()).equation_text.split("\n  ")
        assert first == "train = first driver"
        assert "".join(f" {row}" for row in below) == "".join(f" = {stage}" for stage in ("40", *stages))
        for row, following in pairwise(below):
            assert len(row) < 76 <= len(f"{row} {following.split(' = ')[0]}")

    @in_one("length", range(70, 82))
    def test_two_stages_stand_below_on_one_row_where_they_fit(self, length):
        end = writing.plain("e" * (length - len("= 40 = ")))
        _, *below = step(product(FIRST.symbol), FIRST, via=(end,), ends=()).equation_text.split("\n  ")
        assert len(" ".join(below)) == length
        assert len(below) == (1 if length < 76 else 2)

    @in_one("length", range(84, 94))
    def test_a_sentence_goes_on_below_from_its_89th_sign_on(self, length):
        words = "a" * (length - 2) + " b"
        shown = evolve(step(product(FIRST.symbol), FIRST), words=words)
        assert (shown.text.partition("\n    train")[0] == words) == (length <= 88)
        worked = Worked(title="So:", steps=(shown,), closing=words)
        assert worked.text.endswith("\n\n" + words) == (length <= 88)

    @in_one(("top", "bottom"), [(40, 3), (3, 40), (20, 21), (20, 20)])
    def test_a_fraction_is_as_wide_as_its_wider_half(self, top, bottom):
        over_it, below = (Quantity(letter * wide, "", letter) for letter, wide in (("n", top), ("m", bottom)))
        shown = step(over(over_it.symbol, below.symbol), over_it, below, via=(Written("9", "9", "9"),), ends=())
        seen = len(f"rtrain = {'n' * max(top, bottom)} = 9")
        assert "aligned" not in shown.latex_within(seen)
        assert "aligned" in shown.latex_within(seen - 1)

    @in_one("length", range(40, 65))
    def test_of_latex_60_signs_and_beside_a_name_46(self, length):
        wide = Quantity("n" * (length - len("rtrain =  = 9")), "", "n")
        shown = step(product(wide.symbol), wide, via=(Written("9", "9", "9"),), ends=())
        assert ("aligned" in shown.latex) == (length > 60)
        assert ("aligned" in Line("Ratio", shown)._repr_html_()) == (length > 46)


class TestInLines:
    @in_one("length", range(90, 100))
    def test_a_line_of_latex_holds_96_signs(self, length):
        words = "a" * (length - 2) + " b"
        assert len(in_lines(words)) == (1 if length <= 96 else 2)
        assert in_lines("") == []


class TestSums:
    A, B, C = (Quantity("L", letter, letter, Fraction(n)) for n, letter in enumerate("abc", 5))

    @in_one(
        ("terms", "written", "comes_to"),
        [
            (lambda a, b, c: (a, b), "a + b = 5 + 6", 11),
            (lambda a, b, c: (a, product(b, c)), "a + b × c = 5 + 6 × 7", 47),
            (lambda a, b, c: (a, product(sympy.Integer(-1), b)), "a − b = 5 − 6", -1),
            (lambda a, b, c: (a, product(sympy.Integer(-1), b, c), a), "a − b × c + a = 5 − 6 × 7 + 5", -32),
            (lambda a, b, c: (a, a), "a + a = 5 + 5", 10),
        ],
    )
    def test_what_is_taken_away_has_a_minus_and_all_else_a_plus(self, terms, written, comes_to):
        shown = step(total(*terms(*(each.symbol for each in (self.A, self.B, self.C)))), self.A, self.B, self.C)
        assert shown.equation_text == f"train = {written} = {str(comes_to).replace('-', '−')}"
