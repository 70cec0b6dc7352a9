"""How the edge of a thread is drawn: flanks, depth, crests and roots as its form has them."""

from __future__ import annotations

from math import ceil, copysign, pi, radians, tan

from gearcalc.pictures.gears_in_mesh import Point
from gearcalc.threads import Thread
from gearcalc.threads.wanted import Wanted

FINEST_PX = 3.1
"""Crests closer than this are drawn as plain tone."""


_WORMS = {"module": 40.0, "diametral pitch": 29.0}  # what is usual; the drawing of the worm decides


def flanks_deg(wanted: Wanted | None) -> float:
    """The angle between the flanks that a thread is drawn with: its own, else 60; for a worm what is usual.

    >>> [flanks_deg(Thread.parse(text)) for text in ("M10", "1/2 BSW", "Tr 40x7", "module 1", "16 tpi")]
    [60.0, 55.0, 30.0, 40.0, 60.0]
    """
    if not isinstance(wanted, Thread):
        return 60.0
    return float(wanted.thread_angle_deg or _WORMS.get(wanted.family or "", 60.0))


def profile(angle_deg: float) -> tuple[float, float]:
    """How deep a thread is, and how wide its roots are, in pitches; its flanks stand at `angle_deg` to each other.

    >>> [round(share, 3) for share in profile(60)], [round(share, 3) for share in profile(30)]
    ([0.613, 0.167], [0.5, 0.366])

    Above 45 degrees: 17/24 and 3/8 of the sharp height deep and above the pitch line at 60 (ISO 68-1), else 2/3 and 1/3
    (as at 55: BS 84); up to 45: half the pitch and a quarter (as at 30 and 29), or at 40 those of a worm, 9/4 and 1
    module. The sources stand in data/threads/depths.csv.
    """
    slope = tan(radians(angle_deg / 2))
    if angle_deg > 45:
        deep, above = (17 / 24, 3 / 8) if angle_deg == 60 else (2 / 3, 1 / 3)
        deep, above = deep / (2 * slope), above / (2 * slope)
    else:
        deep, above = (9 / 4 / pi, 1 / pi) if angle_deg == 40 else (1 / 2, 1 / 4)
    return deep, 0.5 - 2 * (deep - above) * slope


def crests(
    start: float, end: float, step: float, level: float, deepest: float, phase: float = 0.0, *, angle_deg: float = 60
) -> list[Point]:
    """The edge of a thread from `start` to `end`: crests at `level`, the first one `phase` steps on, flanks true.

    >>> crests(0, 20, 10, 50, 30)[:4]
    [(0, 50.0), (0.625, 50.0), (4.167, 56.134), (5.833, 56.134)]

    Grooves are as deep as profile() has them, or `deepest`, below zero for a thread that faces upwards: the first of
    the cuts then, between the same flanks. Crests too fine to be seen become a straight edge.
    """
    if step < FINEST_PX:
        return [(start, level), (end, level)]
    slope, (deep, root) = tan(radians(angle_deg / 2)), profile(angle_deg)
    depth, bottom = min(deep * step, abs(deepest)), root * step / 2
    top = bottom + depth * slope

    def edge(x: float) -> Point:
        off = abs(((x - start) / step - phase) % 1 - 0.5) * step  # from the middle of the nearest groove
        return round(x, 3), round(level + copysign(min(max((top - off) / slope, 0.0), depth), deepest), 3)

    middles = (start + (n + 0.5 + phase) * step for n in range(-2, ceil((end - start) / step) + 2))
    corners = (middle + side for middle in middles for side in (-top, -bottom, bottom, top))
    return [edge(x) for x in (start, *(x for x in corners if start < x < end), end)]
