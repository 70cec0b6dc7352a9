"""One family of errors: what was wrong, the value, where it stood, and what to do next."""

from __future__ import annotations

import re
from collections.abc import Iterator
from reprlib import Repr
from types import TracebackType
from typing import Any
from unicodedata import category

_LONGEST_QUOTE = 60
_LONGEST_OWN = 40  # of what one of ours says of itself
_LONGEST_PLACE = 200
_PACKAGE = __name__.partition(".")[0]
_CELL = ("<module>", "<cell line: 1>")  # what code that stands in no function is called
_OBEYED = {"Cc", "Cf", "Cs", "Zl", "Zp"}  # Unicode's controls, directions and halves of signs, other ends of a line


def quoted(value: object) -> str:
    """Show a value inside a message: short, on one line, quotes around text.

    >>> quoted("M10x1.5")
    "'M10x1.5'"
    >>> len(quoted("9" * 1000)) < 90
    True
    >>> from fractions import Fraction
    >>> quoted(Fraction(-3, 8)), quoted(Fraction(2**1000, 7))
    ('-3/8', 'a fraction of about 302 digits')
    >>> from gearcalc.lathes.trains import Train
    >>> quoted(Train((40,), (80,)))
    'a train (40/80)'
    """
    if isinstance(value, str):
        start = value[:_LONGEST_QUOTE]
        shown = repr(start) if start.isprintable() else ascii(start)
        return shown if len(value) <= _LONGEST_QUOTE else f"{shown}… ({len(value)} characters)"
    shown = on_one_line(_short_repr(value))
    return shown if len(shown) <= _LONGEST_QUOTE else shown[:_LONGEST_QUOTE] + "…"


def _short_repr(value: object) -> str:
    top, bottom = getattr(value, "numerator", None), getattr(value, "denominator", None)
    if isinstance(top, int) and isinstance(bottom, int) and not isinstance(value, bool):
        digits = max(top.bit_length(), bottom.bit_length()) * 30103 // 100_000 + 1  # a bit is 0.30103 of a digit
        if max(abs(top), bottom) >= 10**20:  # Python itself refuses to write out thousands of digits
            return f"a {'whole number' if bottom == 1 else 'fraction'} of about {digits} digits"
        return f"{top}/{bottom}" if bottom != 1 else str(top)
    try:
        return _SHORT.repr(value)
    except Exception:  # a message must come out, whatever was given
        return _kind(type(value))


class _Short(Repr):
    """What Python writes of a value, but in words what is ours, also within a list, and what has only an address."""

    def repr1(self, x: Any, level: int) -> str:
        ours = [base for base in type(x).__mro__ if base.__module__.partition(".")[0] == _PACKAGE]
        if ours and hasattr(x, "__float__"):
            return str(x)
        if ours:
            said = str(x).strip().partition("\n")[0] if any("__str__" in vars(base) for base in ours) else ""
            cut = said if len(said) <= _LONGEST_OWN else said[:_LONGEST_OWN] + "…"
            return _kind(ours[0]) + (f" ({cut})" if cut else "")
        said = super().repr1(x, level)
        return _kind(type(x)) if said.startswith("<") else said


def _kind(kind: type) -> str:
    """What a class is called in a sentence: a SetupList is a setup list."""
    words = re.sub(r"(?<=[a-z])(?=[A-Z])|_", " ", kind.__name__).lower()
    return f"{'an' if words[:1] in ('a', 'e', 'i', 'o', 'u') else 'a'} {words}"


_SHORT = _Short()


def without_controls(text: str) -> str:
    """Text with what a terminal would obey rather than show written out: escape, carriage return, turns of direction.

    >>> print(without_controls("16 tpi\\x1b[2J"))
    16 tpi\\x1b[2J

    Line feeds stay, and so does every blank that only has a width.
    """
    if text.isprintable():
        return text
    return "".join(ascii(sign)[1:-1] if sign != "\n" and category(sign) in _OBEYED else sign for sign in text)


def on_one_line(text: object) -> str:
    """Text as it is, or escaped where it would break the line or upset a terminal.

    >>> print(on_one_line("Otto's lathe.toml"), on_one_line("two\\nlines"))
    Otto's lathe.toml two\\nlines
    """
    text = str(text)
    return text if text.isprintable() else ascii(text)[1:-1]


class GearcalcError(Exception):
    """What every error of this package is; catch this one to catch them all.

    >>> raise GearcalcError("teeth must be a whole number", value=-5, where="gears.teeth[3]",
    ...                     remedy="Count again.")
    Traceback (most recent call last):
    gearcalc.basics.errors.GearcalcError: gears.teeth[3]: teeth must be a whole number, not -5. Count again.

    `problem` says what was wrong; `value` what was given (left out of the message when None);
    `where` the file and field; `remedy` what to do next. All four stay readable as attributes.
    """

    def __init__(self, problem: str, *, value: object = None, where: str = "", remedy: str = "") -> None:
        self.problem, self.value, self.where, self.remedy = problem, value, where, remedy
        super().__init__(self._message())

    def _message(self) -> str:
        place = self.where if len(self.where) <= _LONGEST_PLACE else f"{self.where[:_LONGEST_PLACE]}…"
        start = f"{on_one_line(place)}: " if place else ""
        given = f", not {quoted(self.value)}" if self.value is not None else ""
        return without_controls(f"{start}{self.problem}{given}." + (f" {self.remedy}" if self.remedy else ""))

    def at(self, where: str) -> GearcalcError:
        """Give the same error, said of a place: a file, a key, a field of a form.

        >>> str(GearcalcError("no such lever", where="lever").at("my_lathe.toml"))
        'my_lathe.toml: lever: no such lever.'
        """
        place = f"{where}: {self.where}" if self.where else where
        return type(self)(self.problem, value=self.value, where=place, remedy=self.remedy)

    def __str__(self) -> str:
        return self._message()

    def _render_traceback_(self) -> list[str]:
        """What a notebook shows in its box for errors, which asks for this: the sentence, and where it came from.

        The way through the package says nothing to those who use it. Elsewhere Python shows its traceback as always.
        """
        lines = [frame.tb_lineno for frame in _frames(self.__traceback__) if frame.tb_frame.f_code.co_name in _CELL]
        return [f"Mind{f' (called in line {lines[-1]} of the cell)' if lines else ''}: {self._message()}"]


def _frames(trace: TracebackType | None) -> Iterator[TracebackType]:
    while trace is not None:
        yield trace
        trace = trace.tb_next


class ValueOutOfRangeError(GearcalcError, ValueError):
    """A number that is not one, or is outside what the argument takes."""


class ThreadTextError(GearcalcError, ValueError):
    """Text that is no thread or feed; the remedy shows the nearest form that is."""


class LatheFileError(GearcalcError, ValueError):
    """A lathe file that can't be read or says something impossible; names file and key."""


class GearNotOwnedError(GearcalcError, LookupError):
    """A train asks for a gear that the lathe's set doesn't have, or not twice."""


class UnknownNameError(GearcalcError, LookupError):
    """A lever, lathe, lesson or exercise of that name does not exist; the remedy lists those that do."""


class NotPossibleError(GearcalcError, ValueError):
    """The question is well put, and the answer is that it can't be done."""


class NoSetupError(NotPossibleError, IndexError):
    """There is no setup for what is wanted, or none in the list that one is taken from; says why."""
