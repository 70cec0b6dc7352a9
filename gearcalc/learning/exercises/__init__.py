"""Exercises: a question with numbers of one's own, marked for being right, with feedback on the usual slips."""

from __future__ import annotations

import difflib
from contextlib import suppress
from functools import cache
from importlib import import_module
from math import isfinite
from operator import index
from pkgutil import iter_modules
from typing import TYPE_CHECKING

from attrs import evolve, field, frozen

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_index
from gearcalc.basics.errors import NotPossibleError, UnknownNameError, quoted
from gearcalc.basics.listed import OneALine
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.learning.answer_book import answer_book
from gearcalc.learning.answer_files import Go
from gearcalc.learning.exercises.arithmetic import from_float
from gearcalc.learning.exercises.notes import Note
from gearcalc.learning.exercises.tasks import MOST_GOES, NOT_YET, Outcome, Recipe, Task, recipes

if TYPE_CHECKING:
    from gearcalc.learning.exercises.form import ExerciseForm

_NO_NUMBER = (
    "Your class number gives you your own numbers: type it in the form of this exercise, or in lesson 00. Working "
    "alone, pick any."
)
_GOES = ("", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")

__all__ = ["Exercise", "Outcome", "exercise", "exercise_names"]


@frozen(repr=False)
class Exercise:
    """A question with the numbers of one class number; made by exercise(). As the last line of a cell it is a form.

    `name`: stable; `title`; `lesson`: its number; `class_number`: the same number is the same task everywhere, None
    where the learner's own was asked for and is not known yet; `go`: from 1, a further one has fresh numbers; `lathe`:
    whose lathe it is about, None for the one that the exercise brings; `is_kept`: whether answers go to the book.
    """

    name: str
    title: str
    lesson: int
    class_number: int | None
    go: int = 1
    lathe: Lathe | None = None
    is_kept: bool = field(default=False, eq=False)
    _task: Task | None = field(default=None, eq=False)  # follows from name, number, go and lathe

    @property
    def task(self) -> Task:
        """What is asked. Raises NotPossibleError without a class number."""
        if self._task is None:
            raise NotPossibleError("there are no numbers without a class number", where=self.name, remedy=_NO_NUMBER)
        return self._task

    @property
    def question(self) -> str:
        """The question and how to write the answer, as markdown without the table."""
        return f"{self.task.question}\n\n{self.task.answer.how}"

    @property
    def whose(self) -> str:
        """Whose numbers these are, and at which go.

        >>> exercise("two-pairs", class_number=7, go=2).whose
        'class number 7, second go'
        """
        if self.class_number is None:
            return "no class number yet"
        nth = f"{_GOES[self.go]} go" if self.go < len(_GOES) else f"go {self.go}"
        return f"class number {self.class_number}" + (f", {nth}" if self.go > 1 else "")

    @property
    def heading(self) -> str:
        """Title, and whose numbers these are."""
        return f"{self.title} ({self.whose})"

    @property
    def key(self) -> str:
        """The answer as it stands on a teacher's key: one of those that are right, short.

        >>> exercise("lead-of-a-leadscrew", class_number=12).key
        '5.6444 mm'
        """
        return self.task.key

    def check(self, answer: object = None) -> Outcome:
        """Mark an answer: any right one is right, however it is written. Never raises.

        >>> exercise("lead-of-a-leadscrew", class_number=12).check(...)
        … Not answered yet. Put your answer in, then check it.

        `answer`: whatever the question asks for; None, ... or empty text for no answer yet. What is marked with the
        learner's own class number is kept, as the form keeps it.
        """
        if self._task is None:
            own = self.anew()  # it may be known by now
            return own.check(answer) if own.class_number is not None else Outcome(NOT_YET, _NO_NUMBER)
        outcome = self._task.check(answer)
        if self.is_kept and outcome.state != NOT_YET:
            with suppress(Exception):  # an answer may be any object at all, and fail when it is written out
                written = _as_typed(answer)
                if self._task.check(written).state == outcome.state:
                    self.keep(written, counts=True)
        return outcome

    def keep(self, answer: str, *, counts: bool, is_begun: bool = False) -> None:
        """Put an answer in the learner's book, where it has a place there.

        `counts`: as a try, if it is another; `is_begun`: also a go without an answer yet, so that it is the one that is
        shown next time. A right answer is not given up for what somebody tries out afterwards.
        """
        had = self.kept()
        given_up = self.task.check(had.answer).is_right and not self.task.check(answer).is_right
        if self.is_kept and self.class_number is not None and not given_up:
            tries = had.tries + (counts and (answer != had.answer or not had.tries))
            made = Go(self.class_number, self.go, answer, tries, had.lathe)
            if made != had or is_begun:
                answer_book().keep_answer(self.name, made)

    def kept(self) -> Go:
        """What the learner's book has of this go; a go without an answer where it has none."""
        mine = Go(self.class_number or 0, self.go, lathe=self.lathe.to_toml() if self.lathe is not None else "")
        if not self.is_kept:
            return mine
        return next((go for go in answer_book().goes(self.name) if go.place == mine.place), mine)

    def fresh(self) -> Exercise:
        """The same exercise at the next go, with fresh numbers."""
        posed = exercise(self.name, self.class_number, lathe=self.lathe, go=self.go % MOST_GOES + 1)
        return evolve(posed, is_kept=self.is_kept)

    def anew(self) -> Exercise:
        """The same exercise with the class number that is the learner's own by now."""
        return exercise(self.name, lathe=self.lathe)

    def with_a_number(self) -> Exercise:
        """This one, or with the numbers of class number 1 where there are none yet: for a page that can't ask."""
        return self if self._task is not None else exercise(self.name, 1, self.lathe)

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

        return ExerciseForm(self)

    def __str__(self) -> str:
        return f"{self.heading}\n{self._task or _NO_NUMBER}"

    __repr__ = __str__

    def _repr_html_(self) -> str:
        asked = self._task._repr_html_() if self._task is not None else f"<p>{markup.in_html(_NO_NUMBER)}</p>"
        return f"<p><strong>{markup.in_html(self.heading)}</strong></p>{asked}"

    def _ipython_display_(self) -> None:
        """The form where a page can show one, the question alone where it can't."""
        try:
            form = self.form()
        except ImportError:  # no widgets are installed
            from IPython.display import display

            display({"text/plain": str(self), "text/html": self._repr_html_()}, raw=True)
        else:
            form._ipython_display_()


def exercise(name: str, class_number: int | None = None, lathe: Lathe | None = None, go: int | None = None) -> Exercise:
    """Open the exercise of that name, with the numbers of one class number.

    >>> q = exercise("lead-of-a-leadscrew", class_number=12)
    >>> q.check("8 mm").is_right, q == exercise("lead-of-a-leadscrew", class_number=12)
    (False, True)

    `name`: one of exercise_names(); `class_number`: whole number from 0, each apprentice's own; left out, it is the one
    in answers.json beside the lesson, and what is answered is kept there. `lathe`: for an exercise about any lathe.
    `go`: from 1 to 50, a further one has fresh numbers; left out, the first, or the last that the learner has begun.
    Raises UnknownNameError for no such exercise, ValueOutOfRangeError for no class number or go, NotPossibleError for a
    lathe where the exercise has its own.
    """
    recipe = recipe_of(name)
    lathe = None if lathe is None else as_lathe(lathe)
    own = answer_book().class_number if class_number is None else None
    number = own if class_number is None else class_number
    if number is None:
        return Exercise(recipe.name, recipe.title, recipe.lesson, None, lathe=lathe, is_kept=True)
    if go is None:
        text = lathe.to_toml() if lathe is not None else ""
        begun = answer_book().goes(recipe.name) if own is not None else ()
        go = max((had.go for had in begun if (had.class_number, had.lathe) == (own, text)), default=1)
    task = recipe.numbered(number, go, lathe)
    is_kept = class_number is None
    return Exercise(recipe.name, recipe.title, recipe.lesson, index(number), index(go), lathe, is_kept, task)


def recipe_of(name: str) -> Recipe:
    """Look up how the exercise of that name is made.

    >>> recipe_of("two-pairs").lesson
    3

    `name`: one of exercise_names(). Raises UnknownNameError for no such exercise.
    """
    known = _all()
    if isinstance(name, str) and name in known:
        return known[name]
    text = str.__str__(name)[:60] if isinstance(name, str) else ""
    near = difflib.get_close_matches(text, known, n=3, cutoff=0.3) or sorted(known)[:3]
    raise UnknownNameError(
        f"there is no exercise {quoted(name)}",
        remedy=f"Near to it: {', '.join(near)}. 'gearcalc exercises' lists them all; in Python it is exercise_names().",
    )


def _as_typed(answer: object) -> str:
    """An answer from code as somebody would have typed it."""
    if isinstance(answer, str):
        return str.__str__(answer)
    if isinstance(answer, float) and isfinite(answer):
        return str(from_float(answer))
    several = isinstance(answer, (list, tuple, set, frozenset))
    return ", ".join(map(str, answer)) if several else str(answer)  # type: ignore[call-overload]


def exercise_names(lesson: int | None = None) -> OneALine[str]:
    """List the names of a lesson's exercises in the order in which they stand there; of all lessons without a number.

    >>> exercise_names(1)[0]
    'lead-of-a-leadscrew'

    `lesson`: its number, 0 to 13. An unknown one has none.
    """
    number = as_index(lesson)
    return OneALine(recipe.name for recipe in _all().values() if lesson is None or recipe.lesson == number)


def _all() -> dict[str, Recipe]:
    """Every exercise entered by now, ours and a school's own, in the order of the lessons."""
    _ours()
    return dict(sorted(recipes().items(), key=lambda entry: entry[1].lesson))


@cache
def _ours() -> None:
    """Read the files beside this one that are named after a lesson, in their order, once."""
    for module in sorted(found.name for found in iter_modules(__path__)):
        if module.startswith("lesson_"):
            import_module(f"{__name__}.{module}")
