"""The pages of a site: our own first page, and what JupyterLite's pages are given at their head."""

from __future__ import annotations

import base64
import html
import re
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from string import Template
from urllib.parse import quote

import gearcalc
from gearcalc.basics.files import data_folder
from gearcalc.pictures import style
from gearcalc.serving.lessons_in_a_site import SiteLesson

_SCRIPT = re.compile(r"<script(?P<about>[^>]*)>(?P<code>.*?)</script>", re.S)
_TITLE = re.compile(r"<title>.*?</title>", re.S)

# 'unsafe-eval' is for JupyterLab, which compiles the schemas of its settings; blob: for the scripts of explorers.
_POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-eval' blob: {hashes}; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' data: blob:; worker-src 'self' blob:; "
    "frame-src 'self' blob: data:; object-src 'none'; base-uri 'self'; form-action 'self'"
)


def first_page(lessons: Iterable[SiteLesson]) -> str:
    """Write the page that a site opens with: its lessons, and what is kept where."""
    folder = data_folder() / "web"
    items = "\n".join(_item(lesson) for lesson in lessons)
    page = Template((folder / "index.html").read_text(encoding="utf-8"))
    css = style.as_css(":root") + (folder / "index.css").read_text(encoding="utf-8")
    return page.substitute(lessons=items, version=html.escape(gearcalc.__version__), css=css)


def _item(lesson: SiteLesson) -> str:
    time = f' <span class="time">{html.escape(lesson.time)}</span>' if lesson.time else ""
    number, dot, title = lesson.title.partition(" · ")
    number, title = (number, title) if dot else ("", lesson.title)
    where = f"notebooks/index.html?path={quote(lesson.name)}"
    named = f'<span class="number">{html.escape(number)}</span> <span class="title">{html.escape(title)}</span>'
    return f'<li><a href="{html.escape(where)}">{named}{time}</a></li>'


def with_our_head(page: Path, to_top: str) -> None:
    """Give a page of JupyterLite its content policy, and the script that says how far Python is.

    `to_top`: from the page to the top of the site, as in an address.
    """
    text = page.read_text(encoding="utf-8")
    scripts = (found["code"] for found in _SCRIPT.finditer(text) if _runs(found["about"]) and found["code"].strip())
    hashes = " ".join(f"'sha256-{base64.b64encode(sha256(code.encode()).digest()).decode()}'" for code in scripts)
    policy = f'<meta http-equiv="Content-Security-Policy" content="{_POLICY.format(hashes=hashes)}">'
    ours = f'<script src="{to_top}static/gearcalc/page.js" data-top="{to_top}"></script>'
    text = _TITLE.sub("<title>gearcalc lessons</title>", text, count=1)
    page.write_text(
        text.replace('<meta charset="utf-8">', f'<meta charset="utf-8">\n    {policy}\n    {ours}', 1), "utf-8"
    )


def _runs(about: str) -> bool:
    return "src=" not in about and "json" not in about
