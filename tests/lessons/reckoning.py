"""Plain arithmetic by which the claims of the lessons are settled: no part of the package reckons here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations
from math import hypot, prod, radians, tan

SCREW = Fraction("25.4") / 8  # of the inch lathe, as all that follows, mm
LEVERS = (Fraction(1, 2), Fraction(1), Fraction(2))
MODULE = 1.25
ACROSS, UP = -50, 94  # from the pivot to its spindle side, mm
APART = hypot(ACROSS, UP)
PLAY = 0.2 / (2 * tan(radians(20)))


def reads(shown: str, value: float | Fraction) -> bool:
    """Whether a value, rounded as what is shown is rounded, reads like that."""
    places = len(shown.partition(".")[2])
    return abs(Fraction(value) - Fraction(shown)) <= Fraction(1, 2 * 10**places) + Fraction(1, 10**12)


def ppm(cut: float | Fraction, wanted: float | Fraction) -> float:
    """How far off, in millionths of what was wanted."""
    return float((cut - wanted) / wanted * 10**6)


def trains(teeth: Sequence[int], pairs: int) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Drivers and driven of every way to take so many pairs from the box; a gear owned twice makes two ways."""
    places = range(len(teeth))
    for drivers in combinations(places, pairs):
        above = tuple(teeth[place] for place in drivers)
        for driven in combinations([place for place in places if place not in drivers], pairs):
            yield above, tuple(teeth[place] for place in driven)


def is_prime(number: int) -> bool:
    """Whether only 1 and itself divide it, by trying every number between."""
    return all(number % below for below in range(2, number))


def centres(one: int, other: int) -> float:
    """From shaft to shaft of two gears of the inch lathe without play, mm."""
    return MODULE * (one + other) / 2


def ratio(drivers: Sequence[int], driven: Sequence[int]) -> Fraction:
    """Drivers over driven."""
    return Fraction(prod(drivers), prod(driven))


def path_to(target: Fraction) -> list[Fraction]:
    """Every mediant on the walk from 0/1 and 1/0 to a fraction."""
    (a, b), (c, d) = (0, 1), (1, 0)
    path = []
    while not path or path[-1] != target:
        path.append(Fraction(a + c, b + d))
        if path[-1] < target:
            a, b = a + c, b + d
        else:
            c, d = a + c, b + d
    return path


def best_by_denominator(target: float | Fraction, most: int) -> list[Fraction]:
    """Each fraction that is nearer than all with fewer below the line, by trying every number there."""
    found: list[Fraction] = []
    for below in range(1, most + 1):
        above = int(target * below)
        near = min((Fraction(above, below), Fraction(above + 1, below)), key=lambda each: abs(each - target))
        if not found or abs(near - target) < abs(found[-1] - target):
            found.append(near)
    return found
