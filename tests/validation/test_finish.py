"""The grooves of a rounded tool against figures that were computed apart, and against numerical integration."""

from __future__ import annotations

from fractions import Fraction
from math import asin, degrees, isclose, sqrt

import numpy as np
import pytest
from scipy.integrate import quad

from gearcalc.cutting.turning import finish
from tests.how_much import in_one
from tests.validation.published import rows

TABLE = rows("finish")
ANY = [(0.001, 0.2), (0.01, 0.8), (0.05, 0.4), (0.2, 0.8), (0.5, 0.5), (0.79, 0.4), (1.6, 0.8), (3.0, 6.0)]


def by_integration(f: float, r: float) -> float:
    """Ra of true arcs in µm, by quadrature of |height − mean| over one arc."""

    def height(x: float) -> float:
        return x * x / (r + sqrt(r * r - x * x))  # r − √(r² − x²), without losing digits

    mean = 2 / f * quad(height, 0, f / 2, epsabs=0, epsrel=1e-12)[0]
    crossing = sqrt(mean * (2 * r - mean))
    below = quad(lambda x: mean - height(x), 0, crossing, epsabs=0, epsrel=1e-11)[0]
    above = quad(lambda x: height(x) - mean, crossing, f / 2, epsabs=0, epsrel=1e-11)[0]
    return 1000 * 2 / f * (below + above)


class TestComputedTable:
    """Computed apart, no published figure."""

    @pytest.mark.parametrize("row", TABLE, ids=lambda row: f"f {row['feed_mm']}, r {row['nose_r_mm']}")
    def test_row(self, row):
        made = finish(Fraction(row["feed_mm"]), Fraction(row["nose_r_mm"]))
        assert float(row["Rt_f2/8r_um"]) == pytest.approx(made.usual_rt_um, abs=5.1e-5)
        assert float(row["Rt_exact_um"]) == pytest.approx(made.rt_um, abs=5.1e-5)
        assert float(row["Ra_f2/32r_um"]) == pytest.approx(made.usual_ra_um, abs=5.1e-5)
        assert float(row["Ra_f2/31.18r_um"]) == pytest.approx(made.parabola_ra_um, abs=5.1e-5)
        # That column was summed over points of the arc, good to two parts in ten thousand.
        assert float(row["Ra_integrated_um"]) == pytest.approx(made.ra_um, rel=2e-4)

    def test_there_are_rows(self):
        assert len(TABLE) == 4


class TestIntegration:
    @in_one(("f", "r"), ANY)
    def test_ra_of_true_arcs(self, f, r):
        assert by_integration(f, r) == pytest.approx(finish(f, r).ra_um, rel=1e-7)

    @in_one(("f", "r"), ANY)
    def test_by_many_points_of_the_arc(self, f, r):
        x = (np.arange(400_000) + 0.5) / 400_000 * f / 2
        heights = 1000 * (r - np.sqrt(r * r - x * x))
        made = finish(f, r)
        assert np.abs(heights - heights.mean()).mean() == pytest.approx(made.ra_um, rel=1e-5)
        assert heights.max() - heights.min() == pytest.approx(made.rt_um, rel=3e-3)

    def test_no_step_where_the_series_takes_over(self):
        # s = f / 2r = 0.01: both sides of the change against quadrature
        for f in (0.0199999, 0.0200001):
            assert by_integration(f, 1.0) == pytest.approx(finish(f, 1.0).ra_um, rel=1e-7)


class TestUsualFormulas:
    def test_the_usual_ra_is_a_hair_below_the_parabola(self):
        # 18 √3 = 31.177; 31.177 / 32 = 0.97428, so 2.6 per cent low
        made = finish(0.2, 0.8)
        assert isclose(made.usual_ra_um / made.parabola_ra_um, 18 * sqrt(3) / 32)
        assert pytest.approx(1 - made.usual_ra_um / made.parabola_ra_um, abs=5e-5) == 0.0257

    def test_arcs_meet_at_the_angle_whose_sine_is_half_the_feed_over_the_radius(self):
        assert degrees(asin(0.125)) == pytest.approx(finish(0.2, 0.8).edge_angle_deg)
