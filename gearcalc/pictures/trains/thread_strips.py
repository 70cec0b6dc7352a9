"""A strip of the thread as it would be cut, between two rulers, with the tool where it has got to."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM
from gearcalc.pictures import style
from gearcalc.pictures.svg import Svg, element, text_line

THREAD_STRIP_PX = (800, 166)
_LEFT, _RIGHT = 28.0, 772.0
_TOP, _BOTTOM = 58.0, 122.0
_SHORTEST_MM = 30
_MOST_CRESTS = 240


def thread_strip(lead_mm: Fraction, *, starts: int = 1, turns: int = 0, hand: str = "right") -> Svg:
    """The thread true to pitch along a ruler in mm and one in inches; a mark where `turns` turns bring the tool.

    >>> "4 turns: 6 mm" in thread_strip(Fraction(3, 2), turns=4)
    True

    `lead_mm`: more than zero; `starts`: 1 or more; `turns`: whole turns of the spindle, 0 or more; `hand`: of the
    thread: the crests of a right-hand thread lean as a backslash does when its axis lies level.
    The strip shows 30 mm, or more when the tool goes farther. The profile is a plain V, 0.6134 of the pitch deep
    (ISO 68-1), or as deep as the bar allows.
    """
    travel = float(lead_mm * turns)
    shown = float(max(_SHORTEST_MM, ceil(travel / 10 + 0.2) * 10, ceil(float(lead_mm) * 1.5 / 10) * 10))
    scale = (_RIGHT - _LEFT) / shown
    return element(
        "g",
        _bar(float(lead_mm) / starts, shown, scale, 0.5 if hand == "right" else -0.5),
        _millimetres(shown, scale),
        _inches(shown, scale),
        *(_tool(lead_mm, turns, scale) if turns else ()),
        font_family=style.FONT,
        fill=style.INK,
    )


def _bar(pitch: float, shown: float, scale: float, lean: float) -> Svg:
    """The bar with its thread: a zigzag, or plain tone where crests would run together."""
    crests, step = shown / pitch, pitch * scale
    if crests > _MOST_CRESTS:
        return element(
            "rect",
            x=_LEFT,
            y=_TOP,
            width=_RIGHT - _LEFT,
            height=_BOTTOM - _TOP,
            fill=style.tint(style.SKY, 0.5),
            stroke=style.INK,
        )
    depth = min(0.6134 * step, (_BOTTOM - _TOP) * 0.3)
    # A helix shows itself with its crests at whole pitches above and half a pitch on below.
    outline = "M" + "L".join([*_zigzag(_TOP, depth, step, 0.0), *reversed(_zigzag(_BOTTOM, -depth, step, 0.5))]) + "Z"
    crest_lines = "".join(
        f"M{_LEFT + n * step:.2f} {_TOP:.1f}L{_LEFT + (n + lean) * step:.2f} {_BOTTOM:.1f}"
        for n in range(0 if lean > 0 else 1, floor(crests) + 1)
        if _LEFT + (n + max(lean, 0)) * step <= _RIGHT
    )
    middle = (_TOP + _BOTTOM) / 2
    return element(
        "g",
        element(
            "path",
            d=Svg(outline),
            fill=style.tint(style.SKY, 0.28),
            stroke=style.INK,
            stroke_width=1.1,
            stroke_linejoin="round",
        ),
        element("path", d=Svg(crest_lines), stroke=style.SOFT, stroke_width=0.6, fill="none"),
        element(
            "path",
            d=Svg(f"M{_LEFT - 14} {middle}H{_RIGHT + 14}"),
            stroke=style.SOFT,
            stroke_width=0.8,
            stroke_dasharray="14 4 3 4",
            fill="none",
        ),
    )


def _zigzag(level: float, depth: float, step: float, phase: float) -> list[str]:
    """From the left end of the bar to the right: crests at `level` where place + phase is whole, roots between."""

    def height(x: float) -> float:
        from_crest = abs(((x - _LEFT) / step - phase + 0.5) % 1 - 0.5)
        return level + depth * 2 * from_crest

    corners = [_LEFT + (n / 2 + phase) * step for n in range(-2, ceil(2 * (_RIGHT - _LEFT) / step) + 2)]
    places = [_LEFT, *(x for x in corners if _LEFT < x < _RIGHT), _RIGHT]
    return [f"{x:.2f} {height(x):.2f}" for x in places]


def _millimetres(shown: float, scale: float) -> Svg:
    every = 1 if shown <= 60 else 10
    ticks, words = [], []
    for mm in range(0, int(shown) + 1, every):
        x, long = _LEFT + mm * scale, mm % (5 * every) == 0
        ticks.append(f"M{x:.2f} {_TOP - 6}V{_TOP - (18 if long else 12)}")
        if mm and mm % (10 * every) == 0:
            unit = " mm" if mm + 10 * every > shown else ""
            words.append(text_line(f"{mm}{unit}", x, _TOP - 22, size=style.SMALL_PX, fill=style.SOFT))
    return element("g", element("path", d=Svg("".join(ticks)), stroke=style.SOFT, stroke_width=0.8), *words)


def _inches(shown: float, scale: float) -> Svg:
    parts = 16 if shown <= 60 else 2
    ticks, words = [], []
    for part in range(floor(shown / float(INCH_MM) * parts) + 1):
        x = _LEFT + part / parts * float(INCH_MM) * scale
        length = 12 if part % parts == 0 else 9 if part % max(parts // 2, 1) == 0 else 6
        ticks.append(f"M{x:.2f} {_BOTTOM + 6}V{_BOTTOM + 6 + length}")
        if part and part % parts == 0:
            words.append(text_line(f"{part // parts} in", x, _BOTTOM + 32, size=style.SMALL_PX, fill=style.SOFT))
    return element("g", element("path", d=Svg("".join(ticks)), stroke=style.SOFT, stroke_width=0.8), *words)


def _tool(lead_mm: Fraction, turns: int, scale: float) -> tuple[Svg, ...]:
    """The tool's place after so many turns: a line across the bar, and the distance above it."""
    x, y = _LEFT + float(lead_mm * turns) * scale, 18.0
    words = f"{turns} turn{'s' if turns != 1 else ''}: {writing.length(lead_mm * turns)}"
    room = style.text_width_px(words, style.WORD_PX) + 12
    middle = (_LEFT + x) / 2
    arrow = f"M{_LEFT} {y}H{x:.2f}M{x - 7:.2f} {y - 3.5}L{x:.2f} {y}L{x - 7:.2f} {y + 3.5}"
    if x - _LEFT > room + 30:
        label = element(
            "g",
            element("rect", x=middle - room / 2, y=y - 9, width=room, height=18, fill=style.PAPER),
            text_line(words, middle, y + 4.5, size=style.WORD_PX, font_weight="600"),
        )
    else:
        label = text_line(words, x + 10, y + 4.5, size=style.WORD_PX, anchor="start", font_weight="600")
    return (
        element(
            "path",
            d=Svg(f"M{x:.2f} {y + 8}V{_BOTTOM + 4}M{_LEFT} {y - 8}V{_BOTTOM + 4}"),
            stroke=style.VERMILLION,
            stroke_width=1.4,
            stroke_dasharray="5 3",
            fill="none",
        ),
        element("path", d=Svg(arrow), stroke=style.INK, stroke_width=1.2, fill="none"),
        label,
    )
