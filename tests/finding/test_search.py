"""What find_setups promises: the order among equals, direction, the empty answer, and what it refuses."""

from __future__ import annotations

import copy
import re
from fractions import Fraction

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError, NoSetupError, NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError
from gearcalc.finding import rankings, tables
from gearcalc.finding.none_found import gear_that_would_do
from gearcalc.finding.rankings import Query
from gearcalc.finding.search import SetupList, find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Leadscrew, PlateRow
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import Train
from gearcalc.threads import Feed, Thread
from tests.benches import a_lathe
from tests.how_much import in_one


def shown(setups: list[Setup]) -> list[str]:
    return [f"{found.train}" + (f" {found.lever}" if found.lever else "") for found in setups]


NO_REVERSE = "spindle_side = { ratio = '1', same_way = true, reverse = false }"


class TestFindSetups:
    def test_lead_by_hand(self):
        # 8 tpi leadscrew, 1.5 mm: 60/127 of 25.4 mm / 8 is 1.5 mm.
        best = find_setups(a_lathe(40, 60, 63, 80, 127), "1.5 mm", count=1)[0]
        assert (Train((60,), (127,)), Fraction(3, 2), True) == (best.train, best.lead_mm, best.is_exact)

    def test_each_lever_has_its_own_target(self):
        lathe = gc.demo_lathe("inch")
        leads = {found.lever: found.train.ratio for found in find_setups(lathe, "16 tpi", meshes=1, within_ppm=0)}
        assert {"low": 1, "middle": Fraction(1, 2), "high": Fraction(1, 4)} == leads  # low: the two 40s

    def test_a_feed_goes_through_the_feed_drive(self):
        # Longitudinal 1/8: a feed of 0.1 mm is a lead of 0.8 mm.
        lathe = gc.demo_lathe("inch")
        as_feed = find_setups(lathe, Feed.parse("0.1 mm/rev"), count=5)
        assert [found.train for found in find_setups(lathe, "0.8 mm", count=5)] == [found.train for found in as_feed]
        assert as_feed[0].error_ppm == pytest.approx(1e6 * (float(as_feed[0].lead_mm) / 0.8 - 1))

    def test_owned_once_is_used_once_and_owned_twice_twice(self):
        assert find_setups(a_lathe(20, 40, 40), "2 tpi", meshes=(1, 2), within_ppm=0) == []
        twice = find_setups(a_lathe(20, 20, 40, 40), "2 tpi", meshes=(1, 2), within_ppm=0)
        assert shown(twice) == ["(40 · 40)/(20 · 20)"]

    def test_the_mildest_comes_first_among_equals(self):
        # Both miss by nothing: 30/60 and, of steeper meshes, 20/80 and 80/40 together.
        found = find_setups(a_lathe(20, 30, 40, 60, 80), "16 tpi", count=3)
        assert sorted(shown(found), reverse=True) == ["40/80", "30/60", "20/40"]
        assert all(len(each.train.gears) == 2 for each in found)

    def test_a_mesh_steeper_than_4_to_1_comes_last_among_equals(self):
        found = find_setups(a_lathe(16, 20, 40, 50, 80, 100), "40 tpi", within_ppm=0)
        gentle = [each.strained for each in found]
        assert sorted(gentle) == gentle
        assert {True, False} == set(gentle)
        assert "16/80" in shown(found)[gentle.index(True) :]
        assert shown(found)[0] != "16/80"

    def test_a_leadscrew_faster_than_3_comes_last_among_equals(self):
        # 1 mm leadscrew, 4 mm wanted: whatever the train, it turns 4 times.
        assert all(found.strained for found in find_setups(a_lathe(20, 40, 80, leadscrew="1 mm"), "4 mm", within_ppm=0))

    def test_a_row_of_the_plate_comes_first_even_with_more_meshes(self):
        row = "plate = { '16 tpi' = { drivers = [30, 60], driven = [80, 45] } }"
        found = find_setups(a_lathe(30, 40, 45, 60, 80, more=row), "16 tpi", count=2)
        assert shown(found) == ["(30 · 60)/(45 · 80)", "30/60"]
        assert [each.on_plate for each in found] == [True, False]

    def test_a_row_that_only_nearly_ties_waits_for_its_turn(self):
        # 2/3 and 4/5 miss their mean by the same; a hair below the mean, 2/3 is nearer.
        lathe = a_lathe(40, 50, 60, leadscrew="1 mm", more="plate = { '30 tpi' = { drivers = [40], driven = [50] } }")
        mean, hair = Fraction(11, 15), Fraction(1, 10**15)
        below, above = Feed(mean - hair), Feed(mean + hair)
        assert shown(find_setups(lathe, below, meshes=1, count=2)) == ["40/60", "40/50"]
        assert shown(find_setups(lathe, above, meshes=1, count=2)) == ["40/50", "40/60"]
        assert shown(find_setups(lathe, Feed(mean), meshes=1, count=2)) == ["40/50", "40/60"]

    @pytest.mark.parametrize(
        "row",
        [
            "drivers = [40], driven = [90]",  # not owned
            "drivers = [32], driven = [32]",  # owned once
            "drivers = [20, 20], driven = [25, 32]",  # owned once only
        ],
    )
    def test_a_row_that_is_no_answer_is_none(self, row):
        found = find_setups(a_lathe(20, 25, 32, 40, 80, 40, more=f"plate = {{ '8 tpi' = {{ {row} }} }}"), "8 tpi")
        assert not any(each.on_plate for each in found)

    def test_mounted_moves_fewest_and_keeps_places(self):
        lathe = a_lathe(20, 30, 40, 60, 80, 90)
        mounted = Train((30,), (60,))
        best = find_setups(lathe, "16 tpi", count=1, mounted=mounted)[0]
        assert mounted == best.train
        # 24 tpi: 30/90 keeps the driver, 20/60 the driven gear; neither moves more than one.
        assert {"30/90", "20/60"} == set(shown(find_setups(lathe, "24 tpi", count=2, mounted=mounted)))

    def test_mounted_decides_the_order_of_the_meshes(self):
        mounted = Train((60, 30), (45, 80))
        setups = find_setups(a_lathe(30, 40, 45, 60, 80), "16 tpi", meshes=2, within_ppm=0, mounted=mounted)
        assert mounted in [found.train for found in setups]

    def test_mounted_decides_it_for_the_idler_too(self):
        """Of module 1 no gear is left over, so only the mesh of the first size can have one."""
        lathe = gc.Lathe.from_toml(
            'name = "Two sizes"\nleadscrew = { lead = "3 mm" }\nspindle_side = { same_way = false, reverse = false }\n'
            "gears = { teeth = [20, 24, 30, 40, 45], module_mm = 1.25 }\n"
            "more_gears = [{ teeth = [50, 60, 65, 70], module_mm = 1 }]"
        )
        mounted = "(60 · 20)/(65 · 30), idler 40 in the second mesh, first mesh of module 1"
        [found] = find_setups(lathe, "2.24 mm", meshes=2, within_ppm=0, mounted=mounted)
        assert str(found.train) == "(70 · 24)/(50 · 45), idler 40 in the second mesh, first mesh of module 1"

    def test_a_setup_serves_as_mounted(self):
        lathe = gc.demo_lathe("inch")
        mounted = gc.setup(lathe, (30,), (60,), "low")
        by_setup, by_train = (find_setups(lathe, "M8", mounted=each) for each in (mounted, mounted.train))
        assert by_train == by_setup
        assert mounted.train not in [found.train for found in by_setup]

    def test_rearranging_to_save_a_move_never_strains(self):
        # Mounted 20/100 and 60/30. Kept in their places, 20/100 stays at 5:1; crossed, nothing is steeper than 2.5:1.
        lathe = a_lathe(20, 30, 50, 60, 100)
        mounted = Train((20, 60), (100, 30))
        found = find_setups(lathe, Feed(Fraction(127, 40) * Fraction(6, 25)), meshes=2, count=1, mounted=mounted)[0]
        assert {20, 60, 50, 100} == set(found.train.gears)
        assert not found.strained
        assert found.is_exact

    def test_avoid_leaves_gears_alone(self):
        lathe = gc.demo_lathe("metric")
        assert all(127 not in found.train.gears for found in find_setups(lathe, "8 tpi", avoid=127))
        assert not any({127, 40} & set(found.train.gears) for found in find_setups(lathe, "8 tpi", avoid=(127, 40)))

    def test_within_ppm_counts_the_bound_itself(self):
        # 63/80 of 5/4 mm is 80 to 63 upside down: 125 ppm off 100/127, exactly 1/8000.
        lathe = a_lathe(63, 80, leadscrew="1 mm")
        wanted = Thread.parse("lead 100/127 mm")
        assert Fraction(1, 8000) == find_setups(lathe, wanted)[0].error.exact
        assert len(find_setups(lathe, wanted, within_ppm=125)) == 1
        assert find_setups(lathe, wanted, within_ppm=124.999999) == []

    def test_one_per_ratio_has_each_lead_once(self):
        found = find_setups(gc.demo_lathe("inch"), "1.75 mm", count=30, one_per_ratio=True)
        leads = [each.lead_mm for each in found]
        assert len(set(leads)) == len(leads) == 30

    def test_one_per_ratio_keeps_both_sides_of_a_tie(self):
        # 11/15 is missed by the same by 2/3 and by 4/5.
        lathe = a_lathe(40, 50, 60, leadscrew="1 mm")
        found = find_setups(lathe, Feed(Fraction(11, 15)), meshes=1, count=2, one_per_ratio=True)
        assert shown(found) == ["40/50", "40/60"]
        assert found[0].error == found[1].error

    def test_count_takes_the_first_of_the_same_list(self):
        lathe = gc.demo_lathe("metric")
        all_of_them = find_setups(lathe, "11 1/2 tpi", count=60)
        for count in (1, 2, 7, 59):
            assert all_of_them[:count] == find_setups(lathe, "11 1/2 tpi", count=count)

    def test_a_worm_is_ranked_against_pi_itself(self):
        # 355/113 is nearer to pi than 22/7, which is nearer than 333/106 is not: by hand from the decimals of pi.
        found = find_setups(a_lathe(22, 7, 355, 113, 106, 333, leadscrew="1 mm"), "module 1", meshes=1, count=3)
        assert shown(found) == ["355/113", "333/106", "22/7"]
        assert [each.is_exact for each in found] == [False] * 3

    def test_products_are_listed_once_a_gear_set(self):
        find_setups(gc.demo_lathe("inch"), "M8")
        before = tables.tables_of.cache_info().misses
        find_setups(gc.demo_lathe("inch"), "M10", count=1)
        assert before == tables.tables_of.cache_info().misses


class TestDirection:
    def test_without_a_reverse_one_mesh_needs_an_idler(self):
        found = find_setups(a_lathe(40, 50, 62, 80, more=NO_REVERSE), "16 tpi", within_ppm=0)
        assert shown(found) == ["40/80, idler 62"]  # 60 is the mean of 40 and 80
        assert found[0].hand == "right"

    def test_two_meshes_turn_the_right_way_by_themselves(self):
        lathe = a_lathe(30, 45, 60, 80, more=NO_REVERSE)
        assert shown(find_setups(lathe, "16 tpi", meshes=2, within_ppm=0)) == ["(30 · 60)/(45 · 80)"]
        assert find_setups(lathe, "16 tpi LH", meshes=2, within_ppm=0) == []  # no gear left for an idler

    def test_a_left_hand_thread_needs_none(self):
        assert shown(find_setups(a_lathe(40, 80, more=NO_REVERSE), "16 tpi LH", count=1)) == ["40/80"]

    def test_a_feed_goes_right_hand(self):
        found = find_setups(a_lathe(40, 60, 80, more=NO_REVERSE), Feed.parse("1/16 in"), within_ppm=0)
        assert shown(found) == ["40/80, idler 60"]

    def test_with_a_reverse_every_train_serves(self):
        lathe = a_lathe(40, 80)
        assert shown(find_setups(lathe, "16 tpi", count=1)) == ["40/80"]
        assert shown(find_setups(lathe, "16 tpi LH", count=1)) == ["40/80"]

    def test_each_lever_turns_its_own_way(self):
        gearbox = "gearbox = [{lever='in', ratio='1'}, {lever='out', ratio='1', same_way=false}]"
        found = find_setups(a_lathe(40, 60, 80, more=f"{NO_REVERSE}\n{gearbox}"), "16 tpi", meshes=1, within_ppm=0)
        assert shown(found) == ["40/80 out", "40/80, idler 60 in"]

    def test_the_idler_that_is_mounted_stays(self):
        lathe = a_lathe(40, 50, 62, 80, more=NO_REVERSE)
        mounted = Train((40,), (62,), ((50,),))
        assert shown(find_setups(lathe, "16 tpi", within_ppm=0, mounted=mounted)) == ["40/80, idler 50"]


class TestSetupList:
    def test_is_a_list_and_stays_one_when_cut_or_copied(self):
        found = find_setups(gc.demo_lathe("inch"), "16 tpi")
        assert isinstance(found, list)
        assert isinstance(found[:3], SetupList)
        assert found[:3].wanted == Thread.parse("16 tpi")
        assert copy.copy(found) == found
        assert found.why == ""

    def test_reads_as_numbered_lines(self):
        lathe = evolve(gc.demo_lathe("inch"), bracket=None)
        lines = str(find_setups(lathe, "16 tpi", count=12)).splitlines()
        assert lines[0] == " 1. 40/80, lever middle, reverse over: lead 16 tpi (1.5875 mm), exact"
        assert lines[11].startswith("12. ")
        assert lines[-1].startswith("Fit not checked: 40/80 meshes only if the shafts stand ")

    def test_shows_a_table_with_escaped_names(self):
        lathe = a_lathe(40, 80, more="gearbox = [{lever='<b>&', ratio='1'}]")
        table = find_setups(lathe, "16 tpi", count=1)._repr_html_()
        assert "<b>&" not in table
        assert "&lt;b&gt;&amp;" in table
        assert "40/80" in table
        assert "1.5875" in table
        assert ">16<" in table
        assert ">exact<" in table
        assert 1 == table.count("<caption") == table.count("</table>")
        assert len(re.findall(r'<th scope="col"', table)) == len(re.findall(r"<t[dh][^>]*>", table.split("<tbody>")[1]))

    def test_without_a_gearbox_there_is_no_lever_column(self):
        assert ">lever<" not in find_setups(a_lathe(40, 80), "16 tpi")._repr_html_()

    def test_warnings_are_said_once_below(self):
        found = find_setups(a_lathe(16, 80, 20, 100), "40 tpi", meshes=1, within_ppm=0)
        assert len(found) == 2
        assert (
            1 == str(found).count("a ratio of more than 4:1") == found._repr_html_().count("a ratio of more than 4:1")
        )

    def test_empty_shows_why(self):
        found = find_setups(a_lathe(), "16 tpi")
        assert found == []
        assert found.why == str(found)
        assert f"<p>{found.why}</p>" == found._repr_html_()

    def test_taking_one_where_there_is_none_says_why(self):
        found = find_setups(a_lathe(), "16 tpi")
        for place in (0, -1):
            with pytest.raises(NoSetupError, match=re.escape(found.why)):
                found[place]
        assert found[:1] == []
        assert len(find_setups(a_lathe(40, 80), "16 tpi")[:1]) == 1
        with pytest.raises(IndexError):  # as in any list that has some
            find_setups(a_lathe(40, 80), "16 tpi")[99]


class TestEqualGears:
    """Two gears of a size are one to one; between other meshes they change nothing, and are used where that helps."""

    def test_two_of_them_cut_the_lead_of_the_leadscrew(self):
        found = find_setups(a_lathe(40, 40, 60, leadscrew="12 tpi"), "12 tpi")
        assert shown(found)[0] == "40/40"
        assert found[0].is_exact

    def test_in_each_size_that_is_there_twice_and_in_no_longer_train(self):
        found = find_setups(a_lathe(30, 40, 40, 60, 60, 60), "8 tpi", within_ppm=0)
        assert sorted(shown(found)) == ["40/40", "60/60"]

    def test_a_lever_counts_as_it_does_for_any_train(self):
        found = find_setups(gc.demo_lathe("inch"), "4 tpi", meshes=1, within_ppm=0)
        assert ("40/40", "high") in [(str(Train(each.train.drivers, each.train.driven)), each.lever) for each in found]

    def test_a_row_of_the_plate_is_an_answer_too(self):
        found = find_setups(gc.demo_lathe("inch"), "8 tpi", count=1)[0]
        assert (found.train.drivers, found.train.driven, found.on_plate) == ((40,), (40,), True)

    def test_what_stands_there_and_cuts_it_is_among_the_answers(self):
        lathe = a_lathe(30, 35, 40, 40, 60)
        assert "(30 · 40)/(40 · 60)" not in shown(find_setups(lathe, "16 tpi"))
        found = find_setups(lathe, "16 tpi", mounted="(40 30)/(40 60)")
        assert "(40 · 30)/(40 · 60)" in shown(found)
        assert "(30 · 40)/(60 · 40)" not in shown(find_setups(lathe, "16 tpi", mounted="30/60"))

    def test_for_two_meshes_an_equal_pair_makes_up_the_number(self):
        found = find_setups(a_lathe(30, 40, 40, 60), "16 tpi", meshes=2, within_ppm=0)
        assert shown(found) == ["(30 · 40)/(40 · 60)"]

    def test_it_reaches_where_the_shorter_train_does_not_go_on(self):
        # The shafts are so near each other that 60 and 80 foul in one plane. With a pair of 40s on the stud instead of
        # one idler they lie in two planes.
        lathe = a_lathe(
            40,
            40,
            60,
            80,
            more="gears.module_mm = 1.25\n[bracket]\nspindle_side_at_mm = [-50, 60]\nswing_deg = [-180, 180]\n"
            "studs = 1\nslots = [{from_mm = [-10, 0], to_mm = [-250, 0]}]\nstud_radius_mm = 7\nshaft_radius_mm = 7\n"
            "running_clearance_mm = 0.5\nbacklash_mm = 0.2",
        )
        assert shown(find_setups(lathe, "lead 381/160 mm", within_ppm=0)) == ["(60 · 40)/(40 · 80)"]
        assert not gc.fit(lathe, Train((60,), (80,))).goes_on
        either = find_setups(lathe, "lead 381/160 mm", within_ppm=0, must_fit=False)
        assert [each.fit.goes_on for each in either] == [True, False]

    def test_two_of_another_size_turn_it_the_right_way_where_no_idler_meshes(self):
        """30/60 would want an idler, and the 40s mesh with neither; with both of them the hand comes out right."""
        gears = GearSet([30, 60], module_mm=1.25, more=[GearTable([40, 40], module_mm=1)])
        lathe = evolve(a_lathe(30, 60, more=NO_REVERSE), gear_set=gears)
        for first in ("nearest", "simplest"):
            (found,) = find_setups(lathe, "16 tpi", within_ppm=0, first=first)
            assert sorted(map(plain, found.train.drivers)) == [30, 40]
            assert sorted(map(plain, found.train.driven)) == [40, 60]
            assert found.hand == "right"

    def test_one_more_of_a_size_that_is_there_makes_one_to_one(self):
        found = gear_that_would_do(Query(a_lathe(25, 60), Thread.parse("8 tpi"), (1,)))
        assert found is not None
        assert found[0] == 25


class TestIdlersAdded:
    def test_a_train_that_does_not_go_on_without_an_idler_is_tried_with_one(self):
        # Of 32 · 66 over 36 · 56 no order goes on by itself, and one does with the 127 between.
        found = find_setups(gc.demo_lathe("metric"), "module 1", meshes=2, count=300, mounted="40/80")
        gears = {(tuple(sorted(each.train.drivers)), tuple(sorted(each.train.driven))) for each in found}
        assert ((32, 66), (36, 56)) in gears


class TestEmptyAnswer:
    def test_says_how_close_and_which_gear(self):
        why = find_setups(a_lathe(40, 60, 63, 80), "1.5 mm", within_ppm=5).why
        assert "No train of 1, 2 or 3 meshes of these gears cuts 1.5 mm within 5 ppm." in why
        closest = find_setups(a_lathe(40, 60, 63, 80), "1.5 mm", count=1)[0]
        assert str(closest) in why
        assert "127 teeth: 60/127" in why

    def test_says_what_more_meshes_would_do(self):
        # 24 tpi on an 8 tpi leadscrew from 2/3 and 1/2: two meshes.
        why = find_setups(a_lathe(20, 30, 40, 80), "24 tpi", meshes=1, within_ppm=0).why
        assert "With 2 meshes it would be (20 · 40)/(30 · 80)" in why

    @in_one(
        ("gears", "wanted", "meshes", "teeth"),
        [
            ((40,), "16 tpi", (1, 2), 20),  # 20/40, as mild as 40/80, and the smaller gear
            ((40, 60, 80), "13 tpi", (1, 2), 65),  # 40/65
            ((40, 60), "1 mm", (1, 2), 127),  # 40/127
            ((20, 40, 40), "2 tpi", (1, 2), 80),  # 80/20, of one mesh
            ((20, 40, 40), "2 tpi", (2,), 20),  # (40 · 40)/(20 · 20): one more of a size that is there
        ],
    )
    def test_the_one_gear_that_helps(self, gears, wanted, meshes, teeth):
        found = gear_that_would_do(Query(a_lathe(*gears), Thread.parse(wanted), meshes))
        assert found is not None
        assert teeth == found[0]
        assert found[1].is_exact
        assert found[1] in find_setups(a_lathe(*gears, teeth), wanted, meshes=meshes, within_ppm=0)

    def test_an_idler_can_be_the_gear_that_helps(self):
        lathe = a_lathe(40, 80, more=NO_REVERSE)
        empty = find_setups(lathe, "16 tpi", meshes=1)
        assert empty == []
        assert "no reverse" in empty.why
        found = gear_that_would_do(Query(lathe, Thread.parse("16 tpi"), (1,)))
        assert found is not None
        assert found[0] in found[1].train.idlers[0]

    def test_no_smaller_train_would_do_with_any_gear(self):
        # Counted out: every gear from 16 to 140 added, one mesh, then two.
        lathe, wanted = a_lathe(20, 36, 45, 50, leadscrew="3 mm"), "lead 1.3 mm"
        found = gear_that_would_do(Query(lathe, Thread.parse(wanted), (1, 2)))
        assert found is not None
        serve = {
            m: [t for t in range(16, 141) if find_setups(lathe.with_gears(add=(t,)), wanted, m, 1)[0].is_exact]
            for m in (1, 2)
        }
        fewest = next(m for m in (1, 2) if serve[m])
        assert found[0] in serve[fewest]
        assert found[1].train.meshes == fewest

    @in_one(
        ("lathe", "said"),
        [
            (a_lathe(), "The set has no gears."),
            (a_lathe(40), "There is 1 gear to choose from"),
            (a_lathe(40, 60), "There are 2 gears to choose from"),
            (a_lathe(40, 40, more=NO_REVERSE), "There are 2 gears to choose from"),
            (a_lathe(30, 45, 60, 80, more=NO_REVERSE), "no reverse"),
        ],
    )
    def test_says_what_is_missing(self, lathe, said):
        assert said in find_setups(lathe, "16 tpi LH", meshes=2).why

    def test_without_a_fixed_gear_no_gear_more_is_spoken_of(self):
        gears = GearSet([40, 56, 60, 80], fixed=Fixed(first_driver=56))
        lathe = evolve(a_lathe(40, 80), gear_set=gears)
        assert find_setups(lathe, "M10", avoid=56).why == "56 is fixed, so no train goes without it."

    def test_avoiding_everything_leaves_nothing(self):
        assert "no gears to choose from" in find_setups(a_lathe(40, 80), "16 tpi", avoid=(40, 80)).why

    def test_pi_is_never_exact(self):
        assert "π" in find_setups(a_lathe(20, 40, 55), "module 1", within_ppm=0).why

    def test_a_prime_that_no_gear_up_to_140_has(self):
        why = find_setups(a_lathe(20, 40, 50), "lead 1.39 mm", within_ppm=0).why  # 139 and 127 both
        assert "No one gear more" in why

    def test_of_which_size_the_gear_would_be_where_there_are_several(self):
        """Only a gear of the first size is tried, and a 125 of module 1.25 would do."""
        gears = "teeth = [30, 40, 60, 80]\nmodule_mm = 1\nfixed = { first_driver = 40, last_driven = 80 }\n"
        more = "[[more_gears]]\nteeth = [35]\nmodule_mm = 1.25\n"
        text = f'name = "Odd"\nleadscrew.lead = "3 mm"\n[gears]\n{gears}{more}'
        lathe, richer = gc.Lathe.from_toml(text), gc.Lathe.from_toml(text.replace("[35]", "[35, 125]"))
        none = find_setups(lathe, "0.84 mm", within_ppm=0)
        assert "No one gear more, of 16 to 140 teeth (module 1), would make it exact" in none.why
        assert find_setups(richer, "0.84 mm", meshes=(1, 2, 3), within_ppm=0)
        some = find_setups(lathe, "0.9 mm", within_ppm=0).why
        assert "One gear more would make it exact, 36 teeth (module 1): (40 · 36)" in some


class TestRefusals:
    @in_one(
        ("arguments", "said"),
        [
            ({"meshes": 0}, "meshes"),
            ({"meshes": (1, 5)}, "meshes"),
            ({"meshes": ()}, "meshes"),
            ({"meshes": "12"}, "meshes"),
            ({"meshes": (1.0,)}, "meshes"),
            ({"meshes": None}, "meshes"),
            ({"meshes": True}, "meshes"),
            ({"count": 0}, "count"),
            ({"count": -1}, "count"),
            ({"count": 1.5}, "count"),
            ({"count": None}, "count"),
            ({"count": 10**9}, "count"),
            ({"within_ppm": -1}, "within_ppm"),
            ({"within_ppm": float("nan")}, "within_ppm"),
            ({"within_ppm": "a lot"}, "within_ppm"),
            ({"must_fit": "no"}, "must_fit"),
            ({"must_fit": None}, "must_fit"),
            ({"one_per_ratio": 1}, "one_per_ratio"),
            ({"mounted": (40, 80)}, "mounted"),
            ({"mounted": 40}, "mounted"),
            ({"avoid": "40"}, "avoid"),
            ({"avoid": (0,)}, "avoid"),
            ({"avoid": (40.5,)}, "avoid"),
        ],
    )
    def test_an_argument_that_is_none(self, arguments, said):
        with pytest.raises(ValueOutOfRangeError, match=said):
            find_setups(gc.demo_lathe("inch"), "M8", **arguments)

    @pytest.mark.parametrize("lathe", [None, "inch", 8, Train((40,), (80,))])
    def test_what_is_no_lathe(self, lathe):
        with pytest.raises(ValueOutOfRangeError, match="a lathe is wanted here"):
            find_setups(lathe, "M8")

    @in_one("wanted", [None, 1.5, "", "M", "<script>", "16 tpi " * 30])
    def test_what_is_no_thread(self, wanted):
        with pytest.raises(ThreadTextError):
            find_setups(gc.demo_lathe("inch"), wanted)

    def test_a_cross_feed_that_the_lathe_has_not(self):
        with pytest.raises(NotPossibleError, match="cross feed"):
            find_setups(a_lathe(40, 80), Feed.parse("0.1 mm cross"))

    def test_more_gears_than_can_be_listed(self):
        many = a_lathe(*range(20, 220))
        with pytest.raises(NotPossibleError, match="too many ways"):
            find_setups(many, "M8")
        assert find_setups(many, "M8", meshes=(1, 2), count=1)
        # The empty answer keeps to what can be listed.
        assert "closest" in find_setups(many, "module 1", meshes=(1, 2), within_ppm=0).why

    def test_a_ratio_far_beyond_gears(self):
        with pytest.raises(GearcalcError, match="ratio wanted"):
            find_setups(evolve(a_lathe(40, 80), leadscrew=Leadscrew(Fraction(1, 10**9))), "lead 40 mm")


class TestRanked:
    def test_the_error_is_exact(self):
        best = next(rankings.ranked(Query(a_lathe(63, 80, leadscrew="1 mm"), Thread.parse("lead 127/100 mm"), (1,))))
        assert best.error is not None
        assert RelativeError(Fraction(80, 63), Fraction(127, 100)) == best.error

    def test_a_plate_row_may_name_a_lever_that_is_not_there(self):
        lathe = gc.demo_lathe("inch")
        stray = PlateRow("16 tpi", (40,), (80,), lever=None)
        assert find_setups(lathe, "16 tpi") == find_setups(evolve(lathe, plate=(*lathe.plate, stray)), "16 tpi")


def test_what_is_mounted_may_be_text():
    lathe = gc.demo_lathe("inch")
    by_text = gc.find_setups(lathe, "24 tpi", count=3, mounted="20/45, idler 40")
    assert by_text == gc.find_setups(lathe, "24 tpi", count=3, mounted=gc.Train((20,), (45,), (40,)))
    assert by_text == gc.find_setups(lathe, "24 tpi", count=3, mounted=gc.setup(lathe, 20, 45, "low", 40))
    with pytest.raises(gc.GearcalcError, match="banana"):
        gc.find_setups(lathe, "24 tpi", mounted="banana")
    plan = gc.plan_changeover(lathe, ["16 tpi"], mounted="40/80, idler 25")
    assert plan.moved == 0


class TestRemarksAndColumnsAreShown:
    """In plain text and on a notebook page alike: a strained train is said to be, and a lever has its column."""

    def test_strained(self):
        steep = find_setups(a_lathe(20, 40, 80, 90, leadscrew="1 mm"), "4.5 mm", within_ppm=0)
        assert steep
        assert all(setup.train.steepest > 4 for setup in steep if setup.train.meshes == 1)
        assert all(setup.strained for setup in steep)
        assert steep._repr_html_().count("strained: see below") == len(steep)
        gentle = find_setups(a_lathe(20, 40, 80, leadscrew="8 mm"), "4 mm", within_ppm=0, count=1)
        assert "strained" not in gentle._repr_html_()

    def test_the_lever_column_is_there_where_a_lever_is(self):
        page = find_setups(gc.demo_lathe("inch"), "16 tpi", count=2)._repr_html_()
        assert ">lever</th>" in page
        assert any(f">{name}</td>" in page for name in ("low", "middle", "high"))
        bare = find_setups(a_lathe(20, 40, 80, leadscrew="8 mm"), "4 mm", count=1)._repr_html_()
        assert ">lever</th>" not in bare


class TestWhatIsUsual:
    def test_what_is_asked_where_nothing_is_said(self):
        lathe = gc.demo_lathe("inch")
        found = find_setups(lathe, "M8")
        assert found.query == Query(lathe, Thread.parse("M8"), (1, 2, 3), must_fit=True, one_per_lead=False)
        assert len(found) == 20
        assert found == find_setups(lathe, "M8", (1, 2, 3), 20, None, True, None, (), False, "nearest")

    def test_of_a_query(self):
        query = Query(gc.demo_lathe("inch"), Thread.parse("M8"), (1,))
        assert (query.within, query.mounted, query.avoid, query.borrowed) == (None, None, frozenset(), ())
        assert (query.one_per_lead, query.must_fit, query.choose_within) == (False, True, None)


class TestBounds:
    """The last that is allowed is answered, and one more is refused."""

    @in_one(("name", "last"), [("count", 10_000), ("meshes", 4), ("within_ppm", 0)])
    def test_of_the_arguments(self, name, last):
        lathe, one_more = a_lathe(40, 80), -1 if name == "within_ppm" else last + 1
        assert find_setups(lathe, "16 tpi", **{name: last}) is not None
        with pytest.raises(ValueOutOfRangeError, match=name):
            find_setups(lathe, "16 tpi", **{name: one_more})

    @in_one(("steps", "trains"), [(1, 1), (10, 1), (11, 2), (20, 2), (21, 3)])
    def test_how_far_a_search_looks(self, steps, trains):
        """Ten steps a train that does not go on; the one with which none is left is the last."""
        left = rankings.StepsLeft(steps)
        for _ in range(trains - 1):
            left.spend(10)
        with pytest.raises(rankings.NothingGoesOnError, match=f"^{trains} trains that come next do not go on"):
            left.spend(10)

    @in_one(
        ("how", "said"),
        [
            ({}, "list what does not go on too: each says why not."),
            ({"must_fit": True}, "list what does not go on too: each says why not."),
            ({"must_fit": False}, "the search looked no farther. Ask for fewer meshes."),
        ],
    )
    def test_what_to_do_then(self, how, said):
        with pytest.raises(rankings.NothingGoesOnError) as caught:
            rankings.StepsLeft(1).spend(1, **how)
        assert str(caught.value).endswith(said)

    def test_what_may_go_on_by_its_studs(self):
        thread = Thread.parse("16 tpi")
        for reverse in (True, False):
            for studs, meshes in [(1, (1, 2)), (2, (1, 2, 3)), (3, (1, 2, 3, 4))]:
                lathe = gc.demo_lathe("inch")
                side, bracket = evolve(lathe.spindle_side, reverse=reverse), evolve(lathe.bracket, studs=studs)
                lathe = evolve(lathe, spindle_side=side, bracket=bracket)
                # n meshes stand on n − 1 studs; for an idler, where the hand asks for one, there must be one more
                by_hand = tuple(n for n in meshes if reverse or n % 2 == 0 or n <= studs)
                assert rankings.meshes_that_may_go_on(Query(lathe, thread, (1, 2, 3, 4))) == by_hand
        bare = evolve(gc.demo_lathe("inch"), bracket=None)
        assert rankings.meshes_that_may_go_on(Query(bare, thread, (1, 4))) == (1, 4)
