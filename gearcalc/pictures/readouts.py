"""A row of counters, as on the front of an instrument: a live page writes the numbers, paper shows one moment."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import floor

from attrs import frozen

from gearcalc.pictures import style
from gearcalc.pictures.svg import Svg, element, text_line

ROW_PX = 62.0
_LEFT, _RIGHT = 6.0, 794.0
_COUNT_PX = 21.0


@frozen
class Dial:
    """A pointer that turns; `turns`: clockwise, for one turn of the first driver clockwise, as the gears have it."""

    turns: Fraction
    angle_deg: Fraction = Fraction(0)


@frozen
class Readout:
    """One counter: what it counts, how much in one turn of the spindle, and to how many places it is shown.

    `places` 0 counts what is complete, as a tooth is once it has passed. `dial`: beside it, for what turns;
    `ringed`: beside it the ring that marks a mesh in the train; `also`: a second unit, how many of it make one
    of the first, and places.
    """

    name: str
    unit: str
    per_turn: Fraction
    places: int = 2
    dial: Dial | None = None
    ringed: bool = False
    also: tuple[str, Fraction, int] | None = None

    def at(self, turns: Fraction) -> str:
        """What it shows after so many turns of the spindle.

        >>> Readout("first mesh", "teeth", Fraction(40), 0).at(Fraction(7, 4)), Readout("", "", Fraction(1)).at(2)
        ('70', '2.00')
        """
        return _shown(self.per_turn * turns, self.places)


def _shown(count: Fraction, places: int) -> str:
    return str(floor(count)) if places == 0 else f"{float(count):.{places}f}"


def readout_row(readouts: Sequence[Readout], turns: Fraction) -> Svg:
    """The counters side by side after so many turns of the spindle, 62 pixels high.

    >>> 'data-count="40"' in readout_row([Readout("first mesh", "teeth", Fraction(40), 0)], Fraction(0))
    True
    """
    width = (_RIGHT - _LEFT) / len(readouts)
    parts = [
        element(
            "rect",
            x=_LEFT,
            y=0,
            width=_RIGHT - _LEFT,
            height=ROW_PX,
            fill="#F7F8F9",
            stroke=style.INK,
            stroke_width=1.2,
        )
    ]
    for n, readout in enumerate(readouts):
        left = _LEFT + n * width
        if n:
            parts.append(element("path", d=Svg(f"M{left:.2f} 9V{ROW_PX - 9}"), stroke=style.FAINT, stroke_width=1))
        parts.append(_tile(readout, left, width, turns))
    return element("g", *parts, font_family=style.FONT, fill=style.INK)


def _tile(readout: Readout, left: float, width: float, turns: Fraction) -> Svg:
    sign, at = Svg(""), left + 14
    if readout.dial is not None:
        sign, at = _dial(readout.dial, left + 32, ROW_PX / 2), left + 60
    name = text_line(
        readout.name, at + (17 if readout.ringed else 0), 22, size=style.SMALL_PX, anchor="start", fill=style.SOFT
    )
    ring = element("circle", cx=at + 6, cy=18, r=5, fill="none", stroke=style.INK, stroke_width=1.5)
    parts = [sign, name, *([ring] if readout.ringed else [])]
    if readout.also is not None:
        unit, size, places = readout.also
        also = _count(f"{readout.name}, {unit}", readout.per_turn / size, places, turns)
        line = [also, element("tspan", f" {unit}")]
        parts.append(
            element(
                "text", *line, x=left + width - 12, y=22, font_size=style.SMALL_PX, text_anchor="end", fill=style.SOFT
            )
        )
    count = _count(f"{readout.name}, {readout.unit}", readout.per_turn, readout.places, turns, size=_COUNT_PX)
    unit_word = element("tspan", f" {readout.unit}", font_size=style.WORD_PX, fill=style.SOFT)
    parts.append(element("text", count, unit_word, x=at, y=49))
    return element("g", *parts)


def _count(words: str, per_turn: Fraction, places: int, turns: Fraction, size: float | None = None) -> Svg:
    return element(
        "tspan",
        _shown(per_turn * turns, places),
        font_size=size,
        font_weight=None if size is None else "bold",
        data_count=Svg(f"{float(per_turn):.15g}"),
        data_places=places,
        data_words=words,
    )


def _dial(dial: Dial, x: float, y: float) -> Svg:
    """A plate with quarter marks, and a pointer that turns on it."""
    radius = 19.0
    marks = "".join(
        f"M{cx * 14:.1f} {cy * 14:.1f}L{cx * 17:.1f} {cy * 17:.1f}" for cx, cy in ((0, -1), (1, 0), (0, 1), (-1, 0))
    )
    pointer = element("path", d=Svg("M0 -15.5L3.2 3H-3.2Z"), fill=style.VERMILLION)
    angle = f"{float(dial.angle_deg) % 360:.3f}"
    return element(
        "g",
        element("circle", r=radius, fill=style.PAPER, stroke=style.INK, stroke_width=1.2),
        element("path", d=Svg(marks), stroke=style.SOFT, stroke_width=1),
        element(
            "g", pointer, transform=f"rotate({angle})", data_rest=angle, data_turns=Svg(f"{float(dial.turns):.12g}")
        ),
        element("circle", r=2.6, fill=style.INK),
        transform=f"translate({x:.2f} {y:.2f})",
    )
