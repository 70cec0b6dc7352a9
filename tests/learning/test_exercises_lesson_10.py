"""The exercises of lesson 10 over many class numbers: the worked solution keeps to what was asked."""

from __future__ import annotations

import re
from math import isclose

from tests.how_much import MANY, exercise


class TestWhichPitchesRemain:
    def test_no_pitch_is_taken_for_the_wanted_one(self):
        """The question names none, so none 'agrees' while others 'would agree too'."""
        for number in MANY:
            q = exercise("which-pitches-remain", class_number=number)
            said = str(q.task.solved())
            assert "agree" not in said
            assert "Smallest lead" in said


class TestWhichSlipWasIt:
    def test_the_last_hint_holds_for_each_slip(self):
        """Measured over meant is 2, a half, or the square of what the hint names."""
        for number in MANY:
            q = exercise("name-the-slip", class_number=number).task
            a, b, x, y = map(int, re.findall(r"\((\d+) · (\d+)\)/\((\d+) · (\d+)\)", q.question)[0])
            measured = float(re.findall(r"lead of \*\*([\d.]+) mm", q.question)[0])
            meant = float(re.findall(r"([\d.]+) mm\.", q.hints[0])[0])
            exchanged = [tuple(map(int, pair)) for pair in re.findall(r"(\d+) over (\d+)", q.hints[-1])]
            squares = [(driven / driver) ** 2 for driven, driver in [(x, a), (y, b), *exchanged]]
            assert any(isclose(measured / meant, each, rel_tol=0.02) for each in (2, 0.5, *squares)), number
            assert exchanged == [(y, a)]
