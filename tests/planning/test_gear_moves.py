"""Which gears come off and which go on: small cases followed by hand, and what must hold for any two trains."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations, pairwise, product, takewhile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.fits import fit
from gearcalc.lathes import demo_lathe
from gearcalc.lathes.pieces import piece
from gearcalc.lathes.sizes import Fixed
from gearcalc.lathes.trains import Train
from gearcalc.planning.gear_moves import (
    Arranged,
    as_it_stands,
    in_fixed_planes,
    moves_between,
    pieces,
    turns_until_round,
)
from tests.how_much import in_one
from tests.strategies import arrangements

COMPOUND = Train((40, 30), (80, 60))


def teeth(places):
    return [place.teeth for place in places]


def arranged(train, planes):
    return Arranged(train, planes)


class TestArranged:
    def test_places_in_chain_order(self):
        places = arranged(Train((40, 30), (80, 60), ((50,), ())), (0, 1)).places
        assert [(p.teeth, p.role, p.shaft, p.plane, p.mesh) for p in places] == [
            (40, "driver", 0, 0, 0),
            (50, "idler", 1, 0, 0),
            (80, "driven", 2, 0, 0),
            (30, "driver", 2, 1, 1),
            (60, "driven", 3, 1, 1),
        ]

    def test_names(self):
        two_studs = arranged(Train((40, 30), (80, 60), ((50,), ())), (0, 1))
        names = [two_studs.shaft_name(shaft) for shaft in range(two_studs.shafts)]
        assert names == ["spindle side", "first stud", "second stud", "leadscrew"]
        assert arranged(Train((40,), (80,), (25,)), (0,)).shaft_name(1) == "stud"

    def test_of_one_mesh_none_is_first(self):
        one, two = arranged(Train((40,), (80,), (25,)), (0,)), arranged(COMPOUND, (0, 1))
        assert [one.role_name(place) for place in one.places] == ["driver", "idler", "driven"]
        assert [two.role_name(place) for place in two.places][::3] == ["first driver", "second driven"]

    def test_a_plane_for_each_mesh(self):
        with pytest.raises(ValueOutOfRangeError, match="2 planes"):
            Arranged(COMPOUND, (0,))


class TestPlanesInWords:
    THREE = Arranged(Train((40, 30, 20), (80, 60, 50), ((), (25,), ())), (0, 1, 2))

    @in_one(
        ("fixed", "words"),
        [
            (Fixed(), ["plane 1, next to the headstock", "plane 2", "plane 3, in front"]),
            (
                Fixed(first_driver=40),
                [
                    "the plane of the fixed 40",
                    "the plane in front of the fixed 40",
                    "the second plane in front of the fixed 40",
                ],
            ),
            (
                Fixed(last_driven=50),
                ["the second plane behind the fixed 50", "the plane behind the fixed 50", "the plane of the fixed 50"],
            ),
            (Fixed(first_driver=40, last_driven=50), ["the plane of the fixed 40"]),
        ],
    )
    def test_counted_from_what_is_fixed_or_from_the_headstock(self, fixed, words):
        assert [self.THREE.plane_name(plane, fixed) for plane in range(len(words))] == words

    def test_of_four_planes_the_second_behind(self):
        four = Arranged(Train((40, 30, 20, 24), (80, 60, 50, 45)), (0, 1, 2, 3))
        assert four.plane_name(1, Fixed(last_driven=45)) == "the second plane behind the fixed 45"
        assert four.plane_name(3, Fixed(first_driver=40)) == "the third plane in front of the fixed 40"

    @in_one("planes", [(0, 1, 2, 3), (3, 1, 2, 0), (1, 0, 3, 2), (2, 3, 0, 1)])
    @in_one("first", [True, False])
    def test_each_is_told_from_the_others_by_how_far_and_on_which_side(self, planes, first):
        four = Arranged(Train((40, 30, 20, 24), (80, 60, 50, 45)), planes)
        at, fixed = (planes[0], Fixed(first_driver=40)) if first else (planes[3], Fixed(last_driven=45))
        gear = f"the fixed {40 if first else 45}"
        behind, before = (
            [f"the {away}plane {side} {gear}" for away in ("", "second ", "third ")]
            for side in ("behind", "in front of")
        )
        said = [*reversed(behind[:at]), f"the plane of {gear}", *before[: 3 - at]]
        assert [four.plane_name(plane, fixed) for plane in range(4)] == said

    def test_a_plane_alone(self):
        assert Arranged(Train((40,), (80,)), (0,)).plane_name(0, Fixed()) == "plane 1, in front"

    def test_what_each_gear_does(self):
        said = [self.THREE.role_name(place) for place in self.THREE.places]
        assert said == [
            "first driver",
            "first driven",
            "second driver",
            "idler in the second mesh",
            "second driven",
            "third driver",
            "third driven",
        ]
        alone = Arranged(Train((40,), (80,), ((25,),)), (0,))
        assert [alone.role_name(place) for place in alone.places] == ["driver", "idler", "driven"]

    @in_one("planes", [((0, 1), (1, 0)), ((1, 0), (0, 1)), ((0, 1), (0, 1)), ((0, 2), (2, 0)), ((3, 1), (0, 2))])
    @in_one("fixed", [Fixed(first_driver=40), Fixed(last_driven=60), Fixed(first_driver=40, last_driven=60), Fixed()])
    def test_a_fixed_gear_stays_in_its_plane_and_nothing_goes_behind_where_it_was(self, planes, fixed):
        before = [Arranged(COMPOUND, each) for each in planes]
        after = in_fixed_planes(*before, fixed)
        shifts = [
            {new - old for new, old in zip(b.planes, a.planes, strict=True)} for a, b in zip(before, after, strict=True)
        ]
        assert all(len(shift) == 1 for shift in shifts)  # all of a train moves alike
        assert min(min(shift) for shift in shifts) == 0
        if fixed == Fixed():
            assert after == tuple(before)
        else:
            end = 0 if fixed.first_driver is not None else -1
            assert after[0].planes[end] == after[1].planes[end]


class TestMovesBetween:
    def test_nothing_to_do(self):
        moves = moves_between(arranged(COMPOUND, (0, 1)), arranged(COMPOUND, (0, 1)))
        assert moves.none
        assert teeth(moves.stay) == [40, 80, 30, 60]

    def test_front_gear_alone(self):
        moves = moves_between(arranged(COMPOUND, (0, 1)), arranged(Train((40, 45), (80, 60)), (0, 1)))
        assert (teeth(moves.off), teeth(moves.on), teeth(moves.in_the_way)) == ([30], [45], [])

    def test_a_gear_behind_another_takes_that_off_too(self):
        """The 80 stands next to the headstock, so the 30 before it has to come off and goes back."""
        moves = moves_between(arranged(COMPOUND, (0, 1)), arranged(Train((40, 30), (70, 60)), (0, 1)))
        assert teeth(moves.off) == [30, 80]
        assert teeth(moves.on) == [70, 30]
        assert teeth(moves.in_the_way) == [30]
        assert teeth(moves.stay) == [40, 60]

    def test_front_plane_off_first_and_back_plane_on_first(self):
        moves = moves_between(arranged(COMPOUND, (0, 1)), arranged(Train((20, 25), (50, 55)), (0, 1)))
        assert teeth(moves.off) == [30, 60, 40, 80]
        assert teeth(moves.on) == [20, 50, 25, 55]

    def test_the_same_gear_in_another_plane_is_moved(self):
        moves = moves_between(arranged(COMPOUND, (0, 1)), arranged(COMPOUND, (1, 0)))
        assert Counter(teeth(moves.off)) == Counter(teeth(moves.on)) == Counter([40, 80, 30, 60])

    def test_an_idler_that_becomes_a_driven_gear_is_moved(self):
        moves = moves_between(arranged(Train((40,), (80,), (50,)), (0,)), arranged(Train((40, 30), (50, 80)), (0, 1)))
        assert 50 in teeth(moves.off)
        assert 50 in teeth(moves.on)

    def test_the_stud_that_keeps_its_gears_is_kept(self):
        """From an idler and a pair to the pair alone: the stud with the pair stays, the idler's comes out."""
        before = arranged(Train((40, 30), (80, 60), ((50,), ())), (0, 1))
        moves = moves_between(before, arranged(COMPOUND, (0, 1)))
        assert moves.studs_out == (1,)
        assert teeth(moves.off) == [50]
        assert moves.on == ()

    def test_not_known_what_is_mounted(self):
        moves = moves_between(None, arranged(COMPOUND, (0, 1)))
        assert (moves.off, teeth(moves.on)) == ((), [40, 80, 30, 60])

    @given(arrangements(), arrangements())
    def test_what_is_left_and_what_is_added_is_the_wanted_train(self, before, after):
        moves = moves_between(before, after)
        left = Counter(teeth(before.places)) - Counter(teeth(moves.off))
        assert left == Counter(teeth(moves.stay))
        assert left + Counter(teeth(moves.on)) == Counter(teeth(after.places))
        again = {(moves.studs[gear.shaft], *gear[1:4]) for gear in moves.on if gear.shaft in moves.studs}
        assert list(moves.in_the_way) == [gear for gear in moves.off if gear[:4] in again]

    @given(arrangements(), arrangements())
    def test_never_a_gear_put_behind_one_that_is_on(self, before, after):
        """Played through on shafts as stacks: off only from the top, on only to the top."""
        moves = moves_between(before, after)
        stacks = {shaft: list(before.stack(shaft)) for shaft in range(before.shafts)}
        for place in moves.off:
            assert stacks[place.shaft].pop() == place
        new = {shaft: stacks[moves.studs[shaft]] if shaft in moves.studs else [] for shaft in range(after.shafts)}
        for place in moves.on:
            assert all(other.plane < place.plane for other in new[place.shaft])
            new[place.shaft].append(place)
        for shaft, stack in new.items():
            assert [(p.plane, p.teeth, p.role) for p in stack] == [
                (p.plane, p.teeth, p.role) for p in after.stack(shaft)
            ]

    @given(arrangements())
    def test_no_move_to_itself(self, train):
        assert moves_between(train, train).none

    @given(arrangements(), arrangements())
    def test_the_studs_are_matched_so_that_most_gears_stay_and_then_most_studs(self, before, after):
        """Against every way to match some of them in their order."""
        old, new = range(1, before.shafts - 1), range(1, after.shafts - 1)

        def worth(pairs):
            stay = 0
            for mine, other in pairs:
                both = zip(after.stack(mine), before.stack(other), strict=False)
                stay += len(list(takewhile(lambda two: two[0][1:4] == two[1][1:4], both)))
            return stay, len(pairs)

        moves = moves_between(before, after)
        studs = moves.studs
        assert (studs[0], studs[after.shafts - 1]) == (0, before.shafts - 1)
        pairs = sorted((mine, other) for mine, other in studs.items() if mine in new)
        assert all(one < other for (_, one), (_, other) in pairwise(pairs))
        ways = (
            zip(mine, other, strict=True)
            for number in range(min(len(old), len(new)) + 1)
            for mine, other in product(combinations(new, number), combinations(old, number))
        )
        assert worth(pairs) == max(worth([*way]) for way in ways)
        assert moves.studs_out == tuple(sorted({*old} - {*dict(pairs).values()}))


class TestFixed:
    """A gear that is never taken off stays whatever else is done; and all else is done as if it were not fixed."""

    KINDS = st.sampled_from([(True, False), (False, True), (True, True)])

    @given(arrangements(), arrangements(), KINDS)
    def test_stays_and_changes_nothing_else(self, before, after, which):
        fixed = Fixed(
            first_driver=after.train.drivers[0] if which[0] else None,
            last_driven=after.train.driven[-1] if which[1] else None,
        )
        kept = [shaft for shaft, is_kept in zip((0, after.shafts - 1), which, strict=True) if is_kept]
        moves, free = moves_between(before, after, fixed), moves_between(before, after)
        assert [gear for gear in moves.stay if gear.shaft in kept] == [
            gear for end in kept for gear in after.stack(end)
        ]
        assert moves.on == tuple(gear for gear in free.on if gear.shaft not in kept)
        assert [gear for gear in moves.stay if gear.shaft not in kept] == [
            gear for gear in free.stay if gear.shaft not in kept
        ]
        unknown = moves_between(None, after, fixed)
        assert Counter(unknown.stay) == Counter(gear for gear in after.places if gear.shaft in kept)
        assert Counter(unknown.on) == Counter(after.places) - Counter(unknown.stay)
        assert (unknown.off, unknown.in_the_way, unknown.studs, unknown.studs_out) == ((), (), {}, ())
        assert moves_between(before, after, Fixed()) == free


class TestWhatStands:
    def test_with_a_lever_it_is_a_setup_in_the_order_given(self):
        """(20 · 40)/(80 · 60) goes on as it stands; (40 · 20)/(80 · 60) only in another order."""
        inch = demo_lathe("inch")
        assert as_it_stands(inch, COMPOUND, None) is COMPOUND
        assert fit(inch, Train((40, 20), (80, 60))).goes_on
        for drivers, goes_on in (((20, 40), True), ((40, 20), False)):
            setup = as_it_stands(inch, Train(drivers, (80, 60)), "middle")
            assert (setup.train, setup.lever, setup.wanted) == (Train(drivers, (80, 60)), "middle", None)
            assert setup.fit.goes_on is goes_on


class TestClusters:
    """Two gears in one piece, against a plain rule: what is moved later while it strips never stood in front."""

    @given(
        st.lists(st.integers(18, 90), min_size=6, max_size=6, unique=True),
        st.sampled_from([(0, 1, 0), (0, 1, 2), (1, 0, 1), (2, 1, 0), (1, 0, 2), (2, 1, 2), (0, 1, 3), (1, 2, 0)]),
        st.booleans(),
    )
    def test_are_moved_as_one_with_nothing_in_front(self, gears, planes, first):
        (a, b, c, d, e, f), stud = gears, 1 if first or abs(planes[1] - planes[2]) != 1 else 2
        if stud == 1:
            b, c = piece(b, mate=c), piece(c, mate=b)
        else:
            d, e = piece(d, mate=e), piece(e, mate=d)
        train, other = Arranged(Train((a, c, e), (b, d, f)), planes), Arranged(Train((95,), (96,)), (0,))
        for moved in (moves_between(train, other).off, tuple(reversed(moves_between(other, train).on))):
            as_one = pieces(moved)
            assert [len(one) for one in as_one].count(2) == 1
            assert Counter(moved) == Counter(train.places)
            for sooner, later in combinations(as_one, 2):
                assert max(place.plane for place in later) <= min(place.plane for place in sooner)

    @given(
        st.lists(st.integers(18, 90), min_size=6, max_size=6, unique=True),
        st.sampled_from([(0, 1, 1), (0, 2, 1), (1, 0, 2), (1, 2, 0), (1, 0, 0), (2, 0, 1)]),
    )
    def test_so_is_an_idler_with_its_idle_gear(self, gears, planes):
        a, b, c, d, e, f = gears
        train = Arranged(Train((a, e), (b, f), ((piece(c, mate=d),), ())), planes)
        other = Arranged(Train((95,), (96,)), (0,))
        for moved in (moves_between(train, other).off, tuple(reversed(moves_between(other, train).on))):
            as_one = pieces(moved)
            assert {place.teeth for place in moved} == set(map(piece, (a, b, e, f))) | {
                piece(c, mate=d),
                piece(d, mate=c),
            }
            assert [len(one) for one in as_one].count(2) == 1
            for sooner, later in combinations(as_one, 2):
                assert max(place.plane for place in later) <= min(place.plane for place in sooner)

    def test_one_that_is_torn_comes_off_whole(self):
        """On the stud the back gear is the same before and after; the one before it is in one piece with it or not."""
        b, c = piece(50, mate=40), piece(40, mate=50)
        one, other = Arranged(Train((20, c), (b, 60)), (0, 1)), Arranged(Train((20, 30), (b, 60)), (0, 1))
        for before, after in ((one, other), (other, one)):
            moves = moves_between(before, after)
            assert Counter(moves.off) == Counter(before.stack(1))
            assert Counter(moves.on) == Counter(after.stack(1))
        loose, too = Arranged(Train((20, 30), (b, 60)), (0, 1)), Arranged(Train((20, 35), (b, 60)), (0, 1))
        assert teeth(moves_between(loose, too).off) == [30]
        back = Arranged(Train((20, 45), (b, 60)), (1, 0))
        assert Counter(moves_between(one, back).off) == Counter((*one.stack(1), *one.stack(0), *one.stack(2)))

    def test_of_one_piece_each_half_is_told_with_the_other(self):
        b, c = piece(50, mate=40), piece(40, mate=50)
        both = Arranged(Train((20, c), (b, 60)), (0, 1))
        assert [teeth(both.piece(gear)) for gear in both.places] == [[20], [b, c], [b, c], [60]]
        idle = Arranged(Train((20, 30), (70, 60), ((c,), ())), (0, 1, 1))
        assert [idle.role_name(gear) for gear in idle.places][-1] == "idle"
        assert teeth(idle.piece(idle.places[-1])) == [c, b]
        with pytest.raises(ValueOutOfRangeError, match="3 planes"):
            Arranged(idle.train, (0, 1))

    def test_what_comes_off_goes_on_again_and_is_no_other(self):
        train = Train((20, piece(40, mate=50)), (piece(50, mate=40), 60))
        assert moves_between(Arranged(train, (0, 1)), Arranged(train, (0, 1))).none
        turned = moves_between(Arranged(train, (0, 1)), Arranged(train, (1, 0)))
        assert (len(pieces(turned.off)), len(pieces(turned.on)), turned.from_box) == (3, 3, ())


class TestFromTheBox:
    @given(st.permutations([20, 30, 40, 40, 50, 60]), st.permutations([20, 30, 40, 40, 50, 60]))
    def test_what_comes_off_is_used_before_the_box_is_opened(self, now, then):
        mounted = Arranged(Train(now[:2], now[2:4]), (0, 1))
        moves = moves_between(mounted, Arranged(Train(then[:2], then[2:4]), (0, 1)))
        off, on = (Counter(place.teeth for place in places) for places in (moves.off, moves.on))
        assert Counter(place.teeth for place in moves.from_box) == on - off
        assert set(moves.from_box) <= set(moves.on)


class TestTurnsUntilRound:
    def test_by_hand(self):
        """40 turns 80 a half turn, the 30 beside it turns 60 a quarter: four turns for one of the 60."""
        assert turns_until_round(COMPOUND) == (4, 60)

    def test_an_idler_may_be_the_slowest(self):
        assert turns_until_round(Train((20,), (40,), (100,))) == (5, 100)

    def test_a_speeding_train_is_slowest_at_the_spindle(self):
        assert turns_until_round(Train((80,), (20,))) == (1, 80)

    def test_the_spindle_side_counts(self):
        assert turns_until_round(COMPOUND, Fraction(1, 2)) == (8, 60)

    @given(arrangements(), st.fractions(Fraction(1, 4), 4, max_denominator=9))
    def test_the_slowest_has_gone_round_once_and_every_other_at_least(self, one, ratio):
        """Gear by gear: one that is turned goes as much slower as it has more teeth."""
        speeds, speed = [], ratio
        for chain in one.train.chain():
            speeds.append((speed, chain[0]))
            for driver, gear in pairwise(chain):
                speed = speed * int(driver) / int(gear)
                speeds.append((speed, gear))
        turns, teeth = turns_until_round(one.train, ratio)
        rounds = [turns * each for each, _ in speeds]
        assert min(rounds) == 1
        assert teeth in [gear for each, gear in speeds if turns * each == 1]
