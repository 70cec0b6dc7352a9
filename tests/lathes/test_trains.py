"""Trains: exact ratios, turning directions, and the trade's ways of writing them."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import count, permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc
from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError
from gearcalc.fits.gaps import part_name
from gearcalc.lathes.orders import fewest_moved
from gearcalc.lathes.trains import (
    Gear,
    Train,
    gears_of,
    in_order,
    places_that_differ,
    shaft_names,
    steepest_mesh,
    with_idler,
)
from tests.how_much import examples, in_one
from tests.strategies import trains

few = st.sampled_from([20, 30, 50, 81, 120])
up_to_four, up_to_three = (trains(most, few, 2) for most in (4, 3))


class TestTrain:
    def test_ratio_is_drivers_over_driven(self):
        assert Train((40,), (80,)).ratio == Fraction(1, 2)
        assert Train((40, 30), (80, 60)).ratio == Fraction(40 * 30, 80 * 60)

    def test_idlers_leave_the_ratio_alone(self):
        assert Train((40,), (80,), ((30, 90),)).ratio == Train((40,), (80,)).ratio

    @in_one(
        ("drivers", "driven", "idlers", "same_way"),
        [
            ((40,), (80,), (), False),
            ((40,), (80,), ((50,),), True),
            ((40,), (80,), ((50, 30),), False),
            ((40, 30), (80, 60), (), True),
            ((40, 30), (80, 60), ((50,), ()), False),
            ((40, 30), (80, 60), ((50,), (35,)), True),
            ((40, 30, 20), (80, 60, 65), (), False),
        ],
    )
    def test_every_mesh_and_every_idler_turns_it_round(self, drivers, driven, idlers, same_way):
        assert Train(drivers, driven, idlers).turns_the_same_way is same_way

    def test_the_direction_is_reckoned_in_one_place(self):
        package = Path(gearcalc.__file__).parent
        parity = re.compile(r"(?:meshes|idlers)\b[^\n]*% 2")
        reckoned = {path.name: parity.findall(path.read_text(encoding="utf-8")) for path in package.rglob("*.py")}
        assert {name: len(found) for name, found in reckoned.items() if found} == {"trains.py": 1}

    def test_what_may_be_left_out(self):
        assert Train(40, 80) == Train([40], [80]) == Train((40,), (80,), ((),))
        assert Train(40, 80, 50) == Train((40,), (80,), (50,)) == Train((40,), (80,), ((50,),))
        assert Train((40, 30), (80, 60), ((50,),)) == Train((40, 30), (80, 60), ((50,), ()))
        assert Train((40, 30), (80, 60), [50, (35,)]).idlers == ((50,), (35,))

    def test_chain_gears_and_steepest(self):
        train = Train((40, 30), (80, 60), ((50,), ()))
        assert train.chain() == ((40, 50, 80), (30, 60))
        assert sorted(train.gears) == [30, 40, 50, 60, 80]
        assert (train.meshes, train.steepest) == (2, Fraction(2))
        assert Train((80,), (20,)).steepest == Train((20,), (80,)).steepest == 4

    def test_places_name_what_each_gear_does(self):
        places = dict(Train((40, 30), (80, 60), ((50, 55), (35,))).places())
        assert places == {
            "first driver": 40,
            "first idler in the first mesh": 50,
            "second idler in the first mesh": 55,
            "first driven": 80,
            "second driver": 30,
            "idler in the second mesh": 35,
            "second driven": 60,
        }

    def test_every_train_that_can_be_made_can_be_shown(self):
        longest = Train((20,) * 6, (30,) * 6, ((40,) * 6,) * 6)
        assert len(list(longest.places())) == 48
        assert "sixth mesh" in str(longest)

    @in_one(
        ("drivers", "driven", "idlers"),
        [
            ((), (), ()),
            ((40,), (), ()),
            ((40, 30), (80,), ()),
            ((20,) * 7, (30,) * 7, ()),
            ((40,), (80,), ((50,), (60,))),
            ((40,), (80,), ((50,) * 7,)),
            ((0,), (80,), ()),
            ((-40,), (80,), ()),
            ((40.0,), (80,), ()),
            (("40",), (80,), ()),
            ("40", "80", ()),
            ((None,), (80,), ()),
            (None, None, ()),
            ((40,), (80,), None),
            ((40,), (80,), (5,)),
            ((40,), (80,), ((50,), 60)),
            ((40,), (80,), "50"),
            ({40: 1}, (10**400,), ()),
            (count(20), (80,), ()),
            ((40,), (80,), (count(20),)),
        ],
    )
    def test_refuses_what_is_no_train(self, drivers, driven, idlers):
        with pytest.raises(ValueOutOfRangeError) as caught:
            Train(drivers, driven, idlers)
        assert str(caught.value).isprintable()

    @in_one("teeth", [5, 1001, 6, 1000])
    def test_a_gear_has_6_to_1000_teeth_wherever_it_stands(self, teeth):
        for made in (lambda *sides: Train(*sides), lambda *sides: Train(*map(list, sides))):
            for sides in (((teeth,), (80,)), ((80,), (teeth,)), ((80,), (80,), ((teeth,),))):
                if 6 <= teeth <= 1000:
                    assert teeth in made(*sides).gears
                else:
                    with pytest.raises(ValueOutOfRangeError, match=f"from 6 to 1000, not {teeth}"):
                        made(*sides)

    def test_is_frozen_and_hashable(self):
        assert len({Train((40,), (80,)), Train((40,), (80,))}) == 1


class TestParse:
    @in_one(
        "text",
        [
            "(40 · 30)/(80 · 60)",
            "40x30/80x60",
            "40×30 / 80×60",
            "40*30/80*60",
            "40 30 / 80 60",
            "40/80 30/60",
            "40/80 x 30/60",
            "40/80 × 30/60",
            "40/80 · 30/60",
            "(40/80) × (30/60)",
            "(40/80)(30/60)",
            " 40/80\t30/60 ",
            "40/80, 30/60",
            "(40·30)/(80·60)",
            "40⋅30/80⋅60",
            "40→80+30→60",
            "40 -> 80 + 30 -> 60",
            '{"drivers": [40, 30], "driven": [80, 60], "idlers": [[], []]}',
            '{\n  "good_enough": true,\n  "drivers": [\n    40,\n    30\n  ],\n  "driven": [80, 60], "lever": "low"}',
            '"16 tpi" = { drivers = [40, 30], driven = [80, 60], lever = "low" }',
            "Train(drivers=(40, 30), driven=(80, 60), idlers=((), ()))",
            '{"train": "(40 \\u00b7 30)/(80 \\u00b7 60)", "drivers": [40, 30], "driven": [80, 60], "lever": "low"}',
            '{"train": "(40 · 30)/(80 · 60)"}',
        ],
    )
    def test_the_trades_ways_of_writing_one_train(self, text):
        assert Train.parse(text) == Train((40, 30), (80, 60))

    def test_a_simple_train_and_its_idlers(self):
        assert Train.parse("40/80", idlers=(50,)) == Train((40,), (80,), ((50,),))

    @in_one(
        "train",
        [
            Train((40,), (80,), ((50,),)),
            Train((40,), (80,), ((50, 25),)),
            Train((40, 30), (80, 60), ((50,), (20, 25))),
            Train((40, 30, 20), (80, 60, 50), ((), (), (35,))),
            Train((1000,) * 6, (1000,) * 6, ((1000,) * 6,) * 6),
        ],
    )
    def test_idlers_as_they_are_written(self, train):
        assert Train.parse(str(train)) == train

    @in_one(
        "text",
        [
            "40/80, idler",
            "40/80, idler x",
            "40/80 idler -5",
            "40/80, idler 3",
            "40/80, idler 5",
            "40/80, idler 50 in the second mesh",
            "40/80, idler 50 in the lake",
            "40/80, idler 50 idle",
            "idler 50",
            "40/80, idler 50 in the first mesh, idler 25",
        ],
    )
    def test_idlers_that_stand_nowhere(self, text):
        with pytest.raises(ValueOutOfRangeError):
            Train.parse(text)

    def test_however_someone_types_them(self):
        typed = Train.parse("(20 · 30)/(127 · 80); Idler 40 in the SECOND mesh")
        assert typed == Train((20, 30), (127, 80), ((), (40,)))

    def test_idlers_not_understood_are_shown_how(self):
        with pytest.raises(ValueOutOfRangeError, match="Write 'idler 40', or 'idler 40 in the second mesh'"):
            Train.parse("40/80, idler x")

    @pytest.mark.parametrize(
        "text", ["40→(50)→80", "40->50->80", "40 → ( 50 ) → 80", "drivers=[40], driven=[80], idlers=[50]"]
    )
    def test_idlers_as_a_plate_has_them(self, text):
        assert Train.parse(text) == Train((40,), (80,), ((50,),))

    @in_one("text", ["40/80, idler 50", "40x30/80x60, idler 50 in the second mesh", "40→(50)→80+30→60"])
    def test_idlers_said_twice(self, text):
        with pytest.raises(ValueOutOfRangeError, match="twice"):
            Train.parse(text, idlers=(25,))

    def test_three_meshes(self):
        assert Train.parse("20/60 30/65 40/70") == Train((20, 30, 40), (60, 65, 70))

    @in_one(
        "text",
        ["", "40", "/", "40/", "/80", "40/80/20", "40/80 30", "40x/80", "a/b", "40/5", "40/0", "-40/80", "4e1/80",
         "40 / 80 " * 7, "1" * 119 + "/", "(" * 60 + ")" * 60, "40/80\x00", "٤٠/٨٠", "½", "40/80" + " " * 20_000,
         "40→", "→80", "40→80+30", "40→80→", "(40)→80", "40→(80)", "40→((50))→80", "40→80/30→60", "40->80 x 30->60",
         "40→80+" * 7 + "40→80", "drivers", "drivers = [40]", '{"drivers": [40], "driven": "80"}',
         "drivers=[40] driven=[", "driven=" + "[" * 300,
         '{"drivers": [[40]], "driven": [80]}', '{"drivers": [40], "driven": [80], "drivers": [20]}',
         '{"drivers": [40], "driven": [80], "idlers": [[[50]]]}', '{"drivers": [], "driven": []}',
         "drivers=[4e1], driven=[8]",
         "40 30/80", "40:80", None, 40, b"40/80", Fraction(1, 2)],
    )  # fmt: skip
    def test_the_rest_is_refused_in_one_printable_line(self, text):
        with pytest.raises(GearcalcError) as caught:
            Train.parse(text)
        assert str(caught.value).isprintable()

    @in_one(("text", "longest"), [("40/80", 20_000), ("40/80, first mesh of module 1", 4000)])
    def test_no_text_is_longer_than_any_train(self, text, longest):
        assert str(Train.parse(text.ljust(longest))) == text
        with pytest.raises(ValueOutOfRangeError, match="not understood as a train"):
            Train.parse(text.ljust(longest + 1))

    def test_nor_is_what_json_has_of_one(self):
        told = '{"train": "40/80, first mesh of module 1"}'
        assert Train.parse(told.ljust(20_000)).apart == ("first mesh of module 1",)
        with pytest.raises(ValueOutOfRangeError, match="not understood as a train"):
            Train.parse(told.ljust(20_001))
        listed = f"drivers=[40{' ' * 396}] driven=[80]"  # a list of 400 signs, with its brackets
        assert Train.parse(listed) == Train((40,), (80,))
        with pytest.raises(ValueOutOfRangeError, match="not understood as a train"):
            Train.parse(listed.replace("[40", "[40 "))

    def test_six_meshes_gear_by_gear_and_no_seventh(self):
        assert Train.parse("+".join(["40→80"] * 6)).meshes == 6
        with pytest.raises(ValueOutOfRangeError, match="not understood as a train"):
            Train.parse("+".join(["40→80"] * 7))

    @in_one(("mark", "bare"), [("b)", "40→80"), ("ab)", "40→80+30→60"), ("b )", "40→(50)→80")])
    def test_a_mark_of_a_plate_is_told_what_to_write_instead(self, mark, bare):
        with pytest.raises(ValueOutOfRangeError, match=re.escape(f"ends with a mark, '{mark}'")) as refused:
            Train.parse(f"{bare} {mark}")
        assert f"like '{bare}, first mesh of module 1'." in str(refused.value)

    def test_a_list_is_at_most_one_deep_in_another(self):
        assert Train.parse('{"drivers": [40], "driven": [80], "idlers": [[50]]}').idlers == ((50,),)
        with pytest.raises(ValueOutOfRangeError, match="not understood as a train"):
            Train.parse('{"drivers": [40], "driven": [80], "idlers": [[[50]]]}')

    def test_the_refusal_shows_how(self):
        with pytest.raises(ValueOutOfRangeError, match="'40/80'"):
            Train.parse("forty over eighty")


class TestWritten:
    def test_as_the_trade_writes_it(self):
        assert str(Train((40, 30), (80, 60))) == "(40 · 30)/(80 · 60)"
        assert str(Train((40,), (80,), (50,))) == "40/80, idler 50"
        assert str(Train((40,), (80,), (50, 55))) == "40/80, idlers 50 and 55"

    def test_html_and_latex(self):
        train = Train((40, 30), (80, 60))
        assert train._repr_latex_() == r"$\frac{40 \cdot 30}{80 \cdot 60}$"
        assert train._repr_html_() == "(40 · 30)/(80 · 60)"


class TestShaftNames:
    def test_one_stud_needs_no_number(self):
        assert shaft_names(Train((40, 30), (80, 60)).shafts) == ("spindle side", "stud", "leadscrew")

    def test_there_is_a_name_for_every_shaft(self):
        train = Train((20,) * 6, (40,) * 6, ((30,),) * 6)
        names = shaft_names(train.shafts, last="gearbox")
        assert len(names) == len(set(names)) == 1 + sum(len(mesh) - 1 for mesh in train.chain())
        assert (names[1], names[6], names[7], names[-1]) == ("first stud", "sixth stud", "stud 7", "gearbox")

    def test_beyond_the_sixth_stud_the_fit_names_them_too(self):
        assert [part_name(axis, 9) for axis in (6, 7)] == ["sixth stud", "stud 7"]
        assert part_name(Gear(5, 7, 40, "driver"), 9) == "40 on the stud 7"


class TestAlongTheChain:
    def test_each_gear_with_its_axis_and_role(self):
        train = Train((40, 30), (80, 60), ((50, 55), ()))
        assert gears_of(train.chain()) == [
            (0, 0, 40, "driver"),
            (0, 1, 50, "idler"),
            (0, 2, 55, "idler"),
            (0, 3, 80, "driven"),
            (1, 3, 30, "driver"),
            (1, 4, 60, "driven"),
        ]
        assert [gear.idler for gear in gears_of(train.chain())] == [False, True, True, False, False, False]

    @given(up_to_four)
    def test_the_steepest_mesh_is_the_largest_of_the_ratios(self, train):
        ratios = [max(a, b) / Fraction(min(a, b)) for a, b in zip(train.drivers, train.driven, strict=True)]
        assert train.steepest == max(ratios)
        assert steepest_mesh(train.drivers, train.driven) == float(max(ratios))


def by_place(train: Train) -> dict[tuple[int, str, int], int]:
    """Each place of a train with the gear on it."""
    places = {}
    for mesh, (driver, idlers, driven) in enumerate(zip(train.drivers, train.idlers, train.driven, strict=True)):
        places |= {(mesh, "driver", 0): driver, (mesh, "driven", 0): driven}
        places |= {(mesh, "idler", n): idler for n, idler in enumerate(idlers)}
    return places


def differ(one: Train, other: Train, last_stays: bool) -> int:
    """How many places hold different gears, or one in one train alone; the last driven gear apart where it stays."""
    sides = [by_place(each) for each in (one, other)]
    if last_stays:
        for side, train in zip(sides, (one, other), strict=True):
            del side[train.meshes - 1, "driven", 0]
    return sum(sides[0].get(place) != sides[1].get(place) for place in sides[0].keys() | sides[1].keys())


class TestMoved:
    """Against places counted one by one, and against every order there is."""

    @given(up_to_four, up_to_four)
    @examples(100)
    def test_places_that_differ(self, one, other):
        for last_stays in (False, True):
            assert places_that_differ(one, other, last_stays) == differ(one, other, last_stays)
        assert places_that_differ(one, other) == differ(one, other, False)

    @given(st.lists(few, max_size=4), st.lists(few, max_size=4))
    @examples(100)
    def test_the_fewest_that_must_change_in_any_order(self, gears, places):
        longest = max(len(gears), len(places))
        by_force = min(
            longest - sum(mine == theirs for mine, theirs in zip(order, places, strict=False))
            for order in permutations(gears)
        )
        assert fewest_moved(tuple(gears), tuple(places)) == by_force

    @given(up_to_three, st.none() | up_to_three, st.booleans(), st.booleans())
    @examples(150)
    def test_the_order_that_is_best_at_the_machine(self, train, mounted, strained, last_stays):
        """None too steep, fewest moved, mildest, smallest gears first; in that order."""
        drivers, driven = tuple(sorted(train.drivers)), tuple(sorted(train.driven))
        orders = [(over, under) for over in set(permutations(drivers)) for under in set(permutations(driven))]

        def handy(order, strained, last_stays):
            ordered = Train(*order)
            bare = mounted and Train(mounted.drivers, mounted.driven)
            moved = differ(ordered, bare, last_stays) if bare else 0
            return ordered.steepest > 4 and not strained, moved, ordered.steepest, *order

        best = min(orders, key=lambda order: handy(order, strained, last_stays))
        assert in_order(drivers, driven, mounted, strained, orders, last_stays) == Train(*best)
        if mounted is None:
            assert in_order(drivers, driven, None) == Train(drivers, driven)
        best = min(orders, key=lambda order: handy(order, False, False))
        assert in_order(drivers, driven, mounted, orders=orders) == Train(*best)


class TestWithIdler:
    """Where it goes and which it is, by hand: 20/40 has its mean at 30, 60/80 at 70."""

    TRAIN = Train((20, 60), (40, 80))

    @in_one(
        ("spare", "mounted", "expected"),
        [
            ((25, 30, 70), None, ((30,),)),
            ((28, 32), None, ((28,),)),  # as near: the smaller
            ((25, 50, 70), "(20 · 60)/(40 · 80), idler 50 in the first mesh", ((50,),)),
            ((25, 50, 70), "(20 · 60)/(40 · 80), idler 50 in the second mesh", ((), (50,))),
            ((25, 70), "(20 · 60)/(40 · 80), idler 50 in the second mesh", ((), (70,))),
            ((25, 50, 70), Train((20, 60), (40, 80), ((50, 25),)), ((50,),)),
            ((25, 70), Train((20, 60), (40, 80), ((50, 70),)), ((25,),)),
            ((25, 70), Train((20,), (40,), ()), ((25,),)),
            ((25, 50), Train((20, 60, 20), (40, 80, 20), ((), (), (50,))), ((25,),)),  # no third mesh here
        ],
    )
    def test_of_any_that_are_left(self, spare, mounted, expected):
        stands = Train.parse(mounted) if isinstance(mounted, str) else mounted
        assert with_idler(self.TRAIN, spare, stands).idlers[: len(expected)] == expected

    def test_where_not_all_can_be_everywhere(self):
        stands = Train((20, 60), (40, 80), ((50,),))
        assert with_idler(self.TRAIN, (25, 50, 65), stands, [(), (50, 65)]).idlers == ((), (65,))
        assert with_idler(self.TRAIN, (25, 50, 65), stands, [(25,), (50, 65)]).idlers[0] == (25,)
        assert with_idler(self.TRAIN, (25, 50, 65), stands, [(50, 65), ()]).idlers[0] == (50,)
