"""A word with a slip of the finger in it, put right: 8 tip for 8 tpi."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from itertools import islice, product
from typing import TypeVar

_Read = TypeVar("_Read")
_WORD = re.compile(r"([a-z]+)", re.I | re.A)
_NO_SLIPS = frozenset({"cm", "dm", "m", "bsb", "bsc", "bspf", "nps", "nptf", "unj", "unjc", "unjf", "unrc", "unrf"})
"""Units and threads of their own that are not read here: nothing like them is meant."""
_MOST_TRIED = 64


def put_right(text: str, words: Iterable[str], read: Callable[[str], _Read | None]) -> str | None:
    """The text with each word that is not known put right by one slip; None where it could mean two things, or none.

    >>> put_right("8 tip", ["tpi", "mm"], lambda text: text if text == "8 tpi" else None)
    '8 tpi'

    `words`: those that are known. `read`: what a text means, None for nothing; texts that mean the same are one.
    """
    known = {word.casefold(): word for word in words}
    parts = _WORD.split(text)  # every second one is a word
    might_be = [[part] if n % 2 == 0 else _meant(part, known) for n, part in enumerate(parts)]
    tried = map("".join, islice(product(*might_be), _MOST_TRIED))
    meant = [(meaning, each) for each in tried if each != text and (meaning := read(each)) is not None]
    if not meant:
        return None
    (first, put), *others = meant
    return put if all(meaning == first for meaning, _ in others) else None


def _meant(word: str, known: dict[str, str]) -> list[str]:
    """The words that it may be: itself where it is known, or nothing is near."""
    typed = word.casefold()
    if typed in known or typed in _NO_SLIPS:
        return [word]
    return [meant for plain, meant in known.items() if _one_slip_apart(typed, plain)] or [word]


def _one_slip_apart(typed: str, meant: str) -> bool:
    """Letters in another order, one letter wrong, one left out or one too many."""
    if len(typed) == len(meant):
        wrong = sum(a != b for a, b in zip(typed, meant, strict=True))
        return wrong == 1 < len(typed) or sorted(typed) == sorted(meant)
    long, short = sorted((typed, meant), key=len, reverse=True)
    return any(long[:n] + long[n + 1 :] == short for n in range(len(long)))
