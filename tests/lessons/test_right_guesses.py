"""Every guess of every lesson: the answer in other words is right, and no other number or choice is."""

from __future__ import annotations

import ast
import re
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import pytest

from gearcalc.learning.answer_book import answer_book
from gearcalc.learning.guesses import taken_up
from tests.notebooks import LESSONS, sources

pytest.importorskip("anywidget")

OWN = {
    "missed": ["13 tpi"],
    "good": ["M6", "M8", "M10"],
    "found": [SimpleNamespace(error_ppm=-1665.73)],
    "rule": SimpleNamespace(threads=14, when="Then."),
    "own_card": SimpleNamespace(gears_off=3, setup=SimpleNamespace(fit=True), counted="Three."),
    "unsure": "",
    "thread": "16 tpi",
    "other": "1.5 mm",
    "bolt": SimpleNamespace(gears_and_lever="40/80"),
    "gc": SimpleNamespace(turns_to_tell=lambda *_: 6),
}
"""What a lesson has reckoned by then, most of it about one's own lathe: here a lathe of ours."""


def called(function: str) -> dict[str, tuple[list[Any], dict[str, Any]]]:
    """What each lesson hands to this function, by the name of the guess."""
    found = {}
    for path in LESSONS.values():
        for kind, source in sources(path):
            for node in ast.walk(ast.parse(source)) if kind == "code" and f"{function}(" in source else ():
                if isinstance(node, ast.Call) and getattr(node.func, "id", "") == function:
                    given = [worked(each) for each in node.args]
                    found[given[0]] = given, {word.arg: worked(word.value) for word in node.keywords}
    return found


def worked(node: ast.expr) -> Any:
    """An argument as the lesson has it, on our lathe."""
    return eval(compile(ast.Expression(node), "a lesson", "eval"), dict(OWN))


ASKED, ANSWERED = called("guess"), called("taken_up")
NUMBER = re.compile(r"-?\d+(?:\.\d+|/\d+)?")
OF_CHOICES = {name: given[2] for name, (given, _) in ASKED.items() if len(given) > 2}
IN_A_BOX = sorted(ASKED.keys() - OF_CHOICES.keys())

RIGHT = {
    "carriage-in-one-turn": [
        "3.175",
        "3.175 mm",
        "3,175",
        "25.4/8",
        "25.4 / 8 mm",
        "25.4/8 = 3.175 mm",
        "3.18",
        "1/8 in",
    ],
    "driven-for-12-tpi": ["60", "60 teeth", "60 t", "80 · 3/4", "60.0", "about 60"],
    "three-threads-from-a-lever": [
        "24, 12, 6",
        "24,12,6",
        "24 12 6",
        "6, 12 and 24 tpi",
        "24 tpi, 12 tpi, 6 tpi",
        "24; 12; 6",
        "6, 24, 12",
        "24, 6, 12 tpi",
    ],
    "driven-for-27-tpi": [
        *("27", "27, 54", "27 and 54", "54, 81 teeth", "27, 54, 81 and so on", "27,54,81", "54, 27", "27 or 54", "108"),
        *("27, 54, 81, 108", "27, 54 and so on", "multiples of 27", "any multiple of 27", "27, 54 ...", "27, 54, etc."),
    ],
    "ratio-for-one-mm": ["40/127", "8/25.4", "80/254", "8 : 25.4", "1/3.175"],
    "mediant-after-three-halves": ["4/3", "(1 + 3)/(1 + 2)", "1 1/3", "8/6"],
    "pairs-within-200-ppm": ["1", "one", "One.", "one pair", "1 pair"],
    "bolt-over-200-mm": ["25", "25 µm", "25 um", "125/5", "0.025 mm", "25 microns"],
    "how-many-will-do": ["all 3", "3", "three", "3 of the five"],
    "ratio-with-22-7": ["33/21", "11/7", "22/14", "1 4/7", "22/7/2"],
    "nearer-than-22-7": ["179/57", "by 7 ppm", "7", "7 ppm better", "358/114"],
    "worm-on-your-lathe": ["1665.7", "1666 ppm", "−1665.7", "by 1666"],
    "threads-until-12-tpi-is-back": [
        "every 2",
        "after 2 threads",
        "2",
        "two",
        "2 threads",
        "two threads",
        "2 leadscrew threads",
    ],
    "lines-that-serve-11-tpi": ["1 and 5", "1, 5", "5 and 1", "lines 1 and 5", "line 1 and line 5", "1,5"],
    "dial-gears-for-three-pitches": ["15, 14, 16", "15, 14 and 16", "15 14 16", "15 for 1.25, 14 for 1.75, 16 for 4"],
    "threads-until-1-5-mm-is-back": ["60", "60 threads", "120/2"],
    "threads-on-my-lathe": ["14", "14 threads"],
    "gears-off-for-12-tpi": ["2", "two", "2 gears", "Two gears"],
    "driven-gear-changes-in-a-day": ["2", "twice", "2 times", "two"],
    "gears-off-for-15-tpi": ["2", "two", "2 gears"],
    "turns-until-every-tooth": ["8/3", "2 2/3", "3", "3 turns", "2.67 turns", "8/3 turns", "2.667"],
    "gears-off-on-my-lathe": ["3", "three", "3 gears"],
    "largest-of-four-turns": ["1.3125", "5.25/4", "5.25/4 = 1.3125 mm", "1.31", "21/16 mm"],
    "turns-for-the-calliper": ["6", "six", "6 turns"],
    "turns-on-my-lathe": ["6", "6 turns", "six turns"],
    "feed-of-a-thread-train": ["0.198", "0.198 mm", "0.1984", "1.5875/8", "0.2", "7.8 thou", "0,198"],
    "seconds-in-the-groove": ["1.8", "1.8 s", "3 · 0.6", "9/5", "1.8 seconds", "1.80"],
    "module-in-the-corner": ["1.25", "1 1/4", "1.25 mm", "5/4"],
    "leadscrew-in-the-corner": ["6", "6 tpi", "six", "6 threads per inch", "4.233 mm", "4.23 mm"],
    "across-in-the-corner": ["−47.9", "-47.9", "-47.90", "-47.898 mm", "−48"],
    "feed-in-the-corner": ["1/8", "0.125", "6.25/50", "6.25 : 50"],
    "slots-on": ["2", "6/3", "two slots"],
}
"""How the answer of each guess may well be typed, by hand."""
WRONG = {
    "carriage-in-one-turn": ["3", "3.1", "3.2 inches", "3.175 tpi", "3.1752", "8/25.4", "3.175 or 4", "3.175, 4"],
    "three-threads-from-a-lever": ["24", "24, 12", "24, 12, 8", "24, 12, 6, 3", "24, 12 and 6 mm", "12"],
    "driven-for-27-tpi": ["20", "27, 50", "54 or 55", "27 tpi", "0", "0, 27", "13.5", "multiples of 9", "27π", "or"],
    "ratio-for-one-mm": ["0.3", "0.31", "0.315", "127/40", "8/25", "5/16"],
    "ratio-with-22-7": ["1.57", "1.6", "π/2", "7/11", "22/7"],
    "nearer-than-22-7": ["22/7", "3.14", "355/113", "7 mm", "8 ppm", "57/179"],
    "worm-on-your-lathe": ["1600", "1700", "166.6", "1665.7 mm", "0"],
    "lines-that-serve-11-tpi": ["1", "5", "1 and 6", "1, 3, 5", "1 to 5", "1/5"],
    "how-many-will-do": ["all five", "all", "all 5"],
    "dial-gears-for-three-pitches": ["14, 15, 16", "15", "15 for 1.25 mm", "15, 14"],
    "threads-until-1-5-mm-is-back": ["7.5", "60 inches", "60/127", "seven"],
    "gears-off-for-12-tpi": ["2 or 3", "not 2", "2 = 3", "2/2"],
    "pairs-within-200-ppm": ["0", "none", "2", "two"],
    "turns-until-every-tooth": ["2", "2.7", "3/8", "8"],
    "largest-of-four-turns": ["1.25", "1.32", "5.25", "4/5.25"],
    "feed-of-a-thread-train": ["0.19", "0.21", "0.198 inch", "1.5875"],
    "across-in-the-corner": ["47.9", "-47", "-11.5", "−47.8"],
    "driven-gear-changes-in-a-day": ["six", "six times", "2 gears off", "once"],
}
"""Misses that one might take for right."""


@pytest.fixture(autouse=True)
def _beside(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def is_right(name: str, guessed: str) -> bool:
    """Whether the lesson tells so."""
    given, more = ANSWERED[name]
    answer_book().keep_guess(name, guessed)
    said = taken_up(*given, **more).said
    assert f"You guessed <strong>{guessed.strip()}" in said.replace("&quot;", '"')
    return "</strong>. That's right" in said


def other_numbers(name: str) -> list[str]:
    """Ten wrong numbers: a right one, changed; what comes within one per cent of a right one is left out."""
    rights = sorted(Fraction(each) for each in RIGHT[name] if NUMBER.fullmatch(each))
    x = rights[0] if rights else Fraction(0)
    changed = (x + 1, x - 1, 2 * x, x / 2, -x, 10 * x, x / 10, x + Fraction(1, 3), 3 * x, x * Fraction(51, 50))
    return [str(each) for each in changed if not any(abs(each - right) <= abs(right) / 100 for right in rights)]


class TestAGuessInABox:
    def test_none_is_forgotten_here(self):
        assert sorted(RIGHT) == IN_A_BOX
        assert WRONG.keys() <= RIGHT.keys()

    @pytest.mark.parametrize("name", RIGHT)
    def test_the_answer_as_it_may_be_typed_is_right(self, name):
        assert [each for each in RIGHT[name] if not is_right(name, each)] == []

    @pytest.mark.parametrize("guessed", ["all five", "all", "All 5.", "5", "five"])
    def test_all_of_the_five_are_all(self, monkeypatch, guessed):
        assert not is_right("how-many-will-do", guessed)
        monkeypatch.setitem(OWN, "good", ["M6", "M8", "M10", "M12", "1/4-20 UNC"])
        monkeypatch.setitem(ANSWERED, "how-many-will-do", called("taken_up")["how-many-will-do"])
        assert is_right("how-many-will-do", guessed)

    @pytest.mark.parametrize("name", RIGHT)
    def test_nothing_else_is(self, name):
        misses = [
            *WRONG.get(name, ()),
            *other_numbers(name),
            "no idea",
            "yes",
            "0.001",
            "999",
            f"{RIGHT[name][0]} geese",
        ]
        right_by_list = {"54", "81", "270", "999"} if name == "driven-for-27-tpi" else set()  # multiples of 27
        assert [each for each in misses if each not in right_by_list and is_right(name, each)] == []


class TestAGuessByButtons:
    @pytest.mark.parametrize("name", OF_CHOICES)
    def test_just_one_choice_is_right(self, name):
        assert len([choice for choice in OF_CHOICES[name] if is_right(name, choice)]) == 1

    @pytest.mark.parametrize(
        ("missed", "choice"),
        [([], "neither"), (["1.5 mm"], "1.5 mm"), (["13 tpi"], "13 tpi"), (["1.5 mm", "13 tpi"], "both")],
    )
    def test_what_a_lathe_misses_is_one_of_the_choices(self, missed, choice, monkeypatch):
        monkeypatch.setitem(OWN, "missed", missed)
        given, more = called("taken_up")["which-of-them-misses"]
        monkeypatch.setitem(ANSWERED, "which-of-them-misses", (given, more))
        assert [each for each in OF_CHOICES["which-of-them-misses"] if is_right("which-of-them-misses", each)] == [
            choice
        ]
