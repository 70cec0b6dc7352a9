"""How long find_setups takes against two plain ways of doing the same, all in one run. Prints one table.

    python tests/benchmarks/search_benchmark.py            # everything, some minutes
    python tests/benchmarks/search_benchmark.py 12 20      # only sets of 12 and of 20 gears

Each search is for the best 20 setups of three threads: metric on an inch leadscrew, inch, and a module worm with π
in it. Up to 4 or 6 gears in the train, no lever. Shown is the slowest of the three, and of the ratios the smallest.
The rivals: every choice of drivers against every choice of driven gears in plain Python; and the same as a full
table of ratios in numpy, with the making of the table counted, and with the table already there. A rival runs where
it needs less than 1 GB and a minute (as its own speed on fewer gears foretells); elsewhere the cell says 'not run'.
The search alone is the twenty nearest trains from the listed products, before setups are made and ties ranked.
Times are processor time, since the machine may be busy with other work; nothing here uses more than one core.
Wherever a rival runs, its twenty smallest exact errors must be those of find_setups; otherwise the run stops.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from itertools import combinations, islice
from math import inf, prod
from time import process_time

import numpy as np

from gearcalc.basics.exact import RelativeError
from gearcalc.finding.products import Candidate, Products, closest
from gearcalc.finding.rankings import Query, goals_of
from gearcalc.finding.search import find_setups
from gearcalc.lathes import GearSet, Lathe, Leadscrew, Lever
from gearcalc.threads import Thread

SIZES = (12, 20, 40, 60)
MESHES = (2, 3)
COUNT = 20
WANTED = tuple(map(Thread.parse, ("1.75 mm", "13 tpi", "module 1")))
MOST_BYTES, MOST_SECONDS = 1e9, 60
NOT_RUN = "not run"

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


def seconds(work: Callable[[], object], *, at_most: float) -> float:
    """The shortest of several runs that together take about so long; of one run, if that is longer."""
    shortest, spent, runs = inf, 0.0, 0
    while runs == 0 or (spent < at_most and runs < 20):
        start = process_time()
        work()
        taken = process_time() - start
        shortest, spent, runs = min(shortest, taken), spent + taken, runs + 1
    return shortest


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


def by_table(nearest: Nearest, sides: Iterable[list[Choice]], tables: list[np.ndarray]) -> list[RelativeError]:
    """Rival (b): look through the table, a band of rows at a time so that it stays in the cache."""
    target = nearest.target
    for side, table in zip(sides, tables, strict=True):
        bits = np.array([bits for _, bits in side], dtype=np.int64)
        rows = max(1, 200_000 // max(len(side), 1))
        for first in range(0, len(side), rows):
            errors = np.abs(table[first : first + rows] / target - 1)
            near = np.flatnonzero(errors <= nearest.bound)
            over, under = np.divmod(near, len(side))
            apart = (bits[over + first] & bits[under]) == 0
            near, over, under = near[apart], over[apart] + first, under[apart]
            if len(near) > COUNT:
                sizes = errors.ravel()[near]
                best = sizes <= np.partition(sizes, COUNT - 1)[COUNT - 1] * (1 + 1e-9) + 1e-12
                near, over, under = near[best], over[best], under[best]
            where = zip(errors.ravel()[near].tolist(), over.tolist(), under.tolist(), strict=True)
            nearest.offer((error, side[o][0], side[u][0]) for error, o, u in where)
    return nearest.errors()


@dataclass(frozen=True)
class Row:
    """What was measured for one gear set and one length of train."""

    kind: str
    gears: int
    in_train: int
    choices: int
    listing_ms: float
    search_ms: float
    alone_ms: float
    alone_against_making_the_table: float | None
    against_combinations: float | None
    against_making_the_table: float | None
    against_table: float | None
    chart_ms: float
    chart_with_levers_ms: float
    compared: int

    def cells(self) -> list[str]:
        ratios = (
            self.alone_against_making_the_table,
            self.against_combinations,
            self.against_making_the_table,
            self.against_table,
        )
        return [
            self.kind,
            str(self.gears),
            f"up to {self.in_train}",
            f"{self.choices:,}",
            f"{self.listing_ms:.1f}",
            f"{self.search_ms:.2f}",
            f"{self.alone_ms:.2f}",
            *(NOT_RUN if ratio is None else f"{ratio:,.1f} ×" for ratio in ratios),
            f"{self.chart_ms:.0f}",
            f"{self.chart_with_levers_ms:.0f}",
            f"{self.compared} of {len(WANTED)}" if self.compared else NOT_RUN,
        ]


HEADINGS = [
    "gear set",
    "gears",
    "in the train",
    "choices of one side",
    "listing them, ms, once a set",
    "find_setups, ms",
    "search alone, ms",
    "search alone against the numpy table, made and searched",
    "all combinations, plain Python",
    "numpy table, made and searched",
    "numpy table, already made",
    "120 threads, ms",
    "120 threads, 3 levers, ms",
    "same best 20",
]


class Bench:
    """Measures row by row; remembers how fast the rivals were, to foretell which rows they can do in a minute."""

    def __init__(self, patience: float = 0.5) -> None:
        self.seconds_a_pair: dict[str, float] = {}
        self.patience = patience  # seconds to go on repeating what takes less

    def seconds(self, work: Callable[[], object]) -> float:
        return seconds(work, at_most=self.patience)

    def affordable(self, rival: str, pairs_to_do: int, bytes_needed: int) -> bool:
        foretold = self.seconds_a_pair.get(rival, 0.0) * pairs_to_do
        return bytes_needed < MOST_BYTES and foretold < MOST_SECONDS

    def rival(self, name: str, pairs_to_do: int, work: Callable[[], list[RelativeError]]) -> tuple[float, object]:
        answers: list[list[RelativeError]] = []
        taken = self.seconds(lambda: answers.append(work()))
        self.seconds_a_pair[name] = taken / pairs_to_do
        return taken, answers[0]

    def row(self, kind: str, size: int, meshes: int) -> Row:
        gears, counts = gear_set(size, kind), tuple(range(1, meshes + 1))
        lathe = a_lathe(gears)
        sides = [choices(gears, m) for m in counts]
        todo = pairs(sides)
        searches = {wanted: self._search(lathe, wanted, counts) for wanted in WANTED}
        ratios: dict[str, list[float]] = {"combinations": [], "made": [], "table": []}
        alone = {wanted: self.seconds(lambda w=wanted: search_alone(lathe, w, gears, counts)) for wanted in WANTED}
        alone_ratios = []
        compared = set()

        def against(name: str, wanted: Thread, work: Callable[[], list[RelativeError]]) -> None:
            taken, errors = self.rival(name, todo, work)
            if errors != searches[wanted][1]:
                raise SystemExit(f"{name}: the best {COUNT} for {wanted} with {size} gears ({kind}) are not the same")
            ratios[name].append(taken / searches[wanted][0])
            if name == "made":
                alone_ratios.append(taken / alone[wanted])
            compared.add(wanted)

        for wanted in WANTED if self.affordable("combinations", todo, 0) else ():
            against("combinations", wanted, lambda w=wanted: by_combinations(Nearest(lathe, w), sides))
        if self.affordable("made", todo, 8 * todo):
            for wanted in WANTED:
                against("made", wanted, lambda w=wanted: by_table(Nearest(lathe, w), sides, ratio_tables(sides)))
            tables = ratio_tables(sides)
            for wanted in WANTED:
                against("table", wanted, lambda w=wanted: by_table(Nearest(lathe, w), sides, tables))
            del tables
        return Row(
            kind,
            size,
            2 * meshes,
            sum(map(len, sides)),
            1000 * self.seconds(lambda: [Products.of(gears, m) for m in counts]),
            1000 * max(taken for taken, _ in searches.values()),
            1000 * max(alone.values()),
            min(alone_ratios, default=None),
            min(ratios["combinations"], default=None),
            min(ratios["made"], default=None),
            min(ratios["table"], default=None),
            1000 * self._chart(lathe, counts),
            1000 * self._chart(a_lathe(gears, (Fraction(1, 2), Fraction(1), Fraction(2))), counts),
            len(compared),
        )

    def _search(
        self, lathe: Lathe, wanted: Thread, counts: tuple[int, ...]
    ) -> tuple[float, list[RelativeError | None]]:
        found = find_setups(lathe, wanted, counts, COUNT)
        taken = self.seconds(lambda: find_setups(lathe, wanted, counts, COUNT))
        return taken, [each.error for each in found]

    def _chart(self, lathe: Lathe, counts: tuple[int, ...]) -> float:
        threads = chart_threads()
        return self.seconds(lambda: [find_setups(lathe, thread, counts, count=1) for thread in threads])


def measured(sizes: Iterable[int] = SIZES, meshes: Iterable[int] = MESHES, bench: Bench | None = None) -> Iterator[Row]:
    """One row a gear set and length of train, the small sets first so that they foretell the large ones."""
    bench = bench or Bench()
    for size in sizes:
        for m in meshes:
            for kind in ("distinct", "by fives"):
                yield bench.row(kind, size, m)


def table(rows: Iterable[Row]) -> str:
    """The rows as a table in plain text (Markdown)."""
    lines = [HEADINGS, *(row.cells() for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(HEADINGS))]
    shown = [
        "| " + " | ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True)) + " |" for line in lines
    ]
    shown.insert(1, "|" + "|".join("-" * (width + 1) + ":" for width in widths) + "|")
    return "\n".join(shown)


def main() -> None:
    sizes = tuple(map(int, sys.argv[1:])) or SIZES
    print(table(measured(sizes)))


if __name__ == "__main__":
    main()
