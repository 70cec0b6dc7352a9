"""What lesson 10 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

import gearcalc as gc
from gearcalc.cutting.scratch_passes import scratch_check
from tests.lessons.reckoning import reads

F = Fraction
INCH = F("25.4")
TWENTY = INCH / 20


def leads_left(length: str, turns: int, limit: str) -> tuple[Fraction, Fraction]:
    return (F(length) - F(limit)) / turns, (F(length) + F(limit)) / turns


def turns_that_tell(one: Fraction, other: Fraction, limit: str) -> int:
    """Turn by turn, until no reading is left that may be of either."""
    turns = 1
    while turns * max(one, other) - F(limit) <= turns * min(one, other) + F(limit):
        turns += 1
    return turns


LATHE = gc.demo_lathe("metric")
MEANT = gc.setup(LATHE, 50, 60, "medium", idlers=40, wanted="1.25 mm")


def kinds_of(length: str) -> set[str]:
    """The slips that the list names for ten turns of that length, in mm, ± 0.2."""
    return {found.kind for found in gc.explain_wrong_lead(MEANT, F(length) / 10, F("0.02"))}


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "10": {
        "By my rule ten turns are 12.6 mm. Is that 1.25 mm? Or did I cut 20 threads per inch, which is 1.27?": lambda: (
            leads_left("12.6", 10, "0.25") == (F("1.235"), F("1.285")) and F("1.235") < F("1.25") < TWENTY == F("1.27")
        ),
        "1.3125 mm The length is 5.25 mm at most. Over four turns, that is 1.3125 mm a turn.": lambda: (
            leads_left("5", 4, "0.25")[1] == F("1.3125") and 4 * F("1.3125") == F("5.25")
        ),
        "a thread of 1.25 mm has 12.5 mm in ten turns and 25 mm in twenty": lambda: (
            (10 * F("1.25"), 20 * F("1.25")) == (F("12.5"), 25)
        ),
        "16 threads in an inch are 16 turns over 25.4 mm": lambda: (
            gc.judge_measurement("16 tpi", turns=16, length_mm=25.4, uncertainty_mm=0.001).agrees
        ),
        "Here are the ten turns from the shop, and then 26 turns with the same rule": lambda: (
            turns_that_tell(F("1.25"), TWENTY, "0.25") == 26
            and leads_left("32.6", 26, "0.25")[0] <= F("1.25") <= leads_left("32.6", 26, "0.25")[1] < TWENTY
        ),
        "If the reading happens to be just right, 13 turns will do. However unlucky it is, 26 will.": lambda: (
            12 * (TWENTY - F("1.25")) < F("0.25") < 13 * (TWENTY - F("1.25"))
            and turns_that_tell(F("1.25"), TWENTY, "0.25") == 26
        ),
        "1.25 mm and 20 tpi lie 0.02 mm apart.": lambda: TWENTY - F("1.25") == F("0.02"),
        "6 turns Twice 0.05 mm over 0.02 mm is 5.": lambda: (
            2 * F("0.05") / F("0.02") == 5 and turns_that_tell(F("1.25"), TWENTY, "0.05") == 6
        ),
        "With the rule it is $2 \\cdot 0.25 / 0.02 = 25$, so 26.": lambda: 2 * F("0.25") / F("0.02") == 25,
        "with ± 0.1 mm: more than 10 turns, so 11. Its steps are 1, 2, 5, 10, 20, 50, so for 1.25 mm it asks for 20. "
        "With a rule of ± 0.25 mm take 26.": lambda: (
            2 * F("0.1") / F("0.02") == 10
            and turns_that_tell(F("1.25"), TWENTY, "0.1") == 11
            and scratch_check(MEANT).turns == 20
            and turns_that_tell(F("1.25"), TWENTY, "0.25") == 26
        ),
        "pair upside down, or a driver exchanged with the driven gear of another pair | (that driven gear ÷ that "
        "driver)², teeth": lambda: (
            F(60 * 40, 30 * 50) / F(50 * 40, 30 * 60) == F(60, 50) ** 2  # 50 drives 30, 40 drives 60: 50 for 60
        ),
        "idler counts, as driven gear | driven gear ÷ idler, teeth": lambda: F(50, 40) / F(50, 60) == F(60, 40),
        "1.27 mm and 20 tpi are one and the same lead.": lambda: F("1.27") == TWENTY,
        "Ten turns of 18 mm are a lead of 1.8 mm. Measured over meant is 1.8/1.25 = 1.44, and (60/50)² = 1.44.": (
            lambda: F(18, 10) / F("1.25") == F("1.44") == F(60, 50) ** 2
        ),
        "\\frac{60/50}{50/60} = \\left(\\frac{60}{50}\\right)^2 = 1.44": lambda: F(60, 50) / F(50, 60) == F("1.44"),
        "The right pair makes $z_\\text{driver}/z_\\text{driven}$, here 50/60. Upside down it makes 60/50.": lambda: (
            F(50, 60) * F(60, 50) == 1 and 3 * F(50, 60) * F(1, 2) == F("1.25")  # 3 mm leadscrew, lever 1/2
        ),
        "It shows ten turns of 25 mm: which slip is that?": lambda: 3 * F(50, 60) * 1 == F(25, 10),  # lever 1
        "But one number may belong to several slips, as you saw at 25 mm.": lambda: (
            3 * F(50, 60) == 3 * F(50, 20) * F(40, 60) / 2 == 3 * F(50, 40) * F(80, 60) / 2 == F("2.5")
        ),  # lever at 1; or at 1/2 with 20 or 80 beside the idler of 40
        "18 the pair, 10 the idler, 15 the gears of 1.5 mm. 12.7 is the gears of 20 tpi, or nothing wrong at all: ten "
        "turns at ± 0.2 mm can't tell. 25 is the lever at fast. For some of them the list names others that do the "
        "same.": lambda: (
            [len(kinds_of(length)) for length in ("18", "10", "15", "12.7", "25")] == [1, 2, 2, 3, 2]
            and kinds_of("12.7") == {"inch and metric", "nothing wrong", "wrong hand"}
            and 3 * F(60, 50) / 2 == F("1.8")
            and F("1.27") == TWENTY
            and 3 * F(40, 60) / 2 == 1  # the idler as the driver
            and F(15, 10) == F("1.5")
            and dict(gc.demo_lathe("metric").levers)["fast"] * 3 * F(50, 60) == F("2.5")
        ),
        "From the first crest to the tenth there are **nine** turns.": lambda: (
            len(range(1, 10)) == 9 and 9 * F("1.25") == F("11.25")
        ),
        "A nut 8 mm high grips about six turns. Over six turns 1.25 mm and 20 tpi part by only 0.12 mm.": lambda: (
            reads("6", 8 / 1.25) and 6 * (TWENTY - F("1.25")) == F("0.12")
        ),
        "They lie 0.0875 mm apart, and 0.5/0.0875 is 5.7.": lambda: (
            INCH / 16 - F("1.5") == F("0.0875")
            and reads("5.7", 0.5 / 0.0875)
            and turns_that_tell(F("1.5"), INCH / 16, "0.25") == 6
        ),
    }
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "10": (
        "I set the lathe up for 1.25 mm", "Three turns of another thread read 6.2 mm.", "± 0.25 mm", "± 0.05 mm",
        "the rule reads 5.0 mm", "Set 4 turns and 5 mm.",
        "Type 18, then 12.7, 10 and 15.", "± 0.1 mm", "Then change 0.1 to", "Meant was 1.25 mm",
        "driver 50, driven gear 60, an idler of 40", "Ten turns measure 18.0 mm, ± 0.2 mm.", "some 7 minutes each",
    ),
}  # fmt: skip
"""Numbers in the same lesson that state nothing: what is asked for, agreed on, or quoted from somebody."""
