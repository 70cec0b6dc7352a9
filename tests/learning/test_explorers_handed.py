"""Explorers and views called in a cell: whatever an argument is handed, they show something, or say what they take."""

from __future__ import annotations

import inspect
import json
from itertools import count
from typing import Any

import numpy as np
import pandas as pd
import pytest

import gearcalc as gc
from gearcalc.learning import explorers
from tests.how_much import in_one

INCH = gc.demo_lathe("inch")
MEANT = gc.setup(INCH, 40, 50, "low", wanted="20 tpi")
PAIRS = {"first_driver": 20, "first_driven": 40, "second_driver": 30, "second_driven": 60}
RIGHT: dict[str, dict[str, Any]] = {
    "adding_view": {"gears": "20 30 40 50 60 80", "threads": "1 mm, 16 tpi", "most": "one gear"},
    "bench_view": {"measured": "1.5", "limit": "0.02", "mounted": "40/80", "threads": "M6, 16 tpi"},
    "cut_view": {"made": MEANT},
    "detective_view": {"meant": MEANT, "turns": 10, "length": 19.8, "limit": "0.1"},
    "fit_bench_view": {
        "train": "(30 · 40)/(60 · 80)", "swing": -31.5, "first_stud": 45.3, "first_slot": "first", "second_stud": "90",
    },
    "measurement_view": {"thread": "1.25 mm", "turns": 10, "length": 12.6, "limit": 0.25},
    "one_turn_view": {"driver": 40, "driven": 80, "idlers": "one", "idler": 60, "lever": "middle"},
    "prove_the_cut": {"meant": MEANT},
    "set_view": {"gears": "20 40 50 60 80 127", "threads": "M6, M10"},
    "turning_view": {**PAIRS, "lever": "middle", "thread": "16 tpi"},
    "two_pairs_view": {**PAIRS, "lever": "middle", "thread": "16 tpi"},
}  # fmt: skip
"""What those want that do not come to an answer with a lathe alone, or take more than their names say."""


def right_call(name: str) -> dict[str, Any]:
    """All arguments of an explorer or a view, each as it may be."""
    takes = inspect.signature(getattr(explorers, name)).parameters.values()
    named = {each.name: each.default for each in takes if each.kind != each.VAR_KEYWORD}
    return {**named, **({"lathe": INCH} if "lathe" in named else {}), **RIGHT.get(name, {})}


NAMES = sorted(name for name, it in vars(explorers).items() if callable(it))


class Others(str):
    """Another's kind of text, which says nothing of itself."""

    def strip(self, *_: object) -> str:
        raise RuntimeError("no strip")

    split = casefold = lower = __str__ = __repr__ = strip  # type: ignore[assignment]


def nonsense() -> list[object]:
    return [
        None, "", "inch", True, -1, 10**5000, float("nan"), object(), count(1), [None], [[]], Others("x"), pd.NA,
        np.array(2), np.array([]), np.array([1, 2]), pd.DataFrame({"a": [1]}), np.float64(0.5),
    ]  # fmt: skip


@in_one("name", NAMES)
class TestWhateverItIsHanded:
    def test_what_is_right_shows_something(self, name):
        shown = getattr(explorers, name)(**right_call(name))
        assert shown.svg.startswith("<svg")
        assert getattr(shown, "message", "") == ""

    def test_anything_is_shown_or_refused_in_our_words(self, name):
        for argument in right_call(name):
            for given in nonsense():
                try:
                    shown = getattr(explorers, name)(**{**right_call(name), argument: given})
                except gc.GearcalcError:
                    continue
                except Exception as problem:
                    pytest.fail(f"{argument}, a {type(given).__name__}: {problem!r}")
                assert getattr(shown, "failure", None) is None, f"{argument}, a {type(given).__name__}: {shown.failure}"
                if hasattr(shown, "controls"):
                    json.dumps([shown.controls, shown.values], allow_nan=False)  # what goes to the page


class TestWhatIsSaid:
    def test_a_lathe_is_no_name(self):
        with pytest.raises(gc.GearcalcError, match="a lathe is wanted here, not 'inch'"):
            explorers.ask("inch")

    def test_a_number_is_no_thread(self):
        with pytest.raises(gc.GearcalcError, match=r"thread must be text, not 5\.5"):
            explorers.bench("inch", 5.5)

    def test_several_stand_in_a_box_with_commas_between(self):
        threads = explorers.edit_the_set(INCH, threads=("M6", gc.Thread.parse("16 tpi")), gears=[20, 40]).values
        assert (threads["threads"], threads["gears"]) == ("M6, 16 tpi", "20 40")

    def test_a_thread_in_place_of_its_text_is_its_words(self):
        assert explorers.ask(INCH, thread=gc.Thread.parse("16 tpi")).values["thread"] == "16 tpi"

    def test_a_number_that_is_text_may_begin_a_slider(self):
        assert explorers.watch_the_gap(INCH, length="25.4").values["length"] == 1

    def test_what_is_no_number_begins_none(self):
        with pytest.raises(gc.GearcalcError, match="turns"):
            explorers.prove_the_cut(INCH, MEANT, turns=[])
