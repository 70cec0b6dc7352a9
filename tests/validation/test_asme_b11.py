"""Against ASME B1.1 (Unified threads): limits of pitch diameter read in reprints of its tables, as each row says.

The standard's own roundings end in ties that reprints settle either way, so 0.0001 in is allowed on a limit.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearcalc.basics.exact import INCH_MM
from gearcalc.threads.tolerances import basic_pitch_diameter, pitch_diameter_limits, pitch_diameter_tolerance
from tests.how_much import in_one
from tests.validation.published import label, rows

TIE = Fraction(1, 10_000)


def inches(thread: str, tolerance_class: str) -> tuple[Fraction, Fraction]:
    smallest, largest = pitch_diameter_limits(thread, tolerance_class)
    return smallest / INCH_MM, largest / INCH_MM


def agree(published: str, ours: Fraction) -> bool:
    return abs(Fraction(published) - ours) <= TIE


class TestTheFilesAreWhole:
    @pytest.mark.parametrize(
        ("name", "read"),
        [
            ("unified_limits_2A_3A", 5),
            ("unified_limits_2B", 12),
            ("unified_limits_read", 122),
            ("unified_2B_3B_in_mm", 18),
        ],
    )
    def test_rows_read_in_a_source(self, name, read):
        assert read == len(rows(name, "S"))


class TestLimitsOf2AAnd3A:
    @in_one("row", rows("unified_limits_2A_3A", "S", "M"), label)
    def test_pitch_diameter(self, row):
        for tolerance_class in ("2A", "3A"):
            smallest, largest = inches(row["thread"], tolerance_class)
            for name, ours in (("min", smallest), ("max", largest)):
                published = row[f"{tolerance_class}_{name}_pub"]
                assert not published or agree(published, ours)

    @in_one("row", rows("unified_limits_2A_3A", "S", "M"), label)
    def test_allowance_and_unrounded_tolerance(self, row):
        _, largest = inches(row["thread"], "2A")
        assert agree(row["allow_pub"], basic_pitch_diameter(row["thread"]) / INCH_MM - largest)
        exact = pitch_diameter_tolerance(row["thread"], "2A").um / 25400
        assert abs(Fraction(row["T2A_raw"]) - exact) <= Fraction(1, 10**6)


class TestLimitsOf2B:
    @in_one("row", rows("unified_limits_2B", "S"), label)
    def test_pitch_diameter(self, row):
        smallest, largest = inches(row["thread"], "2B")
        assert agree(row["D2_min_pub"], smallest)
        assert agree(row["D2_max_pub"], largest)


class TestLimitsInReprints:
    """All six classes, UNC, UNF, UNEF and constant pitches, #0 to 6 in."""

    @in_one("row", rows("unified_limits_read", "S"), label)
    def test_pitch_diameter(self, row):
        smallest, largest = inches(row["thread"], row["class"])
        assert agree(row["d2_min_in"], smallest)
        assert agree(row["d2_max_in"], largest)

    def test_most_agree_to_the_last_digit(self):
        exactly = [
            (Fraction(row["d2_min_in"]), Fraction(row["d2_max_in"])) == inches(row["thread"], row["class"])
            for row in rows("unified_limits_read", "S")
        ]
        assert sum(exactly) >= 0.85 * len(exactly)

    @in_one("row", rows("unified_limits_read", "S!="), label)
    def test_a_misprint_is_far_from_the_formula(self, row):
        smallest, largest = inches(row["thread"], row["class"])
        assert not (agree(row["d2_min_in"], smallest) and agree(row["d2_max_in"], largest))
        assert row["note"]


class TestClassFactors:
    """Each class as a multiple of 2A (1A and 1B from memory), too close to the next to be told by rounded limits."""

    FACTORS = (("1A", "1.5"), ("2A", "1"), ("3A", "0.75"), ("1B", "1.95"), ("2B", "1.3"), ("3B", "0.975"))

    @in_one(("tolerance_class", "factor"), FACTORS)
    def test_factor(self, tolerance_class, factor):
        for thread in ("1/4-20", "1-8", "2-1/2-12"):
            expected = Fraction(factor) * pitch_diameter_tolerance(thread, "2A").um
            actual = pitch_diameter_tolerance(thread, tolerance_class).um
            assert abs(actual - expected) <= Fraction(254, 20_000)  # half of 0.000001 in


class TestLimitsInMillimetres:
    """The same limits turned into mm and rounded to 0.001 by the source: 0.0001 in and half a µm are allowed."""

    @in_one("row", rows("unified_2B_3B_in_mm", "S"), label)
    def test_pitch_diameter(self, row):
        allowed = TIE * INCH_MM + Fraction(1, 2000)
        for tolerance_class in ("2B", "3B"):
            smallest, largest = pitch_diameter_limits(row["thread"], tolerance_class)
            assert abs(Fraction(row["d2_min_mm"]) - smallest) <= allowed
            assert abs(Fraction(row[f"{tolerance_class}_max_mm"]) - largest) <= allowed


class TestDepth:
    def test_pitch_diameter_is_three_quarters_of_the_sharp_v_below_the_major(self):
        (published,) = (row for row in rows("thread_depths", "S") if "3H/4" in row["quantity"])
        per_pitch = Fraction(published["published"].removesuffix("/tpi"))
        depth = 1 - basic_pitch_diameter("1-8 UNC") / INCH_MM
        assert abs(depth - per_pitch / 8) <= TIE
