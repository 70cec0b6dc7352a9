"""Lesson 05 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from math import sqrt
from typing import Any

from gearcalc import Train
from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import Case, lead_said, leadscrew, whole, words

# The flank angle of a metric thread is 30°: cot 30° = √3 (ISO 68-1).
COT = sqrt(3)


def ppm_said(q: Exercise) -> int:
    found = re.search(r"error of ([+−]\d+) ppm", words(q))
    assert found
    return int(found[1].replace("−", "-"))


def rows(q: Exercise) -> list[tuple[str, ...]]:
    assert q.task.table is not None
    return [tuple(row) for row in q.task.table.rows]


def amount(cell: str) -> float:
    found = re.match(r"[+−]?\d+(?:\.\d+)?", cell)
    return float(found[0].replace("−", "-")) if found else 0.0


def how_far_out() -> Case:
    def um(q: Exercise) -> Fraction:
        return Fraction(ppm_said(q) * whole(q, r"over (\d+) mm"), 1000)

    def right(q: Exercise) -> list[Any]:
        x = um(q)
        return [x, float(x), f"{float(x):+} µm".replace("-", "−"), f"{x.numerator}/{x.denominator}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        x, mm = um(q), whole(q, r"over (\d+) mm")
        return [
            ("wrong sign", -x),
            ("in millimetres", x / 1000),
            ("a thousand too many", x * 1000),
            ("over a metre", ppm_said(q)),
            ("divided", Fraction(ppm_said(q), mm)),
        ]

    return Case(right, slips, lambda q: f"{float(um(q)):g}")


def share_of_the_tolerance() -> Case:
    def widths(q: Exercise) -> dict[str, float]:
        return {grade: amount(width) for grade, width in rows(q)}

    def length(q: Exercise) -> float:
        found = re.search(r"grips it over ([\d.]+) mm", words(q))
        assert found
        return float(found[1])

    def asked(q: Exercise) -> str:
        found = re.search(r"of class (\w+) does", words(q))
        assert found
        return found[1]

    def share(q: Exercise) -> float:
        return 100 * abs(ppm_said(q)) * length(q) / 1000 * COT / widths(q)[asked(q)]

    def right(q: Exercise) -> list[Any]:
        return [share(q), f"{share(q):.1f} %", f"{share(q):.3f}", round(share(q), 2)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        used, major = share(q), whole(q, r"screw M(\d+)")
        other = next(width for grade, width in widths(q).items() if grade != asked(q))
        return [
            ("a plain share", used / 100),
            ("cot forgotten", used / COT),
            ("cot of the whole angle", used / 3),
            *([("minus kept", -used)] if ppm_said(q) < 0 else []),
            ("another class", used * widths(q)[asked(q)] / other),
            ("engagement forgotten", used * major / length(q)),
            ("stopped at the length", abs(ppm_said(q)) * length(q) / 1000),
            ("stopped at the diameter", round(abs(ppm_said(q)) * length(q) / 1000 * COT, 3)),
        ]

    return Case(right, slips, lambda q: f"{share(q):.1f}")


def how_many_ppm_are_allowed() -> Case:
    def allowed(q: Exercise) -> float:
        low, high = re.findall(r"\d+\.\d+", words(q))[:2]
        tolerance_um = (float(high) - float(low)) * 1000
        return tolerance_um / 2 / COT / whole(q, r"grips over (\d+) mm") * 1000

    def right(q: Exercise) -> list[Any]:
        return [allowed(q), round(allowed(q)), f"{allowed(q):.0f} ppm", f"{allowed(q):.2f}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        ppm = allowed(q)
        per_major = whole(q, r"grips over (\d+) mm") / whole(q, r"diameter of M(\d+)")
        return [
            ("all of the tolerance", 2 * ppm),
            ("cot the wrong way", 3 * ppm),
            ("cot forgotten", COT * ppm),
            ("metres for millimetres", ppm / 1000),
            ("engagement forgotten", ppm * per_major),
            ("stopped at the length", ppm * whole(q, r"grips over (\d+) mm") / 1000),
            ("stopped at the tolerance", ppm * whole(q, r"grips over (\d+) mm") / 1000 * COT),
        ]

    return Case(right, slips, lambda q: f"{allowed(q):.0f}")


def find_the_wrong_row() -> Case:
    """Each row worked out from leadscrew and train; the one whose words differ is the wrong one."""

    def is_wrong(q: Exercise, row: tuple[str, ...]) -> bool:
        thread, train, printed, over = row
        ppm = float((leadscrew(q) * Train.parse(train).ratio / lead_said(thread) - 1) * 10**6)
        um = ppm / 10
        return abs(amount(printed) - ppm) > 0.001 * abs(ppm) + 1 or abs(amount(over) - um) > 0.001 * abs(um) + 0.1

    def wrong(q: Exercise) -> str:
        (found,) = [row[0] for row in rows(q) if is_wrong(q, row)]
        return found

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        largest = max(rows(q), key=lambda row: abs(amount(row[2])))[0]
        named = dict.fromkeys((row[0] for row in rows(q)), "a right row") | {largest: "large, not wrong"}
        return [(name, thread) for thread, name in named.items() if thread != wrong(q)]

    return Case(lambda q: [wrong(q), wrong(q).replace(" ", ""), wrong(q).removesuffix(" mm")], slips, wrong)


def good_enough_or_not() -> Case:
    def serves(q: Exercise, row: tuple[str, ...]) -> bool:
        _, screw, over, width = row
        found = re.search(r"\d+", over)
        assert found
        um = abs(ppm_said(q)) * int(found[0]) / 1000
        return um <= amount(width) if screw == "screw of a slide" else um * COT <= amount(width) / 2

    def good(q: Exercise) -> list[int]:
        return [int(row[0]) for row in rows(q) if serves(q, row)]

    def right(q: Exercise) -> list[Any]:
        said = [str(number) for number in good(q)]
        return [good(q), set(good(q)), ", ".join(said), " and ".join(said), f"jobs {' '.join(said)}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        slide = next(int(row[0]) for row in rows(q) if row[1] == "screw of a slide")
        long = next(int(row[0]) for row in rows(q) if int(re.findall(r"\d+", row[2])[0]) in (80, 100, 120))
        narrow = next(int(row[0]) for row in rows(q) if row[1].endswith("4h"))
        found: list[tuple[str, Any]] = [("too strict", [])]
        for name, number in (
            ("slide taken for a fastener", slide),
            ("length overlooked", long),
            ("class overlooked", narrow),
        ):
            if number not in good(q):
                found.append((name, [*good(q), number]))
        return found

    return Case(right, slips, lambda q: "Good enough for " + " and ".join(map(str, good(q))))


CASES = {
    "how-far-out": how_far_out(),
    "share-of-the-tolerance": share_of_the_tolerance(),
    "how-many-ppm-are-allowed": how_many_ppm_are_allowed(),
    "find-the-wrong-row": find_the_wrong_row(),
    "good-enough-or-not": good_enough_or_not(),
}
