"""The drawing of a screw over three wires, measured in pixels."""

from __future__ import annotations

import re
from itertools import pairwise
from math import hypot, isclose, sqrt

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.pictures import over_three_wires

PITCH, WIRE, PITCH_DIAMETER = 1.5, 0.87, 8.93
M10 = over_three_wires("M10", WIRE, PITCH_DIAMETER)


def circles():
    found = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)"', M10.svg)
    return [tuple(map(float, each)) for each in found]


def outlines():
    """The closed outlines, each as its corners: the whole screw, then the enlarged groove."""
    found = re.findall(r'd="M([^"AC]*?)Z"', M10.svg)
    return [[tuple(map(float, corner.split())) for corner in path.split("L")] for path in found]


def from_line(point, one, other):
    """How far a point is from the line through two others."""
    (x, y), (x1, y1), (x2, y2) = point, one, other
    return abs((x2 - x1) * (y1 - y) - (x1 - x) * (y2 - y1)) / hypot(x2 - x1, y2 - y1)


class TestTheWiresTouchTheirFlanks:
    """A circle touches a line where its middle is one radius away from it."""

    def test_each_wire_touches_two(self):
        *on_the_screw, enlarged = circles()
        assert len(on_the_screw) == 3
        screw, groove = outlines()
        for wires, outline in ((on_the_screw, screw), ([enlarged], groove)):
            for x, y, radius in wires:
                near = [
                    ends
                    for ends in pairwise(outline)
                    if abs(ends[0][0] - ends[1][0]) > 1 < abs(ends[0][1] - ends[1][1])
                    and abs((ends[0][0] + ends[1][0]) / 2 - x) < 1.5 * radius
                    and abs((ends[0][1] + ends[1][1]) / 2 - y) < 3 * radius
                ]
                touched = [ends for ends in near if isclose(from_line((x, y), *ends), radius, abs_tol=0.05)]
                assert len(touched) == 2

    def test_what_lies_outside_of_them_is_the_reading(self):
        """By the rule of ASME B1.2 (from memory): 8.93 + 3 · 0.87 − 0.86603 · 1.5 mm."""
        (x1, y1, radius), (x2, _, _), (_, y3, _), _ = circles()
        px = (x2 - x1) / PITCH
        assert isclose(radius, WIRE / 2 * px, rel_tol=2e-3)
        reading = (y3 - y1 + 2 * radius) / px
        assert isclose(reading, PITCH_DIAMETER + 3 * WIRE - sqrt(3) / 2 * PITCH, rel_tol=2e-3)
        assert M10.table[0]["over the wires"] == "10.24 mm"


@pytest.mark.parametrize(("thread", "wire"), [("1/2 BSW", 1.2), ("Tr 40x7", 3.6), ("M10", 0.7), ("M10", 1.6)])
def test_what_wires_do_not_measure_is_refused(thread, wire):
    with pytest.raises(NotPossibleError, match="do not measure"):
        over_three_wires(thread, wire, 9)
