"""axe-core asked about a page: what keeps out those who don't see it, see it otherwise, or use no mouse.

It is under the MPL, and therefore no part of this repository: npm fetches it once, and it is kept where the parts of a
site are. GEARCALC_AXE names an axe.min.js that is elsewhere. What is asked in all: tests/browser/test_accessible.py.
"""

from __future__ import annotations

import os
import tarfile
from base64 import b64encode
from functools import cache
from hashlib import sha512
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import alone_with
from gearcalc.serving.parts import SOON_FROM_NPM, parts_folder, run, tool

VERSION = "4.14.1"
INTEGRITY = "sha512-FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe37OgudVGtQ=="
"""What that package contains, as the registry of npm says it."""
_SECONDS_TO_FETCH = 120.0

RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
COLOURS = ("color-contrast", "link-in-text-block")
"""All that another theme can change."""

# How many rules are kept, and each place that breaks one. 'target-size' is of WCAG 2.2, and off where nobody names it.
_ASK = """async ([within, tags]) => {
  const { passes, violations } = await axe.run(within ? { include: within } : document, {
    runOnly: tags, rules: { "target-size": { enabled: true } }, resultTypes: ["violations"], preload: false,
  });
  return [passes.length, violations.flatMap(({ id, nodes }) => nodes.map(({ html, any, all, none }) =>
    `${id}: ${html.slice(0, 200)} ${[...any, ...all, ...none].map(({ message }) => message).join("; ")}`))];
}"""
_WEAR = """async (theme) => {
  await window.jupyterapp.commands.execute("apputils:change-theme", { theme });
  while (document.body.dataset.jpThemeName !== theme) await new Promise((soon) => setTimeout(soon, 50));
  await new Promise((soon) => setTimeout(soon, 300));
}"""


def found_on(page: Any, within: str = "", rules: tuple[str, ...] = RULES) -> list[str]:
    """What axe finds on a whole page, or on the parts of it that a selector names: nothing, as a rule.

    Skips the test, with one line for all, where axe-core can't be had.
    """
    script = _source()
    if script is None:
        pytest.skip("npm is missing, or a network for it: axe-core could not be fetched to be asked about the pages")
    if not page.evaluate("'axe' in window"):
        page.evaluate(script)
    kept, found = page.evaluate(_ASK, [within, list(rules)])
    assert kept or found, "there was nothing to look at"
    return list(found)


def found_in_both_themes(page: Any, within: str) -> list[str]:
    """What axe finds on parts of an open notebook of JupyterLab, first in its light theme, then in the dark one."""
    found = found_on(page, within)
    page.evaluate(_WEAR, "JupyterLab Dark")
    found += [f"dark: {each}" for each in found_on(page, within, COLOURS)]
    page.evaluate(_WEAR, "JupyterLab Light")
    return found


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
            with TemporaryDirectory(dir=folder) as scratch:
                command = [npm, "pack", *SOON_FROM_NPM, f"axe-core@{VERSION}"]
                run(command, "fetching axe-core with npm", "See that there is a network.", cwd=scratch)
                os.replace(Path(scratch) / place.name, place)
    content = f"sha512-{b64encode(sha512(place.read_bytes()).digest()).decode()}"
    assert content == INTEGRITY, f"{place} is not what the registry of npm has under that name: delete it"
    return place
