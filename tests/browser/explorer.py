"""An explorer on an open page, found by its title: its controls by their labels, and what it shows."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

from tests.browser.lab_page import LabPage

_SIDES = ("x", "y", "width", "height")
_HANDS = {  # what is moved, where it is not the first slider
    "Bench": ".gearcalc-table input:checked",
    "Turning train": "[aria-label='First idler']",
    "Catch the thread": "[aria-label='Pass 2']",
    "Feed and finish": "[aria-label='Nose']",
}
SEARCH = "Gears worth adding"


def titles_on(page: Page) -> list[str]:
    """The titles of the explorers on an open page."""
    sections = page.locator("section.gearcalc-explorer")
    titles: list[str] = sections.evaluate_all("(them) => them.map((one) => one.ariaLabel)")
    return titles


class ExplorerOnPage:
    """The explorer of that title in a lesson that has run, as it stands then; `place` counts those of one title."""

    def __init__(self, lesson: LabPage, title: str, place: int = 0) -> None:
        self.lesson, self.title = lesson, title
        self.whole = lesson.page.locator(f'section.gearcalc-explorer[aria-label="{title}"]').nth(place)
        if lesson.is_used:
            lesson.run_again(self.whole)
        self.whole.scroll_into_view_if_needed()
        self.picture = self.whole.locator(".gearcalc-picture")
        expect(self.picture.locator("svg").first).to_be_visible()

    def slider(self, label: str) -> Locator:
        return self.whole.get_by_label(label, exact=True)

    def box(self, label: str) -> Locator:
        return self.whole.get_by_label(f"{label}, as a number", exact=True)

    def type(self, box: Locator, text: str) -> None:
        box.fill(text)
        box.press("Enter")

    def choose(self, label: str, option: str) -> None:
        self.whole.get_by_role("radiogroup", name=label).get_by_role("radio", name=option, exact=True).check()

    def expect_facts(self, *words: str) -> None:
        for word in words:
            expect(self.whole.locator(".gearcalc-facts")).to_contain_text(word)

    def expect_message(self, words: str) -> None:
        expect(self.whole.locator(".gearcalc-message")).to_have_text(words)

    def expect_refusal(self, *words: str) -> None:
        """The message line says no, with these words in it."""
        for word in words:
            expect(self.whole.locator(".gearcalc-alert")).to_contain_text(word)

    def svg(self) -> str:
        return self.picture.inner_html()

    def place(self) -> list[float]:
        """Where the controls stand in the explorer, and its picture with what may stand above it."""
        whole = self.whole.bounding_box() or {}
        parts = (
            self.whole.locator(part).first.bounding_box() or {} for part in (".gearcalc-controls", ".gearcalc-canvas")
        )
        return [part[side] - whole.get(side, 0) if side in "xy" else part[side] for part in parts for side in _SIDES]

    def press(self, control: Locator, key: str, times: int = 1) -> list[float]:
        """Press a key on a control; the milliseconds until the picture was different, one a press."""
        selector = f'section.gearcalc-explorer[aria-label="{self.title}"] .gearcalc-picture'
        return [self.lesson.press_and_measure(control, key, selector) for _ in range(times)]

    def move(self, turn: int) -> float:
        """Move its hand by one key, to and fro; the milliseconds until the picture was different.

        `turn`: which time this is. Where it searches, a tolerance is typed that nobody has typed before, and Enter.
        """
        if self.title == SEARCH:
            box = self.slider("Within ppm")
            box.fill(str(51 + turn))
            return self.press(box, "Enter")[0]
        hand = self.whole.locator(_HANDS.get(self.title, "input[type=range]")).first
        to_and_fro = ("ArrowDown", "ArrowUp") if self.title == "Bench" else ("ArrowRight", "ArrowLeft")
        return self.press(hand, to_and_fro[turn % 2])[0]
