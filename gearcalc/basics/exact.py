"""Exact numbers: fractions, and fractions times π. Nothing here is rounded but by half_up().

A lead in millimetres is a Fraction; that of a module or diametral-pitch worm is a Fraction times π.
Comparisons with π are decided by rational bounds of π that are tightened until they decide.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, total_ordering
from math import inf, isfinite, pi
from typing import TYPE_CHECKING, TypeAlias, Union

from gearcalc.basics.errors import ValueOutOfRangeError

if TYPE_CHECKING:
    import sympy

INCH_MM = Fraction(127, 5)
"""Millimetres in an inch: 25.4 exactly (international inch, 1959)."""
MILLION = 1_000_000
"""The parts in 'parts per million', ppm."""

_MOST_DIGITS = 12
_ROUNDED = 1e-14
"""More than a few divisions of floats round off, as a part of the whole."""
_NUMBER = re.compile(
    r"(?:(?P<whole>\d{1,12})[ -]+)?(?P<top>\d{1,12})/(?P<bottom>\d{1,12})"
    r"|(?P<decimal>\d{0,12}(?:[.,]\d{1,12})?|\d{1,12}[.,]?)",
    re.ASCII,
)
_TIMES_PI = re.compile(r"(?P<front>[^*·×πp]*?)[ ]*[*·×]?[ ]*(?:pi|π)(?:[ ]*/[ ]*(?P<under>[^πp]+))?", re.IGNORECASE)


@total_ordering
@dataclass(frozen=True, slots=True, eq=False)
class PiMultiple:
    """A fraction times π, such as the pitch of a module worm.

    >>> PiMultiple(Fraction(3, 2)) * 2
    PiMultiple(coefficient=Fraction(3, 1))
    >>> PiMultiple(Fraction(3)) / PiMultiple(Fraction(2))
    Fraction(3, 2)
    >>> PiMultiple(Fraction(1)) < Fraction(355, 113)
    True

    `coefficient`: any whole number or Fraction. Compares with whole numbers and Fractions, exactly.
    Source of the ordering: pi_bounds, from Machin's formula.
    """

    coefficient: Fraction

    def __post_init__(self) -> None:
        if not isinstance(self.coefficient, Fraction):
            object.__setattr__(self, "coefficient", as_fraction(self.coefficient, what="the multiple of π"))

    def __str__(self) -> str:
        return f"{self.coefficient} π"

    def __mul__(self, factor: int | Fraction) -> PiMultiple:
        if not isinstance(factor, (int, Fraction)):
            return NotImplemented
        return PiMultiple(self.coefficient * factor)

    __rmul__ = __mul__

    def __truediv__(self, divisor: int | Fraction | PiMultiple) -> PiMultiple | Fraction:
        if isinstance(divisor, PiMultiple):
            return self.coefficient / divisor.coefficient
        if not isinstance(divisor, (int, Fraction)):
            return NotImplemented
        return PiMultiple(self.coefficient / divisor)

    def __float__(self) -> float:
        return float(self.coefficient * pi_bounds(60)[0])

    def __eq__(self, other: object) -> bool:
        if isinstance(other, PiMultiple):
            return self.coefficient == other.coefficient
        return self.coefficient == 0 == other if isinstance(other, (int, Fraction)) else NotImplemented

    def __hash__(self) -> int:
        return hash((self.coefficient, "π")) if self.coefficient else hash(0)

    def __lt__(self, other: int | Fraction | PiMultiple) -> bool:
        if isinstance(other, PiMultiple):
            return self.coefficient < other.coefficient
        if not isinstance(other, (int, Fraction)):
            return NotImplemented
        if self.coefficient == 0:
            return other > 0
        return _above_pi(other / self.coefficient) == (self.coefficient > 0)


Exact: TypeAlias = Union[Fraction, PiMultiple]  # noqa: UP007 - readable in error messages
"""An exact number: a Fraction, or a Fraction times π."""
NumberLike: TypeAlias = int | float | Fraction | str
"""A number as it may be handed over: a float counts as the decimal that it prints as; text is like '1.25' or '3/8'."""
ExactLike: TypeAlias = Union[int, float, Fraction, str, PiMultiple, "sympy.Expr"]
"""The same, or a fraction times π: sympy's, or text like '3/2 pi'."""


@total_ordering
@dataclass(frozen=True, slots=True, eq=False)
class RelativeError:
    """(cut − wanted) / wanted, kept exact; positive when what is cut is too long.

    >>> miss = RelativeError(Fraction(127, 80), Fraction(25, 16))
    >>> miss.ppm
    16000.0
    >>> miss.is_exact
    False
    >>> RelativeError(Fraction(22, 7), PiMultiple(Fraction(1))) < miss
    True

    Ordering and equality go by size, whatever the sign, so that the smallest miss sorts first.
    `cut` is rational; `wanted` may have π in it. Raises ValueOutOfRangeError when `wanted` is not positive.
    """

    cut: Fraction
    wanted: Exact
    _about: tuple[float, float] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        if not coefficient(self.wanted) > 0:
            raise ValueOutOfRangeError("what is wanted must be more than zero", value=coefficient(self.wanted))
        object.__setattr__(self, "_about", self._size_about())

    def _size_about(self) -> tuple[float, float]:
        """Floats with the size between them: they tell most errors apart, and what they don't is compared exactly."""
        (top, bottom), (by, under) = self.cut.as_integer_ratio(), coefficient(self.wanted).as_integer_ratio()
        try:
            ratio = top * under / (bottom * by)
        except OverflowError:
            return 0.0, inf
        if isinstance(self.wanted, PiMultiple):
            ratio /= pi
        size, rounded = abs(ratio - 1), _ROUNDED * (1 + abs(ratio))
        return size - rounded, size + rounded

    @classmethod
    def of_ppm(cls, ppm: int | Fraction) -> RelativeError:
        """Make an error of so many ppm, as a bound to hold others against.

        >>> RelativeError(Fraction(80, 63), Fraction(127, 100)) <= RelativeError.of_ppm(125)
        True
        """
        return cls(1 + Fraction(ppm) / MILLION, Fraction(1))

    @property
    def is_exact(self) -> bool:
        return self.cut == self.wanted

    @property
    def ppm(self) -> float:
        """Parts per million (1 ppm is 1 µm in a metre of thread), to the last digit a float holds."""
        return float(self._against(pi_bounds(60)[0]) * MILLION)

    @property
    def exact(self) -> Fraction | None:
        """The error as a fraction; None where π is in it."""
        if isinstance(self.wanted, PiMultiple):
            return None if self.cut else Fraction(-1)
        return self.cut / self.wanted - 1

    def _against(self, pi: Fraction) -> Fraction:
        wanted = self.wanted.coefficient * pi if isinstance(self.wanted, PiMultiple) else self.wanted
        return self.cut / wanted - 1

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, RelativeError):
            return NotImplemented
        if self._about[1] < other._about[0] or other._about[1] < self._about[0]:
            return False
        mine, theirs = self.exact, other.exact
        if mine is not None and theirs is not None:
            return abs(mine) == abs(theirs)
        if mine is None and theirs is None:
            # |a − π| = |b − π| with a, b rational needs a = b, since π is not their mean.
            return self.cut / coefficient(self.wanted) == other.cut / coefficient(other.wanted)
        return False

    def __hash__(self) -> int:
        exact = self.exact
        return hash(abs(exact)) if exact is not None else hash((self.cut / coefficient(self.wanted), "π"))

    def __lt__(self, other: RelativeError) -> bool:
        if not isinstance(other, RelativeError):
            return NotImplemented
        if self._about[1] < other._about[0] or other._about[1] < self._about[0]:
            return self._about < other._about
        if self == other:
            return False
        if self.exact is not None and other.exact is not None:
            return abs(self.exact) < abs(other.exact)
        digits = 30
        while True:
            mine, theirs = self._size_bounds(digits), other._size_bounds(digits)
            if mine[1] < theirs[0]:
                return True
            if theirs[1] < mine[0]:
                return False
            digits *= 2

    def _size_bounds(self, digits: int) -> tuple[Fraction, Fraction]:
        low, high = (self._against(pi) for pi in pi_bounds(digits))
        if low * high < 0:  # π's bounds straddle what is cut
            return Fraction(0), max(abs(low), abs(high))
        return min(abs(low), abs(high)), max(abs(low), abs(high))


@cache
def pi_bounds(digits: int) -> tuple[Fraction, Fraction]:
    """Two fractions with π between them, 10^-digits apart.

    >>> low, high = pi_bounds(5)
    >>> float(low), float(high)
    (3.14159, 3.1416)

    `digits`: whole number, 1 or more.
    Source: Machin's formula, π/4 = 4 arctan(1/5) − arctan(1/239) (1706).
    """
    guard = 10
    one = 10 ** (digits + guard)
    scaled = 4 * (4 * _arctan_of_inverse(5, one) - _arctan_of_inverse(239, one))
    low = scaled // 10**guard
    return Fraction(low, 10**digits), Fraction(low + 1, 10**digits)


def _arctan_of_inverse(x: int, one: int) -> int:
    power = one // x
    total, n, sign = power, 1, 1
    while power:
        power //= x * x
        n, sign = n + 2, -sign
        total += sign * (power // n)
    return total


def _above_pi(x: int | Fraction) -> bool:
    """On which side of π the rational x lies (it is never π)."""
    digits = 30
    while True:
        low, high = pi_bounds(digits)
        if not low < x < high:
            return x >= high
        digits *= 2


def coefficient(x: Exact) -> Fraction:
    """The rational part of an exact number: itself, or what π is multiplied by.

    >>> coefficient(PiMultiple(Fraction(3, 2)))
    Fraction(3, 2)
    """
    return x.coefficient if isinstance(x, PiMultiple) else x


def half_up(x: Fraction) -> int:
    """The nearest whole number as at school: a half goes up, below zero as far down.

    >>> [half_up(Fraction(n, 2)) for n in (1, 3, 5, -1)]
    [1, 2, 3, -1]
    """
    top, bottom = x.numerator, x.denominator  # whole numbers alone: a picture writes a hundred, some in a browser
    nearest = (2 * abs(top) + bottom) // (2 * bottom)
    return nearest if top >= 0 else -nearest


def is_inch(lead_mm: Exact) -> bool:
    """Whether a lead or pitch in mm was meant in inches: as a fraction of a millimetre it then has a 127 on top.

    >>> is_inch(INCH_MM / 8), is_inch(Fraction(4, 5))  # 0.8 mm is 31 3/4 to the inch too, and nobody means that
    (True, False)
    """
    return isinstance(lead_mm, Fraction) and lead_mm.numerator % INCH_MM.numerator == 0


def threads_per_inch(lead_mm: Exact) -> Fraction | None:
    """Threads per inch where the trade says a lead so: an inch one, of at least one to the inch, in whole eighths.

    >>> threads_per_inch(INCH_MM / Fraction(23, 2)), threads_per_inch(Fraction(3))
    (Fraction(23, 2), None)
    """
    per_inch = INCH_MM / lead_mm if isinstance(lead_mm, Fraction) and is_inch(lead_mm) else Fraction(0)
    return per_inch if per_inch >= 1 and 8 % per_inch.denominator == 0 else None


def parse_number(text: str, *, what: str = "a number") -> Fraction:
    """Read a number as people write it: 1.25 · 1,25 · 3/8 · 11 1/2 · 1-1/8; never negative, no exponent.

    >>> parse_number("11 1/2"), parse_number("1,25")
    (Fraction(23, 2), Fraction(5, 4))

    `text`: ASCII digits, at most 12 on either side of a point or slash; one comma is a decimal comma.
    `what` names the thing in the message. Raises ValueOutOfRangeError for anything else.
    """
    text = str.__str__(text) if isinstance(text, str) else text  # another's kind of text may do anything
    readable = isinstance(text, str) and len(text) <= 4 * _MOST_DIGITS
    found = _NUMBER.fullmatch(text.strip()) if readable else None
    if found is None or not any(character.isdigit() for character in text):
        if readable and below_zero(text):
            raise ValueOutOfRangeError(f"{what} must be zero or more", value=text)
        too_long = readable and re.search(rf"\d{{{_MOST_DIGITS + 1}}}", text, re.A)
        kind = f"number of at most {_MOST_DIGITS} digits on a side" if too_long else "plain number"
        like = "2:1 as 2 or 1/2: turns out for one in" if readable and ":" in text else "it like 1.25, 3/8 or 11 1/2"
        raise ValueOutOfRangeError(f"{what} must be a {kind}", value=text, remedy=f"Write {like}.")
    if found["top"] is None:
        return Fraction(found["decimal"].replace(",", "."))
    if int(found["bottom"]) == 0:
        raise ValueOutOfRangeError(
            f"{what} must have more than zero below the line", value=text, remedy="Write it like 3/8."
        )
    return int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["bottom"]))


def below_zero(given: object) -> Fraction | None:
    """The number of a text that has a minus before a number; None for all else.

    >>> below_zero("-1,25"), below_zero("1.25"), below_zero("-x")
    (Fraction(-5, 4), None, None)
    """
    text = str.__str__(given).strip() if isinstance(given, str) else ""
    if not text.startswith(("-", "−")):
        return None
    try:
        return -parse_number(text[1:])
    except ValueOutOfRangeError:
        return None


def as_fraction(x: object, *, what: str = "a number") -> Fraction:
    """An exact fraction from an int, a Fraction, or text; a float as its shortest decimal, 0.1 as 1/10.

    >>> as_fraction("3/8"), as_fraction(0.1)
    (Fraction(3, 8), Fraction(1, 10))

    Raises ValueOutOfRangeError for anything that is not a finite number.
    """
    if isinstance(x, str):
        return parse_number(x, what=what)
    if isinstance(x, (int, Fraction)) and not isinstance(x, bool):
        return _of_some_size(Fraction(x), what)
    if isinstance(x, float):
        if not isfinite(x):
            raise ValueOutOfRangeError(f"{what} must be finite", value=float(x))
        return Fraction(repr(float(x)))  # float() because a numpy float has a repr of its own
    top, bottom = getattr(x, "p", None), getattr(x, "q", None)  # a sympy Rational
    if isinstance(top, int) and isinstance(bottom, int) and bottom:
        return _of_some_size(Fraction(top, bottom), what)
    if getattr(x, "shape", None) == () and isinstance(x.item(), (int, float)):  # type: ignore[attr-defined] # numpy
        return as_fraction(x.item(), what=what)  # type: ignore[attr-defined]
    raise ValueOutOfRangeError(
        f"{what} must be a number", value="nothing" if x is None else x, remedy="Write it like 1.25 or '3/8'."
    )


def _of_some_size(x: Fraction, what: str) -> Fraction:
    """Whatever is shown or filtered passes through a float once, which ends near 1.8e308 and 5e-324."""
    try:
        if x and not float(x):
            raise ValueOutOfRangeError(f"{what} is too small", value=x, remedy="Nothing on a lathe comes near.")
    except OverflowError:
        raise ValueOutOfRangeError(f"{what} is too large", value=x, remedy="Nothing on a lathe comes near.") from None
    return x


def as_exact(x: object, *, what: str = "a number") -> Exact:
    """An exact number from an int, a Fraction, 'a/b' text, or a rational times π: sympy.pi, or text like '3/2 pi'.

    >>> import sympy
    >>> as_exact("127/100"), as_exact(sympy.pi / 2)
    (Fraction(127, 100), PiMultiple(coefficient=Fraction(1, 2)))
    >>> as_exact("pi") == as_exact("π"), as_exact("3/2 pi"), as_exact("pi/25.4")
    (True, PiMultiple(coefficient=Fraction(3, 2)), PiMultiple(coefficient=Fraction(5, 127)))

    Raises ValueOutOfRangeError for anything else.
    """
    if isinstance(x, PiMultiple):
        return x
    if isinstance(x, str):
        return _read_exact(str.__str__(x), what)
    if hasattr(x, "as_coeff_Mul") and hasattr(x, "free_symbols"):  # a sympy expression, so sympy is loaded
        from sympy import pi

        rational, rest = x.as_coeff_Mul()
        if rest == pi:
            return PiMultiple(as_fraction(rational, what=what))
        if rest != 1:
            raise ValueOutOfRangeError(f"{what} must be a fraction, or a fraction times pi", value=str(x))
        return as_fraction(rational, what=what)
    return as_fraction(x, what=what)


def _read_exact(text: str, what: str) -> Exact:
    """Text with π in it: a number before it, a number under it, both, or neither."""
    found = _TIMES_PI.fullmatch(text.strip()) if len(text) <= 4 * _MOST_DIGITS else None
    if found is None:
        return parse_number(text, what=what)
    front = parse_number(found["front"], what=what) if found["front"] else Fraction(1)
    under = parse_number(found["under"], what=what) if found["under"] else Fraction(1)
    if under == 0:
        raise ValueOutOfRangeError(f"{what} must have more than zero below the line", value=text)
    return PiMultiple(front / under)


def to_sympy(x: Exact) -> sympy.Expr:
    """The same exact number for sympy (loaded now if it was not).

    >>> to_sympy(PiMultiple(Fraction(3, 2)))
    3*pi/2
    """
    import sympy

    rational = sympy.Rational(coefficient(x).numerator, coefficient(x).denominator)
    return rational * sympy.pi if isinstance(x, PiMultiple) else rational
