"""The pages of a site: our own first page, and what JupyterLite's pages are given at their head."""

from __future__ import annotations

import base64
import html
import json
import re
from collections.abc import Iterable, Sequence
from hashlib import sha256
from pathlib import Path
from string import Template
from urllib.parse import quote

import gearcalc
from gearcalc.basics import writing
from gearcalc.basics.cautions import FOOT
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import data_folder
from gearcalc.pictures import style
from gearcalc.serving.lessons_in_a_site import SiteLesson
from gearcalc.serving.parts import REINSTALL
from gearcalc.serving.pythons import SIZES

_WIDGETS = "extensions/@jupyter-widgets/jupyterlab-manager/static"
_SCRIPT = re.compile(r"<script(?P<about>[^>]*)>(?P<code>.*?)</script>", re.S)
_HEAD, _BEGINS = '<meta charset="utf-8">', "await import("
_ICONS = (
    "favicon.ico",
    *(f"static/favicons/favicon-{kind}.ico" for kind in ("notebook", "busy-1", "busy-2", "busy-3")),
)
_TITLE = re.compile(r"<title>.*?</title>", re.S)

# JupyterLab makes a function of each schema of its settings, which 'wasm-unsafe-eval' does not allow; the widgets bring
# an explorer's script as a blob:. Workers and requests need neither; Python's worker has no policy but its server's.
_POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-eval' blob: {hashes}; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self'; worker-src 'self'; "
    "frame-src 'self' blob: data:; object-src 'none'; base-uri 'self'; form-action 'self'"
)


def put_pages(site: Path, apps: Iterable[str], lessons: Sequence[SiteLesson]) -> None:
    """Write our first page, and give those of JupyterLite what says where Python is and makes way for new lessons."""
    folder, ours = data_folder() / "web", site / "static" / "gearcalc"
    ours.mkdir(parents=True)
    for name in ("editions.js", "page.js"):
        (ours / name).write_bytes((folder / name).read_bytes())
    (ours / "page.css").write_text(_css("page.css"), encoding="utf-8")
    (ours / "lessons.json").write_text(json.dumps({each.name: each.print for each in lessons}), encoding="utf-8")
    for app in apps:
        for name in _ICONS:  # which it asks for, wherever it was opened
            (site / name).parent.mkdir(exist_ok=True)
            (site / name).write_bytes((site / app / "favicon.ico").read_bytes())
        page = site / app / "index.html"
        page.write_text(with_our_head(page.read_text(encoding="utf-8"), "../", _ahead(site)), encoding="utf-8")
    sizes = json.loads((site / "static" / "pyodide" / SIZES).read_text(encoding="utf-8"))
    (site / "index.html").write_text(first_page(lessons, sum(sizes.values()) / 1e6), encoding="utf-8")


def _ahead(site: Path) -> list[str]:
    """The scripts that widgets ask for when the first of them is shown, and whatever else lies with these."""
    return sorted(f"{_WIDGETS}/{path.name}" for path in (site / _WIDGETS).glob("[0-9]*.js"))


def _css(name: str) -> str:
    return style.as_css(":root") + (data_folder() / "web" / name).read_text(encoding="utf-8")


def first_page(lessons: Sequence[SiteLesson], megabytes: float) -> str:
    """Write the page that a site opens with: its lessons, and what is kept where.

    `megabytes`: of Python, as it is fetched with the first lesson.
    """
    items = "\n".join(_item(lesson) for lesson in lessons)
    page = Template((data_folder() / "web" / "index.html").read_text(encoding="utf-8"))
    return page.substitute(
        css=_css("index.css"),
        first=html.escape(_where(lessons[0])),
        foot=html.escape(FOOT),
        lessons=items,
        megabytes=writing.decimal(megabytes, 0),
        version=html.escape(gearcalc.__version__),
    )


def _item(lesson: SiteLesson) -> str:
    time = f' <span class="time">{html.escape(lesson.time)}</span>' if lesson.time else ""
    number, dot, title = lesson.title.partition(" · ")
    number, title = (number, title) if dot else ("", lesson.title)
    named = f'<span class="number">{html.escape(number)}</span> <span class="title">{html.escape(title)}</span>'
    return f'<li><a href="{html.escape(_where(lesson))}">{named}{time}</a></li>'


def _where(lesson: SiteLesson) -> str:
    return f"notebooks/index.html?path={quote(lesson.name)}"


def with_our_head(page: str, to_top: str, ahead: Sequence[str] = ()) -> str:
    """Give a page of JupyterLite its content policy and our scripts; it begins when saved lessons were looked at.

    `to_top`: from it to the top of the site, as in an address; `ahead`: scripts that it fetches before they are asked
    for, from there. Raises NotPossibleError for a page of another kind.
    """
    if _BEGINS not in page or _HEAD not in page:
        raise NotPossibleError("this page of JupyterLite is not as we know it", remedy=REINSTALL)
    page = _TITLE.sub("<title>gearcalc lessons</title>", page, count=1)
    page = page.replace(_BEGINS, f"await window.gearcalcMoved;\n        {_BEGINS}", 1)
    scripts = (found["code"] for found in _SCRIPT.finditer(page) if _runs(found["about"]) and found["code"].strip())
    hashes = " ".join(f"'sha256-{base64.b64encode(sha256(code.encode()).digest()).decode()}'" for code in scripts)
    wanted = html.escape(json.dumps(ahead))
    ours = [
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY.format(hashes=hashes)}">',
        f'<link rel="stylesheet" href="{to_top}static/gearcalc/page.css">',
        f'<script src="{to_top}static/gearcalc/editions.js" data-top="{to_top}"></script>',
        f'<script src="{to_top}static/gearcalc/page.js" data-top="{to_top}" data-ahead="{wanted}"></script>',
    ]
    return page.replace(_HEAD, "\n    ".join([_HEAD, *ours]), 1)


def _runs(about: str) -> bool:
    return "src=" not in about and "json" not in about
