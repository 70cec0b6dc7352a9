"""What lesson 08 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from math import lcm

import gearcalc as gc
from tests.lessons.reckoning import SCREW

F = Fraction
INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
TEETH, LINES = 16, 8  # of its dial
METRIC_GEARS = {14: 7, 15: 5, 16: 8}  # teeth and lines


def returns_after(lead: Fraction, screw: Fraction) -> int:
    """Leadscrew threads until a groove is back, by laying them end to end."""
    return next(n for n in range(1, 10_000) if (n * screw / lead).denominator == 1)


def tpi(threads: str) -> Fraction:
    return F("25.4") / F(threads)


def lines_right_each_time(lead: Fraction, screw: Fraction, teeth: int, lines: int, turns: int = 60) -> set[int]:
    """Lines at which the groove is there in each of many turns of the dial, line 1 being the first used."""

    def is_there(line: int, turn: int) -> bool:
        threads = F((line - 1) * teeth, lines) + turn * teeth
        return threads.denominator == 1 and (threads * screw / lead).denominator == 1

    return {line for line in range(1, lines + 1) if all(is_there(line, turn) for turn in range(turns))}


def on_metric(lead: str, teeth: int) -> set[int]:
    return lines_right_each_time(F(lead), F(3), teeth, METRIC_GEARS[teeth])


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "08": {
        "2 threads Two leadscrew threads are a quarter of an inch, and so are three leads.": lambda: (
            returns_after(tpi("12"), SCREW) == 2 and F(2, 8) == F(3, 12) == F(1, 4)
        ),
        r"\frac{1/12}{1/8} = \frac{8}{12} = \frac{2}{3}": lambda: F(1, 12) / F(1, 8) == F(8, 12) == F(2, 3),
        "So $q = 3$ leads are just as long as $p = 2$ leadscrew threads": lambda: 3 * tpi("12") == 2 * tpi("8"),
        "Then count the numbered ones alone, as if the dial had half as many lines.": lambda: all(
            {(line + 1) // 2 for line in lines_right_each_time(tpi(cut), SCREW, TEETH, LINES) if line % 2}
            == lines_right_each_time(tpi(cut), SCREW, TEETH, LINES // 2)
            for cut in map(str, range(4, 41))
        ),
        "At 1, line 2 comes after 16 + 2 leadscrew threads.": lambda: TEETH + TEETH / LINES == 16 + 2,
        "Our dial gear has 16 teeth, and its dial 8 lines. So from line to line two leadscrew threads go by.": lambda: (
            [(gear.teeth, gear.lines) for gear in INCH.dial.gears] == [(TEETH, LINES)] and TEETH / LINES == 2
        ),
        "1 and 5 Eight leadscrew threads are four lines on: line 5. Eight more, and line 1 is back.": lambda: (
            returns_after(tpi("11"), SCREW) == 8
            and lines_right_each_time(tpi("11"), SCREW, TEETH, LINES) == {1, 5}
            and 8 / (TEETH / LINES) == 4
            and TEETH == 8 + 8
        ),
        "At line 5 the picture says 8 leadscrew threads, and further on 24. Why both? From line 1 to line 5 it is 8 "
        "threads. If the dial first goes round once more, it is 8 + 16 = 24. Both are multiples of 8.": lambda: (
            (5 - 1) * TEETH / LINES == 8 and 8 + TEETH == 24 and 24 % 8 == 0
        ),
        "here 8 divides 16": lambda: 16 % 8 == 0,
        "In millimetres $p$ can be 5, 7 or 11. No one gear holds them all": lambda: (
            [returns_after(F(lead), F(3)) for lead in ("1.25", "1.75", "5.5")] == [5, 7, 11] and lcm(5, 7, 11) > 300
        ),
        "15 for 1.25 mm, 14 for 1.75 mm, 16 for 4 mm 5 divides 15, 7 divides 14, 4 divides 16.": lambda: (
            [returns_after(F(lead), F(3)) for lead in ("1.25", "1.75", "4")] == [5, 7, 4]
            and [{teeth for teeth in METRIC_GEARS if teeth % p == 0} for p in (5, 7, 4)] == [{15}, {14}, {16}]
        ),
        "| 16 ÷ 8 = 2 | 4 | 4/2 = **2** | every 2nd |": lambda: on_metric("4", 16) == {1, 3, 5, 7} and F(4, 2) == 2,
        "| 15 ÷ 5 = 3 | 5 | **5**/3 | every 5th: only the first used |": lambda: on_metric("1.25", 15) == {1},
        "| 14 ÷ 7 = 2 | 7 | **7**/2 | every 7th: only the first used |": lambda: on_metric("1.75", 14) == {1},
        "1.25 mm with 16 teeth": lambda: on_metric("1.25", 16) == set(),
        "5 does not divide 16. Line 6 serves **this time only** (dashed ring): a turn later it misses. Even line 1 "
        "does.": lambda: (
            16 % 5 != 0
            and [((6 - 1) * 2 + turn * 16) % 5 == 0 for turn in (0, 1)] == [True, False]
            and not any(turn * 16 % 5 == 0 for turn in (1, 2, 3))
        ),
        "60 threads, seven and a half inches 1.5 ÷ 3.175 = 60/127. No dial gear here has 60 teeth": lambda: (
            returns_after(F("1.5"), SCREW) == 60
            and F("7.5") * F("25.4") == 60 * SCREW
            and F("1.5") / F("3.175") == F(60, 127)
        ),
        "The leadscrew has 25.4/8 = 3.175 mm.": lambda: F("25.4") / 8 == F("3.175"),
        r"Times 40, above and below the line, the decimals are gone:": lambda: (
            (F("1.5") * 40).denominator == (F("3.175") * 40).denominator == 1
        ),
        r"\frac{1.5}{3.175} = \frac{1.5 \cdot 40}{3.175 \cdot 40} = \frac{60}{127}": lambda: (
            F("1.5") / F("3.175") == F(60, 127) and (F("1.5") * 40, F("3.175") * 40) == (60, 127)
        ),
        "127 is a prime, so nothing cancels any more: $p = 60$.": lambda: (
            all(127 % n for n in range(2, 127)) and returns_after(F("1.5"), SCREW) == 60
        ),
        "An inch thread on a metric leadscrew is back after 127 leadscrew threads, or a multiple.": lambda: all(
            returns_after(tpi(str(threads)), F(screw)) % 127 == 0 for threads in range(4, 81) for screw in (2, 3, 4, 6)
        ),
        "Two leadscrew threads are 6 mm: one and a half leads.": lambda: 2 * 3 == 6 == F(3, 2) * 4,
        "For a 40 on the spindle side and 2 starts": lambda: (INCH.spindle_ratio, METRIC.spindle_ratio) == (1, 1),
        r"\frac{40 \cdot 1}{2} = 20": lambda: F(40 * 1, 2) == 20,
        "With 16 tpi any line works. That habit spoils the first 11 tpi": lambda: (
            len(lines_right_each_time(tpi("16"), SCREW, TEETH, LINES)) == LINES
            and len(lines_right_each_time(tpi("11"), SCREW, TEETH, LINES)) == 2
        ),
    }
}
"""A piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "08": (
        "other lines for passes 2 and 3",
        "Which of 10, 20 and 16 tpi",
        "(A *thou* is 0.001 in.)",
        "*Line 1*",
        "by 1/k of a turn",
        "then line 1 means nothing",
        "of some 7 minutes",
    )
}
"""Numbers that state nothing: what is asked for, agreed on, or quoted from somebody."""
