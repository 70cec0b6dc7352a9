"""A screw measured over three wires: the micrometer over all of it, and one wire in its groove, enlarged."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import NumberLike
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import LEFT_PX, chart
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.svg import Svg, arrow, bold, disc, drawn_line, note, over_lines, path_of, rect, shape, window
from gearcalc.pictures.thread_profiles import flanks_deg
from gearcalc.threads import ThreadLike, as_thread

WIRES_PX = (800, 420)
"""Width and height of the picture."""

_WHOLE, _ENLARGED = (LEFT_PX, 76.0, 380.0, 396.0), (404.0, 76.0, 776.0, 396.0)
_SCREW, _WIRE, _JAW = style.tint(style.SKY, 0.42), style.tint(style.ORANGE, 0.55), style.tint(style.SOFT, 0.35)
_JAW_PX, _PITCHES = 26.0, 6


@frozen
class _Groove:
    """A 60° thread and a wire in its groove, all in mm, counted outwards from the pitch line."""

    pitch: float
    wire: float
    pitch_diameter: float

    @property
    def height(self) -> float:
        """Of the sharp triangle: √3/2 of the pitch."""
        return sqrt(3) / 2 * self.pitch

    @property
    def middle(self) -> float:
        """Where the middle of the wire lies: its diameter above the sharp bottom, since sin 30° = 1/2."""
        return self.wire - self.height / 2

    @property
    def over(self) -> float:
        """What the micrometer reads."""
        return self.pitch_diameter + 2 * self.middle + self.wire

    def profile(self, first: int, last: int) -> list[tuple[float, float]]:
        """Along the screw and outwards, groove 0 in the middle: root H/4 below the pitch line, crest 3/8 H above it."""
        p, h = self.pitch, self.height
        corners = ((-0.5, 3 / 8), (-7 / 16, 3 / 8), (-1 / 8, -1 / 4), (1 / 8, -1 / 4), (7 / 16, 3 / 8), (0.5, 3 / 8))
        return [((n + along) * p, out * h) for n in range(first, last + 1) for along, out in corners]


def over_three_wires(thread: ThreadLike, wire_mm: NumberLike, pitch_diameter_mm: NumberLike) -> Picture:
    """Three wires in the grooves of a screw under a micrometer, and one of them enlarged: why so much is taken off.

    >>> over_three_wires("M10", 0.87, 8.93).table[0]["over the wires"]
    '10.24 mm'

    `thread`: one with flanks of 60° and a single start; `wire_mm`: thickness of a wire, so that it stands out of its
    groove; `pitch_diameter_mm`: of this screw. All is true to scale.
    Raises NotPossibleError for other flanks, and for wires that lie below the crests or do not go into the groove.
    Source: plane geometry; the same rule stands in ASME B1.2 (from memory).
    """
    thread = as_thread(thread)
    wire = float(as_number(wire_mm, what="the thickness of a wire", most=100, above=True, unit="mm"))
    across = float(as_number(pitch_diameter_mm, what="the pitch diameter", most=1000, above=True, unit="mm"))
    groove = _Groove(float(thread.pitch), wire, across)
    if flanks_deg(thread) != 60 or not 0.505 < wire / groove.pitch < 1.01:
        raise NotPossibleError(
            f"wires of {writing.decimal(wire, 3)} mm do not measure {thread}",
            remedy="Take a thread with flanks of 60°, and wires of 0.505 to 1.01 times its pitch.",
        )
    said = f"{writing.decimal(groove.over, 2)} mm"
    title = f"{thread} over three wires of {writing.decimal(wire, 3)} mm: {said}"
    description = (
        f"{title}. Two wires lie in neighbouring grooves on one side of the screw, one in the groove opposite; the "
        f"micrometer touches the wires only, not the crests. Beside it one groove, enlarged: its flanks go on to a "
        f"sharp corner, H/2 below the pitch line, and the middle of the wire is one wire's diameter above that corner. "
        "Both drawings are true to scale."
    )
    row = {
        "thread": str(thread),
        "wire": f"{writing.decimal(wire, 3)} mm",
        "pitch diameter": f"{writing.decimal(across, 3)} mm",
        "middle of the wire beyond the pitch line": f"{writing.decimal(groove.middle, 3)} mm",
        "over the wires": said,
    }
    caption = "Over the wires: pitch diameter + 3 wires − 0.86603 pitches."
    return chart(WIRES_PX, caption, description, [row], *_under_the_micrometer(groove), *_enlarged(groove), title=title)


def _under_the_micrometer(groove: _Groove) -> Iterator[Svg]:
    left, top, right, bottom = _WHOLE
    scale = min((bottom - top - 2 * _JAW_PX) / groove.over, (right - left) / (_PITCHES * groove.pitch))
    x0, y0 = (left + right) / 2 - groove.pitch * scale / 2, (top + bottom) / 2
    half = groove.pitch_diameter / 2

    def at(along: float, out: float, side: int = 1) -> tuple[float, float]:
        return x0 + along * scale, y0 - side * (half + out) * scale

    upper = [at(*corner) for corner in groove.profile(-6, 7)]
    lower = [at(along + groove.pitch / 2, out, -1) for along, out in groove.profile(-7, 6)]
    jaw = groove.over / 2 * scale
    wires = [at(0, groove.middle), at(groove.pitch, groove.middle), at(groove.pitch / 2, groove.middle, -1)]
    middle = x0 + groove.pitch * scale / 2
    reading = left + 34
    yield window(
        left,
        top,
        right,
        bottom,
        shape(path_of([*upper, *reversed(lower)], closed=True), _SCREW, style.INK, 1.2),
        drawn_line(f"M{left} {y0}H{right}", style.SOFT, 1, "14 3 3 3"),
        *(rect(middle - 96, at - 40, middle + 96, at, _JAW, style.INK) for at in (y0 - jaw, y0 + jaw + 40)),
        *(disc(*wire, groove.wire / 2 * scale, _WIRE, style.INK, 1.4) for wire in wires),
        drawn_line(f"M{reading - 6} {y0 - jaw}H{middle}M{reading - 6} {y0 + jaw}H{middle}", style.SOFT, 1),
        drawn_line(arrow((reading, y0 - jaw), (reading, y0 + jaw), both_ways=True), style.BLUE, 1.6),
        over_lines(f"{writing.decimal(groove.over, 2)} mm", reading + 4, y0 + 34, anchor="start"),
        at=(left, top),
    )
    yield bold("Under the micrometer", left, top - 14, size=14)


def _enlarged(groove: _Groove) -> Iterator[Svg]:
    left, top, right, bottom = _ENLARGED
    scale = (bottom - top - 56) / (groove.middle + groove.wire / 2 + groove.height / 2)
    x0, pitch_line = (left + right) / 2 - 40, bottom - 24 - groove.height / 2 * scale

    def at(along: float, out: float) -> tuple[float, float]:
        return x0 + along * scale, pitch_line - out * scale

    body = [at(*corner) for corner in groove.profile(-2, 2)]
    (_, corner_y), (_, wire_y) = at(0, -groove.height / 2), at(0, groove.middle)
    radius, measure = groove.wire / 2 * scale, right - 96
    sharp = [at(-groove.pitch / 8, -groove.height / 4), (x0, corner_y), at(groove.pitch / 8, -groove.height / 4)]
    touch = (x0 + radius * sqrt(3) / 2, wire_y + radius / 2)  # square to a flank that leans by 30°
    yield window(
        left,
        top,
        right,
        bottom,
        shape(path_of([*body, (body[-1][0], bottom + 9), (body[0][0], bottom + 9)], closed=True), _SCREW, style.INK),
        drawn_line(path_of(sharp), style.INK, 1.2, "4 3"),
        disc(x0, wire_y, radius, _WIRE, style.INK, 1.4),
        drawn_line(f"M{left} {pitch_line:.2f}H{right}", style.BLUE, 1.4, "8 4"),
        drawn_line(path_of([(x0, corner_y), (x0, wire_y), touch]), style.INK, 1.2),
        drawn_line(f"M{x0} {wire_y:.2f}H{measure + 6}M{x0} {corner_y:.2f}H{measure + 60}", style.SOFT, 1),
        drawn_line(arrow((measure, wire_y), (measure, corner_y), both_ways=True), style.BLUE, 1.6),
        drawn_line(arrow((measure + 54, pitch_line), (measure + 54, corner_y), both_ways=True), style.BLUE, 1.6),
        over_lines("d", measure, (wire_y + corner_y) / 2 - 22),
        over_lines("H/2", measure + 54, (pitch_line + corner_y) / 2 + 4),
        over_lines("d/2", (x0 + touch[0]) / 2 + 4, (wire_y + touch[1]) / 2 - 8),
        over_lines("pitch line", left + 8, pitch_line - 7, anchor="start"),
        at=(left, top),
    )
    yield bold("One groove, enlarged", left, top - 14, size=14)
    yield note("d: the wire", right, top - 14, anchor="end")
