"""How much the tests ask: enough each time, and ten times as much under `pytest --thorough`."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from typing import Any

from hypothesis import settings

from gearcalc import exercise as pose

THOROUGH = bool(os.environ.get("GEARCALC_THOROUGH"))  # which --thorough sets, for the workers too
MANY = range(1, 401 if THOROUGH else 97)
"""Class numbers at which an exercise is looked at, where a class alone is too few."""

exercise = cache(pose)
"""An exercise of gearcalc, posed once for all tests that ask something of it: it never changes. What a wrong argument
comes to is asked of gearcalc itself: a cache takes 1.0 for 1."""


def examples(count: int) -> Callable[[Any], Any]:
    """So many examples for a property, and ten times as many where all is asked."""
    return settings(max_examples=count * (10 if THOROUGH else 1))
