"""What a set of gears reaches: the worst error along the leads of a range; and what added gears open."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, log, log10

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM
from gearcalc.basics.writing import Units
from gearcalc.finding.additions import GearsToAdd
from gearcalc.finding.coverage import Coverage, Gap
from gearcalc.finding.setups import Setup
from gearcalc.lathes.gear_words import first_size
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import (
    LEFT_PX,
    Scale,
    chart,
    key,
    power_of_ten,
    round_number,
    rules_across,
    rules_down,
    shortened,
    spread,
    swatch_of,
)
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, number, over_lines, rect, shape, text_line

COVERAGE_PX, OPENS_PX = (800, 440), (800, 480)
"""Width and height of the pictures."""

# How close a set comes to any lead.

_LEFT, _RIGHT, _TOP, _BOTTOM = 92.0, 770.0, 118.0, 346.0
_MEAN_X = 240.0
_STRETCHES = 114  # as many as stand apart on paper
_MARKED = 3
_LEAST_PPM = 0.01
_MOST_TICKED = 300
_WIDEST_RANGE = 1000
_CLEAR_PX, _APART_PX = 28, 40  # of what stands before the axis, and of one another


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
    widest = "; ".join(f"{covered.said(gap.at_mm)}, {writing.ppm(gap.ppm)} off" for gap in marked)
    description = f"{caption}. {str(covered).partition(': ')[2]} Widest gaps: {widest}."
    table = [_gap_row(covered, gap) for gap in covered.widest(10)]
    drawn = _covered_drawn(covered, bars, marked)
    return chart(COVERAGE_PX, caption, description, table, *drawn, title=caption)


def _bars(covered: Coverage) -> list[float]:
    """The worst error, ppm, in each of the stretches, which are equally wide on paper."""
    start, end = float(covered.from_mm), float(covered.to_mm)
    edges = [start * (end / start) ** (n / _STRETCHES) for n in range(_STRETCHES + 1)]
    at_edges = [covered.off_ppm(edge) for edge in edges]
    worst = list(map(max, pairwise(at_edges)))
    for at_mm, ppm in covered.gaps_about():
        stretch = min(max(bisect_right(edges, at_mm) - 1, 0), _STRETCHES - 1)
        worst[stretch] = max(worst[stretch], ppm)
    return worst


def _marked(covered: Coverage) -> list[Gap]:
    """The widest gaps, none so near to another that their labels would say the same place."""
    chosen: list[Gap] = []
    apart = log(covered.to_mm / covered.from_mm) / 12
    for gap in covered.widest(60):
        if len(chosen) < _MARKED and gap.error and all(abs(log(gap.at_mm / other.at_mm)) > apart for other in chosen):
            chosen.append(gap)
    return sorted(chosen, key=lambda gap: gap.at_mm)


def _gap_row(covered: Coverage, gap: Gap) -> Row:
    def shown(lead: object) -> object:
        return None if lead is None else covered.said(lead)  # type: ignore[arg-type]

    return {
        "worst lead": covered.said(gap.at_mm),
        "off by": writing.ppm(gap.ppm),
        "nearest below": shown(gap.below_mm),
        "nearest above": shown(gap.above_mm),
    }


def _covered_drawn(covered: Coverage, bars: Sequence[float], marked: Sequence[Gap]) -> list[Svg]:
    leads = Scale(float(covered.from_mm), float(covered.to_mm), _LEFT, _RIGHT, by_factors=True)
    lowest = max(min(*bars, covered.mean_ppm), _LEAST_PPM)
    highest = round_number(1.25 * max(*bars, 1.0), up=True)
    errors = Scale(10.0 ** min(floor(log10(lowest)), ceil(log10(highest)) - 1), highest, _BOTTOM, _TOP, by_factors=True)
    powers = range(round(log10(errors.low)), floor(log10(highest)) + 1)
    shown = f"No lead from {covered.said(covered.from_mm)} to {covered.said(covered.to_mm)} is further off than "
    return [
        note(f"{shown}{writing.ppm(covered.worst_ppm)}.", LEFT_PX, 57),
        *_stepped(errors, bars),
        note("worst error, ppm", LEFT_PX, _TOP - 36),
        rules_across(errors, _LEFT, _RIGHT, {10.0**power: power_of_ten(power) for power in powers}),
        *_leads(leads, covered),
        _mean_line(_LEFT, _RIGHT, errors.held(covered.mean_ppm)),
        # Said above the pins, since one of them may end as high as the mean.
        key(_MEAN_X, _TOP - 36, (_dashes, f"mean error of all leads {writing.ppm(covered.mean_ppm)}")),
        *_pins(leads, errors, marked, covered.units),
    ]


def _mean_line(start: float, end: float, y: float) -> Svg:
    return drawn_line(f"M{number(start)} {number(y)}H{number(end)}", style.INK, 1.6, "6 3")


def _dashes(x: float, y: float) -> Svg:
    return _mean_line(x - 24, x + 9, y)


def _stepped(errors: Scale, bars: Sequence[float]) -> list[Svg]:
    """The bars as one stepped outline over a filled ground."""
    width = (_RIGHT - _LEFT) / len(bars)
    steps = "".join(f"V{number(errors.held(ppm))}H{number(_LEFT + (n + 1) * width)}" for n, ppm in enumerate(bars))
    outline = f"M{_LEFT} {_BOTTOM}{steps}V{_BOTTOM}"
    return [
        shape(f"{outline}Z", style.tint(style.SKY, 0.5)),
        drawn_line(outline, style.BLUE, 1.2),
        drawn_line(f"M{_LEFT} {_BOTTOM}H{_RIGHT}", width=1.2),
    ]


def _pins(leads: Scale, errors: Scale, marked: Sequence[Gap], units: Units) -> list[Svg]:
    """A pin at each of the widest gaps, its lead and error above."""
    labels = [f"{_lead(gap.at_mm, units)}: {writing.ppm(gap.ppm)}" for gap in marked]
    widths = [style.text_width_px(label, style.WORD_PX) + 20 for label in labels]
    middles = spread([leads.at(gap.at_mm) for gap in marked], widths, _LEFT, _RIGHT)
    parts = []
    for gap, label, middle in zip(marked, labels, middles, strict=True):
        x, y = leads.at(gap.at_mm), errors.held(gap.ppm)
        parts.append(drawn_line(f"M{number(middle)} {_TOP - 4}L{number(x)} {number(y)}"))
        parts.append(disc(x, y, 4.5, style.VERMILLION))
        parts.append(over_lines(label, middle, _TOP - 9, size=style.WORD_PX))
    return parts


def _lead(mm: Fraction, units: Units) -> str:
    return f"{writing.decimal(mm, 3)} mm" if units == "mm" else f"{writing.decimal(INCH_MM / mm, 3)} tpi"


def _leads(leads: Scale, covered: Coverage) -> list[Svg]:
    """The axis of the leads, round in the owner's unit, in the other beneath; a tick a lead where few are cut."""
    ticks, words = "", "Each bar: the lead that is worst off in its stretch. Both scales go by factors."
    if covered.inside <= _MOST_TICKED:
        inside = (lead for lead in covered.leads_mm if covered.from_mm <= lead <= covered.to_mm)
        ticks = "".join(f"M{number(leads.at(lead))} {_BOTTOM}v9" for lead in inside)
        words += " Ticks: the leads that can be cut."
    small = style.SMALL_PX
    if covered.units == "mm":
        units, places = ("mm", "tpi"), 2
        named = {mm: mm for mm in _round_numbers(leads.low, leads.high)}
    else:
        units, places = ("tpi", "mm"), 3
        named = {25.4 / tpi: tpi for tpi in _round_numbers(25.4 / leads.high, 25.4 / leads.low)}
    named = {lead: first for lead, first in named.items() if leads.at(lead) > _LEFT + _CLEAR_PX}
    return [
        drawn_line(ticks or "M0 0"),
        rules_down(leads, _TOP, _BOTTOM, {lead: writing.decimal(first, 6) for lead, first in named.items()}, 26),
        *(
            note(writing.decimal(25.4 / first, places), leads.at(lead), _BOTTOM + 44, size=small, anchor="middle")
            for lead, first in named.items()
        ),
        note(f"lead, {units[0]}", LEFT_PX, _BOTTOM + 26),
        note(units[1], LEFT_PX, _BOTTOM + 44, size=small),
        note(words, LEFT_PX, COVERAGE_PX[1] - 20, size=small),
    ]


def _round_numbers(low: float, high: float) -> list[float]:
    """A few round ones from `low` to `high`, none nearer to another, by factors, than their lettering is wide."""
    least, most = low * (1 - 1e-9), high * (1 + 1e-9)
    if high / low > 6:
        mantissas = (1, 2, 3, 5) if high / low <= 60 else (1, 2, 5)
        chosen = [n * 10.0**power for power in range(floor(log10(low)), ceil(log10(high)) + 1) for n in mantissas]
        return [each for each in chosen if least <= each <= most]
    step = round_number(high * (1 - (low / high) ** (_APART_PX / (_RIGHT - _LEFT))), up=True)
    return [n * step for n in range(ceil(least / step), floor(most / step) + 1)]


# What added gears open, a row a thread.

_AXIS = Scale(1.0, 1_000_000.0, 240.0, 536.0, by_factors=True)
"""Errors, ppm; what lies beyond stands at the end."""
_EXACT_X, _NEW_X = 200.0, 180.0
_ROWS_TOP, _ROWS_BOTTOM = 124.0, 414.0
_TODAY_X, _WITH_X = 670.0, 776.0
_LARGEST_ROW_PX, _MOST_ROWS = 46.0, 16
_WITHIN = style.tint(style.SKY, 0.3)


def what_opens(plan: GearsToAdd) -> Picture:
    """How far each thread is off today, and with the gears added; what is near enough is tinted.

    >>> from gearcalc.finding.additions import gears_to_add
    >>> from gearcalc.lathes import demo_lathe
    >>> print(what_opens(gears_to_add(demo_lathe("inch"), ["1 mm", "16 tpi"], 50)).description)
    Gears worth adding, within 50 ppm: 127. 1 mm: today +125 ppm, then exact, opened; 16 tpi: today exact, then exact.

    `plan`: from gears_to_add(), 1 to 16 threads. Raises ValueOutOfRangeError for more.
    """
    if not 1 <= len(plan.threads) <= _MOST_ROWS:
        raise ValueOutOfRangeError(f"this shows 1 to {_MOST_ROWS} threads", value=len(plan.threads))
    caption = f"Gears worth adding, {_near(plan)}{'' if plan.within_ppm else ' only'}"
    caption += f": {', '.join(map(str, plan.gears)) or 'none'}"
    caption += f" ({size})" if plan.gears and (size := _size(plan)) else ""
    rows = [_thread_row(plan, place) for place in range(len(plan.threads))]
    description = f"{caption}. {'; '.join(_thread_in_words(plan, place) for place in range(len(rows)))}."
    row_px = min(_LARGEST_ROW_PX, (_ROWS_BOTTOM - _ROWS_TOP) / len(rows))
    return chart(
        OPENS_PX,
        caption,
        description,
        rows,
        *_shopping_list(plan),
        *_ground(plan, _ROWS_TOP + len(rows) * row_px),
        *(_thread(plan, place, _ROWS_TOP + (place + 0.5) * row_px) for place in range(len(rows))),
        key(
            32,
            OPENS_PX[1] - 20,
            (_ring, "with the gears of today"),
            (_spot, "with the gears added"),
            (swatch_of(_WITHIN), _near(plan)),
        ),
    )


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
        return _AXIS.end
    return _EXACT_X if setup.is_exact else _AXIS.held(abs(setup.error_ppm or 0.0))


def _shopping_list(plan: GearsToAdd) -> list[Svg]:
    """The gears to add, each on a tag, and how far that is proved."""
    heading = "Add" if plan.gears else "Nothing to add" if plan.proven and plan.serves_all else "Nothing helps"
    parts = [bold(heading, LEFT_PX, 42, size=17)]
    x = LEFT_PX + style.text_width_px(heading, 19) + 16
    for teeth in plan.gears:
        end = x + 26 + style.text_width_px(str(teeth), 17)
        parts.append(rect(x, 20, end, 52, style.tint(style.SKY, 0.46), style.INK, 1.4, rx=16))
        parts.append(bold(str(teeth), (x + end) / 2, 42, size=17, anchor="middle"))
        x = end + 10
    if plan.gears:
        size = _size(plan)
        parts.append(text_line(f"teeth, {size}" if size else "teeth", x + 2, 42, size=15, anchor="start"))
    return [*parts, note(_proof(plan), LEFT_PX, 74)]


def _size(plan: GearsToAdd) -> str:
    """The size of the gears to add, where the lathe has several; no other is tried."""
    return first_size(plan.lathe.gear_set)


def _near(plan: GearsToAdd) -> str:
    """What was asked of each thread."""
    return f"within {writing.ppm(plan.within_ppm, 4)}" if plan.within_ppm else "exact"


def _proof(plan: GearsToAdd) -> str:
    size = f" of {_size(plan)}" if _size(plan) else ""
    served = sum(setup is not None for setup in plan.setups)
    said = f"{served} of {writing.counted(len(plan.threads), 'thread')} {_near(plan)}, {len(plan.opened)} of them new."
    if plan.proven and plan.gears:
        of_size = f" ({_size(plan)})" if size else ""
        return f"{said} {plan.with_fewer}{of_size}: proved for {writing.meshes(plan.meshes)}."
    return said if plan.proven else f"{said} Best found; proved is only that it takes {plan.lower_bound}{size} or more."


def _ground(plan: GearsToAdd, bottom: float) -> list[Svg]:
    """What is near enough as a tinted zone, and the lines of the powers of ten."""
    limit, top = _AXIS.held(float(plan.within_ppm)) if plan.within_ppm else _EXACT_X + 14, _ROWS_TOP
    ticks = {10.0**power: "" if power % 2 else power_of_ten(power) for power in range(7)}
    heads = [(LEFT_PX, "thread", "start"), (_TODAY_X, "today", "end"), (_WITH_X, "with them", "end")]
    return [
        rect(_EXACT_X - 14, top, limit, bottom, _WITHIN),
        drawn_line(f"M{_EXACT_X} {top}V{bottom}", style.FAINT, 0.8),
        text_line("exact", _EXACT_X, bottom + 17, size=style.SMALL_PX),
        rules_down(_AXIS, top, bottom, ticks, 17),
        drawn_line(f"M{number(limit)} {top - 6}V{bottom}", style.INK, 1.6, "6 3"),
        over_lines("near enough", max(limit - 4, _EXACT_X + 62), top - 11, anchor="end"),
        note("ppm off", LEFT_PX, bottom + 17, size=style.SMALL_PX),
        *(note(head, x, top - 11, anchor=anchor) for x, head, anchor in heads),
    ]


def _thread(plan: GearsToAdd, place: int, y: float) -> Svg:
    thread, before, after = plan.threads[place], plan.before[place], plan.setups[place]
    new = thread in plan.opened
    weight = "bold" if new else "normal"
    parts = [text_line(shortened(str(thread), 15), LEFT_PX, y + 5, size=15, anchor="start", font_weight=weight)]
    if new:
        parts.append(text_line("new", _NEW_X, y + 4.5, size=style.SMALL_PX, anchor="end", fill=style.BLUE))
        parts.append(_arrow(_x(before), _x(after), y))
    parts.append(_ring(_x(before), y))
    if after is not None:
        parts.append(_spot(_x(after), y))
    then = _error(after) if after is not None else "too far off"
    parts.append(text_line(_error(before), _TODAY_X, y + 4.5, anchor="end"))
    parts.append(text_line(then, _WITH_X, y + 4.5, anchor="end", font_weight=weight))
    return element("g", *parts)


def _arrow(start: float, end: float, y: float) -> Svg:
    """From the ring to the spot, where there is room for one."""
    if start - end < 26:
        return Svg("")
    head = f"M{number(end + 18)} {number(y - 5)}l-8 5l8 5"
    return drawn_line(f"M{number(start - 7)} {number(y)}H{number(end + 10)}{head}", width=1.4)


def _ring(x: float, y: float) -> Svg:
    return disc(x, y, 6.5, width=1.8)


def _spot(x: float, y: float) -> Svg:
    return disc(x, y, 4.2, style.BLUE, width=1.0)
