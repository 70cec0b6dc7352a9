"""What somebody may plant where a text of theirs comes in: markup, signs that are obeyed, formulas, a shell's words."""

from __future__ import annotations

from html.parser import HTMLParser

RUNS = (
    "<script>window.planted = 1; document.title = 'planted'; alert('planted')</script>"
    '<img src="http://planted.example/1" onerror="window.planted = 2">'
    '<svg onload="window.planted = 3"></svg>'
    "<iframe srcdoc='<script>parent.planted = 4</script>'></iframe>"
    '<link rel="stylesheet" href="http://planted.example/2"><base href="http://planted.example/">'
    '<details open ontoggle="window.planted = 5"><summary>planted</summary></details>'
)
"""Markup that runs in more ways than one, and asks another host, where nothing keeps it from that."""


class _Acting(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._in: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        leads = [name for name, value in attrs if name in _LEADS and "planted" in (value or "")]
        obeyed = [name for name, _ in attrs if name.startswith("on") or name == "srcdoc"]
        if leads or obeyed or tag in _ACTS:
            self.found.append(" ".join([tag, *leads, *obeyed]))
        self._in.append(tag)

    def handle_data(self, data: str) -> None:
        if self._in and self._in[-1] in ("script", "style") and "planted" in data:
            self.found.append(f"{self._in[-1]}: {data[:60]}")


_LEADS = {"href", "src", "srcset", "action", "formaction", "data", "style", "xlink:href", "http-equiv"}
_ACTS = {"iframe", "object", "embed", "base", "form", "frame", "applet", "portal", "planted"}


def acting(page: str) -> list[str]:
    """What of a page or a piece of one, read as a browser reads it, would run, lead away or hold another page."""
    reader = _Acting()
    reader.feed(page)
    reader.close()
    return reader.found
