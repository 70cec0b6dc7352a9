"""A question holds all that its answer needs, and its solution speaks of nothing that the question has not."""

from __future__ import annotations

import pytest
from attrs import evolve

from gearcalc import demo_lathe, exercise, exercise_names
from gearcalc.exercises.lesson_11 import _levered
from gearcalc.exercises.words import as_text

FEW = range(1, 9)


@pytest.mark.parametrize("name", exercise_names())
def test_no_lever_in_a_solution_without_one_in_the_question(name):
    for number in FEW:
        q = exercise(name, class_number=number)
        said = " ".join(as_text(part) for part in q.solution().parts)
        assert "lever" in str(q).casefold() or "lever" not in said, (number, said)


class TestNamesOfLevers:
    """A lathe names its levers as it likes: an exercise takes them from the lathe, by what they make of a turn."""

    @staticmethod
    def renamed(name):
        lathe = demo_lathe(name)
        gearbox, plate = (
            tuple(evolve(row, lever=f"{row.lever}-x") for row in rows) for rows in (lathe.gearbox, lathe.plate)
        )
        return evolve(lathe, gearbox=gearbox, plate=plate)

    @pytest.mark.parametrize("number", FEW)
    def test_name_the_slip(self, number, monkeypatch):
        monkeypatch.setattr("gearcalc.exercises.lesson_10.demo_lathe", self.renamed)
        q = exercise("name-the-slip", class_number=number)
        assert q.task.answer.choices[-2:] == ("lever at low-x", "lever at high-x")
        assert q.check(q.task.answer.value).is_right
        assert q.solution().parts

    @pytest.mark.parametrize("number", FEW)
    def test_lever_for_a_feed(self, number, monkeypatch):
        monkeypatch.setattr("gearcalc.exercises.lesson_11.demo_lathe", self.renamed)
        _levered.cache_clear()
        q = exercise("lever-for-a-feed", class_number=number)
        _levered.cache_clear()
        assert q.task.answer.choices == ("slow-x", "medium-x", "fast-x")
        assert "slow-x 1/4, medium-x 1/2, fast-x 1" in q.question
