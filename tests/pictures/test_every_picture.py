"""What every picture in the house must have, asked of several of every kind."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from gearcalc.pictures import style
from tests.how_much import in_one
from tests.pictures.kinds import KINDS, drawn
from tests.pictures.svg_texts import SPACE, boxes_off_the_sheet, boxes_on_each_other, words_of
from tests.pictures.test_picture import Reader

ALL = [(kind, name) for kind, pictures in KINDS.items() for name in pictures]
SHOWN_BY_A_PAGE = {"figure", "img", "figcaption", "details", "summary", "table", "thead", "tbody", "tr", "th", "td"}
PALETTE = {
    style.tint(colour, share / 100)
    for name, colour in vars(style).items()
    if isinstance(colour, str) and re.fullmatch("#[0-9A-F]{6}", colour)
    for share in range(101)
}


@in_one(("kind", "name"), ALL)
class TestEveryPicture:
    def test_it_says_itself_what_it_shows(self, kind, name):
        picture = drawn(kind, name)
        root = ElementTree.fromstring(picture.svg)
        assert (root.get("role"), root.get("aria-label")) == ("img", picture.description)
        assert [child.tag for child in root][:2] == [f"{SPACE}title", f"{SPACE}desc"]
        assert root[1].text == picture.description
        assert root[0].text
        assert picture.caption
        assert not re.search(r"\b1 (lines|turns|teeth)\b", picture.description)

    def test_what_is_below_zero_has_a_true_minus_sign(self, kind, name):
        """But in a line of the lathe file, which is to be copied."""
        picture = drawn(kind, name)
        drawn_words = (word.text for word in words_of(picture.svg))
        said = [re.sub(r"\w+ = \[[^]]*\]", "", text) for text in (*drawn_words, picture.description, picture.caption)]
        assert [text for text in said if re.search(r"(?<!\S)-\d", text)] == []

    def test_its_table_stands_beside_it_and_nothing_becomes_markup(self, kind, name):
        shown = Reader(drawn(kind, name)._repr_html_())
        assert "td" in shown.names()
        assert set(shown.names()) <= SHOWN_BY_A_PAGE | {"sub", "sup", "span"}

    def test_no_words_leave_the_sheet_or_lie_on_others(self, kind, name):
        svg = drawn(kind, name).svg
        assert boxes_off_the_sheet(svg) == []
        assert boxes_on_each_other(svg) == []

    def test_nothing_is_drawn_that_is_no_number(self, kind, name):
        assert not re.search(r"\bnan\b|\binf\b", drawn(kind, name).svg)

    def test_only_colours_of_the_palette(self, kind, name):
        assert set(re.findall("#[0-9A-Fa-f]{6}", drawn(kind, name).svg)) <= PALETTE


@in_one(("kind", "name"), [(kind, name) for kind, name in ALL if kind != "gear sets"])  # which take seconds
def test_the_same_each_time(kind, name):
    assert KINDS[kind][name]() == drawn(kind, name)
