"""Marks: the lettering is as wide as the font says, SVG and PDF show the same marks, and SVG needs no matplotlib."""

from __future__ import annotations

import logging
import re
import zlib
from pathlib import Path
from xml.etree import ElementTree

import matplotlib
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib import ft2font
from matplotlib.font_manager import FontProperties
from matplotlib.ft2font import FT2Font
from matplotlib.textpath import text_to_path

from gearcalc.basics.files import read_rows
from gearcalc.papers.marks import (
    Disc,
    Shape,
    Words,
    in_lettering,
    page_svg,
    pages_pdf,
    width_of_words_mm,
    wrapped,
    wrapped_with_bold,
)
from tests.how_much import examples

PT = 25.4 / 72
WORDS = "ab W.,8/·éΩ "
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
NO_SCALE = ft2font.LoadFlags.NO_SCALE if hasattr(ft2font, "LoadFlags") else ft2font.LOAD_NO_SCALE  # before 3.10
SVG = "{http://www.w3.org/2000/svg}"


def drawn_in(pdf: bytes) -> str:
    """The operators of a page: the one stream of a PDF that sets text."""
    packed = re.findall(rb"/FlateDecode[^>]*>>\nstream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    return next(stream for stream in map(zlib.decompress, packed) if b"Tf" in stream).decode("latin-1")


class TestTheFontThatMatplotlibBrings:
    """DejaVu Sans 2.37, regular and bold: what the table in data/ was made from."""

    def test_every_sign_of_both_weights_advances_as_the_table_says(self):
        said = {"regular": {}, "bold": {}}
        for row in read_rows("lettering/dejavu_sans.csv"):
            for sign in range(int(row["first"], 16), int(row["last"], 16) + 1):
                for weight, widths in said.items():
                    widths[sign] = int(row[weight])
        fonts = {"regular": FT2Font(str(FONTS / "DejaVuSans.ttf")), "bold": FT2Font(str(FONTS / "DejaVuSans-Bold.ttf"))}
        both = set(fonts["regular"].get_charmap()) & set(fonts["bold"].get_charmap())
        for weight, font in fonts.items():
            glyphs = font.get_charmap()
            advances = {sign: font.load_glyph(glyphs[sign], NO_SCALE).horiAdvance for sign in both}
            assert advances == said[weight]
            assert font.units_per_EM == 2048

    @pytest.mark.parametrize("bold", [False, True])
    def test_lines_are_as_wide_as_matplotlib_measures_them(self, bold):
        """Every line of the README and of the data tables: it kerns some pairs of letters closer, and rounds."""
        font = FontProperties(family="DejaVu Sans", size=10, weight="bold" if bold else "normal")
        folder = Path(__file__).parents[2]
        texts = [folder / "README.md", *sorted((folder / "data" / "threads").glob("*.csv"))]
        lines = {line.strip()[:110].strip() for path in texts for line in path.read_text("utf-8").splitlines()}
        lines = {line for line in lines if len(line) > 3} | {"40→(50)→80+30→60", "M8×1.25", "3.12 µm short", "11½ tpi"}
        assert len(lines) > 400
        for line in sorted(lines):
            measured = text_to_path.get_text_width_height_descent(line, font, ismath=False)[0] * PT
            ours = width_of_words_mm(line, 10, bold=bold)
            assert 0.998 * measured - 0.1 < ours < 1.04 * measured + 0.5, line


class TestSvgAndPdf:
    MARKS = (
        Words("Isolate first", 20, 30, 12, bold=True),
        Words("40", 100, 60, 9, align="middle"),
        Words("page 1 of 2", 190, 280, 8, align="end"),
        Shape(((20, 40), (60, 40)), line_pt=1, closed=False),
        Shape(((70, 40), (110, 40), (110, 70)), fill="#E9EBED", edge=""),
        Disc(150, 60, 12, dashed=True),
    )

    def test_the_same_words_at_the_same_places(self):
        """What stands in the PDF is read from its own text operators, in points from the lower left corner."""
        stream = drawn_in(pages_pdf([self.MARKS], (210, 297), "Sheet"))
        pairs = re.findall(r"([\d.]+) ([\d.]+) (?:cm\nBT|Td)", stream)  # where a line begins; within it nothing goes up
        places = [(float(x), float(up)) for x, up in pairs if float(up)]
        texts = list(ElementTree.fromstring(page_svg(self.MARKS, (210, 297), "Sheet")).iter(f"{SVG}text"))
        assert len(places) == len(texts) == 3
        for (x, up), text, mark in zip(places, texts, self.MARKS, strict=False):
            wide = width_of_words_mm(mark.words, mark.size_pt, bold=mark.bold) / PT
            left = float(text.get("x")) - {"start": 0, "middle": wide / 2, "end": wide}[mark.align]
            assert (x, up) == pytest.approx((left, 297 / PT - float(text.get("y"))), abs=1)

    def test_one_page_of_pdf_for_each(self):
        assert len(re.findall(rb"/Type /Page\b", pages_pdf([self.MARKS, self.MARKS], (210, 297), "Sheet"))) == 2

    def test_who_works_with_matplotlib_is_told_of_it_what_they_want_to_know(self):
        before = logging.getLogger("matplotlib").level
        pages_pdf([[]], (210, 297), "Sheet")
        assert logging.getLogger("matplotlib").level == before

    def test_a_circle_is_dashed_in_both(self):
        assert re.search(r"\[ ?3 1\.6 ?\] 0 d", drawn_in(pages_pdf([self.MARKS], (210, 297), "Sheet")))
        assert 'stroke-dasharray="3 1.6"' in page_svg(self.MARKS, (210, 297), "Sheet")

    def test_what_a_user_typed_is_no_markup(self):
        said = page_svg([Words('<script>"&\x00', 1, 1, 9)], (210, 297), "<b>")
        assert "&lt;script&gt;&quot;&amp;\ufffd" in said
        assert "<title>&lt;b&gt;</title>" in said
        ElementTree.fromstring(said)

    def test_signs_that_the_lettering_has_not(self):
        assert in_lettering("旋 Ø\ud800") == "\ufffd Ø\ufffd"
        assert Words("旋", 0, 0, 9).words == "\ufffd"


class TestWrapped:
    def test_lines_are_as_wide_as_they_may_be(self):
        lines = wrapped("a lathe has a leadscrew and a spindle " * 9, 40, 10)
        assert all(width_of_words_mm(line, 10) <= 40 for line in lines)
        following = [line.split(" ")[0] for line in lines[1:]]
        assert all(width_of_words_mm(f"{line} {word}", 10) > 40 for line, word in zip(lines, following, strict=False))

    def test_a_line_never_breaks_inside_a_number(self):
        said = "off by 10\u202f601 ppm"
        lines = [wrapped(said, wide, 10) for wide in range(18, 40)]
        assert any(len(each) > 1 for each in lines)
        assert all(any("10\u202f601" in line for line in each) for each in lines)
        assert any("10\u202f601" in piece for (piece, _), *_ in wrapped_with_bold(said, 25, 10))

    def test_a_word_too_long_for_the_line_is_cut(self):
        lines = wrapped("x" * 200, 30, 10)
        assert "".join(lines) == "x" * 200
        assert all(width_of_words_mm(line, 10) <= 30 for line in lines)

    def test_nothing_is_one_empty_line(self):
        assert wrapped("", 30, 10) == [""]


class TestWordsInBold:
    """Lines of pieces: no word is lost or moved, none is wider than the line, and bold is what stands between stars."""

    @examples(60)
    @given(st.lists(st.text(WORDS, min_size=1, max_size=12), max_size=30), st.floats(8, 120))
    def test_every_sign_in_its_weight_and_no_line_too_wide(self, parts, wide):
        lines = wrapped_with_bold("**".join(parts), wide, 10)
        found = [(sign, bold) for line in lines for piece, bold in line for sign in piece if sign != " "]
        assert found == [(sign, n % 2 == 1) for n, part in enumerate(parts) for sign in part if sign != " "]
        for line in lines:
            used = sum(width_of_words_mm(piece, 10, bold=bold) for piece, bold in line)
            assert used <= wide or sum(len(piece) for piece, _ in line) == 1

    @examples(60)
    @given(st.lists(st.text("abc.,", min_size=1, max_size=9), min_size=1, max_size=30))
    def test_without_bold_the_words_are_those_of_a_plain_paragraph(self, words):
        lines = wrapped_with_bold("  ".join(words), 60, 10)
        assert " ".join(piece for line in lines for piece, _ in line).split() == words
        assert all(len(line) == 1 and not line[0][1] for line in lines)
