"""Leads that are taken for one another: inch for metric, the pitch of many starts for their lead."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, is_inch
from gearcalc.lathes import Lathe
from gearcalc.threads import Thread, standard_threads
from gearcalc.threads.designations import lead_name
from gearcalc.threads.worms import modules

_FINEST_PITCH = 200
_SHORTEST_MM, _LONGEST_MM = Fraction(1, 20), 100
_HALF = Fraction(1, 2)


class Mistake(NamedTuple):
    """The lead, mm, exact, that somebody worked the gears out for; the kind of slip, and the words that say it."""

    lead: Exact
    kind: str
    words: str


def mistaken_leads(lathe: Lathe, wanted: Thread | Fraction) -> Iterator[Mistake]:
    """Leads that the gears may have been worked out for by mistake.

    >>> from gearcalc.lathes import demo_lathe
    >>> for mistake in mistaken_leads(demo_lathe("metric"), Thread.parse("1.25 mm")):
    ...     print(mistake.words)
    Inch and metric mixed up: the gears of 24 tpi instead of those of 1.25 mm.
    Inch and metric mixed up: the gears of 22 tpi instead of those of 1.25 mm.
    Inch and metric mixed up: the gears of 20 tpi instead of those of 1.25 mm.
    Inch and metric mixed up: the gears of 19 tpi instead of those of 1.25 mm.
    Inch and metric mixed up: the gears of 21 tpi instead of those of 1.25 mm.
    Inch and metric mixed up: the gears of 1 1/4 tpi instead of those of 1.25 mm.
    Inch and metric mixed up: gears worked out for a leadscrew of 8 tpi, and this is one with a lead of 3 mm.

    `wanted`: a thread, or a lead in mm. The same lead may come twice.
    """
    lead = wanted.lead if isinstance(wanted, Thread) else wanted
    if isinstance(wanted, Thread) and wanted.starts > 1:
        words = f"The starts were forgotten: gears for the pitch, {writing.length(wanted.pitch)}, instead of the lead."
        yield Mistake(wanted.pitch, "pitch for lead", words)
    name = str(wanted) if isinstance(wanted, Thread) else lead_name(lead)
    for other in dict.fromkeys(_others(lead)):
        words = f"Inch and metric mixed up: the gears of {lead_name(other)} instead of those of {name}."
        yield Mistake(other, "inch and metric", words)
    screw, taken_for = lathe.leadscrew_lead_mm, _leadscrew_of_the_other_system(lathe.leadscrew_lead_mm)
    if taken_for is not None:
        words = f"gears worked out for a leadscrew {_of(taken_for)}, and this is one {_of(screw)}."
        yield Mistake(lead * (screw / taken_for), "inch and metric", f"Inch and metric mixed up: {words}")


def _of(lead: Fraction) -> str:
    """A leadscrew's lead behind its name; bare millimetres could be its diameter."""
    named = lead_name(lead)
    return f"{'of' if named.endswith('tpi') else 'with a lead of'} {named}"


def _others(lead: Exact) -> list[Exact]:
    """Of the other system: the standard pitches next to it, the whole tpi around it, the one of the same number."""
    if isinstance(lead, PiMultiple):
        return [*_other_worms(lead.coefficient)]
    inch = is_inch(lead)
    standard = _standard_leads(inch=not inch)
    near = [x for x in standard if x < lead][-2:] + [x for x in standard if x > lead][:2]
    if not inch:
        whole = int(INCH_MM / lead)
        near += [INCH_MM / tpi for tpi in (whole, whole + 1) if tpi]
    return [x for x in (*near, INCH_MM / lead) if _SHORTEST_MM <= x <= _LONGEST_MM]


def _other_worms(module: Fraction) -> Iterator[PiMultiple]:
    """For a module the diametral pitches next to it, for a diametral pitch the modules."""
    pitch = INCH_MM / module
    if pitch.denominator == 1:
        standard = sorted(modules())
        around = [x for x in standard if x < module][-1:] + [x for x in standard if x > module][:1]
    else:
        around = [INCH_MM / whole for whole in (int(pitch), int(pitch) + 1) if 1 <= whole <= _FINEST_PITCH]
    return map(PiMultiple, around)


def _leadscrew_of_the_other_system(lead: Fraction) -> Fraction | None:
    """The leadscrew that this one is easily taken for: whole tpi for millimetres, half millimetres for tpi."""
    if is_inch(lead):
        return round(lead / _HALF) * _HALF or None
    tpi = round(INCH_MM / lead)
    return INCH_MM / tpi if tpi else None


@cache
def _standard_leads(*, inch: bool) -> tuple[Fraction, ...]:
    """The standard leads of one system, ascending."""
    leads = {thread.lead for thread in standard_threads() if isinstance(thread.lead, Fraction)}
    return tuple(sorted(lead for lead in leads if is_inch(lead) == inch))
