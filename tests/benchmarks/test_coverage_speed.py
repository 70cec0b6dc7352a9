"""Coverage against the obvious way, in one run: write out every train, and keep each lead as a fraction."""

from __future__ import annotations

import tracemalloc
from time import process_time

import gearcalc as gc
from tests.benchmarks.coverage import FROM, TO, a_lathe, by_writing_out, figures

GEARS = range(20, 38)


def test_several_times_faster_in_a_fraction_of_the_memory():
    measured, lathe = [], a_lathe(GEARS)
    for way in (lambda: by_writing_out(GEARS), lambda: gc.coverage(lathe, FROM, TO)):
        start = process_time()
        way()
        seconds = process_time() - start
        tracemalloc.start()
        found = way()
        measured.append((seconds, tracemalloc.get_traced_memory()[1], found))
        tracemalloc.stop()
    (slow, much, written_out), (fast, little, covered) = measured
    print(f"\n{covered.inside} leads: written out {slow / fast:.1f} × as long, {much / little:.1f} × the memory")
    assert figures(covered) == written_out
    assert slow > 3 * fast
    assert much > 1.2 * little
