"""The newest Python that can be had without installing one: Pyodide's, which runs the lessons in browsers, in node."""

from __future__ import annotations

import json
import shutil
import subprocess

import pytest

from gearcalc.serving.parts import all_parts, parts_folder

pytestmark = pytest.mark.timeout(300)  # it takes 20 seconds where nobody else is at work
PURE = ("basics", "threads", "lathes", "fits", "finding", "deriving", "cutting", "planning", "pictures")


@pytest.fixture(scope="module")
def said(checkout, tmp_path_factory):
    """What came of every docstring example of the pure rooms."""
    node = shutil.which("node")
    if node is None or shutil.which("npm") is None:
        pytest.skip("npm is missing: install Node.js to ask the Python that runs in browsers")
    parts = all_parts(parts_folder(), print)
    core = parts.unpack_core(tmp_path_factory.mktemp("pyodide"))
    script = checkout / "tests" / "serving" / "doctests.mjs"
    command = [node, script, core, checkout, ",".join(PURE), *parts.wheels]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout.splitlines()[-1])


class TestExamplesInDocstrings:
    def test_every_one_is_as_it_says(self, said):
        assert said["failed"] == []
        assert said["asked"] > 800

    def test_by_a_python_that_is_newer_than_this_one_may_be(self, said):
        assert tuple(map(int, said["python"].split(".")[:2])) >= (3, 14)
