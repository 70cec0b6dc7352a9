"""A lesson as a page to hand out, in a real Chromium: on a wall, by keyboard, on paper, and cut off from every host."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from shutil import which

import pytest

from gearcalc.papers.sheets import html_first
from gearcalc.teaching.handouts import as_handout
from gearcalc.teaching.page_printer import find_printer, print_page
from tests.browser.lab_page import screenshot_folder
from tests.browser.test_accessible import SILENT
from tests.chromium import UNFOLD
from tests.lessons.lesson_rules import MOST_CODE_COLUMNS, executed
from tests.notebooks import LESSONS, code, notebook, output, words

pytestmark = pytest.mark.browser

ALL_OF_THEM = {path.stem for path in LESSONS.values()}

# What reaches beyond the page, a formula's parts and what is folded away left out.
TOO_WIDE = """() => [...document.querySelectorAll("main *")].filter((one) => {
  const { width, left, right } = one.getBoundingClientRect();
  return width && !one.closest("math *, .wide *") && (left < -1 || right > document.documentElement.clientWidth + 1);
}).map((one) => one.outerHTML.slice(0, 120))"""
FRACTIONS = """() => [...document.querySelectorAll("math[display=block] mfrac, .formula-in-parts mfrac")]
  .filter((one) => one.checkVisibility())  // what is for paper alone has no place on the screen
  .map((one) => [...one.children].flatMap((part) => {
    const { top, bottom } = part.getBoundingClientRect();
    return [top, bottom];
  }))"""
FOLDED = """async () => {
  await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
  return [...document.querySelectorAll("details > :not(summary)")].filter((one) =>
    !one.checkVisibility({ contentVisibilityAuto: true }) &&
    !one.closest("figure > details, .gearcalc-again, .on-screen")).length;
}"""


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """The page of lesson 08, which has formulas, folds, explorers and wide tables."""
    lesson = LESSONS["08"]
    made = as_handout(lesson.stem, executed(lesson), ALL_OF_THEM, with_code=True)
    return made.save(tmp_path_factory.mktemp("handout") / "lesson.html")


@pytest.fixture
def shown(chromium, saved):
    """The page, and what it has asked for."""
    context = chromium.new_context(viewport={"width": 1366, "height": 768})
    page = context.new_page()
    asked, errors = [], []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    page.goto(saved.as_uri())
    yield page, asked, errors
    context.close()


def test_nothing_is_asked_of_any_host(shown, saved):
    page, asked, errors = shown
    page.wait_for_load_state("networkidle")
    assert {url for url in asked if not url.startswith("data:")} == {saved.as_uri()}
    assert errors == []


def test_the_page_itself_forbids_to_ask(shown):
    page, _, errors = shown
    page.evaluate("document.body.append(Object.assign(new Image(), { src: 'http://127.0.0.1:9/a.png' }))")
    page.wait_for_timeout(200)
    assert ["Content Security Policy" in said and "blocked" in said for said in errors] == [True]


def test_formulas_are_shown_by_the_browser(shown):
    page, *_ = shown
    page.evaluate(UNFOLD, "body")
    fractions = page.evaluate(FRACTIONS)
    assert len(fractions) > 3
    assert all(top < top_ends <= bottom + 1 < bottom_ends for top, top_ends, bottom, bottom_ends in fractions)


def test_folds_open_by_keyboard_and_what_is_in_them_is_there(shown):
    page, *_ = shown
    why = page.locator("summary", has_text="See why").first
    inside = why.locator("xpath=..").locator("p").first
    assert not inside.is_visible()
    why.focus()
    page.keyboard.press("Enter")
    assert inside.is_visible()


@pytest.mark.parametrize(
    ("wide", "high", "least_px"), [(1366, 768, 19), (1920, 1080, 24), (768, 1024, 16), (390, 844, 16)]
)
def test_stands_on_a_screen_in_letters_that_can_be_read(shown, tmp_path, wide, high, least_px):
    page, *_ = shown
    page.set_viewport_size({"width": wide, "height": high})
    assert page.locator("main p").first.evaluate("(one) => parseFloat(getComputedStyle(one).fontSize)") >= least_px
    assert page.evaluate(TOO_WIDE) == []
    page.screenshot(path=str(Path(screenshot_folder(tmp_path)) / f"handout-{wide}.png"))


@pytest.mark.parametrize("paper_mm", [210, 216])
def test_on_paper_nothing_is_cut_or_folded(shown, paper_mm):
    page, *_ = shown
    page.set_viewport_size({"width": int((paper_mm - 30) / 25.4 * 96), "height": 1000})  # within margins of 15 mm
    assert page.evaluate(FOLDED) > 3
    page.emulate_media(media="print")
    assert page.evaluate(FOLDED) == 0
    assert page.evaluate(TOO_WIDE) == []


def test_a_line_of_code_stands_whole_on_paper(shown):
    page, _, _ = shown
    page.emulate_media(media="print")
    page.set_viewport_size({"width": round((210 - 2 * 15) * 96 / 25.4), "height": 900})
    high = page.locator(".highlight pre").first.evaluate(
        "(it, most) => ['x', 'x'.repeat(most)].map((line) => { it.textContent = line; return it.offsetHeight; })",
        MOST_CODE_COLUMNS,
    )
    assert high[0] == high[1]


def test_on_paper_a_guess_is_taken_up_at_the_end_alone(shown):
    page, *_ = shown
    there = "(named) => [...document.querySelectorAll(named)].map((one) => one.checkVisibility())"
    kinds = (".on-screen", "p.on-paper", ".at-the-end")
    assert [set(page.evaluate(there, kind)) for kind in kinds] == [{True}, {False}, {False}]
    page.emulate_media(media="print")
    assert [set(page.evaluate(there, kind)) for kind in kinds] == [{False}, {True}, {True}]
    said = page.inner_text("main")
    assert said.rfind("at the end, number 1") < said.find("Your guesses, taken up") < said.find("The answer is")


def test_on_a_small_screen_words_of_a_table_stay_whole_and_formulas_have_no_arrows(shown):
    page, *_ = shown
    page.set_viewport_size({"width": 390, "height": 844})
    page.evaluate(UNFOLD, "body")
    kinds = page.evaluate(
        "() => [...document.querySelectorAll('th, td')].map((one) => getComputedStyle(one).overflowWrap)"
    )
    assert set(kinds) == {"normal"}
    cut = """() => [...document.querySelectorAll("math[display=block], .wide")].filter((one) =>
      getComputedStyle(one).overflowY !== "hidden" && one.scrollHeight > one.clientHeight).length"""
    assert page.evaluate(cut) == 0


@pytest.mark.skipif(not which("pdftotext"), reason="no pdftotext to read the pages by")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_what_leads_in_stands_on_the_page_of_what_it_leads_to(tmp_path, paper):
    """Pairs parted by more and more lines, so that some would fall on the foot of a page."""
    cells = [words("# A")]
    for place in range(1, 41):
        lines = "\n\n".join(["A line."] * (place % 7))
        table = f"\n\nSee {place}:\n\n| here {place}. | b |\n|---|---|\n| 1 | 2 |" if place % 2 else ""
        cells.append(words(f"{lines}{table}\n\n**Do** {place}:"))
        still = f"<div class='gearcalc-still'><p>Box {place}.</p><p>So.</p></div>"
        cells.append(code("1", outputs=[output("display_data", {"text/html": still})]))
    page = as_handout("a", notebook(cells), (), with_code=False, paper=paper).html
    printed = print_page(page, tmp_path / "a.pdf", find_printer())
    text = subprocess.run(["pdftotext", "-layout", printed, "-"], capture_output=True, text=True, check=True).stdout
    pages = text.split("\f")[:-1]
    assert len(pages) > 3
    for place in range(1, 41):
        for leads, to in ((f"Do {place}:", f"Box {place}."), (f"See {place}:", f"here {place}.")):
            assert [leads in page for page in pages] == [to in page for page in pages], leads


@pytest.mark.skipif(not which("pdftotext"), reason="no pdftotext to read the pages by")
def test_what_belongs_together_stands_on_one_page(tmp_path):
    """A heading with its picture, cautions in their box, the first and last two of a list or a table, a formula."""
    bar = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 40'><text x='9' y='20'>Bar {}.</text></svg>"
    cells, together = [words("# A")], []
    for place in range(1, 66):
        lines = "\n\n".join(["A line."] * (place * 5 % 13))
        kind = place % 5
        if kind == 0:
            cells.append(words(f"{lines}\n\n## Head {place}.\n\nSee {place}.\n\n**Try** {place}."))
            still = f"<div class='gearcalc-still'><figure>{bar.format(place)}</figure><p>So.</p></div>"
            cells.append(code("1", outputs=[output("display_data", {"text/html": still})]))
            together += [(f"Head {place}.", f"Bar {place}."), (f"See {place}.", f"Bar {place}.")]
        elif kind == 1:
            box = html_first([f"Mind {place} {each}." for each in "abcdef"])
            boxed = {"text/html": f"<p>A</p>{box}<p>B</p>"}
            cells += [words(lines), code("1", outputs=[output("display_data", boxed)])]
            together.append((f"Mind {place} a.", f"Mind {place} f."))
        elif kind == 2:
            points = "\n".join(f"- Point {place} {each}." for each in "abcd")
            cells.append(words(f"{lines}\n\n{points}\n\nA line."))
            together += [(f"Point {place} a.", f"Point {place} b."), (f"Point {place} c.", f"Point {place} d.")]
        elif kind == 3:
            rows = "\n".join(f"| Row {place} {each}. | 1 |" for each in "abcdefghijkl")
            cells.append(words(f"{lines}\n\n| a | b |\n|---|---|\n{rows}"))
            together += [(f"Row {place} a.", f"Row {place} b."), (f"Row {place} k.", f"Row {place} l.")]
        else:
            cells.append(words(f"{lines}\n\nSolve {place}:\n\n$$ {1000 + place} + 1 $$\n\nA line."))
            together.append((f"Solve {place}:", str(1000 + place)))
    page = as_handout("a", notebook(cells), (), with_code=False).html
    printed = print_page(page, tmp_path / "a.pdf", find_printer())
    text = subprocess.run(["pdftotext", "-layout", printed, "-"], capture_output=True, text=True, check=True).stdout
    pages = text.split("\f")[:-1]
    assert len(pages) > 8
    apart = [(one, other) for one, other in together if [one in p for p in pages] != [other in p for p in pages]]
    assert apart == []


def test_says_all_in_words(shown):
    page, *_ = shown
    page.evaluate(UNFOLD, "body")
    assert page.evaluate(SILENT, "body") == []


def test_the_pdf_is_tagged_and_says_title_and_language(saved, tmp_path):
    printed = print_page(saved.read_text("utf-8"), tmp_path / "lesson.pdf", find_printer()).read_bytes()
    assert re.search(rb"/MarkInfo\s*<<[^>]*/Marked true", printed)
    assert b"/StructTreeRoot" in printed
    assert re.search(rb"/Lang\s*\(en\)", printed)
    assert re.search(rb"/Title\s*[(<]", printed)
    assert b"file:" not in printed
    assert ".html" in saved.read_text("utf-8")
    assert 4 < len(re.findall(rb"/Type\s*/Page\b", printed)) < 20
    assert list(tmp_path.iterdir()) == [tmp_path / "lesson.pdf"]
