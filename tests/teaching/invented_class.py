"""A class that is invented, and what it hands in: answers planted so that it is known what each of them is worth."""

from __future__ import annotations

import json
import random
from fractions import Fraction
from pathlib import Path
from typing import Any

from tests.how_much import exercise
from tests.learning.exercise_cases import CASES

NAMES = ("Ada Thorn", "Bo Reed", "Cleo Marsh", "Dan Flint", "Eve Stone", "Finn Brook", "Gia Holt", "Hal Birch")
"""Invented, as are all who go by a number here."""
RIGHT, SLIP, WRONG, NONE = "right", "slip", "wrong", "none"
NONSENSE = "987654.321"  # the answer to nothing that is asked here


def name_of(number: int) -> str:
    return NAMES[number - 1] if number <= len(NAMES) else f"Invented {number}"


def as_text(answer: Any) -> str | None:
    return str(answer) if isinstance(answer, (str, int, Fraction)) and not isinstance(answer, bool) else None


def planted(name: str, number: int, kind: str) -> tuple[str, str | None]:
    """An answer of that kind, as text, and the slip that it is; what is right is worked out apart from the package."""
    q = exercise(name, number)
    right = [text for answer in CASES[name].right(q) if (text := as_text(answer))]
    if kind == RIGHT:
        return right[0], None
    if kind == SLIP:
        told = [(slip, text) for slip, answer in CASES[name].slips(q) if (text := as_text(answer))]
        alone = [(slip, text) for slip, text in told if {s for s, t in told if t == text} == {slip}]
        for slip, text in (each for each in alone if each[1] not in right):
            return text, slip
    return NONSENSE, None


def answers(number: int, name: str, exercises: dict[str, Any], **more: Any) -> dict[str, Any]:
    front = {"what": "answers to the lessons of gearcalc", "version": 1, "name": name, "class_number": number}
    return {**front, "guesses": {}, "exercises": exercises, **more}


def go(number: int, answer: str, tries: int = 1, **more: Any) -> dict[str, Any]:
    return {"class_number": number, "go": 1, "answer": answer, "tries": tries, **more}


def write(path: Path, content: dict[str, Any]) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content), encoding="utf-8")
    return path


def hand_in(
    folder: Path, numbers: range, exercises: tuple[str, ...], seed: int = 1
) -> dict[tuple[int, str], tuple[str, str | None, int]]:
    """Have a class hand in its answers; gives what was planted: (number, exercise) -> kind, slip, tries."""
    rng, sown = random.Random(seed), {}
    for number in numbers:
        typed = {}
        for name in exercises:
            kind, tries = rng.choice([RIGHT, RIGHT, SLIP, SLIP, WRONG, NONE]), rng.randint(1, 4)
            if kind == NONE:
                sown[number, name] = kind, None, 0
                continue
            answer, slip = planted(name, number, kind)
            sown[number, name] = (SLIP if slip else kind if kind == RIGHT else WRONG), slip, tries
            typed[name] = [go(number, answer, tries)]
        write(folder / name_of(number) / "answers.json", answers(number, name_of(number), typed))
    return sown
