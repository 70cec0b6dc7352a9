"""The bracket with its measures: each key of the file where it is measured, on any bracket."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from attrs import evolve
from hypothesis import given

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.lathes.parts import Bracket
from gearcalc.pictures import bracket_plan
from tests.how_much import examples
from tests.pictures.svg_texts import SPACE, boxes_off_the_sheet, boxes_on_each_other, words_of
from tests.strategies import lathes

INCH = gc.demo_lathe("inch")


def circle(svg: str, name: str) -> tuple[float, float, float]:
    found = next(one for one in ElementTree.fromstring(svg).iter(f"{SPACE}circle") if one.get("class") == name)
    return tuple(float(found.get(key, "")) for key in ("cx", "cy", "r"))


class TestBracketPlan:
    @pytest.mark.parametrize("name", ["inch", "metric", "odd"])
    def test_the_first_gear_stands_where_the_file_says(self, name):
        bracket = gc.demo_lathe(name).bracket
        svg = bracket_plan(gc.demo_lathe(name)).svg
        (x, y, radius), (across, up, _) = circle(svg, "pivot"), circle(svg, "spindle-side")
        a_mm = radius / bracket.shaft_radius_mm
        assert ((across - x) / a_mm, (y - up) / a_mm) == pytest.approx(bracket.spindle_side_at_mm, abs=0.1)

    def test_a_radius_is_said_to_be_half_of_what_across_what(self):
        told = {row["key"]: row["measured"] for row in bracket_plan(INCH).table}
        assert told["shaft_radius_mm"] == "half the diameter of these shafts"
        assert told["stud_radius_mm"] == "half the diameter of a stud's bush"

    def test_a_radius_half_way_between_hundredths_is_rounded_up_as_everywhere(self):
        bracket = evolve(INCH.bracket, stud_radius_mm=6.125)
        rows = {row["key"]: row["value"] for row in bracket_plan(evolve(INCH, bracket=bracket)).table}
        assert rows["stud_radius_mm"] == "6.13"

    def test_each_key_is_one_of_the_file(self):
        keys = [row["key"] for row in bracket_plan(gc.demo_lathe("metric")).table][1:]
        known = {field.name for field in Bracket.__attrs_attrs__} | {"from_mm", "to_mm"}
        assert set(keys) <= known
        assert {"spindle_side_at_mm", "swing_deg", "from_mm", "to_mm", "stud_radius_mm", "shaft_radius_mm"} <= {*keys}

    def test_what_stands_on_it_can_be_copied_into_a_file(self):
        said = [one.text for one in words_of(bracket_plan(INCH).svg)]
        for line in ("spindle_side_at_mm = [-50, 94]", "swing_deg = [-75, 20]", "stud_radius_mm = 7"):
            assert line in said

    def test_gears_of_unknown_size_are_no_hindrance(self):
        bare = evolve(INCH, gear_set=evolve(INCH.gear_set, module_mm=None))
        assert bracket_plan(bare).table == bracket_plan(INCH).table

    def test_without_a_bracket_it_says_what_to_add(self):
        with pytest.raises(NotPossibleError, match=re.escape("Add [bracket]")):
            bracket_plan(evolve(INCH, bracket=None))

    @examples(20)
    @given(lathes())
    def test_on_any_bracket_words_keep_off_each_other(self, lathe):
        lathe = lathe if lathe.bracket else evolve(lathe, bracket=INCH.bracket)
        svg = bracket_plan(lathe).svg
        assert boxes_off_the_sheet(svg) == []
        assert boxes_on_each_other(svg) == []
