"""Sheets to print and hang up: headings, words, steps and tables, laid out down the page in millimetres.

>>> paper = Paper("Change-over card", below="Bench lathe with an inch leadscrew", foot="Isolate the lathe first.")
>>> paper.words("Everything stands on one page, or goes on to the next by itself.", boxed=True)
>>> paper.step(1, "Isolate", "At the plug or isolator.", ["switch off", "plug out"])
>>> paper.table([{"place": "first driver", "gear": 40}, {"place": "first driven", "gear": 80}])
>>> left, top, right, bottom = paper.drawing(60)
>>> paper.put(box(left, top, right - left, bottom - top))
>>> paper.pages
1
>>> paper.svg()[:5], paper.html()[:9], paper.pdf()[:5]
('<?xml', '<!DOCTYPE', b'%PDF-')
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import accumulate, takewhile
from pathlib import Path

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_path, as_whole
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.files import save_whole
from gearcalc.lathes.parts import as_paper
from gearcalc.papers.marks import (
    MM_PER_PT,
    RULE,
    SHADE,
    Mark,
    Shape,
    Words,
    box,
    in_lettering,
    page_svg,
    pages_html,
    pages_pdf,
    width_of_words_mm,
    wrapped,
    wrapped_with_bold,
)
from gearcalc.pictures.room_for_words import Box

SIZES_MM: Mapping[str, tuple[float, float]] = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}
"""Width and height of the papers (ISO 216; US letter, ANSI/ASME Y14.1)."""
SMALL_PT = 8.0
"""The type of what stands small at the end."""

_MARGIN_MM, _ABOVE_FOOT_MM = 15.0, 3.0
_LINE = 1.38  # from baseline to baseline, in sizes of the type
_RISE = 1.02  # from the top of the line to the baseline
_PAD_MM = 1.6  # inside the cells of a table
_BOX_PAD_MM = 2.4
_AFTER_MM = 2.6
_INDENT_MM, _TICK_MM = 12.0, 2.6
_HEADING_PT, _TEXT_PT, _STEPS_PT, _FOOT_PT = 17.0, 10.5, 9.2, 8.0


class Paper:
    """A sheet (or several) that fills from the top. What doesn't fit goes on to a next page by itself.

    `heading`: in large type on top; `below`: one smaller line beneath it; `foot`: a line or two at the foot of every
    page, where the page number stands too. `size`: 'A4', 'A3' or 'Letter', in any case; `landscape`: lying.
    `margin_mm`: 5 to 50. `steps_pt`: the type of steps and of lines to be ticked off.
    Raises ValueOutOfRangeError for another size of paper or an empty heading.

    `width_mm`: between the margins. `left_mm`: what is left of this page.
    """

    def __init__(
        self,
        heading: str,
        *,
        below: str = "",
        foot: str = "",
        size: str = "A4",
        landscape: bool = False,
        margin_mm: float = _MARGIN_MM,
        steps_pt: float = _STEPS_PT,
    ) -> None:
        if not isinstance(heading, str) or not heading.strip():
            raise ValueOutOfRangeError("a sheet needs a heading", value=repr(heading))
        if not 5 <= margin_mm <= 50:
            raise ValueOutOfRangeError("a margin is 5 to 50 mm", value=margin_mm)
        width, height = SIZES_MM[as_paper(size)]
        self.size_mm = (height, width) if landscape else (width, height)
        self.heading, self.margin_mm, self.steps_pt = in_lettering(markup.one_line(heading)), margin_mm, steps_pt
        self.width_mm = self.size_mm[0] - 2 * margin_mm
        self._foot = wrapped(foot, self.width_mm - width_of_words_mm("page 00 of 00", _FOOT_PT), _FOOT_PT)
        self._foot_mm = len(self._foot) * _line_mm(_FOOT_PT) + _ABOVE_FOOT_MM
        self._pages: list[list[Mark]] = []
        self._down = 0.0  # from the top edge of the page to where the next thing goes
        self.next_page()
        self._flow(wrapped(self.heading, self.width_mm, _HEADING_PT, bold=True), _HEADING_PT, bold=True)
        if below:
            self._flow(wrapped(below, self.width_mm, _TEXT_PT), _TEXT_PT)
        self._down += 1.2
        self._rule(0.5)
        self._down += _AFTER_MM

    @property
    def pages(self) -> int:
        """How many pages there are by now."""
        return len(self._pages)

    @property
    def left_mm(self) -> float:
        """Height that is left on this page, a float."""
        return self.size_mm[1] - self.margin_mm - self._foot_mm - self._down

    def next_page(self) -> None:
        """Go on at the top of a new page."""
        self._pages.append([])
        self._down = self.margin_mm
        foot = self.size_mm[1] - self.margin_mm
        for below, line in enumerate(self._foot, 1 - len(self._foot)):
            self.put(Words(line, self.margin_mm, foot + below * _line_mm(_FOOT_PT), _FOOT_PT))

    def keep_together(self, height_mm: float) -> None:
        """Go on to a next page unless so much is left of this one."""
        if height_mm > self.left_mm and self._down > self.margin_mm:
            self.next_page()

    def space(self, mm: float) -> None:
        """Leave room before what comes next."""
        self._down += mm

    def put(self, *marks: Mark) -> None:
        """Marks on this page, where they say."""
        self._pages[-1] += marks

    def drawing(self, height_mm: float) -> Box:
        """Room to draw in, as wide as the paper allows, on a next page where this one has too little: left, top,
        right and bottom in mm from the corner of the page.

        `height_mm`: more than zero, at most what a page has. Raises ValueOutOfRangeError for any other.
        """
        if not 0 < height_mm <= self._most_mm:
            raise ValueOutOfRangeError(
                f"a page has room for {writing.decimal(self._most_mm, 0)} mm down", value=height_mm
            )
        self.keep_together(height_mm)
        top = self._down
        self._down += height_mm + _AFTER_MM
        return self.margin_mm, top, self.margin_mm + self.width_mm, top + height_mm

    def words(self, text: str, *, size_pt: float = _TEXT_PT, bold: bool = False, boxed: bool = False) -> None:
        """A paragraph, its lines wrapped; `boxed`: in a frame, as cautions are."""
        pad = _BOX_PAD_MM if boxed else 0.0
        lines = wrapped(text, self.width_mm - 2 * pad, size_pt, bold=bold)
        height = len(lines) * _line_mm(size_pt) + 2 * pad
        if boxed and height <= self._most_mm:
            self.keep_together(height)
            self.put(box(self.margin_mm, self._down, self.width_mm, height, line_pt=1.2))
            self._down += pad
        self._flow(lines, size_pt, bold=bold, left=pad)
        self._down += pad + _AFTER_MM

    def cautions(self, cautions: Iterable[str]) -> None:
        """The cautions with their numbers, in a frame."""
        self.words("  ".join(f"{n}. {caution}" for n, caution in enumerate(cautions, 1)), size_pt=9, boxed=True)

    def marked(
        self, text: str, *, size_pt: float = _TEXT_PT, left_mm: float = 0.0, after_mm: float = _AFTER_MM
    ) -> None:
        """A paragraph in which **some words** are bold; `left_mm`: set in by so much; `after_mm`: room below it."""
        for line in wrapped_with_bold(text, self.width_mm - left_mm, size_pt):
            self.keep_together(_line_mm(size_pt))
            left = left_mm
            for words, bold in line:
                self._line(words, size_pt, left, bold=bold)
                left += width_of_words_mm(words, size_pt, bold=bold)
            self._down += _line_mm(size_pt)
        self._down += after_mm

    def kept_whole(self, put: Callable[[], None]) -> None:
        """What `put` puts on the paper, on one page if a page holds it: where it runs over, it begins on the next."""
        pages, down, marks = self.pages, self._down, len(self._pages[-1])
        put()
        if self.pages > pages and down > self.margin_mm:
            del self._pages[pages:], self._pages[-1][marks:]
            self._down = down
            self.next_page()
            put()

    def title(self, text: str, *, size_pt: float = 12.5) -> None:
        """A heading within the sheet; it never stands alone at the foot of a page."""
        self.keep_together(4 * _line_mm(size_pt))
        self._flow(wrapped(text, self.width_mm, size_pt, bold=True), size_pt, bold=True)
        self._down += 0.8

    def step(self, number: int, title: str, text: str, ticks: Sequence[str] = ()) -> None:
        """A numbered step with a square to tick off and its title in bold, kept whole with the first of its ticks."""
        head = f"{title}."
        behind = _INDENT_MM + width_of_words_mm(f"{head} ", self.steps_pt, bold=True) + 1.2
        first, rest = self._as_much_as_fits(text, self.width_mm - behind)
        lines = wrapped(rest, self.width_mm - _INDENT_MM, self.steps_pt) if rest else []
        self.keep_together((1 + len(lines) + bool(ticks)) * _line_mm(self.steps_pt))
        self._tick(0.0)
        for words, left, bold in ((f"{number}.", 5.0, True), (head, _INDENT_MM, True), (first, behind, False)):
            self._line(words, self.steps_pt, left, bold=bold)
        self._down += _line_mm(self.steps_pt)
        self._flow(lines, self.steps_pt, left=_INDENT_MM)
        self._down += 0.6 if ticks else 0.0
        for words in ticks:
            self.ticked(words, left_mm=_INDENT_MM)
        self._down += 1.4

    def ticked(self, words: str, *, left_mm: float = 0.0) -> None:
        """A line with a square before it, wrapped beside it."""
        lines = wrapped(words, self.width_mm - left_mm - 5, self.steps_pt)
        self.keep_together(len(lines) * _line_mm(self.steps_pt))
        self._tick(left_mm)
        self._flow(lines, self.steps_pt, left=left_mm + 5)
        self._down += 0.5

    def choices(self, words: Sequence[str]) -> None:
        """Lines with a square to tick before each, as many side by side as the paper is wide for."""
        wide = 12 + max(width_of_words_mm(each, self.steps_pt) for each in words)
        across = int((self.width_mm + 7) // wide)
        if across < 2:
            for each in words:
                self.ticked(each)
            return
        for first in range(0, len(words), across):
            self.keep_together(_line_mm(self.steps_pt))
            for place, each in enumerate(words[first : first + across]):
                self._tick(place * wide)
                self._line(each, self.steps_pt, place * wide + 5)
            self._down += _line_mm(self.steps_pt)

    def pairs(self, pairs: Sequence[tuple[str, str]], *, size_pt: float = 9.5) -> None:
        """A bold word with what belongs to it, one below the other, in as many columns as the paper is wide for."""
        heads = 2 + max(width_of_words_mm(head, size_pt, bold=True) for head, _ in pairs)
        wide = 5 + heads + max(width_of_words_mm(words, size_pt) for _, words in pairs)
        across = max(1, min(int((self.width_mm + 5) // wide), len(pairs)))
        down = -(-len(pairs) // across)
        for row in range(down):
            split = [wrapped(words, self.width_mm - heads, size_pt) for _, words in pairs[row::down]]
            self.keep_together(max(map(len, split)) * _line_mm(size_pt))
            for place, ((head, _), lines) in enumerate(zip(pairs[row::down], split, strict=True)):
                left = place * self.width_mm / across
                self._line(head, size_pt, left, bold=True)
                for below, line in enumerate(lines):
                    self._line(line, size_pt, left + heads, below=below * _line_mm(size_pt))
            self._down += max(map(len, split)) * _line_mm(size_pt)
        self._down += _AFTER_MM

    def table(self, rows: Sequence[Mapping[str, object]], *, size_pt: float = 9.5) -> None:
        """A table with the columns of the first row that has them, the headings again on every page.

        None and '' are shown as a dash. Raises ValueOutOfRangeError when there is no row or no column.
        """
        names = list(dict.fromkeys(str(name) for row in rows for name in row))
        if not names:
            raise ValueOutOfRangeError("a table needs rows", value=repr(rows))
        cells = [[_shown(row.get(name)) for name in names] for row in rows]
        starts, widths = self._columns(names, cells, size_pt)
        headed = -1
        for count, row in enumerate(cells):
            split = [wrapped(cell, width, size_pt) for cell, width in zip(row, widths, strict=True)]
            height = max(map(len, split)) * _line_mm(size_pt) + _PAD_MM
            self.keep_together(height if headed == self.pages else height + 2 * _line_mm(size_pt))
            if headed != self.pages:
                heads = [wrapped(name, width, size_pt, bold=True) for name, width in zip(names, widths, strict=True)]
                self._table_row(heads, starts, size_pt, bold=True)
                self._rule(0.8)
                headed = self.pages
            if count % 2:
                self.put(box(self.margin_mm, self._down, self.width_mm, height, edge="", fill=SHADE))
            self._table_row(split, starts, size_pt)
        self._rule(0.8)
        self._down += _AFTER_MM

    def svg(self, page: int = 1) -> str:
        """One page as an SVG document; `page` counts from 1."""
        page = as_whole(page, what="page", least=1, most=self.pages)
        return page_svg(self._numbered()[page - 1], self.size_mm, self.heading)

    def pdf(self) -> bytes:
        """All pages as one PDF. Raises NotPossibleError where there is no matplotlib."""
        return pages_pdf(self._numbered(), self.size_mm, self.heading)

    def html(self) -> str:
        """All pages as one HTML page, on which a browser prints each on a sheet of its own; nothing is fetched."""
        return pages_html(self._numbered(), self.size_mm, self.heading)

    def save(self, path: str | os.PathLike[str]) -> list[Path]:
        """Write a .pdf, an .html for the browser to print, or an .svg a page (card.svg, card-2.svg ...); never half a
        file. Returns what was written.

        Raises ValueOutOfRangeError for another ending, NotPossibleError where it can't be written.
        """
        path = as_path(path)
        ending = path.suffix.lower()
        if ending == ".pdf":
            return [save_whole(path, self.pdf(), "the sheet")]
        if ending == ".html":
            return [save_whole(path, self.html(), "the sheet")]
        if ending != ".svg":
            raise ValueOutOfRangeError("a sheet is saved as a file ending .pdf, .html or .svg", value=path.name)
        names = [path, *(path.with_name(f"{path.stem}-{page}{path.suffix}") for page in range(2, self.pages + 1))]
        return [save_whole(name, self.svg(page), "the sheet") for page, name in enumerate(names, 1)]

    @property
    def _most_mm(self) -> float:
        """Height of what a whole page holds."""
        return self.size_mm[1] - 2 * self.margin_mm - self._foot_mm

    def _numbered(self) -> list[list[Mark]]:
        """The pages with their numbers, where there are several."""
        if self.pages == 1:
            return self._pages
        right, foot = (side - self.margin_mm for side in self.size_mm)
        numbers = (f"page {page} of {self.pages}" for page in range(1, self.pages + 1))
        return [
            [*marks, Words(number, right, foot, _FOOT_PT, align="end")]
            for marks, number in zip(self._pages, numbers, strict=True)
        ]

    def _flow(self, lines: Sequence[str], size_pt: float, *, bold: bool = False, left: float = 0.0) -> None:
        for line in lines:
            self.keep_together(_line_mm(size_pt))
            self._line(line, size_pt, left, bold=bold)
            self._down += _line_mm(size_pt)

    def _line(self, words: str, size_pt: float, left: float, *, below: float = 0.0, bold: bool = False) -> None:
        """A line of lettering, so far below where the next thing goes."""
        baseline = self._down + below + _RISE * size_pt * MM_PER_PT
        self.put(Words(words, self.margin_mm + left, baseline, size_pt, bold))

    def _as_much_as_fits(self, text: str, room_mm: float) -> tuple[str, str]:
        """As many words as there is room for behind the title of a step, and the rest."""
        words = markup.one_line(text).split(" ")
        so_far = accumulate(words, "{} {}".format)
        fit = list(takewhile(lambda line: width_of_words_mm(line, self.steps_pt) <= room_mm, so_far))
        return (fit[-1] if fit else ""), " ".join(words[len(fit) :])

    def _tick(self, left_mm: float) -> None:
        top = self._down + _RISE * self.steps_pt * MM_PER_PT - _TICK_MM
        self.put(box(self.margin_mm + left_mm, top, _TICK_MM, _TICK_MM))

    def _rule(self, line_pt: float) -> None:
        ends = (self.margin_mm, self._down), (self.margin_mm + self.width_mm, self._down)
        self.put(Shape(ends, RULE, line_pt=line_pt, closed=False))

    def _columns(
        self, names: Sequence[str], cells: Sequence[Sequence[str]], size_pt: float
    ) -> tuple[list[float], list[float]]:
        """Where the columns begin, and as wide as they want to be; where that is too much, the widest give way."""
        wanted = [
            0.5 + max(width_of_words_mm(name, size_pt, bold=True), *(width_of_words_mm(cell, size_pt) for cell in body))
            for name, *body in zip(names, *cells, strict=True)
        ]
        room = self.width_mm - 2 * _PAD_MM * len(names)
        widths = _given_way(wanted, room)
        gap = (room - sum(widths)) / len(names) + 2 * _PAD_MM
        return list(accumulate((width + gap for width in widths[:-1]), initial=_PAD_MM)), widths

    def _table_row(
        self, split: Sequence[Sequence[str]], starts: Sequence[float], size_pt: float, *, bold: bool = False
    ) -> None:
        for lines, left in zip(split, starts, strict=True):
            for place, line in enumerate(lines):
                self._line(line, size_pt, left, below=_PAD_MM / 2 + place * _line_mm(size_pt), bold=bold)
        self._down += max(map(len, split)) * _line_mm(size_pt) + _PAD_MM


def bound(papers: Sequence[Paper], title: str) -> bytes:
    """Make one PDF of several papers of one size, one behind the other; each counts its own pages.

    >>> bound([Paper("For Ada"), Paper("For Ben")], "For the class")[:5]
    b'%PDF-'

    `papers`: at least one; `title`: of them all. Raises NotPossibleError where there is no matplotlib.
    """
    return pages_pdf([page for paper in papers for page in paper._numbered()], papers[0].size_mm, title)


def _given_way(wanted: Sequence[float], room: float) -> list[float]:
    """Widths that fit into the room: those that want little have it, the rest share what is left."""
    widths, left, open_columns = list(wanted), room, len(wanted)
    for place in sorted(range(len(wanted)), key=wanted.__getitem__):
        widths[place] = min(wanted[place], max(left / open_columns, 1.0))
        left -= widths[place]
        open_columns -= 1
    return widths


def _line_mm(size_pt: float) -> float:
    return _LINE * size_pt * MM_PER_PT


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "–" if value is None or value == "" else str(value)
