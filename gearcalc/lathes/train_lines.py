"""A train as a line of an answer has it, with its lever, and in a narrow table, with a letter for gears set apart.

What is written so is read again, whoever copies it into a box or behind an option.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import chain
from string import ascii_lowercase

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.gear_words import cluster_in_words
from gearcalc.lathes.piece_texts import idlers_in_words
from gearcalc.lathes.pieces import Piece, cluster_of, kind_of, mate_of, piece, plain
from gearcalc.lathes.trains import Train

_LONGEST_LINE = 400
_LINE = re.compile(
    r"\s*(?:\d+\. )?(?P<train>.+?)(?:, levers? (?P<lever>.+?))?(?:, reverse over)?(?:: (?:lead|feed) .*)?\s*", re.S
)
_LETTERS = ascii_lowercase.replace("x", "")  # 40x30 is a train
_MARKED = re.compile(r"(?<![\w.])(\d{1,4})([a-wyz]{1,2})(?!\w)", re.ASCII)


def train_and_lever(text: str, gear_set: GearSet | None = None) -> tuple[Train, str | None]:
    """A train, and the lever where the text goes on with it, as a line of an answer does.

    >>> train, lever = train_and_lever("1. 40/80, idler 25, lever middle: lead 1.5875 mm (16 tpi), exact")
    >>> print(train, "|", lever)
    40/80, idler 25 | middle

    `gear_set`: whose marks may stand in it, as in_short() has them. Raises ValueOutOfRangeError for what is no train.
    """
    found = _LINE.fullmatch(text[:_LONGEST_LINE]) if isinstance(text, str) else None
    if found is None or "{" in text or len(text) > _LONGEST_LINE:
        said = re.search(r'"?\blever"? ?[:=] ?"([^"\n]{1,100})"', text) if isinstance(text, str) else None
        return Train.parse(text), said[1] if said else None
    return _read(found["train"], gear_set), found["lever"]


def in_short(gear_set: GearSet, train: Train) -> str:
    """The train for a narrow table: a letter behind each gear that its tooth count alone doesn't tell.

    >>> from gearcalc.lathes.sizes import GearTable
    >>> gear_set = GearSet([40, 80], 1.25, clusters=[(50, 30)], more=[GearTable([20, 60], module_mm=1)])
    >>> train = Train.parse("(40 · 20)/(80 · 60), second mesh of module 1")
    >>> in_short(gear_set, train), in_words(gear_set, [train])
    ('(40 · 20b)/(80 · 60b)', 'b: module 1.')
    >>> train_and_lever(in_short(gear_set, train), gear_set)[0] == train
    True

    What the letters stand for says in_words(), once below.
    """
    letters = _letters(gear_set)

    def marked(gears: Iterable[int]) -> list[str]:
        return [f"{plain(gear)}{letters.get(_apart(gear), '')}" for gear in gears]

    drivers, driven = (
        f"({' · '.join(side)})" if len(side) > 1 else side[0] for side in map(marked, (train.drivers, train.driven))
    )
    return f"{drivers}/{driven}{idlers_in_words(list(map(marked, train.idlers)))}"


def in_words(gear_set: GearSet, trains: Iterable[Train]) -> str:
    """What the letters stand for that in_short() sets behind gears of these trains; empty for none."""
    used = {_apart(gear) for train in trains for gear in train.gears if isinstance(gear, Piece)}
    said = {letter: _said(what) for what, letter in _letters(gear_set).items() if what in used}
    return f"{'; '.join(f'{letter}: {words}' for letter, words in said.items())}." if said else ""


_Apart = str | tuple[int, int]
"""What sets a gear apart: the cluster that it is in, or its kind."""


def _apart(gear: int) -> _Apart:
    return kind_of(gear) if mate_of(gear) is None else cluster_of(gear)


def _said(what: _Apart) -> str:
    return what if isinstance(what, str) else f"{cluster_in_words(*what)} in one piece"


def _letters(gear_set: GearSet) -> dict[_Apart, str]:
    """A letter for each cluster and each kind of the set, or two where there are many."""
    apart = dict.fromkeys(_apart(gear) for gear in chain(gear_set.pieces, gear_set.out_of_use))
    apart = {what: None for what in sorted(apart, key=lambda what: (isinstance(what, str), what)) if what}
    return dict(zip(apart, _names(), strict=False))


def _names() -> Iterator[str]:
    yield from _LETTERS
    yield from (f"{one}{other}" for one in _LETTERS for other in _LETTERS)


def _read(text: str, gear_set: GearSet | None) -> Train:
    """A train whose gears may bear the letters of a set."""
    found = _MARKED.findall(text) if gear_set is not None else []
    if not found or gear_set is None:
        return Train.parse(text)
    meant = {letter: what for what, letter in _letters(gear_set).items()}
    for count, letter in found:
        if letter not in meant:
            known = "; ".join(f"{each}: {_said(what)}" for each, what in meant.items()) or "none"
            raise ValueOutOfRangeError(f"{count}{letter} is no gear of the set", remedy=f"Its letters are {known}.")
    train = Train.parse(_MARKED.sub(r"\1", text))
    letters = [each[1] for each in re.findall(r"(\d{1,4})([a-wyz]{0,2})(?!\w)", text, re.ASCII)]
    gears = (*train.drivers, *train.driven, *chain(*train.idlers))
    if len(letters) != len(gears):
        raise ValueOutOfRangeError("the letters of this train are not understood", value=text)
    told = iter([_piece(gear, meant[letter]) if letter else gear for gear, letter in zip(gears, letters, strict=True)])
    drivers, driven = ([next(told) for _ in range(train.meshes)] for _ in range(2))
    return Train(drivers, driven, [[next(told) for _ in mesh] for mesh in train.idlers])


def _piece(gear: int, what: _Apart) -> int:
    if isinstance(what, str):
        return piece(gear, what)
    half = next((half for half in what if plain(half) == gear), None)
    if half is None:
        raise ValueOutOfRangeError(f"{gear} is not one of {_said(what)}")
    return half
