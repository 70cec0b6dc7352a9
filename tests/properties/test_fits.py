"""Fits measured and searched for by other means: nothing here uses the package's geometry.

Complex numbers stand for places in mm, the pivot at 0. `measure` takes an answer as it stands and measures every
distance again. `scan` looks for places by brute force: it turns the bracket step by step, feels along every slot for
the places where a mesh closes, and narrows down by halving; no law of cosines, no line-circle formula.
"""

from __future__ import annotations

import cmath
import math
import random
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import combinations, combinations_with_replacement, pairwise, permutations, product

import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Point, Polygon

import gearcalc as gc
from gearcalc.fits import Fit, fit
from gearcalc.lathes import Bracket, Lathe, Slot
from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import place_train
from tests.benches import bench
from tests.how_much import examples, in_one

CLOSE = 1e-6
MARGIN = 1e-3  # by how much brute force has to find room before it counts as room
SETS = ((20, 25, 30, 35, 40, 40, 45, 50, 55, 60, 65, 70, 80), (24, 28, 32, 36, 40, 44, 48, 56, 60, 63, 72, 80, 127))


# The lathes and trains that are tried.


def a_bracket_lathe(rng: random.Random, studs: int | None = None) -> Lathe:
    """A lathe with a bracket like none in particular: some roomy, some that hold hardly anything."""
    module = rng.choice([0.8, 1.0, 1.25, 1.5])
    angle = rng.uniform(0, 2 * math.pi)
    spindle_side = cmath.rect(rng.uniform(60, 140) * module, angle)
    slots = []
    for _ in range(rng.randint(1, 2)):
        start = cmath.rect(rng.uniform(15, 50) * module, rng.uniform(-0.6, 0.6))
        end = cmath.rect(rng.uniform(70, 170) * module, rng.uniform(-0.6, 0.6))
        slots.append(Slot((start.real, start.imag), (end.real, end.imag)))
    middle = math.degrees(angle) - rng.uniform(-20, 80)
    cover = None
    if rng.random() < 0.25:
        cover = tuple(
            (spindle_side.real + x * module, spindle_side.imag + y * module)
            for x, y in ((-170, -190), (170, -190), (190, 150), (0, 200), (-180, 160))
        )
    return bench(
        rng.choice(SETS),
        module_mm=module,
        pressure_angle_deg=rng.choice([14.5, 20.0]),
        spindle_side_at_mm=(spindle_side.real, spindle_side.imag),
        swing_deg=(max(-360.0, middle - rng.uniform(10, 90)), min(360.0, middle + rng.uniform(10, 90))),
        slots=tuple(slots),
        studs=studs or rng.choice([1, 2, 2, 2, 3]),
        stud_radius_mm=rng.uniform(3, 7) * module,
        shaft_radius_mm=rng.uniform(3, 9) * module,
        running_clearance_mm=rng.uniform(0, 1.5),
        backlash_mm=rng.choice([0.0, 0.1, 0.2]),
        cover_mm=cover,
    )


def a_train(rng: random.Random, gears: tuple[int, ...], meshes: int) -> Train:
    while True:
        chosen = rng.sample(gears, 2 * meshes)
        if not set(chosen[:meshes]) & set(chosen[meshes:]):
            return Train(tuple(chosen[:meshes]), tuple(chosen[meshes:]))


def the_bracket(lathe: Lathe) -> Bracket:
    assert lathe.bracket is not None
    return lathe.bracket


def between_axes(lathe: Lathe, teeth: int) -> float:
    """Design of spur gears: half the sum of the pitch diameters, and a little more for the backlash."""
    slack = the_bracket(lathe).backlash_mm / math.tan(math.pi * lathe.gear_set.pressure_angle_deg / 180) / 2
    return (lathe.module_mm or 0) * teeth / 2 + slack


def tip_radius(lathe: Lathe, teeth: int) -> float:
    return (lathe.module_mm or 0) * (teeth + 2) / 2


def on_axes(train: Train) -> list[tuple[int, int, int]]:
    """(axis, mesh, teeth) of every gear."""
    listed, axis = [], 0
    for mesh, (driver, idlers, driven) in enumerate(zip(train.drivers, train.idlers, train.driven, strict=True)):
        listed.append((axis, mesh, driver))
        for teeth in (*idlers, driven):
            axis += 1
            listed.append((axis, mesh, teeth))
    return listed


def room(train: Train, lathe: Lathe, axes: list[complex], planes: tuple[int, ...], mates_too: bool = True) -> float:
    """The smallest gap between parts that must not touch; without those between a gear and its own mate's shaft."""
    bracket, gears = the_bracket(lathe), on_axes(train)
    bars = [bracket.shaft_radius_mm] + [bracket.stud_radius_mm] * (len(axes) - 2) + [bracket.shaft_radius_mm]
    gaps = [
        abs(axes[i] - axes[j]) - bars[i] - bars[j]
        for i, j in combinations(range(len(axes)), 2)
        if (i, j) != (0, len(axes) - 1)
    ]
    for axis, mesh, teeth in gears:
        own = {other for other, its_mesh, _ in gears if its_mesh == mesh and abs(other - axis) == 1}
        others = [i for i in range(len(axes)) if i != axis and (mates_too or i not in own)]
        gaps += [abs(axes[axis] - axes[i]) - tip_radius(lathe, teeth) - bars[i] for i in others]
        if bracket.cover_mm is not None:
            outline, spot = Polygon(bracket.cover_mm), Point(axes[axis].real, axes[axis].imag)
            inside = 1 if outline.contains(spot) else -1
            gaps.append(inside * outline.exterior.distance(spot) - tip_radius(lathe, teeth))
    for (axis, mesh, teeth), (other_axis, other_mesh, other) in combinations(gears, 2):
        mates = mesh == other_mesh and abs(axis - other_axis) == 1
        if axis != other_axis and planes[mesh] == planes[other_mesh] and not mates:
            gaps.append(abs(axes[axis] - axes[other_axis]) - tip_radius(lathe, teeth) - tip_radius(lathe, other))
    return min(gaps)


def measure(asked: Train, lathe: Lathe, found: Fit) -> None:
    """Assert everything that an answer 'goes on' promises."""
    bracket, train = the_bracket(lathe), found.train
    axes = [complex(*axis) for axis in found.axes_mm]
    idlers = [teeth for mesh in train.idlers for teeth in mesh]
    assert sorted(train.drivers) == sorted(asked.drivers)
    assert sorted(train.driven) == sorted(asked.driven)
    assert not Counter(idlers) - (Counter(lathe.gears) - Counter(asked.gears))
    assert axes[0] == complex(*bracket.spindle_side_at_mm)
    assert axes[-1] == 0
    assert len(axes) - 2 == train.meshes - 1 + len(idlers) <= bracket.studs
    assert found.swing_deg is not None
    assert bracket.swing_deg[0] - CLOSE <= found.swing_deg <= bracket.swing_deg[1] + CLOSE
    for stud in axes[1:-1]:
        swung_back = stud * cmath.exp(-1j * math.radians(found.swing_deg))
        assert min(from_slot(swung_back, slot) for slot in bracket.slots) < CLOSE
    axis = 0
    for mesh in train.chain():
        for one, other in pairwise(mesh):
            assert abs(abs(axes[axis] - axes[axis + 1]) - between_axes(lathe, one + other)) < CLOSE
            axis += 1
    assert all(one != other for one, other in pairwise(found.planes))
    assert len(found.planes) == train.meshes
    smallest = room(train, lathe, axes, found.planes)
    assert smallest > bracket.running_clearance_mm - CLOSE
    assert found.clearances_mm[0][2] == pytest.approx(smallest, abs=CLOSE)


def from_slot(place: complex, slot: Slot) -> float:
    start, end = complex(*slot.from_mm), complex(*slot.to_mm)
    along = ((place - start) / (end - start)).real
    return abs(place - start - min(1, max(0, along)) * (end - start))


# Brute force.


def zeros(f: Callable[[float], float], low: float, high: float, steps: int) -> list[float]:
    """Where a smooth function is zero, as far as a grid of so many steps sees it; touching zero counts."""
    xs = [low + (high - low) * k / steps for k in range(steps + 1)]
    ys = [f(x) for x in xs]
    found = []
    for (a, fa), (b, fb) in pairwise(zip(xs, ys, strict=True)):
        if fa * fb <= 0:
            found.append(halve(f, a, b, fa))
    for k in range(1, steps):
        (a, fa), fb, (c, fc) = (xs[k - 1], ys[k - 1]), ys[k], (xs[k + 1], ys[k + 1])
        if abs(fb) < min(abs(fa), abs(fc)) and fa * fb > 0 and fb * fc > 0:  # perhaps two zeros between two steps
            turn = least(lambda x: abs(f(x)), a, c)
            if f(turn) * fb <= 0:
                found += [halve(f, a, turn, fa), halve(f, turn, c, f(turn))]
    return found


def halve(f: Callable[[float], float], a: float, b: float, fa: float) -> float:
    for _ in range(50):
        middle = (a + b) / 2
        fm = f(middle)
        if (fm > 0) == (fa > 0):
            a = middle
        else:
            b = middle
    return (a + b) / 2


def least(f: Callable[[float], float], a: float, b: float) -> float:
    for _ in range(60):
        one, other = a + (b - a) / 3, b - (b - a) / 3
        a, b = (a, other) if f(one) < f(other) else (one, b)
    return (a + b) / 2


def scan(train: Train, lathe: Lathe) -> Iterator[list[complex]]:
    """Every way the axes can stand for a train in this very order."""
    bracket = the_bracket(lathe)
    apart = [between_axes(lathe, one + other) for mesh in train.chain() for one, other in pairwise(mesh)]
    spindle_side = complex(*bracket.spindle_side_at_mm)
    low, high = (math.radians(end) for end in bracket.swing_deg)
    for studs in felt_for(bracket, apart[1:]):

        def open_by(swing: float, first: complex = studs[0]) -> float:
            return abs(first * cmath.exp(1j * swing) - spindle_side) - apart[0]

        for swing in zeros(open_by, low, high, 200):
            yield [spindle_side, *(stud * cmath.exp(1j * swing) for stud in studs), 0j]


def felt_for(bracket: Bracket, apart: list[float]) -> Iterator[list[complex]]:
    """Places of the studs in the slots, found by feeling along them, from the pivot outward."""
    if not apart:
        yield []
        return
    for inner in felt_for(bracket, apart[1:]):
        centre = inner[0] if inner else 0j
        for slot in bracket.slots:
            start, end = complex(*slot.from_mm), complex(*slot.to_mm)

            def open_by(share: float, start: complex = start, end: complex = end, centre: complex = centre) -> float:
                return abs(start + share * (end - start) - centre) - apart[0]

            for share in zeros(open_by, 0, 1, 60):
                yield [start + share * (end - start), *inner]


def every_order(train: Train, lathe: Lathe, most_idlers: int) -> Iterator[Train]:
    spare = sorted((Counter(lathe.gears) - Counter(train.gears)).elements())
    for number in range(most_idlers + 1):
        for drivers, driven in product(set(permutations(train.drivers)), set(permutations(train.driven))):
            for idlers in set(permutations(spare, number)):
                for meshes in combinations_with_replacement(range(train.meshes), number):
                    shared = [[i for i, m in zip(idlers, meshes, strict=True) if m == k] for k in range(train.meshes)]
                    yield Train(drivers, driven, shared)


def found_by_force(train: Train, lathe: Lathe, most_idlers: int) -> bool:
    bracket = the_bracket(lathe)
    numbers = range(train.meshes)
    planes = [p for p in product(numbers, repeat=train.meshes) if all(a != b for a, b in pairwise(p))]
    for order in every_order(train, lathe, most_idlers):
        studs = order.meshes - 1 + sum(map(len, order.idlers))
        if not 1 <= studs <= bracket.studs:
            continue
        for axes in scan(order, lathe):
            if any(room(order, lathe, axes, plane) > bracket.running_clearance_mm + MARGIN for plane in planes):
                return True
    return False


seeds = st.integers(0, 2**32 - 1)


class TestGoesOn:
    """What is said to go on does, measured again."""

    @given(seeds)
    def test_random_trains_on_random_brackets(self, seed):
        rng = random.Random(seed)
        lathe = a_bracket_lathe(rng)
        found = None
        for _ in range(10):
            asked = a_train(rng, lathe.gears, rng.choice([1, 2, 2, 3]))
            found = fit(lathe, asked)
            if found.goes_on:
                measure(asked, lathe, found)
        assert found is not None
        assert bool(found.reasons) != found.goes_on

    @in_one("name", ["inch", "metric"])
    @in_one("meshes", [1, 2, 3])
    def test_a_thousand_trains_on_the_demo_lathes(self, name, meshes):
        lathe, rng = gc.demo_lathe(name), random.Random(meshes)
        going_on = 0
        for _ in range(170):
            asked = a_train(rng, lathe.gears, meshes)
            found = fit(lathe, asked)
            if found.goes_on:
                going_on += 1
                measure(asked, lathe, found)
        assert going_on > 150

    @given(seeds)
    @examples(15)
    def test_idlers_named_are_the_idlers_used(self, seed):
        rng = random.Random(seed)
        lathe = gc.demo_lathe(rng.choice(["inch", "metric"]))
        plain = a_train(rng, lathe.gears, rng.choice([1, 2]))
        idler = rng.choice(sorted((Counter(lathe.gears) - Counter(plain.gears)).elements()))
        asked = Train(plain.drivers, plain.driven, (idler,))
        found = fit(lathe, asked)
        assert [teeth for mesh in found.train.idlers for teeth in mesh] == [idler]
        if found.goes_on:
            measure(plain, lathe, found)

    @given(seeds, st.sampled_from(["right", "left"]))
    @examples(15)
    def test_without_a_reverse_the_hand_comes_out(self, seed, hand):
        rng = random.Random(seed)
        lathe = gc.demo_lathe(rng.choice(["inch", "metric"]))
        lathe = evolve(lathe, spindle_side=evolve(lathe.spindle_side, reverse=False))
        asked = a_train(rng, lathe.gears, rng.choice([1, 2, 3]))
        found = fit(lathe, asked, hand=hand)
        assume(found.goes_on)
        measure(asked, lathe, found)
        assert found.train.turns_the_same_way == (hand == "right")


class TestTheBest:
    """What is returned is the best of what the single orders give, each tried alone."""

    @given(seeds)
    @examples(15)
    def test_no_order_gives_a_better_one(self, seed):
        rng = random.Random(seed)
        lathe = a_bracket_lathe(rng, studs=2)
        asked = a_train(rng, lathe.gears, rng.choice([2, 3]))
        found = fit(lathe, asked)
        for drivers, driven in product(permutations(asked.drivers), permutations(asked.driven)):
            alone = fit(lathe, Train(drivers, driven), keep_order=True)
            if alone.goes_on:
                assert found.goes_on
                assert self.less_is_better(found, lathe) <= self.less_is_better(alone, lathe)

    @staticmethod
    def less_is_better(found: Fit, lathe: Lathe) -> tuple[int, bool, int, float]:
        smallest = room(found.train, lathe, [complex(*axis) for axis in found.axes_mm], found.planes, mates_too=False)
        return len(found.train.gears), found.train.steepest > 4, max(found.planes), -round(smallest, 6)


class TestDoesNotGoOn:
    """What is said not to go on is not found by brute force either; and what goes on is found."""

    @given(seeds)
    @examples(20)
    def test_one_stud(self, seed):
        rng = random.Random(seed)
        lathe = a_bracket_lathe(rng, studs=1)
        asked = a_train(rng, lathe.gears, 2)
        self.agree(asked, lathe, most_idlers=0)

    @given(seeds)
    @examples(12)
    def test_one_mesh_and_one_stud(self, seed):
        rng = random.Random(seed)
        lathe = a_bracket_lathe(rng, studs=1)
        asked = a_train(rng, lathe.gears, 1)
        self.agree(asked, lathe, most_idlers=1)

    @given(seeds)
    @examples(12)
    def test_two_studs(self, seed):
        rng = random.Random(seed)
        lathe = a_bracket_lathe(rng, studs=2)
        few = lathe.with_gears(remove=rng.sample(lathe.gears, len(lathe.gears) - 6))
        self.agree(a_train(rng, few.gears, rng.choice([2, 3])), few, most_idlers=1)

    @staticmethod
    def agree(asked: Train, lathe: Lathe, most_idlers: int) -> None:
        found, by_force = fit(lathe, asked), found_by_force(asked, lathe, most_idlers)
        if by_force:
            assert found.goes_on
        elif found.goes_on:  # brute force asks for a hair more room, and its grid may step over two zeros that touch
            bracket = the_bracket(lathe)
            axes = [complex(*axis) for axis in found.axes_mm]
            snug = room(found.train, lathe, axes, found.planes) < bracket.running_clearance_mm + 2 * MARGIN
            assert snug or touching(lathe, found)

    def test_brute_force_finds_the_triangle_worked_by_hand(self):
        """So that the tests above could fail."""
        (axes,) = scan(Train((30, 24), (50, 36)), bench())
        assert axes[1] == pytest.approx(48 + 36j)
        assert found_by_force(Train((30, 24), (50, 36)), bench((24, 30, 36, 50)), most_idlers=0)


def touching(lathe: Lathe, found: Fit) -> bool:
    """Whether a slot's line all but touches its circle, or the swing is all but at its stop or flat."""
    bracket, axes = the_bracket(lathe), [complex(*axis) for axis in found.axes_mm]
    assert found.swing_deg is not None
    ends = [abs(found.swing_deg - stop) < 0.01 for stop in bracket.swing_deg]
    flat = abs(cmath.phase(axes[1] / axes[0])) < 0.01
    tips = [
        abs(stud * cmath.exp(-1j * math.radians(found.swing_deg)) - complex(*end)) < 0.01
        for stud in axes[1:-1]
        for slot in bracket.slots
        for end in (slot.from_mm, slot.to_mm)
    ]
    square = [
        abs(((outer - inner) * (cmath.exp(1j * math.radians(found.swing_deg)) * slot_way(slot)).conjugate()).real)
        < 0.02 * abs(outer - inner)
        for outer, inner in pairwise(axes[1:])
        for slot in bracket.slots
    ]
    return any((*ends, flat, *tips, *square))


def slot_way(slot: Slot) -> complex:
    way = complex(*slot.to_mm) - complex(*slot.from_mm)
    return way / abs(way)


class TestAgainstShapely:
    """Gears as shapes, laid where the answer says."""

    @given(seeds)
    @examples(15)
    def test_discs_of_one_plane_keep_their_distance(self, seed):
        rng = random.Random(seed)
        lathe = a_bracket_lathe(rng)
        bracket = the_bracket(lathe)
        found = fit(lathe, a_train(rng, lathe.gears, rng.choice([1, 2, 3])))
        assume(found.goes_on)
        gears = on_axes(found.train)
        discs = [Point(found.axes_mm[axis]).buffer(tip_radius(lathe, teeth), 256) for axis, _, teeth in gears]
        for ((axis, mesh, _), disc), ((other_axis, other_mesh, _), other) in combinations(
            zip(gears, discs, strict=True), 2
        ):
            same_plane = found.planes[mesh] == found.planes[other_mesh]
            if same_plane and not (mesh == other_mesh and abs(axis - other_axis) == 1):
                assert disc.distance(other) > bracket.running_clearance_mm - CLOSE
        for i, axis in enumerate(found.axes_mm):
            radius = bracket.shaft_radius_mm if i in (0, len(found.axes_mm) - 1) else bracket.stud_radius_mm
            bar = Point(axis).buffer(radius, 256)
            for (own, _, _), disc in zip(gears, discs, strict=True):
                assert own == i or disc.distance(bar) > bracket.running_clearance_mm - CLOSE

    @given(seeds)
    @examples(8)
    def test_teeth_mesh_without_overlap(self, seed):
        rng = random.Random(seed)
        lathe = gc.demo_lathe(rng.choice(["inch", "metric"]))
        found = fit(lathe, a_train(rng, lathe.gears, rng.choice([1, 2, 3])))
        assume(found.goes_on)
        assert lathe.module_mm is not None
        turned = rng.uniform(0, 360)
        placed = place_train(found.train, found.axes_mm, found.planes)
        shapes = [
            Polygon(gear.outline(turned, lathe.module_mm, lathe.gear_set.pressure_angle_deg, backlash_mm=0.0))
            for gear in placed
        ]
        for ((axis, mesh, _), shape), ((other_axis, other_mesh, _), other) in combinations(
            zip(on_axes(found.train), shapes, strict=True), 2
        ):
            if found.planes[mesh] == found.planes[other_mesh]:
                assert shape.intersection(other).area < 1e-9
            if mesh == other_mesh and abs(axis - other_axis) == 1:
                # In mesh: with thicker teeth, by more than the backlash, they would run into each other.
                assert shape.buffer(0.25).intersection(other).area > 0
