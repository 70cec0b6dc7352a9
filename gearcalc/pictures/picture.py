"""A picture as a notebook shows it: the drawing, words that say the same, and the numbers behind it."""

from __future__ import annotations

import base64
import html
import os
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path

from attrs import field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_path
from gearcalc.basics.errors import ValueOutOfRangeError, quoted
from gearcalc.basics.exact import PiMultiple
from gearcalc.basics.files import save_whole

Row = Mapping[str, object]
"""One row of a table: column name to value."""

_NO_VALUE = "–"
_TITLE = "text-align:left;font-weight:bold"


def _rows(given: Sequence[Row]) -> tuple[Row, ...]:
    return tuple(dict(row) for row in given)


def _one_line(words: str) -> str:
    return markup.one_line(str.__str__(words) if isinstance(words, str) else quoted(words))


@frozen
class Picture:
    """A drawing that explains itself to those who can't see it.

    >>> dot = Picture('<svg xmlns="http://www.w3.org/2000/svg"/>', "A gear of 40 teeth.", [{"teeth": 40}], "One gear")
    >>> print(dot)
    One gear: A gear of 40 teeth.
    >>> dot._repr_html_()[:40]
    '<figure><img alt="A gear of 40 teeth." s'

    `svg`: a complete SVG document. `description`: says in words what the drawing shows, made from its data. `table`:
    the rows it was drawn from, at least one, columns as in the first row that has them. `caption`: one line beneath.
    Raises ValueOutOfRangeError when any of these is missing.
    """

    svg: str = field(repr=False)
    description: str = field(converter=_one_line)
    table: Sequence[Row] = field(converter=_rows, repr=False)
    caption: str = field(converter=_one_line)

    def __attrs_post_init__(self) -> None:
        for name in ("svg", "description", "table", "caption"):
            if not getattr(self, name):
                raise ValueOutOfRangeError(f"a picture needs a {'drawing' if name == 'svg' else name}", where=name)
        _columns(self.table)

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Write the drawing to a file, ending .svg; never half a file.

        Raises ValueOutOfRangeError for another ending: a browser prints the SVG to PDF, or shows it at any size;
        NotPossibleError where it can't be written.
        """
        path = as_path(path)
        if path.suffix.lower() != ".svg":
            raise ValueOutOfRangeError(
                "this picture is saved as a file ending .svg",
                value=path.name,
                remedy="To have it as PDF, open the saved file in a browser and print it.",
            )
        return save_whole(path, self.svg.encode("utf-8"), "the picture")

    def __str__(self) -> str:
        return f"{self.caption}: {self.description}"

    def _repr_html_(self) -> str:
        source = base64.b64encode(self.svg.encode("utf-8")).decode("ascii")
        return (
            f'<figure><img alt="{html.escape(self.description)}" src="data:image/svg+xml;base64,{source}"'
            ' style="max-width:100%;height:auto">'
            f"<figcaption>{markup.in_html(self.caption)}</figcaption>"
            f"<details><summary>Data</summary>{table_html(self.table)}</details></figure>"
        )


def table_html(rows: Sequence[Row], caption: str = "") -> str:
    """Rows as an HTML table: the first column heads its row, every column has a heading, all escaped.

    >>> table_html([{"thread": "1/2 BSW", "tpi": 12}])[:42]
    '<table><thead><tr><th scope="col">thread</'

    Values may be text, numbers, Fractions, or written numbers. `caption`: what the table is of, above it; none where
    what stands around it says so. Raises ValueOutOfRangeError for a blank heading.
    """
    columns = _columns(rows)
    head = "".join(f'<th scope="col">{markup.in_html(column)}</th>' for column in columns)
    body = "".join(_row_html(row, columns) for row in rows)
    title = f'<caption style="{_TITLE}">{markup.in_html(caption)}</caption>' if caption else ""
    return f"<table>{title}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _columns(rows: Sequence[Row]) -> tuple[str, ...]:
    columns = tuple(dict.fromkeys(column for row in rows for column in row))
    if not columns or not all(isinstance(column, str) and column.strip() for column in columns):
        raise ValueOutOfRangeError("every column of a table needs a heading", where="table")
    return columns


def _row_html(row: Row, columns: Sequence[str]) -> str:
    first, *rest = (_cell_html(row.get(column)) for column in columns)
    return f'<tr><th scope="row">{first}</th>' + "".join(f"<td>{cell}</td>" for cell in rest) + "</tr>"


def _cell_html(value: object) -> str:
    if value is None or value == "":
        return _NO_VALUE
    if isinstance(value, markup.Written):
        return markup.held_together(value.html)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (Fraction, PiMultiple)):
        return writing.number(value).html
    if isinstance(value, float):
        return markup.in_html(writing.decimal(value) if value - value == 0 else str(value))
    return markup.held_together(markup.in_html(str(value)))
