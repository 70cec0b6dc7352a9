"""Pictures for one's own lathe, read back from their SVG: coverage of leads, and what added gears open."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree

import pytest

import gearcalc as gc
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures import gear_set_charts
from gearcalc.pictures.gear_set_charts import coverage_chart, what_opens
from tests.how_much import in_one
from tests.pictures.kinds import FEW, INCH, METRIC, METRIC_PITCHES, TPI, TWO_GEARS
from tests.pictures.svg_texts import SPACE, words_of


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
        at = f"{25.4 / float(covered.at_mm):.3f}".rstrip("0")
        assert any(text.startswith(f"{at} tpi") and "1427 ppm" in text for text in said)
        assert any(
            "No lead from 25.4 tpi (1 mm) to 12.7 tpi (2 mm) is further off than 1427 ppm" in text for text in said
        )

    def test_figures_stand_in_threes_from_ten_thousand_on(self):
        said = {words.text for words in words_of(coverage_chart(gc.coverage(FEW, 1, 4)).svg)}
        assert "10\u202f000" in said
        assert "10000" not in said

    def test_a_mark_stands_over_its_lead(self):
        covered = gc.coverage(FEW, 1, 4)
        root = ElementTree.fromstring(coverage_chart(covered).svg)
        places = [float(spot.get("cx")) for spot in root.iter(f"{SPACE}circle")]
        left, right = gear_set_charts._LEFT, gear_set_charts._RIGHT
        leads = [4 ** ((x - left) / (right - left)) for x in places]
        assert any(lead == pytest.approx(float(covered.at_mm), rel=1e-4) for lead in leads)

    def test_no_line_crosses_what_is_said_of_the_mean(self):
        for start, end in ((1, 100), (1, 2), ("1.5", "1.5001")):  # the mean is as high as a pin's foot in the first
            root = ElementTree.fromstring(svg := coverage_chart(gc.coverage(INCH, start, end)).svg)
            (left, top, right, bottom) = next(words.box for words in words_of(svg) if "mean error" in words.text)
            for path in (path.get("d") for path in root.iter(f"{SPACE}path")):
                for pin in re.findall(r"^M([0-9.]+) ([0-9.]+)L([0-9.]+) ([0-9.]+)$", path):
                    from_x, from_y, to_x, to_y = map(float, pin)
                    along = [(from_x + (to_x - from_x) * n / 99, from_y + (to_y - from_y) * n / 99) for n in range(100)]
                    assert not any(left < x < right and top < y < bottom for x, y in along)

    @in_one("lathe", [INCH, METRIC])
    def test_leads_named_along_the_axis_are_round_in_the_unit_of_the_lathe(self, lathe):
        for start, end in (("0.25", 6), (1, 100), (1, 4), ("1.4", "1.6"), ("1.5", "1.5001")):
            words = words_of(coverage_chart(gc.coverage(lathe, start, end)).svg)
            named = {row: [each for each in words if each.y == y and each.x > 92] for row, y in ((1, 372), (2, 390))}
            assert len(named[1]) == len(named[2]) >= 3
            if float(end) / float(start) > 6:
                assert all(each.text.replace(".", "").strip("0") in ("1", "2", "3", "5") for each in named[1])
            for first, other in zip(named[1], named[2], strict=True):
                assert first.x == other.x
                assert float(first.text) * float(other.text) == pytest.approx(25.4, rel=0.02)
                mm = float(first.text) if lathe is METRIC else 25.4 / float(first.text)
                share = math.log(mm / float(start)) / math.log(float(end) / float(start))
                assert first.x == pytest.approx(92 + 678 * share, abs=3)
            for row in named.values():
                boxes = sorted(each.box for each in row)
                assert all(one[2] < other[0] for one, other in pairwise(boxes)), (start, end)

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
        assert all(x <= gear_set_charts._AXIS.held(300) for x in spots)
        assert len(spots) == len(TPI) + 1  # and one in the key

    @in_one(("within", "said"), [(50, "within 50 ppm"), (0, "exact"), (12.5, "within 12.5 ppm")])
    def test_the_key_says_the_limit_that_was_asked_for(self, within, said):
        words = [line.text for line in words_of(what_opens(gc.gears_to_add(INCH, ["1 mm"], within)).svg)]
        assert said in words
        assert "within the tolerance" not in words

    def test_a_mark_at_the_far_end_keeps_off_the_numbers(self):
        svg = what_opens(gc.gears_to_add(TWO_GEARS, ["0.5 mm", "1.5 mm", "0.05 mm"], 100, most=1)).svg
        rings = [float(ring.get("cx")) + 6.5 for ring in ElementTree.fromstring(svg).iter(f"{SPACE}circle")]
        starts = [words.box[0] for words in words_of(svg) if words.text.startswith("+") and words.text.endswith(" ppm")]
        assert len(starts) == 2
        assert max(rings) + 10 < min(starts)  # some fonts are wider

    def test_errors_go_by_factors(self):
        step = gear_set_charts._AXIS.held(100) - gear_set_charts._AXIS.held(10)
        assert gear_set_charts._AXIS.held(1000) - gear_set_charts._AXIS.held(100) == pytest.approx(step)
        assert gear_set_charts._AXIS.held(50) == pytest.approx(gear_set_charts._AXIS.held(10) + math.log10(5) * step)

    def test_the_gears_stand_on_tags_and_the_proof_beneath(self):
        said = [words.text for words in words_of(what_opens(gc.gears_to_add(INCH, METRIC_PITCHES, 50)).svg)]
        assert {"Add", "47", "127", "teeth"} <= set(said)
        assert (
            "10 of 10 threads within 50 ppm, 9 of them new. With fewer it can't be done: proved for 1 or 2 meshes."
            in said
        )

    def test_fewer_than_one_is_said_as_a_person_says_it(self):
        plan = gc.gears_to_add(INCH, "1 mm", 0)
        said = " ".join(words.text for words in words_of(what_opens(plan).svg))
        assert plan.gears == (127,)
        assert "Without a new gear it can't be done: proved for" in said
        assert "Without a new gear it can't be done: proved for" in plan.verdict

    def test_too_many_threads(self):
        plan = gc.gears_to_add(METRIC, [f"{n} tpi" for n in range(4, 24)], 500)
        with pytest.raises(ValueOutOfRangeError, match="1 to 16"):
            what_opens(plan)

    def test_the_tolerance_in_the_caption(self):
        assert "exact only" in what_opens(gc.gears_to_add(INCH, "1 mm", 0)).caption
        assert "within 12.5 ppm" in what_opens(gc.gears_to_add(INCH, "16 tpi", Fraction(25, 2))).caption
