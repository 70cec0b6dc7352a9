"""How near pairs of gears come to a ratio, on a map, and how much of its tolerance each pitch error uses up."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import islice
from math import ceil

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_teeth, within
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import MILLION, Exact, ExactLike, RelativeError, as_exact, pi_bounds
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import (
    LEFT_PX,
    Mark,
    Scale,
    chart,
    cross,
    diamond,
    key,
    rules_down,
    shortened,
    spread,
    step_for,
    swatch_of,
    upright,
)
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, over_lines, rect, shape, text_line
from gearcalc.threads.deviations import Verdict, share_used_in_words

MAP_PX, _SHARES_WIDE_PX = (800, 500), 800
"""Width and height of the pictures."""

# A map of all pairs.

_LEFT, _TOP, _SIDE = 66.0, 54.0, 396.0
_RIGHT, _BOTTOM = _LEFT + _SIDE, _TOP + _SIDE
_LABEL_X = 512.0
_TICK_PX = 23.0
_NAMES_PX = 282.0  # room for the names; the key takes the rest of the side
_MOST_GEARS, _STEEPEST = 300, 1000
_NAMED = 6
_BANDS = (
    (100_000, "within 10 %", style.tint(style.SKY, 0.28)),
    (30_000, "within 3 %", style.tint(style.SKY, 0.75)),
    (10_000, "within 1 %", style.BLUE),
    (1_000, "within 1000 ppm", style.NIGHT),
)
"""From far to near: ppm, what it is called, and its tone, darker the nearer."""


def error_map(x: ExactLike, teeth: Iterable[int] = range(20, 101)) -> Picture:
    """How far every pair of gears is from a ratio: driver upwards, driven to the right, the near ones dark.

    >>> picture = error_map("127/100", teeth=range(20, 101))
    >>> [(str(row["pair"]), str(row["error"])) for row in picture.table][:2]
    [('80/63', '−125 ppm'), ('47/37', '+212.8 ppm')]

    With tooth counts that follow each other the pairs of a ratio lie on a line as steep as the ratio; the gears of a
    set with gaps stand side by side. Exact pairs have a mark of their own; the nearest others are named, and all their
    multiples ringed.
    `x`: the ratio driver ÷ driven, as for best_fractions(), from 1/1000 to 1000. `teeth`: tooth counts, 2 to 300
    different ones from 6 to 1000; a pair takes two different ones. Raises ValueOutOfRangeError for anything else.
    """
    what = "the ratio wanted"
    wanted = within(as_exact(x, what=what), what=what, least=Fraction(1, _STEEPEST), most=_STEEPEST, given=x)
    counts = _counts(teeth)
    near_wanted = wanted if isinstance(wanted, Fraction) else wanted.coefficient * pi_bounds(30)[0]
    grid = _Grid(wanted, near_wanted, counts)
    exact, near = grid.exact(), grid.nearest(_NAMED)
    shown = shortened(str(writing.number(wanted)), 30)
    title = f"Pairs of gears for {shown}, from {counts[0]} to {counts[-1]} teeth"
    caption = f"{title}: {_best_in_words(exact, near)}"
    line = " The pairs of one ratio lie on a line as steep as that ratio." if grid.unbroken else ""
    named = ", ".join(f"{each.name} ({writing.error(each.error)})" for each in near)
    description = f"{caption} {f'In order: {named}.' if near else ''}{line}"
    return chart(
        MAP_PX,
        caption,
        description,
        _rows(exact, near),
        rect(_LEFT, _TOP, _RIGHT, _BOTTOM, style.PAPER, style.INK, 1),
        *_shades(grid),
        _axes(grid),
        *(_ring(*grid.middle(pair), grid.ring_px) for each in near for pair in each.pairs),
        *(_exact_mark(*grid.middle(pair), min(grid.ring_px, 9.0)) for pair in exact),
        _names(grid, exact, near),
        _map_key(_TOP + _NAMES_PX + 26 if grid.near >= 1 else _TOP + 12, bool(exact)),
        title=title,
    )


@frozen
class _Near:
    """A ratio near the one wanted, in lowest terms, and the pairs (driver, driven) that give it."""

    ratio: Fraction
    error: RelativeError
    pairs: tuple[tuple[int, int], ...]

    @property
    def name(self) -> str:
        return "/".join(map(str, self.pairs[0]))


@frozen
class _Grid:
    """The pairs of the tooth counts, and where they lie on the sheet.

    `near`: what is wanted, or for a multiple of π a fraction that only an eye sharper than 10^-30 tells from it.
    """

    wanted: Exact
    near: Fraction
    counts: tuple[int, ...]

    @property
    def cell(self) -> float:
        return _SIDE / len(self.counts)

    @property
    def ring_px(self) -> float:
        """Radius of a mark: round a small cell, or inside a large one."""
        return min(max(5.5, 0.32 * self.cell), 11.0)

    @property
    def unbroken(self) -> bool:
        """Whether the tooth counts follow each other without a gap, so that places go by teeth."""
        return self.counts[-1] - self.counts[0] == len(self.counts) - 1

    def x(self, column: float) -> float:
        return _LEFT + column * self.cell

    def y(self, row: float) -> float:
        return _BOTTOM - row * self.cell

    def middle(self, pair: tuple[int, int]) -> tuple[float, float]:
        row, column = (bisect_left(self.counts, count) for count in pair)
        return self.x(column + 0.5), self.y(row + 0.5)

    def runs(self, driven: int, ppm: int) -> list[tuple[int, int]]:
        """Rows, from and up to, of the drivers that come within an error with this driven gear; never itself."""
        above, below = self.near.numerator * driven, self.near.denominator * MILLION
        lowest, highest = -(-above * (MILLION - ppm) // below), above * (MILLION + ppm) // below
        first, end = bisect_left(self.counts, lowest), bisect_right(self.counts, highest)
        own = bisect_left(self.counts, driven)
        parts = [(first, own), (own + 1, end)] if first <= own < end else [(first, end)]
        return [(low, high) for low, high in parts if low < high]

    def exact(self) -> tuple[tuple[int, int], ...]:
        """The pairs that give the ratio exactly; none for a multiple of π."""
        if not isinstance(self.wanted, Fraction):
            return ()
        ratio = self.wanted
        return tuple(p for p in _multiples(ratio, self.counts) if p[0] != p[1])

    def nearest(self, count: int) -> list[_Near]:
        """The ratios that come nearest without being it."""
        counts = self.counts
        ratios = set()
        for driven in counts:  # of each column only the drivers beside the line can be among the nearest
            at = bisect_left(counts, driven * self.near)
            beside = counts[max(0, at - 2) : at + 2]
            ratios |= {Fraction(driver, driven) for driver in beside if driver != driven}
        likely = sorted(ratios - {self.wanted}, key=lambda ratio: abs(ratio - self.near))[: 3 * count]
        errors = sorted((RelativeError(ratio, self.wanted) for ratio in likely), key=lambda e: (e, e.cut))[:count]
        return [_Near(error.cut, error, tuple(_multiples(error.cut, counts))) for error in errors]


def _counts(teeth: Iterable[int]) -> tuple[int, ...]:
    if isinstance(teeth, str) or not isinstance(teeth, Iterable):
        raise ValueOutOfRangeError(
            "teeth must be a range or a list of tooth counts", value=teeth, remedy="Write it like range(20, 101)."
        )
    counts = sorted({as_teeth(count, what="a gear") for count in islice(teeth, 1001)})
    if not 2 <= len(counts) <= _MOST_GEARS:
        raise ValueOutOfRangeError(f"a map takes 2 to {_MOST_GEARS} different tooth counts", value=len(counts))
    return tuple(counts)


def _multiples(ratio: Fraction, counts: Sequence[int]) -> list[tuple[int, int]]:
    """The pairs of the counts that give a ratio, smallest first."""
    owned = set(counts)
    top, bottom = ratio.numerator, ratio.denominator
    most = counts[-1] // max(top, bottom)
    return [(n * top, n * bottom) for n in range(1, most + 1) if n * top in owned and n * bottom in owned]


def _best_in_words(exact: Sequence[tuple[int, int]], near: Sequence[_Near]) -> str:
    said = []
    if exact:
        pairs = ", ".join(f"{a}/{b}" for a, b in exact[:4])
        said.append(f"exact with {pairs}{' and more' if len(exact) > 4 else ''}")
    if near:
        which = "nearest of the others" if exact else "nearest"
        said.append(f"{which} is {near[0].name}, {writing.error(near[0].error)}")
    return "; ".join(said) + "."


def _rows(exact: Sequence[tuple[int, int]], near: Sequence[_Near]) -> list[Row]:
    rows: list[Row] = []
    if exact:
        rows.append({"pair": writing.train(*zip(exact[0])), "error": "exact", "multiples": _others(exact)})
    for each in near:
        pair = writing.train((each.pairs[0][0],), (each.pairs[0][1],))
        rows.append({"pair": pair, "error": writing.error(each.error), "multiples": _others(each.pairs)})
    return rows


def _others(pairs: Sequence[tuple[int, int]]) -> str | None:
    return ", ".join(f"{a}/{b}" for a, b in pairs[1:]) or None


def _shades(grid: _Grid) -> list[Svg]:
    """One path a band, far bands first: in each column a run of cells from the first driver within it to the last."""
    shades = []
    for ppm, _, tone in _BANDS:
        runs = [
            f"M{grid.x(column):.2f} {grid.y(first):.2f}h{grid.cell:.2f}V{grid.y(end):.2f}h{-grid.cell:.2f}Z"
            for column, driven in enumerate(grid.counts)
            for first, end in grid.runs(driven, ppm)
        ]
        shades.append(shape("".join(runs), tone))
    return shades


def _axes(grid: _Grid) -> Svg:
    ticks, words = [], []
    for count in _labelled(grid):
        x, y = grid.middle((count, count))
        ticks.append(f"M{x:.2f} {_BOTTOM}v5M{_LEFT} {y:.2f}h-5")
        words.append(text_line(str(count), x, _BOTTOM + 19, size=style.SMALL_PX))
        words.append(text_line(str(count), _LEFT - 9, y + 4.3, size=style.SMALL_PX, anchor="end"))
    names = text_line("driven, teeth", _LEFT + _SIDE / 2, _BOTTOM + 37), upright("driver, teeth", 26, _TOP + _SIDE / 2)
    return element("g", drawn_line("".join(ticks)), *words, *names)


def _labelled(grid: _Grid) -> Sequence[int]:
    """The tooth counts that stand along the sides: round ones, or of a set as many as there is room for."""
    if grid.unbroken:
        step = max(1, round(step_for(len(grid.counts), 8)))
        return range(ceil(grid.counts[0] / step) * step, grid.counts[-1] + 1, step)
    return grid.counts[:: ceil(_TICK_PX / grid.cell)]


def _ring(x: float, y: float, radius: float) -> Svg:
    """A ring that shows on light and on dark, in colour and without."""
    return element("g", disc(x, y, radius, "none", style.PAPER, 4.2), disc(x, y, radius, "none", style.INK, 1.7))


def _exact_mark(x: float, y: float, size: float) -> Svg:
    return element("g", diamond(x, y, size + 2.5, style.PAPER, 0), diamond(x, y, size, style.VERMILLION))


def _names(grid: _Grid, exact: Sequence[tuple[int, int]], near: Sequence[_Near]) -> Svg:
    """The nearest pairs by name beside the map, each joined to its cell."""
    named = [(each.name, str(writing.error(each.error)), grid.middle(each.pairs[0])) for each in near]
    if exact:
        named.append(("/".join(map(str, exact[0])), "exact", grid.middle(exact[0])))
    named.sort(key=lambda entry: (entry[2][1], -entry[2][0]))
    top = _TOP if grid.near >= 1 else _BOTTOM - _NAMES_PX  # where the cells are, so that no line crosses them
    places = spread([at[1] for _, _, at in named], [26.0] * len(named), top, top + _NAMES_PX)
    parts = []
    for (name, error, (x, y)), place in zip(named, places, strict=True):
        leader = f"M{x + grid.ring_px + 2:.2f} {y:.2f}L{_LABEL_X - 26} {place:.2f}H{_LABEL_X - 6}"
        parts.append(drawn_line(leader, style.SOFT, 0.9))
        parts.append(over_lines(name, _LABEL_X, place + 5, size=15, anchor="start", font_weight="bold"))
        parts.append(text_line(error, _LABEL_X + 84, place + 5, anchor="start"))
    return element("g", *parts)


def _map_key(y: float, has_exact: bool) -> Svg:
    bands: list[tuple[Mark, str]] = [(swatch_of(tone, style.INK), words) for _, words, tone in _BANDS]
    marks: list[tuple[Mark, str]] = [(lambda x, y: _ring(x, y, 5.5), "a named pair, or a multiple")]
    if has_exact:
        marks.append((lambda x, y: _exact_mark(x, y, 8), "exact"))
    return element(
        "g",
        note("a square is a pair; it is", _LABEL_X, y),
        *(key(_LABEL_X + 10 + 136 * (n // 2), y + 20 + 21 * (n % 2), band) for n, band in enumerate(bands)),
        *(key(_LABEL_X + 10, y + 66 + 22 * n, mark) for n, mark in enumerate(marks)),
    )


# The share of its tolerance that each error uses up, a row a thread.

_AXIS = Scale(0.0001, 10.0, 176.0, 588.0, by_factors=True)
"""Shares of the tolerance; what lies beyond stands at the end."""
_ROWS_TOP, _MOST_PX, _FOOT_PX = 92.0, 264.0, 60.0
_ERROR_X, _SHARE_X = 686.0, 776.0
_LARGEST_ROW_PX, _FEWEST_ROWS, _MOST_ROWS = 34.0, 5, 16
_DONE, _OVER, _BEYOND = style.tint(style.SKY, 0.16), style.tint(style.ORANGE, 0.32), style.tint(style.VERMILLION, 0.5)


def tolerance_shares(verdicts: Sequence[Verdict]) -> Picture:
    """The share of its tolerance that each thread's pitch error uses up, by factors of ten, with the share allowed.

    >>> from gearcalc.threads.deviations import judge
    >>> print(tolerance_shares([judge("M10", 125), judge("1.25 mm", -50)]).description)  # doctest: +ELLIPSIS
    How much ...: M10x1.5, +125 ppm: 1.6 % of the tolerance, good enough; 1.25 mm, −50 ppm: not judged.

    `verdicts`: 1 to 16, from judge(), with the same share allowed. Raises ValueOutOfRangeError otherwise.
    """
    if not 1 <= len(verdicts) <= _MOST_ROWS or len({verdict.share for verdict in verdicts}) > 1:
        raise ValueOutOfRangeError(
            f"this shows 1 to {_MOST_ROWS} verdicts with the same share allowed", value=len(verdicts)
        )
    allowed = writing.percent(verdicts[0].share)
    caption = f"How much of its tolerance each pitch error uses up, {allowed} being allowed"
    said = (f"{each.thread}, {writing.error(each.error_ppm)}: {_share_in_words(each)}" for each in verdicts)
    description = f"{caption}: {'; '.join(said)}."
    row_px = min(_LARGEST_ROW_PX, _MOST_PX / len(verdicts))
    bottom = _ROWS_TOP + row_px * max(len(verdicts), _FEWEST_ROWS)
    return chart(
        (_SHARES_WIDE_PX, ceil(bottom + _FOOT_PX)),
        caption,
        description,
        [_row(each) for each in verdicts],
        _zones(verdicts[0].share, bottom),
        *(_thread(verdict, _ROWS_TOP + (n + 0.5) * row_px, row_px) for n, verdict in enumerate(verdicts)),
        key(
            32,
            bottom + _FOOT_PX - 19,
            (lambda x, y: _mark(True, True, x, y), "exact"),
            (lambda x, y: _mark(True, False, x, y), "good enough"),
            (lambda x, y: _mark(False, False, x, y), "too much"),
            (swatch_of(_DONE), "allowed"),
            (swatch_of(_OVER), "over the share allowed"),
            (swatch_of(_BEYOND), "beyond the tolerance"),
        ),
        title=caption,
    )


def _share_in_words(verdict: Verdict) -> str:
    if verdict.share_used is None:
        return "nothing to judge" if verdict.error_ppm == 0 else "not judged"
    of = f"{share_used_in_words(verdict)} of the tolerance"
    return f"{of}, {'good enough' if verdict.ok else 'too much'}"


def _row(verdict: Verdict) -> Row:
    return {
        "thread": str(verdict.thread),
        "error": writing.error(verdict.error_ppm),
        "share of the tolerance used": None if verdict.share_used is None else share_used_in_words(verdict),
        "good enough": {True: "yes", False: "no", None: "not judged"}[verdict.ok],
    }


def _zones(allowed: float, bottom: float) -> Svg:
    """Allowed, over the share, beyond the tolerance; and the lines of the powers of ten."""
    here, whole, top = _AXIS.held(allowed), _AXIS.at(1), _ROWS_TOP
    ticks = {0.0001: "0.01 %", 0.001: "0.1 %", 0.01: "1 %", 0.1: "10 %", 1.0: "100 %", 10.0: "1000 %"}
    heads = [(LEFT_PX, "thread", "start"), (_ERROR_X, "error", "end"), (_SHARE_X, "share used", "end")]
    return element(
        "g",
        rect(_AXIS.start, top, here, bottom, _DONE),
        rect(here, top, whole, bottom, _OVER),
        rect(whole, top, _AXIS.end, bottom, _BEYOND),
        rules_down(_AXIS, top, bottom, ticks),
        drawn_line(f"M{here:.2f} {top - 8}V{bottom}", style.INK, 1.8, "6 3"),
        drawn_line(f"M{whole:.2f} {top}V{bottom}", style.INK, 1.4),
        over_lines(f"{writing.percent(allowed)} allowed", here, top - 14, size=style.WORD_PX),
        *(note(head, x, top - 14, anchor=anchor) for x, head, anchor in heads),
    )


def _thread(verdict: Verdict, y: float, row_px: float) -> Svg:
    used, left = verdict.share_used, _AXIS.start
    name = bold(shortened(str(verdict.thread), 17), LEFT_PX, y + 5)
    error = text_line(str(writing.error(verdict.error_ppm)), _ERROR_X, y + 4.5, anchor="end")
    if used is None:  # a blank row, so that it stands in no zone
        exact = verdict.error_ppm == 0
        words = "exact, so there is nothing to judge" if exact else "not judged: no tolerance is held here"
        blank = rect(left, y - row_px / 2, _AXIS.end, y + row_px / 2)
        return element("g", name, error, blank, text_line(words, left + 10, y + 4.5, anchor="start"))
    share = text_line(share_used_in_words(verdict).replace("less than", "<"), _SHARE_X, y + 4.5, anchor="end")
    x = _AXIS.held(used)
    guide = drawn_line(f"M{left} {y}H{x:.2f}", style.INK, 1.6)
    return element("g", name, error, share, guide, _mark(bool(verdict.ok), verdict.error_ppm == 0, x, y))


def _mark(ok: bool, exact: bool, x: float, y: float) -> Svg:
    if exact:
        return diamond(x, y, 8, style.BLUE)
    return disc(x, y, 6.5, style.BLUE, width=1.4) if ok else cross(x, y, 6)
