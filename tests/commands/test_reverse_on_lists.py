"""Every list and table says for which rows the reverse is turned over, so that whoever follows it cuts the right hand.

What is right is counted here from the gears that a row names: each place where teeth touch turns the motion round.
"""

from __future__ import annotations

import csv
import json
import re
from itertools import pairwise

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.lathes.trains import Train
from tests.how_much import in_one

THREADS = ("8 tpi", "8 tpi LH", "16 tpi LH", "M10", "M10 LH", "1/4-20", "13 tpi")
ODD = """
name = "Everything the other way"
leadscrew = { lead = "8 tpi", hand = "left" }
spindle_side = { same_way = false }
gearbox = [{ lever = "plain", ratio = "1" }, { lever = "turned", ratio = "1/2", same_way = false }]
gears.teeth = [20, 24, 28, 32, 36, 40, 44, 48, 52, 65, 80]
"""
FOOT = "Reverse over: turned over from how the lathe file describes it."


@pytest.fixture(params=["inch", "odd"])
def lathe_file(request, tmp_path):
    path = tmp_path / "lathe.toml"
    path.write_text(gc.demo_lathe("inch").to_toml() if request.param == "inch" else ODD, "utf-8")
    return path


def cuts_by_itself(lathe: gc.Lathe, places: int, lever: str | None) -> str:
    """The hand cut with the reverse as the file describes it, when teeth touch in so many places."""
    times = places + (not lathe.spindle_side.same_way)
    times += any(each.name == lever and not each.same_way for each in lathe.gearbox)
    hands = ["right", "left"] if lathe.leadscrew.hand == "right" else ["left", "right"]
    return hands[times % 2]


def must_be_over(lathe: gc.Lathe, drivers, idlers, lever: str | None, wanted: str) -> bool:
    touching = len(list(drivers)) + sum(len(list(mesh)) for mesh in idlers)
    return cuts_by_itself(lathe, touching, lever) != ("left" if wanted.endswith("LH") else "right")


def line_is_right(lathe: gc.Lathe, line: str, wanted: str) -> bool:
    """Whether a line of text has 'reverse over' where its train needs that; and gives back which."""
    train = Train.parse(re.search(r"(\(?\d\d[\d ·]*\)?/\(?\d\d[\d ·]*\)?(?:, idlers? [^,:]*)*)", line)[1])
    lever = re.search(r"lever (\w+)", line)
    over = must_be_over(lathe, train.drivers, train.idlers, lever and lever[1], wanted)
    assert (", reverse over: " in line) == over
    return over


class TestTables:
    def test_the_chart_has_hand_and_reverse(self, lathe_file, tmp_path):
        lathe = gc.Lathe.load(lathe_file)
        table = gc.chart(lathe, THREADS)
        assert list(table.columns)[-2:] == ["hand", "reverse_over"]
        over = [must_be_over(lathe, r.drivers, r.idlers, r.lever, r.thread) for r in table.itertuples()]
        assert list(table["reverse_over"]) == over
        assert set(over) == {True, False}
        assert list(table["hand"]) == ["left" if thread.endswith("LH") else "right" for thread in THREADS]
        rows = list(csv.DictReader(gc.save_csv(table, tmp_path / "a.csv").read_text("utf-8-sig").splitlines()))
        assert [row["reverse_over"] for row in rows] == [str(each) for each in over]

    def test_a_thread_without_a_train_has_neither(self):
        bare = gc.Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40]')
        assert gc.chart(bare, "M10")[["hand", "reverse_over"]].isna().all(axis=None)

    def test_the_feeds_have_a_column_for_it(self, lathe_file):
        """By the half-nuts; which way a feed drive goes the file doesn't know."""
        driven = gc.feed_chart(gc.demo_lathe("inch"), ["0.1 mm/rev", "0.2 mm/rev", "0.05 mm/rev cross"])
        assert not driven["why"].any()
        assert driven["reverse_over"].isna().all()
        lathe = evolve(gc.Lathe.load(lathe_file), feeds=None)
        table = gc.feed_chart(lathe, ["1 mm/rev", "0.5 mm/rev", "2 mm/rev", "0.8 mm/rev"])
        right = [must_be_over(lathe, r.drivers, r.idlers, r.lever, "") for r in table.itertuples() if not r.why]
        assert list(table["reverse_over"].dropna()) == right
        assert right

    def test_setups_found_say_it_in_a_remark(self):
        shown = gc.find_setups(gc.demo_lathe("inch"), "M10", count=3)._repr_html_()
        assert shown.count(">reverse over<") == 3  # three pairs each
        assert shown.count(FOOT) == 1
        assert "everse over" not in gc.find_setups(gc.demo_lathe("inch"), "16 tpi", count=1)._repr_html_()


class TestCommands:
    def test_find_says_it_on_each_line(self, ask, lathe_file):
        lathe, seen = gc.Lathe.load(lathe_file), set()
        for thread in ("M10", "16 tpi", "16 tpi LH"):
            out = ask("find", lathe_file, thread, "--count", "6")[1]
            lines = re.findall(r"^ ?\d+\. .*", out, re.M)
            over = [line_is_right(lathe, line, thread) for line in lines]
            assert (FOOT in out) == any(over)
            seen |= set(over)
        assert seen == {True, False}

    def test_chart_and_feeds_say_it_on_each_line_and_what_it_means(self, ask, lathe_file):
        lathe = gc.Lathe.load(lathe_file)
        out = ask("chart", lathe_file, *THREADS)[1]
        over = [line_is_right(lathe, line, thread) for line, thread in zip(out.splitlines()[1:], THREADS, strict=False)]
        against = "against" if lathe.spindle_side.same_way else "with"
        meaning = f"Reverse over: the first driver turns {against} the spindle; elsewhere "
        assert any(over)
        assert meaning in out
        lathe_file.write_text(evolve(lathe, feeds=None).to_toml(), "utf-8")  # feeds by the half-nuts
        out = ask("feeds", lathe_file, "0.5 mm/rev", "0.4 mm/rev", "1 mm/rev")[1]
        lines = [line for line in out.splitlines() if "lever" in line]
        over = [line_is_right(lathe, line, "") for line in lines]
        assert over
        assert any(over) == (meaning in out)

    def test_a_row_that_is_not_shown_needs_no_word_on_it(self, ask, tmp_path):
        path, lathe = tmp_path / "small.toml", gc.demo_lathe("inch")  # gears too small to reach from shaft to shaft
        path.write_text(lathe.with_gears(remove=lathe.gears).with_gears(add=(20, 25, 30)).to_toml(), "utf-8")
        out = ask("chart", path, "16 tpi", "16 tpi LH")[1]
        assert "not good enough for 2 of them" in out
        assert "everse over" not in out

    def test_json_has_it_for_each_setup(self, ask, lathe_file):
        lathe = gc.Lathe.load(lathe_file)
        rows = json.loads(ask("chart", lathe_file, *THREADS, "--json")[1])["chart"]
        rows += json.loads(ask("plan", lathe_file, *THREADS, "--json")[1])["setups"]
        rows += json.loads(ask("find", lathe_file, "M10 LH", "--json")[1])["setups"]
        for row in rows:
            over = must_be_over(lathe, row["drivers"], row["idlers"], row["lever"], row["wanted"])
            assert row["reverse_over"] == over
            assert row["hand"] == ("left" if row["wanted"].endswith("LH") else "right")


class TestAFeedDrive:
    """The lathe file knows nothing of the gears in the apron, so nothing orders the reverse over for its feeds."""

    FEEDS = ("0.1 mm/rev", "0.08 mm/rev", "5 thou", "0.05 mm/rev cross", "2 thou cross")

    @in_one("feed", FEEDS)
    @in_one("reverse", [True, False])
    def test_no_setup_orders_it(self, ask, tmp_path, feed, reverse):
        inch = gc.demo_lathe("inch")
        for same_way in (True, False):
            lathe = evolve(inch, spindle_side=evolve(inch.spindle_side, same_way=same_way, reverse=reverse))
            for made in (gc.setup(lathe, 40, 80, "low", wanted=feed), gc.setup(lathe, 40, 80, "low", 25, wanted=feed)):
                assert not made.reverse_over
                assert "reverse over" not in str(made)
                assert not [words for words in made.warnings if "headstock" in words]
                assert "as the feed is to go" in made._repr_html_() or not reverse
                card = str(gc.change_card(lathe, to=made, mounted=gc.setup(lathe, 40, 80, "low", wanted="32 tpi LH")))
                told = " ".join(card.split())
                assert "headstock" not in told.partition("12. Try it")[2].partition("Wrong way")[0]
                assert (
                    "must go the way that you want; else stop, isolate, go back to the levers, and put the reverse"
                    in told
                )
                assert "Reverse over" not in told
                assert (
                    gc.change_to_feed(lathe, gc.setup(lathe, 40, 80, "low", wanted="32 tpi LH"), feed, 50).reverse_moves
                    == ""
                )
        path = tmp_path / "mine.toml"
        path.write_text(lathe.to_toml(), "utf-8")
        (row,) = json.loads(ask("feeds", path, feed, "--json")[1])["feeds"]
        assert row["reverse_over"] is None

    def test_a_feed_by_the_half_nuts_is_reckoned(self):
        lathe = evolve(gc.demo_lathe("inch"), feeds=None)
        for idlers in ((), (25,)):
            made = gc.setup(lathe, 40, 80, "low", idlers, "0.8 mm/rev")
            assert made.reverse_over == must_be_over(lathe, (40,), (idlers,), "low", "")

    def test_a_plan_leaves_it_where_it_is(self):
        """16 tpi LH, a feed, 16 tpi LH with the same gears: nothing is put back and over again."""
        lathe = gc.demo_lathe("inch")
        plan = gc.plan_changeover(lathe, ["16 tpi LH", "0.1 mm/rev", "16 tpi LH"], 200_000, keep_order=True)
        first, _, last = plan.setups
        assert plan.reverses_moved == (first.reverse_over != last.reverse_over)
        assert plan.reverse_moves[1] == ""


class TestPlan:
    def test_each_job_says_it_and_at_which_one_the_reverse_is_put_over_or_back(self, ask, lathe_file):
        lathe = gc.Lathe.load(lathe_file)
        out = ask("plan", lathe_file, *THREADS, "--keep-order")[1]
        lines = re.findall(r"^ ?\d+\. .*", out, re.M)
        over = [line_is_right(lathe, line, thread) for line, thread in zip(lines, THREADS, strict=True)]
        put = [re.search(r"; put the reverse (over|back)$", line) for line in lines]
        assert put[0] is None
        for (was, now), found in zip(pairwise(over), put[1:], strict=True):
            assert (found and found[1]) == (None if was == now else "over" if now else "back")
        assert any(put)
        assert out.count("; put the reverse ") == gc.plan_changeover(lathe, THREADS, keep_order=True).reverses_moved
        assert FOOT in out
        said = json.loads(ask("plan", lathe_file, *THREADS, "--keep-order", "--json")[1])
        moves = [row["put_reverse"] for row in said["setups"]]
        assert moves == [found and found[1] for found in put]

    def test_its_table_has_both(self):
        plan = gc.plan_changeover(gc.demo_lathe("inch"), ["16 tpi", "16 tpi LH", "16 tpi"], keep_order=True)
        rows = re.findall(r'<tr><th scope="row".*?</tr>', plan._repr_html_())
        right, left = ("reverse over" in rows[0]), ("reverse over" in rows[1])
        assert (left, "reverse over" in rows[2]) == (not right, right)  # one train, the other hand, and back
        there, back = ("back", "over") if right else ("over", "back")
        assert [re.findall(r">([^<]*)</td></tr>", row)[0] for row in rows] == ["–", there, back]
