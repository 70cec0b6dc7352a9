"""The rivals of the search: they find what find_setups finds, also with gears owned twice, and are left far behind."""

from __future__ import annotations

from fractions import Fraction
from math import prod

import pytest

from gearcalc.basics.exact import RelativeError
from gearcalc.finding.search import find_setups
from tests.benchmarks.rivalry import seconds, timed
from tests.benchmarks.search import (
    COUNT,
    WANTED,
    Nearest,
    a_lathe,
    by_combinations,
    by_program,
    by_table,
    choices,
    gear_set,
    ratio_tables,
    search_alone,
)


def test_the_search_beats_trying_everything_many_times_over():
    # Measured in one run at 20 gears, 6 in the train: some hundred times; ten leaves room for a busy machine.
    gears, meshes, wanted = gear_set(20, "distinct"), (1, 2, 3), WANTED[0]
    lathe = a_lathe(gears)
    sides = [choices(gears, each) for each in meshes]
    ours = seconds(lambda: find_setups(lathe, wanted, meshes, COUNT), at_most=0.02)
    assert timed(lambda: by_combinations(Nearest(lathe, wanted), sides)) > 10 * ours


class TestSearchAlone:
    @pytest.mark.parametrize("wanted", WANTED, ids=str)
    def test_finds_what_find_setups_finds(self, wanted):
        lathe, gears = a_lathe(gear_set(12, "distinct")), gear_set(12, "distinct")
        turns = lathe.leadscrew_lead_mm * lathe.spindle_ratio
        found = search_alone(lathe, wanted, gears, (1, 2))
        errors = [RelativeError(turns * prod(each.drivers) / prod(each.driven), wanted.lead) for each in found]
        assert errors == [each.error for each in find_setups(lathe, wanted, (1, 2), COUNT)]


class TestRivals:
    @pytest.mark.parametrize("wanted", WANTED, ids=str)
    @pytest.mark.parametrize("gears", [[20, 20, 25, 30, 40, 40, 40, 50, 55, 60], gear_set(11, "distinct")], ids=str)
    def test_find_the_same_errors_with_gears_owned_twice_too(self, wanted, gears):
        lathe = a_lathe(gears)
        sides = [choices(gears, meshes) for meshes in (1, 2)]
        expected = by_combinations(Nearest(lathe, wanted), sides)
        assert expected == by_table(Nearest(lathe, wanted), sides, ratio_tables(sides))
        found = find_setups(lathe, wanted, (1, 2), COUNT)
        assert expected == [each.error for each in found]
        assert by_program(lathe, wanted, gears, 2) == expected[0]

    def test_report_errors_of_the_lead(self):
        # 8 tpi by 20/40: 16 tpi, against 13 tpi wanted: 13/16 − 1.
        lathe = a_lathe([20, 40])
        errors = by_combinations(Nearest(lathe, WANTED[1]), [choices([20, 40], 1)])
        assert errors[0] == RelativeError(Fraction(13, 16), Fraction(1)) == by_program(lathe, WANTED[1], [20, 40], 1)

    def test_more_gears_than_bits_in_a_word(self):
        gears = gear_set(70, "distinct")
        sides, lathe = [choices(gears, 1)], a_lathe(gears)
        found = by_table(Nearest(lathe, WANTED[0]), sides, ratio_tables(sides))
        assert found == by_combinations(Nearest(lathe, WANTED[0]), sides)
