"""Why a train doesn't go on: of all that was tried, the arrangement nearest to going on, and what stops it.

Nearest: the fewest millimetres missing, added up over everything that is wrong with it. Degrees of swing count as the
way that the first stud would still have to go. Where there are very many ways to choose another idler, only those with
fewer are looked through.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import degrees, hypot, inf, radians
from typing import NamedTuple

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.fits.arrangements import (
    Chain,
    Gap,
    Gear,
    Part,
    Question,
    Ways,
    chain_sums,
    every_gap,
    gears_of,
    part_name,
    plane_choices,
)
from gearcalc.fits.geometry import PIVOT, ROUNDING, Layout, Point, Stance, angle_opposite, bearing
from gearcalc.lathes.trains import ORDINALS

_KEPT = 20_000
_MOST_LOOKED_THROUGH = 300  # arrangements: a person waits for the reasons
_SLOT_NAMES = (*ORDINALS, "seventh", "eighth", "ninth", "tenth")


@frozen
class Misfit:
    """An arrangement that doesn't go on, and why, in sentences. `stance`: None when the axes can't be placed at all."""

    chain: Chain
    planes: tuple[int, ...]
    stance: Stance | None
    reasons: tuple[str, ...]


class _Slip(NamedTuple):
    """A stud beyond the end of its slot. Studs are counted from the pivot here, from 1."""

    stud: int
    slot: int
    along: float
    mm: float


class _Stand(NamedTuple):
    """Studs on the lines of their slots, the first stud first, bracket at swing 0, as if slots had no ends."""

    studs: tuple[Point, ...] = ()
    slips: tuple[_Slip, ...] = ()
    stuck_at: int = 0  # the stud that no slot brings near enough, counted from the pivot; 0 when all stand
    missing: float = 0.0  # mm


class _Try(NamedTuple):
    """A stand and how the bracket swings there: `swing` degrees, None when nothing closes the last mesh.

    `over`: degrees beyond the stop; `short`: mm that the last mesh stays open, below zero when it is too tight.
    """

    stand: _Stand
    swing: float | None
    over: float = 0.0
    short: float = 0.0
    missing: float = 0.0


def nothing_to_try(ways: Ways) -> str:
    """Why there is no arrangement to try, in a sentence; empty when there is one."""
    if any(True for idlers in ways.numbers_of_idlers() for _ in ways.chains(idlers)):
        return ""
    least = len(ways.named) or (1 if ways.train.meshes == 1 else 0)
    if ways.studs_for(least) > ways.studs:
        return _studs_missing(ways, "It", least)
    if ways.turns_right(least):
        return "It takes an idler, and the set has no gear left over for one."
    if ways.named:
        return "It turns the leadscrew the wrong way, and the lathe has no reverse: take one idler more or less."
    if ways.studs_for(least + 1) > ways.studs:
        return _studs_missing(ways, "To turn the leadscrew the right way it", least + 1)
    return "To turn the leadscrew the right way it takes one idler more, and the set has no gear left over for it."


def _studs_missing(ways: Ways, what: str, idlers: int) -> str:
    needed = ways.studs_for(idlers)
    return f"{what} takes {writing.counted(needed, 'stud')}, and the bracket has {ways.studs}."


def nearest_misfit(question: Question) -> Misfit | None:
    """The arrangement that comes nearest, of a train that goes on nowhere; None when there is none to try."""
    layout, ways = question.layout, Ways(question)
    best: tuple[Chain, _Try, tuple[int, ...]] | None = None
    least = inf
    for idlers in _numbers_looked_through(ways):
        for chain in ways.chains(idlers):
            for tried in _tries(layout, chain_sums(chain)):
                if tried.missing >= least - ROUNDING:
                    break
                planes, fouled = _least_fouled(layout, chain, tried)
                if tried.missing + fouled < least - ROUNDING:
                    least, best = tried.missing + fouled, (chain, tried, planes)
    if best is None:
        return None
    chain, tried, planes = best
    stance = _stance(layout, tried)
    return Misfit(chain, planes, stance, tuple(_sentences(layout, *best)))


def _numbers_looked_through(ways: Ways) -> list[int]:
    numbers = [number for number in ways.numbers_of_idlers() if ways.count(number)]
    return [number for number in numbers if number == numbers[0] or ways.count(number) <= _MOST_LOOKED_THROUGH]


@lru_cache(maxsize=_KEPT)
def _tries(layout: Layout, sums: tuple[int, ...]) -> tuple[_Try, ...]:
    """Every way to stand, as if slots and swing had no ends, the one that misses least first."""
    return tuple(sorted(_all_tries(layout, sums), key=lambda tried: tried.missing))


def _all_tries(layout: Layout, sums: tuple[int, ...]) -> Iterator[_Try]:
    for stand in _stands(layout, sums[1:]):
        if stand.stuck_at:
            yield _Try(stand, None, missing=stand.missing)
            continue
        arm, first = hypot(*stand.studs[0]), layout.centre_distance(sums[0])
        angle = angle_opposite(first, arm, layout.shafts_apart)
        if angle is None:
            nearest = abs(arm - layout.shafts_apart)
            short = nearest - first if first < nearest else layout.shafts_apart + arm - first
            yield _Try(stand, None, short=short, missing=stand.missing + abs(short))
            continue
        ahead = layout.spindle_bearing - bearing(stand.studs[0])
        for swing in (ahead - angle, ahead + angle):
            nearest_swing, over = _nearest_swing(layout, degrees(swing))
            yield _Try(stand, nearest_swing, over, missing=stand.missing + radians(over) * arm)


@lru_cache(maxsize=_KEPT)
def _stands(layout: Layout, sums: tuple[int, ...]) -> tuple[_Stand, ...]:
    if not sums:
        return (_Stand(),)
    stud, radius, found = len(sums), layout.centre_distance(sums[0]), []
    for inner in _stands(layout, sums[1:]):
        if inner.stuck_at:
            found.append(inner)
            continue
        centre = inner.studs[0] if inner.studs else PIVOT
        for number, slot in enumerate(layout.slots):
            places = slot.at_distance(centre, radius)
            if not places:
                missing = inner.missing + abs(slot.beside(centre)[1]) - radius
                found.append(_Stand(slips=inner.slips, stuck_at=stud, missing=missing))
            for along in places:
                mm = slot.beyond(along)
                slips = (_Slip(stud, number, along, mm), *inner.slips) if mm > ROUNDING else inner.slips
                found.append(_Stand((slot.at(along), *inner.studs), slips, 0, inner.missing + max(mm, 0.0)))
    return tuple(found)


def _nearest_swing(layout: Layout, swing: float) -> tuple[float, float]:
    """The swing, whole turns more or less, that is least beyond the bracket's stops; and by how many degrees."""
    low, high = layout.bracket.swing_deg
    within = layout.swing_within(swing)
    if within is not None:
        return within, 0.0
    past = high + (swing - high) % 360  # the first such angle beyond the upper stop, and a turn less than it
    return (past, past - high) if past - high <= low - (past - 360) else (past - 360, low - (past - 360))


def _stance(layout: Layout, tried: _Try) -> Stance | None:
    return None if tried.swing is None else Stance.at(layout, tried.stand.studs, tried.swing)


def _least_fouled(layout: Layout, chain: Chain, tried: _Try) -> tuple[tuple[int, ...], float]:
    """The planes in which the least fouls, and how many mm are missing there."""
    stance, choices = _stance(layout, tried), plane_choices(len(chain))
    fouled = [(sum(missing for missing, _ in _fouls(layout, chain, stance, planes)), planes) for planes in choices]
    missing, planes = min(fouled, key=lambda one: one[0])
    return planes, missing


def _fouls(layout: Layout, chain: Chain, stance: Stance | None, planes: tuple[int, ...]) -> Iterator[tuple[float, Gap]]:
    """What fouls; without a stance, what does so wherever the studs are, since the two ends stay where they are."""
    clearance, last = layout.bracket.running_clearance_mm, len(chain_sums(chain))
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


def _sentences(layout: Layout, chain: Chain, tried: _Try, planes: tuple[int, ...]) -> Iterator[str]:
    stance, axes = _stance(layout, tried), len(chain_sums(chain)) + 1
    studs = axes - 2

    def name(part: Part) -> str:
        return part_name(part, axes, layout.last_shaft)

    for slip in tried.stand.slips:
        stud = name(studs + 1 - slip.stud)
        yield f"The {stud} would stand {writing.distance(slip.mm)} beyond the {_slot_end(layout, slip)}."
    if tried.stand.stuck_at:
        axis = studs + 1 - tried.stand.stuck_at
        here, there = _meshing(chain, axis)
        short = tried.stand.missing - sum(slip.mm for slip in tried.stand.slips)
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


def _slot_end(layout: Layout, slip: _Slip) -> str:
    slot = layout.slots[slip.slot]
    this, that = (0.0, slot.length) if slip.along < 0 else (slot.length, 0.0)
    outer = hypot(*slot.at(this)) >= hypot(*slot.at(that))
    which = f" {_SLOT_NAMES[slip.slot]}" if len(layout.slots) > 1 else ""
    return f"{'outer' if outer else 'inner'} end of the{which} slot"
