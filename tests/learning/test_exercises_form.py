"""The form of an exercise, driven through the state of its widgets, without a browser."""

from __future__ import annotations

import pytest

from gearcalc import exercise_names
from gearcalc.learning.exercises.tasks import NOT_RIGHT, RIGHT
from tests.how_much import exercise
from tests.learning.exercise_cases import CASES

widgets = pytest.importorskip("ipywidgets")


class TestFourStates:
    @pytest.mark.parametrize("name", CASES)
    def test_through_the_box(self, name):
        q = exercise(name, class_number=4)
        form = q.form()
        assert "Not answered yet" in form.message.value
        written = [*CASES[name].right(q), *(given for _, given in CASES[name].slips(q))]
        choices = q.task.answer.options or ["1", "2", "998/999", *map(str, written)]
        right = next(given for given in choices if q.check(given).state == RIGHT)
        wrong = next(given for given in choices if q.check(given).state == NOT_RIGHT)
        form.answer.value = wrong
        assert "✗" in form.message.value
        assert q.check(wrong)._repr_html_() == form.message.value
        form.answer.value = right
        assert "✓" in form.message.value
        form.answer.value = None if q.task.answer.options else ""
        assert "Not answered yet" in form.message.value


@pytest.mark.parametrize("name", exercise_names())
class TestForm:
    def test_hints_one_after_the_other_then_the_solution(self, name):
        form = exercise(name).form()
        hints = exercise(name).task.hints
        assert form.help.value == ""
        for count in range(1, len(hints) + 2):
            form.hint.click()
            shown = min(count, len(hints))
            assert [f"Hint {step} of" in form.help.value for step in range(1, len(hints) + 1)] == [
                step <= shown for step in range(1, len(hints) + 1)
            ]
        form.solution.click()
        assert "Worked solution" in form.help.value
        assert form.solution.description == "Hide solution"
        form.solution.click()
        assert "Worked solution" not in form.help.value
        assert "Hint 1 of" in form.help.value

    def test_every_control_has_a_name(self, name):
        q = exercise(name)
        form = q.form()
        assert form.answer.description == "Your answer:"
        assert [button.description for button in (form.check, form.hint, form.solution)] == [
            "Check",
            "Hint",
            "Solution",
        ]
        assert all(q.title in button.tooltip for button in (form.check, form.hint, form.solution))


class TestCheckButton:
    def test_marks_what_stands_in_the_box(self):
        form = exercise("lead-of-a-leadscrew").form()
        form.message.value = "cleared by hand"
        form.check.click()
        assert "Not answered yet" in form.message.value

    def test_the_box_tells_only_whole_answers(self):
        assert exercise("lead-of-a-leadscrew").form().answer.continuous_update is False

    def test_choices_are_buttons_that_the_keyboard_reaches(self):
        # Dropdown, Select and RadioButtons lose their arrow keys to JupyterLab
        assert isinstance(exercise("which-way-round").form().answer, widgets.ToggleButtons)

    def test_choices_are_as_wide_as_their_words(self):
        asked = [exercise(name) for name in exercise_names()]
        choices = {q.name: q.form().answer.style for q in asked if q.task.answer.options}
        assert choices
        assert {name: style.button_width for name, style in choices.items() if style.button_width != "auto"} == {}

    @pytest.mark.parametrize("given", ["<img src=x onerror=y>", "9" * 5000, "\x00", "½"])
    def test_nonsense_is_an_outcome(self, given):
        form = exercise("two-pairs").form()
        form.answer.value = given
        assert "can&#x27;t be read" in form.message.value
        assert "<img" not in form.message.value
