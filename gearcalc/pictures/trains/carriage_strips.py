"""The carriage at work, seen from above: a bar between headstock and tailstock, the tool, the thread behind it.

What turns the bar also carries the tool along, so the grooves that are seen on the bar travel with the tool: the
whole thread is one group that a live page moves by `data-travel` for each turn of the spindle.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor, radians, tan

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM
from gearcalc.pictures import style
from gearcalc.pictures.svg import Svg, element, text_line

CARRIAGE_STRIP_PX = (800, 172)

_FIRST, _LAST = 122.0, 714.0  # where the tool can go
_JAWS = 86.0
_RULER, _TOP, _BOTTOM, _FOOT = 30.0, 64.0, 122.0, 168.0
_MIDDLE = (_TOP + _BOTTOM) / 2
_DEEPEST_PX = 16.0
_FLANK = tan(radians(30))
_DEPTH_SHARE = 0.7578  # of the pitch: a sharp V of 60° below crests an eighth of the pitch wide
_BARS_MM = [n * Fraction(10) ** k for k in range(-3, 6) for n in (1, 3, 6)]
_FEWEST_TURNS, _FEWEST_TURNS_OF_FINE, _MOST_TURNS, _USUAL_MM = 8, 24, 120, 30
_STEEL, _DARK = "#E6E9EC", "#AEB6BE"


def bar_mm(lead_mm: Fraction, turns: Fraction = Fraction(0)) -> Fraction:
    """How much of the bar is shown: 30 mm where that is 8 to 120 turns, else more or less; and always `turns`.

    >>> [str(bar_mm(Fraction(lead))) for lead in ("3/2", "6", "1/10")]
    ['30', '60', '3']

    `lead_mm`: from 0.0001 to 10 000. Raises ValueOutOfRangeError beyond.
    """
    if not Fraction(1, 10_000) <= lead_mm <= 10_000:
        raise ValueOutOfRangeError("no bar is drawn for a lead that is not from 0.0001 to 10 000 mm", value=lead_mm)
    is_fine = lead_mm * _MOST_TURNS < _USUAL_MM
    least = lead_mm * max(turns, Fraction(_FEWEST_TURNS_OF_FINE if is_fine else _FEWEST_TURNS))
    if not is_fine and least <= _USUAL_MM:
        return Fraction(_USUAL_MM)
    return next((length for length in _BARS_MM if length >= least), Fraction(ceil(least)))


def last_turn(lead_mm: Fraction, turns: Fraction = Fraction(0)) -> int:
    """Whole turns of the spindle until the tool is at the end of the bar that is shown.

    >>> last_turn(Fraction(3, 2))
    20
    """
    return floor(bar_mm(lead_mm, turns) / lead_mm)


def carriage_strip(lead_mm: Fraction, *, starts: int = 1, hand: str = "right", turns: Fraction = Fraction(0)) -> Svg:
    """The tool after so many turns of the spindle, and the thread that it has cut.

    >>> 'data-travel="-29.6"' in carriage_strip(Fraction(3, 2), turns=Fraction(4))
    True

    `lead_mm` as in bar_mm; `starts`: of which one is cut; `hand`: a right-hand thread is cut towards the headstock,
    on the left, a left-hand one away from it; `turns`: 0 or more.
    The groove is a plain V of 60°, as deep as the pitch allows, and no deeper than a light cut.
    """
    shown = bar_mm(lead_mm, turns)
    scale = (_LAST - _FIRST) / float(shown)
    along = -1 if hand == "right" else 1
    start, lead = (_LAST, float(lead_mm) * scale) if along < 0 else (_FIRST, float(lead_mm) * scale)
    depth = min(_DEPTH_SHARE * lead / starts, _DEEPEST_PX)
    moved = along * lead * float(turns)
    travel = {"transform": f"translate({moved:.3f} 0)", "data_travel": Svg(f"{along * lead:.7g}")}
    return element(
        "g",
        _rulers(shown, scale, start, along),
        _bar(along),
        element(
            "svg",
            element("g", element("g", _thread(lead, depth, along), **travel), transform=f"translate({start} 0)"),
            x=_FIRST,
            y=0,
            width=_LAST - _FIRST,
            height=_FOOT,
            viewBox=f"{_FIRST} 0 {_LAST - _FIRST} {_FOOT}",
        ),
        element("path", d=Svg(f"M{_LAST} {_TOP + depth:.2f}V{_BOTTOM - depth:.2f}"), stroke=style.INK),
        _ends(),
        element("g", element("g", _tool(depth, along), **travel), transform=f"translate({start} 0)"),
        font_family=style.FONT,
        fill=style.INK,
    )


def _bar(along: int) -> Svg:
    """The bar before it is cut; where a thread starts beside the headstock, a groove for the tool to start in."""
    groove = element(
        "rect",
        x=_FIRST - 16,
        y=_TOP + _DEEPEST_PX,
        width=16,
        height=_BOTTOM - _TOP - 2 * _DEEPEST_PX,
        fill=_STEEL,
        stroke=style.INK,
    )
    shoulders = element("path", d=Svg(f"M{_FIRST - 16} {_TOP}V{_BOTTOM}M{_FIRST} {_TOP}V{_BOTTOM}"), stroke=style.INK)
    gap = element("rect", x=_FIRST - 16, y=_TOP - 2, width=16, height=_BOTTOM - _TOP + 4, fill=style.PAPER)
    return element(
        "g",
        element(
            "rect",
            x=48,
            y=_TOP,
            width=_LAST - 48,
            height=_BOTTOM - _TOP,
            fill=_STEEL,
            stroke=style.INK,
            stroke_width=1.2,
        ),
        *((gap, groove, shoulders) if along > 0 else ()),
    )


def _ends() -> Svg:
    """The chuck that holds the bar on the left, and the centre on the right."""
    jaws = "".join(
        f"M48 {edge}H{_JAWS}V{edge + side * 14}H74V{edge + side * 24}H48Z" for edge, side in ((_TOP, -1), (_BOTTOM, 1))
    )
    chuck = f"M14 {_TOP - 26}H44L50 {_TOP - 20}V{_BOTTOM + 20}L44 {_BOTTOM + 26}H14Z"
    point = f"M{_LAST} {_MIDDLE}L{_LAST + 26} {_MIDDLE - 15}H786V{_MIDDLE + 15}H{_LAST + 26}Z"
    return element(
        "g",
        element(
            "path", d=Svg(jaws + chuck + point), fill=_DARK, stroke=style.INK, stroke_width=1.2, stroke_linejoin="round"
        ),
        element("path", d=Svg(f"M8 {_MIDDLE}H792"), stroke=style.SOFT, stroke_width=0.8, stroke_dasharray="14 4 3 4"),
        text_line("headstock", 14, 18, size=style.SMALL_PX, anchor="start", fill=style.SOFT),
        text_line("tailstock", 786, 18, size=style.SMALL_PX, anchor="end", fill=style.SOFT),
    )


def _thread(lead: float, depth: float, along: int) -> Svg:
    """The thread behind a tool at 0, out of sight at its far end: outline, and the two flanks of each groove.

    Nearest the eye the crests of a right-hand thread lean as a backslash does; half a turn round from the tool,
    at the far edge, a groove stands half a lead on.
    """
    back, half = -along, depth * _FLANK
    far = _LAST - _FIRST + 2 * lead
    near_edge, far_edge = [(0.0, _BOTTOM - depth), (half, _BOTTOM)], [(0.0, _TOP)]
    dark, light, roots = [], [], []
    for k in range(1, ceil(far / lead) + 1):
        above, below = (k - 0.5) * lead, k * lead
        far_edge += [(above - half, _TOP), (above, _TOP + depth), (above + half, _TOP)]
        near_edge += [(below - half, _BOTTOM), (below, _BOTTOM - depth), (below + half, _BOTTOM)]
        root = [(above, _TOP + depth), (below, _BOTTOM - depth)]
        dark.append([(above - half, _TOP), *root, (below - half, _BOTTOM)])
        light.append([(above + half, _TOP), *root, (below + half, _BOTTOM)])
        roots.append(root)

    def path(*lines: list[tuple[float, float]], end: str = "") -> Svg:
        return Svg("".join("M" + "L".join(f"{back * x:.2f} {y:.2f}" for x, y in line) + end for line in lines))

    return element(
        "g",
        element("rect", x=min(0.0, back * far), y=_TOP - 2, width=far, height=_BOTTOM - _TOP + 4, fill=style.PAPER),
        element("path", d=path([*far_edge, *reversed(near_edge)]), fill=style.tint(style.SKY, 0.22)),
        element("path", d=path(*dark, end="Z"), fill=style.tint(style.BLUE, 0.42)),
        element("path", d=path(*light, end="Z"), fill=style.tint(style.SKY, 0.42)),
        element("path", d=path(*roots), stroke=style.INK, stroke_width=0.7, fill="none"),
        element(
            "path",
            d=path(far_edge, near_edge),
            stroke=style.INK,
            stroke_width=1.2,
            stroke_linejoin="round",
            fill="none",
        ),
    )


def _tool(depth: float, along: int) -> Svg:
    """A threading tool with its tip at the bottom of the groove, the carriage under it, a line up to the rulers."""
    tip, half = _BOTTOM - depth, 13.0
    shoulder = tip + half / _FLANK
    outline = f"M0 {tip:.2f}L{half} {shoulder:.2f}V{_FOOT - 20}H{-half}V{shoulder:.2f}Z"
    arrow = f"M{along * 32} {_FOOT - 10}H{along * 49}m{-along * 8} -4l{along * 8} 4l{-along * 8} 4"
    return element(
        "g",
        element("path", d=Svg(f"M0 {_RULER + 2}V{tip:.2f}"), stroke=style.VERMILLION, stroke_width=1.3,
                stroke_dasharray="5 3"),
        element("path", d=Svg(f"M0 {_RULER}l-5 9h10Z"), fill=style.VERMILLION),
        element("path", d=Svg(outline), fill=style.tint(style.ORANGE, 0.75), stroke=style.INK, stroke_width=1.2,
                stroke_linejoin="round"),
        element("rect", x=-58, y=_FOOT - 20, width=116, height=20, rx=3, fill=style.PAPER, stroke=style.INK,
                stroke_width=1.2),
        element("path", d=Svg(arrow), stroke=style.INK, stroke_width=1.3, fill="none"),
        text_line("carriage", -along * 4, _FOOT - 6, size=style.SMALL_PX),
        class_="tool",
    )  # fmt: skip


def _rulers(shown: Fraction, scale: float, start: float, along: int) -> Svg:
    """Millimetres above the line, inches below it, both from where the tool starts."""
    parts = [element("path", d=Svg(f"M{_FIRST} {_RULER}H{_LAST}"), stroke=style.SOFT, stroke_width=0.8)]
    millimetre = _step(shown)
    parts.append(_ruler(float(shown), float(millimetre), 5, scale, start, along, -1, "mm"))
    inch = float(INCH_MM) * float(_step(shown / INCH_MM)) if shown < INCH_MM else float(INCH_MM) / 16
    while shown / inch > 100:
        inch *= 2
    parts.append(_ruler(float(shown), inch, 8, scale, start, along, 1, "in"))
    return element("g", *parts)


def _step(shown: Fraction) -> Fraction:
    """The finest of 1, 10, 100 … and 0.1, 0.01 … that gives at most 60 marks."""
    step = Fraction(1, 10_000)
    while shown / step > 60:
        step *= 10
    return step


def _ruler(shown: float, step: float, long: int, scale: float, start: float, along: int, side: int, unit: str) -> Svg:
    """Marks at each step, longer every so many; every two long ones a number, the last of them with the unit."""
    marks, words = [], []
    count = floor(shown / step + 1e-9)
    named = 2 * long
    for n in range(count + 1):
        x = start + along * n * step * scale
        length = 13 if n % named == 0 else 10 if n % long == 0 else 6
        marks.append(f"M{x:.2f} {_RULER}v{side * length}")
        if n % named == 0 and (n or side < 0):
            value = n * step / (float(INCH_MM) if unit == "in" else 1)
            name = f"{value:g}" + (f" {unit}" if n + named > count else "")
            y = _RULER - 16 if side < 0 else _RULER + 24
            beside_tailstock = x > _LAST - 20 and " " in name  # a number with its unit would touch the word there
            words.append(
                text_line(
                    name,
                    x + 8 if beside_tailstock else x,
                    y,
                    size=style.SMALL_PX,
                    fill=style.SOFT,
                    anchor="end" if beside_tailstock else "middle",
                )
            )
    return element("g", element("path", d=Svg("".join(marks)), stroke=style.SOFT, stroke_width=0.8), *words)
