"""What every test shares: how hypothesis looks for counterexamples, and where the checkout is."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from gearcalc.commands import main
from tests.chromium import chromium as chromium  # a fixture
from tests.chromium import skip_without_chromium

SECONDS_FOR_A_LESSON = 300  # a kernel or a browser is started first, and every cell runs
SECONDS_WHEN_THOROUGH = 3600
LONGEST_FIRST = (
    "tests/browser",
    "tests/planning",
    "tests/lessons",
    "tests/learning",
    "tests/properties",
    "tests/finding",
)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--thorough", action="store_true", help="ask all that tests/how_much.py keeps back: hours")


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--thorough"):
        os.environ["GEARCALC_THOROUGH"] = "yes"
    most = 800 if _is_thorough() else 32
    # The same examples each run where a red build must mean a change, new ones at the bench; no clock in either,
    # since a busy machine is no fault of the code, nor a drawn lathe of which there is nothing to ask.
    common = settings(
        deadline=None, max_examples=most, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
    )
    settings.register_profile("bench", common)
    settings.register_profile("ci", common, derandomize=True)
    settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE") or ("ci" if os.environ.get("CI") else "bench"))


def pytest_runtest_setup(item: pytest.Item) -> None:
    skip_without_chromium(item)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """A file's tests run on one worker, since they share what is slow to come by; those of the browser all on one."""
    if config.getoption("dist") != "load":  # asked for otherwise
        return None
    from xdist.scheduler import LoadFileScheduling

    class Sharing(LoadFileScheduling):
        def _split_scope(self, nodeid: str) -> str:
            if nodeid.startswith("tests/lessons/test_lessons_run.py"):
                return nodeid.partition("[")[2]  # each lesson by itself, executed once
            file = super()._split_scope(nodeid)
            return "tests/browser" if file.startswith("tests/browser/") else file

    config.option.loadscopereorder = False  # they come longest first already
    return Sharing(config, log)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    items.sort(key=_place)
    by_name = any("benchmarks" in argument for argument in config.args)
    if not (by_name or os.environ.get("CI") or _is_thorough()):  # how fast is asked where a change lands, or by name
        items[:] = [item for item in items if not item.nodeid.startswith("tests/benchmarks/")]
    for item in items:
        if _is_thorough():
            item.add_marker(pytest.mark.timeout(SECONDS_WHEN_THOROUGH))
        elif item.get_closest_marker("browser") or item.get_closest_marker("lesson"):
            item.add_marker(pytest.mark.timeout(SECONDS_FOR_A_LESSON))


def _is_thorough() -> bool:
    return bool(os.environ.get("GEARCALC_THOROUGH"))


def _place(item: pytest.Item) -> int:
    """Where its folder stands among those that take longest, which begin first: nobody waits for one at the end."""
    folders = [place for place, folder in enumerate(LONGEST_FIRST) if item.nodeid.startswith(folder + "/")]
    return folders[0] if folders else len(LONGEST_FIRST)


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The top folder of the checkout that these tests belong to."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture
def ask(capsys):
    """Run a command; its exit code, what it said, and what it complained of."""

    def run(*arguments):
        code = main([str(each) for each in arguments])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run
