"""Lesson 02 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import combinations
from math import prod
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import (
    INCH,
    Case,
    Sides,
    box,
    every_train,
    forms,
    in_forms,
    lead_said,
    leadscrew,
    train_slips,
    words,
    written,
)


def threads_from_two_pairs() -> Case:
    def read(q: Exercise) -> tuple[int, ...]:
        pattern = r"has (\d+) teeth and drives a gear of (\d+).*has (\d+) teeth and drives the last gear, (\d+)"
        found = re.search(pattern, words(q))
        assert found
        return tuple(map(int, found.groups()))

    def right(q: Exercise) -> list[Any]:
        a, c, b, d = read(q)
        return [*forms(Fraction(8 * c * d, a * b)), f"{Fraction(8 * c * d, a * b)} tpi"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        a, c, b, d = read(q)
        return [
            ("one pair forgotten", Fraction(8 * c, a)),
            ("one pair forgotten", Fraction(8 * d, b)),
            ("upside down", Fraction(8 * a * b, c * d)),
            ("pairs added", 8 / (Fraction(a, c) + Fraction(b, d))),
            ("pairs added", Fraction(8 * c, a) + Fraction(8 * d, b)),
            ("pairs added", a / c + b / d),
            ("ratio only", Fraction(a * b, c * d)),
            ("lead for tpi", INCH / 8 * a * b / (c * d)),
        ]

    return Case(right, slips, lambda q: f"{right(q)[0]} tpi")


def forgotten_pair() -> Case:
    def read(q: Exercise) -> tuple[int, ...]:
        plan = re.search(r"\((\d+) · (\d+)\)/\((\d+) · (\d+)\)", words(q))
        assert plan
        return tuple(map(int, plan.groups()))

    def right(q: Exercise) -> list[Any]:
        a, _, _, d = read(q)
        return [f"{Fraction(8 * d, a)} tpi", f"{25.4 * a / (8 * d):.5f} mm"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        a, b, c, d = read(q)
        screw = INCH / 8
        leads = [
            ("as planned", screw * a * b / (c * d)),
            ("stud for leadscrew", screw * a / c),
            ("idler counted in", screw * c / d),
            ("upside down", screw * d / a),
        ]
        return [(name, f"{float(lead)} mm") for name, lead in leads]

    return Case(right, slips, lambda q: right(q)[0])


def split_a_ratio() -> Case:
    def ratio(q: Exercise) -> Fraction:
        needed = re.search(r"the ratio (\d+/\d+)", words(q))
        assert needed
        return Fraction(needed[1])

    def right(q: Exercise) -> list[Any]:
        return [form for sides in every_train(box(q), ratio(q), 2) for form in in_forms(sides)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        lone = [("how many pairs", sides) for sides in every_train(box(q), ratio(q), 1)]
        added = [
            ("pairs added", ((a, b), (c, d)))
            for a, c, b, d in combinations(sorted(box(q)), 4)
            if Fraction(a, c) + Fraction(b, d) == ratio(q)
        ]
        two = [(name, given) for name, given in train_slips(q, ratio(q)) if name != "upside down" or len(given[0]) == 2]
        return [*two, *lone, *added]

    return Case(right, slips, lambda q: written(next(every_train(box(q), ratio(q), 2))))


def another_train_same_lead() -> Case:
    def known(q: Exercise) -> Sides:
        a, b, c, d = forgotten_pair_plan(q)
        return (a, b), (c, d)

    def forgotten_pair_plan(q: Exercise) -> tuple[int, ...]:
        plan = re.search(r"\((\d+) · (\d+)\)/\((\d+) · (\d+)\)", words(q))
        assert plan
        return tuple(map(int, plan.groups()))

    def ratio(q: Exercise) -> Fraction:
        drivers, driven = known(q)
        return Fraction(prod(drivers), prod(driven))

    def right(q: Exercise) -> list[Any]:
        found = [sides for pairs in (1, 2) for sides in every_train(box(q), ratio(q), pairs)]
        others = [sides for sides in found if [*map(sorted, sides)] != [*map(sorted, known(q))]]
        return [form for sides in others[:4] for form in in_forms(sides)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        drivers, driven = known(q)
        again = [("the same gears again", known(q)), ("the same gears again", (drivers[::-1], driven))]
        return [*again, ("upside down", (driven, drivers)), *train_slips(q, ratio(q))[:1]]

    return Case(right, slips, lambda q: "nothing to reveal but a train")


def one_wrong_row() -> Case:
    def wrong_rows(q: Exercise) -> tuple[list[str], dict[str, str]]:
        ratios = {name: Fraction(turns) for name, turns in re.findall(r"(low|middle|high) ([\d/]+)[,.]", words(q))}
        assert q.task.table is not None
        wrong, levers = [], {}
        for thread, train, lever in q.task.table.rows:
            over, under = (prod(map(int, re.findall(r"\d+", side))) for side in train.split("/"))
            if leadscrew(q) * over / under * ratios[lever] != lead_said(thread):
                wrong.append(thread)
            levers[thread] = lever
        return wrong, levers

    def right(q: Exercise) -> list[Any]:
        (row,), _ = wrong_rows(q)
        return [row, row.upper(), row.replace(" ", ""), row.removesuffix(" tpi")]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        (row,), levers = wrong_rows(q)
        alone = re.search(r"(\w+) 1[,.]", words(q))
        assert alone
        return [
            ("a right row" if lever == alone[1] else "lever overlooked", thread)
            for thread, lever in levers.items()
            if thread != row
        ]

    return Case(right, slips, lambda q: right(q)[0])


CASES = {
    "threads-from-two-pairs": threads_from_two_pairs(),
    "forgotten-pair": forgotten_pair(),
    "split-a-ratio": split_a_ratio(),
    "another-train-same-lead": another_train_same_lead(),
    "one-wrong-row": one_wrong_row(),
}
