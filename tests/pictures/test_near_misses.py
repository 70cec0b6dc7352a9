"""Pictures of near misses, read back from their own SVG and set against arithmetic of this file."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import groupby, pairwise
from xml.etree import ElementTree

import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st

from gearcalc.basics.errors import (
    GearcalcError,
    NotPossibleError,
    ThreadTextError,
    UnknownNameError,
    ValueOutOfRangeError,
)
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import round_number, shortened, spread, step_for
from gearcalc.pictures.errors_over_length import error_against_length, side_by_side
from gearcalc.pictures.fraction_charts import closing_in, stern_brocot_walk
from gearcalc.pictures.near_miss_charts import error_map, tolerance_shares
from gearcalc.threads.deviations import judge
from tests.pictures.svg_texts import SPACE, boxes_off_the_sheet, boxes_on_each_other, words_of

BOLT = Fraction(3, 2) * (1 + Fraction(125, 10**6))  # M10x1.5 cut 125 ppm too long
SHORT = Fraction(3, 2) * (1 - Fraction(2143, 10**6))
HOSTILE = '"><script>alert(1)</script>&'

PICTURES = {
    "bolt, 10 mm": lambda: side_by_side("M10x1.5", BOLT, 10, 500),
    "bolt, 100 mm": lambda: side_by_side("M10x1.5", BOLT, 100),
    "too short": lambda: side_by_side("M10x1.5", SHORT, 100),
    "first millimetres of 100": lambda: side_by_side("M10x1.5", SHORT, 3, window_mm=100),
    "fine thread, long": lambda: side_by_side("M3x0.5", Fraction(499, 1000), 300),
    "no gap": lambda: side_by_side("1.27 mm", Fraction(127, 100)),
    "half as long again": lambda: side_by_side("M10x1.5", Fraction(9, 4), 10),
    "worm": lambda: side_by_side("module 1.5 2 starts", "9.42", 25),
    "very short": lambda: side_by_side("M10x1.5", BOLT, "0.001"),
    "two errors": lambda: error_against_length("M10x1.5-6g", {"stand-in": 125, "one pair": -2142.9}),
    "six errors": lambda: error_against_length("M10", {f"train {n}": 200.0 * n for n in range(6)}, 300),
    "six alike": lambda: error_against_length("M10", dict.fromkeys("abcdef", 1.0), 300),
    "far too long": lambda: error_against_length("M10", {HOSTILE * 3: 499_999, "b": -499_999}, 1000),
    "no tolerance": lambda: error_against_length("1/2 BSW", {"a": 125}, 25),
    "next to nothing": lambda: error_against_length("M10", {"a": 1e-9}, Fraction(1, 1000)),
    "1.27 to 100": lambda: closing_in("127/100", 100),
    "1.27 to 8": lambda: closing_in("127/100", 8, height_px=480),
    "π to 120": lambda: closing_in("pi", 120),
    "π to 100000": lambda: closing_in("pi", 100_000),
    "a five-hundredth": lambda: closing_in("1/500", 1000, height_px=480),
    "π over an inch": lambda: closing_in("pi/25.4", 200),
    "a whole number": lambda: closing_in(3, 10),
    "many digits": lambda: closing_in("123456789/1000003", 10**9),
    "walk to 1.27": lambda: stern_brocot_walk("127/100", 12),
    "walk to π": lambda: stern_brocot_walk("pi", 16),
    "walk far to π": lambda: stern_brocot_walk("pi", 40),
    "walk to one": lambda: stern_brocot_walk(1),
    "walk to a golden ratio": lambda: stern_brocot_walk("165580141/102334155", 40),
    "walk to little": lambda: stern_brocot_walk("1/1000", 40),
    "map for 1.27": lambda: error_map("127/100"),
    "map for π": lambda: error_map("pi"),
    "map for 50/127": lambda: error_map("50/127", range(20, 128)),
    "map of a box": lambda: error_map("3/4", [20, 24, 30, 32, 36, 40, 40, 48, 50, 56, 60, 64, 66, 72, 80, 100, 127]),
    "map of two gears": lambda: error_map("166", [6, 1000]),
    "map far off": lambda: error_map("1/1000", range(20, 60)),
    "large map": lambda: error_map(1, range(6, 306)),
    "shares": lambda: tolerance_shares([judge("M10", 125), judge("M8", 0), judge("M12", 9e5), judge("1/2 BSW", 5)]),
    "many shares": lambda: tolerance_shares([judge("1/4-20 UNC-2A", 10.0**n, share=0.03) for n in range(-8, 8)]),
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
        assert root.find(f"{SPACE}desc").text == picture.description
        assert picture.description.startswith(picture.caption.rstrip(".")[:20]) or "Two threads" in picture.description
        assert "<table>" in picture._repr_html_()

    def test_no_words_leave_the_sheet(self, drawn, name):
        assert boxes_off_the_sheet(drawn[name].svg) == []

    def test_no_words_lie_on_others(self, drawn, name):
        assert boxes_on_each_other(drawn[name].svg) == []

    def test_nothing_is_drawn_that_is_no_number(self, drawn, name):
        assert not re.search(r"\bnan\b|\binf\b", drawn[name].svg)

    def test_the_same_each_time(self, drawn, name):
        assert PICTURES[name]() == drawn[name]


def by_tag(svg: str, tag: str, **wanted: str) -> list[ElementTree.Element]:
    found = ElementTree.fromstring(svg).iter(f"{SPACE}{tag}")
    return [each for each in found if all(each.get(key.replace("_", "-")) == value for key, value in wanted.items())]


def scale_from(labels: dict[float, float]):
    """From pixels back to what the labels along an axis say: value -> place, a straight line through two of them."""
    (a, x), (b, y) = min(labels.items()), max(labels.items())
    return lambda place: a + (place - x) * (b - a) / (y - x)


def as_number(words: str) -> float:
    return float(words.replace("−", "-").replace("+", ""))


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
        assert len(re.findall(r"[ML]", outline.get("d"))) == 1 + 21 + 1  # back, 10 pitches of two halves and one, end

    @pytest.mark.parametrize(
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
        assert "a, +125 ppm: 3.12 µm too long over 25 mm." in said
        assert "b, −125 ppm: 3.12 µm too short over 25 mm." in said

    def test_without_a_tolerance_it_says_why_and_draws_no_band(self):
        picture = error_against_length("1/2 BSW", {"a": 125})
        assert "no tolerance is held here for 1/2 BSW, so no band is drawn" in picture.description
        assert by_tag(picture.svg, "rect", fill=style.tint(style.SKY, 0.3)) == []

    def test_a_hostile_name_stays_words(self):
        picture = error_against_length("M10", {HOSTILE: 5})
        assert "script" not in {each.tag for each in ElementTree.fromstring(picture.svg).iter()}
        assert picture.table[0]["thread cut with"] == HOSTILE

    @pytest.mark.parametrize(
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


def best_by_trying_all(x: float, largest: int) -> list[Fraction]:
    """Every fraction nearer than all with the same or a smaller denominator."""
    best: list[Fraction] = []
    for below in range(1, largest + 1):
        for above in (math.floor(x * below), math.floor(x * below) + 1):
            near = Fraction(above, below)
            if not best or abs(near - Fraction(x)) < abs(best[-1] - Fraction(x)):
                if best and best[-1].denominator == below:
                    best.pop()
                best.append(near)
    return best


class TestClosingIn:
    @pytest.mark.parametrize(
        ("x", "value", "largest"), [("127/100", 1.27, 90), ("pi", math.pi, 112), ("5/7", 5 / 7, 6)]
    )
    def test_shows_what_trying_all_finds(self, x, value, largest):
        picture = closing_in(x, largest)
        found = [Fraction(row["fraction"].text) for row in picture.table]
        assert found == best_by_trying_all(value, largest)[-18:]
        assert found[-1] == Fraction(value).limit_denominator(largest)

    @pytest.mark.parametrize("x", ["127/100", "pi", "50/127"])
    def test_each_stands_on_its_own_side_and_nearer_than_the_one_before(self, x):
        picture = closing_in(x, 95)
        marks = by_tag(picture.svg, "circle", r="5.5")[: len(picture.table)]
        off = [float(mark.get("cx")) - 400 for mark in marks]
        assert [place > 0 for place in off] == [row["it is"] == "too large" for row in picture.table]
        assert [abs(place) for place in off] == sorted((abs(place) for place in off), reverse=True)
        assert [str(row["error"])[0] for row in picture.table] == ["+" if place > 0 else "−" for place in off]

    def test_ten_times_nearer_is_one_line_further_in(self):
        picture = closing_in("127/100", 63)
        words = words_of(picture.svg)
        right = {w.text: w.x for w in words if w.text in ("10", "100", "1000", "1 %", "10 %") and w.x > 400}
        steps = [
            right[b] - right[a]
            for a, b in zip(("10", "100", "1000", "1 %"), ("100", "1000", "1 %", "10 %"), strict=True)
        ]
        assert steps == pytest.approx([steps[0]] * 4, abs=0.02)
        # 80/63 is off by −1/8001, some 125 ppm: log10 1.25 of a step beyond the line of 100
        mark = by_tag(picture.svg, "circle", r="5.5")[len(picture.table) - 1]
        beyond = math.log10(1e6 / 8001 / 100) * steps[0]
        assert 400 - float(mark.get("cx")) == pytest.approx(right["100"] - 400 + beyond, abs=0.1)

    def test_exact_has_a_mark_of_its_own(self):
        assert "127/100 is exact" in closing_in("127/100", 100).caption
        assert len(by_tag(closing_in("127/100", 100).svg, "path", fill=style.VERMILLION)) == 2  # there, and in the key
        assert len(by_tag(closing_in("127/100", 99).svg, "path", fill=style.VERMILLION)) == 1

    def test_words_say_how_far_and_on_which_side(self):
        said = closing_in("pi", 10).description
        assert "22/7 is the nearest, +402.5 ppm" in said  # (22/7)/π − 1 = 402.5 ppm
        assert "3, 45070 ppm too small" in said  # 3/π − 1
        assert "−" not in said.split("close in on it")[1]

    def test_of_too_many_the_nearest_are_shown(self):
        picture = closing_in("pi", 100_000)
        assert len(picture.table) == 18
        assert "simpler ones are left out" in picture.description

    @pytest.mark.parametrize("x", [0, -1, "", "banana", None, "1/0", sympy.E, math.inf, 10**101])
    def test_refuses_what_is_no_number_above_zero(self, x):
        with pytest.raises(ValueOutOfRangeError):
            closing_in(x)

    @pytest.mark.parametrize("largest", [0, -1, 2.5, "many", None, 10**10])
    def test_refuses_a_limit_that_is_none(self, largest):
        with pytest.raises(GearcalcError):
            closing_in("127/100", largest)

    @pytest.mark.parametrize("height", [0, 299, 1001, "high"])
    def test_refuses_a_height_that_is_none(self, height):
        with pytest.raises(ValueOutOfRangeError):
            closing_in("127/100", height_px=height)


def euclid(x: Fraction) -> list[int]:
    terms = []
    while True:
        whole, rest = divmod(x, 1)
        terms.append(int(whole))
        if not rest:
            return terms
        x = 1 / rest


class TestSternBrocotWalk:
    def walked(self, picture):
        return [(Fraction(row["mediant"]), row["from there"]) for row in picture.table]

    @given(st.fractions(Fraction(1, 6), 6, max_denominator=12))
    @settings(max_examples=60, deadline=None)
    def test_turns_and_runs_are_euclids(self, x):
        picture = stern_brocot_walk(x, 40)
        turns = [turn for _, turn in self.walked(picture)]
        assert turns[-1] == "arrived"
        terms = euclid(x)
        terms[-1] -= 1  # arriving counts 1
        expected = [n for n in terms if n]
        assert [len(list(run)) for _, run in groupby(turns[:-1])] == expected
        listed = re.search(r"continued fraction: ([0-9, ]+)", picture.description)[1]
        assert [int(term) for term in listed.split(", ")] == euclid(x)

    def test_each_mediant_is_made_as_it_says_and_turns_towards_the_number(self):
        for row in stern_brocot_walk("127/100", 12).table:
            a, c, b, d = map(int, re.fullmatch(r"\((\d+) \+ (\d+)\)/\((\d+) \+ (\d+)\)", row["made of"]).groups())
            assert Fraction(a + c, b + d) == Fraction(row["mediant"])
            expected = {1: "left", 0: "arrived", -1: "right"}
            mediant, wanted = Fraction(row["mediant"]), Fraction(127, 100)
            assert row["from there"] == expected[(mediant > wanted) - (mediant < wanted)]
            assert row["it is"] == {"left": "too large", "right": "too small", "arrived": "exact"}[row["from there"]]

    def test_right_is_drawn_to_the_right(self):
        picture = stern_brocot_walk("127/100", 12)
        path = next(p for p in by_tag(picture.svg, "path", stroke_width="2"))
        xs = [float(point.split(" ")[0]) for point in re.split("[ML]", path.get("d"))[1:]]
        moves = ["right" if b > a else "left" for a, b in pairwise(xs)]
        assert moves == [turn for _, turn in self.walked(picture)][:-1]

    def test_the_runs_stand_beside_the_walk(self):
        words = [w.text for w in words_of(stern_brocot_walk("pi", 16).svg)]
        assert [w for w in words if re.fullmatch(r"\d+ (left|right)( …)?", w)] == ["3 right", "7 left", "6 right …"]

    def test_convergents_are_marked(self):
        # published convergents of π: 3, 22/7, 333/106, 355/113
        rows = stern_brocot_walk("pi", 26).table
        assert [row["mediant"] for row in rows if row["convergent"]] == ["3/1", "22/7", "333/106", "355/113"]

    def test_less_than_one_begins_with_nought(self):
        said = stern_brocot_walk("50/127", 20).description
        assert "continued fraction: 0, 2, 1, 1, 5, 1, 3." in said
        assert "It begins with 0" in said

    @pytest.mark.parametrize("steps", [0, -1, 41, 2.5, "9", None, True])
    def test_refuses_a_number_of_steps_that_is_none(self, steps):
        with pytest.raises(ValueOutOfRangeError, match="steps"):
            stern_brocot_walk("127/100", steps)

    @pytest.mark.parametrize("x", [0, -1, "", "banana", None])
    def test_refuses_what_is_no_number_above_zero(self, x):
        with pytest.raises(ValueOutOfRangeError):
            stern_brocot_walk(x)


class TestErrorMap:
    TEETH = range(20, 61)

    def cells(self, svg, tone):
        """The pairs (driver, driven) whose cell's middle lies within the shapes of that tone."""
        (path,) = by_tag(svg, "path", fill=tone)
        shapes = re.findall(r"M([\d.]+) ([\d.]+)h([\d.]+)V([\d.]+)h", path.get("d"))
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

    @pytest.mark.parametrize(("x", "value"), [("127/100", Fraction(127, 100)), ("pi/4", math.pi / 4), ("1", 1)])
    @pytest.mark.parametrize(
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
        if expected:
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

    @pytest.mark.parametrize("x", [0, -1, "", None, "banana", 1001, "1/1001"])
    def test_refuses_a_ratio_that_is_none(self, x):
        with pytest.raises(ValueOutOfRangeError):
            error_map(x)

    @pytest.mark.parametrize("teeth", [[], [20], [20, 20], "20 30", 20, range(5, 20), [20, 30.5], range(20, 400)])
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
            if re.fullmatch(r"[0-9.]+ %", w.text) and w.y > 360
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


class TestCharts:
    @given(st.floats(1e-9, 1e12))
    @settings(max_examples=100)
    def test_round_numbers_are_round_and_as_near_as_can_be(self, x):
        down, up = round_number(x), round_number(x, up=True)
        assert down <= x * (1 + 1e-9)
        assert up >= x * (1 - 1e-9)
        assert up / down <= 2.5 * (1 + 1e-9)
        assert {f"{n:e}"[0] for n in (down, up)} <= set("125")

    @given(st.floats(1e-6, 1e6), st.integers(1, 20))
    @settings(max_examples=100)
    def test_an_axis_has_no_more_steps_than_asked(self, span, most):
        assert span / step_for(span, most) <= most * (1 + 1e-9)

    @given(st.lists(st.floats(0, 300), min_size=1, max_size=12))
    @settings(max_examples=100)
    def test_labels_keep_apart_in_order_and_inside(self, places):
        middles = spread(sorted(places), [20.0] * len(places), 0, 300)
        assert all(b - a >= 20 - 1e-9 for a, b in pairwise(middles))
        assert middles[0] >= 10 - 1e-9
        assert middles[-1] <= 290 + 1e-9

    def test_long_words_are_cut_and_kept_to_one_line(self):
        assert shortened("a\nb  c", 9) == "a b c"
        assert len(shortened("x" * 50, 9)) == 9
