"""Worksheets and tests: which problems, with whose numbers, for how many points; and what is right."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import cycle, islice
from unicodedata import normalize

from attrs import field, frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_number, as_whole
from gearcalc.basics.errors import NotPossibleError, UnknownNameError, ValueOutOfRangeError, without_controls
from gearcalc.lathes import Lathe
from gearcalc.learning.exercises import recipe_of
from gearcalc.learning.exercises.tasks import MOST_GOES, Task
from gearcalc.learning.progress import lessons_in_words, lessons_with_exercises
from gearcalc.teaching.class_lists import Learner

MOST_POINTS = 1000
_LESSONS = re.compile(r"(\d{1,2})(?:\s*[-–]\s*(\d{1,2}))?", re.ASCII)
_LONGEST_TITLE, _LONGEST_WORD = 100, 60


@frozen
class Problem:
    """One problem of one learner.

    `name`, `title`: of the exercise; `time`: 1 where it is in the set for the first time, 2 for the second ...; on a
    worksheet that is the go, too. `points`: None where none are given.
    """

    name: str
    title: str
    time: int
    points: Fraction | None
    task: Task = field(repr=False)

    @cached_property
    def key(self) -> str:
        """The answer as it stands on the key: one of those that are right. Raises NotPossibleError as Task.key does."""
        try:
            return self.task.key
        except NotPossibleError as wrong:
            raise (wrong if wrong.where else wrong.at(f"exercise {self.name}")) from None

    @cached_property
    def worked(self) -> tuple[object, ...]:
        """The parts of the worked solution."""
        return self.task.solved().parts


@frozen
class ProblemSet:
    """What one learner is asked."""

    learner: Learner
    problems: tuple[Problem, ...]

    @property
    def points(self) -> Fraction | None:
        """All points of the set, None where none are given."""
        given = [problem.points for problem in self.problems if problem.points is not None]
        return sum(given, Fraction(0)) if given else None


@frozen
class Worksheet:
    """The same exercises for each of a class, each with the numbers of their class number.

    `title`; `sets`: one for each learner; `lathe`: that exercises about any lathe ask about, None for theirs;
    `test`: the word of a test, empty on a worksheet.
    """

    title: str
    sets: tuple[ProblemSet, ...]
    lathe: Lathe | None = None
    test: str = ""


def worksheet(
    exercises: Iterable[str],
    learners: Iterable[Learner],
    *,
    count: int | None = None,
    lathe: Lathe | None = None,
    title: str = "",
    points: Sequence[object] = (),
    test: str | None = None,
) -> Worksheet:
    """Set the problems of a class.

    >>> from gearcalc.teaching.class_lists import class_list
    >>> sheet = worksheet(["01"], class_list("7-8"), points=[2])
    >>> [(len(each.problems), each.points) for each in sheet.sets]
    [(4, Fraction(8, 1)), (4, Fraction(8, 1))]

    `exercises`, `count`: as chosen_exercises() has them; `lathe`: for those about any lathe; `points`: none, one number
    for each problem alike, or as many as there are problems, 0 to 1000. `test`: a word that makes a test: what none
    of these learners is asked first, and the same whenever word, in any case, and learners are the same. An exercise
    with few questions can still ask one what a classmate was asked in class, never what they were asked themselves.
    Raises ValueOutOfRangeError or UnknownNameError for what can't be read as that, NotPossibleError for a lathe where
    none of the exercises takes one.
    """
    names = chosen_exercises(exercises, count)
    if lathe is not None and not any(recipe_of(name).any_lathe for name in names):
        raise NotPossibleError(
            "each of these exercises has a lathe of its own", value=", ".join(names), remedy="Leave the lathe out."
        )
    given = _points_of_each(points, len(names))
    word = "" if test is None else _word_of_a_test(test)
    said = _one_line(title, _LONGEST_TITLE, "a title") or _title_of(names, bool(word))
    learners = tuple(learners)
    had_in_class = {name: _asked_first(name, learners, lathe) for name in names} if word else {}
    sets = (
        ProblemSet(each, tuple(_problems(names, each.number, lathe, given, word, had_in_class))) for each in learners
    )
    return Worksheet(said, tuple(sets), lathe, word)


def chosen_exercises(given: Iterable[str], count: int | None = None) -> tuple[str, ...]:
    """Names of the exercises that are meant, in the order given; one that comes again is asked again.

    >>> chosen_exercises(["which-way-round", "01"], count=2)
    ('which-way-round', 'which-way-round', 'lead-of-a-leadscrew', 'one-pair-for-a-thread')

    `given`: names, lessons like '01' or '1', or several lessons like '1-3'. `count`: 1 to 50, so many of each lesson
    or exercise given; None for one of an exercise, and of a lesson those that stand before *More practice*.
    Raises UnknownNameError for what is neither, ValueOutOfRangeError for another count, or where nothing is given.
    """
    if count is not None:
        count = as_whole(count, what="count", most=MOST_GOES)
    chosen: list[str] = []
    for each in given:
        for names, usual in _meant(each):
            chosen += islice(cycle(names), usual if count is None else count)
    if not chosen:
        raise ValueOutOfRangeError("no exercise is named", remedy="Name a lesson like 01, or an exercise.")
    most = max(set(chosen), key=chosen.count)
    if chosen.count(most) > MOST_GOES:
        raise ValueOutOfRangeError(f"an exercise has fresh numbers {MOST_GOES} times at most", where=most)
    return tuple(chosen)


def _meant(given: str) -> Iterator[tuple[Sequence[str], int]]:
    """The exercises of each lesson that is named, or the one exercise, and how many of them are usual."""
    found = _LESSONS.fullmatch(given.strip())
    if found is None:
        yield (recipe_of(given.strip()).name,), 1
        return
    first, last = int(found[1]), int(found[2] or found[1])
    there = {lesson.number: lesson for lesson in lessons_with_exercises()}
    numbers = [number for number in range(first, last + 1) if number in there]
    if not numbers or last > max(there):
        lessons = f"{min(there)} to {max(there)}"
        raise UnknownNameError("no such lesson has exercises", value=given, remedy=f"Lessons {lessons} have some.")
    for number in numbers:
        yield there[number].exercises, there[number].asked


def _asked_first(name: str, learners: Iterable[Learner], lathe: Lathe | None) -> set[str]:
    """What an exercise asks each of a class first."""
    recipe = recipe_of(name)
    return {str(recipe.numbered(each.number, lathe=lathe if recipe.any_lathe else None)) for each in learners}


def _problems(
    names: Sequence[str],
    number: int,
    lathe: Lathe | None,
    points: Sequence[Fraction | None],
    word: str,
    had_in_class: Mapping[str, set[str]],
) -> Iterator[Problem]:
    """The numbers of a test are drawn on an occasion of its own, first goes avoided: one's own, and the class's."""
    had: dict[str, list[Task]] = {}
    for name, worth in zip(names, points, strict=True):
        recipe, before = recipe_of(name), had.setdefault(name, [])
        taken, time = lathe if recipe.any_lathe else None, len(before) + 1
        first = recipe.numbered(number, 1 if word else time, taken)
        task = first
        if word:
            own = set(map(str, [first, *before]))
            task = recipe.fresh(f"test {word}", number, taken, own, had_in_class[name])
        before.append(task)
        yield Problem(name, recipe.title, time, worth, task)


def _points_of_each(given: Sequence[object], problems: int) -> list[Fraction | None]:
    if not given:
        return [None] * problems
    points = [as_number(each, what="points", least=0, most=MOST_POINTS) for each in given]
    if len(points) not in (1, problems):
        raise ValueOutOfRangeError(
            f"there are {writing.counted(problems, 'problem')}, and points for {len(points)}",
            remedy="Give one number for all of them, or one for each.",
        )
    return [*points] if len(points) == problems else [*points] * problems


def _one_line(given: str, longest: int, what: str) -> str:
    line = " ".join(without_controls(given).split())
    if len(line) > longest:
        raise ValueOutOfRangeError(f"{what} has at most {longest} signs", value=len(line))
    return line


def _word_of_a_test(given: str) -> str:
    """As it makes the numbers: in small letters, each sign in the one way in which it is commonly coded."""
    word = normalize("NFKC", _one_line(given, _LONGEST_WORD, "the word of a test").casefold())
    if not re.fullmatch(r"[\w .-]*\w[\w .-]*", word):
        remedy = "Letters and figures, with spaces, hyphens and points, can be typed again next year in any shell."
        raise ValueOutOfRangeError("this is no word for a test", value=given, remedy=remedy)
    return word


def _title_of(names: Sequence[str], is_test: bool) -> str:
    """What it is, and of which lessons."""
    lessons = sorted({recipe_of(name).lesson for name in names})
    what = "Test" if is_test else "Exercises"
    titles = [lesson.title for lesson in lessons_with_exercises() if lesson.number in lessons]
    if len(lessons) == 1 and titles:
        return f"{what}: {titles[0]}"
    return f"{what}: {lessons_in_words(lessons)}"
