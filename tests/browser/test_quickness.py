"""How quick the lessons are in a browser alone: each time against another way in the same run, never by the clock."""

from __future__ import annotations

import time
from statistics import geometric_mean, median

import pytest

from tests.browser.explorer import ExplorerOnPage, titles_on
from tests.browser.lab_page import LabPage, open_in_lab
from tests.browser.lite_site import LitePage, listened_to, served
from tests.browser.plain_site import PLAIN, build_plain_site
from tests.chromium import begun_in
from tests.how_much import THOROUGH

pytestmark = [pytest.mark.browser, pytest.mark.skipif(not THOROUGH, reason="takes minutes: asked with --thorough")]
WORKBENCH, PRESSES = "workbench.ipynb", 8
MOST_OF_ALL, MOST_OF_ONE = 1.2, 1.5
"""Python takes some five times as long in a browser, and a message no time: what draws much is slower, the most not."""
LESSON, TIMES, MOST_OPENING = "01_one_turn.ipynb", 3, 2.0
FIRST_OUTPUT = """async (limit) => {
  const until = Date.now() + limit;
  window.jupyterapp.commands.execute('notebook:run-all-cells');
  while (Date.now() < until) {
    const shown = document.querySelector('.jp-Notebook .jp-CodeCell .jp-OutputArea-output');
    if (shown?.offsetHeight) return shown.textContent;
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
  return null;
}"""


def seconds_to_first_output(profile, address, name):
    """From asking for a notebook until something stands below a cell of it, which is run as soon as it can be."""
    page = profile.new_page()
    began = time.monotonic()
    LitePage(page, address).open(name)
    said = page.evaluate(FIRST_OUTPUT, 240_000)
    took = time.monotonic() - began
    assert said, "no output came"
    page.close()
    return took


class TestFirstOutput:
    def test_comes_within_twice_the_time_of_an_empty_notebook_of_jupyterlite(
        self, chromium, lite_folder, tmp_path_factory
    ):
        scratch = tmp_path_factory.mktemp("plain")
        plain = build_plain_site(scratch / "site", lite_folder, scratch)
        took = {(way, visit): [] for way in ("ours", "plain") for visit in ("cold", "warm")}
        with served(lite_folder) as ours_at, served(plain) as plain_at:
            for turn in range(TIMES):
                for way, address, name in (("ours", ours_at, LESSON), ("plain", plain_at, PLAIN)):
                    profile = begun_in(chromium, scratch / f"{way}-{turn}")
                    for visit in ("cold", "warm"):
                        took[way, visit].append(seconds_to_first_output(profile, address, name))
                    profile.close()
        for visit in ("cold", "warm"):
            ours, theirs = median(took["ours", visit]), median(took["plain", visit])
            print(f"\nfirst output, {visit}: {ours:.1f} s, plain {theirs:.1f} s, ratio {ours / theirs:.2f}", end="")
        for visit in ("cold", "warm"):
            assert median(took["ours", visit]) <= MOST_OPENING * median(took["plain", visit]), visit


class TestFromKeyToPicture:
    def test_is_no_slower_than_in_jupyterlab(self, chromium, lab, lite_site, tmp_path):
        in_lab = open_in_lab(chromium, lab, WORKBENCH, tmp_path)
        in_lab.run_all()
        in_site = listened_to(chromium.new_page(viewport={"width": 1280, "height": 900}), lite_site).open(WORKBENCH)
        assert in_site.run_all() == []
        pages = (LabPage(in_site.page, tmp_path), in_lab)
        titles = titles_on(in_lab.page)
        assert titles == titles_on(in_site.page)
        ratios = {}
        for title in titles:
            both = [ExplorerOnPage(page, title) for page in pages]
            took = [[explorer.move(turn) for explorer in both] for turn in range(PRESSES)]
            here, there = (median(times) for times in zip(*took, strict=True))
            ratios[title] = here / there
            print(f"\n{title}: {here:.0f} ms, in JupyterLab {there:.0f} ms, ratio {here / there:.2f}", end="")
        in_lab.close()
        in_site.page.close()
        print(f"\nall: {geometric_mean(ratios.values()):.2f}")
        assert geometric_mean(ratios.values()) <= MOST_OF_ALL
        assert {title: ratio for title, ratio in ratios.items() if ratio > MOST_OF_ONE} == {}
