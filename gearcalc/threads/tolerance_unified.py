"""ASME B1.1, worked out in inches with the roundings of the standard: tolerance and allowance of each class."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache

from gearcalc.basics.exact import parse_number
from gearcalc.basics.resources import read_rows


@cache
def classes() -> Mapping[str, Mapping[str, str]]:
    """Class -> its row in data/tolerances/: the multiple of class 2A that it is, status and source.

    >>> classes()["2B"]["of_2A"]
    '1.3'
    """
    return {row["class"]: row for row in read_rows("tolerances/unified_classes.csv")}


def width_inches(diameter: Fraction, pitch: Fraction, engagement: Fraction, name: str) -> Fraction:
    """The pitch-diameter tolerance of a class, to six places.

    >>> float(width_inches(Fraction(1, 4), Fraction(1, 20), Fraction(1, 4), "2A"))
    0.003731

    `diameter`, `pitch`, `engagement`: inches, more than zero; `name`: one of classes().
    """
    return _to_places(_class_2a(diameter, pitch, engagement) * parse_number(classes()[name]["of_2A"]), 6)


def allowance_inches(diameter: Fraction, pitch: Fraction, engagement: Fraction, name: str) -> Fraction:
    """The gap that 1A and 2A leave below the basic size, to four places: 0.3 of the 2A tolerance.

    >>> float(allowance_inches(Fraction(1, 4), Fraction(1, 20), Fraction(1, 4), "2A"))
    0.0011

    Arguments as for width_inches.
    """
    if name not in ("1A", "2A"):
        return Fraction(0)
    return _to_places(_class_2a(diameter, pitch, engagement) * Fraction(3, 10), 4)


def _class_2a(diameter: Fraction, pitch: Fraction, engagement: Fraction) -> Fraction:
    """0.0015 D^(1/3) + 0.0015 √LE + 0.015 P^(2/3), to six places."""
    with localcontext() as context:
        context.prec = 40
        size, length, step = (Decimal(x.numerator) / x.denominator for x in (diameter, engagement, pitch))
        third = Decimal(1) / 3
        width = Decimal("0.0015") * (size**third + length.sqrt()) + Decimal("0.015") * step ** (2 * third)
        return _to_places(Fraction(width), 6)


def _to_places(x: Fraction, places: int) -> Fraction:
    return Fraction(round(x * 10**places), 10**places)
