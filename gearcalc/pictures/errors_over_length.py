"""What pitch errors come to over a length, as lines beside what is allowed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import cos, pi, sin

from attrs import frozen

from gearcalc.basics import both_units, writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, RelativeError, as_fraction
from gearcalc.basics.writing import Units
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import DASHES, Scale, chart, rules_across, rules_down, shortened, spread, upright
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, over_lines, path_of, rect, shape, text_line
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.deviations import USUAL_SHARE, Verdict, deviation_in_words, deviation_um, judge

LINES_PX = (800, 440)
"""Width and height of the picture."""

FARTHEST_PPM = 500_000
"""The largest error that still is one: beyond it two threads are different ones."""

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
        if abs(end) > FARTHEST_PPM / 1000 * float(up_to):
            raise NotPossibleError(f"an error of more than {FARTHEST_PPM} ppm is no near miss")
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
