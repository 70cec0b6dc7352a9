"""One palette for pictures, pages and paper: every colour stands in pictures/style.py, and nowhere else."""

from __future__ import annotations

import re
from pathlib import Path

import gearcalc
from gearcalc.pictures import style
from tests.how_much import in_one

PACKAGE = Path(gearcalc.__file__).parent
PALETTE = PACKAGE / "pictures" / "style.py"
WRITTEN_IN = {".py", ".css", ".js", ".html", ".j2"}
WORDS = "white|black|gr[ae]y|silver|red|maroon|orange|yellow|olive|lime|green|teal|aqua|cyan|blue|navy|purple|brown"
LITERAL = re.compile(
    r"#(?:[0-9a-f]{8}|[0-9a-f]{6}|[0-9a-f]{3,4})\b|\b(?:rgba?|hsla?|hwb|lab|oklch)\(\s*\d", re.IGNORECASE
)
BY_NAME = re.compile(
    rf"""(?:fill|stroke|colou?r|background|border|outline|shadow)[\w-]*["']?\s*[=:][^;{{}}\n]*?["'\s:](?:{WORDS})["';\s]""",
    re.IGNORECASE,
)


def colours_in(text: str) -> list[str]:
    """Colours written out, by number or by name."""
    return [found[0] for pattern in (LITERAL, BY_NAME) for found in pattern.finditer(text)]


COPIES = {("gearcalc", "notebooks"), ("gearcalc", "data")}  # what an installed wheel carries along
FILES = [
    path
    for folder in (PACKAGE, PACKAGE.parent / "data" / "voila")
    for path in sorted(folder.rglob("*"))
    if path.suffix in WRITTEN_IN and path != PALETTE and path.relative_to(PACKAGE.parent).parts[:2] not in COPIES
]


@in_one("path", FILES)
def test_no_colour_stands_outside_the_palette(path):
    assert colours_in(path.read_text(encoding="utf-8")) == []


@in_one(
    "text",
    [
        "color: #fff;",
        'fill="#1B1F24"',
        "rgb(1, 2, 3)",
        "background: white;",
        'facecolor="white"',
        "border: 1px solid red;",
    ],
)
def test_a_colour_is_seen(text):
    assert colours_in(text)


@in_one("text", ["white-space: pre;", "fill=style.PAPER", "# add one", "the red button", "lab(x)"])
def test_what_is_no_colour_is_left_alone(text):
    assert not colours_in(text)


def test_the_stylesheet_of_explorers_takes_only_names_that_the_palette_has():
    sheet = (PACKAGE / "learning" / "explorers" / "shell.css").read_text(encoding="utf-8")
    used = set(re.findall(r"var\(--gearcalc-([\w-]+)", sheet))
    assert used == set(re.findall(r"--gearcalc-([\w-]+): #", style.as_css(".gearcalc-explorer")))


def test_letters_on_the_page_stand_out():
    """At least 4.5:1 for letters and 3:1 for the edges of controls: WCAG 2.1, 1.4.3 and 1.4.11 (from memory)."""

    def light(colour: str) -> float:
        channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for colour, least in ((style.INK, 7), (style.SOFT, 4.5), (style.BLUE, 4.5), (style.RUST, 4.5), (style.EDGE, 3)):
        assert (light(style.PAPER) + 0.05) / (light(colour) + 0.05) >= least


# Signs that only fonts of symbols have; those behind them are of WGL4, which the plainest fonts have (from memory).
BEYOND_PLAIN_FONTS = re.compile("[\u2300-\u23ff\u25a0-\u27bf](?<![■□▪▫▲►▼◄◊○●◘◙◦☺☻☼♀♂♠♣♥♦♪♫])")
AS_TEXT = '_MARKS = {NOT_YET: "…", NOT_RIGHT: "✗", RIGHT: "✓"}'  # for a terminal; on a page they are drawn


def test_no_sign_on_a_page_needs_a_font_of_symbols():
    notebooks, pages = PACKAGE.parent / "notebooks", PACKAGE.parent / "data" / "web"
    read = {path: path.read_text(encoding="utf-8") for path in (*FILES, *notebooks.glob("*.ipynb"), *pages.glob("*.*"))}
    assert sum(AS_TEXT in text for text in read.values()) == 1
    found = {path: BEYOND_PLAIN_FONTS.findall(text.replace(AS_TEXT, "")) for path, text in read.items()}
    assert {str(path): signs for path, signs in found.items() if signs} == {}
