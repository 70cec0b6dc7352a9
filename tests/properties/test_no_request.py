"""Nothing asks another host: not an import, not a name, not a command, not a lesson in its kernel.

One exception there is: what builds a site fetches its parts, once (tests/browser/test_built_again.py: not twice).
"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from gearcalc.serving.sites import STAMP
from tests import notebooks
from tests.commands.test_options import parsers
from tests.no_request import Watched
from tests.teaching.invented_class import answers, write

EVERYTHING = """
import importlib, pkgutil
import gearcalc
for info in pkgutil.walk_packages(gearcalc.__path__, "gearcalc."):
    if not info.name.endswith("__main__"):
        importlib.import_module(info.name)
for name in gearcalc.__all__:
    getattr(gearcalc, name)
print("all there")
"""
ASKED = """
import contextlib, io, json, sys
from pathlib import Path
from gearcalc.commands import main
from gearcalc.serving import hubs, servers

servers.SiteServer.serve_forever = lambda server: None
hubs.prepare_hub = lambda folder, lan, **_: hubs.Hub(Path(folder), 8000, lan, {"SIGN_IN": "pam"})
hubs.Hub.make_folders = lambda hub: None
hubs.Hub.start = lambda hub, password: None
codes = {}
for command, words in json.loads(sys.argv[1]).items():
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        codes[command] = main([command, *words])
    if codes[command] not in (0, 1):
        codes[command] = said.getvalue()
print(json.dumps(codes))
"""
LESSON = "import gearcalc as gc\ngc.find_setups(gc.demo_lathe('inch'), '16 tpi')"
COMMANDS = {
    "lathe": ["new", "my_lathe.toml", "--name", "A", "--leadscrew", "8 tpi", "--gears", "20,30,40,40,50,80"],
    "check": ["inch"],
    "bracket": ["inch", "40/80", "--save", "b.svg"],
    "lessons": ["lessons", "--no-open"],
    "find": ["inch", "16 tpi"],
    "cuts": ["inch", "40/80", "--lever", "low"],
    "add": ["inch", "19 tpi", "--meshes", "1"],
    "coverage": ["inch", "1", "2", "--meshes", "1"],
    "chart": ["inch", "16 tpi", "--meshes", "1", "--save", "c.pdf"],
    "plan": ["inch", "16 tpi", "20 tpi", "--meshes", "1"],
    "card": ["inch", "16 tpi", "--save", "c.html"],
    "dial": ["inch", "16 tpi"],
    "feeds": ["inch", "0.1 mm/rev"],
    "proof": ["M8", "--turns", "10", "--length", "12.5", "--uncertainty", "0.1"],
    "faults": ["noisy"],
    "exercises": ["1"],
    "worksheet": ["01", "--class", "1-2", "--save", "s.pdf"],
    "handout": ["our_lesson.ipynb", "--save", "lesson.html"],
    "marks": ["handed_in", "--save", "m.html"],
    "serve": ["site", "--lan"],
    "hub": ["hub", "--sign-in", "pam"],
    "supplies": [],
}


@pytest.fixture
def watched(tmp_path, checkout):
    return Watched(tmp_path, checkout)


def told(watched, code, *arguments, folder=None):
    command = [sys.executable, "-c", code, *arguments]
    done = subprocess.run(command, env=watched.environment, cwd=folder, capture_output=True, text=True, timeout=280)
    assert done.returncode == 0, done.stderr[-3000:]
    return done.stdout.splitlines()[-1]


def test_the_hook_notices_whoever_asks(watched):
    tries = "import socket, urllib.request\n"
    for each in ("socket.create_connection(('192.0.2.1', 80), 1)", "socket.getaddrinfo('planted.example', 80)",
                 "urllib.request.urlopen('http://planted.example/')", "__import__('requests').get('http://192.0.2.1/')",
                 "socket.socket(socket.AF_INET, socket.SOCK_DGRAM).sendto(b'', ('192.0.2.1', 53))",
                 "__import__('subprocess').run(['npm', 'pack', 'pyodide'])"):  # fmt: skip
        tries += f"try:\n    {each}\nexcept RuntimeError:\n    pass\n"
    told(watched, f"{tries}print('done')")
    assert len(watched.asked) == 6, watched.asked


def test_an_import_of_every_file_and_every_public_name(watched):
    assert told(watched, EVERYTHING) == "all there"
    assert watched.asked == []


@pytest.mark.timeout(300)
def test_every_command_and_a_lesson_in_its_kernel(watched, tmp_path):
    """The lesson is run by `handout`; its kernel is a process of its own, and under the hook."""
    assert set(COMMANDS) == set(parsers()) - {"web"}
    folder = tmp_path / "here"
    (folder / "handed_in").mkdir(parents=True)
    (folder / "site").mkdir()
    (folder / "site" / STAMP).write_text('{"what": "a site of gearcalc lessons", "files": []}')
    notebooks.write([notebooks.words("# Ours"), LESSON], folder / "our_lesson.ipynb")
    write(folder / "handed_in" / "answers-1.json", answers(1, "Ada", {}))
    codes = json.loads(told(watched, ASKED, json.dumps(COMMANDS), folder=folder))
    assert {command: code for command, code in codes.items() if code not in (0, 1)} == {}
    assert watched.asked == []
    assert "16 tpi" in (folder / "lesson.html").read_text("utf-8")
    assert watched.processes >= 3, "this one, the lesson's kernel, and who marks"
