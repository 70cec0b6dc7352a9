"""Lesson 10 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import (
    Case,
    beside_the_gears,
    forms,
    lead_said,
    leadscrew,
    number,
    whole,
    words,
)


def limit(q: Exercise) -> Fraction:
    return number(q, r"± ([\d.]+) mm")


def length(q: Exercise) -> Fraction:
    return number(q, r"measure ([\d.]+) mm")


def rows(q: Exercise) -> list[tuple[str, ...]]:
    assert q.task.table is not None
    return [tuple(row) for row in q.task.table.rows]


def row_forms(found: set[int]) -> list[Any]:
    listed = sorted(found)
    return [
        listed,
        found,
        ", ".join(map(str, listed)),
        " and ".join(map(str, listed)),
        f"rows {' '.join(map(str, listed))}",
    ]


def largest_lead_still_possible() -> Case:
    def turns(q: Exercise) -> int:
        return whole(q, r"Over (\d+) turns")

    def most(q: Exercise) -> Fraction:
        return (length(q) + limit(q)) / turns(q)

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        n, mm, off = turns(q), length(q), limit(q)
        return [
            ("the smallest", (mm - off) / n),
            ("the middle", mm / n),
            ("limit not divided", mm / n + off),
            ("not divided", mm + off),
            ("upside down", n / (mm + off)),
            ("crests for gaps", (mm + off) / (n - 1)),
            ("crests for gaps", (mm + off) / (n + 1)),
        ]

    return Case(lambda q: [*forms(most(q)), f"{float(most(q)):.4f} mm"], slips, lambda q: f"{float(most(q)):g}")


def which_pitches_remain() -> Case:
    def remaining(q: Exercise, off_one_turn: Fraction) -> set[int]:
        middle = length(q) / whole(q, r"over (\d+) turns")
        return {int(row) for row, pitch in rows(q) if abs(lead_said(pitch) - middle) <= off_one_turn}

    def right(q: Exercise) -> set[int]:
        return remaining(q, limit(q) / whole(q, r"over (\d+) turns"))

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        middle = length(q) / whole(q, r"over (\d+) turns")
        nearest = min(rows(q), key=lambda row: abs(lead_said(row[1]) - middle))
        others = {int(row) for row, _ in rows(q)} - right(q)
        return [
            ("limit not divided", remaining(q, limit(q))),
            ("only the nearest", [int(nearest[0])]),
            ("the other ones", others),
        ]

    def forms_of(q: Exercise) -> list[Any]:
        by_name = [pitch for row, pitch in rows(q) if int(row) in right(q)]
        return [*row_forms(right(q)), ", ".join(by_name), " and ".join(by_name).replace(".", ",")]

    return Case(forms_of, slips, lambda q: " and ".join(map(str, sorted(right(q)))))


def pair_of(q: Exercise, pattern: str) -> Fraction:
    found = re.search(pattern, words(q))
    assert found, words(q)
    return abs(lead_said(found[1]) - lead_said(found[2]))


def how_many_turns_to_tell() -> Case:
    def apart(q: Exercise) -> Fraction:
        return pair_of(q, r"You wanted ([\d.]+ \w+) and fear that you cut ([\d.]+ \w+)\.")

    def least(q: Exercise, limits: int = 2) -> int:
        """Turn by turn, until the lengths are further apart than so many limits."""
        turns = 1
        while turns * apart(q) <= limits * limit(q):
            turns += 1
        return turns

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        n = least(q)
        return [
            ("one way only", least(q, 1)),
            ("rounded down", n - 1),
            ("not whole", 2 * limit(q) / apart(q)),
            ("more than needed", n + 1),
            ("more than needed", 2 * n),
        ]

    return Case(
        lambda q: [least(q), str(least(q)), float(least(q)), f"{least(q)} turns"], slips, lambda q: str(least(q))
    )


def which_instruments_will_do() -> Case:
    def apart(q: Exercise) -> Fraction:
        turns = whole(q, r"only (\d+) turns")
        return turns * pair_of(q, r"It should be ([\d.]+ \w+), and ([\d.]+ \w+) must be ruled out")

    def limits(q: Exercise) -> dict[int, Fraction]:
        return {int(row): Fraction(good.split()[1]) for row, _, good in rows(q)}

    def serving(q: Exercise, times: int) -> set[int]:
        return {row for row, good in limits(q).items() if apart(q) > times * good}

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        finest = min(limits(q), key=lambda row: limits(q)[row])
        found: list[tuple[str, Any]] = [
            ("one way only", serving(q, 1)),
            ("the other ones", set(limits(q)) - serving(q, 2)),
        ]
        return found if serving(q, 2) == {finest} else [*found, ("only the finest", [finest])]

    return Case(
        lambda q: row_forms(serving(q, 2)), slips, lambda q: "will do: " + " and ".join(map(str, sorted(serving(q, 2))))
    )


def lead_upside_down() -> Case:
    def ratio(q: Exercise) -> Fraction:
        return Fraction(whole(q, r"the driver has (\d+) teeth"), whole(q, r"the driven gear (\d+)\."))

    def cut(q: Exercise) -> Fraction:
        return leadscrew(q) * beside_the_gears(q) / ratio(q)

    def right(q: Exercise) -> list[Any]:
        return [f"{float(cut(q)):.6f} mm", f"{float(25.4 / cut(q)):.6f} tpi", f"lead {float(cut(q)):.4f} mm"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        screw = leadscrew(q) * beside_the_gears(q)
        return [
            ("as it was meant", f"{float(screw * ratio(q)):.6f} mm"),
            ("leadscrew alone", f"{float(leadscrew(q)):.6f} mm"),
            ("the wrong way once more", f"{float(screw * ratio(q) ** 2):.6f} mm"),
            ("the square the wrong way", f"{float(screw * ratio(q) ** 3):.6f} mm"),
        ]

    return Case(right, slips, lambda q: f"{float(cut(q)):g}")


def name_the_slip() -> Case:
    def leads(q: Exercise) -> dict[str, Fraction]:
        found = re.search(r"to be \((\d+) · (\d+)\)/\((\d+) · (\d+)\)", words(q))
        assert found, words(q)
        a, b, x, y = map(int, found.groups())
        screw, meant = leadscrew(q), Fraction(a * b, x * y)
        ratios = {
            "first pair upside down": Fraction(x * b, a * y),
            "second pair upside down": Fraction(a * y, x * b),
            "first driver and second driven exchanged": Fraction(y * b, x * a),
            "lever at low": meant / 2,
            "lever at high": meant * 2,
        }
        return {name: screw * ratio for name, ratio in ratios.items()}

    def slip(q: Exercise) -> str:
        measured = number(q, r"lead of ([\d.]+) mm, ±")
        (name,) = [name for name, lead in leads(q).items() if abs(lead - measured) <= Fraction(1, 50)]
        return name

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        kinds = {"lever": "a lever", "pair": "a pair", "exchanged": "an exchange"}
        return [(kinds[next(word for word in kinds if word in name)], name) for name in leads(q) if name != slip(q)]

    return Case(lambda q: [slip(q), slip(q).upper(), slip(q).replace(" ", "-")], slips, slip)


CASES = {
    "largest-lead-still-possible": largest_lead_still_possible(),
    "which-pitches-remain": which_pitches_remain(),
    "how-many-turns-to-tell": how_many_turns_to_tell(),
    "which-instruments-will-do": which_instruments_will_do(),
    "lead-upside-down": lead_upside_down(),
    "name-the-slip": name_the_slip(),
}
