"""The tool on its way to the shoulder: the groove with its turns counted off, and the seconds that they take."""

from __future__ import annotations

from math import floor

from gearcalc.basics import writing
from gearcalc.cutting.shoulders import LEAST_SECONDS, ShoulderRun
from gearcalc.pictures import style
from gearcalc.pictures.charts import drawn_line, over_lines, round_number, sheet, step_for
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line

SHOULDER_PX = (800, 400)
"""Width and height of the picture."""

_LEFT, _RIGHT = 40.0, 760.0
_SHOULDER_TOP, _CREST, _ROOT, _AXIS = 92.0, 122.0, 150.0, 206.0
_GROOVE_LEFT, _LONGEST_PX = 170.0, 350.0
_NARROWEST_SHEET_MM = 5.0
_DEEPEST_PX = 26.0
_FINEST_PX = 4.0
_CLOSEST_PX, _NAMED_PX = 5.0, 34.0  # between the marks of turns; between their numbers
_BAR_TOP, _BAR_PX = 300.0, 26.0
_BAR_RIGHT = 700.0
_WORK, _STEEL = style.tint(style.SKY, 0.34), style.tint(style.ORANGE, 0.3)
_TOO_SHORT, _ENOUGH = style.tint(style.VERMILLION, 0.5), style.tint(style.BLUE, 0.3)


def shoulder_picture(run: ShoulderRun, needed_s: float = LEAST_SECONDS) -> Picture:
    """The tool before the groove, each turn across it marked, and the time beside the time that is wanted.

    >>> from gearcalc.cutting.shoulders import time_to_shoulder
    >>> print(shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5)).caption)
    1.5 mm at 100 rev/min: 4.5 mm to the shoulder is 3 turns, 1.8 s.

    `run`: from time_to_shoulder(); `needed_s`: seconds wanted for hand and eye, more than 0.
    """
    caption = (
        f"{run.what} at {_number(run.rpm)} rev/min: {_number(run.room_mm)} mm to the shoulder is "
        f"{_turns(run)}, {_seconds(run.seconds)}."
    )
    enough = run.seconds >= needed_s
    between = ("a groove of", "the thread") if run.starts else ("still to be turned,", "what is turned")
    description = (
        f"A bar in section with a shoulder at the left, {between[0]} {_number(run.room_mm)} mm beside it and "
        f"{between[1]} to the right, where the tool stands; it goes to the left. The turns of the spindle are marked "
        f"on the way: {_turns(run)}. A bar beneath shows {_seconds(run.seconds)}, which is "
        f"{'enough' if enough else 'too short'}: {_seconds(needed_s)} are wanted."
    )
    return Picture(_drawing(run, float(needed_s), caption, description), description, [_row(run, needed_s)], caption)


def _drawing(run: ShoulderRun, needed: float, caption: str, description: str) -> Svg:
    title = f"{run.what} at {_number(run.rpm)} rev/min: {_seconds(run.seconds)} to the shoulder"
    return sheet(
        SHOULDER_PX,
        caption,
        description,
        text_line(title, 24, 38, size=15, anchor="start", font_weight="bold"),
        _bar_of_work(run),
        _turns_marked(run),
        _tool(_groove_right(run)),
        _clock(run, needed),
    )


def _scale(run: ShoulderRun) -> float:
    """Pixels to a millimetre: a round number of mm fills the place of the groove, 5 at least."""
    return _LONGEST_PX / max(_NARROWEST_SHEET_MM, round_number(float(run.room_mm), up=True))


def _groove_right(run: ShoulderRun) -> float:
    return _GROOVE_LEFT + float(run.room_mm) * _scale(run)


def _bar_of_work(run: ShoulderRun) -> Svg:
    """The upper half of the bar: shoulder, groove and thread, or what is still to be turned; and its centre line."""
    right = _groove_right(run)
    if run.starts:
        top, cut, middle_word, right_word = _ROOT, _thread(run, right), "groove", "thread"
    else:
        top, cut, middle_word, right_word = _CREST, f"V{_ROOT}H{_RIGHT}", "still to be turned", "turned"
    outline = f"M{_LEFT} {_AXIS}V{_SHOULDER_TOP}H{_GROOVE_LEFT}V{top}H{right:.2f}{cut}V{_AXIS}Z"
    y = _ROOT + 26
    words = [
        over_lines("shoulder", _LEFT + 12, _SHOULDER_TOP + 40, size=style.WORD_PX, anchor="start"),
        over_lines(middle_word, (_GROOVE_LEFT + right) / 2, y, size=style.WORD_PX),
        over_lines(right_word, _RIGHT - 12, y, size=style.WORD_PX, anchor="end"),
    ]
    return element(
        "g",
        element("path", d=Svg(outline), fill=_WORK, stroke=style.INK, stroke_width=1.3, stroke_linejoin="round"),
        drawn_line(f"M{_LEFT - 14} {_AXIS}H{_RIGHT + 14}", style.SOFT, 0.9, "14 4 3 4"),
        *words,
    )


def _thread(run: ShoulderRun, left: float) -> str:
    """The edge of the thread from the groove to the end of the bar, crests a pitch apart."""
    step = float(run.travel_mm) / run.starts * _scale(run)
    if step < _FINEST_PX:
        return f"V{_CREST}H{_RIGHT}"
    depth = min(0.6134 * step, _DEEPEST_PX)
    corners = [f"L{left:.2f} {_CREST + depth:.2f}"]
    halves = (_RIGHT - left) / (step / 2)
    for n in range(1, floor(halves) + 1):
        corners.append(f"L{left + n * step / 2:.2f} {_CREST + depth * ((n + 1) % 2):.2f}")
    rest = halves % 1
    last = rest if floor(halves) % 2 else 1 - rest
    return "".join(corners) + f"L{_RIGHT} {_CREST + depth * last:.2f}"


def _turns_marked(run: ShoulderRun) -> Svg:
    """A tick for every turn across the groove, from the thread to the shoulder, and the measure of the groove."""
    y, right = _AXIS + 22, _groove_right(run)
    step = float(run.travel_mm) * _scale(run)
    every = max(1, round(round_number(max(1.0, _CLOSEST_PX / step), up=True)))
    named = max(1, round(round_number(max(1.0, _NAMED_PX / step), up=True)))
    whole = floor(run.turns + 1e-9)
    ticks = "".join(f"M{right - n * step:.2f} {y}v-9" for n in range(0, whole + 1, every))
    words = [text_line(str(n), right - n * step, y + 15, size=style.SMALL_PX) for n in range(named, whole + 1, named)]
    line = f"M{_GROOVE_LEFT} {y}H{right:.2f}M{_GROOVE_LEFT} {y}v-9{ticks}"
    measure = f"{_number(run.room_mm)} mm, {_turns(run)} of the spindle"
    return element(
        "g",
        drawn_line(line, style.INK, 1.2),
        *words,
        text_line(measure, right + 14, y + 4, size=style.WORD_PX, anchor="start"),
    )


def _tool(x: float) -> Svg:
    """The tool where the groove begins, its arrow towards the shoulder."""
    tip = _ROOT - 3
    body = f"M{x:.2f} {tip}l-14 -25V62H{x + 14:.2f}V{tip - 25}Z"
    arrow = f"M{x - 24:.2f} 74h-60m8 -5l-8 5l8 5"
    return element(
        "g",
        element("path", d=Svg(body), fill=_STEEL, stroke=style.INK, stroke_width=1.3, stroke_linejoin="round"),
        drawn_line(arrow, style.INK, 1.8),
        over_lines("tool", x + 22, 78, size=style.WORD_PX, anchor="start"),
    )


def _clock(run: ShoulderRun, needed: float) -> Svg:
    """The seconds as a bar, and a line at the seconds that are wanted."""
    longest = max(run.seconds, needed) * 1.15
    scale = (_BAR_RIGHT - _LEFT) / longest
    end, line = _LEFT + run.seconds * scale, _LEFT + needed * scale
    enough = run.seconds >= needed
    foot = _BAR_TOP + _BAR_PX
    tone = _ENOUGH if enough else _TOO_SHORT
    bar = element(
        "rect", x=_LEFT, y=_BAR_TOP, width=end - _LEFT, height=_BAR_PX, fill=tone, stroke=style.INK, stroke_width=1.2
    )
    return element(
        "g",
        bar,
        drawn_line(f"M{line:.2f} {_BAR_TOP - 16}V{foot + 6}", style.INK, 2.0, "6 3"),
        _wanted_words(needed, line),
        _said_words(f"{_seconds(run.seconds)}, {'enough' if enough else 'too short'}", end, line),
        _seconds_scale(longest, scale, foot + 16),
    )


def _wanted_words(needed: float, line: float) -> Svg:
    words = f"{_seconds(needed)} wanted"
    to_right = line + style.text_width_px(words, style.WORD_PX) + 12 < _RIGHT
    x, anchor = (line + 6, "start") if to_right else (line - 6, "end")
    return over_lines(words, x, _BAR_TOP - 8, size=style.WORD_PX, anchor=anchor)


def _said_words(words: str, end: float, line: float) -> Svg:
    """In the bar where it is long enough, else beside it, clear of the line."""
    width = style.text_width_px(words, 15) + 16
    if end - _LEFT > width:
        x, anchor = end - 10, "end"
    elif not end - 4 < line < end + width:
        x, anchor = end + 10, "start"
    else:
        x, anchor = line + 10, "start"
    return over_lines(words, x, _BAR_TOP + 19, size=15, anchor=anchor, font_weight="bold")


def _seconds_scale(longest: float, scale: float, y: float) -> Svg:
    step = step_for(longest, 12)
    places = [(n * step, _LEFT + n * step * scale) for n in range(floor(longest / step + 1e-9) + 1)]
    ticks = "".join(f"M{x:.2f} {y}v7" for _, x in places)
    return element(
        "g",
        drawn_line(f"M{_LEFT} {y}H{_BAR_RIGHT}{ticks}"),
        *(text_line(writing.decimal(t, 4), x, y + 21, size=style.SMALL_PX) for t, x in places),
        text_line("seconds", _RIGHT, y + 21, size=style.SMALL_PX, anchor="end"),
    )


def _row(run: ShoulderRun, needed: float) -> Row:
    return {
        "what is cut": run.what,
        "travel a turn": writing.length(run.travel_mm),
        "rev/min": _number(run.rpm),
        "room": f"{_number(run.room_mm)} mm",
        "carriage": f"{writing.decimal(run.mm_per_second, 2)} mm/s",
        "turns": writing.decimal(run.turns, 2),
        "time": _seconds(run.seconds),
        "wanted": _seconds(needed),
    }


def _number(x: object) -> str:
    return writing.decimal(x, 3)  # type: ignore[arg-type]


def _turns(run: ShoulderRun) -> str:
    said = writing.decimal(run.turns, 2)
    return f"{said} turn" if said == "1" else f"{said} turns"


def _seconds(seconds: float) -> str:
    return f"{writing.decimal(seconds, 1 if seconds >= 10 else 2)} s"
