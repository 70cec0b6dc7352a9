"""An explorer's cell in a real browser: it lives, is opened again without its kernel, is exported, is not trusted."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.lab_page import open_in_lab

pytestmark = pytest.mark.browser

NAME, NOT_TRUSTED = "one_cell.ipynb", "of_someone_else.ipynb"
SAVE = "async () => { await window.jupyterapp.commands.execute('docmanager:save'); }"
LIVING, STILL, LOST = ".gearcalc-explorer", ".gearcalc-still", "text=model not found"


@pytest.fixture(scope="module")
def saved(chromium, lab, tmp_path_factory):
    """A notebook that was run, looked at while it lived, and saved."""
    code = "from gearcalc.learning.explorers import limit_on_teeth\nlimit_on_teeth()"
    cell = {"cell_type": "code", "source": code, "metadata": {}, "outputs": [], "execution_count": None}
    notebook = {"cells": [cell], "metadata": {}, "nbformat": 4, "nbformat_minor": 4}
    notebook["metadata"] = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    (lab.folder / NAME).write_text(json.dumps(notebook))
    page = open_in_lab(chromium, lab, NAME, tmp_path_factory.mktemp("live"))
    page.run_all()
    try:
        expect(page.page.locator(LIVING)).to_be_visible()
        expect(page.page.locator(STILL)).to_be_hidden()
        page.page.evaluate(SAVE)
    finally:
        page.close()
    return lab.folder / NAME


def only_the_still_is_seen(page):
    expect(page.locator(STILL)).to_be_visible()
    expect(page.locator(f"{STILL} img")).to_be_visible()
    expect(page.locator(STILL)).to_contain_text("run the cells from the top")
    for gone in (LIVING, LOST):
        expect(page.locator(gone)).to_be_hidden()


def test_opened_again_without_its_kernel(chromium, lab, saved, tmp_path):
    page = open_in_lab(chromium, lab, saved.name, tmp_path)
    try:
        only_the_still_is_seen(page.page)
    finally:
        page.close()


def test_not_trusted(chromium, lab, saved, tmp_path):
    changed = saved.read_text().replace("<figcaption>", "<figcaption>Changed: ")  # no signature fits it any more
    (lab.folder / NOT_TRUSTED).write_text(changed)
    page = open_in_lab(chromium, lab, NOT_TRUSTED, tmp_path)
    try:
        expect(page.page.locator("img").last).to_be_visible()
        said = page.page.locator(".jp-OutputArea").text_content()
        assert "run the cells from the top" in said
        assert "Error" not in said
        assert "Explorer(" not in said
    finally:
        page.close()


@pytest.mark.parametrize("template", ["lab", "classic", "basic"])
def test_exported_and_printed(chromium, saved, tmp_path, template):
    exporters = pytest.importorskip("nbconvert")
    html, _ = exporters.HTMLExporter(template_name=template).from_filename(saved)
    Path(tmp_path / "export.html").write_text(html, encoding="utf-8")
    page = chromium.new_page()
    try:
        page.goto((tmp_path / "export.html").as_uri())
        only_the_still_is_seen(page)
        page.emulate_media(media="print")
        only_the_still_is_seen(page)
    finally:
        page.close()
