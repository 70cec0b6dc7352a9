"""Choosing for a person: everybody names the same setup for one thread, and the sentence that says why is true."""

from __future__ import annotations

import json
import re
from collections import Counter
from fractions import Fraction
from itertools import combinations
from math import prod
from random import Random

import pytest

import gearcalc as gc
from gearcalc.commands import main
from gearcalc.finding.choosing import in_brief
from gearcalc.learning.explorers import bench_view
from gearcalc.papers.wall_plates import wall_plate
from gearcalc.planning.charts import chart_rows, threads_cut
from gearcalc.threads.deviations import good_enough_ppm
from gearcalc.threads.series import standard_threads
from tests.how_much import THOROUGH, in_one

DEMOS = {name: gc.demo_lathe(name) for name in ("inch", "metric")}
STANDARD = [str(thread) for thread in standard_threads()]
SOME = STANDARD if THOROUGH else [*Random(11).sample(STANDARD, 6), "M6", "M10", "3/8-24 UNF"]


def named(setup):
    return str(setup.train), setup.lever


def of_command(capsys, *words):
    main([*words, "--json"])
    said = json.loads(capsys.readouterr().out)
    first = said["setups"][0] if "setups" in said else said
    return first["train"], first["lever"]


class TestOneThreadOneSetup:
    """Nothing mounted, one thread: find, card, chart, plan, bench and plate begin with the same gears."""

    @in_one("name", DEMOS)
    @in_one("thread", SOME)
    def test_they_all_agree(self, capsys, name, thread):
        lathe = DEMOS[name]
        best = gc.find_setups(lathe, thread, count=1, first="simplest")[0]
        assert named(chart_rows(lathe, thread)[0].setup) == named(best)
        assert [named(row.setup) for row in wall_plate(lathe, [thread]).rows] == [named(best)]
        assert named(bench_view(lathe=name, thread=thread).chosen) == named(best)
        assert of_command(capsys, "find", name, thread) == named(best)
        assert of_command(capsys, "card", name, thread) == named(best)
        if not best.shortfall:  # a plan refuses what can't be cut well enough
            assert named(gc.plan_changeover(lathe, [thread]).setups[0]) == named(best)

    def test_the_examples_of_the_trade(self):
        """On the inch lathe two pairs, or one, at +125 ppm (63/50 for 127/100 and a half); on the metric one exact."""
        best = {t: gc.find_setups(DEMOS["inch"], t, count=1, first="simplest")[0] for t in ("M6", "M8", "M10", "M12")}
        assert {round(s.error_ppm) for s in best.values()} == {125}
        assert [best[t].train.meshes for t in ("M6", "M8", "M10", "M12")] == [2, 1, 2, 2]
        assert gc.find_setups(DEMOS["metric"], "3/8-24", count=1, first="simplest")[0].is_exact

    def test_the_nearest_is_one_option_away(self):
        simplest, nearest = (
            bench_view(lathe="inch", thread="M10", first=first) for first in ("the simplest", "the nearest")
        )
        assert named(nearest.chosen) == named(gc.find_setups(DEMOS["inch"], "M10", count=1)[0])
        assert abs(nearest.chosen.error_ppm) < abs(simplest.chosen.error_ppm)
        assert named(chart_rows(DEMOS["inch"], "M10", within_ppm=0)[0].setup) == named(nearest.chosen)

    @pytest.mark.parametrize("wrong", ["best", "", None, 1])
    def test_another_order_is_refused(self, wrong):
        with pytest.raises(gc.GearcalcError, match="first: must be 'nearest' or 'simplest'"):
            gc.find_setups(DEMOS["inch"], "M6", first=wrong)


class TestTheReason:
    """What the sentence says is reckoned again: the share by hand, the nearest by the search for the nearest."""

    # ISO 965-1, class 6g, M10: 132 µm (tests/validation/data). 125 ppm over 10 mm is 1.25 µm; times cot 30°, 1.73,
    # that is 2.165 µm, and 2.165 / 132 = 1.64 %.
    def test_of_m10_on_the_inch_lathe(self):
        found = gc.find_setups(DEMOS["inch"], "M10", count=1, first="simplest")
        nearest = gc.find_setups(DEMOS["inch"], "M10", count=1)[0]
        assert (nearest.train.meshes, round(nearest.error_ppm, 1)) == (3, -51.8)
        assert found.reason == (
            "Two pairs, +125 ppm: 1.6 % of the tolerance of 6g over 10 mm; three pairs would come within −51.8 ppm."
        )
        assert str(found).splitlines()[0] == found.reason
        assert found.reason in found._repr_html_()

    @pytest.mark.parametrize("name", DEMOS)
    @pytest.mark.parametrize("meshes", [(1, 2), (1, 2, 3)])
    def test_it_promises_what_the_search_finds(self, name, meshes):
        for thread in Random(5).sample(STANDARD, 40 if THOROUGH else 12):
            found = gc.find_setups(DEMOS[name], thread, meshes, count=1, first="simplest")
            nearest = gc.find_setups(DEMOS[name], thread, meshes, count=1)[0]
            said = found.reason
            pairs = {1: "one pair", 2: "two pairs", 3: "three pairs"}
            if found.shortfall:
                assert said == ""
                continue
            assert said.lower().startswith(f"{pairs[found[0].train.meshes]}, ")
            if found[0].is_exact:
                assert said.endswith(", exact.")
            elif abs(nearest.error_ppm) < abs(found[0].error_ppm):
                end = said.partition("; ")[2]
                assert pairs[nearest.train.meshes] in end
                assert "exact" in end if nearest.is_exact else re.search(r"within [+−][\d.]+ ppm", end)
            else:
                assert said.endswith("; none that was looked at comes nearer.")

    def test_it_is_not_said_where_the_nearest_is_asked_for_or_the_list_was_cut_elsewhere(self):
        assert gc.find_setups(DEMOS["inch"], "M10", count=3).reason == ""
        found = gc.find_setups(DEMOS["inch"], "M10", count=3, first="simplest")
        assert found[:2].reason == found.reason
        assert found[1:].reason == ""

    def test_beyond_what_is_good_enough_to_choose(self):
        # M6: 112 µm and 6 mm, so a tenth is 11.2 / 6 / 1.732 mm/m = 1078 ppm, and the cap of 1000 comes first.
        far = gc.setup(DEMOS["inch"], (45,), (70,), "low", wanted="M6")
        assert in_brief(far).endswith("more than the 1000 ppm that are good enough to choose")
        assert "6 mm" in in_brief(far)


class TestThreadsCut:
    """A small lathe whose every lead is reckoned here: which threads of the tables it cuts exactly, or near enough."""

    TEETH = (20, 30, 40, 50, 60, 63, 80)
    LATHE = gc.Lathe.from_toml(f'name = "Small"\nleadscrew.lead = "8 tpi"\ngears.teeth = {list(TEETH)}\n')

    def leads(self):
        found = set()
        for meshes in (1, 2, 3):
            for over in combinations(self.TEETH, meshes):
                for under in combinations(self.TEETH, meshes):
                    if not Counter(over) + Counter(under) - Counter(self.TEETH):
                        found.add(Fraction(prod(over), prod(under)) * Fraction(127, 40))
        return found

    def test_against_every_lead_that_there_is(self):
        leads, rows = self.leads(), threads_cut(self.LATHE)
        assert [row.thread for row in rows] == list(standard_threads())
        for row in rows:
            wanted = row.thread.lead
            pi = Fraction(31415926535897932384626433, 10**25)
            wanted = wanted if isinstance(wanted, Fraction) else wanted.coefficient * pi
            off = min(abs(lead / wanted - 1) for lead in leads) * 10**6
            assert (row.setup is not None) is (off <= good_enough_ppm(row.thread)), row.thread
            if row.setup is not None:
                assert row.setup.wanted == row.thread
                assert row.setup.is_exact is (off == 0)
                assert abs(row.setup.error_ppm) <= float(good_enough_ppm(row.thread)) * 1.000001

    def test_the_command_counts_them_and_the_table_has_them(self, capsys, tmp_path):
        rows = threads_cut(self.LATHE)
        path = tmp_path / "small.toml"
        self.LATHE.save(path)
        assert main(["cuts", str(path), "--json"]) == 0
        said = json.loads(capsys.readouterr().out)
        cut = [row for row in rows if row.setup is not None]
        assert [each["thread"] for each in said["threads"]] == [str(row.thread) for row in cut]
        assert said["exact"] == sum(row.setup.is_exact for row in cut)
        assert said["exact"] + said["near"] == len(cut)
        assert said["not_cut"] == len(rows) - len(cut)
        assert main(["cuts", str(path)]) == 0
        out = capsys.readouterr().out
        assert f"{said['exact']} exactly:" in out
        assert all(str(row.thread) in out for row in cut)
        table = gc.chart(self.LATHE)
        assert len(table) == len(rows)
        assert int(table["lead_mm"].notna().sum()) == len(cut)

    def test_only_exactly(self, capsys):
        assert main(["cuts", "metric", "--within-ppm", "0", "--json"]) == 0
        said = json.loads(capsys.readouterr().out)
        assert said["near"] == 0
        assert said["exact"] == len(said["threads"])
        assert all(each["error_ppm"] == 0 for each in said["threads"])

    @pytest.mark.parametrize("more", [["--lever", "low"], ["--wanted", "M8"], ["--idlers", "50"]])
    def test_what_goes_with_a_train_only(self, capsys, more):
        assert main(["cuts", "inch", *more]) == 2
        assert "go with a train" in capsys.readouterr().err
