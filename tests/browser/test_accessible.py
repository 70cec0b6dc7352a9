"""Every lesson and page, run in a real browser: what its outputs say to those who don't see or don't use a mouse.

Our own check comes first; axe-core is asked after it, here and where other tests have a page open: `ASKED_AT`.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import gearcalc as gc
from gearcalc.basics.files import notebooks_folder
from gearcalc.serving.class_page import class_page
from gearcalc.serving.lessons_in_a_site import lesson_for_site
from gearcalc.serving.pages import first_page
from gearcalc.serving.servers import page_of_nothing
from gearcalc.teaching.lesson_runs import all_lessons
from tests import axe, notebooks
from tests.browser.test_content_policy import files_that_write_pages
from tests.chromium import UNFOLD
from tests.how_much import THOROUGH, exercise

pytestmark = pytest.mark.browser
HERE = Path(__file__).parent
INCH = gc.demo_lathe("inch")

PAGES = sorted(path.name for path in notebooks_folder().glob("*.ipynb"))
OUTPUTS = ".jp-OutputArea-output"
OURS = f"{OUTPUTS}, .jp-MarkdownOutput"
"""What a lesson shows; JupyterLab around it has faults of its own."""

# Cells out of sight are not laid out until they are scrolled to, and what is not laid out is not looked at.
SHOW_ALL = "* { content-visibility: visible !important; }"

SILENT = """(outputs) => {
  const text = (id) => document.getElementById(id)?.textContent ?? "";
  const said = (element) => [
    element.getAttribute("aria-label") ?? "",
    ...(element.getAttribute("aria-labelledby") ?? "").split(" ").map(text),
    ...(element.matches("svg") ? [element.querySelector(":scope > title")?.textContent ?? ""] : []),
    ...[...(element.labels ?? [])].map((label) => label.textContent),
  ].join("").trim();
  const faults = new Set();
  const find = (output, selector, what, isFault) => {
    for (const element of output.querySelectorAll(selector)) {
      if (isFault(element)) faults.add(`${what}: ${element.outerHTML.slice(0, 160)}`);
    }
  };
  const within = (element) => element.parentElement.closest("svg, [aria-hidden='true'], button");
  const twice = (element) => document.querySelectorAll(`[id="${CSS.escape(element.id)}"]`).length > 1;
  for (const output of document.querySelectorAll(outputs)) {
    find(output, "img", "a picture without alt", (image) => !image.alt.trim());
    find(output, "svg:not([aria-hidden='true'])", "an svg without a name", (svg) => !within(svg) && !said(svg));
    find(output, "input:not([type=hidden]), select, textarea", "a control without a name", (box) => !said(box));
    find(output, "button, summary, a[href]", "a button without a name",
      (button) => !said(button) && !button.textContent.trim() && !button.title);
    find(output, "th", "an empty heading", (heading) => !heading.textContent.trim());
    find(output, "[tabindex]", "a place of its own in the order of Tab", (element) => element.tabIndex > 0);
    find(output, "[id]", "an id that is there twice", twice);
  }
  return [...faults];
}"""


each_page = pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.opens(name), id=name.removesuffix(".ipynb")) for name in PAGES]
)


def all_shown(lesson):
    """The page of a lesson with everything in sight that it has put out."""
    lesson.page.add_style_tag(content=SHOW_ALL)
    lesson.page.evaluate(UNFOLD, OUTPUTS)
    assert lesson.page.locator(OUTPUTS).count() > 0
    return lesson.page


@each_page
def test_everything_shown_has_words(lesson, name):
    faults = all_shown(lesson).evaluate(SILENT, OUTPUTS)
    assert not faults, "\n".join(faults)


@each_page
def test_axe_finds_nothing_in_either_theme(lesson, name):
    faults = axe.found_in_both_themes(all_shown(lesson), OURS)
    assert not faults, "\n".join(faults)


def one_of_each_kind():
    """Exercises, one for each kind of answer with and without a table; all of them where all is asked."""
    kinds = {}
    for name in gc.exercise_names():
        task = exercise(name, 12).task
        kinds.setdefault(name if THOROUGH else (type(task.answer), task.table is None), name)
    return list(kinds.values())


def answered(name):
    """An answer that is right, and one that is not."""
    q = exercise(name, 12)
    others = [option for option in q.task.answer.options if option != q.key]
    return q.key, (others or ["987654.321"])[0]


FORMS = """for name, right, wrong in posed:
    form = gc.exercise(name, class_number=12).form()
    display(form)
"""
USES = (
    "",
    "    form.type('answer', wrong)\n    for _ in range(3): form.press('hint')",
    "    form.type('answer', right)\n    form.press('solution')",
)


def test_axe_finds_nothing_in_a_form_whatever_its_state(lab, run_once):
    """Not answered; answered, not right, with all its hints; answered, right, with its solution."""
    names = one_of_each_kind()
    assert len(names) > 12
    (lab.folder / "states").mkdir()
    begin = f"import gearcalc as gc\nposed = {[(name, *answered(name)) for name in names]}"
    notebooks.write((begin, *(FORMS + use for use in USES)), lab.folder / "states" / "states.ipynb")
    shown = run_once("states/states.ipynb")
    page = all_shown(shown)
    said = page.locator("section.gearcalc-asking").all_text_contents()
    assert len(said) == 3 * len(names)
    shows = [
        [sign in words for words in said].count(True)
        for sign in ("Not right.", "Hint 1 of", "Right.", "Worked solution")
    ]
    assert 3 < shows[0] <= len(names)  # the others can't even read what is no answer at all
    assert shows[1:] == 3 * [len(names)]
    assert axe.found_in_both_themes(page, OUTPUTS) == []


SITE_LESSONS = [lesson_for_site(path, {other.name for other in all_lessons()}) for path in all_lessons()]
NOW, THEN = gc.setup(INCH, 40, 80, "middle", 25), gc.setup(INCH, 40, 60, "middle", 25, wanted="12 tpi")
OF_OURS = {
    "a card": lambda: gc.change_card(INCH, to=THEN, mounted=NOW).page,
    "the fault-finder": lambda: gc.fault_finder().page,
    "a plate for the wall": lambda: gc.wall_plate(INCH, ["8 tpi", "12 tpi", "M8"]).paper.html(),
    "the board": lambda: class_page(["http://192.168.1.20:8000/", "http://10.0.0.9:8000/"]),
    "the first page of a site": lambda: first_page(SITE_LESSONS, 20.0),
    "a page that is not there": lambda: page_of_nothing("Not Found"),
}
"""Pages that are wholly ours, and open in a moment."""
ASKED_AT = {
    "gearcalc/papers/marks.py": "test_accessible.py",
    "gearcalc/papers/sheets.py": "test_accessible.py",
    "gearcalc/serving/class_page.py": "test_accessible.py",
    "gearcalc/serving/servers.py": "test_accessible.py",
    "gearcalc/teaching/marks_page.py": "test_marks_page.py",
    "data/handout/index.html.j2": "../lessons/test_lessons_run.py",
    "data/voila/index.html.j2": "test_voila.py",
    "data/web/index.html": "test_accessible.py",
}
"""Each file that makes a whole page, and the test by which axe looks at it."""


def test_every_page_that_is_made_is_asked_about(checkout):
    assert {*files_that_write_pages(checkout), "data/voila/index.html.j2"} == set(ASKED_AT)
    assert [test for test in ASKED_AT.values() if "axe.found_" not in (HERE / test).read_text("utf-8")] == []


@pytest.mark.parametrize("name", OF_OURS)
def test_axe_finds_nothing_on_a_page_of_ours(chromium, name):
    with chromium.new_page(viewport={"width": 1366, "height": 768}) as page:
        page.set_content(OF_OURS[name]())
        assert axe.found_on(page) == []
        assert page.evaluate(SILENT, "html") == []


class TestAxeCoreItself:
    def test_what_is_not_the_package_that_is_pinned_is_not_asked(self, tmp_path):
        (tmp_path / f"axe-core-{axe.VERSION}.tgz").write_bytes(b"another")
        with pytest.raises(AssertionError, match="is not what the registry of npm has"):
            axe.kept_in(tmp_path)

    def test_where_npm_is_missing_a_line_says_so_that_fails_the_run(self, chromium, checkout, monkeypatch, tmp_path):
        for name, value in (("GEARCALC_AXE", ""), ("XDG_CACHE_HOME", str(tmp_path)), ("PATH", str(tmp_path))):
            monkeypatch.setenv(name, value)
        page = chromium.new_page()
        axe._source.cache_clear()
        try:
            with pytest.raises(pytest.skip.Exception) as skipped:
                axe.found_on(page)
        finally:
            axe._source.cache_clear()
            page.close()
        (fails,) = re.findall(r"grep -qE '(.+?)'", (checkout / ".ci" / "run").read_text("utf-8"))
        assert re.search(fails, str(skipped.value))


AT_TWICE = """() => ({
  wide: document.documentElement.scrollWidth,
  least: Math.min(...[...document.querySelectorAll("h1, h2, p, li, td")].map(
    (one) => parseFloat(getComputedStyle(one).fontSize))),
})"""


@pytest.mark.parametrize("name", [name for name in OF_OURS if name != "a plate for the wall"])  # a sheet, as on paper
def test_at_twice_its_size_all_is_within_the_window_and_letters_have_grown(chromium, name):
    """WCAG 1.4.4: a window of 1366 × 768 at 200 % has room for half as many pixels of a page."""
    with chromium.new_page(viewport={"width": 683, "height": 384}) as page:
        page.set_content(OF_OURS[name]())
        at_twice = page.evaluate(AT_TWICE)
    assert at_twice["wide"] <= 683
    assert at_twice["least"] >= 13, "26 on the screen"


def test_axe_finds_the_faults_that_are_there(chromium):
    """In each of the parts that it is asked about, and in no other."""
    with chromium.new_page() as page:
        pale = "<p style='color: #bbb; background: white'>Pale.</p>"
        page.set_content(f"<i>{pale}</i><div class='jp-OutputArea-output'><img src='data:,'></div>")
        assert [found.split(":")[0] for found in axe.found_on(page, OURS)] == ["image-alt"]
        page.set_content(f"<img src='data:,'><div class='jp-MarkdownOutput'>{pale}</div>")
        assert [found.split(":")[0] for found in axe.found_on(page, OURS)] == ["color-contrast"]
        assert {"html-has-lang", "document-title"} < {found.split(":")[0] for found in axe.found_on(page)}


SCROLLED = """<!DOCTYPE html><style>body { overflow: hidden; } div { margin-top: 3000px; }
  main { position: absolute; inset: 0; height: 100vh; overflow: auto; background: white; }
  </style><main><div>%s</div></main>"""


def test_axe_looks_at_what_must_be_scrolled_to_and_what_it_passes_over_counts_as_found(chromium):
    """Laid out as a notebook in JupyterLab: all of it runs over a body that has no height."""
    with chromium.new_page(viewport={"width": 800, "height": 600}) as page:
        page.set_content(SCROLLED % "<p style='color: #bbb'>Pale.</p>")
        page.evaluate("document.querySelector('main').scrollTop = 9999")
        (passed_over,) = axe._found(page, "", axe.COLOURS)
        assert passed_over.startswith("color-contrast: passed over 1 of 1: <p style")
        (pale,) = axe.found_on(page, "div", axe.COLOURS)
        assert "insufficient color contrast" in pale
        assert page.viewport_size == {"width": 800, "height": 600}
        page.set_content(SCROLLED % "<p style='color: #fff'>White on white.</p>")
        (white,) = axe.found_on(page, "div", axe.COLOURS)
        assert "1:1 contrast" in white
        page.set_content(SCROLLED % "<p>Dark.</p>")
        assert axe.found_on(page, "div", axe.COLOURS) == []


@pytest.mark.parametrize(
    ("fault", "html"),
    [
        ("a picture without alt", "<img src='data:,'>"),
        ("an svg without a name", "<svg><desc>A gear.</desc></svg>"),
        ("a control without a name", "<label>Teeth</label><input>"),
        ("a button without a name", "<button><svg aria-hidden='true'></svg></button>"),
        ("an empty heading", "<table><tr><th></th><th>teeth</th></tr></table>"),
        ("a place of its own in the order of Tab", "<p tabindex='3'>Words.</p>"),
        ("an id that is there twice", "<p id='one'>Words.</p><p id='one'>More.</p>"),
        ("", "<img alt='A gear.' src='data:,'><svg><title>A gear</title></svg><label>Teeth <input></label>"),
    ],
)
def test_finds_the_fault_that_is_there(chromium, fault, html):
    with chromium.new_page() as page:
        page.set_content(f"<div class='jp-OutputArea-output'>{html}</div>")
        assert {found.split(":")[0] for found in page.evaluate(SILENT, OUTPUTS)} == ({fault} if fault else set())
