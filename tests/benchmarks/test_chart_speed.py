"""How long a chart takes, as ratios within one run: to the searches it rests on."""

from __future__ import annotations

from attrs import evolve

from gearcalc.basics.exact import INCH_MM
from gearcalc.finding.search import find_setups
from gearcalc.lathes import Leadscrew, SpindleSide, demo_lathe
from gearcalc.planning.charts import chart_rows
from gearcalc.threads import Thread
from gearcalc.threads.series import thread_series
from tests.benchmarks.rivalry import timed


def test_a_chart_takes_little_more_than_finding_its_setups():
    lathe = demo_lathe("inch")
    threads = [*thread_series("metric coarse"), *thread_series("UNC")][:60]
    chart_rows(lathe, threads[:2])
    leads = {thread.lead: thread for thread in threads}
    searches = timed(lambda: [find_setups(lathe, thread, count=24) for thread in leads.values()])
    charted = timed(lambda: chart_rows(lathe, threads))
    assert charted < 3 * searches  # measured: 0.9


def test_a_chart_of_trains_with_idlers_is_no_slower_than_six_searches():
    lathe = evolve(
        demo_lathe("inch"), leadscrew=Leadscrew(INCH_MM / 8, "left"), spindle_side=SpindleSide(reverse=False)
    )
    threads = [Thread.parse(f"{tpi} tpi") for tpi in range(4, 34)]
    searches = timed(lambda: [find_setups(lathe, thread, count=24) for thread in threads])
    charted = timed(lambda: chart_rows(lathe, threads))
    assert charted < 6 * searches  # measured: 1.4 alone, up to 3.9 after other tests
