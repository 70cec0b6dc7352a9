"""Gears worth adding against the obvious way, in one run: try every purchase, smallest first."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations_with_replacement
from time import process_time

import gearcalc as gc
from gearcalc.finding.rankings import Query, ranked
from gearcalc.threads.wanted import as_wanted

CANDIDATES = range(40, 128)
THREADS = ("1 mm", "module 1")


def by_trying(lathe: gc.Lathe, ppm: int) -> int:
    within = Fraction(ppm, 10**6)
    for size in range(4):
        for bought in combinations_with_replacement(CANDIDATES, size):
            richer = lathe.with_gears(add=bought)
            queries = (Query(richer, as_wanted(text), (1, 2), within) for text in THREADS)
            if all(next(ranked(query), None) is not None for query in queries):
                return size
    raise AssertionError("three are enough here")


def test_faster_than_trying_every_purchase():
    lathe = gc.demo_lathe("inch")
    start = process_time()
    found = gc.gears_to_add(lathe, THREADS, 10, candidates=CANDIDATES)
    planned = process_time() - start
    start = process_time()
    fewest = by_trying(lathe, 10)
    tried = process_time() - start
    print(f"\n{fewest} gears: trying every purchase takes {tried / planned:.1f} × as long ({tried:.2f} s)")
    assert len(found.gears) == fewest >= 2
    assert found.proven
    assert tried > 2 * planned
