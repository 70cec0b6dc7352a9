"""When to close the half-nuts: which lines of the thread-chasing dial bring the tool back into its groove.

The half-nuts close on any thread of the leadscrew, so between two passes whole leadscrew threads go by. The tool is in
its groove again when those make up whole leads too: at the least common multiple of both. With the leadscrew turning
p/q times for one turn of the spindle, in lowest terms, that is every p leadscrew threads.
The leadscrew is taken to have one start.
"""

from __future__ import annotations

from fractions import Fraction
from math import gcd

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple
from gearcalc.basics.writing import Units
from gearcalc.cutting.dial_gears import DialGearChoice, lines_in_words, out_of_groove
from gearcalc.finding.strain import PULLED_BY_HAND

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
    comes back, in a sentence with numbers, with which `why` begins, where all the rest is said too, at its end `how`
    to come back for the next pass where the half-nuts stay closed; `for_exact_gears`: whether no setup was named, so
    that it holds only for gears that cut the thread exactly, as `only_for` says;
    `gears`: every dial gear that the lathe has, weighed; `thread`: what was asked about, in words;
    `units`: what is read first; `hand`: of the thread.
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
    how: str = ""
    units: Units = "mm"
    hand: str = "right"
    for_exact_gears: bool = False

    @property
    def only_for(self) -> str:
        """For which gears it holds, in a sentence; empty where a setup was named."""
        if not self.for_exact_gears:
            return ""
        if self.threads is None:
            return "Gears that stand in for it cut a lead without π, and have a rule of their own: ask with the setup."
        return "That is for gears that cut it exactly; a stand-in train has a rule of its own: ask with the setup."

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
        return " ".join(filter(None, (self.verdict, self.only_for, self.why)))

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
        said = f"When to close the half-nuts for {self.thread}: "
        more = "".join(f"<p>{markup.in_html(words)}</p>" for words in (self.only_for, self.how) if words)
        table = markup.html_table("The numbers", rows)
        why = markup.in_html(self.why.removesuffix(self.how))
        return (
            f"<p>{markup.in_html(said)}<strong>{markup.in_html(self.verdict)}</strong></p>{more}"
            f"<details><summary>The numbers, and why</summary>{table}<p>{why}</p></details>"
        )


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
    return tuple(dial_line(rule, gear, gone_by) for gone_by in range(1, gear.lines + 1))


def dial_line(rule: DialRule, gear: DialGearChoice, gone_by: int) -> DialLine:
    """The line at the mark when so many lines have gone by since the first closing, at line 1.

    >>> import gearcalc as gc
    >>> rule = gc.dial(gc.demo_lathe("inch"), "11 tpi")
    >>> seen = dial_line(rule, rule.chosen, 12)
    >>> seen.number, seen.threads, seen.in_words
    (5, Fraction(24, 1), 'in the groove')
    """
    threads, kind, out_mm = gear.threads_at(gone_by + 1), NO_CLOSING, Fraction(0)
    if threads.denominator == 1:
        kind, out_mm = landing(rule, int(threads)), rule.out_mm(int(threads))
        kind = THIS_TIME if kind == SERVES and not gear.serves else kind
    line = gone_by % gear.lines + 1
    return DialLine(line, gear.printed(line), gear.called(line), threads, kind, out_mm, rule.units)


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
