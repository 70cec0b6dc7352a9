"""The thread along its rulers, measured as it is drawn."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from gearcalc.pictures.cutting_strips import thread_strip
from tests.how_much import in_one

LEFT, RIGHT, TOP, BOTTOM, SHOWN_MM = 28.0, 772.0, 58.0, 122.0, 30
CASES = [
    (hand, starts, pitch) for hand in ("right", "left") for starts in (1, 2, 3, 4) for pitch in (2, Fraction(5, 2))
]


def _drawn(starts: int, pitch: Fraction | int, hand: str) -> tuple[list[float], list[float], list[list[float]]]:
    """Where crests stand above and below, and the lines of the crests from x, y to x, y; pixels."""
    svg = ElementTree.fromstring(thread_strip(Fraction(pitch * starts), starts=starts, hand=hand))
    bar, lines = (part.get("d") for part in list(svg[0])[:2])
    corners = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+)[ ,](-?[\d.]+)", bar)]
    inside = [(x, y) for x, y in corners if LEFT < x < RIGHT]
    crests = ([x for x, y in inside if abs(y - level) < 0.01] for level in (TOP, BOTTOM))
    numbers = [[float(number) for number in re.findall(r"-?[\d.]+", line)] for line in lines.split("M")[1:]]
    return (*crests, numbers)


class TestTheGrooveGoesOneLeadAlongInOneTurn:
    """Half a turn round the bar from a crest the same crest stands half a lead on: starts/2 pitches."""

    @in_one(("hand", "starts", "pitch"), CASES)
    def test_crests_below(self, hand, starts, pitch):
        above, below, _ = _drawn(starts, pitch, hand)
        step = float(pitch) * (RIGHT - LEFT) / SHOWN_MM
        assert len(above) >= 8
        assert len(below) >= 8
        for x in below:
            apart = ((x - above[0]) / step - starts / 2) % 1
            assert min(apart, 1 - apart) < 0.01

    @in_one(("hand", "starts", "pitch"), CASES)
    def test_the_slant(self, hand, starts, pitch):
        """A right-hand thread leans as a backslash does: down and to the right."""
        above, below, lines = _drawn(starts, pitch, hand)
        half_a_lead = starts * float(pitch) / 2 * (RIGHT - LEFT) / SHOWN_MM * (1 if hand == "right" else -1)
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
        svg = ElementTree.fromstring(thread_strip(Fraction(2 * starts), starts=starts))
        heights = [float(y) for _, y in re.findall(r"(-?[\d.]+)[ ,](-?[\d.]+)", svg[0][0].get("d"))]
        root = max(y for y in heights if y < (TOP + BOTTOM) / 2)
        assert TOP < root <= TOP + (BOTTOM - TOP) / starts + 0.01


def _all_met(places: list[float], ends: list[float]) -> bool:
    return all(any(abs(place - end) < 0.02 for end in ends) for place in places)
