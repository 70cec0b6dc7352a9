"""An integer program, put together variable by variable, and solved by HiGHS by way of scipy.optimize.milp.

How long it may take the solver counts by the clock on the wall: on a busy machine it gives up sooner than it need.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from tests.benchmarks.rivalry import ALLOWED, OutOfTimeError, writing_seconds

TIME_IS_UP, SOLVED = 1, 0


class Program:
    """Numbers, whole or not, what must hold of them, and what they cost: the least of that is looked for."""

    def __init__(self) -> None:
        self._kinds: list[tuple[bool, float, float, float]] = []
        self._rows: list[tuple[Mapping[int, float], float, float]] = []

    def whole(self, least: float, most: float, costs: float = 0.0) -> int:
        """A whole number; which one it is, for holds() and for what is found."""
        self._kinds.append((True, least, most, costs))
        return len(self._kinds) - 1

    def number(self, least: float, most: float, costs: float = 0.0) -> int:
        """A number, whole or not."""
        self._kinds.append((False, least, most, costs))
        return len(self._kinds) - 1

    def holds(self, times: Mapping[int, float], least: float, most: float = inf) -> None:
        """So many times each number, in all, lies from `least` to `most`."""
        self._rows.append((times, least, most))

    def least(self, share: float = 1.0) -> list[float]:
        """The numbers that cost the least. Raises OutOfTimeError where that is not proven in its share of the time."""
        time = ALLOWED.seconds * share
        whole, low, high, costs = zip(*self._kinds, strict=True)
        at = [(row, column, many) for row, (times, *_) in enumerate(self._rows) for column, many in times.items()]
        rows, columns, values = zip(*at, strict=True)
        _, least, most = zip(*self._rows, strict=True)
        found = milp(
            np.array(costs),
            integrality=np.array(whole, dtype=int),
            bounds=Bounds(np.array(low), np.array(high)),
            constraints=LinearConstraint(
                csr_array((values, (rows, columns)), shape=(len(self._rows), len(self._kinds))), least, most
            ),
            options={"time_limit": time, "mip_rel_gap": 0},
        )
        if found.status == TIME_IS_UP:
            raise OutOfTimeError(writing_seconds(time))
        assert found.status == SOLVED, found.message
        return [float(each) for each in found.x]
