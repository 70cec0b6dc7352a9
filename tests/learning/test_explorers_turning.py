"""The turning train without a browser: counters against arithmetic by hand, and what a page needs to turn it."""

from __future__ import annotations

import re
from contextlib import suppress
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, GearNotOwnedError, ValueOutOfRangeError
from gearcalc.lathes import demo_lathe
from gearcalc.learning.explorers import turning_train
from gearcalc.learning.explorers.turning import turning_view
from gearcalc.pictures.cutting_strips import bar_mm, last_turn
from tests.strategies import anything

INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
SIX = {
    "first_driver": 40,
    "first_driven": 127,
    "second_driver": 60,
    "second_driven": 80,
    "first_idler": 50,
    "second_idler": 24,
    "lever": "fast",
}
anything_or_a_gear = anything | st.sampled_from(METRIC.gears)


def counted(view) -> dict[str, str]:
    """The rows of counters under the picture: what, and how much."""
    head = next(key for key in view.picture.table[-1] if key.startswith("after"))
    return {row["place"]: row[head] for row in view.picture.table if head in row}


def numbers(view, attribute: str) -> list[float]:
    return [float(part.get(attribute)) for part in ElementTree.fromstring(view.svg).iter() if part.get(attribute)]


class TestCounters:
    def test_six_gears_over_ten_turns_of_the_spindle(self):
        # By hand: 10 turns pass 400 teeth of the first mesh; 400/127 = 3.1496 turns of the stud pass 188.98 teeth of
        # its 60; 188.98/80 = 2.3622 turns of the leadscrew of 3 mm.
        seen = counted(turning_view(METRIC, **SIX, turns=10))
        assert seen == {
            "spindle": "10.00 turns",
            "first mesh": "400 teeth",
            "second mesh": "188 teeth",
            "leadscrew": "2.36 turns",
            "carriage": "≈ 7.0866 mm",
        }

    def test_the_lever_is_between_the_last_gear_and_the_leadscrew(self):
        slow = counted(turning_view(METRIC, **{**SIX, "lever": "slow"}, turns=10))
        assert slow["second mesh"] == "188 teeth"
        assert slow["leadscrew"] == "0.59 turns"

    def test_what_a_page_multiplies_gives_the_same_counts(self):
        view = turning_view(METRIC, **SIX)
        assert numbers(view, "data-count") == pytest.approx(
            [1, 40, 40 / 127 * 60, 40 * 60 / 127 / 80, 3 * 40 * 60 / 127 / 80 / 25.4, 3 * 40 * 60 / 127 / 80]
        )
        assert numbers(view, "data-tooth") == pytest.approx([1 / 40])
        assert numbers(view, "data-most-teeth") == pytest.approx([40])

    def test_every_gear_and_pointer_turns_as_the_train_says(self):
        # Signs by hand: each mesh turns the motion round; the first driver is 1.
        view = turning_view(METRIC, **SIX)
        gears = sorted(numbers(view, "data-turns"))
        stud, last = -40 / 127, 40 * 60 / 127 / 80
        expected = [1, -40 / 50, 40 / 24, stud, stud, last, 1, last]  # six gears, spindle, leadscrew
        assert gears == pytest.approx(sorted(expected))


class TestTheWayOfTurning:
    """Each place where teeth touch turns the motion round: signs by hand, 40 driving 80 through idlers."""

    @staticmethod
    def leadscrew_turns(*idlers: int) -> float:
        chosen = dict(zip(("first_idler", "second_idler"), idlers, strict=False))
        made = {"first_driver": 40, "first_driven": 80, "lever": "middle", "thread": "16 tpi", "reverse": "as it is"}
        shown = turning_view(INCH, **made, **chosen).svg
        first = float(re.search(r'data-first-driver="([^"]+)"', shown)[1])
        dials = re.findall(r'data-rest="[^"]+" data-turns="([^"]+)"><path d="M0 -15', shown)
        spindle, leadscrew = (first * float(turns) for turns in dials)
        assert spindle == pytest.approx(1)
        return leadscrew

    def test_with_the_reverse_left_alone_each_idler_turns_the_leadscrew_round(self):
        assert self.leadscrew_turns() == pytest.approx(-1 / 2)
        assert self.leadscrew_turns(50) == pytest.approx(1 / 2)
        assert self.leadscrew_turns(50, 30) == pytest.approx(-1 / 2)

    def test_the_page_says_which_hand_that_cuts(self):
        explorer = turning_train(INCH, 40, 80, lever="middle", thread="16 tpi", reverse="as it is")
        assert explorer.shown.facts[0]["hand"] == "left, reverse as it is"
        assert "cuts a left-hand thread" in explorer.shown.picture.description
        explorer.set(first_idler=50)
        assert explorer.shown.facts[0]["hand"] == "right, reverse as it is"

    def test_a_third_way_for_the_reverse_is_refused(self):
        with pytest.raises(GearcalcError, match="reverse"):
            turning_view(INCH, first_driver=40, first_driven=80, lever="middle", reverse="up")


class TestPairsAndIdlers:
    def test_half_a_pair_does_not_count_and_says_so(self):
        view = turning_view(METRIC, first_driver=40, first_driven=80, second_driver=60, lever="fast")
        assert str(view.facts[0]["lead"]) == "1.5 mm"
        assert "once it has both" in view.note

    def test_none_in_any_spelling_is_no_gear(self):
        for none in (None, "", " None ", "NONE"):
            assert turning_view(METRIC, first_driver=40, first_driven=80, first_idler=none, lever="fast").note == ""

    def test_more_than_two_pairs_or_half_of_one_is_refused(self):
        with pytest.raises(ValueOutOfRangeError, match="as many drivers as driven"):
            turning_train(METRIC, (40, 60), (80,))
        with pytest.raises(GearcalcError):
            turning_train(METRIC, (20, 24, 30), (80, 100, 127))
        with pytest.raises(GearNotOwnedError, match="no gear of 21"):
            turning_train(METRIC, 40, 80, idlers=21)


class TestTurns:
    @pytest.mark.parametrize("turns", [-1, 10_001, "many", float("nan")])
    def test_turns_out_of_range_are_refused(self, turns):
        with pytest.raises(GearcalcError):
            turning_view(METRIC, first_driver=40, first_driven=80, lever="fast", turns=turns)

    @given(st.dictionaries(st.sampled_from([*SIX, "thread", "turns"]), anything_or_a_gear))
    def test_whatever_is_typed_gives_a_view_or_one_of_our_errors(self, typed):
        with suppress(GearcalcError):
            view = turning_view(METRIC, **{**SIX, **typed})
            ElementTree.fromstring(view.svg)


class TestBar:
    @given(st.fractions(min_value="1/10000", max_value=10_000))
    def test_the_bar_shows_eight_turns_or_more_and_ends_within_a_turn_of_the_last(self, lead):
        shown, last = bar_mm(lead), last_turn(lead)
        assert last * lead <= shown < (last + 1) * lead
        assert last >= 8

    def test_a_bar_is_as_long_as_the_turns_that_are_asked_for(self):
        assert bar_mm(Fraction(3, 2), Fraction(1000)) >= 1500

    @pytest.mark.parametrize("lead", [Fraction(1, 10_001), Fraction(10_001)])
    def test_no_bar_for_a_lead_beyond_reason(self, lead):
        with pytest.raises(ValueOutOfRangeError, match="no bar"):
            bar_mm(lead)
