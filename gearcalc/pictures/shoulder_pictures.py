"""The tool on its way to the shoulder: the groove with its turns counted off, and the seconds that they take."""

from __future__ import annotations

from math import ceil, floor

from gearcalc.basics import both_units, writing
from gearcalc.cutting.turning import LEAST_SECONDS, ShoulderRun
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import Scale, chart, round_number, ruler
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, arrow, drawn_line, over_lines, path_of, rect, shape, text_line
from gearcalc.pictures.thread_profiles import FINEST_PX, crests, profile

SHOULDER_PX = (800, 416)
"""Width and height of the picture."""
_WORK = style.tint(style.SKY, 0.34)
_START, _END = 40.0, 760.0
_AXIS, _SHOULDER, _CREST, _ROOT = 176.0, 80.0, 54.0, 28.0  # where the bar lies; how far its edges are from there
_GROOVE_LEFT, _LONGEST_PX = 170.0, 350.0
_NARROWEST_SHEET_MM = 5.0
_DEEPEST_PX = 24.0
_CHUCK = f"M14 {_AXIS - 108}H40V{_AXIS + 108}H14Z" + "".join(
    f"M40 {_AXIS + side * _SHOULDER}H92v{side * 13}H76v{side * 11}H40Z" for side in (-1, 1)
)
_CLOSEST_PX, _NAMED_PX = 5.0, 34.0  # between the marks of turns; between their numbers
_BAR_TOP, _BAR_PX = 318.0, 26.0
_BAR_RIGHT = 700.0


def shoulder_picture(run: ShoulderRun, needed_s: float = LEAST_SECONDS) -> Picture:
    """The bar in the chuck, the tool before the groove, its turns marked, and the time beside the time wanted.

    >>> from gearcalc.cutting.turning import time_to_shoulder
    >>> print(shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5)).caption)
    1.5 mm at 100 rev/min: 4.5 mm to the shoulder is 3 turns, 1.8 s.

    `run`: from time_to_shoulder(); `needed_s`: seconds wanted for hand and eye, more than 0.
    """
    caption = (
        f"{run.what} at {writing.decimal(run.rpm, 3)} rev/min: {run.room_in_words} to the shoulder is "
        f"{writing.turns(float(run.turns))}, {writing.seconds(run.seconds)}."
    )
    enough = run.seconds >= needed_s
    between = ("a groove of", "the thread") if run.starts else ("still to be turned,", "what is turned")
    description = (
        f"A bar in a chuck with a shoulder at the left, {between[0]} {run.room_in_words} beside it and "
        f"{between[1]} to the right, where the tool stands; it goes to the left. The turns of the spindle are marked "
        f"on the way: {writing.turns(float(run.turns))}. A bar beneath shows {writing.seconds(run.seconds)}, which is "
        f"{'enough' if enough else 'too short'}: {writing.seconds(needed_s)} are wanted, and a dashed line on the way "
        "marks where the tool is so long before the shoulder."
    )
    right = _GROOVE_LEFT + float(run.room_mm) * _scale(run)
    return chart(
        SHOULDER_PX,
        caption,
        description,
        [_run_row(run, needed_s)],
        *_bar_of_work(run, right),
        *_turns_marked(run, right),
        *_tool(run, right, float(needed_s)),
        *_names(run, right),
        *_clock(run, float(needed_s)),
        title=f"{run.what} at {writing.decimal(run.rpm, 3)} rev/min: {writing.seconds(run.seconds)} to the shoulder",
    )


def _scale(run: ShoulderRun) -> float:
    """Pixels to a millimetre: a round number of mm fills the place of the groove, 5 at least."""
    return _LONGEST_PX / max(_NARROWEST_SHEET_MM, round_number(float(run.room_mm), up=True))


def _bar_of_work(run: ShoulderRun, right: float) -> list[Svg]:
    """The bar in the chuck: shoulder, groove and thread, or what is still to be turned; and its centre line.

    Half a turn round from one edge to the other a crest stands half a lead on.
    """
    left, lines = _GROOVE_LEFT, Svg("M0 0")
    if run.starts:
        step, lean = float(run.travel_mm) / run.starts * _scale(run), run.starts / 2
        above = [(right, -_ROOT), *crests(right, _END, step, -_CREST, _DEEPEST_PX, 0.5)]
        below = [(right, _ROOT), *crests(right, _END, step, _CREST, -_DEEPEST_PX, (0.5 + lean) % 1)]
        lines, bar = _crests_seen(right, step, lean), _ROOT
    else:
        bar = _CREST
        above, below = ([(right, side * _CREST), (right, side * _ROOT), (_END, side * _ROOT)] for side in (-1, 1))
    corners = [(_START, -_SHOULDER), (left, -_SHOULDER), (left, -bar), *above]
    corners += [*reversed(below), (left, bar), (left, _SHOULDER), (_START, _SHOULDER)]
    light = [(_START, left, _SHOULDER), (left, right, bar), (right, _END, _ROOT)]
    return [
        shape(path_of([(x, _AXIS + y) for x, y in corners], closed=True), _WORK, style.INK, 1.3),
        *(rect(a, _AXIS - 0.6 * r, b, _AXIS - 0.25 * r, fill_opacity=0.55) for a, b, r in light),
        drawn_line(lines, style.SOFT, 0.7),
        shape(_CHUCK, style.DARK_STEEL, style.INK),
        drawn_line(f"M10 {_AXIS}H{_END + 14}", style.SOFT, 0.9, "14 4 3 4"),
    ]


def _names(run: ShoulderRun, right: float) -> list[Svg]:
    """What each part of the bar is, where there is room for the word."""
    named = ("still to be turned", "turned")
    if run.starts:
        deep = profile(60)[0] * float(run.travel_mm) / run.starts * _scale(run) <= _DEEPEST_PX
        named = ("groove", "thread" if deep else "thread, not to its full depth")
    y, parts = _AXIS + 20, [("shoulder", (_START + _GROOVE_LEFT) / 2, "middle"), (named[1], _END - 12, "end")]
    if style.text_width_px(named[0], style.WORD_PX) < right - _GROOVE_LEFT:
        parts.append((named[0], (_GROOVE_LEFT + right) / 2, "middle"))
    return [over_lines(words, x, y, size=style.WORD_PX, anchor=anchor) for words, x, anchor in parts]


def _crests_seen(right: float, step: float, lean: float) -> Svg:
    """The crests on the side that is seen, from edge to edge, as far as the bar goes; none where they run together."""
    lines = "M0 0"
    for n in range(-ceil(lean), floor((_END - right) / step) + 1 if step >= FINEST_PX else 0):
        ends = [(right + (n + 0.5 + lean * down) * step, down) for down in (0.0, 1.0)]
        a, b = (min(max((edge - ends[0][0]) / (lean * step), 0.0), 1.0) for edge in (right, _END))
        if b > a:
            (x, y), (to_x, to_y) = ((ends[0][0] + at * lean * step, _AXIS + (2 * at - 1) * _CREST) for at in (a, b))
            lines += f"M{x:.2f} {y:.2f}L{to_x:.2f} {to_y:.2f}"
    return Svg(lines)


def _tool(run: ShoulderRun, right: float, needed: float) -> list[Svg]:
    """The tool where the groove begins, which way it goes, and where it is so many seconds before the shoulder."""
    tip, foot = _AXIS + _ROOT + 3, _AXIS + _SHOULDER + 24
    parts = [
        shape(f"M{right:.2f} {tip}l-14 25V{foot}h28V{tip + 25}Z", style.tint(style.ORANGE, 0.75), style.INK, 1.3),
        drawn_line(arrow((right - 24, foot - 8), (right - 84, foot - 8), tip_px=9), width=1.8),
        over_lines("tool", right + 22, foot - 4, size=style.WORD_PX, anchor="start"),
    ]
    x, words = _GROOVE_LEFT + needed * float(run.mm_per_second) * _scale(run), f"{writing.seconds(needed)} to go"
    if x > _END:
        return parts
    to_left = x - _GROOVE_LEFT > style.text_width_px(words, style.WORD_PX) + 12
    y, at, anchor = _AXIS + _SHOULDER - 12, x - 6 if to_left else x + 6, "end" if to_left else "start"
    mark = drawn_line(f"M{x:.2f} {_AXIS - _ROOT - 6}V{y + 4}", style.VERMILLION, 2.0, "6 3")
    return [mark, *parts, over_lines(words, at, y, size=style.WORD_PX, anchor=anchor)]


def _turns_marked(run: ShoulderRun, right: float) -> list[Svg]:
    """A tick for every turn across the groove, from the thread to the shoulder, and the measure of the groove."""
    y, step = _AXIS - (_ROOT if run.starts else _CREST) - 15, float(run.travel_mm) * _scale(run)
    every, named = (max(1, round(round_number(max(1.0, least / step), up=True))) for least in (_CLOSEST_PX, _NAMED_PX))
    whole, measure = (floor(run.turns + 1e-9), f"{run.room_in_words}, {writing.turns(float(run.turns))} of the spindle")
    ticks = "".join(f"M{right - n * step:.2f} {y}v9" for n in range(0, whole + 1, every))
    return [
        drawn_line(f"M{_GROOVE_LEFT} {y}H{right:.2f}M{_GROOVE_LEFT} {y}v9{ticks}", width=1.2),
        *(over_lines(str(n), right - n * step, y - 5) for n in range(named, whole + 1, named)),
        text_line(measure, right + 14, _AXIS - _CREST - 11, anchor="start")
        if right + 14 + style.text_width_px(measure, style.WORD_PX) < _END + 14
        else text_line(measure, _END, _AXIS - _SHOULDER - 8, anchor="end"),
    ]


def _clock(run: ShoulderRun, needed: float) -> list[Svg]:
    """The seconds as a bar, a line at the seconds that are wanted, and their scale."""
    seconds = Scale(0, max(run.seconds, needed) * 1.15, _START, _BAR_RIGHT)
    end, line, foot = seconds.at(run.seconds), seconds.at(needed), _BAR_TOP + _BAR_PX
    words, enough = f"{writing.seconds(needed)} wanted", run.seconds >= needed
    to_right = line + style.text_width_px(words, style.WORD_PX) + 12 < _END
    off, anchor = (6, "start") if to_right else (-6, "end")
    tone = style.tint(style.BLUE, 0.3) if enough else style.tint(style.VERMILLION, 0.5)
    return [
        rect(_START, _BAR_TOP, end, foot, tone, style.INK),
        drawn_line(f"M{line:.2f} {_BAR_TOP - 16}V{foot + 6}", style.INK, 2.0, "6 3"),
        over_lines(words, line + off, _BAR_TOP - 8, size=style.WORD_PX, anchor=anchor),
        _said_words(f"{writing.seconds(run.seconds)}, {'enough' if enough else 'too short'}", end, line),
        ruler(seconds, foot + 16, {t: writing.decimal(t, 4) for t in seconds.steps(12)}, 7, 21),
        text_line("seconds", _END, foot + 37, size=style.SMALL_PX, anchor="end"),
    ]


def _said_words(words: str, end: float, line: float) -> Svg:
    """In the bar where it is long enough, else beside it, clear of the line."""
    width = style.text_width_px(words, 15) + 16
    if end - _START > width:
        x, anchor = end - 10, "end"
    elif not end - 4 < line < end + width:
        x, anchor = end + 10, "start"
    else:
        x, anchor = line + 10, "start"
    return over_lines(words, x, _BAR_TOP + 19, size=15, anchor=anchor, font_weight="bold")


def _run_row(run: ShoulderRun, needed: float) -> Row:
    return {
        "what is cut": run.what,
        "travel a turn": both_units.travel(run.travel_mm, run.units),
        "rev/min": writing.decimal(run.rpm, 3),
        "room": run.room_in_words,
        "carriage": f"{both_units.reading(run.mm_per_second, run.units)}/s",
        "turns": writing.decimal(run.turns, 2),
        "time": writing.seconds(run.seconds),
        "wanted": writing.seconds(needed),
    }
