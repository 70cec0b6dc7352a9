"""How deep is the thread? By the standard of its form, or for the tool's own point; and the slide's way at an angle.

The forms are those of data/threads/depths.csv, each with its source; the thread's family says which is its own. H is
the height of the sharp triangle that the form is drawn on: H = P / (2 tan φ), P the pitch and φ half the thread angle.

What the tool's point does. At the pitch line, half-way up that triangle, thread and gap are equally wide. The blank
reaches one addendum above that line and the triangle's tip lies H/2 below it, so a sharp tool cuts H/2 + addendum deep
when the flanks are where they belong. A blunt point takes the same flanks and ends earlier:
  a flat of width f fills the triangle's tip up to where it is f wide, which is f / (2 tan φ) high;
  a radius r lies on both flanks; its centre is r / sin φ above the tip and its lowest point r (1 / sin φ − 1).
For 60° metric screws, addendum 3H/8: 7H/8 − r. With r = H/6 that is the 17H/24 of the standard's profile.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import cos, pi, radians, sin, tan

from attrs import field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_units, as_yes_or_no
from gearcalc.basics.errors import NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.basics.exact import NumberLike, parse_number
from gearcalc.basics.files import read_rows
from gearcalc.basics.writing import Units
from gearcalc.threads import Thread, ThreadLike, as_thread
from gearcalc.threads.thread_text import FAMILIES
from gearcalc.threads.tolerances import STATUS_IN_WORDS

_DEEPEST_MM = 1000
_LESS_THAN_HALF_DEG = 0.5
# Their gaps have a flat bottom that is wider than the point of most tools: such a tool is moved sideways, not deeper.
_FLAT_BOTTOMED = ("trapezoidal", "Acme", "worm 29", "worm 40")


@frozen
class ThreadDepth:
    """How deep a thread is cut, square to the axis. Made by thread_depth(). Lengths are floats, in mm.

    `thread`: a Thread; `form`: a name of data/threads/depths.csv, like 'ISO'; `depth_mm`: from the full diameter of the
    blank; `internal`: whether in a nut; `formula`: in words; `standard`, `source` and `status` (S read, T second-hand,
    M from memory) tell where it comes from; `thread_angle_deg`: between the flanks of the form, a float;
    `sharp_mm`: the depth that a sharp point needs for the same flanks; `form_mm`: the form's own depth;
    `radius_mm`, `flat_mm`: of the point that was given, None where the depth is the form's own;
    `units`: what is read first.
    """

    thread: Thread
    form: str
    depth_mm: float
    internal: bool
    formula: str
    standard: str
    status: str
    source: str
    thread_angle_deg: float = field(repr=False)
    sharp_mm: float = field(repr=False)
    form_mm: float = field(repr=False)
    radius_mm: float | None = None
    flat_mm: float | None = None
    units: Units = "mm"

    @property
    def share_of_pitch(self) -> float:
        """The depth in pitches; in pitches, not leads, however many starts there are."""
        return self.depth_mm / float(self.thread.pitch)

    @property
    def on_diameter_mm(self) -> float:
        """Twice the depth: what a cross slide that reads diameters shows."""
        return 2 * self.depth_mm

    @property
    def form_radius_mm(self) -> float:
        """The radius of the point that cuts the form's own depth with its flanks in place."""
        return (self.sharp_mm - self.form_mm) / (1 / sin(self._phi) - 1)

    @property
    def form_flat_mm(self) -> float:
        """The width of the flat point that cuts the form's own depth with its flanks in place."""
        return (self.sharp_mm - self.form_mm) * 2 * tan(self._phi)

    @property
    def sideways_mm(self) -> float:
        """How far a point narrower than a flat bottom is moved along the axis at full depth, to cut the gap in full."""
        width = 0.0 if self.radius_mm == 0 else self.flat_mm  # a sharp point may be said either way
        return 0.0 if self.form not in _FLAT_BOTTOMED or width is None else self.form_flat_mm - width

    @property
    def compound_deg(self) -> float:
        """The usual setting of a top slide, off the cross slide's line: half the thread angle, less half a degree.

        The half degree lets the trailing flank be cleaned by a hair: common practice, no source.
        """
        return self.thread_angle_deg / 2 - _LESS_THAN_HALF_DEG

    def infeed_mm(self, compound_deg: Fraction | float | str | None = None) -> float:
        """Give how far a top slide goes in, turned so many degrees off the cross slide's line: see compound_infeed.

        `compound_deg`: None for the usual setting of this form, `.compound_deg`.
        """
        return compound_infeed(self.depth_mm, self.compound_deg if compound_deg is None else compound_deg)

    def step_mm(self, compound_deg: Fraction | float | str) -> float:
        """Give how much too wide the gap becomes at the top, by steps in the trailing flank, the slide too steep.

        >>> round(thread_depth("1/2 BSW").step_mm(29.5), 2), thread_depth("M10").step_mm(29.5)
        (0.06, 0.0)

        `compound_deg`: 0 to 60; mm along the axis. Up to half the thread angle there are no steps. Above it the tool
        leaves the trailing flank behind as it goes in: depth × (tan of the setting − tan φ) at the top.
        """
        angle = _setting(compound_deg)
        return max(0.0, self.depth_mm * (tan(radians(float(angle))) - tan(self._phi)))

    @property
    def point(self) -> str:
        """The point that the depth is for, in words."""
        if 0 in (self.radius_mm, self.flat_mm):
            return "a sharp point"
        if self.radius_mm is not None:
            return f"a point rounded to {writing.cut(self.radius_mm, self.units)}"
        return f"a point {writing.cut(self.flat_mm, self.units)} wide" if self.flat_mm is not None else self._own_point

    def _both_ways(self, mm: float) -> str:
        return both_units.cut_both_ways(mm, self.units)

    @property
    def _phi(self) -> float:
        return radians(self.thread_angle_deg / 2)

    @property
    def _own_point(self) -> str:
        """The form's own point, rounded, flat or sharp."""
        if self.form_mm == self.sharp_mm:
            return "a sharp point"
        rounded = self.form in ("Whitworth", "BA") or (self.form == "ISO" and not self.internal)
        if rounded:
            return f"a point rounded to {writing.cut(self.form_radius_mm, self.units)}"
        return f"a point {writing.cut(self.form_flat_mm, self.units)} wide"

    def __str__(self) -> str:
        doubt = "" if self.status == "S" else f", {STATUS_IN_WORDS[self.status]}"
        standard = self.standard if self.standard != "none" else f"{self.form} form"
        said = f"{self.thread}: {self._both_ways(self.depth_mm)} deep ({self.formula}, {standard}{doubt})"
        return f"{said}, for {self.point}{self._beside}"

    @property
    def _beside(self) -> str:
        """What a sharp tool does instead, or what a narrow one has to do besides."""
        if self.form in _FLAT_BOTTOMED:
            return f", and {writing.cut(self.sideways_mm, self.units)} sideways" if self.sideways_mm > 0 else ""
        if self.form_mm - self.depth_mm > 1e-9:
            return f"; blunter than {self._own_point}, which the form has: the mating thread may foul at the bottom"
        return "" if self.depth_mm == self.sharp_mm else f"; a sharp one {writing.cut(self.sharp_mm, self.units)}"

    def _repr_html_(self) -> str:
        kind = "internal" if self.internal else "external"
        setting = f"top slide at {writing.decimal(self.compound_deg, 2)}° (half the angle of the form, less half a"
        rows = [
            ("thread", str(self.thread)),
            ("form", f"{self.form}, {kind}: {self.formula}"),
            ("depth", f"{self._both_ways(self.depth_mm)}, for {self.point}"),
            *([] if self.form in _FLAT_BOTTOMED else [("with a sharp point", self._both_ways(self.sharp_mm))]),
            *([("sideways at full depth", self._both_ways(self.sideways_mm))] if self.sideways_mm > 0 else []),
            ("as a share of the pitch", writing.decimal(self.share_of_pitch, 4)),
            ("on the diameter", self._both_ways(self.on_diameter_mm)),
            (f"{setting} degree: common practice, no source)", self._both_ways(self.infeed_mm())),
            ("source", self.source),
        ]
        return markup.html_table(f"Depth of {self.thread}", rows)


def thread_depth(
    thread: ThreadLike,
    *,
    internal: bool | None = None,
    form: str | None = None,
    radius_mm: NumberLike | None = None,
    flat_mm: NumberLike | None = None,
    units: Units = "mm",
) -> ThreadDepth:
    """Say how deep a thread is, by its standard, or with the tool point that you have.

    >>> print(thread_depth("M10"))
    M10x1.5: 0.92 mm (0.0362 in) deep (17/24 of the sharp height H, ISO 68-1, second-hand), for a point rounded to \
0.217 mm; a sharp one 1.137 mm
    >>> print(thread_depth("M10", radius_mm=0.05))
    M10x1.5: 1.087 mm (0.0428 in) deep (7/8 of the sharp height H less 0.05 mm for the point, ISO 68-1, \
second-hand), for a point rounded to 0.05 mm; a sharp one 1.137 mm
    >>> round(thread_depth("M10", internal=True).depth_mm, 3), round(thread_depth("16 tpi", form="sharp V").depth_mm, 3)
    (0.812, 1.375)

    `thread`: a Thread or its text. `internal`: in a nut; None: as its tolerance class says (6H, 2B), else external
    (the classes of Acme and pipe threads don't say).
    `form`: 'ISO', 'National', 'sharp V', 'Whitworth', 'BA', 'NPT', 'trapezoidal', 'Acme', 'worm 29' or 'worm 40'; None:
    the form of its family; a pitch alone has none, so there it must be given. A module says no form: 40° between the
    flanks (a pressure angle of 20°) is usual, 29° is the old inch form; the drawing decides.
    `radius_mm`, `flat_mm`: the point of the tool, rounded or flat, one of them, 0 for sharp; None: the form's own. On a
    flat-bottomed form a narrower point goes no deeper, but sideways, and a wider or a round one is refused.
    `units`: what is read first, 'mm' or 'inch', as a lathe's `units`; never what is reckoned.
    The nominal depth, from the full diameter of the blank: let a gauge or the nut decide in the end.
    Raises ThreadTextError for text that is no thread, UnknownNameError for a form that isn't one, ValueOutOfRangeError
    for a point below zero or both kinds, NotPossibleError for a thread whose form is not known, for a point that is too
    blunt, and for a trapezoidal pitch below 1.5 mm.
    Sources: in data/threads/depths.csv, row by row; the geometry of the point is derived above.
    """
    wanted, first = as_thread(thread), as_units(units)
    name = _form_of(wanted) if form is None else _a_form(form)
    inside = _is_internal(wanted) if internal is None else as_yes_or_no(internal, what="internal")
    row = _row(name, wanted, inside)
    phi = radians(float(parse_number(row["thread_angle_deg"])) / 2)
    pitch, share = float(wanted.pitch), parse_number(row["share"])
    height = pitch / (2 * tan(phi))
    unit = {"H": height, "P": pitch, "m": pitch / pi}[row["of"]]
    more = parse_number(row["add_mm"]) if row["add_mm"] else Fraction(0)
    sharp, own = height / 2 + float(parse_number(row["addendum"])) * unit, float(share) * unit + float(more)
    round_point, flat_point = _point(radius_mm, "the radius of the point"), _point(flat_mm, "the flat of the point")
    depth, words = own, _in_words(row, share, more)
    if round_point is not None and flat_point is not None:
        raise ValueOutOfRangeError(
            "a point is rounded or flat, not both",
            value=f"{radius_mm} and {flat_mm}",
            remedy="Give radius_mm or flat_mm, whichever the tool has.",
        )
    given = round_point if round_point is not None else flat_point
    if given is not None and name in _FLAT_BOTTOMED:
        _check_fits(wanted, name, round_point, flat_point, (sharp - own) * 2 * tan(phi))
    elif given is not None:
        blunt = given * (1 / sin(phi) - 1) if round_point is not None else given / (2 * tan(phi))
        touching = given * (1 / sin(phi) - sin(phi)) if round_point is not None else blunt  # above the sharp tip
        depth, words = sharp - blunt, _with_point_in_words(sharp / height, blunt, first)
        if touching >= sharp:
            raise NotPossibleError(
                f"a point of {writing.cut(given)} does not go between the flanks of {wanted}",
                remedy="Grind a finer point.",
            )
    return ThreadDepth(
        wanted,
        name,
        depth,
        inside,
        words,
        row["standard"],
        row["status"],
        row["source"],
        float(parse_number(row["thread_angle_deg"])),
        sharp if sharp > own + 1e-12 else own,
        own,
        round_point,
        flat_point,
        first,
    )


def _in_words(row: Mapping[str, str], share: Fraction, more: Fraction) -> str:
    unit = {"H": "the sharp height H", "P": "the pitch", "m": "the module"}[row["of"]]
    if row["of"] == "H":
        words = f"{writing.ratio(share)} of {unit}" if share != 1 else f"the whole {unit.removeprefix('the ')}"
    else:
        half = share == Fraction(1, 2)
        words = f"half {unit}" if half else f"{writing.number(share)} of {unit}"
    return f"{words} and {writing.length(more)}" if more else words


def _with_point_in_words(sharp_in_heights: float, blunt_mm: float, units: Units) -> str:
    share = Fraction(sharp_in_heights).limit_denominator(24)
    whole = (
        f"{writing.ratio(share)} of"
        if abs(float(share) - sharp_in_heights) < 1e-9
        else (f"{writing.decimal(sharp_in_heights, 4)} of")
    )
    whole = "the whole" if whole == "1 of" else f"{whole} the"
    return f"{whole} sharp height H" + (f" less {writing.cut(blunt_mm, units)} for the point" if blunt_mm else "")


def _point(given: Fraction | float | str | None, what: str) -> float | None:
    if given is None:
        return None
    remedy = "Measure it, or give 0 for a sharp tool."
    return float(as_number(given, what=what, most=_DEEPEST_MM, unit="mm", remedy=remedy))


def _check_fits(thread: Thread, form: str, radius: float | None, flat: float | None, bottom_mm: float) -> None:
    """A flat bottom is cut by a flat point that is no wider."""
    if radius:
        raise NotPossibleError(
            f"the gap of {_one(form)} thread has a flat bottom, {writing.cut(bottom_mm)} wide on {thread}",
            remedy="Give the width of a flat point: flat_mm.",
        )
    if flat is not None and flat > bottom_mm + 1e-9:
        raise NotPossibleError(
            f"a point {writing.cut(flat)} wide does not go to the bottom of {thread}, "
            f"which is {writing.decimal(bottom_mm, 3, toward='down')} mm wide",
            remedy="Grind it narrower, and widen the gap by moving the tool sideways.",
        )


def compound_infeed(depth_mm: NumberLike, compound_deg: NumberLike) -> float:
    """Give how far the top slide must go in for a depth, turned so many degrees off the cross slide's line; a float.

    >>> round(compound_infeed(1, 29.5), 4), compound_infeed("0.92", 0)
    (1.149, 0.92)

    `depth_mm`: square to the axis, more than 0 to 1000 mm; `compound_deg`: 0 (straight in) to 60. Half the thread angle
    or half a degree less is usual (60°: 29.5; 55°: 27; 29°: 14): ThreadDepth.compound_deg.
    Raises ValueOutOfRangeError. Formula: depth / cos(angle).
    """
    depth = as_number(depth_mm, what="the depth", most=_DEEPEST_MM, above=True, unit="mm")
    return float(depth) / cos(radians(float(_setting(compound_deg))))


def _setting(compound_deg: Fraction | float | str) -> Fraction:
    remedy = "Some scales count from the axis instead: then take 90° less that reading."
    what, unit = "the angle of the top slide", "degrees off the cross slide's line"
    return as_number(compound_deg, what=what, most=60, unit=unit, remedy=remedy)


def _a_form(form: object) -> str:
    forms = list(dict.fromkeys(row["form"] for row in read_rows("threads/depths.csv")))
    named = next((name for name in forms if isinstance(form, str) and str.casefold(form) == name.casefold()), None)
    if named is None:
        raise UnknownNameError(f"the forms held here are {', '.join(map(repr, forms))}", value=form)
    return named


def _form_of(thread: Thread) -> str:
    if thread.family is None:
        raise NotPossibleError(
            f"{thread} says how far from thread to thread, and not of which form",
            remedy="Name the thread, like 'M10x1.5' or '1/2 BSW', or the form, like form='ISO'.",
        )
    family = FAMILIES.get(thread.family)
    if family is None or family.form is None:
        raise NotPossibleError(
            f"no form is held here for {thread.family} threads like {thread}",
            remedy="Name the form that it has, like form='ISO', if it is one of those held here.",
        )
    return family.form


def _is_internal(thread: Thread) -> bool:
    """Whether the tolerance class is a nut's: each family marks that in its own way, or not at all."""
    last = (thread.tolerance_class or "")[-1:]
    if thread.family in ("metric", "trapezoidal"):  # the letter of the position: a capital for the nut
        return last.isupper()
    return thread.family == "Unified" and last == "B"  # Acme's 2G is either's; A and B of a pipe thread are the screw's


def _row(form: str, thread: Thread, internal: bool) -> Mapping[str, str]:
    """The row of a form; of a trapezoidal thread the one whose pitches have begun."""
    rows = [row for row in read_rows("threads/depths.csv") if row["form"] == form]
    fitting = [row for row in rows if row["internal"] in ("", "yes" if internal else "no")]
    begun = [row for row in fitting if not row["from_pitch_mm"] or parse_number(row["from_pitch_mm"]) <= thread.pitch]
    if not begun:
        least = fitting[0]["from_pitch_mm"]
        raise NotPossibleError(f"{_one(form)} thread has a pitch of {least} mm or more, and {thread} a finer one")
    return begun[-1]


def _one(form: str) -> str:
    return f"{'an' if form[0] in 'AI' else 'a'} {form}"
