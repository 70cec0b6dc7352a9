"""A gear that its tooth count alone doesn't tell: of another size of tooth or bore, or one of two in one piece.

A loose gear of the lathe file's first table is a plain whole number, its tooth count. Any other is a Piece: a whole
number too, for all reckoning, that is equal only to the same gear of the same kind.
"""

from __future__ import annotations

from collections.abc import Iterable


class Piece(int):
    """A gear by its teeth and by what sets it apart; made by piece().

    `kind`: what its size is where that is not the first table's, like 'module 1' or 'DP 24, bore 14', else empty;
    `mate`: the gear that it is in one piece with, None for a loose one.
    """

    kind: str
    mate: int | None

    @property
    def _key(self) -> tuple[int, str, int, str]:
        mate = self.mate
        return int(self), self.kind, -1 if mate is None else int(mate), kind_of(mate)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Piece) and self._key == other._key

    def __ne__(self, other: object) -> bool:
        return not self == other

    __hash__ = int.__hash__

    def __lt__(self, other: int) -> bool:
        return self._key < other._key if isinstance(other, Piece) else int(self) < other

    def __le__(self, other: int) -> bool:
        return self._key <= other._key if isinstance(other, Piece) else int(self) < other

    def __gt__(self, other: int) -> bool:  # a plain gear of the same count comes before it
        return self._key > other._key if isinstance(other, Piece) else int(self) >= other

    def __ge__(self, other: int) -> bool:
        return self._key >= other._key if isinstance(other, Piece) else int(self) >= other

    def __reduce__(self) -> tuple[object, ...]:
        return piece, (int(self), self.kind, self.mate)


def piece(teeth: int, kind: str = "", mate: int | None = None) -> int:
    """The gear of so many teeth: the plain count where that is all there is to say.

    >>> piece(40) == 40, piece(40, "module 1") == 40, piece(40, "module 1") + 1
    (True, False, 41)
    >>> [gear_in_words(gear) for gear in sorted([piece(40, "module 1"), piece(40, mate=50), 40])]
    ['40', '40 (in one piece with 50)', '40 (module 1)']
    """
    if not kind and mate is None:
        return int(teeth)
    made = Piece(teeth)
    made.kind, made.mate = kind, None if mate is None else piece(mate, kind_of(mate))
    return made


def kind_of(gear: int | None) -> str:
    """What sets its size apart from the first table's; empty for a gear of that.

    >>> kind_of(40), kind_of(piece(40, "module 1"))
    ('', 'module 1')
    """
    return gear.kind if isinstance(gear, Piece) else ""


def mate_of(gear: int) -> int | None:
    """The gear that it is in one piece with, None for a loose one.

    >>> mate_of(40), mate_of(piece(40, mate=50))
    (None, 50)
    """
    return gear.mate if isinstance(gear, Piece) else None


def other_half(gear: int) -> int:
    """The gear that it is in one piece with, as it stands in a train; a loose gear itself.

    >>> other_half(piece(50, mate=40)) == piece(40, mate=50), other_half(50)
    (True, 50)
    """
    mate = mate_of(gear)
    return gear if mate is None else piece(mate, kind_of(mate), gear)


def cluster_of(gear: int) -> tuple[int, int]:
    """Both halves of the cluster that a gear belongs to, ascending.

    >>> cluster_of(piece(50, mate=40)) == (piece(40, mate=50), piece(50, mate=40))
    True
    """
    one, other = sorted((gear, other_half(gear)))
    return one, other


def in_one_piece(one: int, other: int) -> bool:
    """Whether two gears may be the halves of one cluster.

    >>> in_one_piece(piece(50, mate=40), piece(40, mate=50)), in_one_piece(50, 40)
    (True, False)
    """
    return mate_of(one) is not None and other_half(one) == other


def plain(gear: int) -> int:
    """The tooth count alone.

    >>> plain(piece(40, "module 1")) == 40
    True
    """
    return int(gear) if isinstance(gear, Piece) else gear


def some_set_apart(gears: Iterable[int]) -> bool:
    """Whether the tooth count alone does not tell all of these gears.

    >>> some_set_apart([40, 60]), some_set_apart([40, piece(60, "module 1")])
    (False, True)
    """
    return any(isinstance(gear, Piece) for gear in gears)


def how_unusual(gears: Iterable[int]) -> tuple[int, int]:
    """How many of these are of clusters, and how many of another size: what is less often meant sorts last.

    >>> how_unusual([40, piece(50, mate=45), piece(60, "module 1")])
    (1, 1)
    """
    listed = list(gears)
    return sum(mate_of(gear) is not None for gear in listed), sum(kind_of(gear) != "" for gear in listed)


def of_its_kind(gear: int) -> str:
    """A gear that another is in one piece with, as it is named there.

    >>> of_its_kind(45), of_its_kind(piece(45, "module 1"))
    ('45', '45 of module 1')
    """
    return f"{plain(gear)} of {kind_of(gear)}" if kind_of(gear) else str(plain(gear))


def gear_in_words(gear: int) -> str:
    """A gear as it is named where it stands by itself.

    >>> gear_in_words(40), gear_in_words(piece(30, "module 1")), gear_in_words(piece(50, mate=45))
    ('40', '30 (module 1)', '50 (in one piece with 45)')
    """
    said = [kind_of(gear)] if kind_of(gear) else []
    mate = mate_of(gear)
    if mate is not None:
        said.append(f"in one piece with {of_its_kind(mate)}")
    return f"{plain(gear)} ({', '.join(said)})" if said else str(gear)
