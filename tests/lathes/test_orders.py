"""The order of the meshes and the idlers that are best at the machine: against every way there is, counted out."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations, permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.orders import best_order, gears_moved, gears_that_stay, leaves_idlers, plus_idler
from gearcalc.lathes.pieces import piece
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import Train
from tests.how_much import examples, in_one
from tests.strategies import trains

few_trains = trains(3, st.sampled_from([20, 30, 40, 50]), 2)


def studs(train: Train) -> list[tuple[int, ...]]:
    """The gears on each stud: each idler by itself, a driven gear with the next driver."""
    found = []
    for idlers, driven, driver in zip(train.idlers, train.driven, (*train.drivers[1:], None), strict=True):
        found += [(idler,) for idler in idlers]
        found += [(driven, driver)] if driver is not None else []
    return found


def on_both(one: tuple[int, ...], other: tuple[int, ...]) -> tuple[int, ...]:
    return tuple((Counter(one) & Counter(other)).elements())


class TestGearsThatStay:
    @given(few_trains, few_trains)
    @examples(150)
    def test_as_many_as_in_any_matching_of_the_studs_in_their_order(self, one, other):
        first, *between, last = gears_that_stay(one, other)
        assert first == on_both(one.drivers[:1], other.drivers[:1])
        assert last == on_both(one.driven[-1:], other.driven[-1:])
        new, old, ways = studs(other), studs(one), []
        for many in range(min(len(new), len(old)) + 1):
            for here in combinations(range(len(new)), many):
                for there in combinations(range(len(old)), many):
                    matched = dict(zip(here, there, strict=True))
                    ways.append([on_both(new[n], old[matched[n]]) if n in matched else () for n in range(len(new))])
        assert between in ways
        assert sum(map(len, between)) == max(sum(map(len, way)) for way in ways)


MIXED = GearSet([20, 30, 40], module_mm=1.25, clusters=[(45, 50)], more=[GearTable([60, 70], module_mm=1)])


class TestIdlers:
    """MIXED has three loose gears of the first size, a cluster of it, and two of module 1."""

    SMALL = tuple(piece(teeth, "module 1") for teeth in (60, 70))

    @in_one(
        ("drivers", "driven", "most"),
        [
            ((20,), (30,), 3),  # 40, and either half of the cluster, which are counted both
            ((20, 30), (30, 20), 3),
            (SMALL[:1], SMALL[1:], 0),
            ((20, SMALL[0]), (30, SMALL[1]), 3),
        ],
    )
    def test_how_many_can_be_had(self, drivers, driven, most):
        assert [leaves_idlers(MIXED, drivers, driven, idlers) for idlers in range(6)] == [
            idlers <= most for idlers in range(6)
        ]

    def test_of_plain_gears_as_many_as_are_left(self):
        plain = GearSet([20, 30, 40, 50])
        assert [leaves_idlers(plain, (20,), (30,), idlers) for idlers in range(4)] == [True, True, True, False]

    @in_one(
        ("gear_set", "train", "longer"),
        [
            (MIXED, Train((20,), (30,)), "20/30, idler 40"),
            (MIXED, Train((20,), (40,)), "20/40, idler 30"),
            (MIXED.without({30}), Train((20,), (40,)), "20/40, idler 45, idler in the first mesh in one piece with 50"),
            (MIXED, Train(SMALL[:1], SMALL[1:]), None),
            (
                MIXED,
                Train((20, SMALL[0]), (30, SMALL[1])),
                "(20 · 60)/(30 · 70), idler 40 in the first mesh, second mesh of module 1",
            ),
            (
                MIXED,
                Train((SMALL[0], 20), (SMALL[1], 30)),
                "(60 · 20)/(70 · 30), idler 40 in the second mesh, first mesh of module 1",
            ),
            (GearSet([20, 30]), Train((20,), (30,)), None),
            (GearSet([20, 30, 40]), Train((20,), (30,)), "20/30, idler 40"),
        ],
    )
    def test_the_train_with_one_more(self, gear_set, train, longer):
        found = plus_idler(gear_set, train, None)
        assert (found and str(found)) == longer


class TestBestOrder:
    """20/100 is steeper than 4:1; with it where it stands nothing has to be moved."""

    @pytest.mark.parametrize("fixed", [Fixed(), Fixed(first_driver=20)], ids=["all free", "first driver fixed"])
    def test_no_steep_mesh_to_save_a_move_unless_it_is_strained_anyway(self, fixed):
        gear_set, mounted = GearSet([20, 30, 60, 100], fixed=fixed), Train((20, 30), (100, 60))
        ask = gear_set, (20, 30), (60, 100), mounted
        assert best_order(*ask) == Train((20, 30), (60, 100))
        assert best_order(*ask, strained_anyway=True) == mounted

    def test_just_four_to_one_is_not_too_steep(self):
        for largest, kept in ((80, True), (81, False)):
            mounted = Train((20, 30), (largest, 60))
            found = best_order(GearSet([20, 30, 60, largest]), (20, 30), (60, largest), mounted)
            assert (found == mounted) == kept

    def test_a_last_driven_gear_that_is_fixed_is_no_move(self):
        gear_set = GearSet([20, 30, 60, 80], fixed=Fixed(last_driven=60))
        assert best_order(gear_set, (20, 30), (60, 80), Train((30,), (60,))) == Train((30, 20), (80, 60))


TWO_SIZES = GearSet([20, 24, 30, 40, 80], module_mm=1.25, more=[GearTable([50, 60, 65, 70], module_mm=1)])


@cache
def with_one_idler() -> dict[tuple[tuple[int, ...], ...], list[Train]]:
    """Which gears drive and which are driven -> every order of two meshes, with every idler that it may have."""
    found: dict[tuple[tuple[int, ...], ...], list[Train]] = {}
    for over, under in product(permutations(TWO_SIZES.loose, 2), repeat=2):
        for idler, before in product(TWO_SIZES.loose, ((), ((),))):
            train = Train(over, under, (*before, (idler,)))
            if TWO_SIZES.allows(train):
                found.setdefault((tuple(sorted(over)), tuple(sorted(under))), []).append(train)
    return found


class TestBestOrderWithAnIdler:
    """Where sizes of tooth leave an idler no choice of its mesh, it is the order that brings it there."""

    @given(st.data(), st.booleans())
    @examples(150)
    def test_no_other_order_and_no_other_idler_moves_fewer(self, data, strained):
        drivers, driven = data.draw(st.sampled_from(sorted(with_one_idler())))
        mounted = data.draw(st.sampled_from([train for ways in with_one_idler().values() for train in ways]))

        def handiness(train):
            return train.steepest > 4 and not strained, gears_moved(TWO_SIZES, mounted, train), train.steepest

        found = best_order(TWO_SIZES, drivers, driven, mounted, strained, idler=True)
        ways = with_one_idler()[drivers, driven]
        assert found in ways
        assert handiness(found) == min(map(handiness, ways))
