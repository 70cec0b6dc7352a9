"""A door: somewhere that something may be handed in, what is drawn to be handed in there, and how it is asked."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from fractions import Fraction
from pathlib import Path
from typing import Any

import pandas as pd
from attrs import frozen

from tests.fuzzing.judging import Said
from tests.fuzzing.mutations import Draw
from tests.fuzzing.values import a_nonsense, a_number, a_place, a_text, a_thread_text, a_train


@frozen
class Asked:
    """One input: what it is, in words, and what asks it; that gives what was said, or raises."""

    words: str
    ask: Callable[[], Iterable[Said]]


@frozen
class Door:
    """`draw`: an input from its own Random, its number, and a folder that it may fill and write in.

    `seconds`, `megabytes`: the most that one may take, of processor time and of memory beyond what there was.
    `share`: how many of them are asked for one of a usual door. `first`: so many, those of a list, come before chance.
    `may`: what it may do besides writing into its folder, as the guard has it.
    """

    name: str
    draw: Callable[[Draw, int, Path], Asked]
    seconds: float = 1.0
    megabytes: float = 300.0
    share: float = 1.0
    first: int = 0
    may: frozenset[str] = frozenset()


def in_words(given: object) -> str:
    """A value for a report; a broken one by its kind."""
    try:
        said = repr(given)
    except Exception:
        return f"<{type(given).__name__}>"
    return said if len(said) < 120 else f"{said[:100]}... ({len(said)})"


def call_in_words(name: str, given: dict[str, Any]) -> str:
    return f"{name}({', '.join(f'{each}={in_words(value)}' for each, value in given.items())})"


def shown(answer: Any) -> Iterator[Said]:
    """All the ways in which an answer shows itself: in a shell, in a notebook, as a picture."""
    if isinstance(answer, Path):  # as it was given
        return
    yield Said("text", str(answer))
    if isinstance(answer, pd.DataFrame):
        yield Said("html", answer._repr_html_())
        return
    if not type(answer).__module__.startswith("gearcalc"):
        return
    yield Said("text", repr(answer))
    for name in ("_repr_html_", "_repr_latex_", "page", "facts_html"):
        way = getattr(answer, name, None)
        said = way() if callable(way) else way
        if isinstance(said, str):
            yield Said("html", said)
    svg = getattr(answer, "svg", None)
    if isinstance(svg, str):
        yield Said("svg", svg)


def offers(of: object) -> list[str]:
    """The public names of what is handed back; what lists and errors have of Python is Python's."""
    ours = (kind for kind in type(of).__mro__ if kind.__module__.startswith("gearcalc"))
    there = {name for kind in ours for name in dir(kind) if not name.startswith("_")}
    return sorted(there - _OF_PYTHON - TOLD_BY_US_ALONE.get(type(of).__name__, set()))


TOLD_BY_US_ALONE = {
    "Paper": {
        "cautions", "choices", "drawing", "keep_together", "kept_whole", "marked", "next_page", "pairs", "put", "space",
        "step", "table", "ticked", "title", "words",
    },
    "GearcalcError": {"at"},
    "RelativeError": {"of_ppm"},
}  # fmt: skip
"""How a page is laid out, an error placed, a bound made: the package does that, nobody who uses it."""

_OF_PYTHON = {name for kind in (list, tuple, dict, str, Fraction, Exception) for name in dir(kind)}


def walked(r: Draw, answer: Any, folder: Path, most: int = 2) -> Iterator[Said]:
    """Some of what an answer offers, taken or called with something of the kind that its arguments are named for."""
    if isinstance(answer, (list, tuple)) and answer and r.random() < 0.5:
        answer = r.choice(answer)
    if isinstance(answer, pd.DataFrame) or not type(answer).__module__.startswith("gearcalc"):
        return
    there = offers(answer)
    for name in r.sample(there, min(most, len(there))):
        it = getattr(answer, name)
        if callable(it):
            yield from offered(r, it, name, folder)
        else:
            yield from shown(it)


def offered(r: Draw, method: Callable[..., Any], name: str, folder: Path) -> Iterator[Said]:
    """What a method says to arguments that are drawn for it."""
    given, named = [], {}
    for argument in _parameters(method):
        if argument.kind in (argument.VAR_KEYWORD, argument.VAR_POSITIONAL):
            continue
        if argument.default is not argument.empty and r.random() < 0.5:
            continue
        value = _for_argument(r, argument.name, folder)
        if argument.kind == argument.KEYWORD_ONLY or named or argument.default is not argument.empty:
            named[argument.name] = value
        else:
            given.append(value)
    yield from shown(method(*given, **named))


def _parameters(method: Callable[..., Any]) -> list[inspect.Parameter]:
    with suppress(ValueError, TypeError):
        return list(inspect.signature(method).parameters.values())
    return []


def _for_argument(r: Draw, name: str, folder: Path) -> object:
    if r.random() < 0.25:
        return a_nonsense(r)
    if name in ("path", "file", "folder"):
        return a_place(r, folder, r.choice((".toml", ".svg", ".pdf", ".csv", ".html")))
    return r.choice((a_number, a_text, a_thread_text, a_train, a_nonsense))(r)
