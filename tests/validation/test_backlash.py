"""Backlash against centre distance: computed exactly through the working pressure angle, and measured on outlines.

No published figure was to be had for these pairs; the exact column is a · (inv α′ − inv α) · 2, computed elsewhere.
"""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from shapely import Polygon

from gearcalc.fits.by_hand import MeshState, mesh_states
from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import gear_outline, meshing_angle_deg
from tests.benches import bench
from tests.how_much import THOROUGH, in_one
from tests.validation.cases import cases


def mesh_of(row: dict[str, str]) -> MeshState:
    """The pair of a row, as far apart as it says, on a lathe with such gears."""
    lathe = bench(module_mm=float(row["m"]), pressure_angle_deg=float(row["alpha"]))
    lathe = evolve(lathe, bracket=evolve(lathe.bracket, backlash_mm=0.0))
    apart = float(row["a"]) + float(row["delta_a_mm"])
    return mesh_states(lathe, Train((int(row["z1"]),), (int(row["z2"]),)), ((apart, 0.0), (0.0, 0.0)))[0]


class TestBacklashComputed:
    @in_one("row", cases("backlash", "delta_a_mm", "C"))
    def test_the_straight_rule_is_near_the_exact_one(self, row):
        backlash = mesh_of(row).backlash_mm
        assert backlash == pytest.approx(float(row["j_approx_mm"]), abs=1e-5)
        assert backlash == pytest.approx(float(row["j_exact_mm"]), rel=0.032)

    @in_one("row", cases("backlash", "delta_a_mm", "C")[:: 1 if THOROUGH else 2])
    def test_gears_drawn_so_far_apart_can_be_rocked_by_it(self, row):
        """The play is measured by turning one outline until it meets the other, either way."""
        teeth, mate, module, alpha = int(row["z1"]), int(row["z2"]), float(row["m"]), float(row["alpha"])
        apart = float(row["a"]) + float(row["delta_a_mm"])
        how = {"backlash_mm": 0.0, "flank_points": 50}
        still = Polygon(gear_outline(teeth, module, alpha, **how))
        middle = meshing_angle_deg(teeth, 0.0, mate, 0.0)

        def meets(turn_deg: float) -> bool:
            turned = gear_outline(mate, module, alpha, turned_deg=middle + turn_deg, centre_mm=(apart, 0.0), **how)
            return still.intersection(Polygon(turned)).area > 1e-9

        def free(way: int) -> float:
            low, high = 0.0, 90.0 / mate
            assert meets(way * high)
            for _ in range(20):
                half = (low + high) / 2
                low, high = (low, half) if meets(way * half) else (half, high)
            return low

        play = math.radians(free(1) + free(-1)) * module * mate / 2
        assert play == pytest.approx(float(row["j_exact_mm"]), rel=0.06, abs=0.001)


class TestStripOfPaper:
    def test_a_strip_pinched_on_both_flanks_leaves_twice_its_thickness_along_the_line_of_action(self):
        """0.1 mm on each flank, square to it: 0.2 mm along the line of action, over cos α along the pitch circle."""
        strip, alpha = 0.1, math.radians(20)
        spread = 2 * strip / math.cos(alpha) / (2 * math.tan(alpha))  # of the centres, from j = 2·Δa·tan α
        mesh = mesh_of({"m": "1", "z1": "40", "z2": "60", "alpha": "20", "a": "50", "delta_a_mm": str(spread)})
        assert mesh.backlash_mm == pytest.approx(0.2128, abs=1e-4)
