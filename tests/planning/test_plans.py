"""plan_changeover: what it promises, against every order and every choice; and what it says to odd lists of jobs."""

from __future__ import annotations

import re
import subprocess
import sys
from copy import copy
from fractions import Fraction
from itertools import combinations, pairwise, permutations, product
from math import prod
from time import process_time
from types import SimpleNamespace

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import NoSetupError, NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.fits.arrangements import count_chains, every_chain
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import REVERSE_OVER_NOTE
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning import candidates, changeovers, path_search
from gearcalc.planning.candidates import Candidates, every_arrangement, ways_to_arrange
from gearcalc.planning.changeovers import plan_changeover
from gearcalc.planning.charts import chart_rows
from gearcalc.planning.nearness import Loose
from gearcalc.planning.path_search import PathSearch
from gearcalc.planning.plans import INTERRUPTED, Plan
from gearcalc.threads.deviations import GOOD_ENOUGH_IN_WORDS
from tests.benches import a_lathe
from tests.how_much import in_one

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
JOBS = ["1/4-20", "1/2-13", "3/8-16", "10 tpi"]
WORK = ("M6", "1/4-20", "1/2-13", "module 1", "19 tpi")


@pytest.fixture(scope="module")
def plan_of_jobs():
    return plan_changeover(INCH, JOBS)


@pytest.fixture(scope="module")
def best():
    return plan_changeover(INCH, WORK)


def least_by_brute_force(lathe, jobs, within_ppm, start, keep_order, each=(1, 2)):
    """Every train of so many meshes that owned gears make, in every order, no tooth count on both sides."""
    listed = []
    for job in jobs:
        lead = gc.Thread.parse(job).lead
        found = []
        for meshes in each:
            for gears in set(permutations(lathe.gears, 2 * meshes)):
                train = Train(gears[:meshes], gears[meshes:])
                cut = lathe.leadscrew_lead_mm * train.ratio
                if abs(cut / lead - 1) <= Fraction(within_ppm, 10**6) and not set(train.drivers) & set(train.driven):
                    found.append(train)
        listed.append(found)
    best = None
    for order in [listed] if keep_order else permutations(listed):
        for chosen in product(*order):
            path = [start, *chosen] if start else list(chosen)
            moved = sum(places_that_differ(one, other) for one, other in pairwise(path))
            best = moved if best is None else min(best, moved)
    return best


class TestPlanChangeover:
    @in_one("keep_order", [False, True])
    @in_one("start", [None, Train((40,), (80,)), Train((20, 60), (30, 80))])
    @in_one(
        ("teeth", "jobs", "within"),
        [
            ((20, 30, 40, 60, 80), ["16 tpi", "24 tpi", "12 tpi"], 0),
            ((20, 30, 40, 50, 60), ["12 tpi", "10 tpi", "16 tpi", "20 tpi"], 0),
            ((20, 40, 63, 80, 100), ["2.5 mm", "16 tpi", "2 mm"], 300),
        ],
    )
    def test_the_least_of_all_orders_and_trains(self, teeth, jobs, within, start, keep_order):
        lathe = a_lathe(*teeth)
        plan = plan_changeover(lathe, jobs, within, keep_order, start)
        least = least_by_brute_force(lathe, jobs, within, start, keep_order)
        assert least is not None
        assert plan.moved == least
        assert plan.proven
        assert sorted(map(str, plan.jobs)) == sorted(jobs)

    @pytest.mark.parametrize("lathe", [INCH, METRIC], ids=lambda lathe: lathe.name)
    @pytest.mark.parametrize("keep_order", [False, True])
    def test_never_more_than_from_what_find_setups_lists(self, lathe, keep_order):
        jobs = ["M6", "M8", "16 tpi", "M10"]
        plan = plan_changeover(lathe, jobs, keep_order=keep_order)
        lists = [gc.find_setups(lathe, job, count=4, within_ppm=200) for job in jobs]
        least = min(
            sum(one.cost(other) for one, other in pairwise(chosen))
            for order in ([lists] if keep_order else permutations(lists))
            for chosen in product(*order)
        )
        assert plan.lower_bound <= plan.moved <= least

    def test_each_setup_cuts_its_job_goes_on_and_is_owned(self):
        plan = plan_changeover(METRIC, ["M6", "M8", "16 tpi", "0.05 mm/rev"], mounted=Train((20,), (60,)))
        assert len(plan.jobs) == len(plan.setups) == 4
        for job, setup in zip(plan.jobs, plan.setups, strict=True):
            assert setup.wanted == job
            assert abs(setup.error_ppm) <= 200
            assert setup.fit.goes_on
            assert setup.fit.train == setup.train
            METRIC.check_owned(setup.train.gears)
            again = gc.setup(METRIC, setup.train.drivers, setup.train.driven, setup.lever, setup.train.idlers, job)
            assert again.lead_mm == setup.lead_mm
            assert again.error == setup.error
        standing = gc.fit(METRIC, Train((20,), (60,)), keep_order=True).train
        mounted = [standing, *(setup.train for setup in plan.setups)]
        assert plan.moves == tuple(places_that_differ(one, other) for one, other in pairwise(mounted))
        assert plan.moved == sum(plan.moves)

    @pytest.mark.parametrize(
        ("lathe", "jobs", "keep_order", "least"),
        [
            (METRIC, [f"{tpi} tpi" for tpi in (8, 9, 10, 11, 12, 13, 14, 16, 18, 19, 20, 24)], False, 11),
            (METRIC, ["1/4-20", "M6", "5/16-18", "M8", "3/8-16", "M10", "7/16-14", "M12"], True, 11),
            (INCH, [f"{tpi} tpi" for tpi in (4, 7, 9, 11, 13, 19, 27)], False, 7),
        ],
    )
    def test_a_day_of_jobs_on_the_bracket(self, lathe, jobs, keep_order, least):
        # Found and proven least by another way: every set of jobs done, with every arrangement mounted last, in full.
        plan = plan_changeover(lathe, jobs, keep_order=keep_order)
        assert (plan.moved, plan.proven) == (least, True)

    def test_only_the_driver_moves_for_inch_threads_on_an_inch_screw(self, plan_of_jobs):
        # 20 and 10 tpi take 40/50 by another lever; 13 and 16 tpi another driven gear each: two gears in all.
        plan = plan_of_jobs
        assert (plan.moved, plan.proven) == (2, True)
        assert {40} == {setup.train.drivers[0] for setup in plan.setups}
        assert plan.idlers_moved == 0

    def test_the_order_given_is_kept(self, plan_of_jobs):
        plan = plan_changeover(INCH, JOBS, keep_order=True)
        assert [gc.Thread.parse(job) for job in JOBS] == list(plan.jobs)
        assert plan.moved >= plan_of_jobs.moved

    def test_two_equal_gears_that_stand_there_stay_when_they_serve(self):
        bare = Lathe.from_toml('name = "a"\nleadscrew.lead = "8 tpi"\ngears.teeth = [20, 30, 40, 40, 50, 60, 80]')
        for lathe in (bare, INCH):  # (40 · 30)/(40 · 60) is 1/2, and 8 tpi halved is 16 tpi
            plan = plan_changeover(lathe, "16 tpi", mounted="(40 30)/(40 60)")
            assert (str(plan.setups[0].train), plan.moved) == ("(40 · 30)/(40 · 60)", 0)

    @pytest.mark.parametrize("within", [None, "good enough", 500])
    def test_one_job_alone_is_set_up_as_a_chart_has_it(self, within):
        for job in ("M6", "module 1", "1/2-13"):
            row = chart_rows(METRIC, job, within)[0]
            assert plan_changeover(METRIC, job, within).setups[0].train == row.setup.train

    @in_one(("leadscrew", "off", "note"), [
        ("5 mm", 0, ""),
        ("2.6 mm", 40_000, "No setup for M8x1.25 is good enough to choose, so the nearest is taken."),
    ])  # fmt: skip
    @in_one("mounted", [None, "60/80"])
    def test_with_no_limit_what_is_good_enough_else_the_nearest(self, leadscrew, off, note, mounted):
        lathe = a_lathe(*((40, 60, 80) if note else (30, 40, 60, 80)), leadscrew=leadscrew)
        plan = plan_changeover(lathe, "M8", None, mounted=mounted)
        assert plan.setups[0].error_ppm == off  # (30 · 40)/(60 · 80), or 40/80
        assert bool(plan.shortfalls) is bool(note)
        assert note in str(plan)
        assert ("nearest" in str(plan)) is bool(note)

    def test_with_no_limit_a_larger_error_is_no_remedy(self):
        for within, remedy in ((None, "Leave it out."), (5, "Leave it out, or allow a larger error.")):
            with pytest.raises(NoSetupError, match=r"can't be set up for M8x1\.25") as refused:
                plan_changeover(a_lathe(40), "M8", within)
            assert str(refused.value).endswith(remedy)

    @in_one("keep_order", [True, False])
    @in_one("jobs", [["M8", "1.25 mm"], ["1.25 mm", "M8"]])
    def test_with_no_limit_jobs_of_one_lead_have_each_their_own(self, jobs, keep_order):
        """40/80 is off by 500 ppm, which M8 takes and a pitch alone does not; (40 · 50)/(58 · 69) is exact."""
        lathe = a_lathe(40, 50, 58, 69, 80, leadscrew="2.50125 mm")
        plan = plan_changeover(lathe, jobs, None, keep_order=keep_order)
        for setup in plan.setups:
            assert abs(setup.error_ppm) <= (500 if str(setup.wanted) != "1.25 mm" else 200)

    def test_what_is_mounted_stays_when_it_serves(self):
        mounted = gc.find_setups(INCH, "1/4-20", count=1)[0]
        plan = plan_changeover(INCH, "1/4-20", mounted=mounted)
        assert plan.moved == 0
        assert mounted.train == plan.setups[0].train
        assert "No gear has to be moved." in str(plan)

    def test_counts_what_else_is_moved(self, plan_of_jobs):
        plan = plan_of_jobs
        levers = [setup.lever for setup in plan.setups]
        assert plan.levers_moved == sum(one != other for one, other in pairwise(levers))
        stances = [(round(setup.fit.swing_deg, 3), setup.fit.axes_mm[1:-1]) for setup in plan.setups]
        assert plan.brackets_moved == sum(one != other for one, other in pairwise(stances))
        assert plan_changeover(evolve(INCH, bracket=None), JOBS).brackets_moved is None
        left = plan_changeover(INCH, ["1/4-20", "1/4-20 LH"])
        assert (left.moved, left.reverses_moved) == (0, 1)

    def test_an_idler_moved_is_counted_among_gears_and_by_itself(self):
        # 80/20 leaves 40 and 50 for an idler; 50/40 leaves 80 and 20: whichever, the idler changes too.
        no_reverse = "spindle_side = { ratio = '1', same_way = true, reverse = false }"
        plan = plan_changeover(a_lathe(20, 40, 50, 80, more=no_reverse), ["2 tpi", "lead 127/32 mm"], keep_order=True)
        assert (plan.moved, plan.idlers_moved) == (3, 1)

    def test_left_alone_each_job_keeps_to_its_own_bound(self):
        # 118 µm (6g of M8, ISO 965-1) over 8 mm; a pitch alone has no tolerance.
        lathe = a_lathe(20, 40, 50, 63, 64, 80)
        plan = plan_changeover(lathe, ["M8", "20 tpi", "lead 2.5001 mm", "16 tpi"])
        own = {"M8x1.25": 118 / 8 / 3**0.5 / 10 * 1000}
        assert all(
            abs(each.error_ppm) <= own.get(str(job), 200) for job, each in zip(plan.jobs, plan.setups, strict=True)
        )
        assert "good enough to choose" in plan.why

    def test_the_nearest_serves_where_none_is_good_enough_to_choose_but_it_may_be_cut(self):
        lathe = a_lathe(20, 40, 80)
        plan = plan_changeover(lathe, ["lead 1.588 mm", "32 tpi"])  # 16 tpi is 315 ppm short of it
        assert round(max(abs(each.error_ppm) for each in plan.setups)) == 315
        assert "No setup for lead 1.588 mm is good enough to choose, so the nearest is taken." in str(plan)
        assert "so the nearest" not in str(plan_changeover(lathe, ["32 tpi", "16 tpi"]))
        assert not plan.shortfalls

    def test_what_is_not_good_enough_to_cut_is_refused(self):
        with pytest.raises(
            NotPossibleError, match=r"can't be set up for M10x1\.5 well enough\. Not good enough for M10x1.5"
        ):
            plan_changeover(a_lathe(20, 40, 80), ["M10", "16 tpi"])

    @pytest.mark.parametrize("meshes", [1, 2, (1, 2)])
    def test_trains_have_as_many_meshes_as_are_asked_for(self, meshes):
        lathe, jobs = a_lathe(20, 30, 40, 60, 80), ["16 tpi", "12 tpi", "24 tpi"]
        plan = plan_changeover(lathe, jobs, 0, meshes=meshes)
        several = meshes if isinstance(meshes, tuple) else (meshes,)
        assert {setup.train.meshes for setup in plan.setups} <= set(several)
        assert (plan.moved, plan.proven) == (least_by_brute_force(lathe, jobs, 0, None, False, several), True)
        assert f"trains of {' or '.join(map(str, several))} mesh" in plan.why

    def test_zero_is_exact_only(self):
        plan = plan_changeover(METRIC, ["M6", "1/4-20"], within_ppm=0)
        assert all(setup.is_exact for setup in plan.setups)

    def test_without_a_bracket(self):
        lathe = evolve(INCH, bracket=None)
        plan = plan_changeover(lathe, JOBS)
        assert all(setup.fit is None for setup in plan.setups)
        assert plan.moved == 2  # 13, 16 and 20 (or 10) tpi need three different driven gears, or drivers

    def test_without_a_reverse_both_hands_are_jobs_of_their_own(self):
        no_reverse = "spindle_side = { ratio = '1', same_way = true, reverse = false }"
        plan = plan_changeover(a_lathe(30, 40, 60, 80, more=no_reverse), ["16 tpi", "16 tpi LH"])
        assert [setup.hand for setup in plan.setups] == [job.hand for job in plan.jobs]
        assert plan.moved == 1  # the idler goes in or comes out

    def test_what_is_not_proven_is_said(self):
        plan = plan_changeover(METRIC, ["M6", "1/4-20"])
        unproven = evolve(plan, lower_bound=plan.moved - 1)
        assert not unproven.proven
        assert f"fewer than {plan.moved - 1}" in str(unproven)
        assert "Proven" in str(evolve(plan, lower_bound=plan.moved))

    def test_how_it_counts_is_said_beside_what_is_proven_and_what_is_not(self):
        # 50 goes from the stud to the leadscrew and is the first driven gear in both trains: no move.
        assert places_that_differ(Train.parse("63→50+70→80"), Train.parse("63→50")) == 2
        plan = plan_changeover(METRIC, ["M6", "1/4-20"])
        for bound in (plan.moved, plan.moved - 1):
            assert "counts as moved when its place in the train (first driver, first driven" in str(
                evolve(plan, lower_bound=bound)
            )

    def test_progress_is_shown_on_request_only(self, capsys):
        plan_changeover(INCH, JOBS[:2])
        assert capsys.readouterr().err == ""
        plan_changeover(INCH, JOBS[:2], progress=True)
        assert "Listing setups" in capsys.readouterr().err


class TestWork:
    """Counted in steps: as much as there may be, and then the best that was found."""

    JOBS = WORK

    def test_with_few_steps_it_is_a_plan_with_what_is_proven_of_it(self, monkeypatch, best):
        assert best.proven
        monkeypatch.setattr(changeovers, "_STEPS", 4)
        monkeypatch.setattr(changeovers, "_FEWEST_STEPS", 1)
        hasty = plan_changeover(INCH, self.JOBS)
        assert hasty.lower_bound < best.moved <= hasty.moved
        assert not hasty.proven
        assert f"No plan in any order can move fewer than {hasty.lower_bound}" in str(hasty)

    @in_one("jobs", [["12 tpi", "24 tpi", "10 tpi"], ["20 tpi", "24 tpi", "6 tpi"], ["20 tpi", "15 tpi", "10 tpi"]])
    def test_what_some_trains_cannot_beat_is_no_bound_of_all(self, monkeypatch, jobs):
        """With one train of each job in the first look it still finds the least of all, and proves no more."""
        monkeypatch.setattr(path_search, "_SIMPLEST", 1)
        monkeypatch.setattr(path_search, "_MOST_PROMISING", 0)
        lathe = a_lathe(20, 30, 40, 50, 60, 80)
        plan = plan_changeover(lathe, jobs, 0, meshes=(1, 2))
        assert plan.proven
        assert plan.moved == least_by_brute_force(lathe, jobs, 0, None, keep_order=False)

    def test_interrupted_before_there_is_a_plan_it_gives_none(self, monkeypatch):
        def stopped(search):
            raise KeyboardInterrupt

        monkeypatch.setattr(PathSearch, "a_good_one", stopped)
        with pytest.raises(KeyboardInterrupt):
            plan_changeover(evolve(INCH, bracket=None), ["10 tpi", "11 tpi"], meshes=1)

    def test_interrupted_it_gives_the_best_so_far(self, monkeypatch, best):
        def interrupted(*_):
            raise KeyboardInterrupt

        monkeypatch.setattr(PathSearch, "within", interrupted)
        plan = plan_changeover(INCH, self.JOBS[::-1])
        assert sorted(map(str, plan.jobs)) == sorted(map(str, best.jobs))
        assert plan.moved >= best.moved
        assert ("Interrupted: " in str(plan)) == (plan.moved > plan.lower_bound)
        monkeypatch.setattr(PathSearch, "a_good_one", interrupted)
        with pytest.raises(KeyboardInterrupt):
            plan_changeover(INCH, self.JOBS)

    @pytest.mark.parametrize("keep_order", [False, True])
    @pytest.mark.parametrize("mounted", [None, "(20 30 40 50)/(25 35 45 55)"])
    def test_of_very_many_trains_some_are_looked_at(self, monkeypatch, keep_order, mounted):
        whole = plan_changeover(METRIC, self.JOBS[:3], keep_order=keep_order, mounted=mounted)
        monkeypatch.setattr(changeovers, "_TRAINS", 150)
        part = plan_changeover(METRIC, self.JOBS[:3], keep_order=keep_order, mounted=mounted)
        assert part.lower_bound <= whole.moved <= part.moved
        assert all(abs(setup.error_ppm) <= 1000 and setup.fit.goes_on for setup in part.setups)


class TestCandidates:
    @in_one(("name", "wanted"), [("inch", "10 tpi"), ("metric", "M6"), ("odd", "20 tpi")])
    def test_a_train_that_goes_on_in_any_way_is_offered_in_one_that_goes_on(self, name, wanted):
        lathe = gc.demo_lathe(name)
        best = gc.find_setups(lathe, wanted, count=1)[0]
        job = Candidates(best, gc.Thread.parse(wanted), None, lathe.gear_set, (1, 2), 30)
        can = [job.roomiest(train) is not None for train in job.trains]
        assert can == [any(map(job.goes_on, job.orders(train))) for train in job.trains]
        assert sum(can) > 20

    @staticmethod
    def of(lathe, best, wanted, limit=0, meshes=(1, 2), most=1000):
        wanted = gc.Thread.parse(wanted)
        best = evolve(gc.setup(lathe, *best), wanted=wanted)
        return Candidates(best, wanted, RelativeError.of_ppm(limit), lathe.gear_set, meshes, most)

    def test_are_the_whole_list_up_to_as_many_as_may_be(self):
        """z/2z of six, and two of these together in fifteen ways, less those with a gear on both sides."""
        lathe = a_lathe(20, 30, 40, 50, 60, 80, 100)
        every = self.of(lathe, (20, 40), "16 tpi")
        assert every.whole
        assert every.trains[0] == Loose((20,), (40,))
        meshes = [len(train.drivers) for train in every.trains]
        assert meshes == sorted(meshes)
        count = len(every.trains)
        for most in (count - 2, count - 1, count, count + 1):
            some = self.of(lathe, (20, 40), "16 tpi", most=most)
            assert some.whole is (most >= count)
            assert set(some.trains) <= set(every.trains)
            assert len(some.trains) == min(most, count)

    @in_one(("teeth", "best", "lead", "strained", "trains"), [
        ((20, 100), (20, 100), Fraction(4, 5), True, [((20,), (100,))]),
        ((20, 40, 50, 80, 100), (20, 100), Fraction(4, 5), False, [((20, 40), (50, 80))]),
        ((20, 80), (20, 80), Fraction(1), False, [((20,), (80,))]),
        ((20, 30, 60, 100), ((20, 60), (100, 30)), Fraction(8, 5), False, [((20, 60), (30, 100))]),
        ((20, 40, 80, 100), ((80, 100), (20, 40)), Fraction(40), True, [((80, 100), (20, 40))]),
    ])  # fmt: skip
    def test_of_the_strained_only_where_there_are_no_others(self, teeth, best, lead, strained, trains):
        """Steeper than 4:1 in any order, or a leadscrew that turns too fast; 4:1 itself is not."""
        job = self.of(a_lathe(*teeth, leadscrew="4 mm"), best, f"lead {lead} mm")
        assert job.strained is strained
        assert [train[:2] for train in job.trains] == trains
        for order in job.orders(job.trains[0]):
            steep = any(max(Fraction(mesh[0], mesh[-1]), Fraction(mesh[-1], mesh[0])) > 4 for mesh in order)
            assert job.may_stand(order) is (strained or not steep)

    def test_of_very_many_orders_it_says_that_it_has_not_all(self, monkeypatch):
        """Two drivers and two driven gears stand in four orders."""
        for most in (3, 4):
            monkeypatch.setattr(candidates, "_MOST_ORDERS", most)
            job = self.of(a_lathe(20, 30, 60, 100, leadscrew="4 mm"), ((20, 60), (30, 100)), "lead 8/5 mm")
            assert len(job.orders(job.trains[0])) == 4
            assert job.whole is (most == 4)

    def test_what_was_looked_at_is_known(self):
        bare = self.of(a_lathe(20, 40), (20, 40), "16 tpi")
        (order,) = bare.orders(bare.trains[0])
        assert bare.knows(order)
        assert bare.roomiest(bare.trains[0]) is None
        (best,) = gc.find_setups(INCH, "16 tpi", count=1)
        job, another = (Candidates(best, best.wanted, None, INCH.gear_set, (meshes,), 5) for meshes in (1, 2))
        loose = job.trains[-1]
        orders = [order for order in job.orders(loose) if not job.knows(order)] or job.orders(job.trains[2])
        assert not another.knows(orders[0])
        another.goes_on(orders[0])
        assert another.knows(orders[0])


class TestSpeed:
    """Against comparing each train with each, and every set of jobs done with every train mounted last."""

    GEARS = (20, 24, 28, 30, 32, 36, 40, 44, 48, 50, 55, 56, 60, 64, 65, 127)

    def trains_of(self, lead: Fraction, ppm: int) -> list[tuple[frozenset[int], frozenset[int]]]:
        """As sets of drivers and driven, from one to three each, for a leadscrew of 8 tpi."""
        wanted, found = float(lead * 8 / Fraction(254, 10)), []
        for meshes in (1, 2, 3):
            sides = [(prod(side), frozenset(side)) for side in combinations(self.GEARS, meshes)]
            for (over, drivers), (under, driven) in product(sides, repeat=2):
                if abs(over / under / wanted - 1) <= ppm / 1e6 and not drivers & driven:
                    found.append((drivers, driven))
        return found

    def least(self, jobs: list[list[tuple[frozenset[int], frozenset[int]]]]) -> int:
        so_far = {(1 << job, job, n): 0 for job, trains in enumerate(jobs) for n in range(len(trains))}
        for done in range(1, 1 << len(jobs)):
            here = [(job, n, moved) for (jobs_done, job, n), moved in so_far.items() if jobs_done == done]
            for job in (job for job in range(len(jobs)) if not done >> job & 1):
                for n, (drivers, driven) in enumerate(jobs[job]):
                    for last, m, moved in here:
                        over, under = jobs[last][m]
                        more = 2 * max(len(over), len(drivers)) - len(over & drivers) - len(under & driven)
                        key = done | 1 << job, job, n
                        so_far[key] = min(so_far.get(key, 99), moved + more)
        return min(moved for (done, _, _), moved in so_far.items() if done + 1 == 1 << len(jobs))

    def test_with_sixteen_gears_it_takes_a_fifth_of_the_time(self):
        jobs, ppm = ["M6", "11 tpi", "1/2-13", "M5", "19 tpi"], 200
        began = process_time()
        plan = plan_changeover(a_lathe(*self.GEARS), jobs, ppm)
        planned = process_time()
        leads = [Fraction(float(gc.Thread.parse(job).lead)) for job in jobs]
        least = self.least([self.trains_of(lead, ppm) for lead in leads])
        assert (plan.moved, plan.proven) == (least, True)
        assert 5 * (planned - began) < process_time() - planned


class TestHowMuchWork:
    """What is told of it, and that no more is said to be proven than was looked at."""

    DAY = ("16 tpi", "24 tpi", "12 tpi")
    LATHE = a_lathe(20, 30, 40, 60, 80)

    def test_as_usual_or_so_many_times_as_much(self, monkeypatch):
        given, look = [], changeovers._looked_for

        def noted(*asked):
            given.append(asked[-1])
            return look(*asked)

        monkeypatch.setattr(changeovers, "_looked_for", noted)
        for effort in ({}, {"effort": 1}, {"effort": 3}, {"effort": 1000}):
            plan_changeover(self.LATHE, self.DAY, **effort)
        usual = given[0]
        assert given == [usual, usual, 3 * usual, 1000 * usual]

    @pytest.mark.parametrize("keep_order", [False, True])
    def test_each_bar_goes_to_its_end(self, keep_order):
        told = []

        def shown(steps, what):
            yield from steps
            told.append(what)

        plan_changeover(self.LATHE, self.DAY, keep_order=keep_order, progress=shown)
        assert told == ["Listing setups", "Listing trains", "Looking for the fewest moves"]

    def test_what_some_trains_or_gears_cannot_beat_is_not_said_of_all(self, monkeypatch):
        """A search that claims too much is believed only where every train of every job was there."""
        look, useful = changeovers._looked_for, changeovers.most_useful
        plan = plan_changeover(self.LATHE, self.DAY)
        assert plan.moved == 2
        monkeypatch.setattr(changeovers, "_looked_for", lambda *asked: look(*asked)._replace(least=99))
        assert plan_changeover(self.LATHE, self.DAY).lower_bound == 2
        monkeypatch.setattr(changeovers, "_least_by_exchanges", lambda *asked: 1)
        assert plan_changeover(self.LATHE, self.DAY).lower_bound == 2
        with monkeypatch.context() as fewer_gears:
            fewer_gears.setattr(changeovers, "most_useful", lambda *asked: copy(useful(*asked)))
            assert plan_changeover(self.LATHE, self.DAY).lower_bound == 1
        whole = Candidates.__init__

        def some_of_one(job, *asked):
            whole(job, *asked)
            job.whole &= str(asked[1]) != "24 tpi"

        monkeypatch.setattr(Candidates, "__init__", some_of_one)
        assert plan_changeover(self.LATHE, self.DAY).lower_bound == 1

    def test_one_job_alone_proves_nothing_and_is_not_interrupted(self):
        plan = plan_changeover(INCH, "M8")
        assert (plan.lower_bound, plan.interrupted) == (0, False)
        assert not plan_changeover(self.LATHE, self.DAY).interrupted

    def test_interrupted_nothing_is_proven_that_the_leads_alone_do_not_tell(self, monkeypatch):
        def interrupted(*_):
            raise KeyboardInterrupt

        monkeypatch.setattr(PathSearch, "within", interrupted)
        monkeypatch.setattr(changeovers, "_least_by_exchanges", lambda *asked: 0)
        plan = plan_changeover(INCH, WORK[::-1])
        assert plan.interrupted
        assert plan.lower_bound == 0

    def test_as_many_leads_as_are_said_in_any_order(self):
        jobs = [f"{tpi} tpi" for tpi in (4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 16, 18, 20)]
        assert len(plan_changeover(evolve(INCH, bracket=None), jobs, 0, meshes=1).jobs) == 14


class TestOddLists:
    def test_the_first_of_several_names_is_the_one_that_is_missed(self):
        with pytest.raises(NotPossibleError, match=r"set up for M6x1, M5x0\.8 within 0\.1235 ppm") as refused:
            plan_changeover(INCH, ["M6", "lead 1 mm", "M5", "20 tpi"], within_ppm=0.123456)
        assert "cuts M6x1" in str(refused.value)
        assert "0.8" not in str(refused.value).partition("ppm")[2]

    def test_without_any_train_it_says_why(self):
        with pytest.raises(NotPossibleError, match=r"for 16 tpi well enough.*takes at least 2.*Leave it out"):
            plan_changeover(a_lathe(40), ["16 tpi"])

    def test_just_as_far_off_as_is_good_enough_is_good_enough(self):
        """40/80 of 4 mm is 2 mm, 200 ppm more than 20000/10002 mm."""
        for lead, said in ((Fraction(20000, 10002), False), (Fraction(200000, 100021), True)):
            plan = plan_changeover(a_lathe(40, 80, leadscrew="4 mm"), f"lead {lead} mm")
            assert ("is good enough to choose, so the nearest is taken" in str(plan)) is said

    def test_duplicates_are_done_together_and_said(self):
        plan = plan_changeover(INCH, ["M8", "1/4-20", "M8"])
        assert len(plan.jobs) == 3
        assert abs([str(job) for job in plan.jobs].index("1/4-20 UNC") - 1) == 1
        assert "M8x1.25 is listed 2 times" in str(plan)
        assert plan.moved == plan_changeover(INCH, ["M8", "1/4-20"]).moved

    def test_different_names_of_one_lead_share_a_setup(self):
        plan = plan_changeover(INCH, ["1/4-20", "1/2-13", "7/16-20"])
        twenty = [setup for job, setup in zip(plan.jobs, plan.setups, strict=True) if "-20" in str(job)]
        assert twenty[0].train == twenty[1].train
        assert twenty[0].wanted != twenty[1].wanted

    def test_in_the_order_given_a_lead_may_come_back(self):
        plan = plan_changeover(INCH, ["M8", "1/4-20", "M8"], keep_order=True)
        assert [str(job) for job in plan.jobs] == ["M8x1.25", "1/4-20 UNC", "M8x1.25"]

    @pytest.mark.parametrize("one", ["M8", ["M8"], gc.Thread.parse("M8"), "0.1 mm/rev"])
    def test_one_job(self, one):
        plan = plan_changeover(INCH, one)
        assert (len(plan.jobs), plan.moved, plan.proven) == (1, 0, True)
        assert "One job alone" in str(plan)

    @pytest.mark.parametrize("none", [[], (), iter([])])
    def test_none(self, none):
        with pytest.raises(ValueOutOfRangeError, match="1 to 200 jobs, not 'none'"):
            plan_changeover(INCH, none)

    def test_as_many_as_are_said_and_no_more(self):
        bare = evolve(INCH, bracket=None)
        assert len(plan_changeover(bare, ["10 tpi"] * 200).jobs) == 200
        assert len(chart_rows(bare, ["10 tpi"] * 300)) == 300
        assert plan_changeover(bare, "10 tpi", effort=1000).proven
        for plan in (lambda: plan_changeover(bare, ["10 tpi"] * 201), lambda: chart_rows(bare, ["10 tpi"] * 301)):
            with pytest.raises(ValueOutOfRangeError):
                plan()
        with pytest.raises(ValueOutOfRangeError, match="effort"):
            plan_changeover(bare, "10 tpi", effort=1001)

    @in_one(("jobs", "which"), [(["1/4-20", "M6"], "it"), (["M6", "module 1"], "them")])
    def test_what_to_leave_out(self, jobs, which):
        with pytest.raises(NotPossibleError, match=f"Leave {which} out, or allow a larger error"):
            plan_changeover(INCH, jobs, within_ppm=0)

    def test_unfittable(self):
        with pytest.raises(NotPossibleError, match="can't be set up for M6x1, module 1 within 0 ppm") as refused:
            plan_changeover(INCH, ["1/4-20", "M6", "module 1"], within_ppm=0)
        assert "The closest is" in str(refused.value)
        assert "Leave them out" in str(refused.value)

    def test_too_many_leads_for_any_order(self):
        jobs = [f"{tpi} tpi" for tpi in (4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 16, 18, 20, 24)]
        with pytest.raises(NotPossibleError, match="keep the order given"):
            plan_changeover(INCH, jobs)
        assert len(plan_changeover(evolve(INCH, bracket=None), jobs, 0, keep_order=True).jobs) == 15

    @in_one(
        "wrong",
        [
            {"within_ppm": -1},
            {"within_ppm": float("nan")},
            {"effort": 0},
            {"meshes": 5},
            {"effort": 1.5},
            {"mounted": "banana"},
            {"lathe": None},
            {"jobs": [None]},
            {"jobs": 5},
            {"jobs": ["nonsense 1"]},
        ],
    )
    def test_refuses(self, wrong):
        with pytest.raises((ValueOutOfRangeError, ThreadTextError)):
            plan_changeover(**{"lathe": INCH, "jobs": ["M8"], **wrong})


class TestPlan:
    def test_shows_a_table_with_escaped_names(self):
        lathe = a_lathe(40, 80, more="gearbox = [{lever='<b>&', ratio='1'}]")
        table = plan_changeover(lathe, "16 tpi")._repr_html_()
        assert "<b>&" not in table
        assert "&lt;b&gt;&amp;" in table
        assert table.count('scope="col"') == 7
        assert 'scope="row"' in table

    @in_one(("levers", "jobs", "said"), [
        ('gearbox = [{lever="A", ratio="1"}, {lever="B", ratio="1/2"}]', ["16 tpi", "32 tpi"], "the lever once"),
        ('lever = [{name="r", positions={A="1", B="1/2"}}, {name="s", positions={C="1", D="1/4"}}]',
         ["16 tpi", "128 tpi"], "the levers twice"),
    ])  # fmt: skip
    def test_one_lever_or_several(self, levers, jobs, said):
        """40/80 on 8 tpi is 16 tpi; the other leads are a half of it by one lever, an eighth by both."""
        plan = plan_changeover(a_lathe(40, 80, more=levers), jobs, 0, meshes=1)
        assert plan.summary == f"To move: no gear, {said}, the bracket not known."

    def test_reads_as_lines(self):
        lines = str(plan_changeover(INCH, JOBS, mounted=Train((20,), (25,)))).splitlines()
        assert [line[:2] for line in lines[:4]] == ["1.", "2.", "3.", "4."]
        assert lines[4].startswith("To move: ")


BARE = evolve(INCH, bracket=None)
HALF = gc.setup(BARE, 40, 80, "low")


def stands(swing_deg, *studs, setup=HALF):
    """The setup on a bracket swung so, its studs there."""
    fit = SimpleNamespace(goes_on=True, swing_deg=swing_deg, axes_mm=((0.0, 106.0), *studs, (0.0, 0.0)))
    return evolve(setup, fit=fit)


def a_plan(*setups, **others):
    """A plan for these setups, one a job; as far as nothing else is said the least that there is."""
    plan = Plan(tuple(setup.wanted or gc.Thread.parse("M8") for setup in setups), setups, None, 0, 0.0)
    return evolve(evolve(plan, lower_bound=plan.moved), **others)


def as_train(text, setup=HALF):
    return stands(7.0, setup=evolve(setup, train=Train.parse(text)))


class TestWhatIsMoved:
    """Counted by hand on setups made up for it."""

    @in_one(("one", "other", "moved"), [
        ((7.0, (30.0, 0.0)), (7.0, (30.0, 0.0)), 0),
        ((0.0, (30.0, 0.0)), (0.05, (30.0, 0.0)), 0),
        ((0.0, (30.0, 0.0)), (-0.05, (30.0, 0.0)), 0),
        ((0.0, (30.0, 0.0)), (0.06, (30.0, 0.0)), 1),
        ((5.0, (30.0, 0.0)), (-5.0, (30.0, 0.0)), 1),
        ((7.0, (30.0, 0.0)), (7.0, (30.0, 0.05)), 0),
        ((7.0, (30.0, 0.0)), (7.0, (30.0, -0.06)), 1),
        ((7.0, (30.0, 0.0), (9.0, 9.0)), (7.0, (30.0, 0.0), (9.0, 8.0)), 1),
        ((7.0, (30.0, 0.0), (9.0, 9.0)), (7.0, (31.0, 0.0), (9.0, 9.0)), 1),
        ((7.0, (30.0, 0.0)), (7.0, (30.0, 0.0), (9.0, 9.0)), 1),
        ((7.0,), (7.0,), 0),
        ((None,), (7.0,), None),
        ((7.0,), (None,), None),
    ])  # fmt: skip
    def test_bracket_and_studs_to_a_twentieth(self, one, other, moved):
        assert a_plan(stands(*one), stands(*other)).brackets_moved == moved

    def test_a_bracket_that_is_not_known_once_is_not_known_at_all(self):
        assert a_plan(stands(7.0), HALF).brackets_moved is None
        assert a_plan(HALF, stands(7.0)).brackets_moved is None
        assert a_plan(stands(7.0), stands(9.0), HALF).brackets_moved is None
        assert a_plan(stands(7.0), stands(9.0), stands(7.0), stands(7.0)).brackets_moved == 2

    @in_one(("ways", "said"), [
        ("n", ("",)),
        ("o", ("",)),
        ("nn", ("", "")),
        ("no", ("", "over")),
        ("on", ("", "back")),
        ("oono", ("", "", "back", "over")),
        ("nfo", ("", "", "over")),
        ("nfn", ("", "", "")),
        ("offn", ("", "", "", "back")),
        ("fo", ("", "")),
        ("fon", ("", "", "back")),
    ])  # fmt: skip
    def test_the_reverse_is_put_over_or_back_and_left_for_a_feed(self, ways, said):
        of = {"o": "32 tpi", "n": "32 tpi LH", "f": "0.1 mm/rev"}
        plan = a_plan(*(gc.setup(BARE, 40, 80, "low", wanted=of[way]) for way in ways))
        assert [setup.reverse_over for setup in plan.setups] == [way == "o" for way in ways]
        assert plan.reverse_moves == said
        assert plan.reverses_moved == sum(map(bool, said))
        assert ("the reverse" in plan.summary) is any(said)
        assert (REVERSE_OVER_NOTE in str(plan)) is ("o" in ways)
        assert (REVERSE_OVER_NOTE in plan._repr_html_()) is ("o" in ways)

    @in_one(("trains", "mounted", "moves", "idlers"), [
        (["40/80"], None, (None,), 0),
        (["40/80"], "40/80", (0,), 0),
        (["40/80"], "40/60, idler 20", (2,), 1),
        (["40/80, idler 25", "40/80, idler 30", "40/60, idler 30"], None, (None, 1, 1), 1),
        (["40/80, idler 25", "40/80, idler 30"], None, (None, 1), 1),
        (["40/80, idler 25", "40/80, idler 30", "40/80"], None, (None, 1, 1), 2),
        (["40/80, idler 25", "40/80, idler 30", "40/60"], None, (None, 1, 2), 2),
        (["40/80, idlers 25 30", "20/80"], "20/80", (3, 3), 4),
    ])  # fmt: skip
    def test_gears_and_how_many_of_them_are_idlers(self, trains, mounted, moves, idlers):
        plan = a_plan(*map(as_train, trains), mounted=Train.parse(mounted) if mounted else None)
        assert (plan.moves, plan.moved, plan.idlers_moved) == (moves, sum(moves[mounted is None :]), idlers)
        said = {0: "", 1: ", 1 of them an idler", 2: ", 2 of them idlers", 4: ", 4 of them idlers"}[idlers]
        said = {1: ", an idler", 2: ", all of them idlers"}[idlers] if 0 < idlers == plan.moved else said
        begin = {0: "no gear", 1: "1 gear"}.get(plan.moved, f"{plan.moved} gears")
        of_jobs = "; from the first job on" if mounted else ","
        assert plan.summary.startswith(f"To move: {begin}{said}{of_jobs} the lever never, ")
        assert plan.summary.endswith(", the bracket never.")

    @in_one(("levers", "times"), [
        (["low"], "never"),
        (["low", "low"], "never"),
        (["low", "high"], "once"),
        (["low", "high", "low"], "twice"),
        (["low", "high", "low", "middle"], "3 times"),
    ])  # fmt: skip
    def test_how_often(self, levers, times):
        plan = a_plan(*(stands(7.0, setup=gc.setup(BARE, 40, 80, lever)) for lever in levers))
        assert plan.summary == f"To move: no gear, the lever {times}, the bracket never."

    def test_a_lathe_without_a_gearbox_has_no_several_levers(self):
        plan = a_plan(gc.setup(a_lathe(40, 80), 40, 80), gc.setup(a_lathe(40, 80), 40, 80))
        assert plan.summary == "To move: no gear, the lever never, the bracket not known."


class TestWhatAPlanSays:
    """Every branch in full, of two made-up jobs between which one gear is moved."""

    TWO = gc.setup(BARE, 40, 80, "low", wanted="32 tpi LH"), gc.setup(BARE, 40, 60, "low", wanted="24 tpi LH")
    COUNTS = (
        "A gear counts as moved when its place in the train (first driver, first driven, second driver ...) holds "
        "another than before, is filled or is left empty."
    )

    @in_one(("within", "near"), [
        (None, GOOD_ENOUGH_IN_WORDS),
        (0.0, "that are exact"),
        (1.234567, "within 1.2346 ppm"),
        (1.5, "within 1.5 ppm"),
        ("good enough", GOOD_ENOUGH_IN_WORDS),
    ])  # fmt: skip
    @in_one(("kept", "order"), [(False, "in any order"), (True, "in this order")])
    @in_one(("fits", "trains"), [(False, "these gears, fit not checked"), (True, "these gears that go on the bracket")])
    def test_how_good_it_is(self, within, near, kept, order, fits, trains):
        setups = [stands(7.0, setup=each) for each in self.TWO] if fits else self.TWO
        plan = a_plan(*setups, within_ppm=within, kept_order=kept, meshes=(1, 2))
        of = f"of all setups {near} with trains of 1 or 2 meshes from {trains}, with no more idlers than they need and "
        of += "none strained that need not be. "
        assert plan.proven
        assert plan.why == f"Proven: no plan {order} moves fewer, {of}{self.COUNTS}"
        assert evolve(plan, lower_bound=2).proven
        plan = evolve(plan, lower_bound=0)
        assert not plan.proven
        assert plan.why == (
            "The best that was found with so much work; whether fewer will do is not proven. "
            f"No plan {order} can move fewer than 0, {of}To look further takes longer. {self.COUNTS}"
        )

    def test_no_gear_at_all(self):
        assert a_plan(self.TWO[0], self.TWO[0], lower_bound=-1).why == "No gear has to be moved."

    def test_interrupted(self):
        assert not a_plan(*self.TWO, notes=("a note",)).interrupted
        assert a_plan(*self.TWO, notes=("a note", INTERRUPTED)).interrupted

    def test_left_alone_the_order_is_open_and_the_meshes_are_one_two_or_three(self):
        assert "in any order" in a_plan(*self.TWO).why
        assert "1, 2 or 3 meshes" in a_plan(*self.TWO).why

    def test_in_lines_and_as_a_table(self):
        first = self.TWO[0]
        over, far = (gc.setup(BARE, 40, 60, "low", wanted=wanted) for wanted in ("24 tpi", "0.8 mm"))
        plan = a_plan(first, over, far, notes=("A note.",))
        assert plan.shortfalls == (far.shortfall,)
        assert str(plan).splitlines() == [
            far.shortfall,
            f"1. 32 tpi LH: {first}",
            f"2. 24 tpi: {over}; 1 gear to move; put the reverse over",
            f"3. 0.8 mm: {far}; no gear to move",
            plan.summary,
            plan.why,
            "A note.",
            REVERSE_OVER_NOTE,
            *fit_not_checked(plan.setups),
        ]
        page = plan._repr_html_()
        cells = [
            re.findall(r"<t[hd][^>]*>([^<]*)<", row)
            for row in page.replace("\xa0", " ").replace("\u202f", " ").split("<tr>")[1:]
        ]
        assert cells == [
            ["place", "job", "lever", "train", "error", "gears to move", "reverse to put"],
            ["1", "32 tpi LH", "low", "40/80", "exact", "not known", "–"],
            ["2", "24 tpi", "low, reverse over", "40/60", "exact", "1", "over"],
            ["3", "0.8 mm", "low, reverse over", "40/60", "+322 917 ppm", "0", "–"],
        ]
        assert page.startswith(f"<p><strong>{far.shortfall}</strong></p><table>")
        assert all(said in page for said in (plan.summary, "A note.", REVERSE_OVER_NOTE))

    def test_what_there_is_not_is_left_empty(self):
        bare = gc.setup(a_lathe(40, 80), 40, 80)
        cells = re.findall(r"<td[^>]*>([^<]*)<", a_plan(bare, mounted=Train(40, 80))._repr_html_())
        assert cells[1:] == ["none", "40/80", "", "0", "–"]


class TestEveryArrangement:
    @pytest.mark.parametrize("job", ["1/4-20", "M6", "11 1/2 tpi"])
    def test_each_goes_on_and_cuts_the_same(self, job):
        for setup in gc.find_setups(INCH, job, count=5):
            found = list(every_arrangement(INCH, setup))
            assert found[0] is setup
            assert len({each.train for each in found}) == len(found) <= ways_to_arrange(INCH, setup) + 1
            for each in found:
                assert each.lead_mm == setup.lead_mm
                assert each.fit.goes_on
                assert sorted(each.train.drivers) == sorted(setup.train.drivers)
                INCH.check_owned(each.train.gears)
                assert gc.fit(INCH, each.train, keep_order=True).goes_on

    def test_none_is_left_out(self):
        setup = gc.find_setups(INCH, "M6", count=1)[0]
        listed = {each.train for each in every_arrangement(INCH, setup)}
        every = {
            Train(over, under)
            for over in permutations(setup.train.drivers)
            for under in permutations(setup.train.driven)
        }
        assert listed == {train for train in every if gc.fit(INCH, train, keep_order=True).goes_on}

    def test_with_more_orders_than_may_be_it_comes_alone(self):
        setup = gc.setup(a_lathe(20, 30, 40, 50), (20, 30), (40, 50))
        assert ways_to_arrange(setup.lathe, setup) == 4
        assert [len([*every_arrangement(setup.lathe, setup, most)]) for most in (3, 4, 5)] == [1, 4, 4]
        assert len([*every_arrangement(setup.lathe, setup)]) == 4

    @in_one(("drivers", "driven", "orders"), [
        ((20, 60), (30, 100), [((20, 60), (30, 100)), ((60, 20), (100, 30))]),
        ((20, 60), (100, 30), [(over, under) for over in ((20, 60), (60, 20)) for under in ((30, 100), (100, 30))]),
        ((20, 50), (80, 40), [(over, under) for over in ((20, 50), (50, 20)) for under in ((40, 80), (80, 40))]),
    ])  # fmt: skip
    def test_no_order_strains_it_that_it_is_not_strained_in(self, drivers, driven, orders):
        """20 on 100 is 5:1, steeper than 4:1; 20 on 80 is no more than that."""
        setup = gc.setup(a_lathe(20, 30, 40, 50, 60, 80, 100), drivers, driven)
        found = {(each.train.drivers, each.train.driven) for each in every_arrangement(setup.lathe, setup)}
        assert found == set(orders)

    def test_orders_are_all_there_are(self):
        # 2 orders of the drivers, 2 of the driven gears, 3 spare gears, 2 meshes to put one in.
        assert len(set(every_chain(Train((20, 30), (40, 50)), (60, 70, 80), idlers=1))) == 24
        assert count_chains(meshes=2, spare=3, idlers=1) == 24


def test_chart_and_plan_need_no_compiled_packages():
    code = "import sys, gearcalc.planning.charts, gearcalc.planning.changeovers; print(' '.join(sys.modules))"
    loaded = set(
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    )
    assert loaded.isdisjoint({"numpy", "pandas", "matplotlib", "scipy", "tqdm", "ipywidgets", "sympy"})
