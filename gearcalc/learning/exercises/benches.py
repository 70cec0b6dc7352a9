"""Where exercises happen: the two demo lathes without their gearbox, and threads that people ask for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from itertools import combinations, permutations
from math import prod
from typing import TYPE_CHECKING

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM, as_fraction, threads_per_inch
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import GearSet, Lathe, Leadscrew, demo_lathe
from gearcalc.threads import Thread
from gearcalc.threads.designations import lead_name

if TYPE_CHECKING:
    from gearcalc.deriving.derivations import Derivation
    from gearcalc.deriving.missing_gears import SolvedGear

UPSIDE_DOWN = """That is upside down. Does the leadscrew turn faster or slower than the spindle?
    Slower makes a finer thread than its own: a smaller lead, and more threads in an inch."""
RATIO_NEEDED = (
    "The ratio of the gears is the lead wanted over the lead of the leadscrew. "
    "With threads per inch it is the leadscrew's over the ones wanted."
)
GEARS = (20, 24, 25, 28, 30, 32, 35, 36, 40, 42, 45, 48, 50, 54, 55, 56, 60, 63, 64, 65, 66, 70, 72, 75, 80)
"""Of which boxes for a question are drawn."""


@cache
def bench(system: str) -> Lathe:
    """The 'inch' or the 'metric' demo lathe, the last gear on its leadscrew.

    >>> said(bench("inch").leadscrew_lead_mm), dict(bench("metric").levers)
    ('8 tpi', {})

    Without gearbox and bracket, so that nothing but the gears of a question counts, nor stands in its solution.
    """
    return evolve(demo_lathe(system), gearbox=(), box=(), bracket=None)


@cache
def simple_setups(lathe: Lathe) -> tuple[Setup, ...]:
    """Every pair of different gears of the set that cuts a thread people ask for, none strained.

    >>> print(simple_setups(bench("inch"))[0])
    20/25: lead 10 tpi (2.54 mm)
    """
    found = (setup(lathe, (a,), (b,)) for a, b in permutations(sorted(set(lathe.gears)), 2))
    return tuple(one for one in found if _asked_for(lathe, one.lead_mm) and not one.strained)


@cache
def compound_setups(lathe: Lathe) -> tuple[Setup, ...]:
    """Two pairs of four different gears that cut a thread people ask for, none of them doing the job alone.

    >>> all(one.train.meshes == 2 for one in compound_setups(bench("inch")))
    True
    """
    sides = list(combinations(sorted(set(lathe.gears)), 2))
    found = (
        setup(lathe, drivers, driven)
        for drivers in sides
        for driven in sides
        if not set(drivers) & set(driven)
        and _asked_for(lathe, lathe.leadscrew_lead_mm * Fraction(prod(drivers), prod(driven)))
    )
    return tuple(one for one in found if not one.strained)


@cache
def ways_to_cut(lathe: Lathe) -> Counter[Fraction]:
    """Each lead that two pairs of this lathe cut, and by how many choices of gears.

    >>> ways_to_cut(bench("inch"))[INCH_MM / 27]
    1
    """
    return Counter(one.lead_mm for one in compound_setups(lathe))


def _asked_for(lathe: Lathe, lead_mm: Fraction) -> bool:
    """On an inch leadscrew 4 to 60 whole threads per inch; on a metric one 0.25 to 6 mm in steps of 0.05.

    Never the leadscrew's own lead, which needs no train.
    """
    if lead_mm == lathe.leadscrew_lead_mm:
        return False
    if tpi_of(lathe.leadscrew_lead_mm).denominator == 1:
        return tpi_of(lead_mm).denominator == 1 and 4 <= tpi_of(lead_mm) <= 60
    return (lead_mm * 20).denominator == 1 and 5 <= lead_mm * 20 <= 120


def derived(cuts: Setup) -> Derivation:
    """The derivation of a setup; sympy is loaded now, if it was not."""
    from gearcalc.deriving.derivations import derive

    return derive(cuts)


def missing_gear(
    lathe: Lathe, thread: str, drivers: tuple[int | None, ...], driven: tuple[int | None, ...]
) -> SolvedGear:
    """Which gear stands where None is, derived; sympy is loaded now, if it was not."""
    from gearcalc.deriving.missing_gears import solve_for_gear

    return solve_for_gear(lathe, thread, drivers, driven)


def plain_lathe(leadscrew: str, gears: Iterable[int]) -> Lathe:
    """A lathe made up for a question: a leadscrew and a box of gears, no lever.

    >>> plain_lathe("6 tpi", (40, 127)).gears
    (40, 127)
    """
    name = f"Lathe with {leadscrew_with(leadscrew)}".replace("*", "")
    return Lathe(name, Leadscrew(lead_of(leadscrew)), GearSet(tuple(gears)))


def leadscrew_of(lathe: Lathe) -> str:
    """How a question names the leadscrew.

    >>> leadscrew_of(bench("inch")), leadscrew_of(bench("metric"))
    ('a leadscrew of **8 tpi**', 'a leadscrew with a lead of **3 mm**')
    """
    lead = said(lathe.leadscrew_lead_mm)
    if lead.startswith("≈"):  # what a question gives is exact
        lead = f"{lathe.leadscrew_lead_mm} mm"
    return leadscrew_with(lead)


def leadscrew_with(lead: str) -> str:
    """The same by its lead in words; millimetres are said to be a lead, since they could be a diameter.

    >>> leadscrew_with("5 mm")
    'a leadscrew with a lead of **5 mm**'
    """
    return f"a leadscrew of **{lead}**" if lead.endswith("tpi") else f"a leadscrew with a lead of **{lead}**"


@cache
def lead_of(thread: str) -> Fraction:
    """The lead in mm of a thread without π, from its text."""
    return as_fraction(Thread.parse(thread).lead_mm)


def tpi_of(lead_mm: Fraction) -> Fraction:
    """Threads per inch of a lead, exact."""
    return INCH_MM / lead_mm


def said(lead_mm: Fraction) -> str:
    """A lead as the trade says it: threads per inch where it is an inch one, else millimetres.

    >>> said(INCH_MM / 8), said(INCH_MM / Fraction(23, 2)), said(Fraction(3, 2))
    ('8 tpi', '11 1/2 tpi', '1.5 mm')
    """
    return str(writing.length(lead_mm)) if threads_per_inch(lead_mm) is None else lead_name(lead_mm)


def said_beside(cut_mm: Fraction, wanted_mm: Fraction) -> str:
    """What is cut and what is wanted, both in the unit of what is wanted.

    >>> said_beside(Fraction(147, 250), INCH_MM / 48)
    '≈ 43.197 tpi, and 48 tpi is wanted'
    >>> said_beside(INCH_MM / 8, Fraction(3, 2))
    '3.175 mm, and 1.5 mm is wanted'
    """
    if threads_per_inch(wanted_mm) is None:
        cut = str(writing.length(cut_mm))
    else:
        cut = said(cut_mm) if threads_per_inch(cut_mm) else f"{writing.rounded(tpi_of(cut_mm), 3)} tpi"
    return f"{cut}, and {said(wanted_mm)} is wanted"
