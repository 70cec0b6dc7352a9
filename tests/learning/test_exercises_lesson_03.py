"""The exercises of lesson 03 over many class numbers: each task can be solved, and is what it says it is."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
import sympy

from tests.how_much import MANY, exercise
from tests.learning.exercise_cases.lesson_03 import CASES
from tests.learning.exercise_cases.reading import INCH, box, lead_said, leadscrew


@pytest.mark.parametrize("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        assert q.check(CASES[name].right(q)[0]).is_right, number


class TestTheRatioWith127:
    def test_the_ratio_keeps_its_127_and_serves_as_a_pair(self):
        for number in MANY:
            ratio = exercise("the-ratio-with-127", class_number=number).task.answer.value
            assert ratio.denominator in (127, 2 * 127, 4 * 127)
            assert Fraction(1, 6) < ratio < 1

    @pytest.mark.parametrize("given", ["0.3149606", "40 : 127", "forty", "40/0"])
    def test_a_decimal_is_not_the_fraction(self, given):
        assert not exercise("the-ratio-with-127").check(given).is_right


class TestAPairWith127:
    def test_both_kinds_of_leadscrew_are_asked_for(self):
        screws = {exercise("a-pair-with-127", class_number=number).question.split("**")[1][-3:] for number in range(20)}
        assert screws == {"tpi", " mm"}

    def test_the_127_is_driven_on_an_inch_screw_and_drives_on_a_metric_one(self):
        for number in MANY:
            q = exercise("a-pair-with-127", class_number=number)
            wanted = re.search(r"cuts \*\*([\d.]+ (?:mm|tpi))\*\* exactly", q.question)
            assert wanted
            ratio = lead_said(wanted[1]) / leadscrew(q)
            inch_screw = "tpi" in q.question.split("**")[1]
            assert ratio.denominator % 127 == (0 if inch_screw else ratio.denominator % 127)
            assert (ratio.numerator if not inch_screw else ratio.denominator) % 127 == 0
            assert ratio < 3  # the leadscrew is not driven too fast
            assert box(q).count(127) == 1
            assert len(set(box(q))) == len(box(q)) == 9

    def test_gears_that_are_not_there_are_not_called_inexact(self):
        for number in range(20):
            q = exercise("a-pair-with-127", class_number=number)
            top, bottom = q.task.answer.value.as_integer_ratio()
            twice = (2 * top, 2 * bottom) if 127 in (top, bottom) else (top, bottom)
            outcome = q.check((twice[:1], twice[1:]))
            assert outcome.slip == "not in the box", number
            assert "exact" not in outcome.feedback
            assert "the right ratio" in outcome.feedback


class TestWhichSetsCanDoIt:
    def test_some_can_and_some_cannot(self):
        for number in MANY:
            answer = exercise("which-sets-can-do-it", class_number=number).task.answer
            assert 1 <= len(answer.value) < answer.rows == 4

    def test_the_solution_gives_a_reason_for_each_box(self):
        for number in range(30):
            q = exercise("which-sets-can-do-it", class_number=number)
            said = str(q.solution())
            assert all(f"Box {place}: " in said for place in range(1, 5))

    def test_every_kind_of_box_is_met(self):
        kinds = set()
        for number in range(60):
            for _, gears in exercise("which-sets-can-do-it", class_number=number).task.table.rows:
                held = {int(teeth) for teeth in gears.split(", ")} & {126, 127, 128, 254}
                kinds.add(frozenset(held))
        assert kinds == {frozenset({127}), frozenset({254}), frozenset({126, 128}), frozenset()}


class TestMetricOrInchInDisguise:
    def test_what_is_called_rounded_is_no_inch_pitch_but_near_one(self):
        from gearcalc.learning.exercises.lesson_03 import _IN_DISGUISE, _ROUNDED_TPI, _TRULY_METRIC

        for pitch, tpi in _ROUNDED_TPI.items():
            assert round(float(INCH) / tpi, 3) == float(pitch)
            assert 127 not in sympy.factorint(Fraction(pitch).numerator)
        for pitch in _IN_DISGUISE:
            assert max(sympy.factorint((Fraction(pitch) / INCH).denominator)) <= 5
        for pitch in _TRULY_METRIC:
            assert (Fraction(pitch) / INCH).denominator % 127 == 0

    def test_a_near_pitch_stands_beside_a_true_one(self):
        for number in MANY:
            answer = exercise("metric-or-inch-in-disguise", class_number=number).task.answer
            assert 1 <= len(answer.value) <= 2
            assert answer.rows == 5


def test_the_forty_of_the_lesson_is_for_its_own_leadscrew():
    met = 0
    for number in MANY:
        q = exercise("a-pair-with-127", class_number=number)
        screw = re.search(r"leadscrew of (\d+) tpi", str(q))
        wanted = re.search(r"that cuts ([\d.]+) mm exactly", str(q))
        if not (screw and wanted and screw[1] != "8"):
            continue
        driver = Fraction(wanted[1]) * 40
        if driver.denominator == 1:
            met += 1
            outcome = q.check(f"{driver}/127")
            assert outcome.slip == "the 40 of another leadscrew"
            assert f"5 · {screw[1]}" in outcome.feedback
    assert met
