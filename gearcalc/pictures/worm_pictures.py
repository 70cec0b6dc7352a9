"""A worm under its wheel: one step from tooth to tooth round the pitch circle is one pitch along the worm."""

from __future__ import annotations

from math import cos, pi, radians, sin

from gearcalc.basics.arguments import as_teeth
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import chart
from gearcalc.pictures.gears_in_mesh import DEDENDUM, Point, gear_outline
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, over_lines, path_of, rect, shape
from gearcalc.pictures.thread_profiles import crests

_SIZE = (800, 376)
_WHEEL_X, _PITCH_Y = 292.0, 286.0  # of the wheel, and where its pitch circle touches the worm
_PITCH_RADIUS_PX = 110.0
_WORM = (92.0, 492.0)
_WORDS_X = 536.0
_FLANKS_DEG = 40.0
_STRONG_PX = 5.0


def worm_and_wheel(teeth: int = 20) -> Picture:
    """A worm and the wheel that it turns, with the pitch circle, its diameter d, and the pitch P on both.

    >>> worm_and_wheel(20).caption
    'A worm and its wheel of 20 teeth: P round the pitch circle is P along the worm.'

    `teeth`: of the wheel, 18 to 36. Raises ValueOutOfRangeError for other numbers.
    """
    teeth = as_teeth(teeth, what="the wheel", fewest=18, most=36)
    caption = f"A worm and its wheel of {teeth} teeth: P round the pitch circle is P along the worm."
    description = (
        f"A wheel of {teeth} teeth stands on a worm, a screw seen from the side. A broken line is the wheel's pitch "
        f"circle, d across. The step P from one tooth to the next along the circle is as long as the step "
        f"P from thread to thread along the worm. Round the wheel it goes {teeth} times."
    )
    table = [
        {"part": "pitch circle", "what it is": "the wheel rolls on it along the worm", "size": "d across"},
        {"part": "wheel", "what it is": f"{teeth} teeth, P from each to the next", "size": f"{teeth} × P round"},
        {"part": "worm", "what it is": "a screw with one start", "size": "pitch P"},
    ]
    module = 2 * _PITCH_RADIUS_PX / teeth
    return chart(_SIZE, caption, description, table, _wheel(teeth, module), _worm(module), _words(teeth))


def _at(bearing_deg: float, radius: float = _PITCH_RADIUS_PX) -> Point:
    angle = radians(bearing_deg)
    return _WHEEL_X + radius * cos(angle), _PITCH_Y - _PITCH_RADIUS_PX - radius * sin(angle)


def _wheel(teeth: int, module: float) -> Svg:
    """The wheel, a tooth straight down; its pitch circle, diameter, and one step at the top."""
    x0, y0 = _at(0, 0)
    outline = [(x0 + x, y0 - y) for x, y in gear_outline(teeth, module, backlash_mm=0.1 * module, turned_deg=270)]
    top = 90 + (teeth % 2) * 180 / teeth
    step = [_at(top + 360 / teeth * k / 8) for k in range(9)]
    (left, level), (right, _) = _at(180), _at(0)
    name = _at(top + 180 / teeth, _PITCH_RADIUS_PX + module + 10)
    return element(
        "g",
        shape(path_of(outline, closed=True), style.LOOKS["driven"].fill, style.INK),
        disc(x0, y0, _PITCH_RADIUS_PX, "none", style.SOFT, 1.2, stroke_dasharray="9 3 2 3"),
        drawn_line(path_of([(left, level), (right, level)]) + f"M{left} {level - 6}v12M{right:.2f} {level - 6}v12"),
        over_lines("d", x0, level - 8, size=style.NUMBER_PX, font_style="italic"),
        disc(x0, y0, 4, style.INK),
        drawn_line(path_of(step), style.BLUE, _STRONG_PX),
        over_lines("P", *name, size=style.NUMBER_PX, font_style="italic"),
    )


def _worm(module: float) -> Svg:
    """The worm in section along its axis, a groove under the tooth that points down."""
    (left, right), pitch = _WORM, pi * module
    low, high = _PITCH_Y - module, _PITCH_Y + (2.5 + 2 * DEDENDUM) * module
    phase = ((_WHEEL_X - left) / pitch - 0.5) % 1
    above = crests(left, right, pitch, low, high, phase, angle_deg=_FLANKS_DEG)
    below = crests(left, right, pitch, high, -high, (phase + 0.5) % 1, angle_deg=_FLANKS_DEG)
    middle, half = (low + high) / 2, 0.8 * module
    start, end = _WHEEL_X + pitch / 2, _WHEEL_X + 3 * pitch / 2
    return element(
        "g",
        rect(left - 30, middle - half, right + 30, middle + half, style.STEEL, style.INK),
        shape(path_of([*above, *reversed(below)], closed=True), style.LOOKS["driver"].fill, style.INK),
        drawn_line(f"M{left} {_PITCH_Y}H{right}", style.SOFT, 1.2, "9 3 2 3"),
        drawn_line(f"M{start:.2f} {_PITCH_Y}H{end:.2f}", style.BLUE, _STRONG_PX),
        over_lines("P", (start + end) / 2, _PITCH_Y + 24, size=style.NUMBER_PX, font_style="italic"),
    )


def _words(teeth: int) -> Svg:
    lines = (
        (bold, f"wheel, {teeth} teeth", 92),
        (note, "the broken line is its pitch circle,", 114),
        (note, "d across", 132),
        (bold, "worm", 262),
        (note, "a screw that turns the wheel:", 284),
        (note, "one turn of it, one tooth on", 302),
        (bold, "both steps P are equally long", 190),
    )
    key = drawn_line(f"M{_WORDS_X} 164h36", style.BLUE, _STRONG_PX)
    return element("g", key, *(draw(words, _WORDS_X, y) for draw, words, y in lines))
