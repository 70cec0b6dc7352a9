"""Pictures of the turned profile and of the way to the shoulder, read back from their SVG, set against arithmetic."""

from __future__ import annotations

import re
from itertools import pairwise
from math import sqrt
from xml.etree import ElementTree

import pytest

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.cutting.turning import finish, time_to_shoulder
from gearcalc.pictures import style
from gearcalc.pictures.feed_pictures import turned_profile
from gearcalc.pictures.shoulder_pictures import shoulder_picture
from tests.how_much import in_one
from tests.pictures.kinds import FEEDS, drawn
from tests.pictures.svg_texts import SPACE, words_of


def outlines(svg: str, tone: str) -> list[list[tuple[float, float]]]:
    """The corners of every closed shape of a tone."""
    found = [path for path in ElementTree.fromstring(svg).iter(f"{SPACE}path") if path.get("fill") == tone]
    return [[(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", path.get("d"))] for path in found]


WORK = style.tint(style.SKY, 0.34)


@in_one("name", FEEDS)
def test_nothing_is_drawn_beside_the_sheet(name):
    root = ElementTree.fromstring(drawn("feeds", name).svg)
    width, height = float(root.get("width")), float(root.get("height"))
    cut_off = {
        path for window in root.iter(f"{SPACE}svg") if window is not root for path in window.iter(f"{SPACE}path")
    }
    for path in set(root.iter(f"{SPACE}path")) - cut_off:
        for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d")):
            assert 0 <= float(x) <= width
            assert 0 <= float(y) <= height


class TestTurnedProfile:
    @pytest.mark.parametrize(("feed", "nose"), [(0.2, 0.8), (0.1, 0.4), (0.6, 0.4), (0.3, 1.6)])
    def test_the_grooves_are_as_deep_as_said_and_as_wide(self, feed, nose):
        picture = turned_profile(finish(feed, nose), window_mm=4)
        scale = (646 - 30) / 4
        times = float(re.search(r"drawn ([\d.]+) times", picture.description)[1])
        *_, strip = outlines(picture.svg, WORK)
        line = strip[1:-1]  # the first corner and the last are the foot
        top, bottom = min(y for _, y in line), max(y for _, y in line)
        depth = nose - sqrt(nose**2 - feed**2 / 4)
        assert depth * scale * times == pytest.approx(bottom - top, abs=0.02)
        ridges = [
            x
            for (x, y), (_, left), (_, right) in zip(line[1:-1], line, line[2:], strict=False)
            if y < left and y < right
        ]
        assert len(ridges) >= 3
        gaps = {round(after - before, 1) for before, after in pairwise(ridges)}
        assert all(gap == pytest.approx(feed * scale, abs=0.11) for gap in gaps)

    def test_both_strips_are_drawn_to_one_scale(self):
        picture = turned_profile(finish(0.2, 0.8), finish(0.1, 0.8), window_mm=4)
        one, half = outlines(picture.svg, WORK)[1:]
        heights = sorted(max(y for _, y in line[1:-1]) - min(y for _, y in line[1:-1]) for line in (one, half))
        assert heights[1] / heights[0] == pytest.approx(4, rel=0.02)  # half the feed, a quarter of the depth

    def test_data_stands_in_the_table(self):
        (row,) = turned_profile(finish(0.2, 0.8)).table
        assert (row["Rt"], row["Rt by f²/(8 ρ)"], row["Ra by f²/(32 ρ)"]) == ("6.27 µm", "6.25 µm", "1.56 µm")

    @in_one("wrong", [0, -1, 1001, float("nan"), "x"])
    def test_no_window(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            turned_profile(finish(0.2, 0.8), window_mm=wrong)

    def test_one_or_two(self):
        with pytest.raises(ValueOutOfRangeError, match="1 or 2"):
            turned_profile()
        with pytest.raises(ValueOutOfRangeError, match="1 or 2"):
            turned_profile(*[finish(0.2, 0.8)] * 3)


class TestShoulderPicture:
    def test_a_mark_a_turn_across_the_groove(self):
        # 4.5 mm at 1.5 mm a turn: marks 1, 2 and 3, a third of the groove apart
        picture = shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5))
        # further down a scale of seconds begins
        marks = {
            words.text: words.x for words in words_of(picture.svg) if words.text in ("1", "2", "3") and words.y < 260
        }
        assert marks["1"] - marks["2"] == pytest.approx(marks["2"] - marks["3"])
        assert marks["3"] == 170.0  # at the shoulder

    def test_the_bar_is_as_long_as_the_seconds_say(self):
        picture = shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5), 2)
        root = ElementTree.fromstring(picture.svg)
        bar = next(rect for rect in root.iter(f"{SPACE}rect") if rect.get("height") == "26")
        places = {words.text: words.x for words in words_of(picture.svg) if re.fullmatch(r"[\d.]+", words.text)}
        end = float(bar.get("x")) + float(bar.get("width"))
        assert end == pytest.approx(places["1.8"], abs=0.1)

    @pytest.mark.parametrize(("needed", "word"), [(1.8, "enough"), (1.81, "too short")])
    def test_enough_or_not(self, needed, word):
        picture = shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5), needed)
        assert f"1.8 s, {word}" in [words.text for words in words_of(picture.svg)]

    def test_crests_are_a_pitch_apart_whatever_the_lead(self):
        one, two = (
            outlines(shoulder_picture(time_to_shoulder(thread, 30, 4.5)).svg, WORK)[0]
            for thread in ("M16x1.5", "M16xPh3P1.5")
        )
        middle = (min(y for _, y in one) + max(y for _, y in one)) / 2
        assert [corner for corner in one if corner[1] < middle] == [corner for corner in two if corner[1] < middle]
        assert one != two  # half a turn on a crest of the one is a root, of the other a crest

    @in_one(("text", "rpm", "needed"), [("M10", 60, 2), ("1/4-20 UNC", 30, 1), ("0.1 mm/rev", 300, 5)])
    def test_the_dashed_line_is_where_the_carriage_is_so_long_before_the_shoulder(self, text, rpm, needed):
        """By arithmetic: so many seconds before the shoulder it is rev/min · lead · seconds / 60 away from it."""
        run = time_to_shoulder(text, rpm, 4.5)
        root = ElementTree.fromstring(shoulder_picture(run, needed).svg)
        (mark,) = (path for path in root.iter(f"{SPACE}path") if path.get("stroke") == style.VERMILLION)
        x = float(mark.get("d")[1:].split()[0])
        ticks = {words.text: words.x for words in words_of(shoulder_picture(run, needed).svg) if words.y < 170}
        turn, n = next((ticks[n], int(n)) for n in ticks if n.isdigit())
        per_turn = (turn - 170) / (float(run.turns) - n)  # 170: where the shoulder is
        assert x == pytest.approx(170 + per_turn * rpm * needed / 60, abs=0.1)
