"""Which gear is missing: the train's equation solved for one gear, and why a whole gear serves or doesn't."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import islice
from math import pi

import sympy
from attrs import evolve, frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_teeth, is_several
from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple, RelativeError, as_fraction
from gearcalc.basics.markup import Written
from gearcalc.deriving.formulas import Quantity, Step, Worked, over, product
from gearcalc.deriving.quantities import (
    feed_drive,
    feed_wanted,
    lead_of_leadscrew,
    lead_wanted,
    levers_of,
    teeth_of,
    thread_in_words,
)
from gearcalc.finding.setups import assemble
from gearcalc.lathes import Lathe, Lever, as_lathe
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.readings import check_ends, refusals
from gearcalc.lathes.trains import ORDINALS, Gears, Train
from gearcalc.threads import Feed, Thread, WantedLike
from gearcalc.threads.wanted import Wanted, as_wanted

Teeth = Sequence[int | None]


@frozen(kw_only=True)
class SolvedGear(Worked):
    """The gear that is missing; made by solve_for_gear().

    `exact`: the teeth that the equation asks for: a Fraction, or a sympy number where π is in it.
    `teeth`: the same as a whole number if that is a gear, owned or not, else None. `owned`: the set has it to spare.
    `nearest`: the whole number of teeth that comes closest, None when no gear is near, and `nearest_ppm` its error, a
    float. `why`: all that in words. `steps`: the working, each step with `.words`, `.eq`, `.text` and `.latex`.
    """

    exact: Fraction | sympy.Expr
    teeth: int | None
    owned: bool
    nearest: int | None
    nearest_ppm: float | None

    @property
    def why(self) -> str:
        """Why this gear serves, or why no whole gear does."""
        return self.closing


@frozen
class _Gap:
    """A train with one gear missing: which it is, and the train that any gear there would make."""

    drivers: tuple[int | None, ...]
    driven: tuple[int | None, ...]

    @property
    def side(self) -> str:
        return "driver" if None in self.drivers else "driven"

    @property
    def place(self) -> int:
        return (self.drivers if self.side == "driver" else self.driven).index(None)

    @property
    def words(self) -> str:
        return f"{ORDINALS[self.place]} {self.side}"

    @property
    def known(self) -> tuple[int, ...]:
        return tuple(teeth for teeth in (*self.drivers, *self.driven) if teeth is not None)

    def filled(self, teeth: int) -> Train:
        return Train(*(tuple(teeth if gear is None else gear for gear in side) for side in (self.drivers, self.driven)))

    def __str__(self) -> str:
        over, under = (
            " · ".join("?" if teeth is None else str(teeth) for teeth in side) for side in (self.drivers, self.driven)
        )
        return f"({over})/({under})" if len(self.drivers) > 1 else f"{over}/{under}"


@frozen
class _Question:
    """What is wanted, of which lathe, with the lever where, from which gears."""

    lathe: Lathe
    wanted: Wanted
    lever: Lever | None
    gap: _Gap

    def miss(self, teeth: int) -> RelativeError:
        """How far off it is with a gear of so many teeth in the gap."""
        error = assemble(self.lathe, self.gap.filled(teeth), self.lever, self.wanted).error
        assert error is not None  # something is wanted
        return error

    def closest(self, candidates: Sequence[int]) -> int | None:
        return min(candidates, key=lambda teeth: (self.miss(teeth), teeth), default=None)

    @property
    def free(self) -> Gears:
        """The gears of the set that are not in the train yet, and can stand in the gap."""
        gear_set = self.lathe.gear_set
        if gear_set.anything_goes:
            return gear_set.left_over(self.gap.known)
        counts = sorted(set(map(plain, gear_set.pieces)))
        return tuple([teeth for teeth in counts if next(refusals(gear_set, self.gap.filled(teeth)), None) is None])


def solve_for_gear(
    lathe: Lathe, wanted: WantedLike, drivers: Teeth, driven: Teeth, lever: str | None = None
) -> SolvedGear:
    """Find the gear that is missing from a train.

    >>> import gearcalc as gc
    >>> solved = solve_for_gear(gc.demo_lathe("inch"), "32 tpi", drivers=(40, None), driven=(80, 60), lever="middle")
    >>> solved.exact, solved.teeth
    (Fraction(30, 1), 30)
    >>> print(solved.why)
    A gear of 30 teeth cuts it exactly, and the set has one to spare.
    >>> print(solved.steps[-1])
    Solve for the second driver:
        second driver = (train · first driven · second driven)/first driver
          = ((1/4) · 80 · 60)/40 = 30

    `lathe`: a Lathe. `wanted`: a Thread or a Feed, or the text of one. `drivers`, `driven`: tooth counts in mesh order
    from the spindle side, 1 to 6 meshes, exactly one of them None; idlers are left out, since they never change the
    ratio. `lever` as for setup().
    Raises ValueOutOfRangeError unless exactly one gear is missing, GearNotOwnedError for a given gear that is not
    owned, NotPossibleError for another first driver or last driven gear than the fixed one, UnknownNameError for a
    lever that isn't there, ThreadTextError.
    Where π is in what is wanted no whole gear is ever exact, since π is irrational (J. H. Lambert, 1761).
    """
    lathe = as_lathe(lathe)
    question = _Question(lathe, as_wanted(wanted), lathe.lever(lever), _gap(drivers, driven))
    lathe.gear_set.check(question.gap.known)
    check_ends(lathe.gear_set, question.gap.drivers[0], question.gap.driven[-1])
    *before, needed = _ratio_needed(question)
    equation = _equation(question.gap, needed.found)
    solution = _solution(question.gap, equation, needed.found)
    exact = solution.result
    with_pi = bool(exact.has(sympy.pi))
    either_side = int(sympy.floor(exact)), int(sympy.ceiling(exact))
    nearest = question.closest([teeth for teeth in either_side if _is_gear(teeth)])
    teeth = nearest if not with_pi and nearest == exact else None
    return SolvedGear(
        title=f"The {question.gap.words} in {question.gap} for {question.wanted}"
        + (f", {question.lever.said}" if question.lever is not None else ""),
        steps=(*before, needed, equation, solution),
        closing=_verdict(question, exact, teeth, nearest),
        exact=exact if with_pi else as_fraction(exact),
        teeth=teeth,
        owned=teeth in question.free,
        nearest=nearest,
        nearest_ppm=None if nearest is None else question.miss(nearest).ppm,
    )


def _gap(drivers: Teeth, driven: Teeth) -> _Gap:
    sides = [tuple(islice(side, 7)) if is_several(side) else (side,) for side in (drivers, driven)]
    missing = sum(teeth is None for side in sides for teeth in side)
    if missing != 1:
        raise ValueOutOfRangeError(
            "exactly one of the gears must be None, the one to solve for",
            value=f"{missing} of them",
            remedy="Write it like drivers=(40, None), driven=(80, 60).",
        )
    gap = _Gap(*sides)
    gap.filled(40)  # any gear will do: this checks the others, and how many there are
    return gap


def _ratio_needed(question: _Question) -> tuple[Step, ...]:
    """What the train must make of one turn; before it, for a feed, the lead that the feed asks of the half-nuts."""
    lathe, wanted = question.lathe, question.wanted
    lead, screw = lead_wanted(lathe, wanted), lead_of_leadscrew(lathe)
    divisors = [screw]
    if lathe.spindle_ratio != 1:
        divisors.append(Quantity("r", "spindle side", "spindle side", lathe.spindle_ratio))
    divisors += [*levers_of(question.lever, "spindle"), *levers_of(question.lever, "leadscrew")]
    formula = over(lead.symbol, product(*(divisor.symbol for divisor in divisors)))
    start = f"What is wanted is {thread_in_words(wanted)}. " if isinstance(wanted, Thread) else ""
    others = " × ".join(divisor.words for divisor in divisors)
    words = f"{start}What comes out is the {others} × train, so divide the lead wanted by all but the train:"
    target = Quantity("r", "train", "train")
    return (*_lead_for_feed(lathe, wanted, lead), Step(words, target, formula, (lead, *divisors)))


def _lead_for_feed(lathe: Lathe, wanted: Wanted, lead: Quantity) -> tuple[Step, ...]:
    if not isinstance(wanted, Feed):
        return ()
    feed, drive = feed_wanted(wanted), feed_drive(lathe, wanted)
    words = f"What is wanted is {wanted}. The feed drive makes {drive.number} of the lead by the half-nuts, so that is:"
    target = evolve(lead, value=None)
    return (Step(words, target, over(feed.symbol, drive.symbol), (feed, drive), unit="mm"),)


def _equation(gap: _Gap, ratio: Quantity) -> Step:
    sides = [
        tuple(teeth_of(side, place, teeth) for place, teeth in enumerate(counts))
        for side, counts in (("driver", gap.drivers), ("driven", gap.driven))
    ]
    formula = over(*(product(*(gear.symbol for gear in side)) for side in sides))
    words = f"The train is drivers over driven, and the {gap.words} is not known yet:"
    return Step(words, ratio, formula, (*sides[0], *sides[1]), ends=(ratio.number,))


def _solution(gap: _Gap, equation: Step, ratio: Quantity) -> Step:
    unknown = teeth_of(gap.side, gap.place, None)
    if gap.side == "driver":
        formula = ratio.symbol / (equation.formula / unknown.symbol)
    else:
        formula = (equation.formula * unknown.symbol) / ratio.symbol
    known = (ratio, *(gear for gear in equation.known if gear.value is not None))
    step = Step(f"Solve for the {gap.words}:", unknown, formula, known)
    return evolve(step, ends=_number_of_teeth(step.result))


def _number_of_teeth(exact: sympy.Expr) -> tuple[Written, ...]:
    if exact.is_Rational:
        teeth = as_fraction(exact)
        return writing.ratio(teeth), writing.rounded(teeth, 3)  # said once where they say the same
    times_pi = exact / sympy.pi
    if times_pi.is_Rational:
        number = PiMultiple(as_fraction(times_pi))
        return writing.number(number), writing.rounded(number, 3)
    by_pi = as_fraction(exact * sympy.pi)
    shown = Written(
        f"({by_pi})/π" if by_pi.denominator > 1 else f"{by_pi}/π", rf"\frac{{{by_pi}}}{{\pi}}", f"{by_pi}/π"
    )
    return shown, writing.rounded(float(by_pi) / pi, 3)


def _is_gear(teeth: int) -> bool:
    try:
        as_teeth(teeth)
    except GearcalcError:
        return False
    return True


def _verdict(question: _Question, exact: sympy.Expr, teeth: int | None, nearest: int | None) -> str:
    if nearest is None:
        few_or_many = "few" if exact < 10 else "many"
        works_out = f"It works out at {_in_words(exact)} teeth"
        return f"{works_out}, too {few_or_many} to be a gear: change one of the other gears."
    if teeth in question.free:
        return f"A gear of {teeth} teeth cuts it exactly, and the set has one to spare."
    if teeth is not None:
        return f"A gear of {teeth} teeth cuts it exactly, but {_not_to_spare(question, teeth)}.{_next_best(question)}"
    why = "a gear has whole teeth only"
    if exact.has(sympy.pi):
        why = "no whole number of teeth is ever exact here, because π is irrational (J. H. Lambert, 1761)"
    nearest_gives = f"The nearest, {nearest}, gives {_miss(question, nearest)}"
    words = f"It would need {_in_words(exact)} teeth, and {why}. {nearest_gives}"
    if nearest in question.free:
        return f"{words}."
    return f"{words}, but {_not_to_spare(question, nearest)}.{_next_best(question)}"


def _in_words(exact: sympy.Expr) -> str:
    if exact.is_Rational:
        return writing.mixed(as_fraction(exact))
    return " ".join(part.text for part in _number_of_teeth(exact))


def _not_to_spare(question: _Question, teeth: int) -> str:
    owned = question.lathe.gear_set.count(teeth)
    if not question.lathe.gear_set.anything_goes:
        return next(refusals(question.lathe.gear_set, question.gap.filled(teeth))).problem
    if not owned:
        return "the set has none"
    which = {1: "the only one is", 2: "both are"}.get(owned, f"all {owned} are")
    return f"{which} in the train already"


def _next_best(question: _Question) -> str:
    best = question.closest(question.free)
    return "" if best is None else f" The nearest that the set has to spare, {best}, gives {_miss(question, best)}."


def _miss(question: _Question, teeth: int) -> str:
    miss = question.miss(teeth)
    return "no error" if miss.is_exact else f"an error of {writing.error(miss)}"
