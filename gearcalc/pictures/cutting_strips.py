"""Strips that show a thread being cut: the carriage at work, the thread along its rulers, a row of counters."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor, radians, tan

from attrs import frozen

from gearcalc.basics import writing
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
        _plain_bar(along),
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
        element("g", element("g", _tool_on_carriage(depth, along), **travel), transform=f"translate({start} 0)"),
        font_family=style.FONT,
        fill=style.INK,
    )


def _plain_bar(along: int) -> Svg:
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


def _tool_on_carriage(depth: float, along: int) -> Svg:
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


# A strip of the thread as it would be cut, between two rulers, with the tool where it has got to.


THREAD_STRIP_PX = (800, 166)
_START, _END = 28.0, 772.0
_UPPER, _LOWER = 58.0, 122.0
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
    scale = (_END - _START) / shown
    return element(
        "g",
        _threaded_bar(float(lead_mm) / starts, shown, scale, 0.5 if hand == "right" else -0.5),
        _millimetres(shown, scale),
        _inches(shown, scale),
        *(_tool_place(lead_mm, turns, scale) if turns else ()),
        font_family=style.FONT,
        fill=style.INK,
    )


def _threaded_bar(pitch: float, shown: float, scale: float, lean: float) -> Svg:
    """The bar with its thread: a zigzag, or plain tone where crests would run together."""
    crests, step = shown / pitch, pitch * scale
    if crests > _MOST_CRESTS:
        return element(
            "rect",
            x=_START,
            y=_UPPER,
            width=_END - _START,
            height=_LOWER - _UPPER,
            fill=style.tint(style.SKY, 0.5),
            stroke=style.INK,
        )
    depth = min(0.6134 * step, (_LOWER - _UPPER) * 0.3)
    # A helix shows itself with its crests at whole pitches above and half a pitch on below.
    outline = "M" + "L".join([*_zigzag(_UPPER, depth, step, 0.0), *reversed(_zigzag(_LOWER, -depth, step, 0.5))]) + "Z"
    crest_lines = "".join(
        f"M{_START + n * step:.2f} {_UPPER:.1f}L{_START + (n + lean) * step:.2f} {_LOWER:.1f}"
        for n in range(0 if lean > 0 else 1, floor(crests) + 1)
        if _START + (n + max(lean, 0)) * step <= _END
    )
    middle = (_UPPER + _LOWER) / 2
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
            d=Svg(f"M{_START - 14} {middle}H{_END + 14}"),
            stroke=style.SOFT,
            stroke_width=0.8,
            stroke_dasharray="14 4 3 4",
            fill="none",
        ),
    )


def _zigzag(level: float, depth: float, step: float, phase: float) -> list[str]:
    """From the left end of the bar to the right: crests at `level` where place + phase is whole, roots between."""

    def height(x: float) -> float:
        from_crest = abs(((x - _START) / step - phase + 0.5) % 1 - 0.5)
        return level + depth * 2 * from_crest

    corners = [_START + (n / 2 + phase) * step for n in range(-2, ceil(2 * (_END - _START) / step) + 2)]
    places = [_START, *(x for x in corners if _START < x < _END), _END]
    return [f"{x:.2f} {height(x):.2f}" for x in places]


def _millimetres(shown: float, scale: float) -> Svg:
    every = 1 if shown <= 60 else 10
    ticks, words = [], []
    for mm in range(0, int(shown) + 1, every):
        x, long = _START + mm * scale, mm % (5 * every) == 0
        ticks.append(f"M{x:.2f} {_UPPER - 6}V{_UPPER - (18 if long else 12)}")
        if mm and mm % (10 * every) == 0:
            unit = " mm" if mm + 10 * every > shown else ""
            words.append(text_line(f"{mm}{unit}", x, _UPPER - 22, size=style.SMALL_PX, fill=style.SOFT))
    return element("g", element("path", d=Svg("".join(ticks)), stroke=style.SOFT, stroke_width=0.8), *words)


def _inches(shown: float, scale: float) -> Svg:
    parts = 16 if shown <= 60 else 2
    ticks, words = [], []
    for part in range(floor(shown / float(INCH_MM) * parts) + 1):
        x = _START + part / parts * float(INCH_MM) * scale
        length = 12 if part % parts == 0 else 9 if part % max(parts // 2, 1) == 0 else 6
        ticks.append(f"M{x:.2f} {_LOWER + 6}V{_LOWER + 6 + length}")
        if part and part % parts == 0:
            words.append(text_line(f"{part // parts} in", x, _LOWER + 32, size=style.SMALL_PX, fill=style.SOFT))
    return element("g", element("path", d=Svg("".join(ticks)), stroke=style.SOFT, stroke_width=0.8), *words)


def _tool_place(lead_mm: Fraction, turns: int, scale: float) -> tuple[Svg, ...]:
    """The tool's place after so many turns: a line across the bar, and the distance above it."""
    x, y = _START + float(lead_mm * turns) * scale, 18.0
    words = f"{writing.turns(turns)}: {writing.length(lead_mm * turns)}"
    room = style.text_width_px(words, style.WORD_PX) + 12
    middle = (_START + x) / 2
    arrow = f"M{_START} {y}H{x:.2f}M{x - 7:.2f} {y - 3.5}L{x:.2f} {y}L{x - 7:.2f} {y + 3.5}"
    if x - _START > room + 30:
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
            d=Svg(f"M{x:.2f} {y + 8}V{_LOWER + 4}M{_START} {y - 8}V{_LOWER + 4}"),
            stroke=style.VERMILLION,
            stroke_width=1.4,
            stroke_dasharray="5 3",
            fill="none",
        ),
        element("path", d=Svg(arrow), stroke=style.INK, stroke_width=1.2, fill="none"),
        label,
    )


# A row of counters, as on the front of an instrument: a live page writes the numbers, paper shows one moment.


ROW_PX = 62.0
_LEFT, _RIGHT = 6.0, 794.0
_COUNT_PX = 21.0


@frozen
class Dial:
    """A pointer that turns; `turns`: clockwise, for one turn of the first driver clockwise, as the gears have it."""

    turns: Fraction
    angle_deg: Fraction = Fraction(0)


@frozen
class Readout:
    """One counter: what it counts, how much in one turn of the spindle, and to how many places it is shown.

    `places` 0 counts what is complete, as a tooth is once it has passed. `dial`: beside it, for what turns;
    `ringed`: beside it the ring that marks a mesh in the train; `also`: a second unit, how many of it make one
    of the first, and places.
    """

    name: str
    unit: str
    per_turn: Fraction
    places: int = 2
    dial: Dial | None = None
    ringed: bool = False
    also: tuple[str, Fraction, int] | None = None

    def at(self, turns: Fraction) -> str:
        """What it shows after so many turns of the spindle.

        >>> Readout("first mesh", "teeth", Fraction(40), 0).at(Fraction(7, 4)), Readout("", "", Fraction(1)).at(2)
        ('70', '2.00')
        """
        return _shown(self.per_turn * turns, self.places)


def _shown(count: Fraction, places: int) -> str:
    return str(floor(count)) if places == 0 else f"{float(count):.{places}f}"


def readout_row(readouts: Sequence[Readout], turns: Fraction) -> Svg:
    """The counters side by side after so many turns of the spindle, 62 pixels high.

    >>> 'data-count="40"' in readout_row([Readout("first mesh", "teeth", Fraction(40), 0)], Fraction(0))
    True
    """
    width = (_RIGHT - _LEFT) / len(readouts)
    parts = [
        element(
            "rect",
            x=_LEFT,
            y=0,
            width=_RIGHT - _LEFT,
            height=ROW_PX,
            fill="#F7F8F9",
            stroke=style.INK,
            stroke_width=1.2,
        )
    ]
    for n, readout in enumerate(readouts):
        left = _LEFT + n * width
        if n:
            parts.append(element("path", d=Svg(f"M{left:.2f} 9V{ROW_PX - 9}"), stroke=style.FAINT, stroke_width=1))
        parts.append(_tile(readout, left, width, turns))
    return element("g", *parts, font_family=style.FONT, fill=style.INK)


def _tile(readout: Readout, left: float, width: float, turns: Fraction) -> Svg:
    sign, at = Svg(""), left + 14
    if readout.dial is not None:
        sign, at = _dial(readout.dial, left + 32, ROW_PX / 2), left + 60
    name = text_line(
        readout.name, at + (17 if readout.ringed else 0), 22, size=style.SMALL_PX, anchor="start", fill=style.SOFT
    )
    ring = element("circle", cx=at + 6, cy=18, r=5, fill="none", stroke=style.INK, stroke_width=1.5)
    parts = [sign, name, *([ring] if readout.ringed else [])]
    if readout.also is not None:
        unit, size, places = readout.also
        also = _count(f"{readout.name}, {unit}", readout.per_turn / size, places, turns)
        line = [also, element("tspan", f" {unit}")]
        parts.append(
            element(
                "text", *line, x=left + width - 12, y=22, font_size=style.SMALL_PX, text_anchor="end", fill=style.SOFT
            )
        )
    count = _count(f"{readout.name}, {readout.unit}", readout.per_turn, readout.places, turns, size=_COUNT_PX)
    unit_word = element("tspan", f" {readout.unit}", font_size=style.WORD_PX, fill=style.SOFT)
    parts.append(element("text", count, unit_word, x=at, y=49))
    return element("g", *parts)


def _count(words: str, per_turn: Fraction, places: int, turns: Fraction, size: float | None = None) -> Svg:
    return element(
        "tspan",
        _shown(per_turn * turns, places),
        font_size=size,
        font_weight=None if size is None else "bold",
        data_count=Svg(f"{float(per_turn):.15g}"),
        data_places=places,
        data_words=words,
    )


def _dial(dial: Dial, x: float, y: float) -> Svg:
    """A plate with quarter marks, and a pointer that turns on it."""
    radius = 19.0
    marks = "".join(
        f"M{cx * 14:.1f} {cy * 14:.1f}L{cx * 17:.1f} {cy * 17:.1f}" for cx, cy in ((0, -1), (1, 0), (0, 1), (-1, 0))
    )
    pointer = element("path", d=Svg("M0 -15.5L3.2 3H-3.2Z"), fill=style.VERMILLION)
    angle = f"{float(dial.angle_deg) % 360:.3f}"
    return element(
        "g",
        element("circle", r=radius, fill=style.PAPER, stroke=style.INK, stroke_width=1.2),
        element("path", d=Svg(marks), stroke=style.SOFT, stroke_width=1),
        element(
            "g", pointer, transform=f"rotate({angle})", data_rest=angle, data_turns=Svg(f"{float(dial.turns):.12g}")
        ),
        element("circle", r=2.6, fill=style.INK),
        transform=f"translate({x:.2f} {y:.2f})",
    )
