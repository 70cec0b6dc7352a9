"""Sizes of tooth and bores, table by table of the lathe file, and the gears of each table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from math import isclose
from typing import Any, NamedTuple, Self

from attrs import Attribute, evolve, field, frozen
from attrs.converters import optional as convert_optional
from attrs.validators import optional

from gearcalc.basics.arguments import as_teeth
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.writing import decimal
from gearcalc.lathes.parts import BORE, as_tuple, between, key_of
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.trains import Gears, as_gears

MOST_GEARS = 1000
_MODULE: Any = optional(between(0, 20, above=True))
_PITCH: Any = optional(between(0, 200, above=True))
_MM_IN_AN_INCH = 25.4


class Size(NamedTuple):
    """What must agree in a mesh, module and pressure angle, and on a stud, the bore; None where the file says nothing.

    A bore of None goes on every shaft and stud.
    """

    module_mm: float | None
    pressure_angle_deg: float
    bore_mm: float | None

    def meshes_with(self, other: Size) -> bool:
        """Whether gears of the two can mesh."""
        return self.pressure_angle_deg == other.pressure_angle_deg and same_module(self.module_mm, other.module_mm)

    def goes_on(self, bore_mm: float | None) -> bool:
        """Whether it goes on a shaft or stud that takes this bore; None takes any."""
        return self.bore_mm is None or bore_mm is None or self.bore_mm == bore_mm


def same_module(one: float | None, other: float | None) -> bool:
    """Whether two modules are one, DP 25.4 the same as module 1; None only as None.

    >>> same_module(25.4 / 25.4, 1), same_module(None, 1)
    (True, False)
    """
    return one == other if one is None or other is None else isclose(one, other, rel_tol=1e-9)


def counted(given: object) -> Gears:
    """Tooth counts, ascending."""
    return tuple(sorted(map(plain, as_gears(given, most=MOST_GEARS))))


def _in_order(given: object) -> Gears:
    return as_gears(given, most=MOST_GEARS)


def _two(_: object, attribute: Attribute[Any], value: tuple[Any, ...] | None) -> None:
    if value is not None and len(value) != 2:
        raise ValueOutOfRangeError(
            "a cluster is two gears in one piece, so this has two entries", value=list(value), where=key_of(attribute)
        )


def _each(check: Any) -> Any:
    def check_each(part: object, attribute: Attribute[Any], value: tuple[Any, ...] | None) -> None:
        for each in value or ():
            check(part, attribute, each)

    return check_each


def one_way(part: Any) -> None:
    """Refuse a size that is given twice."""
    if part.module_mm is not None and part.diametral_pitch is not None:
        raise ValueOutOfRangeError("give module_mm or diametral_pitch, not both")


@frozen
class Cluster:
    """Two gears in one piece; the module or diametral pitch of each where it is not that of the table they stand in.

    >>> Cluster([40, 50]).teeth, Cluster([50, 45], module_mm=[1.25, 1]).module_mm
    ((40, 50), (1.25, 1))

    Raises ValueOutOfRangeError for more gears or fewer.
    """

    teeth: tuple[int, ...] = field(converter=_in_order, validator=_two)
    module_mm: tuple[float, ...] | None = field(
        default=None, converter=convert_optional(as_tuple), validator=[_two, _each(_MODULE)]
    )
    diametral_pitch: tuple[float, ...] | None = field(
        default=None, converter=convert_optional(as_tuple), validator=[_two, _each(_PITCH)]
    )

    __attrs_post_init__ = one_way


def as_clusters(given: object) -> tuple[Cluster, ...]:
    """Clusters, each given as one, or as its two tooth counts."""
    return tuple(each if isinstance(each, Cluster) else Cluster(each) for each in as_tuple(given))  # type: ignore[arg-type]


@frozen(slots=False, cache_hash=True)
class GearTable:
    """Gears of one size as the lathe file lists them: `teeth` as counted, owned twice listed twice.

    >>> GearTable([30, 60, 60], module_mm=1, damaged=[60]).usable
    (30, 60)

    `damaged`: those of `teeth` that are never used; `clusters`: pairs in one piece, besides those in `teeth`;
    `bore_mm`: None goes on every shaft and stud. At most 1000 gears of 6 to 1000 teeth and 10 clusters; `module_mm` to
    20 or `diametral_pitch` to 200; pressure angle 10 to 30.
    """

    teeth: Gears = field(converter=counted)
    module_mm: float | None = field(default=None, validator=_MODULE)
    diametral_pitch: float | None = field(default=None, validator=_PITCH)
    pressure_angle_deg: float = field(default=20, validator=between(10, 30))
    bore_mm: float | None = field(default=None, validator=BORE)
    damaged: Gears = field(default=(), converter=counted)
    clusters: tuple[Cluster, ...] = field(default=(), converter=as_clusters)

    __attrs_post_init__ = one_way

    @damaged.validator
    def _owned_as_often(self, _: object, value: Gears) -> None:
        for teeth, times in (Counter(value) - Counter(self.teeth)).items():
            raise ValueOutOfRangeError(
                f"{teeth} is damaged {'more often than it is' if teeth in self.teeth else 'and not'} among teeth",
                value=list(value),
                where="damaged",
                remedy="List a damaged gear under teeth too; here as often as it is damaged." if times else "",
            )

    @clusters.validator
    def _not_too_many(self, _: object, value: tuple[Cluster, ...]) -> None:
        if len(value) > 10:
            raise ValueOutOfRangeError("at most 10 clusters are taken here", value=len(value), where="clusters")

    def now_of(self, left: Sequence[int], more: Sequence[int] = ()) -> Self:
        """The same with these left of its gears, of a count the damaged ones gone first, and with more of them.

        >>> GearTable([30, 60, 60], module_mm=1, damaged=[60]).now_of([60], [40]).usable
        (40, 60)
        """
        gone = Counter(self.teeth) - Counter(left)
        return evolve(self, teeth=(*left, *more), damaged=(Counter(self.damaged) - gone).elements())

    @property
    def usable(self) -> Gears:
        """The loose gears that are not damaged, ascending."""
        return tuple(sorted((Counter(self.teeth) - Counter(self.damaged)).elements()))

    @property
    def size(self) -> Size:
        """The size of its gears."""
        return Size(_module(self.module_mm, self.diametral_pitch), self.pressure_angle_deg, self.bore_mm)

    @property
    def size_in_words(self) -> str:
        """The module or diametral pitch, as it is given."""
        return _in_words(self.module_mm, self.diametral_pitch)

    def halves(self) -> Iterator[tuple[tuple[int, Size, str], tuple[int, Size, str]]]:
        """The two gears of each cluster: teeth, size, and module or pitch in words."""
        for cluster in self.clusters:
            modules, pitches = cluster.module_mm or (None, None), cluster.diametral_pitch or (None, None)
            one, other = (
                (teeth, self.size, self.size_in_words)
                if module is None and pitch is None
                else (teeth, self.size._replace(module_mm=_module(module, pitch)), _in_words(module, pitch))
                for teeth, module, pitch in zip(cluster.teeth, modules, pitches, strict=True)
            )
            yield one, other


def _module(module_mm: float | None, diametral_pitch: float | None) -> float | None:
    return module_mm if diametral_pitch is None else _MM_IN_AN_INCH / diametral_pitch


def _in_words(module_mm: float | None, diametral_pitch: float | None) -> str:
    if diametral_pitch is not None:
        return f"DP {decimal(diametral_pitch, 6)}"
    return "no module" if module_mm is None else f"module {decimal(module_mm, 6)}"


def kind_in_words(size: Size, words: str, first: Size) -> str:
    """What sets a size apart from the first table's; empty where nothing does.

    >>> first = Size(1.25, 20, 12)
    >>> kind_in_words(Size(1, 14.5, 14), "module 1", first), kind_in_words(Size(1.25, 20, None), "module 1.25", first)
    ('module 1, 14.5°, bore 14', 'any bore')
    """
    said = [] if same_module(size.module_mm, first.module_mm) else [words]
    if size.pressure_angle_deg != first.pressure_angle_deg:
        said.append(f"{decimal(size.pressure_angle_deg, 6)}°")
    if size.bore_mm != first.bore_mm:
        said.append("any bore" if size.bore_mm is None else f"bore {decimal(size.bore_mm, 6)}")
    return ", ".join(said)


def first_size_in_words(first: Size, words: str, sizes: Collection[Size]) -> str:
    """What sets the first table's size apart from the others; empty where there are none.

    >>> first = Size(1.25, 20, 12)
    >>> first_size_in_words(first, "module 1.25", [first, Size(1, 20, 14)])
    'module 1.25, bore 12'
    >>> first_size_in_words(first, "", [first]), first_size_in_words(Size(None, 20, 12), "no module", [first])
    ('', 'the first size')
    """
    others = [size for size in sizes if size != first]
    if not others:
        return ""
    said = ["the first size" if first.module_mm is None else words]
    if any(other.pressure_angle_deg != first.pressure_angle_deg for other in others):
        said.append(f"{decimal(first.pressure_angle_deg, 6)}°")
    if any(other.bore_mm != first.bore_mm for other in others):
        said.append("any bore" if first.bore_mm is None else f"bore {decimal(first.bore_mm, 6)}")
    return ", ".join(said)


@frozen
class Fixed:
    """Gears that can't be changed; None where the place is free.

    >>> Fixed(first_driver=40).first_driver
    40
    """

    first_driver: int | None = field(default=None, converter=convert_optional(as_teeth))
    last_driven: int | None = field(default=None, converter=convert_optional(as_teeth))
