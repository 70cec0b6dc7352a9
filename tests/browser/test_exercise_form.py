"""The form of an exercise and the guesses in a real browser: worked by keyboard alone, kept for another kernel."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import expect

from tests import axe, notebooks

pytestmark = pytest.mark.browser

START = (
    "import gearcalc as gc\nfrom gearcalc.learning.guesses import guess, taken_up\n"
    "from gearcalc.learning.progress import name_and_number, what_is_done\n\nname_and_number()"
)
CELLS = (
    START,
    "gc.exercise('lead-of-a-leadscrew')",  # class number 12: 4 1/2 tpi, 25.4/4.5 mm
    "gc.exercise('which-way-round')",  # class number 12: clockwise, no idler: anticlockwise
    "guess('carriage-in-one-turn', 'How far does the carriage go in one turn, in mm?')",
    "taken_up('carriage-in-one-turn', '3.175 mm', 'Eight threads share one inch.')",
    "guess('idler-and-thread', 'What does an idler do to the thread?', ('coarser', 'finer', 'nothing'))",
    "gc.exercise('threads-from-one-pair', class_number=12)",
    "gc.exercise('name-the-slip', class_number=12)",
    "gc.exercise('one-wrong-row', class_number=12).check('no such row')",
    "what_is_done()",
    "gc.exercise('one-wrong-row', class_number=12)",
)


def asking(page, title):
    return page.locator(f'section.gearcalc-asking[aria-label="{title}"]')


def box(page, name):
    return page.get_by_label(name, exact=True)


def type_in(page, name, text):
    found = box(page, name)
    found.scroll_into_view_if_needed()
    found.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type(text)
    page.keyboard.press("Enter")


@pytest.fixture(scope="module")
def forms(lab, run_once):
    folder = lab.folder / "forms"  # with answers of its own
    folder.mkdir()
    for name in ("forms", "again"):  # each has a kernel of its own
        notebooks.write(CELLS, folder / f"{name}.ipynb")
    return run_once("forms/forms.ipynb")


class TestForms:
    def test_worked_by_keyboard_alone_and_there_again_in_another_kernel(self, lab, forms, open_lesson):
        page = forms.page
        lead, way = asking(page, "One turn of the leadscrew"), asking(page, "Which way does the leadscrew turn?")
        expect(lead).to_contain_text("Which class number is yours?")
        expect(lead.get_by_role("button")).to_have_count(0)
        forms.screenshot("form-without-a-number", lead)
        type_in(page, "Class number: One turn of the leadscrew", "12")
        expect(box(page, "Class number: Who works here")).to_have_value("12")
        expect(lead).to_contain_text("class number 12")
        expect(way).to_contain_text("class number 12")

        type_in(page, "Your answer: One turn of the leadscrew", "4.5/25.4")
        expect(lead).to_contain_text("That is upside down")
        type_in(page, "Your answer: One turn of the leadscrew", "25.4/4.5")
        expect(lead).to_contain_text("Right.")
        page.keyboard.press("Tab")  # Check
        page.keyboard.press("Tab")  # Hint
        page.keyboard.press("Enter")
        expect(lead).to_contain_text("Hint 1 of 3")
        expect(lead.get_by_role("button", name="Next hint")).to_be_focused()
        page.keyboard.press("Tab")  # Solution
        page.keyboard.press("Space")
        expect(lead).to_contain_text("One turn: 25.4")
        forms.screenshot("exercise-form", lead)

        choices = way.get_by_role("group").get_by_role("button")
        assert choices.all_text_contents() == ["clockwise", "anticlockwise", "it depends on the teeth"]
        forms.press(choices.nth(1), "Enter")
        expect(way).to_contain_text("Right.")
        expect(choices.nth(1)).to_have_attribute("aria-pressed", "true")
        forms.screenshot("exercise-choices", way)

        taken = asking(page, "Your guess, taken up")
        expect(taken).to_contain_text("Make your guess above")
        type_in(page, "Your guess: How far does the carriage go in one turn, in mm?", "4")
        expect(taken).to_contain_text("You guessed 4. The answer is 3.175 mm.", use_inner_text=True)
        forms.press(asking(page, "Guess first").nth(1).get_by_role("button", name="nothing"), "Enter")
        forms.screenshot("guess", asking(page, "Guess first").first)
        forms.screenshot("guess-by-choice", asking(page, "Guess first").nth(1))
        forms.screenshot("taken-up", taken)
        forms.screenshot("name-and-number", asking(page, "Who works here"))
        forms.assert_no_console_errors()

        page.evaluate("() => window.jupyterapp.commands.execute('docmanager:save')")
        saved = (lab.folder / "forms" / "forms.ipynb").read_text(encoding="utf-8")
        for said in ("class number 12", "Your answer: 25.4/4.5", "Right.", "Your guess: 4<", "You guessed <strong>4<"):
            assert said in saved  # so stands the page that is opened again without its kernel
        assert "class number 1)" not in saved

        again = open_lesson("forms/again.ipynb")
        again.run_all()
        lead = asking(again.page, "One turn of the leadscrew")
        expect(box(again.page, "Your answer: One turn of the leadscrew")).to_have_value("25.4/4.5")
        expect(lead).to_contain_text("Right.")
        expect(box(again.page, "Class number: Who works here")).to_have_value("12")
        expect(asking(again.page, "Your guess, taken up")).to_contain_text("You guessed 4")
        expect(again.page.get_by_text(re.compile("^2 of 7$"))).to_be_visible()
        lead.get_by_role("button", name="Fresh numbers").click()
        expect(lead).to_contain_text("class number 12, second go")
        expect(box(again.page, "Your answer: One turn of the leadscrew")).to_have_value("")
        again.screenshot("second-go")
        again.assert_no_console_errors()

        again.page.evaluate("() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.restart()")
        restarted = again.page.get_by_text(
            "Python was started anew, so nothing here answers. Run the cells again, from the top."
        )
        expect(restarted.first).to_be_visible()
        expect(lead).to_have_attribute("inert", "")
        again.screenshot("restarted")
        again.run_all()
        expect(restarted).to_have_count(0)
        expect(lead.get_by_role("button", name="Check")).to_be_enabled()

    def test_axe_finds_nothing_on_what_was_answered(self, forms):
        assert axe.found_in_both_themes(forms.page, ".jp-OutputArea-output") == []

    def test_formulas_are_set(self, forms):
        pair = asking(forms.page, "What does this pair cut?")
        pair.get_by_role("button", name="Solution").click()
        expect(pair.get_by_text("Worked solution")).to_be_visible()
        forms.screenshot("solution-with-formulas", pair)
        pair.locator("mjx-container").first.wait_for()
        forms.screenshot("solution-with-formulas", pair)

    def test_no_choice_is_cut_off(self, forms):
        choices = forms.page.get_by_role("button", name="first driver and second driven exchanged")
        choices.scroll_into_view_if_needed()
        forms.screenshot("long-choices", forms.page.locator("section.gearcalc-asking", has=choices))
        forms.screenshot("form-with-a-table", forms.page.locator("section.gearcalc-asking").last)
        cut_off = """() => [...document.querySelectorAll('.gearcalc-asking button')]
            .filter(button => button.scrollWidth > button.clientWidth).map(button => button.textContent)"""
        assert forms.page.evaluate(cut_off) == []

    def test_in_code(self, forms):
        assert "… Not answered yet. That can't be read" in forms.outputs()[8]
        summary = asking(forms.page, "One turn of the leadscrew").locator("summary", has_text="In code")
        summary.click()
        expect(forms.page.get_by_text('q = gc.exercise("lead-of-a-leadscrew")').first).to_be_visible()
