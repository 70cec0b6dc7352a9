"""Pictures for one's own lathe, read back from their SVG: coverage of leads, and what added gears open."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest

import gearcalc as gc
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures import gear_set_charts
from gearcalc.pictures.gear_set_charts import coverage_chart, what_opens
from tests.pictures.svg_texts import SPACE, boxes_off_the_sheet, boxes_on_each_other, words_of

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
FEW = INCH.with_gears(remove=INCH.gears[4:])
METRIC_PITCHES = ["0.5 mm", "0.7 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "16 tpi", "module 1"]
TPI = [f"{n} tpi" for n in (4, 6, 7, 8, 9, 11, 13, 14, 18, 19, 20, 26, 27, 28, 32, 40)]
HOSTILE = gc.Lathe.from_toml('name = "<b>&\\"x"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40]')

PICTURES = {
    "inch, usual leads": lambda: coverage_chart(gc.coverage(INCH, "0.25", 6)),
    "inch, far beyond": lambda: coverage_chart(gc.coverage(INCH, 1, 100)),
    "inch, narrow": lambda: coverage_chart(gc.coverage(INCH, "1.4", "1.6")),
    "few gears": lambda: coverage_chart(gc.coverage(FEW, 1, 4)),
    "metric, one mesh": lambda: coverage_chart(gc.coverage(METRIC, 1, 2, meshes=1)),
    "two gears, a hostile name": lambda: coverage_chart(gc.coverage(HOSTILE, 1, 10)),
    "three meshes": lambda: coverage_chart(gc.coverage(METRIC, "0.2", 8, meshes=(1, 2, 3))),
    "exact at one end": lambda: coverage_chart(gc.coverage(HOSTILE, "1.5", "1.5001")),
    "metric threads": lambda: what_opens(gc.gears_to_add(INCH, METRIC_PITCHES, 50)),
    "sixteen rows": lambda: what_opens(gc.gears_to_add(METRIC, TPI, 20)),
    "one out of reach": lambda: what_opens(gc.gears_to_add(INCH, ["lead 500 mm", "M6"], 0)),
    "nothing to add": lambda: what_opens(gc.gears_to_add(INCH, "16 tpi", 100)),
    "nothing helps": lambda: what_opens(gc.gears_to_add(METRIC, ["module 1", "Tr 40x14(P7)"], 0, most=1)),
    "wide tolerance, few allowed": lambda: what_opens(gc.gears_to_add(HOSTILE, METRIC_PITCHES, 10_000, most=2)),
    "six to add": lambda: what_opens(gc.gears_to_add(HOSTILE, ["1.25 mm", "19 tpi", "module 1", "27 tpi"], 5)),
}


@pytest.fixture(scope="module")
def drawn():
    return {name: draw() for name, draw in PICTURES.items()}


@pytest.mark.parametrize("name", PICTURES)
class TestEveryPicture:
    def test_it_says_itself_what_it_shows(self, drawn, name):
        picture = drawn[name]
        root = ElementTree.fromstring(picture.svg)
        assert (root.get("role"), root.get("aria-label")) == ("img", picture.description)
        assert picture.description.startswith(picture.caption)
        assert "<table>" in picture._repr_html_()
        assert "<b>" not in picture._repr_html_()

    def test_no_words_leave_the_sheet(self, drawn, name):
        assert boxes_off_the_sheet(drawn[name].svg) == []

    def test_no_words_lie_on_others(self, drawn, name):
        assert boxes_on_each_other(drawn[name].svg) == []

    def test_nothing_is_drawn_that_is_no_number(self, drawn, name):
        assert not re.search(r"\bnan\b|\binf\b", drawn[name].svg)


class TestCoverageChart:
    def test_the_bars_hold_every_error_of_their_stretch(self):
        covered = gc.coverage(INCH, 1, 2)
        heights = gear_set_charts._bars(covered)
        leads = [float(lead) for lead in covered.leads_mm]
        for n, worst in enumerate(heights):
            wanted = [2 ** ((n + share / 20) / len(heights)) for share in range(21)]
            errors = [min(abs(lead - x) for lead in leads) / x * 1e6 for x in wanted]
            assert max(errors) <= worst * (1 + 1e-9)
            assert worst < 3 * max(errors)
        assert max(heights) == pytest.approx(covered.worst_ppm)

    def test_the_worst_lead_is_marked_and_named(self):
        covered = gc.coverage(INCH, 1, 2)
        said = [words.text for words in words_of(coverage_chart(covered).svg)]
        assert any(text.startswith(f"{float(covered.at_mm):.3f}".rstrip("0")) and "1427 ppm" in text for text in said)
        assert any("No lead from 1 mm to 2 mm is further off than 1427 ppm" in text for text in said)

    def test_a_mark_stands_over_its_lead(self):
        covered = gc.coverage(FEW, 1, 4)
        root = ElementTree.fromstring(coverage_chart(covered).svg)
        places = [float(spot.get("cx")) for spot in root.iter(f"{SPACE}circle")]
        left, right = gear_set_charts._LEFT, gear_set_charts._RIGHT
        leads = [4 ** ((x - left) / (right - left)) for x in places]
        assert any(lead == pytest.approx(float(covered.at_mm), rel=1e-4) for lead in leads)

    @pytest.mark.parametrize(("start", "end"), [(2, 2), ("0.01", 100)])
    def test_a_range_that_cannot_be_drawn(self, start, end):
        with pytest.raises(ValueOutOfRangeError, match="range"):
            coverage_chart(gc.coverage(INCH, start, end))


class TestWhatOpens:
    def test_each_row_says_today_and_then(self):
        plan = gc.gears_to_add(INCH, ["1 mm", "16 tpi"], 50)
        rows = [dict(row) for row in what_opens(plan).table]
        assert [row["thread"] for row in rows] == ["1 mm", "16 tpi"]
        assert [row["opened"] for row in rows] == [True, False]
        assert rows[0]["with the gears added"] == "exact"
        today = gc.find_setups(INCH, "1 mm", (1, 2), 1)[0].error_ppm
        assert rows[0]["today"] == f"{today:+.0f} ppm"

    def test_marks_within_the_tolerance_lie_left_of_its_line(self):
        plan = gc.gears_to_add(METRIC, TPI, 300)
        root = ElementTree.fromstring(what_opens(plan).svg)
        spots = [float(spot.get("cx")) for spot in root.iter(f"{SPACE}circle") if spot.get("r") == "4.2"]
        assert all(x <= gear_set_charts._at(300) for x in spots)
        assert len(spots) == len(TPI) + 1  # and one in the key

    def test_a_mark_at_the_far_end_keeps_off_the_numbers(self):
        svg = what_opens(gc.gears_to_add(HOSTILE, ["0.5 mm", "1.5 mm", "0.05 mm"], 100, most=1)).svg
        rings = [float(ring.get("cx")) + 6.5 for ring in ElementTree.fromstring(svg).iter(f"{SPACE}circle")]
        starts = [words.box[0] for words in words_of(svg) if words.text.startswith("+") and words.text.endswith(" ppm")]
        assert len(starts) == 2
        assert max(rings) + 10 < min(starts)  # some fonts are wider

    def test_errors_go_by_factors(self):
        step = gear_set_charts._at(100) - gear_set_charts._at(10)
        assert gear_set_charts._at(1000) - gear_set_charts._at(100) == pytest.approx(step)
        assert gear_set_charts._at(50) == pytest.approx(gear_set_charts._at(10) + math.log10(5) * step)

    def test_the_gears_stand_on_tags_and_the_proof_beneath(self):
        said = [words.text for words in words_of(what_opens(gc.gears_to_add(INCH, METRIC_PITCHES, 50)).svg)]
        assert {"Add", "47", "127", "teeth"} <= set(said)
        assert "10 of 10 threads within 50 ppm, 9 of them new. Fewer don't do: proved for 1 or 2 meshes." in said

    def test_too_many_threads(self):
        plan = gc.gears_to_add(METRIC, [f"{n} tpi" for n in range(4, 24)], 500)
        with pytest.raises(ValueOutOfRangeError, match="1 to 16"):
            what_opens(plan)

    def test_the_tolerance_in_the_caption(self):
        assert "exact only" in what_opens(gc.gears_to_add(INCH, "1 mm", 0)).caption
        assert "within 12.5 ppm" in what_opens(gc.gears_to_add(INCH, "16 tpi", Fraction(25, 2))).caption
