"""A site is built again without asking any host: its parts are kept."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.no_request import Watched


@pytest.mark.timeout(300)
def test_the_second_site_asks_no_host(lite_folder, tmp_path, checkout):
    """The first may have fetched parts; whoever builds the next one runs neither npm nor pip, and asks nobody."""
    watched = Watched(tmp_path, checkout)
    command = [sys.executable, "-m", "gearcalc", "web", str(tmp_path / "again"), "--lessons", "01"]
    done = subprocess.run(command, env=watched.environment, cwd=tmp_path, capture_output=True, text=True, timeout=200)
    assert done.returncode == 0, done.stderr[-3000:]
    assert (tmp_path / "again" / "index.html").is_file()
    assert "Fetching" not in done.stdout
    assert watched.asked == []
    assert watched.processes >= 2, "JupyterLite's build is under the hook too"
