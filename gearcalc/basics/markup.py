"""Words for plain text, LaTeX and HTML at once, and tables of them, everything escaped."""

from __future__ import annotations

import html
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from gearcalc.basics.errors import without_controls

_A_WORD = re.compile(r"[a-z][a-z'’-]*(?=[,.;]? |[,.;]?$)")
_BREAKS_NOTHING = re.compile(
    r"(?<=[≈·]) | (?=·)|(?<=[0-9½¼¾]) (?=(?:mm|in|tpi|ppm|µm|µin|thou|turns?|s|rev/min|%)\b|%)"
)

RUNS_NOTHING = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
"""The content policy of a page that stands alone: no script runs on it, and nothing is fetched."""
HEAD = f'''<meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{RUNS_NOTHING}">'''
"""What the head of every such page begins with."""

_MATHS_MARK = re.compile(r"[$\\]")
# MathJax undoes few escapes inside \text, so these stand outside it, as signs of maths mode.
_LATEX_SIGNS = {
    "\\": r"{\backslash}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "%": r"\%",
    "_": r"\_",
    "^": r"{\wedge}",
    "~": r"{\sim}",
}


@dataclass(frozen=True, slots=True)
class Written:
    """The same thing three ways: plain text, LaTeX (maths mode, no dollars), HTML.

    >>> print(Written("π mm", r"\\pi\\,\\mathrm{mm}", "π mm"))
    π mm
    """

    text: str
    latex: str
    html: str

    def __str__(self) -> str:
        return self.text

    def _repr_latex_(self) -> str:
        return f"${self.latex}$"

    def _repr_html_(self) -> str:
        return self.html

    def __add__(self, other: Written | str) -> Written:
        more = plain(other) if isinstance(other, str) else other
        return Written(self.text + more.text, self.latex + more.latex, self.html + more.html)


class ShownAsWritten:
    """What is shown as its `written` says, as text, in a notebook's HTML and in LaTeX."""

    __slots__ = ()

    @property
    def written(self) -> Written:
        """What is shown, three ways."""
        raise NotImplementedError

    def __str__(self) -> str:
        return self.written.text

    def _repr_html_(self) -> str:
        return self.written.html

    def _repr_latex_(self) -> str:
        return self.written._repr_latex_()


def one_line(words: str) -> str:
    """Words with every run of white space made one space, and what a terminal obeys written out.

    What holds a number together stays.

    >>> ascii(one_line("  10\\u202f601 ppm\\n too far "))
    "'10\\\\u202f601 ppm too far'"
    """
    return without_controls(re.sub(r"[^\S\u202f\xa0]+", " ", words).strip())


def sentence(words: str) -> str:
    """Words with a capital at their beginning, where a word stands there and no name as it is typed.

    >>> sentence("a class number must be whole"), sentence("my_lathe.toml: no such lever")
    ('A class number must be whole', 'my_lathe.toml: no such lever')
    """
    return words[:1].upper() + words[1:] if _A_WORD.match(words) else words


def ended(words: str) -> str:
    """End a sentence with a point, unless a sign stands there that ends one.

    >>> ended("20 tpi"), ended("Which slip?"), ended("It is.")
    ('20 tpi.', 'Which slip?', 'It is.')
    """
    return words if words.endswith((".", "?", "!", "…")) else f"{words}."


def in_html(words: str) -> str:
    """Words as the text of an HTML element: no markup, and no mathematics either, which a notebook page looks for.

    >>> in_html("4 < 5"), in_html("$x$")
    ('4 &lt; 5', '<span>$</span>x<span>$</span>')

    What opens and closes mathematics there must stand in one element, so that a mark alone in its own opens nothing.
    """
    return no_maths(html.escape(words))


def drawn(is_right: bool, heard: str = "") -> str:
    """A tick or a cross as HTML, drawn: the plainest fonts have neither. `heard`: what it is, where no word says so.

    >>> 'role="img" aria-label="right"' in drawn(True, "right")
    True
    """
    lines = "M1 6 4 9 9 1" if is_right else "M1 1 9 9M9 1 1 9"
    ears = f'role="img" aria-label="{html.escape(heard)}"' if heard else 'aria-hidden="true"'
    pen = 'fill="none" stroke="currentColor" stroke-width="2"'
    return f'<svg viewBox="0 0 10 10" width="0.75em" height="0.75em" {ears}><path d="{lines}" {pen}/></svg>'


def no_maths(page: str) -> str:
    """HTML that has such marks in its texts only, not in its tags, with each in an element of its own.

    >>> no_maths("<b>$x$</b>")
    '<b><span>$</span>x<span>$</span></b>'
    """
    return _MATHS_MARK.sub(r"<span>\g<0></span>", page)


def plain(words: str) -> Written:
    """Words as they are, safe in all three.

    >>> plain("50 % < 3/4").latex
    '\\\\text{50 }\\\\%\\\\text{ < 3/4}'
    """
    latex = "".join(
        "".join(_LATEX_SIGNS[sign] for sign in run) if special else rf"\text{{{''.join(run)}}}"
        for special, run in groupby(words, _LATEX_SIGNS.__contains__)
    )
    return Written(words, latex, in_html(words))


def held_together(page: str) -> str:
    """HTML in which a line ends within no number with its unit, and within no train.

    >>> held_together("at ≈ 2.3 mm a turn").split(" ")
    ['at', '≈\\xa02.3\\xa0mm', 'a', 'turn']
    """
    return _BREAKS_NOTHING.sub("\u00a0", page)


def _cell(value: str | Written) -> str:
    return held_together(value.html if isinstance(value, Written) else in_html(value))


def html_table(caption: str, rows: Iterable[tuple[str, str | Written]], *, note: str = "") -> str:
    """A small table of names and values as HTML, everything escaped.

    >>> html_table("Gears", [("driver", "<40>")]).count("&lt;40&gt;")
    1
    """
    body = "".join(
        f'<tr><th scope="row" style="text-align:left">{in_html(name)}</th>'
        f'<td style="text-align:left">{value.html if isinstance(value, Written) else in_html(value)}</td></tr>'
        for name, value in rows
    )
    below = f"<p><small>{in_html(note)}</small></p>" if note else ""
    return (
        f'<table><caption style="text-align:left;font-weight:bold">{in_html(caption)}</caption>'
        f"<tbody>{body}</tbody></table>{below}"
    )


def html_columns(
    caption: str | Written, names: Iterable[str], rows: Iterable[Sequence[str | Written]], *, notes: Iterable[str] = ()
) -> str:
    """A table with a name over each column as HTML, escaped and held together; a row's first cell names it.

    >>> html_columns("Trains", ["train", "error"], [["40/80", "<1 ppm"]]).count('<th scope="')
    3
    """
    left = 'style="text-align:left"'

    head = "".join(f'<th scope="col" {left}>{in_html(name)}</th>' for name in names)
    body = "".join(
        f'<tr><th scope="row" {left}>{_cell(first)}</th>'
        + "".join(f"<td {left}>{_cell(value)}</td>" for value in others)
        + "</tr>"
        for first, *others in rows
    )
    below = "".join(f"<p><small>{in_html(note)}</small></p>" for note in notes)
    return (
        f'<table><caption style="text-align:left;font-weight:bold">{_cell(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{below}"
    )
