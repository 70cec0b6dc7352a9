"""Exercises for lesson 08, catching the thread: when a groove returns, which lines and gears serve, next starts."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from functools import cache
from math import gcd

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.exact import as_fraction
from gearcalc.cutting.catching import dial, index_starts
from gearcalc.cutting.dial_rules import DialRule
from gearcalc.lathes import Dial, DialGear, Lathe
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Several, about, told_apart
from gearcalc.learning.exercises.any_lathe import FIRST_DRIVER, drawn_setup, whose
from gearcalc.learning.exercises.benches import bench, leadscrew_with, plain_lathe, said
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses

_INCH_SCREWS = ("4 tpi", "6 tpi", "8 tpi", "10 tpi")
_INCH_THREADS = tuple(f"{tpi} tpi" for tpi in (5, 7, 9, 10, 11, 12, 13, 14, 18, 19, 20, 22, 26, 27, 28, 36))
_METRIC_SCREWS = ("1.5 mm", "2 mm", "3 mm", "4 mm", "6 mm")
_METRIC_THREADS = tuple(
    f"{lead} mm" for lead in ["0.7", "0.8", "1.25", "1.75", "2", "2.5", "3.5", "4", "4.5", "5", "5.5", "7", "8"]
)
_TRANSLATED = ("0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "2.5 mm")


@poses("when-the-groove-returns", lesson=8, goal=1, title="When does the groove return?")
def when_the_groove_returns(draw: Draw) -> Task:
    returning = draw.evenly(sorted({rule.threads or 0 for rule in _pairs()}))
    rule = draw.choice([rule for rule in _pairs() if rule.threads == returning])
    threads, leads = rule.threads or 0, rule.spindle_turns or 0
    travel = rule.travel_mm or Fraction(0)
    not_the_first = "After so many a groove stands there too, but one stood there before."
    so_long = "That is how many millimetres it is. How many leadscrew threads are that?"
    if travel % threads == 0:
        so_long = f"That is how many millimetres it is. Taken for leadscrew threads: {not_the_first.lower()}"
    return Task(
        question=f"""On a lathe with {leadscrew_with(_screw(rule))} you cut **{rule.thread}**. You open the half-nuts
            and let whole leadscrew threads go by. After how many of them does a groove stand before the tool again,
            for the first time?""",
        answer=Number(Fraction(threads), "threads"),
        slips={
            """leads counted: That is the number of leads of the thread. How many threads of the leadscrew are as
            long?""": Fraction(leads),
            f"in millimetres: {so_long}": about(travel),
            f"not the first time: {not_the_first}": lambda read: read > threads and read % threads == 0,
            """too soon: How many leads are so many leadscrew threads? It has to be a whole
            number.""": lambda read: 0 < read < threads,
        },
        hints="""Write lead over leadscrew lead as a fraction, in millimetres or in inches.
            Cancel it until nothing is left to cancel. The number on top is so many leadscrew threads.""",
        solution=lambda: (rule.when, f"So a groove returns after **{threads}** leadscrew threads."),
        right="Lead over leadscrew lead, cancelled: the number on top. Any multiple of it serves.",
    )


def _lathe(screw: str, *gears: tuple[int, int]) -> Lathe:
    """A lathe with these dial gears, each (teeth, lines)."""
    return evolve(plain_lathe(screw, ()), dial=Dial([DialGear(*gear) for gear in gears]) if gears else None)


def _screw(rule: DialRule) -> str:
    return said(rule.leadscrew_mm)


@cache
def _pairs() -> list[DialRule]:
    """Threads that do not go anywhere on a leadscrew of their own system, and are back within 40 of its threads."""
    pairs = [(screw, thread) for screw in _INCH_SCREWS for thread in _INCH_THREADS]
    pairs += [(screw, thread) for screw in _METRIC_SCREWS for thread in _METRIC_THREADS]
    rules = [dial(_lathe(screw), thread) for screw, thread in pairs]
    return [rule for rule in rules if rule.threads is not None and 1 < rule.threads <= 40 and rule.spindle_turns != 1]


_DIALS = (
    ("8 tpi", 16, 8), ("4 tpi", 16, 8), ("6 tpi", 24, 8), ("4 tpi", 32, 8),
    ("3 mm", 16, 8), ("3 mm", 20, 10), ("6 mm", 18, 6), ("3 mm", 15, 5), ("2 mm", 20, 10),
)  # fmt: skip
"""Leadscrews, teeth of a dial gear, lines of its dial."""


@cache
def _by_how_many_serve() -> dict[str, list[DialRule]]:
    """Threads on lathes with these dials, by how many lines serve; never all, since then nobody could go wrong."""
    found: dict[str, list[DialRule]] = {"none": [], "one": [], "some": []}
    for screw, teeth, lines in _DIALS:
        threads = (*_INCH_THREADS, *_TRANSLATED) if screw.endswith("tpi") else _METRIC_THREADS
        for thread in threads:
            rule = dial(_lathe(screw, (teeth, lines)), thread)
            if len(rule.lines) < lines:
                found[("none", "one", "some")[min(len(rule.lines), 2)]].append(rule)
    return found


@poses("which-lines-serve", lesson=8, goal=2, title="Which lines serve?")
def which_lines_serve(draw: Draw) -> Task:
    rule = draw.choice(_by_how_many_serve()[draw.choice(("none", "one", "one", "some", "some"))])
    teeth, lines = rule.gears[0].teeth, rule.gears[0].lines
    from_one, returning = frozenset(rule.lines), rule.threads or 0
    first = draw.choice([line for line in range(2, lines + 1) if line not in from_one])
    serving = _counted_from(first, rule.lines, lines)
    counted = _counted_from(first, range(1, lines + 1, returning), lines)
    return Task(
        question=f"""{leadscrew_with(_screw(rule)).capitalize()} drives a dial gear with **{teeth} teeth**; the dial has
            **{lines} lines**, numbered from 1 in the order in which they come to the mark. You cut **{rule.thread}**,
            and for the first pass you closed the half-nuts at **line {first}**. At which lines may you close them for
            **every** pass that follows, however often the dial has gone round?""",
        answer=Several(serving, rows=lines),
        slips={
            """too careful: There are lines that serve. When is a groove back, and how many leadscrew threads go by from
            line to line?""": lambda read: bool(serving) and not read,
            "all of them: Not at each line is a groove back.": lambda read: len(read) == lines,
            """its own line, but not for long: That line comes round when as many leadscrew threads have gone by as the
            dial gear has teeth. Is a groove back then?""": lambda read: not serving and read == {first},
            """counted from line 1: So it would be if the first pass had begun at line 1. Count from the line at which
            you closed.""": lambda read: bool(read) and read == from_one,
            """a line for a thread: From one line to the next more than one leadscrew thread may go by. How many are
            they here?""": lambda read: counted != serving and read == counted,
        },
        hints=f"""After how many leadscrew threads does a groove return? Lead over leadscrew lead, cancelled: the top.
            That number has to divide {teeth}, or no line can be relied on.
            From one line to the next {writing.number(Fraction(teeth, lines))} leadscrew threads go by.""",
        solution=lambda: (
            rule,
            *((f"There line 1 is the line first used. Here that is line {first}: count from it.",) if serving else ()),
            f"So: **{writing.listed(sorted(serving) or ['none'])}**.",
        ),
        right="Count from the line at which you closed." if serving else _KEPT_CLOSED,
    )


_KEPT_CLOSED = "Then the half-nuts stay closed until the thread is done."


def _counted_from(first: int, served: Iterable[int], lines: int) -> frozenset[int]:
    """Lines as they are numbered when line 1 is first used, renumbered for another that is."""
    return frozenset((line + first - 2) % lines + 1 for line in served)


_DIAL_GEARS = (14, 15, 16, 18, 20, 21, 22, 24, 25, 27, 28, 30)


@poses("which-dial-gears-serve", lesson=8, goal=2, title="Which dial gears serve?")
def which_dial_gears_serve(draw: Draw) -> Task:
    rules = [rule for rule in _pairs() if not _screw(rule).endswith("tpi") and (rule.threads or 0) <= 11]
    rule = draw.choice(rules)
    returning, leads = rule.threads or 0, rule.spindle_turns or 0
    right = by_leads = frozenset[int]()
    while not right or right == by_leads:
        teeth = sorted(draw.sample(_DIAL_GEARS, 4))
        right = _rows(teeth, lambda count: count % returning == 0)
        by_leads = _rows(teeth, lambda count: count % leads == 0)
    shares = _rows(teeth, lambda count: gcd(count, returning) > 1 and count % returning != 0)
    lathe = _lathe(_screw(rule), *((count, 1) for count in teeth))
    return Task(
        question=f"""{leadscrew_with(_screw(rule)).capitalize()} comes with four gears for its dial. You cut
            **{rule.thread}**. With which of the gears is a groove back **each time** that the line which you
            used first comes round?""",
        table=Table("The dial gears", "Number | Teeth", enumerate(teeth, 1)),
        answer=Several(right, rows=4, teeth=tuple(teeth)),
        slips={
            """leads for leadscrew threads: You divided by the number of leads. It is the leadscrew that turns the dial:
            by its threads.""": by_leads,
            """a part in common: One of yours only shares a factor with the number of leadscrew threads. It has to hold
            it a whole number of times.""": lambda read: bool(read & shares),
        },
        hints="""After how many leadscrew threads does a groove return? Lead over leadscrew lead, cancelled: the top.
            One turn of the dial lets as many leadscrew threads go by as its gear has teeth.""",
        solution=lambda: (dial(lathe, rule.thread), f"So: **{writing.listed(sorted(right))}**."),
        right="The dial gear has to hold the number of leadscrew threads a whole number of times.",
    )


def _rows(teeth: list[int], serves: Callable[[int], bool]) -> frozenset[int]:
    return frozenset(number for number, count in enumerate(teeth, 1) if serves(count))


_TURNED_AT = (
    ("8 tpi", 16), ("6 tpi", 24), ("4 tpi", 16), ("4 tpi", 20), ("3 mm", 16),
    ("3 mm", 20), ("4 mm", 15), ("4 mm", 18), ("6 mm", 14), ("6 mm", 16),
)  # fmt: skip
"""Leadscrews, and the teeth of a dial gear."""


@cache
def _turns_that_miss() -> list[tuple[DialRule, int]]:
    """A turn of the dial that leaves the tool plainly out of its groove, by a length that no slip leads to."""
    found = [
        (dial(_lathe(screw, (teeth, 1)), thread), teeth)
        for screw, teeth in _TURNED_AT
        for thread in (_TRANSLATED if screw.endswith("tpi") else _METRIC_THREADS)
    ]
    return [(rule, teeth) for rule, teeth in found if _plainly_out(rule, teeth)]


def _plainly_out(rule: DialRule, teeth: int) -> bool:
    out, lead, one = abs(rule.out_mm(teeth)), as_fraction(rule.lead), abs(rule.out_mm(1))
    plain = out >= Fraction(1, 20) and lead - 2 * out >= Fraction(1, 10)
    return plain and told_apart(out, lead - out, out / lead, teeth * rule.leadscrew_mm, one)


@poses("how-far-out-of-the-groove", lesson=8, goal=2, title="How far out of the groove?")
def how_far_out_of_the_groove(draw: Draw) -> Task:
    rule, teeth = draw.choice(_turns_that_miss())
    out = abs(rule.out_mm(teeth))
    lead, travel = as_fraction(rule.lead), teeth * rule.leadscrew_mm
    near = round(travel / lead)
    return Task(
        question=f"""{leadscrew_with(_screw(rule)).capitalize()} drives a dial gear with **{teeth} teeth**. You cut
            **{rule.thread}** and close the half-nuts one turn of the dial later, at the same line. How far is the tool
            then from the nearest groove?""",
        answer=Number(out, "mm", places=2),
        slips={
            "the groove farther off: That is to the groove on one side. Another is nearer.": [
                about(lead - out),
                lambda read: about(out - lead)(read),
            ],
            "in leads: That is a part of a lead. How long is it?": [about(out / lead), about(1 - out / lead)],
            "with a sign: The size is right. Only how far is asked: leave the sign out.": -out,
            """not taken off: So far have the grooves moved on. Take off as many whole leads as there are in
            it.""": about(travel),
            """counted in leads: So many leads go by. Take off the whole ones: how long, in mm, is the way to the
            nearest?""": lambda read: about(travel / lead)(read),
            """one leadscrew thread: That is after a single leadscrew thread. In a turn of the dial as many go by as its
            gear has teeth.""": about(abs(rule.out_mm(1))),
        },
        hints="""How many millimetres are that many leadscrew threads?
            How many whole leads are in that, and how much is left over?
            If more than half a lead is left over, the next groove is nearer.""",
        solution=lambda: (
            f"{teeth} leadscrew threads are {writing.length(travel)}.",
            f"That is {writing.decimal(travel / lead, 3)} leads of {writing.length(lead)}, nearest to {near} of them.",
            rule.when,
            f"So the tool is **{writing.decimal(out, 4)} mm** out.",
        ),
        right="That far beside the first it would cut a second groove. With this dial gear keep the half-nuts closed.",
    )


@poses("on-to-the-next-start", lesson=8, goal=3, title="On to the next start", any_lathe=True)
def on_to_the_next_start(draw: Draw, lathe: Lathe | None = None) -> Task:
    starts, mounted = draw.choice((2, 3, 4)), drawn_setup(draw, lathe or bench("metric"), 2)
    first, on_whose = mounted.first_driver_turns, "" if lathe is None else f"on {whose(lathe).lower()} "
    (a, c), (b, d) = (tuple(map(plain, side)) for side in (mounted.train.drivers, mounted.train.driven))
    teeth, upside_down = first * Fraction(c * a, b * starts), first * Fraction(c * b, a * starts)
    draw.only_if(teeth.denominator == 1, "has no gears with which the next start is a whole number of teeth away")
    turns_so = (
        f"turns {first} times while the spindle turns once" if first != 1 else "turns with the spindle, turn for turn"
    )
    return Task(
        question=f"""A thread with **{starts} starts** is cut {on_whose}with the train
            **{Train((a, c), (b, d))}**; the first driver {turns_so}. One start is done. You open the mesh at
            the **second driver** and turn the spindle on by 1/{starts} of a turn. How many teeth of the second driver
            go past before you close the mesh again?""",
        answer=Number(teeth, "teeth"),
        slips={
            """first mesh forgotten: So it would be if the second driver turned with the spindle. How far does it turn
            while the spindle turns once?""": about(Fraction(c, starts)),
            "first mesh upside down: The first mesh turns the second driver by driver over driven.": about(upside_down),
            "a whole turn: That goes past in a whole turn of the spindle.": about(teeth * starts),
            """the first driver: So many go past at the first driver. The second one's mesh is
            open.""": about(first * Fraction(a, starts)),
            "second mesh counted: The second mesh is open: what comes after it stands still.": about(teeth * c / d),
            f"first driver overlooked: {FIRST_DRIVER}": about(teeth / first) if first != 1 else None,
        },
        hints=f"""While the spindle turns once, how far does the first driven gear turn, and the second driver with it?
            Of that, 1/{starts}. Times the teeth of the second driver.""",
        solution=lambda: (
            f"The second driver makes {writing.ratio(first * Fraction(a, b))} turns for one turn of the spindle.",
            f"{c} · {writing.ratio(first * Fraction(a, b))} / {starts} = {teeth}.",
            index_starts(mounted.lathe, mounted, starts),
            f"So **{teeth}** teeth.",
        ),
        right="A whole number, so the mesh closes again there. Mark the teeth before you open it.",
        apart=lathe is None,
    )
