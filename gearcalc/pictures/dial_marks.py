"""The face of the thread-chasing dial and the rulers beside it, as marks on a sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import partial
from math import ceil, cos, floor, pi, sin
from textwrap import wrap

from attrs import evolve

from gearcalc.basics import both_units, writing
from gearcalc.basics.exact import INCH_MM
from gearcalc.cutting.dial_gears import DialGearChoice
from gearcalc.cutting.dial_rules import (
    ANOTHER_START,
    MISSES,
    NO_CLOSING,
    SERVES,
    THIS_TIME,
    DialLine,
    DialRule,
    dial_lines,
)
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import Mark, key
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, over_lines, rect, shape, text_line

FACE_PX = (800, 290)
"""Width and height of the dial with its rulers."""

_CENTRE, _RADIUS = (142.0, 150.0), 78.0
_LEFT, _RIGHT, _RULER_Y = 282.0, 766.0, 138.0
_MOST_THREADS, _MOST_LEADS, _MOST_NUMBERS = 64, 260, 10
_FOR_FIGURES_PX = 40  # between two lines, where it is said how far out the tool is
TONES = {
    SERVES: style.BLUE,
    THIS_TIME: style.SOFT,
    ANOTHER_START: style.VERMILLION,
    MISSES: style.SOFT,
    NO_CLOSING: style.FAINT,
}
_IN_THE_KEY = {
    SERVES: "serves",
    THIS_TIME: "serves this time only",
    ANOTHER_START: "another start's groove",
    MISSES: "misses",
    NO_CLOSING: "half-nuts don't close",
}


def face_and_rulers(rule: DialRule, gear: DialGearChoice, at_mark: int = 1) -> list[Svg]:
    """The dial with line `at_mark` at its mark, the rulers beside it, and the key; for a sheet 800 px wide."""
    lines = dial_lines(rule, gear)
    examples = {line.kind: line for line in sorted(lines, key=lambda line: (line.printed is not None, -line.threads))}
    entries = key_entries(examples)
    entries.append((lambda x, y: shape(f"M{x:.1f} {y - 4.5}l-4.5 9h9Z", style.BLUE), "in the groove"))
    return [
        *_face(gear, lines, at_mark),
        *_rulers(rule, gear, lines),
        *(bold(line, _LEFT, _RULER_Y + 84 + 18 * n, size=14) for n, line in enumerate(wrap(_verdict(rule, gear), 54))),
        key(36, FACE_PX[1] - 14, *entries),
    ]


def key_entries(examples: Mapping[str, DialLine]) -> list[tuple[Mark, str]]:
    """What the marks of lines mean, for the key: an example of each kind that there is."""
    return [(partial(line_mark, examples[kind]), words) for kind, words in _IN_THE_KEY.items() if kind in examples]


def _face(gear: DialGearChoice, lines: Sequence[DialLine], at_mark: int) -> list[Svg]:
    x, y = _CENTRE
    lines_there = f"{gear.teeth} teeth, {writing.counted(gear.lines, 'line')}"
    numbered = f", {gear.lines // gear.apart} numbered"
    words = f"{lines_there}{f'; line {at_mark} at the mark' if gear.apart == 1 else numbered}"
    return [
        disc(x, y, _RADIUS, width=2.2),
        disc(x, y, _RADIUS - 5, "none", style.FAINT, 0.8),
        *(_line(line, (line.number - at_mark) / gear.lines, gear) for line in lines),
        disc(x, y, 5, width=1.4),
        shape(f"M{x - 8} {y - _RADIUS - 16}h16l-8 13Z", style.INK),
        note(words, x, y + _RADIUS + 18, anchor="middle"),
    ]


def _at(turn: float, radius: float) -> tuple[float, float]:
    """A point on the face, so much of a turn clockwise from the mark."""
    angle = 2 * pi * turn
    return _CENTRE[0] + radius * sin(angle), _CENTRE[1] - radius * cos(angle)


def _line(line: DialLine, turn: float, gear: DialGearChoice) -> Svg:
    inner = _RADIUS - (25 if line.kind == SERVES else 18 if line.kind == ANOTHER_START else 13)
    inner += 0 if line.printed else 7  # a plain line is a short one
    (x1, y1), (x2, y2) = _at(turn, inner), _at(turn, _RADIUS - 1)
    width = {SERVES: 5.0, ANOTHER_START: 2.4}.get(line.kind, 1.4)
    dash = {ANOTHER_START: "5 3", NO_CLOSING: "2 3"}.get(line.kind)
    stroke = drawn_line(f"M{x1:.2f} {y1:.2f}L{x2:.2f} {y2:.2f}", TONES[line.kind], width, dash)
    if line.printed is None:
        crowded = gear.lines > 2 * _MOST_NUMBERS
        return stroke if crowded else element("g", stroke, line_mark(line, *_at(turn, _RADIUS - 31)))
    count = gear.lines // gear.apart
    every = ceil(count / _MOST_NUMBERS)
    if (line.printed - 1) % every or line.printed > count - every + 1:
        return stroke
    return element("g", stroke, line_mark(line, *_at(turn, _RADIUS - 38)))


def _verdict(rule: DialRule, gear: DialGearChoice) -> str:
    """The rule; of a dial gear that doesn't serve, that it doesn't, and which one does."""
    if gear.step is not None or rule.chosen is None:
        return rule.verdict
    return f"The dial gear of {gear.teeth} teeth does not serve here. Mount the one of {rule.chosen.teeth} teeth."


def line_mark(line: DialLine, x: float, y: float) -> Svg:
    """A line's number in the mark of its kind: a full disc, a box, a bare figure, a figure struck through.

    A line without a number has the mark alone, and a small one.
    """
    if line.printed is None:
        return _plain_mark(line, x, y)
    figure, parts = f"{line.printed}", []
    if line.kind == SERVES:
        lettering = bold(figure, x, y + 4.8, size=14, anchor="middle", fill=style.PAPER)
        return element("g", disc(x, y, 10.5, style.BLUE), lettering)
    if line.kind == ANOTHER_START:
        tone = style.tint(style.VERMILLION, 0.16)
        return element(
            "g", rect(x - 9, y - 9, x + 9, y + 9, tone, style.VERMILLION, 1.4), text_line(figure, x, y + 4.5)
        )
    if line.kind == THIS_TIME:
        parts = [disc(x, y, 9.5, "none", style.SOFT, stroke_dasharray="3 2")]
    elif line.kind == NO_CLOSING:
        parts = [drawn_line(f"M{x - 7:.1f} {y + 6:.1f}l14 -12", style.SOFT)]
    return element("g", *parts, note(figure, x, y + 4.5, anchor="middle"))


def _plain_mark(line: DialLine, x: float, y: float) -> Svg:
    if line.kind == SERVES:
        return disc(x, y, 5, style.BLUE)
    if line.kind == ANOTHER_START:
        return rect(x - 5, y - 5, x + 5, y + 5, style.tint(style.VERMILLION, 0.16), style.VERMILLION, 1.4)
    if line.kind == THIS_TIME:
        return disc(x, y, 5, "none", style.SOFT, stroke_dasharray="3 2")
    if line.kind == NO_CLOSING:
        return drawn_line(f"M{x - 4:.1f} {y + 4:.1f}l8 -8", style.SOFT)
    return disc(x, y, 1.5, style.SOFT, style.SOFT)


def _rulers(rule: DialRule, gear: DialGearChoice, lines: Sequence[DialLine]) -> list[Svg]:
    """Leadscrew threads above, leads beneath: where a line of both falls together the tool is in its groove."""
    shown = min(gear.teeth, _MOST_THREADS)
    step = (_RIGHT - _LEFT) / shown
    screw = "".join(f"M{_LEFT + n * step:.2f} {_RULER_Y - 22}V{_RULER_Y}" for n in range(shown + 1))
    span = both_units.travel(shown * rule.leadscrew_mm, rule.units, places=1)
    what = "one turn of the dial" if shown == gear.teeth else f"{shown} leadscrew threads"
    first = evolve(lines[-1], threads=gear.threads_at(1), kind=SERVES, out_mm=lines[-1].out_mm * 0)
    marked = [(first, 0.0), *((line, _LEFT + float(line.threads) * step) for line in lines if line.threads <= shown)]
    return [
        text_line(f"Grooves passing in {what}, {span}", _LEFT, 58, anchor="start"),
        note("leadscrew threads", _LEFT, _RULER_Y - 62, size=style.SMALL_PX),
        note(_beneath(rule, shown, lines, step * gear.teeth / gear.lines), _LEFT, _RULER_Y + 61, size=style.SMALL_PX),
        rect(_LEFT, _RULER_Y - 24, _RIGHT, _RULER_Y, style.tint(style.ORANGE, 0.16)),
        rect(_LEFT, _RULER_Y, _RIGHT, _RULER_Y + 24, style.tint(style.SKY, 0.28)),
        *_leads(rule, shown),
        drawn_line(screw, width=1.2),
        drawn_line(f"M{_LEFT} {_RULER_Y}H{_RIGHT}", width=1.2),
        *_together(rule, shown, step),
        *(_flag(line, x or _LEFT, gear, step) for line, x in marked),
    ]


def _leads_in(rule: DialRule, threads: int) -> int:
    return floor(threads * float(rule.leadscrew_mm) / float(rule.lead) + 1e-9)


def _beneath(rule: DialRule, shown: int, lines: Sequence[DialLine], apart_px: float) -> str:
    if _leads_in(rule, shown) > _MOST_LEADS:
        return "leads of the thread, too fine to draw"
    if apart_px >= _FOR_FIGURES_PX and any(line.kind in (MISSES, ANOTHER_START) for line in lines):
        unit = "mm" if rule.units == "mm" else "thou"
        return f"leads of the thread; the figures say how many {unit} the tool is out at that line"
    return "leads of the thread"


def _leads(rule: DialRule, shown: int) -> list[Svg]:
    """A tick a lead, and a short one for each further start."""
    count = _leads_in(rule, shown)
    per_lead = (_RIGHT - _LEFT) * float(rule.lead) / (shown * float(rule.leadscrew_mm))
    if count > _MOST_LEADS:
        return []
    long = "".join(f"M{_LEFT + n * per_lead:.2f} {_RULER_Y}v22" for n in range(count + 1))
    ticks = [drawn_line(long, width=1.2)]
    if rule.starts > 1 and count * rule.starts <= _MOST_LEADS:
        between = (n + start / rule.starts for n in range(count + 1) for start in range(1, rule.starts))
        places = (_LEFT + leads * per_lead for leads in between)
        short = "".join(f"M{x:.2f} {_RULER_Y}v11" for x in places if x <= _RIGHT)
        ticks.append(drawn_line(short, style.VERMILLION, 1.2, "3 2"))
    return ticks


def _together(rule: DialRule, shown: int, step: float) -> list[Svg]:
    """A bar through both rulers wherever a thread of the leadscrew and a groove fall together."""
    caught = [n for n in range(shown + 1) if rule.catches(n)]
    bars = "".join(f"M{_LEFT + n * step:.2f} {_RULER_Y - 24}v48" for n in caught)
    marks = "".join(f"M{_LEFT + n * step:.2f} {_RULER_Y + 26}l-4.5 9h9Z" for n in caught) if step >= 9 else ""
    return [drawn_line(bars, style.BLUE, 5.0 if step >= 14 else 3.0), shape(marks or "M0 0", style.BLUE)]


def _flag(line: DialLine, x: float, gear: DialGearChoice, step: float) -> Svg:
    """A line's number over the thread at which it stands at the mark, and how far out the tool then is."""
    room = step * gear.teeth / gear.lines
    stalk = drawn_line(f"M{x:.2f} {_RULER_Y - 24}V{_RULER_Y - 34}", TONES[line.kind], 1.4)
    if (line.number - 1) % ceil(22 / room):
        return stalk
    parts = [stalk, line_mark(line, x, _RULER_Y - 46)]
    if line.kind in (MISSES, ANOTHER_START) and room >= _FOR_FIGURES_PX:
        out = _out(line)
        at, anchor = (x + 6, "end") if x > _RIGHT - 12 else (x, "middle")
        parts.append(over_lines(out, at, _RULER_Y + 44, anchor=anchor))
    return element("g", *parts)


def _out(line: DialLine) -> str:
    """How far out the tool is, in a figure that is short: of millimetres, or of thousandths of an inch."""
    if line.units == "mm":
        return writing.out_by(line.out_mm).removesuffix(" mm").removeprefix("≈ ").replace("less than", "<")
    thou = abs(line.out_mm) / INCH_MM * 1000
    return "< 0.1" if 0 < thou < Fraction(1, 20) else writing.decimal(thou, 1)
