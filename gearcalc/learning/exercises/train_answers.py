"""Gears as an answer: any train that makes the ratio from the box is right, any gear that the box lacks for it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from itertools import product
from typing import Any

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact
from gearcalc.finding.setups import Setup
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Answer, Slip, UnreadableError

_MOST_GEARS = 20
_OVER = str.maketrans(":÷", "//")
_THEN = re.compile(r"\bthen\b", re.I)
"""Between meshes: 20/50 then 25/65."""
_AS_FRACTION = re.compile(r"Fraction\( ?(\d{1,4}) ?, ?(\d{1,4}) ?\)", re.A)


@frozen
class AnyTrain(Answer):
    """Any train of a ratio from a box of gears.

    >>> half = AnyTrain(Fraction(1, 2), box=(20, 30, 40, 60))
    >>> [half.is_right(half.read(given)) for given in ("20/40", "30/60", ((20,), (40,)), "40/80", "40/20")]
    [True, True, True, False, False]

    `value`: drivers over driven; `box`: tooth counts, twice for owned twice; `pairs`: how many, None for any number;
    `already`: trains that don't count, in whatever order their gears stand.
    """

    value: Exact
    box: tuple[int, ...]
    pairs: int | None = None
    already: tuple[Train, ...] = ()

    @property
    def how(self) -> str:
        """How to write the train."""
        if self.pairs == 1:
            return "Answer with driver over driven, such as '20/40'."
        return "Answer with drivers over driven, such as '(20 · 30)/(40 · 50)'."

    def read(self, given: object) -> Train:
        """The train meant: a Train, a Setup, text, or (drivers, driven). Raises an error for what is none."""
        if isinstance(given, Setup):
            return given.train
        if isinstance(given, Train):
            return given
        if isinstance(given, str):
            return Train.parse(_THEN.sub(" ", _AS_FRACTION.sub(r"\1/\2", given)).translate(_OVER))
        if isinstance(given, (tuple, list)) and len(given) == 2:
            return Train(*map(_side, given))
        if isinstance(given, (int, float, Fraction)):
            raise UnreadableError(
                "a ratio is no train",
                remedy="That is a number, and it does not say which gears make it. In code, put the gears in quotes.",
            )
        raise ValueOutOfRangeError("that is no train")

    def same(self, read: Train, value: Any) -> bool:
        """The ratio, or the train's gears, are those."""
        return same_gears(read, value) if isinstance(value, Train) else read.ratio == value

    def is_right(self, read: Train) -> bool:
        """Whether it makes the ratio, by gears that are there, as the task asks."""
        return self.makes(read.ratio) and not any(slip.wrong(read) for slip in self._not_allowed())

    def allows(self, slip: Slip) -> bool:
        """Whether the ratio or the train that a slip leads to is right by luck."""
        return self.makes(slip.wrong) if isinstance(slip.wrong, Fraction) else super().allows(slip)

    def makes(self, ratio: Fraction) -> bool:
        """Whether that is the ratio asked for."""
        return ratio == self.value

    def common_slips(self) -> tuple[Slip, ...]:
        """What is wrong with the gears, then how the ratio went wrong."""
        return (
            *self._not_allowed(),
            Slip(
                "upside down",
                lambda train: self.makes(1 / train.ratio),
                "That is upside down: drivers and driven have changed places. Drivers stand on top of the fraction.",
            ),
            Slip(
                "one pair forgotten",
                lambda train: train.meshes > 1 and any(map(self.makes, _pairs(train))),
                "One pair of yours makes the ratio by itself, and the other then changes it again. "
                "Every pair counts, because the ratios multiply.",
            ),
            Slip(
                "pairs added",
                lambda train: self.makes(_sum_of_pairs(train)),
                "The ratios of your pairs add up to what is wanted, but ratios in a row multiply.",
            ),
        )

    def _not_allowed(self) -> tuple[Slip, ...]:
        return (
            Slip("not in the box", self._lacking, lambda train: f"Not in the box: {in_a_row(self._lacking(train))}."),
            Slip(
                "one gear used twice",
                self._short_of,
                lambda train: f"You put {in_a_row(self._short_of(train))} in more places than the box has of it.",
            ),
            Slip(
                "how many pairs",
                lambda train: self.pairs not in (None, train.meshes),
                f"That is another number of pairs: the task asks for {self.pairs}.",
            ),
            Slip(
                "the same gears again",
                lambda train: any(same_gears(train, known) for known in self.already),
                "Those are the same drivers and the same driven gears. Their order makes no difference to the lead; "
                "now find other gears.",
            ),
        )

    def _lacking(self, train: Train) -> list[int]:
        return sorted(set(train.gears) - set(self.box))

    def _short_of(self, train: Train) -> list[int]:
        return sorted(Counter(train.gears) - Counter(self.box))


def leadscrew_forgotten(wanted_mm: Fraction) -> tuple[Slip, ...]:
    """Slips for a lead to be cut: a ratio that would be right for a leadscrew of 1 mm, or of 1 tpi."""
    says = "Your ratio would suit a leadscrew with a lead of {}. Look at yours."
    return (
        Slip("leadscrew forgotten", wanted_mm, says.format("1 mm")),
        Slip("leadscrew forgotten", wanted_mm / INCH_MM, says.format("1 inch")),
    )


def _side(given: object) -> tuple[object, ...]:
    return tuple(given[:_MOST_GEARS]) if isinstance(given, (tuple, list)) else (given,)


def in_a_row(gears: Iterable[int]) -> str:
    """Tooth counts as a sentence lists them.

    >>> in_a_row((20, 30))
    '20, 30'
    """
    return ", ".join(map(str, gears))


def same_gears(one: Train, other: Train) -> bool:
    """Whether two trains have the same drivers and the same driven gears, in whatever order.

    >>> same_gears(Train((40, 30), (80, 60)), Train((30, 40), (80, 60)))
    True
    """
    mine, theirs = ((sorted(train.drivers), sorted(train.driven)) for train in (one, other))
    return mine == theirs


def _pairs(train: Train) -> set[Fraction]:
    return {Fraction(driver, driven) for driver, driven in product(train.drivers, train.driven)}


def _sum_of_pairs(train: Train) -> Fraction:
    return sum((Fraction(a, b) for a, b in zip(train.drivers, train.driven, strict=True)), Fraction(0))
