"""The SVG builder: whatever goes in, what comes out is well-formed and harmless."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from gearcalc.basics.errors import GearcalcError
from gearcalc.pictures.style import LOOKS, text_width_px, tint
from gearcalc.pictures.svg import Svg, element, number, text_line
from tests.how_much import in_one

HOSTILE = "<script>alert(1)</script> & \" ' ]]> \x00\x1b\ud800 −½"


class TestElement:
    def test_text_and_attributes_come_back_as_they_went_in(self):
        words = "</text><script> & \"quoted\" 'too'"
        parsed = ElementTree.fromstring(element("text", words, fill=words))
        assert (parsed.text, parsed.get("fill"), len(parsed)) == (words, words, 0)

    def test_what_a_terminal_obeys_or_what_turns_the_reading_round_is_replaced(self):
        for sign in "\r\x7f\x85\x9b\u202e\u2067":
            assert sign not in element("text", f"40{sign}80", aria_label=sign), ascii(sign)

    def test_what_xml_cannot_hold_is_replaced(self):
        parsed = ElementTree.fromstring(element("g", element("desc", HOSTILE), stroke=HOSTILE))
        assert parsed[0].text == HOSTILE.translate({0: "\ufffd", 0x1B: "\ufffd", 0xD800: "\ufffd"})

    def test_made_markup_nests_as_it_is(self):
        assert element("g", element("circle", r=1)) == '<g><circle r="1"/></g>'

    @in_one("name", ["script", "foreignObject", "a", "image", "style", "g onload", ""])
    def test_elements_no_drawing_needs_are_refused(self, name):
        with pytest.raises(GearcalcError):
            element(name)

    @in_one("name", ["onclick", "ONLOAD", "href", "xlink:href", "x y", 'x"', ""])
    def test_attributes_no_drawing_needs_are_refused(self, name):
        with pytest.raises(GearcalcError):
            element("g", **{name: "1"})

    def test_text_joined_to_markup_is_text_again(self):
        """A plain str made by adding is not trusted."""
        joined = element("circle", r=1) + "<script>"
        assert type(joined) is str
        assert "<script>" not in element("g", joined)

    def test_none_leaves_an_attribute_out(self):
        assert text_line("x", 0, 0, size=9, font_weight=None).count("weight") == 0


class TestNumber:
    @in_one(("x", "shown"), [(0.0, "0"), (-0.001, "0"), (10, "10"), (-12.345, "-12.35"), (1e6, "1000000")])
    def test_short_and_plain(self, x, shown):
        assert abs(float(number(x)) - float(shown)) <= 0.01
        assert "e" not in number(x)
        assert len(number(x)) <= len(shown)

    def test_markup_knows_how_to_show_itself(self):
        assert Svg("<svg/>")._repr_svg_() == "<svg/>"


class TestLooks:
    def test_kinds_differ_by_more_than_colour(self):
        marks = {(look.ring, look.hatched, look.broken_ring) for look in LOOKS.values()}
        assert len(marks) == len(LOOKS)

    def test_lettering_stands_out_on_every_fill(self):
        """WCAG 2.1: contrast of at least 4.5 to 1."""
        for look in LOOKS.values():
            assert contrast("#1B1F24", look.fill) >= 4.5

    def test_drivers_are_darker_than_the_rest_in_grey(self):
        driver, driven, idler = (luminance(LOOKS[kind].fill) for kind in ("driver", "driven", "idler"))
        assert driver < 0.8 * min(driven, idler)

    def test_tint_runs_from_white_to_the_colour(self):
        assert (tint("#0072B2", 0), tint("#0072B2", 1)) == ("#FFFFFF", "#0072B2")

    def test_longer_words_are_wider(self):
        assert text_width_px("leadscrew", 12) < text_width_px("spindle side", 12)


def luminance(colour: str) -> float:
    def linear(channel: int) -> float:
        share = channel / 255
        return share / 12.92 if share <= 0.03928 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(colour[at : at + 2], 16)) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
