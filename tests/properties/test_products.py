"""The shared search kernel against every train there is, counted out the slow way."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, islice, pairwise
from math import prod
from operator import add

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, RelativeError
from gearcalc.finding import products
from gearcalc.finding.products import Candidate, Products, closest, in_steps, size_of
from gearcalc.lathes import gear_sets
from tests.how_much import examples, in_one
from tests.strategies import mesh_counts, with_pi

sets = st.lists(st.sampled_from([6, 8, 9, 10, 12, 15, 16, 18, 20, 24]), min_size=1, max_size=7)
meshes = mesh_counts.map(sorted)
fractions = st.fractions(Fraction(1, 30), 30, max_denominator=60)
targets = with_pi(fractions)


Sides = tuple[tuple[int, ...], tuple[int, ...]]


def every_train(gears: list[int], meshes: int) -> set[Sides]:
    """All drivers, all driven, nothing used more often than it is owned."""
    owned = sorted(gears)
    return {
        (drivers, driven)
        for drivers in combinations(owned, meshes)
        for driven in combinations(owned, meshes)
        if not Counter(drivers) + Counter(driven) - Counter(owned)
    }


def does_something(train: Sides, meshes: list[int]) -> bool:
    """Every equal pair is needed: without one, two ... of them the train has no gears, or meshes nobody asked for."""
    equal = (Counter(train[0]) & Counter(train[1])).total()
    return not any(len(train[0]) - pairs in meshes for pairs in range(1, equal + 1))


def miss(train: tuple[tuple[int, ...], tuple[int, ...]], target: Exact) -> RelativeError:
    return RelativeError(Fraction(prod(train[0]), prod(train[1])), target)


def slow_ties(
    wanted: list[Exact], gears: list[int], meshes: list[int], idle_pairs: bool = False
) -> list[list[Candidate]]:
    """Every candidate, in groups of exactly equal error, smallest error first."""
    by_ratio: dict[Fraction, list[Sides]] = {}
    for train in (train for m in meshes for train in every_train(gears, m)):
        if idle_pairs or does_something(train, meshes):
            by_ratio.setdefault(Fraction(prod(train[0]), prod(train[1])), []).append(train)
    misses = [
        (RelativeError(ratio, target), [Candidate(t, *train) for train in trains])
        for t, target in enumerate(wanted)
        for ratio, trains in by_ratio.items()
    ]
    groups: list[list[Candidate]] = []
    last = None
    for error, candidates in sorted(misses, key=lambda pair: pair[0]):
        if last is not None and error == last:
            groups[-1] += candidates
        else:
            groups.append(candidates)
        last = error
    return groups


class TestClosest:
    @given(st.lists(targets, min_size=1, max_size=3), sets, meshes)
    @examples(50)
    def test_agrees_with_every_train_counted_out(self, wanted, gears, meshes):
        tables = [Products.of(gears, m) for m in meshes]
        found = [list(tie.trains()) for tie in closest(wanted, tables)]
        assert [sorted(group) for group in slow_ties(wanted, gears, meshes)] == [sorted(tie) for tie in found]

    @given(st.lists(targets, min_size=1, max_size=3), sets, meshes)
    @examples(50)
    def test_with_idle_pairs_it_is_every_train_that_there_is(self, wanted, gears, meshes):
        tables = [Products.of(gears, m) for m in meshes]
        found = [list(tie.trains(idle_pairs=True)) for tie in closest(wanted, tables)]
        expected = slow_ties(wanted, gears, meshes, idle_pairs=True)
        assert [sorted(group) for group in expected] == [sorted(tie) for tie in found]

    @given(targets, sets, meshes, st.fractions(0, Fraction(3, 2), max_denominator=300))
    @examples(30)
    def test_within_keeps_exactly_those_within(self, target, gears, meshes, within):
        tables = [Products.of(gears, m) for m in meshes]
        found = {candidate for tie in closest([target], tables, within) for candidate in tie.trains()}
        limit = RelativeError(1 + within, Fraction(1))
        expected = {
            Candidate(0, *train)
            for m in meshes
            for train in every_train(gears, m)
            if miss(train, target) <= limit and does_something(train, meshes)
        }
        assert expected == found

    @given(st.integers(1, 4), sets)
    @examples(25)
    def test_within_counts_the_bound_itself(self, times, gears):
        # The bound is the error of a train there is, so that it lies on the edge.
        target = Fraction(times, 3)
        trains = every_train(gears, 1)
        errors = sorted({abs(miss(train, target).exact) for train in trains})
        tables = [Products.of(gears, 1)]
        for place, edge in enumerate(errors, 1):
            assert place == sum(1 for _ in closest([target], tables, within=edge))

    def test_ties_hold_both_sides_of_the_target(self):
        # 1/2 is missed by a third both by 1/3 and by 2/3.
        first, second = list(closest([Fraction(1, 2)], [Products.of([10, 20, 30], 1)]))[:2]
        assert first.miss.is_exact
        assert [Candidate(0, (10,), (30,)), Candidate(0, (20,), (30,))] == list(second.trains())
        assert Fraction(1, 3) == abs(second.miss.exact)

    @given(st.lists(targets, min_size=1, max_size=2), sets, meshes)
    @examples(30)
    def test_a_tie_knows_its_trains_table_by_table_and_its_sides(self, wanted, gears, meshes):
        tables = [Products.of(gears, m) for m in meshes]
        for tie in closest(wanted, tables):
            parts = [list(tie.trains_of(place)) for place in range(len(tables))]
            assert [found for part in parts for found in part] == list(tie.trains())
            assert all(len(found.drivers) == m for m, part in zip(meshes, parts, strict=True) for found in part)
            too_much = {
                Fraction(prod(found.drivers), prod(found.driven)) > wanted[found.target] for found in tie.trains()
            }
            assert len(too_much) <= 1 + tie.both_sides
            assert not (tie.miss.is_exact and tie.both_sides)

    def test_an_error_too_small_for_a_float_is_not_called_exact(self):
        nearly = Fraction(10**400 + 1, 2 * 10**400)
        first, second = list(closest([nearly], [Products.of([20, 40, 60], 1)]))[:2]
        assert not first.miss.is_exact
        assert [Candidate(0, (20,), (40,))] == list(first.trains())
        assert second.miss > first.miss

    @pytest.mark.parametrize("far", [Fraction(1, 10**6), Fraction(10**6), PiMultiple(Fraction(10**5))])
    def test_a_target_out_of_reach_still_gets_the_nearest(self, far):
        gears = list(range(20, 30))
        tables = [Products.of(gears, m) for m in (1, 2)]
        first = list(next(closest([far], tables)).trains())
        assert slow_ties([far], gears, [1, 2])[0] == first

    def test_no_gears_no_trains(self):
        assert list(closest([Fraction(1)], [Products.of([], 1), Products.of([20], 1)])) == []
        assert list(closest([], [Products.of([20, 30], 1)])) == []

    @pytest.mark.parametrize("bad", [Fraction(0), Fraction(-1), Fraction(10**7), PiMultiple(Fraction(-1))])
    def test_refuses_a_target_that_is_no_ratio_at_once(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="ratio wanted"):
            closest([bad], [Products.of([20, 30], 1)])

    @pytest.mark.parametrize("bad", [Fraction(0), Fraction(10**6 + 1), Fraction(1, 10**6 + 1)])
    def test_so_does_what_goes_by_steps(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="ratio wanted"):
            in_steps([bad], [Products.of([20, 30], 1)], [])
        assert in_steps([Fraction(10**6), Fraction(1, 10**6)], [Products.of([20, 30], 1)], [])

    def test_thousands_of_trains_to_the_last(self):
        """So many that rings around the target hold many hundreds."""
        for target in (Fraction(355, 452), PiMultiple(Fraction(1, 4)), Fraction(3)):
            ties = list(closest([target], [Products.of(range(20, 80), 1)]))
            trains = [found for tie in ties for found in tie.trains()]
            assert len(trains) == len(set(trains)) == 60 * 59
            assert all(one.miss < other.miss for one, other in pairwise(ties))

    @in_one(
        "wanted",
        [[Fraction(77, 100)], [Fraction(1, 3)], [Fraction(3)], [Fraction(77, 100), Fraction(50)], [Fraction(1, 30)]],
    )
    def test_it_looks_no_farther_than_it_is_asked(self, wanted):
        """Of half a million pairs of products some hundreds, at most, for the first few ties."""
        tables, looked_at = [Products.of(range(20, 60), 2)], []
        plain = products._pairs_within
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(products, "_pairs_within", lambda *how: looked_at.extend(plain(*how)) or plain(*how))
            assert len(list(islice(closest(wanted, tables), 4))) == 4
        assert 0 < len(looked_at) < 800

    def test_what_it_says_of_itself_is_short(self):
        tie = next(closest([Fraction(1, 2)], [Products.of([20, 40], 1)]))
        assert repr(tie) == f"Tie(miss={tie.miss!r}, both_sides=False)"

    def test_refuses_a_negative_bound_at_once(self):
        with pytest.raises(ValueOutOfRangeError, match="largest error"):
            closest([Fraction(1)], [], within=Fraction(-1))


class TestHowLargeAnErrorIs:
    """As a float that is rounded once; of π by as many digits as decide it, however few are tried first."""

    @given(fractions, st.integers(1, 10**6), st.integers(1, 10**6))
    @examples(40)
    def test_rounded_once(self, target, over, under):
        off = abs(Fraction(over, under) / target - 1)
        assert size_of(target)(over, under) == (float(off) if off else -1.0)

    @in_one("digits", [1, 2, 3, 5, 29, 30, 31, 60])
    @in_one("factor", [Fraction(1), Fraction(1, 25), Fraction(7, 3)])
    def test_of_pi(self, digits, factor):
        pi = Fraction(3141592653589793238462643383279502884197169399375105820974944592307816406286209, 10**78)
        for over, under in [(22, 7), (355, 113), (20, 60), (5419351, 1725033), (80, 21)]:
            expected = float(abs(Fraction(over, under) / (factor * pi) - 1))
            assert products._size_of_pi(factor, digits)(over, under) == expected
            assert size_of(PiMultiple(factor))(over, under) == expected


class TestProducts:
    @given(sets, st.integers(1, 4))
    @examples(25)
    def test_lists_every_choice_once(self, gears, meshes):
        table = Products.of(gears, meshes)
        listed = [chosen for value in table.values for chosen in table.gears_for(value)]
        assert sorted(set(combinations(sorted(gears), meshes))) == sorted(listed)
        assert all(value == prod(chosen) for value in table.values for chosen in table.gears_for(value))
        assert list(table.values) == sorted(set(table.values))

    def test_what_is_not_in_the_table_has_no_gears(self):
        assert Products.of([20, 30], 2).gears_for(601) == ()

    @in_one("bad", [0, -1, True, 1.5, "2", None])
    def test_refuses_what_is_no_number_of_meshes(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="meshes"):
            Products.of([20, 30], bad)

    @in_one("bad", [0, -20, True, 20.0, "20", None])
    def test_refuses_what_is_no_gear(self, bad):
        with pytest.raises(ValueOutOfRangeError, match="a gear"):
            Products.of([20, bad], 1)

    def test_half_a_million_choices_are_listed_and_no_more(self, monkeypatch):
        with pytest.raises(NotPossibleError, match="too many ways"):
            Products.of(range(6, 152), 3)  # 146 · 145 · 144 / 6 = 508,080
        assert gear_sets._MOST_CHOICES == 500_000
        monkeypatch.setattr(gear_sets, "_MOST_CHOICES", 10)
        values = Products.of([6, 12, 24, 48, 96], 2).values  # of 5 · 4 / 2 = 10 choices
        assert values == tuple(36 * 2**power for power in range(1, 8))
        with pytest.raises(NotPossibleError, match="too many ways"):
            Products.of([6, 12, 24, 48, 96, 192], 2)

    def test_refuses_more_choices_than_can_be_listed(self):
        with pytest.raises(NotPossibleError, match="too many ways"):
            Products.of(range(20, 220), 4)


hairs = st.sampled_from([Fraction(0), Fraction(1, 10**30), Fraction(-1, 10**30)])
"""Less than any float can tell."""


class TestInSteps:
    """The same trains, in steps of error instead of by size: each in the one step that its error belongs to."""

    @given(st.lists(targets, min_size=1, max_size=3), sets, meshes, st.booleans(), st.data())
    @examples(40)
    def test_against_every_train_counted_out(self, wanted, gears, meshes, idle_pairs, data):
        ties = slow_ties(wanted, gears, meshes, idle_pairs)
        firsts = [group[0] for group in ties[:40] if not isinstance(wanted[group[0].target], PiMultiple)]
        errors = sorted({abs(miss(first[1:], wanted[first.target]).exact) for first in firsts} - {0})
        edges = st.builds(add, st.sampled_from([*errors, Fraction(1, 5000)]), hairs)  # on a train's error, or beside it
        bounds = sorted(data.draw(st.sets(edges, max_size=3)))
        only = data.draw(st.one_of(st.none(), st.integers(0, len(wanted) - 1)))
        steps = in_steps(wanted, [Products.of(gears, m) for m in meshes], bounds, only)
        assert len(steps) == len(bounds) + 1
        limits = [RelativeError.of_ppm(bound * 1_000_000) for bound in (0, *bounds)]
        placed = [list[Candidate]() for _ in steps]
        for found in (found for group in ties for found in group):
            error = miss(found[1:], wanted[found.target])
            place = next((n for n, limit in enumerate(limits) if error <= limit), None)
            assert [step.holds(error) for step in steps] == [n == place for n in range(len(steps))]
            if place is not None and only in (None, found.target):
                placed[place].append(found)
        assert [sorted(step.trains(idle_pairs)) for step in steps] == [sorted(each) for each in placed]

    @given(fractions, sets, meshes, st.integers(0, 10), hairs)
    @examples(40)
    def test_what_lies_beyond_a_bound_and_that_alone_or_within_it(self, target, gears, meshes, place, hair):
        tables, ties = [Products.of(gears, m) for m in meshes], slow_ties([target], gears, meshes)
        errors = [miss(group[0][1:], target) for group in ties]
        bound = max(abs(errors[place].exact) + hair if place < len(errors) else Fraction(1, 3), Fraction(0))
        limit = RelativeError.of_ppm(bound * 1_000_000)
        near, far = (
            [sorted(ties[n]) for n, each in enumerate(errors) if (each > limit) is is_far] for is_far in (False, True)
        )
        assert [sorted(tie.trains()) for tie in closest([target], tables, beyond=bound)] == far
        assert [sorted(tie.trains()) for tie in closest([target], tables, within=bound)] == near

    def test_a_tie_of_both_sides_knows_it(self):
        """2/3 and 4/5 lie as far from 11/15; of what else there is, each size of error is of one side alone."""
        ties = list(closest([Fraction(11, 15)], [Products.of([40, 50, 60], 1)]))
        assert [tie.both_sides for tie in ties] == [len({found[1:] for found in tie.trains()}) > 1 for tie in ties]
        assert ties[0].both_sides
        # 3/4 for a half and 1/2 for a third: both by half too much.
        same_side = list(
            closest([Fraction(1, 2), Fraction(1, 3)], [Products.of([20, 30, 40], 1)], beyond=Fraction(2, 5))
        )
        assert {found[1:] for found in same_side[0].trains()} == {((30,), (40,)), ((20,), (40,))}
        assert not same_side[0].both_sides
