"""The form of an exercise in a real browser: answered, hinted and solved by keyboard alone."""

from __future__ import annotations

import pytest

from tests import notebooks

pytestmark = pytest.mark.browser

CELLS = (
    "import gearcalc as gc\ngc.exercise('lead-of-a-leadscrew', class_number=12).form()",  # 4 1/2 tpi: 25.4/4.5 mm
    "gc.exercise('which-way-round', class_number=12).form()",  # clockwise, no idler: anticlockwise
    "q = gc.exercise('one-wrong-row', class_number=12)\nq",
    "q.check('no such row')",
    "q.solution()",
    "gc.exercise('name-the-slip', class_number=12).form()",
)


@pytest.fixture(scope="module")
def forms(lab, run_once):
    notebooks.write(CELLS, lab.folder / "forms.ipynb")
    lesson = run_once("forms.ipynb")
    lesson.page.get_by_text("Not answered yet").first.wait_for()
    return lesson


class TestExerciseForm:
    def test_by_keyboard_alone(self, forms):
        page = forms.page
        box = page.locator(".widget-text input").first
        box.focus()
        page.keyboard.type("4.5/25.4")
        page.keyboard.press("Enter")
        page.get_by_text("That is upside down").wait_for()
        page.keyboard.press("Control+A")
        page.keyboard.type("25.4/4.5")
        page.keyboard.press("Enter")
        page.get_by_text("✓ Right.").wait_for()

        page.keyboard.press("Tab")  # Check
        page.keyboard.press("Tab")  # Hint
        page.keyboard.press("Enter")
        page.get_by_text("Hint 1 of 3").wait_for()
        page.keyboard.press("Tab")  # Solution
        page.keyboard.press("Space")
        page.get_by_text("One turn: 25.4").first.wait_for()
        forms.screenshot("exercise-form")

        choices = page.locator(".widget-toggle-buttons").first.locator("button")
        assert choices.all_text_contents() == ["clockwise", "anticlockwise", "it depends on the teeth"]
        forms.press(choices.nth(1), "Enter")
        page.wait_for_function(
            "document.querySelectorAll('.widget-html-content').length && "
            "document.body.textContent.split('✓ Right.').length === 3"
        )
        forms.assert_no_console_errors()

    def test_no_choice_is_cut_off(self, forms):
        choices = forms.page.locator(".widget-toggle-buttons button", has_text="first driver and second driven")
        choices.scroll_into_view_if_needed()
        forms.screenshot("exercise-choices")
        cut_off = """() => [...document.querySelectorAll('.widget-toggle-buttons button')]
            .filter(button => button.scrollWidth > button.clientWidth).map(button => button.textContent)"""
        assert forms.page.evaluate(cut_off) == []

    def test_in_cells(self, forms):
        outputs = forms.outputs()
        assert "One row does not cut what it says" in outputs[2]
        assert "… Not answered yet. That can't be read" in outputs[3]
        summary = forms.page.locator("summary", has_text="Worked solution")
        details = forms.page.locator("details", has=summary)
        assert details.get_attribute("open") is None
        summary.first.scroll_into_view_if_needed()
        summary.first.click()
        forms.page.get_by_text("The plate says").wait_for()
        forms.screenshot("exercise-solution")
