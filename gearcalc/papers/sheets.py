"""A sheet for the machine in all its forms: in a notebook, as text, as a page for the browser, on paper."""

from __future__ import annotations

import html
import os
import textwrap
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_path
from gearcalc.basics.cautions import FOOT
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.files import save_whole
from gearcalc.lathes.parts import as_paper
from gearcalc.papers.paper import Paper
from gearcalc.pictures import style

_TEXT_COLUMNS = 96
_STYLE = (
    style.as_css(":root")
    + """
@page { size: PAPER; margin: 12mm 13mm;
        @bottom-left { content: "FOOT"; font: 8pt Helvetica, Arial, 'Liberation Sans', sans-serif; }
        @bottom-right { content: "page " counter(page) " of " counter(pages);
                        font: 8pt Helvetica, Arial, 'Liberation Sans', sans-serif; } }
body { font: 11pt/1.35 Helvetica, Arial, 'Liberation Sans', sans-serif;
       max-width: 200mm; margin: 0 auto; padding: 4mm; }
h1 { font-size: 1.6em; margin: 0 0 1mm; } h2 { font-size: 1.25em; margin: 2.5mm 0 0.6mm; break-after: avoid; }
li, tr, figure { break-inside: avoid; } ol, ul { margin: 1mm 0; } li { margin: 0.4mm 0; }
figure { margin: 2mm 0; } figure img { width: 100%; }
figcaption, small { font-size: 0.95em; }
table { border-collapse: collapse; margin: 1mm 0; } tbody th { min-width: 34mm; }
th, td { text-align: left; padding: 0.4mm 3mm 0.4mm 0; vertical-align: top; }
th, td { border-bottom: 0.2mm solid var(--gearcalc-soft); }
@media print {
  body { font-size: 9.2pt; line-height: 1.3; padding: 0; max-width: none; }
  figure img { max-height: 74mm; object-fit: contain; }
  details { display: none; }
}
"""
)
# What is folded away on the screen stays off the paper: two sides of a sheet are what one takes to the machine.


class Sheet:
    """What the card and the fault-finder share: cautions first, then their parts, in whichever form is asked for."""

    __slots__ = ()
    cautions: tuple[str, ...]

    @property
    def title(self) -> str:
        """What stands on top."""
        raise NotImplementedError

    @property
    def size(self) -> str:
        """The paper that it is made for where nobody names another."""
        return "A4"

    def on_paper(self, size: str | None = None) -> Paper:
        """Lay the sheet out on paper.

        `size`: 'A4', 'A3' or 'Letter', None for its own. Raises ValueOutOfRangeError for another.
        """
        raise NotImplementedError

    def _html_parts(self, head: str, part: str) -> Iterator[str]:
        """Its parts; `head`, `part`: the elements of the headings, 'h1' and 'h2' on a page of its own."""
        raise NotImplementedError

    def _text_parts(self) -> Iterator[str]:
        raise NotImplementedError

    def save(self, path: str | os.PathLike[str], size: str | None = None) -> Path:
        """Write it to a file ending .html, .pdf or .txt; what was there is replaced whole or not at all.

        `size`: of the paper, 'A4', 'A3' or 'Letter', None for its own; plain text has none.
        Raises ValueOutOfRangeError for another ending or size, NotPossibleError when it can't be written there.
        """
        named = self.size if size is None else as_paper(size)
        makers: dict[str, Callable[[], str | bytes]] = {
            ".html": lambda: self._page(named),
            ".pdf": lambda: self.on_paper(named).pdf(),
            ".txt": lambda: f"{self}\n",
        }
        place = as_path(path)
        make = makers.get(place.suffix.lower())
        if make is None:
            raise ValueOutOfRangeError(
                f"a sheet is saved as a file ending {', '.join(makers)}",
                value=place.name or str(place),
                remedy="The ending says what is made: a page for the browser, a PDF, or plain text.",
            )
        return save_whole(place, make(), "the sheet")

    @property
    def page(self) -> str:
        """A whole HTML page for the printer: nothing is fetched from anywhere."""
        return self._page(self.size)

    def _page(self, size: str) -> str:
        return (
            f'<!DOCTYPE html>\n<html lang="en"><head>{markup.HEAD}<title>{html.escape(self.title)}</title>'
            '<meta name="viewport" content="width=device-width, initial-scale=1">'
            f"<style>{_STYLE.replace('PAPER', size).replace('FOOT', FOOT)}</style></head>"
            f"<body><main>{''.join(self._html_parts('h1', 'h2'))}</main></body></html>\n"
        )

    def _repr_html_(self) -> str:
        return "".join(self._html_parts("h3", "h4"))

    def __str__(self) -> str:
        return "\n".join(self._text_parts())


def html_list(entries: Iterable[str], *, tick: bool = False) -> str:
    """Lines of plain text as an HTML list, escaped; `tick`: with squares to tick off.

    >>> html_list(["40 < 80"])
    '<ul style="margin:0.2em 0"><li>40 &lt; 80</li></ul>'
    """
    kind = "list-style:'□  ';" if tick else ""
    items = "".join(f"<li>{markup.in_html(entry)}</li>" for entry in entries)
    return f'<ul style="{kind}margin:0.2em 0">{items}</ul>'


def html_first(cautions: Iterable[str]) -> str:
    """Cautions in a frame, as HTML.

    >>> "Isolate" in html_first(["Isolate first."])
    True
    """
    frame = "border:2px solid;padding:0.3em 0.8em;break-inside:avoid"  # cautions stay in one piece on paper
    return f'<div style="{frame}"><strong>First</strong>{html_list(cautions)}</div>'


def text_lines(words: str, start: str = "") -> list[str]:
    """Words as lines of plain text; what they start with stands before the first, and the rest is set in under it.

    >>> text_lines("Isolate first.", "[ ] ")
    ['[ ] Isolate first.']
    """
    return textwrap.wrap(
        markup.one_line(words),
        _TEXT_COLUMNS,
        initial_indent=start,
        subsequent_indent=" " * len(start),
        break_on_hyphens=False,
    )


def text_list(heading: str, entries: Iterable[str], start: str) -> list[str]:
    """A blank line, a heading, and each entry as lines of plain text with that start.

    >>> text_list("FIRST", ["Isolate."], "! ")
    ['', 'FIRST', '! Isolate.']
    """
    return ["", heading, *(line for entry in entries for line in text_lines(entry, start))]
