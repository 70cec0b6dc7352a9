"""Lesson 09 in a real browser: walk through the card by keyboard, type nonsense, and read what follows."""

from __future__ import annotations

from statistics import median

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = [pytest.mark.browser, pytest.mark.opens("09_change_over.ipynb")]


class TestChangeOver:
    def test_the_step_and_its_words_follow_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "Change over")
        explorer.expect_facts("40/60, idler 35", "Step 1. Isolate.")
        times = explorer.press(explorer.slider("Step"), "ArrowRight", times=3)
        print(f"\nkey press to changed picture: median {median(times):.0f} ms of {len(times)}")
        explorer.expect_facts("Step 4. Strip, front first.", "80, driven, off the gearbox input")
        lesson.assert_no_console_errors()
        lesson.screenshot("09-change-over-strip", explorer.whole)
        explorer.press(explorer.slider("Step"), "End")
        explorer.expect_facts("Step 13. Scratch pass.", "12 threads in an inch")
        lesson.screenshot("09-change-over-scratch", explorer.whole)

    def test_another_thread_another_train_another_setup(self, lesson):
        explorer = ExplorerOnPage(lesson, "Change over")
        explorer.type(explorer.slider("Wanted"), "32 tpi")
        explorer.expect_facts("Step 1. Isolate. No gear has to be touched", "low")
        explorer.type(explorer.slider("Wanted"), "1.5 mm")
        explorer.type(explorer.slider("Mounted"), "30x63/50x80")
        explorer.expect_facts("Step 1. Isolate.", "ppm")
        explorer.press(explorer.slider("Setup"), "ArrowRight")
        explorer.expect_facts("2 of 6")
        explorer.type(explorer.box("Step"), "5")
        explorer.expect_facts("Step 5. Build, back first.")
        lesson.assert_no_console_errors()
        lesson.screenshot("09-change-over-three-pairs", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Change over")
        before = explorer.svg()
        for label, good, word in (("Mounted", "40/80", "train"), ("Wanted", "12 tpi", "")):
            for nonsense in ("banana", "0", "-5", "1e9", "<b>40/80</b>", ""):
                explorer.type(explorer.slider(label), nonsense)
                explorer.expect_refusal(word)
                assert explorer.svg() == before
            explorer.type(explorer.slider(label), good)
            explorer.expect_message("")
        for label, word in (("Step", "The step"), ("Setup", "The setup")):
            for nonsense in ("x", "0", "-5", "1e9", ""):
                explorer.type(explorer.box(label), nonsense)
                explorer.expect_refusal(word)
                assert explorer.svg() == before
            explorer.type(explorer.box(label), "1")
            explorer.expect_message("")
        explorer.type(explorer.box("Step"), "14")  # of a card with 13
        explorer.expect_refusal("from 1 to 13, not 14")
        assert explorer.svg() == before
        explorer.press(explorer.slider("Step"), "ArrowLeft")
        explorer.expect_message("")
        explorer.expect_facts("Step 13.")
        lesson.assert_no_console_errors()
