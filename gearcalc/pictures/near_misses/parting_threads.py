"""The wanted thread and the cut thread, one above the other: how the gap between them grows with the length."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from math import floor

from attrs import define

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError, as_fraction
from gearcalc.pictures import style
from gearcalc.pictures.charts import drawn_line, over_lines, round_number, sheet, step_for
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.deviations import deviation_in_words, deviation_um

PARTING_PX = (800, 400)
"""Width and height of the picture."""

_LEFT, _RIGHT = 84.0, 770.0
_BAR_PX, _DEEPEST_PX = 34.0, 20.0
_TRUE_TOP, _TRUE_APART = 76.0, 12.0
_LARGE_TOP, _LARGE_APART = 196.0, 52.0
_RULER_Y = 352.0
_GAP_PX = 100.0  # a gap is magnified to at most this
_FINEST_PX = 3.0  # crests closer than this are drawn as plain tone
_JOIN_PX = 14.0  # joined crests are no closer than this
_FARTHEST_PPM = 500_000
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
        f"Two threads one above the other, {_mm(p.length)} long: {thread} as wanted, "
        f"lead {writing.length(thread.lead)}, and as cut, lead {writing.length(cut)}. "
        f"{_times_in_words(p)} The cut thread is {over}."
    )
    return Picture(_drawing(p, over, caption, description), description, _rows(p), caption)


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
        return (_RIGHT - _LEFT) / max(window, window * (1 + self.magnify * self.gap / float(self.length)))

    def x(self, mm: float) -> float:
        return _LEFT + mm * self.scale

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
        times = max(1.0, round_number(most * 2 * _GAP_PX / (_RIGHT - _LEFT))) if widest else 1.0
    else:
        times = float(as_fraction(magnify, what="the magnification"))
        if not 1 <= times <= min(max(most, 1.0), _MOST_TIMES):
            raise ValueOutOfRangeError(
                f"over this length the difference can be drawn 1 to {_times(floor(max(most, 1.0)))}",
                value=magnify,
                remedy="Leave magnify out, and a round number is chosen.",
            )
    return _Parting(thread, error, length, window, times)


def _drawing(p: _Parting, over: str, caption: str, description: str) -> Svg:
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
    return text_line(words, _LEFT, top - 9, size=style.WORD_PX, anchor="start", fill=style.SOFT)


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
    return text_line(word, _LEFT - 10, middle + 4.5, size=style.WORD_PX, anchor="end", font_weight="bold")


def _thread(p: _Parting, pitch: float, length: float, back: float, crest: float, tone: str) -> Svg:
    """One edge of a thread: crests at whole pitches on the line `crest`, the bar's back on the line `back`."""
    step, right = pitch * p.scale, p.x(length)
    if step < _FINEST_PX:
        root = crest + 0.2 * (back - crest)
        bar = f"M{_LEFT} {back}V{crest}H{right:.2f}V{back}ZM{_LEFT} {root}H{right:.2f}"
        return element("path", d=Svg(bar), fill=tone, stroke=style.INK, stroke_width=1.0)
    depth = min(0.6134 * step, _DEEPEST_PX) * (1 if back > crest else -1)
    halves = 2 * length / pitch
    corners = [f"{_LEFT + n * step / 2:.2f} {crest + depth * (n % 2):.1f}" for n in range(floor(halves + 1e-9) + 1)]
    beyond = halves % 2
    last = crest + depth * (beyond if beyond <= 1 else 2 - beyond)
    outline = f"M{_LEFT} {back}L" + "L".join(corners) + f"L{right:.2f} {last:.1f}V{back}Z"
    return element("path", d=Svg(outline), fill=tone, stroke=style.INK, stroke_width=1.0, stroke_linejoin="round")


def _end(p: _Parting, over: str) -> Svg:
    """Where the cut thread should end, where it ends, and how far that is apart."""
    should, does = p.x(float(p.length)), p.x(float(p.length) + p.magnify * p.gap)
    upper, foot = _LARGE_TOP + _BAR_PX, _LARGE_TOP + 2 * _BAR_PX + _LARGE_APART + 26
    lower = upper + _LARGE_APART
    left, right = min(should, does), max(should, does)
    from_left = left - _LEFT > style.text_width_px(over, style.WORD_PX) + 24
    at, anchor = (left - 10, "end") if from_left else (right + 10, "start")
    return element(
        "g",
        element("rect", x=left, y=foot - 14, width=right - left, height=8, fill=style.VERMILLION),
        drawn_line(f"M{should:.2f} {upper}V{foot}", style.VERMILLION, 1.8, "6 3"),
        drawn_line(f"M{should:.2f} {upper}L{does:.2f} {lower}V{foot}", style.VERMILLION, 1.8),
        over_lines(over, at, foot - 5, size=14, anchor=anchor, font_weight="bold"),
    )


def _ruler(p: _Parting) -> Svg:
    shown = (_RIGHT - _LEFT) / p.scale
    step = step_for(shown, 11)
    ticks, words = [], []
    for n in range(floor(shown / step * 5 + 1e-9) + 1):
        x = p.x(n * step / 5)
        ticks.append(f"M{x:.2f} {_RULER_Y}v{10 if n % 5 == 0 else 5}")
        if n % 5 == 0:
            words.append(text_line(writing.decimal(n // 5 * step), x, _RULER_Y + 25, size=style.SMALL_PX))
    return element(
        "g",
        drawn_line(f"M{_LEFT} {_RULER_Y}H{_RIGHT}" + "".join(ticks), style.INK, 1.0),
        *words,
        text_line("mm", _LEFT - 12, _RULER_Y + 25, size=style.SMALL_PX, anchor="end"),
    )


def _rows(p: _Parting) -> list[Row]:
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


def _mm(length: Fraction) -> str:
    return f"{writing.decimal(length, 3)} mm"
