"""Pages printed to PDF by a Chromium that is on this machine: tagged, with a title, nothing asked of any host."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import said_where, save_whole, scratch_in

NAMED_BY = "GEARCALC_CHROMIUM"
_SECONDS = 120
_BESIDE = re.compile(r'<a href="[^"#][^"]*">(.*?)</a>', re.S)
"""A link to another page, which a PDF would have as a path on the machine that printed it."""
_COMMANDS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "msedge",
    "microsoft-edge",
)
_WINDOWS = (
    "Google/Chrome/Application/chrome.exe",
    "Chromium/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
_MAC = ("Google Chrome", "Chromium", "Microsoft Edge")
_FLAGS = (
    "--headless",
    "--disable-gpu",
    "--no-first-run",
    "--disable-extensions",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-pdf-header-footer",
    "--generate-pdf-document-outline",
)


def find_printer() -> str:
    """Find a Chromium, or a browser made of one: the one that GEARCALC_CHROMIUM names, else one of the usual names.

    ```python
    print(find_printer())
    ```

    Raises NotPossibleError where there is none.
    """
    named = os.environ.get(NAMED_BY)
    if named:
        found = shutil.which(named)
        if found is None:
            raise NotPossibleError(f"{NAMED_BY} names no program that can be run", value=named)
        return found
    for called in (*_COMMANDS, *_usual_places()):
        found = shutil.which(called)
        if found is not None:
            return found
    raise NotPossibleError(
        "to print a PDF takes a Chromium, or a browser made of one, and none was found here",
        remedy=f"Name it in {NAMED_BY}; or save the page as .html, open it in any browser, and print it there.",
    )


def _usual_places() -> list[str]:
    folders = [os.environ.get(name) for name in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")]
    windows = [str(Path(folder, place)) for folder in folders if folder for place in _WINDOWS]
    return windows + [f"/Applications/{name}.app/Contents/MacOS/{name}" for name in _MAC]


def print_page(page: str, path: str | Path, printer: str) -> Path:
    """Print a page of HTML to a PDF, whole or not at all; return where to.

    ```python
    print_page("<title>A page</title>", "page.pdf", find_printer())
    ```

    `printer`: as find_printer() found it. Raises NotPossibleError where it makes no PDF, or it can't be saved.
    """
    target = Path(path)
    beside = target.parent  # some browsers may not see the folder for what is temporary
    with said_where(path, "the handout can't be printed here"), scratch_in(beside, "gearcalc-print-") as scratch:
        printed = _printed(page, scratch.resolve(), printer)
    return save_whole(target, printed, "the handout")


def _printed(page: str, folder: Path, printer: str) -> bytes:
    source, made = folder / "page.html", folder / "page.pdf"
    source.write_text(_BESIDE.sub(r"\1", page), encoding="utf-8")
    command = [printer, *_FLAGS, f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={made}", source.as_uri()]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.insert(1, "--no-sandbox")  # in a container there is nobody else to be
    try:
        done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, timeout=_SECONDS, check=False)
        said = done.stderr.decode("utf-8", "replace").strip().rpartition("\n")[2]
    except subprocess.TimeoutExpired:
        said = f"it took longer than {_SECONDS} seconds"
    content = made.read_bytes() if made.is_file() else b""
    if not content.startswith(b"%PDF"):
        raise NotPossibleError(
            f"the browser printed no PDF ({said[:200] or 'it said nothing'})",
            where=printer,
            remedy="Save the page as .html, open it in a browser, and print it there.",
        )
    return content
