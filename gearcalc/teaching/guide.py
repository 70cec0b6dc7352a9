"""The course as whoever teaches it needs it, made from the lessons: goals, minutes, order, slips, a term's weeks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.files import read_rows
from gearcalc.learning.exercises import recipe_of
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.progress import LessonDone, lesson_numbers, lesson_paths
from gearcalc.teaching.lesson_plans import LessonPlan, lesson_plan, without_signs

BY_A_GUESS = {(6, 2): "worm-exactly", (9, 3): "first-look-when-it-does-not-start"}
"""Goals that no exercise asks, by lesson and place: the guess that does."""
_FEWEST_MINUTES, _MOST_MINUTES, _MOST_WEEKS_OFF = 20, 600, 52


def all_plans() -> tuple[LessonPlan, ...]:
    """Plan every lesson, in their order.

    >>> len(all_plans())
    14
    """
    return tuple(map(lesson_plan, lesson_paths()))


def lessons_table() -> Table:
    """List the lessons: minutes, goals, exercises, what comes before.

    >>> lessons_table().rows[1][:2]
    ('01 · One turn of the spindle', '60')
    """
    lessons = [plan.lesson for plan in all_plans()]
    rows = [
        (one.title, one.minutes, _exercises(one), lesson_numbers(one.needs) or "–", lesson_numbers(one.helps) or "–")
        for one in lessons
    ]
    minutes = sum(one.minutes or 0 for one in lessons)
    count = sum(len(one.exercises) for one in lessons)
    said = f"{len(lessons)} lessons, {minutes} minutes, {count} exercises"
    return Table(said, "lesson | minutes | exercises, and for more practice | needs | helpful", rows)


def _exercises(one: LessonDone) -> str:
    more = len(one.exercises) - one.asked  # one that was asked before, about the learner's own lathe, counts once
    return f"{one.asked} + {more}" if more else str(one.asked)


def ways_table() -> Table:
    """List the ways in which the lessons reach their learners: what each needs and keeps, and how it is marked.

    >>> ways_table().rows[1][0]
    'own computer: lessons'
    """
    rows = read_rows("ways.csv")
    return Table(f"{len(rows)} ways to the lessons", " | ".join(rows[0]), [row.values() for row in rows])


def exercises_by_goal() -> Table:
    """List what each lesson promises, and by which exercises that is asked; one in brackets is for more practice.

    >>> exercises_by_goal().rows[3][1]
    'turn lead, pitch and threads per inch into one another'
    """
    rows = [
        (f"{plan.lesson.number:02}", without_signs(goal), _asked_by(plan.lesson, place))
        for plan in all_plans()
        for place, goal in enumerate(plan.lesson.goals, 1)
    ]
    return Table(f"{len(rows)} goals, and what asks them", "lesson | to be able to | asked by", rows)


def _asked_by(lesson: LessonDone, goal: int) -> str:
    asked = [
        recipe_of(name).title if place < lesson.asked else f"({recipe_of(name).title})"
        for place, name in enumerate(lesson.exercises)
        if recipe_of(name).goal == goal
    ]
    if asked:
        return "; ".join(asked)
    return "a guess" if (lesson.number, goal) in BY_A_GUESS else "what is tried on the page"


@frozen
class Week:
    """A week of a term: its number, its first day where that is known, and what is done for how many minutes."""

    number: int
    begins: date | None
    done: tuple[tuple[str, int], ...]

    @property
    def minutes(self) -> int:
        """How long it all takes."""
        return sum(minutes for _, minutes in self.done)


def weeks_of_term(minutes_a_week: int, begins: str | None = None, weeks_off: Sequence[str] = ()) -> tuple[Week, ...]:
    """Spread the lessons over the weeks of a term, in their order.

    >>> [len(week.done) for week in weeks_of_term(120)][:3]
    [2, 2, 2]

    `minutes_a_week`: 20 to 600; `begins`: the first day, like '2027-01-11', where dates are wanted; `weeks_off`: a day
    in each week without lessons. A lesson goes over into the next week only where it is longer than a whole one.
    Raises ValueOutOfRangeError for anything else.
    """
    room = as_whole(minutes_a_week, what="minutes a week", least=_FEWEST_MINUTES, most=_MOST_MINUTES)
    first = None if begins is None else _day(begins)
    off = {_monday(_day(day)) for day in ([weeks_off] if isinstance(weeks_off, str) else weeks_off)}
    if first is None and off:
        raise ValueOutOfRangeError(
            "weeks off need the first day of the term", remedy="Name it too, such as '2027-01-11'."
        )
    if len(off) > _MOST_WEEKS_OFF:
        raise ValueOutOfRangeError("so many weeks off are no term", value=len(off))
    days = _days(first, off)
    filled = _filled(room)
    return tuple(Week(number, next(days), tuple(done)) for number, done in enumerate(filled, 1))


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except (TypeError, ValueError):
        remedy = "Write it like 2027-01-11: year, month, day."
        raise ValueOutOfRangeError("this is no day", value=repr(text), remedy=remedy) from None


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _days(first: date | None, off: set[date]) -> Iterator[date | None]:
    day = first
    while True:
        if day is None or _monday(day) not in off:
            yield day
        day = None if day is None else day + timedelta(weeks=1)


def _filled(room: int) -> Iterator[list[tuple[str, int]]]:
    """What is done in each week, and for how long."""
    week: list[tuple[str, int]] = []
    left = room
    for plan in all_plans():
        needed, again = plan.lesson.minutes or 0, ""
        while needed:
            if needed > left and (needed <= room or not left):
                yield week
                week, left = [], room
            now = min(needed, left)
            week.append((f"{again}{plan.lesson.title}", now))
            needed, left, again = needed - now, left - now, "the rest of "
    yield week


def schedule(minutes_a_week: int, begins: str | None = None, weeks_off: Sequence[str] = ()) -> Table:
    """List the weeks of a term: what is done in each, for how long. Time for tests and at the lathe comes on top.

    >>> print(schedule(120, begins="2027-01-11").rows[0])
    ('1', '2027-01-11', '00 · Start here; 01 · One turn of the spindle', '80')

    Its arguments, and what is raised, are those of weeks_of_term().
    """
    weeks = weeks_of_term(minutes_a_week, begins, weeks_off)
    rows = [
        (week.number, week.begins or "–", "; ".join(title for title, _ in week.done), week.minutes) for week in weeks
    ]
    said = f"{writing.counted(len(weeks), 'week')} of {minutes_a_week} minutes"
    return Table(said, "week | from | what is done | minutes", rows)
