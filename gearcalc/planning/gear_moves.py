"""From the train that is mounted to the one that is wanted: which gears stay, which come off, which go on, in order.

A gear stays where shaft, plane, teeth and what it does are the same, and nothing behind it on its shaft changes. A
fixed gear always does, so planes are counted from where it stands.
The two gears of a cluster are moved as one: off when all before its back one is off, on when all behind its front one
is on.
The shafts at the ends match by themselves; studs are matched along the chain so that most gears stay.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache
from itertools import pairwise, takewhile
from typing import NamedTuple

from attrs import evolve, frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction
from gearcalc.finding.setups import Setup, assemble, fit_if_any
from gearcalc.fits.arrangements import idle_gears
from gearcalc.lathes import Lathe
from gearcalc.lathes.pieces import cluster_of, in_one_piece
from gearcalc.lathes.sizes import Fixed
from gearcalc.lathes.trains import ORDINALS, Train, gears_of, shaft_names

_A_GEAR_STAYS = 1000  # weighs more than all the studs that there can be


class Place(NamedTuple):
    """Where a gear stands and what it does: shaft 0 on the spindle side, plane 0 next to the headstock."""

    shaft: int
    plane: int
    teeth: int
    role: str
    mesh: int


@frozen
class Arranged:
    """A train with a plane for each mesh, then for each gear that is in one piece with an idler; 0 is next to the
    headstock. `last_shaft`: what its last shaft is called.

    >>> [(place.teeth, place.role) for place in Arranged(Train((40, 30), (80, 60)), (0, 1)).places]
    [(40, 'driver'), (80, 'driven'), (30, 'driver'), (60, 'driven')]

    Raises ValueOutOfRangeError for another number of planes.
    """

    train: Train
    planes: tuple[int, ...]
    last_shaft: str = "leadscrew"

    def __attrs_post_init__(self) -> None:
        needed = self.train.meshes + len(idle_gears(self.train.chain()))
        if len(self.planes) != needed:
            raise ValueOutOfRangeError(f"this train needs {needed} planes", value=self.planes)

    @property
    def places(self) -> tuple[Place, ...]:
        """Every gear in chain order, then those that mesh with nothing."""
        chain = self.train.chain()
        return tuple(
            Place(gear.axis, self.planes[gear.mesh], gear.teeth, gear.role, gear.mesh)
            for gear in (*gears_of(chain), *idle_gears(chain))
        )

    def fixed_plane(self, fixed: Fixed) -> int | None:
        """The plane of the first driver where that is fixed, else of the last driven gear; None where neither is."""
        if fixed.first_driver is not None:
            return self.planes[0]
        return None if fixed.last_driven is None else self.planes[self.train.meshes - 1]

    def moved_by(self, planes: int) -> Arranged:
        """The same with every plane so many farther from the headstock."""
        return evolve(self, planes=tuple(plane + planes for plane in self.planes))

    @property
    def shafts(self) -> int:
        """How many shafts and studs there are."""
        return self.train.shafts

    def stack(self, shaft: int) -> tuple[Place, ...]:
        """The gears on one shaft, the one next to the headstock first."""
        return tuple(sorted((place for place in self.places if place.shaft == shaft), key=lambda place: place.plane))

    def piece(self, place: Place) -> tuple[Place, ...]:
        """A gear with the one that it is in one piece with, where that is in the train too, back first."""
        return tuple(one for one in self.stack(place.shaft) if one == place or in_one_piece(one.teeth, place.teeth))

    def shaft_name(self, shaft: int) -> str:
        """A shaft in words.

        >>> Arranged(Train((40, 30), (80, 60)), (0, 1)).shaft_name(1)
        'stud'
        """
        return shaft_names(self.shafts, last=self.last_shaft)[shaft]

    def plane_name(self, plane: int, fixed: Fixed) -> str:
        """A plane in words: counted from a fixed gear, which stands in the same one always; else from the headstock.

        >>> arranged = Arranged(Train((40, 30), (80, 60)), (0, 1))
        >>> arranged.plane_name(1, Fixed()), arranged.plane_name(1, Fixed(first_driver=40))
        ('plane 2, in front', 'the plane in front of the fixed 40')
        """
        at = self.fixed_plane(fixed)
        if at is None:
            besides = {0: ", next to the headstock", max(self.planes): ", in front"}
            return f"plane {plane + 1}{besides.get(plane, '')}"
        gear = f"the fixed {fixed.last_driven if fixed.first_driver is None else fixed.first_driver}"
        if plane == at:
            return f"the plane of {gear}"
        away = "" if abs(plane - at) == 1 else f"{ORDINALS[abs(plane - at) - 1]} "
        return f"the {away}plane {'in front of' if plane > at else 'behind'} {gear}"

    def role_name(self, place: Place) -> str:
        """What a gear does, in words.

        >>> arranged = Arranged(Train((40, 30), (80, 60), ((50,), ())), (0, 1))
        >>> [arranged.role_name(place) for place in arranged.places][:3]
        ['first driver', 'idler in the first mesh', 'first driven']
        """
        if self.train.meshes == 1 or place.role == "idle":
            return place.role
        ordinal = ORDINALS[place.mesh]
        return f"idler in the {ordinal} mesh" if place.role == "idler" else f"{ordinal} {place.role}"


@frozen
class Moves:
    """What has to be done to the gears. Made by moves_between().

    `off`: places of the mounted train that are cleared, the front plane first; `on`: places of the wanted train that
    are filled, the plane next to the headstock first; `stay`: places of the wanted train that are left alone;
    `in_the_way`: those of `off` whose gear goes back where it was, since it only stood before another.
    `studs`: shaft of the wanted train -> shaft of the mounted one that it is; a new stud is missing there.
    `studs_out`: shafts of the mounted train that are not needed any more.
    """

    off: tuple[Place, ...]
    on: tuple[Place, ...]
    stay: tuple[Place, ...]
    in_the_way: tuple[Place, ...]
    studs: Mapping[int, int]
    studs_out: tuple[int, ...]

    @property
    def none(self) -> bool:
        """Whether no gear has to be touched."""
        return not self.off and not self.on

    @property
    def from_box(self) -> tuple[Place, ...]:
        """Those of `on` whose gear comes out of the box; the others get one that has just come off."""
        freed, fetched = [cluster_of(piece[0].teeth) for piece in pieces(self.off)], list[Place]()
        for piece in pieces(self.on):
            if (cluster := cluster_of(piece[0].teeth)) in freed:
                freed.remove(cluster)
            else:
                fetched += piece
        return tuple(fetched)


def in_fixed_planes(mounted: Arranged, wanted: Arranged, fixed: Fixed) -> tuple[Arranged, Arranged]:
    """Both with their planes counted alike: a fixed gear can't move along its shaft, so all stand as seen from it.

    >>> now, then = Arranged(Train((40, 30), (80, 60)), (0, 1)), Arranged(Train((40, 30), (80, 60)), (1, 0))
    >>> [each.planes for each in in_fixed_planes(now, then, Fixed(first_driver=40))]
    [(1, 2), (1, 0)]

    Of two fixed gears the first driver is the one to count from; where none is fixed both are as they were.
    """
    at, then = mounted.fixed_plane(fixed), wanted.fixed_plane(fixed)
    if at is None or then is None:
        return mounted, wanted
    return mounted.moved_by(max(then - at, 0)), wanted.moved_by(max(at - then, 0))


def pieces(places: Iterable[Place]) -> tuple[tuple[Place, ...], ...]:
    """Places in the order in which they are cleared or filled, the two of a cluster together.

    >>> from gearcalc.lathes.pieces import piece
    >>> places = Arranged(Train((20, piece(40, mate=50)), (piece(50, mate=40), 60)), (0, 1)).places
    >>> [[place.teeth for place in piece] for piece in pieces(places)]
    [[20], [50, 40], [60]]
    """
    found: list[tuple[Place, ...]] = []
    for place in places:
        last = found[-1] if found else ()
        if len(last) == 1 and last[0].shaft == place.shaft and in_one_piece(last[0].teeth, place.teeth):
            found[-1] = (*last, place)
        else:
            found.append((place,))
    return tuple(found)


def moves_between(mounted: Arranged | None, wanted: Arranged, fixed: Fixed | None = None) -> Moves:
    """Which gears come off and which go on, each in the order in which it is done.

    >>> now, then = Arranged(Train((40, 30), (80, 60)), (0, 1)), Arranged(Train((40, 30), (80, 45)), (0, 1))
    >>> moves = moves_between(now, then)
    >>> [place.teeth for place in moves.off], [place.teeth for place in moves.on]
    ([60], [45])

    `mounted`: None where it is not known what is mounted; then nothing stays but a fixed gear, and `off` is empty.
    `fixed`: the gears of the lathe that are never taken off.
    """
    stays = {0: fixed and fixed.first_driver, wanted.shafts - 1: fixed and fixed.last_driven}
    if mounted is None:
        left = [place for place in wanted.places if not stays.get(place.shaft)]
        there = tuple(place for place in wanted.places if place not in left)
        return Moves((), _back_first(wanted, left), there, (), {}, ())
    studs = _matched(mounted, wanted)
    stay: list[Place] = []
    cleared = set(mounted.places)
    for shaft in range(wanted.shafts):
        stack = wanted.stack(shaft)
        old = mounted.stack(studs[shaft]) if shaft in studs else ()
        same = len(stack) if stays.get(shaft) else _undisturbed(old, stack)
        stay += stack[:same]
        cleared -= set(old[:same])
    back = {(studs[place.shaft], *_what(place)) for place in wanted.places if place.shaft in studs}
    off = _front_first(mounted, cleared)
    return Moves(
        off,
        _back_first(wanted, (place for place in wanted.places if place not in stay)),
        tuple(stay),
        tuple(place for place in off if (place.shaft, *_what(place)) in back),
        studs,
        tuple(shaft for shaft in range(mounted.shafts) if shaft not in studs.values()),
    )


def _front_first(arranged: Arranged, places: Iterable[Place]) -> tuple[Place, ...]:
    """A cluster comes before the gears that are in the plane of its back one, since its front one may cover them."""

    def turn(place: Place) -> tuple[int, bool, int, int]:
        piece = arranged.piece(place)
        return -piece[0].plane, len(piece) == 1, place.shaft, -place.plane

    return tuple(sorted(places, key=turn))


def _back_first(arranged: Arranged, places: Iterable[Place]) -> tuple[Place, ...]:
    """A cluster comes after the gears that are in the plane of its back one, since its front one may cover them."""

    def turn(place: Place) -> tuple[int, bool, int, int]:
        piece = arranged.piece(place)
        return piece[0].plane, len(piece) > 1, place.shaft, place.plane

    return tuple(sorted(places, key=turn))


def _what(place: Place) -> tuple[int, int, str]:
    return place.plane, place.teeth, place.role


def _undisturbed(old: tuple[Place, ...], new: tuple[Place, ...]) -> int:
    """How many gears from the headstock outward are the same on a shaft before and after."""
    same = len(list(takewhile(lambda pair: _what(pair[0]) == _what(pair[1]), zip(old, new, strict=False))))
    torn = any(0 < same < len(stack) and in_one_piece(stack[same - 1].teeth, stack[same].teeth) for stack in (old, new))
    return same - torn


def _matched(mounted: Arranged, wanted: Arranged) -> dict[int, int]:
    """Shaft of the wanted train -> the mounted one that it is: the ends, and studs in their order along the chain."""
    old, new = range(1, mounted.shafts - 1), range(1, wanted.shafts - 1)

    @cache
    def best(i: int, j: int) -> tuple[int, tuple[tuple[int, int], ...]]:
        if i == len(old) or j == len(new):
            return 0, ()
        gain, pairs = best(i + 1, j + 1)
        same = _undisturbed(mounted.stack(old[i]), wanted.stack(new[j]))
        both = gain + 1 + _A_GEAR_STAYS * same, ((new[j], old[i]), *pairs)
        return max(both, best(i + 1, j), best(i, j + 1), key=lambda found: found[0])

    return {0: 0, **dict(best(0, 0)[1]), wanted.shafts - 1: mounted.shafts - 1}


def turns_until_round(train: Train, spindle_ratio: Fraction | int = 1) -> tuple[Fraction, int]:
    """Turns of the spindle until the slowest gear has gone round once, exact, and how many teeth that gear has.

    >>> turns_until_round(Train((40, 30), (80, 60)))
    (Fraction(4, 1), 60)

    `spindle_ratio`: turns of the first driver for one turn of the spindle, more than zero.
    By then every tooth of every gear of the train has been through its mesh.
    """
    turns = as_fraction(spindle_ratio, what="the spindle side's ratio")
    slowest = turns, train.drivers[0]
    for chain in train.chain():
        for teeth, mate in pairwise(chain):
            turns *= Fraction(teeth, mate)
            slowest = min(slowest, (turns, mate), key=lambda gear: gear[0])
    return 1 / slowest[0], slowest[1]


def as_it_stands(lathe: Lathe, train: Train, lever: str | None) -> Setup | Train:
    """Give what is on the lathe: a setup where it is said where the lever stands, else the train alone.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(as_it_stands(demo_lathe("inch"), Train(40, 80), "low"))
    40/80, lever low: lead 32 tpi (0.79375 mm)

    Raises UnknownNameError for a lever that the lathe has not.
    """
    if lever is None:
        return train
    position = lathe.lever(lever)
    return assemble(lathe, train, position, None, fit_if_any(lathe, train, position, None, keep_order=True))
