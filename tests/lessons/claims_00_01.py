"""What lessons 00 and 01 claim in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

import gearcalc as gc
from tests.lessons.reckoning import LEVERS, SCREW

F = Fraction
INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")

CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "00": {
        "M20 has that pitch.": lambda: gc.Thread.parse("M20").lead_mm == F("2.5"),
        "2.5 mm is less than 3 mm. So the leadscrew must make less than one turn": lambda: (
            METRIC.leadscrew_lead_mm == 3 and gc.find_setups(METRIC, "M20", count=1)[0].leadscrew_turns == F("2.5") / 3
        ),
    },
    "01": {
        r"L_\text{leadscrew} = \frac{25.4\ \text{mm}}{8} = 3.175\ \text{mm}": lambda: F("3.175") == SCREW,
        "A rounded 3.18 is off by 0.005 mm in every turn, and by half a millimetre after a hundred.": lambda: (
            F("3.18") - SCREW == F("0.005") and 100 * F("0.005") == F(1, 2)
        ),
        "3.175 mm Eight threads share one inch of 25.4 mm.": lambda: F("25.4") / 8 == F("3.175"),
        "1/2 40 of its 80 teeth go past: half a turn.": lambda: F(40, 80) == F(1, 2),
        "While the driver turns once, 40 of its teeth go past there, and so do 40 of the driven gear. That one has 80, "
        "so it makes $40/80 = 1/2$ turn.": lambda: F(40, 80) == F(1, 2),
        "A larger driver makes the thread coarser. A larger driven gear makes it finer.": lambda: (
            F(41, 80) > F(40, 80) > F(40, 81)
        ),
        "Half the lead goes into an inch twice as often.": lambda: F("25.4") / (SCREW / 2) == 2 * 8,
        r"8\cdot\frac{80}{40} = 16": lambda: (
            8 * F(80, 40) == 16 == F("25.4") / gc.setup(INCH, 40, 80, "middle").lead_mm
        ),
        r"40\cdot\frac{12}{8} = 60": lambda: (
            40 * F(12, 8) == 60 and gc.setup(INCH, 40, 60, "middle").lead_mm == F("25.4") / 12
        ),
        "60 teeth Fewer than 80: 12 tpi is coarser than 16, so the same 40 teeth must turn the leadscrew": lambda: (
            60 < 80 and F(1, 12) > F(1, 16) and F(40, 60) > F(40, 80)
        ),
        "*low* gives the leadscrew half a turn for each turn of that gear, *middle* one turn, *high* two": lambda: (
            dict(INCH.levers) == dict(zip(("low", "middle", "high"), LEVERS, strict=True))
        ),
        "24, 12 and 6 tpi Half a turn, one turn, two turns. Three threads": lambda: (
            [8 * F(60, 40) / lever for lever in LEVERS] == [24, 12, 6]
        ),
        "Four threads in an inch instead of sixteen.": lambda: (8 / F(80, 40), 8 / F(40, 80)) == (4, 16),
        "16 tpi is eight spaces in half an inch, so nine marks": lambda: 16 * F(1, 2) == 8 and len(range(8 + 1)) == 9,
        "`M16xPh3P1.5` says it plainly: lead (Ph) 3, pitch (P) 1.5.": lambda: (
            gc.Thread.parse("M16xPh3P1.5").lead_mm == 3 == 2 * F("1.5")
        ),
    },
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "01": (
        "An inch is 25.4 mm",
        "*+ 1 tooth*",
        "| 2, 4, … (even)",
        "| 1, 3, … (odd)",
        "A gear of 40 teeth is on",
        "of some 7 min",
    )
}
"""Numbers in the same lessons that state nothing: what is asked for, agreed on, or quoted from somebody."""
