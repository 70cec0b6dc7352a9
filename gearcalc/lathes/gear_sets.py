"""The gears owned, and the one place that says which of them may stand together in a train.

The rule: a gear is one piece, so a train may take a gear as often as it is owned and not damaged, drivers, driven and
idlers counted together; a cluster counts once, whether both its gears drive or one of them is an idler. How gears may
stand beside one another says standing.py. Two gears of one count may stand on both sides of a train. Such an equal
pair changes no ratio, so whoever lists trains leaves one out where the shorter train without it does the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain, combinations, permutations, product
from math import comb, prod
from typing import NamedTuple, TypeVar

from attrs import evolve, field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import GearNotOwnedError, NoSetupError, NotPossibleError, ValueOutOfRangeError
from gearcalc.lathes.parts import BORE, ELSEWHERE, a_part, as_tuple, parts_of_one_kind
from gearcalc.lathes.pieces import Piece, cluster_of, gear_in_words, in_one_piece, kind_of, mate_of, piece, plain
from gearcalc.lathes.sizes import MOST_GEARS, Fixed, GearTable, Size, kind_in_words
from gearcalc.lathes.standing import Order, Standing
from gearcalc.lathes.trains import Gears, Train, as_gears

_MOST_SIZES, _MOST_CHOICES = 5, 500_000
_Table = TypeVar("_Table", bound=GearTable)


class Side(NamedTuple):
    """Gears for one side of a train, and which pieces of the set they are, as bit sets.

    Of gears owned several times drivers take the first and driven the last, so that a bit set on both sides means that
    there are not enough.
    """

    as_drivers: int
    as_driven: int
    gears: Gears


def together(over: Iterable[Side], under: Collection[Side]) -> Iterator[tuple[Gears, Gears]]:
    """The drivers and driven that may stand together, of sides of one set that are to choose from.

    >>> sides = GearSet([40, 40, 60]).sides(1)
    >>> list(together(sides, sides))
    [((40,), (40,)), ((40,), (60,)), ((60,), (40,))]
    """
    for above, _, drivers in over:
        for _, below, driven in under:
            if not above & below:
                yield drivers, driven


@frozen(slots=False, cache_hash=True)
class GearSet(GearTable):
    """The change gears owned: `teeth` as counted, owned twice listed twice; their size where it is known.

    >>> GearSet([80, 40, 40]).teeth
    (40, 40, 80)
    >>> GearSet([80, 40, 40], damaged=[40], fixed=Fixed(last_driven=80)).loose
    (40, 80)

    `teeth` to `clusters`: as for GearTable, of the first size. `fixed`: gears, of `teeth`, that can't be changed;
    `more`: gears of other sizes; `first_bore_mm`, `last_bore_mm`: the bore that the shafts of the first driver and of
    the last driven gear take, None for any.
    """

    fixed: Fixed = field(factory=Fixed, validator=a_part(Fixed))
    more: tuple[GearTable, ...] = field(
        default=(), converter=as_tuple, validator=parts_of_one_kind(GearTable), metadata=ELSEWHERE
    )
    first_bore_mm: float | None = field(default=None, validator=BORE, metadata=ELSEWHERE)
    last_bore_mm: float | None = field(default=None, validator=BORE, metadata=ELSEWHERE)

    @fixed.validator
    def _there_to_be_fixed(self, _: object, value: Fixed) -> None:
        for teeth in Counter([value.first_driver, value.last_driven]) - Counter(self.usable):
            if teeth is not None:
                remedy = "List a fixed gear under teeth too: it can't be taken away."
                if teeth in self.usable:
                    problem = f"{teeth} is fixed at both ends, and there is only one that can be used"
                elif teeth in self.damaged:
                    problem = f"{teeth} is fixed, and the only one there is is damaged, so not to be used"
                    remedy = "Say that it is fixed, or that it is damaged."
                else:
                    problem = f"{teeth} is fixed, and not among the teeth"
                raise ValueOutOfRangeError(problem, where="fixed", remedy=remedy)

    @more.validator
    def _of_other_sizes(self, _: object, value: tuple[GearTable, ...]) -> None:
        if len(value) > _MOST_SIZES:
            raise ValueOutOfRangeError(f"at most {_MOST_SIZES} other sizes are taken here", value=len(value))
        sizes = [self.size]
        for place, table in enumerate(value, 1):
            where = f"entry {place}"
            if table.size.module_mm is None:
                raise ValueOutOfRangeError(
                    "these gears have no size", where=where, remedy="Give module_mm or diametral_pitch."
                )
            for other in sizes:
                if table.size.meshes_with(other) and table.size.bore_mm == other.bore_mm:
                    raise ValueOutOfRangeError(
                        "there are gears of this size already", where=where, remedy="List them in one table."
                    )
            sizes.append(table.size)

    def _in_pieces(self, table: GearTable) -> Iterator[tuple[int, int]]:
        """The two pieces of each cluster of a table."""
        for (one, size, words), (other, its_size, its_words) in table.halves():
            kind, its_kind = self._kind(size, words), self._kind(its_size, its_words)
            yield piece(one, kind, piece(other, its_kind)), piece(other, its_kind, piece(one, kind))

    def _kind(self, size: Size, words: str) -> str:
        return kind_in_words(size, words, self.size)

    def _kind_in(self, table: GearTable) -> str:
        """The kind of a table's loose gears."""
        return self._kind(table.size, table.size_in_words)

    @cached_property
    def standing(self) -> Standing:
        """How its gears may stand beside one another."""
        tables = (self, *self.more)
        sizes = {
            self._kind(size, words): size for table in tables for both in table.halves() for _, size, words in both
        }
        sizes |= {self._kind_in(table): table.size for table in tables}
        fixed = self.fixed
        return Standing(sizes, fixed.first_driver, fixed.last_driven, self.first_bore_mm, self.last_bore_mm)

    @cached_property
    def loose(self) -> Gears:
        """The gears that may be used and are in one piece with no other, fixed ones among them; ascending."""
        other_sizes = (piece(teeth, self._kind_in(table)) for table in self.more for teeth in table.usable)
        return tuple(sorted((*self.usable, *other_sizes)))

    @property
    def out_of_use(self) -> Gears:
        """The damaged gears of every size, ascending."""
        kinds = {self._kind_in(table): table.damaged for table in (self, *self.more)}
        return tuple(sorted(piece(teeth, kind) for kind, damaged in kinds.items() for teeth in damaged))

    @cached_property
    def pairs(self) -> Counter[tuple[int, int]]:
        """The clusters, each by its two gears, ascending, and how often it is owned."""
        tables = (self, *self.more)
        return Counter((min(pair), max(pair)) for table in tables for pair in self._in_pieces(table))

    @cached_property
    def pieces(self) -> Gears:
        """Every gear that may be used, those of clusters apart from loose ones; ascending."""
        return tuple(sorted((*self.loose, *(half for pair in self.pairs.elements() for half in pair))))

    @cached_property
    def counts(self) -> Gears:
        """The tooth counts of all of these, each once, ascending."""
        return tuple(sorted(set(map(plain, self.pieces))))

    @cached_property
    def anything_goes(self) -> bool:
        """Whether its gears may stand in any order, and each by itself: none fixed, in a cluster or of another size."""
        return not self.pairs and not self.more and self.standing.anything_goes

    @cached_property
    def _owned(self) -> Counter[int]:
        return Counter(self.loose)

    @cached_property
    def _free(self) -> Counter[int]:
        """The loose gears that are not fixed, and how often each is owned; in order."""
        return self._owned - Counter(filter(None, (self.fixed.first_driver, self.fixed.last_driven)))

    @cached_property
    def kinds(self) -> Counter[str]:
        """How many loose gears there are of each kind, fixed ones not counted."""
        return Counter(map(kind_of, self._free.elements()))

    @property
    def last_stays(self) -> bool:
        """Whether the last driven gear is fixed, so that it is on every train and never moved."""
        return self.fixed.last_driven is not None

    @property
    def some_twice(self) -> bool:
        """Whether some gear is owned more than once, so that equal gears can stand on both sides."""
        return len(self._owned) < len(self.loose)

    def count(self, teeth: int) -> int:
        """How often a loose gear may be used at once."""
        return self._owned[teeth]

    def _taken(self, gears: Train | Sequence[int]) -> tuple[Sequence[int], Counter[tuple[int, int]]]:
        """The loose gears of a train, and the clusters that it takes."""
        listed = gears.gears if isinstance(gears, Train) else gears
        if not self.pairs:
            return listed, self.pairs
        ends = Counter(half for half in listed if mate_of(half) is not None)
        pairs: Counter[tuple[int, int]] = Counter()
        if not ends:
            return listed, pairs
        if isinstance(gears, Train):
            for one, other in zip(gears.driven, gears.drivers[1:], strict=False):
                if in_one_piece(one, other):
                    pairs[cluster_of(one)] += 1
                    ends -= Counter((one, other))
            pairs.update(cluster_of(half) for half in ends.elements())
        else:
            for one, other in {cluster_of(half) for half in ends}:
                pairs[one, other] = max(ends[one], ends[other]) if one != other else (ends[one] + 1) // 2
        return [gear for gear in listed if mate_of(gear) is None], pairs

    def missing(self, gears: Train | Sequence[int]) -> Gears:
        """What would have to be had as well, so that these gears can stand together; ascending.

        >>> GearSet([40, 60]).missing((60, 40, 40, 20))
        (20, 40)

        `gears`: a train, or its gears alone; then two halves that belong together are taken for one cluster.
        """
        loose, pairs = self._taken(gears)
        short = [*(Counter(loose) - self._owned).elements()]
        short += [half for pair in (pairs - self.pairs).elements() for half in pair]
        return tuple(sorted(short))

    def holds(self, gears: Train | Sequence[int]) -> bool:
        """Whether these gears, of all places of a train, may stand together."""
        return not self.missing(gears)

    def left_over(self, gears: Train | Iterable[int]) -> Gears:
        """The gears that are free while these stand, for idlers and for other places; ascending.

        >>> GearSet([40, 40, 60, 80]).left_over((40, 80))
        (40, 60)

        Of a cluster that is free both gears are listed; only one of them can be used.
        """
        loose, pairs = self._taken(gears if isinstance(gears, Train) else tuple(gears))
        taken = [half for pair in pairs.elements() for half in pair]
        left = list(self.pieces)
        for gear in (*loose, *taken):
            if gear in left:
                left.remove(gear)
        return tuple(left)

    def orders(self, drivers: Gears, driven: Gears) -> list[Order]:
        """Every order of the meshes in which these may stand, each once.

        >>> GearSet([20, 30, 40, 50], fixed=Fixed(first_driver=30)).orders((20, 30), (40, 50))
        [((30, 20), (40, 50)), ((30, 20), (50, 40))]
        """
        if self.anything_goes:
            over, under = (sorted(set(permutations(side))) for side in (drivers, driven))
            return list(product(over, under))
        return self.standing.orders(drivers, driven)

    def idlers_for(self, gear: int, spare: Iterable[int]) -> Gears:
        """Those of `spare` that can be an idler beside this gear, each as often as it stands there; ascending.

        >>> GearSet([20, 30, 40], clusters=[(40, 50)]).idlers_for(20, (30, 40, piece(40, mate=50), piece(50, mate=40)))
        (30, 40, 50)

        A gear of a cluster is one only where no loose gear of that count and size is spare.
        """
        mesh = self.standing.mesh
        there = sorted(other for other in spare if mesh(gear, other))
        loose = {plain(each) for each in there if mate_of(each) is None}
        return tuple([each for each in there if mate_of(each) is None or plain(each) not in loose])

    def allows(self, train: Train) -> bool:
        """Whether a train may stand as it is: its gears are there, and each may stand where it does."""
        return self.holds(train) and (self.anything_goes or self.standing.allow(train))

    def check(self, gears: object) -> None:
        """Raise GearNotOwnedError when the set lacks one of these gears, or has it once and needs it twice."""
        for refusal in self.refusals(gears):
            raise refusal

    def refusals(self, gears: object) -> Iterator[GearNotOwnedError]:
        """Why these gears can't stand together: a refusal, ready to be raised, for each tooth count that is short.

        A count is as often there as there are gears of it, of whatever size, in clusters too, but for damaged ones.
        """
        usable, taken = Counter(map(plain, self.pieces)), Counter(map(plain, as_gears(gears, most=MOST_GEARS)))
        for teeth in taken - usable:
            has, damaged = usable[teeth], sum(plain(gear) == teeth for gear in self.out_of_use)
            near = sorted(sorted(usable, key=lambda other: (abs(other - teeth), other))[:3])
            have = f"The nearest it has: {', '.join(map(str, near))}." if near else "It has none at all."
            if has:
                whole = "" if not damaged else " that is not damaged" if has == 1 else " that are not damaged"
                yield GearNotOwnedError(
                    f"the set has {has} gear{'s' * (has > 1)} of {teeth} teeth{whole}, and this takes {taken[teeth]}",
                    remedy=f"Choose another gear, or add one of {teeth} teeth to the set.",
                )
            elif damaged:
                yield GearNotOwnedError(f"the gear of {teeth} teeth is damaged, so it is not to be used", remedy=have)
            else:
                yield GearNotOwnedError(f"the set has no gear of {teeth} teeth", remedy=have)

    def with_gears(self, add: object = (), remove: object = ()) -> GearSet:
        """The same with gears bought or lent, all of the first size, and loose ones of any size gone.

        >>> GearSet([40, 60]).with_gears(add=(20, 40), remove=60).teeth
        (20, 40, 40)

        A count goes from the first size that has it, a gear of `loose` from its own; of a count the damaged first.
        Raises GearNotOwnedError for a gear that isn't there, ValueOutOfRangeError for a fixed one or no tooth count.
        """
        left = {self._kind_in(table): list(table.teeth) for table in (self, *self.more)}
        for gear in as_gears(remove, most=MOST_GEARS):
            teeth, sizes = plain(gear), [kind_of(gear)] if isinstance(gear, Piece) else left
            size = next((each for each in sizes if teeth in left.get(each, ())), None)
            if size is None or mate_of(gear) is not None:
                self.check((gear,))
                problem = f"the set has no more loose gears of {gear_in_words(gear)} to take away"
                halves = [gear_in_words(half) for half in self.pieces if plain(half) == teeth and mate_of(half)]
                raise GearNotOwnedError(problem, remedy=f"It has {halves[0]}." if halves else "")
            left[size].remove(teeth)
        more = [table.now_of(left[self._kind_in(table)]) for table in self.more]
        return evolve(self.now_of(left[""], as_gears(add, most=MOST_GEARS)), more=more)

    def instead(self, teeth: Iterable[int], kind: str = "") -> GearSet:
        """The same with these for all loose gears of the first size, or of a `kind`, that are not damaged.

        >>> GearSet([40, 60], damaged=[60]).instead([20, 30]).usable
        (20, 30)

        Raises ValueOutOfRangeError for no tooth count, and where a fixed gear is not among them.
        """
        counts = as_gears(teeth, most=MOST_GEARS)
        if not kind:
            return evolve(self, teeth=(*counts, *self.damaged))
        these = [table for table in self.more if self._kind_in(table) == kind]
        others = [evolve(table, teeth=(*counts, *table.damaged)) for table in these]
        return evolve(self, more=(*others, *(table for table in self.more if table not in these)))

    def without(self, avoid: Collection[int]) -> GearSet:
        """The same without these gears.

        >>> GearSet([30, 40, 40], clusters=[(40, 50)]).without({40, 50}).pieces
        (30,)

        A plain count stands for the loose gears of the first size; where there are none, for all of that count. A
        cluster goes with either of its gears. Raises NoSetupError where one is fixed: nothing is cut without it.
        """
        if not avoid:
            return self
        plain_counts = [teeth for teeth in avoid if teeth == plain(teeth)]
        everywhere = {plain(teeth) for teeth in plain_counts if teeth not in self._owned}
        gone = {gear for gear in self.pieces if gear in avoid or plain(gear) in everywhere}
        if stay := sorted(gone & {self.fixed.first_driver, self.fixed.last_driven}):
            is_, it = ("is", "it") if len(stay) == 1 else ("are", "them")
            raise NoSetupError(f"{writing.listed(map(gear_in_words, stay))} {is_} fixed, so no train goes without {it}")
        less = evolve(self, more=[self._less(table, gone) for table in self.more])
        return self._less(less, gone)

    def _less(self, table: _Table, gone: Collection[int]) -> _Table:
        kind = self._kind_in(table)
        clusters = zip(table.clusters, self._in_pieces(table), strict=True)
        return evolve(
            table,
            teeth=[teeth for teeth in table.teeth if piece(teeth, kind) not in gone],
            damaged=[teeth for teeth in table.damaged if piece(teeth, kind) not in gone],
            clusters=[cluster for cluster, (one, other) in clusters if one not in gone and other not in gone],
        )

    def sides(self, meshes: int, more: Mapping[str, int] | None = None, settled: Gears = ()) -> list[Side]:
        """Every choice of so many loose gears of the first size, none of them fixed, for one side of a train.

        >>> [side.gears for side in GearSet([40, 40, 60]).sides(2)]
        [(40, 40), (40, 60)]

        `more`: by kind, of how many gears of another kind, or of the first, as well; `settled`: what is on that side
        anyway. Raises NotPossibleError when there are more than half a million ways to choose.
        """
        wanted = {"": meshes} | dict(more or {})
        usable = {
            kind: [
                gear for gear, times in self._free.items() if kind_of(gear) == kind for _ in range(min(times, number))
            ]
            for kind, number in wanted.items()
        }
        if prod(comb(len(usable[kind]), number) for kind, number in wanted.items()) > _MOST_CHOICES:
            raise NotPossibleError(
                f"{sum(map(len, usable.values()))} gears taken {sum(wanted.values())} at a time can be chosen in too "
                "many ways",
                remedy="Give fewer gears, or fewer meshes.",
            )
        first, last, place = {}, {}, 0
        for gear, times in self._free.items():
            first[gear], last[gear] = 1 << place, 1 << place + times - 1
            place += times
        chosen_of = [combinations(usable[kind], number) for kind, number in wanted.items()]
        every = chosen_of[0] if len(wanted) == 1 else (tuple(chain(*each)) for each in product(*chosen_of))
        if not self.some_twice and not settled and len(wanted) == 1:  # no need to look at how often one is taken
            pieces = [sum(chosen) for chosen in combinations([first[gear] for gear in usable[""]], wanted[""])]
            return list(map(Side, pieces, pieces, every))
        found = []
        for chosen in dict.fromkeys(every):  # two gears of one count make the same choice twice
            low = high = 0
            for place, gear in enumerate(chosen):
                again = place - chosen.index(gear)
                low |= first[gear] << again
                high |= last[gear] >> again
            found.append(Side(low, high, tuple(sorted((*settled, *chosen))) if settled or len(wanted) > 1 else chosen))
        return found


def as_gear_set(given: GearSet | Iterable[int]) -> GearSet:
    """A gear set, or one of these tooth counts; owned twice, listed twice. Raises ValueOutOfRangeError.

    >>> as_gear_set([60, 40]).teeth
    (40, 60)
    """
    return given if isinstance(given, GearSet) else GearSet(given)
