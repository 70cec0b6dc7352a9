"""Signs, units and words of a pitch error; the verdict on it."""

from __future__ import annotations

import re
from fractions import Fraction
from math import isclose

import pytest
from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.errors import ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple, RelativeError
from gearcalc.threads import Feed, Thread, as_thread, standard_threads
from gearcalc.threads.deviations import (
    LEADSCREW_UM,
    LENGTHS_MM,
    deviation_in_words,
    deviation_um,
    good_enough_ppm,
    judge,
    limit_ppm,
    shortfall,
)
from gearcalc.threads.tolerances import pitch_diameter_tolerance
from tests.how_much import in_one

NOT_NUMBERS = (float("nan"), float("inf"), -float("inf"), None, "x", True, [1], 10**400)


class TestDeviationUm:
    def test_one_ppm_over_a_metre_is_one_micrometre(self):
        assert deviation_um(1, 1000) == 1.0

    @pytest.mark.parametrize(
        ("ppm", "mm", "um"), [(125, 100, 12.5), (-125, 100, -12.5), (0, 25, 0.0), (125, 25.4, 3.175)]
    )
    def test_by_hand(self, ppm, mm, um):
        assert deviation_um(ppm, mm) == um

    def test_the_shortest_length_is_one(self):
        for shortest in (Fraction(1, 1000), "0.001", 0.001):
            assert isclose(deviation_um(1000, shortest), 0.001)

    def test_nothing_shorter_is_one(self):
        with pytest.raises(ValueOutOfRangeError):
            deviation_um(1, Fraction(9995, 10**7))

    @in_one(
        ("ppm", "mm", "beyond"),
        [(10**12, 1, (10**12 + 1, 1)), (-(10**12), 1, (-(10**12) - 1, 1)), (1, 10**6, (1, 10**6 + 1))],
    )
    def test_as_much_as_there_can_be_and_no_more(self, ppm, mm, beyond):
        assert deviation_um(ppm, mm) == ppm * mm / 1000
        with pytest.raises(ValueOutOfRangeError):
            deviation_um(*beyond)

    def test_a_relative_error_serves_as_it_is(self):
        # 80/63 for 127/100 is short by 1/8001.
        assert isclose(deviation_um(RelativeError(Fraction(80, 63), Fraction(127, 100)), 100), -100_000 / 8001)
        pi = PiMultiple(Fraction(1))
        assert isclose(deviation_um(RelativeError(Fraction(22, 7), pi), 1000), 402.499, abs_tol=0.001)

    @in_one("wrong", [0, -1, -0.0, *NOT_NUMBERS])
    def test_no_length(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            deviation_um(100, wrong)

    @in_one("wrong", NOT_NUMBERS)
    def test_no_error(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            deviation_um(wrong, 100)


class TestDeviationInWords:
    @in_one(
        ("ppm", "mm", "words"),
        [
            (125, 100, "12.5 µm too long over 100 mm"),
            (-125, 100, "12.5 µm too short over 100 mm"),
            (0, 300, "exact over 300 mm"),
            (125, 25.4, "3.17 µm too long over 25.4 mm"),
            (1e-9, 25, "less than 0.001 µm too long over 25 mm"),
            (-16000, 1000, "16\u202f000 µm too short over 1000 mm"),
        ],
    )
    def test_words(self, ppm, mm, words):
        assert words == deviation_in_words(ppm, mm)


class TestGoodEnoughToChoose:
    """A tenth of the tolerance over one diameter, at most 1000 ppm; 200 without a tolerance: our conventions."""

    # Pitch-diameter tolerances of 6g, µm, of ISO 965-1 as reprints have it (tests/validation/data).
    @pytest.mark.parametrize(("thread", "diameter", "um"), [("M8", 8, 118), ("M10", 10, 132), ("M12", 12, 150)])
    def test_worked_by_hand(self, thread, diameter, um):
        assert isclose(good_enough_ppm(as_thread(thread)), um / 1000 / diameter / 3**0.5 / 10 * 1e6, rel_tol=1e-12)

    def test_never_more_than_1000(self):
        assert good_enough_ppm(as_thread("M6")) == 1000  # 112 µm / 6 mm / 1.732 / 10 is 1078 ppm

    @in_one("text", ["16 tpi", "1.25 mm", "module 1", "Tr 40x7", "1/2 BSW", "M10x1.37"])
    def test_without_a_tolerance(self, text):
        assert judge(text, 0).allowed_ppm is None
        assert good_enough_ppm(as_thread(text)) == 200

    def test_a_feed(self):
        assert good_enough_ppm(Feed.parse("0.1 mm/rev")) == 1000

    def test_every_standard_thread_against_the_verdict(self):
        seen = set()
        for thread in standard_threads():
            bound, allowed = good_enough_ppm(thread), judge(thread, 0, share=0.1).allowed_ppm
            kind = "none" if allowed is None else "capped" if allowed > 1000 else "its own"
            seen.add(kind)
            assert type(bound) is Fraction
            assert bound == {"none": 200, "capped": 1000}.get(kind, allowed)
            assert not judge(thread, bound).fails
            assert allowed is None or judge(thread, bound, share=0.1).ok
        assert seen == {"none", "capped", "its own"}

    def test_a_class_of_its_own(self):
        assert (
            good_enough_ppm(as_thread("M10-4g"))
            < good_enough_ppm(as_thread("M10"))
            == good_enough_ppm(as_thread("M10-6g"))
        )

    @in_one("wrong", [-1, "a lot", "good", float("nan"), [200], True])
    def test_any_other_bound_is_refused(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            limit_ppm(wrong, as_thread("M6"))


class TestJudge:
    def test_defaults(self):
        verdict = judge("M10", 125)
        assert (verdict.engagement_mm, verdict.share, verdict.tolerance_class) == (10, 0.5, "6g")
        assert judge("1/4-20", 125).tolerance_class == "2A"
        assert judge("M10x1.5-6H", 125).tolerance_class == "6H"
        assert judge("M10x1.5-6H", 125, tolerance_class="4g6g").tolerance_class == "4g6g"

    def test_words_say_the_numbers_both_ways(self):
        assert str(judge("M10", Fraction(-10000, 47))) == (
            "Uses 2.8 % of the pitch-diameter tolerance of 6g (132 µm) over 10 mm of engagement: fine for a fastener. "
            "Over 300 mm it is 63.8 µm too short: not for a leadscrew (our convention: at most 50 µm)."
        )

    @in_one("ppm", [1, 50, 99, 101, 125, 333, 500, -125])
    def test_who_reckons_on_with_what_is_shown_gets_what_is_shown(self, ppm):
        def shown(row):
            return float(re.search(rf"{row}.*?([\d.]+)\W*µm", page, re.S)[1])

        page = judge("M10", ppm)._repr_html_()
        assert shown("over 10 mm") * 1.732 == pytest.approx(shown("acts on the pitch diameter as"), abs=0.015)

    def test_too_much(self):
        verdict = judge("M10", 5000)
        assert verdict.ok is False
        assert "more than the 50 % allowed (our convention)" in verdict.why

    @in_one(
        ("ppm", "share", "said"),
        [
            (3811, 0.5, ("Uses 50.01 %", "more than the 50 % allowed")),  # 66 µm / (10 mm · 1.7320508) is 3810.5 ppm
            (3500, 0.459, ("Uses 45.93 %", "more than the 45.9 % allowed")),
            (7640, 0.5, ("Uses 100.2 %", "more than all of it")),
            (7621.5, 0.5, ("Uses 100.01 %", "more than all of it")),
            (5000, 0.5, ("Uses 66 %", "more than the 50 % allowed")),
            (167, 0.5, ("it is 50.1 µm too long: not for", "at most 50 µm")),  # 0.167 µm/mm · 300 mm
            (Fraction(166671, 1000), 0.5, ("it is 50.001 µm too long: not for", "at most 50 µm")),
        ],
    )
    def test_what_is_past_a_limit_does_not_read_like_the_limit(self, ppm, share, said):
        for words in said:
            assert words in judge("M10", ppm, share=share).why

    def test_no_more_does_it_where_no_tolerance_is_known(self):
        said = shortfall(as_thread("1.25 mm"), RelativeError(1 + Fraction(10_003, 10**7), Fraction(1)))
        assert "+1000.3 ppm is more than the 1000 ppm" in said
        said = shortfall(as_thread("M10"), RelativeError(1 + Fraction(3811, 10**6), Fraction(1)))
        assert "uses 50.01 % of" in said
        feed = shortfall(Feed("0.1"), RelativeError(Fraction(110004, 10**6), Fraction(1, 10)))
        assert "+10.004 per cent is more than the 10 that we let pass" in feed

    @in_one(
        ("travel", "said"),
        [
            ("1.1", None),
            ("0.9", None),
            ("1.100001", "+10.0001 per cent"),
            ("0.88", "−12 per cent"),
            ("1.1126", "+11.3 per cent"),
        ],
    )
    def test_a_feed_may_be_off_by_ten_per_cent_and_no_more(self, travel, said):
        words = shortfall(Feed(1), RelativeError(Fraction(travel), Fraction(1)))
        assert words == (
            f"Not near enough to a feed of 1 mm/rev: {said} is more than the 10 that we let pass." if said else ""
        )

    @in_one(("ppm", "said"), [(1000, False), (1000.5, True), (-1000, False), (-1001, True)])
    def test_more_than_1000_ppm_is_said_where_no_tolerance_is_known(self, ppm, said):
        assert ("More than 1000 ppm: not good enough, by our convention." in judge("1.25 mm", ppm).why) == said

    def test_more_than_there_is(self):
        verdict = judge("M10", 10_000)
        assert verdict.share_used > 1
        assert "more than all of it" in verdict.why

    def test_a_share_of_ones_own_is_not_called_our_convention(self):
        assert "more than the 10 % allowed. Over" in judge("M10", 2000, share=0.1).why

    def test_a_thousand_ppm_is_let_pass_where_no_tolerance_is_known_and_no_more(self):
        assert [judge("1/2 BSW", ppm).fails for ppm in (-1000, 1000, -1000.01, 1000.01)] == [False, False, True, True]

    def test_all_of_the_tolerance_may_be_allowed(self):
        assert judge("M10", 5000, share=1).ok is True

    def test_exact(self):
        verdict = judge("M10", 0)
        assert verdict.ok is True
        assert verdict.share_used == 0
        assert verdict.why.startswith("Exact: uses none")
        assert "leadscrew" not in verdict.why

    def test_from_memory_is_said(self):
        verdict = judge("M30x1", 10)
        assert verdict.status == "M"
        assert "That tolerance is from memory." in verdict.why
        assert "from memory" in verdict.source

    def test_a_long_engagement_is_said(self):
        assert "group L" in judge("M10", 10, engagement_mm=16).why
        assert "group" not in judge("M10", 10, engagement_mm=15).why

    def test_the_leadscrew_limit_counts_itself(self):
        at_the_limit = LEADSCREW_UM * 1000 / Fraction(300)
        assert "within the 50 µm" in judge("M10", at_the_limit).why
        assert "not for a leadscrew" in judge("M10", at_the_limit + 1).why

    def test_a_family_of_which_nothing_is_known(self):
        """Nothing is claimed of the tolerances of a standard that nobody named."""
        mine = Thread("mine", Fraction(1), thread_angle_deg=60, major_mm=10, family="cycle")
        for thread in (mine, evolve(mine, family=None)):
            assert "No standard is known here for it" in judge(thread, 100).why
        for less in ({"major_mm": None}, {"thread_angle_deg": None}, {"major_mm": None, "thread_angle_deg": None}):
            assert "name the thread, like" in judge(evolve(mine, family=None, **less), 100).why
        named = evolve(mine, standard="BS 811")
        assert "Its standard, BS 811, has tolerances of its own" in judge(named, 100).why

    def test_an_inch_lathe_is_told_in_inches(self):
        """1/2-13, 1000 ppm: 0.5 thou over the half inch, 12 thou over a foot, of which 2 may be."""
        said = judge("1/2-13", 1000, units="inch")
        assert "over 1/2 in of engagement" in said.why or "over 0.5 in of engagement" in said.why
        assert "Over 12 in it is 12 thou too long: not for a leadscrew (our convention: at most 2 thou)." in said.why
        assert "within the 2 thou that we allow" in judge("1/2-13", 166, units="inch").why
        assert "(3.7 thou)" in judge("1/4-20", 1, units="inch").why  # 0.0037 in, as ASME B1.1 tabulates it
        assert "pitch-diameter tolerance of 2A (95 µm)" in judge("1/4-20", 1).why
        assert ">over 12 in<" in said._repr_html_()
        assert [[writing.cut(mm, units) for mm in LENGTHS_MM[units]] for units in ("mm", "inch")] == [
            ["25 mm", "100 mm", "300 mm"],
            ["1 in", "4 in", "12 in"],
        ]
        assert "25.4 µm" not in str(judge("16 tpi", 1000, units="inch"))
        assert "1 thou too long over 1 in." in judge("16 tpi", 1000, units="inch").why

    @in_one(
        ("thread", "reason"),
        [
            ("1/2 BSW", "has tolerances of its own"),
            ("2 BA", "has tolerances of its own"),
            ("G 1/2", "has tolerances of its own"),
            ("Tr 40x7", "has tolerances of its own"),
            ("1/2 Acme", "has tolerances of its own"),
            ("1/2 NPT", "taper"),
            ("module 1", "worm"),
            ("DP 12", "worm"),
            ("1.25 mm", "without a diameter"),
            ("16 tpi", "without a diameter"),
            ("M100x3", "not in our tables"),
            ("M10x1.5-9e", "not in our tables"),
        ],
    )
    def test_not_judged_says_why_and_what_it_adds_up_to(self, thread, reason):
        verdict = judge(thread, 100)
        assert verdict.ok is None
        assert verdict.share_used is verdict.allowed_ppm is verdict.tolerance_um is verdict.source is None
        assert reason in verdict.why
        assert "Over 300 mm it is 30 µm too long" in verdict.why

    @in_one(
        ("ppm", "said"),
        [
            (0, " The pitch is exact."),
            (1, " The error is 0.025 µm too long over 25 mm."),
            (-1, " The error is 0.025 µm too short over 25 mm."),
        ],
    )
    def test_not_judged_the_least_error_is_one(self, ppm, said):
        assert said in judge("16 tpi", ppm).why

    def test_not_judged_over_the_engagement_that_is_given(self):
        assert "0.8 µm too short over 8 mm of engagement" in judge("1/2 BSW", -100, engagement_mm=8).why
        assert judge("16 tpi", -100).engagement_mm is None
        assert "2.5 µm too short over 25 mm." in judge("16 tpi", -100).why

    def test_the_error_still_acts_on_the_pitch_diameter_where_the_form_is_known(self):
        assert isclose(judge("1/2 BSW", 1000, engagement_mm=10).pitch_diameter_um, 19.21, abs_tol=0.005)
        for unknown in (judge("16 tpi", 100), judge("16 tpi", 100, engagement_mm=8), judge("1/2 NPT", 100)):
            assert unknown.pitch_diameter_um is None
            assert "acts on the pitch diameter" not in unknown._repr_html_()

    @in_one("wrong", [0, -10, *NOT_NUMBERS[:3], "x", True])
    def test_no_engagement(self, wrong):
        for thread in ("M10", "1/2 BSW", "16 tpi"):
            with pytest.raises(ValueOutOfRangeError, match="length of engagement"):
                judge(thread, 100, engagement_mm=wrong)

    @in_one("wrong", [0, -0.5, 1.01, 50, *NOT_NUMBERS])
    def test_no_share(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="share"):
            judge("M10", 100, share=wrong)

    @in_one("wrong", NOT_NUMBERS)
    def test_no_error(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="pitch error"):
            judge("M10", wrong)

    def test_no_class(self):
        with pytest.raises(UnknownNameError):
            judge("M10", 100, tolerance_class="7z")
        with pytest.raises(UnknownNameError):
            judge("M10", 100, tolerance_class="2A")

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            judge("nonsense", 100)

    def test_html_is_a_table_with_the_same_numbers_all_escaped(self):
        shown = judge("M10", 125)._repr_html_()
        for thread, wanted in (("M10", "6g"), ("M10", "4h"), ("1/4-20 UNC", "3A")):
            told = str(pitch_diameter_tolerance(thread, wanted))  # one tolerance, in the words of an exercise's table
            assert f">{told}<" in judge(thread, 125, tolerance_class=wanted)._repr_html_()
        for words in ("+125 ppm", "+37.5 µm", "132 µm", "1.6 %", "± 3810 ppm", "fine for a fastener"):
            assert words in shown.replace("\u202f", " ")
        assert judge("1/2 BSW", 125)._repr_html_().lower().count("not judged") == 1  # in the table, not again below it
