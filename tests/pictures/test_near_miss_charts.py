"""The map of all pairs and the shares of tolerances, read back from their own SVG and set against arithmetic."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures import style
from gearcalc.pictures.near_miss_charts import error_map, tolerance_shares
from gearcalc.threads.deviations import judge
from tests.how_much import in_one
from tests.pictures.svg_texts import by_tag, scale_from, words_of


class TestErrorMap:
    TEETH = range(20, 61)

    def cells(self, svg, tone):
        """The pairs (driver, driven) whose cell's middle lies within the shapes of that tone."""
        drawn = "".join(path.get("d") for path in by_tag(svg, "path", fill=tone))
        shapes = re.findall(r"M([\d.]+) ([\d.]+)h([\d.]+)V([\d.]+)h", drawn)
        side, top, left = 396, 54, 66
        cell = side / len(self.TEETH)
        middles = {
            (driver, driven): (left + (driven - 19.5) * cell, top + side - (driver - 19.5) * cell)
            for driver in self.TEETH
            for driven in self.TEETH
        }
        boxes = [tuple(map(float, shape)) for shape in shapes]
        return {
            pair
            for pair, (x, y) in middles.items()
            if any(a < x < a + wide and high < y < low for a, low, wide, high in boxes)
        }

    @in_one(("x", "value"), [("127/100", Fraction(127, 100)), ("pi/4", math.pi / 4), ("1", 1)])
    @in_one(
        ("tone", "share"),
        [
            (style.tint(style.SKY, 0.28), Fraction(1, 10)),
            (style.tint(style.SKY, 0.75), Fraction(3, 100)),
            (style.BLUE, Fraction(1, 100)),
            ("#0A2540", Fraction(1, 1000)),
        ],
    )
    def test_shades_just_the_pairs_that_are_within(self, x, value, tone, share):
        expected = {
            (driver, driven)
            for driver in self.TEETH
            for driven in self.TEETH
            if driver != driven and abs(Fraction(driver, driven) / value - 1) <= share
        }
        assert self.cells(error_map(x, self.TEETH).svg, tone) == expected

    def test_names_the_nearest_that_trying_all_finds(self):
        near = {
            Fraction(a, b): abs(Fraction(a, b) / Fraction(127, 100) - 1) for a in range(20, 101) for b in range(20, 101)
        }
        best = sorted((ratio for ratio in near if ratio != 1), key=near.get)[:6]
        rows = error_map("127/100").table
        assert [Fraction(str(row["pair"])) for row in rows] == best
        assert [str(row["error"])[0] for row in rows] == ["+" if r > Fraction(127, 100) else "−" for r in best]
        assert rows[1]["multiples"] == "94/74"  # 47/37 once more

    def test_marks_every_exact_pair(self):
        picture = error_map("3/4", range(20, 41))
        # 15/20 is too small: 21/28, 24/32, 27/36, 30/40
        assert picture.table[0]["multiples"] == "24/32, 27/36, 30/40"
        assert "exact with 21/28" in picture.caption
        assert len(by_tag(picture.svg, "path", fill=style.VERMILLION)) == 4 + 1  # and one in the key

    def test_rings_stand_at_their_pairs_driver_upwards_driven_to_the_right(self):
        picture = error_map("127/100")
        numbers = [w for w in words_of(picture.svg) if re.fullmatch(r"\d+", w.text)]
        driven = scale_from({float(w.text): w.x for w in numbers if w.y > 460})
        driver = scale_from({float(w.text): w.y - 4.3 for w in numbers if w.x < 60})
        rings = by_tag(picture.svg, "circle", stroke=style.INK, stroke_width="1.7")[:-1]  # the last is in the key
        seen = {(round(driver(float(c.get("cy")))), round(driven(float(c.get("cx"))))) for c in rings}
        named = [
            pair for row in picture.table for pair in [str(row["pair"]), *(row["multiples"] or "").split(", ")] if pair
        ]
        assert seen == {tuple(map(int, pair.split("/"))) for pair in named}

    def test_pi_has_no_exact_pair(self):
        assert all(row["error"].text != "exact" for row in error_map("pi").table)

    def test_nearest_for_pi_is_22_over_7(self):
        assert str(error_map("pi").table[0]["pair"]) == "66/21"

    @in_one("x", [0, -1, "", None, "banana", 1001, "1/1001"])
    def test_refuses_a_ratio_that_is_none(self, x):
        with pytest.raises(ValueOutOfRangeError):
            error_map(x)

    @in_one("teeth", [[], [20], [20, 20], "20 30", 20, range(5, 20), [20, 30.5], range(20, 400)])
    def test_refuses_gears_that_are_none(self, teeth):
        with pytest.raises(ValueOutOfRangeError):
            error_map("127/100", teeth)


class TestToleranceShares:
    def test_marks_stand_at_their_share(self):
        verdicts = [judge("M10", ppm) for ppm in (30, 300, 3000)]
        svg = tolerance_shares(verdicts).svg
        labels = {
            math.log10(float(w.text[:-2])): w.x
            for w in words_of(svg)
            if re.fullmatch(r"[0-9.]+ %", w.text) and w.y > 250
        }
        power = scale_from(labels)
        marks = [power(float(c.get("cx"))) for c in by_tag(svg, "circle", r="6.5")][:3]
        # 132 µm of tolerance, 10 mm engaged, cot 30° = √3
        expected = [math.log10(100 * ppm * 0.01 * math.sqrt(3) / 132) for ppm in (30, 300, 3000)]
        assert marks == pytest.approx(expected, abs=0.01)

    def test_words_say_what_the_marks_show(self):
        said = tolerance_shares([judge("M10", 125), judge("M10", -9000), judge("1.25 mm", 1), judge("1.25 mm", 0)])
        assert [row["good enough"] for row in said.table] == ["yes", "no", "not judged", "not judged"]
        assert "M10x1.5, −9000 ppm: 118 % of the tolerance, too much" in said.description
        assert "1.25 mm, +1 ppm: not judged; 1.25 mm, exact: nothing to judge." in said.description

    def test_refuses_none_too_many_and_a_mixture(self):
        for wrong in ([], [judge("M10", 1)] * 17, [judge("M10", 1), judge("M10", 1, share=0.1)]):
            with pytest.raises(ValueOutOfRangeError):
                tolerance_shares(wrong)
