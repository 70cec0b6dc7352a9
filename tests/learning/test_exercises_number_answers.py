"""How a number, a thread or a fraction may be written as an answer, each kind by itself."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from math import pi

import numpy as np
import pytest
import sympy
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.exercises import exercise
from gearcalc.learning.exercises.answers import UnreadableError, slips_of
from gearcalc.learning.exercises.number_answers import NearerFraction, Number, ThreadCut
from gearcalc.learning.exercises.tasks import Task
from tests.how_much import examples, in_one
from tests.learning.answers_by_themselves import marked, slip_of

PI_20 = Fraction("3.14159265358979323846")
"""π to 20 decimals, as every table of constants has it."""


class TestNumber:
    eighth = Number(Fraction(127, 40), "mm", places=3)

    @in_one(
        "given",
        [
            Fraction(127, 40), 3.175, "3.175", "3,175", "127/40", "25.4/8", "25,4 ÷ 8", "3.175 mm", "3.175mm",
            "3.175 MM", "3.175\u202fmm", "≈ 3.175 mm", "= 3.175", "1/8 in", '0.125"', "0.125 inch", "3 7/40",
            "3.1750000000000000444", "+3.175", Decimal("3.175"), sympy.Rational(127, 40), sympy.Float("3.175"),
            np.float64(3.175),
        ],
    )  # fmt: skip
    def test_one_lead_in_many_forms(self, given):
        assert marked(self.eighth, given) is True

    @in_one("given", [3.1756, "3.1744", -3.175, "−3.175", "-127/40", "3.175 in", 0, np.int64(3), 10**300])
    def test_wrong_numbers(self, given):
        assert marked(self.eighth, given) is False

    @in_one(
        "given",
        [
            "three", "3.175 tpi", "3.175 mmm", "1/0", "25.4/0", "3..175", "3.1e0", "0x3", "3 mm mm 4", "٣", "1_000",
            "/", "-", True, False, [3.175], {"mm": 3.175}, float("nan"), float("inf"), 3 + 0j, sympy.Symbol("x"),
            sympy.oo, 10**400,
        ],
    )  # fmt: skip
    def test_no_numbers(self, given):
        assert marked(self.eighth, given) == "unreadable"

    def test_rounding_is_half_a_unit_of_the_last_place(self):
        third = Number(Fraction(127, 60), "mm", places=3)  # 2.11666...
        assert [marked(third, given) for given in (2.117, 2.1167, "2.1166", 2.116, 2.12)] == [
            True,
            True,
            True,
            False,
            False,
        ]

    def test_without_places_only_the_number_itself(self):
        gear = Number(Fraction(60), "teeth")
        assert [marked(gear, given) for given in (60, "60 teeth", "60T", 60.0, 60.001)] == [
            True,
            True,
            True,
            True,
            False,
        ]

    def test_a_number_with_pi(self):
        worm = Number(PiMultiple(Fraction(3, 2)), "mm", places=3)
        assert [marked(worm, given) for given in (sympy.pi * 3 / 2, 4.712, "4.7124", sympy.pi, 4.71)] == [
            True,
            True,
            True,
            False,
            False,
        ]

    def test_negative_numbers_are_numbers(self):
        miss = Number(Fraction(-125), places=0)
        assert [marked(miss, given) for given in (-125, "-125", "−125.4", "125")] == [True, True, True, False]

    def test_a_half_may_be_rounded_either_way(self):
        """33/8 is 4.125: at school 4.13, by some machines 4.12."""
        turns = Number(Fraction(33, 8), "turns", places=2)
        assert turns.is_right(turns.read("4.13"))
        assert turns.is_right(turns.read("4.12"))
        assert turns.as_told(Fraction(33, 8)) == Fraction("4.13")

    def test_near_is_called_rounding(self):
        near = next(slip for slip in slips_of(self.eighth.common_slips()) if slip.name == "rounding")
        assert near.wrong(Fraction("3.18"))
        assert near.wrong(Fraction("3.2"))  # to one decimal
        assert not near.wrong(Fraction("3.21"))

    def test_unknown_unit_is_refused_when_the_exercise_is_made(self):
        with pytest.raises(GearcalcError, match="unit must be one of"):
            Number(Fraction(1), "furlong")


class TestThousands:
    """As this package writes large numbers itself: 10 000."""

    far = Number(Fraction(2538071, 100), "ppm", places=-1)
    near = Number(Fraction(3180), "ppm", places=-1)

    @in_one("given", ["25 380", "25\u202f381", "25 380.7 ppm", "≈ 25 380,71", "25380", "25 379 1/2"])
    def test_spaces_between_groups_of_three(self, given):
        assert marked(self.far, given) is True

    @in_one("given", ["2 5380", "25 38", "25 3801", "253 80.71", "25 380 7", "1253 800", "0.5 380"])
    def test_other_spaces_are_no_number(self, given):
        assert marked(self.far, given) == "unreadable"

    @in_one("given", ["3,180", "3,180 ppm"])
    def test_a_comma_between_them_makes_no_right_answer_wrong(self, given):
        """It is the decimal sign here, and one who parts thousands with it is told so, and not of a slip."""
        with pytest.raises(UnreadableError, match="a comma is the decimal sign"):
            self.near.read(given)

    @in_one(("given", "state"), [("3180", True), ("3,1800", False), ("31,80", False)])
    def test_any_other_is_read_as_it_is_everywhere(self, given, state):
        assert marked(self.near, given) is state
        assert marked(Number(Fraction(318, 100), "mm", places=2), "3,180") is True

    def test_a_mixed_number_is_not_joined(self):
        assert marked(Number(Fraction(1625, 127)), "12 101/127") is True


class TestNumberInOtherUnits:
    @in_one(
        "given",
        [
            -2.5,
            "−2.5 µm",
            "-2.5 MICRONS",
            "-2,5 um",
            "-0.0025 mm",
            Fraction(-5, 2),
            sympy.Rational(-5, 2),
            np.float64(-2.5),
            "-5/2",
        ],
    )
    def test_micrometres(self, given):
        assert marked(Number(Fraction(-5, 2), "µm", places=1), given) is True

    def test_both_signs_for_micro(self):
        kind = Number(Fraction(-5, 2), "µm", places=1)
        micro_sign, greek_mu = "\u00b5", "\u03bc"
        assert [marked(kind, f"-2.5 {mu}m") for mu in (micro_sign, greek_mu)] == [True, True]
        assert [marked(kind, f"2.5 {mu}m too long") for mu in (micro_sign, greek_mu)] == [False, False]
        assert [marked(kind, f"2.5 {mu}m too short") for mu in (micro_sign, greek_mu)] == [True, True]

    def test_ppm_and_per_cent(self):
        assert [
            marked(Number(Fraction(-213), "ppm", places=0), given) for given in (-213.4, "213 ppm too short", 213)
        ] == [True, True, False]
        assert [
            marked(Number(Fraction(7), "%", places=1), given) for given in ("7 %", "7.04%", "7 per cent", 0.07)
        ] == [True, True, True, False]

    def test_rounded_to_tens(self):
        allowed = Number(Fraction(3811), "ppm", places=-1)
        assert [marked(allowed, given) for given in (3811, 3810, "3815", 3806, 3820, 3800)] == [
            True,
            True,
            True,
            True,
            False,
            False,
        ]
        assert "to tens" in allowed.how

    @in_one("given", ["2.5 too short", "minus 2.5", "Minus 2,5 micrometers", "−2.5 micron", "2.5 µm too short"])
    def test_a_sign_in_words_and_a_unit_in_the_singular(self, given):
        assert marked(Number(Fraction(-5, 2), "µm", places=1), given) is True
        assert marked(Number(Fraction(127, 70), "mm", places=3), "1.814 millimeter") is True

    @pytest.mark.parametrize("given", ["2.5 mmm", "2.5 ppm", "µm", "2.5 µm long"])
    def test_other_units_are_not_read(self, given):
        assert marked(Number(Fraction(-5, 2), "µm", places=1), given) == "unreadable"


class TestNumberWithPi:
    kind = Number(PiMultiple(Fraction(3, 2)), "mm", places=3)

    @in_one(
        "given",
        [
            "1.5 π",
            "1.5π mm",
            "1,5 · π",
            "pi*1.5",
            "PI × 1.5",
            "3/2 pi",
            "3π/2",
            "π·3/2",
            "4.712",
            1.5 * pi,
            sympy.pi * 3 / 2,
        ],
    )
    def test_many_ways_to_write_it(self, given):
        assert marked(self.kind, given) is True

    @in_one(
        ("given", "times"),
        [
            ("π", 1),
            ("π/12", Fraction(1, 12)),
            ("25.4 π / 12 mm", Fraction(127, 60)),
            (".5 π", Fraction(1, 2)),
            ("-π", -1),
            ("π in", Fraction(127, 5)),
        ],
    )
    def test_read_exactly(self, given, times):
        assert self.kind.read(given) == PiMultiple(Fraction(times))

    @in_one("given", ["π π", "pi pi 2", "1.5 pie", "spin", "16 tpi", "epi", "1.5 π tpi", "π/0"])
    def test_not_pi(self, given):
        assert marked(self.kind, given) == "unreadable"

    @in_one("given", ["1.5001 π", "1.49999π", "1.5000000001 pi mm", "1.49990 π"])
    def test_a_rounded_multiple_is_right_as_far_as_it_may_be_rounded(self, given):
        assert marked(self.kind, given) is True

    @in_one("given", ["1.501 π", "1.4998 π", "1.5 · 22/7"])
    def test_and_no_further(self, given):
        assert slip_of(self.kind, given) == "rounding"

    def test_where_it_is_wanted_exactly_no_other_multiple_is_right(self):
        assert marked(Number(PiMultiple(Fraction(1, 3))), "0.333333333333 π") is False

    def test_a_multiple_of_pi_is_no_plain_number(self):
        assert marked(Number(Fraction(3), "mm", places=3), "π") is False


class TestThreadCut:
    sixteen = ThreadCut(Fraction(254, 160))

    @in_one(
        "given",
        [
            "16 tpi",
            "16TPI",
            "3/8-16 UNC",
            "1.5875 mm",
            "1.5875000000000001 mm",
            "lead 1/16 in",
            gc.Thread.parse("16 tpi"),
            gc.setup(gc.demo_lathe("inch"), (40,), (80,), "middle"),
        ],
    )
    def test_every_name_of_the_lead(self, given):
        assert marked(self.sixteen, given) is True

    @in_one("given", ["8 tpi", "32 tpi", "16 mm", "M10", "module 0.5", "1.588 in pitch"])
    def test_other_threads(self, given):
        assert marked(self.sixteen, given) is False

    @in_one("given", ["16", 16, 16.0, 1.5875, "1,5875", "127/80", "25.4/16 mm", "1/16 in", "2 · 8 tpi"])
    def test_bare_numbers_and_sums(self, given):
        assert marked(self.sixteen, given) is True

    @in_one("given", ["8", 8, 32, 3.175, "1.59", "15.98 tpi", "-16", 0.5])
    def test_other_numbers(self, given):
        assert marked(self.sixteen, given) in (False, "unreadable")

    @in_one(
        ("lead", "given"),
        [(Fraction(127, 45), "2.82"), (Fraction(127, 45), "2,82"), (Fraction(127, 45), 2.8), (Fraction("1.27"), "1.3")],
    )
    def test_a_lead_rounded_too_far_without_its_unit_is_not_said_to_have_another(self, lead, given):
        assert slip_of(ThreadCut(lead), given) == "rounding"

    def test_with_another_unit_it_is(self):
        assert slip_of(ThreadCut(Fraction(127, 45)), "2.82 tpi") == "another unit"

    def test_threads_per_inch_to_two_decimals(self):
        sixteen_thirds = ThreadCut(Fraction(381, 80))
        assert all(marked(sixteen_thirds, given) is True for given in ("5.33 tpi", 5.33, "5 1/3 tpi", "16/3", 16 / 3))
        assert not any(marked(sixteen_thirds, given) for given in ("5.3 tpi", 5.34, "5.33 mm"))
        assert "two decimals of tpi" in sixteen_thirds.how
        assert slip_of(sixteen_thirds, "5.3") == "rounding"

    @in_one("given", ["sixteen", None, ["16 tpi"], gc.Train((40,), (80,)), True, "16 teeth", 0, "0", -16])
    def test_no_threads(self, given):
        assert marked(self.sixteen, given) == "unreadable"

    @pytest.mark.parametrize(("given", "tpi"), [("1/2-13", 13), ("10-32", 32), ("1/4-20 UNC", 20), ("1-1/8-7", 7)])
    def test_designations_are_no_sums(self, given, tpi):
        assert self.sixteen.read(given) == Fraction(254, 10 * tpi)


class TestTheRightNumberWithAnotherUnit:
    """25.4/13.5467 is 1.875: who has the one and writes the other's unit has done the work, and is told so."""

    pair = ThreadCut(Fraction(15, 8))

    @in_one("given", ["13.54 mm", "13.55 mm", "13.5467 mm", "1.875 tpi", "1.88 tpi", "1.875 in", "0.0738 mm"])
    def test_of_a_thread(self, given):
        assert slip_of(self.pair, given) == "another unit"

    @in_one("given", ["13.0 mm", "1.8 tpi", "27.09 mm", "1.9 in", "3.75 mm"])
    def test_another_number_is_not_called_right(self, given):
        assert slip_of(self.pair, given) != "another unit"

    @in_one(
        ("kind", "given"),
        [
            (Number(Fraction(127, 40), "mm", places=3), "3.175 in"),
            (Number(Fraction(127, 40), "mm", places=3), "0.125 mm"),
            (Number(PiMultiple(Fraction(3, 2)), "mm", places=3), "1.5 π in"),
            (Number(Fraction(-5, 2), "µm", places=1), "-2.5 mm"),
            (Number(Fraction(-5, 2), "µm", places=1), "-0.0025"),
        ],
    )
    def test_of_a_number(self, kind, given):
        assert slip_of(kind, given) == "another unit"

    @in_one("kind", [pair, Number(Fraction(127, 40), "mm", places=3), Number(Fraction(16), "tpi")])
    def test_the_right_one_is_never_that(self, kind):
        assert not any(slip.wrong(kind.value) for slip in slips_of(kind.common_slips()) if slip.name != "rounding")

    def test_it_is_said(self):
        told = exercise("threads-from-one-pair", 7, lathe=gc.demo_lathe("metric"))
        tpi, lead = (float(x) for x in (25.4 / told.task.answer.value, told.task.answer.value))
        for answer in (f"{tpi:.2f} mm", f"{lead:.4f} tpi"):
            assert "The number is right, but in another unit." in str(told.check(answer))


class TestNearerFraction:
    nearer = NearerFraction(PiMultiple(Fraction(1)), than=Fraction(22, 7), most=250)

    def test_every_fraction_by_brute_force(self):
        for bottom in range(1, 80):
            for top in (int(pi * bottom), int(pi * bottom) + 1):
                fraction = Fraction(top, bottom)
                fits = max(fraction.as_integer_ratio()) <= 250
                nearer = abs(fraction - PI_20) < abs(Fraction(22, 7) - PI_20)
                assert marked(self.nearer, fraction) == (fits and nearer)

    @in_one(
        ("given", "slip"),
        [
            ("44/14", "the same again"),
            ("355/113", "too large numbers"),
            (3.1416, "too large numbers"),
            (355 / 113, "too large numbers"),
            (19 / 6, "not nearer"),
            ("57/179", "upside down"),
            ("19/6", "not nearer"),
            (0, "not nearer"),
            ("-22/7", "not nearer"),
        ],
    )
    def test_slips(self, given, slip):
        assert slip_of(self.nearer, given) == slip

    def test_a_number_that_is_very_large(self):
        assert slip_of(self.nearer, 10**300) == "too large numbers"
        assert marked(self.nearer, 10**5000) == "unreadable"

    @in_one("given", [sympy.pi, "π", "22 over 7", None, "1/0", float("inf"), True])
    def test_no_fractions(self, given):
        assert marked(self.nearer, given) == "unreadable"


class TestAFloatStandsForWhatItWasWorkedOutFrom:
    """Whoever writes an exercise of their own may well divide with /: what is right is reckoned here in fractions."""

    teeth = st.integers(12, 150)

    @examples(300)
    @given(teeth, teeth, st.integers(1, 40), st.sampled_from(["4", "3.175", "1.5", "25.4"]))
    def test_an_exact_answer_is_right_and_its_slip_is_told(self, driver, driven, turns, lead):
        assume(driver != driven)
        right = Fraction(lead) * Fraction(driver, driven) * turns
        slip = Fraction(lead) * Fraction(driven, driver) * turns
        task = Task(
            question="How far?",
            answer=Number(float(lead) * driver / driven * turns, "mm"),
            slips={"upside down: Turn it.": float(lead) * driven / driver * turns},
            hints="One.\nTwo.",
            solution=f"**{float(lead) * driver / driven * turns} mm**",
            right="Yes.",
        )
        for said in (right, str(right), f"{right} mm", float(right), f"{lead} * {driver} / {driven} * {turns}"):
            assert task.check(said).is_right, said
        assert (task.check(slip).slip, task.check(str(slip)).slip) == ("upside down", "upside down")
        assert Fraction(task.key.removesuffix(" mm")) == right

    @in_one(
        ("value", "given"),
        [
            (25.4 / 8, "3.175"), (25.4 / 8, "127/40"), (4 * 20 / 72 * 10, "100/9"), (0.1 * 3, "3/10"), (2.0, 2),
            (np.float64(100) / 9, "100/9"), (3, "3.0"),
        ],
    )  # fmt: skip
    def test_as_a_learner_writes_it(self, value, given):
        assert marked(Number(value), given) is True
        assert marked(ThreadCut(value), f"{given} mm") is True

    @pytest.mark.parametrize("value", [2**0.5, pi, 100 / 9 + 1e-9, np.float64(2) ** 0.5])
    def test_what_nobody_can_give_exactly_is_refused_at_once(self, value):
        with pytest.raises(GearcalcError, match="places=2"):
            Number(value, "mm")
        assert marked(Number(value, "mm", places=2), round(value, 2)) is True

    @pytest.mark.parametrize("value", [float("nan"), float("inf")])
    def test_what_is_no_number_is_refused(self, value):
        with pytest.raises(GearcalcError):
            Number(value, "mm", places=2)

    @in_one(
        ("places", "written", "key"),
        [
            (None, "11.11111111111111 mm", "100/9 mm"),
            (2, "11.11111111111111 mm", "11.11 mm"),
            (None, "15.0 mm", "15 mm"),
            (0, "15.0 mm", "15 mm"),
            (None, "3.175 mm", "3.175 mm"),
            (1, "15.0 mm", "15.0 mm"),
        ],
    )
    def test_a_key_is_written_as_by_hand(self, places, written, key):
        assert Number(1.5, "mm", places).on_a_key(written) == key

    @in_one(
        ("value", "places", "written", "key"),
        [
            (Fraction("28.575"), 2, f"{28.575:.2f} mm", "28.58 mm"),  # the float lies below: 28.57
            (Fraction("28.575"), 2, "≈ 28.57", "28.58"),
            (Fraction("28.575"), 2, "28.57 mm, as near as one reads", "28.58 mm"),
            (Fraction(-1, 8), 2, f"−{0.125:.2f}", "−0.13"),
            (Fraction(5, 2), 0, f"{2.5:.0f} mm", "3 mm"),
            (Fraction(1005, 1000), 2, f"{1.005:.2f}", "1.01"),
            (Fraction("28.595"), 2, f"{28.595:.2f} mm", "28.6 mm"),
            (Fraction(25), -1, "20 mm", "30 mm"),
            (Fraction("28.575"), 2, "28.575 mm", "28.575 mm"),
            (Fraction(5, 2), 0, "5/2 mm", "5/2 mm"),
            (Fraction("28.576"), 2, "28.58 mm", "28.58 mm"),
        ],
    )
    def test_half_way_is_rounded_up_on_a_key_whatever_a_float_made_of_it(self, value, places, written, key):
        task = Task(question="?", answer=Number(value, "mm", places), hints="a\nb", solution=f"**{written}**", right="")
        assert task.key == key
