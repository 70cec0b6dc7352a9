"""What somebody may plant where a text of theirs comes in: markup, signs that are obeyed, formulas, a shell's words."""

from __future__ import annotations

from html.parser import HTMLParser
from unicodedata import category

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


def obeyed_by_a_terminal(text: str) -> list[str]:
    """The signs of a text that a terminal may obey, but for the end of a line."""
    return [ascii(sign) for sign in text if category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp") and sign != "\n"]


PRINTABLE = {
    "a formula, and a script": '=HYPERLINK("http://planted.example")<script>planted</script>&amp;',
    "the end of a drawing": "+1</svg>]]></text></title><img src=planted onerror=planted>",
    "mathematics, LaTeX, a shell": r"-1 $x$ $$y$$ \input{planted} 50% `id` $(id); #_^~&{}",
    "Markdown, and mathematics of another sign": r"@x ![i](http://planted.example) [l](javascript:planted) \(y\) \[z\]",
    "the end of an attribute": """x" onload="planted" ' onload='planted' <planted>""",
}
"""Texts that a name may have, as each sign of them can be printed."""
OBEYED = {
    "a screen wiped": "x\x1b[2Jy",
    "a title of the window": "x\x1b]0;planted\x07y",
    "the same by a sign of eight bits": "x\x9b2Jy",
    "a line written over": "good\rbad",
    "vertical tab": "x\x0by",
    "the end of a file": "x\x1cy",
    "next line": "x\x85y",
    "line separator": "x\u2028y",
    "a line feed": "x\ny",
    "the end of a line as Windows writes it": "x\r\ny",
    "form feed": "x\x0cy",
    "a bell": "x\x07y",
    "a text turned round": "x\u202egnitirw",
    "an embedding": "x\u202ay\u202by\u202cy\u202dy",
    "isolates": "x\u2066y\u2067y\u2068y\u2069y",
    "marks of direction": "x\u200ey\u200fy\u061cy",
    "signs of no width": "x\u200by\u200cy\u200dy\ufeffy",
    "NUL": "x\0y",
    "delete": "x\x7fy",
    "half a sign": "x\ud800y",
    "a formula behind a tab": "\t=1+1",
    "a formula behind a return": "\r=1+1",
}
"""Texts with signs that a terminal, an editor or a page obeys and does not show."""
PLANTED = PRINTABLE | OBEYED
