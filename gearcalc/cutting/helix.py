"""How steeply a thread winds, and how the sides of its tool are ground so that they don't rub.

Unroll one turn of the pitch cylinder: it is π·d2 round and one lead along, so tan(helix angle) = lead / (π·d2). Seen
from where the tool stands the groove leans by that angle. The side of the tool that leads needs so much clearance on
top of its usual few degrees, the side that trails so much less, which may come to less than nothing: it is undercut.
"""

from __future__ import annotations

from math import atan, degrees, pi, radians, tan

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_units
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import NumberLike
from gearcalc.basics.writing import Units
from gearcalc.cutting.depths import thread_depth
from gearcalc.threads import Thread, ThreadLike, as_thread

CLEARANCE_DEG = 3.0
"""What a side has beyond the helix angle: common practice, no source."""
STEEP_DEG = 4.0
"""From here on the usual clearance of a tool is used up: our convention."""
_WIDEST_MM, _MOST_DEG = 10_000, 20


@frozen
class HelixAngle:
    """How steeply a thread winds. Made by helix_angle(). Numbers are floats.

    `thread`: a Thread; `pitch_diameter_mm`: on which the angle is taken, a float; `angle_deg`: from the plane square to
    the axis; `clearance_deg`: of each side beyond the groove's own lean; `units`: what is read first.
    """

    thread: Thread
    pitch_diameter_mm: float
    angle_deg: float
    clearance_deg: float = CLEARANCE_DEG
    units: Units = "mm"

    @property
    def leading_deg(self) -> float:
        """Side clearance of the side that leads: towards the headstock for a right-hand thread."""
        return self.angle_deg + self.clearance_deg

    @property
    def trailing_deg(self) -> float:
        """Side clearance of the side that trails; below nought the side leans the same way as the other."""
        return self.clearance_deg - self.angle_deg

    @property
    def is_steep(self) -> bool:
        """Whether a tool ground as usual would rub."""
        return self.angle_deg >= STEEP_DEG

    @property
    def leading_side(self) -> str:
        """Which side of the tool leads, seen from behind the tool, the headstock on the left."""
        return "left" if self.thread.hand == "right" else "right"

    def __str__(self) -> str:
        lead, trail = (f"{writing.decimal(angle, 1)}°" for angle in (self.leading_deg, self.trailing_deg))
        return (
            f"{self.thread}: helix angle {writing.decimal(self.angle_deg, 1)}° at a pitch diameter of "
            f"{both_units.reading(self.pitch_diameter_mm, self.units)}; side clearance {lead} on the leading side, "
            f"{trail} on the other"
        )

    def _repr_html_(self) -> str:
        rows = [
            ("lead", str(writing.lead(self.thread.lead, self.thread.starts, self.units))),
            ("pitch diameter", both_units.reading(self.pitch_diameter_mm, self.units)),
            ("helix angle", f"{writing.decimal(self.angle_deg, 1)}°"),
            (f"leading side of the tool ({self.leading_side})", f"{writing.decimal(self.leading_deg, 1)}°"),
            ("the other side", f"{writing.decimal(self.trailing_deg, 1)}°"),
        ]
        said = f"Each side has {writing.decimal(self.clearance_deg, 1)}° more than the groove leans (common practice)."
        return markup.html_table(f"Side clearance for {self.thread}", rows, note=said)


def helix_angle(
    thread: ThreadLike,
    pitch_diameter_mm: NumberLike | None = None,
    *,
    clearance_deg: NumberLike = CLEARANCE_DEG,
    units: Units = "mm",
) -> HelixAngle:
    """Reckon how steeply a thread winds, and the side clearance that its tool needs.

    >>> print(helix_angle("Tr 40x14(P7)"))
    Tr 40x14(P7): helix angle 7° at a pitch diameter of 36.5 mm; side clearance 10° on the leading side, \
−4° on the other
    >>> round(helix_angle("M10").angle_deg, 2)
    3.03

    `thread`: a Thread or its text. `pitch_diameter_mm`: more than 0 to 10 000 mm; None: the basic one of the form of
    its family, the full diameter less twice the addendum. `clearance_deg`: 0 to 20, of each side beyond the groove's
    lean. `units`: what is read first, 'mm' or 'inch'.
    Raises ThreadTextError for text that is no thread, NotPossibleError where neither diameter nor form is known,
    ValueOutOfRangeError for what is out of range.
    Formula: tan(angle) = lead / (π · pitch diameter); the addendum of a form stands in data/threads/depths.csv.
    """
    wanted, first = as_thread(thread), as_units(units)
    clearance = as_number(clearance_deg, what="the clearance of a side", most=_MOST_DEG, unit="degrees")
    if pitch_diameter_mm is None:
        across = _basic_mm(wanted)
    else:
        what = "the pitch diameter"
        across = float(as_number(pitch_diameter_mm, what=what, most=_WIDEST_MM, above=True, unit="mm"))
    angle = degrees(atan(float(wanted.lead) / (pi * across)))
    return HelixAngle(wanted, across, angle, float(clearance), first)


def _basic_mm(thread: Thread) -> float:
    """The full diameter less the addendum on both sides: where thread and gap are equally wide."""
    if thread.major_mm is None:
        raise NotPossibleError(
            f"{thread} says nothing of its diameter",
            remedy="Give pitch_diameter_mm, or name the thread with its size, like 'Tr 20x4'.",
        )
    made = thread_depth(thread, internal=False)
    half_height = float(thread.pitch) / (4 * tan(radians(made.thread_angle_deg / 2)))
    return float(thread.major_mm) - 2 * (made.sharp_mm - half_height)
