"""What is mounted comes first where it cuts well enough, against every setup looked at by hand."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations
from math import prod

import pytest

import gearcalc as gc
from gearcalc.finding.rankings import Query, ranked
from gearcalc.finding.search import find_setups
from gearcalc.finding.strain import is_strained
from gearcalc.lathes.trains import Train
from gearcalc.threads.deviations import good_enough_ppm
from tests.benches import a_lathe

GEARS = (20, 30, 40, 60, 80)
LEVERS = "[[gearbox]]\nlever = 'slow'\nratio = '1/2'\n[[gearbox]]\nlever = 'fast'\nratio = '1'\n"
LATHES = [a_lathe(*GEARS, more=LEVERS), a_lathe(*GEARS, 40)]
EVERY = [Train(gears[:n], gears[n:]) for n in (1, 2) for gears in permutations(GEARS, 2 * n)]
MOUNTED = [train for n, train in enumerate(EVERY) if train.ratio in (Fraction(1, 2), 1, 2) or n % 9 == 0]


def miss(lathe, setup, wanted) -> Fraction:
    """How far off, as a share, by the plain product."""
    lever = setup.position.ratio if setup.position else 1
    cut = (
        lathe.leadscrew.lead
        * lathe.spindle_ratio
        * lever
        * Fraction(prod(setup.train.drivers), prod(setup.train.driven))
    )
    return abs(cut / wanted.lead_mm - 1)


@pytest.mark.parametrize("first", ["nearest", "simplest"])
@pytest.mark.parametrize("wanted", ["16 tpi", "32 tpi", "M8", "8 tpi"])
def test_every_train_that_may_be_mounted(wanted, first):
    """All that find_setups() lists, in its order, but what stands there first, where that is near enough."""
    wanted, came_first = gc.Thread.parse(wanted), 0
    for lathe in LATHES:
        for mounted in MOUNTED:
            good = Fraction(good_enough_ppm(wanted), 10**6) if first == "simplest" else None
            query = Query(lathe, wanted, (1, 2), mounted=mounted, choose_within=good)
            every = list(ranked(query))
            limit = good if good is not None else min(miss(lathe, each, wanted) for each in every)
            staying = [
                each
                for each in every
                if each.train == mounted
                and miss(lathe, each, wanted) <= limit
                and not is_strained(each.train.steepest, each.leadscrew_turns)
            ]
            found = find_setups(lathe, wanted, (1, 2), 10_000, mounted=mounted, first=first)
            assert list(found) == [*staying, *(each for each in every if each not in staying)]
            came_first += bool(staying) and every[0] not in staying
            assert ("no gear has to be moved" in found.reason) is (bool(staying) and not found.shortfall)
    assert came_first > 1 or str(wanted).startswith("M8")  # else the rule is what decides


INCH, TWO_PAIRS = gc.demo_lathe("inch"), gc.Train((30, 40), (60, 80))


class TestWhatStandsThere:
    """(30 40)/(60 80) cuts 16 tpi at high, as 40/80 does with one pair at middle."""

    @pytest.mark.parametrize("first", ["nearest", "simplest"])
    def test_an_idler_more_than_need_be_is_no_reason_to_move_a_gear(self, first):
        found = find_setups(a_lathe(*GEARS), "16 tpi", mounted="40/80, idler 60", first=first)
        assert str(found[0].train) == "40/80, idler 60"
        assert [str(each.train) for each in found if (each.train.drivers, each.train.driven) == ((40,), (80,))] == [
            "40/80, idler 60"
        ]

    def test_not_where_it_turns_the_wrong_way(self):
        lathe = a_lathe(*GEARS, more="spindle_side.reverse = false\nspindle_side.same_way = true\n")
        both = {hand: find_setups(lathe, f"16 tpi{hand}", count=1, mounted="40/80")[0] for hand in ("", " LH")}
        assert sorted(str(each.train) == "40/80" for each in both.values()) == [False, True]
        assert all(each.natural_hand == each.wanted.hand for each in both.values())

    @pytest.mark.parametrize("first", ["nearest", "simplest"])
    def test_it_comes_before_fewer_pairs(self, first):
        found = find_setups(INCH, "16 tpi", count=30, mounted=TWO_PAIRS, first=first, one_per_ratio=True)
        assert (found[0].train, found[0].lever) == (TWO_PAIRS, "high")
        assert len({each.lead_mm for each in found}) == len(found)

    @pytest.mark.parametrize(
        "more", [{"meshes": 1}, {"avoid": 30}, {"mounted": "(30 40)/(60 70)"}, {"mounted": None}, {"wanted": "15 tpi"}]
    )
    @pytest.mark.parametrize("first", ["nearest", "simplest"])
    def test_not_where_it_is_no_answer(self, more, first):
        found = find_setups(INCH, **{"wanted": "16 tpi", "count": 1, "mounted": TWO_PAIRS, "first": first, **more})
        assert found[0].train != TWO_PAIRS
        assert "What is mounted" not in found.reason

    @pytest.mark.parametrize("first", ["nearest", "simplest"])
    def test_not_where_it_is_further_off_than_may_be(self, first):
        assert find_setups(INCH, "M6", within_ppm=125, mounted="(20 63)/(80 50)", first=first)
        assert not find_setups(INCH, "M6", within_ppm=124, mounted="(20 63)/(80 50)", first=first)

    def test_it_is_said(self):
        found = find_setups(INCH, "M6", count=1, mounted="(20 63)/(80 50)", first="simplest")
        said = "What is mounted cuts it: no gear has to be moved. Two pairs, +125 ppm: "
        assert found.reason.startswith(said)
        assert said in str(found)
        exact = find_setups(INCH, "16 tpi", count=1, mounted=TWO_PAIRS, first="simplest")
        assert str(exact).startswith("What is mounted cuts it: no gear has to be moved.\n1. (30 · 40)/(60 · 80)")
