"""Products of so many gears, and the pairs of products whose quotient comes closest to a target.

Contract, for whoever searches (pure whole numbers, Fractions and Fractions times π; no threads, no lathes):

* `Products.of(gears, meshes)` lists, once a gear set, what `meshes` gears multiply to. The same table serves drivers
  and driven; which of them may stand together the gear set says (lathes/gear_sets.py).
* `tables_of(gears, meshes)` gives the tables of a lathe's own gears, of which some may be fixed, in clusters or of
  other sizes: for each frame (lathes/frames.py) a `TwoTables`, one of drivers and one of driven, that does the same.
* `closest(targets, tables, within=None)` walks outward from the targets (a gearbox has one a lever) over all
  the tables (one a number of meshes) and yields a `Tie` for each size of error, smallest first: **exactly**
  increasing |quotient − target| / target, nothing left out, nothing twice. A tie holds everything that misses by
  exactly that much: both sides of the target, every number of meshes, every choice of gears.
* `tie.trains()` yields its `Candidate(target, drivers, driven)`: fewest meshes first, then the target's place
  in the list; `drivers` and `driven` ascending. The two sides never ask for the same gear, so no further check of
  what is owned is needed. A tooth count stands on both sides only where it is owned more than once. Such an equal
  pair changes no ratio: a train with one is left out where these tables have the shorter train without it, unless
  `idle_pairs=True` asks for all. `tie.trains_of(n)` yields those of the n-th table alone; an exact tie looks into a
  table only when its trains are asked for.
* Both are lazy: take what you need and stop. `within` bounds |error| (a Fraction, so 100 ppm is 1/10000).
* `in_steps(targets, tables, bounds)` gives the same trains in a few `Step`s, not by size: what is exact, what misses by
  up to the first bound, from there to the next. For whoever ranks by something else before the error.

>>> tables = [Products.of([20, 30, 40, 50, 60, 63, 80], meshes) for meshes in (1, 2)]
>>> best = next(closest([Fraction(127, 100)], tables))
>>> [(found.drivers, found.driven) for found in best.trains()]
[((80,), (63,)), ((40, 60), (30, 63))]

How: the distinct products are sorted; for each driven product q the drivers' product must lie near target × q,
which bisection finds; the ring around the target widens until the caller has enough. Floats only choose what to
look at, with a margin to spare. The order rests on integers: dividing two whole numbers rounds correctly, and a
correctly rounded quotient never swaps two sizes, so only equal floats are left to be compared exactly.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache, lru_cache, partial
from itertools import groupby, pairwise
from math import gcd, inf, log, nextafter
from operator import itemgetter
from typing import NamedTuple

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import MILLION, Exact, PiMultiple, RelativeError, coefficient, pi_bounds
from gearcalc.finding.tables import Products as Products
from gearcalc.finding.tables import Table

_FARTHEST = 10**6
_MARGIN = 1e-12  # far more than a few roundings of a float can add up to
_FIRST_LOOK = 32  # pairs of products that the first ring should hold, if they were spread evenly
_WIDEN = ((32, 4.0), (500, 2.0), (inf, 1.25))  # a ring that held less than so many: the next so much wider
_NO_MISS = RelativeError(Fraction(1), Fraction(1))


class Candidate(NamedTuple):
    """One train: which of the targets it is for, and its gears."""

    target: int
    drivers: tuple[int, ...]
    driven: tuple[int, ...]


class _Pair(NamedTuple):
    """Two products whose quotient is near a target; sorts by how far off, then fewest meshes."""

    size: float
    table: int
    target: int
    over: int
    under: int

    def lowest_terms(self) -> tuple[int, int, int]:
        common = gcd(self.over, self.under)
        return self.target, self.over // common, self.under // common


@dataclass(frozen=True, slots=True, eq=False)
class _Bunch:
    """Trains, as the pairs of products that make them, table by table."""

    _pairs_of: Callable[[int], Sequence[_Pair]] = field(repr=False)  # the place of a table: its pairs
    _tables: Sequence[Table] = field(repr=False)

    def trains(self, idle_pairs: bool = False) -> Iterator[Candidate]:
        """The trains, fewest meshes first."""
        for table in range(len(self._tables)):
            yield from self.trains_of(table, idle_pairs)

    def trains_of(self, table: int, idle_pairs: bool = False) -> Iterator[Candidate]:
        """The trains with so many meshes as the table in that place (from 0) has.

        `idle_pairs`: also those with an equal pair that a shorter train of these tables does without.
        """
        if idle_pairs or not self._tables[table].some_twice:
            yield from self._every_train(table)
            return
        meshes = {each.meshes for each in self._tables}
        for found in self._every_train(table):
            shorter = self._tables[table].shorter(found.drivers, found.driven)
            if not any(len(drivers) in meshes for drivers, _ in shorter):
                yield found

    def _every_train(self, table: int) -> Iterator[Candidate]:
        products = self._tables[table]
        for _, _, target, over, under in self._pairs_of(table):
            for drivers, driven in products.trains_of(over, under):
                yield Candidate(target, drivers, driven)


@dataclass(frozen=True, slots=True, eq=False)
class Tie(_Bunch):
    """Everything that misses its target by exactly the same amount.

    `miss` is one of them; `both_sides`: some miss by being too much and some by being too little, as far as products
    tell (gears may stand in the way of one side).
    """

    miss: RelativeError
    both_sides: bool


@dataclass(frozen=True, slots=True, eq=False)
class Step(_Bunch):
    """Everything that misses its target by more than one bound and at most the next; the first: what is exact."""

    beyond: RelativeError | None
    within: RelativeError

    def holds(self, miss: RelativeError) -> bool:
        """Whether a train with that error belongs here."""
        return miss <= self.within and (self.beyond is None or miss > self.beyond)


def closest(
    targets: Sequence[Exact], tables: Sequence[Table], within: Fraction | None = None, beyond: Fraction | None = None
) -> Iterator[Tie]:
    """Ties in exactly increasing |error|, until everything (or everything `within`) has been seen.

    >>> table = Products.of(range(20, 128), 1)
    >>> for tie in closest([PiMultiple(Fraction(1))], [table], within=Fraction(1, 2000)):
    ...     print([(found.drivers, found.driven) for found in tie.trains()], round(tie.miss.ppm, 1))
    [((66,), (21,)), ((88,), (28,)), ((110,), (35,))] 402.5

    `targets`: what drivers / driven should come to, each from 10^-6 to 10^6. `tables`: from Products.of, all
    for the same gears, fewest meshes first. `within`: largest |error|, a share of the target (100 ppm is 1/10000);
    `beyond`: leave out what misses by so much or less.
    Raises ValueOutOfRangeError, at once, for a target or a bound that is out of range.
    """
    _check_targets(targets)
    if within is not None and within < 0:
        raise ValueOutOfRangeError("the largest error must be zero or more", value=within)
    ties = _walk(targets, tables, inf if within is None else float(within), beyond)
    return ties if within is None else _until(ties, RelativeError.of_ppm(within * MILLION))


def in_steps(
    targets: Sequence[Exact], tables: Sequence[Table], bounds: Sequence[Fraction], only: int | None = None
) -> list[Step]:
    """All trains within the last bound, in steps of |error|: what is exact, then up to each bound, in no order.

    >>> table = Products.of([20, 30, 40, 50, 60, 63, 80], 1)
    >>> exact, near = in_steps([Fraction(3, 4), Fraction(127, 100)], [table], [Fraction(1, 1000)])
    >>> [(found.drivers, found.driven) for found in exact.trains()], [*near.trains()]
    ([((30,), (40,)), ((60,), (80,))], [Candidate(target=1, drivers=(80,), driven=(63,))])

    `targets`, `tables` as for closest(); `bounds`: ascending, each more than zero; `only`: for the target in this
    place alone. A table is looked into only when its trains are asked for.
    Raises ValueOutOfRangeError for a target out of range.
    """
    _check_targets(targets)
    places = range(len(targets)) if only is None else (only,)
    found = [Step(partial(_exact_pairs, targets, tables, places=places), tables, None, _NO_MISS)]
    for low, high in pairwise((Fraction(0), *bounds)):
        beyond, within = (RelativeError.of_ppm(bound * MILLION) for bound in (low, high))
        found.append(Step(partial(_pairs_between, targets, tables, places, beyond, within), tables, beyond, within))
    return found


def _check_targets(targets: Sequence[Exact]) -> None:
    for target in targets:
        if not Fraction(1, _FARTHEST) <= target <= _FARTHEST:
            raise ValueOutOfRangeError(
                f"the ratio wanted must lie between 1/{_FARTHEST} and {_FARTHEST}", value=coefficient(target)
            )


def _pairs_between(
    targets: Sequence[Exact],
    tables: Sequence[Table],
    places: Sequence[int],
    beyond: RelativeError,
    within: RelativeError,
    n: int,
) -> list[_Pair]:
    """The pairs of the n-th table that miss by more than `beyond` and at most `within`."""
    low, high = (float(abs(bound.cut - 1)) for bound in (beyond, within))
    found: list[_Pair] = []
    for t in places if tables[n].values else ():
        target = targets[t]
        for pair in _pairs_within(float(target), t, tables[n], n, size_of(target), nextafter(low, 0.0), high):
            if pair.size in (low, high):  # rounded to the bound: on which side of it?
                miss = RelativeError(Fraction(pair.over, pair.under), target)
                if not beyond < miss <= within:
                    continue
            found.append(pair)
    return found


def _until(ties: Iterator[Tie], limit: RelativeError) -> Iterator[Tie]:
    for tie in ties:
        if tie.miss > limit:
            return
        yield tie


def _walk(targets: Sequence[Exact], tables: Sequence[Table], farthest: float, beyond: Fraction | None) -> Iterator[Tie]:
    if beyond is None:
        yield from _if_any(Tie(cache(partial(_exact_pairs, targets, tables)), tables, _NO_MISS, False))
    sizes = [size_of(target) for target in targets]
    jobs = [(float(target), t, n) for t, target in enumerate(targets) for n, table in enumerate(tables) if table.values]
    reached = -1.0 if beyond is None else nextafter(float(beyond), 0.0)
    left_out = None if beyond is None else RelativeError.of_ppm(beyond * MILLION)
    rings = _rings([(target, tables[n]) for target, _, n in jobs], reached, farthest)
    ring = next(rings, None)
    while ring is not None:
        pairs: list[_Pair] = []
        for target, t, n in jobs:
            pairs += _pairs_within(target, t, tables[n], n, sizes[t], reached, ring)
        ties = _in_ties(pairs, targets, tables)
        yield from ties if left_out is None else (tie for tie in ties if tie.miss > left_out)
        reached = ring
        ring = _next_ring(rings, len(pairs))


def _exact_pairs(
    targets: Sequence[Exact], tables: Sequence[Table], n: int, places: Sequence[int] | None = None
) -> list[_Pair]:
    return [
        _Pair(0.0, n, t, over, under)
        for t, target in enumerate(targets)
        if isinstance(target, Fraction) and (places is None or t in places)
        for over, under in _exact_products(tables[n], *target.as_integer_ratio())
    ]


def _exact_products(table: Table, top: int, bottom: int) -> Iterator[tuple[int, int]]:
    values, above, products = table.under.values, table.over.values, table.over._sides
    if not table.values or table.over._common % top or table.under._common % bottom:
        return  # a prime is wanted that the gears haven't, or not so often
    first = bisect_left(values, above[0] * bottom // top)  # below this, the drivers' product is below the least
    end = bisect_right(values, above[-1] * bottom // top)
    within = values[first:end]
    for under in within if bottom == 1 else [under for under in within if not under % bottom]:
        over = under // bottom * top
        if over in products:
            yield over, under


def _rings(jobs: Sequence[tuple[float, Table]], beyond: float, farthest: float) -> Generator[float, int, None]:
    """Sizes of error to look within, wider and wider, until nothing is left outside or `farthest` is reached.

    Starts `beyond` that size where the first quotient can be, and with a ring that would hold a few dozen pairs. Is
    sent how many pairs a ring held: the more, the less the next is wider.
    """
    if not jobs:
        return
    starts = []
    reaches = [(target, *_least_and_most(table)) for target, table in jobs]
    for target, least, most in reaches:
        nearest = min(max(target, least), most)
        starts.append((abs(nearest / target - 1), nearest / target))
    start, step = min(starts)
    spread = max(log(most / least) / 2 for _, least, most in reaches)  # as wide as one side's products lie apart
    step *= (
        _FIRST_LOOK * (spread + _MARGIN) / sum(len(table.over.values) * len(table.under.values) for _, table in jobs)
    )
    last = max(max(abs(most / target - 1), abs(least / target - 1)) for target, least, most in reaches)
    last = min(farthest, last * (1 + _MARGIN) + _MARGIN)
    start = max(start, beyond)
    ring = start + step
    while ring < last:
        held = yield ring
        step *= next(wider for many, wider in _WIDEN if held < many)
        ring = start + step
    yield last


def _next_ring(rings: Generator[float, int, None], held: int) -> float | None:
    try:
        return rings.send(held)
    except StopIteration:
        return None


def _least_and_most(table: Table) -> tuple[float, float]:
    """The least and the most that drivers over driven come to."""
    over, under = table.over.values, table.under.values
    return over[0] / under[-1], over[-1] / under[0]


def _pairs_within(
    target: float, t: int, table: Table, n: int, size_of: Callable[[int, int], float], beyond: float, ring: float
) -> Iterator[_Pair]:
    """Pairs that miss by more than `beyond` and at most `ring`; the exact ones are left to _exact_pairs."""
    low = max(target * (1 - ring) * (1 - _MARGIN) - _MARGIN * target, 0.0)
    high = target * (1 + ring) * (1 + _MARGIN)
    floats, values = table.over._floats, table.over.values
    below, driven = table.under._floats, table.under.values
    first = bisect_left(below, floats[0] / high * (1 - _MARGIN))
    end = bisect_right(below, floats[-2] / low * (1 + _MARGIN), hi=len(driven)) if low else len(driven)
    near, place, over_at = [], 0, floats[0]
    for at, under in enumerate(below[first:end], first):  # both lists ascend, so one walk up both will do
        bottom = under * low
        while over_at < bottom:
            place += 1
            over_at = floats[place]
        if over_at <= under * high:
            near.append((at, place))
    for at, place in near:
        under, top = driven[at], below[at] * high
        while floats[place] <= top:
            over = values[place]
            size = size_of(over, under)
            if beyond < size <= ring:
                yield _Pair(size, n, t, over, under)
            place += 1


@lru_cache(maxsize=256)
def size_of(target: Exact) -> Callable[[int, int], float]:
    """|over/under − target| / target, correctly rounded, for whole numbers; minus one where it is exact."""
    if isinstance(target, PiMultiple):
        return _size_of_pi(target.coefficient)
    top, bottom = target.numerator, target.denominator

    def size(over: int, under: int) -> float:
        off = abs(over * bottom - under * top)
        return off / (under * top) if off else -1.0

    return size


def _size_of_pi(factor: Fraction, digits: int = 30) -> Callable[[int, int], float]:
    low, high = (factor * pi for pi in pi_bounds(digits))
    (low_top, low_bottom), (high_top, high_bottom) = low.as_integer_ratio(), high.as_integer_ratio()

    def size(over: int, under: int) -> float:
        against_low, against_high = under * low_top, under * high_top
        size_low = (over * low_bottom - against_low) / against_low
        if size_low == (over * high_bottom - against_high) / against_high:
            return abs(size_low)
        return _size_of_pi(factor, 2 * digits)(over, under)  # π is no fraction, so some digits decide the rounding

    return size


def _in_ties(pairs: list[_Pair], targets: Sequence[Exact], tables: Sequence[Table]) -> Iterator[Tie]:
    pairs.sort()
    for _, one_size in groupby(pairs, itemgetter(0)):
        ratios: dict[tuple[int, int, int], list[_Pair]] = {}
        for pair in one_size:
            ratios.setdefault(pair.lowest_terms(), []).append(pair)
        misses = [(RelativeError(Fraction(over, under), targets[t]), same) for (t, over, under), same in ratios.items()]
        misses.sort(key=itemgetter(0))
        for miss, equal in groupby(misses, itemgetter(0)):
            alike = list(equal)
            by_table: dict[int, list[_Pair]] = defaultdict(list)
            for pair in sorted(pair for _, same in alike for pair in same):
                by_table[pair.table].append(pair)
            both_sides = len(alike) > 1 and len({each.cut > each.wanted for each, _ in alike}) > 1
            yield from _if_any(Tie(partial(_listed, by_table), tables, miss, both_sides))


def _listed(by_table: dict[int, list[_Pair]], n: int) -> Sequence[_Pair]:
    return by_table.get(n, ())


def _if_any(tie: Tie) -> Iterator[Tie]:
    """The tie, unless every choice of gears asks for one on both sides that is not owned so often."""
    if next(tie.trains(idle_pairs=True), None) is not None:
        yield tie
