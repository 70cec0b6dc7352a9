"""Lesson 01 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from math import prod
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import (
    INCH,
    Case,
    box,
    every_train,
    forms,
    in_forms,
    lead_said,
    leadscrew,
    train_slips,
    whole,
    words,
    written,
)


def lead_of_a_leadscrew() -> Case:
    def tpi(q: Exercise) -> Fraction:
        found = re.search(r"has ([\d /]+) threads per inch", words(q))
        assert found
        return sum(map(Fraction, found[1].split()), Fraction(0))

    return Case(
        lambda q: [
            *forms(INCH / tpi(q)),
            f"25.4/({tpi(q)})",
            f"25,4 / {float(tpi(q))} mm",
            f"{1 / tpi(q)} in",
            round(25.4 / float(tpi(q)), 3),
        ],
        lambda q: [
            ("upside down", tpi(q) / INCH),
            ("left in inches", str(1 / tpi(q))),
            ("multiplied", INCH * tpi(q)),
            ("25 for 25.4", float(25 / tpi(q))),
            ("25 for 25.4", f"{25 / float(tpi(q)):.2f}"),
            ("tpi for lead", float(tpi(q))),
            ("rounding", round(25.4 / float(tpi(q)) * 1.002, 3)),
        ],
        lambda q: f"{25.4 / float(tpi(q)):.3f}".rstrip("0"),
    )


def pitch_and_lead() -> Case:
    def read(q: Exercise) -> tuple[int, Fraction]:
        pitch = re.search(r"pitch of ([\d.]+) mm", words(q))
        assert pitch
        return whole(q, r"(\d) starts"), Fraction(pitch[1])

    return Case(
        lambda q: [*forms(prod(read(q))), f"{float(prod(read(q)))} mm"],
        lambda q: [
            ("starts forgotten", read(q)[1]),
            ("divided by the starts", read(q)[1] / read(q)[0]),
            ("in inches", float(prod(read(q)) / INCH)),
        ],
        lambda q: f"{float(prod(read(q))):g} mm",
    )


def threads_from_one_pair() -> Case:
    def read(q: Exercise) -> tuple[int, int, int]:
        return whole(q, r"driver has (\d+) teeth"), whole(q, r"driven gear (\d+)"), whole(q, r"idler of (\d+)")

    def right(q: Exercise) -> list[Any]:
        driver, driven, _ = read(q)
        tpi = Fraction(8 * driven, driver)
        return [*forms(tpi), f"{float(tpi):g} tpi", int(tpi), f"{tpi} threads per inch"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        driver, driven, idler = read(q)
        return [
            ("upside down", Fraction(8 * driver, driven)),
            ("idler counted in", Fraction(8 * idler, driver)),
            ("idler counted in", Fraction(8 * driven, idler)),
            ("lead for tpi", INCH / 8 * driver / driven),
            ("ratio only", Fraction(driver, driven)),
        ]

    return Case(right, slips, lambda q: f"{right(q)[0]} tpi")


def find_the_driven_gear() -> Case:
    def read(q: Exercise) -> tuple[Fraction, int]:
        wanted = re.search(r"You want ([\d.]+ mm)", words(q))
        assert wanted
        return lead_said(wanted[1]), whole(q, r"driver of (\d+) teeth")

    def right(q: Exercise) -> list[Any]:
        wanted, driver = read(q)
        teeth = driver * leadscrew(q) / wanted
        assert teeth.denominator == 1
        return [int(teeth), *forms(teeth), f"{teeth} teeth", f"{teeth}t"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        wanted, driver = read(q)
        return [
            ("upside down", driver * wanted / leadscrew(q)),
            ("upside down", round(driver * wanted / leadscrew(q))),  # a gear has whole teeth
            ("ratio for gear", wanted / leadscrew(q)),
            ("leadscrew forgotten", driver / wanted),
        ]

    return Case(right, slips, lambda q: f"{right(q)[0]} teeth")


def which_way_round() -> Case:
    other = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    short = {"clockwise": "cw", "anticlockwise": "Counter-Clockwise"}

    def way(q: Exercise) -> str:
        idlers = re.search(r"through (\d) idler", words(q))
        first = re.search(r"turns (clockwise|anticlockwise)", words(q))
        assert first
        turned = (int(idlers[1]) if idlers else 0) + 1
        return other[first[1]] if turned % 2 else first[1]

    return Case(
        lambda q: [way(q), way(q).upper(), f"  {way(q)} ", short[way(q)]],
        lambda q: [("one mesh missed", other[way(q)]), ("sizes counted", "It depends on the teeth")],
        lambda q: f" {way(q)} ",
    )


def what_the_lever_does() -> Case:
    def read(q: Exercise) -> tuple[Fraction, Fraction, Fraction]:
        ratios = {name: Fraction(turns) for name, turns in re.findall(r"(low|middle|high) ([\d/]+)[,.]", words(q))}
        before, after = re.search(r"lever at (\w+)", words(q)), re.search(r"lever to (\w+)", words(q))
        cuts = re.search(r"the lathe cuts ([^.]+)\.", words(q))
        assert before
        assert after
        assert cuts
        return lead_said(cuts[1]), ratios[before[1]], ratios[after[1]]

    def right(q: Exercise) -> list[Any]:
        lead, before, after = read(q)
        lead = lead / before * after
        return [f"{INCH / lead} tpi", f"{INCH / lead}TPI", f"{float(lead):.4f} mm", f"lead {1 / (INCH / lead)} in"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        lead, before, after = read(q)
        found = [
            ("lever the wrong way", f"{INCH / (lead * before / after)} tpi"),
            ("lever overlooked", f"{INCH / lead} tpi"),
            ("lever counted twice", f"{INCH / (lead * after**2 / before**2)} tpi"),
        ]
        return found if before == 1 else [*found, ("lever taken alone", f"{INCH / (lead * after)} tpi")]

    return Case(right, slips, lambda q: right(q)[0])


def one_pair_for_a_thread() -> Case:
    def ratio(q: Exercise) -> Fraction:
        wanted = re.search(r"that cut (.+?)\. Any", words(q))
        assert wanted
        return lead_said(wanted[1]) / leadscrew(q)

    def right(q: Exercise) -> list[Any]:
        return [form for sides in every_train(box(q), ratio(q), 1) for form in in_forms(sides)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        found = [(name, given) for name, given in train_slips(q, ratio(q)) if len(given[0]) == 1]
        return [*found, ("how many pairs", next(every_train(box(q), ratio(q), 2), ((20, 30), (40, 60))))]

    return Case(right, slips, lambda q: written(next(every_train(box(q), ratio(q), 1))))


CASES = {
    "lead-of-a-leadscrew": lead_of_a_leadscrew(),
    "pitch-and-lead": pitch_and_lead(),
    "threads-from-one-pair": threads_from_one_pair(),
    "find-the-driven-gear": find_the_driven_gear(),
    "which-way-round": which_way_round(),
    "what-the-lever-does": what_the_lever_does(),
    "one-pair-for-a-thread": one_pair_for_a_thread(),
}
