"""A derivation in five lines: ratio, lever, lead, error, and which way the leadscrew turns."""

from __future__ import annotations

import html
import textwrap
from fractions import Fraction
from functools import reduce
from math import prod

from attrs import evolve, frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import as_fraction
from gearcalc.basics.markup import Written, in_html
from gearcalc.deriving.formulas import LINE, Quantity, Step, in_lines, over, product
from gearcalc.deriving.quantities import (
    feed_drive,
    hand_in_words,
    lead_of_leadscrew,
    levers_of,
    thread_in_words,
    turned_round,
    way_in_words,
)
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lever
from gearcalc.threads import Feed, Thread
from gearcalc.threads.wanted import Wanted

_NAME = 7
"""So many letters wide is a line's name in plain text, the gap behind it counted."""
_BESIDE_A_NAME = 46
"""So many signs of a sum stand beside the name of its line on a page, else a bar to scroll by would."""


@frozen
class Line:
    """One line: what it is of, and what there is to say of it, a sum or a sentence.

    >>> print(Line("Ratio", "It is 1/2."))
    Ratio  It is 1/2.
    """

    name: str
    says: str | Step

    def __str__(self) -> str:
        says = self.says.equation_text if isinstance(self.says, Step) else textwrap.fill(self.says, LINE)
        return f"{self.name:<{_NAME}}" + textwrap.indent(says, " " * _NAME).lstrip()

    @property
    def rows(self) -> list[str]:
        """Rows of LaTeX, each a name, or nothing, and what stands beside it."""
        says = self.says
        beside = [rf"\displaystyle {says.latex}"] if isinstance(says, Step) else in_lines(says)
        names = (rf"\text{{{self.name}}}", *[r"{}"] * len(beside))
        return [f"{name} & {part}" for name, part in zip(names, beside, strict=False)]

    def _repr_html_(self) -> str:
        says = self.says
        sum_or_words = (
            rf"\(\displaystyle {html.escape(says.latex_within(_BESIDE_A_NAME))}\)"
            if isinstance(says, Step)
            else f"<span>{in_html(says)}</span>"
        )
        return (
            f'<dt style="font-weight:bold;margin:0">{self.name}</dt>'
            f'<dd style="margin:0;min-width:0;overflow-x:auto;overflow-y:hidden">{sum_or_words}</dd>'
        )


def lines_of(setup: Setup, lever: Lever | None, cut: Step, errors: list[Step]) -> tuple[Line, ...]:
    """The lines for a setup: three at least, five at most.

    `cut`, `errors`: the long derivation's steps for the lead or feed that is cut, and for how far off it is, if known.
    """
    ratio = _ratio(setup)
    turns = _turns(setup, lever, ratio.found)
    is_feed = isinstance(setup.wanted, Feed)
    return (
        Line("Ratio", ratio),
        *([Line("Lever" if lever else "Turns", turns)] if turns else []),
        Line("Feed" if is_feed else "Lead", _cut(setup, (turns or ratio).found, cut)),
        *(Line("Error", _error(setup.wanted, error)) for error in errors),
        Line("Way", _way(setup, lever)),
    )


def _ratio(setup: Setup) -> Step:
    train = setup.train
    drivers, driven = (
        Quantity("", name, name, Fraction(prod(teeth)), _multiplied(teeth))
        for name, teeth in (("drivers" if train.meshes > 1 else "driver", train.drivers), ("driven", train.driven))
    )
    return Step("", Quantity("r", "train", "train"), over(drivers.symbol, driven.symbol), (drivers, driven))


def _multiplied(teeth: tuple[int, ...]) -> Written:
    one, *others = (writing.ratio(Fraction(count)) for count in teeth)
    return reduce(lambda before, other: before + Written(" · ", r" \cdot ", " · ") + other, others, one)


def _turns(setup: Setup, lever: Lever | None, train: Quantity) -> Step | None:
    """What levers and the spindle side make of the train's ratio; None where they change nothing."""
    ratio = setup.lathe.spindle_ratio
    spindle_side = [Quantity("r", "spindle side", "spindle side", ratio)] if ratio != 1 else []
    factors = (*spindle_side, *levers_of(lever, "spindle"), train, *levers_of(lever, "leadscrew"))
    if len(factors) == 1:
        return None
    target = Quantity("n", "leadscrew", "turns of the leadscrew")
    return Step("", target, product(*(factor.symbol for factor in factors)), factors)


def _cut(setup: Setup, turns: Quantity, cut: Step) -> Step:
    """The lead that is cut, or, where a feed is wanted, the feed."""
    screw = lead_of_leadscrew(setup.lathe)
    known: tuple[Quantity, ...] = (turns, evolve(screw, shown=screw.spelled or screw.shown, spelled=None))
    if isinstance(setup.wanted, Feed):
        known += (feed_drive(setup.lathe, setup.wanted),)
    return evolve(cut, words="", formula=product(*(each.symbol for each in known)), known=known)


def _error(wanted: Wanted | None, error: Step) -> str | Step:
    if error.result != 0:
        return error
    said = thread_in_words(wanted) if isinstance(wanted, Thread) else str(wanted)
    return f"None: what is wanted is {said}."


def _way(setup: Setup, lever: Lever | None) -> str:
    touching, *others = turned_round(setup, lever)
    places = int(as_fraction(touching.value))
    also = f", and {writing.listed(f'the {count.words}' for count in others)} once more" if others else ""
    each = " each" if len(others) > 1 else ""
    words = f"Teeth touch in {writing.counted(places, 'place')}, and turn the motion round there{also}{each}."
    return f"{words} {way_in_words(places + len(others))}. {hand_in_words(setup)}"
