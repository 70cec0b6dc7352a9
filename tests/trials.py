"""Tests of a copy of the checkout, run again and again by one process that has loaded the large packages already.

`tests/mutants.py` starts it in the copy, as a script, and writes one line of JSON for each run: the files, which of
their tests and in which order, how many seconds of the processor. Each run is a fork, so none knows of the others. A
machine that is busy changes nothing: it is the processor's time that is counted, not the clock's.
"""

from __future__ import annotations

import json
import os
import resource
import select
import signal
import sys
import time
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

LARGE = ["hypothesis.strategies", "sympy", "cattrs", "numpy", "matplotlib.figure", "pandas", "ipywidgets", "nbformat"]
BYTES = 4 * 2**30
HARDLY, WOKEN = 5, 5  # hundredths of a second of work; seconds of sleep that a look in between undoes
HOW = ["-q", "-p", "pytest_timeout", "--timeout", "600", "-p", "no:cacheprovider", "--tb=no", "--doctest-modules"]
WHICH = ["-m", "not browser and not lesson"]


class Chosen:
    """These tests and no others, in this order; which failed."""

    def __init__(self, tests: list[str]) -> None:
        self.place = {test: place for place, test in enumerate(tests)}
        self.failed: list[str] = []

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted((each for each in items if each.nodeid in self.place), key=lambda at: self.place[at.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)


class Watched:
    """Of each test: which functions of the package it calls, how long it takes, and whether it fails.

    What a file calls while it is loaded, and what stands ready for several tests, counts for all of its tests.
    """

    def __init__(self, package: str) -> None:
        self.package, self.root = package, str(Path.cwd() / package)
        self.calls: dict[int, Any] = {}
        self.shared, self.tests, self.failed = set[str](), dict[str, tuple[float, list[str]]](), set[str]()
        sys.settrace(self._note)

    def _note(self, frame: Any, event: str, value: object) -> None:
        self.calls[id(frame.f_code)] = frame.f_code

    def _taken(self) -> set[str]:
        sys.settrace(None)
        mine = [code for code in self.calls.values() if code.co_filename.startswith(self.root)]
        self.calls = {}
        return {f"{os.path.relpath(code.co_filename)}:{code.co_qualname.partition('.<locals>')[0]}" for code in mine}

    def _forget(self) -> None:
        """What was reckoned once for all is reckoned again, so that each test is seen to ask for it."""
        for name, module in list(sys.modules.items()):
            if name.partition(".")[0] == self.package:
                for each in list(vars(module).values()):
                    if "cache_clear" in dir(type(each)):
                        each.cache_clear()

    def pytest_collection_finish(self) -> None:
        self.shared |= self._taken()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self) -> Iterator[None]:
        self._forget()
        sys.settrace(self._note)
        yield
        self.shared |= self._taken()

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        start = time.process_time()
        sys.settrace(self._note)
        try:
            yield
        finally:
            self.tests[item.nodeid] = (round(time.process_time() - start, 3), sorted(self._taken()))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed or report.skipped:
            self.failed.add(report.nodeid)


def watch(file: str, package: str) -> dict[str, Any]:
    """What the tests of a file call; without those that fail."""
    sys.dont_write_bytecode = False
    seen = Watched(package)
    pytest.main([*HOW, *WHICH, file], plugins=[seen])
    tests = {name: facts for name, facts in seen.tests.items() if name not in seen.failed}
    return {"shared": sorted(seen.shared), "tests": tests}


def attempt(tests: list[str]) -> dict[str, Any]:
    """Whether all of them pass, and else which one does not."""
    sys.dont_write_bytecode = True
    those = Chosen(tests)
    files = dict.fromkeys(test.partition("::")[0] for test in tests)
    code = pytest.main(["-x", *HOW, *WHICH, *files], plugins=[those])
    return {"passes": code in (0, 5), "by": (those.failed or ["it loads no more"])[0]}  # 5: there was nothing to run


def in_a_fork(wish: dict[str, Any]) -> dict[str, Any]:
    """What came of it; `{}` where its time was up."""
    reads, writes = os.pipe()
    child = os.fork()
    if not child:
        os.close(reads)
        seconds = int(wish["seconds"]) + 1
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
        resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
        nothing = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nothing, stream)
        what: Callable[..., dict[str, Any]] = watch if "file" in wish else attempt
        try:
            said = what(wish["file"], wish["package"]) if "file" in wish else what(wish["tests"])
            with os.fdopen(writes, "w") as out:
                json.dump(said, out)
        finally:
            os._exit(0)
    os.close(writes)
    with os.fdopen(reads) as told:
        if _sleeps_on(child, reads, wish["asleep"]):
            os.kill(child, signal.SIGKILL)
        said = told.read()
    os.waitpid(child, 0)
    return json.loads(said) if said else {}


def _sleeps_on(child: int, reads: int, seconds: int) -> bool:
    """It has neither said anything nor worked for longer than any test waits; who waits for the processor works."""
    still = worked = 0
    while still < seconds and not select.select([reads], [], [], 1)[0]:
        state, *facts = Path(f"/proc/{child}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
        worked, before = sum(map(int, facts[10:14])), worked
        still += 1 if state == "S" and worked - before < HARDLY else -min(still, WOKEN)
    return still >= seconds


def main() -> None:
    settings = Path("pyproject.toml")
    needed = settings.read_text(encoding="utf-8") if settings.exists() else ""
    for name in LARGE:
        if f'"{name.partition(".")[0]}' in needed:
            import_module(name)
    sys.path[:] = [str(Path.cwd()), *(each for each in sys.path if each != str(Path(__file__).parent))]
    for line in sys.stdin:
        print(json.dumps(in_a_fork(json.loads(line))), flush=True)


if __name__ == "__main__":
    main()
