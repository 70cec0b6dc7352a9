"""The benchmark of the search, at its smallest: it runs, every rival agrees, and the table says so."""

from __future__ import annotations

from fractions import Fraction
from math import prod

import pytest

from gearcalc.basics.exact import RelativeError
from gearcalc.finding.search import find_setups
from tests.benchmarks.search_benchmark import (
    COUNT,
    HEADINGS,
    NOT_RUN,
    WANTED,
    Bench,
    Nearest,
    a_lathe,
    by_combinations,
    by_table,
    chart_threads,
    choices,
    gear_set,
    measured,
    ratio_tables,
    search_alone,
    table,
)


class TestMeasured:
    def test_every_rival_agrees_at_the_smallest_size(self):
        rows = list(measured((12,), (2,), Bench(patience=0.02)))
        assert [row.kind for row in rows] == ["distinct", "by fives"]
        assert all(row.compared == len(WANTED) for row in rows)
        assert all(ratio is not None for row in rows for ratio in (row.against_combinations, row.against_table))
        lines = table(rows).splitlines()
        assert len(lines) == 2 + len(rows)
        assert all(line.count("|") == len(HEADINGS) + 1 for line in lines)

    def test_the_search_beats_trying_everything_many_times_over(self):
        # Measured in one run at 20 gears, 6 in the train: some hundred times; ten leaves room for a busy machine.
        (row,) = [row for row in measured((20,), (3,), Bench(patience=0.02)) if row.kind == "distinct"]
        assert row.against_combinations is not None
        assert row.against_combinations > 10

    def test_what_takes_more_than_a_minute_or_a_gigabyte_is_not_run(self):
        bench = Bench()
        assert bench.affordable("combinations", 10**12, 0)  # nothing is known of its speed yet
        bench.seconds_a_pair["combinations"] = 1e-7
        assert bench.affordable("combinations", 5 * 10**8, 0)
        assert not bench.affordable("combinations", 10**9, 0)
        assert not bench.affordable("made", 1, 10**9)

    def test_a_cell_without_a_run_says_so(self):
        row = next(iter(measured((12,), (1,), Bench(patience=0.02))))
        fields = {name: getattr(row, name) for name in row.__dataclass_fields__}
        not_run = type(row)(**{**fields, "against_combinations": None, "compared": 0})
        assert not_run.cells().count(NOT_RUN) == 2


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

    def test_report_errors_of_the_lead(self):
        # 8 tpi by 20/40: 16 tpi, against 13 tpi wanted: 13/16 − 1.
        errors = by_combinations(Nearest(a_lathe([20, 40]), WANTED[1]), [choices([20, 40], 1)])
        assert errors[0] == RelativeError(Fraction(13, 16), Fraction(1))


class TestChart:
    def test_has_120_different_leads(self):
        assert 120 == len({thread.lead for thread in chart_threads()}) == len(chart_threads())
