"""Every way to put a train on: order of the gears, idlers, planes; and how near its parts then come to one another.

The order of drivers and of driven gears changes nothing about the ratio, so every order is tried. Idlers change
reach and direction; those that a train names are used, in any mesh, and no others; a train that names none is given
as few as will do, from the gears that the lathe has left over. Meshes that follow one another lie in different planes;
shafts and studs pass through all planes, and gears on the spindle side and on the leadscrew can be spaced to any plane.
So every gear has to clear all shafts and studs but its own, the gears of its own plane that it doesn't mesh with, and
the cover.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, combinations_with_replacement, pairwise, permutations, product
from math import comb, dist, factorial, inf, perm
from operator import sub
from typing import NamedTuple, TypeAlias

from attrs import field, frozen

from gearcalc.fits.geometry import ROUNDING, Layout, Point, Stance, depth_inside, not_neighbours
from gearcalc.lathes import trains
from gearcalc.lathes.gear_sets import GearSet, as_gear_set
from gearcalc.lathes.trains import Gear, Gears, Train, gears_of, shaft_names

Chain = tuple[Gears, ...]
"""Each mesh as the gears in the order they mesh, driver, idlers, driven; from the spindle side to the pivot."""

_MOST_ORDERED = 4  # meshes: beyond that there are 14,400 orders and more, so only the order given is tried


@frozen
class Question:
    """A train to be put on a bracket, with these gears to take idlers from.

    `same_way`: whether the last driven gear must turn as the first driver does, None when it may turn either way;
    `mounted`: what stands there now, so that few gears have to be moved; `keep_order`: only the order given.
    """

    train: Train
    layout: Layout
    gears: GearSet = field(converter=as_gear_set)
    same_way: bool | None = None
    mounted: Train | None = None
    keep_order: bool = False


def idlers_to_try(meshes: int, same_way: bool | None) -> list[int]:
    """Numbers of idlers to try with so many meshes, fewest first, that give the direction asked for (None: either).

    >>> idlers_to_try(1, None), idlers_to_try(2, None), idlers_to_try(2, True)
    ([1, 2], [0, 1], [0, 2])

    Between two fixed shafts one mesh never closes by itself, and may need two. More than one meshes ask for two only
    where one would turn the motion the wrong way; there are so many ways to choose two that it has to be worth it.
    """
    least, most = (1, 2) if meshes == 1 else (0, 2) if meshes == 2 and same_way else (0, 1)
    return [number for number in range(least, most + 1) if turns_right(meshes, number, same_way)]


def fewest_studs(meshes: int) -> int:
    """How many studs a train of so many meshes takes at least, whichever way it turns.

    >>> [fewest_studs(meshes) for meshes in (1, 2, 3, 4)]
    [1, 1, 2, 3]
    """
    return meshes - 1 + idlers_to_try(meshes, None)[0]


def turns_right(meshes: int, idlers: int, same_way: bool | None) -> bool:
    """Whether so many gears give the direction that is asked for; None: either."""
    return same_way is None or same_way == trains.same_way(meshes, idlers)


class Ways:
    """The arrangements of a train to be tried, by how many idlers they have."""

    def __init__(self, question: Question) -> None:
        train = question.train
        self.question, self.train = question, train
        self.named = tuple(sorted(teeth for mesh in train.idlers for teeth in mesh))
        self.spare = question.gears.left_over(train.gears)
        self.studs = question.layout.bracket.studs

    def numbers_of_idlers(self) -> list[int]:
        """How many idlers to try, fewest first; none when there are too few studs, or the direction can't be had."""
        meshes, same_way = self.train.meshes, self.question.same_way
        numbers = [len(self.named)] if self.named else idlers_to_try(meshes, same_way)
        there = [number for number in numbers if self.studs_for(number) <= self.studs]
        return [number for number in there if turns_right(meshes, number, same_way)]

    def studs_for(self, idlers: int) -> int:
        """Each idler has a stud of its own, and so has each pair of a driven gear and the next driver."""
        return self.train.meshes - 1 + idlers

    def count(self, idlers: int) -> int:
        """How many chains there are with so many idlers, at most: a measure of the work."""
        return count_chains(self.train.meshes, len(self.named or self.spare), idlers)

    def reach(self, idlers: int) -> float:
        """How far apart the shafts could be at most with so many idlers, the axes in one straight row, mm."""
        largest = sorted(self.named or self.spare)[-idlers:] if idlers else []
        teeth = sum(self.train.drivers) + sum(self.train.driven) + 2 * sum(largest)
        layout = self.question.layout
        return layout.centre_distance(teeth) + (self.train.meshes + idlers - 1) * layout.play_mm

    @property
    def order_kept(self) -> bool:
        """Whether drivers and driven gears are tried only in the order given."""
        return self.question.keep_order or self.train.meshes > _MOST_ORDERED

    def chains(self, idlers: int) -> Iterator[Chain]:
        """Every chain with so many idlers."""
        kept = self.question.keep_order
        between = [self.train.idlers] if self.named and kept else None
        return every_chain(self.train, self.named or self.spare, idlers, keep_order=kept, between=between)


def every_chain(
    train: Train,
    spare: Gears,
    idlers: int,
    *,
    keep_order: bool = False,
    between: Sequence[tuple[Gears, ...]] | None = None,
) -> Iterator[Chain]:
    """Every order of a train's drivers and of its driven gears, with so many idlers out of `spare` in any mesh.

    >>> list(every_chain(Train((40,), (80,)), (50, 60), 1))
    [((40, 50, 80),), ((40, 60, 80),)]

    `keep_order`: drivers and driven gears as they stand; so are those of more than four meshes. `between`: the idlers
    of each mesh, where they stand already.
    """
    over, under = (
        [side] if keep_order or train.meshes > _MOST_ORDERED else sorted(set(permutations(side)))
        for side in (train.drivers, train.driven)
    )
    if between is None:
        between = _shared_out(spare, idlers, train.meshes)
    for drivers, driven, among in product(over, under, between):
        yield tuple([(driver, *mesh, other) for driver, mesh, other in zip(drivers, among, driven, strict=True)])


def count_chains(meshes: int, spare: int, idlers: int) -> int:
    """How many chains every_chain has at most, with so many gears to spare.

    >>> count_chains(meshes=1, spare=2, idlers=1)
    2
    """
    orders = factorial(min(meshes, _MOST_ORDERED)) ** 2
    return orders * perm(spare, idlers) * comb(meshes + idlers - 1, idlers)


@lru_cache(maxsize=64)
def _shared_out(gears: Gears, idlers: int, meshes: int) -> list[tuple[Gears, ...]]:
    """Every way to choose so many idlers out of `gears` and share them out among the meshes, in every order."""
    return [
        tuple(tuple(teeth for teeth, place in zip(chosen, places, strict=True) if place == n) for n in range(meshes))
        for chosen in sorted(set(permutations(gears, idlers)))
        for places in combinations_with_replacement(range(meshes), idlers)
    ]


def train_of(chain: Chain) -> Train:
    """The train that a chain is."""
    return Train(
        tuple(mesh[0] for mesh in chain), tuple(mesh[-1] for mesh in chain), tuple(mesh[1:-1] for mesh in chain)
    )


@frozen
class Arrangement:
    """A train as it stands on the bracket; `stance`: None when its axes can't be placed."""

    train: Train
    stance: Stance | None
    planes: tuple[int, ...]


def chain_sums(chain: Chain) -> tuple[int, ...]:
    """The teeth in each pair of neighbours that mesh.

    >>> chain_sums(((40, 50, 80), (30, 60)))
    (90, 130, 90)
    """
    return tuple([one + other for mesh in chain for one, other in pairwise(mesh)])


def is_steep(chain: Chain, limit: Fraction) -> bool:
    """Whether a driver and the driven gear of its mesh differ by more than `limit`:1."""
    top, bottom = limit.numerator, limit.denominator
    return any(max(mesh[0], mesh[-1]) * bottom > min(mesh[0], mesh[-1]) * top for mesh in chain)


@lru_cache(maxsize=8)
def plane_choices(meshes: int) -> tuple[Gears, ...]:
    """A plane for each mesh, neighbours in different ones: every way that is really another, fewest planes first.

    >>> plane_choices(3)
    ((0, 1, 0), (0, 1, 2))
    """
    ways: list[tuple[int, ...]] = [(0,)]
    for _ in range(meshes - 1):
        ways = [(*way, plane) for way in ways for plane in range(max(way) + 2) if plane != way[-1]]
    return tuple(sorted(ways, key=lambda way: (max(way), way)))


Part: TypeAlias = Gear | int | None


class Gap(NamedTuple):
    """Two parts and the room between them, mm, below zero when they overlap.

    `one`, `other`: a Gear, an axis (its shaft or stud), or None for the cover.
    """

    one: Part
    other: Part
    mm: float


def part_name(part: Part, axes: int, last_shaft: str = "leadscrew") -> str:
    """A part by what it does, on a chain of so many axes.

    >>> part_name(Gear(1, 1, 30, "driver"), 3), part_name(2, 3), part_name(2, 4)
    ('30 on the stud', 'leadscrew shaft', 'second stud')
    """
    if part is None:
        return "cover"
    if isinstance(part, int):
        if part == 0:
            return "spindle-side shaft"
        return _place(part, axes, last_shaft) if part < axes - 1 else f"{last_shaft} shaft"
    if part.idler:
        where = "" if axes == 3 else f" on the {_place(part.axis, axes, last_shaft)}"
        return f"idler {part.teeth}{where}"
    return f"{part.teeth} on the {_place(part.axis, axes, last_shaft)}"


def _place(axis: int, axes: int, last_shaft: str) -> str:
    return shaft_names(axes, last=last_shaft)[axis]


def _mate(one: Gear, other: Gear) -> bool:
    return one.mesh == other.mesh and abs(one.axis - other.axis) == 1


def _radii(layout: Layout, axes: int) -> list[float]:
    """The radius of the shaft or stud on each axis."""
    shaft, stud = layout.bracket.shaft_radius_mm, layout.bracket.stud_radius_mm
    return [shaft, *[stud] * (axes - 2), shaft]


def every_gap(layout: Layout, chain: Chain, axes: Sequence[Point], planes: Sequence[int]) -> Iterator[Gap]:
    """Every gap that must not close, wherever the axes stand."""
    gears, bars = gears_of(chain), _radii(layout, len(axes))
    radius = {teeth: layout.outside_radius(teeth) for mesh in chain for teeth in mesh}
    for i, j in combinations(range(len(axes)), 2):
        if not (i == 0 and j == len(axes) - 1):  # the two shafts are the lathe's own affair
            yield Gap(i, j, dist(axes[i], axes[j]) - bars[i] - bars[j])
    for gear in gears:
        for axis, bar in enumerate(bars):
            if axis != gear.axis:
                gap = dist(axes[gear.axis], axes[axis]) - radius[gear.teeth] - bar
                yield Gap(gear, axis, gap)
        if layout.bracket.cover_mm is not None:
            yield Gap(gear, None, depth_inside(layout.bracket.cover_mm, axes[gear.axis]) - radius[gear.teeth])
    for one, other in combinations(gears, 2):
        if planes[one.mesh] == planes[other.mesh] and one.axis != other.axis and not _mate(one, other):
            gap = dist(axes[one.axis], axes[other.axis]) - radius[one.teeth] - radius[other.teeth]
            yield Gap(one, other, gap)


def neighbours_clear(layout: Layout, chain: Chain, sums: Sequence[int]) -> bool:
    """Whether every gear clears the shafts and studs of its axis's neighbours, which the teeth alone decide.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> layout = layout_of(demo_lathe("inch"))
    >>> neighbours_clear(layout, ((20, 25), (60, 50)), (45, 110))      # 45 teeth reach a shaft that the 60 covers
    False
    """
    largest, last = [chain[0][0]], len(sums)
    for gears in chain:
        largest[-1] = max(largest[-1], gears[0])
        largest += gears[1:]
    stud, shaft = layout.past_stud, layout.past_shaft
    for i, teeth in enumerate(sums):
        if teeth - largest[i] < (shaft if i + 1 == last else stud) or teeth - largest[i + 1] < (stud if i else shaft):
            return False
    return True


def snugness(layout: Layout, chain: Chain) -> float:
    """The smallest gap, mm, between a gear on a stud and the shaft of a neighbour that it doesn't mesh with.

    Gaps between a gear and its own mate's shaft are not counted: they are the same in every arrangement.
    """
    return min([room_beside(layout, chain[mesh:], first=not mesh) for mesh in range(len(chain))])


def room_beside(layout: Layout, chain: Chain, *, first: bool) -> float:
    """The same for the two gears alone that share the stud on which the first of these meshes ends.

    `first`: that mesh is also the first of the whole train.
    """
    if len(chain) == 1:
        return inf
    gears, following = chain[0], chain[1]
    shaft, stud = layout.bracket.shaft_radius_mm, layout.bracket.stud_radius_mm
    half, beyond = layout.module_mm / 2, layout.play_mm - layout.module_mm
    before = shaft if first and len(gears) == 2 else stud
    after = shaft if len(chain) == 2 and len(following) == 2 else stud
    inward = half * (gears[-2] + gears[-1] - following[0]) + beyond - before
    outward = half * (following[0] + following[1] - gears[-1]) + beyond - after
    return min(inward, outward)


class Loaded:
    """A chain that clears its neighbours, weighed up for all its stances; says what every_gap says, faster.

    How far apart two axes must be is the same in all of them. `snug`: the chain's snugness.
    """

    def __init__(self, layout: Layout, chain: Chain, sums: Sequence[int], snug: float) -> None:
        self.cover, self.snug = layout.bracket.cover_mm, snug
        self.least = layout.bracket.running_clearance_mm - ROUNDING
        self.choices, axes = plane_choices(len(chain)), len(sums) + 1
        bars = _radii(layout, axes)
        on_axis: list[list[tuple[int, float]]] = [[] for _ in bars]  # mesh, outside radius
        axis = 0
        for mesh, gears in enumerate(chain):
            for place, teeth in enumerate(gears):
                axis += place > 0
                on_axis[axis].append((mesh, layout.outside_radius(teeth)))
        self.reach = [max([radius for _, radius in gears]) for gears in on_axis]
        self.neighbours = tuple(map(layout.centre_distance, sums))
        self.needs: list[float] = []  # as Stance.apart lists the pairs of axes
        self.sharing: dict[tuple[int, int], list[tuple[int, float]]] = defaultdict(list)  # two meshes in one plane
        pairs = not_neighbours(axes)
        for i, j in pairs:
            same = [one[1] + other[1] for one, other in product(on_axis[i], on_axis[j]) if one[0] == other[0]]
            self.needs.append(max([self.reach[i] + bars[j], bars[i] + self.reach[j], *same]))
        if len(chain) > 2:
            for n, (i, j) in enumerate((*pairs, *pairwise(range(axes)))):
                for (mesh, radius), (other, another) in product(on_axis[i], on_axis[j]):
                    if other - mesh > 1:
                        self.sharing[mesh, other].append((n, radius + another))

    def comfort(self, stance: Stance) -> tuple[Gears, float] | None:
        """The fewest planes that will do in this stance and the smallest gap; None when something fouls."""
        smallest = min([self.snug, *map(sub, stance.apart, self.needs)])
        if smallest >= self.least and self.cover is not None:
            inside = (depth_inside(self.cover, axis) for axis in stance.axes)
            smallest = min(smallest, *map(sub, inside, self.reach))
        if smallest < self.least:
            return None
        apart = stance.apart + self.neighbours
        for planes in self.choices:
            together = [needs for (mesh, other), needs in self.sharing.items() if planes[mesh] == planes[other]]
            room = min([smallest, *[apart[n] - need for needs in together for n, need in needs]])
            if room >= self.least:
                return planes, room
        return None
