"""Gears worth adding: gears_to_add against trying every purchase, against an integer program, and against greed.

Invented lathe: 20 gears by fives, 8 tpi leadscrew, no bracket; trains of 1 or 2 meshes, each thread within so many ppm.
Rivals:

- every purchase, the smallest first, by find_setups' own search (where a purchase of two or three will do);
- set cover, as an integer program solved by HiGHS (scipy.optimize.milp), from a list of what every train within the
  tolerance wants bought: a whole number b for the first, second ... gear bought of a tooth count, and w for each thread
  and way to do it; w ≤ b of each gear that the way wants, the w of a thread at least 1, and the fewest b looked for;
- greed, from the same list: again and again what serves most threads for a gear bought.

The integer program proves the least; greed has no proof, and by how many gears it is worse is said.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import combinations_with_replacement
from math import comb, inf, prod

import gearcalc as gc
from gearcalc.finding.rankings import Query, ranked
from gearcalc.threads.wanted import as_wanted
from tests.benchmarks.integer_programs import Program
from tests.benchmarks.rivalry import SAME, Limit, Rivalry, Way
from tests.benchmarks.search import a_lathe, gear_set

OWNED = tuple(gear_set(20, "by fives"))
CANDIDATES = range(20, 128)
MOST_BOUGHT = 12
MESHES, MOST = (1, 2), 4  # so many gears at most stand in a train, so no thread wants more bought
METRIC = (1, 0.7, 1.25, 1.75, 0.45, 1.1, 2.3, 0.35, 3.7, 0.5, 0.8, 1.5, 2, 2.5, 3, 0.6, 0.75, 0.9, 1.6, 3.5)
INCH = (19, 27, 23, 17, 29, 21, 31, 37, 33, 39, "13 1/2", 41, 43, "11 1/2", 47, 51, 35, 53, 57, 26)
THREADS = tuple(text for mm, tpi in zip(METRIC, INCH, strict=True) for text in (f"{mm} mm", f"{tpi} tpi"))

Purchase = tuple[int, ...]


def by_trying(lathe: gc.Lathe, threads: Sequence[str], ppm: int, candidates: Iterable[int]) -> int:
    """Rival (a): how many gears it takes, every purchase tried, smallest first."""
    within, pool = Fraction(ppm, 10**6), list(candidates)
    for size in range(4):
        for bought in combinations_with_replacement(pool, size):
            richer = lathe.with_gears(add=bought)
            queries = (Query(richer, as_wanted(text), MESHES, within) for text in threads)
            if all(next(ranked(query), None) is not None for query in queries):
                return size
    raise AssertionError("three are enough here")


def wants(gears: Iterable[int], owned: Counter[int]) -> Purchase:
    """What has to be bought for these gears."""
    return tuple(sorted((Counter(gears) - owned).elements()))


def purchases(threads: Sequence[str], ppm: int, candidates: Sequence[int] = CANDIDATES) -> list[set[Purchase]]:
    """For each thread what every train near enough wants bought, MOST at most, none of which contains another."""
    owned, lathe = Counter(OWNED), a_lathe(OWNED)
    pool, within = sorted({*OWNED, *candidates}), Fraction(ppm, 10**6)
    to_be_had = {*candidates}
    sides = []
    for meshes in MESHES:
        listed = [(prod(side), side, wants(side, owned)) for side in combinations_with_replacement(pool, meshes)]
        sides.append(sorted(each for each in listed if to_be_had.issuperset(each[2]) and len(each[2]) <= MOST))
    found = []
    for text in threads:
        ratio = Fraction(gc.Thread.parse(text).lead) / lathe.leadscrew_lead_mm  # type: ignore[arg-type]
        low, high = ratio * (1 - within), ratio * (1 + within)
        here = {wants((teeth, teeth), owned) for teeth in pool if low <= 1 <= high}
        for listed in sides:
            products = [product for product, _, _ in listed]
            for under, driven, below in listed:
                first = bisect_left(products, float(low) * under * (1 - 1e-12))
                last = bisect_right(products, float(high) * under * (1 + 1e-12))
                for over, drivers, above in listed[first:last]:
                    if set(drivers).isdisjoint(driven) and low <= Fraction(over, under) <= high:
                        here.add(tuple(sorted(above + below)))
        found.append(_none_in_another({bought for bought in here if to_be_had.issuperset(bought)}))
    return found


def _none_in_another(those: set[Purchase]) -> set[Purchase]:
    kept: list[Counter[int]] = []
    for each in sorted(those, key=len):
        if not any(small <= Counter(each) for small in kept):
            kept.append(Counter(each))
    return {tuple(sorted(each.elements())) for each in kept}


def by_program(open_to: Sequence[set[Purchase]]) -> int:
    """Rival (b): the fewest gears by set cover."""
    program = Program()
    bought: dict[tuple[int, int], int] = {}
    for ways_to_do_it in open_to:
        if () in ways_to_do_it:
            continue
        chosen = {}
        for each in ways_to_do_it:
            chosen[program.whole(0, 1)] = each
        for w, each in chosen.items():
            for teeth, times in Counter(each).items():
                for copy in range(times):
                    if (teeth, copy) not in bought:
                        bought[teeth, copy] = program.whole(0, 1, costs=1)
                    program.holds({w: 1, bought[teeth, copy]: -1}, -1, 0)
        program.holds(dict.fromkeys(chosen, 1), 1)
    if not bought:
        return 0
    for (teeth, copy), b in bought.items():
        if copy:
            program.holds({bought[teeth, copy - 1]: 1, b: -1}, 0, 1)
    found = program.least()
    return sum(round(found[b]) for b in bought.values())


def by_greed(open_to: Sequence[set[Purchase]]) -> int:
    """Rival (c): again and again what serves most more threads for a gear bought."""
    have, waiting = Counter[int](), list(open_to)
    assert all(waiting)
    while True:
        waiting = [each for each in waiting if not any(Counter(bought) <= have for bought in each)]
        if not waiting:
            return have.total()
        serves: defaultdict[Purchase, int] = defaultdict(int)
        for each in waiting:
            for more in {tuple(sorted((Counter(bought) - have).elements())) for bought in each}:
                serves[more] += 1
        best = max(serves, key=lambda more: (serves[more] / len(more), more))
        have += Counter(best)


def as_few(theirs: int, ours: gc.GearsToAdd) -> str:
    """A proof of the least; ours says of itself whether it has one."""
    assert ours.lower_bound <= theirs <= len(ours.gears)
    assert theirs == len(ours.gears) or not ours.proven
    return f"{SAME} least, {theirs}" if theirs == len(ours.gears) else f"least is {theirs}, ours {len(ours.gears)}"


def greedy(theirs: int, ours: gc.GearsToAdd) -> str:
    """By how many gears greed is worse."""
    worse = theirs - len(ours.gears)
    assert worse >= 0 or not ours.proven
    return f"{SAME}, {theirs}, no proof" if worse == 0 else f"{theirs} gears, not {len(ours.gears)}"


def ways(count: int, ppm: int) -> list[Way]:
    lathe, threads = a_lathe(OWNED), THREADS[:count]
    least = by_greed(purchases(threads, ppm))
    tried = count * comb(len(CANDIDATES) + least, least) if least < 4 else inf

    def bought() -> gc.GearsToAdd:
        return gc.gears_to_add(lathe, threads, ppm, MOST_BOUGHT, CANDIDATES, meshes=MESHES, must_fit=False)

    return [
        Way("gears_to_add", bought, steps=count, cold=True, ours=True),
        Way("every purchase tried", lambda: by_trying(lathe, threads, ppm, CANDIDATES), as_few, tried, cold=True),
        Way("integer program: set cover", lambda: by_program(purchases(threads, ppm)), as_few, count),
        Way("greed", lambda: by_greed(purchases(threads, ppm)), greedy, count),
    ]


def limit(count: int, ppm: int) -> Limit:
    """Every product of what is there and what can be had is read once."""
    pool = len({*OWNED, *CANDIDATES})
    sides = sum(comb(pool + meshes - 1, meshes) for meshes in MESHES)
    return Limit(f"{sides:,} products of what is there or can be had, each read once", 8 * sides, sides)


def rivalry(ppm: int) -> Rivalry:
    return Rivalry(
        "purchases",
        f"within {ppm} ppm",
        f"The fewest gears to buy so that so many threads are within {ppm} ppm",
        "threads",
        (2, 4, 6, 9, 12, 16, 20, 30, 40),
        (2, 4),
        lambda count: ways(count, ppm),
        lambda count, _: limit(count, ppm),
    )


RIVALRIES = (rivalry(100), rivalry(10))
