"""The Chromium that tests drive: the system's, since Playwright's own download of one is not counted on."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ELSEWHERE = "lessons.test"
"""This computer by a name that no browser takes for it: as from another one there is no service worker over http."""

UNFOLD = """(within) => {
  for (const folded of document.querySelectorAll(within + " details")) folded.open = true;
}"""
"""Unfold all that is folded in the parts that a selector names."""

_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    f"--host-resolver-rules=MAP {ELSEWHERE} 127.0.0.1",
]
_NAMES = ("chromium", "chromium-browser", "google-chrome")


def _chromium_path() -> str | None:
    named = os.environ.get("GEARCALC_CHROMIUM")
    return named or next(filter(None, map(shutil.which, _NAMES)), None)


def skip_without_chromium(item: pytest.Item) -> None:
    """Skip what needs a Chromium where there is none: from one place, so that the report says it in one line."""
    if "chromium" in getattr(item, "fixturenames", ()) and _chromium_path() is None:
        pytest.skip("Chromium is missing: install it to run the browser tests")


def begun_in(chromium: Any, folder: Path) -> Any:
    """A Chromium of its own that keeps what it has in a folder, as a learner's does; the others keep nothing there."""
    return chromium.browser_type.launch_persistent_context(folder, executable_path=_chromium_path(), args=_FLAGS)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A running Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=_chromium_path(), args=_FLAGS)
        try:
            yield browser
        finally:
            browser.close()
