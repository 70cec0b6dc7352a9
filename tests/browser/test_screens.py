"""Every explorer on a small screen: the hand and what it moves are in sight together, and an answer comes at once."""

from __future__ import annotations

import json
import time
from pathlib import Path
from statistics import median

import pytest
from playwright.sync_api import expect

import gearcalc
from gearcalc.basics.files import notebooks_folder
from gearcalc.learning import explorers
from tests import axe
from tests.browser.explorer import SEARCH, ExplorerOnPage, titles_on
from tests.browser.lab_page import open_in_lab, screenshot_folder

pytestmark = pytest.mark.browser

WORKBENCH, NAME = "workbench.ipynb", "every_explorer.ipynb"
PAGE_PX, SEEN_PX, LEAST_LETTER_PX, LAPTOP = 860, 600, 9.9, {"width": 1366, "height": 768}
MOST_MS, MOST_RATIO = 50, 2
RATIO_OF_A_SEARCH = 4  # gears worth adding looks through all that could be added

LEAST_SLIDER_PX = 100  # chosen: a pixel a place where there are 100, as of a share in per cent
LEAST_NARROW_LETTER_PX, BARS_OF_A_BROWSER_PX = 8, 48

THREE_PLACES = ("low × 1/2", "middle × 1", "high × 2")
DOES_NOTHING = """from attrs import evolve
from gearcalc.learning.explorers import limit_view, page
seen = limit_view()
def nothing(turns):
    return evolve(seen, picture=evolve(seen.picture, svg=seen.svg.replace("</svg>", f"<!--{turns}--></svg>")))
page.explorer("Does nothing", [page.number_slider("turns", "Turns", 0, 99, 4)], nothing)"""
AT_A_WIDTH = """([whole, width]) => {
  whole.style.width = width && `${width}px`;
  const at = (part) => whole.querySelector(part).getBoundingClientRect();
  const hand = at(".gearcalc-hand"), picture = at(".gearcalc-picture > svg");
  const drawn = whole.querySelector("svg").viewBox.baseVal;
  const letters = [...whole.querySelectorAll("svg text")].map((text) => Number(text.getAttribute("font-size") || 99));
  const scale = Math.min(picture.width / drawn.width, picture.height / drawn.height);
  return {
    height: picture.bottom - hand.top, handBottom: hand.bottom - hand.top, wide: whole.scrollWidth - whole.clientWidth,
    scale, letters: scale * Math.min(...letters),
  };
}"""

SETTLED_AT_A_WIDTH = f"""async ([whole, width]) => {{
  ({AT_A_WIDTH})([whole, width]);
  await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 60)));
  return {{ whole: whole.offsetHeight, ...({AT_A_WIDTH})([whole, width]) }};
}}"""

FIRST_FACTS_AT_A_WIDTH = """([whole, width, count]) => {
  whole.style.width = width && `${width}px`;
  const rows = [...whole.querySelectorAll(".gearcalc-facts tr")].slice(0, count);
  return rows.at(-1).getBoundingClientRect().bottom - whole.getBoundingClientRect().top;
}"""

CUT_OFF = """([whole, width]) => {
  whole.style.width = width && `${width}px`;
  const boxes = [...whole.querySelectorAll(".gearcalc-box, .gearcalc-text, .gearcalc-unit, .gearcalc-control")];
  return new Promise((done) => requestAnimationFrame(() => setTimeout(() => done(boxes
    .filter((box) => box.offsetParent)
    .filter((box) => box.scrollWidth > box.clientWidth || box.scrollHeight > box.clientHeight + 1)
    .map((box) => box.value ?? box.textContent)), 60)));
}"""

SLIDERS = """() => [...document.querySelectorAll(".gearcalc-explorer input[type=range]")]
  .filter((one) => one.offsetParent)
  .map((one) => [one.offsetWidth, one.closest(".gearcalc-explorer").ariaLabel, one.ariaLabel])"""

# Where the keys stop in an explorer, one place for the radio buttons of a name, and what each is called.
STOPS = """
  const stops = (whole) => [...whole.querySelectorAll("input, textarea, button, summary, [tabindex='0']")].filter(
    (one) => one.type !== "radio" || one.checked);
  const called = (one) => one.name || one.id || one.textContent || one.ariaLabel;
"""
TO_BE_REACHED = f"""(whole) => {{{STOPS}
  return stops(whole).filter((one) => one.checkVisibility() && !one.disabled).map(called);
}}"""
BACK_TO = f"""(whole, stop) => {{{STOPS}
  stops(whole).findLast((one) => called(one) === stop).focus();
}}"""
IN_FOCUS = f"""(whole) => {{{STOPS}
  const one = document.activeElement;
  if (!whole.contains(one) || one === whole) return null;
  const marks = [one, one.nextElementSibling, one.closest("tr")].filter(Boolean).map((each) => getComputedStyle(each));
  const isMarked = (its) => its.outlineStyle !== "none" && parseFloat(its.outlineWidth) > 1.9;
  const box = one.getBoundingClientRect();
  return {{
    stop: called(one), kind: one.type || one.localName,
    state: [one.value, one.parentElement.open], isLast: one.value === one.max,
    isMarked: marks.some(isMarked),
    isSeen: box.bottom > 0 && box.top < innerHeight,
    isAlone: one.type === "radio" && whole.querySelectorAll(`input[name="${{one.name}}"]`).length < 2,
  }};
}}"""


@pytest.fixture(scope="module")
def bench(chromium, lab, tmp_path_factory):
    """The workbench on a laptop's screen, run, with an explorer after it that has nothing to reckon."""
    page = json.loads((notebooks_folder() / WORKBENCH).read_text(encoding="utf-8"))
    page["cells"] += [
        {"cell_type": "code", "source": DOES_NOTHING, "metadata": {}, "outputs": [], "execution_count": None}
    ]
    (lab.folder / NAME).write_text(json.dumps(page), encoding="utf-8")
    opened = open_in_lab(chromium, lab, NAME, screenshot_folder(tmp_path_factory.mktemp("screens")))
    opened.page.set_viewport_size(LAPTOP)
    opened.run_all()
    yield opened
    opened.close()


def at_a_width(bench, title, script, width):
    """What a script finds on an explorer at this width; after it the explorer is as wide as it was."""
    whole = ExplorerOnPage(bench, title).whole.element_handle()
    found = bench.page.evaluate(script, [whole, width])
    bench.page.evaluate(script, [whole, ""])
    return found


@pytest.fixture(scope="module")
def titles(bench):
    found = titles_on(bench.page)
    makers = [name for name in vars(explorers) if not name.endswith("_view") and callable(vars(explorers)[name])]
    assert len(found) == len(set(found)) == len(makers) + 1, "the workbench has every explorer, and one is added"
    return found


def test_the_hand_and_what_it_moves_are_in_sight_together(bench, titles):
    seen = {}
    for title in titles:
        ExplorerOnPage(bench, title).whole.evaluate("(it) => it.scrollIntoView({ block: 'start' })")
        bench.screenshot(f"laptop-{title.lower().replace(' ', '-')}")
        seen[title] = at_a_width(bench, title, AT_A_WIDTH, PAGE_PX)
    for title, size in seen.items():
        print(
            f"\n{title}: " + ", ".join(f"{name} {value:.2f}".removesuffix(".00") for name, value in size.items()),
            end="",
        )
    assert not {title: size for title, size in seen.items() if max(size["height"], size["handBottom"]) > SEEN_PX}
    assert not {title: size for title, size in seen.items() if size["wide"] > 1 or size["letters"] < LEAST_LETTER_PX}


@pytest.mark.parametrize("width", [400, 530, 576, 640, 731])
def test_letters_of_a_picture_are_read_on_a_narrow_page(bench, titles, width):
    seen = {title: at_a_width(bench, title, SETTLED_AT_A_WIDTH, width) for title in titles}
    print(f"\n{width} px:", *(f"{title} {size['letters']:.1f} px" for title, size in seen.items()), sep="\n  ")
    assert not {title: size for title, size in seen.items() if size["letters"] < LEAST_NARROW_LETTER_PX}
    assert not {title: size for title, size in seen.items() if size["wide"] > 1}  # the picture scrolls, not the page


@pytest.mark.parametrize("width", ["", PAGE_PX])
def test_a_long_step_of_a_change_over_is_seen_whole(bench, titles, width):
    explorer = ExplorerOnPage(bench, "Change over")
    whole, step = explorer.whole.element_handle(), explorer.slider("Step")
    heights = {}
    for at in range(1, 15):
        step.fill(str(at))
        step.dispatch_event("change")
        bench.page.wait_for_timeout(150)
        heights[at] = bench.page.evaluate(SETTLED_AT_A_WIDTH, [whole, width])["whole"]
    bench.page.evaluate(SETTLED_AT_A_WIDTH, [whole, ""])
    assert max(heights.values()) <= LAPTOP["height"] - BARS_OF_A_BROWSER_PX, heights


@pytest.mark.parametrize("title", ["Two pairs of gears", "Limit below the line", "Watch the gap", "Edit the set"])
def test_what_comes_of_it_is_in_sight_too(bench, titles, title):
    whole = ExplorerOnPage(bench, title).whole.element_handle()
    for width, rows in (("", 6), (PAGE_PX, 4)):
        low = bench.page.evaluate(FIRST_FACTS_AT_A_WIDTH, [whole, width, rows])
        assert low < SEEN_PX + 48, (width, low)  # from the explorer's upper edge to that of the screen
    bench.page.evaluate(FIRST_FACTS_AT_A_WIDTH, [whole, "", 1])


@pytest.mark.parametrize("width", [1280, 1024, 768])
def test_a_slider_is_long_enough_to_be_set(bench, titles, width):
    bench.page.set_viewport_size({"width": width, "height": 800})
    bench.page.wait_for_timeout(300)
    sliders = bench.page.evaluate(SLIDERS)
    bench.page.set_viewport_size(LAPTOP)
    print(f"\n{width} px:", *sorted(sliders), sep="\n  ")
    assert len(sliders) > 25
    assert [slider for slider in sliders if slider[0] < LEAST_SLIDER_PX] == []


@pytest.mark.parametrize("width", ["", PAGE_PX, 731, 640, 400])
def test_what_a_box_says_is_seen_whole(bench, titles, width):
    cut = {title: at_a_width(bench, title, CUT_OFF, width) for title in titles}
    assert cut == {title: [] for title in titles}


def test_all_of_it_is_reached_seen_and_moved_by_keys_alone_and_left_again(bench, titles):
    """WCAG 2.1.1 (keyboard), 2.1.2 (no trap), 2.4.7 (focus visible)."""
    faults = []
    for title in titles:
        whole = ExplorerOnPage(bench, title).whole
        to_be_reached = whole.evaluate(TO_BE_REACHED)
        assert to_be_reached, title
        whole.evaluate("(it) => { it.tabIndex = -1; it.focus(); }")  # before all of it
        reached = {way: [] for way in ("Tab", "Shift+Tab")}
        for way, stops in reached.items():
            for _ in range(len(to_be_reached) + 1):
                bench.page.keyboard.press(way)
                now = whole.evaluate(IN_FOCUS)
                if now is None:
                    break
                stops.append(now["stop"])
                faults += [f"{title}: {now}: {what}" for what in ("isMarked", "isSeen") if not now[what]]
                if way == "Tab" and (keys := moved_by(now)) is not None:
                    bench.page.keyboard.press(keys[0])
                    then = whole.evaluate(IN_FOCUS)
                    if then is None or then["state"] == now["state"]:
                        faults.append(f"{title}: {now}: {keys[0]} moves nothing, it is at {then}")
                    bench.page.keyboard.press(keys[1])
                    until = time.monotonic() + 10  # a choice may bring controls of its own, and take them away
                    while time.monotonic() < until and whole.evaluate(TO_BE_REACHED) != to_be_reached:
                        bench.page.wait_for_timeout(20)
            else:
                faults.append(f"{title}: {way} does not lead out of it")
            if way == "Tab" and stops:
                whole.evaluate(BACK_TO, stops[-1])
        if reached != {"Tab": to_be_reached, "Shift+Tab": to_be_reached[-2::-1]}:
            faults.append(f"{title}: {to_be_reached} are there, and what was reached is {reached}")
    assert not faults, "\n".join(faults)


def moved_by(control):
    """The key that moves a control, and the one that moves it back; None where keys type, press or scroll."""
    if control["kind"] == "range":
        return ("ArrowLeft", "ArrowRight") if control["isLast"] else ("ArrowRight", "ArrowLeft")
    if control["kind"] == "radio" and not control["isAlone"]:
        return "ArrowDown", "ArrowUp"
    return ("Enter", "Enter") if control["kind"] == "summary" else None


def test_an_answer_comes_at_once(bench, titles):
    took = {}
    for title in titles:
        explorer = ExplorerOnPage(bench, title)
        took[title] = [explorer.move(turn) for turn in range(20)]
    nothing = took.pop("Does nothing")
    for title, times in took.items():
        ratio = median(times) / median(nothing)
        said = f"median {median(times):.0f} ms, quickest quarter {_quick(times):.0f}, {ratio:.1f} times nothing"
        print(f"\n{title}: {said}", end="")
    slow = {title: _quick(times) for title, times in took.items() if _quick(times) > _most(title, _quick(nothing))}
    assert not slow, f"{slow}, where nothing takes {_quick(nothing):.0f}"


def test_axe_finds_nothing_after_all_were_used(bench, titles):
    """Each has been moved by then; where words can be typed, it now refuses what they say."""
    for title in titles:
        box = ExplorerOnPage(bench, title).whole.locator(".gearcalc-hand .gearcalc-text:visible").first
        if box.count():
            box.fill("?!")
            box.press("Enter")
    refused = bench.page.locator(".gearcalc-explorer .gearcalc-alert:not(:empty)")
    expect(refused.nth(4)).to_be_attached()
    assert axe.found_in_both_themes(bench.page, ".gearcalc-explorer") == []


def _quick(times: list[float]) -> float:
    """What a quarter of them do not exceed: on a busy machine the middle says more of the others at work."""
    return sorted(times)[len(times) // 4]


def _most(title: str, nothing: float) -> float:
    if title == SEARCH:
        return RATIO_OF_A_SEARCH * max(MOST_MS, nothing)
    return max(MOST_MS, MOST_RATIO * nothing)


def places_of_a_lever_px(page, width):
    """How high the buttons of a lever with three positions stand beside a picture."""
    css = (Path(gearcalc.__file__).parent / "learning" / "explorers" / "shell.css").read_text(encoding="utf-8")
    places = "".join(f"<label><input type='radio'><span>{each}</span></label>" for each in THREE_PLACES)
    page.set_content(
        f"<style>{css}</style><section class='gearcalc-explorer gearcalc-beside' style='width:{width}px'>"
        "<div class='gearcalc-stage'><div class='gearcalc-hand'><div class='gearcalc-control gearcalc-choice-control'>"
        f"<span class='gearcalc-label'>Lever</span><div class='gearcalc-choice'>{places}</div>"
        "</div></div></div></section>"
    )
    return page.evaluate("document.querySelector('.gearcalc-choice').offsetHeight")


@pytest.mark.parametrize("width", [PAGE_PX, 1040, 1200])
def test_the_places_of_a_lever_stand_side_by_side(chromium, width):
    with chromium.new_page(viewport=LAPTOP) as page:
        assert 30 < places_of_a_lever_px(page, width) < 45
