"""A lesson open in JupyterLab in a real browser: run it, press keys on its controls, read what it shows."""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Locator, Page

from tests.browser.lab_server import LabServer

_MILLISECONDS_TO_OPEN = 90_000
_MILLISECONDS_TO_RUN = 300_000
_MILLISECONDS_TO_CHANGE = 15_000
_MILLISECONDS_TO_ANSWER = 20_000

# The execution indicator says 'idle' before the kernel is connected, and Run All is then dropped; so ask the
# application itself, all in one evaluation.
_READY = """async (limit) => {
  const until = Date.now() + limit;
  await window.jupyterapp.restored;
  while (Date.now() < until) {
    const dialog = document.querySelector('.jp-Dialog');
    if (dialog) return 'a dialog asks: ' + dialog.textContent;
    const panel = window.jupyterapp.shell.currentWidget;
    const session = panel?.context?.isReady && panel.sessionContext?.isReady && panel.sessionContext.session;
    if (session && session.kernel?.connectionStatus === 'connected' && session.kernel.status === 'idle') return '';
    await new Promise(resolve => setTimeout(resolve, 100));
  }
  return 'its kernel never became ready';
}"""

_RUN_ALL = """async () => { await window.jupyterapp.commands.execute('notebook:run-all-cells'); }"""

_RUN_THE_CELL_OF = """async (part) => {
  const { content } = window.jupyterapp.shell.currentWidget;
  content.activeCellIndex = content.widgets.findIndex((cell) => cell.node.contains(part));
  await window.jupyterapp.commands.execute('notebook:run-cell');
}"""

# Off-screen cells have no innerText, so the text content is read.
_OUTPUTS = """() => [...document.querySelectorAll('.jp-Notebook .jp-CodeCell')].map(
  cell => [...cell.querySelectorAll('.jp-OutputArea-output')].map(output => output.textContent).join('\\n'))"""

_WATCH = """([watched, limit]) => {
  window.gearcalcPressed = new Promise((resolve, reject) => {
    const target = document.querySelector(watched);
    if (!target) { reject(new Error('nothing matches ' + watched)); return; }
    let pressed = null;
    const key = () => { if (pressed === null) pressed = performance.now(); };
    document.addEventListener('keydown', key, {capture: true});
    const stop = () => { observer.disconnect(); document.removeEventListener('keydown', key, {capture: true}); };
    const observer = new MutationObserver(() => {
      if (pressed !== null) { stop(); resolve(performance.now() - pressed); }
    });
    observer.observe(target, {childList: true, subtree: true, characterData: true, attributes: true});
    setTimeout(() => { stop(); reject(new Error('the key changed nothing in ' + watched)); }, limit);
  });
  window.gearcalcPressed.catch(() => {});
}"""

# What JupyterLab itself logs, whatever the lesson does.
_NOT_OURS = re.compile(
    r"favicon|Failed to load resource.*(40[34])|@jupyterlab|lab-extension|jupyter-js-widgets/static|webgl", re.I
)


@dataclass
class LabPage:
    """An open lesson. `page` is Playwright's; `screenshots` the folder that pictures go to."""

    page: Page
    screenshots: Path
    console_errors: list[str] = field(default_factory=list)
    is_used: bool = False
    """Whether a test has worked on it before."""
    elsewhere: list[str] = field(default_factory=list)
    """Addresses of other hosts that the page asked for."""

    def run_all(self) -> None:
        """Run every cell, and wait until the last has run."""
        self.page.set_default_timeout(_MILLISECONDS_TO_RUN)
        self.page.evaluate(_RUN_ALL)
        self.page.set_default_timeout(_MILLISECONDS_TO_ANSWER)

    def run_again(self, part: Locator) -> None:
        """Run the cell again that shows this part, so that it stands as after Run All."""
        shown = part.element_handle()
        part.evaluate(_RUN_THE_CELL_OF)
        shown.wait_for_element_state("hidden")

    def outputs(self) -> list[str]:
        """The text of each code cell's outputs, in order."""
        texts: list[str] = self.page.evaluate(_OUTPUTS)
        return texts

    def slider(self, label: str) -> Locator:
        """The handle of the ipywidgets slider with exactly this label."""
        named = self.page.locator(".widget-label").filter(has_text=re.compile(f"^{re.escape(label)}$"))
        return self.page.locator(".widget-slider").filter(has=named).locator(".noUi-handle")

    def press(self, control: str | Locator, key: str, times: int = 1) -> None:
        """Bring a control into view, focus it and press a key on it."""
        found = self._one(control)
        found.scroll_into_view_if_needed()
        found.focus()
        for _ in range(times):
            self.page.keyboard.press(key)

    def press_and_measure(self, control: str | Locator, key: str, changed_selector: str) -> float:
        """Milliseconds from the key press on a control until something inside `changed_selector` is different."""
        found = self._one(control)
        found.scroll_into_view_if_needed()
        found.focus()
        self.page.evaluate(_WATCH, [changed_selector, _MILLISECONDS_TO_CHANGE])
        self.page.keyboard.press(key)
        taken: float = self.page.evaluate("() => window.gearcalcPressed")
        return taken

    def assert_no_console_errors(self) -> None:
        """Fail when the page has logged or thrown an error that is not JupyterLab's own, or has asked another host."""
        assert not self.elsewhere, "other hosts were asked: " + " | ".join(self.elsewhere)
        assert not self.console_errors, "on the console: " + " | ".join(self.console_errors)

    def close(self) -> None:
        """Stop the lesson's kernel and close the page."""
        self.page.evaluate("() => window.jupyterapp.shell.currentWidget?.sessionContext?.shutdown()")
        self.page.close()

    def screenshot(self, name: str, of: str | Locator | None = None) -> Path:
        """Take a picture of the page, or of one part of it."""
        place = self.screenshots / f"{name}.png"
        if of is None:
            self.page.screenshot(path=place)
        else:
            self._one(of).screenshot(path=place)
        return place

    def _one(self, control: str | Locator) -> Locator:
        return (self.page.locator(control) if isinstance(control, str) else control).first

    def _listen(self) -> None:
        self.page.on("console", lambda message: self._note(message.text) if message.type == "error" else None)
        self.page.on("pageerror", lambda error: self._note(str(error)))
        self.page.on("request", lambda asked: self._note_asked(asked.url))
        self.page.on("websocket", lambda opened: self._note_asked(opened.url))

    def _note_asked(self, url: str) -> None:
        if re.match("(?:http|ws)s?:", url) and urlsplit(url).hostname != "127.0.0.1":
            self.elsewhere.append(url)

    def _note(self, text: str) -> None:
        if not _NOT_OURS.search(text):
            self.console_errors.append(text)


def open_in_lab(browser: Any, server: LabServer, name: str, screenshots: Path) -> LabPage:
    """Open a notebook of the server's folder and wait until its kernel can be given work."""
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    lesson = LabPage(page, screenshots)
    lesson._listen()
    page.set_default_timeout(_MILLISECONDS_TO_OPEN)
    page.goto(server.page_for(name), wait_until="domcontentloaded")
    page.wait_for_function("window.jupyterapp !== undefined")
    why_not = page.evaluate(_READY, _MILLISECONDS_TO_OPEN)
    if why_not:
        lesson.screenshot("did-not-open")
        raise TimeoutError(f"{name} did not open: {why_not}")
    return lesson


def screenshot_folder(fallback: Path) -> Path:
    """The folder named by GEARCALC_SCREENSHOTS, made where it is missing, else the one given."""
    folder = Path(os.environ.get("GEARCALC_SCREENSHOTS") or fallback)
    folder.mkdir(parents=True, exist_ok=True)
    return folder
