"""The page's half of what a browser keeps (data/web/kept.mjs), in node: two tabs, told in any order a browser may."""

from __future__ import annotations

import json
import shutil
import subprocess

import pytest

from tests.how_much import THOROUGH


def test_what_was_typed_last_is_kept_and_both_tabs_say_so(checkout):
    """Five guesses in two tabs a run; which came last is counted by the script itself."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is missing: install Node.js to ask what runs in browsers")
    script, kept = checkout / "tests" / "serving" / "kept_in_two_tabs.mjs", checkout / "data" / "web" / "kept.mjs"
    runs = 20_000 if THOROUGH else 1000
    done = subprocess.run([node, script, kept, str(runs)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    assert json.loads(done.stdout) == {"runs": runs, "wrong": []}
