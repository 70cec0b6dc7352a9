"""Explorers: controls and a picture that follows them, and the view of each, which stands still.

All of them are taken from here, and nothing of this needs widgets until an explorer is made.
"""

from gearcalc.learning.explorers.bench import bench as bench
from gearcalc.learning.explorers.bench import bench_view as bench_view
from gearcalc.learning.explorers.catch_and_prove import catch_the_thread as catch_the_thread
from gearcalc.learning.explorers.catch_and_prove import catch_view as catch_view
from gearcalc.learning.explorers.catch_and_prove import detective_view as detective_view
from gearcalc.learning.explorers.catch_and_prove import measurement_view as measurement_view
from gearcalc.learning.explorers.catch_and_prove import proof_view as proof_view
from gearcalc.learning.explorers.catch_and_prove import prove_the_cut as prove_the_cut
from gearcalc.learning.explorers.change_over import change_over as change_over
from gearcalc.learning.explorers.change_over import change_view as change_view
from gearcalc.learning.explorers.feeds import feed_and_finish as feed_and_finish
from gearcalc.learning.explorers.feeds import feed_view as feed_view
from gearcalc.learning.explorers.feeds import shoulder_view as shoulder_view
from gearcalc.learning.explorers.feeds import time_to_the_shoulder as time_to_the_shoulder
from gearcalc.learning.explorers.first_lessons import ask as ask
from gearcalc.learning.explorers.first_lessons import ask_view as ask_view
from gearcalc.learning.explorers.first_lessons import cut_view as cut_view
from gearcalc.learning.explorers.first_lessons import one_turn as one_turn
from gearcalc.learning.explorers.first_lessons import one_turn_view as one_turn_view
from gearcalc.learning.explorers.first_lessons import two_pairs as two_pairs
from gearcalc.learning.explorers.first_lessons import two_pairs_view as two_pairs_view
from gearcalc.learning.explorers.fit_bench import fit_bench as fit_bench
from gearcalc.learning.explorers.fit_bench import fit_bench_view as fit_bench_view
from gearcalc.learning.explorers.near_misses import edit_the_set as edit_the_set
from gearcalc.learning.explorers.near_misses import gap_view as gap_view
from gearcalc.learning.explorers.near_misses import limit_on_teeth as limit_on_teeth
from gearcalc.learning.explorers.near_misses import limit_view as limit_view
from gearcalc.learning.explorers.near_misses import set_view as set_view
from gearcalc.learning.explorers.near_misses import watch_the_gap as watch_the_gap
from gearcalc.learning.explorers.own_lathe import adding_view as adding_view
from gearcalc.learning.explorers.own_lathe import gears_worth_adding as gears_worth_adding
from gearcalc.learning.explorers.turning import turning_train as turning_train
from gearcalc.learning.explorers.turning import turning_view as turning_view
