"""What is called proved, least, or more than none can do: against every train of the set that the sentence names.

The lathes are small, most of their gears owned twice. The brute force counts out all drivers, all driven gears (equal
ones on both sides too), every lever, order and idler, and asks fit() what goes on; fit() is checked elsewhere.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cache
from itertools import combinations, combinations_with_replacement, permutations, product, zip_longest
from math import prod
from typing import Any

from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.feed_changes import change_to_feed
from gearcalc.fits import fit
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.trains import Train
from tests.how_much import examples
from tests.strategies import bench_lathes, mesh_counts

PI = Fraction(31415926535897932384626433832795, 10**31)
Sides = tuple[tuple[int, ...], tuple[int, ...]]


def tenth_of_2a_ppm(diameter: float, pitch: float) -> float:
    """A tenth of the tolerance of class 2A over one diameter; in inches, by the formula of ASME B1.1."""
    tolerance = 0.0015 * diameter ** (1 / 3) + 0.0015 * diameter**0.5 + 0.015 * pitch ** (2 / 3)
    return tolerance / diameter / 3**0.5 / 10 * 1e6


TENTH_PPM = {
    "3/8-16": tenth_of_2a_ppm(0.375, 1 / 16),
    "3/8-24": tenth_of_2a_ppm(0.375, 1 / 24),
    "M8": 118 / 8 / 3**0.5 / 10 * 1000,  # 118 µm, 6g, ISO 965-1
}
near_leads = st.sampled_from(
    [*TENTH_PPM, "16 tpi", "24 tpi", "lead 2.1165 mm", "lead 2.119 mm", "lead 1.588 mm", "lead 2.383 mm", "module 0.5"]
)
"""The leads miss 12, 16 and 32/3 to the inch by 79, 1101, 315 and 734 ppm: some within the 200 of a pitch, some not."""

threads = st.sampled_from(["8 tpi", "4 tpi", "16 tpi LH", "12 tpi", "24 tpi", "lead 2.4 mm", "module 0.5", "6 tpi"])
tolerances = st.sampled_from([0, 1000, 60_000])


def every_train(lathe: Lathe, meshes: Sequence[int]) -> Iterator[tuple[Lever | None, Sides]]:
    """Drivers and driven, ascending, no more of any than are owned."""
    for m in meshes:
        sides = sorted(set(combinations(sorted(lathe.gears), m)))
        for drivers, driven in product(sides, sides):
            if not Counter(drivers) + Counter(driven) - Counter(lathe.gears):
                for lever in lathe.gearbox or (None,):
                    yield lever, (drivers, driven)


def turns(lathe: Lathe, lever: Lever | None, sides: Sides) -> Fraction:
    return lathe.spindle_ratio * Fraction(prod(sides[0]), prod(sides[1])) * (lever.ratio if lever else 1)


def off(lathe: Lathe, lever: Lever | None, sides: Sides, wanted: gc.Thread) -> Fraction:
    lead = wanted.lead.coefficient * PI if isinstance(wanted.lead, PiMultiple) else wanted.lead
    return abs(lathe.leadscrew_lead_mm * turns(lathe, lever, sides) / lead - 1)


def right_hand_comes_out(lathe: Lathe, lever: Lever | None, meshes_and_idlers: int) -> bool:
    turned_round = meshes_and_idlers + (not lathe.spindle_side.same_way) + (lever is not None and not lever.same_way)
    return (turned_round % 2 == 0) == (lathe.leadscrew.hand == "right")


def fewest_idlers(lathe: Lathe, lever: Lever | None, sides: Sides, hand: str) -> int | None:
    """How many idlers the train needs at least, to go on and to turn the right way; None where nothing helps."""
    if lathe.bracket is not None:
        placed = fit(lathe, Train(*sides), hand=hand, lever=lever.name if lever else None)
        return sum(map(len, placed.train.idlers)) if placed.goes_on else None
    if lathe.spindle_side.reverse or right_hand_comes_out(lathe, lever, len(sides[0])) == (hand == "right"):
        return 0
    return 1 if len(lathe.gears) > 2 * len(sides[0]) else None


def every_order(lathe: Lathe, lever: Lever | None, sides: Sides, hand: str) -> Iterator[Train]:
    """Every order of a train's gears with the fewest idlers that it needs, and every idler, as far as it goes on."""
    idlers, meshes = fewest_idlers(lathe, lever, sides, hand), len(sides[0])
    if idlers is None:
        return
    spare = sorted((Counter(lathe.gears) - Counter(sides[0]) - Counter(sides[1])).elements())
    for over, under in product(*(sorted(set(permutations(side))) for side in sides)):
        for chosen in sorted(set(permutations(spare, idlers))):
            for places in combinations_with_replacement(range(meshes), idlers):
                between = [
                    tuple(teeth for teeth, at in zip(chosen, places, strict=True) if at == m) for m in range(meshes)
                ]
                train = Train(over, under, between)
                if lathe.bracket is None or goes_on_as_it_is(lathe, lever, train, hand):
                    yield train


def goes_on_as_it_is(lathe: Lathe, lever: Lever | None, train: Train, hand: str) -> bool:
    placed = fit(lathe, train, hand=hand, lever=lever.name if lever else None, keep_order=True)
    return placed.goes_on and placed.train == train


def served(lathe: Lathe, wanted: gc.Thread, ppm: int, meshes: Sequence[int], must_fit: bool = True) -> bool:
    """Whether any train that is near enough goes on and cuts the right hand."""
    asked = lathe if must_fit else evolve(lathe, bracket=None)
    return any(
        off(lathe, lever, sides, wanted) * 10**6 <= ppm and fewest_idlers(asked, lever, sides, wanted.hand) is not None
        for lever, sides in every_train(lathe, meshes)
    )


class TestTheNearest:
    @given(bench_lathes(), threads, mesh_counts.map(sorted))
    @examples(30)
    def test_no_train_comes_nearer(self, lathe, text, meshes):
        wanted = gc.Thread.parse(text)
        found = gc.find_setups(lathe, wanted, meshes, count=1)
        nearest = min(
            (
                off(lathe, lever, sides, wanted)
                for lever, sides in every_train(lathe, meshes)
                if fewest_idlers(lathe, lever, sides, wanted.hand) is not None
            ),
            default=None,
        )
        assert (nearest is None) == (not found)
        for each in found:
            lever = lathe.lever(each.lever) if each.lever else None
            assert off(lathe, lever, (each.train.drivers, each.train.driven), wanted) == nearest

    @given(bench_lathes(), threads)
    @examples(15)
    def test_one_gear_more_would_do_or_none_would(self, lathe, text):
        wanted = gc.Thread.parse(text)
        why = gc.find_setups(lathe, wanted, within_ppm=0).why
        one = re.search(r"One gear more would [^,]*, (\d+) teeth", why)
        assume(one or "No one gear more" in why)
        if one:
            assert served(lathe.with_gears(add=(int(one[1]),)), wanted, 0, (1, 2, 3))
        else:
            for teeth in (20, 25, 30, 36, 40, 50, 60, 64, 72, 80, 90, 120, 127):
                assert not served(lathe.with_gears(add=(teeth,)), wanted, 0, (1, 2, 3))


class TestPurchases:
    @given(
        bench_lathes(),
        st.lists(threads, min_size=1, max_size=2, unique=True),
        tolerances,
        st.sets(st.sampled_from([20, 30, 40, 50, 80, 127]), min_size=1, max_size=4).map(sorted),
        st.sampled_from([(1,), (2,), (1, 2), (1, 2), (1, 3), (1, 2, 3)]),
        st.booleans(),
    )
    @examples(30)
    def test_fewer_gears_do_not_serve_them_all(self, lathe, texts, ppm, candidates, meshes, must_fit):
        found = gc.gears_to_add(lathe, texts, ppm, 2, candidates, meshes=meshes, must_fit=must_fit)
        wanted = [gc.Thread.parse(text) for text in texts]

        def serves(bought: Sequence[int], each: gc.Thread) -> bool:
            return served(lathe.with_gears(add=bought), each, ppm, meshes, must_fit)

        out = [thread for thread, _ in found.left_out]
        possible = [each for each in wanted if each not in out]
        for size in range(3):
            for bought in combinations_with_replacement(candidates, size):
                if size < found.lower_bound or (found.proven and size < len(found.gears)):
                    assert not possible or not all(serves(bought, each) for each in possible)
                assert not any(serves(bought, each) for each in out)
        for each, setup in zip(wanted, found.setups, strict=True):
            assert (setup is not None) == serves(found.gears, each)
        if found.proven and len(found.gears) > 0:
            assert "proved for all trains of " in found.verdict


def least_moves(lists: Sequence[Sequence[Train]], start: Train | None) -> int:
    """Job by job: for each train the fewest places that may have been changed by the time it stands there."""
    so_far = {train: differ(start, train) if start else 0 for train in lists[0]}
    for trains in lists[1:]:
        so_far = {train: min(moved + differ(before, train) for before, moved in so_far.items()) for train in trains}
    return min(so_far.values())


@cache
def differ(one: Train, other: Train) -> int:
    places = [*zip_longest(one.drivers, other.drivers), *zip_longest(one.driven, other.driven)]
    for mine, theirs in zip_longest(one.idlers, other.idlers, fillvalue=()):
        places += zip_longest(mine, theirs)
    return sum(mine != theirs for mine, theirs in places)


def setups_for(lathe: Lathe, wanted: gc.Thread, ppm: float | Fraction) -> list[Train]:
    """All that the words of a plan name: near enough, idlers no more than needed, not strained if that can be had."""
    found = [
        (turns(lathe, lever, sides) > 3 or train.steepest > 4, train)
        for lever, sides in every_train(lathe, (1, 2, 3))
        if off(lathe, lever, sides, wanted) * 10**6 <= ppm
        for train in every_order(lathe, lever, sides, wanted.hand)
    ]
    gentle = list(dict.fromkeys(train for strained, train in found if not strained))
    return gentle or list(dict.fromkeys(train for _, train in found))


class TestPlans:
    @given(bench_lathes(), st.lists(threads, min_size=1, max_size=3), tolerances, st.booleans(), st.data())
    @examples(30)
    def test_none_moves_fewer(self, lathe, texts, ppm, keep_order, data):
        wanted = [gc.Thread.parse(text) for text in texts]
        lists = [setups_for(lathe, each, ppm) for each in wanted]
        start = None
        if data.draw(st.booleans()) and lists[0]:
            start = data.draw(st.sampled_from(lists[0]))
        try:
            plan = gc.plan_changeover(lathe, texts, ppm, keep_order, start)
        except NotPossibleError:
            assert not all(lists)
            return
        least = min(least_moves(order, start) for order in ([lists] if keep_order else permutations(lists)))
        assert plan.lower_bound <= least
        if plan.proven:
            assert plan.moved <= least
        trains = [each.train for each in plan.setups]
        assert plan.moved == least_moves([[train] for train in trains], start)
        assert plan.moved == 0 or plan.proven == plan.why.startswith("Proven: ")


class TestPlansGoodEnoughToChoose:
    """Each job within a bound of its own; as near as any train comes, where none keeps to it but it may be cut."""

    @given(bench_lathes(), st.lists(near_leads, min_size=1, max_size=3), st.booleans(), st.data())
    @examples(40)
    def test_none_moves_fewer(self, lathe, texts, keep_order, data):
        wanted = [gc.Thread.parse(text) for text in texts]
        lists = [good_enough_setups(lathe, text, each) for text, each in zip(texts, wanted, strict=True)]
        start = None
        if data.draw(st.booleans()) and lists[0]:
            start = data.draw(st.sampled_from(lists[0]))
        try:
            plan = gc.plan_changeover(lathe, texts, keep_order=keep_order, mounted=start)
        except NotPossibleError:
            assert not all(lists)
            return
        assert all(lists)
        least = min(least_moves(order, start) for order in ([lists] if keep_order else permutations(lists)))
        assert plan.lower_bound <= least
        if plan.proven:
            assert plan.moved <= least
            assert plan.moved == 0 or "good enough to choose" in plan.why
        for job, each in zip(plan.jobs, plan.setups, strict=True):
            listed = {train.ratio * lever for train in lists[wanted.index(job)] for lever in (1, Fraction(1, 2))}
            assert each.as_built.lead_mm / lathe.leadscrew_lead_mm in listed


def good_enough_setups(lathe: Lathe, text: str, wanted: gc.Thread) -> list[Train]:
    """All within the thread's own bound; where there are none, those as near as any, unless they can't be let pass."""
    near = setups_for(lathe, wanted, min(TENTH_PPM.get(text, 200), 1000))
    if near:
        return near
    goes_on = [
        off(lathe, lever, sides, wanted)
        for lever, sides in every_train(lathe, (1, 2, 3))
        if fewest_idlers(lathe, lever, sides, wanted.hand) is not None
    ]
    nearest = min(goes_on, default=None)
    if nearest is None or nearest * 10**6 > (5 * TENTH_PPM[text] if text in TENTH_PPM else 1000):
        return []
    return setups_for(lathe, wanted, nearest * 10**6)


class TestFeedChanges:
    @given(bench_lathes(with_bracket=False), st.sampled_from(["0.4 mm/rev", "0.2 mm/rev", "0.9 mm/rev"]), st.data())
    @examples(30)
    def test_none_moves_fewer(self, lathe, feed, data):
        lathe = evolve(lathe, feeds=gc.demo_lathe("inch").feeds)
        there = [
            train for lever, sides in every_train(lathe, (1, 2)) for train in every_order(lathe, lever, sides, "right")
        ]
        assume(there)
        mounted = data.draw(st.sampled_from(there))
        lead = gc.Thread.parse(f"lead {gc.Feed.parse(feed).travel_mm / lathe.feeds.longitudinal} mm")
        enough = [
            train
            for lever, sides in every_train(lathe, (1, 2, 3))
            if off(lathe, lever, sides, lead) <= Fraction(1, 10)
            for train in with_any_idler(lathe, lever, sides)
        ]
        try:
            change: Any = change_to_feed(lathe, mounted, feed)
        except NotPossibleError:
            assert not enough
            return
        assert change.moved == differ(mounted, change.to.train)
        if change.proven:
            assert change.moved <= min(differ(mounted, train) for train in enough)


def with_any_idler(lathe: Lathe, lever: Lever | None, sides: Sides) -> Iterator[Train]:
    """Every order without an idler and with any one, as far as the right hand comes out."""
    spare = sorted((Counter(lathe.gears) - Counter(sides[0]) - Counter(sides[1])).elements())
    for over, under in product(*(sorted(set(permutations(side))) for side in sides)):
        none = ((),) * len(over)
        with_one = [
            (*none[:mesh], (teeth,), *none[mesh + 1 :]) for mesh in range(len(over)) for teeth in dict.fromkeys(spare)
        ]
        for idlers in (none, *with_one):
            train = Train(over, under, idlers)
            shafts = train.meshes + sum(map(len, train.idlers))
            if lathe.spindle_side.reverse or right_hand_comes_out(lathe, lever, shafts):
                yield train
