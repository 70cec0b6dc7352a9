"""What is settled of a train before any gear is chosen, where some are fixed, in clusters, or of other sizes.

A frame says which gears are on the train anyway, those that are fixed and those of the clusters that it takes, and how
many loose gears of each kind its drivers and its driven still want, so that they have an order in which they may stand.
Every train belongs to one frame, and whatever is chosen for a frame may stand. A set in which anything goes has one
frame a number of meshes, with nothing settled.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache, reduce
from itertools import chain, combinations
from math import comb, prod

from attrs import frozen

from gearcalc.lathes.gear_sets import GearSet, Side
from gearcalc.lathes.pieces import how_unusual, kind_of, mate_of, other_half, piece, plain
from gearcalc.lathes.standing import without
from gearcalc.lathes.trains import Gears, shorter_trains

_KEPT = 64


@frozen(cache_hash=True)
class HalfFrame:
    """The drivers or the driven of a frame: `settled`, what is there anyway, ascending; `wanted`: how many loose gears
    more, by kind."""

    settled: Gears
    wanted: tuple[tuple[str, int], ...]

    def choices(self, gear_set: GearSet) -> int:
        """How many ways there are to choose the gears, at most."""
        return prod(comb(gear_set.kinds[kind], number) for kind, number in self.wanted)

    def listed(self, gear_set: GearSet) -> list[Side]:
        """Every choice of gears. Raises NotPossibleError when there are more than half a million."""
        return gear_set.sides(0, dict(self.wanted), self.settled)


@frozen(cache_hash=True)
class Frame:
    """What is settled of the drivers, `above`, and of the driven, `below`."""

    above: HalfFrame
    below: HalfFrame


@lru_cache(maxsize=_KEPT)
def frames(gear_set: GearSet, meshes: int) -> tuple[Frame, ...]:
    """Every frame of so many meshes that the set has gears for.

    >>> from gearcalc.lathes.sizes import Fixed
    >>> for frame in frames(GearSet([20, 30, 40, 40], clusters=[(50, 60)], fixed=Fixed(30)), 2):
    ...     print(frame.above.settled, frame.above.wanted, frame.below.settled, frame.below.wanted)
    (30,) (('', 1),) () (('', 2),)
    (30, 60) () (50,) (('', 1),)
    (30, 50) () (60,) (('', 1),)
    """
    found = dict.fromkeys(_along(gear_set, meshes, (), (), Counter()))
    return tuple(found)


def _along(
    gear_set: GearSet, meshes: int, over: tuple[int, ...], under: tuple[int, ...], used: Counter[tuple[int, int]]
) -> Iterator[Frame]:
    """The frames whose chain begins so: a place holds a settled gear, or zero teeth of some kind."""
    rules = gear_set.standing
    if len(over) == len(under):
        if len(under) == meshes:
            frame = _framed(over, under)
            if _there(gear_set, frame):
                yield frame
            return
        driven = under[-1] if under else None
        for driver in _drivers(gear_set, driven):
            yield from _along(gear_set, meshes, (*over, driver), under, used)
        return
    last = len(over) == meshes
    for driven, pair in _driven(gear_set, last, used):
        if rules.mesh(over[-1], driven):
            more = used + Counter([pair]) if pair else used
            yield from _along(gear_set, meshes, over, (*under, driven), more)


def _of_any(kind: str) -> int:
    return piece(0, kind)


def _drivers(gear_set: GearSet, behind: int | None) -> Iterator[int]:
    """What can drive next: behind that driven gear on its stud, or as the first."""
    rules = gear_set.standing
    if behind is None and rules.first_driver is not None:
        yield from filter(rules.first, [rules.first_driver])
    elif behind is not None and mate_of(behind) is not None:
        yield other_half(behind)
    else:
        for kind in gear_set.kinds:
            gear = _of_any(kind)
            if rules.first(gear) if behind is None else rules.share_a_stud(behind, gear):
                yield gear


def _driven(
    gear_set: GearSet, last: bool, used: Counter[tuple[int, int]]
) -> Iterator[tuple[int, tuple[int, int] | None]]:
    """What can be driven next, with the cluster that it takes."""
    rules = gear_set.standing
    if last and rules.last_driven is not None:
        yield from ((gear, None) for gear in filter(rules.last, [rules.last_driven]))
        return
    yield from ((gear, None) for gear in map(_of_any, gear_set.kinds) if not last or rules.last(gear))
    if not last:
        for pair in gear_set.pairs - used:
            yield from ((half, pair) for half in dict.fromkeys(pair))


def _framed(over: tuple[int, ...], under: tuple[int, ...]) -> Frame:
    drivers, driven = (tuple(sorted(gear for gear in side if plain(gear))) for side in (over, under))
    above, below = (Counter(kind_of(gear) for gear in side if not plain(gear)) for side in (over, under))
    return Frame(HalfFrame(drivers, tuple(sorted(above.items()))), HalfFrame(driven, tuple(sorted(below.items()))))


def _there(gear_set: GearSet, frame: Frame) -> bool:
    """Whether the set has so many loose gears of each kind."""
    wanted = Counter(dict(frame.above.wanted)) + Counter(dict(frame.below.wanted))
    return all(number <= gear_set.kinds[kind] for kind, number in wanted.items())


@lru_cache(maxsize=4096)
def ways(gear_set: GearSet, drivers: Gears, driven: Gears) -> list[tuple[Gears, Gears]]:
    """Every way to make up these tooth counts from the pieces of the set, so that they may stand in some order.

    >>> gear_set = GearSet([20, 30, 40], clusters=[(50, 60)])
    >>> ways(gear_set, (20, 60), (40, 50)) == [((20, piece(60, mate=50)), (40, piece(50, mate=60)))]
    True
    >>> ways(gear_set, (20,), (50,))
    []

    `drivers`, `driven`: plain counts in any order. The first is that of fewest clusters, then of fewest gears of other
    sizes.
    """
    if gear_set.anything_goes:
        counts = tuple(sorted(drivers)), tuple(sorted(driven))
        return [counts] if gear_set.holds((*drivers, *driven)) else []
    found = []
    for frame in frames(gear_set, len(drivers)):
        for over in _filled(gear_set, frame.above, drivers):
            for under in _filled(gear_set, frame.below, driven):
                if gear_set.holds((*over, *under)) and clusters_needed(gear_set, over, under):
                    found.append((over, under))
    return sorted(found, key=lambda sides: (how_unusual(chain(*sides)), sides))


def is_way(gear_set: GearSet, sides: tuple[Gears, Gears], drivers: Gears, driven: Gears) -> bool:
    """Whether these sides are what is meant where a plate's row names these counts.

    >>> is_way(GearSet([20, 30]), ((20,), (30,)), (20,), (30,)), is_way(GearSet([20, 30]), ((20,), (30,)), (30,), (20,))
    (True, False)
    """
    counts = (tuple(sorted(map(plain, side))) for side in sides)
    alike = all(own == tuple(sorted(row)) for own, row in zip(counts, (drivers, driven), strict=True))
    return alike and (gear_set.anything_goes or sides in ways(gear_set, drivers, driven)[:1])


def _filled(gear_set: GearSet, half: HalfFrame, counts: Gears) -> Iterator[Gears]:
    """The ways to fill one side of a frame with these counts."""
    left = _less(counts, map(plain, half.settled))
    if left is not None:
        chosen = _shared_out(gear_set, left, half.wanted)
        yield from (tuple(sorted((*half.settled, *gears))) for gears in chosen)


def _shared_out(gear_set: GearSet, left: Gears, wanted: tuple[tuple[str, int], ...]) -> Iterator[Gears]:
    if not wanted:
        yield ()
        return
    (kind, number), *others = wanted
    for chosen in dict.fromkeys(combinations(left, number)):
        gears = tuple(piece(teeth, kind) for teeth in chosen)
        if all(gears.count(gear) <= gear_set.count(gear) for gear in gears):
            for more in _shared_out(gear_set, reduce(without, chosen, left), tuple(others)):
                yield (*gears, *more)


def _less(counts: Iterable[int], taken: Iterable[int]) -> Gears | None:
    """Plain counts without some of them, ascending; None where they are not all there."""
    left = sorted(map(plain, counts))
    for teeth in taken:
        if teeth not in left:
            return None
        left.remove(teeth)
    return tuple(left)


def clusters_needed(gear_set: GearSet, drivers: Gears, driven: Gears) -> bool:
    """Whether none of the clusters among these can be replaced by loose gears that are left over.

    >>> half, other = piece(40, mate=50), piece(50, mate=40)
    >>> gear_set = GearSet([20, 30, 40, 50, 60], clusters=[(40, 50)])
    >>> clusters_needed(gear_set, (20, other), (half, 60)), clusters_needed(gear_set, (40, other), (half, 60))
    (False, True)
    """
    pairs = [(one, other_half(one)) for one in driven if mate_of(one) is not None]
    used, rules = (*drivers, *driven), gear_set.standing
    return not any(
        rules.share_a_stud(one, other)
        for half, its_mate in pairs
        for one in _loose_like(gear_set, half)
        for other in _loose_like(gear_set, its_mate)
        if all(gear_set.count(gear) >= (*used, one, other).count(gear) for gear in (one, other))
    )


@lru_cache(maxsize=_KEPT)
def _loose_like(gear_set: GearSet, gear: int) -> list[int]:
    """The loose gears that have the count of a gear and mesh with it, each once."""
    alike = (one for one in dict.fromkeys(gear_set.loose) if plain(one) == plain(gear))
    return [one for one in alike if gear_set.standing.mesh(one, gear)]


def shorter_ways(gear_set: GearSet, drivers: Gears, driven: Gears) -> Iterator[tuple[Gears, Gears]]:
    """The trains of the set that are left when equal counts, one of each side, are taken out.

    >>> list(shorter_ways(GearSet([30, 40, 40, 60]), (30, 40), (40, 60)))
    [((30,), (60,))]
    """
    if gear_set.anything_goes:
        yield from shorter_trains(drivers, driven)
        return
    over, under = (tuple(sorted(map(plain, side))) for side in (drivers, driven))
    for shorter in shorter_trains(over, under):
        yield from ways(gear_set, *shorter)
