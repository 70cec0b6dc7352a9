"""One job done in several ways in one run: how long each takes, whether the answers agree, and how the cost grows.

A rivalry is a job of a size, and the ways to do it, ours first. What it shows are ratios within one run, so they may be
compared between machines. Times are processor time, since the machine may be busy with other work.
"""

from __future__ import annotations

import gc
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from math import exp, inf, log
from time import process_time
from typing import Any

import numpy as np

MOST_GROWTH = 4.0  # of the time with the steps: a jump from one size to the next is no law
NOT_RUN, NO_ANSWER = "not run", "no answer"
SAME = "same"


@dataclass
class Allowed:
    """What a rival may take."""

    seconds: float = 60.0
    bytes_at_once: float = 1e9


ALLOWED = Allowed()


class OutOfTimeError(Exception):
    """A rival that can be told how long it may take has taken so long, and has no answer."""


@dataclass(frozen=True)
class Way:
    """A way to do a job: `work` gives the answer, `agrees` says of it and of ours how they stand to each other.

    `steps`: what its time is foretold from, so many for so much work; `bytes_needed`: likewise. `ready`: what is made
    beforehand and not counted. `cold`: nothing that gearcalc keeps from one question to the next is there. `against`:
    which of our ways it is compared with, the first where nothing is said. `clock`: what it is timed by.
    """

    name: str
    work: Callable[[], Any]
    agrees: Callable[[Any, Any], str] = lambda theirs, ours: same(theirs, ours)
    steps: float = 1.0
    bytes_needed: float = 0.0
    ready: Callable[[], object] | None = None
    cold: bool = False
    against: str = ""
    ours: bool = False
    clock: Callable[[], float] = process_time


@dataclass(frozen=True)
class Limit:
    """What no way can do without: so many bytes to be read or written once; so many things to be looked at once."""

    said: str
    bytes_once: float
    things: float


@dataclass(frozen=True)
class Rivalry:
    """A job, the sizes at which it is done, the ways to do it at a size, and what could not be beaten there.

    `job`: by which it is asked for; `case`: which of several of that job; `question`: what is done, in a line.
    """

    job: str
    case: str
    question: str
    unit: str
    sizes: Sequence[int]
    quick: Sequence[int]
    ways: Callable[[int], Sequence[Way]]
    limit: Callable[[int, Any], Limit]


@dataclass(frozen=True)
class Row:
    """What was measured of one way at one size. `seconds`: None where it was not run; `said`: why, or what came out."""

    job: str
    case: str
    unit: str
    size: int
    way: str
    seconds: float | None
    ratio: float | None
    said: str
    ours: bool = False


MACHINE, ONE_PASS = "limit: memory read once", "limit: one pass in plain Python"
LIMITS = (MACHINE, ONE_PASS)


def same(theirs: object, ours: object) -> str:
    """Both give the same answer; AssertionError if not, which ends the run."""
    assert theirs == ours, f"the answers differ:\n{theirs}\n{ours}"
    return SAME


def timed(work: Callable[..., object], *given: object, clock: Callable[[], float] = process_time) -> float:
    """How long it takes once, with what it is given."""
    gc.freeze()  # what others have left in memory is no burden of this work
    try:
        start = clock()
        work(*given)
        return clock() - start
    finally:
        gc.unfreeze()


def seconds(work: Callable[[], object], at_most: float = 0.5, clock: Callable[[], float] = process_time) -> float:
    """The shortest of several runs that together take about so long; of one run, if that is longer."""
    shortest, spent, runs = inf, 0.0, 0
    while runs == 0 or (spent < at_most and runs < 20):
        taken = timed(work, clock=clock)
        shortest, spent, runs = min(shortest, taken), spent + taken, runs + 1
    return shortest


def forget() -> None:
    """Drop what gearcalc has kept from earlier questions, so that the next is as the first."""
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] == "gearcalc":
            for kept in list(vars(module).values()):
                with suppress(AttributeError):
                    kept.cache_clear()


@cache
def bytes_a_second() -> float:
    """How much memory this machine reads in a second, one core, measured now."""
    much = np.ones(2**25)  # 256 MB: far more than any cache holds
    return much.nbytes / seconds(much.sum, at_most=0.5)


@cache
def seconds_a_thing() -> float:
    """How long plain Python takes to look at one whole number of a list."""
    many = list(range(10**6))

    def one_pass() -> None:
        for _ in many:
            pass

    return seconds(one_pass, at_most=0.3) / len(many)


class Bench:
    """Measures size by size; remembers how fast each rival was, to foretell what it can do in time.

    `patience`: seconds to go on repeating what takes less.
    """

    def __init__(self, patience: float = 0.2) -> None:
        self.patience = patience
        self.known: dict[tuple[str, str, str], list[tuple[float, float]]] = defaultdict(list)

    def foretold(self, key: tuple[str, str, str], steps: float) -> float:
        """How many seconds so many steps will take: in proportion to them, or worse if it was worse the last time."""
        known = self.known[key]
        if not known:
            return 0.0
        (last_steps, last), growth = known[-1], 1.0
        if len(known) > 1 and last_steps > known[-2][0]:
            growth = min(MOST_GROWTH, max(1.0, log(last / known[-2][1]) / log(last_steps / known[-2][0])))
        return last * exp(min(100.0, growth * log(max(1.0, steps / last_steps))))

    def rows(self, rivalry: Rivalry, size: int) -> Iterator[Row]:
        """One row for each way, ours first, then one for each limit."""
        ours: dict[str, tuple[float, Any]] = {}
        for way in rivalry.ways(size):
            taken, answer, said = self._run(rivalry, way)
            own = ours.get(way.against) or next(iter(ours.values()), None)
            ratio = None
            if taken is not None and own is not None:
                ratio = taken / own[0]
                said = way.agrees(answer, own[1])
            if way.ours and taken is not None:
                ours[way.name] = taken, answer
            yield Row(rivalry.job, rivalry.case, rivalry.unit, size, way.name, taken, ratio, said, way.ours)
        if ours:
            taken, answer = next(iter(ours.values()))
            limit = rivalry.limit(size, answer)
            passes = limit.bytes_once / bytes_a_second(), limit.things * seconds_a_thing()
            for name, least in zip(LIMITS, passes, strict=True):
                yield Row(rivalry.job, rivalry.case, rivalry.unit, size, name, least, least / taken, limit.said)

    def _run(self, rivalry: Rivalry, way: Way) -> tuple[float | None, Any, str]:
        key = rivalry.job, rivalry.case, way.name
        if way.bytes_needed > ALLOWED.bytes_at_once:
            return None, None, f"{NOT_RUN}: {writing_bytes(way.bytes_needed)}"
        foretold = self.foretold(key, way.steps) if way.steps < inf else inf
        if foretold > ALLOWED.seconds:
            return None, None, NOT_RUN if foretold == inf else f"{NOT_RUN}: {writing_seconds(foretold)}"
        if way.ready is not None:
            way.ready()
        gc.collect()
        answers: list[Any] = []
        shortest, spent, runs = inf, 0.0, 0
        while runs == 0 or (spent < self.patience and runs < 20):
            if way.cold:
                forget()
            try:
                taken = timed(lambda: answers.append(way.work()), clock=way.clock)
            except (OutOfTimeError, RecursionError) as gave_up:
                if way.ours:
                    raise
                self.known[key].append((way.steps, inf))
                why = f" in {gave_up}" if isinstance(gave_up, OutOfTimeError) else ": it calls itself too deep"
                return None, None, NO_ANSWER + why
            shortest, spent, runs = min(shortest, taken), spent + taken, runs + 1
        self.known[key].append((way.steps, max(shortest, 1e-9)))
        return shortest, answers[0], "ours" if way.ours else ""


def growth(points: Sequence[tuple[int, float]]) -> float | None:
    """The power of the size that the time grows with, over the last sizes; None where there are too few to say."""
    last = [(log(size), log(taken)) for size, taken in points[-4:] if size > 0]
    if len(last) < 3 or last[0][0] == last[-1][0]:
        return None
    return float(np.polyfit(*zip(*last, strict=True), 1)[0])


def writing_seconds(taken: float) -> str:
    """A time with two figures and a unit that suits it."""
    if taken > 3.156e10:
        return "over 1,000 years"
    for least, unit, name in ((3.2e8, 3.156e7, "years"), (172800, 86400, "days"), (7200, 3600, "h"), (120, 60, "min")):
        if taken >= least:
            return f"{two_figures(taken / unit)} {name}"
    for unit, name in ((1, "s"), (1e-3, "ms"), (1e-6, "µs")):
        if taken >= 0.995 * unit:
            return f"{two_figures(taken / unit)} {name}"
    return f"{two_figures(taken / 1e-9)} ns"


def writing_bytes(size: float) -> str:
    """So many bytes, in GB."""
    return f"{two_figures(size / 1e9)} GB"


def two_figures(number: float) -> str:
    """Two figures and no power of ten, from 10,000 on with commas."""
    if number >= 10:
        places = len(str(int(number))) - 2
        return f"{round(number / 10**places) * 10**places:,}"
    return f"{number:.2g}" if number < 1 else f"{number:.1f}"


def times_ours(ratio: float) -> str:
    """How many times as long as ours."""
    return f"× {ratio:,.0f}" if ratio >= 10 else f"× {ratio:.2g}" if ratio >= 0.01 else f"1/{1 / ratio:,.0f}"
