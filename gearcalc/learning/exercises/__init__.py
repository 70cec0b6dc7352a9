"""Exercises: a question with numbers of one's own, marked for being right, with feedback on the usual slips."""

from __future__ import annotations

import difflib
from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from gearcalc.basics.errors import UnknownNameError, quoted
from gearcalc.learning.exercises.tasks import Exercise, Outcome, Recipe, recipes

__all__ = ["Exercise", "Outcome", "exercise", "exercise_names"]


def exercise(name: str, class_number: int = 1) -> Exercise:
    """The exercise of that name, with the numbers of one class number.

    >>> q = exercise("lead-of-a-leadscrew", class_number=12)
    >>> q.check("8 mm").is_right, q == exercise("lead-of-a-leadscrew", class_number=12)
    (False, True)

    `name`: one of exercise_names(); `class_number`: whole number from 0, each apprentice's own.
    Raises UnknownNameError for no such exercise, ValueOutOfRangeError for no class number.
    """
    known = _all()
    if isinstance(name, str) and name in known:
        return known[name].numbered(class_number)
    text = str.__str__(name)[:60] if isinstance(name, str) else ""
    near = difflib.get_close_matches(text, known, n=3, cutoff=0.3) or sorted(known)[:3]
    raise UnknownNameError(
        f"there is no exercise {quoted(name)}",
        remedy=f"Near to it: {', '.join(near)}. exercise_names() lists them all.",
    )


def exercise_names(lesson: int | None = None) -> list[str]:
    """The names of a lesson's exercises in the order in which they stand there; of all lessons without a number.

    >>> exercise_names(1)[0]
    'lead-of-a-leadscrew'

    `lesson`: its number, 0 to 12. An unknown one has none.
    """
    return [recipe.name for recipe in _all().values() if lesson in (None, recipe.lesson)]


@cache
def _all() -> dict[str, Recipe]:
    """Every exercise, from the files beside this one that are named after a lesson."""
    for module in sorted(found.name for found in iter_modules(__path__)):
        if module.startswith("lesson_"):
            import_module(f"{__name__}.{module}")
    return recipes()
