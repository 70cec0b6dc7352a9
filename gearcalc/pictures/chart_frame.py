"""What every chart shares: the sheet and its words, round numbers, lettering that stays legible over lines."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, log10

from gearcalc.pictures.style import FONT, INK, PAPER, SMALL_PX
from gearcalc.pictures.svg import Svg, element, text_line

DASHES = (None, "9 4", "2 3.5", "11 4 2 4", "16 5", "5 3 1.5 3")
"""Line styles that tell lines apart without colour."""

RIM = {"stroke": PAPER, "stroke_width": 4, "stroke_linejoin": "round", "paint_order": "stroke"}
"""What gives lettering a rim of paper, so that it reads over whatever it crosses."""


def sheet(size_px: tuple[int, int], caption: str, description: str, *parts: Svg) -> Svg:
    """White paper with a thin border and these parts on it, as a whole SVG document that says what it shows.

    >>> sheet((800, 480), "Fractions", "Ten fractions.")[:4]
    '<svg'
    """
    width, height = size_px
    return element(
        "svg",
        element("title", caption),
        element("desc", description),
        element("rect", width=width, height=height, fill=PAPER),
        element("rect", x=6, y=6, width=width - 12, height=height - 12, fill="none", stroke=INK, stroke_width=1.2),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width} {height}",
        width=width,
        height=height,
        role="img",
        aria_label=description,
        font_family=FONT,
        fill=INK,
        style="max-width:100%;height:auto",
    )


def round_number(x: float, *, up: bool = False) -> float:
    """The largest of 1, 2, 5, 10, 20 ... that is no more than x (or, going up, the smallest that is no less).

    >>> round_number(740), round_number(740, up=True), round_number(0.03), round_number(2)
    (500.0, 1000.0, 0.02, 2.0)

    `x`: more than zero.
    """
    decade = floor(log10(x) + 1e-12)
    steps = [mantissa * 10.0**power for power in (decade - 1, decade, decade + 1) for mantissa in (1, 2, 5)]
    if up:
        return min(step for step in steps if step >= x * (1 - 1e-12))
    return max(step for step in steps if step <= x * (1 + 1e-12))


def step_for(span: float, most: int) -> float:
    """The step of an axis: round, and the span holds at most so many of it.

    >>> step_for(100, 6), step_for(38.1, 4)
    (20.0, 10.0)
    """
    return round_number(span / most, up=True)


def spread(places: Sequence[float], heights: Sequence[float], low: float, high: float) -> list[float]:
    """Middles for labels of these heights, in the order given, near their places, not over each other.

    >>> spread([10, 12, 80], [20, 20, 20], 0, 100)
    [10.0, 30.0, 80.0]

    `places`: ascending. They keep between `low` and `high` as long as there is room for all.
    """
    middles: list[float] = []
    edge = low
    for place, height in zip(places, heights, strict=True):
        middles.append(max(place, edge + height / 2))
        edge = middles[-1] + height / 2
    edge = high
    for n in range(len(middles) - 1, -1, -1):
        middles[n] = float(min(middles[n], edge - heights[n] / 2))
        edge = middles[n] - heights[n] / 2
    return middles


def over_lines(
    words: str, x: float, y: float, *, size: float = SMALL_PX, anchor: str = "middle", **more: object
) -> Svg:
    """A line of lettering with a rim of paper, so that it reads over whatever it crosses.

    >>> "paint-order" in over_lines("+12.5 µm", 10, 20)
    True
    """
    return text_line(words, x, y, size=size, anchor=anchor, **{**RIM, **more})


def drawn_line(path: str, colour: str = INK, width: float = 1.0, dash: str | None = None) -> Svg:
    """A line along a path of numbers and path letters.

    >>> print(drawn_line("M0 0H9"))
    <path d="M0 0H9" fill="none" stroke="#1B1F24" stroke-width="1"/>
    """
    return element("path", d=Svg(path), fill="none", stroke=colour, stroke_width=width, stroke_dasharray=dash)


def shortened(words: str, most: int) -> str:
    """Words for a label, cut where they are too long for it.

    >>> shortened("the pair from the club", 12)
    'the pair fr…'
    """
    one_line = " ".join(str(words).split())
    return one_line if len(one_line) <= most else one_line[: most - 1] + "…"
