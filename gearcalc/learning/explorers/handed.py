"""What a program hands to a view or an explorer, read before anything is done with it.

A hand on a page sends text and numbers alone. The same functions are called in a cell too, where anything may stand;
what an argument takes stands in its annotation already, so it is read by that, in one place.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import wraps
from inspect import Parameter, signature
from itertools import islice
from typing import Any, ParamSpec, TypeVar

from gearcalc.basics.arguments import as_number, as_units, as_words, as_yes_or_no, is_several, plain_text
from gearcalc.finding.setups import as_setup
from gearcalc.lathes import as_lathe
from gearcalc.lathes.trains import Train
from gearcalc.threads import Feed, Thread

_MOST, _MOST_SEVERAL = 10**9, 1000

Told = ParamSpec("Told")
Seen = TypeVar("Seen")


def as_handed(show: Callable[Told, Seen]) -> Callable[Told, Seen]:
    """A view or an explorer, told each argument as its annotation says, or not at all.

    Text is Python's own kind of it, since another's kind may do anything. The function raises ValueOutOfRangeError
    for what is no lathe, setup, unit, text or number where one is asked for.
    """
    takes = signature(show)

    @wraps(show)
    def told(*given: Any, **named: Any) -> Any:
        call = takes.bind(*given, **named)
        for name, value in call.arguments.items():
            argument = takes.parameters[name]
            if argument.kind == Parameter.VAR_KEYWORD:
                call.arguments[name] = {each: plain_text(one) for each, one in value.items()}
            else:
                call.arguments[name] = _read(plain_text(value), argument.annotation, name)
        return show(*call.args, **call.kwargs)

    return told


def as_text(given: object, what: str) -> str:
    """Text as it is; a thread, a feed or a train as it is written.

    >>> as_text("M6", "the thread"), as_text(Train(40, 80), "the train")
    ('M6', '40/80')

    Raises ValueOutOfRangeError for anything else.
    """
    return str(given) if isinstance(given, (Thread, Feed, Train)) else as_words(given, what=what)


def in_words(given: object, what: str, between: str) -> str:
    """The same, and numbers, and several of them in one text.

    >>> in_words(("M6", Thread.parse("16 tpi"), 0.5), "the threads", ", ")
    'M6, 16 tpi, 0.5'

    Raises ValueOutOfRangeError for anything else.
    """
    if is_several(given) and not isinstance(given, Train):
        return between.join(_each(one, what) for one in islice(given, _MOST_SEVERAL))
    return _each(given, what)


def _each(given: object, what: str) -> str:
    is_number = isinstance(given, (int, float, Fraction)) and not isinstance(given, bool)
    return str(_number(given, what)) if is_number else as_text(given, what)


def _read(given: object, annotation: str, what: str) -> object:
    kind = annotation.removesuffix(" | None")
    if given is None and kind != annotation:
        return None
    read = _READ.get(kind)
    return given if read is None else read(given, what)


def _number(given: object, what: str) -> object:
    """A number that a page can hold; text may be one, which whoever shows it will see."""
    if isinstance(given, str):
        return given
    number = as_number(given, what=what, least=-_MOST, most=_MOST)
    return given if type(given) in (int, float) else int(number) if number.denominator == 1 else float(number)


_READ: dict[str, Callable[[Any, str], object]] = {
    "Lathe": lambda given, what: as_lathe(given),
    "Setup": lambda given, what: as_setup(given),
    "Units": lambda given, what: as_units(given),
    "bool": lambda given, what: as_yes_or_no(given, what=what),
    "str": as_text,
    "int": _number,
    "float": _number,
}
"""How an argument is read, by its annotation; one that may be several things is read where it is used."""
