"""What must hold of any pitch error, any length and any thread that has a tolerance."""

from __future__ import annotations

from fractions import Fraction
from math import isclose

from hypothesis import assume, given
from hypothesis import strategies as st

from gearcalc.threads import standard_threads
from gearcalc.threads.deviations import deviation_um, judge
from gearcalc.threads.tolerances import pitch_diameter_limits, pitch_diameter_tolerance, tolerance_standard
from tests.how_much import in_one

JUDGED = [thread for thread in standard_threads() if judge(thread, 1).ok is not None]
UNIFIED = [thread for thread in JUDGED if tolerance_standard(thread) == "ASME B1.1"]
METRIC = [thread for thread in JUDGED if tolerance_standard(thread) == "ISO 965-1"]

threads = st.sampled_from(JUDGED)
errors = st.floats(-1e6, 1e6).filter(lambda ppm: ppm == 0 or abs(ppm) > 1e-6)
lengths = st.floats(0.01, 1000)
shares = st.floats(0.001, 1)
factors = st.integers(1, 1000)


def test_there_is_something_to_judge():
    assert len(UNIFIED) > 50
    assert len(METRIC) > 80


class TestDeviationUm:
    @given(errors, lengths)
    def test_the_sign_is_that_of_the_error(self, ppm, mm):
        assert deviation_um(-ppm, mm) == -deviation_um(ppm, mm)
        assert (deviation_um(ppm, mm) > 0) == (ppm > 0)

    @given(errors, lengths, factors)
    def test_grows_with_the_length(self, ppm, mm, times):
        assert isclose(deviation_um(ppm, mm * times), deviation_um(ppm, mm) * times, rel_tol=1e-9)


class TestJudge:
    @given(threads, errors, lengths)
    def test_either_way_is_the_same(self, thread, ppm, mm):
        long, short = judge(thread, ppm, mm), judge(thread, -ppm, mm)
        assert (long.ok, long.share_used, long.allowed_ppm) == (short.ok, short.share_used, short.allowed_ppm)

    @given(threads, errors, lengths, factors)
    def test_share_is_proportional_to_the_error(self, thread, ppm, mm, times):
        once, more = judge(thread, ppm, mm), judge(thread, ppm * times, mm)
        assert isclose(more.share_used, once.share_used * times, rel_tol=1e-9)

    @given(threads, errors, lengths, factors)
    def test_share_is_proportional_to_the_length(self, thread, ppm, mm, times):
        once, more = judge(thread, ppm, mm), judge(thread, ppm, mm * times)
        assert isclose(more.share_used, once.share_used * times, rel_tol=1e-9)
        assert isclose(more.allowed_ppm * times, once.allowed_ppm, rel_tol=1e-9)

    @given(threads, lengths, shares)
    def test_allowed_ppm_uses_just_the_share(self, thread, mm, share):
        allowed = judge(thread, 1, mm, share).allowed_ppm
        at = judge(thread, allowed, mm, share)
        assert at.ok is True
        assert isclose(at.share_used, share, rel_tol=1e-9)
        assert isclose(at.allowed_ppm, allowed, rel_tol=1e-12)

    @given(threads, lengths, shares, st.floats(1e-9, 0.5))
    def test_the_verdict_turns_at_allowed_ppm(self, thread, mm, share, nudge):
        allowed = judge(thread, 1, mm, share).allowed_ppm
        for sign in (1, -1):
            assert judge(thread, sign * allowed * (1 - nudge), mm, share).ok is True
            assert judge(thread, sign * allowed * (1 + nudge), mm, share).ok is False

    @given(threads, errors, lengths)
    def test_words_agree_with_the_verdict(self, thread, ppm, mm):
        assume(ppm != 0)
        verdict = judge(thread, ppm, mm)
        assert ("fine for a fastener" in verdict.why) == verdict.ok
        assert ("too long" in verdict.why) == (ppm > 0)


def _grades(thread):
    return "45678" if thread.pitch_mm >= Fraction(4, 5) else "4567"  # ISO 965-1 begins grade 8 at 0.8 mm (from memory)


class TestLimits:
    @given(st.sampled_from(METRIC), st.sampled_from("45678"))
    def test_metric_limits_are_the_tolerance_apart(self, thread, grade):
        assume(grade in _grades(thread))
        for position in ("g", "h", "G", "H"):
            smallest, largest = pitch_diameter_limits(thread, grade + position)
            assert (largest - smallest) * 1000 == pitch_diameter_tolerance(thread, grade + position).um
            assert 0 < smallest < largest < thread.major_mm + 1

    @given(st.sampled_from(UNIFIED), st.sampled_from(["1A", "2A", "3A", "1B", "2B", "3B"]))
    def test_unified_limits_are_the_tolerance_apart_but_for_the_rounding(self, thread, name):
        smallest, largest = pitch_diameter_limits(thread, name)
        width = pitch_diameter_tolerance(thread, name).um / 1000
        assert abs(largest - smallest - width) <= Fraction(254, 2 * 10**5)  # half of 0.0001 in
        assert 0 < smallest < largest < thread.major_mm + 1

    @in_one("thread", METRIC)
    def test_a_coarser_grade_is_wider(self, thread):
        widths = [pitch_diameter_tolerance(thread, f"{grade}h").um for grade in _grades(thread)]
        assert widths == sorted(set(widths))
