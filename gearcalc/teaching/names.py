"""Whether two ways of writing a name are one person's: without accents, in another order, shortened, cut short."""

from __future__ import annotations

import re
from functools import lru_cache
from unicodedata import combining, normalize

NOT_ALIKE, IN_PART, ALIKE = 0, 1, 2
_LETTERS = str.maketrans(
    {"ł": "l", "ø": "o", "œ": "oe", "æ": "ae", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ħ": "h", "ŋ": "n"}
)
_WRITTEN_OUT = re.compile(r"(?<=[aou])e")  # Müller is also written Mueller
_APOSTROPHES = re.compile(r"['’‘ʼ`´]")
_CUT_SHORT = 20  # so many letters of a long name tell whose it is


def how_alike(one: str, other: str) -> int:
    """How alike two ways of writing a name are: NOT_ALIKE, IN_PART where one is a part of the other, or ALIKE.

    >>> how_alike("Zolkiewska Lucja", "Łucja Żółkiewska"), how_alike("Ada", "Ada Thorn"), how_alike("Ada", "Bo")
    (2, 1, 0)

    Capitals, accents, apostrophes and the order of words make no difference; first letters stand for words.
    """
    words, others = sorted((words_of(one), words_of(other)), key=lambda each: (sum(map(len, each)), each))
    if not words:
        return NOT_ALIKE
    if sorted(words) == sorted(others) or "".join(words) == "".join(others):
        return ALIKE
    whole = [word for word in words if word in others]
    initials = [word for word in words if len(word) == 1 and any(each.startswith(word) for each in others)]
    if any(len(word) > 1 or not word.isascii() for word in whole) and len({*whole, *initials}) == len({*words}):
        return IN_PART
    start = " ".join(words)
    return IN_PART if len(start) >= _CUT_SHORT and " ".join(others).startswith(start) else NOT_ALIKE


@lru_cache(maxsize=4096)
def words_of(name: str) -> tuple[str, ...]:
    """The words of a name in plain letters, in their order.

    >>> words_of("Séan O'Brannigan")
    ('sean', 'obrannigan')
    """
    folded = _APOSTROPHES.sub("", normalize("NFKD", name)).casefold()
    plain = "".join(sign for sign in folded if not combining(sign)).translate(_LETTERS)
    return tuple(_WRITTEN_OUT.sub("", word) for word in re.findall(r"[^\W_]+", plain))
