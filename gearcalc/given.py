"""What a caller hands over, read or refused in plain words: yes or no, words, the name of a file."""

from __future__ import annotations

from pathlib import Path

from gearcalc.errors import ValueOutOfRangeError

__all__ = ["as_path", "as_words", "as_yes_or_no", "shown"]


def as_yes_or_no(given: object, *, what: str) -> bool:
    """True or False, and nothing that Python would merely take for one of them.

    >>> as_yes_or_no("no", what="keep_order")
    Traceback (most recent call last):
    gearcalc.errors.ValueOutOfRangeError: keep_order must be True or False, not 'no'.

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
    return given


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


def shown(given: object) -> object:
    """What was given, for a message; 'nothing' for None, which a message would leave out."""
    return "nothing" if given is None else given
