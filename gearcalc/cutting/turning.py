"""How smooth can it be, and how long until the tool reaches the shoulder?

Finish: the grooves that a rounded tool leaves at a feed, their depth Rt and their mean depth Ra. The tool's nose is a
circle, each turn leaves one arc of it in the work, and the next arc starts a feed further on. That is theory, the best
that the feed allows; vibration, a worn edge and a torn chip only add to it.

Shoulder: time, turns, and the speed that leaves hands and eyes enough of it. A thread that ends at a shoulder ends in a
relief groove: once the tool stands in it, the half-nuts must be opened, or the tool drawn back, before it has crossed
the groove. The width of the groove and the lead say how many turns that is; the speed of the spindle, how many seconds.
"""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction
from math import asin, degrees, sqrt

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_units
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, NumberLike, PiMultiple
from gearcalc.basics.writing import Units
from gearcalc.finding.setups import Setup
from gearcalc.threads import Feed, FeedLike, Thread, WantedLike
from gearcalc.threads.wanted import Wanted, as_wanted

LARGEST_SHARE_OF_NOSE = Fraction(1, 2)
"""Feed over nose radius; a coarser feed is remarked on (common practice, no source)."""

_MICROINCH_UM = INCH_MM / 1000
_SHORT_ARC = 0.01  # of the radius; below it the closed form loses digits, and the series has them all
_ROOT_OF_3 = sqrt(3)


@frozen
class Finish:
    """The grooves that a feed and a nose radius leave. Made by finish().

    `feed_mm`: travel in one turn, exact; `nose_radius_mm`: of the tool, exact. The rest is worked out from them.
    `units`: what is read first.
    """

    feed_mm: Fraction
    nose_radius_mm: Fraction
    units: Units = "mm"

    @property
    def _half_over_radius(self) -> float:
        return float(self.feed_mm / (2 * self.nose_radius_mm))

    @property
    def rt_um(self) -> float:
        """Depth from ridge to bottom, µm, of true arcs: ρ − √(ρ² − f²/4)."""
        s = self._half_over_radius
        return float(1000 * self.nose_radius_mm) * s * s / (1 + sqrt(1 - s * s))

    @property
    def ra_um(self) -> float:
        """Mean distance from the mean line, µm, of true arcs."""
        return float(1000 * self.nose_radius_mm) * _mean_deviation_of_an_arc(self._half_over_radius)

    @property
    def usual_rt_um(self) -> float:
        """The workshop's formula for the depth, µm: f² / (8 ρ)."""
        return float(1000 * self.feed_mm**2 / (8 * self.nose_radius_mm))

    @property
    def usual_ra_um(self) -> float:
        """The workshop's formula for the mean, µm: f² / (32 ρ)."""
        return self.usual_rt_um / 4

    @property
    def parabola_ra_um(self) -> float:
        """The mean when each arc is taken for a parabola, µm: f² / (18 √3 ρ), which is f² / (31.18 ρ)."""
        return self.usual_rt_um * 8 / (18 * _ROOT_OF_3)

    @property
    def edge_angle_deg(self) -> float:
        """How far the trailing edge must at least stand clear of the work, degrees: where two arcs meet.

        With a smaller angle the straight edge cuts the ridges lower, and the arcs are not all of the story.
        """
        return degrees(asin(self._half_over_radius))

    @property
    def notes(self) -> tuple[str, ...]:
        """What to mind with these numbers, in words."""
        said = ["In theory, from the feed and the nose alone; a real surface is rougher."]
        if self.feed_mm > LARGEST_SHARE_OF_NOSE * self.nose_radius_mm:
            said.append(
                f"The feed is more than {writing.ratio(LARGEST_SHARE_OF_NOSE)} of the nose radius: for a finish take a "
                "finer feed or a larger nose (common practice, no source). The numbers hold only while the trailing "
                f"edge stands clear of the work by {writing.decimal(self.edge_angle_deg, 1)}° or more."
            )
        return tuple(said)

    def __str__(self) -> str:
        return (
            f"feed {both_units.travel(self.feed_mm, self.units)}, "
            f"nose radius {both_units.travel(self.nose_radius_mm, self.units)}: "
            f"Rt {self._rough(self.rt_um) if self.units == 'inch' else both_units.off_size(self.rt_um)}, "
            f"Ra {self._rough(self.ra_um)}"
        )

    @property
    def _feed_in_words(self) -> str:
        in_mm, thou = writing.length(self.feed_mm), writing.length(self.feed_mm / INCH_MM * 1000, "thou", 2)
        return f"{in_mm} a turn ({thou})" if self.units == "mm" else f"{thou} a turn ({in_mm})"

    def one_way(self, um: float) -> str:
        """Say how rough, in micrometres, or in millionths of an inch where those are read first."""
        um = float(as_number(um, what="the roughness", most=10**9, unit="µm"))
        return both_units.off_size(um) if self.units == "mm" else _microinch(um)

    def _rough(self, um: float) -> str:
        """How rough, both ways: in micrometres, and in millionths of an inch."""
        return str(both_units.both(markup.plain(both_units.off_size(um)), markup.plain(_microinch(um)), self.units))

    def _repr_html_(self) -> str:
        rows = (
            ("feed", self._feed_in_words),
            ("nose radius", str(both_units.travel(self.nose_radius_mm, self.units))),
            ("depth of the grooves, Rt", self._rough(self.rt_um)),
            ("by the usual formula f²/(8 ρ)", self.one_way(self.usual_rt_um)),
            ("mean roughness, Ra", self._rough(self.ra_um)),
            ("by the usual formula f²/(32 ρ)", self.one_way(self.usual_ra_um)),
        )
        return markup.html_table("What the feed and the nose leave", rows, note=" ".join(self.notes))


def finish(feed_or_setup: FeedLike | Setup | NumberLike, nose_radius_mm: NumberLike) -> Finish:
    """Reckon how smooth a surface can be at this feed, with this tool.

    >>> made = finish("0.2 mm/rev", 0.8)
    >>> print(made)
    feed 0.2 mm, nose radius 0.8 mm: Rt 6.27 µm, Ra 1.61 µm (63.3 µin)
    >>> made.usual_rt_um, made.usual_ra_um
    (6.25, 1.5625)

    `feed_or_setup`: a Feed, its text, a number of mm a turn, or a Setup (what its gears really give: the feed where one
    is wanted, else the lead). `nose_radius_mm`: of the tool, more than 0 to 1000 mm.
    Raises ValueOutOfRangeError for no feed or no radius, and for a feed wider than the whole nose (2 r), of which no
    arc would reach the next; ThreadTextError for text that is no feed.
    Source: plane geometry. Rt of true arcs is ρ − √(ρ² − f²/4), Ra the mean of |height − mean height|, integrated over
    one arc in closed form; the workshop's f²/(8 ρ) and f²/(32 ρ) come from taking the arc for a parabola, and the
    latter rounds 31.18 to 32.
    """
    travel, nose = _travel(feed_or_setup), _nose(nose_radius_mm)
    if travel > 2 * nose:
        raise ValueOutOfRangeError(
            f"a feed of {writing.length(travel)} is wider than the whole nose, which is "
            f"{writing.length(2 * nose)} across",
            remedy="The arcs would not meet: take a finer feed, or a tool with a larger nose radius.",
        )
    return Finish(travel, nose, _units_of(feed_or_setup))


def feed_for_finish(
    nose_radius_mm: NumberLike, *, ra_um: NumberLike | None = None, rt_um: NumberLike | None = None
) -> Feed:
    """Find the coarsest feed, to a whole µm, that leaves no more than this Ra, or no more than this Rt.

    >>> print(feed_for_finish(0.8, ra_um=1.6))
    0.199 mm/rev

    `nose_radius_mm`: more than 0 to 1000 mm; `ra_um` or `rt_um`, one of the two: µm, more than 0 to 10 000.
    True arcs, so a hair finer than the workshop's formula turned round, f = √(32 ρ Ra).
    Raises ValueOutOfRangeError for anything else, NotPossibleError when even a feed of 1 µm is too coarse.
    """
    nose = _nose(nose_radius_mm)
    if (ra_um is None) == (rt_um is None):
        raise ValueOutOfRangeError("give ra_um or rt_um, one of the two")
    name, given = ("Ra", ra_um) if rt_um is None else ("Rt", rt_um)
    most = as_number(
        given, what=name, most=10_000, above=True, unit="µm", remedy="Give it in micrometres: 63 µin is 1.6 µm."
    )

    def rough(micrometres: int) -> bool:
        made = Finish(Fraction(micrometres, 1000), nose)
        return (made.ra_um if rt_um is None else made.rt_um) > most

    widest = min(int(2 * nose * 1000), 100_000)
    fine = bisect_left(range(1, widest + 1), True, key=rough)  # so many feeds, of 1 µm, 2 µm ..., are not too rough
    if fine == 0:
        raise NotPossibleError(
            f"no feed of a micrometre or more leaves {name} {both_units.off_size(float(most))} with a nose of "
            f"{writing.length(nose)}",
            remedy="That is not turned but ground or lapped, or wants a larger nose.",
        )
    return Feed(Fraction(fine, 1000))


def _mean_deviation_of_an_arc(s: float) -> float:
    """Ra of arcs of radius 1 that reach s to either side, 0 to 1."""
    if s < _SHORT_ARC:
        return 2 / (9 * _ROOT_OF_3) * s * s * (1 + s * s / 5)
    ridge = sqrt(1 - s * s)
    mean = 1 - (ridge + asin(s) / s) / 2
    crossing = sqrt(mean * (2 - mean))  # where the arc crosses its mean line
    below = (mean - 1) * crossing + (crossing * (1 - mean) + asin(crossing)) / 2
    return 2 * below / s


def _units_of(cut: object) -> Units:
    """What is read first: what the owner of a setup's lathe reads; of a bare feed or thread, millimetres."""
    return cut.lathe.units if isinstance(cut, Setup) else "mm"


def _travel(feed: object) -> Fraction:
    if isinstance(feed, Setup):
        return feed.feed_mm if feed.feed_mm is not None else feed.lead_mm
    feed = str.__str__(feed) if isinstance(feed, str) else feed  # another's kind of text may do anything
    if isinstance(feed, str) and any(sign.isalpha() for sign in feed):
        return Feed.parse(feed).travel_mm
    if isinstance(feed, PiMultiple):
        raise ValueOutOfRangeError("a feed is a plain number of mm", value=str(feed))
    return feed.travel_mm if isinstance(feed, Feed) else Feed(feed).travel_mm


def _nose(radius_mm: object) -> Fraction:
    remedy = "A dead sharp point has none to reckon with: give it a small radius with a stone, say 0.2 mm."
    return as_number(radius_mm, what="the nose radius", most=1000, above=True, unit="mm", remedy=remedy)


def _microinch(um: float) -> str:
    shown = writing.decimal(um / float(_MICROINCH_UM), 1 if um < 100 else 0)
    return "less than 0.1 µin" if shown == "0" and um else f"{shown} µin"


LEAST_SECONDS = 2
"""Seconds that we like to have left at the shoulder; less is remarked on. Our convention."""


@frozen
class ShoulderRun:
    """The tool on its way across a relief groove, or up to a stop. Made by time_to_shoulder().

    `travel_mm`: in one turn of the spindle, mm, exact: a lead or a feed; `rpm`: turns of the spindle in a minute;
    `room_mm`: how far the tool may go; `what`: what is being cut, in words; `starts`: of the thread, 0 for a feed;
    `units`: what is read first.
    """

    travel_mm: Exact
    rpm: Fraction
    room_mm: Fraction
    what: str
    starts: int
    units: Units = "mm"

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

    @property
    def room_in_words(self) -> str:
        """The room in the unit that is read first."""
        return f"{_plain(self.room_mm)} mm" if self.units == "mm" else str(both_units.travel(self.room_mm, self.units))

    def __str__(self) -> str:
        return (
            f"{self.what} at {_plain(self.rpm)} rev/min: {self.room_in_words} takes "
            f"{writing.seconds(self.seconds)}, {writing.turns(float(self.turns))}"
        )

    def _repr_html_(self) -> str:
        rows = (
            ("travel in one turn", both_units.travel(self.travel_mm, self.units)),
            ("speed", f"{_plain(self.rpm)} rev/min"),
            ("the carriage goes", f"{both_units.reading(self.mm_per_second, self.units)} a second"),
            ("room", both_units.travel(self.room_mm, self.units)),
            ("turns", writing.decimal(self.turns, 2)),
            ("time", writing.seconds(self.seconds)),
        )
        return markup.html_table(f"Time to the shoulder: {self.what}", rows, note=" ".join(self.notes))


def time_to_shoulder(
    wanted_or_setup: WantedLike | Setup, rpm: NumberLike, room_mm: NumberLike, units: Units | None = None
) -> ShoulderRun:
    """Reckon how many seconds, and turns, the tool takes to cross the groove.

    >>> run = time_to_shoulder("1.5 mm", rpm=100, room_mm=4.5)
    >>> run.seconds, run.turns, run.mm_per_second
    (1.8, 3.0, 2.5)
    >>> print(run.notes[0])
    Less than 2 seconds (our convention) to see it, think and act: go no faster than 90 rev/min, or make the \
groove wider.

    `wanted_or_setup`: a Thread (its lead counts, so all its starts), a Feed, the text of one, or a Setup. `rpm`: turns
    of the spindle in a minute, more than 0 to 10 000. `room_mm`: width of the groove less that of the tool, or the
    distance to a stop, more than 0 to 10 000 mm. `units`: 'mm' or 'inch', what is read first; None: as a setup's lathe.
    Raises ValueOutOfRangeError for numbers outside these, ThreadTextError for text that is neither thread nor feed.
    Formula: seconds = 60 × room / (lead × rpm).
    """
    travel, what, starts = _travel_of(wanted_or_setup)
    speed = as_number(rpm, what="the speed of the spindle", most=10_000, above=True, unit="rev/min")
    first = _units_of(wanted_or_setup) if units is None else as_units(units)
    return ShoulderRun(travel, speed, _room(room_mm), what, starts, first)


def speed_for_shoulder(
    wanted_or_setup: WantedLike | Setup, room_mm: NumberLike, seconds: NumberLike = LEAST_SECONDS
) -> float:
    """Give the fastest speed, in rev/min, that still leaves so many seconds; a float.

    >>> speed_for_shoulder("M10", room_mm=4.5, seconds=3)
    60.0

    `wanted_or_setup` and `room_mm` as for time_to_shoulder; `seconds`: more than 0 to 3600. Choose the next speed below
    that the lathe has. Raises as time_to_shoulder does. Formula: rpm = 60 × room / (lead × seconds).
    """
    travel, *_ = _travel_of(wanted_or_setup)
    return _speed(
        travel, _room(room_mm), as_number(seconds, what="the time to react", most=3600, above=True, unit="seconds")
    )


def no_faster_than(rpm: Exact | float) -> str:
    """A limit of speed in figures, rounded down so that it is never too fast.

    >>> no_faster_than(Fraction(63, 5)), no_faster_than(Fraction(127, 100)), no_faster_than(Fraction(129, 10_000))
    ('12', '1.2', '0.012')
    """
    return writing.decimal(rpm, 0 if rpm >= 10 else 1 if rpm >= 1 else 3, toward="down")


def _speed(travel: Exact, room: Fraction, seconds: Fraction) -> float:
    try:
        if isinstance(travel, PiMultiple):
            return float(60 * room / seconds) / float(travel)
        return float(60 * room / (travel * seconds))
    except OverflowError:
        raise ValueOutOfRangeError(
            "so short a time is none to react in", value=f"{writing.number(seconds)} s"
        ) from None


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
    return cut.lead_mm, str(cut.wanted) if cut.wanted is not None else f"lead {cut.written_lead}", starts


def _room(given: object) -> Fraction:
    return as_number(given, what="the room for the tool", most=10_000, above=True, unit="mm")


def _plain(x: Fraction) -> str:
    return writing.decimal(x, 3)
