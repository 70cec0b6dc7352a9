"""How close a gear set comes to any lead: coverage() against the plain way, and the same in numpy.

Invented lathe: 3 mm leadscrew, a lever of two positions, trains of 1 or 2 meshes, leads from 0.5 to 6 mm. The plain way
writes out every train and keeps each lead as a fraction; numpy makes one array of all trains, brings each to lowest
terms, and sorts. All three count the leads that differ and find the widest gap between two of them, exactly.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise
from math import comb, prod

import numpy as np

import gearcalc as gc
from gearcalc.finding.coverage import Coverage
from tests.benchmarks.rivalry import Limit, Rivalry, Way, same

FROM, TO = Fraction(1, 2), Fraction(6)
MESHES, LEVERS = (1, 2), (Fraction(1, 2), Fraction(1))
LEAD = 3


def a_lathe(gears: range) -> gc.Lathe:
    return gc.Lathe.from_toml(
        f'name = "Many gears"\nleadscrew.lead = "{LEAD} mm"\ngears.teeth = {[*gears]}\n'
        'gearbox = [{ lever = "a", ratio = "1/2" }, { lever = "b", ratio = 1 }]'
    )


def by_writing_out(gears: range) -> tuple[int, Fraction]:
    """How many leads in the range, and the widest gap between two of them, a share of the lead half-way."""
    leads = set()
    for meshes in MESHES:
        for drivers in combinations(gears, meshes):
            for driven in combinations(gears, meshes):
                if set(drivers).isdisjoint(driven):
                    ratio = Fraction(prod(drivers), prod(driven))
                    leads |= {LEAD * lever * ratio for lever in LEVERS}
    inside = sorted(lead for lead in leads if FROM <= lead <= TO)
    return len(inside), max((b - a) / (a + b) for a, b in pairwise(inside))


def by_numpy(gears: range) -> tuple[int, Fraction]:
    """The same in whole numbers of 64 bits: top and bottom in lowest terms, both in one number, each once."""
    found = []
    for meshes in MESHES:
        sides = list(combinations(gears, meshes))
        products = np.array([prod(side) for side in sides], dtype=np.int64)
        standing = np.array([[teeth in side for teeth in gears] for side in sides], dtype=np.float32)
        over, under = np.nonzero(standing @ standing.T == 0)
        for lever in LEVERS:
            tops, bottoms = products[over] * LEAD * lever.numerator, products[under] * lever.denominator
            within = (tops * FROM.denominator >= bottoms * FROM.numerator) & (tops <= bottoms * int(TO))
            tops, bottoms = tops[within], bottoms[within]
            shared = np.gcd(tops, bottoms)
            found.append(np.unique((tops // shared) << 32 | bottoms // shared))
    each = np.unique(np.concatenate(found))
    tops, bottoms = each >> 32, each & (2**32 - 1)
    leads = tops / bottoms
    order = np.argsort(leads, kind="stable")  # floats tell them apart: with products below 2^20 they differ by 2^-40
    tops, bottoms, leads = tops[order], bottoms[order], leads[order]
    gaps = (leads[1:] - leads[:-1]) / (leads[1:] + leads[:-1])
    widest = np.flatnonzero(gaps >= gaps.max() * (1 - 1e-9)).tolist()

    def lead(at: int) -> Fraction:
        return Fraction(int(tops[at]), int(bottoms[at]))

    return len(each), max((lead(at + 1) - lead(at)) / (lead(at) + lead(at + 1)) for at in widest)


def figures(covered: Coverage) -> tuple[int, Fraction]:
    """The same of ours, where the two gaps that reach out of the range are gaps too."""
    gaps = [gap for gap in covered.widest(3) if None not in (gap.below_mm, gap.above_mm)]
    return covered.inside, max(gap.error for gap in gaps if gap.below_mm >= FROM and gap.above_mm <= TO)  # type: ignore[operator]


def ways(size: int) -> list[Way]:
    gears = range(20, 20 + size)
    lathe = a_lathe(gears)
    pairs = sum(comb(size, meshes) ** 2 for meshes in MESHES)

    def covered() -> tuple[int, Fraction]:
        return figures(gc.coverage(lathe, FROM, TO, MESHES))

    return [
        Way("coverage", covered, steps=pairs, cold=True, ours=True),
        Way("every train written out", lambda: by_writing_out(gears), same, pairs, 500 * pairs),
        Way("numpy, all trains at once", lambda: by_numpy(gears), same, pairs, 80 * pairs),
    ]


def limit(size: int, answer: tuple[int, Fraction]) -> Limit:
    """Every lead that differs is written once, eight bytes."""
    return Limit(f"{answer[0]:,} leads that differ, each written once", 8 * answer[0], answer[0])


RIVALRIES = (
    Rivalry(
        "coverage",
        "up to 4 gears in the train",
        "All leads from 0.5 to 6 mm that so many gears cut, and the widest gap",
        "gears",
        (8, 12, 18, 25, 35, 45),
        (8, 12),
        ways,
        limit,
    ),
)
