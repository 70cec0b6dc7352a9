"""Exercises for lesson 03, inches meet millimetres: where the 127 comes from, where it stands, when none is needed."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import cache

from gearcalc.basics.exact import INCH_MM, RelativeError
from gearcalc.basics.writing import error, length, listed, number, ratio
from gearcalc.finding.fractions import factor
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import setup
from gearcalc.finding.stand_ins import make_up
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Several, about
from gearcalc.learning.exercises.any_lathe import METRIC, across, beside_the_gears, described, drawn_lever
from gearcalc.learning.exercises.benches import (
    GEARS,
    RATIO_NEEDED,
    bench,
    derived,
    lead_of,
    leadscrew_of,
    missing_gear,
    plain_lathe,
    said,
    said_beside,
    ways_to_cut,
)
from gearcalc.learning.exercises.gear_answers import AnyTrain, in_a_row, leadscrew_forgotten
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.threads import Thread

_METRIC_MM = tuple(Fraction(h, 100) for h in (50, 60, 70, 75, 80, 100, 125, 150, 175, 200, 250, 300))


def _inch_screw_and_pitch(draw: Draw, fewest: int = 30, most: int = 100) -> tuple[int, Fraction]:
    """A leadscrew (tpi) and a metric pitch whose exact driver for a driven 127, 5·p·n, can be had."""
    pairs = [(tpi, pitch) for tpi in (4, 5, 6, 8, 10, 12) for pitch in _METRIC_MM]
    drivers = {pair: 5 * pair[0] * pair[1] for pair in pairs}
    return draw.choice([pair for pair, z in drivers.items() if z.denominator == 1 and fewest <= z <= most])


@poses("the-ratio-with-127", lesson=3, goal=1, title="The ratio with a 127 in it", any_lathe=True)
def the_ratio_with_127(draw: Draw, own: Lathe | None) -> Task:
    if own is not None:
        return _ratio_across(draw, own)
    tpi, pitch = _inch_screw_and_pitch(draw)
    screw = INCH_MM / tpi
    needed = pitch / screw
    driver = int(5 * pitch * tpi)
    lathe = plain_lathe(f"{tpi} tpi", (driver, 127))
    return Task(
        question=f"""A lathe has a leadscrew of **{tpi} tpi**, turned by the last gear turn for turn. You want a pitch
            of **{length(pitch)}**. Which ratio must the gears make, drivers over driven? Give the exact fraction.""",
        answer=Number(needed),
        slips={
            "upside down: That is upside down: what is wanted stands on top, the leadscrew below.": 1 / needed,
            "25.4 forgotten: Millimetres times threads per inch: the inch has still to come in.": pitch * tpi,
            "pitch over tpi: First turn the leadscrew's threads per inch into its lead in mm.": pitch / tpi,
            "multiplied: You multiplied the two leads. How often does one go into the other?": pitch * screw,
            "25 for 25.4: An inch is 25.4 mm. With 25 the thread would be 1.6 % too long.": pitch * tpi / 25,
            "the 5 forgotten: 25.4 is 127/5. The 5 goes on top when you divide by that.": needed / 5,
            "127 over 10: 25.4 is 254/10, and in lowest terms that is not over 10.": 2 * needed,
            "rounded: Very near, but gears make fractions. Write 25.4 as 127/5 and keep it so.": about(needed),
        },
        hints=f"""The ratio of the gears is the lead wanted over the lead of the leadscrew, both in millimetres.
            The leadscrew's lead is 25.4/{tpi} mm, and 25.4 = 127/5. Dividing by a fraction turns it over.""",
        solution=lambda: (
            f"The leadscrew's lead is 25.4 mm ÷ {tpi} = 127/{5 * tpi} mm.",
            f"Dividing by it turns it over: {number(pitch)} · {5 * tpi}/127 = **{ratio(needed)}**. To check:",
            derived(setup(lathe, driver, 127, wanted=f"{length(pitch)}")),
        ),
        right="The 127 stands below the line, and stays there unless the pitch brings a 127 of its own.",
    )


def _ratio_across(draw: Draw, lathe: Lathe) -> Task:
    """The ratio for a thread of the other system than the leadscrew's."""
    wanted, lever = draw.choice(across(lathe)), drawn_lever(draw, lathe)
    screw, lead, beside = lathe.leadscrew_lead_mm, lead_of(wanted), beside_the_gears(lathe, lever)
    needed = lead / screw / beside
    positions = lathe.levers or (None,)
    shown = {lead_of(one) / screw / beside_the_gears(lathe, at) for one in _SHOWN for at in positions}
    draw.only_if(needed not in shown)
    from_inch, levered = across(lathe) is METRIC, beside / lathe.spindle_ratio
    number_only, inch_of_25 = (INCH_MM, INCH_MM / 25) if not from_inch else (1 / INCH_MM, 25 / INCH_MM)
    way = f"**{ratio(needed)}**."
    return Task(
        question=f"""{described(lathe, lever)} You want **{wanted}**. Which ratio must the change gears make, drivers
            over driven? Give the exact fraction.""",
        answer=Number(needed),
        slips={
            "upside down: That is upside down: what is wanted stands on top, the leadscrew below.": 1 / needed,
            "25.4 forgotten: Millimetres and threads per inch: the inch has still to come in.": needed / number_only,
            "25 for 25.4: An inch is 25.4 mm. With 25 the thread would be 1.6 % out.": needed / inch_of_25,
            "the 5 forgotten: 25.4 is 127/5. The 5 has its share in it as well.": needed / 5
            if from_inch
            else needed * 5,
            "lever overlooked: The lever helps, or hinders: the gears make up for it.": needed * levered,
            "lever the wrong way: Does the lever make the thread coarser, or finer?": needed * levered**2,
            "first driver overlooked: The first driver does not turn as the spindle does.": (
                needed * lathe.spindle_ratio if lathe.spindle_ratio != 1 else None
            ),
            "rounded: Very near, but gears make fractions. Write 25.4 as 127/5 and keep it so.": about(needed),
        },
        hints="""Write both leads in millimetres, as fractions: 25.4 is 127/5.
            The whole ratio is the lead wanted over the lead of the leadscrew.
            What is no change gear has its share in it already: divide by that.""",
        solution=lambda: (
            f"{wanted} is a lead of {ratio(lead)} mm, and that of the leadscrew {ratio(screw)} mm.",
            f"The whole ratio is {ratio(lead / screw)}. So the change gears make {way}"
            if beside == 1
            else f"The whole ratio is {ratio(lead / screw)}. Over {ratio(beside)}, which is there already: {way}",
        ),
        right=_WHERE_127_STANDS[from_inch]
        if (needed.denominator if from_inch else needed.numerator) % 127 == 0
        else "Here the 127 cancels.",
    )


_SHOWN = ("1 mm", "20 tpi")
"""Threads for which the round of the lesson shows a train of the lathe, with the lever in some position."""
_WHERE_127_STANDS = {True: "The 127 stands below the line: a driven gear.", False: "The 127 stands on top: a driver."}


@poses("a-pair-with-127", lesson=3, goal=1, title="Put the 127 on")
def a_pair_with_127(draw: Draw) -> Task:
    metric_screw = draw.choice((True, False))
    if metric_screw:
        screw_mm, tpi, partner = draw.choice(_METRIC_SCREWS)
        screw, wanted = f"{screw_mm} mm", f"{tpi} tpi"
    else:
        tpi, pitch = _inch_screw_and_pitch(draw, fewest=20)
        screw, wanted, partner = f"{tpi} tpi", str(length(pitch)), int(5 * pitch * tpi)
    box = tuple(sorted((127, partner, *draw.sample([teeth for teeth in GEARS if teeth != partner], 7))))
    lathe, lead = plain_lathe(screw, box), Thread.parse(wanted).lead_mm
    gap = ((127,), (None,)) if metric_screw else ((None,), (127,))
    train = Train((127,), (partner,)) if metric_screw else Train((partner,), (127,))

    def off(given: Train) -> str:
        return str(error(RelativeError(given.ratio, train.ratio)))

    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn. Its box holds
            the gears {in_a_row(box)}. Find a pair that cuts **{wanted}** exactly.""",
        answer=AnyTrain(train.ratio, box=box, asks_a_pair=True),
        slips={
            f"""the 40 of another leadscrew: 40 teeth for each millimetre were for 8 tpi. Yours has {tpi}: that makes
            5 · {tpi}.""": lambda given: not metric_screw and tpi != 8 and given.ratio == pitch * 40 / 127,
            """127 on the wrong side: The right gear on the wrong side. Which lead is in inches, the thread's or the
            leadscrew's?""": lambda given: 127 in (given.driven if metric_screw else given.drivers),
            "without the 127": (
                lambda given: 127 not in given.gears and given.ratio != train.ratio,
                lambda given: f"Without the 127 it is not exact: {off(given)}.",
            ),
            **leadscrew_forgotten(lead),
        },
        hints="""The ratio is the wanted lead over the leadscrew's. One of the two is in inches: write it with 127/5.
            If the leadscrew is in inches, 127 ends below the line, so it is driven. If the thread is, it drives.
            Put the 127 in its place and solve for the other gear.""",
        solution=lambda: (missing_gear(lathe, wanted, *gap), f"So **{train}**."),
        right="Inch leadscrew and metric thread: the 127 is driven. Metric leadscrew and inch thread: it drives.",
        otherwise=lambda given: f"The 127 stands right, but the other gear doesn't serve: {off(given)}.",
    )


_METRIC_SCREWS = [(mm, tpi, 5 * mm * tpi) for mm in range(2, 7) for tpi in range(4, 25) if 45 <= 5 * mm * tpi <= 120]
"""Lead of a metric leadscrew, threads per inch wanted, and the driven gear for a 127 that drives: 5·L·n."""


@poses("which-sets-can-do-it", lesson=3, goal=2, title="Which boxes can do it?")
def which_sets_can_do_it(draw: Draw) -> Task:
    tpi, pitch = _inch_screw_and_pitch(draw)
    driver = int(5 * pitch * tpi)
    needed = Fraction(driver, 127)
    kinds = {kind: make(draw, driver) for kind, make in _BOXES.items()}
    chosen = ["with 127", "near", *draw.sample([kind for kind in kinds if kind not in ("with 127", "near")], 2)]
    rows = draw.sample(chosen, len(chosen))
    boxes = [tuple(sorted(set(kinds[kind]))) for kind in rows]
    tried = [make_up(needed, box) for box in boxes]
    can = frozenset(n for n, made in enumerate(tried, 1) if made.can)
    place = {kind: number for number, kind in enumerate(rows, 1)}

    def named(kind: str, says: bool) -> Callable[[frozenset[int]], bool]:
        return lambda read: kind in place and (place[kind] in read) is says

    return Task(
        question=f"""A lathe has a leadscrew of **{tpi} tpi**, turned by the last gear turn for turn, and you want
            **{length(pitch)}** exactly. You may use as many pairs as you like. Which of these boxes can do it?""",
        table=Table("The boxes", "Box | Gears", ((n, in_a_row(box)) for n, box in enumerate(boxes, 1))),
        answer=Several(can, rows=len(rows)),
        slips={
            """near taken for exact: 126 and 128 are near 127, but neither is a multiple of it, so their trains are
            never exact.""": named("near", True),
            """many gears: One of yours has many gears, but none with the prime that is needed. Compounding can't make
            it.""": named("many", True),
            """127 alone: One of yours has the 127, but no gears for what must stand on top of
            the fraction.""": named("127 alone", True),
            "254 overlooked: 254 is 2 · 127. What does that do for a box?": named("with 254", False),
        },
        hints="""Work out the ratio as a fraction in lowest terms, and take top and bottom apart into primes.
            A prime below the line must be in a driven gear, one on top in a driver. Does the box have such gears?""",
        solution=lambda: (
            f"The ratio needed is {ratio(needed)}.",
            *(f"Box {n}: {made.why}" for n, made in enumerate(tried, 1)),
            f"So: **{listed(sorted(can))}**.",
        ),
        right="It is the primes that decide, not how many gears there are or how many pairs you take.",
    )


def _with_254(draw: Draw, driver: int) -> list[int]:
    doubled = [2 * driver] if 2 * driver <= 120 else [driver, 40, 80] if driver not in (40, 80) else [driver, 30, 60]
    return [254, *doubled, *draw.sample(GEARS, 6)]


def _with_127_alone(draw: Draw, driver: int) -> list[int]:
    """A 127, and no gear with the largest prime that the drivers must have."""
    without = [teeth for teeth in GEARS if teeth % max(factor(driver))]
    return [127, *draw.sample(without, min(8, len(without)))]


_BOXES: dict[str, Callable[[Draw, int], list[int]]] = {
    "with 127": lambda draw, driver: [127, driver, *draw.sample(GEARS, 6)],
    "near": lambda draw, driver: [126, 128, driver, *draw.sample(GEARS, 6)],
    "with 254": _with_254,
    "many": lambda draw, driver: [driver, *draw.sample(GEARS, 13)],
    "127 alone": _with_127_alone,
}


@cache
def _wanting_two_pairs(lathe: Lathe) -> list[Fraction]:
    """The leads that are cut by several choices of two pairs, and by no single pair."""
    screw = lathe.leadscrew_lead_mm
    alone = {screw * Fraction(driver, driven) for driver in lathe.gears for driven in lathe.gears}
    return sorted(lead_mm for lead_mm, ways in ways_to_cut(lathe).items() if ways > 1 and lead_mm not in alone)


@poses("two-pairs", lesson=3, goal=3, title="No single pair will do")
def two_pairs(draw: Draw) -> Task:
    lathe = bench(draw.choice(("inch", "metric")))
    screw = lathe.leadscrew_lead_mm
    wanted = draw.choice(_wanting_two_pairs(lathe))
    ways = ways_to_cut(lathe)[wanted]

    def worked() -> tuple[object, ...]:
        found = find_setups(lathe, said(wanted), meshes=2, count=3, within_ppm=0, must_fit=False)
        trains = ", ".join(str(one.train) for one in found)
        return f"The ratio needed is {ratio(wanted / screw)}. Among others: **{trains}**.", derived(found[0])

    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn.
            Its box holds the gears {in_a_row(lathe.gears)}. Find a train that cuts **{said(wanted)}** exactly.
            No single pair does; any train of two pairs or more that does is right.""",
        answer=AnyTrain(wanted / screw, box=lathe.gears),
        slips=leadscrew_forgotten(wanted),
        hints=f"""{RATIO_NEEDED}
            Split top and bottom into two factors each, so that you have two smaller fractions.
            Multiply top and bottom of each by one number until all four gears are in the box.""",
        solution=worked,
        right=f"This box holds at least {ways} choices of gears that cut it: take one that reaches.",
        otherwise=lambda train: f"That train cuts {said_beside(screw * train.ratio, wanted)}.",
    )


_IN_DISGUISE = ("0.508", "0.635", "0.762", "1.016", "1.27", "1.524", "1.5875", "1.905", "2.032", "2.54", "3.175")
_TRULY_METRIC = ("0.5", "0.6", "0.75", "0.8", "1", "1.25", "1.5", "1.6", "1.75", "1.9", "2", "2.5", "3", "3.2", "3.5")
_ROUNDED_TPI = {"2.822": 9, "2.309": 11, "2.117": 12, "1.814": 14, "1.411": 18, "1.058": 24, "0.907": 28}


@poses("metric-or-inch-in-disguise", lesson=3, goal=3, title="Metric, or an inch in disguise?")
def metric_or_inch_in_disguise(draw: Draw) -> Task:
    inches, rounded = draw.sample(_IN_DISGUISE, draw.choice((1, 2))), draw.choice(sorted(_ROUNDED_TPI))
    metric = draw.sample(_TRULY_METRIC, 4 - len(inches))
    rows = sorted((*inches, rounded, *metric), key=float)
    place_of = {pitch: place for place, pitch in enumerate(rows, 1)}
    right, wrong = (frozenset(place_of[pitch] for pitch in some) for some in (inches, metric))
    ratios = [
        (n, f"{pitch} mm", Fraction(pitch) / INCH_MM, Fraction(pitch) * 8 / INCH_MM) for pitch, n in place_of.items()
    ]
    return Task(
        question="""A lathe has a leadscrew of **8 tpi**, turned by the last gear turn for turn. Which of these pitches,
            exactly as they are written, need no gear that is a multiple of 127 (127, 254 and so on)?
            Apart from those you may have any gears you like.""",
        table=Table("The pitches", "Row | Pitch", ((n, f"{pitch} mm") for pitch, n in place_of.items())),
        answer=Several(right, rows=len(rows), names=tuple(f"{pitch} mm" for pitch in rows)),
        slips={
            f"""rounded taken for exact: {rounded} mm is {_ROUNDED_TPI[rounded]} tpi, rounded. As it is written, it is
            only near that.""": lambda read: place_of[rounded] in read,
            """a metric one: One of yours is truly metric: over 25.4/8 mm it keeps a 127 below
            the line.""": lambda read: bool(wrong & read),
            """an inch overlooked: Yours lack an inch pitch. Divide each pitch by 25.4 as a fraction, and see where
            the 127 goes.""": lambda read: not right <= read,
        },
        hints="""The ratio is 5 · pitch · 8 / 127. When does the 127 cancel?
            Write each pitch without its point: 1.27 is 127/100. Is the number on top a multiple of 127?""",
        solution=lambda: (
            Table("Each ratio in lowest terms", "Row | Pitch | In inches | Drivers over driven", ratios),
            f"No 127 below the line: **{listed(sorted(right))}**.",
        ),
        right="An inch pitch stays an inch pitch when it is written in millimetres, and needs no 127 on an inch screw.",
    )
