"""The bracket with its dimensions: what is drawn has the measures that the lathe file gives."""

from __future__ import annotations

import re
from math import dist, hypot
from xml.etree import ElementTree

import pytest
from hypothesis import given

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.pictures import bracket_plan
from tests.how_much import examples, in_one
from tests.pictures.svg_texts import SPACE, words_of
from tests.strategies import bench_lathes


def shafts_px(svg: str) -> list[tuple[float, float]]:
    """Where the pivot and the spindle side are drawn."""
    circles = ElementTree.fromstring(svg).iter(f"{SPACE}circle")
    return [(float(each.get("cx")), float(each.get("cy"))) for each in circles if each.get("fill") == "none"]


@in_one("name", ["inch", "metric", "odd"])
class TestMeasures:
    def test_the_spindle_side_lies_as_the_file_has_it(self, name):
        lathe = gc.demo_lathe(name)
        across, up = lathe.bracket.spindle_side_at_mm
        (x0, y0), (x1, y1) = shafts_px(bracket_plan(lathe).svg)
        scale = dist((x0, y0), (x1, y1)) / hypot(across, up)
        assert ((x1 - x0) / scale, (y0 - y1) / scale) == pytest.approx((across, up), abs=0.1)

    def test_what_is_written_is_what_the_file_says(self, name):
        lathe = gc.demo_lathe(name)
        across, up = lathe.bracket.spindle_side_at_mm
        said = {words.text for words in words_of(bracket_plan(lathe).svg)}
        assert {f"{abs(across):g}", f"{up:g}", f"D {hypot(across, up):.1f}", "pivot", "spindle side"} <= said
        corners = [end for slot in lathe.bracket.slots for end in (slot.from_mm, slot.to_mm)]
        shown = {f"slot: {x:g}, {y:g}".replace("-", "−") for x, y in corners}
        assert shown <= said

    def test_it_says_what_no_file_gives(self, name):
        assert "edge of the arm" in bracket_plan(gc.demo_lathe(name)).description


class TestAnyBracket:
    @examples(20)
    @given(bench_lathes())
    def test_it_is_drawn(self, lathe):
        if lathe.bracket is None:
            with pytest.raises(NotPossibleError):
                bracket_plan(lathe)
        else:
            assert not re.search(r"\bnan\b|\binf\b", bracket_plan(lathe).svg)

    def test_without_a_bracket_it_says_what_to_add(self):
        bare = gc.Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 80]')
        with pytest.raises(NotPossibleError, match=r"\[bracket\]"):
            bracket_plan(bare)
