"""Marks worked out from answers, in processes beside this one: on all cores, and one that hangs can be ended.

An answer is data and stays data: no code of a learner's is run. But a lathe file can be made so that its question takes
for ever to pose; so each answer has its time, after which what works at it is stopped, and the answer is named.
"""

from __future__ import annotations

import faulthandler
import os
import pickle
import subprocess
import sys
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from attrs import frozen

import gearcalc
from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes import Lathe
from gearcalc.learning.exercises import exercise, exercise_names
from gearcalc.learning.exercises.tasks import NOT_RIGHT, NOT_YET, RIGHT, recipes
from gearcalc.teaching.handed_in import Answered

SECONDS_AN_ANSWER = 20
_MOST_HUNG = 2
_MOST_MEMORY = 3 * 1024**3
_MOST_WORKERS, _LEARNERS_A_WORKER = 8, 8
UNREADABLE, NOT_MARKED = "not readable", "not marked"


@frozen
class Mark:
    """What became of one answer: 'right', 'not right', 'not readable' or 'not marked', the slip if one shows, words."""

    state: str
    slip: str | None = None
    says: str = ""


@frozen
class ToMark:
    """One answer with whose numbers it is about."""

    class_number: int
    answered: Answered


def mark(given: ToMark) -> Mark:
    """Mark an answer here and now.

    >>> mark(ToMark(12, Answered("lead-of-a-leadscrew", 1, "5.6444 mm")))
    Mark(state='right', slip=None, says='')

    What can't be marked is told so: a lathe that can't be read, or where none is taken.
    """
    one = given.answered
    try:
        posed = exercise(one.exercise, given.class_number, _lathe(one.lathe), one.go)
    except GearcalcError as problem:
        return Mark(NOT_MARKED, says=problem.problem)
    outcome = posed.check(one.answer)
    if outcome.state == RIGHT:
        return Mark(RIGHT)
    if outcome.state == NOT_YET:
        return Mark(UNREADABLE, says=outcome.feedback)
    return Mark(NOT_RIGHT, outcome.slip, outcome.feedback)


@lru_cache(maxsize=64)
def _lathe(text: str) -> Lathe | None:
    return Lathe.from_toml(text) if text else None


def all_marked(given: Sequence[Sequence[ToMark]], seconds: float = SECONDS_AN_ANSWER) -> Iterator[list[Mark]]:
    """Mark the answers of many learners, and give each learner's marks in their order.

    `given`: for each learner what is to be marked; `seconds`: how long one answer may take.
    """
    count = max(1, min(os.cpu_count() or 1, _MOST_WORKERS, len(given) // _LEARNERS_A_WORKER))
    workers = [_Worker(seconds) for _ in range(count)]
    free = list(workers)

    def marked(learner: Sequence[ToMark]) -> list[Mark]:
        worker = free.pop()
        try:
            return worker.marks(learner)
        finally:
            free.append(worker)

    with ThreadPoolExecutor(count) as threads:
        try:
            yield from threads.map(marked, given)
        finally:  # also where whoever asked has had enough
            for worker in workers:
                worker.stop()


class _Worker:
    """A process that marks, begun when it is first needed and again after each time that it had to be stopped."""

    def __init__(self, seconds: float) -> None:
        self._seconds, self._is_stopped = seconds, False
        self._process: subprocess.Popen[bytes] | None = None

    def marks(self, given: Sequence[ToMark]) -> list[Mark]:
        """The marks of one learner."""
        there = {n: one for n, one in enumerate(given) if _comes_with_us(one.answered.exercise)}
        marks = {n: mark(one) for n, one in enumerate(given) if n not in there}
        hung = 0
        while left := [n for n in there if n not in marks]:
            goes_on = hung < _MOST_HUNG and not self._is_stopped
            answered = self._ask([there[n] for n in left]) if goes_on else [None] * len(left)
            for n, got in zip(left, answered, strict=False):
                marks[n] = got or Mark(NOT_MARKED, says="it takes too long to mark, or one before it did")
                hung += got is None
        return [marks[n] for n in range(len(given))]

    def _ask(self, given: list[ToMark]) -> Iterator[Mark | None]:
        """A mark for each as long as all goes well; then None, once."""
        try:
            process = self._process = self._process or _begun(self._seconds)
        except OSError:  # where no other process can be had
            yield from map(mark, given)
            return
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            pickle.dump(given, process.stdin)
            process.stdin.flush()
            for _ in given:
                yield pickle.load(process.stdout)  # from our own process, which wrote it
        except (OSError, EOFError, pickle.UnpicklingError):
            self._end()
            yield None

    def stop(self) -> None:
        """Mark no more."""
        self._is_stopped = True
        self._end()

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.communicate()


def _comes_with_us(name: str) -> bool:
    """Whether the other process knows the exercise too, as it doesn't know one of the school's own."""
    return name not in recipes() or recipes()[name].pose.__module__.startswith("gearcalc.")


def _begun(seconds: float) -> subprocess.Popen[bytes]:
    ours = str(Path(gearcalc.__file__).parent.parent)
    paths = os.pathsep.join(filter(None, [ours, os.environ.get("PYTHONPATH", "")]))
    start = f"from gearcalc.teaching.marking import work; work({seconds!r})"
    command = [sys.executable, "-P", "-c", start]  # -P: nothing is imported from the folder that one works in
    quiet = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    return subprocess.Popen(command, env={**os.environ, "PYTHONPATH": paths}, **quiet)  # type: ignore[call-overload, no-any-return]


def work(seconds: float) -> None:
    """Be such a process: mark what comes in until nothing does. One that hangs ends itself.

    `seconds`: how long one answer may take.
    """
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))
    heard, said = sys.stdin.buffer, sys.stdout.buffer
    exercise_names()  # all that it will need is read now, not in the time of the first answer
    with open(os.devnull, "w", encoding="utf-8") as nobody:
        while True:
            try:
                given: Iterable[Any] = pickle.load(heard)  # from the process that began this one
            except EOFError:
                return
            for one in given:
                faulthandler.dump_traceback_later(seconds, exit=True, file=nobody)
                pickle.dump(mark(one), said)
                faulthandler.cancel_dump_traceback_later()
                said.flush()
