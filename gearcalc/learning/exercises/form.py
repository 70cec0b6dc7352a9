"""An exercise as a form: a thin shell of widgets over a task's check, hints and solution."""

from __future__ import annotations

import ipywidgets as widgets

from gearcalc.learning.exercises.tasks import Task
from gearcalc.pictures import style

_WIDE = {"description_width": "initial"}


class ExerciseForm(widgets.VBox):  # type: ignore[misc]
    """The question, a box or buttons for the answer, Check, Hint, Solution, and a line that says how it went.

    An answer counts when Enter is pressed, the box is left, or Check is pressed. Made by Exercise.form().
    `answer`, `check`, `hint`, `solution`, `message` and `help` are the widgets, for tests and for the curious.
    `title` names the exercise in the tips of its buttons, `shown` is its question as HTML.
    """

    def __init__(self, task: Task, title: str, shown: str) -> None:
        self._task = task
        self._hints_shown = 0
        self._solution_shown = False
        self.answer = _answer_box(task.answer.options)
        self.check, self.hint, self.solution = (
            widgets.Button(description=word, tooltip=f"{word}: {title}", layout={"min_height": "36px"})
            for word in ("Check", "Hint", "Solution")
        )
        self.message = widgets.HTML(layout={"min_height": "5em"})
        self.help = widgets.HTMLMath()
        self.answer.observe(lambda _: self._mark(), names="value")
        self.check.on_click(lambda _: self._mark())
        self.hint.on_click(lambda _: self._next_hint())
        self.solution.on_click(lambda _: self._turn_solution())
        buttons = widgets.HBox([self.check, self.hint, self.solution], layout={"flex_flow": "row wrap"})
        super().__init__(
            [widgets.HTML(shown), self.answer, buttons, self.message, self.help],
            layout={"border_left": f"1px solid {style.EDGE}", "padding": "0 0 0 12px"},
        )
        self._mark()

    def _mark(self) -> None:
        self.message.value = self._task.check(self.answer.value)._repr_html_()

    def _next_hint(self) -> None:
        self._hints_shown = min(self._hints_shown + 1, len(self._task.hints))
        self._show_help()

    def _turn_solution(self) -> None:
        self._solution_shown = not self._solution_shown
        self.solution.description = "Hide solution" if self._solution_shown else "Solution"
        self._show_help()

    def _show_help(self) -> None:
        hints = [self._task.hint(step) for step in range(1, self._hints_shown + 1)]
        notes = [*hints, self._task.solved()] if self._solution_shown else hints
        self.help.value = "".join(note.html for note in notes)


def _answer_box(options: tuple[str, ...]) -> widgets.Widget:
    if options:
        as_wide_as_words = {**_WIDE, "button_width": "auto"}
        return widgets.ToggleButtons(options=options, value=None, description="Your answer:", style=as_wide_as_words)
    # Sent whole on Enter or on leaving the box, so that no half-typed answer is marked.
    return widgets.Text(description="Your answer:", style=_WIDE, continuous_update=False, layout={"max_width": "30em"})
