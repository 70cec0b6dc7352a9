"""Lists, rows and counts of primes that show themselves in words: what Python has for them is no answer to read."""

from __future__ import annotations

from typing import Self, SupportsIndex, TypeVar, overload

from gearcalc.basics import writing
from gearcalc.basics.markup import ShownAsWritten, Written, in_html, plain

T = TypeVar("T")


class OneALine(list[T]):
    """A list like any other that shows one thing a line.

    >>> print(OneALine(["M6x1", "M7x1"]))
    M6x1
    M7x1
    """

    def __str__(self) -> str:
        return "\n".join(map(str, self)) or "None."

    def _repr_html_(self) -> str:
        lines = "".join(f"<li>{in_html(str(each))}</li>" for each in self)
        return f'<ul style="list-style:none;margin:0;padding:0">{lines}</ul>' if lines else "<p>None.</p>"


class Numbered(list[T]):
    """A list like any other that shows a number before each thing; a part of it is again of its kind.

    >>> print("\\n".join(Numbered(["M6x1", "M7x1"])[1:].lines))
    1. M7x1
    """

    @overload
    def __getitem__(self, place: SupportsIndex) -> T: ...
    @overload
    def __getitem__(self, place: slice) -> Self: ...
    def __getitem__(self, place: SupportsIndex | slice) -> T | Self:
        if not self and not isinstance(place, slice):
            raise self._nothing_there()
        found = super().__getitem__(place)
        return self._part(found) if isinstance(found, list) else found

    def _part(self, found: list[T]) -> Self:
        return type(self)(found)

    def _nothing_there(self) -> IndexError:
        return IndexError("the list is empty")

    @property
    def lines(self) -> list[str]:
        """Each thing with its number, the numbers as wide as the last."""
        width = len(str(len(self)))
        return [f"{number:{width}}. {each}" for number, each in enumerate(self, 1)]

    def __repr__(self) -> str:
        return str(self)


class InARow(ShownAsWritten, tuple[T, ...]):
    """A tuple like any other that shows its things in a row.

    >>> print(InARow((1, 3, 1, 2)))
    1, 3, 1, 2
    """

    __slots__ = ()

    @property
    def written(self) -> Written:
        """The row, three ways."""
        return plain(", ".join(map(str, self)) or "none")


class Primes(ShownAsWritten, dict[int, int]):
    """How often each prime occurs in a number, shown as their product.

    >>> print(Primes({2: 3, 5: 1}))
    2³ · 5
    """

    @property
    def written(self) -> Written:
        """The product, three ways."""
        return writing.primes(self)
