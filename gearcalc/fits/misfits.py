"""Why a train doesn't go on: of all that was tried, the arrangement nearest to going on, and what stops it.

Nearest: the fewest millimetres missing, added up over everything that is wrong with it. Degrees of swing count as the
way that the first stud would still have to go. Where there are very many ways to choose another idler, only those with
fewer are looked through.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import hypot, inf

from gearcalc.basics import writing
from gearcalc.fits.arrangements import (
    Arrangement,
    Chain,
    Question,
    Ways,
    apart_along,
    axes_of,
    plane_choices,
    train_of,
    turns_right,
)
from gearcalc.fits.gaps import Gap, Part, every_gap, part_name
from gearcalc.fits.geometry import PIVOT, ROUNDING, Layout, Slip, Stance, WayToStand, ways_to_stand
from gearcalc.lathes.readings import why_not_together
from gearcalc.lathes.trains import ORDINALS, Gear, gears_of

_KEPT = 20_000
_MOST_LOOKED_THROUGH = 300  # arrangements: a person waits for the reasons
_SLOT_NAMES = (*ORDINALS, "seventh", "eighth", "ninth", "tenth")


def nothing_to_try(ways: Ways) -> str:
    """Why there is no arrangement to try, in a sentence; empty when there is one."""
    if any(True for idlers in ways.numbers_of_idlers() for _ in ways.chains(idlers)):
        return ""
    if not (ways.plain or ways.order_kept or ways.question.gears.orders(ways.train.drivers, ways.train.driven)):
        gears = writing.listed(str(teeth) for teeth in sorted((*ways.train.drivers, *ways.train.driven)))
        why = why_not_together(ways.question.gears, ways.train)
        return f"In no order can {gears} stand together on this lathe{f'. As they are given, {why}' if why else ''}."
    least = len(ways.named) or (1 if ways.train.meshes == 1 else 0)
    if ways.studs_for(least) > ways.studs:
        return _studs_missing(ways, "It", least)
    if turns_right(ways.train.meshes, least, ways.question.same_way):
        return "It takes an idler, and the set has no gear left over for one."
    if ways.named:
        return "It turns the leadscrew the wrong way, and the lathe has no reverse: take one idler more or less."
    if ways.studs_for(least + 1) > ways.studs:
        return _studs_missing(ways, "To turn the leadscrew the right way it", least + 1)
    return "To turn the leadscrew the right way it takes one idler more, and the set has no gear left over for it."


def _studs_missing(ways: Ways, what: str, idlers: int) -> str:
    needed = ways.studs_for(idlers)
    return f"{what} takes {writing.counted(needed, 'stud')}, and the bracket has {ways.studs}."


def nearest_misfit(question: Question) -> tuple[Arrangement, tuple[str, ...]]:
    """Find the arrangement that comes nearest, of a train that goes on nowhere, and in sentences what is wrong with it.

    Its stance is None when the axes can't be placed at all. There must be one to try: see nothing_to_try.
    """
    layout, ways = question.layout, Ways(question)
    best: tuple[Chain, WayToStand, tuple[int, ...]] | None = None
    least = inf
    for idlers in _numbers_looked_through(ways):
        for chain in ways.chains(idlers):
            for tried in _tries(layout, apart_along(layout, chain)):
                if tried.missing >= least - ROUNDING:
                    break
                planes, fouled = _least_fouled(layout, chain, tried)
                if tried.missing + fouled < least - ROUNDING:
                    least, best = tried.missing + fouled, (chain, tried, planes)
    assert best is not None
    chain, tried, planes = best
    return Arrangement(train_of(chain), _stance(layout, tried), planes), tuple(_sentences(layout, *best))


def _numbers_looked_through(ways: Ways) -> list[int]:
    numbers = [number for number in ways.numbers_of_idlers() if ways.count(number)]
    return [number for number in numbers if number == numbers[0] or ways.count(number) <= _MOST_LOOKED_THROUGH]


@lru_cache(maxsize=_KEPT)
def _tries(layout: Layout, apart: tuple[float, ...]) -> tuple[WayToStand, ...]:
    """Every way to stand, as if slots and swing had no ends, the one that misses least first."""
    return tuple(sorted(ways_to_stand(layout, apart, beyond=True), key=lambda tried: tried.missing))


def _stance(layout: Layout, tried: WayToStand) -> Stance | None:
    return None if tried.swing is None else Stance.at(layout, tried.studs.at, tried.swing)


def _least_fouled(layout: Layout, chain: Chain, tried: WayToStand) -> tuple[tuple[int, ...], float]:
    """The planes in which the least fouls, and how many mm are missing there."""
    stance, choices = _stance(layout, tried), plane_choices(chain)
    fouled = [(sum(missing for missing, _ in _fouls(layout, chain, stance, planes)), planes) for planes in choices]
    missing, planes = min(fouled, key=lambda one: one[0])
    return planes, missing


def _fouls(layout: Layout, chain: Chain, stance: Stance | None, planes: tuple[int, ...]) -> Iterator[tuple[float, Gap]]:
    """What fouls; without a stance, what does so wherever the studs are, since the two ends stay where they are."""
    clearance, last = layout.bracket.running_clearance_mm, axes_of(chain) - 1
    nowhere = (layout.bracket.spindle_side_at_mm, *[PIVOT] * last)
    for gap in every_gap(layout, chain, nowhere if stance is None else stance.axes, planes):
        if stance is None and any(0 < _axis(part) < last for part in (gap.one, gap.other)):
            continue
        if gap.mm < clearance - ROUNDING:
            yield clearance - gap.mm, gap


def _axis(part: Part) -> int:
    """Where a part stands; the cover stands as still as the spindle side."""
    return part.axis if isinstance(part, Gear) else part or 0


# The sentences.


def _sentences(layout: Layout, chain: Chain, tried: WayToStand, planes: tuple[int, ...]) -> Iterator[str]:
    stance, axes = _stance(layout, tried), axes_of(chain)
    studs = axes - 2

    def name(part: Part) -> str:
        return part_name(part, axes, layout.last_shaft)

    for slip in tried.studs.slips:
        stud = name(studs + 1 - slip.stud)
        yield f"The {stud} would stand {writing.distance(slip.mm)} beyond the {_slot_end(layout, slip)}."
    if tried.studs.stuck_at:
        axis = studs + 1 - tried.studs.stuck_at
        here, there = _meshing(chain, axis)
        short = tried.studs.missing - sum(slip.mm for slip in tried.studs.slips)
        yield (
            f"No slot comes near enough for the {name(here)} to mesh with the {name(there)}: "
            f"{writing.distance(short)} are missing."
        )
    if tried.short:
        here, there = _meshing(chain, 0)
        names = f"the {name(there)}", f"the {name(here)}"
        how = "stays {} short of" if tried.short > 0 else "is {} too near to mesh with"
        yield f"Wherever the bracket swings, {names[0]} {how.format(writing.distance(abs(tried.short)))} {names[1]}."
    if tried.over and tried.swing is not None:
        low, high = layout.bracket.swing_deg
        stop = low if tried.swing < low else high
        places = 0 if tried.over >= 1 else 2
        yield (
            f"The bracket would have to swing to {writing.decimal(tried.swing, places)}°, "
            f"and it stops at {writing.decimal(stop, 2)}°."
        )
    for _, gap in sorted(_fouls(layout, chain, stance, planes), key=lambda foul: -foul[0]):
        yield _fouling(name(gap.one), name(gap.other), gap.mm, layout.bracket.running_clearance_mm)


def _fouling(one: str, other: str, mm: float, least: float) -> str:
    if mm >= 0:
        short = writing.distance(mm, beside=least)
        return f"The {one} would be only {short} from the {other}, and {writing.distance(least)} must be left."
    return f"The {one} fouls the {other} by {writing.distance(-mm)}."


def _meshing(chain: Chain, axis: int) -> tuple[Gear, Gear]:
    """The two gears that mesh between an axis and the next."""
    gears = gears_of(chain)
    return next(
        (here, there)
        for here in gears
        for there in gears
        if here.axis == axis and there.axis == axis + 1 and here.mesh == there.mesh
    )


def _slot_end(layout: Layout, slip: Slip) -> str:
    slot = layout.slots[slip.slot]
    this, that = (0.0, slot.length) if slip.along < 0 else (slot.length, 0.0)
    outer = hypot(*slot.at(this)) >= hypot(*slot.at(that))
    which = f" {_SLOT_NAMES[slip.slot]}" if len(layout.slots) > 1 else ""
    return f"{'outer' if outer else 'inner'} end of the{which} slot"
