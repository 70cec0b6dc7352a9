"""Exercises for lesson 05, does the error matter: µm over a length, share of a tolerance, verdicts, a wrong chart."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from gearcalc.basics.both_units import off_size
from gearcalc.basics.exact import as_fraction
from gearcalc.basics.writing import decimal, error, grouped, listed, micrometres, signed
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Choice, Several, about
from gearcalc.learning.exercises.any_lathe import drawn_near, lever_word, plain, whose
from gearcalc.learning.exercises.benches import bench, derived, leadscrew_of
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.threads import Thread
from gearcalc.threads.deviations import LEADSCREW_LENGTH_MM, LEADSCREW_UM, Verdict, deviation_um, judge
from gearcalc.threads.tolerances import pitch_diameter_limits, pitch_diameter_tolerance

_PPM = (125, -213, 265, -463, 606, -656, 934, -1125, 1344, -1542, 2143, -3000)
_SCREWS = ("M6", "M8", "M10", "M12", "M16", "M20", "M24")
_ROOT_3 = 3**0.5
"""cot 30°, the flank angle of metric threads."""


@poses("how-far-out", lesson=5, goal=1, title="How far out?", any_lathe=True)
def how_far_out(draw: Draw, own: Lathe | None) -> Task:
    ppm, mm = draw.choice(_PPM), draw.choice((8, 12, 16, 20, 30, 40, 60, 80, 150, 200, 250))
    train, exactly = "A train cuts a thread", Fraction(ppm)
    if own is not None:
        pair = drawn_near(draw, own, least_ppm=20, nearest=12)
        exactly, ppm = pair.ppm, round(pair.ppm)
        lever = f", {lever_word(own)} at {plain(pair.lever)}," if pair.lever is not None else ""
        train = f"On {whose(own).lower()} **{pair.driver}/{pair.driven}**{lever} cuts **{pair.thread}**"
    um, anew = Fraction(ppm * mm, 1000), exactly * mm / 1000
    longer = "too long" if ppm > 0 else "too short"
    return Task(
        question=f"""{train} with an error of **{grouped(signed(ppm))} ppm**. How many micrometres is the thread
            out over **{mm} mm**? Give the sign: plus if it is too long, minus if too short.""",
        answer=Number(um, "µm", places=1, unrounded=anew),
        slips={
            "wrong sign: The size is right, the sign is not.": [-um, -anew] if anew != um else -um,
            "in millimetres: That looks like millimetres. The question asks for µm.": about(um / 1000),
            """a thousand too many: 1 ppm of a millimetre is a millionth of it, and that is a thousandth of a
            micrometre.""": about(um * 1000),
            "over a metre: That is what it adds up to over a whole metre.": Fraction(ppm),
            "divided: The longer the thread, the further it is out. Multiply.": about(Fraction(ppm, mm)),
        },
        hints=f"""1 ppm is 1 µm in a metre of thread.
            So over a metre it would be {abs(ppm)} µm. {mm} mm is which part of a metre?""",
        solution=f"{signed(ppm)} µm in a metre, times {mm} mm / 1000 mm: **{signed(um, 3)} µm**, {longer}.",
        right="The error grows with the length, and only with it.",
    )


@poses("share-of-the-tolerance", lesson=5, goal=2, title="What share of the tolerance?")
def share_of_the_tolerance(draw: Draw) -> Task:
    thread = draw.choice(_SCREWS)
    major, pitch = Thread.parse(thread).major_mm or 0, Thread.parse(thread).pitch_mm
    asked, *others = draw.sample(("4h", "6g", "8g"), 3)
    mm = major * draw.choice((Fraction(1, 2), Fraction(3, 4), Fraction(3, 2)))
    widths = {grade: pitch_diameter_tolerance(thread, grade) for grade in ("4h", "6g", "8g")}
    all_of_it = float(1000 * widths[asked].um / mm) / _ROOT_3
    ppm = draw.choice([ppm for ppm in _PPM if 0.01 < abs(ppm) / all_of_it < 0.95])
    verdict = judge(thread, ppm, mm, tolerance_class=asked)
    used = as_fraction(100 * (verdict.share_used or 0))
    other_class = [about(used * widths[asked].um / widths[grade].um) for grade in others]
    other_length = [about(used * length / mm) for length in (major, pitch, 25, 100, 300)]
    return Task(
        question=f"""A screw **{thread}** is cut with a pitch error of **{grouped(signed(ppm))} ppm**, and a nut grips
            it over **{decimal(mm)} mm**. How many per cent of the pitch-diameter tolerance of class **{asked}**
            does the pitch error use up?""",
        table=Table(f"Pitch-diameter tolerances of {thread}", "Class | Tolerance", widths.items()),
        answer=Number(used, "%", places=1),
        slips={
            "a plain share: That is the share with 1 for all of it. Give it in per cent.": about(used / 100),
            """cot forgotten: That sets the error along the axis against the tolerance. The nut feels it in the pitch
            diameter: times cot 30°.""": about(used / as_fraction(_ROOT_3)),
            """cot of the whole angle: 60° is the whole angle of the thread. The flank angle is half of
            it.""": about(used / 3),
            """stopped at the length: So many µm is the thread out over the nut's length. Go on: what does the nut feel
            of it, and what share of the tolerance is that?""": about(abs(deviation_um(ppm, mm))),
            """stopped at the diameter: So many µm does the nut feel in the pitch diameter. Go on: what share of the
            tolerance is that?""": about(verdict.pitch_diameter_um or 0),
            "minus kept: A share has no sign: too long or too short, it uses up as much.": -used if ppm < 0 else None,
            f"another class: Class {asked} is asked for.": other_class,
            "engagement forgotten: Over which length does this nut grip?": other_length,
        },
        hints=f"""First the error over the {decimal(mm)} mm of engagement, in µm.
            Times cot 30° = 1.732 it acts like a change of the pitch diameter.
            That, over the tolerance of the class, times 100.""",
        solution=lambda: (
            f"Over {decimal(mm)} mm the thread is out by {decimal(abs(deviation_um(ppm, mm)), 2)} µm.",
            f"Times 1.732 that acts like {decimal(verdict.pitch_diameter_um or 0, 2)} µm of pitch diameter.",
            verdict,
            f"So **{decimal(used, 2)} %**.",
        ),
        right="The rest of the tolerance is what is left for you to miss the size by.",
    )


@poses("how-many-ppm-are-allowed", lesson=5, goal=2, title="How many ppm may it be?")
def how_many_ppm_are_allowed(draw: Draw) -> Task:
    thread = draw.choice(_SCREWS)
    major = Thread.parse(thread).major_mm or 0
    mm = draw.choice([mm for mm in (8, 12, 15, 20, 30, 50) if major / 2 <= mm <= 3 * major and mm != major])
    verdict, limits = judge(thread, 0, mm, tolerance_class="6g"), pitch_diameter_limits(thread, "6g")
    allowed = as_fraction(verdict.allowed_ppm or 0)
    thousandfold = [about(allowed * times) for times in (1000, Fraction(1, 1000))]
    other_length = [about(allowed * mm / length) for length in (1, major)]
    return Task(
        question=f"""The pitch diameter of **{thread}** in class 6g may lie anywhere from
            **{decimal(limits.min_mm)}** to **{decimal(limits.max_mm)} mm**. A pitch error may use up **half** of
            that tolerance, and the nut grips over **{mm} mm**. How many ppm may the pitch error be?""",
        answer=Number(allowed, "ppm", places=-1),
        slips={
            """stopped at the tolerance: That is half of the tolerance, in µm of pitch diameter. Go on: how far may the
            thread then be out along its axis, and what share of the engagement is
            that?""": about(float(verdict.tolerance_um or 0) / 2),
            """stopped at the length: So many µm may the thread be out over the nut's length. Go on: what share of that
            length is it, in millionths?""": about(allowed * mm / 1000),
            "all of the tolerance: That uses up all of the tolerance. Half is allowed.": about(2 * allowed),
            """cot the wrong way: The error times cot 30° is what the nut feels. Going back from the tolerance to the
            error, divide by it.""": about(3 * allowed),
            "cot forgotten: The nut feels the error times cot 30°.": about(allowed * as_fraction(_ROOT_3)),
            """metres for millimetres: That is a thousand times too large or too small. 1 ppm is 1 µm in a metre, not in
            a millimetre.""": thousandfold,
            "engagement forgotten: Over which length does this nut grip?": other_length,
        },
        hints="""The tolerance is the difference of the two limits. Half of it may go to the pitch error.
            Divide by cot 30° = 1.732: so far may the thread be out along its axis, over the engagement.
            1 µm over so many millimetres is how many µm in a metre?""",
        solution=lambda: (
            f"Half of {decimal(verdict.tolerance_um or 0)} µm, over 1.732 and over {mm} mm, times 1000.",
            judge(thread, allowed, mm, tolerance_class="6g"),
            f"So **{grouped(decimal(allowed, 0))} ppm** either way.",
        ),
        right="Thousands of ppm for a short nut, and less the longer it grips.",
    )


class _Row(NamedTuple):
    """A row of an error table as it is printed."""

    thread: str
    train: Train
    ppm: float
    um: float

    @classmethod
    def of(cls, cuts: Setup) -> _Row:
        ppm = cuts.error_ppm or 0.0
        return cls(str(cuts.wanted), cuts.train, ppm, deviation_um(ppm, 100))

    @property
    def cells(self) -> tuple[str, ...]:
        return self.thread, str(self.train), str(error(self.ppm)), str(micrometres(self.um))


_MISPRINTS: dict[str, Callable[[_Row], _Row]] = {
    "The sign was turned round.": lambda row: row._replace(ppm=-row.ppm, um=-row.um),
    "The µm were ten times too many.": lambda row: row._replace(um=10 * row.um),
    "The µm were those over 25 mm, not over 100.": lambda row: row._replace(um=row.um / 4),
    "Without a 127 it can't be exact.": lambda row: row._replace(ppm=0, um=0),
    "Drivers and driven had changed places.": lambda row: row._replace(
        train=Train(row.train.driven, row.train.drivers)
    ),
}
_HEADS = "Thread | Drivers over driven | Error | Over 100 mm"


@poses("find-the-wrong-row", lesson=5, goal=1, title="Find the wrong row")
def find_the_wrong_row(draw: Draw) -> Task:
    lathe = bench("inch")
    setups = [draw.choice(_near_setups(thread)) for thread in sorted(draw.sample(_CHART, 5), key=_CHART.index)]
    true = {str(one.wanted): _Row.of(one) for one in setups}
    wrong = setups[draw.evenly(range(len(setups)))]
    why, misprint = draw.choice(sorted(_MISPRINTS.items(), key=lambda entry: entry[0]))
    printed = true | {str(wrong.wanted): misprint(true[str(wrong.wanted)])}
    largest = max(printed.values(), key=lambda row: abs(row.ppm)).thread
    return Task(
        question=f"""A chart for a lathe with {leadscrew_of(lathe)}, turned by the last gear turn for turn.
            It gives a train for each thread, the error, and what that adds up to over 100 mm of thread.
            **One row is wrong.** Which one?""",
        table=Table("The chart", _HEADS, (row.cells for row in printed.values())),
        answer=Choice(str(wrong.wanted), tuple(true), {thread: (thread.removesuffix(" mm"),) for thread in true}),
        slips={
            """large, not wrong: That row has the largest error, but it says so truly. A poor train is no
            misprint.""": largest,
            """a right row: That row is right. Let its train work on the leadscrew, and set the lead against the
            thread.""": lambda thread: True,
        },
        hints="""Some mistakes show within the row: 100 ppm are 10 µm in 100 mm, with the same sign.
            Some show at a glance: too good to be true, or finer where it should be coarser.
            For the others work out leadscrew × drivers / driven, and compare it with the thread.""",
        solution=lambda: (
            Table("As it should be", _HEADS, (row.cells for row in true.values())),
            derived(wrong),
            f"{why} The wrong row is **{wrong.wanted}**.",
        ),
        right=f"{why} A chart is only as good as its last check.",
    )


_CHART = ("0.75 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "2.5 mm")


@cache
def _near_setups(thread: str) -> tuple[Setup, ...]:
    """Trains for a metric thread from the inch bench, different ratios, that miss by 20 to 5000 ppm."""
    found = find_setups(bench("inch"), thread, meshes=2, count=30, must_fit=False, one_per_ratio=True)
    return tuple(one for one in found if 20 <= abs(one.error_ppm or 0) <= 5000)


@cache
def _judged(thread: str, grade: str, mm: int, ppm: int) -> Verdict:
    return judge(thread, ppm, mm, tolerance_class=grade)


@poses("good-enough-or-not", lesson=5, goal=3, title="Good enough or not?")
def good_enough_or_not(draw: Draw) -> Task:
    ppm, long = draw.choice(_PPM), draw.choice(("M16", "M20", "M24"))
    short, fine = draw.sample([thread for thread in _SCREWS if thread != long], 2)
    nuts = (short, "6g", _diameter(short)), (fine, "4h", _diameter(fine)), (long, "6g", draw.choice((80, 100, 120)))
    verdicts = [_judged(*nut, ppm) for nut in nuts]
    slide_um = deviation_um(ppm, LEADSCREW_LENGTH_MM)
    used = [*((verdict.share_used or 0) / 0.5 for verdict in verdicts), abs(slide_um) / LEADSCREW_UM]
    draw.only_if(min(used) < 1 < max(used) and all(abs(share - 1) > 0.1 for share in used))  # none is on the edge
    rows = draw.sample([0, 1, 2, 3], 4)
    number = {kind: place for place, kind in enumerate(rows, 1)}
    good = frozenset(number[kind] for kind in rows if used[kind] <= 1)
    cells = [(f"{of}-{grade}", f"nut over {mm} mm", str(pitch_diameter_tolerance(of, grade))) for of, grade, mm in nuts]
    cells.append(("screw of a slide", f"{LEADSCREW_LENGTH_MM} mm", f"{LEADSCREW_UM} µm of lead"))

    def wrongly_in(kind: int) -> Callable[[frozenset[int]], bool]:
        return lambda read: number[kind] in read - good

    def felt(kind: int, verdict: Verdict) -> str:
        over = f"{abs(ppm)} ppm over {nuts[kind][2]} mm, times 1.732"
        feels, most = off_size(verdict.pitch_diameter_um or 0), off_size((verdict.tolerance_um or 0) / 2)
        return f"Job {number[kind]}, {cells[kind][0]}: {over}, is {feels}. Half of the tolerance is {most}."

    return Task(
        question=f"""A train with an error of **{grouped(signed(ppm))} ppm** is on the lathe, and four jobs wait. On a
            fastener the pitch error may use up half of the pitch-diameter tolerance. The screw of a slide may be out by
            {LEADSCREW_UM} µm over {LEADSCREW_LENGTH_MM} mm. (Both are conventions of ours.)
            For which jobs is the train good enough?""",
        table=Table("The jobs", "Job | Screw | Length | Tolerance", ((number[kind], *cells[kind]) for kind in rows)),
        answer=Several(good, rows=4),
        slips={
            """slide taken for a fastener: No short nut forgives the screw of a slide: there the whole length is the
            job.""": wrongly_in(3),
            """length overlooked: One of your nuts grips over a long way. How far is the thread out over
            that?""": wrongly_in(2),
            "class overlooked: One of yours has a narrow class. What share of it goes?": wrongly_in(1),
            """too strict: You turned down a job that is good enough. Work out the share: it need not be exact to
            serve.""": lambda read: not good <= read,
        },
        hints=f"""A nut feels |error| × length × 1.732. Compare that with half of the tolerance.
            For the slide: how many µm are {abs(ppm)} ppm over {LEADSCREW_LENGTH_MM} mm?""",
        solution=lambda: (
            *(felt(kind, verdict) for kind, verdict in enumerate(verdicts)),
            f"Job {number[3]}, the slide: {micrometres(slide_um)} over {LEADSCREW_LENGTH_MM} mm.",
            f"Good enough for **{listed(sorted(good))}**.",
        ),
        right="The same train can be right for one job and scrap for another. Ask for length and purpose first.",
    )


def _diameter(thread: str) -> int:
    return int(Thread.parse(thread).major_mm or 0)
