"""What goes into a derivation, each a letter with words and a value, and how it is said."""

from __future__ import annotations

import re
from fractions import Fraction

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM, PiMultiple, as_fraction, is_inch
from gearcalc.basics.markup import Written
from gearcalc.deriving.formulas import Quantity
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.directions import OTHER_HAND
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.lathes.parts import LeverAt
from gearcalc.lathes.trains import ORDINALS
from gearcalc.threads import Feed, Thread
from gearcalc.threads.wanted import Wanted

PLACES = 9
"""Leads that go into an error are decimals up to here, so that a small difference shows; beyond it, fractions."""


def teeth_of(side: str, place: int, teeth: int | None) -> Quantity:
    """The teeth of a gear named by what it does: `side` 'driver' or 'driven', `place` counted from 0."""
    return Quantity("z", f"{side} {place + 1}", f"{ORDINALS[place]} {side}", None if teeth is None else Fraction(teeth))


def lead_of_leadscrew(lathe: Lathe) -> Quantity:
    """The leadscrew's lead in mm; for an inch screw spelled 25.4 over its threads per inch.

    >>> from gearcalc.lathes import demo_lathe
    >>> screw = lead_of_leadscrew(demo_lathe("inch"))
    >>> print(screw.spelled, "=", screw.number)
    25.4/8 = 127/40
    """
    lead = lathe.leadscrew.lead
    if not is_inch(lead):
        return Quantity("L", "leadscrew", "lead of the leadscrew", lead, writing.number(lead))
    return Quantity("L", "leadscrew", "lead of the leadscrew", lead, writing.ratio(lead), inches_spelled(lead))


def lead_wanted(lathe: Lathe, wanted: Wanted) -> Quantity:
    """The lead by the half-nuts that gives what is wanted."""
    lead = lead_to_cut(lathe, wanted)
    return Quantity("L", "wanted", "lead wanted", lead, writing.number(lead, PLACES))


def feed_wanted(wanted: Feed) -> Quantity:
    """The travel that is wanted in one turn of the spindle."""
    return Quantity("f", "wanted", "feed wanted", wanted.travel_mm, writing.number(wanted.travel_mm, PLACES))


def feed_drive(lathe: Lathe, wanted: Feed) -> Quantity:
    """What the feed drive makes of the lead by the half-nuts."""
    ratio = wanted.travel_mm / as_fraction(lead_to_cut(lathe, wanted))
    return Quantity("r", "feed drive", "feed drive", ratio)


def levers_of(lever: Lever | None, side: str) -> tuple[Quantity, ...]:
    """What each lever on this side of the change gears, 'spindle' or 'leadscrew', makes of the turns, as a factor.

    >>> from gearcalc.lathes import demo_lathe
    >>> [(factor.words, factor.value) for factor in levers_of(demo_lathe("inch").lever("low"), "leadscrew")]
    [('lever', Fraction(1, 2))]
    """
    stands = lever.stands if lever else ()
    return tuple(
        Quantity("r", place_of(stand, number), stand.called, stand.ratio)
        for number, stand in enumerate(stands, 1)
        if stand.side == side
    )


def place_of(stand: LeverAt, number: int) -> str:
    """What a lever's symbol has below it: its name, or its number where two names might come to one symbol."""
    return stand.called if re.fullmatch(r"lever( [^\W_]+)*", stand.called) else f"lever no. {number}"


def inches_spelled(lead: Fraction) -> Written:
    count, of = (lead / INCH_MM).as_integer_ratio()
    top = "25.4" if count == 1 else f"{count} · 25.4"
    latex = top.replace("·", r"\cdot")
    if of == 1:
        return Written(top, latex, top)
    text = f"{top}/{of}" if count == 1 else f"({top})/{of}"
    return Written(text, rf"\frac{{{latex}}}{{{of}}}", text)


def inches_in_words(lead: Fraction) -> str:
    inches = lead / INCH_MM
    return f"{writing.mixed(inches)} {'of an inch' if inches < 1 else 'inch'}, at 25.4 mm an inch"


def thread_in_words(thread: Thread) -> str:
    """The thread and how its lead comes about.

    >>> thread_in_words(Thread.parse("16 tpi"))
    '16 tpi, a lead of 25.4/16 mm = 1.5875 mm'
    """
    pitch, lead = thread.pitch, thread.lead
    stages = []
    if thread.starts > 1:
        stages.append(f"{thread.starts} starts × {writing.number(pitch)} mm")
    if isinstance(lead, PiMultiple):
        stages.append(f"{writing.number(lead)} mm")
    elif is_inch(lead):
        stages.append(f"{inches_spelled(lead)} mm")
    stages += [length] if (length := str(writing.length(lead))) not in stages else []
    return f"{thread}, a lead of {' = '.join(stages).replace('= ≈', '≈')}"


def turned_round(setup: Setup, lever: Lever | None) -> tuple[Quantity, ...]:
    """What turns the motion round on its way to the leadscrew, and how often."""
    counts = [Quantity("k", "teeth touch", "teeth touch", Fraction(setup.train.meshes + setup.train.idler_count))]
    if not setup.lathe.spindle_side.same_way:
        counts.append(Quantity("k", "spindle side", "spindle side", Fraction(1)))
    for number, stand in enumerate(lever.stands if lever else (), 1):
        if not stand.same_way:
            named = (place_of(stand, number), stand.called) if stand.lever else ("gearbox", "gearbox")
            counts.append(Quantity("k", *named, Fraction(1)))
    return tuple(counts)


def way_in_words(rounds: int) -> str:
    """Which way the leadscrew turns when the motion is turned round so often.

    >>> way_in_words(2)
    '2 is even, so the leadscrew turns the same way as the spindle'
    """
    even_or_odd, way = (
        ("odd", "the opposite way to the spindle") if rounds % 2 else ("even", "the same way as the spindle")
    )
    return f"{rounds} is {even_or_odd}, so the leadscrew turns {way}"


def hand_in_words(setup: Setup) -> str:
    """Which hand of thread comes out, or which way the carriage feeds, and what to put right."""
    natural, reverse = setup.natural_hand, setup.reverse_fitted
    lever = setup.lever_the_other_way and f"the {setup.lever_the_other_way}"
    other = OTHER_HAND[natural]
    if isinstance(setup.wanted, Feed):
        return _way_of_the_feed(setup.wanted, natural, reverse, lever)
    cuts = f"With a {setup.lathe.leadscrew.hand}-hand leadscrew that cuts a {natural}-hand thread"
    if setup.wanted is None:
        how = "the reverse, put over," if reverse else f"there is no reverse, but {lever or 'an idler more or less'}"
        return f"{cuts}; {how} makes it {other}-hand."
    if setup.wanted.hand == natural:
        return f"{cuts}, as wanted{': leave the reverse as the lathe file describes it' if reverse else ''}."
    if reverse:
        return f"{cuts}; for the {other}-hand thread that is wanted, put the reverse over."
    how = lever or "an idler more, or one less, in a mesh"
    return f"{cuts}; a {other}-hand one is wanted, and the lathe has no reverse, so put {how}."


def _way_of_the_feed(wanted: Feed, natural: str, reverse: bool, lever: str | None) -> str:
    if wanted.along == "cross":
        return "Which way the cross slide then goes is up to the feed drive: see it with the tool clear."
    put_right = ""
    if natural == "left":
        how = "put the reverse over" if reverse else f"put {lever or 'an idler more, or one less, in a mesh'}"
        put_right = f"; to feed toward it, {how}"
    toward = "toward" if natural == "right" else "away from"
    return (
        f"By the half-nuts that moves the carriage {toward} the headstock while the spindle runs forward{put_right}. "
        "A feed drive may turn it round once more: see which way it goes with the tool clear."
    )
