"""Tables of what so many gears multiply to, and which of them may stand together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from math import inf, lcm, prod
from typing import TypeAlias

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import NotPossibleError
from gearcalc.lathes.frames import clusters_needed, frames, shorter_ways
from gearcalc.lathes.gear_sets import GearSet, Side, as_gear_set, together
from gearcalc.lathes.trains import Gears, shorter_trains

_KEPT = 32
_MOST_CHOICES = 200_000  # of the sides of all frames together


@dataclass(frozen=True, slots=True, eq=False)
class Products:
    """Every product of so many gears of a set, and the gears that make it.

    >>> table = Products.of([20, 30, 40, 60], 2)
    >>> table.values
    (600, 800, 1200, 1800, 2400)
    >>> table.gears_for(1200)
    ((20, 60), (30, 40))

    `values`: distinct, ascending; empty when the set has fewer gears than asked for. `some_twice`: whether some tooth
    count is owned twice.
    """

    meshes: int
    values: tuple[int, ...]
    some_twice: bool
    _sides: dict[int, list[Side]] = field(repr=False)
    _floats: list[float] = field(repr=False)  # the values again, and a last one that nothing reaches
    _common: int = field(repr=False)  # a multiple of every value

    @classmethod
    def of(cls, gears: GearSet | Iterable[int], meshes: int) -> Products:
        """List the products of `meshes` gears out of `gears`.

        Raises ValueOutOfRangeError for what is no tooth count or no number of meshes, NotPossibleError when
        there are more than half a million ways to choose.
        """
        gear_set, meshes = as_gear_set(gears), as_whole(meshes, what="meshes")
        if not gear_set.anything_goes:
            raise NotPossibleError("one table will not do for gears that are fixed, in one piece or of several sizes")
        return cls.listed(gear_set, meshes, gear_set.sides(meshes))

    @classmethod
    def listed(cls, gear_set: GearSet, meshes: int, choices: Iterable[Side]) -> Products:
        """The products of these choices of so many gears of the set."""
        sides: dict[int, list[Side]] = defaultdict(list)
        for side in choices:
            sides[prod(side.gears)].append(side)
        values = tuple(sorted(sides))
        common = lcm(*gear_set.pieces) ** meshes
        return cls(meshes, values, gear_set.some_twice, dict(sides), [*map(float, values), inf], common)

    @property
    def over(self) -> Products:
        """The table of the drivers."""
        return self

    @property
    def under(self) -> Products:
        """The table of the driven."""
        return self

    shorter = staticmethod(shorter_trains)

    def gears_for(self, value: int) -> tuple[tuple[int, ...], ...]:
        """The ways to choose the gears for one product; none when it is not in the table."""
        return tuple(side.gears for side in self._sides.get(value, ()))

    def choices(self, *, drivers: bool) -> list[tuple[int, int]]:
        """Each choice of gears by its product, ascending, and the pieces that it takes, as drivers or as driven.

        >>> Products.of([20, 30], 1).choices(drivers=True)
        [(20, 1), (30, 2)]
        """
        sides = ((value, side) for value in self.values for side in self._sides[value])
        return [(value, side.as_drivers if drivers else side.as_driven) for value, side in sides]

    def trains_of(self, over: int, under: int) -> Iterator[tuple[Gears, Gears]]:
        """The drivers and driven with these products that may stand together.

        >>> table = Products.of([40, 40, 60], 1)
        >>> list(table.trains_of(40, 40)), list(table.trains_of(60, 60))
        ([((40,), (40,))], [])
        """
        return together(self._sides[over], self._sides[under])


@dataclass(frozen=True, slots=True, eq=False)
class TwoTables:
    """What the drivers and the driven of one frame multiply to; to be asked as a table of Products is."""

    over: Products
    under: Products
    gear_set: GearSet

    @property
    def meshes(self) -> int:
        """How many drivers, and how many driven."""
        return self.over.meshes

    @property
    def values(self) -> tuple[int, ...]:
        """The products of the drivers; none where the frame has no train."""
        return self.over.values if self.under.values else ()

    @property
    def some_twice(self) -> bool:
        """Some count may stand on both sides: of a cluster, of another size, or owned twice."""
        return True

    def shorter(self, drivers: Gears, driven: Gears) -> Iterator[tuple[Gears, Gears]]:
        """The trains that are left when equal counts are taken out, one of each side."""
        return shorter_ways(self.gear_set, drivers, driven)

    def trains_of(self, over: int, under: int) -> Iterator[tuple[Gears, Gears]]:
        """The drivers and driven with these products that may stand together."""
        for drivers, driven in together(self.over._sides[over], self.under._sides[under]):
            if clusters_needed(self.gear_set, drivers, driven):
                yield drivers, driven


Table: TypeAlias = Products | TwoTables


@lru_cache(maxsize=_KEPT)
def tables_of(gear_set: GearSet, meshes: int) -> tuple[Table, ...]:
    """The tables of a set for so many meshes: one, or one for each frame.

    >>> len(tables_of(GearSet([20, 30, 40]), 1)), len(tables_of(GearSet([20, 30, 40, 50], clusters=[(60, 70)]), 2))
    (1, 3)

    Raises NotPossibleError when there are more than half a million ways to choose one side.
    """
    if gear_set.anything_goes:
        return (Products.of(gear_set, meshes),)
    pairs = [(frame.above, frame.below) for frame in frames(gear_set, meshes)]
    sides = dict.fromkeys(side for pair in pairs for side in pair)
    if sum(side.choices(gear_set) for side in sides) > _MOST_CHOICES:
        raise NotPossibleError(
            f"{len(gear_set.pieces)} gears taken {meshes} at a time can be chosen in too many ways",
            remedy="Give fewer gears, or fewer meshes.",
        )
    listed = {side: Products.listed(gear_set, meshes, side.listed(gear_set)) for side in sides}
    return tuple(TwoTables(listed[above], listed[below], gear_set) for above, below in pairs)


def why_none_stands(owned: GearSet, usable: GearSet, meshes: Collection[int]) -> str:
    """Say why no train of so many meshes can stand, where some gears are not loose, sound and of one size.

    >>> from gearcalc.lathes.sizes import Fixed
    >>> owned = GearSet([20, 30], fixed=Fixed(first_driver=20, last_driven=30))
    >>> why_none_stands(owned, owned, (1,)), why_none_stands(owned, owned, (2,))[:42]
    ('', 'No train of 2 meshes of these gears can st')

    `usable`: what is left of the gears `owned` without those to avoid. Empty where some train can stand, and for a
    set in which anything goes.
    """
    if owned.anything_goes:
        return ""
    if any(table.values for number in meshes for table in tables_of(usable, number)):
        return ""
    return (
        f"No train of {writing.meshes(meshes)} of these gears can stand on the lathe: what is fixed, in one piece, of "
        "another size of tooth or of another bore leaves no way."
    )
