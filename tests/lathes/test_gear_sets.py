"""Which gears may stand together: against pieces of metal, each handed out to one place at most."""

from __future__ import annotations

import ast
import re
from collections import Counter
from itertools import combinations, permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc
from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError, ValueOutOfRangeError
from gearcalc.lathes.frames import is_way
from gearcalc.lathes.gear_sets import GearSet, as_gear_set, together
from gearcalc.lathes.gear_words import first_size, gear_rows, gears_to_fetch
from gearcalc.lathes.pieces import piece, some_set_apart
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import shorter_trains
from tests.how_much import examples, in_one

boxes = st.lists(st.sampled_from([20, 30, 40, 50, 60]), max_size=6)
few = st.lists(st.sampled_from([20, 30, 40, 50, 60]), max_size=5).map(tuple)


def handed_out(box: list[int], places: int) -> set[tuple[int, ...]]:
    """Every way to fill so many places, in order, each with a piece of its own from the box."""
    return {tuple(box[piece] for piece in pieces) for pieces in permutations(range(len(box)), places)}


class TestPiecesOfMetal:
    """The rule knows tooth counts; the box knows pieces, each of which is in one place at a time."""

    @given(boxes, few)
    def test_gears_stand_together_where_each_place_gets_a_piece(self, box, gears):
        assert GearSet(box).holds(gears) == (gears in handed_out(box, len(gears)))

    @given(boxes, few)
    def test_what_is_missing_is_the_least_that_has_to_be_had(self, box, gears):
        missing = GearSet(box).missing(gears)
        assert list(missing) == sorted(missing)
        assert GearSet(box).with_gears(add=missing).holds(gears)
        for place in range(len(missing)):
            assert not GearSet(box).with_gears(add=(*missing[:place], *missing[place + 1 :])).holds(gears)

    @given(boxes, few)
    def test_what_is_left_over_is_what_nobody_took(self, box, gears):
        pieces = list(box)
        for teeth in gears:
            if teeth in pieces:
                pieces.remove(teeth)
        assert GearSet(box).left_over(gears) == tuple(sorted(pieces))

    @given(boxes, st.integers(1, 3))
    @examples(60)
    def test_two_sides_stand_together_where_all_their_places_get_a_piece(self, box, meshes):
        sides = GearSet(box).sides(meshes)
        assert sorted(side.gears for side in sides) == sorted(set(combinations(sorted(box), meshes)))
        trains = list(together(sides, sides))
        by_hand = {(tuple(sorted(each[:meshes])), tuple(sorted(each[meshes:]))) for each in handed_out(box, 2 * meshes)}
        assert len(trains) == len(by_hand)
        assert set(trains) == by_hand

    @given(boxes, st.sets(st.sampled_from([20, 30, 40])))
    def test_without_some_counts_all_others_are_there(self, box, counts):
        assert GearSet(box).without(counts).teeth == tuple(sorted(teeth for teeth in box if teeth not in counts))

    @given(boxes)
    def test_some_are_owned_twice(self, box):
        assert GearSet(box).some_twice == (len(set(box)) < len(box))
        assert all(GearSet(box).count(teeth) == box.count(teeth) for teeth in (20, 30, 40, 50, 60, 70))


class TestSides:
    def test_the_gears_of_a_side_stand_ascending_whatever_their_size(self):
        small, wide = piece(30, "module 1"), piece(40, "bore 14")
        more = [GearTable([30], module_mm=1), GearTable([40], module_mm=1.25, bore_mm=14)]
        box = GearSet([20, 50], module_mm=1.25, bore_mm=12, more=more)
        named = {piece(30, "module 1, any bore"): small, wide: wide}
        for kinds, gears in (
            (["module 1, any bore"], [(20, small), (small, 50)]),
            (["bore 14"], [(20, wide), (wide, 50)]),
            (["module 1, any bore", "bore 14"], [(20, small, wide), (small, wide, 50)]),
        ):
            found = [
                tuple(named.get(gear, gear) for gear in side.gears) for side in box.sides(1, dict.fromkeys(kinds, 1))
            ]
            assert found == gears
        assert [side.gears for side in box.sides(1, settled=(30,))] == [(20, 30), (30, 50)]


class TestEqualGears:
    @given(st.lists(st.sampled_from([20, 30, 40]), min_size=1, max_size=4), st.randoms())
    def test_taking_pairs_out_leaves_the_ratio_and_each_shorter_train_once(self, drivers, draw):
        driven = [draw.choice([20, 30, 40]) for _ in drivers]
        by_hand = set()
        for left in range(1, len(drivers)):
            for over in combinations(sorted(drivers), left):
                for under in combinations(sorted(driven), left):
                    if Counter(drivers) - Counter(over) == Counter(driven) - Counter(under):
                        by_hand.add((over, under))
        found = list(shorter_trains(tuple(sorted(drivers)), tuple(sorted(driven))))
        assert len(found) == len(set(found))
        assert set(found) == by_hand


class TestSizesInWords:
    """A size to six decimals, and of it only what sets it apart."""

    ODD = GearTable([30], module_mm=1.12345649, pressure_angle_deg=14.12345649, bore_mm=12.12345649)

    @in_one(
        ("first", "said", "others"),
        [
            (
                {"module_mm": 1.12345649, "pressure_angle_deg": 14.12345649, "bore_mm": 12.12345649},
                "module 1.123456, 14.123456°, bore 12.123456",
                ["module 1, 20°, any bore"],
            ),
            ({"diametral_pitch": 24.12345649}, "DP 24.123456", ["module 1"]),
            ({"pressure_angle_deg": 14.5}, "the first size, 14.5°", ["module 1, 20°"]),
            ({"bore_mm": 12}, "the first size, bore 12", ["module 1, any bore"]),
            ({"module_mm": 1, "bore_mm": 12}, "module 1, bore 12", ["any bore"]),
        ],
    )
    def test_of_the_first_table_and_of_the_other(self, first, said, others):
        box = GearSet([40], **first, more=[GearTable([30], module_mm=1)])
        assert first_size(box) == said
        assert sorted(set(box.standing.sizes) - {""}) == others

    def test_of_another_table(self):
        box = GearSet([40], module_mm=1.25, more=[self.ODD, GearTable([30], diametral_pitch=24.12345649)])
        assert first_size(box) == "module 1.25, 20°, any bore"
        kinds = {"", "module 1.123456, 14.123456°, bore 12.123456", "DP 24.123456"}
        assert set(box.standing.sizes) == kinds

    def test_all_of_one_size_need_no_word(self):
        assert first_size(GearSet([40], module_mm=1.25, clusters=[(30, 50)])) == ""


class TestGearsInWords:
    def test_each_size_has_its_row(self):
        more = [GearTable([30, 60], module_mm=1), GearTable([33], diametral_pitch=24)]
        rows = dict(gear_rows(GearSet([20, 40], module_mm=1.25, more=more)))
        assert rows == {"Gears": "20 40", "Gears of module 1": "30 60", "Gears of DP 24": "33"}

    @in_one(
        ("gears", "fetched"),
        [
            ([60, 40, 40], ["40", "40", "60"]),
            ([piece(40, mate=50), piece(50, mate=40), 60], ["40 and 50 in one piece", "60"]),
            ([piece(40, mate=50), 60], ["40 (in one piece with 50)", "60"]),
            ([piece(20, mate=20)] * 2, ["20 and 20 in one piece"]),  # one cluster of two equal gears
            ([piece(20, mate=20)] * 4, ["20 and 20 in one piece"] * 2),
            ([piece(20, mate=20), 20, 20], ["20", "20", "20 (in one piece with 20)"]),
        ],
    )
    def test_what_is_in_one_piece_is_fetched_once(self, gears, fetched):
        assert gears_to_fetch(gears) == fetched


class TestWays:
    """What a plate's row of counts means on a set with 20 and 30 of two sizes: those of the first."""

    BOTH = GearSet([20, 30], module_mm=1.25, more=[GearTable([20, 30], module_mm=1)])

    @in_one(
        ("sides", "drivers", "driven", "meant"),
        [
            (((20,), (30,)), (20,), (30,), True),
            (((20,), (30,)), (30,), (20,), False),
            (((20,), (30,)), (20,), (20,), False),
            (((20,), (30,)), (30,), (30,), False),
            (((piece(20, "module 1"),), (piece(30, "module 1"),)), (20,), (30,), False),
        ],
    )
    def test_the_likeliest_alone_is_meant(self, sides, drivers, driven, meant):
        assert is_way(self.BOTH, sides, drivers, driven) is meant
        if not some_set_apart(sides[0]):
            assert is_way(GearSet([20, 30]), sides, drivers, driven) is meant


class TestRefusals:
    def test_each_count_that_is_short_has_its_own_words(self):
        said = [refusal.problem for refusal in GearSet([40, 40, 60]).refusals((40, 40, 40, 50, 60, 60, 50))]
        assert said == [
            "the set has 2 gears of 40 teeth, and this takes 3",
            "the set has no gear of 50 teeth",
            "the set has 1 gear of 60 teeth, and this takes 2",
        ]

    def test_the_nearest_are_named(self):
        with pytest.raises(GearNotOwnedError, match=r"The nearest it has: 30, 40, 60"):
            GearSet([20, 30, 40, 60, 80]).check(45)
        with pytest.raises(GearNotOwnedError, match="none at all"):
            GearSet([]).check((45,))

    def test_what_is_taken_away_must_be_there(self):
        with pytest.raises(GearNotOwnedError, match="no more loose gears of 40"):
            GearSet([40, 60]).with_gears(remove=(40, 40))

    def test_what_never_was_there_is_said_so(self):
        with pytest.raises(GearNotOwnedError, match=r"the set has no gear of 30 teeth. The nearest it has: 40, 60"):
            GearSet([40, 60]).with_gears(remove=30)

    def test_others_instead_of_one_size_leave_the_other_sizes_alone(self):
        small, fine = GearTable([20, 30, 60], module_mm=1, damaged=[60]), GearTable([33], diametral_pitch=24)
        box = GearSet([40, 50], module_mm=1.25, damaged=[50], more=[small, fine])
        for kind, teeth, others in (
            ("", (70, 75), [(20, 30), (33,)]),
            ("module 1", (40,), [(70, 75), (33,)]),
            ("DP 24", (40,), [(70, 75), (20, 30)]),
            ("module 2", (40,), [(20, 30), (33,)]),
        ):
            made = box.instead([75, 70], kind)
            assert made.usable == teeth
            assert [table.usable for table in made.more] == others
            assert made.out_of_use == box.out_of_use

    def test_of_any_size_may_be_taken_away(self):
        """A count goes from the first size that has it, a gear as the lathe lists it from its own; clusters stay."""
        small = GearTable([32, 40, 40, 75], module_mm=1, damaged=[75])
        box = GearSet([40, 60], module_mm=1.25, more=[small], clusters=[(50, 30)])
        assert box.with_gears(remove=32).more[0].teeth == (40, 40, 75)
        once, twice = box.with_gears(remove=40), box.with_gears(remove=(40, 40))
        assert (once.teeth, once.more[0].teeth) == ((60,), (32, 40, 40, 75))
        assert (twice.teeth, twice.more[0].teeth) == ((60,), (32, 40, 75))
        own = box.with_gears(remove=piece(40, "module 1"))
        assert (own.teeth, own.more[0].teeth) == ((40, 60), (32, 40, 75))
        assert box.with_gears(remove=75).more[0].damaged == ()
        assert box.with_gears(remove=box.loose).pieces == (piece(30, mate=50), piece(50, mate=30))
        for wrong in (50, (40, 40, 40, 40), piece(60, "module 1"), piece(50, mate=30), piece(60, "module 3")):
            with pytest.raises(GearNotOwnedError, match="no more loose gears of"):
                box.with_gears(remove=wrong)

    def test_the_damaged_one_of_a_count_goes_first(self):
        box = GearSet([36, 36, 40], damaged=[36], more=[GearTable([50, 50], module_mm=1, damaged=[50])])
        once, twice = box.with_gears(remove=(36, 50)), box.with_gears(remove=(36, 36))
        assert (once.teeth, once.damaged, once.more[0].usable) == ((36, 40), (), (50,))
        assert twice.teeth == (40,)
        assert GearSet([36], damaged=[36]).with_gears(add=36, remove=36).usable == (36,)  # a new one for it
        assert GearSet([36], damaged=[36]).with_gears(add=36).usable == (36,)

    def test_what_is_damaged_stays_so_while_others_are_left_out(self):
        box = GearSet([30, 40, 40], damaged=[40], more=[GearTable([50, 50, 60], module_mm=1, damaged=[50])])
        less = box.without({30, 60})
        assert (less.usable, less.damaged, less.more[0].usable) == ((40,), (40,), (50,))
        assert box.without({40}).damaged == ()

    def test_a_fixed_gear_and_half_a_cluster_are_not_taken_away(self):
        box = GearSet([36, 56], fixed=Fixed(last_driven=56), clusters=[(44, 57)])
        with pytest.raises(ValueOutOfRangeError, match=r"56 is fixed.*can't be taken away"):
            box.with_gears(remove=56)
        assert box.with_gears(add=56, remove=56) == box
        with pytest.raises(GearNotOwnedError, match="It has 44 \\(in one piece with 57\\)"):
            box.with_gears(remove=44)
        with pytest.raises(GearNotOwnedError, match="It has 57 \\(in one piece with 44\\)"):
            box.with_gears(remove=57)

    def test_what_is_no_gear_is_refused(self):
        with pytest.raises(ValueOutOfRangeError):
            as_gear_set([40, 5])
        with pytest.raises(ValueOutOfRangeError):
            GearSet([40]).check((40, "x"))

    def test_half_a_million_choices_and_no_more(self):
        assert len(GearSet(range(20, 220)).sides(2)) == 200 * 199 // 2
        with pytest.raises(NotPossibleError, match="too many ways"):
            GearSet(range(20, 220)).sides(4)


PACKAGE = Path(gearcalc.__file__).parent
OWNED = re.compile(r"(lathe|query|question|bench)\.gears$|\.teeth$|(^|\.)(owned|box)$", re.I)


def counts_owned_gears(source: str) -> list[str]:
    """The places where something counts the gears of a set: Counter(lathe.gears), lathe.gears.count(40) ..."""
    found = []
    taken_from = set(re.findall(r"(\w+)\.(?:remove|pop)\(", source))
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Assign) and taken_from.intersection(map(ast.unparse, node.targets)):
            copied = re.fullmatch(r"(?:list|sorted)\((.*)\)|\[\*(.*)\]", ast.unparse(node.value))
            if copied and OWNED.search(copied[1] or copied[2]):
                found.append(ast.unparse(node))
        if isinstance(node, ast.Call):
            asked = ast.unparse(node.func)
            of = node.args[0] if asked == "Counter" and node.args else None
            if isinstance(node.func, ast.Attribute) and node.func.attr == "count":
                of = node.func.value
            words = "" if of is None else ast.unparse(of)
            if OWNED.search(words):
                found.append(ast.unparse(node))
    return found


class TestOnePlace:
    """How often a gear is owned is asked of the gear set; nobody else counts."""

    @in_one(
        "counting",
        [
            "Counter(lathe.gears)",
            "Counter(self.owned)",
            "lathe.gears.count(40)",
            "Counter(box) - used",
            "list(lathe.gears); left.remove(40)",
            "[*lathe.gears]; left.remove(40)",
            "sorted(self.owned); left.pop(0)",
        ],
    )
    def test_counting_is_noticed(self, counting):
        assert counts_owned_gears(f"left = {counting}")

    def test_nobody_else_counts(self):
        elsewhere = {
            str(path.relative_to(PACKAGE)): counted
            for path in sorted(PACKAGE.rglob("*.py"))
            if path.name not in ("gear_sets.py", "sizes.py")
            and (counted := counts_owned_gears(path.read_text(encoding="utf-8")))
        }
        assert elsewhere == {}
