"""Searching sets with fixed gears, clusters, damage and two sizes, against every way to hand out pieces of metal."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, combinations_with_replacement, permutations
from math import prod

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError
from gearcalc.cutting.feed_changes import change_to_feed
from gearcalc.finding.purchases import Shelf, Window, minimal_purchases
from gearcalc.finding.rankings import Query, ranked
from gearcalc.lathes import Lathe, Leadscrew, SpindleSide
from gearcalc.lathes.frames import ways
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.orders import gears_moved
from gearcalc.lathes.pieces import kind_of, mate_of, piece
from gearcalc.lathes.readings import as_pieces, refusals
from gearcalc.lathes.sizes import Cluster, Fixed, GearTable
from gearcalc.lathes.trains import Train
from gearcalc.threads.wanted import as_wanted
from tests.how_much import examples

COUNTS = (20, 30, 40, 60)
Metal = tuple[int, int, int | None]
"""A piece of metal's gear: its teeth, its size (0 or 1) and the number of the cluster that it belongs to."""


@st.composite
def odd_sets(draw, most=5):
    """A small set, as the package takes it and as pieces of metal."""
    teeth = draw(st.lists(st.sampled_from(COUNTS), min_size=2, max_size=most))
    damaged = draw(st.lists(st.sampled_from(teeth), max_size=1))
    usable = list((Counter(teeth) - Counter(damaged)).elements())
    clusters = draw(st.lists(st.tuples(st.sampled_from(COUNTS), st.sampled_from(COUNTS), st.booleans()), max_size=2))
    small = draw(st.lists(st.sampled_from(COUNTS), max_size=3))
    first = draw(st.none() | st.sampled_from(usable)) if usable else None
    rest = list((Counter(usable) - Counter([first])).elements())
    last = draw(st.none() | st.sampled_from(rest)) if rest else None
    gear_set = GearSet(
        teeth,
        module_mm=1.25,
        damaged=damaged,
        fixed=Fixed(first, last),
        clusters=[_mixed(a, b) if mixed else (a, b) for a, b, mixed in clusters],
        more=[GearTable(small, module_mm=1)] if small else [],
    )
    metal: list[Metal] = [(count, 0, None) for count in usable] + [(count, 1, None) for count in small]
    for number, (a, b, mixed) in enumerate(clusters):
        metal += [(a, 0, number), (b, int(mixed), number)]
    return gear_set, metal


def _mixed(a, b):
    return Cluster((a, b), module_mm=(1.25, 1))


def stands(fixed: Fixed, over: tuple[Metal, ...], under: tuple[Metal, ...]) -> bool:
    """Whether metal stands in this order on the lathe."""
    if over[0][2] is not None or under[-1][2] is not None:
        return False
    if fixed.first_driver is not None and over[0][:2] != (fixed.first_driver, 0):
        return False
    if fixed.last_driven is not None and under[-1][:2] != (fixed.last_driven, 0):
        return False
    return all(a[1] == b[1] for a, b in zip(over, under, strict=True)) and all(
        a[2] == b[2] for a, b in zip(under, over[1:], strict=False)
    )


def all_trains(gear_set: GearSet, metal: list[Metal], meshes: int) -> set[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every train as drivers and driven, each gear as the package names it, but what a loose pair does too."""
    mates = {(place, gear[2]): gear for place, gear in enumerate(metal)}
    kinds = ("", "module 1")

    def named(place: int) -> int:
        count, size, cluster = metal[place]
        mate = next((g for (p, c), g in mates.items() if c == cluster is not None and p != place), None)
        return piece(count, kinds[size], None if mate is None else piece(mate[0], kinds[mate[1]]))

    found = set()
    for places in permutations(range(len(metal)), 2 * meshes):
        over, under = places[:meshes], places[meshes:]
        if not stands(gear_set.fixed, tuple(metal[p] for p in over), tuple(metal[p] for p in under)):
            continue
        left = Counter(metal[p] for p in range(len(metal)) if p not in places and metal[p][2] is None)
        for cluster in {metal[p][2] for p in places} - {None}:
            halves = Counter((count, size, None) for count, size, number in metal if number == cluster)
            if halves <= left:
                break
        else:
            found.add((tuple(sorted(map(named, over))), tuple(sorted(map(named, under)))))
    return found


def counts(side):
    return tuple(sorted(map(int, side)))


def without_idle_pairs(by_meshes: dict[int, set]) -> set:
    """Those without an equal pair of counts that a shorter train of the same counts does without."""
    standing = {(counts(over), counts(under)) for trains in by_meshes.values() for over, under in trains}
    kept = set()
    for trains in by_meshes.values():
        for over, under in trains:
            equal = list((Counter(counts(over)) & Counter(counts(under))).elements())
            shorter = (
                tuple(tuple(sorted((Counter(counts(side)) - Counter(out)).elements())) for side in (over, under))
                for size in range(1, len(equal) + 1)
                for out in combinations(equal, size)
            )
            if not any(each in standing for each in shorter):
                kept.add((over, under))
    return kept


class TestOddSets:
    """The search lists just what pieces of metal can do, nearest first."""

    @given(
        odd_sets(),
        st.sampled_from(["1 mm", "1.5 mm", "0.75 mm", "2 mm", "1.25 mm"]),
        st.sampled_from([(1,), (2,), (1, 2), (3,)]),
    )
    @examples(30)
    def test_every_train_of_the_metal_and_no_other(self, odd, wanted, meshes):
        gear_set, metal = odd
        if len(metal) > 8 and 3 in meshes:
            meshes = (1, 2)
        lathe = Lathe("Odd", Leadscrew(1), gear_set, spindle_side=SpindleSide(reverse=True))
        found = list(ranked(Query(lathe, as_wanted(wanted), meshes)))
        trains = [(tuple(sorted(each.train.drivers)), tuple(sorted(each.train.driven))) for each in found]
        assert len(set(trains)) == len(trains)
        expected = without_idle_pairs({number: all_trains(gear_set, metal, number) for number in meshes})
        assert set(trains) == expected
        errors = [abs(each.error_ppm or 0) for each in found]
        assert errors == sorted(errors)
        assert all(gear_set.allows(each.train) for each in found)

    @given(odd_sets(), st.integers(1, 2), st.data())
    @examples(50)
    def test_every_way_to_make_up_counts(self, odd, meshes, data):
        gear_set, metal = odd
        over, under = (tuple(data.draw(st.sampled_from(COUNTS)) for _ in range(meshes)) for _ in range(2))
        expected = {
            train
            for train in all_trains(gear_set, metal, meshes)
            if (counts(train[0]), counts(train[1])) == (counts(over), counts(under))
        }
        found = ways(gear_set, over, under)
        assert len(found) == len(set(found))
        assert set(found) == expected

    @given(odd_sets(most=4), st.sampled_from([Fraction(1, 2), Fraction(5, 4), Fraction(25, 24), Fraction(1)]))
    @examples(20)
    def test_the_least_that_has_to_be_bought(self, odd, ratio):
        gear_set, metal = odd
        shelf, windows = Shelf(gear_set, [25, 50], (1, 2)), [Window.around(ratio, Fraction(1, 1000))]
        found: set[tuple[int, ...]] = set()
        expected: set[tuple[int, ...]] = set()
        for size in range(3):
            found |= minimal_purchases(shelf, windows, size, found)
            for bought in combinations_with_replacement((25, 50), size):
                there = metal + [(teeth, 0, None) for teeth in bought]
                trains = all_trains(gear_set, there, 1) | all_trains(gear_set, there, 2)
                serves = any(
                    abs(Fraction(prod(over), prod(under)) / ratio - 1) <= Fraction(1, 1000) for over, under in trains
                )
                if serves and not any(not Counter(less) - Counter(bought) for less in expected):
                    expected.add(bought)
        assert found == expected

    @given(odd_sets(most=4), st.data())
    @examples(20)
    def test_a_feed_moves_the_fewest_gears_that_any_order_of_any_train_does(self, odd, data):
        gear_set, metal = odd
        metal = metal[:8]
        lathe = Lathe("Odd", Leadscrew(1), gear_set, spindle_side=SpindleSide(reverse=True))
        orders = [
            Train(*order)
            for meshes in (1, 2, 3)
            for over, under in sorted(all_trains(gear_set, metal, meshes))
            for order in gear_set.orders(over, under)
        ]
        assume(orders and len(odd[1]) <= 8)
        mounted, feed = data.draw(st.sampled_from(orders)), data.draw(st.sampled_from([Fraction(1, 2), Fraction(3, 4)]))
        near = [train for train in orders if abs(train.ratio / feed - 1) <= Fraction(1, 10)]
        if not near:
            with pytest.raises(NotPossibleError):
                change_to_feed(lathe, mounted, f"{feed} mm/rev")
            return
        change = change_to_feed(lathe, mounted, f"{feed} mm/rev")
        assert gear_set.allows(change.to.train)
        if change.proven:
            assert change.moved == min(gears_moved(gear_set, mounted, train) for train in near)

    @given(odd_sets(), st.integers(1, 2), st.data())
    @examples(50)
    def test_counts_in_their_order_are_read_or_refused(self, odd, meshes, data):
        gear_set, metal = odd
        over, under = (tuple(data.draw(st.sampled_from(COUNTS)) for _ in range(meshes)) for _ in range(2))
        meant = [
            order
            for drivers, driven in all_trains(gear_set, metal, meshes)
            for order in gear_set.orders(drivers, driven)
            if tuple(tuple(map(int, side)) for side in order) == (over, under)
        ]
        given_ = Train(over, under)
        assert bool(meant) == (not list(refusals(gear_set, given_)))
        if meant:
            read = as_pieces(gear_set, given_)
            assert (read.drivers, read.driven) in meant
            assert unusual(read) == min(unusual(Train(*order)) for order in meant)
        else:
            with pytest.raises((GearNotOwnedError, NotPossibleError)):
                as_pieces(gear_set, given_)


def unusual(train: Train) -> tuple[int, int]:
    """How many gears of clusters, and how many of another size."""
    return sum(mate_of(gear) is not None for gear in train.gears), sum(kind_of(gear) != "" for gear in train.gears)
