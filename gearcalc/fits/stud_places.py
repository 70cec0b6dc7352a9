"""Where the studs of a bracket can stand, remembered: thousands of trains come to the same few distances.

Whether and where axes can stand depends on how far each must be from the next, and on nothing else of a train. So the
places are kept as a tree that grows from the pivot outward, a step for each distance. Most trains that don't go on
leave it at the first step or the second.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import lru_cache

from gearcalc.fits.geometry import Layout, Stance, Studs, closings, outward, reach_of

_MARGIN = 1e-6  # mm; far more than what roundings add up to


class StudPlaces:
    """Every place of the studs, from the pivot outward, each so far from the one before.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> layout = layout_of(demo_lathe("inch"))
    >>> one_stud = at_the_pivot(layout).with_stud(layout.apart(30, 60))
    >>> [round(stance.swing_deg, 1) for stance in one_stud.stances(layout.apart(40, 80))]
    [-19.4]
    """

    __slots__ = ("_closes", "_layout", "_places", "_reach", "_stances", "_with_stud")

    def __init__(self, layout: Layout, places: tuple[Studs, ...]) -> None:
        self._layout, self._places = layout, places
        self._with_stud: dict[float, StudPlaces | None] = {}
        self._stances: dict[float, tuple[Stance, ...]] = {}
        self._closes: dict[float, bool] = {}
        self._reach: list[tuple[float, float]] | None = None

    def with_stud(self, apart: float) -> StudPlaces | None:
        """The same with one stud more, so many mm from the outermost; None when it can stand nowhere."""
        try:
            return self._with_stud[apart]
        except KeyError:
            places = tuple(outward(self._layout, self._places, apart, beyond=False))
            found = self._with_stud[apart] = StudPlaces(self._layout, places) if places else None
            return found

    @property
    def reach(self) -> list[tuple[float, float]]:
        """How near the spindle side the outermost stud may come, and how far from it, mm, in each of its places."""
        if self._reach is None:
            near_and_far = [reach_of(self._layout, studs) for studs in self._places]
            self._reach = [(near - _MARGIN, far + _MARGIN) for near, far in near_and_far]
        return self._reach

    def may_close(self, apart: float) -> bool:
        """Whether the spindle side can be so far from the outermost stud; yes also where it can't by a hair."""
        if apart not in self._closes:
            self._closes[apart] = any(near <= apart <= far for near, far in self.reach)
        return self._closes[apart]

    def may_close_with(self, apart: Sequence[float]) -> bool:
        """The same for any of these distances, ascending."""
        return any(bisect_left(apart, near) < bisect_right(apart, far) for near, far in self.reach)

    def stances(self, apart: float) -> tuple[Stance, ...]:
        """Every way to stand with the spindle side so far from the outermost stud; what may foul is not looked at."""
        try:
            return self._stances[apart]
        except KeyError:
            ways = (way for studs in self._places for way in closings(self._layout, studs, apart, beyond=False))
            found = tuple([Stance.at(self._layout, way.studs.at, way.swing) for way in ways if way.swing is not None])
            self._stances[apart] = found
            return found


@lru_cache(maxsize=32)
def at_the_pivot(layout: Layout) -> StudPlaces:
    """No stud yet: where every train's last driven gear is."""
    return StudPlaces(layout, (Studs(),))
