"""Exercises for lesson 02, compound trains: pairs multiply, one box holds many answers, and where it goes wrong."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from attrs import evolve

from gearcalc.basics.writing import lead, ratio
from gearcalc.finding.plates import check_plate
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, setup
from gearcalc.finding.stand_ins import stand_ins
from gearcalc.lathes import Lathe, PlateRow, demo_lathe
from gearcalc.lathes.lathe import levers_in_words
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Choice, SlipTable
from gearcalc.learning.exercises.any_lathe import described, drawn_setup, slips_beside_the_gears
from gearcalc.learning.exercises.benches import (
    GEARS,
    UPSIDE_DOWN,
    bench,
    compound_setups,
    derived,
    leadscrew_of,
    said,
    tpi_of,
    ways_to_cut,
)
from gearcalc.learning.exercises.gear_answers import AnyTrain, in_a_row, same_gears
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number, ThreadCut
from gearcalc.learning.exercises.tasks import Draw, Task, poses


@poses("threads-from-two-pairs", lesson=2, goal=1, title="What do these two pairs cut?")
def threads_from_two_pairs(draw: Draw) -> Task:
    lathe = bench("inch")
    cuts = draw.choice(compound_setups(lathe))
    (a, b), (c, d) = cuts.train.drivers, cuts.train.driven
    screw = tpi_of(lathe.leadscrew_lead_mm)
    added, back = Fraction(a, c) + Fraction(b, d), Fraction(c, a) + Fraction(d, b)
    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn.
            The first driver has **{a} teeth** and drives a gear of **{c}**. On the same stud, keyed to it, the second
            driver has **{b} teeth** and drives the last gear, **{d}**. How many threads per inch come out?""",
        answer=Number(tpi_of(cuts.lead_mm), "tpi", places=2),
        slips={
            """one pair forgotten: One pair of gears is missing from that. Every pair has its share in the
            ratio.""": [screw * c / a, screw * d / b],
            f"upside down: {UPSIDE_DOWN}": screw * cuts.train.ratio,
            """one pair upside down: One of the pairs is right, and the other upside down. Drivers over driven in
            both.""": [screw * Fraction(c * b, a * d), screw * Fraction(a * d, c * b)],
            """pairs added: You added the two ratios. The second pair takes its share of what the first one passes on,
            so they multiply.""": [screw / added, screw * added, screw * back, added],
            "ratio only: That is the ratio of the gears. Now let it work on the leadscrew.": cuts.train.ratio,
            "lead for tpi: That is the lead in millimetres, and the question asks for tpi.": cuts.lead_mm,
        },
        hints="""Begin with one turn of the spindle: what part of a turn does the stud make?
            The second driver turns with the stud. What part of that does the last gear make?
            Drivers over driven: both drivers on top, multiplied, both driven gears below.""",
        solution=lambda: (derived(cuts), f"In an inch that makes **{said(cuts.lead_mm)}**."),
        right="Which driver comes first makes no difference to the thread, only to whether the gears reach.",
    )


@poses("forgotten-pair", lesson=2, goal=1, title="Only one gear on the stud", any_lathe=True)
def forgotten_pair(draw: Draw, own: Lathe | None) -> Task:
    if own is not None:
        return _forgotten_on(draw, own)
    lathe = bench("inch")
    planned, a, d = draw.choice(_left_as_one_pair(lathe))
    b, c = sum(planned.train.drivers) - a, sum(planned.train.driven) - d
    cuts = setup(lathe, (a,), (d,), idlers=(c,))
    return _one_gear_on_the_stud(
        f"A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn.",
        Train((a, b), (c, d)),
        planned.lead_mm,
        cuts,
        is_for=f" for **{said(planned.lead_mm)}**",
        right="A stud with one gear on it is an idler. Count two gears on each stud of a compound train.",
    )


@cache
def _left_as_one_pair(lathe: Lathe) -> list[tuple[Setup, int, int]]:
    """Two pairs, with a driver and a driven gear of theirs that cut whole threads per inch alone."""
    ways = [(one, a, d) for one in compound_setups(lathe) for a in one.train.drivers for d in one.train.driven]
    return [way for way in ways if (tpi_of(lathe.leadscrew_lead_mm) * way[2] / way[1]).denominator == 1]


def _forgotten_on(draw: Draw, lathe: Lathe) -> Task:
    planned = drawn_setup(draw, lathe, meshes=2)
    (a, _), (c, d) = planned.train.drivers, planned.train.driven
    draw.only_if({a, c, d}.isdisjoint(lathe.gear_set.pairs), "has too few gears that are in one piece with no other")
    cuts = evolve(planned, train=Train((a,), (d,), ((c,),)), fit=None)
    draw.only_if(cuts.lead_mm > Fraction(1, 20), "has no gears that cut a thread of a usual size with one on the stud")
    return _one_gear_on_the_stud(
        described(lathe, cuts.lever),
        planned.train,
        planned.lead_mm,
        cuts,
        right="Before the cover is closed count the gears on each stud: two on that of a compound train.",
        more=slips_beside_the_gears(cuts),
    )


def _one_gear_on_the_stud(
    about_it: str,
    plan: Train,
    planned: Fraction,
    cuts: Setup,
    *,
    right: str,
    is_for: str = "",
    more: SlipTable | None = None,
) -> Task:
    """What is cut without the second driver of a plan; `planned`: the lead that it was for."""
    (a, b), (c, d) = plan.drivers, plan.driven
    base = cuts.lead_mm * d / a
    return Task(
        question=f"""{about_it} The plan is **{plan}**{is_for}. But the second driver, {b}, stays
            in the drawer: on the stud there is only the gear of **{c}**, and it meshes with the first driver, **{a}**,
            and with the last gear, **{d}**. Which thread comes out?""",
        answer=ThreadCut(cuts.lead_mm),
        slips={
            "as planned: That is what the plan would cut. One gear of it is missing.": planned,
            "stud for leadscrew: That is how the stud turns. The last gear still follows.": base * a / c,
            """idler counted in: The gear on the stud takes in teeth on one side and passes on as many on the other.
            What is a gear called that does so?""": base * c / d,
            f"upside down: {UPSIDE_DOWN}": base * d / a,
            **(more or {}),
        },
        hints="""Look at the one gear on the stud: it is driven, and it drives as well.
            As many teeth go past on its one side as on its other. What does it do to the ratio?""",
        solution=lambda: (
            f"With one gear on the stud, {c} is an idler, and the train is {cuts.train}.",
            derived(cuts),
            f"The thread is **{said(cuts.lead_mm)}** instead of {said(planned)}.",
        ),
        right=right,
    )


@poses("split-a-ratio", lesson=2, goal=2, title="Split a ratio into two pairs")
def split_a_ratio(draw: Draw) -> Task:
    a, b, c, d, *spare = draw.sample(GEARS, 8)
    needed, box = Train((a, b), (c, d)).ratio, tuple(sorted((a, b, c, d, *spare)))
    draw.only_if(needed < Fraction(1, 2) and needed.denominator <= 40)

    def worked() -> tuple[str, ...]:
        exact = [one.train for one in stand_ins(needed, box, meshes=2, count=50) if one.is_exact]
        found = sorted(exact, key=lambda train: _widened(_split(train)))[:3]
        check = f"The check: {found[0]} = {ratio(found[0].ratio)}, and no gear stands in two places."
        return _by_the_moves(found[0]), f"From this box: **{', '.join(map(str, found))}**.", check

    return Task(
        question=f"""You need the ratio **{ratio(needed)}**, drivers over driven, from **two pairs**.
            The box holds one gear each of {in_a_row(box)}. Which gears do you take?""",
        answer=AnyTrain(needed, box=box, pairs=2),
        hints=f"""
            Split top and bottom into two factors each. No gears? First multiply both by 2, 3, 4 and so on, then split.
            Multiply top and bottom of each by one number until they are gears of the box.
            One answer has {a} among its drivers.""",
        solution=worked,
        right="Swap the two drivers, or the two driven gears, and it is the same ratio once more.",
        otherwise=lambda train: f"That makes {ratio(train.ratio)}, and {ratio(needed)} is needed.",
    )


def _split(train: Train) -> tuple[Fraction, Fraction]:
    """The two pairs of a train as fractions, paired so that the ratio has to be widened least before it splits."""
    (a, b), (c, d) = train.drivers, train.driven
    return min(((Fraction(a, c), Fraction(b, d)), (Fraction(a, d), Fraction(b, c))), key=_widened)


def _widened(pairs: tuple[Fraction, Fraction]) -> int:
    """The top that a ratio has when it splits into two fractions in lowest terms."""
    one, other = pairs
    return one.numerator * other.numerator


def _by_the_moves(train: Train) -> str:
    """How a ratio comes to a train: in lowest terms, widened if it must be, split, each pair widened to gears.

    >>> _by_the_moves(Train((32, 40), (64, 50)))
    '2/5 = 4/10 = 1/2 · 4/5. Then 1/2 = 32/64 and 4/5 = 40/50.'
    """
    pairs = _split(train)
    top, bottom = _widened(pairs), pairs[0].denominator * pairs[1].denominator
    whole = " = ".join(dict.fromkeys((str(ratio(train.ratio)), f"{top}/{bottom}")))
    split = [f"{pair.numerator}/{pair.denominator}" for pair in pairs]
    gears = [f"{driver}/{driver / pair}" for driver, pair in zip(train.drivers, pairs, strict=True)]
    one, other = (f"{short} = {wide}" if short != wide else short for short, wide in zip(split, gears, strict=True))
    return f"{whole} = {' · '.join(split)}. Then {one} and {other}."


@poses("another-train-same-lead", lesson=2, goal=3, title="The same thread with other gears")
def another_train_same_lead(draw: Draw) -> Task:
    lathe = bench(draw.choice(("inch", "metric")))
    ways = ways_to_cut(lathe)
    on_now = draw.choice([one for one in compound_setups(lathe) if ways[one.lead_mm] > 2])
    train, thread = on_now.train, said(on_now.lead_mm)

    def worked() -> tuple[object, ...]:
        found = find_setups(lathe, thread, meshes=(1, 2), count=4, within_ppm=0, must_fit=False)
        others = [one for one in found if not same_gears(one.train, train)]
        named = ", ".join(str(one.train) for one in others)
        return f"The ratio is {ratio(train.ratio)}. Others that make it: **{named}**.", derived(others[0])

    return Task(
        question=f"""**{train}** is on the lathe and cuts {thread}. The box holds the gears {in_a_row(lathe.gears)}.
            Find a train that cuts just the same with other gears; the same ones in another order don't count.""",
        answer=AnyTrain(train.ratio, box=lathe.gears, already=(train,)),
        hints="""Only the whole ratio counts. Which driver and driven gear can give way to two others of the same ratio?
            Or bring the whole ratio to its lowest terms and build it up anew.""",
        solution=worked,
        right="With several trains for a thread you can choose: fewer gears to change, milder pairs, one that reaches.",
        otherwise=lambda given: f"That train makes {ratio(given.ratio)}; the one on the lathe {ratio(train.ratio)}.",
    )


@cache
def _misprints(lathe: Lathe, row: PlateRow) -> list[PlateRow]:
    """The row with one thing wrong: drivers and driven changed over, another lever, or another last gear."""
    unused = sorted(set(lathe.gears) - {*row.drivers, *row.driven})
    wrong = [evolve(row, drivers=row.driven, driven=row.drivers)]
    wrong += [evolve(row, lever=name) for name in lathe.levers if name != row.lever]
    wrong += [evolve(row, driven=(*row.driven[:-1], teeth)) for teeth in unused]
    return [one for one in wrong if not check_plate(evolve(lathe, plate=(one,)))[0].ok]


@poses("one-wrong-row", lesson=2, goal=1, title="One row of this plate is wrong")
def one_wrong_row(draw: Draw) -> Task:
    lathe = demo_lathe("inch")
    turn_for_turn = {name for name, turns in lathe.levers.items() if turns == 1}
    by_lever = [row for row in lathe.plate if row.lever not in turn_for_turn]
    by_gears = [row for row in lathe.plate if row.lever in turn_for_turn]
    rows = sorted(draw.sample(by_lever, 2) + draw.sample(by_gears, 4), key=lathe.plate.index)
    place = draw.evenly(range(len(rows)))
    rows[place] = draw.choice(_misprints(lathe, rows[place]))
    lever_of = {row.thread: str(row.lever) for row in rows}
    shown = ((row.thread, Train(row.drivers, row.driven), row.lever) for row in rows)
    other_words = {thread: (thread.removesuffix(" tpi"),) for thread in lever_of}

    def worked() -> tuple[object, ...]:
        checks = check_plate(evolve(lathe, plate=tuple(rows)))
        cut = [setup(lathe, row.drivers, row.driven, row.lever) for row in rows]
        leads = ((row.thread, lead(one.lead_mm)) for row, one in zip(rows, cut, strict=True))
        table = Table("What each row cuts", "The plate says | The gears cut", leads)
        verdict = f"The row **{rows[place].thread}** is wrong. {' '.join(checks[place].problems)}"
        return table, verdict, derived(cut[place])

    return Task(
        question=f"""This plate belongs to a lathe with {leadscrew_of(lathe)}. Turns of the leadscrew for one turn of
            the last gear: {levers_in_words(lathe)}. **One row does not cut what it says.** Which one?""",
        table=Table("The plate", "Thread | Drivers over driven | Lever", shown),
        answer=Choice(rows[place].thread, tuple(lever_of), other_words),
        slips={
            """lever overlooked: That row is right. Its lever does not turn the leadscrew turn for turn: count it
            in.""": lambda thread: lever_of[thread] not in turn_for_turn,
            """a right row: That row is right: let its ratio work on the leadscrew, and you get what it
            says.""": lambda thread: True,
        },
        hints="""For each row: leadscrew threads per inch × driven ÷ drivers, then divide by the lever's turns.
            Is the ratio above or below 1, and the thread finer or coarser than the leadscrew? That shows the worst.""",
        solution=worked,
        right="Plates do have misprints. A light trial cut and a thread gauge show it before the part is spoilt.",
    )
