"""American threads: Unified, Acme and NPT, their sizes and pitches, and how they are written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache

from gearcalc.basics.errors import ThreadTextError
from gearcalc.basics.exact import INCH_MM, parse_number
from gearcalc.basics.files import read_rows
from gearcalc.basics.writing import number
from gearcalc.threads.designations import (
    NUMBER,
    SIZE,
    TPI,
    Facts,
    Family,
    classed,
    figure,
    form,
    grade_of,
    hyphened,
    listed_pitch,
    nearest_sizes,
    pitch_of,
)

UNIFIED = Family("Unified", Fraction(60), form="ISO")
NPT = Family("NPT", Fraction(60), form="NPT")
ACME = Family("Acme", Fraction(29), form="Acme")
FAMILIES = (UNIFIED, NPT, ACME)


_UNIFIED_SERIES = ("UNC", "UNF", "UNEF")
_NUMBERED = re.compile(r"\d|1[012]")


def size_in_inches(size: str) -> Fraction:
    """A Unified size in inches: #0 is 0.060 in and each number adds 0.013 in; else the inch fraction itself.

    >>> size_in_inches("#8"), size_in_inches("1-1/8")
    (Fraction(41, 250), Fraction(9, 8))

    Raises ValueOutOfRangeError for what is no number. Source: ASME B1.1 (numbered sizes).
    """
    if size.startswith("#"):
        return Fraction(60 + 13 * int(size[1:]), 1000)
    return parse_number(size, what="the size")


@cache
def unified_pitches() -> Mapping[tuple[str, Fraction], Fraction]:
    """(series, diameter in inches) -> threads per inch (ASME B1.1).

    >>> unified_pitches()["UNC", Fraction(1, 4)]
    Fraction(20, 1)
    """
    rows = read_rows("threads/unified.csv")
    return {(row["series"], parse_number(row["d_in"])): parse_number(row["tpi"]) for row in rows}


@cache
def unified_names() -> Mapping[Fraction, str]:
    """Diameter in inches -> the size as it is written: '#8', '1-1/8' (ASME B1.1).

    >>> unified_names()[Fraction(9, 8)]
    '1-1/8'
    """
    return {parse_number(row["d_in"]): row["size"] for row in read_rows("threads/unified.csv")}


@cache
def npt_pitches() -> Mapping[Fraction, Fraction]:
    """Pipe size -> threads per inch (ASME B1.20.1).

    >>> npt_pitches()[Fraction(1)]
    Fraction(23, 2)
    """
    return {parse_number(row["size"]): parse_number(row["tpi"]) for row in read_rows("threads/npt.csv")}


@cache
def acme_pitches() -> Mapping[Fraction, Fraction]:
    """Major diameter in inches -> threads per inch (ASME B1.5, general purpose).

    >>> acme_pitches()[Fraction(1, 2)]
    Fraction(10, 1)
    """
    return {parse_number(row["size"]): parse_number(row["tpi"]) for row in read_rows("threads/acme.csv")}


def _read_unified(found: re.Match[str]) -> Facts:
    tpi = parse_number(found["tpi"]) if found["tpi"] else None
    diameter = _unified_diameter(found, tpi)
    size = _unified_name(diameter)
    pitches = unified_pitches()
    listed = {name: pitches[name, diameter] for name in _UNIFIED_SERIES if (name, diameter) in pitches}
    named = (found["series"] or found["series_alone"] or "").upper()
    if named in _UNIFIED_SERIES:
        tpi = _unified_pitch(found["size"], size, named, listed, tpi)
    assert tpi is not None  # the pattern wants threads per inch or a series
    series = next((name for name, per_inch in listed.items() if per_inch == tpi), "")
    if _read_as_numbered(size, tpi):
        size += ".0"  # so that an inch is not read back as a number 1
    name, major, grade = f"{size}-{figure(tpi)} {series}".rstrip(), diameter * INCH_MM, grade_of(found)
    standard, pitch = "ASME B1.1" if series else None, pitch_of(tpi)
    return UNIFIED.said(name, pitch, major_mm=major, tolerance_class=grade, standard=standard)


def _unified_diameter(found: re.Match[str], tpi: Fraction | None) -> Fraction:
    size = found["size"]
    if size.startswith("#"):
        if int(size[1:]) > 12 or size != f"#{int(size[1:])}":
            raise ThreadTextError("numbered sizes run from #0 to #12")
        return size_in_inches(size)
    if tpi is not None and not found["inch"] and _read_as_numbered(size, tpi):
        return size_in_inches(f"#{size}")
    return parse_number(size)


def _read_as_numbered(size: str, tpi: Fraction) -> bool:
    """Whether the bare size means a numbered one: '10-28' is a number 10, '1-28' an inch.

    Listed pitches decide; else three inches and up are hardly ever cut as fine as 24 threads per inch.
    """
    if not _NUMBERED.fullmatch(size):
        return False
    numbered = size_in_inches(f"#{size}")
    listed = any(unified_pitches().get((name, numbered)) == tpi for name in _UNIFIED_SERIES)
    return listed or (int(size) >= 3 and tpi >= 24)


def _unified_name(diameter: Fraction) -> str:
    number_of_it = (diameter * 1000 - 60) / 13
    if number_of_it.denominator == 1 and 0 <= number_of_it <= 12:
        return f"#{number_of_it}"
    return unified_names().get(diameter) or hyphened(diameter)


def _unified_pitch(
    written: str, size: str, series: str, listed: Mapping[str, Fraction], tpi: Fraction | None
) -> Fraction:
    """The threads per inch of a listed size; what the text says must agree with the table."""
    if series in listed and tpi in (None, listed[series]):
        return listed[series]
    if series in listed and tpi is not None:
        raise ThreadTextError(
            f"{size} {series} has {number(listed[series])} tpi, not {number(tpi)}",
            remedy=f"Write '{size}-{number(listed[series])} {series}' or '{size}-{number(tpi)}'.",
        )
    pitches = unified_pitches()
    sizes = [diameter for name, diameter in pitches if name == series]
    if _NUMBERED.fullmatch(written) and size_in_inches(f"#{written}") in sizes:
        tpi = pitches[series, size_in_inches(f"#{written}")]
        remedy = f"For the numbered size write '#{written}-{number(tpi)} {series}'."
    elif listed:
        ways = (f"'{size}-{number(per_inch)} {name}'" for name, per_inch in listed.items())
        remedy = f"Write {' or '.join(ways)}."
    else:
        near = nearest_sizes(size_in_inches(written), sizes, "{}", _unified_name)
        remedy = f"The nearest sizes in it are {near}."
    raise ThreadTextError(f"{size} is not listed in {series}", remedy=remedy)


def _read_npt(found: re.Match[str]) -> Facts:
    name, pitch = listed_pitch(found, "{} NPT", npt_pitches())
    return NPT.said(name, pitch, standard="ASME B1.20.1", taper=True)


def _read_acme(found: re.Match[str]) -> Facts:
    size = parse_number(found["size"])
    listed = acme_pitches().get(size)
    tpi = parse_number(found["tpi"]) if found["tpi"] else listed
    if tpi is None:
        near = nearest_sizes(size, acme_pitches(), "{} Acme")
        raise ThreadTextError(f"there is no {hyphened(size)} Acme in the table", remedy=f"The nearest: {near}.")
    name, major, grade = f"{hyphened(size)}-{figure(tpi)} Acme", size * INCH_MM, grade_of(found)
    standard, pitch = "ASME B1.5" if listed == tpi else None, pitch_of(tpi)
    return ACME.said(name, pitch, major_mm=major, tolerance_class=grade, standard=standard)


FORMS = (
    form(
        rf"(?P<size>#\d{{1,2}}|{NUMBER})(?P<inch> in(?:ch)?)?"
        rf"(?: - (?P<tpi>{NUMBER}) (?P<series>UNC|UNF|UNEF|UNS|UN)?| (?P<series_alone>UNC|UNF|UNEF))"
        + classed("[123][AB]"),
        _read_unified,
        "1/4-20",
        "1/4-20 UNC-2A",
        "#8-32",
        "1/4 UNF",
        "1 1/8-7",
    ),
    form(rf"{SIZE}{TPI} NPT", _read_npt, "1/2 NPT"),
    form(rf"{SIZE}{TPI} Acme{classed('[2-6][GC]')}", _read_acme, "1/2-10 Acme"),
)
"""Pattern, reader and examples of each form, in the order in which they are tried."""


def series() -> dict[str, list[str]]:
    """Each series and the threads that its table lists, as they are written, smallest size first."""
    unified = sorted(unified_pitches().items())
    return {
        **{
            series: [f"{unified_names()[d]}-{number(tpi)} {series}" for (of, d), tpi in unified if of == series]
            for series in _UNIFIED_SERIES
        },
        "unified pitches": [f"{number(tpi)} tpi" for tpi in sorted({tpi for _, tpi in unified})],
        "NPT": [f"{hyphened(size)} NPT" for size in sorted(npt_pitches())],
        "Acme": [f"{hyphened(size)}-{number(tpi)} Acme" for size, tpi in sorted(acme_pitches().items())],
    }
