"""The lessons as a site that runs in the browser: built once a run, served as any server of files would serve it."""

from __future__ import annotations

import functools
import http.server
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote

from playwright.sync_api import Page

from gearcalc.basics.files import alone_with
from gearcalc.serving.sites import STAMP, build_site

_SECONDS_TO_BUILD = 280.0
_MILLISECONDS_TO_OPEN = 120_000
_MILLISECONDS_TO_RUN = 240_000

# Python's kernel says 'idle' when all of it is loaded; then the line at the foot of the page goes.
_READY = """async (limit) => {
  const until = Date.now() + limit;
  while (Date.now() < until) {
    const line = document.getElementById('gearcalc-python');
    if (line?.classList.contains('failed')) return line.textContent;
    const kernel = window.jupyterapp?.shell.currentWidget?.sessionContext?.session?.kernel;
    if (kernel?.status === 'idle' && kernel.connectionStatus === 'connected') return '';
    await new Promise(resolve => setTimeout(resolve, 50));
  }
  return 'Python never became ready';
}"""

_RUN_ALL = """async () => { await window.jupyterapp.commands.execute('notebook:run-all-cells'); }"""

_ERRORS = """() => window.jupyterapp.shell.currentWidget.content.model.sharedModel.cells.flatMap((cell, index) =>
  cell.cell_type !== 'code' ? [] : cell.getOutputs().filter(output => output.output_type === 'error')
    .map(output => `cell ${index}: ${output.ename}: ${output.evalue}`))"""

_NOT_RUN = """() => window.jupyterapp.shell.currentWidget.content.model.sharedModel.cells.flatMap((cell, index) =>
  cell.cell_type === 'code' && cell.getSource().trim() && cell.execution_count === null ? [index] : [])"""


def build_once(folder: Path, **wanted: Any) -> Path:
    """The site in this folder, built by the first who asks; others wait for it."""
    with alone_with(folder.with_name(f"{folder.name}-build"), _SECONDS_TO_BUILD):
        if not (folder / STAMP).is_file():
            build_site(folder, **wanted)
    return folder


@contextmanager
def served(folder: Path, below: str = "") -> Iterator[str]:
    """Serve a folder as `python -m http.server` does; gives its address. `below`: a path before it, like '/a/b'."""

    class Handler(http.server.SimpleHTTPRequestHandler):
        def translate_path(self, path: str) -> str:
            return super().translate_path(path.removeprefix(below))

        def log_message(self, *_: Any) -> None:
            pass

    class Server(http.server.ThreadingHTTPServer):
        def handle_error(self, *_: Any) -> None:
            """A page that was left no longer takes what it asked for."""

    with Server(("127.0.0.1", 0), functools.partial(Handler, directory=str(folder))) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}{below}"
        server.shutdown()


@dataclass
class LitePage:
    """A page of a site: Playwright's `page`, the `address` of the site, and every address that was asked for."""

    page: Page
    address: str
    requests: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    """What the page threw, or its content policy forbade."""
    seconds_to_ready: float = 0.0

    def open(self, name: str) -> LitePage:
        """Open a lesson by its file name, and wait until Python is ready."""
        began = time.monotonic()
        self.page.set_default_timeout(_MILLISECONDS_TO_OPEN)
        self.page.goto(f"{self.address}/notebooks/index.html?path={quote(name)}", wait_until="domcontentloaded")
        return self.wait(began)

    def wait(self, began: float | None = None, at_most_ms: int = _MILLISECONDS_TO_OPEN) -> LitePage:
        """Wait until Python is ready."""
        began = time.monotonic() if began is None else began
        why_not = self.page.evaluate(_READY, at_most_ms)
        assert why_not == "", f"{self.page.url}: {why_not}"
        self.seconds_to_ready = time.monotonic() - began
        return self

    def run_all(self) -> list[str]:
        """Run every cell; returns the errors among their outputs, and which did not run."""
        self.page.set_default_timeout(_MILLISECONDS_TO_RUN)
        self.page.evaluate(_RUN_ALL)
        return [*self.page.evaluate(_ERRORS), *(f"cell {index} did not run" for index in self.page.evaluate(_NOT_RUN))]

    def elsewhere(self) -> list[str]:
        """Addresses on other hosts that were asked for."""
        return [each for each in self.requests if not each.startswith((self.address, "data:", "blob:"))]


def listened_to(page: Page, address: str) -> LitePage:
    """A page of a site, with all that it asks for and all that goes wrong in it."""
    lite = LitePage(page, address)
    page.context.on("request", lambda request: lite.requests.append(request.url))
    page.on("pageerror", lambda error: lite.errors.append(str(error)))
    page.on("console", lambda message: _note(lite, message.text))
    return lite


def _note(lite: LitePage, text: str) -> None:
    if "Content Security Policy" in text:
        lite.errors.append(text)
