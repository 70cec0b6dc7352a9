"""Lesson 10 in a real browser: measure by keyboard, type nonsense, ask the detective."""

from __future__ import annotations

from statistics import median

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = [pytest.mark.browser, pytest.mark.opens("10_prove_the_cut.ipynb")]


class TestTheMeasurement:
    def test_the_verdict_follows_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "Prove the cut")
        explorer.expect_facts("1.26 mm", "it agrees, but other pitches would too", "26")
        before = explorer.svg()
        times = explorer.press(explorer.slider("Limit ±"), "ArrowLeft", times=5)
        print(f"\nkey press to changed picture: median {median(times):.0f} ms of {len(times)}")
        explorer.expect_facts("12.6 ± 0.2 mm over 10 turns")
        assert explorer.svg() != before
        explorer.type(explorer.box("Turns"), "26")
        explorer.type(explorer.box("Length"), "32.6")
        explorer.expect_facts("it agrees, and nothing else does")
        explorer.press(explorer.slider("Turns"), "ArrowLeft")
        explorer.expect_facts("over 25 turns", "1.304 mm")
        lesson.assert_no_console_errors()
        lesson.screenshot("10-prove-the-cut", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Prove the cut")
        before = explorer.svg()
        for label, word in (("Turns", "turns"), ("Length", "length"), ("Limit ±", "limit")):
            for nonsense in ("abc", "0" if label != "Limit ±" else "9", "-5", "1e9", ""):
                explorer.type(explorer.box(label), nonsense)
                explorer.expect_refusal(word)
                assert explorer.svg() == before
            good = {"Turns": "10", "Length": "12.6", "Limit ±": "0.25"}[label]
            explorer.type(explorer.box(label), good)
            explorer.expect_message("")
        for nonsense in ("banana", "", "<b>M8</b>"):
            explorer.type(explorer.slider("Thread"), nonsense)
            explorer.expect_refusal("thread")
            assert explorer.svg() == before
        explorer.type(explorer.slider("Thread"), "1.25 mm")
        explorer.type(explorer.box("Limit ±"), "1.3")
        explorer.expect_refusal("larger than the pitch, 1.25 mm")


class TestTheDetective:
    def test_slips_follow_what_is_typed(self, lesson):
        explorer = ExplorerOnPage(lesson, "Prove the cut", place=1)  # the lesson shows it twice
        explorer.expect_facts("The lever stands at fast instead of medium.", "isolate the lathe")
        explorer.type(explorer.box("Length"), "18")
        explorer.expect_facts("The pair is upside down: 60 drives 50.")
        lesson.screenshot("10-detective", explorer.whole)
        explorer.type(explorer.box("Length"), "25")
        explorer.choose("Lever", "fast × 1")
        explorer.type(explorer.slider("Thread"), "2.5 mm")
        explorer.expect_facts("Nothing wrong", "Cut left-hand instead of right-hand")
        explorer.choose("Hand seen", "left")
        explorer.expect_facts("That alone would give", "Cut left-hand instead of right-hand")
        before = explorer.svg()
        for nonsense in ("40/", "banana", "41/60", ""):
            explorer.type(explorer.slider("Gears meant"), nonsense)
            explorer.expect_refusal("")
            assert explorer.svg() == before
        explorer.type(explorer.slider("Gears meant"), "50/60")
        explorer.choose("Show", "what is possible")
        explorer.expect_facts("agrees")
        lesson.assert_no_console_errors()
