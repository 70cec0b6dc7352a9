"""Commands in odd surroundings: another locale, no home, a narrow or dumb terminal, odd clocks, closed streams."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.serving.parts import parts_folder

NOTHING_SET = {key: os.environ[key] for key in ("PATH", "SYSTEMROOT") if key in os.environ} | {"PYTHONUTF8": "0"}
SURROUNDINGS = {
    "locale C, no home, a dumb terminal a column wide": {
        "LANG": "C",
        "LC_ALL": "C",
        "PYTHONCOERCECLOCALE": "0",
        "TERM": "dumb",
        "COLUMNS": "1",
        "LINES": "1",
    },
    "locale POSIX, a home that is not there, an odd clock": {
        "LC_ALL": "POSIX",
        "HOME": "/proc/nowhere/at/all",
        "TZ": "Nowhere/Land",
    },
    "a locale that is not there, streams in ASCII, a home that none can write to, days ahead": {
        "LC_ALL": "xx_YY.KOI8-R",
        "PYTHONIOENCODING": "ascii",
        "HOME": os.devnull,
        "TZ": "AHEAD-167",
        "TERM": "",
        "COLUMNS": "wide",
    },
}
EVERYTHING = """
import json, sys
from gearcalc.commands import main
asked = {
    "the door": [],
    "find": ["find", "metric", "7/16-14 UNC"],
    "lessons": ["lessons", "lessons", "--no-open"],
    "worksheet": ["worksheet", "lead-of-a-leadscrew", "--class", "1-2", "--save", "sets.pdf"],
    "a card": ["card", "metric", "M8", "--save", "card.pdf"],
}
codes = {name: main(words) for name, words in asked.items()}
import gearcalc as gc
lathe = gc.demo_lathe("inch")
gc.wall_plate(lathe, ["8 tpi"]).save("plate.pdf")
gc.train_picture(gc.Train.parse("40/80")).save("train.svg")
with open("codes.json", "w") as file:
    json.dump(codes, file)
"""


class TestSurroundings:
    @pytest.mark.parametrize("settings", SURROUNDINGS.values(), ids=SURROUNDINGS)
    def test_all_is_done_and_said(self, checkout, settings):
        with tempfile.TemporaryDirectory() as scratch:
            folder, environment = Path(scratch), NOTHING_SET | settings | {"PYTHONPATH": str(checkout)}
            command = [sys.executable, "-c", EVERYTHING]
            done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=False)
            assert done.returncode == 0, done.stderr.decode(errors="replace")[-1500:]
            codes = json.loads((folder / "codes.json").read_text())
            assert codes == dict.fromkeys(codes, 0)
            assert {path.name for path in folder.glob("*.*")} >= {"sets.pdf", "card.pdf", "plate.pdf", "train.svg"}
            assert (folder / "lessons" / "01_one_turn.ipynb").is_file()
        words = done.stdout.decode("ascii" if "PYTHONIOENCODING" in settings else "utf-8")
        assert "7/16" in words
        assert "card.pdf" in words
        assert done.stderr == b""


class TestClosedStreams:
    @pytest.mark.skipif(os.name != "posix", reason="a shell of POSIX closes them")
    @pytest.mark.parametrize(
        ("closed", "code"), [("<&-", 0), ("2>&- >/dev/null", 0), ("<&- >&- 2>&-", 3), (">/dev/full", 3)]
    )
    def test_the_exit_code_says_whether_the_answer_went_out(self, checkout, closed, code):
        command = f'"{sys.executable}" -m gearcalc find inch "16 tpi" {closed}'
        done = subprocess.run(["sh", "-c", command], cwd=checkout, capture_output=True, check=False)
        assert done.returncode == code, done.stderr
        assert b"Traceback" not in done.stderr


class TestNobody:
    @pytest.mark.skipif(not hasattr(os, "getuid"), reason="elsewhere a home is found otherwise")
    def test_who_has_no_home_is_told_to_name_a_folder(self, monkeypatch):
        for name in ("HOME", "XDG_CACHE_HOME"):
            monkeypatch.delenv(name, raising=False)
        monkeypatch.setattr(os, "getuid", lambda: 4_000_000_000)  # of whom the system has no entry
        with pytest.raises(NotPossibleError, match=r"no home.*--parts"):
            parts_folder()
