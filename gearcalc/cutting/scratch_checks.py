"""What to measure on the scratch pass, and what it should read: over how many turns, beside which near pitches."""

from __future__ import annotations

from fractions import Fraction
from itertools import count

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, coefficient, pi_bounds
from gearcalc.cutting.measurements import turns_between
from gearcalc.finding.setups import Setup
from gearcalc.threads import Thread, standard_threads
from gearcalc.threads.feeds import Feed

READING_MM = Fraction(1, 10)
"""How far off a length read with a rule or a calliper between two scratches may be, either way. Our convention."""

_TOO_NEAR = Fraction(1, 200)  # a pitch nearer than this is told apart over no length that one would scratch
_SAME = Fraction(1, 2000)
_LOOK_WITHIN = Fraction(1, 4)
_SHORTEST_MM = 10
_MOST_TURNS = 500
_MOST_FOR_A_FEED = 50  # nobody counts more; a fine feed is read on a finer thing than a rule
_ON_THE_DIAL = ": read it on the slide's own dial, or with an indicator against it"
_STEPS = tuple(step * 10**power for power in range(3) for step in (1, 2, 5))


@frozen
class NearPitch:
    """A standard pitch near the one that is cut, and what the same number of turns of it would read, mm."""

    name: str
    lead_mm: float
    reads_mm: float


@frozen
class ScratchCheck:
    """What to measure. Made by scratch_check().

    `turns`: of the spindle; `travel_mm`: what they should move the tool, exact; `inches`: whole inches that hold that
    many threads, None where it is said in mm; `near`: standard pitches on both sides, told apart by that many turns;
    `too_near`: names of those nearer than half a per cent, which this does not tell apart. `along`: what travels.
    """

    turns: int
    travel_mm: Fraction
    inches: int | None
    near: tuple[NearPitch, ...]
    too_near: tuple[str, ...]
    along: str

    @property
    def words(self) -> str:
        """What to expect, in a sentence."""
        travel = f"{writing.decimal(self.travel_mm, 2)} mm"
        if self.inches is not None:
            inches = "an inch" if self.inches == 1 else f"{self.inches} inches"
            many = "s" if self.turns != 1 else ""
            return f"{self.turns} thread{many} in {inches} (over {self.turns} turn{many} of the spindle {travel})."
        turns = "1 turn of the spindle moves" if self.turns == 1 else f"{self.turns} turns of the spindle move"
        return f"{turns} {self.along} {travel}{_ON_THE_DIAL if self.fine else ''}."

    @property
    def fine(self) -> bool:
        """Whether a feed moves too little in turns that one would count for a rule or a calliper."""
        return not self.near and self.inches is None and self.travel_mm < _SHORTEST_MM

    @property
    def told_apart(self) -> str:
        """What the near pitches would read, in a sentence; empty where there is none."""
        if not self.near:
            return ""
        reads = [f"{writing.decimal(pitch.reads_mm, 2)} mm would be {pitch.name}" for pitch in self.near]
        said = f"{', '.join(reads)}."
        if self.too_near:
            said += f" Too near to tell apart this way: {', '.join(self.too_near)}."
        return said


def scratch_check(setup: Setup) -> ScratchCheck:
    """How many turns to scratch and what they should measure, so that near standard pitches are told apart.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> check = scratch_check(setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi"))
    >>> print(check.words)
    16 threads in an inch (over 16 turns of the spindle 25.4 mm).

    Two pitches are told apart when the lengths differ by more than twice READING_MM, the rule of turns_between(). Inch
    pitches are said as threads in whole inches, others over 1, 2, 5, 10, 20 ... turns, and never less than 10 mm.
    Pitches nearer than half a per cent are not waited for, but named. A feed is measured over at least 10 mm,
    or over 50 turns where that would take more.
    """
    if isinstance(setup.wanted, Feed) and setup.feed_mm is not None:
        slide = "the cross slide" if setup.wanted.along == "cross" else "the carriage"
        turns = min(_round_turns(Fraction(_SHORTEST_MM) / setup.feed_mm), _MOST_FOR_A_FEED)
        return ScratchCheck(turns, turns * setup.feed_mm, None, (), (), slide)
    cut = setup.lead_mm
    near, too_near = _neighbours(cut, setup.wanted)
    need = Fraction(max((turns_between(cut, lead, READING_MM) or 1 for _, lead in near), default=1))
    per_inch = _threads_per_inch(setup)
    if per_inch is not None:
        inches = next(n for n in count(1) if (n * per_inch).denominator == 1 and n * per_inch >= need)
        turns = int(inches * per_inch)
    else:
        inches, turns = None, _round_turns(max(need, _SHORTEST_MM / cut))
    reads = tuple(NearPitch(name, float(lead), float(turns * lead)) for name, lead in near)
    return ScratchCheck(turns, turns * cut, inches, reads, too_near, "the carriage")


def _round_turns(least: Fraction) -> int:
    return next((step for step in _STEPS if step >= least), _MOST_TURNS)


def _threads_per_inch(setup: Setup) -> Fraction | None:
    """Threads per inch, where what is wanted (or, with nothing wanted, cut) is an inch pitch of one start."""
    wanted = setup.wanted if isinstance(setup.wanted, Thread) else None
    if wanted is not None and (wanted.starts > 1 or (setup.error is not None and abs(setup.error.ppm) > 5000)):
        return None
    lead = setup.lead_mm if wanted is None else wanted.lead
    if isinstance(lead, PiMultiple):
        return None
    per_inch = INCH_MM / lead
    return per_inch if _said_per_inch(per_inch) else None


def _neighbours(cut: Fraction, wanted: object) -> tuple[list[tuple[str, Fraction]], tuple[str, ...]]:
    """The nearest standard leads below and above, and the names of those too near to be told apart."""
    own = _size(wanted.lead) if isinstance(wanted, Thread) else None
    below: tuple[str, Fraction] | None = None
    above: tuple[str, Fraction] | None = None
    too_near = []
    for name, lead in sorted(_standard_leads().items(), key=lambda entry: entry[1]):
        share = lead / cut - 1
        if lead == own or abs(share) <= _SAME or abs(share) > _LOOK_WITHIN:
            continue
        if abs(share) <= _TOO_NEAR:
            too_near.append(name)
        elif share < 0:
            below = name, lead
        elif above is None:
            above = name, lead
    return [pitch for pitch in (below, above) if pitch is not None], tuple(too_near)


def _standard_leads() -> dict[str, Fraction]:
    """Name -> lead of each pitch that the tables list, a lead with π in it as a fraction near to it."""
    return {_name(thread): _size(thread.lead) for thread in standard_threads()}


def _size(lead: Exact) -> Fraction:
    return lead.coefficient * pi_bounds(60)[0] if isinstance(lead, PiMultiple) else coefficient(lead)


def _name(thread: Thread) -> str:
    """A pitch without its diameter: '20 tpi', '1.25 mm', 'module 1'."""
    if isinstance(thread.pitch, PiMultiple):
        return thread.name
    per_inch = INCH_MM / thread.pitch
    if _said_per_inch(per_inch):
        return f"{writing.number(per_inch)} tpi"
    return f"{writing.decimal(thread.pitch, 3)} mm"


def _said_per_inch(per_inch: Fraction) -> bool:
    """Whether a pitch is one that people say in threads per inch: whole, or halves of the coarse ones."""
    return 1 <= per_inch <= 100 and (per_inch.denominator == 1 or (per_inch.denominator == 2 and per_inch < 30))
