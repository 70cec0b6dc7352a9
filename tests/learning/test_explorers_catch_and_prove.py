"""The explorers at the lathe without a browser: lines of the dial and measurements in, pictures and words out."""

from __future__ import annotations

from fractions import Fraction
from xml.etree import ElementTree

import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import (
    GearcalcError,
    NotPossibleError,
    ThreadTextError,
    UnknownNameError,
    ValueOutOfRangeError,
)
from gearcalc.lathes import Dial, DialGear, GearSet, Lathe, Leadscrew, demo_lathe
from gearcalc.learning.explorers.catch_and_prove import (
    GEARS,
    HANDS,
    SHOWN,
    catch_the_thread,
    catch_view,
    detective_view,
    measurement_view,
    proof_view,
    prove_the_cut,
)
from tests.how_much import examples, in_one
from tests.pictures.svg_texts import boxes_off_the_sheet, boxes_on_each_other
from tests.strategies import anything, dial_gears, said_in_our_words

IN_INCHES, METRIC = demo_lathe("inch"), demo_lathe("metric")
INCH = IN_INCHES.with_show("mm")
MEANT = gc.setup(INCH, 40, 50, "low", wanted="20 tpi")
BARE = Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 80]')
BETWEEN = Lathe("A", Leadscrew(3), GearSet([40, 80]), dial=Dial([DialGear(15, 6)]))


class TestCatchView:
    @in_one(("second", "third", "turns"), [(1, 1, 0), (1, 5, 1), (3, 2, 1), (8, 8, 2), (2, 1, 0)])
    def test_leadscrew_threads_by_hand(self, second, third, turns):
        rows = catch_view(IN_INCHES, thread="11 tpi", second=second, third=third, turns=turns).facts
        # Two threads from line to line, sixteen a turn; each line is waited for, and then so many turns more.
        to_second = 2 * ((second - 1) % 8) + 16 * turns
        to_third = to_second + 2 * ((third - second) % 8) + 16 * turns
        assert [row["leadscrew threads"] for row in rows] == [0, to_second, to_third]
        assert [row["closed at line"] for row in rows] == [1, second, third]
        for row, threads in zip(rows[1:], (to_second, to_third), strict=True):
            # 8 leadscrew threads make an inch, and 11 threads do.
            assert (row["the tool is"] == "in the groove") == (threads % 8 == 0)

    def test_the_worst_that_can_happen(self):
        rows = catch_view(IN_INCHES, thread="11 tpi", second=3, turns=0).facts  # 4 of 8 to the inch: 5 1/2 leads
        assert rows[1]["the tool is"] == f"≈ {float(Fraction(1, 22)):.4f} in out"

    def test_a_translated_thread_misses_its_own_line(self):
        seen = catch_view(IN_INCHES, thread="1.5 mm", second=1, third=1)
        assert [row["the tool is"] for row in seen.facts] == [
            "cutting the first groove",
            "≈ 0.0079 in out",  # 0.2 mm
            "≈ 0.0157 in out",  # 0.4 mm
        ]
        assert "60/127" in seen.note

    def test_the_best_gears_of_the_lathe_have_a_rule_of_their_own(self):
        own = catch_view(IN_INCHES, thread="1 mm", gears=GEARS[1])
        assert "63/200" in own.note
        assert "+125 ppm" in own.note

    def test_lines_that_gears_of_this_lathe_do_not_follow(self):
        # A 37 needs a gear of 37 or 74 teeth, 11 tpi is cut by 40/55: both return every 8 threads of the leadscrew.
        for thread, said in (("37 tpi", True), ("11 tpi", False), ("1.5 mm", True)):
            for gears in GEARS:
                note = catch_view(IN_INCHES, thread=thread, gears=gears, second=1, third=1).note
                assert ("For gears that cut it exactly. This lathe's do not" in note) == (said and gears == GEARS[0])

    def test_another_start(self):
        seen = catch_view(METRIC, thread="lead 4 mm 2 starts", second=2, third=3)
        assert [row["the tool is"] for row in seen.facts][1:] == ["in another start's place", "in the groove"]

    def test_a_dial_gear_of_choice(self):
        wrong = catch_view(METRIC, thread="1.25 mm", dial_teeth="16", second=1, turns=1)
        assert wrong.facts[1]["the tool is"] == "0.5 mm out"  # 48 mm are 38 leads of 1.25 mm and 0.5 mm
        right = catch_view(METRIC, thread="1.25 mm", dial_teeth="15", second=1, turns=1)
        assert right.facts[1]["the tool is"] == "in the groove"

    def test_a_line_between_two_threads(self):
        with pytest.raises(NotPossibleError, match="don't close"):
            catch_view(BETWEEN, thread="1.25 mm", second=2)

    @in_one(
        "wrong",
        [
            {"second": 9},
            {"third": 0},
            {"second": "x"},
            {"turns": 10},
            {"turns": -1},
            {"dial_teeth": 17},
            {"second": ""},
        ],
    )
    def test_what_is_refused(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            catch_view(IN_INCHES, **wrong)

    def test_gears_that_are_not_offered(self):
        with pytest.raises(UnknownNameError):
            catch_view(IN_INCHES, gears="some")

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            catch_view(IN_INCHES, thread="banana")

    @examples(30)
    @given(anything, anything, anything, anything)
    def test_anything_typed_is_shown_or_refused_in_our_words(self, second, third, turns, teeth):
        assert said_in_our_words(catch_view, IN_INCHES, second=second, third=third, turns=turns, dial_teeth=teeth)

    @examples(40)
    @given(
        st.sampled_from(
            [
                "11 tpi",
                "1.5 mm",
                "M8",
                "lead 4 mm 2 starts",
                "module 1.5 2 starts",
                "lead 12 mm 6 starts",
                "1-1/8-12 UNF-2A LH",
            ]
        ),
        st.integers(1, 5),
        st.integers(1, 5),
        st.integers(0, 9),
        st.sampled_from([14, 15, 16]),
    )
    def test_words_keep_off_each_other(self, thread, second, third, turns, teeth):
        seen = catch_view(METRIC, thread=thread, second=second, third=third, turns=turns, dial_teeth=teeth)
        assert boxes_on_each_other(seen.svg) == []
        assert boxes_off_the_sheet(seen.svg) == []


class TestCatchTheThread:
    def test_a_refusal_leaves_the_last_good_picture(self):
        explorer = catch_the_thread(METRIC, "1.25 mm")
        before = explorer.svg
        explorer.set(second=8)
        assert "lines 1 to 5" in explorer.message
        assert explorer.svg == before
        explorer.set(second=1, thread="banana")
        assert "banana" in explorer.message
        assert explorer.failure is None

    def test_a_lathe_without_a_dial(self):
        with pytest.raises(ValueOutOfRangeError, match=r"no dial.*Add \[dial\]"):
            catch_the_thread(BARE)


@pytest.fixture
def explorer():
    return prove_the_cut(INCH, MEANT)


class TestProveTheCut:
    @pytest.mark.parametrize("show", SHOWN)
    def test_every_box_refuses_nonsense_and_the_last_picture_stays(self, explorer, show):
        explorer.set(show=show)
        before = explorer.svg
        for control in explorer.controls:
            if control["kind"] == "choice" or (show == SHOWN[0] and control["name"] == "gears"):
                continue
            for nonsense in ("banana", "-5", "", "0", "1e9", "<script>", "9" * 300, "\x00", "1/0", None):
                explorer.set(**{control["name"]: nonsense})
                assert explorer.message, (control["name"], nonsense)
                assert "\n" not in explorer.message
                assert (explorer.svg, explorer.failure) == (before, None)
            explorer.set(**{control["name"]: control["value"]})
            assert explorer.message == ""

    def test_a_hand_that_was_seen_counts_on_both_sides(self, explorer):
        explorer.set(length="12.7", limit="0.05", hand="right")
        assert explorer.shown.facts[0]["agrees"] == "yes"
        explorer.set(hand="left")
        assert explorer.shown.facts[0]["agrees"] == "no"
        assert "left-hand" in explorer.facts

    def test_the_picture_keeps_its_shape(self, explorer):
        for show in SHOWN:
            explorer.set(show=show)
            root = ElementTree.fromstring(explorer.svg)
            assert float(root.get("width")) / float(root.get("height")) == pytest.approx(explorer.aspect)

    def test_an_uncertainty_larger_than_the_pitch_is_told(self, explorer):
        explorer.set(thread="0.5 mm", limit="0.6")
        assert "larger than the pitch, 0.5 mm" in explorer.message

    def test_a_lathe_without_a_choice_of_levers_shows_none(self):
        lathe = Lathe.from_toml('name = "Plain"\nleadscrew.lead = "2 mm"\ngears.teeth = [20, 40, 60]')
        plain = prove_the_cut(lathe, gc.setup(lathe, 20, 40, wanted="1 mm"), length=10, limit=0.1)
        assert "lever" not in {control["name"] for control in plain.controls}
        plain.set(show=SHOWN[1], length=40)
        assert "upside down" in plain.facts

    def test_refuses_a_setup_that_wants_nothing(self):
        with pytest.raises(ValueOutOfRangeError):
            prove_the_cut(INCH, gc.setup(INCH, 40, 50, "low"))
        with pytest.raises(ValueOutOfRangeError):
            prove_the_cut(INCH, "20 tpi")


class TestWhatIsPossible:
    def test_the_verdict_follows_the_turns(self, explorer):
        explorer.set(thread="1.25 mm", length=12.6, limit=0.25)
        facts = explorer.shown.facts[0]
        assert (facts["agrees"], facts["turns to be sure"]) == ("yes", "26")
        assert "not proven" in explorer.facts
        explorer.set(turns=26, length="32.6")
        assert explorer.shown.facts[0]["how sure"] == "it agrees, and nothing else does"

    def test_the_other_pitch(self):
        facts = measurement_view("1.25 mm", "10", "12.7", "0.02").facts[0]
        assert (facts["agrees"], facts["how sure"]) == ("no", "it is another pitch")


class TestWhichSlip:
    def test_levers_gears_and_hand(self, explorer):
        explorer.set(show=SHOWN[1], length=25.4, limit=0.1)
        assert explorer.shown.facts[0]["what may have happened"] == "The lever stands at middle instead of low."
        explorer.set(gears="(40 · 50)/(80 · 63), idler 55 in the first mesh", lever="middle", length=12.6)
        assert explorer.shown.facts[0]["what may have happened"].startswith("Nothing wrong")
        explorer.set(hand="left")
        assert explorer.shown.facts[0]["what may have happened"].startswith("Cut left-hand instead of right-hand")

    def test_gears_are_said_with_their_idlers(self):
        """An idler that is a slip, left out or in a pair's place, is told from one that is there."""
        meant = gc.setup(INCH, 40, 80, "middle", 55, wanted="16 tpi")
        right, pair = (detective_view(meant, 10, length, "0.1").facts[0] for length in ("15.875", "43.65625"))
        assert right["gears and lever"] == meant.gears_and_lever == "40/80, idler 55, lever middle"
        assert pair["gears and lever"] == "(40 · 55)/(20 · 80), lever middle"
        assert "The idler has become a pair" in pair["what may have happened"]

    def test_at_most_five_rows_and_the_caution(self, explorer):
        explorer.set(show=SHOWN[1], gears="(40 · 50)/(80 · 63), idler 55", lever="middle", turns=1, length=2, limit=1.2)
        assert len(explorer.shown.facts) == 5
        assert "more would fit. Measure over more turns." in explorer.facts
        assert "isolate the lathe" in explorer.facts

    def test_damaged_gears_may_have_turned(self):
        worn = evolve(INCH, gear_set=evolve(INCH.gear_set, damaged=(50,)))
        shown = proof_view(worn, show=SHOWN[1], thread="20 tpi", turns=10, length=12.7, limit=0.1, gears="40/50",
                           lever="low")  # fmt: skip
        assert shown.facts[0]["what may have happened"] == "Nothing wrong: this is what the setup cuts."

    def test_nothing_fits(self):
        shown = detective_view(MEANT, 1, 9.9, 0.01)
        assert shown.facts[0]["what may have happened"] == "nothing here"
        assert "No single slip" in shown.note

    def test_what_is_heard_ends_as_a_question_does(self, explorer):
        explorer.set(show=SHOWN[1])
        assert "what would cut that? Each" in explorer.shown.said
        assert "what would cut that? Leads" in explorer.shown.picture.description


class TestAnythingAtAll:
    @examples(60)
    @given(st.sampled_from(["thread", "turns", "length", "limit", "gears", "lever", "hand", "show"]), anything)
    def test_it_is_shown_or_refused_in_our_words(self, name, value):
        good = {"show": SHOWN[1], "thread": "20 tpi", "gears": "40/50", "lever": "low"}
        assert said_in_our_words(proof_view, INCH, **{**good, name: value})

    @examples(40)
    @given(st.integers(1, 60), st.integers(1, 2000), st.integers(1, 100), st.sampled_from(HANDS))
    def test_no_words_lie_on_others(self, turns, length, limit, hand):
        try:
            shown = detective_view(MEANT, turns, length / 20, limit / 100, hand)
        except GearcalcError:
            assume(False)  # nothing is drawn
        assert boxes_off_the_sheet(shown.svg) == []
        assert boxes_on_each_other(shown.svg) == []


class TestNumberedLines:
    """A dial on which every second line bears a number: passes are closed at what is read there."""

    LATHE = Lathe("A", Leadscrew(Fraction(127, 40)), GearSet([40, 80]), dial=Dial([DialGear(16, 8, 4)]))

    @in_one(
        ("second", "threads"), [(1, 16), ("1-2", 18), ("1–2", 18), (2, 20), ("4", 28), ("4–1", 30), (" 4 – 1 ", 30)]
    )
    def test_a_line_by_its_number_or_between_two(self, second, threads):
        # Four leadscrew threads from number to number, after one turn of the dial, which lets 16 go by.
        row = catch_view(self.LATHE, thread="10 tpi", second=second, turns=1).facts[1]
        assert row["leadscrew threads"] == threads
        assert (row["the tool is"] == "in the groove") == (threads % 4 == 0)

    @in_one("second", [5, "5", "1-3", "2-1", 0, "1–2–3"])
    def test_a_line_that_is_not_there_is_refused(self, second):
        with pytest.raises(ValueOutOfRangeError):
            catch_view(self.LATHE, thread="10 tpi", second=second)

    def test_the_slider_has_what_is_read_at_the_dial(self):
        explorer = catch_the_thread(self.LATHE, "10 tpi")
        (options,) = [control["options"] for control in explorer.controls if control["name"] == "second"]
        assert options == [1, "1–2", 2, "2–3", 3, "3–4", 4, "4–1"]
        for option in options:
            explorer.set(second=option)
            assert explorer.message == ""
            assert explorer.shown.facts[1]["closed at line"] == option

    @examples(40)
    @given(
        dial_gears,
        st.sampled_from(["11 tpi", "10 tpi", "20 tpi", "1.5 mm", "lead 1/4 in 2 starts"]),
        st.integers(1, 16),
        st.integers(0, 3),
    )
    def test_words_keep_off_each_other(self, gear, thread, line, turns):
        lathe = Lathe("A", Leadscrew(Fraction(127, 40)), GearSet([40, 80]), dial=Dial([gear]))
        explorer = catch_the_thread(lathe, thread)
        assert explorer.failure is None
        options = next(c.get("options") or range(1, c["max"] + 1) for c in explorer.controls if c["name"] == "second")
        explorer.set(second=options[(line - 1) % len(options)], turns=turns)
        assert boxes_on_each_other(explorer.svg) == []
        assert boxes_off_the_sheet(explorer.svg) == []


@pytest.mark.parametrize("lathe", [METRIC, IN_INCHES], ids=["mm", "inches"])
@pytest.mark.parametrize("thread", ["0.5 mm", "20 tpi", "3 mm"])
def test_it_starts_from_what_the_wanted_thread_comes_to(lathe, thread):
    explorer = prove_the_cut(lathe, gc.find_setups(lathe, thread, count=1)[0])
    one = 25.4 if lathe.units == "inch" else 1
    assert explorer.values["length"] * one == pytest.approx(10 * float(gc.Thread.parse(thread).lead), abs=0.03)
    assert explorer.shown.facts[0]["agrees"] == "yes"
