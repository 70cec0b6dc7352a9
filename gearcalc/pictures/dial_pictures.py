"""The thread-chasing dial: its face and rulers with the lines that serve; and passes that catch or split a thread."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import ceil, cos, floor, pi, sin, sqrt
from textwrap import wrap

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.dial_rules import (
    ANOTHER_START,
    MISSES,
    NO_CLOSING,
    SERVES,
    THIS_TIME,
    DialGearChoice,
    DialLine,
    DialRule,
    dial_gear,
    dial_lines,
    landing,
    lines_in_words,
)
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import DASHES, LEFT_PX, Mark, chart, key, spread
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, over_lines, rect, shape, text_line, window

FACE_PX = (800, 290)
"""Width and height of the dial with its rulers."""
CATCH_PX = (800, FACE_PX[1] + 180)
"""The same with passes under them."""

# The dial and its rulers.

_CENTRE, _RADIUS = (142.0, 150.0), 78.0
_LEFT, _RIGHT, _RULER_Y = 282.0, 766.0, 138.0
_MOST_THREADS, _MOST_LEADS, _MOST_NUMBERS, _MOST_NAMED = 64, 260, 10, 4
_TONES = {
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


def dial_face(rule: DialRule, teeth: int | None = None) -> Picture:
    """The dial with its lines, those that serve told from those that don't, and the grooves that pass in a turn of it.

    >>> import gearcalc as gc
    >>> print(dial_face(gc.dial(gc.demo_lathe("inch"), "11 tpi")).description)  # doctest: +ELLIPSIS
    The thread-chasing dial for 11 tpi, ... 16 teeth and 8 lines: lines 1 and 5 serve, lines 2, 3, 4, 6, 7 and 8 miss...

    `rule`: from dial(); `teeth`: which dial gear, None for the one chosen (the first where none serves).
    Raises ValueOutOfRangeError where the lathe has no dial, or not that gear.
    """
    gear = dial_gear(rule, teeth)
    lines = dial_lines(rule, gear)
    caption = f"The thread-chasing dial for {rule.thread}, leadscrew {writing.lead(rule.leadscrew_mm)}"
    description = f"{caption}, {gear.teeth} teeth and {lines_in_words(gear)}: {_described(rule, lines)}"
    rows = [_line_row(line) for line in lines]
    return chart(FACE_PX, caption, description, rows, *_face_and_rulers(rule, gear), title=caption)


def _line_row(line: DialLine) -> Row:
    """A line of the dial as a row of a table."""
    return {
        "line": line.called if line.printed is None else line.printed,
        "leadscrew threads gone by": writing.number(line.threads),
        "closed there": line.in_words,
    }


def _described(rule: DialRule, lines: Sequence[DialLine]) -> str:
    """Which lines do what, in a sentence or two."""
    verbs = {
        SERVES: ("serves", "serve"),
        THIS_TIME: ("serves this time only", "serve this time only"),
        ANOTHER_START: ("catches another start", "catch another start"),
        MISSES: ("misses", "miss"),
        NO_CLOSING: ("stands between two threads", "stand between two threads"),
    }
    said = []
    for kind, (one, more) in verbs.items():
        there = sorted((line for line in lines if line.kind == kind), key=lambda line: line.number)
        numbered = [line.called for line in there if line.printed]
        named = [f"line{'s' * (len(numbered) > 1)} {writing.listed(numbered)}"] if numbered else []
        named += _plain_lines([line for line in there if not line.printed], len(lines))
        if there:
            said.append(f"{writing.listed(named)} {one if len(there) == 1 else more}")
    every = f" A groove returns every {rule.threads} leadscrew threads." if rule.threads and rule.threads > 1 else ""
    return f"{', '.join(said)}.{every}"


def _plain_lines(there: Sequence[DialLine], of: int) -> list[str]:
    """The lines without a number: each by where it stands, or, where they are many, how many they are."""
    if len(there) > _MOST_NAMED:
        return [f"{len(there)} lines without a number"]
    return [line.called for line in there]


def _face_and_rulers(rule: DialRule, gear: DialGearChoice, at_mark: int = 1) -> list[Svg]:
    """The dial with line `at_mark` at its mark, the rulers beside it, and the key; for a sheet 800 px wide."""
    lines = dial_lines(rule, gear)
    examples = {line.kind: line for line in sorted(lines, key=lambda line: (line.printed is not None, -line.threads))}
    entries: list[tuple[Mark, str]] = [
        (partial(_number, examples[kind]), words) for kind, words in _IN_THE_KEY.items() if kind in examples
    ]
    entries.append((lambda x, y: shape(f"M{x:.1f} {y - 4.5}l-4.5 9h9Z", style.BLUE), "in the groove"))
    return [
        *_face(gear, lines, at_mark),
        *_rulers(rule, gear, lines),
        *(bold(line, _LEFT, _RULER_Y + 84 + 18 * n, size=14) for n, line in enumerate(wrap(rule.verdict, 54))),
        key(36, FACE_PX[1] - 14, *entries),
    ]


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
    stroke = drawn_line(f"M{x1:.2f} {y1:.2f}L{x2:.2f} {y2:.2f}", _TONES[line.kind], width, dash)
    if line.printed is None:
        crowded = gear.lines > 2 * _MOST_NUMBERS
        return stroke if crowded else element("g", stroke, _number(line, *_at(turn, _RADIUS - 31)))
    count = gear.lines // gear.apart
    every = ceil(count / _MOST_NUMBERS)
    if (line.printed - 1) % every or line.printed > count - every + 1:
        return stroke
    return element("g", stroke, _number(line, *_at(turn, _RADIUS - 38)))


def _number(line: DialLine, x: float, y: float) -> Svg:
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
    span = writing.length(shown * rule.leadscrew_mm, places=1)
    what = "one turn of the dial" if shown == gear.teeth else f"{shown} leadscrew threads"
    first = evolve(lines[-1], threads=gear.threads_at(1), kind=SERVES, out_mm=lines[-1].out_mm * 0)
    marked = [(first, 0.0), *((line, _LEFT + float(line.threads) * step) for line in lines if line.threads <= shown)]
    return [
        text_line(f"Grooves passing in {what}, {span}", _LEFT, 58, anchor="start"),
        note("leadscrew threads", _LEFT, _RULER_Y - 62, size=style.SMALL_PX),
        note(_beneath(rule, shown, lines), _LEFT, _RULER_Y + 61, size=style.SMALL_PX),
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


def _beneath(rule: DialRule, shown: int, lines: Sequence[DialLine]) -> str:
    if _leads_in(rule, shown) > _MOST_LEADS:
        return "leads of the thread, too fine to draw"
    if any(line.kind in (MISSES, ANOTHER_START) for line in lines):
        return "leads of the thread; the figures say how many mm the tool is out at that line"
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
    stalk = drawn_line(f"M{x:.2f} {_RULER_Y - 24}V{_RULER_Y - 34}", _TONES[line.kind], 1.4)
    if (line.number - 1) % ceil(22 / room):
        return stalk
    parts = [stalk, _number(line, x, _RULER_Y - 46)]
    if line.kind in (MISSES, ANOTHER_START) and room >= 40:
        out = writing.out_by(line.out_mm).removesuffix(" mm").removeprefix("≈ ").replace("less than", "<")
        at, anchor = (x + 6, "end") if x > _RIGHT - 12 else (x, "middle")
        parts.append(over_lines(out, at, _RULER_Y + 44, anchor=anchor))
    return element("g", *parts)


# The passes over one another: does each fall into the groove of the first, or does it split the thread?

_FROM, _TO = LEFT_PX, 776.0
_SURFACE_PX, _METAL_PX = 60.0, 82.0
_ALONE_PX = (800, 196)
_LEADS_SHOWN, _MOST_PASSES = 4, 3
_DEEPEST_PX, _NUMBER_ROOM = 62.0, 76.0
_LEGEND_AT = (24.0, 200.0, 498.0)
_DEPTHS = (0.45, 0.72, 1.0)
"""How deep each pass goes, as a share of the whole depth."""
_COLOURS, _WIDTHS = (style.INK, style.BLUE, style.VERMILLION), (1.6, 2.2, 2.4)
_ROOT_3 = sqrt(3.0)


def caught_or_split(rule: DialRule, threads: Sequence[int], *, teeth: int | None = None, at_mark: int = 1) -> Picture:
    """The dial, the rulers, and the groove that the passes leave when the half-nuts close so far apart.

    >>> import gearcalc as gc
    >>> picture = caught_or_split(gc.dial(gc.demo_lathe("inch"), "10 tpi"), [4, 10])
    >>> [row["the tool is"] for row in picture.table]
    ['cutting the first groove', 'in the groove', '1.27 mm out']

    `threads`: leadscrew threads gone by from the first closing to that of the second pass, and of the third, if any;
    `teeth`: which dial gear, None for the chosen one; `at_mark`: the line drawn at the mark of the dial.
    Raises ValueOutOfRangeError for more than two further passes, none, or a number below zero; and where the lathe has
    no dial.
    """
    closings, gear = _closings(threads), dial_gear(rule, teeth)
    caption = f"Catching {rule.thread} on a leadscrew of {writing.lead(rule.leadscrew_mm)}"
    description = f"{caption}, dial gear {gear.teeth} teeth, {lines_in_words(gear)}. {_told(rule, closings)}"
    return chart(
        CATCH_PX,
        caption,
        description,
        _table(rule, closings),
        *_face_and_rulers(rule, gear, at_mark),
        drawn_line(f"M{_FROM} {FACE_PX[1]}H{_TO}", style.FAINT),
        *_passes(rule, closings, FACE_PX[1], "The passes over one another"),
        title=caption,
    )


def over_one_another(rule: DialRule, threads: Sequence[int]) -> Picture:
    """The passes alone, without a dial: the groove that they leave when the half-nuts close so far apart.

    >>> import gearcalc as gc
    >>> over_one_another(gc.dial(gc.demo_lathe("inch"), "10 tpi"), [1]).description
    'Two passes of 10 tpi, leadscrew 3.175 mm (8 tpi). Pass 2: 0.635 mm out.'

    `threads`: as for caught_or_split. Raises ValueOutOfRangeError for more than two further passes, none, or a number
    below zero.
    """
    closings = _closings(threads)
    count = "Two" if len(closings) == 2 else "Three"
    caption = f"{count} passes of {rule.thread}, leadscrew {writing.lead(rule.leadscrew_mm)}"
    description = f"{caption}. {_told(rule, closings)}"
    return chart(_ALONE_PX, caption, description, _table(rule, closings), *_passes(rule, closings, 12, caption))


def _closings(threads: Sequence[int]) -> tuple[int, ...]:
    if not 1 <= len(threads) < _MOST_PASSES or any(not isinstance(n, int) or n < 0 for n in threads):
        raise ValueOutOfRangeError("this takes one or two further passes, whole leadscrew threads on", value=threads)
    return (0, *threads)


def _told(rule: DialRule, closings: Sequence[int]) -> str:
    passes = [f"pass {number}: {pass_in_words(rule, n)}" for number, n in enumerate(closings[1:], 2)]
    return f"{'; '.join(passes).capitalize()}."


def _table(rule: DialRule, closings: Sequence[int]) -> list[Row]:
    return [
        {
            "pass": place,
            "leadscrew threads": threads,
            "leads": _leads_in_words(rule, threads),
            "the tool is": "cutting the first groove" if place == 1 else pass_in_words(rule, threads),
        }
        for place, threads in enumerate(closings, 1)
    ]


def pass_in_words(rule: DialRule, threads: int) -> str:
    """Where the tool lands in a pass, in a few words.

    >>> import gearcalc as gc
    >>> pass_in_words(gc.dial(gc.demo_lathe("inch"), "10 tpi"), 2)
    '1.27 mm out'
    """
    kind = landing(rule, threads)
    if kind == SERVES:
        return "in the groove"
    if kind == ANOTHER_START:
        return "in another start's place"
    return f"{writing.out_by(rule.out_mm(threads))} out"


def _leads_in_words(rule: DialRule, threads: int) -> str:
    travel = threads * rule.leadscrew_mm
    if isinstance(rule.lead, PiMultiple):
        return str(writing.rounded(float(travel) / float(rule.lead))) if threads else "0"
    return str(writing.rounded(travel / rule.lead))


def _passes(rule: DialRule, closings: Sequence[int], top: float, head: str) -> list[Svg]:
    """Everything about the passes, in a block 180 px high from `top` down."""
    surface = top + _SURFACE_PX
    per_lead = (_TO - _FROM) / _LEADS_SHOWN
    depth = min(_DEEPEST_PX, 0.6134 * per_lead / rule.starts)
    outs = [float(rule.out_mm(n)) / float(rule.lead) * per_lead for n in closings]
    grooves = [_FROM + (n + 0.5) * per_lead for n in range(-1, _LEADS_SHOWN + 1)]
    vees = [_vees(grooves, out, depth * share) for out, share in zip(outs, _DEPTHS[-len(closings) :], strict=True)]
    others = [_vees(grooves, start / rule.starts * per_lead, depth) for start in range(1, rule.starts)]
    # Each pass is cut out of the metal first, so that the lines of all of them show on what is left and what is gone.
    bar = window(
        _FROM,
        surface - 2,
        _TO,
        surface + _METAL_PX,
        rect(_FROM, 0, _TO, _METAL_PX, style.tint(style.SKY, 0.4)),
        *(shape(path, style.PAPER) for path in vees),
        *(drawn_line(path, style.SOFT, 1.0, "1.5 3", stroke_linejoin="round") for path in others),
        drawn_line(f"M{_FROM} 0H{_TO}", width=1.2),
        *(drawn_line(path, _COLOURS[n], _WIDTHS[n], DASHES[n], stroke_linejoin="round") for n, path in enumerate(vees)),
        at=(_FROM, -2),
    )
    return [
        bold(head, _FROM, top + 20, size=style.WORD_PX),
        note("← direction of the cut", _TO, top + 20, anchor="end"),
        bar,
        *_numbers(outs, grooves[2], surface),
        *_one_lead(rule, grooves[3], grooves[4], surface + _METAL_PX - 11),
        *_legend(rule, closings, surface + _METAL_PX + 24),
    ]


def _vees(grooves: Sequence[float], out: float, depth: float) -> str:
    """A groove of 60° at each place, so far behind it (to the right: the cut goes to the left)."""
    half = depth / _ROOT_3
    return "".join(f"M{x + out - half:.2f} 0l{half:.2f} {depth:.2f}l{half:.2f} {-depth:.2f}" for x in grooves)


def _numbers(outs: Sequence[float], groove: float, surface: float) -> list[Svg]:
    """The number of each pass over its groove; passes that fall together share a place."""
    together: dict[float, list[str]] = {}
    for number, out in enumerate(outs, 1):
        together.setdefault(round(out, 1), []).append(str(number))
    places = sorted(together)
    middles = spread([groove + place for place in places], [_NUMBER_ROOM] * len(places), _FROM, _TO)
    parts = []
    for place, middle in zip(places, middles, strict=True):
        parts.append(drawn_line(f"M{middle:.2f} {surface - 14}L{groove + place:.2f} {surface - 2}", style.SOFT))
        parts.append(over_lines(f"pass {', '.join(together[place])}", middle, surface - 18, size=style.WORD_PX))
    return parts


def _one_lead(rule: DialRule, start: float, end: float, y: float) -> list[Svg]:
    arrow = f"M{start} {y}H{end}m-6 -3.5l6 3.5l-6 3.5M{start + 6} {y - 3.5}l-6 3.5l6 3.5"
    return [
        drawn_line(f"M{start} {y - 6}v12M{end} {y - 6}v12{arrow}"),
        over_lines(f"one lead, {writing.length(rule.lead)}", (start + end) / 2, y - 4),
    ]


def _legend(rule: DialRule, closings: Sequence[int], y: float) -> list[Svg]:
    parts = []
    for n, (threads, x) in enumerate(zip(closings, _LEGEND_AT, strict=False)):
        words = "pass 1, the first" if n == 0 else f"pass {n + 1}: {pass_in_words(rule, threads)}"
        parts.append(drawn_line(f"M{x} {y - 4.5}h38", _COLOURS[n], _WIDTHS[n] + 0.6, DASHES[n]))
        weight = "bold" if n and not rule.catches(threads) else None
        parts.append(text_line(words, x + 46, y, anchor="start", font_weight=weight))
    return parts
