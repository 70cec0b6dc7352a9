"""The fewest gears to move, against a brute force that tries every order and every choice of trains."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import pairwise, permutations, product, zip_longest
from math import comb, inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gearcalc.basics.exact import RelativeError
from gearcalc.lathes import GearSet, Lathe
from gearcalc.lathes.sizes import Fixed
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning.candidates import Exchanges, Window, most_useful, windows
from gearcalc.planning.nearness import Loose, Shelf, close_by, members, row_of
from gearcalc.planning.path_search import chosen_in_order, places_of
from gearcalc.planning.rest import TOLD_EVERY, Effort, OutOfStepsError, Rest, least_between
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
        assert rest.hope(0, rest.start) <= least
        assert rest.hope(rest.full, rest.start) == 0
        assert all(step.moved <= least for step in rest.steps(0, rest.start, least))

    @given(loose_lists, st.none() | loose_trains, st.booleans())
    @examples(40)
    def test_no_hope_is_more_than_what_is_to_come(self, jobs, start, keep_order):
        rest = Rest(jobs, start, patient(), keep_order=keep_order)
        for job, listed in enumerate(jobs):
            done = (2 << job) - 1 if keep_order else 1 << job
            for n in range(sum(map(len, jobs[:job])), sum(map(len, jobs[:job])) + len(listed)):
                assert not rest.within(done, n, rest.hope(done, n) - 1)


class TestEffort:
    @given(st.lists(st.integers(0, 3 * TOLD_EVERY // 2), max_size=12), st.integers(0, 9 * TOLD_EVERY))
    def test_each_step_is_counted_and_told_of_now_and_then(self, spent, left):
        told = []
        effort = Effort(lambda: told.append(effort.taken))
        assert (effort.left, effort.taken) == (0, 0)
        effort.left = left
        taken, expected = 0, []
        for steps in spent:
            taken += steps
            if taken % TOLD_EVERY < steps:
                expected.append(taken)
            if taken > left:
                with pytest.raises(OutOfStepsError):
                    effort.spend(steps)
                break
            effort.spend(steps)
        assert (told, effort.taken, effort.left) == (expected, taken, left - taken)

    def test_all_that_is_left_may_be_spent(self):
        effort = Effort()
        effort.spend(0)
        effort.left = 5
        effort.spend(5)
        with pytest.raises(OutOfStepsError):
            effort.spend(1)


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

    @given(
        st.lists(st.integers(18, 90), min_size=2, max_size=4, unique=True),
        *[st.lists(st.tuples(st.integers(1, 40), st.integers(0, 12)), min_size=1, max_size=2)] * 2,
    )
    @examples(60)
    def test_none_one_or_two_by_whether_they_overlap_or_an_exchange_leads_on(self, gears, first, second):
        """In fractions; where one only just does, either is right."""
        one, other = ([(at, at + wide) for at, wide in each] for each in (first, second))

        def overlap(low, high, other_low, other_high):
            """1 where they do, 0 where they touch, -1 where they don't."""
            gap = max(low, other_low) - min(high, other_high)
            return (gap < 0) - (gap > 0)

        alike = max(overlap(*a, *b) for a, b in product(one, other))
        led = max(
            overlap(*(end * Fraction(*pair) for end in a), *b)
            for a, b in product(one, other)
            for pair in permutations(gears, 2)
        )
        fewest = Exchanges(gears).fewest(*([Window(*map(float, each)) for each in those] for those in (one, other)))
        if alike:
            assert (fewest == 0) is (alike > 0)
        if led and fewest:
            assert fewest == (1 if led > 0 else 2)

    def test_a_window_of_no_width_is_met_in_spite_of_rounding(self):
        """A hundredth of 3, 7, 11 ... by another way of reckoning in floats."""
        for n in range(1, 100):
            one, other = [Window(n / 100, n / 100)], [Window(0.01 * n, 0.01 * n)]
            assert Exchanges([20, 40]).fewest(one, other) == Exchanges([20, 40]).fewest(other, one) == 0
            assert Exchanges([20, 60]).fewest(one, [Window(0.03 * n, 0.03 * n)]) == 1

    def test_from_anything_each_exchange_leads_on(self):
        assert set(Exchanges([20, 30]).between([Window(0.0, inf)], [Window(0.5, 0.6)])) == {(20, 30), (30, 20)}


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

    def test_no_ratio_is_below_none(self):
        for ppm in (10**6, 2 * 10**6):
            assert {
                window.low for window in windows(self.LATHE, Thread.parse("16 tpi"), RelativeError.of_ppm(ppm))
            } == {0}

    def test_without_a_limit(self):
        assert set(windows(self.LATHE, Thread.parse("16 tpi"), None)) == {Window(0, inf)}


class TestMostUseful:
    JOBS = st.lists(
        st.lists(
            st.tuples(st.sampled_from([0, 0.5, 2.0]), st.sampled_from([0.01, 0.1, 0.7, 5])), min_size=1, max_size=2
        ),
        min_size=1,
        max_size=3,
    )

    @given(
        st.sets(st.integers(20, 60), min_size=1, max_size=8),
        st.sampled_from([(1,), (2,), (1, 2), (2, 3)]),
        JOBS,
        st.floats(0, 300),
        st.booleans(),
    )
    @examples(80)
    def test_as_many_gears_as_make_about_four_times_so_many_trains_and_never_none(
        self, teeth, meshes, jobs, most, fixed
    ):
        """Of the trains that so many gears make a share as wide as the windows; of a fixed gear fewer stand."""
        near = [[Window(low, low * (1 + wide) if low else inf) for low, wide in job] for job in jobs]
        share = sum(min(1, wide) if low else 1 for job in jobs for low, wide in job)
        owned = GearSet(teeth, fixed=Fixed(first_driver=min(teeth)) if fixed else Fixed())
        number = len(teeth)

        def made(gears):
            return max(1, sum(comb(gears, each) ** 2 for each in meshes))

        if fixed:
            stand = sum(comb(number - 1, each - 1) * comb(number - 1, each) for each in meshes)
            share *= stand / made(number)
        expected = next((n for n in range(number, 0, -1) if share * made(n) <= 4 * most), 1)
        assume(all(abs(share * made(n) - 4 * most) > 1e-6 for n in range(1, number + 1)))
        kept = most_useful(owned, near, Exchanges(teeth), meshes, most)
        if expected == number:
            assert kept is owned
        elif fixed:
            assert expected <= len(kept.pieces) <= expected + 1
            assert min(teeth) in kept.pieces
            assert kept.fixed == owned.fixed
        else:
            assert len(kept.pieces) == expected

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
