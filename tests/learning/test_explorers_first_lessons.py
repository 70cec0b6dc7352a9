"""The first explorers without a browser: values in, picture, facts and message out."""

from __future__ import annotations

import re
from contextlib import suppress
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, GearNotOwnedError
from gearcalc.lathes import demo_lathe
from gearcalc.learning.explorers import one_turn
from gearcalc.learning.explorers.first_lessons import ask_view, one_turn_view, two_pairs, two_pairs_view
from gearcalc.learning.explorers.page import choice, number_slider
from gearcalc.learning.explorers.shell import Explorer
from tests.how_much import in_one
from tests.strategies import anything

INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
anything_or_a_gear = anything | st.sampled_from(INCH.gears)


class TestExplorer:
    def test_a_refusal_is_said_and_the_last_picture_stays(self):
        explorer = one_turn(INCH)
        before = explorer.svg
        explorer.set(driver="banana")
        assert explorer.message.startswith("The driver must be a whole number of teeth")
        assert explorer.svg == before
        explorer.set(driver=20)
        assert explorer.message == ""
        assert explorer.svg != before

    def test_a_failure_of_the_program_is_kept_for_tests_and_said(self):
        def fails(turns):
            raise ZeroDivisionError("turns")

        explorer = Explorer("Broken", [number_slider("turns", "Turns", 0, 9, 1)], fails)
        assert isinstance(explorer.failure, ZeroDivisionError)
        assert "The program failed here (ZeroDivisionError: turns)" in explorer.message

    def test_a_lathe_without_levers_gets_no_lever_buttons(self):
        bare = INCH.from_toml('name = "Bare"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 50, 80]')
        assert "lever" not in one_turn(bare).values

    def test_first_gears_must_be_owned(self):
        with pytest.raises(GearNotOwnedError, match="no gear of 127 teeth"):
            one_turn(INCH, driver=127)

    def test_choice_offers_its_own_options_as_labels(self):
        assert choice("hand", "Hand", ("right", "left"), "right")["labels"] == ["right", "left"]


class TestOneTurnView:
    @pytest.mark.parametrize(("lever", "tpi"), [("high", "8"), ("middle", "16"), ("low", "32")])
    def test_the_lever_halves_and_doubles(self, lever, tpi):
        # 40/80 on 8 tpi: lever 2, 1, 1/2 (worked by hand: 8 ÷ (1/2 · lever))
        assert one_turn_view(INCH, driver=40, driven=80, lever=lever).facts[0]["threads per inch"] == tpi

    def test_idlers_never_change_the_thread_and_turn_it_round(self):
        seen = {
            idlers: one_turn_view(INCH, driver=40, driven=80, lever="middle", idlers=idlers, idler=50).facts[0]
            for idlers in ("none", "one", "two")
        }
        assert {facts["threads per inch"] for facts in seen.values()} == {"16"}
        assert [facts["hand"].endswith("reverse over") for facts in seen.values()] == [True, False, True]

    def test_a_second_idler_needs_a_gear_left_over(self):
        few = INCH.from_toml('name = "Few"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 50, 80]')
        with pytest.raises(GearNotOwnedError, match="left over"):
            one_turn_view(few, driver=40, driven=80, idlers="two", idler=50)

    @given(st.permutations(INCH.gears), st.integers(0, 24))
    def test_facts_and_description_say_what_arithmetic_says(self, gears, turns):
        driver, driven, *_ = gears
        view = one_turn_view(INCH, driver=driver, driven=driven, lever="middle", turns=turns)
        lead = Fraction(254, 80) * driver / driven
        assert view.facts[0]["threads per inch"] == f"{round(float(Fraction(254, 10) / lead), 3):g}" or (
            float(view.facts[0]["threads per inch"]) == pytest.approx(float(Fraction(254, 10) / lead), abs=5e-4)
        )
        assert f"{driver}" in view.picture.description
        assert f"{driven}" in view.picture.description
        ElementTree.fromstring(view.svg)

    @given(driver=anything_or_a_gear, driven=anything_or_a_gear, idler=anything_or_a_gear, turns=anything_or_a_gear)
    def test_anything_at_all_gives_a_view_or_our_error(self, driver, driven, idler, turns):
        chosen = {"driver": driver, "driven": driven, "idlers": "one", "idler": idler, "turns": turns}
        with suppress(GearcalcError):
            ElementTree.fromstring(one_turn_view(INCH, lever="low", **chosen).svg)


class TestTwoPairsView:
    def test_the_stand_in_for_127_is_125_ppm_long(self):
        # computed: 30·63/(50·80) on 8 tpi against 1.5 mm is +125 ppm
        view = two_pairs_view(
            INCH, first_driver=30, first_driven=50, second_driver=63, second_driven=80, lever="middle", thread="1.5 mm"
        )
        assert view.facts[0]["error"] == "+125 ppm"

    def test_what_is_typed_is_escaped(self):
        with pytest.raises(GearcalcError) as caught:
            two_pairs_view(
                INCH,
                first_driver=30,
                first_driven=50,
                second_driver=63,
                second_driven=80,
                lever="middle",
                thread="<img src=x>",
            )
        assert "<img" in str(caught.value)  # said as text; the message line shows it as text
        view = two_pairs_view(
            INCH, first_driver=30, first_driven=50, second_driver=63, second_driven=80, lever="middle", thread=""
        )
        assert "error" not in view.facts[0]


class TestAskView:
    @in_one("thread", ["M10", "16 tpi", "1/2 BSW", "module 1", "M8 LH"])
    def test_lists_the_best_and_draws_the_one_chosen(self, thread):
        view = ask_view(METRIC, thread=thread, answer=2)
        assert [row["answer"] for row in view.facts][1] == "2, drawn"
        assert re.search(r"lead of", view.picture.description)

    def test_an_answer_beyond_the_last_draws_the_last(self):
        bare = INCH.from_toml('name = "Bare"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 80]')
        assert len(ask_view(bare, thread="1.5 mm", answer=6).facts) == 2

    def test_no_gears_says_so(self):
        empty = INCH.from_toml('name = "Empty"\nleadscrew.lead = "3 mm"\ngears.teeth = []')
        with pytest.raises(GearcalcError, match="no train"):
            ask_view(empty, thread="1.5 mm")


class TestOddLathes:
    """Two pairs begin with gears that the lathe can have, and leave a fixed one where it is."""

    def test_two_pairs_begin_with_what_can_stand(self):
        explorer = two_pairs(demo_lathe("odd"), thread="1.5 mm")
        assert (explorer.message, explorer.failure) == ("", None)
        assert explorer.shown.facts[0]["error"] == "exact"
        assert explorer.controls[0]["options"] == [40]
