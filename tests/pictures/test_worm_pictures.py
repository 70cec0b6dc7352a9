"""A worm and its wheel, read back from the drawing: the two steps that it calls P are equally long."""

from __future__ import annotations

import re
from itertools import pairwise
from math import dist, pi
from xml.etree import ElementTree

import pytest

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures import style, worm_and_wheel
from tests.how_much import in_one
from tests.pictures.svg_texts import SPACE


def strong_lines(svg: str) -> list[str]:
    """The paths of the steps: round the wheel, along the worm, and in the key."""
    paths = ElementTree.fromstring(svg).iter(f"{SPACE}path")
    return [path.get("d") for path in paths if path.get("stroke") == style.BLUE]


@in_one("teeth", [18, 20, 21, 30, 36])
class TestTheStep:
    def test_round_the_wheel_it_is_as_long_as_along_the_worm(self, teeth):
        arc, straight, _ = strong_lines(worm_and_wheel(teeth).svg)
        points = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", arc)]
        start, end = map(float, re.match(r"M([\d.]+) [\d.]+H([\d.]+)", straight).groups())
        assert sum(dist(*two) for two in pairwise(points)) == pytest.approx(end - start, rel=1e-3)

    def test_so_many_of_them_go_round(self, teeth):
        arc, *_ = strong_lines(worm_and_wheel(teeth).svg)
        (x0, y0), *_, (x1, y1) = [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([\d.]+)", arc)]
        (radius,) = re.findall(r'<circle [^>]*r="([\d.]+)"[^>]*stroke-dasharray', worm_and_wheel(teeth).svg)
        assert dist((x0, y0), (x1, y1)) == pytest.approx(2 * pi * float(radius) / teeth, rel=6e-3)


@pytest.mark.parametrize("teeth", [17, 37, 20.5, "many"])
def test_another_wheel_is_refused(teeth):
    with pytest.raises(ValueOutOfRangeError):
        worm_and_wheel(teeth)
