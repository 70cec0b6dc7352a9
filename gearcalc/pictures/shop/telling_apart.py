"""Two leads, and a length known to ± a limit: the readings of each, and from how many turns they can't be mistaken."""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import as_fraction
from gearcalc.cutting.measurements import turns_to_tell
from gearcalc.pictures import style
from gearcalc.pictures.charts import drawn_line, over_lines, sheet, shortened, step_for
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.threads import Thread, as_thread

APART_PX = (800, 400)
"""Width and height of the picture."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 84.0, 640.0, 92.0, 340.0
_COLOURS = (style.BLUE, style.VERMILLION)
_TINTS = (style.tint(style.SKY, 0.45), style.tint(style.ORANGE, 0.4))


def two_leads_apart(one: Thread | str, other: Thread | str, uncertainty_mm: float | Fraction | str) -> Picture:
    """How far the readings of two leads lie apart as the turns grow, and from which turn on they never overlap.

    >>> picture = two_leads_apart("1.25 mm", "20 tpi", uncertainty_mm=0.25)
    >>> [(row["turns"], row["told apart"]) for row in picture.table][-3:-1]
    [('25', 'perhaps'), ('26', 'for certain')]

    `uncertainty_mm`: the limit, ±, more than 0 to 1000 mm. Arguments and errors as for turns_to_tell(); equal leads
    raise NotPossibleError.
    """
    threads = as_thread(one), as_thread(other)
    limit = as_fraction(uncertainty_mm, what="the uncertainty")
    turns = turns_to_tell(*threads, limit)
    if turns is None or limit == 0:
        problem = f"{threads[0]} and {threads[1]} have the same lead" if turns is None else "an uncertainty of ± 0"
        raise NotPossibleError(
            f"{problem}: there is nothing to draw", remedy="Take two leads that differ, and a limit."
        )
    pair = _Pair(str(threads[0]), str(threads[1]), float(threads[0].lead), float(threads[1].lead), float(limit), turns)
    caption = f"{pair.one} or {pair.other}, measured to ± {writing.decimal(limit)} mm"
    description = (
        f"{caption}. In one turn the leads are {pair.mm(abs(pair.apart))} apart. The readings of both spread "
        f"± {pair.mm(pair.limit)}. {pair.overlap}, where the lengths are {pair.mm(abs(pair.apart) * turns)} apart."
    )
    return Picture(_drawing(pair, caption, description), description, _rows(pair), caption)


@frozen
class _Pair:
    one: str
    other: str
    lead: float
    other_lead: float
    limit: float
    turns: int

    @property
    def apart(self) -> float:
        """How much longer the other one is in a turn, mm; below zero when it is shorter."""
        return self.other_lead - self.lead

    @staticmethod
    def mm(length: float) -> str:
        return f"{writing.decimal(length, 3)} mm"

    @property
    def overlap(self) -> str:
        """Over how many turns they may be mistaken, in words."""
        if self.turns == 1:
            return "They never overlap, not even in one turn"
        upto = "1 turn" if self.turns == 2 else f"{self.turns - 1} turns"
        return f"They overlap up to {upto}, and never from {self.turns} turns on"

    @property
    def last_turn(self) -> int:
        return max(self.turns + 1, ceil(1.35 * self.turns))


def _rows(pair: _Pair) -> list[Row]:
    some = sorted({1, max(1, pair.turns // 2), max(1, pair.turns - 1), pair.turns, pair.last_turn})
    return [
        {
            "turns": str(n),
            f"length of {pair.one}": pair.mm(n * pair.lead),
            f"length of {pair.other}": pair.mm(n * pair.other_lead),
            "apart": pair.mm(n * abs(pair.apart)),
            "told apart": "for certain" if n >= pair.turns else "perhaps",
        }
        for n in some
    ]


@frozen
class _Scales:
    turns: float
    low: float
    high: float

    def x(self, turns: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * turns / self.turns

    def y(self, mm: float) -> float:
        return _BOTTOM - (_BOTTOM - _TOP) * (mm - self.low) / (self.high - self.low)


def _drawing(pair: _Pair, caption: str, description: str) -> Svg:
    end = pair.last_turn * pair.apart
    low, high = min(0.0, end) - 1.35 * pair.limit, max(0.0, end) + 1.35 * pair.limit
    scales = _Scales(float(pair.last_turn), low, high)
    return sheet(
        APART_PX,
        caption,
        description,
        text_line(shortened(caption, 90), 24, 36, size=15, anchor="start", font_weight="bold"),
        _spread(scales, pair, 0.0, _TINTS[0]),
        _spread(scales, pair, pair.apart, _TINTS[1]),
        _axes(scales, pair),
        _middle(scales, pair, 0.0, _COLOURS[0], None),
        _middle(scales, pair, pair.apart, _COLOURS[1], "9 4"),
        _parting(scales, pair),
        _names(scales, pair),
    )


def _spread(scales: _Scales, pair: _Pair, slope: float, tone: str) -> Svg:
    """Where the readings of one lead may lie."""
    end, half = pair.last_turn * slope, pair.limit
    corners = [(0.0, half), (pair.last_turn, end + half), (pair.last_turn, end - half), (0.0, -half)]
    path = "L".join(f"{scales.x(n):.2f} {scales.y(mm):.2f}" for n, mm in corners)
    return element("path", d=Svg(f"M{path}Z"), fill=tone, fill_opacity=0.75)


def _middle(scales: _Scales, pair: _Pair, slope: float, colour: str, dash: str | None) -> Svg:
    start, end = (f"{scales.x(n):.2f} {scales.y(n * slope):.2f}" for n in (0.0, pair.last_turn))
    edges = [
        drawn_line(
            f"M{scales.x(0):.2f} {scales.y(off):.2f}L{scales.x(pair.last_turn):.2f} "
            f"{scales.y(pair.last_turn * slope + off):.2f}",
            colour,
            1.0,
            dash,
        )
        for off in (pair.limit, -pair.limit)
    ]
    return element("g", drawn_line(f"M{start}L{end}", colour, 2.6, dash), *edges)


def _parting(scales: _Scales, pair: _Pair) -> Svg:
    x = scales.x(pair.turns)
    words = f"from {pair.turns} {'turn' if pair.turns == 1 else 'turns'} on: for certain"
    left = x > (_LEFT + _RIGHT) / 2
    return element(
        "g",
        drawn_line(f"M{x:.2f} {_TOP - 6}V{_BOTTOM}", style.INK, 1.6, "6 3"),
        over_lines(
            words,
            x - 8 if left else x + 8,
            _TOP + 2,
            size=style.WORD_PX,
            anchor="end" if left else "start",
            font_weight="bold",
        ),
    )


def _names(scales: _Scales, pair: _Pair) -> Svg:
    parts = []
    for name, slope, colour in ((pair.one, 0.0, _COLOURS[0]), (pair.other, pair.apart, _COLOURS[1])):
        y = scales.y(pair.last_turn * slope)
        parts.append(drawn_line(f"M{_RIGHT + 4} {y:.2f}h10", colour, 2.6, "5 3" if slope else None))
        parts.append(text_line(shortened(name, 15), _RIGHT + 20, y + 4.5, size=15, anchor="start", font_weight="bold"))
    return element("g", *parts)


def _axes(scales: _Scales, pair: _Pair) -> Svg:
    parts = [drawn_line(f"M{_LEFT} {_TOP - 6}V{_BOTTOM}H{_RIGHT}", style.INK, 1.2)]
    step = max(1.0, step_for(scales.turns, 8))
    for n in range(int(scales.turns / step) + 1):
        x = scales.x(n * step)
        parts.append(drawn_line(f"M{x:.2f} {_BOTTOM}v6", style.INK, 1.2))
        parts.append(text_line(writing.decimal(n * step, 0), x, _BOTTOM + 21, size=style.SMALL_PX))
    rise = step_for(scales.high - scales.low, 6)
    for n in range(int(scales.low / rise) - 1, int(scales.high / rise) + 2):
        if scales.low <= n * rise <= scales.high:
            y = scales.y(n * rise)
            parts.append(drawn_line(f"M{_LEFT} {y:.2f}H{_RIGHT}", style.FAINT, 0.8))
            parts.append(text_line(writing.signed(n * rise, 4), _LEFT - 10, y + 4, size=style.SMALL_PX, anchor="end"))
    parts.append(text_line("turns measured", (_LEFT + _RIGHT) / 2, _BOTTOM + 44, size=style.WORD_PX, fill=style.SOFT))
    above = f"what is read, less so many turns of {shortened(pair.one, 16)}, in mm; shaded: ± {pair.mm(pair.limit)}"
    parts.append(text_line(above, 24, 58, size=style.WORD_PX, anchor="start", fill=style.SOFT))
    return element("g", *parts)
