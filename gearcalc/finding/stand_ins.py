"""Gears for a ratio, without a lathe: which gears make it up exactly, and what can stand in when none do.

Source of the argument about primes: unique factorisation (Hardy and Wright, An Introduction to the Theory of
Numbers, ch. I–II, chapters from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from heapq import nsmallest
from itertools import groupby, islice

from attrs import frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_meshes, as_whole, is_several, within
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, ExactLike, NumberLike, RelativeError, as_exact, coefficient
from gearcalc.basics.listed import Numbered
from gearcalc.basics.markup import ShownAsWritten
from gearcalc.finding.fractions import factor
from gearcalc.finding.products import Products, Tie, closest
from gearcalc.lathes import GearSet
from gearcalc.lathes.trains import ORDINALS, Train, steepest_mesh
from gearcalc.threads.deviations import deviation_um

_MOST_STAND_INS = 10_000
_SHOWN = 5
_LENGTHS_MM = (25, 100)


@frozen
class StandIn(ShownAsWritten):
    """A train that comes near a ratio, and what the miss costs. Made by stand_ins().

    >>> best = StandIn((80,), (63,), Fraction(127, 100))
    >>> print(best)
    80/63: −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    >>> best.ratio
    Fraction(80, 63)

    `drivers`, `driven`: ascending, which is also the order with the mildest steepest mesh.
    `wanted`: the ratio asked for, exact.
    """

    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    wanted: Exact

    @property
    def train(self) -> Train:
        """The gears as a train, without idlers."""
        return Train(self.drivers, self.driven)

    @property
    def ratio(self) -> Fraction:
        """What the gears give: drivers over driven."""
        return self.train.ratio

    @property
    def error(self) -> RelativeError:
        """(ratio − wanted) / wanted, exact: positive when a thread cut with it comes out too long."""
        return RelativeError(self.ratio, self.wanted)

    @property
    def error_ppm(self) -> float:
        return self.error.ppm

    @property
    def is_exact(self) -> bool:
        return self.error.is_exact

    def off_um(self, length_mm: NumberLike) -> float:
        """Give how far the thread is off at the end of a length, in µm, positive when it is too long.

        `length_mm`: millimetres of thread, more than zero. Raises ValueOutOfRangeError for anything else.
        """
        return deviation_um(self.error, length_mm)

    @property
    def written(self) -> markup.Written:
        """The gears, the error and its cost, for text, LaTeX and HTML."""
        said = self.train.written + ": " + writing.error(self.error)
        if self.is_exact:
            return said
        for length_mm in _LENGTHS_MM:
            said = said + ", " + writing.micrometres(self.off_um(length_mm)) + f" in {length_mm} mm"
        return said


class StandInList(Numbered[StandIn]):
    """Stand-ins, nearest first: a list like any other, to be read and not changed.

    >>> print(StandInList([StandIn((80,), (63,), Fraction(127, 100))]))
    1. 80/63: −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    >>> print(StandInList())
    No stand-ins: there are too few gears for any train.
    """

    def __str__(self) -> str:
        return "\n".join(self.lines) or "No stand-ins: there are too few gears for any train."

    def _repr_html_(self) -> str:
        if not self:
            return f"<p>{markup.in_html(str(self))}</p>"
        names = ("place", "train", "ratio", "error", *(f"over {length} mm" for length in _LENGTHS_MM))
        rows: list[list[str | markup.Written]] = []
        for number, near in enumerate(self, 1):
            off = (writing.micrometres(near.off_um(length)) for length in _LENGTHS_MM)
            rows.append([str(number), near.train.written, writing.ratio(near.ratio), writing.error(near.error), *off])
        return markup.html_columns(markup.plain("Stand-ins for ") + writing.number(self[0].wanted), names, rows)


def stand_ins(x: ExactLike, gears: Iterable[int], meshes: int | Iterable[int] = (1, 2), count: int = 20) -> StandInList:
    """Find the trains that come nearest to a ratio, nearest first; exact ones, where there are any, before all others.

    >>> owned = [20, 24, 30, 33, 36, 40, 42, 45, 48, 52, 60, 63, 66, 80]
    >>> for near in stand_ins("127/100", owned, count=3):
    ...     print(near)
    80/63: −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    (40 · 48)/(36 · 42): −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    (40 · 66)/(33 · 63): −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    >>> import sympy
    >>> print(stand_ins(sympy.pi, range(20, 128), count=1)[0].ratio)
    355/113

    `x`: an int, a Fraction, 'a/b' text, or a rational times π (sympy.pi, or 'pi'), from 10^-6 to 10^6: drivers over
    driven.
    `gears`: tooth counts owned (twice = owned twice), or a range of tooth counts, each used at most once; 6 to 1000.
    `meshes`: how many pairs, a whole number from 1 to 6 or several. `count`: at most so many answers, 1 to 10000.
    A tooth count that is owned twice stands on both sides only where no shorter train of those `meshes` does the same:
    for 1:1 two equal gears. Order: |exact error|, then fewest gears, the mildest steepest mesh, tooth
    counts. An empty list when there are too few gears for any train.
    Raises ValueOutOfRangeError for arguments outside these, NotPossibleError when there are more than half a million
    ways to choose one side.
    """
    wanted = within(as_exact(x, what="the ratio wanted"), what="the ratio wanted", above=True)
    tables = _tables(_gear_set(gears), meshes)
    most = as_whole(count, what="count", most=_MOST_STAND_INS)
    nearest = islice(_handiest(closest([wanted], tables), most), most)
    return StandInList(StandIn(train.drivers, train.driven, wanted) for train in nearest)


def _handiest(ties: Iterable[Tie], most: int) -> Iterator[Train]:
    """Trains tie by tie, the handiest `most` of each tie first."""
    for tie in ties:
        left = most
        for _, same_meshes in groupby(tie.trains(), lambda found: len(found.drivers)):  # fewest meshes first
            chosen = nsmallest(
                left, (found[1:] for found in same_meshes), lambda sides: (steepest_mesh(*sides), *sides)
            )
            yield from (Train(*sides) for sides in chosen)
            left -= len(chosen)
            if not left:
                break


def _tables(gears: GearSet, meshes: int | Iterable[int]) -> list[Products]:
    return [Products.of(gears, number) for number in as_meshes(meshes, most=len(ORDINALS))]


def _gear_set(gears: Iterable[int]) -> GearSet:
    if not is_several(gears):
        raise ValueOutOfRangeError(
            "gears must be a list of tooth counts or a range of them",
            value=gears,
            remedy="Write it like [20, 30, 40, 40] or range(20, 128).",
        )
    return GearSet(gears)


@frozen
class MissingPrime:
    """A prime that the ratio needs more often than the gears of a set have it, all of them together.

    `side`: "drivers" or "driven". `needed`, `there`: how often it divides the ratio, and all gears of the set.
    """

    prime: int
    side: str
    needed: int
    there: int

    @property
    def why(self) -> str:
        """Why nothing gets round it, in words."""
        if self.there:
            once = "once" if self.there == 1 else f"{self.there} times"
            return (
                f"{self.prime} is a prime, and the {self.side} must have it as a factor {self.needed} times between "
                f"them; all the gears of the set together have it only {once}."
            )
        return (
            f"{self.prime} is a prime, so it can't be split between two gears: one of the {self.side} must be a "
            f"multiple of {self.prime} ({self.prime}, {2 * self.prime} …). No gear of the set is one, and compounding "
            "only multiplies what is there, however many meshes are used."
        )


@frozen
class MakeUp:
    """Whether gears make up a ratio exactly, with which of them, and if not, why not. Made by make_up().

    `numerator`, `denominator`: the primes of the ratio in lowest terms and how often each occurs.
    `missing`: primes that the set hasn't, or not often enough.
    `trains`: those that make it exactly, fewest meshes first; empty when none does.
    """

    wanted: Exact
    numerator: dict[int, int]
    denominator: dict[int, int]
    missing: tuple[MissingPrime, ...]
    trains: tuple[Train, ...]
    why: str

    @property
    def can(self) -> bool:
        """Whether some train makes it exactly."""
        return bool(self.trains)

    def __str__(self) -> str:
        return f"{writing.number(self.wanted, places=0)}: {self.why}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [
            ("ratio", writing.number(self.wanted, places=0)),
            ("primes above the line", writing.primes(self.numerator)),
            ("primes below the line", writing.primes(self.denominator)),
            ("made exactly", "yes" if self.can else "no"),
        ]
        rows += [("train", train.written) for train in self.trains[:_SHOWN]]
        for lack in self.missing:
            there = f"needed {lack.needed} ×, there {lack.there} ×"
            rows.append(("missing", f"{lack.prime} among the {lack.side}: {there}"))
        return markup.html_table("Do these gears make it up?", rows, note=self.why)


def make_up(x: ExactLike, gears: Iterable[int], meshes: int | Iterable[int] = (1, 2, 3), count: int = 20) -> MakeUp:
    """Say whether a gear set makes up a ratio exactly, and why not if it doesn't.

    >>> print(make_up("50/127", [30, 40, 50, 60, 127]).trains[0])
    50/127
    >>> print(make_up("50/127", [20, 30, 40, 50, 60, 80]))
    50/127: 127 is a prime, so it can't be split between two gears: one of the driven must be a multiple of 127 \
(127, 254 …). No gear of the set is one, and compounding only multiplies what is there, however many meshes are used.

    `x`, `gears`, `meshes` and what is raised: as for stand_ins; numerator and denominator at most 10^12. `count`: at
    most so many trains.
    """
    wanted = within(as_exact(x, what="the ratio wanted"), what="the ratio wanted", above=True)
    owned = _gear_set(gears)
    tables = _tables(owned, meshes)
    most = as_whole(count, what="count", most=_MOST_STAND_INS)
    share = coefficient(wanted)
    over, under = factor(share.numerator), factor(share.denominator)
    if not isinstance(wanted, Fraction):
        why = "π is no fraction, so no train of whole teeth ever gives it exactly; it can only be come near."
        return MakeUp(wanted, over, under, (), (), why)
    missing = tuple(_missing("drivers", over, owned) + _missing("driven", under, owned))
    if missing:
        return MakeUp(wanted, over, under, missing, (), " ".join(each.why for each in missing))
    trains = tuple(islice(_handiest(closest([wanted], tables, within=Fraction(0)), most), most))
    if trains:
        return MakeUp(wanted, over, under, (), trains, f"{trains[0]} makes it exactly.")
    usual = writing.meshes(table.meshes for table in tables)
    why = f"every prime that it needs is in the set, but no train of {usual} puts them together."
    return MakeUp(wanted, over, under, (), (), why)


def _missing(side: str, primes: dict[int, int], owned: GearSet) -> list[MissingPrime]:
    held = {prime: sum(factor(teeth).get(prime, 0) for teeth in owned.teeth) for prime in primes}
    return [MissingPrime(prime, side, needed, held[prime]) for prime, needed in primes.items() if held[prime] < needed]
