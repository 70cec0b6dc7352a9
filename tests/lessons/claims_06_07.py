"""What lessons 06 and 07 claim in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from itertools import combinations, permutations, product
from math import acos, atan2, cos, degrees, isclose, pi, radians, tan

import gearcalc as gc
from tests.lessons.reckoning import ACROSS, APART, MODULE, PLAY, UP, best_by_denominator, centres, ppm, ratio, reads

F = Fraction
INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
WORM = F(72 * 60 * 48, 40 * 66 * 50) * 3  # what the metric lathe cuts for module 1.5, mm


def of_two_pairs() -> set[Fraction]:
    """Every ratio of two pairs of the metric lathe's box, under each of its levers."""
    gears, levers = sorted(METRIC.gears), set(METRIC.levers.values())
    sides = {pair: pair[0] * pair[1] for pair in combinations(gears, 2)}
    return {
        lever * F(above, below)
        for (one, above), (other, below) in product(sides.items(), repeat=2)
        if all((one + other).count(teeth) <= gears.count(teeth) for teeth in one)
        for lever in levers
    }


SHAFT, CLEAR = 7, 0.5  # of the inch lathe, mm
BEARING = degrees(atan2(UP, ACROSS))


FIRST, SECOND = centres(30, 60) + PLAY, centres(40, 80) + PLAY  # of the train that is set by hand
THETA = degrees(acos((APART**2 + SECOND**2 - FIRST**2) / (2 * APART * SECOND)))


def margins(a: int, b: int, c: int, d: int) -> tuple[int, int]:
    """Each pair, less the gear beside it: first driver, first driven, second driver, second driven."""
    return a + b - c, c + d - b


def passes_thumb(*order: int) -> bool:
    return min(margins(*order)) > 15


def goes_on(*order: int) -> bool:
    """By the lathe's own number, and by reach: for gears of the eight, nothing else stops them."""
    return min(margins(*order)) > 14 and centres(*order[:2]) + centres(*order[2:]) + 2 * PLAY >= APART


@cache
def orders_of_eight() -> tuple[tuple[int, int, int, int], ...]:
    """Every order of four gears out of the eight of lesson 07."""
    return tuple(permutations((20, 25, 30, 40, 50, 60, 65, 80), 4))


def counted(rule: bool, on: bool) -> int:
    return sum((passes_thumb(*each), goes_on(*each)) == (rule, on) for each in orders_of_eight())


def fits(a: int, b: int, c: int, d: int) -> bool:
    """In just that order, with no gear but its own, by the package."""
    train = gc.Train((a, c), (b, d))
    return gc.fit(INCH.with_gears(add=train.gears, remove=INCH.gears), train, keep_order=True).goes_on


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "06": {
        "only turn down what is more than 1000 ppm out (our convention)": lambda: (
            gc.judge("DP 24", 1001).fails and not gc.judge("DP 24", 1000).fails
        ),
        "module 2. So its pitch circle is 60 mm across": lambda: 30 * 2 == 60,
        "a bit over 6 mm: 2 · π, about 6.283 mm": lambda: reads("6.283", 60 * pi / 30),
        r"which is $25.4\,\pi/\mathrm{DP}$ mm": lambda: isclose(
            float(gc.Thread.parse("DP 12").lead_mm), 25.4 * pi / 12
        ),
        "Our leadscrew has a lead of 3 mm. Let the worm be module 1.": lambda: METRIC.leadscrew_lead_mm == 3,
        "Our box holds 20, 24, 30, 32, 36, two 40s, 48, 50, 56, 60, 64, 66, 72, 80, 100 and 127.": lambda: (
            sorted(METRIC.gears) == [20, 24, 30, 32, 36, 40, 40, 48, 50, 56, 60, 64, 66, 72, 80, 100, 127]
        ),
        "The leadscrew gives 3 mm a turn. So the gears must make π/3, the lever at *fast*, turn for turn.": lambda: (
            isclose(float(gc.Thread.parse("module 1").lead_mm) / 3, pi / 3) and METRIC.levers["fast"] == 1
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
        "The 402 ppm were the fault of 22/7, not of two pairs: for module 1 the two pairs (72 · 48)/(50 · 66) come as "
        "near. For module 1.5 this box needs a third pair.": lambda: (
            {72, 48, 50, 66} <= set(METRIC.gears)
            and reads("71.8", ppm(ratio((72, 48), (50, 66)) * 3, pi))
            and reads("402", ppm(22 / 7, pi))
            and min(abs(ppm(each * 3, 1.5 * pi)) for each in of_two_pairs()) > 400
        ),
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
        "put 22/7 in, find the hard primes, then the rest. That is 402 ppm over; the search, which keeps π, comes "
        "five times nearer": lambda: (
            reads("402", ppm(22 / 7, pi)) and ppm(22 / 7, pi) > 5 * abs(ppm(float(WORM), 1.5 * pi))
        ),
    },
    "07": {
        "I put the gears on just as it is written, and they would not go together. My mate put on the same four in "
        "another order, and they went on at once.": lambda: not fits(40, 80, 30, 60) and fits(30, 60, 40, 80),
        "the module is 25.4 mm / DP": lambda: F("25.4") / 20 == F("1.27"),
        "neither: it is 75 mm both times": lambda: centres(40, 80) == centres(60, 60) == 75,
        "With the play the centres are 56.5 mm and 75.3 mm apart, and $D$ is 106.5 mm. So $\\theta = 30.5°$. The "
        "spindle side lies at 118.0°, anticlockwise from a line to the right. So the stud stands at 148.5°. The slot "
        "lies at 180°, so the bracket swings by −31.5°.": lambda: all(
            reads(*each)
            for each in (
                ("56.5", FIRST),
                ("75.3", SECOND),
                ("106.5", APART),
                ("30.5", THETA),
                ("118.0", BEARING),
                ("148.5", BEARING + THETA),
                ("-31.5", BEARING + THETA - 180),
            )
        ),
        "*First stud* reads 45.3: it counts from the slot's near end, 30 mm from the pivot.": lambda: (
            reads("45.3", SECOND - 30) and INCH.bracket.slots[0].from_mm == (-30, 0)
        ),
        "(The mirrored triangle closes too, but so far this bracket can't swing.)": lambda: (
            BEARING - THETA - 180 < -75 == float(INCH.bracket.swing_deg[0])
        ),
        "- the first pair together must have more teeth than the second driver + 15;\n- the second pair together must "
        "have more teeth than the first driven + 15.": lambda: all(
            gc.rule_of_thumb(gc.Train((a, c), (b, d))).passes == passes_thumb(a, b, c, d)
            for a, b, c, d in orders_of_eight()[::97]
        ),
        "40 and 30 are 70, and beside them sits the 80. The last order keeps both halves.": lambda: (
            40 + 30 == 70
            and margins(20, 80, 40, 30)[1] < 15 < margins(20, 80, 40, 30)[0]
            and passes_thumb(40, 30, 20, 80)
        ),
        "On this lathe half the shaft is 7 mm, $c$ is 0.5 mm and $m$ is 1.25 mm. So $k$ is 14.": lambda: (
            2 + 2 * (SHAFT + CLEAR) / MODULE == 14
            and (INCH.bracket.shaft_radius_mm, INCH.bracket.running_clearance_mm, INCH.module_mm)
            == (SHAFT, CLEAR, MODULE)
        ),
        "each mesh is 0.27 mm farther apart": lambda: (
            reads("0.27", PLAY) and isclose(2 * PLAY * tan(radians(20)), INCH.bracket.backlash_mm)
        ),
        "its play makes it reach, by 0.3 mm": lambda: (
            reads("0.3", centres(20, 60) + centres(65, 25) + 2 * PLAY - APART)
            and centres(20, 60) + centres(65, 25) < APART
        ),
        "(40 · 30)/(80 · 60). The second pair has 90 teeth, only 10 more than the 80 beside it. The 80 fouls the last "
        "shaft, by 1.7 mm. In (30 · 40)/(80 · 60) that pair has 100 teeth, 20 more: it goes on.": lambda: (
            margins(40, 80, 30, 60)[1] == 10
            and reads("1.7", MODULE * (80 / 2 + 1) + SHAFT - FIRST)  # the tips of the 80 and the shaft, in that room
            and margins(30, 80, 40, 60)[1] == 20
            and fits(30, 80, 40, 60)
            and not fits(40, 80, 30, 60)
        ),
        "in one straight row the gears are shorter than from shaft to shaft": lambda: (
            passes_thumb(20, 30, 25, 40) and centres(20, 30) + centres(25, 40) + 2 * PLAY < APART
        ),
        "one that it turns down, by a single tooth. It goes on: this lathe asks for 14, not for 15,": lambda: (
            min(margins(20, 60, 65, 25)) == 15 and goes_on(20, 60, 65, 25) and fits(20, 60, 65, 25)
        ),
        "four gears out of eight (20, 25, 30, 40, 50, 60, 65, 80): 1680 trains.\n\n"
        "| the rule says | it goes on | it does not |\n|---|---|---|\n"
        "| yes | 644 | 176, all of them too short |\n| no | 84 | 776 |": lambda: (
            len(orders_of_eight()) == 1680
            and [counted(*each) for each in ((True, True), (True, False), (False, True), (False, False))]
            == [644, 176, 84, 776]
            and all(fits(*each) == goes_on(*each) for each in orders_of_eight()[::41])
        ),
        "less than 1 mm: 0.73 mm Flanks lean, and two flanks make a gap: twice tan 20°.": lambda: reads(
            "0.73", 2 * tan(radians(20))
        ),
        "*About 0.1 mm, or four thousandths of an inch, of clearance*": lambda: reads("0.1", 0.004 * 25.4),
        r"\frac{2 \cdot 0.1\ \text{mm}}{\cos 20°} = 0.21\ \text{mm}": lambda: reads("0.21", 0.2 / cos(radians(20))),
    },
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "06": ("You know 22/7.", "5th century", "**3.14.**", "29° between them is the old inch form", "say 25 mm",
           "**Put 22/7 in for π.**", "Beat 22/7", "such as 2*pi/3",
           "up from 7", "some 7 minutes"),
    "07": ("All gears are of module 1.25 mm.", "$m\\,(z_2/2+1)$", "See why it is 15", "The pressure angle is 20°.",
           "the gear beside it + 15", "from centre to centre", "some 7 minutes"),
}  # fmt: skip
"""Numbers in the same lessons that state nothing: what is asked for, agreed on, or quoted from somebody."""
