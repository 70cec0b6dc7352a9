"""The slips that the exercises of a lesson recognise: what a class will think, and what to say."""

from __future__ import annotations

from contextlib import suppress
from functools import cache

from attrs import frozen

from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import NotPossibleError, UnknownNameError
from gearcalc.learning.exercises import exercise_names, recipe_of
from gearcalc.learning.exercises.answers import Slip
from gearcalc.learning.exercises.notes import Table, tidy
from gearcalc.learning.progress import lesson_paths

_DRAWN = 6  # with the numbers of so many learners nearly every slip can be made


@frozen
class SlipToKnow:
    """A slip that an exercise recognises, and what it says to whoever makes it: None where that hangs on the answer."""

    exercise: str
    name: str
    says: str | None


@cache
def slips_of_lesson(lesson: int) -> tuple[SlipToKnow, ...]:
    """Find the slips that the exercises of a lesson recognise, exercise by exercise.

    >>> slips_of_lesson(1)[0].name
    'upside down'

    `lesson`: its number; one without exercises has none. The words are those of the first class number that can make
    the slip.
    """
    return tuple(slip for name in exercise_names(lesson) for slip in slips_of_exercise(name))


@cache
def slips_of_exercise(name: str) -> tuple[SlipToKnow, ...]:
    """Find the slips that an exercise recognises, each once.

    >>> [slip.name for slip in slips_of_exercise("pitch-and-lead")]
    ['starts forgotten', 'divided by the starts', 'in inches']

    `name`: one of exercise_names(). Raises UnknownNameError for no such exercise.
    """
    found: dict[str, str | None] = {}
    for class_number in range(1, _DRAWN + 1):
        for slip in recipe_of(name).numbered(class_number).slips:
            if found.get(slip.name) is None:
                found[slip.name] = _said_of(slip)
    return tuple(SlipToKnow(name, slip, says) for slip, says in found.items())


def _said_of(slip: Slip) -> str | None:
    if isinstance(slip.says, str):
        return tidy(slip.says)
    with suppress(Exception):  # what makes the words may want an answer as it was read
        return tidy(slip.says(slip.value)) if slip.value is not None else None
    return None


def slips_table(lesson: int) -> Table:
    """List the slips that the exercises of a lesson recognise, and what they say; the numbers are one learner's.

    >>> slips_table(1).rows[0][1]
    'upside down'

    `lesson`: its number, 1 to 13. Raises NotPossibleError where it has no exercises, UnknownNameError where there
    is no such lesson.
    """
    slips = slips_of_lesson(as_whole(lesson, what="a lesson", least=0))
    if not slips and lesson not in lesson_paths():
        raise UnknownNameError("there is no lesson of this number", value=f"{lesson:02}")
    if not slips:
        raise NotPossibleError("no exercise of this lesson tells slips apart", value=f"{lesson:02}")
    rows = [(recipe_of(one.exercise).title, one.name, one.says or "(it depends on the answer)") for one in slips]
    return Table(f"Slips in lesson {lesson:02}", "exercise | slip | what it says", rows)
