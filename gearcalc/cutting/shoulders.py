"""How long until the tool reaches the shoulder? Time, turns and the speed that leaves hands and eyes enough of it.

A thread that ends at a shoulder ends in a relief groove: once the tool stands in it, the half-nuts must be opened, or
the tool drawn back, before it has crossed the groove. The width of the groove and the lead say how many turns that is;
the speed of the spindle, how many seconds.
"""

from __future__ import annotations

from fractions import Fraction

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, as_fraction
from gearcalc.finding.setups import Setup, Wanted, as_wanted
from gearcalc.threads import Thread

LEAST_SECONDS = 2
"""Seconds that we like to have left at the shoulder; less is remarked on. Our convention."""

_FASTEST_RPM = 10_000
_WIDEST_MM = 10_000
_LONGEST_S = 3600


@frozen
class ShoulderRun:
    """The tool on its way across a relief groove, or up to a stop. Made by time_to_shoulder().

    `travel_mm`: in one turn of the spindle, mm, exact: a lead or a feed; `rpm`: turns of the spindle in a minute;
    `room_mm`: how far the tool may go; `what`: what is being cut, in words; `starts`: of the thread, 0 for a feed.
    """

    travel_mm: Exact
    rpm: Fraction
    room_mm: Fraction
    what: str
    starts: int = 1

    @property
    def turns(self) -> float:
        """Turns of the spindle until the tool is there: room / travel."""
        return float(self.room_mm) / float(self.travel_mm)

    @property
    def seconds(self) -> float:
        """Seconds until the tool is there: 60 × room / (travel × rpm)."""
        return 60 * self.turns / float(self.rpm)

    @property
    def mm_per_second(self) -> float:
        """How fast the carriage goes."""
        return float(self.travel_mm) * float(self.rpm) / 60

    @property
    def in_good_time(self) -> bool:
        """Whether LEAST_SECONDS or more are left."""
        return self.seconds >= LEAST_SECONDS

    @property
    def notes(self) -> tuple[str, ...]:
        """What to mind, in words."""
        said = []
        if not self.in_good_time:
            slower = _speed(self.travel_mm, self.room_mm, Fraction(LEAST_SECONDS))
            said.append(
                f"Less than {LEAST_SECONDS} seconds (our convention) to see it, think and act: go no faster than "
                f"{no_faster_than(slower)} rev/min" + (", or make the groove wider." if self.starts else ".")
            )
        if self.turns < 1 and self.starts:
            said.append(
                "The groove is narrower than one turn's travel: not even the slowest speed leaves a whole turn. "
                f"Isolate, {DRIVE_FREE}, and turn the spindle by hand; or thread away from the shoulder with the tool "
                "and the direction turned round."
            )
        return tuple(said)

    def __str__(self) -> str:
        return (
            f"{self.what} at {_plain(self.rpm)} rev/min: {_plain(self.room_mm)} mm takes "
            f"{_seconds(self.seconds)}, {writing.decimal(self.turns, 2)} turns"
        )

    def _repr_html_(self) -> str:
        rows = (
            ("travel in one turn", writing.length(self.travel_mm)),
            ("speed", f"{_plain(self.rpm)} rev/min"),
            ("the carriage goes", f"{writing.decimal(self.mm_per_second, 2)} mm a second"),
            ("room", writing.length(self.room_mm)),
            ("turns", writing.decimal(self.turns, 2)),
            ("time", _seconds(self.seconds)),
        )
        return writing.html_table(f"Time to the shoulder: {self.what}", rows, note=" ".join(self.notes))


def time_to_shoulder(
    cut: Wanted | Setup | str, rpm: Fraction | float | str, room_mm: Fraction | float | str
) -> ShoulderRun:
    """How many seconds, and turns, until the tool has crossed the groove?

    >>> run = time_to_shoulder("1.5 mm", rpm=100, room_mm=4.5)
    >>> run.seconds, run.turns, run.mm_per_second
    (1.8, 3.0, 2.5)
    >>> print(run.notes[0])
    Less than 2 seconds (our convention) to see it, think and act: go no faster than 90 rev/min, or make the \
groove wider.

    `cut`: a Thread (its lead counts, so all its starts), a Feed, the text of one, or a Setup. `rpm`: turns of the
    spindle in a minute, more than 0 to 10 000. `room_mm`: width of the groove less that of the tool, or the distance
    to a stop, more than 0 to 10 000 mm.
    Raises ValueOutOfRangeError for numbers outside these, ThreadTextError for text that is neither thread nor feed.
    Formula: seconds = 60 × room / (lead × rpm).
    """
    travel, what, starts = _travel_of(cut)
    speed = _between(rpm, "the speed of the spindle, in rev/min,", _FASTEST_RPM)
    return ShoulderRun(travel, speed, _room(room_mm), what, starts)


def speed_for_shoulder(
    cut: Wanted | Setup | str, room_mm: Fraction | float | str, seconds: Fraction | float | str = LEAST_SECONDS
) -> float:
    """The fastest speed, in rev/min, that still leaves so many seconds.

    >>> speed_for_shoulder("M10", room_mm=4.5, seconds=3)
    60.0

    `cut` and `room_mm` as for time_to_shoulder; `seconds`: more than 0 to 3600. Choose the next speed below that the
    lathe has. Raises as time_to_shoulder does. Formula: rpm = 60 × room / (lead × seconds).
    """
    travel, *_ = _travel_of(cut)
    return _speed(travel, _room(room_mm), _between(seconds, "the time to react, in seconds,", _LONGEST_S))


def no_faster_than(rpm: Exact | float) -> str:
    """A limit of speed in figures, rounded down so that it is never too fast.

    >>> no_faster_than(Fraction(63, 5)), no_faster_than(Fraction(127, 100)), no_faster_than(Fraction(129, 10_000))
    ('12', '1.2', '0.012')
    """
    return writing.decimal(rpm, 0 if rpm >= 10 else 1 if rpm >= 1 else 3, toward="down")


def _speed(travel: Exact, room: Fraction, seconds: Fraction) -> float:
    if isinstance(travel, PiMultiple):
        return float(60 * room / seconds) / float(travel)
    return float(60 * room / (travel * seconds))


def _travel_of(cut: Wanted | Setup | str) -> tuple[Exact, str, int]:
    """Travel in one turn, what is cut, and its starts (0 for a feed)."""
    if not isinstance(cut, Setup):
        wanted = as_wanted(cut)
        if isinstance(wanted, Thread):
            return wanted.lead, str(wanted), wanted.starts
        return wanted.travel_mm, str(wanted), 0
    if cut.feed_mm is not None:
        return cut.feed_mm, str(cut.wanted), 0
    starts = cut.wanted.starts if isinstance(cut.wanted, Thread) else 1
    return cut.lead_mm, str(cut.wanted) if cut.wanted is not None else f"lead {writing.length(cut.lead_mm)}", starts


def _room(given: object) -> Fraction:
    return _between(given, "the room for the tool, in mm,", _WIDEST_MM)


def _between(given: object, what: str, most: int) -> Fraction:
    value = as_fraction(given, what=what.rstrip(","))
    if not 0 < value <= most:
        raise ValueOutOfRangeError(f"{what} is more than zero and at most {most}", value=value)
    return value


def _plain(x: Fraction) -> str:
    return writing.decimal(x, 3)


def _seconds(seconds: float) -> str:
    return f"{writing.decimal(seconds, 1 if seconds >= 10 else 2)} s"
