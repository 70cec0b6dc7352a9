"""An exercise as a form: what is asked, a box or choices, Check, Hint, Solution, Fresh numbers, and how it went."""

from __future__ import annotations

from typing import Protocol

import ipywidgets

from gearcalc.basics import markup
from gearcalc.basics.errors import GearcalcError
from gearcalc.learning.answer_book import answer_book
from gearcalc.learning.answer_files import Go, read_class_number
from gearcalc.learning.asking import Asking
from gearcalc.learning.exercises.notes import as_html
from gearcalc.learning.exercises.tasks import NOT_YET, Task
from gearcalc.learning.live import is_served_alone

_ANSWER, _NUMBER = "answer", "class number"
_ASK_NUMBER = (
    "Which **class number** is yours? Your teacher gives it to you, and with it numbers of your own. Working alone, "
    "pick any whole number. It is kept for all lessons."
)


class Posed(Protocol):
    """An exercise as the form knows it; Exercise says what each of these is."""

    @property
    def name(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def class_number(self) -> int | None: ...
    @property
    def is_kept(self) -> bool: ...
    @property
    def whose(self) -> str: ...
    @property
    def task(self) -> Task: ...
    def keep(self, answer: str, *, counts: bool, is_begun: bool = False) -> None: ...
    def kept(self) -> Go: ...
    def fresh(self) -> Posed: ...
    def anew(self) -> Posed: ...
    def with_a_number(self) -> Posed: ...
    def _repr_html_(self) -> str: ...


class ExerciseForm(Asking):
    """The form of an exercise; made by Exercise.form().

    An answer counts when Enter is pressed, the box is left, or Check is pressed. With the learner's own class number it
    is kept, shown again and marked again when the page is opened next. `exercise` is what is asked by now.
    """

    def __init__(self, posed: Posed) -> None:
        formulas = ipywidgets.HTMLMath()
        super().__init__(typed=self._fill_in, pressed=self._press_one, title=posed.title, formulas=formulas)
        self._buttons = {"check": self._mark, "hint": self._next_hint, "solution": self._turn_solution}
        self._buttons["fresh"] = lambda: self._pose(self.exercise.fresh(), is_begun=True)
        self._pose(posed)
        if posed.is_kept:
            self.follows(answer_book(), self._look_again)
        self.still = lambda: f"{self.exercise.with_a_number()._repr_html_()}{self._answered()}"

    def _pose(self, posed: Posed, *, is_begun: bool = False) -> None:
        """Ask this; without a class number, ask for that first."""
        self.exercise = posed
        self._hints_shown, self._solution_shown = 0, False
        number = posed.class_number
        with self.hold_sync():
            self.whose = posed.whose
            self.foot = _in_code(posed)
            if number is None:
                self.question = as_html(_ASK_NUMBER)
                self.fields = [{"name": _NUMBER, "label": "Class number:", "numeric": True}]
                self.values, self.said = {}, ""
            else:
                options = list(posed.task.answer.options)
                self.question = posed.task.asked(with_how=not options)  # the buttons themselves say how
                self.fields = [{"name": _ANSWER, "label": "Your answer:", **({"options": options} if options else {})}]
                self.values = {_ANSWER: posed.kept().answer}
                self._mark()
            self._show_help()
        if is_begun:
            posed.keep("", counts=False, is_begun=True)

    def _fill_in(self, field: str, text: str) -> None:
        if field == _ANSWER:
            self._mark()
            return
        self.said = ""
        if not text.strip():
            return
        try:
            answer_book().keep_class_number(read_class_number(text))  # on which every form looks again, this one too
        except GearcalcError as problem:
            self.said = as_html(markup.sentence(str(problem)))

    def _press_one(self, button: str) -> None:
        self._buttons[button]()

    def _mark(self) -> None:
        given = self.values.get(_ANSWER, "")
        outcome = self.exercise.task.check(given)
        if given.strip():
            self.exercise.keep(given, counts=outcome.state != NOT_YET)
        notice = answer_book().notice() if self.exercise.is_kept and given else ""
        self.said = outcome.html + (as_html(notice) if notice else "")

    def _look_again(self) -> None:
        """Another class number may be the learner's by now."""
        own = answer_book().class_number
        if own is not None and own != self.exercise.class_number:
            self._pose(self.exercise.anew())

    def _answered(self) -> str:
        """What is kept of it, for a page that stands still."""
        answer = self.values.get(_ANSWER, "")
        return f"<p>Your answer: {markup.in_html(answer)}</p>{self.said}" if answer else ""

    def _next_hint(self) -> None:
        self._hints_shown = min(self._hints_shown + 1, len(self.exercise.task.hints))
        self._show_help()

    def _turn_solution(self) -> None:
        self._solution_shown = not self._solution_shown
        self._show_help()

    def _show_help(self) -> None:
        if self.exercise.class_number is None:
            self.buttons, self.formulas.value = [], ""
            return
        task, steps = self.exercise.task, len(self.exercise.task.hints)
        more = "Hint" if not self._hints_shown else "Next hint" if self._hints_shown < steps else "Last hint"
        self.buttons = [
            ("check", "Check", None),
            ("hint", more, None),
            ("solution", "Hide solution" if self._solution_shown else "Solution", self._solution_shown),
            ("fresh", "Fresh numbers", None),
        ]
        hints = [task.hint(step) for step in range(1, self._hints_shown + 1)]
        notes = [*hints, task.solved()] if self._solution_shown else hints
        self.formulas.value = "".join(note.html for note in notes)


def _in_code(posed: Posed) -> str:
    if is_served_alone():
        return ""  # there is no cell to put it in
    lines = f'q = gc.exercise("{posed.name}")\nq.check("your answer")\nq.hint(1)\nq.solution()'
    return f"<details><summary>In code</summary><pre>{markup.in_html(lines)}</pre></details>"
