"""Our own SVG against matplotlib, drawing the same: a train with every tooth, and six pictures of near misses.

Matplotlib is handed the outlines of the teeth ready made, and fills them; what it puts on its axes and what we write
beside the gears is left out of the comparison. The outlines read back from our SVG must be those that it was handed.
The six are drawn roughly by matplotlib, fewer words and marks than ours have, so what they share isn't compared.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from fractions import Fraction
from typing import Any

from gearcalc.finding.fractions import best_fractions, stern_brocot
from gearcalc.lathes.trains import Train
from gearcalc.pictures.errors_over_length import error_against_length
from gearcalc.pictures.fraction_charts import closing_in, stern_brocot_walk
from gearcalc.pictures.near_miss_charts import error_map, tolerance_shares
from gearcalc.pictures.threads_that_part import side_by_side
from gearcalc.pictures.train_pictures import TrainDrawing
from gearcalc.threads.deviations import judge
from tests.benchmarks.rivalry import SAME, Limit, Rivalry, Way

Outline = Sequence[tuple[float, float]]

CUT = Fraction(3, 2) * (1 + Fraction(125, 10**6))
ERRORS = {"stand-in": 125.0, "one pair": -2142.9}
VERDICTS = [judge("M10", ppm) for ppm in (1, 30, -125, 2000, -9000)]


def a_figure(dots: bool = False) -> Any:
    """A figure of matplotlib's, as large as our pictures."""
    from matplotlib.figure import Figure

    return Figure(figsize=(8, 4.8), dpi=100 if dots else None)


def outlines_with_matplotlib(outlines: Sequence[Outline], form: str) -> list[Any]:
    """Draw the outlines, save them, and give back what stands in the figure."""
    axes = a_figure(form == "png").add_subplot(aspect="equal")
    for outline in outlines:
        axes.fill(*zip(*outline, strict=True), edgecolor="k")
    axes.figure.savefig(io.BytesIO(), format=form)
    return [patch.get_xy() for patch in axes.patches]


def threads_with_matplotlib(axes: Any) -> None:
    for stretch, level in ((1.0, 0.0), (1.125, 2.0)):
        places = [n * 0.75 * stretch for n in range(134)]
        axes.fill_between(places, level, [level + 1 + n % 2 * 0.4 for n in range(134)], ec="k")
    for n in range(0, 67, 2):
        axes.plot([1.5 * n, 1.5 * n * 1.125], [1, 2], "k-", lw=0.8)


def errors_with_matplotlib(axes: Any) -> None:
    axes.axhspan(-38.1, 38.1)
    for name, ppm in ERRORS.items():
        axes.plot([0, 100], [0, ppm / 10])
        axes.annotate(name, (100, ppm / 10))


def fractions_with_matplotlib(axes: Any) -> None:
    for n, near in enumerate(best_fractions("pi", 120)):
        axes.plot([near.error_ppm], [-n], "o")
        axes.annotate(str(near.fraction), (near.error_ppm, -n))
    axes.set_xscale("symlog")


def walk_with_matplotlib(axes: Any) -> None:
    for n, step in enumerate(stern_brocot("pi", 16)):
        axes.annotate(str(step.mediant), (n % 7, -n), bbox={"boxstyle": "round"})
    axes.plot([n % 7 for n in range(16)], [-n for n in range(16)])


def map_with_matplotlib(axes: Any) -> None:
    axes.imshow([[abs(a / b / 1.27 - 1) for b in range(20, 101)] for a in range(20, 101)], origin="lower")


def shares_with_matplotlib(axes: Any) -> None:
    axes.barh([str(n) for n in range(5)], [verdict.share_used for verdict in VERDICTS])
    axes.set_xscale("log")


NEAR_MISSES: dict[str, tuple[Callable[[], object], Callable[[Any], None]]] = {
    "side by side": (lambda: side_by_side("M10x1.5", CUT, 100), threads_with_matplotlib),
    "error against length": (lambda: error_against_length("M10x1.5-6g", ERRORS), errors_with_matplotlib),
    "closing in": (lambda: closing_in("pi", 120), fractions_with_matplotlib),
    "walk": (lambda: stern_brocot_walk("pi", 16), walk_with_matplotlib),
    "map": (lambda: error_map("127/100"), map_with_matplotlib),
    "shares": (lambda: tolerance_shares(VERDICTS), shares_with_matplotlib),
}


def drawn_with_matplotlib(draw: Callable[[Any], None]) -> str:
    """A picture as SVG."""
    figure, written = a_figure(), io.StringIO()
    draw(figure.add_subplot())
    figure.savefig(written, format="svg")
    return written.getvalue()


def train_of(teeth: int) -> Train:
    """A train of two gears with so many teeth in all."""
    return Train((teeth // 3,), (teeth - teeth // 3,))


def outlines_alike(drawing: TrainDrawing, theirs: Sequence[Any], ours: str) -> str:
    """The outlines in our SVG are those in the figure, but for where they stand and how large."""
    from shapely import Polygon, affinity

    from tests.pictures.test_train_pictures import drawn_gears, scale_of

    scale, at = scale_of(drawing, ours)
    pages = sorted(drawn_gears(ours), key=lambda page: page.area)
    for page, xy in zip(pages, sorted(map(Polygon, theirs), key=lambda drawn: drawn.area), strict=True):
        expected = affinity.affine_transform(xy, (scale, 0, 0, -scale, *at))
        assert page.symmetric_difference(expected).area < 0.02 * expected.area
    return f"{SAME} outlines"


def train_ways(teeth: int) -> list[Way]:
    drawing = TrainDrawing(train_of(teeth))
    outlines = drawing.outlines()

    def alike(theirs: Sequence[Any], ours: str) -> str:
        return outlines_alike(drawing, theirs, ours)

    def theirs(form: str) -> Callable[[], object]:
        return lambda: outlines_with_matplotlib(outlines, form)

    return [
        Way("our SVG", lambda: TrainDrawing(train_of(teeth)).svg(0.0), cold=True, ours=True),
        Way("matplotlib, SVG", theirs("svg"), alike, teeth, ready=theirs("svg")),
        Way("matplotlib, PNG", theirs("png"), alike, teeth, ready=theirs("png")),
    ]


def six_ways(_: int) -> list[Way]:
    return [
        Way("our SVG", lambda: [draw()._repr_html_() for draw, _ in NEAR_MISSES.values()], ours=True),
        Way(
            "matplotlib, SVG",
            lambda: [drawn_with_matplotlib(draw) for _, draw in NEAR_MISSES.values()],
            lambda theirs, ours: "roughly alike, not compared",
        ),
    ]


def limit(_: int, answer: str | list[str]) -> Limit:
    """The bytes of the pictures are written once."""
    size = sum(map(len, [answer] if isinstance(answer, str) else answer))
    return Limit(f"{size:,} bytes written", size, size / 30)  # a number or a word of some 30 bytes at a time


RIVALRIES = (
    Rivalry(
        "pictures",
        "a train",
        "A train drawn with so many teeth in all",
        "teeth",
        (36, 60, 120, 240, 480),
        (36, 60),
        train_ways,
        limit,
    ),
    Rivalry("pictures", "near misses", "Six pictures of near misses", "pictures", (6,), (6,), six_ways, limit),
)
