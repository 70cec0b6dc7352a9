"""Exercises about any lathe: how a question says what counts, what train it is about, slips that its parts invite."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction
from functools import lru_cache
from itertools import permutations
from typing import NamedTuple

from attrs import evolve

from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import is_inch
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe, demo_lathe
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


def described(lathe: Lathe, lever: str | None) -> str:
    """What counts beside the gears: leadscrew, the first driver's turns where they are not the spindle's, lever.

    >>> described(demo_lathe("inch"), "low")
    'The demo lathe has a leadscrew of **8 tpi**. With the lever at **low** the leadscrew turns **1/2** times as often.'
    """
    parts = [f"{whose(lathe)} has {leadscrew_of(lathe)}."]
    if lathe.spindle_ratio != 1:
        parts.append(f"The first driver turns **{lathe.spindle_ratio}** times while the spindle turns once.")
    if lever is not None:
        turns, name = lathe.levers[lever], f"{'levers' if len(lathe.box) > 1 else 'lever'} at **{plain(lever)}**"
        does = f"the leadscrew turns **{turns}** times as often" if turns != 1 else "the leadscrew turns as often"
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
    near = [one for one in near_pairs(lathe) if abs(one.ppm) > least_ppm][:nearest]
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
def near_pairs(lathe: Lathe) -> tuple[NearPair, ...]:
    """Pairs of a lathe's gears that come within 2 % of a thread that people ask for, yet miss it; nearest first.

    >>> nearest = near_pairs(demo_lathe("inch"))[0]
    >>> nearest.thread, nearest.driver, nearest.driven, round(nearest.ppm)
    ('2.5 mm', 63, 40, 125)
    """
    found = []
    for driver, driven in _pairs(lathe):
        for lever in lathe.levers or (None,):
            cut = lathe.leadscrew_lead_mm * beside_the_gears(lathe, lever) * Fraction(driver, driven)
            for thread, lead, about in _LEADS:
                if 0.98 < float(cut) / about < 1.02 and cut != lead:  # exactly only what may serve
                    found.append(NearPair(driver, driven, lever, thread, (cut / lead - 1) * 10**6))
    return tuple(sorted(found, key=lambda one: abs(one.ppm)))


_LEADS = [(thread, lead_of(thread), float(lead_of(thread))) for thread in (*METRIC, *INCH)]


def _pairs(lathe: Lathe) -> list[tuple[int, ...]]:
    """Two different gears that may stand as the only pair."""
    lever = next(iter(lathe.levers), None)
    found = []
    for driver, driven in permutations(sorted(set(lathe.gears)), 2):
        with suppress(GearcalcError):
            found.append(setup(_bare(lathe), (driver,), (driven,), lever).train.gears)
    return found
