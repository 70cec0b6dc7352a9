"""Gears as an answer: any train, one that comes near, one gear more."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import pi, prod

import numpy as np
import pytest
import sympy

import gearcalc as gc
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.exercises.answers import UnreadableError, slips_of
from gearcalc.learning.exercises.gear_answers import (
    AnyNearTrain,
    AnyTrain,
    GearToAdd,
    leadscrew_forgotten,
    same_gears,
    within,
)
from gearcalc.learning.exercises.tasks import Task
from tests.how_much import in_one
from tests.learning.answers_by_themselves import marked, slip_of


def a_task(answer):
    """A question of which only the answer counts."""
    return Task(question="?", answer=answer, hints="One.\nTwo.", solution="", right="")


class TestAnyTrain:
    box = (20, 30, 40, 40, 50, 60, 80)
    quarter = AnyTrain(Fraction(1, 4), box=box)

    @in_one(
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

    @in_one("given", ["20:80", "20 ÷ 80", "20 : 80", "Fraction(20, 80)", "(20 · 30) : (40 · 60)"])
    def test_other_signs_for_over(self, given):
        assert marked(self.quarter, given) is True

    @pytest.mark.parametrize("given", [20 / 80, Fraction(20, 80), 4])
    def test_a_ratio_without_its_quotes_is_told_how_to_write_gears(self, given):
        with pytest.raises(UnreadableError) as told:
            self.quarter.read(given)
        assert "quotes" in told.value.remedy

    def one_pair_for(self, ratio):
        return a_task(AnyTrain(ratio, box=self.box, pairs=1))

    def two_pairs_for_a_sixth(self):
        return a_task(AnyTrain(Fraction(1, 6), box=(20, 25, 30, 40, 75, 90), pairs=2))

    @pytest.mark.parametrize("given", ["0.25", "0,25", "2.5/10", "1/4", "15/60"])
    def test_the_right_ratio_by_no_gears_of_the_box_is_said_to_be_right(self, given):
        task = self.one_pair_for(Fraction(1, 4))
        outcome = task.check(given)
        assert not outcome.is_right
        assert "right ratio; now widen it to two gears of the box" in outcome.feedback

    @in_one("given", ["1/2 1/3", "1/2, 1/3", "(2·11)/(3·44)", "1/2 · 1/3", "1/2 then 1/3", "2/12", "16/96"])
    def test_a_ratio_that_is_split_and_not_widened_yet_is_said_to_be_right(self, given):
        outcome = self.two_pairs_for_a_sixth().check(given)
        assert not outcome.is_right
        assert "That is the right ratio" in outcome.feedback or "it is the right ratio" in outcome.feedback
        assert "gears of the box" in outcome.feedback

    @in_one("given", ["1/2 2/3", "1/2 1/0", "1/2 1/3 mm", "(2·11)/(3·43)", "1/7", "-1/6", "π/6"])
    def test_another_one_that_is_split_is_not(self, given):
        outcome = self.two_pairs_for_a_sixth().check(given)
        assert not outcome.is_right
        assert "right ratio" not in outcome.feedback

    def test_nobody_is_sent_to_widen_what_no_two_gears_of_the_box_make(self):
        task = self.one_pair_for(Fraction(127, 100))
        assert not [given for given in ("1.27", "127/100") if "widen" in task.check(given).feedback]

    @pytest.mark.parametrize("given", ["0.5", "2.5/5", "1/2", "one quarter"])
    def test_another_ratio_is_not(self, given):
        task = self.one_pair_for(Fraction(1, 4))
        assert "right ratio" not in task.check(given).feedback

    @in_one(
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

    @in_one(
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


class TestWithin:
    @in_one("ppm", [1, 100, 402, 403, 5000])
    def test_pi_against_a_float(self, ppm):
        for top, bottom in ((22, 7), (355, 113), (333, 106), (19, 6), (3, 1)):
            assert within(Fraction(top, bottom), PiMultiple(Fraction(1)), ppm) == (
                abs(top / bottom / pi - 1) * 1e6 <= ppm
            )

    def test_the_bound_itself_counts(self):
        assert within(Fraction(1_000_200, 1_000_000), Fraction(1), 200)
        assert within(Fraction(999_800, 1_000_000), Fraction(1), 200)
        assert not within(Fraction(10_002_001, 10_000_000), Fraction(1), 200)


class TestAnyNearTrain:
    box = (20, 30, 36, 40, 42, 48, 63, 80)
    near = AnyNearTrain(Fraction(127, 100), box=box, ppm=200)

    def test_every_one_and_two_pairs_by_brute_force(self):
        right = 0
        for pairs in (1, 2):
            for drivers in combinations(self.box, pairs):
                for driven in combinations([teeth for teeth in self.box if teeth not in drivers], pairs):
                    expected = abs(prod(drivers) * 100 / (prod(driven) * 127) - 1) <= 200e-6
                    assert marked(self.near, (drivers, driven)) == expected
                    right += expected
        assert right >= 2

    @in_one(
        ("given", "slip"),
        [
            ("63/80", "upside down"),
            ("127/100", "not in the box"),
            ("(80 · 30)/(63 · 20)", "one pair forgotten"),
            ("80/42", None),
            ("(80 · 20)/(63 · 20)", "one gear used twice"),
        ],
    )
    def test_slips(self, given, slip):
        assert slip_of(self.near, given) == slip

    def test_what_is_near_enough_and_can_be_made_is_said_to_be_right(self):
        task = a_task(self.near)
        assert "right ratio" in task.check("4/7 20/9").feedback
        assert not [given for given in ("127/100", "127/2 2/100") if "right ratio" in task.check(given).feedback]

    def test_a_ratio_with_pi(self):
        worm = AnyNearTrain(PiMultiple(Fraction(1, 2)), box=(22, 14, 20, 30), ppm=403)
        assert marked(worm, "22/14") is True
        assert slip_of(worm, "14/22") == "upside down"


class TestGearToAdd:
    box = (20, 24, 25, 30, 40, 50, 60)
    more = GearToAdd(Fraction(8, 19), box=box)

    def test_every_gear_by_brute_force(self):
        for teeth in range(20, 128):
            gears = (*self.box, teeth)
            possible = any(
                prod(drivers) * 19 == prod(driven) * 8 and not set(drivers) & set(driven)
                for pairs in (1, 2)
                for drivers in combinations(gears, pairs)
                for driven in combinations(gears, pairs)
            )
            assert marked(self.more, teeth) == possible

    @in_one(
        ("given", "slip"),
        [
            (19, "not to be had"),
            (190, "not to be had"),
            (24, "in the box already"),
            (37, "near is not equal"),
            (-38, "not to be had"),
        ],
    )
    def test_slips(self, given, slip):
        assert slip_of(self.more, given) == slip

    def test_the_prime_alone_is_not_enough(self):
        # 8/19 with a gear of 57 needs a 24, and one of 114 a 48 or two pairs; this box has neither
        assert slip_of(GearToAdd(Fraction(8, 19), box=(20, 25, 35, 50)), 57) == "no partner"

    @in_one("given", [38.5, "38/3", sympy.pi, None, "thirty-eight", True])
    def test_no_gears(self, given):
        assert marked(self.more, given) == "unreadable"

    @in_one("given", [38, 38.0, "38", "38 teeth", "38T", Fraction(38), np.int64(38)])
    def test_forms(self, given):
        assert marked(self.more, given) is True

    def test_the_library_then_finds_a_train(self):
        assert gc.make_up("8/19", (*self.box, 38)).can
