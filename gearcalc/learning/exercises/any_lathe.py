"""Exercises about any lathe: how a question says what counts, what train it is about, slips that its parts invite."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from contextlib import suppress
from fractions import Fraction
from functools import cache, lru_cache, partial
from itertools import product
from typing import NamedTuple

from attrs import evolve

from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import is_inch
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import SlipTable
from gearcalc.learning.exercises.benches import lead_of, leadscrew_of
from gearcalc.learning.exercises.tasks import Draw

METRIC = ("0.5 mm", "0.75 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "2.5 mm", "3 mm")
INCH = tuple(f"{tpi} tpi" for tpi in (8, 9, 10, 11, 12, 13, 14, 16, 18, 20, 24, 28, 32, 40))
_SENSIBLE_MM = Fraction(1, 20), Fraction(60)
_MOST_TRIES = 60
FIRST_DRIVER = "The first driver does not turn as the spindle does: count that in."


def across(lathe: Lathe) -> tuple[str, ...]:
    """Threads that people ask for of the other system than the leadscrew's.

    >>> across(demo_lathe("inch"))[0], across(demo_lathe("metric"))[0]
    ('0.5 mm', '8 tpi')
    """
    return METRIC if is_inch(lathe.leadscrew_lead_mm) else INCH


def whose(lathe: Lathe) -> str:
    """How a question about any lathe begins: with the learner's own one, or the one that stands in for it.

    >>> whose(demo_lathe("metric")), whose(demo_lathe("metric").with_gears(add=33))
    ('The demo lathe', 'Your lathe')
    """
    return "The demo lathe" if lathe in map(demo_lathe, ("inch", "metric", "odd")) else "Your lathe"


def plain(name: str) -> str:
    """A name from a lathe file as it may stand in bold.

    >>> plain("**slow**")
    'slow'
    """
    return name.replace("*", "")


def lever_word(lathe: Lathe) -> str:
    """How what is set beside the gears is called: one lever, or several.

    >>> lever_word(demo_lathe("inch"))
    'lever'
    """
    return "levers" if len(lathe.box) > 1 else "lever"


def described(lathe: Lathe, lever: str | None) -> str:
    """What counts beside the gears: leadscrew, the first driver's turns where they are not the spindle's, lever.

    >>> described(demo_lathe("inch"), "low")
    'The demo lathe has a leadscrew of **8 tpi**. With the lever at **low** the leadscrew turns **1/2** times as often.'
    """
    parts = [f"{whose(lathe)} has {leadscrew_of(lathe)}."]
    if lathe.spindle_ratio != 1:
        parts.append(f"The first driver turns **{lathe.spindle_ratio}** times while the spindle turns once.")
    if lever is not None:
        turns, name = lathe.levers[lever], f"{lever_word(lathe)} at **{plain(lever)}**"
        does = (
            f"the leadscrew turns **{turns}** times as often"
            if turns != 1
            else "the leadscrew turns as often as the last gear"
        )
        parts.append(f"With the {name} {does}.")
    return " ".join(parts)


def beside_the_gears(lathe: Lathe, lever: str | None) -> Fraction:
    """What the leadscrew makes of a ratio of 1: turns for one turn of the spindle.

    >>> beside_the_gears(demo_lathe("inch"), "high")
    Fraction(2, 1)
    """
    return lathe.spindle_ratio * (lathe.levers[lever] if lever is not None else 1)


def drawn_lever(draw: Draw, lathe: Lathe) -> str | None:
    """A position of the lever, None where there is none."""
    return draw.choice(list(lathe.levers)) if lathe.levers else None


def drawn_setup(draw: Draw, lathe: Lathe, meshes: int) -> Setup:
    """Different gears of a lathe that may stand so, the lever drawn; the thread neither hair-fine nor a yard long."""
    fixed, few = lathe.gear_set.fixed, {1: "two", 2: "four"}[meshes]
    firsts, lasts = ((gear,) if gear is not None else () for gear in (fixed.first_driver, fixed.last_driven))
    loose = sorted(set(lathe.gears) - {*firsts, *lasts})
    wanting = 2 * meshes - len(firsts) - len(lasts)
    draw.needs(len(loose) >= wanting, f"has fewer than {few} different gears in its file")
    lacks = f"has no {few} gears in its file that may stand together"
    for _ in range(_MOST_TRIES):
        drawn = draw.sample(loose, wanting)
        row = (*firsts, *drawn, *lasts)
        with suppress(GearcalcError):
            cuts = setup(_bare(lathe), row[:meshes], row[meshes:], drawn_lever(draw, lathe))
            if _SENSIBLE_MM[0] <= cuts.lead_mm <= _SENSIBLE_MM[1]:
                return cuts
            lacks = f"has no {few} gears in its file that cut a thread of a usual size"
    draw.needs(False, lacks)
    raise AssertionError


@lru_cache(maxsize=64)
def _bare(lathe: Lathe) -> Lathe:
    """The lathe without its bracket: whether gears go on is not asked."""
    return evolve(lathe, bracket=None, plate=())


def slips_beside_the_gears(cuts: Setup, leads: Fraction | int = 1) -> SlipTable:
    """What comes out where a learner overlooks what stands before and behind the gears.

    `leads`: how many leads long is what was asked for, mm.
    """
    lever = cuts.lathe.levers[cuts.lever] if cuts.lever is not None else Fraction(1)
    several = [one.ratio for one in getattr(cuts.lathe.lever(cuts.lever), "stands", ())]
    spindle, length = cuts.lathe.spindle_ratio, leads * cuts.lead_mm
    return {
        "lever overlooked: The lever turns the leadscrew at another rate: count it in.": (
            length / lever if lever != 1 else None
        ),
        "lever the wrong way: Does the lever make the leadscrew turn more, or less?": (
            length / lever**2 if lever != 1 else None
        ),
        "one of the levers overlooked: More than one lever counts here, and what they do multiplies.": sorted(
            {length / one for one in several if one not in (1, lever)}
        ),
        f"first driver overlooked: {FIRST_DRIVER}": length / spindle if spindle != 1 else None,
        "lever and first driver overlooked: Neither the lever nor the first driver goes turn for turn: count them.": (
            length / (lever * spindle) if lever != 1 != spindle and lever * spindle != 1 else None
        ),
    }


def drawn_near(draw: Draw, lathe: Lathe, least_ppm: int, nearest: int) -> NearPair:
    """One of the nearest of near_pairs() that are further off than so many ppm."""
    draw.needs(len(set(lathe.gears)) > 1, "has fewer than two different gears in its file")
    near = near_pairs(lathe, least_ppm, nearest)
    draw.needs(bool(near), "has no pair of gears that comes near a common thread, and misses it")
    return draw.choice(near)


class NearPair(NamedTuple):
    """A pair of gears with the lever in a position, a thread that it nearly cuts, and the error."""

    driver: int
    driven: int
    lever: str | None
    thread: str
    ppm: Fraction

    def on(self, lathe: Lathe) -> Setup:
        """The setup, for a derivation."""
        return setup(_bare(lathe), (self.driver,), (self.driven,), self.lever, wanted=self.thread)


@lru_cache(maxsize=32)
def near_pairs(lathe: Lathe, least_ppm: int, nearest: int) -> tuple[NearPair, ...]:
    """Pairs of a lathe's gears that come within 2 % of a thread that people ask for, yet miss it; nearest first.

    >>> nearest = near_pairs(demo_lathe("inch"), least_ppm=20, nearest=12)[0]
    >>> nearest.thread, nearest.driver, nearest.driven, round(nearest.ppm)
    ('2.5 mm', 63, 40, 125)

    `least_ppm`: they miss by more; `nearest`: so many at most.
    """
    (drivers, driven), levers = _single_pairs(lathe), list(lathe.levers or (None,))
    pair = cache(partial(_as_only_pair, lathe))
    found: list[NearPair] = []
    farthest = 0.0
    for size, over, under, at, thread in sorted(_misses(lathe, drivers, driven, levers)):
        if len(found) >= nearest and size > farthest:
            break
        name, lead, _ = _LEADS[thread]
        ppm = (_turned(lathe, levers[at]) * Fraction(drivers[over], driven[under]) / lead - 1) * 10**6
        if abs(ppm) > least_ppm and (train := pair(drivers[over], driven[under])):
            found.append(NearPair(train.drivers[0], train.driven[0], levers[at], name, ppm))
            farthest = size
    return tuple(sorted(found, key=lambda one: abs(one.ppm))[:nearest])  # sizes alike as floats may still differ


_LEADS = [(thread, lead_of(thread), float(lead_of(thread))) for thread in (*METRIC, *INCH)]


def _misses(
    lathe: Lathe, drivers: Sequence[int], driven: Sequence[int], levers: Sequence[str | None]
) -> Iterator[tuple[float, int, int, int, int]]:
    """How far pairs miss a thread that they nearly cut; places of driver, driven, lever and thread.

    For each driven gear the drivers that come near stand in a row, so they are looked up, not tried.
    """
    for at, lever in enumerate(levers):
        top, bottom = _turned(lathe, lever).as_integer_ratio()
        for (thread, (_, lead, about)), (under, last) in product(enumerate(_LEADS), enumerate(driven)):
            exactly = last * bottom * about / top  # the driver that would cut it
            for over in range(bisect_left(drivers, 0.979 * exactly), bisect_right(drivers, 1.021 * exactly)):
                first = drivers[over]
                cut, asked = first * top * lead.denominator, last * bottom * lead.numerator
                if first != last and cut != asked and 0.98 < first * top / (last * bottom) / about < 1.02:
                    yield abs(cut - asked) / asked, over, under, at, thread


def _single_pairs(lathe: Lathe) -> tuple[list[int], list[int]]:
    """The gears that may drive alone, and those that may be driven: where one is fixed, no other."""
    gears, fixed = sorted(set(lathe.gears)), lathe.gear_set.fixed
    drivers, driven = (
        [gear for gear in gears if only is None or int(gear) == only]
        for only in (fixed.first_driver, fixed.last_driven)
    )
    return drivers, driven


def _turned(lathe: Lathe, lever: str | None) -> Fraction:
    """What a ratio of 1 cuts, in mm."""
    return lathe.leadscrew_lead_mm * beside_the_gears(lathe, lever)


def _as_only_pair(lathe: Lathe, driver: int, driven: int) -> Train | None:
    """Two gears as they may stand alone; None where they may not."""
    with suppress(GearcalcError):
        return setup(_bare(lathe), (driver,), (driven,), next(iter(lathe.levers), None)).train
    return None
