"""The exercises of lesson 10 over many class numbers: the worked solution keeps to what was asked."""

from __future__ import annotations

from tests.how_much import MANY, exercise


class TestWhichPitchesRemain:
    def test_no_pitch_is_taken_for_the_wanted_one(self):
        """The question names none, so none 'agrees' while others 'would agree too'."""
        for number in MANY:
            q = exercise("which-pitches-remain", class_number=number)
            said = str(q.task.solved())
            assert "agree" not in said
            assert "Smallest lead" in said
