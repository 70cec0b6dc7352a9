"""The thread along its rulers, measured as it is drawn."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from math import atan, degrees
from xml.etree import ElementTree

import pytest

from gearcalc.basics.exact import as_fraction
from gearcalc.cutting.depths import thread_depth
from gearcalc.pictures.cutting_strips import carriage_strip, thread_strip
from gearcalc.pictures.thread_profiles import flanks_deg
from gearcalc.threads import Thread
from tests.how_much import in_one

LEFT, RIGHT, TOP, BOTTOM, RULER_Y = 28.0, 644.0, 58.0, 122.0, 36.0
CASES = [
    (hand, starts, pitch) for hand in ("right", "left") for starts in (1, 2, 3, 4) for pitch in (2, Fraction(5, 2))
]


def _bar(svg: str) -> list[tuple[float, float]]:
    """The corners of the bar's outline."""
    outline = ElementTree.fromstring(svg)[0][0].get("d")
    return [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+)[ ,](-?[\d.]+)", outline)]


def _crests(corners: list[tuple[float, float]], level: float) -> list[float]:
    """The middles of the flats on that line, of those that the strip shows whole."""
    flats = [(x, to_x) for (x, y), (to_x, to_y) in pairwise(corners) if y == to_y == level]
    return [(x + to_x) / 2 for x, to_x in flats if min(x, to_x) > LEFT and max(x, to_x) < RIGHT]


def _drawn(starts: int, pitch: Fraction | int, hand: str) -> tuple[list[float], list[float], list[list[float]]]:
    """Where crests stand above and below, and the lines of the crests from x, y to x, y; pixels."""
    svg = thread_strip(Fraction(pitch * starts), starts=starts, hand=hand)
    lines = ElementTree.fromstring(svg)[0][1].get("d")
    numbers = [[float(number) for number in re.findall(r"-?[\d.]+", line)] for line in lines.split("M")[1:]]
    above, below = (sorted(_crests(_bar(svg), level)) for level in (TOP, BOTTOM))
    return above, below, numbers


def _strip(starts: int, pitch: Fraction | int) -> str:
    return thread_strip(Fraction(pitch * starts), starts=starts)


def _px_per_mm(svg: str) -> float:
    """Read off the ruler, where its first number stands."""
    words = [line for line in ElementTree.fromstring(svg).iter("text") if float(line.get("y")) == RULER_Y]
    first = min(words, key=lambda line: float(line.get("x")))
    x = float(first.get("x")) - 8 * (first.get("text-anchor") == "end")  # one at the end of the bar stands there
    return (x - LEFT) / float(first.text.removesuffix(" mm"))


class TestTheGrooveGoesOneLeadAlongInOneTurn:
    """Half a turn round the bar from a crest the same crest stands half a lead on: starts/2 pitches."""

    @in_one(("hand", "starts", "pitch"), CASES)
    def test_crests_below(self, hand, starts, pitch):
        above, below, _ = _drawn(starts, pitch, hand)
        step = float(pitch) * _px_per_mm(_strip(starts, pitch))
        assert len(above) >= 8
        assert len(below) >= 8
        for x in below:
            apart = ((x - above[0]) / step - starts / 2) % 1
            assert min(apart, 1 - apart) < 0.01

    @in_one(("hand", "starts", "pitch"), CASES)
    def test_the_slant(self, hand, starts, pitch):
        """A right-hand thread leans as a backslash does: down and to the right."""
        above, below, lines = _drawn(starts, pitch, hand)
        half_a_lead = starts * float(pitch) / 2 * _px_per_mm(_strip(starts, pitch)) * (1 if hand == "right" else -1)
        slope = half_a_lead / (BOTTOM - TOP)
        for x, y, to_x, to_y in lines:
            assert LEFT <= min(x, to_x) <= max(x, to_x) <= RIGHT
            assert TOP <= y < to_y <= BOTTOM
            assert to_x - x == pytest.approx(slope * (to_y - y), abs=0.05)
        assert _all_met(above, [x for x, y, *_ in lines if y == TOP])
        assert _all_met(below, [x for *_, x, y in lines if y == BOTTOM])

    @in_one("starts", [1, 2, 3, 4, 6, 8])
    def test_no_crest_runs_through_the_air(self, starts):
        """At a root, half a pitch on, the crest's line has come down 1/starts of the bar: the root is no deeper."""
        heights = [y for _, y in _bar(thread_strip(Fraction(2 * starts), starts=starts))]
        root = max(y for y in heights if y < (TOP + BOTTOM) / 2)
        assert TOP < root <= TOP + (BOTTOM - TOP) / starts + 0.01


def _all_met(places: list[float], ends: list[float]) -> bool:
    return all(any(abs(place - end) < 0.02 for end in ends) for place in places)


FORMS = [  # a thread, the angle between its flanks, and the form whose depth is asked for where a pitch alone has none
    ("M10", 60, None),
    ("M30", 60, None),
    ("16 tpi", 60, "ISO"),
    ("1/2 BSW", 55, None),
    ("Tr 40x7", 30, None),
    ("module 1", 40, None),
    ("module 3", 40, None),
]


class TestTheProfileIsTrue:
    """Measured on the drawing, against the angle of the form and its depth in data/threads/depths.csv."""

    @in_one(("text", "angle", "form"), FORMS)
    def test_flanks_and_depth(self, text, angle, form):
        thread = Thread.parse(text)
        lead = as_fraction(float(thread.lead))
        svg = thread_strip(lead, angle_deg=flanks_deg(thread))
        upper = [(x, y) for x, y in _bar(svg) if y < (TOP + BOTTOM) / 2]
        flanks = [(b[0] - a[0], abs(b[1] - a[1])) for a, b in pairwise(upper[1:-1]) if a[1] != b[1]]
        assert len(flanks) >= 8
        for along, deep in flanks:
            assert 2 * degrees(atan(along / deep)) == pytest.approx(angle, abs=1.5)
        depth = thread_depth(thread, form=form)
        clearance = 0.5 if text.startswith("Tr") else 0  # mm; of the form, beyond half the pitch, and not drawn
        assert max(deep for _, deep in flanks) / _px_per_mm(svg) == pytest.approx(depth.depth_mm - clearance, rel=0.03)
        assert f"flanks of {angle}°" in svg


class TestFlanksOfTheStrip:
    """One flank of each groove lies in the light, one in the shade; each ends at corners of the outline."""

    @in_one(("hand", "starts", "angle"), [("right", 1, 60), ("left", 1, 60), ("right", 2, 55), ("left", 3, 30)])
    def test_they_end_at_corners_of_the_outline(self, hand, starts, angle):
        svg = thread_strip(Fraction(3 * starts), starts=starts, hand=hand, angle_deg=angle)
        corners = _bar(svg)
        (cut,) = ElementTree.fromstring(svg)[0].iter("svg")
        for tone in cut:
            points = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", tone.get("d"))]
            seen = [point for point in points if LEFT + 1 < point[0] < RIGHT - 1]
            assert len(seen) > 20
            assert all(min(abs(x - a) + abs(y - b) for a, b in corners) < 0.03 for x, y in seen)


class TestTheToolHasTheAngleOfItsThread:
    """The strip at work: the nose and the grooves that it has cut stand at the angle between the thread's flanks."""

    @in_one("angle", [60, 55, 30, 29])
    def test_the_nose_and_the_grooves(self, angle):
        strip = ElementTree.fromstring(carriage_strip(Fraction(3), turns=Fraction(6), angle_deg=angle))
        (tool,) = (part for part in strip.iter("g") if part.get("class") == "tool")
        outline = next(
            part.get("d") for part in tool.iter("path") if part.get("d").endswith("Z") and "V" in part.get("d")
        )
        x, tip, half, shoulder = map(float, re.findall(r"-?[\d.]+", outline)[:4])
        assert x == 0
        assert degrees(2 * atan(half / (shoulder - tip))) == pytest.approx(angle, abs=0.1)
        edge = max((part.get("d") for part in strip.iter("path")), key=lambda path: path.count("L"))
        corners = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", edge)]
        leans = [abs((to_x - x) / (to_y - y)) for (x, y), (to_x, to_y) in pairwise(corners[:9]) if to_y != y]
        assert leans
        for lean in leans:
            assert degrees(2 * atan(lean)) == pytest.approx(angle, abs=0.5)
