"""The exercises of lesson 08 over many class numbers: each can be solved, and every kind of case is met."""

from __future__ import annotations

from tests.how_much import MANY, exercise, in_one
from tests.learning.exercise_cases.lesson_08 import CASES


@in_one("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        assert q.check(CASES[name].right(q)[0]).is_right, number


class TestWhichLinesServe:
    def test_every_kind_of_answer_is_met(self):
        tasks = [exercise("which-lines-serve", class_number=number).task.answer for number in MANY]
        counts = [min(len(answer.value), 2) for answer in tasks]
        assert min(map(counts.count, (0, 1, 2))) >= len(MANY) / 10

    def test_whoever_closes_anywhere_is_never_right(self):
        """'It worked with 16 tpi': the lesson's warning must show in every class number."""
        for number in MANY:
            q = exercise("which-lines-serve", class_number=number)
            assert q.check(range(1, q.task.answer.rows + 1)).slip == "all of them"


class TestWhichDialGearsServe:
    def test_never_all_and_never_none(self):
        counts = [len(exercise("which-dial-gears-serve", class_number=number).task.answer.value) for number in MANY]
        assert {1, 2, 3} <= set(counts) <= {1, 2, 3, 4}
        assert counts.count(4) < len(MANY) / 20


class TestHowFarOut:
    def test_as_the_lesson_says(self):
        found = [exercise("how-far-out-of-the-groove", class_number=number) for number in MANY]
        known = [q for q in found if "**1.5 mm**" in q.question and "**8 tpi**" in q.question]
        assert known
        assert all(q.check(0.2).is_right for q in known)  # 50.8 mm are 34 leads of 1.5 mm, less 0.2 mm
