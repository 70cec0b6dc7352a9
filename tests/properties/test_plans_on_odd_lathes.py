"""A plan on lathes with fixed gears, clusters, damage, two sizes of tooth and bores, against every order and train.

The trains come from tests/odd_lathes.py, which knows the rules of the lathe file and shares nothing with the package.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, permutations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.lathes.trains import places_that_differ
from gearcalc.planning.changeovers import plan_changeover
from tests.how_much import examples
from tests.odd_lathes import OddLathe, Standing, every_train, odd_lathes
from tests.properties.test_odd_lathes import FASTEST, STEEPEST, idlers_wanted, moved, standing_of, steepest

MESHES = (1, 2, 3)
ODD = gc.demo_lathe("odd")

Trains = list[Standing]


def every_standing(odd: OddLathe, lathe: gc.Lathe) -> Trains:
    return [train for meshes in MESHES for idlers in idlers_wanted(lathe, meshes) for train in every_train(odd, idlers)]


def near_enough(every: Trains, lathe: gc.Lathe, lead: Fraction, ppm: int) -> Trains:
    """Every train that is near enough; the strained ones only where there are no others."""
    near = [train for train in every if abs(cut_by(train, lathe) / lead - 1) * 10**6 <= ppm]
    fast = FASTEST * lathe.leadscrew_lead_mm
    return [train for train in near if cut_by(train, lathe) <= fast and steepest(train) <= STEEPEST] or near


def cut_by(train: Standing, lathe: gc.Lathe) -> Fraction:
    return lathe.leadscrew_lead_mm * lathe.spindle_ratio * train.ratio


def least(days: list[Trains], mounted: Standing | None, last_stays: bool) -> int:
    """The fewest gears moved, the jobs as they stand; for each train in turn the least that it takes to get there."""
    so_far = {train: moved(train, mounted, last_stays) for train in days[0]}
    for _, trains in pairwise(days):
        so_far = {
            train: min(cost + moved(train, before, last_stays) for before, cost in so_far.items()) for train in trains
        }
    return min(so_far.values())


@given(odd_lathes(most=6), st.sampled_from([0, 50_000, 200_000]), st.booleans(), st.booleans(), st.data())
@examples(40)
def test_no_plan_moves_fewer_and_that_is_proven(odd, ppm, keep_order, is_mounted, data):
    lathe = gc.Lathe.from_toml(odd.text)
    every = every_standing(odd, lathe)
    leads = sorted({cut_by(train, lathe) for train in every if Fraction(1, 4) < cut_by(train, lathe) < 25})
    assume(leads)
    leads = data.draw(
        st.lists(st.sampled_from(leads), min_size=2, max_size=3, unique=True) if leads[1:] else st.just(leads)
    )
    jobs = [f"lead {lead} mm" for lead in leads]
    lists = [near_enough(every, lathe, lead, ppm) for lead in leads]
    assume(sum(map(len, lists)) < 400)
    mounted, start = None, None
    if is_mounted:
        start = data.draw(
            st.sampled_from(gc.find_setups(lathe, data.draw(st.sampled_from(jobs)), MESHES, count=5))
        ).train
        mounted = standing_of(odd, start)
    last_stays = odd.last_driven is not None
    plan = plan_changeover(lathe, jobs, ppm, keep_order, start)
    orders = [lists] if keep_order else permutations(lists)
    assert (plan.moved, plan.proven) == (min(least([*order], mounted, last_stays) for order in orders), True)
    stand = [standing_of(odd, setup.train) for setup in plan.setups]
    of_job = {gc.Thread.parse(job): trains for job, trains in zip(jobs, lists, strict=True)}
    assert all(train in of_job[job] for job, train in zip(plan.jobs, stand, strict=True))
    assert plan.moved == sum(moved(train, before, last_stays) for before, train in pairwise([mounted, *stand]))


@pytest.mark.parametrize("keep_order", [False, True])
def test_on_the_odd_demo_lathe_each_train_stands_and_the_fixed_driver_never_moves(keep_order):
    jobs = ["M6", "1/4-20", "13 tpi", "19 tpi", "module 1", "M8", "M5", "11 tpi"]
    plan = plan_changeover(ODD, jobs, keep_order=keep_order, mounted="(40 · 30)/(50 · 32)")
    assert plan.proven
    for setup in plan.setups:
        assert setup.fit.goes_on
        assert ODD.gear_set.allows(setup.train)
        assert setup.train.drivers[0] == 40
    before = [plan.mounted, *(setup.train for setup in plan.setups)]
    assert plan.moves == tuple(places_that_differ(one, other) for one, other in pairwise(before))
