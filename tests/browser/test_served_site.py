"""A class on one network: the lessons run from another address over plain http, at once, and are sent only once."""

from __future__ import annotations

import json
import re
import threading
from pathlib import Path

import pytest

from gearcalc.serving.parts import parts_folder, pinned
from gearcalc.serving.servers import SiteServer
from tests.browser.lab_page import screenshot_folder
from tests.browser.lite_site import listened_to
from tests.chromium import ELSEWHERE, begun_in
from tests.how_much import THOROUGH

pytestmark = pytest.mark.browser
README = Path(__file__).parents[2] / "README.md"
READERS = 24 if THOROUGH else 2
FIRST, SECOND = "01_one_turn.ipynb", "02_two_pairs.ipynb"
FIRST_CELLS = """async (most) => {
  const { content } = window.jupyterapp.shell.currentWidget;
  const said = [];
  for (const [index, cell] of content.widgets.entries()) {
    if (cell.model.type !== 'code' || said.length === most) continue;
    content.activeCellIndex = index;
    await window.jupyterapp.commands.execute('notebook:run-cell');
    const { execution_count, outputs } = cell.model.toJSON();
    said.push(execution_count === null ? 'not run'
      : outputs.filter(output => output.output_type === 'error').map(output => output.evalue).join());
  }
  return said;
}"""
MOST_MB_SECOND = 0.2
"""It comes itself, and what tells which lessons there are."""


@pytest.fixture
def server(lite_folder, monkeypatch):
    monkeypatch.setattr("gearcalc.serving.servers.addresses", lambda: ("192.168.77.1", "10.0.0.9"))
    said: list[str] = []
    with SiteServer(lite_folder, 0, lan=True, say=said.append) as one:
        running = threading.Thread(target=one.serve_forever, daemon=True)
        running.start()
        yield one
        one.shutdown()
        running.join()
    assert said == [], "the server had something to say"


class TestAClass:
    def test_all_run_their_first_cells_and_the_second_lesson_comes_from_what_is_kept(self, chromium, server, tmp_path):
        address = f"http://{ELSEWHERE}:{server.server_port}"
        profile = begun_in(chromium, tmp_path / "profile")
        contexts = [profile, *(chromium.new_context() for _ in range(READERS - 1))]
        first = [listened_to(context.new_page(), address) for context in contexts]
        open_and_run(first, FIRST)
        first_mb = server.bytes_sent / 1e6 / READERS
        for reader in first:
            reader.page.close()
        before = server.bytes_sent
        open_and_run([listened_to(profile.new_page(), address)], SECOND)
        second_mb = (server.bytes_sent - before) / 1e6
        for context in contexts:
            context.close()
        print(f"MB a reader: {first_mb:.1f}, then {second_mb:.2f}; {server.files_sent} files in all")
        assert first_mb == pytest.approx(said_mb("A first lesson takes some"), rel=0.15)
        assert second_mb < MOST_MB_SECOND


def said_mb(before):
    """How many MB the README says behind these words."""
    (found,) = re.findall(rf"{before} (\d+) MB", README.read_text(encoding="utf-8").replace("\n", " "))
    return int(found)


class TestHowLarge:
    def test_what_is_said_is_what_the_site_has(self, lite_folder):
        python = sum(json.loads((lite_folder / "static/pyodide/sizes.json").read_text()).values()) / 1e6
        all_of_it = sum(path.stat().st_size for path in lite_folder.rglob("*") if path.is_file()) / 1e6
        wanted = pinned()
        packed = f"pyodide-{wanted['pyodide']['version']}.tgz"
        fetched = sum((parts_folder() / name).stat().st_size for name in (packed, *wanted["kernel"], *wanted["wheels"]))
        assert python == pytest.approx(said_mb("A first lesson takes some"), rel=0.1)
        assert all_of_it == pytest.approx(said_mb("The folder has"), rel=0.1)
        assert fetched / 1e6 == pytest.approx(said_mb("The first folder fetches some"), rel=0.1)
        first_page = (lite_folder / "index.html").read_text(encoding="utf-8")
        assert f"the first time {python:.0f} MB from where this page came from" in first_page


def open_and_run(readers, name):
    """Open a lesson on all pages at once and run its first cells."""
    for reader in readers:
        reader.page.goto(f"{reader.address}/notebooks/index.html?path={name}", wait_until="commit")
    for reader in readers:
        reader.wait(at_most_ms=120_000 * READERS)
        assert not reader.page.evaluate("window.isSecureContext"), "not as from another computer"
        assert reader.page.evaluate(FIRST_CELLS, 4) == [""] * 4
        assert (reader.elsewhere(), reader.errors) == ([], [])


class TestTheBoard:
    def test_the_address_stands_large_and_whole_on_any_board(self, chromium, server, tmp_path):
        for width, height in ((1920, 1080), (1024, 768), (390, 844)):
            page = chromium.new_page(viewport={"width": width, "height": height})
            said: list[str] = []
            page.on("console", lambda message, said=said: said.append(message.text))
            page.goto(server.class_page_address)
            for part in (".address", ".code svg"):
                box = page.locator(part).bounding_box()
                assert box["x"] >= 0, part
                assert box["x"] + box["width"] <= width, part
                assert box["y"] + box["height"] <= height, part
            assert page.locator(".address").inner_text() == server.addresses[0]
            height_of_letters = page.locator(".address").evaluate("it => parseFloat(getComputedStyle(it).fontSize)")
            assert height_of_letters >= 0.045 * width
            assert [line for line in said if "favicon" not in line and "404" not in line] == []
            page.screenshot(path=screenshot_folder(tmp_path) / f"board-{width}.png")
            page.close()
