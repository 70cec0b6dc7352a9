"""What the lessons say in numbers is so, and no number stands in their prose that nothing settles.

A claim is quoted word for word: whoever changes the sentence changes the claim beside it. A number that states nothing
(what is asked for, a convention, a name) is covered by `GIVEN`, or by the shape of what it belongs to.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from importlib import import_module
from pkgutil import iter_modules

import pytest

import tests.lessons
from tests.lessons.reading_time import calls
from tests.notebooks import LESSONS, sources

FILES = [
    import_module(f"tests.lessons.{found.name}")
    for found in iter_modules(tests.lessons.__path__)
    if found.name.startswith("claims_")
]
CLAIMS = {lesson: claims for file in FILES for lesson, claims in file.CLAIMS.items()}
GIVEN = {lesson: given for file in FILES for lesson, given in file.GIVEN.items()}

FORMULA = re.compile(r"\$\$.*?\$\$|\$[^$\n]*\$", re.S)
NUMBER = re.compile(r"\d+(?:[.,/]\d+)*")
STATES_NOTHING = re.compile(
    r"""
      ^\#+\ .*$ | ^\d+\.\  | ^\*\*Predict\.\*\*.*$ | ^\*\*Time:\*\*.*$  # headings, lists, questions, minutes
    | `[^`]*` | \]\([^)]*\) | \[\d\d\b | \|\ \d\d\ \| | \b[Ll]essons?\ \d\d(?:\ to\ \d\d)? | \bRounds?\ \d
    | \b1[5-9]\d\d\b | \b29\ CFR\ [\d.()a-z]+(?:\ and\ [\d.()a-z]+)? | \bISO\ [\d:-]+ | \bHSG129\b | \bEIS2\b  # sources
    | \bM\d+(?:\ ?[×x]\ ?(?:Ph)?[\d.]+(?:\ ?P[\d.]+)?)?(?:-\d\w+)? | \bTr\ \d+x\d+(?:\(P\d\))?  # names of threads
    | \b(?:\d+\ )?\d+(?:/\d)?\ (?:tpi|threads\ (?:per|to\ the)\ inch)\b | \bmodule\ [\d.]*\d | \bDP\ \d+ | \b\d+\ DP\b
    | \(\d+\ ·\ \d+\)/\(\d+\ ·\ \d+\) | \b\d\d+/\d\d+\b | \b(?:[Aa]n?|[Tt]he)\ \d{2,3}\b(?![ ]?(?:mm|%|µm|ppm|turns))
    """,
    re.X | re.M,
)


def prose(lesson: str) -> list[tuple[int, str]]:
    """The words of each cell, those among them with which a guess is taken up."""
    return [
        (place, text if kind == "markdown" else "\n".join(taken_up(text)))
        for place, (kind, text) in enumerate(sources(LESSONS[lesson]))
    ]


def taken_up(source: str) -> Iterator[str]:
    """Answer and reason of each guess that some code takes up, as far as they are words and not reckoned there."""
    return (" ".join(texts[1:]) for name, texts in calls(source) if name == "taken_up")


def unsettled(text: str, settled: Iterable[str]) -> Iterator[str]:
    """Each number of a text that is in nothing settled, with the words round it."""
    covered = [found.span() for found in STATES_NOTHING.finditer(text)]
    covered += [found.span() for words in settled for found in re.finditer(re.escape(words), text)]
    in_formulas = [found.span() for found in FORMULA.finditer(text)]
    for number in NUMBER.finditer(text):
        if len(number.group()) == 1 and any(start < number.start() < end for start, end in in_formulas):
            continue  # an index, a power, a factor of two: what it comes to has more figures, or stands in words
        if not any(start <= number.start() and number.end() <= end for start, end in covered):
            yield text[max(0, number.start() - 30) : number.end() + 30].replace("\n", " ")


class TestClaims:
    @pytest.mark.parametrize(("lesson", "words"), [(lesson, words) for lesson in CLAIMS for words in CLAIMS[lesson]])
    def test_is_so(self, lesson, words):
        assert CLAIMS[lesson][words]()

    @pytest.mark.parametrize("lesson", LESSONS)
    def test_the_lesson_still_says_it(self, lesson):
        said = "\n".join(text for _, text in prose(lesson))
        assert [words for words in (*CLAIMS.get(lesson, ()), *GIVEN.get(lesson, ())) if words not in said] == []

    @pytest.mark.parametrize("lesson", LESSONS)
    def test_no_number_is_left_unsettled(self, lesson):
        settled = (*CLAIMS.get(lesson, ()), *GIVEN.get(lesson, ()))
        left = [f"cell {place}: …{words}…" for place, text in prose(lesson) for words in unsettled(text, settled)]
        assert left == [], "add a claim that reckons it, or an entry of GIVEN where it states nothing"


class TestUnsettled:
    def test_a_number_that_nobody_reckoned_is_named(self):
        assert list(unsettled("It is 12.5 mm long.", ())) == ["It is 12.5 mm long."]
        assert list(unsettled("It is 12.5 mm long.", ["is 12.5 mm"])) == []

    @pytest.mark.parametrize("text", ["## Round 3 · Two", "1. Isolate.", "cut M10 with `40/80`", "an 80, in lesson 05"])
    def test_what_states_nothing_is_left_alone(self, text):
        assert list(unsettled(text, ())) == []
