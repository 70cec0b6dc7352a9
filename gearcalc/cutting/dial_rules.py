"""When to close the half-nuts: which lines of the thread-chasing dial bring the tool back into its groove.

The half-nuts close on any thread of the leadscrew, so between two passes whole leadscrew threads go by. The tool is in
its groove again when those make up whole leads too: at the least common multiple of both. With the leadscrew turning
p/q times for one turn of the spindle, in lowest terms, that is every p leadscrew threads.
The leadscrew is taken to have one start.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import gcd

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, pi_bounds
from gearcalc.basics.writing import Units
from gearcalc.finding.setups import PULLED_BY_HAND
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
        number, beyond = divmod(line - 1, self.apart)
        return None if beyond else number + 1

    def called(self, line: int) -> str:
        """What a line is called at the dial: by its number, or by those that it stands between.

        >>> gear = weigh_gears([DialGear(16, 8, numbered=4)], Fraction(1), Fraction(3))[0]
        >>> gear.called(3), gear.called(8)
        ('2', 'the line between 4 and 1')
        """
        number, beyond = divmod(line - 1, self.apart)
        before, after = number + 1, (number + 1) % (self.lines // self.apart) + 1
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
        number, beyond = divmod(line - 1, self.apart)
        before, after = number + 1, (number + 1) % (self.lines // self.apart) + 1
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
        serves = returning is not None and gear.teeth % returning == 0
        step = Fraction(gear.teeth, gear.lines * (returning or 1)).denominator if serves else None
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


_MOST_THREADS = 1_000_000


@frozen
class DialRule:
    """When the half-nuts may close for a lead on a lathe. Made by dial().

    `anywhere`: wherever they will close; `threads`: leadscrew threads until a groove returns, None if it never does;
    `gear_teeth`: the dial gear to use, None if none serves; `lines_on_dial`: how many lines go with it;
    `step`: every step-th line serves, counted from the one at which they first closed; 1 is any, None is none;
    `lines`: those lines, counted round the dial from 1, which is the one at which they first closed; `lines_called`:
    what is printed there, or between which numbers they stand, where the first was the dial's own line 1;
    `keep_closed`: not to be opened until the thread is done; `lead`: what is cut, mm, exact; `leadscrew_mm`: the
    leadscrew's lead, mm, exact; `starts`: of the thread; `verdict`: what to do, in a sentence; `when`: when a groove
    comes back, in a sentence with numbers, with which `why` begins, where all the rest is said too;
    `gears`: every dial gear that the lathe has, weighed; `thread`: what was asked about, in words;
    `units`: what is read first.
    """

    thread: str
    lead: Exact
    leadscrew_mm: Fraction
    starts: int
    threads: int | None
    gears: tuple[DialGearChoice, ...]
    chosen: DialGearChoice | None
    verdict: str = ""
    when: str = ""
    why: str = ""
    units: Units = "mm"

    @property
    def anywhere(self) -> bool:
        return self.threads == 1

    @property
    def keep_closed(self) -> bool:
        return not self.anywhere and self.chosen is None

    @property
    def pulled_by_hand(self) -> bool:
        """Whether the leadscrew is so fast that nothing is run under power."""
        return self.lead > PULLED_BY_HAND * self.leadscrew_mm

    @property
    def gear_teeth(self) -> int | None:
        return None if self.chosen is None else self.chosen.teeth

    @property
    def lines_on_dial(self) -> int | None:
        return None if self.chosen is None else self.chosen.lines

    @property
    def step(self) -> int | None:
        if self.chosen is not None:
            return self.chosen.step
        return 1 if self.anywhere else None

    @property
    def lines(self) -> tuple[int, ...]:
        return () if self.chosen is None else self.chosen.serving

    @property
    def lines_called(self) -> tuple[str, ...]:
        return () if self.chosen is None else tuple(map(self.chosen.called, self.lines))

    @property
    def travel_mm(self) -> Fraction | None:
        """Travel after which a groove returns, mm, exact: the least common multiple; None if there is none."""
        return None if self.threads is None else self.threads * self.leadscrew_mm

    @property
    def spindle_turns(self) -> int | None:
        """Turns of the spindle in that travel."""
        travel = self.travel_mm
        return None if travel is None or isinstance(self.lead, PiMultiple) else int(travel / self.lead)

    def catches(self, threads: int) -> bool:
        """Say whether the tool is in its groove when the half-nuts close so many leadscrew threads on, exactly.

        >>> import gearcalc as gc
        >>> rule = gc.dial(gc.demo_lathe("inch"), "10 tpi")
        >>> rule.catches(8), rule.catches(6)
        (True, False)
        """
        threads = _whole(threads)
        return threads == 0 if self.threads is None else threads % self.threads == 0

    def catches_another_start(self, threads: int) -> bool:
        """Say whether the tool is then in the groove of another start of the same thread.

        >>> import gearcalc as gc
        >>> rule = gc.dial(gc.demo_lathe("metric"), "lead 6 mm 2 starts")
        >>> rule.catches(1), rule.catches_another_start(1)
        (False, True)
        """
        threads = _whole(threads)
        if self.threads is None or self.catches(threads):
            return False
        return threads % (self.threads // gcd(self.threads, self.starts)) == 0

    def out_mm(self, threads: int) -> Fraction:
        """Give how far the tool is from its groove when the half-nuts close so many leadscrew threads on, mm, exact.

        >>> import gearcalc as gc
        >>> gc.dial(gc.demo_lathe("inch"), "10 tpi").out_mm(1)
        Fraction(127, 200)

        To the nearer side, so at most half a lead; positive when the tool hangs back behind its groove, negative when
        it runs ahead of it, in the direction of the cut.
        """
        return out_of_groove(self.lead, self.leadscrew_mm, _whole(threads))

    def __str__(self) -> str:
        return f"{self.verdict} {self.why}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [("lead cut", writing.lead(self.lead, self.starts, self.units))]
        rows.append(("leadscrew", writing.lead(self.leadscrew_mm, first=self.units)))
        if self.threads is not None and self.travel_mm is not None:
            every = markup.plain(f"{writing.counted(self.threads, 'leadscrew thread')}, ")
            rows.append(("a groove returns every", every + both_units.travel(self.travel_mm, self.units)))
        else:
            rows.append(("a groove returns", "never"))
        for choice in self.gears:
            lines = lines_in_words(choice)
            rows.append((f"dial gear of {choice.teeth} teeth, {lines}", choice.in_words))
        rows.append(("half-nuts", self.verdict))
        return markup.html_table(f"When to close the half-nuts for {self.thread}", rows, note=self.why)


def lines_in_words(gear: DialGearChoice) -> str:
    """How many lines go with a dial gear, and how many of them bear a number where not all do.

    >>> lines_in_words(weigh_gears([DialGear(16, 8, numbered=4)], Fraction(1), Fraction(3))[0])
    '8 lines, 4 of them numbered'
    """
    numbered = f", {gear.lines // gear.apart} of them numbered" if gear.apart > 1 else ""
    return f"{writing.counted(gear.lines, 'line')}{numbered}"


SERVES, THIS_TIME, ANOTHER_START = "serves", "serves this time only", "another start"
MISSES, NO_CLOSING = "misses", "does not close"


@frozen
class DialLine:
    """A line of the dial when it stands at the mark, and what closing the half-nuts there does.

    `number`: of the line, counted round the dial from 1; `printed`: the number that stands there, None for a plain
    line; `called`: what the line is called at the dial; `threads`: leadscrew threads gone by since the first closing;
    `kind`: 'serves', 'serves this time only' (and not when it comes round again), 'another start' (the groove of
    another start), 'misses', or 'does not close' (it stands between two threads); `out_mm`: how far the tool hangs
    back behind its groove, mm; 0 where they don't close; `units`: what is read first.
    """

    number: int
    printed: int | None
    called: str
    threads: Fraction
    kind: str
    out_mm: Fraction
    units: Units = "mm"

    @property
    def in_words(self) -> str:
        """What closing there does, in a few words."""
        return {
            SERVES: "in the groove",
            THIS_TIME: "in the groove this time, not the next",
            ANOTHER_START: "in another start's place",
            MISSES: f"{writing.out_by(self.out_mm, self.units)} out",
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
    [(2, '0.05 in out'), (3, 'in the groove'), (4, '0.05 in out')]

    Line 1 comes last, after a whole turn of the dial.
    """
    lines = []
    for place in range(1, gear.lines + 1):
        threads, kind, out_mm = gear.threads_at(place + 1), NO_CLOSING, Fraction(0)
        if threads.denominator == 1:
            kind, out_mm = landing(rule, int(threads)), rule.out_mm(int(threads))
            kind = THIS_TIME if kind == SERVES and not gear.serves else kind
        line = place % gear.lines + 1
        lines.append(DialLine(line, gear.printed(line), gear.called(line), threads, kind, out_mm, rule.units))
    return tuple(lines)


def landing(rule: DialRule, threads: int) -> str:
    """'serves', 'another start' or 'misses': where the tool lands so many leadscrew threads after the first closing.

    >>> import gearcalc as gc
    >>> landing(gc.dial(gc.demo_lathe("metric"), "lead 6 mm 2 starts"), 3)
    'another start'
    """
    if rule.catches(threads):
        return SERVES
    return ANOTHER_START if rule.catches_another_start(threads) else MISSES


def _whole(threads: object) -> int:
    return as_whole(threads, what="threads of the leadscrew", least=-_MOST_THREADS, most=_MOST_THREADS)
