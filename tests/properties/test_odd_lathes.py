"""Lathes with fixed gears, clusters, damaged gears, two sizes of tooth and bores, against every train that may stand.

The trains come from tests/odd_lathes.py, which knows the rules of the lathe file and shares nothing with the package.
What is added here is how they are ranked, as finding/ranks.py says it.
"""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from itertools import combinations, combinations_with_replacement, zip_longest

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.finding import rankings
from gearcalc.finding.rankings import Query
from gearcalc.lathes.pieces import Piece
from tests.how_much import examples
from tests.odd_lathes import (
    FIRST_MODULE,
    OTHER_MODULE,
    Gear,
    OddLathe,
    Standing,
    could_be_looser,
    every_train,
    is_wrong,
    odd_lathes,
)

INCH = Fraction(254, 10)
LEADS = {
    "1 mm": Fraction(1),
    "1.5 mm": Fraction(3, 2),
    "8 tpi": INCH / 8,
    "12 tpi": INCH / 12,
    "lead 9 mm": Fraction(9),
}
FASTEST, STEEPEST = 3, 4

Sides = tuple[tuple[int, ...], tuple[int, ...]]
wanteds = st.sampled_from(sorted(LEADS))
some_meshes = st.sampled_from([(1,), (2,), (1, 2), (1, 2)])


def gear_of(odd: OddLathe, given: int) -> Gear:
    """A gear of one of the package's trains, read from what it says of itself."""
    first = odd.loose[0]
    if not isinstance(given, Piece):
        return first._replace(teeth=given)
    bore = re.search(r"bore ([\d.]+)", given.kind)
    bore_mm = float(bore[1]) if bore else None if "any bore" in given.kind else first.bore_mm
    mate = None if given.mate is None else (int(given.mate), module_of(given.mate))
    return Gear(int(given), module_of(given), bore_mm, mate)


def module_of(given: int) -> float:
    said = re.search(r"module ([\d.]+)", given.kind) if isinstance(given, Piece) else None
    return float(said[1]) if said else FIRST_MODULE


def standing_of(odd: OddLathe, train: gc.Train) -> Standing:
    return Standing(
        tuple(gear_of(odd, gear) for gear in train.drivers),
        tuple(gear_of(odd, gear) for gear in train.driven),
        tuple(tuple(gear_of(odd, gear) for gear in mesh) for mesh in train.idlers),
    )


def idlers_wanted(lathe: gc.Lathe, meshes: int) -> list[tuple[int, ...]]:
    """How many idlers each mesh may have for a right-hand thread: none, or one somewhere where that turns it right."""
    none = (0,) * meshes
    if lathe.spindle_side.reverse:
        return [none]
    turned_round = meshes + (not lathe.spindle_side.same_way)
    if turned_round % 2 == 0:
        return [none]
    return [(*none[:mesh], 1, *none[mesh + 1 :]) for mesh in range(meshes)]


def moved(train: Standing, mounted: Standing | None, last_stays: bool) -> int:
    """Places that hold another gear; a last driven gear that is fixed is on both."""
    if mounted is None:
        return 0
    end = -1 if last_stays else None
    places = [*zip_longest(train.drivers, mounted.drivers), *zip_longest(train.driven[:end], mounted.driven[:end])]
    for mine, theirs in zip_longest(train.idlers, mounted.idlers, fillvalue=()):
        places += zip_longest(mine, theirs)
    return sum(one != other for one, other in places)


def steepest(train: Standing) -> Fraction:
    pairs = [(over.teeth, under.teeth) for over, under in zip(train.drivers, train.driven, strict=True)]
    return max(Fraction(max(pair), min(pair)) for pair in pairs)


def counts(side: tuple[Gear, ...]) -> tuple[int, ...]:
    return tuple(sorted(gear.teeth for gear in side))


def pieces(train: Standing) -> tuple[tuple[Gear, ...], ...]:
    """Which gears drive and which are driven, in whatever order; bores of loose gears tell pieces apart."""
    return tuple(tuple(sorted(side, key=str)) for side in (train.drivers, train.driven))


def ranked(
    odd: OddLathe, lathe: gc.Lathe, lead: Fraction, meshes: tuple[int, ...], mounted: Standing | None = None
) -> list[tuple[object, ...]]:
    """Each choice of pieces with the key that ranks it, in order: the last item says which pieces."""
    best: dict[tuple[tuple[Gear, ...], ...], tuple[object, ...]] = {}
    least: dict[Sides, int] = {}
    for m in meshes:
        for train in (train for idlers in idlers_wanted(lathe, m) for train in every_train(odd, idlers)):
            cut = lathe.leadscrew_lead_mm * lathe.spindle_ratio * train.ratio
            fast = lathe.spindle_ratio * train.ratio > FASTEST
            mild = steepest(train)
            moves = moved(train, mounted, odd.last_driven is not None)
            handiness = (fast or mild > STEEPEST, moves, mild)
            sides = counts(train.drivers), counts(train.driven)
            key = (abs(cut / lead - 1), handiness[0], len(train.gears), moves, mild, *sides)
            which = pieces(train)
            best[which] = min(best.get(which, key), key, key=lambda one: (one[1], one[3], one[4]))
            least[sides] = min(least.get(sides, moves), moves)
    needed = {which: key for which, key in best.items() if not does_nothing(key, least)}
    return sorted(((*key, which) for which, key in needed.items()), key=lambda ranks: ranks[:-1])


def does_nothing(key: tuple[object, ...], least: dict[Sides, int]) -> bool:
    """Whether it has an equal pair without which the rest stands too, and moves no more."""
    *_, moves, _, drivers, driven = key
    equal = sorted((Counter(drivers) & Counter(driven)).elements())
    for out in (out for size in range(1, len(equal) + 1) for out in combinations(equal, size)):
        over, under = (tuple(sorted((Counter(side) - Counter(out)).elements())) for side in (drivers, driven))
        if least.get((over, under), 99) <= moves:
            return True
    return False


class TestTheRulesByHand:
    """Lathes so small that their trains are counted on the fingers."""

    A, B, C, D = (Gear(teeth, FIRST_MODULE, None) for teeth in (20, 30, 40, 50))
    E, F = Gear(60, FIRST_MODULE, None, (70, FIRST_MODULE)), Gear(70, FIRST_MODULE, None, (60, FIRST_MODULE))

    def test_three_loose_gears(self):
        assert len(every_train(OddLathe("", (self.A, self.B, self.C), ()), (0,))) == 6
        assert len(every_train(OddLathe("", (self.A, self.B, self.C), ()), (1,))) == 6
        assert every_train(OddLathe("", (self.A, self.B, self.C), ()), (0, 0)) == set()

    def test_a_fixed_end_leaves_the_other_and_the_stud(self):
        odd = OddLathe("", (self.A, self.B, self.C, self.D), (), first_driver=self.A)
        assert {train.drivers for train in every_train(odd, (0,))} == {(self.A,)}
        assert len(every_train(odd, (0, 0))) == 6  # 20 drives; the other three in any order
        both = odd._replace(last_driven=self.B)
        assert len(every_train(both, (0,))) == 1
        assert len(every_train(both, (0, 0))) == 2

    def test_a_cluster_stands_on_a_stud_alone_either_way_round_or_as_an_idler(self):
        odd = OddLathe("", (self.A, self.B), ((self.E, self.F),))
        assert len(every_train(odd, (0,))) == 2  # never at an end
        assert {(train.driven[0], train.drivers[1]) for train in every_train(odd, (0, 0))} == {
            (self.E, self.F),
            (self.F, self.E),
        }
        assert {train.idlers[0] for train in every_train(odd, (1,))} == {(self.E,), (self.F,)}
        assert every_train(odd, (2,)) == set()  # both of its gears at once are on one stud

    def test_loose_gears_are_taken_before_a_cluster_of_the_same(self):
        loose = self.E._replace(mate=None), self.F._replace(mate=None)
        odd = OddLathe("", (self.A, self.B, *loose), ((self.E, self.F),))
        studs: dict[tuple[int, int], set[tuple[Gear, ...]]] = {}
        for train in every_train(odd, (0, 0)):
            ends = train.drivers[0].teeth, train.driven[1].teeth
            studs.setdefault(ends, set()).add((train.driven[0], train.drivers[1]))
        assert studs[20, 30] == {loose, loose[::-1]}
        assert studs[60, 70] == {(self.A, self.B), (self.B, self.A), (self.E, self.F), (self.F, self.E)}

    def test_sizes_and_bores(self):
        small = Gear(40, OTHER_MODULE, 12)
        odd = OddLathe("", (self.A, self.B._replace(bore_mm=16), small), ())
        assert {(train.drivers, train.driven) for train in every_train(odd, (0,))} == {
            ((self.A,), (self.B._replace(bore_mm=16),)),
            ((self.B._replace(bore_mm=16),), (self.A,)),
        }
        two = odd._replace(loose=(*odd.loose, Gear(50, OTHER_MODULE, 12)))
        # first size to the stud, second from it: 20 and 30 are the first pair; beside 20 any bore, beside 30 none fits
        studs = {(train.driven[0].teeth, train.drivers[1].teeth) for train in every_train(two, (0, 0))}
        assert studs == {(20, 40), (20, 50), (40, 20), (50, 20)}
        assert every_train(odd._replace(first_bore_mm=12, last_bore_mm=12), (0,)) == set()


class TestFindSetups:
    """Nearest first, without a bracket."""

    @given(odd_lathes(), wanteds, some_meshes)
    @examples(30)
    def test_is_every_train_in_its_order(self, odd, wanted, meshes):
        lathe = gc.Lathe.from_toml(odd.text)
        expected = ranked(odd, lathe, LEADS[wanted], meshes)
        found = gc.find_setups(lathe, wanted, meshes, 10_000)
        assert_the_same(odd, expected, found, LEADS[wanted])
        for each in found:
            assert_stands(odd, each.train)

    @given(odd_lathes(most=7), wanteds)
    @examples(10)
    def test_of_three_meshes(self, odd, wanted):
        lathe = gc.Lathe.from_toml(odd.text)
        expected = ranked(odd, lathe, LEADS[wanted], (3,))
        found = gc.find_setups(lathe, wanted, 3, 10_000)
        assert_the_same(odd, expected, found, LEADS[wanted])

    @given(odd_lathes(), wanteds, wanteds, st.integers(0, 5))
    @examples(20)
    def test_with_something_mounted(self, odd, wanted, before, which):
        lathe = gc.Lathe.from_toml(odd.text)
        there = gc.find_setups(lathe, before, (1, 2), 6)
        assume(there)
        on = there[which % len(there)].train
        mounted = standing_of(odd, on)
        expected = ranked(odd, lathe, LEADS[wanted], (1, 2), mounted)
        found = list(rankings.ranked(Query(lathe, gc.Thread.parse(wanted), (1, 2), mounted=on)))
        assert_the_same(odd, expected, found, LEADS[wanted], mounted)


class TestSimplestFirst:
    """The simplest of what is good enough, then the rest, the nearest first; without a bracket."""

    @given(odd_lathes(), wanteds, some_meshes, st.sampled_from([200, 20_000, 10**6]), st.booleans(), st.integers(0, 5))
    @examples(30)
    def test_is_every_train_in_its_order(self, odd, wanted, meshes, good_ppm, with_mounted, which):
        lathe, lead = gc.Lathe.from_toml(odd.text), LEADS[wanted]
        there = gc.find_setups(lathe, "1 mm", (1, 2), 6) if with_mounted else []
        on = there[which % len(there)].train if there else None
        mounted = None if on is None else standing_of(odd, on)
        expected = sorted(simplest_first(key[:-1], good_ppm) for key in ranked(odd, lathe, lead, meshes, mounted))
        query = Query(lathe, gc.Thread.parse(wanted), meshes, mounted=on, choose_within=Fraction(good_ppm, 10**6))
        found = [key_of(odd, each, lead, mounted) for each in rankings.ranked(query)]
        assert expected == [simplest_first(key, good_ppm) for key in found]


def simplest_first(key: tuple[object, ...], good_ppm: int) -> tuple[object, ...]:
    off, strained, gears, moves, mild, drivers, driven = key
    if off * 10**6 > good_ppm:
        return (True, *key)
    step = 0 if off == 0 else 1 if off * 10**6 <= 200 else 2
    return (False, strained, len(drivers), step, moves, gears, mild, off, drivers, driven)


def assert_stands(odd: OddLathe, train: gc.Train) -> None:
    standing = standing_of(odd, train)
    assert not is_wrong(odd, standing)
    assert not could_be_looser(odd, standing)


def assert_the_same(
    odd: OddLathe,
    expected: list[tuple[object, ...]],
    found: list[gc.Setup],
    lead: Fraction,
    mounted: Standing | None = None,
) -> None:
    """The same trains in the same order, up to which of the same counts is which piece."""
    ranks = [(*key_of(odd, each, lead, mounted), pieces(standing_of(odd, each.train))) for each in found]
    assert [key[:_RANKED] for key in expected] == [key[:_RANKED] for key in ranks]
    assert Counter(expected) == Counter(ranks)


_RANKED = 7  # error, strain, gears, moves, steepness, tooth counts; then which of the same counts it is


def key_of(odd: OddLathe, found: gc.Setup, lead: Fraction, mounted: Standing | None = None) -> tuple[object, ...]:
    """What ranks a setup that was found, reckoned from its gears."""
    train = standing_of(odd, found.train)
    turns = found.lathe.spindle_ratio * train.ratio
    return (
        abs(found.lathe.leadscrew_lead_mm * turns / lead - 1),
        turns > FASTEST or steepest(train) > STEEPEST,
        len(train.gears),
        moved(train, mounted, odd.last_driven is not None),
        steepest(train),
        counts(train.drivers),
        counts(train.driven),
    )


BRACKET = """
[bracket]
spindle_side_at_mm = [20.0, 70.0]
swing_deg = [-90, 90]
slots = [{ from_mm = [20, 0], to_mm = [150, 0] }]
studs = 3
stud_radius_mm = 5
shaft_radius_mm = 5
running_clearance_mm = 0.5
"""


class TestOnABracket:
    @given(odd_lathes(more=BRACKET), wanteds)
    @examples(15)
    def test_whatever_goes_on_may_stand_idlers_and_all(self, odd, wanted):
        lathe = gc.Lathe.from_toml(odd.text)
        found = gc.find_setups(lathe, wanted, (1, 2), 25)
        for each in found:
            assert each.fit.goes_on
            assert each.fit.train == each.train
            assert_stands(odd, each.train)
        loosely = gc.find_setups(lathe, wanted, (1, 2), 10_000, must_fit=False)
        going_on = [each for each in loosely if each.fit.goes_on]
        assert {pieces(standing_of(odd, each.train)) for each in found} <= {
            pieces(standing_of(odd, each.train)) for each in going_on
        }


class TestGearsToAdd:
    """The smallest purchase against trying every purchase."""

    CANDIDATES, MOST, PPM = (25, 30, 50), 2, 20_000

    @given(odd_lathes(most=7), st.lists(wanteds, min_size=1, max_size=2, unique=True), st.sampled_from([1, 2, (1, 2)]))
    @examples(15)
    def test_the_fewest(self, odd, wanted, meshes):
        lathe = gc.Lathe.from_toml(odd.text)
        numbers = meshes if isinstance(meshes, tuple) else (meshes,)
        fewest = self.fewest_by_trying(odd, lathe, [LEADS[text] for text in wanted], numbers)
        found = gc.gears_to_add(lathe, wanted, self.PPM, self.MOST, self.CANDIDATES, meshes=meshes)
        assert found.serves_all == (fewest is not None)
        if fewest is not None:
            assert (len(found.gears), found.proven, found.lower_bound) == (fewest, True, fewest)
            richer = with_bought(odd, found.gears)
            for setup in found.setups:
                assert_stands(richer, setup.train)
                assert abs(setup.error_ppm) <= self.PPM

    def fewest_by_trying(
        self, odd: OddLathe, lathe: gc.Lathe, leads: list[Fraction], meshes: tuple[int, ...]
    ) -> int | None:
        screw, share = lathe.leadscrew_lead_mm * lathe.spindle_ratio, Fraction(self.PPM, 10**6)
        for size in range(self.MOST + 1):
            for bought in combinations_with_replacement(self.CANDIDATES, size):
                richer = with_bought(odd, bought)
                trains = (t for m in meshes for idlers in idlers_wanted(lathe, m) for t in every_train(richer, idlers))
                ratios = {train.ratio for train in trains}
                if all(any(abs(screw * ratio / lead - 1) <= share for ratio in ratios) for lead in leads):
                    return size
        return None


def with_bought(odd: OddLathe, bought: tuple[int, ...]) -> OddLathe:
    """What is bought is of the first size, and loose."""
    return odd._replace(loose=(*odd.loose, *(odd.loose[0]._replace(teeth=teeth) for teeth in bought)))


class TestCoverage:
    @given(odd_lathes(), some_meshes)
    @examples(20)
    def test_every_lead_of_every_train_and_no_other(self, odd, meshes):
        lathe = gc.Lathe.from_toml(odd.text)
        trains = {train for m in meshes for train in every_train(odd, (0,) * m)}
        leads = {lathe.leadscrew_lead_mm * lathe.spindle_ratio * train.ratio for train in trains}
        if not leads:
            with pytest.raises(gc.GearcalcError, match="no train at all"):
                gc.coverage(lathe, "0.01", 1000, meshes)
            return
        covered = gc.coverage(lathe, "0.01", 1000, meshes)
        assert covered.leads_mm == tuple(sorted(leads))
