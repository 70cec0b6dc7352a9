"""What lesson 09 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from math import hypot, radians, tan

import gearcalc as gc
from gearcalc.learning.explorers.change_over import change_view
from tests.lessons.reckoning import reads

F = Fraction
INCH = gc.demo_lathe("inch")
SCREW = F("25.4") / 8  # of the inch lathe, mm
MODULE = 1.25  # mm
APART = hypot(50, 94)  # from shaft to shaft, mm
PLAY = 0.2 / (2 * tan(radians(20)))


def centres(one: int, other: int) -> float:
    return MODULE * (one + other) / 2


def turns_to_tell(one: float, other: float, limit: float) -> int:
    """The first whole number of turns that is more than twice the limit over the difference."""
    return int(round(2 * limit / abs(one - other), 9)) + 1


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "09": {
        "Two, not one! The smaller driven gear no longer reaches.": lambda: (
            centres(40, 25) + centres(25, 60) + 2 * PLAY < APART <= centres(40, 35) + centres(35, 60) + 2 * PLAY
        ),
        "the module $m$ = 1.25 mm and 0.27 mm of play": lambda: MODULE == 1.25 and reads("0.27", PLAY),
        "there is a train for 12 tpi that keeps the 25, and for 32 tpi *no gear at all* has to move": lambda: (
            F(80, 60) * F(1, 2) * SCREW == F("25.4") / 12 and F(40, 80) * F(1, 2) * SCREW == F("25.4") / 32
        ),
        "The 46 stands next to the headstock, the second driver of 40 in front of it: see the edge view, headstock at "
        "the top. That 40 does not change, yet": lambda: (
            F(40 * 40, 46 * 50) * SCREW == F("25.4") / F("11.5") and F(40 * 40, 60 * 50) * SCREW == F("25.4") / 15
        ),
        "For 32 tpi only the lever moves, and the cover is opened only if a lever or the belt is reached under it": (
            lambda: all(
                bool(row["cover open"]) == bool(row["only if"])
                for row in change_view(INCH, mounted="40/80", wanted="32 tpi").picture.table
            )
        ),
        "A card for a change of gears has thirteen steps.": lambda: (
            len(
                gc.change_card(
                    INCH, to=gc.setup(INCH, 40, 60, "middle"), mounted=gc.setup(INCH, 40, 80, "middle")
                ).steps
            )
            == 13
        ),
        r"n = 1,\ \tfrac{30}{80} = \tfrac{3}{8},\ \tfrac{3}{8} \cdot \tfrac{60}{45} = \tfrac{1}{2} \quad\Rightarrow"
        r"\quad N = \tfrac{8}{3} \approx 2.67": lambda: (
            F(30, 80) == F(3, 8)
            and F(3, 8) * F(60, 45) == F(1, 2)
            and 1 / min(F(1), F(3, 8), F(1, 2)) == F(8, 3)
            and reads("2.67", F(8, 3))
        ),
        "to tell 20 tpi from 1.25 mm takes $n > 0.2/0.02 = 10$ turns, so 11.": lambda: (
            F("25.4") / 20 - F("1.25") == F("0.02")
            and F("0.2") / F("0.02") == 10
            and turns_to_tell(1.27, 1.25, 0.1) == 11
        ),
        "One tooth count changed from 11 1/2 to 15 tpi, and two gears came off": lambda: (
            F(40 * 40, 46 * 50) * SCREW == F("25.4") / F("11.5") and F(40 * 40, 60 * 50) * SCREW == F("25.4") / 15
        ),
        "the 60 of a 40/60 has gone round by two thirds: 20 of its 60 teeth have not been in mesh yet": lambda: (
            F(40, 60) == F(2, 3) and 60 - 40 == 20
        ),
        "A pair put on upside down turns $a/b$ into $b/a$, so the lead measured is $(b/a)^2$ times the one "
        "wanted": lambda: F(60, 40) / F(40, 60) == F(60, 40) ** 2,
    }
}
"""A piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "09": ("the next job is 12", "plane 1 is next", "plane 2 in front", "$u$ = 0.1 mm")
}
"""Numbers that state nothing: what is asked for, agreed on, or quoted from somebody."""
