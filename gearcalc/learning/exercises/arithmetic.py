"""What a learner writes for a number, worked out exactly: a small arithmetic of our own, in which nothing is evaluated.

Numbers, fractions and π; plus, minus, times, divided by; parentheses. Behind it may stand a unit, which is handed back.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import ulp
from operator import mul, truediv

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, as_fraction

_LONGEST_TEXT = 100
_DIGITS_OF_A_FLOAT = 12
"""Decimals of so many digits were printed by a computer: they stand for the number that it had worked out."""
_LARGEST_BOTTOM = 100_000
_ROUNDINGS = 8

_GROUPS = r"\d{1,3}(?: \d{3})+(?!\d)"
"""Groups of three digits with spaces between, as large numbers are written here: 10 000."""
_TOKEN = re.compile(
    rf" ?(?:(?:Fraction|Rational) ?\( ?(?P<over>-?\d{{1,12}}) ?, ?(?P<under>\d{{1,12}}) ?\)"
    rf"|(?P<whole>{_GROUPS}|\d{{1,12}})[ -](?P<top>[1-9]\d{{0,11}})/(?P<bottom>\d{{1,12}})(?!\d)"
    rf"|(?P<number>(?:{_GROUPS}|\d{{1,12}})(?:[.,]\d{{0,40}})?|[.,]\d{{1,40}})"
    r"|(?P<pi>π|pi(?![a-z]))"
    r"|(?P<sign>[-+*/()]))",
    re.ASCII | re.IGNORECASE,
)
_MINUS = re.compile(r"\bminus\b", re.IGNORECASE)
_SIGNS = str.maketrans({"−": "-", "–": "-", "×": "*", "·": "*", "⋅": "*", "÷": "/", ":": "/"})


def worked_out(text: str) -> tuple[Exact, str]:
    """What a number or a small sum comes to, and the unit behind it: the rest of the text, in lower case.

    >>> worked_out("25.4/8 mm"), worked_out("3 · (127 − 2)/250")
    ((Fraction(127, 40), 'mm'), (Fraction(3, 2), ''))
    >>> worked_out("Fraction(30, 127)")[0] == worked_out("30:127")[0], worked_out("11 1/2 tpi")
    (True, (Fraction(23, 2), 'tpi'))
    >>> worked_out("minus 47.9"), worked_out("3π/2")[0]
    ((Fraction(-479, 10), ''), PiMultiple(coefficient=Fraction(3, 2)))

    `text`: its first hundred characters count; 12 digits at most before a point; a comma is a decimal comma.
    Raises ValueOutOfRangeError for what is no sum, or can't be had as a fraction or a fraction times π.
    """
    said = re.sub(r"^[≈=~] ?", "", " ".join(text[:_LONGEST_TEXT].translate(_SIGNS).split()))
    said = _MINUS.sub("-", said)
    tokens: list[Exact | str] = []
    end = 0
    try:
        while found := _TOKEN.match(said, end):
            tokens.append(_value(found))
            end = found.end()
        value, left = _sum(tokens)
        if not left:
            return value, said[end:].strip().casefold()
    except (ZeroDivisionError, TypeError, IndexError):
        pass
    raise ValueOutOfRangeError("that is no number, nor a sum of numbers", value=text)


def from_float(x: float) -> Fraction:
    """The number that a float was worked out from: few decimals as they are, many as the fraction that they come from.

    >>> from_float(30 / 127), from_float(0.1 + 0.2), from_float(0.236)
    (Fraction(30, 127), Fraction(3, 10), Fraction(59, 250))

    A fraction may be some units in the last place away: each step in a sum of floats rounds. Two fractions with at
    most five digits below the line are never so near to each other that both could be meant.
    Raises ValueOutOfRangeError for what is not finite.
    """
    decimals = as_fraction(x)
    simple = _simple(x) if is_long(repr(float(x))) else None
    return decimals if simple is None else simple


def is_simple(x: float) -> bool:
    """Whether a float has few decimals, or comes from a fraction that from_float() finds.

    >>> is_simple(25.4 / 8), is_simple(100 / 9), is_simple(2**0.5)
    (True, True, False)
    """
    return not is_long(repr(float(x))) or _simple(x) is not None


def is_long(digits: str) -> bool:
    """Whether a decimal has so many digits that a computer printed it.

    >>> is_long("11.11111111111111"), is_long("3.175")
    (True, False)
    """
    return _significant(digits) >= _DIGITS_OF_A_FLOAT


def _simple(x: float) -> Fraction | None:
    simple = Fraction(x).limit_denominator(_LARGEST_BOTTOM)
    return simple if abs(simple - Fraction(x)) <= _ROUNDINGS * Fraction(ulp(x)) else None


def _significant(digits: str) -> int:
    """How many digits count in a decimal."""
    return len(digits.partition("e")[0].replace(".", "").lstrip("-0"))


def _value(found: re.Match[str]) -> Exact | str:
    if found["sign"]:
        return found["sign"]
    if found["pi"]:
        return PiMultiple(Fraction(1))
    if found["over"]:
        return Fraction(int(found["over"]), int(found["under"]))
    if found["whole"]:
        whole = int(found["whole"].replace(" ", ""))
        return whole + Fraction(int(found["top"]), int(found["bottom"]))
    digits = found["number"].replace(" ", "").replace(",", ".")
    return from_float(float(digits)) if is_long(digits) else Fraction(digits)


def _sum(tokens: list[Exact | str]) -> tuple[Exact, list[Exact | str]]:
    """Terms with + and − between them, and what stands behind."""
    value, left = _term(tokens)
    while left and left[0] in ("+", "-"):
        other, rest = _term(left[1:])
        value, left = _added(value, other if left[0] == "+" else other * Fraction(-1)), rest
    return value, left


def _term(tokens: list[Exact | str]) -> tuple[Exact, list[Exact | str]]:
    """Factors with × and ÷ between them; π needs no × before it: 3π/2."""
    value, left = _factor(tokens)
    while left and (left[0] in ("*", "/") or isinstance(left[0], PiMultiple)):
        work = truediv if left[0] == "/" else mul  # either refuses what is no multiple of π: π · π, or 1/π
        other, rest = _factor(left if isinstance(left[0], PiMultiple) else left[1:])
        value, left = work(value, other), rest
    return value, left


def _factor(tokens: list[Exact | str]) -> tuple[Exact, list[Exact | str]]:
    first, left = tokens[0], tokens[1:]
    if first in ("+", "-"):
        value, left = _factor(left)
        return value if first == "+" else value * Fraction(-1), left
    if first == "(":
        value, left = _sum(left)
        if left[0] != ")":
            raise IndexError
        return value, left[1:]
    if isinstance(first, str):
        raise TypeError
    return first, left


def _added(x: Exact, y: Exact) -> Exact:
    if isinstance(x, PiMultiple) and isinstance(y, PiMultiple):
        return PiMultiple(x.coefficient + y.coefficient)
    if isinstance(x, PiMultiple) or isinstance(y, PiMultiple):
        raise TypeError
    return x + y
