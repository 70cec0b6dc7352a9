"""What a page to hand out must keep to, as a function from the page to the faults found, in words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser

MOST_BYTES = 3_000_000
_TEX = re.compile(r"\\[a-zA-Z]{2,}|\\[()\[\]]|\$[^$\n]{1,200}\$|[_^]\{")
_FETCHES = {"src", "srcset", "href", "xlink:href", "poster", "data", "action", "formaction", "background", "ping"}
_IN_CSS = re.compile(r"""url\(\s*['"]?(?!data:)([^)'"]*)|@import\s+([^;]*)""")
_NOT_READ = {"style", "pre"}  # LaTeX may be printed by a cell, as what somebody types


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.ids: Counter[str] = Counter()
        self.read = ""
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.inside: list[str] = []
        self.in_summary = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        self.tags[tag] += 1
        self.in_summary = self.in_summary or tag == "summary"
        if tag in _NOT_READ:
            self.open.append(tag)
        self.inside = [*self.inside, ""] if tag == "details" else self.inside
        if tag in ("script", "iframe", "object", "embed", "link", "base", "form"):
            self.faults.append(f"a {tag}")
        if tag == "img" and not said.get("alt", "").strip():
            self.faults.append("a picture without alt")
        for name, value in said.items():
            self.faults += [f"{tag} {name}: {value[:60]}"] if name in _FETCHES and not _stays(tag, value) else []
            self.faults += [f"{tag} {name}"] if name.startswith("on") else []
        self.faults += [f"in a style: {found}" for found in _in_css(said.get("style", ""))]
        self.ids[said.get("id", "")] += 1

    def handle_endtag(self, tag: str) -> None:
        if self.open and self.open[-1] == tag:
            self.open.pop()
        self.in_summary = self.in_summary and tag != "summary"
        if tag == "details" and not self.inside.pop().strip():
            self.faults.append("a fold with nothing in it")

    def handle_data(self, data: str) -> None:
        if not self.in_summary:
            self.inside = [text + data for text in self.inside]
        if self.open[-1:] == ["style"]:
            self.faults += [f"in a style: {found}" for found in _in_css(data)]
        elif not self.open:
            self.read += data


def _stays(tag: str, value: str) -> bool:
    """Whether what is named is in the page, or a page beside it to go to."""
    beside = tag == "a" and re.fullmatch(r"[\w-]+\.html(#[\w%.-]+)?|#[^:]*", value)
    return bool(beside) or value.startswith("data:")


def _in_css(text: str) -> Iterator[str]:
    return (found[0] for found in _IN_CSS.finditer(text))


def faults_as_handed_out(html: str) -> list[str]:
    """LaTeX to be read, what would be fetched, pictures without words, ids that stand twice, too many bytes."""
    page = _Page()
    page.feed(html)
    faults = page.faults + [f"LaTeX: {found[0]}" for found in _TEX.finditer(page.read)]
    faults += [f"an id that is there twice: {name}" for name, times in page.ids.items() if name and times > 1]
    if page.tags["h1"] != 1 or page.tags["main"] != 1 or page.tags["title"] != 1:
        faults.append("not one title, one heading and one main part")
    if len(html.encode()) > MOST_BYTES:
        faults.append(f"{len(html.encode())} bytes")
    return faults


def links_of(html: str) -> set[str]:
    """The pages that a page leads to."""
    return set(re.findall(r'<a href="([^"#]+)', html))
