"""Lesson 12 in a real browser: type threads, a tolerance and sizes by keyboard, and read what is worth adding."""

from __future__ import annotations

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = [pytest.mark.browser, pytest.mark.opens("12_your_own_lathe.ipynb")]


class TestGearsWorthAdding:
    def test_the_shopping_list_follows_what_is_typed(self, lesson):
        explorer = ExplorerOnPage(lesson, "Gears worth adding")
        explorer.choose("Add at most", "three")  # the lesson begins with one gear
        explorer.expect_facts("M3x0.5", "new", "Add 20 and 127", "proved")
        before = explorer.svg()
        explorer.type(explorer.slider("To be had"), "20 to 100")
        explorer.expect_facts("Add 29, 77 and 95", "proved")
        assert explorer.svg() != before
        explorer.type(explorer.slider("To be had"), "20 to 127")
        explorer.type(explorer.slider("Within ppm"), "500")
        explorer.expect_facts("Add 34")
        explorer.choose("Add at most", "one gear")
        explorer.type(explorer.slider("Within ppm"), "0")
        explorer.expect_facts("7 of 8 threads", "it takes more than 1 gear")
        explorer.expect_message("")
        explorer.choose("Add at most", "three")
        explorer.type(explorer.slider("Threads"), "M6, 19 tpi, 27 tpi, module 1")
        explorer.type(explorer.slider("Within ppm"), "50")
        explorer.expect_facts("module 1", "19 tpi", "proved")
        lesson.assert_no_console_errors()
        lesson.screenshot("12-gears-worth-adding", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Gears worth adding")
        explorer.choose("Add at most", "three")
        explorer.expect_facts("Add 20 and 127")
        before = explorer.svg()
        for label, good, words in (
            ("Gears there", "24 28 32 36 40 40 44 48 52 60 66 72 80", "gear"),
            ("Threads", "M3, M4, M5, M6, M8, M10, M12, M16", ""),
            ("Within ppm", "50", "The tolerance"),
            ("To be had", "20 to 127", ""),
        ):
            for nonsense in ("banana", "0.5 0", "-5", "1e9", "<b>20</b>"):
                explorer.type(explorer.slider(label), nonsense)
                explorer.expect_refusal(words)
                assert explorer.svg() == before
            explorer.type(explorer.slider(label), "")
            explorer.expect_refusal(words)
            explorer.type(explorer.slider(label), good)
            explorer.expect_message("")
        lesson.assert_no_console_errors()
