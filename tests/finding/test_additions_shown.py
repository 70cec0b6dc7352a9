"""What gears_to_add says of what it found, word for word, for every way in which it can turn out."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.additions import GearsToAdd, _sizes
from gearcalc.finding.setups import Setup, setup
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes.directions import REVERSE_OVER_NOTE
from gearcalc.threads import Feed
from gearcalc.threads.wanted import as_wanted
from tests.benches import a_lathe, bench
from tests.how_much import in_one
from tests.pictures.test_picture import Reader

LATHE = a_lathe(20, 30, 40, 60, leadscrew="3 mm")
INCH, MM, FINE = (as_wanted(text) for text in ("16 tpi", "1.5 mm", "0.25 mm"))
TRAINS = "all trains of 1 or 2 meshes, the bracket not looked at, from the gears that are there and added ones of"


def outcome(**changes: Any) -> GearsToAdd:
    """Two threads, of which a 127 and a 100 open one, and that is proved; but for the changes."""
    richer = LATHE.with_gears(add=(100, 127))
    cut, tpi = setup(LATHE, 20, 40, wanted=MM), setup(richer, (20, 127), (60, 40), wanted=INCH)
    plain: dict[str, Any] = {
        "lathe": LATHE,
        "within_ppm": Fraction(0),
        "gears": (100, 127),
        "proven": True,
        "lower_bound": 2,
        "threads": (MM, INCH),
        "setups": (cut, tpi),
        "before": (cut, setup(LATHE, 20, 40, wanted=INCH)),
        "meshes": (1, 2),
        "candidates": tuple(range(20, 128)),
        "bracket": False,
    }
    return GearsToAdd(**plain | changes)


NOT_PROVED = "This is the best found, not proved to be the best there is."
MM_ONLY: dict[str, Any] = {"setups": (setup(LATHE, 20, 40, wanted=MM), None)}


class TestTheVerdict:
    @in_one(
        ("changes", "said"),
        [
            (
                {},
                (
                    "Add 100 and 127: then the lathe cuts every thread exactly. With fewer it can't be done: proved "
                    f"for {TRAINS} 20 to 127 teeth."
                ),
            ),
            (
                {"gears": (127,), "lower_bound": 1, "within_ppm": Fraction(50)},
                (
                    "Add 127: then the lathe cuts every thread within 50 ppm. Without a new gear it can't be done: "
                    f"proved for {TRAINS} 20 to 127 teeth."
                ),
            ),
            (
                {"bracket": True, "meshes": (1,), "candidates": (21, 63)},
                (
                    "Add 100 and 127: then the lathe cuts every thread exactly. With fewer it can't be done: proved "
                    "for all trains of 1 mesh that go on the bracket, from the gears that are there and added ones of "
                    "21 or 63 teeth."
                ),
            ),
            (
                {"proven": False, "lower_bound": 1},
                (
                    f"Add 100 and 127: then the lathe cuts every thread exactly. {NOT_PROVED} Proved is that the whole "
                    f"list takes 1 gear or more, for {TRAINS} 20 to 127 teeth."
                ),
            ),
            (
                {"proven": False, "lower_bound": 0, "interrupted": True},
                f"Add 100 and 127: then the lathe cuts every thread exactly. The search was stopped. {NOT_PROVED}",
            ),
            ({"gears": (), "lower_bound": 0}, "Nothing to add: the gears that are there cut every thread exactly."),
            (
                {"gears": (), "lower_bound": 0, "left_out": ((INCH, "no"),), **MM_ONLY},
                "Nothing to add: the gears that are there cut 1 of 2 threads, all that can be had exactly.",
            ),
            (
                {"left_out": ((INCH, "no"),), **MM_ONLY},
                (
                    "Add 100 and 127: then the lathe cuts 1 of 2 threads, all that can be had exactly. With fewer it "
                    f"can't be done: proved for {TRAINS} 20 to 127 teeth."
                ),
            ),
            (
                {"left_out": ((INCH, "no"), (MM, "no")), "setups": (None, None), "within_ppm": Fraction(7, 2)},
                (
                    "With no more gears than may be added none of these can be had within 3.5 ppm. Looked at were "
                    f"{TRAINS} 20 to 127 teeth."
                ),
            ),
            (
                {"gears": (), "proven": False, **MM_ONLY},
                (
                    f"Nothing found that helps. {NOT_PROVED} Proved is that the whole list takes 2 gears or more, for "
                    f"{TRAINS} 20 to 127 teeth."
                ),
            ),
            (
                {"proven": False, "lower_bound": 3, **MM_ONLY},
                (
                    f"Add 100 and 127: then the lathe cuts 1 of 2 threads exactly. {NOT_PROVED} Proved is that the "
                    f"whole list takes 3 gears or more, for {TRAINS} 20 to 127 teeth."
                ),
            ),
        ],
    )
    def test_word_for_word(self, changes, said):
        assert outcome(**changes).verdict == said

    @in_one(
        ("candidates", "said"),
        [
            ((40,), "40"),
            ((40, 41), "40 or 41"),
            ((40, 41, 42), "40 to 42"),
            ((40, 41, 43), "40, 41 or 43"),
            ((40, 41, 42, 43, 44, 46), "40, 41, 42, 43, 44 or 46"),
            ((40, 41, 42, 43, 44, 46, 50), "7 sizes from 40 to 50"),
            (tuple(range(20, 128)), "20 to 127"),
        ],
    )
    def test_the_sizes_that_may_be_added(self, candidates, said):
        assert _sizes(candidates) == said


class TestWhichAreOpened:
    def near(self, ppm: int) -> Setup:
        """A setup that is off by so many ppm, whatever train that takes."""
        made = setup(LATHE, 20, 40, wanted=MM)
        return evolve(made, wanted=Feed(Fraction(3, 2) / (1 + Fraction(ppm, 10**6))))

    @in_one(
        ("before", "after", "opened", "served"),
        [
            (0, 0, False, True),
            (50, 0, False, True),
            (-50, 50, False, True),
            (51, 0, True, True),
            (-51, 50, True, True),
            (None, 0, True, True),
            (None, None, False, False),
            (51, None, False, False),
        ],
    )
    def test_what_was_not_near_enough_and_is(self, before, after, opened, served):
        pairs = [None if ppm is None else self.near(ppm) for ppm in (before, after)]
        found = outcome(within_ppm=Fraction(50), threads=(MM,), before=(pairs[0],), setups=(pairs[1],))
        assert found.opened == ((MM,) if opened else ())
        assert found.not_served == (() if served else (MM,))
        assert found.serves_all is served
        assert ("(new)" in str(found)) is opened

    def test_the_lathe_with_them(self):
        assert outcome().lathe_with_them.gears == (20, 30, 40, 60, 100, 127)
        assert outcome(gears=()).lathe_with_them == LATHE


class TestNotes:
    def test_each_reason_once_behind_all_that_it_is_of(self):
        left = ((MM, "too fine"), (INCH, "no gear"), (FINE, "too fine"))
        found = outcome(threads=(MM, INCH, FINE), setups=(None,) * 3, before=(None,) * 3, left_out=left, gears=())
        assert found.notes == ("1.5 mm, 0.25 mm can't be had: too fine.", "16 tpi can't be had: no gear.")

    @in_one(("meshes", "said"), [((1,), True), ((1, 2), True), ((1, 2, 3), False), ((3,), False)])
    def test_of_three_meshes_where_they_were_not_looked_at(self, meshes, said):
        three = "Trains of 3 meshes are not counted; with them fewer gears may do."
        assert (three in outcome(meshes=meshes).notes) is said
        assert three not in outcome(meshes=meshes, gears=()).notes

    def test_all_in_their_order(self):
        fast = setup(LATHE.with_gears(add=100), 100, 20, wanted="15 mm")
        found = outcome(listed_twice=(MM, INCH), threads=(MM, fast.wanted), setups=(outcome().setups[0], fast))
        assert found.notes == (
            "Listed more than once, counted once: 1.5 mm, 16 tpi.",
            "Trains of 3 meshes are not counted; with them fewer gears may do.",
            REVERSE_OVER_NOTE,
            *fit_not_checked(found.setups),
            *(f"15 mm: {warning}" for warning in fast.warnings),
        )
        assert len(fast.warnings) == 2

    def test_where_one_is_not_served_they_are_said_of_the_other(self):
        found = outcome(**MM_ONLY)
        assert found.setups[0].reverse_over
        assert found.notes[-2:] == (REVERSE_OVER_NOTE, *fit_not_checked(found.setups))
        fitted = gc.find_setups(gc.demo_lathe("inch"), "16 tpi", count=1)[0]
        for setups in [(fitted, outcome().setups[1]), (outcome().setups[1], fitted)]:
            assert "Fit not checked" in str(outcome(setups=setups).notes)
        assert "Fit not checked" not in str(outcome(setups=(fitted, None)).notes)

    def test_where_the_fit_was_looked_at_nothing_is_said_of_it(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm"], 0, meshes=(1, 2, 3))
        assert "Fit not checked" not in str(found.notes)
        assert outcome(setups=(None, None), gears=()).notes == ()


class TestLinesAndCells:
    def test_it_says_in_short_what_was_found_and_not_the_lathe(self):
        assert repr(outcome()).startswith("GearsToAdd(within_ppm=Fraction(0, 1), gears=(100, 127), proven=True, ")

    @in_one(("ppm", "said"), [("3.14159", "3.1416"), ("0.012345", "0.0123"), ("31.4", "31.4")])
    def test_a_tolerance_to_four_decimals(self, ppm, said):
        found = outcome(within_ppm=Fraction(ppm))
        assert f"then the lathe cuts every thread within {said} ppm. " in re.sub(r"\s", " ", found.verdict)
        assert f"{LATHE.name}, within {said} ppm<" in re.sub(r"\s", " ", found._repr_html_())

    def test_a_line_a_thread(self):
        found = outcome(gears=(127,), setups=(outcome().setups[0], None), proven=False)
        first, *lines = str(found).splitlines()
        assert first == found.verdict
        assert lines[:2] == [f"  1.5 mm: {found.setups[0]}", "  16 tpi: none near enough"]
        assert tuple(lines[2:]) == found.notes
        assert str(outcome()).splitlines()[2] == f"  16 tpi: {outcome().setups[1]} (new)"

    def test_a_row_a_thread(self):
        lever = gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "16 tpi", "lead 500 mm"], 0)
        page = lever._repr_html_()
        every = [cell.replace("\xa0", " ") for cell in Reader(page).cells]
        rows = [every[at : at + 5] for at in range(0, len(every), 5)]
        metric, inch, _ = lever.setups
        assert metric is not None
        assert inch is not None
        assert rows == [
            ["thread", "opened", "train", "lever", "error"],
            ["1 mm", "new", str(metric.train), metric.settings, "exact"],
            ["16 tpi", "", str(inch.train), inch.settings, "exact"],
            ["lead 500 mm", "", "none near enough", "", ""],
        ]
        assert page.startswith("<p>Add 127: then the lathe cuts 2 of 3 threads, all that can be had exactly. Without")
        assert f">Gears worth adding: {lever.lathe.name}, within 0\xa0ppm<" in page


class TestEndsOfWhatMayBeAsked:
    @in_one(
        ("how", "said"),
        [
            ({"candidates": [20] * 501}, "candidates must be 1 to 500 tooth counts. Give them like range(20, 128)."),
            ({"candidates": 5}, "a candidate"),
            ({"candidates": 1001}, "a candidate"),
            ({"within_ppm": 100_001}, "within_ppm"),
            ({"most": 13}, "most"),
            ({"meshes": 4}, "meshes"),
        ],
    )
    def test_one_more_is_refused(self, how, said):
        with pytest.raises(ValueOutOfRangeError, match=re.escape(said)):
            gc.gears_to_add(LATHE, "1.5 mm", **how)

    @in_one(
        "how",
        [
            {"candidates": [20] * 500},
            {"candidates": 6},
            {"candidates": 1000},
            {"within_ppm": 100_000},
            {"most": 12},
            {"most": 0},
            {"meshes": 3, "candidates": 20},
        ],
    )
    def test_the_last_is_allowed(self, how):
        assert gc.gears_to_add(LATHE, "1.5 mm", **how).threads == (MM,)

    def test_what_is_usual(self):
        plain = gc.gears_to_add(LATHE, ["16 tpi"])
        assert plain == gc.gears_to_add(LATHE, ["16 tpi"], 100, 6, range(20, 128), meshes=(1, 2), must_fit=True)
        assert (plain.within_ppm, plain.candidates, plain.meshes) == (100, tuple(range(20, 128)), (1, 2))
        assert (plain.interrupted, plain.left_out, plain.listed_twice) == (False, (), ())
        assert gc.gears_to_add(gc.demo_lathe("inch"), ["16 tpi"]).bracket

    def test_up_to_six_gears_are_added_unless_it_is_said_otherwise(self):
        """So far apart stand the shafts that no gears reach."""
        lathe = bench((20, 30, 40), spindle_side_at_mm=(500.0, 500.0))
        (note, *_) = gc.gears_to_add(lathe, "16 tpi", 0, candidates=50).notes
        assert note.endswith(
            "no train of 1 or 2 meshes that is near enough goes on the bracket, even with 6 gears added."
        )
