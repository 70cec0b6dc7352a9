"""The explorer of the dial without a browser: lines and threads in, passes and words out."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.lathes import Dial, DialGear, GearSet, Lathe, Leadscrew, demo_lathe
from gearcalc.learning.explorers.catch_and_prove import GEARS, catch_the_thread, catch_view
from tests.pictures.svg_texts import boxes_off_the_sheet, boxes_on_each_other
from tests.strategies import anything

INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
BARE = Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 80]')
BETWEEN = Lathe("A", Leadscrew(3), GearSet([40, 80]), dial=Dial([DialGear(15, 6)]))


def said_in_our_words(show, **arguments) -> bool:
    """Whether it is shown, or refused with an error of ours that says something; any other error goes through."""
    try:
        return bool(show(**arguments).svg)
    except GearcalcError as refusal:
        return bool(str(refusal))


class TestCatchView:
    @pytest.mark.parametrize(("second", "third", "turns"), [(1, 1, 0), (1, 5, 1), (3, 2, 1), (8, 8, 2), (2, 1, 0)])
    def test_leadscrew_threads_by_hand(self, second, third, turns):
        rows = catch_view(INCH, thread="11 tpi", second=second, third=third, turns=turns).facts
        # Two threads from line to line, sixteen a turn; each line is waited for, and then so many turns more.
        to_second = 2 * ((second - 1) % 8) + 16 * turns
        to_third = to_second + 2 * ((third - second) % 8) + 16 * turns
        assert [row["leadscrew threads"] for row in rows] == [0, to_second, to_third]
        assert [row["closed at line"] for row in rows] == [1, second, third]
        for row, threads in zip(rows[1:], (to_second, to_third), strict=True):
            # 8 leadscrew threads make an inch, and 11 threads do.
            assert (row["the tool is"] == "in the groove") == (threads % 8 == 0)

    def test_the_worst_that_can_happen(self):
        rows = catch_view(INCH, thread="11 tpi", second=3, turns=0).facts  # 4 of 8 to the inch: 5 1/2 leads
        assert rows[1]["the tool is"] == f"≈ {float(Fraction(127, 5) / 22):.3f} mm out"

    def test_a_translated_thread_misses_its_own_line(self):
        seen = catch_view(INCH, thread="1.5 mm", second=1, third=1)
        assert [row["the tool is"] for row in seen.facts] == ["cutting the first groove", "0.2 mm out", "0.4 mm out"]
        assert "60/127" in seen.note

    def test_the_best_gears_of_the_lathe_have_a_rule_of_their_own(self):
        own = catch_view(INCH, thread="1 mm", gears=GEARS[1])
        assert "63/200" in own.note
        assert "+125 ppm" in own.note

    def test_another_start(self):
        seen = catch_view(METRIC, thread="lead 4 mm 2 starts", second=2, third=3)
        assert [row["the tool is"] for row in seen.facts][1:] == ["in another start's place", "in the groove"]

    def test_a_dial_gear_of_choice(self):
        wrong = catch_view(METRIC, thread="1.25 mm", dial_teeth="16", second=1, turns=1)
        assert wrong.facts[1]["the tool is"] == "0.5 mm out"  # 48 mm are 38 leads of 1.25 mm and 0.5 mm
        right = catch_view(METRIC, thread="1.25 mm", dial_teeth="15", second=1, turns=1)
        assert right.facts[1]["the tool is"] == "in the groove"

    def test_a_line_between_two_threads(self):
        with pytest.raises(NotPossibleError, match="don't close"):
            catch_view(BETWEEN, thread="1.25 mm", second=2)

    @pytest.mark.parametrize(
        "wrong",
        [
            {"second": 9},
            {"third": 0},
            {"second": "x"},
            {"turns": 10},
            {"turns": -1},
            {"dial_teeth": 17},
            {"gears": "some"},
            {"second": ""},
        ],
    )
    def test_what_is_refused(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            catch_view(INCH, **wrong)

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            catch_view(INCH, thread="banana")

    @settings(max_examples=30)
    @given(anything, anything, anything, anything)
    def test_anything_typed_is_shown_or_refused_in_our_words(self, second, third, turns, teeth):
        assert said_in_our_words(catch_view, lathe=INCH, second=second, third=third, turns=turns, dial_teeth=teeth)

    @settings(max_examples=40)
    @given(
        st.sampled_from(
            [
                "11 tpi",
                "1.5 mm",
                "M8",
                "lead 4 mm 2 starts",
                "module 1.5 2 starts",
                "lead 12 mm 6 starts",
                "1-1/8-12 UNF-2A LH",
            ]
        ),
        st.integers(1, 5),
        st.integers(1, 5),
        st.integers(0, 9),
        st.sampled_from([14, 15, 16]),
    )
    def test_words_keep_off_each_other(self, thread, second, third, turns, teeth):
        seen = catch_view(METRIC, thread=thread, second=second, third=third, turns=turns, dial_teeth=teeth)
        assert boxes_on_each_other(seen.svg) == []
        assert boxes_off_the_sheet(seen.svg) == []


class TestCatchTheThread:
    def test_it_begins_with_a_picture_and_no_message(self):
        explorer = catch_the_thread(INCH)
        assert (explorer.message, explorer.failure) == ("", None)
        assert explorer.svg.startswith("<svg")

    def test_a_refusal_leaves_the_last_good_picture(self):
        explorer = catch_the_thread(METRIC, "1.25 mm")
        before = explorer.svg
        explorer.set(second=8)
        assert "lines 1 to 5" in explorer.message
        assert explorer.svg == before
        explorer.set(second=1, thread="banana")
        assert "banana" in explorer.message
        assert explorer.failure is None

    def test_a_lathe_without_a_dial(self):
        with pytest.raises(ValueOutOfRangeError, match=r"no dial.*Add \[dial\]"):
            catch_the_thread(BARE)
