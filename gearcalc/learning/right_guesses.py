"""Whether a guess is right: it need not be worded as the answer is, as long as its numbers are the answer's."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import permutations

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, PiMultiple
from gearcalc.learning.exercises.arithmetic import worked_out
from gearcalc.learning.exercises.number_answers import ways_to_write

_LONGEST_TEXT = 100
_HEDGES = re.compile(r"(?:(?:about|around|roughly|some|by|at|after|every|all|lines?)\b ?)+")
_COUNTS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_WORDS = {**{word: n for n, word in enumerate(_COUNTS)}, "once": 1, "twice": 2}
_AS_SPACED, _AT_EACH = r", |;|&|\band\b", r"[,;& ]|\band\b"
"""Between the numbers of a list: a comma with no space after it may be a decimal comma, or may not."""
_GOES_ON = " and so on"
_AND_SO_ON = re.compile(r",? ?(?:and so on|etc|…)$")
_MULTIPLES = re.compile(r"^(?:(?:any|all) )?(?:the )?multiples? of (?:a )?")
_DECIMAL = re.compile(r"[-+−–]?\d*(?:[.,](?P<decimals>\d+))?", re.A)
_ROUGHLY = Fraction(1, 100)


@frozen
class _Number:
    """A number as somebody wrote it; `places`: its decimals, None for a sum or a fraction."""

    value: Exact
    unit: str
    places: int | None


def guessed_right(guessed: str, answer: str, *, any_order: bool = False) -> bool:
    """Say whether a guess means this answer: the same words, or the same numbers in the same order.

    >>> [guessed_right(each, "3.175 mm") for each in ("3.175", "25.4/8 mm", "1/8 inch", "3.18", "3.1", "3.175 tpi")]
    [True, True, True, True, False, False]
    >>> guessed_right("24, 12, 6", "24, 12 and 6 tpi"), guessed_right("33/21", "11/7"), guessed_right("1.57", "11/7")
    (True, True, False)
    >>> [guessed_right(each, "27, 54 teeth and so on") for each in ("108", "54 or 27", "multiples of 27", "28")]
    [True, True, True, False]

    `any_order`: whether the numbers of a list may stand in another. A unit may be left out. Where the answer is a
    decimal, a guess may be rounded in its last place, by one per cent at most; where it is a fraction, just that is
    meant; where it is a row that goes on, any of it will do. What the answer adds behind a comma, colon or semicolon
    need not be guessed.
    """
    guessed, answer = plainly(guessed), plainly(answer)
    if guessed == answer or _of_the_row(guessed, answer):
        return True
    whole = _numbers(answer, _AS_SPACED)
    heads = [] if len(whole) > 1 else [answer[: end.start()] for end in re.finditer(r"[,;:](?!\d)", answer)][:1]
    wanted = [whole, *(_numbers(head, _AS_SPACED) for head in heads)]
    sides = [side for side in re.split("[=≈]", guessed) if side.strip()] or [guessed]
    orders = [list(each) for one in wanted for each in (permutations(one) if any_order else (one,))]
    return guessed in heads or any(all(_reads_as(side, each) for side in sides) for each in orders)


def plainly(words: str) -> str:
    """Give words without what makes no difference to a guess.

    >>> plainly(" No. ")
    'no'
    """
    return " ".join(words.casefold().split()).rstrip(".!? ")


def _numbers(said: str, between: str) -> list[_Number]:
    """The numbers of a list, the last one's unit for those without; empty where something in it is no number."""
    if len(said) > _LONGEST_TEXT:
        return []
    try:
        found = [_number(part.strip()) for part in re.split(between, said) if part.strip()]
    except ValueOutOfRangeError:
        return []
    return [_Number(each.value, each.unit or found[-1].unit, each.places) for each in found]


def _number(said: str) -> _Number:
    hedged = _HEDGES.match(said)
    said = said[hedged.end() :] if hedged else said
    first, _, rest = said.partition(" ")
    if first in _WORDS:
        return _Number(Fraction(_WORDS[first]), rest, 0)
    value, unit = worked_out(said)
    digits = _DECIMAL.fullmatch(said.removesuffix(unit).strip())
    return _Number(value, unit, len(digits["decimals"] or "") if digits else None)


def _reads_as(said: str, wanted: list[_Number]) -> bool:
    readings = [_numbers(said, between) for between in (_AS_SPACED, _AT_EACH)]
    return bool(wanted) and any(len(read) == len(wanted) and all(map(_means, read, wanted)) for read in readings)


def _of_the_row(guessed: str, answer: str) -> bool:
    """Whether the answer is a row of equal steps that goes on, and the guess names some of it."""
    if not answer.endswith(_GOES_ON):
        return False
    first, second, *_ = _numbers(answer.removesuffix(_GOES_ON), _AS_SPACED)
    said = _MULTIPLES.sub("", _AND_SO_ON.sub("", guessed))

    def is_in_it(number: _Number) -> bool:
        if any(isinstance(each.value, PiMultiple) for each in (number, first, second)):
            return False
        steps = (number.value - first.value) / (second.value - first.value)  # type: ignore[operator]
        return number.unit in ("", second.unit) and steps >= 0 and steps.denominator == 1

    readings = [_numbers(said, rf"{between}|\bor\b") for between in (_AS_SPACED, _AT_EACH)]
    return any(read and all(map(is_in_it, read)) for read in readings)


def _means(guess: _Number, wanted: _Number) -> bool:
    """Whether one number means another."""
    size = Fraction(1) if guess.unit in ("", wanted.unit) else ways_to_write(wanted.unit).get(guess.unit)
    if size is None:
        return False
    value = guess.value * size
    if value == wanted.value:
        return True
    if guess.places is None or wanted.places is None or isinstance(value, PiMultiple):
        return False
    assert not isinstance(wanted.value, PiMultiple)
    step = Fraction(10) ** -guess.places * abs(size)
    return abs(value - wanted.value) <= min(step / 2, abs(wanted.value) * _ROUGHLY)
