"""Gears that their tooth count alone doesn't tell, and how they may stand: against pieces of metal, place by place."""

from __future__ import annotations

import copy
import json
import pickle
from collections import Counter
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NoSetupError, ValueOutOfRangeError
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.pieces import Piece, gear_in_words, in_one_piece, kind_of, mate_of, piece
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import Train
from tests.how_much import examples, in_one

counts = st.sampled_from([20, 30, 40, 50])
kinds = st.sampled_from(["", "module 1", "DP 24", "14.5°", "bore 14", "module 0.75, 14.5°, any bore"])
loose = st.builds(piece, counts, kinds)
gears = loose | st.builds(piece, counts, kinds, loose)


class TestPiece:
    """One order, in which a gear is equal to the same gear of the same kind alone."""

    @given(gears, gears)
    def test_equal_where_all_is_equal_and_else_before_or_after(self, one, other):
        same = (int(one), kind_of(one), mate_of(one)) == (int(other), kind_of(other), mate_of(other))
        assert (one == other, one != other) == (same, not same)
        assert [one < other, same, one > other].count(True) == 1
        assert (one <= other, one >= other) == (one < other or same, one > other or same)
        if int(one) != int(other):
            assert (one < other) == (int(one) < int(other))
        assert len({one, other}) == 2 - same
        assert Counter([one, other])[other] == 1 + same

    @given(st.lists(gears, max_size=6), st.randoms())
    def test_sorts_into_one_row(self, row, draw):
        mixed = list(row)
        draw.shuffle(mixed)
        assert sorted(mixed) == sorted(row)

    @given(gears)
    def test_stays_what_it_is_when_copied_and_pickled_and_reckons_as_its_count(self, gear):
        for again in (copy.copy(gear), copy.deepcopy([gear])[0], pickle.loads(pickle.dumps(gear))):
            assert again == gear
            assert type(again) is type(gear)
        assert type(gear + 1) is int
        assert (str(gear), gear * 2) == (str(int(gear)), 2 * int(gear))

    def test_a_plain_gear_is_no_piece(self):
        assert type(piece(40)) is int
        assert type(piece(piece(40, "module 1"))) is int

    def test_is_named_by_itself(self):
        assert gear_in_words(piece(50, "bore 14", piece(40, "module 1"))) == (
            "50 (bore 14, in one piece with 40 of module 1)"
        )


@st.composite
def trains(draw):
    """Trains whose clusters stand on studs, or as idlers, as trains have them."""
    meshes = draw(st.integers(1, 4))
    drivers, driven = ([draw(loose) for _ in range(meshes)] for _ in range(2))
    for n in range(meshes - 1):
        if draw(st.booleans()):
            one, other = driven[n], drivers[n + 1]
            driven[n], drivers[n + 1] = piece(one, kind_of(one), other), piece(other, kind_of(other), one)
    return Train(drivers, driven, [[draw(gears) for _ in range(draw(st.integers(0, 2)))] for _ in range(meshes)])


class TestTrainOfPieces:
    def test_its_counts_compare_with_counts_and_keep_their_places(self):
        small, half = piece(50, "module 1"), piece(45, mate=60)
        train = Train((30, small), (40, small), ((half,), (20, piece(20, "module 1"))))
        assert (train.drivers == (30, 50), train.counts.drivers == (30, 50)) == (False, True)
        assert train.counts == Train((30, 50), (40, 50), ((45,), (20, 20)))
        assert (train.counts.ratio, train.counts.apart) == (train.ratio, ())

    @given(trains())
    def test_is_read_as_it_is_written(self, train):
        assert Train.parse(str(train)) == train

    @given(trains(), st.booleans())
    def test_is_read_as_json_has_it(self, train, ascii_alone):
        said = {"train": str(train), "drivers": train.drivers, "driven": train.driven, "idlers": train.idlers}
        assert Train.parse(json.dumps(said, indent=2, ensure_ascii=ascii_alone)) == train

    @in_one("size", ["module 1.123456", "DP 24.123456", "14.123456°", "bore 12.123456"])
    def test_a_size_is_read_to_six_decimals(self, size):
        assert Train.parse(f"40/80, first mesh of {size}").drivers == (piece(40, size),)

    def test_is_written_in_words(self):
        pair = piece(50, mate=45), piece(45, mate=50)
        train = Train((40, pair[1]), (pair[0], piece(80, "bore 14")), ((), (piece(30, "DP 24", 25),)))
        assert str(train) == (
            "(40 · 45)/(50 · 80), idler 30 in the second mesh, idler in the second mesh of DP 24, "
            "second driven of bore 14, first driven and second driver in one piece, "
            "idler in the second mesh in one piece with 25"
        )

    @pytest.mark.parametrize(
        "place",
        [
            "first driven and third driver",
            "second driven and first driver",
            "second driven and second driver",
            "third driven and fourth driver",
        ],
    )
    def test_one_piece_stands_on_one_stud(self, place):
        with pytest.raises(ValueOutOfRangeError, match=f"no such place: '{place} in one piece'"):
            Train.parse(f"40x30x20/80x60x50, {place} in one piece")

    @pytest.mark.parametrize(
        "place",
        [
            "third mesh of module 1",
            "idler in the first mesh of module 1",
            "second driven and third driver in one piece",
            "first driver in one piece with 30",
            "first mesh in one piece with 30",
        ],
    )
    def test_a_place_that_is_not_there_is_refused(self, place):
        with pytest.raises(ValueOutOfRangeError, match="no such place"):
            Train.parse(f"40x30/80x60, {place}")


ODD = GearSet(
    [20, 30, 40, 40],
    module_mm=1.25,
    bore_mm=12,
    clusters=[(30, 40), (20, 20)],
    more=[GearTable([20, 40], module_mm=1, bore_mm=12), GearTable([30, 50], module_mm=1.25, bore_mm=14)],
    first_bore_mm=12,
)


def by_hand(gear_set: GearSet, over: tuple[int, ...], under: tuple[int, ...]) -> bool:
    """The rules in words of the shop, one after the other."""
    ends_loose = mate_of(over[0]) is None and mate_of(under[-1]) is None
    bores = {"": 12, "module 1": 12, "bore 14": 14}
    modules = {"": 1.25, "module 1": 1, "bore 14": 1.25}
    one_module = all(modules[kind_of(a)] == modules[kind_of(b)] for a, b in zip(over, under, strict=True))
    studs = zip(under, over[1:], strict=False)
    on_studs = all(
        in_one_piece(a, b) or (mate_of(a) is mate_of(b) is None and bores[kind_of(a)] == bores[kind_of(b)])
        for a, b in studs
    )
    fixed = gear_set.fixed.first_driver in (None, over[0]) and gear_set.fixed.last_driven in (None, under[-1])
    return ends_loose and one_module and on_studs and bores[kind_of(over[0])] == 12 and fixed


class TestStanding:
    """Every order that the shop's rules allow, and no other."""

    @given(st.data())
    @examples(200)
    @pytest.mark.parametrize("fixed", [Fixed(), Fixed(first_driver=40), Fixed(last_driven=20), Fixed(30, 20)])
    def test_orders(self, fixed, data):
        gear_set = GearSet(
            ODD.teeth, 1.25, bore_mm=12, clusters=ODD.clusters, more=ODD.more, fixed=fixed, first_bore_mm=12
        )
        meshes = data.draw(st.integers(1, 3))
        chosen = data.draw(st.permutations(gear_set.pieces))[: 2 * meshes]
        over, under = tuple(sorted(chosen[:meshes])), tuple(sorted(chosen[meshes:]))
        allowed = [
            (above, below)
            for above in sorted(set(permutations(over)))
            for below in sorted(set(permutations(under)))
            if by_hand(gear_set, above, below)
        ]
        assert sorted(gear_set.orders(over, under)) == allowed
        for above in set(permutations(over)):
            for below in set(permutations(under)):
                assert gear_set.standing.allow(Train(above, below)) == by_hand(gear_set, above, below)

    def test_every_order_of_plain_gears(self):
        orders = GearSet([20, 30, 40, 40]).orders((20, 40), (30, 40))
        assert orders == [((a, b), (c, d)) for a, b in ((20, 40), (40, 20)) for c, d in ((30, 40), (40, 30))]


class TestClusters:
    """A cluster is one piece of metal, whatever it does."""

    PAIR = piece(30, mate=40), piece(40, mate=30)

    def test_both_its_gears_are_gone_wherever_one_stands(self):
        train = Train((20, self.PAIR[1]), (self.PAIR[0], 40))
        assert not set(self.PAIR) & set(ODD.left_over(train))
        assert not set(self.PAIR) & set(ODD.left_over(Train((20,), (40,), [[self.PAIR[0]]])))
        assert set(self.PAIR) <= set(ODD.left_over(Train((20,), (40,))))

    def test_it_is_in_one_place(self):
        on_a_stud = Train((20, self.PAIR[1]), (self.PAIR[0], 40))
        assert ODD.holds(on_a_stud)
        twice = Train((20, self.PAIR[1]), (self.PAIR[0], 40), [[self.PAIR[1]]])
        assert not ODD.holds(twice)
        assert ODD.missing(twice) == self.PAIR

    def test_one_of_two_equal_gears(self):
        twins = piece(20, mate=20)
        assert ODD.left_over(Train((30, twins), (twins, 40))).count(twins) == 0
        assert ODD.missing(Train((30, twins), (twins, 40), [[twins]])) == (twins, twins)

    def test_gears_without_their_places_are_as_few_clusters_as_can_be(self):
        twins = piece(20, mate=20)
        assert ODD.missing([twins]) == ODD.missing([twins, twins]) == ODD.missing(self.PAIR) == ()
        assert ODD.missing([twins] * 3) == ODD.missing([twins] * 4) == (twins, twins)
        assert ODD.missing([self.PAIR[0]] * 2) == ODD.missing([*self.PAIR, self.PAIR[1]]) == self.PAIR

    def test_a_loose_gear_is_the_idler_where_there_is_one(self):
        spare = ODD.left_over(Train((20,), (40,)))
        twins, wide = [piece(20, mate=20)] * 2, [piece(30, "bore 14"), piece(50, "bore 14")]
        assert ODD.idlers_for(20, spare) == (*twins, 30, wide[0], 40, wide[1])
        assert ODD.idlers_for(piece(20, "module 1"), spare) == (piece(20, "module 1"), piece(40, "module 1"))
        without = ODD.without({piece(30, "bore 14")})
        assert self.PAIR[0] in without.idlers_for(20, without.left_over(Train((20, 30), (40, 40))))

    def test_avoided_gears(self):
        assert ODD.without({20}).pieces.count(20) == 0
        assert piece(20, "module 1") in ODD.without({20}).pieces
        assert not set(self.PAIR) & set(ODD.without({self.PAIR[0]}).pieces)
        assert 50 not in map(int, ODD.without({50}).pieces)

    @pytest.mark.parametrize(
        ("gears", "avoid", "said"),
        [
            (GearSet([20, 30, 40], fixed=Fixed(first_driver=20)), {20}, "20 is fixed, so no train goes without it."),
            (GearSet([20, 20, 30], fixed=Fixed(last_driven=20)), {20, 30}, "20 is fixed, so no train goes without it."),
            (GearSet([20, 30], fixed=Fixed(20, 30)), {20, 30}, "20 and 30 are fixed, so no train goes without them."),
        ],
    )
    def test_without_a_fixed_gear_there_is_no_set(self, gears, avoid, said):
        with pytest.raises(NoSetupError) as caught:
            gears.without(avoid)
        assert str(caught.value) == said


class TestRefused:
    @in_one(
        ("words", "given"),
        [
            ("40 is damaged more often", {"teeth": [40], "damaged": [40, 40]}),
            ("30 is damaged and not among", {"teeth": [40], "damaged": [30]}),
            ("30 is fixed, and not among the teeth", {"teeth": [40], "fixed": Fixed(first_driver=30)}),
            ("40 is fixed at both ends, and there is only one", {"teeth": [40], "fixed": Fixed(40, 40)}),
            ("40 is fixed, and the only one there is is damaged", {"teeth": [40], "damaged": [40], "fixed": Fixed(40)}),
            ("two gears in one piece", {"teeth": [40], "clusters": [(40, 50, 60)]}),
            ("no size", {"teeth": [40], "more": [GearTable([30])]}),
            ("of this size already", {"teeth": [40], "module_mm": 1, "more": [GearTable([30], diametral_pitch=25.4)]}),
            (
                "entry 2: there are gears of this size already",
                {"teeth": [40], "more": [GearTable([30], module_mm=1), GearTable([50], diametral_pitch=25.4)]},
            ),
            ("bore_mm: must be more than 0", {"teeth": [40], "bore_mm": 0}),
        ],
    )
    def test_what_no_lathe_has(self, words, given):
        with pytest.raises(ValueOutOfRangeError, match=words):
            GearSet(**given)


class TestPieceType:
    def test_pieces_are_whole_numbers(self):
        assert isinstance(piece(40, "module 1"), Piece)
        assert isinstance(piece(40, "module 1"), int)
