"""The thread-chasing dial: its face and rulers with the lines that serve; and passes that catch or split a thread."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from gearcalc.basics import both_units, writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.dial_gears import lines_in_words
from gearcalc.cutting.dial_rules import (
    ANOTHER_START,
    MISSES,
    NO_CLOSING,
    SERVES,
    THIS_TIME,
    DialLine,
    DialRule,
    dial_gear,
    dial_lines,
    landing,
)
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import DASHES, LEFT_PX, chart, spread
from gearcalc.pictures.dial_marks import FACE_PX, face_and_rulers
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, arrow, bold, drawn_line, note, over_lines, rect, shape, text_line, window
from gearcalc.pictures.thread_profiles import profile

CATCH_PX = (800, FACE_PX[1] + 180)
"""The same with passes under them."""
_FACE_ALONE_PX = (FACE_PX[0], FACE_PX[1] + 8)  # the key stands clear of the frame

_MOST_NAMED = 4


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
    caption = (
        f"The thread-chasing dial for {rule.thread}, leadscrew {writing.lead(rule.leadscrew_mm, first=rule.units)}"
    )
    description = f"{caption}, {gear.teeth} teeth and {lines_in_words(gear)}: {_described(rule, lines)}"
    rows = [_line_row(line) for line in lines]
    return chart(_FACE_ALONE_PX, caption, description, rows, *face_and_rulers(rule, gear), title=caption)


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
    ['cutting the first groove', 'in the groove', '0.05 in out']

    `threads`: leadscrew threads gone by from the first closing to that of the second pass, and of the third, if any;
    `teeth`: which dial gear, None for the chosen one; `at_mark`: the line drawn at the mark of the dial.
    Raises ValueOutOfRangeError for more than two further passes, none, or a number below zero; and where the lathe has
    no dial.
    """
    closings, gear = _closings(threads), dial_gear(rule, teeth)
    of = "of" if rule.units == "inch" else "with a lead of"
    caption = f"Catching {rule.thread} on a leadscrew {of} {writing.lead(rule.leadscrew_mm, first=rule.units)}"
    description = f"{caption}, dial gear {gear.teeth} teeth, {lines_in_words(gear)}. {_told(rule, closings)}"
    return chart(
        CATCH_PX,
        caption,
        description,
        _table(rule, closings),
        *face_and_rulers(rule, gear, at_mark),
        drawn_line(f"M{_FROM} {FACE_PX[1]}H{_TO}", style.FAINT),
        *_passes(rule, closings, FACE_PX[1], "The passes over one another"),
        title=caption,
    )


def over_one_another(rule: DialRule, threads: Sequence[int]) -> Picture:
    """The passes alone, without a dial: the groove that they leave when the half-nuts close so far apart.

    >>> import gearcalc as gc
    >>> over_one_another(gc.dial(gc.demo_lathe("inch"), "10 tpi"), [1]).description
    'Two passes of 10 tpi, leadscrew 8 tpi (3.175 mm). Pass 2: 0.025 in out.'

    `threads`: as for caught_or_split. Raises ValueOutOfRangeError for more than two further passes, none, or a number
    below zero.
    """
    closings = _closings(threads)
    count = "Two" if len(closings) == 2 else "Three"
    caption = f"{count} passes of {rule.thread}, leadscrew {writing.lead(rule.leadscrew_mm, first=rule.units)}"
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
    '0.05 in out'
    """
    kind = landing(rule, threads)
    if kind == SERVES:
        return "in the groove"
    if kind == ANOTHER_START:
        return "in another start's place"
    return f"{writing.out_by(rule.out_mm(threads), rule.units)} out"


def _leads_in_words(rule: DialRule, threads: int) -> str:
    travel = threads * rule.leadscrew_mm
    if isinstance(rule.lead, PiMultiple):
        return str(writing.rounded(float(travel) / float(rule.lead))) if threads else "0"
    return str(writing.rounded(travel / rule.lead))


def _passes(rule: DialRule, closings: Sequence[int], top: float, head: str) -> list[Svg]:
    """Everything about the passes, in a block 180 px high from `top` down."""
    surface = top + _SURFACE_PX
    per_lead = (_TO - _FROM) / _LEADS_SHOWN
    depth = min(_DEEPEST_PX, profile(60)[0] * per_lead / rule.starts)
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
        note("flanks of 60°, not to full depth · ← direction of the cut", _TO, top + 20, anchor="end"),
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
    return [
        drawn_line(f"M{start} {y - 6}v12M{end} {y - 6}v12" + arrow((start, y), (end, y), both_ways=True)),
        over_lines(f"one lead, {both_units.in_own_unit(rule.lead, rule.units)}", (start + end) / 2, y - 4),
    ]


def _legend(rule: DialRule, closings: Sequence[int], y: float) -> list[Svg]:
    parts = []
    for n, (threads, x) in enumerate(zip(closings, _LEGEND_AT, strict=False)):
        words = "pass 1, the first" if n == 0 else f"pass {n + 1}: {pass_in_words(rule, threads)}"
        parts.append(drawn_line(f"M{x} {y - 4.5}h38", _COLOURS[n], _WIDTHS[n] + 0.6, DASHES[n]))
        weight = "bold" if n and not rule.catches(threads) else None
        parts.append(text_line(words, x + 46, y, anchor="start", font_weight=weight))
    return parts
