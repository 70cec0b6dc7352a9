"""How gears may stand beside one another in a train: which mesh, which share a stud, which go on an end shaft.

A mesh, idlers included, is of one size of tooth. The two gears on a stud are loose, with bores that agree, or the two
halves of one cluster, driven and next driver. An end shaft takes no cluster, and no bore but its own; where its gear
is fixed, no other gear. An idler has a stud to itself, so its bore is no matter.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeAlias

from attrs import frozen

from gearcalc.lathes.pieces import in_one_piece, kind_of, mate_of
from gearcalc.lathes.sizes import Size
from gearcalc.lathes.trains import Gears, Train

Order: TypeAlias = tuple[Gears, Gears]
"""Drivers and driven in mesh order."""


@frozen
class Standing:
    """The rules of one lathe.

    >>> rules = Standing({"": Size(1.25, 20, 12)}, first_driver=40)
    >>> rules.orders((30, 40), (50, 60))
    [((40, 30), (50, 60)), ((40, 30), (60, 50))]

    `sizes`: by kind; `first_driver`, `last_driven`: the fixed gears; `first_bore_mm`, `last_bore_mm`: what the end
    shafts take, None for any.
    """

    sizes: Mapping[str, Size]
    first_driver: int | None = None
    last_driven: int | None = None
    first_bore_mm: float | None = None
    last_bore_mm: float | None = None

    @property
    def anything_goes(self) -> bool:
        """Whether loose gears of the first table may stand in any order."""
        size = self.sizes[""]
        free = self.first_driver is None and self.last_driven is None
        return free and size.goes_on(self.first_bore_mm) and size.goes_on(self.last_bore_mm)

    def mesh(self, one: int, other: int) -> bool:
        """Whether two gears can mesh."""
        kind, another = kind_of(one), kind_of(other)
        return kind == another or self.sizes[kind].meshes_with(self.sizes[another])

    def share_a_stud(self, driven: int, driver: int) -> bool:
        """Whether a driven gear and the next driver can stand on one stud."""
        if mate_of(driven) is not None or mate_of(driver) is not None:
            return in_one_piece(driven, driver)
        return self.sizes[kind_of(driven)].goes_on(self.sizes[kind_of(driver)].bore_mm)

    def first(self, driver: int) -> bool:
        """Whether a gear can be the first driver."""
        return self._at_the_end(driver, self.first_driver, self.first_bore_mm)

    def last(self, driven: int) -> bool:
        """Whether a gear can be the last driven."""
        return self._at_the_end(driven, self.last_driven, self.last_bore_mm)

    def _at_the_end(self, gear: int, fixed: int | None, bore_mm: float | None) -> bool:
        if fixed is not None and gear != fixed:
            return False
        return mate_of(gear) is None and self.sizes[kind_of(gear)].goes_on(bore_mm)

    def allow(self, train: Train) -> bool:
        """Whether a train may stand as it is, however often its gears are owned."""
        meshes = zip(train.drivers, train.driven, train.idlers, strict=True)
        studs = zip(train.driven, train.drivers[1:], strict=False)
        return (
            self.first(train.drivers[0])
            and self.last(train.driven[-1])
            and all(self.mesh(driver, gear) for driver, driven, idlers in meshes for gear in (driven, *idlers))
            and all(self.share_a_stud(driven, driver) for driven, driver in studs)
        )

    def orders(self, drivers: Gears, driven: Gears) -> list[Order]:
        """Every order of drivers and driven in which they may stand, each once."""
        return list(self._longer((), (), tuple(sorted(drivers)), tuple(sorted(driven))))

    def _longer(self, over: Gears, under: Gears, drivers: Gears, driven: Gears) -> Iterator[Order]:
        if not drivers:
            yield over, under
            return
        for driver in dict.fromkeys(drivers):
            if not (self.share_a_stud(under[-1], driver) if under else self.first(driver)):
                continue
            left = without(drivers, driver)
            for other in dict.fromkeys(driven):
                if self.mesh(driver, other) and (left or self.last(other)):
                    yield from self._longer((*over, driver), (*under, other), left, without(driven, other))


def without(gears: Gears, gear: int) -> Gears:
    """The gears but one.

    >>> without((40, 40, 60), 40)
    (40, 60)
    """
    place = gears.index(gear)
    return gears[:place] + gears[place + 1 :]
