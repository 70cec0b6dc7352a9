"""Watches over one input: its processor time, its memory, the files that it touches, that it asks no network.

Processor time is `process_time`, which a busy machine doesn't lengthen. Memory is the peak of what the process has in
real memory, as Linux counts it ("VmHWM", set back before each input): tracemalloc would see Python's own blocks alone,
not numpy's, and make all of it three times as slow. What passes the hard limits is ended by the system: processor and
wall time by a timer whose signal nobody catches, memory by RLIMIT_AS, which makes a MemoryError. The time of a process
beside counts once it has ended; of its memory the system tells no more than the largest of all so far, so that only
the hard limit holds there, which it inherits. Files, processes and sockets are seen by Python's audit hooks, before
they happen; what is not allowed doesn't happen.
"""

from __future__ import annotations

import errno
import os
import resource
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import process_time
from typing import Any

HARD_TIMES, HARD_WALL_SECONDS, HARD_MEGABYTES = 20, 300, 1500
"""So many times what it may take; the wall's time, for what only waits."""
_CHANGES = {"os.remove", "os.rename", "os.mkdir", "os.rmdir", "os.link", "os.symlink", "os.chmod", "os.chown",
"os.truncate", "os.utime", "os.mkfifo", "shutil.rmtree"}  # fmt: skip
_ASKS = {"socket.connect", "socket.bind", "socket.sendto", "socket.getaddrinfo", "socket.gethostbyname"}
_STARTS = {"subprocess.Popen", "os.exec", "os.posix_spawn", "os.system", "os.fork", "os.forkpty"}
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_NOWHERE = {"/dev/null", "/dev/full", "/dev/tty"}


class Guard:
    """One for a process, since a hook can't be taken away. `scratch`: the only folder that may be written in."""

    def __init__(self, scratch: Path) -> None:
        self.scratch = os.path.realpath(scratch)
        self.is_on, self.may = False, frozenset[str]()
        self.seen: list[str] = []
        self.seconds = self.megabytes = 0.0
        sys.addaudithook(self._hear)

    @contextmanager
    def watching(self, may: frozenset[str] = frozenset()) -> Iterator[None]:
        """Measure what is done here, and see what it touches.

        `may`: 'start' processes, ask the network on this machine ('local'), try either and be refused ('ask').
        """
        self.seen, self.may = [], may
        before, began = _memory_now(), process_time() + _beside()
        self.is_on = True
        try:
            yield
        finally:
            self.seconds, self.is_on = process_time() + _beside() - began, False
            self.megabytes = max(0.0, _most_memory() - before)

    def _hear(self, event: str, given: tuple[Any, ...]) -> None:
        if not self.is_on:
            return
        if event == "open":
            path, _, flags = given
            if isinstance(flags, int) and flags & _WRITES and not isinstance(path, int):
                self._check(event, path)
        elif event in _CHANGES:
            for path in (
                given[:2] if event in ("os.rename", "os.link") else given[:1] if event != "os.symlink" else given[1:2]
            ):
                if isinstance(path, (str, bytes, os.PathLike)) and not any(
                    isinstance(at, int) and at > 2 for at in given[1:]
                ):
                    self._check(event, path)
        elif event in _ASKS and not ("local" in self.may and _is_here(given)):
            if "ask" not in self.may and not (event == "socket.bind" and len(given) > 1 and isinstance(given[1], str)):
                self.seen.append(f"{event} {given[1:]!r:.80}")
            raise OSError(errno.ENETUNREACH, "no network here")
        elif event in _STARTS and "start" not in self.may:
            if "ask" in self.may and event == "os.exec":
                raise KeyboardInterrupt  # this process would become another one: so far is far enough
            if "ask" not in self.may:
                self.seen.append(f"{event} {given[:2]!r:.80}")
            raise PermissionError(errno.EPERM, "no processes here")

    def _check(self, event: str, path: Any) -> None:
        said = os.fsdecode(path)
        self.is_on = False  # what follows asks the system too
        try:
            folder, name = os.path.split(os.path.abspath(said))
            real = os.path.join(os.path.realpath(folder), name)
            if event == "open":
                real = os.path.realpath(real)
        except (OSError, ValueError):  # no such name can be: the system refuses it
            return
        finally:
            self.is_on = True
        if real in _NOWHERE or real == self.scratch or real.startswith(self.scratch + os.sep):
            return
        self.seen.append(f"{event} {said!r:.80}")
        raise PermissionError(errno.EACCES, "outside of the scratch folder", said)


def _is_here(given: tuple[Any, ...]) -> bool:
    """Whether an address is of this machine, as that of a kernel beside is."""
    address = given[-1] if isinstance(given[-1], tuple) else given
    return any(each in ("127.0.0.1", "localhost", "::1") for each in address)


@contextmanager
def ended_if_it_hangs(seconds: float) -> Iterator[None]:
    """Have the system end this process where this takes longer; it can't be caught, so whoever waits must see to it."""
    signal.signal(signal.SIGPROF, signal.SIG_DFL)
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.setitimer(signal.ITIMER_REAL, HARD_WALL_SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)


def limit_memory(megabytes: int = HARD_MEGABYTES) -> None:
    """Let this process have no more than this beyond what it has."""
    most = _status("VmSize:") + megabytes * 1024
    resource.setrlimit(resource.RLIMIT_AS, (most * 1024, most * 1024))


def _memory_now() -> float:
    with open("/proc/self/clear_refs", "w") as file:
        file.write("5")  # the peak is what it is now
    return _most_memory()


def _most_memory() -> float:
    return _status("VmHWM:") / 1024


def _beside() -> float:
    """The processor time of all processes that were begun here and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _status(name: str) -> int:
    with open("/proc/self/status") as file:
        return next(int(line.split()[1]) for line in file if line.startswith(name))
