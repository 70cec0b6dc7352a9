"""One gear as it looks from the gear end: its teeth, its mark as driver, driven or idler, its bore and key."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

from gearcalc.pictures.style import INK, LOOKS, PAPER, SOFT, YELLOW
from gearcalc.pictures.svg import Svg, element, number
from gearcalc.pictures.trains.outlines import DEDENDUM, tooth_outline

_UNITS = 200  # path units in a module: whole numbers keep the path short
_CHAIN_LINE = "10 3 2 3"


def face(
    kind: str,
    teeth: int,
    at_px: tuple[float, float],
    module_px: float,
    *,
    bore_px: float,
    turned_deg: float,
    turns: float,
    pressure_angle_deg: float = 20.0,
    marked: bool = False,
) -> Svg:
    """A gear drawn at a place on the sheet.

    >>> face("driver", 40, (100, 100), 2.5, bore_px=8, turned_deg=0, turns=1)[:15]
    '<g class="gear"'

    `turned_deg`: clockwise on the sheet. `turns`: for one turn of the first driver; a live picture reads it, and
    the angle, from the data attributes of the group that turns. `marked`: the tooth at the key is painted, so that
    an eye can follow it round.
    """
    x, y = at_px
    turning = element(
        "g",
        _body(kind, teeth, module_px, pressure_angle_deg),
        _bore(bore_px, keyed=kind != "idler"),
        _painted_tooth(teeth, module_px, pressure_angle_deg) if marked else _dot(teeth, module_px),
        class_="turning",
        transform=f"rotate({turned_deg:.3f})",
        data_rest=f"{turned_deg:.3f}",
        data_turns=f"{turns:.9g}",
    )
    marks = _marks(kind, teeth, round(module_px, 3), round(bore_px, 2))
    return element("g", turning, marks, class_="gear", transform=f"translate({number(x)} {number(y)})")


def ring_radius_px(teeth: int, module_px: float) -> float:
    """The radius of a driver's ring, or of the edge of a driven gear's hatching: inside the rim."""
    root = module_px * (teeth / 2 - DEDENDUM)
    return root - max(1.3 * module_px, min(0.12 * root, 12.0))


def hatching(radius: float, hole: float, gap: float) -> Svg:
    """Lines at 45° across a ring centred on the origin, as path data.

    >>> hatching(10, 0, 30)
    'M-7.1 7.1L7.1 -7.1'
    """
    lines = []
    count = int(radius / gap)
    for k in range(-count, count + 1):
        offset = k * gap
        half = math.sqrt(radius * radius - offset * offset)
        inner = math.sqrt(max(0.0, hole * hole - offset * offset))
        for start, end in ((-half, -inner), (inner, half)) if inner else ((-half, half),):
            points = ((offset + s * along) * math.sqrt(0.5) for along in (start, end) for s in (1, -1))
            lines.append("M{:.1f} {:.1f}L{:.1f} {:.1f}".format(*points))
    return Svg("".join(lines))


def swatch(kind: str, x: float, y: float, radius: float = 9.0) -> Svg:
    """A small sample for the key."""
    look = LOOKS[kind]
    parts = [element("circle", r=radius, fill=look.fill, stroke=INK, stroke_width=1)]
    if look.ring:
        parts.append(element("circle", r=radius - 3.5, fill="none", stroke=look.accent, stroke_width=2))
    if look.hatched:
        parts.append(element("path", d=hatching(radius - 0.5, 0, 4.0), stroke=look.accent, stroke_width=1))
    return element("g", *parts, transform=f"translate({number(x)} {number(y)})")


def _body(kind: str, teeth: int, module_px: float, pressure_angle_deg: float) -> Svg:
    points = 3 if module_px < 2.2 else 4 if module_px < 4.5 else 7
    scale = module_px / _UNITS
    return element(
        "path",
        d=_outline_path(teeth, pressure_angle_deg, points),
        transform=f"scale({scale:.6g})",
        fill=LOOKS[kind].fill,
        stroke=INK,
        stroke_width=min(1.1, 0.35 + 0.28 * module_px) / scale,
        stroke_linejoin="round",
    )


@lru_cache(maxsize=512)
def _outline_path(teeth: int, pressure_angle_deg: float, points: int) -> Svg:
    """Path data of a whole gear of module 1, in whole steps of 1/200 module from point to point."""
    one = tooth_outline(teeth, pressure_angle_deg, 0.04, points)
    places = []
    for tooth in range(teeth):
        angle = 2 * math.pi * tooth / teeth
        along, across = _UNITS * math.cos(angle), _UNITS * math.sin(angle)
        places += [(round(along * x - across * y), round(across * x + along * y)) for x, y in one]
    steps = [f"{b[0] - a[0]} {b[1] - a[1]}" for a, b in pairwise(places)]
    return Svg(f"M{places[0][0]} {places[0][1]}l{' '.join(steps)}z".replace(" -", "-"))


def _bore(radius: float, *, keyed: bool) -> Svg:
    """The bore with its keyway, the key in line with the first tooth; plain in an idler, which runs free."""
    if not keyed:
        return element("circle", r=radius, fill=PAPER, stroke=INK, stroke_width=1)
    half, deep = 0.26 * radius, 1.38 * radius
    start = math.sqrt(radius * radius - half * half)
    path = (
        f"M{start:.2f} {half:.2f}A{radius:.2f} {radius:.2f} 0 1 1 {start:.2f} {-half:.2f}"
        f"L{deep:.2f} {-half:.2f}V{half:.2f}Z"
    )
    return element("path", d=Svg(path), fill=PAPER, stroke=INK, stroke_width=1)


def _dot(teeth: int, module_px: float) -> Svg:
    """A small dot under the tooth at the key."""
    radius = min(0.3 * module_px + 0.4, 2.2)
    return element("circle", cx=_dot_radius(teeth, module_px), cy=0, r=radius, fill=INK)


def _painted_tooth(teeth: int, module_px: float, pressure_angle_deg: float) -> Svg:
    """The tooth at the key in a strong tone, and a spot under it large enough to follow while it turns."""
    scale, radius = module_px / _UNITS, max(3.8, min(1.1 * module_px, 6.0))
    points = [(_UNITS * x, _UNITS * y) for x, y in tooth_outline(teeth, pressure_angle_deg, 0.04, 4)]
    tooth = "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in points) + "Z"
    return element(
        "g",
        element("path", d=Svg(tooth), transform=f"scale({scale:.6g})", fill=INK),
        element(
            "circle",
            cx=module_px * (teeth / 2 - DEDENDUM) - 0.8 * radius,
            cy=0,
            r=radius,
            fill=YELLOW,
            stroke=INK,
            stroke_width=1.3,
        ),
        class_="painted-tooth",
    )


def _dot_radius(teeth: int, module_px: float) -> float:
    return module_px * (teeth / 2 - DEDENDUM - 0.7)


@lru_cache(maxsize=512)
def _marks(kind: str, teeth: int, module_px: float, bore_px: float) -> Svg:
    """What does not turn: the pitch circle as a chain line, and the mark of the kind."""
    look, ring, hub = LOOKS[kind], ring_radius_px(teeth, module_px), 1.75 * bore_px
    parts = [
        element(
            "circle", r=module_px * teeth / 2, fill="none", stroke=SOFT, stroke_width=0.6, stroke_dasharray=_CHAIN_LINE
        )
    ]
    if ring > hub + 3:
        if look.ring:
            width = 3.2 if ring > 30 else 2.2
            parts.append(element("circle", r=ring, class_="ring", fill="none", stroke=look.accent, stroke_width=width))
        if look.hatched:
            gap = 7.0 if ring > 45 else 5.0
            lines = hatching(ring, hub, gap)
            parts.append(element("path", d=lines, class_="hatching", fill="none", stroke=look.accent, stroke_width=1.1))
            parts += [
                element("circle", r=edge, fill="none", stroke=look.accent, stroke_width=1.1) for edge in (ring, hub)
            ]
        elif ring > hub + 8:
            parts.append(element("circle", r=hub, fill="none", stroke=INK, stroke_width=0.7))
    return element("g", *parts)
