"""The standard designations: which pitch belongs to which size, looked up in data/threads/."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache

from gearcalc.basics.exact import parse_number
from gearcalc.basics.files import read_rows


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
def whitworth_pitches() -> Mapping[tuple[str, Fraction], Fraction]:
    """(BSW or BSF, diameter in inches) -> threads per inch (BS 84).

    >>> whitworth_pitches()["BSF", Fraction(3, 8)]
    Fraction(20, 1)
    """
    rows = read_rows("threads/whitworth.csv")
    return {(row["series"], parse_number(row["size"])): parse_number(row["tpi"]) for row in rows}


@cache
def ba_sizes() -> Mapping[int, tuple[Fraction, Fraction]]:
    """BA number -> (major diameter, pitch), both in mm (BS 93).

    >>> ba_sizes()[2]
    (Fraction(47, 10), Fraction(81, 100))
    """
    rows = read_rows("threads/ba.csv")
    return {int(row["number"]): (parse_number(row["d_mm"]), parse_number(row["pitch_mm"])) for row in rows}


@cache
def pipe_pitches() -> Mapping[Fraction, tuple[Fraction, Fraction]]:
    """Pipe size -> (threads per inch, major diameter in mm) (ISO 228-1; R, Rc and Rp share the pitch).

    >>> pipe_pitches()[Fraction(1, 2)][0]
    Fraction(14, 1)
    """
    rows = read_rows("threads/pipe_parallel.csv")
    return {parse_number(row["size"]): (parse_number(row["tpi"]), parse_number(row["d_mm"])) for row in rows}


@cache
def iso_7_sizes() -> frozenset[Fraction]:
    """The pipe sizes that R, Rc and Rp come in; G has more (ISO 7-1, from memory).

    >>> Fraction(1, 2) in iso_7_sizes(), Fraction(5, 8) in iso_7_sizes()
    (True, False)
    """
    return frozenset(parse_number(row["size"]) for row in read_rows("threads/pipe_parallel.csv") if row["iso_7_1"])


@cache
def npt_pitches() -> Mapping[Fraction, Fraction]:
    """Pipe size -> threads per inch (ASME B1.20.1).

    >>> npt_pitches()[Fraction(1)]
    Fraction(23, 2)
    """
    return {parse_number(row["size"]): parse_number(row["tpi"]) for row in read_rows("threads/npt.csv")}


@cache
def trapezoidal_pitches() -> Mapping[Fraction, tuple[Fraction, ...]]:
    """Major diameter in mm -> pitches in mm (ISO 2904).

    >>> Fraction(7) in trapezoidal_pitches()[Fraction(40)]
    True
    """
    return _gather(
        (parse_number(row["d_mm"]), parse_number(row["pitch_mm"])) for row in read_rows("threads/trapezoidal.csv")
    )


@cache
def acme_pitches() -> Mapping[Fraction, Fraction]:
    """Major diameter in inches -> threads per inch (ASME B1.5, general purpose).

    >>> acme_pitches()[Fraction(1, 2)]
    Fraction(10, 1)
    """
    return {parse_number(row["size"]): parse_number(row["tpi"]) for row in read_rows("threads/acme.csv")}


@cache
def modules() -> tuple[Fraction, ...]:
    """The preferred modules in mm (ISO 54, series I then II, from memory).

    >>> modules()[:3]
    (Fraction(1, 1), Fraction(5, 4), Fraction(3, 2))
    """
    return tuple(parse_number(row["module_mm"]) for row in read_rows("threads/modules.csv"))


def _gather(pairs: Iterable[tuple[Fraction, Fraction]]) -> Mapping[Fraction, tuple[Fraction, ...]]:
    gathered: dict[Fraction, tuple[Fraction, ...]] = {}
    for size, pitch in pairs:
        gathered[size] = (*gathered.get(size, ()), pitch)
    return gathered
