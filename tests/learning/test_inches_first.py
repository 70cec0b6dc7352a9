"""Where a lathe's owner reads inches no length stands in mm first, on any page, in any picture that knows a lathe."""

from __future__ import annotations

import html
import re
from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc import pictures
from gearcalc.learning import explorers
from gearcalc.pictures.feed_pictures import turned_profile
from gearcalc.pictures.measurement_charts import leads_of_slips, measured_band
from gearcalc.pictures.near_miss_charts import tolerance_shares
from gearcalc.pictures.shoulder_pictures import shoulder_picture
from tests.how_much import in_one

INCH = gc.demo_lathe("inch")
SHOWN_INCH = gc.demo_lathe("odd").with_show("inch")
MEANT = gc.setup(INCH, 40, 50, "low", wanted="20 tpi")
_MM = re.compile(r"\d[\d,. ]*\s?(?:mm|µm)\b|, (?:mm|µm)$")
_BEHIND = re.compile(r"\([^()]*(?:\([^()]*\)[^()]*)*\)")
_INLINE = re.compile(r"</?(?:tspan|b|strong|small|sub|sup|span|em|i)\b[^>]*>")
_RULER = re.compile(r"[\d.]+\s?mm")  # in a picture: of a ruler or a counter in mm beside one in inches
_METRIC_BY_NATURE = re.compile(r"module [\d.]+\s?mm|gears of [\d.]+\s?mm")  # a size of tooth, the name of a thread

EXPLORERS = {
    "ask": lambda lathe: explorers.ask(lathe, thread="16 tpi"),
    "catch_the_thread": lambda lathe: explorers.catch_the_thread(lathe, "11 tpi"),
    "change_over": explorers.change_over,
    "edit_the_set": lambda lathe: explorers.edit_the_set(lathe, ("1/4-20 UNC", "16 tpi", "27 tpi")),
    "feed_and_finish": lambda lathe: explorers.feed_and_finish(lathe, "16 tpi"),
    "gears_worth_adding": lambda lathe: explorers.gears_worth_adding(lathe, ("11 tpi",), most="one gear"),
    "one_turn": explorers.one_turn,
    "prove_the_cut": lambda lathe: explorers.prove_the_cut(lathe, gc.find_setups(lathe, "20 tpi", count=1)[0]),
    "which slip": lambda lathe: explorers.prove_the_cut(
        lathe, gc.find_setups(lathe, "20 tpi", count=1)[0], show="which slip"
    ),
    "turning_train": lambda lathe: explorers.turning_train(lathe, thread="16 tpi"),
    "two_pairs": lambda lathe: explorers.two_pairs(lathe, thread="16 tpi"),
    "watch_the_gap": lambda lathe: explorers.watch_the_gap(lathe, "1/4-20 UNC"),
    "limit_on_teeth": lambda lathe: explorers.limit_on_teeth(units=lathe.units),
    "time_to_the_shoulder": lambda lathe: explorers.time_to_the_shoulder("16 tpi", units=lathe.units),
}
OF_THE_BRACKET = {"bench", "fit_bench"}
"""Where a stud stands and how far two axes are apart is said in mm, as the lathe file has its bracket."""
PICTURES = {
    "coverage_chart": lambda: pictures.coverage_chart(gc.coverage(INCH, 1, 2)),
    "error_against_length": lambda: pictures.error_against_length("M10", {"stand-in": 125}, 100, units="inch"),
    "side_by_side": lambda: pictures.side_by_side("M10x1.5", Fraction(24003, 16000), 25, units="inch"),
    "measured_band": lambda: measured_band(gc.judge_measurement("20 tpi", 10, 12.7, 0.25, units="inch")),
    "leads_of_slips": lambda: leads_of_slips(
        gc.explain_wrong_lead(MEANT, 1.98, 0.02), MEANT, Fraction(198, 100), Fraction(2, 100)
    ),
    "turned_profile": lambda: turned_profile(gc.finish(gc.find_setups(INCH, "5 thou", count=1)[0], 0.4)),
    "shoulder_picture": lambda: shoulder_picture(gc.time_to_shoulder(gc.setup(INCH, 40, 80, "low"), 60, 4.5)),
    "tolerance_shares": lambda: tolerance_shares([gc.judge("1/4-20 UNC", 125, units="inch")]),
}


def in_mm_first(svg, words):
    """The words with a length in mm that stands in no brackets."""

    def said(markup):
        return [html.unescape(each).strip() for each in re.findall(r">([^<>]+)<", _INLINE.sub("", markup))]

    found = [each for each in said(svg) if not _RULER.fullmatch(each)] + said(words)
    return [each for each in found if _MM.search(_METRIC_BY_NATURE.sub("", _BEHIND.sub("", each)))]


def test_every_explorer_is_asked():
    every = {name for name, it in vars(explorers).items() if callable(it) and not name.endswith("_view")}
    assert every <= EXPLORERS.keys() | OF_THE_BRACKET


@pytest.mark.parametrize("lathe", [INCH, SHOWN_INCH], ids=["inch leadscrew", "shown in inches"])
@in_one("name", sorted(EXPLORERS))
def test_no_page_says_a_length_in_mm_first(name, lathe):
    explorer = EXPLORERS[name](lathe)
    assert explorer.message == ""
    assert in_mm_first(explorer.svg, explorer.facts) == []
    assert [one["label"] for one in explorer.controls if one.get("unit") == "mm"] == []


@in_one(
    ("explorer", "slider", "typed", "limits"),
    [
        (explorers.watch_the_gap(INCH), "length", "4", "from 0.004 to 3.937 in, not '4'."),
        (explorers.feed_and_finish(INCH), "feed", "0.2", "from 0.0002 to 0.079 in, not '0.2'."),
        (explorers.feed_and_finish(INCH), "nose", "1", "from 0.002 to 0.394 in, not '1'."),
        (explorers.time_to_the_shoulder(units="inch"), "room", "20", "from 0.004 to 19.685 in, not '20'."),
        (explorers.prove_the_cut(INCH, MEANT), "length", "40", "39.37 in, not '40'."),
    ],
)
def test_a_length_that_is_refused_is_so_in_inches_as_it_was_typed(explorer, slider, typed, limits):
    explorer.set(**{slider: typed})
    assert limits in explorer.message
    assert "mm" not in explorer.message


@in_one("name", sorted(PICTURES))
def test_no_picture_says_one(name):
    picture = PICTURES[name]()
    assert in_mm_first(picture.svg, picture._repr_html_()) == []
