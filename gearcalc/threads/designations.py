"""What the files of the thread families share: facts, families, the forms that a thread is written in; plain pitches.

A form is a pattern with a short reader, from matched text to facts, and examples.

Digits are ASCII and capped, and nothing is ever evaluated. The first pattern that matches the whole text decides.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from attrs import frozen

from gearcalc.basics.errors import ThreadTextError
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, parse_number, threads_per_inch
from gearcalc.basics.writing import mixed, number

MOST_STARTS = 60


@frozen
class Facts:
    """What a designation says: `name` as it is best written, lengths in mm, angles in degrees.

    `family`: whose thread it is ('metric', 'Unified', 'Whitworth' ...), None for a pitch or lead alone. Tolerances,
    depth and infeed go by it, never by the angle: two families may share that and nothing else.
    """

    name: str
    pitch: Exact
    starts: int = 1
    hand: str = "right"
    major_mm: Fraction | None = None
    tolerance_class: str | None = None
    standard: str | None = None
    taper: bool = False
    family: str | None = None
    thread_angle_deg: Fraction | None = None


@frozen
class Family:
    """Whose thread it is: its name, the angle between its flanks, and its form among those of data/threads/depths.csv.

    `angle_deg`, `form`: None where the drawing decides, or nothing is held here.
    """

    name: str
    angle_deg: Fraction | None = None
    form: str | None = None

    def said(self, name: str, pitch: Exact, **more: Any) -> Facts:
        """What a designation of this family says."""
        return Facts(name, pitch, family=self.name, thread_angle_deg=self.angle_deg, **more)


class Form(NamedTuple):
    """A form a thread is written in; `examples` are shown to who wrote something that is much like them."""

    pattern: re.Pattern[str]
    reader: Callable[[re.Match[str]], Facts]
    examples: tuple[str, ...]


def form(pattern: str, reader: Callable[[re.Match[str]], Facts], *examples: str) -> Form:
    """A form, from a pattern in which a space means 'a space or none' and \\x20 one that must be there."""
    return Form(re.compile(pattern.replace(" ", " ?"), re.I | re.A), reader, examples)


DECIMAL = r"(?:\d{0,6}[.,]\d{1,6}|\d{1,6})"
NUMBER = rf"(?:\d{{1,4}}[\x20-]\d{{1,4}}/\d{{1,4}}|\d{{1,6}}/\d{{1,6}}|{DECIMAL})"
"""Pattern of a number: 11 1/2, 3/8, 1.25 or 1,25; at most six digits on either side of a point or slash."""

SIZE = rf"(?P<size>{NUMBER})(?: in(?:ch)?)?"
TPI = rf"(?: - (?P<tpi>{NUMBER}))?"
_UNIT = r"(?P<unit>mm|in(?:ch)?)"


def classed(grade: str) -> str:
    """The pattern of a tolerance class behind the size, or none."""
    return rf"(?:(?: - |\x20)(?P<grade>{grade}))?"


def pitch_of(tpi: Fraction, *, what: str = "threads per inch") -> Fraction:
    """The pitch in mm; raises ThreadTextError for none."""
    if tpi <= 0:
        raise ThreadTextError(f"{what} must be more than zero")
    return INCH_MM / tpi


def figure(x: Fraction) -> str:
    """A number so that NUMBER reads it again: a decimal where it ends, else a fraction, in two parts if it is long.

    >>> figure(Fraction(5, 4)), figure(Fraction(5, 3)), figure(999 + Fraction(1, 9999))
    ('1.25', '5/3', '999 1/9999')
    """
    shown = number(x).text
    whole, part = divmod(x, 1)
    return shown if whole == 0 or re.fullmatch(NUMBER, shown, re.A) else f"{whole} {part}"


def hyphened(x: Fraction) -> str:
    """11/8 as the trade writes it, 1-3/8; a decimal fraction that is no binary one as a decimal."""
    return mixed(x).replace(" ", "-") if x.denominator in (1, 2, 4, 8, 16, 32, 64) else figure(x)


def nearest_sizes(
    size: Fraction, sizes: Iterable[Fraction], mark: str, written: Callable[[Fraction], str] = hyphened
) -> str:
    """The two listed sizes that come nearest, in words."""
    nearest = sorted(set(sizes), key=lambda other: (abs(other - size), other))[:2]
    return " or ".join(mark.format(written(other)) for other in sorted(nearest))


def grade_of(found: re.Match[str]) -> str | None:
    """The tolerance class that stands there, in capitals; None for none."""
    grade = found.groupdict().get("grade")
    return grade.upper() if grade else None


def listed_pitch(found: re.Match[str], mark: str, table: Mapping[Fraction, Fraction]) -> tuple[str, Fraction]:
    """Name and pitch of a listed inch size; what the text says must agree with the table."""
    size = parse_number(found["size"])
    name = mark.format(hyphened(size))
    if size not in table:
        near = nearest_sizes(size, table, mark)
        raise ThreadTextError(f"there is no {name} in the table", remedy=f"The nearest: {near}.")
    said = found.groupdict().get("tpi")
    if said and parse_number(said) != table[size]:
        raise ThreadTextError(f"{name} has {number(table[size])} tpi, not {said}", remedy=f"Write '{name}'.")
    return name, pitch_of(table[size])


# Plain pitch, threads per inch, lead.


def _length(found: re.Match[str]) -> tuple[str, Fraction]:
    """A length as it is best written, in its own unit, and in mm."""
    value = parse_number(found["value"])
    metric = found["unit"].casefold() == "mm"
    return (f"{figure(value)} mm", value) if metric else (f"{hyphened(value)} in", value * INCH_MM)


def _read_pitch(found: re.Match[str]) -> Facts:
    shown, pitch = _length(found)
    if shown.endswith("mm"):
        return Facts(shown, pitch)
    if not (found["before"] or found["after"]):
        raise ThreadTextError(
            "an inch dimension alone could be a size or a pitch",
            remedy=f"Write '{shown} pitch' for a pitch, or size and threads per inch, like '1/2-13'.",
        )
    return Facts(f"{shown} pitch", pitch)


def lead_name(lead: Exact) -> str:
    """A lead or pitch by itself, as one writes it down to cut it; read as a thread, it is that lead again.

    >>> lead_name(Fraction(508, 85)), lead_name(Fraction(4, 5)), lead_name(PiMultiple(Fraction(3, 2)))
    ('4 1/4 tpi', '0.8 mm', 'module 1.5')
    >>> lead_name(PiMultiple(Fraction(127, 90))), lead_name(PiMultiple(Fraction(254, 125)))
    ('DP 18', 'DP 12.5')

    `lead`: mm, exact; where no decimal of at most 6 places is exact, a fraction of a millimetre is said.
    """
    if isinstance(lead, PiMultiple):
        teeth = INCH_MM / lead.coefficient
        return f"DP {figure(teeth)}" if 8 % teeth.denominator == 0 else f"module {number(lead.coefficient)}"
    per_inch = threads_per_inch(lead)
    return f"{number(lead)} mm" if per_inch is None else f"{mixed(per_inch)} tpi"


def _read_tpi(found: re.Match[str]) -> Facts:
    per_inch = parse_number(found["value"])
    return Facts(f"{hyphened(per_inch).replace('-', ' ')} tpi", pitch_of(per_inch))


def _read_lead(found: re.Match[str]) -> Facts:
    shown, lead = _length(found)
    return Facts(f"lead {shown}", lead)


FORMS = (
    form(rf"(?P<before>pitch )?(?P<value>{NUMBER}) {_UNIT}(?P<after> pitch)?", _read_pitch, "1.25 mm", "0.05 in pitch"),
    form(
        rf"(?P<value>{NUMBER}) (?:tpi|t\.p\.i\.|threads? per inch|threads?/in(?:ch)?)",
        _read_tpi,
        "16 tpi",
        "11 1/2 tpi",
        "16 tpi LH",
    ),
    form(rf"(?:lead (?P<value>{NUMBER}) {_UNIT})", _read_lead, "lead 3/8 in", "lead 6 mm 2 starts"),
    form(rf"(?P<value>{NUMBER}) {_UNIT} lead", _read_lead),
)
"""Those of no family, in the order in which they are tried."""
