"""Feeding: the turned surface in section under its nose."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor, log10, pi, sin, sqrt

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM
from gearcalc.cutting.turning import Finish
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import Scale, chart, round_number, ruler
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import (
    Svg,
    arrow,
    bold,
    drawn_line,
    element,
    note,
    over_lines,
    path_of,
    rect,
    shape,
    text_line,
)

PROFILE_PX = (800, 460)
"""Width and height of the picture."""

_WORK = style.tint(style.SKY, 0.34)

# The turned surface in section: the nose at its work, true to scale, and the grooves it leaves, drawn higher.

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
        f"Feed {_feed(first)}, nose radius {_nose_radius(first)}: grooves "
        f"{first.one_way(first.rt_um)} deep (Rt), Ra {first.one_way(first.ra_um)}, in theory."
    )
    description = (
        "The work in section. Above, true to scale, the rounded nose of the tool at the bottom of its groove, and "
        f"dashed where it stood one turn before, {_feed(first)} to the right. "
        f"Below, {_grooves(section)}: {_in_words(first)}."
    )
    description += "".join(f" Under them, to the same scale: {_in_words(other)}." for other in finishes[1:])
    inch = first.units == "inch"
    along = f"{'in' if inch else 'mm'} along the work"
    window = Scale(0, (_RIGHT - _LEFT) / section.scale, _LEFT, _RIGHT).over(float(INCH_MM) if inch else 1.0)
    return chart(
        PROFILE_PX,
        caption,
        description,
        [_finish_row(made) for made in finishes],
        note("The nose and the work in section, true to scale", _LEFT, _NOSE_TOP - 12),
        *_at_work(section),
        note(_grooves(section).replace("the", "The", 1), _LEFT, _GROOVES_TOP - 22),
        *_strips(section),
        ruler(window, _RULER_Y, {mm: writing.decimal(mm, 4) for mm in window.steps(9)}),
        text_line(along, _RIGHT + 16, _RULER_Y + 20, size=style.SMALL_PX, anchor="start"),
        title=f"Feed {_feed(first)} a turn, nose radius {_nose_radius(first)}",
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
        window = float(as_number(window_mm, what="the width of the sheet", most=_WIDEST_MM, above=True, unit="mm"))
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


def _at_work(section: _Section) -> list[Svg]:
    """The nose in its groove near the middle, its place one turn before, and the work."""
    made, scale = section.finishes[0], section.scale
    step, radius = float(made.feed_mm) * scale, float(made.nose_radius_mm) * scale
    middle = (_LEFT + _RIGHT) / 2 - 40
    tone = style.tint(style.ORANGE, 0.24)
    parts = [
        _profile(made, scale, 1.0, middle, _SURFACE_Y, _WORK_BOTTOM, cut_to=middle),
        shape(_nose(middle, radius), tone, style.INK, 1.4, stroke_linejoin="miter"),
    ]
    if middle + step < _RIGHT:
        before = _nose(min(middle + step, _RIGHT + radius), radius, closed=False)
        parts += [drawn_line(before, style.VERMILLION, 1.4, "5 3"), *_feed_mark(made, middle, step)]
    if radius > 26:
        parts.append(text_line("tool", middle, max(_NOSE_TOP + 16, _SURFACE_Y - min(radius * 0.9, 78))))
    parts.append(text_line("work", _RIGHT - 8, _WORK_BOTTOM - 8, anchor="end"))
    return [*parts, text_line("not yet turned", _LEFT + 8, _SURFACE_Y + 4, size=style.SMALL_PX, anchor="start")]


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


def _feed_mark(made: Finish, middle: float, step: float) -> list[Svg]:
    """How far one turn carries the tool: from where it stood to where it stands."""
    y = _WORK_BOTTOM + 2
    ends = f"M{middle:.2f} {_SURFACE_Y}V{y + 8}M{middle + step:.2f} {_SURFACE_Y}V{y + 8}"
    return [
        drawn_line(ends, width=0.9),
        drawn_line(f"M{middle:.2f} {y + 4}H{middle + step:.2f}", width=2.2),
        over_lines(f"{_feed(made)} a turn", middle + step + 8, y + 10, anchor="start"),
    ]


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
        reach = sqrt(max(0.0, radius**2 - max(0.0, radius - depth) ** 2))  # to the side, where the nose stands so high
        places = [(_LEFT, bottom - depth), (max(_LEFT, cut_to - reach), bottom - depth), *places]
    outline = path_of([(_LEFT, base), *places, (_RIGHT, base)], closed=True)
    return shape(outline, _WORK, style.INK, 1.2 if step > 12 else 0.7)


def _along(start: float, step: float) -> Iterator[float]:
    """Places along the whole sheet, in every groove close together near the ridges, where it is steep."""
    points = max(8, min(24, ceil(step / 2)))
    for groove in range(-ceil((start - _LEFT) / step) - 1, ceil((_RIGHT - start) / step) + 2):
        for n in range(points):
            yield start + groove * step + step / 2 * sin(pi * (n / points - 0.5))


def _too_fine(top: float, bottom: float, base: float) -> Svg:
    """Grooves too narrow to draw one by one: a paler band as high as they are."""
    edge = f"M{_LEFT} {top:.2f}H{_RIGHT}M{_LEFT} {bottom:.2f}H{_RIGHT}"
    return element(
        "g",
        rect(_LEFT, top, _RIGHT, bottom, style.tint(style.SKY, 0.17)),
        rect(_LEFT, bottom, _RIGHT, base, _WORK, style.INK, 0.8),
        drawn_line(edge, style.INK, 0.9, "1.5 1.5"),
        over_lines("too fine to draw one by one", _RIGHT, top - 6, anchor="end", fill=style.SOFT),
    )


def _strips(section: _Section) -> list[Svg]:
    """A strip a finish, one under the other, each with its depth, and by name where there are two."""
    parts, base = [], _GROOVES_BOTTOM
    for made in reversed(section.finishes):
        bottom, height = base - _BELOW_PX, section.heights_px(made)
        start = _LEFT + float(made.feed_mm) * section.scale / 2
        parts.append(_profile(made, section.scale, section.magnify, start, bottom, base))
        parts += _depth_mark(made, bottom, height)
        if len(section.finishes) > 1:
            name = f"feed {_feed(made)}, nose {_nose_radius(made)}"
            parts.append(over_lines(name, _LEFT, bottom - height - 6, anchor="start"))
        base = bottom - height - _APART_PX
    return parts


def _depth_mark(made: Finish, bottom: float, height: float) -> list[Svg]:
    """Rt between two lines at the right, and Ra in words under it."""
    top, x = bottom - height, _RIGHT + 16
    ends, middle = ((x, top), (x, bottom)), (top + bottom) / 2
    mark = arrow(*ends, both_ways=True, tip_px=6) if height > 16 else path_of(ends)
    return [
        drawn_line(f"M{_RIGHT} {top:.2f}H{x + 8}M{_RIGHT} {bottom:.2f}H{x + 8}", style.SOFT, 0.9),
        drawn_line(mark, style.VERMILLION, 1.8),
        bold(f"Rt {_short(made, made.rt_um)}", x + 12, middle - 1, size=14),
        text_line(f"Ra {_short(made, made.ra_um)}", x + 12, middle + 15, anchor="start"),
    ]


def _grooves(section: _Section) -> str:
    if section.magnify == 1:
        return "the grooves, as high as they are"
    return f"the grooves, their height drawn {writing.decimal(section.magnify, 1)} times as large"


def _in_words(made: Finish) -> str:
    return (
        f"feed {_feed(made)}, nose radius {_nose_radius(made)}, "
        f"depth Rt {made.one_way(made.rt_um)}, mean roughness Ra {made.one_way(made.ra_um)}"
    )


def _finish_row(made: Finish) -> Row:
    return {
        "feed a turn": _feed(made),
        "nose radius": _nose_radius(made),
        "Rt": made.one_way(made.rt_um),
        "Rt by f²/(8 ρ)": made.one_way(made.usual_rt_um),
        "Ra": made.one_way(made.ra_um),
        "Ra by f²/(32 ρ)": made.one_way(made.usual_ra_um),
    }


def _short(made: Finish, um: float) -> str:
    return made.one_way(um).replace("less than", "<")


def _feed(made: Finish) -> markup.Written:
    """The feed in the unit that is read first."""
    return (
        writing.length(made.feed_mm) if made.units == "mm" else writing.length(made.feed_mm / INCH_MM * 1000, "thou", 2)
    )


def _nose_radius(made: Finish) -> markup.Written:
    return both_units.in_own_unit(made.nose_radius_mm, made.units)
