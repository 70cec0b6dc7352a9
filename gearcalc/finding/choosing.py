"""Which setup would a person choose? The simplest that is good enough, and why that one.

What is good enough to choose uses up at most a tenth of the thread's tolerance (threads/deviations.py says it in full).
Among those a simpler train is worth more than a nearer lead: see the second order in ranks.py. Where none is good
enough, the nearest is shown, and that it falls short.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Literal, TypeAlias, get_args

from gearcalc.basics.errors import UnknownNameError, quoted
from gearcalc.basics.exact import MILLION
from gearcalc.threads.deviations import good_enough_ppm
from gearcalc.threads.wanted import Wanted

First: TypeAlias = Literal["nearest", "simplest"]
"""Which setups come first: the nearest, or of those that are good enough to choose the simplest."""


def choose_within(first: First, wanted: Wanted) -> Fraction | None:
    """Give the largest error, a share, that is good enough where the simplest comes first; None: the nearest does.

    >>> from gearcalc.threads import Thread
    >>> choose_within("simplest", Thread.parse("16 tpi")), choose_within("nearest", Thread.parse("16 tpi"))
    (Fraction(1, 5000), None)

    Raises UnknownNameError for another word.
    """
    if not isinstance(first, str) or first not in get_args(First):
        raise UnknownNameError(
            f"there is no order of setups called {quoted(first)}",
            remedy="first is 'nearest' (the least error) or 'simplest' (of what is good enough to choose).",
        )
    return good_enough_ppm(wanted) / MILLION if first == "simplest" else None
