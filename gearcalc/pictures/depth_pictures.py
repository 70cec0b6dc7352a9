"""A screw thread of 60° on the sharp triangle that it is drawn on: what H is, and how far in a rounded point goes."""

from __future__ import annotations

from math import cos, radians, sin, tan

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.cutting.depths import ThreadDepth
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import chart
from gearcalc.pictures.gears_in_mesh import Point
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.svg import Svg, arrow, bold, drawn_line, over_lines, shape, text_line, window

DEPTH_PX = (800, 420)
"""Width and height of the picture."""

_PHI = radians(30)
_TOP, _HEIGHT_PX, _FOOT = 100.0, 252.0, 390.0
_LEFT, _MIDDLE, _RIGHT = 150.0, 374.0, 598.0
_WORK = style.tint(style.SKY, 0.34)


def sharp_triangle(depth: ThreadDepth) -> Picture:
    """The profile of a metric or Unified screw, the sharp triangle H round it, and the tool's point in the groove.

    >>> from gearcalc.cutting.depths import thread_depth
    >>> print(sharp_triangle(thread_depth("M10")).caption)
    M10x1.5: H = 1.299 mm, and a point rounded to 0.217 mm goes in by 0.92 mm. To scale.

    `depth`: of thread_depth(), of a screw with 60° between its flanks (form 'ISO'), by its standard or with radius_mm.
    Raises NotPossibleError for a nut, another form, or a flat point.
    """
    if depth.form != "ISO" or depth.internal or depth.flat_mm is not None:
        raise NotPossibleError(
            f"this picture shows screws of 60°, and {depth.thread} is none, or its tool is flat",
            remedy="Take the depth of an M10 screw, by its standard or with the point's radius.",
        )
    pitch = float(depth.thread.pitch)
    height = pitch / (2 * tan(_PHI))
    radius = depth.form_radius_mm if depth.radius_mm is None else depth.radius_mm
    said = {
        "pitch P": writing.cut(pitch, depth.units),
        "H": writing.cut(height, depth.units),
        "cut off above, H/8": writing.cut(height / 8, depth.units),
        "point ρ": writing.cut(radius, depth.units),
        "depth": writing.cut(depth.depth_mm, depth.units),
    }
    caption = f"{depth.thread}: H = {said['H']}, and {depth.point} goes in by {said['depth']}. To scale."
    description = (
        f"The profile of {depth.thread}, crests above and work below. Dashed, its flanks go on until they meet: sharp "
        f"triangles as wide as the pitch, {said['pitch P']}, and H = {said['H']} high. At the crest H/8 is cut off. "
        f"In the groove lies a circle, the tool's point, of radius {said['point ρ']}: its bottom stays that far above "
        f"the sharp corner. From crest to bottom it is {said['depth']} deep."
    )
    scale = _HEIGHT_PX / height
    surface = _TOP + _HEIGHT_PX / 8
    return chart(
        DEPTH_PX,
        caption,
        description,
        [{"thread": str(depth.thread), **said}],
        window(_LEFT, _TOP - 2, _RIGHT, _FOOT, *_thread(pitch * scale, radius * scale, surface), at=(_LEFT, _TOP - 2)),
        *_measures(pitch * scale, radius * scale, surface, said),
        title=f"{depth.thread}: the sharp triangle, and how deep",
    )


def _thread(step: float, radius: float, surface: float) -> list[Svg]:
    """The work with its grooves, rounded by the point; dashed the sharp flanks."""
    tip = _TOP + _HEIGHT_PX
    corner, touch = (tip - surface) * tan(_PHI), radius * cos(_PHI)
    low = tip - radius / sin(_PHI) + radius * sin(_PHI)  # where the point leaves the flanks
    path, sharp = f"M{_LEFT} {_FOOT}V{surface:.2f}", ""
    for groove in (-1, 0, 1):
        x = _MIDDLE + groove * step
        path += f"H{x - corner:.2f}L{x - touch:.2f} {low:.2f}"
        path += f"A{radius:.2f} {radius:.2f} 0 0 0 {x + touch:.2f} {low:.2f}L{x + corner:.2f} {surface:.2f}"
        sharp += f"M{x - step / 2:.2f} {_TOP}L{x:.2f} {tip}L{x + step / 2:.2f} {_TOP}"
    middle = tip - radius / sin(_PHI)
    point = f"M{_MIDDLE - radius:.2f} {middle:.2f}a{radius:.2f} {radius:.2f} 0 1 0 {2 * radius:.2f} 0"
    point += f"a{radius:.2f} {radius:.2f} 0 1 0 {-2 * radius:.2f} 0Z"
    return [
        shape(f"{path}H{_RIGHT + step:.2f}V{_FOOT}Z", _WORK, style.INK, 1.6),
        drawn_line(sharp, style.SOFT, 1.3, "6 4"),
        shape(point, style.tint(style.ORANGE, 0.35), style.INK, 1.3) if radius else Svg(""),
        drawn_line(f"M{_MIDDLE} {surface:.2f}V{tip}", style.SOFT, 0.9, "10 3 3 3"),
        over_lines("30°", _MIDDLE + 5, surface + 60, anchor="start"),
    ]


def _measures(step: float, radius: float, surface: float, said: dict[str, str]) -> list[Svg]:
    """H at the left, the pitch above, what is cut off, the depth and the point at the right."""
    tip, left, right = _TOP + _HEIGHT_PX, _MIDDLE - step / 2, _MIDDLE + step / 2
    bottom, x = tip - radius, _RIGHT + 22
    guides = f"M{_LEFT - 34} {_TOP}H{left:.2f}M{_LEFT - 34} {tip}H{_MIDDLE}M{_MIDDLE} {bottom:.2f}H{x + 8}"
    guides += f"M{right:.2f} {_TOP}H{x + 8}M{_RIGHT} {surface:.2f}H{x + 8}"

    def measure(start: Point, end: Point, colour: str = style.BLUE) -> Svg:
        return drawn_line(arrow(start, end, both_ways=True), colour, 1.6)

    return [
        drawn_line(guides, style.SOFT, 0.9, "2 3"),
        measure((left, _TOP - 14), (right, _TOP - 14)),
        over_lines(f"pitch P = {said['pitch P']}", _MIDDLE, _TOP - 22, size=style.WORD_PX),
        measure((_LEFT - 24, _TOP), (_LEFT - 24, tip)),
        over_lines(f"H = {said['H']}", _LEFT - 34, (_TOP + tip) / 2, size=style.WORD_PX, anchor="end"),
        measure((x, _TOP), (x, surface)),
        text_line("H/8", x + 12, (_TOP + surface) / 2 + 5, size=style.WORD_PX, anchor="start"),
        measure((x, surface), (x, bottom), style.VERMILLION),
        bold(f"depth {said['depth']}", x + 12, (surface + bottom) / 2 + 5, size=style.WORD_PX),
        over_lines(f"point: ρ = {said['point ρ']}", x + 12, bottom + 5, size=style.WORD_PX, anchor="start"),
    ]
