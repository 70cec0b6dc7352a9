"""What lessons 02 and 03 claim in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from math import comb, isclose, prod

import gearcalc as gc
from tests.lessons.reckoning import LEVERS, SCREW, is_prime, ppm, ratio, reads, trains

F = Fraction
INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")


@cache
def nearest_ppm(lead: Fraction, pairs: int) -> float:
    """The least error of any train of the inch lathe's box with so many pairs, in any position of the lever."""
    turns = float(lead / SCREW)
    return 10**6 * min(
        abs(prod(drivers) / prod(driven) * float(lever) / turns - 1)
        for drivers, driven in trains(INCH.gears, pairs)
        for lever in LEVERS
    )


def places(wanted: str, mounted: str | None) -> list[str]:
    on = None if mounted is None else gc.setup(INCH, *[(int(z),) for z in mounted.split("/")], lever="low")
    return [str(found.train).split(",")[0] for found in gc.find_setups(INCH, wanted, count=3, mounted=on)]


def four(wanted: str) -> list[tuple[tuple[int, ...], tuple[int, ...], F]]:
    """Drivers, driven and what the lever does, of the first four setups that are found."""
    found = gc.find_setups(INCH, wanted, count=4)
    return [(one.train.drivers, one.train.driven, INCH.levers[one.lever]) for one in found]


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "02": {
        "its box of sixteen gears": lambda: len(INCH.gears) == 16,
        "I tried pair after pair from the box, with the lever in each of its three positions. None is right.": lambda: (
            len(LEVERS) == 3 and nearest_ppm(F("25.4") / 27, 1) > 1000
        ),
        "the nearest single pair. It cuts 26.67 threads to the inch.": lambda: (
            reads("26.67", 1 / (F(30, 50) * F(1, 2) / 8))
            and isclose(nearest_ppm(F("25.4") / 27, 1), ppm(F(30, 50) * F(1, 2) / 8, F(1, 27)), rel_tol=1e-9)
        ),
        "The first pair gives the stud half a turn. So the second pair starts from half a turn, and halves it again.": (
            lambda: F(40, 80) == F(30, 60) == F(1, 2)
        ),
        "80 tpi is 8/80 = 1/10 of the leadscrew. Low halves, so the pair must make 1/5. The finest, 20/80, makes only "
        "1/4. For 1/5 the 20 would need a gear of 100 teeth": lambda: (
            F(8, 80) == F(1, 10) == min(LEVERS) * F(1, 5) == min(LEVERS) * F(20, 100)
            and F(20, 80) == F(1, 4) == min(ratio(*two) for two in trains(INCH.gears, 1))
        ),
        r"\frac{40}{80}\cdot\frac{30}{60} = \frac{40\cdot 30}{80\cdot 60} = \frac14": lambda: (
            F(40, 80) * F(30, 60) == F(40 * 30, 80 * 60) == F(1, 4)
        ),
        "a quarter of 1/8 inch is 1/32 inch: 32 tpi.": lambda: F(1, 4) * F(1, 8) == F(1, 32),
        "27 tpi from 8 tpi. The ratio is 8/27.": lambda: F(8, 27) * F(1, 8) == F(1, 27),
        "27, 54, 81 teeth and so on": lambda: (
            [driven for driven in range(1, 100) if any(F(driver, driven) == F(8, 27) for driver in range(1, 100))]
            == [27, 54, 81]
        ),
        "8/27 can't be made shorter. So the driven gear must be a multiple of 27. The lever halves or doubles, and "
        "brings no 3. The box has no such gear. But 27 = 3 · 9": lambda: (
            (F(8, 27).numerator, F(8, 27).denominator) == (8, 27) == (8, 3 * 9)
            and not any(teeth % 27 == 0 for teeth in INCH.gears)
        ),
        "8/27 = (2 · 4)/(3 · 9). That is 2/3 times 4/9.": lambda: F(8, 27) == F(2 * 4, 3 * 9) == F(2, 3) * F(4, 9),
        "By 20, 2/3 becomes 40/60. By 5, 4/9 becomes 20/45.": lambda: (
            (40, 60) == (2 * 20, 3 * 20) and (20, 45) == (4 * 5, 9 * 5) and {20, 40, 45, 60} <= set(INCH.gears)
        ),
        "So the train is (40 · 20)/(60 · 45). The check: 800/2700 = 8/27.": lambda: (
            (40 * 20, 60 * 45) == (800, 2700) and F(800, 2700) == F(8, 27)
        ),
        "So 3/11 becomes 6/22, and that splits: 1/2 times 6/11. By 20, 1/2 becomes 20/40. By 5, 6/11 becomes 30/55.": (
            lambda: (
                F(3, 11) == F(6, 22) == F(1, 2) * F(6, 11) == F(20 * 30, 40 * 55)
                and (20, 40) == (1 * 20, 2 * 20)
                and (30, 55) == (6 * 5, 11 * 5)
                and {20, 30, 40, 55} <= set(INCH.gears)
            )
        ),
        "(Ours has two 40s, and one of every other size.)": lambda: (
            [teeth for teeth in INCH.gears if INCH.gears.count(teeth) > 1] == [40, 40]
        ),
        "Sixteen gears and three lever positions make more than twenty-five thousand different trains of two "
        "pairs.": lambda: (
            25_000
            < len({tuple(tuple(sorted(side)) for side in one) for one in trains(INCH.gears, 2)}) * len(LEVERS)
            < 26_000
        ),
        "All four are exact. The fourth has our gears, with the two driven ones changed over.": lambda: (
            all(ratio(*two) * lever * SCREW == F("25.4") / 27 for *two, lever in four("27 tpi"))
            and four("27 tpi")[3] == ((40, 20), (45, 60), F(1))
        ),
        "much more than 4 to 1 in one mesh loads the teeth hard": lambda: (
            not gc.setup(INCH, 20, 80, "middle").strained and gc.setup(METRIC, 20, 100, "fast").strained
        ),
        "The 20 can stay where it is, so there is less to change.": lambda: (
            places("22 tpi", None)[0] == "40/55" and places("22 tpi", "20/35")[0] == "20/55"
        ),
        "Ten threads in an inch instead of eleven and a half: 15 % too coarse.": lambda: (
            F(50, 40) * 8 == 10 and F(46 * 50, 40 * 40) * 8 == F(23, 2) and F(23, 2) / 10 == 1 + F(15, 100)
        ),
    },
    "03": {
        "25.4 is 254/10, or 127/5. So the leadscrew moves the carriage 127/40 mm in a turn. For 1 mm it must make "
        "40/127 of a turn.": lambda: F("25.4") == F(254, 10) == F(127, 5) and SCREW == F(127, 40) == 1 / F(40, 127),
        r"\frac{P}{25.4 / N} = \frac{P\,N}{127/5} = \frac{5\,P\,N}{127}": lambda: all(
            P / (F("25.4") / N) == P * N / F(127, 5) == 5 * P * N / 127
            for P in (F(1, 2), F(3), F("1.27"))
            for N in range(1, 41)
        ),
        "For $P = 1$ and $N = 8$ that is $40/127$.": lambda: F(5 * 1 * 8, 127) == F(40, 127),
        "127 does not come apart.": lambda: is_prime(127),
        "40 times the pitch in millimetres: a 60 for 1.5 mm, an 80 for 2 mm": lambda: all(
            F(driver, 127) * SCREW == P and driver == P * 40 for P, driver in ((F(3, 2), 60), (F(2), 80))
        ),
        "The leadscrew is metric, with a lead of 3 mm.": lambda: METRIC.leadscrew_lead_mm == 3 and 127 in METRIC.gears,
        "Now the inch is in the thread that is wanted. So 25.4 stands above the line": lambda: all(
            127 in one.train.drivers for one in gc.find_setups(METRIC, "12 tpi", count=2)
        ),
        r"\frac{25.4 / N}{L} = \frac{127}{5\,N\,L}": lambda: all(
            F("25.4") / N / L == F(127) / (5 * N * L) for N in (20, 127) for L in (2, 3, F(5, 2))
        ),
        "For 12 tpi and 3 mm that is 127/180. Medium halves, so the gears must make twice as much: 127/90.": lambda: (
            F("25.4") / 12 / 3 == F(127, 180) == F(127, 90) * METRIC.levers["medium"]
            and METRIC.levers["medium"] == F(1, 2)
            and all(
                ratio(one.train.drivers, one.train.driven) == F(127, 90) and one.lever == "medium"
                for one in gc.find_setups(METRIC, "12 tpi", count=2)
            )
        ),
        "Three pairs make hundreds of thousands of trains.": lambda: comb(16, 3) * comb(13, 3) * 3 > 200_000,
        "The best of all trains with up to three pairs is off by 125 ppm, and four come within 51.": lambda: (
            round(min(nearest_ppm(F(1), pairs) for pairs in (1, 2, 3)), 6) == 125
            and 50 < ppm(F(20 * 30 * 38 * 55, 25 * 35 * 65 * 70) * SCREW, F(1)) < 51
            and {20, 30, 38, 55, 25, 35, 65, 70} <= set(INCH.gears)
        ),
        "a 60 for 1.5 mm, an 80 for 2 mm. Whether it goes on the bracket is another matter": lambda: (
            not any(gc.fit(INCH.with_gears(add=(127,)), gc.Train((driver,), (127,))).goes_on for driver in (40, 60, 80))
        ),
        "The lever changes the 40 to 80 or to 20": lambda: sorted(F(40) / lever for lever in LEVERS) == [20, 40, 80],
        "That gear has 127 teeth, or 254, or another multiple.": lambda: (
            [teeth for teeth in range(1, 300) if teeth % 127 == 0] == [127, 254] and 40 % 127 != 0
        ),
        "with one gear of every size from 20 to 126 teeth": lambda: (
            "driven" in str(gc.make_up("40/127", range(20, 127)))
        ),
        "1.27 mm is 127/100 mm, and that is 1/20 of an inch: 20 tpi under another name.": lambda: (
            F("1.27") == F(127, 100) == F("25.4") / 20
        ),
        r"\frac{5 \cdot \frac{127}{100} \cdot 8}{127} = \frac{5 \cdot 8}{100} = \frac{2}{5}": lambda: (
            5 * F(127, 100) * 8 / 127 == F(5 * 8, 100) == F(2, 5) == F(40, 50) * F(1, 2)
        ),
        "That is false, and 1.27 mm shows it.": lambda: F(40, 50) * F(1, 2) * SCREW == F("1.27"),
        "About ten times too coarse.": lambda: F(40, 127) * SCREW == 1 and 9.5 < F(127, 40) * SCREW < 10.5,
        "A 254 does, since it is 2 · 127. It is twice the size. A 126 or a 128 is never exact.": lambda: (
            254 == 2 * 127 and F(80, 254) == F(40, 127) and 126 % 127 != 0 != 128 % 127
        ),
        "25 pitches of 1 mm are 25 mm, not an inch": lambda: 25 * 1 == 25 != F("25.4"),
        "because 25.4 = 127/5, and 127 is a prime.": lambda: F("25.4") == F(127, 5) and is_prime(127),
    },
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "02": ("my leadscrew has 8", "A nut made for 27", "by 2, 3, 4 and so on",
           "1/4 The stud is the trick", "in lowest terms: 8/27"),
    "03": ("127", "these two threads, 1 mm or 20 tpi,",
           "some 7 minutes", "(or 254)", "an 8 threads-per-inch leadscrew", "one of my tries for 2 mm",
           "An inch is 25.4 mm", "proposition 30", "as you split 27", "shared the 27", "that only 1 and itself divide",
           "such as 1.27 mm",
           "the ratio for 1 mm", "= 40 · (driven gears)", "does not divide 40", "line 4 of the proof",
           "number above 1 that", "it is the 1 mm", r"\frac{5\,P\,N}{127}"),
}  # fmt: skip
"""Numbers in the same lessons that state nothing: what is asked for, agreed on, or quoted from somebody."""
