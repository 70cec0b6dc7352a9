"""The fit bench without a browser: what is typed and dragged in, picture, facts and words out."""

from __future__ import annotations

import math
import random

import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.fits import fit
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.fit_bench import BY_HAND, FOR_ME, fit_bench, fit_bench_view
from tests.benches import bench
from tests.how_much import examples, in_one
from tests.pictures.svg_texts import boxes_off_the_sheet
from tests.strategies import anything, said_in_our_words

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
TRIANGLE = "(30 · 24)/(50 · 36)"  # of module 2: 80 and 60 mm apart, right-angled at the stud: see test_fitting.py
SWING = math.degrees(math.atan2(3, 4))


class TestFitBenchView:
    def test_the_triangle_worked_by_hand(self):
        view = fit_bench_view(bench(), train=TRIANGLE, swing=SWING, first_stud=40)
        assert [row["now"] for row in view.facts[:2]] == ["80 mm apart", "60 mm apart"]
        assert [row["it is"] for row in view.facts[:2]] == ["good: 0 mm of backlash"] * 2
        assert view.facts[2] == {
            "what": "50 on the stud to leadscrew shaft",
            "now": "3 mm",
            "should be": "0.5 mm or more",
            "it is": "clear",
        }
        assert view.note == "It goes on like this."

    def test_the_stud_10_mm_further_out(self):
        view = fit_bench_view(bench(), train=TRIANGLE, swing=SWING, first_stud="50,0")
        stud = (56, 42)
        apart = math.dist(stud, (0, 100))
        assert view.facts[0]["now"] == f"{apart:.2f}".rstrip("0") + " mm apart"
        assert view.facts[1]["it is"] == "apart: 6 mm between the tips"
        assert view.note.startswith("Not yet: 2 meshes to set right")

    def test_placed_for_me_it_stands_where_the_fit_has_it(self):
        view = fit_bench_view(INCH, train="(40 · 30)/(80 · 60)", placed=FOR_ME)
        assert view.note == (
            "In another order: (30 · 40)/(60 · 80). It goes on like this. The second stud stands empty."
        )
        assert {row["it is"] for row in view.facts[:2]} == {"good: 0.2 mm of backlash"}

    def test_a_misfit_placed_for_me_says_why(self):
        view = fit_bench_view(INCH, train="20/80, idler 30", placed=FOR_ME)
        assert view.note.startswith("It does not go on; this is as near as it comes. Wherever the bracket swings")
        assert view.facts[0]["it is"] == "apart: 3.7 mm between the tips"

    def test_a_minus_is_read_either_way(self):
        shown = {
            fit_bench_view(INCH, train="40/80, idler 25", swing=swing, first_stud=36).svg
            for swing in ("-58.5", "−58.5", -58.5, " -58,5 ")
        }
        assert len(shown) == 1

    @in_one(
        ("wrong", "words"),
        [
            ({"swing": "banana"}, "the swing"),
            ({"swing": ""}, "the swing"),
            ({"swing": "1e9"}, "the swing"),
            ({"swing": 1e9}, "from −20 to 75°"),
            ({"swing": "--5"}, "the swing"),
            ({"swing": float("nan")}, "the swing"),
            ({"swing": float("-inf")}, "the swing"),
            ({"first_stud": -5}, "from 0 to 130 mm"),
            ({"first_stud": "1000000000"}, "from 0 to 130 mm"),
            ({"first_stud": "x"}, "the first stud's place"),
            ({"first_slot": "third"}, "the slot of the first stud"),
            ({"train": "20/40 20/40 20/40"}, "takes 2 studs, and the bracket has 1"),
            *(
                ({"train": nonsense}, "train")
                for nonsense in ("<svg>", "", "0", "-5", "1000000000", "x" * 500, None, 7)
            ),
        ],
    )
    def test_nonsense_is_refused_in_our_words(self, wrong, words):
        with pytest.raises(ValueOutOfRangeError, match=words):
            fit_bench_view(bench(), **{"train": TRIANGLE, "swing": 0, "first_stud": 40, **wrong})


class TestFitBench:
    @pytest.mark.parametrize("lathe", [INCH, METRIC], ids=["inch", "metric"])
    def test_placed_for_me_the_controls_stand_where_it_does(self, lathe):
        """Moving a control a little and back, the meshes are as good as the two decimals that it shows."""
        draw, seen = random.Random(5), 0
        for _ in range(12):
            gears = draw.sample(lathe.gears, 4)
            train = Train(gears[:2], gears[2:])
            if not fit(lathe, train).goes_on:
                continue
            explorer = fit_bench(lathe, train)
            explorer.set(placed=FOR_ME)
            assert "It goes on like this." in explorer.shown.note
            assert explorer.values["train"] == str(train)  # as it was typed
            explorer.set(placed=BY_HAND)
            assert explorer.shown.note.startswith("It goes on like this.")
            seen += 1
        assert seen > 6

    def test_a_control_moved_after_that_is_by_hand_again(self):
        explorer = fit_bench(INCH, placed=True)
        explorer.set(swing=explorer.values["swing"] + 1)
        assert explorer.values["placed"] == BY_HAND
        assert "mesh" in explorer.shown.note

    def test_another_train_is_placed_too_while_it_is_for_me(self):
        explorer = fit_bench(INCH, placed=True)
        explorer.set(train="20/80")
        assert explorer.values["placed"] == FOR_ME
        assert explorer.values["train"] == "20/80"
        assert explorer.shown.note.startswith("With an idler: 20/80, idler 35. It goes on like this.")

    def test_an_order_that_goes_on_as_it_was_typed_is_kept(self):
        """Lesson 07 shows that (20 · 65)/(60 · 25) goes on as written, and asks why (40 · 30)/(80 · 60) does not."""
        explorer = fit_bench(INCH, "(20 · 65)/(60 · 25)")
        explorer.set(placed=FOR_ME)
        assert explorer.shown.note.startswith("It goes on like this.")
        assert explorer.values["train"] == "(20 · 65)/(60 · 25)"
        explorer.set(train="(40 · 30)/(80 · 60)")
        assert explorer.shown.note.startswith("In another order: (30 · 40)/(60 · 80). It goes on like this.")
        explorer.set(placed=BY_HAND)
        assert explorer.values["train"] == "(30 · 40)/(60 · 80)"

    def test_nonsense_leaves_the_last_good_picture(self):
        explorer = fit_bench(INCH, placed=True)
        before = explorer.svg
        for wrong in ({"train": "banana"}, {"train": ""}, {"swing": "x"}, {"swing": "1e9"}, {"first_stud": "-5"}):
            explorer.set(**wrong)
            assert explorer.message
            assert explorer.svg == before
            assert explorer.failure is None
            explorer.set(train="(30 · 40)/(60 · 80)", placed=FOR_ME)
            assert explorer.message == ""
            before = explorer.svg

    def test_one_scale_at_every_swing(self):
        explorer, bars = fit_bench(INCH), []
        for swing in range(-75, 21, 5):
            explorer.set(swing=swing)
            shaft = next(part for part in explorer.svg.split("<") if 'class="shaft"' in part)
            bars.append(float(shaft.split('r="')[1].split('"')[0]))
        assert max(bars) < 1.01 * min(bars)

    def test_words_keep_to_the_sheet(self):
        explorer = fit_bench(METRIC, "(30 · 80 · 40)/(127 · 60 · 50)")
        for swing in range(-75, 21, 19):
            for along in (0, 40, 92):
                explorer.set(swing=swing, first_stud=along)
                assert boxes_off_the_sheet(explorer.svg) == []

    def test_a_lathe_without_a_bracket_is_told_what_to_add(self):
        with pytest.raises(NotPossibleError, match="no bracket"):
            fit_bench(evolve(INCH, bracket=None))

    @examples(60)
    @given(st.dictionaries(st.sampled_from(["train", "swing", "first_stud", "placed", "first_slot"]), anything))
    def test_anything_is_shown_or_refused_in_our_words(self, values):
        assert said_in_our_words(fit_bench_view, METRIC, **{"train": "40/80, idler 50", **values})
