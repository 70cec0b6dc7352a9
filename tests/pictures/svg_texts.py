"""The lettering of a drawing, read back from its SVG: what it says, and the box that each line takes up.

Widths are Helvetica's own, from the font metrics (AFM) that matplotlib carries: nothing that the drawings estimate.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

SPACE = "{http://www.w3.org/2000/svg}"
_FRAME_PX = 6.0
_ROTATED = re.compile(r"rotate\(-90 ")


@dataclass(frozen=True)
class Words:
    """A line of lettering: its words, the point it is set at, and the box it takes up."""

    text: str
    x: float
    y: float
    box: tuple[float, float, float, float]


@cache
def _widths(bold: bool) -> dict[str, float]:
    import matplotlib

    name = "Helvetica-Bold.afm" if bold else "Helvetica.afm"
    metrics = (Path(matplotlib.get_data_path()) / "fonts" / "pdfcorefonts" / name).read_text(encoding="latin-1")
    glyphs = re.findall(r"^C (-?\d+) ; WX (\d+) ; N (\w+)", metrics, re.MULTILINE)
    widths = {chr(int(code)): int(width) / 1000 for code, width, _ in glyphs if int(code) > 0}
    return widths | {"−": widths["+"], "≈": widths["="], "·": 0.28, "µ": 0.56, "…": 1.0, "→": 1.0, "←": 1.0}


def width_px(text: str, size: float, bold: bool) -> float:
    """How wide Helvetica sets a line."""
    return size * sum(_widths(bold).get(letter, 0.6) for letter in text)


def words_of(svg: str) -> list[Words]:
    """Every line of lettering of a drawing."""
    return [_words(line) for line in ElementTree.fromstring(svg).iter(f"{SPACE}text")]


def _words(line: ElementTree.Element) -> Words:
    x, y = float(line.get("x", 0)), float(line.get("y", 0))
    parts = list(line.iter(f"{SPACE}tspan")) or [line]
    sizes = [float(part.get("font-size", line.get("font-size", 0))) for part in parts]
    width = sum(
        width_px(part.text or "", size, "bold" in (part.get("font-weight") or line.get("font-weight") or ""))
        + float(part.get("dx", 0))
        for part, size in zip(parts, sizes, strict=True)
    )
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[line.get("text-anchor", "start")]
    up, down = 0.74 * max(sizes), 0.22 * max(sizes)
    box = (left, y - up, left + width, y + down)
    if _ROTATED.match(line.get("transform", "")):
        box = (x - up, y - width / 2, x + down, y + width / 2)
    return Words("".join(line.itertext()), x, y, box)


def boxes_off_the_sheet(svg: str) -> list[str]:
    """Words that reach over the frame."""
    root = ElementTree.fromstring(svg)
    width, height = float(root.get("width")), float(root.get("height"))
    return [
        words.text
        for words in words_of(svg)
        if words.box[0] < _FRAME_PX
        or words.box[1] < _FRAME_PX
        or words.box[2] > width - _FRAME_PX
        or words.box[3] > height - _FRAME_PX
    ]


def boxes_on_each_other(svg: str, slack_px: float = 2.0) -> list[tuple[str, str]]:
    """Pairs of words that lie over each other by more than a hair."""
    return [
        (one.text, other.text)
        for one, other in combinations(words_of(svg), 2)
        if min(one.box[2], other.box[2]) - max(one.box[0], other.box[0]) > slack_px
        and min(one.box[3], other.box[3]) - max(one.box[1], other.box[1]) > slack_px
    ]


def by_tag(svg: str, tag: str, **wanted: str) -> list[ElementTree.Element]:
    """The elements of a name with these attributes."""
    found = ElementTree.fromstring(svg).iter(f"{SPACE}{tag}")
    return [each for each in found if all(each.get(key.replace("_", "-")) == value for key, value in wanted.items())]


def scale_from(labels: dict[float, float]):
    """From pixels back to what the labels along an axis say: value -> place, a straight line through two of them."""
    (a, x), (b, y) = min(labels.items()), max(labels.items())
    return lambda place: a + (place - x) * (b - a) / (y - x)


def as_number(words: str) -> float:
    """What a signed figure in a drawing says."""
    return float(words.replace("−", "-").replace("+", ""))
