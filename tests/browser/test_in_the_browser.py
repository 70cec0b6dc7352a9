"""What a learner does in a lesson that runs in the browser alone: it is kept there, taken along and handed in."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

import gearcalc as gc
from gearcalc.commands import main
from gearcalc.learning.answer_book import AnswerBook
from gearcalc.learning.answer_files import Go
from gearcalc.learning.exercises import exercise
from gearcalc.serving.sites import build_site
from tests.browser.lab_page import screenshot_folder
from tests.browser.lite_site import LitePage, listened_to, served
from tests.chromium import ELSEWHERE, begun_in
from tests.how_much import THOROUGH

pytestmark = pytest.mark.browser
START, ONE, WORKBENCH = "00_start_here.ipynb", "01_one_turn.ipynb", "workbench.ipynb"
LEAD, PITCH = "lead-of-a-leadscrew", "pitch-and-lead"
IN_PYTHON = """async (code) => {
  const kernel = window.jupyterapp.shell.currentWidget.context.sessionContext.session.kernel;
  const asked = kernel.requestExecute({ code });
  let said = '';
  asked.onIOPub = ({ content }) => { said += content.text ?? content.data?.['text/html'] ?? content.evalue ?? ''; };
  await asked.done;
  return said;
}"""
RUN_SOME = """async (words) => {
  const { content } = window.jupyterapp.shell.currentWidget;
  for (const [place, cell] of content.widgets.entries()) {
    const source = cell.model.sharedModel.getSource();
    if (cell.model.type !== 'code' || !words.some((each) => source.includes(each))) continue;
    content.activeCellIndex = place;
    await window.jupyterapp.commands.execute('notebook:run-cell');
  }
}"""
thorough = pytest.mark.skipif(not THOROUGH, reason="takes a minute: asked with --thorough")


@pytest.fixture
def device(chromium):
    """A browser that has never seen the lessons."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    yield context
    context.close()


def run(device, address, name, *some) -> LitePage:
    """Open a lesson and run its cells, or only those that import or have some of these words in them."""
    lesson = listened_to(device.new_page(), address).open(name)
    run_again(lesson, *some)
    lesson.page.set_default_timeout(30_000)
    return lesson


def run_again(lesson, *some):
    if some:
        lesson.page.evaluate(RUN_SOME, ["import gearcalc as gc", *some])
    else:
        assert lesson.run_all() == []


def asking(lesson, title):
    return lesson.page.locator(f'section.gearcalc-asking[aria-label="{title}"]')


def type_in(lesson, label, text):
    box = lesson.page.get_by_label(label, exact=True)
    box.fill(text)
    box.press("Enter")


def answer_of(lesson, name):
    return lesson.page.get_by_label(f"Your answer: {exercise(name, 1).title}", exact=True)


def in_python(lesson, code):
    said: str = lesson.page.evaluate(IN_PYTHON, code)
    return said


def until(lesson, code, words):
    """Ask Python until it says so: what other lessons keep comes a little later."""
    for _ in range(100):
        said = in_python(lesson, code).strip()
        if said == words:
            return
        lesson.page.wait_for_timeout(50)
    assert said == words


def marked(folder: Path, capsys):
    capsys.readouterr()
    assert main(["marks", str(folder), "--json"]) == 0
    return {
        one["name"]: (one["class_number"], {mark["exercise"]: mark["state"] for mark in one["marks"]})
        for one in json.loads(capsys.readouterr().out)["learners"]
    }


class TestAnswers:
    def test_stay_in_the_browser_whichever_lesson_wrote_them_and_are_handed_in(
        self, device, lite_site, tmp_path, capsys
    ):
        start, one = run(device, lite_site, START, "name_and_number()"), run(device, lite_site, ONE, LEAD, PITCH)
        type_in(start, "Class number: Who works here", "7")
        type_in(start, "Name: Who works here", "Ada Invented")
        here = asking(start, "Who works here")
        expect(here).to_contain_text("in this browser, on this device. A private window forgets it")
        expect(asking(one, exercise(LEAD, 1).title)).to_contain_text("class number 7")  # it was told

        title = exercise(LEAD, 1).title
        type_in(one, f"Your answer: {title}", exercise(LEAD, 7).key)
        expect(asking(one, title)).to_contain_text("Right.")
        in_python(
            start, "from gearcalc.learning.guesses import guess\nguess('written-here', 'Which?').type('guess', '1')"
        )
        type_in(one, f"Your answer: {exercise(PITCH, 1).title}", "1000 mm")
        book = "from gearcalc.learning.answer_book import answer_book as b\n"
        until(one, book + "print(b().guess('written-here'), len(b().goes('lead-of-a-leadscrew')))", "1 1")
        until(start, book + "print(b().guess('written-here'), len(b().goes('lead-of-a-leadscrew')))", "1 1")

        shown = screenshot_folder(tmp_path)
        asking(one, title).scroll_into_view_if_needed()
        one.page.screenshot(path=shown / "browser-exercise-answered.png")
        one.page.reload()
        run_again(one.wait(), LEAD)
        expect(answer_of(one, LEAD)).to_have_value(exercise(LEAD, 7).key)
        expect(asking(one, title)).to_contain_text("Right.")

        (tmp_path / "in").mkdir()
        with start.page.expect_download() as coming:
            here.get_by_role("button", name="Download my answers").click()
        assert coming.value.suggested_filename == "answers-7-Ada-Invented.json"
        coming.value.save_as(tmp_path / "in" / coming.value.suggested_filename)
        here.scroll_into_view_if_needed()
        start.page.screenshot(path=shown / "browser-who-works-here.png")
        number, marks = marked(tmp_path / "in", capsys)["Ada Invented"]
        assert (number, marks[LEAD], marks[PITCH]) == (7, "right", "not right")
        assert [*start.errors, *one.errors, *start.elsewhere()] == []

    @thorough
    def test_go_on_on_another_computer(self, chromium, device, lite_site, tmp_path):
        book = AnswerBook(None)
        book.keep_class_number(7)
        book.keep_name("Ada Invented")
        book.keep_answer(LEAD, Go(7, answer=exercise(LEAD, 7).key, tries=1))
        (tmp_path / "answers-7.json").write_bytes(book.page)
        (tmp_path / "other.json").write_text("{}")
        start = run(device, lite_site, START, "name_and_number()")
        here = asking(start, "Who works here")
        here.locator("input[type=file]").set_input_files(tmp_path / "other.json")
        expect(here).to_contain_text("Nothing was brought in")
        here.locator("input[type=file]").set_input_files(tmp_path / "answers-7.json")
        expect(start.page.get_by_label("Name: Who works here", exact=True)).to_have_value("Ada Invented")
        one = run(device, lite_site, ONE, LEAD)
        expect(answer_of(one, LEAD)).to_have_value(exercise(LEAD, 7).key)

    @thorough
    def test_those_of_two_class_numbers_stay_apart(self, device, lite_site):
        one = run(device, lite_site, ONE, LEAD)
        title = exercise(LEAD, 1).title
        form = asking(one, title)
        type_in(one, f"Class number: {title}", "7")
        type_in(one, f"Your answer: {title}", exercise(LEAD, 7).key)
        expect(form).to_contain_text("Right.")
        one.page.get_by_label(f"Your answer: {title}", exact=True).blur()  # what stands in a box that is typed in stays
        in_python(one, "from gearcalc.learning.answer_book import answer_book as b\nb().keep_class_number(8)")
        expect(form).to_contain_text("class number 8")
        expect(answer_of(one, LEAD)).to_have_value("")
        type_in(one, f"Your answer: {title}", exercise(LEAD, 8).key)
        in_python(one, "b().keep_class_number(7)")
        one.page.reload()
        run_again(one.wait(), LEAD)
        expect(answer_of(one, LEAD)).to_have_value(exercise(LEAD, 7).key)

    @thorough
    def test_stay_on_an_address_that_is_not_secure_when_browser_and_site_are_begun_anew(
        self, chromium, lite_folder, tmp_path
    ):
        """As from a teacher's machine: plain http, a name that is not localhost, so no service worker.

        The new site has a lathe of the school's, which makes room for the learner's own.
        """
        place, title = tmp_path / "site", exercise(LEAD, 1).title
        place.symlink_to(lite_folder, target_is_directory=True)
        with served(place, "/school") as address:
            address = address.replace("127.0.0.1", ELSEWHERE)
            profile = begun_in(chromium, tmp_path / "profile")
            one = run(profile, address, ONE, LEAD)
            assert one.page.evaluate("[isSecureContext, 'serviceWorker' in navigator]") == [False, False]
            type_in(one, f"Class number: {title}", "7")
            type_in(one, f"Your answer: {title}", exercise(LEAD, 7).key)
            expect(asking(one, title)).to_contain_text("Right.")
            assert in_python(one, "import os; print('answers.json' in os.listdir())").strip() == "True"
            one.page.wait_for_timeout(1000)
            profile.close()  # and the browser with it
            schools, own = gc.demo_lathe("metric"), gc.demo_lathe("inch")
            build_site(tmp_path / "newer", lessons=["01"], lathe=schools)
            place.unlink()
            place.symlink_to(tmp_path / "newer", target_is_directory=True)
            profile = begun_in(chromium, tmp_path / "profile")
            one = run(profile, address, ONE, LEAD)
            expect(answer_of(one, LEAD)).to_have_value(exercise(LEAD, 7).key)
            which = "from gearcalc.learning.own_lathe import my_lathe\nprint(my_lathe()[0].name)"
            assert in_python(one, which).strip() == schools.name
            in_python(one, "import gearcalc as gc\nopen('my_lathe.toml', 'w').write(gc.demo_lathe('inch').to_toml())")
            one.page.wait_for_timeout(1000)
            one.page.reload()
            assert in_python(one.wait(), which).strip() == own.name
            profile.close()


class TestTheBrowser:
    def test_is_asked_not_to_clear_answers_away_and_may_refuse(self, device, lite_site):
        device.add_init_script(
            "navigator.storage.persist = async () => { window.askedToKeep = (window.askedToKeep ?? 0) + 1;"
            " throw new Error('refused'); };"
        )
        lesson = listened_to(device.new_page(), lite_site)
        for name, times in ((f"notebooks/index.html?path={START}", 1), ("tree/index.html", None)):
            lesson.page.goto(f"{lite_site}/{name}", wait_until="domcontentloaded")
            assert lesson.page.evaluate("window.askedToKeep") == times, name
        assert lesson.errors == []


class TestFiles:
    def test_a_lathe_and_papers_are_kept_offered_and_known_to_the_next_lesson(self, device, lite_site, tmp_path):
        start = run(device, lite_site, START, "mine = ")
        start.page.evaluate(
            "([place, source]) => window.jupyterapp.shell.currentWidget.content.model.sharedModel.cells[place]"
            ".setSource(source)",
            [16, 'mine.save("my_lathe.toml"); gc.fault_finder().save("faults.html")'],
        )
        run_again(start, "mine.save")
        saved = start.page.locator(".gearcalc-saved")
        expect(saved).to_have_count(2)
        for link, begins in (("my_lathe.toml", 'name = "My lathe"'), ("faults.html", "<!DOCTYPE html>")):
            with start.page.expect_download() as coming:
                saved.get_by_role("link", name=link).click()
            coming.value.save_as(tmp_path / link)
            assert coming.value.suggested_filename == link
            assert (tmp_path / link).read_text("utf-8").startswith(begins)
        assert gc.Lathe.load(tmp_path / "my_lathe.toml").name == "My lathe"
        refused = in_python(start, "gc.fault_finder().save('faults.pdf')")
        assert "written by matplotlib" in refused
        assert "ending .html" in refused
        start.page.close()

        other = listened_to(device.new_page(), lite_site).open(ONE)
        own = "from gearcalc.learning.own_lathe import my_lathe\nprint(my_lathe()[1])"
        assert in_python(other, own).strip() == "This is your lathe, My lathe, from my_lathe.toml."
        in_python(other, "import os; os.remove('my_lathe.toml')")
        assert "no my_lathe.toml in this browser yet" in in_python(other, own)
        chart = in_python(other, "import gearcalc as gc\ngc.chart(gc.demo_lathe('inch'), ['8 tpi', 'M8'])")
        assert len(re.findall("<tr>", chart)) == 3
        asked = "gc.chart(gc.demo_lathe('inch'), ['8 tpi', 'M8'])[['thread', 'lever']].to_string(index=False)"
        assert in_python(other, f"print({asked})").split()[:4] == ["thread", "lever", "8", "tpi"]

    @thorough
    def test_a_lathe_file_is_chosen_on_the_workbench(self, device, lite_site, tmp_path):
        gc.demo_lathe("metric").save(tmp_path / "ours.toml")
        bench = run(device, lite_site, WORKBENCH, "LatheUpload()")
        with bench.page.expect_file_chooser() as choosing:
            bench.page.get_by_role("button", name="Choose your lathe file").click()
        choosing.value.set_files(tmp_path / "ours.toml")
        expect(bench.page.locator(".widget-html").first).to_contain_text("This is your lathe")
        gc.demo_lathe("inch").save(tmp_path / "other.toml")
        with bench.page.expect_file_chooser() as choosing:
            bench.page.get_by_role("button", name="Choose your lathe file").click()
        choosing.value.set_files(tmp_path / "other.toml")
        expect(bench.page.locator(".widget-html").first).to_contain_text("Replace it?")
        bench.page.get_by_role("button", name="Replace my_lathe.toml").click()
        expect(bench.page.locator(".widget-html").first).to_contain_text("This is your lathe, Bench lathe with an inch")
        bench.page.wait_for_timeout(1500)
        bench.page.reload()
        own = "from gearcalc.learning.own_lathe import my_lathe\nprint(my_lathe()[1])"
        assert "This is your lathe" in in_python(bench.wait(), own)
