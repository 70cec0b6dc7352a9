"""Why an error of pitch is felt as thickness: flanks that press at both ends of a nut, and the triangle of cot φ."""

from __future__ import annotations

from collections.abc import Iterator
from math import radians, tan

from gearcalc.basics import writing
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import chart
from gearcalc.pictures.gears_in_mesh import Point
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, drawn_line, note, over_lines, path_of, shape, text_line, window
from gearcalc.pictures.thread_profiles import flanks_deg, profile
from gearcalc.threads import Thread, as_thread

_SIZE_PX = (800, 344)
_FROM, _TO, _MIDDLE, _TOP, _CREST_Y = 24.0, 484.0, 254.0, 72.0, 132.0
_PITCH_PX, _LONGER_PX, _BACK_PX = 84.0, 6.0, 52.0
_NUT, _SCREW = style.tint(style.ORANGE, 0.3), style.tint(style.SKY, 0.42)
_CORNER, _LEG_PX, _ACROSS_PX = (620.0, 112.0), 62.0, 124.0
_ANGLES = {
    60.0: "metric and American",
    55.0: "Whitworth",
    47.5: "British Association",
    30.0: "trapezoidal",
    29.0: "Acme",
}


def flanks_that_press(thread: Thread | str = "M10") -> Picture:
    """A screw whose pitch is too long, in its nut: where flanks press, and what that is across the axis.

    >>> picture = flanks_that_press("M10")
    >>> print(picture.table[0]["cot φ"], "|", picture.table[0]["10 µm of pitch error act like"])
    1.732 | 17.3 µm

    `thread`: whose flanks are drawn, at their true angle (60° where nothing is known of them). Raises ThreadTextError
    for text that is no thread.
    Source: geometry of a right triangle.
    """
    angle = flanks_deg(as_thread(thread))
    cot = writing.decimal(1 / tan(radians(angle / 2)), 3)
    title = f"A pitch that is too long, in a nut: flanks at {writing.decimal(angle / 2, 2)}°"
    caption = (
        "At each end of the nut the screw is out by δ/2 along the axis. Across it that is δ/2 · cot φ, on both sides: "
        f"in diameter {cot} · δ."
    )
    description = (
        f"{title}. The pitch is drawn far too long. In the middle screw and nut fit; towards the ends the screw's "
        "flanks lie ever deeper in the nut's, on the outer side of each thread. Beside it a right triangle, enlarged: "
        f"δ/2 along the axis, δ/2 · cot φ across it, and the flank, which leans by φ. {caption}"
    )
    return chart(
        _SIZE_PX,
        caption,
        description,
        _rows(),
        *_in_the_nut(angle),
        *_triangle(angle),
        *_on_both_sides(cot),
        title=title,
    )


def _rows() -> list[Row]:
    cots = {angle: 1 / tan(radians(angle / 2)) for angle in _ANGLES}
    return [
        {
            "thread": _ANGLES[angle],
            "its angle": f"{writing.decimal(angle, 1)}°",
            "flank angle φ": f"{writing.decimal(angle / 2, 2)}°",
            "cot φ": writing.decimal(cot, 3),
            "10 µm of pitch error act like": f"{writing.decimal(10 * cot, 1)} µm",
        }
        for angle, cot in cots.items()
    ]


def _in_the_nut(angle: float) -> Iterator[Svg]:
    deep, root = (share * _PITCH_PX for share in profile(angle))
    wide = deep * tan(radians(angle / 2))
    half_crest = (_PITCH_PX - root) / 2 - wide
    bottom, back = _CREST_Y + deep, _CREST_Y + deep + _BACK_PX

    def edge(pitch_px: float) -> list[Point]:
        middles = (_MIDDLE + n * pitch_px for n in range(-4, 5))
        corners = (
            (-half_crest - wide, bottom),
            (-half_crest, _CREST_Y),
            (half_crest, _CREST_Y),
            (half_crest + wide, bottom),
        )
        return [(middle + x, y) for middle in middles for x, y in corners]

    nut, screw = edge(_PITCH_PX), edge(_PITCH_PX + _LONGER_PX)
    yield window(
        _FROM,
        _TOP,
        _TO,
        back,
        shape(f"{path_of(nut)}V{_TOP}H{nut[0][0]}Z", _NUT),
        shape(f"{path_of(screw)}V{back}H{screw[0][0]}Z", _SCREW),
        *_pressed(half_crest, wide, deep),
        drawn_line(path_of(nut), width=1.8),
        drawn_line(path_of(screw), style.BLUE, 1.8),
        at=(_FROM, _TOP),
    )
    yield bold("nut", _FROM + 10, _TOP + 20)
    yield bold("screw", _FROM + 10, back - 14)
    yield text_line("it fits", _MIDDLE, _CREST_Y - 14)
    for side in (-1, 1):
        yield text_line("it presses", _MIDDLE + side * 2 * _PITCH_PX, _CREST_Y - 14, font_weight="bold")
    foot = back + 24
    yield drawn_line(f"M{_FROM} {foot - 6}v12M{_TO} {foot - 6}v12M{_FROM} {foot}H{_TO}", style.SOFT)
    yield text_line("engagement: the screw is out by δ over this length", _MIDDLE, foot + 19, size=style.WORD_PX)
    yield note("The error of the pitch is drawn far too large.", _FROM, foot + 44, size=style.SMALL_PX)


def _pressed(half_crest: float, wide: float, deep: float) -> Iterator[Svg]:
    """Where screw and nut would be in one place: along the outer flank of each crest that is off the middle."""
    for side in (-1, 1):
        for n in (1, 2):
            near, off = n * _PITCH_PX + half_crest, n * _LONGER_PX
            corners = ((near, 0.0), (near + off, 0.0), (near + wide + off, deep), (near + wide, deep))
            yield shape(
                path_of([(_MIDDLE + side * x, _CREST_Y + y) for x, y in corners], closed=True), style.VERMILLION
            )


def _triangle(angle: float) -> Iterator[Svg]:
    lean = tan(radians(angle / 2))
    (x, y), along = _CORNER, min(_LEG_PX, _ACROSS_PX * lean)
    across = along / lean
    right, foot = x + along, y + across
    nut = [(x - 30 * lean, y - 30), (right + 36 * lean, foot + 36)]
    screw = [(right - 30 * lean, y - 30), (right + across * 0.5 * lean, y + across * 0.5)]
    yield shape(path_of([(x, y), (right, y), (right, foot)], closed=True), style.tint(style.VERMILLION, 0.25))
    yield drawn_line(path_of(nut), width=2.2)
    yield drawn_line(path_of(screw), style.BLUE, 2.2)
    yield drawn_line(path_of([(x, y), (right, y), (right, foot)]), style.VERMILLION, 2.4)
    yield drawn_line(f"M{right - 9:.2f} {y}v9h9", style.VERMILLION)
    yield drawn_line(_arc(right, foot, lean))
    yield text_line("φ", right - 36 * lean - 14, foot - 28, size=15)
    yield over_lines("δ/2", x + along / 2, y - 9, size=14, font_weight="bold")
    yield over_lines("δ/2 · cot φ", right + 8, y + across * 0.82, size=14, anchor="start", font_weight="bold")
    yield text_line("flank of the nut", nut[0][0] - 8, nut[0][1] + 10, anchor="end", size=style.SMALL_PX)
    yield text_line("flank of the screw", screw[0][0] + 8, screw[0][1] + 2, anchor="start", size=style.SMALL_PX)


def _arc(x: float, y: float, lean: float) -> Svg:
    """From straight up to the flank, about their corner."""
    radius, long = 34.0, (1 + lean**2) ** 0.5
    return Svg(
        f"M{x:.2f} {y - radius:.2f}A{radius} {radius} 0 0 0 {x - radius * lean / long:.2f} {y - radius / long:.2f}"
    )


def _on_both_sides(cot: str) -> Iterator[Svg]:
    yield text_line("In diameter, so on both sides:", 776, 306, anchor="end")
    yield bold(f"δ · cot φ = {cot} · δ", 776, 326, anchor="end")
