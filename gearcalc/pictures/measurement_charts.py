"""A measured lead as a band among the leads it may be; and two leads, from how many turns they are told apart."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, as_fraction
from gearcalc.cutting.measurements import Judgement, turns_to_tell
from gearcalc.cutting.wrong_leads import WrongLeads
from gearcalc.finding.setups import Setup
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import drawn_line, over_lines, sheet, shortened, step_for
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.threads import Thread, as_thread, standard_threads

BAND_PX = (800, 352)
"""Width and height of the pictures."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 220.0, 586.0, 90.0, 286.0
_LAST_X = 776.0
_LARGEST_ROW_PX, _MOST_ROWS, _NEIGHBOURS = 28.0, 7, 6
_NARROWEST_PX = 3.0
_WORDS_LONG = 28
_NOTHING = "No single slip known here."
_BAND = style.tint(style.SKY, 0.38)


@frozen
class _Line:
    """A row: what it is, its lead, what stands at its end, whether it was wanted, and whether its hand rules it out."""

    words: str
    lead: Exact
    at_the_end: str
    wanted: bool = False
    gears: str = ""
    wrong_hand: bool = False


def measured_band(judgement: Judgement) -> Picture:
    """The leads that a measurement leaves possible, the wanted lead, and the standard pitches around.

    >>> from gearcalc.cutting.measurements import judge_measurement
    >>> picture = measured_band(judge_measurement("1.25 mm", turns=10, length_mm=12.6, uncertainty_mm=0.25))
    >>> [row["possible"] for row in picture.table if row["lead"] in ("1.25 mm (20.32 tpi)", "1.27 mm (20 tpi)")]
    ['yes', 'yes']

    Beside each pitch stands over how many turns the same uncertainty tells it from the wanted one for certain. A hand
    that was seen and not wanted rules out the wanted thread, wherever its lead lies.
    """
    wanted = judgement.thread.lead
    end = f"wanted {judgement.thread.hand}-hand" if judgement.wrong_hand else "wanted"
    words = _both_ways(wanted, judgement.thread.starts)
    lines = [_Line(words, wanted, end, wanted=True, wrong_hand=judgement.wrong_hand)]
    lines += [_Line(_both_ways(lead), lead, _turns_beside(judgement, lead)) for lead in _pitches_around(judgement)]
    band = judgement.lead_from_mm, judgement.lead_to_mm
    caption = (
        f"{judgement.thread}: {writing.decimal(judgement.length_mm)} ± {writing.decimal(judgement.uncertainty_mm)} mm "
        f"over {writing.turns(judgement.turns)}"
        f"{'' if judgement.hand is None else f', {judgement.hand}-hand'}"
    )
    heads = ("standard pitch", "turns to tell apart")
    return _picture(sorted(lines, key=lambda line: float(line.lead)), band, caption, heads)


def _both_ways(lead: Exact, starts: int = 1) -> str:
    if isinstance(lead, PiMultiple):
        return f"{writing.number(lead)} mm, {writing.length(lead, places=3)}"
    return writing.lead(lead).text if starts == 1 else f"{writing.length(lead)}, {starts} starts"


def _turns_beside(judgement: Judgement, lead: Exact) -> str:
    return str(judgement.turns_to_tell(_thread_of(lead)))


def _thread_of(lead: Exact) -> str:
    return next(str(thread) for thread in standard_threads() if thread.lead == lead)


def _pitches_around(judgement: Judgement) -> list[Exact]:
    """The standard leads nearest to the middle of the band, the wanted one left out."""
    others = {thread.lead for thread in standard_threads()} - {judgement.thread.lead}
    middle = float(judgement.lead_mm)
    return sorted(others, key=lambda lead: (abs(float(lead) - middle), float(lead)))[:_NEIGHBOURS]


def leads_of_slips(
    found: WrongLeads, meant: Setup, measured_lead_mm: Fraction, uncertainty_mm: Fraction, most: int = 6
) -> Picture:
    """What was measured, what was meant, and the leads of the slips that would explain it, the likeliest first.

    Where there is room left, the nearest of those that are ruled out.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> meant = gc.setup(lathe, 40, 50, "low", wanted="20 tpi")
    >>> found = gc.explain_wrong_lead(meant, 1.98, 0.02)
    >>> leads_of_slips(found, meant, Fraction(198, 100), Fraction(2, 100)).table[1]["what"]
    '1 pair upside down'

    `found`: of explain_wrong_lead(); `most`: how many slips, 1 to 6.
    """
    if not 1 <= most < _MOST_ROWS:
        raise ValueOutOfRangeError(f"this shows 1 to {_MOST_ROWS - 1} slips", value=most)
    lines = [_Line("meant", meant.lead_mm, _both_ways(meant.lead_mm, meant.starts), wanted=True, gears=_gears(meant))]
    lines += [
        _Line(f"{place} {slip.kind}", slip.lead_mm, _both_ways(slip.lead_mm, meant.starts), gears=_gears(slip.setup))
        for place, slip in enumerate(found[:most], 1)
    ]
    lines += [
        _Line(slip.kind, slip.lead_mm, _both_ways(slip.lead_mm, meant.starts), gears=_gears(slip.setup))
        for slip in found.ruled_out[: most + 1 - len(lines)]
        if slip.kind not in ("nothing wrong", "wrong hand")
    ]
    caption = (
        f"Measured {writing.decimal(measured_lead_mm)} ± {writing.decimal(uncertainty_mm)} mm: what would cut that?"
    )
    band = measured_lead_mm - uncertainty_mm, measured_lead_mm + uncertainty_mm
    return _picture(lines, band, caption, ("what", "lead"), note="" if found else _NOTHING)


def _gears(setup: Setup) -> str:
    lever = f", {setup.lever}" if setup.lever is not None else ""
    return f"{writing.train(setup.train.drivers, setup.train.driven)}{lever}"


# The picture.


def _picture(
    lines: Sequence[_Line], band: tuple[Fraction, Fraction], caption: str, heads: tuple[str, str], note: str = ""
) -> Picture:
    inside = [band[0] <= line.lead <= band[1] and not line.wrong_hand for line in lines]
    left = f"possible: {writing.decimal(band[0])} to {writing.decimal(band[1])} mm"
    said = "; ".join(_in_words(line, heads, within) for line, within in zip(lines, inside, strict=True))
    description = f"{caption.rstrip('?')}. Leads that are {left}. {said}. {note}".strip()
    rows = [_row(line, heads, within) for line, within in zip(lines, inside, strict=True)]
    return Picture(
        _band_drawn(lines, inside, band, (caption, description), (*heads, left, note)), description, rows, caption
    )


def _in_words(line: _Line, heads: tuple[str, str], inside: bool) -> str:
    where = "possible" if inside else "ruled out"
    if heads[1] == "lead":
        return f"{line.words}, {line.gears}, lead {line.at_the_end}: {where}"
    turns = "turn" if line.at_the_end == "1" else "turns"
    wanted = ", wanted" if line.wanted else f", {line.at_the_end} {turns} to tell apart"
    return f"{line.words}{wanted}: {where}"


def _row(line: _Line, heads: tuple[str, str], inside: bool) -> Row:
    possible = "yes" if inside else "no"
    if heads[1] == "lead":
        return {"what": line.words, "gears and lever": line.gears, "lead": line.at_the_end, "possible": possible}
    return {"lead": line.words, "possible": possible, "turns to tell apart": line.at_the_end}


def _band_drawn(
    lines: Sequence[_Line],
    inside: Sequence[bool],
    band: tuple[Fraction, Fraction],
    names: tuple[str, str],
    words: tuple[str, str, str, str],
) -> Svg:
    scale = _Scale.over([*(float(line.lead) for line in lines), *map(float, band)])
    row_px = min(_LARGEST_ROW_PX, (_BOTTOM - _TOP) / len(lines))
    bottom = _TOP + row_px * len(lines)
    rows = (
        _one_row(line, within, _TOP + (n + 0.5) * row_px, scale)
        for n, (line, within) in enumerate(zip(lines, inside, strict=True))
    )
    return sheet(
        BAND_PX,
        *names,
        text_line(shortened(names[0], 90), 24, 36, size=15, anchor="start", font_weight="bold"),
        text_line(words[3], _LAST_X, 36, size=15, anchor="end", font_weight="bold") if words[3] else Svg(""),
        text_line(words[0], 24, _TOP - 14, size=style.WORD_PX, anchor="start", fill=style.SOFT),
        text_line(words[1], _LAST_X, _TOP - 14, size=style.WORD_PX, anchor="end", fill=style.SOFT),
        _band(scale, band, bottom, words[2]),
        *rows,
        _axis(scale, bottom),
        _key(),
    )


@frozen
class _Scale:
    """Leads in mm along the picture."""

    low: float
    high: float

    @classmethod
    def over(cls, leads: Sequence[float]) -> _Scale:
        low, high = min(leads), max(leads)
        edge = 0.06 * (high - low) or 0.05 * high
        return cls(max(0.0, low - edge), high + edge)

    def x(self, lead: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * (lead - self.low) / (self.high - self.low)


def _band(scale: _Scale, band: tuple[Fraction, Fraction], bottom: float, words: str) -> Svg:
    low, high = (scale.x(float(end)) for end in band)
    if high - low < _NARROWEST_PX:
        middle = (low + high) / 2
        low, high = middle - _NARROWEST_PX / 2, middle + _NARROWEST_PX / 2
    half = style.text_width_px(words, style.WORD_PX) / 2
    middle = min(max((low + high) / 2, _LEFT + half - 20), _RIGHT - half + 20)
    return element(
        "g",
        element("rect", x=low, y=_TOP - 6, width=high - low, height=bottom - _TOP + 6, fill=_BAND),
        drawn_line(f"M{low:.2f} {_TOP - 6:.2f}V{bottom:.2f}M{high:.2f} {_TOP - 6:.2f}V{bottom:.2f}", style.BLUE, 1.4),
        over_lines(words, middle, _TOP - 30, size=style.WORD_PX, font_weight="bold"),
    )


def _one_row(line: _Line, inside: bool, y: float, scale: _Scale) -> Svg:
    weight = "bold" if line.wanted else None
    x = scale.x(float(line.lead))
    return element(
        "g",
        drawn_line(f"M{_LEFT} {y:.2f}H{_RIGHT}", style.FAINT, 0.8),
        text_line(
            shortened(line.words, _WORDS_LONG), 24, y + 4.5, size=style.WORD_PX, anchor="start", font_weight=weight
        ),
        text_line(line.at_the_end, _LAST_X, y + 4.5, size=style.WORD_PX, anchor="end", font_weight=weight),
        _mark(inside, line.wanted, x, y),
    )


def _mark(inside: bool, wanted: bool, x: float, y: float) -> Svg:
    """Filled where it is still possible, a cross where it is ruled out; the wanted one is a diamond around that."""
    ring = Svg("")
    if wanted:
        path = f"M{x:.2f} {y - 12:.2f}l12 12l-12 12l-12 -12Z"
        ring = element("path", d=Svg(path), fill=style.PAPER, stroke=style.INK, stroke_width=1.8)
    if inside:
        mark = element("circle", cx=x, cy=y, r=6, fill=style.BLUE, stroke=style.INK, stroke_width=1.4)
        return element("g", ring, mark)
    size = 4 if wanted else 5.5
    cross = f"M{x - size:.2f} {y - size:.2f}l{2 * size} {2 * size}m0 -{2 * size}l-{2 * size} {2 * size}"
    return element("g", ring, drawn_line(cross, style.PAPER, 6.5), drawn_line(cross, style.INK, 2.8))


def _axis(scale: _Scale, bottom: float) -> Svg:
    step = step_for(scale.high - scale.low, 5)
    places = 6
    first = int(scale.low // step) + 1
    ticks = [n * step for n in range(first, first + 12) if n * step <= scale.high]
    parts = [drawn_line(f"M{_LEFT} {bottom:.2f}H{_RIGHT}", style.INK, 1.2)]
    for tick in ticks:
        parts.append(drawn_line(f"M{scale.x(tick):.2f} {bottom:.2f}v6", style.INK, 1.2))
        words = writing.decimal(tick, places)
        parts.append(over_lines(words, scale.x(tick), bottom + 20))
    parts.append(text_line("lead, mm", _LEFT - 12, bottom + 20, size=style.SMALL_PX, anchor="end", fill=style.SOFT))
    return element("g", *parts)


def _key() -> Svg:
    parts, x, y = [], 36.0, BAND_PX[1] - 22.0
    for inside, wanted, words in ((True, False, "still possible"), (False, False, "ruled out")):
        parts.append(_mark(inside, wanted, x, y - 4.5))
        parts.append(text_line(words, x + 14, y, size=style.WORD_PX, anchor="start"))
        x += style.text_width_px(words, style.WORD_PX) + 44
    path = f"M{x:.2f} {y - 15:.2f}l10.5 10.5l-10.5 10.5l-10.5 -10.5Z"
    parts.append(element("path", d=Svg(path), fill=style.PAPER, stroke=style.INK, stroke_width=1.8))
    parts.append(text_line("in a diamond: what was meant", x + 18, y, size=style.WORD_PX, anchor="start"))
    x += style.text_width_px("in a diamond: what was meant", style.WORD_PX) + 48
    parts.append(element("rect", x=x - 8, y=y - 13, width=24, height=15, fill=_BAND, stroke=style.BLUE))
    parts.append(text_line("what was measured, ± its limit", x + 22, y, size=style.WORD_PX, anchor="start"))
    return element("g", *parts)


# Two leads, and a length known to ± a limit: the readings of each, and from how many turns they can't be mistaken.


APART_PX = (800, 400)
"""Width and height of the picture."""

_START, _END, _UPPER, _LOWER = 84.0, 640.0, 92.0, 340.0
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
    return Picture(_apart_drawn(pair, caption, description), description, _rows(pair), caption)


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
        return _START + (_END - _START) * turns / self.turns

    def y(self, mm: float) -> float:
        return _LOWER - (_LOWER - _UPPER) * (mm - self.low) / (self.high - self.low)


def _apart_drawn(pair: _Pair, caption: str, description: str) -> Svg:
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
    words = f"from {writing.turns(pair.turns)} on: for certain"
    left = x > (_START + _END) / 2
    return element(
        "g",
        drawn_line(f"M{x:.2f} {_UPPER - 6}V{_LOWER}", style.INK, 1.6, "6 3"),
        over_lines(
            words,
            x - 8 if left else x + 8,
            _UPPER + 2,
            size=style.WORD_PX,
            anchor="end" if left else "start",
            font_weight="bold",
        ),
    )


def _names(scales: _Scales, pair: _Pair) -> Svg:
    parts = []
    for name, slope, colour in ((pair.one, 0.0, _COLOURS[0]), (pair.other, pair.apart, _COLOURS[1])):
        y = scales.y(pair.last_turn * slope)
        parts.append(drawn_line(f"M{_END + 4} {y:.2f}h10", colour, 2.6, "5 3" if slope else None))
        parts.append(text_line(shortened(name, 15), _END + 20, y + 4.5, size=15, anchor="start", font_weight="bold"))
    return element("g", *parts)


def _axes(scales: _Scales, pair: _Pair) -> Svg:
    parts = [drawn_line(f"M{_START} {_UPPER - 6}V{_LOWER}H{_END}", style.INK, 1.2)]
    step = max(1.0, step_for(scales.turns, 8))
    for n in range(int(scales.turns / step) + 1):
        x = scales.x(n * step)
        parts.append(drawn_line(f"M{x:.2f} {_LOWER}v6", style.INK, 1.2))
        parts.append(text_line(writing.decimal(n * step, 0), x, _LOWER + 21, size=style.SMALL_PX))
    rise = step_for(scales.high - scales.low, 6)
    for n in range(int(scales.low / rise) - 1, int(scales.high / rise) + 2):
        if scales.low <= n * rise <= scales.high:
            y = scales.y(n * rise)
            parts.append(drawn_line(f"M{_START} {y:.2f}H{_END}", style.FAINT, 0.8))
            parts.append(text_line(writing.signed(n * rise, 4), _START - 10, y + 4, size=style.SMALL_PX, anchor="end"))
    parts.append(text_line("turns measured", (_START + _END) / 2, _LOWER + 44, size=style.WORD_PX, fill=style.SOFT))
    above = f"what is read, less so many turns of {shortened(pair.one, 16)}, in mm; shaded: ± {pair.mm(pair.limit)}"
    parts.append(text_line(above, 24, 58, size=style.WORD_PX, anchor="start", fill=style.SOFT))
    return element("g", *parts)
