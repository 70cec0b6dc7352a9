"""Dial gears against a lead: which lines of each bring a groove back, and which gear serves best."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import Exact, PiMultiple, pi_bounds
from gearcalc.lathes import DialGear

_PI_DIGITS = 60


@frozen
class DialGearChoice:
    """A dial gear and what it does for a lead.

    `step`: every step-th line serves, None where none can be relied on; `closing`: the half-nuts close at every
    so many-th line (1 unless lines fall between two teeth); `out_mm`: how far the tool is out of its groove when the
    line that was first used comes round again, to the nearer side.

    >>> weigh_gears([DialGear(24, 8)], Fraction(127, 45), Fraction(127, 30))[0].serving  # 9 tpi on a 6 tpi leadscrew
    (1, 3, 5, 7)
    """

    teeth: int
    lines: int
    step: int | None
    out_mm: Fraction

    @property
    def serves(self) -> bool:
        return self.step is not None

    @property
    def serving(self) -> tuple[int, ...]:
        """The lines that serve, numbered from 1, the line at which the half-nuts first closed."""
        return () if self.step is None else tuple(range(1, self.lines + 1, self.step))

    @property
    def closing(self) -> int:
        return Fraction(self.teeth, self.lines).denominator

    @property
    def wait(self) -> Fraction | None:
        """Leadscrew threads from one line that serves to the next."""
        return None if self.step is None else Fraction(self.step * self.teeth, self.lines)

    def threads_at(self, line: int, rounds: int = 0) -> Fraction:
        """Leadscrew threads that have gone by when this line stands at the mark, so many turns of the dial later.

        >>> weigh_gears([DialGear(16, 8)], Fraction(1), Fraction(3))[0].threads_at(3, rounds=1)
        Fraction(20, 1)
        """
        return Fraction((line - 1) * self.teeth, self.lines) + rounds * self.teeth

    @property
    def in_words(self) -> str:
        """Which lines serve, or how far out it brings the tool."""
        if self.step is None:
            return f"no: after one turn of the dial the tool is {off_in_words(self.out_mm)} out"
        if self.lines == 1:
            return "its one line"
        if self.step == self.closing:
            return "any line"
        if self.step == self.lines:
            return "only the line first used"
        return f"every {ordinal(self.step)} line"


def ordinal(count: int) -> str:
    """2nd, 3rd, 4th ...

    >>> ordinal(2), ordinal(13), ordinal(21)
    ('2nd', '13th', '21st')
    """
    ending = "th" if count % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(count % 10, "th")
    return f"{count}{ending}"


def weigh_gears(gears: Iterable[DialGear], lead: Exact, leadscrew: Fraction) -> tuple[DialGearChoice, ...]:
    """Each dial gear weighed for a lead, mm, on a leadscrew, mm.

    >>> [choice.step for choice in weigh_gears([DialGear(14, 7), DialGear(15, 5)], Fraction(5, 4), Fraction(3))]
    [None, 5]

    Line j has come to the mark after j·G/lines leadscrew threads, and again each G threads later; all of those must be
    multiples of p. So p has to divide G, and the step is the least j: what is below the line of G/(lines·p).
    """
    return tuple(_weighed(gear, lead, leadscrew) for gear in gears)


def _weighed(gear: DialGear, lead: Exact, leadscrew: Fraction) -> DialGearChoice:
    step = None
    if not isinstance(lead, PiMultiple):
        returning = (lead / leadscrew).numerator
        if gear.teeth % returning == 0:
            step = Fraction(gear.teeth, gear.lines * returning).denominator
    return DialGearChoice(gear.teeth, gear.lines, step, out_of_groove(lead, leadscrew, gear.teeth))


def best_gear(gears: Iterable[DialGearChoice]) -> DialGearChoice | None:
    """The gear that serves with the least step, then the one whose lines come round soonest, then the first.

    >>> best_gear(weigh_gears([DialGear(14, 7), DialGear(16, 4)], Fraction(2), Fraction(3))).teeth
    14
    """
    serving = [gear for gear in gears if gear.serves]
    return min(serving, key=lambda gear: (gear.step, gear.wait), default=None)


def out_of_groove(lead: Exact, leadscrew: Fraction, threads: int) -> Fraction:
    """How far the tool hangs back behind the nearest groove, mm, after so many leadscrew threads have gone by.

    >>> out_of_groove(Fraction(5, 4), Fraction(3), 1)  # 3 mm is two leads of 1.25 mm and 0.5 mm
    Fraction(1, 2)

    Over −half to half a lead, negative where the tool runs ahead; 0 is in the groove. Exact, unless π is in the lead:
    then right to 50 digits.
    """
    in_millimetres = lead.coefficient * pi_bounds(_PI_DIGITS)[0] if isinstance(lead, PiMultiple) else lead
    behind = threads * leadscrew % in_millimetres
    return behind - in_millimetres if 2 * behind > in_millimetres else behind


def off_in_words(out_mm: Fraction) -> str:
    """A distance from the groove, whichever way; never called nothing unless it is.

    >>> off_in_words(Fraction(-1, 2)), off_in_words(Fraction(1, 3)), off_in_words(Fraction(1, 10**5))
    ('0.5 mm', '≈ 0.333 mm', 'less than 0.001 mm')
    """
    if 0 < abs(out_mm) < Fraction(1, 2000):
        return "less than 0.001 mm"
    exact = (out_mm * 1000).denominator == 1
    return f"{'' if exact else '≈ '}{writing.decimal(abs(out_mm), 3)} mm"
