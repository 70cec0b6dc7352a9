"""The learner's own lathe, in my_lathe.toml beside the lessons, and the demo lathe that stands in until it is there."""

from __future__ import annotations

import os
from pathlib import Path

from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes import Lathe, demo_lathe

FILE_NAME = "my_lathe.toml"


def my_lathe(demo: str = "inch") -> tuple[Lathe, str]:
    """Read the learner's own lathe from my_lathe.toml in the folder of the lesson, and say which lathe it is.

    >>> lathe, said = my_lathe()
    >>> print(said)
    This is the demo lathe, Bench lathe with an inch leadscrew: there is no my_lathe.toml beside the lessons yet.

    `demo`: the demo lathe that is taken where there is no such file, or none that can be read; it is said so then.
    Raises UnknownNameError for a demo lathe that there isn't.
    """
    instead = demo_lathe(demo)
    path = Path(FILE_NAME)
    if not os.path.lexists(path):
        return instead, f"This is the demo lathe, {instead.name}: there is no {FILE_NAME} beside the lessons yet."
    try:
        own = Lathe.load(path)
    except GearcalcError as problem:
        return instead, f"This is the demo lathe, {instead.name}, since yours can't be read. {problem}"
    return own, f"This is your lathe, {own.name}, from {FILE_NAME}."
