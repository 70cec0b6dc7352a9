"""What an answer may be written as, for the kinds that came later: near enough, several of a list, one gear more."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import pi, prod

import numpy as np
import pytest
import sympy

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.exercises.answers import Several, about, slips_of
from gearcalc.learning.exercises.gear_answers import AnyNearTrain, GearToAdd, within
from gearcalc.learning.exercises.number_answers import NearerFraction, Number

PI_20 = Fraction("3.14159265358979323846")
"""π to 20 decimals, as every table of constants has it."""


def marked(kind, given):
    """Right or not; 'unreadable' where it can't be read."""
    try:
        return kind.is_right(kind.read(given))
    except (GearcalcError, TypeError, ValueError):
        return "unreadable"


def slip_of(kind, given):
    """The name of the first slip that shows in a wrong answer."""
    read = kind.read(given)
    assert not kind.is_right(read)
    for slip in slips_of(kind.common_slips()):
        if slip.wrong(read) if callable(slip.wrong) else kind.same(read, slip.wrong):
            assert isinstance(slip.says, str) or slip.says(read)
            return slip.name
    return None


class TestThousands:
    """As this package writes large numbers itself: 10 000."""

    far = Number(Fraction(2538071, 100), "ppm", places=-1)

    @pytest.mark.parametrize("given", ["25 380", "25\u202f381", "25 380.7 ppm", "≈ 25 380,71", "25380", "25 379 1/2"])
    def test_spaces_between_groups_of_three(self, given):
        assert marked(self.far, given) is True

    @pytest.mark.parametrize("given", ["2 5380", "25 38", "25 3801", "253 80.71", "25 380 7", "1253 800", "0.5 380"])
    def test_other_spaces_are_no_number(self, given):
        assert marked(self.far, given) == "unreadable"

    def test_a_mixed_number_is_not_joined(self):
        assert marked(Number(Fraction(1625, 127)), "12 101/127") is True


class TestNumberInOtherUnits:
    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize("given", ["2.5 mmm", "2.5 ppm", "µm", "2.5 µm long"])
    def test_other_units_are_not_read(self, given):
        assert marked(Number(Fraction(-5, 2), "µm", places=1), given) == "unreadable"


class TestNumberWithPi:
    kind = Number(PiMultiple(Fraction(3, 2)), "mm", places=3)

    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize("given", ["π π", "pi pi 2", "1.5 pie", "spin", "16 tpi", "epi", "1.5 π tpi", "π/0"])
    def test_not_pi(self, given):
        assert marked(self.kind, given) == "unreadable"

    def test_a_multiple_of_pi_is_no_plain_number(self):
        assert marked(Number(Fraction(3), "mm", places=3), "π") is False


class TestAbout:
    def test_half_a_per_cent_either_way(self):
        near = about(200.0)
        assert [near(Fraction(x)) for x in (199, 200, 201, 198, 202, -200)] == [True, True, True, False, False, False]

    def test_negative_numbers(self):
        assert about(Fraction(-200))(Fraction(-201))
        assert not about(Fraction(-200))(Fraction(-202))


class TestSeveral:
    those = Several(frozenset({1, 3}), rows=4)

    def test_naming_none_is_not_praised(self):
        """Nothing that was named is right, so nothing may be called so."""
        assert slip_of(self.those, "none") == slip_of(self.those, []) == "none"

    @pytest.mark.parametrize(
        "given",
        [
            "1, 3",
            "3 1",
            "1 and 3",
            "rows 1 and 3",
            "Box 1, box 3",
            "lines 1 and 3",
            "1;3",
            "1,3,3",
            [1, 3],
            (3, 1),
            {1, 3},
            np.array([1, 3]),
        ],
    )
    def test_rows_in_many_forms(self, given):
        assert marked(self.those, given) is True

    @pytest.mark.parametrize("given", [1, "1", "2 4", "none", [], "1 2 3 4", range(1, 5)])
    def test_other_rows(self, given):
        assert marked(self.those, given) is False

    @pytest.mark.parametrize(
        "given",
        [
            "1.3",
            "0",
            "5",
            "-1",
            "one",
            "not 1, 3",
            "²",
            ",",
            True,
            [True, 3],
            [1.0, 3.0],
            1.0,
            None,
            {"a": 1},
            range(10**9),
        ],
    )
    def test_no_rows(self, given):
        assert marked(self.those, given) == "unreadable"

    @pytest.mark.parametrize(
        ("given", "slip"),
        [("2 4", "the other ones"), ("1 2 3", "too many"), ("3", "not all"), ("none", "none"), ("1 2", None)],
    )
    def test_slips(self, given, slip):
        assert slip_of(self.those, given) == slip

    def test_none_may_be_right(self):
        nothing = Several(frozenset(), rows=3)
        assert [marked(nothing, given) for given in ("none", "None", [], "1")] == [True, True, True, False]


class TestWithin:
    @pytest.mark.parametrize("ppm", [1, 100, 402, 403, 5000])
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

    @pytest.mark.parametrize(
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

    def test_a_ratio_with_pi(self):
        worm = AnyNearTrain(PiMultiple(Fraction(1, 2)), box=(22, 14, 20, 30), ppm=403)
        assert marked(worm, "22/14") is True
        assert slip_of(worm, "14/22") == "upside down"


class TestNearerFraction:
    nearer = NearerFraction(PiMultiple(Fraction(1)), than=Fraction(22, 7), most=250)

    def test_every_fraction_by_brute_force(self):
        for bottom in range(1, 80):
            for top in (int(pi * bottom), int(pi * bottom) + 1):
                fraction = Fraction(top, bottom)
                fits = max(fraction.as_integer_ratio()) <= 250
                nearer = abs(fraction - PI_20) < abs(Fraction(22, 7) - PI_20)
                assert marked(self.nearer, fraction) == (fits and nearer)

    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize("given", [sympy.pi, "π", "22 over 7", None, "1/0", float("inf"), True])
    def test_no_fractions(self, given):
        assert marked(self.nearer, given) == "unreadable"


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

    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize("given", [38.5, "38/3", sympy.pi, None, "thirty-eight", True])
    def test_no_gears(self, given):
        assert marked(self.more, given) == "unreadable"

    @pytest.mark.parametrize("given", [38, 38.0, "38", "38 teeth", "38T", Fraction(38), np.int64(38)])
    def test_forms(self, given):
        assert marked(self.more, given) is True

    def test_the_library_then_finds_a_train(self):
        assert gc.make_up("8/19", (*self.box, 38)).can
