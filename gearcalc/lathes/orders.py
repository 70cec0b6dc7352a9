"""The order of the meshes and the idler that are best at the machine, among those in which the gears may stand."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import groupby

from gearcalc.basics import writing
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.pieces import kind_of
from gearcalc.lathes.trains import Gears, Train, gears_of, idlers_that_differ, in_order, places_that_differ, with_idler

HOW_MOVED_COUNTS = (
    "A gear counts as moved when its place in the train (first driver, first driven, second driver ...) holds another "
    "than before, is filled or is left empty."
)
"""What is said beside every number of gears to move: places are counted, not shafts."""


def to_move(gears: int | None) -> str:
    """What is said of them behind a setup; nothing where it is not known what was there.

    >>> to_move(1), to_move(None)
    ('; 1 gear to move', '')
    """
    return "" if gears is None else f"; {writing.counted(gears, 'gear')} to move"


def best_order(
    gear_set: GearSet,
    drivers: Gears,
    driven: Gears,
    mounted: Train | None,
    strained_anyway: bool = False,
    idler: bool = False,
) -> Train:
    """The train in the order of meshes that is best at the machine; see trains.in_order.

    >>> from gearcalc.lathes.sizes import Fixed
    >>> print(best_order(GearSet([20, 30, 60, 80], fixed=Fixed(first_driver=30)), (20, 30), (60, 80), None))
    (30 · 20)/(80 · 60)

    `drivers`, `driven`: ascending, and such as may stand in some order. `idler`: with one idler more, where
    one serves, as plus_idler() puts it on; its place counts too.
    """

    def longer(train: Train) -> Train:
        return (plus_idler(gear_set, train, mounted) if idler else None) or train

    if gear_set.anything_goes:
        return longer(in_order(drivers, driven, mounted, strained_anyway))
    orders = gear_set.orders(drivers, driven)
    idlers_moved: dict[Gears, int] = {}
    if idler and mounted is not None:  # which idlers serve a mesh its driver alone says
        idlers_moved = {
            over: idlers_that_differ(longer(Train(over, under)), mounted) for over, under in dict(orders).items()
        }
    return longer(in_order(drivers, driven, mounted, strained_anyway, orders, gear_set.last_stays, idlers_moved))


def fewest_moved(gears: Gears, places: Gears) -> int:
    """How many of these places, or of those beyond them, must change when the gears go on in the best order.

    >>> fewest_moved((20, 30), (30, 40)), fewest_moved((20, 30), (30, 40, 50))
    (1, 2)

    `gears`: those of one side of the new train; `places`: that side of what is mounted, in its order.
    """
    kept, left = 0, list(gears)
    for mounted in places[: len(gears)]:
        if mounted in left:
            left.remove(mounted)
            kept += 1
    return max(len(gears), len(places)) - kept


def plus_idler(gear_set: GearSet, train: Train, mounted: Train | None) -> Train | None:
    """The train with one idler more, of the gears that it leaves over; see trains.with_idler. None where none serves.

    >>> print(plus_idler(GearSet([30, 40, 50, 80]), Train((40,), (80,)), None))
    40/80, idler 50
    """
    spare = gear_set.left_over(train)
    if gear_set.anything_goes:
        return with_idler(train, spare, mounted) if spare else None
    choices = [gear_set.idlers_for(driver, spare) for driver in train.drivers]
    return with_idler(train, spare, mounted, choices) if any(choices) else None


def leaves_idlers(gear_set: GearSet, drivers: Gears, driven: Gears, idlers: int) -> bool:
    """Whether so many idlers can be had beside these.

    >>> leaves_idlers(GearSet([20, 30, 40]), (20,), (30,), 1), leaves_idlers(GearSet([20, 30, 40]), (20,), (30,), 2)
    (True, False)
    """
    if gear_set.anything_goes:
        return len(drivers) + len(driven) + idlers <= len(gear_set.loose)
    many = len(drivers) + len(driven) + idlers
    if not idlers or any(gear_set.kinds[kind_of(driver)] >= many for driver in drivers):
        return True
    spare = gear_set.left_over((*drivers, *driven))
    one_of_each = {kind_of(driver): driver for driver in drivers}.values()
    return sum(len(gear_set.idlers_for(driver, spare)) for driver in one_of_each) >= idlers


def gears_moved(gear_set: GearSet, one: Train, other: Train) -> int:
    """Places that hold a different gear, or none in one, in two trains of a lathe; a fixed gear is never moved.

    >>> from gearcalc.lathes.sizes import Fixed
    >>> one, other = Train((40,), (80,)), Train((40, 20), (60, 80))
    >>> gears_moved(GearSet([20, 40, 60, 80]), one, other)
    3
    >>> gears_moved(GearSet([20, 40, 60, 80], fixed=Fixed(last_driven=80)), one, other)
    2
    """
    return places_that_differ(one, other, last_stays=gear_set.last_stays)


def gears_that_stay(one: Train, other: Train) -> list[Gears]:
    """The gears that stay on each shaft, from one train to the other.

    >>> gears_that_stay(Train((63, 70), (50, 80)), Train((63,), (50,), ((35,),)))
    [(63,), (), ()]

    The first and the last shaft are the same in both; studs are matched in their order, so that most gears stay.
    """
    old_first, *old_studs, old_last = _shafts(one)
    first, *studs, last = _shafts(other)

    @cache
    def best(new: int, old: int) -> list[Gears]:
        if new == len(studs) or old == len(old_studs):
            return [()] * (len(studs) - new)
        ways = (
            [_common(studs[new], old_studs[old]), *best(new + 1, old + 1)],
            best(new, old + 1),
            [(), *best(new + 1, old)],
        )
        return max(ways, key=lambda stay: sum(map(len, stay)))

    return [_common(first, old_first), *best(0, 0), _common(last, old_last)]


def _shafts(train: Train) -> list[Gears]:
    """The gears on each shaft, along the chain."""
    by_shaft = groupby(gears_of(train.chain()), key=lambda gear: gear.axis)
    return [tuple(gear.teeth for gear in gears) for _, gears in by_shaft]


def _common(one: Gears, other: Gears) -> Gears:
    return tuple((Counter(one) & Counter(other)).elements())
