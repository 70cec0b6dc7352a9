"""Exercises for lesson 09, change over: the order of the steps, what comes off, turns by hand, the fewest moves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from itertools import permutations, product
from math import ceil, floor
from typing import NamedTuple

from gearcalc.basics.writing import decimal, listed, ratio
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.learning.exercises.answers import Choice, InOrder, Several, Slip, about, told_apart
from gearcalc.learning.exercises.any_lathe import described, drawn_setup, slips_beside_the_gears
from gearcalc.learning.exercises.benches import UPSIDE_DOWN, bench, compound_setups, derived, leadscrew_of, said
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.planning.gear_moves import Arranged, Place, moves_between, turns_until_round

STEPS: Mapping[str, str] = {
    "isolate": "Isolate at the plug or isolator; wait for standstill; press start: nothing may move.",
    "cover": "Open the cover.",
    "slacken": "Slacken the bracket, and swing the gears out of mesh.",
    "strip": "Take off what has to come off, front first.",
    "build": "Put the new gears on, those next to the headstock first.",
    "mesh": "Set the meshes with a strip of paper.",
    "snug": "Tighten the nuts: snug, not over-tight.",
    "by hand": "Spindle drive in neutral, chuck key out; turn the chuck by hand until the slowest gear has gone round. "
    "Then the drive back in.",
    "close": "Close the cover all the way: its interlock must let the lathe start.",
    "power": "Restore the power.",
    "try": "Lowest speed, tool clear: see which way the carriage goes.",
    "scratch": "Scratch the work, and measure.",
}
"""In the order in which they are done; the order and its reasons are common practice, no source."""

_GEARS = ("slacken", "strip", "build", "mesh", "snug")


class Danger(NamedTuple):
    """What comes of it when one of the steps `done` is done `before` one that should have come first."""

    name: str
    done: tuple[str, ...]
    before: tuple[str, ...]
    words: str


DANGERS = (
    Danger("cover before isolating", ("cover",), ("isolate",),
           "The cover is open while the lathe could still start. What comes first of all?"),
    Danger("gears before isolating", _GEARS, ("isolate",),
           "Hands are in the gears while the lathe could still start. What comes first of all?"),
    Danger("by hand before isolating", ("by hand",), ("isolate",),
           "A hand is on the chuck while the lathe could still start. What comes first of all?"),
    Danger("power before the cover is closed", ("power",), ("cover", "close"),
           "There is power, and the gears lie open."),
    Danger("power before the gears are done", ("power",), _GEARS,
           "There is power, and hands have still to go into the gears."),
    Danger("power before turned by hand", ("power",), ("by hand",),
           "There is power while a hand turns the chuck: the lathe could start."),
    Danger("run before the power is back", ("try", "scratch"), ("power",),
           "The lathe can run there only while it is not isolated: hands are in gears that could start, or else nobody "
           "tries the new train."),
    Danger("closed before it is opened", ("close",), ("cover",),
           "In that order nothing closes the cover after the work: the gears lie open when the lathe runs."),
    Danger("gears after the cover is closed", ("close",), _GEARS,
           "The cover is shut before the work at the gears is done: hands go in once more, past a cover that everybody "
           "takes for closed."),
    Danger("closed before turned by hand", ("close",), ("by hand",),
           "A fault that is felt by hand is put right while the cover is still open."),
    Danger("gears before the cover is open", _GEARS, ("cover",),
           "The cover is still shut: whoever reaches in past it has fingers between gears that can't be seen."),
    Danger("by hand before the nuts are tight", ("by hand",), ("snug",),
           "Turned with its nut loose, a gear walks out of its mesh, or the bracket drops, and a hand is near."),
    Danger("by hand too early", ("by hand",), ("cover", *_GEARS),
           "The train that is turned there is not the one that power will turn: a tight tooth is left for the motor to "
           "find, and it breaks."),
    Danger("stripped in mesh", ("strip",), ("slacken",),
           "Gears that are still clamped in mesh jump as they come off, and the bracket can drop on a hand."),
    Danger("slack at the end", ("build", "mesh", "snug"), ("slacken",),
           "What was set is slack again: the bracket can drop, and the gears come out of mesh, or jam, under power."),
    Danger("on before off", ("build",), ("strip",),
           "New gears are forced past those that still have to come off, with fingers between them."),
    Danger("nuts before gears", ("snug",), ("strip", "build"),
           "A nut that is tight before its gear is on holds nothing: the gear comes off under power."),
    Danger("meshes before gears", ("mesh",), ("strip", "build"),
           "The gears that go on later stand in a mesh that nobody has set: too deep it binds, too open it jumps, and "
           "teeth break under power."),
    Danger("nuts before meshes", ("snug",), ("mesh",),
           "A nut that is tight already bends the stud, or leaves the mesh too deep: it binds, and teeth break under "
           "power."),
    Danger("scratched before tried", ("scratch",), ("try",),
           "Nobody has seen yet which way the carriage goes: the tool can run into the chuck."),
)  # fmt: skip
"""The gravest first; whatever order is wrong, one of them names why."""

_ALWAYS = ("isolate", "cover", "by hand", "close", "power")


@poses("steps-in-order", lesson=9, goal=2, title="In what order?")
def steps_in_order(draw: Draw) -> Task:
    others = [key for key in STEPS if key not in _ALWAYS]
    chosen = {*_ALWAYS, *draw.sample(others, 2)}
    done = [key for key in STEPS if key in chosen]
    rows = draw.sample(done, len(done))
    number = {key: place for place, key in enumerate(rows, 1)}

    def comes_to(danger: Danger) -> Callable[[tuple[int, ...]], bool]:
        """Whether an order puts one of its steps before one that should have come first, or that is left out."""
        pairs = [
            (number[done], number[first]) for done in danger.done for first in danger.before if {done, first} <= chosen
        ]
        return lambda read: any(_place(read, done) < _place(read, first) for done, first in pairs)

    return Task(
        question="""Some steps of a change of gears, out of order, and not all of them. **In what order** are they
            done? The machine's manual, local rules and a qualified person come before any list.""",
        table=Table("The steps", "Number | Step", ((n, STEPS[key]) for n, key in enumerate(rows, 1))),
        answer=InOrder(tuple(number[key] for key in done)),
        slips=tuple(Slip(danger.name, comes_to(danger), danger.words) for danger in DANGERS),
        hints="""The cover is open only while the lathe is isolated: those two go round all the rest.
            What can be found by hand is found by hand, before power could do it with force.""",
        solution=lambda: (
            *(f"{place}. {STEPS[key]}" for place, key in enumerate(done, 1)),
            f"So **{' '.join(str(number[key]) for key in done)}**.",
        ),
        right="Each step makes the next one safe. That is why their order matters.",
    )


def _place(read: tuple[int, ...], number: int) -> int:
    return read.index(number) if number in read else len(read)


@poses("what-comes-off", lesson=9, goal=1, title="What has to come off?")
def what_comes_off(draw: Draw) -> Task:
    a, b, c, d, *new = draw.sample(sorted(set(bench("inch").gears)), 6)
    planes = draw.choice(((0, 1), (1, 0)))
    behind = 1 + planes[0]  # of the two gears on the stud, the one next to the headstock
    after = [a, b, c, d]
    for place in (behind, *draw.choice(((), (0,), (3,)))):
        after[place] = new.pop()
    now = Arranged(Train((a, c), (b, d)), planes)
    then = Arranged(Train((after[0], after[2]), (after[1], after[3])), planes)
    moves = moves_between(now, then)
    row = {place: number for number, place in enumerate(draw.sample(now.places, 4), 1)}
    shown = [
        (n, place.teeth, now.role_name(place), now.shaft_name(place.shaft), place.plane + 1) for place, n in row.items()
    ]
    off, aside = (frozenset(row[place] for place in some) for some in (moves.off, moves.in_the_way))

    def why(place: Place) -> str:
        comes_of_it = "stands before one that changes, and goes back" if place in moves.in_the_way else "changes"
        return f"the {place.teeth} on the {now.shaft_name(place.shaft)} {comes_of_it}"

    return Task(
        question=f"""On the lathe is **{_in_meshes(now.train)}**, and **{_in_meshes(then.train)}** is wanted; each mesh
            keeps its plane. Plane 1 is next to the headstock, plane 2 in front of it, so on the stud one gear hides
            behind the other. **Which gears have to come off**, those that go back included? No more than needed.""",
        table=Table("What is mounted", "Row | Gear | What it does | Where | Plane", shown),
        answer=Several(off, rows=4, teeth=tuple(place.teeth for place in row)),
        slips={
            "in the way: Those change. But how do you get at a gear that another one stands before?": off - aside,
            """everything: That would do it, but some can stay where they are. Each gear that stays keeps its bush and
            its mesh.""": frozenset({1, 2, 3, 4}),
        },
        hints="""First: in which of the four places does the tooth count change?
            Then look at the stud: is one of those behind a gear that stays? A gear comes off only over the front.""",
        solution=lambda: (
            *(f"Row {row[place]}: {why(place)}." for place in moves.off),
            f"So **{listed(sorted(off))}**.",
        ),
        right="Front first off, back first on: then nothing comes off twice.",
    )


def _in_meshes(train: Train) -> str:
    return " then ".join(
        f"{plain(driver)}/{plain(driven)}" for driver, driven in zip(train.drivers, train.driven, strict=True)
    )


@poses("turns-by-hand", lesson=9, goal=2, title="How many turns by hand?")
def turns_by_hand(draw: Draw) -> Task:
    setup = draw.choice(_slow_trains())
    (a, c), (b, d) = setup.train.drivers, setup.train.driven
    turns, slowest = turns_until_round(setup.train)
    stud, last = Fraction(b, a), 1 / setup.train.ratio
    other = stud if turns == last else last
    return Task(
        question=f"""The gears are on: **{a}** on the spindle side drives **{b}** on the stud, and **{c}** beside it on
            the stud drives **{d}** on the leadscrew. The first driver turns with the spindle, turn for turn. **How many
            turns of the chuck** is it until even the slowest gear has gone round once?""",
        answer=Number(turns, "turns", places=2),
        slips={
            """turns of the slowest: That is how far the slowest gear gets in one turn of the chuck. The other way round
            is asked for.""": about(1 / turns),
            "not the slowest: One gear has gone round by then, but it is not the slowest.": about(other),
            """largest over first driver: How fast a gear turns depends on the whole chain before it, not only on its
            own teeth.""": about(Fraction(max(b, d), a)),
            """one turn: Then the first driver has gone round, but the slowest gear has not. The chip may be in one of
            the gaps that are left.""": Fraction(1),
            """whole turns: So many whole turns are right at the machine. Asked for is the number at which the slowest
            gear is just round, with its decimals.""": Fraction(ceil(turns)),
            """a tooth is missed: Too few: some teeth of the slowest gear have not been in their mesh by then. Asked for
            is the number with its decimals.""": lambda read: read == floor(turns),
        },
        hints="""For one turn of the chuck: how far does the stud turn? And the leadscrew's gear?
            The slowest of the three goes round once in one over that many turns.""",
        solution=f"""
            In one turn of the chuck the stud makes {ratio(1 / stud)}, the {d} on the leadscrew {ratio(1 / last)}.
            The slowest is the {slowest}: {ratio(1 / turns)} of a turn. So it takes **{decimal(turns, 2)}** turns.""",
        right="At the machine take whole turns, and more rather than fewer: then every tooth has been in its mesh.",
    )


@cache
def _slow_trains() -> tuple[Setup, ...]:
    """Two pairs whose slowest gear is not round with a whole turn of the chuck, nor by what a slip leads to."""
    return tuple(setup for setup in compound_setups(bench("inch")) if _plainly_slow(setup.train))


def _plainly_slow(train: Train) -> bool:
    (a, _), (b, d) = train.drivers, train.driven
    turns, _ = turns_until_round(train)
    ways = {Fraction(b, a), 1 / train.ratio, Fraction(max(b, d), a), turns}
    if turns <= 1 or turns.denominator == 1 or len(ways) < 3:
        return False
    return told_apart(*ways, 1 / turns, 1, ceil(turns))


@poses("fewest-to-move", lesson=9, goal=1, title="Which change moves fewest?")
def fewest_to_move(draw: Draw) -> Task:
    mounted, wanted, trains = draw.choice(_choices_of_trains())
    rows = draw.sample(trains, len(trains))
    moved = [places_that_differ(mounted, train) for train in rows]
    best = moved.index(min(moved)) + 1
    shown = [(n, *_in_meshes(train).split(" then ")) for n, train in enumerate(rows, 1)]
    in_common = [_in_common(mounted, train) for train in rows]
    lures = [n for n, count in enumerate(in_common, 1) if count == max(in_common) and n != best]
    return Task(
        question=f"""A lathe with {leadscrew_of(bench("inch"))} has **{_in_meshes(mounted)}** on, and the
            next job is **{wanted}**. Four trains cut it; take it that all four go on. A place counts as moved when it
            holds another gear than before. **Which train moves fewest?**""",
        table=Table("Four trains for the next job", "Train | First mesh | Second mesh", shown),
        answer=Choice(str(best), ("1", "2", "3", "4"), {str(n): _ways(train) for n, train in enumerate(rows, 1)}),
        slips={
            """same gears, other places: Many of the same gears, but in other places: they come off all the same, and go
            on elsewhere.""": lambda read: int(read) in lures,
            """more than needed: Go through it place by place: first driver, first driven, second driver, second
            driven.""": lambda read: True,
        },
        hints="""Write the mounted train above each of the four, place under place.
            Count the places where the two numbers differ.""",
        solution=lambda: (
            *(f"Train {n}: {count} of 4 places change." for n, count in enumerate(moved, 1)),
            f"Fewest with train **{best}**.",
        ),
        right="Equal threads, unequal work. Of equals with as many gears, find_setups(..., mounted=...) puts it first.",
    )


def _ways(train: Train) -> tuple[str, ...]:
    """A train in words, as a table's row, as a fraction."""
    return _in_meshes(train), _in_meshes(train).replace(" then ", " "), str(train)


@cache
def _choices_of_trains() -> tuple[tuple[Train, str, list[Train]], ...]:
    """(mounted, next thread, four trains for it): one moves fewest, another has as many of the same gears or more."""
    by_thread: dict[str, list[Train]] = {}
    for setup in compound_setups(bench("inch")):
        ways = product(permutations(setup.train.drivers), permutations(setup.train.driven))
        by_thread.setdefault(said(setup.lead_mm), []).extend(Train(over, under) for over, under in ways)
    jobs = sorted(by_thread.items())
    pairs = [(on[0], wanted, trains) for wanted, trains in jobs for thread, on in jobs if thread != wanted]
    found = ((mounted, wanted, _four(mounted, trains)) for mounted, wanted, trains in pairs)
    return tuple(choice for choice in found if choice[2])


def _in_common(one: Train, other: Train) -> int:
    """How many gears of the one the other has too, wherever they stand."""
    return sum((Counter(one.gears) & Counter(other.gears)).values())


def _four(mounted: Train, trains: list[Train]) -> list[Train]:
    """The train that moves fewest, one that shares as many gears and moves more, and two that move more."""
    by_moves = sorted(trains, key=lambda train: (places_that_differ(mounted, train), train.gears))
    best = by_moves[0]
    least = places_that_differ(mounted, best)
    more = [train for train in by_moves if places_that_differ(mounted, train) > least]
    lures = [train for train in more if _in_common(mounted, train) >= _in_common(mounted, best)]
    if not 1 <= least <= 3 or not lures or len(more) < 3:
        return []
    rest = [train for train in more if train != lures[0]]
    return [best, lures[0], rest[0], rest[-1]]


@poses("what-should-it-measure", lesson=9, goal=2, title="What should the scratch measure?", any_lathe=True)
def what_should_it_measure(draw: Draw, lathe: Lathe | None = None) -> Task:
    if lathe is None:
        lathe = bench(draw.choice(("inch", "metric")))
        setup = draw.choice(compound_setups(lathe))
        about_it = f"A lathe with {leadscrew_of(lathe)}, turned by the last gear turn for turn,"
    else:
        setup = drawn_setup(draw, lathe, 2 if len(lathe.gear_set.counts) >= 4 else 1)
        draw.only_if(Fraction(1, 4) <= setup.lead_mm <= 12, "has no gears that cut a lead from 0.25 to 12 mm")
        about_it = f"{described(lathe, setup.lever)} It"
    turns, lead, gears = draw.choice((5, 10, 20)), setup.lead_mm, setup.train.ratio
    upside_down, forgotten, alone = turns * lead / gears**2, turns * lead / gears, turns * setup.lathe.leadscrew_lead_mm
    all_apart = told_apart(turns * lead, upside_down, lead, (turns - 1) * lead, (turns + 1) * lead, forgotten)
    draw.only_if(all_apart, "has no gears that cut another lead than its leadscrew's, from 0.25 to 12 mm")
    how_many = f"From groove nought to groove {turns} the spindle makes how many turns?"
    return Task(
        question=f"""{about_it} has **{_in_meshes(setup.train)}** on. On the scratch pass you measure from the groove
            that you call nought to groove number **{turns}**. How many millimetres should it be?""",
        answer=Number(turns * lead, "mm", places=2),
        slips={
            f"upside down: {UPSIDE_DOWN}": about(upside_down),
            "one lead: That is from one groove to the next.": about(lead),
            f"one too few: {how_many}": about((turns - 1) * lead),
            f"one too many: {how_many}": about((turns + 1) * lead),
            """leadscrew alone: So far would the carriage go if the leadscrew turned with the
            spindle.""": about(alone),
            "gears forgotten: The gears are left out there.": about(forgotten) if forgotten != alone else None,
            **slips_beside_the_gears(setup, turns),
        },
        hints="""First the lead: leadscrew × drivers / driven, and what else turns the leadscrew faster or slower.
            From nought to a groove's number there are as many leads as the number says.""",
        solution=lambda: (derived(setup), f"{turns} times that lead: **{decimal(turns * lead, 3)} mm**."),
        right="Over many turns a small fault of the reading is shared out among them all.",
    )
