"""A train in words: what its tooth counts alone don't tell stands behind them, place by place, and is read again."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import chain, islice

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import ValueOutOfRangeError, quoted
from gearcalc.lathes.pieces import in_one_piece, kind_of, mate_of, of_its_kind, piece, some_set_apart
from gearcalc.lathes.train_text import ORDINALS

_NTH = f"({'|'.join(ORDINALS)})"
_NUMBER = r"\d{1,4}(?:\.\d{1,6})?"
_KIND = rf"((?:(?:module {_NUMBER}|dp {_NUMBER}|{_NUMBER}°|bore {_NUMBER}|any bore) ?){{1,3}})"
_LONGEST_TEXT = 4000  # as train_text takes
_A_PLACE = rf"(?:{_NTH} (driver|driven)|(?:{_NTH} )?idler in the {_NTH} mesh|{_NTH} mesh)"
_ON_A_STUD = rf"{_NTH} driven and {_NTH} driver in one piece"
_APART = re.compile(
    rf" (?:{_ON_A_STUD}|{_A_PLACE} (?:of {_KIND}|in one piece with (\d{{1,4}})(?: of {_KIND})?))(?= |$)"
)

Idlers = list[list[int]]


def written(drivers: Sequence[int], driven: Sequence[int], idlers: Sequence[Sequence[int]]) -> markup.Written:
    """Drivers over driven, idlers and what sets gears apart behind, for text, LaTeX and HTML.

    >>> small = [piece(teeth, "module 1") for teeth in (20, 60)]
    >>> print(written((40, small[0]), (80, small[1]), ((), ())))
    (40 · 20)/(80 · 60), second mesh of module 1
    >>> print(written((40,), (80,), ((piece(50, mate=45),),)))
    40/80, idler 50, idler in the first mesh in one piece with 45
    """
    shown = writing.train(drivers, driven) + idlers_in_words(idlers)
    for words in words_apart(drivers, driven, idlers):
        shown += f", {words}"
    return shown


def idlers_in_words(idlers: Sequence[Sequence[object]]) -> str:
    """What stands behind drivers and driven, `idlers` being those of each mesh.

    >>> idlers_in_words([(), (50, 60)]), idlers_in_words([()])
    (', idlers 50 and 60 in the second mesh', '')
    """
    said = ""
    for ordinal, mesh in zip(ORDINALS, idlers, strict=False):
        if mesh:
            said += f", idler{'s' * (len(mesh) > 1)} {' and '.join(map(str, mesh))}"
            said += f" in the {ordinal} mesh" if len(idlers) > 1 else ""
    return said


def places_of(
    drivers: Sequence[int], driven: Sequence[int], idlers: Sequence[Sequence[int]]
) -> Iterator[tuple[str, int]]:
    """Each place by what it does, with the gear on it, in the order of the chain."""
    for ordinal, driver, mesh, other in zip(ORDINALS, drivers, idlers, driven, strict=False):
        yield f"{ordinal} driver", driver
        for number, teeth in enumerate(mesh):
            which = f"{ORDINALS[number]} " if len(mesh) > 1 else ""
            yield f"{which}idler in the {ordinal} mesh", teeth
        yield f"{ordinal} driven", other


def words_apart(drivers: Sequence[int], driven: Sequence[int], idlers: Sequence[Sequence[int]]) -> Iterator[str]:
    """What the tooth counts don't tell: meshes, or single gears, of another kind, and what is in one piece.

    >>> list(words_apart((40, piece(50, mate=30)), (piece(30, mate=50), 80), ((), ())))
    ['first driven and second driver in one piece']
    """
    if not some_set_apart(chain(drivers, driven, *idlers)):
        return
    places = places_of(drivers, driven, idlers)
    for ordinal, mesh in zip(ORDINALS, idlers, strict=False):
        here = list(islice(places, 2 + len(mesh)))
        kinds = {kind_of(gear) for _, gear in here}
        if len(kinds) == 1:
            yield from (f"{ordinal} mesh of {kind}" for kind in kinds if kind)
        else:
            yield from (f"{place} of {kind_of(gear)}" for place, gear in here if kind_of(gear))
    for n, (one, other) in enumerate(zip(driven, drivers[1:], strict=False)):
        if in_one_piece(one, other):
            yield f"{ORDINALS[n]} driven and {ORDINALS[n + 1]} driver in one piece"
    for place, gear in places_of(drivers, driven, idlers):
        mate = mate_of(gear)
        if mate is not None and "idler" in place:
            yield f"{place} in one piece with {of_its_kind(mate)}"


def take_out(text: str) -> tuple[str, list[re.Match[str]]]:
    """The text of a train without what sets its gears apart, and all that does.

    >>> take_out("40x20/80x60, second mesh of module 1")[0]
    '40x20/80x60'
    """
    text = str.__str__(text)  # another's kind of text may do anything
    shown = " ".join(re.sub("[,;]", " ", text[:_LONGEST_TEXT].lower()).split())
    apart = list(_APART.finditer(shown))
    return (_APART.sub("", shown), apart) if apart and len(text) <= _LONGEST_TEXT else (text, [])


def set_apart(
    drivers: list[int], driven: list[int], idlers: Idlers, apart: Iterable[re.Match[str]]
) -> tuple[list[int], list[int], Idlers]:
    """The gears of a train as the pieces that its text says they are.

    Raises ValueOutOfRangeError for a place that the train has not.
    """
    among = [*idlers, *([] for _ in drivers)]
    meshes = [[driver, *between, other] for driver, between, other in zip(drivers, among, driven, strict=False)]
    for found in sorted(apart, key=lambda found: "in one piece" in found[0]):
        try:
            _set(meshes, found)
        except (IndexError, ValueError):
            raise ValueOutOfRangeError(f"the train has no such place: {quoted(found[0].strip())}") from None
    return [mesh[0] for mesh in meshes], [mesh[-1] for mesh in meshes], [mesh[1:-1] for mesh in meshes]


def _set(meshes: list[list[int]], found: re.Match[str]) -> None:
    """Make the gears pieces that a train's text sets apart."""
    stud, after, side, role, idler, its_mesh, mesh, kind, mate, mate_kind = found.groups()
    if stud is not None:
        one, other = meshes[ORDINALS.index(stud)], meshes[ORDINALS.index(after)]
        if ORDINALS.index(after) != ORDINALS.index(stud) + 1:
            raise ValueError
        one[-1], other[0] = piece(one[-1], kind_of(one[-1]), other[0]), piece(other[0], kind_of(other[0]), one[-1])
        return
    named = meshes[ORDINALS.index(side or its_mesh or mesh)]
    if mesh is not None:
        places = range(len(named))
    elif role is not None:
        places = range(1) if role == "driver" else range(len(named) - 1, len(named))
    else:
        place = 1 + ORDINALS.index(idler or "first")
        if place >= len(named) - 1:
            raise IndexError
        places = range(place, place + 1)
    for place in places:
        if kind is not None:
            named[place] = piece(named[place], _canonical(kind))
        elif len(places) > 1 or role is not None:
            raise ValueError
        else:  # only an idler is said to be in one piece with a gear that is not in the train
            half = piece(int(mate), _canonical(mate_kind or ""))
            named[place] = piece(named[place], kind_of(named[place]), half)


def _canonical(kind: str) -> str:
    """A kind as piece() takes it, from lower case without commas."""
    parts = re.findall(rf"(module |dp |bore )?({_NUMBER})(°?)|(any bore)", kind)
    words = [
        words or f"{before.upper() if before == 'dp ' else before}{writing.decimal(Fraction(number), 6)}{degrees}"
        for before, number, degrees, words in parts
    ]
    return ", ".join(words)
