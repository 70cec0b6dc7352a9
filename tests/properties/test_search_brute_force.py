"""The search against a brute force that counts out every lever, train, order of meshes and idler.

The brute force knows only the rules, as finding/ranks.py lists them; it shares no code with the search. It counts
out every train that the gears allow, equal gears on both sides too, and only then leaves out pairs that do nothing. π
is sympy's, to 60 digits, which tells any two of these small ratios apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, permutations, zip_longest
from math import prod
from typing import Any, NamedTuple

import sympy
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.exact import PiMultiple
from gearcalc.finding.rankings import Query, ranked
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import GearSet, Lathe, Leadscrew, Lever, SpindleSide
from gearcalc.lathes.trains import Train
from gearcalc.threads import Feed, Thread
from gearcalc.threads.deviations import good_enough_ppm
from gearcalc.threads.wanted import Wanted
from tests.how_much import examples, in_one
from tests.strategies import mesh_counts, plain_lathes, plain_teeth, trains

PI = Fraction(str(sympy.pi.evalf(60)))
MOST = 10_000

threads = st.sampled_from(
    ["1.5 mm", "0.7 mm", "lead 6 mm", "lead 9 mm LH", "8 tpi", "3 mm", "12 tpi LH", "11 1/2 tpi", "module 1", "DP 16"]
)
wanteds = st.one_of(threads.map(Thread.parse), st.sampled_from([Feed.parse("0.5 mm"), Feed.parse("0.2 mm cross")]))


mounted = trains(3, plain_teeth, 2)


class Answer(NamedTuple):
    """One setup as the brute force sees it, and the key that ranks it."""

    key: tuple[Any, ...]
    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    idlers: tuple[tuple[int, ...], ...]
    lever: str | None
    lead: Fraction


def lead_wanted(lathe: Lathe, wanted: Wanted) -> Fraction:
    if isinstance(wanted, Thread):
        lead = wanted.lead
        return lead.coefficient * PI if isinstance(lead, PiMultiple) else lead
    assert lathe.feeds is not None
    share = lathe.feeds.longitudinal if wanted.along == "longitudinal" else lathe.feeds.cross
    assert share is not None
    return wanted.travel_mm / share


def steepest(drivers: tuple[int, ...], driven: tuple[int, ...]) -> Fraction:
    return max(Fraction(max(pair), min(pair)) for pair in zip(drivers, driven, strict=True))


def moved(train: tuple[Any, Any, Any], mounted: Train | None) -> int:
    if mounted is None:
        return 0
    drivers, driven, idlers = train
    places = [*zip_longest(drivers, mounted.drivers), *zip_longest(driven, mounted.driven)]
    for mine, theirs in zip_longest(idlers, mounted.idlers, fillvalue=()):
        places += zip_longest(mine, theirs)
    return sum(one != other for one, other in places)


def needs_idler(lathe: Lathe, wanted: Wanted, lever: Lever | None, meshes: int) -> bool:
    if lathe.spindle_side.reverse:
        return False
    hand = wanted.hand if isinstance(wanted, Thread) else "right"
    turned_round = meshes + (not lathe.spindle_side.same_way) + (lever is not None and not lever.same_way)
    as_the_spindle = turned_round % 2 == 0
    return as_the_spindle != (hand == lathe.leadscrew.hand)


def arrangements(
    drivers: tuple[int, ...], driven: tuple[int, ...], spare: list[int], idler: bool
) -> Iterator[tuple[tuple[Any, Any, Any], tuple[Any, ...]]]:
    """Every order of the meshes, every idler in every mesh, and what decides between them when all else is equal."""
    for over in permutations(drivers):
        for under in permutations(driven):
            none = ((),) * len(over)
            if not idler:
                yield (over, under, none), (over, under)
            for mesh in range(len(over)) if idler else ():
                for gear in spare:
                    idlers = (*none[:mesh], (gear,), *none[mesh + 1 :])
                    off_mean = abs(Fraction(over[mesh] + under[mesh], 2) - gear)
                    yield (over, under, idlers), (over, under, mesh, off_mean, gear)


def every_answer(
    lathe: Lathe, wanted: Wanted, meshes: set[int], avoid: set[int], mounted: Train | None
) -> Iterator[Answer]:
    gears = sorted(gear for gear in lathe.gears if gear not in avoid)
    lead_to_cut = lead_wanted(lathe, wanted)
    plate = {(tuple(sorted(row.drivers)), tuple(sorted(row.driven)), row.lever) for row in lathe.plate}
    for place, lever in enumerate(lathe.gearbox or (None,)):
        name = lever.name if lever else None
        for m in meshes:
            idler = needs_idler(lathe, wanted, lever, m)
            for drivers in set(combinations(gears, m)):
                for driven in set(combinations(gears, m)):
                    used = Counter(drivers) + Counter(driven)
                    spare = sorted((Counter(gears) - used).elements())
                    if used - Counter(gears) or (idler and not spare):
                        continue
                    turns = lathe.spindle_ratio * Fraction(prod(drivers), prod(driven)) * (lever.ratio if lever else 1)
                    lead = lathe.leadscrew_lead_mm * turns
                    (strained, places, slope, _), train = min(
                        (
                            (turns > 3 or steepest(*train[:2]) > 4, moved(train, mounted), steepest(*train[:2]), rest),
                            train,
                        )
                        for train, rest in arrangements(drivers, driven, spare, idler)
                    )
                    key = (
                        abs(lead / lead_to_cut - 1),
                        strained,
                        (drivers, driven, name) not in plate,
                        2 * m + idler,
                        places,
                        slope,
                        drivers,
                        driven,
                        place,
                    )
                    yield Answer(key, *train, name, lead)


def without_idle_pairs(found: list[Answer]) -> list[Answer]:
    """Leave out what has equal gears on both sides, when the train without some of them is there and moves no more.

    A row of the plate stays whatever it moves.
    """
    moves = {(each.key[6], each.key[7], each.lever): each.key[4] for each in found}

    def shorter(each: Answer) -> Iterator[tuple[Any, ...]]:
        over, under = each.key[6:8]
        equal = sorted((Counter(over) & Counter(under)).elements())
        for pairs in range(1, len(equal) + 1):
            for out in combinations(equal, pairs):
                rest = (tuple(sorted((Counter(side) - Counter(out)).elements())) for side in (over, under))
                yield *rest, each.lever

    return [
        each
        for each in found
        if not each.key[2] or not any(moves.get(less, 99) <= each.key[4] for less in shorter(each))
    ]


def slow_search(
    lathe: Lathe,
    wanted: Wanted,
    meshes: set[int],
    avoid: set[int],
    mounted: Train | None = None,
    within_ppm: Fraction | None = None,
    one_per_ratio: bool = False,
    good: Fraction | None = None,
) -> list[tuple[Any, ...]]:
    found = without_idle_pairs(sorted(every_answer(lathe, wanted, meshes, avoid, mounted)))
    if good is not None:
        found.sort(key=lambda answer: simplest_first(answer, good))
    if within_ppm is not None:
        found = [answer for answer in found if answer.key[0] * 1_000_000 <= within_ppm]
    if one_per_ratio:
        best: dict[Fraction, Answer] = {}
        for answer in found:
            best.setdefault(answer.lead, answer)
        found = list(best.values())
    return [(answer.drivers, answer.driven, answer.idlers, answer.lever) for answer in found]


def simplest_first(answer: Answer, good_ppm: Fraction) -> tuple[Any, ...]:
    """As a person would choose: the simplest of what is good enough, then the rest, the nearest first."""
    off, strained, unlisted, gears, places, slope, *last = answer.key
    if off * 1_000_000 > good_ppm:
        return (True, *answer.key)
    step = 0 if off == 0 else 1 if off * 1_000_000 <= 200 else 2
    return (False, strained, len(answer.drivers), step, places, unlisted, gears, slope, off, *last)


def shown(setups: list[Setup]) -> list[tuple[Any, ...]]:
    return [(found.train.drivers, found.train.driven, found.train.idlers, found.lever) for found in setups]


class TestFindSetups:
    @given(plain_lathes(), wanteds, mesh_counts, st.sets(plain_teeth, max_size=2))
    @examples(40)
    def test_is_the_brute_force_in_its_order(self, lathe, wanted, meshes, avoid):
        expected = slow_search(lathe, wanted, meshes, avoid)
        assert expected == shown(find_setups(lathe, wanted, meshes, MOST, avoid=avoid))

    @given(plain_lathes(), wanteds, mesh_counts, mounted)
    @examples(40)
    def test_with_something_mounted(self, lathe, wanted, meshes, mounted):
        expected = slow_search(lathe, wanted, meshes, set(), mounted)
        assert expected == shown(find_setups(lathe, wanted, meshes, MOST, mounted=mounted))

    @given(plain_lathes(), wanteds, mesh_counts, st.integers(1, 30), st.one_of(st.none(), mounted))
    @examples(24)
    def test_stopping_early_changes_nothing(self, lathe, wanted, meshes, count, mounted):
        expected = slow_search(lathe, wanted, meshes, set(), mounted)[:count]
        assert expected == shown(find_setups(lathe, wanted, meshes, count, mounted=mounted))

    @given(plain_lathes(), wanteds, mesh_counts, st.integers(1, MOST), st.one_of(st.none(), mounted))
    @examples(24)
    def test_one_per_ratio_keeps_the_best_of_equal_leads(self, lathe, wanted, meshes, count, mounted):
        expected = slow_search(lathe, wanted, meshes, set(), mounted, one_per_ratio=True)[:count]
        assert expected == shown(find_setups(lathe, wanted, meshes, count, mounted=mounted, one_per_ratio=True))

    @given(plain_lathes(), wanteds, mesh_counts, st.one_of(st.just(0), st.integers(0, 10**6)), st.booleans())
    @examples(24)
    def test_within_ppm(self, lathe, wanted, meshes, within, one_per_ratio):
        expected = slow_search(lathe, wanted, meshes, set(), within_ppm=Fraction(within), one_per_ratio=one_per_ratio)
        found = find_setups(lathe, wanted, meshes, MOST, within_ppm=within, one_per_ratio=one_per_ratio)
        assert expected == shown(found)

    @given(plain_lathes(st.lists(plain_teeth, min_size=5, max_size=8)), threads, st.data())
    @examples(24)
    def test_with_what_it_found_itself_mounted(self, lathe, text, data):
        # Mounted trains that have much in common with the answers: orders of meshes and idlers then matter most.
        there = find_setups(lathe, text, (1, 2), MOST)
        mounted = data.draw(st.sampled_from(there)).train if there else None
        wanted = Thread.parse(data.draw(threads))
        expected = slow_search(lathe, wanted, {1, 2}, set(), mounted)
        assert expected == shown(find_setups(lathe, wanted, (1, 2), MOST, mounted=mounted))

    @given(plain_lathes(), wanteds, mesh_counts, mounted)
    @examples(16)
    def test_what_is_returned_says_itself_why_it_stands_where_it_does(self, lathe, wanted, meshes, mounted):
        found = find_setups(lathe, wanted, meshes, MOST, mounted=mounted)
        other = Setup(lathe, mounted)
        keys = [
            (each.error, each.strained, not each.on_plate, len(each.train.gears), each.cost(other), each.train.steepest)
            for each in found
        ]
        assert sorted(keys) == keys
        assert all(each.hand == getattr(wanted, "hand", "right") for each in found)
        for each in found:
            lathe.check_owned(each.train.gears)


class TestSimplestFirst:
    """The order in which a person would choose, over the whole list."""

    @given(plain_lathes(), wanteds, mesh_counts, st.one_of(st.none(), mounted), st.booleans())
    @examples(40)
    def test_is_the_brute_force_in_its_order(self, lathe, wanted, meshes, mounted, one_per_ratio):
        good = good_enough_ppm(wanted)
        expected = slow_search(lathe, wanted, meshes, set(), mounted, one_per_ratio=one_per_ratio, good=good)
        found = find_setups(lathe, wanted, meshes, MOST, mounted=mounted, one_per_ratio=one_per_ratio, first="simplest")
        assert expected == shown(found)

    @given(plain_lathes(), wanteds, mesh_counts, st.one_of(st.none(), mounted), st.sampled_from([2000, 50_000, 10**6]))
    @examples(40)
    def test_where_very_much_is_good_enough(self, lathe, wanted, meshes, mounted, good):
        query = Query(lathe, wanted, tuple(sorted(meshes)), mounted=mounted, choose_within=Fraction(good, 1_000_000))
        expected = slow_search(lathe, wanted, meshes, set(), mounted, good=Fraction(good))
        assert expected == shown(list(ranked(query)))

    @given(plain_lathes(), wanteds, st.integers(1, 30), st.integers(0, 3000))
    @examples(24)
    def test_stopping_early_and_a_bound_change_nothing(self, lathe, wanted, count, within):
        good, meshes = good_enough_ppm(wanted), {1, 2, 3}
        expected = slow_search(lathe, wanted, meshes, set(), within_ppm=Fraction(within), good=good)[:count]
        assert expected == shown(find_setups(lathe, wanted, meshes, count, within_ppm=within, first="simplest"))

    @in_one("ratios", [("1", "4/5", "3/2"), ("5/4", "1", "6/5")])
    @in_one("meshes", [(2,), (1, 2)])
    @in_one("reverse", [True, False])
    def test_levers_whose_trains_are_as_good_take_turns(self, ratios, meshes, reverse):
        """Each lever has exact trains, mild ones and steep ones: none of one may come before the milder of another."""
        lathe = Lathe(
            name="Lathe for tests",
            leadscrew=Leadscrew(Fraction(3)),
            gear_set=GearSet((20, 24, 25, 30, 40, 50, 60)),
            spindle_side=SpindleSide(reverse=reverse),
            gearbox=tuple(Lever(f"at {ratio}", ratio, same_way=ratio != "1") for ratio in ratios),
        )
        wanted, good = Thread.parse("lead 3 mm"), Fraction(10_000)
        query = Query(lathe, wanted, meshes, within=Fraction(1, 50), choose_within=good / 1_000_000)
        expected = slow_search(lathe, wanted, set(meshes), set(), within_ppm=Fraction(20_000), good=good)
        assert expected == shown(list(ranked(query)))
        assert len({lever for *_, lever in expected}) > 1
