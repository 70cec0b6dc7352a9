"""Lesson 04 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import combinations
from math import prod
from typing import Any

import sympy
from sympy.ntheory.continued_fraction import continued_fraction, continued_fraction_convergents

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import (
    Case,
    Sides,
    box,
    every_train,
    in_forms,
    lead_said,
    leadscrew,
    whole,
    words,
    written,
)

STOOD_IN_FOR = Fraction(127, 100)


def ppm_off(ratio: Fraction, wanted: Fraction) -> Fraction:
    return (ratio - wanted) / wanted * 10**6


def near_trains(gears: list[int], wanted: float, ppm: float) -> list[Sides]:
    """Brute force: trains of one or two pairs within so many ppm."""
    found = []
    for pairs in (1, 2):
        sides = [(prod(chosen), chosen) for chosen in combinations(gears, pairs)]
        for over, drivers in sides:
            for under, driven in sides:
                if abs(over / under / wanted - 1) * 10**6 <= ppm and not set(drivers) & set(driven):
                    found.append((drivers, driven))
    return found


def ppm_of_a_near_miss() -> Case:
    """What the leadscrew then cuts, set against what it should cut."""

    def error(q: Exercise) -> Fraction:
        pair = re.search(r"put (\d+) driving (\d+) in its place", words(q))
        wanted = re.search(r"cut ([\d.]+ mm) exactly", words(q))
        assert pair
        assert wanted
        assert leadscrew(q) * 100 / 127 == lead_said(wanted[1])
        return ppm_off(leadscrew(q) * int(pair[1]) / int(pair[2]), lead_said(wanted[1]))

    def right(q: Exercise) -> list[Any]:
        ppm = error(q)
        side = "too long" if ppm > 0 else "too short"
        return [
            ppm,
            float(ppm),
            round(float(ppm), 1),
            f"{float(ppm):.1f} ppm",
            f"{float(ppm):+.0f}".replace("-", "−"),
            f"{abs(float(ppm)):.0f} ppm {side}",
            sympy.Rational(ppm.numerator, ppm.denominator),
        ]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        ppm = error(q)
        turned_over = 10**6 * (1 / (1 + ppm / 10**6) - 1)
        found = [
            ("the other way round", turned_over),
            ("not divided", ppm * 100 / 127),
            ("per mille", ppm / 1000),
            ("per cent", ppm / 10_000),
            ("a plain share", ppm / 10**6),
            ("over what is cut", -turned_over),
            ("over what is cut", round(float(-turned_over))),
        ]
        return [*found, ("wrong sign", -ppm)]

    return Case(right, slips, lambda q: f"{float(error(q)):.0f}")


def next_convergent() -> Case:
    """sympy's continued fractions say what comes next."""

    def read(q: Exercise) -> tuple[Fraction, int]:
        wanted = re.search(r"walk to (\d+/\d+) makes runs of ([\d, ]+) steps", words(q))
        assert wanted
        target = Fraction(wanted[1])
        assert [int(count) for count in wanted[2].split(", ")] == continued_fraction(sympy.Rational(wanted[1]))
        return target, whole(q, r"run (\d+) at [\d/]+\.")

    def known(q: Exercise) -> list[Fraction]:
        target, _ = read(q)
        digits = continued_fraction(sympy.Rational(target.numerator, target.denominator))
        return [Fraction(int(near.p), int(near.q)) for near in continued_fraction_convergents(digits)]

    def right(q: Exercise) -> list[Any]:
        near = known(q)[read(q)[1]]
        top, bottom = near.as_integer_ratio()
        assert near not in known(q)[: read(q)[1]]
        return [near, f"{top}/{bottom}", f"{2 * top}/{2 * bottom}", sympy.Rational(top, bottom)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        target, taken = read(q)
        near = known(q)
        before, last, here, after = near[taken - 2 : taken + 2]
        mediant = Fraction(before.numerator + last.numerator, before.denominator + last.denominator)
        second = Fraction(mediant.numerator + last.numerator, mediant.denominator + last.denominator)
        found: list[tuple[str, Any]] = [
            ("one step only", mediant),
            ("upside down", 1 / here),
            ("given already", last),
            ("given already", before),
            ("the number itself", target),
            ("rounded", round(float(here), 9)),
        ]
        if after != target:
            found.insert(0, ("one too far", after))
        if Fraction(str(round(float(here), 9))) == here:
            found.pop()
        return found if second == here else [*found, ("stopped on the way", second)]

    return Case(right, slips, lambda q: str(known(q)[read(q)[1]]))


def beat_200_ppm() -> Case:
    def right(q: Exercise) -> list[Any]:
        found = near_trains(box(q), 1.27, 199.9)
        assert len(found) >= 2
        return [form for sides in found[:6] for form in in_forms(sides)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        drivers, driven = near_trains(box(q), 1.27, 199.9)[0]
        gears = box(q)
        return [
            ("upside down", (driven, drivers)),
            ("not in the box", "127/100"),
            ("one gear used twice", ((gears[0], gears[0]), (gears[1], gears[2]))),
            *[("one pair forgotten", ((80, gears[0]), (63, gears[-1]))) for _ in (1,) if {80, 63} <= {*gears[1:-1]}],
        ]

    def boxed(q: Exercise) -> list[int]:
        return box(q)

    return Case(right, slips, lambda q: written(near_trains(boxed(q), 1.27, 199.9)[0]))


def what_would_make_it_exact() -> Case:
    """Every gear from 20 to 127 is tried with every one and two pairs from the box."""

    def ratio(q: Exercise) -> Fraction:
        wanted = re.search(r"cuts ([\d.]+ (?:tpi|mm)) exactly", words(q))
        assert wanted
        return lead_said(wanted[1]) / leadscrew(q)

    def gears_of(q: Exercise) -> list[int]:
        listed = re.search(r"one each of ([\d, ]+), and no train", words(q))
        assert listed
        return [int(teeth) for teeth in listed[1].split(", ")]

    def serves(q: Exercise, teeth: int) -> bool:
        return any(next(every_train([*gears_of(q), teeth], ratio(q), pairs), None) for pairs in (1, 2))

    def useful(q: Exercise) -> list[int]:
        missing = [
            p
            for p in sympy.primefactors(ratio(q).denominator * ratio(q).numerator)
            if all(teeth % p for teeth in gears_of(q))
        ]
        assert missing, "a train of the box alone would do it"
        return [teeth for teeth in range(20, 128) if not teeth % missing[0] and serves(q, teeth)]

    def right(q: Exercise) -> list[Any]:
        return [form for teeth in useful(q) for form in (teeth, f"{teeth} teeth", Fraction(teeth), float(teeth))]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        (prime,) = [
            p
            for p in (7, 11, 13, 19, 127)
            if not (ratio(q).denominator * ratio(q).numerator) % p and all(teeth % p for teeth in gears_of(q))
        ]
        idle = [teeth for teeth in range(prime, 128, prime) if teeth >= 20 and teeth not in useful(q)]
        return [
            ("near is not equal", next(n for n in range(126, 20, -1) if n % prime and n not in gears_of(q))),
            ("in the box already", gears_of(q)[0]),
            ("not to be had", 10 * useful(q)[0]),
            *[("no partner", teeth) for teeth in idle],
        ]

    return Case(right, slips, lambda q: f"a {useful(q)[0]}")


def the_better_stand_in() -> Case:
    def errors(q: Exercise) -> dict[str, Fraction]:
        pairs = re.findall(r"\d+/\d+", words(q).partition("127/100")[2].partition("Answer")[0])
        assert len(pairs) == 4
        return {pair: ppm_off(Fraction(pair), STOOD_IN_FOR) for pair in pairs}

    def best(q: Exercise) -> str:
        return min(errors(q), key=lambda pair: abs(errors(q)[pair]))

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        large = max(errors(q), key=lambda pair: sum(map(int, pair.split("/"))))
        low = min(errors(q), key=lambda pair: errors(q)[pair])
        named = dict.fromkeys(errors(q), "a worse one") | {low: "sign taken for size"} | {large: "largest gears"}
        return [(name, pair) for pair, name in named.items() if pair != best(q)]

    return Case(lambda q: [best(q), f" {best(q)} ", Fraction(best(q))], slips, best)


CASES = {
    "ppm-of-a-near-miss": ppm_of_a_near_miss(),
    "next-convergent": next_convergent(),
    "beat-200-ppm": beat_200_ppm(),
    "what-would-make-it-exact": what_would_make_it_exact(),
    "the-better-stand-in": the_better_stand_in(),
}
