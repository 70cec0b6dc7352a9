"""Gears as an answer: any train of a ratio from a box, exact, near or in an order that fits; any gear it lacks."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import permutations, product
from math import prod
from typing import Any

from attrs import field, frozen

from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, RelativeError
from gearcalc.finding.setups import Setup
from gearcalc.finding.stand_ins import make_up
from gearcalc.fits.by_hand import rule_of_thumb
from gearcalc.lathes import GearSet
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Answer, Slip, SlipTable, UnreadableError, about, slips_of
from gearcalc.learning.exercises.arithmetic import worked_out
from gearcalc.learning.exercises.number_answers import Number

_MOST_GEARS = 20
_IN_PAIRS = re.compile(r"(\d{1,4}) ?/ ?(\d{1,4})(?:[ ,]+|$)", re.A)
"""The pairs of a train one after the other, each as a fraction: 1/2 2/3."""
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
    `already`: trains that don't count, in whatever order their gears stand; `asks_a_pair`: whether the question speaks
    of one pair, though more may be right.
    """

    value: Exact
    box: tuple[int, ...]
    pairs: int | None = None
    already: tuple[Train, ...] = ()
    asks_a_pair: bool = field(default=False, kw_only=True)

    @property
    def how(self) -> str:
        """How to write the train."""
        if self.pairs == 1 or self.asks_a_pair:
            return "Answer with driver over driven, such as '20/40'."
        return "Answer with drivers over driven, such as '(20 · 30)/(40 · 50)'."

    def read(self, given: object) -> Train:
        """The train meant: a Train, a Setup, text, or (drivers, driven). Raises an error for what is none."""
        if isinstance(given, Setup):
            return given.train
        if isinstance(given, Train):
            return given
        if isinstance(given, str):
            return self._parsed(given)
        if isinstance(given, (tuple, list)) and len(given) == 2:
            return Train(*map(_side, given))
        if isinstance(given, (int, float, Fraction)):
            raise UnreadableError(
                "a ratio is no train",
                remedy="That is a number, and it does not say which gears make it. In code, put the gears in quotes.",
            )
        raise ValueOutOfRangeError("that is no train")

    def _parsed(self, given: str) -> Train:
        said = _THEN.sub(" ", _AS_FRACTION.sub(r"\1/\2", given)).translate(_OVER)
        try:
            return Train.parse(said)
        except GearcalcError:
            number = _ratio_of(said)
            near = about(self.value)(number) if self.pairs == 1 else self.makes(number)
            if not near or not self._can_be_made(number):
                raise
        raise UnreadableError("a ratio is no train", remedy=f"That is {self._now_widen}")

    @property
    def _now_widen(self) -> str:
        """What to say of the right ratio, before there are gears in it that the box has."""
        return f"the right ratio; now {'widen it to two' if self.pairs == 1 else 'make it of'} gears of the box."

    def _can_be_made(self, ratio: Fraction) -> bool:
        """Whether the box makes just the ratio that a learner has found; of one pair: but for its rounding."""
        if self.pairs == 1:
            return any(Fraction(*two) == self.value for two in permutations(self.box, 2))
        return make_up(ratio, self.box, meshes=(1, 2), count=1).can

    def same(self, read: Train, value: Any) -> bool:
        """The ratio, or the train's gears, are those."""
        return same_gears(read, value) if isinstance(value, Train) else self.near(read.ratio, value)

    def is_right(self, read: Train) -> bool:
        """Whether it makes the ratio, by gears that are there, as the task asks."""
        return self.makes(read.ratio) and not any(slip.wrong(read) for slip in slips_of(self._not_allowed()))

    def allows(self, slip: Slip) -> bool:
        """Whether the ratio or the train that a slip leads to is right by luck."""
        return self.makes(slip.wrong) if isinstance(slip.wrong, Fraction) else super().allows(slip)

    def makes(self, ratio: Fraction) -> bool:
        """Whether that is the ratio asked for."""
        return self.near(ratio, self.value)

    def near(self, ratio: Fraction, wanted: Exact) -> bool:
        """Whether a ratio does for another one."""
        return ratio == wanted

    def common_slips(self) -> SlipTable:
        """What is wrong with the gears, then how the ratio went wrong."""
        return {
            **self._not_allowed(),
            """upside down: That is upside down: drivers and driven have changed places. Drivers stand on top of the
            fraction.""": lambda train: self.makes(1 / train.ratio),
            """one pair forgotten: One pair of yours makes the ratio by itself, and the other then changes it again.
            Every pair counts, because the ratios multiply.""": self._one_pair_does,
            """pairs added: The ratios of your pairs add up to what is wanted, but ratios in a row
            multiply.""": lambda train: self.makes(sum(_pairs(train), Fraction(0))),
        }

    def _not_allowed(self) -> SlipTable:
        return {
            "not in the box": (self._lacking, self._said_of_lacking),
            "one gear used twice": (
                self._short_of,
                lambda train: f"You put {in_a_row(self._short_of(train))} in more places than the box has of it.",
            ),
            f"""how many pairs: That is another number of pairs: the task asks for
            {self.pairs}.""": lambda train: self.pairs not in (None, train.meshes),
            """the same gears again: Those are the same drivers and the same driven gears. Their order makes no
            difference to the lead; now find other gears.""": self._is_one_of_those,
        }

    def _said_of_lacking(self, train: Train) -> str:
        lacking = f"Not in the box: {in_a_row(self._lacking(train))}."
        return (
            f"{lacking} But it is {self._now_widen}"
            if self.makes(train.ratio) and self._can_be_made(train.ratio)
            else lacking
        )

    def _lacking(self, train: Train) -> list[int]:
        return [teeth for teeth in self._short_of(train) if not GearSet(self.box).count(teeth)]

    def _short_of(self, train: Train) -> list[int]:
        return sorted(set(GearSet(self.box).missing(train.gears)))

    def _is_one_of_those(self, train: Train) -> bool:
        return any(same_gears(train, known) for known in self.already)

    def _one_pair_does(self, train: Train) -> bool:
        ways = product(train.drivers, train.driven)
        return train.meshes > 1 and any(self.makes(Fraction(driver, driven)) for driver, driven in ways)


@frozen
class AnyNearTrain(AnyTrain):
    """Any train from a box that comes within `ppm` of the ratio.

    >>> near = AnyNearTrain(Fraction(127, 100), box=(33, 26, 63, 80), ppm=200)
    >>> [near.is_right(near.read(given)) for given in ("80/63", "33/26", "63/80")]
    [True, False, False]
    """

    ppm: int = 200

    def near(self, ratio: Fraction, wanted: Exact) -> bool:
        """Whether a ratio comes near enough to another one."""
        return within(ratio, wanted, self.ppm)


@frozen
class OrderThatPasses(AnyTrain):
    """The same drivers over the same driven gears in any order that passes the rule of thumb; `given`: as they stand.

    >>> given = Train((40, 30), (80, 60))
    >>> order = OrderThatPasses(given.ratio, box=given.gears, given=given)
    >>> [order.is_right(order.read(text)) for text in ("40/60 30/80", "30/60 40/80", "40/80 30/60", "20/40 30/60")]
    [True, True, False, False]
    """

    given: Train = field(kw_only=True)

    def is_right(self, read: Train) -> bool:
        """Whether these are the gears, in an order that passes."""
        return same_gears(read, self.given) and rule_of_thumb(read).passes

    def same(self, read: Train, value: object) -> bool:
        """The same gears in the same order."""
        return read == value

    def common_slips(self) -> SlipTable:
        """As it stood, other gears, or an order that fails too."""
        turned = Train(self.given.driven, self.given.drivers)
        return {
            "as it stood: That is the order that fails.": self.given,
            """upside down: Drivers and driven have changed places, and that cuts another thread. Change the order among
            the drivers, or among the driven.""": lambda read: same_gears(read, turned),
            """other gears: Use the same drivers and the same driven gears, each
            once.""": lambda read: not same_gears(read, self.given),
            """first half fails: The first pair has too few teeth against the second
            driver.""": lambda read: not halves_passed(read)[0],
            "second half fails: The second pair has too few teeth against the first driven.": lambda read: True,
        }


@frozen
class OneGear(Answer):
    """One gear to add to a box: how it is written, read, and what nobody can or need buy.

    `value`: what it is for; `box`: tooth counts; `fewest`, `most`: the gears that can be had.
    """

    value: Any
    box: tuple[int, ...]
    fewest: int = 20
    most: int = 127

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

    def not_to_be_bought(self) -> SlipTable:
        """Not to be had, or there already."""
        return {
            f"""not to be had: Gears can be had from {self.fewest} to {self.most}
            teeth.""": lambda read: not self.fewest <= read <= self.most,
            "in the box already: The box has one of those already.": lambda read: read in self.box,
        }


@frozen
class GearToAdd(OneGear):
    """One gear more with which a box makes a ratio exactly, by one pair or two.

    >>> more = GearToAdd(Fraction(8, 19), box=(20, 30, 40, 50, 60))
    >>> [more.is_right(more.read(given)) for given in (38, "57 teeth", 95, 20, 19.0)]
    [True, True, True, False, False]

    `value`: drivers over driven.
    """

    def is_right(self, read: int) -> bool:
        """Whether it can be had and some train then makes the ratio."""
        return self.fewest <= read <= self.most and make_up(self.value, (*self.box, read), meshes=(1, 2), count=1).can

    def common_slips(self) -> SlipTable:
        """Too large or small, already there, without the prime that is missing, with it but of no use."""
        missing = [lack.prime for lack in make_up(self.value, self.box).missing]
        return {
            **self.not_to_be_bought(),
            """near is not equal: That may come near, but never equals it: the ratio in its lowest terms has a prime in
            it that neither the box nor your gear has.""": lambda read: any(read % prime for prime in missing),
            """no partner: It has the prime that is missing, but then no train of one or two pairs makes the ratio
            exactly.""": lambda read: True,
        }


@frozen
class GearForAll(OneGear):
    """One gear more with which a box makes every one of several ratios exactly, each by one pair or two.

    >>> more = GearForAll({"13 tpi": Fraction(8, 13), "26 tpi": Fraction(4, 13)}, box=(20, 30, 40, 50, 60))
    >>> [more.is_right(more.read(given)) for given in (65, "65 teeth", 26, 40, 127)]
    [True, True, False, False, False]

    `value`: name of a thread -> drivers over driven.
    """

    def is_right(self, read: int) -> bool:
        """Whether it can be had, and every thread is then made exactly."""
        return self.fewest <= read <= self.most and not any(True for _ in self.left_over(read))

    def left_over(self, read: int) -> Iterator[str]:
        """The threads that are still not made exactly when this gear is added."""
        for thread, ratio in self.value.items():
            if not make_up(ratio, (*self.box, read), meshes=(1, 2), count=1).can:
                yield thread

    def common_slips(self) -> SlipTable:
        """Not to be had, there already, one thread only, none of them."""
        return {
            **self.not_to_be_bought(),
            "only some of them": (
                lambda read: len(list(self.left_over(read))) < len(self.value),
                lambda read: (
                    f"That opens one of them, but not {' and '.join(self.left_over(read))}. One gear is to do for all."
                ),
            ),
            """none of them: With that one none of the threads is exact. Which prime stands in both ratios, and in no
            gear of the box?""": lambda read: True,
        }


def leadscrew_forgotten(wanted_mm: Fraction) -> SlipTable:
    """Slips for a lead to be cut: a ratio that would be right for a leadscrew of 1 mm, or of 1 tpi."""
    return {
        "leadscrew forgotten: Your ratio would suit a leadscrew with a lead of 1 mm. Look at yours.": wanted_mm,
        """leadscrew forgotten: Your ratio would suit a leadscrew with a lead of 1 inch. Look at
        yours.""": wanted_mm / INCH_MM,
    }


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


def within(ratio: Fraction, wanted: Exact, ppm: int) -> bool:
    """Whether a ratio comes within so many ppm of the one wanted, exactly decided.

    >>> within(Fraction(80, 63), Fraction(127, 100), 125), within(Fraction(80, 63), Fraction(127, 100), 124)
    (True, False)
    """
    return RelativeError(ratio, wanted) <= RelativeError.of_ppm(ppm)


def halves_passed(train: Train) -> tuple[bool, ...]:
    """Whether the first of two pairs passes the rule of thumb, and whether the second does.

    >>> halves_passed(Train((20, 60), (25, 65))), halves_passed(Train((40, 30), (80, 60)))
    ((False, True), (True, False))
    """
    rule = rule_of_thumb(train)
    return tuple(margin.teeth > rule.k for margin in rule.margins)


def _ratio_of(given: str) -> Fraction:
    """The ratio of what has numbers in it that are no gears, such as a ratio that is split and not widened yet."""
    pairs = _IN_PAIRS.findall(given.strip())
    if len(pairs) > 1 and not _IN_PAIRS.sub("", given.strip()):
        return prod((Fraction(int(top), int(bottom)) for top, bottom in pairs), start=Fraction(1))
    number, unit = worked_out(given)
    if unit or not isinstance(number, Fraction) or number <= 0:
        raise ValueOutOfRangeError("that is no ratio")
    return number


def _side(given: object) -> tuple[Any, ...]:
    return tuple(given[:_MOST_GEARS]) if isinstance(given, (tuple, list)) else (given,)


def _pairs(train: Train) -> list[Fraction]:
    """The ratio of each pair, as they stand."""
    return [Fraction(driver, driven) for driver, driven in zip(train.drivers, train.driven, strict=True)]
