"""Fits with two sizes of tooth, clusters, a fixed gear and bores, against loops and discs that use no code of the fit.

Where axes can stand for given distances geometry.py says (checked elsewhere); which arrangements there are, and whether
anything touches, is worked out here again: every order, every idler, every plane, gears as discs.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterator
from itertools import combinations, pairwise, permutations, product
from typing import NamedTuple

import pytest
from attrs import evolve
from shapely import Point, Polygon

from gearcalc.fits import Fit, fit
from gearcalc.fits.arrangements import idlers_may_stand
from gearcalc.fits.gaps import snugness
from gearcalc.fits.geometry import Stance, layout_of, ways_to_stand
from gearcalc.lathes import Bracket, GearSet, Lathe, Slot
from gearcalc.lathes.pieces import kind_of, mate_of, other_half, piece
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import Train
from tests.benches import bench
from tests.how_much import THOROUGH, in_one

TEETH = (20, 24, 30, 36, 40, 44, 50, 60)


class Disc(NamedTuple):
    axis: int
    plane: int
    radius: float
    mesh: int | None  # None for an idle gear


def an_odd_lathe(rng: random.Random) -> Lathe:
    module = rng.choice([1.0, 1.25])
    first = rng.sample(TEETH, rng.choice([2, 3, 4]))
    fixed = rng.choice([Fixed(), Fixed(), Fixed(first_driver=first[0]), Fixed(last_driven=first[1])])
    clusters = [tuple(rng.sample(TEETH, 2)) for _ in range(rng.choice([0, 1, 2, 3]))]
    more = [GearTable(rng.sample(TEETH, 3), module_mm=module * 0.8, pressure_angle_deg=rng.choice([14.5, 20.0]))]
    gears = GearSet(first, module_mm=module, clusters=clusters, fixed=fixed, more=rng.choice([(), more]))
    angle = math.radians(rng.uniform(40, 110))
    apart = rng.uniform(45, 100)
    lathe = bench(
        (),
        spindle_side_at_mm=(apart * math.cos(angle), apart * math.sin(angle)),
        swing_deg=(-60.0, 130.0),
        slots=(Slot((15.0, 0.0), (120.0, rng.uniform(-15, 15))),),
        studs=rng.choice([1, 2, 2, 2]),
        stud_radius_mm=rng.uniform(2, 5),
        shaft_radius_mm=rng.uniform(2, 6),
        running_clearance_mm=rng.choice([0.3, 1.0]),
        backlash_mm=rng.choice([0.0, 0.2]),
        cover_mm=rng.choice([None, ((-90, -80), (170, -80), (170, 190), (-90, 190))]),
    )
    return evolve(lathe, gear_set=gears)


def a_train(rng: random.Random, lathe: Lathe, meshes: int) -> Train:
    """Any gears that are there, whether or not they can stand together."""
    pieces = list(lathe.gear_set.pieces)
    rng.shuffle(pieces)
    return Train(tuple(pieces[:meshes]), tuple(pieces[meshes : 2 * meshes]))


def bracket_of(lathe: Lathe) -> Bracket:
    assert lathe.bracket is not None
    return lathe.bracket


def module(lathe: Lathe, gear: int) -> float:
    """From the words of its kind alone."""
    words = kind_of(gear)
    return float(words.split()[1].rstrip(",")) if words.startswith("module") else lathe.module_mm or 0.0


def angle_of(gear: int) -> float:
    return 14.5 if "14.5" in kind_of(gear) else 20.0


def apart(lathe: Lathe, one: int, other: int) -> float:
    play = bracket_of(lathe).backlash_mm / (2 * math.tan(math.radians(angle_of(one))))
    return module(lathe, one) * (int(one) + int(other)) / 2 + play


def tips(lathe: Lathe, gear: int) -> float:
    return module(lathe, gear) * (int(gear) + 2) / 2


def same_size(lathe: Lathe, *gears: int) -> bool:
    return len({(module(lathe, gear), angle_of(gear)) for gear in gears}) == 1


def may_stand(lathe: Lathe, train: Train) -> bool:
    """The rules of the lathe file, for a train in just this order."""
    gear_set = lathe.gear_set
    first, last = train.drivers[0], train.driven[-1]
    if gear_set.fixed.first_driver is not None and first != gear_set.fixed.first_driver:
        return False
    if gear_set.fixed.last_driven is not None and last != gear_set.fixed.last_driven:
        return False
    if any(mate_of(end) is not None for end in (first, last)):
        return False
    for driven, driver in zip(train.driven, train.drivers[1:], strict=False):
        halves = [gear for gear in (driven, driver) if mate_of(gear) is not None]
        if halves and other_half(driven) != driver:
            return False
    return all(same_size(lathe, *mesh) for mesh in train.chain())


def owned(lathe: Lathe, train: Train) -> bool:
    """Loose gears by count; each cluster once, for its pair or for its idler."""
    loose = Counter(gear for gear in train.gears if mate_of(gear) is None)
    clusters: Counter[tuple[int, ...]] = Counter()
    for driven in train.driven:
        if mate_of(driven) is not None:
            clusters[tuple(sorted((driven, other_half(driven))))] += 1
    for mesh in train.idlers:
        for gear in mesh:
            if mate_of(gear) is not None:
                clusters[tuple(sorted((gear, other_half(gear))))] += 1
    return not loose - Counter(lathe.gear_set.loose) and not clusters - lathe.gear_set.pairs


def loose_first(lathe: Lathe, train: Train) -> bool:
    """No half of a cluster is an idler where a loose gear of its size and count is left."""
    left = Counter(lathe.gear_set.loose) - Counter(train.gears)
    return not any(left[piece(gear, kind_of(gear))] for mesh in train.idlers for gear in mesh if mate_of(gear))


def arrangements(lathe: Lathe, train: Train, idlers: int) -> Iterator[Train]:
    seen = set()
    spare = list(lathe.gear_set.pieces)
    for gear in train.gears:
        if gear in spare:
            spare.remove(gear)
    for over, under in product(set(permutations(train.drivers)), set(permutations(train.driven))):
        for chosen in set(permutations(spare, idlers)):
            for places in product(range(train.meshes), repeat=idlers):
                if list(places) == sorted(places):
                    between = tuple(
                        tuple(gear for gear, place in zip(chosen, places, strict=True) if place == mesh)
                        for mesh in range(train.meshes)
                    )
                    made = Train(over, under, between)
                    if made not in seen and owned(lathe, made) and loose_first(lathe, made) and may_stand(lathe, made):
                        seen.add(made)
                        yield made


def in_mesh(one: Disc, other: Disc) -> bool:
    return one.mesh is not None and one.mesh == other.mesh and abs(one.axis - other.axis) == 1


def discs(lathe: Lathe, train: Train, planes: tuple[int, ...], idle_planes: tuple[int, ...]) -> list[Disc]:
    found, axis, idle = [], 0, iter(idle_planes)
    for mesh, gears in enumerate(train.chain()):
        for place, gear in enumerate(gears):
            axis += place > 0
            found.append(Disc(axis, planes[mesh], tips(lathe, gear), mesh))
            if 0 < place < len(gears) - 1 and mate_of(gear) is not None:
                found.append(Disc(axis, next(idle), tips(lathe, other_half(gear)), None))
    return found


def smallest_gap(lathe: Lathe, there: list[Disc], axes: tuple[tuple[float, float], ...], counted: bool) -> float:
    """Between all that must not touch; `counted`: also those between a gear and its own mate's shaft."""
    bracket, last = bracket_of(lathe), len(axes) - 1
    radii = [bracket.shaft_radius_mm if n in (0, last) else bracket.stud_radius_mm for n in range(len(axes))]
    gaps = [
        Point(axes[i]).distance(Point(axes[j])) - radii[i] - radii[j]
        for i, j in combinations(range(len(axes)), 2)
        if counted and (i, j) != (0, last)
    ]
    for disc in there:
        here = Point(axes[disc.axis])
        mates = {
            o.axis for o in there if disc.mesh is not None and o.mesh == disc.mesh and abs(o.axis - disc.axis) == 1
        }
        for n in range(len(axes)):
            if n != disc.axis and (counted or n not in mates):
                gaps.append(here.distance(Point(axes[n])) - disc.radius - radii[n])
        if bracket.cover_mm is not None:
            room = Polygon(bracket.cover_mm)
            gaps.append((1 if room.contains(here) else -1) * room.exterior.distance(here) - disc.radius)
    for one, other in combinations(there, 2):
        if one.plane == other.plane and one.axis != other.axis and not in_mesh(one, other):
            gaps.append(Point(axes[one.axis]).distance(Point(axes[other.axis])) - one.radius - other.radius)
    return min(gaps)


def planes_of(train: Train) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every way to give out planes: meshes that follow one another differ, a cluster's two gears lie side by side."""
    idle = [mesh for mesh, gears in enumerate(train.idlers) for gear in gears if mate_of(gear) is not None]
    for planes in product(range(train.meshes + len(idle)), repeat=train.meshes):
        if any(one == other for one, other in pairwise(planes)):
            continue
        clusters = [n for n in range(train.meshes - 1) if mate_of(train.driven[n]) is not None]
        if any(abs(planes[n] - planes[n + 1]) != 1 for n in clusters):
            continue
        for sides in product((-1, 1), repeat=len(idle)):
            yield planes, tuple(planes[mesh] + side for mesh, side in zip(idle, sides, strict=True))


Rank = tuple[bool, int, float]


def best_rank(lathe: Lathe, train: Train) -> Rank | None:
    """In just this order: too steep, planes less one, and with its sign turned the most room that there is, what mates
    leave of each other's shafts uncounted; None where something touches wherever the axes stand."""
    layout, clearance = layout_of(lathe), bracket_of(lathe).running_clearance_mm
    along = tuple(apart(lathe, one, other) for mesh in train.chain() for one, other in pairwise(mesh))
    steep = any(max(mesh[0], mesh[-1]) > 4 * min(mesh[0], mesh[-1]) for mesh in train.chain())
    ranks = []
    for way in ways_to_stand(layout, along, beyond=False):
        if way.swing is not None:
            axes = Stance.at(layout, way.studs.at, way.swing).axes
            for planes, idle_planes in planes_of(train):
                there = discs(lathe, train, planes, idle_planes)
                if smallest_gap(lathe, there, axes, counted=True) >= clearance - 1e-9:
                    room = smallest_gap(lathe, there, axes, counted=False)
                    ranks.append((steep, len({*planes, *idle_planes}) - 1, -room))
    return min(ranks, default=None)


def a_case(seed: int) -> tuple[Lathe, Train, list[int]]:
    """A lathe, a train whose gears can stand in some order, and the numbers of idlers to try."""
    rng = random.Random(seed)
    while True:
        lathe = an_odd_lathe(rng)
        meshes = rng.choice([1, 2])
        if len(lathe.gear_set.pieces) >= 2 * meshes + 1:
            train = a_train(rng, lathe, meshes)
            if meshes == 2 and rng.random() < 0.5 and all(mate_of(gear) is None for gear in train.gears):
                continue  # so that clusters come often enough
            if lathe.gear_set.orders(train.drivers, train.driven) and owned(lathe, train):
                numbers = [1, 2] if meshes == 1 else [0, 1]
                return lathe, train, [n for n in numbers if meshes - 1 + n <= bracket_of(lathe).studs]


def measured(lathe: Lathe, found: Fit) -> None:
    """What an answer says of itself holds when it is measured again."""
    train = found.train
    assert may_stand(lathe, train)
    assert owned(lathe, train)
    along = [apart(lathe, one, other) for mesh in train.chain() for one, other in pairwise(mesh)]
    assert [math.dist(one, other) for one, other in pairwise(found.axes_mm)] == pytest.approx(along)
    idle = [mesh for mesh, gears in enumerate(train.idlers) for gear in gears if mate_of(gear) is not None]
    for (_, _, plane), mesh in zip(found.idle_gears, idle, strict=True):
        assert abs(plane - found.planes[mesh]) == 1
    for n, (driven, one, other) in enumerate(zip(train.driven, found.planes, found.planes[1:], strict=False)):
        assert one != other
        assert mate_of(driven) is None or abs(one - other) == 1, n
    there = discs(lathe, train, found.planes, tuple(plane for _, _, plane in found.idle_gears))
    gap = smallest_gap(lathe, there, found.axes_mm, counted=True)
    assert gap >= bracket_of(lathe).running_clearance_mm - 1e-6
    assert found.clearances_mm[0][2] == pytest.approx(gap, abs=1e-6)


class TestAgainstEveryArrangement:
    @in_one("seed", range(1200 if THOROUGH else 120))
    def test_the_best_with_the_fewest_idlers(self, seed):
        self.is_the_best(seed, keep_order=False)

    @in_one("seed", range(1500 if THOROUGH else 150))
    def test_the_best_in_the_order_given(self, seed):
        """Of gears that may stand in any order: the one given is not judged by what is fixed or in one piece."""
        if a_case(seed)[0].gear_set.anything_goes:
            self.is_the_best(seed, keep_order=True)

    def is_the_best(self, seed: int, *, keep_order: bool) -> None:
        lathe, train, numbers = a_case(seed)
        found = fit(lathe, train, keep_order=keep_order)
        for idlers in numbers:
            made_of_it = [
                made
                for made in arrangements(lathe, train, idlers)
                if not keep_order or (made.drivers, made.driven) == (train.drivers, train.driven)
            ]
            ranks = {made: best_rank(lathe, made) for made in made_of_it}
            there = {made: rank for made, rank in ranks.items() if rank is not None}
            if there:
                assert found.goes_on
                assert found.train.idler_count == idlers
                measured(lathe, found)
                steep, planes, room = there[found.train]
                best = min(there.values())
                assert (steep, planes) == best[:2]
                assert room == pytest.approx(best[2], abs=1e-6)
                return
        assert not found.goes_on
        assert found.reasons

    def test_the_cases_are_of_every_kind(self):
        """Else the test above would say little."""
        kinds = Counter[str]()
        for seed in range(120):
            lathe, train, _ = a_case(seed)
            found = fit(lathe, train)
            kinds["goes on"] += found.goes_on
            kinds["does not"] += not found.goes_on
            if found.goes_on:
                kinds["idle gear"] += bool(found.idle_gears)
                kinds["cluster in a pair"] += any(mate_of(gear) is not None for gear in found.train.driven)
                kinds["another size"] += any("module" in kind_of(gear) for gear in found.train.gears)
                kinds["fixed"] += lathe.gear_set.fixed != Fixed()
        assert min(kinds[kind] for kind in ("goes on", "does not", "idle gear", "another size", "fixed")) >= 3
        assert kinds["cluster in a pair"] >= 1


class TestSnugness:
    """The teeth fix how far apart neighbours stand: whatever else is on a stud must clear the shaft beside it."""

    @in_one("seed", range(100))
    def test_of_each_axis_beside_the_next(self, seed):
        draw = random.Random(seed)
        lathe = an_odd_lathe(draw)
        layout, gears = layout_of(lathe), list(lathe.gear_set.pieces)
        chain = tuple(self.of_one_kind(draw, gears) for _ in range(draw.choice((1, 2, 3))))
        axes: list[list[int]] = [[chain[0][0]]]  # what is on each of them
        apart = []
        for place, mesh in enumerate(chain):
            if place:
                axes[-1].append(mesh[0])
            for one, other in pairwise(mesh):
                apart.append((layout.apart(one, other), one, other))
                axes.append([other])
            for on, gear in zip(axes[-len(mesh) + 1 : -1], mesh[1:-1], strict=True):
                on += [other_half(gear)] if mate_of(gear) is not None else []
        bars = [layout.bracket.shaft_radius_mm, *[layout.bracket.stud_radius_mm] * (len(axes) - 2)]
        bars.append(layout.bracket.shaft_radius_mm)
        gaps = [math.inf]
        for left, (mm, one, other) in enumerate(apart):
            for mine, its, on in ((one, bars[left + 1], axes[left]), (other, bars[left], axes[left + 1])):
                others = Counter(on) - Counter([mine])
                gaps += [mm - layout.outside_radius(gear) - its for gear in others]
        assert snugness(layout, chain) == pytest.approx(min(gaps))

    def of_one_kind(self, draw: random.Random, gears: list[int]) -> tuple[int, ...]:
        """Of a mesh, which goes on as far as teeth go."""
        first = draw.choice(gears)
        alike = [gear for gear in gears if kind_of(gear) == kind_of(first)]
        return (first, *(draw.choice(alike) for _ in range(draw.choice((1, 1, 2, 3)))))


class TestWorkedByHand:
    """Module 1, no backlash: z₁ + z₂ teeth stand (z₁ + z₂)/2 mm apart. The shafts are 60 mm apart."""

    def lathe(self, clusters: list[tuple[int, int]], **more: object) -> Lathe:
        bracket = {"spindle_side_at_mm": (0.0, 60.0), "swing_deg": (-10.0, 90.0), "studs": 1, "backlash_mm": 0.0}
        bracket |= {"slots": (Slot((5.0, 0.0), (80.0, 0.0)),), "shaft_radius_mm": 4.0, "stud_radius_mm": 4.0, **more}
        return evolve(bench((), **bracket), gear_set=GearSet([30, 40], module_mm=1, clusters=clusters))  # type: ignore[arg-type]

    def test_an_idle_gear_that_would_reach_a_shaft_keeps_the_train_off(self):
        """The 50 as idler stands 45 mm from the 40's shaft, 40 mm from the 30's. An idle 74 reaches 38 mm of these 40:
        2 mm short of its middle, deep in a shaft of radius 4."""
        assert fit(self.lathe([(50, 44)]), "30/40").goes_on
        found = fit(self.lathe([(50, 74)]), Train((30,), (40,), (piece(50, mate=74),)))
        assert not found.goes_on
        assert "The idle 74 of the cluster 50–74 fouls the spindle-side shaft by 2 mm." in found.reasons

    def test_its_gaps_are_named(self):
        """44 teeth reach 23 mm: 17 mm from the middle of the shaft 40 mm away, so 13 mm from the shaft."""
        found = fit(self.lathe([(50, 44)]), "30/40")
        assert found.idle_gears == ((piece(44, mate=50), 1, 1),)
        named = {(one, other): mm for one, other, mm in found.clearances_mm}
        assert named["idle 44 of the cluster 44–50", "spindle-side shaft"] == pytest.approx(13.0)

    def test_half_a_cluster_is_an_idler_once_its_loose_like_is_used_or_there_is_none(self):
        gears, half = GearSet([20, 30, 40, 60], module_mm=1, clusters=[(40, 50)]), piece(40, mate=50)
        spare = tuple(gear for gear in gears.pieces if gear not in (20, 30))
        assert idlers_may_stand(gears, ((20, 40, half, 30),), spare)
        assert idlers_may_stand(gears, ((20, half, 40, 30),), spare)
        assert idlers_may_stand(gears, ((20, 40, 30), (20, half, 30)), spare)
        assert not idlers_may_stand(gears, ((20, half, 30),), spare)
        assert not idlers_may_stand(gears, ((20, 60, half, 30),), spare)
        assert not idlers_may_stand(gears, ((20, half, 40, half, 30),), spare)  # there is but one
        assert idlers_may_stand(gears, ((20, half, 30),), (half, 60))

    def test_a_fixed_gear_that_is_not_there_leaves_no_order(self):
        gears = GearSet([20, 30, 40, 50], module_mm=1, fixed=Fixed(first_driver=20))
        found = fit(evolve(self.lathe([]), gear_set=gears), "30/40")
        assert not found.goes_on
        said = (
            "In no order can 30 and 40 stand together on this lathe. As they are given, the first driver is fixed: 20"
        )
        assert found.reasons[0].startswith(said)
