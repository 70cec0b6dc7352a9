"""Lesson 09's exercises: the trains offered cut what is said, and an order is read in many forms."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.cards.steps import steps_of
from gearcalc.exercises import exercise
from gearcalc.exercises.lesson_09 import _STEPS
from gearcalc.exercises.order_of_rows import InOrder
from tests.unit.exercise_cases.reading import lead_said


class TestStepsInOrder:
    def test_the_steps_are_those_of_the_card_in_its_order(self):
        lathe = gc.demo_lathe("inch")
        card = gc.change_card(lathe, to=gc.find_setups(lathe, "12 tpi", count=1)[0])
        keys = [step.key for step in steps_of(card.change)]
        assert [key for key in keys if key in _STEPS] == list(_STEPS)

    @pytest.mark.parametrize(
        "given", ["3 1 2", "3, 1, 2", "3-1-2", "3 → 1 → 2", "3 then 1 then 2", [3, 1, 2], (3, 1, 2)]
    )
    def test_an_order_in_many_forms(self, given):
        order = InOrder((3, 1, 2))
        assert order.is_right(order.read(given))

    @pytest.mark.parametrize("given", ["", "4 1 2", "one two", [True, 1, 2], None, object(), "0", "1.5"])
    def test_what_is_no_order(self, given):
        with pytest.raises((ValueError, TypeError)):
            InOrder((3, 1, 2)).read(given)

    def test_turned_round(self):
        q = exercise("steps-in-order", class_number=4)
        assert q.check(q.task.answer.value[::-1]).slip in ("turned round", "cover before isolating")


class TestFewestToMove:
    @pytest.mark.parametrize("number", range(0, 60, 3))
    def test_all_four_cut_the_thread_from_the_set(self, number):
        q = exercise("fewest-to-move", class_number=number)
        lathe = gc.demo_lathe("inch")
        wanted = lead_said(re.search(r"next job is \*\*(.+?)\*\*", q.question)[1])
        for row in q.task.table.rows:
            (a, b), (c, d) = (map(int, cell.split("/")) for cell in row[1:])
            assert Fraction(127, 40) * Fraction(a * c, b * d) == wanted
            lathe.check_owned((a, b, c, d))
