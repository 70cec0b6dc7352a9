"""What lessons 06 and 07 claim in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from math import isclose, pi

import gearcalc as gc
from tests.lessons.reckoning import best_by_denominator, ppm, ratio, reads

F = Fraction
METRIC = gc.demo_lathe("metric")
WORM = F(72 * 60 * 48, 40 * 66 * 50) * 3  # what the metric lathe cuts for module 1.5, mm

CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "06": {
        "module 2. So its pitch circle is 60 mm across": lambda: 30 * 2 == 60,
        "a bit over 6 mm: 2 · π, about 6.283 mm": lambda: reads("6.283", 60 * pi / 30),
        r"which is $25.4\,\pi/\mathrm{DP}$ mm": lambda: isclose(
            float(gc.Thread.parse("DP 12").lead_mm), 25.4 * pi / 12
        ),
        "Our leadscrew has a lead of 3 mm. Let the worm be module 1.": lambda: METRIC.leadscrew_lead_mm == 3,
        "The leadscrew gives 3 mm a turn. So the gears must make π/3.": lambda: isclose(
            float(gc.Thread.parse("module 1").lead_mm) / 3, pi / 3
        ),
        "22/7 ÷ 3 is 22/21": lambda: F(22, 7) / 3 == F(22, 21),
        "22 = 2 · 11 and 21 = 3 · 7": lambda: (2 * 11, 3 * 7) == (22, 21),
        "You need an 11 above the line and a 7 below. In this box only the 66 has an 11, and only the 56 has a 7. So "
        "put 66 over 56. That is 33/28.": lambda: (
            [teeth for teeth in METRIC.gears if teeth % 11 == 0] == [66]
            and [teeth for teeth in METRIC.gears if teeth % 7 == 0] == [56]
            and F(66, 56) == F(33, 28)
        ),
        "22/21 ÷ 33/28 is 8/9. That is 64/72, and the box has both.": lambda: (
            F(22, 21) / F(33, 28) == F(8, 9) == F(64, 72)
            and {64, 72} <= set(METRIC.gears)
            and ratio((66, 64), (56, 72)) == F(22, 21)
        ),
        "larger, by 402 ppm So the worm comes out too long by as much.": lambda: (
            reads("402", ppm(22 / 7, pi)) and reads("402", ppm(float(F(22, 21)) * 3, pi))
        ),
        "11/7 1.5 · π over 3 is π/2, and half of 22/7 is 11/7.": lambda: (
            F("1.5") / 3 == F(1, 2) and F(22, 7) / 2 == F(11, 7)
        ),
        "Are there fractions nearer to π than 22/7?": lambda: F(22, 7) in best_by_denominator(pi, 57)[:-1],
        "The next one has fewer than 60 below the line.": lambda: best_by_denominator(pi, 59)[-1] == F(179, 57),
        "179/57, and better by 7 ppm only From there each step is a little nearer.": lambda: (
            best_by_denominator(pi, 60)[-2:] == [F(22, 7), F(179, 57)]
            and reads("7", ppm(22 / 7, pi) + ppm(179 / 57, pi))
        ),
        "355/113, right to six decimals": lambda: f"{355 / 113:.7f}"[:8] == f"{pi:.7f}"[:8] == "3.141592",
        "113 is prime": lambda: all(113 % below for below in range(2, 113)),
        "For module 1.5 the way over 11/7 is 402 ppm too long.": lambda: reads("402", ppm(11 / 7 * 3, 1.5 * pi)),
        "more than five times as near: +71.8 ppm": lambda: (
            reads("71.8", ppm(float(WORM), 1.5 * pi)) and ppm(22 / 7, pi) > 5 * ppm(float(WORM), 1.5 * pi)
        ),
        r"$$ \delta = e\,\ell = \frac{71.8}{1\,000\,000} \cdot 25\ \text{mm} = 0.0018\ \text{mm} $$": lambda: reads(
            "0.0018", ppm(float(WORM), 1.5 * pi) / 10**6 * 25
        ),
        "Two decimals of π are 507 ppm out": lambda: reads("-507", ppm(3.14, pi)),
        "A worm with two starts has twice the lead": lambda: (
            gc.Thread.parse("module 1.5 2 starts").lead_mm == 2 * gc.Thread.parse("module 1.5").lead_mm
        ),
        "The warning above comes where the leadscrew turns more than three times for one turn of the spindle. Two "
        "starts take 3.14 turns. One start takes 1.57, so there is no warning.": lambda: (
            reads("1.57", WORM / 3)
            and reads("3.14", 2 * WORM / 3)
            and not gc.find_setups(METRIC, "module 1.5", count=1)[0].warnings
            and "more than 3 times" in gc.find_setups(METRIC, "module 1.5 2 starts", count=1)[0].warnings[0]
        ),
        "40° between the flanks: a **pressure angle** of 20°, half of that": lambda: 40 / 2 == 20,
        r"$P = \pi m$, or $25.4\,\pi/\mathrm{DP}$ mm": lambda: isclose(25.4 / 20, 1.27),  # 20 DP is module 1.27
        "put 22/7 in, find the hard primes, then the rest. That is 402 ppm over; three pairs of our box come five "
        "times nearer": lambda: reads("402", ppm(22 / 7, pi)) and ppm(22 / 7, pi) > 5 * abs(ppm(float(WORM), 1.5 * pi)),
    }
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "06": ("You know 22/7.", "5th century", "**3.14.**", "29° between them is the old inch form", "say 25 mm",
           "**Put 22/7 in for π.**", "Beat 22/7", "up from 7"),
}  # fmt: skip
"""Numbers in the same lessons that state nothing: what is asked for, agreed on, or quoted from somebody."""
