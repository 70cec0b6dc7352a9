"""What comes back is read as its readers would read it: a browser, a terminal, a spreadsheet, a program."""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from xml.etree import ElementTree

from attrs import frozen

LONGEST_MESSAGE = 2000
_OBEYED = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066\u2067]")
"""What a terminal obeys rather than shows, but for the end of a line and a tab; and what turns the reading round."""
_FORMULA = re.compile(r"\s*[=+\-@]")
_NUMBER = re.compile(r"\s*[+-]?[\d.,/ ]+(e[+-]?\d+)?\s*", re.I)
_MATHEMATICS = ("$zq$", "$$zq$$", "\\(zq\\)")


@frozen
class Said:
    """Something that came back: 'html', 'svg', 'text', 'csv', 'json' or 'refusal', and what it says."""

    kind: str
    text: str

    @property
    def fault(self) -> str:
        """What is wrong with it, empty where nothing is."""
        return "; ".join(_FAULTS[self.kind](self.text))


class _Reader(HTMLParser):
    """Reads a page as a browser does, and notes what was planted and has come to life."""

    def __init__(self) -> None:
        super().__init__()
        self.alive: list[str] = []
        self._in = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._in = tag
        if tag == "zq":
            self.alive.append("a tag of somebody's own")
        for name, value in attrs:
            said = (value or "").casefold()
            if "zq" in name or (name.startswith("on") and "zq" in said) or said.startswith("javascript:zq"):
                self.alive.append(f"{tag} has {name}={value!r:.60}")

    def handle_data(self, data: str) -> None:  # mathematics is looked for in what is read, not in a description
        self.alive += [f"mathematics of somebody's own: {each}" for each in _MATHEMATICS if each in data]
        if (self._in, data.strip()[:2]) in (("script", "zq"), ("b", "zq")):
            self.alive.append(f"{self._in} with {data!r:.60}")

    def handle_comment(self, data: str) -> None:
        if "zq" in data:
            self.alive.append("a comment of somebody's own")


def _of_html(page: str) -> Iterator[str]:
    if "zq" not in page:
        return
    reader = _Reader()
    reader.feed(page)
    reader.close()
    if reader.alive:
        yield f"HTML with {reader.alive[0]}"


def _of_svg(picture: str) -> Iterator[str]:
    yield from (fault for fault in _of_html(picture) if "mathematics" not in fault)  # it is shown as a picture
    try:
        ElementTree.fromstring(picture)
    except ElementTree.ParseError as problem:
        yield f"SVG that is no XML: {problem}"


def without_isolates(said: str) -> str:
    """As a name is told apart with them from what stands beside it, which is right to do."""
    return said.replace("\N{FIRST STRONG ISOLATE}", "").replace("\N{POP DIRECTIONAL ISOLATE}", "")


def _of_text(text: str) -> Iterator[str]:
    found = _OBEYED.search(text)
    if found:
        yield f"text that a terminal obeys: {text[max(0, found.start() - 20) : found.end() + 20]!r}"


def _of_csv(table: str) -> Iterator[str]:
    for row in csv.reader(table.removeprefix("\ufeff").splitlines()):
        for cell in row:
            if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell):
                yield f"a formula in csv: {cell!r:.60}"
                return


def _of_json(answer: str) -> Iterator[str]:
    try:
        json.loads(answer)
    except ValueError as problem:
        yield f"JSON that can't be read: {problem}"


def of_message(message: str) -> Iterator[str]:
    """What is wrong with the words of a refusal."""
    if not message.strip():
        yield "a refusal without words"
    if len(message) > LONGEST_MESSAGE:
        yield f"a refusal of {len(message)} signs: {message[:60]!r}"
    if _OBEYED.search(message) or "\u2028" in message or "\u2029" in message:
        yield f"a refusal that can't be printed: {message[:200]!r}"


_FAULTS = {"html": _of_html, "svg": _of_svg, "text": _of_text, "csv": _of_csv, "json": _of_json, "refusal": of_message}
