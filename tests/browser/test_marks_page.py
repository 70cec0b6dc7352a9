"""The page of marks in a real Chromium: it asks no host for anything, stays in the window, and has words for all."""

from __future__ import annotations

import re

import pytest

from gearcalc import exercise_names
from gearcalc.teaching.marks import class_marks
from gearcalc.teaching.marks_page import save_marks
from tests import axe
from tests.browser.lab_page import screenshot_folder
from tests.browser.test_accessible import SILENT
from tests.chromium import UNFOLD
from tests.how_much import in_one
from tests.teaching.invented_class import NONSENSE, answers, go, hand_in, write

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    for week, seed in (("2026-11-16", 1), ("2026-11-23", 2)):
        hand_in(folder / "in" / week, range(1, 25), (*exercise_names(1), *exercise_names(3)), seed)
    (folder / "in" / "answers-broken.json").write_text("{")
    return save_marks(class_marks(folder / "in"), folder / "marks.html")


def opened(chromium, saved, width=1366):
    page = chromium.new_context(viewport={"width": width, "height": 768}).new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(saved.as_uri())
    page.evaluate(UNFOLD, "body")
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


LONG, ARABIC, HEBREW = "Wolfe" * 13, "محمد عبد الرحمن", "דוד כהן"
WITHIN_CELLS = """() => [...document.querySelectorAll("th, td")].filter((one) => one.scrollWidth > one.clientWidth + 1)
  .map((one) => one.textContent)"""
BEHIND = """([name, number]) => {
  const texts = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  const found = [];
  while (texts.nextNode()) {
    const { data } = texts.currentNode;
    const box = (from, to) => {
      const range = document.createRange();
      range.setStart(texts.currentNode, from);
      range.setEnd(texts.currentNode, to);
      return range.getBoundingClientRect();
    };
    const at = data.indexOf(name), sign = data.indexOf(`(${number})`);
    if (at < 0 || sign < at) continue;
    const [whole, first, bracket] = [box(at, at + name.length), box(at, at + 1), box(sign, sign + 1)];
    if (whole.height === bracket.height && whole.top === bracket.top)
      found.push([first.right >= whole.right - 1, bracket.left >= whole.right - 1]);
  }
  return found;
}"""


@pytest.fixture(scope="module")
def with_names(tmp_path_factory):
    """The page of a class of four whose names, invented, are long or run from right to left."""
    folder = tmp_path_factory.mktemp("names")
    named = dict(enumerate((LONG, ARABIC, HEBREW, "Ada Thorn"), 1))
    for number, name in named.items():
        answer = {"lead-of-a-leadscrew": [go(number, NONSENSE)]}
        write(folder / "in" / str(number) / "answers.json", answers(number, name, answer))
    return save_marks(class_marks(folder / "in"), folder / "marks.html")


@pytest.mark.parametrize("width", [768, 1366])
def test_a_long_name_stays_in_its_cell(chromium, with_names, width):
    page, _ = opened(chromium, with_names, width)
    assert LONG in page.inner_text("main")
    assert page.evaluate(WITHIN_CELLS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.context.close()


@in_one("number", [2, 3])
def test_a_number_stands_behind_a_name_that_runs_leftwards(chromium, with_names, number):
    page, _ = opened(chromium, with_names)
    found = page.evaluate(BEHIND, [{2: ARABIC, 3: HEBREW}[number], number])
    page.context.close()
    assert found
    assert {tuple(each) for each in found} == {(True, True)}


def test_axe_finds_nothing(chromium, saved):
    page, _ = opened(chromium, saved)
    assert axe.found_on(page) == []
    page.context.close()


def test_on_paper_it_fills_its_sheets(chromium, saved):
    page, _ = opened(chromium, saved)
    sheets = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", page.pdf(prefer_css_page_size=True))
    page.context.close()
    lying = [float(wide) > float(high) for wide, high in sheets]
    assert lying == sorted(lying)  # what is read stands upright, and behind it lie the wide tables, one after the other
    assert 4 <= lying.count(False) <= 5  # as the browser and its letters run
    assert 2 <= lying.count(True) <= 3
