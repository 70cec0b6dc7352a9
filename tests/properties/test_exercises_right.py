"""Every class number has a right answer to every exercise. What else may be answered: tests/fuzzing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from tests.how_much import examples
from tests.learning.exercise_cases import CASES


@pytest.mark.parametrize("name", CASES)
@given(number=st.integers(0, 1_000_000))
@examples(12)
def test_every_class_number_has_a_right_answer(name, number):
    q = gc.exercise(name, class_number=number)
    assert all(q.check(answer).is_right for answer in CASES[name].right(q))
