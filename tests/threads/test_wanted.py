"""Feeds: travel of the tool in one turn of the spindle, read as the trade writes it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearcalc.basics.errors import ThreadTextError, ValueOutOfRangeError
from gearcalc.threads import Feed, Thread
from gearcalc.threads.wanted import as_wanted
from tests.how_much import in_one

INCH = Fraction(127, 5)


class TestParse:
    @in_one(
        ("text", "travel", "along"),
        [
            ("0.12 mm/rev", Fraction(12, 100), "longitudinal"),
            ("0,12mm/rev", Fraction(12, 100), "longitudinal"),
            ("0.12 MM / REV", Fraction(12, 100), "longitudinal"),
            ("0.12 mm", Fraction(12, 100), "longitudinal"),
            ("0.12 mm per turn", Fraction(12, 100), "longitudinal"),
            ("0.12 mm per revolution", Fraction(12, 100), "longitudinal"),
            ("0.12 mm/r", Fraction(12, 100), "longitudinal"),
            ("feed 0.12 mm/rev", Fraction(12, 100), "longitudinal"),
            ("0.12 mm/rev longitudinal", Fraction(12, 100), "longitudinal"),
            ("0.12 mm/rev cross", Fraction(12, 100), "cross"),
            ("0.005 in/rev", INCH / 200, "longitudinal"),
            ('0.005"/rev Cross', INCH / 200, "cross"),
            ("0.005 inch per rev", INCH / 200, "longitudinal"),
            ("1/8 in/rev", INCH / 8, "longitudinal"),
            ("5 thou", INCH / 200, "longitudinal"),
            ("2 1/2 thou cross", INCH / 400, "cross"),
            ("100 mm/rev", Fraction(100), "longitudinal"),
        ],
    )
    def test_travel_and_way(self, text, travel, along):
        feed = Feed.parse(text)
        assert (feed.travel_mm, feed.along) == (travel, along)
        assert Feed.parse(str(feed)) == feed

    @in_one(
        ("text", "said"),
        [
            ("", "nothing is written"),
            ("0.12", "not understood as a feed"),
            ("mm/rev", "not understood as a feed"),
            ("0 mm/rev", "more than zero"),
            ("101 mm/rev", "at most 100 mm"),
            ("-1 mm/rev", "not understood as a feed"),
            ("1e-3 mm/rev", "not understood as a feed"),
            ("1/0 mm/rev", "below the line"),
            ("16 tpi", "not understood as a feed"),
            ("M8", "not understood as a feed"),
            ("0.12 mm turnolution", "not understood as a feed"),
            ("0.12 mm/rev sideways", "not understood as a feed"),
            ("0.1234567 mm/rev", "not understood as a feed"),
            ("1 thou/2 rev", "not understood as a feed"),
            ("9" * 59, "not understood as a feed"),
            ("9" * 61, "at most 60 characters"),
            (None, "given as text"),
            (0.12, "given as text"),
        ],
    )
    def test_refusals_show_the_form(self, text, said):
        with pytest.raises(ThreadTextError) as caught:
            Feed.parse(text)
        assert said in str(caught.value)
        assert "'0.12 mm/rev'" in str(caught.value)


class TestFeed:
    @in_one(
        ("travel", "along"),
        [(0, "cross"), (-1, "cross"), (101, "cross"), ("x", "cross"), (None, "cross"), (1, "sideways"), (1, None)],
    )
    def test_is_validated_when_made_by_hand(self, travel, along):
        with pytest.raises(ValueOutOfRangeError):
            Feed(travel, along)

    def test_what_is_left_out_when_made_by_hand(self):
        assert Feed(1) == Feed(1, "longitudinal")

    def test_a_text_is_taken_for_a_feed_by_what_stands_in_its_first_60_signs(self):
        assert as_wanted("0.12 mm".ljust(55) + "cross") == Feed("0.12", "cross")
        for width, what in ((55, "a feed"), (56, "a thread")):
            with pytest.raises(ThreadTextError, match=f"{what} takes at most 60 characters"):
                as_wanted("0.12 mm".ljust(width) + "cross" + " " * (60 - width))

    def test_takes_exact_numbers_by_hand(self):
        assert Feed(Fraction(12, 100)) == Feed("0.12") == Feed.parse("0.12 mm/rev")

    @pytest.mark.parametrize("text", ["0.123456 thou", "1/999983 thou", "3936 1/9999 thou", "999983/999979 in/rev"])
    def test_reads_back_exactly_however_odd(self, text):
        feed = Feed.parse(text)
        assert Feed.parse(str(feed)) == feed

    @in_one(
        ("slip", "meant"),
        [
            ("0.1 mm/rve", "0.1 mm/rev"),
            ("5 thuo", "5 thou"),
            ("0.1 mm/rev corss", "0.1 mm/rev cross"),
            ("1 mm per trun", "1 mm per turn"),
        ],
    )
    def test_a_slip_of_the_finger_is_offered_put_right(self, slip, meant):
        with pytest.raises(ThreadTextError, match=f"nearest form that would be: '{meant}'"):
            Feed.parse(slip)

    def test_what_no_unit_says_in_six_figures_is_said_in_inches(self):
        assert str(Feed(Fraction(1, 1234577))) == "5/156791279 in/rev"  # over 25.4

    @in_one(
        ("text", "written"),
        [
            ("0.12 mm/rev", "0.12 mm/rev (≈ 4.72 thou) longitudinal"),
            ("0.12 mm/rev cross", "0.12 mm/rev (≈ 4.72 thou) cross"),
            ("5 thou", "5 thou (0.127 mm/rev) longitudinal"),
            ("1/3 mm/rev", "≈ 0.3333 mm/rev (≈ 13.12 thou) longitudinal"),
        ],
    )
    def test_the_unit_that_it_is_named_in_first_and_thou_to_two_places(self, text, written):
        assert Feed.parse(text).written.text == written

    def test_shows_both_units(self):
        written = Feed.parse("5 thou cross").written
        assert written.text == "5 thou (0.127 mm/rev) cross"
        assert "mm/rev" in Feed.parse("5 thou")._repr_html_()
        assert Feed.parse("5 thou")._repr_latex_().startswith("$")


@pytest.mark.parametrize("text", ["0.1 mm/rev", "5 thou", "0.004 in per turn cross"])
def test_a_feed_where_a_thread_is_wanted_is_called_a_feed(text):
    with pytest.raises(ThreadTextError) as caught:
        Thread.parse(text)
    assert str(caught.value) == f"{text!r} is a feed, and a thread is wanted here. Write it like 'M8' or '1.25 mm'."
