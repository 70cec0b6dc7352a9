"""How far the pitch diameter of a thread may be off: ISO 965-1 for metric threads, ASME B1.1 for Unified ones.

Every answer says where its number comes from, and whether that source was read (S), is second-hand (T), or is from
memory (M). What the tables leave out is refused, not worked out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache
from math import isqrt
from typing import NamedTuple

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import NotPossibleError, UnknownNameError
from gearcalc.basics.exact import INCH_MM, PiMultiple, parse_number
from gearcalc.basics.files import read_rows
from gearcalc.threads.wanted import Thread, ThreadLike, as_thread

METRIC, UNIFIED = "ISO 965-1", "ASME B1.1"
STATUS_IN_WORDS: Mapping[str, str] = {"S": "read", "T": "second-hand", "M": "from memory"}
"""What the status letters of data/SOURCES.md mean."""

_STANDARD_OF_FAMILY = {"metric": METRIC, "Unified": UNIFIED}
_USUAL_CLASS = {METRIC: "6g", UNIFIED: "2A"}
_METRIC_CLASS = re.compile(r"(?P<grade>[4-8])(?P<position>[efghGH])(?P<crest>[4-8][efghGH])?", re.ASCII)
_METRIC_CLASSES = "grades 4 to 8 with position e, f, g, h (external) or G, H (internal), like '6g', '6H' or '4g6g'"
_UNIFIED_CLASSES = "1A, 2A, 3A (external) and 1B, 2B, 3B (internal)"
_UM = Fraction(1, 1000)
_TEN_THOUSANDTH_INCH = Fraction(1, 10_000)
_ROOT_OF_3 = Fraction(isqrt(3 * 10**60), 10**30)


@frozen
class Tolerance:
    """How much the pitch diameter may vary, and who says so.

    >>> print(pitch_diameter_tolerance("M10", "6g"))
    132 µm (ISO 965-1, class 6g)

    `um`: the width in µm, exact. `internal`: a nut's, else a screw's. `status`: S, T or M as in data/SOURCES.md.
    """

    um: Fraction
    tolerance_class: str
    internal: bool
    standard: str
    status: str
    source: str

    @property
    def named(self) -> str:
        """Whose it is, with a word of doubt where its number was not read.

        >>> pitch_diameter_tolerance("M10", "4h").named
        'ISO 965-1, class 4h, from memory'
        """
        doubt = "" if self.status == "S" else f", {STATUS_IN_WORDS[self.status]}"
        return f"{self.standard}, class {self.tolerance_class}{doubt}"

    def __str__(self) -> str:
        return f"{writing.decimal(self.um, 0)} µm ({self.named})"


class Limits(NamedTuple):
    """The smallest and the largest diameter allowed, in mm, exact.

    >>> print(Limits(Fraction(8862, 1000), Fraction(8994, 1000)))
    8.862 to 8.994 mm
    """

    min_mm: Fraction
    max_mm: Fraction

    def __str__(self) -> str:
        return f"{writing.decimal(self.min_mm, 6)} to {writing.decimal(self.max_mm, 6)} mm"

    def _repr_html_(self) -> str:
        return str(self)


class _Class(NamedTuple):
    """A tolerance class taken apart; `grade` and `position` are of the pitch diameter."""

    name: str
    grade: str
    position: str

    @property
    def internal(self) -> bool:
        return self.position in "BGH"


def tolerance_standard(thread: Thread | str) -> str | None:
    """The standard whose tolerances are held here for a thread, or None: its family's own, never another's.

    >>> tolerance_standard("M10"), tolerance_standard("1/4-20"), tolerance_standard("1/2 BSW")
    ('ISO 965-1', 'ASME B1.1', None)

    Raises ThreadTextError for text that is no thread.
    """
    wanted = as_thread(thread)
    if wanted.family is None or wanted.major_mm is None or isinstance(wanted.pitch, PiMultiple):
        return None
    return _STANDARD_OF_FAMILY.get(wanted.family)


def basic_pitch_diameter(thread: Thread | str) -> Fraction:
    """d2 = D2 in mm: d − 3H/4 = d − 0.649519 P, rounded as its standard does (0.001 mm, or 0.0001 in).

    >>> float(basic_pitch_diameter("M10"))
    9.026

    Metric and Unified threads only; raises NotPossibleError for others.
    Source: ISO 724 and ISO 68-1; ASME B1.1.
    """
    return _basic_diameter(as_thread(thread), Fraction(3, 8))


def basic_minor_diameter(thread: Thread | str) -> Fraction:
    """D1 in mm: D − 5H/4 = D − 1.082532 P, rounded as its standard does (0.001 mm, or 0.0001 in).

    >>> float(basic_minor_diameter("M10"))
    8.376

    Metric and Unified threads only; raises NotPossibleError for others.
    Source: ISO 724 and ISO 68-1; ASME B1.1.
    """
    return _basic_diameter(as_thread(thread), Fraction(5, 8))


def _basic_diameter(thread: Thread, roots_of_3: Fraction) -> Fraction:
    step = _TEN_THOUSANDTH_INCH * INCH_MM if _standard_of(thread) == UNIFIED else _UM
    major, pitch = _sizes(thread)
    return round((major - roots_of_3 * _ROOT_OF_3 * pitch) / step) * step


def pitch_diameter_tolerance(thread: Thread | str, tolerance_class: str | None = None) -> Tolerance:
    """The pitch-diameter tolerance of a class.

    >>> pitch_diameter_tolerance("1/4-20", "2A").source[:9]
    'ASME B1.1'

    `tolerance_class`: like '6g', '6H', '4g6g' (the pitch-diameter part comes first), '2A', '3B'; None: the thread's
    own, else 6g or 2A. Unified tolerances are for the standard length of engagement: the major diameter (UNC, UNF
    and 4, 6 and 8 tpi) or nine pitches.
    Raises UnknownNameError for a class that isn't one, NotPossibleError where no tolerance is held here.
    Source: ISO 965-1 (table); ASME B1.1 (formula); data/tolerances/ says which cells are from memory.
    """
    wanted = as_thread(thread)
    standard = _standard_of(wanted)
    asked = _read_class(wanted, standard, tolerance_class)
    if standard == METRIC:
        width, status, source = metric_width_um(*_sizes(wanted), int(asked.grade), internal=asked.internal)
        return Tolerance(Fraction(width), asked.name, asked.internal, METRIC, status, source)
    row = unified_classes()[asked.name]
    um = unified_width_inches(*_in_inches(wanted), asked.name) * INCH_MM / _UM
    return Tolerance(um, asked.name, asked.internal, UNIFIED, row["status"], row["source"])


def pitch_diameter_limits(thread: ThreadLike, tolerance_class: str | None = None) -> Limits:
    """Give the smallest and largest pitch diameter that a class allows, in mm, exact: (min_mm, max_mm).

    >>> print(pitch_diameter_limits("M10", "6g"))
    8.862 to 8.994 mm
    >>> smallest, largest = pitch_diameter_limits("1/4-20", "2A")
    >>> float(smallest / INCH_MM), float(largest / INCH_MM)
    (0.2127, 0.2164)

    `thread`: a Thread or its text; `tolerance_class`: like '6g', '6H', '2A', None: the thread's own, else 6g or 2A.
    Unified limits are rounded to 0.0001 in, as published.
    Raises UnknownNameError for a class that isn't one, NotPossibleError where no tolerance or deviation is held here.
    Source: ISO 965-1 and ISO 724; ASME B1.1.
    """
    wanted = as_thread(thread)
    standard = _standard_of(wanted)
    asked = _read_class(wanted, standard, tolerance_class)
    width = pitch_diameter_tolerance(wanted, asked.name).um * _UM
    start, step = basic_pitch_diameter(wanted), _UM
    if standard == METRIC:
        start += metric_deviation_um(_sizes(wanted)[1], asked.position) * _UM
    else:
        start -= unified_allowance_inches(*_in_inches(wanted), asked.name) * INCH_MM
        step = _TEN_THOUSANDTH_INCH * INCH_MM
    end = round((start + width if asked.internal else start - width) / step) * step
    return Limits(start, end) if asked.internal else Limits(end, start)


def length_of_engagement_group(thread: Thread | str, length_mm: float | Fraction) -> str:
    """Whether a length of engagement is short (S), normal (N) or long (L) for a metric thread.

    >>> [length_of_engagement_group("M10", mm) for mm in (5, 10, 15.5)]
    ['S', 'N', 'L']

    `length_mm`: more than 0. Normal is over the first and up to the second bound of the table.
    Raises NotPossibleError for other threads and for sizes that the table leaves out: ASME B1.1 has no such groups.
    Source: ISO 965-1, table of lengths of engagement (data/tolerances/iso965_engagement.csv).
    """
    wanted, length = as_thread(thread), as_number(length_mm, what="the length of engagement", above=True)
    if tolerance_standard(wanted) != METRIC:
        raise NotPossibleError(f"lengths of engagement in groups S, N and L are for metric threads, not for {wanted}")
    over, to = normal_engagement_mm(*_sizes(wanted))
    return "S" if length <= over else "N" if length <= to else "L"


def _standard_of(thread: Thread) -> str:
    standard = tolerance_standard(thread)
    if standard is None:
        raise NotPossibleError(
            f"no pitch-diameter tolerance is held here for {thread}",
            remedy=f"Metric (M) threads are toleranced by {METRIC}, Unified ones by {UNIFIED}.",
        )
    return standard


def _sizes(thread: Thread) -> tuple[Fraction, Fraction]:
    """Major diameter and pitch in mm; both are known and free of π where there is a tolerance standard."""
    assert thread.major_mm is not None
    assert isinstance(thread.pitch, Fraction)
    return thread.major_mm, thread.pitch


def _in_inches(thread: Thread) -> tuple[Fraction, Fraction, Fraction]:
    """Diameter, pitch and the standard length of engagement of a Unified thread."""
    diameter, pitch = (size / INCH_MM for size in _sizes(thread))
    by_diameter = thread.name.endswith(("UNC", "UNF")) or 1 / pitch in (4, 6, 8)
    return diameter, pitch, diameter if by_diameter else 9 * pitch


def _read_class(thread: Thread, standard: str, given: object) -> _Class:
    name = given if given is not None else thread.tolerance_class or _USUAL_CLASS[standard]
    text = str.strip(name) if isinstance(name, str) and len(name) <= 20 else ""
    if standard == UNIFIED:
        text = text.upper()
        if text in unified_classes():
            return _Class(text, text[0], text[1])
        raise UnknownNameError(f"the classes of a Unified thread are {_UNIFIED_CLASSES}", value=name)
    found = _METRIC_CLASS.fullmatch(text)
    if found is None or (found["crest"] and found["crest"][-1].isupper() != found["position"].isupper()):
        raise UnknownNameError(f"the classes of a metric thread known here are {_METRIC_CLASSES}", value=name)
    return _Class(text, found["grade"], found["position"])


# ISO 965-1, looked up in data/tolerances/. The table rules where the standard's formula gives another value. Grade 6 is
# tabulated; each other grade lies whole steps of the R40 series of preferred numbers (ISO 3) away from it.

_R40_STEPS_PER_GRADE = 4
_WIDEST_GRADE, _WIDEST_FROM_MM = 8, Fraction(4, 5)
_R40_DECADE = (
    100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280, 300,
    315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850, 900, 950,
)  # fmt: skip
# In whole µm; the halves go to the even number, as in the standard's table.
_R40_UM = tuple(round(Fraction(value, 10)) for value in _R40_DECADE) + _R40_DECADE


def metric_width_um(major_mm: Fraction, pitch_mm: Fraction, grade: int, *, internal: bool) -> tuple[int, str, str]:
    """The pitch-diameter tolerance of a grade, µm, with the status (S, T, M) and the source of its cell.

    >>> metric_width_um(Fraction(10), Fraction(3, 2), 6, internal=False)[:2]
    (132, 'S')

    `grade`: 4 to 8; 8 from a pitch of 0.8 mm on, since the standard has none below (from memory).
    Raises NotPossibleError for a size that the table leaves out, and for that.
    """
    if grade == _WIDEST_GRADE and pitch_mm < _WIDEST_FROM_MM:
        raise NotPossibleError(
            f"ISO 965-1 has no grade {grade} for a pitch below {writing.number(_WIDEST_FROM_MM)} mm (from memory)",
            remedy="Take grade 4 to 7.",
        )
    kind = "internal" if internal else "external"
    row = _row_for(major_mm, pitch_mm, _by_pitch("iso965_pitch_diameter", kind), "pitch-diameter tolerance")
    steps = (grade - 6) * _R40_STEPS_PER_GRADE
    if not steps:
        return int(row["grade6_um"]), row["status"], row["source"]
    way = "up" if steps > 0 else "down"
    source = f"{row['source']}; grade {grade} is {abs(steps)} steps of the R40 series {way} (rule from memory)"
    return _R40_UM[_R40_UM.index(int(row["grade6_um"])) + steps], "M", source


def metric_deviation_um(pitch_mm: Fraction, position: str) -> int:
    """Where the tolerance zone starts, in µm from the basic diameter; h and H start at it.

    >>> metric_deviation_um(Fraction(3, 2), "g"), metric_deviation_um(Fraction(3, 2), "H")
    (-32, 0)

    `position`: e, f, g, h (external), G, H (internal). Raises NotPossibleError for e and f and for other pitches.
    """
    if position in "hH":
        return 0
    for row in read_rows("tolerances/iso965_deviations.csv"):
        if row["position"] == position and parse_number(row["pitch_mm"]) == pitch_mm:
            return int(row["deviation_um"])
    raise NotPossibleError(
        f"our table of ISO 965-1 has no deviation of position {position} for a pitch of {writing.number(pitch_mm)} mm",
        remedy="It holds g and G for the standard pitches; h and H have none. The width of the tolerance is known.",
    )


def normal_engagement_mm(major_mm: Fraction, pitch_mm: Fraction) -> tuple[Fraction, Fraction]:
    """The bounds of a normal length of engagement: over the first, up to the second.

    >>> normal_engagement_mm(Fraction(10), Fraction(3, 2))
    (Fraction(5, 1), Fraction(15, 1))

    Raises NotPossibleError for a size that the table leaves out.
    """
    row = _row_for(major_mm, pitch_mm, _by_pitch("iso965_engagement"), "length of engagement")
    return parse_number(row["normal_over_mm"]), parse_number(row["normal_to_mm"])


_Steps = list[tuple[Fraction, Fraction, Mapping[str, str]]]
"""Rows of a table for one pitch, each with the diameters that it is for: over the first, up to the second."""


@cache
def _by_pitch(name: str, kind: str | None = None) -> Mapping[Fraction, _Steps]:
    found: dict[Fraction, _Steps] = {}
    for row in read_rows(f"tolerances/{name}.csv"):
        if kind in (None, row.get("kind")):
            over, to, pitch = (parse_number(row[column]) for column in ("d_over_mm", "d_to_mm", "pitch_mm"))
            found.setdefault(pitch, []).append((over, to, row))
    return found


def _row_for(major_mm: Fraction, pitch_mm: Fraction, steps: Mapping[Fraction, _Steps], what: str) -> Mapping[str, str]:
    for over, to, row in steps.get(pitch_mm, ()):
        if over < major_mm <= to:
            return row
    raise NotPossibleError(
        f"our table of ISO 965-1 has no {what} for a pitch of {writing.number(pitch_mm)} mm "
        f"on {writing.number(major_mm)} mm",
        remedy="It holds the usual pitches of M1 to M90; see the standard itself for others.",
    )


# ASME B1.1, worked out in inches with the roundings of the standard.


@cache
def unified_classes() -> Mapping[str, Mapping[str, str]]:
    """Class -> its row in data/tolerances/: the multiple of class 2A that it is, status and source.

    >>> unified_classes()["2B"]["of_2A"]
    '1.3'
    """
    return {row["class"]: row for row in read_rows("tolerances/unified_classes.csv")}


def unified_width_inches(diameter: Fraction, pitch: Fraction, engagement: Fraction, name: str) -> Fraction:
    """The pitch-diameter tolerance of a class, to six places.

    >>> float(unified_width_inches(Fraction(1, 4), Fraction(1, 20), Fraction(1, 4), "2A"))
    0.003731

    `diameter`, `pitch`, `engagement`: inches, more than zero; `name`: one of unified_classes().
    """
    return _to_places(_class_2a(diameter, pitch, engagement) * parse_number(unified_classes()[name]["of_2A"]), 6)


def unified_allowance_inches(diameter: Fraction, pitch: Fraction, engagement: Fraction, name: str) -> Fraction:
    """The gap that 1A and 2A leave below the basic size, to four places: 0.3 of the 2A tolerance.

    >>> float(unified_allowance_inches(Fraction(1, 4), Fraction(1, 20), Fraction(1, 4), "2A"))
    0.0011

    Arguments as for unified_width_inches.
    """
    if name not in ("1A", "2A"):
        return Fraction(0)
    return _to_places(_class_2a(diameter, pitch, engagement) * Fraction(3, 10), 4)


def _class_2a(diameter: Fraction, pitch: Fraction, engagement: Fraction) -> Fraction:
    """0.0015 D^(1/3) + 0.0015 √LE + 0.015 P^(2/3), to six places."""
    with localcontext() as context:
        context.prec = 40
        size, length, step = (Decimal(x.numerator) / x.denominator for x in (diameter, engagement, pitch))
        third = Decimal(1) / 3
        width = Decimal("0.0015") * (size**third + length.sqrt()) + Decimal("0.015") * step ** (2 * third)
        return _to_places(Fraction(width), 6)


def _to_places(x: Fraction, places: int) -> Fraction:
    return Fraction(round(x * 10**places), 10**places)
