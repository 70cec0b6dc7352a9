"""Several rows of a numbered list as an answer: all that do, and none that don't."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import islice
from operator import index
from typing import Any

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.learning.exercises.answers import Answer, Slip

_LONGEST = 100
_TWO_DIGITS = 10
_BETWEEN_ROWS = re.compile(r"[,;&+]|\b(?:and|rows?|box|boxes|jobs?|lines?|numbers?|trains?)\b")


@frozen
class Several(Answer):
    """Any number of the rows of a list, by their numbers; `value`: the right ones, `rows`: how many there are.

    >>> those = Several(frozenset({1, 3}), rows=4)
    >>> [those.is_right(those.read(given)) for given in ("1 and 3", [3, 1], "1, 3, 4", "none")]
    [True, True, False, False]
    """

    value: frozenset[int]
    rows: int

    @property
    def how(self) -> str:
        """How to name them."""
        return "Answer with the numbers of all of them, such as '1, 3', or with 'none'."

    def read(self, given: object) -> frozenset[int]:
        """The rows meant. Raises an error for what names no rows."""
        named = frozenset(parted(tuple(_row_numbers(given)), self.rows))
        if not named <= set(range(1, self.rows + 1)):
            raise ValueOutOfRangeError("there is no such row")
        return named

    def same(self, read: frozenset[int], value: frozenset[int]) -> bool:
        """The same rows."""
        return read == value

    def common_slips(self) -> tuple[Slip, ...]:
        """None at all, just the others, too many, not all."""
        others = frozenset(range(1, self.rows + 1)) - self.value
        return (
            Slip("none", frozenset(), "At least one of them does."),
            Slip("the other ones", others, "Those are just the other ones."),
            Slip("too many", lambda read: read > self.value, "The right ones are among yours, but so are others."),
            Slip("not all", lambda read: read < self.value, "What you name is right, but there is more."),
        )


def parted(named: tuple[int, ...], rows: int) -> tuple[int, ...]:
    """Rows by their numbers, parted where they were written as one: no list of so few rows has a row 213.

    >>> parted((213,), rows=4), parted((2, 1), rows=4), parted((13,), rows=20)
    ((2, 1, 3), (2, 1), (13,))
    """
    if len(named) == 1 and rows < _TWO_DIGITS <= named[0]:
        return tuple(map(int, str(named[0])[:_LONGEST]))
    return named


def _row_numbers(given: object) -> Iterable[int]:
    if isinstance(given, str):
        words = _BETWEEN_ROWS.sub(" ", given[:_LONGEST].casefold()).split()
        return () if words == ["none"] else tuple(map(int, words or [given]))
    listed: list[Any] = list(islice(given, _LONGEST)) if isinstance(given, Iterable) else [given]
    if any(isinstance(number, bool) for number in listed):
        raise ValueOutOfRangeError("the answer must name rows by their numbers")
    return tuple(map(index, listed))
