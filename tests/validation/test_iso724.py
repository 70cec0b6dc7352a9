"""Against ISO 724 (metric threads, basic dimensions).

The published pitch diameter d2 = d − 0.649519 P and minor diameter D1 = d − 1.082532 P (ISO 68-1 profile) give the
pitch back, so they check it without the table that the pitch was looked up in.
"""

from __future__ import annotations

from fractions import Fraction

from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases

ROUNDING = Fraction(1, 1000)


def check(row: dict[str, str]) -> None:
    thread = Thread.parse(row["designation"])
    assert (thread.major_mm, thread.pitch_mm) == (Fraction(row["d"]), Fraction(row["P"]))
    for published, share in (("d2_published", "0.649519"), ("D1_published", "1.082532")):
        assert abs(thread.major_mm - Fraction(share) * thread.pitch_mm - Fraction(row[published])) <= ROUNDING


class TestISO724Read:
    @in_one("row", cases("iso724_basic", "designation", "S"))
    def test_pitch_agrees_with_published_diameters(self, row):
        check(row)


class TestISO724FromMemory:
    @in_one("row", cases("iso724_basic", "designation", "M"))
    def test_pitch_agrees_with_diameters(self, row):
        check(row)
