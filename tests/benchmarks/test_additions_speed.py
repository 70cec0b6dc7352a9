"""Gears worth adding against the obvious way, in one run: try every purchase, smallest first."""

from __future__ import annotations

from time import process_time

import gearcalc as gc
from tests.benchmarks.purchases import by_trying

CANDIDATES = range(40, 128)
THREADS = ("1 mm", "module 1")


def test_faster_than_trying_every_purchase():
    lathe = gc.demo_lathe("inch")
    gc.gears_to_add(lathe, ["M6"], 100, most=1, candidates=(63, 127), meshes=2)  # all that is needed is loaded by then
    start = process_time()
    found = gc.gears_to_add(lathe, THREADS, 10, candidates=CANDIDATES)
    planned = process_time() - start
    start = process_time()
    fewest = by_trying(lathe, THREADS, 10, CANDIDATES)
    tried = process_time() - start
    print(f"\n{fewest} gears: trying every purchase takes {tried / planned:.1f} × as long ({tried:.2f} s)")
    assert len(found.gears) == fewest >= 2
    assert found.proven
    assert tried > 2 * planned
