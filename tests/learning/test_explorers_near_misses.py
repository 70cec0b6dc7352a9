"""The explorers of near misses without a browser: what is typed and dragged in, picture, facts and words out."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest
import sympy
from hypothesis import given

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.writing import THIN
from gearcalc.lathes import demo_lathe
from gearcalc.learning.explorers import edit_the_set, limit_on_teeth, watch_the_gap
from gearcalc.learning.explorers.near_misses import PAIRS, gap_view, limit_view, set_view
from gearcalc.learning.explorers.page import text_box
from gearcalc.learning.explorers.typed import read_engagement, read_gears, read_number, read_threads, read_whole
from tests.how_much import examples, in_one
from tests.pictures.svg_texts import boxes_off_the_sheet, boxes_on_each_other
from tests.strategies import anything, said_in_our_words

INCH, METRIC = demo_lathe("inch").with_show("mm"), demo_lathe("metric")


def lead_of(facts, lathe) -> Fraction:
    """The lead that the gears and the lever of a row cut, worked out from what stands there."""
    gears, lever = re.fullmatch(r"([^,]+)(?:, idlers? .+)?, (\w+)", facts["train"]).groups()
    over, under = (math.prod(map(int, re.findall(r"\d+", side))) for side in gears.split("/"))
    return Fraction(over, under) * lathe.levers[lever] * lathe.leadscrew_lead_mm


class TestWatchTheGap:
    def test_the_gap_and_the_verdict_follow_the_length(self):
        explorer = watch_the_gap(INCH, thread="M10x1.5-6g")
        for length in (10, 50, 100):
            explorer.set(length=length)
            facts = explorer.shown.facts[0]
            miss = lead_of(facts, INCH) / Fraction(3, 2) - 1
            assert facts["error"] == "+125 ppm" == f"+{float(miss * 10**6):.0f} ppm"
            um = float(re.match(r"([0-9.]+) µm too long over", facts["off by"])[1])
            assert um == pytest.approx(float(miss * length * 1000), abs=0.06)
            share = float(facts["tolerance used"].rstrip(" %")) / 100
            # M10 6g: 132 µm of pitch diameter; cot 30° = √3
            assert share == pytest.approx(float(miss) * length * 1000 * math.sqrt(3) / 132, abs=0.006)
            said = explorer.facts.replace("\u00a0", " ")
            assert f"{facts['tolerance used']} of the pitch-diameter tolerance of 6g" in said
            assert f"over {length} mm" in explorer.shown.picture.description

    @in_one("lathe", [INCH, METRIC])
    def test_the_heading_tells_what_is_wanted_from_what_is_cut(self, lathe):
        for thread in ("M10", "1.5 mm", "11 tpi", "1/4-20 UNC"):
            for place in (1, 2, 3):
                view = gap_view(lathe, thread=thread, place=place)
                lead = "((?:≈ )?[0-9.]+ (?:mm|in))"
                wanted, cut = re.search(f": {lead} wanted, {lead} cut, ", view.svg).groups()
                assert (wanted == cut) is (view.facts[0]["error"] == "exact")

    def test_words_beside_it_break_in_no_number_and_its_unit(self):
        said = gap_view(INCH, thread="M10").facts_html
        assert not re.search(r"[0-9≈] (?:[0-9]|mm|in|thou|%|µm)", re.sub(r"<[^>]*>", "|", said))

    def test_the_answers_get_no_better_down_the_list(self):
        for pairs in PAIRS:
            misses = []
            for place in range(1, 9):
                facts = gap_view(INCH, pairs=pairs, place=place).facts[0]
                misses.append(abs(lead_of(facts, INCH) / Fraction(3, 2) - 1))
                assert facts["place"].startswith(f"{place} of ")
            assert misses == sorted(misses)

    def test_pairs_are_as_many_as_chosen(self):
        trains = {
            pairs: gap_view(INCH, pairs=pairs).facts[0]["train"].split("/")[0] for pairs in ("one", "two", "three")
        }
        assert {pairs: len(re.findall(r"\d+", gears)) for pairs, gears in trains.items()} == {
            "one": 1,
            "two": 2,
            "three": 3,
        }

    def test_a_short_list_ends_with_its_last(self):
        few = INCH.from_toml('name = "Few"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 44, 48]')
        facts = gap_view(few, thread="3 mm", pairs="one", place=8).facts[0]
        seen, count = map(int, facts["place"].split(" of "))
        assert seen == count == 6  # three gears make six ratios

    def test_a_worm_and_a_thread_without_tolerance_are_shown_and_not_judged(self):
        for thread in ("module 1", "1/2 BSW"):
            view = gap_view(METRIC, thread=thread)
            assert view.facts[0]["tolerance used"] == "–"
            assert view.note.startswith("Not judged")

    def test_a_pitch_alone_is_spoken_of_without_classes(self):
        view = gap_view(INCH, thread="1.5 mm", length=60)
        assert view.facts[0]["error"] == "+125 ppm"
        assert "tolerance used" not in view.facts[0]
        assert not [word for word in ("6g", "tolerance", "engage", "convention", "group") if word in view.facts_html]

    def test_nothing_found_says_what_would_help(self):
        none = INCH.from_toml('name = "None"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]')
        with pytest.raises(NotPossibleError, match=r"no train for this\. .+"):
            gap_view(none)

    def test_what_is_no_near_miss_is_refused(self):
        two = INCH.from_toml('name = "Two"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 100]')
        with pytest.raises(NotPossibleError, match="no near miss"):
            gap_view(two, thread="M10", pairs="one")  # 0.6 mm is the nearest

    @given(anything, anything, anything, anything)
    @examples(60)
    def test_anything_else_is_refused_in_our_words(self, thread, pairs, place, length):
        for wrong in ({"thread": thread or "?"}, {"pairs": pairs}, {"place": place}, {"length": length}):
            assert said_in_our_words(gap_view, lathe=INCH, **wrong)

    def test_still_it_is_a_picture_with_its_table_and_words(self):
        shown = gap_view(INCH, length=25)._repr_html_()
        assert shown.startswith("<figure><img alt=")
        assert "too long over 25 mm" in shown
        assert "of the pitch-diameter tolerance" in shown


class TestLimitOnTeeth:
    @in_one("largest", [1, 7, 8, 26, 63, 99, 100, 150])
    def test_the_best_fraction_is_pythons(self, largest):
        facts = limit_view(number="1.27", largest=largest).facts[0]
        best = Fraction("1.27").limit_denominator(largest)
        assert Fraction(facts["best fraction"]) == best
        miss = float(best / Fraction("1.27") - 1)
        if miss:
            assert facts["error"].startswith("+" if miss > 0 else "−")
            assert facts["over 100 mm"].startswith("+" if miss > 0 else "−")
            um = float(re.search(r"[\d.]+", facts["over 100 mm"].replace(THIN, ""))[0])
            assert um == pytest.approx(abs(miss) * 100_000, rel=0.01, abs=0.06)
        else:
            assert (facts["error"], facts["over 25 mm"]) == ("exact", "0 µm")

    def test_pi_goes_by_its_text_and_by_sympy(self):
        assert limit_view(number="pi", largest=120).facts == limit_view(number=sympy.pi, largest="120").facts
        assert limit_view(number="pi", largest=120).facts[0]["best fraction"] == "355/113"

    @in_one(
        ("number", "largest", "primes", "pair"),
        [
            ("127/100", 63, "2⁴ · 5 over 3² · 7", "80/63"),
            ("pi", 10, "2 · 11 over 7", "66/21"),
            ("pi", 120, "5 · 71 over 113", "none up to 127"),
            ("1/3", 2, "1 over 2", "20/40"),
            ("1/9", 1, "0 over 1", "none up to 127"),
            ("1.01", 3, "1 over 1", "none up to 127"),
        ],
    )
    def test_primes_and_gears(self, number, largest, primes, pair):
        facts = limit_view(number=number, largest=largest).facts[0]
        assert (facts["primes"], facts["as one pair"]) == (primes, pair)

    def test_the_picture_is_always_as_high_and_legible(self):
        for number, largest in (("127/100", 1), ("pi", 150), ("1/150", 150), ("pi/25.4", 1000)):
            svg = limit_view(number=number, largest=largest).svg
            assert ElementTree.fromstring(svg).get("height") == "480"
            assert boxes_off_the_sheet(svg) == boxes_on_each_other(svg) == []

    @pytest.mark.parametrize(
        ("x", "typed"), [("127/100", "127/100"), (Fraction(5, 4), "5/4"), (sympy.pi * 3 / 2, "3/2 pi"), (3, "3")]
    )
    def test_a_number_given_in_code_stands_in_the_box_as_one_types_it(self, x, typed):
        explorer = limit_on_teeth(x)
        assert explorer.values["number"] == typed
        assert explorer.message == ""

    @given(anything, anything)
    @examples(60)
    def test_anything_else_is_refused_in_our_words(self, number, largest):
        for wrong in ({"number": number}, {"largest": largest}):
            assert said_in_our_words(limit_view, **wrong)


class TestEditTheSet:
    def test_a_127_makes_the_metric_threads_exact(self):
        explorer = edit_the_set(INCH, threads=("M6", "M10"))
        assert "exact" not in {row["error"] for row in explorer.shown.facts}
        explorer.set(gears="20 40 50 60 80 127")
        assert {row["error"] for row in explorer.shown.facts} == {"exact"}
        assert {row["verdict, share used"] for row in explorer.shown.facts} == {"exact"}

    def test_signs_and_units_of_every_row(self):
        view = set_view(INCH, gears=INCH.gears, threads="M5, M6, M8, M10, M12, M16, module 1")
        for row in view.facts:
            wanted = {
                "M5x0.8": 0.8,
                "M6x1": 1,
                "M8x1.25": 1.25,
                "M10x1.5": 1.5,
                "M12x1.75": 1.75,
                "M16x2": 2,
                "module 1": math.pi,
            }[row["thread"]]
            miss = float(lead_of(row, INCH)) / wanted - 1
            for mm in (25, 100, 300):
                sign, size = re.fullmatch(r"([+−])([\d.]+) µm", row[f"over {mm} mm"]).groups()
                assert sign == ("+" if miss > 0 else "−")
                assert float(size) == pytest.approx(abs(miss) * mm * 1000, rel=0.01, abs=0.06)

    def test_the_share_used_is_of_the_engagement_asked_for(self):
        seen = {}
        for engagement in ("1 diameter", "10 mm", "2 d", "20", "20 mm"):
            row = set_view(INCH, gears="20 40 50 60 63 80 30", threads="M10", engagement=engagement).facts[0]
            seen[engagement] = float(re.search(r"([\d.]+) %", row["verdict, share used"])[1])
        assert seen["1 diameter"] == seen["10 mm"]
        assert seen["2 d"] == seen["20"] == seen["20 mm"] == pytest.approx(2 * seen["10 mm"], rel=0.05)

    def test_the_verdict_goes_by_the_share_allowed(self):
        gears = "20 25 30 40 50 60 80 38"
        used = set_view(INCH, gears=gears, threads="M8").facts[0]["verdict, share used"]
        share = float(re.search(r"([\d.]+) %", used)[1])
        assert 2 < share < 98
        below, above = (
            set_view(INCH, gears=gears, threads="M8", share=allowed).facts[0]["verdict, share used"]
            for allowed in (math.floor(share) - 1, math.ceil(share) + 1)
        )
        assert below.startswith("too much")
        assert above.startswith("fine")

    def test_more_than_all_of_it_spoils_the_thread(self):
        row = set_view(INCH, gears="20 25 30 40 50 60 80 38", threads="M12", engagement="100 mm").facts[0]
        assert row["verdict, share used"].startswith("spoilt: ")

    def test_what_is_not_judged_is_named(self):
        view = set_view(INCH, gears=INCH.gears, threads="M10, 1.25 mm, module 1; Tr 20x4")
        assert (
            view.note
            == "Not judged, since no tolerance is held here: 1.25 mm, module 1, Tr 20x4. Look at what it is off."
        )
        assert [row["verdict, share used"] for row in view.facts][1:] == ["not judged"] * 3

    def test_gears_that_make_nothing_are_told_why(self):
        with pytest.raises(NotPossibleError, match=r"no train for any of these threads.*M10x1.5:"):
            set_view(INCH, gears="20", threads="M10")

    def test_the_lathe_keeps_its_own_gears(self):
        owned = INCH.gears
        set_view(INCH, gears="20 40 127", threads="M10")
        assert INCH.gears == owned

    def test_threads_and_gears_may_come_as_lists(self):
        by_text = set_view(INCH, gears="20 40 50 60 127", threads="M6, M10")
        assert set_view(INCH, gears=[20, 40, 50, 60, 127], threads=["M6", "M10"]).facts == by_text.facts
        assert edit_the_set(INCH, "M6; M10", gears=(20, 40, 50, 60, 127)).shown.facts == by_text.facts

    def test_many_threads_stay_legible(self):
        threads = (
            "M5, M6, M8, M10, M12, M16, M20, 1/4-20 UNC-2A, 1/2-13 UNC-3A LH, M24, Tr 20x4, module 1.25, DP 20, 8 BA"
        )
        svg = set_view(METRIC, gears=METRIC.gears, threads=threads).svg
        assert boxes_off_the_sheet(svg) == boxes_on_each_other(svg) == []

    @given(anything, anything, anything, anything)
    @examples(40)
    def test_anything_else_is_refused_in_our_words(self, gears, threads, engagement, share):
        good = {"gears": "20 40 60", "threads": "M10"}
        for wrong in ({"gears": gears}, {"threads": threads}, {"engagement": engagement}, {"share": share}):
            assert said_in_our_words(set_view, lathe=INCH, **{**good, **wrong})


class TestReadGears:
    @pytest.mark.parametrize("text", ["20 24 40 40", "20,24,40,40", " 20; 24\t40 , 40 ", "20\n24\n40\n40"])
    def test_whatever_stands_between(self, text):
        assert read_gears(text) == (20, 24, 40, 40)

    @in_one("text", ["", " , ", "5", "20 x", "20.5", "-20", "1001", "२०", "20 " * 400, [], [20.5], [None], 20])
    def test_refuses_what_is_no_set(self, text):
        with pytest.raises(ValueOutOfRangeError):
            read_gears(text)


class TestReadThreads:
    def test_a_comma_between_digits_is_a_decimal_comma(self):
        assert [str(thread) for thread in read_threads("M6,M8, 1,25 mm;16 tpi\n1/4-20")] == [
            "M6x1",
            "M8x1.25",
            "1.25 mm",
            "16 tpi",
            "1/4-20 UNC",
        ]

    def test_the_same_thread_twice_is_one(self):
        assert len(read_threads("M6, M6x1, m6")) == 1

    @in_one(
        ("text", "error"),
        [
            ("", ValueOutOfRangeError),
            ("M6 " * 400, ValueOutOfRangeError),
            ("M6, banana", ThreadTextError),
            (["M6", None], GearcalcError),
            (["M6"] * 15, ValueOutOfRangeError),
            (None, ValueOutOfRangeError),
        ],
    )
    def test_refuses_what_is_no_thread(self, text, error):
        with pytest.raises(error):
            read_threads(text)


class TestReadEngagement:
    @in_one(
        ("text", "found"),
        [
            ("1 diameter", (1, None)),
            ("1,5 D", (Fraction(3, 2), None)),
            ("2 diameters", (2, None)),
            ("25", (None, 25)),
            ("12.5mm", (None, Fraction(25, 2))),
            (" 1 1/2 MM ", (None, Fraction(3, 2))),
        ],
    )
    def test_diameters_or_millimetres(self, text, found):
        assert read_engagement(text) == found

    @in_one("text", ["", "mm", "-1 mm", "1 inch", "0", "1001", "1/0", "1e3", "9" * 50, None, 25])
    def test_refuses_what_is_neither(self, text):
        with pytest.raises(ValueOutOfRangeError):
            read_engagement(text)


class TestReadNumbers:
    @pytest.mark.parametrize("given_", [7, "7", " 7 ", "07"])
    def test_whole_numbers(self, given_):
        assert read_whole(given_, "it", 9) == 7

    @pytest.mark.parametrize("given_", ["12,5", 12.5, "12 1/2", Fraction(25, 2)])
    def test_lengths(self, given_):
        assert read_number(given_, "it", 1, 100) == Fraction(25, 2)

    def test_a_wide_box_says_so(self):
        assert (text_box("a", "A", "")["wide"], text_box("a", "A", "", wide=True)["wide"]) == (False, True)
