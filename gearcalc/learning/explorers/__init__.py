"""Explorers: controls and a picture that follows them. Each is a thin shell over a pure view."""

from gearcalc.learning.explorers.bench import bench
from gearcalc.learning.explorers.change_over import change_over
from gearcalc.learning.explorers.dials import catch_the_thread
from gearcalc.learning.explorers.feeds import feed_and_finish, time_to_the_shoulder
from gearcalc.learning.explorers.first_lessons import ask, one_turn, two_pairs
from gearcalc.learning.explorers.fit_bench import fit_bench
from gearcalc.learning.explorers.near_misses import edit_the_set, limit_on_teeth, watch_the_gap
from gearcalc.learning.explorers.own_lathe import gears_worth_adding
from gearcalc.learning.explorers.proofs import prove_the_cut
from gearcalc.learning.explorers.turning import turning_train

__all__ = [
    "ask",
    "bench",
    "catch_the_thread",
    "change_over",
    "edit_the_set",
    "feed_and_finish",
    "fit_bench",
    "gears_worth_adding",
    "limit_on_teeth",
    "one_turn",
    "prove_the_cut",
    "time_to_the_shoulder",
    "turning_train",
    "two_pairs",
    "watch_the_gap",
]
