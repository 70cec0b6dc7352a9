"""Exercises worked a second time: from the words of the question alone, by plain arithmetic or brute force.

Nothing here asks the package what the answer is. A right answer is given in several forms; a wrong one under the
name of the slip that leads to it. A file a lesson, with its CASES: name of the exercise -> Case.
"""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from tests.learning.exercise_cases.reading import Case

__all__ = ["CASES", "Case"]

_FILES = [found.name for found in iter_modules(__path__) if found.name.startswith("lesson_")]
CASES: dict[str, Case] = {
    name: case for file in _FILES for name, case in import_module(f"{__name__}.{file}").CASES.items()
}
