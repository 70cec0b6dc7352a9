"""Who has what right, and which slips: the marks of a class, worked out again from what it handed in."""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import groupby
from typing import TYPE_CHECKING, Any

from attrs import define, evolve, field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, without_controls
from gearcalc.basics.progress import Shown, how_shown
from gearcalc.learning.exercises import exercise_names
from gearcalc.learning.exercises.tasks import NOT_RIGHT, RIGHT, recipes
from gearcalc.learning.progress import lessons_with_exercises
from gearcalc.teaching.class_lists import Learner
from gearcalc.teaching.handed_in import Answered, HandedIn, NotTaken, handed_in
from gearcalc.teaching.marking import NOT_MARKED, Mark, ToMark, all_marked

if TYPE_CHECKING:
    import pandas as pd

NOT_ANSWERED = "not answered"
_MOST_TYPED = 60


@frozen
class Work:
    """How a learner stands at an exercise: 'right', 'not right', 'not readable', 'not marked' or 'not answered'.

    `slip`: the one that shows in the last answer; `says`: what to say of it; `tries`: in all goes together;
    `typed`: the last answer, shortened.
    """

    state: str = NOT_ANSWERED
    slip: str | None = None
    says: str = ""
    tries: int = 0
    typed: str = ""

    def __str__(self) -> str:
        said = self.slip or self.state if self.state == NOT_RIGHT else self.state
        return f"{said} ({writing.counted(self.tries, 'try', 'tries')})" if self.tries > 1 else said


NOTHING = Work()


@frozen
class LearnerMarks:
    """The marks of one learner: `works` by exercise, as it stands now; `by_week`: as it stood by then.

    `where`: what was taken; `refused`: where files lie that were most likely handed in by them, but not taken.
    """

    learner: Learner
    where: tuple[str, ...]
    by_week: Mapping[str, Mapping[str, Work]]
    refused: tuple[str, ...] = ()

    @property
    def works(self) -> Mapping[str, Work]:
        """As it stands by the last week."""
        return self.by_week[max(self.by_week)]

    def at(self, exercise: str) -> Work:
        """How it stands at one exercise."""
        return self.works.get(exercise, NOTHING)

    @property
    def right(self) -> int:
        """How many exercises are right."""
        return sum(work.state == RIGHT for work in self.works.values())


@define(repr=False, slots=False)
class ClassMarks:
    """The marks of a class; made by class_marks().

    `learners`: in the order of their numbers; `exercises`: of every lesson that somebody began, in the order of the
    lessons; `weeks`: the dates of the folders, one empty where there are none; `not_taken`: what doesn't count, why.
    """

    learners: tuple[LearnerMarks, ...]
    exercises: tuple[str, ...]
    weeks: tuple[str, ...]
    not_taken: tuple[NotTaken, ...] = field(default=())

    @cached_property
    def table(self) -> pd.DataFrame:
        """A row for each learner, a column for each exercise, as a pandas DataFrame."""
        from gearcalc.papers.frames import frame_of

        return frame_of(map(self._row, self.learners))

    def _row(self, one: LearnerMarks) -> dict[str, Any]:
        front = {"class number": one.learner.number, "name": one.learner.name, "right": one.right}
        return front | {name: str(one.at(name)) for name in self.exercises} | {"not taken": "; ".join(one.refused)}

    def __str__(self) -> str:
        return "\n".join(map(self.in_a_line, self.learners))

    __repr__ = __str__

    def in_a_line(self, one: LearnerMarks) -> str:
        """How one learner stands, in a line."""
        works = [one.at(name) for name in self.exercises]
        slips = sum(work.state == NOT_RIGHT for work in works)
        left = sum(work.state == NOT_ANSWERED for work in works)
        odd = len(works) - one.right - slips - left
        more = f", {odd} not readable or not marked" if odd else ""
        without = f"; without {'; '.join(one.refused)}, not taken" if one.refused else ""
        said = f"{one.learner}: {one.right} of {len(works)} right, {slips} not right{more}, {left} not answered"
        return f"{said}{without}"


def class_marks(
    folder: str | os.PathLike[str], learners: Sequence[Learner] = (), progress: bool | Shown = False
) -> ClassMarks:
    """Mark what a class handed in: every mark is worked out again from the answer, and nothing of theirs is run.

    `folder`: with files of answers, or notebooks, in it or below, as handed_in() reads them; `learners`: the class,
    from class_list(), where there is a list; `progress`: whether how far it has got is shown, or what shows it. An
    exercise is right once one go at it is. Raises NotPossibleError where nothing can be marked.
    """
    found, refused = handed_in(folder, learners)
    if not found and not learners:
        if refused and all(one.is_empty for one in refused):
            remedy = f"In {writing.counted(len(refused), 'place')} lessons or answers are begun, and none is answered."
            raise NotPossibleError("nothing is handed in here yet", where=str(folder), remedy=remedy)
        why = str(refused[0]) if refused else "No file of answers and no notebook lies there."
        remedy = f"{why} Put each learner's answers.json into it, in a folder of its own or as answers-name.json."
        raise NotPossibleError("nothing here can be marked", where=str(folder), remedy=remedy)
    by_number: dict[int, list[HandedIn]] = defaultdict(list)
    for one in sorted(found, key=lambda one: (one.class_number, one.week, one.where)):
        by_number[one.class_number].append(one)
    marks = _marks_of(by_number, how_shown(progress))
    weeks = tuple(sorted({one.week for one in found})) or ("",)
    names = {learner.number: learner.name for learner in learners}
    numbers = sorted({*names, *by_number})
    made = [_learner_marks(number, names.get(number, ""), by_number[number], weeks, marks) for number in numbers]
    made = [evolve(one, refused=_where_refused(one.learner.number, refused)) for one in made]
    refused = (*refused, *_not_marked(by_number, marks), *_copied(made, by_number, marks))
    return ClassMarks(tuple(made), _begun(made), weeks, refused)


def _where_refused(number: int, refused: Iterable[NotTaken]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.where for one in refused if one.is_all and one.class_number == number))


def _key(number: int, one: Answered) -> tuple[int, str, int, str, str]:
    return number, one.exercise, one.go, repr(one.answer), one.lathe


def _marks_of(by_number: Mapping[int, Sequence[HandedIn]], shown: Shown) -> Callable[[int, Answered], Mark]:
    """Every answer marked once, however many weeks it stood there."""
    once: dict[int, dict[Any, ToMark]] = {}
    for number, files in by_number.items():
        once[number] = {_key(number, one): ToMark(number, one) for file in files for one in file.answers}
    marks: dict[Any, Mark] = {}
    steps = shown(list(once.values()), "Marking, learner")
    for given, got in zip(steps, all_marked([list(each.values()) for each in once.values()]), strict=True):
        marks.update(zip(given, got, strict=True))
    return lambda number, one: marks[_key(number, one)]


def _learner_marks(
    number: int, name: str, files: Sequence[HandedIn], weeks: Sequence[str], mark: Callable[[int, Answered], Mark]
) -> LearnerMarks:
    by_week: dict[str, dict[str, Work]] = {}
    goes: dict[str, dict[tuple[int, str], Answered]] = defaultdict(dict)
    standing: dict[str, Work] = {}
    for week in weeks:
        for one in (one for file in files if file.week == week for one in file.answers):
            goes[one.exercise][one.go, one.lathe] = one
        for exercise, at in goes.items():
            got = _standing([(one, mark(number, one)) for _, one in sorted(at.items())])
            if standing.get(exercise, NOTHING).state != RIGHT or got.state == RIGHT:
                standing = {**standing, exercise: got}
        by_week[week] = standing
    said = name or next((file.name for file in reversed(files) if file.name), "")
    return LearnerMarks(Learner(number, said), tuple(dict.fromkeys(file.where for file in files)), by_week)


def _standing(goes: Sequence[tuple[Answered, Mark]]) -> Work:
    """Right where one go is, else as the last one is."""
    tries = sum(max(one.tries, 1) for one, _ in goes)
    if any(got.state == RIGHT for _, got in goes):
        return Work(RIGHT, tries=tries)
    one, last = goes[-1]
    typed = " ".join(without_controls(str(one.answer)[: 4 * _MOST_TYPED]).split())
    typed = typed if len(typed) <= _MOST_TYPED else f"{typed[: _MOST_TYPED - 1]}…"
    return Work(last.state, last.slip, last.says, tries, typed)


def _begun(made: Iterable[LearnerMarks]) -> tuple[str, ...]:
    """The exercises of every lesson that somebody began, in the order in which they stand there."""
    answered = {name for one in made for name in one.works}
    lessons = {recipes()[name].lesson for name in answered if name in recipes()}
    in_order = {lesson.number: lesson.exercises for lesson in lessons_with_exercises()}
    return tuple(
        name
        for number in sorted(lessons)
        for name in dict.fromkeys((*in_order.get(number, ()), *exercise_names(number)))  # then those of a school's own
    )


def _not_marked(
    by_number: Mapping[int, Sequence[HandedIn]], mark: Callable[[int, Answered], Mark]
) -> Iterable[NotTaken]:
    for number, files in by_number.items():
        for file in files:
            unmarked = [(one, got) for one in file.answers if (got := mark(number, one)).state == NOT_MARKED]
            for says, several in groupby(sorted(unmarked, key=lambda each: each[1].says), lambda each: each[1].says):
                names = writing.listed(sorted({one.exercise for one, _ in several}))
                yield NotTaken(file.where, f"not marked: {names}: {says.rstrip('.')}", is_all=False)


_FEWEST_COPIED, _MOST_WITH_IT = 3, 3
_TELLING = re.compile(r"\d[.,]?\d")


def _copied(
    made: Sequence[LearnerMarks], by_number: Mapping[int, Sequence[HandedIn]], mark: Callable[[int, Answered], Mark]
) -> Iterable[NotTaken]:
    """Who gives, to questions with numbers of their own, the right answers to another's, word for word.

    Only answers with a number of two digits count: choices and rows are often the same without anybody having copied.
    """
    right: dict[tuple[str, str], set[int]] = defaultdict(set)
    wrong: dict[int, set[tuple[str, str]]] = defaultdict(set)
    for number, files in by_number.items():
        for one in (one for file in files for one in file.answers if one.go == 1):
            said = one.exercise, str(one.answer).casefold()
            if not _TELLING.search(said[1]):
                continue
            if mark(number, one).state == RIGHT:
                right[said].add(number)
            else:
                wrong[number].add(said)
    learners = {one.learner.number: one.learner for one in made}
    for number, those in wrong.items():
        others: dict[int, int] = defaultdict(int)
        for said in those:
            if len(right[said]) <= _MOST_WITH_IT:
                for other in right[said]:
                    others[other] += 1
        for other, times in sorted(others.items()):
            if times >= _FEWEST_COPIED:
                why = f"{times} answers are, word for word, the right ones to the questions of {learners[other]}"
                yield NotTaken(by_number[number][-1].where, f"{why}: they count as not right", is_all=False)
