"""What a caller hands over, read or refused in plain words: yes or no, words, the name of a file."""

from __future__ import annotations

from collections.abc import Iterable
from operator import index
from pathlib import Path
from typing import Any, TypeGuard

from gearcalc.basics.errors import ValueOutOfRangeError


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


def as_path(given: object, *, what: str = "path") -> Path:
    """The name of a file, as text or as a Path.

    >>> as_path("plate.pdf").suffix
    '.pdf'

    `what`: the name of the argument. Raises ValueOutOfRangeError for anything else.
    """
    try:
        return Path(given)  # type: ignore[arg-type]
    except TypeError:
        raise ValueOutOfRangeError(
            f"{what} must name a file", value=shown(given), remedy="Write it like 'plate.pdf'."
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
    try:
        return None if isinstance(given, bool) else index(given)  # type: ignore[arg-type]
    except TypeError:
        return None


def shown(given: object) -> object:
    """What was given, for a message; 'nothing' for None, which a message would leave out."""
    return "nothing" if given is None else given
