"""The explorer of the change-over and its picture without a browser: typed and dragged in, picture and words out."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError
from gearcalc.learning.explorers import change_over
from gearcalc.learning.explorers.change_over import change_view
from gearcalc.papers.change_pictures import change_picture, trains_on_paper
from tests.how_much import examples, in_one
from tests.pictures.svg_texts import boxes_off_the_sheet, boxes_on_each_other
from tests.strategies import anything, said_in_our_words

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
CHANGES = [
    (INCH, "40/80", "12 tpi"),
    (INCH, "40/80", "1.75 mm"),
    (INCH, "30x63/50x80", "1.5 mm"),
    (INCH, "40/80", "32 tpi"),
    (METRIC, "56x50/60x80", "11 1/2 tpi"),
    (METRIC, "40/60", "module 1"),
    (METRIC, "127/60", "1 mm"),
]


class TestChangeView:
    def test_it_says_what_the_card_says(self):
        now = gc.setup(INCH, 40, 80, "middle")
        best = gc.find_setups(INCH, "12 tpi", count=1, mounted=now.as_built)[0]
        card = gc.change_card(INCH, to=best, mounted=now)
        seen = change_view(INCH, mounted="40/80", wanted="12 tpi", step=4)
        assert seen.facts[0]["train"] == str(card.setup.train)
        assert (seen.facts[0]["gears off"], seen.facts[0]["gears on"]) == (str(card.gears_off), str(card.gears_on))
        assert seen.note.startswith("Step 4. Strip, front first.")
        assert all(gear in seen.note for gear in card.steps[3].gears)

    def test_the_lever_alone(self):
        """16 tpi and 32 tpi with the same gears: low is half of middle."""
        seen = change_view(INCH, mounted="40/80", wanted="32 tpi", step=13)
        assert (seen.facts[0]["gears off"], seen.facts[0]["gears on"]) == ("0", "0")
        assert seen.note.startswith("Step 8. Scratch pass.")

    def test_answers_come_closest_first(self):
        errors = [change_view(INCH, wanted="1.75 mm", answer=n).facts[0]["error"] for n in range(1, 7)]
        assert errors == sorted(errors, key=lambda said: abs(float(re.search(r"[\d.]+", said)[0])))

    @in_one(
        "typed",
        [
            {"mounted": "40"},
            {"mounted": "41/80"},
            {"mounted": ""},
            {"wanted": "a thread"},
            {"wanted": ""},
            {"step": 0},
            {"step": 15},
            {"step": "x"},
            {"answer": 7},
            {"answer": -5},
            {"answer": 1e9},
            {"answer": None},
        ],
    )
    def test_nonsense_is_refused_in_our_words(self, typed):
        with pytest.raises(GearcalcError):
            change_view(INCH, **typed)

    @given(anything)
    @examples(40)
    def test_anything_at_all(self, given_it):
        for name in ("mounted", "wanted", "answer", "step"):
            assert said_in_our_words(change_view, INCH, **{name: given_it})


class TestChangePicture:
    @in_one(("lathe", "mounted", "wanted"), CHANGES)
    @in_one("answer", [1, 3, 6])
    def test_no_words_on_each_other_or_off_the_sheet(self, lathe, mounted, wanted, answer):
        for step in (1, 9, 13):
            svg = change_view(lathe, mounted=mounted, wanted=wanted, answer=answer, step=step).svg
            assert boxes_on_each_other(svg) == []
            assert boxes_off_the_sheet(svg) == []

    def test_a_ring_is_round_what_is_moved_and_nothing_else(self):
        for wanted, step_moves in (("12 tpi", True), ("32 tpi", False)):
            seen = change_view(INCH, mounted="40/80, idler 25", wanted=wanted)
            gears = seen.picture.description.partition(" Step ")[0]
            moved = len(re.findall("comes off|goes on|in the way|goes back", gears))
            assert bool(moved) is step_moves
            assert seen.svg.count('class="moved"') == moved

    def test_an_idler_that_nobody_said_is_on_is_drawn_as_assumed(self):
        for mounted, said in (("40/80", True), ("40/80, idler 25", False), ("40/80, lever low", True)):
            seen = change_view(INCH, mounted=mounted, wanted="12 tpi")
            assert ("idler assumed" in seen.svg) is said
            assert ("Before, idler assumed: " in seen.picture.description) is said
            card = gc.change_card(
                INCH, to=gc.setup(INCH, 40, 60, "middle", 35), mounted=mounted.partition(", lever")[0]
            )
            assert ("idler assumed" in str(list(trains_on_paper(card.change, (0, 0, 180, 80))))) is said

    @in_one(("lathe", "mounted", "wanted"), CHANGES)
    def test_every_gear_is_named_on_its_side(self, lathe, mounted, wanted):
        seen = change_view(lathe, mounted=mounted, wanted=wanted)
        root = ElementTree.fromstring(seen.svg)
        words = " ".join("".join(line.itertext()) for line in root.iter("{http://www.w3.org/2000/svg}text"))
        for teeth in gc.Train.parse(mounted).gears:
            assert re.search(rf"\b{teeth}\b", words)

    def test_the_cover_is_open_only_while_isolated(self):
        rows = change_view(INCH, wanted="1.75 mm").picture.table
        assert len(rows) == 13
        for row in rows:
            assert row["isolated"] or not row["cover open"]
            assert row["gears turn by"] != "power" or not (row["isolated"] or row["cover open"])
        assert [row["key"] for row in rows if row["cover open"]] == [
            "cover",
            "slacken",
            "strip",
            "build",
            "mesh",
            "snug",
            "levers",
            "by hand",
            "close",
        ]

    def test_the_description_follows_the_step(self):
        before, after = (change_view(INCH, step=step).picture.description for step in (4, 12))
        assert "the cover open, and nothing turns" in before
        assert "not isolated, the cover closed, and the gears turn by power" in after

    @pytest.mark.parametrize("wanted", ["12 tpi", "1.75 mm", "0.1 mm/rev"])
    def test_one_bar_is_seen_to_lie_inside_the_other(self, wanted):
        """The upper of the two long bars, isolated, begins before the lower, cover open, and ends after it."""
        root = ElementTree.fromstring(change_view(INCH, wanted=wanted).svg)
        rects = [rect for rect in root.iter("{http://www.w3.org/2000/svg}rect") if rect.get("height") == "17"]
        isolated, cover = sorted(rects, key=lambda rect: float(rect.get("y")))
        left, right = (
            (float(bar.get("x")), float(bar.get("x")) + float(bar.get("width"))) for bar in (isolated, cover)
        )
        assert left[0] + 20 < right[0]
        assert right[1] + 20 < left[1]

    def test_without_a_step(self):
        """Isolated in step 1, live again in 11; the cover opened in 2, closed in 10: said, and no step is marked."""
        card = gc.change_card(INCH, to=gc.find_setups(INCH, "12 tpi", count=1)[0], mounted="40/80")
        assert card.picture.description.endswith(
            "Of 13 steps: isolated from step 1 until step 11; cover open from step 2 until step 10."
        )
        assert "step" not in card.picture.caption
        only_lever = gc.change_card(INCH, to=gc.setup(INCH, 40, 80, "low"), mounted="40/80")
        assert only_lever.picture.description.endswith(
            "Of 8 steps: isolated from step 1 until step 6; cover open from step 2 until step 5, only if lever, "
            "reverse or belt is reached only under it."
        )
        assert "only if reached under it" in only_lever.picture.svg
        at_the_lever = change_picture(only_lever.change, 3).description
        assert "The lathe is isolated, the cover open only if lever, reverse or belt is reached" in at_the_lever
        assert "the cover closed" in change_picture(only_lever.change, 7).description

    def test_nothing_known_of_what_is_mounted(self):
        card = gc.change_card(INCH, to=gc.find_setups(INCH, "12 tpi", count=1)[0])
        assert "Before:" not in change_picture(card.change).description.split("After")[0]

    def test_a_step_that_there_is_not(self):
        card = gc.change_card(INCH, to=gc.find_setups(INCH, "12 tpi", count=1)[0])
        for step in (0, 14):
            with pytest.raises(ValueOutOfRangeError, match="steps 1 to 13"):
                change_picture(card.change, step)


class TestChangeOver:
    def test_a_hand_on_the_slider_is_followed(self):
        explorer = change_over(INCH)
        seen = set()
        for step in range(1, 14):
            explorer.set(step=step)
            seen.add(explorer.svg)
        assert len(seen) == 13


class TestPastTheLastStep:
    """From 40/80 to 12 tpi the card has 13 steps; a card of a thread that is pulled by hand has 14."""

    @pytest.mark.parametrize("typed", ["14", "15", " 99 "])
    def test_a_step_typed_past_the_last_is_refused_with_the_true_number(self, typed):
        explorer = change_over(INCH, step=3)
        before = explorer.svg
        explorer.set(step=typed)
        assert explorer.message == f"The step must be a whole number from 1 to 13, not {typed.strip()}."
        assert (explorer.svg, explorer.before) == (before, "As before: Step 3")
        explorer.set(step="13")
        assert (explorer.message, explorer.before) == ("", "")
        assert "Step 13." in explorer.facts

    def test_a_setup_typed_past_the_last(self):
        two_gears = gc.Lathe.from_toml('name = "Two"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 80]')
        explorer = change_over(two_gears, "1.5 mm")
        there = int(explorer.shown.facts[0]["setup"].split(" of ")[1])
        assert there < 6
        for beyond in (there + 1, 7):
            explorer.set(answer=str(beyond))
            assert explorer.message == f"The setup must be a whole number from 1 to {there}, not {beyond}."

    def test_a_slider_past_the_last_comes_to_the_last(self):
        explorer = change_over(INCH)
        explorer.set(step=14)
        assert (explorer.values["step"], explorer.message) == (13, "")

    def test_a_shorter_card_is_not_asked_for_a_step_of_a_longer_one(self):
        explorer = change_over(INCH)
        explorer.set(step="12")
        explorer.set(wanted="32 tpi")
        assert (explorer.values["step"], explorer.message) == (1, "")
        explorer.set(step="14")
        assert "from 1 to 8" in explorer.message
        explorer.set(wanted="12 tpi")
        assert (explorer.values["step"], explorer.message) == (1, "")

    def test_fourteen_steps_where_there_are_fourteen(self):
        """36 mm from a screw of 3 mm: it turns so fast that nothing is run under power until the thread is done."""
        explorer = change_over(METRIC, "lead 36 mm", mounted="40/60")
        explorer.set(step="14")
        assert (explorer.message, len(explorer.shown.picture.table)) == ("", 14)
        assert "Step 14." in explorer.facts


class TestANewCardBeginsAtItsFirstStep:
    """Lesson 09 has its reader go through one card to the end, and then want 32 tpi."""

    @in_one("new", [{"wanted": "32 tpi"}, {"mounted": "40/60"}, {"answer": 2}])
    def test_another_card(self, new):
        explorer = change_over(INCH, "12 tpi", mounted="40/80", step=9)
        explorer.set(**new)
        assert explorer.values["step"] == 1
        assert explorer.shown.note.startswith("Step 1. ")

    def test_the_same_card_stays_where_it_is(self):
        explorer = change_over(INCH, "12 tpi", mounted="40/80", step=3)
        explorer.set(step=9)
        assert explorer.values["step"] == 9
        explorer.set(wanted="32 tpi", step=2)
        assert explorer.values["step"] == 2
