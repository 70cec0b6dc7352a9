"""Every page that we write or serve says what it may load; what is planted in one neither runs nor asks another host.

The markup stands in each page as it is, as if escaping had failed.
"""

from __future__ import annotations

import tarfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import metadata
from pathlib import Path
from typing import Any

import pytest

import gearcalc as gc
from gearcalc.basics.files import data_folder
from gearcalc.papers.marks import Words, pages_html
from gearcalc.serving import class_page, servers
from gearcalc.serving.lessons_in_a_site import SiteLesson
from gearcalc.serving.lite import APPS
from gearcalc.serving.pages import first_page, with_our_head
from gearcalc.teaching.handouts import as_handout
from gearcalc.teaching.marks import class_marks
from gearcalc.teaching.marks_page import marks_page
from tests.notebooks import notebook, words
from tests.planted import PRINTABLE, RUNS
from tests.properties.test_escaping import LATHE, SETUP, lathe_full_of
from tests.teaching.invented_class import answers, write

pytestmark = pytest.mark.browser
ADDRESS = "http://pages.test/a/"
LESSON = SiteLesson("01_one_turn.ipynb", "01 · One turn", "20 minutes", "", "")


def of_jupyterlite(app: str) -> str:
    """A page as JupyterLite's own build has it, with our head."""
    packed = next(path for path in metadata.files("jupyterlite-core") or () if path.suffix == ".tgz")
    with tarfile.open(Path(str(packed.locate()))) as opened:
        page = opened.extractfile(f"package/{app}/index.html")
        assert page is not None
        return with_our_head(page.read().decode(), "../")


def of_marks(folder: Path) -> str:
    write(folder / "class" / "answers-1.json", answers(1, "Ada", {}))
    return marks_page(class_marks(folder / "class"))


PAGES: dict[str, Callable[[Path], str]] = {
    "gearcalc/teaching/marks_page.py": of_marks,
    "gearcalc/serving/servers.py": lambda _: servers.page_of_nothing("There is nothing here"),
    "gearcalc/serving/class_page.py": lambda _: class_page.class_page(["http://192.168.1.20:8000/"]),
    "gearcalc/papers/sheets.py": lambda _: gc.fault_finder().page,
    "gearcalc/papers/marks.py": lambda _: pages_html([[Words("40", 20, 30, 10)]], (210, 297), "Gears"),
    "data/web/index.html": lambda _: first_page([LESSON], 20),
    "data/handout/index.html.j2": lambda _: as_handout("a", notebook([words("# A")]), (), with_code=False).html,
    **{f"JupyterLite: {app}": lambda _, app=app: of_jupyterlite(app) for app in APPS},
}
"""By the file that writes it."""
ELSEWHERE = {
    "data/voila/index.html.j2": "tests/browser/test_voila.py",
    "the hub's own pages": "tests/serving/test_hubs.py",
}
"""Pages of others' making, with our settings, looked at where they are served."""


def files_that_write_pages(checkout: Path) -> Iterator[str]:
    for top in ("gearcalc", "data"):
        for path in sorted((checkout / top).rglob("*")):
            if path.suffix in (".py", ".html", ".j2") and "html lang=" in path.read_text("utf-8").lower():
                yield path.relative_to(checkout).as_posix()


def test_the_table_is_of_all_that_write_a_page(checkout):
    assert set(files_that_write_pages(checkout)) == {name for name in PAGES if name.startswith(("gearcalc", "data"))}
    assert (data_folder() / "voila" / "index.html.j2").is_file()
    for name, tested in ELSEWHERE.items():
        assert "from tests.planted import RUNS" in (checkout / tested).read_text("utf-8"), name


@contextmanager
def served_alone(chromium: Any, body: str) -> Iterator[tuple[Any, list[str], list[str]]]:
    """A page that has had the time to begin, what it has asked for besides, and what it said in dialogs."""
    asked: list[str] = []
    dialogs: list[str] = []
    with chromium.new_page() as page:
        page.route("**/*", lambda one: (asked.append(one.request.url), one.fulfill(status=404)))
        page.route(ADDRESS, lambda one: one.fulfill(body=body, content_type="text/html; charset=utf-8"))
        page.on("dialog", lambda one: (dialogs.append(one.message), one.dismiss()))
        page.goto(ADDRESS)
        page.wait_for_timeout(300)
        yield page, asked, dialogs


@pytest.mark.parametrize("name", PAGES)
def test_what_is_planted_does_not_run(chromium, tmp_path, name):
    made = PAGES[name](tmp_path)
    assert made.count("Content-Security-Policy") == 1
    assert made.index("Content-Security-Policy") < (made + "<script").index("<script"), (
        "before what it is to keep in check"
    )
    at = made.rindex("</body>") if "</body>" in made else made.rindex("</html>")
    title = made.partition("<title>")[2].partition("</title>")[0]
    with served_alone(chromium, f"{made[:at]}{RUNS}{made[at:]}") as (page, asked, dialogs):
        assert page.locator("details", has_text="planted").count() == 1, "it is there"
        assert page.evaluate("window.planted") is None
        assert page.title() == title
        assert [url for url in asked if not url.startswith("http://pages.test/")] == []
        assert page.evaluate("document.baseURI") == ADDRESS
        assert dialogs == []


def test_it_would_be_noticed(chromium):
    """The same markup where there is no policy."""
    with served_alone(chromium, f"<title>A</title>{RUNS}") as (page, asked, dialogs):
        assert page.evaluate("window.planted")
        assert page.title() == "planted"
        assert dialogs == ["planted"]
        assert {"http://planted.example/1", "http://planted.example/2"} <= set(asked)


def test_names_full_of_it_run_nowhere_in_what_a_notebook_shows(chromium):
    """All of it on one page that has no policy, so that only the escaping keeps it from running."""
    shown = []
    for text in PRINTABLE.values():
        lathe = lathe_full_of(f"{text[:60]}{RUNS[-35:]}")
        made = gc.find_setups(lathe, "16 tpi", count=1)[0]
        things = [*(make(lathe) for make in LATHE.values()), *(make(made) for make in SETUP.values())]
        shown += [page for thing in things if (page := getattr(thing, "_repr_html_", lambda: None)())]
        shown += [thing.svg for thing in things if isinstance(getattr(thing, "svg", None), str)]
    assert len(shown) > 60
    acts = "script, iframe, object, embed, form, base, link, [onload], [onerror], planted"
    with served_alone(chromium, f"<title>A</title>{''.join(shown)}") as (page, asked, dialogs):
        assert page.locator("body").inner_text().count("planted") > 60, "it is shown as it was typed"
        assert page.evaluate("window.planted") is None
        assert page.title() == "A"
        assert [url for url in asked if url != ADDRESS and "favicon" not in url] == []
        assert page.locator(acts).count() == 0
        assert dialogs == []
