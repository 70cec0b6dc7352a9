"""Feeding: the turned surface in section under its nose; and the tool on its way to the shoulder."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor, log10, pi, sin, sqrt

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction
from gearcalc.cutting.turning import LEAST_SECONDS, Finish, ShoulderRun
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import drawn_line, over_lines, round_number, sheet, step_for
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line

PROFILE_PX = (800, 460)
"""Width and height of the picture."""

_LEFT, _RIGHT = 30.0, 646.0
_NOSE_TOP, _SURFACE_Y, _WORK_BOTTOM = 74.0, 172.0, 200.0
_GROOVES_TOP, _GROOVES_BOTTOM = 258.0, 414.0
_APART_PX, _BELOW_PX = 34.0, 14.0  # between strips; of work under a groove
_TALLEST_PX = 128.0
_RULER_Y = 424.0
_NOSE_PX = 140.0  # the radius, where the window is left to us
_FINEST_PX = 4.0  # arcs narrower than this are drawn as plain tone
_CUT_PX = 14.0  # depth of the cut, as drawn
_MOST_STRIPS, _FEWEST_GROOVES, _WIDEST_MM = 2, 4, 1000
_EASY = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8)  # magnifications are ten times, a hundred times ... one of these
_WORK, _TOOL = style.tint(style.SKY, 0.34), style.tint(style.ORANGE, 0.24)


def turned_profile(*finishes: Finish, window_mm: float | None = None) -> Picture:
    """The nose at its work, true to scale, and under it the grooves it leaves, their height drawn many times larger.

    >>> from gearcalc.cutting.turning import finish
    >>> print(turned_profile(finish("0.2 mm/rev", 0.8)).caption)
    Feed 0.2 mm, nose radius 0.8 mm: grooves 6.27 µm deep (Rt), Ra 1.61 µm, in theory.

    `finishes`: one, or two to compare: the second is drawn under the first to the same scale. `window_mm`: how much of
    the work the sheet shows, more than 0 to 1000 mm, or more so that a few grooves fit; None: so that the nose of the
    first is easy to see.
    Raises ValueOutOfRangeError for none or more than two, and for a window that can't be shown.
    """
    if not 1 <= len(finishes) <= _MOST_STRIPS:
        raise ValueOutOfRangeError(f"this shows 1 or {_MOST_STRIPS} finishes", value=len(finishes))
    section = _section(finishes, window_mm)
    first = finishes[0]
    caption = (
        f"Feed {writing.length(first.feed_mm)}, nose radius {writing.length(first.nose_radius_mm)}: grooves "
        f"{writing.um(first.rt_um)} deep (Rt), Ra {writing.um(first.ra_um)}, in theory."
    )
    description = (
        "The work in section. Above, true to scale, the rounded nose of the tool at the bottom of its groove, and "
        f"dashed where it stood one turn before, {writing.length(first.feed_mm)} to the right. "
        f"Below, {_grooves(section)}: {_in_words(first)}."
    )
    description += "".join(f" Under them, to the same scale: {_in_words(other)}." for other in finishes[1:])
    return Picture(
        _nose_drawn(section, caption, description), description, [_finish_row(made) for made in finishes], caption
    )


@frozen
class _Section:
    """What is drawn and how large: px for a mm along the work, and how many times taller heights are drawn."""

    finishes: tuple[Finish, ...]
    scale: float
    magnify: float

    def heights_px(self, made: Finish) -> float:
        """Depth of the grooves as drawn."""
        return made.rt_um / 1000 * self.scale * self.magnify


def _section(finishes: tuple[Finish, ...], window_mm: object) -> _Section:
    width, first = _RIGHT - _LEFT, finishes[0]
    window = width / _NOSE_PX * float(first.nose_radius_mm)
    if window_mm is not None:
        window = float(as_fraction(window_mm, what="the width of the sheet"))
        if not 0 < window <= _WIDEST_MM:
            raise ValueOutOfRangeError(f"the sheet shows over 0 to {_WIDEST_MM} mm of the work", value=window_mm)
    window = max(window, _FEWEST_GROOVES * max(float(made.feed_mm) for made in finishes))
    room = _GROOVES_BOTTOM - _GROOVES_TOP - len(finishes) * _BELOW_PX - (len(finishes) - 1) * (_APART_PX + 12)
    together = sum(made.rt_um for made in finishes) / 1000 * width / window
    times = min(room, _TALLEST_PX) / together
    return _Section(finishes, width / window * min(times, 1.0), _easy_number(times))


def _easy_number(times: float) -> float:
    """The largest magnification that is easy to say and no more than this, 1 at least."""
    decade = round_number(times) if times >= 1 else 1.0
    easy = [mantissa * 10 ** floor(log10(decade)) for mantissa in _EASY]
    return max((number for number in easy if number <= times * (1 + 1e-12)), default=1.0)


def _nose_drawn(section: _Section, caption: str, description: str) -> Svg:
    first = section.finishes[0]
    title = f"Feed {writing.length(first.feed_mm)} a turn, nose radius {writing.length(first.nose_radius_mm)}"
    return sheet(
        PROFILE_PX,
        caption,
        description,
        text_line(title, 24, 38, size=15, anchor="start", font_weight="bold"),
        _heading("The nose and the work in section, true to scale", _NOSE_TOP - 12),
        _at_work(section),
        _heading(_grooves(section).replace("the", "The", 1), _GROOVES_TOP - 22),
        *_strips(section),
        _ruler(section),
    )


def _heading(words: str, y: float) -> Svg:
    return text_line(words, _LEFT, y, size=style.WORD_PX, anchor="start", fill=style.SOFT)


def _at_work(section: _Section) -> Svg:
    """The nose in its groove near the middle, its place one turn before, and the work."""
    made, scale = section.finishes[0], section.scale
    step, radius = float(made.feed_mm) * scale, float(made.nose_radius_mm) * scale
    middle = (_LEFT + _RIGHT) / 2 - 40
    surface = _profile(made, scale, 1.0, middle, _SURFACE_Y, _WORK_BOTTOM, cut_to=middle)
    nose = _nose(middle, radius)
    before = _nose(min(middle + step, _RIGHT + radius), radius, closed=False)
    labels = [
        text_line("tool", middle, max(_NOSE_TOP + 16, _SURFACE_Y - min(radius * 0.9, 78)), size=style.WORD_PX)
        if radius > 26
        else Svg(""),
        text_line("work", _RIGHT - 8, _WORK_BOTTOM - 8, size=style.WORD_PX, anchor="end"),
        text_line("not yet turned", _LEFT + 8, _SURFACE_Y + 4, size=style.SMALL_PX, anchor="start"),
    ]
    return element(
        "g",
        surface,
        element("path", d=Svg(nose), fill=_TOOL, stroke=style.INK, stroke_width=1.4),
        drawn_line(before, style.VERMILLION, 1.4, "5 3") if middle + step < _RIGHT else Svg(""),
        _feed_mark(made, middle, step),
        *labels,
    )


def _nose(x: float, radius: float, *, closed: bool = True) -> str:
    """The lower part of a circle that touches the bottom of the groove at x, cut off at the top of the panel."""
    height = min(_SURFACE_Y - _NOSE_TOP, radius)
    half = sqrt(max(0.0, radius**2 - (radius - height) ** 2))
    left, right = max(x - half, _LEFT), min(x + half, _RIGHT)

    def y(at: float) -> float:
        return _SURFACE_Y - (radius - sqrt(max(0.0, radius**2 - (at - x) ** 2)))

    arc = f"M{left:.2f} {y(left):.2f}A{radius:.2f} {radius:.2f} 0 0 0 {right:.2f} {y(right):.2f}"
    if not closed:
        return arc
    # Beyond the round part the flanks of the tool go straight up.
    return f"{arc}V{_NOSE_TOP}H{left:.2f}Z"


def _feed_mark(made: Finish, middle: float, step: float) -> Svg:
    """How far one turn carries the tool: from where it stood to where it stands."""
    if middle + step > _RIGHT:
        return Svg("")
    y = _WORK_BOTTOM + 2
    ends = f"M{middle:.2f} {_SURFACE_Y}V{y + 8}M{middle + step:.2f} {_SURFACE_Y}V{y + 8}"
    words = f"{writing.length(made.feed_mm)} a turn"
    return element(
        "g",
        drawn_line(ends, style.INK, 0.9),
        drawn_line(f"M{middle:.2f} {y + 4}H{middle + step:.2f}", style.INK, 2.2),
        over_lines(words, middle + step + 8, y + 10, size=style.SMALL_PX, anchor="start"),
    )


def _profile(
    made: Finish, scale: float, magnify: float, start: float, bottom: float, base: float, cut_to: float | None = None
) -> Svg:
    """Work under its profile: a groove's bottom at x = `start`, y = `bottom`; left of `cut_to` it isn't turned yet."""
    step, radius = float(made.feed_mm) * scale, float(made.nose_radius_mm) * scale
    top = bottom - made.rt_um / 1000 * scale * magnify
    if step < _FINEST_PX and cut_to is None:
        return _too_fine(top, bottom, base)

    def at(x: float) -> tuple[float, float]:
        off = (((x - start) / step + 0.5) % 1 - 0.5) * step
        return x, bottom - magnify * (radius - sqrt(max(0.0, radius**2 - off**2)))

    begin = _LEFT if cut_to is None else cut_to
    inside = [x for x in _along(start, step) if begin < x < _RIGHT]
    places = [at(x) for x in (begin, *inside, _RIGHT)]
    if cut_to is not None:
        depth = max(_CUT_PX, bottom - top + 4)
        places = [(_LEFT, bottom - depth), (max(_LEFT, cut_to - _reach(radius, depth)), bottom - depth), *places]
    line = "L".join(f"{x:.2f} {y:.2f}" for x, y in places)
    outline = f"M{_LEFT} {base}L{line}V{base}Z"
    width = 1.2 if step > 12 else 0.7
    return element("path", d=Svg(outline), fill=_WORK, stroke=style.INK, stroke_width=width, stroke_linejoin="round")


def _along(start: float, step: float) -> Iterator[float]:
    """Places along the whole sheet, in every groove close together near the ridges, where it is steep."""
    points = max(8, min(24, ceil(step / 2)))
    for groove in range(-ceil((start - _LEFT) / step) - 1, ceil((_RIGHT - start) / step) + 2):
        for n in range(points):
            yield start + groove * step + step / 2 * sin(pi * (n / points - 0.5))


def _too_fine(top: float, bottom: float, base: float) -> Svg:
    """Grooves too narrow to draw one by one: a paler band as high as they are."""
    band = element("rect", x=_LEFT, y=top, width=_RIGHT - _LEFT, height=bottom - top, fill=style.tint(style.SKY, 0.17))
    edge = f"M{_LEFT} {top:.2f}H{_RIGHT}M{_LEFT} {bottom:.2f}H{_RIGHT}"
    solid = f"M{_LEFT} {bottom:.2f}H{_RIGHT}V{base}H{_LEFT}Z"
    words = "too fine to draw one by one"
    return element(
        "g",
        band,
        element("path", d=Svg(solid), fill=_WORK, stroke=style.INK, stroke_width=0.8),
        drawn_line(edge, style.INK, 0.9, "1.5 1.5"),
        over_lines(words, _RIGHT, top - 6, size=style.SMALL_PX, anchor="end", fill=style.SOFT),
    )


def _reach(radius: float, height: float) -> float:
    """How far to the side of its lowest point the nose stands so high."""
    return sqrt(max(0.0, radius**2 - max(0.0, radius - height) ** 2))


def _strips(section: _Section) -> list[Svg]:
    """A strip a finish, one under the other, each with its depth."""
    strips, base = [], _GROOVES_BOTTOM
    for made in reversed(section.finishes):
        strips.append(_strip(section, made, base - _BELOW_PX, base, named=len(section.finishes) > 1))
        base -= _BELOW_PX + section.heights_px(made) + _APART_PX
    return strips


def _strip(section: _Section, made: Finish, bottom: float, base: float, *, named: bool) -> Svg:
    height = section.heights_px(made)
    start = _LEFT + float(made.feed_mm) * section.scale / 2
    parts = [_profile(made, section.scale, section.magnify, start, bottom, base)]
    parts.append(_depth_mark(made, bottom, height))
    if named:
        name = f"feed {writing.length(made.feed_mm)}, nose {writing.length(made.nose_radius_mm)}"
        parts.append(over_lines(name, _LEFT, bottom - height - 6, size=style.SMALL_PX, anchor="start"))
    return element("g", *parts)


def _depth_mark(made: Finish, bottom: float, height: float) -> Svg:
    """Rt between two lines at the right, and Ra in words under it."""
    top, x = bottom - height, _RIGHT + 16
    lines = f"M{_RIGHT} {top:.2f}H{x + 8}M{_RIGHT} {bottom:.2f}H{x + 8}"
    middle = (top + bottom) / 2
    arrow = f"M{x} {top:.2f}V{bottom:.2f}"
    if height > 16:
        arrow += f"M{x - 3} {top + 6:.2f}L{x} {top:.2f}L{x + 3} {top + 6:.2f}"
        arrow += f"M{x - 3} {bottom - 6:.2f}L{x} {bottom:.2f}L{x + 3} {bottom - 6:.2f}"
    return element(
        "g",
        drawn_line(lines, style.SOFT, 0.9),
        drawn_line(arrow, style.VERMILLION, 1.8),
        text_line(f"Rt {_short(made.rt_um)}", x + 12, middle - 1, size=14, anchor="start", font_weight="bold"),
        text_line(f"Ra {_short(made.ra_um)}", x + 12, middle + 15, size=style.WORD_PX, anchor="start"),
    )


def _ruler(section: _Section) -> Svg:
    window = (_RIGHT - _LEFT) / section.scale
    step = step_for(window, 9)
    ticks, words = [], []
    for n in range(int(window / step + 1e-9) + 1):
        x = _LEFT + n * step * section.scale
        ticks.append(f"M{x:.2f} {_RULER_Y}v6")
        words.append(text_line(writing.decimal(n * step, 4), x, _RULER_Y + 20, size=style.SMALL_PX))
    unit = text_line("mm along the work", _RIGHT + 16, _RULER_Y + 20, size=style.SMALL_PX, anchor="start")
    return element("g", drawn_line(f"M{_LEFT} {_RULER_Y}H{_RIGHT}" + "".join(ticks), style.INK, 1.0), *words, unit)


def _grooves(section: _Section) -> str:
    if section.magnify == 1:
        return "the grooves, as high as they are"
    return f"the grooves, their height drawn {writing.decimal(section.magnify, 1)} times as large"


def _in_words(made: Finish) -> str:
    return (
        f"feed {writing.length(made.feed_mm)}, nose radius {writing.length(made.nose_radius_mm)}, "
        f"depth Rt {writing.um(made.rt_um)}, mean roughness Ra {writing.um(made.ra_um)}"
    )


def _finish_row(made: Finish) -> Row:
    return {
        "feed a turn": writing.length(made.feed_mm),
        "nose radius": writing.length(made.nose_radius_mm),
        "Rt": writing.um(made.rt_um),
        "Rt by f²/(8 r)": writing.um(made.usual_rt_um),
        "Ra": writing.um(made.ra_um),
        "Ra by f²/(32 r)": writing.um(made.usual_ra_um),
    }


def _short(um: float) -> str:
    return writing.um(um).replace("less than", "<")


# The tool on its way to the shoulder: the groove with its turns counted off, and the seconds that they take.


SHOULDER_PX = (800, 400)
"""Width and height of the picture."""

_START, _END = 40.0, 760.0
_SHOULDER_TOP, _CREST, _ROOT, _AXIS = 92.0, 122.0, 150.0, 206.0
_GROOVE_LEFT, _LONGEST_PX = 170.0, 350.0
_NARROWEST_SHEET_MM = 5.0
_DEEPEST_PX = 26.0
_FINEST_PITCH_PX = 4.0
_CLOSEST_PX, _NAMED_PX = 5.0, 34.0  # between the marks of turns; between their numbers
_BAR_TOP, _BAR_PX = 300.0, 26.0
_BAR_RIGHT = 700.0
_STEEL = style.tint(style.ORANGE, 0.3)
_TOO_SHORT, _ENOUGH = style.tint(style.VERMILLION, 0.5), style.tint(style.BLUE, 0.3)


def shoulder_picture(run: ShoulderRun, needed_s: float = LEAST_SECONDS) -> Picture:
    """The tool before the groove, each turn across it marked, and the time beside the time that is wanted.

    >>> from gearcalc.cutting.turning import time_to_shoulder
    >>> print(shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5)).caption)
    1.5 mm at 100 rev/min: 4.5 mm to the shoulder is 3 turns, 1.8 s.

    `run`: from time_to_shoulder(); `needed_s`: seconds wanted for hand and eye, more than 0.
    """
    caption = (
        f"{run.what} at {_number(run.rpm)} rev/min: {_number(run.room_mm)} mm to the shoulder is "
        f"{writing.turns(float(run.turns))}, {writing.seconds(run.seconds)}."
    )
    enough = run.seconds >= needed_s
    between = ("a groove of", "the thread") if run.starts else ("still to be turned,", "what is turned")
    description = (
        f"A bar in section with a shoulder at the left, {between[0]} {_number(run.room_mm)} mm beside it and "
        f"{between[1]} to the right, where the tool stands; it goes to the left. The turns of the spindle are marked "
        f"on the way: {writing.turns(float(run.turns))}. A bar beneath shows {writing.seconds(run.seconds)}, which is "
        f"{'enough' if enough else 'too short'}: {writing.seconds(needed_s)} are wanted."
    )
    return Picture(
        _shoulder_drawn(run, float(needed_s), caption, description), description, [_run_row(run, needed_s)], caption
    )


def _shoulder_drawn(run: ShoulderRun, needed: float, caption: str, description: str) -> Svg:
    title = f"{run.what} at {_number(run.rpm)} rev/min: {writing.seconds(run.seconds)} to the shoulder"
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
        top, cut, middle_word, right_word = _CREST, f"V{_ROOT}H{_END}", "still to be turned", "turned"
    outline = f"M{_START} {_AXIS}V{_SHOULDER_TOP}H{_GROOVE_LEFT}V{top}H{right:.2f}{cut}V{_AXIS}Z"
    y = _ROOT + 26
    words = [
        over_lines("shoulder", _START + 12, _SHOULDER_TOP + 40, size=style.WORD_PX, anchor="start"),
        over_lines(middle_word, (_GROOVE_LEFT + right) / 2, y, size=style.WORD_PX),
        over_lines(right_word, _END - 12, y, size=style.WORD_PX, anchor="end"),
    ]
    return element(
        "g",
        element("path", d=Svg(outline), fill=_WORK, stroke=style.INK, stroke_width=1.3, stroke_linejoin="round"),
        drawn_line(f"M{_START - 14} {_AXIS}H{_END + 14}", style.SOFT, 0.9, "14 4 3 4"),
        *words,
    )


def _thread(run: ShoulderRun, left: float) -> str:
    """The edge of the thread from the groove to the end of the bar, crests a pitch apart."""
    step = float(run.travel_mm) / run.starts * _scale(run)
    if step < _FINEST_PITCH_PX:
        return f"V{_CREST}H{_END}"
    depth = min(0.6134 * step, _DEEPEST_PX)
    corners = [f"L{left:.2f} {_CREST + depth:.2f}"]
    halves = (_END - left) / (step / 2)
    for n in range(1, floor(halves) + 1):
        corners.append(f"L{left + n * step / 2:.2f} {_CREST + depth * ((n + 1) % 2):.2f}")
    rest = halves % 1
    last = rest if floor(halves) % 2 else 1 - rest
    return "".join(corners) + f"L{_END} {_CREST + depth * last:.2f}"


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
    measure = f"{_number(run.room_mm)} mm, {writing.turns(float(run.turns))} of the spindle"
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
    scale = (_BAR_RIGHT - _START) / longest
    end, line = _START + run.seconds * scale, _START + needed * scale
    enough = run.seconds >= needed
    foot = _BAR_TOP + _BAR_PX
    tone = _ENOUGH if enough else _TOO_SHORT
    bar = element(
        "rect", x=_START, y=_BAR_TOP, width=end - _START, height=_BAR_PX, fill=tone, stroke=style.INK, stroke_width=1.2
    )
    return element(
        "g",
        bar,
        drawn_line(f"M{line:.2f} {_BAR_TOP - 16}V{foot + 6}", style.INK, 2.0, "6 3"),
        _wanted_words(needed, line),
        _said_words(f"{writing.seconds(run.seconds)}, {'enough' if enough else 'too short'}", end, line),
        _seconds_scale(longest, scale, foot + 16),
    )


def _wanted_words(needed: float, line: float) -> Svg:
    words = f"{writing.seconds(needed)} wanted"
    to_right = line + style.text_width_px(words, style.WORD_PX) + 12 < _END
    x, anchor = (line + 6, "start") if to_right else (line - 6, "end")
    return over_lines(words, x, _BAR_TOP - 8, size=style.WORD_PX, anchor=anchor)


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


def _seconds_scale(longest: float, scale: float, y: float) -> Svg:
    step = step_for(longest, 12)
    places = [(n * step, _START + n * step * scale) for n in range(floor(longest / step + 1e-9) + 1)]
    ticks = "".join(f"M{x:.2f} {y}v7" for _, x in places)
    return element(
        "g",
        drawn_line(f"M{_START} {y}H{_BAR_RIGHT}{ticks}"),
        *(text_line(writing.decimal(t, 4), x, y + 21, size=style.SMALL_PX) for t, x in places),
        text_line("seconds", _END, y + 21, size=style.SMALL_PX, anchor="end"),
    )


def _run_row(run: ShoulderRun, needed: float) -> Row:
    return {
        "what is cut": run.what,
        "travel a turn": writing.length(run.travel_mm),
        "rev/min": _number(run.rpm),
        "room": f"{_number(run.room_mm)} mm",
        "carriage": f"{writing.decimal(run.mm_per_second, 2)} mm/s",
        "turns": writing.decimal(run.turns, 2),
        "time": writing.seconds(run.seconds),
        "wanted": writing.seconds(needed),
    }


def _number(x: object) -> str:
    return writing.decimal(x, 3)  # type: ignore[arg-type]
