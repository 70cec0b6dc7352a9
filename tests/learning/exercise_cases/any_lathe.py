"""Exercises asked about any lathe, worked a second time from the words of the question alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from math import pi, prod
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import INCH, lead_said, said, whole, words


def one_turn(q: Exercise) -> Fraction:
    """How far the carriage goes for one turn of the spindle, in mm, where the gears make a ratio of 1."""
    screw = lead_said(said(q, r"has a leadscrew (?:of|with a lead of) (\S+(?: \d/\d)? (?:tpi|mm))"))
    turns = re.findall(r"turns (\S+) times (?:as often|while)", words(q))
    return screw * prod(map(Fraction, turns))


def lead_of(text: str) -> Fraction:
    return lead_said(re.sub(r"^module (.*)", r"\1 mm", text))


def pair(q: Exercise, driver: str, driven: str) -> Fraction:
    return Fraction(whole(q, driver), whole(q, driven))


def in_two_units(lead: Fraction) -> list[Any]:
    return [f"{float(lead):.6f} mm", f"{float(INCH / lead):.6f} tpi", f"{lead} mm"]


def threads_from_one_pair(q: Exercise) -> list[Any]:
    return in_two_units(one_turn(q) * pair(q, r"driver of (\d+) teeth", r"driven gear of (\d+)"))


def forgotten_pair(q: Exercise) -> list[Any]:
    return in_two_units(one_turn(q) * pair(q, r"first driver, (\d+)", r"last gear, (\d+)"))


def the_ratio_with_127(q: Exercise) -> list[Any]:
    ratio = lead_of(said(q, r"You want (.+?)\. Which")) / one_turn(q)
    return [ratio, f"{ratio.numerator}/{ratio.denominator}"]


def ppm_of_a_near_miss(q: Exercise) -> list[Any]:
    cut = one_turn(q) * pair(q, r"A driver of (\d+)", r"driven gear of (\d+)")
    ppm = (cut / lead_of(said(q, r"is to cut (.+?), or nearly")) - 1) * 10**6
    return [ppm, round(ppm), f"{round(float(ppm))} ppm"]


def how_far_out(q: Exercise) -> list[Any]:
    ppm = Fraction("".join(said(q, r"error of ([+−][\d\s]+) ppm").replace("−", "-").split()))
    return [ppm * whole(q, r"out over (\d+) mm") / 1000]


def fraction_for_pi(q: Exercise) -> list[Any]:
    """The nearest of all fractions without too large a number, each tried."""
    ratio, most = pi * lead_of(said(q, r"A worm of (module \S+)")) / one_turn(q), whole(q, r"no number above (\d+)")
    tops = ((round(ratio * bottom), bottom) for bottom in range(1, most + 1))
    nearest = min((abs(top / bottom - ratio), top, bottom) for top, bottom in tops if 0 < top <= most)
    assert said(q, r"(?:that becomes|for it is) (\S+)\.") == str(Fraction(22, 7) * coefficient(q))
    return [f"{nearest[1]}/{nearest[2]}"]


def coefficient(q: Exercise) -> Fraction:
    return Fraction(lead_of(said(q, r"A worm of (module \S+)")) / one_turn(q))


ON_ANY_LATHE: dict[str, Callable[[Exercise], list[Any]]] = {
    "threads-from-one-pair": threads_from_one_pair,
    "forgotten-pair": forgotten_pair,
    "the-ratio-with-127": the_ratio_with_127,
    "ppm-of-a-near-miss": ppm_of_a_near_miss,
    "how-far-out": how_far_out,
    "fraction-for-pi": fraction_for_pi,
}
