"""What every chart stands in: its sheet and title, scales with round numbers, rulers, rules, marks and their key."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor, log, log10

from attrs import frozen

from gearcalc.basics import markup, writing
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.style import FAINT, INK, PAPER, SMALL_PX, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, bold, document, drawn_line, element, paper, rect, shape, text_line

DASHES = (None, "9 4", "2 3.5", "11 4 2 4", "16 5", "5 3 1.5 3")
"""Line styles that tell lines apart without colour."""
LEFT_PX = 24.0
"""Where title, names and notes begin."""

Mark = Callable[[float, float], Svg]
"""What draws a mark about a point."""


def chart(
    size_px: tuple[int, int], caption: str, description: str, table: Sequence[Row], *parts: Svg, title: str = ""
) -> Picture:
    """These parts on white paper with a thin border, under a title, as a picture.

    >>> chart((800, 480), "Fractions", "Ten fractions.", [{"fraction": "1/2"}], title="Ten fractions").svg[:4]
    '<svg'
    """
    heading = [bold(shortened(title, 90), LEFT_PX, 36)] if title else []
    svg = document(size_px, caption, description, paper(size_px), *heading, *parts)
    return Picture(svg, description, table, caption)


@frozen
class Scale:
    """Where values stand on the sheet: from `low` at `start` to `high` at `end`, evenly or by factors.

    >>> Scale(0, 10, 100, 300).at(2.5), Scale(1, 100, 0, 300, by_factors=True).at(10)
    (150.0, 150.0)
    """

    low: float
    high: float
    start: float
    end: float
    by_factors: bool = False

    def at(self, value: float | Fraction) -> float:
        """The place of a value."""
        far, whole = float(value) - self.low, self.high - self.low
        if self.by_factors:
            far, whole = log(value / self.low), log(self.high / self.low)
        return self.start + (self.end - self.start) * far / whole

    def held(self, value: float) -> float:
        """The same, where what lies beyond either end stands at that end."""
        return self.at(min(max(value, self.low), self.high))

    def over(self, one: float) -> Scale:
        """The same scale in another unit, of which each is so much of this one's.

        >>> Scale(0, 50.8, 100, 300).over(25.4).high
        2.0
        """
        return Scale(self.low / one, self.high / one, self.start, self.end, self.by_factors)

    def steps(self, most: int) -> list[float]:
        """Round values along it, evenly, at most so many steps from end to end."""
        step = step_for(self.high - self.low, most)
        return [n * step for n in range(ceil(self.low / step - 1e-9), floor(self.high / step + 1e-9) + 1)]


def ruler(scale: Scale, y: float, marks: Mapping[float, str], tick_px: float = 6.0, words_px: float = 20.0) -> Svg:
    """A line from end to end of a scale with a tick and a word at each mark, a shorter tick where the word is empty."""
    ticks = "".join(f"M{scale.at(value):.2f} {y}v{tick_px if word else tick_px / 2}" for value, word in marks.items())
    words = (text_line(word, scale.at(value), y + words_px, size=SMALL_PX) for value, word in marks.items() if word)
    return element("g", drawn_line(f"M{scale.start} {y}H{scale.end}{ticks}"), *words)


def rules_down(scale: Scale, top: float, bottom: float, marks: Mapping[float, str], words_px: float = 18.0) -> Svg:
    """A faint line down at each mark, its word under it."""
    rules = "".join(f"M{scale.at(value):.2f} {top}V{bottom}" for value in marks)
    words = (
        text_line(word, scale.at(value), bottom + words_px, size=SMALL_PX) for value, word in marks.items() if word
    )
    return element("g", drawn_line(rules, FAINT, 0.8), *words)


def rules_across(scale: Scale, left: float, right: float, marks: Mapping[float, str]) -> Svg:
    """A faint line across at each mark, its word at the left end."""
    rules = "".join(f"M{left} {scale.at(value):.2f}H{right}" for value in marks)
    words = (
        text_line(word, left - 10, scale.at(value) + 4.2, size=SMALL_PX, anchor="end") for value, word in marks.items()
    )
    return element("g", drawn_line(rules, FAINT, 0.8), *words)


def upright(words: str, x: float, y: float) -> Svg:
    """Words along an axis that stands, read from the right."""
    return text_line(words, x, y, transform=Svg(f"rotate(-90 {x:g} {y:.0f})"))


def diamond(x: float, y: float, size: float, fill: str, width: float = 1.4) -> Svg:
    """A mark: a square on its corner."""
    return shape(f"M{x:.2f} {y - size:.2f}l{size} {size}l{-size} {size}l{-size} {-size}Z", fill, INK, width)


def cross(x: float, y: float, size: float) -> Svg:
    """A mark: a cross with a rim of paper."""
    path = f"M{x - size:.2f} {y - size:.2f}l{2 * size} {2 * size}m0 {-2 * size}l{-2 * size} {2 * size}"
    return element("g", drawn_line(path, PAPER, 6.5), drawn_line(path, INK, 3.0))


def swatch_of(tone: str, edge: str = FAINT) -> Mark:
    """A mark for the key: a small sheet of a tone."""
    return lambda x, y: rect(x - 9, y - 7, x + 9, y + 7, tone, edge, 1)


def key(x: float, y: float, *entries: tuple[Mark, str], gap_px: float = 36.0) -> Svg:
    """What marks and tones mean, in a row along the foot."""
    parts = []
    for mark, words in entries:
        parts += [mark(x, y - 4.5), text_line(words, x + 15, y, anchor="start")]
        x += text_width_px(words, WORD_PX) + gap_px
    return element("g", *parts)


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


def power_of_ten(power: int) -> str:
    """A power of ten for an axis, in threes of figures from 10 000 on.

    >>> print(power_of_ten(6).split(writing.THIN), power_of_ten(3), power_of_ten(-2))
    ['1', '000', '000'] 1000 0.01
    """
    return writing.grouped(writing.decimal(Fraction(10) ** power, 30))


def shortened(words: str, most: int) -> str:
    """Words for a label, cut where they are too long for it.

    >>> shortened("the pair from the club", 12)
    'the pair fr…'
    """
    one_line = markup.one_line(str(words))
    return one_line if len(one_line) <= most else one_line[: most - 1] + "…"
