"""Exact means exact: orderings against 60 digits of mpmath, ratios and leads against independent arithmetic."""

from __future__ import annotations

import html
import re
from collections import Counter
from fractions import Fraction
from itertools import pairwise

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics import markup, writing
from gearcalc.basics.exact import Exact, PiMultiple, RelativeError, parse_number
from gearcalc.finding.setups import setup
from gearcalc.lathes import GearSet, Lathe, Leadscrew, Lever, SpindleSide
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.threads import Thread, nearest_threads, standard_threads
from tests.strategies import exact_numbers, fractions, lathes, pi_multiples, positive_fractions, trains

near_pi = st.integers(1, 10**7).map(lambda bottom: Fraction(round(mpmath.pi * bottom), bottom))
leads = st.one_of(positive_fractions, near_pi)


def digits60(x: Exact | int) -> mpmath.mpf:
    with mpmath.workdps(60):
        if isinstance(x, PiMultiple):
            return mpmath.pi * x.coefficient.numerator / x.coefficient.denominator
        fraction = Fraction(x)
        return mpmath.mpf(fraction.numerator) / fraction.denominator


def miss60(miss: RelativeError) -> mpmath.mpf:
    with mpmath.workdps(60):
        return digits60(miss.cut) / digits60(miss.wanted) - 1


class TestPiMultiple:
    @given(st.fractions(-1000, 1000, max_denominator=10**4).map(PiMultiple), st.one_of(fractions, near_pi))
    def test_order_against_mpmath(self, multiple, other):
        with mpmath.workdps(60):
            mine, theirs = digits60(multiple), digits60(other)
        assert (multiple < other) == (mine < theirs)
        assert (multiple > other) == (mine > theirs)
        assert (other < multiple) == (theirs < mine)
        assert (multiple == other) == (multiple.coefficient == 0 == other)

    @given(pi_multiples, pi_multiples, near_pi)
    def test_order_against_another_and_near_misses(self, one, other, close):
        assert (one < other) == (one.coefficient < other.coefficient)
        assert (one < close * one.coefficient) == (digits60(PiMultiple(Fraction(1))) < digits60(close))

    @given(pi_multiples, positive_fractions)
    def test_times_and_divided_by_go_back(self, multiple, factor):
        assert multiple * factor / factor == multiple
        assert multiple * factor / multiple == factor
        assert float(multiple) == pytest.approx(float(digits60(multiple)), rel=1e-15)


class TestRelativeError:
    misses = st.builds(RelativeError, leads, exact_numbers)

    @given(misses, misses)
    def test_order_against_mpmath(self, one, other):
        with mpmath.workdps(60):
            mine, theirs = abs(miss60(one)), abs(miss60(other))
            apart = abs(mine - theirs) > mpmath.mpf(10) ** -50
        if apart:
            assert (one < other) == (mine < theirs)
            assert (one > other) == (mine > theirs)
        assert (one < other) + (one == other) + (one > other) == 1

    @given(st.lists(misses, max_size=8))
    def test_order_is_total(self, several):
        ordered = sorted(several)
        assert all(a <= b for a, b in pairwise(ordered))
        assert sorted(several + several) == sorted(ordered + ordered)
        assert len({*several}) == len([a for i, a in enumerate(several) if a not in several[:i]])

    @given(positive_fractions, st.fractions(Fraction(1, 10**6), Fraction(1, 2), max_denominator=10**6))
    def test_as_far_above_as_below_is_equal(self, wanted, share):
        above, below = RelativeError(wanted * (1 + share), wanted), RelativeError(wanted * (1 - share), wanted)
        assert above == below
        assert hash(above) == hash(below)
        assert above.ppm == -below.ppm

    @given(misses)
    def test_ppm_to_the_last_digit(self, miss):
        assert miss.ppm == pytest.approx(float(miss60(miss) * 10**6), rel=1e-15, abs=0)
        assert miss.is_exact == (miss.exact == 0)


class TestTrain:
    @given(trains())
    def test_drivers_and_driven_exchanged_is_the_inverse(self, train):
        assert train.ratio * Train(train.driven, train.drivers).ratio == 1

    @given(trains(), st.randoms())
    def test_order_of_meshes_and_idlers_leave_the_ratio_alone(self, train, random):
        drivers, driven = list(train.drivers), list(train.driven)
        random.shuffle(drivers)
        random.shuffle(driven)
        assert Train(drivers, driven).ratio == train.ratio

    @given(trains())
    def test_turns_against_a_walk_along_the_teeth(self, train):
        turns = Fraction(1)  # of the first driver, forward
        for mesh in train.chain():
            for one, other in pairwise(mesh):
                turns = -turns * one / other
        assert abs(turns) == train.ratio
        assert (turns > 0) == train.turns_the_same_way

    @given(trains(), trains(), trains())
    def test_cost_is_a_distance(self, one, other, third):
        assert places_that_differ(one, one) == 0
        assert places_that_differ(one, other) == places_that_differ(other, one)
        assert places_that_differ(one, third) <= places_that_differ(one, other) + places_that_differ(other, third)


class TestSetup:
    ratios = st.fractions(Fraction(1, 10), 10, max_denominator=50)

    @given(trains(3), ratios, ratios, positive_fractions.filter(lambda lead: lead <= 100))
    def test_lead_against_a_common_denominator(self, train, spindle, lever, leadscrew):
        lathe = Lathe(
            "A",
            Leadscrew(leadscrew),
            GearSet(train.gears),
            spindle_side=SpindleSide(spindle),
            gearbox=(Lever("x", lever),),
        )
        cut = setup(lathe, train.drivers, train.driven, "x", train.idlers)
        top, bottom = 1, 1
        for ratio in (leadscrew, spindle, lever):
            top, bottom = top * ratio.numerator, bottom * ratio.denominator
        for driver, driven in zip(train.drivers, train.driven, strict=True):
            top, bottom = top * driver, bottom * driven
        assert cut.lead_mm.numerator * bottom == cut.lead_mm.denominator * top

    @given(trains(2), st.sampled_from(standard_threads()))
    def test_error_against_mpmath(self, train, thread):
        lathe = Lathe("A", Leadscrew(3), GearSet(train.gears))
        cut = setup(lathe, train.drivers, train.driven, None, train.idlers, wanted=thread)
        with mpmath.workdps(60):
            expected = (digits60(cut.lead_mm) / digits60(thread.lead) - 1) * 10**6
        assert cut.error_ppm == pytest.approx(float(expected), rel=1e-12, abs=0)
        assert cut.is_exact == (cut.lead_mm == thread.lead)


LEADS = {thread.lead for thread in standard_threads()}


class TestNearestThreads:
    @given(st.fractions(Fraction(1, 5), 10, max_denominator=2000), st.integers(0, 20_000))
    def test_against_every_thread_there_is(self, lead, within):
        found = nearest_threads(lead, within)
        with mpmath.workdps(60):
            by_lead = {each: abs(digits60(lead) / digits60(each) - 1) * 10**6 for each in LEADS}
            off = {thread: by_lead[thread.lead] for thread in standard_threads()}
            sizes = [off[thread] for thread in found]
            assert all(a <= b or abs(a - b) < 1e-40 for a, b in pairwise(sizes))
            assert {*found} == {thread for thread, size in off.items() if size <= within or abs(size - within) < 1e-40}


class TestWithGears:
    @given(lathes(), st.lists(st.integers(12, 127), max_size=4))
    def test_added_and_taken_away_is_as_before(self, lathe, gears):
        more = lathe.with_gears(add=gears)
        assert Counter(more.gears) == Counter(lathe.gears) + Counter(gears)
        assert more.with_gears(remove=gears) == lathe


class TestWriting:
    @given(st.text(max_size=60))
    def test_words_come_back_out_of_html(self, words):
        shown = re.sub(
            r"<span>([$\\])</span>", r"\1", markup.plain(words).html
        )  # set apart, so that nothing is typeset
        assert html.unescape(shown) == html.unescape(html.unescape(html.escape(words)))
        assert not set(shown) & set("<>\"'")

    @given(st.text(max_size=60))
    def test_latex_words_hold_no_live_sign(self, words):
        latex = markup.plain(words).latex
        inside = "".join(re.findall(r"\\text\{([^{}\\$&#%_^~]*)\}", latex))
        assert inside == re.sub(r"[\\{}$&#%_^~]", "", words)
        rest = re.sub(r"\\text\{[^{}]*\}", "", latex)
        assert re.fullmatch(r"(?:\{\\backslash\}|\\[{}$&#%_]|\{\\wedge\}|\{\\sim\})*", rest)

    @given(fractions, st.integers(0, 12))
    def test_decimal_is_within_half_of_its_last_place(self, x, places):
        shown = writing.decimal(x, places)
        assert abs(Fraction(shown.replace("−", "-")) - x) <= Fraction(1, 2 * 10**places)
        assert shown not in ("−0", "-0")

    @given(positive_fractions)
    def test_number_loses_nothing(self, x):
        assert parse_number(writing.number(x).text) == x

    @given(lathes())
    def test_a_lathe_shows_nothing_live(self, lathe):
        shown = lathe._repr_html_()
        tags = re.findall(r"<[^>]*>", shown)
        assert {re.split(r"[ >]", tag.strip("</"))[0] for tag in tags} <= {
            "table",
            "caption",
            "tbody",
            "tr",
            "th",
            "td",
            "p",
            "small",
            "span",
        }
        assert {tag for tag in tags if "span" in tag} <= {"<span>", "</span>"}

    @given(st.sampled_from(standard_threads()))
    def test_a_thread_shows_both_units(self, thread):
        assert "mm" in thread._repr_html_()
        assert "tpi" in thread._repr_html_()


class TestThreadText:
    @given(st.sampled_from([it for it in standard_threads() if isinstance(it.pitch, PiMultiple)]), st.integers(1, 4))
    def test_module_and_diametral_pitch_are_the_same_worm(self, thread, starts):
        again = Thread.parse(f"DP {25.4 / float(thread.pitch.coefficient):.6f} {starts} starts")
        assert float(again.lead) == pytest.approx(float(thread.lead) * starts, rel=1e-5)
