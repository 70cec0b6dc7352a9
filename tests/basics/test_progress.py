"""How far a long search has got: by a bar, by the caller's own way, or not at all; the steps stay as they are."""

from __future__ import annotations

import pytest

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.progress import how_shown


class TestHowShown:
    def test_a_function_is_given_steps_and_words_and_hands_the_steps_on(self):
        asked = []

        def own(steps, doing):
            asked.append(doing)
            return steps

        assert list(how_shown(own)([1, 2, 3], "Counting")) == [1, 2, 3]
        assert asked == ["Counting"]

    @pytest.mark.parametrize("nothing", [lambda steps, doing: None, lambda steps: steps, lambda steps, doing: 3])
    def test_one_that_hands_nothing_on_is_refused(self, nothing):
        with pytest.raises(ValueOutOfRangeError, match="progress is a function that takes steps and words, and hands"):
            how_shown(nothing)([1, 2], "Counting")

    @pytest.mark.parametrize("progress", [None, "yes", 1, 0])
    def test_what_is_neither_a_function_nor_yes_or_no_is_refused(self, progress):
        with pytest.raises(ValueOutOfRangeError, match="progress must be True or False, not"):
            how_shown(progress)

    def test_unasked_nothing_is_shown(self, capsys):
        assert list(how_shown(False)([1, 2, 3], "Counting")) == [1, 2, 3]
        assert capsys.readouterr() == ("", "")

    def test_a_bar_says_what_is_done_and_leaves_nothing_behind(self, capsys):
        assert list(how_shown(True)([1, 2, 3], "Counting")) == [1, 2, 3]
        shown = capsys.readouterr().err
        assert "Counting" in shown
        assert shown.rpartition("\r")[0].rpartition("\r")[2].strip() == ""
        assert "\n" not in shown
