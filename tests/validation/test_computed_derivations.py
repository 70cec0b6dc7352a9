"""Trains whose errors were computed elsewhere (status C: nothing published): derived, and solved for each gear."""

from __future__ import annotations

import pytest

from gearcalc.deriving.derivations import derive
from gearcalc.deriving.missing_gears import solve_for_gear
from gearcalc.finding.setups import setup
from tests.validation.published import rows
from tests.validation.worked import gears, lathe_of, with_one_missing

ROWS = rows("computed_trains", "C")
each_row = pytest.mark.parametrize("row", ROWS, ids=[f"{row['wanted']} by {row['drivers']}" for row in ROWS])


class TestComputedTrains:
    @each_row
    def test_the_derivation_ends_with_the_error_computed(self, row):
        lathe = lathe_of(row)
        cut = setup(lathe, gears(row["drivers"]), gears(row["driven"]), wanted=row["wanted"])
        (error,) = [step for step in derive(cut).steps if str(step.target.symbol) == "e"]
        assert float(error.result) * 1e6 == pytest.approx(float(row["error_ppm"]), abs=0.006)

    @each_row
    def test_the_gear_taken_out_is_the_one_that_comes_nearest(self, row):
        for teeth, drivers, driven in with_one_missing(gears(row["drivers"]), gears(row["driven"])):
            solved = solve_for_gear(lathe_of(row), row["wanted"], drivers, driven)
            assert solved.nearest == teeth
            assert (solved.teeth == teeth) == (float(row["error_ppm"]) == 0)
            assert solved.nearest_ppm == pytest.approx(float(row["error_ppm"]), abs=0.006)
