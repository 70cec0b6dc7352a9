"""How close to any lead a gear set comes: the gaps between the leads that it cuts, and the widest of them.

A lead wanted between two neighbours that can be cut is served by the nearer one. It is worst off half-way between
them, where it is as far from the one as from the other: with neighbours a < b at (a + b)/2, by (b − a)/(b + a) of it.
So nothing is sampled. Every lead that the gears cut is listed, exactly, and the worst is the worst of the gaps.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cached_property
from itertools import groupby, pairwise
from math import fsum, gcd, log, log1p

from attrs import field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_number, as_whole, as_wholes
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import MILLION, NumberLike
from gearcalc.finding.products import Products
from gearcalc.lathes import Lathe, as_lathe

_MOST_MESHES = 4
_MOST_PAIRS = 4_000_000
_LEAST_MM, _MOST_MM = Fraction(1, 1000), Fraction(1000)
_NEARLY = 1e-14  # shares of a lead that floats can't be trusted to tell apart
_SERIES_BELOW = 1e-3
_WIDEST_SHOWN = 5

Pair = tuple[int, int]


@frozen
class Gap:
    """A lead that lies worst between its neighbours. Made by coverage().

    `below_mm`, `above_mm`: the nearest leads that can be cut, None where there is none on that side.
    `at_mm`: the lead in between that is worst off; `error`: how far, a share of it, exact.
    """

    below_mm: Fraction | None
    above_mm: Fraction | None
    at_mm: Fraction
    error: Fraction

    @property
    def ppm(self) -> float:
        """The same in ppm, without a sign."""
        return float(self.error * MILLION)


@frozen(slots=False)
class Coverage:
    """How close a gear set comes to any lead in a range. Made by coverage().

    `from_mm`, `to_mm`: the range; `meshes`: the numbers of meshes counted in; `inside`: how many different leads in
    the range the gears cut. `leads_mm`: those that serve some lead in the range, exact, ascending: they lie in it,
    but for at most one at either end. `below_mm`, `above_mm`: the nearest outside, None where there is none.
    """

    lathe_name: str
    from_mm: Fraction
    to_mm: Fraction
    meshes: tuple[int, ...]
    inside: int
    leads_mm: tuple[Fraction, ...] = field(repr=False)
    below_mm: Fraction | None = None
    above_mm: Fraction | None = None

    @cached_property
    def worst(self) -> Gap:
        """The lead that is worst off, and its neighbours; the lowest such lead where there are several."""
        errors = [max(self._errors_of(place)) for place in range(len(self.leads_mm))]
        near = max(errors) - _NEARLY
        gaps = (gap for place, error in enumerate(errors) if error >= near for gap in self._gaps_of(place))
        return min(gaps, key=lambda gap: (-gap.error, gap.at_mm))

    @property
    def worst_ppm(self) -> float:
        """No lead in the range is further than this from one that can be cut: ppm of the lead wanted."""
        return self.worst.ppm

    @property
    def at_mm(self) -> Fraction:
        """A lead that is that far off, mm, exact."""
        return self.worst.at_mm

    @cached_property
    def mean_ppm(self) -> float:
        """The mean of |error| over the range, ln(lead) uniform: 1 to 2 mm counts as much as 2 to 4 mm."""
        if self.from_mm == self.to_mm:
            return self.worst_ppm
        areas = (_area(float(lead), *self._stretch(place)) for place, lead in enumerate(self.leads_mm))
        return fsum(areas) / log(self.to_mm / self.from_mm) * MILLION

    def gaps(self) -> Iterator[Gap]:
        """List the worst lead of every gap from the start of the range to its end, both ends counted as gaps."""
        for place in range(len(self.leads_mm)):
            start, end = self._gaps_of(place)
            yield start
        yield end

    def widest(self, count: int = _WIDEST_SHOWN) -> list[Gap]:
        """List the `count` gaps with the leads that are worst off, worst first."""
        most = as_whole(count, what="count", least=0)
        return sorted(self.gaps(), key=lambda gap: (-gap.error, gap.at_mm))[:most]

    @cached_property
    def _borders(self) -> list[float]:
        """Where one lead hands over to the next, from the start of the range to its end."""
        middles = [(low + high) / 2 for low, high in pairwise(map(float, self.leads_mm))]
        return [float(self.from_mm), *middles, float(self.to_mm)]

    def _stretch(self, place: int) -> tuple[float, float]:
        """From where to where a lead serves."""
        return self._borders[place], self._borders[place + 1]

    def _errors_of(self, place: int) -> tuple[float, float]:
        """The errors at the ends of its stretch as floats, to know which few to work out exactly."""
        lead = float(self.leads_mm[place])
        low, high = self._stretch(place)
        return abs(lead / low - 1), abs(lead / high - 1)

    def _gaps_of(self, place: int) -> tuple[Gap, Gap]:
        """The gaps at the two ends of the stretch that a lead serves, exactly."""
        leads, lead = self.leads_mm, self.leads_mm[place]
        before = leads[place - 1] if place else None
        after = leads[place + 1] if place + 1 < len(leads) else None
        start = Gap(before, lead, (before + lead) / 2, (lead - before) / (lead + before)) if before else None
        end = Gap(lead, after, (lead + after) / 2, (after - lead) / (after + lead)) if after else None
        return start or self._edge(lead, self.from_mm), end or self._edge(lead, self.to_mm)

    def _edge(self, lead: Fraction, at: Fraction) -> Gap:
        """The gap that an end of the range lies in, seen from there."""
        known = sorted({lead for lead in (self.below_mm, *self.leads_mm, self.above_mm) if lead is not None})
        place = bisect_left(known, at)
        above = known[place] if place < len(known) else None
        below = at if above == at else known[place - 1] if place else None
        return Gap(below, above, at, abs(lead / at - 1))

    def __str__(self) -> str:
        leads = "1 lead" if self.inside == 1 else f"{self.inside} different leads"
        return (
            f"{self.lathe_name}, {writing.meshes(self.meshes)}: {leads} "
            f"from {writing.length(self.from_mm)} to {writing.length(self.to_mm)}. Worst off is a lead of "
            f"{writing.length(self.at_mm)}, {writing.ppm(self.worst_ppm)} from the nearest; on average "
            f"{writing.ppm(self.mean_ppm)}."
        )

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [
            ("range", writing.length(self.from_mm) + " to " + writing.length(self.to_mm)),
            ("different leads in it", str(self.inside)),
            ("worst error", writing.ppm(self.worst_ppm)),
            ("for a lead of", writing.lead(self.at_mm)),
            ("mean error", writing.ppm(self.mean_ppm)),
        ]
        for name, lead in (("nearest below it", self.worst.below_mm), ("nearest above it", self.worst.above_mm)):
            rows.append((name, "none" if lead is None else writing.lead(lead)))
        note = f"All trains of {writing.meshes(self.meshes)} from these gears; fit not checked."
        return markup.html_table(f"Coverage of {self.lathe_name}", rows, note=note)


def coverage(
    lathe: Lathe, lead_from_mm: NumberLike, lead_to_mm: NumberLike, meshes: int | Iterable[int] = (1, 2)
) -> Coverage:
    """Find the worst error for any lead in a range with this gear set, certified from the gaps between what it cuts.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(coverage(demo_lathe("inch"), 1, 2))
    Bench lathe with an inch leadscrew, 1 or 2 meshes: 1131 different leads from 1 mm to 2 mm. Worst off is a lead of \
≈ 1.7121 mm, 1427 ppm from the nearest; on average 223.5 ppm.
    >>> coverage(Lathe.from_toml('name = "a"\\nleadscrew.lead = "4 mm"\\ngears.teeth = [20, 40]'), 2, 8).worst.at_mm
    Fraction(5, 1)

    `lathe`: a Lathe. `lead_from_mm`, `lead_to_mm`: the range, mm, 0.001 to 1000, exact. `meshes`: numbers of pairs, 1
    to 4. Every lever position is counted in, and every train of those meshes that the gears allow, two equal gears
    (1:1) too. find_setups() looks at one to three meshes, so give meshes=(1, 2, 3) to count what it finds. Whether a
    train goes on the bracket is not looked at: it would be one check for each of thousands of trains.
    Raises ValueOutOfRangeError for arguments outside these, NotPossibleError when there are too few gears for any
    train, or so many that more than four million pairs of products would have to be looked at.
    Formula: between neighbours a < b the worst lead is (a + b)/2, and its error (b − a)/(b + a).
    """
    lathe = as_lathe(lathe)
    start, end = _range_of(lead_from_mm, lead_to_mm)
    numbers = as_wholes(meshes, what="meshes", most=_MOST_MESHES)
    leads = _in_order(_leads(lathe, numbers, start, end))
    if not leads:
        raise NotPossibleError(
            "there is no train at all with these gears and meshes", remedy="Give more gears, or fewer meshes."
        )
    inside = bisect_right(leads, end) - bisect_left(leads, start)
    first, last = _nearest(leads, start), _nearest(leads, end)
    below, above = bisect_left(leads, start), bisect_right(leads, end)
    return Coverage(
        lathe.name,
        start,
        end,
        numbers,
        inside,
        tuple(leads[first : last + 1]),
        below_mm=leads[below - 1] if below else None,
        above_mm=leads[above] if above < len(leads) else None,
    )


def _range_of(lead_from_mm: object, lead_to_mm: object) -> tuple[Fraction, Fraction]:
    start, end = (
        as_number(lead, what=name, least=float(_LEAST_MM), most=_MOST_MM, unit="mm")
        for name, lead in (("lead_from_mm", lead_from_mm), ("lead_to_mm", lead_to_mm))
    )
    if start > end:
        raise ValueOutOfRangeError(
            "a range must begin with the smaller lead", value=start, remedy="Give the smaller lead first."
        )
    return start, end


def _leads(lathe: Lathe, numbers: Sequence[int], start: Fraction, end: Fraction) -> set[Pair]:
    """Every lead in the range as a fraction in lowest terms, and for each driven product the nearest outside."""
    found: set[Pair] = set()
    tables = [Products.of(lathe.gear_set, meshes) for meshes in numbers]
    factors = {lathe.leadscrew.lead * lathe.spindle_ratio * (lever.ratio if lever else 1) for lever in lathe.positions}
    if sum(len(table.values) ** 2 for table in tables) * len(factors) > _MOST_PAIRS:
        raise NotPossibleError(
            f"with {len(lathe.gears)} gears there are too many trains to list",
            remedy="Give fewer gears, or fewer meshes.",
        )
    for table in tables:
        for factor in factors:
            top, bottom = factor.as_integer_ratio()
            for over, under in _near(table, start / factor, end / factor):
                over, under = over * top, under * bottom
                common = gcd(over, under)
                found.add((over // common, under // common))
    return found


def _near(table: Products, low: Fraction, high: Fraction) -> Iterator[Pair]:
    """The products that give ratios from `low` to `high`, and with each driven one the next outside.

    Only such as can stand at once: there are gears enough for both sides.
    """
    values = table.values

    def stand(over: int, under: int) -> bool:
        return next(table.trains_of(over, under), None) is not None

    for under in values:
        first = bisect_left(values, under * low.numerator / low.denominator * (1 - 1e-12))
        end = bisect_right(values, under * high.numerator / high.denominator * (1 + 1e-12))
        for over in values[first:end]:
            if stand(over, under):
                yield over, under
        for outside in (reversed(values[:first]), values[end:]):
            nearest = next((over for over in outside if stand(over, under)), None)
            if nearest is not None:
                yield nearest, under


def _in_order(pairs: set[Pair]) -> list[Fraction]:
    """Fractions in ascending order. Dividing whole numbers rounds correctly, so only equal floats are compared."""
    by_size = sorted(pairs, key=lambda pair: pair[0] / pair[1])
    ordered: list[Fraction] = []
    for _, alike in groupby(by_size, key=lambda pair: pair[0] / pair[1]):
        ordered += sorted(Fraction(*pair) for pair in alike)
    return ordered


def _nearest(leads: Sequence[Fraction], wanted: Fraction) -> int:
    """The place of the lead nearest to what is wanted, the lower of two."""
    place = bisect_left(leads, wanted)
    if place == len(leads) or (place and wanted - leads[place - 1] <= leads[place] - wanted):
        return place - 1
    return place


def _area(lead: float, low: float, high: float) -> float:
    """The integral of |x − lead|/x over ln x, from `low` to `high`."""
    if lead <= low:
        return _too_long(high / lead - 1) - _too_long(low / lead - 1)
    if lead >= high:
        return _too_short(lead / low - 1) - _too_short(lead / high - 1)
    return _too_short(lead / low - 1) + _too_long(high / lead - 1)


def _too_long(u: float) -> float:
    """∫ (x − lead)/x d ln x from the lead to (1 + u) × the lead: ln(1 + u) − u/(1 + u)."""
    if u < _SERIES_BELOW:  # the two terms are nearly equal, and their difference would be all rounding
        return u * u * (1 / 2 - u * (2 / 3 - u * (3 / 4 - u * 4 / 5)))
    return log1p(u) - u / (1 + u)


def _too_short(u: float) -> float:
    """∫ (lead − x)/x d ln x from the lead/(1 + u) to the lead: u − ln(1 + u)."""
    if u < _SERIES_BELOW:
        return u * u * (1 / 2 - u * (1 / 3 - u * (1 / 4 - u / 5)))
    return u - log1p(u)
