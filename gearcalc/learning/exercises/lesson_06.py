"""Exercises for lesson 06, π on the lathe: lead of a worm, fractions for π, trains that come near, which worm it is."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import pi

from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, RelativeError, coefficient
from gearcalc.basics.writing import THIN, decimal, error, length, number
from gearcalc.finding.fractions import best_fractions
from gearcalc.finding.setups import setup
from gearcalc.finding.stand_ins import StandIn, stand_ins
from gearcalc.lathes import GearSet, Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Choice, about
from gearcalc.learning.exercises.any_lathe import beside_the_gears, described, drawn_lever
from gearcalc.learning.exercises.benches import derived, leadscrew_of, plain_lathe
from gearcalc.learning.exercises.gear_answers import AnyNearTrain, in_a_row, within
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import NearerFraction, Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.threads import Thread

_MODULES = ("0.5", "0.75", "0.8", "1", "1.25", "1.5", "2", "2.5", "3")
_DIAMETRAL_PITCHES = ("8", "10", "12", "14", "16", "20", "24", "32")
_TWO_DECIMALS, _SEVENTHS = Fraction(314, 100), Fraction(22, 7)


@poses("lead-of-a-worm", lesson=6, goal=1, title="The lead of a worm")
def lead_of_a_worm(draw: Draw) -> Task:
    module, starts = draw.choice((True, False)), draw.choice((1, 1, 2))
    size = draw.choice(_MODULES if module else _DIAMETRAL_PITCHES)
    thread = Thread.parse(f"{'module' if module else 'DP'} {size}" + (" 2 starts" if starts == 2 else ""))
    lead, per_pi = thread.lead, coefficient(thread.lead)
    mixed_up = PiMultiple((INCH_MM / Fraction(size) if module else Fraction(size)) * starts)
    one_start = thread.pitch if starts == 2 else None
    return Task(
        question=f"""A worm has {"**module" if module else "**diametral pitch"} {size}** and
            **{"one start" if starts == 1 else "two starts"}**. For what lead do you set up the gears,
            in millimetres?""",
        answer=Number(lead, "mm", places=3),
        slips={
            "starts forgotten: That is the pitch. How far is it once round with two starts?": one_start,
            "22/7 for π: 22/7 is 402 ppm more than π. Keep π, or more of its digits.": _SEVENTHS * per_pi,
            "3.14 for π: 3.14 is 507 ppm less than π. Keep π, or more of its digits.": _TWO_DECIMALS * per_pi,
            "without π: A worm must match distances round a circle. What is missing?": per_pi,
            "divided by π: Round a circle it is π times as far as across it. Multiply.": about(float(per_pi) / pi),
            "doubled for one start: With one start the lead is one pitch.": None if one_start else lead * 2,
            "left in inches: That looks like inches. The question asks for mm.": PiMultiple(per_pi / INCH_MM),
            """module and DP mixed up: Module is in millimetres, and more of it is coarser. Diametral pitch counts teeth
            to an inch of diameter, and more of it is finer.""": mixed_up,
        },
        hints=f"""Pitch = {"π × module, in millimetres." if module else "π / DP, in inches. An inch is 25.4 mm."}
            The lead is the pitch times the number of starts.""",
        solution=f"""{thread}: pitch {number(thread.pitch)} mm, so the lead is {number(lead)} mm.
            As a decimal **{length(lead)}**.""",
        right="Keep it as a multiple of π to the end, and round only when the gears are chosen.",
    )


def _times_pi(needed: Exact) -> str:
    """A multiple of π in which no line ends."""
    front = coefficient(needed)
    return "π" if front == 1 else f"{front}{THIN}·{THIN}π"


@poses("fraction-for-pi", lesson=6, goal=3, title="A better fraction than 22/7", any_lathe=True)
def fraction_for_pi(draw: Draw, own: Lathe | None) -> Task:
    lever, (module, steps) = None, draw.evenly([(size, steps) for size in _MODULES[:-1] for steps in (1, 2, 3)])
    worm = f"module {module}"
    needed, on = Thread.parse(worm).lead / Fraction(3), "on a leadscrew with a lead of 3 mm needs the ratio"
    if own is not None:
        lever = drawn_lever(draw, own)
        needed = Thread.parse(worm).lead / (own.leadscrew_lead_mm * beside_the_gears(own, lever))
        on = "needs of the change gears the ratio"
    classic = _SEVENTHS * coefficient(needed)
    nearer = [one for one in best_fractions(needed, max_denominator=300) if one.error < RelativeError(classic, needed)]
    draw.only_if(bool(nearer), "needs ratios for worms so small, or so large, that no handy fraction comes nearer")
    simplest = max(nearer[0].fraction.as_integer_ratio())
    most = 20 * (simplest // 20 + steps)
    fractions = [(x.fraction, error(x.error)) for x in nearer if max(x.fraction.as_integer_ratio()) <= most]
    off = error(RelativeError(classic, needed))
    becomes = "The usual fraction for it is" if classic == _SEVENTHS else "With 22/7 for π that becomes"
    return Task(
        question=f"""{described(own, lever) if own is not None else ""} A worm of **{worm}** {on}
            **{_times_pi(needed)}**. {becomes} **{classic}**. Find a fraction that comes nearer to the ratio, with no
            number above **{most}** in it.""",
        answer=NearerFraction(needed, than=classic, most=most),
        slips={
            """for π itself: That is near π itself. The ratio needed is another: see the
            question.""": lambda read: within(read, PiMultiple(Fraction(1)), 500)
        },
        hints=f"""As a decimal the ratio is {decimal(needed, 7)}. Walk towards it: mediants, as in lesson 04.
            Or type {coefficient(needed)}*pi into the explorer's Number, and move Below line up till it changes.""",
        solution=lambda: (
            Table(f"Nearer than {classic}, which is {off} off", "Fraction | Error", fractions),
            f"For instance **{fractions[-1][0]}**.",
        ),
        right="Whether it is any use depends on the gears: a fraction must split into tooth counts that you have.",
    )


_GEARS = (20, 22, 24, 25, 28, 30, 32, 33, 35, 36, 38, 40, 42, 44, 45, 46, 48, 50, 52, 55, 56, 60, 63, 64, 65, 66, 70)
_LEADSCREWS = ("3 mm", "4 mm", "5 mm", "6 tpi", "8 tpi")


@poses("a-train-for-the-worm", lesson=6, goal=3, title="A train for the worm")
def a_train_for_the_worm(draw: Draw) -> Task:
    screw, worm = draw.choice(_LEADSCREWS), f"module {draw.choice(_MODULES[:-1])}"
    needed = Thread.parse(worm).lead / Thread.parse(screw).lead_mm
    known = _near_enough(needed, _GEARS)
    draw.only_if(len(known) > 1)
    wanted = {teeth for one in draw.sample(known, 2) for teeth in one.train.gears}
    others = [teeth for teeth in _GEARS if teeth not in wanted]
    box = tuple(sorted((*wanted, *draw.sample(others, 12 - len(wanted)))))
    best = _near_enough(needed, box)[:4]
    lathe = plain_lathe(screw, box)
    per_pi, screw_mm = coefficient(needed), lathe.leadscrew_lead_mm

    def twice(train: Train) -> bool:
        """Whether a gear of the box stands in more places than the box has of it: that is said first."""
        return not set(box).isdisjoint(GearSet(box).missing(train.gears))

    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)}, turned by the last gear turn for turn. Its box holds
            the gears {in_a_row(box)}. Find a train that cuts a worm of **{worm}**, one start, to within **200 ppm**.
            Any train that does is right.""",
        answer=AnyNearTrain(needed, box=box, ppm=200),
        slips={
            """22/7 taken for exact: That is just 22/7 for π, so it is 402 ppm too long. Something can be
            nearer.""": lambda train: train.ratio == _SEVENTHS * per_pi and not twice(train),
            """without π: That is for a pitch of the module itself. A worm's pitch is π times its
            module.""": lambda train: within(train.ratio, per_pi, 5000),
            """leadscrew forgotten: That is the pitch in millimetres. Divide by the lead of the
            leadscrew.""": lambda train: within(train.ratio, needed * screw_mm, 5000),
        },
        hints=f"""The ratio is π × module over the leadscrew's lead in mm. As a decimal it is {decimal(needed, 6)}.
            Look for a fraction near that, and split it into two that the box has gears for.
            Or let the library look, in a cell of its own: gc.stand_ins("{per_pi}*pi", {list(box)}, count=3)""",
        solution=lambda: (
            f"From this box: **{', '.join(str(one.train) for one in best)}**.",
            derived(setup(lathe, best[0].drivers, best[0].driven, wanted=worm)),
        ),
        right=f"The best that two pairs of this box can do is {error(best[0].error)}.",
        otherwise=lambda train: f"That train is off by {error(RelativeError(train.ratio, needed))}.",
    )


@lru_cache(maxsize=128)  # every worm from the whole set; the boxes, each drawn once, come and go
def _near_enough(needed: Exact, gears: tuple[int, ...]) -> list[StandIn]:
    """Trains of up to two pairs that come within 200 ppm."""
    return [one for one in stand_ins(needed, gears, count=40) if abs(one.error_ppm) <= 200]


@poses("module-or-diametral-pitch", lesson=6, goal=1, title="Module, diametral pitch, or neither?")
def module_or_diametral_pitch(draw: Draw) -> Task:
    true = draw.choice(_FAMILIES[draw.choice((0, 1))])
    offered = sorted(_nearest(true, family) for family in _FAMILIES)
    rows = draw.sample(offered, len(offered))
    measured = decimal(_ten_pitches(true), 1)
    lengths = [(name, f"{decimal(_ten_pitches(name), 2)} mm") for name in rows]
    return Task(
        question=f"""An old worm with one start lies on the bench, without a drawing. Over **ten threads** it measures
            **{measured} mm**, give or take 0.1 mm. Which of these is it: **{", ".join(rows)}**?""",
        answer=Choice(true, tuple(rows), {name: (" ".join(reversed(name.split())),) for name in rows}),
        slips={
            """the other system: Near, but ten threads of that are another length. Module is in millimetres, diametral
            pitch counts to the inch.""": lambda read: read.startswith(("module", "DP")),
            "without π: Ten threads of that are another length. A worm's pitch has π in it.": lambda read: True,
        },
        hints="""Work out ten pitches of each, to a tenth of a millimetre.
            Module: π × module. DP: 25.4 π / DP. An inch is 25.4 mm.""",
        solution=lambda: (
            Table("Ten threads of each", "Worm | Ten threads", lengths),
            f"Measured: {measured} mm. So **{true}**.",
        ),
        right="Measure over many threads: in one pitch the two systems can lie within a tenth of a millimetre.",
    )


_FAMILIES = (
    tuple(f"module {size}" for size in _MODULES[3:]),
    tuple(f"DP {size}" for size in _DIAMETRAL_PITCHES[:-1]),
    tuple(f"{mm} mm" for mm in ("3", "3.5", "4", "4.5", "5", "5.5", "6", "7", "8", "9", "10")),
    tuple(f"{tpi} tpi" for tpi in ("2 1/2", "3", "3 1/2", "4", "4 1/2", "5", "6", "7", "8")),
)


def _ten_pitches(name: str) -> float:
    return 10 * float(Thread.parse(name).lead)


def _nearest(name: str, family: tuple[str, ...]) -> str:
    """Of a family the one most easily taken for it, but told apart by a tenth of a millimetre in ten threads."""
    if name in family:
        return name
    apart = {other: abs(_ten_pitches(other) - _ten_pitches(name)) for other in family}
    return min((other for other in family if apart[other] > 0.3), key=apart.__getitem__)
