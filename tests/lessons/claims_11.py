"""What lesson 11 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from math import cos, isclose, radians, sin, sqrt, tan

import gearcalc as gc
from tests.lessons.reckoning import SCREW, reads

F = Fraction
INCH = gc.demo_lathe("inch")
H_OF_M10 = 1.5 * sqrt(3) / 2  # by Pythagoras: half a pitch wide, a pitch along the flank


def away_from_the_mean(points: int = 100_000) -> float:
    """Mean distance of the parabola s² from its own mean, s from 0 to 1, point by point."""
    heights = [((n + 0.5) / points) ** 2 for n in range(points)]
    mean = sum(heights) / points
    return sum(abs(height - mean) for height in heights) / points


def true_rt(feed: float, nose: float) -> float:
    return nose - sqrt(nose**2 - feed**2 / 4)


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "11": {
        "along the bed 1/8 as far as the half-nuts would. Straight across it (the **cross feed**) 1/16.": lambda: (
            (INCH.feeds.longitudinal, INCH.feeds.cross) == (F(1, 8), F(1, 16))
        ),
        "40/80 with the lever at the middle cuts 16 tpi, a lead of 1.5875 mm.": lambda: (
            F(40, 80) * SCREW == F("1.5875") == F("25.4") / 16
        ),
        "0.198 mm An eighth of 1.5875 mm. That is 7.8 thou (thousandths of an inch).": lambda: (
            reads("0.198", F("1.5875") / 8) and reads("7.8", F("1.5875") / 8 / F("0.0254"))
        ),
        "A 35 for the 63 makes 0.104 mm: 4.2 per cent coarser.": lambda: (
            abs(m10(63) / F("1.5") - 1) < F(1, 1000)
            and reads("0.104", m10(35) / 8)
            and reads("4.2", 100 * m10(35) / 8 / F("0.1") - 100)
        ),
        "The feed jumps to what the gears give: for 0.2 mm that is 0.1875.": lambda: reads("0.1875", m10(63) / 8),
        "$(f/2)^2 + (\\rho - R_t)^2 = \\rho^2$": lambda: isclose(0.1**2 + (0.4 - true_rt(0.2, 0.4)) ** 2, 0.4**2),
        "R_t \\approx \\frac{f^2}{8\\,\\rho}": lambda: isclose(true_rt(0.05, 0.4), 0.05**2 / (8 * 0.4), rel_tol=0.002),
        "the mean line lies at $R_t/3$": lambda: isclose(
            sum((n / 1000) ** 2 for n in range(1001)) / 1001, 1 / 3, rel_tol=0.01
        ),
        "at $1/\\sqrt{3} = 0.577$ of half the feed, since $0.577^2 = 1/3$": lambda: (
            reads("0.577", 1 / sqrt(3)) and isclose(0.577**2, 1 / 3, rel_tol=0.002)
        ),
        "Up to there the box is 0.577 wide and 1/3 high, and two thirds of it lie above the arc "
        "and below the mean line: $0.577 \\cdot 1/3 \\cdot 2/3 = "
        "0.1283$. Above the line lies as much: together 0.2566.": lambda: (
            reads("0.1283", 1 / sqrt(3) / 3 * 2 / 3) and reads("0.2566", away_from_the_mean())
        ),
        "So $R_a = 0.2566\\,R_t$, and $8/0.2566 = 31.18$. The shop takes a quarter, and $8 \\cdot 4 = 32$": lambda: (
            reads("31.18", 8 / away_from_the_mean()) and 8 * 4 == 32
        ),
        "More exactly it is 31.18, not 32.": lambda: reads("31.18", 8 / away_from_the_mean()),
        "Ra 1.6 µm (63 millionths of an inch) is 0.0016 mm. With a nose of 0.4 mm, $\\sqrt{32 \\cdot 0.4 \\cdot "
        "0.0016} = 0.143$ mm.": lambda: reads("63", 1.6 / 0.0254) and reads("0.143", sqrt(32 * 0.4 * 0.0016)),
        "a whole lead in one turn, some ten times as fast as a feed": lambda: F("1.5") / F("0.15") == 10,
        "1.8 s 4.5 mm are three turns, and a turn takes 0.6 s.": lambda: (
            F("4.5") / F("1.5") == 3 and F(60, 100) * 3 == F("1.8")
        ),
        "\\frac{4.5}{1.5} \\cdot \\frac{60\\,\\text{s}}{100} = 1.8\\,\\text{s}": lambda: (
            F("4.5") / F("1.5") * F(60, 100) == F("1.8")
        ),
        "1.087 mm, not 0.92 mm. A smaller circle sinks deeper between the same flanks.": lambda: (
            reads("1.087", H_OF_M10 * 7 / 8 - 0.05) and reads("0.92", H_OF_M10 * 17 / 24)
        ),
        "So $\\tan 30° = (P/2)/H$, and $H = P/(2 \\tan 30°) = 0.866\\,P$.": lambda: (
            reads("0.866", 1 / (2 * tan(radians(30)))) and isclose(tan(radians(30)), 0.75 / H_OF_M10)
        ),
        "lies $\\rho/\\sin 30° = 2\\rho$ above the corner": lambda: isclose(1 / sin(radians(30)), 2),
        "With $\\rho = H/6$ that is $\\tfrac{17}{24}H = 0.6134\\,P$": lambda: (
            F(7, 8) - F(1, 6) == F(17, 24) and reads("0.6134", sqrt(3) / 2 * 17 / 24)
        ),
        "turned by half the thread's angle, or half a degree less": lambda: (
            [F(angle, 2) - F(1, 2) for angle in (60, 55, 29)] == [F("29.5"), 27, 14]
            and isclose(gc.thread_depth("M10").infeed_mm(), H_OF_M10 * 17 / 24 / cos(radians(29.5)))
        ),
        "$\\cos 29.5° = 0.870$": lambda: reads("0.870", cos(radians(29.5))),
        "Some slides count from the axis of the work: 60.5° for 29.5°.": lambda: F("60.5") + F("29.5") == 90,
        "M16xPh3P1.5 looks like a 1.5 mm thread. It isn't: the tool goes 3 mm a turn. At 60 rev/min with 4.5 mm of "
        "groove you expect 3 seconds, and get one and a half.": lambda: (
            F("4.5") / F("1.5") * F(60, 60) == 3
            and F("4.5") / 3 * F(60, 60) == F("1.5")
            and gc.Thread.parse("M16xPh3P1.5").lead_mm == 3
        ),
        "Turn it by 0.1 mm (or 5 thou)": lambda: 0.1 < 5 * 0.0254 < 0.15,
        "Seconds to the shoulder = room ÷ lead × 60 ÷ speed in rev/min.": lambda: isclose(
            gc.time_to_shoulder("M10", rpm=90, room_mm=6).seconds, 6 / 1.5 * 60 / 90
        ),
        "$R_t \\approx f^2/(8\\rho)$, $R_a \\approx f^2/(32\\rho)$. Half the feed, a quarter of the depth.": lambda: (
            F(1, 2) ** 2 == F(1, 4) and isclose(true_rt(0.1, 0.8) / true_rt(0.05, 0.8), 4, rel_tol=0.01)
        ),
    }
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""


def m10(first_driver: int) -> Fraction:
    """The lead of the lesson's M10 train, lever low, with this first driver."""
    return SCREW * F(first_driver * 45, 50 * 60) / 2


GIVEN: Mapping[str, tuple[str, ...]] = {
    "11": (
        "within 10 per cent", "Ra, and where 31.18 comes from", "a feed of about 0.1 mm",
        "Here is the least work for 0.2 mm. Then put 0.1",
        "$R_a \\approx f^2/(32\\,\\rho)$", "R_a \\approx \\frac{f^2}{32\\,\\rho}", "\\sqrt{32\\,\\rho\\,R_a}",
        "M10 (pitch 1.5 mm) at 100 rev/min", "The groove leaves 4.5 mm.", "It begins at 60 rev/min.",
        "\\frac{60\\,\\text{s}}{\\text{rev/min}}", "a sharper point, 0.05 mm", "with 30° at its corner",
        "a feed of 0.1 mm, within 10 per cent, and what", "$\\tfrac{7}{8}H - \\rho$ at 60°", "some 7 minutes each",
    ),
}  # fmt: skip
"""Numbers in the same lesson that state nothing: what is asked for, agreed on, or quoted from somebody."""
