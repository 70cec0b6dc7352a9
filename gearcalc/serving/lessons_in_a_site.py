"""Lessons as they stand in a site: no kernel named, a print of what they say, links to those that are there."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zlib import crc32

import gearcalc
from gearcalc.serving.words_in_a_site import in_a_site

_HEADING = re.compile(r"^# +(.+)$", re.M)
_TIME = re.compile(r"^\*\*Time:\*\* *(about [^.,;(]+?)(?=[.,;(]|$)", re.M)
_LINK = re.compile(r"(?<!!)\[(?P<words>[^\]]*)\]\((?P<to>[\w-]+\.ipynb)(?:#[^)]*)?\)")


@dataclass(frozen=True, slots=True)
class SiteLesson:
    """A lesson of a site: its file's `name`, `title`, the `time` it takes in words, and a print of what it says."""

    name: str
    title: str
    time: str
    print: str
    content: str


def lesson_for_site(path: Path, together: Collection[str]) -> SiteLesson:
    """Read a lesson, and make it ready to stand in a site.

    >>> from gearcalc.basics.files import notebooks_folder
    >>> ready = lesson_for_site(notebooks_folder() / "01_one_turn.ipynb", ())
    >>> ready.title, ready.time
    ('01 · One turn of the spindle', 'about 60 minutes')

    `together`: the file names that its links may lead to; of another the words alone are left, and in a table no row.
    """
    book = json.loads(path.read_text(encoding="utf-8"))
    for cell in book["cells"]:
        cell["source"] = in_a_site("".join(cell["source"]))
        if cell["cell_type"] == "markdown":
            cell["source"] = _with_links_to(together, cell["source"])
        elif cell["cell_type"] == "code":
            cell.update(outputs=[], execution_count=None)
    said = print_of(book["cells"])
    book["metadata"].pop("kernelspec", None)
    book["metadata"]["gearcalc"] = {"edition": gearcalc.__version__, "print": said}
    words = "\n".join(cell["source"] for cell in book["cells"] if cell["cell_type"] == "markdown")
    heading, time = _HEADING.search(words), _TIME.search(words)
    title = re.sub(r"[*`]", "", heading[1]).strip() if heading else path.stem
    content = json.dumps(book, indent=1, ensure_ascii=False) + "\n"
    return SiteLesson(path.name, title, time[1].strip() if time else "", said, content)


def _with_links_to(together: Collection[str], words: str) -> str:
    lines = []
    for line in words.split("\n"):
        leads_to = [link["to"] for link in _LINK.finditer(line)]
        if line.startswith("|") and leads_to and not set(leads_to) & set(together):
            continue
        lines.append(_LINK.sub(lambda link: link[0] if link["to"] in together else link["words"], line))
    return "\n".join(lines)


def print_of(cells: Sequence[Any]) -> str:
    """A print of what the cells of a notebook say, the same for a copy that was only run.

    `data/web/editions.js` works it out in the browser by the same rule, where no better sum may be at hand.

    >>> print_of([{"cell_type": "code", "source": "1 + 1", "outputs": []}])
    'eb033a97-7'
    """
    told = "\0".join(f"{cell['cell_type'][0]}\0{''.join(cell['source'])}" for cell in cells).encode("utf-8")
    return f"{crc32(told):08x}-{len(told)}"
