"""How far a groove leans: against points of the helix, published pitch diameters, and the tool's two sides."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin, tan

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.pictures import there_and_back, tool_in_groove
from tests.cutting.shown import second_column
from tests.how_much import examples, in_one
from tests.validation.published import rows


def walked(lead: float, across: float) -> float:
    """Along over across for two points of a helix that lie close together: the angle's tangent."""
    turn = 1e-6
    round_ = hypot(across / 2 * (cos(2 * pi * turn) - 1), across / 2 * sin(2 * pi * turn))
    return lead * turn / round_


def tangent(helix: gc.HelixAngle) -> float:
    return tan(radians(helix.angle_deg))


class TestAgainstPointsOfTheHelix:
    @examples(20)
    @given(st.integers(1, 400), st.integers(10, 2000))
    def test_any_lead_on_any_diameter(self, tenths_lead, tenths_across):
        lead, across = tenths_lead / 10, tenths_across / 10
        found = gc.helix_angle(f"lead {lead} mm", str(across))
        assert tangent(found) == pytest.approx(walked(lead, across), rel=1e-5)

    def test_starts_lean_by_the_lead(self):
        one, two = gc.helix_angle("Tr 40x7"), gc.helix_angle("Tr 40x14(P7)")
        assert tangent(two) == pytest.approx(2 * tangent(one))

    @in_one(("thread", "angle"), [("Tr 40x14(P7)", 7.0), ("Tr 20x8(P4)", 8.1), ("M10", 3.0)])
    def test_by_hand(self, thread, angle):
        """atan(14 / (π · 36.5)), atan(8 / (π · 18)), atan(1.5 / (π · 9.026)), on a calculator."""
        assert round(gc.helix_angle(thread).angle_deg, 1) == angle


class TestPublishedPitchDiameters:
    def test_iso_724(self):
        table = rows("iso724_basic", "S", "T")
        assert len(table) >= 3
        for row in table:
            found = gc.helix_angle(row["designation"]).pitch_diameter_mm
            assert found == pytest.approx(float(row["d2_published"]), abs=0.0006), row

    def test_iso_2904(self):
        table = rows("trapezoidal", "S")
        assert len(table) >= 5
        for row in table:
            assert gc.helix_angle(row["thread"]).pitch_diameter_mm == pytest.approx(float(row["d2_calc"])), row


class TestTheSidesOfTheTool:
    def test_both_sides_have_their_clearance_beyond_the_groove(self):
        """Under the edge the groove runs away from the leading side: each side keeps the same distance in degrees."""
        helix = gc.helix_angle("Tr 20x8(P4)", clearance_deg=4)
        assert helix.leading_deg - helix.angle_deg == pytest.approx(4)
        assert helix.angle_deg + helix.trailing_deg == pytest.approx(4)
        assert helix.trailing_deg < 0 < helix.leading_deg

    def test_the_hand_says_which_side_leads(self):
        """The carriage goes to the headstock, on the left, for a right-hand thread; away for a left-hand one."""
        assert gc.helix_angle("M10").leading_side == "left"
        assert gc.helix_angle("M10 LH").leading_side == "right"

    def test_what_is_steep(self):
        assert [gc.helix_angle(thread).is_steep for thread in ("M10", "Tr 40x14(P7)")] == [False, True]
        # from four degrees on, our convention
        assert [evolve(gc.helix_angle("M10"), angle_deg=angle).is_steep for angle in (3.999, 4.0)] == [False, True]

    @in_one(
        ("thread", "how", "cells", "line"),
        [
            # by hand: atan(14 / (π · 36.5)) = 6.96°; atan(1.9538 / (π · 11.431)) = 3.11°; each side 3° or as is said
            (
                "Tr 40x14(P7)",
                {},
                ["14 mm (2 starts, ≈ 3.629 tpi)", "36.5 mm", "7°", "10°", "−4°"],
                (
                    "Tr 40x14(P7): helix angle 7° at a pitch diameter of 36.5 mm; side clearance 10° on the "
                    "leading side, −4° "
                    "on the other"
                ),
            ),
            (
                "1/2-13 UNC LH",
                {"units": "inch"},
                ["13 tpi (≈ 1.9538 mm)", "0.45 in", "3.1°", "6.1°", "−0.1°"],
                (
                    "1/2-13 UNC LH: helix angle 3.1° at a pitch diameter of 0.45 in; side clearance 6.1° on the "
                    "leading side, "
                    "−0.1° on the other"
                ),
            ),
            (
                "M10",
                {"clearance_deg": "2.58"},
                ["1.5 mm (≈ 16.933 tpi)", "9.03 mm", "3°", "5.6°", "−0.4°"],
                (
                    "M10x1.5: helix angle 3° at a pitch diameter of 9.03 mm; side clearance 5.6° on the leading "
                    "side, −0.4° "
                    "on the other"
                ),
            ),
        ],
    )
    def test_as_a_table_and_in_one_line(self, thread, how, cells, line):
        helix = gc.helix_angle(thread, **how)
        shown = helix._repr_html_().replace("\u202f", " ").replace("\xa0", " ")
        assert second_column(shown) == cells
        assert f"leading side of the tool ({helix.leading_side})" in shown
        assert f"Each side has {2.6 if how.get('clearance_deg') else 3}° more than the groove leans" in shown
        assert str(helix).replace("\u202f", " ") == line

    def test_it_says_so_in_inches(self):
        assert "pitch diameter of 0.45 in;" in str(gc.helix_angle("1/2-13", units="inch"))
        assert "0.45 in" in gc.helix_angle("1/2-13", units="inch")._repr_html_()


class TestRefused:
    def test_a_pitch_alone_has_no_diameter(self):
        with pytest.raises(NotPossibleError, match="pitch_diameter_mm"):
            gc.helix_angle("16 tpi")

    @in_one("across", [0, -1, "x", 1e9])
    def test_diameters(self, across):
        with pytest.raises(ValueOutOfRangeError):
            gc.helix_angle("16 tpi", across)

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            gc.helix_angle("abc")


class TestCard:
    def test_a_steep_thread_says_how_the_tool_is_ground(self):
        lathe = gc.demo_lathe("metric")
        steep = gc.change_card(lathe, to=gc.find_setups(lathe, "Tr 20x8(P4)", count=1)[0])
        assert any("The groove leans by 8.1°" in said and "11.1° on its left side" in said for said in steep.warnings)
        plain = gc.change_card(lathe, to=gc.find_setups(lathe, "M10", count=1)[0])
        assert not any("leans" in said for said in plain.warnings)


class TestThereAndBack:
    """What the picture says of the dial in reverse, against threads counted one by one."""

    def test_nought_threads_serve_any_lead(self):
        for thread in ("1.5 mm", "11 tpi", "module 1", "Tr 40x14(P7)"):
            assert gc.dial(gc.demo_lathe("inch"), thread).catches(0)

    def test_too_far_is_said_with_how_far_out(self):
        """40 turns of 1.5 mm are 60 mm, 18.9 threads of 3.175 mm; 16 of them, 50.8 mm, are 34 leads less 0.2 mm."""
        rule = gc.dial(gc.demo_lathe("inch"), "1.5 mm")
        said = there_and_back(rule, 20, 40)
        assert "9.45 threads go by, less than a turn of the dial" in said.description
        assert [row["the line comes by too early"] for row in said.table] == ["never", "at 16: ≈ 0.0079 in out"]
        assert round(0.2 / 25.4, 4) == 0.0079

    @in_one("run_on", [(), (0,), (1, 2, 3), ("x",), (500,)])
    def test_refused(self, run_on):
        with pytest.raises(ValueOutOfRangeError):
            there_and_back(gc.dial(gc.demo_lathe("inch"), "1.5 mm"), *run_on)

    def test_the_other_picture_names_the_side_that_rubs(self):
        assert "its right side, which leads, rubs" in tool_in_groove(gc.helix_angle("M10 LH")).description
