"""Marks on a page: words in one lettering, lines, boxes, outlines; what they measure, and a page of them as SVG or PDF.

All places are in mm from the upper left corner of the page. The lettering is DejaVu Sans: how wide its signs are stands
in data/, so that a page is laid out, and becomes SVG, in pure Python; matplotlib, which brings the font, writes the PDF
from the same marks. Text stays text in both; PDF carries the font with it. The same marks give the same bytes each
time, and nothing in them says where or when they were made.
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from attrs import field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import read_rows
from gearcalc.pictures import style
from gearcalc.pictures.svg import Svg, element, number

if TYPE_CHECKING:
    from matplotlib.artist import Artist

MM_PER_PT = 25.4 / 72
INK, RULE, SHADE = style.BLACK, style.SOFT, style.STEEL

_EM = 2048  # units of the table of widths in one size of the type
_FAMILY = "DejaVu Sans"
_LIKE_IT = f"'{_FAMILY}', Verdana, sans-serif"  # an SVG carries no font with it; none of these is wider
_DASHES_PT = (3, 1.6)
_NOT_PRINTED = re.compile("[^\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_UNKNOWN = "\ufffd"
_OURS_ALONE = {  # whatever the user's settings of matplotlib are
    "font.family": [_FAMILY],
    "pdf.fonttype": 42,
    "savefig.bbox": None,
    "text.usetex": False,
}

_ALIGNED: dict[str, Literal["left", "center", "right"]] = {"start": "left", "middle": "center", "end": "right"}

# The lettering.


def width_of_words_mm(words: str, size_pt: float, *, bold: bool = False) -> float:
    """How wide a line of the sheet's lettering is, in mm: the sum of what its signs advance.

    >>> width_of_words_mm("40/80", 10) < width_of_words_mm("40/80", 10, bold=True)
    True
    """
    widths = _widths(bold)
    return sum(widths[sign] for sign in in_lettering(words)) / _EM * size_pt * MM_PER_PT


def in_lettering(words: str) -> str:
    """Words with a mark that is seen for each sign that no printer prints, or that the lettering has not.

    >>> in_lettering("Ø 20 \u65cb")
    'Ø 20 \ufffd'
    """
    words = _NOT_PRINTED.sub(_UNKNOWN, words)
    return words if words.isascii() else "".join(sign if sign in _widths(True) else _UNKNOWN for sign in words)


@cache
def _widths(bold: bool) -> dict[str, int]:
    """Of each sign, in units of which the size of the type has 2048."""
    widths = {}
    for row in read_rows("lettering/dejavu_sans.csv"):
        signs = range(int(row["first"], 16), int(row["last"], 16) + 1)
        widths.update(dict.fromkeys(map(chr, signs), int(row["bold" if bold else "regular"])))
    return widths


def wrapped(text: object, width_mm: float, size_pt: float, *, bold: bool = False) -> list[str]:
    """Text as lines that are no wider than asked for, at least one; a word that is too long is cut.

    >>> wrapped("isolate the lathe", 20, 10)
    ['isolate the', 'lathe']
    """
    lines, line = [], ""
    for word in in_lettering(markup.one_line(str(text))).split(" "):
        longer = f"{line} {word}" if line else word
        if width_of_words_mm(longer, size_pt, bold=bold) <= width_mm:
            line = longer
            continue
        lines += [line] if line else []
        *cut, line = _cut(word, width_mm, size_pt, bold)
        lines += cut
    return [*lines, line]


def wrapped_with_bold(text: str, width_mm: float, size_pt: float) -> list[list[tuple[str, bool]]]:
    """Text with **bold** in it as lines of pieces that stand side by side, each with whether it is bold.

    >>> wrapped_with_bold("It cuts **16 tpi**, exactly.", 30, 10)
    [[('It cuts ', False), ('16 tpi', True), (',', False)], [('exactly.', False)]]
    """
    lines: list[list[tuple[str, bool]]] = []
    used, space = 0.0, width_of_words_mm(" ", size_pt, bold=True)  # the wider of the two
    for word in _words_with_bold(in_lettering(markup.one_line(text))):
        wide = sum(width_of_words_mm(piece, size_pt, bold=bold) for piece, bold in word)
        if lines and used + space + wide <= width_mm:
            used += space + wide
            _join(lines[-1], word)
        elif wide <= width_mm:
            used = wide
            lines.append(word)
        else:
            used = width_mm  # a word that is too long is cut, and nothing stands behind it
            lines += ([(each, bold)] for piece, bold in word for each in _cut(piece, width_mm, size_pt, bold))
    return lines


def _join(line: list[tuple[str, bool]], word: list[tuple[str, bool]]) -> None:
    """Put a word at the end of a line; the space between them is bold only where both are."""
    (before, was_bold), (first, bold) = line.pop(), word[0]
    if was_bold == bold:
        line += [(f"{before} {first}", bold), *word[1:]]
    elif bold:
        line += [(f"{before} ", False), *word]
    else:
        line += [(before, True), (f" {first}", False), *word[1:]]


def _words_with_bold(text: str) -> Iterator[list[tuple[str, bool]]]:
    """Each word of a text, in pieces where bold begins or ends inside it."""
    word: list[tuple[str, bool]] = []
    for place, part in enumerate(text.split("**")):
        for count, piece in enumerate(part.split(" ")):
            if count and word:
                yield word
                word = []
            word += [(piece, place % 2 == 1)] if piece else []
    if word:
        yield word


def _cut(word: str, width_mm: float, size_pt: float, bold: bool) -> Iterator[str]:
    piece = ""
    for sign in word:
        if piece and width_of_words_mm(piece + sign, size_pt, bold=bold) > width_mm:
            yield piece
            piece = ""
        piece += sign
    yield piece


# The marks, and what becomes of them.


@frozen
class Words:
    """A line of lettering; x, y is where its baseline starts, or its middle or end (`align`: 'middle', 'end')."""

    words: str = field(converter=in_lettering)
    x: float
    y: float
    size_pt: float
    bold: bool = False
    align: str = "start"


@frozen
class Shape:
    """A line from point to point, `closed` or not; `edge`, `fill`: colours, '' for none."""

    points: tuple[tuple[float, float], ...]
    edge: str = INK
    fill: str = ""
    line_pt: float = 0.8
    closed: bool = True


@frozen
class Disc:
    """A circle, its edge drawn through or dashed."""

    x: float
    y: float
    radius: float
    edge: str = INK
    line_pt: float = 0.8
    dashed: bool = False


Mark = Words | Shape | Disc
"""One thing on a page; what is to lie above another comes after it."""


def box(left: float, top: float, width: float, height: float, **look: object) -> Shape:
    """A box, `look` as a Shape has it."""
    right, bottom = left + width, top + height
    return Shape(((left, top), (right, top), (right, bottom), (left, bottom)), **look)  # type: ignore[arg-type]


def page_svg(marks: Sequence[Mark], size_mm: tuple[float, float], title: str) -> str:
    """A page as an SVG document, in points.

    >>> page_svg([Words("40 < 80", 20, 30, 10)], (210, 297), "Gears")[-84:]
    '<text x="56.69" y="85.04" font-size="10" text-anchor="start">40 &lt; 80</text></svg>'
    """
    width, height = (side / MM_PER_PT for side in size_mm)
    page = element(
        "svg",
        element("title", title),
        element("rect", width=width, height=height, fill=style.PAPER),
        *map(_drawn, marks),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:.4f} {height:.4f}",
        width=f"{width:.4f}pt",
        height=f"{height:.4f}pt",
        font_family=_LIKE_IT,
        fill=INK,
    )
    return f'<?xml version="1.0" encoding="utf-8"?>\n{page}'


def pages_html(pages: Sequence[Sequence[Mark]], size_mm: tuple[float, float], title: str) -> str:
    """Pages as one HTML page, for a browser to print each on a sheet of its own.

    >>> page = pages_html([[Words("40", 20, 30, 10)], [Words("80", 20, 30, 10)]], (210, 297), "Gears < Sheets")
    >>> page.count("<svg"), "<title>Gears &lt; Sheets</title>" in page, "size: 210mm 297mm" in page
    (2, True, True)
    """
    width, height = (f"{writing.decimal(side, 1)}mm" for side in size_mm)
    sheets = (page_svg(marks, size_mm, title).partition("\n")[2] for marks in pages)
    rules = (
        f"@page {{ size: {width} {height}; margin: 0; }} body {{ margin: 0; background: {style.PAPER}; }} "
        f"svg {{ display: block; width: {width}; height: {height}; margin: 0 auto; break-inside: avoid; }} "
        "svg + svg { break-before: page; } "
        "h1 { position: absolute; width: 1px; height: 1px; margin: 0; overflow: hidden; clip-path: inset(50%); }"
    )  # the heading that is seen stands in the drawing, where a screen reader takes it for words like others
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head>{markup.HEAD}<title>{markup.in_html(title)}</title>'
        f"<style>{rules}</style></head><body><main><h1>{markup.in_html(title)}</h1>{''.join(sheets)}</main></body></html>\n"
    )


def _drawn(mark: Mark) -> Svg:
    if isinstance(mark, Words):
        place = {"x": mark.x / MM_PER_PT, "y": mark.y / MM_PER_PT, "font_size": mark.size_pt}
        return element("text", mark.words, **place, text_anchor=mark.align, font_weight="bold" if mark.bold else None)
    look = {"stroke": mark.edge or "none", "stroke_width": mark.line_pt if mark.edge else None}
    if isinstance(mark, Disc):
        place = {"cx": mark.x / MM_PER_PT, "cy": mark.y / MM_PER_PT, "r": mark.radius / MM_PER_PT}
        dashes = "{} {}".format(*_DASHES_PT) if mark.dashed else None
        return element("circle", **place, fill="none", **look, stroke_dasharray=dashes)
    path = "L".join(f"{number(x / MM_PER_PT)} {number(y / MM_PER_PT)}" for x, y in mark.points)
    return element("path", d=Svg(f"M{path}{'Z' if mark.closed else ''}"), fill=mark.fill or "none", **look)


def pages_pdf(pages: Sequence[Sequence[Mark]], size_mm: tuple[float, float], title: str) -> bytes:
    """Pages as one PDF. Raises NotPossibleError where there is no matplotlib to write it."""
    try:
        with _nothing_advised():
            import matplotlib
            from matplotlib.backends.backend_pdf import PdfPages
            from matplotlib.figure import Figure
    except ImportError:
        raise NotPossibleError(
            "a PDF is written by matplotlib, which can't be had here",
            remedy="Save the sheet as a file ending .html, and have the browser print that, to paper or to PDF.",
        ) from None
    width, height = size_mm
    store = io.BytesIO()
    metadata = {"Title": title, "CreationDate": None, "Creator": None, "Producer": None}
    with matplotlib.rc_context(_OURS_ALONE), PdfPages(store, metadata=metadata) as file:
        for marks in pages:
            figure = Figure(figsize=(width / 25.4, height / 25.4), facecolor=style.PAPER)
            axes = figure.add_axes((0, 0, 1, 1), xlim=(0, width), ylim=(height, 0), autoscale_on=False)
            axes.set_axis_off()
            for above, mark in enumerate(marks):
                axes.add_artist(_artist(mark)).set(zorder=above, clip_on=False)
            file.savefig(figure)
    return store.getvalue()


@contextmanager
def _nothing_advised() -> Iterator[None]:
    """Meanwhile matplotlib, on its way in, does not advise about folders of its own where a home can't be written."""
    log = logging.getLogger("matplotlib")
    before = log.level
    log.setLevel(logging.ERROR)
    try:
        yield
    finally:
        log.setLevel(before)


def _artist(mark: Mark) -> Artist:
    from matplotlib.patches import Circle, Polygon
    from matplotlib.text import Text

    if isinstance(mark, Words) and mark.align == "start":
        return _line_of_words()(mark)
    if isinstance(mark, Words):
        return Text(
            mark.x,
            mark.y,
            mark.words,
            size=mark.size_pt,
            weight="bold" if mark.bold else "normal",
            color=INK,
            horizontalalignment=_ALIGNED[mark.align],
            verticalalignment="baseline",
            parse_math=False,
        )
    if isinstance(mark, Disc):
        line = (0, tuple(length / mark.line_pt for length in _DASHES_PT)) if mark.dashed else "solid"
        place = (mark.x, mark.y)
        return Circle(place, mark.radius, fill=False, edgecolor=mark.edge, linewidth=mark.line_pt, linestyle=line)
    look = {"edgecolor": mark.edge or "none", "facecolor": mark.fill or "none", "linewidth": mark.line_pt}
    return Polygon(mark.points, closed=mark.closed, capstyle="butt", joinstyle="miter", **look)


@cache
def _line_of_words() -> Callable[[Words], Artist]:
    """An artist of its own for a line that starts at its place: Text would measure it first, which takes as long again
    as to write it, and a class has hundreds of pages."""
    from matplotlib.artist import Artist
    from matplotlib.font_manager import FontProperties

    fonts = {bold: FontProperties(family=_FAMILY, weight="bold" if bold else "normal") for bold in (False, True)}

    class LineOfWords(Artist):
        def __init__(self, mark: Words) -> None:
            super().__init__()
            self.mark = mark

        def draw(self, renderer: Any) -> None:
            assert self.axes is not None
            look, font = renderer.new_gc(), fonts[self.mark.bold]
            font.set_size(self.mark.size_pt)
            look.set_foreground(INK)
            x, y = self.axes.transData.transform((self.mark.x, self.mark.y))
            renderer.draw_text(look, x, y, self.mark.words, font, 0)
            look.restore()

    return LineOfWords
