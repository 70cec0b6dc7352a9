"""What an answer is: how it is written, read and compared; slips that show in it; answers picked from a list.

Each kind of answer reads what a learner gives and compares it by what it means, never by how it is written. What can't
be read raises an error; nothing given is ever evaluated. Numbers and gears as answers stand in files of their own.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from itertools import islice, pairwise
from math import isfinite
from operator import index
from typing import Any, TypeAlias

from attrs import field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple, as_fraction, coefficient
from gearcalc.learning.exercises.arithmetic import from_float

_LONGEST_TEXT = 100
_NEAR = Fraction(1, 200)
"""A number this near, as a share, is taken for a matter of rounding."""
_TOLD_APART = 0.02
_OVER = str.maketrans(":÷", "//")
_TWO_DIGITS = 10
_BETWEEN_ROWS = re.compile(r"[,;&+]|\b(?:and|rows?|box|boxes|jobs?|lines?|numbers?|trains?|gears?|teeth)\b")
_LABEL = re.compile(r"^(?:train|row|number)(?=\d)")
_ALL = re.compile(r"all(?: of (?:them|these))?")
_NONE = re.compile(r"none(?: of (?:them|these))?")
_BETWEEN_NAMES = re.compile(r"[;&+]|(?<!\d),|,(?!\d)|\band\b")
"""Not the comma of a decimal."""
_BETWEEN_STEPS = re.compile(r"[,;>→–-]|\b(?:then|and|steps?|rows?)\b")


class UnreadableError(ValueOutOfRangeError):
    """What can't be read as an answer, though it is plain what was meant; its `remedy` says how to write that."""


def _exactly(x: Exact | float) -> Exact:
    return as_fraction(x) if isinstance(x, float) else x


def as_meant(x: Any) -> Any:
    """A float as the number that it was worked out from, so that it can be compared exactly; all else as it is.

    >>> as_meant(4 * 20 / 72 * 10), as_meant("clockwise")
    (Fraction(100, 9), 'clockwise')
    """
    return from_float(x) if isinstance(x, float) and isfinite(x) else x


@frozen
class about:  # noqa: N801 - it reads as a word where it is used
    """A test for slips: whether what was read is this number but for rounding.

    >>> is_per_mille = about(Fraction(1, 8))
    >>> is_per_mille(Fraction("0.125")), is_per_mille(Fraction(125))
    (True, False)
    """

    value: Exact = field(converter=_exactly)

    def __call__(self, read: Exact) -> bool:
        """Whether it is within half a per cent."""
        return at_most_apart(read, self.value, Fraction(abs(float(self.value))) * _NEAR)


def at_most_apart(x: Exact, y: Exact, limit: Fraction) -> bool:
    """Whether two numbers are equal, or no further apart than the limit."""
    if isinstance(x, PiMultiple):
        x, y = y, x
    if isinstance(x, PiMultiple):
        return PiMultiple(abs(coefficient(x) - coefficient(y))) <= limit
    return x == y or x - limit <= y <= x + limit


_QUOTES = ("''", '""', "“”", "„“", "‘’", "‚‘", "«»", "»«", "””")


def bare(given: object) -> object:
    """What was given, of a text without a full stop behind it, and without quotes round it as the examples have them.

    >>> bare("1.814 mm. "), bare("'22/7'."), bare('1/4"'), bare("..."), bare(60)
    ('1.814 mm', '22/7', '1/4"', '...', 60)
    """
    if not isinstance(given, str):
        return given
    text = given.strip().rstrip(".…")
    if text[1:] and text[0] + text[-1] in _QUOTES:
        text = text[1:-1].rstrip(".…")
    return text or given


def told_apart(*values: Exact | float) -> bool:
    """Whether no two of these could be taken for one another, since 2 % or more are between them.

    Asked of the right answer and what each slip leads to: where a slip comes out right by luck, or as another
    slip does, the numbers are drawn again.

    >>> told_apart(Fraction(3, 4), 0.8, -0.75), told_apart(Fraction(3, 4), 0.755)
    (True, False)
    """
    ordered = sorted(map(float, values))
    return all(b - a >= _TOLD_APART * max(abs(a), abs(b)) > 0 for a, b in pairwise(ordered))


@frozen
class Slip:
    """A wrong answer that is recognised: what it is called, what it looks like, what probably happened.

    `wrong`: the answer that it leads to, or a test of what was read. `says`: the feedback, or what makes it from
    what was read; it never holds the right answer.
    """

    name: str
    wrong: Any = field(converter=as_meant)
    says: str | Callable[[Any], str]

    @property
    def value(self) -> Any:
        """The one answer that it leads to; None where only a test tells."""
        value = self.wrong.value if isinstance(self.wrong, about) else self.wrong
        return None if callable(value) else value


SlipTable: TypeAlias = Mapping[str, Any]
"""Slips as a table: 'name: what to say' -> the answer that each leads to, or a test of what was read."""


def slips_of(table: SlipTable | Iterable[Slip]) -> tuple[Slip, ...]:
    """Slips from a table of them, the likeliest first.

    >>> [slip.name for slip in slips_of({"upside down: Turn it.": Fraction(3), "starts forgotten: Count them.": None})]
    ['upside down']

    `table`: a list holds several answers of one slip, None stands for one that can't happen with these numbers; where
    only a name stands, it leads to (answer or test, what makes the words from what was read).
    """
    if not isinstance(table, Mapping):
        return tuple(table)
    found = []
    for told, leads_to in table.items():
        name, _, says = " ".join(told.split()).partition(": ")
        wrongs, says = (leads_to, says) if says else leads_to
        found += [Slip(name, wrong, says) for wrong in (wrongs if isinstance(wrongs, list) else [wrongs])]
    return tuple(slip for slip in found if slip.wrong is not None)


class Answer(ABC):
    """What every kind of answer does; see Choice, Several and InOrder here, Number and AnyTrain beside this file."""

    value: Any

    @property
    @abstractmethod
    def how(self) -> str:
        """How to write the answer, in a sentence."""

    @abstractmethod
    def read(self, given: object) -> Any:
        """What was meant. Raises an error for what can't be read."""

    def same(self, read: Any, value: Any) -> bool:
        """Whether what was read means this value."""
        return bool(read == value)

    def rounded(self, read: Any, value: Any) -> bool:
        """Whether what was read is this value, rounded as asked or further. Only numbers can be."""
        return False

    def is_right(self, read: Any) -> bool:
        """Whether what was read answers the question."""
        return self.same(read, self.value)

    def allows(self, slip: Slip) -> bool:
        """Whether a slip leads to a right answer by luck, as far as its value tells; to round is no such slip."""
        if slip.value is None or "round" in slip.name:
            return False
        return self.is_right(slip.value) or self.is_right(self.as_told(slip.value))

    def as_told(self, value: Any) -> Any:
        """A value as it is given by a learner who rounds as the question says."""
        return value

    def on_a_key(self, text: str) -> str:
        """What the worked solution comes to, as it stands on a key."""
        return text

    options: tuple[str, ...] = ()
    """The few answers to choose from; empty where any may be written."""

    @property
    def rows_named(self) -> int:
        """How many rows the task's table has to have, since their numbers are the answer; 0 where any will do."""
        return 0

    def common_slips(self) -> SlipTable:
        """Slips that any question of this kind can meet; looked for after the question's own."""
        return {}


@frozen
class Choice(Answer):
    """One of a few; `also` lists other words for an option.

    >>> way = Choice("anticlockwise", ("clockwise", "anticlockwise"), {"anticlockwise": ("ccw",)})
    >>> way.is_right(way.read(" Anti-Clockwise")), way.is_right(way.read("CCW"))
    (True, True)
    """

    value: str
    options: tuple[str, ...]
    also: Mapping[str, tuple[str, ...]] = field(factory=dict)

    def __attrs_post_init__(self) -> None:
        """Refuse a choice that has no right answer. Raises ValueOutOfRangeError."""
        if isinstance(self.options, str) or self.value not in self.options:
            remedy = "The right one first, then all of them: Choice('up', ('up', 'down'))."
            raise ValueOutOfRangeError("the right answer is none of the options", value=self.value, remedy=remedy)

    @property
    def how(self) -> str:
        """What there is to choose from."""
        return f"Answer with one of: {', '.join(map(repr, self.options))}."

    def read(self, given: object) -> str:
        """The option meant. Raises an error for what is none of them."""
        words = {_letters(given)}
        if isinstance(given, float):  # 80/63 without its quotes
            words.add(_letters(from_float(given)))
        for option in self.options:
            if words & set(map(_letters, (option, *self.also.get(option, ())))):
                return option
        raise ValueOutOfRangeError("that is not one of the choices")


def _letters(given: object) -> str:
    text = str(given)[:_LONGEST_TEXT]
    minus = "-" if re.match(r"\s*-\s*\d", text) else ""  # no row is numbered so: -1 is not 1
    said = _LABEL.sub("", re.sub(r"[\s\-_'\",]", "", text).casefold())
    return minus + said.rstrip(".").translate(_OVER)


@frozen
class Several(Answer):
    """Any number of the rows of a list, by their numbers; `value`: the right ones, `rows`: how many there are.

    `teeth`: where each row is a gear, no two alike, so that gears may be named by their teeth too; `names`: where each
    row has a name of its own, which may stand for its number.

    >>> those = Several(frozenset({1, 3}), rows=4)
    >>> [those.is_right(those.read(given)) for given in ("1 and 3", [3, 1], "1, 3, 4", "all", "none")]
    [True, True, False, False, False]
    """

    value: frozenset[int]
    rows: int
    teeth: tuple[int, ...] = ()
    names: tuple[str, ...] = ()

    @property
    def how(self) -> str:
        """How to write the numbers, by an example that is not the answer."""
        example = "1, 3" if self.value != {1, 3} else "1, 2"
        return f"Answer with the numbers of all of them, such as '{example}', or with 'none'."

    def read(self, given: object) -> frozenset[int]:
        """The rows meant. Raises an error for what names no rows."""
        if isinstance(given, str) and _ALL.fullmatch(given.strip().casefold()):
            return frozenset(range(1, self.rows + 1))
        if by_name := self._named(given):
            return by_name
        said = _row_numbers(given, _BETWEEN_ROWS)
        rows = _parted(said, self.rows)
        by_teeth = bool(said) and set(said) <= set(self.teeth)
        if by_teeth and set(rows) <= set(range(1, self.rows + 1)):
            ask = f"Is that a gear of {said[0]} teeth, or rows {writing.listed(rows)}? Put row numbers, with a comma."
            raise UnreadableError("rows and teeth can't be told apart", remedy=ask)
        named = frozenset(self.teeth.index(each) + 1 for each in said) if by_teeth else frozenset(rows)
        if not named <= set(range(1, self.rows + 1)):
            raise ValueOutOfRangeError("there is no such row")
        return named

    def _named(self, given: object) -> frozenset[int]:
        """The rows that are named, where all that is given are names."""
        if not isinstance(given, str):
            return frozenset()
        parts = [_letters(part.replace(",", ".")) for part in _BETWEEN_NAMES.split(given[:_LONGEST_TEXT])]
        places = {_letters(name): place for place, name in enumerate(self.names, 1)}
        there = [places.get(part, 0) for part in parts if part]
        return frozenset(there if all(there) else ())

    def common_slips(self) -> SlipTable:
        """None at all, just the others, too many, not all."""
        others = frozenset(range(1, self.rows + 1)) - self.value
        return {
            "none: At least one of them does.": frozenset(),
            "the other ones: Those are just the other ones.": others,
            "too many: The right ones are among yours, but so are others.": lambda read: read > self.value,
            "not all: What you name is right, but there is more.": lambda read: read < self.value,
        }


@frozen
class InOrder(Answer):
    """The numbers of all rows of a list, first to last; `value`: the right order.

    >>> order = InOrder((3, 1, 2))
    >>> [order.is_right(order.read(given)) for given in ("3 1 2", [3, 1, 2], "3, 1, then 2", "312", "1 2 3")]
    [True, True, True, True, False]
    """

    value: tuple[int, ...]

    def __attrs_post_init__(self) -> None:
        """Refuse what is no order of rows. Raises ValueOutOfRangeError."""
        if sorted(self.value, key=str) != sorted(range(1, len(self.value) + 1), key=str):
            remedy = "Each row's number once, as in InOrder((3, 1, 2)); the steps themselves stand in the task's table."
            raise ValueOutOfRangeError("that is no order of rows 1, 2, 3 ...", value=self.value, remedy=remedy)

    @property
    def rows_named(self) -> int:
        """All of them."""
        return len(self.value)

    @property
    def how(self) -> str:
        """How to write the order."""
        turned = " ".join(map(str, (2, 1, *range(3, len(self.value) + 1))))
        return f"Answer with the numbers of all {len(self.value)} in their order, such as '{turned}'."

    def read(self, given: object) -> tuple[int, ...]:
        """The rows in the order given. Raises an error for what names no rows."""
        named = _parted(_row_numbers(given, _BETWEEN_STEPS), len(self.value))
        if not named or not set(named) <= set(self.value):
            raise ValueOutOfRangeError("there is no such row")
        return named

    def common_slips(self) -> SlipTable:
        """Not all of them, one twice, or the whole turned round."""
        return {
            "one twice: You name one of them twice.": lambda read: len(set(read)) < len(read),
            "not all: Some of them are missing.": lambda read: len(read) < len(self.value),
            """turned round: That is the order of putting things back as they were: turned round from end
            to end.""": self.value[::-1],
        }


def _parted(named: tuple[int, ...], rows: int) -> tuple[int, ...]:
    """Rows by their numbers, parted where they were written as one: no list of so few rows has a row 213.

    >>> _parted((213,), rows=4), _parted((2, 1), rows=4), _parted((13,), rows=20)
    ((2, 1, 3), (2, 1), (13,))
    """
    if len(named) == 1 and rows < _TWO_DIGITS <= named[0]:
        return tuple(map(int, str(named[0])[:_LONGEST_TEXT]))
    return named


def _row_numbers(given: object, between: re.Pattern[str]) -> tuple[int, ...]:
    """Rows by their numbers, as a text or a list names them; 'none' and an empty list name none of them."""
    if isinstance(given, str):
        given = given[:_LONGEST_TEXT].strip().casefold()
        words = between.sub(" ", given).split()
        return () if _NONE.fullmatch(given) else tuple(map(int, words or [given]))
    listed: list[Any] = list(islice(given, _LONGEST_TEXT)) if isinstance(given, Iterable) else [given]
    if any(isinstance(number, bool) for number in listed):
        raise ValueOutOfRangeError("the answer must name rows by their numbers")
    return tuple(map(index, listed))
