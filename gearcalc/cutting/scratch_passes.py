"""Beforehand: how many turns to measure over on the scratch pass, and what they should read.

The rule is that of a measured length: so many turns that near standard pitches are told apart.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import count
from operator import itemgetter

from attrs import frozen

from gearcalc.basics import both_units, writing
from gearcalc.basics.exact import pi_bounds, threads_per_inch
from gearcalc.basics.writing import Units
from gearcalc.cutting.measurements import at_pi, turns_between
from gearcalc.finding.setups import Setup, as_setup
from gearcalc.threads import Feed, Thread, standard_threads
from gearcalc.threads.designations import lead_name

READING_MM = Fraction(1, 10)
"""How far off a length read with a rule or a calliper between two scratches may be, either way. Our convention."""

_TOO_NEAR = Fraction(1, 200)  # a pitch nearer than this is told apart over no length that one would scratch
_SAME = Fraction(1, 2000)
_LOOK_WITHIN = Fraction(1, 4)
_SHORTEST_MM = 10
_MOST_SCRATCHED = 500
_MOST_FOR_A_FEED = 50  # nobody counts more; a fine feed is read on a finer thing than a rule
_STEPS = tuple(step * 10**power for power in range(3) for step in (1, 2, 5))


@frozen
class NearPitch:
    """A standard pitch near the one that is cut: its lead, and what the same number of turns of it would read, mm."""

    name: str
    lead_mm: float
    reads_mm: float


@frozen
class ScratchCheck:
    """What to measure. Made by scratch_check().

    `turns`: of the spindle; `travel_mm`: what they should move the tool, exact; `inches`: whole inches that hold that
    many threads, None where it is said in mm; `near`: standard pitches on both sides, told apart by that many turns;
    `too_near`: names of those nearer than half a per cent, which this does not tell apart. `along`: what travels.
    `units`: what is read first.
    """

    turns: int
    travel_mm: Fraction
    inches: int | None
    near: tuple[NearPitch, ...]
    too_near: tuple[str, ...]
    along: str
    units: Units = "mm"

    @property
    def words(self) -> str:
        """What to expect, in a sentence."""
        travel = in_mm = both_units.reading(self.travel_mm)
        if self.inches is not None:
            inches = "an inch" if self.inches == 1 else f"{self.inches} inches"
            threads, turns = writing.counted(self.turns, "thread"), writing.turns(self.turns)
            if self.units == "inch":
                return f"{threads} in {inches}, over {turns} of the spindle ({in_mm})."
            return f"{threads} in {inches} (over {turns} of the spindle {travel})."
        if self.units == "inch":
            travel = f"{both_units.reading(self.travel_mm, self.units)} ({in_mm})"
        turns, move = writing.turns(self.turns), "moves" if self.turns == 1 else "move"
        too_fine = not self.near and self.travel_mm < _SHORTEST_MM  # a feed, for a rule or a calliper
        on_the_dial = ": read it on the slide's own dial, or with an indicator against it" if too_fine else ""
        return f"{turns} of the spindle {move} {self.along} {travel}{on_the_dial}."

    @property
    def told_apart(self) -> str:
        """What the near pitches would read, in a sentence; empty where there is none."""
        if not self.near:
            return ""
        reads = ", ".join(
            f"{both_units.reading(pitch.reads_mm, self.units)} would be {pitch.name}" for pitch in self.near
        )
        more = f" Too near to tell apart this way: {', '.join(self.too_near)}." if self.too_near else ""
        return f"{reads}.{more}"


def scratch_check(setup: Setup) -> ScratchCheck:
    """Say how many turns to scratch and what they should measure, so that near standard pitches are told apart.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> check = scratch_check(setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi"))
    >>> print(check.words)
    16 threads in an inch, over 16 turns of the spindle (25.4 mm).

    `setup`: what is cut, from setup() or find_setups(). Two pitches are told apart when the lengths differ by more than
    twice READING_MM, the rule of turns_between(). Inch
    pitches are said as threads in whole inches, others over 1, 2, 5, 10, 20 ... turns, and never less than 10 mm.
    Pitches nearer than half a per cent are not waited for, but named. A feed is measured over at least 10 mm,
    or over 50 turns where that would take more.
    Raises ValueOutOfRangeError for what is no setup.
    """
    setup = as_setup(setup)
    if isinstance(setup.wanted, Feed) and setup.feed_mm is not None:
        slide = "the cross slide" if setup.wanted.along == "cross" else "the carriage"
        turns = min(_round_turns(Fraction(_SHORTEST_MM) / setup.feed_mm), _MOST_FOR_A_FEED)
        return ScratchCheck(turns, turns * setup.feed_mm, None, (), (), slide, setup.lathe.units)
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
    return ScratchCheck(turns, turns * cut, inches, reads, too_near, "the carriage", setup.lathe.units)


def _round_turns(least: Fraction) -> int:
    return next((step for step in _STEPS if step >= least), _MOST_SCRATCHED)


def _threads_per_inch(setup: Setup) -> Fraction | None:
    """Threads per inch, where what is wanted (or, with nothing wanted, cut) is an inch pitch of one start."""
    wanted = setup.wanted if isinstance(setup.wanted, Thread) else None
    if wanted is not None and (wanted.starts > 1 or (setup.error is not None and abs(setup.error.ppm) > 5000)):
        return None
    per_inch = threads_per_inch(setup.lead_mm if wanted is None else wanted.lead)
    return per_inch if per_inch is not None and per_inch.denominator <= 2 else None  # whole turns come soon


def _neighbours(cut: Fraction, wanted: object) -> tuple[list[tuple[str, Fraction]], tuple[str, ...]]:
    """The nearest standard leads below and above, and the names of those too near to be told apart."""
    pi = pi_bounds(60)[0]
    own = at_pi(wanted.lead, pi) if isinstance(wanted, Thread) else None
    by_name = {lead_name(thread.pitch): at_pi(thread.lead, pi) for thread in standard_threads()}
    leads = sorted(by_name.items(), key=itemgetter(1))
    others = [(name, lead, lead / cut - 1) for name, lead in leads if lead != own]
    below = [(name, lead) for name, lead, share in others if -_LOOK_WITHIN <= share < -_TOO_NEAR]
    above = [(name, lead) for name, lead, share in others if _TOO_NEAR < share <= _LOOK_WITHIN]
    return below[-1:] + above[:1], tuple(name for name, _, share in others if _SAME < abs(share) <= _TOO_NEAR)
