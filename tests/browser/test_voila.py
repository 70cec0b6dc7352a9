"""The workbench and the lessons as pages of their own, served by voila, nothing fetched from outside."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import time
from urllib.error import URLError
from urllib.request import urlopen

import pytest
from playwright.sync_api import expect

from gearcalc.basics.files import data_folder, notebooks_folder
from gearcalc.lathes import demo_lathe
from tests import axe
from tests.browser.lab_page import screenshot_folder
from tests.browser.lab_server import end, environment, free_port
from tests.chromium import UNFOLD
from tests.notebooks import KERNEL, code, notebook
from tests.planted import RUNS

pytestmark = pytest.mark.browser

SECONDS_TO_START = 90
CELLS = re.compile(r"\bcells?\b|Shift ?\+ ?Enter|Run All", re.I)


@pytest.fixture(scope="module")
def address(chromium, checkout, tmp_path_factory):
    """Where voila serves the workbench and the lessons, with their template as an installed package has it."""
    tmp_path = tmp_path_factory.mktemp("voila")
    shutil.copytree(notebooks_folder(), tmp_path / "lessons")
    cell = code(f"from IPython.display import HTML\nHTML({RUNS!r} + '<p>so it is shown</p>')")
    planted = notebook([cell], **KERNEL, voila={"template": "gearcalc"})
    (tmp_path / "lessons" / "another.ipynb").write_text(json.dumps(planted), encoding="utf-8")
    shutil.copytree(data_folder() / "voila", tmp_path / "share" / "voila" / "templates" / "gearcalc")
    variables = environment(tmp_path, checkout) | {"JUPYTER_PATH": str(tmp_path / "share")}
    port = free_port()
    command = [sys.executable, "-m", "voila", "lessons", "--no-browser", f"--port={port}"]
    with (tmp_path / "voila.log").open("wb") as log:
        process = subprocess.Popen(
            command,
            env=variables,
            cwd=tmp_path,
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
        yield f"http://127.0.0.1:{port}/voila/render"
    finally:
        end(process)


@pytest.fixture
def workbench(chromium, address):
    """The workbench, which must log no error, and fetch nothing from outside, until it is closed."""
    page = chromium.new_page(viewport={"width": 800, "height": 2400})
    outside, problems = [], []
    page.on("request", lambda asked: asked.url.startswith(("http", "ws")) and outside.append(asked.url))
    page.on("console", lambda said: said.type == "error" and problems.append(f"{said.text} {said.location}"))
    page.on("pageerror", lambda problem: problems.append(str(problem)))
    try:
        page.goto(f"{address}/workbench.ipynb")
        expect(page.locator("section.gearcalc-explorer").last).to_be_visible(timeout=90_000)
        yield page
    finally:
        page.close()
    assert [url for url in outside if "//127.0.0.1:" not in url] == []
    theirs = re.compile(r"/voila/api/shutdown/|LicensesClient")  # Voila's own, when a page is left
    assert [one for one in problems if not theirs.search(one)] == []


def test_gears_typed_are_answered(workbench, tmp_path):
    bench = workbench.locator('section.gearcalc-explorer[aria-label="Bench"]')
    first = bench.locator(".gearcalc-table tbody tr").first
    for label, text in (("Your gears", "20 30 40 40 50 60 65 80"), ("Wanted", "13 tpi")):
        box = bench.get_by_label(label, exact=True)
        box.fill(text)
        box.press("Enter")
    for word in ("80/65", "exact", "yes"):
        expect(first).to_contain_text(word)
    expect(workbench.locator("body")).not_to_contain_text("import gearcalc")  # the code is not shown
    stills = workbench.locator(".gearcalc-still")
    assert stills.count() > 0
    for still in stills.all():
        expect(still).to_be_hidden()  # while its explorer lives
    workbench.screenshot(path=screenshot_folder(tmp_path) / "voila.png", full_page=True)


def test_axe_finds_nothing(workbench):
    workbench.evaluate(UNFOLD, "body")
    assert axe.found_on(workbench) == []


def leadscrew_on(page):
    bench = page.locator('section.gearcalc-explorer[aria-label="Bench"]')
    return bench.get_by_label("Leadscrew", exact=True)


def test_a_lathe_file_that_one_visitor_chooses_is_nobody_elses(workbench, address, chromium, tmp_path):
    (tmp_path / "in the corner.toml").write_text(demo_lathe("metric").to_toml(), encoding="utf-8")
    with workbench.expect_file_chooser() as asked:
        workbench.get_by_role("button", name="Choose your lathe file").click()
    asked.value.set_files(tmp_path / "in the corner.toml")
    expect(workbench.get_by_role("status").filter(has_text="on this page alone")).to_be_visible()
    expect(leadscrew_on(workbench)).to_have_value("3 mm")
    workbench.screenshot(path=screenshot_folder(tmp_path) / "voila-lathe-file.png")
    other = chromium.new_page()
    try:
        other.goto(f"{address}/workbench.ipynb")
        expect(leadscrew_on(other)).to_have_value("8 tpi", timeout=90_000)
    finally:
        other.close()


def test_a_link_opens_the_page_of_its_lesson_and_neither_speaks_of_cells(workbench, address, tmp_path):
    assert CELLS.findall(workbench.inner_text("body")) == []
    workbench.get_by_role("link", name="02", exact=True).first.click()
    workbench.wait_for_url(f"{address}/02_two_pairs.ipynb")
    forms = workbench.locator("section.gearcalc-asking", has_text="Which class number is yours?")
    expect(forms.first).to_be_visible(timeout=90_000)
    said = workbench.inner_text("body")
    assert "Check the first row with a pencil" in said
    assert CELLS.findall(said) == []
    assert workbench.get_by_text("In code", exact=True).count() == 0
    box = forms.first.get_by_label("Class number:")
    box.fill("12")
    box.press("Enter")
    expect(forms).to_have_count(0)  # the others have it at once
    workbench.screenshot(path=screenshot_folder(tmp_path) / "voila-lesson.png", full_page=True)


def test_what_got_into_an_output_does_not_run_and_asks_no_host(address, chromium):
    asked, dialogs = [], []
    with chromium.new_page() as page:
        page.route("http://planted.example/**", lambda one: (asked.append(one.request.url), one.abort()))
        page.on("dialog", lambda one: (dialogs.append(one.message), one.dismiss()))
        page.goto(f"{address}/another.ipynb")
        expect(page.get_by_text("so it is shown")).to_be_visible(timeout=90_000)
        page.wait_for_timeout(500)  # had it begun to run, it would have by then
        assert page.evaluate("window.planted") is None
        assert page.title() == "another"
        assert (asked, dialogs) == ([], [])
