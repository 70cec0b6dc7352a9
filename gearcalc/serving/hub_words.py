"""What a school's own server says: on its page to sign in, and at the terminal, where its log would only frighten."""

from __future__ import annotations

import atexit
import http.client
import logging
import os
import re
import signal
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Thread
from typing import Any

from gearcalc.basics import writing
from gearcalc.basics.errors import without_controls

LONGEST_NAME = 40
NAMES = rf"(?=.{{1,{LONGEST_NAME}}}\Z)\w+(?:[ ._-]\w+)*\Z"
"""How a learner's name, which is that of a folder too, is written: words, with one sign between."""
NAMES_ARE = (
    f"A name is made of letters and figures, such as 7 Ada: {LONGEST_NAME} signs at most; between two words there is "
    "one space, one point, one _ or one -."
)
SECONDS_TO_END = 30
OPEN = "It is open: learners can sign in."
BEFORE_IT_WAS_OPEN = "Stopped, before the hub was open: nothing runs."
_PATIENCE_S = 300
_SHORTENED = re.compile(r"(.{16})\.\.\.\((\d+) chars\)", re.DOTALL)
_LONGEST_LINE, _LAST_LINES = 300, 12


def can_be_a_name(shown: str) -> bool:
    """Whether a learner may be called what was typed, as JupyterHub shows that again: longer ones it shortens.

    >>> can_be_a_name("7 Ada"), can_be_a_name("../7 Ada"), can_be_a_name("Maximilian Alexa...(45 chars)")
    (True, False, False)
    """
    shortened = _SHORTENED.fullmatch(shown)
    if shortened is None:
        return re.match(NAMES, shown) is not None
    return int(shortened[2]) <= LONGEST_NAME and re.match(NAMES, shortened[1].strip(" ._-")) is not None


class Terminal(logging.Handler):
    """Tells at the terminal what of JupyterHub's log a person can use: errors, in a line each, and that it ends.

    `out`: the terminal, as a number; `log`: where the whole of it is written; `servers`: counts the learners' that run.
    """

    def __init__(self, out: int, log: Path, servers: Callable[[], int]) -> None:
        super().__init__(logging.ERROR)
        self.out, self.log, self.servers = out, log, servers
        self.began_at = log.stat().st_size
        self.ends = False

    def __deepcopy__(self, memo: Any) -> Terminal:
        """Settings are copied, and there is one terminal."""
        return self

    def emit(self, record: logging.LogRecord) -> None:
        """Say it, if it is for people."""
        if record.module == "log":  # a page that failed, which an error before it tells better
            return
        said = record.getMessage()
        if said.startswith("Received signal"):
            if not self.ends:
                self.ends = True
                count = writing.counted(self.servers(), "learner")
                self._say(f"It ends, with the servers of {count}: that takes up to {SECONDS_TO_END} seconds ...")
            return
        lines = [line for line in said.splitlines() if line.strip()] or ["an error"]
        why = f": {record.exc_info[1]}" if record.exc_info and record.exc_info[1] else ""
        self._say(f"JupyterHub: {lines[0]}{why}"[:_LONGEST_LINE])

    def tell_when_open(self, port: int) -> None:
        """Say so once the hub answers at a port of this computer. Returns at once."""
        Thread(target=self._tell_when_open, args=(port,), daemon=True).start()

    def _tell_when_open(self, port: int) -> None:
        until = time.monotonic() + _PATIENCE_S
        while time.monotonic() < until and not self.ends:
            if _is_open(port):
                self._say(OPEN)
                return
            time.sleep(0.2)

    def at_the_end(self) -> None:
        """Say that it has ended; and where nobody asked for that, what stands last in the log."""
        if self.ends:
            self._say("It has ended.")
            return
        with self.log.open("rb") as file:
            file.seek(self.began_at)
            last = file.read().decode("utf-8", "replace").splitlines()[-_LAST_LINES:]
        self._say("JupyterHub has ended by itself. What it said last:", *last, f"All of it: {self.log}")

    def _say(self, *lines: str) -> None:
        with suppress(OSError):  # the terminal may be gone: closing it is a way to end this
            for line in lines:
                os.write(self.out, f"{without_controls(line)}\n".encode("utf-8", "replace"))


def log_apart(log: Path, servers: Callable[[], int]) -> Terminal:
    """Let all that this process and those that it starts print go into a log, and give what speaks at the terminal.

    `log`: written on, open to nobody else; `servers`: as Terminal has it.
    """
    file = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    out = os.dup(2)  # which no process that it starts inherits
    for each in (sys.stdout, sys.stderr):
        each.flush()
    for number in (1, 2):
        os.dup2(file, number)
    os.close(file)
    terminal = Terminal(out, log, servers)
    atexit.register(terminal.at_the_end)
    return terminal


def _is_open(port: int) -> bool:
    """Whether learners can come in there; with a certificate it answers no plain question, and closes the line."""
    asked = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        asked.request("GET", "/hub/health")
        return asked.getresponse().status < 500  # before the hub itself answers, its proxy says 503
    except (ConnectionRefusedError, TimeoutError):
        return False
    except (http.client.HTTPException, OSError):
        return True
    finally:
        asked.close()


def run_jupyterhub() -> None:
    """Run JupyterHub in this process, to its end. Until it listens for Ctrl-C itself, that is answered in a line."""
    out = os.dup(2)  # the terminal, when all that is printed goes into a log

    def stopped(*_: object) -> None:
        os.write(out, f"{BEFORE_IT_WAS_OPEN}\n".encode())
        os._exit(130)

    signal.signal(signal.SIGINT, stopped)
    from jupyterhub.app import main

    main()


def servers_that_run() -> int:
    """Count the learners' servers of the JupyterHub that this process is."""
    from jupyterhub.app import JupyterHub

    counts: dict[str, Any] = JupyterHub.instance().users.count_active_users()
    return int(counts["active"])
