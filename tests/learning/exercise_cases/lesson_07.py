"""Lesson 07 worked a second time."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import permutations
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import INCH, Case, number, whole, words, written


def module(q: Exercise) -> Fraction:
    pitch = re.search(r"of ([\d.]+) DP", words(q))
    return INCH / Fraction(pitch[1]) if pitch else number(q, r"module ([\d.]+) mm")


def in_mm(x: float, unit: str = "mm") -> list[Any]:
    return [x, f"{x:.6f}", f"{x:.4f} {unit}", f" {round(x, 5)} "]


def how_far_apart() -> Case:
    def pair(q: Exercise) -> tuple[int, int]:
        return whole(q, r", a (\d+) and"), whole(q, r"and a (\d+),")

    def apart(q: Exercise) -> Fraction:
        return module(q) * sum(pair(q)) / 2

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        found: list[tuple[str, Any]] = [
            ("diameters added", 2 * apart(q)),
            ("tips for pitch circles", apart(q) + 2 * module(q)),
            ("the difference", module(q) * abs(pair(q)[0] - pair(q)[1]) / 2),
        ]
        if module(q) not in (1, 2):
            found += [("module forgotten", Fraction(sum(pair(q)), 2)), ("teeth added", sum(pair(q)))]
        if " DP" in words(q):
            found.append(("in inches", round(float(apart(q) / INCH), 4)))
            found.append(("DP for the module", Fraction(whole(q, r"of (\d+) DP") * sum(pair(q)), 2)))
        return found

    return Case(lambda q: [apart(q), *in_mm(float(apart(q)))], slips, lambda q: f"{float(apart(q)):g}")


def tangent(q: Exercise) -> float:
    return math.tan(math.radians(number(q, r"([\d.]+)°")))


def open_the_mesh() -> Case:
    def play(q: Exercise) -> float:
        return float(number(q, r"want ([\d.]+) mm"))

    def apart(q: Exercise) -> float:
        return play(q) / 2 / tangent(q)

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        other = math.tan(math.radians(14.5 if "20°" in words(q) else 20))
        return [
            ("backlash for distance", play(q)),
            ("one flank only", 2 * apart(q)),
            ("times instead of over", 2 * play(q) * tangent(q)),
            ("the other pressure angle", play(q) / 2 / other),
        ]

    return Case(lambda q: [*in_mm(apart(q)), f"{apart(q):.2f}"], slips, lambda q: f"{apart(q):.2f}")


def what_the_strip_leaves() -> Case:
    def strip(q: Exercise) -> float:
        return float(number(q, r"paper ([\d.]+) mm"))

    def cosine(q: Exercise) -> float:
        return math.cos(math.atan(tangent(q)))

    def left(q: Exercise) -> float:
        return 2 * strip(q) / cosine(q)

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        return [
            ("the strip once", strip(q)),
            ("one flank", left(q) / 2),
            ("cos forgotten", 2 * strip(q)),
            ("cos the wrong way", 2 * strip(q) * cosine(q)),
            ("the other pressure angle", 2 * strip(q) / math.cos(math.radians(14.5 if "20°" in words(q) else 20))),
            ("tan for cos", 2 * strip(q) * tangent(q)),
            ("tan for cos", 2 * strip(q) * tangent(q) * cosine(q)),
            ("tan for cos", 2 * strip(q) / tangent(q)),
            ("the distance", left(q) / 2 / tangent(q)),
        ]

    return Case(lambda q: [*in_mm(left(q)), f"{left(q):.3f}"], slips, lambda q: f"{left(q):.3f}")


def sides(text: str) -> tuple[list[int], list[int]]:
    over, under = (list(map(int, re.findall(r"\d+", side))) for side in text.split("/"))
    return over, under


def margins(over: list[int], under: list[int]) -> tuple[int, int]:
    (first, third), (second, fourth) = over, under
    return first + second - third, third + fourth - second


def ask_the_rule() -> Case:
    def rows(q: Exercise, test: Any) -> list[int]:
        assert q.task.table is not None
        return [int(row) for row, train in q.task.table.rows if test(*margins(*sides(train)))]

    def good(q: Exercise) -> list[int]:
        return rows(q, lambda one, two: one > 15 and two > 15)

    def right(q: Exercise) -> list[Any]:
        said = [str(row) for row in good(q)]
        return [good(q), set(good(q)), ", ".join(said), " and ".join(said), f"rows {' '.join(said)}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        found = [
            ("first half only", rows(q, lambda one, two: one > 15)),
            ("second half only", rows(q, lambda one, two: two > 15)),
            ("without the 15", rows(q, lambda one, two: one > 0 and two > 0)),
        ]
        at_least = rows(q, lambda one, two: one >= 15 and two >= 15)
        return found if at_least == good(q) else [*found, ("as many", at_least)]

    return Case(right, slips, lambda q: "These pass: " + " and ".join(map(str, good(q))))


def a_rule_of_your_own() -> Case:
    def k(q: Exercise, across: Fraction | None = None, clear: Fraction | None = None, tips: int = 1) -> Fraction:
        across = number(q, r"are ([\d.]+) mm across") if across is None else across
        clear = number(q, r"at least ([\d.]+) mm") if clear is None else clear
        return (tips * module(q) + across / 2 + clear) / (module(q) / 2)

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        across = number(q, r"are ([\d.]+) mm across")
        return [
            ("diameter for radius", k(q, across=2 * across)),
            ("tips forgotten", k(q, tips=0)),
            ("clearance forgotten", k(q, clear=Fraction(0))),
            ("half of it", k(q) / 2),
            ("the shop's own", 15),
        ]

    return Case(lambda q: [k(q), float(k(q)), f"{float(k(q)):.3f} teeth"], slips, lambda q: f"{float(k(q)):.2f}")


def does_it_clear() -> Case:
    def gap(q: Exercise, *, tips: int = 1, shaft: Fraction = Fraction(1, 2), meshing: bool = False) -> Fraction:
        over, under = sides(re.search(r"train \((.+?)\) stands", words(q).replace(")/(", "/"))[1])  # type: ignore[index]
        apart = module(q) * (over[1] + under[1]) / 2
        reach = module(q) * (Fraction(over[1] if meshing else under[0], 2) + tips)
        return apart - reach - shaft * whole(q, r"is (\d+) mm across")

    def right(q: Exercise) -> list[Any]:
        x = float(gap(q))
        return [gap(q), x, f"{x:+.3f} mm", f"{x:+.4f}".replace("-", "−")]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        return [
            ("wrong sign", -gap(q)),
            ("tips forgotten", gap(q, tips=0)),
            ("shaft forgotten", gap(q, shaft=Fraction(0))),
            ("diameter for radius", gap(q, shaft=Fraction(1))),
            ("the other gear", gap(q, meshing=True)),
        ]

    return Case(right, slips, lambda q: f"{float(gap(q)):+.3f}".replace("-", "−"))


def an_idler_that_reaches() -> Case:
    def reaches(q: Exercise, idlers: Fraction) -> bool:
        one, other = whole(q, r"A (\d+) on the spindle side"), whole(q, r"turn a (\d+) on the last shaft")
        return module(q) * (Fraction(one + other, 2) + idlers) >= number(q, r"([\d.]+) mm away")

    def smallest(q: Exercise, times: Fraction = Fraction(1)) -> int | None:
        return min((gear for gear in gears(q) if reaches(q, gear * times)), default=None)

    def gears(q: Exercise) -> list[int]:
        return [int(teeth) for teeth in re.search(r"In the box are ([\d, ]+)\.", words(q))[1].split(", ")]  # type: ignore[index]

    def right(q: Exercise) -> list[Any]:
        return [smallest(q), str(smallest(q)), f"{smallest(q)} teeth", float(smallest(q) or 0)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        once = smallest(q, Fraction(1, 2))
        larger = [gear for gear in gears(q) if gear > (smallest(q) or 0) and gear != once]
        return [
            ("too short", min(gears(q))),
            ("not in the box", 999),
            ("counted once", once),
            *(("larger than needed", gear) for gear in larger),
        ]

    return Case(right, slips, lambda q: f"the {smallest(q)} reaches")


def another_order() -> Case:
    def given(q: Exercise) -> tuple[list[int], list[int]]:
        return sides(re.search(r"The train (.+?) fails", words(q))[1])  # type: ignore[index]

    def orders(q: Exercise) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
        over, under = given(q)
        return [(one, other) for one in permutations(over) for other in permutations(under)]

    def passes(order: tuple[tuple[int, ...], tuple[int, ...]]) -> bool:
        return min(margins(list(order[0]), list(order[1]))) > 15

    def right(q: Exercise) -> list[Any]:
        return [form for order in orders(q) if passes(order) for form in (order, written(order))]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        over, under = map(tuple, given(q))
        found: list[tuple[str, Any]] = [
            ("as it stood", (over, under)),
            ("upside down", (under, over)),
            ("other gears", ((998, 997), (996, 995))),
        ]
        for order in orders(q):
            if not passes(order) and order != (over, under):
                first, _ = margins(list(order[0]), list(order[1]))
                found.append(("first half fails" if first <= 15 else "second half fails", order))
        return found

    return Case(right, slips, lambda q: written(next(order for order in orders(q) if passes(order))))


CASES = {
    "how-far-apart": how_far_apart(),
    "open-the-mesh": open_the_mesh(),
    "what-the-strip-leaves": what_the_strip_leaves(),
    "ask-the-rule": ask_the_rule(),
    "a-rule-of-your-own": a_rule_of_your_own(),
    "does-it-clear": does_it_clear(),
    "an-idler-that-reaches": an_idler_that_reaches(),
    "another-order": another_order(),
}
