"""How long a chart takes, as ratios within one run: to the searches it rests on, and to the obvious way."""

from __future__ import annotations

import gc
from itertools import pairwise, permutations, product
from statistics import median
from time import process_time

from attrs import evolve

from gearcalc.basics.exact import INCH_MM
from gearcalc.finding.search import find_setups
from gearcalc.lathes import Leadscrew, SpindleSide, demo_lathe
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.planning.charts import chart_rows
from gearcalc.planning.least_moves import in_this_order
from gearcalc.threads import Thread
from gearcalc.threads.series import thread_series


def seconds(work) -> float:
    gc.freeze()  # what other tests have left in memory is no burden of this work
    start = process_time()
    work()
    taken = process_time() - start
    gc.unfreeze()
    return taken


def some_trains(jobs: int, each: int) -> list[list[Train]]:
    """Trains of two meshes, invented by arithmetic, all different."""
    gears = list(range(20, 20 + 5 * 12, 5))
    quads = [(a, b, c, d) for a, b, c, d in permutations(gears, 4) if a < b and c < d]
    step = len(quads) // (jobs * each)
    picked = [Train(quad[:2], quad[2:]) for quad in quads[::step]]
    return [picked[job::jobs][:each] for job in range(jobs)]


def moved(trains) -> int:
    return sum(places_that_differ(one, other) for one, other in pairwise(trains))


def test_a_chart_takes_little_more_than_finding_its_setups():
    lathe = demo_lathe("inch")
    threads = [*thread_series("metric coarse"), *thread_series("UNC")][:60]
    chart_rows(lathe, threads[:2])
    leads = {thread.lead: thread for thread in threads}
    searches = seconds(lambda: [find_setups(lathe, thread, count=24) for thread in leads.values()])
    charted = seconds(lambda: chart_rows(lathe, threads))
    assert charted < 3 * searches  # measured: 0.9


def test_a_chart_of_trains_with_idlers_is_no_slower_than_six_searches():
    lathe = evolve(
        demo_lathe("inch"), leadscrew=Leadscrew(INCH_MM / 8, "left"), spindle_side=SpindleSide(reverse=False)
    )
    threads = [Thread.parse(f"{tpi} tpi") for tpi in range(4, 34)]
    searches = seconds(lambda: [find_setups(lathe, thread, count=24) for thread in threads])
    charted = seconds(lambda: chart_rows(lathe, threads))
    assert charted < 6 * searches  # measured: 1.4 alone, up to 3.9 after other tests


def test_a_choice_in_order_is_found_far_faster_than_by_trying_all():
    lists = some_trains(5, 8)
    found = median(seconds(lambda: in_this_order(lists)) for _ in range(5))
    tried = seconds(lambda: min(moved(choice) for choice in product(*lists)))
    assert 100 * found < tried  # measured: 1800
