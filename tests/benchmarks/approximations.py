"""Fractions near π: best_fractions, near_fractions and convergents against Fraction.limit_denominator and sympy.

All best fractions to a largest denominator: limit_denominator asked for each denominator in turn; each denominator
tried, in plain Python. The first convergents: sympy's continued fraction of π and the convergents that it makes of it.
π in the rivals that want a fraction is sympy's, to 60 digits.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from itertools import islice

import gearcalc as gc
from tests.benchmarks.rivalry import Limit, Rivalry, Way, same


@cache
def pi() -> Fraction:
    """π to 60 digits, from elsewhere than our own bounds of it."""
    import sympy

    return Fraction(str(sympy.pi.evalf(60)))


def by_limit_denominator(largest: int) -> list[Fraction]:
    """Of each largest denominator the nearest fraction, each once."""
    wanted = pi()
    return list(dict.fromkeys(wanted.limit_denominator(denominator) for denominator in range(1, largest + 1)))


def by_trying(largest: int) -> list[Fraction]:
    """Each denominator with the numerator nearest, kept where it is nearer than all before."""
    wanted, off, found = pi(), Fraction(1), []
    top, bottom = wanted.as_integer_ratio()
    for denominator in range(1, largest + 1):
        numerator = (2 * top * denominator + bottom) // (2 * bottom)
        miss = abs(Fraction(numerator, denominator) - wanted)
        if miss < off:
            off = miss
            found.append(Fraction(numerator, denominator))
    return found


def by_sympy(count: int) -> list[Fraction]:
    """Sympy's first convergents."""
    from sympy import pi as sympys_pi
    from sympy.ntheory.continued_fraction import continued_fraction_convergents, continued_fraction_iterator

    found = continued_fraction_convergents(continued_fraction_iterator(sympys_pi))
    return [Fraction(int(each.p), int(each.q)) for each in islice(found, count)]


def best_ways(largest: int) -> list[Way]:
    def best() -> list[Fraction]:
        return [near.fraction for near in gc.best_fractions("pi", max_denominator=largest)]

    def near() -> list[Fraction]:
        return [near.fraction for near in gc.near_fractions("pi", largest) if near.is_best]

    return [
        Way("best_fractions", best, cold=True, ours=True),
        Way("near_fractions", near, same, cold=True, ours=True),
        Way("each denominator tried", lambda: by_trying(largest), same, largest, ready=pi),
        Way("limit_denominator at each", lambda: by_limit_denominator(largest), same, largest, ready=pi),
    ]


def convergent_ways(count: int) -> list[Way]:
    return [
        Way("convergents", lambda: list(gc.convergents("pi", count)), cold=True, ours=True),
        Way("sympy", lambda: by_sympy(count), same, count, ready=lambda: by_sympy(2)),
    ]


def limit(_: int, answer: Sequence[Fraction]) -> Limit:
    """The digits of the answer are written once."""
    digits = sum(len(str(each)) for each in answer)
    return Limit(f"{digits:,} digits written, of {len(answer)} fractions", digits, len(answer))


RIVALRIES = (
    Rivalry(
        "approximation",
        "best fractions",
        "All best fractions of π up to a denominator",
        "denominator",
        (10, 100, 1000, 10_000, 100_000, 1_000_000),
        (10, 100),
        best_ways,
        limit,
    ),
    Rivalry(
        "approximation",
        "convergents",
        "The first convergents of π",
        "convergents",
        (5, 10, 20, 40, 80, 160, 320),
        (5, 10),
        convergent_ways,
        limit,
    ),
)
