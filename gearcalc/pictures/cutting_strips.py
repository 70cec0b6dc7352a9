"""Strips that show a thread being cut: the carriage at work, and the thread along its rulers."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor, radians, tan

from gearcalc.basics import both_units, writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM
from gearcalc.basics.writing import Units
from gearcalc.pictures import style
from gearcalc.pictures.gears_in_mesh import Point
from gearcalc.pictures.svg import Svg, arrow, bold, drawn_line, element, note, path_of, rect, shape, text_line, window
from gearcalc.pictures.thread_profiles import FINEST_PX, crests, profile

CARRIAGE_STRIP_PX, THREAD_STRIP_PX = (672, 172), (672, 180)
"""Width and height of the strips: so narrow that their lettering reads where the picture stands beside its controls."""
_WIDE = THREAD_STRIP_PX[0]
_CENTRE_LINE = "14 4 3 4"


def _rulers(
    shown: Fraction, scale: float, start: float, along: int, above: float, below: float, first: Units = "mm"
) -> Svg:
    """One unit upwards from one level, the other downwards from another; `along`: −1 where they run to the left."""
    inch = INCH_MM * _step(shown / INCH_MM) if shown < INCH_MM else INCH_MM / 16
    while shown / inch > 100:
        inch *= 2
    parts = []
    kinds = [(_step(shown), 5, "mm"), (inch, 8, "in")]
    for (step, long, unit), y, side in zip(
        kinds if first == "mm" else kinds[::-1], (above, below), (-1, 1), strict=True
    ):
        marks, words, named, count = "", [], 2 * long, floor(shown / step)
        for n in range(count + 1):
            x = start + along * n * float(step) * scale
            marks += f"M{x:.2f} {y}v{side * (13 if n % named == 0 else 10 if n % long == 0 else 6)}"
            if n % named == 0 and (n or (side < 0 and above == below)):
                last = n + named > count
                name = writing.decimal(n * step / (INCH_MM if unit == "in" else 1)) + f" {unit}" * last
                at_the_end = last and along > 0 and n > 0.95 * count  # where its unit would touch other words
                x, anchor = (x + 8, "end") if at_the_end else (x, "middle")
                words.append(note(name, x, y + (24 if side > 0 else -16), size=style.SMALL_PX, anchor=anchor))
        parts += [drawn_line(marks, style.SOFT, 0.8), *words]
    return element("g", *parts)


def _step(shown: Fraction) -> Fraction:
    """The finest of 1, 10, 100 … and 0.1, 0.01 … that gives at most 60 marks."""
    step = Fraction(1, 10_000)
    while shown / step > 60:
        step *= 10
    return step


# The carriage at work, seen from above: a bar between headstock and tailstock, the tool, the thread behind it. What
# turns the bar also carries the tool along, so the grooves that are seen on the bar travel with the tool: the whole
# thread is one group that a live page moves by `data-travel` for each turn of the spindle.

_FIRST, _LAST = 122.0, _WIDE - 86.0  # where the tool can go
_JAWS = 86.0
_RULER, _TOP, _BOTTOM, _FOOT = 30.0, 64.0, 122.0, 168.0
_MIDDLE = (_TOP + _BOTTOM) / 2
_DEEPEST_PX = 16.0
_GROOVE_SHARE = 0.875  # of the pitch: a sharp V below crests an eighth of the pitch wide
_TOOL_PX = (13.0, 24.0)  # half its width at most, and how long its nose
_BARS_MM = [n * Fraction(10) ** k for k in range(-3, 6) for n in (1, 3, 6)]
_FEWEST_TURNS, _FEWEST_TURNS_OF_FINE, _MOST_TURNS, _USUAL_MM = 8, 24, 120, 30


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


def carriage_strip(
    lead_mm: Fraction,
    *,
    starts: int = 1,
    hand: str = "right",
    turns: Fraction = Fraction(0),
    angle_deg: float = 60,
    units: Units = "mm",
) -> Svg:
    """The tool after so many turns of the spindle, and the thread that it has cut.

    >>> 'data-travel="-23.2"' in carriage_strip(Fraction(3, 2), turns=Fraction(4))
    True

    `lead_mm` as in bar_mm; `starts`: of which one is cut; `hand`: a right-hand thread is cut towards the headstock,
    on the left, a left-hand one away from it; `turns`: 0 or more; `angle_deg`: between the
    flanks; `units`: what is read first. The groove is a plain V, as deep as the pitch allows, and no deeper than a
    light cut.
    """
    shown = bar_mm(lead_mm, turns)
    scale = (_LAST - _FIRST) / float(shown)
    along, start = (-1, _LAST) if hand == "right" else (1, _FIRST)
    lead = float(lead_mm) * scale
    slope = tan(radians(angle_deg / 2))
    depth = min(_GROOVE_SHARE * lead / starts / 2 / slope, _DEEPEST_PX)

    def travelling(part: Svg) -> Svg:
        travel = {"transform": f"translate({along * lead * float(turns):.3f} 0)", "data_travel": f"{along * lead:.7g}"}
        return element("g", element("g", part, **travel), transform=f"translate({start} 0)")

    return element(
        "g",
        drawn_line(f"M{_FIRST} {_RULER}H{_LAST}", style.SOFT, 0.8),
        _rulers(shown, scale, start, along, _RULER, _RULER, units),
        _plain_bar(along),
        window(_FIRST, 0, _LAST, _FOOT, travelling(_thread(lead, depth, depth * slope, along)), at=(_FIRST, 0)),
        drawn_line(f"M{_LAST} {_TOP + depth:.2f}V{_BOTTOM - depth:.2f}"),
        _ends(),
        travelling(_tool_on_carriage(depth, slope, along)),
        font_family=style.FONT,
        fill=style.INK,
    )


def _plain_bar(along: int) -> Svg:
    """The bar before it is cut; where a thread starts beside the headstock, a groove for the tool to start in."""
    bar = rect(48, _TOP, _LAST, _BOTTOM, style.STEEL, style.INK)
    if along < 0:
        return bar
    gap = rect(_FIRST - 16, _TOP - 2, _FIRST, _BOTTOM + 2)
    groove = rect(_FIRST - 16, _TOP + _DEEPEST_PX, _FIRST, _BOTTOM - _DEEPEST_PX, style.STEEL, style.INK, 1)
    return element("g", bar, gap, groove, drawn_line(f"M{_FIRST - 16} {_TOP}V{_BOTTOM}M{_FIRST} {_TOP}V{_BOTTOM}"))


def _ends() -> Svg:
    """The chuck that holds the bar on the left, and the centre on the right."""
    jaws = "".join(
        f"M48 {edge}H{_JAWS}V{edge + side * 14}H74V{edge + side * 24}H48Z" for edge, side in ((_TOP, -1), (_BOTTOM, 1))
    )
    chuck = f"M14 {_TOP - 26}H44L50 {_TOP - 20}V{_BOTTOM + 20}L44 {_BOTTOM + 26}H14Z"
    point = f"M{_LAST} {_MIDDLE}L{_LAST + 26} {_MIDDLE - 15}H{_WIDE - 14}V{_MIDDLE + 15}H{_LAST + 26}Z"
    return element(
        "g",
        shape(jaws + chuck + point, style.DARK_STEEL, style.INK),
        drawn_line(f"M8 {_MIDDLE}H{_WIDE - 8}", style.SOFT, 0.8, _CENTRE_LINE),
        note("headstock", 14, 18, size=style.SMALL_PX),
        note("tailstock", _WIDE - 14, 18, size=style.SMALL_PX, anchor="end"),
    )


def _thread(lead: float, depth: float, half: float, along: int) -> Svg:
    """The thread behind a tool at 0, out of sight at its far end: outline, and each groove's two flanks, `half` wide.

    Nearest the eye the crests of a right-hand thread lean as a backslash does; half a turn round from the tool,
    at the far edge, a groove stands half a lead on.
    """
    back = -along
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

    def lines(*each: list[Point], closed: bool = False) -> str:
        return "".join(path_of([(back * x, y) for x, y in line], closed=closed) for line in each)

    return element(
        "g",
        rect(min(0.0, back * far), _TOP - 2, max(0.0, back * far), _BOTTOM + 2),
        shape(lines([*far_edge, *reversed(near_edge)]), style.tint(style.SKY, 0.22)),
        shape(lines(*dark, closed=True), style.tint(style.BLUE, 0.42)),
        shape(lines(*light, closed=True), style.tint(style.SKY, 0.42)),
        drawn_line(lines(*roots), width=0.7),
        drawn_line(lines(far_edge, near_edge), width=1.2, stroke_linejoin="round"),
    )


def _tool_on_carriage(depth: float, slope: float, along: int) -> Svg:
    """A threading tool with its tip at the bottom of the groove, the carriage under it, a line up to the rulers."""
    tip, half = _BOTTOM - depth, min(_TOOL_PX[0], _TOOL_PX[1] * slope)
    shoulder = tip + half / slope
    outline = f"M0 {tip:.2f}L{half} {shoulder:.2f}V{_FOOT - 20}H{-half}V{shoulder:.2f}Z"
    return element(
        "g",
        drawn_line(f"M0 {_RULER + 2}V{tip:.2f}", style.VERMILLION, 1.3, "5 3"),
        shape(f"M0 {_RULER}l-5 9h10Z", style.VERMILLION),
        shape(outline, style.tint(style.ORANGE, 0.75), style.INK),
        rect(-58, _FOOT - 20, 58, _FOOT, style.PAPER, style.INK, rx=3),
        drawn_line(arrow((along * 32, _FOOT - 10), (along * 49, _FOOT - 10), tip_px=8), width=1.3),
        text_line("carriage", -along * 4, _FOOT - 6, size=style.SMALL_PX),
        class_="tool",
    )


# The thread as it would be cut, between two rulers, with the tool where it has got to.

_START, _END = 28.0, _WIDE - 28.0
_UPPER, _LOWER, _NOTE_Y = 58.0, 122.0, 174.0
_SHORTEST_MM = 30


def thread_strip(
    lead_mm: Fraction,
    *,
    starts: int = 1,
    turns: int = 0,
    hand: str = "right",
    angle_deg: float = 60,
    units: Units = "mm",
) -> Svg:
    """The thread true to pitch along a ruler in mm and one in inches; a mark where `turns` turns bring the tool.

    >>> "4 turns: 6 mm" in thread_strip(Fraction(3, 2), turns=4)
    True

    `lead_mm`: more than zero; `starts`: 1 or more; `turns`: whole turns of the spindle, 0 or more; `hand`: of the
    thread: the crests of a right-hand thread lean as a backslash does when its axis lies level; `angle_deg`: between
    its flanks; `units`: what is read first, and stands above.
    The strip shows 30 mm, or more when the tool goes farther, or so much that the thread is as deep as profile() says.
    How thick the bar is says nothing.
    """
    shown = max(_SHORTEST_MM, ceil(lead_mm * turns / 10 + Fraction(1, 5)) * 10, ceil(lead_mm * 3 / 20) * 10)
    deep_mm, deepest = profile(angle_deg)[0] * float(lead_mm) / starts, (_LOWER - _UPPER) * min(0.3, 1 / starts)
    shown = max(shown, ceil(deep_mm * (_END - _START) / deepest / 10 - 1e-9) * 10)
    shown = max(shown, ceil(10 * _step(Fraction(shown))))  # so that its ruler has a number
    scale = (_END - _START) / shown
    step, lean = float(lead_mm) / starts * scale, starts / 2 if hand == "right" else -starts / 2
    drawn = f"flanks of {writing.decimal(angle_deg, 1)}°, pitch and depth to scale; how thick the bar is says nothing"
    return element(
        "g",
        _threaded_bar(step, lean, angle_deg),
        _rulers(Fraction(shown), scale, _START, 1, _UPPER - 6, _LOWER + 6, units),
        *(_tool_place(lead_mm, turns, scale, units) if turns else ()),
        *([note(drawn, _END, _NOTE_Y, size=style.SMALL_PX, anchor="end")] if step >= FINEST_PX else []),
        font_family=style.FONT,
        fill=style.INK,
    )


def _threaded_bar(step: float, lean: float, angle_deg: float) -> Svg:
    """The bar with its thread, or plain tone where crests would run together.

    `lean`: how many steps to the right a crest goes from the upper edge to the lower.
    """
    if step < FINEST_PX:
        return rect(_START, _UPPER, _END, _LOWER, style.tint(style.SKY, 0.5), style.INK, 1)
    room = _LOWER - _UPPER
    # From edge to edge is half a turn, and half a lead: with two starts a crest stands opposite another.
    above = crests(_START, _END, step, _UPPER, room, angle_deg=angle_deg)
    below = crests(_START, _END, step, _LOWER, -room, lean % 1, angle_deg=angle_deg)
    middle, outline = (_UPPER + _LOWER) / 2, path_of([*above, *reversed(below)], closed=True)
    return element(
        "g",
        shape(outline, style.tint(style.SKY, 0.28), style.INK, 1.1),
        drawn_line(_crest_lines(step, lean), style.SOFT, 0.6),
        window(_START, _UPPER, _END, _LOWER, *_flanks(step, lean, angle_deg), at=(_START, _UPPER)),
        drawn_line(outline, width=1.1, stroke_linejoin="round"),
        drawn_line(f"M{_START - 14} {middle}H{_END + 14}", style.SOFT, 0.8, _CENTRE_LINE),
    )


def _flanks(step: float, lean: float, angle_deg: float) -> list[Svg]:
    """The two flanks of each groove as far as they face the eye, one in the light and one in the shade."""
    (deep, root), slope = profile(angle_deg), tan(radians(angle_deg / 2))
    bottom, top, depth = root * step / 2, (root / 2 + deep * slope) * step, deep * step
    tones = {-1: "", 1: ""}
    for n in range(floor(min(0.0, -lean)) - 1, ceil((_END - _START) / step + max(0.0, -lean)) + 1):
        x, on = _START + (n + 0.5) * step, lean * step
        for side in tones:
            edge = [(x + side * top, _UPPER), (x + side * bottom, _UPPER + depth)]
            edge += [(x + on + side * bottom, _LOWER - depth), (x + on + side * top, _LOWER)]
            tones[side] += path_of(edge, closed=True)
    return [shape(tones[-1], style.tint(style.BLUE, 0.4)), shape(tones[1], style.tint(style.SKY, 0.5))]


def _crest_lines(step: float, lean: float) -> str:
    """Every crest from the upper edge to the lower, or as far as it is on the bar."""
    lines, steps = "", (_END - _START) / step
    for n in range(ceil(min(0.0, -lean)), floor(steps + max(0.0, -lean)) + 1):
        ends = sorted(((0 - n) / lean, (steps - n) / lean))  # how far down it is where the bar begins and ends
        down = [min(max(end, 0.0), 1.0) for end in ends]
        if down[1] - down[0] > 0.01:
            points = [f"{_START + (n + lean * d) * step:.2f} {_UPPER + (_LOWER - _UPPER) * d:.1f}" for d in down]
            lines += f"M{points[0]}L{points[1]}"
    return lines


def _tool_place(lead_mm: Fraction, turns: int, scale: float, units: Units) -> list[Svg]:
    """The tool's place after so many turns: a line across the bar, and the distance above it."""
    x, y = _START + float(lead_mm * turns) * scale, 18.0
    words = f"{writing.turns(turns)}: {both_units.travel(lead_mm * turns, units)}"
    half = style.text_width_px(words, style.WORD_PX) / 2 + 6
    parts = [
        drawn_line(f"M{x:.2f} {y + 8}V{_LOWER + 4}M{_START} {y - 8}V{_LOWER + 4}", style.VERMILLION, 1.4, "5 3"),
        drawn_line(arrow((_START, y), (x, y)), width=1.2),
    ]
    if x - _START <= 2 * half + 30:
        return [*parts, bold(words, x + 10, y + 4.5, size=style.WORD_PX)]
    middle = (_START + x) / 2
    patch = rect(middle - half, y - 9, middle + half, y + 9)
    return [*parts, patch, bold(words, middle, y + 4.5, size=style.WORD_PX, anchor="middle")]
