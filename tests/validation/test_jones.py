"""Source: F. D. Jones, Turning and Boring (Industrial Press 1914; Project Gutenberg 34030), pages in the csv.

Status S: read in the source. J9 is a pitch shortened on purpose, which the book rounds to six places of an inch.
"""

from __future__ import annotations

import pytest

from gearcalc.deriving.derivations import derive
from gearcalc.deriving.missing_gears import solve_for_gear
from gearcalc.finding.setups import setup
from tests.how_much import in_one
from tests.validation.published import rows
from tests.validation.worked import gears, lathe_of, lead_mm, with_one_missing

ROWS = [row for row in rows("worked_trains", "S") if row["id"].startswith("J")]
STATED = {"J9": "lead 83/420 in"}  # 83/84 of the 0.200 in of the leadscrew, unrounded
each_row = in_one("row", ROWS, say=lambda row: row["id"])


class TestJones:
    def test_all_its_rows_are_there(self):
        assert len(ROWS) == 5

    @each_row
    def test_the_derivation_gives_the_lead_that_the_book_states(self, row):
        lathe = lathe_of(row)
        derivation = derive(setup(lathe, gears(row["drivers"]), gears(row["driven"])))
        published = lead_mm(row["published_result"])
        if row["published_result"].endswith(" in"):  # the book rounds: 0.197619
            assert float(derivation.lead / published) == pytest.approx(1, abs=3e-6)
        else:
            assert derivation.lead == published

    @each_row
    def test_each_gear_is_found_back(self, row):
        for teeth, drivers, driven in with_one_missing(gears(row["drivers"]), gears(row["driven"])):
            solved = solve_for_gear(lathe_of(row), STATED.get(row["id"], row["published_result"]), drivers, driven)
            assert solved.exact == solved.teeth == teeth
            assert solved.owned
