"""One gear more as an answer, with which a box makes a ratio, or several: any that does is right."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.stand_ins import make_up
from gearcalc.learning.exercises.answers import Answer, Number, Slip


class OneGear(Answer):
    """One gear to add to a box: how it is written, read, and what nobody can or need buy."""

    box: tuple[int, ...]
    fewest: int
    most: int

    @property
    def how(self) -> str:
        """How to write the gear."""
        return f"Answer with a number of teeth from {self.fewest} to {self.most}."

    def read(self, given: object) -> int:
        """The teeth. Raises an error for what is no whole number of them."""
        teeth = Number(Fraction(1), "teeth").read(given)
        if not isinstance(teeth, Fraction) or teeth.denominator != 1:
            raise ValueOutOfRangeError("a gear has a whole number of teeth")
        return int(teeth)

    def same(self, read: int, value: int) -> bool:
        """As many teeth."""
        return read == value

    def not_to_be_bought(self) -> tuple[Slip, ...]:
        """Not to be had, or there already."""
        return (
            Slip(
                "not to be had",
                lambda read: not self.fewest <= read <= self.most,
                f"Gears can be had from {self.fewest} to {self.most} teeth.",
            ),
            Slip("in the box already", lambda read: read in self.box, "The box has one of those already."),
        )


@frozen
class GearToAdd(OneGear):
    """One gear more with which a box makes a ratio exactly, by one pair or two.

    >>> more = GearToAdd(Fraction(8, 19), box=(20, 30, 40, 50, 60))
    >>> [more.is_right(more.read(given)) for given in (38, "57 teeth", 95, 20, 19.0)]
    [True, True, True, False, False]

    `value`: drivers over driven; `box`: tooth counts; `most`: the largest gear that can be had.
    """

    value: Fraction
    box: tuple[int, ...]
    fewest: int = 20
    most: int = 127

    def is_right(self, read: int) -> bool:
        """Whether it can be had and some train then makes the ratio."""
        return self.fewest <= read <= self.most and make_up(self.value, (*self.box, read), meshes=(1, 2), count=1).can

    def common_slips(self) -> tuple[Slip, ...]:
        """Too large or small, already there, without the prime that is missing, with it but of no use."""
        missing = [lack.prime for lack in make_up(self.value, self.box).missing]
        return (
            *self.not_to_be_bought(),
            Slip(
                "near is not equal",
                lambda read: any(read % prime for prime in missing),
                "That may come near, but never equals it: the ratio in its lowest terms has a prime in it that neither "
                "the box nor your gear has.",
            ),
            Slip(
                "no partner",
                lambda read: True,
                "It has the prime that is missing, but then no train of one or two pairs makes the ratio exactly.",
            ),
        )


@frozen
class GearForAll(OneGear):
    """One gear more with which a box makes every one of several ratios exactly, each by one pair or two.

    >>> more = GearForAll({"13 tpi": Fraction(8, 13), "26 tpi": Fraction(4, 13)}, box=(20, 30, 40, 50, 60))
    >>> [more.is_right(more.read(given)) for given in (65, "65 teeth", 26, 40, 127)]
    [True, True, False, False, False]

    `value`: name of a thread -> drivers over driven; `box`: tooth counts; `fewest`, `most`: gears that can be had.
    """

    value: dict[str, Fraction]
    box: tuple[int, ...]
    fewest: int = 20
    most: int = 127

    def is_right(self, read: int) -> bool:
        """Whether it can be had, and every thread is then made exactly."""
        return self.fewest <= read <= self.most and not any(True for _ in self.left_over(read))

    def left_over(self, read: int) -> Iterator[str]:
        """The threads that are still not made exactly when this gear is added."""
        for thread, ratio in self.value.items():
            if not make_up(ratio, (*self.box, read), meshes=(1, 2), count=1).can:
                yield thread

    def common_slips(self) -> tuple[Slip, ...]:
        """Not to be had, there already, one thread only, none of them."""
        return (
            *self.not_to_be_bought(),
            Slip(
                "only some of them",
                lambda read: len(list(self.left_over(read))) < len(self.value),
                lambda read: (
                    f"That opens one of them, but not {' and '.join(self.left_over(read))}. One gear is to do for all."
                ),
            ),
            Slip(
                "none of them",
                lambda read: True,
                "With that one none of the threads is exact. Which prime stands in both ratios, and in no gear of the "
                "box?",
            ),
        )
