"""The plan of a day's jobs that moves the fewest gears: plan_changeover against brute force and an integer program.

Invented lathe: 8 tpi leadscrew, no lever, no bracket; each job within 200 ppm. A gear is moved
where a place (first driver, first driven ...) holds another than before. Rivals, all with the same cost, each from a
list of every train as it stands that does a job:

- every order of the jobs, and for each the best trains, from job to job;
- every set of jobs done, with every train that may stand last (Held and Karp 1962, from memory), in numpy;
- an integer program, solved by HiGHS (scipy.optimize.milp): of each job, place in the day and train a whole number w,
  1 where that train does that job then; each job once, each place in the day one train. A place of the train holds a
  gear where the w of the trains with it there come to 1; what it holds and did not hold before is moved, and the fewest
  of these are looked for.

All prove the least, so ours must come to it wherever it says that it has proven it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import chain, combinations, pairwise, permutations
from math import comb, factorial, inf, prod

import numpy as np

from gearcalc.planning.changeovers import plan_changeover
from gearcalc.planning.plans import Plan
from gearcalc.threads import Thread
from tests.benchmarks.integer_programs import Program
from tests.benchmarks.rivalry import SAME, Limit, Rivalry, Way
from tests.benchmarks.search import a_lathe

GEARS = (30, 40, 44, 48, 50, 52, 55, 56, 60, 64, 65, 32, 36, 70, 42, 45, 63, 57, 54, 66, 68, 72, 38, 46, 35, 34)
TPI = (16, 13, 20, 11, 12, 10, 14, 9, 18, 26)
WITHIN_PPM = 200
WITHIN = Fraction(WITHIN_PPM, 10**6)

Standing = tuple[int, ...]
"""First driver, first driven, second driver, second driven ...; 0 for none."""


def loose_trains(gears: Sequence[int], thread: Thread, meshes: Sequence[int]) -> Iterator[tuple[Standing, Standing]]:
    """Drivers and driven that cut a thread near enough, in no order: the products listed, and asked by bisection."""
    ratio = Fraction(thread.lead) / a_lathe(gears).leadscrew_lead_mm
    for count in meshes:
        sides = sorted((prod(side), side) for side in combinations(gears, count))
        products = [product for product, _ in sides]
        for under, driven in sides:
            first = bisect_left(products, ratio * (1 - WITHIN) * under)
            for _, drivers in sides[first : bisect_right(products, ratio * (1 + WITHIN) * under)]:
                if set(drivers).isdisjoint(driven):
                    yield drivers, driven


def every_train(gears: Sequence[int], thread: Thread, meshes: Sequence[int]) -> list[Standing]:
    """Every train as it stands that cuts a thread near enough: the gears of each side in every order."""
    return [
        (*chain.from_iterable(zip(over, under, strict=True)), *(0,) * 2 * (max(meshes) - len(over)))
        for drivers, driven in loose_trains(gears, thread, meshes)
        for over in permutations(drivers)
        for under in permutations(driven)
    ]


def how_many_stand(gears: Sequence[int], thread: Thread, meshes: Sequence[int]) -> int:
    """How many trains that is, without listing them."""
    return sum(factorial(len(drivers)) ** 2 for drivers, _ in loose_trains(gears, thread, meshes))


def between(one: Sequence[Standing], other: Sequence[Standing]) -> np.ndarray:
    """Places that hold another gear, from each train of the one job to each of the other."""
    return (np.array(one)[:, None, :] != np.array(other)[None, :, :]).sum(axis=2, dtype=np.int16)


def by_every_order(jobs: Sequence[Sequence[Standing]]) -> int:
    """Rival (a)."""
    moved = {(a, b): between(jobs[a], jobs[b]) for a, b in permutations(range(len(jobs)), 2)}
    least = 99
    for order in permutations(range(len(jobs))):
        if order[0] < order[-1]:  # the other way round moves as many
            so_far = np.zeros(len(jobs[order[0]]), dtype=np.int16)
            for a, b in pairwise(order):
                so_far = (so_far[:, None] + moved[a, b]).min(axis=0)
            least = min(least, int(so_far.min()))
    return least


def by_every_set(jobs: Sequence[Sequence[Standing]]) -> int:
    """Rival (b)."""
    moved = {(a, b): between(jobs[a], jobs[b]) for a, b in permutations(range(len(jobs)), 2)}
    so_far = {(1 << a, a): np.zeros(len(trains), dtype=np.int16) for a, trains in enumerate(jobs)}
    everything = (1 << len(jobs)) - 1
    for done in range(1, everything):
        for a in (a for a in range(len(jobs)) if done >> a & 1):
            for b in (b for b in range(len(jobs)) if not done >> b & 1):
                more = (so_far[done, a][:, None] + moved[a, b]).min(axis=0)
                key = done | 1 << b, b
                so_far[key] = np.minimum(so_far[key], more) if key in so_far else more
    return min(int(so_far[everything, a].min()) for a in range(len(jobs)))


def by_program(jobs: Sequence[Sequence[Standing]]) -> int:
    """Rival (c)."""
    program = Program()
    days = range(len(jobs))
    chosen = {(day, job, n): program.whole(0, 1) for day in days for job in days for n in range(len(jobs[job]))}
    for one in days:
        program.holds({w: 1 for (day, _, _), w in chosen.items() if day == one}, 1, 1)
        program.holds({w: 1 for (_, job, _), w in chosen.items() if job == one}, 1, 1)
    holding: defaultdict[tuple[int, int, int], dict[int, float]] = defaultdict(dict)
    for (day, job, n), w in chosen.items():
        for place, gear in enumerate(jobs[job][n]):
            holding[day, place, gear][w] = 1
    places = {(place, gear) for _, place, gear in holding}
    for before, day in pairwise(days):
        for place, gear in places:
            moved = program.number(0, 1, costs=1)
            there = dict.fromkeys(holding[before, place, gear], -1.0)
            program.holds({moved: -1, **holding[day, place, gear], **there}, -inf, 0)
    found = program.least()
    costs = sum(found[at] for at in range(len(chosen), len(found)))
    return round(costs)


def proven(theirs: int, ours: Plan) -> str:
    """Both prove the same least; where ours doesn't prove it, how far off it is is said."""
    assert ours.lower_bound <= theirs <= ours.moved
    if ours.proven:
        return f"{SAME} least, {theirs} gears"
    return (
        f"least is {theirs}; ours moves {ours.moved}, not proven" if theirs < ours.moved else "same, by us not proven"
    )


def ways(job_count: int, gear_count: int, meshes: Sequence[int]) -> list[Way]:
    gears, wanted = GEARS[:gear_count], [Thread.parse(f"{tpi} tpi") for tpi in TPI[:job_count]]
    lathe, many = a_lathe(gears), [how_many_stand(gears, thread, meshes) for thread in wanted]
    pairs = sum(one * other for one, other in permutations(many, 2))
    listing, in_all = sum(comb(gear_count, each) for each in meshes) + 10 * sum(many), sum(many)
    orders, sets = factorial(job_count) / 2 * pairs / job_count, 2.0**job_count / 4 * pairs

    def then(least: Callable[[Sequence[Sequence[Standing]]], int]) -> Callable[[], int]:
        return lambda: least([every_train(gears, thread, meshes) for thread in wanted])

    return [
        Way("plan_changeover", lambda: plan_changeover(lathe, wanted, WITHIN_PPM, meshes=meshes), cold=True, ours=True),
        Way("every order, every train", then(by_every_order), proven, listing + orders, 10.0 * pairs),
        Way("every set of jobs, every train", then(by_every_set), proven, listing + sets, 10.0 * pairs),
        Way("integer program", then(by_program), proven, in_all, 2000.0 * job_count * in_all),
    ]


def limit(job_count: int, gear_count: int, meshes: Sequence[int]) -> Limit:
    """Every train that does a job is read once, in no order, a byte for each place."""
    wanted = [Thread.parse(f"{tpi} tpi") for tpi in TPI[:job_count]]
    trains = sum(1 for thread in wanted for _ in loose_trains(GEARS[:gear_count], thread, meshes))
    said = f"{trains:,} trains do the jobs, in no order; each read once, a byte for each of {2 * max(meshes)} places"
    return Limit(said, 2 * max(meshes) * trains, trains)


RIVALRIES = (
    Rivalry(
        "plan",
        "12 gears, up to 4 in the train",
        "The plan of so many jobs that moves the fewest of 12 gears, up to 4 in the train",
        "jobs",
        (3, 4, 5, 6, 7, 8, 9, 10),
        (3,),
        lambda size: ways(size, 12, (1, 2)),
        lambda size, _: limit(size, 12, (1, 2)),
    ),
    Rivalry(
        "plan",
        "4 jobs, up to 6 gears in the train",
        "The plan of 4 jobs that moves the fewest of so many gears, up to 6 in the train",
        "gears",
        (8, 10, 12, 14, 17, 21, 26),
        (8,),
        lambda size: ways(4, size, (1, 2, 3)),
        lambda size, _: limit(4, size, (1, 2, 3)),
    ),
)
