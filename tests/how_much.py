"""How much the tests ask: enough each time, and twenty times as much under `pytest --thorough`."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from functools import cache, wraps
from inspect import signature
from typing import Any

import pytest
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
    """So many examples for a property, and twenty times as many where all is asked."""
    return settings(max_examples=count * (20 if THOROUGH else 1))


def in_one(
    names: str | tuple[str, ...], values: Iterable[Any] | Callable[[], Iterable[Any]], say: Callable[[Any], str] = str
) -> Callable[[Any], Any]:
    """Like parametrize, in one test that tells each value that fails: for checks of microseconds, not of seconds.

    Pytest takes some milliseconds for a test, however short it is. Over a class: in each of its tests.
    Values that take long to work out come from a function, which is asked when the test is run, by one worker.
    """
    named = tuple(each.strip() for each in names.split(",")) if isinstance(names, str) else names

    def over_all(test: Any) -> Any:
        if isinstance(test, type):
            for name, method in list(vars(test).items()):
                if name.startswith("test"):
                    setattr(test, name, over_all(method))
            return test

        @wraps(test)
        def asked_of_each(*arguments: Any, **others: Any) -> None:
            failed = []
            asked = list(values()) if callable(values) else values
            for value in asked:
                given = dict(zip(named, value, strict=True)) if len(named) > 1 else {named[0]: value}
                try:
                    test(*arguments, **others, **given)
                except (AssertionError, pytest.fail.Exception) as why:  # the second where nothing was raised
                    failed.append(f"{say(value)}: {why}")
                except Exception as why:
                    failed.append(f"{say(value)}: {type(why).__name__}: {why}")
            assert asked, "there is nothing to ask it of"
            assert not failed, "\n".join(failed)

        others = [it for name, it in signature(test).parameters.items() if name not in named]
        asked_of_each.__signature__ = signature(test).replace(parameters=others)  # type: ignore[attr-defined]
        return asked_of_each

    values = values if callable(values) else list(values)
    return over_all
