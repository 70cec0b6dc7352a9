"""How the words of a question are read, and trains found by brute force, without asking the package."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import combinations
from math import prod
from typing import Any

from gearcalc import Train
from gearcalc.learning.exercises import Exercise

INCH = Fraction(254, 10)
Sides = tuple[tuple[int, ...], tuple[int, ...]]


@dataclass(frozen=True)
class Case:
    """`right`: answers that must be right; `slips`: (name, answer) of each; `reveals`: must stay out of feedback."""

    right: Callable[[Exercise], list[Any]]
    slips: Callable[[Exercise], list[tuple[str, Any]]]
    reveals: Callable[[Exercise], str]


def words(q: Exercise) -> str:
    return q.question.replace("**", "")


def said(q: Exercise, pattern: str) -> str:
    """What stands in the pattern's brackets."""
    found = re.search(pattern, words(q))
    assert found, f"{pattern} is not in {words(q)}"
    return found[1]


def whole(q: Exercise, pattern: str) -> int:
    return int(said(q, pattern))


def number(q: Exercise, pattern: str) -> Fraction:
    return Fraction(said(q, pattern))


def lead_said(text: str) -> Fraction:
    """The lead in mm of '16 tpi', '11 1/2 tpi' or '1.75 mm'."""
    *number, unit = text.split()
    value = sum((Fraction(part) for part in number), Fraction(0))
    return INCH / value if unit == "tpi" else value


def leadscrew(q: Exercise) -> Fraction:
    found = re.search(r"leadscrew (?:of|with a lead of) ([\d./]+(?: \d/\d)? (?:tpi|mm))", words(q))
    assert found, words(q)
    return lead_said(found[1])


def beside_the_gears(q: Exercise) -> Fraction:
    """What else turns the leadscrew faster or slower, in words: the spindle side, a lever."""
    said_so = (r"first driver turns ([\d/]+) times while", r"leadscrew turns ([\d/]+) times as often")
    found = (re.search(pattern, words(q)) for pattern in said_so)
    return prod((Fraction(each[1]) for each in found if each), start=Fraction(1))


def box(q: Exercise) -> list[int]:
    found = re.search(r"(?:gears|each of) (\d+(?:, \d+)+)(?:, one of each)?\.", words(q))
    assert found, words(q)
    return [int(teeth) for teeth in found[1].split(", ")]


def forms(x: Fraction) -> list[Any]:
    """One number in the ways a learner may give it."""
    return [x, f"{x.numerator}/{x.denominator}", f" {x.numerator} / {x.denominator} ", float(x), str(float(x))]


def every_train(gears: list[int], ratio: Fraction, pairs: int) -> Iterator[Sides]:
    """Brute force: drivers and driven from the box, no gear more often than it is there."""
    return iter(_every_train(tuple(sorted(gears)), ratio, pairs))


@cache
def _every_train(gears: tuple[int, ...], ratio: Fraction, pairs: int) -> list[Sides]:
    choices = sorted(set(combinations(gears, pairs)))
    return [
        (drivers, driven)
        for drivers in choices
        for driven in choices
        if prod(drivers) * ratio.denominator == prod(driven) * ratio.numerator
        and Counter((*drivers, *driven)) <= Counter(gears)
    ]


def written(sides: Sides) -> str:
    over, under = ("x".join(map(str, side)) for side in sides)
    return f"{over}/{under}"


def in_forms(sides: Sides) -> list[Any]:
    drivers, driven = sides
    mixed = (tuple(reversed(drivers)), driven)
    return [sides, [list(drivers), list(driven)], written(sides), Train(*sides), mixed, str(Train(*mixed))]


def train_slips(q: Exercise, ratio: Fraction) -> list[tuple[str, Any]]:
    """Slips that any train can show, made from the box."""
    gears = box(q)
    lone = min(teeth for teeth, count in Counter(gears).items() if count == 1)
    wrong: list[tuple[str, Any]] = [("not in the box", ((998,), (999,)))]
    for pairs in (1, 2):
        wrong += [("upside down", (driven, drivers)) for drivers, driven in list(every_train(gears, ratio, pairs))[:2]]
    if ratio != 1:
        wrong.append(("one gear used twice", ((lone, lone), (max(gears), max(gears)))))
    return wrong
