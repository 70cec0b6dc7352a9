"""How deep is the thread? By the standard of its form, and how far the compound slide must go in at an angle.

The forms are those of data/threads/depths.csv, each with its source. H is the height of the sharp triangle that the
form is drawn on: H = P / (2 tan φ), P the pitch and φ half the thread angle.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import cos, radians, tan

from attrs import frozen

from gearcalc import writing
from gearcalc.errors import NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.exact import INCH_MM, PiMultiple, as_fraction, parse_number
from gearcalc.given import as_yes_or_no
from gearcalc.resources import read_rows
from gearcalc.threads import Thread, as_thread
from gearcalc.tolerances import STATUS_IN_WORDS

__all__ = ["ThreadDepth", "compound_infeed", "thread_depth"]

_STEEPEST_COMPOUND_DEG = 60
_DEEPEST_MM = 1000
# The standard that a thread names decides its form; else the angle does.
_FORM_OF_STANDARD = {
    "ASME B1.20.1": "NPT", "ISO 7-1": "Whitworth", "BS 84": "Whitworth", "ISO 228-1": "Whitworth", "BS 93": "BA",
}  # fmt: skip
_FORM_OF_ANGLE = {60: "ISO", 55: "Whitworth", Fraction(95, 2): "BA", 30: "trapezoidal", 29: "Acme"}


@frozen
class ThreadDepth:
    """How deep a thread is cut, square to the axis. Made by thread_depth().

    `form`: a name of data/threads/depths.csv; `depth_mm`; `internal`: in a nut; `formula`: in words; `status` (S read,
    M from memory) and `source` tell where it comes from.
    """

    thread: Thread
    form: str
    depth_mm: float
    internal: bool
    formula: str
    standard: str
    status: str
    source: str

    @property
    def share_of_pitch(self) -> float:
        """The depth in pitches; in pitches, not leads, however many starts there are."""
        return self.depth_mm / float(self.thread.pitch)

    @property
    def on_diameter_mm(self) -> float:
        """Twice the depth: what a cross slide that reads diameters shows."""
        return 2 * self.depth_mm

    def infeed_mm(self, compound_deg: Fraction | float | str) -> float:
        """How far a compound slide goes in, turned so many degrees off the cross slide's line: see compound_infeed."""
        return compound_infeed(self.depth_mm, compound_deg)

    def __str__(self) -> str:
        return f"{self.thread}: {_both(self.depth_mm)} deep ({self.formula}, {self._standard_in_words})"

    @property
    def _standard_in_words(self) -> str:
        doubt = "" if self.status == "S" else f", {STATUS_IN_WORDS[self.status]}"
        named = self.standard if self.standard != "none" else f"{self.form} form"
        return f"{named}{doubt}"

    def _repr_html_(self) -> str:
        kind = "internal" if self.internal else "external"
        rows = [
            ("thread", str(self.thread)),
            ("form", f"{self.form}, {kind}: {self.formula}"),
            ("depth", _both(self.depth_mm)),
            ("as a share of the pitch", writing.decimal(self.share_of_pitch, 4)),
            ("on the diameter", _both(self.on_diameter_mm)),
        ]
        if self.thread.thread_angle_deg == 60:
            rows.append(("compound slide at 29.5°", _both(self.infeed_mm(29.5))))
        rows.append(("source", self.source))
        return writing.html_table(f"Depth of {self.thread}", rows)


def thread_depth(thread: Thread | str, *, internal: bool | None = None, form: str | None = None) -> ThreadDepth:
    """How deep is this thread, by its standard?

    >>> print(thread_depth("M10"))
    M10x1.5: 0.92 mm (0.0362 in) deep (17/24 of the sharp height H, ISO 68-1, from memory)
    >>> print(thread_depth("1/2 BSW"))
    1/2 BSW: 1.355 mm (0.0534 in) deep (2/3 of the sharp height H, BS 84)
    >>> round(thread_depth("M10", internal=True).depth_mm, 3), round(thread_depth("16 tpi", form="sharp V").depth_mm, 3)
    (0.812, 1.375)

    `thread`: a Thread or its text. `internal`: in a nut; None: as its tolerance class says (6H, 2B), else external.
    `form`: 'ISO', 'National', 'sharp V', 'Whitworth', 'BA', 'NPT', 'trapezoidal', 'Acme' or 'worm'; None: the form
    of its standard; a pitch alone has none, so there it must be given.
    The nominal depth, from the full diameter of the blank: let a gauge or the nut decide in the end.
    Raises ThreadTextError for text that is no thread, UnknownNameError for a form that isn't one, NotPossibleError
    for a thread whose form is not known, and for a trapezoidal pitch below 1.5 mm.
    Sources: in data/threads/depths.csv, row by row.
    """
    wanted = as_thread(thread)
    name = _form_of(wanted) if form is None else _a_form(form)
    inside = _is_internal(wanted) if internal is None else as_yes_or_no(internal, what="internal")
    row = _row(name, wanted, inside)
    pitch, share = float(wanted.pitch), parse_number(row["share"])
    half = share == Fraction(1, 2)
    height, words = pitch, "half the pitch" if half else f"{writing.number(share)} of the pitch"
    if row["of"] == "H":
        height = pitch / (2 * tan(radians(float(parse_number(row["thread_angle_deg"])) / 2)))
        words = f"{writing.ratio(share)} of the sharp height H" if share != 1 else "the whole sharp height H"
    more = parse_number(row["add_mm"]) if row["add_mm"] else Fraction(0)
    if more:
        words += f" and {writing.length(more)}"
    depth = float(share) * height + float(more)
    return ThreadDepth(wanted, name, depth, inside, words, row["standard"], row["status"], row["source"])


def compound_infeed(depth_mm: Fraction | float | str, compound_deg: Fraction | float | str) -> float:
    """How far the compound slide must go in for a depth, when it is turned so many degrees off the cross slide's line.

    >>> round(compound_infeed(1, 29.5), 4), compound_infeed("0.92", 0)
    (1.149, 0.92)

    `depth_mm`: square to the axis, more than 0 to 1000 mm; `compound_deg`: 0 (straight in) to 60.
    Raises ValueOutOfRangeError. Formula: depth / cos(angle).
    """
    depth = as_fraction(depth_mm, what="the depth")
    angle = as_fraction(compound_deg, what="the angle of the compound slide")
    if not 0 < depth <= _DEEPEST_MM:
        raise ValueOutOfRangeError(f"the depth is more than zero and at most {_DEEPEST_MM} mm", value=depth)
    if not 0 <= angle <= _STEEPEST_COMPOUND_DEG:
        raise ValueOutOfRangeError(
            f"the compound slide is turned 0 to {_STEEPEST_COMPOUND_DEG}° off the cross slide's line", value=angle,
            remedy="Some scales count from the axis instead: then take 90° less that reading.",
        )  # fmt: skip
    return float(depth) / cos(radians(float(angle)))


def _forms() -> list[str]:
    return list(dict.fromkeys(row["form"] for row in read_rows("threads/depths.csv")))


def _a_form(form: object) -> str:
    named = next((name for name in _forms() if str(form).casefold() == name.casefold()), None)
    if named is None:
        raise UnknownNameError(f"the forms held here are {', '.join(map(repr, _forms()))}", value=form)
    return named


def _form_of(thread: Thread) -> str:
    if thread.standard in _FORM_OF_STANDARD:
        return _FORM_OF_STANDARD[thread.standard]
    if isinstance(thread.pitch, PiMultiple):
        return "worm"
    if thread.thread_angle_deg in _FORM_OF_ANGLE:
        return _FORM_OF_ANGLE[thread.thread_angle_deg]
    raise NotPossibleError(
        f"{thread} says how far from thread to thread, and not of which form",
        remedy="Name the thread, like 'M10x1.5' or '1/2 BSW', or the form, like form='ISO'.",
    )


def _is_internal(thread: Thread) -> bool:
    return (thread.tolerance_class or "")[-1:] in ("G", "H", "B")


def _row(form: str, thread: Thread, internal: bool) -> Mapping[str, str]:
    """The row of a form; of a trapezoidal thread the one whose pitches have begun."""
    rows = [row for row in read_rows("threads/depths.csv") if row["form"] == form]
    fitting = [row for row in rows if row["internal"] in ("", "yes" if internal else "no")]
    begun = [row for row in fitting if not row["from_pitch_mm"] or parse_number(row["from_pitch_mm"]) <= thread.pitch]
    if not begun:
        least = fitting[0]["from_pitch_mm"]
        raise NotPossibleError(f"a {form} thread has a pitch of {least} mm or more, and {thread} a finer one")
    return begun[-1]


def _both(length_mm: float) -> str:
    return f"{writing.decimal(length_mm, 3)} mm ({writing.decimal(length_mm / float(INCH_MM), 4)} in)"
