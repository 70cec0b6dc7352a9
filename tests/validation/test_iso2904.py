"""Against ISO 2904 (trapezoidal threads): part read in a reprint, part second-hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases
from tests.validation.published import label, rows


def check(row: dict[str, str]) -> None:
    thread = Thread.parse(row["thread"])
    assert (thread.major_mm, thread.pitch_mm) == (Fraction(row["d"]), Fraction(row["P"]))
    assert (thread.starts, thread.thread_angle_deg, thread.standard) == (1, 30, "ISO 2904")
    two = Thread.parse(
        f"Tr {row['d']}x{2 * Fraction(row['P']).numerator / Fraction(row['P']).denominator}(P{row['P']})"
    )
    assert (two.pitch_mm, two.lead_mm, two.starts) == (thread.pitch_mm, 2 * thread.pitch_mm, 2)


class TestISO2904Read:
    @in_one("row", cases("trapezoidal", "thread", "S"))
    def test_size_and_pitch(self, row):
        check(row)


class TestISO2904SizesInDoubt:
    """Read second-hand, and not in the standard as remembered: understood, and no standard is named for them."""

    @pytest.mark.parametrize("row", rows("trapezoidal", "S!="), ids=label)
    def test_no_standard_is_claimed(self, row):
        assert Thread.parse(row["thread"]).standard is None


class TestISO2904SecondHand:
    @in_one("row", cases("trapezoidal", "thread", "T"))
    def test_size_and_pitch(self, row):
        check(row)
