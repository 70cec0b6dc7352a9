"""Two threads that part: the wanted one above the one that is cut, and the difference magnified."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from math import floor

from attrs import define

from gearcalc.basics import both_units, writing
from gearcalc.basics.arguments import as_units
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, RelativeError, as_fraction
from gearcalc.basics.writing import Units
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import Scale, chart, round_number, ruler
from gearcalc.pictures.errors_over_length import FARTHEST_PPM
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, drawn_line, element, note, over_lines, path_of, rect, shape, text_line
from gearcalc.pictures.thread_profiles import FINEST_PX, crests, flanks_deg
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.deviations import deviation_in_words, deviation_um

PARTING_PX = (800, 400)
"""Width and height of the picture."""

_FROM, _TO = 84.0, 770.0
_BAR_PX, _DEEPEST_PX = 34.0, 20.0
_TRUE_TOP, _TRUE_APART = 76.0, 12.0
_LARGE_TOP, _LARGE_APART = 196.0, 52.0
_RULER_Y = 352.0
_GAP_PX = 100.0  # a gap is magnified to at most this
_JOIN_PX = 14.0  # joined crests are no closer than this
_MOST_TIMES = 10**9
_MOST_PLACES = 14


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
    wanted_lead, cut_lead = _told_apart(thread.lead, cut, units)
    title = f"{thread}: {wanted_lead} wanted, {cut_lead} cut, {writing.error(p.error)}"
    return chart(PARTING_PX, caption, description, _gap_rows(p), *_parting_drawn(p, over), title=title)


def _told_apart(one: Exact, other: Exact, units: Units) -> tuple[str, str]:
    """Two lengths in the unit that is read first, to so many places that different ones don't read alike."""
    size, unit = (1, "mm") if units == "mm" else (INCH_MM, "in")
    for places in range(4 if units == "mm" else 5, _MOST_PLACES):
        told = tuple(str(writing.length(length / size, unit, places)) for length in (one, other))
        if told[0] != told[1] or one == other:
            break
    return told[0], told[1]


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
    if abs(error.ppm) > FARTHEST_PPM:
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
