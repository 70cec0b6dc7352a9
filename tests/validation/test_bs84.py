"""Against BS 84 (Whitworth form): the BSW and BSF series, second-hand."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.basics.exact import parse_number
from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases


class TestBS84SecondHand:
    @in_one("row", cases("bsw_bsf", "size_in"))
    def test_size_and_pitch(self, row):
        thread = Thread.parse(f"{row['size_in']} {row['series']}")
        assert thread.major_mm == parse_number(row["size_in"]) * Fraction(127, 5)
        assert thread.pitch_mm * parse_number(row["tpi"]) == Fraction(127, 5)
        assert abs(thread.pitch_mm - Fraction(row["P_mm_pub"])) < Fraction(
            1, 1000
        )  # three decimals, some rounded, some cut
        assert (thread.thread_angle_deg, thread.standard) == (55, "BS 84")
