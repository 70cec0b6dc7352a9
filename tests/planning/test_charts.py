"""The chart: nearest first, chosen as a whole against brute force, series by name, what can't be cut, csv."""

from __future__ import annotations

import csv
from fractions import Fraction
from itertools import pairwise, permutations, product
from math import prod
from types import MappingProxyType, SimpleNamespace

import pandas as pd
import pytest
import sympy
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.finding.rankings import NothingGoesOnError
from gearcalc.lathes import Lathe
from gearcalc.lathes.orders import HOW_MOVED_COUNTS
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.papers.csv_files import save_csv
from gearcalc.papers.tables import captioned, chart
from gearcalc.planning import charts
from gearcalc.planning.charts import ChartRow, chart_rows, threads_cut
from gearcalc.threads.deviations import judge
from gearcalc.threads.series import series_names, standard_threads, thread_series
from tests.benches import a_lathe
from tests.how_much import in_one

OWN_PPM = {"M8": 118 / 8 / 3**0.5 / 10 * 1000}
"""A tenth of the tolerance of 6g, 118 µm (ISO 965-1), over one diameter; 200 ppm for what has none."""
PI = Fraction(str(sympy.pi.evalf(60)))
INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")


def moved_in_all(trains: list[Train] | tuple[Train, ...]) -> int:
    return sum(places_that_differ(one, other) for one, other in pairwise(trains))


def equal_trains(lathe: Lathe, thread: str, ppm: float) -> list[Train]:
    """By brute force, one or two meshes: within a bound, or off by least; at most one gear more than the fewest."""
    lead = gc.Thread.parse(thread).lead
    lead = lead.coefficient * PI if isinstance(lead, PiMultiple) else lead
    found = []
    for meshes in (1, 2):
        for gears in set(permutations(lathe.gears, 2 * meshes)):
            drivers, driven = gears[:meshes], gears[meshes:]
            if meshes == 1 or not set(drivers) & set(driven):  # two equal gears between two meshes do nothing
                off = abs(lathe.leadscrew_lead_mm * Fraction(prod(drivers), prod(driven)) / lead - 1)
                found.append((off, Train(drivers, driven)))
    furthest = max(Fraction(ppm) / 10**6, min(off for off, _ in found))
    nearest = [train for off, train in found if off <= furthest]
    fewest = min(len(train.gears) for train in nearest)
    return [train for train in nearest if len(train.gears) <= fewest + 1]


class TestChosenAsAWhole:
    @in_one(
        ("teeth", "threads"),
        [
            ((20, 30, 40, 60, 80), ["16 tpi", "24 tpi", "12 tpi", "32 tpi"]),
            ((20, 30, 40, 50, 60, 75), ["12 tpi", "1.75 mm", "10 tpi"]),
            ((30, 40, 50, 60, 60), ["M8", "20 tpi", "12 tpi", "module 1"]),
            ((40, 50, 63, 64, 80), ["M8", "20 tpi", "1.25 mm", "lead 2.4995 mm"]),
        ],
    )
    @in_one("within", [0, "good enough", 5000])
    def test_moves_as_few_as_any_choice_of_equals(self, teeth, threads, within):
        lathe = a_lathe(*teeth)
        rows = chart_rows(lathe, threads, within)
        lists = [
            equal_trains(lathe, thread, OWN_PPM.get(thread, 200) if within == "good enough" else within)
            for thread in threads
        ]
        for row, listed in zip(rows, lists, strict=True):
            assert row.setup.train in listed
        trains = [row.setup.train for row in rows]
        assert moved_in_all(trains) == min(moved_in_all(choice) for choice in product(*lists))
        assert [row.moved for row in rows] == [None, *(places_that_differ(a, b) for a, b in pairwise(trains))]

    @pytest.mark.parametrize("lathe", [INCH, METRIC], ids=lambda lathe: lathe.name)
    def test_no_row_is_further_off_than_the_best(self, lathe):
        threads = ["M6", "M8", "1/4-20", "1/2-13", "module 1", "11 1/2 tpi", "M10x1"]
        rows = chart_rows(lathe, threads, within_ppm=0)
        best = [gc.find_setups(lathe, thread, count=1)[0] for thread in threads]
        assert [row.setup.error for row in rows] == [each.error for each in best]
        assert all(row.setup.fit.goes_on for row in rows)
        assert moved_in_all([row.setup.train for row in rows]) <= moved_in_all([each.train for each in best])

    def test_an_inch_series_on_an_inch_screw_moves_one_gear_a_row(self):
        rows = chart_rows(INCH, ["8 tpi", "9 tpi", "10 tpi", "11 tpi", "12 tpi", "13 tpi", "14 tpi"])
        assert [row.moved for row in rows] == [None, 1, 1, 1, 1, 1, 1]

    def test_a_place_that_is_left_empty_counts_and_is_said_to(self):
        """(30 · 40)/(60 · 50) beside 40/80, in every place another: four, two of them left empty."""
        assert places_that_differ(Train((30, 40), (60, 50)), Train(40, 80)) == 4
        assert HOW_MOVED_COUNTS.endswith("holds another than before, is filled or is left empty.")

    def test_within_ppm_lets_more_count_as_equal(self):
        metric = ["M6", "M8", "M10", "M12", "M16"]
        nearest, near = chart_rows(INCH, metric, within_ppm=0), chart_rows(INCH, metric, within_ppm=200)
        assert all(abs(row.setup.error_ppm) <= 200 for row in near)
        assert sum(row.moved or 0 for row in near) < sum(row.moved or 0 for row in nearest)

    @pytest.mark.parametrize("lathe", [INCH, METRIC], ids=lambda lathe: lathe.name)
    def test_left_alone_each_row_is_good_enough_to_choose_or_the_nearest(self, lathe):
        rows = chart_rows(lathe, ["UNC", "metric coarse", "DP 20", "module 1", "lead 1.4 in"])
        kinds = set()
        for row in rows:
            tenth = judge(row.thread, 0, share=0.1).allowed_ppm
            inside = abs(row.setup.error_ppm) <= min(1000, 200 if tenth is None else tenth)
            kinds.add((inside, tenth is None))
            assert inside or row.setup.error == gc.find_setups(lathe, row.thread, count=1)[0].error
        assert {(True, True), (True, False)} <= kinds

    def test_the_same_lead_is_the_same_row(self):
        rows = chart_rows(INCH, ["1/4-20", "M8", "7/16-20", "1/4-20"])
        assert rows[0].setup.lead_mm == rows[2].setup.lead_mm
        assert rows[2].moved != 0
        assert rows[3].moved == 0
        assert [str(row.setup.wanted) for row in rows] == ["1/4-20 UNC", "M8x1.25", "7/16-20 UNF", "1/4-20 UNC"]


class TestHowManyAreLookedAt:
    """Each side of a bound, by a second row that a train or an order just beyond it would serve with a gear less."""

    def test_setups_of_a_thread_as_many_as_are_said(self):
        """z/2z for 28 z, the smallest first; 97 makes no other train, so the second row keeps the driver or moves two.

        The 24th has 43."""
        lathe = a_lathe(*range(20, 48), *range(48, 96, 2), 97, leadscrew="4 mm")
        assert "24 setups are looked at" in " ".join(chart_rows.__doc__.split())
        for driver, moved in ((43, 1), (44, 2)):
            rows = chart_rows(lathe, ["2 mm", f"lead {Fraction(4 * driver, 97)} mm"], 0, 1)
            assert [str(row.setup.train) for row in rows][1] == f"{driver}/97"
            assert rows[1].moved == moved

    def test_a_hundred_orders_of_one_train(self):
        """A train takes an idler, any of 100 or 101; that which suits the one alone is in the other."""
        no_reverse = "spindle_side = { ratio = '1', same_way = true, reverse = false }"
        for most, moved in ((121, 1), (122, 2)):
            lathe = a_lathe(*range(20, most + 1), more=no_reverse, leadscrew="4 mm")
            threads = [f"lead {Fraction(4 * driver, 109)} mm" for driver in (113, 61)]
            rows = chart_rows(lathe, threads, 0, 1)
            assert [row.setup.train.drivers for row in rows] == [(113,), (61,)]
            assert rows[1].moved == moved

    @in_one(("in_one_train", "in_all", "found"), [
        (36, 500, [36, 4, 4, 4]),
        (35, 500, [1, 4, 4, 4]),
        (10, 8, [1, 4, 4, 1]),
        (10, 7, [1, 4, 1, 1]),
        (4, 8, [1, 4, 4, 1]),
        (3, 500, [1, 1, 1, 1]),
    ])  # fmt: skip
    def test_orders_of_one_train_and_of_all(self, in_one_train, in_all, found):
        """A train of three meshes has 36, those of two have four; one with too many costs the others nothing."""
        lathe = a_lathe(20, 30, 40, 50, 60, 80)
        trains = [((20, 30, 40), (50, 60, 80)), ((20, 30), (40, 50)), ((20, 40), (50, 80)), ((30, 40), (60, 50))]
        setups = [gc.setup(lathe, *train) for train in trains]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(charts, "_MOST_ORDERS", in_one_train)
            patch.setattr(charts, "_MOST_TRIED", in_all)
            listed = [setup.lead_mm for setup in charts._arranged(lathe, setups)]
        assert [listed.count(setup.lead_mm) for setup in setups] == found


class TestWhatARowSays:
    """Every branch, of rows made up from setups that are known."""

    @in_one(("thread", "off", "goes_on", "ok", "words"), [
        ("M8", None, None, False, "can't be cut: no train"),
        ("M8", 0, False, False, "can't be cut: no train goes on"),
        ("M8", 0, True, True, "exact"),
        ("M8", 0, None, True, "exact"),
        ("M8", 100, True, True, "good enough"),
        ("M8", 100, None, True, "good enough"),
        ("M8", 100_000, True, False, "not good enough"),
        ("M8", 100_000, None, False, "not good enough"),
        ("M8", 100_000, False, False, "can't be cut: no train goes on"),
        ("1.25 mm", None, None, False, "can't be cut: no train"),
        ("1.25 mm", 0, True, True, "exact"),
        ("1.25 mm", 0, False, False, "can't be cut: no train goes on"),
        ("1.25 mm", 100, True, None, "not judged"),
        ("1.25 mm", 100, None, None, "not judged"),
        ("1.25 mm", 100, False, False, "can't be cut: no train goes on"),
        ("1.25 mm", 100_000, True, False, "not good enough"),
    ])  # fmt: skip
    def test_of_a_thread_with_a_tolerance_and_of_a_pitch_that_has_none(self, thread, off, goes_on, ok, words):
        thread = gc.Thread.parse(thread)
        if off is None:
            row = ChartRow(thread, None, None, None)
        else:
            screw = Fraction(5, 2) * (1 + Fraction(off, 10**6))
            setup = evolve(gc.setup(a_lathe(40, 80, leadscrew=f"{screw} mm"), 40, 80), wanted=thread)
            setup = evolve(setup, fit=None if goes_on is None else SimpleNamespace(goes_on=goes_on))
            row = ChartRow(thread, setup, judge(thread, setup.error), None)
        assert (row.fits, row.ok, row.in_words) == (None if off is None else goes_on, ok, words)
        assert row.why == ""


class TestWhatCanNotBeCut:
    def test_the_gear_that_is_said_to_help_makes_a_train_that_goes_on(self):
        """The inch lathe's shafts are too far apart for two gears of 40, and no idler is left over."""
        row = chart_rows(INCH.with_gears(remove=INCH.gears).with_gears(add=(40,)), "16 tpi")[0]
        assert row.setup is None
        assert "takes at least 2" in row.why
        assert "40/40" not in row.why

    def test_no_train_at_all(self):
        row = chart_rows(a_lathe(40), "16 tpi")[0]
        assert (row.setup, row.fits, row.ok, row.moved) == (None, None, False, None)
        assert "no train" in row.in_words
        assert row.why

    def test_no_train_goes_on(self):
        # Gears too small to reach from shaft to shaft of the inch lathe, 106 mm apart.
        small = INCH.with_gears(remove=INCH.gears).with_gears(add=(20, 25, 30))
        row = chart_rows(small, "16 tpi")[0]
        assert (row.fits, row.ok) == (False, False)
        assert "goes on" in row.in_words
        assert row.why

    def test_too_far_off(self):
        row = chart_rows(a_lathe(40, 41), "M10")[0]
        assert row.ok is False
        assert row.in_words == "not good enough"

    @in_one(("thread", "off", "within", "ok", "words"), [
        ("M8", 2000, 2000, True, "good enough"),
        ("M8", 2000, 1999, False, "not good enough"),
        ("M8", -2000, 2000, True, "good enough"),
        ("M8", -2000, "1999.9", False, "not good enough"),
        ("M8", 2000, 0, False, "not good enough"),
        ("M8", 2000, "good enough", True, "good enough"),
        ("M8", 2000, None, True, "good enough"),
        ("M8", 0, 0, True, "exact"),
        ("M8", 5000, 5000, False, "not good enough"),
        ("1.25 mm", 500, 500, None, "not judged"),
        ("1.25 mm", 500, 499, False, "not good enough"),
        ("1.25 mm", 2000, 2000, False, "not good enough"),
    ])  # fmt: skip
    def test_off_by_more_than_was_asked_for(self, thread, off, within, ok, words):
        """40/80 of a leadscrew that is off by so much; half of M8's tolerance is 4258 ppm."""
        lathe = a_lathe(40, 80, leadscrew=f"{Fraction(5, 2) * (1 + Fraction(off, 10**6))} mm")
        (row,) = chart_rows(lathe, thread, within)
        assert (row.setup.error_ppm, row.ok, row.in_words) == (off, ok, words)
        beyond = within not in (None, "good enough") and abs(off) > Fraction(within)
        assert ("asked for" in row.why) is beyond
        (listed,) = chart(lathe, [thread], within)["ok"]
        assert pd.isna(listed) if ok is None else bool(listed) is ok
        plate = gc.wall_plate(lathe, thread, within_ppm=within, on="today")
        assert (plate.table()[0]["gears in order"], plate.not_cut) == ((None, (row,)) if ok is False else ("40→80", ()))
        assert ("near enough: " in plate.description) is (ok is False)

    def test_the_verdict_is_that_of_judge(self):
        for row in chart_rows(METRIC, ["1/2-13", "M8", "13 tpi", "module 1"]):
            verdict = judge(row.thread, row.setup.error)
            assert row.verdict == verdict
            assert row.ok == (True if row.setup.is_exact else verdict.ok)

    def test_the_next_row_counts_from_the_last_that_serves(self):
        rows = chart_rows(INCH.with_gears(), ["8 tpi", "lead 3 in", "9 tpi"])
        served = [row.setup.train for row in rows if row.setup is not None and row.fits]
        assert rows[-1].moved == places_that_differ(served[-2], served[-1])


class TestChart:
    def test_columns_and_types(self):
        table = chart(INCH, ["8 tpi", "M8"])
        assert list(table.columns) == [
            "thread",
            "lever",
            "drivers",
            "driven",
            "idlers",
            "lead_mm",
            "error_ppm",
            "is_exact",
            "fits",
            "ok",
            "moved",
            "hand",
            "reverse_over",
        ]
        row = table.iloc[0]
        assert isinstance(row["drivers"], tuple)
        assert row["lead_mm"] == 3.175
        assert row["error_ppm"] == 0
        assert row["is_exact"]
        assert pd.isna(row["moved"])
        again = gc.setup(INCH, row["drivers"], row["driven"], row["lever"], row["idlers"], "8 tpi")
        assert again.is_exact

    def test_what_the_tooth_counts_dont_tell_has_a_column_behind_them(self):
        """30 and 90 of module 1 mesh with each other alone: 3 mm × 40 · 30/(80 · 90) is 0.5 mm; 40/80 is 1.5."""
        odd = 'name = "Two sizes"\nleadscrew.lead = "3 mm"\n[gears]\nteeth = [40, 80]\nmodule_mm = 1.25\n'
        lathe = gc.Lathe.from_toml(f"{odd}[[more_gears]]\nteeth = [30, 90]\nmodule_mm = 1")
        table = chart(lathe, ["0.5 mm", "1.5 mm"])
        assert list(table.columns)[4:6] == ["idlers", "set_apart"]
        assert " mesh of module 1" in table["set_apart"][0]
        assert table["set_apart"].isna()[1]
        row = table.iloc[0]
        written = f"{'x'.join(map(str, row['drivers']))}/{'x'.join(map(str, row['driven']))}, {row['set_apart']}"
        assert gc.Train.parse(written) == chart_rows(lathe, ["0.5 mm", "1.5 mm"])[0].setup.train

    def test_without_a_bracket_the_fit_is_empty(self):
        assert chart(evolve(INCH, bracket=None), ["8 tpi"])["fits"].isna().all()

    def test_without_a_gearbox_the_lever_is_empty(self):
        assert chart(a_lathe(40, 80), "16 tpi")["lever"].isna().all()

    def test_a_row_without_a_train_is_empty(self):
        row = chart(a_lathe(40), "16 tpi").iloc[0]
        assert row["ok"] is False or not row["ok"]
        assert row.drop(["thread", "ok"]).isna().all()

    def test_sixty_threads_keep_their_order(self):
        table = chart(INCH, ["UNC", "metric coarse"])
        named = [*thread_series("UNC"), *thread_series("metric coarse")]
        assert list(table["thread"]) == [str(thread) for thread in named]

    @pytest.mark.parametrize("none", [[], (), ["M8"] * 301, iter([])])
    def test_refuses_none_and_too_many(self, none):
        with pytest.raises(ValueOutOfRangeError, match="1 to 300 threads"):
            chart(INCH, none)

    def test_without_threads_it_has_all_of_the_tables(self):
        assert list(chart(INCH)["thread"]) == [str(thread) for thread in standard_threads()]

    @pytest.mark.parametrize("wrong", [5, [None], [5.0]])
    def test_refuses_what_is_no_thread(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            chart(INCH, wrong)
        with pytest.raises(ValueOutOfRangeError):
            chart("inch", "M8")
        with pytest.raises(ValueOutOfRangeError):
            chart(INCH, "M8", within_ppm=-1)

    def test_refuses_text_that_is_neither(self):
        with pytest.raises(UnknownNameError, match="metric coarse"):
            chart(INCH, ["M8", "metric corse"])
        with pytest.raises(ThreadTextError):
            chart(INCH, ["M8x"])


class TestThreadSeries:
    def test_against_the_tables_counted_by_hand(self):
        # ASME B1.1 lists UNC from 1/4 to 1 in eight common sizes with these counts.
        common = {"1/4-20", "5/16-18", "3/8-16", "7/16-14", "1/2-13", "9/16-12", "5/8-11", "3/4-10", "7/8-9", "1-8"}
        assert {f"{name} UNC" for name in common} <= set(map(str, thread_series("UNC")))
        # ISO 261, coarse.
        coarse = {"M3x0.5", "M4x0.7", "M5x0.8", "M6x1", "M8x1.25", "M10x1.5", "M12x1.75", "M16x2", "M20x2.5", "M24x3"}
        assert coarse <= set(map(str, thread_series("metric coarse")))
        assert not coarse & set(map(str, thread_series("metric fine")))

    @in_one("name", series_names())
    def test_each_has_threads_once_in_order_of_size(self, name):
        threads = thread_series(name)
        assert len(set(threads)) == len(threads) > 10
        sizes = [thread.major_mm for thread in threads if thread.major_mm is not None]
        if name != "BA":
            assert sorted(sizes) == sizes

    @pytest.mark.parametrize("name", ["UNC", " unc ", "Metric  Coarse"])
    def test_names_in_any_case_and_spacing(self, name):
        assert thread_series(name)

    @in_one("name", ["", "UNX", None, "x" * 1000, "<b>"])
    def test_refuses_others(self, name):
        with pytest.raises(UnknownNameError, match="There are metric coarse"):
            thread_series(name)


class TestWithNoLimit:
    """What is good enough to choose comes first, and where nothing is, the nearest."""

    # 40/80 is off by 500 ppm for 1.25 mm, which M8 takes and a pitch alone does not; (40 · 50)/(58 · 69) is exact.
    TWO_LIMITS = a_lathe(40, 50, 58, 69, 80, leadscrew="2.50125 mm")
    EACH_ITS_OWN = MappingProxyType({"M8": "40/80", "1.25 mm": "(40 · 50)/(58 · 69)"})

    @in_one(("leadscrew", "train", "ok"), [("5 mm", "(30 · 40)/(60 · 80)", True), ("2.6 mm", "40/80", False)])
    def test_a_simpler_train_that_is_far_off_is_not_taken(self, leadscrew, train, ok):
        lathe = a_lathe(*((30, 40, 60, 80) if ok else (40, 60, 80)), leadscrew=leadscrew)
        (row,) = chart_rows(lathe, "M8", None)
        assert (str(row.setup.train), row.ok, row.why) == (train, ok, "")

    @in_one("threads", [["M8", "1.25 mm"], ["1.25 mm", "M8"]])
    def test_each_thread_has_its_own(self, threads):
        rows = chart_rows(self.TWO_LIMITS, threads, None)
        assert [str(row.setup.train) for row in rows] == [self.EACH_ITS_OWN[thread] for thread in threads]

    @in_one("threads", [["M8", "1.25 mm"], ["1.25 mm", "M8"]])
    def test_every_thread_of_the_tables_likewise(self, threads, monkeypatch):
        monkeypatch.setattr(charts, "standard_threads", lambda: list(map(gc.Thread.parse, threads)))
        lathe = a_lathe(*self.TWO_LIMITS.gears, leadscrew="2.5015 mm")  # each 100 ppm more: none is exact
        rows = threads_cut(lathe, None)
        assert [str(row.setup.train) for row in rows] == [self.EACH_ITS_OWN[thread] for thread in threads]
        far = a_lathe(40, 60, 80, leadscrew="2.6 mm")
        assert {str(row.setup.train) for row in threads_cut(far, None)} == {"40/80"}


class TestThreadsCut:
    """Each by itself; against another train that is simpler, and so near that only "exactly" tells it from it."""

    # 105 · 107 · 117 is 2 · 76 · 92 · 94 less one, so 40/80 is off by 0.8 ppm where these six are exact.
    FINE = a_lathe(40, 80, 76, 92, 94, 105, 107, 117, leadscrew=f"{105 * 107 * 117}/{76 * 92 * 94} mm")

    def test_where_one_is_exact_nothing_nearer_by_less_than_a_millionth_is_taken(self, monkeypatch):
        monkeypatch.setattr(charts, "standard_threads", lambda: [gc.Thread.parse("M6")])
        (row,) = threads_cut(self.FINE)
        assert row.setup.is_exact

    def test_where_the_search_gave_up_that_is_why(self, monkeypatch):
        def gives_up(query):
            raise NothingGoesOnError("Thousands did not.")

        monkeypatch.setattr(charts, "standard_threads", lambda: [gc.Thread.parse("M6")])
        monkeypatch.setattr(charts, "ranked", gives_up)
        (row,) = threads_cut(INCH)
        assert (row.setup, row.verdict, row.moved, row.ok) == (None, None, None, False)
        assert "Thousands did not." in row.why

    def test_a_bar_is_shown_on_request_only(self, monkeypatch, capsys):
        monkeypatch.setattr(charts, "standard_threads", lambda: [gc.Thread.parse("M6")])
        threads_cut(a_lathe(40, 80))
        assert capsys.readouterr().err == ""
        threads_cut(a_lathe(40, 80), progress=True)
        assert "Looking at each thread" in capsys.readouterr().err


class TestSaveCsv:
    def test_reads_back(self, tmp_path):
        table = chart(INCH, ["1/4-20", "M8", "13 tpi"])
        path = save_csv(table, tmp_path / "chart.csv")
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
        assert [row["thread"] for row in rows] == list(table["thread"])
        for row, drivers, idlers in zip(rows, table["drivers"], table["idlers"], strict=True):
            assert tuple(map(int, row["drivers"].split())) == drivers
            assert [tuple(map(int, mesh.replace("-", "").split())) for mesh in row["idlers"].split(" | ")] == [
                *(idlers if any(idlers) else ((),))
            ]
        assert [path] == list(tmp_path.iterdir())

    def test_no_formula_gets_into_a_spreadsheet(self, tmp_path):
        lathe = a_lathe(40, 80, more="gearbox = [{lever='=1+1', ratio='1'}]")
        assert "'=1+1" in save_csv(chart(lathe, "16 tpi"), tmp_path / "chart.csv").read_text("utf-8-sig")

    def test_whatever_stands_in_a_cell_is_written_or_said(self, tmp_path):
        inner: list[object] = []
        for _ in range(20_000):
            inner = [inner]
        frame = pd.DataFrame({"a": [10**5000, inner, Fraction(10**5000, 3), (10**5000, 2)]}, dtype=object)
        text = save_csv(frame, tmp_path / "odd.csv").read_text("utf-8-sig")
        assert text.splitlines()[1] == "a whole number of about 5001 digits"

    def test_no_formula_gets_in_by_the_names_of_rows(self, tmp_path):
        frame = pd.DataFrame({"a": [1, 2]}, index=pd.Index(["=1+1", "b"], name="=2+2"))
        assert save_csv(frame, tmp_path / "named.csv").read_text("utf-8-sig").split() == ["'=2+2,a", "'=1+1,1", "b,2"]

    def test_refuses_another_ending(self, tmp_path):
        with pytest.raises(ValueOutOfRangeError, match=r"\.csv"):
            save_csv(chart(INCH, "M8"), tmp_path / "chart.xls")

    def test_idlers_are_shown_mesh_by_mesh(self):
        frame = chart(INCH, "M8").assign(idlers=[((), (35,))])
        assert captioned(frame, "Chart").rows[0]["idlers"] == "– | 35"
        assert captioned(frame.assign(idlers=[((),)]), "Chart").rows[0]["idlers"] == "none"

    def test_refuses_what_is_no_table_or_no_name(self, tmp_path):
        for frame, path in ((None, tmp_path / "chart.csv"), ("M8", tmp_path / "chart.csv"), (chart(INCH, "M8"), None)):
            with pytest.raises(ValueOutOfRangeError):
                save_csv(frame, path)
        assert list(tmp_path.iterdir()) == []


def test_gears_are_owned_and_on_one_side_only():
    for row in chart_rows(METRIC, ["metric pitches", "unified pitches"]):
        METRIC.check_owned(row.setup.train.gears)
        assert not any(one == other for one in row.setup.train.drivers for other in row.setup.train.driven)
