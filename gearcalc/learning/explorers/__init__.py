"""Explorers: controls and a picture that follows them, and the view of each, which stands still.

All of them are taken from here, and nothing of this needs widgets until an explorer is made.
"""

from gearcalc.learning.explorers.bench import bench, bench_view
from gearcalc.learning.explorers.catch_and_prove import (
    catch_the_thread,
    catch_view,
    detective_view,
    measurement_view,
    prove_the_cut,
)
from gearcalc.learning.explorers.change_over import change_over, change_view
from gearcalc.learning.explorers.feeds import feed_and_finish, feed_view, shoulder_view, time_to_the_shoulder
from gearcalc.learning.explorers.first_lessons import (
    ask,
    ask_view,
    cut_view,
    one_turn,
    one_turn_view,
    two_pairs,
    two_pairs_view,
)
from gearcalc.learning.explorers.fit_bench import fit_bench, fit_bench_view
from gearcalc.learning.explorers.near_misses import (
    edit_the_set,
    gap_view,
    limit_on_teeth,
    limit_view,
    set_view,
    watch_the_gap,
)
from gearcalc.learning.explorers.own_lathe import adding_view, gears_worth_adding
from gearcalc.learning.explorers.turning import turning_train, turning_view

__all__ = [
    "adding_view",
    "ask",
    "ask_view",
    "bench",
    "bench_view",
    "catch_the_thread",
    "catch_view",
    "change_over",
    "change_view",
    "cut_view",
    "detective_view",
    "edit_the_set",
    "feed_and_finish",
    "feed_view",
    "fit_bench",
    "fit_bench_view",
    "gap_view",
    "gears_worth_adding",
    "limit_on_teeth",
    "limit_view",
    "measurement_view",
    "one_turn",
    "one_turn_view",
    "prove_the_cut",
    "set_view",
    "shoulder_view",
    "time_to_the_shoulder",
    "turning_train",
    "turning_view",
    "two_pairs",
    "two_pairs_view",
    "watch_the_gap",
]
