"""How long the live pictures of near misses take, as a ratio within one run to the same drawn with matplotlib."""

from __future__ import annotations

from statistics import median

import pytest

from tests.benchmarks.pictures import NEAR_MISSES, drawn_with_matplotlib
from tests.benchmarks.rivalry import timed

TIMES = 5


@pytest.mark.parametrize("name", NEAR_MISSES)
def test_a_picture_is_several_times_faster_than_matplotlibs(name):
    ours, theirs = NEAR_MISSES[name]
    taken = [(timed(ours), timed(drawn_with_matplotlib, theirs)) for _ in range(TIMES)][1:]
    mine, matplotlibs = (median(times) for times in zip(*taken, strict=True))
    print(f"\n{1000 * mine:.1f} ms, matplotlib {1000 * matplotlibs:.0f} ms")
    assert mine * 3 < matplotlibs
