"""Which hand of thread comes out: each mesh, idler and lever may turn the motion round."""

from __future__ import annotations

from gearcalc.lathes import Lathe, Lever

__all__ = ["OTHER_HAND", "natural_hand"]

OTHER_HAND = {"right": "left", "left": "right"}


def natural_hand(lathe: Lathe, train_same_way: bool, lever: Lever | None) -> str:
    """The hand of thread that comes out with the reverse as the lathe file describes it.

    >>> from gearcalc.lathes import demo_lathe
    >>> natural_hand(demo_lathe("inch"), False, None)
    'left'

    A right-hand leadscrew cuts a right-hand thread when it turns as the spindle does.
    """
    turned_round = (lathe.spindle_side.same_way, train_same_way, lever is None or lever.same_way).count(False)
    as_leadscrew = turned_round % 2 == 0
    return lathe.leadscrew.hand if as_leadscrew else OTHER_HAND[lathe.leadscrew.hand]
