"""The two unit systems: which is read first, and what stands behind; the quantity is the same."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.basics import markup, writing
from gearcalc.basics.exact import INCH_MM, Exact
from gearcalc.basics.writing import Units

_FINEST_DP, _NEARLY = 80, 1e-9


def both(in_mm: markup.Written, inches: markup.Written, first: Units = "mm") -> markup.Written:
    """The same in both systems, the one that is read first in front.

    >>> print(both(markup.plain("25.4 mm"), markup.plain("1 in"), "inch"))
    1 in (25.4 mm)
    """
    return writing.said_twice(in_mm, inches) if first == "mm" else writing.said_twice(inches, in_mm)


def feed(travel_mm: Fraction, first: Units = "mm") -> markup.Written:
    """A feed both ways: in millimetres and in inches, for one turn of the spindle.

    >>> print(feed(Fraction(127, 1250), "inch"), "|", feed(Fraction(1, 10)))
    0.004 in/rev (0.1016 mm/rev) | 0.1 mm/rev (≈ 0.00394 in/rev)

    `first`: the unit that is read first.
    """
    return both(writing.length(travel_mm, "mm/rev"), writing.length(travel_mm / INCH_MM, "in/rev", 5), first)


def travel(mm: Exact, first: Units = "mm", places: int = 4) -> markup.Written:
    """A length that something moves: in millimetres, or in inches with the millimetres behind.

    >>> print(travel(Fraction(127, 2)), "|", travel(Fraction(127, 2), "inch"), "|", travel(Fraction(10), "inch", 1))
    63.5 mm | 2.5 in (63.5 mm) | ≈ 0.39 in (10 mm)

    `places`: of the millimetres, where it does not end within 6; one more of the inches.
    """
    in_mm = writing.length(mm, places=places)
    return in_mm if first == "mm" else writing.said_twice(writing.length(mm / INCH_MM, "in", places + 1), in_mm)


def in_own_unit(mm: Exact, first: Units = "mm") -> markup.Written:
    """A length in the unit that is read first, alone.

    >>> print(in_own_unit(Fraction(127, 2)), "|", in_own_unit(Fraction(127, 2), "inch"))
    63.5 mm | 2.5 in
    """
    return writing.length(mm) if first == "mm" else writing.length(mm / INCH_MM, "in")


def off(um: float, first: Units = "mm", beside: float | None = None) -> markup.Written:
    """What a pitch error adds up to, with its sign: in µm, or in thousandths of an inch for who reads those.

    >>> print(off(-12.7), "|", off(-12.7, "inch"), "|", off(1e-9, "inch"))
    −12.7 µm | −0.5 thou | +less than 0.001 thou

    `um`, `beside`: in µm, as for writing.micrometres().
    """
    if first == "mm":
        return writing.micrometres(um, beside)
    thou = float(INCH_MM)
    limit = None if beside is None else beside / thou
    return writing.with_sign(um / thou, "thou", coarse_from=1000, places_from_one=2, beside=limit)


def off_size(um: float, first: Units = "mm", beside: float | None = None) -> str:
    """How large that is, whichever way it goes.

    >>> off_size(-12.7), off_size(-12.7, "inch")
    ('12.7 µm', '0.5 thou')
    """
    return off(abs(um), first, None if beside is None else abs(beside)).text.lstrip("+")


def reading(mm: float | Fraction, first: Units = "mm") -> str:
    """A length as a rule or a calliper shows it: to a hundredth of a millimetre, or to a thou.

    >>> reading(Fraction(15)), reading(Fraction(15), "inch")
    ('15 mm', '0.591 in')
    """
    return f"{writing.decimal(mm, 2)} mm" if first == "mm" else f"{writing.decimal(writing.in_inches(mm), 3)} in"


def cut_both_ways(mm: float | Fraction, first: Units = "mm") -> str:
    """A length as it is turned and measured, in both units.

    >>> cut_both_ways(0.61343), cut_both_ways(0.61343, "inch")
    ('0.613 mm (0.0242 in)', '0.0242 in (0.613 mm)')
    """
    behind: Units = "inch" if first == "mm" else "mm"
    return f"{writing.cut(mm, first)} ({writing.cut(mm, behind)})"


def span(low: Fraction, high: Fraction, first: Units = "mm", *, link: str = "to", places: int = 4) -> str:
    """Two lengths that belong together, in millimetres, or in inches with the millimetres behind.

    >>> span(Fraction(127, 10), Fraction(1, 4), link="±"), span(Fraction(127, 10), Fraction(127, 500), "inch", link="±")
    ('12.7 ± 0.25 mm', '0.5 ± 0.01 in (12.7 ± 0.254 mm)')

    `places`: of the millimetres; one more of the inches.
    """
    in_mm = f" {link} ".join(writing.decimal(mm, places) for mm in (low, high)) + " mm"
    if first == "mm":
        return in_mm
    return f" {link} ".join(writing.decimal(mm / INCH_MM, places + 1) for mm in (low, high)) + f" in ({in_mm})"


def places_for(limit: Fraction) -> int:
    """To how many places a length is said that is sure to ± so much: one more than are sure, 4 to 8.

    >>> [places_for(Fraction(limit)) for limit in ("0.25", "0.001", "0.0005", "0.00025", "0")]
    [4, 4, 5, 5, 8]
    """
    fine = (places for places in range(4, 8) if limit * 10 ** (places - 1) >= 1)
    return next(fine, 8)


def size_of_teeth(module_mm: float) -> str:
    """The size of a gear's teeth as its owner calls it: the module, or the diametral pitch where that is a whole one.

    >>> size_of_teeth(1.25), size_of_teeth(25.4 / 18), size_of_teeth(1.27)
    ('module 1.25 mm', 'DP 18', 'DP 20')

    No module of ISO 54 from 0.3 mm up is that of a whole diametral pitch (from memory).
    """
    pitch = float(INCH_MM) / module_mm
    if pitch <= _FINEST_DP and abs(pitch - round(pitch)) < _NEARLY:
        return f"DP {round(pitch)}"
    return f"module {writing.decimal(module_mm)} mm"
