"""The doors of the explorers: each control set as no hand would set it, and the views asked directly."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from gearcalc.learning import explorers as there
from tests.fuzzing.doors import Asked, Door, call_in_words, shown
from tests.fuzzing.judging import Said
from tests.fuzzing.mutations import Draw, mutated
from tests.fuzzing.real_files import a_file
from tests.fuzzing.values import a_lathe, a_nonsense, a_number, a_text, a_thread_text, a_train, like, near
from tests.learning.test_explorers_handed import right_call
from tests.learning.test_explorers_nonsense import EXPLORERS

VIEWS = {name: it for name, it in sorted(vars(there).items()) if callable(it) and name.endswith("_view")}
SLOW = {"ask", "bench", "change_over", "change", "gears_worth_adding", "adding", "edit_the_set", "set"}
"""They search."""


def explorers() -> Iterator[Door]:
    for name in EXPLORERS:
        yield Door(f"explorer {name}", _moved(name), seconds=3 if name.removesuffix("_view") in SLOW else 1, share=0.6)
    for name in VIEWS:
        yield Door(f"view {name}", _viewed(name), seconds=3 if name.removesuffix("_view") in SLOW else 1, share=0.6)


def _moved(name: str) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        begins = _begins(r, name) if r.random() < 0.3 else {}
        explorer = EXPLORERS[name]()
        moves = []
        for _ in range(2):
            moved = r.sample(list(explorer.controls), min(len(explorer.controls), r.choice((1, 1, 2))))
            moves.append({control["name"]: _set_to(r, control) for control in moved})

        def ask() -> Iterator[Said]:
            if begins:
                yield from _as_it_is(getattr(there, name)(**{**right_call(name), **begins}))
            for move in moves:
                explorer.set(**move)
                yield from _as_it_is(explorer)

        return Asked(" ".join([call_in_words(name, begins), *(call_in_words("set", move) for move in moves)]), ask)

    return draw


def _begins(r: Draw, name: str) -> dict[str, Any]:
    """What an explorer may be told to begin with, in a cell."""
    right = right_call(name)
    return {each: _for_view(r, right[each]) for each in r.sample(list(right), r.choice((1, 1, min(2, len(right)))))}


def _as_it_is(explorer: Any) -> Iterator[Said]:
    if explorer.failure is not None:
        raise explorer.failure
    if explorer.message:
        yield Said("refusal", explorer.message)
    yield Said("svg", explorer.svg or "<svg/>")
    yield Said("html", explorer.facts)
    yield Said("text", f"{explorer.said} {explorer.before} {explorer.idle} {explorer.message}")
    if explorer.shown is not None:
        yield Said("html", explorer.shown._repr_html_())


def _set_to(r: Draw, control: dict[str, Any]) -> object:
    """A value for a control: one that it has, one of another, one that is none; never what its page could not send."""
    own = control.get("options")
    words = str(control["value"])
    if not r.goes_wrong:
        return _as_a_hand_does(r, control)
    return r.choice((
        lambda: r.choice(own) if own else control["value"], lambda: mutated(r, words), lambda: mutated(r, words),
        lambda: a_text(r), lambda: a_thread_text(r), lambda: str(a_train(r)), lambda: r.randint(-2, 130),
        lambda: r.choice((None, [], {}, "", 2.5, 10**9, True)),
        lambda: a_file(r, "lathe").decode("utf-8", "replace") if control["kind"] == "area" else words,
    ))()  # fmt: skip


def _as_a_hand_does(r: Draw, control: dict[str, Any]) -> object:
    if control["kind"] == "table":
        return r.choice((1, 2, 3, "1"))
    if control.get("options"):
        return r.choice(control["options"])
    if control["kind"] == "slider":
        steps = round((control["max"] - control["min"]) / control["step"])
        value = round(control["min"] + r.randint(0, steps) * control["step"], 6)
        return r.choice((value, value, str(value)))
    return near(r, control["value"])


def _viewed(name: str) -> Callable[[Draw, int, Path], Asked]:
    view, right = VIEWS[name], right_call(name)

    def draw(r: Draw, number: int, folder: Path) -> Asked:
        others = r.sample(list(right), min(len(right), r.choice((1, 1, 2, 3))))
        given = {each: _for_view(r, right[each]) for each in others}
        return Asked(call_in_words(name, given), lambda: shown(view(**{**right, **given})))

    return draw


def _for_view(r: Draw, right: Any) -> object:
    if not r.goes_wrong:
        return near(r, right)
    return r.choice((
        lambda: like(r, right), lambda: a_text(r), lambda: a_number(r), lambda: a_thread_text(r),
        lambda: mutated(r, str(right)), lambda: a_nonsense(r), lambda: a_lathe(r),
    ))()  # fmt: skip
