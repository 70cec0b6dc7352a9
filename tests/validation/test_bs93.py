"""Against BS 93 (British Association threads): sizes 0 to 12 read, 13 to 16 from memory.

Pitch: 0.9^n mm to two significant figures. Diameter: 6 p^1.2 with the unrounded pitch, to two significant figures.
"""

from __future__ import annotations

from fractions import Fraction

from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases


def check(row: dict[str, str]) -> Thread:
    thread, number = Thread.parse(f"{row['BA']} BA"), int(row["BA"])
    assert (thread.pitch_mm, thread.major_mm) == (Fraction(row["p_mm_table"]), Fraction(row["D_mm_table"]))
    assert float(thread.pitch_mm) == float(f"{0.9**number:.2g}")
    assert float(thread.major_mm) == float(f"{6 * 0.9 ** (1.2 * number):.2g}")
    assert (thread.thread_angle_deg, thread.standard) == (Fraction(95, 2), "BS 93")
    return thread


class TestBS93Read:
    @in_one("row", cases("ba", "BA", "S"))
    def test_table_and_formula(self, row):
        thread = check(row)
        # The table's threads per inch come from a pitch rounded to 0.0001 in: up to 3 in 1000 off.
        assert abs(float(Fraction(127, 5) / thread.pitch_mm) / float(row["tpi_table"]) - 1) < 0.003


class TestBS93FromMemory:
    @in_one("row", cases("ba", "BA", "M"))
    def test_table_and_formula(self, row):
        check(row)
