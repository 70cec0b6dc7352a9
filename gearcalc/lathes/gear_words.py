"""The gears of a lathe in words: those to choose from, and what a person has to know of the others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from gearcalc.basics import writing
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.pieces import gear_in_words, kind_of, mate_of, other_half, piece, plain
from gearcalc.lathes.sizes import first_size_in_words
from gearcalc.lathes.trains import Gears


def gear_rows(gear_set: GearSet) -> list[tuple[str, str]]:
    """What there is to say, each with a heading; the loose gears of the first size first.

    >>> gear_rows(GearSet([20, 30, 40, 40], damaged=[40], clusters=[(50, 60)]))
    [('Gears', '20 30 40'), ('Damaged', 'one of the two 40'), ('In one piece', '50 and 60')]
    """
    rows = [("Gears", _row(gear_set.loose, "") or "none")]
    for kind in dict.fromkeys(map(kind_of, gear_set.loose)):
        if kind:
            rows.append((f"Gears of {kind}", _row(gear_set.loose, kind)))
    rows += [(heading, words) for heading, words in _special(gear_set) if words]
    return rows


def _row(gears: Gears, kind: str) -> str:
    return " ".join(str(plain(gear)) for gear in gears if kind_of(gear) == kind)


def _special(gear_set: GearSet) -> Iterator[tuple[str, str]]:
    first, last = gear_set.fixed.first_driver, gear_set.fixed.last_driven
    yield "First driver fixed", "" if first is None else str(first)
    yield "Last driven gear fixed", "" if last is None else str(last)
    yield "Damaged", damaged_in_words(gear_set)
    yield "In one piece", ", ".join(cluster_in_words(*pair) for pair in gear_set.pairs.elements())


def first_size(gear_set: GearSet) -> str:
    """The size of `teeth`, and of what is bought or lent; empty where all gears are of one size.

    >>> from gearcalc.lathes.sizes import GearTable
    >>> first_size(GearSet([40, 60], module_mm=1.25, more=[GearTable([30], module_mm=1)]))
    'module 1.25'
    """
    return first_size_in_words(gear_set.size, gear_set.size_in_words, gear_set.standing.sizes.values())


def of_first_size(gear_set: GearSet) -> str:
    """The same in brackets behind gears that are all of that size, since no other is tried.

    >>> from gearcalc.lathes.sizes import GearTable
    >>> of_first_size(GearSet([40, 60], module_mm=1.25, more=[GearTable([30], module_mm=1)]))
    ' (module 1.25)'
    """
    size = first_size(gear_set)
    return f" ({size})" if size else ""


def damaged_in_words(gear_set: GearSet) -> str:
    """The damaged gears: of which size, where there are several, and of how many, where a sound one is there as well.

    >>> damaged_in_words(GearSet([20, 40, 40, 60], damaged=[40, 60]))
    'one of the two 40, 60'
    """
    said = []
    for gear, times in Counter(gear_set.out_of_use).items():
        size = kind_of(gear) or first_size(gear_set)
        name = f"{plain(gear)} ({size})" if size else str(gear)
        sound = gear_set.count(gear)
        of_how_many = f"{writing.in_words(times)} of the {writing.in_words(times + sound)} {name}"
        said += [of_how_many] if sound else [name] * times
    return ", ".join(said)


def cluster_in_words(one: int, other: int) -> str:
    """The two gears of a cluster.

    >>> cluster_in_words(piece(45, "module 1", 50), piece(50, mate=piece(45, "module 1")))
    '45 (module 1) and 50'
    """
    return " and ".join(gear_in_words(piece(gear, kind_of(gear))) for gear in (one, other))


def what_to_mind(gear_set: GearSet) -> str:
    """What a list of trains has to say of the gears: other sizes, fixed, damaged, in one piece; empty for plain ones.

    >>> what_to_mind(GearSet([20, 30, 40], damaged=[30], clusters=[(50, 60)])), what_to_mind(GearSet([20, 30]))
    ('Damaged: 30. In one piece: 50 and 60.', '')
    """
    return " ".join(f"{heading}: {words}." for heading, words in gear_rows(gear_set)[1:])


def gears_to_fetch(gears: Iterable[int]) -> list[str]:
    """Gears as they are taken from the box, ascending; of a cluster both halves as one.

    >>> half = piece(40, mate=50)
    >>> gears_to_fetch([60, half, other_half(half), piece(30, "module 1")])
    ['30 (module 1)', '40 and 50 in one piece', '60']
    """
    said, left = [], sorted(gears)
    while left:
        gear, *left = left
        other = other_half(gear)
        if mate_of(gear) is not None and other in left:
            left.remove(other)
            said.append(f"{cluster_in_words(gear, other)} in one piece")
        else:
            said.append(gear_in_words(gear))
    return said


def gears_in_words(gear_set: GearSet) -> str:
    """All of that on one line.

    >>> gears_in_words(GearSet([20, 30, 40], damaged=[30]))
    '20 40; damaged: 30'
    """
    (_, gears), *others = gear_rows(gear_set)
    return "; ".join([gears, *(f"{heading[:1].lower()}{heading[1:]}: {words}" for heading, words in others)])


def had_in_words(gear_set: GearSet, gears: Gears) -> str:
    """What is taken for granted where a train has these loose gears, which are not to be had; empty for none.

    >>> had_in_words(GearSet([20, 30], damaged=[30], clusters=[(40, 50)]), (30, 60))
    'The 30 is damaged: this holds for a sound one. 60 is taken as a loose gear, which the lathe does not have.'
    """
    damaged = [gear for gear in dict.fromkeys(gears) if gear in gear_set.out_of_use]
    others = [gear for gear in gears if gear not in damaged]
    said = [f"The {gear} is damaged: this holds for a sound one." for gear in damaged]
    if others:
        taken = "is taken as a loose gear" if len(others) == 1 else "are taken as loose gears"
        size = f" of {gear_set.size_in_words}" if gear_set.size.module_mm is not None else ""
        said.append(f"{writing.listed(map(str, others))} {taken}{size}, which the lathe does not have.")
    return " ".join(said)
