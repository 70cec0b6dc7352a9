"""What lesson 12 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import isclose, prod, sqrt

import gearcalc as gc
from gearcalc.basics.files import notebooks_folder
from tests.lessons.reckoning import ppm, reads, trains

F = Fraction
INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
SCREW = F("25.4") / 8  # of the inch lathe, mm


CORNER = (24, 28, 32, 36, 40, 40, 44, 48, 52, 60, 66, 72, 80)  # the box of the lathe in lesson 12, levers 1 and 1/3
WISH = {"M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1, "M8": 1.25, "M10": 1.5, "M12": 1.75, "M16": 2}


@cache
def corner_leads(*added: int) -> frozenset[float]:
    """What that lathe cuts with one pair or two; with gears added, what it cuts with one of those in the train."""
    box = (*CORNER, *added)
    return frozenset(
        prod(drivers) / prod(driven) * lever * 25.4 / 6
        for pairs in (1, 2)
        for drivers, driven in trains(box, pairs)
        if not added or any(teeth in drivers or teeth in driven for teeth in added)
        for lever in (1, 1 / 3)
    )


def opened(most_ppm: float, *added: int) -> set[str]:
    """The threads of the list that come so near, with these gears added."""
    leads = corner_leads() | corner_leads(*added)
    return {name for name, lead in WISH.items() if any(abs(ppm(each, lead)) <= most_ppm for each in leads)}


def widest_gap() -> tuple[int, float]:
    """How many different leads lie from 0.25 to 6 mm, and how far off the worst of all leads between is, in ppm."""
    leads = sorted({round(lead, 9) for lead in corner_leads()})
    inside = [lead for lead in leads if 0.25 <= lead <= 6]
    return len(inside), max((b - a) / (b + a) * 10**6 for a, b in pairwise(inside))


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "12": {
        "a file of some twenty lines": lambda: 18 <= lines_of_the_file() <= 24,
        "25.4 / 20 = 1.27 mm! A difference of 1.6 %: over the tips of a 66 that is 1.4 mm": lambda: (
            F("25.4") / 20 == F("1.27") and reads("1.6", 100 * (1.27 / 1.25 - 1)) and reads("1.4", (66 + 2) * 0.02)
        ),
        "All three say 1.25 mm": lambda: all(
            abs(over / (teeth + 2) - 1.25) < 0.01 for teeth, over in ((28, 37.4), (40, 52.4), (66, 84.9))
        ),
        "So with 8 tpi and a constant of 16, $s$ = 8/16 = 1/2.": lambda: (
            F(8, 16) == F(1, 2) and F("25.4") / (SCREW * F(1, 2)) == 16
        ),
        "4.225 mm is no lead that anybody makes. 6 tpi, which is 25.4 / 6 = 4.2333 mm, lies within what the rule can "
        "tell, and no other whole number does.": lambda: (
            F("84.5") / 20 == F("4.225")
            and reads("4.2333", 25.4 / 6)
            and [tpi for tpi in range(1, 41) if abs(25.4 / tpi - 4.225) <= 0.25 / 20] == [6]
        ),
        "Lever at A: 24 turns of the spindle move the carriage by 50.8 mm. Lever at B: by 17 mm.": lambda: (
            reads("1.0", 50.8 / 24 / (25.4 / 6 * 40 / 80)) and reads("0.335", 17 / 24 / (25.4 / 6 * 40 / 80))
        ),
        "1, and nearly 1/3.": lambda: abs(17 / 24 / (25.4 / 6 * 40 / 80) - 1 / 3) < 0.003,
        "write `1/3` in the file, never 0.335.": lambda: reads("0.335", 17 / 24 / (25.4 / 6 * 40 / 80)),
        "while the last driven gear turns 24 times. At B: 8 times, and 8/24 is 1/3.": lambda: F(8, 24) == F(1, 3),
        "The notepad says 105.5 mm from shaft to shaft, and 94 mm up.": lambda: reads("47.9", sqrt(105.5**2 - 94**2)),
        "how many different leads do 13 gears and two levers cut?": lambda: (
            len(CORNER) == 13 and widest_gap()[0] > 1000
        ),
        "So nothing is sampled: every gap is looked at, and the largest $e$ is the worst of all leads.": lambda: (
            isclose(widest_gap()[1], gc.coverage(corner(), 0.25, 6).worst.ppm, rel_tol=1e-6)
        ),
        "29, 77 and 95, say, and then all eight are within 28 ppm. No two gears of 20 to 100 teeth do it.": lambda: (
            len(opened(28, 29, 77, 95)) == 8
            and len(gc.gears_to_add(corner(), WISH, within_ppm=50, candidates=range(20, 101), must_fit=False).gears)
            == 3
        ),
        "The 127 alone does not do: it opens seven, but for M8 the box lacks a partner for it.": lambda: (
            WISH.keys() - opened(50, 127) == {"M8"}
            and not any(abs(ppm(each, lead)) <= 50 for each in corner_leads() for lead in WISH.values())
        ),
        "With three pairs (`meshes=(1, 2, 3)`) the 127 alone would do.": lambda: (
            any(
                abs(ppm(prod(drivers) / prod(driven) * lever * 25.4 / 6, WISH["M8"])) <= 50  # all others have two
                for drivers, driven in trains((*CORNER, 127), 3)
                for lever in (1, 1 / 3)
            )
            and gc.gears_to_add(corner(), list(WISH), 50, 1, [127], meshes=(1, 2, 3)).serves_all  # on the bracket
        ),
        "Try every single gear: for each of the 108 from 20 to 127 teeth, some thread is left out.": lambda: (
            len(range(20, 128)) == 108 and all(len(opened(50, teeth)) < len(WISH) for teeth in range(20, 128))
        ),
        "With a single 34 all eight are within 500 ppm": lambda: len(opened(500, 34)) == len(WISH) == 8,
        "463 ppm would be 139 µm in 300 mm": lambda: reads("139", 463 * 300 / 1000),
        "3 written for 1/3: on paper every lead comes out nine times too long.": lambda: 3 / F(1, 3) == 9,
        "39 for 40 is 2.5 %, or 25 000 ppm, six times what M10 can bear.": lambda: (
            F(40 - 39, 40) == F("0.025")
            and F("0.025") * 10**6 == 25_000
            # 132 µm of class 6g, half of it for the pitch, over 10 mm with cot 30° = 1.732: 3811 ppm.
            and int(25_000 / (132e-6 / 2 / 10e-3 / 3**0.5 * 1e6)) == 6
        ),
    }
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""


def lines_of_the_file() -> int:
    cells = json.loads((notebooks_folder() / "12_your_own_lathe.ipynb").read_text(encoding="utf-8"))["cells"]
    pieces = (re.findall(r'^text \+?= """\n(.*?)"""', "".join(cell["source"]), re.M | re.S) for cell in cells)
    return sum(text.count("\n") for found in pieces for text in found)


def corner() -> gc.Lathe:
    teeth = re.sub(r"[()]", "", str(CORNER))
    levers = "".join(
        f'[[gearbox]]\nlever = "{name}"\nratio = "{ratio}"\n' for name, ratio in (("A", "1"), ("B", "1/3"))
    )
    return gc.Lathe.from_toml(f'name = "Corner"\nleadscrew.lead = "6 tpi"\ngears.teeth = [{teeth}]\n{levers}')


GIVEN: Mapping[str, tuple[str, ...]] = {
    "12": ("(1, 1.25, 1.5, 2 ...", "(s = 1)", "40 over 80", "swing 0", "and A4.",
           "*20 to 100*", "A gear of 34 teeth", "travel for 20 turns or more", "of 6g", "= 25.4/m", "DP = 25.4 / m"),
}  # fmt: skip
"""Numbers in the same lessons that state nothing: what is asked for, agreed on, or quoted from somebody."""
