"""Seconds to the shoulder against figures that were computed apart."""

from __future__ import annotations

import pytest

from gearcalc.cutting.turning import speed_for_shoulder, time_to_shoulder
from gearcalc.threads import Thread
from tests.validation.published import rows

TABLE = rows("shoulder_time")


class TestComputedTable:
    @pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['lead_mm']} mm at {row['rpm']}")
    def test_row(self, row):
        thread = Thread.parse(f"lead {row['lead_mm']} mm")
        run = time_to_shoulder(thread, row["rpm"], row["relief_mm"])
        assert float(row["time_s"]) == pytest.approx(run.seconds)
        assert float(row["turns"]) == pytest.approx(run.turns)
        assert float(row["carriage_mm_per_s"]) == pytest.approx(run.mm_per_second)
        assert float(row["rpm"]) == pytest.approx(speed_for_shoulder(thread, row["relief_mm"], row["time_s"]))

    def test_there_are_rows(self):
        assert len(TABLE) == 3
