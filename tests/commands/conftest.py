"""What commands are asked in, for the tests in this folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearcalc.serving import hubs
from gearcalc.serving.sites import Site
from tests.notebooks import as_committed


@pytest.fixture
def nothing_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder to work in; no lesson is run there, no site built, and no hub started."""
    monkeypatch.chdir(tmp_path)
    told = {"SIGN_IN": "pam"}
    monkeypatch.setattr("gearcalc.teaching.handouts.run_lessons", lambda lessons, *_: map(as_committed, lessons))
    monkeypatch.setattr("gearcalc.serving.sites.build_site", lambda folder, **_: Site(Path(folder), (), 47.1))
    monkeypatch.setattr(hubs, "prepare_hub", lambda folder, lan, **_: hubs.Hub(Path(folder), 8000, lan, told))
    monkeypatch.setattr(hubs.Hub, "start", lambda hub, password: None)
