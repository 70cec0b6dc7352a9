"""Lesson 12 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from math import isclose, pi
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import (
    INCH,
    Case,
    box,
    every_train,
    lead_said,
    leadscrew,
    number,
    whole,
    words,
)

STEPS = [Fraction(step) for step in ("1", "1.125", "1.25", "1.375", "1.5", "1.75", "2", "2.25", "2.5")]


def shown(x: Fraction) -> str:
    return f"{float(x):g}"


def module_of_a_gear() -> Case:
    def measured(q: Exercise) -> tuple[int, Fraction]:
        return whole(q, r"with (\d+) teeth"), number(q, r"measures ([\d.]+) mm")

    def step(q: Exercise, counted: int = 2) -> Fraction:
        """The step that comes nearest, with so many teeth more."""
        teeth, over = measured(q)
        return min(STEPS, key=lambda step: abs(step * (teeth + counted) - over))

    def module(q: Exercise) -> Fraction:
        return step(q)

    def right(q: Exercise) -> list[Any]:
        m = module(q)
        return [m, float(m), f"{shown(m)} mm", shown(m).replace(".", ",")]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        teeth, over = measured(q)
        found: list[tuple[str, Any]] = [
            ("two teeth forgotten", over / teeth),
            ("two teeth taken away", over / (teeth - 2)),
            ("two teeth forgotten", step(q, 0)),
            ("two teeth taken away", step(q, -2)),
            ("upside down", (teeth + 2) / over),
            ("the circular pitch", float(module(q)) * pi),
        ]
        return [*found, ("no step taken", over / (teeth + 2))]

    return Case(right, slips, lambda q: shown(module(q)))


def leadscrew_from_its_travel() -> Case:
    wholes = [*((f"{n} tpi", INCH / n) for n in range(3, 21)), *((f"{n} mm", Fraction(n)) for n in range(1, 13))]

    def measured(q: Exercise) -> tuple[int, Fraction]:
        return whole(q, r"hand, (\d+) turns"), number(q, r"carriage moves ([\d.]+) mm")

    def found(q: Exercise) -> tuple[str, Fraction]:
        turns, travel = measured(q)
        possible = [(name, lead) for name, lead in wholes if abs(lead * turns - travel) <= Fraction(1, 4)]
        assert len(possible) == 1, (q, possible)
        return possible[0]

    def right(q: Exercise) -> list[Any]:
        name, lead = found(q)
        return [name, f" {name.upper()} ", f"{float(lead):.6f} mm"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        turns, travel = measured(q)
        name, _ = found(q)
        number, unit = name.split()
        other = f"{number} {'mm' if unit == 'tpi' else 'tpi'}"
        mm, tpi = round(travel / turns), round(INCH * turns / travel)
        near = f"{mm} mm" if unit == "tpi" else f"{tpi} tpi"
        return [
            ("upside down", f"{float(turns / travel):.4f} mm"),
            ("the other unit", other),
            ("all turns at once", f"{float(travel):g} mm"),
            ("as measured", f"{float(travel / turns):.4f} mm"),
            ("another leadscrew", near),
        ]

    return Case(right, slips, lambda q: found(q)[0])


def ratio_of_a_lever() -> Case:
    def numbers(q: Exercise) -> tuple[Fraction, Fraction, Fraction]:
        train = Fraction(whole(q, r"Driver (\d+)"), whole(q, r"driven (\d+)"))
        cut = number(q, r"carriage by ([\d.]+) mm") / whole(q, r"hand, (\d+) turns")
        return leadscrew(q), train, cut

    def lever(q: Exercise) -> Fraction:
        screw, train, cut = numbers(q)
        return cut / screw / train

    def right(q: Exercise) -> list[Any]:
        x = lever(q)
        fraction = f"{x.numerator}/{x.denominator}"
        return [x, float(x), fraction, f'"{fraction}"', f"{x} turns"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        screw, train, cut = numbers(q)
        return [
            ("upside down", 1 / lever(q)),
            ("gears forgotten", cut / screw),
            ("gears upside down", cut / screw * train),
            ("leadscrew forgotten", cut / train),
            ("the lead that is cut", cut),
        ]

    return Case(right, slips, lambda q: str(lever(q)))


def worst_lead_in_a_gap() -> Case:
    def ends(q: Exercise) -> tuple[Fraction, Fraction]:
        return number(q, r"a lead of ([\d.]+) mm"), number(q, r"one of ([\d.]+) mm")

    def worst(q: Exercise) -> float:
        """By trying twenty thousand leads between the two."""
        low, high = map(float, ends(q))
        leads = (low + (high - low) * n / 20_000 for n in range(20_001))
        return max(min(x - low, high - x) / x for x in leads) * 1e6

    def right(q: Exercise) -> list[Any]:
        return [worst(q), f"{worst(q):.1f} ppm", round(worst(q) / 10) * 10]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        low, high = ends(q)
        half = (high - low) / 2
        near_one = abs((low + high) / 2 - 1) < Fraction(1, 40)  # there a share of it is as many millimetres
        return [
            *([] if near_one else [("a share for ppm", worst(q) / 10**6)]),
            ("the whole gap", 2 * worst(q)),
            ("a share of the lower", half / low * 10**6),
            ("a share of the upper", half / high * 10**6),
            ("in per cent", worst(q) / 10**4),
            ("in millimetres", half),
        ]

    return Case(right, slips, lambda q: f"{worst(q):.0f}")


def one_gear_for_both() -> Case:
    def ratios(q: Exercise) -> list[Fraction]:
        found = re.search(r"to cut ([\d.]+ \w+) and ([\d.]+ \w+),", words(q))
        assert found
        return [lead_said(text) / leadscrew(q) for text in found.groups()]

    def opens(q: Exercise, teeth: int) -> list[bool]:
        gears = [*box(q), teeth]
        return [any(next(every_train(gears, ratio, pairs), None) for pairs in (1, 2)) for ratio in ratios(q)]

    def serving(q: Exercise) -> list[int]:
        tried = [
            teeth
            for teeth in range(20, 128)
            if any(
                r.numerator % p == 0 or r.denominator % p == 0
                for r in ratios(q)
                for p in (7, 11, 13, 17, 19, 127)
                if teeth % p == 0
            )
        ]
        return [teeth for teeth in tried if all(opens(q, teeth))]

    def right(q: Exercise) -> list[Any]:
        found = serving(q)
        return [*found, f"{found[0]} teeth", float(found[-1])]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        primes = {p for p in (7, 11, 13, 19, 127) for r in ratios(q) if r.numerator % p == 0 or r.denominator % p == 0}
        some = [teeth for p in primes for teeth in range(p, 128, p) if teeth >= 20 and sum(opens(q, teeth)) == 1]
        lacking = [p for p in primes if all(r.numerator % p == 0 or r.denominator % p == 0 for r in ratios(q))]
        useless = next(
            teeth
            for teeth in range(21, 127)
            if teeth not in box(q) and all(teeth % p for p in lacking) and not any(opens(q, teeth))
        )
        wrong: list[tuple[str, Any]] = [
            ("not to be had", 254),
            ("not to be had", 7),
            ("in the box already", box(q)[0]),
            ("none of them", useless),
        ]
        wrong += [("only some of them", teeth) for teeth in some[:1]]
        alone = [t for p in lacking for t in range(p, 128, p) if t >= 20 and t not in box(q) and not any(opens(q, t))]
        return wrong + [("no partner", teeth) for teeth in alone[:1]]

    return Case(right, slips, lambda q: str(serving(q)[0]))


def line_that_does_not_follow() -> Case:
    def rows(q: Exercise) -> list[tuple[str, str, str]]:
        assert q.task.table is not None
        return [(a, b, c) for a, b, c in q.task.table.rows]

    def numbers(text: str) -> list[Fraction]:
        return [Fraction(number) for number in re.findall(r"\d+(?:\.\d+|/\d+)?", text)]

    def kind(line: str) -> str:
        return next(name for key, name in KINDS.items() if line.startswith(key))

    def follows(measured: str, line: str) -> bool:
        seen, written = numbers(measured), numbers(line)
        if line.startswith("leadscrew"):
            return isclose(lead_said(line.split('"')[1]), seen[1] / seen[0], rel_tol=1e-5)
        if line.startswith("gears"):
            return written[0] * (seen[0] + 2) == seen[1]
        if line.startswith(("spindle", "gearbox", "lever position")):
            return written[0] == seen[1] / seen[0]
        return written == seen if "[" in line else 2 * written[0] == seen[0]

    def wrong(q: Exercise) -> str:
        (found,) = [row for row, measured, line in rows(q) if not follows(measured, line)]
        return found

    def right(q: Exercise) -> list[Any]:
        return [wrong(q), int(wrong(q)), f"row {wrong(q)}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        return [(f"the {kind(line)} suspected", row) for row, measured, line in rows(q) if follows(measured, line)]

    return Case(right, slips, lambda q: f"row {wrong(q)}")


KINDS = {
    "leadscrew.lead": "leadscrew",
    "gears.module_mm": "module",
    "spindle_side": "spindle side",
    "gearbox": "lever",
    "lever position": "lever",
    "bracket.spindle_side_at_mm": "place of the spindle side",
    "bracket.shaft_radius_mm": "shaft",
}

CASES = {
    "module-of-a-gear": module_of_a_gear(),
    "leadscrew-from-its-travel": leadscrew_from_its_travel(),
    "ratio-of-a-lever": ratio_of_a_lever(),
    "worst-lead-in-a-gap": worst_lead_in_a_gap(),
    "one-gear-for-both": one_gear_for_both(),
    "line-that-does-not-follow": line_that_does_not_follow(),
}
