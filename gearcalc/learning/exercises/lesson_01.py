"""Exercises for lesson 01, one turn of the spindle: lead, pitch, tpi, leadscrew, one pair, idlers, lever."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.basics.exact import INCH_MM, parse_number
from gearcalc.basics.writing import length, ratio
from gearcalc.finding.setups import setup
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.lathe import levers_in_words
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Choice
from gearcalc.learning.exercises.any_lathe import described, drawn_setup, slips_beside_the_gears
from gearcalc.learning.exercises.benches import (
    RATIO_NEEDED,
    UPSIDE_DOWN,
    bench,
    derived,
    leadscrew_of,
    missing_gear,
    said,
    said_beside,
    simple_setups,
    tpi_of,
)
from gearcalc.learning.exercises.gear_answers import AnyTrain, in_a_row, leadscrew_forgotten
from gearcalc.learning.exercises.number_answers import Number, ThreadCut
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.threads import Thread

_LEADSCREWS = ("2", "2 1/2", "3", "3 1/2", "4", "4 1/2", "7 1/2", *map(str, (6, 7, 9, 10, 11, 12, 14, 16, 18, 20, 24)))
"""Threads per inch; not the 8 of the lesson, nor 5, where 25 mm to the inch is the same as taking it for the lead."""
_STARTS_AND_QUARTERS = tuple((starts, quarters) for starts in (2, 3, 4) for quarters in (3, 4, 5, 6, 8, 10, 12))
"""Starts of a thread, and its pitch in quarters of a millimetre."""


@poses("lead-of-a-leadscrew", lesson=1, goal=1, title="One turn of the leadscrew")
def lead_of_a_leadscrew(draw: Draw) -> Task:
    said_tpi = draw.evenly(_LEADSCREWS)
    tpi = parse_number(said_tpi)
    lead = INCH_MM / tpi
    return Task(
        question=f"""A leadscrew has **{said_tpi} threads per inch**. The half-nuts are closed.
            How far does the carriage move, in millimetres, while the leadscrew turns once?""",
        answer=Number(lead, "mm", places=3),
        slips={
            "upside down: That is upside down: it says how many threads there are in a millimetre.": 1 / lead,
            "left in inches: That looks like inches. The question asks for millimetres.": lead / INCH_MM,
            "multiplied: That is longer than an inch, yet in an inch there is more than one turn. Divide.": INCH_MM
            * tpi,
            "25 for 25.4: An inch is a little more than 25 mm, and a leadscrew has many inches. Be exact.": 25 / tpi,
            "tpi for lead: That is the number of threads in an inch, not the length of one.": tpi,
        },
        hints=f"""In one turn the carriage moves by one lead: with one start, from one thread to the next.
            An inch holds {said_tpi} threads, so {said_tpi} leads together are one inch long.
            An inch is 25.4 mm exactly. Share it out among the threads.""",
        solution=f"""{said_tpi} turns move the carriage one inch, which is {length(INCH_MM)}.
            One turn: {length(INCH_MM)} ÷ {said_tpi}, which is **{length(lead)}**.""",
        right="Every lead that this lathe can cut is this length times the ratio of the gears.",
    )


@poses("pitch-and-lead", lesson=1, goal=1, title="More than one start")
def pitch_and_lead(draw: Draw) -> Task:
    starts, quarters = draw.evenly(_STARTS_AND_QUARTERS)
    thread = Thread.parse(f"lead {starts * quarters}/4 mm {starts} starts")
    pitch, lead = Fraction(quarters, 4), thread.lead
    return Task(
        question=f"""A drawing asks for a thread with **{starts} starts** and a **pitch of {length(pitch)}**.
            For what lead do you set up the gears, in millimetres?""",
        answer=Number(lead, "mm", places=3),
        slips={
            "starts forgotten: That is the pitch: from one thread to the next. A nut goes further.": pitch,
            "divided by the starts: With more starts a nut goes further in a turn, not less.": pitch / starts,
            "in inches: That looks like inches. The question asks for millimetres.": lead / INCH_MM,
        },
        hints="""Pitch is from one thread to the next. Lead is how far a nut goes in one turn.
            Several starts lie side by side. Follow one of them once round the part: how many pitches on is it?""",
        solution=f"Lead = starts × pitch = {starts} × {length(pitch)} = **{length(lead)}**.",
        right="The gears make the lead. The pitch only says how far apart the starts lie.",
    )


@poses("threads-from-one-pair", lesson=1, goal=2, title="What does this pair cut?", any_lathe=True)
def threads_from_one_pair(draw: Draw, own: Lathe | None) -> Task:
    if own is not None:
        return _lead_of_a_pair(draw, own)
    lathe = bench("inch")
    driver, driven = draw.choice(simple_setups(lathe)).train.gears
    idler = draw.choice([teeth for teeth in sorted(set(lathe.gears)) if teeth not in (driver, driven)])
    cuts = setup(lathe, (driver,), (driven,), idlers=(idler,))
    draw.only_if(cuts.train.ratio not in (Fraction(1, 2), Fraction(2, 3)))  # which the lesson works
    screw = tpi_of(lathe.leadscrew_lead_mm)
    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn.
            The driver has **{driver} teeth**, the driven gear **{driven}**, and an idler of **{idler}** stands
            between them. How many threads per inch come out?""",
        answer=Number(tpi_of(cuts.lead_mm), "tpi", places=2),
        slips={
            f"upside down: {UPSIDE_DOWN}": screw * cuts.train.ratio,
            """idler counted in: You counted the idler in. It passes on as many teeth as it takes in, whatever its
            size.""": [screw * idler / driver, screw * driven / idler],
            "lead for tpi: That is the lead in millimetres, and the question asks for tpi.": cuts.lead_mm,
            "ratio only: That is the ratio of the gears. Now let it work on the leadscrew.": cuts.train.ratio,
        },
        hints="""Leave the idler out: it changes reach and direction, never the ratio.
            While the spindle turns once, the leadscrew turns driver ÷ driven times.
            A slower leadscrew makes a finer thread than its own, so more threads in an inch; a faster one fewer.""",
        solution=lambda: (derived(cuts), f"In an inch that makes **{said(cuts.lead_mm)}**."),
        right="The idler made no difference: any other gear that reaches would cut the same thread.",
    )


def _lead_of_a_pair(draw: Draw, lathe: Lathe) -> Task:
    cuts = drawn_setup(draw, lathe, meshes=1)
    driver, driven = cuts.train.gears
    return Task(
        question=f"""{described(lathe, cuts.lever)} A driver of **{driver} teeth** turns a driven gear of
            **{driven}**. Which thread comes out?""",
        answer=ThreadCut(cuts.lead_mm),
        slips={
            f"upside down: {UPSIDE_DOWN}": cuts.lead_mm / cuts.train.ratio**2,
            "leadscrew alone: That is without the gears. Let their ratio work on it.": cuts.lead_mm / cuts.train.ratio,
            **slips_beside_the_gears(cuts),
        },
        hints="""While the driver turns once, the driven gear turns driver ÷ driven times.
            Multiply the lead of the leadscrew by every ratio on the way. Or divide its threads per inch by them.""",
        solution=lambda: (derived(cuts), f"That makes **{said(cuts.lead_mm)}**."),
        right="An idler between the two would change the way of turning, and never the thread.",
    )


@poses("find-the-driven-gear", lesson=1, goal=2, title="One gear is missing")
def find_the_driven_gear(draw: Draw) -> Task:
    lathe = bench("metric")
    cuts = draw.choice(simple_setups(lathe))
    driver, driven = cuts.train.gears
    draw.only_if(driven != 100)  # where the ruler of the lesson's first picture ends
    screw, wanted = lathe.leadscrew_lead_mm, cuts.lead_mm
    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn.
            You want **{said(wanted)}**, and a driver of **{driver} teeth** is on. Which driven gear goes with it?""",
        answer=Number(Fraction(driven), "teeth"),
        slips={
            """upside down: That is upside down. Would your gear cut a finer or a coarser thread than the leadscrew's
            own, and which do you want?""": driver * wanted / screw,
            "ratio for gear: That is the ratio of the pair. Which gear makes it here?": cuts.train.ratio,
            "leadscrew forgotten: That would suit a leadscrew of 1 mm lead. Look at yours.": driver / wanted,
        },
        hints=f"""The ratio of the gears is what is wanted over what the leadscrew has.
            So driver ÷ driven = {said(wanted)} ÷ {said(screw)}, and the driver is {driver}.""",
        solution=lambda: (missing_gear(lathe, said(wanted), (driver,), (None,)), f"So **{driven} teeth**."),
        right="Any other pair of the same ratio would serve as well, if the box has it.",
    )


@poses("which-way-round", lesson=1, goal=3, title="Which way does the leadscrew turn?")
def which_way_round(draw: Draw) -> Task:
    driver, driven, *idlers = draw.sample(sorted(set(bench("inch").gears)), draw.choice((2, 3, 4, 5)))
    way = draw.evenly(("clockwise", "anticlockwise"))
    other = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    train = Train((driver,), (driven,), (tuple(idlers),))
    first = way if train.turns_the_same_way else other[way]
    between = f"through {len(idlers)} {'idlers in a row' if idlers[1:] else 'idler'}, {in_a_row(idlers)}"
    turns = [f"{teeth} {other[first] if place % 2 else first}" for place, teeth in enumerate(train.chain()[0])]
    return Task(
        question=f"""You look at the gears from the side where they are changed. A driver of {driver} teeth turns
            **{first}** and drives a gear of {driven} on the leadscrew,
            **{between if idlers else "without an idler"}**. Which way does the leadscrew turn?""",
        answer=Choice(
            way,
            ("clockwise", "anticlockwise", "it depends on the teeth"),
            {"clockwise": ("cw",), "anticlockwise": ("ccw", "acw", "counterclockwise")},
        ),
        slips={
            "one mesh missed: Count the places where teeth touch: each turns the motion round.": other[way],
            "sizes counted: Teeth decide how fast a gear turns, never which way.": "it depends on the teeth",
        },
        hints="""Put a finger on each gear in turn. Two gears that mesh turn opposite ways.
            Say it aloud along the row: this way, the other way, this way ...""",
        solution=f"""From gear to gear: {", then ".join(turns)}.
            Places where teeth touch: {len(turns) - 1}. So the leadscrew turns **{way}**.""",
        right="One idler more or less turns the leadscrew the other way, and makes a right-hand thread left-hand.",
    )


@poses("what-the-lever-does", lesson=1, goal=2, title="The lever that halves and doubles")
def what_the_lever_does(draw: Draw) -> Task:
    lathe = demo_lathe("inch")
    fine = [one for one in simple_setups(bench("inch")) if one.lead_mm < lathe.leadscrew_lead_mm]
    train = draw.choice(fine).train
    before, after = draw.sample(sorted(lathe.levers), 2)
    old, new = (setup(lathe, train.drivers, train.driven, lever) for lever in (before, after))
    draw.only_if(new.lead_mm != INCH_MM / 5)  # which the first picture of the lesson shows
    times = lathe.levers[after] / lathe.levers[before]
    alone = None if 1 in (lathe.levers[before], lathe.levers[after]) else old.lead_mm * lathe.levers[after]
    return Task(
        question=f"""A gearbox lever stands between the last gear and the leadscrew. Turns of the leadscrew for one turn
            of the last gear: {levers_in_words(lathe)}. With {train} and the lever at **{before}** the lathe cuts
            **{said(old.lead_mm)}**. You put the lever to **{after}**. Which thread comes out?""",
        answer=ThreadCut(new.lead_mm),
        slips={
            """lever the wrong way: That is the wrong way round. Does the leadscrew turn more than before, or less? More
            turns make a coarser thread, so fewer threads per inch.""": old.lead_mm / times,
            "lever overlooked: The gears are the same, but the leadscrew turns at a new rate.": old.lead_mm,
            """lever counted twice: You let the lever work twice. What the lathe cut before has its old position in it
            already: go from there to the new one, once.""": old.lead_mm * times**2,
            """lever taken alone: The lever did not stand at 1 before. How many times what it did does the leadscrew
            turn now?""": alone,
        },
        hints=f"""Compare {before} and {after}: does the leadscrew turn more than before, or less, and how many times?
            The lead changes as the turns of the leadscrew do. Threads per inch go the other way.""",
        solution=lambda: (
            f"""Where the leadscrew made one turn, it now makes {ratio(times)}. So the lead is the old one
            times {ratio(times)}: **{said(new.lead_mm)}** instead of {said(old.lead_mm)}.""",
            derived(new),
        ),
        right="One set of gears cuts a thread at each position of the lever: look there before you change a gear.",
    )


@poses("one-pair-for-a-thread", lesson=1, goal=2, title="Hit the thread")
def one_pair_for_a_thread(draw: Draw) -> Task:
    lathe = bench(draw.choice(("inch", "metric")))
    example = draw.choice(simple_setups(lathe))
    draw.only_if(example.train.ratio not in (Fraction(1, 2), Fraction(8, 5)))  # which the lesson shows before
    screw, wanted = lathe.leadscrew_lead_mm, example.lead_mm
    pairs = [str(one.train) for one in simple_setups(lathe) if one.lead_mm == wanted]
    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn.
            Its box holds the gears {in_a_row(lathe.gears)}.
            Find one driver and one driven gear that cut **{said(wanted)}**. Any pair that does it is right.""",
        answer=AnyTrain(wanted / screw, box=lathe.gears, pairs=1),
        slips=leadscrew_forgotten(wanted),
        hints=f"""{RATIO_NEEDED}
            Bring it to its lowest terms, then multiply top and bottom by one number until both are in the box.""",
        solution=lambda: (
            f"The ratio needed is {ratio(wanted / screw)}. From this box: **{', '.join(pairs)}**.",
            derived(example),
        ),
        right="An equal fraction is an equal thread: the ratio counts, not the gears.",
        otherwise=lambda train: f"That pair cuts {said_beside(screw * train.ratio, wanted)}.",
    )
