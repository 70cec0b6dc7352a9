"""Teeth close up, read back from the SVG: pressed teeth overlap, others touch on one side and have play."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from shapely import Polygon, affinity

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.pictures.bracket_marks import mesh_closeups
from tests.how_much import in_one
from tests.pictures.svg_texts import SPACE, boxes_on_each_other

INCH = gc.demo_lathe("inch")
WINDOW_MM = 7.5 * 1.25  # what a panel shows across: seven and a half modules


def panels(svg: str) -> list[tuple[Polygon, Polygon]]:
    """Driver and driven of each panel, in mm, the window's middle at (0, 0), y down; only what the window shows."""
    found = []
    for group in ElementTree.fromstring(svg).iter(f"{SPACE}g"):
        window = group.find(f"{SPACE}svg")
        if window is None:
            continue
        scale = WINDOW_MM / float(window.get("width"))
        half = WINDOW_MM / 2
        shown = Polygon([(-half, -half), (half, -half), (half, half), (-half, half)])
        gears = [Polygon(points(path.get("d"))) for path in window.findall(f"{SPACE}path")]
        driver, driven = (affinity.scale(gear, scale, scale, origin=(0, 0)).intersection(shown) for gear in gears)
        found.append((driver, driven))
    return found


def points(path: str) -> list[tuple[float, float]]:
    numbers = [float(number) for number in re.findall(r"-?\d+\.?\d*", path)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


class TestMeshCloseups:
    svg = mesh_closeups(INCH).svg

    def test_only_pressed_teeth_overlap(self):
        pressed, good, slack = (driver.intersection(driven).area for driver, driven in panels(self.svg))
        assert pressed > 0.1
        assert good < 0.005
        assert slack < 0.005

    @pytest.mark.parametrize(("panel", "play"), [(1, 0.2), (2, 2 * 0.9 * 0.36397)])
    def test_the_play_is_all_on_the_right_of_the_drivers_tooth(self, panel, play):
        """Moved to the left it runs into the driven at once; to the right once the play is used up."""
        driver, driven = panels(self.svg)[panel]

        def overlap(dx: float) -> float:
            return affinity.translate(driver, dx, 0).intersection(driven).area

        assert overlap(-0.1) > 0.02
        assert overlap(0.9 * play) < 0.005
        assert overlap(1.25 * play + 0.05) > 0.01

    def test_the_table_says_the_distances(self):
        """40 and 80 of module 1.25 touch at 75 mm; 0.2 mm of backlash at 20° takes 0.275 mm."""
        rows = mesh_closeups(INCH).table
        assert [row["centres apart"] for row in rows] == ["74.85 mm", "75.27 mm", "75.9 mm"]
        assert {row["touching at"] for row in rows} == {"75 mm"}
        assert [row["backlash"] for row in rows] == ["0 mm", "0.2 mm", "0.66 mm"]

    def test_an_open_mesh_counts_its_backlash_from_where_the_teeth_touch(self):
        assert mesh_closeups(INCH).table[2]["mesh"] == "open: 0.66 mm of backlash"  # 2 · 0.9 mm · tan 20°

    @pytest.mark.parametrize("gears", [(40, 80), (20, 127), (12, 20)])
    def test_words_do_not_overlap(self, gears):
        assert boxes_on_each_other(mesh_closeups(INCH, *gears).svg) == []

    @in_one(
        "wrong",
        [
            {"one": 0},
            {"other": "x"},
            {"beyond_touching_mm": ()},
            {"beyond_touching_mm": (0,) * 4},
            {"beyond_touching_mm": (9,)},
            {"beyond_touching_mm": (float("nan"),)},
        ],
    )
    def test_nonsense_is_refused(self, wrong):
        with pytest.raises(GearcalcError):
            mesh_closeups(INCH, **wrong)
