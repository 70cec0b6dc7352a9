"""A row of counters, as on the front of an instrument: a live page writes the numbers, paper shows one moment."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import floor

from attrs import frozen

from gearcalc.pictures import style
from gearcalc.pictures.cutting_strips import CARRIAGE_STRIP_PX
from gearcalc.pictures.style import FRAME_PX
from gearcalc.pictures.svg import Svg, disc, drawn_line, element, note, rect, shape

ROW_PX = 62.0
"""Height of a row of counters."""
_ROW_LEFT, _ROW_RIGHT = FRAME_PX, CARRIAGE_STRIP_PX[0] - FRAME_PX
_COUNT_PX = 19.0


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
    shares = [1.35 if one.dial else 1.25 if one.also else 1.0 for one in readouts]
    edges = [_ROW_LEFT + (_ROW_RIGHT - _ROW_LEFT) * sum(shares[:n]) / sum(shares) for n in range(len(shares) + 1)]
    parts = [rect(_ROW_LEFT, 0, _ROW_RIGHT, ROW_PX, style.PALE, style.INK)]
    for readout, (left, right) in zip(readouts, pairwise(edges), strict=True):
        if left > _ROW_LEFT:
            parts.append(drawn_line(f"M{left:.2f} 9V{ROW_PX - 9}", style.FAINT))
        parts.append(_tile(readout, left, right, turns))
    return element("g", *parts, font_family=style.FONT, fill=style.INK)


def _tile(readout: Readout, left: float, right: float, turns: Fraction) -> Svg:
    parts, at = [], left + 10
    if readout.dial is not None:
        parts, at = [_dial(readout.dial, left + 26, ROW_PX / 2)], left + 50
    if readout.ringed:
        parts.append(disc(at + 6, 18, 5, "none", width=1.5))
    parts.append(note(readout.name, at + 17 * readout.ringed, 22, size=style.SMALL_PX))
    if readout.also is not None:
        unit, size, places = readout.also
        line = _count(f"{readout.name}, {unit}", readout.per_turn / size, places, turns), element("tspan", f" {unit}")
        look = {"font_size": style.SMALL_PX, "text_anchor": "end", "fill": style.SOFT}
        parts.append(element("text", *line, x=right - 10, y=22, **look))
    words = f"{readout.name}, {readout.unit}"
    count = _count(words, readout.per_turn, readout.places, turns, font_size=_COUNT_PX, font_weight="bold")
    unit_word = element("tspan", f" {readout.unit}", font_size=style.WORD_PX, fill=style.SOFT)
    return element("g", *parts, element("text", count, unit_word, x=at, y=49))


def _count(words: str, per_turn: Fraction, places: int, turns: Fraction, **look: object) -> Svg:
    live = {"data_count": Svg(f"{float(per_turn):.15g}"), "data_places": places, "data_words": words}
    return element("tspan", _shown(per_turn * turns, places), **look, **live)


def _dial(dial: Dial, x: float, y: float) -> Svg:
    """A plate with quarter marks, and a pointer that turns on it."""
    marks = "M0 -14V-17M14 0H17M0 14V17M-14 0H-17"
    angle = f"{float(dial.angle_deg) % 360:.3f}"
    live = {"transform": f"rotate({angle})", "data_rest": angle, "data_turns": f"{float(dial.turns):.12g}"}
    return element(
        "g",
        disc(0, 0, 19),
        drawn_line(marks, style.SOFT),
        element("g", shape("M0 -15.5L3.2 3H-3.2Z", style.VERMILLION), **live),
        disc(0, 0, 2.6, style.INK, None),
        transform=f"translate({x:.2f} {y:.2f})",
    )
