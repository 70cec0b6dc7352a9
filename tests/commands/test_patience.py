"""Whoever looks on is told that a command is at work; a pipe or a file never is."""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
import time

import pytest

import gearcalc as gc
from gearcalc.commands.patience import Patience
from tests.commands.test_commands import STOPPED, open_when_read

pty = pytest.importorskip("pty", reason="Windows has no pseudo-terminals")


class Terminal(io.StringIO):
    def isatty(self):
        return True

    def shows(self) -> str:
        """What is left to be seen: what comes behind a carriage return stands over what was there."""
        line = ""
        for part in self.getvalue().split("\r"):
            line = part + line[len(part) :]
        return line.rstrip()


def wait_for(true, limit_s: float = 30) -> bool:
    until = time.monotonic() + limit_s
    while time.monotonic() < until and not true():
        time.sleep(0.02)
    return bool(true())


class TestPatience:
    @pytest.fixture
    def soon(self, monkeypatch):
        monkeypatch.setattr("gearcalc.commands.patience._SOON_S", 0.01)
        monkeypatch.setattr("gearcalc.commands.patience._LONG_S", 0.05)

    def test_what_is_done_soon_is_done_in_silence(self):
        terminal = Terminal()
        with Patience(terminal):
            pass
        assert terminal.shows() == ""
        assert not terminal.getvalue().strip("\r")

    def test_says_how_far_it_is_and_then_how_to_be_served_sooner(self, soon):
        terminal = Terminal()
        with Patience(terminal, "Fewer are quicker.") as patience:
            assert wait_for(lambda: "gearcalc: at work, 0 s. Ctrl-C stops it." in terminal.shows())
            for number, _ in enumerate(patience.shown("abc", "Ordering the jobs"), 1):
                said = f"gearcalc: ordering the jobs, {number} of 3, 0 s. Ctrl-C stops it."
                assert wait_for(lambda said=said: said in terminal.shows())
            assert wait_for(lambda: "at work, 0 s. Ctrl-C stops it. Fewer are quicker." in terminal.shows())
        assert terminal.shows() == ""

    def test_is_not_wider_than_the_terminal(self, soon, monkeypatch):
        monkeypatch.setenv("COLUMNS", "30")
        terminal = Terminal()
        with Patience(terminal, "x" * 100):
            assert wait_for(lambda: "at work" in terminal.shows())
        assert max(map(len, terminal.getvalue().split("\r"))) <= 29

    @pytest.mark.parametrize("stream", [None, io.StringIO()])
    def test_nobody_looks_on(self, soon, stream):
        with Patience(stream, "x") as patience:
            time.sleep(0.1)
            assert list(patience.shown(iter("ab"), "X")) == ["a", "b"]
        assert stream is None or stream.getvalue() == ""

    def test_a_terminal_that_is_gone_is_no_reason_to_fail(self, soon):
        class Gone(Terminal):
            def write(self, _):
                raise OSError(5, "Input/output error")

        with Patience(Gone()):
            time.sleep(0.05)


class TestFromAShell:
    """A command that waits: its lathe file is a pipe, and nobody writes to it yet."""

    @pytest.fixture
    def slow(self, checkout, tmp_path):
        os.mkfifo(tmp_path / "slow.toml")

        def start(stderr):
            return subprocess.Popen(
                [sys.executable, "-m", "gearcalc", "check", str(tmp_path / "slow.toml")],
                stdout=subprocess.PIPE,
                stderr=stderr,
                env={**os.environ, "PYTHONPATH": str(checkout), "COLUMNS": "80"},
                preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
            )

        return start

    def test_on_a_terminal_it_is_told_and_the_answer_stands_alone(self, slow, tmp_path):
        ours, theirs = pty.openpty()
        process = slow(theirs)
        os.close(theirs)
        text = gc.demo_lathe("inch").to_toml().encode()
        said = b""
        with open_when_read(tmp_path / "slow.toml", process) as handle:
            while b"at work, 1 s" not in said:
                said += os.read(ours, 1000)
            os.write(handle, text)
        out, _ = process.communicate(timeout=60)
        assert process.returncode == 0
        assert out.startswith(b"Bench lathe")
        assert re.search(rb"gearcalc: at work, 1 s\. Ctrl-C stops it\.", said)
        os.close(ours)

    def test_in_a_pipe_it_is_not(self, slow, tmp_path):
        process = slow(subprocess.PIPE)
        with open_when_read(tmp_path / "slow.toml", process):
            time.sleep(1.5)
            process.send_signal(signal.SIGINT)
            _, err = process.communicate(timeout=60)
        assert err == STOPPED


def test_the_best_plan_so_far_is_said_where_a_search_is_stopped(ask, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("gearcalc.planning.path_search.PathSearch.within", stopped)
    code, out, _ = ask("plan", "inch", "M6", "M8", "M10", "11 tpi", "13 tpi", "19 tpi", "1 mm", "2 mm", "9 tpi")
    assert code == 130
    assert "Interrupted: this is the best plan that was found by then." in out


def test_the_best_so_far_is_said_where_a_search_is_stopped(ask, monkeypatch):
    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("gearcalc.finding.least_purchase.PurchaseSearch.run", stopped)
    code, out, _ = ask("add", "inch", "1 mm", "--within-ppm", "0")
    assert code == 130
    assert "The search was stopped." in out
