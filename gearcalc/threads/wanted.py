"""What is wanted: a thread on the part, or a feed. Exact, with what the designation says."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TypeAlias

from attrs import Attribute, asdict, field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_whole, shown, within
from gearcalc.basics.errors import GearcalcError, ThreadTextError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import (
    INCH_MM,
    Exact,
    PiMultiple,
    RelativeError,
    as_exact,
    as_fraction,
    parse_number,
    to_sympy,
)
from gearcalc.basics.markup import ShownAsWritten
from gearcalc.threads.designations import MOST_STARTS, NUMBER, figure
from gearcalc.threads.near_words import put_right
from gearcalc.threads.thread_text import normalise, read_thread

if TYPE_CHECKING:
    import sympy


def _exact_pitch(x: object) -> Exact:
    return within(as_exact(x, what="a pitch"), what="a pitch", above=True)


def _some_starts(_: object, __: Attribute[int], value: object) -> None:
    as_whole(value, what="the starts of a thread", most=MOST_STARTS)


def _exact_angle(x: object) -> Fraction | None:
    angle = None if x is None else as_fraction(x, what="the angle between the flanks")
    if angle is not None and not 0 < angle < 180:
        raise ValueOutOfRangeError("the angle between the flanks is over 0 and below 180 degrees", value=angle)
    return angle


def _exact_diameter(x: object) -> Fraction | None:
    return None if x is None else as_number(x, what="a diameter", above=True)


def _text(_: object, attribute: Attribute[Any], value: object) -> None:
    if not isinstance(value, str) and (value is not None or attribute.default is not None):
        raise ValueOutOfRangeError(f"the {attribute.name.replace('_', ' ')} of a thread is text", value=value)


def _a_hand(_: object, __: Attribute[str], value: object) -> None:
    if value not in ("right", "left"):
        raise ValueOutOfRangeError("a hand must be 'right' or 'left'", value=value)


@frozen
class Thread(ShownAsWritten):
    """A thread as designated; make one with Thread.parse.

    >>> thread = Thread.parse("M16xPh3P1.5-6g LH")
    >>> thread.pitch_mm, thread.lead_mm, thread.starts, thread.hand
    (Fraction(3, 2), Fraction(3, 1), 2, 'left')
    >>> print(thread)
    M16xPh3P1.5-6g LH

    `pitch` is exact in mm (a Fraction, or a PiMultiple for module and diametral-pitch worms); `starts` 1 to 60;
    `hand` 'right' or 'left'; `thread_angle_deg` the included angle, `major_mm` and `tolerance_class` where given,
    else None; `standard` names the standard that lists this size with this pitch; `taper` for NPT, R and Rc.
    `family`: 'metric', 'Unified', 'Whitworth' or another of thread_text.FAMILIES, None for a pitch or lead alone. It
    decides tolerances, depth and infeed; a family of another name has none.
    Raises ValueOutOfRangeError when made by hand of what can't be.
    """

    name: str = field(validator=_text)
    pitch: Exact = field(converter=_exact_pitch)
    starts: int = field(default=1, validator=_some_starts)
    hand: str = field(default="right", validator=_a_hand)
    thread_angle_deg: Fraction | None = field(default=None, converter=_exact_angle)
    major_mm: Fraction | None = field(default=None, converter=_exact_diameter)
    tolerance_class: str | None = field(default=None, validator=_text)
    standard: str | None = field(default=None, validator=_text)
    taper: bool = False
    family: str | None = field(default=None, validator=_text)

    @classmethod
    def parse(cls, text: str) -> Thread:
        """Read a designation or plain trade speech.

        >>> Thread.parse("11 1/2 tpi").pitch_mm
        Fraction(254, 115)
        >>> Thread.parse("module 1.5").lead_mm
        3*pi/2

        `text`: at most 60 characters, any spacing or case, ASCII or ×, decimal point or comma.
        Raises ThreadTextError, with the nearest form that would have been understood; of a feed it says that it is one.
        Source: the designations of the standards in data/SOURCES.md.
        """
        try:
            return cls(**asdict(read_thread(text), recurse=False))
        except ThreadTextError:
            if _is_a_feed(text):
                problem = f"{quoted(normalise(text, what='a feed'))} is a feed, and a thread is wanted here"
                raise ThreadTextError(problem, remedy="Write it like 'M8' or '1.25 mm'.") from None
            raise

    @property
    def lead(self) -> Exact:
        """Travel in one turn, exact, in mm: starts × pitch."""
        return self.pitch * self.starts

    @property
    def pitch_mm(self) -> Fraction | sympy.Expr:
        """From one thread to the next along the axis: a Fraction, or a sympy number where π is in it."""
        return to_sympy(self.pitch) if isinstance(self.pitch, PiMultiple) else self.pitch

    @property
    def lead_mm(self) -> Fraction | sympy.Expr:
        """Travel in one turn: a Fraction, or a sympy number where π is in it."""
        return to_sympy(self.lead) if isinstance(self.lead, PiMultiple) else self.lead

    @property
    def flank_angle_deg(self) -> Fraction | None:
        """Half the thread angle; None where the form is not known."""
        return None if self.thread_angle_deg is None else self.thread_angle_deg / 2

    @property
    def note(self) -> str:
        """What the user should hear besides the pitch; empty when nothing."""
        if self.taper:
            return "Taper thread: this is its pitch along the axis. The taper is a set-up of its own."
        return ""

    def error_ppm(self, cut_lead_mm: Fraction | int) -> float:
        """Give how far a cut lead is off this thread, in ppm; positive when it is too long.

        >>> Thread.parse("1.27 mm").error_ppm(Fraction(127, 100))
        0.0
        """
        return RelativeError(as_fraction(cut_lead_mm, what="the cut lead"), self.lead).ppm

    def __str__(self) -> str:
        starts = "" if self.starts == 1 or "Ph" in self.name or "(P" in self.name else f" {self.starts} starts"
        grade = f"-{self.tolerance_class}" if self.tolerance_class else ""
        return f"{self.name}{grade}{starts}" + (" LH" if self.hand == "left" else "")

    @property
    def written(self) -> markup.Written:
        """Name, and lead both ways, for text, LaTeX and HTML."""
        return markup.plain(str(self)) + ": lead " + writing.lead(self.lead, self.starts)

    def _repr_html_(self) -> str:
        return self.written.html + (f"<br><small>{self.note}</small>" if self.note else "")


ThreadLike: TypeAlias = Thread | str
"""A thread as it may be handed over: itself, or its text."""


def as_thread(wanted: ThreadLike) -> Thread:
    """A Thread, or the Thread that a text designates.

    >>> as_thread("M8") == Thread.parse("M8x1.25")
    True

    Raises ThreadTextError for text that is no thread.
    """
    return wanted if isinstance(wanted, Thread) else Thread.parse(wanted)


# A feed.

NEAR_ENOUGH_PERCENT = 10
"""How far a feed may be off the one that is asked for. Our convention: no dimension of the work hangs on it."""

_UNITS_MM = {"mm": Fraction(1), "thou": INCH_MM / 1000, "in": INCH_MM, "inch": INCH_MM}
_FEED = re.compile(
    rf"(?:feed )?(?P<value>{NUMBER}) ?(?P<unit>{'|'.join(_UNITS_MM)})"
    r"(?: ?(?:/|per) ?(?:rev(?:olution)?|turn|r))?(?: (?P<along>cross|longitudinal))?",
    re.I | re.A,
)
_FEED_WORDS = (*_UNITS_MM, "feed", "per", "rev", "revolution", "turn", "cross", "longitudinal")
_REMEDY = "Write it like '0.12 mm/rev', '0.005 in/rev' or '5 thou', with 'cross' behind it for facing."


def _travel(x: object) -> Fraction:
    return as_number(x, what="a feed", most=100, above=True, unit="mm a turn")


def _a_way(_: object, __: Attribute[str], value: object) -> None:
    if not isinstance(value, str) or value not in ("longitudinal", "cross"):
        raise ValueOutOfRangeError("a feed goes along 'longitudinal' or 'cross'", value=shown(value))


@frozen
class Feed(ShownAsWritten):
    """Travel of the tool for one turn of the spindle; make one with Feed.parse.

    >>> feed = Feed.parse("5 thou cross")
    >>> feed.travel_mm, feed.along
    (Fraction(127, 1000), 'cross')

    `travel_mm`: exact, mm per turn of the spindle, more than 0 to 100; `along`: 'longitudinal' or 'cross'.
    Raises ValueOutOfRangeError when made by hand of what can't be.
    """

    travel_mm: Fraction = field(converter=_travel)
    along: str = field(default="longitudinal", validator=_a_way)

    @classmethod
    def parse(cls, text: str) -> Feed:
        """Read a feed: '0.12 mm/rev', '0.005 in/rev', '5 thou', each with 'cross' behind it or not.

        >>> print(Feed.parse("0,12 mm/rev"), "|", Feed.parse("0.004 in/rev"))
        0.12 mm/rev | 4 thou/rev

        `text`: at most 60 characters. Raises ThreadTextError for anything else.
        """
        shown = normalise(text, what="a feed")
        try:
            feed = _feed(shown)
        except GearcalcError as problem:
            raise ThreadTextError(f"in {quoted(shown)}, {problem.problem}", remedy=_REMEDY) from None
        if feed is None:
            near = put_right(shown, _FEED_WORDS, _feed_that_can_be)
            remedy = _REMEDY if near is None else f"The nearest form that would be: {quoted(near)}."
            raise ThreadTextError(f"{quoted(shown)} is not understood as a feed", remedy=remedy)
        return feed

    def __str__(self) -> str:
        # In the unit that says it exactly in the fewest signs, so that 4 thou are no 0.1016 mm; it can be read again.
        said = [(figure(self.travel_mm / _UNITS_MM[unit]), unit) for unit in ("mm", "thou", "in")]
        short = [(shown, unit) for shown, unit in said if re.fullmatch(NUMBER, shown, re.A)]
        shown, unit = min(short, key=lambda each: len(each[0]), default=said[-1])
        return f"{shown} {unit}/rev" + (" cross" if self.along == "cross" else "")

    @property
    def written(self) -> markup.Written:
        """The feed in mm and in thousandths of an inch, as it is named first, for text, LaTeX and HTML."""
        first: writing.Units = "mm" if " mm/" in str(self) else "inch"
        thou = writing.length(self.travel_mm / INCH_MM * 1000, "thou", 2)
        return both_units.both(writing.length(self.travel_mm, "mm/rev"), thou, first) + f" {self.along}"


def _feed(text: str) -> Feed | None:
    found = _FEED.fullmatch(text)
    if found is None:
        return None
    travel = parse_number(found["value"]) * _UNITS_MM[found["unit"].casefold()]
    return Feed(travel, (found["along"] or "longitudinal").casefold())


def _is_a_feed(text: str) -> bool:
    spoken_of = isinstance(text, str) and _SPEAKS_OF_A_FEED.search(text[:60])
    return bool(spoken_of) and _feed_that_can_be(normalise(text, what="a feed")) is not None


def _feed_that_can_be(text: str) -> Feed | None:
    try:
        return _feed(text)
    except GearcalcError:
        return None


FeedLike: TypeAlias = Feed | str
"""A feed as it may be handed over: itself, or its text."""
Wanted: TypeAlias = Thread | Feed
"""What can be asked of a lathe."""
WantedLike: TypeAlias = Wanted | str
"""The same as it may be handed over: itself, or its text."""
_SPEAKS_OF_A_FEED = re.compile(r"(?:/|per) ?(?:rev|turn|r\b)|thou\b|\bfeed\b|\bcross\b|\blongitudinal\b", re.I | re.A)


def as_wanted(wanted: WantedLike) -> Wanted:
    """A Thread or a Feed, or what a text says: a feed where it speaks of a turn, thou or the slide, else a thread.

    >>> print(as_wanted("M8"), "|", as_wanted("0.12 mm/rev cross"))
    M8x1.25 | 0.12 mm/rev cross

    Raises ThreadTextError for text that is neither.
    """
    if isinstance(wanted, str) and _SPEAKS_OF_A_FEED.search(wanted[:60]):  # longer text is refused unread
        return Feed.parse(wanted)
    return wanted if isinstance(wanted, Feed) else as_thread(wanted)


def wanted_hand(wanted: Wanted | None) -> str:
    """The hand that is wanted: a thread's own; 'right' for a feed, or when nothing is.

    >>> wanted_hand(Thread.parse("M8 LH"))
    'left'
    """
    return wanted.hand if isinstance(wanted, Thread) else "right"
