"""Small odd lathes, and every train that may stand on one: fixed ends, clusters, damage, sizes of tooth, bores.

Written from the rules of the lathe file alone, as somebody would lay the gears out on a table:

- a fixed gear is the first driver, or the last driven, of every train, and stands nowhere else;
- a damaged gear is never used, and a piece is used once;
- a mesh, idlers and all, is of one size of tooth;
- two gears keyed on a stud have the same bore, and an end shaft has its own; a bore that nobody gave fits all;
- a cluster, two gears in one piece, takes a stud with nothing else on it and never an end shaft: its gears are driven
  and driver, either way round, or one is an idler and the other idle;
- where a count is loose and in a cluster, the loose gears are taken, the cluster only where they don't make the pair.

Counts alone, in every order: nothing here is searched cleverly, and nothing is asked of the package.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import permutations, product
from math import prod
from typing import NamedTuple

from hypothesis import assume
from hypothesis import strategies as st


class Gear(NamedTuple):
    """What tells a gear from another: two that agree in all of it may change places, and nobody would notice.

    A cluster has its stud to itself, so that its bore decides nothing; but another bore is another piece.
    """

    teeth: int
    module_mm: float
    bore_mm: float | None
    mate: tuple[int, float] | None = None  # teeth and module of the gear that it is in one piece with

    @property
    def is_loose(self) -> bool:
        return self.mate is None

    def looks_like(self, other: Gear) -> bool:
        return self[:2] == other[:2]


Cluster = tuple[Gear, Gear]


class Standing(NamedTuple):
    """A train as it stands: drivers, driven, and the idlers of each mesh, from the spindle side."""

    drivers: tuple[Gear, ...]
    driven: tuple[Gear, ...]
    idlers: tuple[tuple[Gear, ...], ...]

    @property
    def ratio(self) -> Fraction:
        return Fraction(prod(gear.teeth for gear in self.drivers), prod(gear.teeth for gear in self.driven))

    @property
    def studs(self) -> Iterator[tuple[Gear, ...]]:
        """What is keyed on each stud: a driven gear and the driver beside it, or an idler."""
        yield from zip(self.driven[:-1], self.drivers[1:], strict=True)
        yield from ((gear,) for mesh in self.idlers for gear in mesh)

    @property
    def gears(self) -> tuple[Gear, ...]:
        return (*self.drivers, *self.driven, *(gear for mesh in self.idlers for gear in mesh))


class OddLathe(NamedTuple):
    """What a lathe file says of gears: usable loose ones, clusters, what is fixed, which bores the end shafts take."""

    text: str
    loose: tuple[Gear, ...]
    clusters: tuple[Cluster, ...]
    first_driver: Gear | None = None
    last_driven: Gear | None = None
    first_bore_mm: float | None = None
    last_bore_mm: float | None = None


def same_bore(one: float | None, other: float | None) -> bool:
    return one is None or other is None or one == other


def every_train(lathe: OddLathe, idlers: tuple[int, ...]) -> set[Standing]:
    """Every train of so many meshes with so many idlers in each that may stand on the lathe."""
    gears = sorted({*lathe.loose, *(gear for cluster in lathe.clusters for gear in cluster)}, key=str)
    owned = [*lathe.loose, *(gear for cluster in lathe.clusters for gear in cluster)]
    sides = [side for side in product(gears, repeat=len(idlers)) if not any(_used_more_often(side, owned))]
    found = set()
    for drivers, driven in product(sides, repeat=2):
        if any(over.module_mm != under.module_mm for over, under in zip(drivers, driven, strict=True)):
            continue
        if is_wrong(lathe, Standing(drivers, driven, ((),) * len(idlers))):
            continue
        for chosen in product(*(list(product(gears, repeat=many)) for many in idlers)):
            train = Standing(drivers, driven, chosen)
            if not is_wrong(lathe, train) and not could_be_looser(lathe, train):
                found.add(train)
    return found


def is_wrong(lathe: OddLathe, train: Standing) -> bool:
    """Whether any of the rules forbids it, but for the last."""
    first, last = train.drivers[0], train.driven[-1]
    loose = [gear for gear in train.gears if gear.is_loose]
    clusters = [stud for stud in train.studs if not all(gear.is_loose for gear in stud)]
    return (
        not (first.is_loose and last.is_loose)
        or (lathe.first_driver is not None and first != lathe.first_driver)
        or (lathe.last_driven is not None and last != lathe.last_driven)
        or not same_bore(first.bore_mm, lathe.first_bore_mm)
        or not same_bore(last.bore_mm, lathe.last_bore_mm)
        or any(
            gear.module_mm != driver.module_mm
            for driver, driven, idle in zip(*train, strict=True)
            for gear in (driven, *idle)
        )
        or any(not same_bore(stud[0].bore_mm, stud[-1].bore_mm) for stud in train.studs if stud[0].is_loose)
        or any(_used_more_often(loose, lathe.loose))
        or not _are_clusters(clusters, lathe.clusters)
    )


def _used_more_often(used: Sequence[Gear], owned: Sequence[Gear]) -> Iterator[bool]:
    return (used.count(gear) > owned.count(gear) for gear in used)


def _are_clusters(studs: list[tuple[Gear, ...]], clusters: tuple[Cluster, ...]) -> bool:
    """Whether each of these studs can have a cluster of its own."""
    return any(
        all(
            stud in (cluster, cluster[::-1], cluster[:1], cluster[1:])
            for stud, cluster in zip(studs, chosen, strict=True)
        )
        for chosen in permutations(clusters, len(studs))
    )


def could_be_looser(lathe: OddLathe, train: Standing) -> bool:
    """Whether loose gears could stand in for one of its clusters: such as are left over, or are only idlers.

    Where they are idlers, they change places with the cluster: its gear of that count is the idler then.
    """
    idlers = [gear for mesh in train.idlers for gear in mesh]
    beside = list(lathe.loose)
    for gear in (*train.drivers, *train.driven):
        if gear.is_loose:
            beside.remove(gear)
    left = list(beside)
    for gear in filter(lambda idler: idler.is_loose, idlers):
        left.remove(gear)
    return any(
        all(map(Gear.looks_like, loose, stud)) and same_bore(loose[0].bore_mm, loose[-1].bore_mm)
        for stud in train.studs
        if not stud[0].is_loose
        for loose in permutations(beside if len(stud) == 2 else left, len(stud))
    )


# Lathes at random, few gears of few counts, so that much is equal and little goes.

FIRST_MODULE, OTHER_MODULE = 1.25, 1.0
_counts = st.sampled_from([20, 24, 30, 40, 45, 60, 80])
_bores = st.sampled_from([None, None, 12, 16])
_both = st.tuples(_counts, _counts)


def _line(key: str, value: object) -> str:
    return "" if value is None else f"{key} = {value}\n"


@st.composite
def _tables(draw: st.DrawFn, module: float, loose: int, most: int) -> tuple[str, list[Gear], list[Cluster]]:
    """A table of gears as text, its loose gears that are not damaged, and its clusters."""
    bore = draw(_bores)
    teeth = draw(st.lists(_counts, min_size=loose, max_size=most))
    damaged = teeth[:1] if draw(st.integers(0, 3)) == 0 else []
    clusters: list[Cluster] = []
    texts = []
    for one, other in draw(st.lists(_both, max_size=2)):
        modules = draw(st.sampled_from([(module, module), (module, module), (FIRST_MODULE, OTHER_MODULE)]))
        clusters.append(
            (Gear(one, modules[0], bore, (other, modules[1])), Gear(other, modules[1], bore, (one, modules[0])))
        )
        plain = modules == (module, module)
        texts.append(f"[{one}, {other}]" if plain else f"{{ teeth = [{one}, {other}], module_mm = {[*modules]} }}")
    text = f"teeth = {teeth}\ndamaged = {damaged}\nclusters = [{', '.join(texts)}]\n"
    text += f"module_mm = {module}\n{_line('bore_mm', bore)}"
    return text, [Gear(count, module, bore) for count in teeth[len(damaged) :]], clusters


@st.composite
def odd_lathes(draw: st.DrawFn, most: int = 9, more: str = "") -> OddLathe:
    """A lathe with up to so many gears; `more`: other sections of its file."""
    first, loose, clusters = draw(_tables(FIRST_MODULE, 3, 6))
    text = f"[gears]\n{first}"
    fixed: dict[str, Gear] = {}
    left = list(loose)
    for end in ("first_driver", "last_driven"):
        if left and draw(st.integers(0, 2)) == 0:
            fixed[end] = left.pop(draw(st.integers(0, len(left) - 1)))
    if fixed:
        text += f"fixed = {{ {', '.join(f'{end} = {gear.teeth}' for end, gear in fixed.items())} }}\n"
    if draw(st.booleans()):
        other, loose_too, clusters_too = draw(_tables(OTHER_MODULE, 1, 3))
        text += f"[[more_gears]]\n{other}"
        loose, clusters = loose + loose_too, clusters + clusters_too
    first_bore, last_bore = draw(_bores), draw(_bores)
    assume(len(loose) + 2 * len(clusters) <= most)
    side = f"same_way = {draw(_yes_or_no)}\nreverse = {draw(_yes_or_no)}\n{_line('takes_bore_mm', first_bore)}"
    screw = f'lead = "{draw(st.sampled_from(["3 mm", "8 tpi"]))}"\n{_line("takes_bore_mm", last_bore)}'
    head = f'name = "Odd lathe for tests"\n[leadscrew]\n{screw}[spindle_side]\n{side}'
    return OddLathe(
        f"{head}{more}{text}",
        tuple(loose),
        tuple(clusters),
        fixed.get("first_driver"),
        fixed.get("last_driven"),
        first_bore,
        last_bore,
    )


_yes_or_no = st.sampled_from(["true", "false"])
