"""Numbers that are handed over, read or refused: limits by plain comparison, and what the message says of them."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import repeat
from math import inf, nan
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.arguments import (
    as_index,
    as_meshes,
    as_number,
    as_one_of,
    as_path,
    as_units,
    as_whole,
    as_words,
    as_yes_or_no,
    is_several,
    plain_text,
    shown,
    within,
)
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.explorers.near_misses import gap_view
from gearcalc.learning.explorers.own_lathe import read_tolerance
from tests.how_much import in_one

numbers = st.fractions() | st.integers()


class TestWithin:
    @given(numbers, numbers, st.none() | numbers, st.booleans())
    def test_against_plain_comparison(self, value, least, most, above):
        fits = (least < value if above else least <= value) and (most is None or value <= most)
        if fits:
            assert within(value, least=least, most=most, above=above) is value
        else:
            with pytest.raises(ValueOutOfRangeError):
                within(value, least=least, most=most, above=above)

    def test_a_multiple_of_pi_is_compared_exactly(self):
        assert within(PiMultiple(Fraction(1)), most=Fraction(355, 113)) == PiMultiple(Fraction(1))
        with pytest.raises(ValueOutOfRangeError, match="not 1/2"):
            within(PiMultiple(Fraction(1, 2)), least=2)

    @in_one("value", [nan, inf, -inf, None, "3", True, [3]])
    def test_what_is_no_number_within_any_limits(self, value):
        with pytest.raises(ValueOutOfRangeError, match="must be from 0 to 10 mm, not"):
            within(value, what="the length", most=10, unit="mm")

    @in_one(
        ("limits", "words"),
        [
            ({}, "zero or more"),
            ({"above": True}, "more than zero"),
            ({"least": 1}, "1 or more"),
            ({"least": Fraction(1, 1000), "most": 9}, "from 0.001 to 9"),
            ({"most": 0.4}, "from 0 to 0.4"),
            ({"most": 9, "above": True}, "more than zero and at most 9"),
            ({"least": Fraction(2, 3), "most": Fraction(20, 3)}, "from 0.667 to 6.667"),
            ({"least": 2, "most": 9, "above": True}, "more than 2 and at most 9"),
            ({"least": 2, "above": True}, "more than 2"),
        ],
    )
    def test_the_limits_in_words(self, limits, words):
        with pytest.raises(ValueOutOfRangeError, match=f"^gearcalc.toml: the length must be {words}, not -1. Look."):
            within(-1, what="the length", **limits, where="gearcalc.toml", remedy="Look.")


class TestAsNumber:
    def test_what_was_given_is_shown_as_it_was_given(self):
        with pytest.raises(ValueOutOfRangeError, match=r"the length must be from 0 to 1, not '1 1/2'"):
            as_number("1 1/2", what="the length", most=1)

    @in_one("typed", ["-5", " −5 ", "-1/2", "-1,25", "- 11 1/2"])
    def test_a_number_below_zero_meets_the_limit_and_not_the_spelling(self, typed):
        with pytest.raises(ValueOutOfRangeError, match=rf"^the length must be more than zero, not '{typed}'"):
            as_number(typed, what="the length", above=True)

    @given(st.fractions(-20, -10, max_denominator=99), st.integers(-30, -1))
    def test_a_number_below_zero_is_taken_where_the_limits_let_it(self, number, least):
        if number >= least:
            assert as_number(str(number), what="the error", least=least, most=9) == number
        else:
            with pytest.raises(ValueOutOfRangeError, match=f"the error must be from {least} to 9".replace("-", "−")):
                as_number(str(number), what="the error", least=least, most=9)

    @in_one("typed", ["-", "--5", "-x", "-1/0", "−−", "-" * 3000, "-5-"])
    def test_a_minus_alone_makes_no_number(self, typed):
        with pytest.raises(ValueOutOfRangeError, match="the error must be a plain number"):
            as_number(typed, what="the error", least=-9)


class TestAsWhole:
    @given(st.integers(), st.integers(-9, 9), st.integers(10, 99))
    def test_against_plain_comparison(self, n, least, most):
        if least <= n <= most:
            assert as_whole(n, what="steps", least=least, most=most) == n
        else:
            with pytest.raises(ValueOutOfRangeError, match=f"steps must be a whole number from {least} to {most}, not"):
                as_whole(n, what="steps", least=least, most=most)

    @in_one("n", [None, True, 1.0, "1", Fraction(1), 0])
    def test_what_is_no_whole_number_from_one_up(self, n):
        with pytest.raises(ValueOutOfRangeError, match="steps must be a whole number from 1 up, not"):
            as_whole(n, what="steps")

    @in_one(
        ("most", "said"),
        [(9_999_999, "to 9999999"), (10**7, "to 10^7"), (10**8, "to 10^8"), (10**9, "to 10^9"), (None, "up")],
    )
    def test_a_large_limit_is_said_as_a_power_of_ten(self, most, said):
        with pytest.raises(ValueOutOfRangeError, match=rf"^steps must be a whole number from 1 {re.escape(said)}, not"):
            as_whole(0, what="steps", most=most)

    def test_what_it_counts_and_what_to_do(self):
        said = r"^steps must be a whole number of turns from 2 to 9, not 'nothing'\. Count\.$"
        with pytest.raises(ValueOutOfRangeError, match=said):
            as_whole(None, what="steps", least=2, most=9, of="turns", remedy="Count.")

    def test_endless_ones_are_read_as_far_as_that_makes_sense(self):
        assert as_meshes(repeat(2), most=3) == (2,)
        assert as_meshes(iter([3, 1, 3]), most=3) == (1, 3)

    def test_none_at_all(self):
        with pytest.raises(ValueOutOfRangeError, match="meshes must name at least one number"):
            as_meshes((), most=3)


class TestYesOrNo:
    def test_comes_back_as_it_was(self):
        assert as_yes_or_no(True, what="exact") is True
        assert as_yes_or_no(False, what="exact") is False

    @in_one("given", [None, 1, 0, 1.0, "yes", "True", [True], object()])
    def test_nothing_else_will_do(self, given):
        with pytest.raises(ValueOutOfRangeError, match="exact must be True or False, not"):
            as_yes_or_no(given, what="exact")


class TestWords:
    class Loud(str):
        """Another's kind of text, which says something else of itself."""

        def __str__(self) -> str:
            return "something else"

    def test_text_comes_back_as_pythons_own(self):
        for asked in (as_words(self.Loud("M6"), what="thread"), plain_text(self.Loud("M6"))):
            assert (asked, type(asked)) == ("M6", str)
        assert as_path(self.Loud("a.pdf")) == as_path(Path("a.pdf")) == Path("a.pdf")
        assert plain_text(6) == 6

    @in_one("given", [None, 6, b"M6", ["M6"], Path("M6")])
    def test_no_text_is_refused(self, given):
        with pytest.raises(ValueOutOfRangeError, match=r"^thread must be text, not "):
            as_words(given, what="thread")

    @in_one("given", [None, 6, ["a.pdf"], object()])
    def test_what_names_no_file_is_refused(self, given):
        with pytest.raises(
            ValueOutOfRangeError, match=r"^path must name a file, not .*\. Write it like 'plate\.pdf'\.$"
        ):
            as_path(given)

    @in_one("given", ["A4", " a4 ", "A4\n"])
    def test_one_of_several_in_any_case(self, given):
        assert as_one_of(given, ("A4", "Letter"), where="paper") == "A4"

    @in_one("given", ["A5", "", None, 4, ["A4"]])
    def test_no_other(self, given):
        with pytest.raises(ValueOutOfRangeError, match=r"^paper: must be 'A4' or 'Letter', not "):
            as_one_of(given, ("A4", "Letter"), where="paper")

    def test_a_unit(self):
        assert [as_units(each) for each in ("inch", "MM", " Inch ")] == ["inch", "mm", "inch"]
        with pytest.raises(ValueOutOfRangeError, match=r"^units: must be 'inch' or 'mm', not 'cm'"):
            as_units("cm")


class TestOfWhatKind:
    @in_one(
        ("given", "several", "whole"),
        [
            ([40, 80], True, None),
            ((), True, None),
            ({40: 1}, True, None),
            ("40", False, None),
            (b"40", False, None),
            (40, False, 40),
            (-3, False, -3),
            (40.0, False, None),
            (True, False, None),
            (None, False, None),
            (np.array(40), False, 40),
            (np.array([40]), True, None),
            (np.int64(7), False, 7),
            (np.bool_(True), False, None),
            (Fraction(4), False, None),
        ],
    )
    def test_several_or_a_whole_number(self, given, several, whole):
        assert is_several(given) is several
        assert (as_index(given), type(as_index(given))) == (whole, type(whole))

    def test_what_was_given_is_never_left_out(self):
        assert (shown(None), shown(0), shown("")) == ("nothing", 0, "")


class TestUnits:
    """A unit goes in bare, and stands one blank behind its limits."""

    @pytest.mark.parametrize(
        "ask",
        [
            lambda: gc.coverage(gc.demo_lathe(), -1, 4),
            lambda: gap_view(gc.demo_lathe(), length=1000),
            lambda: read_tolerance(-1),
        ],
    )
    def test_one_blank(self, ask):
        with pytest.raises(ValueOutOfRangeError) as refused:
            ask()
        assert re.search(r"\d (mm|ppm),", str(refused.value))

    def test_nobody_hands_in_a_blank(self):
        package = Path(gc.__file__).parent
        blank = re.compile(r"""(?:unit=|read_number\([^#\n]*)["'] [^"']*["']""")
        found = {path.name: blank.findall(path.read_text(encoding="utf-8")) for path in package.rglob("*.py")}
        assert {name: handed for name, handed in found.items() if handed} == {}
