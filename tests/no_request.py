"""Python processes in which no other host can be asked, and none unnoticed: a hook that all code of theirs is under.

Python tells its audit hooks of each look-up of a name and each line that is opened, whoever opens it, before it
happens. A process that is begun inherits the hook by way of its PYTHONPATH. A browser says itself what it asks.
"""

from __future__ import annotations

import os
from pathlib import Path

_HOOK = """
import os, socket, sys

_DATAGRAM = socket.SOCK_DGRAM
_HERE = {None, "", "localhost", "127.0.0.1", "::1", "0.0.0.0", "::"}
_LOG = os.environ["NO_REQUEST_LOG"]


def _noted(what):
    with open(_LOG, "a", encoding="utf-8") as log:
        print(what, file=log)


def _hook(event, given):
    if event in ("socket.connect", "socket.sendto", "socket.sendmsg"):
        host = given[1][0] if isinstance(given[1], tuple) else ""
        if event == "socket.connect" and given[0].type == _DATAGRAM and given[1] == ("192.0.2.1", 9):
            return  # by which way one would go out is asked of the system: nothing is sent
    elif event in ("socket.getaddrinfo", "socket.gethostbyname"):
        host = given[0].decode() if isinstance(given[0], bytes) else given[0]
    elif event == "urllib.Request":
        host = given[0].split("/")[2].rsplit(":", 1)[0] if given[0].startswith("http") else ""
    elif event == "subprocess.Popen":
        program = os.path.basename(os.fsdecode(given[0] or ""))
        if program.startswith(("npm", "pip")) or {"pip", "ensurepip"} & set(map(str, given[1])):
            _noted(f"began {program}: {list(map(str, given[1]))[:4]}")
            raise RuntimeError("nothing may be fetched here")
        return
    else:
        return
    if host not in _HERE:
        _noted(f"{event}: {given[1:] if event == 'socket.connect' else given}")
        raise RuntimeError(f"another host is asked: {host}")


sys.addaudithook(_hook)
with open(_LOG + ".seen", "a") as _seen:
    print(os.getpid(), file=_seen)
"""


class Watched:
    """What is asked by processes that have this environment: `asked`, a line each, and how many are under the hook."""

    def __init__(self, folder: Path, checkout: Path) -> None:
        (folder / "hook").mkdir()
        (folder / "hook" / "sitecustomize.py").write_text(_HOOK, encoding="utf-8")
        self._log = folder / "asked.txt"
        paths = os.pathsep.join([str(folder / "hook"), str(checkout)])
        self.environment = {**os.environ, "PYTHONPATH": paths, "NO_REQUEST_LOG": str(self._log)}

    @property
    def asked(self) -> list[str]:
        return self._log.read_text("utf-8").splitlines() if self._log.exists() else []

    @property
    def processes(self) -> int:
        return len(set(self._log.with_name(f"{self._log.name}.seen").read_text("utf-8").split()))
