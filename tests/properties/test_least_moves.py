"""The fewest gears to move, against a brute force that tries every order and every choice of trains."""

from __future__ import annotations

from itertools import pairwise, permutations, product

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning.candidates import Loose, Reach, bounds_of
from gearcalc.planning.least_moves import Bounds, Nearness, in_any_order, in_this_order, members
from tests.how_much import examples
from tests.strategies import trains

few_trains = trains(3, st.sampled_from([20, 30, 40, 50]), 2)


def lists_of_trains(most_jobs: int) -> st.SearchStrategy[list[list[Train]]]:
    return st.lists(st.lists(few_trains, min_size=1, max_size=4), min_size=1, max_size=most_jobs)


mounted = st.none() | few_trains


def moved(chosen: list[Train] | tuple[Train, ...], start: Train | None) -> int:
    before = [start, *chosen] if start else list(chosen)
    return sum(places_that_differ(one, other) for one, other in pairwise(before))


class TestInThisOrder:
    @given(lists_of_trains(5), mounted)
    def test_against_every_choice(self, lists, start):
        found = in_this_order(lists, start)
        chosen = [lists[job][n] for job, n in zip(found.order, found.trains, strict=True)]
        assert list(range(len(lists))) == list(found.order)
        assert found.moved == moved(chosen, start) == min(moved(choice, start) for choice in product(*lists))

    @given(lists_of_trains(4), mounted)
    @examples(100)
    def test_equals_are_settled_from_the_last_job_back_by_the_order_of_the_lists(self, lists, start):
        every = product(*(range(len(trains)) for trains in lists))
        least, backwards = min(
            (moved([trains[n] for trains, n in zip(lists, places, strict=True)], start), places[::-1])
            for places in every
        )
        found = in_this_order(lists, start)
        assert (found.moved, found.trains) == (least, backwards[::-1])


class TestInAnyOrder:
    @given(lists_of_trains(4), mounted)
    @examples(80)
    def test_against_every_order_and_every_choice(self, lists, start):
        found = in_any_order(lists, start)
        chosen = [lists[job][n] for job, n in zip(found.order, found.trains, strict=True)]
        assert sorted(found.order) == list(range(len(lists)))
        least = min(moved(choice, start) for order in permutations(lists) for choice in product(*order))
        assert found.moved == moved(chosen, start) == least

    @given(st.lists(few_trains, min_size=1, max_size=6), mounted)
    def test_one_train_a_job_is_the_shortest_path(self, alone, start):
        found = in_any_order([[train] for train in alone], start)
        near = [[[places_that_differ(one, other) for other in alone]] for one in alone]
        first = [[places_that_differ(start, train) if start else 0] for train in alone]
        assert found.moved == Bounds(near, first, started=start is not None).least
        assert found.moved == min(moved(order, start) for order in permutations(alone))


class TestNearness:
    @given(st.lists(few_trains, max_size=12), few_trains)
    def test_agrees_with_counting_one_by_one(self, shelf, other):
        apart = Nearness(shelf).apart(other)
        counted = {n: differ for differ, bits in enumerate(apart) for n in members(bits)}
        assert counted == {n: places_that_differ(train, other) for n, train in enumerate(shelf)}

    @given(st.lists(few_trains, max_size=8), few_trains, st.integers(0, 4))
    def test_up_to_so_many(self, shelf, other, most):
        assert Nearness(shelf).apart(other, most) == Nearness(shelf).apart(other)[: most + 1]


def in_every_order(listed: list[Train]) -> list[Train]:
    """The trains without their idlers, their gears in every order."""
    return [
        Train(over, under)
        for train in listed
        for over, under in product(set(permutations(train.drivers)), set(permutations(train.driven)))
    ]


class TestReach:
    @given(few_trains, st.lists(few_trains, min_size=1, max_size=3))
    def test_against_every_order_of_the_meshes(self, one, others):
        least = min(
            places_that_differ(mine, theirs) for mine in in_every_order([one]) for theirs in in_every_order(others)
        )
        assert Reach([Loose.of(other) for other in others]).nearest(Loose.of(one)) == least

    @given(few_trains, few_trains)
    def test_never_more_than_the_trains_differ(self, one, other):
        assert Reach([Loose.of(other)]).nearest(Loose.of(one)) <= places_that_differ(one, other)


class TestBounds:
    @given(lists_of_trains(4), mounted, st.booleans())
    def test_no_plan_beats_the_least(self, lists, start, keep_order):
        bounds = bounds_of([[Loose.of(train) for train in job] for job in lists], start, keep_order)
        found = in_this_order(lists, start) if keep_order else in_any_order(lists, start)
        assert bounds.least <= found.moved

    @given(lists_of_trains(4), mounted, st.booleans())
    def test_every_train_of_a_best_plan_is_promising(self, lists, start, keep_order):
        bounds = bounds_of([[Loose.of(train) for train in job] for job in lists], start, keep_order)
        found = in_this_order(lists, start) if keep_order else in_any_order(lists, start)
        for job, n in zip(found.order, found.trains, strict=True):
            assert n in bounds.promising(job, found.moved)

    @given(lists_of_trains(4), mounted)
    def test_nothing_is_promising_below_the_least(self, lists, start):
        bounds = bounds_of([[Loose.of(train) for train in job] for job in lists], start, True)
        assert not any(bounds.promising(job, bounds.least - 1) for job in range(len(lists)))


class TestBelow:
    @given(lists_of_trains(4), mounted)
    def test_only_if_it_is_fewer(self, lists, start):
        best = in_any_order(lists, start)
        assert in_any_order(lists, start, best.moved) is None
        assert in_any_order(lists, start, best.moved + 1) == best
