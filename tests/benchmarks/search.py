"""The search for setups: find_setups against every combination, a table of ratios in numpy, and integer programming.

Each search is for the best 20 setups of three threads: metric on an inch leadscrew, inch, and a module worm with π
in it; no lever, no bracket. Shown is the time for all three. The rivals:

- every choice of drivers against every choice of driven gears, in plain Python;
- the same as a full table of ratios in numpy, made and searched, and with the table already there;
- an integer program, solved by HiGHS (scipy.optimize.milp). What multiplies in a train adds in logarithms: of each
  tooth count z there are whole numbers d of drivers and v of driven gears, d + v no more than are owned, as many
  drivers as driven in all, 1 to the most meshes; the least t is looked for with |Σ (d − v) ln z − ln target| ≤ t.
  That states the single best train, not the best twenty, and floats state it: what lies nearer together than the
  solver's tolerance (a whole number may be off by 10^-6, that is some ppm) it can't tell apart. So its train is
  worked out exactly and held against our best. Idlers, bracket and the order of equals it does not state.

The combinations and the table must have the same twenty smallest errors as find_setups, exactly.
The search alone is the twenty nearest trains from the listed products, before setups are made and ties ranked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from itertools import combinations, islice
from math import comb, inf, log, prod

import numpy as np

from gearcalc.basics.exact import RelativeError
from gearcalc.finding.products import Candidate, Products, closest
from gearcalc.finding.rankings import Query, goals_of
from gearcalc.finding.search import find_setups
from gearcalc.lathes import GearSet, Lathe, Leadscrew, Lever
from gearcalc.threads import Thread
from tests.benchmarks.integer_programs import Program
from tests.benchmarks.rivalry import ALLOWED, SAME, Limit, Rivalry, Way, same

COUNT = 20
WANTED = tuple(map(Thread.parse, ("1.75 mm", "13 tpi", "module 1")))

Bits = int
Choice = tuple[int, Bits]  # the product of so many gears, and their tooth counts as bits


def gear_set(size: int, kind: str) -> list[int]:
    """'distinct': 20 teeth and up by ones. 'by fives': 20 to 120 by fives, then over again until there are enough."""
    if kind == "distinct":
        return list(range(20, 20 + size))
    return [20 + 5 * (n % 21) for n in range(size)]


def chart_threads() -> list[Thread]:
    """120 threads: 50 metric, 50 inch, 20 worms."""
    metric = [f"{hundredths / 100} mm" for hundredths in (*range(20, 100, 5), *range(100, 610, 15))]
    inch = [f"{tpi} tpi" for tpi in (*range(4, 49), 56, 64, 72, 80, "11 1/2")]
    worms = [f"module {tenths / 10}" for tenths in range(3, 13)] + [f"DP {dp}" for dp in range(16, 36, 2)]
    return [Thread.parse(text) for text in metric + inch + worms]


def a_lathe(gears: Sequence[int], levers: Sequence[Fraction] = ()) -> Lathe:
    """An invented lathe with an 8 tpi leadscrew."""
    gearbox = tuple(Lever(f"position {n}", ratio) for n, ratio in enumerate(levers))
    return Lathe("Benchmark lathe", Leadscrew(Fraction(127, 40)), GearSet(tuple(gears)), gearbox=gearbox)


def choices(gears: Sequence[int], meshes: int) -> list[Choice]:
    """Every choice of so many gears once, however often a size is owned."""
    bit = {teeth: 1 << place for place, teeth in enumerate(sorted(set(gears)))}
    return [
        (prod(chosen), sum({bit[teeth] for teeth in chosen}))
        for chosen in sorted(set(combinations(sorted(gears), meshes)))
    ]


def pairs(sides: Iterable[list[Choice]]) -> int:
    return sum(len(side) ** 2 for side in sides)


@dataclass
class Nearest:
    """The best so far of what a rival has come across: sure of its twenty smallest once everything was offered."""

    lathe: Lathe
    wanted: Thread
    found: list[tuple[float, int, int]] = field(default_factory=list)
    bound: float = inf

    def __post_init__(self) -> None:
        """Two equal gears are one to one, and sides that share no tooth count never come to that."""
        twice = [teeth for teeth, times in Counter(self.lathe.gears).items() if times > 1]
        self.offer((abs(1 / self.target - 1), teeth, teeth) for teeth in twice)

    @property
    def target(self) -> float:
        return float(goals_of(Query(self.lathe, self.wanted, (1,)))[0].target)

    def offer(self, found: Iterable[tuple[float, int, int]]) -> None:
        self.found += found
        if len(self.found) > 40 * COUNT:
            self.found.sort()
            self.bound = self.found[COUNT - 1][0] * (1 + 1e-9) + 1e-12  # what is as good for all that a float tells
            self.found = [each for each in self.found if each[0] <= self.bound]

    def errors(self) -> list[RelativeError]:
        """The twenty smallest errors, exactly, those of equal trains as often as there are trains."""
        turns = self.lathe.leadscrew_lead_mm * self.lathe.spindle_ratio
        exact = {(over, under): RelativeError(turns * over / under, self.wanted.lead) for _, over, under in self.found}
        return sorted(exact[over, under] for _, over, under in self.found)[:COUNT]


def by_combinations(nearest: Nearest, sides: Iterable[list[Choice]]) -> list[RelativeError]:
    """Rival (a): try everything."""
    target = nearest.target
    for side in sides:
        for over, above in side:
            bound, share = nearest.bound, over / target
            found = []
            for under, below in side:
                error = abs(share / under - 1)
                if error <= bound and not above & below:
                    found.append((error, over, under))
            nearest.offer(found)
    return nearest.errors()


def search_alone(lathe: Lathe, wanted: Thread, gears: Sequence[int], counts: Iterable[int]) -> list[Candidate]:
    """The twenty nearest trains and nothing more: no setups made, no ties ranked. The tables are there already."""
    (goal,) = goals_of(Query(lathe, wanted, tuple(counts)))
    ties = closest([goal.target], [listed(tuple(gears), meshes) for meshes in counts])
    return list(islice((found for tie in ties for found in tie.trains()), COUNT))


@cache
def listed(gears: tuple[int, ...], meshes: int) -> Products:
    return Products.of(gears, meshes)


def ratio_tables(sides: Iterable[list[Choice]]) -> list[np.ndarray]:
    """Every product of drivers over every product of driven gears."""
    tables = []
    for side in sides:
        products = np.array([product for product, _ in side], dtype=float)
        tables.append(np.divide.outer(products, products))
    return tables


def _words(side: list[Choice]) -> Iterator[list[int]]:
    """The gears of each choice as bits, 62 to a word, the words one after the other."""
    for at in range(0, max(bits.bit_length() for _, bits in side), 62):
        yield [bits >> at & (1 << 62) - 1 for _, bits in side]


def by_table(nearest: Nearest, sides: Iterable[list[Choice]], tables: list[np.ndarray]) -> list[RelativeError]:
    """Rival (b): look through the table, a band of rows at a time so that it stays in the cache."""
    target = nearest.target
    for side, table in zip(sides, tables, strict=True):
        bits = np.array(list(_words(side)), dtype=np.int64).T
        rows = max(1, 200_000 // max(len(side), 1))
        for first in range(0, len(side), rows):
            errors = np.abs(table[first : first + rows] / target - 1)
            near = np.flatnonzero(errors <= nearest.bound)
            over, under = np.divmod(near, len(side))
            apart = ((bits[over + first] & bits[under]) == 0).all(axis=1)
            near, over, under = near[apart], over[apart] + first, under[apart]
            if len(near) > COUNT:
                sizes = errors.ravel()[near]
                best = sizes <= np.partition(sizes, COUNT - 1)[COUNT - 1] * (1 + 1e-9) + 1e-12
                near, over, under = near[best], over[best], under[best]
            where = zip(errors.ravel()[near].tolist(), over.tolist(), under.tolist(), strict=True)
            nearest.offer((error, side[o][0], side[u][0]) for error, o, u in where)
    return nearest.errors()


def by_program(lathe: Lathe, wanted: Thread, gears: Sequence[int], meshes: int) -> RelativeError:
    """Rival (c): the error of the train that an integer program finds nearest."""
    (goal,) = goals_of(Query(lathe, wanted, (1,)))
    owned, program = Counter(gears), Program()
    drivers = {teeth: program.whole(0, times) for teeth, times in owned.items()}
    driven = {teeth: program.whole(0, times) for teeth, times in owned.items()}
    over, under = program.whole(1, meshes), program.number(0, inf, costs=1)
    for side in (drivers, driven):
        program.holds({**dict.fromkeys(side.values(), 1), over: -1}, 0, 0)
    for teeth, times in owned.items():
        program.holds({drivers[teeth]: 1, driven[teeth]: 1}, 0, times)
    ratio = {drivers[teeth]: 1e6 * log(teeth) for teeth in owned}  # in ppm, so that the tolerances mean little
    ratio |= {driven[teeth]: -1e6 * log(teeth) for teeth in owned}
    target = 1e6 * log(float(goal.target))
    program.holds({**ratio, under: -1}, -inf, target)
    program.holds({**ratio, under: 1}, target, inf)
    found = program.least(share=1 / len(WANTED))
    sides = [prod(teeth ** round(found[at]) for teeth, at in side.items()) for side in (drivers, driven)]
    return RelativeError(lathe.leadscrew_lead_mm * lathe.spindle_ratio * sides[0] / sides[1], wanted.lead)


def how_near(theirs: list[RelativeError], ours: list[list[RelativeError | None]]) -> str:
    """Whether the one train of each is our best; else by how many ppm the worst of them is further off."""
    bests = [found[0] for found in ours]
    assert all(best is not None and best <= their for best, their in zip(bests, theirs, strict=True))
    worse = max(abs(their.ppm) - abs(best.ppm) for their, best in zip(theirs, bests, strict=True) if best is not None)
    return f"{SAME} best, that one alone" if theirs == bests else f"worse by {worse:.2g} ppm"


def ways(size: int, meshes: int, kind: str) -> list[Way]:
    """Ours and the rivals', for all three threads."""
    gears, counts = gear_set(size, kind), tuple(range(1, meshes + 1))
    lathe, distinct = a_lathe(gears), len(set(gears))
    pairs_at_most = sum(comb(distinct if kind == "distinct" else size, m) ** 2 for m in counts)
    if pairs_at_most * 8 > 50 * ALLOWED.bytes_at_once:  # nothing will be done with them
        sides, todo = [], pairs_at_most
    else:
        sides = [choices(gears, m) for m in counts]
        todo = pairs(sides)
    tables = cache(lambda: ratio_tables(sides))

    def searched() -> list[list[RelativeError | None]]:
        return [[each.error for each in find_setups(lathe, wanted, counts, COUNT)] for wanted in WANTED]

    def alone() -> list[list[Candidate]]:
        return [search_alone(lathe, wanted, gears, counts) for wanted in WANTED]

    def trains_alike(theirs: list[list[Candidate]], ours: list[list[RelativeError | None]]) -> str:
        turns = lathe.leadscrew_lead_mm * lathe.spindle_ratio
        return same(
            [
                [RelativeError(turns * prod(each.drivers) / prod(each.driven), wanted.lead) for each in found]
                for wanted, found in zip(WANTED, theirs, strict=True)
            ],
            ours,
        )

    choices_made = sum(comb(distinct, m) for m in counts)
    return [
        Way("find_setups", searched, steps=choices_made, cold=True, ours=True),
        Way("find_setups, products listed already", searched, steps=choices_made, ready=searched, ours=True),
        Way(
            "search alone, products listed already",
            alone,
            trains_alike,
            choices_made,
            ready=alone,
            against=LISTED,
            ours=True,
        ),
        Way(
            "every combination, plain Python",
            lambda: [by_combinations(Nearest(lathe, wanted), sides) for wanted in WANTED],
            steps=todo,
        ),
        Way(
            "numpy table, made and searched",
            lambda: [
                by_table(Nearest(lathe, wanted), sides, tables) for tables in [ratio_tables(sides)] for wanted in WANTED
            ],
            steps=todo,
            bytes_needed=8 * todo,
        ),
        Way(
            "numpy table, already made",
            lambda: [by_table(Nearest(lathe, wanted), sides, tables()) for wanted in WANTED],
            steps=todo,
            bytes_needed=8 * todo,
            ready=tables,
            against=LISTED,
        ),
        Way(
            "integer program (one train)",
            lambda: [by_program(lathe, wanted, gears, meshes) for wanted in WANTED],
            how_near,
            steps=size,
        ),
    ]


LISTED = "find_setups, products listed already"


def limit(size: int, meshes: int, kind: str) -> Limit:
    """Every product that differs is looked at once: eight bytes each."""
    products = sum(len(Products.of(gear_set(size, kind), m).values) for m in range(1, meshes + 1))
    return Limit(f"{products:,} products that differ, each read once for all three threads", 8 * products, products)


def rivalry(meshes: int, kind: str, sizes: Sequence[int], quick: Sequence[int]) -> Rivalry:
    gears = "gears" if kind == "distinct" else "gears by fives"
    return Rivalry(
        "search",
        f"up to {2 * meshes} gears in the train, {kind}",
        f"The best 20 setups of three threads, up to {2 * meshes} of so many {gears} in the train",
        "gears",
        sizes,
        quick,
        lambda size: ways(size, meshes, kind),
        lambda size, _: limit(size, meshes, kind),
    )


RIVALRIES = (
    rivalry(2, "distinct", (12, 20, 40, 60, 100, 170, 300), (12, 20)),
    rivalry(3, "distinct", (12, 16, 20, 28, 40, 60, 90, 140), (12, 16)),
    rivalry(3, "by fives", (12, 20, 40, 60), (12,)),
)
