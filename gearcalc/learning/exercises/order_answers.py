"""The order of a train's gears as an answer: any order of the same gears that passes the rule of thumb."""

from __future__ import annotations

from attrs import field, frozen

from gearcalc.fits.thumb_rules import SHOP_CONSTANT, rule_of_thumb
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.answers import Slip
from gearcalc.learning.exercises.train_answers import AnyTrain, same_gears


def passes_first_half(train: Train, k: int = SHOP_CONSTANT) -> bool:
    """Whether the first of two pairs has more teeth than the second driver + k.

    >>> passes_first_half(Train((20, 60), (65, 25))), passes_first_half(Train((20, 60), (25, 65)))
    (True, False)
    """
    return train.drivers[0] + train.driven[0] > train.drivers[1] + k


def passes_second_half(train: Train, k: int = SHOP_CONSTANT) -> bool:
    """Whether the second of two pairs has more teeth than the first driven + k.

    >>> passes_second_half(Train((40, 30), (80, 60))), passes_second_half(Train((40, 30), (60, 80)))
    (False, True)
    """
    return train.drivers[1] + train.driven[1] > train.driven[0] + k


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

    def common_slips(self) -> tuple[Slip, ...]:
        """As it stood, other gears, or an order that fails too."""
        turned = Train(self.given.driven, self.given.drivers)
        return (
            Slip("as it stood", self.given, "That is the order that fails."),
            Slip(
                "upside down",
                lambda read: same_gears(read, turned),
                "Drivers and driven have changed places, and "
                "that cuts another thread. Change the order among the drivers, or among the driven.",
            ),
            Slip(
                "other gears",
                lambda read: not same_gears(read, self.given),
                "Use the same drivers and the same driven gears, each once.",
            ),
            Slip(
                "first half fails",
                lambda read: not passes_first_half(read),
                "The first pair has too few teeth against the second driver.",
            ),
            Slip("second half fails", lambda read: True, "The second pair has too few teeth against the first driven."),
        )
