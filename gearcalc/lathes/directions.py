"""Which way the shafts turn, and which hand of thread that cuts: the one place that reckons it.

One looks from the gear end. A spindle that runs forward turns anticlockwise seen from the tailstock, so clockwise seen
from the gear end. Every place where teeth touch turns the motion round.
"""

from __future__ import annotations

from attrs import frozen

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.lathes.lathe import Lathe
from gearcalc.lathes.parts import Lever

OTHER_HAND = {"right": "left", "left": "right"}

REVERSE_OVER = "reverse over"
"""Said of a setup for which the reverse is turned over from how the lathe file describes it."""
REVERSE_OVER_NOTE = "Reverse over: turned over from how the lathe file describes it."
"""What that means, for the foot of a list."""


@frozen
class Turning:
    """Which way shafts turn seen from the gear end: True is clockwise, as the spindle turns running forward.

    `first_driver`: where the train begins; `leadscrew`: behind the gearbox, where there is one.
    `provided`: what that holds for, in words.
    """

    first_driver: bool
    leadscrew: bool
    provided: str


def turning(lathe: Lathe, train_same_way: bool, lever: Lever | None, *, reverse_over: bool = False) -> Turning:
    """Which way first driver and leadscrew turn.

    >>> from gearcalc.lathes import demo_lathe
    >>> turns = turning(demo_lathe("inch"), False, None, reverse_over=True)
    >>> turns.first_driver, turns.leadscrew, turns.provided
    (False, True, 'spindle forward: clockwise; reverse over')

    `train_same_way`: the last driven gear turns as the first driver does; `reverse_over`: the reverse stands in its
    other position, not as the lathe file describes it.
    """
    first = first_driver_same_way(lathe, lever) != reverse_over
    stands = f"; {REVERSE_OVER if reverse_over else 'reverse as described'}" if lathe.spindle_side.reverse else ""
    behind = lever is None or lever.same_way == lever.ahead_same_way
    screw = (first == train_same_way) == behind
    return Turning(first, screw, f"spindle forward: clockwise{stands}")


def first_driver_same_way(lathe: Lathe, lever: Lever | None) -> bool:
    """Whether the first driver turns as the spindle does, the reverse as the lathe file describes it.

    >>> from gearcalc.lathes import demo_lathe
    >>> first_driver_same_way(demo_lathe("inch"), None)
    True
    """
    return lathe.spindle_side.same_way == (lever is None or lever.ahead_same_way)


def natural_hand(lathe: Lathe, train_same_way: bool, lever: Lever | None) -> str:
    """The hand of thread that comes out with the reverse as the lathe file describes it.

    >>> from gearcalc.lathes import demo_lathe
    >>> natural_hand(demo_lathe("inch"), False, None)
    'left'

    A right-hand leadscrew cuts a right-hand thread when it turns as the spindle does.
    """
    hand = lathe.leadscrew.hand
    return hand if turning(lathe, train_same_way, lever).leadscrew else OTHER_HAND[hand]


def way_to_turn(lathe: Lathe, hand: str | None, lever: Lever | None) -> bool | None:
    """Whether the last driven gear must turn as the first driver does, for a thread of this hand.

    >>> from gearcalc.lathes import demo_lathe
    >>> way_to_turn(demo_lathe("inch"), "left", None) is None  # its reverse can be turned over
    True

    None where it may turn either way: no hand is asked for, or the lathe has a reverse.
    """
    if hand is None or lathe.spindle_side.reverse:
        return None
    return natural_hand(lathe, True, lever) == hand


def check_hand(given: object, none: str) -> None:
    """Raise ValueOutOfRangeError for what is no hand; `none`: what None stands for, in words."""
    if not (given is None or isinstance(given, str)) or given not in (None, *OTHER_HAND):
        raise ValueOutOfRangeError(f"hand must be 'right' or 'left', or None {none}", value=given)


def clockwise_in_words(clockwise: bool) -> str:
    """The way round, in a word.

    >>> clockwise_in_words(False)
    'anticlockwise'
    """
    return "clockwise" if clockwise else "anticlockwise"


def reverse_in_words(lathe: Lathe, over: bool, lever: Lever | None = None) -> str:
    """How the reverse stands, and what is then to be seen at the machine with the lever where it is.

    >>> from gearcalc.lathes import demo_lathe
    >>> reverse_in_words(demo_lathe("inch"), True)
    'Reverse over: the first driver turns against the spindle.'
    """
    way = "with" if first_driver_same_way(lathe, lever) != over else "against"
    stands = "over" if over else "as the lathe file describes it"
    return f"Reverse {stands}: the first driver turns {way} the spindle."


def reverse_over_means(lathe: Lathe) -> str:
    """What 'reverse over' asks for, as it is to be seen at the machine.

    >>> from gearcalc.lathes import demo_lathe
    >>> reverse_over_means(demo_lathe("inch"))
    'Reverse over: the first driver turns against the spindle; elsewhere with it.'

    Where a lever ahead of the change gears turns the motion round, that alone says nothing of the reverse.
    """
    if not all(position is None or position.ahead_same_way for position in lathe.positions):
        return REVERSE_OVER_NOTE
    over, elsewhere = ("against", "with") if lathe.spindle_side.same_way else ("with", "against")
    return f"Reverse over: the first driver turns {over} the spindle; elsewhere {elsewhere} it."
