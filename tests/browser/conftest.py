"""Chromium, a JupyterLab server, and lessons open in it, for the tests in this folder."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from gearcalc.basics.files import notebooks_folder
from tests.browser.lab_page import LabPage, open_in_lab, screenshot_folder
from tests.browser.lab_server import LabServer, serve
from tests.browser.lite_site import ELSEWHERE, LitePage, build_once, listened_to, served

# Playwright's own download of a browser is not counted on: the system's Chromium is driven.
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


def begun_in(chromium: Any, folder: Path) -> Any:
    """A Chromium of its own that keeps what it has in a folder, as a learner's does; the others keep nothing there."""
    return chromium.browser_type.launch_persistent_context(folder, executable_path=_chromium_path(), args=_FLAGS)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip what needs a Chromium where there is none: from one place, so that the report says it in one line."""
    if "chromium" in getattr(item, "fixturenames", ()) and _chromium_path() is None:
        pytest.skip("Chromium is missing: install it to run the browser tests")
    if "lite_folder" in getattr(item, "fixturenames", ()) and shutil.which("npm") is None:
        pytest.skip("npm is missing: install Node.js to test the lessons that run in the browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests of one lesson follow each other, what all its outputs say first."""
    items.sort(key=_lesson_of)


def _lesson_of(item: pytest.Item) -> str:
    mark = item.get_closest_marker("opens")
    return mark.args[0] if mark else ""


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


@pytest.fixture(scope="session")
def lab(chromium: Any, checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[LabServer]:
    """A JupyterLab server over a copy of the lessons."""
    scratch = tmp_path_factory.mktemp("lab")
    folder = shutil.copytree(notebooks_folder(), scratch / "lessons")
    with serve(folder, scratch, checkout) as server:
        yield server


@pytest.fixture(scope="session")
def lite_folder(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """The folder of the site of all lessons, built once a run."""
    base = tmp_path_factory.getbasetemp()
    return build_once((base if worker_id == "master" else base.parent) / "lite-site")


@pytest.fixture(scope="session")
def lite_site(lite_folder: Path) -> Iterator[str]:
    """The address of that site, served as any server of files would serve it."""
    with served(lite_folder) as address:
        yield address


@pytest.fixture
def lite_page(chromium: Any, lite_site: str) -> Iterator[LitePage]:
    """A page of that site in a browser that has never seen it."""
    context = chromium.new_context(viewport={"width": 1366, "height": 768})
    yield listened_to(context.new_page(), lite_site)
    context.close()


@pytest.fixture(scope="session")
def run_once(
    chromium: Any, lab: LabServer, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[[str], LabPage]]:
    """A function that opens a notebook and runs all of it, or hands its page on while no other has been asked for."""
    shown: dict[str, LabPage] = {}

    def close() -> None:
        while shown:
            shown.popitem()[1].close()

    def page_of(name: str) -> LabPage:
        if name in shown:
            shown[name].is_used = True
            shown[name].console_errors.clear()
        else:
            close()
            shown[name] = open_in_lab(chromium, lab, name, screenshot_folder(tmp_path_factory.mktemp("shown")))
            shown[name].run_all()
        return shown[name]

    yield page_of
    close()


@pytest.fixture
def lesson(request: pytest.FixtureRequest, run_once: Callable[[str], LabPage]) -> LabPage:
    """The lesson that the test's mark `opens` names, run; tests of one lesson share its page."""
    return run_once(_lesson_of(request.node))


@pytest.fixture
def open_lesson(chromium: Any, lab: LabServer, tmp_path: Path) -> Iterator[Callable[[str], LabPage]]:
    """A function that opens a lesson by its file name; what it opened is closed afterwards."""
    opened: list[LabPage] = []

    def open_one(name: str) -> LabPage:
        opened.append(open_in_lab(chromium, lab, name, screenshot_folder(tmp_path)))
        return opened[-1]

    yield open_one
    for lesson in opened:
        lesson.close()
