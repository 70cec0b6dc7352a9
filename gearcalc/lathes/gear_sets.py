"""The gears owned, and the one place that says which of them may stand together in a train.

The rule: a gear is one piece, so a train may take a tooth count as often as it is owned, drivers, driven and idlers
counted together. Two gears of one count may stand on both sides of a train. Such an equal pair changes no ratio, so
whoever lists trains leaves one out where the shorter train without it does the same: see shorter_trains().

Everyone who chooses gears asks here: what is missing for a train, what it leaves over, which gears can make up a side,
and which two sides can stand at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import cached_property
from itertools import combinations
from math import comb
from typing import NamedTuple

from attrs import evolve, field, frozen
from attrs.validators import optional

from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError, ValueOutOfRangeError
from gearcalc.lathes.parts import between
from gearcalc.lathes.trains import Gears, as_gears

_MOST_GEARS = 1000
_MOST_CHOICES = 500_000


class Side(NamedTuple):
    """Gears for one side of a train, and which pieces of the set they are, as bit sets.

    Of gears owned several times drivers take the first and driven the last, so that a bit set on both sides means that
    there are not enough.
    """

    as_drivers: int
    as_driven: int
    gears: Gears


def together(over: Iterable[Side], under: Collection[Side]) -> Iterator[tuple[Gears, Gears]]:
    """The drivers and driven that may stand together, of sides of one set that are to choose from.

    >>> sides = GearSet([40, 40, 60]).sides(1)
    >>> list(together(sides, sides))
    [((40,), (40,)), ((40,), (60,)), ((60,), (40,))]
    """
    for above, _, drivers in over:
        for _, below, driven in under:
            if not above & below:
                yield drivers, driven


def _counted(given: object) -> Gears:
    return tuple(sorted(as_gears(given, most=_MOST_GEARS)))


@frozen(slots=False, cache_hash=True)
class GearSet:
    """The change gears owned: `teeth` as counted, owned twice listed twice; their size where it is known.

    >>> GearSet([80, 40, 40]).teeth
    (40, 40, 80)

    At most 1000 gears of 6 to 1000 teeth; `module_mm` to 20 or `diametral_pitch` to 200; pressure angle 10 to 30.
    """

    teeth: Gears = field(converter=_counted)
    module_mm: float | None = field(default=None, validator=optional(between(0, 20, above=True)))
    diametral_pitch: float | None = field(default=None, validator=optional(between(0, 200, above=True)))
    pressure_angle_deg: float = field(default=20, validator=between(10, 30))

    def __attrs_post_init__(self) -> None:
        if self.module_mm is not None and self.diametral_pitch is not None:
            raise ValueOutOfRangeError("give module_mm or diametral_pitch, not both")

    @cached_property
    def _owned(self) -> Counter[int]:
        return Counter(self.teeth)

    @property
    def some_twice(self) -> bool:
        """Whether some tooth count is owned more than once, so that equal gears can stand on both sides."""
        return len(self._owned) < len(self.teeth)

    def count(self, teeth: int) -> int:
        """How often a tooth count may be used at once."""
        return self._owned[teeth]

    def missing(self, gears: Sequence[int]) -> Gears:
        """What would have to be had as well, so that these gears can stand together; ascending.

        >>> GearSet([40, 60]).missing((60, 40, 40, 20))
        (20, 40)
        """
        owned = self._owned
        return tuple(sorted([teeth for place, teeth in enumerate(gears) if gears[:place].count(teeth) >= owned[teeth]]))

    def holds(self, gears: Sequence[int]) -> bool:
        """Whether these gears, of all places of a train, may stand together."""
        return not self.missing(gears)

    def left_over(self, gears: Iterable[int]) -> Gears:
        """The gears that are free while these stand, for idlers and for other places; ascending.

        >>> GearSet([40, 40, 60, 80]).left_over((40, 80))
        (40, 60)
        """
        left = list(self.teeth)
        for teeth in gears:
            if teeth in left:
                left.remove(teeth)
        return tuple(left)

    def check(self, gears: object) -> None:
        """Raise GearNotOwnedError when the set lacks one of these gears, or has it once and needs it twice."""
        for refusal in self.refusals(gears):
            raise refusal

    def refusals(self, gears: object) -> Iterator[GearNotOwnedError]:
        """Why these gears can't stand together: a refusal, ready to be raised, for each tooth count that is short."""
        for teeth, times in Counter(as_gears(gears, most=_MOST_GEARS)).items():
            there = self.count(teeth)
            if 0 < there < times:
                yield GearNotOwnedError(
                    f"the set has {there} gear{'s' * (there > 1)} of {teeth} teeth, and this takes {times}",
                    remedy=f"Choose another gear, or add one of {teeth} teeth to the set.",
                )
            elif not there:
                near = sorted(sorted(self._owned, key=lambda other: (abs(other - teeth), other))[:3])
                have = f"The nearest it has: {', '.join(map(str, near))}." if near else "It has none at all."
                yield GearNotOwnedError(f"the set has no gear of {teeth} teeth", remedy=have)

    def with_gears(self, add: object = (), remove: object = ()) -> GearSet:
        """The same with gears bought or lent, and others gone.

        >>> GearSet([40, 60]).with_gears(add=(20, 40), remove=60).teeth
        (20, 40, 40)

        Raises GearNotOwnedError for a gear to remove that is not there, ValueOutOfRangeError for no tooth count.
        """
        gears = list(self.teeth)
        for teeth in as_gears(remove, most=_MOST_GEARS):
            if teeth not in gears:
                self.check((teeth,))
                raise GearNotOwnedError(f"the set has no more gears of {teeth} teeth to take away")
            gears.remove(teeth)
        return evolve(self, teeth=(*gears, *as_gears(add, most=_MOST_GEARS)))

    def without(self, counts: Collection[int]) -> GearSet:
        """The same without every gear of these tooth counts."""
        return evolve(self, teeth=[teeth for teeth in self.teeth if teeth not in counts]) if counts else self

    def sides(self, meshes: int) -> list[Side]:
        """Every choice of so many gears, ascending, for one side of a train.

        >>> [side.gears for side in GearSet([40, 40, 60]).sides(2)]
        [(40, 40), (40, 60)]

        Raises NotPossibleError when there are more than half a million ways to choose.
        """
        usable = [teeth for teeth, times in self._owned.items() for _ in range(min(times, meshes))]
        if comb(len(usable), meshes) > _MOST_CHOICES:
            raise NotPossibleError(
                f"{len(usable)} gears taken {meshes} at a time can be chosen in too many ways",
                remedy="Give fewer gears, or fewer meshes.",
            )
        first, last, place = {}, {}, 0
        for teeth, times in self._owned.items():
            first[teeth], last[teeth] = 1 << place, 1 << place + times - 1
            place += times
        if not self.some_twice:  # no need to look at how often one is taken
            pieces = [sum(chosen) for chosen in combinations([first[teeth] for teeth in usable], meshes)]
            return list(map(Side, pieces, pieces, combinations(usable, meshes)))
        found = []
        for chosen in dict.fromkeys(combinations(usable, meshes)):  # two gears of one count make the same choice twice
            low = high = 0
            for place, teeth in enumerate(chosen):
                again = place - chosen.index(teeth)
                low |= first[teeth] << again
                high |= last[teeth] >> again
            found.append(Side(low, high, chosen))
        return found


def as_gear_set(given: GearSet | Iterable[int]) -> GearSet:
    """A gear set, or one of these tooth counts; owned twice, listed twice. Raises ValueOutOfRangeError.

    >>> as_gear_set([60, 40]).teeth
    (40, 60)
    """
    return given if isinstance(given, GearSet) else GearSet(given)


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
    return tuple(sorted((Counter(gears) - Counter(out)).elements()))
