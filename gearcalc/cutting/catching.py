"""Catching the thread: when the half-nuts may close, so that the tool falls into its groove; and from start to start.

Between two starts the work has to stand 1/n of a turn further round, n being the number of starts, while the
leadscrew and with it the tool stay where they are. Where a mesh is opened at a driver of z teeth that turns r times
for one turn of the spindle, 1/n of a turn moves z·r/n of its teeth past: the mesh closes again there if that is whole.
"""

from __future__ import annotations

from fractions import Fraction
from math import gcd

from attrs import evolve, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple
from gearcalc.basics.writing import Units
from gearcalc.cutting.dial_gears import DialGearChoice, best_gear, ordinal, weigh_gears
from gearcalc.cutting.dial_rules import DialRule
from gearcalc.finding.mounted import own_setup
from gearcalc.finding.setups import Setup
from gearcalc.finding.strain import PULLED_BY_HAND
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.trains import ORDINALS
from gearcalc.threads import Feed, Thread, ThreadLike, as_thread
from gearcalc.threads.designations import MOST_STARTS
from gearcalc.threads.wanted import wanted_hand

_MOST_LISTED, _MOST_DESCRIBED = 8, 3
_TRANSLATION = INCH_MM.numerator  # 127, a prime
_STOP = "At the end of each pass draw the tool out (in a bore: towards the axis) and stop; only then"
_KEEP_CLOSED = (
    f"{_STOP} run back at the lowest speed, half-nuts closed. If the chuck screws onto the spindle, do not reverse "
    f"under power, since it can unscrew: isolate, {DRIVE_FREE}, turn back by hand; ask a qualified person (common "
    "practice, no source)."
)
_LEFT_HAND = (
    f"{_STOP} bring it back, half-nuts closed. Left-hand: it runs back towards the chuck, so never under power: "
    f"isolate, {DRIVE_FREE}, turn the chuck back by hand until the tool stands in its groove, clear of the jaws; ask a "
    "qualified person (common practice, no source)."
)
_BY_HAND = (
    f"The leadscrew turns more than {PULLED_BY_HAND} times for one turn of the spindle, so nothing is run: isolated, "
    f"{DRIVE_FREE}, every pass is pulled round by hand; then draw the tool out (in a bore: towards the axis), and turn "
    "the chuck back by hand (common practice, no source; the number is our convention)."
)


def dial(lathe: Lathe, thread_or_setup: ThreadLike | Setup) -> DialRule:
    """Say when the half-nuts may close, so that the tool falls into the groove that it cut.

    >>> import gearcalc as gc
    >>> rule = dial(gc.demo_lathe("inch"), "11 tpi")
    >>> rule.threads, rule.gear_teeth, rule.step, rule.lines
    (8, 16, 4, (1, 5))
    >>> rule.verdict
    'With the 16-tooth dial gear close at every 4th line of the 8: 1 and 5, counted from the first used.'
    >>> dial(gc.demo_lathe("inch"), "16 tpi").anywhere, dial(gc.demo_lathe("inch"), "1.5 mm").keep_closed
    (True, True)

    `lathe`: a Lathe. `thread_or_setup`: a Setup, whose cut lead counts; or a Thread or the text of one: then the answer
    is for gears that cut it exactly, and says so, since whether the lathe has such is not looked at. Of several dial
    gears the one with the least step is chosen, then the one that comes round soonest, then the first in the lathe
    file. A lathe without a dial is no error: `why` says what to do.
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
    gears = weigh_gears(lathe.dial.gears if lathe.dial is not None else (), lead, screw, lathe.units)
    named = str(thread) if thread is not None else str(writing.lead(lead, first=lathe.units))
    starts = thread.starts if thread is not None else 1
    hand = thread_or_setup.hand if isinstance(thread_or_setup, Setup) else wanted_hand(thread)
    rule = DialRule(named, lead, screw, starts, threads, gears, best_gear(gears), units=lathe.units, hand=hand)
    rule = evolve(rule, for_exact_gears=not isinstance(thread_or_setup, Setup))
    why = _why(rule, lathe, thread)
    return evolve(rule, verdict=_verdict(rule), when=_when_a_groove_returns(rule), why=why, how=how_to_pass(rule))


def cut_lead(lathe: Lathe, thread_or_setup: ThreadLike | Setup) -> tuple[Thread | None, Exact]:
    """The thread that is meant, if any, and the lead that is cut on this lathe: a setup's own, else the thread's.

    >>> from gearcalc.lathes import demo_lathe
    >>> cut_lead(demo_lathe("inch"), "16 tpi")[1]
    Fraction(127, 80)

    Raises as dial() does.
    """
    if isinstance(thread_or_setup, Setup):
        setup = own_setup(lathe, thread_or_setup)
        if isinstance(setup.wanted, Feed):
            raise NotPossibleError("a feed leaves no groove to come back to", remedy="Close the half-nuts anywhere.")
        return setup.wanted, setup.lead_mm
    if isinstance(thread_or_setup, (Thread, str)):
        thread = as_thread(thread_or_setup)
        return thread, thread.lead
    raise ValueOutOfRangeError(
        "a thread, its text, or a setup is wanted here", value=thread_or_setup, remedy="Like '16 tpi' or 'M8'."
    )


# The words.


def how_to_pass(rule: DialRule) -> str:
    """How to come back for the next pass where no dial helps, or nothing may be run; else empty.

    >>> import gearcalc as gc
    >>> how_to_pass(gc.dial(gc.demo_lathe("inch"), "16 tpi"))
    ''
    """
    if rule.pulled_by_hand:
        return _BY_HAND
    if not rule.keep_closed:
        return ""
    return _LEFT_HAND if rule.hand == "left" else _KEEP_CLOSED


def _verdict(rule: DialRule) -> str:
    """What to do, in a sentence."""
    if rule.pulled_by_hand:
        return "Close the half-nuts at standstill, isolated, and keep them closed until the thread is done."
    if rule.anywhere:
        return "Close the half-nuts anywhere."
    gear = rule.chosen
    if gear is None:
        return "Keep the half-nuts closed until the thread is done."
    start = f"With the {gear.teeth}-tooth dial gear close at"
    if gear.lines == 1:
        return f"{start} its one line."
    if gear.apart > 1:
        return _verdict_by_numbers(gear, start)
    if gear.step == gear.closing:
        return f"{start} any line."
    if len(gear.serving) == 1:
        return f"With the {gear.teeth}-tooth dial gear close only at the line first used, one of {gear.lines}."
    start += f" every {ordinal(gear.step or 0)} line of the {gear.lines}"
    if len(gear.serving) > _MOST_LISTED:
        return f"{start}, counted from the first used."
    return f"{start}: {writing.listed(gear.serving)}, counted from the first used."


def _verdict_by_numbers(gear: DialGearChoice, start: str) -> str:
    """What to do where not every line bears a number: one goes by those that do, wherever that can be."""
    if len(gear.serving) == 1:
        of = f"one of {gear.lines}: take a numbered one, which is known again"
        return f"With the {gear.teeth}-tooth dial gear close only at the line first used, {of}."
    if gear.step == gear.apart:
        between = ", or at any unnumbered one if the first pass began there"
        between = between if gear.apart == 2 else ", for the first pass too"
        return f"{start} {gear.in_words}{between}."
    if gear.step == gear.closing:
        return f"{start} {gear.in_words}."
    by_numbers = all(gear.printed(line) for line in gear.serving)
    if len(gear.serving) > (_MOST_LISTED if by_numbers else _MOST_DESCRIBED):
        return f"{start} {gear.in_words}, counted from the first used."
    return f"{start} {gear.in_words}: {writing.listed(map(gear.called, gear.serving))}, if the first was 1."


def _why(rule: DialRule, lathe: Lathe, thread: Thread | None) -> str:
    """Why, in sentences with numbers."""
    said = [_when_a_groove_returns(rule)]
    if thread is not None and rule.lead != thread.lead:
        cut = writing.lead(rule.lead, rule.starts, rule.units)
        said.append(f"What counts is the lead that is cut, {cut}, not the {thread} that it stands in for.")
    said.append(_about_the_gears(rule, lathe))
    if rule.threads is not None and (common := gcd(rule.threads, rule.starts)) > 1:
        every = rule.threads // common
        threads = "leadscrew thread" if every == 1 else f"{every} leadscrew threads"
        said.append(
            f"The thread has {rule.starts} starts, and every {threads} the groove of another start comes under the "
            "tool: it looks right and is wrong."
        )
    said.append(how_to_pass(rule))
    return " ".join(filter(None, said))


def _when_a_groove_returns(rule: DialRule) -> str:
    """When a groove comes back under the tool, in a sentence or two."""
    screw = writing.lead(rule.leadscrew_mm, first=rule.units)
    if rule.travel_mm is None or isinstance(rule.lead, PiMultiple):
        return (
            f"π is in the lead, {writing.number(rule.lead)} mm, so no number of leads ever makes up a whole number of "
            f"leadscrew threads of {screw}: the groove never comes back under the tool."
        )
    turns = rule.lead / rule.leadscrew_mm
    often = "once" if turns == 1 else f"{writing.ratio(turns)} {'of a turn' if turns < 1 else 'times'}"
    of = f"lead {writing.lead(rule.lead, rule.starts, rule.units)}, leadscrew {screw}"
    start = f"The leadscrew turns {often} for one turn of the spindle ({of})"
    leads = writing.counted(turns.denominator, "lead")
    if rule.anywhere:
        return f"{start}: each leadscrew thread holds {leads}, so every one of them serves."
    travel = (
        f"{both_units.travel(rule.travel_mm, rule.units, 3)}{' (more than a metre)' if rule.travel_mm >= 1000 else ''}"
    )
    note = ""
    if turns.denominator == _TRANSLATION or turns.numerator % _TRANSLATION == 0:
        note = " The 127 between inches and millimetres is in that, and it is a prime."
    return (
        f"{start}, so a groove returns every {rule.threads} leadscrew threads, {travel}: that is {leads}, the least "
        f"common multiple.{note}"
    )


def _about_the_gears(rule: DialRule, lathe: Lathe) -> str:
    if rule.anywhere:
        return "" if rule.gears else "No dial is needed."
    if lathe.dial is None:
        return (
            "The lathe file has no [dial], so nothing shows when that is. Closed one leadscrew thread further on, the "
            f"tool would be {_out_of_its_groove(rule, rule.out_mm(1))}."
        )
    if rule.chosen is None:
        return _none_serves(rule)
    gear = rule.chosen
    per_line = Fraction(gear.teeth, gear.lines)
    said = f"{rule.threads} divides the {gear.teeth} teeth of the dial gear"
    if gear.lines > 1:
        threads_go = "leadscrew thread goes" if per_line == 1 else "leadscrew threads go"
        next_one = "the next, numbered or not," if gear.apart > 1 else "the next"
        said += f", and from one line to {next_one} {writing.number(per_line)} {threads_go} by"
        if gear.step == 1:
            said += ", so every line serves"
        elif gear.step == gear.closing:
            said += ", so every line at which the half-nuts close serves"
        else:
            said += f", so {writing.number(gear.wait or Fraction(0))} go by over {gear.step} lines"
    no = [other.teeth for other in rule.gears if not other.serves]
    if not no:
        return f"{said}."
    gears, do = ("gears", "do") if len(no) > 1 else ("gear", "does")
    return f"{said}. The dial {gears} of {writing.listed(no)} teeth {do} not serve."


def _none_serves(rule: DialRule) -> str:
    teeth = writing.listed([gear.teeth for gear in rule.gears])
    gear = rule.gears[0]
    if rule.threads is None:
        start = "No dial gear helps."
    elif len(rule.gears) == 1:
        start = f"{rule.threads} does not divide the {teeth} teeth of the dial gear."
    else:
        start = f"{rule.threads} divides none of the dial gears ({teeth} teeth)."
    another = " It would be in the groove of another start." if rule.catches_another_start(gear.teeth) else ""
    return (
        f"{start} With {gear.teeth} teeth, the same line comes round after {gear.teeth} leadscrew threads, and the "
        f"tool would be {_out_of_its_groove(rule, gear.out_mm)}.{another}"
    )


def _out_of_its_groove(rule: DialRule, out_mm: Fraction) -> str:
    share = writing.percent(float(abs(out_mm)) / float(rule.lead))
    return f"{writing.out_by(out_mm, rule.units)} out of its groove, {share} of the lead"


# From one start to the next: turn the work against the train at an opened mesh, or move the tool a pitch.


@frozen
class Opening:
    """A mesh that can be opened to go to the next start, and how far.

    `place`: which driver, in words; `teeth`: how many it has; `teeth_on`: teeth to move past for one start, exact; the
    mesh serves where that is a whole number.

    >>> Opening("first driver", 40, Fraction(20)).serves
    True
    """

    place: str
    teeth: int
    teeth_on: Fraction

    @property
    def serves(self) -> bool:
        return self.teeth_on.denominator == 1

    @property
    def in_words(self) -> str:
        """How many teeth to move on, or why it does not come out even."""
        on = writing.ratio(self.teeth_on)
        return f"{on} teeth on" if self.serves else f"does not serve: {on} teeth would be no whole number"


@frozen
class StartsRule:
    """How to go from one start to the next. Made by index_starts().

    `openings`: every driver of the train, those that serve and those that don't; none without a setup;
    `first_drivers`: gears of the set that would serve as first driver; `move_mm`: how far the tool moves along the
    axis for the same purpose, mm, exact: the pitch; `threads_on`: leadscrew threads after which the half-nuts, closed
    on purpose, put the tool at a next start, None where they never do; `why`: all this in words;
    `units`: what is read first.
    """

    thread: str
    starts: int
    move_mm: Exact
    openings: tuple[Opening, ...]
    first_drivers: tuple[int, ...]
    threads_on: int | None
    units: Units = "mm"

    @property
    def serving(self) -> tuple[Opening, ...]:
        return tuple(opening for opening in self.openings if opening.serves)

    @property
    def why(self) -> str:
        said = [self._by_a_mesh()]
        said.append(
            f"Or leave the train alone and move the tool one pitch, {_pitch(self.move_mm, self.units)}, along the "
            "axis with a slide that stands parallel to it, the play taken up in the same direction."
        )
        if self.threads_on is not None:
            threads = "one leadscrew thread" if self.threads_on == 1 else f"{self.threads_on} leadscrew threads"
            whose = "The" if self.openings else "With gears that cut it exactly the"
            said.append(
                f"{whose} half-nuts do it too, on purpose or by mistake: closed {threads} further on they put the "
                "tool in the place of another start."
            )
        said.append(
            "Gears are touched only with the lathe isolated, as the machine's manual and the local rules say; mark "
            f"the teeth in mesh before opening it, and turn by hand, {DRIVE_FREE}."
        )
        return " ".join(said)

    def _by_a_mesh(self) -> str:
        if self.serving:
            ways = "; or ".join(
                f"open the mesh at the {opening.place} ({opening.teeth} teeth), turn the spindle 1/{self.starts} of a "
                f"turn so that {opening.teeth_on} of its teeth go past, and close it"
                for opening in self.serving
            )
            return (
                f"To go to the next of {self.starts} starts {ways}. All that follows that mesh stays as it is, "
                "half-nuts closed."
            )
        if self.openings:
            no = " and ".join(f"the {opening.place} by {opening.teeth_on}" for opening in self.openings)
            would = self.first_drivers and writing.listed(self.first_drivers)
            others = f" A first driver of {would} teeth would." if would else ""
            return f"No mesh of this train serves: {no} teeth, no whole number.{others}"
        if self.first_drivers:
            return f"A mesh can be opened at a first driver of {writing.listed(self.first_drivers)} teeth."
        return "No gear of the set would serve as first driver."

    def __str__(self) -> str:
        return f"{self.thread}, {self.starts} starts: {self.why}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [("starts", str(self.starts))]
        rows += [(f"open at the {opening.place}, {opening.teeth} teeth", opening.in_words) for opening in self.openings]
        rows.append(("or move the tool", _pitch(self.move_mm, self.units)))
        return markup.html_table(f"From start to start of {self.thread}", rows, note=self.why)


def index_starts(lathe: Lathe, thread_or_setup: ThreadLike | Setup, starts: int | None = None) -> StartsRule:
    """Say how one gets from one start of a thread to the next.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("metric")
    >>> mounted = gc.setup(lathe, (40, 30), (60, 50), "fast", wanted="lead 1.2 mm 2 starts")
    >>> [(opening.place, opening.teeth_on, opening.serves) for opening in index_starts(lathe, mounted).openings]
    [('first driver', Fraction(20, 1), True), ('second driver', Fraction(10, 1), True)]
    >>> index_starts(lathe, mounted, starts=3).openings[0].teeth_on
    Fraction(40, 3)

    `lathe`, `thread_or_setup`: as for dial(); without a setup there is no train to open, and the gears that would serve
    as first driver are named. `starts`: 2 to 60; None: those of the thread.
    Raises ValueOutOfRangeError for one start, or no such number; else as dial() does.
    Formula: z·r/n is a whole number for a driver of z teeth with r turns for one turn of the spindle and n starts.
    """
    lathe = as_lathe(lathe)
    thread, lead = cut_lead(lathe, thread_or_setup)
    given = thread.starts if starts is None and thread is not None else starts
    n = as_whole(
        given, what="the starts to go between", least=2, most=MOST_STARTS, remedy="Write it like 'lead 6 mm 2 starts'."
    )
    speeds = _first_driver_speeds(lathe, thread_or_setup)
    openings = _openings(thread_or_setup, n) if isinstance(thread_or_setup, Setup) else ()
    can_be_first = sorted({plain(z) for z in lathe.gears if lathe.gear_set.standing.first(z)})
    first_drivers = tuple(z for z in can_be_first if all((z * r / n).denominator == 1 for r in speeds))
    named = str(thread) if thread is not None else str(writing.lead(lead, first=lathe.units))
    returning = None if isinstance(lead, PiMultiple) else (lead / lathe.leadscrew.lead).numerator
    # A groove of the same start returns every so many threads; all starts come by in between where n divides that.
    threads_on = None if returning is None or returning % n else returning // n
    return StartsRule(named, n, lead / n, openings, first_drivers, threads_on, lathe.units)


def _first_driver_speeds(lathe: Lathe, thread_or_setup: object) -> set[Fraction]:
    """Turns of the first driver for one of the spindle: of the setup, or with each lever where it can stand."""
    if isinstance(thread_or_setup, Setup):
        return {thread_or_setup.first_driver_turns}
    return {lathe.spindle_ratio * (lever.ahead if lever else 1) for lever in lathe.positions}


def _openings(setup: Setup, starts: int) -> tuple[Opening, ...]:
    found, turns, train = [], setup.first_driver_turns, setup.train
    for place, driver, driven in zip(ORDINALS, train.drivers, train.driven, strict=False):
        found.append(Opening(f"{place} driver", driver, driver * turns / starts))
        turns *= Fraction(driver, driven)
    return tuple(found)


def _pitch(pitch: Exact, units: Units) -> str:
    return str(both_units.both(writing.length(pitch), writing.length(pitch / INCH_MM, "in"), units))
