"""A JupyterLab server for a test: its own folders, its own process group, ended whatever happens."""

from __future__ import annotations

import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

_SECONDS_TO_START = 90
_TRIES = 3
_FOLDERS = {
    "JUPYTER_CONFIG_DIR": "config",
    "JUPYTER_DATA_DIR": "data",
    "JUPYTER_RUNTIME_DIR": "runtime",
    "IPYTHONDIR": "ipython",
    "JUPYTERLAB_SETTINGS_DIR": "settings",
    "JUPYTERLAB_WORKSPACES_DIR": "workspaces",
    "MPLCONFIGDIR": "matplotlib",
}
_NOTIFICATIONS = Path("@jupyterlab/apputils-extension/notification.jupyterlab-settings")


@dataclass(frozen=True, slots=True)
class LabServer:
    """A server that answers: where it is, what opens it, and the folder that it serves."""

    url: str
    token: str
    folder: Path

    def page_for(self, name: str) -> str:
        """The address of a notebook in a workspace that nobody has used."""
        return f"{self.url}/lab/workspaces/w{secrets.token_hex(6)}/tree/{name}?reset&token={self.token}"


@contextmanager
def serve(folder: Path, scratch: Path, checkout: Path) -> Iterator[LabServer]:
    """Serve `folder`; settings and caches go to `scratch`; kernels import the package of `checkout`."""
    variables = environment(scratch, checkout)
    for attempt in range(_TRIES):
        port, token = free_port(), secrets.token_hex(16)
        server = LabServer(f"http://127.0.0.1:{port}", token, folder)
        with (scratch / f"server{attempt}.log").open("wb") as log:
            process = subprocess.Popen(
                _command(server, port),
                env=variables,
                cwd=folder,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        try:
            if _answers(server, process):
                yield server
                return
        finally:
            end(process)
    log_text = (scratch / f"server{_TRIES - 1}.log").read_text(errors="replace")
    raise RuntimeError(f"JupyterLab did not start:\n{log_text[-3000:]}")


def environment(scratch: Path, checkout: Path) -> dict[str, str]:
    """Variables for a server of its own: folders in `scratch`, no news, kernels that import this checkout."""
    for name in _FOLDERS.values():
        (scratch / name).mkdir(parents=True, exist_ok=True)
    quiet = scratch / "settings" / _NOTIFICATIONS
    quiet.parent.mkdir(parents=True, exist_ok=True)
    quiet.write_text(json.dumps({"fetchNews": "false", "checkForUpdates": False}))
    folders = {variable: str(scratch / name) for variable, name in _FOLDERS.items()}
    return {**os.environ, **folders, "PYTHONPATH": str(checkout)}


def _command(server: LabServer, port: int) -> list[str]:
    return [
        sys.executable,
        "-m",
        "jupyterlab",
        "--no-browser",
        "--allow-root",
        "--ip=127.0.0.1",
        f"--port={port}",
        "--ServerApp.port_retries=0",
        f"--IdentityProvider.token={server.token}",
        f"--ServerApp.root_dir={server.folder}",
        "--LabApp.expose_app_in_browser=True",
    ]


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _answers(server: LabServer, process: subprocess.Popen[bytes]) -> bool:
    deadline = time.monotonic() + _SECONDS_TO_START
    while time.monotonic() < deadline and process.poll() is None:
        try:
            with urllib.request.urlopen(f"{server.url}/api/status?token={server.token}", timeout=5) as answer:
                if answer.status == 200:
                    return True
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    return False


def end(process: subprocess.Popen[bytes]) -> None:
    """End the server and the kernels that it started: the whole process group, gently, then not."""
    for sign in (signal.SIGTERM, signal.SIGKILL):
        try:
            os.killpg(process.pid, sign)
        except ProcessLookupError:
            break
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            continue
    process.wait(timeout=10)
