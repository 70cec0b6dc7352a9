"""The largest number that a function says it takes is taken, and a hair more is refused."""

from __future__ import annotations

from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.cutting.depths import compound_infeed, thread_depth
from gearcalc.cutting.wrong_leads import read_measured
from tests.how_much import in_one

LATHE = gc.demo_lathe("metric")
TAKEN = {
    "the turns of a measured length": (10_000, lambda n: gc.judge_measurement("1.25 mm", n, 12.5, 0.1)),
    "a measured length": (100_000, lambda n: gc.judge_measurement("1.25 mm", 10, n, 0.1)),
    "its limit": (1000, lambda n: gc.turns_to_tell("1.25 mm", "20 tpi", n)),
    "a depth": (1000, lambda n: compound_infeed(n, 29.5)),
    "a setting of the top slide": (60, lambda n: compound_infeed(1, n)),
    "a setting that is too steep": (60, lambda n: thread_depth("M10").step_mm(n)),
    "a pitch diameter": (10_000, lambda n: gc.helix_angle("1.5 mm", n)),
    "a clearance": (20, lambda n: gc.helix_angle("M10", clearance_deg=n)),
    "a nose": (1000, lambda n: gc.finish(0.1, n)),
    "an Ra": (10_000, lambda n: gc.feed_for_finish(1000, ra_um=n)),
    "an Rt": (10_000, lambda n: gc.feed_for_finish(1000, rt_um=n)),
    "a speed": (10_000, lambda n: gc.time_to_shoulder("M10", n, 4)),
    "room": (10_000, lambda n: gc.time_to_shoulder("M10", 60, n)),
    "a time to react": (3600, lambda n: gc.speed_for_shoulder("M10", 4, n)),
    "a measured lead": (1000, lambda n: read_measured(n, 0)),
    "how far off a feed is": (50, lambda n: gc.change_to_feed(LATHE, "40/80", "0.25 mm/rev", n)),
}


@in_one("what", TAKEN)
def test_so_much_is_taken_and_no_more(what):
    most, take = TAKEN[what]
    take(most)
    with pytest.raises(ValueOutOfRangeError):
        take(most + Fraction(1, 10**6))


@in_one("threads", [10**6, -(10**6)])
def test_a_million_leadscrew_threads_either_way(threads):
    rule = gc.dial(LATHE, "1.25 mm")  # 5 threads of 3 mm are 12 leads
    assert rule.catches(threads)
    assert rule.out_mm(threads) == 0
    with pytest.raises(ValueOutOfRangeError):
        rule.catches(threads + (1 if threads > 0 else -1))
