"""How far a long search has got, shown or not."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import Any, Protocol

from gearcalc.basics.arguments import as_yes_or_no, shown
from gearcalc.basics.errors import ValueOutOfRangeError


class Shown(Protocol):
    """Hands on what it is given, and may show how far that has gone; the words say what is being done."""

    def __call__(self, steps: Iterable[Any], doing: str, /) -> Iterable[Any]: ...


def how_shown(progress: object) -> Shown:
    """How far a long search has got: shown by a bar (tqdm), not at all, or as whoever asks shows it.

    >>> list(how_shown(False)([1, 2], "Counting"))
    [1, 2]

    `progress`: True, False, or a function that hands on the steps it is given, with words for what they are.
    Raises ValueOutOfRangeError for anything else; for a function that hands nothing on, when it is first called.
    """
    if callable(progress):
        return partial(_handed_on, progress)
    return _with_bar if as_yes_or_no(progress, what="progress") else _silently


def _handed_on(progress: Shown, steps: Iterable[Any], doing: str) -> Iterable[Any]:
    try:
        return iter(progress(steps, doing))
    except TypeError as problem:
        raise ValueOutOfRangeError(
            "progress is a function that takes steps and words, and hands the steps on",
            value=shown(progress),
            remedy="Or True for a bar, False for none.",
        ) from problem


def _silently(steps: Iterable[Any], _: str) -> Iterable[Any]:
    return steps


def _with_bar(steps: Iterable[Any], doing: str) -> Iterable[Any]:
    from tqdm.auto import tqdm

    bar: Iterable[Any] = tqdm(steps, desc=doing, leave=False)
    return bar
