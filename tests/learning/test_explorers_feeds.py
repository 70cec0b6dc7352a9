"""The explorers of feeds and shoulders without a browser: typing and dragging in, picture, facts and words out."""

from __future__ import annotations

import re
from fractions import Fraction
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.learning.explorers.feeds import SLIDES, feed_and_finish, feed_view, shoulder_view, time_to_the_shoulder
from tests.how_much import examples
from tests.pictures.svg_texts import boxes_off_the_sheet, boxes_on_each_other
from tests.strategies import anything, said_in_our_words

INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
EXPLORERS = {"feed": lambda: feed_and_finish(INCH), "shoulder": time_to_the_shoulder}


@pytest.fixture(params=EXPLORERS)
def explorer(request):
    return EXPLORERS[request.param]()


class TestBothExplorers:
    def test_every_end_of_every_slider_can_be_drawn(self, explorer):
        for control in explorer.controls:
            for end in ("min", "max"):
                if control["kind"] == "slider":
                    explorer.set(**{control["name"]: control[end]})
                    assert explorer.failure is None
                    # a coarse feed and a small nose may not go together, and then it says so
                    assert explorer.message == "" or "wider than the whole nose" in explorer.message
                    assert boxes_off_the_sheet(explorer.svg) == []
                    assert boxes_on_each_other(explorer.svg) == []
                    explorer.set(**{control["name"]: control["value"]})

    @given(what=st.sampled_from(["thread", "slide", "feed", "nose", "cut", "rpm", "room", "wanted"]), given=anything)
    @examples(150)
    def test_whatever_is_typed_is_shown_or_refused_in_our_words(self, what, given):
        along = what in ("thread", "slide", "feed", "nose")
        assert said_in_our_words(*([feed_view, INCH] if along else [shoulder_view]), **{what: given})


class TestFeedView:
    def test_the_gears_give_what_is_said(self):
        _, facts = feed_view(METRIC, thread="M10", feed="0.1", nose="0.8").facts
        over, under = (prod(map(int, re.findall(r"\d+", side))) for side in facts["gears"].split(",")[0].split("/"))
        travel = Fraction(over, under) * METRIC.levers[facts["lever"]] * 3 / 6
        assert travel == Fraction(1, 10)
        assert facts["feed a turn"] == "0.1 mm (3.94 thou)"  # 0.1 / 25.4 = 0.003937

    def test_what_stands_there_now_gives_a_feed_too(self):
        now, _ = feed_view(METRIC, thread="1.5 mm", feed=0.1, nose=0.8).facts
        assert now["feed a turn"] == "0.25 mm (9.84 thou)"  # 1.5 mm / 6
        assert now["Rt"] == "9.83 µm"  # 0.25² / 6.4 = 0.00977 mm, the arc a little more

    def test_a_feed_wider_than_the_nose_leaves_its_cells_empty(self):
        now, after = feed_view(METRIC, thread="6 mm", feed=0.1, nose=0.1).facts
        assert (now["feed a turn"][:4], now["Rt"]) == ("1 mm", None)
        assert after["Rt"] is not None

    def test_half_the_feed_is_a_quarter_of_the_depth(self):
        view = feed_view(METRIC, thread="M10", feed=0.2, nose=0.8)
        assert [row["Rt"] for row in view.picture.table] == ["6.27 µm", "1.56 µm"]

    @pytest.mark.parametrize(
        ("thread", "feed", "said"),
        [("16 tpi", 0.2, "nothing"), ("16 tpi", 0.1, "the lever only"), ("M10", 0.1, "1 gear and the lever")],
    )
    def test_what_has_to_be_moved(self, thread, feed, said):
        lathe = INCH if "tpi" in thread else METRIC
        assert feed_view(lathe, thread=thread, feed=feed).note.startswith(f"To move: {said}.")

    def test_across(self):
        along, across = (feed_view(METRIC, thread="1.5 mm", feed="0.125", slide=slide) for slide in SLIDES)
        # 3 mm · 40/80 / 12 = 0.125 mm across, with nothing moved
        assert across.note.startswith("To move: nothing.")
        assert not along.note.startswith("To move: nothing.")

    def test_a_lathe_without_a_cross_feed_offers_none_and_says_so(self):
        lathe = Lathe.from_toml('name = "x"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 24, 60, 80, 100, 127]')
        explorer = feed_and_finish(lathe, "1 mm")
        assert [control["options"] for control in explorer.controls if control["kind"] == "choice"] == [
            ["along the bed"]
        ]
        with pytest.raises(NotPossibleError, match="no cross feed"):
            feed_view(lathe, thread="1 mm", slide="across")

    def test_no_thread_for_these_gears(self):
        lathe = Lathe.from_toml('name = "x"\nleadscrew.lead = "3 mm"\ngears.teeth = [20]')
        with pytest.raises(NotPossibleError, match="no train"):
            feed_view(lathe)

    def test_wider_than_the_nose(self):
        with pytest.raises(ValueOutOfRangeError, match="wider than the whole nose"):
            feed_view(INCH, feed=0.5, nose=0.1)


class TestShoulderView:
    def test_by_hand(self):
        # 1.5 mm at 90 a minute is 2.25 mm a second; 4.5 mm take 2 s, 3 turns
        facts = shoulder_view(cut="M10", rpm=90, room="4.5", wanted=2).facts[0]
        assert facts == {
            "travel in a turn": "1.5 mm",
            "carriage": "2.25 mm a second",
            "turns": "3",
            "time": "2 s",
            "fastest for 2 s": "90 rev/min",
        }

    def test_too_short_says_both_ways_out(self):
        # at 120 a minute 3 mm a second: 6 mm of groove for two seconds, or 90 a minute
        note = shoulder_view(cut="M10", rpm=120, room=4.5, wanted=2).note
        assert "no faster than 90 rev/min, or make the groove 6 mm wide" in note

    def test_the_speed_is_rounded_down(self):
        # 60 · 4.5 / (1.5 · 2.9) = 62.07
        assert shoulder_view(cut="M10", rpm=60, room=4.5, wanted=2.9).facts[0]["fastest for 2.9 s"].startswith("62 ")
        # 60 · 4.5 / (1.5 · 3.1) = 58.06, and 60 is too fast
        assert "58 rev/min" in shoulder_view(cut="M10", rpm=60, room=4.5, wanted=3.1).note

    def test_the_groove_is_rounded_up(self):
        # 1.5 mm · 61 / 60 · 3.1 s = 4.7275 mm, and 4.7 mm would take less than the 3.1 s
        assert "make the groove 4.8 mm wide" in shoulder_view(cut="M10", rpm=61, room=4.5, wanted=3.1).note

    def test_a_feed_stops_before(self):
        assert "or stop 10 mm before" in shoulder_view(cut="1 mm/rev", rpm=300, room=5, wanted=2).note

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            shoulder_view(cut="banana")
