"""Line by line round a dial: where does the tool land when the half-nuts close there?"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.cutting.dial_gears import DialGearChoice, off_in_words

if TYPE_CHECKING:
    from gearcalc.cutting.dial_rules import DialRule

SERVES, THIS_TIME, ANOTHER_START = "serves", "serves this time only", "another start"
MISSES, NO_CLOSING = "misses", "does not close"


@frozen
class DialLine:
    """A line of the dial when it stands at the mark, and what closing the half-nuts there does.

    `number`: of the line; `threads`: leadscrew threads gone by since the first closing; `kind`: 'serves', 'serves this
    time only' (and not when it comes round again), 'another start' (the groove of another start), 'misses', or 'does
    not close' (it stands between two threads); `out_mm`: how far the tool hangs back behind its groove, mm;
    0 where they don't close.
    """

    number: int
    threads: Fraction
    kind: str
    out_mm: Fraction

    @property
    def in_words(self) -> str:
        """What closing there does, in a few words."""
        return {
            SERVES: "in the groove",
            THIS_TIME: "in the groove this time, not the next",
            ANOTHER_START: "in another start's place",
            MISSES: f"{off_in_words(self.out_mm)} out",
            NO_CLOSING: "the half-nuts don't close",
        }[self.kind]


def dial_gear(rule: DialRule, teeth: int | None = None) -> DialGearChoice:
    """The dial gear of so many teeth; the chosen one for None, or the first where none serves.

    >>> import gearcalc as gc
    >>> dial_gear(gc.dial(gc.demo_lathe("metric"), "1.25 mm")).teeth
    15

    Raises ValueOutOfRangeError when the lathe has none, or no such one.
    """
    if not rule.gears:
        raise ValueOutOfRangeError(
            "the lathe file has no dial", remedy="Add [dial] with gears = [{ teeth = 16, lines = 8 }] if it has one."
        )
    if teeth is None:
        return rule.chosen or rule.gears[0]
    for gear in rule.gears:
        if gear.teeth == teeth:
            return gear
    there = ", ".join(str(gear.teeth) for gear in rule.gears)
    raise ValueOutOfRangeError(f"the dial gears have {there} teeth", value=teeth)


def dial_lines(rule: DialRule, gear: DialGearChoice) -> tuple[DialLine, ...]:
    """Every line of the dial, in the order in which they come to the mark after the first closing at line 1.

    >>> import gearcalc as gc
    >>> rule = gc.dial(gc.demo_lathe("inch"), "10 tpi")
    >>> [(line.number, line.in_words) for line in dial_lines(rule, rule.chosen)][:3]
    [(2, '1.27 mm out'), (3, 'in the groove'), (4, '1.27 mm out')]

    Line 1 comes last, after a whole turn of the dial.
    """
    return tuple(_line(rule, gear, place) for place in range(1, gear.lines + 1))


def _line(rule: DialRule, gear: DialGearChoice, place: int) -> DialLine:
    number, threads = place % gear.lines + 1, gear.threads_at(place + 1)
    if threads.denominator != 1:
        return DialLine(number, threads, NO_CLOSING, Fraction(0))
    kind = landing(rule, int(threads))
    if kind == SERVES and not gear.serves:
        kind = THIS_TIME
    return DialLine(number, threads, kind, rule.out_mm(int(threads)))


def landing(rule: DialRule, threads: int) -> str:
    """'serves', 'another start' or 'misses': where the tool lands so many leadscrew threads after the first closing.

    >>> import gearcalc as gc
    >>> landing(gc.dial(gc.demo_lathe("metric"), "lead 6 mm 2 starts"), 3)
    'another start'
    """
    if rule.catches(threads):
        return SERVES
    return ANOTHER_START if rule.catches_another_start(threads) else MISSES
