"""What a measured length proves: by hand, 1.25 mm against 20 tpi, by brute force; and the scratch pass."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import count
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics import writing
from gearcalc.basics.errors import GearcalcError, ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.measurements import judge_measurement, turns_between, turns_to_tell
from gearcalc.cutting.scratch_passes import READING_MM, scratch_check
from gearcalc.lathes import GearSet, Lathe, Leadscrew
from gearcalc.threads import standard_threads
from gearcalc.threads.designations import lead_name
from tests.how_much import THOROUGH, in_one

INCH = Fraction(254, 10)
INCH_LATHE, METRIC_LATHE = gc.demo_lathe("inch"), gc.demo_lathe("metric")
NOT_NUMBERS = (float("nan"), float("inf"), None, "x", [1], 10**400)


class TestTheBandByHand:
    def test_ten_turns_by_the_rule(self):
        # 12.6 ± 0.25 over 10: from 12.35/10 to 12.85/10.
        found = judge_measurement("1.25 mm", turns=10, length_mm=12.6, uncertainty_mm=0.25)
        assert (Fraction(1235, 1000), Fraction(1285, 1000)) == (found.lead_from_mm, found.lead_to_mm)
        assert (Fraction(126, 100), Fraction(25, 1000)) == (found.lead_mm, found.lead_uncertainty_mm)

    @in_one(
        ("length", "agrees"), [("12.25", True), ("12.24", False), ("12.75", True), ("12.76", False), ("12.5", True)]
    )
    def test_both_ends_belong_to_the_band(self, length, agrees):
        # 10 turns of 1.25 mm are 12.5 mm; ± 0.25 reaches 12.25 to 12.75, ends included.
        assert agrees is judge_measurement("1.25 mm", 10, length, "1/4").agrees

    def test_a_float_is_the_decimal_that_it_prints_as(self):
        by_float = judge_measurement("1.25 mm", 3, 3.78, 0.1)
        assert Fraction(368, 300) == by_float.lead_from_mm
        assert by_float == judge_measurement("1.25 mm", "3", "3.78", Fraction(1, 10))

    def test_two_starts_are_counted_in_turns(self):
        # Ph3 P1.5: five turns advance 15 mm, over which ten threads are counted.
        assert judge_measurement("M16xPh3P1.5", turns=5, length_mm=15, uncertainty_mm=0.1).agrees
        assert not judge_measurement("M16xPh3P1.5", turns=10, length_mm=15, uncertainty_mm=0.1).agrees

    def test_a_worm_is_compared_exactly(self):
        # Module 1 has lead π: 3.14159 ± 0.000002 holds it, ± 0.0000026 more to the left does not.
        assert judge_measurement("module 1", 1, "3.14159", "0.000003").agrees
        assert not judge_measurement("module 1", 1, "3.14159", "0.000002").agrees

    def test_half_a_turn_is_a_turn_too(self):
        assert judge_measurement("8 mm", "1/2", 4, 0.01).agrees

    def test_two_turns_and_ten_millimetres(self):
        # 10 ± 1 over 2: from 9/2 to 11/2.
        found = judge_measurement("5 mm", 2, 10, 1)
        assert (Fraction(9, 2), Fraction(11, 2)) == (found.lead_from_mm, found.lead_to_mm)


class TestMetricAgainstInch:
    """1.25 mm against 20 tpi, which is 1.27 mm: 0.02 mm apart in one turn."""

    @in_one(
        ("uncertainty", "turns"),
        # n × 0.02 > 2u: u = 0.25 wants n > 25, so 26; u = 0.1 wants n > 10; u = 0.02 wants n > 2.
        [(0.25, 26), (0.1, 11), (0.05, 6), (0.02, 3), (0.0099, 1), (0.01, 2), (0, 1)],
    )
    def test_turns_by_hand(self, uncertainty, turns):
        assert turns == turns_to_tell("1.25 mm", "20 tpi", uncertainty)
        assert turns == turns_to_tell("20 tpi", "1.25 mm", uncertainty)

    def test_a_weak_measurement_leaves_both(self):
        found = judge_measurement("1.25 mm", 10, 12.6, 0.25)
        assert found.agrees
        assert Fraction(127, 100) in found.leads_left
        assert 26 == found.turns_to_tell("20 tpi") == found.turns_to_be_sure
        assert found.how_sure == "it agrees, but other pitches would too"
        assert "not proven" in found.why
        assert "26 turns" in found.why

    def test_a_long_one_leaves_one(self):
        found = judge_measurement("1.25 mm", 26, 32.5, 0.25)
        assert found.agrees
        assert found.also_possible == ()
        assert found.turns_to_be_sure is None
        assert found.how_sure == "it agrees, and nothing else does"

    def test_the_other_one_was_cut(self):
        found = judge_measurement("1.25 mm", 10, 12.7, 0.02)
        assert not found.agrees
        assert {Fraction(127, 100)} == {thread.lead for thread in found.also_possible}
        assert found.how_sure == "it is another pitch"

    def test_neither_was_cut(self):
        found = judge_measurement("1.25 mm", 10, 13.1, 0.02)
        assert not found.agrees
        assert found.also_possible == ()
        assert "no standard pitch fits" in found.how_sure

    def test_the_same_lead_is_never_told_apart(self):
        assert turns_to_tell("1.27 mm", "20 tpi", 0.05) is None
        assert judge_measurement("M8", 10, 12.5, 0.1).turns_to_tell("1.25 mm") is None


class TestTurnsToTell:
    @given(
        one=st.fractions(min_value=Fraction(1, 4), max_value=6, max_denominator=40),
        other=st.fractions(min_value=Fraction(1, 4), max_value=6, max_denominator=40),
        limit=st.fractions(min_value=0, max_value=1, max_denominator=100),
    )
    def test_the_least_number_of_turns_by_trying_them_all(self, one, other, limit):
        found = turns_to_tell(gc.Thread("one", one), gc.Thread("other", other), limit)
        if one == other:
            assert found is None
            return

        def certain(turns: int) -> bool:
            """Whatever is read for the one, the other is outside the band; the reading nearest to it decides."""
            reading = turns * one + (limit if other > one else -limit)
            lowest, highest = (reading - limit) / turns, (reading + limit) / turns
            return not lowest <= other <= highest

        assert next(turns for turns in count(1) if certain(turns)) == found

    def test_a_worm_against_a_millimetre_pitch(self):
        # Module 1 has lead 3.14159...; against 3.14 mm that is 0.00159265 a turn: 2 × 0.05 / 0.00159265 = 62.8.
        assert turns_to_tell("module 1", "3.14 mm", 0.05) == 63
        # Module against diametral pitch, both with π: 3.14159 − 3.06922 (DP 26) = 0.0724983: 0.1 / it = 1.38.
        assert turns_to_tell("module 1", "DP 26", 0.05) == 2

    @pytest.mark.parametrize(("tail", "turns"), [("", 3), ("7", 34)])
    def test_a_lead_that_thirty_digits_do_not_tell_from_pi(self, tail, turns):
        # π to 40 places is 0.69399375 units of the last too small: 2 / 0.69399375 = 2.88. With a 7 behind, where π has
        # a 6, it is 0.00600625 of those units too large: a tenth of the uncertainty gives 0.2 / 0.00600625 = 33.3.
        near = Fraction("3.1415926535897932384626433832795028841971" + tail)
        unit = Fraction(1, 10**40)
        found = turns_between(PiMultiple(Fraction(1)), near, unit / 10 if tail else unit)
        assert found == turns

    @in_one("wrong", [-1, 1001, *NOT_NUMBERS])
    def test_no_uncertainty(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            turns_to_tell("1.25 mm", "20 tpi", wrong)


class TestOneRuleForHowManyTurns:
    """Every reading that can come up, error by error, in steps of a twentieth of the limit and both ends."""

    @in_one(("one", "other"), [("1.25 mm", "20 tpi"), ("M10", "16 tpi"), ("2 mm", "13 tpi")])
    @in_one("limit", [Fraction(1, 10), Fraction(127, 1000), *([Fraction(1, 20), Fraction(1, 4)] if THOROUGH else [])])
    def test_by_all_readings(self, one, other, limit):
        enough = turns_to_tell(one, other, limit)

        def mistaken(turns):
            """Whether some reading of the one, off by no more than the limit, leaves the other possible."""
            lead = gc.Thread.parse(one).lead
            readings = (turns * lead + Fraction(step, 20) * limit for step in range(-20, 21))
            judged = (judge_measurement(one, turns, reading, limit) for reading in readings)
            theirs = gc.Thread.parse(other).lead
            return any(found.lead_from_mm <= theirs <= found.lead_to_mm for found in judged)

        assert mistaken(enough - 1)
        assert not any(map(mistaken, (enough, enough + 1, 2 * enough)))

    def test_just_twice_the_limit_is_one_turn_too_few(self):
        # 10 turns lie 0.2 mm apart; off by 0.1 each, both read 12.6 mm.
        assert judge_measurement("1.25 mm", 10, "12.6", "0.1").agrees
        assert judge_measurement("20 tpi", 10, "12.6", "0.1").agrees
        assert turns_to_tell("1.25 mm", "20 tpi", "0.1") == 11


class TestTurnsToBeSure:
    """Each of what is left has to go, the nearest last: by trying turn after turn, both worst readings."""

    @given(
        wanted=st.sampled_from(["1 mm", "1.25 mm", "M10", "16 tpi", "20 tpi", "11 tpi", "2 BA"]),
        turns=st.integers(1, 8),
        limit=st.fractions(min_value=Fraction(1, 50), max_value=Fraction(1, 4), max_denominator=50),
    )
    def test_by_trying_them_all(self, wanted, turns, limit):
        lead = gc.Thread.parse(wanted).lead
        found = judge_measurement(wanted, turns, turns * lead, limit)
        others = {_as_a_fraction(thread.lead) for thread in standard_threads()} - {lead}
        left = [other for other in others if abs(turns * (other - lead)) <= limit]

        def certain(n):
            return not any(abs(n * lead + off - n * other) <= limit for other in left for off in (-limit, limit))

        assert found.turns_to_be_sure == (next(filter(certain, count(1))) if left else None)

    def test_by_hand(self):
        # 5.2 ± 0.25 over 4 turns leaves 20 tpi, 0.02 mm away, for which it takes more than 25 turns, and 19 tpi,
        # 0.0868 mm away, gone with more than 5.76. Sure of both is 26, not 6.
        found = judge_measurement("1.25 mm", 4, "5.2", "0.25")
        assert {26, 6} == {found.turns_to_tell(thread) for thread in found.also_possible}
        assert found.turns_to_be_sure == 26
        assert "Over 26 turns" in found.why

    @pytest.mark.parametrize(("units", "long"), [("mm", "≈ 52.8 mm"), ("inch", "≈ 2.08 in (≈ 52.8 mm)")])
    def test_how_long_that_is_as_one_looks_for_it_on_a_rule(self, units, long):
        """27 turns of 25.4/13 mm are 52.7538 mm, and 2.0769 in."""
        found = judge_measurement("13 tpi", 10, "19.5", "0.6", units=units)
        assert f"Over 27 turns ({long}) the same instrument" in found.why

    @pytest.mark.parametrize("length", ["25.4", "25.5"])
    def test_no_number_of_turns_tells_the_hands_apart(self, length):
        found = judge_measurement("16 tpi LH", turns=16, length_mm=length, uncertainty_mm=0.2, hand="right")
        assert found.also_possible[0] == gc.Thread.parse("16 tpi")
        assert found.turns_to_be_sure is None


def _as_a_fraction(lead):
    return lead if isinstance(lead, Fraction) else lead.coefficient * Fraction("3.14159265358979323846264338327950288")


class TestTheHand:
    """A hand is seen, not measured: both hands have the same lead, so the wrong one never agrees."""

    @given(
        wanted=st.sampled_from(["16 tpi", "M10", "lead 6 mm 2 starts", "module 1", "Tr 40x14(P7)"]),
        hands=st.tuples(st.sampled_from(["right", "left"]), st.sampled_from([None, "right", "left"])),
        off=st.fractions(min_value=-1, max_value=1, max_denominator=50),
    )
    def test_agrees_only_in_the_wanted_hand(self, wanted, hands, off):
        mine, seen = hands
        thread = gc.Thread.parse(wanted + (" LH" if mine == "left" else ""))
        length = 10 * _as_a_fraction(thread.lead).limit_denominator(10**9) + off
        found = judge_measurement(thread, 10, length, "0.5", hand=seen)
        fits = abs(off) < Fraction(1, 2) if abs(off) != Fraction(1, 2) else found.lead_agrees
        assert found.lead_agrees is fits
        assert found.agrees is (fits and seen in (None, mine))
        assert all(other.hand == (seen or other.hand) for other in found.also_possible)
        others = {str(other) for other in found.also_possible}
        assert len(others) == len(found.also_possible)
        if fits and seen not in (None, mine):
            assert found.also_possible[0].lead == thread.lead
            assert found.also_possible[0].hand == seen

    def test_in_words(self):
        found = judge_measurement("16 tpi LH", 16, "25.4", "0.1", hand="right")
        assert not found.agrees
        assert found.how_sure == "it is right-hand"
        assert "does not agree all the same: it is left-hand, and this one came out right-hand" in found.why
        assert "isolate the lathe" in found.why
        assert ("hand seen", "right") in _rows_of(found)
        assert "proven" not in found.why

    def test_wrong_in_both(self):
        found = judge_measurement("16 tpi LH", 16, "27", "0.1", hand="right")
        assert found.how_sure == "it is right-hand, and another pitch"
        assert "does not agree: it is left-hand" in found.why

    def test_nobody_looked(self):
        assert "look at the hand too" in judge_measurement("1.25 mm", 26, "32.5", "0.25").why
        assert "so it is proven" in judge_measurement("1.25 mm", 26, "32.5", "0.25", hand="right").why

    @in_one("wrong", ["up", "Right", "", 1, True, ["right"]])
    def test_no_hand(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="hand"):
            judge_measurement("1.25 mm", 10, 12.5, 0.1, hand=wrong)


def _rows_of(judgement):
    return re.findall(r"<tr><th[^>]*>([^<]*)</th><td[^>]*>([^<]*)</td></tr>", judgement._repr_html_())


class TestWhatElseIsPossible:
    @given(
        turns=st.integers(1, 60),
        pitch=st.fractions(min_value=Fraction(1, 4), max_value=6, max_denominator=30),
        limit=st.fractions(min_value=0, max_value=Fraction(1, 5), max_denominator=100),
    )
    def test_every_standard_thread_in_the_band_and_no_other(self, turns, pitch, limit):
        length = turns * pitch
        found = judge_measurement("1.25 mm", turns, length, limit)
        for thread in standard_threads():
            off = abs(float(thread.lead) * turns - float(length)) - float(limit)
            if abs(off) < 1e-9:
                continue  # at the very end of the band: the exact test above looks there
            inside = off < 0 and thread.lead != Fraction(5, 4)
            assert inside is (thread in found.also_possible)

    def test_the_nearest_first(self):
        found = judge_measurement("1.25 mm", 4, 5.2, 0.25)  # 1.3 mm in the middle
        far = [abs(float(lead) - 1.3) for lead in found.leads_left]
        assert sorted(far) == far
        assert len(far) > 1

    def test_threads_of_the_same_lead_are_no_other_pitch(self):
        found = judge_measurement("M8", 26, 32.5, 0.1)
        assert found.also_possible == ()


class TestBadInput:
    @in_one("wrong", [0, -1, 10_001, True, *NOT_NUMBERS])
    def test_no_turns(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            judge_measurement("1.25 mm", wrong, 12.5, 0.1)

    @in_one("wrong", [0, -12.5, 100_001, *NOT_NUMBERS])
    def test_no_length(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            judge_measurement("1.25 mm", 10, wrong, 0.1)

    @in_one("wrong", [-0.1, 1001, *NOT_NUMBERS])
    def test_no_uncertainty(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            judge_measurement("1.25 mm", 10, 12.5, wrong)

    def test_an_uncertainty_larger_than_the_pitch_says_why(self):
        with pytest.raises(ValueOutOfRangeError, match=r"larger than the pitch, 1\.25 mm") as caught:
            judge_measurement("1.25 mm", 10, 12.5, 1.3)
        assert "finer instrument" in str(caught.value)
        with pytest.raises(GearcalcError, match=r"larger than the pitch, 1\.5 mm"):  # of two starts, the pitch decides
            judge_measurement("M16xPh3P1.5", 5, 15, 2)

    def test_an_uncertainty_of_just_the_pitch(self):
        """The edge may have stood one pitch off and no more, so the band still says something."""
        found = judge_measurement("1.25 mm", 10, "12.5", "1.25")
        assert (Fraction(1125, 1000), Fraction(1375, 1000)) == (found.lead_from_mm, found.lead_to_mm)
        with pytest.raises(ValueOutOfRangeError, match="larger than the pitch"):
            judge_measurement("1.25 mm", 10, "12.5", "1.2500001")

    def test_an_uncertainty_as_large_as_the_length(self):
        with pytest.raises(ValueOutOfRangeError, match="leaves nothing of a length"):
            judge_measurement("2 mm", 1, 1.5, 1.5)

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            judge_measurement("a thread", 10, 12.5, 0.1)

    def test_no_uncertainty_at_all_is_doubted(self):
        found = judge_measurement("1.25 mm", 10, 12.5, 0)
        assert found.agrees
        assert "no instrument is good to ± 0" in found.why


class TestHowItIsShown:
    def test_in_words(self):
        said = str(judge_measurement("1.25 mm", 4, 5.2, 0.25))
        assert said.startswith("5.2 ± 0.25 mm over 4 turns leaves leads of 1.2375 to 1.3625 mm: 1.25 mm agrees.")
        assert "1.27 mm (20 tpi) and ≈ 1.3368 mm (19 tpi) would agree too" in said

    def test_a_long_list_is_cut_short(self):
        said = str(judge_measurement("16 tpi", 1, 1.6, 0.5))
        assert "and 6 others would agree too" in said

    @in_one("thousandths", range(0, 500, 28))
    def test_four_are_named_and_the_others_counted(self, thousandths):
        """Of a thread that agrees and of one that does not, however many other leads are left."""
        for wanted in ("16 tpi", "3 mm"):
            found = judge_measurement(wanted, 1, "1.5875", Fraction(thousandths, 1000))
            leads = [writing.lead(lead).text for lead in found.leads_left]
            more = len(leads) - 4
            others = [] if more < 1 else ["1 other"] if more == 1 else [f"{more} others"]
            agrees, said = wanted == "16 tpi", found.why
            assert found.agrees == agrees
            if agrees:
                named = writing.listed([*leads[:4], *others]) if leads else ""
                assert (f" {named} would agree too, so it is not proven." in said) == bool(leads)
                assert ("No other standard pitch does" in said) == (not leads)
                assert (_rows_of(found)[6][1]) == (named or "no other standard pitch")
            elif len(leads) > 1:
                assert f": 3 mm does not agree. It may be {writing.listed([*leads[:4], *others], 'or')}." in said
            else:
                assert said.partition("agree. ")[2].startswith(f"Of the standard pitches only {leads[0]} fits.")

    @in_one(
        ("measured", "said", "cells"),
        [
            # length and limit over the turns; 2 · 0.25 / 0.02 = 25, so 26 turns, 32.5 mm
            (
                ("1.25 mm", 10, "12.6", "0.25"),
                (
                    "12.6 ± 0.25 mm over 10 turns leaves leads of 1.235 to 1.285 mm: 1.25 mm agrees. 1.27 mm (20 tpi) "
                    "would "
                    "agree too, so it is not proven. Over 26 turns (32.5 mm) the same instrument tells them apart for "
                    "certain."
                ),
                [
                    "12.6 ± 0.25 mm over 10 turns",
                    "1.26 mm (≈ 20.159 tpi)",
                    "1.235 to 1.285 mm",
                    "1.25 mm (20.32 tpi)",
                    "not looked at",
                    "yes",
                    "1.27 mm (20 tpi)",
                    "26",
                ],
            ),
            (
                ("1.25 mm", 10, "13.1", "0.02"),
                (
                    "13.1 ± 0.02 mm over 10 turns leaves leads of 1.308 to 1.312 mm: 1.25 mm does not agree. Nor does "
                    "any "
                    "standard pitch: count the turns again, then look for a slip in the setup."
                ),
                [
                    "13.1 ± 0.02 mm over 10 turns",
                    "1.31 mm (≈ 19.389 tpi)",
                    "1.308 to 1.312 mm",
                    "1.25 mm (20.32 tpi)",
                    "not looked at",
                    "no",
                    "no other standard pitch",
                ],
            ),
            (
                ("1.25 mm", 26, "32.5", "0.25"),
                (
                    "32.5 ± 0.25 mm over 26 turns leaves leads of 1.2404 to 1.2596 mm: 1.25 mm agrees. No other "
                    "standard pitch "
                    "does, so its lead is proven (look at the hand too) as surely as that limit holds."
                ),
                [
                    "32.5 ± 0.25 mm over 26 turns",
                    "1.25 mm (20.32 tpi)",
                    "1.2404 to 1.2596 mm",
                    "1.25 mm (20.32 tpi)",
                    "not looked at",
                    "yes",
                    "no other standard pitch",
                ],
            ),
        ],
    )
    def test_the_whole_of_it(self, measured, said, cells):
        found = judge_measurement(*measured)
        assert str(found).replace("\u202f", " ") == said
        assert [cell.replace("\u202f", " ") for _, cell in _rows_of(found)] == cells

    @in_one(
        ("limit", "band"),
        [
            # to one place more than the limit is sure to, and at least to a tenth of a micrometre
            ("0.001", "1.2502 to 1.2522 mm"),
            ("0.000999", "1.25024 to 1.25223 mm"),
            ("0.0005", "1.25073 to 1.25173 mm"),
            ("0.00005", "1.251185 to 1.251285 mm"),
            ("0", "1.25123457 to 1.25123457 mm"),
        ],
    )
    def test_a_band_is_said_so_finely_that_its_ends_differ(self, limit, band):
        said = str(judge_measurement("1.25 mm", 1, "1.251234567", limit))
        assert f" leaves leads of {band}: " in said
        assert said.startswith("1.251235 ± ")

    def test_and_no_more_finely(self):
        # (25 ± 0.005)/20 mm is 0.0492126 ± 0.00000984 in: five places are sure, and one more is said.
        said = str(judge_measurement("M8", 20, "25", "0.005", units="inch"))
        assert "leaves leads of 0.049203 to 0.049222 in (1.24975 to 1.25025 mm)" in said

    def test_a_narrow_band_has_two_ends(self):
        said = str(judge_measurement("1.25 mm", 10, "12.50005", "0.00005"))
        assert said.startswith(
            "12.50005 ± 0.00005 mm over 10 turns leaves leads of 1.25 to 1.25001 mm: 1.25 mm agrees."
        )

    def test_as_a_table(self):
        shown = judge_measurement("1.25 mm", 10, 12.6, 0.25)._repr_html_()
        assert "<table>" in shown
        assert "12.6 ± 0.25 mm over 10 turns" in shown

    def test_public_names(self):
        assert gc.judge_measurement is judge_measurement
        assert gc.turns_to_tell is turns_to_tell


# The scratch pass.


def check_of(lathe, wanted):
    return scratch_check(gc.find_setups(lathe, wanted, count=1)[0])


class TestTheScratchPassByHand:
    def test_twenty_tpi_against_a_quarter_millimetre_more(self):
        """20 threads in an inch, 25.4 mm; twenty pitches of 1.25 mm are 25 mm."""
        found = check_of(INCH_LATHE, "20 tpi")
        assert (found.turns, found.inches, found.travel_mm) == (20, 1, Fraction(254, 10))
        assert {pitch.name: round(pitch.reads_mm, 6) for pitch in found.near}["1.25 mm"] == 25
        # 25 mm are 0.984 in; twenty turns of 19 tpi, the next on the other side, 20/19 in.
        assert found.told_apart == "0.984 in would be 1.25 mm, 1.053 in would be 19 tpi."

    def test_one_and_a_quarter_millimetres(self):
        """20 tpi is 0.02 mm more a turn: ten turns make 0.2 mm of it, just twice what a reading may be off.

        Then 12.6 mm would be read of either, so it takes an eleventh; the next round number is 20, which is 25 mm.
        """
        found = check_of(METRIC_LATHE, "1.25 mm")
        assert (found.turns, found.inches, found.travel_mm) == (20, None, Fraction(25))
        assert {pitch.name: round(pitch.reads_mm, 6) for pitch in found.near}["20 tpi"] == 25.4

    def test_just_twice_the_reading_is_not_enough(self):
        """20 tpi, 0.02 mm from 1.25 mm: one inch is 20 turns, 0.4 mm; two readings off are 0.2 mm."""
        assert check_of(INCH_LATHE, "20 tpi").turns >= 11

    def test_halves_of_threads_take_two_inches(self):
        found = check_of(INCH_LATHE, "11 1/2 tpi")
        assert (found.turns, found.inches, found.travel_mm) == (23, 2, Fraction(508, 10))

    def test_a_stand_in_is_measured_as_it_is_cut(self):
        """63·60/(50·80) on 8 tpi, low, cuts 125 ppm too long: 30.00375 mm in twenty turns, 15.001875 in ten."""
        setup = gc.setup(INCH_LATHE, (63, 60), (50, 80), "low", wanted="1.5 mm")
        assert setup.lead_mm == Fraction(127, 40) * Fraction(63 * 60, 50 * 80) / 2
        found = scratch_check(setup)
        assert found.travel_mm == found.turns * setup.lead_mm
        assert "15 mm" in found.words

    def test_six_ba_stands_too_near_to_48_tpi(self):
        """0.53 mm is 0.16 per cent from 25.4/48."""
        found = check_of(INCH_LATHE, "48 tpi")
        assert found.too_near == ("0.53 mm",)
        assert "Too near" in found.told_apart

    def test_a_feed(self):
        """0.24 mm a turn: 42 turns make 10 mm, so fifty, 12 mm; half as fine, and fifty are still enough to count."""
        found = check_of(METRIC_LATHE, "0.24 mm/rev")
        assert (found.turns, found.travel_mm, found.near) == (50, 12, ())
        assert found.words == "50 turns of the spindle move the carriage 12 mm."
        fine = check_of(METRIC_LATHE, "0.12 mm/rev")
        assert (fine.turns, fine.travel_mm) == (50, 6)
        assert fine.words.endswith("6 mm: read it on the slide's own dial, or with an indicator against it.")

    def test_a_cross_feed_moves_the_cross_slide(self):
        assert "cross slide" in check_of(INCH_LATHE, "5 thou cross").words

    def test_a_multi_start_lead_is_said_in_turns(self):
        found = check_of(METRIC_LATHE, "lead 1/2 in 2 starts")
        assert found.inches is None

    def test_nothing_wanted(self):
        found = scratch_check(gc.setup(INCH_LATHE, 40, 80, "middle"))
        assert (found.turns, found.inches) == (16, 1)


@in_one("lathe", [INCH_LATHE, METRIC_LATHE])
@in_one(
    "wanted", ["0.5 mm", "0.8 mm", "1 mm", "1.5 mm", "1.75 mm", "3 mm", "6 mm", "32 tpi", "28 tpi", "16 tpi", "8 tpi",
               "4 tpi", "19 tpi", "module 1", "M10", "1/2 BSW", "2 BA"],
)  # fmt: skip
def test_every_standard_pitch_reads_differently(lathe, wanted):
    """All that the tables list, by plain floats: over so many turns at least two readings away, or named too near."""
    found = check_of(lathe, wanted)
    travel, cut = float(found.travel_mm), float(found.travel_mm) / found.turns
    assert found.near
    for thread in standard_threads():
        lead = float(thread.lead.coefficient) * pi if isinstance(thread.lead, PiMultiple) else float(thread.lead)
        if abs(lead / cut - 1) > 0.005:
            assert abs(found.turns * lead - travel) > 2 * float(READING_MM) + 1e-9, thread
        elif abs(lead / cut - 1) > 0.0006:
            assert found.too_near, thread
    assert 10 <= travel <= 60


@in_one("lathe", [INCH_LATHE, METRIC_LATHE])
@in_one("wanted", ["M3", "M8", "M10", "1.25 mm", "20 tpi", "13 tpi", "26 tpi", "2 BA", "module 1"])
def test_card_and_proof_have_one_rule(lathe, wanted):
    """Cut as meant and read off by as much as a reading may be, either way: no neighbour on the card fits as well."""
    setup = gc.find_setups(lathe, wanted, count=1)[0]
    found = scratch_check(setup)
    for off in (-READING_MM, 0, READING_MM):
        judged = gc.judge_measurement(f"{setup.lead_mm} mm", found.turns, found.turns * setup.lead_mm + off, READING_MM)
        for pitch in found.near:
            assert not float(judged.lead_from_mm) - 1e-12 <= pitch.lead_mm <= float(judged.lead_to_mm) + 1e-12, pitch


# Leads on a leadscrew of just that lead: some of each system, and some that lie just as near to 1.5 mm as is still too
# near, as is still the same, or as is still looked at.
LEADS = [Fraction(n, 20) for n in (4, 7, 15, 20, 25, 33, 40, 57, 121)]
LEADS += [INCH / Fraction(n, 2) for n in (1, 2, 4, 9, 23, 40, 54, 160)] + [INCH * 4 / 45]
LEADS += [Fraction(3, 2) / (1 + share) for part in (200, 2000, 4) for share in (Fraction(1, part), -Fraction(1, part))]
LEADS += [Fraction(3, 2) / (1 + share) for share in (Fraction(2, 399), Fraction(2, 3999), Fraction(2, 401))]
LEADS += [Fraction(n, 1000) for n in (8, 15, 60)]
STANDARD = {lead_name(thread.pitch): _as_a_fraction(thread.lead) for thread in standard_threads()}


class TestTheScratchPassCountedUp:
    """Turn after turn, until the nearest on either side are more than two readings away."""

    @in_one("cut", LEADS)
    def test_any_lead(self, cut):
        found = scratch_check(gc.setup(Lathe("A", Leadscrew(cut), GearSet([40, 40])), 40, 40))
        off = {name: lead / cut - 1 for name, lead in STANDARD.items()}
        below = [name for name in off if -Fraction(1, 4) <= off[name] < -Fraction(1, 200)]
        above = [name for name in off if Fraction(1, 4) >= off[name] > Fraction(1, 200)]
        near = [*sorted(below, key=off.get)[-1:], *sorted(above, key=off.get)[:1]]
        assert [pitch.name for pitch in found.near] == near
        assert [pitch.lead_mm for pitch in found.near] == [float(STANDARD[name]) for name in near]
        for pitch in found.near:
            assert pitch.reads_mm == pytest.approx(found.turns * pitch.lead_mm)
        too_near = [name for name in off if Fraction(1, 2000) < abs(off[name]) <= Fraction(1, 200)]
        assert found.too_near == tuple(sorted(too_near, key=off.get))

        def certain(turns):
            return all(turns * abs(STANDARD[name] - cut) > 2 * READING_MM for name in near)

        if cut.numerator % 127 == 0 and INCH / cut >= 1 and (2 * INCH / cut).denominator == 1:
            inches = next(n for n in count(1) if (n * INCH / cut).denominator == 1 and certain(n * INCH / cut))
            assert (found.inches, found.turns) == (inches, inches * INCH / cut)
        else:
            steps = (1, 2, 5, 10, 20, 50, 100, 200, 500)
            turns = next((n for n in steps if certain(n) and n * cut >= 10), 500)
            assert (found.inches, found.turns) == (None, turns)
        assert (found.travel_mm, found.along) == (found.turns * cut, "the carriage")

    @in_one(("ppm", "inches"), [(4999, True), (5000, True), (5001, False), (-5000, True), (-5001, False)])
    def test_half_a_per_cent_off_an_inch_pitch_is_measured_in_millimetres(self, ppm, inches):
        cut = INCH / 16 * (1 + Fraction(ppm, 10**6))
        made = gc.setup(Lathe("A", Leadscrew(cut), GearSet([40, 40])), 40, 40, wanted="16 tpi")
        assert (scratch_check(made).inches is not None) == inches

    @in_one(
        ("lathe", "wanted", "words", "apart"),
        [
            # 16 turns of 1.5 and of 1.75 mm; 23/12 and 23/11 in; 20 turns of 22 and of 20 tpi, 20/22 in and 1 in
            (
                METRIC_LATHE,
                "16 tpi",
                "16 threads in an inch (over 16 turns of the spindle 25.4 mm).",
                "24 mm would be 1.5 mm, 28 mm would be 1.75 mm.",
            ),
            (
                INCH_LATHE,
                "11 1/2 tpi",
                "23 threads in 2 inches, over 23 turns of the spindle (50.8 mm).",
                "1.917 in would be 12 tpi, 2.091 in would be 11 tpi.",
            ),
            (
                INCH_LATHE,
                "1.25 mm",
                "20 turns of the spindle move the carriage 0.984 in (25 mm).",
                "0.909 in would be 22 tpi, 1 in would be 20 tpi.",
            ),
            (
                INCH_LATHE,
                "0.1 mm/rev",
                (
                    "50 turns of the spindle move the carriage 0.197 in (5 mm): read it on the slide's own dial, "
                    "or with an "
                    "indicator against it."
                ),
                "",
            ),
        ],
    )
    def test_in_words(self, lathe, wanted, words, apart):
        found = check_of(lathe, wanted)
        assert (found.words.replace("\u202f", " "), found.told_apart.replace("\u202f", " ")) == (words, apart)

    @in_one(
        ("feed", "turns", "ends"), [("10", 1, "moves the carriage 10 mm."), ("9.9", 2, "move the carriage 19.8 mm.")]
    )
    def test_ten_millimetres_of_a_feed_are_enough(self, feed, turns, ends):
        lathe = Lathe("A", Leadscrew(Fraction(feed)), GearSet([40, 40]))
        found = scratch_check(gc.setup(lathe, 40, 40, wanted=f"{feed} mm/rev"))
        assert found.turns == turns
        assert found.words.replace("\u202f", " ").endswith(ends)
