"""The lines of a thread-chasing dial as a textbook gives them, and a table of metric dial gears computed by another.

Source: F. D. Jones, Turning and Boring (Industrial Press 1914; Project Gutenberg 34030), pp. 140–142: status S.
The metric table has status C: computed from the least common multiple, nothing published.
"""

from __future__ import annotations

from fractions import Fraction

from gearcalc.cutting.catching import dial
from gearcalc.lathes import Dial, DialGear, GearSet, Lathe, Leadscrew
from tests.how_much import in_one
from tests.validation.cases import cases
from tests.validation.published import rows


def lathe_with(lead_mm: Fraction, *gears: DialGear) -> Lathe:
    return Lathe("A lathe with a dial", Leadscrew(lead_mm), GearSet([40, 80]), dial=Dial(gears))


class TestJones:
    def test_all_its_rows_are_there(self):
        assert len(rows("dial_textbook", "S")) == 5

    @in_one("row", cases("dial_textbook", "thread_tpi", "S"))
    def test_the_lines_are_those_of_the_book(self, row):
        gear = DialGear(int(row["dial_gear_teeth"]), int(row["lines"]))
        lathe = lathe_with(Fraction("25.4") / int(row["leadscrew_tpi"]), gear)
        rule = dial(lathe, f"{row['thread_tpi']} tpi")
        found = {
            "anywhere": rule.anywhere,
            "any of the 8 lines": not rule.anywhere and rule.lines == (1, 2, 3, 4, 5, 6, 7, 8),
            "4 numbered lines": rule.lines == (1, 3, 5, 7),
        }
        assert found[row["published_lines"]]
        assert not rule.keep_closed


METRIC = rows("dial_metric_computed", "C")
LISTED = {int(teeth) for row in METRIC for teeth in row["dial_gears_that_work_14_to_32"].split() if teeth != "any"}


class TestMetricDialGears:
    def test_all_its_rows_are_there(self):
        assert len(METRIC) == 53
        assert len(LISTED) == 12  # the table weighs these, not every count from 14 to 32

    @in_one("row", METRIC)
    def test_groove_returns_and_gears_that_serve(self, row):
        screw, lead = Fraction(row["leadscrew_pitch_mm"]), row["thread_lead_mm"]
        gears = [DialGear(teeth, 1) for teeth in sorted(LISTED)]
        ruled = [dial(lathe_with(screw, gear), f"{lead} mm") for gear in gears]
        assert {Fraction(row["lcm_mm"])} == {rule.travel_mm for rule in ruled}
        assert {int(row["n_leadscrew_threads"])} == {rule.threads for rule in ruled}
        published = row["dial_gears_that_work_14_to_32"]
        if published == "any":
            assert all(rule.anywhere for rule in ruled)
        else:
            serving = [rule.gear_teeth for rule in ruled if not rule.keep_closed]
            assert [int(teeth) for teeth in published.split()] == serving
