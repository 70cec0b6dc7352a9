"""What lessons 04 and 05 claim in numbers: the words as they stand there, and what settles them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise, permutations
from math import isclose, pi, radians, tan

import gearcalc as gc
from gearcalc.threads.deviations import good_enough_ppm
from tests.how_much import THOROUGH
from tests.lessons.reckoning import LEVERS, SCREW, best_by_denominator, is_prime, path_to, ppm, ratio, reads, trains

F = Fraction
INCH = gc.demo_lathe("inch")
TARGET = F(127, 100)


def cot(degrees: float) -> float:
    return 1 / tan(radians(degrees))


def pairs_within(most_ppm: float) -> set[tuple[int, int]]:
    """Pairs of gears from 20 to 100 teeth that are so near 127/100."""
    return {pair for pair in permutations(range(20, 101), 2) if abs(ppm(F(*pair), TARGET)) <= most_ppm}


def biggest_jump(target: Fraction, most: int) -> tuple[Fraction, Fraction]:
    """Of the fractions that are each nearer than all simpler ones, the two between which the error shrinks most."""
    steps = pairwise(best_by_denominator(target, most))
    return max(steps, key=lambda step: abs(step[0] - target) / abs(step[1] - target))


FIVE = ("M6", "M8", "M10", "M12", "1/4-20 UNC")


def without(gears: Sequence[int]) -> gc.Lathe:
    """The lathe with these taken out of its box, each of them one of the train for M6 when it goes."""
    lathe = INCH
    for gear in gears:
        assert gear in in_the_train_for_m6(lathe)
        lathe = lathe.with_gears(remove=(gear,))
    return lathe


def in_the_train_for_m6(lathe: gc.Lathe) -> set[int]:
    return {int(gear) for gear in gc.find_setups(lathe, "M6", count=1)[0].train.gears}


def all_do(lathe: gc.Lathe) -> bool:
    return all(not gc.judge(thread, gc.find_setups(lathe, thread, count=1)[0].error_ppm or 0).fails for thread in FIVE)


def any_four_may_go() -> bool:
    """Whatever order they are taken in: with fewer gears nothing comes nearer, so those without four tell."""
    boxes = {tuple(sorted(INCH.gears))}
    for _ in range(4):
        lathes = [INCH.with_gears(remove=INCH.gears, add=box) for box in boxes]
        boxes = {tuple(sorted(one.with_gears(remove=(z,)).gears)) for one in lathes for z in in_the_train_for_m6(one)}
    return all(all_do(INCH.with_gears(remove=INCH.gears, add=box)) for box in boxes)


CLAIMS: Mapping[str, Mapping[str, Callable[[], bool]]] = {
    "04": {
        "1 ppm is one micrometre in a metre": lambda: F(10**6, 10**6) == 1,
        "too large by some 200 By 213 ppm: 4700 stands against 4699, one part too many in 4699. Over 300 mm that "
        "makes 64 µm.": (
            lambda: (
                (47 * 100, 37 * 127) == (4700, 4699)
                and reads("213", ppm(F(47, 37), TARGET))
                and isclose(ppm(F(47, 37), TARGET), 10**6 / 4699)
                and reads("64", ppm(F(47, 37), TARGET) * 300 / 1000)
            )
        ),
        "37 drives 47, where 100 would drive 127. A stand-in that is too large then makes a thread that is too "
        "*short*, by nearly the same ppm": lambda: (
            ppm(F(47, 37), TARGET) > 0 > ppm(F(37, 47) * TARGET, 1)
            and isclose(ppm(F(47, 37), TARGET), -ppm(F(37, 47) * TARGET, 1), rel_tol=0.001)
        ),
        "Their mediant is 3/2 = 1.5, too large for 1.27.": lambda: F(1 + 2, 1 + 1) == F(3, 2) == F("1.5") > F("1.27"),
        "4/3 3/2 takes the place of 2/1. So (1 + 3)/(1 + 2).": lambda: F(1 + 3, 1 + 2) == F(4, 3),
        "After 14/11 comes 19/15, and that is farther off.": lambda: (
            abs(ppm(F(19, 15), TARGET)) > abs(ppm(F(14, 11), TARGET))
            and path_to(TARGET).index(F(14, 11)) + 1 == path_to(TARGET).index(F(19, 15))
        ),
        "You hold 5/4, far too small, and 14/11, a little too large. Their mediant lands on the other side, and "
        "farther out.": lambda: (
            F(5 + 14, 4 + 11) == F(19, 15)
            and F(5, 4) < F(19, 15) < TARGET < F(14, 11)
            and TARGET - F(19, 15) > F(14, 11) - TARGET
        ),
        "on the walk to π, 25/8 comes after 22/7, and is thirteen times as far off": lambda: (
            F(22 + 3, 7 + 1) == F(25, 8) and reads("13", abs(pi - 25 / 8) / abs(pi - 22 / 7))
        ),
        "A fraction that is nearer than all simpler ones always lies on your way.": lambda: (
            set(best_by_denominator(TARGET, 100)) <= set(path_to(TARGET))
        ),
        "The picture begins two steps earlier, with 1/1 and 2/1: it starts between 0/1 and 1/0.": lambda: (
            path_to(TARGET)[:3] == [F(0 + 1, 1 + 0), F(2), F(3, 2)]
        ),
        "From 5/4 and 14/11, with a count of 2: (2 · 14 + 5)/(2 · 11 + 4) = 33/26.": lambda: (
            F(2 * 14 + 5, 2 * 11 + 4) == F(33, 26) and tuple(gc.continued_fraction(TARGET))[4] == 2
        ),
        "From 1.27 take 1, and 1/0.27 = 3.70…; take 3, and 1/0.70… = 1.42…": lambda: (
            F("3.70") < 1 / F("0.27") < F("3.71") and F("1.42") < 1 / (1 / F("0.27") - 3) < F("1.43")
        ),
        r"1.27 = 1 + \cfrac{1}{3 + \cfrac{1}{1 + \cfrac{1}{2 + \cdots}}}": lambda: (
            1 + 1 / (3 + 1 / (1 + 1 / (2 + F(1) / (2 + 1 / (1 + F(1, 2)))))) == F("1.27")
        ),
        "At 11: 14/11 is 2147 ppm off, where 9/7 was 12 373, nearly six times as much. (At 100 you have 127/100 "
        "itself.)": lambda: (
            5.5 < ppm(F(9, 7), TARGET) / ppm(F(14, 11), TARGET) < 6
            and biggest_jump(TARGET, 99) == (F(9, 7), F(14, 11))
            and reads("2147", ppm(F(14, 11), TARGET))
            and reads("12373", ppm(F(9, 7), TARGET))
        ),
        "47 and 37 are primes: you need a multiple of each, such as 94 and 74.": lambda: (
            is_prime(47) and is_prime(37) and F(94, 74) == F(47, 37)
        ),
        "one pair Each square in the map is a pair. 80/63 is 125 ppm off. Next comes 47/37, 213 ppm off.": lambda: (
            pairs_within(200) == {(80, 63)}
            and pairs_within(213) == {(80, 63), (47, 37), (94, 74)}
            and reads("125", -ppm(F(80, 63), TARGET))
        ),
        "80/63 = (8 · 10)/(7 · 9) = (40 · 50)/(35 · 45)": lambda: F(80, 63) == F(8 * 10, 7 * 9) == F(40 * 50, 35 * 45),
        "One pair from our box of sixteen gives 175, two pairs give 3811.": lambda: (
            len(INCH.gears) == 16
            and [len({ratio(*one) for one in trains(INCH.gears, n)}) for n in (1, 2)] == [175, 3811]
        ),
        "For 127/100 none of ours beats 80/63. Three pairs do: (35 · 65 · 70)/(38 · 55 · 60) is 50 ppm off.": lambda: (
            min(abs(ppm(ratio(*one), TARGET)) for n in (1, 2) for one in trains(INCH.gears, n))
            == abs(ppm(F(80, 63), TARGET))
            and {35, 65, 70, 38, 55, 60} <= set(INCH.gears)
            and reads("50", -ppm(F(35 * 65 * 70, 38 * 55 * 60), TARGET))
        ),
        "113/89 is 265 ppm too small, 108/85 is 463 ppm too large. Both are worse than 80/63.": lambda: (
            [round(ppm(F(*pair), TARGET)) for pair in ((80, 63), (113, 89), (108, 85))] == [-125, -265, 463]
        ),
        "Take 25 mm for an inch, and you are 15 748 ppm out": lambda: reads("15748", -ppm(F(25), F("25.4"))),
        "125 ppm is 1.25 µm over 10 mm, and 37.5 µm over 300 mm": lambda: (
            (F(125 * 10, 1000), F(125 * 300, 1000)) == (F("1.25"), F("37.5"))
        ),
        "125 ppm are 9.4 µm in fifty pitches of 1.5 mm, too little to be measured in the shop": lambda: (
            reads("9.4", 125 * 50 * 1.5 / 1000) and 0.0094 < 0.02  # mm, a vernier's finest step
        ),
        "times 0.3, its ppm are the micrometres over 300 mm": lambda: F(300, 1000) == F("0.3"),
        "Error in ppm = (cut − wanted)/wanted · 10⁶": lambda: ppm(F(2), F(1)) == 10**6,
    },
    "05": {
        "It's 125 ppm out": lambda: ppm(F(30 * 63, 50 * 80) * SCREW, F(3, 2)) == 125,
        "25 µm 1 ppm is 1 µm in a metre. 200 mm is a fifth of a metre.": lambda: (
            F(125 * 200, 1000) == 25 and F(200, 1000) == F(1, 5)
        ),
        "cot φ in it is 1 ÷ tan φ": lambda: isclose(cot(30), 3**0.5),
        "the screw is out by δ/2 along the axis. To clear the flank it would have to be thinner by δ/2 · cot φ, on "
        "both sides.": lambda: isclose(2 * (10 / 2 * cot(30)), gc.judge("M10", 1000).pitch_diameter_um or 0),
        "Threads of 60° (φ = 30°) have cot φ = 1.732; those of 55°, 1.921; those of 30°, 3.732.": lambda: (
            reads("1.732", cot(60 / 2)) and reads("1.921", cot(55 / 2)) and reads("3.732", cot(30 / 2))
        ),
        "1.732 for threads of 60° (that is cot 30°), 1.921 for Whitworth, the old British thread of 55°.": lambda: (
            reads("1.732", cot(60 / 2)) and reads("1.921", cot(55 / 2))
        ),
        "For the bolt in a nut of 10 mm, δ is 1.25 µm. The nut feels 1.25 · 1.732 = 2.17 µm.": lambda: (
            F(125 * 10, 1000) == F("1.25") and reads("2.17", 1.25 * 1.732)
        ),
        "M10x1.5 in class 6g, for short M10x1.5-6g, may vary by 132 µm of pitch diameter": lambda: (
            F("8.994") - F("8.862") == F("0.132")  # ASME B1.13M, as in the table of limits
        ),
        "2.17 ÷ 132 = 1.6 %": lambda: reads("1.6", 100 * 2.17 / 132),
        "for the bolt 66 µm": lambda: F(132, 2) == 66,
        "some 3800 66 µm ÷ 1.732 is 38.1 µm along the axis. Over 10 mm that is 3810 in a million.": lambda: (
            reads("38.1", 66 / 1.732) and abs(66 / 1.732 / 10 * 1000 - 3810) < 1
        ),
        "with the nearest single pair of the box, 38/60, the lever at low": lambda: (
            min((abs(ppm(ratio(*one) * lever * SCREW, 1)), *one) for one in trains(INCH.gears, 1) for lever in LEVERS)[
                1:
            ]
            == ((38,), (60,))
            and reads("5417", ppm(F(38, 60) * SCREW / 2, 1))
        ),
        "(UNC is the American inch thread, of 60°)": lambda: gc.Thread.parse("1/4-20 UNC").thread_angle_deg == 60,
        "The M6 of the beginning is 5417 ppm out, and 5389 are allowed. So it fails, by a hair.": lambda: (
            reads("5389", F("0.112") / 2 / F(cot(30)) / 6 * 10**6)  # 5.974 to 5.862 mm: ASME B1.13M
            and gc.judge("M6", ppm(F(38, 60) * SCREW / 2, 1)).fails
        ),
        "The µm allowed stay the same, 38.1 either way": lambda: reads("38.1", 66 / cot(30)),
        "single pair of the box, 38/40 with the lever at low. (It is 5417 ppm out too: 1.5 mm is to 1 mm as 60 is to "
        "40.)": lambda: (
            min(
                (abs(ppm(ratio(*one) * lever * SCREW, F(3, 2))), *one)
                for one in trains(INCH.gears, 1)
                for lever in LEVERS
            )[1:]
            == ((38,), (40,))
            and reads("5417", ppm(F(38, 40) * SCREW / 2, F(3, 2)))
        ),
        "The single pair leaves the band at 7 mm. So a nut of 10 mm is too long for it: 5417 ppm, and 3810 are "
        "allowed.": lambda: (
            reads("7", 66 / cot(30) / ppm(F(38, 40) * SCREW / 2, F(3, 2)) * 1000)
            and abs(66 / cot(30) / 10 * 1000 - 3810) < 1
        ),
        "On our lathe it takes five gears or more.": lambda: (
            all_do(without((63, 35, 70, 55)))
            and not all_do(without((63, 35, 70, 55, 46)))
            and (not THOROUGH or any_four_may_go())
        ),
        "a tenth of the tolerance, and never more than 1000 ppm; 200 ppm where no tolerance is held": lambda: (
            (good_enough_ppm(gc.Thread.parse("M6")), good_enough_ppm(gc.Thread.parse("16 tpi"))) == (1000, 200)
        ),
        "half the tolerance in µm ÷ 1.732 ÷ engagement in mm · 1000": lambda: isclose(
            gc.judge("M10x1.5-6g", 0).allowed_ppm or 0, 132 / 2 / 1.732 / 10 * 1000, rel_tol=1e-3
        ),
        "Then it only says no to more than 1000 ppm (our convention). To less it says neither yes nor no": lambda: all(
            gc.judge("1/2 BSW", off).ok is None and gc.judge("1/2 BSW", off).fails is (abs(off) > 1000)
            for off in (0, 999, 1000, 1001, -1001, 5000)
        ),
        "**Thousands** of ppm, for an ordinary nut!": lambda: 132 / 2 / cot(30) / 10 * 1000 > 2000,
        "The pair 47/37 from lesson 04 is 213 ppm off.": lambda: reads("213", ppm(F(47, 37), TARGET)),
        "no It is 64 µm out over 300 mm. 50 µm there are 167 ppm; with 125 ppm the bolt's train would do.": lambda: (
            reads("64", ppm(F(47, 37), TARGET) * 300 / 1000) and reads("167", F(50, 1000) / 300 * 10**6)
        ),
        "1 thou is 0.001 in, or 25.4 µm": lambda: F("0.001") * F("25.4") * 1000 == F("25.4"),
        "0.04 mm in 300 mm (from memory), some 130 ppm": lambda: abs(0.04 / 300 * 10**6 - 130) < 5,
        "200 ppm is 2 µm in a nut of 10 mm and 60 µm in 300 mm of leadscrew": lambda: (
            (200 * 10 / 1000, 200 * 300 / 1000) == (2, 60)
        ),
        "1.732 times δ for threads of 60°": lambda: reads("1.732", cot(30)),
        "the pitch may use half (our convention)": lambda: gc.judge("M10", 125).share == 0.5,
        "Bolts forgive thousands of ppm, a leadscrew hardly two hundred.": lambda: F(50, 1000) / 300 * 10**6 < 200,
    },
}
"""By lesson: a piece of its text, word for word, and what says whether that is so."""

GIVEN: Mapping[str, tuple[str, ...]] = {
    "04": (
        "swears by 47 and 37. Another says 80 and 63",
        "a 40 drives a 50, where 100 should drive 127",
        r"1\,000\,000\ \text{ppm}",
        "Read 1/0 as 'beyond every fraction'",
        "**continued fraction** of 1.27",
        "turn the rest over (1/x)",
        "of each kind: 1.5 mm and 13 tpi",
        "of some 7 minutes",
    ),
    "05": (
        "The bolt of the question is 125 ppm too long",
        "(6g, 2A)",
        "Its flanks lean by 30°",
        '"Only 200 ppm"',
        "such as 1/2 BSW",
        "We allow the train 50 µm in 300 mm (our convention)",
        "of some 7 minutes",
    ),
}
"""Numbers in the same lessons that state nothing: what is asked for, agreed on, or quoted from somebody."""
