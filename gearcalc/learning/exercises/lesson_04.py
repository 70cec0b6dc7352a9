"""Exercises for lesson 04, near misses: ppm and their sign, where a run ends, stand-ins, and the missing gear."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from math import gcd

from gearcalc.basics.exact import RelativeError
from gearcalc.basics.writing import error, grouped, micrometres, ratio, signed
from gearcalc.finding.fractions import continued_fraction, convergents
from gearcalc.finding.setups import setup
from gearcalc.finding.stand_ins import StandIn, make_up, stand_ins
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Choice, SlipTable, about
from gearcalc.learning.exercises.any_lathe import FIRST_DRIVER, described, drawn_near
from gearcalc.learning.exercises.benches import derived, lead_of, leadscrew_of, plain_lathe
from gearcalc.learning.exercises.gear_answers import AnyNearTrain, GearToAdd, in_a_row
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.threads import Thread
from gearcalc.threads.deviations import deviation_um

_INCH_IN_DECIMETRES = Fraction(127, 100)
"""What a pair of gears stands in for: 127/100."""
_GEARS = (20, 24, 25, 28, 30, 32, 35, 36, 38, 40, 42, 44, 45, 46, 48, 50, 52, 55, 56, 60, 63, 64, 65, 66, 70, 72, 75)


@cache
def _single_pairs() -> tuple[StandIn, ...]:
    """Pairs in lowest terms for 127/100, from 20 to 126 teeth, that miss by 100 to 4000 ppm; nearest first."""
    pairs = stand_ins(_INCH_IN_DECIMETRES, range(20, 127), meshes=1, count=400)
    return tuple(one for one in pairs if gcd(*one.drivers, *one.driven) == 1 and 100 <= abs(one.error_ppm) <= 4000)


@poses("ppm-of-a-near-miss", lesson=4, goal=1, title="How many ppm, and which way?", any_lathe=True)
def ppm_of_a_near_miss(draw: Draw, own: Lathe | None) -> Task:
    if own is not None:
        return _ppm_on(draw, own)
    pair = draw.choice([one for one in _single_pairs() if abs(one.error_ppm) > 1100])
    (a,), (b,) = pair.drivers, pair.driven
    screw, wanted = draw.choice((("5 tpi", "4 mm"), ("8 tpi", "2.5 mm"), ("10 tpi", "2 mm"), ("20 tpi", "1 mm")))
    lathe = plain_lathe(screw, (a, b))
    cuts = setup(lathe, (b,), (a,), wanted=wanted)
    ppm = (Fraction(b, a) * _INCH_IN_DECIMETRES - 1) * 10**6
    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn. There 100 driving
            127 would cut **{wanted}** exactly. You have no 127, and put **{b} driving {a}** in its place.
            How many ppm is the thread out? Give the sign: plus if it comes out too long, minus if too short.""",
        answer=Number(ppm, "ppm", places=0),
        slips={
            f"""the other way round: That is how far {a}/{b} is off 127/100. On this lathe the pair stands upside down:
            {b}/{a} for 100/127.""": (Fraction(a, b) / _INCH_IN_DECIMETRES - 1) * 10**6,
            **_slips_of_ppm(ppm, _INCH_IN_DECIMETRES),
        },
        hints=f"""Error = (cut − wanted) / wanted. The leadscrew cancels, so compare the two ratios.
            What is on is {b}/{a}, what should be on is 100/127. How often does the one go into the other, less 1?""",
        solution=lambda: (derived(cuts), f"So **{grouped(signed(ppm))} ppm**."),
        right=f"Over 300 mm that makes {micrometres(deviation_um(ppm, 300))}.",
    )


def _slips_of_ppm(ppm: Fraction, by: Fraction) -> SlipTable:
    """Slips with an error of so many ppm; `by`: what it is to be divided by."""
    return {
        "wrong sign: The size is right. Does the leadscrew now turn more than it should, or less?": -ppm,
        """over what is cut: You divided by what is cut. The error is a share of what was wanted, so that is what it
        is divided by.""": (1 - 1 / (1 + ppm / 10**6)) * 10**6,
        "not divided: Divide the difference by what was wanted.": about(ppm / by),
        "per mille: That looks like parts per thousand. Count it in millionths.": about(ppm / 1000),
        "per cent: That looks like per cent. Count it in millionths.": about(ppm / 10_000),
        "a plain share: That is the share itself. Count it in millionths.": about(ppm / 10**6),
    }


def _ppm_on(draw: Draw, lathe: Lathe) -> Task:
    pair = drawn_near(draw, lathe, least_ppm=1100, nearest=40)
    lead, ppm = lead_of(pair.thread), pair.ppm
    cut = lead * (1 + ppm / 10**6)
    return Task(
        question=f"""{described(lathe, pair.lever)} A driver of **{pair.driver}** with a driven gear of
            **{pair.driven}** is to cut **{pair.thread}**, or nearly. How many ppm is the thread out? Give the sign:
            plus if it comes out too long, minus if too short.""",
        answer=Number(ppm, "ppm", places=0),
        slips={
            **_slips_of_ppm(ppm, 1 / lead),
            "upside down: That is with driver and driven changed over.": (
                (cut / lead * Fraction(pair.driven, pair.driver) ** 2 - 1) * 10**6
            ),
            "lever overlooked: The lever turns the leadscrew at another rate: count it in.": (
                (cut / lead / lathe.levers[pair.lever] - 1) * 10**6
                if pair.lever is not None and lathe.levers[pair.lever] != 1
                else None
            ),
            f"first driver overlooked: {FIRST_DRIVER}": (
                (cut / lead / lathe.spindle_ratio - 1) * 10**6 if lathe.spindle_ratio != 1 else None
            ),
        },
        hints="""Error = (cut − wanted) / wanted, both as leads in the same unit.
            The lead cut is the leadscrew's times every ratio on the way.
            How often does the wanted lead go into the one that is cut? Take 1 off, and count in millionths.""",
        solution=lambda: (
            f"It cuts {ratio(cut)} mm, and {ratio(lead)} mm is wanted: {ratio(cut / lead)} times.",
            derived(pair.on(lathe)),
            f"So **{grouped(signed(ppm))} ppm**.",
        ),
        right=f"Over 300 mm that makes {micrometres(deviation_um(ppm, 300))}.",
    )


@poses("next-convergent", lesson=4, goal=2, title="Where does the next run end?")
def next_convergent(draw: Draw) -> Task:
    wanted = draw.choice(_LONG_FRACTIONS)
    terms, near = continued_fraction(wanted), convergents(wanted)
    place = draw.choice([k for k in range(3, len(terms) - 1) if terms[k] > 1])
    (p0, q0), (p1, q1), term = near[place - 2].as_integer_ratio(), near[place - 1].as_integer_ratio(), terms[place]
    given = near[place - 2], near[place - 1]
    on_the_way = tuple(Fraction(p0 + k * p1, q0 + k * q1) for k in range(1, term))
    steps = [(k, terms[k - 1], x, error(RelativeError(x, wanted))) for k, x in enumerate(near, 1)]
    return Task(
        question=f"""The walk to **{wanted}** makes runs of {in_a_row(terms)} steps, by turns to the right and to the
            left. These are the counts of its continued fraction{_BEGINS_WITH_0 if wanted < 1 else ""}.
            Run {place - 1} ends at **{given[0]}**, run {place} at **{given[1]}**.
            Where does run {place + 1} end, the one of {term} steps?""",
        answer=Number(near[place]),
        slips={
            f"the number itself: That is where the last run ends. Only run {place + 1} is asked.": wanted,
            "given already: That one is given already. Which comes next?": list(given),
            "one step only: That is the mediant, one step on. The run has more steps.": on_the_way[0],
            "stopped on the way: You stopped part of the way along the run.": lambda read: read in on_the_way,
            """the wrong one taken often: Which of the two do you take as often as the count says, the last one or the
            one before it?""": Fraction(term * p0 + p1, term * q0 + q1),
            "one too far: That is where the run after the next ends.": near[place + 1] if near[place + 2 :] else None,
            "upside down: That is upside down.": 1 / near[place],
            "rounded: Very near, but not it. Give the exact fraction.": about(near[place]),
        },
        hints=f"""Add tops and add bottoms, as on the walk: the last one again and again, to the one before it.
            The run has {term} steps. So the top is {term} times {p1}, and {p0} more. The bottom goes the same way.""",
        solution=lambda: (
            f"The top is {term} · {p1} + {p0}, the bottom {term} · {q1} + {q0}. So **{near[place]}**.",
            Table(f"Where the runs to {wanted} end", "Run | Steps | It ends at | Error", steps),
        ),
        right="No fraction with a smaller bottom comes nearer than the end of a run does.",
    )


_BEGINS_WITH_0 = "; a number below 1 begins with 0 steps to the right"
_RATIOS = {Fraction(5 * tpi * hundredths, 12_700) for tpi in (4, 6, 8, 10, 12) for hundredths in range(45, 305, 5)}
_LONG_FRACTIONS = tuple(sorted(ratio for ratio in _RATIOS if max(continued_fraction(ratio)[3:-1], default=1) > 1))
"""Ratios of metric pitches on inch leadscrews whose continued fractions are worth the walk."""


@poses("beat-200-ppm", lesson=4, goal=3, title="Beat 200 ppm")
def beat_200_ppm(draw: Draw) -> Task:
    box = tuple(sorted(draw.sample(_GEARS, 12)))
    best = [one for one in stand_ins(_INCH_IN_DECIMETRES, box, count=6) if abs(one.error_ppm) <= 200]
    draw.only_if(len(best) > 1)
    nearest = [(one.train, one.ratio, error(one.error)) for one in best]

    def with_error(train: Train) -> str:
        return f"{train.ratio}, {error(RelativeError(train.ratio, _INCH_IN_DECIMETRES))}"

    return Task(
        question=f"""A box holds the gears {in_a_row(box)}, one of each. Find a train that comes within
            **200 ppm** of **127/100**, drivers over driven. Any train that does is right.""",
        answer=AnyNearTrain(_INCH_IN_DECIMETRES, box=box, ppm=200),
        hints=f"""Which simple fractions come near 127/100? Look at the walk, and at the stand-ins above.
            Take such a fraction apart into two, and multiply top and bottom of each until the gears are in the box.
            Or let the library look, in a cell of its own: gc.stand_ins("127/100", {list(box)}, count=3)""",
        solution=lambda: (
            Table("The nearest from this box", "Drivers over driven | Ratio | Error", nearest),
            f"So for instance **{best[0].train}**.",
        ),
        right=f"The best that this box can do with two pairs is {error(best[0].error)}.",
        otherwise=lambda train: f"That makes {with_error(train)}. Can you come within 200 ppm?",
    )


_METRIC = dict.fromkeys(("1 mm", "1.25 mm", "1.5 mm", "2 mm", "2.5 mm"), 127)
_THREADS = {f"{tpi} tpi": next(p for p in (7, 11, 13, 19) if tpi % p == 0) for tpi in (7, 14, 28, 11, 22, 13, 26, 19)}
_THREADS |= _METRIC
"""Threads, and the prime that the gears of an inch leadscrew must have for them."""


@poses("what-would-make-it-exact", lesson=4, goal=3, title="Which gear would make it exact?")
def what_would_make_it_exact(draw: Draw) -> Task:
    (wanted, prime), screw = draw.choice(sorted(_THREADS.items())), draw.choice(("4 tpi", "6 tpi", "8 tpi"))
    needed = Thread.parse(wanted).lead_mm / Thread.parse(screw).lead_mm
    box = tuple(sorted(draw.sample([teeth for teeth in _GEARS if teeth % prime], 8)))
    useful = _useful_gears(needed, box, prime)
    draw.only_if(bool(useful))
    teeth, train = next(iter(useful.items()))
    lathe = plain_lathe(screw, (*box, teeth))
    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn. Its box holds
            one each of {in_a_row(box)}, and no train of them cuts **{wanted}** exactly. Which one gear more would make
            that possible, with one pair or two? Any gear that does is right.""",
        answer=GearToAdd(needed, box=box),
        hints="""Bring the ratio to lowest terms and take it apart into primes. Which of them has no gear in the box?
            The new gear must be a multiple of that prime. Then find partners for it in the box.""",
        solution=lambda: (
            make_up(needed, box),
            derived(setup(lathe, train.drivers, train.driven, wanted=wanted)),
            f"Gears that would do: **{in_a_row(useful)}**.",
        ),
        right=f"It is {prime}, a prime, that the box had not. One gear that has it opens a whole family of threads.",
    )


def _useful_gears(needed: Fraction, box: tuple[int, ...], prime: int) -> dict[int, Train]:
    """Gears to 127 teeth that would make the ratio exact, and a train with each."""
    tried = {teeth: make_up(needed, (*box, teeth), meshes=(1, 2), count=1) for teeth in range(prime, 128, prime)}
    return {teeth: made.trains[0] for teeth, made in tried.items() if made.can and teeth >= 20}


@poses("the-better-stand-in", lesson=4, goal=1, title="Which stands in best?")
def the_better_stand_in(draw: Draw) -> Task:
    offered = draw.sample(_single_pairs(), 4)
    best, second, *_ = by_error = sorted(offered, key=lambda one: one.error)
    both_ways = len({one.error_ppm > 0 for one in offered}) == 2
    draw.only_if(abs(best.error_ppm) < 0.8 * abs(second.error_ppm) and both_ways)
    offered.remove(best)
    offered.insert(draw.evenly(range(4)), best)
    missing = {str(one.train): one for one in offered}
    nearest_first = [(one.train, error(one.error), micrometres(one.off_um(100))) for one in by_error]
    largest = max(offered, key=lambda one: sum(one.train.gears))
    lowest = min(offered, key=lambda one: one.error_ppm)
    return Task(
        question=f"""Four pairs are offered to stand in for 127/100: **{", ".join(missing)}**.
            Which one comes nearest?""",
        answer=Choice(str(best.train), tuple(missing)),
        slips={
            "largest gears: Large gears are no virtue in themselves. Work out the errors.": str(largest.train),
            "sign taken for size": (
                str(lowest.train),
                f"{lowest.train} is {error(lowest.error)} off. The sign only tells the side: compare the sizes.",
            ),
            "a worse one": (
                lambda read: True,
                lambda read: f"{read} is {error(missing[read].error)} off. Another one comes nearer.",
            ),
        },
        hints="""Turn each pair into its error: (pair − 127/100) / (127/100), in ppm.
            With fractions: for a/b that is 100 · a over 127 · b, less 1. The sign doesn't count here, only the size.
            """,
        solution=lambda: (Table("Nearest first", "Pair | Error | In 100 mm", nearest_first), f"So **{best.train}**."),
        right="The error tells, not the size of the gears, and not how well known a pair is.",
    )
