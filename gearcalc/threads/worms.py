"""Worms, by module or by diametral pitch: a pitch with π in it."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from gearcalc.basics.exact import PiMultiple, parse_number
from gearcalc.basics.files import read_rows
from gearcalc.basics.writing import number
from gearcalc.threads.designations import NUMBER, Facts, Family, figure, form, pitch_of

MODULE = Family("module", None, form="worm 40")
DIAMETRAL_PITCH = Family("diametral pitch", None, form="worm 29")
FAMILIES = (MODULE, DIAMETRAL_PITCH)


@cache
def modules() -> tuple[Fraction, ...]:
    """The preferred modules in mm (ISO 54, series I then II, from memory).

    >>> modules()[:3]
    (Fraction(1, 1), Fraction(5, 4), Fraction(3, 2))
    """
    return tuple(parse_number(row["module_mm"]) for row in read_rows("threads/modules.csv"))


def _read_module(found: re.Match[str]) -> Facts:
    module = parse_number(found["before"] or found["after"])
    return MODULE.said(f"module {figure(module)}", PiMultiple(module))


def _read_diametral_pitch(found: re.Match[str]) -> Facts:
    teeth = parse_number(found["before"] or found["after"])
    pitch = PiMultiple(pitch_of(teeth, what="a diametral pitch"))
    return DIAMETRAL_PITCH.said(f"DP {figure(teeth)}", pitch)


FORMS = (
    form(
        rf"(?:mod(?:ule)? (?P<after>{NUMBER})|(?P<before>{NUMBER}) mod(?:ule)?)",
        _read_module,
        "module 1.5",
        "module 1.5 2 starts",
    ),
    form(rf"(?:DP (?P<after>{NUMBER})|(?P<before>{NUMBER}) DP)", _read_diametral_pitch, "DP 12"),
)
"""Pattern, reader and examples of each form, in the order in which they are tried."""


def series() -> dict[str, list[str]]:
    """The preferred modules, as they are written, the finest first."""
    return {"modules": [f"module {number(module)}" for module in sorted(modules())]}
