"""ISO 965-1, looked up in data/tolerances/: pitch-diameter tolerances, deviations, lengths of engagement.

The table rules where the standard's formula gives another value. Grade 6 is tabulated; each other grade lies whole
steps of the R40 series of preferred numbers (ISO 3) away from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import NamedTuple

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import parse_number
from gearcalc.basics.resources import read_rows
from gearcalc.basics.writing import number

_R40_STEPS_PER_GRADE = 4
_WIDEST_GRADE, _WIDEST_FROM_MM = 8, Fraction(4, 5)
_R40_DECADE = (
    100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280, 300,
    315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850, 900, 950,
)  # fmt: skip
# In whole µm; the halves go to the even number, as in the standard's table.
_R40_UM = tuple(round(Fraction(value, 10)) for value in _R40_DECADE) + _R40_DECADE


class Width(NamedTuple):
    """A tolerance in µm, with the status (S, T, M) and the source of the cell that it came from."""

    um: int
    status: str
    source: str


def width_um(major_mm: Fraction, pitch_mm: Fraction, grade: int, *, internal: bool) -> Width:
    """The pitch-diameter tolerance of a grade.

    >>> width_um(Fraction(10), Fraction(3, 2), 6, internal=False).um
    132

    `grade`: 4 to 8; 8 from a pitch of 0.8 mm on, since the standard has none below (from memory).
    Raises NotPossibleError for a size that the table leaves out, and for that.
    """
    if grade == _WIDEST_GRADE and pitch_mm < _WIDEST_FROM_MM:
        raise NotPossibleError(
            f"ISO 965-1 has no grade {grade} for a pitch below {number(_WIDEST_FROM_MM)} mm (from memory)",
            remedy="Take grade 4 to 7.",
        )
    kind = "internal" if internal else "external"
    rows = [row for row in read_rows("tolerances/iso965_pitch_diameter.csv") if row["kind"] == kind]
    row = _row_for(major_mm, pitch_mm, rows, "pitch-diameter tolerance")
    steps = (grade - 6) * _R40_STEPS_PER_GRADE
    if not steps:
        return Width(int(row["grade6_um"]), row["status"], row["source"])
    way = "up" if steps > 0 else "down"
    source = f"{row['source']}; grade {grade} is {abs(steps)} steps of the R40 series {way} (rule from memory)"
    return Width(_R40_UM[_R40_UM.index(int(row["grade6_um"])) + steps], "M", source)


def fundamental_deviation_um(pitch_mm: Fraction, position: str) -> int:
    """Where the tolerance zone starts, in µm from the basic diameter; h and H start at it.

    >>> fundamental_deviation_um(Fraction(3, 2), "g"), fundamental_deviation_um(Fraction(3, 2), "H")
    (-32, 0)

    `position`: e, f, g, h (external), G, H (internal). Raises NotPossibleError for e and f and for other pitches.
    """
    if position in "hH":
        return 0
    for row in read_rows("tolerances/iso965_deviations.csv"):
        if row["position"] == position and parse_number(row["pitch_mm"]) == pitch_mm:
            return int(row["deviation_um"])
    raise NotPossibleError(
        f"our table of ISO 965-1 has no deviation of position {position} for a pitch of {number(pitch_mm)} mm",
        remedy="It holds g and G for the standard pitches; h and H have none. The width of the tolerance is known.",
    )


def normal_engagement_mm(major_mm: Fraction, pitch_mm: Fraction) -> tuple[Fraction, Fraction]:
    """The bounds of a normal length of engagement: over the first, up to the second.

    >>> normal_engagement_mm(Fraction(10), Fraction(3, 2))
    (Fraction(5, 1), Fraction(15, 1))

    Raises NotPossibleError for a size that the table leaves out.
    """
    row = _row_for(major_mm, pitch_mm, read_rows("tolerances/iso965_engagement.csv"), "length of engagement")
    return parse_number(row["normal_over_mm"]), parse_number(row["normal_to_mm"])


def _row_for(
    major_mm: Fraction, pitch_mm: Fraction, rows: list[Mapping[str, str]] | tuple[Mapping[str, str], ...], what: str
) -> Mapping[str, str]:
    for row in rows:
        in_step = parse_number(row["d_over_mm"]) < major_mm <= parse_number(row["d_to_mm"])
        if in_step and parse_number(row["pitch_mm"]) == pitch_mm:
            return row
    raise NotPossibleError(
        f"our table of ISO 965-1 has no {what} for a pitch of {number(pitch_mm)} mm on {number(major_mm)} mm",
        remedy="It holds the usual pitches of M1 to M90; see the standard itself for others.",
    )
