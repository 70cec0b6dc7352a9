"""Answers that are right when they come near enough: a fraction, or a train, for a ratio that can't be had exactly."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, RelativeError
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Answer, Number, Slip
from gearcalc.learning.exercises.train_answers import AnyTrain, same_gears


def within(ratio: Fraction, wanted: Exact, ppm: int) -> bool:
    """Whether a ratio comes within so many ppm of the one wanted, exactly decided.

    >>> within(Fraction(80, 63), Fraction(127, 100), 125), within(Fraction(80, 63), Fraction(127, 100), 124)
    (True, False)
    """
    return RelativeError(ratio, wanted) <= RelativeError(1 + Fraction(ppm, 1_000_000), Fraction(1))


@frozen
class AnyNearTrain(AnyTrain):
    """Any train from a box that comes within `ppm` of the ratio.

    >>> near = AnyNearTrain(Fraction(127, 100), box=(33, 26, 63, 80), ppm=200)
    >>> [near.is_right(near.read(given)) for given in ("80/63", "33/26", "63/80")]
    [True, False, False]
    """

    ppm: int = 200

    def same(self, read: Train, value: Any) -> bool:
        """The train's gears are those, or its ratio is as near to that one."""
        return same_gears(read, value) if isinstance(value, Train) else within(read.ratio, value, self.ppm)

    def makes(self, ratio: Fraction) -> bool:
        """Whether that is near enough to the ratio asked for."""
        return within(ratio, self.value, self.ppm)


@frozen
class NearerFraction(Answer):
    """Any fraction that is nearer to `value` than another is, without a number above `most` in it.

    >>> from gearcalc.basics.exact import PiMultiple
    >>> nearer = NearerFraction(PiMultiple(Fraction(1)), than=Fraction(22, 7), most=250)
    >>> [nearer.is_right(nearer.read(given)) for given in ("179/57", Fraction(245, 78), "44/14", "355/113", 3.14)]
    [True, True, False, False, False]
    """

    value: Exact
    than: Fraction
    most: int

    @property
    def how(self) -> str:
        """How to write the fraction."""
        return "Answer with a fraction, such as '22/7'."

    def read(self, given: object) -> Fraction:
        """The fraction. Raises an error for what is none."""
        read = Number(Fraction(1)).read(given)
        if not isinstance(read, Fraction):
            raise ValueOutOfRangeError("the answer must be a fraction")
        return read

    def same(self, read: Fraction, value: Fraction) -> bool:
        """The same fraction, in whatever terms."""
        return read == value

    def is_right(self, read: Fraction) -> bool:
        """Whether it is nearer, and short enough."""
        return not self._too_long(read) and self._miss(read) < self._miss(self.than)

    def common_slips(self) -> tuple[Slip, ...]:
        """Too large numbers, the same fraction again, upside down, not nearer."""
        return (
            Slip(
                "too large numbers",
                self._too_long,
                f"In lowest terms that has a number above {self.most} in it. "
                "(A decimal is a fraction over 10, 100, 1000 ...)",
            ),
            Slip("the same again", self.than, "That is the same fraction once more. Find one that is nearer."),
            Slip(
                "upside down",
                lambda read: read != 0 and self._miss(1 / read) < self._miss(self.than),
                "That is upside down: what is wanted is the other way round.",
            ),
            Slip("not nearer", lambda read: True, self._compared),
        )

    def _compared(self, read: Fraction) -> str:
        given, known = (writing.error(self._miss(x)) for x in (read, self.than))
        return f"{read} is {given} off, and {self.than} is {known} off. Find one that is nearer."

    def _too_long(self, read: Fraction) -> bool:
        return max(abs(read.numerator), read.denominator) > self.most

    def _miss(self, read: Fraction) -> RelativeError:
        return RelativeError(read, self.value)
