"""Exercises: a question with numbers of one's own, marked for being right, with feedback on the usual slips."""

from __future__ import annotations

import difflib
from functools import cache
from importlib import import_module
from operator import index
from pkgutil import iter_modules
from typing import TYPE_CHECKING

from attrs import field, frozen

from gearcalc.basics import markup
from gearcalc.basics.errors import UnknownNameError, quoted
from gearcalc.learning.exercises.tasks import Note, Outcome, Recipe, Task, recipes

if TYPE_CHECKING:
    from gearcalc.learning.exercises.form import ExerciseForm

__all__ = ["Exercise", "Outcome", "exercise", "exercise_names"]


@frozen(repr=False)
class Exercise:
    """A question with the numbers of one class number; made by exercise().

    `name`: stable; `title`; `lesson`: its number; `class_number`: the same number is the same task everywhere.
    """

    name: str
    title: str
    lesson: int
    class_number: int
    task: Task = field(eq=False)  # follows from the name and the number

    @property
    def question(self) -> str:
        """The question and how to write the answer, as markdown without the table."""
        return f"{self.task.question}\n\n{self.task.answer.how}"

    @property
    def heading(self) -> str:
        """Title, and whose numbers these are."""
        return f"{self.title} (class number {self.class_number})"

    def check(self, answer: object = None) -> Outcome:
        """Mark an answer: any right one is right, however it is written. Never raises.

        >>> exercise("lead-of-a-leadscrew").check(...)
        … Not answered yet. Put your answer in, then check it.

        `answer`: whatever the question asks for; None, ... or empty text for no answer yet.
        """
        return self.task.check(answer)

    def hint(self, step: int = 1) -> Note:
        """Give a hint; each step says a little more. Past the last, the last.

        `step`: whole number from 1. Raises ValueOutOfRangeError for anything else.
        """
        return self.task.hint(step)

    def solution(self) -> Note:
        """Work the solution for these numbers, derived by the library, folded away in a notebook."""
        return self.task.solved()

    def form(self) -> ExerciseForm:
        """Put the exercise in a form: an answer box, buttons, a line that says how it went."""
        from gearcalc.learning.exercises.form import ExerciseForm

        return ExerciseForm(self.task, self.title, self._repr_html_())

    def __str__(self) -> str:
        return f"{self.heading}\n{self.task}"

    __repr__ = __str__

    def _repr_html_(self) -> str:
        return f"<p><strong>{markup.in_html(self.heading)}</strong></p>{self.task._repr_html_()}"


def exercise(name: str, class_number: int = 1) -> Exercise:
    """Open the exercise of that name, with the numbers of one class number.

    >>> q = exercise("lead-of-a-leadscrew", class_number=12)
    >>> q.check("8 mm").is_right, q == exercise("lead-of-a-leadscrew", class_number=12)
    (False, True)

    `name`: one of exercise_names(); `class_number`: whole number from 0, each apprentice's own.
    Raises UnknownNameError for no such exercise, ValueOutOfRangeError for no class number.
    """
    known = _all()
    if isinstance(name, str) and name in known:
        recipe = known[name]
        task = recipe.numbered(class_number)
        return Exercise(recipe.name, recipe.title, recipe.lesson, index(class_number), task)
    text = str.__str__(name)[:60] if isinstance(name, str) else ""
    near = difflib.get_close_matches(text, known, n=3, cutoff=0.3) or sorted(known)[:3]
    raise UnknownNameError(
        f"there is no exercise {quoted(name)}",
        remedy=f"Near to it: {', '.join(near)}. exercise_names() lists them all.",
    )


def exercise_names(lesson: int | None = None) -> list[str]:
    """List the names of a lesson's exercises in the order in which they stand there; of all lessons without a number.

    >>> exercise_names(1)[0]
    'lead-of-a-leadscrew'

    `lesson`: its number, 0 to 12. An unknown one has none.
    """
    return [recipe.name for recipe in _all().values() if lesson in (None, recipe.lesson)]


@cache
def _all() -> dict[str, Recipe]:
    """Every exercise, from the files beside this one named after a lesson, whichever was read first."""
    for module in sorted(found.name for found in iter_modules(__path__)):
        if module.startswith("lesson_"):
            import_module(f"{__name__}.{module}")
    return dict(sorted(recipes().items(), key=lambda entry: entry[1].lesson))
