"""The chains of a train that may go on, the most promising first, grown from the pivot outward, mesh by mesh.

A chain is left as soon as no stud can stand so far from the last, or a gear would foul a shaft or stud beside it,
whatever comes next. The others grow in the order of the best that each can still come to. So of thousands of orders and
idlers only those are ever written out that can nearly stand, and of these hardly more than it takes to find the best.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from heapq import heappop, heappush
from itertools import count, zip_longest
from math import inf
from typing import NamedTuple, TypeAlias

from gearcalc.fits.arrangements import Chain, Ways, apart_along, idlers_may_stand, is_steep, train_of
from gearcalc.fits.gaps import neighbours_clear, room_beside, snugness
from gearcalc.fits.geometry import PIVOT, ROUNDING, Layout, Tooth, depth_inside
from gearcalc.fits.stud_places import StudPlaces, at_the_pivot
from gearcalc.lathes.orders import gears_moved
from gearcalc.lathes.pieces import kind_of, mate_of, other_half
from gearcalc.lathes.standing import without
from gearcalc.lathes.trains import STEEPEST_MESH, Gears, Train

Rank: TypeAlias = tuple[bool, int, int, float]
"""Too steep, gears moved, highest plane, the smallest gap with its sign turned round: the less the better."""

_AROUND = 2  # modules: what two gears in mesh reach together beyond the distance of their centres, less the play
_MOST_PLACES = 200
_STEPS_TO_PLACE = 5  # as much work as so many gears tried


class Left(NamedTuple):
    """What is still to be put on: drivers, driven gears, gears for idlers, and how many idlers."""

    drivers: Gears
    driven: Gears
    spare: Gears
    idlers: int


_NOTHING = Left((), (), (), 0)


class Grown(NamedTuple):
    """The last meshes of a chain, from some driver to the pivot: where its studs can stand, and what is `left`.

    `rank`: the best that the whole chain can come to. `number`: no two of a growth have the same. `mm`: how far from
    the axis of the first driver another gear on it may reach; where nothing is left, how far the spindle side must be
    from the outermost stud.
    """

    rank: Rank
    number: int
    chain: Chain
    places: StudPlaces
    left: Left
    mm: float


class _Axis(NamedTuple):
    """The outermost axis while a mesh grows: the gears of that mesh from there on, how far the larger of those in mesh
    reaches, and what a neighbour's tips must keep off its shaft or stud, mm. Idle gears wait till the mesh is whole."""

    mesh: Gears
    reach_mm: float
    past_mm: float
    places: StudPlaces


class Growth:
    """The chains of a train with just so many idlers; `steps`: a measure of work, how many gears were tried so far."""

    def __init__(self, ways: Ways, idlers: int) -> None:
        self.ways, self.idlers, self.steps = ways, idlers, 1
        self._layout, self._rules = ways.question.layout, ways.question.gears.standing
        gears, mounted = ways.question.gears, ways.question.mounted
        self._moved = _Moved(ways.train.meshes, mounted, last_stays=gears.last_stays) if mounted else None
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
            best = (False, self._moved.anyway if self._moved else 0, min(train.meshes - 1, 1), -inf)
            room = _room_at_the_ends(self._layout)[1]
            self._mesh(Grown(best, 0, (), at_the_pivot(self._layout), left, room))
        while self._heap:
            grown = heappop(self._heap)
            if grown.left.drivers:
                self._mesh(grown)
            else:
                self.steps += _STEPS_TO_PLACE
                yield grown

    def _mesh(self, grown: Grown) -> None:
        """Grow by one mesh in every way: one of the driven gears on the outermost axis, and on from there."""
        layout, beside = self._layout, grown.chain[0][0] if grown.chain else None
        past = layout.past_shaft if beside is None else layout.past_stud
        reach = 0.0 if beside is None else layout.outside_radius(beside)
        drivers, driven, spare, idlers = grown.left
        for gear in dict.fromkeys(driven):
            self.steps += 1
            tooth = layout.tooth(gear)
            outside = tooth.outside[gear]
            if outside > grown.mm or outside - _AROUND * tooth.module_mm + tooth.play_mm < past:
                continue
            if self.ways.plain or self._may_end_a_mesh(gear, beside):
                rest = without(driven, gear)
                axis = _Axis((gear,), max(outside, reach), past, grown.places)
                for between in range(idlers + 1) if rest else (idlers,):
                    self._gear(axis, between, Left(drivers, rest, spare, idlers - between), tooth, grown)

    def _may_end_a_mesh(self, driven: int, driver: int | None) -> bool:
        return self._rules.last(driven) if driver is None else self._rules.share_a_stud(driven, driver)

    def _gear(self, axis: _Axis, between: int, left: Left, tooth: Tooth, grown: Grown) -> None:
        """Let a gear mesh with the first of `axis.mesh`: an idler where some are to stand `between`, else a driver."""
        drivers, driven, spare, idlers = left
        (here, *_), reach, past, places = axis
        plain, mesh, apart, past_stud = self.ways.plain, self._rules.mesh, tooth.apart, self._layout.past_stud
        if between:
            for gear in dict.fromkeys(spare):
                self.steps += 1
                mm, outside = apart[here + gear], tooth.outside[gear]
                if mm - reach < past_stud or outside - _AROUND * tooth.module_mm + tooth.play_mm < past_stud:
                    continue
                farther = places.with_stud(mm) if plain or mesh(here, gear) else None
                if farther is not None:
                    others = left._replace(spare=_less(spare, gear)) if between + idlers > 1 or not plain else left
                    longer = _Axis((gear, *axis.mesh), outside, past_stud, farther)
                    self._gear(longer, between - 1, others, tooth, grown)
        elif driven:
            for gear in dict.fromkeys(drivers):
                self.steps += 1
                mm = apart[here + gear]
                if mm - reach >= past_stud and (plain or mesh(here, gear)):
                    farther = places.with_stud(mm)
                    if farther is not None:
                        rest = Left(without(drivers, gear), driven, spare, idlers)
                        self._push((gear, *axis.mesh), farther, rest, mm - past, grown)
        else:
            gear, mm = drivers[0], apart[here + drivers[0]]
            self.steps += 1
            if mm - reach >= self._layout.past_shaft and (plain or (mesh(here, gear) and self._rules.first(gear))):
                fits_in = tooth.outside[gear] <= _room_at_the_ends(self._layout)[0]
                if fits_in and places.may_close(mm):
                    self._push((gear, *axis.mesh), places, _NOTHING, mm, grown)

    def _push(self, mesh: Gears, places: StudPlaces, left: Left, mm: float, grown: Grown) -> None:
        steep, moved, planes, snug = grown.rank
        chain = mesh, *grown.chain
        room = room_beside(self._layout, chain, first=not left.drivers)
        if room < self._layout.bracket.running_clearance_mm - ROUNDING:
            return
        if not (left.drivers or self.ways.plain or idlers_may_stand(self.ways.question.gears, chain, self._spare)):
            return
        if self._moved:
            moved += self._moved.in_mesh(len(left.driven), mesh)
        rank = steep or is_steep((mesh,), STEEPEST_MESH), moved, planes, max(snug, -room)
        heappush(self._heap, Grown(rank, self.steps, chain, places, left, mm))

    @property
    def _spare(self) -> Gears:
        """What a loose gear may be taken from instead of half a cluster; nothing where the idlers are named."""
        return () if self.ways.named else self.ways.spare

    def _as_given(self) -> None:
        """The chains in the order given, which has to be kept."""
        layout, mounted = self._layout, self.ways.question.mounted
        for chain in self.ways.chains(self.idlers):
            first, *others = apart = apart_along(layout, chain)
            self.steps += len(apart)
            places: StudPlaces | None = at_the_pivot(layout) if neighbours_clear(layout, chain, apart) else None
            for mm in reversed(others):
                places = places and places.with_stud(mm)
            if places is not None and places.may_close(first):
                moved = gears_moved(self.ways.question.gears, train_of(chain), mounted) if mounted else 0
                rank = (is_steep(chain, STEEPEST_MESH), moved, min(len(chain) - 1, 1), -snugness(layout, chain))
                heappush(self._heap, Grown(rank, self.steps, chain, places, _NOTHING, first))


class _Moved:
    """How many gears are moved from what is mounted, counted mesh by mesh as places_that_differ counts them."""

    def __init__(self, meshes: int, mounted: Train, *, last_stays: bool) -> None:
        self._last_stays, self._last = last_stays, meshes - 1
        under = mounted.driven[:-1] if last_stays else mounted.driven
        self._there = list(zip_longest(mounted.drivers, under, mounted.idlers))
        self.anyway = sum((driven is not None) + 1 + len(idle) for _, driven, idle in self._there[meshes:])
        """Those of meshes that the train hasn't."""

    def in_mesh(self, number: int, mesh: Gears) -> int:
        """How many of the gears of a mesh, the first has number 0."""
        driver, driven, idlers = self._there[number] if number < len(self._there) else (None, None, ())
        ours = None if self._last_stays and number == self._last else mesh[-1]
        differ: int = sum(one != other for one, other in zip_longest(mesh[1:-1], idlers))
        return (mesh[0] != driver) + (ours != driven) + differ


@lru_cache(maxsize=4096)
def may_reach(layout: Layout, gears: frozenset[int], studs: int) -> bool:
    """Whether any train of these gears on so many studs may reach across; no only where it is certain.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> layout = layout_of(demo_lathe("inch"))
    >>> may_reach(layout, frozenset({20, 25}), studs=1), may_reach(layout, frozenset({20, 80}), studs=1)
    (False, True)

    Told from nothing but how far apart two of them can mesh. It looks no farther when it would take long.
    """
    kinds = {kind_of(gear): [other for other in gears if kind_of(other) == kind_of(gear)] for gear in gears}
    apart = sorted({layout.apart(one, other) for alike in kinds.values() for one in alike for other in alike})
    if not apart or layout.shafts_apart > (studs + 1) * apart[-1]:
        return False
    tried = count(1)

    def reaches(places: StudPlaces, more: int) -> bool:
        if not more:
            return places.may_close_with(apart)
        if more < studs and min(near for near, _ in places.reach) > (more + 1) * apart[-1]:
            return False
        return any(
            next(tried) > _MOST_PLACES or (farther is not None and reaches(farther, more - 1))
            for farther in map(places.with_stud, apart)
        )

    return reaches(at_the_pivot(layout), studs)


def _less(spare: Gears, gear: int) -> Gears:
    """What is left to spare without a gear, and without the one that it is in one piece with."""
    rest = without(spare, gear)
    return rest if mate_of(gear) is None or other_half(gear) not in rest else without(rest, other_half(gear))


@lru_cache(maxsize=32)
def _room_at_the_ends(layout: Layout) -> tuple[float, float]:
    """How far the first driver and the last driven gear may reach to clear the other's shaft and the cover, mm."""
    bracket, found = layout.bracket, []
    for axis in (bracket.spindle_side_at_mm, PIVOT):
        room = layout.shafts_apart - bracket.shaft_radius_mm
        if bracket.cover_mm is not None:
            room = min(room, depth_inside(bracket.cover_mm, axis))
        found.append(room - bracket.running_clearance_mm + 2 * ROUNDING)
    return found[0], found[1]
