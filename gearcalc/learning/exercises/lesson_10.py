"""Exercises for lesson 10, prove the cut: what a measurement leaves possible, how many turns decide, which slip."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from gearcalc.basics.exact import INCH_MM
from gearcalc.basics.writing import decimal, listed
from gearcalc.basics.writing import length as written_length
from gearcalc.cutting.measurements import judge_measurement, turns_to_tell
from gearcalc.cutting.wrong_leads import explain_wrong_lead
from gearcalc.finding.setups import setup
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Choice, Several, about, told_apart
from gearcalc.learning.exercises.any_lathe import described, drawn_setup, slips_beside_the_gears
from gearcalc.learning.exercises.benches import bench, derived, lead_of, leadscrew_of, said, simple_setups
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number, ThreadCut
from gearcalc.learning.exercises.tasks import Draw, Task, poses

_LIMITS = (Fraction(1, 4), Fraction(1, 5), Fraction(1, 10), Fraction(1, 20))
_PITCHES = (
    "0.6 mm", "40 tpi", "0.7 mm", "0.75 mm", "32 tpi", "0.8 mm", "26 tpi", "1 mm", "24 tpi", "22 tpi", "1.25 mm",
    "20 tpi", "19 tpi", "18 tpi", "1.5 mm", "16 tpi", "1.75 mm", "14 tpi", "13 tpi", "2 mm", "12 tpi", "11 tpi",
    "2.5 mm", "10 tpi", "9 tpi", "3 mm", "8 tpi", "3.5 mm",
)  # fmt: skip
"""From fine to coarse."""
_ROWS = 6


def _measured(draw: Draw, lead: Fraction, turns: int, limit: Fraction) -> Fraction:
    """A length as one reads it, to a twentieth of a millimetre, and within the limit."""
    steps = [step for step in range(-5, 6) if abs(Fraction(step, 20)) <= Fraction(4, 5) * limit]
    return Fraction(round(lead * turns * 20) + draw.choice(steps), 20)


@poses("largest-lead-still-possible", lesson=10, goal=1, title="The largest lead still possible")
def largest_lead_still_possible(draw: Draw) -> Task:
    turns, limit = draw.choice((4, 5, 8, 10, 16, 20, 25)), draw.choice(_LIMITS)
    length = _measured(draw, lead_of(draw.choice(_PITCHES)), turns, limit)
    most, middle = (length + limit) / turns, length / turns
    miscounted = [most * turns / (turns - 1), most * turns / (turns + 1)]
    near = most, middle, middle + limit
    draw.only_if(all(told_apart(one, length + limit, 1 / most, *miscounted) for one in near))
    return Task(
        question=f"""Over **{turns} turns** of a thread you measure **{decimal(length)} mm**, and your instrument is
            good to **± {decimal(limit)} mm**. What is the largest lead that this leaves possible?""",
        answer=Number(most, "mm", places=4),
        slips={
            "the smallest: That is the smallest that is possible.": (length - limit) / turns,
            "the middle: That is the lead as measured. The length may be longer than it reads.": middle,
            """limit not divided: The limit is of the whole length, not of one turn: add it before you
            divide.""": middle + limit,
            """crests for gaps: The turns are counted already, from gap to gap: none is to be added, and none taken
            off.""": [*map(about, miscounted)],
            "not divided: That is the length over all those turns. The lead is that of one.": about(length + limit),
            "upside down: That is turns over length. The lead is length over turns.": about(1 / most),
        },
        hints=f"""How long could the length be, if the instrument reads as much too little as it may?
            Divide that by the {turns} turns.""",
        solution=f"""The length is at most {decimal(length)} + {decimal(limit)} = {decimal(length + limit)} mm.
            Over {turns} turns that is **{decimal(most, 5)} mm** a turn.""",
        right="The limit was divided by the turns too. That is why one measures over many.",
    )


@poses("which-pitches-remain", lesson=10, goal=1, title="Which pitches remain?")
def which_pitches_remain(draw: Draw) -> Task:
    first = draw.evenly(range(1, _ROWS))  # in which row those that remain begin
    true, turns, limit = draw.choice(_PITCHES), draw.choice((2, 3, 4, 5, 6, 8)), draw.choice(_LIMITS)
    length = _measured(draw, lead_of(true), turns, limit)
    middle, known = length / turns, _within(_PITCHES, length / turns, limit / turns)
    start = min(known, default=0) - first
    rows = _PITCHES[max(start, 0) : start + _ROWS]
    draw.only_if(2 <= len(known) <= 4 and len(rows) == _ROWS and max(known) <= start + _ROWS)
    remain, too_wide = _within(rows, middle, limit / turns), _within(rows, middle, limit)
    edge = min(abs(abs(lead_of(pitch) * turns - length) - limit) for pitch in rows)
    draw.only_if(remain != too_wide and edge >= limit / 20)
    nearest = frozenset({min(range(_ROWS), key=lambda row: abs(lead_of(rows[row]) - middle)) + 1})
    judged = judge_measurement(true, turns, length, limit)
    in_mm = [(n, pitch, decimal(lead_of(pitch))) for n, pitch in enumerate(rows, 1)]
    return Task(
        question=f"""A thread is cut, and over **{turns} turns** of it you measure **{decimal(length)} mm**, good to
            **± {decimal(limit)} mm**. Which of these pitches are still possible?""",
        table=Table("The pitches", "Row | Pitch", enumerate(rows, 1)),
        answer=Several(remain, rows=_ROWS, names=rows),
        slips={
            "limit not divided: You set the limit of the whole length beside the lead of one turn.": too_wide,
            "only the nearest: That is the nearest. But the reading may be off, either way.": nearest,
        },
        hints=f"""The smallest lead is (length − limit) over the turns, the largest (length + limit) over the turns.
            Turn the threads per inch into millimetres: 25.4 over the number.
            So every pitch from {decimal(judged.lead_from_mm)} to {decimal(judged.lead_to_mm)} mm is still possible.""",
        solution=lambda: (
            f"Smallest lead: ({decimal(length)} − {decimal(limit)}) / {turns} = {decimal(judged.lead_from_mm)} mm.",
            f"Largest lead: ({decimal(length)} + {decimal(limit)}) / {turns} = {decimal(judged.lead_to_mm)} mm.",
            Table("In millimetres", "Row | Pitch | mm", in_mm),
            f"Still possible: **{listed(sorted(remain))}**.",
        ),
        right="So it is not proven yet. More turns, or a finer instrument.",
    )


def _within(rows: Sequence[str], middle: Fraction, limit: Fraction) -> frozenset[int]:
    return frozenset(n for n, pitch in enumerate(rows, 1) if abs(lead_of(pitch) - middle) <= limit)


_PAIRS = (
    ("1.25 mm", "20 tpi"), ("1.5 mm", "16 tpi"), ("1.75 mm", "14 tpi"), ("2 mm", "13 tpi"),
    ("2 mm", "12 tpi"), ("2.5 mm", "10 tpi"), ("3 mm", "8 tpi"), ("3.5 mm", "7 tpi"),
    ("1 mm", "26 tpi"), ("1 mm", "24 tpi"), ("0.75 mm", "32 tpi"), ("0.8 mm", "32 tpi"),
    ("0.5 mm", "48 tpi"), ("1.5 mm", "18 tpi"), ("0.6 mm", "40 tpi"), ("0.7 mm", "36 tpi"),
)  # fmt: skip


def _apart(pair: tuple[str, str]) -> Fraction:
    return abs(lead_of(pair[0]) - lead_of(pair[1]))


@poses("how-many-turns-to-tell", lesson=10, goal=2, title="How many turns to tell them apart?")
def how_many_turns_to_tell(draw: Draw) -> Task:
    pair, limit = draw.choice(_PAIRS), draw.choice(_LIMITS)
    both_ways = 2 * limit / _apart(pair)
    draw.only_if(3 <= both_ways <= 60 and both_ways.denominator > 1)
    wanted, other = draw.sample(pair, 2)
    least = turns_to_tell(wanted, other, limit) or 0
    one_way = int(limit / _apart(pair)) + 1
    return Task(
        question=f"""You wanted **{wanted}** and fear that you cut **{other}**. Your instrument is good to
            **± {decimal(limit)} mm**, over any length. What is the least number of whole turns over which it tells
            the two apart for certain, however unlucky the reading?""",
        answer=Number(Fraction(least), "turns"),
        slips={
            """one way only: That is enough when the reading is true. But it may be off by the limit towards the other
            pitch, and then both are within the limit of it.""": one_way,
            "rounded down: Over so many turns the two still overlap by a hair.": least - 1,
            "not whole: Whole turns are asked for.": lambda read: getattr(read, "denominator", 0) != 1,
            "more than needed: Over so many it is certain, but fewer will do.": lambda read: read > least,
        },
        hints="""How far apart are the two leads in one turn, in millimetres?
            Over n turns they are n times as far apart. One may read too long by the limit, the other too short.
            So n times the difference must be more than twice the limit.""",
        solution=f"""{wanted} is {written_length(lead_of(wanted))}, {other} is {written_length(lead_of(other))}.
            In one turn they are {decimal(_apart(pair), 5)} mm apart.
            2 · {decimal(limit)} mm over that is {decimal(both_ways, 2)}.
            The next whole number is **{least}**.""",
        right="Twice the limit: once for each of the two readings that could be mistaken for one another.",
        otherwise="Set n times the difference of the leads against twice the limit.",
    )


_INSTRUMENTS = (
    ("steel rule", Fraction(1, 4)),
    ("rule and glass", Fraction(1, 10)),
    ("calliper", Fraction(1, 20)),
    ("dial indicator on the carriage", Fraction(1, 50)),
    ("worn rule", Fraction(1, 2)),
)


@poses("which-instruments-will-do", lesson=10, goal=2, title="Which instruments will do?")
def which_instruments_will_do(draw: Draw) -> Task:
    pair, turns = draw.choice(_PAIRS), draw.choice((3, 4, 5, 6, 8, 10, 12, 15))
    tools, between = draw.sample(_INSTRUMENTS, 4), turns * _apart(pair)
    will, one_way = (frozenset(n for n, (_, limit) in enumerate(tools, 1) if between > ways * limit) for ways in (2, 1))
    near = min(abs(between / (2 * limit) - 1) for _, limit in tools)
    finest = frozenset({min(range(4), key=lambda row: tools[row][1]) + 1})
    draw.only_if(bool(will) and finest != will != one_way and near > Fraction(1, 20))
    wanted, other = draw.sample(pair, 2)
    shown = [(n, name, f"± {decimal(limit)} mm") for n, (name, limit) in enumerate(tools, 1)]
    return Task(
        question=f"""A short thread: only **{turns} turns** of it can be measured. It should be **{wanted}**, and
            **{other}** must be ruled out for certain. Which of these instruments will do, however unlucky the
            reading?""",
        table=Table("The instruments, with what each is taken to be good to", "Row | Instrument | Limit", shown),
        answer=Several(will, rows=4, names=tuple(name for name, _ in tools)),
        slips={
            """one way only: The reading may be off by the limit towards the wrong pitch. Then both are within the limit
            of it.""": one_way,
            "only the finest: That one will do. But so will another.": finest,
        },
        hints="""How far apart are the two over all those turns, in millimetres?
            That must be more than twice the limit.""",
        solution=lambda: (
            f"{decimal(_apart(pair), 5)} mm apart in one turn: {decimal(between, 4)} mm in {turns} turns.",
            *(
                f"{name}: twice its limit is {decimal(2 * limit)} mm, so it {'will' if n in will else 'will not'} do."
                for n, (name, limit) in enumerate(tools, 1)
            ),
            f"Those that will do: **{listed(sorted(will))}**.",
        ),
        right="On a short thread the instrument must be finer; on a long one a rule may do.",
    )


@poses("lead-upside-down", lesson=10, goal=3, title="A pair upside down", any_lathe=True)
def lead_upside_down(draw: Draw, lathe: Lathe | None = None) -> Task:
    if lathe is None:
        lathe = bench(draw.choice(("inch", "metric")))
        cuts = draw.choice([one for one in simple_setups(lathe) if one.train.ratio < 1])
        about_it = f"A lathe has {leadscrew_of(lathe)}, and the last gear turns it turn for turn."
    else:
        fixed = lathe.gear_set.fixed
        draw.needs(fixed.first_driver is None, "has a first driver that is fixed, so that no pair goes on upside down")
        draw.needs(fixed.last_driven is None, "has a last gear that is fixed, so that no pair goes on upside down")
        cuts = drawn_setup(draw, lathe, 1)
        draw.only_if(cuts.train.ratio < 1, "has no small gear that may drive a larger one")
        turns_over = lathe.gear_set.allows(Train(cuts.train.driven, cuts.train.drivers))
        draw.only_if(turns_over, "has no pair of gears that goes on either way up")
        about_it = described(lathe, cuts.lever)
    turned = setup(cuts.lathe, cuts.train.driven, cuts.train.drivers, cuts.lever)
    leads = cuts.lead_mm, lathe.leadscrew_lead_mm, *(cuts.lead_mm * cuts.train.ratio**power for power in (1, 2))
    lacks = "has no pair of gears that upside down cuts a thread of a usual size, far from all others"
    draw.only_if(Fraction(1, 10) <= turned.lead_mm <= 50, lacks)  # a bare number may be a lead, or threads per inch
    draw.only_if(told_apart(turned.lead_mm, *leads, *(INCH_MM / lead for lead in leads)), lacks)
    a_lead = f"{'a lead of ' if '≈' in said(cuts.lead_mm) else ''}{said(cuts.lead_mm)}"
    once = cuts.lead_mm / cuts.train.ratio
    driver, driven = plain(cuts.train.drivers[0]), plain(cuts.train.driven[0])
    return Task(
        question=f"""{about_it} For {a_lead} the driver has **{driver}** teeth and the driven gear
            **{driven}**. Somebody has put the two on upside down. Which thread comes out?""",
        answer=ThreadCut(turned.lead_mm),
        slips={
            "as it was meant: That is what was meant. Upside down the driver has become the driven gear.": cuts.lead_mm,
            "leadscrew alone: That is the leadscrew without any gears.": lathe.leadscrew_lead_mm,
            """ratio once: That is without any gears: the ratio is taken out once. Upside down it counts the other way
            too.""": once if once != lathe.leadscrew_lead_mm else None,
            **slips_beside_the_gears(turned),
            """the wrong way once more: That is finer still. Upside down the larger gear drives, so the leadscrew turns
            faster than it should.""": about(cuts.lead_mm * cuts.train.ratio),
            """the square the wrong way: The square of the ratio is right. But upside down makes the lead longer, and
            you made it shorter.""": about(cuts.lead_mm * cuts.train.ratio**2),
        },
        hints=f"""Now which gear drives, and which is driven?
            Leadscrew times {driven} over {driver}, and what else turns the leadscrew faster or slower.""",
        solution=lambda: (derived(turned), f"What comes out is **{said(turned.lead_mm)}**."),
        right="Upside down, the pair counts twice the other way: the lead is out by the square of its ratio.",
    )


@poses("name-the-slip", lesson=10, goal=3, title="Which slip was it?")
def name_the_slip(draw: Draw) -> Task:
    lathe = demo_lathe("inch")
    levers = {turns: name for name, turns in lathe.levers.items()}  # whatever they are called
    half, even, double = (levers[turns] for turns in (Fraction(1, 2), Fraction(1), Fraction(2)))
    a, b, x, y = draw.sample(sorted(set(lathe.gears)), 4)  # a drives x, b drives y
    meant = setup(lathe, (a, b), (x, y), even)
    draw.only_if(Fraction(3, 5) <= meant.lead_mm <= 4)
    options = {
        "first pair upside down": setup(lathe, (x, b), (a, y), even),
        "second pair upside down": setup(lathe, (a, y), (x, b), even),
        "first driver and second driven exchanged": setup(lathe, (y, b), (x, a), even),
        f"lever at {half}": setup(lathe, (a, b), (x, y), half),
        f"lever at {double}": setup(lathe, (a, b), (x, y), double),
    }
    leads = sorted(made.lead_mm for made in (meant, *options.values()))
    draw.only_if(leads[-1] < 12)
    draw.only_if(all(high - low > Fraction(1, 10) and high / low > Fraction(21, 20) for low, high in pairwise(leads)))
    planted, made = draw.choice(list(options.items()))
    measured, limit = Fraction(round(made.lead_mm * 100), 100), Fraction(1, 50)
    would_cut = [(name, one.train, decimal(one.lead_mm, 3)) for name, one in options.items()]
    return Task(
        question=f"""On a lathe with {leadscrew_of(lathe)} the train is to be **{meant.train}** with the lever
            at {even}, which turns the leadscrew turn for turn with the last gear; {half} halves that, {double} doubles
            it.
            The thread that comes out has a lead of **{decimal(measured)} mm**, ± {decimal(limit)} mm.
            Which single slip explains it?""",
        answer=Choice(planted, tuple(options)),
        slips={
            """a lever: A lever halves or doubles the lead that was meant. Work that one out, and
            compare.""": lambda read: read.startswith("lever"),
            """a pair: A pair upside down multiplies the lead by its driven over its driver, twice. Does that come to
            what was measured?""": lambda read: "pair" in read,
            """an exchange: Write the train with those two exchanged, and work out its lead. It is
            another.""": lambda read: "exchanged" in read,
        },
        hints=f"""First the lead that was meant: leadscrew times drivers over driven, {decimal(meant.lead_mm, 3)} mm.
            What was measured, over that: is it 2, a half, or the square of a driven gear over a driver?
            Of one pair for a pair upside down; of {y} over {a} for the two exchanged.""",
        solution=lambda: (
            Table("What each slip would cut", "Slip | Drivers over driven | Lead, mm", would_cut),
            explain_wrong_lead(meant, measured, limit),
            f"It was: **{planted}**.",
        ),
        right="The sum only says where to look first. Isolate before the cover is opened, and count the teeth before "
        "you change anything.",
    )
