"""Any object handed in as an answer gets an outcome, for any exercise and class number; nothing is ever raised."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.learning.exercises.tasks import NOT_RIGHT, NOT_YET, RIGHT
from tests.how_much import examples
from tests.learning.exercise_cases import CASES

_numbers = st.one_of(st.integers(), st.floats(), st.fractions(), st.decimals(), st.complex_numbers(), st.booleans())
_teeth = st.lists(st.integers(0, 130), max_size=4).map(tuple)
_trade_text = st.text(alphabet="0123456789/.,x·()-−+ tpimnMTrLH\"'π\n", max_size=30)
_odd = st.sampled_from(
    [
        object(), object, print, lambda: None, SimpleNamespace(numerator=1, denominator=0), np.zeros(3), np.array("x"),
        pd.DataFrame({"a": [1]}), pd.NA, sympy.Symbol("x"), sympy.pi, sympy.zoo, gc, gc.demo_lathe("inch"),
        gc.Train((40,), (80,)), gc.Thread.parse("module 1.5"), gc.Feed.parse("5 thou"), NotImplemented, ValueError("x"),
        10**5000, "9" * 5000, "<b>", b"40/80", bytearray(b"1"), range(10**9), iter(()),
    ]
)  # fmt: skip
anything = st.one_of(
    _numbers,
    st.text(max_size=40),
    _trade_text,
    st.binary(max_size=8),
    _odd,
    st.tuples(_teeth, _teeth),
    st.recursive(_numbers, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner)),
)


@pytest.mark.parametrize("name", gc.exercise_names())
@given(answer=anything, number=st.integers(0, 1_000_000))
@examples(25)
def test_any_object_gets_an_outcome(name, answer, number):
    q = gc.exercise(name, class_number=number)
    outcome = q.check(answer)
    assert outcome.state in (NOT_YET, NOT_RIGHT, RIGHT)
    assert outcome.feedback
    assert str(outcome)
    assert outcome._repr_html_().startswith("<div")


@pytest.mark.parametrize("name", CASES)
@given(number=st.integers(0, 1_000_000))
@examples(12)
def test_every_class_number_has_a_right_answer(name, number):
    q = gc.exercise(name, class_number=number)
    assert all(q.check(answer).is_right for answer in CASES[name].right(q))
