"""Lessons 00, 01 and 02 in a real browser: run all, work each explorer by keyboard, type nonsense."""

from __future__ import annotations

from statistics import median

import pytest
from playwright.sync_api import expect

from tests.browser.explorer import ExplorerOnPage

pytestmark = pytest.mark.browser


@pytest.mark.opens("00_start_here.ipynb")
class TestStartHere:
    def test_a_thread_typed_is_answered_and_nonsense_is_refused(self, lesson):
        explorer = ExplorerOnPage(lesson, "Ask for a thread")
        thread = explorer.slider("Thread")
        explorer.type(thread, "20 tpi")
        explorer.expect_facts("1.27", "exact")
        before = explorer.svg()
        for nonsense in ("banana", "-5", "10^9", ""):
            explorer.type(thread, nonsense)
            explorer.expect_refusal(nonsense or "nothing is written")
            assert explorer.svg() == before
        explorer.type(thread, "1.5 mm")
        explorer.expect_message("")
        explorer.lesson.assert_no_console_errors()
        explorer.lesson.screenshot("00-ask", explorer.whole)


@pytest.mark.opens("01_one_turn.ipynb")
class TestOneTurn:
    def test_follows_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "One turn of the spindle")
        explorer.expect_facts("40/80", "16")
        times = explorer.press(explorer.slider("Driven"), "ArrowLeft", times=2)
        explorer.expect_facts("40/65", "13")
        times += explorer.press(explorer.slider("Spindle"), "ArrowRight", times=12)
        explorer.expect_facts("travel in 13 turns", "25.4")
        print(f"\nkey press to changed picture: median {median(times):.0f} ms of {len(times)}")
        explorer.choose("Idlers", "one")
        explorer.expect_facts("idler 20")
        explorer.choose("Lever", "low × 1/2")
        explorer.expect_facts("26")
        explorer.lesson.assert_no_console_errors()
        explorer.lesson.screenshot("01-one-turn", explorer.whole)

    def test_nonsense_in_a_box_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "One turn of the spindle")
        before = explorer.svg()
        explorer.type(explorer.box("Driver"), "41")
        explorer.expect_message("The set has no gear of 41 teeth. The nearest it has: 38, 40, 45.")
        for nonsense in ("abc", "0", "-5", "1000000000", "", "40.5", "<b>40</b>"):
            explorer.type(explorer.box("Driver"), nonsense)
            explorer.expect_refusal("whole number of teeth")
            assert explorer.svg() == before
        explorer.type(explorer.box("Driver"), "20")
        explorer.expect_message("")
        explorer.expect_facts("20/80", "32")

    def test_what_is_still_shown_is_marked_as_of_before(self, lesson):
        explorer = ExplorerOnPage(lesson, "One turn of the spindle")
        mark = explorer.whole.locator(".gearcalc-before")
        expect(mark).to_be_hidden()
        explorer.type(explorer.box("Driven"), "81")
        expect(mark).to_have_text("As before: Driven 80")
        marked, drawn = mark.bounding_box(), explorer.picture.bounding_box()
        assert marked["y"] + marked["height"] <= drawn["y"] + 1, "the mark covers a line of the picture"
        explorer.lesson.screenshot("01-as-before", explorer.whole)
        for nonsense in ("abc", "-2", "2.5", "1e5", ""):
            explorer.type(explorer.box("Spindle"), nonsense)
            expect(mark).to_have_text("As before: Driven 80, Spindle 1")
        explorer.type(explorer.box("Spindle"), "3")
        explorer.type(explorer.box("Driven"), "60")
        expect(mark).to_be_hidden()
        explorer.expect_message("")

    def test_the_picture_gives_way_to_a_refusal_and_nothing_else_moves(self, lesson):
        explorer = ExplorerOnPage(lesson, "One turn of the spindle")
        place = explorer.place()
        explorer.press(explorer.slider("Driver"), "ArrowRight", times=2)
        assert explorer.place() == pytest.approx(place, abs=1)
        height = explorer.whole.bounding_box()["height"]  # in as many lines as these gears take
        explorer.type(explorer.box("Driven"), "9999")
        explorer.expect_refusal("9999")
        assert explorer.place()[:4] == pytest.approx(place[:4], abs=1)
        assert explorer.whole.bounding_box()["height"] == pytest.approx(height, abs=1)


@pytest.mark.opens("02_two_pairs.ipynb")
class TestTwoPairs:
    def test_shows_how_far_off_the_thread_is(self, lesson):
        explorer = ExplorerOnPage(lesson, "Two pairs of gears")
        explorer.expect_facts("(40 · 30)/(80 · 60)", "exact")
        explorer.press(explorer.slider("Second driver"), "ArrowRight")
        explorer.expect_facts("(40 · 35)/(80 · 60)")
        explorer.type(explorer.slider("Wanted"), "1 mm")
        explorer.expect_facts("ppm")
        explorer.type(explorer.box("First driver"), "60")
        explorer.expect_refusal("The set has 1 gear of 60 teeth, and this takes 2.")
        explorer.lesson.assert_no_console_errors()
        explorer.lesson.screenshot("02-two-pairs", explorer.whole)
