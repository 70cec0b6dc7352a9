"""A hub for a test, started by its command, and ended whatever happens.

Learners' accounts must reach Python and the checkout. Where these lie in a folder closed to others, the hub of a test
sees them in a file system of its own in which the way is open; nothing is changed for anybody else.
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from shlex import quote

import requests

PASSWORD = "brass-and-cast-iron"
PROXY = "configurable-http-proxy"
_SECONDS_TO_START, _SECONDS_TO_END = 120, 120


@dataclass(frozen=True)
class RunningHub:
    """A hub that answers: where, the learners' folders, what it says, and its process."""

    address: str
    folder: Path
    log: Path
    process: subprocess.Popen[bytes]

    def stop(self, by: signal.Signals = signal.SIGINT) -> None:
        """Do what Ctrl-C does, or a terminal that is closed."""
        self.process.send_signal(by)
        self.process.wait(timeout=_SECONDS_TO_END)

    def answers_at(self) -> list[int]:
        """Ports of the hub at which something answers."""
        first = int(self.address.rpartition(":")[2])
        return [port for port in (first, first + 1, first + 81) if answers(port)]


def answers(port: int) -> bool:
    """Whether something answers at a port of this computer."""
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def proxy_folder(scratch: Path) -> Path | None:
    """Where the proxy is, fetched by npm where it is not there; None without npm."""
    there = shutil.which(PROXY)
    if there is not None:
        return Path(there).parent
    if shutil.which("npm") is None:
        return None
    fetch = ["npm", "install", "--no-audit", "--no-fund", "--prefix", str(scratch), f"{PROXY}@5.3.0"]
    fetch += ["--cache", str(scratch / "npm")]  # one of its own: another npm may run beside it
    done = subprocess.run(fetch, capture_output=True, text=True)
    if done.returncode:
        done = subprocess.run(fetch, capture_output=True, text=True)  # a network may fail once
    assert done.returncode == 0, done.stderr[-2000:]
    return scratch / "node_modules" / ".bin"


@contextmanager
def running_hub(scratch: Path, proxy: Path, checkout: Path, *options: str) -> Iterator[RunningHub]:
    """Start a hub over a folder in `scratch`, and wait until it answers."""
    port = free_ports()
    secret = scratch / "password"
    secret.touch(mode=0o600)
    secret.write_text(PASSWORD + "\n")
    folder, log = scratch / "class", scratch / "log"
    command = [sys.executable, "-m", "gearcalc", "hub", str(folder), "--port", str(port)]
    command += ["--password-file", str(secret), *options]
    reached = [Path(sys.prefix), Path(sys.base_prefix), checkout, proxy.parent]
    variables = {"PYTHONPATH": str(checkout), "PATH": f"{proxy}{os.pathsep}{os.environ['PATH']}"}
    with log.open("wb") as out:
        process = subprocess.Popen(
            _where_open(command, reached) if os.geteuid() == 0 else command,
            env={**os.environ, **variables},
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=out,
            start_new_session=True,
            preexec_fn=_as_in_a_terminal,
        )
    hub = RunningHub(f"http://127.0.0.1:{port}", folder, log, process)
    try:
        _wait_for(hub)
        yield hub
    finally:
        with suppress(subprocess.TimeoutExpired):
            hub.stop()
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)


def _as_in_a_terminal() -> None:
    """Take Ctrl-C and a closed terminal for what they are, though the tests may run with nohup."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGHUP, signal.SIG_DFL)


def _wait_for(hub: RunningHub) -> None:
    until = time.monotonic() + _SECONDS_TO_START
    while True:
        with suppress(requests.RequestException):
            if requests.get(f"{hub.address}/hub/login", timeout=10).ok:
                return
        said = hub.log.read_text(errors="replace")[-3000:]
        assert hub.process.poll() is None, said
        assert time.monotonic() < until, said
        time.sleep(0.1)


def free_ports() -> int:
    """A port, with those that the hub takes besides."""
    for port in range(10_000 + os.getpid() % 10_000, 32_000, 100):  # above, the system gives ports to whoever asks
        with suppress(OSError):
            for each in (port, port + 1, port + 81):
                with socket.socket() as probe:
                    probe.bind(("127.0.0.1", each))
            return port
    raise RuntimeError("there is no port")


def _where_open(command: list[str], reached: Iterable[Path]) -> list[str]:
    """A command in a file system of its own, where all may pass the folders above some, if they may not already."""
    by_closed: dict[Path, list[Path]] = {}
    for place in dict.fromkeys(each.resolve() for each in reached):
        closed = next((it for it in reversed(place.parents) if not it.stat().st_mode & stat.S_IXOTH), None)
        if closed is not None:
            by_closed.setdefault(closed, []).append(place)
    if not by_closed:
        return command
    aside = tempfile.mkdtemp(dir="/tmp")
    script = [f"mount -t tmpfs none {aside}"]
    places = [place for several in by_closed.values() for place in several]
    script += [f"mkdir {aside}/{n} && mount --bind {quote(str(place))} {aside}/{n}" for n, place in enumerate(places)]
    script += [f"mount -t tmpfs -o mode=755 none {quote(str(closed))}" for closed in by_closed]
    script += [f"mkdir -p {quote(str(place))}" for place in places]
    script += [f"mount --bind {aside}/{n} {quote(str(place))}" for n, place in enumerate(places)]
    script += [f"umount -l {aside}", 'exec "$@"']
    return ["unshare", "--mount", "sh", "-c", " && ".join(script), "sh", *command]
