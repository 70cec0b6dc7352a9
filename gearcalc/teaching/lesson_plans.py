"""A lesson as whoever gives it needs it: what it leans on, and part by part what is done and how long that takes."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterable, Iterator
from functools import cache
from math import floor
from pathlib import Path

from attrs import field, frozen

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import UnknownNameError
from gearcalc.learning.exercises import recipe_of
from gearcalc.learning.exercises.notes import as_html, as_text
from gearcalc.learning.progress import MORE, LessonDone, lesson_numbers, lesson_paths, read_lesson
from gearcalc.teaching.slips_to_know import slips_of_exercise

WORDS_A_MINUTE = 122
MINUTES_AN_EXERCISE = 7.2
MINUTES_AN_EXPLORER = 5.0
MINUTES_A_PREDICTION = 1.0
"""The rates of the lessons' clock, from two readers who read and did the first edition."""
_MINUTES_OF = {"guess": MINUTES_A_PREDICTION, "exercise": MINUTES_AN_EXERCISE, "explorer": MINUTES_AN_EXPLORER}
_START, _NEXT = "Start", "**Next:**"
_FOLDED = re.compile(r"<details>\s*<summary>(?!See why)[^<]*</summary>.*?</details>", re.S)
_WORD = re.compile(r"[^\W_]")
_TRY = re.compile(r"\*\*Try[.:]\*\*\s*(.+?)(?:\n\n|\Z)", re.S)
_SENTENCE_ENDS = re.compile(r"(?<=[.?!])\s+")
_PREDICT = re.compile(r"\*\*Predict[.:]\*\*(.*)\Z", re.S)
_LEAD = re.compile(r'^\*\*(?!Predict|Try|Do it|Test)"?([^*]+?)[.,]?"?\*\*', re.M)
_DOING = re.compile(r"^(Predict|Try|Do):")
_BEFORE_A_GUESS = "before a guess"
_MOST_SLIPS = 6
_EXPLORERS = "gearcalc.learning.explorers"
_BITES = "Where it bites"
_TO_DO = {
    _START: "The question from the shop: what would they do?",
    "In the shop": "Go through the steps, cautions first.",
    "On your lathe": "On the school's own lathe, where its my_lathe.toml stands beside the lessons.",
    "The whole way, written out": "They go through it with a pencil.",
    "What you know now": "They say it back without looking.",
}


@frozen
class Part:
    """A part of a lesson: its heading, whole minutes of those that the lesson states, what is done in it, in words."""

    heading: str
    minutes: int
    done: tuple[str, ...]

    @property
    def html(self) -> str:
        """What is done, a line for each."""
        return "<br>".join(_DOING.sub(r"<strong>\1</strong>", markup.in_html(words)) for words in self.done)


@frozen(repr=False)
class LessonPlan:
    """A lesson on one page; made by lesson_plan(). `parts`: in their order; `more`: exercises beyond the time."""

    lesson: LessonDone
    parts: tuple[Part, ...]
    more: tuple[str, ...] = field(default=())

    @property
    def _heading(self) -> str:
        return f"Lesson plan. {self.lesson.title}"

    @property
    def _front(self) -> Iterator[str]:
        yield f"**Afterwards they can** {'; '.join(map(without_signs, self.lesson.goals)).rstrip('?')}."
        helps = f" **Helpful:** {lesson_numbers(self.lesson.helps)}." if self.lesson.helps else ""
        yield f"**Before it:** {lesson_numbers(self.lesson.needs) or 'nothing'}.{helps}"

    @property
    def _caption(self) -> str:
        return f"{sum(part.minutes for part in self.parts)} minutes"

    @property
    def _slips(self) -> Iterator[str]:
        """The names of the slips of each exercise within the time."""
        for name in self.lesson.exercises[: self.lesson.asked]:
            slips = [slip.name for slip in slips_of_exercise(name)]
            more = f" and {len(slips) - _MOST_SLIPS} more" if len(slips) > _MOST_SLIPS else ""
            if slips:
                yield f"{recipe_of(name).title.rstrip('?')}: {', '.join(slips[:_MOST_SLIPS])}{more}."

    @property
    def _back(self) -> Iterator[str]:
        slips = " ".join(self._slips)
        if slips:
            yield f"**Slips to expect.** {slips}"
        titles = "; ".join(recipe_of(name).title for name in self.more)
        if titles:
            yield f"**For those who are ready sooner**, some {round(MINUTES_AN_EXERCISE)} minutes each: {titles}"

    def __str__(self) -> str:
        parts = (f"{part.minutes} min  {part.heading}. {' '.join(part.done)}".rstrip() for part in self.parts)
        return "\n".join([self._heading, *map(as_text, self._front), self._caption, *parts, *map(as_text, self._back)])

    __repr__ = __str__

    def _repr_html_(self) -> str:
        rows = [(part.heading, str(part.minutes), markup.Written("", "", part.html)) for part in self.parts]
        table = markup.html_columns(self._caption, ("part", "minutes", "what is done"), rows)
        body = "".join(map(as_html, self._front)) + table + "".join(map(as_html, self._back))
        heading = f"<h3>{markup.in_html(self._heading)}</h3>"
        return f'<section style="break-after:page;break-inside:avoid">{heading}{body}</section>'


@cache
def lesson_plan(lesson: int) -> LessonPlan:
    """Plan a lesson on one page: its goals, what it leans on, each part with its minutes and what is done in it.

    >>> plan = lesson_plan(1)
    >>> sum(part.minutes for part in plan.parts) == plan.lesson.minutes
    True

    `lesson`: its number, 0 to 13. The minutes that it states are shared out by what there is to read and to do in each
    part. Raises UnknownNameError for a lesson that there isn't, ValueOutOfRangeError for what is no number.
    """
    number = as_whole(lesson, what="a lesson", least=0)
    path = lesson_paths().get(number)
    if path is None:
        raise UnknownNameError("there is no lesson of this number", value=f"{number:02}")
    known = read_lesson(path)
    found = list(_parts_of(path))
    minutes = shared_out(known.minutes or 0, [_weight(texts, calls) for _, texts, calls in found])
    parts = (
        Part(heading, share, tuple(_done(heading, texts, calls)))
        for (heading, texts, calls), share in zip(found, minutes, strict=True)
    )
    return LessonPlan(known, tuple(parts), known.more)


_Called = tuple[str, list[str]]


def _parts_of(path: Path) -> Iterator[tuple[str, list[str], list[_Called]]]:
    """Heading, prose and calls of each part, up to what is beyond the time."""
    heading, explorers = _START, set[str]()
    texts, called = list[str](), list[_Called]()
    before = ""
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        source = "".join(cell["source"])
        if cell["cell_type"] == "code":
            explorers |= explorers_in(source)
            found = [each for each in calls(source) if each[0] in {"guess", "taken_up", "exercise", *explorers}]
            if before and found and found[0][0] == "guess":
                called.append((_BEFORE_A_GUESS, [before]))
            called += [("explorer" if name in explorers else name, given) for name, given in found]
            before = ""
            continue
        led = _PREDICT.search(source)
        before = without_signs(led[1]) if led else ""
        for piece in re.split(r"^(?=## )", source, flags=re.M):
            if piece.startswith("## "):
                yield heading, texts, called
                if piece.startswith(MORE):
                    return
                heading, texts, called = piece.splitlines()[0].lstrip("# ").strip(), [], []
            if not piece.startswith(_NEXT):
                texts.append(piece)
    yield heading, texts, called


def _weight(texts: Iterable[str], called: Iterable[_Called]) -> float:
    """What a part takes, by the rates; what its cells put out is not run for that."""
    minutes = sum(map(words_of_markdown, texts)) / WORDS_A_MINUTE
    for name, given in called:
        if name in ("guess", "taken_up"):
            minutes += sum(map(count_words, given[1:])) / WORDS_A_MINUTE
        minutes += _MINUTES_OF.get(name, 0)
    return minutes


def shared_out(minutes: int, weights: list[float]) -> list[int]:
    """Share whole minutes out: one to each, the others by weight, so that they come to the same again.

    >>> shared_out(13, [1, 1, 2])
    [4, 3, 6]
    """
    others = max(minutes - len(weights), 0)
    whole = sum(weights) or 1
    exact = [others * weight / whole for weight in weights]
    given = [floor(share) for share in exact]
    left = sorted(range(len(exact)), key=lambda n: given[n] - exact[n])[: others - sum(given)]
    return [1 + share + (n in left) for n, share in enumerate(given)]


def _done(heading: str, texts: list[str], called: Iterable[_Called]) -> Iterator[str]:
    if heading in _TO_DO:
        yield _TO_DO[heading]
    prose = "\n\n".join(_FOLDED.sub("", text) for text in texts)
    before = ""
    for name, given in called:
        if name == "guess":
            yield f"Predict: {before} {_asked_plainly(given[1])}".replace("  ", " ")
        before = given[0] if name == _BEFORE_A_GUESS else ""
    for told in _TRY.findall(prose):
        yield f"Try: {_plain(' '.join(_SENTENCE_ENDS.split(told)[:2]))}"  # the first alone may only say what is there
    for name, given in called:
        if name == "exercise":
            yield f"Do: {markup.ended(recipe_of(given[0]).title)}"
    if heading == _BITES:
        yield from (_plain(lead) for lead in _LEAD.findall(prose))


def _asked_plainly(question: str) -> str:
    """A guess without the sentences whose values only the lathe knows.

    >>> _asked_plainly("On it is …. How many gears must be moved?")
    'How many gears must be moved? (The page says what is on the lathe.)'
    """
    plain = [each for each in re.split(r"(?<=[.?!])\s+", question) if "…" not in each]
    lost = question.count("…") and plain
    return f"{' '.join(plain)} (The page says what is on the lathe.)" if lost else question


def _plain(text: str) -> str:
    """Words of markdown without its signs; a sentence that leads to a cell ends like any other."""
    return markup.ended(without_signs(text).rstrip(":."))


def without_signs(text: str) -> str:
    """Take the signs out of markdown: stars, ticks, where a link leads.

    >>> without_signs("**Two** [pairs](02.ipynb)")
    'Two pairs'
    """
    return re.sub(r"[*`]", "", re.sub(r"\[([^\]]+)\]\([^)]*\)", r"\1", " ".join(text.split())))


def count_words(text: str) -> int:
    """Count words and numbers, as they stand apart.

    >>> count_words("40/80 cuts − 16 tpi")
    4
    """
    return sum(bool(_WORD.search(each)) for each in text.split())


def words_of_markdown(text: str) -> int:
    """Count the words of a text that are there to be read: not links and tags, nor what is folded, unless it is why.

    >>> words_of_markdown("[One](01.ipynb) <b>two</b>")
    2
    """
    text = re.sub(r"\]\([^)]*\)|<[^>]+>", " ", _FOLDED.sub(" ", text))
    return count_words(re.sub(r"\\[a-z]+\b", " ", text))


def explorers_in(source: str) -> set[str]:
    """Find what a cell takes from the explorers that lives; a still view is read like any picture.

    >>> explorers_in("from gearcalc.learning.explorers import one_turn, one_turn_view")
    {'one_turn'}
    """
    return {
        name.name
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.ImportFrom) and node.module == _EXPLORERS
        for name in node.names
        if not name.name.endswith("_view")
    }


def calls(source: str) -> Iterator[tuple[str, list[str]]]:
    """Read what a cell calls, and the texts that it hands over.

    >>> list(calls('gc.exercise("two-pairs")'))
    [('exercise', ['two-pairs'])]
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, (ast.Name, ast.Attribute)):
            name = node.func.id if isinstance(node.func, ast.Name) else node.func.attr
            yield name, [text for given in node.args for text in _texts(given)]


def _texts(node: ast.AST) -> Iterator[str]:
    """The texts in a piece of code; of one with values in it, an ellipsis in the place of each."""
    if isinstance(node, ast.JoinedStr):
        yield "".join(next(_texts(part), "…") if isinstance(part, ast.Constant) else "…" for part in node.values)
    elif isinstance(node, ast.Constant):
        yield from [node.value] if isinstance(node.value, str) else []
    else:
        for inner in ast.iter_child_nodes(node):
            yield from _texts(inner)
