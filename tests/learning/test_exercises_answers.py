"""Answers picked from a list, and the test for what is a number but for rounding."""

from __future__ import annotations

import re
from fractions import Fraction

import numpy as np
import pytest

from gearcalc.learning.exercises.answers import Choice, Several, UnreadableError, about
from tests.how_much import in_one
from tests.learning.answers_by_themselves import marked, slip_of


class TestAbout:
    def test_half_a_per_cent_either_way(self):
        near = about(200.0)
        assert [near(Fraction(x)) for x in (199, 200, 201, 198, 202, -200)] == [True, True, True, False, False, False]

    def test_negative_numbers(self):
        assert about(Fraction(-200))(Fraction(-201))
        assert not about(Fraction(-200))(Fraction(-202))


class TestChoice:
    way = Choice("right", ("right", "left"), {"left": ("LH", "left-hand")})

    def test_case_spaces_and_hyphens_do_not_count(self):
        assert [marked(self.way, given) for given in (" RIGHT ", "left hand", "lh", "'right'")] == [
            True,
            False,
            False,
            True,
        ]

    def test_a_pair_without_its_quotes(self):
        pairs = Choice("80/63", ("80/63", "47/37", "2.5 mm"), {"2.5 mm": ("2.5",)})
        assert [pairs.read(given) for given in (80 / 63, Fraction(47, 37), 2.5)] == ["80/63", "47/37", "2.5 mm"]

    def test_a_minus_is_no_hyphen(self):
        rows = Choice("1", ("1", "2"), {"1": ("row 1",)})
        said = ("1", "row-1", "-1", " - 1", -1)
        assert [marked(rows, given) for given in said] == [True, True, "unreadable", "unreadable", "unreadable"]

    @in_one("given", ["", "both", 1, None, True, "right" * 50])
    def test_none_of_them(self, given):
        assert marked(self.way, given) == "unreadable"


class TestSeveral:
    those = Several(frozenset({1, 3}), rows=4)

    def test_the_example_of_how_to_write_it_is_not_the_answer(self):
        for right in map(frozenset, ({1, 3}, {1, 2}, {2}, set(), {1, 2, 3, 4})):
            asked = Several(right, rows=4)
            (example,) = re.findall("such as '(.+?)'", asked.how)
            assert marked(asked, example) is False

    @in_one("given", ["20, 70", "70 and 20", "gears 20 and 70", "20, 70 teeth", [20, 70], "1 3", "13"])
    def test_gears_by_their_teeth(self, given):
        assert marked(Several(frozenset({1, 3}), rows=4, teeth=(20, 25, 70, 40)), given) is True

    @in_one("given", ["20, 71", "30", "20, 25", "25"])
    def test_other_gears_are_not_those(self, given):
        assert marked(Several(frozenset({1, 3}), rows=4, teeth=(20, 25, 70, 40)), given) in (False, "unreadable")

    def test_a_gear_by_its_teeth_alone(self):
        assert marked(Several(frozenset({2}), rows=4, teeth=(20, 25, 70, 40)), "25") is True

    def test_what_may_be_a_gear_or_two_rows_is_asked_about(self):
        with pytest.raises(UnreadableError) as told:
            Several(frozenset({1}), rows=4, teeth=(14, 16, 18, 20)).read("14")
        assert "comma" in told.value.remedy

    @in_one("given", ["all", "All of them", " all of these "])
    def test_all_of_them(self, given):
        assert marked(Several(frozenset({1, 2}), rows=2), given) is True
        assert slip_of(self.those, given) == "too many"

    def test_none_of_them(self):
        assert marked(Several(frozenset(), rows=2), "None of them") is True

    def test_a_row_is_named_as_the_table_calls_it(self):
        rows = Choice("2", ("1", "2"), {"2": ("40/80",)})
        assert [marked(rows, given) for given in ("train 2", "Row 2", "2", "train 1", "train 3")] == [
            True,
            True,
            True,
            False,
            "unreadable",
        ]

    def test_naming_none_is_not_praised(self):
        """Nothing that was named is right, so nothing may be called so."""
        assert slip_of(self.those, "none") == slip_of(self.those, []) == "none"

    @in_one(
        "given",
        [
            "1, 3",
            "3 1",
            "1 and 3",
            "rows 1 and 3",
            "Box 1, box 3",
            "lines 1 and 3",
            "1;3",
            "1,3,3",
            [1, 3],
            (3, 1),
            {1, 3},
            np.array([1, 3]),
        ],
    )
    def test_rows_in_many_forms(self, given):
        assert marked(self.those, given) is True

    @in_one("given", [1, "1", "2 4", "none", [], "1 2 3 4", range(1, 5)])
    def test_other_rows(self, given):
        assert marked(self.those, given) is False

    @in_one(
        "given",
        [
            "1.3",
            "0",
            "5",
            "-1",
            "one",
            "not 1, 3",
            "²",
            ",",
            True,
            [True, 3],
            [1.0, 3.0],
            1.0,
            None,
            {"a": 1},
            range(10**9),
        ],
    )
    def test_no_rows(self, given):
        assert marked(self.those, given) == "unreadable"

    @in_one(
        ("given", "slip"),
        [("2 4", "the other ones"), ("1 2 3", "too many"), ("3", "not all"), ("none", "none"), ("1 2", None)],
    )
    def test_slips(self, given, slip):
        assert slip_of(self.those, given) == slip

    def test_none_may_be_right(self):
        nothing = Several(frozenset(), rows=3)
        assert [marked(nothing, given) for given in ("none", "None", [], "1")] == [True, True, True, False]


class TestRowsByTheirNames:
    those = Several(frozenset({1, 3}), rows=3, names=("32 tpi", "1 mm", "0.8 mm"))

    @in_one("given", ["32 tpi, 0.8 mm", "0,8 mm and 32 TPI", "32tpi;0.8mm", "1, 3"])
    def test_read_as_their_numbers(self, given):
        assert self.those.read(given) == {1, 3}

    def test_all_of_them_or_none_is_a_name(self):
        assert self.those.read("1 mm") == {2}
        for given in ("32 tpi, 3", "32 tpi, 16 tpi", "0.8"):
            assert marked(self.those, given) == "unreadable"
