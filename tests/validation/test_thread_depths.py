"""Depth of thread by form: Jones where it was read, the standards from memory, the top slide computed."""

from __future__ import annotations

import re

import pytest

from gearcalc.basics.files import read_rows
from gearcalc.cutting.depths import compound_infeed, thread_depth
from tests.validation.published import rows

TABLE = {row["quantity"]: row for row in rows("thread_depths")}


def published(quantity: str) -> float:
    return float(re.match(r"[0-9.]+", TABLE[quantity]["published"])[0])


class TestJones:
    """F. D. Jones, Turning and Boring (Industrial Press 1914), pp. 156 to 162."""

    @pytest.mark.parametrize(
        ("quantity", "form"),
        [("US Standard / National depth 3H/4", "National"), ("sharp V", "sharp V"), ("Whitworth", "Whitworth")],
    )
    def test_depth_times_threads_per_inch(self, quantity, form):
        depth = thread_depth("10 tpi", form=form)
        # Printed to four places, the sharp V to three; a last place is cut off rather than rounded there.
        assert published(quantity) == pytest.approx(depth.depth_mm / 2.54, abs=6e-5)
        assert float(TABLE[quantity]["computed_times_P"]) == pytest.approx(depth.share_of_pitch, abs=6e-7)
        assert TABLE[quantity]["status"] == depth.status == "S"

    def test_a_29_degree_worm(self):
        assert published("29° worm thread depth") == 0.6866
        assert pytest.approx(thread_depth("DP 12").depth_mm) == 0.6866 * 3.14159265 * 25.4 / 12

    def test_acme(self):
        assert TABLE["Acme depth"]["computed_times_P"] == "0.5P+0.010"
        assert pytest.approx(thread_depth("1/2-10 Acme").depth_mm) == (0.5 / 10 + 0.010) * 25.4


class TestIso68:
    """ISO 68-1, second-hand."""

    @pytest.mark.parametrize(
        ("quantity", "internal"), [("external height 17H/24", False), ("internal height 5H/8", True)]
    )
    def test_height(self, quantity, internal):
        depth = thread_depth("M10", internal=internal)
        assert float(TABLE[quantity]["computed_times_P"]) == pytest.approx(depth.share_of_pitch, abs=6e-7)
        assert TABLE[quantity]["status"] == depth.status == "T"


class TestCompoundInfeed:
    """Computed, no published figure."""

    @pytest.mark.parametrize("angle", ["29", "29.5", "30"])
    def test_external(self, angle):
        infeed = thread_depth("M10").infeed_mm(angle)
        expected = float(TABLE[f"compound infeed at {angle}°, ext."]["computed_times_P"])
        assert expected == pytest.approx(infeed / 1.5, abs=6e-7)

    def test_a_triangle_of_3_4_5(self):
        # cos φ = 4/5 at 36.8699°
        assert pytest.approx(compound_infeed(4, 36.86989764584402)) == 5.0


class TestTheTable:
    def test_every_row_says_where_it_comes_from(self):
        for row in read_rows("threads/depths.csv"):
            assert row["status"] in ("S", "T", "M")
            assert ("from memory" in row["source"]) == (row["status"] == "M")
