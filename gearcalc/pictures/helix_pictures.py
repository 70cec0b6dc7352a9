"""A steep thread and the end of its tool, seen from behind the tool: why its sides are ground by the helix angle."""

from __future__ import annotations

from math import radians, tan

from gearcalc.basics import writing
from gearcalc.cutting.helix import HelixAngle
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import LEFT_PX, chart
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.svg import Svg, bold, drawn_line, note, over_lines, path_of, rect, shape, window

GROOVE_PX = (800, 400)
"""Width and height of the picture."""

_TOP, _EDGE_Y, _FOOT = 84.0, 150.0, 352.0
_GROOVE_PX, _TOOL_PX = 104.0, 150.0  # width of the groove; height of the tool below its edge
_WORK = style.tint(style.SKY, 0.34)
_TOOL, _RUBBING = style.DARK_STEEL, style.VERMILLION


def tool_in_groove(helix: HelixAngle) -> Picture:
    """The end of a tool in a groove, seen from behind it: with plain sides it rubs, ground by the helix it is clear.

    >>> from gearcalc.cutting.helix import helix_angle
    >>> print(tool_in_groove(helix_angle("Tr 40x14(P7)")).caption)
    The tool for Tr 40x14(P7) in its groove, seen from behind the tool: helix angle 7°, true to scale.

    `helix`: from helix_angle(). The angles are true to scale; the groove is drawn as wide for every thread.
    """
    angle, lead, trail = (
        f"{writing.decimal(value, 1)}°" for value in (helix.angle_deg, helix.leading_deg, helix.trailing_deg)
    )
    caption = (
        f"The tool for {helix.thread} in its groove, seen from behind the tool: helix angle {angle}, true to scale."
    )
    other = "right" if helix.leading_side == "left" else "left"
    description = (
        f"The work lies across, the chuck on the left; near the tool it moves down. The groove of {helix.thread} "
        f"leans by {angle}: going down it runs to the {other}. On the left a tool whose sides go straight down: its "
        f"{helix.leading_side} side, which leads, rubs on the wall of the groove. On the right its sides lean with the "
        f"groove, the leading side by {lead} and the other by {trail}: both are clear."
    )
    row = {
        "thread": str(helix.thread),
        "helix angle": angle,
        "leading side": lead,
        "other side": trail,
        "leading side is": helix.leading_side,
    }
    middle = GROOVE_PX[0] / 2
    return chart(
        GROOVE_PX,
        caption,
        description,
        [row],
        *_panel(helix, LEFT_PX, middle - 12, "Sides straight down: it rubs", (0.0, 0.0)),
        *_panel(
            helix,
            middle + 12,
            GROOVE_PX[0] - LEFT_PX,
            "Ground by the helix: it is clear",
            (helix.leading_deg, helix.trailing_deg),
        ),
        note("dotted: where the tool rubs", LEFT_PX, 380),
        note("← chuck", middle + 12, 380),
        note("↓ so the work moves past the tool", middle + 96, 380),
        title=f"{helix.thread}: the groove leans by {angle}",
    )


def _panel(helix: HelixAngle, left: float, right: float, words: str, ground: tuple[float, float]) -> list[Svg]:
    """One tool in the groove; `ground`: the clearance of its leading and its other side, degrees."""
    way = 1 if helix.leading_side == "left" else -1  # going down the groove runs away from the side that leads
    lean, half = way * tan(radians(helix.angle_deg)), _GROOVE_PX / 2
    at = (left + right) / 2 - way * 14

    def wall(side: int, y: float) -> tuple[float, float]:
        return at + side * half + (y - _EDGE_Y) * lean, y

    groove = path_of([wall(-1, _TOP), wall(1, _TOP), wall(1, _FOOT), wall(-1, _FOOT)], closed=True)
    end = _EDGE_Y + _TOOL_PX
    leading, other = (tan(radians(angle)) * _TOOL_PX for angle in ground)
    corners = [
        (at - way * half, _EDGE_Y),
        (at + way * half, _EDGE_Y),
        (at + way * (half - other), end),
        (at - way * (half - leading), end),
    ]
    drawn = [
        rect(left, _TOP, right, _FOOT, _WORK),
        shape(groove, style.PAPER, style.SOFT, 1),
        shape(path_of(corners, closed=True), _TOOL, style.INK, 1.4),
    ]
    if not any(ground):
        rubbing = path_of([corners[0], (wall(-way, end)), (corners[3])], closed=True)
        drawn += [shape(rubbing, style.tint(_RUBBING, 0.5), _RUBBING, 1.2), drawn_line(rubbing, _RUBBING, 2, "2 3")]
    drawn.append(drawn_line(f"M{corners[0][0]:.2f} {_EDGE_Y}H{corners[1][0]:.2f}", style.BLUE, 3.5))
    names = [over_lines("cutting edge", at, _EDGE_Y - 10)]
    for sign, angle in ((-way, ground[0]), (way, ground[1])):
        side = "leading side" if sign == -way else "other side"
        x = at + sign * (half + 12 + max(sign * (_FOOT - 60 - _EDGE_Y) * lean, 0))
        told = f"{side} {writing.decimal(angle, 1)}°"
        room = style.text_width_px(told, style.SMALL_PX)
        x = min(max(x, left + room), right - room)
        names.append(over_lines(told, x, _FOOT - 60, anchor="end" if sign < 0 else "start"))
    return [bold(words, left, _TOP - 14, size=14), window(left, _TOP, right, _FOOT, *drawn, *names, at=(left, _TOP))]
