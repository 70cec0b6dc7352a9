"""Every way to put a train on: order of the gears, idlers, planes.

The order of drivers and of driven gears changes nothing about the ratio, so every order is tried. Idlers change
reach and direction; those that a train names are used, in any mesh, and no others; a train that names none is given
as few as will do, from the gears that the lathe has left over. Meshes that follow one another lie in different planes,
the two gears of a cluster in planes next to each other; gears on the spindle side and on the leadscrew can be spaced to
any plane.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import combinations_with_replacement, pairwise, permutations, product
from math import comb, factorial, perm

from attrs import field, frozen

from gearcalc.fits.geometry import Layout, Stance
from gearcalc.lathes import trains
from gearcalc.lathes.gear_sets import GearSet, as_gear_set
from gearcalc.lathes.pieces import cluster_of, in_one_piece, kind_of, mate_of, other_half, piece, some_set_apart
from gearcalc.lathes.trains import Gear, Gears, Train, gears_of

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
        self.studs = question.layout.bracket.studs

    @cached_property
    def spare(self) -> Gears:
        """The gears that are left for idlers."""
        return self.question.gears.left_over(self.train.gears)

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
        layout = self.question.layout
        half = layout.half_apart
        largest = sorted(map(half, self.named or self.spare))[-idlers:] if idlers else []
        return sum(map(half, self.train.drivers + self.train.driven)) + 2 * sum(largest)

    @property
    def order_kept(self) -> bool:
        """Whether drivers and driven gears are tried only in the order given."""
        return self.question.keep_order or self.train.meshes > _MOST_ORDERED

    def chains(self, idlers: int) -> Iterator[Chain]:
        """Every chain with so many idlers."""
        gears, kept = self.question.gears, self.question.keep_order
        between = [self.train.idlers] if self.named and kept else None
        spare = self.named or self.spare
        found = every_chain(self.train, spare, idlers, gears=gears, keep_order=kept, between=between)
        if self.plain or kept:
            return found
        spare = () if self.named else self.spare
        rules = gears.standing if self.order_kept else None  # of so many meshes the order is not looked for
        return (
            chain
            for chain in found
            if idlers_may_stand(gears, chain, spare) and (rules is None or rules.allow(train_of(chain)))
        )

    @cached_property
    def plain(self) -> bool:
        """Whether any of its gears may mesh with any, share a stud with any and be an idler."""
        every = (*self.train.gears, *self.spare)
        return self.question.gears.anything_goes and not some_set_apart(every)


def idlers_may_stand(gears: GearSet, chain: Chain, spare: Gears) -> bool:
    """Whether the idlers of a chain mesh with their mates, and none is of a cluster where a loose gear would do."""
    halves = [gear for mesh in chain for gear in mesh[1:-1] if mate_of(gear) is not None]
    if any(not gears.standing.mesh(mesh[0], gear) for mesh in chain for gear in mesh[1:-1]):
        return False
    there, used = Counter(spare), Counter(map(cluster_of, halves))
    if spare and any(times > (there[one] if one != other else there[one] // 2) for (one, other), times in used.items()):
        return False
    there -= Counter(gear for mesh in chain for gear in mesh[1:-1])
    return not any(there[piece(gear, kind_of(gear))] for gear in halves)


def every_chain(
    train: Train,
    spare: Gears,
    idlers: int,
    *,
    gears: GearSet | None = None,
    keep_order: bool = False,
    between: Sequence[tuple[Gears, ...]] | None = None,
) -> Iterator[Chain]:
    """Every order of a train's drivers and of its driven gears, with so many idlers out of `spare` in any mesh.

    >>> list(every_chain(Train((40,), (80,)), (50, 60), 1))
    [((40, 50, 80),), ((40, 60, 80),)]

    `gears`: whose rules say in which orders drivers and driven gears may stand; None: in any. `keep_order`: as they
    stand; so are those of more than four meshes. `between`: the idlers of each mesh, where they stand already.
    """
    if keep_order or train.meshes > _MOST_ORDERED:
        orders = [(train.drivers, train.driven)]
    else:
        orders = (gears or GearSet(())).orders(train.drivers, train.driven)
    if between is None:
        between = _shared_out(spare, idlers, train.meshes)
    for (drivers, driven), among in product(orders, between):
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
    """A train as it stands; `stance`: None when its axes can't be placed; `planes`: see plane_choices."""

    train: Train
    stance: Stance | None
    planes: tuple[int, ...]


def apart_along(layout: Layout, chain: Chain) -> tuple[float, ...]:
    """How far each axis is from the next, from the spindle side, mm.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> [round(mm, 2) for mm in apart_along(layout_of(demo_lathe("inch")), ((40, 50, 80), (30, 60)))]
    [56.52, 81.52, 56.52]
    """
    return tuple([layout.apart(one, other) for mesh in chain for one, other in pairwise(mesh)])


def axes_of(chain: Chain) -> int:
    """How many axes a chain has, both shafts counted.

    >>> axes_of(((40, 50, 80), (30, 60)))
    4
    """
    return 1 + sum(len(mesh) - 1 for mesh in chain)


def is_steep(chain: Chain, limit: Fraction) -> bool:
    """Whether a driver and the driven gear of its mesh differ by more than `limit`:1."""
    top, bottom = limit.numerator, limit.denominator
    for mesh in chain:
        one, other = mesh[0], mesh[-1]
        if one * bottom > other * top or other * bottom > one * top:
            return True
    return False


def idle_gears(chain: Chain) -> list[Gear]:
    """The gears that are in one piece with an idler and mesh with nothing, along the chain.

    >>> [(gear.mesh, gear.axis, gear.teeth) for gear in idle_gears(((20, piece(40, mate=50), 80), (30, 60)))]
    [(2, 1, 50)]

    Each has a plane of its own to be chosen, so each counts as a mesh by itself, after the last.
    """
    if all(mate_of(gear) is None for mesh in chain for gear in mesh[1:-1]):
        return []
    halves = [gear for gear in gears_of(chain) if gear.idler and mate_of(gear.teeth) is not None]
    return [Gear(len(chain) + n, half.axis, other_half(half.teeth), "idle") for n, half in enumerate(halves)]


def plane_choices(chain: Chain) -> tuple[Gears, ...]:
    """A plane for each mesh, then for each idle gear: every way that is really another, fewest planes first.

    >>> plane_choices(((20, 30), (40, 50), (60, 70)))
    ((0, 1, 0), (0, 1, 2))
    >>> plane_choices(((20, piece(40, mate=50), 80), (30, 60)))
    ((0, 1, 1), (0, 2, 1), (1, 0, 2))

    Meshes that follow one another are in different planes. The two gears of a cluster are in planes next to each other.
    """
    beside = [n for n, (one, other) in enumerate(pairwise(chain)) if in_one_piece(one[-1], other[0])]
    halves = [n for n, mesh in enumerate(chain) for gear in mesh[1:-1] if mate_of(gear) is not None]
    return _planes_beside(len(chain), tuple(beside), tuple(halves)) if beside or halves else _any_planes(len(chain))


@lru_cache(maxsize=8)
def _any_planes(meshes: int) -> tuple[Gears, ...]:
    ways: list[tuple[int, ...]] = [(0,)]
    for _ in range(meshes - 1):
        ways = [(*way, plane) for way in ways for plane in range(max(way) + 2) if plane != way[-1]]
    return tuple(sorted(ways, key=lambda way: (max(way), way)))


@lru_cache(maxsize=256)
def _planes_beside(meshes: int, beside: tuple[int, ...], halves: tuple[int, ...]) -> tuple[Gears, ...]:
    """`beside`: meshes that have a cluster in common with the next; `halves`: the mesh of each idler in a cluster."""
    most, found = meshes + len(halves), set()
    for way in product(range(most), repeat=meshes):
        if any(one == other for one, other in pairwise(way)) or any(abs(way[n] - way[n + 1]) > 1 for n in beside):
            continue
        for sides in product((-1, 1), repeat=len(halves)):
            planes = (*way, *(way[mesh] + side for mesh, side in zip(halves, sides, strict=True)))
            low, high = min(planes), max(planes)
            if len({*planes}) == high - low + 1:  # none is empty
                found.add(min(tuple(plane - low for plane in planes), tuple(high - plane for plane in planes)))
    return tuple(sorted(found, key=lambda way: (max(way), way)))
