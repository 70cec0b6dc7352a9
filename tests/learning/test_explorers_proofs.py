"""The explorer of the proof without a browser: what is typed and dragged in, picture, facts and words out."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError
from gearcalc.learning.explorers.catch_and_prove import (
    HANDS,
    SHOWN,
    detective_view,
    measurement_view,
    proof_view,
    prove_the_cut,
)
from tests.pictures.svg_texts import boxes_off_the_sheet, boxes_on_each_other
from tests.strategies import anything

INCH = gc.demo_lathe("inch")
MEANT = gc.setup(INCH, 40, 50, "low", wanted="20 tpi")


def said_in_our_words(view, *given, **arguments) -> bool:
    """Whether it is shown, or refused with an error of ours that says something; any other error goes through."""
    try:
        return bool(view(*given, **arguments).svg)
    except GearcalcError as refusal:
        return bool(str(refusal))


@pytest.fixture
def explorer():
    return prove_the_cut(INCH, MEANT)


class TestTheExplorer:
    def test_it_begins_with_a_picture_and_no_message(self, explorer):
        assert (explorer.message, explorer.failure) == ("", None)
        assert explorer.svg.startswith("<svg")
        assert "<table>" in explorer.facts

    def test_every_control_has_a_label_and_a_name_of_its_own(self, explorer):
        names = [control["name"] for control in explorer.controls]
        labels = [control["label"] for control in explorer.controls]
        assert len(set(names)) == len(set(labels)) == len(explorer.controls) == 8

    @pytest.mark.parametrize("show", SHOWN)
    def test_every_box_refuses_nonsense_and_the_last_picture_stays(self, explorer, show):
        explorer.set(show=show)
        before = explorer.svg
        for control in explorer.controls:
            if control["kind"] == "choice" or (show == SHOWN[0] and control["name"] == "gears"):
                continue
            for nonsense in ("banana", "-5", "", "0", "1e9", "<script>", "9" * 300, "\x00", "1/0", None):
                explorer.set(**{control["name"]: nonsense})
                assert explorer.message, (control["name"], nonsense)
                assert "\n" not in explorer.message
                assert (explorer.svg, explorer.failure) == (before, None)
            explorer.set(**{control["name"]: control["value"]})
            assert explorer.message == ""

    def test_a_hand_that_was_seen_counts_on_both_sides(self, explorer):
        explorer.set(length="12.7", limit="0.05", hand="right")
        assert explorer.shown.facts[0]["agrees"] == "yes"
        explorer.set(hand="left")
        assert explorer.shown.facts[0]["agrees"] == "no"
        assert "left-hand" in explorer.facts

    def test_the_picture_keeps_its_shape(self, explorer):
        for show in SHOWN:
            explorer.set(show=show)
            root = ElementTree.fromstring(explorer.svg)
            assert float(root.get("width")) / float(root.get("height")) == pytest.approx(explorer.aspect)

    def test_an_uncertainty_larger_than_the_pitch_is_told(self, explorer):
        explorer.set(thread="0.5 mm", limit="0.6")
        assert "larger than the pitch, 0.5 mm" in explorer.message

    def test_a_lathe_without_a_choice_of_levers_shows_none(self):
        lathe = gc.Lathe.from_toml('name = "Plain"\nleadscrew.lead = "2 mm"\ngears.teeth = [20, 40, 60]')
        plain = prove_the_cut(lathe, gc.setup(lathe, 20, 40, wanted="1 mm"), length=10, limit=0.1)
        assert "lever" not in {control["name"] for control in plain.controls}
        plain.set(show=SHOWN[1], length=40)
        assert "upside down" in plain.facts

    def test_refuses_a_setup_that_wants_nothing(self):
        with pytest.raises(ValueOutOfRangeError):
            prove_the_cut(INCH, gc.setup(INCH, 40, 50, "low"))
        with pytest.raises(ValueOutOfRangeError):
            prove_the_cut(INCH, "20 tpi")


class TestWhatIsPossible:
    def test_the_verdict_follows_the_turns(self, explorer):
        explorer.set(thread="1.25 mm", length=12.6, limit=0.25)
        facts = explorer.shown.facts[0]
        assert (facts["agrees"], facts["turns to be sure"]) == ("yes", "26")
        assert "not proven" in explorer.facts
        explorer.set(turns=26, length="32.6")
        assert explorer.shown.facts[0]["how sure"] == "it agrees, and nothing else does"

    def test_the_other_pitch(self):
        facts = measurement_view("1.25 mm", "10", "12.7", "0.02").facts[0]
        assert (facts["agrees"], facts["how sure"]) == ("no", "it is another pitch")


class TestWhichSlip:
    def test_levers_gears_and_hand(self, explorer):
        explorer.set(show=SHOWN[1], length=25.4, limit=0.1)
        assert explorer.shown.facts[0]["what may have happened"] == "The lever stands at middle instead of low."
        explorer.set(gears="(40 · 50)/(80 · 63), idler 55 in the first mesh", lever="middle", length=12.6)
        assert explorer.shown.facts[0]["what may have happened"].startswith("Nothing wrong")
        explorer.set(hand="left")
        assert explorer.shown.facts[0]["what may have happened"].startswith("Cut left-hand instead of right-hand")

    def test_at_most_five_rows_and_the_caution(self, explorer):
        explorer.set(show=SHOWN[1], gears="(40 · 50)/(80 · 63), idler 55", lever="middle", turns=1, length=2, limit=1.2)
        assert len(explorer.shown.facts) == 5
        assert "more would fit. Measure over more turns." in explorer.facts
        assert "isolate the lathe" in explorer.facts

    def test_nothing_fits(self):
        shown = detective_view(INCH, MEANT, 1, 9.9, 0.01)
        assert shown.facts[0]["what may have happened"] == "nothing here"
        assert "No single slip" in shown.note


class TestAnythingAtAll:
    @settings(max_examples=60)
    @given(st.sampled_from(["thread", "turns", "length", "limit", "gears", "lever", "hand", "show"]), anything)
    def test_it_is_shown_or_refused_in_our_words(self, name, value):
        good = {"show": SHOWN[1], "thread": "20 tpi", "gears": "40/50", "lever": "low"}
        assert said_in_our_words(proof_view, INCH, **{**good, name: value})

    @settings(max_examples=40)
    @given(st.integers(1, 60), st.integers(1, 2000), st.integers(1, 100), st.sampled_from(HANDS))
    def test_no_words_lie_on_others(self, turns, length, limit, hand):
        try:
            shown = detective_view(INCH, MEANT, turns, length / 20, limit / 100, hand)
        except GearcalcError:
            return
        assert boxes_off_the_sheet(shown.svg) == []
        assert boxes_on_each_other(shown.svg) == []
