"""Against ISO 228-1 (pipe threads where the joint is not made on the thread): second-hand.

The published d − d2 is the Whitworth depth, 0.640327 P, so the diameters check the pitch.
"""

from __future__ import annotations

from fractions import Fraction

from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases


class TestISO2281SecondHand:
    @in_one("row", cases("iso228", "size"))
    def test_pitch_and_diameters(self, row):
        thread = Thread.parse(row["size"])
        assert thread.pitch_mm * Fraction(row["tpi"]) == Fraction(127, 5)
        assert thread.major_mm == Fraction(row["d_pub"])
        depth = Fraction(row["d_pub"]) - Fraction(row["d2_pub"])
        assert abs(depth - Fraction("0.640327") * thread.pitch_mm) <= Fraction(1, 1000)
        assert (thread.thread_angle_deg, thread.standard, thread.taper) == (55, "ISO 228-1", False)

    @in_one("row", cases("iso228", "size"))
    def test_bsp_is_the_same_thread(self, row):
        assert Thread.parse(f"{row['size'].removeprefix('G ')} BSP") == Thread.parse(row["size"])


class TestISO71FromMemory:
    """R, Rc and Rp share pitch and size with G, but have fewer sizes (from memory)."""

    SIZES = ("1/16", "1/8", "1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3", "4", "5", "6")

    @in_one("kind", ["R", "Rc", "Rp"])
    @in_one("row", cases("iso228", "size"))
    def test_same_pitch(self, row, kind):
        thread = Thread.parse(row["size"].replace("G", kind))
        assert thread.pitch_mm == Thread.parse(row["size"]).pitch_mm
        assert thread.taper == (kind != "Rp")
        assert thread.standard == ("ISO 7-1" if row["size"].removeprefix("G ") in self.SIZES else None)
