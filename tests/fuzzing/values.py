"""What may be handed over: of each kind what is right, what is nearly right, and what is nonsense."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import count, repeat
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import sympy
from attrs import evolve
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

import gearcalc as gc
from tests import strategies
from tests.fuzzing.mutations import PLANTED, Draw, mutated, slipped

LATHE = gc.Lathe.from_toml(
    """
    name = "Shed lathe"
    leadscrew = { lead = "12 tpi", hand = "left" }
    spindle_side = { reverse = false }
    gears = { teeth = [18, 24, 24, 30, 36, 42, 48, 60, 127], diametral_pitch = 20, pressure_angle_deg = 14.5 }
    dial.gears = [{ teeth = 24, lines = 12 }]
    feeds = { longitudinal = "1/8", cross = "1/16" }
    [bracket]
    spindle_side_at_mm = [-45.0, 100.0]
    swing_deg = [-80, 30]
    slots = [{ from_mm = [-28, 0], to_mm = [-150, 0] }]
    studs = 2
    stud_radius_mm = 6
    shaft_radius_mm = 6
    """
)
TRAIN = gc.Train((24,), (48,), ((60,),))
SETUP = gc.setup(LATHE, drivers=24, driven=48, idlers=60, wanted="24 tpi LH")
FIT = gc.fit(LATHE, TRAIN)


def nonsense() -> list[object]:
    """New ones each time, since an iterator is used up."""
    return [
        None, "", " ", "x", "<b>", "0", "-3", "0/0", "1/0", "9" * 500, "½", "٣", "M6\n", b"x", True, 0, -1, -5, 10**9,
        10**400, Fraction(1, 10**50), Fraction(10**400, 3), 1e308, float("nan"), float("inf"), 1j, [], (), {}, [None],
        [""], ["M6", None], {1, 2}, range(3), iter([1]), object(), object, print, SETUP, LATHE, TRAIN, FIT,
        10**5000, -(10**5000), Fraction(1, 10**5000), sympy.Integer(10) ** 5000, sympy.sqrt(2), sympy.Symbol("x"),
        Decimal("1e999999"), np.array(2), np.array("M6"), np.array([1, 2]), np.array([]), np.float64("nan"),
        np.int64(-1), pd.Series(["M6"]), pd.Series([1, 2], index=["a", "b"]), pd.DataFrame({"a": [1]}),
        pd.NA, pd.NaT,
        count(1), repeat("M6"), range(10**12), nested(), Broken("M6"), Broken(), Path("x"), bytearray(b"M6"),
        {"M6": 1}, (x for x in [None]), lambda: 1, "\ud800", "M6\0", "x" * 3_000,
        SimpleNamespace(numerator=1, denominator=0), np.zeros(3), sympy.pi, sympy.zoo, gc, NotImplemented,
        ValueError("x"), range(10**9), Decimal("nan"), Decimal("-0"), -0.0,
    ]  # fmt: skip


@cache
def how_much_nonsense() -> int:
    return len(nonsense())


@cache
def nested() -> list[object]:
    """Deeper than Python may go; made once, since that takes a while."""
    inner: list[object] = []
    for _ in range(20_000):
        inner = [inner]
    return inner


class Broken(str):
    """Text of which each method fails."""

    def strip(self, *_: object) -> str:
        raise RuntimeError("no strip")

    lower = upper = split = replace = casefold = removeprefix = removesuffix = strip  # type: ignore[assignment]

    def __iter__(self) -> Any:
        raise RuntimeError("no signs")

    def __repr__(self) -> str:
        raise RuntimeError("no words")

    __str__ = __format__ = __repr__  # type: ignore[assignment]


# What the strategies know, some examples of each.


def _some_of(strategy: st.SearchStrategy[Any], most: int) -> list[Any]:
    found: list[Any] = []

    @settings(
        derandomize=True, database=None, max_examples=most, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(strategy)
    def collect(value: Any) -> None:
        found.append(value)

    collect()
    return found


KINDS: dict[str, Callable[[], tuple[st.SearchStrategy[Any], int]]] = {
    "threads": lambda: (strategies.thread_texts(), 200),
    "feeds": lambda: (strategies.feed_texts(), 60),
    "numbers": lambda: (strategies.number_texts(), 100),
    "trains": lambda: (strategies.trains(3), 100),
    "lathes": lambda: (strategies.any_lathes, 100),
    "junk": lambda: (strategies.junk, 100),
    "choking": lambda: (strategies.choking, 60),
}


@cache
def some(kind: str) -> list[Any]:
    """Examples of one kind, the same ones in every process."""
    return _some_of(*KINDS[kind]())


# One value of a kind.


def a_nonsense(r: Draw) -> object:
    given = nonsense()
    return given[r.randrange(len(given))]


def a_name(r: Draw) -> str:
    """A name that a person may give, or somebody who plants something."""
    return r.choice((
        lambda: r.choice(PLANTED), lambda: r.choice(PLANTED), lambda: mutated(r, "Shed lathe"),
        lambda: r.choice(some("junk")),
        lambda: r.choice(("low", "middle", "high", "", " ", "x" * 300, "Ünïcödé", "漢字", "\u05d0\u05d1", "CON",
        "a" * 60)),
    ))()  # fmt: skip


def a_text(r: Draw) -> str:
    """What may be typed anywhere."""
    kind = r.choice(("threads", "threads", "feeds", "numbers", "trains", "junk", "choking", "name", "name"))
    text = a_name(r) if kind == "name" else str(r.choice(some(kind)))
    return mutated(r, text) if r.goes_wrong and len(text) < 1000 else text


def a_thread_text(r: Draw) -> str:
    return slipped(r, str(r.choice(some("threads" if r.random() < 0.8 else "feeds"))))


def a_number(r: Draw) -> object:
    """A number as it may stand in a program, or as text."""
    if not r.goes_wrong:
        return r.choice(
            (r.randint(1, 40), r.choice(some("numbers")), round(r.uniform(0.1, 30), 3), Fraction(r.randint(1, 99), 8))
        )
    return r.choice((
        lambda: r.randint(-2, 200), lambda: r.randint(0, 12), lambda: r.choice(some("numbers")),
        lambda: mutated(r, r.choice(some("numbers"))), lambda: round(r.uniform(0, 30), 3),
        lambda: Fraction(r.randint(-5, 400), r.randint(1, 128)), lambda: Decimal(r.randint(1, 4000)) / 100,
        lambda: np.float64(r.uniform(0, 10)), lambda: np.int64(r.randint(0, 100)),
        lambda: gc.PiMultiple(Fraction(r.randint(1, 9), 4)),
        lambda: sympy.Rational(r.randint(1, 90), 7), lambda: 10 ** r.randint(3, 400), lambda: 10.0 ** r.randint(-320,
        300),
    ))()  # fmt: skip


def a_train(r: Draw) -> object:
    train = r.choice(some("trains"))
    if not r.goes_wrong:
        return r.choice((train, str(train), TRAIN, SETUP, "24/48", "24/48", "(24 30)/(48 60)", ((24,), (48,))))
    return r.choice((
        lambda: train, lambda: str(train), lambda: mutated(r, str(train)), lambda: TRAIN, lambda: SETUP,
        lambda: "24/48",
        lambda: "(24 30)/(48 60)", lambda: ((24,), (48,)), lambda: a_text(r),
    ))()  # fmt: skip


def a_lathe(r: Draw) -> object:
    """One of the demo lathes, the shed's, one out of the strategies, one whose names plant something."""
    lathe = r.choice((LATHE, LATHE, *demo_lathes(), *some("lathes")))
    return with_planted_names(r, lathe) if r.goes_wrong else lathe


def with_planted_names(r: Draw, lathe: gc.Lathe) -> gc.Lathe:
    """A lathe with a hostile name, note or lever, if it lets itself be called so."""
    try:
        lathe = evolve(lathe, name=a_name(r))
        lathe = evolve(lathe, note=a_name(r))
        return evolve(lathe, gearbox=tuple(evolve(lever, name=a_name(r)) for lever in lathe.gearbox))
    except gc.GearcalcError:
        return lathe


@cache
def demo_lathes() -> tuple[gc.Lathe, ...]:
    return tuple(gc.demo_lathe(name) for name in ("inch", "metric", "odd"))


def a_list(r: Draw, of: Callable[[Draw], object]) -> object:
    """Some of a kind, in one of the ways to hand over several; never more than a search may be asked in a second."""
    several = [of(r) for _ in range(r.choice((0, 1, 1, 2, 3, 6)))]
    if not r.goes_wrong:
        return several
    if r.random() < 0.3:
        several.insert(0, a_nonsense(r))
    ways: Sequence[Callable[[Any], object]] = (
        list,
        list,
        list,
        tuple,
        iter,
        lambda each: ", ".join(map(str, map(type, each))),
    )
    return r.choice(ways)(several)


THREADS = {"M6", "M10", "24 tpi", "24 tpi LH", "20 tpi", "16 tpi", "1.25 mm", "12 tpi", "11 tpi"}
"""In place of these another thread is right too, as a rule."""


def near(r: Draw, right: Any) -> Any:
    """What is right there too, as a rule: the same written otherwise, a little more, another of its kind.

    What most inputs are made of, so that they come past the first door and to what lies behind it.
    """
    if isinstance(right, bool):
        return r.choice((True, False))
    if isinstance(right, (int, float, Fraction)):
        written = right if isinstance(right, int) else str(right)
        return r.choice((right, right, written, right + 1, np.int64(right) if isinstance(right, int) else right))
    if isinstance(right, gc.Lathe):
        return right if r.random() < 0.7 else a_lathe(r)
    if isinstance(right, gc.Train):
        return r.choice((right, str(right)))
    if isinstance(right, str) and right in THREADS:
        return r.choice((right, str(r.choice(some("threads")))))
    if isinstance(right, str):
        return r.choice((right, right, right, f" {right} "))
    if type(right) in (list, tuple):
        return type(right)(near(r, each) for each in right)
    return right


def like(r: Draw, right: Any) -> object:
    """Something of the kind of what is right there, or nearly."""
    if not r.goes_wrong:
        return near(r, right)
    if r.random() < 0.4:
        return a_nonsense(r)
    if isinstance(right, bool):
        return r.choice((True, False, None, 1, "yes", 0))
    if isinstance(right, (int, float, Fraction)):
        return a_number(r)
    if isinstance(right, gc.Lathe):
        return a_lathe(r)
    if isinstance(right, (gc.Setup, gc.Train)):
        return a_train(r)
    if isinstance(right, str):
        return r.choice((lambda: mutated(r, right), lambda: a_text(r), lambda: a_thread_text(r), lambda: a_name(r)))()
    if isinstance(right, (list, tuple)):
        return a_list(r, lambda r: like(r, right[0] if right else "M6"))
    return r.choice((a_nonsense, a_text, a_number, a_train, a_thread_text))(r)


def a_place(r: Draw, folder: Path, ending: str) -> object:
    """Where something may be told to go: in the folder, or where nothing can."""
    there = folder / f"there{ending}"
    if not r.goes_wrong:
        return r.choice((there, str(there), f"new{ending}"))
    if r.random() < 0.3:
        there.write_bytes(b"kept")
    if r.random() < 0.1 and not (folder / f"pipe{ending}").exists():
        os.mkfifo(folder / f"pipe{ending}")
    return r.choice((
        there, str(there), there, f"new{ending}", f"NEW{ending.upper()}", "", ".", "..", "/", f"none/there{ending}",
        "x\0y", f"{'x' * 300}{ending}",
        f"a\nb{ending}", f"pipe{ending}", "/dev/full", "/dev/null", "~", "-", f" {ending}",
        ending, f"<zq>{ending}".replace("/", ""),
        f"\x1b[31m{ending}", f"\ud800{ending}", f"\u202e{ending}", None, 7, b"x", folder, f"{folder}/", "x" * 3000,
        a_name(r).lstrip("/"),
    ))  # fmt: skip
