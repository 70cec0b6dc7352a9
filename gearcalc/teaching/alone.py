"""A page that stands alone: its pictures are put into it; what it would fetch or run is taken out, and named."""

from __future__ import annotations

import html
import mimetypes
import re
from base64 import b64encode
from pathlib import Path
from urllib.parse import unquote

from gearcalc.basics.errors import without_controls

_TAKEN_OUT = re.compile(
    r"<(?P<tag>script|iframe|frame|object|applet|form|audio|video)\b(?P<said>[^>]*)>(?P<inside>.*?)</(?P=tag)\s*>"
    r"|<(?P<alone>embed|link|base|source|track|frame|script|iframe)\b(?P<says>[^>]*)>",
    re.S | re.I,
)
_CALLED = {"script": "a script", "iframe": "a frame", "frame": "a frame", "form": "a form", "link": "a link to a file"}
_PICTURE = re.compile(r"<img\b(?P<said>[^>]*)>", re.I)
_TAG = re.compile(r"<(?P<tag>[a-z][\w:-]*)(?P<said>(?:\s[^>]*)?)>", re.I)
_ATTRIBUTE = re.compile(r"""\s(?P<name>[\w:-]+)\s*=\s*(?:"(?P<value>[^"]*)"|'(?P<quoted>[^']*)')""")
_FETCHES = {"src", "srcset", "href", "xlink:href", "poster", "data", "action", "formaction", "background", "ping"}
_IN_CSS = re.compile(r"""url\(\s*(?:&quot;|["'])?(?!data:|#)(?P<to>[^)"']*)[^)]*\)|@import\s+(?P<imported>[^;]*);?""")
_STYLE = re.compile(r"<style\b[^>]*>.*?</style>", re.S | re.I)
_LONGEST = 100


def alone(page: str, beside: Path) -> tuple[str, tuple[str, ...]]:
    """Make a page stand alone; say what was left out of it, each once.

    >>> alone('<p>So.</p><script src="a.js"></script><img alt="A gear" src="gear.png">', Path("/nowhere"))
    ('<p>So.</p><em>(A picture is missing: A gear)</em>', ('a script (a.js)', 'a picture that is not there (gear.png)'))

    `page`: of HTML as nbconvert writes it; `beside`: the folder that its pictures are taken from, and no other.
    """
    left: list[str] = []
    page = _STYLE.sub(lambda found: _IN_CSS.sub(lambda css: _css(css, left), found[0]), page)
    while (out := _TAKEN_OUT.sub(lambda found: _taken_out(found, left), page)) != page:
        page = out  # what stood in another one
    page = _PICTURE.sub(lambda found: _picture(found, beside, left), page)
    page = _TAG.sub(lambda found: _tag(found, left), page)
    return page, tuple(dict.fromkeys(left))


def _named(what: str, address: str = "") -> str:
    where = without_controls(" ".join(html.unescape(address).split()))
    where = where if len(where) <= _LONGEST else f"{where[:_LONGEST]}…"
    return f"{what} ({where})" if where else what


def _attributes(said: str) -> dict[str, str]:
    return {found["name"].lower(): found["value"] or found["quoted"] or "" for found in _ATTRIBUTE.finditer(said)}


def _taken_out(found: re.Match[str], left: list[str]) -> str:
    tag = (found["tag"] or found["alone"]).lower()
    said = _attributes(found["said"] or found["says"] or "")
    address = next((said[name] for name in ("src", "href", "data", "action", "code") if name in said), "")
    left.append(_named(_CALLED.get(tag, f"what stands as <{tag}>"), address))
    return ""


def _picture(found: re.Match[str], beside: Path, left: list[str]) -> str:
    """A picture from a file beside the lesson as part of the page; nothing is taken from anywhere else."""
    said = _attributes(found["said"])
    source = said.get("src", "")
    if source.startswith("data:") and source != "data:,":
        return found[0]
    address = html.unescape(source)
    file = _file(beside, address)
    if file is not None:
        kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
        inside = f"data:{kind};base64,{b64encode(file.read_bytes()).decode('ascii')}"
        return found[0].replace(f'"{source}"', f'"{inside}"', 1)
    from_elsewhere = re.match(r"(?:[a-z][a-z\d+.-]*:)?//", address, re.I)
    left.append(_named("a picture from a host" if from_elsewhere else "a picture that is not there", address))
    return f"<em>(A picture is missing{': ' if said.get('alt') else ''}{said.get('alt', '')})</em>"


def _file(beside: Path, address: str) -> Path | None:
    try:
        file = (beside / unquote(address)).resolve()
        return file if beside in file.parents and file.is_file() else None
    except (OSError, ValueError):  # no name that a file can have
        return None


def _tag(found: re.Match[str], left: list[str]) -> str:
    """A tag without what it would fetch or run."""
    kept = _ATTRIBUTE.sub(lambda each: _attribute(each, found["tag"], left), found["said"])
    return found[0] if kept == found["said"] else f"<{found['tag']}{kept}>"


def _attribute(each: re.Match[str], tag: str, left: list[str]) -> str:
    name, value = each["name"].lower(), each["value"] or each["quoted"] or ""
    if name.startswith("on"):
        left.append(_named("a script", f"{name} of <{tag}>"))
        return ""
    is_followed = tag.lower() == "a" and name == "href"  # by who reads it, not by the page
    if name in _FETCHES and not is_followed and value and not value.startswith(("data:", "#")):
        left.append(_named(f"what <{tag}> would fetch", value))
        return ""
    return _IN_CSS.sub(lambda css: _css(css, left), each[0]) if name == "style" else each[0]


def _css(found: re.Match[str], left: list[str]) -> str:
    left.append(_named("what a style would fetch", (found["to"] or found["imported"] or "").strip("\"'")))
    return "none" if found["to"] is not None else ""
