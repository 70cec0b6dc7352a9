"""Who works here, what is done, what comes next: for the page that the lessons start from."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from attrs import evolve, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import notebooks_folder
from gearcalc.basics.markup import Written
from gearcalc.lathes import Lathe
from gearcalc.learning.answer_book import AnswerBook, answer_book
from gearcalc.learning.answer_files import Go, read_class_number
from gearcalc.learning.exercises import exercise, exercise_names
from gearcalc.learning.exercises.notes import as_html
from gearcalc.learning.live import IN_THE_BROWSER

if TYPE_CHECKING:
    from gearcalc.learning.asking import Asking

_NAME, _NUMBER = "name", "class number"
_SAVE, _BRING = "save", "bring"
MORE = "## More practice"
"""The heading of what a lesson has beyond its time."""
_ABLE_TO, _A_GOAL = "**You will be able to**", re.compile(r"^\d\. (.+)$", re.M)
_BEFORE, _LINK = re.compile(r"\*\*Before you start:\*\*(.*)"), re.compile(r"\]\((\d\d)_\w+\.ipynb\)")
_MINUTES = re.compile(r"\*\*Time:\*\* about (\d+) minutes")


def lessons_in_words(numbers: Iterable[int]) -> str:
    """Name lessons by their numbers, from one to another only where none between is missing.

    >>> lessons_in_words([99]), lessons_in_words([1, 2, 3]), lessons_in_words([1, 2, 99])
    ('lesson 99', 'lessons 01 to 03', 'lessons 01, 02 and 99')
    """
    each = sorted(set(numbers))
    said = [f"{number:02}" for number in each]
    if len(each) > 2 and each[-1] - each[0] == len(each) - 1:
        return f"lessons {said[0]} to {said[-1]}"
    return f"lesson{'s' if each[1:] else ''} {writing.listed(said)}"


def name_and_number() -> Asking:
    """Ask for name and class number, once for all lessons.

    ```python
    name_and_number()
    ```

    Both are kept in answers.json beside the lessons, and stay on this machine. Where the lessons run in the browser
    alone, what it keeps can be saved as such a file, to hand it in or to go on elsewhere, and brought in again.
    """
    from gearcalc.learning.asking import Asking

    book = answer_book()

    def keep(field: str, text: str) -> None:
        try:
            if field == _NAME:
                book.keep_name(text)
            elif text.strip():
                book.keep_class_number(read_class_number(text))
            else:
                look()
        except GearcalcError as problem:
            asks.said = as_html(markup.sentence(str(problem)))

    def look() -> None:
        number = book.class_number
        asks.values = {_NAME: book.name, _NUMBER: "" if number is None else str(number)}
        said = "Your class number gives you your own numbers in every exercise. Working alone, pick any."
        if number is not None:
            said = book.where
        asks.said = as_html(" ".join(dict.fromkeys(filter(None, (said, book.notice())))))

    def hand_out(_: str) -> None:
        asks.hand_out(book.name_to_hand_in, book.page.decode())
        asks.said = as_html(f"Saved as **{book.name_to_hand_in}**, among your downloads: hand that file in.")

    def bring_in(text: str) -> None:
        try:
            book.bring_in(text.encode("utf-8", "replace"))
            asks.said = as_html("Brought in. Run the cells of a lesson that is open again, to see it there.")
        except GearcalcError as problem:
            asks.said = as_html(f"Nothing was brought in: {problem}")

    fields: list[dict[str, Any]] = [
        {"name": _NAME, "label": "Name:"},
        {"name": _NUMBER, "label": "Class number:", "numeric": True},
    ]
    asks = Asking(title="Who works here", fields=fields, typed=keep, pressed=hand_out, brought=bring_in)
    if IN_THE_BROWSER:
        asks.buttons = [(_SAVE, "Download my answers", None), (_BRING, "Bring my answers in", None, ".json")]

    def still() -> str:
        shown = "".join(f"<p>{one['label']} {markup.in_html(asks.values[one['name']]) or '…'}</p>" for one in fields)
        return f"<p><strong>Who works here</strong></p>{shown}"

    asks.follows(book, look)
    asks.still = still
    return asks


@frozen
class LessonDone:
    """How far a lesson is: its number, title and file, the minutes that it states, its exercises in order.

    `asked`: how many of them stand in it before *More practice*; `more`: those that stand there, also where one was
    asked before about the learner's own lathe; `right`, `answered`: those that are; `goals`: what it
    says that one will be able to do, in order; `needs`, `helps`: the lessons that it names before it starts, those that
    are necessary, and the others.
    """

    number: int
    title: str
    file: str
    minutes: int | None
    exercises: tuple[str, ...]
    asked: int
    right: tuple[str, ...] = ()
    answered: tuple[str, ...] = ()
    goals: tuple[str, ...] = ()
    needs: tuple[int, ...] = ()
    helps: tuple[int, ...] = ()
    more: tuple[str, ...] = ()

    @property
    def is_done(self) -> bool:
        """Whether every exercise is right, those aside that are there for more practice."""
        return set(self.exercises[: self.asked]) <= set(self.right)

    @property
    def state(self) -> str:
        """In a word or two."""
        return "done" if self.is_done else "begun" if self.answered else "to come"


@frozen(repr=False)
class Done:
    """What one learner has done, lesson by lesson; made by what_is_done()."""

    lessons: tuple[LessonDone, ...]

    @property
    def next(self) -> LessonDone | None:
        """The first lesson in which something is not right yet; None where all is done."""
        return next((lesson for lesson in self.lessons if not lesson.is_done), None)

    def __str__(self) -> str:
        rows = [f"{lesson.title}: {len(lesson.right)} of {len(lesson.exercises)} right" for lesson in self.lessons]
        return "\n".join([*rows, self._what_next()])

    __repr__ = __str__

    def _what_next(self) -> str:
        if self.next is None:
            return "Every lesson is done. Fresh numbers are in each form."
        left = next(name for name in self.next.exercises if name not in self.next.right)
        return f"Next: {self.next.title}, the exercise '{_title(left)}'."

    def _repr_html_(self) -> str:
        def link(lesson: LessonDone) -> Written:
            return Written(lesson.title, "", f'<a href="{lesson.file}">{markup.in_html(lesson.title)}</a>')

        rows = [
            (
                link(lesson),
                str(lesson.minutes or "–"),
                lesson_numbers(lesson.needs) or "–",
                f"{len(lesson.right)} of {len(lesson.exercises)}",
                lesson.state,
            )
            for lesson in self.lessons
        ]
        heads = ("lesson", "minutes", "builds on", "exercises right", "how far")
        table = markup.html_columns("What is done", heads, rows)
        told = markup.in_html(self._what_next())
        if self.next is not None:
            told = told.replace(markup.in_html(self.next.title), link(self.next).html, 1)
        return f"{table}<p>{told}</p>"


def what_is_done() -> Done:
    """Look up what is done, lesson by lesson, and what comes next.

    ```python
    what_is_done()
    ```

    It asks answers.json alone, and marks each answer again. An exercise is done once one go at it, with the learner's
    class number, is right. Run the cell again to see what is new.
    """
    book = answer_book()
    return Done(tuple(_with_answers(lesson, book) for lesson in lessons_with_exercises()))


def _with_answers(lesson: LessonDone, book: AnswerBook) -> LessonDone:
    mine = {
        name: [go for go in book.goes(name) if go.answer and go.class_number == book.class_number]
        for name in lesson.exercises
    }
    right = (name for name, goes in mine.items() if any(_is_right(name, go) for go in goes))
    return evolve(lesson, right=tuple(right), answered=tuple(name for name, goes in mine.items() if goes))


def _is_right(name: str, go: Go) -> bool:
    try:
        lathe = Lathe.from_toml(go.lathe) if go.lathe else None
        return exercise(name, go.class_number, lathe, go.go).check(go.answer).is_right
    except GearcalcError:  # a lathe that somebody spoiled in the file
        return False


@cache
def lessons_with_exercises() -> tuple[LessonDone, ...]:
    """List each lesson that has exercises, nothing done; the exercises in the order in which they stand there.

    >>> lessons_with_exercises()[0].file
    '01_one_turn.ipynb'
    """
    return tuple(lesson for lesson in map(read_lesson, lesson_paths().values()) if lesson.exercises)


def lesson_paths() -> dict[int, Path]:
    """Find the notebook of each lesson, by its number and in that order.

    >>> lesson_paths()[1].name
    '01_one_turn.ipynb'
    """
    return {int(path.name[:2]): path for path in sorted(notebooks_folder().glob("[0-9][0-9]_*.ipynb"))}


def lesson_numbers(numbers: Iterable[int]) -> str:
    """Write numbers of lessons as their files have them, in their order.

    >>> lesson_numbers([11, 1])
    '01, 11'
    """
    return ", ".join(f"{number:02}" for number in sorted(numbers))


def read_lesson(path: Path) -> LessonDone:
    """Read what the notebook of a lesson says of it, nothing done.

    ```python
    read_lesson(notebooks_folder() / "01_one_turn.ipynb")
    ```
    """
    page = path.read_text(encoding="utf-8")
    cells = ["".join(cell["source"]) for cell in json.loads(page)["cells"]]
    title = cells[0].splitlines()[0].lstrip("# ")
    promise = next((cell.partition(_ABLE_TO)[2] for cell in cells if _ABLE_TO in cell), "")
    goals = tuple(words.rstrip(";.") for words in _A_GOAL.findall(promise))
    number = int(path.name[:2])
    within, _, beyond = page.partition(MORE)
    asked, more = _exercises_in(within, number), _exercises_in(beyond, number)
    names = tuple(dict.fromkeys((*asked, *more)))
    stated = _MINUTES.search(page)
    minutes = int(stated[1]) if stated else None
    needs, helps = _leans_on("\n".join(cells))
    return LessonDone(number, title, path.name, minutes, names, len(asked), (), (), goals, needs, helps, more)


def _exercises_in(page: str, lesson: int) -> tuple[str, ...]:
    """The exercises of a lesson that stand in a part of its notebook, in order; none of a school's own."""
    places = {name: page.find(f'exercise(\\"{name}\\"') for name in exercise_names(lesson)}
    return tuple(sorted((name for name, place in places.items() if place >= 0), key=places.__getitem__))


def _leans_on(page: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The lessons that are necessary, and those that help: all are necessary where none is called so."""
    said = _BEFORE.search(page)
    words = said[1] if said else ""
    until = words.find("necessary") if "necessary" in words else len(words)
    needs, helps = _LINK.findall(words[:until]), _LINK.findall(words[until:])
    return tuple(map(int, needs)), tuple(map(int, helps))


def _title(name: str) -> str:
    return exercise(name, class_number=1).title
