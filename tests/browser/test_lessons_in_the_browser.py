"""A folder of files teaches: lessons run in the browser, ask nothing of any other host, and lead to each other."""

from __future__ import annotations

import json
import os
import re
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import expect

from gearcalc.serving.lessons_in_a_site import print_of
from gearcalc.teaching.lesson_runs import all_lessons
from tests import axe
from tests.browser.lite_site import listened_to, served
from tests.how_much import THOROUGH

pytestmark = pytest.mark.browser
LESSONS = [path.name for path in all_lessons()]
EACH_KIND = [name for name in LESSONS if name.startswith(("01_", "05_", "12_"))]  # pictures; tables; papers, own lathe
SAVED = """async ([index, source]) => {
  const { context, content } = window.jupyterapp.shell.currentWidget;
  await context.ready;
  if (source !== null) content.model.sharedModel.cells[index].setSource(source);
  else content.model.sharedModel.cells[index].setOutputs([{output_type: 'stream', name: 'stdout', text: 'run'}]);
  await window.jupyterapp.commands.execute('docmanager:save');
}"""
SOURCES = """async () => {
  const { context, content } = window.jupyterapp.shell.currentWidget;
  await context.ready;
  return content.model.sharedModel.cells.map(cell => cell.getSource());
}"""
KEPT = """() => new Promise((resolve) => {
  const opening = indexedDB.open('JupyterLite Storage - ' + new URL('..', location.href).pathname);
  opening.onsuccess = () => {
    const asking = opening.result.transaction('files').objectStore('files').getAllKeys();
    asking.onsuccess = () => { opening.result.close(); resolve(asking.result); };
  };
})"""


@pytest.fixture(scope="module")
def reader(chromium):
    """A browser in which lessons are opened one after another, as a learner does."""
    context = chromium.new_context(viewport={"width": 1366, "height": 768})
    yield context
    context.close()


class TestEveryLesson:
    @pytest.mark.parametrize("name", LESSONS if THOROUGH else EACH_KIND)
    def test_runs_without_an_error_and_asks_no_other_host(self, reader, lite_site, name):
        lesson = listened_to(reader.new_page(), lite_site).open(name)
        assert lesson.run_all() == []
        assert (lesson.elsewhere(), lesson.errors) == ([], [])
        assert len(lesson.requests) > 20, "nothing was listened to"
        assert axe.found_in_both_themes(lesson.page, ".jp-OutputArea-output, #gearcalc-python") == []
        lesson.page.close()


class TestWhilePythonIsLoaded:
    def test_a_line_says_how_far_it_is_and_goes(self, lite_page):
        page = lite_page.page
        page.goto(f"{lite_page.address}/notebooks/index.html?path=00_start_here.ipynb", wait_until="domcontentloaded")
        line = page.locator("#gearcalc-python")
        expect(line).to_contain_text(re.compile(r"Python is being loaded: \d+ of \d+ MB"), timeout=60_000)
        expect(line.get_by_role("status")).to_have_text("Python is being loaded.")
        assert line.bounding_box()["y"] > 600, "at the foot"
        lite_page.wait()
        expect(line.get_by_role("status")).to_have_text("Python is ready.")
        expect(line).to_be_hidden(timeout=10_000)

    def test_it_says_what_to_do_where_a_file_does_not_come(self, lite_page):
        page = lite_page.page
        page.context.route(re.compile("sympy-.*whl"), lambda route: route.abort())
        page.goto(f"{lite_page.address}/notebooks/index.html?path=00_start_here.ipynb", wait_until="domcontentloaded")
        line = page.locator("#gearcalc-python")
        expect(line).to_contain_text("Python could not be loaded. See that you are connected", timeout=90_000)
        page.context.unroute(re.compile("sympy-.*whl"))
        with page.expect_navigation():
            line.get_by_role("button", name="Load again").click()


class TestWithoutANetwork:
    """Python is there, no cell was run yet: then the network goes."""

    def test_a_lesson_that_stands_works(self, lite_page):
        lite_page.open("01_one_turn.ipynb")
        lite_page.page.context.set_offline(True)
        assert lite_page.run_all() == []
        lite_page.page.set_default_timeout(10_000)
        forms = lite_page.page.locator("section.gearcalc-asking")
        expect(forms.first).to_be_visible()
        assert forms.count() > 10
        assert lite_page.page.get_by_text("Click to show javascript error").count() == 0
        assert lite_page.page.get_by_text("The network is gone").count() == 0

    def test_it_is_said_where_a_part_of_the_page_does_not_come(self, lite_page):
        lite_page.page.route(re.compile("jupyterlab-manager/static/121"), lambda route: route.abort())
        lite_page.page.goto(f"{lite_page.address}/notebooks/index.html?path=01_one_turn.ipynb")
        told = lite_page.page.get_by_role("status").filter(has_text="The network is gone")
        expect(told).to_be_visible(timeout=60_000)
        told.get_by_role("button", name="Dismiss").click()
        expect(told).to_have_count(0)


class TestWays:
    def test_a_lesson_that_the_site_has_not_is_said_to_be_none_and_nothing_starts(self, lite_page):
        page = lite_page.page
        page.set_default_timeout(60_000)
        for _ in ("in a browser that saved nothing", "in one that did"):
            page.goto(f"{lite_page.address}/notebooks/index.html?path=99_no_such.ipynb")
            foot = page.locator("#gearcalc-foot")
            expect(foot.get_by_role("status")).to_have_text("This site has no lesson 99_no_such.ipynb.")
            assert axe.found_on(page, "html") == []
            assert page.evaluate("window.jupyterapp") is None
            foot.get_by_role("link", name="All its lessons").click()
            page.wait_for_url(re.compile("/index.html$"))
            page.goto(f"{lite_page.address}/notebooks/index.html?path=01_one_turn.ipynb")
            page.wait_for_function("window.jupyterapp?.shell?.currentWidget?.context?.isReady")
            page.evaluate(SAVED, [1, "my_own = 1"])
        assert lite_page.errors == []

    def test_from_the_first_page_to_a_lesson_to_the_next_and_back(self, lite_page):
        page = lite_page.page
        page.set_default_timeout(60_000)
        page.goto(lite_page.address + "/")
        titles = page.get_by_role("listitem").filter(has=page.locator("a[href*='path=']"))
        assert titles.count() == len(LESSONS)
        assert axe.found_on(page) == []
        page.get_by_role("link", name="One turn of the spindle").click()
        page.get_by_role("link", name="00 Start here").click()
        page.wait_for_url(re.compile("path=00_start_here.ipynb"))
        page.get_by_role("link", name="01 One turn").first.click()
        page.wait_for_url(re.compile("path=01_one_turn.ipynb"))
        page.locator("#jp-NotebookLogo").click()
        page.wait_for_url(re.compile("/index.html$"))
        page.goto(f"{lite_page.address}/tree/index.html")
        expect(page.get_by_text("02_two_pairs.ipynb")).to_be_visible()
        assert page.locator("#gearcalc-python").count() == 0, "no Python is loaded for a list of files"
        assert len(page.context.pages) == 1
        assert (lite_page.elsewhere(), lite_page.errors) == ([], [])

    def test_every_link_of_every_lesson_leads_to_a_lesson_of_the_site(self, lite_folder):
        for name in LESSONS:
            text = (lite_folder / "files" / name).read_text(encoding="utf-8")
            linked = set(re.findall(r"\]\(([\w-]+\.ipynb)", text))
            assert linked <= set(LESSONS), name


def newer(site: Path, folder: Path, changed: list[str], gone: str) -> Path:
    """The same site with other words in some of its lessons, and without one."""
    new = shutil.copytree(site, folder, copy_function=os.link)
    stamp = new / "static" / "gearcalc" / "lessons.json"
    prints = json.loads(stamp.read_text(encoding="utf-8"))
    for name in changed:
        book = json.loads((new / "files" / name).read_text(encoding="utf-8"))
        book["cells"][0]["source"] += "\n\nA newer edition."
        prints[name] = book["metadata"]["gearcalc"]["print"] = print_of(book["cells"])
        (new / "files" / name).unlink()
        (new / "files" / name).write_text(json.dumps(book), encoding="utf-8")
    del prints[gone]
    (new / "files" / gone).unlink()
    listed = new / "api" / "contents" / "all.json"
    there = json.loads(listed.read_text(encoding="utf-8"))
    there["content"] = [each for each in there["content"] if each["name"] != gone]
    listed.unlink()
    listed.write_text(json.dumps(there), encoding="utf-8")
    stamp.unlink()
    stamp.write_text(json.dumps(prints), encoding="utf-8")
    return new


class TestANewerEdition:
    """One address, below a path: the site of today, then a newer one in its place."""

    def test_comes_before_a_saved_lesson_and_what_was_written_stays(self, chromium, lite_folder, tmp_path):
        only_run, written, unchanged = "02_two_pairs.ipynb", "01_one_turn.ipynb", "03_inches_meet_millimetres.ipynb"
        gone, also_written = "04_near_misses.ipynb", "05_does_it_matter.ipynb"
        place = tmp_path / "site"
        place.symlink_to(lite_folder, target_is_directory=True)
        context = chromium.new_context()
        with served(place, "/school/lessons") as address:
            page = context.new_page()
            page.set_default_timeout(60_000)

            def shown(name, *save):
                page.goto(f"{address}/notebooks/index.html?path={name}")
                page.wait_for_function("window.jupyterapp?.shell?.currentWidget?.context?.isReady")
                if save:
                    page.evaluate(SAVED, list(save))
                return page.evaluate(SOURCES)

            shown(written, 1, "my_own = 1")
            shown(also_written, 1, "my_own = 5")
            shown(only_run, 1, None)
            shown(unchanged, 1, "my_own = 3")
            shown(gone, 1, "my_own = 4")
            assert sorted(page.evaluate(KEPT)) == [written, only_run, unchanged, gone, also_written]
            place.unlink()
            place.symlink_to(
                newer(lite_folder, tmp_path / "newer", [written, only_run, also_written], gone),
                target_is_directory=True,
            )
            told = page.get_by_role("status").filter(has_text="This lesson is newer than the one in which you wrote.")

            assert "A newer edition." in shown(only_run)[0]
            expect(told).to_have_count(0)
            assert "A newer edition." in shown(also_written)[0]
            expect(told).to_contain_text("05_does_it_matter (yours, ")
            told.get_by_role("button", name="Dismiss").click()
            for _ in range(2):  # until it was opened
                assert "A newer edition." in shown(written)[0]
                expect(told).to_have_count(1)
            assert shown(unchanged)[1] == "my_own = 3"
            expect(told).to_have_count(0)
            (yours,) = (name for name in page.evaluate(KEPT) if "yours" in name and name.startswith("01"))
            assert re.fullmatch(r"01_one_turn \(yours, \d{4}-\d\d-\d\d\)\.ipynb", yours)
            assert only_run not in page.evaluate(KEPT)
            shown(written)
            expect(told).to_contain_text(f"Yours is kept, as “{yours}”.")
            told.get_by_role("link", name="Open yours").click()
            page.wait_for_url(re.compile("path=01_one_turn%20.yours"))
            page.wait_for_function("window.jupyterapp?.shell?.currentWidget?.context?.isReady")
            mine = page.evaluate(SOURCES)
            assert (mine[1], "A newer edition." in mine[0]) == ("my_own = 1", False)
            shown(written, 1, "again = 1")  # written in the newest: stays where it is
            assert shown(written)[1] == "again = 1"
            expect(told).to_have_count(0)
            shown(also_written)
            expect(told).to_have_count(0)

            page.goto(f"{address}/tree/index.html")  # what the site has no longer hides nothing there: it stays
            expect(page.get_by_text(gone)).to_be_visible()
            assert shown(gone)[1] == "my_own = 4"
        context.close()
