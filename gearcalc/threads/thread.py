"""A thread: what is wanted on the part. Exact pitch and lead, starts, hand, and what its designation says."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from attrs import Attribute, field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, RelativeError, as_exact, as_fraction, coefficient, to_sympy
from gearcalc.threads import tables
from gearcalc.threads.forms import MOST_STARTS, Facts
from gearcalc.threads.text import read_thread

if TYPE_CHECKING:
    import sympy


def _exact_pitch(x: object) -> Exact:
    pitch = as_exact(x, what="a pitch")
    if coefficient(pitch) <= 0:
        raise ValueOutOfRangeError("a pitch must be more than zero", value=coefficient(pitch))
    return pitch


def _some_starts(_: object, __: Attribute[int], value: object) -> None:
    if not isinstance(value, int) or not 1 <= value <= MOST_STARTS:
        raise ValueOutOfRangeError(f"a thread has a whole number of starts, 1 to {MOST_STARTS}", value=value)


def _exact_angle(x: object) -> Fraction | None:
    return None if x is None else as_fraction(x, what="the angle between the flanks")


def _exact_diameter(x: object) -> Fraction | None:
    return None if x is None else as_fraction(x, what="the diameter")


def _an_angle(_: object, __: Attribute[Fraction | None], value: Fraction | None) -> None:
    if value is not None and not 0 < value < 180:
        raise ValueOutOfRangeError("the angle between the flanks is over 0 and below 180 degrees", value=value)


def _a_diameter(_: object, __: Attribute[Fraction | None], value: Fraction | None) -> None:
    if value is not None and value <= 0:
        raise ValueOutOfRangeError("a diameter must be more than zero", value=value)


def _text(_: object, attribute: Attribute[Any], value: object) -> None:
    if not isinstance(value, str) and (value is not None or attribute.default is not None):
        raise ValueOutOfRangeError(f"the {attribute.name.replace('_', ' ')} of a thread is text", value=value)


def _a_hand(_: object, __: Attribute[str], value: object) -> None:
    if value not in ("right", "left"):
        raise ValueOutOfRangeError("a hand must be 'right' or 'left'", value=value)


@frozen
class Thread:
    """A thread as designated; make one with Thread.parse.

    >>> thread = Thread.parse("M16xPh3P1.5-6g LH")
    >>> thread.pitch_mm, thread.lead_mm, thread.starts, thread.hand
    (Fraction(3, 2), Fraction(3, 1), 2, 'left')
    >>> print(thread)
    M16xPh3P1.5-6g LH

    `pitch` is exact in mm (a Fraction, or a PiMultiple for module and diametral-pitch worms); `starts` 1 to 60;
    `hand` 'right' or 'left'; `thread_angle_deg` the included angle, `major_mm` and `tolerance_class` where given,
    else None; `standard` names the standard that lists this size with this pitch; `taper` for NPT, R and Rc.
    `family`: 'metric', 'Unified', 'Whitworth', 'BSP', 'BA', 'NPT', 'trapezoidal', 'Acme', 'module' or 'diametral
    pitch', None for a pitch or lead alone. It decides tolerances, depth and infeed; a family of another name has none.
    Raises ValueOutOfRangeError when made by hand of what can't be.
    """

    name: str = field(validator=_text)
    pitch: Exact = field(converter=_exact_pitch)
    starts: int = field(default=1, validator=_some_starts)
    hand: str = field(default="right", validator=_a_hand)
    thread_angle_deg: Fraction | None = field(default=None, converter=_exact_angle, validator=_an_angle)
    major_mm: Fraction | None = field(default=None, converter=_exact_diameter, validator=_a_diameter)
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
        Raises ThreadTextError, with the nearest form that would have been understood.
        Source: the designations of the standards in data/SOURCES.md.
        """
        return cls(**_fields(read_thread(text)))

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
        """How far a cut lead is off this thread, in ppm; positive when it is too long.

        >>> Thread.parse("1.27 mm").error_ppm(Fraction(127, 100))
        0.0
        """
        return RelativeError(as_fraction(cut_lead_mm, what="the cut lead"), self.lead).ppm

    def __str__(self) -> str:
        starts = "" if self.starts == 1 or "Ph" in self.name or "(P" in self.name else f" {self.starts} starts"
        grade = f"-{self.tolerance_class}" if self.tolerance_class else ""
        return f"{self.name}{grade}{starts}" + (" LH" if self.hand == "left" else "")

    @property
    def written(self) -> writing.Written:
        """Name, and lead both ways, for text, LaTeX and HTML."""
        name = str(self)
        shown = writing.plain(name)
        by = self.family in ("metric", "trapezoidal")
        pretty = writing.Written(shown.text, shown.latex, shown.html.replace("x", "×") if by else shown.html)
        return pretty + ": lead " + writing.lead(self.lead, self.starts)

    def _repr_html_(self) -> str:
        return self.written.html + (f"<br><small>{self.note}</small>" if self.note else "")

    def _repr_latex_(self) -> str:
        return f"${self.written.latex}$"


def _fields(facts: Facts) -> dict[str, Any]:
    return {name: getattr(facts, name) for name in Facts.__slots__}


def as_thread(wanted: Thread | str) -> Thread:
    """A Thread, or the Thread that a text designates.

    >>> as_thread("M8") == Thread.parse("M8x1.25")
    True

    Raises ThreadTextError for text that is no thread.
    """
    return wanted if isinstance(wanted, Thread) else Thread.parse(wanted)


@cache
def standard_threads() -> tuple[Thread, ...]:
    """Every thread that the tables in data/ list, the preferred modules last.

    >>> len(standard_threads()) > 400
    True
    """
    number = writing.number
    names = [f"M{number(d)}x{number(p)}" for d, pitches in tables.metric_pitches().items() for p in pitches]
    names += [f"{tables.unified_names()[d]}-{number(tpi)}" for (_, d), tpi in tables.unified_pitches().items()]
    names += [f"{number(d)} {series}" for series, d in tables.whitworth_pitches()]
    names += [f"{size} BA" for size in tables.ba_sizes()]
    names += [f"G {number(size)}" for size in tables.pipe_pitches()]
    names += [f"{number(size)} NPT" for size in tables.npt_pitches()]
    names += [f"Tr {number(d)}x{number(p)}" for d, pitches in tables.trapezoidal_pitches().items() for p in pitches]
    names += [f"{number(size)} Acme" for size in tables.acme_pitches()]
    names += [f"module {number(module)}" for module in tables.modules()]
    return tuple(dict.fromkeys(Thread.parse(name) for name in names))


def nearest_threads(lead_mm: Fraction | int | str, within_ppm: float = 1000) -> list[Thread]:
    """Standard threads that a cut lead would pass for, the closest first.

    >>> [str(thread) for thread in nearest_threads(Fraction(127, 100))][:2]
    ['1/4-20 UNC', '7/16-20 UNF']

    `lead_mm`: the lead cut, mm, more than zero. `within_ppm`: how far off still counts, 0 or more.
    Single-start threads only, since those are what the tables list. Ask each for its error: thread.error_ppm(lead).
    Raises ValueOutOfRangeError for a lead that is no positive number, or a bound below zero.
    """
    cut = as_fraction(lead_mm, what="the lead")
    if cut <= 0:
        raise ValueOutOfRangeError("a lead must be more than zero", value=cut, remedy="Give it in millimetres.")
    share = as_fraction(within_ppm, what="within_ppm") / 1_000_000
    if share < 0:
        raise ValueOutOfRangeError("within_ppm must be zero or more", value=within_ppm)
    allowed = RelativeError(1 + share, Fraction(1))
    misses = [(RelativeError(cut, lead), threads) for lead, threads in _threads_by_lead().items()]
    near = sorted(((miss, threads) for miss, threads in misses if miss <= allowed), key=itemgetter(0))
    return [thread for _, threads in near for thread in threads]


@cache
def _threads_by_lead() -> dict[Exact, list[Thread]]:
    by_lead: dict[Exact, list[Thread]] = {}
    for thread in standard_threads():
        by_lead.setdefault(thread.lead, []).append(thread)
    return by_lead
