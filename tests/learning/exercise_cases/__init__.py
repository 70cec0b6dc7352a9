"""Exercises worked a second time: from the words of the question alone, by plain arithmetic or brute force.

Nothing here asks the package what the answer is. A right answer is given in several forms; a wrong one under the
name of the slip that leads to it. A file a lesson, with its CASES: name of the exercise -> Case.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from pkgutil import iter_modules
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import Case

__all__ = ["CASES", "Case"]


def _once(reckon: Callable[[Exercise], Any]) -> Callable[[Exercise], Any]:
    """The same opinion, formed once for each question however many tests ask for it."""
    formed: dict[str, Any] = {}

    def opinion(q: Exercise) -> Any:
        asked = str(q.task)
        if asked not in formed:
            formed[asked] = reckon(q)
        return formed[asked]

    return opinion


_FILES = [found.name for found in iter_modules(__path__) if found.name.startswith("lesson_")]
CASES: dict[str, Case] = {
    name: Case(_once(case.right), _once(case.slips), _once(case.reveals))
    for file in _FILES
    for name, case in import_module(f"{__name__}.{file}").CASES.items()
}
