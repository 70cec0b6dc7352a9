"""What a pitch error comes to over a length: as lines beside what is allowed, and as two threads that part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from math import cos, floor, pi, sin

from attrs import define, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_units
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, RelativeError, as_fraction
from gearcalc.basics.writing import Units
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import (
    DASHES,
    Scale,
    chart,
    round_number,
    ruler,
    rules_across,
    rules_down,
    shortened,
    spread,
    upright,
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
from gearcalc.pictures.thread_profiles import FINEST_PX, crests, flanks_deg
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.deviations import USUAL_SHARE, Verdict, deviation_in_words, deviation_um, judge

LINES_PX, PARTING_PX = (800, 440), (800, 400)
"""Width and height of the pictures."""

_FARTHEST_PPM = 500_000

# Errors as lines.

_LEFT, _RIGHT, _TOP, _BOTTOM = 88.0, 560.0, 58.0, 386.0
_LABEL_X = _RIGHT + 26
_MOST_LINES = len(DASHES)
_LONGEST_MM = 1000
_COLOURS = (style.BLUE, style.VERMILLION, style.GREEN, style.PURPLE, style.INK, style.SOFT)
_WORDS_LONG, _LETTERS_PX = 24, 15.0


def error_against_length(
    thread: Thread | str,
    errors: Mapping[str, float | Fraction | RelativeError],
    up_to_mm: float | Fraction = 100,
    tolerance_class: str | None = None,
    share: float = USUAL_SHARE,
    units: Units = "mm",
) -> Picture:
    """How far off each pitch error brings a thread over a length, beside what its tolerance allows.

    >>> picture = error_against_length("M10x1.5-6g", {"stand-in": 125, "one pair": -2142.9})
    >>> picture.table[1]["leaves the band at"]
    '17.8 mm'

    `errors`: 1 to 6 of them, name -> ppm or RelativeError, positive when the thread comes out too long.
    `up_to_mm`: the longest length, 0.001 to 1000 mm. `tolerance_class`, `share`, `units`: as for judge(). The band is
    what the pitch may be off over the whole length of engagement: share × tolerance ÷ cot φ, whatever that length; a
    thread without a tolerance here has none, and the picture says why.
    Raises ValueOutOfRangeError for no error, more than 6, or a length or share that is none; NotPossibleError for an
    error of more than half; UnknownNameError for a class that isn't one; ThreadTextError for text that is no thread.
    """
    wanted, up_to = as_thread(thread), as_fraction(up_to_mm, what="the longest length")
    if not isinstance(errors, Mapping) or not 1 <= len(errors) <= _MOST_LINES:
        raise ValueOutOfRangeError(
            f"this takes 1 to {_MOST_LINES} errors, each with a name",
            value=repr(errors),
            remedy="Write them like {'stand-in': 125}.",
        )
    if up_to > _LONGEST_MM:
        raise ValueOutOfRangeError(f"this picture goes up to {_LONGEST_MM} mm", value=up_to_mm)
    verdict = judge(wanted, 0, engagement_mm=up_to, share=share, tolerance_class=tolerance_class, units=units)
    band = None if verdict.allowed_ppm is None else abs(deviation_um(verdict.allowed_ppm, up_to))
    lines = [_Line.of(name, error, up_to, band, units) for name, error in errors.items()]
    caption = f"{wanted}: pitch error against length, up to {both_units.travel(up_to, units)}."
    said = [caption, "Each error grows evenly from nothing.", *(line.in_words(up_to) for line in lines)]
    description = " ".join([*said, _band_in_words(verdict, band)])
    title = f"{wanted}: how far off over a length"
    rows = [line.row(up_to) for line in lines]
    return chart(LINES_PX, caption, description, rows, *_drawn(lines, up_to, band, verdict), title=title)


@frozen
class _Line:
    """An error by name, with what it comes to at the end of the length, and where it leaves the band, mm."""

    name: str
    error: float | Fraction | RelativeError
    end_um: float
    leaves_mm: float | None
    units: Units

    @classmethod
    def of(
        cls, name: str, error: float | Fraction | RelativeError, up_to: Fraction, band: float | None, units: Units
    ) -> _Line:
        end = deviation_um(error, up_to)
        if abs(end) > _FARTHEST_PPM / 1000 * float(up_to):
            raise NotPossibleError(f"an error of more than {_FARTHEST_PPM} ppm is no near miss")
        leaves = float(up_to) * band / abs(end) if band is not None and abs(end) > band else None
        return cls(str(name), error, end, leaves, units)

    @property
    def ppm(self) -> str:
        error = self.error
        return str(writing.error(error if isinstance(error, RelativeError) else float(error)))

    @property
    def leaves(self) -> str:
        """Where it leaves the band, or nothing."""
        return "" if self.leaves_mm is None else both_units.reading(round(self.leaves_mm, 1), self.units)

    def in_words(self, up_to: Fraction) -> str:
        """In a sentence: how far off, and where it leaves the band."""
        leaves = f", and leaves the band at {self.leaves}" * bool(self.leaves)
        return f"{self.name}, {self.ppm}: {deviation_in_words(self.error, up_to, self.units)}{leaves}."

    def row(self, up_to: Fraction) -> Row:
        """As a row of the table."""
        over = {
            f"over {both_units.travel(up_to / part, self.units)}": both_units.off(self.end_um / part, self.units)
            for part in (4, 2, 1)
        }
        return {"thread cut with": self.name, "error": self.ppm, **over, "leaves the band at": self.leaves or None}

    @property
    def label(self) -> list[str]:
        """What stands under its name: error, deviation, and where it leaves the band."""
        if not self.end_um:
            return ["exact"]
        off = str(both_units.off(self.end_um, self.units))
        both = f"{self.ppm}, {off}"
        words = [both] if len(both) <= _WORDS_LONG else [self.ppm, off]
        return words + [f"leaves the band at {self.leaves}"] * bool(self.leaves)


def _band_in_words(verdict: Verdict, band: float | None) -> str:
    if band is None or verdict.tolerance_um is None:
        return f"{_not_judged(verdict)}, so no band is drawn."
    tolerance = both_units.off_size(verdict.tolerance_um, verdict.units)
    share = f"{writing.percent(verdict.share)} of the tolerance of {verdict.tolerance_class}"
    return (
        f"The band shows what is allowed, {_allowed(band, verdict.units)}: so much, over the length engaged, uses up "
        f"{share} ({tolerance} of pitch diameter)."
    )


def _allowed(band: float, units: Units) -> str:
    if units == "inch":
        return f"{writing.decimal(band / float(INCH_MM), 2, toward='down')} thou either way"
    return f"{writing.decimal(band, 1, toward='down')} µm either way"


def _not_judged(verdict: Verdict) -> str:
    """The first sentence of why there is no verdict."""
    return verdict.why.split(". ")[0].rstrip(".")


def _drawn(lines: Sequence[_Line], up_to: Fraction, band: float | None, verdict: Verdict) -> list[Svg]:
    inch, one = verdict.units == "inch", 1.0 if verdict.units == "mm" else float(INCH_MM)
    highest = 1.08 * (max([abs(line.end_um) for line in lines] + [band or 0.0]) or 1.0)
    off, length = Scale(-highest, highest, _BOTTOM, _TOP), Scale(0, float(up_to), _LEFT, _RIGHT)
    return [
        *([] if band is None else [_band(off, band)]),
        rules_down(length, _TOP, _BOTTOM, {each * one: writing.decimal(each) for each in length.over(one).steps(8)}),
        rules_across(off, _LEFT, _RIGHT, {each * one: writing.signed(each, 6) for each in off.over(one).steps(8)}),
        drawn_line(f"M{_LEFT} {_TOP}V{_BOTTOM}M{_LEFT} {off.at(0)}H{_RIGHT}", width=1.2),
        text_line(f"length, {'in' if inch else 'mm'}", (_LEFT + _RIGHT) / 2, _BOTTOM + 38),
        upright(f"too long, {'thou' if inch else 'µm'}", 25, (_TOP + off.at(0)) / 2),
        upright(f"too short, {'thou' if inch else 'µm'}", 25, (_BOTTOM + off.at(0)) / 2),
        *(_line(n, line, off, length) for n, line in enumerate(lines)),
        _band_label(off, band, verdict, lines),
        *_labels(lines, off),
    ]


def _band(off: Scale, band: float) -> Svg:
    """The band between its two edges."""
    top, foot = off.at(band), off.at(-band)
    edges = f"M{_LEFT} {top:.2f}H{_RIGHT}M{_LEFT} {foot:.2f}H{_RIGHT}"
    return element(
        "g", rect(_LEFT, top, _RIGHT, foot, style.tint(style.SKY, 0.3)), drawn_line(edges, style.BLUE, 1.2, "2 3")
    )


def _band_label(off: Scale, band: float | None, verdict: Verdict, lines: Sequence[_Line]) -> Svg:
    """What the band allows, above it, or below where no line goes."""
    if band is None:
        return over_lines(shortened(_not_judged(verdict), 76), _LEFT + 10, _TOP + 14, anchor="start", fill=style.SOFT)
    allowed = f"allowed: {_allowed(band, verdict.units)}"
    words = f"{allowed}, {writing.percent(verdict.share)} of the tolerance of {verdict.tolerance_class}"
    edge, foot = off.at(band), off.at(-band)
    y = edge - 7 if edge > _TOP + 24 else edge + 17
    if foot < _BOTTOM - 24 and all(line.end_um >= 0 for line in lines):
        y = foot + 17
    return over_lines(words, _LEFT + 10, y, anchor="start")


def _line(n: int, line: _Line, off: Scale, length: Scale) -> Svg:
    start, end = off.at(0), off.at(line.end_um)
    parts = [drawn_line(f"M{_LEFT} {start}L{_RIGHT} {end:.2f}", _COLOURS[n], 2.6, DASHES[n]), _mark(n, _RIGHT, end)]
    if line.leaves_mm is not None:
        share = line.leaves_mm / length.high
        parts.append(disc(length.at(line.leaves_mm), start + share * (end - start), 5.5, style.PAPER, _COLOURS[n], 2))
    return element("g", *parts)


def _mark(n: int, x: float, y: float, radius: float = 6.0) -> Svg:
    """A mark of its own for each line: a disc, or a polygon of three corners, four, five ..."""
    if n == 0:
        return disc(x, y, radius, _COLOURS[n], None)
    turns = [2 * pi * k / (n + 2) for k in range(n + 2)]
    corners = ((x + radius * sin(turn), y - radius * cos(turn)) for turn in turns)
    return shape(path_of(corners, closed=True), _COLOURS[n])


def _labels(lines: Sequence[_Line], off: Scale) -> list[Svg]:
    """Beside the end of each line its mark, its name and its numbers; none over another."""
    order = sorted(range(len(lines)), key=lambda n: -lines[n].end_um)
    said = [lines[n].label for n in order]
    ends = [off.at(lines[n].end_um) for n in order]
    heights = [25.0 + _LETTERS_PX * len(words) for words in said]
    places = spread(ends, heights, _TOP, _BOTTOM + 40)
    parts = []
    for n, words, end, place, height in zip(order, said, ends, places, heights, strict=True):
        top, x = place - height / 2 + 13, _LABEL_X + 22
        parts.append(drawn_line(f"M{_RIGHT + 8} {end:.2f}L{_LABEL_X} {place:.2f}", style.SOFT, 0.8))
        parts.append(_mark(n, _LABEL_X + 10, top - 4.5))
        parts.append(bold(shortened(lines[n].name, _WORDS_LONG), x, top, size=14))
        for k, word in enumerate(words, 1):
            parts.append(text_line(word, x, top + _LETTERS_PX * k, size=style.SMALL_PX, anchor="start"))
    return parts


# Two threads that part.

_FROM, _TO = 84.0, 770.0
_BAR_PX, _DEEPEST_PX = 34.0, 20.0
_TRUE_TOP, _TRUE_APART = 76.0, 12.0
_LARGE_TOP, _LARGE_APART = 196.0, 52.0
_RULER_Y = 352.0
_GAP_PX = 100.0  # a gap is magnified to at most this
_JOIN_PX = 14.0  # joined crests are no closer than this
_MOST_TIMES = 10**9


def side_by_side(
    wanted: Thread | str,
    cut_lead_mm: Fraction | int | str,
    length_mm: float | Fraction = 25,
    magnify: float | None = None,
    *,
    window_mm: float | Fraction | None = None,
    units: Units = "mm",
) -> Picture:
    """The wanted thread above the cut one, true to scale and with the difference magnified, crest joined to crest.

    >>> print(side_by_side("M10x1.5", Fraction(24003, 16000), length_mm=100).caption)
    M10x1.5 with an error of +125 ppm: the thread as cut is 12.5 µm too long over 100 mm.

    `wanted`: a Thread or its text. `cut_lead_mm`: what is cut, mm. `length_mm`: how much of it, from 0.001 mm.
    `magnify`: how many times as large the difference is drawn in the lower half, 1 to 10^9; None: a round number
    that makes it plain to see. `window_mm`: how much of the wanted thread the sheet shows, at least the length (None:
    just that), so that one sheet can show a growing length. `units`: 'mm' or 'inch', what is read first.
    Raises NotPossibleError where the leads are so different that this is no near miss, ValueOutOfRangeError for
    a length or a magnification that can't be drawn, ThreadTextError for text that is no thread.
    """
    thread, cut = as_thread(wanted), as_fraction(cut_lead_mm, what="the cut lead")
    p = _parting(thread, RelativeError(cut, thread.lead), length_mm, magnify, window_mm, as_units(units))
    over = deviation_in_words(p.error, p.length, units)
    caption = f"{thread} with an error of {writing.error(p.error)}: the thread as cut is {over}."
    if p.error.is_exact:
        caption = f"{thread}: the thread as cut is {over}."
    description = (
        f"Two threads one above the other, {writing.cut(p.length, units)} long: {thread} as wanted, "
        f"lead {both_units.travel(thread.lead, units)}, and as cut, lead {both_units.travel(cut, units)}. "
        f"{_times_in_words(p)} The cut thread is {over}."
    )
    leads = f"{_lead(thread.lead, units)} wanted, {_lead(cut, units)} cut"
    title = f"{thread}: {leads}, {writing.error(p.error)}"
    return chart(PARTING_PX, caption, description, _gap_rows(p), *_parting_drawn(p, over), title=title)


def _lead(mm: Exact, units: Units) -> markup.Written:
    return writing.length(mm) if units == "mm" else writing.length(mm / INCH_MM, "in", 5)


@define(slots=False)
class _Parting:
    """A thread wanted and what is cut in its place, over a length, on a sheet that shows `window` mm."""

    thread: Thread
    error: RelativeError
    length: Fraction
    window: Fraction
    magnify: float
    units: Units = "mm"

    @cached_property
    def pitch(self) -> float:
        return float(self.thread.pitch)

    @cached_property
    def gap(self) -> float:
        """At the end of the length, mm; positive when the cut thread is too long."""
        return deviation_um(self.error, self.length) / 1000

    @cached_property
    def scale(self) -> float:
        """Pixels to a millimetre: all that the window shows fills the sheet, whatever the length."""
        window = float(self.window)
        return (_TO - _FROM) / max(window, window * (1 + self.magnify * self.gap / float(self.length)))

    def x(self, mm: float) -> float:
        return _FROM + mm * self.scale

    @cached_property
    def joined(self) -> int:
        """Every how many-th crest is joined to its counterpart."""
        return max(1, round(round_number(_JOIN_PX / (self.pitch * self.scale), up=True)))


def _parting(
    thread: Thread, error: RelativeError, length_mm: object, magnify: object, window_mm: object, units: Units
) -> _Parting:
    if abs(error.ppm) > _FARTHEST_PPM:
        raise NotPossibleError(
            f"{writing.error(error)} is no near miss: these are two different threads",
            remedy="Compare leads that are less than half as long again.",
        )
    length = as_fraction(length_mm, what="the length")
    window = length if window_mm is None else as_fraction(window_mm, what="the length of the sheet")
    deviation_um(error, length)  # refuses a length that is none
    if window < length:
        raise ValueOutOfRangeError("the sheet must show at least the length cut", value=window_mm)
    widest = deviation_um(error, window) / 1000
    most = float(window) / 2 / abs(widest) if widest else float(_MOST_TIMES)
    if magnify is None:
        times = max(1.0, round_number(most * 2 * _GAP_PX / (_TO - _FROM))) if widest else 1.0
    else:
        times = float(as_fraction(magnify, what="the magnification"))
        if not 1 <= times <= min(max(most, 1.0), _MOST_TIMES):
            raise ValueOutOfRangeError(
                f"over this length the difference can be drawn 1 to {_times(floor(max(most, 1.0)))}",
                value=magnify,
                remedy="Leave magnify out, and a round number is chosen.",
            )
    return _Parting(thread, error, length, window, times, units)


def _parting_drawn(p: _Parting, over: str) -> list[Svg]:
    joins = {1: "", 2: ", every other crest joined"}.get(p.joined, f", one crest in {p.joined} joined")
    whole = (_TO - _FROM) / p.scale
    along = Scale(0, whole if p.units == "mm" else whole / float(INCH_MM), _FROM, _TO)
    steps = along.steps(11)
    marks = {mm: writing.decimal(mm) for mm in steps}
    step = steps[1] / 5
    marks |= {n * step: "" for n in range(floor(along.high / step + 1e-9) + 1) if n % 5}
    large = f"The difference drawn {_times(p.magnify)}" if p.magnify > 1 else "The difference as large as it is"
    if p.error.is_exact:
        large = "The difference, however much magnified: none"
    return [
        note(f"True to scale along the thread{joins}", _FROM, _TRUE_TOP - 9),
        _pair(p, _TRUE_TOP, _TRUE_APART, 1.0),
        note(large, _FROM, _LARGE_TOP - 9),
        _pair(p, _LARGE_TOP, _LARGE_APART, p.magnify),
        _end(p, over),
        ruler(along, _RULER_Y, marks, 10, 25),
        text_line("mm" if p.units == "mm" else "in", _FROM - 12, _RULER_Y + 25, size=style.SMALL_PX, anchor="end"),
    ]


def _pair(p: _Parting, top: float, apart: float, magnify: float) -> Svg:
    """Both threads, crests facing, and the lines that join them; the difference drawn `magnify` times as large."""
    upper, lower = top + _BAR_PX, top + _BAR_PX + apart
    stretch = 1 + magnify * p.gap / float(p.length)
    every = p.joined * p.pitch
    joins = "".join(
        f"M{p.x(n * every):.2f} {upper:.1f}L{p.x(n * every * stretch):.2f} {lower:.1f}"
        for n in range(floor(float(p.length) / every + 1e-9) + 1)
    )
    cut, angle = p.x(float(p.length) * stretch), flanks_deg(p.thread)
    return element(
        "g",
        _thread(p.pitch * p.scale, p.x(float(p.window)), top, upper, style.tint(style.SKY, 0.42), angle),
        _thread(p.pitch * stretch * p.scale, cut, lower + _BAR_PX, lower, style.tint(style.ORANGE, 0.3), angle),
        drawn_line(joins, width=0.9),
        bold("wanted", _FROM - 10, (top + upper) / 2 + 4.5, size=style.WORD_PX, anchor="end"),
        bold("cut", _FROM - 10, lower + _BAR_PX / 2 + 4.5, size=style.WORD_PX, anchor="end"),
    )


def _thread(step: float, right: float, back: float, crest: float, tone: str, angle_deg: float) -> Svg:
    """One edge of a thread: crests at whole pitches on the line `crest`, the bar's back on the line `back`."""
    deepest = _DEEPEST_PX if back > crest else -_DEEPEST_PX
    edge = path_of(crests(_FROM, right, step, crest, deepest, angle_deg=angle_deg))
    if step < FINEST_PX:
        edge = Svg(f"M{_FROM} {crest + 0.2 * (back - crest)}H{right:.2f}{edge}")
    return shape(f"{edge}V{back}H{_FROM}Z", tone, style.INK, 1.0)


def _end(p: _Parting, over: str) -> Svg:
    """Where the cut thread should end, where it ends, and how far that is apart."""
    should, does = p.x(float(p.length)), p.x(float(p.length) + p.magnify * p.gap)
    upper, foot = _LARGE_TOP + _BAR_PX, _LARGE_TOP + 2 * _BAR_PX + _LARGE_APART + 26
    lower = upper + _LARGE_APART
    left, right = min(should, does), max(should, does)
    from_left = left - _FROM > style.text_width_px(over, style.WORD_PX) + 24
    at, anchor = (left - 10, "end") if from_left else (right + 10, "start")
    return element(
        "g",
        rect(left, foot - 14, right, foot - 6, style.VERMILLION),
        drawn_line(f"M{should:.2f} {upper}V{foot}", style.VERMILLION, 1.8, "6 3"),
        drawn_line(f"M{should:.2f} {upper}L{does:.2f} {lower}V{foot}", style.VERMILLION, 1.8),
        over_lines(over, at, foot - 5, size=14, anchor=anchor, font_weight="bold"),
    )


def _gap_rows(p: _Parting) -> list[Row]:
    """The gap after a fifth, two fifths ... of the length."""
    it_is = "exact" if p.error.is_exact else f"too {'long' if p.gap > 0 else 'short'}"
    return [
        {
            "over": both_units.travel(p.length * part / 5, p.units),
            "pitches wanted": writing.decimal(float(p.length) * part / 5 / p.pitch, 2),
            "the cut thread is off by": both_units.off(p.gap * 1000 * part / 5, p.units),
            "it is": it_is,
        }
        for part in range(1, 6)
    ]


def _times_in_words(p: _Parting) -> str:
    if p.error.is_exact:
        return "Every crest stands against its counterpart, from end to end."
    if p.magnify == 1:
        return "The gap between matching crests grows evenly from the left end."
    return (
        f"Above, they are true to scale along the thread; below, the difference is drawn {_times(p.magnify)}, "
        "and the gap between matching crests grows evenly from the left end."
    )


def _times(times: float) -> str:
    return f"{writing.decimal(times, 2)} times as large"
