"""From one start of a thread to the next: turn the work against the train at an opened mesh, or move the tool a pitch.

Between two starts the work has to stand 1/n of a turn further round, n being the number of starts, while the
leadscrew and with it the tool stay where they are. Where a mesh is opened at a driver of z teeth that turns r times
for one turn of the spindle, 1/n of a turn moves z·r/n of its teeth past: the mesh closes again there if that is whole.
"""

from __future__ import annotations

from fractions import Fraction

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple
from gearcalc.cutting.half_nuts import cut_lead, listed
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import ORDINALS
from gearcalc.threads import Thread
from gearcalc.threads.designations import MOST_STARTS


@frozen
class Opening:
    """A mesh that can be opened to go to the next start, and how far.

    `place`: which driver, in words; `teeth`: how many it has; `turns`: its turns for one turn of the spindle;
    `teeth_on`: teeth to move past for one start, exact; the mesh serves where that is a whole number.

    >>> Opening("first driver", 40, Fraction(1), Fraction(20)).serves
    True
    """

    place: str
    teeth: int
    turns: Fraction
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
    on purpose, put the tool at a next start, None where they never do; `why`: all this in words.
    """

    thread: str
    starts: int
    move_mm: Exact
    openings: tuple[Opening, ...]
    first_drivers: tuple[int, ...]
    threads_on: int | None

    @property
    def serving(self) -> tuple[Opening, ...]:
        return tuple(opening for opening in self.openings if opening.serves)

    @property
    def why(self) -> str:
        said = [self._by_a_mesh(), self._by_the_tool()]
        if self.threads_on is not None:
            said.append(self._by_the_half_nuts())
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
            return f"No mesh of this train serves: {no} teeth, no whole number." + self._other_drivers()
        if self.first_drivers:
            return f"A mesh can be opened at a first driver of {listed(self.first_drivers)} teeth."
        return "No gear of the set would serve as first driver."

    def _other_drivers(self) -> str:
        if not self.first_drivers:
            return ""
        return f" A first driver of {listed(self.first_drivers)} teeth would."

    def _by_the_tool(self) -> str:
        return (
            f"Or leave the train alone and move the tool one pitch, {_pitch(self.move_mm)}, along the axis with a "
            "slide that stands parallel to it, the play taken up in the same direction."
        )

    def _by_the_half_nuts(self) -> str:
        threads = "one leadscrew thread" if self.threads_on == 1 else f"{self.threads_on} leadscrew threads"
        return (
            f"The half-nuts do it too, on purpose or by mistake: closed {threads} further on they put the tool in the "
            "place of another start."
        )

    def __str__(self) -> str:
        return f"{self.thread}, {self.starts} starts: {self.why}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | writing.Written]] = [("starts", str(self.starts))]
        rows += [(f"open at the {opening.place}, {opening.teeth} teeth", opening.in_words) for opening in self.openings]
        rows.append(("or move the tool", _pitch(self.move_mm)))
        return writing.html_table(f"From start to start of {self.thread}", rows, note=self.why)


def index_starts(lathe: Lathe, thread_or_setup: Thread | Setup | str, starts: int | None = None) -> StartsRule:
    """How does one get from one start of a thread to the next?

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("metric")
    >>> mounted = gc.setup(lathe, (40, 30), (60, 50), "fast", wanted="lead 1.2 mm 2 starts")
    >>> [(opening.place, opening.teeth_on, opening.serves) for opening in index_starts(lathe, mounted).openings]
    [('first driver', Fraction(20, 1), True), ('second driver', Fraction(10, 1), True)]
    >>> index_starts(lathe, mounted, starts=3).openings[0].teeth_on
    Fraction(40, 3)

    `thread_or_setup`: as for dial(); without a setup there is no train to open, and the gears that would serve as first
    driver are named. `starts`: 2 to 60; None: those of the thread.
    Raises ValueOutOfRangeError for one start, or no such number; else as dial() does.
    Formula: z·r/n is a whole number for a driver of z teeth with r turns for one turn of the spindle and n starts.
    """
    lathe = as_lathe(lathe)
    thread, lead = cut_lead(lathe, thread_or_setup)
    n = _some_starts(thread.starts if starts is None and thread is not None else starts)
    openings = _openings(lathe, thread_or_setup, n) if isinstance(thread_or_setup, Setup) else ()
    first_drivers = tuple(z for z in dict.fromkeys(lathe.gears) if (z * lathe.spindle_ratio / n).denominator == 1)
    named = str(thread) if thread is not None else str(writing.lead(lead))
    return StartsRule(named, n, lead / n, openings, first_drivers, _threads_to_the_next(lead, lathe, n))


def _some_starts(starts: object) -> int:
    if isinstance(starts, bool) or not isinstance(starts, int) or not 2 <= starts <= MOST_STARTS:
        raise ValueOutOfRangeError(
            f"to go from start to start a thread needs 2 to {MOST_STARTS} of them",
            value="nothing" if starts is None else starts,
            remedy="Write it like 'lead 6 mm 2 starts'.",
        )
    return starts


def _openings(lathe: Lathe, setup: Setup, starts: int) -> tuple[Opening, ...]:
    found, turns = [], lathe.spindle_ratio
    for ordinal, driver, driven in zip(ORDINALS, setup.train.drivers, setup.train.driven, strict=False):
        found.append(Opening(f"{ordinal} driver", driver, turns, driver * turns / starts))
        turns *= Fraction(driver, driven)
    return tuple(found)


def _threads_to_the_next(lead: Exact, lathe: Lathe, starts: int) -> int | None:
    """A groove of the same start returns every p threads; all starts come by in between where n divides p."""
    if isinstance(lead, PiMultiple):
        return None
    returning = (lead / lathe.leadscrew.lead).numerator
    return returning // starts if returning % starts == 0 else None


def _pitch(pitch: Exact) -> str:
    inches = pitch / Fraction(127, 5)
    return f"{writing.length(pitch)} ({writing.length(inches, 'in')})"
