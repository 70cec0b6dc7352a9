"""What the exercises of lesson 02 teach besides right and wrong."""

from __future__ import annotations

import re
from fractions import Fraction
from math import prod

import pytest

import gearcalc as gc
from gearcalc.learning.exercises.notes import as_text


class TestASplitIsWorkedByTheMovesThatAreTaught:
    """Lowest terms, widened where that does not split, split, each fraction widened to two gears of the box."""

    @pytest.mark.parametrize("number", range(1, 25))
    def test_every_step_is_equal_and_ends_at_gears_of_the_box(self, number):
        q = gc.exercise("split-a-ratio", class_number=number)
        needed, box = re.search(r"the ratio (\d+/\d+), .* each of ([\d, ]+)\.", as_text(q)).groups()
        worked = str(q.solution())
        whole, pairs = re.search(r"\n(\d[^.]*)\. Then (.*)\.\n", worked).groups()
        values = [prod(map(Fraction, step.split(" · "))) for step in whole.split(" = ")]
        assert set(values) == {Fraction(needed)}
        short = whole.split(" = ")[-1].split(" · ")
        ends = [step.split(" = ") for step in pairs.split(" and ")]
        assert [steps[0] for steps in ends] == short
        assert all(len(set(map(Fraction, steps))) == 1 for steps in ends)
        gears = [int(teeth) for steps in ends for teeth in steps[-1].split("/")]
        assert len(set(gears)) == 4
        assert set(gears) <= set(map(int, box.split(", ")))

    def test_a_ratio_that_does_not_split_is_widened_first(self):
        assert "2/5 = 4/10 = 1/2 · 4/5. Then 1/2 = 32/64 and 4/5 = 40/50." in str(
            gc.exercise("split-a-ratio", class_number=7).solution()
        )
