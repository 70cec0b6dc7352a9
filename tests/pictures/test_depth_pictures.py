"""The sharp triangle of a thread, measured in the drawing against the standard's own figures."""

from __future__ import annotations

import re

import pytest

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.pictures import sharp_triangle


class TestSharpTriangle:
    """ISO 68-1: H = 0.866025 P, an eighth of it cut off above, a root of H/6; so 17/24 H deep."""

    def test_its_figures_for_m10(self):
        (row,) = sharp_triangle(gc.thread_depth("M10")).table
        assert list(row.values()) == ["M10x1.5", "1.5 mm", "1.299 mm", "0.162 mm", "0.217 mm", "0.92 mm"]

    @pytest.mark.parametrize("radius", [None, "0.05", "0.1"])
    def test_the_arc_touches_both_flanks_where_the_depth_says(self, radius):
        """By the drawing alone: P is 252 / 0.866 px, and the arc's bottom as deep as the depth beside it."""
        depth = gc.thread_depth("M10", radius_mm=radius)
        drawn = sharp_triangle(depth).svg
        scale = 252 / 1.299038  # px to a mm
        across, *_ = re.findall(r"A([\d.]+) [\d.]+ 0 0 0 [\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)", drawn)
        r, touch, surface = map(float, across)
        bottom = touch + r * (1 - 0.5)  # the arc spans 60° to either side of straight down
        assert (bottom - surface) / scale == pytest.approx(depth.depth_mm, abs=0.002)

    @pytest.mark.parametrize(
        ("thread", "more"), [("Tr 40x7", {}), ("1/2 BSW", {}), ("M10", {"internal": True}), ("M10", {"flat_mm": 0.1})]
    )
    def test_another_form_is_refused(self, thread, more):
        with pytest.raises(NotPossibleError):
            sharp_triangle(gc.thread_depth(thread, **more))
