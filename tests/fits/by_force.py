"""The fit worked out again by loops, discs and complex numbers, with no code of the fit.

Every order, idler and plane; every place of the studs in their slots, or on the lines of these; every gap; and what is
wrong with a train that stands so, in millimetres and in words. The pivot is at 0, as the bracket file has it.
"""

from __future__ import annotations

import cmath
import math
import random
from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import accumulate, combinations, pairwise, permutations, product
from typing import Any, NamedTuple

from attrs import evolve
from shapely import Point, Polygon

from gearcalc.basics.writing import decimal, distance
from gearcalc.lathes import Bracket, GearSet, Lathe, Slot
from gearcalc.lathes.pieces import kind_of, mate_of, other_half, piece
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.lathes.trains import Train
from tests.benches import bench

TEETH = (20, 24, 30, 36, 40, 44, 50, 60)

Axes = tuple[complex, ...]  # spindle side first, pivot last, mm
Planes = tuple[tuple[int, ...], tuple[int, ...]]  # of each mesh, of each idle gear


class Disc(NamedTuple):
    axis: int
    plane: int
    radius: float
    mesh: int | None  # None for an idle gear
    words: str


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


def a_cramped_lathe(rng: random.Random) -> Lathe:
    """Short slots, a narrow swing, thick shafts, often a cover: most trains don't go on, each for its own reasons."""
    module = rng.choice([1.0, 1.25])
    clusters = [tuple(rng.sample(TEETH, 2)) for _ in range(rng.choice([0, 1, 1]))]
    more = [GearTable(rng.sample(TEETH, 3), module_mm=module * 0.8)]
    fixed = rng.choice([Fixed(), Fixed(), Fixed(), Fixed(first_driver=20)])
    gears = GearSet(
        [20, *rng.sample(TEETH, rng.choice([1, 2, 4]))],
        module_mm=module,
        clusters=clusters,
        fixed=fixed,
        more=rng.choice([(), (), more]),
    )
    angle, apart = math.radians(rng.uniform(40, 110)), rng.uniform(45, 95)
    middle, wide, start = rng.uniform(-60, 90), rng.uniform(0, 60), rng.uniform(10, 60)
    slots = [
        Slot((start, rng.uniform(-15, 15)), (start + rng.uniform(5, 60), rng.uniform(-15, 15))),
        Slot((rng.uniform(-20, 20), rng.uniform(25, 60)), (rng.uniform(30, 90), rng.uniform(25, 60))),
    ]
    reach = rng.uniform(15, 60)
    cover = ((-reach, -reach), (apart + 40, -reach), (apart + 40, apart + 40), (-reach, apart + 40))
    lathe = bench(
        (),
        reverse=rng.random() < 0.5,
        spindle_side_at_mm=(apart * math.cos(angle), apart * math.sin(angle)),
        swing_deg=(middle - wide, middle + wide),
        slots=tuple(slots[: rng.choice([1, 1, 2])]),
        studs=rng.choice([1, 2, 2, 3]),
        stud_radius_mm=rng.uniform(2, 9),
        shaft_radius_mm=rng.uniform(2, 9),
        running_clearance_mm=rng.choice([0.3, 1.0, 3.0]),
        backlash_mm=rng.choice([0.0, 0.2]),
        cover_mm=rng.choice([None, cover]),
    )
    return evolve(lathe, gear_set=gears)


def a_roomy_lathe(rng: random.Random) -> Lathe:
    """Long slots and a wide swing, so that most trains go on, and in several orders."""
    first = rng.sample(TEETH, 6)
    fixed = rng.choice([Fixed(), Fixed(), Fixed(first_driver=first[0]), Fixed(last_driven=first[1])])
    clusters = [tuple(rng.sample(TEETH, 2)) for _ in range(rng.choice([0, 1]))]
    gears = GearSet([*first, rng.choice([20, 80])], module_mm=1.0, clusters=clusters, fixed=fixed)
    slots = [Slot((10.0, rng.uniform(-5, 15)), (130.0, rng.uniform(-30, 30))), Slot((20.0, 40.0), (90.0, 80.0))]
    angle, apart = math.radians(rng.uniform(40, 110)), rng.uniform(60, 120)
    left, top = rng.uniform(15, 60), apart * math.sin(angle) + rng.uniform(15, 60)  # of the cover, near the end shafts
    lathe = bench(
        (),
        reverse=rng.random() < 0.5,
        spindle_side_at_mm=(apart * math.cos(angle), apart * math.sin(angle)),
        swing_deg=(rng.uniform(-150, -50), rng.uniform(60, 150)),
        slots=tuple(slots[: rng.choice([1, 2])]),
        studs=3,
        stud_radius_mm=rng.uniform(2, 4),
        shaft_radius_mm=rng.uniform(2, 6),
        running_clearance_mm=rng.choice([0.3, 1.0]),
        cover_mm=rng.choice([None, ((-left, -80), (170, -80), (170, top), (-left - 40, top))]),
    )
    return evolve(lathe, gear_set=gears)


def a_train(rng: random.Random, lathe: Lathe, meshes: int) -> Train:
    """Any gears that are there, whether or not they can stand together."""
    pieces = list(lathe.gear_set.pieces)
    rng.shuffle(pieces)
    return Train(tuple(pieces[:meshes]), tuple(pieces[meshes : 2 * meshes]))


def with_idlers(rng: random.Random, lathe: Lathe, train: Train, number: int) -> Train:
    """The same with so many of the gears left over named as idlers, no two of them of one cluster."""
    spare = list(lathe.gear_set.left_over(train))
    halves = [gear for gear in spare if mate_of(gear) is not None]
    named = [rng.choice(halves)] if number and halves else []
    spare = [gear for gear in spare if gear not in halves]
    return Train(train.drivers, train.driven, ((*named, *rng.sample(spare, min(number - len(named), len(spare)))),))


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


def all_apart(lathe: Lathe, train: Train) -> list[float]:
    """From axis to axis along the chain."""
    return [apart(lathe, one, other) for mesh in train.chain() for one, other in pairwise(mesh)]


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
    """Every order, with so many idlers of those left over; with those that the train names, where it names some."""
    seen, named = set(), [gear for mesh in train.idlers for gear in mesh]
    spare = list(named or lathe.gear_set.pieces)
    for gear in () if named else train.gears:
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
                    may = named or (owned(lathe, made) and loose_first(lathe, made))
                    if made not in seen and may and may_stand(lathe, made):
                        seen.add(made)
                        yield made


def numbers_of_idlers(lathe: Lathe, train: Train, hand: str | None = None) -> list[int]:
    """How many are tried: those named; else so many that both shafts can be reached, one more where the hand asks."""
    way = None if hand is None or lathe.spindle_side.reverse else hand == "right"
    least = 1 if train.meshes == 1 else 0
    most = 2 if train.meshes == 1 or (train.meshes == 2 and way) else 1
    tried = [train.idler_count] if train.idler_count else range(least, most + 1)
    there = [number for number in tried if train.meshes - 1 + number <= bracket_of(lathe).studs]
    return [number for number in there if way is None or way == ((train.meshes + number) % 2 == 0)]


def in_mesh(one: Disc, other: Disc) -> bool:
    return one.mesh is not None and one.mesh == other.mesh and abs(one.axis - other.axis) == 1


def shaft_names(lathe: Lathe, train: Train) -> list[str]:
    words = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
    between = ["stud"] if train.shafts == 3 else [f"{word} stud" for word in words[: train.shafts - 2]]
    return ["spindle side", *between, lathe.last_shaft]


def bar_names(lathe: Lathe, train: Train) -> list[str]:
    """Of shafts and studs themselves, not of what is on them."""
    where = shaft_names(lathe, train)
    return ["spindle-side shaft", *where[1:-1], f"{where[-1]} shaft"]


def discs(lathe: Lathe, train: Train, planes: tuple[int, ...], idle_planes: tuple[int, ...]) -> list[Disc]:
    """Gears that mesh, along the chain, and then the idle ones."""
    found, lying, axis, idle, where = [], [], 0, iter(idle_planes), shaft_names(lathe, train)
    for mesh, gears in enumerate(train.chain()):
        for place, gear in enumerate(gears):
            axis += place > 0
            words = f"{gear} on the {where[axis]}"
            if 0 < place < len(gears) - 1:
                words = f"idler {gear}" if len(where) == 3 else f"idler {words}"
                if mate_of(gear) is not None:
                    other = other_half(gear)
                    low, high = sorted((int(gear), int(other)))
                    called = f"idle {other} of the cluster {low}–{high}"
                    lying.append(Disc(axis, next(idle), tips(lathe, other), None, called))
            found.append(Disc(axis, planes[mesh], tips(lathe, gear), mesh, words))
    return found + lying


class Room(NamedTuple):
    """Between two that must not touch, mm; `counts`: not of two bars, nor of a gear and its own mate's bar."""

    mm: float
    one: str
    other: str
    counts: bool = True


@cache
def outline(corners: tuple[tuple[float, float], ...]) -> Polygon:
    return Polygon(corners)


def deep_inside(corners: tuple[tuple[float, float], ...], place: complex) -> float:
    room, here = outline(corners), Point(place.real, place.imag)
    return (1 if room.contains(here) else -1) * room.exterior.distance(here)


def rooms(lathe: Lathe, train: Train, there: list[Disc], axes: Axes) -> Iterator[Room]:
    """Between all that must not touch."""
    bracket, last, names = bracket_of(lathe), len(axes) - 1, bar_names(lathe, train)
    bars = [bracket.shaft_radius_mm if n in (0, last) else bracket.stud_radius_mm for n in range(len(axes))]
    for i, j in combinations(range(len(axes)), 2):
        if (i, j) != (0, last):
            yield Room(abs(axes[i] - axes[j]) - bars[i] - bars[j], names[i], names[j], counts=False)
    for disc in there:
        mates = {other.axis for other in there if in_mesh(disc, other)}
        for n, axis in enumerate(axes):
            if n != disc.axis:
                yield Room(abs(axes[disc.axis] - axis) - disc.radius - bars[n], disc.words, names[n], n not in mates)
        if bracket.cover_mm is not None:
            yield Room(deep_inside(bracket.cover_mm, axes[disc.axis]) - disc.radius, disc.words, "cover")
    yield from in_one_plane(there, axes)


def in_one_plane(there: list[Disc], axes: Axes) -> Iterator[Room]:
    """Between gears that don't mesh."""
    for one, other in combinations(there, 2):
        if one.plane == other.plane and one.axis != other.axis and not in_mesh(one, other):
            yield Room(abs(axes[one.axis] - axes[other.axis]) - one.radius - other.radius, one.words, other.words)


def planes_of(train: Train) -> Iterator[Planes]:
    """Every way to give out planes: meshes that follow one another differ, a cluster's two gears lie side by side."""
    idle = [mesh for mesh, gears in enumerate(train.idlers) for gear in gears if mate_of(gear) is not None]
    for planes in product(range(train.meshes + len(idle)), repeat=train.meshes):
        if any(one == other for one, other in pairwise(planes)):
            continue
        pairs = enumerate(zip(train.driven, train.drivers[1:], strict=False))
        clusters = [n for n, (one, other) in pairs if mate_of(one) is not None and other_half(one) == other]
        if any(abs(planes[n] - planes[n + 1]) != 1 for n in clusters):
            continue
        for sides in product((-1, 1), repeat=len(idle)):
            yield planes, tuple(planes[mesh] + side for mesh, side in zip(idle, sides, strict=True))


def each_its_own(train: Train) -> Planes:
    """No two in one plane: what touches then does so in any."""
    return tuple(range(train.meshes)), tuple(range(train.meshes, train.meshes + train.idler_count))


# Where the axes can stand, and what is wrong there.


class Wrong(NamedTuple):
    """Millimetres that are missing, and how it is said."""

    mm: float
    words: str


class Stand(NamedTuple):
    """A way to stand: the axes, spindle side first, and the swing, None where a mesh can't close; what is wrong."""

    axes: Axes | None
    swing: float | None
    wrong: tuple[Wrong, ...]

    @property
    def missing(self) -> float:
        return sum(each.mm for each in self.wrong)


def crossings(slot: Slot, centre: complex, radius: float) -> tuple[complex, complex, list[float], float]:
    """A slot's start and direction; where its line comes so near a place, along it; by how much it passes too far."""
    start, end = complex(*slot.from_mm), complex(*slot.to_mm)
    way = (end - start) / abs(end - start)
    seen = (centre - start) / way  # the slot laid along the real axis
    if abs(seen.imag) > radius:
        return start, way, [], abs(seen.imag) - radius
    half = math.sqrt(radius**2 - seen.imag**2)
    return start, way, [seen.real - half, seen.real + half], 0.0


def stands(lathe: Lathe, train: Train, *, beyond: bool) -> Iterator[Stand]:
    """Every way to stand; with those `beyond` as if slots and swing had no ends, each mesh as near to right as can be
    from the pivot on."""
    along = all_apart(lathe, train)
    mates = [(one, other) for mesh in named_chain(lathe, train) for one, other in pairwise(mesh)]
    names = shaft_names(lathe, train)

    def outward(studs: list[complex], wrong: list[Wrong]) -> Iterator[Stand]:
        axis = len(along) - 1 - len(studs)  # that of the stud to be placed
        if axis == 0:
            closed = swung(lathe, along[0], mates[0], studs, wrong)
            yield from (stand for stand in closed if beyond or not stand.wrong)
            return
        for number, slot in enumerate(bracket_of(lathe).slots):
            start, way, places, off = crossings(slot, studs[0] if studs else 0j, along[axis])
            if not places and beyond:
                here, there = mates[axis]
                words = (
                    f"No slot comes near enough for the {here} to mesh with the {there}: {distance(off)} are missing."
                )
                yield Stand(None, None, (*wrong, Wrong(off, words)))
            for place in places:
                length = abs(complex(*slot.to_mm) - start)
                slips, stud = max(-place, place - length), start + place * way
                if slips <= 1e-9:
                    yield from outward([stud, *studs], wrong)
                if slips <= 1e-9 or not beyond:
                    continue
                end, other = (start, start + length * way) if place < 0 else (start + length * way, start)
                which = "outer" if abs(end) >= abs(other) else "inner"
                slots = ["the slot"] if len(bracket_of(lathe).slots) == 1 else ["the first slot", "the second slot"]
                words = f"The {names[axis]} would stand {distance(slips)} beyond the {which} end of {slots[number]}."
                yield from outward([stud, *studs], [Wrong(slips, words), *wrong])

    yield from outward([], [])


def swung(lathe: Lathe, mm: float, mates: tuple[str, str], studs: list[complex], wrong: list[Wrong]) -> Iterator[Stand]:
    """The last mesh closed by the swing; beyond a stop, if need be, as little as can be."""
    bracket = bracket_of(lathe)
    spindle, first = complex(*bracket.spindle_side_at_mm), studs[0]
    nearest, farthest = abs(abs(spindle) - abs(first)), abs(spindle) + abs(first)
    if not nearest <= mm <= farthest:
        off = nearest - mm if mm < nearest else mm - farthest
        how = f"stays {distance(off)} short of" if mm < nearest else f"is {distance(off)} too near to mesh with"
        words = f"Wherever the bracket swings, the {mates[1]} {how} the {mates[0]}."
        yield Stand(None, None, (*wrong, Wrong(off, words)))
        return
    low, high = bracket.swing_deg
    angle = math.acos((abs(spindle) ** 2 + abs(first) ** 2 - mm**2) / (2 * abs(spindle) * abs(first)))
    for turn in (angle, -angle):
        swing = math.degrees(cmath.phase(spindle * cmath.rect(1, turn) / first))
        turns = [swing + 360 * whole for whole in range(-3, 4)]
        swing = min(turns, key=lambda each: (max(low - each, each - high, 1e-9), abs(each)))
        axes = (spindle, *(stud * cmath.rect(1, math.radians(swing)) for stud in studs), 0j)
        over = max(low - swing, swing - high)
        if over <= 1e-9:
            yield Stand(axes, swing, tuple(wrong))
            continue
        places, stop = 0 if over >= 1 else 2, low if swing < low else high
        words = f"The bracket would have to swing to {decimal(swing, places)}°, and it stops at {decimal(stop, 2)}°."
        yield Stand(axes, swing, (*wrong, Wrong(math.radians(over) * abs(first), words)))


def named_chain(lathe: Lathe, train: Train) -> list[list[str]]:
    words = [disc.words for disc in discs(lathe, train, (0,) * train.meshes, (0,) * 9) if disc.mesh is not None]
    return [[words.pop(0) for _ in mesh] for mesh in train.chain()]


def fouls(lathe: Lathe, train: Train, planes: Planes, axes: Axes | None) -> list[Wrong]:
    """The worst first; where the axes can't be placed what fouls all the same, the ends being where they are."""
    clearance, found = bracket_of(lathe).running_clearance_mm, []
    there = discs(lathe, train, *planes)
    last = train.shafts - 1
    moving = {disc.words for disc in there if 0 < disc.axis < last} | set(shaft_names(lathe, train)[1:-1])
    ends = (complex(*bracket_of(lathe).spindle_side_at_mm), *[0j] * last)
    for room in rooms(lathe, train, there, ends if axes is None else axes):
        if room.mm < clearance - 1e-9 and (axes is not None or not {room.one, room.other} & moving):
            if room.mm >= 0:
                left = distance(room.mm, beside=clearance)
                words = f"would be only {left} from the {room.other}, and {distance(clearance)} must be left."
            else:
                words = f"fouls the {room.other} by {distance(-room.mm)}."
            found.append(Wrong(clearance - room.mm, f"The {room.one} {words}"))
    return sorted(found, key=lambda each: -each.mm)


class Misfit(NamedTuple):
    """What is wrong with an arrangement where it stands, in mm and in sentences."""

    missing: float
    train: Train
    stand: Stand
    planes: Planes
    fouled: tuple[Wrong, ...]

    @property
    def wrong(self) -> tuple[Wrong, ...]:
        return (*self.stand.wrong, *self.fouled)


def misfits(lathe: Lathe, train: Train, less_than: float = math.inf) -> Iterator[Misfit]:
    """Every way to stand of a train in just this order, every way to give out planes."""
    for stand in stands(lathe, train, beyond=True):
        for planes in planes_of(train) if stand.missing <= less_than else ():
            fouled = fouls(lathe, train, planes, stand.axes)
            missing = stand.missing + sum(each.mm for each in fouled)
            yield Misfit(missing, train, stand, planes, tuple(fouled))


# A train set by hand.


class Hand(NamedTuple):
    """How far the bracket is swung, and each stud's slot and how far along it, from the spindle side; the axes then."""

    swing: float
    studs: tuple[tuple[int, float], ...]
    axes: Axes


def hands(lathe: Lathe, train: Train) -> Iterator[Hand]:
    """Every way to bring the studs, from the pivot outward, as near to right as slots let them, and then the swing."""
    along = all_apart(lathe, train)
    spindle, (low, high) = complex(*bracket_of(lathe).spindle_side_at_mm), bracket_of(lathe).swing_deg

    def outward(studs: list[complex], at: list[tuple[int, float]]) -> Iterator[tuple[list[complex], list[Any]]]:
        if len(studs) == len(along) - 1:
            yield studs, at
            return
        centre = studs[0] if studs else 0j
        for number, slot in enumerate(bracket_of(lathe).slots):
            start, way, places, _ = crossings(slot, centre, along[len(along) - 1 - len(studs)])
            length = abs(complex(*slot.to_mm) - start)
            for place in places or [((centre - start) / way).real]:
                kept = min(max(place, 0.0), length)
                yield from outward([start + kept * way, *studs], [(number, kept), *at])

    for studs, at in outward([], []):
        swings = {min(max(0.0, low), high)} if not studs else set()
        if studs:
            arm, reach = abs(studs[0]), abs(spindle)
            cosine = (arm**2 + reach**2 - along[0] ** 2) / (2 * arm * reach)
            angle = math.acos(min(1.0, max(-1.0, cosine)))  # at the limits the stud is in line with the two shafts
            for turn in (angle, -angle):
                swing = math.degrees(cmath.phase(spindle * cmath.rect(1, turn) / studs[0]))
                swings |= {each for each in (swing - 360, swing, swing + 360) if low <= each <= high}
        for swing in swings or {low, high}:
            axes = (spindle, *(stud * cmath.rect(1, math.radians(swing)) for stud in studs), 0j)
            yield Hand(swing, tuple(at), axes)


def missing_by_hand(lathe: Lathe, train: Train, axes: Axes) -> float:
    """Millimetres by which the meshes are out, and what fouls in the planes in which the least does."""
    along = all_apart(lathe, train)
    off = sum(abs(abs(one - other) - mm) for mm, (one, other) in zip(along, pairwise(axes), strict=True))
    return off + min(sum(each.mm for each in fouls(lathe, train, planes, axes)) for planes in planes_of(train))


Rank = tuple[bool, int, float]


def best_rank(lathe: Lathe, train: Train) -> Rank | None:
    """In just this order: too steep, planes less one, and with its sign turned the most room that there is, what mates
    leave of each other's shafts uncounted; None where something touches wherever the axes stand."""
    clearance, ranks = bracket_of(lathe).running_clearance_mm, []
    steep = any(max(mesh[0], mesh[-1]) > 4 * min(mesh[0], mesh[-1]) for mesh in train.chain())
    alone, together = discs(lathe, train, *each_its_own(train)), list(planes_of(train))
    for axes in (stand.axes for stand in stands(lathe, train, beyond=False) if stand.axes):
        anyway = list(rooms(lathe, train, alone, axes))
        for meshing, idle in together if min(anyway).mm >= clearance - 1e-9 else ():
            planes = (*meshing, *idle)
            lying = iter(idle)
            there = [disc._replace(plane=next(lying) if disc.mesh is None else meshing[disc.mesh]) for disc in alone]
            found = [*anyway, *in_one_plane(there, axes)]
            if min(found).mm >= clearance - 1e-9:
                least = min((room.mm for room in found if room.counts), default=math.inf)
                ranks.append((steep, len({*planes}) - 1, -least))
    return min(ranks, default=None)


def beside(lathe: Lathe, train: Train) -> list[Room]:
    """Between what is on an axis and the bars of the next, which stand as far away as the teeth ask."""
    row = tuple(accumulate(all_apart(lathe, train)))
    there = discs(lathe, train, *each_its_own(train))
    where = {disc.words: disc.axis for disc in there}
    bars = {name: axis for axis, name in enumerate(bar_names(lathe, train))}
    every = [room for room in rooms(lathe, train, there, (0j, *row)) if room.one in where and room.other in bars]
    return [room for room in every if abs(where[room.one] - bars[room.other]) == 1]


def may_go_on(lathe: Lathe, train: Train) -> bool:
    """Whether studs can stand and the swing closes, and nothing fouls the bars beside it, nor on an end shaft the other
    end's shaft or the cover; whatever else may foul."""
    bracket = bracket_of(lathe)
    ends, spindle = tuple(discs(lathe, train, (0,) * train.meshes, (0,) * 9)), complex(*bracket.spindle_side_at_mm)
    gaps = [room.mm for room in beside(lathe, train)]
    for disc in (disc for disc in ends if disc.axis in (0, train.shafts - 1)):
        gaps.append(abs(spindle) - disc.radius - bracket.shaft_radius_mm)
        if bracket.cover_mm is not None:
            gaps.append(deep_inside(bracket.cover_mm, 0j if disc.axis else spindle) - disc.radius)
    clear = min(gaps) >= bracket.running_clearance_mm - 1e-9
    return clear and any(stand.axes for stand in stands(lathe, train, beyond=False))


def most_room(lathe: Lathe, train: Train) -> float:
    """The largest smallest gap that there is wherever the axes can stand, in whatever planes, mm."""
    together = [discs(lathe, train, *planes) for planes in planes_of(train)]
    places = [stand.axes for stand in stands(lathe, train, beyond=False) if stand.axes]
    every = product(places, together)
    return max((min(rooms(lathe, train, there, axes)).mm for axes, there in every), default=-math.inf)


def places_changed(lathe: Lathe, one: Train, other: Train | None) -> int:
    """First driver, first driven, first idler of the second mesh ...: how many hold another gear, or none in one.

    None from a lathe on which nothing is mounted.
    """
    if other is None:
        return 0
    held = []
    for train in (one, other):
        there = {("driver", n): gear for n, gear in enumerate(train.drivers)}
        there |= {("driven", n): gear for n, gear in enumerate(train.driven)}
        there |= {(f"idler {n}", k): gear for n, mesh in enumerate(train.idlers) for k, gear in enumerate(mesh)}
        if lathe.gear_set.fixed.last_driven is not None:
            del there["driven", train.meshes - 1]
        held.append(there)
    return sum(held[0].get(place) != held[1].get(place) for place in {*held[0], *held[1]})
