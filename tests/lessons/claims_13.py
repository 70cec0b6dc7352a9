"""What lesson 13 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from math import atan, cos, degrees, pi, radians, sin, sqrt, tan

import gearcalc as gc
from tests.lessons.reckoning import SCREW, ppm, reads

F = Fraction
SLOPE = atan(1 / 32)  # of a pipe taper: 1 in 16 on the diameter is 1 in 32 on the radius


def tip_over_bottom(wire: float) -> float:
    """From the sharp bottom of a groove of 60° to the top of a wire in it."""
    return wire / 2 / sin(radians(30)) + wire / 2


def swung_over(to_the_chuck: int, to_the_axis: int) -> bool:
    """Whether a slide's line through (along, in), with -1 for the other way, leans otherwise than for (1, 1)."""
    return Fraction(to_the_axis, to_the_chuck) != 1


def wound_in(to_the_chuck: int, to_the_axis: int) -> bool:
    """Whether a slide that is wound in moves a tool on the near side along that line, and not back along it."""
    return (to_the_chuck, to_the_axis) in ((1, 1), (-1, 1))


STEEP = ("M20", "Tr 40x7", "Tr 40x14(P7)", "Tr 20x8(P4)")

CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "13": {
        "60 leadscrew threads must go by, and the dial gear has 16 teeth": lambda: (
            (F("1.5") / SCREW).numerator == 60 and gc.demo_lathe("inch").dial.gears[0].teeth == 16
        ),
        "16 threads were still missing": lambda: 16 < 40 * F("1.5") / SCREW < 32 and 20 * F("1.5") / SCREW < 16,
        "If you move the carriage by hand, the dial turns too, and its line no longer tells.": lambda: (
            # Pushed 20 threads along, with the spindle still: the line comes 4 short of there, and that is no groove.
            float(abs(gc.dial(gc.demo_lathe("inch"), "1.5 mm").out_mm(16))) > 0.1
        ),
        "Left-hand or inside: slide swung over; both: as usual.": lambda: (
            [swung_over(*each) for each in ((1, 1), (-1, 1), (1, -1), (-1, -1))] == [False, True, True, False]
        ),
        "Inside, deeper is wound out.": lambda: (
            # The tool is on the near side of the axis, and winding in moves it away from whoever stands there.
            [wound_in(*each) for each in ((1, 1), (-1, 1), (1, -1), (-1, -1))] == [True, True, False, False]
        ),
        "A side ground straight down, 0°, is clear too.": lambda: (
            # Where 3° less the helix angle is below zero, the wall recedes by more than 3° from what stands upright.
            all(helix.angle_deg > 3 for helix in map(gc.helix_angle, STEEP) if helix.trailing_deg < 0)
            and any(gc.helix_angle(thread).trailing_deg < 0 for thread in STEEP)
        ),
        "$0.1 \\cdot 1.732 = 0.17$ mm": lambda: reads("1.732", 1 / tan(radians(30))) and reads("0.17", 0.1 * sqrt(3)),
        "M10 in class 6g allows 0.132 mm in all": lambda: F("8.994") - F("8.862") == F("0.132"),  # ISO 965-2's limits
        "$14/(\\pi \\cdot 36.5) = 0.1221$, an angle of 7.0°": lambda: (
            36.5 == 40 - 7 / 2 and reads("0.1221", 14 / pi / 36.5) and reads("7.0", degrees(atan(14 / pi / 36.5)))
        ),
        "$0.86603\\,P / 2$ below the pitch line": lambda: reads("0.86603", 2 * 1 / (4 * tan(radians(30)))),
        "A wire of diameter $d$ has its middle one $d$ above that bottom": lambda: (
            reads("1.00", 1 / 2 / sin(radians(30))) and reads("1.50", tip_over_bottom(1))
        ),
        "$d = P/(2\\cos 30°) = 0.57735\\,P$": lambda: (
            reads("0.57735", 1 / (2 * cos(radians(30))))
            # It touches where thread and gap are equally wide: half a radius below its middle, at the pitch line.
            and abs(1 / (2 * cos(radians(30))) * (1 - sin(radians(30)) / 2) - 0.86603 / 2) < 1e-5
        ),
        "2 slots The slots shared evenly among the starts.": lambda: F(6, 3) == 2,
        "$\\tan^{-1}(1/32) = 1.79°$ for a pipe taper of 1 in 16": lambda: reads("1.79", degrees(SLOPE)),
        "$\\cos 1.79°$ as long: 488 ppm short": lambda: reads("488", -ppm(cos(SLOPE), 1)),
    }
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "13": (
        "for M10 it is 10 mm less twice", "The thread is 1.5 mm", "0.2 mm of backlash", "0.1 mm of end float",
        "How bad is 0.1 mm?", "its usual 3° or so", "needs 3° *less*", "Above 6 times", "has 6 slots", "has 3 starts",
        "pitch diameter of 8.93 mm", "The wires are 0.87 mm", "For flanks of 60°", "ASME B1.2", "$\\sin 30° = 1/2$",
        "$d_2 + 3\\,d - 0.86603\\,P$", "d_2 + 3\\,d - 0.86603\\,P",
    ),
}  # fmt: skip
"""Numbers in the same lesson that state nothing: what is asked for, agreed on, or quoted from somebody."""
