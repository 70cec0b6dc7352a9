"""The passes of a thread over one another: does each fall into the groove of the first, or does it split the thread?"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from gearcalc import writing
from gearcalc.dial_gears import off_in_words
from gearcalc.dial_lines import ANOTHER_START, SERVES, dial_gear, landing
from gearcalc.dials import DialRule
from gearcalc.drawing import style
from gearcalc.drawing.charts import DASHES, drawn_line, over_lines, sheet, spread
from gearcalc.drawing.dial_faces import FACE_PX, face_and_rulers
from gearcalc.drawing.pictures import Picture, Row
from gearcalc.drawing.svg import Svg, element, text_line
from gearcalc.errors import ValueOutOfRangeError
from gearcalc.exact import PiMultiple

__all__ = ["CATCH_PX", "caught_or_split", "pass_in_words"]

CATCH_PX = (800, FACE_PX[1] + 180)
"""Width and height of the picture."""

_LEFT, _RIGHT, _HEAD = 24.0, 776.0, FACE_PX[1] + 20.0
_TOP, _BOTTOM = FACE_PX[1] + 60.0, FACE_PX[1] + 142.0
_LEADS_SHOWN, _MOST_PASSES = 4, 3
_DEEPEST_PX, _NUMBER_ROOM = 62.0, 76.0
_LEGEND_AT = (24.0, 214.0, 498.0)
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
    if not 1 <= len(threads) < _MOST_PASSES or any(not isinstance(n, int) or n < 0 for n in threads):
        raise ValueOutOfRangeError("this takes one or two further passes, whole leadscrew threads on", value=threads)
    gear = dial_gear(rule, teeth)
    closings = (0, *threads)
    caption = f"Catching {rule.thread} on a leadscrew of {writing.lead(rule.leadscrew_mm)}"
    passes = [pass_in_words(rule, n) for n in closings[1:]]
    told = "; ".join(f"pass {number}: {words}" for number, words in enumerate(passes, 2))
    description = f"{caption}, dial gear {gear.teeth} teeth, {gear.lines} lines. {told.capitalize()}."
    drawing = sheet(
        CATCH_PX,
        caption,
        description,
        face_and_rulers(rule, gear, caption, at_mark),
        _passes(rule, closings),
    )
    return Picture(drawing, description, [_row(rule, place, n) for place, n in enumerate(closings)], caption)


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
    return f"{off_in_words(rule.out_mm(threads))} out"


def _row(rule: DialRule, place: int, threads: int) -> Row:
    return {
        "pass": place + 1,
        "leadscrew threads": threads,
        "leads": _leads_in_words(rule, threads),
        "the tool is": "cutting the first groove" if place == 0 else pass_in_words(rule, threads),
    }


def _leads_in_words(rule: DialRule, threads: int) -> str:
    if isinstance(rule.lead, PiMultiple):
        return f"≈ {writing.decimal(float(threads * rule.leadscrew_mm) / float(rule.lead), 4)}" if threads else "0"
    leads = threads * rule.leadscrew_mm / rule.lead
    shown = writing.decimal(leads, 4)
    return shown if (leads * 10_000).denominator == 1 else f"≈ {shown}"


def _passes(rule: DialRule, closings: Sequence[int]) -> Svg:
    per_lead = (_RIGHT - _LEFT) / _LEADS_SHOWN
    depth = min(_DEEPEST_PX, 0.6134 * per_lead / rule.starts)
    outs = [float(rule.out_mm(n)) / float(rule.lead) * per_lead for n in closings]
    grooves = [_LEFT + (n + 0.5) * per_lead for n in range(-1, _LEADS_SHOWN + 1)]
    shares = _DEPTHS[-len(closings) :]
    # Each pass is cut out of the metal first, so that the lines of all of them show on what is left and what is gone.
    gone = [_vees(grooves, out, depth * share, fill=style.PAPER) for out, share in zip(outs, shares, strict=True)]
    seen = [
        _vees(grooves, out, depth * share, fill="none", stroke=_COLOURS[n], stroke_width=_WIDTHS[n],
              stroke_dasharray=DASHES[n])
        for n, (out, share) in enumerate(zip(outs, shares, strict=True))
    ]  # fmt: skip
    inside = element(
        "svg",
        element("rect", x=_LEFT, y=_TOP, width=_RIGHT - _LEFT, height=_BOTTOM - _TOP, fill=style.tint(style.SKY, 0.4)),
        *gone,
        *_other_starts(rule, grooves, per_lead, depth),
        drawn_line(f"M{_LEFT} {_TOP}H{_RIGHT}", style.INK, 1.2),
        *seen,
        x=_LEFT, y=_TOP - 2, width=_RIGHT - _LEFT, height=_BOTTOM - _TOP + 2,
        viewBox=f"{_LEFT} {_TOP - 2} {_RIGHT - _LEFT} {_BOTTOM - _TOP + 2}",
    )  # fmt: skip
    return element(
        "g",
        drawn_line(f"M{_LEFT} {FACE_PX[1]}H{_RIGHT}", style.FAINT, 1),
        text_line("The passes over one another", _LEFT, _HEAD, size=style.WORD_PX, anchor="start", font_weight="bold"),
        text_line("← direction of the cut", _RIGHT, _HEAD, size=style.WORD_PX, anchor="end", fill=style.SOFT),
        inside,
        _numbers(outs, grooves[2]),
        _one_lead(rule, grooves[3], grooves[4]),
        _legend(rule, closings),
    )


def _vees(grooves: Sequence[float], out: float, depth: float, **look: object) -> Svg:
    """A groove of 60° at each place, so far behind it (to the right: the cut goes to the left)."""
    half = depth / _ROOT_3
    path = "".join(f"M{x + out - half:.2f} {_TOP}l{half:.2f} {depth:.2f}l{half:.2f} {-depth:.2f}" for x in grooves)
    return element("path", d=Svg(path), stroke_linejoin="round", **look)


def _other_starts(rule: DialRule, grooves: Sequence[float], per_lead: float, depth: float) -> list[Svg]:
    """Where the grooves of the other starts are to go."""
    look = {"fill": "none", "stroke": style.SOFT, "stroke_width": 1.0, "stroke_dasharray": "1.5 3"}
    return [_vees(grooves, start / rule.starts * per_lead, depth, **look) for start in range(1, rule.starts)]


def _numbers(outs: Sequence[float], groove: float) -> Svg:
    """The number of each pass over its groove; passes that fall together share a place."""
    together: dict[float, list[str]] = {}
    for number, out in enumerate(outs, 1):
        together.setdefault(round(out, 1), []).append(str(number))
    places = sorted(together)
    middles = spread([groove + place for place in places], [_NUMBER_ROOM] * len(places), _LEFT, _RIGHT)
    parts = []
    for place, middle in zip(places, middles, strict=True):
        words = "pass " + ", ".join(together[place])
        parts.append(drawn_line(f"M{middle:.2f} {_TOP - 14}L{groove + place:.2f} {_TOP - 2}", style.SOFT, 1))
        parts.append(over_lines(words, middle, _TOP - 18, size=style.WORD_PX))
    return element("g", *parts)


def _one_lead(rule: DialRule, start: float, end: float) -> Svg:
    y = _BOTTOM - 11
    arrow = f"M{start} {y}H{end}m-6 -3.5l6 3.5l-6 3.5M{start + 6} {y - 3.5}l-6 3.5l6 3.5"
    return element(
        "g",
        drawn_line(f"M{start} {y - 6}v12M{end} {y - 6}v12", style.INK, 1),
        drawn_line(arrow, style.INK, 1),
        over_lines(f"one lead, {writing.length(rule.lead)}", (start + end) / 2, y - 4, size=style.SMALL_PX),
    )


def _legend(rule: DialRule, closings: Sequence[int]) -> Svg:
    parts, y = [], _BOTTOM + 24.0
    for n, (threads, x) in enumerate(zip(closings, _LEGEND_AT, strict=False)):
        words = "pass 1, the first" if n == 0 else f"pass {n + 1}: {pass_in_words(rule, threads)}"
        parts.append(drawn_line(f"M{x} {y - 4.5}h38", _COLOURS[n], _WIDTHS[n] + 0.6, DASHES[n]))
        weight = "bold" if n and not rule.catches(threads) else None
        parts.append(text_line(words, x + 46, y, size=style.WORD_PX, anchor="start", font_weight=weight))
    return element("g", *parts)
