"""What a set of gears reaches: the worst error along the leads of a range; and what added gears open."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, expm1, floor, log, log10

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.additions import GearsToAdd
from gearcalc.finding.coverage import Coverage, Gap
from gearcalc.finding.setups import Setup
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import drawn_line, over_lines, round_number, sheet, shortened, spread, step_for
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, element, number, text_line

COVERAGE_PX = (800, 440)
"""Width and height of the picture."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 92.0, 770.0, 118.0, 346.0
_STRETCHES = 114  # as many as stand apart on paper
_MARKED = 3
_LEAST_PPM = 0.01
_MOST_TICKED = 300
_WIDEST_RANGE = 1000
_BAR, _BAR_EDGE = style.tint(style.SKY, 0.5), style.BLUE
_ROUND_LEADS = tuple(mantissa * 10.0**power for power in range(-3, 4) for mantissa in (1, 2, 3, 5))


def coverage_chart(covered: Coverage) -> Picture:
    """The worst error in each stretch of the range, leads and errors by factors; mean and widest gaps marked.

    >>> from gearcalc.finding.coverage import coverage
    >>> from gearcalc.lathes import demo_lathe
    >>> print(coverage_chart(coverage(demo_lathe("inch"), 1, 2)).caption)
    How far from any lead: Bench lathe with an inch leadscrew, 1 or 2 meshes

    `covered`: from coverage(), its range from some lead to a larger one, at most a thousand times as large. Each bar
    is the worst lead of its stretch, from the gaps themselves: no lead in it is further off.
    Raises ValueOutOfRangeError for a range that is too narrow or too wide to draw.
    """
    if not 1 < covered.to_mm / covered.from_mm <= _WIDEST_RANGE:
        raise ValueOutOfRangeError(
            "the range must run from a lead to a larger one, up to a thousand times it",
            value=f"{covered.from_mm} to {covered.to_mm} mm",
        )
    caption = f"How far from any lead: {covered.lathe_name}, {writing.meshes(covered.meshes)}"
    bars, marked = _bars(covered), _marked(covered)
    description = f"{caption}. {str(covered).partition(': ')[2]} Widest gaps: {'; '.join(map(_gap_in_words, marked))}."
    table = [_gap_row(gap) for gap in covered.widest(10)]
    return Picture(_covered_drawn(covered, bars, marked, caption, description), description, table, caption)


def _bars(covered: Coverage) -> list[float]:
    """The worst error, ppm, in each of the stretches, which are equally wide on paper."""
    start, end = log(covered.from_mm), log(covered.to_mm)
    edges = [start + (end - start) * n / _STRETCHES for n in range(_STRETCHES + 1)]
    leads = [log(lead) for lead in covered.leads_mm]
    gaps = list(covered.gaps())
    places = [log(gap.at_mm) for gap in gaps]
    worst = []
    for low, high in pairwise(edges):
        inside = [gap.ppm for gap in gaps[bisect_left(places, low) : bisect_left(places, high)]]
        worst.append(max([*inside, _off(leads, low), _off(leads, high)]))
    return worst


def _off(leads: Sequence[float], wanted: float) -> float:
    """How far a lead is from the nearest, ppm; all as logarithms."""
    place = bisect_left(leads, wanted)
    return min(abs(expm1(lead - wanted)) for lead in leads[max(place - 1, 0) : place + 1]) * 1_000_000


def _marked(covered: Coverage) -> list[Gap]:
    """The widest gaps, none so near to another that their labels would say the same place."""
    chosen: list[Gap] = []
    apart = log(covered.to_mm / covered.from_mm) / 12
    for gap in covered.widest(60):
        if len(chosen) < _MARKED and gap.error and all(abs(log(gap.at_mm / other.at_mm)) > apart for other in chosen):
            chosen.append(gap)
    return sorted(chosen, key=lambda gap: gap.at_mm)


def _gap_in_words(gap: Gap) -> str:
    return f"{writing.length(gap.at_mm)}, {writing.ppm(gap.ppm)} off"


def _gap_row(gap: Gap) -> Row:
    def shown(lead: object) -> object:
        return None if lead is None else writing.length(lead)  # type: ignore[arg-type]

    return {
        "worst lead": writing.length(gap.at_mm),
        "off by": writing.ppm(gap.ppm),
        "nearest below": shown(gap.below_mm),
        "nearest above": shown(gap.above_mm),
    }


class _Scales:
    """Where a lead and an error stand on paper."""

    def __init__(self, covered: Coverage, bars: Sequence[float]) -> None:
        self.low, self.high = log(covered.from_mm), log(covered.to_mm)
        highest, lowest = max(*bars, 1.0), max(min(*bars, covered.mean_ppm), _LEAST_PPM)
        self.top = log10(round_number(1.25 * highest, up=True))
        self.bottom = min(floor(log10(lowest)), ceil(self.top) - 1)

    def x(self, lead_mm: float | Fraction) -> float:
        return _LEFT + (_RIGHT - _LEFT) * (log(lead_mm) - self.low) / (self.high - self.low)

    def y(self, ppm: float) -> float:
        decades = log10(max(ppm, 10.0**self.bottom)) - self.bottom
        return _BOTTOM - (_BOTTOM - _TOP) * min(decades / (self.top - self.bottom), 1)


def _covered_drawn(
    covered: Coverage, bars: Sequence[float], marked: Sequence[Gap], caption: str, description: str
) -> Svg:
    scales = _Scales(covered, bars)
    shown = f"No lead from {writing.length(covered.from_mm)} to {writing.length(covered.to_mm)} is further off than "
    return sheet(
        COVERAGE_PX,
        caption,
        description,
        text_line(caption, 24, 36, size=15, anchor="start", font_weight="bold"),
        text_line(
            f"{shown}{writing.ppm(covered.worst_ppm)}.", 24, 57, size=style.WORD_PX, anchor="start", fill=style.SOFT
        ),
        _outline(scales, bars),
        _grid(scales),
        _leads(scales, covered),
        _mean(scales, covered.mean_ppm),
        *_marks(scales, marked),
    )


def _grid(scales: _Scales) -> Svg:
    decades = [10.0**power for power in range(scales.bottom, floor(scales.top) + 1)]
    rules = "".join(f"M{_LEFT} {number(scales.y(ppm))}H{_RIGHT}" for ppm in decades)
    words = [
        text_line(_with_spaces(ppm), _LEFT - 8, scales.y(ppm) + 4, size=style.SMALL_PX, anchor="end") for ppm in decades
    ]
    head = text_line("worst error, ppm", 24, _TOP - 36, size=style.WORD_PX, anchor="start", fill=style.SOFT)
    return element("g", drawn_line(rules, style.FAINT, 0.8), *words, head)


def _with_spaces(ppm: float) -> str:
    return f"{ppm:,.0f}".replace(",", " ") if ppm >= 1 else writing.decimal(ppm, 2)


def _outline(scales: _Scales, bars: Sequence[float]) -> Svg:
    """The bars as one stepped outline over a filled ground."""
    width = (_RIGHT - _LEFT) / len(bars)
    steps = "".join(f"V{number(scales.y(ppm))}H{number(_LEFT + (n + 1) * width)}" for n, ppm in enumerate(bars))
    filled = element("path", d=Svg(f"M{_LEFT} {_BOTTOM}{steps}V{_BOTTOM}Z"), fill=_BAR, stroke="none")
    edge = drawn_line(f"M{_LEFT} {_BOTTOM}{steps}V{_BOTTOM}", _BAR_EDGE, 1.2)
    return element("g", filled, edge, drawn_line(f"M{_LEFT} {_BOTTOM}H{_RIGHT}", style.INK, 1.2))


def _mean(scales: _Scales, ppm: float) -> Svg:
    y = scales.y(ppm)
    words = over_lines(f"mean {writing.ppm(ppm)}", _RIGHT - 8, y - 6, size=style.WORD_PX, anchor="end")
    return element("g", drawn_line(f"M{_LEFT} {number(y)}H{_RIGHT}", style.INK, 1.6, "6 3"), words)


def _marks(scales: _Scales, marked: Sequence[Gap]) -> list[Svg]:
    """A pin at each of the widest gaps, its lead and error above."""
    labels = [f"{writing.decimal(gap.at_mm, 3)} mm: {writing.ppm(gap.ppm)}" for gap in marked]
    widths = [style.text_width_px(label, style.WORD_PX) + 20 for label in labels]
    middles = spread([scales.x(gap.at_mm) for gap in marked], widths, _LEFT, _RIGHT)
    parts = []
    for gap, label, middle in zip(marked, labels, middles, strict=True):
        x, y = scales.x(gap.at_mm), scales.y(gap.ppm)
        pin = drawn_line(f"M{number(middle)} {_TOP - 4}L{number(x)} {number(y)}", style.INK, 1.0)
        spot = element("circle", cx=x, cy=y, r=4.5, fill=style.VERMILLION, stroke=style.INK, stroke_width=1.2)
        parts.append(element("g", pin, spot, over_lines(label, middle, _TOP - 9, size=style.WORD_PX)))
    return parts


def _leads(scales: _Scales, covered: Coverage) -> Svg:
    """The axis of the leads, in mm, and the same in threads per inch beneath; a tick a lead where few are cut."""
    inside = [lead for lead in covered.leads_mm if covered.from_mm <= lead <= covered.to_mm]
    ticked = len(inside) <= _MOST_TICKED
    ticks = "".join(f"M{number(scales.x(float(lead)))} {_BOTTOM}v9" for lead in inside) if ticked else ""
    parts = [drawn_line(ticks, style.INK, 1.0)] if ticks else []
    for lead in _round_leads(covered):
        x = scales.x(lead)
        parts += [
            drawn_line(f"M{number(x)} {_TOP}V{_BOTTOM}", style.FAINT, 0.8),
            text_line(writing.decimal(lead, 3), x, _BOTTOM + 26, size=style.WORD_PX),
            text_line(writing.decimal(25.4 / lead, 1), x, _BOTTOM + 44, size=style.SMALL_PX, fill=style.SOFT),
        ]
    note = "Each bar: the lead that is worst off in its stretch. Both scales go by factors."
    if ticked:
        note += " Ticks: the leads that can be cut."
    parts += [
        text_line("lead, mm", 24, _BOTTOM + 26, size=style.WORD_PX, anchor="start", fill=style.SOFT),
        text_line("tpi", 24, _BOTTOM + 44, size=style.SMALL_PX, anchor="start", fill=style.SOFT),
        text_line(note, 24, COVERAGE_PX[1] - 20, size=style.SMALL_PX, anchor="start", fill=style.SOFT),
    ]
    return element("g", *parts)


def _round_leads(covered: Coverage) -> list[float]:
    """A few round leads to name along the axis."""
    low, high = float(covered.from_mm), float(covered.to_mm)
    if high / low > 6:
        chosen = [lead for lead in _ROUND_LEADS if low * 1.05 <= lead <= high * 1.001]
        return chosen if high / low <= 60 else [lead for lead in chosen if log10(lead) % 1 < 0.01 or high / lead < 2]
    step = step_for(high - low, 7)
    return [n * step for n in range(ceil(low / step * 1.04), floor(high / step * (1 + 1e-9)) + 1)]


# What added gears open: how far each thread is off today and with them, a row a thread.


OPENS_PX = (800, 480)
"""Width and height of the picture."""

_START, _END, _UPPER, _LOWER = 200.0, 536.0, 124.0, 414.0
_NEW_X = _START - 20
_TODAY_X, _WITH_X = 670.0, 776.0
_LEAST, _MOST = 1.0, 1_000_000.0  # ppm; what lies beyond stands at the end
_LARGEST_ROW_PX, _MOST_ROWS = 46.0, 16
_WITHIN = style.tint(style.SKY, 0.3)
_TAG = style.tint(style.SKY, 0.46)


def what_opens(plan: GearsToAdd) -> Picture:
    """How far each thread is off today, and with the gears added; what lies within the tolerance is tinted.

    >>> from gearcalc.finding.additions import gears_to_add
    >>> from gearcalc.lathes import demo_lathe
    >>> print(what_opens(gears_to_add(demo_lathe("inch"), ["1 mm", "16 tpi"], 50)).description)
    Gears worth adding, within 50 ppm: 127. 1 mm: today +125 ppm, then exact, opened; 16 tpi: today exact, then exact.

    `plan`: from gears_to_add(), 1 to 16 threads. Raises ValueOutOfRangeError for more.
    """
    if not 1 <= len(plan.threads) <= _MOST_ROWS:
        raise ValueOutOfRangeError(f"this shows 1 to {_MOST_ROWS} threads", value=len(plan.threads))
    within = f"within {_number(plan.within_ppm)} ppm" if plan.within_ppm else "exact only"
    caption = f"Gears worth adding, {within}: {', '.join(map(str, plan.gears)) or 'none'}"
    rows = [_thread_row(plan, place) for place in range(len(plan.threads))]
    description = f"{caption}. {'; '.join(_thread_in_words(plan, place) for place in range(len(rows)))}."
    return Picture(_opens_drawn(plan, caption, description), description, rows, caption)


def _error(setup: Setup | None) -> str:
    return "none" if setup is None or setup.error is None else str(writing.error(setup.error))


def _thread_in_words(plan: GearsToAdd, place: int) -> str:
    opened = ", opened" if plan.threads[place] in plan.opened else ""
    after = _error(plan.setups[place]) if plan.setups[place] is not None else "none near enough"
    return f"{plan.threads[place]}: today {_error(plan.before[place])}, then {after}{opened}"


def _thread_row(plan: GearsToAdd, place: int) -> Row:
    after = plan.setups[place]
    return {
        "thread": str(plan.threads[place]),
        "today": _error(plan.before[place]),
        "with the gears added": _error(after) if after is not None else "none near enough",
        "train": None if after is None else after.train.written,
        "lever": None if after is None else after.settings or None,
        "opened": plan.threads[place] in plan.opened,
    }


def _x(setup: Setup | None) -> float:
    """Where its error stands: exact at the left end, by factors of ten from there."""
    if setup is None or setup.error is None:
        return _END
    return _START if setup.is_exact else _at(abs(setup.error_ppm or 0.0))


def _at(ppm: float) -> float:
    inside = min(max(ppm, _LEAST), _MOST)
    return _START + 40 + (_END - _START - 40) * log10(inside / _LEAST) / log10(_MOST / _LEAST)


def _number(x: object) -> str:
    return writing.decimal(x, 3)  # type: ignore[arg-type]


def _opens_drawn(plan: GearsToAdd, caption: str, description: str) -> Svg:
    row_px = min(_LARGEST_ROW_PX, (_LOWER - _UPPER) / len(plan.threads))
    return sheet(
        OPENS_PX,
        caption,
        description,
        *_shopping_list(plan),
        _ground(plan, _UPPER + len(plan.threads) * row_px),
        *(_thread(plan, place, _UPPER + (place + 0.5) * row_px) for place in range(len(plan.threads))),
        _key(),
    )


def _shopping_list(plan: GearsToAdd) -> list[Svg]:
    """The gears to add, each on a tag, and how far that is proved."""
    heading = "Add" if plan.gears else "Nothing to add" if plan.proven and plan.serves_all else "Nothing helps"
    parts = [text_line(heading, 24, 42, size=17, anchor="start", font_weight="bold")]
    x = 24 + style.text_width_px(heading, 19) + 16
    for teeth in plan.gears:
        width = 26 + style.text_width_px(str(teeth), 17)
        parts.append(
            element("rect", x=x, y=20, width=width, height=32, rx=16, fill=_TAG, stroke=style.INK, stroke_width=1.4)
        )
        parts.append(text_line(str(teeth), x + width / 2, 42, size=17, font_weight="bold"))
        x += width + 10
    if plan.gears:
        parts.append(text_line("teeth", x + 2, 42, size=15, anchor="start"))
    parts.append(text_line(_proof(plan), 24, 74, size=style.WORD_PX, anchor="start", fill=style.SOFT))
    return parts


def _proof(plan: GearsToAdd) -> str:
    served = sum(setup is not None for setup in plan.setups)
    near = f"within {_number(plan.within_ppm)} ppm" if plan.within_ppm else "exact"
    said = f"{served} of {len(plan.threads)} threads {near}, {len(plan.opened)} of them new."
    if plan.proven and plan.gears:
        return f"{said} Fewer don't do: proved for {writing.meshes(plan.meshes)}."
    return said if plan.proven else f"{said} Best found; proved is only that it takes {plan.lower_bound} or more."


def _ground(plan: GearsToAdd, bottom: float) -> Svg:
    """The tolerance as a tinted zone, and the lines of the powers of ten."""
    limit = _at(float(plan.within_ppm)) if plan.within_ppm else _START + 14
    ticks = [(_START, "exact"), *((_at(10.0**power), f"{10**power:,}".replace(",", " ")) for power in (0, 2, 4, 6))]
    every = [_START, *(_at(10.0**power) for power in range(7))]
    rules = "".join(f"M{number(x)} {_UPPER}V{bottom}" for x in every)
    heads = [(24.0, "thread", "start"), (_TODAY_X, "today", "end"), (_WITH_X, "with them", "end")]
    return element(
        "g",
        element("rect", x=_START - 14, y=_UPPER, width=limit - _START + 14, height=bottom - _UPPER, fill=_WITHIN),
        drawn_line(rules, style.FAINT, 0.8),
        drawn_line(f"M{number(limit)} {_UPPER - 6}V{bottom}", style.INK, 1.6, "6 3"),
        over_lines("near enough", max(limit - 4, _START + 62), _UPPER - 11, size=style.SMALL_PX, anchor="end"),
        *(text_line(label, x, bottom + 17, size=style.SMALL_PX) for x, label in ticks),
        text_line("ppm off", 24, bottom + 17, size=style.SMALL_PX, anchor="start", fill=style.SOFT),
        *(text_line(head, x, _UPPER - 11, size=style.WORD_PX, anchor=end, fill=style.SOFT) for x, head, end in heads),
    )


def _thread(plan: GearsToAdd, place: int, y: float) -> Svg:
    thread, before, after = plan.threads[place], plan.before[place], plan.setups[place]
    new = thread in plan.opened
    name = shortened(str(thread), 15)
    parts = [text_line(name, 24, y + 5, size=15, anchor="start", font_weight="bold" if new else "normal")]
    if new:
        parts.append(text_line("new", _NEW_X, y + 4.5, size=style.SMALL_PX, anchor="end", fill=style.BLUE))
        parts.append(_arrow(_x(before), _x(after), y))
    parts.append(_ring(_x(before), y))
    if after is not None:
        parts.append(_spot(_x(after), y))
    then = _error(after) if after is not None else "too far off"
    parts.append(text_line(_error(before), _TODAY_X, y + 4.5, size=style.WORD_PX, anchor="end"))
    parts.append(
        text_line(then, _WITH_X, y + 4.5, size=style.WORD_PX, anchor="end", font_weight="bold" if new else "normal")
    )
    return element("g", *parts)


def _arrow(start: float, end: float, y: float) -> Svg:
    """From the ring to the spot, where there is room for one."""
    if start - end < 26:
        return element("g")
    head = f"M{number(end + 18)} {number(y - 5)}l-8 5l8 5"
    return element(
        "g",
        drawn_line(f"M{number(start - 7)} {number(y)}H{number(end + 10)}", style.INK, 1.4),
        drawn_line(head, style.INK, 1.4),
    )


def _ring(x: float, y: float) -> Svg:
    return element("circle", cx=x, cy=y, r=6.5, fill=style.PAPER, stroke=style.INK, stroke_width=1.8)


def _spot(x: float, y: float) -> Svg:
    return element("circle", cx=x, cy=y, r=4.2, fill=style.BLUE, stroke=style.INK, stroke_width=1.0)


def _key() -> Svg:
    y = OPENS_PX[1] - 20.0
    return element(
        "g",
        _ring(32, y - 4.5),
        text_line("with the gears of today", 46, y, size=style.WORD_PX, anchor="start"),
        _spot(226, y - 4.5),
        text_line("with the gears added", 240, y, size=style.WORD_PX, anchor="start"),
        element("rect", x=394, y=y - 13, width=24, height=15, fill=_WITHIN, stroke=style.FAINT),
        text_line("within the tolerance", 424, y, size=style.WORD_PX, anchor="start"),
    )
