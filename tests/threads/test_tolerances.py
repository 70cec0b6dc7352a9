"""Tolerance classes as they are asked for, and what is refused rather than invented."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearcalc.basics.errors import (
    GearcalcError,
    NotPossibleError,
    ThreadTextError,
    UnknownNameError,
    ValueOutOfRangeError,
)
from gearcalc.basics.exact import INCH_MM, PiMultiple
from gearcalc.basics.files import read_rows
from gearcalc.threads import Thread
from gearcalc.threads.deviations import judge
from gearcalc.threads.tolerances import (
    Limits,
    basic_pitch_diameter,
    length_of_engagement_group,
    metric_width_um,
    normal_engagement_mm,
    pitch_diameter_limits,
    pitch_diameter_tolerance,
    tolerance_standard,
)
from tests.how_much import in_one

WITHOUT = (
    "1/2 BSW",
    "3/8 BSF",
    "2 BA",
    "G 1/2",
    "R 1/2",
    "1/2 NPT",
    "Tr 40x7",
    "1/2 Acme",
    "module 1",
    "1.25 mm",
    "16 tpi",
)


def grade_6_um(major_mm: Fraction, pitch_mm: Fraction) -> int:
    return metric_width_um(major_mm, pitch_mm, 6, internal=False)[0]


class TestToleranceStandard:
    @pytest.mark.parametrize("thread", ["M10", "M10x1", "M16xPh4P2", "M10x0.6"])
    def test_metric(self, thread):
        assert tolerance_standard(thread) == "ISO 965-1"

    @in_one("thread", ["1/4-20", "#8-32", "1/4 UNF", "1/2-28", "1/4-20 UNC-2A LH"])
    def test_unified(self, thread):
        assert tolerance_standard(thread) == "ASME B1.1"

    @in_one("thread", WITHOUT)
    def test_none(self, thread):
        assert tolerance_standard(thread) is None

    def test_a_pitch_with_pi_in_it_has_none_whatever_its_angle(self):
        odd = Thread(
            "M odd", PiMultiple(Fraction(1)), thread_angle_deg=Fraction(60), major_mm=Fraction(20), family="metric"
        )
        assert tolerance_standard(odd) is None


class TestPitchDiameterTolerance:
    def test_the_threads_own_class_is_the_default(self):
        assert pitch_diameter_tolerance("M10x1.5-4g6g") == pitch_diameter_tolerance("M10", "4g6g")
        assert pitch_diameter_tolerance("1/4-20 UNC-3A") == pitch_diameter_tolerance("1/4-20", "3A")

    def test_without_one_it_is_6g_or_2a(self):
        assert pitch_diameter_tolerance("M10").tolerance_class == "6g"
        assert pitch_diameter_tolerance("1/4-20").tolerance_class == "2A"

    def test_the_pitch_diameter_part_comes_first(self):
        assert pitch_diameter_tolerance("M10", "4g6g").um == pitch_diameter_tolerance("M10", "4h").um
        assert pitch_diameter_tolerance("M10", "5H6H").um == pitch_diameter_tolerance("M10", "5H").um

    @pytest.mark.parametrize(("thread", "known"), [("M5", True), ("M4.5", False), ("M4", False), ("M10x0.75", False)])
    def test_grade_8_begins_at_a_pitch_of_0_8(self, thread, known):
        # M5 has 0.8, M4.5 has 0.75, M4 has 0.7 (ISO 965-1, from memory: no grade 8 below 0.8)
        for tolerance_class in ("8g", "8H"):
            if known:
                assert pitch_diameter_tolerance(thread, tolerance_class).um > 0
            else:
                with pytest.raises(NotPossibleError, match=r"no grade 8 for a pitch below 0\.8 mm"):
                    pitch_diameter_tolerance(thread, tolerance_class)
        assert pitch_diameter_tolerance(thread, "7g").um > 0
        assert judge(thread, 100, tolerance_class="8g").ok is (True if known else None)

    def test_every_width_of_the_table_is_a_preferred_number(self):
        """ISO 3, R40, from memory, rounded to whole µm below 100, halves to the even number."""
        decade = """
            100 106 112 118 125 132 140 150 160 170 180 190 200 212 224 236 250 265 280 300
            315 335 355 375 400 425 450 475 500 530 560 600 630 670 710 750 800 850 900 950
        """
        r40 = [round(Fraction(each) / 10) for each in decade.split()] + list(map(int, decade.split()))
        for row in read_rows("tolerances/iso965_pitch_diameter.csv"):
            size, pitch, six = Fraction(row["d_to_mm"]), Fraction(row["pitch_mm"]), int(row["grade6_um"])
            for grade in (4, 5, 6, 7, 8) if pitch >= Fraction(4, 5) else (4, 5, 6, 7):
                width = metric_width_um(size, pitch, grade, internal=row["kind"] == "internal")[0]
                assert width == r40[r40.index(six) + 4 * (grade - 6)]

    def test_grades_widen_by_whole_r40_steps(self):
        # 132 -8 -4 0 +4 +8 steps: 85 106 132 170 212
        widths = [pitch_diameter_tolerance("M10", f"{grade}g").um for grade in range(4, 9)]
        assert widths == [85, 106, 132, 170, 212]

    def test_what_is_from_memory_says_so(self):
        from_memory = pitch_diameter_tolerance("M30x1", "6g")
        assert from_memory.status == "M"
        assert "from memory" in from_memory.source
        assert "from memory" in str(from_memory)
        assert "from memory" not in str(pitch_diameter_tolerance("M10", "6g"))
        assert pitch_diameter_tolerance("M10", "7g").status == "M"
        assert pitch_diameter_tolerance("1/2-13", "1B").status == "M"

    def test_position_does_not_change_the_width(self):
        assert len({pitch_diameter_tolerance("M10", f"6{position}").um for position in "efgh"}) == 1

    @in_one(
        "wrong",
        [
            "",
            "6",
            "g",
            "6i",
            "3g",
            "9g",
            "66g",
            "6gg",
            "4g6H",
            "6g/6H",
            "2A",
            "6g; x",
            "６g",
            "6g" * 20,
            "6g".ljust(21),
            6,
            2.5,
        ],
    )
    def test_what_is_no_metric_class(self, wrong):
        with pytest.raises(UnknownNameError, match="'4g6g'"):
            pitch_diameter_tolerance("M10", wrong)

    @in_one("wrong", ["", "6g", "4A", "2C", "A2", "2A3A", 2])
    def test_what_is_no_unified_class(self, wrong):
        with pytest.raises(UnknownNameError, match="1A, 2A, 3A"):
            pitch_diameter_tolerance("1/4-20", wrong)

    def test_blanks_around_a_class_are_no_part_of_it(self):
        assert pitch_diameter_tolerance("M10", " 6g".ljust(20)) == pitch_diameter_tolerance("M10", "6g")

    def test_case_matters_for_metric_classes_only(self):
        assert pitch_diameter_tolerance("1/4-20", "2a") == pitch_diameter_tolerance("1/4-20", "2A")
        assert pitch_diameter_tolerance("M10", "6h").um != pitch_diameter_tolerance("M10", "6H").um

    @in_one("thread", WITHOUT)
    def test_threads_without_tolerances_here(self, thread):
        with pytest.raises(NotPossibleError, match="no pitch-diameter tolerance is held here"):
            pitch_diameter_tolerance(thread)

    def test_the_table_goes_from_over_its_first_diameter_up_to_its_last(self):
        """Just at the first bound of a pitch there is no row, at the last there is, and a hair beyond there is none."""
        for name, of in (("iso965_pitch_diameter", grade_6_um), ("iso965_engagement", normal_engagement_mm)):
            rows = read_rows(f"tolerances/{name}.csv")
            for pitch in {row["pitch_mm"] for row in rows}:
                ends = [
                    (Fraction(row["d_over_mm"]), Fraction(row["d_to_mm"])) for row in rows if row["pitch_mm"] == pitch
                ]
                first, last = min(ends)[0], max(to for _, to in ends)
                assert of(last, Fraction(pitch))
                for beyond in (first, last + Fraction(1, 1000)):
                    with pytest.raises(NotPossibleError, match="our table of ISO 965-1 has no"):
                        of(beyond, Fraction(pitch))

    @pytest.mark.parametrize("thread", ["M100x3", "M10x0.5", "M10x1.51"])
    def test_sizes_that_the_table_leaves_out(self, thread):
        with pytest.raises(NotPossibleError, match="table of ISO 965-1 has no pitch-diameter tolerance"):
            pitch_diameter_tolerance(thread)

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            pitch_diameter_tolerance("nonsense", "6g")

    def test_constant_pitches_of_4_6_and_8_go_by_the_diameter_others_by_nine_pitches(self):
        # T2A in millionths of an inch, worked out by hand from the formula with LE = 2.5 and LE = 0.75.
        assert abs(pitch_diameter_tolerance("2-1/2-8", "2A").um / 25400 - Fraction(8158, 10**6)) < Fraction(2, 10**6)
        assert abs(pitch_diameter_tolerance("2-1/2-12", "2A").um / 25400 - Fraction(6197, 10**6)) < Fraction(2, 10**6)

    @in_one("tpi", range(3, 17))
    def test_each_constant_pitch_by_the_formula_in_floats(self, tpi):
        """0.0015 (∛D + √LE) + 0.015 ∛P², of ASME B1.1; LE is the diameter at 4, 6 and 8 tpi, else nine pitches."""
        length = 5 if tpi in (4, 6, 8) else 9 / tpi
        width = 0.0015 * (5 ** (1 / 3) + length**0.5) + 0.015 * tpi ** (-2 / 3)
        for wanted, times in (("1A", 1.5), ("2A", 1), ("3A", 0.75), ("1B", 1.95), ("2B", 1.3), ("3B", 0.975)):
            found = pitch_diameter_tolerance(f"5-{tpi}", wanted).um / 25400
            assert abs(found - width * times) < 1.6e-6
            assert (found * 10**6).denominator == 1


class TestPitchDiameterLimits:
    def test_a_pair_in_mm_that_reads_well(self):
        found = pitch_diameter_limits("M10", "6g")
        smallest, largest = found
        assert isinstance(found, Limits)
        assert (Fraction(8862, 1000), Fraction(8994, 1000)) == (smallest, largest)
        assert str(found) == found._repr_html_() == "8.862 to 8.994 mm"

    def test_h_starts_at_the_basic_diameter(self):
        basic = basic_pitch_diameter("M10")
        assert pitch_diameter_limits("M10", "6h").max_mm == basic == pitch_diameter_limits("M10", "6H").min_mm

    def test_a_screw_goes_into_its_nut(self):
        for screw, nut, thread in (
            ("6g", "6H", "M10"),
            ("6g", "6G", "M10"),
            ("2A", "2B", "1/4-20"),
            ("3A", "3B", "1-8"),
        ):
            assert pitch_diameter_limits(thread, screw).max_mm <= pitch_diameter_limits(thread, nut).min_mm

    def test_unified_limits_are_whole_ten_thousandths_of_an_inch(self):
        for tolerance_class in ("1A", "2A", "3A", "1B", "2B", "3B"):
            for limit in pitch_diameter_limits("5/8-11", tolerance_class):
                assert (limit / INCH_MM * 10_000).denominator == 1

    @pytest.mark.parametrize("position", ["e", "f"])
    def test_positions_without_a_table_are_refused(self, position):
        with pytest.raises(NotPossibleError, match=f"no deviation of position {position}"):
            pitch_diameter_limits("M10", f"6{position}")

    @in_one("thread", WITHOUT)
    def test_threads_without_tolerances_here(self, thread):
        with pytest.raises(NotPossibleError):
            pitch_diameter_limits(thread, "6g")

    def test_left_hand_and_many_starts_change_nothing(self):
        assert pitch_diameter_limits("M16 LH", "6g") == pitch_diameter_limits("M16xPh6P2", "6g")


class TestLengthOfEngagementGroup:
    @in_one("wrong", [0, -1, float("nan"), float("inf"), None, "x"])
    def test_no_length(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            length_of_engagement_group("M10", wrong)

    @in_one("thread", ["1/4-20", *WITHOUT, "M100x3"])
    def test_threads_without_groups(self, thread):
        words = "table of ISO 965-1 has no length of engagement" if thread[0] == "M" else "S, N and L are for metric"
        with pytest.raises(NotPossibleError, match=words):
            length_of_engagement_group(thread, 10)

    @in_one("thread", ["M10", "M10x1", "M3", "M64"])
    def test_the_bounds_of_the_table_count_to_the_shorter_group(self, thread):
        made = Thread.parse(thread)
        for bound, at, beyond in zip(normal_engagement_mm(made.major_mm, made.pitch), "SN", "NL", strict=True):
            assert length_of_engagement_group(thread, bound) == at
            assert length_of_engagement_group(thread, bound + Fraction(1, 1000)) == beyond


def test_every_refusal_is_one_of_ours():
    for thread in WITHOUT:
        for ask in (pitch_diameter_limits, pitch_diameter_tolerance, basic_pitch_diameter):
            with pytest.raises(GearcalcError):
                ask(thread)
