"""Sources: C. Knight, The Mechanician; an American Mechanic text; O. E. Perrigo, Lathe Design.

The figures were read in the source (status S); who wrote each is from memory, as the csv says row by row.
"""

from __future__ import annotations

from gearcalc.deriving.derivations import derive
from gearcalc.deriving.missing_gears import solve_for_gear
from gearcalc.finding.setups import setup
from tests.how_much import in_one
from tests.validation.published import rows
from tests.validation.worked import gears, lathe_of, lead_mm, with_one_missing

ROWS = [row for row in rows("worked_trains", "S") if row["id"][0] in "KAP"]
each_row = in_one("row", ROWS, say=lambda row: row["id"])


class TestOlderTextbooks:
    def test_all_its_rows_are_there(self):
        assert len(ROWS) == 5

    @each_row
    def test_the_derivation_gives_the_lead_that_the_book_states(self, row):
        lathe = lathe_of(row)
        derivation = derive(setup(lathe, gears(row["drivers"]), gears(row["driven"])))
        assert derivation.lead == lead_mm(row["published_result"])

    @each_row
    def test_each_gear_is_found_back(self, row):
        for teeth, drivers, driven in with_one_missing(gears(row["drivers"]), gears(row["driven"])):
            solved = solve_for_gear(lathe_of(row), row["published_result"], drivers, driven)
            assert solved.exact == solved.teeth == teeth
            assert solved.owned
