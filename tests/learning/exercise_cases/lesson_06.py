"""Lesson 06 worked a second time."""

from __future__ import annotations

from fractions import Fraction
from itertools import islice
from math import gcd, pi
from typing import Any

import sympy

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.lesson_04 import near_trains
from tests.learning.exercise_cases.reading import Case, box, in_forms, leadscrew, said, words, written

INCH = 25.4


def lead_of_a_worm() -> Case:
    def per_pi(q: Exercise) -> float:
        starts = 2 if "two starts" in words(q) else 1
        size = float(said(q, r"(?:module|diametral pitch) ([\d.]+)"))
        return starts * (INCH / size if "diametral" in words(q) else size)

    def right(q: Exercise) -> list[Any]:
        x = per_pi(q) * pi
        return [
            x,
            round(x, 3),
            f"{x:.3f} mm",
            f"{x:.6f}",
            sympy.pi * sympy.Rational(str(per_pi(q))) if "module" in words(q) else x,
        ]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        turned = {True: "diametral pitch", False: "module"}["module" in words(q)]
        size = float(said(q, r"(?:module|diametral pitch) ([\d.]+)"))
        starts = 2 if "two starts" in words(q) else 1
        mixed_up = (INCH / size if turned == "diametral pitch" else size) * starts * pi
        found = [
            ("without π", per_pi(q)),
            ("left in inches", per_pi(q) * pi / INCH),
            ("module and DP mixed up", mixed_up),
            ("3.14 for π", 3.14 * per_pi(q)),
            ("22/7 for π", 22 / 7 * per_pi(q)),
        ]
        return [*found, ("starts forgotten", per_pi(q) * pi / 2)] if starts == 2 else found

    return Case(right, slips, lambda q: f"{per_pi(q) * pi:.2f}")


def fraction_for_pi() -> Case:
    """Every fraction up to the limit is tried."""

    def read(q: Exercise) -> tuple[float, Fraction, int]:
        needed = float(Fraction(said(q, r"module ([\d.]+)"))) * pi / 3
        return (
            needed,
            Fraction(said(q, r"(?:that becomes|for it is) (\d+/\d+)")),
            int(said(q, r"no number above (\d+)")),
        )

    def nearer(q: Exercise) -> list[Fraction]:
        needed, classic, most = read(q)
        allowed = abs(classic - needed)
        found = []
        for bottom in range(1, most + 1):
            top = round(needed * bottom)
            if gcd(top, bottom) == 1 and 0 < top <= most and abs(top / bottom - needed) < allowed - 1e-12:
                found.append(Fraction(top, bottom))
        return found

    def right(q: Exercise) -> list[Any]:
        found = nearer(q)
        assert found
        return [form for x in found[:8] for form in (x, str(x), f"{3 * x.numerator}/{3 * x.denominator}")]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        _, classic, most = read(q)
        again = "the same again" if max(classic.as_integer_ratio()) <= most else "too large numbers"
        return [
            (again, classic),
            ("upside down", 1 / nearer(q)[0]),
            ("too large numbers", Fraction(most + 7, most + 3)),
            ("for π itself", Fraction(22, 7)),
            ("not nearer", Fraction(1, 9)),
        ]

    return Case(right, slips, lambda q: str(nearer(q)[0]))


def a_train_for_the_worm() -> Case:
    def needed(q: Exercise) -> float:
        return float(Fraction(said(q, r"module ([\d.]+)")) / leadscrew(q)) * pi

    def right(q: Exercise) -> list[Any]:
        found = near_trains(box(q), needed(q), 199.9)
        assert len(found) >= 2
        return [form for sides in found[:6] for form in in_forms(sides)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        drivers, driven = near_trains(box(q), needed(q), 199.9)[0]
        gears = box(q)
        return [
            ("upside down", (driven, drivers)),
            ("not in the box", ((998,), (999,))),
            ("one gear used twice", ((gears[0], gears[0]), (gears[1], gears[2]))),
            *[("one gear used twice", sides) for sides in sevenths_with_one_gear_twice(q)],
        ]

    def sevenths_with_one_gear_twice(q: Exercise) -> list[Any]:
        """Just 22/7 for π, by two pairs of which one needs a gear once more than the box has it; if there is one."""
        top, bottom = (Fraction(22, 7) * Fraction(said(q, r"module ([\d.]+)")) / leadscrew(q)).as_integer_ratio()
        sides = [(one, other) for one in box(q) for other in box(q) if one <= other]
        found = (
            (above, below)
            for above in sides
            for below in sides
            if len({*above, *below}) == 3 and above[0] * above[1] * bottom == below[0] * below[1] * top
        )
        return list(islice(found, 1))

    return Case(right, slips, lambda q: written(near_trains(box(q), needed(q), 199.9)[0]))


def module_or_diametral_pitch() -> Case:
    def ten(name: str) -> float:
        if name.startswith("module "):
            return 10 * pi * float(name.removeprefix("module "))
        if name.startswith("DP "):
            return 10 * pi * INCH / float(name.removeprefix("DP "))
        size = float(sum(Fraction(part) for part in name.split()[:-1]))
        return 10 * size if name.endswith("mm") else 10 * INCH / size

    def offered(q: Exercise) -> list[str]:
        return said(q, r"Which of these is it: (.+?)\?").split(", ")

    def true(q: Exercise) -> str:
        measured = float(said(q, r"measures ([\d.]+) mm"))
        (found,) = [name for name in offered(q) if abs(ten(name) - measured) <= 0.1]
        return found

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        worms = ("module", "DP")
        return [
            ("the other system" if name.startswith(worms) else "without π", name)
            for name in offered(q)
            if name != true(q)
        ]

    return Case(lambda q: [true(q), true(q).upper(), f" {true(q)} "], slips, true)


CASES = {
    "lead-of-a-worm": lead_of_a_worm(),
    "fraction-for-pi": fraction_for_pi(),
    "a-train-for-the-worm": a_train_for_the_worm(),
    "module-or-diametral-pitch": module_or_diametral_pitch(),
}
