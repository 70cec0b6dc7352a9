"""How much the tests ask: enough each time, and ten times as much under `pytest --thorough`."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from functools import cache, wraps
from inspect import signature
from typing import Any

from hypothesis import settings

from gearcalc import exercise as pose

THOROUGH = bool(os.environ.get("GEARCALC_THOROUGH"))  # which --thorough sets, for the workers too
MANY = range(1, 401 if THOROUGH else 97)
"""Class numbers at which an exercise is looked at, where a class alone is too few."""


@cache
def exercise(name: str, class_number: int = 1) -> Any:
    """An exercise of gearcalc, posed once for all tests that ask something of it: it never changes.

    What a wrong argument comes to is asked of gearcalc itself: a cache takes 1.0 for 1.
    """
    return pose(name, class_number)


def examples(count: int) -> Callable[[Any], Any]:
    """So many examples for a property, and ten times as many where all is asked."""
    return settings(max_examples=count * (10 if THOROUGH else 1))


def in_one(argument: str, values: Iterable[Any], say: Callable[[Any], str] = str) -> Callable[[Any], Any]:
    """Like parametrize, in one test that names each value that fails: for hundreds of checks of microseconds each."""

    def over_all(test: Any) -> Any:
        @wraps(test)
        def asked_of_each(*arguments: Any, **others: Any) -> None:
            failed = []
            for value in values:
                try:
                    test(*arguments, **others, **{argument: value})
                except AssertionError as why:
                    failed.append(f"{say(value)}: {why}")
                except Exception as why:
                    failed.append(f"{say(value)}: {type(why).__name__}: {why}")
            assert values, "there is nothing to ask it of"
            assert not failed, "\n".join(failed)

        others = [it for name, it in signature(test).parameters.items() if name != argument]
        asked_of_each.__signature__ = signature(test).replace(parameters=others)  # type: ignore[attr-defined]
        return asked_of_each

    values = list(values)
    return over_all
