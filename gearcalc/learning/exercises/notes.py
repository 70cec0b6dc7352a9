"""What an exercise has to read: words with bold and paragraphs, small tables, notes under a heading."""

from __future__ import annotations

import re
from collections.abc import Iterable

from attrs import field, frozen

from gearcalc.basics import markup

_BOLD = re.compile(r"\*\*(.+?)\*\*")
_STRONG = r"<strong>\1</strong>"
_LEFT = ' style="text-align:left"'


def tidy(words: str) -> str:
    """Words without the line breaks and indents of the code that they stand in; a blank line parts paragraphs.

    >>> tidy('''Count the
    ...           meshes.''')
    'Count the meshes.'
    """
    return "\n\n".join(markup.one_line(paragraph) for paragraph in re.split(r"\n\s*\n", words))


def _cells(rows: Iterable[Iterable[object]]) -> tuple[tuple[str, ...], ...]:
    return tuple(tuple(map(str, row)) for row in rows)


@frozen
class Table:
    """A small table of plain text: a caption, the column heads with | between them, the rows."""

    caption: str
    heads: str
    rows: tuple[tuple[str, ...], ...] = field(converter=_cells)

    def __str__(self) -> str:
        return "\n".join([self.caption, self.heads, *map(" | ".join, self.rows)])

    def _repr_html_(self) -> str:
        heads = "".join(f'<th scope="col"{_LEFT}>{markup.in_html(head)}</th>' for head in self.heads.split(" | "))
        rows = "".join(
            "<tr>" + "".join(f"<td{_LEFT}>{markup.in_html(cell)}</td>" for cell in row) + "</tr>" for row in self.rows
        )
        return (
            f"<table><caption{_LEFT}>{markup.in_html(self.caption)}</caption>"
            f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"
        )


def as_html(part: object) -> str:
    """A part of a text as HTML: escaped words, with **bold** and paragraphs, or whatever shows itself.

    >>> as_html("Leadscrew **8 tpi** < 3 mm")
    '<p>Leadscrew <strong>8 tpi</strong> &lt; 3 mm</p>'

    `part`: words, a Table, or a result of the library with `_repr_html_`.
    """
    if not isinstance(part, str) and hasattr(part, "_repr_html_"):
        return str(part._repr_html_())
    paragraphs = markup.in_html(str(part)).split("\n\n")
    return "".join(f"<p>{_BOLD.sub(_STRONG, words)}</p>" for words in paragraphs)


def as_text(part: object) -> str:
    """The same part as plain text.

    >>> as_text("Leadscrew **8 tpi**")
    'Leadscrew 8 tpi'
    """
    return _BOLD.sub(r"\1", str(part))


def bold_words(part: str) -> list[str]:
    """What stands in bold in a part of a text.

    >>> bold_words("Leadscrew **8 tpi**, lever **low**")
    ['8 tpi', 'low']
    """
    return _BOLD.findall(part)


def _parts(given: Iterable[object]) -> tuple[object, ...]:
    return tuple(tidy(part) if isinstance(part, str) else part for part in given)


@frozen(repr=False)
class Note:
    """Something to read, of one or more parts under a heading; `folded` hides all but the heading until asked.

    >>> Note(("Count the **meshes**.",), heading="Hint 1 of 2")
    Hint 1 of 2
    Count the meshes.
    """

    parts: tuple[object, ...] = field(converter=_parts)
    heading: str = ""
    folded: bool = False

    def __str__(self) -> str:
        return "\n".join(filter(None, [self.heading, *map(as_text, self.parts)]))

    __repr__ = __str__

    @property
    def html(self) -> str:
        """The note unfolded."""
        heading = f"<p><strong>{markup.in_html(self.heading)}</strong></p>" if self.heading else ""
        return heading + "".join(map(as_html, self.parts))

    def _repr_html_(self) -> str:
        if not self.folded:
            return self.html
        body = "".join(map(as_html, self.parts))
        return f"<details><summary>{markup.in_html(self.heading)}</summary>{body}</details>"
