"""British threads: Whitworth, BA and pipe, sizes that have one pitch each, and how they are written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache

from gearcalc.basics.errors import ThreadTextError
from gearcalc.basics.exact import INCH_MM, parse_number
from gearcalc.basics.files import read_rows
from gearcalc.threads.designations import SIZE, TPI, Facts, Family, form, grade_of, hyphened, listed_pitch

WHITWORTH = Family("Whitworth", Fraction(55), form="Whitworth")
BA = Family("BA", Fraction(95, 2), form="BA")
BSP = Family("BSP", Fraction(55), form="Whitworth")
FAMILIES = (WHITWORTH, BA, BSP)


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


def _read_whitworth(found: re.Match[str]) -> Facts:
    series = "BSF" if found["series"].casefold() == "bsf" else "BSW"
    table = {size: tpi for (name, size), tpi in whitworth_pitches().items() if name == series}
    name, pitch = listed_pitch(found, f"{{}} {series}", table)
    major = parse_number(found["size"]) * INCH_MM
    return WHITWORTH.said(name, pitch, major_mm=major, standard="BS 84")


def _read_ba(found: re.Match[str]) -> Facts:
    size = int(found["before"] or found["after"])
    if size not in ba_sizes():
        sizes = f"{min(ba_sizes())} to {max(ba_sizes())}"
        raise ThreadTextError(f"our table of BA threads holds the sizes {sizes}", remedy="Write it like '2 BA'.")
    major, pitch = ba_sizes()[size]
    return BA.said(f"{size} BA", pitch, major_mm=major, standard="BS 93")


def _read_parallel_pipe(found: re.Match[str]) -> Facts:
    table = pipe_pitches()
    name, pitch = listed_pitch(found, "G {}", {size: tpi for size, (tpi, _) in table.items()})
    major, grade = table[parse_number(found["size"])][1], grade_of(found)
    return BSP.said(name, pitch, major_mm=major, tolerance_class=grade, standard="ISO 228-1")


def _read_iso_7_pipe(found: re.Match[str]) -> Facts:
    kind = (found.groupdict().get("kind") or "R").capitalize()
    table = {size: tpi for size, (tpi, _) in pipe_pitches().items()}
    name, pitch = listed_pitch(found, f"{kind} {{}}", table)
    standard = "ISO 7-1" if parse_number(found["size"]) in iso_7_sizes() else None
    return BSP.said(name, pitch, standard=standard, taper=kind != "Rp")


FORMS = (
    form(rf"{SIZE}{TPI} (?P<series>BSW|Whitworth|BSF)", _read_whitworth, "1/2 BSW", "3/8 BSF"),
    form(r"(?:(?P<before>\d{1,4}) BA|BA (?P<after>\d{1,4}))", _read_ba, "2 BA"),
    form(rf"G {SIZE}(?:[\x20-]?(?P<grade>[AB]))?", _read_parallel_pipe, "G 1/2"),
    form(rf"{SIZE}{TPI} BSPP?", _read_parallel_pipe, "1/2 BSP"),
    form(rf"(?P<kind>Rc|Rp|R) {SIZE}", _read_iso_7_pipe, "R 1/2", "Rc 1/2"),
    form(rf"{SIZE}{TPI} BSPT", _read_iso_7_pipe),
)
"""Pattern, reader and examples of each form, in the order in which they are tried."""


def series() -> dict[str, list[str]]:
    """Each series and the threads that its table lists, as they are written, smallest size first."""
    whitworth, pipes = sorted(whitworth_pitches()), [hyphened(size) for size in sorted(pipe_pitches())]
    return {
        **{
            series: [f"{hyphened(size)} {series}" for of, size in whitworth if of == series]
            for series in ("BSW", "BSF")
        },
        "BA": [f"{size} BA" for size in sorted(ba_sizes())],
        "G": [f"G {size}" for size in pipes],
    }
