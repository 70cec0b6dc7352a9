"""Metric threads: their sizes and pitches, trapezoidal ones among them, and how they are written."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache

from gearcalc.basics.errors import ThreadTextError
from gearcalc.basics.exact import parse_number
from gearcalc.basics.files import read_rows
from gearcalc.basics.writing import number
from gearcalc.threads.designations import DECIMAL, MOST_STARTS, Facts, Family, classed, figure, form, nearest_sizes

METRIC = Family("metric", Fraction(60), form="ISO")
TRAPEZOIDAL = Family("trapezoidal", Fraction(30), form="trapezoidal")
FAMILIES = (METRIC, TRAPEZOIDAL)


ISO_CLASS = r"(?-i:[3-9][a-h](?:[3-9][a-h])?|[3-9][E-H](?:[3-9][E-H])?)"


@cache
def metric_pitches() -> Mapping[Fraction, tuple[Fraction, ...]]:
    """Major diameter in mm -> pitches in mm, coarse first where there is one (ISO 261).

    >>> metric_pitches()[Fraction(10)][0]
    Fraction(3, 2)
    """
    return _gather(
        (parse_number(row["d_mm"]), parse_number(row["pitch_mm"]))
        for row in sorted(read_rows("threads/iso261.csv"), key=lambda row: row["series"] != "coarse")
    )


@cache
def metric_has_coarse() -> frozenset[Fraction]:
    """The diameters that have a coarse pitch, so that 'M8' alone says enough (ISO 261).

    >>> Fraction(8) in metric_has_coarse(), Fraction(72) in metric_has_coarse()
    (True, False)
    """
    rows = read_rows("threads/iso261.csv")
    return frozenset(parse_number(row["d_mm"]) for row in rows if row["series"] == "coarse")


@cache
def trapezoidal_pitches() -> Mapping[Fraction, tuple[Fraction, ...]]:
    """Major diameter in mm -> pitches in mm (ISO 2904).

    >>> Fraction(7) in trapezoidal_pitches()[Fraction(40)]
    True
    """
    return _gather(
        (parse_number(row["d_mm"]), parse_number(row["pitch_mm"])) for row in read_rows("threads/trapezoidal.csv")
    )


def _gather(pairs: Iterable[tuple[Fraction, Fraction]]) -> Mapping[Fraction, tuple[Fraction, ...]]:
    gathered: dict[Fraction, tuple[Fraction, ...]] = {}
    for size, pitch in pairs:
        gathered[size] = (*gathered.get(size, ()), pitch)
    return gathered


def _read_metric(found: re.Match[str]) -> Facts:
    major = parse_number(found["major"])
    name, starts = f"M{number(major)}", 1
    if found["fit"]:
        text = found.string[: found.start("grade")]
        either, other = (f"'{text}{grade}'" for grade in (found["grade"], found["fit"]))
        raise ThreadTextError("a fit names two threads", remedy=f"Ask for one of them, {either} or {other}.")
    if found["lead"]:
        lead, pitch = parse_number(found["lead"]), parse_number(found["start_pitch"])
        starts = _starts_from(lead, pitch)
        name += f"xPh{number(lead)}P{number(pitch)}"
    else:
        pitch = parse_number(found["pitch"]) if found["pitch"] else _coarse(major)
        name += f"x{number(pitch)}"
    grade, standard = found["grade"], "ISO 261" if pitch in metric_pitches().get(major, ()) else None
    return METRIC.said(name, pitch, starts=starts, major_mm=major, tolerance_class=grade, standard=standard)


def _coarse(major: Fraction) -> Fraction:
    """The coarse pitch of a size; raises ThreadTextError where there is none."""
    sizes, pitches = metric_has_coarse(), metric_pitches()
    if major in sizes:
        return pitches[major][0]
    if major <= 0:
        raise ThreadTextError("a diameter must be more than zero")
    nearest = min(sizes, key=lambda other: abs(other - major))
    pitch = pitches[nearest][0]
    fits = 5 * pitch < 4 * major
    raise ThreadTextError(
        f"M{number(major)} has no coarse pitch in ISO 261",
        remedy=f"Write the pitch, like 'M{number(major if fits else nearest)}x{number(pitch)}'; "
        f"the nearest sizes with one are {nearest_sizes(major, sizes, 'M{}', figure)}.",
    )


def _starts_from(lead: Fraction, pitch: Fraction) -> int:
    if pitch <= 0:
        raise ThreadTextError("a pitch must be more than zero")
    starts = lead / pitch
    if starts.denominator != 1 or not 1 <= starts <= MOST_STARTS:
        raise ThreadTextError(f"the lead must be the pitch times a whole number of starts, 1 to {MOST_STARTS}")
    return int(starts)


def _read_trapezoidal(found: re.Match[str]) -> Facts:
    major, lead = parse_number(found["major"]), parse_number(found["lead"])
    pitch = parse_number(found["pitch"]) if found["pitch"] else lead
    starts = _starts_from(lead, pitch)
    name = f"Tr {number(major)}x{number(lead)}" + (f"(P{number(pitch)})" if starts > 1 else "")
    grade, standard = found["grade"], "ISO 2904" if pitch in trapezoidal_pitches().get(major, ()) else None
    return TRAPEZOIDAL.said(name, pitch, starts=starts, major_mm=major, tolerance_class=grade, standard=standard)


FORMS = (
    form(
        rf"M (?P<major>{DECIMAL})"
        rf"(?: x (?:Ph (?P<lead>{DECIMAL}) P (?P<start_pitch>{DECIMAL})|(?P<pitch>{DECIMAL})))?"
        rf"(?:(?: - |\x20)(?P<grade>{ISO_CLASS})(?: / (?P<fit>{ISO_CLASS}))?)?",
        _read_metric,
        "M8",
        "M8x1",
        "M10x1.5-6g",
        "M16xPh3P1.5",
        "M8 LH",
    ),
    form(
        rf"Tr (?P<major>{DECIMAL}) x (?P<lead>{DECIMAL})(?: \(? P (?P<pitch>{DECIMAL}) \)?)?"
        + classed(r"(?-i:[6-9][a-h]|[6-9][E-H])"),
        _read_trapezoidal,
        "Tr 40x7",
        "Tr 40x14(P7)",
    ),
)
"""Pattern, reader and examples of each form, in the order in which they are tried."""


def series() -> dict[str, list[str]]:
    """Each series and the threads that its table lists, as they are written, smallest size first."""
    metric, coarse = sorted(metric_pitches().items()), metric_has_coarse()
    fine = [(d, p) for d, pitches in metric for p in sorted(pitches[d in coarse :], reverse=True)]
    trapezoidal = [(d, p) for d, pitches in sorted(trapezoidal_pitches().items()) for p in sorted(pitches)]
    return {
        "metric coarse": [f"M{number(d)}x{number(pitches[0])}" for d, pitches in metric if d in coarse],
        "metric fine": [f"M{number(d)}x{number(p)}" for d, p in fine],
        "metric pitches": [f"{number(p)} mm" for p in sorted({p for _, pitches in metric for p in pitches})],
        "trapezoidal": [f"Tr {number(d)}x{number(p)}" for d, p in trapezoidal],
    }
