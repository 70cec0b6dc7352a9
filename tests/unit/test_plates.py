"""Every row of the plate on the machine, worked out."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearcalc.errors import ValueOutOfRangeError
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.plates import check_plate

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
    @pytest.mark.parametrize("name", ["inch", "metric"])
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
        assert "−250000 ppm" in row.problems[0]

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
        assert row.problems == ("A lathe with a plate has no lever; the row says 'low'.",)

    def test_every_problem_of_a_row_is_named(self):
        row = only_row("16 tpi", 'drivers = [41], driven = [81], lever = "x"', LEVERS)
        assert len(row.problems) == 3

    @pytest.mark.parametrize(("idlers", "right"), [("[]", False), ("[[60]]", True)])
    def test_the_wrong_hand_without_a_reverse(self, idlers, right):
        sections = "[spindle_side]\nreverse = false\n"
        row = only_row("16 tpi", f"drivers = [40], driven = [80], idlers = {idlers}", sections)
        assert row.ok is right
        assert right or "left-hand" in row.problems[0]

    @pytest.mark.parametrize("nonsense", [-1, float("nan"), "x", None])
    def test_an_allowance_that_is_none(self, nonsense):
        with pytest.raises(ValueOutOfRangeError):
            check_plate(demo_lathe("inch"), nonsense)

    def test_shows_itself_escaped(self):
        row = only_row("16 tpi", 'drivers = [40], driven = [80], lever = "<b>"', LEVERS)
        assert "<b>" not in row._repr_html_()
