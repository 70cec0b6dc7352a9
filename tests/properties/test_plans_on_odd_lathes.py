"""A plan on lathes with fixed gears, clusters, damage, two sizes of tooth and bores, against every order and train.

The trains come from tests/odd_lathes.py, which knows the rules of the lathe file and shares nothing with the package.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise, permutations, product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.lathes.trains import places_that_differ
from gearcalc.planning.changeovers import plan_changeover
from tests.how_much import examples
from tests.odd_lathes import OddLathe, Standing, every_train, odd_lathes
from tests.properties.test_odd_lathes import (
    BRACKET,
    FASTEST,
    STEEPEST,
    gear_of,
    idlers_wanted,
    moved,
    pieces,
    standing_of,
    steepest,
)

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


def going_on(odd: OddLathe, lathe: gc.Lathe) -> Trains:
    """Every train that goes on the bracket as it stands, with the fewest idlers with which its gears go on at all."""
    of = {gear_of(odd, gear): gear for gear in lathe.gear_set.pieces}
    found: dict[tuple[object, ...], Trains] = {}
    for idlers, meshes in product(range(3), MESHES):
        if idlers not in numbers_tried(lathe, meshes):
            continue
        so_many = dict[tuple[object, ...], Trains]()
        shapes = [shape for shape in product(range(idlers + 1), repeat=meshes) if sum(shape) == idlers]
        for train in (train for shape in shapes for train in every_train(odd, shape)):
            as_it_stands = gc.Train(
                [of[gear] for gear in train.drivers],
                [of[gear] for gear in train.driven],
                [tuple(of[gear] for gear in mesh) for mesh in train.idlers],
            )
            placed = gc.fit(lathe, as_it_stands, keep_order=True)
            if pieces(train) not in found and placed.goes_on and placed.train == as_it_stands:
                so_many.setdefault(pieces(train), []).append(train)
        found |= so_many
    return [train for trains in found.values() for train in trains]


def numbers_tried(lathe: gc.Lathe, meshes: int) -> list[int]:
    """One idler or two in a single mesh, else none or one; with two meshes two where one turned it the wrong way."""
    if lathe.spindle_side.reverse:
        return [1, 2] if meshes == 1 else [0, 1]
    turned_round = meshes + (not lathe.spindle_side.same_way)
    return [number for number in range(meshes == 1, 2 + (meshes < 3)) if (turned_round + number) % 2 == 0]


@given(odd_lathes(most=6, more=BRACKET), st.sampled_from([0, 200_000]), st.booleans(), st.data())
@examples(8)
def test_on_a_bracket_no_plan_moves_fewer_either(odd, ppm, keep_order, data):
    lathe = gc.Lathe.from_toml(odd.text)
    every = going_on(odd, lathe)
    leads = sorted({cut_by(train, lathe) for train in every if Fraction(1, 4) < cut_by(train, lathe) < 25})
    assume(leads)
    leads = data.draw(st.lists(st.sampled_from(leads), min_size=min(2, len(leads)), max_size=3, unique=True))
    lists = [near_enough(every, lathe, lead, ppm) for lead in leads]
    assume(sum(map(len, lists)) < 400)
    plan = plan_changeover(lathe, [f"lead {lead} mm" for lead in leads], ppm, keep_order)
    orders = [lists] if keep_order else permutations(lists)
    fewest = min(least([*order], None, odd.last_driven is not None) for order in orders)
    assert (plan.moved, plan.proven) == (fewest, True)


@given(odd_lathes(most=6), st.sampled_from([0, 50_000, 200_000]), st.booleans(), st.booleans(), st.data())
@examples(20)
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
