"""Sheets to print and hang up: headings, words, steps, tables and drawings, laid out down the page in millimetres.

>>> paper = Paper("Change-over card", below="Bench lathe with an inch leadscrew", foot="Isolate the lathe first.")
>>> paper.words("Everything stands on one page, or goes on to the next by itself.", boxed=True)
>>> paper.steps(["Isolate the lathe.", "Open the cover.", "Slacken the bracket."])
>>> paper.table([{"place": "first driver", "gear": 40}, {"place": "first driven", "gear": 80}])
>>> axes = paper.drawing(60)  # matplotlib's Axes, in millimetres, as wide as the page allows
>>> _ = axes.plot([0, paper.width_mm], [0, 60], color="black")
>>> paper.pages
1
>>> paper.pdf()[:5], paper.svg()[:5]
(b'%PDF-', '<?xml')

Text stays text in both, in DejaVu Sans, which comes with matplotlib; PDF carries the font with it. The same sheet gives
the same bytes each time, and nothing in them says where or when it was made. matplotlib is imported when a Paper is
made, and its state (pyplot, rcParams) is neither used nor changed.
"""

from __future__ import annotations

import io
import os
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from gearcalc.basics.arguments import as_path
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.files import save_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.font_manager import FontProperties

SIZES_MM: Mapping[str, tuple[float, float]] = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "letter": (215.9, 279.4)}
"""Width and height of the papers (ISO 216; US letter, ANSI/ASME Y14.1)."""

_MARGIN_MM, _ABOVE_FOOT_MM = 15.0, 3.0
_MM_PER_PT = 25.4 / 72
_LINE = 1.38  # from baseline to baseline, in sizes of the type
_RISE = 1.02  # from the top of the line to the baseline
_PAD_MM = 1.6  # inside the cells of a table
_BOX_PAD_MM = 2.4
_AFTER_MM = 2.6
STEPS_PT, SMALL_PT = 9.2, 8.0
"""The type of ticked lines, and of what stands small below."""
_INDENT_MM, _TICK_MM = 12.0, 2.6
_HEADING_PT, _TEXT_PT, _FOOT_PT = 17.0, 10.5, 8.0
_MEASURED_PT = 10.0
_FAMILY = "DejaVu Sans"
_LIKE_IT = "'DejaVu Sans', Verdana, sans-serif"  # an SVG carries no font with it; none of these is wider
_RULE, _SHADE, _INK = "#5A626B", "#EEF0F2", "#000000"
_STYLE = {
    "font.family": [_FAMILY],
    "pdf.fonttype": 42,
    "savefig.bbox": None,
    "svg.fonttype": "none",
    "svg.hashsalt": "gearcalc",
    "text.usetex": False,
}
_NOT_PRINTED = re.compile("[^\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class _Column(NamedTuple):
    """A column of a table: its heading, where it begins and how wide it is, and whether it is set to the right."""

    heading: str
    left: float
    width: float
    right: bool


class Paper:
    """A sheet (or several) that fills from the top. What doesn't fit goes on to a next page by itself.

    `heading`: in large type on top; `below`: one smaller line beneath it; `foot`: a line or two at the foot of every
    page, where the page number stands too. `size`: 'A4', 'A3' or 'letter'; `landscape`: lying. `margin_mm`: 5 to 50.
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
    ) -> None:
        if not isinstance(size, str) or size not in SIZES_MM:
            raise ValueOutOfRangeError("paper is 'A4', 'A3' or 'letter'", value=size)
        if not isinstance(heading, str) or not heading.strip():
            raise ValueOutOfRangeError("a sheet needs a heading", value=repr(heading))
        if not 5 <= margin_mm <= 50:
            raise ValueOutOfRangeError("a margin is 5 to 50 mm", value=margin_mm)
        width, height = SIZES_MM[size]
        self.size_mm = (height, width) if landscape else (width, height)
        self.heading, self.foot, self.margin_mm = _one_line(heading), _one_line(foot), margin_mm
        self.width_mm = self.size_mm[0] - 2 * margin_mm
        self._foot_lines = wrapped(self.foot, self.width_mm - width_of_words_mm("page 00 of 00", _FOOT_PT), _FOOT_PT)
        self._foot_mm = len(self._foot_lines) * _line_mm(_FOOT_PT) + _ABOVE_FOOT_MM
        self._figures: list[Figure] = []
        self._numbers: list[Any] = []
        self._down = 0.0  # from the top edge of the page to where the next thing goes
        self._next_page()
        self._flow(wrapped(self.heading, self.width_mm, _HEADING_PT, bold=True), _HEADING_PT, bold=True)
        if below:
            self._flow(wrapped(below, self.width_mm, _TEXT_PT), _TEXT_PT)
        self._rule(self._down + 1.2, 0.5)
        self._down += 1.2 + _AFTER_MM

    @property
    def pages(self) -> int:
        """How many pages there are by now."""
        return len(self._figures)

    @property
    def left_mm(self) -> float:
        """Height that is left on this page."""
        return self.size_mm[1] - self.margin_mm - self._foot_mm - self._down

    def next_page(self) -> None:
        """Go on at the top of a new page."""
        self._next_page()

    def space(self, mm: float) -> None:
        """Leave room before what comes next."""
        self._down += mm

    def words(self, text: str, *, size_pt: float = _TEXT_PT, bold: bool = False, boxed: bool = False) -> None:
        """A paragraph, its lines wrapped; `boxed`: in a frame, as cautions are."""
        pad = _BOX_PAD_MM if boxed else 0.0
        lines = wrapped(text, self.width_mm - 2 * pad, size_pt, bold=bold)
        height = len(lines) * _line_mm(size_pt) + 2 * pad
        if boxed and height <= self._most_mm:
            self.keep_together(height)
            self._box(self.margin_mm, self._down, self.width_mm, height, edge=_INK, fill="none", line_pt=1.2)
            self._down += pad
        self._flow(lines, size_pt, bold=bold, left=pad)
        self._down += pad + _AFTER_MM

    def title(self, text: str, *, size_pt: float = 12.5) -> None:
        """A heading within the sheet; it never stands alone at the foot of a page."""
        self.keep_together(4 * _line_mm(size_pt))
        self._flow(wrapped(text, self.width_mm, size_pt, bold=True), size_pt, bold=True)
        self._down += 0.8

    def steps(self, steps: Sequence[str], *, start: int = 1, size_pt: float = _TEXT_PT, tick: bool = True) -> None:
        """Numbered steps, each kept whole; `tick`: with a square to tick off."""
        indent = width_of_words_mm("00.  ", size_pt)
        side = 0.75 * size_pt * _MM_PER_PT
        first = indent + (side + 2.2 if tick else 0.0)
        for number, step in enumerate(steps, start):
            lines = wrapped(step, self.width_mm - first, size_pt)
            self.keep_together(len(lines) * _line_mm(size_pt))
            if tick:
                top = self._down + (_RISE * size_pt * _MM_PER_PT - side)
                self._box(self.margin_mm, top, side, side, edge=_INK, fill="none", line_pt=0.8)
            self._flow([f"{number}."], size_pt, bold=True, left=first - indent)
            self._down -= _line_mm(size_pt)
            self._flow(lines, size_pt, left=first)
            self._down += 1.1
        self._down += _AFTER_MM - 1.1

    def step(self, number: int, title: str, text: str, ticks: Sequence[str] = ()) -> None:
        """A numbered step, kept whole with the first of its ticks."""
        head = f"{title}. "
        indent = width_of_words_mm(head, STEPS_PT, bold=True) + 1.2
        first, rest = _first_line(text, self.width_mm - _INDENT_MM - indent)
        lines = wrapped(rest, self.width_mm - _INDENT_MM, STEPS_PT) if rest else []
        self.keep_together((1 + len(lines) + bool(ticks)) * _line_mm(STEPS_PT))
        self._tick(0.0)
        for words, left, bold in ((f"{number}.", 5.0, True), (head, _INDENT_MM, True)):
            self._flow([words], STEPS_PT, bold=bold, left=left)
            self._down -= _line_mm(STEPS_PT)
        self._flow([first, *lines], STEPS_PT, left=_INDENT_MM + indent) if not lines else self._two_parts(
            first, lines, indent
        )
        self.space(0.6 if ticks else 0.0)
        for words in ticks:
            self.ticked(words, left_mm=_INDENT_MM)
        self.space(1.4)

    def ticked(self, words: str, *, left_mm: float = 0.0) -> None:
        """A line with a square before it, wrapped beside it."""
        lines = wrapped(words, self.width_mm - left_mm - 5, STEPS_PT)
        self.keep_together(len(lines) * _line_mm(STEPS_PT))
        self._tick(left_mm)
        self._flow(lines, STEPS_PT, left=left_mm + 5)
        self.space(0.5)

    def table(
        self,
        rows: Sequence[Mapping[str, object]],
        *,
        size_pt: float = 9.5,
        right: Sequence[str] = (),
        caption: str = "",
    ) -> None:
        """A table with the columns of the first row that has them, the headings again on every page.

        `right`: columns set to the right, as numbers are. None and '' are shown as a dash.
        Raises ValueOutOfRangeError when there is no row or no column.
        """
        names = list(dict.fromkeys(str(name) for row in rows for name in row))
        if not names:
            raise ValueOutOfRangeError("a table needs rows", value=repr(rows))
        cells = [[_shown(row.get(name)) for name in names] for row in rows]
        columns = self._columns(names, cells, size_pt, set(right))
        if caption:
            self.title(caption, size_pt=size_pt + 1)
        headed = -1
        for count, row in enumerate(cells):
            split = [wrapped(cell, column.width, size_pt) for cell, column in zip(row, columns, strict=True)]
            height = max(map(len, split)) * _line_mm(size_pt) + _PAD_MM
            self.keep_together(height if headed == self.pages else height + 2 * _line_mm(size_pt))
            if headed != self.pages:
                self._table_head(columns, size_pt)
                headed = self.pages
            if count % 2:
                self._box(self.margin_mm, self._down, self.width_mm, height, edge="none", fill=_SHADE)
            self._table_row(columns, split, size_pt, height)
        self._rule(self._down, 0.8)
        self._down += _AFTER_MM

    def drawing(self, height_mm: float, *, width_mm: float | None = None) -> Axes:
        """Room to draw in: matplotlib's Axes without frame, 1 unit = 1 mm, x to the right and y up from a corner.

        On a next page where this one has too little room. x goes from 0 to `width_mm` (None: the paper's `width_mm`),
        y from 0 to `height_mm`; nothing rescales that. Words that a user has typed go on it by
        `axes.text(..., parse_math=False)`.
        `height_mm`: more than zero, at most what a page has; `width_mm`: None for all of the width, else in the middle.
        Raises ValueOutOfRangeError for sizes outside these.
        """
        width = self.width_mm if width_mm is None else width_mm
        if not (0 < height_mm <= self._most_mm and 0 < width <= self.width_mm):
            raise ValueOutOfRangeError(
                f"a drawing has room for {self.width_mm:.0f} mm across and {self._most_mm:.0f} mm down",
                value=f"{width} and {height_mm}",
            )
        self.keep_together(height_mm)
        left = self.margin_mm + (self.width_mm - width) / 2
        across, down = self.size_mm
        box = (left / across, 1 - (self._down + height_mm) / down, width / across, height_mm / down)
        with _style():
            axes = self._figures[-1].add_axes(box)
        axes.set_axis_off()
        axes.set(xlim=(0, width), ylim=(0, height_mm), autoscale_on=False)
        self._down += height_mm + _AFTER_MM
        return axes

    def keep_together(self, height_mm: float) -> None:
        """Go on to a next page unless so much is left of this one."""
        if height_mm > self.left_mm and self._down > self.margin_mm:
            self._next_page()

    def svg(self, page: int = 1) -> str:
        """One page as an SVG document; `page` counts from 1."""
        if not 1 <= page <= self.pages:
            raise ValueOutOfRangeError(f"the sheet has pages 1 to {self.pages}", value=page)
        self._number_pages()
        store = io.BytesIO()
        with _style():
            metadata = {"Title": self.heading, "Date": None, "Creator": None}
            _in_printed_signs(self._figures[page - 1]).savefig(store, format="svg", metadata=metadata)
        return store.getvalue().decode("utf-8").replace(f"font-family: '{_FAMILY}'", f"font-family: {_LIKE_IT}")

    def pdf(self) -> bytes:
        """All pages as one PDF."""
        from matplotlib.backends.backend_pdf import PdfPages

        self._number_pages()
        store = io.BytesIO()
        metadata = {"Title": self.heading, "CreationDate": None, "Creator": None, "Producer": None}
        with _style(), PdfPages(store, metadata=metadata) as file:
            for figure in self._figures:
                file.savefig(_in_printed_signs(figure))
        return store.getvalue()

    def save(self, path: str | os.PathLike[str]) -> list[Path]:
        """Write a .pdf, or an .svg a page (card.svg, card-2.svg ...); never half a file. Returns what was written.

        Raises ValueOutOfRangeError for another ending, NotPossibleError where it can't be written.
        """
        path = as_path(path)
        ending = path.suffix.lower()
        if ending == ".pdf":
            return [save_whole(path, self.pdf(), "the sheet")]
        if ending != ".svg":
            raise ValueOutOfRangeError("a sheet is saved as a file ending .pdf or .svg", value=path.name)
        names = [path, *(path.with_name(f"{path.stem}-{page}{path.suffix}") for page in range(2, self.pages + 1))]
        return [save_whole(name, self.svg(page), "the sheet") for page, name in enumerate(names, 1)]

    # What the rest is made of: places on the page in mm from its left and upper edge.

    @property
    def _most_mm(self) -> float:
        """Height of what a whole page holds."""
        return self.size_mm[1] - 2 * self.margin_mm - self._foot_mm

    def _next_page(self) -> None:
        from matplotlib.figure import Figure

        with _style():
            self._figures.append(Figure(figsize=(self.size_mm[0] / 25.4, self.size_mm[1] / 25.4), facecolor="white"))
        self._down = self.margin_mm
        foot = self.size_mm[1] - self.margin_mm
        for below, line in enumerate(self._foot_lines, 1 - len(self._foot_lines)):
            self._text(line, self.margin_mm, foot + below * _line_mm(_FOOT_PT), _FOOT_PT)
        number = self._text("", self.size_mm[0] - self.margin_mm, foot, _FOOT_PT, align="right")
        self._numbers.append(number)

    def _number_pages(self) -> None:
        for page, number in enumerate(self._numbers, 1):
            number.set_text(f"page {page} of {self.pages}" if self.pages > 1 else "")

    def _flow(self, lines: Sequence[str], size_pt: float, *, bold: bool = False, left: float = 0.0) -> None:
        for line in lines:
            self.keep_together(_line_mm(size_pt))
            baseline = self._down + _RISE * size_pt * _MM_PER_PT
            self._text(line, self.margin_mm + left, baseline, size_pt, bold=bold)
            self._down += _line_mm(size_pt)

    def _text(
        self, words: str, x: float, down: float, size_pt: float, *, bold: bool = False, align: str = "left"
    ) -> Any:
        across, height = self.size_mm
        with _style():
            return self._figures[-1].text(
                x / across,
                1 - down / height,
                words,
                size=size_pt,
                weight="bold" if bold else "normal",
                color=_INK,
                horizontalalignment=align,
                verticalalignment="baseline",
                parse_math=False,
            )

    def _two_parts(self, first: str, lines: Sequence[str], indent: float) -> None:
        self._flow([first], STEPS_PT, left=_INDENT_MM + indent)
        self._flow(lines, STEPS_PT, left=_INDENT_MM)

    def _tick(self, left_mm: float) -> None:
        top = self._down + 1.02 * STEPS_PT * 25.4 / 72 - _TICK_MM
        self._box(self.margin_mm + left_mm, top, _TICK_MM, _TICK_MM, edge=_INK, fill="none", line_pt=0.8)

    def _rule(self, down: float, line_pt: float) -> None:
        self._box(self.margin_mm, down, self.width_mm, 0.0, edge=_RULE, fill="none", line_pt=line_pt)

    def _box(
        self, x: float, down: float, width: float, height: float, *, edge: str, fill: str, line_pt: float = 0.0
    ) -> None:
        from matplotlib.patches import Rectangle

        across, high = self.size_mm
        with _style():
            box = Rectangle(
                (x / across, 1 - (down + height) / high),
                width / across,
                height / high,
                edgecolor=edge,
                facecolor=fill,
                linewidth=line_pt,
                transform=self._figures[-1].transFigure,
                zorder=-1,
            )
        self._figures[-1].add_artist(box)

    def _columns(
        self, names: Sequence[str], cells: Sequence[Sequence[str]], size_pt: float, right: set[str]
    ) -> list[_Column]:
        """Each column as wide as it wants to be; where that is too much, the widest give way."""
        wanted = []
        for place, name in enumerate(names):
            body = max((width_of_words_mm(row[place], size_pt) for row in cells), default=0.0)
            wanted.append(max(body, width_of_words_mm(name, size_pt, bold=True)) + 0.5)
        room = self.width_mm - 2 * _PAD_MM * len(names)
        widths = _given_way(wanted, room)
        spare = (room - sum(widths)) / len(names)
        columns, left = [], _PAD_MM
        for name, width in zip(names, widths, strict=True):
            columns.append(_Column(name, left, width, name in right))
            left += width + spare + 2 * _PAD_MM
        return columns

    def _table_head(self, columns: Sequence[_Column], size_pt: float) -> None:
        split = [wrapped(column.heading, column.width, size_pt, bold=True) for column in columns]
        height = max(map(len, split)) * _line_mm(size_pt) + _PAD_MM
        self._table_row(columns, split, size_pt, height, bold=True)
        self._rule(self._down, 0.8)

    def _table_row(
        self,
        columns: Sequence[_Column],
        split: Sequence[Sequence[str]],
        size_pt: float,
        height: float,
        *,
        bold: bool = False,
    ) -> None:
        for column, lines in zip(columns, split, strict=True):
            x = self.margin_mm + column.left + (column.width if column.right else 0.0)
            for place, line in enumerate(lines):
                down = self._down + _PAD_MM / 2 + place * _line_mm(size_pt) + _RISE * size_pt * _MM_PER_PT
                self._text(line, x, down, size_pt, bold=bold, align="right" if column.right else "left")
        self._down += height


def width_of_words_mm(words: str, size_pt: float, *, bold: bool = False) -> float:
    """How wide a line of the sheet's lettering is, in mm.

    >>> width_of_words_mm("40/80", 10) < width_of_words_mm("40/80", 10, bold=True)
    True
    """
    return _measured(in_lettering(words), bold) * size_pt if words else 0.0


@lru_cache(maxsize=10_000)
def _measured(words: str, bold: bool) -> float:
    """The same for type of 1 pt."""
    from matplotlib.textpath import text_to_path

    width, _, _ = text_to_path.get_text_width_height_descent(words, _font(bold), ismath=False)
    return float(width) / _MEASURED_PT * _MM_PER_PT


@cache
def _font(bold: bool) -> FontProperties:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=_FAMILY, size=_MEASURED_PT, weight="bold" if bold else "normal")


def wrapped(text: str, width_mm: float, size_pt: float, *, bold: bool = False) -> list[str]:
    """Text as lines that are no wider than asked for, at least one; a word that is too long is cut.

    >>> wrapped("isolate the lathe", 20, 10)
    ['isolate the', 'lathe']
    """
    lines, line = [], ""
    for word in _one_line(text).split(" "):
        longer = f"{line} {word}" if line else word
        if width_of_words_mm(longer, size_pt, bold=bold) <= width_mm:
            line = longer
            continue
        lines += [line] if line else []
        *cut, line = _cut(word, width_mm, size_pt, bold)
        lines += cut
    return [*lines, line]


def _cut(word: str, width_mm: float, size_pt: float, bold: bool) -> list[str]:
    pieces, piece = [], ""
    if width_of_words_mm(word, size_pt, bold=bold) <= width_mm:
        return [word]
    for sign in word:
        if piece and width_of_words_mm(piece + sign, size_pt, bold=bold) > width_mm:
            pieces.append(piece)
            piece = ""
        piece += sign
    return [*pieces, piece]


def _first_line(text: str, room_mm: float) -> tuple[str, str]:
    """As many words as there is room for behind the title, and the rest."""
    words = text.split()
    count = 0
    while count < len(words) and width_of_words_mm(" ".join(words[: count + 1]), STEPS_PT) <= room_mm:
        count += 1
    return " ".join(words[:count]), " ".join(words[count:])


def _given_way(wanted: Sequence[float], room: float) -> list[float]:
    """Widths that fit into the room: those that want little have it, the rest share what is left."""
    widths, left, open_columns = list(wanted), room, len(wanted)
    for place in sorted(range(len(wanted)), key=wanted.__getitem__):
        widths[place] = min(wanted[place], max(left / open_columns, 1.0))
        left -= widths[place]
        open_columns -= 1
    return widths


def _line_mm(size_pt: float) -> float:
    return _LINE * size_pt * _MM_PER_PT


def _one_line(text: object) -> str:
    """Words in one row, in signs that are printed."""
    return in_lettering(" ".join(str(text).split()))


def _in_printed_signs(figure: Figure) -> Figure:
    """The page with the words of its drawings in signs that are printed, whoever drew them."""
    from matplotlib.text import Text

    for words in figure.findobj(Text):
        words.set_text("\n".join(map(in_lettering, words.get_text().split("\n"))))
    return figure


def in_lettering(words: str) -> str:
    """Words with a mark that is seen for each sign that no printer prints, or that the lettering has not.

    >>> in_lettering("Ø 20 \u65cb")
    'Ø 20 \ufffd'
    """
    words = _NOT_PRINTED.sub("\ufffd", words)
    return words if words.isascii() else "".join(sign if _in_lettering(sign) else "\ufffd" for sign in words)


@lru_cache(maxsize=10_000)
def _in_lettering(sign: str) -> bool:
    from matplotlib.font_manager import findfont, get_font

    return bool(get_font(findfont(_font(False))).get_char_index(ord(sign)))


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "–" if value is None or value == "" else in_lettering(str(value))


@contextmanager
def _style() -> Iterator[None]:
    """This sheet's settings, whatever those of the user are."""
    import matplotlib

    with matplotlib.rc_context(_STYLE):
        yield
