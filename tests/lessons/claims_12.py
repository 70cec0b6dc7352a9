"""What lesson 12 claims in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import hypot, isclose, prod, sqrt

import gearcalc as gc
from gearcalc.basics.files import notebooks_folder
from gearcalc.planning.charts import ChartRow, chart_rows
from gearcalc.threads.deviations import CHOSEN_SHARE, MOST_CHOSEN_PPM
from tests.lessons.reckoning import ppm, reads, trains
from tests.notebooks import LESSONS, sources

F = Fraction

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


def corner() -> gc.Lathe:
    teeth = re.sub(r"[()]", "", str(CORNER))
    levers = "".join(
        f'[[gearbox]]\nlever = "{name}"\nratio = "{ratio}"\n' for name, ratio in (("A", "1"), ("B", "1/3"))
    )
    return gc.Lathe.from_toml(f'name = "Corner"\nleadscrew.lead = "6 tpi"\ngears.teeth = [{teeth}]\n{levers}')


def on_its_bracket() -> gc.Lathe:
    """The lathe in the corner as the lesson's own cells describe it."""
    names: dict[str, object] = {"gc": gc}
    for kind, text in sources(LESSONS["12"]):
        if kind == "code" and text.startswith(("text =", "text +=")):
            exec(text, names)
    lathe = names["corner"]
    assert isinstance(lathe, gc.Lathe)
    return lathe


@cache
def plate_of_the_corner(threads: str = "inches + wish") -> list[dict[str, object]]:
    """The rows of its plate, with the threads that the lesson's own cell lists."""
    (listing,) = (text for kind, text in sources(LESSONS["12"]) if kind == "code" and text.startswith("wish ="))
    names: dict[str, object] = {}
    exec(listing.partition("gc.")[0], names)
    return list(gc.wall_plate(on_its_bracket(), eval(threads, names)).table())


@cache
def chart_of_the_corner() -> tuple[ChartRow, ...]:
    return tuple(chart_rows(on_its_bracket(), list(WISH)))


def pairs(row: ChartRow) -> int:
    return row.setup.train.meshes if row.setup is not None else 0


def with_two_pairs(thread: str) -> float:
    """How far off the simplest train of one pair or two is, ppm."""
    return float(gc.find_setups(on_its_bracket(), thread, (1, 2), 1, first="simplest")[0].error_ppm or 0)


def share_of(off_ppm: float, engagement_mm: float, tolerance_um: float) -> float:
    """The share of a pitch-diameter tolerance that a pitch error uses up, for flanks of 60°."""
    return off_ppm / 1000 * engagement_mm * 3**0.5 / tolerance_um


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "12": {
        "1.25 mm 52.4 ÷ 42 = 1.248.": lambda: reads("1.248", 52.4 / (40 + 2)),
        "20 DP is a module of 25.4 / 20 = 1.27 mm, very near 1.25 mm.": lambda: F("25.4") / 20 == F("1.27"),
        "Over the tips of a 66 they differ by 1.4 mm.": lambda: reads("1.4", (66 + 2) * 0.02),
        "6 tpi 84.5 ÷ 20 = 4.225 mm, a lead that nobody makes. 25.4 ÷ 4.225 = 6.01. With 6 tpi it would be 84.67 mm: "
        "within what the rule can tell.": lambda: (
            F("84.5") / 20 == F("4.225")
            and reads("6.01", 25.4 / 4.225)
            and reads("84.67", 20 * 25.4 / 6)
            and [tpi for tpi in range(1, 41) if abs(25.4 / tpi - 4.225) <= 0.25 / 20] == [6]
        ),
        'At place B the leadscrew turns 8 times while the last driven gear turns 24 times: 8/24 is `"1/3"`, and never '
        "0.333.": lambda: F(8, 24) == F(1, 3) != F("0.333"),
        "With a leadscrew of 8 tpi and a constant of 16, `ratio` under `[spindle_side]` is 8/16": lambda: (
            F("25.4") / (F("25.4") / 8 * F(8, 16)) == 16  # threads per inch with equal gears
        ),
        "−47.9 mm The root of 105.5² − 94² is 47.9, and to the left is minus.": lambda: (
            reads("47.9", sqrt(105.5**2 - 94**2)) and abs(hypot(*corner_bracket()) - 105.5) < 0.1
        ),
        "1/8 6.25 ÷ 50 is one eighth": lambda: F("6.25") / 50 == F(1, 8),
        "no, not all It opens seven. For M8 the box lacks a partner: with a 20 besides, all eight.": lambda: (
            WISH.keys() - opened(50, 127) == {"M8"}
            and len(opened(50, 127, 20)) == 8
            and not any(abs(ppm(each, lead)) <= 50 for each in corner_leads() for lead in WISH.values())
        ),
        "off by a tenth of the thread's tolerance at most, and never by more than 1000 ppm (our convention)": lambda: (
            F(1, 10) == CHOSEN_SHARE and MOST_CHOSEN_PPM == 1000
        ),
        "Off by 1 thou over 1 in is 1000 ppm.": lambda: F(1, 1000) / 1 * 10**6 == 1000,
        "Gears: 24, 28, 32, 36, 40, 40, 44, 48, 52, 60, 66, 72, 80. Over the tips of a 40: 52.4 mm.": lambda: (
            tuple(on_its_bracket().gears) == CORNER and round(F("52.4") / (40 + 2) * 4) / F(4) == F("1.25")
        ),
        "36→66+52→80 is a 36 that drives a 66; with that, on the same stud, a 52 that drives an 80.": lambda: (
            [row["gears in order"] for row in plate_of_the_corner() if row["thread"] == "M3x0.5"] == ["36→66+52→80"]
        ),
        "With other threads, or in another order, some rows may have another train, just as simple": lambda: (
            [row["gears in order"] for row in plate_of_the_corner("wish") if row["thread"] == "M3x0.5"]
            == ["36→80+52→66"]
        ),
        "For M5 and M16 it takes three pairs, with the reverse over.": lambda: (
            {str(row.thread).split("x")[0]: row.setup.reverse_over for row in chart_of_the_corner() if pairs(row) == 3}
            == {"M5": True, "M16": True}
        ),
        "Two would do for bolts: M16 is then off by 606 ppm, 10.5 % of its tolerance, and M5 by 2245 ppm, 20 %. So for "
        "bolts you need buy nothing.": lambda: (
            # of class 6g 160 and 95 µm, over 16 and 5 mm with cot 30°; half of the tolerance is for the pitch
            reads("606", ppm(52 * 48 / (40 * 44) / 3 * 25.4 / 6, 2))
            and reads("10.5", 100 * share_of(606.06, 16, 160))
            and reads("2245", -ppm(28 * 32 / (66 * 72) * 25.4 / 6, 0.8))
            and reads("20", 100 * share_of(2244.9, 5, 95))
            and [round(with_two_pairs(thread)) for thread in ("M16", "M5")] == [606, -2245]
            and all(pairs(row) <= 2 for row in chart_of_the_corner() if str(row.thread)[:3] not in ("M16", "M5x"))
        ),
        "at A the leadscrew turns as often as the last gear, at B 8 times for 24.": lambda: (
            [*on_its_bracket().levers.values()] == [1, F(8, 24)]
        ),
        "First driver: 48 to the left of the pivot, 94 up. Slot: level, from 30 to 150 to the left.": lambda: (
            (hung := on_its_bracket().bracket) is not None
            and hung.spindle_side_at_mm == (-48, 94)
            and [(slot.from_mm, slot.to_mm) for slot in hung.slots] == [((-30, 0), (-150, 0))]
        ),
        "Swing: 75° clockwise, 20° the other way. Shafts, and bushes: 14 mm across.": lambda: (
            (hung := on_its_bracket().bracket) is not None
            and hung.swing_deg == (-75, 20)
            and hung.shaft_radius_mm == hung.stud_radius_mm == F(14, 2)
        ),
        "Feed drive: 6.25 mm where the half-nuts go 50.": lambda: on_its_bracket().feeds.longitudinal == F("6.25") / 50,
        "take 11 tpi, a ratio of 8/11. A 55 is 5 · 11, so its partner must be 5 · 8 = 40: there it is, 40/55. A 33 is "
        "3 · 11, and asks for 3 · 8 = 24, which the box hasn't. Two pairs can still help: 24/33 = (40 · 30)/(33 · "
        "50).": lambda: F(40, 55) == F(24, 33) == F(40 * 30, 33 * 50) == F(8, 11),
        "Three: 29, 77 and 95, say, and then all eight are within 28 ppm. No two gears of 20 to 100 teeth do "
        "it.": lambda: (
            len(opened(28, 29, 77, 95)) == 8
            and len(gc.gears_to_add(corner(), WISH, within_ppm=50, candidates=range(20, 101), must_fit=False).gears)
            == 3
        ),
        "Try every single gear: for each of the 108 from 20 to 127 teeth, some thread is left out.": lambda: (
            len(range(20, 128)) == 108 and all(len(opened(50, teeth)) < len(WISH) for teeth in range(20, 128))
        ),
        "with three pairs the 127 alone would do": lambda: (
            any(
                abs(ppm(prod(drivers) / prod(driven) * lever * 25.4 / 6, WISH["M8"])) <= 50  # all others have two
                for drivers, driven in trains((*CORNER, 127), 3)
                for lever in (1, 1 / 3)
            )
            and gc.gears_to_add(corner(), list(WISH), 50, 1, [127], meshes=(1, 2, 3)).serves_all  # on the bracket
        ),
        "A single 34 brings all eight within 500 ppm.": lambda: len(opened(500, 34)) == len(WISH) == 8,
        "463 ppm would be 139 µm in 300 mm": lambda: reads("139", 463 * 300 / 1000),
        "3 written for 1/3: on paper every lead comes out nine times too long.": lambda: 3 / F(1, 3) == 9,
        "39 for 40 is 2.5 %, or 25 000 ppm, more than six times what M10 can bear.": lambda: (
            F(40 - 39, 40) == F("0.025")
            and F("0.025") * 10**6 == 25_000
            # 132 µm of class 6g, half of it for the pitch, over 10 mm with cot 30° = 1.732: 3811 ppm.
            and int(25_000 / (132e-6 / 2 / 10e-3 / 3**0.5 * 1e6)) == 6
        ),
        "Every gap is looked at, and the largest $e$ is the worst of all leads.": lambda: (
            widest_gap()[0] > 1000 and isclose(widest_gap()[1], gc.coverage(corner(), 0.25, 6).worst.ppm, rel_tol=1e-6)
        ),
    }
}
"""A piece of its text, word for word, and what says whether that is so."""


def corner_bracket() -> tuple[int, int]:
    """Across and up as the file of the lesson has them."""
    text = next(notebooks_folder().glob("12_*.ipynb")).read_text(encoding="utf-8")
    across, up = re.findall(r"spindle_side_at_mm = \[(-?\d+), (\d+)\]", text)[0]
    return int(across), int(up)


GIVEN: Mapping[str, tuple[str, ...]] = {
    "12": (
        "swing 0",
        "*20 to 100* there, and 50 ppm again",
        "20 turns",
        "in the two cells of round 5",
        "turn the spindle 20 times",
        "A radius (6, 7)",
        "For the swing (5)",
        "Across (2)",
        "84.5 mm. First driver",
        "all eight within 50 ppm, with two pairs",
        "With 20, 30, 40, 50, 60 and a leadscrew of 8 tpi",
    )
}
"""Numbers that state nothing: what is asked for, agreed on, or quoted from somebody."""
