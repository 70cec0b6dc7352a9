"""The bench page in a real browser: someone who has never seen it types gears, and sees whether the train goes on."""

from __future__ import annotations

import json
from statistics import median

import pytest
from playwright.sync_api import expect

from gearcalc.lathes import demo_lathe
from tests.browser.explorer import ExplorerOnPage
from tests.notebooks import WORKBENCH

pytestmark = [pytest.mark.browser, pytest.mark.opens("workbench.ipynb")]

NONSENSE = ("letters", "0", "-5", "1000000000", "", "<b>40</b>")
BARE = """\
name = "Bench lathe without a bracket"
leadscrew.lead = "4 mm"
gears.teeth = [20, 40, 50, 60]
"""


class BenchOnPage(ExplorerOnPage):
    """The bench on an open page."""

    def rows(self) -> list[str]:
        return self.whole.locator(".gearcalc-table tbody tr").all_inner_texts()

    def row(self, place: int):
        return self.whole.locator(".gearcalc-table tbody tr input").nth(place - 1)

    def fill(self, label: str, text: str) -> None:
        self.type(self.slider(label), text)

    def expect_first_row(self, *words: str) -> None:
        for word in words:
            expect(self.whole.locator(".gearcalc-table tbody tr").first).to_contain_text(word)

    def expect_settled(self) -> None:
        """Wait until the page has been the same for a while."""
        before = None
        while before != (before := self.whole.inner_html()):
            self.lesson.page.wait_for_timeout(300)

    def use_file(self, text: str) -> None:
        folded = self.whole.locator("details.gearcalc-folded")
        if folded.get_attribute("open") is None:
            self.lesson.press(folded.locator("summary"), "Enter")
        folded.locator("textarea").fill(text)
        self.lesson.press(folded.get_by_role("button"), "Enter")


@pytest.fixture(scope="module")
def opened(run_once):
    lesson = run_once("workbench.ipynb")
    lesson.page.set_viewport_size({"width": 1280, "height": 2300})
    return BenchOnPage(lesson, "Bench")


@pytest.fixture
def bench(opened):
    for name, leadscrew in (("metric", "3 mm"), ("inch", "8 tpi")):  # two quick moves would come to none
        opened.choose("Begin with", f"{name} demo")
        expect(opened.slider("Leadscrew")).to_have_value(leadscrew)
    opened.fill("Wanted", "M10")
    opened.fill("Own train", "")
    opened.choose("Pairs", "up to three")
    opened.choose("List", "what goes on")
    opened.choose("Show", "will it go on")
    opened.expect_message("")
    opened.expect_settled()
    yield opened
    opened.lesson.assert_no_console_errors()


class TestFromGearsToATrainThatGoesOn:
    def test_gears_typed_are_answered(self, bench):
        bench.fill("Your gears", "20 30 40 40 50 60 65 80")
        bench.fill("Wanted", "13 tpi")
        # By hand: an 8 tpi leadscrew must make 8/13 of a turn: 80/65 with the lever at 1/2.
        bench.expect_first_row("80/65", "low", "13", "exact", "yes")
        bench.expect_facts("goes on", "yes", "bracket swung to")
        bench.lesson.screenshot("bench", bench.whole)

    def test_an_own_train_that_does_not_go_on_says_why(self, bench):
        bench.fill("Own train", "20/80, idler 30")
        bench.expect_first_row("yours", "20/80", "no")
        bench.expect_facts("because", "5.9 mm short", "an idler of 35 instead of 30 would clear it")
        bench.lesson.screenshot("bench-does-not-go-on", bench.whole)

    def test_own_leadscrew_and_levers(self, bench):
        bench.fill("Leadscrew", "3 mm")
        bench.fill("Levers", "")
        bench.fill("Wanted", "1.5 mm")
        # By hand: 1.5 mm from 3 mm takes a train of 1/2.
        bench.expect_first_row("20/40", "–", "1.5 mm", "exact")

    def test_a_lathe_file_without_a_bracket_is_not_checked_and_says_what_to_add(self, bench):
        bench.use_file(BARE)
        bench.fill("Wanted", "2 mm")
        bench.expect_first_row("20/40", "exact", "not checked")
        bench.expect_facts("has no bracket", "Add [bracket]")
        expect(bench.whole.get_by_role("radio", name="lathe file below")).to_be_checked()
        assert bench.slider("Your gears").input_value() == "20 40 50 60"
        bench.lesson.screenshot("bench-no-bracket", bench.whole)

    def test_the_file_as_it_stands_is_used_when_asked(self, bench):
        bench.choose("Begin with", "metric demo")
        bench.expect_settled()
        folded = bench.whole.locator("details.gearcalc-folded")
        bench.use_file(folded.locator("textarea").input_value())
        expect(bench.whole.get_by_role("radio", name="lathe file below")).to_be_checked()
        assert bench.slider("Leadscrew").input_value() == "3 mm"


class TestLatheFile:
    def test_one_chosen_on_the_page_is_the_lathe_of_all_on_it(self, lab, open_lesson, tmp_path):
        page = json.loads(WORKBENCH.read_text(encoding="utf-8"))
        page["cells"] = page["cells"][:6]  # as far as the bench
        folder = lab.folder / "chosen"
        folder.mkdir()
        (folder / "workbench.ipynb").write_text(json.dumps(page), encoding="utf-8")
        lathe = demo_lathe("metric")
        (tmp_path / "in the corner.toml").write_text(lathe.to_toml(), encoding="utf-8")
        opened = open_lesson("chosen/workbench.ipynb")
        opened.run_all()
        with opened.page.expect_file_chooser() as asked:
            opened.page.get_by_role("button", name="Choose your lathe file").click()
        asked.value.set_files(tmp_path / "in the corner.toml")
        said = opened.page.get_by_role("status").filter(has_text="lathe,")
        expect(said).to_contain_text(f"This is your lathe, {lathe.name}, from my_lathe.toml.")
        opened.screenshot("lathe-file-chosen")
        assert (folder / "my_lathe.toml").read_text(encoding="utf-8") == lathe.to_toml()
        opened.run_all()
        bench = BenchOnPage(opened, "Bench")
        expect(bench.slider("Leadscrew")).to_have_value("3 mm")
        opened.assert_no_console_errors()


class TestRows:
    def test_chosen_by_keyboard_and_the_focus_stays(self, bench):
        bench.fill("Wanted", "16 tpi")
        bench.expect_first_row("40/80")
        bench.expect_settled()
        times = bench.press(bench.row(1), "ArrowDown")
        expect(bench.row(2)).to_be_focused()
        expect(bench.row(2)).to_be_checked()
        times += bench.press(bench.row(2), "ArrowDown", times=1)
        times += bench.press(bench.row(3), "ArrowUp", times=1)
        expect(bench.row(2)).to_be_focused()
        train = bench.rows()[1].split("\t")[1].replace("\xa0", " ")
        expect(bench.picture.locator("title").first).to_contain_text(train.split(",")[0])
        print(f"\nrow chosen to changed picture: {[round(t) for t in times]} ms")

    def test_another_question_begins_at_the_first_row(self, bench):
        bench.press(bench.row(1), "ArrowDown")
        expect(bench.row(2)).to_be_checked()
        bench.fill("Wanted", "20 tpi")
        expect(bench.row(1)).to_be_checked()

    def test_each_row_says_itself(self, bench):
        bench.fill("Wanted", "16 tpi")
        bench.expect_first_row("40/80")
        bench.expect_settled()
        said = bench.row(1).get_attribute("aria-label")
        assert said == (
            "answer 1, train 40/80, idler 25, lever middle, error exact, goes on yes, good enough exact,"
            " tpi 16, lead 0.0625 in (1.5875 mm)"
        )


class TestParts:
    @pytest.mark.parametrize(
        ("part", "words"),
        [
            ("will it go on", ["arranged as", "between"]),
            ("why this lead", ["Turn the spindle once", "The carriage", "Which way"]),
            ("does the error matter", ["pitch-diameter tolerance", "ISO 965-1, class 6g", "good enough"]),
            ("wrong lead", ["Measured 0.05906 ± 0.00079 in (1.5 ± 0.02 mm)"]),
            ("catch the thread", ["When to close the half-nuts for M10x1.5"]),
            ("change over", ["Change-over card", "Isolate", "Settings"]),
            ("chart", ["A chart for this lathe", "M12x1.75", "1/2-13 UNC"]),
        ],
    )
    def test_a_part_about_the_chosen_row(self, bench, part, words):
        bench.choose("Show", part)
        for word in words:
            expect(bench.whole.locator(".gearcalc-facts")).to_contain_text(word)
        bench.lesson.screenshot(f"bench-{part.replace(' ', '-')}", bench.whole)

    def test_the_measured_lead_is_there_with_its_part_only(self, bench):
        expect(bench.slider("Measured")).to_be_hidden()
        bench.choose("Show", "wrong lead")
        expect(bench.slider("Measured")).to_be_visible()
        bench.fill("Measured", "letters")
        bench.expect_refusal("letters")
        bench.fill("Measured", "1.5")


class TestNonsense:
    @pytest.mark.parametrize("label", ["Your gears", "Leadscrew", "Levers", "Wanted", "Own train"])
    def test_a_message_and_the_last_good_picture_stays(self, bench, label):
        good = bench.slider(label).input_value()
        before, rows = bench.svg(), bench.rows()
        for nonsense in NONSENSE:
            if nonsense == "" and label in ("Leadscrew", "Levers", "Own train"):
                continue  # there, nothing is an answer
            bench.fill(label, nonsense)
            bench.expect_refusal("." if nonsense == "" else nonsense)
            assert bench.svg() == before
            assert bench.rows() == rows
        bench.fill(label, good)
        bench.expect_message("")

    def test_a_lathe_file_that_is_none(self, bench):
        before = bench.svg()
        for nonsense in ("letters", "", 'name = "A"', "leadscrew = -5"):
            bench.use_file(nonsense)
            bench.expect_refusal("Lathe file")
            assert bench.svg() == before


class TestShape:
    def test_keeps_its_place(self, bench):
        place = bench.place()
        for thread in ("16 tpi", "module 1.5", "Tr 40x14(P7)"):
            bench.fill("Wanted", thread)
            bench.expect_settled()
            bench.press(bench.row(1), "ArrowDown")
            assert bench.place() == pytest.approx(place, abs=1)
        bench.fill("Wanted", "banana")
        bench.expect_refusal("banana")
        assert bench.place()[:4] == pytest.approx(place[:4], abs=1)
        bench.fill("Wanted", "M10")

    def test_works_at_800_pixels_with_targets_large_enough(self, bench):
        page, size = bench.lesson.page, bench.lesson.page.viewport_size
        page.set_viewport_size({"width": 800, "height": 2300})
        page.evaluate("window.jupyterapp.shell.collapseLeft()")
        try:
            bench.whole.scroll_into_view_if_needed()
            assert bench.whole.evaluate("(whole) => whole.scrollWidth <= whole.clientWidth + 1")
            targets = ".gearcalc-text, .gearcalc-choice label, .gearcalc-table tbody tr, summary"
            sizes = [target.bounding_box() for target in bench.whole.locator(targets).all() if target.is_visible()]
            assert len(sizes) > 20
            assert min(min(box["width"], box["height"]) for box in sizes) >= 33.5
            bench.lesson.screenshot("bench-800", bench.whole)
        finally:
            page.evaluate("window.jupyterapp.shell.expandLeft()")
            page.set_viewport_size(size)

    def test_every_control_has_a_name_and_keeps_its_own_keys(self, bench):
        focusable = bench.whole.locator("button, input, textarea, summary, [tabindex]")
        names = [
            control.evaluate("(it) => it.labels?.[0]?.textContent || it.ariaLabel || it.textContent")
            for control in focusable.all()
        ]
        assert all(name.strip() for name in names)
        assert focusable.count() == bench.whole.locator("[data-lm-suppress-shortcuts='true']").count()


class TestMeasured:
    def test_a_row_chosen_changes_the_picture(self, bench):
        bench.fill("Wanted", "16 tpi")
        bench.expect_first_row("40/80")
        bench.expect_settled()
        times = []
        for _ in range(10):
            times += bench.press(bench.row(1), "ArrowDown") + bench.press(bench.row(2), "ArrowUp")
        print(f"\nrow chosen to changed picture, median of 20: {median(times):.0f} ms")
        assert median(times) < 1000
