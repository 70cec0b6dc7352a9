"""Looking for a plan, against every order of the jobs, every train and every order of its meshes.

The jobs here know their trains and in which orders these go on; what a bracket says of that is drawn.
"""

from __future__ import annotations

from itertools import pairwise, permutations, product
from random import Random
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.fits.arrangements import every_chain, train_of
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning import path_search
from gearcalc.planning.nearness import Loose, close_by
from gearcalc.planning.path_search import PathSearch, promising
from gearcalc.planning.rest import Effort, OutOfStepsError, Rest
from tests.how_much import examples, in_one
from tests.strategies import trains

PLENTY = 10**9
GEARS = (20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75)
few_trains = trains(2, st.sampled_from([20, 30, 40, 50]), 0)


class Job:
    """Trains that do a job, each in any order of its meshes in which it goes on; the first train goes on in one."""

    lathe = SimpleNamespace(gear_set=SimpleNamespace(last_stays=False))

    def __init__(self, listed, which, first=None, idlers=0):
        self.trains, self.idlers = [*dict.fromkeys(map(Loose.of, listed))], idlers
        every = [order for train in self.trains for order in self.orders(train)]
        self.on = {order for n, order in enumerate(every) if n == 0 or which >> n & 1}
        self.first = first

    def orders(self, loose):
        return [*dict.fromkeys(every_chain(Train(loose.drivers, loose.driven), (60, 70), self.idlers))]

    def knows(self, order):
        return True

    def may_stand(self, order):
        return order in self.on

    def roomiest(self, loose):
        return self.first


@st.composite
def days(draw):
    """One job to three, what is mounted, and whether their order is kept."""
    lists = draw(st.lists(st.lists(few_trains, min_size=1, max_size=3), min_size=1, max_size=3))
    jobs = [Job(listed, draw(st.integers(0, 2**12))) for listed in lists]
    return jobs, draw(st.none() | few_trains), draw(st.booleans())


def searching(jobs, start, keep_order, steps=PLENTY):
    effort = Effort()
    effort.left = PLENTY
    loose = Loose.of(start) if start else None
    search = PathSearch(jobs, start, Rest([job.trains for job in jobs], loose, effort, keep_order=keep_order))
    effort.left = steps
    return search


def moved(start, orders):
    path = [*([start] if start else []), *map(train_of, orders)]
    return sum(places_that_differ(one, other) for one, other in pairwise(path))


def least_of_all(jobs, start, keep_order):
    return min(
        moved(start, orders)
        for days in ([jobs] if keep_order else permutations(jobs))
        for orders in product(*(job.on for job in days))
    )


def holds(mounts, jobs, keep_order):
    """Each job once, by a train of its own in an order in which it goes on."""
    places = [mount.job for mount in mounts]
    assert sorted(places) == [*range(len(jobs))]
    assert not keep_order or places == sorted(places)
    for mount in mounts:
        assert mount.train in jobs[mount.job].trains
        assert mount.order in jobs[mount.job].on
        assert Loose.of(train_of(mount.order)) == mount.train


class TestWithin:
    @given(days())
    @examples(40)
    def test_finds_what_there_is_and_nothing_less(self, day):
        jobs, start, keep_order = day
        least, search = least_of_all(*day), searching(*day)
        for most in range(max(0, least - 2), least):
            assert search.within(most) is None
        for most in (least, least + 1):
            plan = search.within(most)
            holds(plan, jobs, keep_order)
            assert moved(start, [mount.order for mount in plan]) <= most
        assert search.rest.effort.left + search.rest.effort.taken == PLENTY + searching(*day).rest.effort.taken

    @given(days(), st.integers(0, 1500))
    @examples(40)
    def test_with_few_steps_it_says_that_there_is_none_only_where_there_is_none(self, day, steps):
        jobs, start, keep_order = day
        least = least_of_all(*day)
        for most in (least - 1, least):
            try:
                plan = searching(*day, steps).within(most) if most >= 0 else None
            except OutOfStepsError:
                continue
            if plan is None:
                assert most < least
            else:
                holds(plan, jobs, keep_order)
                assert moved(start, [mount.order for mount in plan]) <= most

    def test_two_idlers_in_a_mesh_are_two_places(self):
        """40/80 with one idler, then 40/60 with two: the driven gear and the second idler; from three, one more."""
        jobs = [Job([Train(40, 80)], 1, idlers=1), Job([Train(40, 60)], 1, idlers=2)]
        for start, least in (
            (None, 2),
            (Train(40, 80, ((60,),)), 2),
            (Train(40, 80, ((60, 70, 90),)), 4),
            (Train(40, 80), 3),
        ):
            search = searching(jobs, start, True)
            assert search.within(least - 1) is None
            assert [mount.train.driven for mount in search.within(least)] == [(80,), (60,)]

    def test_where_nothing_is_mounted_the_roomiest_order_is_taken(self):
        train = Train((20, 30), (40, 50))
        orders = Job([train], -1).orders(Loose.of(train))
        for order in orders:
            (mount,) = searching([Job([train], -1, first=order)], None, False).within(0)
            assert mount.order == order


class TestShares:
    """Each beginning has a twentieth of the steps, so that one that leads nowhere leaves some to the others."""

    @staticmethod
    def beginnings(*costs, steps=1000, plan_of=None):
        """Of so many beginnings each takes so many steps; that with this number gives a plan."""
        jobs = [Job([Train(20, 30)], 1), Job([Train(20, 40)], 1)]
        search, told = searching(jobs, None, False, steps), []

        def from_here(step, done, standing, left):
            assert (done, standing, left) == (0, None, 5)
            told.append(search.rest.effort.left)
            search.rest.effort.spend(costs[step])
            return ["a plan"] if step == plan_of else None

        search._from_here = from_here
        search.rest.steps = lambda done, train, most: iter(range(len(costs)))
        return search, told

    def test_the_rest_is_left_for_the_others(self):
        search, told = self.beginnings(40, 10**6, 30, 10, plan_of=3)
        assert search.within(5) == ["a plan"]
        assert told == [50] * 4
        assert search.rest.effort.left == 1000 - 40 - 50 - 30 - 10

    def test_none_is_said_only_where_all_were_looked_at(self):
        search, _ = self.beginnings(40, 30, 0)
        assert search.within(5) is None
        assert search.rest.effort.left == 930
        search, _ = self.beginnings(40, 10**6, 30)
        with pytest.raises(OutOfStepsError):
            search.within(5)

    def test_when_all_is_spent_it_ends_at_once(self):
        search, told = self.beginnings(*[51] * 30)
        with pytest.raises(OutOfStepsError):
            search.within(5)
        assert told == [50] * 20


class TestAGoodOne:
    @given(days())
    @examples(40)
    def test_is_a_plan_and_moves_what_it_says(self, day):
        jobs, start, keep_order = day
        search = searching(*day)
        assert search.whole
        says, mounts = search.a_good_one()
        holds(mounts, jobs, keep_order)
        assert says == moved(start, [mount.order for mount in mounts]) >= least_of_all(*day)

    def test_among_many_trains_it_is_hardly_ever_more_than_the_least(self):
        """Five days of five jobs of forty trains each: one gear too many once at most."""
        too_many = []
        for seed in range(5):
            draw, jobs = Random(seed), []
            for _ in range(5):
                sides = [draw.choice((1, 2, 2, 3)) for _ in range(40)]
                listed = [Train(draw.sample(GEARS, n), draw.sample(GEARS, n)) for n in sides]
                jobs.append(Job(listed, -1))
            search = searching(jobs, None, False)
            says, mounts = search.a_good_one()
            holds(mounts, jobs, False)
            least = next(most for most in range(says + 1) if search.within(most) is not None)
            too_many.append(says - least)
        assert max(too_many) <= 1
        assert sum(too_many) <= 1

    def test_of_trains_that_move_as_many_it_takes_the_one_with_the_fewest_gears(self):
        """Nothing is mounted, so either would do; 20 · 30 and 40 · 60 is what is looked at first."""
        for keep_order in (False, True):
            jobs = [Job([Train((20, 30), (40, 60)), Train(20, 80)], -1)]
            says, mounts = searching(jobs, None, keep_order).a_good_one()
            assert (says, [train_of(mount.order) for mount in mounts]) == (0, [Train(20, 80)])

    def test_the_simplest_is_not_lost_among_more_beginnings_than_are_followed(self):
        """Two jobs that the same trains do, 24 of two meshes and last one of one: fifty ways to begin, none better."""
        sides = [((one, 20), (40, other)) for one in GEARS[1:6] for other in GEARS[6:]][:24]
        listed = [*(Train(*side) for side in sides), Train(20, 40)]
        says, mounts = searching([Job(listed, -1), Job(listed, -1)], None, False).a_good_one()
        assert (says, [train_of(mount.order) for mount in mounts]) == (0, [Train(20, 40)] * 2)

    def test_where_nothing_hopeful_goes_on_the_first_train_does(self, monkeypatch):
        jobs = [Job([Train(20, 30)], 1), Job([Train(40, 50), Train(20, 50)], 1)]
        search = searching(jobs, None, True)
        monkeypatch.setattr(search, "_hopeful", lambda before: iter(()))
        says, mounts = search.a_good_one()
        holds(mounts, jobs, True)
        assert (says, [mount.train.driven for mount in mounts]) == (2, [(30,), (50,)])


class TestPromising:
    """The first ones, and those that come near to trains of the most other jobs."""

    @in_one("keep_order", [False, True])
    @in_one("start", [None, Loose((20, 30), (40, 50))])
    @in_one(("simplest", "most"), [(1, 1), (2, 1), (1, 3), (9, 0)])
    def test_against_counting_for_each(self, keep_order, start, simplest, most):
        """Each job counts as often as it has a train within none, one and two gears; in order, those beside it."""
        draw = Random(simplest)
        every = [[Loose.of(Train(draw.sample(GEARS, 2), draw.sample(GEARS, 2))) for _ in range(8)] for _ in range(4)]
        lists = [*every, [start]] if start else every
        close = close_by(lists)
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(path_search, "_SIMPLEST", simplest)
            patch.setattr(path_search, "_MOST_PROMISING", most)
            found = promising(every, close, keep_order=keep_order)
        of_train = iter(close)
        for place, listed in enumerate(every):
            beside = {place - 1, place + 1} - {len(every)} | ({len(every)} if place == 0 else set())
            counted = [n for n in range(len(lists)) if n in beside] if keep_order else range(len(lists))
            near = [sum(bits >> n & 1 for bits in next(of_train) for n in counted) for _ in listed]
            best = sorted(range(len(listed)), key=lambda n: (-near[n], n))[:most]
            assert found[place] == [train for n, train in enumerate(listed) if n < simplest or n in best]
