"""axe-core asked about a page: what keeps out those who don't see it, see it otherwise, or use no mouse.

It is under the MPL, and therefore no part of this repository: npm fetches it once, and it is kept where the parts of a
site are. GEARCALC_AXE names an axe.min.js that is elsewhere. What is asked in all: tests/browser/test_accessible.py.
"""

from __future__ import annotations

import os
import tarfile
from base64 import b64encode
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from hashlib import sha512
from pathlib import Path
from typing import Any

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import alone_with, scratch_in
from gearcalc.serving.parts import SCRATCH, SOON_FROM_NPM, parts_folder, run, tool

VERSION = "4.14.1"
INTEGRITY = "sha512-FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
"""What that package contains, as the registry of npm says it."""
_SECONDS_TO_FETCH = 120.0
_TRIES = 4

RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
COLOURS = ("color-contrast", "link-in-text-block")
"""All that another theme can change."""

LEAST_SEEN = 0.9
"""The share of what is there that axe must have come to an answer about: it passes over what it takes for hidden."""
# A formula has the colour of its sentence. The words of a picture are filled, not coloured, and axe does not read that:
# what holds for them is in tests/pictures.
THERE = {
    "color-contrast": "*:not(svg, svg *, math, math *, option, [disabled] *, [disabled], [inert] *, [inert])",
    "heading-order": "h1, h2, h3, h4, h5, h6",
    "image-alt": "img",
    "label": "input:not([type=hidden], [type=submit], [type=button]), textarea",
}

# 'target-size' is of WCAG 2.2, and off where nobody names it. Of words in the colour of their ground axe says that it
# does not know.
_ASK = """async ([within, tags, there]) => {
  const { passes, violations, incomplete } = await axe.run(within ? { include: within } : document, {
    runOnly: tags, rules: { "target-size": { enabled: true } }, resultTypes: ["passes", "violations", "incomplete"],
    preload: false, selectors: false, elementRef: true,
  });
  const said = ({ any, all, none }) => [...any, ...all, ...none].map(({ message }) => message).join("; ");
  const of = (rule, results) => results.flatMap(({ id, nodes }) => id === rule ? nodes : []);
  const same = of("color-contrast", incomplete).filter(({ any }) => any[0].data?.messageKey === "equalRatio");
  const found = [...violations, { id: "color-contrast", nodes: same }];
  const isText = (element) => [...element.childNodes].some(
    ({ nodeType, data }) => nodeType === Node.TEXT_NODE && /\\p{L}|\\p{N}/u.test(data));
  const isThere = (rule, element) => {
    const { width, height } = element.getBoundingClientRect();  // what is only said has a box of one pixel
    return width > 1 && height > 1 && element.checkVisibility({ visibilityProperty: true, opacityProperty: true })
      && (rule !== "color-contrast" || isText(element));
  };
  const parts = [...document.querySelectorAll(within || "body")];
  const passedOver = Object.entries(there).map(([rule, selector]) => {
    const inside = parts.flatMap((part) => [part, ...part.querySelectorAll("*")]);
    const all = [...new Set(inside)].filter((element) => element.matches(selector) && isThere(rule, element));
    const answered = new Set(of(rule, [...passes, ...found]).map(({ element }) => element));
    const why = new Map(of(rule, incomplete).map((node) => [node.element, said(node)]));
    return [rule, all.length, all.filter((element) => !answered.has(element)).map(
      (element) => `${element.outerHTML.slice(0, 120)} ${why.get(element) ?? ""}`)];
  });
  const faults = found.flatMap(
    ({ id, nodes }) => nodes.map((node) => `${id}: ${node.html.slice(0, 200)} ${said(node)}`));
  return [passes.length + violations.length, passedOver, faults];
}"""
# JupyterLab's body has no height and hides what is outside it, which axe takes for all there is.
_BODY = "body { min-height: 100vh !important; }"
# And what is scrolled away has none of the grounds behind it on which the window's height of words stands.
_HEIGHT = """async (within) => {
  const frame = () => new Promise(requestAnimationFrame);
  for (let turn = 0; turn < 4; turn++) await frame();
  const parts = [...document.querySelectorAll(within)];
  for (const part of parts) for (let around = part; around; around = around.parentElement) around.scrollTop = 0;
  await frame();
  return Math.ceil(Math.max(...parts.map((part) => part.getBoundingClientRect().bottom))) + 60;
}"""
_WEAR = """async (theme) => {
  await window.jupyterapp.commands.execute("apputils:change-theme", { theme });
  while (document.body.dataset.jpThemeName !== theme) await new Promise((soon) => setTimeout(soon, 50));
  await new Promise((soon) => setTimeout(soon, 300));
}"""


def found_on(page: Any, within: str = "", rules: tuple[str, ...] = RULES) -> list[str]:
    """What axe finds on a whole page, or on the parts of it that a selector names: nothing, as a rule.

    What it passed over counts as found. Skips the test, with one line for all, where axe-core can't be had.
    """
    with _all_in_the_window(page, within):
        return _found(page, within, rules)


def found_in_both_themes(page: Any, within: str) -> list[str]:
    """What axe finds on parts of an open notebook of JupyterLab, first in its light theme, then in the dark one."""
    found = found_on(page, within)
    page.evaluate(_WEAR, "JupyterLab Dark")
    found += [f"dark: {each}" for each in found_on(page, within, COLOURS)]
    page.evaluate(_WEAR, "JupyterLab Light")
    return found


@contextmanager
def _all_in_the_window(page: Any, within: str) -> Iterator[None]:
    """Make the window so high that all of the parts are in it, or of the page."""
    before = page.viewport_size
    page.add_style_tag(content=_BODY)
    try:
        for _ in range(_TRIES):  # what stands in a higher window may itself be higher
            height = page.evaluate(_HEIGHT, within or "body *")
            if height <= page.viewport_size["height"]:
                break
            page.set_viewport_size({**before, "height": height})
        yield
    finally:
        page.set_viewport_size(before)


def _found(page: Any, within: str, rules: tuple[str, ...]) -> list[str]:
    script = _source()
    if script is None:
        pytest.skip("npm is missing, or a network for it: axe-core could not be fetched to be asked about the pages")
    if not page.evaluate("'axe' in window"):
        page.evaluate(script)
    there = {rule: which for rule, which in THERE.items() if rules == RULES or rule in rules}
    kept, passed_over, found = page.evaluate(_ASK, [within, list(rules), there])
    for rule, count, unseen in passed_over:
        if len(unseen) > (1 - LEAST_SEEN) * count:
            found.append(f"{rule}: passed over {len(unseen)} of {count}: {'; '.join(unseen[:8])}")
    assert kept or found, "there was nothing to look at"
    return list(found)


@cache
def _source() -> str | None:
    if named := os.environ.get("GEARCALC_AXE"):
        return Path(named).read_text(encoding="utf-8")
    try:
        with tarfile.open(kept_in(parts_folder())) as packed:
            script = packed.extractfile("package/axe.min.js")
            assert script is not None
            return script.read().decode("utf-8")
    except NotPossibleError:
        return None


def kept_in(folder: Path) -> Path:
    """The package as it is kept in a folder, fetched by the first who asks; others wait for it.

    Raises NotPossibleError where it can't be had.
    """
    folder.mkdir(parents=True, exist_ok=True)
    place = folder / f"axe-core-{VERSION}.tgz"
    with alone_with(place, _SECONDS_TO_FETCH):
        if not place.is_file():
            npm = tool("npm", "fetches axe-core, once")
            with scratch_in(folder, SCRATCH) as scratch:
                command = [npm, "pack", *SOON_FROM_NPM, f"axe-core@{VERSION}"]
                run(command, "fetching axe-core with npm", "See that there is a network.", cwd=scratch)
                os.replace(scratch / place.name, place)
    content = f"sha512-{b64encode(sha512(place.read_bytes()).digest()).decode()}"
    assert content == INTEGRITY, f"{place} is not what the registry of npm has under that name: delete it"
    return place
