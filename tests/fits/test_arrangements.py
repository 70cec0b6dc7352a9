"""Orders, idlers, planes and gaps of odd chains, each against loops that go through all there are."""

from __future__ import annotations

import cmath
import math
import random
from fractions import Fraction
from functools import cache
from itertools import accumulate, pairwise, permutations, product

import pytest
from attrs import evolve

from gearcalc.fits.arrangements import (
    Question,
    Ways,
    apart_along,
    count_chains,
    every_chain,
    fewest_studs,
    idle_gears,
    idlers_to_try,
    is_steep,
    plane_choices,
)
from gearcalc.fits.gaps import Loaded, every_gap, neighbours_clear, snugness
from gearcalc.fits.geometry import Stance, layout_of
from gearcalc.fits.growing import may_reach
from gearcalc.lathes import GearSet, Lathe
from gearcalc.lathes.pieces import kind_of, mate_of, other_half, piece
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import Train
from tests.benches import bench
from tests.fits.by_force import (
    a_cramped_lathe,
    a_roomy_lathe,
    all_apart,
    an_odd_lathe,
    beside,
    bracket_of,
    discs,
    each_its_own,
    planes_of,
    rooms,
    stands,
)
from tests.how_much import in_one

CHAINS = range(150)


@cache
def a_chain(seed: int) -> tuple[Lathe, Train]:
    """Gears of one size in each mesh, with idlers or without; clusters as pairs and as idlers."""
    draw = random.Random(seed)
    while True:
        lathe, meshes = (
            draw.choice([an_odd_lathe, a_cramped_lathe, a_roomy_lathe])(draw),
            draw.choice([1, 2, 2, 3, 3, 4]),
        )
        pieces, chain = list(lathe.gear_set.pieces), list[tuple[int, ...]]()
        for _ in range(meshes):
            first = draw.choice(pieces)
            if chain and mate_of(chain[-1][-1]) is not None and draw.random() < 0.7:
                first = other_half(chain[-1][-1])
            same = [gear for gear in pieces if kind_of(gear) == kind_of(first)]
            idlers = draw.choice([0, 0, 1, 2] if len(chain) < 2 else [0])
            chain.append((first, *(draw.choice(same) for _ in range(idlers + 1))))
        if sum(mate_of(gear) is not None for mesh in chain for gear in mesh[1:-1]) <= 2:
            over, under = (tuple(mesh[at] for mesh in chain) for at in (0, -1))
            return lathe, Train(over, under, tuple(mesh[1:-1] for mesh in chain))


class TestNumbers:
    """How many idlers are tried, how many studs and ways there are."""

    @in_one("meshes", range(1, 7))
    @in_one("same_way", [None, True, False])
    def test_idlers_to_try(self, meshes, same_way):
        """Every gear more turns the motion round; two are tried where one can't do, and never with three meshes."""
        able = [n for n in range(3) if same_way is None or same_way == ((meshes + n) % 2 == 0)]
        closes = [n for n in able if n or meshes > 1]
        two = meshes == 1 or (meshes == 2 and same_way is True)
        assert idlers_to_try(meshes, same_way) == [n for n in closes if n < 2 or two]

    @in_one(("meshes", "studs"), [(1, 1), (2, 1), (3, 2), (4, 3), (5, 4), (6, 5)])
    def test_fewest_studs(self, meshes, studs):
        assert fewest_studs(meshes) == studs

    @in_one("meshes", [1, 2, 3])
    @in_one("spare", [0, 1, 2, 3])
    @in_one("idlers", [0, 1, 2])
    def test_chains_of_gears_that_all_differ(self, meshes, spare, idlers):
        over, under, more = range(20, 20 + meshes), range(30, 30 + meshes), tuple(range(40, 40 + spare))
        chains = list(every_chain(Train(tuple(over), tuple(under)), more, idlers))
        assert len(chains) == len({*chains}) == count_chains(meshes, spare, idlers)
        by_force = {
            tuple((driver, *middle, driven) for driver, middle, driven in zip(one, between, other, strict=True))
            for one, other, chosen in product(permutations(over), permutations(under), permutations(more, idlers))
            for between in shared_out(chosen, meshes)
        }
        assert {*chains} == by_force

    def test_of_five_meshes_only_the_order_given(self):
        """Of four there are 576 orders, of five 14,400."""
        gears = tuple(range(20, 30))
        for meshes, orders in ((4, 576), (5, 1), (6, 1)):
            train = Train((*gears, 30, 31)[:meshes], (*gears, 30, 31)[meshes : 2 * meshes])
            ways = Ways(Question(train, layout_of(bench()), (*gears, 30, 31, 32)))
            assert ways.order_kept is (meshes > 4)
            assert sum(1 for _ in ways.chains(0)) == orders
        assert ways.count(0) == 576  # at most

    @in_one(("drivers", "may"), [((20, 21, 22, 23, 24), True), ((21, 20, 22, 23, 24), False)])
    def test_and_that_only_if_the_lathe_lets_it(self, drivers, may):
        gears = GearSet(range(20, 30), module_mm=2, fixed=Fixed(first_driver=20))
        train = Train(drivers, (25, 26, 27, 28, 29))
        assert [*Ways(Question(train, layout_of(bench()), gears)).chains(0)] == [train.chain()] * may

    @in_one("seed", range(40))
    def test_as_far_as_the_gears_reach_in_one_straight_row(self, seed):
        draw = random.Random(seed)
        gears = tuple(draw.sample(range(20, 60), 8))
        meshes, idlers = draw.choice([1, 2, 3]), draw.choice([0, 1, 2])
        lathe = bench(gears, backlash_mm=0.2)
        train = Train(gears[:meshes], gears[meshes : 2 * meshes])
        ways = Ways(Question(train, layout_of(lathe), gears))
        rows = (sum(apart_along(ways.question.layout, chain)) for chain in ways.chains(idlers))
        assert ways.reach(idlers) == pytest.approx(max(rows))

    @in_one("seed", range(300))
    def test_steeper_than_so_many_to_one(self, seed):
        draw = random.Random(seed)
        limit = draw.choice([Fraction(4), Fraction(5, 2)])
        chain = tuple(tuple(draw.choice([20, 25, 40, 50, 80, 81, 100, 101]) for _ in range(3)) for _ in range(2))
        ratios = [Fraction(mesh[0], mesh[-1]) for mesh in chain]
        assert is_steep(chain, limit) == any(max(ratio, 1 / ratio) > limit for ratio in ratios)


class TestReach:
    """Whether any train of some gears reaches across: no only where none does, and yes where one does."""

    @in_one("seed", range(120))
    def test_with_gears_of_one_size_and_of_two(self, seed):
        draw = random.Random(seed)
        layout_of_it = draw.choice([an_odd_lathe, a_cramped_lathe, a_roomy_lathe])(draw).bracket
        one, another = (draw.sample(range(20, 70), 2) for _ in range(2))
        lathe = bench(tuple(one), module_mm=1.0)
        lathe = evolve(lathe, bracket=evolve(layout_of_it, studs=draw.choice([1, 2])))
        gears = frozenset([*one, *(piece(teeth, "module 0.5") for teeth in another)] if seed % 2 else one)
        if seed % 2:
            more = GearTable(another, module_mm=0.5)
            lathe = evolve(lathe, gear_set=GearSet(one, module_mm=1.0, more=[more]))
        pairs = [(one, other) for one in gears for other in gears if kind_of(one) == kind_of(other)]
        rows = product(pairs, repeat=bracket_of(lathe).studs + 1)
        closes = any(any(stand.axes for stand in stands(lathe, in_a_row(row), beyond=False)) for row in rows)
        assert may_reach(layout_of(lathe), gears, bracket_of(lathe).studs) == closes

    @in_one(("shafts_apart", "may"), [(507, True), (509, False)])
    def test_of_very_many_gears_it_says_yes_unless_not_even_the_largest_would(self, shafts_apart, may):
        """Of 127 teeth each, 254 mm in mesh; no slot is so long, but to find that out would take too long."""
        layout = layout_of(bench(spindle_side_at_mm=(0.0, float(shafts_apart))))
        assert may_reach(layout, frozenset(range(20, 128)), studs=1) is may


def in_a_row(pairs: tuple[tuple[int, int], ...]) -> Train:
    """Each pair in mesh."""
    return Train(tuple(one for one, _ in pairs), tuple(other for _, other in pairs))


def shared_out(chosen: tuple[int, ...], meshes: int) -> list[list[tuple[int, ...]]]:
    """The idlers in the order in which they stand, cut into as many rows as there are meshes."""
    cuts = [at for at in product(range(len(chosen) + 1), repeat=meshes - 1) if list(at) == sorted(at)]
    return [[chosen[one:other] for one, other in pairwise((0, *at, len(chosen)))] for at in cuts]


class TestPlanes:
    """Fewest planes first, and each way once, however the planes are numbered or which side is the front."""

    @in_one("seed", CHAINS)
    def test_every_way_to_give_them_out(self, seed):
        train = a_chain(seed)[1]
        found = plane_choices(train.chain())
        free = not idle_gears(train.chain()) and not any(
            mate_of(one) is not None and other_half(one) == other
            for one, other in zip(train.driven, train.drivers[1:], strict=False)
        )
        canonical = set()
        for planes in ((*way[0], *way[1]) for way in planes_of(train)):
            low, high = min(planes), max(planes)
            if free:  # which is beside which doesn't matter
                names = {plane: n for n, plane in enumerate(dict.fromkeys(planes))}
                canonical.add(tuple(names[plane] for plane in planes))
            elif len({*planes}) == high - low + 1:
                canonical.add(min(tuple(plane - low for plane in planes), tuple(high - plane for plane in planes)))
        assert {*found} == canonical
        assert list(found) == sorted(found, key=lambda way: (max(way), way))
        assert len(found) == len({*found})


class TestGaps:
    @in_one("seed", CHAINS)
    def test_every_gap_by_name_wherever_the_axes_stand(self, seed):
        lathe, train = a_chain(seed)
        draw = random.Random(seed)
        axes = [(draw.uniform(-100, 100), draw.uniform(-100, 100)) for _ in range(train.shafts)]
        planes = draw.choice(plane_choices(train.chain()))
        there = discs(lathe, train, planes[: train.meshes], planes[train.meshes :])
        expected = sorted(room.mm for room in rooms(lathe, train, there, tuple(complex(*axis) for axis in axes)))
        gaps = [gap.mm for gap in every_gap(layout_of(lathe), train.chain(), axes, planes)]
        assert sorted(gaps) == pytest.approx(expected)

    @in_one("seed", CHAINS)
    def test_beside_the_next_axis_everything_clears_or_not(self, seed):
        lathe, train = a_chain(seed)
        layout, chain = layout_of(lathe), train.chain()
        least = bracket_of(lathe).running_clearance_mm - 1e-9
        assert apart_along(layout, chain) == pytest.approx(all_apart(lathe, train))
        assert neighbours_clear(layout, chain, apart_along(layout, chain)) == (min(beside(lathe, train)).mm >= least)

    @in_one("seed", CHAINS)
    def test_the_fewest_planes_that_will_do_in_a_stance_and_the_room_there(self, seed):
        """Axes at random, each as far from the next as the teeth ask."""
        lathe, train = a_chain(seed)
        layout, chain, draw = layout_of(lathe), train.chain(), random.Random(seed)
        along = apart_along(layout, chain)
        lathe = evolve(lathe, bracket=evolve(lathe.bracket, running_clearance_mm=draw.choice([0.0, 1.0])))
        layout = layout_of(lathe)
        if not neighbours_clear(layout, chain, along) or train.shafts < 3:
            return
        loaded, least = Loaded(layout, chain, snugness(layout, chain)), layout.bracket.running_clearance_mm - 1e-9
        for _ in range(3):
            steps = [cmath.rect(mm, draw.uniform(-0.9, 0.9)) for mm in along]
            axes = tuple(accumulate((complex(0, 0), *steps)))
            pairs = [(i, j) for i in range(len(axes)) for j in range(i + 2, len(axes))]
            stance = Stance(
                tuple((axis.real, axis.imag) for axis in axes), 0.0, tuple(abs(axes[i] - axes[j]) for i, j in pairs)
            )
            suits, ways = loaded.comfort(stance), []
            if min(rooms(lathe, train, discs(lathe, train, *each_its_own(train)), axes)).mm < least:
                assert suits is None
                continue
            for one, other in planes_of(train):
                found = list(rooms(lathe, train, discs(lathe, train, one, other), axes))
                if min(found).mm >= least:
                    room = min((room.mm for room in found if room.counts), default=math.inf)
                    ways.append((len({*one, *other}) - 1, -room))
            if suits is None:
                assert not ways
            else:
                assert max(suits[0]) == min(ways)[0]
                assert suits[1] >= least
                assert any(suits[1] == pytest.approx(-room) for planes, room in ways if planes == max(suits[0]))
