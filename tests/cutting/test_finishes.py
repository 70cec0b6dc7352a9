"""Finish from feed and nose radius: what is taken for a feed, what is refused, and the coarsest feed for a finish."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.turning import feed_for_finish, finish
from gearcalc.finding.setups import setup
from gearcalc.lathes import demo_lathe
from gearcalc.threads import Feed

NOT_NUMBERS = (float("nan"), float("inf"), None, "x", True, [1], 10**400)


class TestFinish:
    @pytest.mark.parametrize("feed", [0.2, "0.2", Fraction(1, 5), "0.2 mm/rev", "0.2 mm/rev cross", Feed("0.2")])
    def test_whatever_says_a_fifth_of_a_millimetre(self, feed):
        # by hand: 0.2² / (8 · 0.8) = 0.00625
        assert finish(feed, "0.8").usual_rt_um == 6.25

    def test_a_setup_counts_with_what_its_gears_give(self):
        # 3 mm · 20/60 · 1/4 = 0.25 mm by the half-nuts, by the feed drive a sixth of it
        train = (demo_lathe("metric"), 20, 60, "slow")
        assert finish(setup(*train, wanted="0.05 mm/rev"), 1).feed_mm == Fraction(1, 24)
        assert finish(setup(*train), 1).feed_mm == Fraction(1, 4)

    def test_the_widest_feed_leaves_half_circles(self):
        made = finish(2, 1)
        assert made.rt_um == 1000.0
        assert made.edge_angle_deg == 90.0
        # A half circle of radius 1 lies π/4 of its radius high on average; Ra from |√(1−x²) − π/4| by Simpson's rule.
        steps = 200_000
        heights = [sqrt(1 - ((n + 0.5) / steps) ** 2) for n in range(steps)]
        mean = sum(heights) / steps
        assert 1000 * sum(abs(height - mean) for height in heights) / steps == pytest.approx(made.ra_um, rel=1e-5)

    @pytest.mark.parametrize("wrong", [0, -0.8, 1001, *NOT_NUMBERS])
    def test_no_nose(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="nose radius"):
            finish(0.1, wrong)

    def test_a_sharp_point_is_told_what_to_do(self):
        with pytest.raises(ValueOutOfRangeError, match="small radius with a stone"):
            finish(0.1, 0)

    @pytest.mark.parametrize("wrong", [0, -0.1, 101, *NOT_NUMBERS, PiMultiple(Fraction(1))])
    def test_no_feed(self, wrong):
        with pytest.raises((ValueOutOfRangeError, ThreadTextError)):
            finish(wrong, 200)

    def test_wider_than_the_nose(self):
        with pytest.raises(ValueOutOfRangeError, match=r"1\.61 mm is wider than the whole nose, .* 1\.6 mm across"):
            finish(1.61, 0.8)

    @pytest.mark.parametrize(("feed", "remarks"), [(0.4, 1), (0.41, 2)])
    def test_more_than_half_the_radius_is_remarked_on(self, feed, remarks):
        assert len(finish(feed, 0.8).notes) == remarks

    def test_it_shows_both_units(self):
        # 6.2746 µm / 25.4 = 0.24703 thousandths; 247 µin
        shown = finish(0.2, 0.8)._repr_html_()
        assert "6.27 µm (247 µin)" in shown.replace("\u202f", " ")
        assert "7.87" in shown  # thou in 0.2 mm

    def test_nothing_is_called_nothing(self):
        assert "Ra less than 0.001 µm (less than 0.1 µin)" in str(finish(0.001, 10))


class TestFeedForFinish:
    @given(
        nose=st.fractions("0.05", "10", max_denominator=100),
        most=st.fractions("0.05", "50", max_denominator=20),
        which=st.sampled_from(["ra_um", "rt_um"]),
    )
    def test_it_does_and_a_micrometre_more_would_not(self, nose, most, which):
        feed = feed_for_finish(nose, **{which: most}).travel_mm
        assert getattr(finish(feed, nose), which) <= most
        coarser = feed + Fraction(1, 1000)
        assert coarser > 2 * nose or getattr(finish(coarser, nose), which) > most

    def test_rt_by_hand(self):
        # true arcs: (f/2)² = 2 r Rt − Rt²; r = 0.8, Rt = 0.01: f = 2 √(0.016 − 0.0001) = 0.25219...
        assert feed_for_finish(0.8, rt_um=10).travel_mm == Fraction(252, 1000)

    def test_no_feed_is_fine_enough(self):
        with pytest.raises(NotPossibleError, match="ground or lapped"):
            feed_for_finish(0.1, rt_um=Fraction(1, 10**6))

    @pytest.mark.parametrize("both", [{}, {"ra_um": 1, "rt_um": 4}])
    def test_one_of_the_two(self, both):
        with pytest.raises(ValueOutOfRangeError, match="one of the two"):
            feed_for_finish(0.8, **both)

    @pytest.mark.parametrize("wrong", [0, -1, 10_001, *(n for n in NOT_NUMBERS if n is not None)])
    def test_no_roughness(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            feed_for_finish(0.8, ra_um=wrong)
