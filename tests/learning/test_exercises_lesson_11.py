"""The exercises of lesson 11 over many class numbers: each can be solved, and is what it says it is."""

from __future__ import annotations

import re
from fractions import Fraction

from tests.how_much import MANY, exercise, in_one
from tests.learning.exercise_cases.lesson_11 import CASES


@in_one("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        for answer in CASES[name].right(q):
            assert q.check(answer).is_right, (number, answer)


class TestHowDeepAreTheGrooves:
    def test_arc_and_formula_are_both_right(self):
        """So that whoever reckons with true arcs is not marked wrong; in lesson_11's own forms the last is that."""
        for number in MANY:
            q = exercise("how-deep-are-the-grooves", class_number=number)
            assert q.check(CASES["how-deep-are-the-grooves"].right(q)[-1]).is_right


class TestCoarsestFeed:
    def test_the_workshop_formula_chooses_the_same_feed(self):
        for number in MANY:
            q = exercise("coarsest-feed-that-will-do", class_number=number)
            most, nose = map(float, re.findall(r"\*\*([\d.]+) [µm]+\*\*", q.question))
            feeds = [float(row[1]) for row in q.task.table.rows]
            assert q.check(max(feed for feed in feeds if 1000 * feed**2 / 8 / nose <= most)).is_right

    def test_a_finish_such_as_turning_leaves(self):
        """Rt of 1.6 to 16 µm: who wants less grinds (common practice, no source)."""
        for number in MANY:
            q = exercise("coarsest-feed-that-will-do", class_number=number)
            assert 1.6 <= float(re.findall(r"\*\*([\d.]+) µm", q.question)[0]) <= 16
            assert exercise("how-deep-are-the-grooves", class_number=number).task.answer.value >= Fraction("1.6")


class TestFastEnough:
    def test_a_slower_and_a_faster_speed_are_there(self):
        for number in MANY:
            q = exercise("fast-enough-and-no-faster", class_number=number)
            speeds = [int(row[1]) for row in q.task.table.rows]
            assert min(speeds) < q.task.answer.value < max(speeds)


class TestLeverForAFeed:
    def test_every_lever_is_the_answer_for_somebody(self):
        found = {exercise("lever-for-a-feed", class_number=number).task.answer.value for number in range(40)}
        assert found == {"slow", "medium", "fast"}
