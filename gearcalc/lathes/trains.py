"""A train of change gears: meshes in series, from the spindle side to the leadscrew. The ratio is exact."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import combinations, islice, permutations, zip_longest
from math import prod
from typing import NamedTuple, TypeAlias

from attrs import field, frozen

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_teeth, is_several
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.markup import ShownAsWritten
from gearcalc.lathes import piece_texts
from gearcalc.lathes.pieces import Piece, plain
from gearcalc.lathes.train_text import ORDINALS as ORDINALS
from gearcalc.lathes.train_text import Gears as Gears
from gearcalc.lathes.train_text import as_written_in, read_train

GearsLike: TypeAlias = int | Iterable[int]
"""Tooth counts as they may be handed over: one, or several in a row."""
IdlersLike: TypeAlias = int | Iterable[int | Iterable[int]]
"""Idlers as they may be handed over: one, several of the first mesh, or those of each mesh in a row of their own."""

STEEPEST_MESH = Fraction(4)
"""Larger over smaller gear of a mesh; a higher ratio carries a warning (common practice, no source)."""


_PLAIN, _COUNTS = {int}, frozenset(range(6, 1001))


def as_gears(given: object, *, most: int = len(ORDINALS)) -> tuple[int, ...]:
    """Tooth counts from one, or from several in a row.

    >>> as_gears([40, 80]), as_gears(127)
    ((40, 80), (127,))

    `most`: how many are taken. Raises ValueOutOfRangeError for more, or for what is no tooth count.
    """
    if type(given) is tuple and len(given) <= most and set(map(type, given)) <= _PLAIN and _COUNTS.issuperset(given):
        return given  # as in every train that is made of another's gears
    listed = _listed(given, most)
    return tuple([_as_gear(teeth) for teeth in listed])


def _as_gear(given: object) -> int:
    teeth = as_teeth(given, what="a gear")
    return given if isinstance(given, Piece) else teeth


def _listed(given: object, most: int) -> list[object]:
    listed = list(islice(given, most + 1)) if is_several(given) else [given]
    if len(listed) > most:
        raise ValueOutOfRangeError(f"at most {most} gears are taken here")
    return listed


def _a_side(given: GearsLike) -> Gears:
    return as_gears(given)


def _idler_tuples(given: IdlersLike) -> tuple[tuple[int, ...], ...]:
    if type(given) is tuple and len(given) <= len(ORDINALS) and set(map(type, given)) == {tuple}:
        return tuple(map(as_gears, given))
    listed = _listed(given, len(ORDINALS))
    if listed and not any(map(is_several, listed)):
        return (as_gears(listed),)
    return tuple(as_gears(mesh) for mesh in listed)


@frozen
class Train(ShownAsWritten):
    """Drivers and driven in mesh order from the spindle side, and the idlers in each mesh.

    >>> train = Train(drivers=(40, 30), driven=(80, 60), idlers=((50,), ()))
    >>> train.ratio, train.turns_the_same_way
    (Fraction(1, 4), False)
    >>> print(train)
    (40 · 30)/(80 · 60), idler 50 in the first mesh

    `drivers`, `driven`: tooth counts, 6 to 1000, as many of the one as of the other, 1 to 6 meshes.
    `idlers`: one tuple of tooth counts a mesh, () for none, 6 at most; a plain tuple is taken for the first mesh.
    A gear of another size, or in one piece with another, prints as its count and is equal to the same gear alone, never
    to a count; `counts` is what compares with counts.
    Raises ValueOutOfRangeError when a count is no gear or the sides don't match.
    """

    drivers: tuple[int, ...] = field(converter=_a_side)
    driven: tuple[int, ...] = field(converter=_a_side)
    idlers: tuple[tuple[int, ...], ...] = field(converter=_idler_tuples, default=())

    def __attrs_post_init__(self) -> None:
        if len(self.drivers) != len(self.driven) or not 1 <= len(self.drivers) <= len(ORDINALS):
            raise ValueOutOfRangeError(
                f"a train has 1 to {len(ORDINALS)} meshes, each a driver and a driven gear",
                value=f"{len(self.drivers)} drivers over {len(self.driven)} driven",
            )
        if len(self.idlers) > len(self.drivers):
            raise ValueOutOfRangeError("idlers are given for more meshes than there are", value=self.idlers)
        none_given = ((),) * (len(self.drivers) - len(self.idlers))
        object.__setattr__(self, "idlers", (*self.idlers, *none_given))

    @classmethod
    def parse(cls, text: str, idlers: IdlersLike = ()) -> Train:
        """Read a train in any way that this package or the trade writes it: '40/80', '40x30/80x60', '40→80+30→60' ...

        >>> Train.parse("40x30 / 80x60") == Train.parse("(40 · 30)/(80 · 60)") == Train.parse("40/80 30/60")
        True
        >>> Train.parse("(40 · 30)/(80 · 60), idler 50 in the second mesh") == Train.parse("40→80+30→(50)→60")
        True

        >>> print(Train.parse("30x50/45x60, second mesh of module 1, first driven and second driver in one piece"))
        (30 · 50)/(45 · 60), second mesh of module 1, first driven and second driver in one piece

        `text`: at most 20 000 characters; idlers may follow as a train writes them, stand gear by gear as on a plate,
        or all be said key by key, as in JSON and in a lathe file's plate. `idlers` as for Train, where the text names
        none. Raises ValueOutOfRangeError for anything else.
        """
        written = as_written_in(text)
        written, apart = piece_texts.take_out(written) if isinstance(written, str) else (written, [])
        drivers, driven, named = read_train(written)
        if named is not None and any(named) and idlers:
            raise ValueOutOfRangeError("the idlers are given twice", value=text)
        if apart:
            drivers, driven, named = piece_texts.set_apart(drivers, driven, named or [], apart)
        return cls(drivers, driven, named or idlers)

    @property
    def ratio(self) -> Fraction:
        """Turns of the last driven gear for one turn of the first driver: drivers over driven."""
        return Fraction(prod(self.drivers), prod(self.driven))

    @property
    def meshes(self) -> int:
        """How many driver–driven pairs."""
        return len(self.drivers)

    @property
    def idler_count(self) -> int:
        """How many idlers, in all meshes."""
        return sum(map(len, self.idlers))

    @property
    def shafts(self) -> int:
        """How many axes it needs: the two ends, and a stud for each idler and each compound pair.

        >>> Train((40, 30), (80, 60), ((50,), ())).shafts
        4
        """
        return 1 + self.meshes + self.idler_count

    @property
    def turns_the_same_way(self) -> bool:
        """Whether the last driven gear turns as the first driver does."""
        return same_way(self.meshes, self.idler_count)

    @property
    def gears(self) -> tuple[int, ...]:
        """Every gear in the train, idlers included."""
        return (*self.drivers, *self.driven, *(teeth for mesh in self.idlers for teeth in mesh))

    @property
    def steepest(self) -> Fraction:
        """The steepest mesh, larger over smaller, 1 or more."""
        pairs = zip(self.drivers, self.driven, strict=True)
        return Fraction(*max(((max(pair), min(pair)) for pair in pairs), key=lambda pair: pair[0] / pair[1]))

    def chain(self) -> tuple[tuple[int, ...], ...]:
        """List each mesh as the gears in the order they mesh: driver, idlers, driven.

        >>> Train((40,), (80,), ((50,),)).chain()
        ((40, 50, 80),)
        """
        return tuple(
            (driver, *idlers, driven)
            for driver, idlers, driven in zip(self.drivers, self.idlers, self.driven, strict=True)
        )

    def places(self) -> Iterator[tuple[str, int]]:
        """List each place by what it does, with the gear on it, in the order of the chain.

        >>> list(Train((40,), (80,)).places())
        [('first driver', 40), ('first driven', 80)]
        """
        return piece_texts.places_of(self.drivers, self.driven, self.idlers)

    @property
    def counts(self) -> Train:
        """The same by tooth counts alone, whatever sets its gears apart.

        >>> found = Train.parse("30x50/45x60, second mesh of module 1")
        >>> found.drivers == (30, 50), found.counts.drivers == (30, 50)
        (False, True)
        """
        idlers = tuple(tuple(map(plain, mesh)) for mesh in self.idlers)
        return Train(tuple(map(plain, self.drivers)), tuple(map(plain, self.driven)), idlers)

    @property
    def apart(self) -> tuple[str, ...]:
        """What the tooth counts alone don't tell of its gears, in words; nothing where they tell all.

        >>> Train.parse("30x50/45x60, second mesh of module 1").apart
        ('second mesh of module 1',)
        """
        return tuple(piece_texts.words_apart(self.drivers, self.driven, self.idlers))

    @property
    def written(self) -> markup.Written:
        """Drivers over driven, idlers and what sets gears apart behind, for text, LaTeX and HTML."""
        return piece_texts.written(self.drivers, self.driven, self.idlers)


TrainLike: TypeAlias = Train | str
"""A train as it may be handed over: itself, or its text."""


class Gear(NamedTuple):
    """A gear of a chain: its mesh, its axis (0 on the spindle side), its teeth, and its role: driver, idler, driven."""

    mesh: int
    axis: int
    teeth: int
    role: str

    @property
    def idler(self) -> bool:
        """Whether it only hands on the motion between two others."""
        return self.role == "idler"


def gears_of(chain: Iterable[Gears]) -> list[Gear]:
    """List the gears along a chain; a driven gear and the next driver share an axis.

    >>> [(gear.teeth, gear.axis) for gear in gears_of(((40, 80), (30, 60)))]
    [(40, 0), (80, 1), (30, 1), (60, 2)]
    """
    found, axis = [], 0
    for mesh, gears in enumerate(chain):
        for place, teeth in enumerate(gears):
            axis += place > 0
            role = "driver" if place == 0 else "driven" if place == len(gears) - 1 else "idler"
            found.append(Gear(mesh, axis, teeth, role))
    return found


def shaft_names(shafts: int, first: str = "spindle side", last: str = "leadscrew") -> tuple[str, ...]:
    """Name so many shafts in words, along the chain.

    >>> shaft_names(3), shaft_names(4, last="gearbox")
    (('spindle side', 'stud', 'leadscrew'), ('spindle side', 'first stud', 'second stud', 'gearbox'))
    """
    if shafts == 3:
        return first, "stud", last
    studs = range(shafts - 2)
    return first, *(f"{ORDINALS[k]} stud" if k < len(ORDINALS) else f"stud {k + 1}" for k in studs), last


def places_that_differ(one: Train, other: Train, last_stays: bool = False) -> int:
    """Places (first driver, first driven ...), not shafts, with a different gear in two trains, or in one alone.

    `last_stays`: the last driven gear is on both, and stays where it is.

    >>> places_that_differ(Train((40,), (80,)), Train((40, 30), (80, 60)))
    2
    """
    under = (one.driven[:-1], other.driven[:-1]) if last_stays else (one.driven, other.driven)
    pairs = [*zip_longest(one.drivers, other.drivers), *zip_longest(*under)]
    return idlers_that_differ(one, other) + sum(1 for mine, theirs in pairs if mine != theirs)


def idlers_that_differ(one: Train, other: Train) -> int:
    """How many of those places are idlers'.

    >>> idlers_that_differ(Train((40,), (80,), ((50,),)), Train((40, 30), (80, 60), ((), (50,))))
    2
    """
    meshes = zip_longest(one.idlers, other.idlers, fillvalue=())
    return sum([mine != theirs for both in meshes for mine, theirs in zip_longest(*both)])


# The order of the meshes: which driver meets which driven gear, and which spare gear can be the idler. It changes
# nothing about the ratio; it decides how steep the steepest mesh is, and how many gears are moved from what is mounted.

TOO_STEEP = float(STEEPEST_MESH)
"""The limit again, to be held against steepest_mesh: comparing floats takes a twentieth of the time."""


def steepest_mesh(drivers: Sequence[int], driven: Sequence[int]) -> float:
    """The steepest mesh, larger over smaller, of drivers and driven as they stand.

    >>> steepest_mesh((20, 60), (40, 50))
    2.0

    With both sides ascending no other order has a milder steepest mesh. Why: steepness is a distance on a scale of
    logarithms. Take drivers a ≤ b that meet driven y ≥ x, large with small: uncrossing them, a with x and b with y,
    leaves both new distances within the longer of the two old ones. So uncross until nothing is crossed.
    A float tells any two meshes apart that differ at all: with at most 1000 teeth, two different ratios differ by
    at least one part in a million, and dividing two whole numbers rounds correctly.
    """
    steepest = 1.0
    for driver, other in zip(drivers, driven, strict=True):
        steepness = driver / other if driver > other else other / driver
        if steepness > steepest:
            steepest = steepness
    return steepest


def same_way(meshes: int, idlers: int) -> bool:
    """Whether the last driven gear turns as the first driver does: each mesh and each idler turns it round.

    >>> same_way(1, 0), same_way(1, 1), same_way(2, 0)
    (False, True, True)
    """
    return (meshes + idlers) % 2 == 0


def in_order(
    drivers: Gears,
    driven: Gears,
    mounted: Train | None,
    strained_anyway: bool = False,
    orders: Iterable[tuple[Gears, Gears]] | None = None,
    last_stays: bool = False,
    idlers_moved: Mapping[Gears, int] | None = None,
) -> Train:
    """The train in the order of meshes that is best at the machine.

    >>> print(in_order((20, 30), (60, 80), mounted=Train((30,), (80,))))
    (30 · 20)/(80 · 60)

    `drivers`, `driven`: ascending. With nothing mounted: small with small, smallest first. Else the order that
    moves fewest, among those with no mesh too steep if there are any (`strained_anyway`: it makes no difference);
    then the mildest; then the smallest gears first. `orders`: those in which they may stand, where that is not every
    order; `last_stays`: the last driven gear is fixed; `idlers_moved`: by the order of the drivers.
    """
    if mounted is None and orders is None:
        return Train(drivers, driven)
    end = -1 if last_stays else None

    def handiness(order: tuple[Gears, Gears]) -> tuple[bool, int, float, Gears, Gears]:
        steepest = steepest_mesh(*order)
        moved = 0
        if mounted is not None:
            moved = _differing(order[0], mounted.drivers) + _differing(order[1][:end], mounted.driven[:end])
        if idlers_moved:
            moved += idlers_moved[order[0]]
        return steepest > TOO_STEEP and not strained_anyway, moved, steepest, *order

    if orders is None:
        orders = ((over, under) for over in set(permutations(drivers)) for under in set(permutations(driven)))
    return Train(*min(orders, key=handiness))


def _differing(one: Gears, other: Gears) -> int:
    return max(len(one), len(other)) - sum(mine == theirs for mine, theirs in zip(one, other, strict=False))


def with_idler(
    train: Train, spare: Sequence[int], mounted: Train | None, choices: Sequence[Gears] | None = None
) -> Train:
    """The train with one idler more.

    >>> print(with_idler(Train((40,), (80,)), spare=(50, 62), mounted=None))
    40/80, idler 62

    The idler goes where `mounted` has one, and is that same gear, if it can be; a gear that is not moved. Else it is
    the gear nearest the mean of the two that it stands between, the smaller of two as near; in the first mesh, or
    where there is one already. `spare`: the gears that the train leaves over, one at least, ascending; `choices`: those
    that can be in each mesh, where not all can be everywhere; then it is the first mesh that has any.
    """
    choices = choices if choices is not None else [tuple(spare)] * train.meshes
    standing = mounted.idlers[: train.meshes] if mounted is not None else ()
    for mesh, idlers in enumerate(standing):
        if idlers and idlers[0] in choices[mesh]:
            return _idler_at(train, mesh, idlers[0])
    there = [mesh for mesh, gears in enumerate(choices) if gears]
    mesh = next((mesh for mesh, idlers in enumerate(standing) if idlers and mesh in there), there[0])
    between = train.drivers[mesh] + train.driven[mesh]
    return _idler_at(train, mesh, min(choices[mesh], key=lambda teeth: (abs(2 * teeth - between), teeth)))


def _idler_at(train: Train, mesh: int, idler: int) -> Train:
    before: tuple[Gears, ...] = ((),) * mesh
    return Train(train.drivers, train.driven, (*before, (idler,)))


# Equal gears, one on each side, change no ratio.


def shorter_trains(drivers: Gears, driven: Gears) -> Iterator[tuple[Gears, Gears]]:
    """The trains of the same ratio that are left when equal gears, one of each side, are taken out.

    >>> list(shorter_trains((30, 40, 50), (40, 50, 60)))
    [((30, 50), (50, 60)), ((30, 40), (40, 60)), ((30,), (60,))]
    >>> list(shorter_trains((40,), (40,)))
    []

    An equal pair is needed only where none of these serves: for 1:1, for meshes that the shorter train has not, to
    reach, to move fewer gears.
    """
    equal = sorted((Counter(drivers) & Counter(driven)).elements()) if not set(drivers).isdisjoint(driven) else ()
    for pairs in range(1, min(len(equal), len(drivers) - 1) + 1):
        for out in dict.fromkeys(combinations(equal, pairs)):
            yield _without(drivers, out), _without(driven, out)


def _without(gears: Gears, out: Gears) -> Gears:
    left = sorted(gears)
    for gear in out:
        left.remove(gear)
    return tuple(left)
