"""The explorer of gears worth adding without a browser: what is typed in, picture, facts and words out."""

from __future__ import annotations

import re
from fractions import Fraction
from math import prod

import pytest
from hypothesis import given

import gearcalc as gc
from gearcalc.basics.errors import ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.learning.explorers import gears_worth_adding
from gearcalc.learning.explorers.own_lathe import MOST_TO_ADD, adding_view, read_sizes, read_tolerance
from tests.how_much import examples, in_one
from tests.strategies import anything, said_in_our_words

INCH = gc.demo_lathe("inch")
FEW = "20 30 40 50 60 80"


@pytest.fixture(scope="module")
def fresh():
    return gears_worth_adding(INCH, threads=("1 mm", "1.25 mm", "16 tpi"))


@pytest.fixture
def explorer(fresh):
    fresh.set(**{control["name"]: control["value"] for control in fresh.controls})
    return fresh


class TestTheExplorer:
    def test_the_tolerance_decides(self, explorer):
        explorer.set(within="200")
        assert "Nothing to add" in explorer.shown.note
        assert not any(row["new"] for row in explorer.shown.facts)
        explorer.set(within="0")
        assert [row["new"] for row in explorer.shown.facts] == ["new", "new", ""]

    def test_it_begins_with_what_is_to_be_bought(self, explorer):
        assert "Add 127" in explorer.shown.note

    def test_what_cannot_be_had_is_done_without(self, explorer):
        explorer.set(within="50", sizes="20 to 100")
        tags = explorer.shown.note.split(":")[0]
        assert "127" not in tags
        assert "Add" in tags

    def test_as_many_as_may_be(self, explorer):
        explorer.set(gears="20 40 60", threads="11 tpi, 13 tpi, 1 mm", within="0", most="one gear")
        assert "Proved is that the whole list takes 2 gears or more" in explorer.shown.note


class TestAddingView:
    def test_the_trains_that_it_shows_are_as_near_as_it_says(self):
        seen = adding_view(INCH, gears=FEW, threads="1 mm, 1.75 mm, 19 tpi", within=100)
        for row, lead in zip(seen.facts, (Fraction(1), Fraction(7, 4), Fraction(254, 190)), strict=True):
            said = re.fullmatch(
                r"(\S+|\(.*\))/(\S+|\(.*\))((?:, idlers? [^,]+)?), lever (\w+)(?:, reverse over)?", row["train"]
            )
            assert said, row
            over, under = (prod(int(n) for n in side.strip("()").split(" · ")) for side in said.groups()[:2])
            cut = Fraction(over, under) * INCH.levers[said[4]] * INCH.leadscrew_lead_mm
            assert abs(cut / lead - 1) <= Fraction(100, 10**6)

    def test_a_train_copied_from_there_cuts_the_right_hand(self):
        """Each mesh turns the motion round: with an odd number of them this lathe has to have its reverse over."""
        threads = "1 mm, 1.75 mm, 16 tpi, 19 tpi"
        said = [row["train"] for row in adding_view(INCH, gears=FEW, threads=threads, within=100).facts]
        odd = [
            (line.count("·") // 2 + 1 + len(re.findall(r"\d+", line.partition("idler")[2]))) % 2 == 1 for line in said
        ]
        assert ["reverse over" in line for line in said] == odd
        assert {True, False} == set(odd) or any("idler" in line for line in said)

    def test_the_box_is_what_was_typed(self):
        seen = adding_view(INCH, gears="40 80", threads="16 tpi", within=0)
        assert seen.facts[0]["with them"] == "exact"
        with_less = adding_view(INCH, gears="40 41", threads="16 tpi", within=0, sizes="20 to 50")
        assert with_less.facts[0]["new"] == "new"

    @pytest.mark.parametrize("most", [None, "five", 3, ""])
    def test_how_many_in_words_only(self, most):
        with pytest.raises((UnknownNameError, ValueOutOfRangeError), match="most"):
            adding_view(INCH, gears=FEW, threads="1 mm", most=most)

    def test_every_choice_of_how_many(self):
        for most, number in MOST_TO_ADD.items():
            seen = adding_view(INCH, gears="20 40", threads="11 tpi, 1 mm, 19 tpi", within=0, most=most)
            assert seen.picture.caption.count(",") < number + 1

    def test_text_that_is_no_thread(self):
        with pytest.raises(ThreadTextError):
            adding_view(INCH, gears=FEW, threads="1 mm, M8x")

    @examples(40)
    @given(anything)
    def test_anything_else_is_refused_in_our_words(self, junk):
        good = {"gears": "40 80", "threads": "16 tpi"}
        for name in ("gears", "threads", "within", "sizes"):
            assert said_in_our_words(adding_view, INCH, **{**good, name: junk})


class TestReading:
    @in_one(("text", "ppm"), [("50", 50), (" 12,5 ppm", Fraction(25, 2)), (0, 0), ("0", 0), (0.5, Fraction(1, 2))])
    def test_tolerances(self, text, ppm):
        assert read_tolerance(text) == ppm

    @in_one("text", ["", "ppm", "-1", "5001", "ten", None, "1e3"])
    def test_refuses_what_is_none(self, text):
        with pytest.raises(ValueOutOfRangeError, match="tolerance"):
            read_tolerance(text)

    @in_one("text", ["20 to 22", "20-22", "20 – 22", "20…22", " 20 TO 22 ", "20 21 22", [20, 21, 22]])
    def test_sizes(self, text):
        assert read_sizes(text) == (20, 21, 22)

    @in_one("text", ["", "22 to 20", "5 to 20", "20 to 900", "20 to", "twenty", None, "201"])
    def test_refuses_sizes_that_are_none(self, text):
        with pytest.raises(ValueOutOfRangeError):
            read_sizes(text)
