"""Why a train cuts the lead that it cuts: from one turn of the spindle to the travel of the carriage, step by step."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise

import sympy
from attrs import evolve, frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM, PiMultiple, RelativeError, as_fraction, is_inch
from gearcalc.basics.markup import Written
from gearcalc.deriving.formulas import Quantity, Step, Worked, over, product, total
from gearcalc.finding.setups import Setup, as_setup
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.directions import OTHER_HAND
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.lathes.parts import LeverAt
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.threads import Feed, Thread
from gearcalc.threads.wanted import Wanted

_PLACES = 9
"""Leads that go into an error are decimals up to here, so that a small difference shows; beyond it, fractions."""


@frozen(kw_only=True)
class Derivation(Worked):
    """The steps from one turn of the spindle to the travel of the carriage; made by derive().

    `steps`: each with `.words`, `.eq` (sympy), `.text` and `.latex`; `lead`: mm, an exact sympy number.
    """

    lead: sympy.Expr


def derive(setup: Setup) -> Derivation:
    """Derive why these gears cut that lead, step by step from one turn of the spindle.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> derivation = derive(gc.setup(lathe, drivers=(40,), driven=(80,), lever="low"))
    >>> derivation.lead
    127/160
    >>> print(derivation.steps[1])
    The mesh: one turn of the first driver moves 40 teeth past, so the first driven, which
    has 80 teeth, makes 40/80 of a turn.
        train = first driver/first driven = 40/80 = 1/2

    `setup`: from setup() or find_setups(); it knows its lathe. Raises ValueOutOfRangeError for what is no setup.
    Formula: lead = leadscrew lead × spindle-side ratio × (product of drivers ÷ product of driven) × lever ratio.
    """
    lathe = as_setup(setup).lathe
    lever = lathe.lever(setup.lever)
    start = _one_turn(lathe, lever)
    meshes = [_mesh(setup.train, place) for place in range(setup.train.meshes)]
    train = [_whole_train(setup.train, meshes)] if setup.train.meshes > 1 else []
    turns = _leadscrew_turns(start.found, (train or meshes)[-1].found, lever)
    travel = _travel(turns.found, lathe, setup.starts)
    cut = travel.found
    return Derivation(
        title=f"{setup.gears_and_lever}: from one turn of the spindle to the lead that is cut",
        steps=(
            start,
            *meshes,
            *train,
            turns,
            travel,
            *_against_wanted(cut, setup.wanted, lathe),
            _direction(setup, lever),
        ),
        lead=travel.result,
    )


def teeth_of(side: str, place: int, teeth: int | None) -> Quantity:
    """The teeth of a gear named by what it does: `side` 'driver' or 'driven', `place` counted from 0."""
    return Quantity("z", f"{side} {place + 1}", f"{ORDINALS[place]} {side}", None if teeth is None else Fraction(teeth))


def lead_of_leadscrew(lathe: Lathe) -> Quantity:
    """The leadscrew's lead in mm; for an inch screw spelled 25.4 over its threads per inch.

    >>> from gearcalc.lathes import demo_lathe
    >>> screw = lead_of_leadscrew(demo_lathe("inch"))
    >>> print(screw.spelled, "=", screw.number)
    25.4/8 = 127/40
    """
    lead = lathe.leadscrew.lead
    if not is_inch(lead):
        return Quantity("L", "leadscrew", "lead of the leadscrew", lead, writing.number(lead))
    return Quantity("L", "leadscrew", "lead of the leadscrew", lead, writing.ratio(lead), _inches_spelled(lead))


def lead_wanted(lathe: Lathe, wanted: Wanted) -> Quantity:
    """The lead by the half-nuts that gives what is wanted."""
    lead = lead_to_cut(lathe, wanted)
    return Quantity("L", "wanted", "lead wanted", lead, writing.number(lead, _PLACES))


def feed_wanted(wanted: Feed) -> Quantity:
    """The travel that is wanted in one turn of the spindle."""
    return Quantity("f", "wanted", "feed wanted", wanted.travel_mm, writing.number(wanted.travel_mm, _PLACES))


def feed_drive(lathe: Lathe, wanted: Feed) -> Quantity:
    """What the feed drive makes of the lead by the half-nuts."""
    ratio = wanted.travel_mm / as_fraction(lead_to_cut(lathe, wanted))
    return Quantity("r", "feed drive", "feed drive", ratio)


def levers_of(lever: Lever | None, side: str) -> tuple[Quantity, ...]:
    """What each lever on this side of the change gears, 'spindle' or 'leadscrew', makes of the turns, as a factor.

    >>> from gearcalc.lathes import demo_lathe
    >>> [(factor.words, factor.value) for factor in levers_of(demo_lathe("inch").lever("low"), "leadscrew")]
    [('lever', Fraction(1, 2))]
    """
    stands = lever.stands if lever else ()
    return tuple(
        Quantity("r", _place_of(stand, number), stand.called, stand.ratio)
        for number, stand in enumerate(stands, 1)
        if stand.side == side
    )


def _place_of(stand: LeverAt, number: int) -> str:
    """What a lever's symbol has below it: its name, or its number where two names might come to one symbol."""
    return stand.called if re.fullmatch(r"lever( [^\W_]+)*", stand.called) else f"lever no. {number}"


def _one_turn(lathe: Lathe, lever: Lever | None) -> Step:
    known: tuple[Quantity, ...] = (Quantity("n", "spindle", "turns of the spindle", Fraction(1)),)
    ratio, how = lathe.spindle_ratio, "The first driver turns once with it."
    if ratio != 1:
        known += (Quantity("r", "spindle side", "spindle side", ratio),)
        how = f"The gears between it and the first driver give the first driver {writing.turns(ratio)}."
    ahead = levers_of(lever, "spindle")
    if ahead:
        gears = f"The gears on the spindle side make {writing.turns(ratio)} of it. " if ratio != 1 else ""
        how = f"{gears}Ahead of the first driver {_each_gives(lever, 'spindle')}."
        known += ahead
    target = Quantity("n", "driver 1", "turns of the first driver")
    return Step(f"Turn the spindle once. {how}", target, product(*(each.symbol for each in known)), known)


def _mesh(train: Train, place: int) -> Step:
    driver, driven = train.drivers[place], train.driven[place]
    chain = (teeth_of("driver", place, driver), *_idlers(train.idlers[place]), teeth_of("driven", place, driven))
    formula = product(*(over(one.symbol, other.symbol) for one, other in pairwise(chain)))
    alone = train.meshes == 1
    target = Quantity("r", "train" if alone else f"mesh {place + 1}", "train" if alone else f"{ORDINALS[place]} mesh")
    cancelled = (writing.train((driver,), (driven,)),) if train.idlers[place] else ()
    return Step(_mesh_in_words(train, place), target, formula, chain, via=cancelled)


def _idlers(counts: tuple[int, ...]) -> list[Quantity]:
    if len(counts) == 1:
        return [Quantity("z", "idler", "idler", Fraction(counts[0]))]
    return [
        Quantity("z", f"idler {number}", f"idler {number}", Fraction(teeth)) for number, teeth in enumerate(counts, 1)
    ]


def _mesh_in_words(train: Train, place: int) -> str:
    here, before = ORDINALS[place], ORDINALS[place - 1]
    driver, driven, idlers = train.drivers[place], train.driven[place], train.idlers[place]
    words = "The mesh: " if train.meshes == 1 else f"{here.capitalize()} mesh: "
    if place:
        words += f"the {here} driver is keyed on one stud with the {before} driven, so the two turn together. "
    words += (
        f"{'One' if place else 'one'} turn of the {here} driver moves {driver} teeth past, so the {here} driven, "
        f"which has {driven} teeth, makes {driver}/{driven} of a turn."
    )
    if len(idlers) == 1:
        words += (
            f" The idler between them, {idlers[0]} teeth, passes on just as many teeth as it takes in, so it cancels: "
            "it changes the reach and the direction, never the ratio."
        )
    elif idlers:
        words += (
            f" The idlers between them, {writing.listed(idlers)} teeth, pass on just as many teeth as they take "
            "in, so they "
            "cancel: they change the reach and the direction, never the ratio."
        )
    return words


def _whole_train(train: Train, meshes: list[Step]) -> Step:
    ratios = tuple(
        evolve(mesh.found, shown=writing.train((driver,), (driven,)))
        for mesh, driver, driven in zip(meshes, train.drivers, train.driven, strict=True)
    )
    formula = product(*(ratio.symbol for ratio in ratios))
    words = "The whole train: each mesh passes on its share of a turn, so multiply them, drivers over driven."
    written = writing.train(train.drivers, train.driven)
    return Step(words, Quantity("r", "train", "train"), formula, ratios, via=(written,))


def _leadscrew_turns(start: Quantity, train: Quantity, lever: Lever | None) -> Step:
    words = "The leadscrew: the last driven gear turns it."
    levers, stands = levers_of(lever, "leadscrew"), _stands(lever, "leadscrew")
    if len(stands) == 1:
        words = (
            f"The leadscrew: for each turn of the last driven gear the {stands[0].called} in position {stands[0].at} "
            f"gives it {writing.turns(stands[0].ratio)}."
        )
    elif stands:
        words = f"The leadscrew: behind the last driven gear {_each_gives(lever, 'leadscrew')}."
    factors = [start, train, *levers]
    target = Quantity("n", "leadscrew", "turns of the leadscrew")
    return Step(words, target, product(*(factor.symbol for factor in factors)), tuple(factors))


def _stands(lever: Lever | None, side: str) -> list[LeverAt]:
    return [stand for stand in (lever.stands if lever else ()) if stand.side == side]


def _each_gives(lever: Lever | None, side: str) -> str:
    """What levers on one side make of a turn that comes to them, in words."""
    each = [f"the {stand.called} at {stand.at} gives {writing.turns(stand.ratio)}" for stand in _stands(lever, side)]
    return f"{writing.listed(each)}, for each turn that comes to it{', and they multiply' * (len(each) > 1)}"


def _travel(turns: Quantity, lathe: Lathe, starts: int) -> Step:
    screw = lead_of_leadscrew(lathe)
    words = "The carriage: in each turn of the leadscrew the half-nuts carry it along by the leadscrew's lead"
    if screw.spelled is not None:
        words += f", here {_inches_in_words(lathe.leadscrew.lead)}"
    words += ". What it travels while the spindle turns once is the lead that is cut."
    cut = as_fraction(turns.value) * lathe.leadscrew.lead
    in_fractions = screw.spelled is not None or not writing.ends(cut, 6)
    shown = writing.ratio(cut) + Written(" mm", r"\,\mathrm{mm}", " mm")
    both = writing.lead(cut, starts)
    ends = (shown, both) if in_fractions else (both,)
    target = Quantity("L", "cut", "lead cut", shown=writing.number(cut, _PLACES))
    return Step(words, target, product(turns.symbol, screw.symbol), (turns, screw), ends=ends, unit="mm")


def _against_wanted(cut: Quantity, wanted: Wanted | None, lathe: Lathe) -> list[Step]:
    """The feed drive's part, if a feed is wanted, and how far off what is cut is from what is wanted."""
    if wanted is None:
        return []
    if isinstance(wanted, Feed):
        drive = _through_feed_drive(cut, wanted, lathe)
        return [drive, _error(drive.found, feed_wanted(wanted), f"What is wanted is {wanted}.")]
    return [_error(cut, lead_wanted(lathe, wanted), f"What is wanted is {thread_in_words(wanted)}.")]


def _through_feed_drive(cut: Quantity, wanted: Feed, lathe: Lathe) -> Step:
    drive = feed_drive(lathe, wanted)
    ratio = as_fraction(drive.value)
    slide = "cross slide" if wanted.along == "cross" else "carriage"
    words = f"The feed: the {slide} goes as far as the half-nuts give."
    if ratio != 1:
        far = f"{writing.ratio(ratio)} of what the half-nuts would give"
        words = f"The feed: through the feed drive the {slide} goes {far}."
    travel = as_fraction(cut.value) * ratio
    target = Quantity("f", "cut", "feed", shown=writing.number(travel, _PLACES))
    ends = (writing.length(travel),)
    return Step(words, target, product(cut.symbol, drive.symbol), (cut, drive), ends=ends, unit="mm")


def _error(cut: Quantity, want: Quantity, words: str) -> Step:
    miss = RelativeError(as_fraction(cut.value), want.value or Fraction(0))
    target = Quantity("e", "", "error")
    formula = over(total(cut.symbol, product(sympy.Integer(-1), want.symbol)), want.symbol)
    if miss.is_exact:
        words += " What is cut is just that."
        return Step(words, target, formula, (cut, want))
    long_or_short = "long" if miss.ppm > 0 else "short"
    words += f" What is cut is too {long_or_short}, by so many millionths (ppm) of it:"
    exact = () if miss.exact is None else (writing.ratio(miss.exact),)
    return Step(words, target, formula, (cut, want), ends=(*exact, _ppm(miss)))


def _ppm(miss: RelativeError) -> Written:
    shown = writing.error(miss)
    in_full = None if miss.exact is None else f"{writing.signed(miss.exact * 10**6, 12)} ppm"
    if shown.text == in_full or "less" in shown.text:
        return shown
    return Written("≈ ", r"\approx ", "≈ ") + shown


def _direction(setup: Setup, lever: Lever | None) -> Step:
    train = setup.train
    touching = train.meshes + train.idler_count
    counts = [Quantity("k", "teeth touch", "teeth touch", Fraction(touching))]
    if not setup.lathe.spindle_side.same_way:
        counts.append(Quantity("k", "spindle side", "spindle side", Fraction(1)))
    for number, stand in enumerate(lever.stands if lever else (), 1):
        if not stand.same_way:
            named = (_place_of(stand, number), stand.called) if stand.lever else ("gearbox", "gearbox")
            counts.append(Quantity("k", *named, Fraction(1)))
    rounds = sum(int(as_fraction(count.value)) for count in counts)
    others = [f"the {count.words}" for count in counts[1:]]
    also = f", and so {'does' if len(others) == 1 else 'do'} {writing.listed(others)}" if others else ""
    words = (
        f"Which way: every place where teeth touch turns the motion round{also}. "
        f"{rounds} is {'even' if rounds % 2 == 0 else 'odd'}, so the leadscrew turns "
        f"{'the same way as the spindle' if rounds % 2 == 0 else 'the opposite way to the spindle'}. "
        f"{_hand_in_words(setup)}"
    )
    formula = total(*(count.symbol for count in counts))
    return Step(words, Quantity("k", "turned round", "turned round"), formula, tuple(counts))


def _hand_in_words(setup: Setup) -> str:
    natural, reverse = setup.natural_hand, setup.reverse_fitted
    lever = setup.lever_the_other_way and f"the {setup.lever_the_other_way}"
    other = OTHER_HAND[natural]
    if isinstance(setup.wanted, Feed):
        return _way_of_the_feed(setup.wanted, natural, reverse, lever)
    cuts = f"With a {setup.lathe.leadscrew.hand}-hand leadscrew that cuts a {natural}-hand thread"
    if setup.wanted is None:
        how = "the reverse, put over," if reverse else f"there is no reverse, but {lever or 'an idler more or less'}"
        return f"{cuts}; {how} makes it {other}-hand."
    if setup.wanted.hand == natural:
        return f"{cuts}, as wanted{': leave the reverse as the lathe file describes it' if reverse else ''}."
    if reverse:
        return f"{cuts}; for the {other}-hand thread that is wanted, put the reverse over."
    how = lever or "an idler more, or one less, in a mesh"
    return f"{cuts}; a {other}-hand one is wanted, and the lathe has no reverse, so put {how}."


def _way_of_the_feed(wanted: Feed, natural: str, reverse: bool, lever: str | None) -> str:
    if wanted.along == "cross":
        return "Which way the cross slide then goes is up to the feed drive: see it with the tool clear."
    put_right = ""
    if natural == "left":
        how = "put the reverse over" if reverse else f"put {lever or 'an idler more, or one less, in a mesh'}"
        put_right = f"; to feed toward it, {how}"
    toward = "toward" if natural == "right" else "away from"
    return (
        f"By the half-nuts that moves the carriage {toward} the headstock while the spindle runs forward{put_right}. "
        "A feed drive may turn it round once more: see which way it goes with the tool clear."
    )


def _inches_spelled(lead: Fraction) -> Written:
    count, of = (lead / INCH_MM).as_integer_ratio()
    top = "25.4" if count == 1 else f"{count} · 25.4"
    latex = top.replace("·", r"\cdot")
    if of == 1:
        return Written(top, latex, top)
    text = f"{top}/{of}" if count == 1 else f"({top})/{of}"
    return Written(text, rf"\frac{{{latex}}}{{{of}}}", text)


def _inches_in_words(lead: Fraction) -> str:
    inches = lead / INCH_MM
    if inches.denominator == 1:
        return f"{inches} inch, at 25.4 mm an inch"
    return (
        f"{inches} of an inch, at 25.4 mm an inch"
        if inches < 1
        else f"{writing.mixed(inches)} inch, at 25.4 mm an inch"
    )


def thread_in_words(thread: Thread) -> str:
    """The thread and how its lead comes about.

    >>> thread_in_words(Thread.parse("16 tpi"))
    '16 tpi, a lead of 25.4/16 mm = 1.5875 mm'
    """
    pitch, lead = thread.pitch, thread.lead
    stages = []
    if thread.starts > 1:
        stages.append(f"{thread.starts} starts × {writing.number(pitch)} mm")
    if isinstance(lead, PiMultiple):
        stages.append(f"{writing.number(lead)} mm")
    elif is_inch(lead):
        stages.append(f"{_inches_spelled(lead)} mm")
    return f"{thread}, a lead of {' = '.join((*stages, str(writing.length(lead)))).replace('= ≈', '≈')}"
