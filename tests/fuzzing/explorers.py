"""The doors of the explorers: each control set as no hand would set it, and the views asked directly."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from gearcalc.learning import explorers as there
from tests.fuzzing.doors import Asked, Door, call_in_words, shown
from tests.fuzzing.judging import Said
from tests.fuzzing.mutations import Draw, mutated
from tests.fuzzing.real_files import a_file
from tests.fuzzing.values import LATHE, SETUP, a_lathe, a_nonsense, a_number, a_text, a_thread_text, a_train, like
from tests.learning.test_explorers_nonsense import EXPLORERS

VIEWS = {name: it for name, it in sorted(vars(there).items()) if callable(it) and name.endswith("_view")}
RIGHT: dict[str, Any] = {
    "lathe": LATHE, "made": SETUP, "meant": SETUP, "turns": 4, "length": "12.7", "limit": "0.1", "thread": "16 tpi",
    "driver": 24, "driven": 48, "first_driver": 24, "first_driven": 48, "second_driver": 30, "second_driven": 60,
    "train": "24/48", "gears": "20 30 40 60", "threads": "M6, 16 tpi",
}  # fmt: skip
"""What is right for arguments that have no default."""
SLOW = {"ask", "bench", "change_over", "change", "gears_worth_adding", "adding", "edit_the_set", "set"}
"""They search."""


def explorers() -> Iterator[Door]:
    for name in EXPLORERS:
        yield Door(f"explorer {name}", _moved(name), seconds=3 if name.removesuffix("_view") in SLOW else 1, share=0.6)
    for name in VIEWS:
        yield Door(f"view {name}", _viewed(name), seconds=3 if name.removesuffix("_view") in SLOW else 1, share=0.6)


def _moved(name: str) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        explorer = EXPLORERS[name]()
        moves = []
        for _ in range(2):
            moved = r.sample(list(explorer.controls), min(len(explorer.controls), r.choice((1, 1, 2))))
            moves.append({control["name"]: _set_to(r, control) for control in moved})

        def ask() -> Iterator[Said]:
            for move in moves:
                explorer.set(**move)
                if explorer.failure is not None:
                    raise explorer.failure
                if explorer.message:
                    yield Said("refusal", explorer.message)
                yield Said("svg", explorer.svg)
                yield Said("html", explorer.facts)
                yield Said("text", f"{explorer.said} {explorer.before} {explorer.idle} {explorer.message}")
                if explorer.shown is not None:
                    yield Said("html", explorer.shown._repr_html_())

        return Asked(" ".join(call_in_words("set", move) for move in moves), ask)

    return draw


def _set_to(r: Draw, control: dict[str, Any]) -> object:
    """A value for a control: one of its own, one of another, one that is none; never what its page could not send."""
    own = control.get("options")
    words = str(control["value"])
    return r.choice((
        lambda: r.choice(own) if own else control["value"], lambda: mutated(r, words), lambda: mutated(r, words),
        lambda: a_text(r), lambda: a_thread_text(r), lambda: str(a_train(r)), lambda: r.randint(-2, 130),
        lambda: r.choice((None, [], {}, "", 2.5, 10**9, True)),
        lambda: a_file(r, "lathe").decode("utf-8", "replace") if control["kind"] == "area" else words,
    ))()  # fmt: skip


def _viewed(name: str) -> Callable[[Draw, int, Path], Asked]:
    view = VIEWS[name]
    arguments = [each for each in inspect.signature(view).parameters.values() if each.kind != each.VAR_KEYWORD]
    right = {each.name: RIGHT[each.name] if each.default is each.empty else each.default for each in arguments}

    def draw(r: Draw, number: int, folder: Path) -> Asked:
        wrong = r.sample(list(right), min(len(right), r.choice((1, 1, 2))))
        given = right | {argument: _for_view(r, argument, right[argument]) for argument in wrong}
        return Asked(call_in_words(name, {each: given[each] for each in wrong}), lambda: shown(view(**given)))

    return draw


def _for_view(r: Draw, argument: str, right: Any) -> object:
    if argument == "lathe":
        return a_lathe(r)
    if argument in ("made", "meant"):
        return SETUP
    kinds = (lambda r: like(r, right), a_text, a_number, a_thread_text, lambda r: mutated(r, str(right)), a_nonsense)
    return r.choice(kinds)(r)
