"""The fewest gears to move, against a brute force that tries every order and every choice of trains."""

from __future__ import annotations

from functools import cache
from itertools import pairwise, permutations, product, zip_longest

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning.candidates import Exchanges, Window
from gearcalc.planning.nearness import Loose, Shelf, close_by, members, row_of
from gearcalc.planning.path_search import chosen_in_order, places_of
from gearcalc.planning.rest import Effort, Rest, least_between
from tests.how_much import examples
from tests.strategies import trains

few_trains = trains(3, st.sampled_from([20, 30, 40, 50]), 2)


def lists_of_trains(most_jobs: int) -> st.SearchStrategy[list[list[Train]]]:
    return st.lists(st.lists(few_trains, min_size=1, max_size=4), min_size=1, max_size=most_jobs)


def moved(chosen: list[Train], last_stays: bool) -> int:
    return sum(places_that_differ(one, other, last_stays) for one, other in pairwise(chosen))


class TestChosenInOrder:
    """What a chart chooses by."""

    @given(lists_of_trains(4), st.booleans())
    @examples(60)
    def test_the_fewest_and_equals_settled_from_the_last_job_back(self, lists, last_stays):
        every = product(*(range(len(trains)) for trains in lists))
        _, backwards = min(
            (moved([trains[n] for trains, n in zip(lists, places, strict=True)], last_stays), places[::-1])
            for places in every
        )
        assert chosen_in_order(lists, last_stays=last_stays) == [*backwards[::-1]]


@cache
def loosely_apart(one: Loose, other: Loose) -> int:
    """The fewest places that differ, each in the order of its meshes that suits best."""
    return sum(
        min(sum(a != b for a, b in zip_longest(mine, theirs)) for theirs in permutations(more))
        for mine, more in (sorted(sides, key=len) for sides in zip(one[:2], other[:2], strict=True))
    )


loose_trains = few_trains.map(Loose.of)
loose_lists = st.lists(st.lists(loose_trains, min_size=1, max_size=4, unique=True), min_size=1, max_size=4)


class TestShelf:
    @given(st.lists(loose_trains, min_size=1, max_size=8), loose_trains, st.integers(0, 7))
    @examples(60)
    def test_against_every_order_of_the_meshes(self, listed, one, most):
        apart = Shelf([row_of(train, 3) for train in listed]).apart(row_of(one, 3), most)
        counted = {n: differ for differ, bits in enumerate(apart) for n in members(bits)}
        assert counted == {n: differ for n, other in enumerate(listed) if (differ := loosely_apart(one, other)) <= most}

    @given(few_trains, few_trains)
    @examples(60)
    def test_never_more_than_the_trains_differ(self, one, other):
        apart = Shelf([row_of(Loose.of(other), 3)]).apart(row_of(Loose.of(one), 3))
        assert apart.index(1) <= places_that_differ(one, other)


class TestCloseBy:
    @given(loose_lists)
    @examples(60)
    def test_against_comparing_each_with_each(self, jobs):
        expected = [
            tuple(
                sum(
                    1 << place
                    for place, others in enumerate(jobs)
                    if min(loosely_apart(train, other) for other in others) <= most
                )
                for most in (0, 1, 2)
            )
            for job in jobs
            for train in job
        ]
        assert close_by(jobs) == expected


def patient() -> Effort:
    effort = Effort()
    effort.left = 10**9
    return effort


class TestRest:
    @given(loose_lists, st.none() | loose_trains, st.booleans())
    @examples(50)
    def test_against_every_order_and_every_choice(self, jobs, start, keep_order):
        rest = Rest(jobs, start, patient(), keep_order=keep_order)
        least = min(
            sum(loosely_apart(one, other) for one, other in pairwise([start, *choice] if start else choice))
            for order in ([jobs] if keep_order else permutations(jobs))
            for choice in product(*order)
        )
        assert rest.least <= least
        assert not rest.within(0, rest.start, least - 1)
        assert rest.within(0, rest.start, least)

    @given(loose_lists, st.none() | loose_trains, st.booleans())
    @examples(40)
    def test_no_hope_is_more_than_what_is_to_come(self, jobs, start, keep_order):
        rest = Rest(jobs, start, patient(), keep_order=keep_order)
        for job, listed in enumerate(jobs):
            done = (2 << job) - 1 if keep_order else 1 << job
            for n in range(sum(map(len, jobs[:job])), sum(map(len, jobs[:job])) + len(listed)):
                assert not rest.within(done, n, rest.hope(done, n) - 1)


class TestPlacesOf:
    @given(few_trains, few_trains)
    def test_as_many_differ_as_in_the_trains(self, one, other):
        for last_stays in (False, True):
            places = [places_of(train.chain(), 3, 3, last_stays) for train in (one, other)]
            assert sum(a != b for a, b in zip(*places, strict=True)) == places_that_differ(one, other, last_stays)


class TestExchanges:
    @given(st.lists(st.sampled_from([20, 30, 40, 45, 60]), min_size=2, max_size=5), st.data())
    @examples(60)
    def test_no_two_trains_are_nearer(self, gears, data):
        sides = [side for meshes in (1, 2) for side in permutations(gears, 2 * meshes)]
        sides += [(gear, gear) for gear in gears]
        trains = [Train(side[: len(side) // 2], side[len(side) // 2 :]) for side in sides]
        one, other = (data.draw(st.sampled_from(trains)) for _ in range(2))
        windows = [[Window(float(train.ratio), float(train.ratio))] for train in (one, other)]
        assert Exchanges(gears).fewest(*windows) <= places_that_differ(one, other)


class TestLeastBetween:
    @given(
        st.integers(1, 5).flatmap(
            lambda n: st.tuples(
                st.lists(st.lists(st.integers(0, 3), min_size=n, max_size=n), min_size=n, max_size=n),
                st.lists(st.integers(0, 3), min_size=n, max_size=n),
            )
        ),
        st.booleans(),
    )
    def test_is_the_shortest_path(self, given_costs, keep_order):
        between, first = given_costs
        jobs = range(len(first))
        least = min(
            first[order[0]] + sum(between[one][other] for one, other in pairwise(order))
            for order in ([tuple(jobs)] if keep_order else permutations(jobs))
        )
        assert least_between(between, first, keep_order=keep_order) == least
