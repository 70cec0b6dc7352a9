"""Every lesson and page, run in a real browser: what its outputs say to those who don't see or don't use a mouse.

Our own check is always on. axe-core is asked too where its source is at hand: GEARCALC_AXE names the file axe.min.js
(npm package axe-core, 4.x), which is under the MPL and therefore no part of this repository.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gearcalc.basics.files import notebooks_folder

pytestmark = pytest.mark.browser

AXE = os.environ.get("GEARCALC_AXE")
PAGES = sorted(path.name for path in notebooks_folder().glob("*.ipynb"))
OUTPUTS = ".jp-OutputArea-output"  # JupyterLab around them has faults of its own

# Cells out of sight are not laid out until they are scrolled to, and what is not laid out is not looked at.
SHOW_ALL = "* { content-visibility: visible !important; }"

SILENT = """(outputs) => {
  const text = (id) => document.getElementById(id)?.textContent ?? "";
  const said = (element) => [
    element.getAttribute("aria-label") ?? "",
    ...(element.getAttribute("aria-labelledby") ?? "").split(" ").map(text),
    ...(element.matches("svg") ? [element.querySelector(":scope > title")?.textContent ?? ""] : []),
    ...[...(element.labels ?? [])].map((label) => label.textContent),
  ].join("").trim();
  const faults = new Set();
  const find = (output, selector, what, isFault) => {
    for (const element of output.querySelectorAll(selector)) {
      if (isFault(element)) faults.add(`${what}: ${element.outerHTML.slice(0, 160)}`);
    }
  };
  const within = (element) => element.parentElement.closest("svg, [aria-hidden='true'], button");
  const twice = (element) => document.querySelectorAll(`[id="${CSS.escape(element.id)}"]`).length > 1;
  for (const output of document.querySelectorAll(outputs)) {
    find(output, "img", "a picture without alt", (image) => !image.alt.trim());
    find(output, "svg:not([aria-hidden='true'])", "an svg without a name", (svg) => !within(svg) && !said(svg));
    find(output, "input:not([type=hidden]), select, textarea", "a control without a name", (box) => !said(box));
    find(output, "button, summary, a[href]", "a button without a name",
      (button) => !said(button) && !button.textContent.trim() && !button.title);
    find(output, "th", "an empty heading", (heading) => !heading.textContent.trim());
    find(output, "[tabindex]", "a place of its own in the order of Tab", (element) => element.tabIndex > 0);
    find(output, "[id]", "an id that is there twice", twice);
  }
  return [...faults];
}"""
UNFOLD = """(outputs) => {
  for (const folded of document.querySelectorAll(outputs + " details")) folded.open = true;
}"""
WEAR = """async (theme) => {
  await window.jupyterapp.commands.execute("apputils:change-theme", { theme });
  while (document.body.dataset.jpThemeName !== theme) await new Promise((soon) => setTimeout(soon, 50));
  await new Promise((soon) => setTimeout(soon, 300));
}"""
ASK_AXE = """async (outputs) => {
  const { passes, violations } = await axe.run({ include: [[outputs]] });
  const looked = passes.reduce((sum, { nodes }) => sum + nodes.length, 0);
  return [looked, violations.filter(({ impact }) => ["serious", "critical"].includes(impact)).flatMap(
    ({ id, impact, nodes }) => nodes.map(({ html, any, all }) =>
      `${impact} ${id}: ${html.slice(0, 200)} ${[...any, ...all].map(({ message }) => message).join("; ")}`))];
}"""


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.opens(name), id=name.removesuffix(".ipynb")) for name in PAGES]
)
def test_everything_shown_has_words(lesson, name):
    lesson.page.add_style_tag(content=SHOW_ALL)
    lesson.page.evaluate(UNFOLD, OUTPUTS)
    assert lesson.page.locator(OUTPUTS).count() > 0
    faults = lesson.page.evaluate(SILENT, OUTPUTS)
    if AXE:
        lesson.page.evaluate(Path(AXE).read_text(encoding="utf-8"))
        for theme in ("JupyterLab Dark", "JupyterLab Light"):
            lesson.page.evaluate(WEAR, theme)
            looked_at, violations = lesson.page.evaluate(ASK_AXE, OUTPUTS)
            assert looked_at > 20
            faults += [f"{theme}: {each}" for each in violations]
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(
    ("fault", "html"),
    [
        ("a picture without alt", "<img src='data:,'>"),
        ("an svg without a name", "<svg><desc>A gear.</desc></svg>"),
        ("a control without a name", "<label>Teeth</label><input>"),
        ("a button without a name", "<button><svg aria-hidden='true'></svg></button>"),
        ("an empty heading", "<table><tr><th></th><th>teeth</th></tr></table>"),
        ("a place of its own in the order of Tab", "<p tabindex='3'>Words.</p>"),
        ("an id that is there twice", "<p id='one'>Words.</p><p id='one'>More.</p>"),
        ("", "<img alt='A gear.' src='data:,'><svg><title>A gear</title></svg><label>Teeth <input></label>"),
    ],
)
def test_finds_the_fault_that_is_there(chromium, fault, html):
    page = chromium.new_page()
    try:
        page.set_content(f"<div class='jp-OutputArea-output'>{html}</div>")
        assert {found.split(":")[0] for found in page.evaluate(SILENT, OUTPUTS)} == ({fault} if fault else set())
    finally:
        page.close()


@pytest.mark.skipif(not AXE, reason="axe-core was not asked: name its axe.min.js in GEARCALC_AXE")
def test_axe_is_the_version_that_is_meant():
    assert "axe v4." in Path(AXE).read_text(encoding="utf-8")[:200]
