"""Flanks that press in a nut: the triangle that is drawn has the angle of the thread, and the table its cotangent."""

from __future__ import annotations

import re
from math import atan2, degrees

import pytest

from gearcalc.basics.errors import ThreadTextError
from gearcalc.pictures import style
from gearcalc.pictures.flank_pictures import flanks_that_press
from tests.pictures.svg_texts import by_tag


def drawn_angle_deg(thread: str) -> float:
    """Between the leg across the axis and the flank that closes the triangle, from the points of its two legs."""
    legs = by_tag(flanks_that_press(thread).svg, "path", stroke=style.VERMILLION)[0].get("d")
    (x, y), corner, foot = [tuple(map(float, point)) for point in re.findall(r"([-\d.]+) ([-\d.]+)", legs)]
    assert corner == (foot[0], y)  # a right angle
    return degrees(atan2(corner[0] - x, foot[1] - corner[1]))


class TestRightTriangle:
    @pytest.mark.parametrize(
        ("thread", "flank_deg"), [("M10", 30), ("1/2 BSW", 27.5), ("Tr 20x4", 15), ("1/2-10 ACME", 14.5), ("1 mm", 30)]
    )
    def test_it_is_drawn_true(self, thread, flank_deg):
        assert drawn_angle_deg(thread) == pytest.approx(flank_deg, abs=0.05)


class TestTableOfCotangents:
    def test_as_a_table_of_tangents_has_them(self):
        rows = flanks_that_press().table
        shown = {row["flank angle φ"]: row["cot φ"] for row in rows}
        assert shown == {"30°": "1.732", "27.5°": "1.921", "23.75°": "2.273", "15°": "3.732", "14.5°": "3.867"}

    @pytest.mark.parametrize(
        ("thread", "named"),
        [("M10", "metric and American"), ("1/4-20 UNC", "metric and American"), ("1/2 BSW", "Whitworth"),
         ("0 BA", "British Association"), ("Tr 20x4", "trapezoidal"), ("1/2-10 ACME", "Acme")],
    )  # fmt: skip
    def test_each_row_names_the_threads_of_its_angle(self, thread, named):
        (flanks,) = {row["flank angle φ"] for row in flanks_that_press().table if row["thread"] == named}
        assert f"flanks at {flanks}. " in flanks_that_press(thread).description

    def test_the_caption_says_its_own(self):
        assert "1.921 · δ" in flanks_that_press("1/2 BSW").caption

    def test_what_is_no_thread_is_refused(self):
        with pytest.raises(ThreadTextError):
            flanks_that_press("banana")
