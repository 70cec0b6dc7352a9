"""What every test shares: how hypothesis looks for counterexamples, and where the checkout is."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from gearcalc.commands import main

# The same examples each run where a red build must mean a change, new ones at the bench; no clock in either,
# since a busy machine is no fault of the code.
settings.register_profile(
    "ci", derandomize=True, deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("bench", deadline=None, max_examples=60)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE") or ("ci" if os.environ.get("CI") else "bench"))

SECONDS_FOR_A_LESSON = 300  # a kernel or a browser is started first, and every cell runs


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.get_closest_marker("browser") or item.get_closest_marker("lesson"):
            item.add_marker(pytest.mark.timeout(SECONDS_FOR_A_LESSON))


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The top folder of the checkout that these tests belong to."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture
def kernel_sees_checkout(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Kernels started by the test import this checkout's gearcalc, wherever they run."""
    monkeypatch.setenv("PYTHONPATH", str(checkout))


@pytest.fixture
def ask(capsys):
    """Run a command; its exit code, what it said, and what it complained of."""

    def run(*arguments):
        code = main([str(each) for each in arguments])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run
