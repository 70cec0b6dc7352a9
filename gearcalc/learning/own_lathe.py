"""The learner's own lathe, in my_lathe.toml beside the lessons, and the demo lathe that stands in until it is there.

Where nothing is kept, since many share the folder, a lathe may stand for one page alone, as long as its kernel runs.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.markup import one_line
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.new_files import new_lathe_file
from gearcalc.learning.live import IN_THE_BROWSER

FILE_NAME = "my_lathe.toml"
_BESIDE = "in this browser" if IN_THE_BROWSER else "beside the lessons"
CALLED = "GEARCALC_LATHE_CALLED"
"""In the environment of lessons that are run for a handout: the file that stands in as ours, as its owner calls it."""
_STILL_THE_EXAMPLE = "All that stands in it is still the example: put in your own."
_of_this_page: list[Lathe] = []
_followers: WeakKeyDictionary[Any, Callable[[Any, Lathe], None]] = WeakKeyDictionary()


def my_lathe(demo: str = "inch") -> tuple[Lathe, str]:
    """Read the learner's own lathe from my_lathe.toml in the folder of the lesson, and say which lathe it is.

    >>> lathe, said = my_lathe()
    >>> print(said)
    This is the demo lathe, Bench lathe with an inch leadscrew: there is no my_lathe.toml beside the lessons yet.

    `demo`: the demo lathe that is taken where there is no such file, or none that can be read; it is said so then.
    Raises UnknownNameError for a demo lathe that there isn't.
    """
    instead = demo_lathe(demo)
    for own in _of_this_page:
        return own, f"This is your lathe, {own.name}, on this page alone, for as long as it is open. It is not kept."
    path = Path(FILE_NAME)
    if not os.path.lexists(path):
        return instead, f"This is the demo lathe, {instead.name}: there is no {FILE_NAME} {_BESIDE} yet."
    try:
        own = Lathe.load(path)
    except GearcalcError as problem:
        return instead, f"This is the demo lathe, {instead.name}, since yours can't be read. {problem}"
    said = f"This is your lathe, {own.name}, from {one_line(os.environ.get(CALLED, FILE_NAME))}."
    return own, f"{said} {_STILL_THE_EXAMPLE}" if own == _example() else said


@cache
def _example() -> Lathe:
    return Lathe.from_toml(new_lathe_file())


def stand_for_this_page(lathe: Lathe) -> None:
    """Have a lathe stand in place of any file until the program ends, and have what follows it take it up."""
    _of_this_page[:] = [lathe]
    for one, take_up in list(_followers.items()):
        take_up(one, lathe)


def follow(one: Any, take_up: Callable[[Any, Lathe], None]) -> None:
    """Have something on the page told of a lathe that comes to stand for this page, as long as it is there itself."""
    _followers[one] = take_up
