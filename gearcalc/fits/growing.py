"""The chains of a train that may go on, the most promising first, grown from the pivot outward, mesh by mesh.

A chain is left as soon as no stud can stand so far from the last, or a gear would foul a shaft or stud beside it,
whatever comes next. The others grow in the order of the best that each can still come to. So of thousands of orders and
idlers only those are ever written out that can nearly stand, and of these hardly more than it takes to find the best.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from heapq import heappop, heappush
from itertools import zip_longest
from math import inf
from typing import NamedTuple, TypeAlias

from gearcalc.fits.arrangements import (
    Chain,
    Ways,
    chain_sums,
    is_steep,
    neighbours_clear,
    room_beside,
    snugness,
    train_of,
)
from gearcalc.fits.geometry import PIVOT, ROUNDING, Layout, depth_inside
from gearcalc.fits.stud_places import Standing, at_the_pivot
from gearcalc.lathes.trains import STEEPEST_MESH, Gears, Train, places_that_differ

Rank: TypeAlias = tuple[bool, int, int, float]
"""Too steep, gears moved, highest plane, the smallest gap with its sign turned round: the less the better."""

_MOST_TOGETHER = 2000  # teeth of two gears
_MOST_PLACES = 5_000


class Left(NamedTuple):
    """What is still to be put on: drivers, driven gears, gears for idlers, and how many idlers."""

    drivers: Gears
    driven: Gears
    spare: Gears
    idlers: int


class Grown(NamedTuple):
    """The last meshes of a chain, from some driver to the pivot: where its studs can stand, and what is `left`.

    `rank`: the best that the whole chain can come to. `number`: no two of a growth have the same. `most`: so many
    teeth may stand beside the first driver. `apart_mm`: where nothing is left, how far the spindle side must be from
    the outermost stud.
    """

    rank: Rank
    number: int
    chain: Chain
    standing: Standing
    left: Left
    most: int = 0
    apart_mm: float = 0.0


class Growth:
    """The chains of a train with just so many idlers; `steps`: how many gears were tried so far, a measure of work."""

    def __init__(self, ways: Ways, idlers: int) -> None:
        self.ways, self.idlers, self.steps = ways, idlers, 1
        self._layout = layout = ways.question.layout
        self._apart, self._past_shaft, self._past_stud = _apart_mm(layout), layout.past_shaft, layout.past_stud
        self._most_first, self._most_last = _most_at_the_ends(layout)
        self._moved = _Moved(ways.train.meshes, ways.question.mounted)
        self._heap: list[Grown] = []

    def most_promising_first(self) -> Iterator[Grown]:
        """The chains that may go on, in the order of the best rank that each can come to.

        >>> from gearcalc.lathes import demo_lathe
        >>> from gearcalc.fits.arrangements import Question
        >>> from gearcalc.fits.geometry import layout_of
        >>> lathe = demo_lathe("inch")
        >>> ways = Ways(Question(Train((40, 30), (80, 60)), layout_of(lathe), lathe.gears))
        >>> [grown.chain for grown in Growth(ways, idlers=0).most_promising_first()]
        [((30, 60), (40, 80)), ((40, 60), (30, 80)), ((30, 80), (40, 60))]
        """
        if self.ways.reach(self.idlers) < self._layout.shafts_apart - ROUNDING:
            return
        if self.ways.order_kept:
            self._as_given()
        else:
            train = self.ways.train
            left = Left(train.drivers, train.driven, self.ways.named or self.ways.spare, self.idlers)
            best = (False, self._moved.anyway, min(train.meshes - 1, 1), -inf)
            self._mesh(Grown(best, 0, (), at_the_pivot(self._layout), left, self._most_last))
        while self._heap:
            grown = heappop(self._heap)
            if grown.left.drivers:
                self._mesh(grown)
            else:
                yield grown

    def _mesh(self, grown: Grown) -> None:
        """Grow by one mesh in every way: one of the driven gears on the outermost axis, and on from there."""
        past = self._past_stud if grown.chain else self._past_shaft
        beside = grown.chain[0][0] if grown.chain else 0
        drivers, driven, spare, idlers = grown.left
        for gear in dict.fromkeys(driven):
            self.steps += 1
            if past <= gear <= grown.most:
                rest = _without(driven, gear)
                for between in range(idlers + 1) if rest else (idlers,):
                    left = Left(drivers, rest, spare, idlers - between)
                    self._gear((gear,), max(gear, beside), past, between, left, grown.standing, grown)

    def _gear(
        self, mesh: Gears, largest: int, past: int, between: int, left: Left, standing: Standing, grown: Grown
    ) -> None:
        """Let a gear mesh with the first of `mesh`: an idler where some are to stand `between`, else a driver.

        `largest`: on the axis of that first gear; `past`: how many teeth more clear that axis's own shaft or stud.
        """
        drivers, driven, spare, idlers = left
        here, apart = mesh[0], self._apart
        if between:
            for gear in dict.fromkeys(spare):
                self.steps += 1
                if here + gear - largest >= self._past_stud <= gear:
                    farther = standing.with_stud(apart[here + gear])
                    if farther is not None:
                        others = left._replace(spare=_without(spare, gear)) if between + idlers > 1 else left
                        self._gear((gear, *mesh), gear, self._past_stud, between - 1, others, farther, grown)
        elif driven:
            for gear in dict.fromkeys(drivers):
                self.steps += 1
                if here + gear - largest >= self._past_stud:
                    farther = standing.with_stud(apart[here + gear])
                    if farther is not None:
                        rest = left._replace(drivers=_without(drivers, gear))
                        self._push((gear, *mesh), farther, rest, here + gear - past, 0.0, grown)
        else:
            gear, together = drivers[0], here + drivers[0]
            self.steps += 1
            fits_in = gear <= self._most_first and together - largest >= self._past_shaft
            if fits_in and standing.may_close(apart[together]):
                self._push((gear, *mesh), standing, left._replace(drivers=()), 0, apart[together], grown)

    def _push(self, mesh: Gears, standing: Standing, left: Left, most: int, apart_mm: float, grown: Grown) -> None:
        steep, moved, planes, snug = grown.rank
        chain = mesh, *grown.chain
        rank = (
            steep or is_steep((mesh,), STEEPEST_MESH),
            moved + self._moved.in_mesh(len(left.driven), mesh),
            planes,
            max(snug, -room_beside(self._layout, chain, first=not left.drivers)),
        )
        heappush(self._heap, Grown(rank, self.steps, chain, standing, left, most, apart_mm))

    def _as_given(self) -> None:
        """The chains in the order given, which has to be kept."""
        layout, mounted = self._layout, self.ways.question.mounted
        for chain in self.ways.chains(self.idlers):
            first, *others = sums = chain_sums(chain)
            self.steps += len(sums)
            standing: Standing | None = at_the_pivot(layout) if neighbours_clear(layout, chain, sums) else None
            for teeth in reversed(others):
                standing = standing and standing.with_stud(self._apart[teeth])
            if standing is not None and standing.may_close(self._apart[first]):
                moved = places_that_differ(train_of(chain), mounted) if mounted else 0
                rank = (is_steep(chain, STEEPEST_MESH), moved, min(len(chain) - 1, 1), -snugness(layout, chain))
                left = Left((), (), (), 0)
                heappush(self._heap, Grown(rank, self.steps, chain, standing, left, 0, self._apart[first]))


class _Moved:
    """How many gears are moved from what is mounted, counted mesh by mesh as places_that_differ counts them."""

    def __init__(self, meshes: int, mounted: Train | None) -> None:
        chain: Chain = mounted.chain() if mounted else ()
        self._there = [(mesh[0], mesh[-1], mesh[1:-1]) for mesh in chain[:meshes]]
        self._nothing = mounted is None
        self.anyway = sum(map(len, chain[meshes:]))
        """Those of meshes that the train hasn't."""

    def in_mesh(self, number: int, mesh: Gears) -> int:
        """How many of the gears of a mesh, the first has number 0."""
        if self._nothing:
            return 0
        if number >= len(self._there):
            return len(mesh)
        driver, driven, idlers = self._there[number]
        differ: int = sum(one != other for one, other in zip_longest(mesh[1:-1], idlers))
        return (mesh[0] != driver) + (mesh[-1] != driven) + differ


@lru_cache(maxsize=4096)
def may_reach(layout: Layout, gears: frozenset[int], studs: int) -> bool:
    """Whether any train of these gears on so many studs may reach across; no only where it is certain.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> [may_reach(layout_of(demo_lathe("inch")), gears, studs=1) for gears in map(frozenset, ((20, 25), (20, 80)))]
    [False, True]

    Told from nothing but how many teeth two of them have together. It looks no farther when it would take long.
    """
    apart = sorted({_apart_mm(layout)[one + other] for one in gears for other in gears})
    standings = [at_the_pivot(layout)]
    for _ in range(studs):
        if len(standings) * len(apart) > _MOST_PLACES:
            return True
        standings = [farther for each in standings for mm in apart if (farther := each.with_stud(mm)) is not None]
    return any(standing.may_close_with(apart) for standing in standings)


def _without(gears: Gears, one: int) -> Gears:
    place = gears.index(one)
    return gears[:place] + gears[place + 1 :]


@lru_cache(maxsize=32)
def _apart_mm(layout: Layout) -> tuple[float, ...]:
    """The centre distance for every number of teeth that two gears have together."""
    return tuple([layout.centre_distance(teeth) for teeth in range(_MOST_TOGETHER + 1)])


@lru_cache(maxsize=32)
def _most_at_the_ends(layout: Layout) -> tuple[int, int]:
    """How many teeth the first driver and the last driven gear may have to clear the other's shaft and the cover."""
    bracket, most = layout.bracket, []
    for axis in (bracket.spindle_side_at_mm, PIVOT):
        room = layout.shafts_apart - bracket.shaft_radius_mm
        if bracket.cover_mm is not None:
            room = min(room, depth_inside(bracket.cover_mm, axis))
        tip = room - bracket.running_clearance_mm + 2 * ROUNDING
        most.append(max(0, int(2 * (tip / layout.module_mm - 1))))
    return most[0], most[1]
