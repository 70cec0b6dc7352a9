"""The gears of a thread-chasing dial, weighed for a lead: which lines serve, and what the lines are called."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import Exact, PiMultiple, pi_bounds
from gearcalc.basics.writing import Units
from gearcalc.lathes import DialGear

_PI_DIGITS = 60


@frozen
class DialGearChoice:
    """A dial gear and what it does for a lead.

    `teeth`, `lines`: of the gear, and on its dial; `step`: every step-th line serves, None where none can be relied on;
    `closing`: the half-nuts close at every so many-th line (1 unless lines fall between two teeth); `out_mm`: how far
    the tool is out of its groove when the line that was first used comes round again, to the nearer side, mm, exact;
    `numbered`: how many of the lines bear a number, None: all; `units`: what is read first.

    >>> weigh_gears([DialGear(24, 8)], Fraction(127, 45), Fraction(127, 30))[0].serving  # 9 tpi on a 6 tpi leadscrew
    (1, 3, 5, 7)
    """

    teeth: int
    lines: int
    step: int | None
    out_mm: Fraction
    numbered: int | None = None
    units: Units = "mm"

    @property
    def apart(self) -> int:
        """Every so many-th line bears a number."""
        return self.lines // (self.numbered or self.lines)

    def printed(self, line: int) -> int | None:
        """The number that stands at a line, None where none does.

        >>> gear = weigh_gears([DialGear(16, 8, numbered=4)], Fraction(1), Fraction(3))[0]
        >>> gear.printed(3), gear.printed(4)
        (2, None)
        """
        before, beyond, _ = self._numbers_by(line)
        return None if beyond else before

    def _numbers_by(self, line: int) -> tuple[int, int, int]:
        """The number at a line or before it, how many lines beyond that it stands, and the next number."""
        place, beyond = divmod(line - 1, self.apart)
        return place + 1, beyond, (place + 1) % (self.lines // self.apart) + 1

    def called(self, line: int) -> str:
        """What a line is called at the dial: by its number, or by those that it stands between.

        >>> gear = weigh_gears([DialGear(16, 8, numbered=4)], Fraction(1), Fraction(3))[0]
        >>> gear.called(3), gear.called(8)
        ('2', 'the line between 4 and 1')
        """
        before, beyond, after = self._numbers_by(line)
        if not beyond:
            return str(before)
        if before == after:
            return "the unnumbered line" if self.apart == 2 else f"the {ordinal(beyond)} line after {before}"
        which = "line" if self.apart == 2 else f"{ordinal(beyond)} line"
        return f"the {which} between {before} and {after}"

    def short(self, line: int) -> str:
        """The same in few signs: '2', '2–3' between two numbers, '1+2' for the 2nd line after 1 of several there.

        >>> gear = weigh_gears([DialGear(16, 8, numbered=4)], Fraction(1), Fraction(3))[0]
        >>> gear.short(3), gear.short(8)
        ('2', '4–1')
        """
        before, beyond, after = self._numbers_by(line)
        if not beyond:
            return str(before)
        return f"{before}–{after}" if self.apart == 2 and after != before else f"{before}+{beyond}"

    @property
    def serves(self) -> bool:
        return self.step is not None

    @property
    def serving(self) -> tuple[int, ...]:
        """The lines that serve, counted from 1, the line at which the half-nuts first closed."""
        return () if self.step is None else tuple(range(1, self.lines + 1, self.step))

    @property
    def closing(self) -> int:
        return Fraction(self.teeth, self.lines).denominator

    @property
    def wait(self) -> Fraction | None:
        """Leadscrew threads from one line that serves to the next."""
        return None if self.step is None else Fraction(self.step * self.teeth, self.lines)

    def threads_at(self, line: int) -> Fraction:
        """Leadscrew threads that have gone by when this line stands at the mark, counted on over a turn of the dial.

        >>> weigh_gears([DialGear(16, 8)], Fraction(1), Fraction(3))[0].threads_at(11)
        Fraction(20, 1)
        """
        return Fraction((line - 1) * self.teeth, self.lines)

    @property
    def in_words(self) -> str:
        """Which lines serve, or how far out it brings the tool."""
        if self.step is None:
            return f"no: after one turn of the dial the tool is {writing.out_by(self.out_mm, self.units)} out"
        if self.lines == 1:
            return "its one line"
        if self.step == self.lines and (self.apart > 1 or self.closing < self.lines):
            return "only the line first used"
        if self.apart > 1 and self.step % self.apart == 0:
            every = self.step // self.apart
            return "any numbered line" if every == 1 else f"every {ordinal(every)} numbered line"
        or_not = ", numbered or not" if self.apart > 1 else ""
        return f"any line{or_not}" if self.step == self.closing else f"every {ordinal(self.step)} line{or_not}"


def ordinal(count: int) -> str:
    """2nd, 3rd, 4th ...

    >>> ordinal(2), ordinal(13), ordinal(21)
    ('2nd', '13th', '21st')
    """
    ending = "th" if count % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(count % 10, "th")
    return f"{count}{ending}"


def weigh_gears(
    gears: Iterable[DialGear], lead: Exact, leadscrew: Fraction, units: Units = "mm"
) -> tuple[DialGearChoice, ...]:
    """Each dial gear weighed for a lead, mm, on a leadscrew, mm; `units`: what is read first.

    >>> [choice.step for choice in weigh_gears([DialGear(14, 7), DialGear(15, 5)], Fraction(5, 4), Fraction(3))]
    [None, 5]

    Line j has come to the mark after j·G/lines leadscrew threads, and again each G threads later; all of those must be
    multiples of p. So p has to divide G, and the step is the least j: what is below the line of G/(lines·p).
    """
    returning = None if isinstance(lead, PiMultiple) else (lead / leadscrew).numerator
    weighed = []
    for gear in gears:
        step = None
        if returning is not None and gear.teeth % returning == 0:
            step = Fraction(gear.teeth, gear.lines * returning).denominator
        out_mm = out_of_groove(lead, leadscrew, gear.teeth)
        weighed.append(DialGearChoice(gear.teeth, gear.lines, step, out_mm, gear.numbered, units))
    return tuple(weighed)


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


def lines_in_words(gear: DialGearChoice) -> str:
    """How many lines go with a dial gear, and how many of them bear a number where not all do.

    >>> lines_in_words(weigh_gears([DialGear(16, 8, numbered=4)], Fraction(1), Fraction(3))[0])
    '8 lines, 4 of them numbered'
    """
    numbered = f", {gear.lines // gear.apart} of them numbered" if gear.apart > 1 else ""
    return f"{writing.counted(gear.lines, 'line')}{numbered}"
