"""A sheet for the machine as a file: a whole HTML page that prints well, plain text, or PDF; never half-written."""

from __future__ import annotations

import html
import os
import textwrap
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_path
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.files import save_whole

_LINE = 96

_STYLE = """
@page { size: A4; margin: 12mm 13mm; }
body { font: 11pt/1.35 Helvetica, Arial, 'Liberation Sans', sans-serif; color: #000; background: #fff;
       max-width: 200mm; margin: 0 auto; padding: 4mm; }
h1 { font-size: 1.6em; margin: 0 0 1mm; } h2 { font-size: 1.25em; margin: 2.5mm 0 0.6mm; break-after: avoid; }
li, tr, figure { break-inside: avoid; } ol, ul { margin: 1mm 0; } li { margin: 0.4mm 0; }
figure { margin: 2mm 0; } figure img { width: 100%; }
figcaption, small { font-size: 0.95em; }
table { border-collapse: collapse; margin: 1mm 0; } tbody th { min-width: 34mm; }
th, td { text-align: left; padding: 0.4mm 3mm 0.4mm 0; border-bottom: 0.2mm solid #5A626B; vertical-align: top; }
@media print {
  body { font-size: 9.2pt; line-height: 1.3; padding: 0; max-width: none; }
  figure img { max-height: 74mm; object-fit: contain; }
  details { display: none; }
}
"""
# What is folded away on the screen stays off the paper: two sides of a sheet are what one takes to the machine.


def html_list(entries: Iterable[str], *, tick: bool = False) -> str:
    """Lines of plain text as an HTML list, escaped; `tick`: with squares to tick off.

    >>> html_list(["40 < 80"])
    '<ul style="margin:0.2em 0"><li>40 &lt; 80</li></ul>'
    """
    kind = "list-style:'☐  ';" if tick else ""
    items = "".join(f"<li>{writing.in_html(entry)}</li>" for entry in entries)
    return f'<ul style="{kind}margin:0.2em 0">{items}</ul>'


def text_lines(words: str, start: str = "") -> list[str]:
    """Words as lines of plain text; what they start with stands before the first, and the rest is set in under it.

    >>> text_lines("Isolate first.", "[ ] ")
    ['[ ] Isolate first.']
    """
    return textwrap.wrap(
        " ".join(words.split()), _LINE, initial_indent=start, subsequent_indent=" " * len(start), break_on_hyphens=False
    )


def whole_page(title: str, body: str) -> str:
    """A page of its own, to be printed on A4: nothing is fetched from anywhere.

    >>> "<title>40 &lt; 80</title>" in whole_page("40 < 80", "<p>Isolate first.</p>")
    True

    `title`: plain text, escaped here; `body`: HTML that is safe already.
    """
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{html.escape(title)}</title>'
        f"<style>{_STYLE}</style></head><body><main>{body}</main></body></html>\n"
    )


def save_sheet(path: str | os.PathLike[str], makers: Mapping[str, Callable[[], str | bytes]]) -> Path:
    """Write what the maker for the file's ending makes: beside the file, then in its place, so that it is never half.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_sheet(Path(folder) / "card.txt", {".txt": lambda: "Isolate first."}).read_text()
    'Isolate first.'

    Raises ValueOutOfRangeError for another ending, NotPossibleError when it can't be written there.
    """
    place = as_path(path)
    make = makers.get(place.suffix.lower())
    if make is None:
        raise ValueOutOfRangeError(
            f"a sheet is saved as a file ending {', '.join(sorted(makers))}",
            value=place.name or str(path),
            remedy="The ending says what is made: a page for the browser, a PDF, or plain text.",
        )
    return save_whole(place, make(), "the sheet")
