"""A question holds all that its answer needs, and its solution speaks of nothing that the question has not."""

from __future__ import annotations

import pytest

from gearcalc import exercise, exercise_names
from gearcalc.exercises.words import as_text

FEW = range(1, 9)


@pytest.mark.parametrize("name", exercise_names())
def test_no_lever_in_a_solution_without_one_in_the_question(name):
    for number in FEW:
        q = exercise(name, class_number=number)
        said = " ".join(as_text(part) for part in q.solution().parts)
        assert "lever" in str(q).casefold() or "lever" not in said, (number, said)
