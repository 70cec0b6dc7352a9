"""What an answer may be written as, each kind by itself."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
import sympy

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.exercises.answers import Choice, UnreadableError, slips_of
from gearcalc.learning.exercises.gear_answers import AnyTrain, leadscrew_forgotten, same_gears
from gearcalc.learning.exercises.number_answers import Number, ThreadCut


def marked(kind, given):
    """Right or not; 'unreadable' where it can't be read."""
    try:
        return kind.is_right(kind.read(given))
    except (GearcalcError, TypeError, ValueError):
        return "unreadable"


class TestNumber:
    eighth = Number(Fraction(127, 40), "mm", places=3)

    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize(
        "given", [3.1756, "3.1744", -3.175, "−3.175", "-127/40", "3.175 in", 0, np.int64(3), 10**300]
    )
    def test_wrong_numbers(self, given):
        assert marked(self.eighth, given) is False

    @pytest.mark.parametrize(
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

    def test_near_is_called_rounding(self):
        (near,) = slips_of(self.eighth.common_slips())
        assert near.wrong(Fraction("3.18"))
        assert near.wrong(Fraction("3.2"))  # to one decimal
        assert not near.wrong(Fraction("3.21"))

    def test_unknown_unit_is_refused_when_the_exercise_is_made(self):
        with pytest.raises(GearcalcError, match="unit must be one of"):
            Number(Fraction(1), "furlong")


class TestThreadCut:
    sixteen = ThreadCut(Fraction(254, 160))

    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize("given", ["8 tpi", "32 tpi", "16 mm", "M10", "module 0.5", "1.588 in pitch"])
    def test_other_threads(self, given):
        assert marked(self.sixteen, given) is False

    @pytest.mark.parametrize(
        "given", ["16", 16, 16.0, 1.5875, "1,5875", "127/80", "25.4/16 mm", "1/16 in", "2 · 8 tpi"]
    )
    def test_bare_numbers_and_sums(self, given):
        assert marked(self.sixteen, given) is True

    @pytest.mark.parametrize("given", ["8", 8, 32, 3.175, "1.59", "15.98 tpi", "-16", 0.5])
    def test_other_numbers(self, given):
        assert marked(self.sixteen, given) in (False, "unreadable")

    def test_threads_per_inch_to_two_decimals(self):
        sixteen_thirds = ThreadCut(Fraction(381, 80))
        assert all(marked(sixteen_thirds, given) is True for given in ("5.33 tpi", 5.33, "5 1/3 tpi", "16/3", 16 / 3))
        assert not any(marked(sixteen_thirds, given) for given in ("5.3 tpi", 5.34, "5.33 mm"))
        assert "two decimals of tpi" in sixteen_thirds.how
        assert [slip.wrong(sixteen_thirds.read("5.3")) for slip in slips_of(sixteen_thirds.common_slips())] == [True]

    @pytest.mark.parametrize(
        "given", ["sixteen", None, ["16 tpi"], gc.Train((40,), (80,)), True, "16 teeth", 0, "0", -16]
    )
    def test_no_threads(self, given):
        assert marked(self.sixteen, given) == "unreadable"

    @pytest.mark.parametrize(("given", "tpi"), [("1/2-13", 13), ("10-32", 32), ("1/4-20 UNC", 20), ("1-1/8-7", 7)])
    def test_designations_are_no_sums(self, given, tpi):
        assert self.sixteen.read(given) == Fraction(254, 10 * tpi)


class TestChoice:
    way = Choice("right", ("right", "left"), {"left": ("LH", "left-hand")})

    def test_case_spaces_and_hyphens_do_not_count(self):
        assert [marked(self.way, given) for given in (" RIGHT ", "left hand", "lh", "'right'")] == [
            True,
            False,
            False,
            True,
        ]

    def test_a_pair_without_its_quotes(self):
        pairs = Choice("80/63", ("80/63", "47/37", "2.5 mm"), {"2.5 mm": ("2.5",)})
        assert [pairs.read(given) for given in (80 / 63, Fraction(47, 37), 2.5)] == ["80/63", "47/37", "2.5 mm"]

    @pytest.mark.parametrize("given", ["", "both", 1, None, True, "right" * 50])
    def test_none_of_them(self, given):
        assert marked(self.way, given) == "unreadable"


class TestAnyTrain:
    box = (20, 30, 40, 40, 50, 60, 80)
    quarter = AnyTrain(Fraction(1, 4), box=box)

    @pytest.mark.parametrize(
        "given",
        [
            "20/80",
            "(20 · 30)/(40 · 60)",
            "20x30/40x60",
            "20/40 30/60",
            ((20, 30), (60, 40)),
            [[20], [80]],
            (20, 80),
            gc.Train((30, 20), (40, 60)),
            gc.Train((20,), (80,), ((50,),)),
            "(40 · 20)/(40 · 80)",
        ],
    )
    def test_every_train_that_does_it(self, given):
        assert marked(self.quarter, given) is True

    def test_a_setup_is_a_train(self):
        lathe = gc.demo_lathe("inch")
        assert marked(self.quarter, gc.setup(lathe, (20,), (80,), "middle")) is True

    @pytest.mark.parametrize("given", ["20:80", "20 ÷ 80", "20 : 80", "Fraction(20, 80)", "(20 · 30) : (40 · 60)"])
    def test_other_signs_for_over(self, given):
        assert marked(self.quarter, given) is True

    @pytest.mark.parametrize("given", [20 / 80, Fraction(20, 80), 4])
    def test_a_ratio_without_its_quotes_is_told_how_to_write_gears(self, given):
        with pytest.raises(UnreadableError) as told:
            self.quarter.read(given)
        assert "quotes" in told.value.remedy

    @pytest.mark.parametrize(
        ("given", "slip"),
        [
            ("80/20", "upside down"),
            ("25/100", "not in the box"),
            (gc.Train((20,), (80,), ((33,),)), "not in the box"),
            ("(20 · 30)/(60 · 20)", "one gear used twice"),
            ("(30 · 60)/(60 · 120)", "not in the box"),
            ("(20 · 30)/(80 · 50)", "one pair forgotten"),
            ("40/80", None),
        ],
    )
    def test_slips(self, given, slip):
        train = self.quarter.read(given)
        assert not self.quarter.is_right(train)
        named = [
            one.name
            for one in slips_of(self.quarter.common_slips())
            if (one.wrong(train) if callable(one.wrong) else self.quarter.same(train, one.wrong))
        ]
        assert named[:1] == ([slip] if slip else [])

    def test_pairs_added(self):
        # 20/80 + 40/60 = 11/12, and no pair of them makes that alone
        answer = AnyTrain(Fraction(11, 12), box=self.box, pairs=2)
        train = answer.read("20/80 40/60")
        assert (
            next(
                slip.name
                for slip in slips_of(answer.common_slips())
                if (slip.wrong(train) if callable(slip.wrong) else False)
            )
            == "pairs added"
        )

    def test_so_many_pairs_when_asked_for(self):
        two = AnyTrain(Fraction(1, 4), box=self.box, pairs=2)
        assert [marked(two, given) for given in ("20/80", "20x30/40x60")] == [False, True]

    def test_what_is_on_already_does_not_count(self):
        other = AnyTrain(Fraction(1, 4), box=self.box, already=(gc.Train((20, 30), (40, 60)),))
        assert [marked(other, given) for given in ("20x30/60x40", "20/80")] == [False, True]

    @pytest.mark.parametrize(
        "given",
        [
            "",
            "40",
            "40/80/20",
            ((40,),),
            ((40,), (80,), (20,)),
            (1, 2),
            ((40.5,), (80,)),
            {40: 80},
            "4" * 500,
            iter([40, 80]),
            (((40,),), (80,)),
            ((20,) * 50, (80,) * 50),
            object(),
        ],
    )
    def test_no_trains(self, given):
        assert marked(self.quarter, given) == "unreadable"


class TestHelpers:
    def test_same_gears_whatever_their_order(self):
        one = gc.Train((20, 30), (40, 60))
        assert same_gears(one, gc.Train((30, 20), (60, 40)))
        assert not same_gears(one, gc.Train((40, 60), (20, 30)))

    def test_leadscrew_forgotten(self):
        in_mm, in_inches = slips_of(leadscrew_forgotten(Fraction(254, 160)))
        assert (in_mm.wrong, in_inches.wrong) == (Fraction(254, 160), Fraction(1, 16))
