"""Lesson 03 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import sympy

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import (
    INCH,
    Case,
    box,
    every_train,
    in_forms,
    lead_said,
    leadscrew,
    train_slips,
    whole,
    words,
    written,
)


def the_ratio_with_127() -> Case:
    def read(q: Exercise) -> tuple[Fraction, int]:
        pitch = re.search(r"pitch of ([\d.]+) mm", words(q))
        assert pitch
        return Fraction(pitch[1]), whole(q, r"leadscrew of (\d+) tpi")

    def ratio(q: Exercise) -> Fraction:
        pitch, tpi = read(q)
        return pitch / (INCH / tpi)

    def right(q: Exercise) -> list[Any]:
        top, bottom = ratio(q).as_integer_ratio()
        return [ratio(q), f"{top}/{bottom}", f" {3 * top} / {3 * bottom}", sympy.Rational(top, bottom)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        pitch, tpi = read(q)
        return [
            ("upside down", 1 / ratio(q)),
            ("25.4 forgotten", pitch * tpi),
            ("pitch over tpi", pitch / tpi),
            ("multiplied", pitch * INCH / tpi),
            ("25 for 25.4", pitch * tpi / 25),
            ("the 5 forgotten", pitch * tpi / 127),
            ("127 over 10", 10 * pitch * tpi / 127),
            ("rounded", round(float(ratio(q)), 4)),
        ]

    return Case(right, slips, lambda q: str(ratio(q)))


def a_pair_with_127() -> Case:
    def ratio(q: Exercise) -> Fraction:
        wanted = re.search(r"that cuts ([\d.]+ (?:tpi|mm)) exactly", words(q))
        assert wanted
        return lead_said(wanted[1]) / leadscrew(q)

    def right(q: Exercise) -> list[Any]:
        pairs = list(every_train(box(q), ratio(q), 1))
        assert len(pairs) == 1, "one partner for the 127"
        two = list(every_train(box(q), ratio(q), 2))[:2]
        return [form for sides in [*pairs, *two] for form in in_forms(sides)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        ((drivers, driven),) = every_train(box(q), ratio(q), 1)
        other = next(teeth for teeth in box(q) if teeth not in (*drivers, *driven))
        third = next(teeth for teeth in reversed(box(q)) if teeth not in (*drivers, *driven, other))
        inch_screw = driven == (127,)
        return [
            ("127 on the wrong side", (driven, drivers)),
            ("127 on the wrong side", f"127/{other}" if inch_screw else f"{other}/127"),
            ("without the 127", ((other,), (third,))),
            ("not in the box", "998/127" if inch_screw else "127/998"),
        ]

    return Case(right, slips, lambda q: written(next(every_train(box(q), ratio(q), 1))))


def rows_of(q: Exercise) -> dict[int, list[str]]:
    assert q.task.table is not None
    return {int(number): cells for number, *cells in q.task.table.rows}


def rows_in_forms(rows: set[int]) -> list[Any]:
    listed = sorted(rows)
    text = ", ".join(map(str, listed))
    return [rows, listed, tuple(reversed(listed)), text, text.replace(",", " and"), f" {text.replace(',', ';')} "]


def which_sets_can_do_it() -> Case:
    """A box can do it when it holds a pair for the ratio, not when a prime of the ratio is in none of its gears."""

    def read(q: Exercise) -> tuple[Fraction, dict[int, list[int]]]:
        wanted = re.search(r"you want ([\d.]+ mm) exactly", words(q))
        assert wanted
        boxes = {number: [int(teeth) for teeth in gears.split(", ")] for number, (gears,) in rows_of(q).items()}
        return lead_said(wanted[1]) / leadscrew(q), boxes

    def can(ratio: Fraction, gears: list[int]) -> bool:
        if any(next(every_train(gears, ratio, pairs), None) for pairs in (1, 2)):
            return True
        primes = [*sympy.primefactors(ratio.numerator), *sympy.primefactors(ratio.denominator)]
        assert any(all(teeth % prime for teeth in gears) for prime in primes), "no proof that this box can't"
        return False

    def true(q: Exercise) -> set[int]:
        ratio, boxes = read(q)
        return {number for number, gears in boxes.items() if can(ratio, gears)}

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        _, boxes = read(q)
        found: list[tuple[str, Any]] = []
        for number, gears in boxes.items():
            with_it, without_it = true(q) | {number}, true(q) - {number}
            if 126 in gears:
                found.append(("near taken for exact", with_it))
            elif not {127, 254} & set(gears):
                found.append(("many gears", with_it))
            elif 127 in gears and number not in true(q):
                found.append(("127 alone", with_it))
            elif 254 in gears:
                found.append(("254 overlooked", without_it))
        return found

    return Case(lambda q: rows_in_forms(true(q)), slips, lambda q: ", ".join(map(str, sorted(true(q)))))


def metric_or_inch_in_disguise() -> Case:
    """A pitch needs a 127 when pitch × 8 / 25.4 has one below the line."""

    def pitches(q: Exercise) -> dict[int, Fraction]:
        return {number: lead_said(pitch) for number, (pitch,) in rows_of(q).items()}

    def true(q: Exercise) -> set[int]:
        return {n for n, pitch in pitches(q).items() if 127 not in sympy.factorint((pitch / leadscrew(q)).denominator)}

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        found: list[tuple[str, Any]] = [("an inch overlooked", "none")]
        for number, pitch in pitches(q).items():
            if number not in true(q):
                threads = INCH / pitch
                rounded = abs(threads - round(threads)) < Fraction(1, 50) and (pitch * 100).denominator > 1
                found.append(("rounded taken for exact" if rounded else "a metric one", true(q) | {number}))
        return found

    return Case(lambda q: rows_in_forms(true(q)), slips, lambda q: ", ".join(map(str, sorted(true(q)))))


def two_pairs() -> Case:
    def ratio(q: Exercise) -> Fraction:
        wanted = re.search(r"that cuts (.+?) exactly", words(q))
        assert wanted
        return lead_said(wanted[1]) / leadscrew(q)

    def right(q: Exercise) -> list[Any]:
        assert not list(every_train(box(q), ratio(q), 1)), "the question says that no single pair does"
        return [form for sides in list(every_train(box(q), ratio(q), 2))[:4] for form in in_forms(sides)]

    return Case(right, lambda q: train_slips(q, ratio(q)), lambda q: written(next(every_train(box(q), ratio(q), 2))))


CASES = {
    "the-ratio-with-127": the_ratio_with_127(),
    "a-pair-with-127": a_pair_with_127(),
    "two-pairs": two_pairs(),
    "which-sets-can-do-it": which_sets_can_do_it(),
    "metric-or-inch-in-disguise": metric_or_inch_in_disguise(),
}
