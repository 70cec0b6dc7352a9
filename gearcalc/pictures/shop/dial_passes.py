"""The passes of a thread over one another: does each fall into the groove of the first, or does it split the thread?"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.dial_gears import off_in_words
from gearcalc.cutting.dial_lines import ANOTHER_START, SERVES, dial_gear, landing
from gearcalc.cutting.dial_rules import DialRule
from gearcalc.pictures import style
from gearcalc.pictures.charts import DASHES, drawn_line, over_lines, sheet, spread
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.shop.dial_faces import FACE_PX, face_and_rulers
from gearcalc.pictures.svg import Svg, element, text_line

CATCH_PX = (800, FACE_PX[1] + 180)
"""Width and height of the picture."""

_LEFT, _RIGHT = 24.0, 776.0
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
    description = (
        f"{caption}, dial gear {gear.teeth} teeth, {gear.lines} line{'s' * (gear.lines > 1)}. {_told(rule, closings)}"
    )
    face, rule_off = face_and_rulers(rule, gear, caption, at_mark), f"M{_LEFT} {FACE_PX[1]}H{_RIGHT}"
    below = _passes(rule, closings, FACE_PX[1], "The passes over one another")
    drawing = sheet(CATCH_PX, caption, description, face, drawn_line(rule_off, style.FAINT), below)
    return Picture(drawing, description, _table(rule, closings), caption)


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
    drawing = sheet(_ALONE_PX, caption, description, _passes(rule, closings, 12, caption))
    return Picture(drawing, description, _table(rule, closings), caption)


def _closings(threads: Sequence[int]) -> tuple[int, ...]:
    if not 1 <= len(threads) < _MOST_PASSES or any(not isinstance(n, int) or n < 0 for n in threads):
        raise ValueOutOfRangeError("this takes one or two further passes, whole leadscrew threads on", value=threads)
    return (0, *threads)


def _told(rule: DialRule, closings: Sequence[int]) -> str:
    passes = [f"pass {number}: {pass_in_words(rule, n)}" for number, n in enumerate(closings[1:], 2)]
    return f"{'; '.join(passes).capitalize()}."


def _table(rule: DialRule, closings: Sequence[int]) -> list[Row]:
    return [_row(rule, place, n) for place, n in enumerate(closings)]


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


def _passes(rule: DialRule, closings: Sequence[int], top: float, head: str) -> Svg:
    """Everything about the passes, in a block 180 px high from `top` down."""
    surface = top + _SURFACE_PX
    per_lead = (_RIGHT - _LEFT) / _LEADS_SHOWN
    depth = min(_DEEPEST_PX, 0.6134 * per_lead / rule.starts)
    outs = [float(rule.out_mm(n)) / float(rule.lead) * per_lead for n in closings]
    grooves = [_LEFT + (n + 0.5) * per_lead for n in range(-1, _LEADS_SHOWN + 1)]
    shares = _DEPTHS[-len(closings) :]
    # Each pass is cut out of the metal first, so that the lines of all of them show on what is left and what is gone.
    gone = [_vees(grooves, out, depth * share, fill=style.PAPER) for out, share in zip(outs, shares, strict=True)]
    seen = [
        _vees(
            grooves,
            out,
            depth * share,
            fill="none",
            stroke=_COLOURS[n],
            stroke_width=_WIDTHS[n],
            stroke_dasharray=DASHES[n],
        )
        for n, (out, share) in enumerate(zip(outs, shares, strict=True))
    ]
    inside = element(  # a drawing in the drawing, which cuts off what reaches over the ends of the bar
        "svg",
        element("rect", x=_LEFT, width=_RIGHT - _LEFT, height=_METAL_PX, fill=style.tint(style.SKY, 0.4)),
        *gone,
        *_other_starts(rule, grooves, per_lead, depth),
        drawn_line(f"M{_LEFT} 0H{_RIGHT}", style.INK, 1.2),
        *seen,
        x=_LEFT,
        y=surface - 2,
        width=_RIGHT - _LEFT,
        height=_METAL_PX + 2,
        viewBox=f"{_LEFT} -2 {_RIGHT - _LEFT} {_METAL_PX + 2}",
    )
    return element(
        "g",
        text_line(head, _LEFT, top + 20, size=style.WORD_PX, anchor="start", font_weight="bold"),
        text_line("← direction of the cut", _RIGHT, top + 20, size=style.WORD_PX, anchor="end", fill=style.SOFT),
        inside,
        _numbers(outs, grooves[2], surface),
        _one_lead(rule, grooves[3], grooves[4], surface + _METAL_PX - 11),
        _legend(rule, closings, surface + _METAL_PX + 24),
    )


def _vees(grooves: Sequence[float], out: float, depth: float, **look: object) -> Svg:
    """A groove of 60° at each place, so far behind it (to the right: the cut goes to the left)."""
    half = depth / _ROOT_3
    path = "".join(f"M{x + out - half:.2f} 0l{half:.2f} {depth:.2f}l{half:.2f} {-depth:.2f}" for x in grooves)
    return element("path", d=Svg(path), stroke_linejoin="round", **look)


def _other_starts(rule: DialRule, grooves: Sequence[float], per_lead: float, depth: float) -> list[Svg]:
    """Where the grooves of the other starts are to go."""
    look = {"fill": "none", "stroke": style.SOFT, "stroke_width": 1.0, "stroke_dasharray": "1.5 3"}
    return [_vees(grooves, start / rule.starts * per_lead, depth, **look) for start in range(1, rule.starts)]


def _numbers(outs: Sequence[float], groove: float, surface: float) -> Svg:
    """The number of each pass over its groove; passes that fall together share a place."""
    together: dict[float, list[str]] = {}
    for number, out in enumerate(outs, 1):
        together.setdefault(round(out, 1), []).append(str(number))
    places = sorted(together)
    middles = spread([groove + place for place in places], [_NUMBER_ROOM] * len(places), _LEFT, _RIGHT)
    parts = []
    for place, middle in zip(places, middles, strict=True):
        words = "pass " + ", ".join(together[place])
        parts.append(drawn_line(f"M{middle:.2f} {surface - 14}L{groove + place:.2f} {surface - 2}", style.SOFT, 1))
        parts.append(over_lines(words, middle, surface - 18, size=style.WORD_PX))
    return element("g", *parts)


def _one_lead(rule: DialRule, start: float, end: float, y: float) -> Svg:
    arrow = f"M{start} {y}H{end}m-6 -3.5l6 3.5l-6 3.5M{start + 6} {y - 3.5}l-6 3.5l6 3.5"
    return element(
        "g",
        drawn_line(f"M{start} {y - 6}v12M{end} {y - 6}v12", style.INK, 1),
        drawn_line(arrow, style.INK, 1),
        over_lines(f"one lead, {writing.length(rule.lead)}", (start + end) / 2, y - 4, size=style.SMALL_PX),
    )


def _legend(rule: DialRule, closings: Sequence[int], y: float) -> Svg:
    parts = []
    for n, (threads, x) in enumerate(zip(closings, _LEGEND_AT, strict=False)):
        words = "pass 1, the first" if n == 0 else f"pass {n + 1}: {pass_in_words(rule, threads)}"
        parts.append(drawn_line(f"M{x} {y - 4.5}h38", _COLOURS[n], _WIDTHS[n] + 0.6, DASHES[n]))
        weight = "bold" if n and not rule.catches(threads) else None
        parts.append(text_line(words, x + 46, y, size=style.WORD_PX, anchor="start", font_weight=weight))
    return element("g", *parts)
