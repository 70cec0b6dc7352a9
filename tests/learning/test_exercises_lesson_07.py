"""The exercises of lesson 07 over many class numbers: each task can be solved, and is what it says it is."""

from __future__ import annotations

import re

from attrs import evolve

from gearcalc import exercise as pose
from gearcalc.fits.by_hand import rule_constant
from gearcalc.lathes import demo_lathe
from tests.how_much import MANY, exercise, in_one
from tests.learning.exercise_cases.lesson_07 import CASES, margins, sides


@in_one("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        assert q.check(CASES[name].right(q)[0]).is_right, number


class TestWhatTheStripLeaves:
    def test_check_value(self):
        """0.1 mm of paper at 20° leaves about 0.21 mm: 0.2 / cos 20° (computed; 'two for one' is common practice)."""
        found = [exercise("what-the-strip-leaves", class_number=number) for number in range(400)]
        ours = [q for q in found if "**0.1 mm**" in q.question and "**20°**" in q.question]
        assert ours
        assert all(q.check("0.2128").is_right for q in ours)


class TestAskTheRule:
    def test_the_fifteen_decides_in_some_and_a_half_in_all(self):
        thin = 0
        for number in MANY:
            rows = exercise("ask-the-rule", class_number=number).task.table.rows
            found = [margins(*sides(train)) for _, train in rows]
            assert any((one > 15) != (two > 15) for one, two in found)
            thin += any(0 < min(both) <= 15 for both in found)
        assert thin > len(MANY) / 4

    def test_just_as_many_is_met_and_named(self):
        named = 0
        for number in MANY:
            q = exercise("ask-the-rule", class_number=number)
            named += "as many" in [name for name, _ in CASES["ask-the-rule"].slips(q)]
        assert named


class TestARuleOfYourOwn:
    def test_the_demo_lathes_own_constants(self):
        """2 + 2·(7 + 0.5)/1.25 = 14 and 2 + 2·(6 + 0.5)/1 = 15."""
        assert [rule_constant(demo_lathe(name)) for name in ("inch", "metric")] == [14, 15]

    def test_of_a_lathe_whose_collars_are_thicker_than_its_shafts(self):
        """Module 1.25, collars of 18 mm: k is 2 + (18 + 2c)/1.25, with the clearance c that the question supposes."""
        lathe = demo_lathe("inch")
        lathe = evolve(lathe, bracket=evolve(lathe.bracket, stud_radius_mm=9, running_clearance_mm=0.5))
        met = set()
        for number in range(1, 13):
            q = pose("a-rule-of-your-own", number, lathe=lathe)
            clear = re.search(r"and suppose at least \*\*([\d.]+) mm\*\* must", q.question)[1]
            met.add(clear)
            assert "Its shafts and the collars of its studs are **18 mm** across, at the thickest" in q.question
            assert q.check(2 + (18 + 2 * float(clear)) / 1.25).is_right
            if clear != "0.5":
                assert q.check(2 + (18 + 2 * 0.5) / 1.25).slip == "the file's clearance"
        assert len(met) > 1

    def test_on_a_single_stud_no_gear_stands_beside_a_collar(self):
        lathe = demo_lathe("inch")
        lathe = evolve(lathe, bracket=evolve(lathe.bracket, stud_radius_mm=9, studs=1))
        assert "Its shafts are **14 mm** across, and" in pose("a-rule-of-your-own", 1, lathe=lathe).question
        assert rule_constant(lathe) == 14

    def test_whoever_keeps_the_shops_number_is_not_told_to_round(self):
        slips = {exercise("a-rule-of-your-own", class_number=number).check(15).slip for number in MANY}
        assert slips == {"the shop's own"}


class TestDoesItClear:
    def test_both_verdicts_are_met_and_none_is_on_the_edge(self):
        gaps = [exercise("does-it-clear", class_number=number).task.answer.value for number in MANY]
        assert 0.2 < sum(gap > 0 for gap in gaps) / len(gaps) < 0.8
        assert all(abs(gap) >= 0.125 for gap in gaps)


class TestAnotherOrder:
    def test_one_to_three_orders_pass(self):
        for number in MANY:
            q = exercise("another-order", class_number=number)
            assert 2 <= len(CASES["another-order"].right(q)) <= 6
