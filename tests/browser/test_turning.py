"""The turning train in a real browser: play, step and count by keyboard, and measure what the page really does."""

from __future__ import annotations

import os
from fractions import Fraction
from itertools import pairwise
from statistics import median

import pytest
from playwright.sync_api import expect
from shapely import Polygon

from gearcalc.lathes.trains import Train
from gearcalc.pictures.cutting_strips import bar_mm
from gearcalc.pictures.train_pictures import TrainDrawing
from tests import notebooks
from tests.browser.explorer import ExplorerOnPage
from tests.browser.lab_page import open_in_lab, screenshot_folder
from tests.pictures.test_train_pictures import drawn_gears

pytestmark = pytest.mark.browser

SIX_GEARS = Train((40, 60), (127, 80), ((50, 24), ()))
LEAD_MM = Fraction(3) * 40 * 60 / 127 / 80  # leadscrew 3 mm, lever 1
BAR_PX = 586 - 122  # from one end of the tool's way to the other

LIVE = """\
import gearcalc as gc
from gearcalc.learning.explorers import turning_train
explorer = turning_train(gc.demo_lathe("metric"), (40, 60), (127, 80), idlers=(50, 24), lever="fast", thread="0.7 mm")
explorer
"""
# The same gears drawn afresh by matplotlib at each move of a slider.
TWIN = """\
import io
from IPython.display import Image, display
from ipywidgets import IntSlider, Output, VBox
from matplotlib.figure import Figure
from gearcalc.pictures.train_pictures import TrainDrawing
slider, shown = IntSlider(value=30, min=20, max=120, description="Twin:"), Output(layout={"height": "480px"})
def draw(change=None):
    drawing = TrainDrawing(gc.Train((40, 60), (slider.value, 80), ((50, 24), ())))
    figure = Figure(figsize=(8, 4.8))
    axes = figure.add_subplot(aspect="equal")
    for outline in drawing.outlines(flank_points=4):
        axes.fill(*zip(*outline), edgecolor="k")
    picture = io.BytesIO()
    figure.savefig(picture, format="png", dpi=100)
    with shown:
        shown.clear_output(wait=True)
        display(Image(picture.getvalue()))
slider.observe(draw, "value")
draw()
VBox([slider, shown]).add_class("twin")
"""

# Frames a second in which nothing, and then a gear, is turned; for so many milliseconds.
EMPTY_FRAMES = """(limit) => new Promise((resolve) => {
  let frames = 0;
  const began = performance.now();
  const frame = (now) => {
    frames += 1;
    if (now - began < limit) requestAnimationFrame(frame); else resolve(frames / (now - began) * 1000);
  };
  requestAnimationFrame(frame);
})"""
TURNED_FRAMES = """([gear, limit]) => new Promise((resolve) => {
  let frames = 0, before = gear.getAttribute("transform");
  const began = performance.now();
  const frame = (now) => {
    const transform = gear.getAttribute("transform");
    if (transform !== before) frames += 1;
    before = transform;
    if (now - began < limit) requestAnimationFrame(frame); else resolve(frames / (now - began) * 1000);
  };
  requestAnimationFrame(frame);
})"""
STATE = """(picture) => ({
  gears: [...picture.querySelectorAll(".gear > .turning")].map(
    (gear) => [Number(gear.dataset.turns), Number(gear.getAttribute("transform").match(/-?[0-9.]+/)[0])]),
  dials: [...picture.querySelectorAll("[data-turns]:not(.turning)")].map(
    (dial) => Number(dial.getAttribute("transform").match(/-?[0-9.]+/)[0])),
  tool: Number(picture.querySelector(".tool").parentElement.getAttribute("transform").match(/-?[0-9.]+/)[0]),
  counts: Object.fromEntries(
    [...picture.querySelectorAll("[data-count]")].map((count) => [count.dataset.words, Number(count.textContent)])),
})"""
COUNT_MESSAGES = """() => {
  window.gearcalcMessages = 0;
  window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.anyMessage.connect(
    () => { window.gearcalcMessages += 1; });
}"""
COUNT_REQUESTS = """() => {
  window.gearcalcFrames = 0;
  const original = window.requestAnimationFrame;
  window.requestAnimationFrame = (callback) => {
    if (callback.name === "frame") window.gearcalcFrames += 1;
    return original.call(window, callback);
  };
}"""
SERIALISED = """(picture) => new XMLSerializer().serializeToString(picture.querySelector("svg"))"""


def written(lab, name: str, *cells: str) -> str:
    notebooks.write(cells, lab.folder / name)
    return name


@pytest.fixture(scope="module")
def opened(chromium, lab, tmp_path_factory):
    """One page for the tests that follow, since each of them can go back to the start."""
    folder = screenshot_folder(tmp_path_factory.mktemp("turning"))
    lesson = open_in_lab(chromium, lab, written(lab, "turning.ipynb", LIVE), folder)
    lesson.page.set_viewport_size({"width": 1280, "height": 1300})  # all of it in sight, for the pictures
    lesson.run_all()
    yield lesson
    lesson.close()


@pytest.fixture
def train(opened):
    """The explorer of six gears, standing at the start, nothing on the console."""
    explorer = TurningOnPage(opened, "Turning train")
    explorer.button("To the start").click()
    yield explorer
    opened.assert_no_console_errors()


class TurningOnPage(ExplorerOnPage):
    """The turning train on an open page."""

    def button(self, name: str):
        return self.whole.get_by_role("button", name=name, exact=True)

    def state(self) -> dict:
        return self.picture.evaluate(STATE)

    def expect_counts(self, *words: str) -> None:
        """What is said aloud once it stands still."""
        for word in words:
            expect(self.whole.locator(".gearcalc-turning .gearcalc-said")).to_contain_text(word)

    def expect_no_word(self, words: str) -> None:
        expect(self.whole.locator(".gearcalc-facts")).not_to_contain_text(words)

    def key(self, name: str, key: str = "Enter") -> None:
        self.lesson.press(self.button(name), key)


class TestTurns:
    def test_never_on_its_own(self, train):
        before = train.state()
        train.lesson.page.wait_for_timeout(700)
        assert train.state() == before
        assert train.button("Play").is_visible()

    def test_play_and_pause_by_keyboard_and_no_word_to_the_kernel(self, train):
        train.lesson.page.evaluate(COUNT_MESSAGES)
        train.key("Play", " ")
        expect(train.button("Pause")).to_be_visible()
        train.lesson.page.wait_for_timeout(1500)
        assert train.state()["counts"]["first mesh, teeth"] > 2
        train.key("Pause")
        expect(train.button("Play")).to_be_visible()
        paused = train.state()
        train.lesson.page.wait_for_timeout(400)
        assert train.state() == paused
        assert train.lesson.page.evaluate("window.gearcalcMessages") == 0

    def test_every_gear_at_its_true_speed_and_in_its_true_direction(self, train):
        train.choose("Teeth a second", "2")
        train.key("Play")
        train.lesson.page.wait_for_timeout(300)
        before, after = train.state(), None
        train.lesson.page.wait_for_timeout(2000)
        after = train.state()
        train.key("Pause")
        train.choose("Teeth a second", "8")
        gears = sorted(TrainDrawing(SIX_GEARS).gears, key=lambda gear: gear.plane)
        turned = [half_turn(b[1] - a[1]) for a, b in zip(before["gears"], after["gears"], strict=True)]
        first = turned[0]
        assert gears[0].place == "first driver"
        assert 10 < first < 150  # clockwise, as the spindle turns seen from the gear end
        for gear, angle in zip(gears, turned, strict=True):
            assert angle / first == pytest.approx(float(gear.turns), abs=2e-3)
        spindle, leadscrew = (half_turn(b - a) for a, b in zip(before["dials"], after["dials"], strict=True))
        assert spindle == pytest.approx(first, abs=0.01)
        assert leadscrew == pytest.approx(first * 40 * 60 / 127 / 80, abs=0.01)
        travel_mm = (before["tool"] - after["tool"]) * float(bar_mm(LEAD_MM)) / BAR_PX  # leftward: to the headstock
        assert travel_mm == pytest.approx(first / 360 * float(LEAD_MM), abs=1e-3)

    def test_teeth_are_in_mesh_at_whatever_frame(self, train):
        train.key("Play")
        for _ in range(3):
            train.lesson.page.wait_for_timeout(330)
            svg = train.picture.evaluate(SERIALISED)
            gears = sorted(TrainDrawing(SIX_GEARS).gears, key=lambda gear: gear.plane)
            drawn = dict(zip((gear.place for gear in gears), drawn_gears(svg), strict=True))
            places = [place for place, _ in SIX_GEARS.places()]
            meshing = [pair for pair in pairwise(places) if pair != ("first driven", "second driver")]
            assert len(meshing) == 4
            for one, other in meshing:
                assert drawn[one].intersection(drawn[other]).area < 0.002 * tooth_area(drawn[one], one)
                assert drawn[one].buffer(0.5).intersection(drawn[other]).area > 0.1
        train.key("Pause")

    def test_stops_when_the_carriage_is_at_its_end_and_plays_again_from_the_start(self, train):
        last = int(train.picture.locator("svg").first.get_attribute("data-last-turn"))
        for _ in range(last + 1):
            train.key("+ 1 turn")
        train.expect_counts(f"spindle, turns: {last}.00", "at the end of the bar")
        train.key("Play")
        train.lesson.page.wait_for_timeout(400)
        train.key("Pause")
        assert 0 < train.state()["counts"]["spindle, turns"] < 2


class TestSteps:
    def test_a_turn_by_hand_on_and_back(self, train):
        train.key("+ 1 turn")
        train.expect_counts("spindle, turns: 1.00; first mesh, teeth: 40;", f"carriage, mm: {float(LEAD_MM):.3f}")
        train.key("+ 1 turn", " ")
        train.key("+ 1 turn", " ")
        train.expect_counts("spindle, turns: 3.00; first mesh, teeth: 120; second mesh, teeth: 56;")
        train.key("− 1 turn")
        train.expect_counts("spindle, turns: 2.00; first mesh, teeth: 80; second mesh, teeth: 37;")

    def test_tooth_by_tooth(self, train):
        for count in range(1, 6):
            train.key("+ 1 tooth")
            train.expect_counts(f"first mesh, teeth: {count};")
        train.key("− 1 tooth")
        train.expect_counts("first mesh, teeth: 4;")
        moved = {round(turns, 6): angle for turns, angle in train.state()["gears"]}
        assert moved[1.0] == pytest.approx(4 * 360 / 40, abs=0.01)

    def test_with_reduced_motion_play_makes_single_steps(self, train):
        train.lesson.page.emulate_media(reduced_motion="reduce")
        try:
            for turn in (1, 2):
                train.key("Play")
                assert train.state()["counts"]["spindle, turns"] == turn
                assert train.button("Play").is_visible()
        finally:
            train.lesson.page.emulate_media(reduced_motion="no-preference")


class TestChoices:
    def test_gears_lever_and_wanted_follow_the_keyboard_at_the_same_turn_of_the_spindle(self, train):
        train.key("+ 1 turn")
        train.expect_counts("spindle, turns: 1.00")
        train.expect_facts("(40 · 60)/(127 · 80)", "ppm")
        for label in ("First idler", "Second idler", "Second driven"):
            train.press(train.slider(label), "Home")
        train.expect_facts("40/127", "counts once it has both")
        train.lesson.press(train.slider("Second driver"), "Home")  # the pair did not count before: the picture stays
        train.expect_no_word("counts once it has both")
        train.press(train.slider("First driven"), "ArrowLeft", times=2)
        train.expect_facts("40/80", "1.5 mm")
        assert train.state()["counts"] == {
            "spindle, turns": 1,
            "mesh, teeth": 40,
            "leadscrew, turns": 0.5,
            "carriage, mm": 1.5,
            "carriage, in": 0.0591,
        }
        train.choose("Lever", "slow × 1/4")
        train.expect_facts("0.375 mm")
        assert train.state()["counts"]["carriage, mm"] == 0.375
        train.type(train.slider("Wanted"), "1.5 mm LH")
        train.choose("Lever", "fast × 1")
        train.expect_facts("exact", "left")
        train.key("+ 1 turn")
        train.expect_counts("spindle, turns: 2.00")
        assert train.state()["tool"] > 0  # away from the headstock
        train.lesson.screenshot("turning-simple-left-hand", train.whole)
        train.type(train.slider("Wanted"), "0.7 mm")
        for label, teeth in (
            ("First driven", "127"),
            ("Second driver", "60"),
            ("Second driven", "80"),
            ("First idler", "50"),
            ("Second idler", "24"),
        ):
            train.type(train.box(label), teeth)
        train.expect_facts("(40 · 60)/(127 · 80)")

    def test_nonsense_leaves_the_last_good_picture_turning(self, train):
        train.key("Play")
        for nonsense in ("abc", "0", "-5", "1000000000", "", "<b>40</b>"):
            train.type(train.box("First driver"), nonsense)
            train.expect_refusal("whole number of teeth")
            before = train.state()
            train.lesson.page.wait_for_timeout(150)
            assert train.state()["gears"] != before["gears"]
        train.type(train.box("Second idler"), "25")
        train.type(train.box("First driver"), "40")
        train.expect_refusal("no gear of 25 teeth")
        train.type(train.box("Second idler"), "24")
        train.expect_message("")
        train.key("Pause")

    def test_keeps_its_place_and_shows_itself_at_800_pixels(self, train):
        page, size = train.lesson.page, train.lesson.page.viewport_size
        *place, x, y, width, height = train.place()
        train.press(train.slider("First driven"), "ArrowLeft")
        train.type(train.box("Second driven"), "9999")
        train.expect_refusal("9999")
        *now, now_x, now_y, now_width, now_height = train.place()
        assert [*now, now_x, now_width] == pytest.approx([*place, x, width], abs=1)
        assert now_y + now_height == pytest.approx(y + height, abs=1)  # under the controls it gives way to the words
        train.type(train.box("Second driven"), "80")
        train.press(train.slider("First driven"), "ArrowRight")
        page.set_viewport_size({"width": 800, "height": 1400})
        page.evaluate("window.jupyterapp.shell.collapseLeft()")
        try:
            train.whole.scroll_into_view_if_needed()
            assert train.whole.evaluate("(whole) => whole.scrollWidth <= whole.clientWidth + 1")
            for button in train.whole.get_by_role("button").all():
                assert min(button.bounding_box()[side] for side in ("width", "height")) >= 33.5
            train.lesson.screenshot("turning-800", train.whole)
        finally:
            page.evaluate("window.jupyterapp.shell.expandLeft()")
            page.set_viewport_size(size)

    def test_every_control_has_a_name_and_keeps_its_own_keys(self, train):
        focusable = train.whole.locator("button, input, textarea")
        names = [
            control.evaluate("(it) => it.labels?.[0]?.textContent || it.ariaLabel || it.textContent")
            for control in focusable.all()
        ]
        assert all(name.strip() for name in names)
        assert focusable.count() == train.whole.locator("[data-lm-suppress-shortcuts='true']").count()


class TestMeasured:
    def test_frames_a_second_with_six_gears_of_which_one_is_a_127(self, train):
        page = train.lesson.page
        empty = page.evaluate(EMPTY_FRAMES, 3000)
        train.choose("Teeth a second", "20")
        train.key("Play")
        gear = train.picture.locator(".gear > .turning").first.element_handle()
        turned = page.evaluate(TURNED_FRAMES, [gear, 4000])
        train.lesson.screenshot("turning-six-gears", train.whole)
        train.key("Pause")
        train.choose("Teeth a second", "8")
        print(f"\nsix gears: {turned:.1f} frames a second turned, {empty:.1f} with nothing to do; load {load()}")
        assert turned > 0.4 * empty  # an idle machine turns them in every frame; a busy one in more than every third

    def test_a_key_changes_the_picture_sooner_than_a_twin_drawn_by_matplotlib(self, chromium, lab, opened):
        lesson = open_in_lab(chromium, lab, written(lab, "twin.ipynb", LIVE, TWIN), opened.screenshots)
        try:
            lesson.run_all()
            live = TurningOnPage(lesson, "Turning train")
            keys = ["ArrowLeft", "ArrowLeft", "ArrowRight", "ArrowRight"] * 5  # 40 36 32 36 40: none of them in use
            ours = [live.press(live.slider("First driver"), key)[0] for key in keys]
            lesson.page.locator(".twin img").wait_for()
            handle = lesson.slider("Twin:")
            theirs = [
                lesson.press_and_measure(handle, key, ".twin .jp-OutputArea, .twin .widget-output") for key in keys
            ]
            mine, twin = median(ours), median(theirs)
            print(
                f"\nkey press to changed picture, median of 20: {mine:.0f} ms, twin {twin:.0f} ms, "
                f"{twin / mine:.1f} times as long; load {load()}"
            )
            assert mine < twin
        finally:
            lesson.close()


class TestClose:
    def test_closing_stops_the_animation(self, open_lesson, lab):
        lesson = open_lesson(written(lab, "closing.ipynb", LIVE, "explorer.close()"))
        page = lesson.page
        page.evaluate("() => window.jupyterapp.commands.execute('notebook:run-cell')")
        page.evaluate(COUNT_REQUESTS)
        explorer = TurningOnPage(lesson, "Turning train")
        explorer.key("Play")
        page.wait_for_timeout(300)
        assert page.evaluate("window.gearcalcFrames") > 0
        page.evaluate(
            "() => { const p = window.jupyterapp.shell.currentWidget; p.content.activeCellIndex = 1;"
            " return window.jupyterapp.commands.execute('notebook:run-cell'); }"
        )
        expect(explorer.whole).to_have_count(0)
        page.wait_for_timeout(200)
        stood = page.evaluate("window.gearcalcFrames")
        page.wait_for_timeout(500)
        assert page.evaluate("window.gearcalcFrames") == stood
        lesson.assert_no_console_errors()


def half_turn(degrees: float) -> float:
    """An angle brought between −180° and 180°."""
    return (degrees + 180) % 360 - 180


def tooth_area(gear: Polygon, place: str) -> float:
    return gear.area / dict(SIX_GEARS.places())[place]


def load() -> str:
    return f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
