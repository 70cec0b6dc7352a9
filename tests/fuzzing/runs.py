"""Asks many inputs in a process of its own, which may hang or die; what it comes to, door by door."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any

from attrs import asdict, astuple, frozen

from gearcalc.basics.errors import GearcalcError
from tests.fuzzing.doors import Asked, Door
from tests.fuzzing.guard import HARD_TIMES, Guard, ended_if_it_hangs, limit_memory
from tests.fuzzing.judging import of_message
from tests.fuzzing.mutations import Draw

Task = tuple[str, int]
_TIMES = 3  # what takes too long is asked again: something may have been loaded for the first time
_ANSWERED, _REFUSED, _FAULT = "answered", "refused", "fault"


@frozen
class Outcome:
    """What an input came to: 'answered', 'refused' or 'fault', and then which."""

    door: str
    number: int
    came_to: str
    fault: str = ""
    words: str = ""
    seconds: float = 0.0
    megabytes: float = 0.0


def again(outcome: Outcome, seed: int) -> str:
    """The one line that asks it again, and what it was."""
    command = f'python -m tests.fuzzing --only "{outcome.door}" --seed {seed} --number {outcome.number}'
    return " ".join(f"{command}  # {outcome.fault}: {outcome.words}"[:900].split())


def drawn(door: Door, seed: int, number: int, folder: Path) -> Asked:
    return door.draw(Draw(f"{door.name}:{seed}:{number}"), number, folder)


def outcome_of(door: Door, seed: int, number: int, guard: Guard, scratch: Path) -> Outcome:
    """Ask one input here, under a guard."""
    least: Outcome | None = None
    for _ in range(_TIMES):
        outcome = _once(door, seed, number, guard, scratch)
        if least is None or outcome.seconds + outcome.megabytes / 100 < least.seconds + least.megabytes / 100:
            least = outcome
        if outcome.came_to == _FAULT or (outcome.seconds <= door.seconds and outcome.megabytes <= door.megabytes):
            return outcome
    assert least is not None
    over = (
        f"it takes {least.seconds:.1f} s, and may take {door.seconds:g}"
        if least.seconds > door.seconds
        else f"it takes {least.megabytes:.0f} MB, and may take {door.megabytes:g}"
    )
    return Outcome(door.name, number, _FAULT, over, least.words, least.seconds, least.megabytes)


def _once(door: Door, seed: int, number: int, guard: Guard, scratch: Path) -> Outcome:
    folder = scratch / "here"
    _emptied(folder)
    os.chdir(folder)
    asked = drawn(door, seed, number, folder)
    came_to, fault, said = _ANSWERED, "", []
    out, err = StringIO(), StringIO()
    with (
        ended_if_it_hangs(HARD_TIMES * door.seconds),
        redirect_stdout(out),
        redirect_stderr(err),
        guard.watching(door.may),
    ):
        try:
            said = list(asked.ask())
        except GearcalcError as refusal:
            came_to, fault = _REFUSED, "; ".join(of_message(str(refusal)))
        except (Exception, SystemExit, KeyboardInterrupt) as problem:
            came_to, fault = _FAULT, f"{type(problem).__name__}: {_text(problem)} at {_where(problem)}"
    if any(each.kind == "refusal" for each in said):
        came_to = _REFUSED
    fault = fault or next(filter(None, (each.fault for each in said)), "")
    if guard.seen:
        fault = f"it would {guard.seen[0]}" + (f"; {fault}" if fault else "")
    return Outcome(door.name, number, _FAULT if fault else came_to, fault, asked.words, guard.seconds, guard.megabytes)


def _text(problem: BaseException) -> str:
    try:
        return str(problem)[:200]
    except Exception:
        return "?"


def _where(problem: BaseException) -> str:
    """The last place of ours on its way."""
    place, trace = "", problem.__traceback__
    while trace is not None:
        file = trace.tb_frame.f_code.co_filename
        if f"{os.sep}gearcalc{os.sep}" in file:
            place = f"{file.rpartition(f'{os.sep}gearcalc{os.sep}')[2]}:{trace.tb_lineno}"
        trace = trace.tb_next
    return place or "outside"


def _emptied(folder: Path) -> None:
    if folder.is_dir():
        for each in os.scandir(folder):
            if each.is_dir(follow_symlinks=False):
                shutil.rmtree(each.path, ignore_errors=True)
            else:
                os.unlink(each.path)
    else:
        folder.mkdir()


# The process that asks.


def work(seed: int, doors: Iterable[Door], tasks: Iterable[Task], tell: Any) -> None:
    """Ask each, and tell of each when it begins and what it came to, a line of JSON at a time."""
    by_name = {door.name: door for door in doors}
    with tempfile.TemporaryDirectory(prefix="gearcalc-fuzzing-") as name:
        scratch = Path(name)
        for kept in ("HOME", "TMPDIR", "XDG_CACHE_HOME"):
            os.environ[kept] = name
        tempfile.tempdir = name
        guard = Guard(scratch)
        limit_memory()
        for door, number in tasks:
            print(json.dumps([door, number]), file=tell, flush=True)
            print(json.dumps(asdict(outcome_of(by_name[door], seed, number, guard, scratch))), file=tell, flush=True)
        os.chdir("/")


# Whoever has it asked.


_ENDED = {27: f"it hangs: over {HARD_TIMES} times what it may take", 14: "it waits, and nothing comes"}


def outcomes(seed: int, tasks: Sequence[Task], where_doors_are: str = "") -> Iterator[Outcome]:
    """What each of these comes to, one process after the other: a new one where the last was ended."""
    left = list(tasks)
    while left:
        began: Task | None = None
        done = 0
        with tempfile.TemporaryFile("w+") as asked:
            json.dump({"seed": seed, "tasks": left, "doors": where_doors_are}, asked)
            asked.seek(0)
            reading, writing = os.pipe()
            process = subprocess.Popen(
                [sys.executable, "-X", "utf8", "-m", "tests.fuzzing", "--work", str(writing)],
                stdin=asked, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, pass_fds=[writing],
                env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}, cwd=Path(__file__).parents[2],
            )  # fmt: skip
            os.close(writing)
            with process, os.fdopen(reading, encoding="utf-8") as told:
                for line in told:
                    said = json.loads(line)
                    if isinstance(said, list):
                        began = (said[0], said[1])
                        continue
                    done, began = done + 1, None
                    yield Outcome(**said)
                complained = process.stderr.read().decode("utf-8", "replace") if process.stderr else ""
        if process.returncode > 0 or (began is None and done < len(left)):
            raise RuntimeError(f"the process that asks has stopped: {complained[-2000:]}")
        if began is not None:
            signal = -process.returncode
            why = _ENDED.get(signal, f"the process was ended (exit code {process.returncode})")
            yield Outcome(*began, _FAULT, f"{why} {complained[-300:]}".strip())
            done += 1
        left = left[done:]


def outcomes_of_many(seed: int, tasks: Sequence[Task], processes: int = 2, at_a_time: int = 2500) -> Iterator[Outcome]:
    """The same on several processes."""
    dealt = [tasks[start : start + at_a_time] for start in range(0, len(tasks), at_a_time)]
    with ThreadPoolExecutor(processes) as threads:
        for some in threads.map(lambda each: list(outcomes(seed, each)), dealt):
            yield from some


def tasks_of(doors: Iterable[Door], inputs: int) -> list[Task]:
    """So many inputs, dealt to doors by their shares; the listed ones of each come first and stand beside those."""
    doors = list(doors)
    shares = sum(door.share for door in doors)
    return [(door.name, n) for door in doors for n in range(door.first + max(1, round(inputs * door.share / shares)))]


@frozen
class Row:
    """What a door came to."""

    inputs: int
    answered: int
    refused: int
    faults: int
    seconds: float
    megabytes: float


def table(found: Iterable[Outcome]) -> dict[str, Row]:
    by_door: dict[str, list[Outcome]] = defaultdict(list)
    for each in found:
        by_door[each.door].append(each)
    return {
        door: Row(
            len(all_of_it),
            *(sum(one.came_to == way for one in all_of_it) for way in (_ANSWERED, _REFUSED, _FAULT)),
            max(one.seconds for one in all_of_it),
            max(one.megabytes for one in all_of_it),
        )
        for door, all_of_it in by_door.items()
    }


def in_lines(rows: dict[str, Row]) -> Iterator[str]:
    wide = max(map(len, rows), default=4)
    yield f"{'door':{wide}}  inputs  answers  refusals  faults  slowest, s  largest, MB"
    for door, row in rows.items():
        yield _in_a_line(f"{door:{wide}}", row)
    if rows:
        every = list(zip(*map(astuple, rows.values()), strict=True))
        yield _in_a_line(f"{'all':{wide}}", Row(*map(sum, every[:4]), *map(max, every[4:])))


def _in_a_line(door: str, row: Row) -> str:
    counts = f"{row.inputs:6}  {row.answered:7}  {row.refused:8}  {row.faults:6}"
    return f"{door}  {counts}  {row.seconds:10.2f}  {row.megabytes:11.0f}"
