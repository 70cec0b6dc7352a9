"""Why a train cuts the lead that it cuts: from one turn of the spindle to the travel of the carriage, step by step."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import sympy
from attrs import evolve, field, frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import MILLION, RelativeError, as_fraction
from gearcalc.basics.markup import Written
from gearcalc.deriving.formulas import Quantity, Step, Worked, in_lines, letters_of, over, product, titled, total
from gearcalc.deriving.in_short import Line, lines_of
from gearcalc.deriving.quantities import (
    PLACES,
    feed_drive,
    feed_wanted,
    hand_in_words,
    inches_in_words,
    lead_of_leadscrew,
    lead_wanted,
    levers_of,
    teeth_of,
    thread_in_words,
    turned_round,
    way_in_words,
)
from gearcalc.finding.setups import Setup, as_setup
from gearcalc.lathes import Lathe, Lever
from gearcalc.lathes.parts import LeverAt
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.threads import Feed
from gearcalc.threads.wanted import Wanted


@frozen(kw_only=True)
class Derivation:
    """Why these gears cut that lead, shown in five lines at most; made by derive().

    `title`: of which gears; `lines`: what is shown, each with `.name` and `.says`; `long`: all steps, one at a time,
    from one turn of the spindle to the travel of the carriage; `steps`: those steps, each with `.words`, `.eq` (sympy),
    `.text` and `.latex`; `lead`: mm, an exact sympy number.
    """

    title: str
    lines: tuple[Line, ...]
    long: Worked = field(repr=False)
    lead: sympy.Expr
    steps: tuple[Step, ...] = field(init=False, repr=False)

    @steps.default
    def _all_of_them(self) -> tuple[Step, ...]:
        return self.long.steps

    @property
    def legend(self) -> dict[str, str]:
        """The letters that occur in the lines, and what they stand for."""
        return letters_of(line.says for line in self.lines if isinstance(line.says, Step))

    @property
    def text(self) -> str:
        """The lines in plain text."""
        return "\n".join((self.title, "", *map(str, self.lines)))

    @property
    def latex(self) -> str:
        """The lines as one block of LaTeX (maths mode, no dollars)."""
        between = r" \\[6pt] "
        lines = between.join(row for line in self.lines for row in line.rows)
        return (
            rf"\begin{{array}}{{l}}{between.join(in_lines(self.title))}{between}"
            rf"\begin{{array}}{{ll}}{lines}\end{{array}}\end{{array}}"
        )

    def __str__(self) -> str:
        return self.text

    def _repr_latex_(self) -> str:
        return f"$${self.latex}$$"

    def _repr_html_(self) -> str:
        lines = "".join(line._repr_html_() for line in self.lines)
        return (
            f"<div>{titled(self.title, self.legend)}"
            '<dl style="display:grid;grid-template-columns:max-content minmax(0,1fr);gap:0.4em 1em;'
            f'align-items:baseline;max-width:48em">{lines}</dl>'
            f"<details><summary>All steps, one at a time</summary>{self.long._repr_html_()}</details></div>"
        )


def derive(setup: Setup) -> Derivation:
    """Derive why these gears cut that lead: five lines at most, and all steps in `.long`.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> derivation = derive(gc.setup(lathe, drivers=(40,), driven=(80,), lever="low"))
    >>> derivation.lead
    127/160
    >>> print(derivation)
    40/80, lever low: from one turn of the spindle to the lead that is cut
    <BLANKLINE>
    Ratio  train = driver/driven = 40/80 = 1/2
    Lever  turns of the leadscrew = train × lever = 1/2 × 1/2 = 1/4
    Lead   lead cut = turns of the leadscrew × lead of the leadscrew
             = 1/4 × 25.4/8 mm = 127/160 mm = 0.79375 mm (32 tpi)
    Way    Teeth touch in 1 place, and turn the motion round there. 1 is odd, so the
           leadscrew turns the opposite way to the spindle. With a right-hand leadscrew
           that cuts a left-hand thread; the reverse, put over, makes it right-hand.
    >>> print(derivation.long.steps[1])
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
    turns = _leadscrew_turns(start.found, [*meshes, *train][-1].found, lever)
    travel = _travel(turns.found, lathe, setup.starts)
    drive = [_through_feed_drive(travel.found, setup.wanted, lathe)] if isinstance(setup.wanted, Feed) else []
    cut = [travel, *drive][-1]
    error = [_off_by(cut.found, setup.wanted, lathe)] if setup.wanted is not None else []
    title = f"{setup.gears_and_lever}: from one turn of the spindle to the lead that is cut"
    steps = (start, *meshes, *train, turns, travel, *drive, *error, _direction(setup, lever))
    return Derivation(
        title=title, lines=lines_of(setup, lever, cut, error), long=Worked(title=title, steps=steps), lead=travel.result
    )


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
    names = ["idler"] if len(counts) == 1 else [f"idler {number}" for number in range(1, len(counts) + 1)]
    return [Quantity("z", name, name, Fraction(teeth)) for name, teeth in zip(names, counts, strict=True)]


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
        words += f", here {inches_in_words(lathe.leadscrew.lead)}"
    words += ". What it travels while the spindle turns once is the lead that is cut."
    cut = as_fraction(turns.value) * lathe.leadscrew.lead
    in_fractions = screw.spelled is not None or not writing.ends(cut, 6)
    shown = writing.ratio(cut) + Written(" mm", r"\,\mathrm{mm}", " mm")
    both = writing.lead(cut, starts)
    ends = (shown, both) if in_fractions else (both,)
    target = Quantity("L", "cut", "lead cut", shown=writing.number(cut, PLACES))
    return Step(words, target, product(turns.symbol, screw.symbol), (turns, screw), ends=ends, unit="mm")


def _off_by(cut: Quantity, wanted: Wanted, lathe: Lathe) -> Step:
    """How far off what is cut is from what is wanted."""
    if isinstance(wanted, Feed):
        return _error(cut, feed_wanted(wanted), f"What is wanted is {wanted}.")
    return _error(cut, lead_wanted(lathe, wanted), f"What is wanted is {thread_in_words(wanted)}.")


def _through_feed_drive(cut: Quantity, wanted: Feed, lathe: Lathe) -> Step:
    drive = feed_drive(lathe, wanted)
    ratio = as_fraction(drive.value)
    slide = "cross slide" if wanted.along == "cross" else "carriage"
    words = f"The feed: the {slide} goes as far as the half-nuts give."
    if ratio != 1:
        far = f"{writing.ratio(ratio)} of what the half-nuts would give"
        words = f"The feed: through the feed drive the {slide} goes {far}."
    travel = as_fraction(cut.value) * ratio
    target = Quantity("f", "cut", "feed", shown=writing.number(travel, PLACES))
    ends = (writing.length(travel),)
    return Step(words, target, product(cut.symbol, drive.symbol), (cut, drive), ends=ends, unit="mm")


def _error(cut: Quantity, want: Quantity, words: str) -> Step:
    assert want.value is not None
    miss = RelativeError(as_fraction(cut.value), want.value)
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
    said = shown.text.removesuffix(" ppm").replace(writing.THIN, "").replace(writing.MINUS, "-")
    if "less" in said or (miss.exact is not None and Fraction(said) == miss.exact * MILLION):
        return shown
    return Written("≈ ", r"\approx ", "≈ ") + shown


def _direction(setup: Setup, lever: Lever | None) -> Step:
    counts = turned_round(setup, lever)
    rounds = sum(int(as_fraction(count.value)) for count in counts)
    others = [f"the {count.words}" for count in counts[1:]]
    also = f", and so {'does' if len(others) == 1 else 'do'} {writing.listed(others)}" if others else ""
    words = (
        f"Which way: every place where teeth touch turns the motion round{also}. {way_in_words(rounds)}. "
        f"{hand_in_words(setup)}"
    )
    formula = total(*(count.symbol for count in counts))
    return Step(words, Quantity("k", "turned round", "turned round"), formula, counts)
