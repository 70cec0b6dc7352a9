"""A chart of many threads: all at once, against find_setups one by one, and against a table of ratios in numpy.

Invented lathe: 20 gears, 8 tpi leadscrew, a lever of three positions, no bracket; up to 6 gears in the train. For each
thread the nearest setup. The numpy table holds the ratio of every train, sorted once for all threads, and is then
asked by bisection for each lever. What it gives is a ratio: a chart has the setup, judged and in words, and of equals
those with which the fewest gears are moved from row to row. In the second case each thread gets the simplest setup that
is good enough; one by one nobody looks at the rows beside it, and what that costs in gears moved is said.
A chart has 300 rows at most, so 500 threads are two.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import comb

import numpy as np

from gearcalc.basics.exact import RelativeError
from gearcalc.finding.products import Products
from gearcalc.finding.rankings import Query, goals_of
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes.trains import places_that_differ
from gearcalc.planning.charts import MOST_ROWS, ChartRow, chart_rows
from gearcalc.threads import Thread
from tests.benchmarks.rivalry import SAME, Limit, Rivalry, Way
from tests.benchmarks.search import a_lathe, choices

GEARS, MESHES = tuple(range(20, 40)), (1, 2, 3)
LATHE = a_lathe(GEARS, (Fraction(1, 2), Fraction(1), Fraction(2)))
LOOKED_AT = "find_setups, 24 of each, as a chart looks at"
BYTES_A_ROW = 100  # of text, in a chart as it is printed


def threads(count: int) -> list[Thread]:
    """So many threads of different leads: half of them metric, three in ten inch, two in ten worms."""
    metric = [f"{hundredths / 100} mm" for hundredths in range(20, 620)]
    inch = [f"{halves // 2}{' 1/2' if halves % 2 else ''} tpi" for halves in range(8, 160)]
    worms = [f"module {fortieths / 40}" for fortieths in range(12, 112)]
    shares = ((metric, count - count * 3 // 10 - count // 5), (inch, count * 3 // 10), (worms, count // 5))
    texts = [those[at * len(those) // many] for those, many in shares for at in range(many)]
    return [Thread.parse(text) for text in texts]


def charted(wanted: Sequence[Thread], within_ppm: int | str) -> list[ChartRow]:
    parts = [wanted[at : at + MOST_ROWS] for at in range(0, len(wanted), MOST_ROWS)]
    return [row for part in parts for row in chart_rows(LATHE, part, within_ppm, MESHES)]  # type: ignore[arg-type]


def sorted_table() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Every ratio of drivers to driven that share no gear, ascending, and the products that make it."""
    ratios, overs, unders = [np.ones(0)], [np.ones(0, dtype=np.int64)], [np.ones(0, dtype=np.int64)]
    for meshes in MESHES:
        side = choices(GEARS, meshes)
        products, bits = (np.array(each, dtype=np.int64) for each in zip(*side, strict=True))
        over, under = np.nonzero((bits[:, None] & bits) == 0)
        ratios.append(products[over] / products[under])
        overs.append(products[over])
        unders.append(products[under])
    every = np.concatenate(ratios)
    order = np.argsort(every, kind="stable")
    return every[order], np.concatenate(overs)[order], np.concatenate(unders)[order]


def by_table(wanted: Sequence[Thread]) -> list[RelativeError]:
    """For each thread the least error: the nearest ratio below and above, for each position of the lever, exactly."""
    ratios, overs, unders = sorted_table()
    found = []
    for thread in wanted:
        errors = []
        for goal in goals_of(Query(LATHE, thread, MESHES)):
            lever = goal.lever.ratio if goal.lever else 1
            at = int(np.searchsorted(ratios, float(goal.target)))
            near = ratios[max(0, at - 1) : at + 1]
            low, high = np.searchsorted(ratios, (near[0] * (1 - 1e-13), near[-1] * (1 + 1e-13)))
            pairs = {*zip(overs[low:high].tolist(), unders[low:high].tolist(), strict=True)}
            turns = LATHE.leadscrew_lead_mm * LATHE.spindle_ratio * lever
            errors += [RelativeError(turns * over / under, thread.lead) for over, under in pairs]
        found.append(min(errors))
    return found


def one_by_one(wanted: Sequence[Thread], first: str, count: int = 1) -> list[Setup]:
    """The first of so many setups of each."""
    return [find_setups(LATHE, thread, MESHES, count, first=first)[0] for thread in wanted]  # type: ignore[arg-type]


def moved(setups: Sequence[Setup]) -> int:
    """Places that hold another gear, from row to row."""
    return sum(places_that_differ(one.train, other.train) for one, other in pairwise(setups))


def setups_of(rows: Sequence[ChartRow]) -> list[Setup]:
    """A setup a row: every thread has one."""
    return [row.setup for row in rows if row.setup is not None]


def as_near(theirs: Sequence[Setup] | Sequence[RelativeError], ours: Sequence[ChartRow]) -> str:
    """Each of them as near as ours; and what it costs that the rows beside weren't looked at."""
    errors = [each.error if isinstance(each, Setup) else each for each in theirs]
    assert errors == [setup.error for setup in setups_of(ours)]
    setups = [each for each in theirs if isinstance(each, Setup)]
    return f"{SAME} errors, {_more_moved(setups, ours)}" if setups else f"{SAME} errors, no setups"


def as_simple(theirs: Sequence[Setup], ours: Sequence[ChartRow]) -> str:
    """Each of them with as many meshes as ours; and what it costs that the rows beside weren't looked at."""
    assert [each.train.meshes for each in theirs] == [setup.train.meshes for setup in setups_of(ours)]
    return f"as simple, {_more_moved(theirs, ours)}"


def _more_moved(theirs: Sequence[Setup], ours: Sequence[ChartRow]) -> str:
    most, least = moved(theirs), moved(setups_of(ours))
    assert least <= most
    return f"{most} gears moved in all, not {least}"


def nearest_ways(count: int) -> list[Way]:
    wanted, pairs = threads(count), sum(comb(len(GEARS), meshes) ** 2 for meshes in MESHES)
    return [
        Way("chart", lambda: charted(wanted, 0), steps=count, cold=True, ours=True),
        Way("find_setups one by one", lambda: one_by_one(wanted, "nearest"), as_near, count, cold=True),
        Way(LOOKED_AT, lambda: one_by_one(wanted, "nearest", 24), as_near, count, cold=True),
        Way("numpy table, sorted once", lambda: by_table(wanted), as_near, count, 40 * pairs),
    ]


def simplest_ways(count: int) -> list[Way]:
    wanted = threads(count)
    return [
        Way("chart", lambda: charted(wanted, "good enough"), steps=count, cold=True, ours=True),
        Way("find_setups one by one", lambda: one_by_one(wanted, "simplest"), as_simple, count, cold=True),
        Way(LOOKED_AT, lambda: one_by_one(wanted, "simplest", 24), as_simple, count, cold=True),
    ]


def limit(count: int, _: object) -> Limit:
    """The products of the set are read once for all threads, and the rows written."""
    products = sum(len(Products.of(GEARS, meshes).values) for meshes in MESHES)
    said = f"{products:,} products read once for all threads, {BYTES_A_ROW} bytes written a row"
    return Limit(said, 8 * products + BYTES_A_ROW * count, products + count)


SIZES, QUICK = (10, 30, 100, 200, 500), (10, 30)
RIVALRIES = (
    Rivalry(
        "chart",
        "nearest",
        "A chart: the nearest setup of each of so many threads",
        "threads",
        SIZES,
        QUICK,
        nearest_ways,
        limit,
    ),
    Rivalry(
        "chart",
        "good enough",
        "A chart: the simplest setup that is good enough",
        "threads",
        SIZES,
        QUICK,
        simplest_ways,
        limit,
    ),
)
