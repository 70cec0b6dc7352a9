"""The rows of a list put in order as an answer."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import islice
from operator import index
from typing import Any

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.learning.exercises.answers import Answer, Slip
from gearcalc.learning.exercises.several_answers import parted

_LONGEST = 100
_BETWEEN = re.compile(r"[,;>→–-]|\b(?:then|and|steps?|rows?)\b")


@frozen
class InOrder(Answer):
    """The numbers of all rows of a list, first to last; `value`: the right order.

    >>> order = InOrder((3, 1, 2))
    >>> [order.is_right(order.read(given)) for given in ("3 1 2", [3, 1, 2], "3, 1, then 2", "312", "1 2 3")]
    [True, True, True, True, False]
    """

    value: tuple[int, ...]

    @property
    def how(self) -> str:
        """How to write the order."""
        return f"Answer with the numbers of all {len(self.value)} in their order, such as '2 1 3'."

    def read(self, given: object) -> tuple[int, ...]:
        """The rows in the order given. Raises an error for what names no rows."""
        named = parted(tuple(_numbers(given)), len(self.value))
        if not named or not set(named) <= set(self.value):
            raise ValueOutOfRangeError("there is no such row")
        return named

    def same(self, read: tuple[int, ...], value: tuple[int, ...]) -> bool:
        """The same rows in the same order."""
        return read == value

    def common_slips(self) -> tuple[Slip, ...]:
        """Not all of them, one twice, or the whole turned round."""
        return (
            Slip("one twice", lambda read: len(set(read)) < len(read), "You name one of them twice."),
            Slip("not all", lambda read: len(read) < len(self.value), "Some of them are missing."),
            Slip(
                "turned round",
                self.value[::-1],
                "That is the order of putting things back as they were: turned round from end to end.",
            ),
        )


def _numbers(given: object) -> Iterable[int]:
    if isinstance(given, str):
        return tuple(map(int, _BETWEEN.sub(" ", given[:_LONGEST].casefold()).split()))
    listed: list[Any] = list(islice(given, _LONGEST)) if isinstance(given, Iterable) else [given]
    if any(isinstance(number, bool) for number in listed):
        raise ValueOutOfRangeError("the answer must name rows by their numbers")
    return tuple(map(index, listed))
