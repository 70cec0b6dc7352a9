"""Every way to put a train on: order of the gears, idlers, planes; and which of those ways can't work anywhere.

The order of drivers and of driven gears changes nothing about the ratio, so every order is tried. Idlers change
reach and direction; those that a train names are used, in any mesh, and no others; a train that names none is given
as few as will do, from the gears that the lathe has left over. Meshes that follow one another lie in different planes;
shafts and studs pass through all planes, and gears on the spindle side and on the leadscrew can be spaced to any plane.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, combinations_with_replacement, pairwise, permutations
from math import comb, factorial, perm

from attrs import frozen

from gearcalc.fits.stances import Layout
from gearcalc.lathes.trains import Train

Chain = tuple[tuple[int, ...], ...]
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
    gears: tuple[int, ...]
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
    return [number for number in range(least, most + 1) if _turns_right(meshes, number, same_way)]


def _turns_right(meshes: int, idlers: int, same_way: bool | None) -> bool:
    return same_way is None or same_way == ((meshes + idlers) % 2 == 0)


class Ways:
    """The arrangements of a train to be tried, by how many idlers they have."""

    def __init__(self, question: Question) -> None:
        train = question.train
        self.question, self.train = question, train
        self.named = tuple(sorted(teeth for mesh in train.idlers for teeth in mesh))
        self.spare = tuple(sorted((Counter(question.gears) - Counter(train.gears)).elements()))
        self.studs = question.layout.bracket.studs

    def numbers_of_idlers(self) -> list[int]:
        """How many idlers to try, fewest first; none when there are too few studs, or the direction can't be had."""
        numbers = (len(self.named),) if self.named else idlers_to_try(self.train.meshes, self.question.same_way)
        return [number for number in numbers if self.studs_for(number) <= self.studs and self.turns_right(number)]

    def studs_for(self, idlers: int) -> int:
        """Each idler has a stud of its own, and so has each pair of a driven gear and the next driver."""
        return self.train.meshes - 1 + idlers

    def turns_right(self, idlers: int) -> bool:
        """Whether so many idlers give the direction that is asked for."""
        return _turns_right(self.train.meshes, idlers, self.question.same_way)

    def count(self, idlers: int) -> int:
        """How many chains there are with so many idlers, at most: a measure of the work."""
        meshes, to_choose_from = self.train.meshes, len(self.named or self.spare)
        places = comb(meshes + idlers - 1, idlers)
        return factorial(min(meshes, _MOST_ORDERED)) ** 2 * perm(to_choose_from, idlers) * places

    def reach(self, idlers: int) -> float:
        """How far apart the shafts could be at most with so many idlers, the axes in one straight row, mm."""
        largest = sorted(self.named or self.spare)[-idlers:] if idlers else []
        teeth = sum(self.train.drivers) + sum(self.train.driven) + 2 * sum(largest)
        layout = self.question.layout
        return layout.centre_distance(teeth) + (self.train.meshes + idlers - 1) * layout.play_mm

    def chains(self, idlers: int) -> Iterator[Chain]:
        """Every chain with so many idlers."""
        for drivers, driven in self._orders():
            for between in self._between(idlers):
                meshes = zip(drivers, between, driven, strict=True)
                yield tuple([(driver, *mesh, other) for driver, mesh, other in meshes])

    def _orders(self) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
        drivers, driven = self.train.drivers, self.train.driven
        if self.question.keep_order or self.train.meshes > _MOST_ORDERED:
            yield drivers, driven
            return
        below = sorted(set(permutations(driven)))
        for over in sorted(set(permutations(drivers))):
            for under in below:
                yield over, under

    def _between(self, idlers: int) -> Iterable[tuple[tuple[int, ...], ...]]:
        if self.named and self.question.keep_order:
            return [self.train.idlers]
        return _shared_out(self.named or self.spare, idlers, self.train.meshes)


@lru_cache(maxsize=64)
def _shared_out(gears: tuple[int, ...], idlers: int, meshes: int) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """Every way to choose so many idlers out of `gears` and share them out among the meshes, in every order."""
    found = []
    for chosen in sorted(set(permutations(gears, idlers))):
        for places in combinations_with_replacement(range(meshes), idlers):
            found.append(
                tuple(
                    tuple(teeth for teeth, place in zip(chosen, places, strict=True) if place == mesh)
                    for mesh in range(meshes)
                )
            )
    return tuple(found)


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
def plane_choices(meshes: int) -> tuple[tuple[int, ...], ...]:
    """A plane for each mesh, neighbours in different ones: every way that is really another, fewest planes first.

    >>> plane_choices(3)
    ((0, 1, 0), (0, 1, 2))
    """
    ways: list[tuple[int, ...]] = [(0,)]
    for _ in range(meshes - 1):
        ways = [(*way, plane) for way in ways for plane in range(max(way) + 2) if plane != way[-1]]
    return tuple(sorted(ways, key=lambda way: (max(way), way)))


def meshes_apart(meshes: int) -> list[tuple[int, int]]:
    """Pairs of meshes that may share a plane: all but neighbours."""
    return [(one, other) for one, other in combinations(range(meshes), 2) if other - one > 1]
