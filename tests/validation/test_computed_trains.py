"""Errors of well-known near and exact trains, computed elsewhere (status C: nothing published was found to read)."""

from __future__ import annotations

import pytest

from gearcalc.finding.search import find_setups
from gearcalc.lathes import Lathe
from tests.how_much import in_one
from tests.validation.published import rows

COMPUTED = rows("computed_trains", "C")


class TestComputedTrains:
    @in_one("row", COMPUTED)
    def test_the_only_train_of_those_gears_that_comes_near_misses_by_as_much(self, row):
        drivers, driven = ([int(gear) for gear in row[side].split("x")] for side in ("drivers", "driven"))
        lathe = Lathe.from_toml(f"""
            name = "Computed"
            leadscrew.lead = "{row["leadscrew"]}"
            gears.teeth = {drivers + driven}
        """)
        best = find_setups(lathe, row["wanted"], meshes=len(drivers), count=1)[0]
        assert sorted(drivers) == sorted(best.train.drivers)
        assert float(row["error_ppm"]) == pytest.approx(best.error_ppm, abs=0.006)
        assert (float(row["error_ppm"]) == 0) == best.is_exact
