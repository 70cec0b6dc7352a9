"""Against ASME B1.5 (Acme threads, general purpose): second-hand, some from memory."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.basics.exact import parse_number
from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases


def check(row: dict[str, str]) -> None:
    thread = Thread.parse(f"{row['size']} Acme")
    assert thread == Thread.parse(f"{row['size']}-{row['tpi']} Acme")
    assert thread.major_mm == parse_number(row["size"]) * Fraction(127, 5)
    assert thread.pitch_mm * parse_number(row["tpi"]) == Fraction(127, 5)
    assert f"{float(thread.pitch_mm):.4f}" == row["P_mm"]
    assert (thread.thread_angle_deg, thread.standard) == (29, "ASME B1.5")


class TestASMEB15SecondHand:
    @in_one("row", cases("acme", "size", "T"))
    def test_size_and_pitch(self, row):
        check(row)


class TestASMEB15FromMemory:
    @in_one("row", cases("acme", "size", "M"))
    def test_size_and_pitch(self, row):
        check(row)
