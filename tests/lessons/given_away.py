"""What a lesson shows of an answer before it asks for it: a train, or a number of three digits or more."""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Iterator
from typing import Any

from attrs import frozen

from gearcalc.learning.exercises import Exercise, exercise
from gearcalc.learning.exercises.answers import Choice, InOrder, Several
from gearcalc.learning.exercises.number_answers import Number
from tests.lessons.reading_time import calls, open_text

CLASS_NUMBERS = (1, 8, 15, 24)
_TRAIN = re.compile(r"\(\d+(?: · \d+)+\)/\(\d+(?: · \d+)+\)|(?<![\d./])\d{2,3}/\d{2,3}(?![\d/])")
_NUMBER = re.compile(r"(?<![\d./])\d+(?:\.\d+)?(?![\d/]|\.\d)")
_DRAWN = re.compile(r'alt="([^"]*)"|src="data:image/svg\+xml;base64,([^"]*)"')
_TOLD = re.compile(r"The answer is <strong>(.*?)</strong>", re.S)
_ASKED = re.compile(r"\*\*Predict.*", re.S)


@frozen
class Question:
    """Where a lesson asks something: by which name, in which words, and what has been shown in the round till then."""

    place: int
    name: str
    words: str
    shown: frozenset[str]


def told(text: str) -> set[str]:
    """Trains, and numbers of three digits or more, in a text.

    >>> sorted(told("With 40/80 it cuts 3.175 mm, as (40 · 30)/(80 · 60) does, in 12 turns of 1/2."))
    ['(40 · 30)/(80 · 60)', '3.175', '40/80']
    """
    trains = set(_TRAIN.findall(text))
    numbers = _NUMBER.findall(_TRAIN.sub(" ", text))
    return trains | {number for number in numbers if len(number.replace(".", "").lstrip("0")) >= 3}


def shown_by(cell: Any) -> str:
    """All that a cell lets one read, pictures included; not what is folded away."""
    if cell.cell_type != "code":
        return str(cell.source) if cell.cell_type == "markdown" else ""
    return "\n".join(text for output in cell.outputs for text in _shown_by_output(output))


def _shown_by_output(output: Any) -> Iterator[str]:
    if output.output_type == "stream":
        yield output.text
    page = output.get("data", {}).get("text/html")
    if page is None:
        yield output.get("data", {}).get("text/plain", "")
        return
    page = page.replace("gearcalc-still", "")  # the same is to be seen where it lives
    yield open_text(page)
    for words, drawing in _DRAWN.findall(page):
        yield html.unescape(words)
        yield re.sub(r"<[^>]+>", " ", base64.b64decode(drawing).decode("utf-8"))


def questions(lesson: Any, asked_by: str) -> Iterator[Question]:
    """Each question of a lesson that is asked by this function, guess or exercise."""
    opening: set[str] = set()
    in_round: set[str] | None = None  # until the first heading all is opening
    before = ""
    names = set()
    for place, cell in enumerate(lesson.cells):
        if cell.cell_type == "markdown" and re.search(r"^## ", cell.source, re.M):
            in_round = set()
        for name, texts in calls(cell.source) if cell.cell_type == "code" else ():
            if name == asked_by and texts and texts[0] not in names:
                names.add(texts[0])
                words = " ".join((*texts[1:], *_ASKED.findall(before)))
                yield Question(place, texts[0], words, frozenset((opening | (in_round or set())) - told(words)))
        before = shown_by(cell)
        (opening if in_round is None else in_round).update(told(before))


def faults_of_order(lesson: Any) -> list[str]:
    """Predictions that nobody keeps or takes up, and each answer that stands before its question.

    Before: in the lesson's opening, or in the question's own round.
    """
    return [*_not_kept(lesson), *_guessed_too_late(lesson), *_worked_too_late(lesson)]


def _taken_up(lesson: Any) -> dict[str, str]:
    """What each guess is told to be, by its name."""
    return {
        texts[0]: " ".join((*texts[1:2], *_TOLD.findall(shown_by_source(cell))))
        for cell in lesson.cells
        if cell.cell_type == "code"
        for name, texts in calls(cell.source)
        if name == "taken_up" and texts
    }


def shown_by_source(cell: Any) -> str:
    """The HTML that a cell puts out, as it is."""
    return "\n".join(output.get("data", {}).get("text/html", "") for output in cell.outputs)


def _not_kept(lesson: Any) -> Iterator[str]:
    predicted = sum(cell.source.count("**Predict") for cell in lesson.cells if cell.cell_type == "markdown")
    guesses = [asked.name for asked in questions(lesson, "guess")]
    if predicted > len(guesses):
        yield f"{predicted} predictions, and guess() keeps {len(guesses)}"
    yield from (f"{name} is never taken up" for name in guesses if name not in _taken_up(lesson))


def _guessed_too_late(lesson: Any) -> Iterator[str]:
    answers = _taken_up(lesson)
    for asked in questions(lesson, "guess"):
        for given in sorted(told(answers.get(asked.name, "")) & asked.shown):
            yield f"cell {asked.place}: {given} is what {asked.name} asks for, and stands before"


def _worked_too_late(lesson: Any) -> Iterator[str]:
    for asked in questions(lesson, "exercise"):
        for number in CLASS_NUMBERS:
            posed = exercise(asked.name, class_number=number)
            for given in sorted(asked.shown - told(posed.question)):
                if _answers(posed, given):
                    yield f"cell {asked.place}: {given} answers {asked.name}, class number {number}, and stands before"


def _answers(posed: Exercise, given: str) -> bool:
    """Whether what is shown is the answer, and no shorter number that it is rounded to."""
    answer = posed.task.answer
    if isinstance(answer, (Choice, Several, InOrder)):
        return False
    if isinstance(answer, Number) and ("·" in given or not told(f"{float(answer.value):.6g}")):
        return False
    return posed.check(given).is_right
