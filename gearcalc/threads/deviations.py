"""What a pitch error adds up to over a length, and whether that matters to the thread, or is good enough for a feed.

Signs and units live here, once: an error is (cut − wanted) / wanted in ppm, and 1 ppm over 1 mm is a thousandth of a
micrometre, positive when the thread comes out too long.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction
from math import radians, tan

from attrs import evolve, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_units
from gearcalc.basics.errors import NotPossibleError, UnknownNameError
from gearcalc.basics.exact import INCH_MM, NumberLike, PiMultiple, RelativeError
from gearcalc.basics.writing import Units
from gearcalc.threads.tolerances import (
    STATUS_IN_WORDS,
    Tolerance,
    length_of_engagement_group,
    pitch_diameter_tolerance,
    tolerance_standard,
)
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT, Feed, Thread, ThreadLike, Wanted, as_thread

USUAL_SHARE = 0.5
"""How much of the pitch-diameter tolerance the pitch may use up; the rest is left for all else. Our convention."""
LEADSCREW_LENGTH_MM = 300
"""The length over which a leadscrew is judged here. Our convention."""
LEADSCREW_UM = 50
"""The most that a workshop leadscrew may be off over that length. Our convention, not a standard's."""
LEADSCREW_INCHES, LEADSCREW_THOU = 12, 2
"""The same in inches: 2 thou in a foot is 50 µm in 300 mm, one part in 6000."""
LENGTHS_MM: Mapping[Units, Sequence[Fraction]] = {
    "mm": (Fraction(25), Fraction(100), Fraction(300)),
    "inch": (INCH_MM, 4 * INCH_MM, 12 * INCH_MM),
}
"""The lengths over which an error is said, where none is named."""
_NOT_JUDGED = "Not judged: "
SHORT_MM: Mapping[Units, Fraction] = {units: lengths[0] for units, lengths in LENGTHS_MM.items()}
"""The shortest of them: 25 mm, or an inch."""

UNJUDGED_PPM = 1000
"""The most that a thread may be off, either way, where no tolerance is known here. Our convention."""

GOOD_ENOUGH = "good enough"
"""As `within_ppm`: each thread's own bound, that of good_enough_ppm()."""
CHOSEN_SHARE = Fraction(1, 10)
"""How much of the tolerance a setup may use up that is chosen for a person. Our convention."""
MOST_CHOSEN_PPM = 1000
"""The most that it may be off, whatever the tolerance; a feed may be off so much as well. Our convention."""
UNJUDGED_CHOSEN_PPM = 200
"""The most where no tolerance is known here: 5 µm in 25 mm of thread. Our convention."""
GOOD_ENOUGH_IN_WORDS = (
    f"good enough to choose (a tenth of the thread's tolerance, {MOST_CHOSEN_PPM} ppm at most; {UNJUDGED_CHOSEN_PPM} "
    f"ppm where none is known; {MOST_CHOSEN_PPM} ppm for a feed)"
)

_LARGEST_PPM = 10**12


def deviation_um(error_ppm: NumberLike | RelativeError, length_mm: NumberLike) -> float:
    """How far the thread is off at the end of a length, in µm: positive when it is too long.

    >>> deviation_um(125, 100), deviation_um(Fraction(-10000, 47), 300)
    (12.5, -63.829787234042556)

    `error_ppm`: a number of ppm, or a RelativeError; `length_mm`: from 0.001 to 1 000 000 mm (1 km).
    Raises ValueOutOfRangeError for anything else, infinity and not-a-number among it.
    Formula: error × length; 1 ppm is 1 µm in a metre of thread.
    """
    return float(_ppm(error_ppm) * _length(length_mm) / 1000)


def deviation_in_words(error_ppm: NumberLike | RelativeError, length_mm: NumberLike, units: Units = "mm") -> str:
    """Say in words how far the thread is off at the end of a length.

    >>> deviation_in_words(125, 100), deviation_in_words(-212.77, 25)
    ('12.5 µm too long over 100 mm', '5.32 µm too short over 25 mm')
    >>> deviation_in_words(0, 25)
    'exact over 25 mm'
    >>> deviation_in_words(125, "25.4", units="inch")
    '0.125 thou too long over 1 in'

    `error_ppm`, `length_mm` and errors as for deviation_um; `units`: 'mm' or 'inch', what it is said in.
    """
    off, first = deviation_um(error_ppm, length_mm), as_units(units)
    over = f"over {writing.cut(_length(length_mm), first)}"
    return f"exact {over}" if off == 0 else f"{both_units.off_size(off, first)} too {_long_or_short(off)} {over}"


def _long_or_short(off: float | Fraction) -> str:
    return "long" if off > 0 else "short"


def flank_cotangent(thread: Thread | str) -> float | None:
    """cot φ, φ being half the thread angle: by how much a pitch error changes the pitch diameter.

    >>> round(flank_cotangent("M10"), 3), round(flank_cotangent("1/2 BSW"), 3), flank_cotangent("16 tpi")
    (1.732, 1.921, None)

    None where the form of the thread is not known. Raises ThreadTextError for text that is no thread.
    """
    angle = as_thread(thread).flank_angle_deg
    return None if angle is None else 1 / tan(radians(angle))


@frozen
class Verdict:
    """Whether a pitch error matters to a thread. Made by judge().

    `thread`: a Thread; `error_ppm`: float, ppm, positive when the thread comes out too long; `engagement_mm`: exact,
    None where no diameter is known; `share`: float, of the tolerance, that the pitch may use; `why`: all in words.
    `ok`: whether it keeps to that share, None where no tolerance is known here, and then the rest is None too:
    `share_used`: float, of the tolerance, 1 is all of it; `allowed_ppm`: float, the error, either way, that uses up the
    `share`; `tolerance_um`: float, µm, of the pitch diameter, in the `tolerance_class`, like '6g'; `source` and
    `status` (S read, T second-hand, M from memory) tell where that comes from. `units`: what it is said in.
    """

    thread: Thread
    error_ppm: float
    engagement_mm: Fraction | None
    share: float
    why: str
    ok: bool | None = None
    share_used: float | None = None
    allowed_ppm: float | None = None
    tolerance_um: float | None = None
    tolerance_class: str | None = None
    source: str | None = None
    status: str | None = None
    units: Units = "mm"

    @property
    def pitch_diameter_um(self) -> float | None:
        """The error over the engagement, as the change of pitch diameter that it acts like; None where not known."""
        cotangent = flank_cotangent(self.thread)
        if cotangent is None or self.engagement_mm is None:
            return None
        return abs(deviation_um(self.error_ppm, self.engagement_mm)) * cotangent

    @property
    def fails(self) -> bool:
        """Whether that is not good enough to cut: more than the share allowed, or, where no tolerance is known, more
        than UNJUDGED_PPM.

        >>> judge("M10", 20_000).fails, judge("1.25 mm", 999).fails, judge("1.25 mm", -1001).fails
        (True, False, True)
        """
        return self.ok is False or (self.ok is None and abs(self.error_ppm) > UNJUDGED_PPM)

    def __str__(self) -> str:
        return self.why

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [("pitch error", writing.error(self.error_ppm))]
        far = _leadscrew_mm(self.units)
        rows += [
            (f"over {writing.cut(mm, self.units)}", both_units.off(deviation_um(self.error_ppm, mm), self.units))
            for mm in ((far,) if self.engagement_mm is None else (self.engagement_mm, far))
        ]
        if self.pitch_diameter_um is not None:
            rows.append(("acts on the pitch diameter as", both_units.off_size(self.pitch_diameter_um, self.units)))
        if self.share_used is not None and self.tolerance_um is not None and self.allowed_ppm is not None:
            named = pitch_diameter_tolerance(self.thread, self.tolerance_class).named
            rows += [
                ("pitch-diameter tolerance", f"{_tolerance_in_words(self.tolerance_um, self, 0)} ({named})"),
                ("share used", share_used_in_words(self)),
                (f"{_let(self)} would be used up by", f"± {writing.ppm(int(self.allowed_ppm), 0)}"),
                ("where that number stands", str(self.source)),
            ]
        rows.append(("good enough", "no" if self.fails else "yes" if self.ok else "not judged"))
        why = self.why.removeprefix(_NOT_JUDGED)  # the row above says that
        return markup.html_table(f"Does the error matter to {self.thread}?", rows, note=markup.sentence(why))


def judge(
    thread: ThreadLike,
    error_ppm: NumberLike | RelativeError,
    engagement_mm: NumberLike | None = None,
    share: NumberLike = USUAL_SHARE,
    tolerance_class: str | None = None,
    units: Units = "mm",
) -> Verdict:
    """Judge whether a pitch error is good enough for a thread.

    >>> verdict = judge("M10", 125)
    >>> verdict.ok, round(verdict.share_used, 3), round(verdict.allowed_ppm)
    (True, 0.016, 3811)
    >>> print(judge("Tr 40x7", 212.77))  # doctest: +ELLIPSIS
    Not judged: no tolerance is held here for Tr 40x7. ... 8.51 µm too long over 40 mm ... not for a leadscrew ...

    The error over the engaged length acts as a change of pitch diameter of |error| × length × cot φ (φ half the thread
    angle); that is set against the pitch-diameter tolerance of the class.
    `thread`: a Thread or its text. `error_ppm`: ppm, or a RelativeError. `engagement_mm`: from 0.001 mm; None: the
    major diameter. `share`: how much of the tolerance the pitch may use, over 0 to 1; a half by our convention.
    `tolerance_class`: like '6g', '6H', '2A'; None: the thread's own, else 6g or 2A. `units`: what it is said in, 'mm'
    or 'inch', as a lathe's `units`; never what is reckoned.
    Raises ValueOutOfRangeError for a length or share outside those, UnknownNameError for a class that isn't one.
    Source: NPL, Notes on Screw Gauges, 3.3 (only its title was read); ISO 965-1; ASME B1.1.
    """
    thread, ppm, first = as_thread(thread), _ppm(error_ppm), as_units(units)
    engagement = thread.major_mm if engagement_mm is None else _length(engagement_mm, "the length of engagement")
    allowed_share = as_number(share, what="the share of the tolerance", most=1, above=True, remedy="A half is 0.5.")
    tolerance, cotangent = _tolerance_of(thread, tolerance_class), flank_cotangent(thread)
    verdict = Verdict(thread, float(ppm), engagement, float(allowed_share), why="", units=first)
    if tolerance is None or engagement is None or cotangent is None:
        why = " ".join([_why_not_judged(thread), _adds_up(ppm, engagement, first), _as_a_leadscrew(ppm, first)])
        return evolve(verdict, why=why)
    full_ppm = float(tolerance.um * 1000 / engagement) / cotangent
    verdict = evolve(
        verdict,
        ok=abs(verdict.error_ppm) <= verdict.share * full_ppm,
        share_used=abs(verdict.error_ppm) / full_ppm,
        allowed_ppm=verdict.share * full_ppm,
        tolerance_um=float(tolerance.um),
        tolerance_class=tolerance.tolerance_class,
        source=tolerance.source,
        status=tolerance.status,
    )
    said = _on_the_tolerance(verdict, tolerance), _on_the_length(thread, engagement), _as_a_leadscrew(ppm, first)
    return evolve(verdict, why=" ".join(filter(None, said)))


def good_enough_ppm(wanted: Wanted) -> Fraction:
    """Give the error, either way, up to which a setup is good enough to choose for a thread or a feed, in ppm.

    >>> round(good_enough_ppm(as_thread("M10"))), good_enough_ppm(as_thread("M6")), good_enough_ppm(as_thread("16 tpi"))
    (762, Fraction(1000, 1), Fraction(200, 1))

    A tenth of the pitch-diameter tolerance over one diameter of engagement, as judge() has it, at most 1000 ppm; 200
    where no tolerance is known, 1000 for a feed. Our conventions. A tolerance's is the fraction that its float is.
    """
    if isinstance(wanted, Feed):
        return Fraction(MOST_CHOSEN_PPM)
    allowed = judge(wanted, 0, share=CHOSEN_SHARE).allowed_ppm
    return Fraction(UNJUDGED_CHOSEN_PPM if allowed is None else min(allowed, MOST_CHOSEN_PPM))


def limit_ppm(within_ppm: NumberLike | None, wanted: Wanted) -> Fraction | None:
    """Read a `within_ppm` for one thread or feed: the largest error, either way, in ppm; None where there is no limit.

    >>> limit_ppm(GOOD_ENOUGH, as_thread("16 tpi")), limit_ppm(12.5, as_thread("M6")), limit_ppm(None, as_thread("M6"))
    (Fraction(200, 1), Fraction(25, 2), None)

    `within_ppm`: 0 (exact) or more; 'good enough' for good_enough_ppm(); None for no limit. Raises ValueOutOfRangeError
    for anything else.
    """
    if isinstance(within_ppm, str) and within_ppm == GOOD_ENOUGH:  # what is no text may have an == of its own
        return good_enough_ppm(wanted)
    return None if within_ppm is None else as_number(within_ppm, what="within_ppm")


def shortfall(wanted: Thread | Feed, error: RelativeError) -> str:
    """Say in a sentence why an error is not good enough for what is wanted; nothing where it is.

    >>> from gearcalc.basics.exact import RelativeError
    >>> shortfall(as_thread("1.25 mm"), RelativeError(Fraction(126, 100), Fraction(125, 100)))
    'Not good enough for 1.25 mm: +8000 ppm is more than the 1000 ppm that we let pass where no tolerance is known.'
    >>> shortfall(as_thread("1.25 mm"), RelativeError(Fraction(125, 100), Fraction(125, 100)))
    ''

    For a thread as judge() has it, with its defaults; a feed may be off by NEAR_ENOUGH_PERCENT. Our conventions.
    """
    if isinstance(wanted, Feed):
        if abs(error.ppm) <= NEAR_ENOUGH_PERCENT * 10_000:
            return ""
        per_cent = error.ppm / 10_000
        off = f"{writing.signed(per_cent, writing.places_apart(abs(per_cent), NEAR_ENOUGH_PERCENT, 1))} per cent"
        return f"Not near enough to a feed of {wanted}: {off} is more than the {NEAR_ENOUGH_PERCENT} that we let pass."
    verdict = judge(wanted, error)
    if not verdict.fails:
        return ""
    start = f"Not good enough for {wanted}: "
    if verdict.share_used is None:
        miss = writing.error(error, beside=UNJUDGED_PPM)
        return f"{start}{miss} is more than the {UNJUDGED_PPM} ppm that we let pass where no tolerance is known."
    return (
        f"{start}{writing.error(error)} uses {share_used_in_words(verdict)} of the pitch-diameter tolerance of "
        f"{verdict.tolerance_class}; we let the pitch use {_let(verdict)}."
    )


def is_good_enough(wanted: Wanted, error: RelativeError) -> bool | None:
    """Whether an error is good enough for what is wanted, or exact; None where no tolerance is known to judge it by.

    >>> [is_good_enough(as_thread("2 mm"), RelativeError(2 + Fraction(off, 1000), 2)) for off in (0, 1, 3)]
    [True, None, False]
    """
    if isinstance(wanted, Feed) or error.is_exact:
        return not shortfall(wanted, error)
    verdict = judge(wanted, error)
    return False if verdict.fails else verdict.ok


def _ppm(error: NumberLike | RelativeError) -> Fraction:
    ppm = error.ppm if isinstance(error, RelativeError) else error
    return as_number(ppm, what="the pitch error", least=-_LARGEST_PPM, most=_LARGEST_PPM, unit="ppm")


def _length(length_mm: NumberLike, what: str = "the length") -> Fraction:
    remedy = "Give it in millimetres."
    return as_number(length_mm, what=what, least=Fraction(1, 1000), most=10**6, unit="mm", remedy=remedy)


def _tolerance_of(thread: Thread, given: str | None) -> Tolerance | None:
    try:
        return pitch_diameter_tolerance(thread, given)
    except NotPossibleError:
        return None
    except UnknownNameError:
        if given is not None:
            raise
        return None  # the designation carries a class that is not held here


# The words.


def share_used_in_words(verdict: Verdict) -> str:
    """How much of the tolerance a pitch error uses up, where that is known; it never reads like a limit that it misses.

    >>> share_used_in_words(judge("M10", 125))
    '1.6 %'
    """
    assert verdict.share_used is not None
    return writing.percent(verdict.share_used, beside=1 if verdict.share_used > 1 else verdict.share)


def _let(verdict: Verdict) -> str:
    return writing.percent(verdict.share, beside=verdict.share_used)


def _on_the_tolerance(verdict: Verdict, tolerance: Tolerance) -> str:
    assert verdict.share_used is not None
    assert verdict.engagement_mm is not None
    of = (
        f"of the pitch-diameter tolerance of {tolerance.tolerance_class} "
        f"({_tolerance_in_words(tolerance.um, verdict, 0)}) over {writing.cut(verdict.engagement_mm, verdict.units)} "
        "of engagement"
    )
    doubt = f" That tolerance is {STATUS_IN_WORDS[tolerance.status]}." if tolerance.status != "S" else ""
    if verdict.error_ppm == 0:
        return f"Exact: uses none {of}.{doubt}"
    if verdict.ok:
        return f"Uses {share_used_in_words(verdict)} {of}: fine for a fastener.{doubt}"
    convention = " (our convention)" if verdict.share == USUAL_SHARE else ""
    too_much = f"more than the {_let(verdict)} allowed{convention}"
    if verdict.share_used > 1:
        too_much = "more than all of it, so no pitch diameter could make it right"
    return f"Uses {share_used_in_words(verdict)} {of}: {too_much}.{doubt}"


def _on_the_length(thread: Thread, engagement: Fraction) -> str:
    try:
        long = length_of_engagement_group(thread, engagement) == "L"
    except NotPossibleError:
        return ""
    words = "That engagement is long for this thread: for so long a one the standard allows more (its group L)."
    return words if long else ""


def _tolerance_in_words(um: float | Fraction, verdict: Verdict, places: int) -> str:
    if verdict.units == "mm":
        return f"{writing.decimal(um, places)} µm"
    return f"{writing.decimal(um / 25.4, places + 1)} thou"


def _leadscrew_mm(units: Units) -> Fraction:
    return Fraction(LEADSCREW_LENGTH_MM) if units == "mm" else LEADSCREW_INCHES * INCH_MM


def _as_a_leadscrew(ppm: Fraction, units: Units) -> str:
    if ppm == 0:
        return ""
    over = _leadscrew_mm(units)
    limit_um = float(over * LEADSCREW_UM / LEADSCREW_LENGTH_MM)
    most = f"{LEADSCREW_UM} µm" if units == "mm" else f"{LEADSCREW_THOU} thou"
    off = deviation_um(ppm, over)
    start = (
        f"Over {writing.cut(over, units)} it is {both_units.off_size(off, units, limit_um)} too {_long_or_short(off)}: "
    )
    if abs(ppm) * LEADSCREW_LENGTH_MM > LEADSCREW_UM * 1000:
        return f"{start}not for a leadscrew (our convention: at most {most})."
    return f"{start}within the {most} that we allow a leadscrew (our convention)."


def _adds_up(ppm: Fraction, engagement: Fraction | None, units: Units) -> str:
    if ppm == 0:
        return "The pitch is exact."
    said = deviation_in_words(ppm, SHORT_MM[units] if engagement is None else engagement, units)
    far = f" More than {UNJUDGED_PPM} ppm: not good enough, by our convention." if abs(ppm) > UNJUDGED_PPM else ""
    return f"The error is {said}{'' if engagement is None else ' of engagement'}.{far}"


def _why_not_judged(thread: Thread) -> str:
    start = f"{_NOT_JUDGED}no tolerance is held here for {thread}."
    if isinstance(thread.pitch, PiMultiple):
        return f"{start} A worm is matched to its wheel, not to a nut."
    if thread.taper:
        return f"{start} A taper thread is gauged by how far its gauge screws on."
    if thread.family is None and (thread.major_mm is None or thread.thread_angle_deg is None):
        return f"{start} A pitch without a diameter has none; name the thread, like 'M10x1.5' or '1/4-20'."
    if tolerance_standard(thread) is not None:
        return f"{start} Its size, pitch or class is not in our tables of ISO 965-1."
    if thread.standard is None:
        return f"{start} No standard is known here for it."
    return f"{start} Its standard, {thread.standard}, has tolerances of its own, which our tables leave out."
