"""The browser harness itself, on a notebook small enough to know what must happen."""

from __future__ import annotations

from contextlib import suppress

import pytest
from playwright.sync_api import Error

from tests import notebooks

pytestmark = pytest.mark.browser

SLIDER_AND_WORDS = """\
from ipywidgets import HTML, IntSlider, VBox
slider = IntSlider(value=40, min=20, max=80, description="Driver:")
shown = HTML(f"<p class='shown'>driver {slider.value}</p>")
def follow(change):
    shown.value = f"<p class='shown'>driver {change['new']}</p>"
slider.observe(follow, "value")
VBox([slider, shown])
"""


@pytest.fixture
def small_lesson(lab, run_once):
    notebooks.write(["print('first'); 6 * 7", SLIDER_AND_WORDS], lab.folder / "small.ipynb")
    lesson = run_once("small.ipynb")
    lesson.page.locator(".shown").wait_for()
    if lesson.is_used:
        lesson.run_again(lesson.page.locator(".shown"))
        lesson.page.locator(".shown").wait_for()
    return lesson


class TestLabPage:
    def test_runs_all_and_follows_the_keyboard(self, small_lesson):
        assert small_lesson.outputs()[0].split() == ["first", "42"]
        milliseconds = small_lesson.press_and_measure(small_lesson.slider("Driver:"), "ArrowRight", ".widget-html")
        assert milliseconds > 0
        assert small_lesson.page.locator(".shown").text_content() == "driver 41"
        small_lesson.press(small_lesson.slider("Driver:"), "ArrowLeft", times=3)
        small_lesson.page.get_by_text("driver 38", exact=True).wait_for()
        small_lesson.assert_no_console_errors()
        assert small_lesson.screenshot("harness").stat().st_size > 5000

    def test_says_when_a_key_changes_nothing(self, small_lesson, monkeypatch):
        monkeypatch.setattr("tests.browser.lab_page._MILLISECONDS_TO_CHANGE", 500)
        with pytest.raises(Error, match="the key changed nothing"):
            small_lesson.press_and_measure(small_lesson.slider("Driver:"), "F2", ".widget-html")

    def test_an_error_on_the_console_is_noticed(self, small_lesson):
        small_lesson.page.evaluate("console.error('a fault of ours')")
        with pytest.raises(AssertionError, match="a fault of ours"):
            small_lesson.assert_no_console_errors()


class TestAnErrorOfOurs:
    SOURCE = "import gearcalc as gc\nlathe = gc.demo_lathe('inch')\ngc.find_setups(lathe, '<img src=x> $x$ 16 tip')"

    def test_is_one_sentence_in_a_box(self, lab, open_lesson):
        notebooks.write([self.SOURCE], lab.folder / "refused.ipynb")
        lesson = open_lesson("refused.ipynb")
        with suppress(Error):  # the run ends there
            lesson.run_all()
        box = lesson.page.locator(
            ".jp-OutputArea-output[data-mime-type='application/vnd.jupyter.stderr'], .jp-RenderedText"
        )
        box.first.wait_for()
        said = " ".join(box.first.inner_text().split())
        assert said.startswith(
            "Mind (called in line 3 of the cell): '<img src=x> $x$ 16 tip' is not understood as a thread."
        )
        assert "Traceback" not in said
        assert box.first.locator("img, mjx-container").count() == 0
        lesson.screenshot("refused")


class TestNames:
    SOURCE = (
        "import gearcalc as gc\nfrom IPython.display import Latex, display\n"
        'lathe = gc.Lathe.from_toml(\'name = "A $x$ B $$y$$"\\nleadscrew.lead = "3 mm"\\ngears.teeth = [20, 40]\\n\'\n'
        "    '[[gearbox]]\\nlever = \"$l$ $1$\"\\nratio = 1')\n"
        "display(lathe, gc.find_setups(lathe, '1.5 mm'), gc.chart(lathe, ['1.5 mm']))\n"
        "display(Latex('$q$'))"
    )

    def test_two_dollars_in_a_name_are_no_mathematics(self, lab, open_lesson):
        notebooks.write([self.SOURCE], lab.folder / "dollars.ipynb")
        lesson = open_lesson("dollars.ipynb")
        lesson.run_all()
        lesson.page.locator("mjx-container").first.wait_for()  # the last one, so that the others had their chance
        lesson.screenshot("dollars")
        assert lesson.page.locator("mjx-container").count() == 1
        assert "A $x$ B $$y$$" in lesson.page.locator(".jp-OutputArea").first.inner_text()
