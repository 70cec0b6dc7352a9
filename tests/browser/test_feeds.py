"""Lesson 11 in a real browser: feed, nose, speed and groove by keyboard, and what nonsense does."""

from __future__ import annotations

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = [pytest.mark.browser, pytest.mark.opens("11_feeds_and_finish.ipynb")]

NONSENSE = ("abc", "0", "-5", "1e9", "")


class TestFeedAndFinish:
    def test_grooves_and_gears_follow_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "Feed and finish")
        explorer.expect_facts("To move: nothing", "11.1 µm")
        explorer.press(explorer.slider("Nose"), "ArrowRight", times=4)
        explorer.expect_facts("5.5")
        explorer.type(explorer.box("A turn"), "0.1")
        explorer.expect_facts("First driver: 63 off, 35 on")
        explorer.choose("Feed", "across")
        explorer.expect_facts("≈ 0.0938 mm (3.69 thou)", "6.2 per cent finer")
        lesson.assert_no_console_errors()
        lesson.screenshot("11-feed-and-finish", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Feed and finish")
        before = explorer.svg()
        for nonsense in ("banana", "-5", "<b>M10</b>", "0", "1e9"):
            explorer.type(explorer.slider("Thread"), nonsense)
            explorer.expect_refusal(nonsense)
            assert explorer.svg() == before
        explorer.type(explorer.slider("Thread"), "M10")
        explorer.expect_message("")
        for label, words in (("A turn", "The feed in mm a turn"), ("Nose", "The nose radius in mm")):
            for nonsense in NONSENSE:
                explorer.type(explorer.box(label), nonsense)
                explorer.expect_refusal(words)
                assert explorer.svg() == before
            explorer.type(explorer.box(label), "0.2" if label == "A turn" else "0.4")
            explorer.expect_message("")
        explorer.type(explorer.box("A turn"), "2")
        explorer.expect_refusal("wider than the whole nose")
        assert explorer.svg() == before


class TestTimeToTheShoulder:
    def test_the_seconds_follow_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "Time to the shoulder")
        explorer.expect_facts("3 s", "Enough")
        explorer.type(explorer.box("Speed"), "100")
        explorer.expect_facts("1.8 s", "no faster than 90 rev/min")
        explorer.press(explorer.slider("Speed"), "ArrowLeft", times=2)
        explorer.expect_facts("2 s", "Enough")
        explorer.press(explorer.slider("Groove"), "ArrowRight")
        explorer.expect_facts("3.33")  # 5 mm at 1.5 mm a turn
        explorer.type(explorer.slider("Cutting"), "M16xPh3P1.5")
        explorer.expect_facts("1.67", "Too short")
        lesson.assert_no_console_errors()
        lesson.screenshot("11-time-to-the-shoulder", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Time to the shoulder")
        before = explorer.svg()
        good = {"Speed": "60", "Groove": "4.5", "Wanted": "2"}
        for label, words in (("Speed", "The speed"), ("Groove", "The room"), ("Wanted", "The time wanted")):
            for nonsense in NONSENSE:
                explorer.type(explorer.box(label), nonsense)
                explorer.expect_refusal(words)
                assert explorer.svg() == before
            explorer.type(explorer.box(label), good[label])
            explorer.expect_message("")
