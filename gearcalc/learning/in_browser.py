"""Lessons that run in the browser alone: it keeps what they write, and what a cell saves is offered to be taken.

The page's own half is data/web/kept.mjs. It hands in a module of its own, which is there nowhere else.
"""

from __future__ import annotations

import base64
import html
import mimetypes
from collections.abc import Callable
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any, Protocol

from gearcalc.basics.markup import in_html
from gearcalc.learning.answer_files import FILE_NAME
from gearcalc.learning.live import IN_THE_BROWSER

_LARGEST_OFFERED = 5_000_000
_PRINTED = (".html", ".svg")


class Storage(Protocol):
    """Where a browser keeps files, beyond the `folder` that the Python of a lesson has in memory.

    `why_not`: why it keeps none, empty where it does.
    """

    @property
    def folder(self) -> Path: ...
    @property
    def why_not(self) -> str: ...
    def change(self, name: str, rule: Callable[[str | None], str], refused: Callable[[str], None]) -> None:
        """Have a file changed by a rule, from what it says by then (None: no file), while no other lesson changes it.

        That is done a little later; then the file in `folder` says the same, and those who listen are told. `refused`
        is told why, where nothing can be kept.
        """

    def listen(self, name: str, told: Callable[[], None]) -> None:
        """Have somebody told whenever that file has been changed, here or by another lesson."""


@cache
def storage() -> Storage | None:
    """Find what keeps files where lessons run in the browser alone; None anywhere else.

    >>> storage() is None
    True
    """
    return _BrowserStorage(import_module("gearcalc_kept")) if IN_THE_BROWSER else None


class _BrowserStorage:
    """The page's half, in Python's words."""

    def __init__(self, kept: Any) -> None:
        self._kept = kept
        self._proxy = import_module("pyodide.ffi").create_proxy
        self.folder, self.why_not = Path(kept.folder), str(kept.why)

    def change(self, name: str, rule: Callable[[str | None], str], refused: Callable[[str], None]) -> None:
        self._kept.change(name, self._proxy(rule), self._proxy(refused))

    def listen(self, name: str, told: Callable[[], None]) -> None:
        self._kept.listen(self._proxy(lambda changed: told() if changed == name else None))


def begin() -> None:
    """Have what a cell saves offered below it, to be taken from the browser: called once, before the first cell."""
    from IPython import get_ipython
    from IPython.display import display

    keeps, shell = storage(), get_ipython()
    if keeps is None or shell is None:
        return
    before: dict[Path, object] = {}

    def before_a_cell(*_: object) -> None:
        before.clear()
        before.update(_files(keeps.folder))

    def after_a_cell(*_: object) -> None:
        for path, told in _files(keeps.folder).items():
            if before.get(path) != told:
                line = offered(path.name, path.read_bytes())
                display({"text/html": line, "text/plain": f"Saved: {path.name}"}, raw=True)

    shell.events.register("pre_run_cell", before_a_cell)
    shell.events.register("post_run_cell", after_a_cell)


def offered(name: str, content: bytes) -> str:
    """Make the line under a cell by which a saved file is taken from the browser to the computer.

    >>> offered("card.html", b"<p>40 &lt; 80</p>").partition(" href")[0]
    '<p class="gearcalc-saved">Saved: <a download="card.html"'
    """
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    data = base64.b64encode(content).decode("ascii")
    link = f'<a download="{html.escape(name)}" href="data:{kind};base64,{data}">{in_html(name)}</a>'
    then = " Open it in the browser, and print it there." if name.lower().endswith(_PRINTED) else ""
    return f'<p class="gearcalc-saved">Saved: {link}. Click it to have it among your downloads.{then}</p>'


def _files(folder: Path) -> dict[Path, object]:
    """What lies there to be taken, and by what a file that was written again is told."""
    told: dict[Path, object] = {}
    for path in folder.iterdir():
        found = path.lstat()
        if not path.name.startswith((".", FILE_NAME)) and path.is_file() and found.st_size <= _LARGEST_OFFERED:
            told[path] = found.st_ino, found.st_mtime_ns, found.st_size
    return told
