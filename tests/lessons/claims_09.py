"""What lesson 09 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise, permutations
from math import ceil

from tests.lessons.reckoning import APART, MODULE, PLAY, SCREW, centres, reads

F = Fraction


def fewest_changes(gears: Sequence[tuple[int, int]], mounted: tuple[int, int]) -> int:
    """How often the gears change over all jobs in the best of all orders, by trying every one."""
    return min(changes(order, mounted) for order in permutations(gears))


def changes(order: Sequence[tuple[int, int]], mounted: tuple[int, int]) -> int:
    return sum(before != after for before, after in pairwise((mounted, *order)))


JOBS = {"12": (60, "middle"), "20": (50, "low"), "24": (60, "low"), "16": (80, "middle"), "10": (50, "middle"),
        "32": (80, "low")}  # fmt: skip
"""Threads per inch, with the driven gear (the driver is 40) and the lever."""
LEVERS = {"low": F(1, 2), "middle": F(1)}
PAIRS = [(40, driven) for driven, _ in JOBS.values()]


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "09": {
        "2 gears A 60 in place of the 80 no longer reaches with an idler of 25. So the idler has to grow": lambda: (
            centres(40, 25) + centres(25, 60) + 2 * PLAY < APART <= centres(40, 25) + centres(25, 80) + 2 * PLAY
        ),
        "a fixed distance $D$ apart, 106.47 mm": lambda: reads("106.47", APART),
        "module 1.25 mm": lambda: MODULE == 1.25,
        "With an idler of 25 it is 40.625 + 53.125 = 93.75 mm: far too short. With 35 it is 46.875 + 59.375 = 106.25 "
        "mm, and 0.27 mm of play at each mesh makes it 106.8 mm. Only just.": lambda: (
            (centres(40, 25), centres(25, 60), 40.625 + 53.125) == (40.625, 53.125, 93.75)
            and (centres(40, 35), centres(35, 60), 46.875 + 59.375) == (46.875, 59.375, 106.25)
            and reads("0.27", PLAY)
            and reads("106.8", 106.25 + 2 * PLAY)
            and 106.25 < APART < 106.25 + 2 * PLAY
        ),
        "For 32 tpi *no gear at all* has to move.": lambda: F(40, 80) * F(1, 2) * SCREW == F("25.4") / 32,
        "| job | 12 tpi | 20 tpi | 24 tpi | 16 tpi | 10 tpi | 32 tpi |\n|---|---|---|---|---|---|---|\n| gears | "
        "40/60 | 40/50 | 40/60 | 40/80 | 40/50 | 40/80 |\n"
        "| lever | middle | low | low | middle | middle | low |": lambda: all(
            F(40, driven) * LEVERS[lever] * SCREW == F("25.4") / int(threads)
            for threads, (driven, lever) in JOBS.items()
        ),
        "twice; as they came in, six times": lambda: (
            fewest_changes(PAIRS, (40, 80)) == 2 and changes(PAIRS, (40, 80)) == 6
        ),
        "2 gears The 46 stands next to the headstock. The second driver of 40, in front of it, is only **in the": (
            lambda: (
                F(40 * 40, 46 * 50) * SCREW == F("25.4") / F("11.5") and F(40 * 40, 60 * 50) * SCREW == F("25.4") / 15
            )
        ),
        "8/3 turns, so 3 at the machine": lambda: 1 / min(F(1), F(3, 8), F(1, 2)) == F(8, 3) and ceil(F(8, 3)) == 3,
        r"n_\text{stud} = \frac{30}{80} = \frac{3}{8} \qquad n_\text{last} = \frac{3}{8} \cdot \frac{60}{45} = "
        r"\frac{1}{2}": lambda: F(30, 80) == F(3, 8) and F(3, 8) * F(60, 45) == F(1, 2),
        "The slowest makes 3/8 of a turn, so it takes 8/3 turns of the chuck.": lambda: 1 / F(3, 8) == F(8, 3),
        "One tooth count changed, and two gears came off": lambda: (
            [before != after for before, after in zip((40, 46, 40, 50), (40, 60, 40, 50), strict=True)].count(True) == 1
        ),
        "60/40 for 40/60: upside down, and 2.25 times the lead that was meant.": lambda: (
            F(60, 40) / F(40, 60) == F("2.25")
        ),
    }
}
"""A piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "09": (
        "the next job is 12",
        "plane 1 next",
        "plane 2 in front",
        "Mounted is 40/80 with an idler of 25",
        "of some 7 minutes",
    )
}
"""Numbers that state nothing: what is asked for, agreed on, or quoted from somebody."""
