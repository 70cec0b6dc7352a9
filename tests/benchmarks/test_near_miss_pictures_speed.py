"""How long the live pictures of near misses take, as a ratio within one run to the same drawn with matplotlib."""

from __future__ import annotations

import io
from fractions import Fraction
from statistics import median
from time import process_time

import pytest

from gearcalc.finding.fractions import best_fractions, stern_brocot
from gearcalc.pictures.errors_over_length import error_against_length
from gearcalc.pictures.fraction_charts import closing_in, stern_brocot_walk
from gearcalc.pictures.near_miss_charts import error_map, tolerance_shares
from gearcalc.pictures.threads_that_part import side_by_side
from gearcalc.threads.deviations import judge

CUT = Fraction(3, 2) * (1 + Fraction(125, 10**6))
ERRORS = {"stand-in": 125.0, "one pair": -2142.9}
VERDICTS = [judge("M10", ppm) for ppm in (1, 30, -125, 2000, -9000)]
TIMES = 5


def threads_with_matplotlib(axes) -> None:
    for stretch, level in ((1.0, 0.0), (1.125, 2.0)):
        places = [n * 0.75 * stretch for n in range(134)]
        axes.fill_between(places, level, [level + 1 + n % 2 * 0.4 for n in range(134)], ec="k")
    for n in range(0, 67, 2):
        axes.plot([1.5 * n, 1.5 * n * 1.125], [1, 2], "k-", lw=0.8)


def errors_with_matplotlib(axes) -> None:
    axes.axhspan(-38.1, 38.1)
    for name, ppm in ERRORS.items():
        axes.plot([0, 100], [0, ppm / 10])
        axes.annotate(name, (100, ppm / 10))


def fractions_with_matplotlib(axes) -> None:
    for n, near in enumerate(best_fractions("pi", 120)):
        axes.plot([near.error_ppm], [-n], "o")
        axes.annotate(str(near.fraction), (near.error_ppm, -n))
    axes.set_xscale("symlog")


def walk_with_matplotlib(axes) -> None:
    for n, step in enumerate(stern_brocot("pi", 16)):
        axes.annotate(str(step.mediant), (n % 7, -n), bbox={"boxstyle": "round"})
    axes.plot([n % 7 for n in range(16)], [-n for n in range(16)])


def map_with_matplotlib(axes) -> None:
    axes.imshow([[abs(a / b / 1.27 - 1) for b in range(20, 101)] for a in range(20, 101)], origin="lower")


def shares_with_matplotlib(axes) -> None:
    axes.barh([str(n) for n in range(5)], [verdict.share_used for verdict in VERDICTS])
    axes.set_xscale("log")


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (lambda: side_by_side("M10x1.5", CUT, 100), threads_with_matplotlib),
        (lambda: error_against_length("M10x1.5-6g", ERRORS), errors_with_matplotlib),
        (lambda: closing_in("pi", 120), fractions_with_matplotlib),
        (lambda: stern_brocot_walk("pi", 16), walk_with_matplotlib),
        (lambda: error_map("127/100"), map_with_matplotlib),
        (lambda: tolerance_shares(VERDICTS), shares_with_matplotlib),
    ],
    ids=["side by side", "error against length", "closing in", "walk", "map", "shares"],
)
def test_a_picture_is_several_times_faster_than_matplotlibs(ours, theirs):
    figures = pytest.importorskip("matplotlib.figure")

    def drawn() -> None:
        figure = figures.Figure(figsize=(8, 4.8))
        theirs(figure.add_subplot())
        figure.savefig(io.BytesIO(), format="svg")

    taken = [(seconds(ours), seconds(drawn)) for _ in range(TIMES)][1:]
    mine, matplotlibs = (median(times) for times in zip(*taken, strict=True))
    print(f"\n{1000 * mine:.1f} ms, matplotlib {1000 * matplotlibs:.0f} ms")
    assert mine * 3 < matplotlibs


def seconds(draw) -> float:
    start = process_time()
    draw()
    return process_time() - start
