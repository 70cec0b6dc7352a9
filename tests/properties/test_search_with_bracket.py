"""The search on lathes with a bracket, against a brute force that asks fit() about every train there is.

fit() itself is checked elsewhere; here it is only who comes, in which order, and as arranged how.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, zip_longest
from math import prod
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.finding import rankings
from gearcalc.finding.rankings import Query, ranked
from gearcalc.finding.search import find_setups
from gearcalc.fits import fit
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.trains import Train
from gearcalc.threads import Thread
from gearcalc.threads.deviations import good_enough_ppm
from tests.how_much import examples
from tests.strategies import bracket_lathes, mesh_counts

DEMO = gc.demo_lathe("inch")
BRACKET = DEMO.bracket
assert BRACKET is not None
ONE_STUD = evolve(DEMO, bracket=evolve(BRACKET, studs=1))

threads = st.sampled_from(["16 tpi", "20 tpi LH", "8 tpi", "lead 6 mm", "1.25 mm", "module 0.5", "11 tpi LH"])


def moved(train: Train, mounted: Train | None) -> int:
    if mounted is None:
        return 0
    places = [*zip_longest(train.drivers, mounted.drivers), *zip_longest(train.driven, mounted.driven)]
    for mine, theirs in zip_longest(train.idlers, mounted.idlers, fillvalue=()):
        places += zip_longest(mine, theirs)
    return sum(one != other for one, other in places)


def every_train(lathe: Lathe, meshes: set[int]) -> Iterator[tuple[int, Lever | None, Train]]:
    for place, lever in enumerate(lathe.gearbox or (None,)):
        for m in meshes:
            for drivers in set(combinations(lathe.gears, m)):
                for driven in set(combinations(lathe.gears, m)):
                    if not (Counter(drivers) + Counter(driven)) - Counter(lathe.gears):
                        yield place, lever, Train(drivers, driven)


def slow_search(
    lathe: Lathe, wanted: Thread, meshes: set[int], mounted: Train | None, good: Fraction | None = None
) -> list[tuple[Train, str | None]]:
    """What goes on, ranked as finding/ranks.py says; what is off by `good` or less as a person would choose."""
    plate = {(tuple(sorted(row.drivers)), tuple(sorted(row.driven)), row.lever) for row in lathe.plate}
    found: list[tuple[Any, ...]] = []
    for place, lever, train in every_train(lathe, meshes):
        name = lever.name if lever else None
        placed = fit(lathe, train, hand=wanted.hand, lever=name, mounted=mounted)
        if not placed.goes_on:
            continue
        turns = lathe.spindle_ratio * Fraction(prod(train.drivers), prod(train.driven)) * (lever.ratio if lever else 1)
        off = abs(lathe.leadscrew_lead_mm * turns / Fraction(wanted_lead(wanted)) - 1)
        steepest = placed.train.steepest
        found.append(
            (
                off,
                turns > 3 or steepest > 4,
                (train.drivers, train.driven, name) not in plate,
                len(placed.train.gears),
                moved(placed.train, mounted),
                steepest,
                train.drivers,
                train.driven,
                place,
                placed.train,
                name,
            )
        )
    found.sort(key=lambda answer: answer[:-2] if good is None else simplest_first(answer, good))
    return [answer[-2:] for answer in without_idle_pairs(found)]


def simplest_first(answer: tuple[Any, ...], good: Fraction) -> tuple[Any, ...]:
    off, strained, unlisted, gears, places, slope, *last = answer[:-2]
    if off > good:
        return (True, *answer[:-2])
    step = 0 if off == 0 else 1 if off <= Fraction(200, 1_000_000) else 2
    return (False, strained, len(last[0]), step, places, unlisted, gears, slope, off, *last)


def without_idle_pairs(found: list[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Leave out equal gears on both sides where the train without them goes on too and moves no more."""
    moves = {(*answer[6:8], answer[-1]): answer[4] for answer in found}

    def does_nothing(answer: tuple[Any, ...]) -> bool:
        drivers, driven = answer[6:8]
        equal = sorted((Counter(drivers) & Counter(driven)).elements())
        for out in (out for pairs in range(1, len(equal) + 1) for out in combinations(equal, pairs)):
            rest = [tuple(sorted((Counter(side) - Counter(out)).elements())) for side in (drivers, driven)]
            if moves.get((*rest, answer[-1]), 99) <= answer[4]:
                return True
        return False

    return [answer for answer in found if not answer[2] or not does_nothing(answer)]


def wanted_lead(wanted: Thread) -> Fraction:
    """The lead in mm, with 355/113 ± 3 in ten million for π, which swaps none of these few ratios."""
    lead = wanted.lead
    return lead if isinstance(lead, Fraction) else lead.coefficient * Fraction(31415926535897932384626433, 10**25)


def shown(setups: list[gc.Setup]) -> list[tuple[Train, str | None]]:
    return [(each.train, each.lever) for each in setups]


class TestMustFit:
    @given(bracket_lathes(), threads, mesh_counts)
    @examples(16)
    def test_is_the_brute_force_in_its_order(self, lathe, text, meshes):
        expected = slow_search(lathe, Thread.parse(text), meshes, None)
        assert shown(find_setups(lathe, text, meshes, 10_000)) == expected

    @given(bracket_lathes(), threads, st.integers(0, 9), st.integers(0, 9))
    @examples(8)
    def test_with_something_mounted(self, lathe, text, which, count):
        there = find_setups(lathe, "12 tpi", (1, 2), 10)
        mounted = there[which % len(there)].train if there else Train((40,), (80,))
        expected = slow_search(lathe, Thread.parse(text), {1, 2}, mounted)[: count + 1]
        assert shown(find_setups(lathe, text, (1, 2), count + 1, mounted=mounted)) == expected

    @given(bracket_lathes(), threads)
    @examples(8)
    def test_each_goes_on_as_shown_and_cuts_the_hand_wanted(self, lathe, text):
        for found in find_setups(lathe, text, count=30):
            assert found.fit.goes_on
            assert found.fit.train == found.train
            assert found.hand == Thread.parse(text).hand
            lathe.check_owned(found.train.gears)


class TestSimplestFirst:
    """What goes on, as a person would choose, over the whole list; also where very much is good enough."""

    @given(bracket_lathes(), threads, mesh_counts, st.booleans())
    @examples(12)
    def test_is_the_brute_force_in_its_order(self, lathe, text, meshes, with_mounted):
        there = find_setups(lathe, "12 tpi", (1, 2), 10) if with_mounted else []
        mounted = there[-1].train if there else None
        wanted = Thread.parse(text)
        expected = slow_search(lathe, wanted, meshes, mounted, good_enough_ppm(wanted) / 1_000_000)
        assert shown(find_setups(lathe, text, meshes, 10_000, mounted=mounted, first="simplest")) == expected

    @given(bracket_lathes(), threads, mesh_counts, st.sampled_from([Fraction(1, 20), Fraction(10)]))
    @examples(12)
    def test_where_very_much_is_good_enough(self, lathe, text, meshes, good):
        wanted = Thread.parse(text)
        query = Query(lathe, wanted, tuple(sorted(meshes)), choose_within=good)
        assert shown(list(ranked(query))) == slow_search(lathe, wanted, meshes, None, good)

    @given(bracket_lathes(), threads, mesh_counts)
    @examples(8)
    def test_what_need_not_go_on_is_all_there_and_what_does_keeps_its_order(self, lathe, text, meshes):
        found = find_setups(lathe, text, meshes, 10_000, must_fit=False, first="simplest")
        on = find_setups(lathe, text, meshes, 10_000, first="simplest")
        assert shown([each for each in found if each.fit.goes_on]) == shown(on)
        every = find_setups(lathe, text, meshes, 10_000, must_fit=False)
        assert len(every) == len(found)
        assert set(shown(every)) == set(shown(found))


class TestNeedNotFit:
    @given(bracket_lathes(), threads, st.sets(st.integers(1, 2), min_size=1))
    @examples(8)
    def test_what_goes_on_comes_first_among_equals(self, lathe, text, meshes):
        found = find_setups(lathe, text, meshes, 10_000, must_fit=False)
        assert [(each.error, not each.fit.goes_on) for each in found] == sorted(
            (each.error, not each.fit.goes_on) for each in found
        )
        assert shown([each for each in found if each.fit.goes_on]) == shown(find_setups(lathe, text, meshes, 10_000))

    @given(bracket_lathes(), threads)
    @examples(8)
    def test_nothing_is_left_out_that_the_direction_allows(self, lathe, text):
        no_bracket = evolve(lathe, bracket=None)
        with_it, without = (
            {(tuple(sorted(each.train.drivers)), tuple(sorted(each.train.driven)), each.lever) for each in found}
            for found in (
                find_setups(lathe, text, (1, 2), 10_000, must_fit=False),
                find_setups(no_bracket, text, (1, 2), 10_000),
            )
        )
        assert without <= with_it
        assert all(set(over) & set(under) for over, under, _ in with_it - without)  # where a shorter one is too short


class TestNotChecked:
    @pytest.mark.parametrize("what", ["bracket", "module"])
    def test_without_a_bracket_or_a_size_of_gear(self, what):
        gears = evolve(DEMO.gear_set, module_mm=None)
        lathe = evolve(DEMO, bracket=None) if what == "bracket" else evolve(DEMO, gear_set=gears)
        found = find_setups(lathe, "16 tpi", count=3)
        assert [each.fit for each in found] == [None] * 3
        assert found[0].train == Train((40,), (80,))
        assert "Fit not checked" in str(found.notes)


class TestWhy:
    def test_the_search_gives_up_on_a_bracket_that_lets_nothing_on_and_says_so(self):
        """Shafts so thick that every gear on the stud fouls one: known only when each train is looked at."""
        lathe = evolve(DEMO, bracket=evolve(BRACKET, shaft_radius_mm=70.0))
        found = find_setups(lathe, "16 tpi")
        assert found == []
        assert re.match(r"\d+ trains that come next do not go on the bracket, and the search looked no", found.why)

    def test_shafts_too_far_apart_for_any_gears_are_known_without_a_search(self):
        lathe = evolve(DEMO, bracket=evolve(BRACKET, spindle_side_at_mm=(400.0, 400.0)))
        assert list(rankings.ranked(Query(lathe, Thread.parse("16 tpi"), (1, 2, 3)), rankings.StepsLeft(0))) == []
        assert "Wherever the bracket swings" in find_setups(lathe, "16 tpi").why

    @pytest.mark.parametrize(
        ("studs", "meshes", "said"),
        [
            (2, 4, "A train of 4 meshes takes 3 studs, and the bracket has 2 studs."),
            (1, 3, "A train of 3 meshes takes 2 studs, and the bracket has 1 stud."),
        ],
    )
    def test_too_few_studs_are_said_at_once_and_what_fewer_meshes_would_do(self, studs, meshes, said):
        lathe = evolve(DEMO, bracket=evolve(BRACKET, studs=studs))
        why = find_setups(lathe, "16 tpi", meshes).why
        assert why.startswith(said)
        assert "With 1 mesh it would be 40/80" in why

    def test_what_would_do_but_does_not_go_on_is_named_with_its_reasons(self):
        lathe = evolve(ONE_STUD, gear_set=evolve(DEMO.gear_set, teeth=(20, 25, 30, 40)))
        why = find_setups(lathe, "16 tpi", within_ppm=0).why
        assert why.startswith(
            "20/40, lever middle, reverse over: lead 16 tpi (1.5875 mm), exact, would do, but does not go on"
        )
        assert fit(lathe, Train((20,), (40,))).reasons[0] in why
        assert "One gear more would give an exact setup that goes on" in why
        assert "make it exact" not in why  # it is exact; only the fit is missing

    @pytest.mark.parametrize(("wanted", "named"), [("M1", "lead 32 tpi"), ("20 tpi", "lead 16 tpi")])
    def test_what_is_not_good_enough_would_not_do(self, wanted, named):
        why = find_setups(evolve(DEMO, gear_set=evolve(DEMO.gear_set, teeth=(20, 40))), wanted).why
        assert re.match(
            rf"The closest is 20/40, .*{named}.*, not good enough, and it does not go on the bracket\. ", why
        )
        assert "would do" not in why
        assert "One gear more would make it exact" in why

    def test_no_one_gear_makes_it_go_on(self):
        """The first driver stands far off, where no gear up to 140 teeth reaches."""
        bracket = evolve(BRACKET, spindle_side_at_mm=(400.0, 400.0))
        lathe = evolve(DEMO, bracket=bracket, gear_set=evolve(DEMO.gear_set, teeth=(20, 40)))
        why = find_setups(lathe, "16 tpi").why
        assert "make it exact" not in why
        assert why.endswith("would give an exact setup that goes on in a train of 1, 2 or 3 meshes.")
        assert why.startswith("20/40, lever middle, reverse over: lead 16 tpi (1.5875 mm), exact, would do, but")

    def test_a_misfit_is_marked_in_the_list(self):
        lathe = evolve(ONE_STUD, gear_set=evolve(DEMO.gear_set, teeth=(20, 25, 30, 40)))
        assert "does not go on" in find_setups(lathe, "16 tpi", must_fit=False)._repr_html_()
        assert "does not go on" not in find_setups(DEMO, "16 tpi", must_fit=False, count=3)._repr_html_()
