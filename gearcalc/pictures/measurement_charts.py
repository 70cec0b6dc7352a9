"""A measured lead as a band among the leads it may be; and two leads, from how many turns they are told apart."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from math import ceil

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, as_fraction
from gearcalc.basics.writing import Units
from gearcalc.cutting.measurements import Judgement, turns_to_tell
from gearcalc.cutting.wrong_leads import WrongLeads
from gearcalc.finding.setups import Setup
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import (
    LEFT_PX,
    Scale,
    chart,
    cross,
    diamond,
    key,
    ruler,
    rules_across,
    shortened,
    step_for,
    swatch_of,
)
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import (
    Svg,
    bold,
    disc,
    drawn_line,
    element,
    note,
    over_lines,
    path_of,
    rect,
    shape,
    text_line,
)
from gearcalc.threads import Thread, as_thread, standard_threads

BAND_PX, APART_PX = (800, 352), (800, 400)
"""Width and height of the pictures."""

# A measured lead as a band.

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
    units = judgement.units
    words = _both_ways(wanted, judgement.thread.starts, units)
    lines = [_Line(words, wanted, end, wanted=True, wrong_hand=judgement.wrong_hand)]
    lines += [
        _Line(_both_ways(lead, 1, units), lead, _turns_beside(judgement, lead)) for lead in _pitches_around(judgement)
    ]
    band = judgement.lead_from_mm, judgement.lead_to_mm
    caption = (
        f"{judgement.thread}: {_span(judgement.length_mm, judgement.uncertainty_mm, '±', units)} "
        f"over {writing.turns(judgement.turns)}"
        f"{'' if judgement.hand is None else f', {judgement.hand}-hand'}"
    )
    heads = ("standard pitch", "turns to tell apart")
    return _picture(sorted(lines, key=lambda line: float(line.lead)), band, caption, heads, units=units)


def _span(one: Fraction, other: Fraction, link: str, units: Units) -> str:
    """Two lengths in the unit that is read first."""
    unit = Fraction(1) if units == "mm" else INCH_MM
    places = both_units.places_for((other if link == "±" else (other - one) / 2) / unit)
    said = f" {link} ".join(writing.decimal(mm / unit, places) for mm in (one, other))
    return f"{said} {'mm' if units == 'mm' else 'in'}"


def _both_ways(lead: Exact, starts: int, units: Units) -> str:
    if isinstance(lead, PiMultiple):
        return f"{writing.number(lead)} mm, {writing.length(lead, places=3)}"
    if starts == 1 or units == "inch":
        return writing.lead(lead, starts, units).text
    return f"{writing.length(lead)}, {starts} starts"


def _turns_beside(judgement: Judgement, lead: Exact) -> str:
    return str(judgement.turns_to_tell(_standard_leads()[lead]))


@cache
def _standard_leads() -> dict[Exact, str]:
    """The leads of standard threads, each with the first thread that has it."""
    return {thread.lead: str(thread) for thread in reversed(standard_threads())}


def _pitches_around(judgement: Judgement) -> list[Exact]:
    """The standard leads nearest to the middle of the band, the wanted one left out."""
    others, middle = _standard_leads().keys() - {judgement.thread.lead}, float(judgement.lead_mm)
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
    units = meant.lathe.units

    def line(words: str, made: Setup, wanted: bool = False) -> _Line:
        return _Line(words, made.lead_mm, _both_ways(made.lead_mm, meant.starts, units), wanted, made.gears_and_lever)

    lines = [line("meant", meant, wanted=True)]
    lines += [line(f"{place} {slip.kind}", slip.setup) for place, slip in enumerate(found[:most], 1)]
    lines += [
        line(slip.kind, slip.setup)
        for slip in found.ruled_out[: most + 1 - len(lines)]
        if slip.lead_mm != meant.lead_mm
    ]
    caption = f"Measured {_span(measured_lead_mm, uncertainty_mm, '±', units)}: what would cut that?"
    band = measured_lead_mm - uncertainty_mm, measured_lead_mm + uncertainty_mm
    return _picture(lines, band, caption, ("what", "lead"), remark="" if found else _NOTHING, units=units)


def _picture(
    lines: Sequence[_Line],
    band: tuple[Fraction, Fraction],
    caption: str,
    heads: tuple[str, str],
    *,
    units: Units,
    remark: str = "",
) -> Picture:
    inside = [band[0] <= line.lead <= band[1] and not line.wrong_hand for line in lines]
    left = f"possible: {_span(*band, 'to', units)}"
    said = "; ".join(_in_words(line, heads, within) for line, within in zip(lines, inside, strict=True))
    description = f"{markup.ended(caption)} Leads that are {left}. {said}. {remark}".strip()
    rows = [_row(line, heads, within) for line, within in zip(lines, inside, strict=True)]
    low, *_, high = sorted([*(float(line.lead) for line in lines), *map(float, band)])
    edge = 0.06 * (high - low) or 0.05 * high
    leads = Scale(max(0.0, low - edge), high + edge, _LEFT, _RIGHT)
    one = float(INCH_MM) if units == "inch" else 1.0
    row_px = min(_LARGEST_ROW_PX, (_BOTTOM - _TOP) / len(lines))
    bottom = _TOP + row_px * len(lines)
    return chart(
        BAND_PX,
        caption,
        description,
        rows,
        bold(remark, _LAST_X, 36, anchor="end"),
        note(heads[0], LEFT_PX, _TOP - 14),
        note(heads[1], _LAST_X, _TOP - 14, anchor="end"),
        *_band(leads, band, bottom, left),
        *(_one_row(*row, _TOP + (n + 0.5) * row_px, leads) for n, row in enumerate(zip(lines, inside, strict=True))),
        ruler(leads, bottom, {lead * one: writing.decimal(lead, 6) for lead in leads.over(one).steps(5)}),
        note(f"lead, {'in' if units == 'inch' else 'mm'}", _LEFT - 12, bottom + 20, size=style.SMALL_PX, anchor="end"),
        key(
            36,
            BAND_PX[1] - 22,
            (lambda x, y: _mark(True, False, x, y), "still possible"),
            (lambda x, y: _mark(False, False, x, y), "ruled out"),
            (lambda x, y: diamond(x, y, 10.5, style.PAPER, 1.8), "in a diamond: what was meant"),
            (swatch_of(_BAND, style.BLUE), "what was measured, ± its limit"),
        ),
        title=caption,
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


def _band(leads: Scale, band: tuple[Fraction, Fraction], bottom: float, words: str) -> list[Svg]:
    low, high = map(leads.at, band)
    if high - low < _NARROWEST_PX:
        middle = (low + high) / 2
        low, high = middle - _NARROWEST_PX / 2, middle + _NARROWEST_PX / 2
    half, top = style.text_width_px(words, style.WORD_PX) / 2, _TOP - 6
    middle = min(max((low + high) / 2, _LEFT + half - 20), _RIGHT - half + 20)
    return [
        element("g", rect(low, top, high, bottom, _BAND)),
        drawn_line(f"M{low:.2f} {top:.2f}V{bottom:.2f}M{high:.2f} {top:.2f}V{bottom:.2f}", style.BLUE, 1.4),
        over_lines(words, middle, _TOP - 30, size=style.WORD_PX, font_weight="bold"),
    ]


def _one_row(line: _Line, inside: bool, y: float, leads: Scale) -> Svg:
    weight = "bold" if line.wanted else None
    return element(
        "g",
        drawn_line(f"M{_LEFT} {y:.2f}H{_RIGHT}", style.FAINT, 0.8),
        text_line(shortened(line.words, _WORDS_LONG), LEFT_PX, y + 4.5, anchor="start", font_weight=weight),
        text_line(line.at_the_end, _LAST_X, y + 4.5, anchor="end", font_weight=weight),
        _mark(inside, line.wanted, leads.at(float(line.lead)), y),
    )


def _mark(inside: bool, wanted: bool, x: float, y: float) -> Svg:
    """Filled where it is still possible, a cross where it is ruled out; the wanted one is a diamond around that."""
    around = diamond(x, y, 12, style.PAPER, 1.8) if wanted else Svg("")
    mark = disc(x, y, 6, style.BLUE, width=1.4) if inside else cross(x, y, 4 if wanted else 5.5)
    return element("g", around, mark)


# Two leads, told apart from some turn on.

_FROM, _TO, _UPPER, _LOWER = 84.0, 640.0, 92.0, 340.0
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
    limit = as_fraction(uncertainty_mm, what="the limit")
    turns = turns_to_tell(*threads, limit)
    if turns is None or limit == 0:
        problem = f"{threads[0]} and {threads[1]} have the same lead" if turns is None else "a limit of ± 0"
        raise NotPossibleError(
            f"{problem}: there is nothing to draw", remedy="Take two leads that differ, and a limit."
        )
    pair = _Pair(str(threads[0]), str(threads[1]), float(threads[0].lead), float(threads[1].lead), float(limit), turns)
    caption = f"{pair.one} or {pair.other}, measured to ± {writing.decimal(limit)} mm"
    description = (
        f"{caption}. In one turn the leads are {pair.mm(abs(pair.apart))} apart. The readings of both spread "
        f"± {pair.mm(pair.limit)}. {pair.overlap}, where the lengths are {pair.mm(abs(pair.apart) * turns)} apart."
    )
    return chart(APART_PX, caption, description, _rows(pair), *_apart_drawn(pair), title=caption)


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
        return f"They overlap up to {upto}, and never from {writing.turns(self.turns)} on"

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


def _apart_drawn(pair: _Pair) -> list[Svg]:
    """What is read, less so many turns of the one: level for the one, and for the other a line that leaves it."""
    last, edge = pair.last_turn, 1.35 * pair.limit
    turns = Scale(0.0, last, _FROM, _TO)
    read = Scale(min(0.0, last * pair.apart) - edge, max(0.0, last * pair.apart) + edge, _LOWER, _UPPER)
    step = max(1.0, step_for(last, 8))
    named = {n * step: writing.decimal(n * step, 0) for n in range(int(last / step) + 1)}
    above = f"what is read, less so many turns of {shortened(pair.one, 16)}, in mm; shaded: ± {pair.mm(pair.limit)}"

    def line(slope: float, off: float = 0.0) -> list[tuple[float, float]]:
        return [(turns.at(n), read.at(n * slope + off)) for n in (0, last)]

    looks = list(zip((pair.one, pair.other), (0.0, pair.apart), _COLOURS, _TINTS, (None, "9 4"), strict=True))
    parts = [note(above, LEFT_PX, 58)]
    for _, slope, _, tone, _ in looks:  # where the readings of each may lie
        spread = [*line(slope, pair.limit), *reversed(line(slope, -pair.limit))]
        parts.append(shape(path_of(spread, closed=True), tone, fill_opacity=0.75))
    parts += [
        rules_across(read, _FROM, _TO, {mm: writing.signed(mm, 4) for mm in read.steps(6)}),
        ruler(turns, _LOWER, named, words_px=21),
        drawn_line(f"M{_FROM} {_UPPER - 6}V{_LOWER}", width=1.2),
        note("turns measured", (_FROM + _TO) / 2, _LOWER + 44, anchor="middle"),
    ]
    for name, slope, colour, _, dash in looks:
        y = read.at(last * slope)
        parts.append(drawn_line(path_of(line(slope)), colour, 2.6, dash))
        parts += [drawn_line(path_of(line(slope, off)), colour, 1.0, dash) for off in (pair.limit, -pair.limit)]
        parts.append(drawn_line(f"M{_TO + 4} {y:.2f}h10", colour, 2.6, dash and "5 3"))
        parts.append(bold(shortened(name, 15), _TO + 20, y + 4.5))
    return [*parts, *_parting(pair, turns.at(pair.turns))]


def _parting(pair: _Pair, x: float) -> list[Svg]:
    words = f"from {writing.turns(pair.turns)} on: for certain"
    off, anchor = (-8, "end") if x > (_FROM + _TO) / 2 else (8, "start")
    return [
        drawn_line(f"M{x:.2f} {_UPPER - 6}V{_LOWER}", style.INK, 1.6, "6 3"),
        over_lines(words, x + off, _UPPER + 2, size=style.WORD_PX, anchor=anchor, font_weight="bold"),
    ]
