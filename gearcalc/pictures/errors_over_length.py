"""What a pitch error comes to over a length: as lines beside what is allowed, and as two threads that part."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from math import cos, floor, pi, sin

from attrs import define, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError, as_fraction
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import (
    DASHES,
    drawn_line,
    over_lines,
    round_number,
    sheet,
    shortened,
    spread,
    step_for,
)
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.deviations import USUAL_SHARE, Verdict, deviation_in_words, deviation_um, judge

LINES_PX = (800, 440)
"""Width and height of the picture."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 88.0, 560.0, 58.0, 386.0
_LABEL_X = _RIGHT + 26
_MOST_LINES = len(DASHES)
_LONGEST_MM, _FARTHEST_PPM = 1000, 500_000
_COLOURS = (style.BLUE, style.VERMILLION, style.GREEN, style.PURPLE, style.INK, style.SOFT)
_WORDS_LONG, _LETTERS_PX = 24, 15.0


def error_against_length(
    thread: Thread | str,
    errors: Mapping[str, float | Fraction | RelativeError],
    up_to_mm: float | Fraction = 100,
    tolerance_class: str | None = None,
    share: float = USUAL_SHARE,
) -> Picture:
    """How far off each pitch error brings a thread over a length, beside what its tolerance allows.

    >>> picture = error_against_length("M10x1.5-6g", {"stand-in": 125, "one pair": -2142.9})
    >>> picture.table[1]["leaves the band at"]
    '17.8 mm'

    `errors`: 1 to 6 of them, name -> ppm or RelativeError, positive when the thread comes out too long.
    `up_to_mm`: the longest length, 0.001 to 1000 mm. `tolerance_class`, `share`: as for judge(). The band is what the
    pitch may be off over the whole length of engagement: share × tolerance ÷ cot φ, whatever that length; a thread
    without a tolerance here has none, and the picture says why.
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
    verdict = judge(wanted, 0, engagement_mm=up_to, share=share, tolerance_class=tolerance_class)
    band = None if verdict.allowed_ppm is None else abs(deviation_um(verdict.allowed_ppm, up_to))
    lines = [_Line.of(name, error, up_to, band) for name, error in errors.items()]
    caption = f"{wanted}: pitch error against length, up to {writing.length(up_to)}."
    start = f"{caption} Each error grows evenly from nothing."
    description = " ".join([start, *_in_words(lines, up_to), _band_in_words(verdict, band)])
    drawing = _lines_drawn(lines, up_to, band, verdict, caption, description)
    return Picture(drawing, description, _line_rows(lines, up_to), caption)


@frozen
class _Line:
    """An error by name, with what it comes to at the end of the length, and where it leaves the band, mm."""

    name: str
    error: float | Fraction | RelativeError
    end_um: float
    leaves_mm: float | None

    @classmethod
    def of(cls, name: str, error: float | Fraction | RelativeError, up_to: Fraction, band: float | None) -> _Line:
        end = deviation_um(error, up_to)
        if abs(end) > _FARTHEST_PPM / 1000 * float(up_to):
            raise NotPossibleError(f"an error of more than {_FARTHEST_PPM} ppm is no near miss")
        leaves = float(up_to) * band / abs(end) if band is not None and abs(end) > band else None
        return cls(str(name), error, end, leaves)

    @property
    def ppm(self) -> str:
        error = self.error
        return str(writing.error(error if isinstance(error, RelativeError) else float(error)))


def _in_words(lines: Iterable[_Line], up_to: Fraction) -> list[str]:
    said = []
    for line in lines:
        leaves = "" if line.leaves_mm is None else f", and leaves the band at {writing.decimal(line.leaves_mm, 1)} mm"
        said.append(f"{line.name}, {line.ppm}: {deviation_in_words(line.error, up_to)}{leaves}.")
    return said


def _band_in_words(verdict: Verdict, band: float | None) -> str:
    if band is None:
        return f"{_not_judged(verdict)}, so no band is drawn."
    return f"The band shows what is allowed, {_allowed(band)}: {_reason(verdict)}."


def _allowed(band: float) -> str:
    return f"{writing.decimal(band, 1, toward='down')} µm either way"


def _reason(verdict: Verdict) -> str:
    assert verdict.tolerance_um is not None
    tolerance = f"{verdict.tolerance_class} ({writing.decimal(verdict.tolerance_um, 0)} µm of pitch diameter)"
    return f"so much, over the length engaged, uses up {writing.percent(verdict.share)} of the tolerance of {tolerance}"


def _line_rows(lines: Iterable[_Line], up_to: Fraction) -> list[Row]:
    rows: list[Row] = []
    for line in lines:
        row: dict[str, object] = {"thread cut with": line.name, "error": line.ppm}
        for part in (4, 2, 1):
            row[f"over {writing.length(up_to / part)}"] = writing.micrometres(line.end_um / part)
        row["leaves the band at"] = None if line.leaves_mm is None else f"{writing.decimal(line.leaves_mm, 1)} mm"
        rows.append(row)
    return rows


def _lines_drawn(
    lines: Sequence[_Line], up_to: Fraction, band: float | None, verdict: Verdict, caption: str, description: str
) -> Svg:
    highest = max([abs(line.end_um) for line in lines] + [band or 0.0]) or 1.0
    middle, per_um = (_TOP + _BOTTOM) / 2, (_BOTTOM - _TOP) / 2 / (1.08 * highest)
    per_mm = (_RIGHT - _LEFT) / float(up_to)
    return sheet(
        LINES_PX,
        caption,
        description,
        text_line(f"{verdict.thread}: how far off over a length", 24, 36, size=15, anchor="start", font_weight="bold"),
        *([] if band is None else [_band(band * per_um)]),
        _grid(highest, per_um, float(up_to), per_mm),
        *(_line(n, line, middle, per_um, per_mm) for n, line in enumerate(lines)),
        _no_band(verdict) if band is None else _band_words(band * per_um, band, verdict),
        _labels(lines, middle, per_um),
    )


def _band(half: float) -> Svg:
    """The band between its two edges."""
    left, top, width = _LEFT, (_TOP + _BOTTOM) / 2 - half, _RIGHT - _LEFT
    return element(
        "g",
        element("rect", x=left, y=top, width=width, height=2 * half, fill=style.tint(style.SKY, 0.3)),
        drawn_line(f"M{left} {top:.2f}h{width}M{left} {top + 2 * half:.2f}h{width}", style.BLUE, 1.2, "2 3"),
    )


def _band_words(half: float, band: float, verdict: Verdict) -> Svg:
    words = f"allowed: {_allowed(band)}, {writing.percent(verdict.share)} of the tolerance of {verdict.tolerance_class}"
    edge = (_TOP + _BOTTOM) / 2 - half
    return over_lines(words, _LEFT + 10, edge - 7 if edge > _TOP + 24 else edge + 17, anchor="start")


def _no_band(verdict: Verdict) -> Svg:
    return over_lines(shortened(_not_judged(verdict), 76), _LEFT + 10, _TOP + 14, anchor="start", fill=style.SOFT)


def _not_judged(verdict: Verdict) -> str:
    """The first sentence of why there is no verdict."""
    return verdict.why.split(". ")[0].rstrip(".")


def _grid(highest: float, per_um: float, up_to: float, per_mm: float) -> Svg:
    middle = (_TOP + _BOTTOM) / 2
    up, along = step_for(highest, 4), step_for(up_to, 8)
    rules, words = [], []
    for n in range(-floor(1.08 * highest / up), floor(1.08 * highest / up) + 1):
        y = middle - n * up * per_um
        rules.append(f"M{_LEFT} {y:.2f}H{_RIGHT}")
        words.append(text_line(writing.signed(n * up, 6), _LEFT - 10, y + 4.3, size=style.SMALL_PX, anchor="end"))
    for n in range(floor(up_to / along + 1e-9) + 1):
        x = _LEFT + n * along * per_mm
        rules.append(f"M{x:.2f} {_TOP}V{_BOTTOM}")
        words.append(text_line(writing.decimal(n * along), x, _BOTTOM + 18, size=style.SMALL_PX))
    return element(
        "g",
        drawn_line("".join(rules), style.FAINT, 0.7),
        drawn_line(f"M{_LEFT} {_TOP}V{_BOTTOM}M{_LEFT} {middle}H{_RIGHT}", style.INK, 1.2),
        *words,
        text_line("length, mm", (_LEFT + _RIGHT) / 2, _BOTTOM + 38, size=style.WORD_PX),
        *(
            text_line(word, 25, y, size=style.WORD_PX, transform=Svg(f"rotate(-90 25 {y:.0f})"))
            for word, y in (("too long, µm", (_TOP + middle) / 2), ("too short, µm", (_BOTTOM + middle) / 2))
        ),
    )


def _line(n: int, line: _Line, middle: float, per_um: float, per_mm: float) -> Svg:
    end = middle - line.end_um * per_um
    parts = [drawn_line(f"M{_LEFT} {middle}L{_RIGHT} {end:.2f}", _COLOURS[n], 2.6, DASHES[n]), _mark(n, _RIGHT, end)]
    if line.leaves_mm is not None:
        share = line.leaves_mm * per_mm / (_RIGHT - _LEFT)
        parts.append(
            element(
                "circle",
                cx=_LEFT + share * (_RIGHT - _LEFT),
                cy=middle + share * (end - middle),
                r=5.5,
                fill=style.PAPER,
                stroke=_COLOURS[n],
                stroke_width=2,
            )
        )
    return element("g", *parts)


def _mark(n: int, x: float, y: float, radius: float = 6.0) -> Svg:
    """A mark of its own for each line: a disc, or a polygon of three corners, four, five ..."""
    if n == 0:
        return element("circle", cx=x, cy=y, r=radius, fill=_COLOURS[n])
    turns = [2 * pi * k / (n + 2) for k in range(n + 2)]
    path = "M" + "L".join(f"{x + radius * sin(turn):.2f} {y - radius * cos(turn):.2f}" for turn in turns) + "Z"
    return element("path", d=Svg(path), fill=_COLOURS[n])


def _labels(lines: Sequence[_Line], middle: float, per_um: float) -> Svg:
    """Beside the end of each line its mark, its name and its numbers; none over another."""
    order = sorted(range(len(lines)), key=lambda n: -lines[n].end_um)
    said = [_line_in_words(lines[n]) for n in order]
    ends = [middle - lines[n].end_um * per_um for n in order]
    heights = [25.0 + _LETTERS_PX * len(words) for words in said]
    places = spread(ends, heights, _TOP, _BOTTOM + 40)
    parts = []
    for n, words, end, place, height in zip(order, said, ends, places, heights, strict=True):
        top = place - height / 2 + 13
        parts.append(drawn_line(f"M{_RIGHT + 8} {end:.2f}L{_LABEL_X} {place:.2f}", style.SOFT, 0.8))
        parts.append(_mark(n, _LABEL_X + 10, top - 4.5))
        name = shortened(lines[n].name, _WORDS_LONG)
        parts.append(text_line(name, _LABEL_X + 22, top, size=14, anchor="start", font_weight="bold"))
        parts += [
            text_line(word, _LABEL_X + 22, top + _LETTERS_PX * k, size=style.SMALL_PX, anchor="start")
            for k, word in enumerate(words, 1)
        ]
    return element("g", *parts)


def _line_in_words(line: _Line) -> list[str]:
    """What stands under the name of a line: error, deviation, and where it leaves the band."""
    if not line.end_um:
        return ["exact"]
    off = str(writing.micrometres(line.end_um))
    both = f"{line.ppm}, {off}"
    words = [both] if len(both) <= _WORDS_LONG else [line.ppm, off]
    if line.leaves_mm is not None:
        words.append(f"leaves the band at {writing.decimal(line.leaves_mm, 1)} mm")
    return words


# The wanted thread and the cut thread, one above the other: how the gap between them grows with the length.


PARTING_PX = (800, 400)
"""Width and height of the picture."""

_START, _END = 84.0, 770.0
_BAR_PX, _DEEPEST_PX = 34.0, 20.0
_TRUE_TOP, _TRUE_APART = 76.0, 12.0
_LARGE_TOP, _LARGE_APART = 196.0, 52.0
_RULER_Y = 352.0
_GAP_PX = 100.0  # a gap is magnified to at most this
_FINEST_PX = 3.0  # crests closer than this are drawn as plain tone
_JOIN_PX = 14.0  # joined crests are no closer than this
_MOST_TIMES = 10**9


def side_by_side(
    wanted: Thread | str,
    cut_lead_mm: Fraction | int | str,
    length_mm: float | Fraction = 25,
    magnify: float | None = None,
    *,
    window_mm: float | Fraction | None = None,
) -> Picture:
    """The wanted thread above the cut one, true to scale and with the difference magnified, crest joined to crest.

    >>> print(side_by_side("M10x1.5", Fraction(24003, 16000), length_mm=100).caption)
    M10x1.5 with an error of +125 ppm: the thread as cut is 12.5 µm too long over 100 mm.

    `wanted`: a Thread or its text. `cut_lead_mm`: what is cut, mm. `length_mm`: how much of it, from 0.001 mm.
    `magnify`: how many times as large the difference is drawn in the lower half, 1 to 10^9; None: a round number
    that makes it plain to see. `window_mm`: how much of the wanted thread the sheet shows, at least the length (None:
    just that), so that one sheet can show a growing length.
    Raises NotPossibleError where the leads are so different that this is no near miss, ValueOutOfRangeError for
    a length or a magnification that can't be drawn, ThreadTextError for text that is no thread.
    """
    thread, cut = as_thread(wanted), as_fraction(cut_lead_mm, what="the cut lead")
    p = _parting(thread, RelativeError(cut, thread.lead), length_mm, magnify, window_mm)
    over = deviation_in_words(p.error, p.length)
    caption = f"{thread} with an error of {writing.error(p.error)}: the thread as cut is {over}."
    if p.is_exact:
        caption = f"{thread}: the thread as cut is {over}."
    description = (
        f"Two threads one above the other, {writing.cut(p.length)} long: {thread} as wanted, "
        f"lead {writing.length(thread.lead)}, and as cut, lead {writing.length(cut)}. "
        f"{_times_in_words(p)} The cut thread is {over}."
    )
    return Picture(_parting_drawn(p, over, caption, description), description, _gap_rows(p), caption)


@define(slots=False)
class _Parting:
    """A thread wanted and what is cut in its place, over a length, on a sheet that shows `window` mm."""

    thread: Thread
    error: RelativeError
    length: Fraction
    window: Fraction
    magnify: float

    @cached_property
    def pitch(self) -> float:
        return float(self.thread.pitch)

    @cached_property
    def gap(self) -> float:
        """At the end of the length, mm; positive when the cut thread is too long."""
        return deviation_um(self.error, self.length) / 1000

    @property
    def is_exact(self) -> bool:
        return self.error.is_exact

    @cached_property
    def scale(self) -> float:
        """Pixels to a millimetre: all that the window shows fills the sheet, whatever the length."""
        window = float(self.window)
        return (_END - _START) / max(window, window * (1 + self.magnify * self.gap / float(self.length)))

    def x(self, mm: float) -> float:
        return _START + mm * self.scale

    @cached_property
    def joined(self) -> int:
        """Every how many-th crest is joined to its counterpart."""
        return max(1, round(round_number(_JOIN_PX / (self.pitch * self.scale), up=True)))


def _parting(thread: Thread, error: RelativeError, length_mm: object, magnify: object, window_mm: object) -> _Parting:
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
        times = max(1.0, round_number(most * 2 * _GAP_PX / (_END - _START))) if widest else 1.0
    else:
        times = float(as_fraction(magnify, what="the magnification"))
        if not 1 <= times <= min(max(most, 1.0), _MOST_TIMES):
            raise ValueOutOfRangeError(
                f"over this length the difference can be drawn 1 to {_times(floor(max(most, 1.0)))}",
                value=magnify,
                remedy="Leave magnify out, and a round number is chosen.",
            )
    return _Parting(thread, error, length, window, times)


def _parting_drawn(p: _Parting, over: str, caption: str, description: str) -> Svg:
    leads = f"{writing.length(p.thread.lead)} wanted, {writing.length(p.error.cut)} cut"
    title = f"{p.thread}: {leads}, {writing.error(p.error)}"
    joins = {1: "", 2: ", every other crest joined"}.get(p.joined, f", one crest in {p.joined} joined")
    return sheet(
        PARTING_PX,
        caption,
        description,
        text_line(title, 24, 36, size=15, anchor="start", font_weight="bold"),
        _heading(f"True to scale along the thread{joins}", _TRUE_TOP),
        _pair(p, _TRUE_TOP, _TRUE_APART, 1.0),
        _heading(_large_in_words(p), _LARGE_TOP),
        _pair(p, _LARGE_TOP, _LARGE_APART, p.magnify),
        _end(p, over),
        _ruler(p),
    )


def _large_in_words(p: _Parting) -> str:
    if p.is_exact:
        return "The difference, however much magnified: none"
    return f"The difference drawn {_times(p.magnify)}" if p.magnify > 1 else "The difference as large as it is"


def _heading(words: str, top: float) -> Svg:
    return text_line(words, _START, top - 9, size=style.WORD_PX, anchor="start", fill=style.SOFT)


def _pair(p: _Parting, top: float, apart: float, magnify: float) -> Svg:
    """Both threads, crests facing, and the lines that join them; the difference drawn `magnify` times as large."""
    upper, lower = top + _BAR_PX, top + _BAR_PX + apart
    stretch = 1 + magnify * p.gap / float(p.length)
    every = p.joined * p.pitch
    joins = "".join(
        f"M{p.x(n * every):.2f} {upper:.1f}L{p.x(n * every * stretch):.2f} {lower:.1f}"
        for n in range(floor(float(p.length) / every + 1e-9) + 1)
    )
    return element(
        "g",
        _thread(p, p.pitch, float(p.window), top, upper, style.tint(style.SKY, 0.42)),
        _thread(p, p.pitch * stretch, float(p.length) * stretch, lower + _BAR_PX, lower, style.tint(style.ORANGE, 0.3)),
        drawn_line(joins, style.INK, 0.9),
        _name("wanted", (top + upper) / 2),
        _name("cut", lower + _BAR_PX / 2),
    )


def _name(word: str, middle: float) -> Svg:
    return text_line(word, _START - 10, middle + 4.5, size=style.WORD_PX, anchor="end", font_weight="bold")


def _thread(p: _Parting, pitch: float, length: float, back: float, crest: float, tone: str) -> Svg:
    """One edge of a thread: crests at whole pitches on the line `crest`, the bar's back on the line `back`."""
    step, right = pitch * p.scale, p.x(length)
    if step < _FINEST_PX:
        root = crest + 0.2 * (back - crest)
        bar = f"M{_START} {back}V{crest}H{right:.2f}V{back}ZM{_START} {root}H{right:.2f}"
        return element("path", d=Svg(bar), fill=tone, stroke=style.INK, stroke_width=1.0)
    depth = min(0.6134 * step, _DEEPEST_PX) * (1 if back > crest else -1)
    halves = 2 * length / pitch
    corners = [f"{_START + n * step / 2:.2f} {crest + depth * (n % 2):.1f}" for n in range(floor(halves + 1e-9) + 1)]
    beyond = halves % 2
    last = crest + depth * (beyond if beyond <= 1 else 2 - beyond)
    outline = f"M{_START} {back}L" + "L".join(corners) + f"L{right:.2f} {last:.1f}V{back}Z"
    return element("path", d=Svg(outline), fill=tone, stroke=style.INK, stroke_width=1.0, stroke_linejoin="round")


def _end(p: _Parting, over: str) -> Svg:
    """Where the cut thread should end, where it ends, and how far that is apart."""
    should, does = p.x(float(p.length)), p.x(float(p.length) + p.magnify * p.gap)
    upper, foot = _LARGE_TOP + _BAR_PX, _LARGE_TOP + 2 * _BAR_PX + _LARGE_APART + 26
    lower = upper + _LARGE_APART
    left, right = min(should, does), max(should, does)
    from_left = left - _START > style.text_width_px(over, style.WORD_PX) + 24
    at, anchor = (left - 10, "end") if from_left else (right + 10, "start")
    return element(
        "g",
        element("rect", x=left, y=foot - 14, width=right - left, height=8, fill=style.VERMILLION),
        drawn_line(f"M{should:.2f} {upper}V{foot}", style.VERMILLION, 1.8, "6 3"),
        drawn_line(f"M{should:.2f} {upper}L{does:.2f} {lower}V{foot}", style.VERMILLION, 1.8),
        over_lines(over, at, foot - 5, size=14, anchor=anchor, font_weight="bold"),
    )


def _ruler(p: _Parting) -> Svg:
    shown = (_END - _START) / p.scale
    step = step_for(shown, 11)
    ticks, words = [], []
    for n in range(floor(shown / step * 5 + 1e-9) + 1):
        x = p.x(n * step / 5)
        ticks.append(f"M{x:.2f} {_RULER_Y}v{10 if n % 5 == 0 else 5}")
        if n % 5 == 0:
            words.append(text_line(writing.decimal(n // 5 * step), x, _RULER_Y + 25, size=style.SMALL_PX))
    return element(
        "g",
        drawn_line(f"M{_START} {_RULER_Y}H{_END}" + "".join(ticks), style.INK, 1.0),
        *words,
        text_line("mm", _START - 12, _RULER_Y + 25, size=style.SMALL_PX, anchor="end"),
    )


def _gap_rows(p: _Parting) -> list[Row]:
    """The gap after a fifth, two fifths ... of the length."""
    it_is = "exact" if p.is_exact else f"too {'long' if p.gap > 0 else 'short'}"
    return [
        {
            "over": writing.length(p.length * part / 5),
            "pitches wanted": writing.decimal(float(p.length) * part / 5 / p.pitch, 2),
            "the cut thread is off by": writing.micrometres(p.gap * 1000 * part / 5),
            "it is": it_is,
        }
        for part in range(1, 6)
    ]


def _times_in_words(p: _Parting) -> str:
    if p.is_exact:
        return "Every crest stands against its counterpart, from end to end."
    if p.magnify == 1:
        return "The gap between matching crests grows evenly from the left end."
    return (
        f"Above, they are true to scale along the thread; below, the difference is drawn {_times(p.magnify)}, "
        "and the gap between matching crests grows evenly from the left end."
    )


def _times(times: float) -> str:
    return f"{writing.decimal(times, 2)} times as large"
