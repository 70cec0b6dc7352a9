"""The workbench as a page of its own, served by voila: gears typed, an answer read, nothing fetched from outside."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from urllib.error import URLError
from urllib.request import urlopen

import pytest
from playwright.sync_api import expect

from gearcalc.basics.files import data_folder, notebooks_folder
from tests.browser.lab_page import screenshot_folder
from tests.browser.lab_server import end, environment, free_port

pytestmark = pytest.mark.browser

SECONDS_TO_START = 90


@pytest.fixture
def address(chromium, checkout, tmp_path):
    """Where voila serves the workbench, with the page's template as an installed package has it."""
    shutil.copytree(notebooks_folder(), tmp_path / "lessons")
    shutil.copytree(data_folder() / "voila", tmp_path / "share" / "voila" / "templates" / "gearcalc")
    variables = environment(tmp_path, checkout) | {"JUPYTER_PATH": str(tmp_path / "share")}
    port = free_port()
    command = [sys.executable, "-m", "voila", "workbench.ipynb", "--no-browser", f"--port={port}"]
    with (tmp_path / "voila.log").open("wb") as log:
        process = subprocess.Popen(
            command,
            env=variables,
            cwd=tmp_path / "lessons",
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=True,
        )
    try:
        deadline = time.monotonic() + SECONDS_TO_START
        while process.poll() is None and time.monotonic() < deadline:
            try:
                urlopen(f"http://127.0.0.1:{port}/voila/static/voila.js", timeout=5).close()
                break
            except URLError:
                time.sleep(0.3)
        else:
            pytest.fail((tmp_path / "voila.log").read_text(errors="replace")[-3000:])
        yield f"http://127.0.0.1:{port}/"
    finally:
        end(process)


def test_gears_typed_are_answered_and_nothing_is_fetched_from_outside(chromium, address, tmp_path):
    page = chromium.new_page(viewport={"width": 800, "height": 2400})
    outside, problems = [], []
    page.on("request", lambda asked: asked.url.startswith(("http", "ws")) and outside.append(asked.url))
    page.on("console", lambda said: said.type == "error" and problems.append(said.text))
    page.on("pageerror", lambda problem: problems.append(str(problem)))
    try:
        page.goto(address)
        bench = page.locator('section.gearcalc-explorer[aria-label="Bench"]')
        first = bench.locator(".gearcalc-table tbody tr").first
        expect(first).to_be_visible(timeout=60_000)
        box = bench.get_by_label("Your gears", exact=True)
        box.fill("20 30 40 40 50 60 65 80")
        box.press("Enter")
        box = bench.get_by_label("Wanted", exact=True)
        box.fill("13 tpi")
        box.press("Enter")
        for word in ("80/65", "exact", "yes"):
            expect(first).to_contain_text(word)
        expect(page.locator("body")).not_to_contain_text("import gearcalc")  # the code is not shown
        stills = page.locator(".gearcalc-still")
        assert stills.count() > 0
        for still in stills.all():
            expect(still).to_be_hidden()  # while its explorer lives
        page.screenshot(path=screenshot_folder(tmp_path) / "voila.png", full_page=True)
    finally:
        page.close()
    assert [url for url in outside if "//127.0.0.1:" not in url] == []
    assert problems == []
