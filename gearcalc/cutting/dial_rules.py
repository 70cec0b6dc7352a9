"""When to close the half-nuts: which lines of the thread-chasing dial bring the tool back into its groove.

The half-nuts close on any thread of the leadscrew, so between two passes whole leadscrew threads go by. The tool is in
its groove again when those make up whole leads too: at the least common multiple of both. With the leadscrew turning
p/q times for one turn of the spindle, in lowest terms, that is every p leadscrew threads.
The leadscrew is taken to have one start.
"""

from __future__ import annotations

from fractions import Fraction
from math import gcd

from attrs import evolve, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple
from gearcalc.basics.given import as_index, shown
from gearcalc.cutting.dial_gears import DialGearChoice, best_gear, out_of_groove, weigh_gears
from gearcalc.cutting.dial_words import verdict_in_words, when_a_groove_returns, why_in_words
from gearcalc.finding.setups import PULLED_BY_HAND, Setup
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.feeds import Feed

_MOST_THREADS = 1_000_000


@frozen
class DialRule:
    """When the half-nuts may close for a lead on a lathe. Made by dial().

    `anywhere`: wherever they will close; `threads`: leadscrew threads until a groove returns, None if it never does;
    `gear_teeth`: the dial gear to use, None if none serves; `lines_on_dial`: how many lines go with it;
    `step`: every step-th line serves, counted from the one at which they first closed; 1 is any, None is none;
    `lines`: those lines, numbered round the dial from 1, which is the one at which they first closed;
    `keep_closed`: not to be opened until the thread is done; `why`: all this in words, with numbers.
    `lead`: what is cut, mm, exact; `leadscrew_mm`: the leadscrew's lead; `starts`: of the thread;
    `gears`: every dial gear that the lathe has, weighed; `thread`: what was asked about, in words.
    """

    thread: str
    lead: Exact
    leadscrew_mm: Fraction
    starts: int
    threads: int | None
    gears: tuple[DialGearChoice, ...]
    chosen: DialGearChoice | None
    why: str = ""

    @property
    def anywhere(self) -> bool:
        return self.threads == 1

    @property
    def keep_closed(self) -> bool:
        return not self.anywhere and self.chosen is None

    @property
    def pulled_by_hand(self) -> bool:
        """Whether the leadscrew is so fast that nothing is run under power."""
        return float(self.lead) > PULLED_BY_HAND * self.leadscrew_mm

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
    def travel_mm(self) -> Fraction | None:
        """Travel after which a groove returns, mm, exact: the least common multiple; None if there is none."""
        return None if self.threads is None else self.threads * self.leadscrew_mm

    @property
    def spindle_turns(self) -> int | None:
        """Turns of the spindle in that travel."""
        travel = self.travel_mm
        return None if travel is None or isinstance(self.lead, PiMultiple) else int(travel / self.lead)

    @property
    def when(self) -> str:
        """When a groove comes back, in a sentence with numbers: the beginning of `why`."""
        return when_a_groove_returns(self)

    def catches(self, threads: int) -> bool:
        """Whether the tool is in its groove when the half-nuts close so many leadscrew threads on, exactly.

        >>> import gearcalc as gc
        >>> rule = gc.dial(gc.demo_lathe("inch"), "10 tpi")
        >>> rule.catches(8), rule.catches(6)
        (True, False)
        """
        threads = _whole(threads)
        return threads == 0 if self.threads is None else threads % self.threads == 0

    def catches_another_start(self, threads: int) -> bool:
        """Whether the tool is then in the groove of another start of the same thread.

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
        """How far the tool is from its groove when the half-nuts close so many leadscrew threads on, mm.

        >>> import gearcalc as gc
        >>> gc.dial(gc.demo_lathe("inch"), "10 tpi").out_mm(1)
        Fraction(127, 200)

        To the nearer side, so at most half a lead; positive when the tool hangs back behind its groove, negative when
        it runs ahead of it, in the direction of the cut.
        """
        return out_of_groove(self.lead, self.leadscrew_mm, _whole(threads))

    def __str__(self) -> str:
        return f"{verdict_in_words(self)} {self.why}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | writing.Written]] = [("lead cut", writing.lead(self.lead, self.starts))]
        rows.append(("leadscrew", writing.lead(self.leadscrew_mm)))
        if self.threads is not None and self.travel_mm is not None:
            every = f"{self.threads} leadscrew thread{'s' * (self.threads > 1)}, "
            rows.append(("a groove returns every", writing.plain(every) + writing.length(self.travel_mm)))
        else:
            rows.append(("a groove returns", "never"))
        for choice in self.gears:
            lines = f"{choice.lines} line{'s' * (choice.lines > 1)}"
            rows.append((f"dial gear of {choice.teeth} teeth, {lines}", choice.in_words))
        rows.append(("half-nuts", verdict_in_words(self)))
        return writing.html_table(f"When to close the half-nuts for {self.thread}", rows, note=self.why)


def dial(lathe: Lathe, thread_or_setup: Thread | Setup | str) -> DialRule:
    """When may the half-nuts close, so that the tool falls into the groove that it cut?

    >>> import gearcalc as gc
    >>> rule = dial(gc.demo_lathe("inch"), "11 tpi")
    >>> rule.threads, rule.gear_teeth, rule.step, rule.lines
    (8, 16, 4, (1, 5))
    >>> dial(gc.demo_lathe("inch"), "16 tpi").anywhere, dial(gc.demo_lathe("inch"), "1.5 mm").keep_closed
    (True, True)

    `thread_or_setup`: a Thread or the text of one, for a train that cuts it exactly; or a Setup, whose cut lead counts.
    Of several dial gears the one with the least step is chosen, then the one that comes round soonest, then the first
    in the lathe file. A lathe without a dial is no error: `why` says what to do.
    Raises NotPossibleError for a feed, or for a setup that is another lathe's; ThreadTextError for text that is no
    thread; ValueOutOfRangeError for anything else.
    Formula: leadscrew turns for one turn of the spindle = lead ÷ leadscrew lead = p/q in lowest terms; a groove returns
    every p leadscrew threads; a dial gear of G teeth serves where p divides G.
    Source: F. D. Jones, Turning and Boring (Industrial Press 1914), pp. 140–142; the rest is arithmetic.
    """
    lathe = as_lathe(lathe)
    thread, lead = cut_lead(lathe, thread_or_setup)
    screw = lathe.leadscrew.lead
    threads = None if isinstance(lead, PiMultiple) else (lead / screw).numerator
    gears = weigh_gears(lathe.dial.gears if lathe.dial is not None else (), lead, screw)
    named = str(thread) if thread is not None else str(writing.lead(lead))
    starts = thread.starts if thread is not None else 1
    rule = DialRule(named, lead, screw, starts, threads, gears, best_gear(gears))
    return evolve(rule, why=why_in_words(rule, lathe, thread, from_setup=isinstance(thread_or_setup, Setup)))


def cut_lead(lathe: Lathe, thread_or_setup: Thread | Setup | str) -> tuple[Thread | None, Exact]:
    """The thread that is meant, if any, and the lead that is cut on this lathe: a setup's own, else the thread's.

    >>> from gearcalc.lathes import demo_lathe
    >>> cut_lead(demo_lathe("inch"), "16 tpi")[1]
    Fraction(127, 80)

    Raises as dial() does.
    """
    if isinstance(thread_or_setup, Setup):
        setup = thread_or_setup
        if setup.lead_mm != lathe.leadscrew.lead * setup.leadscrew_turns:
            raise NotPossibleError(
                f"this setup was not made for {lathe.name}", remedy="Ask with the lathe that it was made for."
            )
        if isinstance(setup.wanted, Feed):
            raise NotPossibleError("a feed leaves no groove to come back to", remedy="Close the half-nuts anywhere.")
        return setup.wanted, setup.lead_mm
    if isinstance(thread_or_setup, (Thread, str)):
        thread = as_thread(thread_or_setup)
        return thread, thread.lead
    raise ValueOutOfRangeError(
        "a thread, its text, or a setup is wanted here", value=thread_or_setup, remedy="Like '16 tpi' or 'M8'."
    )


def _whole(threads: object) -> int:
    counted = as_index(threads)
    if counted is None or abs(counted) > _MOST_THREADS:
        raise ValueOutOfRangeError(
            f"threads of the leadscrew are counted as whole numbers up to {_MOST_THREADS}", value=shown(threads)
        )
    return counted
