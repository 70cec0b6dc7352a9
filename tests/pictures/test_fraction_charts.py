"""Fractions that close in and the walk towards a number, read back from their own SVG and set against arithmetic."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import groupby, pairwise

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError
from gearcalc.basics.writing import THIN
from gearcalc.pictures import style
from gearcalc.pictures.fraction_charts import closing_in, stern_brocot_walk
from tests.how_much import examples, in_one
from tests.pictures.svg_texts import by_tag, words_of


def best_by_trying_all(x: float, largest: int) -> list[Fraction]:
    """Every fraction nearer than all with the same or a smaller denominator."""
    best: list[Fraction] = []
    for below in range(1, largest + 1):
        for above in (math.floor(x * below), math.floor(x * below) + 1):
            near = Fraction(above, below)
            if not best or abs(near - Fraction(x)) < abs(best[-1] - Fraction(x)):
                if best and best[-1].denominator == below:
                    best.pop()
                best.append(near)
    return best


class TestClosingIn:
    @pytest.mark.parametrize(
        ("x", "value", "largest"), [("127/100", 1.27, 90), ("pi", math.pi, 112), ("5/7", 5 / 7, 6)]
    )
    def test_shows_what_trying_all_finds(self, x, value, largest):
        picture = closing_in(x, largest)
        found = [Fraction(row["fraction"].text) for row in picture.table]
        assert found == best_by_trying_all(value, largest)[-18:]
        assert found[-1] == Fraction(value).limit_denominator(largest)

    @pytest.mark.parametrize("x", ["127/100", "pi", "50/127"])
    def test_each_stands_on_its_own_side_and_nearer_than_the_one_before(self, x):
        picture = closing_in(x, 95)
        marks = by_tag(picture.svg, "circle", r="5.5")[: len(picture.table)]
        off = [float(mark.get("cx")) - 400 for mark in marks]
        assert [place > 0 for place in off] == [row["it is"] == "too large" for row in picture.table]
        assert [abs(place) for place in off] == sorted((abs(place) for place in off), reverse=True)
        assert [str(row["error"])[0] for row in picture.table] == ["+" if place > 0 else "−" for place in off]

    def test_a_hundred_times_nearer_is_two_lines_further_in(self):
        picture = closing_in("127/100", 63)
        named = ("100", "10\u202f000", "1\u202f000\u202f000")
        right = {w.text: w.x for w in words_of(picture.svg) if w.text in named and w.x > 400}
        steps = [(right[b] - right[a]) / 2 for a, b in pairwise(named)]
        assert steps == pytest.approx([steps[0]] * 2, abs=0.02)
        # 80/63 is off by −1/8001, some 125 ppm: log10 1.25 of a step beyond the line of 100
        mark = by_tag(picture.svg, "circle", r="5.5")[len(picture.table) - 1]
        beyond = math.log10(1e6 / 8001 / 100) * steps[0]
        assert 400 - float(mark.get("cx")) == pytest.approx(right["100"] - 400 + beyond, abs=0.1)

    def test_exact_has_a_mark_of_its_own(self):
        assert "127/100 is exact" in closing_in("127/100", 100).caption
        assert len(by_tag(closing_in("127/100", 100).svg, "path", fill=style.VERMILLION)) == 2  # there, and in the key
        assert len(by_tag(closing_in("127/100", 99).svg, "path", fill=style.VERMILLION)) == 1

    def test_words_say_how_far_and_on_which_side(self):
        said = closing_in("pi", 10).description
        assert "22/7 is the nearest, +402.5 ppm" in said  # (22/7)/π − 1 = 402.5 ppm
        assert f"3, 45{THIN}070 ppm too small" in said  # 3/π − 1
        assert "−" not in said.split("close in on it")[1]

    def test_of_too_many_the_nearest_are_shown(self):
        picture = closing_in("pi", 100_000)
        assert len(picture.table) == 18
        assert "simpler ones are left out" in picture.description

    @in_one("x", [0, -1, "", "banana", None, "1/0", sympy.E, math.inf, 10**101])
    def test_refuses_what_is_no_number_above_zero(self, x):
        with pytest.raises(ValueOutOfRangeError):
            closing_in(x)

    @in_one("largest", [0, -1, 2.5, "many", None, 10**10])
    def test_refuses_a_limit_that_is_none(self, largest):
        with pytest.raises(GearcalcError):
            closing_in("127/100", largest)

    @pytest.mark.parametrize("height", [0, 299, 1001, "high"])
    def test_refuses_a_height_that_is_none(self, height):
        with pytest.raises(ValueOutOfRangeError):
            closing_in("127/100", height_px=height)


def euclid(x: Fraction) -> list[int]:
    terms = []
    while True:
        whole, rest = divmod(x, 1)
        terms.append(int(whole))
        if not rest:
            return terms
        x = 1 / rest


class TestSternBrocotWalk:
    def walked(self, picture):
        return [(Fraction(row["mediant"]), row["from there"]) for row in picture.table]

    @given(st.fractions(Fraction(1, 6), 6, max_denominator=12))
    @examples(60)
    def test_turns_and_runs_are_euclids(self, x):
        picture = stern_brocot_walk(x, 40)
        turns = [turn for _, turn in self.walked(picture)]
        assert turns[-1] == "arrived"
        terms = euclid(x)
        terms[-1] -= 1  # arriving counts 1
        expected = [n for n in terms if n]
        assert [len(list(run)) for _, run in groupby(turns[:-1])] == expected
        listed = re.search(r"continued fraction: ([0-9, ]+)", picture.description)[1]
        assert [int(term) for term in listed.split(", ")] == euclid(x)

    def test_each_mediant_is_made_as_it_says_and_turns_towards_the_number(self):
        for row in stern_brocot_walk("127/100", 12).table:
            a, c, b, d = map(int, re.fullmatch(r"\((\d+) \+ (\d+)\)/\((\d+) \+ (\d+)\)", row["made of"]).groups())
            assert Fraction(a + c, b + d) == Fraction(row["mediant"])
            expected = {1: "left", 0: "arrived", -1: "right"}
            mediant, wanted = Fraction(row["mediant"]), Fraction(127, 100)
            assert row["from there"] == expected[(mediant > wanted) - (mediant < wanted)]
            assert row["it is"] == {"left": "too large", "right": "too small", "arrived": "exact"}[row["from there"]]

    def test_right_is_drawn_to_the_right(self):
        picture = stern_brocot_walk("127/100", 12)
        path = next(p for p in by_tag(picture.svg, "path", stroke_width="2"))
        xs = [float(point.split(" ")[0]) for point in re.split("[ML]", path.get("d"))[1:]]
        moves = ["right" if b > a else "left" for a, b in pairwise(xs)]
        assert moves == [turn for _, turn in self.walked(picture)][:-1]

    def test_the_runs_stand_beside_the_walk(self):
        words = [w.text for w in words_of(stern_brocot_walk("pi", 16).svg)]
        assert [w for w in words if re.fullmatch(r"\d+ (left|right)( …)?", w)] == ["3 right", "7 left", "6 right …"]

    def test_convergents_are_marked(self):
        # published convergents of π: 3, 22/7, 333/106, 355/113
        rows = stern_brocot_walk("pi", 26).table
        assert [row["mediant"] for row in rows if row["convergent"]] == ["3/1", "22/7", "333/106", "355/113"]

    def test_less_than_one_begins_with_nought(self):
        said = stern_brocot_walk("50/127", 20).description
        assert "continued fraction: 0, 2, 1, 1, 5, 1, 3." in said
        assert "It begins with 0" in said

    @in_one("steps", [0, -1, 41, 2.5, "9", None, True])
    def test_refuses_a_number_of_steps_that_is_none(self, steps):
        with pytest.raises(ValueOutOfRangeError, match="steps"):
            stern_brocot_walk("127/100", steps)

    @in_one("x", [0, -1, "", "banana", None])
    def test_refuses_what_is_no_number_above_zero(self, x):
        with pytest.raises(ValueOutOfRangeError):
            stern_brocot_walk(x)
