"""How near the parts of a train come to one another: gears, shafts and studs, the cover.

Shafts and studs pass through all planes. So every gear has to clear all of them but its own, the gears of its own plane
that it doesn't mesh with, and the cover.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import combinations, pairwise, product
from math import dist, inf
from operator import sub
from typing import NamedTuple, TypeAlias

from gearcalc.fits.arrangements import Chain, apart_along, idle_gears, plane_choices
from gearcalc.fits.geometry import ROUNDING, Layout, Point, Stance, depth_inside, not_neighbours
from gearcalc.lathes.pieces import cluster_of, mate_of, other_half
from gearcalc.lathes.trains import Gear, Gears, gears_of, shaft_names

Part: TypeAlias = Gear | int | None


class Gap(NamedTuple):
    """Two parts and the room between them, mm, below zero when they overlap.

    `one`, `other`: a Gear, an axis (its shaft or stud), or None for the cover.
    """

    one: Part
    other: Part
    mm: float


def idle_name(gear: int) -> str:
    """What an idle gear is called.

    >>> from gearcalc.lathes.pieces import piece
    >>> idle_name(piece(50, mate=40))
    'idle 50 of the cluster 40–50'
    """
    one, other = cluster_of(gear)
    return f"idle {gear} of the cluster {one}–{other}"


def part_name(part: Part, axes: int, last_shaft: str = "leadscrew") -> str:
    """A part by what it does, on a chain of so many axes.

    >>> part_name(Gear(1, 1, 30, "driver"), 3), part_name(2, 3), part_name(2, 4)
    ('30 on the stud', 'leadscrew shaft', 'second stud')
    """
    if part is None:
        return "cover"
    if isinstance(part, int):
        if part == 0:
            return "spindle-side shaft"
        return _place(part, axes, last_shaft) if part < axes - 1 else f"{last_shaft} shaft"
    if part.role == "idle":
        return idle_name(part.teeth)
    if part.idler:
        where = "" if axes == 3 else f" on the {_place(part.axis, axes, last_shaft)}"
        return f"idler {part.teeth}{where}"
    return f"{part.teeth} on the {_place(part.axis, axes, last_shaft)}"


def _place(axis: int, axes: int, last_shaft: str) -> str:
    return shaft_names(axes, last=last_shaft)[axis]


def _mate(one: Gear, other: Gear) -> bool:
    return one.mesh == other.mesh and abs(one.axis - other.axis) == 1


def _radii(layout: Layout, axes: int) -> list[float]:
    """The radius of the shaft or stud on each axis."""
    shaft, stud = layout.bracket.shaft_radius_mm, layout.bracket.stud_radius_mm
    return [shaft, *[stud] * (axes - 2), shaft]


def every_gap(layout: Layout, chain: Chain, axes: Sequence[Point], planes: Sequence[int]) -> Iterator[Gap]:
    """Every gap that must not close, wherever the axes stand."""
    gears, bars = [*gears_of(chain), *idle_gears(chain)], _radii(layout, len(axes))
    radius = {gear.teeth: layout.outside_radius(gear.teeth) for gear in gears}
    for i, j in combinations(range(len(axes)), 2):
        if not (i == 0 and j == len(axes) - 1):  # the two shafts are the lathe's own affair
            yield Gap(i, j, dist(axes[i], axes[j]) - bars[i] - bars[j])
    for gear in gears:
        for axis, bar in enumerate(bars):
            if axis != gear.axis:
                gap = dist(axes[gear.axis], axes[axis]) - radius[gear.teeth] - bar
                yield Gap(gear, axis, gap)
        if layout.bracket.cover_mm is not None:
            yield Gap(gear, None, depth_inside(layout.bracket.cover_mm, axes[gear.axis]) - radius[gear.teeth])
    for one, other in combinations(gears, 2):
        if planes[one.mesh] == planes[other.mesh] and one.axis != other.axis and not _mate(one, other):
            gap = dist(axes[one.axis], axes[other.axis]) - radius[one.teeth] - radius[other.teeth]
            yield Gap(one, other, gap)


def neighbours_clear(layout: Layout, chain: Chain, apart: Sequence[float]) -> bool:
    """Whether every gear clears the shafts and studs of its axis's neighbours, which the teeth alone decide.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> layout, chain = layout_of(demo_lathe("inch")), ((20, 25), (60, 50))
    >>> neighbours_clear(layout, chain, apart_along(layout, chain))      # 45 teeth reach a shaft that the 60 covers
    False
    """
    radii, last = [max(radius for _, radius in gears) for gears in _on_axes(layout, chain)], len(apart)
    stud, shaft = layout.past_stud, layout.past_shaft
    for i, mm in enumerate(apart):
        if mm - radii[i] < (shaft if i + 1 == last else stud) or mm - radii[i + 1] < (stud if i else shaft):
            return False
    return True


def _on_axes(layout: Layout, chain: Chain) -> list[list[tuple[int, float]]]:
    """Mesh and outside radius of the gears on each axis."""
    found: list[list[tuple[int, float]]] = [[]]
    for mesh, gears in enumerate(chain):
        for place, gear in enumerate(gears):
            if place:
                found.append([])
            found[-1].append((mesh, layout.outside_radius(gear)))
    for idle in idle_gears(chain):
        found[idle.axis].append((idle.mesh, layout.outside_radius(idle.teeth)))
    return found


def snugness(layout: Layout, chain: Chain) -> float:
    """The smallest gap, mm, between a gear on a stud and the shaft of a neighbour that it doesn't mesh with.

    Gaps between a gear and its own mate's shaft are not counted: they are the same in every arrangement.
    """
    return min([room_beside(layout, chain[mesh:], first=not mesh) for mesh in range(len(chain))])


def room_beside(layout: Layout, chain: Chain, *, first: bool) -> float:
    """The same for the first of these meshes alone: for idle gears in it, and the two gears on the stud where it ends.

    `first`: that mesh is also the first of the whole train.
    """
    gears, room = chain[0], inf
    shaft, stud = layout.bracket.shaft_radius_mm, layout.bracket.stud_radius_mm
    if len(chain) > 1:
        following = chain[1]
        before = shaft if first and len(gears) == 2 else stud
        after = shaft if len(chain) == 2 and len(following) == 2 else stud
        inward = layout.apart(gears[-2], gears[-1]) - layout.outside_radius(following[0]) - before
        outward = layout.apart(following[0], following[1]) - layout.outside_radius(gears[-1]) - after
        room = min(inward, outward)
    for place, gear in enumerate(gears[1:-1], 1):
        if mate_of(gear) is not None:
            radius = layout.outside_radius(other_half(gear))
            before = shaft if first and place == 1 else stud
            after = shaft if len(chain) == 1 and place == len(gears) - 2 else stud
            inward = layout.apart(gears[place - 1], gear) - radius - before
            outward = layout.apart(gear, gears[place + 1]) - radius - after
            room = min(room, inward, outward)
    return room


class Loaded:
    """A chain that clears its neighbours, weighed up for all its stances; says what every_gap says, faster.

    How far apart two axes must be is the same in all of them. `snug`: the chain's snugness.
    """

    def __init__(self, layout: Layout, chain: Chain, snug: float) -> None:
        self.cover, self.snug = layout.bracket.cover_mm, snug
        self.least = layout.bracket.running_clearance_mm - ROUNDING
        self._layout, self._chain = layout, chain
        on_axis = self._on_axis = _on_axes(layout, chain)
        axes, bars = len(on_axis), _radii(layout, len(on_axis))
        self.reach = [max([radius for _, radius in gears]) for gears in on_axis]
        self.needs: list[float] = []  # as Stance.apart lists the pairs of axes
        for i, j in not_neighbours(axes):
            mesh, radius = on_axis[j][0]
            same = [another + radius for other, another in on_axis[i] if other == mesh]
            self.needs.append(max([self.reach[i] + bars[j], bars[i] + self.reach[j], *same]))

    @cached_property
    def _sharing(self) -> dict[tuple[int, int], list[tuple[int, float]]]:
        """What two meshes need that lie in one plane: how far apart which axes must be, as in `apart`."""
        found: dict[tuple[int, int], list[tuple[int, float]]] = defaultdict(list)
        axes = len(self._on_axis)
        for n, (i, j) in enumerate((*not_neighbours(axes), *pairwise(range(axes)))):
            for (mesh, radius), (other, another) in product(self._on_axis[i], self._on_axis[j]):
                if mesh != other:
                    found[mesh, other].append((n, radius + another))
        return found

    def comfort(self, stance: Stance) -> tuple[Gears, float] | None:
        """The fewest planes that will do in this stance and the smallest gap; None when something fouls."""
        smallest = min([self.snug, *map(sub, stance.apart, self.needs)])
        if smallest >= self.least and self.cover is not None:
            inside = (depth_inside(self.cover, axis) for axis in stance.axes)
            smallest = min(smallest, *map(sub, inside, self.reach))
        if smallest < self.least:
            return None
        apart = stance.apart + apart_along(self._layout, self._chain)
        for planes in plane_choices(self._chain):
            together = [needs for (mesh, other), needs in self._sharing.items() if planes[mesh] == planes[other]]
            room = min([smallest, *[apart[n] - need for needs in together for n, need in needs]])
            if room >= self.least:
                return planes, room
        return None
