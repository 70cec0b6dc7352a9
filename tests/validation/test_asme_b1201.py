"""Against ASME B1.20.1 (NPT pipe threads): second-hand."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases


class TestASMEB1201SecondHand:
    @in_one("row", cases("npt", "size"))
    def test_pitch_along_the_axis(self, row):
        thread = Thread.parse(f"{row['size']} NPT")
        assert thread.pitch_mm * Fraction(row["tpi"]) == Fraction(127, 5)
        assert abs(thread.pitch_mm - Fraction(row["P_mm_pub"])) < Fraction(
            1, 1000
        )  # three decimals, some rounded, some cut
        assert (thread.thread_angle_deg, thread.taper) == (60, True)
