"""Both units say the same quantity: each number is read out of the text again, and held against the exact one.

The inch is 25.4 mm by definition (ISO 31-1; the international yard and pound agreement of 1959).
"""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics import both_units, writing
from gearcalc.basics.exact import PiMultiple
from gearcalc.papers.tables import captioned
from gearcalc.pictures.train_pictures import TrainDrawing
from tests.how_much import examples, in_one
from tests.strategies import exact_numbers, positive_fractions

INCH = Fraction(254, 10)
PI = Fraction(31415926535897932384626433832795, 10**31)
UNITS = st.sampled_from(["mm", "inch"])
NUMBER = re.compile(r"(≈ )?([−+]?)(?:less than )?(\d+(?:\.\d+)?)")


def held(text: str, exact: Fraction) -> None:
    """The first number in the text is the exact one, rounded where it says so, by half of its last place."""
    found = NUMBER.search(text)
    assert found is not None, text
    places = len(found[3].partition(".")[2])
    if found[1]:
        # zeros at the end are not written: 5 places are the most that are shown
        assert abs(Fraction(found[3]) - exact) <= max(Fraction(1, 2 * 10**places), exact / 10**9), (text, exact)
    else:
        assert Fraction(found[3]) == exact, (text, exact)


def number(exact: Fraction | PiMultiple) -> Fraction:
    return exact.coefficient * PI if isinstance(exact, PiMultiple) else exact


def halves(text: str) -> tuple[str, str]:
    """What stands first, and what stands behind it in brackets."""
    first, _, behind = text.partition(" (")
    return first, behind.removesuffix(")")


class TestLead:
    @examples(100)
    @given(exact_numbers, st.integers(1, 4), UNITS)
    def test_both_say_the_lead(self, lead, starts, units):
        said = writing.lead(lead, starts, units).text
        first, behind = halves(said)
        in_mm, in_tpi = (first, behind) if units == "mm" else (behind, first)
        assert in_mm.endswith(" mm")
        assert " tpi" in in_tpi
        assert (f"{starts} starts" in in_tpi) == (starts > 1)
        in_mm, in_tpi = in_mm.rpartition(" mm ")[2], in_tpi.removeprefix(f"{starts} starts, ")
        held(in_mm if " mm ≈" not in in_mm else in_mm.partition(" mm ")[2], number(lead))
        held(in_tpi, starts * INCH / number(lead))

    @pytest.mark.parametrize(
        ("thread", "inch", "mm"),
        [
            # ASME B1.1 (UNC), BS 84 (BSW), ISO 261: designations; 25.4 mm / tpi by hand
            ("1/4-20 UNC", "20 tpi (1.27 mm)", "1.27 mm (20 tpi)"),
            ("3/8-16 UNC", "16 tpi (1.5875 mm)", "1.5875 mm (16 tpi)"),
            ("1/2 BSW", "12 tpi (≈ 2.1167 mm)", "≈ 2.1167 mm (12 tpi)"),
            ("M10", "≈ 16.933 tpi (1.5 mm)", "1.5 mm (≈ 16.933 tpi)"),
        ],
    )
    def test_standard_threads_on_a_lathe_of_either_owner(self, thread, inch, mm):
        lathe = gc.demo_lathe("inch").with_gears(add=127)
        for units, said in (("inch", inch), ("mm", mm)):
            made = gc.find_setups(lathe.with_show(units=units), thread, count=1)[0]
            assert made.is_exact
            assert f": lead {said}, exact" in str(made)


class TestLengths:
    @examples(60)
    @given(positive_fractions, st.integers(1, 4))
    def test_what_is_moved(self, mm, places):
        first, behind = halves(both_units.travel(mm, "inch", places).text)
        held(first, mm / INCH)
        held(behind, mm)
        assert first.endswith(" in")
        assert behind == both_units.travel(mm, "mm", places).text

    @examples(60)
    @given(positive_fractions, UNITS)
    def test_feeds(self, mm, units):
        parts = halves(both_units.feed(mm, units).text)
        in_mm, inches = parts if units == "mm" else parts[::-1]
        assert in_mm.endswith("mm/rev")
        assert inches.endswith("in/rev")
        held(in_mm, mm)
        held(inches, mm / INCH)

    @examples(60)
    @given(st.fractions(Fraction(1, 100), 500, max_denominator=10**4))
    def test_what_is_turned(self, mm):
        for units, places in (("mm", 3), ("inch", 4)):
            said = Fraction(NUMBER.search(writing.cut(mm, units))[3])
            assert abs(said - (mm if units == "mm" else mm / INCH)) <= Fraction(1, 2 * 10**places)
        assert halves(both_units.cut_both_ways(mm, "inch")) == halves(both_units.cut_both_ways(mm))[::-1]

    @examples(60)
    @given(st.fractions(-300, 300, max_denominator=10**4))
    def test_errors_have_one_sign(self, um):
        um_said, thou_said = (both_units.off(float(um), units).text for units in ("mm", "inch"))
        assert um_said.endswith("µm")
        assert thou_said.endswith("thou")
        assert um_said[0] == thou_said[0] or um == 0
        sign = -1 if thou_said.startswith("−") else 1
        if "less than" not in thou_said:
            said = sign * Fraction(NUMBER.search(thou_said)[3])
            assert abs(said - um / INCH) <= max(Fraction(1, 2000), abs(um / INCH) / 100)

    def test_thou_read_otherwise_than_the_limit_that_they_are_held_against(self):
        assert both_units.off(12.701, "inch", beside=12.7).text == "+0.50004 thou"
        assert both_units.off(12.701, "inch", beside=25.4).text == "+0.5 thou"


class TestSpan:
    def test_inches_have_one_place_more(self):
        said = both_units.span(Fraction(1), Fraction(2), "inch", places=2)
        assert said == "0.039 to 0.079 in (1 to 2 mm)"

    @examples(40)
    @given(positive_fractions, positive_fractions, st.sampled_from(["to", "±"]))
    def test_both_say_both_ends(self, low, high, link):
        inches, in_mm = halves(both_units.span(low, high, "inch", link=link))
        assert in_mm == both_units.span(low, high, link=link)
        for said, unit, places, scale in ((inches, " in", 5, INCH), (in_mm, " mm", 4, 1)):
            ends = said.removesuffix(unit).split(f" {link} ")
            assert [abs(Fraction(end) - exact / scale) <= Fraction(1, 2 * 10**places)
                    for end, exact in zip(ends, (low, high), strict=True)] == [True, True]  # fmt: skip


class TestTeeth:
    # ISO 54, the modules in millimetres, from memory
    MODULES = (0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 0.35, 0.45, 0.55, 0.7, 0.75, 0.9, 1.125,
               1.375, 1.75, 2.25, 2.75, 3.5, 4.5)  # fmt: skip

    def test_modules_read_as_modules(self):
        for module in self.MODULES:
            assert both_units.size_of_teeth(module).startswith("module ")
            assert both_units.size_of_teeth(module).endswith(f" {module:g} mm")

    def test_pitches_read_as_pitches(self):
        for pitch in range(4, 65):
            assert both_units.size_of_teeth(25.4 / pitch) == f"DP {pitch}"

    def test_on_a_picture(self):
        shown = TrainDrawing(gc.Train((40,), (80,)), module_mm=25.4 / 18).picture()._repr_html_()
        assert "DP 18, schematic" in shown
        assert "1.41" not in shown


class TestJudge:
    """The same verdict in either unit; what is said in inches is what is said in millimetres."""

    @examples(40)
    @given(st.sampled_from(["M10", "1/4-20 UNC", "1/2 BSW", "16 tpi", "Tr 40x7"]), st.integers(-3000, 3000))
    def test_only_the_words_differ(self, thread, ppm):
        metric, inch = (gc.judge(thread, ppm, units=units) for units in ("mm", "Inch"))
        for name in ("ok", "share_used", "allowed_ppm", "tolerance_um", "fails", "engagement_mm"):
            assert getattr(metric, name) == getattr(inch, name)
        assert ("not for a leadscrew" in metric.why) == ("not for a leadscrew" in inch.why)
        assert not re.search(r"\d (mm|µm)\b", inch.why)
        assert not re.search(r"\d (in|thou)\b", metric.why)
        if ppm:
            # 12 inches: ppm × 12 in in thousandths
            said = re.search(r"Over 12 in it is ([\d.]+|less than 0.001) thou too (long|short)", inch.why)
            assert said[2] == ("long" if ppm > 0 else "short")
            assert abs(Fraction(said[1]) - Fraction(abs(ppm) * 12, 1000)) <= Fraction(6, 100)

    def test_a_thread_worked_by_hand(self):
        """1/4-20 UNC: 250 ppm over its 0.25 in of engagement; over a foot 0.003 in, more than 2 thou."""
        said = gc.judge("1/4-20 UNC", 250, units="inch").why
        assert "over 0.25 in of engagement" in said
        assert "Over 12 in it is 3 thou too long: not for a leadscrew (our convention: at most 2 thou)" in said


class TestErrorTable:
    def test_thou_over_inches_are_micrometres_over_millimetres(self):
        """An error grows with the length: over 25.4 mm it is 25.4/25 of that over 25 mm; a thou is 25.4 µm."""
        lathe, threads = gc.demo_lathe("inch"), ["M6", "M10", "16 tpi"]
        metric, inch = (gc.pitch_error_table(lathe, threads, units=units) for units in ("mm", "inch"))
        over = ["error_thou_at_1in", "error_thou_at_4in", "error_thou_at_12in"]
        assert [name for name in inch.columns if "_at_" in name] == over
        for name, inches, mm in zip(over, (1, 4, 12), (25, 100, 300), strict=True):
            wanted = [um / 25.4 * inches * 25.4 / mm for um in metric[f"error_um_at_{mm}mm"]]
            assert list(inch[name]) == pytest.approx(wanted)
        shown = captioned(inch, "Errors")._repr_html_()
        assert "over 12 in" in shown
        assert "thou" in shown
        assert "µm" not in shown


class TestListOfSetups:
    def test_the_owners_unit_has_the_first_column(self):
        for units, heads in (("inch", ["threads per inch", "lead"]), ("mm", ["lead", "threads per inch"])):
            lathe = gc.demo_lathe("inch").with_show(units=units)
            shown = gc.find_setups(lathe, "16 tpi", count=1)._repr_html_()
            assert re.findall(r">(lead|threads per inch|feed)</th>", shown) == heads
            feeds = gc.find_setups(lathe, "4 thou", count=1)._repr_html_()
            assert re.findall(r">(lead|threads per inch|feed)</th>", feeds) == ["feed"]
            assert (feeds.index("in/rev") < feeds.index("mm/rev", feeds.index("<td"))) == (units == "inch")


class TestCard:
    @in_one("thread", ["M6", "1/4-20 UNC", "1/2 BSW", "module 1", "0.1 mm/rev", "4 thou"])
    def test_either_owner_reads_the_same_settings(self, thread):
        """The two units change places and nothing else; what has no unit is the same to the letter."""
        for demo in ("inch", "metric"):
            lathes = [gc.demo_lathe(demo).with_show(units=units) for units in ("inch", "mm")]
            inch, mm = (
                dict(gc.change_card(lathe, to=gc.find_setups(lathe, thread, count=1)[0]).settings) for lathe in lathes
            )
            assert inch.keys() == mm.keys()
            for name in ("lead", "feed"):
                if name in inch:
                    assert halves(inch[name]) == halves(mm[name])[::-1]
            for name in inch.keys() - {"lead", "feed", "does it matter", "half-nuts"}:
                assert inch[name] == mm[name]


class TestScratchPass:
    def test_an_inch_owner_reads_inches_and_measures_the_same(self):
        """M10, 1.5 mm: so many turns of it, in inches by 25.4."""
        lathe = gc.demo_lathe("inch").with_gears(add=127)
        made = gc.find_setups(lathe, "M10", count=1)[0]
        check, other = (
            gc.scratch_check(
                gc.setup(lathe.with_show(units=units), made.train.drivers, made.train.driven, made.lever, wanted="M10")
            )
            for units in ("inch", "mm")
        )
        assert (check.turns, check.travel_mm, check.near) == (other.turns, other.travel_mm, other.near)
        moved = re.search(r"([\d.]+) in \(([\d.]+) mm\)", check.words)
        assert Fraction(moved[2]) == check.travel_mm
        assert abs(Fraction(moved[1]) - check.travel_mm / INCH) <= Fraction(1, 2000)
        for told, near in zip(re.findall(r"([\d.]+) in would be", check.told_apart), check.near, strict=True):
            assert abs(Fraction(told) - Fraction(near.reads_mm) / INCH) <= Fraction(1, 2000) + Fraction(1, 10**6)

    def test_an_inch_thread_is_counted_in_inches(self):
        inch = gc.setup(gc.demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")
        assert gc.scratch_check(inch).words == "16 threads in an inch, over 16 turns of the spindle (25.4 mm)."


class TestProof:
    @examples(30)
    @given(st.integers(1, 30), st.integers(1, 40))
    def test_only_the_words_differ(self, turns, tenths):
        arguments = "16 tpi", turns, turns * INCH / 16, Fraction(tenths, 40)
        metric, inch = (gc.judge_measurement(*arguments, units=units) for units in ("mm", "inch"))
        assert (metric.agrees, metric.also_possible) == (inch.agrees, inch.also_possible)
        low, high, low_mm, high_mm = map(
            Fraction, re.search(r"leads of ([\d.]+) to ([\d.]+) in \(([\d.]+) to ([\d.]+) mm\)", inch.why).groups()
        )
        assert abs(low * INCH - low_mm) <= Fraction(1, 5000)
        assert abs(high * INCH - high_mm) <= Fraction(1, 5000)
        assert f"leads of {writing.decimal(low_mm)} to {writing.decimal(high_mm)} mm" in metric.why
