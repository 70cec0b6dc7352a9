"""The fewest gears to move, against a brute force that tries every order and every choice of trains."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import pairwise, permutations, product, zip_longest
from math import inf

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.exact import RelativeError
from gearcalc.lathes import GearSet, Lathe
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning.candidates import Exchanges, Window, most_useful, windows
from gearcalc.planning.nearness import Loose, Shelf, close_by, members, row_of
from gearcalc.planning.path_search import chosen_in_order, places_of
from gearcalc.planning.rest import Effort, Rest, least_between
from gearcalc.threads import Thread
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

    @given(st.lists(st.integers(18, 90), min_size=2, max_size=5, unique=True), st.data())
    @examples(60)
    def test_each_exchange_leads_from_one_to_the_other_and_all_that_do_are_there(self, gears, data):
        """Whole numbers as bounds, held against each pair of gears in fractions; at the very edge either is right."""
        ends = st.tuples(st.integers(1, 12), st.integers(1, 12)).map(sorted)
        one, other = data.draw(ends), data.draw(ends)
        found = set(Exchanges(gears).between([Window(*one)], [Window(*other)]))
        for put, taken in permutations(gears, 2):
            changed = [end * Fraction(put, taken) for end in one]
            if changed[1] > other[0] and changed[0] < other[1]:
                assert (put, taken) in found
            elif changed[1] < other[0] or changed[0] > other[1]:
                assert (put, taken) not in found


class TestWindows:
    """As far as the limit lets a train be off, either way: 16 tpi from 8 tpi is a half, a quarter with a lever of 2."""

    LATHE = Lathe.from_toml(
        'name = "Two levers"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 80]\n'
        'gearbox = [{lever="one", ratio="1"}, {lever="two", ratio="2"}]'
    )

    @given(st.integers(0, 900_000))
    def test_by_hand(self, ppm):
        share = Fraction(ppm, 10**6)
        found = sorted(windows(self.LATHE, Thread.parse("16 tpi"), RelativeError.of_ppm(ppm)))
        for window, target in zip(found, (Fraction(1, 4), Fraction(1, 2)), strict=True):
            assert 0 <= target * (1 - share) - Fraction(window.low) < 1e-8  # a little too wide, never too narrow
            assert 0 <= Fraction(window.high) - target * (1 + share) < 1e-8

    def test_without_a_limit(self):
        assert set(windows(self.LATHE, Thread.parse("16 tpi"), None)) == {Window(0, inf)}


class TestMostUseful:
    def test_the_gears_that_lead_from_job_to_job_most_often(self):
        """A half, two thirds and three quarters: 20, 30, 40 and 45 lead on; 37 and 59, two primes, never."""
        near = [[Window(ratio * 0.99999, ratio * 1.00001)] for ratio in (1 / 2, 2 / 3, 3 / 4)]
        owned = GearSet([20, 30, 37, 40, 45, 59])
        exchanges = Exchanges(owned.pieces)
        led = Counter()
        for one, other in permutations((Fraction(1, 2), Fraction(2, 3), Fraction(3, 4)), 2):
            pairs = [pair for pair in permutations((20, 30, 37, 40, 45, 59), 2) if Fraction(*pair) == other / one]
            for gear in [gear for pair in pairs for gear in pair]:
                led[gear] += Fraction(1, len(pairs))
        best = sorted(owned.loose, key=lambda gear: (-led[gear], gear))
        assert most_useful(owned, near, exchanges, (1, 2), 10**6) is owned
        for most in (0, 0.0001, 0.0003, 0.0005, 0.001, 0.002):
            kept = most_useful(owned, near, exchanges, (1, 2), most).pieces
            assert sorted(kept) == sorted(best[: len(kept)])
        assert len(most_useful(owned, near, exchanges, (1, 2), 0).pieces) == 1


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
