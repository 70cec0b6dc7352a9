"""Every row of the plate on the machine, worked out."""

from __future__ import annotations

import re
from fractions import Fraction
from html import unescape

import pytest
from attrs import evolve

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.plates import _EASILY_WRONG, _half_a_turn_on, check_plate, fit_of_plate
from gearcalc.finding.search import find_setups
from gearcalc.fits import fit
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.parts import Slot
from gearcalc.lathes.trains import Train
from tests.how_much import in_one

LATHE = """
name = "A lathe with a plate"
leadscrew.lead = "8 tpi"
gears.teeth = [40, 40, 60, 63, 80]
{sections}
[plate]
"{thread}" = {{ {row} }}
"""
LEVERS = '[[gearbox]]\nlever = "low"\nratio = "1/2"\n[[gearbox]]\nlever = "high"\nratio = "2"\n'


def only_row(thread, row, sections="", within_ppm=0):
    (checked,) = check_plate(Lathe.from_toml(LATHE.format(thread=thread, row=row, sections=sections)), within_ppm)
    return checked


class TestCheckPlate:
    @pytest.mark.parametrize("name", ["inch", "metric", "odd"])
    def test_the_demo_plates_are_right(self, name):
        rows = check_plate(demo_lathe(name))
        assert [row.problems for row in rows] == [()] * len(demo_lathe(name).plate)
        assert {row.error_ppm for row in rows} == {0.0}

    def test_no_plate_no_rows(self):
        assert check_plate(Lathe.from_toml('name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = []')) == []

    def test_right_by_arithmetic(self):
        # 8 tpi × 80/40 = 16 tpi: one turn moves the carriage 25.4/16 mm.
        row = only_row("16 tpi", "drivers = [40], driven = [80], idlers = [[60]]")
        assert row.ok
        assert row.setup.lead_mm == Fraction(127, 5) / 16
        assert str(row) == "16 tpi: cuts what it says."

    def test_another_thread_than_it_says(self):
        row = only_row("12 tpi", "drivers = [40], driven = [80]")
        assert not row.ok
        assert row.error_ppm == -250_000
        assert "16 tpi" in row.problems[0]
        assert "−250\u202f000 ppm" in row.problems[0]

    def test_a_near_miss_counts_only_when_allowed(self):
        # 8 tpi × 40/63 = 12.6 tpi is 25.4/12.6 mm, 7 937 ppm over 2 mm.
        gears = "drivers = [40], driven = [63]"
        assert only_row("2 mm", gears).error_ppm == pytest.approx((25.4 / 12.6 / 2 - 1) * 1e6)
        assert [only_row("2 mm", gears, within_ppm=ppm).ok for ppm in (0, 7900, 8000)] == [False, False, True]

    @pytest.mark.parametrize(
        ("row", "words"),
        [
            ("drivers = [40], driven = [81]", "no gear of 81 teeth"),
            ("drivers = [80, 40], driven = [80, 80]", "1 gear of 80 teeth, and this takes 3"),
            ("drivers = [40], driven = [80], idlers = [[99]]", "no gear of 99 teeth"),
        ],
    )
    def test_gears_not_owned(self, row, words):
        assert words in " ".join(only_row("16 tpi", row).problems)

    def test_gears_not_owned_are_still_worked_out(self):
        row = only_row("16 tpi", "drivers = [50], driven = [100]")
        assert [problem[:25] for problem in row.problems] == ["The set has no gear of 50", "The set has no gear of 10"]
        assert row.error_ppm == 0

    def test_a_lever_that_does_not_exist(self):
        row = only_row("16 tpi", 'drivers = [40], driven = [80], lever = "middle"', LEVERS)
        assert row.setup is None
        assert row.error_ppm is None
        assert row.problems == ("Lever must be one of 'low', 'high'; the row says 'middle'.",)

    def test_a_lever_left_out(self):
        assert "the row names none" in only_row("16 tpi", "drivers = [40], driven = [80]", LEVERS).problems[0]

    def test_a_lever_on_a_lathe_without(self):
        row = only_row("16 tpi", 'drivers = [40], driven = [80], lever = "low"')
        assert row.problems == ("A lathe with a plate has no lever; the row says 'low'. Leave 'low' out.",)

    def test_every_problem_of_a_row_is_named(self):
        row = only_row("16 tpi", 'drivers = [41], driven = [81], lever = "x"', LEVERS)
        assert len(row.problems) == 3

    @pytest.mark.parametrize(("idlers", "right"), [("[]", False), ("[[60]]", True)])
    def test_the_wrong_hand_without_a_reverse(self, idlers, right):
        sections = "[spindle_side]\nreverse = false\n"
        row = only_row("16 tpi", f"drivers = [40], driven = [80], idlers = {idlers}", sections)
        assert row.ok is right
        assert right or "left-hand" in row.problems[0]

    @pytest.mark.parametrize("nonsense", [-1, float("nan"), "x"])
    def test_an_allowance_that_is_none(self, nonsense):
        with pytest.raises(ValueOutOfRangeError):
            check_plate(demo_lathe("inch"), nonsense)

    def test_shows_itself_escaped(self):
        row = only_row("16 tpi", 'drivers = [40], driven = [80], lever = "<b>"', LEVERS)
        assert "<b>" not in row._repr_html_()


def points_moved(bracket, move, slots=True):
    moved = evolve(bracket, spindle_side_at_mm=move(*bracket.spindle_side_at_mm))
    ends = [Slot(move(*slot.from_mm), move(*slot.to_mm)) for slot in bracket.slots]
    return evolve(moved, slots=ends) if slots else moved


BRACKET = """[bracket]
spindle_side_at_mm = [-50, 94]
swing_deg = [-75, 20]
slots = [{from_mm = [-30, 0], to_mm = [-150, 0]}]
"""
MISMEASURED = {
    "the other side of the pivot": lambda bracket: points_moved(bracket, lambda x, y: (-x, y), slots=False),
    "in mm, not in cm": lambda bracket: points_moved(bracket, lambda x, y: (x / 10, y / 10)),
    "in mm, not in inches": lambda bracket: points_moved(bracket, lambda x, y: (x / 25.4, y / 25.4)),
    "swing_deg turned round": lambda b: evolve(b, swing_deg=(-b.swing_deg[1], -b.swing_deg[0])),
    "the slots on the other side": lambda bracket: evolve(
        points_moved(bracket, lambda x, y: (-x, y)), spindle_side_at_mm=bracket.spindle_side_at_mm
    ),
    "swing_deg half a turn on": lambda b: evolve(b, swing_deg=[angle + 180 for angle in b.swing_deg]),
    "swing_deg half a turn": lambda b: evolve(b, swing_deg=[angle - 180 for angle in b.swing_deg]),
}


class TestIdlersOfARow:
    """Where the machine's plate names the idler, find does not name another."""

    PLATE = """
name = "Its plate names idlers"
leadscrew.lead = "4 mm"
spindle_side.reverse = false
gears.teeth = [24, 30, 40, 40, 45, 50, 60]
gears.module_mm = 1.25
[plate]
"3 mm" = { drivers = [30], driven = [40], idlers = [[50]] }
"""
    BRACKET = """
[bracket]
spindle_side_at_mm = [-50.0, 94.0]
swing_deg = [-180, 180]
slots = [{ from_mm = [-10, 0], to_mm = [-150, 0] }]
studs = 2
stud_radius_mm = 5
shaft_radius_mm = 5
running_clearance_mm = 0.5
backlash_mm = 0.2
"""

    @pytest.mark.parametrize(("bracket", "named", "other"), [("", 50, 60), (BRACKET, 60, 50)])
    def test_find_keeps_to_them(self, bracket, named, other):
        lathe = Lathe.from_toml(self.PLATE.replace("[[50]]", f"[[{named}]]") + bracket)
        train = f"30/40, idler {named}"
        assert not bracket or fit(lathe, train).goes_on
        for first in ("simplest", "nearest"):
            assert str(find_setups(lathe, "3 mm", count=1, first=first)[0].train) == train
        mounted = f"30/40, idler {other}"
        assert str(find_setups(lathe, "3 mm", mounted=mounted, count=1)[0].train) == mounted
        assert str(find_setups(lathe, "3 mm", avoid=named, count=1)[0].train) != train


class TestFitOfThePlate:
    """A maker's trains go on the machine: rows that do not are the best sign of a bracket measured wrong."""

    @pytest.mark.parametrize("name", ["inch", "metric", "odd"])
    def test_every_row_of_the_demo_lathes_goes_on(self, name):
        lathe = demo_lathe(name)
        assert all(row.fit.goes_on for row in check_plate(lathe))
        assert fit_of_plate(lathe, check_plate(lathe)) == (
            f"All {len(lathe.plate)} rows of the plate go on the bracket of the file.",
        )

    @in_one("cause", MISMEASURED)
    def test_says_which_mistake_would_explain_it(self, cause):
        lathe = demo_lathe("inch")
        wrong = evolve(lathe, bracket=MISMEASURED[cause](lathe.bracket))
        first, second = fit_of_plate(wrong, check_plate(wrong))
        assert "do not go on" in first
        assert cause in second
        assert second.startswith("17 of the 17 would go on")

    def test_all_that_explain_it_as_well_are_named(self):
        """The one slot lies through the pivot: on its other side, it is where half a turn of the bracket puts it."""
        lathe = demo_lathe("inch")
        for cause in ("the slots on the other side", "swing_deg half a turn on"):
            wrong = evolve(lathe, bracket=MISMEASURED[cause](lathe.bracket))
            said = fit_of_plate(wrong, check_plate(wrong))[1]
            assert "the slots on the other side" in said
            assert "swing_deg half a turn on" in said

    def test_a_plate_of_one_row(self):
        inch = demo_lathe("inch")
        lathe = evolve(inch, plate=inch.plate[:1])
        assert fit_of_plate(lathe, check_plate(lathe)) == ("The one row of the plate goes on the bracket of the file.",)
        wrong = evolve(lathe, bracket=evolve(lathe.bracket, swing_deg=(0, 0)))
        assert fit_of_plate(wrong, check_plate(wrong))[0].startswith("The one row of the plate does not go on")

    def test_each_row_agrees_with_the_fit_of_its_train(self):
        lathe = demo_lathe("inch")
        wrong = evolve(lathe, bracket=evolve(lathe.bracket, swing_deg=(-20, 20)))
        rows = check_plate(wrong)
        assert {row.fit.goes_on for row in rows} == {True, False}
        for row in rows:
            by_hand = fit(wrong, Train(row.row.drivers, row.row.driven, row.row.idlers))
            assert row.fit.goes_on == by_hand.goes_on
            assert ("does not go on" in str(row)) is not row.fit.goes_on

    def test_no_mistake_that_explains_it(self):
        lathe = demo_lathe("inch")
        wrong = evolve(lathe, bracket=evolve(lathe.bracket, swing_deg=(0, 0)))
        assert fit_of_plate(wrong, check_plate(wrong))[1].startswith("Measure again: ")

    @pytest.mark.parametrize(("sections", "words"), [("", "no [bracket]"), (BRACKET, "no size of tooth")])
    def test_says_why_it_is_not_checked(self, sections, words):
        lathe = Lathe.from_toml(LATHE.format(thread="16 tpi", row="drivers=[40], driven=[80]", sections=sections))
        (said,) = fit_of_plate(lathe, check_plate(lathe))
        assert said.startswith("The fit is not checked")
        assert words in said


class TestWordForWord:
    def rows(self, checked):
        cells = re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", checked._repr_html_())
        return list(zip(cells[::2], map(unescape, cells[1::2]), strict=True))

    def test_a_row_that_is_right_and_one_that_is_not(self):
        wrong = only_row("2 mm", "drivers = [40], driven = [63]")
        assert str(wrong) == "2 mm: It cuts a lead of 12.6 tpi (≈ 2.0159 mm), +7937 ppm off."
        assert self.rows(wrong) == [
            ("gears", "40/63"),
            ("verdict", "It cuts a lead of 12.6 tpi (≈ 2.0159 mm), +7937 ppm off."),
            ("fit", "not checked"),
        ]
        good = only_row("16 tpi", 'drivers = [40], driven = [40], lever = "low"', LEVERS)
        assert str(good) == "16 tpi: cuts what it says."
        assert self.rows(good) == [
            ("gears", "40/40"),
            ("lever", "low"),
            ("verdict", "as it says"),
            ("fit", "not checked"),
        ]
        assert ">Plate row 16 tpi<" in good._repr_html_()

    def test_the_wrong_hand(self):
        row = only_row("16 tpi LH", "drivers = [40], driven = [80], idlers = [[60]]", "spindle_side.reverse = false")
        assert row.problems == ("It cuts a right-hand thread, and the lathe has no reverse.",)

    def test_what_does_not_go_on_says_why(self):
        inch = demo_lathe("inch")
        wrong = evolve(inch, plate=inch.plate[:1], bracket=evolve(inch.bracket, swing_deg=(0, 0)))
        (row,) = check_plate(wrong)
        assert row.ok
        assert str(row) == (
            f"{row.row.thread}: cuts what it says. It does not go on the bracket of the file. {row.fit.reasons[0]}"
        )

    @in_one(
        ("within", "ok"), [(0, False), (7936, False), (7937, True), ("good enough", False), (None, True), (10**6, True)]
    )
    def test_what_still_counts(self, within, ok):
        # 25.4 / 12.6 mm is 2 mm and 1/126 more: 7936.5 ppm.
        assert only_row("2 mm", "drivers = [40], driven = [63]", within_ppm=within).ok is ok

    def test_just_as_far_off_as_may_be(self):
        # 8 tpi and 40/80 cut 16 tpi; a row that says 20 tpi is off by a quarter.
        row = "drivers = [40], driven = [80]"
        assert [only_row("20 tpi", row, within_ppm=ppm).ok for ppm in (249_999, 250_000)] == [False, True]

    def test_a_bracket_and_no_plate(self):
        bare = evolve(demo_lathe("inch"), plate=())
        said = ("The file describes a bracket, but has no plate whose rows could be tried on it.",)
        assert fit_of_plate(bare, check_plate(bare)) == said

    def test_a_bracket_and_no_row_that_stands(self):
        bare = evolve(demo_lathe("inch"), gear_set=GearSet([20, 30], module_mm=1.25))
        assert fit_of_plate(bare, check_plate(bare)) == (
            "The file describes a bracket, but no row of its plate could be tried on it.",
        )

    def test_a_position_of_two_levers_can_be_put_right(self):
        row = '"2 mm" = {drivers = [40], driven = [80], lever = "A"}'
        lathe = Lathe.from_toml(
            'name = "T"\nleadscrew.lead = "4 mm"\ngears.teeth = [40, 80]\n'
            'lever = [{name = "range", positions = {A = 1, B = "1/2"}}, {name = "knob", positions = {A = 1, C = 2}}]\n'
            f"[plate]\n{row}\n"
        )
        said = str(check_plate(lathe)[0])
        assert "More than one lever has this position; the row says 'A'. Write 'range A' or 'knob A'." in said

    def test_one_of_several_and_all_but_one(self):
        inch = demo_lathe("inch")
        for swing in range(-70, 20, 10):
            wrong = evolve(inch, plate=inch.plate[:4], bracket=evolve(inch.bracket, swing_deg=(swing, swing + 1)))
            rows = check_plate(wrong)
            off = sum(not row.fit.goes_on for row in rows)
            first, *rest = fit_of_plate(wrong, rows)
            if not off:
                assert (first, rest) == ("All 4 rows of the plate go on the bracket of the file.", [])
                continue
            assert first == (
                f"{off} of the 4 rows of the plate {'does' if off == 1 else 'do'} not go on the bracket of the file. "
                "The maker's own trains go on, so the bracket is likely measured wrong."
            )
            would = re.match(
                r"(\d) of the 4 would go on with .*\. Measure again before you change the file\.$", rest[0]
            )
            assert (
                rest[0].startswith("Measure again: spindle_side_at_mm, swing_deg, ")
                if would is None
                else (int(would[1]) > 4 - off)
            )


class TestEveryMistakeMended:
    """Each of the mistakes, as it is mended, on a bracket whose numbers all differ; the swing to half a turn on."""

    BRACKET = evolve(
        demo_lathe("inch").bracket,
        spindle_side_at_mm=(3.0, 7.0),
        swing_deg=(-20.0, 75.0),
        slots=(Slot((2.0, 1.0), (15.0, 4.0)),),
        stud_radius_mm=0.5,
        shaft_radius_mm=0.5,
    )

    def test_what_is_where_when_it_is_mended(self):
        spindle, swing, slot = (3.0, 7.0), (-20.0, 75.0), (2.0, 1.0, 15.0, 4.0)
        expected = {
            "with the spindle side on the other side": ((-3.0, 7.0), swing, slot),
            "with the slots on the other side": (spindle, swing, (-2.0, 1.0, -15.0, 4.0)),
            "with the two numbers of spindle_side_at_mm changed": ((7.0, 3.0), swing, slot),
            "with spindle_side_at_mm and slots ten times": ((30.0, 70.0), swing, (20.0, 10.0, 150.0, 40.0)),
            "with spindle_side_at_mm and slots 25.4 times": ((76.2, 177.8), swing, (50.8, 25.4, 381.0, 101.6)),
            "with swing_deg turned round": (spindle, (-75.0, 20.0), slot),
            "with swing_deg half a turn on": (spindle, (160.0, 255.0), slot),
        }
        for (words, mended), (begins, (at, turned, ends)) in zip(_EASILY_WRONG.items(), expected.items(), strict=True):
            found = mended(self.BRACKET)
            assert words.startswith(begins)
            assert found.spindle_side_at_mm == pytest.approx(at)
            assert found.swing_deg == turned
            ((start, end),) = [(each.from_mm, each.to_mm) for each in found.slots]
            assert (*start, *end) == pytest.approx(ends)

    @in_one(
        ("swing", "on"),
        [
            ((-20.0, 179.0), (160.0, 359.0)),
            ((-20.0, 180.0), (160.0, 360.0)),
            ((-20.0, 180.5), (-200.0, 0.5)),
            ((90.0, 360.0), (-90.0, 180.0)),
        ],
    )
    def test_half_a_turn_on_stays_within_a_turn_either_way(self, swing, on):
        assert _half_a_turn_on(evolve(self.BRACKET, swing_deg=swing)).swing_deg == on

    def test_of_several_reasons_the_first_is_given(self):
        inch = demo_lathe("inch")
        wrong = [evolve(inch, bracket=evolve(inch.bracket, shaft_radius_mm=mm, swing_deg=(0, 5))) for mm in (20, 40)]
        several = [row for lathe in wrong for row in check_plate(lathe) if len(row.fit.reasons) > 1]
        assert several
        assert all(str(row).endswith(row.fit.reasons[0]) for row in several)
