"""Pictures of a measurement, read back from their own SVG and set against arithmetic of this file."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.pictures.measurement_charts import measured_band, two_leads_apart
from tests.how_much import examples, in_one
from tests.pictures.kinds import MEANT, all_of, band, slips
from tests.pictures.svg_texts import SPACE, boxes_off_the_sheet, boxes_on_each_other, words_of


@pytest.fixture(scope="module")
def drawn():
    return all_of("measurements")


def axis_of(svg: str):
    """From the lettering of the axis: lead in mm -> x. Two ticks decide."""
    (name,) = (words for words in words_of(svg) if words.text in ("lead, mm", "lead, in"))
    one = 25.4 if name.text == "lead, in" else 1
    ticks = [(float(w.text) * one, w.x) for w in words_of(svg) if w.y == name.y and w.text != name.text]
    (first, at_first), *_, (last, at_last) = ticks
    return lambda lead: at_first + (lead - first) * (at_last - at_first) / (last - first)


def band_edges(svg: str) -> tuple[float, float]:
    rect = ElementTree.fromstring(svg).findall(f"{SPACE}g/{SPACE}rect")[2]  # after the paper and its border
    return float(rect.get("x")), float(rect.get("x")) + float(rect.get("width"))


class TestMeasuredBand:
    def test_the_wrong_hand_is_ruled_out(self):
        for seen, possible in ((None, "yes"), ("left", "yes"), ("right", "no")):
            picture = measured_band(gc.judge_measurement("16 tpi LH", 16, "25.4", "0.1", hand=seen))
            (wanted,) = (row for row in picture.table if row["turns to tell apart"].startswith("wanted"))
            assert wanted["possible"] == possible
            assert ("right-hand" in picture.description) is (seen == "right")

    @in_one("name", ["weak", "one turn", "coarse", "two starts", "worm"])
    def test_the_band_stands_at_its_leads(self, drawn, name):
        turns, length, limit = {
            "weak": (10, 12.6, 0.25),
            "one turn": (1, 1.6, 0.5),
            "coarse": (1, 25, 1),
            "two starts": (5, 15, 0.25),
            "worm": (10, 35, 0.5),
        }[name]
        x = axis_of(drawn[name].svg)
        left, right = band_edges(drawn[name].svg)
        assert left == pytest.approx(x((length - limit) / turns), abs=0.1)
        assert right == pytest.approx(x((length + limit) / turns), abs=0.1)

    def test_a_dot_for_what_is_possible_and_none_beside_it(self, drawn):
        for name, picture in drawn.items():
            dots = ElementTree.fromstring(picture.svg).iter(f"{SPACE}circle")
            if "possible" in picture.table[0]:
                possible = sum(row["possible"] == "yes" for row in picture.table)
                assert sum(1 for _ in dots) == possible + 1, name  # and one in the key

    def test_dots_stand_at_their_leads(self, drawn):
        x = axis_of(drawn["weak"].svg)
        dots = [float(dot.get("cx")) for dot in ElementTree.fromstring(drawn["weak"].svg).iter(f"{SPACE}circle")]
        assert dots[:2] == pytest.approx([x(1.25), x(1.27)], abs=0.1)

    def test_words_and_table(self, drawn):
        picture = drawn["weak"]
        assert "possible: 1.235 to 1.285 mm" in picture.description
        assert "1.25 mm (20.32 tpi), wanted: possible" in picture.description
        rows = {row["lead"]: row for row in picture.table}
        assert rows["1.27 mm (20 tpi)"]["turns to tell apart"] == "26"
        assert rows["1.5 mm (≈ 16.933 tpi)"]["possible"] == "no"

    @examples(25)
    @given(st.integers(1, 60), st.fractions(min_value=Fraction(1, 2), max_value=100, max_denominator=20))
    def test_any_measurement_stays_on_the_sheet(self, turns, length):
        picture = band("1.25 mm", turns, length, "0.01")
        assert boxes_off_the_sheet(picture.svg) == []
        assert boxes_on_each_other(picture.svg) == []


class TestLeadsOfSlips:
    def test_the_meant_one_and_each_slip_a_row(self, drawn):
        picture = drawn["one slip"]
        found = gc.explain_wrong_lead(MEANT, 2.52, 0.01)
        names = [f"{n} {slip.kind}" for n, slip in enumerate(found, 1)]
        assert [row["what"] for row in picture.table][: 1 + len(found)] == ["meant", *names]
        assert [row["possible"] for row in picture.table] == ["no", *("yes" for _ in found), *["no"] * (6 - len(found))]
        x = axis_of(picture.svg)
        dots = [float(dot.get("cx")) for dot in ElementTree.fromstring(picture.svg).iter(f"{SPACE}circle")]
        assert dots[: len(found)] == pytest.approx([x(float(slip.lead_mm)) for slip in found], abs=0.1)

    def test_nothing_fits_is_said(self, drawn):
        picture = drawn["no slip"]
        assert picture.description.endswith("No single slip known here.")
        assert any("No single slip" in words.text for words in words_of(picture.svg))

    @pytest.mark.parametrize("most", [0, 7])
    def test_refuses_too_many_rows(self, most):
        with pytest.raises(ValueOutOfRangeError):
            slips(1.5, 0.1, most=most)


class TestTwoLeadsApart:
    def test_the_parting_stands_at_its_turns(self, drawn):
        svg = drawn["by the rule"].svg
        (below,) = {words.y for words in words_of(svg) if words.text == "25"}
        ticks = {float(words.text): words.x for words in words_of(svg) if words.y == below}
        expected = ticks[0] + 26 * (ticks[25] - ticks[0]) / 25
        found = re.findall(r'd="M([\d.]+) [\d.]+V[\d.]+" fill="none" stroke="#1B1F24" stroke-width="1.6"', svg)
        assert [float(x) for x in found] == pytest.approx([expected], abs=0.1)
        assert any(words.text == "from 26 turns on: for certain" for words in words_of(svg))

    def test_the_table_turns_at_the_least_number(self, drawn):
        rows = {row["turns"]: row for row in drawn["by the rule"].table}
        assert rows["25"]["told apart"] == "perhaps"
        assert rows["26"]["told apart"] == "for certain"
        assert rows["26"]["apart"] == "0.52 mm"
        assert rows["26"]["length of 1.25 mm"] == "32.5 mm"
        assert rows["26"]["length of 20 tpi"] == "33.02 mm"

    def test_words(self, drawn):
        said = drawn["by the rule"].description
        assert "overlap up to 25 turns, and never from 26 turns on, where the lengths are 0.52 mm apart" in said
        assert "never overlap, not even in one turn" in drawn["at once"].description

    def test_refuses_what_cannot_be_drawn(self):
        for one, other, limit, error in [
            ("1.27 mm", "20 tpi", 0.1, NotPossibleError),
            ("1.25 mm", "20 tpi", 0, NotPossibleError),
            ("1.25 mm", "20 tpi", -1, ValueOutOfRangeError),
            ("1.25 mm", "x", 0.1, ThreadTextError),
        ]:
            with pytest.raises(error):
                two_leads_apart(one, other, limit)
