"""An exercise's task: numbers drawn for a class number, a question, marking with feedback, hints, a worked solution.

A new exercise is one function under @poses in a file named after its lesson (lesson_01.py): it draws its numbers
and returns a Task. Everything else is done here, without widgets: a page, a form or a sheet of paper shows it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from itertools import chain, combinations, count
from typing import Any, TypeVar

from attrs import evolve, field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import GearcalcError, NotPossibleError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import PiMultiple
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.learning.answer_files import MOST_CLASS_NUMBER
from gearcalc.learning.exercises.answers import Answer, Slip, UnreadableError, bare, slips_of, told_apart
from gearcalc.learning.exercises.notes import Note, Table, as_html, as_text, bold_words, tidy
from gearcalc.pictures import style

T = TypeVar("T")
Pose = TypeVar("Pose", bound="Callable[..., Task]")
NOT_YET, NOT_RIGHT, RIGHT = "not answered yet", "not right", "right"
_MARKS = {NOT_YET: "…", NOT_RIGHT: "✗", RIGHT: "✓"}
_EDGES = {NOT_YET: style.SOFT, NOT_RIGHT: style.VERMILLION, RIGHT: style.GREEN}
MOST_GOES = 50
_MOST_DRAWS = 50
_MOST_ON_A_LATHE = 12
_MOST_FOR_OTHERS = 16


class _OthersAreDrawnError(Exception):
    """Raised for numbers that don't serve, and caught where a task is posed: what a lathe lacks that has no others."""


class _LatheLacksError(Exception):
    """Raised for a lathe that can't be asked about, and caught where a task is posed: what it lacks, after its name."""


class Draw(random.Random):
    """Where a task's numbers come from. Use choice, randrange, sample and evenly: the same everywhere.

    >>> sorted(Draw("which-row", number).evenly("abc") for number in (1, 2, 3))
    ['a', 'b', 'c']
    """

    def __init__(self, name: str, number: int) -> None:
        super().__init__(f"{name}:{number}")
        self._name, self._number = name, number

    def only_if(self, serves: bool, lacks: str = "") -> None:
        """Draw all numbers of the task again unless these serve.

        `lacks`: what the learner's own lathe lacks if none of its numbers do, as needs() takes it.
        """
        if not serves:
            raise _OthersAreDrawnError(lacks)

    def needs(self, has: bool, lacks: str) -> None:
        """Ask about the demo lathe instead unless the learner's own lathe has what the question needs.

        `lacks`: goes on after 'Your lathe', as in 'has no bracket in its file'.
        """
        if not has:
            raise _LatheLacksError(lacks)

    def evenly(self, among: Sequence[T]) -> T:
        """One of a few, so that a class meets each of them as often: dealt round, shuffled anew each time round."""
        round_, place = divmod(self._number - 1, len(among))  # a class begins with number 1
        return random.Random(f"{self._name}, round {round_}").sample(among, len(among))[place]


@frozen(repr=False)
class Outcome:
    """What became of an answer.

    `state`: 'not answered yet', 'not right' or 'right'; `feedback`: what to say; `slip`: the name of the slip
    that was recognised, None where there is none.
    """

    state: str
    feedback: str
    slip: str | None = None

    @property
    def is_right(self) -> bool:
        """Whether the answer was right."""
        return self.state == RIGHT

    def __str__(self) -> str:
        return f"{_MARKS[self.state]} {self.state.capitalize()}. {as_text(self.feedback)}"

    __repr__ = __str__

    @property
    def html(self) -> str:
        """The outcome in words, to stand in a line that tells of itself when it changes."""
        mark = _MARKS[self.state] if self.state == NOT_YET else markup.drawn(self.state == RIGHT)
        verdict = f"<strong>{mark} {markup.in_html(self.state.capitalize())}.</strong>"
        edge = f"border-left:4px solid {_EDGES[self.state]};padding-left:0.8em"
        return f'<div style="{edge}">{as_html(self.feedback).replace("<p>", f"<p>{verdict} ", 1)}</div>'

    def _repr_html_(self) -> str:
        return f'<div role="status">{self.html}</div>'


def _lines(text: str | tuple[str, ...]) -> tuple[str, ...]:
    """The lines of a text without their indents."""
    return tuple(line.strip() for line in text.strip().splitlines()) if isinstance(text, str) else text


@frozen(repr=False, kw_only=True)
class Task:
    """What one class number is asked.

    `question`: words, **bold** allowed, line breaks don't count; how to write the answer is added.
    `answer`: what is right.
    `slips`: wrong answers to recognise, the likeliest first, as slips_of() reads them.
    `hints`: two or three lines, each a step further.
    `solution`: the lines of the worked solution, or what makes it when it is asked for: words, results of the library.
    `table`: the list that is asked about; an answer `InOrder` needs one.
    `right`: a sentence on why it matters, or another way. `otherwise`: feedback where no slip is recognised.
    `apart`: whether numbers are drawn again until answer and slips are plainly told apart.
    """

    question: str = field(converter=tidy)
    answer: Answer
    slips: tuple[Slip, ...] = field(converter=slips_of, default=())
    hints: tuple[str, ...] = field(converter=_lines)
    solution: str | Callable[[], Iterable[object]]
    right: str = field(converter=tidy)
    otherwise: str | Callable[[Any], str] = "Go through it once more, one step at a time. A hint may help."
    table: Table | None = None
    apart: bool = False

    def __attrs_post_init__(self) -> None:
        """Refuse to ask for rows of a list that nobody sees. Raises ValueOutOfRangeError."""
        rows = len(self.table.rows) if self.table else 0
        if self.answer.rows_named and self.answer.rows_named != rows:
            remedy = f"Give the task a table of {writing.counted(self.answer.rows_named, 'row')}."
            raise ValueOutOfRangeError("the answer names rows of a list that the task has not", remedy=remedy)

    @property
    def serves(self) -> bool:
        """Whether answer and slips are plainly told apart, where that is asked for."""
        return not self.apart or told_apart(self.answer.value, *(slip.value for slip in self.slips))

    @property
    def slip_is_right(self) -> bool:
        """Whether with these numbers one of the slips leads to the right answer by luck: then others are drawn."""
        return any(map(self.answer.allows, self.slips))

    @property
    def slips_meet(self) -> bool:
        """Whether two slips lead to one answer, of which nobody could tell what to say: then others are drawn."""
        known = [slip for slip in self.slips if slip.value is not None]
        return any(one.value == other.value and one.says != other.says for one, other in combinations(known, 2))

    def without_luck(self) -> Task:
        """The task without the slips that lead to the right answer here, or where another one leads before them."""
        kept: list[Slip] = []
        for slip in self.slips:
            met = slip.value is not None and slip.value in [one.value for one in kept if one.says != slip.says]
            if not met and not self.answer.allows(slip):
                kept.append(slip)
        return evolve(self, slips=tuple(kept))

    def check(self, answer: object = None) -> Outcome:
        """Mark an answer: any right one is right, however it is written. Never raises.

        `answer`: whatever the question asks for; None, ... or empty text for no answer yet.
        """
        try:
            if answer is None or answer is ... or (isinstance(answer, str) and not answer.strip()):
                return Outcome(NOT_YET, "Put your answer in, then check it.")
            read = self.answer.read(bare(answer))
        except UnreadableError as told:
            return self._not_read(told.remedy)
        except Exception:  # an answer may be any object at all, and run any code of its own while it is read
            return self._not_read()
        if self.answer.is_right(read):
            return Outcome(RIGHT, self.right)
        slip = self._slip(read)
        if slip is None:
            return Outcome(NOT_RIGHT, _said(self.otherwise, read))
        return Outcome(NOT_RIGHT, _said(slip.says, read), slip.name)

    def _not_read(self, remedy: str = "That can't be read as an answer.") -> Outcome:
        """What can't be read is not called wrong: it may be right, and only written otherwise."""
        return Outcome(NOT_YET, f"{remedy} {self.answer.how}", "not readable")

    def _slip(self, read: Any) -> Slip | None:
        """The slip that leads to just that; else one that shows in it; else one that was rounded, best as asked."""
        own, answer = self.slips, self.answer
        slips = (*own, *slips_of(answer.common_slips()))
        exactly = (slip for slip in own if slip.value is not None and read == slip.value)
        plainly = (s for s in slips if (s.wrong(read) if callable(s.wrong) else answer.same(read, s.wrong)))
        as_asked = (slip for slip in own if slip.value is not None and read == answer.as_told(slip.value))
        rounded = (slip for slip in slips if slip.value is not None and answer.rounded(read, slip.value))
        return next(chain(exactly, plainly, as_asked, rounded), None)

    def hint(self, step: int = 1) -> Note:
        """A hint; each step says a little more. Past the last, the last.

        `step`: whole number from 1. Raises ValueOutOfRangeError for anything else.
        """
        step = min(as_whole(step, what="a hint's step"), len(self.hints))
        return Note((self.hints[step - 1],), heading=f"Hint {step} of {len(self.hints)}")

    def solved(self) -> Note:
        """The worked solution for these numbers, derived by the library, folded away in a notebook."""
        parts = self.solution() if callable(self.solution) else _lines(self.solution)
        return Note(parts, heading="Worked solution", folded=True)

    @property
    def key(self) -> str:
        """The answer as it stands on a key: short, and read as right. It is what the worked solution comes to.

        It is the last that the solution has in bold and that is right, whole or up to a comma. Raises
        NotPossibleError where nothing in bold is.
        """
        bold = [word for part in self.solved().parts if isinstance(part, str) for word in bold_words(part)]
        for word in reversed(bold):
            whole = self.answer.on_a_key(str(word).lstrip("≈ "))
            for said in (whole, whole.split(", ")[0].lstrip("≈ ")):
                if self.check(said).is_right:
                    return said
        there = ", ".join(map(quoted, bold)) or "nothing"
        raise NotPossibleError(
            f"there is no key: the worked solution has {there} in bold, and the right answer is not there",
            remedy=f"Put the answer in two stars, as it is to be written: **...**. {self.answer.how}",
        )

    def __str__(self) -> str:
        table = [str(self.table)] if self.table else []
        return "\n".join([as_text(self.question), *table, self.answer.how])

    def asked(self, *, with_how: bool = True) -> str:
        """The question as HTML; `with_how`: and how to write the answer."""
        table = as_html(self.table) if self.table else ""
        how = f"<p><em>{markup.in_html(self.answer.how)}</em></p>" if with_how else ""
        return f"{as_html(self.question)}{table}{how}"

    def _repr_html_(self) -> str:
        return self.asked()


def _said(says: str | Callable[[Any], str], read: Any) -> str:
    return tidy(says(read) if callable(says) else says)


@frozen
class Recipe:
    """How an exercise is made: its name, title, lesson, the function that poses it, whether on any lathe, its goal.

    `goal`: which one of the lesson's "You will be able to" it asks, from 1; None for none of them. `pose` takes a Draw
    and, with `any_lathe`, the lathe or None. A lathe that lacks what is asked gives way to the demo lathe of its own
    units, and the question says so first.
    """

    name: str
    title: str
    lesson: int
    pose: Callable[..., Task]
    any_lathe: bool = False
    goal: int | None = None

    @property
    def is_ours(self) -> bool:
        """Whether it is one of the package, and none of a school's own."""
        return str(self.pose.__module__).startswith("gearcalc.")

    def numbered(self, class_number: int, go: int = 1, lathe: Lathe | None = None) -> Task:
        """The task with the numbers of a class number, 0 to a million, and of a go, 1 to 50.

        A further go asks what the goes before it did not, where there is more to ask. Raises ValueOutOfRangeError, and
        NotPossibleError for a lathe where none is taken.
        """
        number = as_whole(class_number, what="a class number", least=0, most=MOST_CLASS_NUMBER)
        go = as_whole(go, what="a go", most=MOST_GOES)
        if lathe is not None and not self.any_lathe:
            raise NotPossibleError(f"the exercise {quoted(self.name)} has a lathe of its own", remedy="Give it none.")
        task = self._drawn(self.name, number, None) if lathe is None else self._on_a_lathe(number, lathe)
        had, others = {str(task)}, True
        for later in range(2, go + 1):
            task = self.fresh(f"go {later}", number, lathe, had if others else ())
            others = others and str(task) not in had  # where a lathe has no more to ask, it is not searched again
            had.add(str(task))
        return task

    def _on_a_lathe(self, number: int, lathe: Lathe) -> Task:
        """The first task about a lathe: a lesson may have asked without one, and then asks for another number."""
        asked, task = self._drawn(self.name, number, None).answer.value, self._drawn(self.name, number, lathe)
        for again in range(_MOST_ON_A_LATHE):
            if not isinstance(asked, (Fraction, PiMultiple)) or task.answer.value != asked:
                break
            task = self._drawn(f"{self.name}, on a lathe" + f", again {again}" * bool(again), number, lathe)
        return task

    def fresh(
        self, occasion: str, number: int, lathe: Lathe | None, had: Collection[str], others_had: Collection[str] = ()
    ) -> Task:
        """The task of an occasion, drawn again until it asks for something that is not among what one has had.

        `others_had`: nor among what the others have, where so much can be asked.
        """
        spare = None
        for again in range(_MOST_DRAWS if lathe is None else _MOST_ON_A_LATHE):
            task = self._drawn(f"{self.name}, {occasion}" + f", again {again}" * bool(again), number, lathe)
            if str(task) not in had:
                if str(task) not in others_had:
                    return task
                spare = spare or task
            if spare and again >= _MOST_FOR_OTHERS:
                break
        return spare or task

    def _drawn(self, seed: str, number: int, lathe: Lathe | None) -> Task:
        draw = Draw(seed, number)
        with self._named("the exercise"):
            try:
                task = self._told_apart(draw, lathe)
            except _LatheLacksError as lacks:
                instead = demo_lathe("metric" if lathe is not None and lathe.units == "mm" else "inch")
                task = self._told_apart(draw, instead)
                why = f"Your lathe {lacks}, so this asks about the demo lathe, {instead.name}."
                task = evolve(task, question=f"{why} {task.question}")
        solution = task.solution
        if self.is_ours or not callable(solution):
            return task

        def solved() -> Iterable[object]:
            with self._named("the worked solution"):
                return tuple(solution())

        return evolve(task, solution=solved)

    @contextmanager
    def _named(self, what: str) -> Iterator[None]:
        """What is refused is told of the exercise, what stops in a school's own as theirs; a fault of ours stays."""
        place = f"exercise {self.name}"
        try:
            yield
        except GearcalcError as wrong:
            raise wrong.at(place) from None
        except Exception as problem:
            if self.is_ours:
                raise
            why = f"{type(problem).__name__}: {problem}".rstrip(".")[:200]
            remedy = "Ask it by itself in Python, and put it right."
            raise NotPossibleError(f"{what} stops ({why})", where=place, remedy=remedy) from None

    def _told_apart(self, draw: Draw, lathe: Lathe | None) -> Task:
        """A task none of whose slips leads to the right answer, nor two to one: on some lathes none are left."""
        task = self._posed(draw, lathe)
        for _ in range(_MOST_DRAWS if lathe is None else _MOST_ON_A_LATHE):
            if not task.slip_is_right and not task.slips_meet:
                return task
            task = self._posed(draw, lathe)
        return task if lathe is None else task.without_luck()

    def _posed(self, draw: Draw, lathe: Lathe | None) -> Task:
        lacks = "has no numbers that make a question here"
        for tried in count():
            draw.needs(lathe is None or tried < _MOST_DRAWS, lacks)
            try:
                task = self.pose(draw, lathe) if self.any_lathe else self.pose(draw)
                if not isinstance(task, Task):
                    raise NotPossibleError(f"it gives back {quoted(task)}, and no Task", remedy="Return a Task(...).")
                draw.only_if(task.serves, "has no numbers that tell the right answer from a slip")
                return task
            except _OthersAreDrawnError as others:
                lacks = str(others) or lacks
        raise AssertionError


_RECIPES: dict[str, Recipe] = {}


def poses(
    name: str, *, lesson: int, title: str, goal: int | None = None, any_lathe: bool = False
) -> Callable[[Pose], Pose]:
    """Enter a function in the list of exercises: it draws numbers and returns a Task.

    `name`: lower case with hyphens, never changed once learners have it. `goal`: which one of the lesson's "You will be
    able to" it asks, from 1, where it asks one. `any_lathe`: it takes the learner's lathe, or None, after the draw. It
    works wherever it stands, in a file of the school's own too, and from then on. Raises GearcalcError when the name is
    taken, ValueOutOfRangeError for a goal that is none.
    """
    if goal is not None:
        as_whole(goal, what="an exercise's goal")

    def enter(pose: Pose) -> Pose:
        known = _RECIPES.get(name)
        if known is not None and _made_by(known.pose) != _made_by(pose):
            both = f"{_made_by(known.pose)} and {_made_by(pose)}"
            remedy = f"They are {both}. Give the one of your own another name."
            raise GearcalcError("two exercises share a name", value=name, remedy=remedy)
        _RECIPES[name] = Recipe(name, title, lesson, pose, any_lathe, goal)
        return pose

    return enter


def _made_by(pose: Callable[..., Task]) -> str:
    """Where a function stands: the same when its cell is run or its file read again."""
    return f"{pose.__module__}.{pose.__qualname__}"


def recipes() -> dict[str, Recipe]:
    """Name -> recipe of every exercise entered so far."""
    return dict(_RECIPES)
