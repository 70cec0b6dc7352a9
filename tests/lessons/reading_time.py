"""How long a lesson takes, counted: `python -m tests.lessons.reading_time` runs each (or some: `07 08`) and says it.

Counted are words that stand open in prose and in outputs, exercises, explorers and predictions. *See why* counts where
it is folded too, since it is there to be read; so do the texts of guesses. What an exercise or an explorer shows is in
its own rate. What stands under *More practice*, at the end, is beyond the stated minutes, and says so.

The rates come from two readers who read and did the first edition: one lessons 00 to 06, the other 07 to 11. Least
squares, none below nought, with one pace for each reader about a common middle, gave 122 words a minute, 7.2 minutes
an exercise, 5.0 an explorer, 1.0 a prediction, and paces of 1.19 and 0.81. A lesson's minutes are those of the middle.

lesson                        00   01   02   03   04   05   06   07   08   09   10   11
words                       1367 2472 2469 1639 1420 1668 1985 2229 2725 4279 2136 2525
exercises                      0    7    6    4    5    5    4    8    5    5    6    7
explorers                      1    2    1    1    1    2    1    1    1    1    2    2
predictions                    1    5    3    4    3    2    3    5    4    6    3    4
minutes that its reader took  25   80   80   70   85   80   70   72   55   65   60   66
by the rates, at his pace     20  102   85   61   66   73   63   70   55   66   60   69

So a lesson's minutes are right within 10, root mean square; of one lesson alone they may be out by 20.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from html.parser import HTMLParser
from itertools import takewhile
from typing import Any

from attrs import frozen

from gearcalc.learning.progress import MORE
from gearcalc.teaching.lesson_plans import (
    MINUTES_A_PREDICTION,
    MINUTES_AN_EXERCISE,
    MINUTES_AN_EXPLORER,
    WORDS_A_MINUTE,
    calls,
    count_words,
    explorers_in,
    words_of_markdown,
)
from tests.lessons import lesson_rules
from tests.notebooks import LESSONS

_STATED = re.compile(r"\*\*Time:\*\* about (\d+) minutes")
_ASKED = re.compile(r'\bexercise\("[^"]+"(?:, lathe=)?')
"""An exercise, and the same one about the learner's own lathe: that is to be done once more."""
_GUESSES = ("guess", "taken_up")

MOST_MINUTES = 60


@frozen
class Reading:
    """What there is to read and to do in a lesson."""

    words: int
    exercises: int
    explorers: int
    predictions: int

    @property
    def minutes(self) -> float:
        """What it takes."""
        return (
            self.words / WORDS_A_MINUTE
            + self.exercises * MINUTES_AN_EXERCISE
            + self.explorers * MINUTES_AN_EXPLORER
            + self.predictions * MINUTES_A_PREDICTION
        )


def faults_of_time(lesson: Any) -> list[str]:
    """Where the minutes that a lesson states are not those that it takes, or too many."""
    takes = reading_of(lesson).minutes
    said = _STATED.search("\n".join(cell.source for cell in lesson.cells))
    faults = []
    if not said:
        faults.append("states no 'about ... minutes'")
    elif abs(int(said[1]) - takes) > max(5, takes / 10):
        faults.append(f"states {said[1]} minutes and takes {takes:.0f}")
    if takes > MOST_MINUTES:
        faults.append(f"takes {takes:.0f} minutes, above {MOST_MINUTES}: shorten or split it")
    return faults


def reading_of(lesson: Any) -> Reading:
    """What there is to read and to do in an executed lesson."""
    asked = list(takewhile(lambda cell: not cell.source.startswith(MORE), lesson.cells))
    cells = [cell for cell in asked if cell.cell_type == "code"]
    prose = "\n".join(cell.source for cell in asked if cell.cell_type == "markdown")
    live = set().union(*(explorers_in(cell.source) for cell in cells))
    called_in = [list(calls(cell.source)) for cell in cells]
    names = [name for called in called_in for name, _ in called]
    words = words_of_markdown(prose)
    for cell, called in zip(cells, called_in, strict=True):
        done = {name for name, _ in called}
        words += sum(count_words(text) for name, texts in called if name in _GUESSES for text in texts[1:])
        if not done & {"exercise", *_GUESSES, *live}:
            words += sum(map(_words_of_output, cell.outputs))
    return Reading(
        words,
        len({ask for cell in cells for ask in _ASKED.findall(cell.source)}),
        sum(name in live for name in names),
        max(names.count("guess"), len(re.findall(r"\*\*Predict\b", prose))),
    )


def _words_of_output(output: Any) -> int:
    if output.output_type == "stream":
        return count_words(output.text)
    data = output.get("data", {})
    if any(kind.startswith("application/vnd.jupyter.widget") for kind in data):
        return 0
    if "text/html" in data:
        return count_words(open_text(data["text/html"]))
    if "text/latex" in data:
        return count_words(re.sub(r"\\[a-z]+\b", " ", data["text/latex"]))
    return count_words(data.get("text/plain", ""))


def open_text(page: str) -> str:
    """The words of HTML that stand open: not those of a drawing, nor what is folded away or set aside for a print.

    >>> open_text("<p>Read <b>this</b>.</p><details><summary>More</summary>Not this.</details>").split()
    ['Read', 'this', '.', 'More']
    """
    return _Open(page).text


class _Open(HTMLParser):
    _VOID = frozenset({"br", "img", "hr", "input", "meta", "link", "col", "wbr", "source"})
    _SHUT = frozenset({"svg", "style", "script", "details"})

    def __init__(self, page: str) -> None:
        super().__init__()
        self.text = ""
        self._stack: list[tuple[str, bool]] = []  # each tag that is open, and whether it shuts what is in it
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.text += " "
        if tag in self._VOID:
            return
        classes = (dict(attrs).get("class") or "").split()
        shut = tag in self._SHUT or bool({"folded", "gearcalc-still"} & set(classes))
        if tag == "summary" and self._stack and self._stack[-1][0] == "details":
            self._stack[-1] = ("details", False)  # what it says stands open; what follows it does not
        self._stack.append((tag, shut))

    def handle_endtag(self, tag: str) -> None:
        while self._stack:
            last, _ = self._stack.pop()
            if last == tag:
                break
        if tag == "summary" and self._stack and self._stack[-1][0] == "details":
            self._stack[-1] = ("details", True)
        self.text += " "

    def handle_data(self, data: str) -> None:
        if not any(shut for _, shut in self._stack):
            self.text += data


def main(only: Sequence[str]) -> None:
    """Say of each lesson, or of some by their numbers, what is in it and how long it takes."""
    for number, path in LESSONS.items():
        if only and number not in only:
            continue
        lesson = lesson_rules.executed(path)
        reading = reading_of(lesson)
        print(f"{path.stem:32}{reading.minutes:4.0f} minutes  {reading}", *faults_of_time(lesson), sep="; ", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
