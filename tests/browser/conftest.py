"""A JupyterLab server, a site, and lessons open in it, for the tests in this folder."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from gearcalc.basics.files import notebooks_folder
from tests.browser.lab_page import LabPage, open_in_lab, screenshot_folder
from tests.browser.lab_server import LabServer, serve
from tests.browser.lite_site import LitePage, build_once, listened_to, served


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip what needs npm where there is none: from one place, so that the report says it in one line."""
    if "lite_folder" in getattr(item, "fixturenames", ()) and shutil.which("npm") is None:
        pytest.skip("npm is missing: install Node.js to test the lessons that run in the browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests of one lesson follow each other, what all its outputs say first."""
    items.sort(key=_lesson_of)


def _lesson_of(item: pytest.Item) -> str:
    mark = item.get_closest_marker("opens")
    return mark.args[0] if mark else ""


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
