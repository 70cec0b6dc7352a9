"""Tables of products of gears of which some are fixed, in one piece or of another size, and which trains they hold."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations_with_replacement, product
from math import prod

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.finding import tables as tables_room
from gearcalc.finding.products import Products, closest
from gearcalc.finding.tables import tables_of, why_none_stands
from gearcalc.lathes import GearSet
from gearcalc.lathes.frames import ways
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.sizes import Cluster, Fixed, GearTable
from tests.how_much import in_one

LOOSE_PAIR = GearSet([20, 30, 40, 60], clusters=[(30, 40)])
ODD = (
    LOOSE_PAIR,
    GearSet([20, 30, 40, 40], fixed=Fixed(first_driver=30)),
    GearSet([20, 30, 40], fixed=Fixed(last_driven=40), clusters=[(30, 50)]),
    GearSet([20, 30, 30, 50], fixed=Fixed(first_driver=20, last_driven=50)),
    GearSet([20, 30, 40], module_mm=1.25, more=[GearTable([20, 30], module_mm=1)]),
    GearSet(
        [20, 30],
        module_mm=1.25,
        more=[GearTable([30, 40], module_mm=1)],
        clusters=[Cluster((40, 20), module_mm=(1.25, 1))],
    ),
)


def held_by(tables):
    """Each train that tables hold: with its table, its two products, and its gears."""
    return [
        (table, over, under, train)
        for table in tables
        for over, under in product(table.values, table.under.values)
        for train in table.trains_of(over, under)
    ]


class TestEveryTrainOfAnOddSet:
    """Each way in which gears can be put together stands in one table, once; counted out by the tooth counts."""

    @in_one("gears", ODD)
    @in_one("meshes", [1, 2])
    def test_against_every_way(self, gears, meshes):
        held = held_by(tables_of(gears, meshes))
        sides = list(combinations_with_replacement(sorted({plain(each) for each in gears.pieces}), meshes))
        assert sorted(train for *_, train in held) == sorted(
            way for drivers, driven in product(sides, sides) for way in ways(gears, drivers, driven)
        )
        for table, over, under, (drivers, driven) in held:
            assert (prod(map(plain, drivers)), prod(map(plain, driven))) == (over, under)
            assert (table.meshes, table.some_twice) == (meshes, True)
            assert drivers in table.over.gears_for(over)
            assert driven in table.under.gears_for(under)

    @in_one("gears", ODD)
    def test_the_trains_that_are_left_without_equal_counts(self, gears):
        """Of two meshes, those of one in which one of each side is gone; and no train has none."""
        ones = [train for *_, train in held_by(tables_of(gears, 1))]
        seen = 0
        for table, _, _, (drivers, driven) in held_by(tables_of(gears, 2)):
            counts = [tuple(map(plain, side)) for side in (drivers, driven)]
            left = {
                tuple(
                    tuple(each for at, each in enumerate(side) if at != out)
                    for side, out in zip(counts, outs, strict=True)
                )
                for outs in product(range(2), repeat=2)
                if counts[0][outs[0]] == counts[1][outs[1]]
            }
            expected = [train for train in ones if tuple(tuple(map(plain, side)) for side in train) in left]
            assert sorted(table.shorter(drivers, driven)) == sorted(expected)
            seen += bool(expected)
        assert seen or gears not in ODD[:2]

    def test_a_side_that_no_gears_are_left_for_leaves_no_products(self):
        lone = GearSet([20, 30], fixed=Fixed(first_driver=20, last_driven=30))
        assert [table.values for table in tables_of(lone, 1)] == [(20,)]
        assert not any(table.values for table in tables_of(lone, 2))

    @in_one(
        "gears",
        [
            *ODD,
            GearSet([20, 25, 30, 127], fixed=Fixed(last_driven=127)),
            GearSet([20, 25, 30, 127], fixed=Fixed(first_driver=127)),
            GearSet([20, 30], fixed=Fixed(first_driver=20, last_driven=30)),
        ],
    )
    @in_one("target", [Fraction(1, 2), Fraction(1, 7), Fraction(5)])
    def test_the_nearest_first_to_the_last_of_them(self, gears, target):
        """All drivers may be smaller than all driven gears, or there may be one train and no other."""
        tables = [table for meshes in (1, 2) for table in tables_of(gears, meshes)]
        found = [train for tie in closest([target], tables) for train in tie.trains(idle_pairs=True)]
        off = [
            abs(Fraction(prod(map(plain, each.drivers)), prod(map(plain, each.driven))) / target - 1) for each in found
        ]
        assert off == sorted(off)
        assert sorted(each[1:] for each in found) == sorted(train for *_, train in held_by(tables))

    def test_one_table_will_not_do_for_them(self):
        with pytest.raises(NotPossibleError) as caught:
            Products.of(LOOSE_PAIR, 2)
        assert str(caught.value) == "one table will not do for gears that are fixed, in one piece or of several sizes."

    def test_a_table_says_only_what_can_be_read(self):
        assert repr(Products.of([20, 30], 1)) == "Products(meshes=1, values=(20, 30), some_twice=False)"
        assert Products.of([20, 20, 30], 1).some_twice


class TestTablesOfOddSets:
    """Equal pairs are left out of an odd set's trains as of any other's, where the shorter train stands."""

    FIXED = GearSet([30, 40, 40, 60], fixed=Fixed(first_driver=30))

    @in_one(
        ("meshes", "idle_pairs", "expected"),
        [
            ((1, 2), False, [((30,), (60,))]),
            ((1, 2), True, [((30,), (60,)), ((30, 40), (40, 60))]),
            ((2,), False, [((30, 40), (40, 60))]),
            ((2,), True, [((30, 40), (40, 60))]),
        ],
    )
    def test_with_a_fixed_first_driver(self, meshes, idle_pairs, expected):
        tables = [table for m in meshes for table in tables_of(self.FIXED, m)]
        tie = next(closest([Fraction(1, 2)], tables, within=Fraction(0)))
        assert [found[1:] for found in tie.trains(idle_pairs)] == expected

    def test_the_fixed_gear_is_no_equal_pair(self):
        """Without the pair of 30s nothing would be left on the shaft where one of them is fixed."""
        tables = [table for m in (1, 2) for table in tables_of(GearSet([30, 30, 40, 60], fixed=Fixed(30)), m)]
        ties = closest([Fraction(2, 3)], tables, within=Fraction(0))
        assert [found[1:] for tie in ties for found in tie.trains()] == [((30, 40), (30, 60))]

    @in_one(("choices", "listed"), [(6, True), (5, False)])
    def test_as_many_choices_as_may_be_and_one_more(self, choices, listed):
        # Four gears, the first driver fixed: it with one of three, and as driven two of three, three ways each.
        gears = GearSet([30, 40, 45, 60], fixed=Fixed(first_driver=30))
        with pytest.MonkeyPatch.context() as patch:
            assert tables_room._MOST_CHOICES == 200_000
            patch.setattr(tables_room, "_MOST_CHOICES", choices)
            tables_of.cache_clear()
            if listed:
                assert tables_of(gears, 2)
                return
            with pytest.raises(NotPossibleError, match=r"^4 gears taken 2 at a time can be chosen in too many ways"):
                tables_of(gears, 2)

    def test_why_none_stands(self):
        lone = GearSet([20, 30], fixed=Fixed(first_driver=20, last_driven=30))
        assert why_none_stands(lone, lone, (1,)) == ""
        assert why_none_stands(lone, lone, (2, 3)) == (
            "No train of 2 or 3 meshes of these gears can stand on the lathe: what is fixed, in one piece, of another "
            "size of tooth or of another bore leaves no way."
        )
        plain = GearSet([20])
        assert why_none_stands(plain, plain, (1,)) == ""
