"""Exercises for lesson 12, your own lathe: module, leadscrew and lever by measuring, its file, gaps, a gear to add."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import NamedTuple

from gearcalc.basics.exact import INCH_MM, Exact, as_fraction
from gearcalc.basics.writing import decimal, ends, grouped, listed, ratio
from gearcalc.finding.additions import gears_to_add
from gearcalc.lathes import Lathe
from gearcalc.learning.exercises.answers import Choice, Slip, about, told_apart
from gearcalc.learning.exercises.any_lathe import whose
from gearcalc.learning.exercises.benches import lead_of, leadscrew_of, plain_lathe, said
from gearcalc.learning.exercises.gear_answers import GearForAll, in_a_row
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number, ThreadCut
from gearcalc.learning.exercises.tasks import Draw, Task, poses

_MODULES = tuple(Fraction(step) for step in ("1", "1.125", "1.25", "1.375", "1.5", "1.75", "2", "2.25", "2.5"))
"""ISO 54, both series, from memory: a gear whose two teeth are forgotten comes out at another of these steps."""
_STEPS = f"{listed(map(decimal, _MODULES))} mm"
_PI = Fraction(355, 113)


@poses("module-of-a-gear", lesson=12, goal=1, title="Which module is it?")
def module_of_a_gear(draw: Draw) -> Task:
    module = draw.evenly(_MODULES[1:-2])
    teeth, worn = draw.choice(range(18, 44, 2)), Fraction(draw.choice((1, 2)), 20)
    over_tips = module * (teeth + 2) - worn
    summed, forgotten, taken_away = (over_tips / count for count in (teeth + 2, teeth, teeth - 2))
    draw.only_if(_step(summed) == module not in (_step(forgotten), _step(taken_away)))
    return Task(
        question=f"""A change gear with **{teeth} teeth** measures **{decimal(over_tips)} mm** over the tips, with a
            calliper across two teeth that stand opposite. Tips are often a little short. Modules are made in steps,
            seldom ones among them: {_STEPS}. Which module is it?""",
        answer=Number(module, "mm"),
        slips={
            """two teeth forgotten: That is diameter over teeth. The tips stand one module beyond the pitch circle, on
            both sides: as if the gear had two teeth more.""": _that_or_its_step(forgotten),
            """two teeth taken away: The tips stand outside the pitch circle, not inside. So two teeth are added, not
            taken away.""": _that_or_its_step(taken_away),
            """upside down: That is teeth for each millimetre. The module is millimetres of diameter for each
            tooth.""": about((teeth + 2) / over_tips),
            """the circular pitch: That is how far it is from tooth to tooth along the circle. The module has no π in
            it.""": about(module * _PI),
            "no step taken: So the sum comes out. Now take the nearest of the steps.": about(summed),
        },
        hints="""Diameter over the tips = module × (teeth + 2).
            Divide the diameter by the teeth and two more, then look for the nearest step.""",
        solution=f"""{decimal(over_tips)} / ({teeth} + 2) = {decimal(over_tips / (teeth + 2))}.
            The nearest step is **{decimal(module)}**.""",
        right="Measure a second gear with another number of teeth: the same module must come out.",
    )


def _step(found: Fraction) -> Fraction:
    return min(_MODULES, key=lambda step: abs(step - found))


def _that_or_its_step(found: Fraction) -> Callable[[Exact], bool]:
    return lambda read: about(found)(read) or read == _step(found)


_LEADSCREWS = ("4 tpi", "5 tpi", "6 tpi", "8 tpi", "10 tpi", "12 tpi", "2 mm", "3 mm", "4 mm", "5 mm", "6 mm")
_WHOLE_LEADS = [INCH_MM / tpi for tpi in range(3, 25)] + [Fraction(mm) for mm in range(1, 13)]
_RULE_MM = Fraction(1, 4)
"""How good the rule is, and how finely it is read."""


@poses("leadscrew-from-its-travel", lesson=12, goal=1, title="Which leadscrew is it?")
def leadscrew_from_its_travel(draw: Draw) -> Task:
    named = draw.evenly(_LEADSCREWS)
    lead, number = lead_of(named), Fraction(named.split()[0])
    other_unit = number if named.endswith("tpi") else INCH_MM / number
    turns = draw.choice((10, 12, 14, 15, 16, 18, 20))
    travel = (round(lead * turns / _RULE_MM) + draw.choice((-1, 0, 1))) * _RULE_MM
    measured = travel / turns
    possible = [one for one in _WHOLE_LEADS if abs(one - measured) * turns <= _RULE_MM]
    draw.only_if(possible == [lead] and abs(lead - measured) > Fraction(1, 100))
    answer = ThreadCut(lead, names_unit=True)

    def too_far_off(read: Exact) -> str:
        would_move = f"With that one {turns} turns would move the carriage {decimal(read * turns, 2)} mm."
        return f"{would_move} The rule is better than that."

    def as_measured(read: Exact) -> bool:
        """What was measured, whole or rounded; but 3.18 mm, nearer to 8 tpi, is 8 tpi rounded."""
        nearer = abs(as_fraction(float(read)) - measured) < abs(as_fraction(float(read)) - lead)
        return answer.same(read, measured) or (nearer and answer.rounded(read, measured))

    return Task(
        question=f"""With the half-nuts closed, the lathe isolated and its drive in neutral, the leadscrew is turned by
            hand, **{turns} turns** on from where all play was taken up. By a steel rule, good to a quarter of a
            millimetre, the carriage moves **{decimal(travel)} mm**. The maker took a whole number of threads per inch,
            or of millimetres. Which leadscrew is it?""",
        answer=answer,
        slips={
            """upside down: That is turns for each millimetre. The lead is millimetres for each
            turn.""": about(1 / measured),
            f"all turns at once: The carriage moves so far in all {turns} turns. What is it in one?": about(travel),
            "the other unit: The number is right, the unit is not.": about(other_unit),
            "another leadscrew": (lambda read: read in _WHOLE_LEADS, too_far_off),
            """as measured: That is what was measured, or that rounded, and no measurement is exact. Which whole number
            of threads per inch, or of millimetres, comes nearest?""": as_measured,
        },
        hints="""Divide the travel by the turns: the lead in millimetres, nearly.
            Is it near a whole number of millimetres? If not, divide 25.4 by it: threads per inch.""",
        solution=f"""{decimal(travel)} mm / {turns} = {decimal(measured)} mm.
            25.4 over that is {decimal(INCH_MM / measured, 2)}.
            So it is **{named}**.""",
        right="More turns tell more: the rule's quarter of a millimetre is shared out among all of them.",
    )


_LEVER_RATIOS = tuple(Fraction(text) for text in ("1/4", "1/3", "1/2", "2/3", "3/2", "2", "3"))
_PAIRS = ((40, 80), (30, 60), (40, 60), (60, 40), (80, 40), (50, 40), (40, 50), (20, 60))


@poses("ratio-of-a-lever", lesson=12, goal=1, title="What does the lever do?")
def ratio_of_a_lever(draw: Draw) -> Task:
    lever = draw.evenly(_LEVER_RATIOS)
    named, pair = draw.choice(("3 mm", "4 mm", "6 mm", "8 tpi", "4 tpi")), draw.choice(_PAIRS)
    turns, train, lead = draw.choice((6, 8, 10, 12, 16, 18, 20, 24)), Fraction(*pair), lead_of(named)
    cut = lead * train * lever
    travel = cut * turns
    draw.only_if(ends(travel, 2))
    return Task(
        question=f"""A lathe has {leadscrew_of(plain_lathe(named, pair))}. Its first driver turns as often as the
            spindle. Driver **{pair[0]}** and driven **{pair[1]}** are mounted, and the lever of the gearbox stands at a
            mark without a number. Isolated, the spindle drive in neutral and turned by hand, **{turns} turns** of the
            spindle move the carriage by **{decimal(travel)} mm**. How many turns does the leadscrew make for one turn
            of the driven gear? Write it as the lathe file wants it: as a fraction, never rounded.""",
        answer=Number(lever, "turns"),
        slips={
            "upside down: That is the other way round: turns of the gear for one of the leadscrew.": about(1 / lever),
            """gears forgotten: That is from spindle to leadscrew. The pair of gears is in there
            too.""": about(lever * train),
            "gears upside down: The pair turns the driven gear by driver over driven.": about(lever * train * train),
            "leadscrew forgotten: How far would the carriage go in one turn of the leadscrew?": about(cut / train),
            "the lead that is cut: That is the lead that it cuts with this train.": about(cut),
        },
        hints="""First the lead that is cut: travel over turns of the spindle.
            Lead cut = leadscrew × drivers over driven × lever.
            Solve for the lever: divide the lead cut by the leadscrew and by the ratio of the gears.""",
        solution=f"""Lead cut: {decimal(travel)} / {turns} = {decimal(cut)} mm.
            Leadscrew × gears: {decimal(lead)} × {pair[0]}/{pair[1]} = {decimal(lead * train)} mm.
            The first over the second: **{ratio(lever)}**.""",
        right="That is the lever's ratio in the lathe file, in quotes there.",
        apart=True,
    )


@poses("worst-lead-in-a-gap", lesson=12, goal=3, title="How wide is the gap?")
def worst_lead_in_a_gap(draw: Draw) -> Task:
    low = Fraction(draw.randrange(80, 300), 100)
    high = low + Fraction(max(round(low * draw.choice((2, 3, 4, 5, 6))), 2), 100)
    share, half = (high - low) / (high + low), (high - low) / 2
    error = share * 10**6
    return Task(
        question=f"""With a small set of gears a lathe cuts a lead of **{decimal(low)} mm** and one of
            **{decimal(high)} mm**, and nothing between. A lead somewhere between them is wanted, and the nearer of the
            two is cut instead. By how many ppm of the lead wanted can that be off, at worst?""",
        answer=Number(error, "ppm", places=-1),
        slips={
            """the whole gap: That is from one neighbour to the other. The lead that is worst off stands in the middle,
            so only half of it counts.""": about(2 * error),
            """a share of the lower: Half the gap is right, but it is to be a share of the lead wanted, not of the lower
            neighbour.""": about((high - low) / low / 2 * 10**6),
            """a share of the upper: Half the gap is right, but it is to be a share of the lead wanted, not of the upper
            neighbour.""": about((high - low) / high / 2 * 10**6),
            "in per cent: That looks like per cent. 1 % is 10 000 ppm.": about(share * 100),
            """a share for ppm: That is the share itself. How many millionths is it? 1 ppm is one of
            them.""": about(share) if told_apart(share, half) else None,
            """in millimetres: So many millimetres it can be off. Which share of the lead is
            that?""": about(half),
        },
        hints="""Which lead between them is as far from the one as from the other?
            The error is half the gap, over the lead in the middle.""",
        solution=f"""Worst off is ({decimal(low)} + {decimal(high)}) / 2 = {decimal((low + high) / 2)} mm.
            It is half the gap off, {decimal((high - low) / 2)} mm.
            {decimal((high - low) / 2)} / {decimal((low + high) / 2)} × 1 000 000 =
            **{grouped(decimal(error, 1))} ppm**.""",
        right="Every gap of a gear set can be judged like this, so no sampling is needed to know the worst.",
    )


_BOXES = ((20, 30, 40, 50, 60, 80), (20, 25, 30, 40, 50, 60), (24, 30, 40, 48, 60, 80))
_WISHES = {
    7: (
        ("8 tpi", "7 tpi", "14 tpi"), ("8 tpi", "14 tpi", "28 tpi"), ("4 tpi", "7 tpi", "14 tpi"),
        ("3 mm", "0.7 mm", "1.75 mm"), ("3 mm", "1.75 mm", "3.5 mm"), ("4 mm", "0.7 mm", "1.75 mm"),
        ("4 mm", "1.4 mm", "3.5 mm"),
    ),
    11: (("8 tpi", "11 tpi", "22 tpi"), ("6 tpi", "11 tpi", "22 tpi"), ("10 tpi", "11 tpi", "22 tpi")),
    13: (("8 tpi", "13 tpi", "26 tpi"), ("6 tpi", "13 tpi", "26 tpi"), ("10 tpi", "13 tpi", "26 tpi")),
    19: (("8 tpi", "19 tpi", "38 tpi"), ("6 tpi", "19 tpi", "38 tpi"), ("10 tpi", "19 tpi", "38 tpi")),
    127: (
        ("8 tpi", "1 mm", "1.25 mm"), ("8 tpi", "0.8 mm", "1.5 mm"), ("8 tpi", "0.75 mm", "2 mm"),
        ("4 tpi", "1 mm", "1.5 mm"), ("4 tpi", "2 mm", "2.5 mm"),
    ),
}  # fmt: skip
"""The prime that a box lacks -> leadscrews, and two threads for each that have it in their ratios."""


@poses("one-gear-for-both", lesson=12, goal=3, title="One gear for both")
def one_gear_for_both(draw: Draw) -> Task:
    lacking = draw.evenly(sorted(_WISHES))
    (named, *wishes), box = draw.choice(_WISHES[lacking]), draw.choice(_BOXES)
    answer = GearForAll({text: lead_of(text) / lead_of(named) for text in wishes}, box)
    multiples = [teeth for teeth in range(lacking, answer.most + 1, lacking) if teeth >= answer.fewest]
    draw.only_if(any(map(answer.is_right, multiples[:2])))  # nobody is to try many
    lathe = plain_lathe(named, box)

    def worked() -> Iterator[str]:
        ratios = (f"{ratio(value)} for {text}" for text, value in answer.value.items())
        plan = gears_to_add(lathe, wishes, within_ppm=0, most=1, candidates=range(answer.fewest, answer.most + 1))
        yield f"The ratios are {' and '.join(ratios)}."
        yield f"The prime {lacking} stands in both, and in no gear of the box."
        for cuts in filter(None, plan.setups):
            yield f"With {plan.gears[0]} more, {cuts.train} cuts {cuts.wanted}."
        yield f"So it can be **{plan.gears[0]}**."

    return Task(
        question=f"""A lathe has {leadscrew_of(lathe)} and no gearbox, with the gears {in_a_row(box)}.
            You want to cut **{wishes[0]}** and **{wishes[1]}**, both exactly, each with one pair of gears or two.
            Which **one** gear would you add? Any that serves is right.""",
        answer=answer,
        slips={
            f"""no partner: The prime {lacking} is in it, as it must be. What is in it beside {lacking} wants a partner,
            and the box has none. Try another multiple.""": lambda read: (
                read in multiples and len(list(answer.left_over(read))) == len(wishes)
            )
        },
        hints="""Write both ratios, thread over leadscrew, in lowest terms. Leads in millimetres: an inch is 127/5 mm.
            Look for a prime that stands in both ratios and in no gear of the box.
            The gear must be a multiple of that prime, and the other gears must make up the rest of the ratio.""",
        solution=worked,
        right="Gears that open several threads at once are the ones worth their money.",
    )


class _Entry(NamedTuple):
    """What was measured, the line of the lathe file that follows from it, the one that doesn't, and why."""

    kind: str
    measured: str
    line: str
    misprint: str
    why: str
    check: str


@poses("line-that-does-not-follow", lesson=12, goal=2, title="Which line is wrong?", any_lathe=True)
def line_that_does_not_follow(draw: Draw, lathe: Lathe | None = None) -> Task:
    entries = list(_entries_drawn(draw) if lathe is None else filter(None, _entries_of(draw, lathe)))
    few = "has fewer than three measures in its file that can be asked about"
    draw.needs(len(entries) >= _FEWEST_ROWS, f"{few}{_not_said(lathe) if lathe is not None else ''}")
    wrong, *others = draw.sample(entries, len(entries))
    row = draw.evenly(range(len(entries)))
    shuffled = [*others[:row], wrong, *others[row:]]
    number = {entry.kind: str(place) for place, entry in enumerate(shuffled, 1)}
    rows = [(n, one.measured, one.misprint if one is wrong else one.line) for n, one in enumerate(shuffled, 1)]
    whose_file = "a lathe" if lathe is None else whose(lathe).lower()
    return Task(
        question=f"""Somebody measured {whose_file} and wrote its file. Each row says what was measured, and the line of
            the file that was made of it. **One line does not follow.** In which row?""",
        table=Table("Measured, and written down", "Row | Measured | In the file", rows),
        answer=Choice(number[wrong.kind], tuple(number.values()), {n: (f"row {n}",) for n in number.values()}),
        slips=tuple(Slip(f"the {entry.kind} suspected", number[entry.kind], entry.check) for entry in others),
        hints="""Ask of each line what it counts: turns of what, for one turn of what? Which way is across?
            Work each line out from its measurement. Radius or diameter, inches or millimetres, over or under?""",
        solution=lambda: (wrong.why, f"The line should be: {wrong.line}", f"It is row **{number[wrong.kind]}**."),
        right=f"{wrong.why} A file that loads without a complaint can still be untrue: measure twice.",
    )


_FEWEST_ROWS = 3
_SPINDLE_SIDES = Fraction(1, 2), Fraction(2), Fraction(2, 3), Fraction(3, 2)
_LEVERS = Fraction(1, 2), Fraction(1, 4), Fraction(2), Fraction(1, 3)


def _entries_drawn(draw: Draw) -> tuple[_Entry, ...]:
    """What somebody may measure on a lathe made up for the question."""
    place = draw.choice(range(1, len(_MODULES) - 1))
    return (
        _leadscrew(draw.choice(("4 tpi", "5 tpi", "8 tpi", "10 tpi", "2 mm", "3 mm", "4 mm", "6 mm"))),
        _gear(_MODULES[place], draw.choice((30, 40, 50, 60, 80)), _MODULES[place + draw.choice((-1, 1))]),
        _spindle_side(draw.choice(_SPINDLE_SIDES)),
        _lever(draw.choice(_LEVERS)),
        _place(draw.choice((45, 50, 55, 60)), draw.choice((85, 90, 94, 100))),
        _shaft(Fraction(draw.choice((12, 14, 16, 18)), 2)),
    )


def _entries_of(draw: Draw, lathe: Lathe) -> Iterator[_Entry | None]:
    """What can be measured on this one; None where that tells nothing, as of a ratio that is 1 either way."""
    screw, bracket, module = said(lathe.leadscrew_lead_mm), lathe.bracket, lathe.gear_set.module_mm
    yield _leadscrew(screw) if "≈" not in screw else None
    if module and module >= _LEAST_MODULE_MM and (even := [teeth for teeth in lathe.gear_set.counts if teeth % 2 == 0]):
        written = Fraction(decimal(module, 3))
        yield _gear(written, draw.choice(even), written * Fraction(draw.choice((4, 6)), 5))
    yield _spindle_side(lathe.spindle_ratio) if _plain(lathe.spindle_ratio) else None
    levers = [_lever(each.ratio) for each in lathe.gearbox if _plain(each.ratio)]
    levers += [_one_lever(each.ratio) for lever in lathe.box for each in lever.positions if _plain(each.ratio)]
    yield draw.choice(levers) if levers else None
    if bracket:
        across, up = (round(at) for at in bracket.spindle_side_at_mm)
        yield _place(across, up) if abs(across) != abs(up) else None
        yield _shaft(Fraction(decimal(bracket.shaft_radius_mm, 1)))


def _not_said(lathe: Lathe) -> str:
    """What a file could say besides, each good for a row or two."""
    said_so = {"module_mm under [gears]": lathe.gear_set.module_mm, "[bracket]": lathe.bracket}
    lacking = [key for key, value in said_so.items() if not value]
    return f" ({' and '.join(lacking)} would give more)" if lacking else ""


_LEAST_MODULE_MM = Fraction(1, 2)


def _plain(turns: Fraction) -> bool:
    """Whether it can be counted, and is another one upside down."""
    return turns != 1 and max(turns.numerator, turns.denominator) <= 12


def _leadscrew(named: str) -> _Entry:
    number, unit = named.rsplit(" ", 1)
    other = f"{number} {'mm' if unit == 'tpi' else 'tpi'}"
    travel, lead = decimal(20 * lead_of(named)), decimal(lead_of(named))
    return _Entry(
        "leadscrew",
        f"the leadscrew turned 20 times, half-nuts closed: the carriage moves {travel} mm",
        f'leadscrew.lead = "{named}"',
        f'leadscrew.lead = "{other}"',
        f"{travel} mm over 20 is {lead} mm a turn: that is {named}, not {other}.",
        "That row is right. Travel over turns is the lead; 25.4 over that are threads per inch.",
    )


def _gear(module: Fraction, teeth: int, other: Fraction) -> _Entry:
    over_tips = decimal(module * (teeth + 2))
    return _Entry(
        "module",
        f"a gear of {teeth} teeth: {over_tips} mm over the tips",
        f"gears.module_mm = {decimal(module)}",
        f"gears.module_mm = {decimal(other)}",
        f"{over_tips} mm over {teeth} + 2 is a module of {decimal(module)}, not {decimal(other)}.",
        "That row is right. Diameter over the tips = module × (teeth + 2).",
    )


def _spindle_side(turns: Fraction) -> _Entry:
    return _turned(turns, 12, "spindle side", "the spindle", "the first driver", "spindle_side.ratio")


def _lever(turns: Fraction) -> _Entry:
    return _turned(turns, 24, "lever", "the last driven gear", "the leadscrew", "gearbox ratio")


def _one_lever(turns: Fraction) -> _Entry:
    """One of several: its ratio is turns out for one turn in, wherever it stands."""
    return _turned(turns, 24, "lever", "the shaft before one of the levers", "the shaft after it", "lever position")


def _turned(turns: Fraction, at_least: int, kind: str, one: str, other: str, key: str) -> _Entry:
    counted = next(count for count in range(at_least, 999) if (count * turns).denominator == 1)
    found = decimal(counted * turns)
    return _Entry(
        kind,
        f"{one} turned {counted} times: {other} turns {found} times",
        f'{key} = "{turns}"',
        f'{key} = "{1 / turns}"',
        f"It is turns of {other} for one turn of {one}: {found} over {counted} is {turns}, not {1 / turns}.",
        f"That row is right. It is turns of {other} for one turn of {one}.",
    )


def _place(across: int, up: int) -> _Entry:
    sideways = f"{abs(across)} mm to the {'left' if across < 0 else 'right'}"
    upwards = f"{abs(up)} mm {'down' if up < 0 else 'up'}"
    minus = " To the left and down are minus." if min(across, up) < 0 else ""
    return _Entry(
        "place of the spindle side",
        f"from the pivot to the first driver, seen from the gear side: {sideways}, {upwards}",
        f"bracket.spindle_side_at_mm = [{across}, {up}]",
        f"bracket.spindle_side_at_mm = [{up}, {across}]",
        f"Across comes first, then up: {across}, {up}.",
        f"That row is right. Across comes first, then up, from the axis of the last driven gear.{minus}",
    )


def _shaft(radius: Fraction) -> _Entry:
    half, across = decimal(radius), decimal(2 * radius)
    return _Entry(
        "shaft",
        f"the shaft beside the last gear: {across} mm across",
        f"bracket.shaft_radius_mm = {half}",
        f"bracket.shaft_radius_mm = {across}",
        f"{across} mm across is a radius of {half} mm.",
        "That row is right. A radius is half of what a calliper measures across.",
    )
