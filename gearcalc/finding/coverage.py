"""How close to any lead a gear set comes: the gaps between the leads that it cuts, and the widest of them.

A lead wanted between two neighbours that can be cut is served by the nearer one. It is worst off half-way between
them, where it is as far from the one as from the other: with neighbours a < b at (a + b)/2, by (b − a)/(b + a) of it.
So nothing is sampled. Every lead that the gears cut is listed, exactly, and the worst is the worst of the gaps. Floats
only choose which few gaps are worked out.
"""

from __future__ import annotations

from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cached_property
from heapq import nlargest
from itertools import chain, pairwise
from math import fsum, inf, log, log1p
from typing import overload

from attrs import field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_meshes, as_number, as_whole
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import MILLION, NumberLike
from gearcalc.basics.writing import Units
from gearcalc.finding.tables import Table, tables_of
from gearcalc.lathes import Lathe, as_lathe

_MOST_MESHES = 4
_MOST_PAIRS = 4_000_000
_LEAST_MM, _MOST_MM = Fraction(1, 1000), Fraction(1000)
_NEARLY = 1e-14  # shares of a lead that floats can't be trusted to tell apart
_SERIES_BELOW = 1e-3
_WIDEST_SHOWN = 5
_PAIRS_AT_ONCE = 50_000
_SPARE_BITS = 64  # so that a float rounds them as it would the lead itself


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


class _Leads(Sequence[Fraction]):
    """Different leads, ascending, each as the two products that make it, since hundreds of thousands are soon there.

    `sizes`: the leads again as floats; a lead is one of `tops` over one of `bottoms`, whole numbers that many share.
    """

    def __init__(self) -> None:
        self.sizes, self.tops, self.bottoms = array("d"), list[int](), list[int]()

    @overload
    def __getitem__(self, place: int) -> Fraction: ...
    @overload
    def __getitem__(self, place: slice) -> list[Fraction]: ...
    def __getitem__(self, place: int | slice) -> Fraction | list[Fraction]:
        if isinstance(place, slice):
            return list(map(Fraction, self.tops[place], self.bottoms[place]))
        return Fraction(self.tops[place], self.bottoms[place])

    def __len__(self) -> int:
        return len(self.sizes)

    def add(self, top: int, bottom: int) -> None:
        """One more, longer than those that are there."""
        self.sizes.append(top / bottom)
        self.tops.append(top)
        self.bottoms.append(bottom)

    def keep(self, first: int, last: int) -> None:
        """Only those from one place to another."""
        for listed in (self.sizes, self.tops, self.bottoms):
            del listed[last + 1 :], listed[:first]


@frozen(slots=False)
class Coverage:
    """How close a gear set comes to any lead in a range. Made by coverage().

    `from_mm`, `to_mm`: the range; `meshes`: the numbers of meshes counted in; `inside`: how many different leads in
    the range the gears cut. `leads_mm`: those that serve some lead in the range, exact, ascending: they lie in it,
    but for at most one at either end. `below_mm`, `above_mm`: the nearest outside, None where there is none.
    `units`: what is read first.
    """

    lathe_name: str
    from_mm: Fraction
    to_mm: Fraction
    meshes: tuple[int, ...]
    inside: int
    _leads: _Leads = field(repr=False)
    below_mm: Fraction | None = None
    above_mm: Fraction | None = None
    units: Units = "mm"

    @cached_property
    def leads_mm(self) -> tuple[Fraction, ...]:
        """The leads that serve some lead in the range, exact, ascending."""
        return tuple(self._leads)

    @cached_property
    def worst(self) -> Gap:
        """The lead that is worst off, and its neighbours; the lowest such lead where there are several."""
        return self.widest(1)[0]

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
        leads, start, end = self._leads.sizes, float(self.from_mm), float(self.to_mm)
        inner = (_too_long((b - a) / (2 * a)) + _too_short((b - a) / (a + b)) for a, b in pairwise(leads))
        # Beyond the leads at either end; or less, where these lie outside.
        before = _too_short(leads[0] / start - 1) if leads[0] >= start else -_too_long(start / leads[0] - 1)
        behind = _too_long(end / leads[-1] - 1) if leads[-1] <= end else -_too_short(leads[-1] / end - 1)
        return fsum(chain((before, behind), inner)) / log(self.to_mm / self.from_mm) * MILLION

    def gaps(self) -> Iterator[Gap]:
        """List the worst lead of every gap from the start of the range to its end, both ends counted as gaps."""
        return map(self._gap, range(len(self._leads) + 1))

    def off_ppm(self, lead_mm: float) -> float:
        """Give how far a lead in the range is from the nearest that can be cut: ppm, a float."""
        lead_mm = float(as_number(lead_mm, what="lead_mm", above=True, most=10**6))
        leads, place = self._leads.sizes, bisect_left(self._leads.sizes, lead_mm)
        return min(abs(lead / lead_mm - 1) for lead in leads[max(place - 1, 0) : place + 1]) * MILLION

    def gaps_about(self) -> Iterator[tuple[float, float]]:
        """List the gaps as floats, for a picture: the worst lead of each, mm, and how far off it is, ppm."""
        middles = ((low + high) / 2 for low, high in pairwise(self._leads.sizes))
        places = chain((float(self.from_mm),), middles, (float(self.to_mm),))
        for at_mm, error in zip(places, self._errors, strict=True):
            yield at_mm, error * MILLION

    def widest(self, count: int = _WIDEST_SHOWN) -> list[Gap]:
        """List the `count` gaps with the leads that are worst off, worst first; one that is both ends is one."""
        most = as_whole(count, what="count", least=0)
        errors = self._errors
        enough = min(nlargest(most, errors), default=inf) - _NEARLY
        worst = [self._gap(place) for place, error in enumerate(errors) if error >= enough]
        once = dict.fromkeys(worst)  # where all of a range is one lead, its two ends are the same gap
        return sorted(once, key=lambda gap: (-gap.error, gap.at_mm))[:most]

    @cached_property
    def _errors(self) -> array[float]:
        """The error of each gap as a float, to know which few to work out exactly."""
        leads = self._leads.sizes
        start, end = abs(leads[0] / float(self.from_mm) - 1), abs(leads[-1] / float(self.to_mm) - 1)
        return array("d", chain((start,), ((b - a) / (a + b) for a, b in pairwise(leads)), (end,)))

    def _gap(self, place: int) -> Gap:
        """A gap, exactly: those at the two ends of the range are the first and the last."""
        leads = self._leads
        if place == 0:
            return self._edge(leads[0], self.from_mm)
        if place == len(leads):
            return self._edge(leads[-1], self.to_mm)
        below, above = leads[place - 1], leads[place]
        return Gap(below, above, (below + above) / 2, (above - below) / (above + below))

    def _edge(self, lead: Fraction, at: Fraction) -> Gap:
        """The gap that an end of the range lies in, seen from there."""
        leads = self._leads
        near = {self.below_mm, self.above_mm, *leads[:2], *leads[-2:]}
        known = sorted(lead for lead in near if lead is not None)
        place = bisect_left(known, at)
        above = known[place] if place < len(known) else None
        below = at if above == at else known[place - 1] if place else None
        return Gap(below, above, at, abs(lead / at - 1))

    def said(self, lead_mm: Fraction) -> markup.Written:
        """Say a lead as the owner reads it: in millimetres, or in threads per inch with the millimetres behind.

        >>> from gearcalc.lathes import demo_lathe
        >>> print(coverage(demo_lathe("inch"), 1, 2).said(Fraction(127, 80)))
        16 tpi (1.5875 mm)
        """
        lead_mm = as_number(lead_mm, what="lead_mm", above=True, most=10**6)
        return writing.length(lead_mm) if self.units == "mm" else writing.lead(lead_mm, first=self.units)

    @property
    def note(self) -> str:
        """Which trains count: the bracket, if the lathe file has one, is not asked."""
        return f"All trains of {writing.meshes(self.meshes)} from these gears count, those too that may not go on."

    def __str__(self) -> str:
        leads = "1 lead" if self.inside == 1 else f"{self.inside} different leads"
        return (
            f"{self.lathe_name}, {writing.meshes(self.meshes)}: {leads} "
            f"from {self.said(self.from_mm)} to {self.said(self.to_mm)}. Worst off is a lead of "
            f"{self.said(self.at_mm)}, {writing.ppm(self.worst_ppm)} from the nearest; on average "
            f"{writing.ppm(self.mean_ppm)}."
        )

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [
            ("range", self.said(self.from_mm) + " to " + self.said(self.to_mm)),
            ("different leads in it", str(self.inside)),
            ("worst error", writing.ppm(self.worst_ppm)),
            ("for a lead of", writing.lead(self.at_mm, first=self.units)),
            ("mean error", writing.ppm(self.mean_ppm)),
        ]
        for name, lead in (("nearest below it", self.worst.below_mm), ("nearest above it", self.worst.above_mm)):
            rows.append((name, "none" if lead is None else writing.lead(lead, first=self.units)))
        return markup.html_table(f"Coverage of {self.lathe_name}", rows, note=self.note)


def coverage(
    lathe: Lathe, lead_from_mm: NumberLike, lead_to_mm: NumberLike, meshes: int | Iterable[int] = (1, 2)
) -> Coverage:
    """Find the worst error for any lead in a range with this gear set, certified from the gaps between what it cuts.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(coverage(demo_lathe("inch"), 1, 2))
    Bench lathe with an inch leadscrew, 1 or 2 meshes: 1131 different leads from 25.4 tpi (1 mm) to 12.7 tpi \
(2 mm). Worst off is a lead of ≈ 14.836 tpi (≈ 1.7121 mm), 1427 ppm from the nearest; on average 223.5 ppm.
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
    numbers = as_meshes(meshes, most=_MOST_MESHES)
    leads, inside, below, above = _leads(lathe, numbers, start, end)
    if not leads:
        raise NotPossibleError(
            "there is no train at all with these gears and meshes", remedy="Give more gears, or fewer meshes."
        )
    leads.keep(_nearest(leads, start), _nearest(leads, end))
    return Coverage(lathe.name, start, end, numbers, inside, leads, below, above, lathe.units)


def _range_of(lead_from_mm: object, lead_to_mm: object) -> tuple[Fraction, Fraction]:
    start, end = (
        as_number(lead, what=name, least=_LEAST_MM, most=_MOST_MM, unit="mm")
        for name, lead in (("lead_from_mm", lead_from_mm), ("lead_to_mm", lead_to_mm))
    )
    if start > end:
        raise ValueOutOfRangeError(
            "a range must begin with the smaller lead", value=start, remedy="Give the smaller lead first."
        )
    return start, end


def _leads(
    lathe: Lathe, numbers: Sequence[int], start: Fraction, end: Fraction
) -> tuple[_Leads, int, Fraction | None, Fraction | None]:
    """The leads in the range and the nearest outside; how many are in it; and those outside again."""
    tables = [table for meshes in numbers for table in tables_of(lathe.gear_set, meshes)]
    factors = {lathe.leadscrew.lead * lathe.spindle_ratio * (lever.ratio if lever else 1) for lever in lathe.positions}
    pairs = sum(len(table.over.values) * len(table.under.values) for table in tables) * len(factors)
    if pairs > _MOST_PAIRS:
        raise NotPossibleError(
            f"with {len(lathe.gears)} gears there are too many trains to list",
            remedy="Give fewer gears, or fewer meshes.",
        )
    trains = [_Trains(table, factor) for table in tables for factor in factors]
    below = max((lead for each in trains for lead in each.next_to(start, -1)), default=None)
    above = min((lead for each in trains for lead in each.next_to(end, 1)), default=None)
    found = _Leads()
    if below is not None:
        found.add(*below.as_integer_ratio())
    inside = _list_all(found, trains, _cuts(start, end, 1 + pairs // _PAIRS_AT_ONCE))
    if above is not None:
        found.add(*above.as_integer_ratio())
    return found, inside, below, above


class _Trains:
    """The trains of one table with the lever in one position: whole numbers that the leads are quotients of."""

    def __init__(self, table: Table, factor: Fraction) -> None:
        top, bottom = factor.as_integer_ratio()
        over = table.over.choices(drivers=True)
        self.tops, self.pieces = [top * product for product, _ in over], [pieces for _, pieces in over]
        self.under = [(bottom * product, pieces) for product, pieces in table.under.choices(drivers=False)]

    def next_to(self, bound: Fraction, way: int) -> Iterator[Fraction]:
        """With each driven side the nearest lead below (−1) or above (1) the bound."""
        for bottom, pieces in self.under:
            limit = bound * bottom
            place = bisect_left(self.tops, limit) - 1 if way < 0 else bisect_right(self.tops, limit)
            while 0 <= place < len(self.tops) and pieces & self.pieces[place]:
                place += way
            if 0 <= place < len(self.tops):
                yield Fraction(self.tops[place], bottom)

    def between(self, low: Fraction, high: Fraction, shift: int) -> Iterator[dict[int, int]]:
        """Leads from the one to the other, as whole numbers, times 2^shift and what is left over cut off: their tops.

        Only of such gears as can stand at once: no piece on both sides.
        """
        (low_top, low_bottom), (high_top, high_bottom) = low.as_integer_ratio(), high.as_integer_ratio()
        for bottom, pieces in self.under:
            first = bisect_left(self.tops, -(-low_top * bottom // low_bottom))
            tops = self.tops[first : bisect_right(self.tops, high_top * bottom // high_bottom)]
            yield {
                (top << shift) // bottom: top
                for top, others in zip(tops, self.pieces[first:], strict=False)
                if not pieces & others
            }


def _list_all(found: _Leads, trains: Sequence[_Trains], cuts: Sequence[Fraction]) -> int:
    """Add the leads between the cuts, and say how many they are.

    Two leads that differ, of whole numbers below 2^n, differ by more than 2^-2n: so that much is kept of each.
    """
    every_bottom = {bottom: bottom for each in trains for bottom, _ in each.under}
    shift = _SPARE_BITS + 2 * max(every_bottom, default=1).bit_length()
    one, before = 1 << shift, len(found)
    last: int | None = None
    for low, high in pairwise(cuts):
        tops: dict[int, int] = {}
        for each in trains:
            for more in each.between(low, high, shift):
                tops.update(more)
        leads = sorted(tops)
        if leads and leads[0] == last:  # it lies on the cut
            del leads[0]
        found.sizes.extend([lead / one for lead in leads])
        found.tops += [tops[lead] for lead in leads]
        found.bottoms += [every_bottom[(tops[lead] << shift) // lead] for lead in leads]
        last = leads[-1] if leads else last
    return len(found) - before


def _cuts(start: Fraction, end: Fraction, parts: int) -> list[Fraction]:
    """Where a range is cut, so that few leads are in hand at once."""
    inner = (float(start) * (end / start) ** (part / parts) for part in range(1, parts))
    return [start, *(Fraction(cut) for cut in inner if start < cut < end), end]


def _nearest(leads: Sequence[Fraction], wanted: Fraction) -> int:
    """The place of the lead nearest to what is wanted, the lower of two."""
    place = bisect_left(leads, wanted)
    if place == len(leads) or (place and wanted - leads[place - 1] <= leads[place] - wanted):
        return place - 1
    return place


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
