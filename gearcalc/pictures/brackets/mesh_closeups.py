"""Teeth close up, the same two gears at several distances: pressed together, right, and open."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, degrees, pi, radians, sin

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_teeth
from gearcalc.fits.gaps import Gear
from gearcalc.fits.hand_settings import MeshState
from gearcalc.fits.stances import layout_of
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.style import FONT, INK, LOOKS, PAPER, SMALL_PX, SOFT, WORD_PX
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.pictures.trains.meshing import meshing_angle_deg
from gearcalc.pictures.trains.outlines import DEDENDUM, Point, tooth_outline

_WIDTH_PX, _PANEL_PX, _GAP_PX, _WORDS_PX = 800, 250.0, 14.0, 66.0
_STEP_PX = _PANEL_PX + _GAP_PX
_MODULES_IN_VIEW = 7.5
_TEETH_EITHER_WAY = 3
_FLANK_POINTS = 14
_MOST_PANELS = 3
_HEADS = {"pressed": "Too near", "tight": "Tight", "good": "Good", "open": "Too slack", "apart": "Apart"}


def mesh_closeups(
    lathe: Lathe, one: int = 40, other: int = 80, beyond_touching_mm: Sequence[float | None] = (-0.15, None, 0.9)
) -> Picture:
    """Two gears of the lathe's size close up, the lower one driving to the left, at one to three distances.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(mesh_closeups(demo_lathe("inch")).table[1]["mesh"])
    good: 0.2 mm of backlash

    `one`, `other`: teeth of driver and driven gear; `beyond_touching_mm`: how much farther apart the centres are than
    where the teeth touch on both flanks, within 2 modules either way; None: where the lathe's file wants them.
    Raises ValueOutOfRangeError for other numbers, NotPossibleError when the lathe has no bracket or no size of gear.
    """
    lathe = as_lathe(lathe)
    one, other = as_teeth(one, what="the driver"), as_teeth(other, what="the driven gear")
    states = [_state(lathe, one, other, beyond) for beyond in beyond_touching_mm]
    if not 1 <= len(states) <= _MOST_PANELS:
        raise ValueOutOfRangeError(f"this shows 1 to {_MOST_PANELS} distances", value=len(states))
    left = (_WIDTH_PX - len(states) * _STEP_PX + _GAP_PX) / 2
    module = layout_of(lathe).module_mm
    panels = [_panel(state, module, left + number * _STEP_PX) for number, state in enumerate(states)]
    height = _PANEL_PX + _WORDS_PX
    words = "; ".join(f"{writing.decimal(state.apart_mm, 2)} mm apart, {state.words}" for state in states)
    description = (
        f"Teeth of a driver of {one} and a driven gear of {other} close up, from where they mesh, with their centres "
        f"{words}. The driver pushes to the left; what play there is shows on the right of its tooth."
    )
    svg = element(
        "svg",
        element("title", f"{one} and {other} in mesh"),
        element("desc", description),
        element("rect", width=_WIDTH_PX, height=height, fill=PAPER),
        *panels,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {_WIDTH_PX} {height:g}",
        width=_WIDTH_PX,
        height=height,
        role="img",
        font_family=FONT,
        style="max-width:100%;height:auto",
    )
    caption = f"{one} on {other}, close up: the same gears, their centres more and more apart."
    return Picture(svg, description, [_row(state) for state in states], caption)


def _state(lathe: Lathe, one: int, other: int, beyond: float | None) -> MeshState:
    layout = layout_of(lathe)
    touching, tips = layout.module_mm * (one + other) / 2, layout.outside_radius(one) + layout.outside_radius(other)
    right = layout.centre_distance(one + other)
    apart = right if beyond is None else touching + beyond
    if not abs(apart - touching) <= 2 * layout.module_mm:
        raise ValueOutOfRangeError("gears close up stand within 2 modules of where they touch", value=beyond)
    gears = Gear(0, 0, one, False), Gear(0, 1, other, False)
    return MeshState(*gears, apart, touching, right, tips, lathe.gear_set.pressure_angle_deg)


def _row(state: MeshState) -> Row:
    return {
        "centres apart": f"{writing.decimal(state.apart_mm, 2)} mm",
        "touching at": f"{writing.decimal(state.touching_mm, 2)} mm",
        "mesh": state.words,
        "backlash": f"{writing.decimal(max(state.backlash_mm, 0.0), 2)} mm",
    }


def _panel(state: MeshState, module: float, left: float) -> Svg:
    """One distance: the window on the teeth, and under it the words."""
    size = _PANEL_PX - 2
    window = element(
        "svg",
        element("rect", x=-500, y=-500, width=1000, height=1000, fill=PAPER),
        *_teeth(state, module, size / (_MODULES_IN_VIEW * module)),
        x=left,
        y=1,
        width=size,
        height=size,
        viewBox=f"{-size / 2:g} {-size / 2:g} {size:g} {size:g}",
    )
    middle = left + size / 2
    border = element("rect", x=left, y=1, width=size, height=size, fill="none", stroke=INK, stroke_width=1.2)
    lines = [
        text_line(f"driven {state.other.teeth}", middle, 22, size=WORD_PX, fill=INK, font_weight="bold"),
        text_line(f"driver {state.one.teeth}", middle, size - 12, size=WORD_PX, fill=INK, font_weight="bold"),
        text_line(_HEADS[state.state], middle, _PANEL_PX + 18, size=WORD_PX + 2, fill=INK, font_weight="bold"),
        text_line(state.words, middle, _PANEL_PX + 37, size=WORD_PX, fill=INK),
        text_line(
            f"centres {writing.decimal(state.apart_mm, 2)} mm apart", middle, _PANEL_PX + 55, size=SMALL_PX, fill=SOFT
        ),
    ]
    return element("g", window, border, *lines, class_=f"closeup {state.state}")


def _teeth(state: MeshState, module: float, scale: float) -> list[Svg]:
    """Driver below, driven above, the pitch point of touching gears in the middle; px, y down."""
    one, other, angle = state.one.teeth, state.other.teeth, state.pressure_angle_deg
    spread = state.apart_mm - state.touching_mm
    down = -module * one / 2 - spread / 2
    up = module * other / 2 + spread / 2
    # As the driver pushes to the left, the driven gear has gone round by half of the play.
    play = max(state.backlash_mm, 0.0) if state.state != "apart" else 0.0
    turned = degrees(play / 2 / (module * other / 2))
    driven_deg = meshing_angle_deg(one, 90.0, other, 90.0) + turned
    driver_path = _rim(one, angle, module, 90.0, (0.0, down), scale, -1)
    driven_path = _rim(other, angle, module, driven_deg, (0.0, up), scale, 1)
    look = LOOKS["driver"]
    return [
        element("path", d=driver_path, fill=look.fill, stroke=INK, stroke_width=1.6, stroke_linejoin="round"),
        element(
            "path",
            d=driven_path,
            fill="#FFFFFF",
            fill_opacity=0.55,
            stroke=INK,
            stroke_width=1.6,
            stroke_linejoin="round",
        ),
        *_pitch_lines(down, up, module * one / 2, module * other / 2, scale),
    ]


def _pitch_lines(down: float, up: float, below: float, above: float, scale: float) -> list[Svg]:
    """The two pitch circles, dashed: they touch where the teeth have no play."""
    style = {"fill": "none", "stroke": SOFT, "stroke_width": 0.9, "stroke_dasharray": "9 3 2 3"}
    return [
        element("circle", cx=0, cy=-scale * down, r=scale * below, **style),
        element("circle", cx=0, cy=-scale * up, r=scale * above, **style),
    ]


def _rim(teeth: int, angle: float, module: float, turned_deg: float, centre: Point, scale: float, outward: int) -> Svg:
    """The teeth nearest the middle and the metal behind them, as path data; `outward`: where the gear's body lies."""
    one = tooth_outline(teeth, angle, 0.0, _FLANK_POINTS)
    towards = 90.0 if outward < 0 else 270.0
    nearest = round((towards - turned_deg) * teeth / 360)
    points = []
    for tooth in range(nearest - _TEETH_EITHER_WAY, nearest + _TEETH_EITHER_WAY + 1):
        around = radians(turned_deg) + 2 * pi * tooth / teeth
        points += [
            (module * (x * cos(around) - y * sin(around)), module * (x * sin(around) + y * cos(around))) for x, y in one
        ]
    body = 0.5 * module * (teeth / 2 - DEDENDUM)
    for bearing in (1, -1):
        around = radians(towards) + bearing * (_TEETH_EITHER_WAY + 0.5) * 2 * pi / teeth
        points.append((body * cos(around), body * sin(around)))
    return Svg("M" + "L".join(f"{scale * (x + centre[0]):.2f} {-scale * (y + centre[1]):.2f}" for x, y in points) + "Z")
