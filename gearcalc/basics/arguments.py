"""What a caller hands over, read or refused in plain words: numbers within limits, yes or no, words, a file's name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import islice
from operator import index
from pathlib import Path
from typing import Any, TypeGuard, TypeVar

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple, as_fraction, below_zero
from gearcalc.basics.writing import Units

UNITS = ("inch", "mm")

_THOUSANDTH = Fraction(1, 1000)

Number = TypeVar("Number", int, float, Fraction, Fraction | PiMultiple)


def within(
    value: Number,
    *,
    what: str = "",
    least: float | Fraction = 0,
    most: float | Fraction | None = None,
    above: bool = False,
    unit: str = "",
    given: object = None,
    where: str = "",
    remedy: str = "",
) -> Number:
    """A number that lies within its limits.

    >>> within(3, what="the feed", most=100, unit="mm")
    3
    >>> within(0.0, what="the feed", most=100, above=True, unit="mm")
    Traceback (most recent call last):
    gearcalc.basics.errors.ValueOutOfRangeError: the feed must be more than zero and at most 100 mm, not 0.

    `least`, `most`: None for no upper limit; `above`: `least` itself is too little. `what`, `unit`, `given` (else the
    value), `where`, `remedy`: for the message. Raises ValueOutOfRangeError, also for what is no number.
    """
    number: Any = value
    is_number = isinstance(number, (int, float, Fraction, PiMultiple)) and not isinstance(number, bool)
    if is_number and (number > least if above else number >= least) and (most is None or number <= most):
        return value
    if isinstance(number, PiMultiple):
        number = number.coefficient
    elif isinstance(number, float) and number.is_integer():
        number = int(number)  # as it was typed
    raise ValueOutOfRangeError(
        f"{what} must be {_limits(least, most, above)}{'' if unit.startswith('°') else ' '}{unit}".strip(),
        value=shown(number if given is None else given),
        where=where,
        remedy=remedy,
    )


def _limits(least: float | Fraction, most: float | Fraction | None, above: bool) -> str:
    places = 4 if 0 < least < _THOUSANDTH else 3
    low = "zero" if least == 0 and (above or most is None) else writing.decimal(least, places)
    high = "" if most is None else writing.decimal(most, 3)
    if above:
        return f"more than {low} and at most {high}" if high else f"more than {low}"
    return f"from {low} to {high}" if high else f"{low} or more"


def as_number(given: object, *, what: str, **limits: Any) -> Fraction:
    """An exact fraction within its limits, read as as_fraction reads it.

    >>> as_number("12,5", what="the length", least=1, most=100, unit="mm")
    Fraction(25, 2)
    >>> as_number(-1, what="within_ppm")
    Traceback (most recent call last):
    gearcalc.basics.errors.ValueOutOfRangeError: within_ppm must be zero or more, not -1.

    `limits` and what is raised: as for within().
    """
    number = below_zero(given)  # typed so, it may lie within the limits, or be told them
    return within(as_fraction(given, what=what) if number is None else number, what=what, given=given, **limits)


def as_whole(
    given: object, *, what: str, least: int = 1, most: int | None = None, of: str = "", remedy: str = ""
) -> int:
    """A whole number within its limits.

    >>> as_whole(40, what="steps", most=40)
    40
    >>> as_whole(True, what="steps", most=40)
    Traceback (most recent call last):
    gearcalc.basics.errors.ValueOutOfRangeError: steps must be a whole number from 1 to 40, not True.

    `least`; `most`: None for no upper limit. `of`: what it counts. Raises ValueOutOfRangeError for anything else.
    """
    number = as_index(given)
    if number is None or number < least or (most is not None and number > most):
        upto = "up" if most is None else f"to {most}" if most < 10**7 else f"to 10^{len(str(most)) - 1}"
        limits = f"a whole number{f' of {of}' if of else ''} from {least} {upto}"
        raise ValueOutOfRangeError(f"{what} must be {limits}", value=shown(given), remedy=remedy)
    return number


def as_meshes(given: object, *, most: int) -> tuple[int, ...]:
    """Numbers of meshes that trains may have: whole ones from 1 up, one or several, each once and in order.

    >>> as_meshes((2, 1, 2), most=6), as_meshes(3, most=6)
    ((1, 2), (3,))

    Raises ValueOutOfRangeError for another number, or none.
    """
    several = islice(given, 1000) if is_several(given) else [given]
    numbers = tuple(sorted({as_whole(number, what="meshes", most=most) for number in several}))
    if not numbers:
        raise ValueOutOfRangeError(f"meshes must name at least one number from 1 to {most}", value=repr(given))
    return numbers


def as_teeth(given: object, *, what: str = "teeth", fewest: int = 6, most: int = 1000) -> int:
    """A tooth count: a whole number of teeth that a gear can have.

    >>> as_teeth(127)
    127

    `fewest` and `most` bound what is believed to be a gear. Raises ValueOutOfRangeError outside them.
    """
    return as_whole(given, what=what, least=fewest, most=most, of="teeth")


def as_yes_or_no(given: object, *, what: str) -> bool:
    """True or False, and nothing that Python would merely take for one of them.

    >>> as_yes_or_no("no", what="keep_order")
    Traceback (most recent call last):
    gearcalc.basics.errors.ValueOutOfRangeError: keep_order must be True or False, not 'no'.

    `what`: the name of the argument. Raises ValueOutOfRangeError.
    """
    if not isinstance(given, bool):
        raise ValueOutOfRangeError(f"{what} must be True or False", value=shown(given))
    return given


def as_words(given: object, *, what: str) -> str:
    """Text as it is.

    >>> as_words("Gearbox input", what="last_shaft")
    'Gearbox input'

    `what`: the name of the argument. Raises ValueOutOfRangeError for anything that is not text.
    """
    if not isinstance(given, str):
        raise ValueOutOfRangeError(f"{what} must be text", value=shown(given))
    return str.__str__(given)  # another's kind of text may do anything


def as_one_of(given: object, names: Sequence[str], *, where: str) -> str:
    """One of these names, typed in any case.

    >>> as_one_of("letter", ("A4", "A3", "Letter"), where="paper")
    'Letter'
    >>> as_one_of("A5", ("A4", "A3", "Letter"), where="paper")
    Traceback (most recent call last):
    gearcalc.basics.errors.ValueOutOfRangeError: paper: must be 'A4', 'A3' or 'Letter', not 'A5'.

    `where`: the key or argument. Raises ValueOutOfRangeError.
    """
    said = str.__str__(given).strip().casefold() if isinstance(given, str) else None
    for name in names:
        if name.casefold() == said:
            return name
    raise ValueOutOfRangeError(f"must be {writing.listed(map(repr, names), 'or')}", value=shown(given), where=where)


def as_units(given: object) -> Units:
    """The unit that is read first, typed in any case.

    >>> as_units("Inch")
    'inch'

    Raises ValueOutOfRangeError for any but 'inch' and 'mm'.
    """
    return "inch" if as_one_of(given, UNITS, where="units") == "inch" else "mm"


def as_path(given: object) -> Path:
    """The name of a file, as text or as a Path.

    >>> as_path("plate.pdf").suffix
    '.pdf'

    Raises ValueOutOfRangeError for anything else.
    """
    try:
        return Path(plain_text(given))
    except TypeError:
        raise ValueOutOfRangeError(
            "path must name a file", value=shown(given), remedy="Write it like 'plate.pdf'."
        ) from None


def is_several(given: object) -> TypeGuard[Iterable[Any]]:
    """Whether these are several things in a row; text is one thing, and so is an array of no dimension.

    >>> is_several([40, 80]), is_several("40"), is_several(40)
    (True, False, False)
    """
    return isinstance(given, Iterable) and not isinstance(given, (str, bytes)) and getattr(given, "shape", None) != ()


def plain_text(given: Any) -> Any:
    """Text as Python's own kind of it, since another's kind may do anything; all else as it is.

    >>> plain_text("M6"), plain_text(6)
    ('M6', 6)
    """
    return str.__str__(given) if isinstance(given, str) else given


def as_index(given: object) -> int | None:
    """A whole number as Python's own; None for what is none, True and False among it.

    >>> as_index(3), as_index(2.0), as_index(True)
    (3, None, None)
    """
    if isinstance(given, bool) or getattr(getattr(given, "dtype", None), "kind", "") == "b":
        return None  # numpy's own True was a whole number before its version 2
    try:
        return index(given)  # type: ignore[arg-type]
    except TypeError:
        return None


def shown(given: object) -> object:
    """What was given, for a message; 'nothing' for None, which a message would leave out."""
    return "nothing" if given is None else given
