"""How near a gear set comes to any lead: against every train written out, dense sampling and numerical integration."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, pairwise
from math import prod

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.finding import coverage
from gearcalc.finding.coverage import Gap, _too_long, _too_short
from tests.how_much import examples, in_one
from tests.pictures.test_picture import Reader


def small_lathe(gears: list[int], levers: str = "", lead: str = "4 mm") -> gc.Lathe:
    return gc.Lathe.from_toml(
        f'name = "Invented for tests"\nleadscrew.lead = "{lead}"\n{levers}\n[gears]\nteeth = {gears}'
    )


def every_lead(gears: list[int], factors: list[Fraction], meshes: tuple[int, ...]) -> list[Fraction]:
    """All leads, by writing out every choice of drivers and driven gears, equal ones on both sides too."""
    leads = set()
    for m in meshes:
        for drivers in set(combinations(sorted(gears), m)):
            left = list((Counter(gears) - Counter(drivers)).elements())
            for driven in set(combinations(sorted(left), m)):
                ratio = Fraction(prod(drivers), prod(driven))
                leads |= {ratio * factor for factor in factors}
    return sorted(leads)


def worst_by_ends_and_middles(leads: list[Fraction], start: Fraction, end: Fraction) -> Fraction:
    """The error is largest at an end of the range or half-way between neighbours: all of these, plainly."""
    points = {start, end} | {middle for a, b in pairwise(leads) if start <= (middle := (a + b) / 2) <= end}
    return max(min(abs(lead - point) for lead in leads) / point for point in points)


class TestAgainstEveryTrain:
    @in_one(("start", "end"), [(1, 2), (Fraction(1, 5), 6), (3, 3), (Fraction(1, 2), 40)])
    @in_one("meshes", [(1,), (2,), (1, 2)])
    def test_worst_and_count(self, start, end, meshes):
        gears = [20, 30, 30, 36, 45, 50, 64]
        leads = every_lead(gears, [Fraction(4)], meshes)
        found = gc.coverage(small_lathe(gears), start, end, meshes=meshes)
        assert found.worst.error == worst_by_ends_and_middles(leads, Fraction(start), Fraction(end))
        assert found.inside == sum(start <= lead <= end for lead in leads)
        assert min(abs(lead - found.at_mm) for lead in leads) / found.at_mm == found.worst.error

    def test_levers_and_the_spindle_side_count_in(self):
        gears = [20, 25, 40, 50]
        text = 'spindle_side.ratio = "1/2"\ngearbox = [{ lever = "a", ratio = "1" }, { lever = "b", ratio = "3/2" }]'
        leads = every_lead(gears, [Fraction(2), Fraction(3)], (1, 2))
        found = gc.coverage(small_lathe(gears, text), 1, 5)
        assert found.worst.error == worst_by_ends_and_middles(leads, Fraction(1), Fraction(5))

    @examples(100)
    @given(
        st.lists(st.integers(20, 60), min_size=3, max_size=6)
        | st.lists(st.sampled_from([20, 30, 40]), min_size=1, max_size=6),
        st.fractions(Fraction(1, 2), 8, max_denominator=50),
        st.fractions(1, 4, max_denominator=50),
        st.sets(st.integers(1, 3), min_size=1),
    )
    def test_any_set_and_range(self, gears, start, times, meshes):
        leads = every_lead(gears, [Fraction(4)], meshes)
        if not leads:
            with pytest.raises(NotPossibleError):
                gc.coverage(small_lathe(gears), start, start * times, meshes)
            return
        found = gc.coverage(small_lathe(gears), start, start * times, meshes)
        assert found.worst.error == worst_by_ends_and_middles(leads, start, start * times)
        below, above = found.worst.below_mm, found.worst.above_mm
        assert below == max((lead for lead in leads if lead <= found.at_mm), default=None)
        assert above == min((lead for lead in leads if lead >= found.at_mm), default=None)


class TestAgainstSampling:
    def test_no_sample_is_worse_and_the_mean_is_the_integral(self):
        lathe = gc.demo_lathe("inch")
        found = gc.coverage(lathe, Fraction(1, 2), 4)
        factors = [lathe.leadscrew_lead_mm * ratio for ratio in lathe.levers.values()]
        leads = np.array([float(lead) for lead in every_lead(list(lathe.gears), factors, (1, 2))])
        wanted = np.exp(np.linspace(np.log(0.5), np.log(4), 400_001))
        place = np.searchsorted(leads, wanted).clip(1, len(leads) - 1)
        errors = np.minimum(np.abs(leads[place] - wanted), np.abs(leads[place - 1] - wanted)) / wanted * 1e6
        assert errors.max() <= found.worst_ppm * (1 + 1e-9)
        assert errors.max() > found.worst_ppm * 0.99
        assert found.mean_ppm == pytest.approx(errors.mean(), rel=2e-3)

    def test_mean_of_one_gap_by_hand(self):
        # Leads 2 and 8 only; from 2 to 8 mm the border is at 5:
        # the integral of (x − 2)/x² is ln 2.5 − 0.6, that of (8 − x)/x² is 0.6 − ln 1.6, over ln 4.
        found = gc.coverage(small_lathe([20, 40]), 2, 8)
        assert found.mean_ppm == pytest.approx(1e6 * (np.log(2.5) - np.log(1.6)) / np.log(4))
        assert found.worst_ppm == pytest.approx(600_000)
        assert found.at_mm == 5

    @pytest.mark.parametrize(("start", "end"), [(Fraction(1, 10), 1), (20, 90), (3, 4), (6, 7), (4, 6)])
    def test_means_beyond_and_beside_the_leads(self, start, end):
        leads = np.array([2.0, 8.0])
        wanted = np.exp(np.linspace(np.log(float(start)), np.log(float(end)), 200_001))
        errors = np.abs(leads[:, None] - wanted).min(axis=0) / wanted * 1e6
        found = gc.coverage(small_lathe([20, 40]), start, end)
        assert found.mean_ppm == pytest.approx(errors.mean(), rel=1e-4)
        assert found.worst_ppm == pytest.approx(errors.max(), rel=1e-6)

    @pytest.mark.parametrize("meshes", [1, (1, 2)])
    def test_a_range_listed_in_parts_that_meet_at_leads_has_each_of_them_once(self, monkeypatch, meshes):
        lathe = small_lathe([20, 25, 30, 40, 50])
        leads = gc.coverage(lathe, 1, 16, meshes).leads_mm
        monkeypatch.setattr(coverage, "_cuts", lambda start, end, parts: [start, *leads[1:-1:2], end])
        assert gc.coverage(lathe, 1, 16, meshes).leads_mm == leads

    @in_one("u", [1e-9, 1e-6, 1e-4, 0.9e-3, 0.999e-3, 1.001e-3, 1e-2, 0.5, 3])
    def test_the_two_halves_of_a_gap_to_forty_digits(self, u):
        """Narrow ones are summed by a series, wide ones by logarithms; mpmath needs no such care."""
        with mpmath.workdps(60):
            exact = mpmath.mpf(u)
            long, short = mpmath.log1p(exact) - exact / (1 + exact), exact - mpmath.log1p(exact)
            assert abs(_too_long(u) / long - 1) < 3e-12
            assert abs(_too_short(u) / short - 1) < 3e-12

    def test_a_gap_so_narrow_that_rounding_would_show(self):
        # 0.1 % apart: the mean of |error| over both halves is a quarter of the gap, to the first order.
        lathe = small_lathe([999, 1000, 500], lead="2 mm")
        found = gc.coverage(lathe, Fraction(999, 250), 4, meshes=1)
        assert found.mean_ppm == pytest.approx(250.2, abs=0.2)


class TestWhatItShows:
    def test_in_words(self):
        said = str(gc.coverage(small_lathe([20, 40]), 2, 8))
        assert "2 different leads from 2 mm to 8 mm" in said
        assert "1 lead from 2 mm to 7 mm" in str(gc.coverage(small_lathe([20, 40]), 2, 7))
        assert "a lead of 5 mm" in said
        assert "600\u202f000 ppm" in said

    def test_it_says_in_short_what_it_is_and_lists_no_leads(self):
        assert "leads" not in repr(gc.coverage(small_lathe([20, 40]), 2, 8))

    def test_as_a_table(self):
        page = gc.coverage(small_lathe([20, 40]), 2, 8)._repr_html_()
        assert page.count("<tr>") == 7
        assert "those too that may not go on" in page

    def test_the_widest_gaps_come_in_order(self):
        found = gc.coverage(gc.demo_lathe("inch"), 1, 2)
        widest = found.widest(10)
        assert widest[0] == found.worst
        assert [gap.error for gap in widest] == sorted((gap.error for gap in widest), reverse=True)

    def test_a_gap_that_is_the_first_and_the_last_is_said_once(self):
        # 20/40, 40/20 and 40/40 of 4 mm: at 4 mm itself, and near it.
        found = gc.coverage(small_lathe([20, 40, 40]), 4, 4)
        assert [(gap.at_mm, gap.error) for gap in found.widest()] == [(4, 0)]

    def test_floats_for_a_picture_are_the_gaps_in_their_order(self):
        found = gc.coverage(small_lathe([20, 30, 36, 45, 64]), 1, 20)
        assert [*found.gaps_about()] == [pytest.approx((float(gap.at_mm), gap.ppm)) for gap in found.gaps()]
        for at_mm in (1, 1.5, 2, 6.4, 20):
            nearest = min(abs(lead - Fraction(at_mm)) for lead in found.leads_mm)
            assert found.off_ppm(at_mm) == pytest.approx(float(nearest / Fraction(at_mm)) * 1e6)

    def test_leads_whose_products_no_float_holds_are_told_apart(self):
        # Four meshes of large gears: products near 10^12, and two of them may differ by one part in 10^24.
        gears = [991, 992, 993, 994, 995, 996, 997, 998, 999]
        leads = every_lead(gears, [Fraction(4)], (4,))
        found = gc.coverage(small_lathe(gears), 3, 5, meshes=4)
        assert found.inside == len(leads)
        assert set(found.leads_mm) <= set(leads)
        assert found.worst.error == worst_by_ends_and_middles(leads, Fraction(3), Fraction(5))

    def test_a_lead_that_is_cut_exactly_has_no_error(self):
        found = gc.coverage(small_lathe([20, 40]), 2, 2)
        assert found.worst_ppm == found.mean_ppm == 0
        assert "0 ppm from the nearest" in str(found)


def gap_at(leads: list[Fraction], at: Fraction) -> Gap:
    """The neighbours of a lead, and how far off the nearer one is."""
    below = max((lead for lead in leads if lead <= at), default=None)
    above = min((lead for lead in leads if lead >= at), default=None)
    return Gap(below, above, at, min(abs(lead / at - 1) for lead in leads))


class TestEveryGap:
    """Gap by gap from the start of the range to its end, against the leads written out."""

    GEARS = (20, 24, 30, 36, 45, 64)
    RANGES = (
        *((1, 4), (Fraction(1, 10), 1), (4, 4), (5, 60), (Fraction(8, 3), Fraction(16, 3)), (20, 1000), (3, 5)),
        # beside 4 mm, which two equal gears would cut; and just above the shortest lead, just below the longest
        *((Fraction(41, 10), 5), (3, Fraction(39, 10)), (Fraction(13, 10), 2), (10, Fraction(127, 10))),
    )

    @in_one("bounds", RANGES)
    @in_one("meshes", [(1,), (1, 2)])
    def test_they_are_those_of_the_leads(self, bounds, meshes):
        start, end = map(Fraction, bounds)
        leads = every_lead([*self.GEARS], [Fraction(4)], meshes)
        found = gc.coverage(small_lathe([*self.GEARS]), start, end, meshes)
        first, last = (min(range(len(leads)), key=lambda n, at=at: (abs(leads[n] - at), n)) for at in (start, end))
        serving = leads[first : last + 1]
        assert list(found.leads_mm) == serving
        middles = [(low + high) / 2 for low, high in pairwise(serving)]
        expected = [gap_at(leads, at) for at in (start, *middles, end)]
        assert [*found.gaps()] == expected
        assert [*found.gaps_about()] == [(pytest.approx(float(gap.at_mm)), pytest.approx(gap.ppm)) for gap in expected]
        worst_first = sorted({*expected}, key=lambda gap: (-gap.error, gap.at_mm))
        for count in (0, 1, 2, 5, len(expected), len(expected) + 1):
            assert found.widest(count) == worst_first[:count]
        assert found.widest() == worst_first[:5]
        assert (found.worst, found.at_mm, found.worst_ppm) == (worst_first[0], worst_first[0].at_mm, worst_first[0].ppm)
        assert found.below_mm == max((lead for lead in leads if lead < start), default=None)
        assert found.above_mm == min((lead for lead in leads if lead > end), default=None)

    @in_one("lead_mm", [Fraction(1), Fraction(27, 10), Fraction(79, 20), Fraction(4)])
    def test_how_far_off_one_lead_is(self, lead_mm):
        leads = every_lead([*self.GEARS], [Fraction(4)], (1, 2))
        found = gc.coverage(small_lathe([*self.GEARS]), 1, 4)
        expected = float(min(abs(lead / lead_mm - 1) for lead in leads) * 10**6)
        assert found.off_ppm(lead_mm) == pytest.approx(expected, abs=1e-6)

    @in_one("lead_mm", [Fraction(1, 10), Fraction(1, 2), Fraction(2), Fraction(3), Fraction(8), Fraction(20)])
    def test_or_one_beyond_all_that_is_cut(self, lead_mm):
        found = gc.coverage(small_lathe([20, 40]), Fraction(1, 10), 20)
        expected = float(min(abs(2 / lead_mm - 1), abs(8 / lead_mm - 1)) * 10**6)
        assert found.off_ppm(lead_mm) == pytest.approx(expected, abs=1e-6)

    def test_of_gaps_as_wide_the_lowest_comes_first(self):
        # 1/2, 1 and 2 times 4 mm: both gaps are a third of what lies in their middle.
        found = gc.coverage(small_lathe([20, 40, 40]), 2, 8, meshes=1)
        assert [(gap.at_mm, gap.error) for gap in found.widest(2)] == [(3, Fraction(1, 3)), (6, Fraction(1, 3))]

    def test_of_two_as_near_the_lower_serves(self):
        assert gc.coverage(small_lathe([20, 40]), 5, 5).leads_mm == (Fraction(2),)
        assert gc.coverage(small_lathe([20, 40]), "5.001", "5.001").leads_mm == (Fraction(8),)


class TestEveryCell:
    def test_in_millimetres(self):
        page = gc.coverage(small_lathe([20, 40]), 2, 8)._repr_html_()
        assert Reader(page).plain_cells() == [
            *("range", "2 mm to 8 mm", "different leads in it", "2", "worst error", "600 000 ppm"),
            *("for a lead of", "5 mm (5.08 tpi)", "mean error", "321 928 ppm"),
            *("nearest below it", "2 mm (12.7 tpi)", "nearest above it", "8 mm (3.175 tpi)"),
        ]
        assert "All trains of 1 or 2 meshes from these gears count, those too that may not go on." in page
        assert ">Coverage of Invented for tests<" in page

    def test_in_inches_and_where_nothing_lies_below(self):
        lathe = small_lathe([20, 40], lead="8 tpi")
        found = gc.coverage(lathe, Fraction(127, 160), Fraction(127, 80), meshes=1)
        assert Reader(found._repr_html_()).plain_cells() == [
            *("range", "32 tpi (0.79375 mm) to 16 tpi (1.5875 mm)", "different leads in it", "1"),
            *("worst error", "1 000 000 ppm", "for a lead of", "32 tpi (0.79375 mm)", "mean error", "442 695 ppm"),
            *("nearest below it", "none", "nearest above it", "16 tpi (1.5875 mm)"),
        ]
        assert str(found) == (
            "Invented for tests, 1 mesh: 1 lead from 32 tpi (0.79375 mm) to 16 tpi (1.5875 mm). Worst off is a lead of "
            "32 tpi (0.79375 mm), 1\u202f000\u202f000 ppm from the nearest; on average 442\u202f695 ppm."
        )


class TestRefusals:
    @in_one(
        ("arguments", "said"),
        [
            (("0.000999", 1), "lead_from_mm must be from 0.001 to 1000 mm, not '0.000999'."),
            ((1, "1000.001"), "lead_to_mm must be from 0.001 to 1000 mm, not '1000.001'."),
            ((2, 1), "a range must begin with the smaller lead, not 2. Give the smaller lead first."),
        ],
    )
    def test_word_for_word(self, arguments, said):
        with pytest.raises(ValueOutOfRangeError) as caught:
            gc.coverage(small_lathe([20, 40]), *arguments)
        assert str(caught.value) == said

    @in_one(("lead_mm", "read"), [(0, False), (-1, False), (10**6, True), (10**6 + 1, False), ("x", False)])
    def test_a_lead_to_ask_about(self, lead_mm, read):
        found = gc.coverage(small_lathe([20, 40]), 1, 2)
        for ask in (found.said, found.off_ppm):
            if read:
                assert ask(lead_mm)
                continue
            with pytest.raises(ValueOutOfRangeError, match="lead_mm"):
                ask(lead_mm)

    @in_one("count", [-1, 1.5, None])
    def test_so_many_gaps(self, count):
        with pytest.raises(ValueOutOfRangeError, match="count"):
            gc.coverage(small_lathe([20, 40]), 1, 2).widest(count)

    def test_as_many_pairs_of_products_as_may_be_and_one_more(self, monkeypatch):
        # Three gears, all different: 3 products on either side, and two levers.
        levers = 'gearbox = [{ lever = "a", ratio = "1" }, { lever = "b", ratio = "3/2" }]'
        lathe = small_lathe([20, 30, 50], levers)
        monkeypatch.setattr(coverage, "_MOST_PAIRS", 3 * 3 * 2)
        assert gc.coverage(lathe, 1, 2, meshes=1).inside
        monkeypatch.setattr(coverage, "_MOST_PAIRS", 3 * 3 * 2 - 1)
        with pytest.raises(NotPossibleError, match="with 3 gears there are too many trains to list"):
            gc.coverage(lathe, 1, 2, meshes=1)

    @in_one("pairs", [1, 2, 7, 50])
    def test_a_range_in_parts_is_the_range_in_one(self, pairs):
        lathe = small_lathe([20, 24, 30, 36, 45, 64])
        whole = gc.coverage(lathe, 1, 9)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(coverage, "_PAIRS_AT_ONCE", pairs)
            parts = gc.coverage(lathe, 1, 9)
        assert (parts.leads_mm, parts.inside, parts.worst) == (whole.leads_mm, whole.inside, whole.worst)

    def test_a_lead_where_the_range_is_cut_in_two_counts_once(self, monkeypatch):
        # 2 × 2 pairs of products, so two parts; from 1 to 4 they meet at 2 mm, which 20/40 of 4 mm is.
        monkeypatch.setattr(coverage, "_PAIRS_AT_ONCE", 4)
        found = gc.coverage(small_lathe([20, 40]), 1, 4, meshes=1)
        assert (found.inside, found.leads_mm) == (1, (Fraction(2),))

    @in_one(("start", "end"), [(0, 2), (-1, 2), (2, 1), ("a", 2), (1, None), (1, 10**6), (float("nan"), 2)])
    def test_ranges_that_are_none(self, start, end):
        with pytest.raises(ValueOutOfRangeError):
            gc.coverage(gc.demo_lathe("inch"), start, end)

    def test_the_ends_of_what_is_allowed_are_allowed(self):
        assert gc.coverage(small_lathe([20, 40]), "0.001", 1000).inside == 2

    @in_one("meshes", [0, 5, (), "two", (1, 2.5), True])
    def test_meshes_that_are_none(self, meshes):
        with pytest.raises(ValueOutOfRangeError):
            gc.coverage(gc.demo_lathe("inch"), 1, 2, meshes=meshes)

    def test_no_gears(self):
        with pytest.raises(NotPossibleError, match="no train"):
            gc.coverage(small_lathe([]), 1, 2)

    def test_far_too_many_gears(self):
        with pytest.raises(NotPossibleError, match="too many"):
            gc.coverage(small_lathe(list(range(20, 120))), 1, 2)

    def test_what_is_no_lathe(self):
        with pytest.raises(ValueOutOfRangeError, match="a lathe is wanted"):
            gc.coverage("inch", 1, 2)  # type: ignore[arg-type]
