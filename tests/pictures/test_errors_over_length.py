"""Errors over a length and threads that part, read back from their own SVG and set against arithmetic of this file."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from gearcalc.basics.errors import NotPossibleError, ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.pictures import style
from gearcalc.pictures.errors_over_length import error_against_length
from gearcalc.pictures.threads_that_part import side_by_side
from tests.how_much import in_one
from tests.pictures.kinds import BOLT, HOSTILE, SHORT
from tests.pictures.svg_texts import as_number, by_tag, scale_from, words_of


class TestSideBySide:
    @pytest.mark.parametrize(("cut", "length"), [(BOLT, 10), (BOLT, 100), (SHORT, 100), (SHORT, 25)])
    def test_the_gap_drawn_is_the_error_magnified(self, cut, length):
        picture = side_by_side("M10x1.5", cut, length)
        along = scale_from({float(w.text): w.x for w in words_of(picture.svg) if re.fullmatch("[0-9.]+", w.text)})
        (bar,) = by_tag(picture.svg, "rect", fill=style.VERMILLION)
        left, right = float(bar.get("x")), float(bar.get("x")) + float(bar.get("width"))
        times = float(re.search(r"drawn ([0-9.]+) times", picture.description)[1])
        gap_mm = (float(cut) / 1.5 - 1) * length
        assert along(right) - along(left) == pytest.approx(abs(gap_mm) * times, rel=2e-3)
        should_end = left if gap_mm > 0 else right
        assert along(should_end) == pytest.approx(length, rel=1e-3)

    def test_words_table_and_caption_say_sign_size_and_unit(self):
        long, short = (side_by_side("M10x1.5", cut, 100) for cut in (BOLT, SHORT))
        assert "12.5 µm too long over 100 mm" in long.caption
        assert "12.5 µm too long over 100 mm" in long.description
        assert [str(row["the cut thread is off by"]) for row in long.table] == [
            "+2.5 µm",
            "+5 µm",
            "+7.5 µm",
            "+10 µm",
            "+12.5 µm",
        ]
        assert {row["it is"] for row in long.table} == {"too long"}
        # 2143 ppm of 100 mm are 214.3 µm
        assert "214.3 µm too short over 100 mm" in short.caption
        assert str(short.table[-1]["the cut thread is off by"]) == "−214.3 µm"
        assert {row["it is"] for row in short.table} == {"too short"}

    def test_a_crest_for_every_pitch_and_each_joined(self):
        svg = side_by_side("M10x1.5", BOLT, 15, 10).svg
        joins = [
            p.get("d") for p in by_tag(svg, "path") if re.fullmatch(r"(M[\d.]+ [\d.]+L[\d.]+ [\d.]+)+", p.get("d"))
        ]
        assert [each.count("M") for each in joins[:2]] == [11, 11]  # crests 0 to 10 of 15 mm at 1.5 mm

    def test_magnified_the_gap_is_plain_to_see_and_fits(self):
        for ppm in (1, 37, 1000, 250_000, -3, -9999, -400_000):
            svg = side_by_side("M10", Fraction(3, 2) * (1 + Fraction(ppm, 10**6)), 40).svg
            (bar,) = by_tag(svg, "rect", fill=style.VERMILLION)
            assert 30 <= float(bar.get("width")) <= 340

    def test_in_a_window_the_scale_stays_while_the_length_grows(self):
        rulers = set()
        for length in (1, 30, 100):
            svg = side_by_side("M10x1.5", BOLT, length, window_mm=100).svg
            rulers.add(tuple((w.text, w.x) for w in words_of(svg) if w.text.isdigit()))
        assert len(rulers) == 1

    def test_exact_is_called_exact(self):
        picture = side_by_side("1.27 mm", "1.27")
        assert "exact over 25 mm" in picture.caption
        assert "none" in " ".join(words.text for words in words_of(picture.svg))

    def test_pitch_not_lead_is_drawn_of_two_starts(self):
        svg = side_by_side("Tr 40x14 P7", 14, 70, 1).svg
        outline = next(p for p in by_tag(svg, "path") if p.get("stroke-linejoin") == "round")
        assert len(re.findall(r"[ML]", outline.get("d"))) == 2 + 4 * 10  # both ends, and the corners of 10 grooves

    @in_one(
        ("arguments", "error"),
        [
            (("M10", BOLT, 0), ValueOutOfRangeError),
            (("M10", BOLT, -5), ValueOutOfRangeError),
            (("M10", BOLT, "x"), ValueOutOfRangeError),
            (("M10", BOLT, 10, 0), ValueOutOfRangeError),
            (("M10", BOLT, 10, 10**8), ValueOutOfRangeError),
            (("M10", BOLT, 10, "many"), ValueOutOfRangeError),
            (("M10", 3), NotPossibleError),
            (("M10", None), ValueOutOfRangeError),
            (("banana", BOLT), ThreadTextError),
        ],
    )
    def test_refuses_what_cannot_be_drawn(self, arguments, error):
        with pytest.raises(error):
            side_by_side(*arguments)

    def test_a_magnification_too_large_is_told_how_far_it_may_go(self):
        # 10 mm and 1.25 µm: half the length is 4000 times the gap
        with pytest.raises(ValueOutOfRangeError, match="1 to 4000 times"):
            side_by_side("M10x1.5", BOLT, 10, 5000)

    def test_a_window_shows_at_least_the_length(self):
        with pytest.raises(ValueOutOfRangeError, match="at least the length"):
            side_by_side("M10", BOLT, 30, window_mm=20)


THREE_ERRORS = {"stand-in": 125, "one pair": -2142.9, "none": 0}


class TestErrorAgainstLength:
    @pytest.mark.parametrize(("errors", "below"), [({"a": 125, "b": 5417}, True), ({"a": 125, "b": -5417}, False)])
    def test_what_is_allowed_is_said_where_no_line_goes(self, errors, below):
        words = {word.text: word.y for word in words_of(error_against_length("M10", errors, 100).svg)}
        (said,) = [y for text, y in words.items() if text.startswith("allowed")]
        assert (said > words["0"]) == below

    def axis(self, svg):
        return scale_from(
            {
                as_number(w.text): w.y - 4.3
                for w in words_of(svg)
                if re.fullmatch(r"[+−]?[0-9.]+", w.text) and w.x < 100 and w.y < 390
            }
        )

    def test_each_line_ends_at_its_error(self):
        svg = error_against_length("M10x1.5-6g", THREE_ERRORS, 100).svg
        um = self.axis(svg)
        lines = by_tag(svg, "path", stroke_width="2.6")
        ends = [um(float(p.get("d").split(" ")[-1])) for p in lines]
        assert ends == pytest.approx([12.5, -214.29, 0], abs=0.5)
        assert len({p.get("stroke-dasharray") for p in lines}) == 3  # told apart without colour

    def test_the_band_is_half_the_tolerance_over_the_cotangent(self):
        # ISO 965-1, M10 6g: pitch diameter 8.862 to 8.994 mm, so 132 µm; cot 30° is √3.
        picture = error_against_length("M10x1.5-6g", THREE_ERRORS, 100)
        um = self.axis(picture.svg)
        (band,) = by_tag(picture.svg, "rect", fill=style.tint(style.SKY, 0.3))
        top, bottom = um(float(band.get("y"))), um(float(band.get("y")) + float(band.get("height")))
        half = 0.5 * 132 / math.sqrt(3)
        assert (top, bottom) == pytest.approx((half, -half), abs=0.5)
        assert "38.1 µm either way" in picture.description
        # −2142.9 ppm use that up after 38.1 µm / 2142.9 ppm
        assert picture.table[1]["leaves the band at"] == f"{half / 2142.9 * 1000:.1f} mm"
        assert picture.table[0]["leaves the band at"] is None

    def test_class_and_share_move_the_band(self):
        # ASME B1.1, 1/4-20 UNC: 2A 0.2164 - 0.2127 = 0.0037 in, so 47 µm at half; the exact formula gives 94.9 µm
        half = error_against_length("1/4-20", {"a": 1}, tolerance_class="2A").description
        whole = error_against_length("1/4-20", {"a": 1}, tolerance_class="2A", share=1).description
        um = [float(re.search(r"allowed, ([0-9.]+) µm", words)[1]) for words in (half, whole)]
        assert um[1] == pytest.approx(2 * um[0], abs=0.2)
        assert um[1] == pytest.approx(0.0037 * 25400 / math.sqrt(3), rel=0.02)

    def test_both_signs_in_words(self):
        said = error_against_length("M10", {"a": 125, "b": -125}, 25).description
        assert "a, +125 ppm: 3.13 µm too long over 25 mm." in said
        assert "b, −125 ppm: 3.13 µm too short over 25 mm." in said

    def test_without_a_tolerance_it_says_why_and_draws_no_band(self):
        picture = error_against_length("1/2 BSW", {"a": 125})
        assert "no tolerance is held here for 1/2 BSW, so no band is drawn" in picture.description
        assert by_tag(picture.svg, "rect", fill=style.tint(style.SKY, 0.3)) == []

    def test_a_hostile_name_stays_words(self):
        picture = error_against_length("M10", {HOSTILE: 5})
        assert "script" not in {each.tag for each in ElementTree.fromstring(picture.svg).iter()}
        assert picture.table[0]["thread cut with"] == HOSTILE

    @in_one(
        ("arguments", "error"),
        [
            (("M10", {}), ValueOutOfRangeError),
            (("M10", [125]), ValueOutOfRangeError),
            (("M10", {str(n): n for n in range(7)}), ValueOutOfRangeError),
            (("M10", {"a": "much"}), ValueOutOfRangeError),
            (("M10", {"a": math.nan}), ValueOutOfRangeError),
            (("M10", {"a": 600_000}), NotPossibleError),
            (("M10", {"a": 1}, 0), ValueOutOfRangeError),
            (("M10", {"a": 1}, 10**7), ValueOutOfRangeError),
            (("M10", {"a": 1}, 100, "9z"), UnknownNameError),
            (("M10", {"a": 1}, 100, None, 2), ValueOutOfRangeError),
            (("", {"a": 1}), ThreadTextError),
        ],
    )
    def test_refuses_what_cannot_be_drawn(self, arguments, error):
        with pytest.raises(error):
            error_against_length(*arguments)
