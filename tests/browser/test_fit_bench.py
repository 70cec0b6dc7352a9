"""The fit bench of lesson 07 in a real browser: swing and slide by keyboard, feel meshes open and close."""

from __future__ import annotations

from statistics import median

import pytest

from tests.browser.explorer import ExplorerOnPage

pytestmark = [pytest.mark.browser, pytest.mark.opens("07_will_it_go_on.ipynb")]


class TestFitBench:
    def test_meshes_open_and_close_under_the_keyboard(self, lesson):
        explorer = ExplorerOnPage(lesson, "Fit bench")
        explorer.expect_facts("mesh of 30 and 60", "mesh of 40 and 80", "Not yet: 2 meshes to set right")
        explorer.type(explorer.box("First stud"), "45.2")
        explorer.expect_facts("good: 0.15 mm of backlash", "Not yet: 1 mesh to set right")
        explorer.press(explorer.slider("First stud"), "ArrowRight")
        explorer.expect_facts("good: 0.22 mm of backlash")
        explorer.type(explorer.box("Swing"), "-31")
        explorer.expect_facts("mesh open by")
        times = explorer.press(explorer.slider("Swing"), "ArrowLeft", times=4)
        explorer.expect_facts("It goes on like this.")
        times += explorer.press(explorer.slider("Swing"), "ArrowLeft", times=16)
        explorer.expect_facts("teeth pressed together by")
        print(f"\nkey press to changed picture: median {median(times):.0f} ms of {len(times)}")
        lesson.assert_no_console_errors()
        lesson.screenshot("07-fit-bench-pressed", explorer.whole)

    def test_placed_for_me_the_controls_move_too_and_by_hand_again_when_one_is_moved(self, lesson):
        explorer = ExplorerOnPage(lesson, "Fit bench")
        explorer.choose("Placed", "for me")
        explorer.expect_facts("It goes on like this.")
        assert explorer.box("Swing").input_value() == "-31.46"
        assert explorer.box("First stud").input_value() == "45.27"
        lesson.screenshot("07-fit-bench-placed", explorer.whole)
        explorer.type(explorer.slider("Train"), "20/80, idler 30")
        explorer.expect_facts("It does not go on; this is as near as it comes", "stays 5.9 mm short")
        lesson.screenshot("07-fit-bench-misfit", explorer.whole)
        explorer.press(explorer.slider("Swing"), "ArrowRight")
        assert explorer.whole.get_by_role("radio", name="by hand").is_checked()
        explorer.expect_facts("Not yet")
        lesson.assert_no_console_errors()

    def test_nonsense_leaves_the_last_good_picture(self, lesson):
        explorer = ExplorerOnPage(lesson, "Fit bench")
        explorer.type(explorer.box("First stud"), "45.27")
        explorer.type(explorer.box("Swing"), "-31.46")
        explorer.expect_facts("It goes on like this.")
        before = explorer.svg()
        for box, good in ((explorer.box("Swing"), "-31.46"), (explorer.box("First stud"), "45.27")):
            for nonsense in ("banana", "-500", "1e9", "1000000000", ""):
                explorer.type(box, nonsense)
                explorer.expect_refusal("stud" if good == "45.27" else "swing")
                assert explorer.svg() == before
            explorer.type(box, good)
            explorer.expect_message("")
        for nonsense in ("banana", "", "0", "-5", "1000000000", "<b>40/80</b>"):
            explorer.type(explorer.slider("Train"), nonsense)
            explorer.expect_refusal("not understood as a train")
            assert explorer.svg() == before
        lesson.assert_no_console_errors()
