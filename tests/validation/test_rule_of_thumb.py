"""The shop's rule for what goes on, against data/fit_rule_of_thumb.csv.

The rule and its 15 are common practice, no source found; the margins are computed (status: C), no published figure.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.fits import clearances
from gearcalc.fits.by_hand import rule_constant, rule_of_thumb
from gearcalc.lathes.trains import Train
from tests.benches import bench
from tests.how_much import in_one

DATA = Path(__file__).parent / "data"

with (DATA / "fit_rule_of_thumb.csv").open(encoding="utf-8", newline="") as table:
    ROWS = list(csv.DictReader(table))


class TestRuleOfThumb:
    def test_rows_are_marked_computed(self):
        assert {row["status"] for row in ROWS} == {"C"}

    @in_one("row", ROWS)
    def test_row(self, row):
        said = rule_of_thumb(Train.parse(row["train_drivers_over_driven"]))
        assert [margin.teeth for margin in said.margins] == [int(row["first_margin"]), int(row["second_margin"])]
        assert [str(margin.teeth > 15) for margin in said.margins] == [row["first_ok_15"], row["second_ok_15"]]
        assert said.passes == (row["verdict_rule_15"] == "fits")

    def test_more_than_k_and_not_as_many(self):
        train = Train.parse("20/65 60/25")  # margins 25 and 20
        assert not rule_of_thumb(train, k=20).passes
        assert rule_of_thumb(train, k=19).passes

    def test_three_meshes_have_four_margins(self):
        # 20 + 70 − 25, 25 + 80 − 70, 25 + 80 − 30, 30 + 65 − 80
        said = rule_of_thumb(Train((20, 25, 30), (70, 80, 65)))
        assert [margin.teeth for margin in said.margins] == [65, 35, 75, 15]
        assert not said.passes

    def test_a_single_mesh_passes(self):
        said = rule_of_thumb(Train((40,), (80,)))
        assert said.passes
        assert "says nothing" in str(said)

    @in_one("k", [-1, "15", None, True, float("nan"), 1001])
    def test_a_k_that_is_none(self, k):
        with pytest.raises(ValueOutOfRangeError):
            rule_of_thumb(Train((40,), (80,)), k=k)

    @in_one("k", [0, 1000])
    def test_the_ends_of_what_k_may_be(self, k):
        assert rule_of_thumb(Train((40,), (80,)), k=k).k == k

    @in_one(("k", "verdict"), [(9.126, "passes"), (10, "fails")])
    def test_html_says_each_margin_and_the_verdict(self, k, verdict):
        """40 + 80 − 30 and 30 + 60 − 80."""
        shown = rule_of_thumb(Train.parse("40/80 30/60"), k=k)._repr_html_()
        assert "Rule of thumb for (40 · 30)/(80 · 60)" in shown
        assert re.findall(r"<th[^>]*>(.*?)</th><td[^>]*>(.*?)</td>", shown) == [
            ("first pair over second driver", "+90"),
            ("second pair over first driven", "+10"),
            ("each must be more than", {9.126: "9.13", 10: "10"}[k]),
            ("verdict", verdict),
        ]

    def test_text_says_k_to_two_places(self):
        said = str(rule_of_thumb(Train.parse("40/80 30/60"), k=9.126))
        assert said.startswith("(40 · 30)/(80 · 60) passes the rule of thumb with 9.13: the first pair has +90 teeth")


class TestRuleConstant:
    def test_by_hand(self):
        # 2 + 2·(7 + 0.5)/1.25 = 14; 2 + 2·(6 + 0.5)/1 = 15
        assert rule_constant(gc.demo_lathe("inch")) == pytest.approx(14)
        assert rule_constant(gc.demo_lathe("metric")) == pytest.approx(15)

    @pytest.mark.parametrize("bar", [4.0, 7.0, 11.5])
    def test_at_just_that_margin_the_gear_just_clears_the_shaft(self, bar):
        lathe = bench(module_mm=1.0, shaft_radius_mm=bar, stud_radius_mm=1.0)
        margin = round(rule_constant(lathe))
        assert margin == rule_constant(lathe)
        train = Train((30, 40), (10 + margin, 24))  # the first pair has `margin` teeth more than the second driver
        apart = (30 + 10 + margin) / 2
        gaps = clearances(lathe, train, ((0.0, apart), (0.0, 0.0), (32.0, 0.0)), (0, 1))
        beside = {gap[:2]: gap[2] for gap in gaps}["40 on the stud", "spindle-side shaft"]
        assert beside == pytest.approx(lathe.bracket.running_clearance_mm)

    def test_at_just_that_margin_it_clears_the_thicker_collar_of_the_other_stud(self):
        lathe = bench(module_mm=1.0, shaft_radius_mm=4.0, stud_radius_mm=9.0, studs=2)
        margin = round(rule_constant(lathe))
        assert margin == 2 + 2 * (9 + lathe.bracket.running_clearance_mm)
        train = Train((40, 30, 24), (60, 30 + margin, 24))  # the second pair has `margin` teeth more than the 60
        apart = (30 + 30 + margin) / 2  # from stud to stud
        places = ((-50.0, 0.0), (0.0, 0.0), (0.0, apart), (24.0, apart))
        gaps = {gap[:2]: gap[2] for gap in clearances(lathe, train, places, (0, 1, 2))}
        found = [mm for parts, mm in gaps.items() if "60" in parts[0] and "stud" in parts[1]]
        assert found == [pytest.approx(lathe.bracket.running_clearance_mm)], gaps

    def test_no_bracket(self):
        with pytest.raises(NotPossibleError):
            rule_constant(gc.Lathe.from_toml('name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 60]'))


class TestWhereTheRuleFails:
    """Trains in the order given, with one stud, so that no idler can help."""

    @staticmethod
    def goes_on(train: Train, lathe: gc.Lathe) -> bool:
        return gc.fit(lathe, train, keep_order=True).goes_on

    def test_it_passes_trains_that_do_not_reach(self, one_stud_inch):
        train = Train.parse("20/30 25/35")
        assert rule_of_thumb(train).passes
        assert not self.goes_on(train, one_stud_inch)

    def test_it_stops_trains_that_go_on(self, one_stud_inch):
        train = Train.parse("25/65 20/60")  # 20 + 60 is 15 more than 65, and this lathe asks for 14
        assert not rule_of_thumb(train).passes
        assert rule_of_thumb(train, k=rule_constant(one_stud_inch)).passes
        assert self.goes_on(train, one_stud_inch)


@pytest.fixture
def one_stud_inch() -> gc.Lathe:
    lathe = gc.demo_lathe("inch")
    assert lathe.bracket is not None
    return evolve(lathe, bracket=evolve(lathe.bracket, studs=1))
