"""What several files of unit tests use."""

from __future__ import annotations

import pytest

from gearcalc.commands import main


@pytest.fixture
def ask(capsys):
    """Run a command; its exit code, what it said, and what it complained of."""

    def run(*arguments):
        code = main([str(each) for each in arguments])
        said = capsys.readouterr()
        return code, said.out, said.err

    return run
