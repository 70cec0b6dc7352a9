"""The page of a class in a real Chromium: it asks no host for anything, stays in the window, and has words for all."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gearcalc import exercise_names
from gearcalc.teaching.marks import class_marks
from gearcalc.teaching.marks_page import save_marks
from tests.browser.lab_page import screenshot_folder
from tests.browser.test_accessible import ASK_AXE, AXE, SILENT
from tests.teaching.invented_class import hand_in

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    for week, seed in (("2026-11-16", 1), ("2026-11-23", 2)):
        hand_in(folder / "in" / week, range(1, 25), (*exercise_names(1), *exercise_names(3)), seed)
    (folder / "in" / "answers-broken.json").write_text("{")
    return save_marks(class_marks(folder / "in"), folder / "marks.html")


def opened(chromium, saved, width=1366, **more):
    page = chromium.new_context(viewport={"width": width, "height": 768}, **more).new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(saved.as_uri())
    page.evaluate("for (const folded of document.querySelectorAll('details')) folded.open = true")
    return page, asked


def test_it_asks_no_host_and_everything_has_words(chromium, saved):
    page, asked = opened(chromium, saved)
    page.wait_for_load_state("networkidle")
    assert {url for url in asked if not url.startswith("data:")} == {saved.as_uri()}
    assert page.evaluate(SILENT, "html") == []
    page.screenshot(path=screenshot_folder(saved.parent) / "class-page.png", full_page=True)
    page.context.close()


@pytest.mark.parametrize("width", [1024, 1366, 1920])
def test_nothing_reaches_beyond_the_window(chromium, saved, width):
    page, _ = opened(chromium, saved, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.context.close()


@pytest.mark.skipif(not AXE, reason="axe-core was not asked: name its axe.min.js in GEARCALC_AXE")
def test_axe_finds_nothing(chromium, saved):
    page, _ = opened(chromium, saved, bypass_csp=True)
    page.evaluate(Path(AXE).read_text(encoding="utf-8"))
    looked_at, violations = page.evaluate(ASK_AXE, "html")
    page.context.close()
    assert looked_at > 20
    assert violations == []


def test_on_paper_it_fills_its_sheets(chromium, saved):
    page, _ = opened(chromium, saved)
    sheets = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", page.pdf(prefer_css_page_size=True))
    page.context.close()
    lying = [float(wide) > float(high) for wide, high in sheets]
    assert lying == sorted(lying)  # what is read stands upright, and behind it lie the wide tables, one after the other
    assert (lying.count(False), lying.count(True)) == (4, 3)
