"""The bench page without a browser: what is typed becomes a lathe, rows, a picture and parts about the row chosen."""

from __future__ import annotations

import subprocess
import sys
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, LatheFileError, NotPossibleError, ThreadTextError, UnknownNameError
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.learning import explorers
from gearcalc.learning.explorers import bench
from gearcalc.learning.explorers.bench import LISTED, MOST_ANSWERS, PARTS, bench_view
from gearcalc.learning.explorers.typed_lathe import LATHES, lathe_texts, read_bench_lathe, settle
from tests.how_much import examples, in_one

INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
BARE = 'name = "Bare"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 50, 60]'
ANYTHING = st.one_of(st.text(max_size=30), st.sampled_from(["", "0", "-5", "1e9", "low 1/2", "40/80", "M10"]))


class TestReadBenchLathe:
    def test_a_lathe_left_as_it_is_keeps_its_plate(self):
        assert read_bench_lathe("inch", "", **lathe_texts(INCH)) == INCH
        assert read_bench_lathe("file", BARE, **lathe_texts(Lathe.from_toml(BARE))) == Lathe.from_toml(BARE)

    def test_other_gears_stand_on_the_same_bracket_without_the_plate(self):
        own = read_bench_lathe("inch", "", "20 40 60", "8 tpi", lathe_texts(INCH)["levers"])
        assert (own.gears, own.bracket, own.gearbox, own.plate) == ((20, 40, 60), INCH.bracket, INCH.gearbox, ())
        assert own.leadscrew == INCH.leadscrew

    @pytest.mark.parametrize(
        ("levers", "expected"),
        [
            ("", {}),
            ("low 1/2, high 1", {"low": Fraction(1, 2), "high": Fraction(1)}),
            ("A: 1/2; B = 2", {"A": Fraction(1, 2), "B": Fraction(2)}),
            ("1/2, 1.5", {"1/2": Fraction(1, 2), "1.5": Fraction(3, 2)}),
        ],
    )
    def test_levers(self, levers, expected):
        assert dict(read_bench_lathe("inch", "", "20 40", "8 tpi", levers).levers) == expected

    @in_one("levers", ["-5", "low", "low -1", "low 0", "low 1/0", "a 1, a 2", "high 1e9", "x" * 500])
    def test_levers_that_are_none(self, levers):
        with pytest.raises(GearcalcError):
            read_bench_lathe("inch", "", "20 40", "8 tpi", levers)

    @pytest.mark.parametrize("leadscrew", ["0 mm", "-5", "module 1", "banana"])
    def test_leadscrews_that_are_none(self, leadscrew):
        with pytest.raises(GearcalcError, match=r"leadscrew|sign"):
            read_bench_lathe("inch", "", "20 40", leadscrew, "")

    @pytest.mark.parametrize("lead", ["8 tpi LH", "8 tpi RH", "3 mm left-hand", "3 mm right hand"])
    def test_a_hand_beside_the_lead_is_refused_as_in_a_lathe_file(self, lead):
        with pytest.raises(GearcalcError, match=r"leadscrew: .*must not say the hand"):
            read_bench_lathe("inch", "", "20 40", lead, "")
        with pytest.raises(GearcalcError, match=r"leadscrew\] lead: must not say the hand"):
            Lathe.from_toml(BARE.replace("4 mm", lead))

    @in_one("lead", ["8 tpi", "4 1/2 tpi", "4 mm", "1001/3000 mm", "123456789012/123456789011 mm"])
    def test_the_box_says_a_lead_as_the_lathe_file_does(self, lead):
        lathe = Lathe.from_toml(BARE.replace("4 mm", lead))
        shown = lathe_texts(lathe)["leadscrew"]
        assert f'lead = "{shown}"' in lathe.to_toml()
        assert read_bench_lathe(INCH, "", None, shown, None).leadscrew.lead == lathe.leadscrew.lead

    def test_a_lathe_that_is_not_offered(self):
        with pytest.raises(UnknownNameError):
            read_bench_lathe("banana", "", "20 40", "8 tpi", "")


class TestSettle:
    START = {"lathe": "inch", "file": "", "thread": "M10", "train": "", "answer": 3, **lathe_texts(INCH)}  # noqa: RUF012

    def test_another_lathe_brings_its_gears_and_its_file(self):
        now = settle(self.START, {**self.START, "lathe": "metric"})
        assert {name: now[name] for name in lathe_texts(METRIC)} == lathe_texts(METRIC)
        assert Lathe.from_toml(now["file"]) == METRIC
        assert now["answer"] == 1

    def test_a_file_is_the_lathe_once_it_is_there(self):
        now = settle(self.START, {**self.START, "file": BARE})
        assert (now["lathe"], now["gears"], now["levers"]) == ("file", "20 40 50 60", "")

    def test_a_file_that_is_none_is_refused(self):
        with pytest.raises(LatheFileError):
            settle(self.START, {**self.START, "file": "banana"})

    def test_another_row_changes_nothing_else(self):
        after = {**self.START, "answer": 5}
        assert settle(self.START, after) == after


class TestBenchView:
    def test_who_reads_inches_finds_the_lead_in_inches_first(self):
        """16 tpi: 1/16 in, and 25.4/16 = 1.5875 mm."""
        leads = {name: bench_view(lathe=name, thread="16 tpi").facts[0]["lead"] for name in ("inch", "metric")}
        assert leads["inch"] == "0.0625 in (1.5875 mm)"
        assert leads["metric"].endswith(" mm")

    def test_rows_are_the_best_setups(self):
        view = bench_view(lathe="inch", thread="16 tpi")
        rows = view.tables["answer"]["rows"]
        assert len(rows) == MOST_ANSWERS
        # By hand: on 8 tpi, 16 tpi takes half a turn of the leadscrew: train times lever is 1/2.
        levers = {"low": Fraction(1, 2), "middle": Fraction(1), "high": Fraction(2)}
        for setup in view.answers:
            assert setup.train.ratio * levers[setup.lever] == Fraction(1, 2)
        assert {row[3] for row in rows} == {"exact"}

    def test_own_train_comes_first_with_the_lever_nearest_to_what_is_wanted(self):
        view = bench_view(lathe="inch", thread="32 tpi", train="40/80")
        first = view.tables["answer"]["rows"][0]
        assert first[0] == "yours"
        assert (first[2], first[3]) == ("low", "exact")
        assert len(view.answers) == MOST_ANSWERS + 1

    def test_own_train_is_shown_even_where_nothing_is_found(self):
        view = bench_view(lathe="file", file=BARE, thread="M10", train="20/60", pairs="three")
        assert len(view.answers) == 1
        assert view.note

    def test_a_train_that_does_not_go_on_says_why(self):
        view = bench_view(lathe="inch", thread="16 tpi", train="20/80, idler 30")
        assert view.tables["answer"]["rows"][0][4] == "no"
        assert "5.9 mm short" in view.facts_html

    def test_nothing_that_goes_on_points_at_the_list_of_all(self):
        with pytest.raises(NotPossibleError, match="Choose 'all' under List"):
            bench_view(lathe="inch", gears="20 40", levers="", thread="16 tpi")
        assert bench_view(lathe="inch", gears="20 40", levers="", thread="16 tpi", listed="all").chosen.is_exact

    def test_one_of_each_ratio(self):
        view = bench_view(lathe="inch", thread="M10", listed="one of each ratio")
        leads = [setup.lead_mm for setup in view.answers]
        assert len(set(leads)) == len(leads) == MOST_ANSWERS

    def test_a_feed_is_wanted(self):
        view = bench_view(lathe="inch", thread="0.1 mm/rev", part="does the error matter")
        assert view.tables["answer"]["rows"][0][5] == "–"
        assert "The feed 0.1 mm/rev" in view.facts_html

    def test_stands_still_with_picture_table_and_part(self):
        page = bench_view(lathe="metric", thread="M10", part="why this lead")._repr_html_()
        assert page.count("<img alt=") == 1
        assert "Setups on: Bench lathe with a metric leadscrew" in page
        assert "Turn the spindle once" in page

    @in_one("part", PARTS)
    @in_one("lathe", [*LATHES])
    def test_every_part_on_every_lathe(self, part, lathe):
        view = bench_view(lathe=lathe, file=BARE, thread="2 mm", part=part, measured="2", limit="0.02", threads="M6")
        assert view.facts_html
        assert "Mind:" not in view.facts_html
        ElementTree.fromstring(view.svg)

    def test_the_card_is_from_what_is_mounted(self):
        seen = bench_view(lathe="inch", thread="16 tpi", part="change over", mounted="20/40, idler 55")
        assert "From 20/40" in seen.facts_html
        with pytest.raises(GearcalcError, match="banana"):
            bench_view(part="change over", mounted="banana")

    def test_the_chart_has_the_threads_that_were_typed(self):
        seen = bench_view(lathe="metric", part="chart", threads="M6, M8; 1/4-20 UNC").facts_html
        assert [name in seen for name in ("M6x1", "M8x1.25", "1/4-20 UNC", "M10x1.5")] == [True, True, True, False]

    def test_what_a_part_cannot_answer_stands_in_its_place(self):
        assert "Mind:" in bench_view(thread="0.1 mm/rev", part="catch the thread").facts_html

    def test_words_that_are_none_of_those_offered(self):
        for name in ("pairs", "listed", "part"):
            with pytest.raises(UnknownNameError):
                bench_view(**{name: "banana"})

    def test_text_never_reaches_the_page_as_markup(self):
        text = 'name = "<b>x</b>"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 50, 60]'
        view = bench_view(lathe="file", file=text, thread="2 mm")
        assert "<b>" not in view._repr_html_()

    @examples(40)
    @given(
        st.dictionaries(
            st.sampled_from(["gears", "leadscrew", "levers", "thread", "train", "file", "answer"]), ANYTHING
        )
    )
    def test_whatever_is_typed_gives_a_view_or_one_of_our_errors(self, typed):
        with suppress(GearcalcError):
            bench_view(**{"gears": "20 40 50 60 80", "levers": "", "pairs": "one", **typed})


class TestExplorer:
    def test_begins_with_an_answer_and_no_failure(self):
        for lathe in ("inch", "metric", METRIC.with_gears(add=21)):
            explorer = bench(lathe)
            assert (explorer.failure, explorer.message) == (None, "")
            assert explorer.tables["answer"]["rows"]

    def test_a_refusal_is_said_and_the_last_picture_stays(self):
        explorer = bench("inch")
        before = explorer.svg, explorer.tables
        with pytest.raises(ThreadTextError):
            bench_view(thread="banana")
        explorer.set(thread="banana")
        assert "banana" in explorer.message
        assert (explorer.svg, explorer.tables) == before

    def test_moves_from_a_page_are_told_from_what_stood_there(self):
        """A page that has not yet heard what another lathe brought sends its old gears along: they do not count."""
        explorer = bench("inch")
        old = dict(explorer.values)
        explorer.set_state(
            {"values": {**old, "lathe": "metric"}, "moved": {"page": "p", "moves": {"lathe": [1, "metric"]}}}
        )
        moves = {"lathe": [1, "metric"], "thread": [2, "16 tpi"]}
        explorer.set_state({"values": {**old, "thread": "16 tpi"}, "moved": {"page": "p", "moves": moves}})
        assert (explorer.values["lathe"], explorer.values["thread"]) == ("metric", "16 tpi")
        assert explorer.values["gears"] == lathe_texts(METRIC)["gears"]
        assert explorer.seen == {"p": 2}

    def test_every_list_is_offered(self):
        assert set(LISTED) == set(next(one["options"] for one in bench().controls if one["name"] == "listed"))


class TestQuickToLoad:
    """A page opens without the package for algebra, which takes as long to load as all the rest."""

    def test_no_explorer_loads_sympy_before_it_is_asked_why(self):
        folder = Path(explorers.__file__).parent
        names = sorted(f"gearcalc.learning.explorers.{path.stem}" for path in folder.glob("[a-z]*.py"))
        assert len(names) > 8
        code = (
            f"import sys, importlib; [importlib.import_module(name) for name in {names}]; print('sympy' in sys.modules)"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout.strip() == "False"
