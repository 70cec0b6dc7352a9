"""Marks worked out from answers, in processes beside this one: on all cores, and one that hangs can be ended.

An answer is data and stays data: no code of a learner's is run. But a lathe file can be made so that its question takes
for ever to pose, and an exercise of a school's own can hang; so each answer has its time, after which what works at it
is stopped, and the answer is named. Files of the school's own are read by the other processes too.
"""

from __future__ import annotations

import faulthandler
import os
import pickle
import subprocess
import sys
from collections import Counter
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
from gearcalc.learning.live import check_on_a_computer
from gearcalc.teaching.handed_in import Answered
from gearcalc.teaching.own_exercises import own_files_read, read_own_exercises

SECONDS_AN_ANSWER = 20
_MOST_HUNG = 2
_MOST_MEMORY = 3 * 1024**3
_MOST_WORKERS, _LEARNERS_A_WORKER = 8, 8
UNREADABLE, NOT_MARKED = "not readable", "not marked"
_TOO_LONG = "it takes too long to mark, or one before it did"
_STUCK = "the exercise takes too long: try it by itself"


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

    What can't be marked is told so: a lathe that can't be read, or where none is taken; an exercise that breaks.
    """
    one = given.answered
    try:
        posed = exercise(one.exercise, given.class_number, _lathe(one.lathe), one.go)
        outcome = posed.check(one.answer)
    except GearcalcError as problem:
        return Mark(NOT_MARKED, says=problem.problem)
    except Exception as problem:  # whatever breaks, the others are marked
        return Mark(NOT_MARKED, says=f"the exercise stops ({type(problem).__name__}: {problem})"[:200])
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
    check_on_a_computer("answers are marked")
    stuck: Counter[str] = Counter()
    workers = [_Worker(seconds, stuck) for _ in range(count)]
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

    def __init__(self, seconds: float, stuck: Counter[str]) -> None:
        self._seconds, self._stuck, self._is_stopped = seconds, stuck, False
        self._process: subprocess.Popen[bytes] | None = None
        self._known = frozenset[str]()

    def marks(self, given: Sequence[ToMark]) -> list[Mark]:
        """The marks of one learner."""
        self._begin()
        names = [one.answered.exercise for one in given]
        marks = {n: mark(one) for n, one in enumerate(given) if self._is_only_here(names[n])}
        hung = 0
        while left := [n for n in range(len(given)) if n not in marks]:
            if hung >= _MOST_HUNG or self._is_stopped:
                marks |= dict.fromkeys(left, Mark(NOT_MARKED, says=_TOO_LONG))
                break
            stuck = [n for n in left if self._stuck[names[n]] >= _MOST_HUNG]
            marks |= dict.fromkeys(stuck, Mark(NOT_MARKED, says=_STUCK))
            left = [n for n in left if n not in stuck]
            for n, got in zip(left, self._ask([given[n] for n in left]), strict=False):
                marks[n] = got or Mark(NOT_MARKED, says=_TOO_LONG)
                if got is None and _is_ours(names[n]):
                    hung += 1
                elif got is None:
                    self._stuck[names[n]] += 1
        return [marks[n] for n in range(len(given))]

    def _is_only_here(self, name: str) -> bool:
        """Whether the other process doesn't know an exercise: one that a notebook has, and no file that was read."""
        return name in recipes() and not _is_ours(name) and name not in self._known

    def _begin(self) -> None:
        """Have a process that has read all that it will need, where one can be had."""
        if self._process is None and not self._is_stopped:
            with suppress(OSError, EOFError, pickle.UnpicklingError):
                self._process = _begun(self._seconds)
                assert self._process.stdout is not None
                self._known = pickle.load(self._process.stdout)  # from our own process, which wrote it

    def _ask(self, given: list[ToMark]) -> Iterator[Mark | None]:
        """A mark for each as long as all goes well; then None, once."""
        self._begin()
        process = self._process
        if process is None:  # where no other process can be had
            yield from [None] if self._is_stopped else map(mark, given)
            return
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            pickle.dump(given, process.stdin)
            process.stdin.flush()
            for _ in given:
                yield pickle.load(process.stdout)
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


def _is_ours(name: str) -> bool:
    return name in recipes() and recipes()[name].is_ours


def _begun(seconds: float) -> subprocess.Popen[bytes]:
    ours = str(Path(gearcalc.__file__).parent.parent)
    paths = os.pathsep.join(filter(None, [ours, os.environ.get("PYTHONPATH", "")]))
    own = list(map(str, own_files_read()))
    start = f"from gearcalc.teaching.marking import work; work({seconds!r}, {own!r})"
    command = [sys.executable, "-P", "-c", start]  # -P: nothing is imported from the folder that one works in
    quiet = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    return subprocess.Popen(command, env={**os.environ, "PYTHONPATH": paths}, **quiet)  # type: ignore[call-overload, no-any-return]


def work(seconds: float, own: Sequence[str]) -> None:
    """Be such a process: say which exercises it knows, then mark what comes in until nothing does.

    `seconds`: how long one answer may take, and one that hangs ends the process; `own`: files of exercises of the
    school's own.
    """
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_MOST_MEMORY, _MOST_MEMORY))
    heard, said = (os.fdopen(os.dup(end), mode) for end, mode in ((0, "rb"), (1, "wb")))
    os.dup2(os.open(os.devnull, os.O_RDWR), 0)  # what a file of the school's own asks or prints goes nowhere
    os.dup2(0, 1)
    for path in own:
        with suppress(GearcalcError):
            read_own_exercises(path)
    pickle.dump(frozenset(exercise_names()), said)  # all that it will need is read now, not in the time of an answer
    said.flush()
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
