"""Lesson 08 in a real browser: close the half-nuts at a line by keyboard, and see where the tool lands."""

from __future__ import annotations

from statistics import median

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = [pytest.mark.browser, pytest.mark.opens("08_catching_the_thread.ipynb")]


@pytest.fixture
def explorer(lesson):
    return ExplorerOnPage(lesson, "Catch the thread")


class TestCatchTheThread:
    def test_the_passes_follow_the_keyboard(self, explorer):
        explorer.expect_facts("in the groove", "8/11")
        times = explorer.press(explorer.slider("Pass 2"), "ArrowRight", times=4)
        print(f"\nkey press to changed picture: median {median(times):.0f} ms of {len(times)}")
        explorer.press(explorer.slider("Pass 3"), "ArrowRight", times=2)
        explorer.expect_facts("≈ 0.0455 in out")  # two lines on: half an inch holds 5 1/2 threads, so 1/22 in
        explorer.lesson.screenshot("08-catch-the-thread", explorer.whole)
        explorer.type(explorer.slider("Thread"), "16 tpi")
        explorer.expect_facts("each leadscrew thread holds 2 leads")
        explorer.type(explorer.slider("Thread"), "1.5 mm")
        explorer.expect_facts("60/127")
        explorer.press(explorer.slider("Dial turns"), "ArrowRight")
        explorer.choose("Gears", "lathe's best")
        explorer.expect_facts("+125 ppm")
        explorer.lesson.assert_no_console_errors()
        explorer.lesson.screenshot("08-keep-closed", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, explorer):
        before = explorer.svg()
        for nonsense in ("banana", "-5", "<b>M10</b>", ""):
            explorer.type(explorer.slider("Thread"), nonsense)
            explorer.expect_refusal("understood" if nonsense else "")
            assert explorer.svg() == before
        explorer.type(explorer.slider("Thread"), "11 tpi")
        explorer.expect_message("")
        for nonsense in ("0", "9", "x", "-1", "1e9", ""):
            explorer.type(explorer.box("Pass 2"), nonsense)
            explorer.expect_refusal("line")
            assert explorer.svg() == before
        explorer.type(explorer.box("Pass 2"), "1")
        explorer.expect_message("")
        for nonsense in ("10", "x", "-1"):
            explorer.type(explorer.box("Dial turns"), nonsense)
            explorer.expect_refusal("The turns of the dial", nonsense)
            assert explorer.svg() == before
        explorer.lesson.assert_no_console_errors()
