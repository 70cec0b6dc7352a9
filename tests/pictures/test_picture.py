"""The picture as a notebook shows it, read back by an HTML parser."""

from __future__ import annotations

import base64
import re
from fractions import Fraction
from html.parser import HTMLParser

import pytest

from gearcalc.basics import writing
from gearcalc.basics.errors import GearcalcError
from gearcalc.pictures.picture import Picture, table_html
from tests.how_much import in_one

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"/>'
NASTY = '"><script>alert(1)</script>&'


class Reader(HTMLParser):
    """Tags with attributes, and the text of each heading and cell."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.cells: list[str] = []
        self.open: list[str] = []
        self.feed(markup)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.open.append(tag)
        if tag in ("th", "td"):
            self.cells.append("")

    def handle_endtag(self, tag):
        while self.open.pop() != tag:
            pass

    def handle_data(self, data):
        if {"th", "td"} & set(self.open):
            self.cells[-1] += data

    def plain_cells(self) -> list[str]:
        """The same in plain spaces."""
        return [re.sub(r"\s", " ", cell) for cell in self.cells]

    def names(self) -> list[str]:
        return [tag for tag, _ in self.tags]

    def first(self, name: str) -> dict[str, str | None]:
        return next(attributes for tag, attributes in self.tags if tag == name)


class TestPicture:
    def test_html_carries_drawing_words_and_table(self):
        shown = Reader(Picture(SVG, "A gear.", [{"teeth": 40, "turns": Fraction(1, 2)}], "One gear")._repr_html_())
        assert shown.names()[:4] == ["figure", "img", "figcaption", "details"]
        assert shown.first("img")["alt"] == "A gear."
        media, data = shown.first("img")["src"].split(",")
        assert media == "data:image/svg+xml;base64"
        assert base64.b64decode(data).decode() == SVG
        assert shown.cells == ["teeth", "turns", "40", "0.5"]
        assert shown.open == []

    def test_nothing_given_becomes_markup(self):
        shown = Reader(Picture(SVG, NASTY, [{NASTY: NASTY}], NASTY)._repr_html_())
        assert "script" not in shown.names()
        assert shown.first("img")["alt"] == NASTY
        assert shown.cells == [NASTY, NASTY]

    def test_alt_text_is_one_line(self):
        assert Picture(SVG, "two\n  lines", [{"a": 1}], "c").description == "two lines"

    @in_one(
        "wrong",
        [
            (SVG, "", [{"a": 1}], "c"),
            (SVG, " \n", [{"a": 1}], "c"),
            (SVG, "d", [], "c"),
            (SVG, "d", [{}], "c"),
            (SVG, "d", [{"": 1}], "c"),
            (SVG, "d", [{"a": 1}], ""),
            ("", "d", [{"a": 1}], "c"),
        ],
    )
    def test_a_picture_without_words_or_table_is_refused(self, wrong):
        with pytest.raises(GearcalcError):
            Picture(*wrong)

    def test_it_cannot_be_changed(self):
        rows = [{"a": 1}]
        picture = Picture(SVG, "d", rows, "c")
        rows[0]["a"] = 2
        rows.append({"b": 3})
        assert picture.table == ({"a": 1},)
        with pytest.raises(AttributeError):
            picture.caption = "other"

    def test_printed_and_listed_it_stays_short(self):
        picture = Picture(SVG * 1000, "d", [{"a": 1}], "c")
        assert len(repr(picture)) < 100
        assert str(picture) == "c: d"


class TestSave:
    def test_the_file_is_the_drawing(self, tmp_path):
        path = Picture(SVG, "d", [{"a": 1}], "c").save(tmp_path / "train.svg")
        assert path.read_text(encoding="utf-8") == SVG
        assert [found.name for found in tmp_path.iterdir()] == ["train.svg"]

    def test_another_ending_is_refused_with_a_way_out(self, tmp_path):
        with pytest.raises(GearcalcError, match="print"):
            Picture(SVG, "d", [{"a": 1}], "c").save(tmp_path / "train.pdf")
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.parametrize("path", ["no such folder/train.svg", "train\0.svg", None, 3])
    def test_what_can_not_be_written_is_refused_in_our_words(self, path, tmp_path):
        with pytest.raises(GearcalcError):
            Picture(SVG, "d", [{"a": 1}], "c").save(tmp_path / path if isinstance(path, str) else path)
        assert list(tmp_path.iterdir()) == []


class TestTableHtml:
    def test_a_number_keeps_its_unit_and_a_train_its_gears(self):
        page = table_html([{"lead": "≈ 1.7501 mm", "train": "(55 · 60)/(38 · 80)", "words": "it is good enough"}])
        for whole in ("≈ 1.7501 mm", "(55 · 60)/(38 · 80)"):
            assert whole.replace(" ", "\u00a0") in page
        assert "it is good enough" in page

    def test_headings_have_scope_and_none_is_empty(self):
        shown = Reader(table_html([{"thread": "M8", "pitch": 1.25}, {"thread": "M10", "note": None}]))
        scopes = [attributes.get("scope") for tag, attributes in shown.tags if tag == "th"]
        assert scopes == ["col", "col", "col", "row", "row"]
        assert shown.cells == ["thread", "pitch", "note", "M8", "1.25", "–", "M10", "–", "–"]

    def test_values_are_written_as_everywhere_else(self):
        row = {"a": Fraction(80, 63), "b": 1 / 3, "c": True, "d": writing.number(Fraction(1, 3)), "e": float("nan")}
        shown = Reader(table_html([row]))
        assert shown.cells[5:] == ["80⁄63", "0.3333", "yes", "1⁄3", "nan"]
