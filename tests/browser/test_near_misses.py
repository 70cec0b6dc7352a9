"""Lessons 04, 05 and 06 in a real browser: drag by keyboard, type nonsense, and read what follows."""

from __future__ import annotations

from statistics import median

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = pytest.mark.browser

LABELS = """(section) => [...section.querySelectorAll("label[for]")].map(
    (label) => section.contains(label.control) ? label.control.id : `${label.textContent} leads elsewhere`)"""


in_lesson_05 = pytest.mark.opens("05_does_it_matter.ipynb")


@in_lesson_05
class TestWatchTheGap:
    def test_the_gap_and_the_verdict_follow_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "Watch the gap")
        explorer.expect_facts("+125 ppm", "7.5 µm too long over 60 mm", "Name a thread")
        times = explorer.press(explorer.slider("Length"), "ArrowRight", times=5)
        print(f"\nkey press to changed picture: median {median(times):.0f} ms of {len(times)}")
        explorer.expect_facts("8.13 µm too long over 65 mm")
        explorer.press(explorer.slider("Length"), "End")
        explorer.expect_facts("12.5 µm too long over 100 mm")
        explorer.type(explorer.slider("Thread"), "M10x1.5")
        explorer.expect_facts("fine for a fastener", "37.5 µm too long")
        explorer.choose("Pairs", "one")
        explorer.expect_facts("1 of 8", "more than all of it")
        explorer.press(explorer.slider("Answer"), "ArrowRight")
        explorer.expect_facts("2 of 8")
        lesson.assert_no_console_errors()
        lesson.screenshot("05-watch-the-gap", explorer.whole)

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Watch the gap")
        before = explorer.svg()
        for nonsense in ("banana", "-5", "<b>M10</b>"):
            explorer.type(explorer.slider("Thread"), nonsense)
            explorer.expect_refusal("not understood", nonsense)
            assert explorer.svg() == before
        explorer.type(explorer.slider("Thread"), "1.5 mm")
        explorer.expect_message("")
        for nonsense in ("0", "101", "x"):
            explorer.type(explorer.box("Length"), nonsense)
            explorer.expect_refusal("The length", nonsense)
            assert explorer.svg() == before


@in_lesson_05
class TestEditTheSet:
    def test_gears_typed_are_judged(self, lesson):
        explorer = ExplorerOnPage(lesson, "Edit the set")
        explorer.expect_facts("M6x1", "1/4-20 UNC", "exact", "fine")
        facts = explorer.whole.locator(".gearcalc-facts")
        assert facts.evaluate("it => it.scrollWidth <= it.clientWidth + 1")  # a table keeps to the page
        explorer.type(explorer.slider("Gears"), "20 40 50 60 70 80 127")
        explorer.expect_facts("127", "exact")
        before = explorer.svg()
        for nonsense in ("20 x", "", "5"):
            explorer.type(explorer.slider("Gears"), nonsense)
            explorer.expect_refusal("gear")
            assert explorer.svg() == before
        explorer.type(explorer.slider("Gears"), "20 25 30 38 40 50 60 80")
        explorer.type(explorer.slider("Engaged"), "100 mm")
        explorer.expect_facts("spoilt")
        lesson.assert_no_console_errors()
        lesson.screenshot("05-edit-the-set", explorer.whole)

    def test_a_wide_box_is_as_wide_as_its_column(self, lesson):
        explorer = ExplorerOnPage(lesson, "Edit the set")
        column = explorer.whole.locator(".gearcalc-controls").first.bounding_box()
        assert explorer.slider("Gears").bounding_box()["width"] > 0.6 * column["width"]


@in_lesson_05
class TestTwoExplorersOnAPage:
    def test_every_label_leads_to_a_control_of_its_own_explorer(self, lesson):
        explorers = [ExplorerOnPage(lesson, title) for title in ("Watch the gap", "Edit the set")]
        ids = [id_ for explorer in explorers for id_ in explorer.whole.evaluate(LABELS)]
        assert len(set(ids)) == len(ids) >= 8
        assert not [id_ for id_ in ids if "elsewhere" in id_]


class TestLimitOnTeeth:
    @pytest.mark.parametrize(
        ("name", "limit", "fraction"),
        [
            pytest.param("04", 63, "80/63", marks=pytest.mark.opens("04_near_misses.ipynb")),
            pytest.param("06", 113, "355/113", marks=pytest.mark.opens("06_pi_on_the_lathe.ipynb")),
        ],
    )
    def test_the_best_fraction_follows_the_limit(self, lesson, name, limit, fraction):
        explorer = ExplorerOnPage(lesson, "Limit below the line")
        explorer.type(explorer.box("Below line"), str(limit - 1))
        explorer.expect_facts("best fraction")
        assert fraction not in explorer.whole.locator(".gearcalc-facts").text_content()
        explorer.press(explorer.slider("Below line"), "ArrowRight")
        explorer.expect_facts(fraction)
        before = explorer.svg()
        for nonsense in ("0", "-1", "banana", "1/0"):
            explorer.type(explorer.slider("Number"), nonsense)
            explorer.expect_refusal("The number to come near")
            assert explorer.svg() == before
        lesson.assert_no_console_errors()
        lesson.screenshot(name + "-limit-on-teeth", explorer.whole)
