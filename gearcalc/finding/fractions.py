"""Near fractions: continued fractions, convergents and the fractions between them, the Stern–Brocot walk, primes.

Everything is exact, π included: a term of a continued fraction is only given when two rational bounds of π agree
on it, and which of two fractions is nearer is decided by exact comparison.

Sources: A. Ya. Khinchin, Continued Fractions, ch. I–II; G. H. Hardy and E. M. Wright, An Introduction to the
Theory of Numbers, ch. X–XI (chapters from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import islice
from typing import NamedTuple

from attrs import field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_number, as_whole, within
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import MILLION, Exact, ExactLike, NumberLike, RelativeError, as_exact, coefficient, pi_bounds
from gearcalc.basics.listed import InARow, OneALine, Primes
from gearcalc.basics.markup import ShownAsWritten

_USUAL_DENOMINATOR = 1000
_MOST_ANSWERS = 10_000
_MOST_STEPS = 1000
_LARGEST = 10**100
_LARGEST_TO_FACTOR = 10**12


@frozen
class NearFraction(ShownAsWritten):
    """A fraction on the way to what is wanted, and how far off it is.

    >>> print(best_fractions("127/100", max_denominator=63)[-1])
    80/63 (intermediate): −125 ppm

    `kind`: "convergent" (the continued fraction, broken off) or "intermediate" (between two convergents).
    `is_best`: no other fraction with the same or a smaller denominator is nearer.
    `error`: (fraction − wanted) / wanted, exact.
    """

    fraction: Fraction
    kind: str
    is_best: bool
    error: RelativeError = field(repr=False)

    @property
    def error_ppm(self) -> float:
        """How far off in ppm, positive when the fraction is too large."""
        return self.error.ppm

    @property
    def is_exact(self) -> bool:
        return self.error.is_exact

    @property
    def written(self) -> markup.Written:
        """The fraction, its kind and its error, for text, LaTeX and HTML."""
        return writing.ratio(self.fraction) + f" ({self.kind}): " + writing.error(self.error)


class WalkStep(NamedTuple):
    """One step of the Stern–Brocot walk: standing on `mediant`, which way to go on.

    `direction`: "right" when what is wanted is more, "left" when it is less, "arrived" when it is the mediant.
    `below`, `above`: the two neighbours (numerator, denominator) whose mediant this is; above is (1, 0) at first,
    which stands for 'larger than any fraction'.
    """

    direction: str
    mediant: Fraction
    below: tuple[int, int]
    above: tuple[int, int]


class _Rung(NamedTuple):
    """A term of the continued fraction with the two convergents before it.

    `at(term)` is the next convergent, `at(1)` to `at(term - 1)` are the intermediate fractions on the way to it.
    """

    term: int
    before: tuple[int, int]
    last: tuple[int, int]

    def at(self, times: int) -> Fraction:
        return Fraction(self.before[0] + times * self.last[0], self.before[1] + times * self.last[1])

    def first_best(self, wanted: Exact) -> int:
        """From here on the fractions of this rung are nearer than the last convergent.

        It is half the term, rounded up; just half of an even term needs looking at.
        """
        half, odd = divmod(self.term, 2)
        if odd:
            return half + 1
        nearer = RelativeError(self.at(half), wanted) < RelativeError(Fraction(*self.last), wanted)
        return half if nearer else half + 1

    def first_within(self, wanted: Exact, limit: RelativeError) -> int:
        """How far up this rung an error first is within the limit; one beyond the term if never."""
        low, high = 1, self.term + 1
        while low < high:
            middle = (low + high) // 2
            if RelativeError(self.at(middle), wanted) <= limit:
                high = middle
            else:
                low = middle + 1
        return low

    def last_fitting(self, max_denominator: int) -> int:
        """How far up this rung the denominators still fit."""
        if self.last[1] == 0:
            return self.term
        return min(self.term, (max_denominator - self.before[1]) // self.last[1])


def continued_fraction(x: ExactLike, terms: int = 12) -> InARow[int]:
    """Give the first terms of a continued fraction; all of them where it ends sooner.

    >>> continued_fraction("127/100"), continued_fraction("50/127")
    ((1, 3, 1, 2, 2, 1, 2), (0, 2, 1, 1, 5, 1, 3))
    >>> import sympy
    >>> continued_fraction(sympy.pi, terms=5)
    (3, 7, 15, 1, 292)

    `x`: an int, a Fraction, 'a/b' text, or a rational times π (sympy.pi, or text like 'pi'), more than zero, of at
    most 100 digits above and below the line. `terms`: 1 to 1000. Raises ValueOutOfRangeError for anything else.
    A fraction's last term is 2 or more (a whole number's only term is itself).
    Source: Khinchin, ch. I; for π every term is certified by rational bounds from Machin's formula.
    """
    return InARow(islice(_terms(_positive(x)), as_whole(terms, what="terms", most=_MOST_STEPS)))


def convergents(x: ExactLike, count: int = 12) -> InARow[Fraction]:
    """Give the first convergents: the continued fraction broken off after one term, two terms, and so on.

    >>> [str(near) for near in convergents("127/100")]
    ['1', '4/3', '5/4', '14/11', '33/26', '47/37', '127/100']

    `x` and what is raised: as for continued_fraction. `count`: 1 to 1000.
    Source: Khinchin, ch. I.
    """
    rungs = islice(_rungs(_positive(x)), as_whole(count, what="count", most=_MOST_STEPS))
    return InARow(rung.at(rung.term) for rung in rungs)


def best_fractions(
    x: ExactLike, max_denominator: int | None = None, max_ppm: NumberLike | None = None
) -> OneALine[NearFraction]:
    """List the fractions that are nearer than every other with the same or a smaller denominator, simplest first.

    >>> for near in best_fractions("127/100", max_denominator=63, max_ppm=20000):
    ...     print(near)
    5/4 (convergent): −15\u202f748 ppm
    9/7 (intermediate): +12\u202f373 ppm
    14/11 (convergent): +2147 ppm
    33/26 (convergent): −605.7 ppm
    47/37 (convergent): +212.8 ppm
    80/63 (intermediate): −125 ppm
    >>> import sympy
    >>> [str(near.fraction) for near in best_fractions(sympy.pi, max_ppm=500)][:3]
    ['22/7', '179/57', '201/64']

    `x`: as for continued_fraction.
    `max_denominator`: a whole number, 1 to 10^100. `max_ppm`: 0 to 10^6; only fractions with an error of at most
    that size, so the first one listed is the simplest there is within it.
    Without max_denominator the list goes to 1000, or on to the first fraction within max_ppm.
    Two equally near with denominator 1: the smaller counts. Raises ValueOutOfRangeError for arguments outside
    these, NotPossibleError for more than 10000 fractions and for an exact fraction of π.
    Source: best approximations of the first kind, Khinchin, ch. II.
    """
    wanted, limit = _positive(x), _limit(max_ppm)
    if max_denominator is not None:
        largest = as_whole(max_denominator, what="max_denominator", most=_LARGEST)
    else:
        largest = max(_USUAL_DENOMINATOR, _simplest_within(wanted, limit).denominator if limit else 1)
    return _collect(wanted, largest, limit, best_only=True)


def near_fractions(x: ExactLike, max_denominator: int = _USUAL_DENOMINATOR) -> OneALine[NearFraction]:
    """List all convergents and all intermediate fractions, whether best or not (`is_best` tells).

    >>> [(str(near.fraction), near.is_best) for near in near_fractions("50/127", max_denominator=23)]
    [('0', True), ('1', False), ('1/2', True), ('1/3', True), ('2/5', True), ('3/8', False), ('5/13', False), \
('7/18', True), ('9/23', True)]

    `x`, `max_denominator` and what is raised: as for best_fractions.
    """
    return _collect(
        _positive(x), as_whole(max_denominator, what="max_denominator", most=_LARGEST), None, best_only=False
    )


def stern_brocot(x: ExactLike, steps: int = 40) -> tuple[WalkStep, ...]:
    """Walk down the Stern–Brocot tree: 1/1 first, then right or left to the next mediant, until x is reached.

    >>> [(step.direction, str(step.mediant)) for step in stern_brocot("5/4")]
    [('right', '1'), ('left', '2'), ('left', '3/2'), ('left', '4/3'), ('arrived', '5/4')]

    The mediant of a/b and c/d is (a + c)/(b + d). As many rights or lefts follow each other as the terms of the
    continued fraction say. `x` and what is raised: as for continued_fraction. `steps`: 1 to 1000.
    Source: Hardy and Wright, ch. III (mediants; chapter from memory).
    """
    wanted = _positive(x)
    below, above, walked = (0, 1), (1, 0), []
    for _ in range(as_whole(steps, what="steps", most=_MOST_STEPS)):
        middle = (below[0] + above[0], below[1] + above[1])
        mediant = Fraction(*middle)
        direction = "arrived" if wanted == mediant else "right" if wanted > mediant else "left"
        walked.append(WalkStep(direction, mediant, below, above))
        if direction == "arrived":
            break
        below, above = (middle, above) if direction == "right" else (below, middle)
    return tuple(walked)


def factor(n: int) -> Primes:
    """Split a whole number into primes, and say how often each occurs, smallest first.

    >>> factor(5080), factor(127)
    ({2: 3, 5: 1, 127: 1}, {127: 1})

    `n`: 1 to 10^12 (1 has no primes). Raises ValueOutOfRangeError for anything else.
    """
    rest = as_whole(n, what="the number to factor", most=_LARGEST_TO_FACTOR)
    primes = Primes()
    divisor = 2
    while divisor * divisor <= rest:
        while rest % divisor == 0:
            primes[divisor] = primes.get(divisor, 0) + 1
            rest //= divisor
        divisor += 1 if divisor == 2 else 2
    if rest > 1:
        primes[rest] = 1
    return primes


def _collect(wanted: Exact, largest: int, limit: RelativeError | None, *, best_only: bool) -> OneALine[NearFraction]:
    found: OneALine[NearFraction] = OneALine()
    for place, rung in enumerate(_rungs(wanted)):
        best = rung.first_best(wanted) if place else _first_if_best(rung, wanted)
        start = rung.term if place == 0 else best if best_only else 1
        if limit is not None:
            start = max(start, rung.first_within(wanted, limit))
        end = rung.last_fitting(largest)
        if len(found) + end - start >= _MOST_ANSWERS:
            raise NotPossibleError(
                f"there are more than {_MOST_ANSWERS} such fractions", remedy="Allow less below the line."
            )
        for times in range(start, end + 1):
            if times >= best or not best_only:
                kind = "convergent" if times == rung.term else "intermediate"
                fraction = rung.at(times)
                found.append(NearFraction(fraction, kind, times >= best, RelativeError(fraction, wanted)))
        if end < rung.term:
            break
    return found


def _first_if_best(rung: _Rung, wanted: Exact) -> int:
    """For the whole number below x: its own place if no other whole number is nearer, else one beyond."""
    here, next_up = (RelativeError(rung.at(rung.term + more), wanted) for more in (0, 1))
    return rung.term if here <= next_up else rung.term + 1


def _simplest_within(wanted: Exact, limit: RelativeError) -> Fraction:
    for place, rung in enumerate(_rungs(wanted)):
        times = rung.first_within(wanted, limit) if place else rung.term
        if times <= rung.term and RelativeError(rung.at(times), wanted) <= limit:
            return rung.at(times)
        if rung.last[1] > _LARGEST:
            break
    raise NotPossibleError(
        "no fraction is as near as that", remedy="No fraction is ever exactly a multiple of π; allow a larger error."
    )


def _rungs(x: Exact) -> Iterator[_Rung]:
    before, last = (0, 1), (1, 0)
    for term in _terms(x):
        yield _Rung(term, before, last)
        before, last = last, (before[0] + term * last[0], before[1] + term * last[1])


def _terms(x: Exact) -> Iterator[int]:
    if isinstance(x, Fraction):
        yield from _agreed_terms(x, x)
        return
    given, digits = 0, 40
    while True:  # π's continued fraction never ends, so more digits always give more terms
        low, high = (x.coefficient * pi for pi in pi_bounds(digits))
        certain = list(_agreed_terms(low, high))
        yield from certain[given:]
        given, digits = max(given, len(certain)), digits * 2


def _agreed_terms(low: Fraction, high: Fraction) -> Iterator[int]:
    """The terms that every number from `low` to `high` has in common (Euclid's algorithm on both ends)."""
    a, b, c, d = low.numerator, low.denominator, high.numerator, high.denominator
    while b and d:
        term, rest = divmod(a, b)
        other, other_rest = divmod(c, d)
        if term != other:
            return
        yield term
        a, b, c, d = b, rest, d, other_rest


def _positive(x: object) -> Exact:
    wanted = within(as_exact(x, what="the number to come near"), what="the number to come near", above=True)
    share = coefficient(wanted)
    if max(share.numerator, share.denominator) > _LARGEST:
        raise ValueOutOfRangeError("the number to come near has more than 100 digits above or below the line")
    return wanted


def _limit(max_ppm: object) -> RelativeError | None:
    """The largest error allowed, as an error to compare with."""
    if max_ppm is None:
        return None
    return RelativeError.of_ppm(as_number(max_ppm, what="max_ppm", most=MILLION))
