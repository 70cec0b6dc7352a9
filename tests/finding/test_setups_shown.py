"""Setups as they are shown: every cell of every table, what stands above and below it, and the words for the lever."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.search import SetupList, find_setups, warnings_by_name
from gearcalc.finding.setups import Setup, as_setup, refitted, setup, turning_of
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes import Lever
from gearcalc.lathes.directions import REVERSE_OVER_NOTE
from gearcalc.lathes.orders import HOW_MOVED_COUNTS
from gearcalc.lathes.trains import Train
from gearcalc.threads import Feed
from gearcalc.threads.wanted import as_wanted
from tests.benches import a_lathe, bench, several_levers
from tests.how_much import in_one
from tests.pictures.test_picture import Reader

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")


NO_REVERSE = a_lathe(20, 40, 80, more="spindle_side.reverse = false")
STEEP = a_lathe(20, 80, 90, 100, leadscrew="8 mm", more="plate = { '1.6 mm' = { drivers = [20], driven = [100] } }")
ONE_LEVER = a_lathe(20, 40, 80, more="gearbox = [{ lever = 'x', ratio = '1/2' }]")


def rows_of(found: SetupList, wide: int) -> list[list[str]]:
    every = Reader(found._repr_html_()).plain_cells()
    return [every[at : at + wide] for at in range(0, len(every), wide)]


class TestEveryCellOfAList:
    """The figures by hand: 8 tpi times 40/80 is 16 tpi, 8 mm times 20/100 is 1.6 mm, and 25.4 over that 15.875."""

    def test_with_a_lever_and_a_plate_in_the_unit_of_the_lathe(self):
        assert rows_of(find_setups(INCH, "16 tpi", count=2), 7) == [
            ["place", "lever", "train", "threads per inch", "lead", "error", "remarks"],
            ["1", "middle", "40/80, idler 25", "16", "1.5875 mm", "exact", "on the machine's plate"],
            ["2", "low", "40/40, idler 45", "16", "1.5875 mm", "exact", ""],
        ]

    def test_in_millimetres_the_lead_comes_first(self):
        assert rows_of(find_setups(METRIC, "16 tpi", count=1), 7) == [
            ["place", "lever", "train", "lead", "threads per inch", "error", "remarks"],
            ["1", "slow", "127/60, idler 20", "1.5875 mm", "16", "exact", ""],
        ]

    def test_a_feed_is_told_in_both_units_at_once(self):
        assert rows_of(find_setups(METRIC, "0.1 mm/rev", count=1), 6) == [
            ["place", "lever", "train", "feed", "error", "remarks"],
            ["1", "slow", "24/30, idler 80", "0.1 mm/rev (≈ 0.00394 in/rev)", "exact", ""],
        ]

    def test_every_remark_in_its_place(self):
        found = find_setups(STEEP, "1.6 mm", meshes=1, count=3)
        assert rows_of(found, 6)[1:] == [
            ["1", "20/100", "1.6 mm", "15.875", "exact", "reverse over, on the machine's plate, strained: see below"],
            [
                "2",
                "20/90",
                "≈ 1.7778 mm",
                "≈ 14.288",
                "+111 111 ppm",
                "not good enough, reverse over, strained: see below",
            ],
            ["3", "20/80", "2 mm", "12.7", "+250 000 ppm", "not good enough, reverse over"],
        ]
        steep = "One mesh has a ratio of more than 4:1, so its teeth are loaded hard: lowest speed, light cuts"
        assert found.notes == (f"{steep} (common practice, no source).", REVERSE_OVER_NOTE, *fit_not_checked(found))

    def test_how_many_gears_each_moves_where_it_is_known_what_is_mounted(self):
        """From 40/80, idler 25: nothing; idler and one more gear, twice; all three."""
        found = find_setups(INCH, "16 tpi", count=4, mounted="40/80")
        trains = ["40/80, idler 25", "40/40, idler 45", "20/80, idler 35", "20/40, idler 55"]
        table = rows_of(found, 8)
        assert table[0][-3:] == ["error", "gears moved", "remarks"]
        assert [(row[2], row[-2]) for row in table[1:]] == list(zip(trains, "0223", strict=True))
        assert found.moves == (0, 2, 2, 3)
        assert [line.split("exact; ")[1] for line in found.lines[:2]] == ["no gear to move", "2 gears to move"]
        assert found.notes == (HOW_MOVED_COUNTS,)
        assert find_setups(INCH, "16 tpi", count=1, mounted="40/80").notes == ()
        assert find_setups(INCH, "16 tpi", count=1).moves == (None,)

    def test_what_does_not_go_on(self):
        found = find_setups(bench((16, 30, 40, 80)), "16 tpi", 1, must_fit=False, count=2)
        assert [row[-1] for row in rows_of(found, 6)[1:]] == ["reverse over, does not go on", "not good enough"]
        assert found.notes == (REVERSE_OVER_NOTE,)

    def test_of_two_starts_the_threads_to_the_inch_are_those_that_a_gauge_finds(self):
        found = find_setups(a_lathe(20, 30, 40, 60), "16 tpi 2 start", count=1)
        assert rows_of(found, 6)[1] == ["1", "(20 · 60)/(30 · 40)", "16", "3.175 mm", "exact", ""]
        assert found.notes == ("Fit not checked.",)

    def test_where_nothing_is_wanted(self):
        page = SetupList([setup(ONE_LEVER, 40, 80), Setup(a_lathe(40, 80), Train(40, 80))])._repr_html_()
        assert '<caption style="text-align:left;font-weight:bold">Setups</caption>' in page
        assert Reader(page).plain_cells()[7:] == [
            *["1", "x", "40/80", "32", "0.79375 mm", "", "reverse over"],
            *["2", "none", "40/80", "16", "1.5875 mm", "", "reverse over"],
        ]


class TestWhatStandsAboveAndBelow:
    def test_the_shortfall_or_else_the_reason_unless_it_is_exact(self):
        chosen, exact = (find_setups(INCH, each, (1, 2), 1, first="simplest") for each in ("M10", "8 tpi"))
        far = find_setups(a_lathe(40, 80), "15 tpi", first="simplest")
        assert far.shortfall == far[0].shortfall
        assert far.reason == ""
        assert far._repr_html_().startswith(f"<p><strong>{far.shortfall}</strong></p><table>")
        assert str(far).splitlines()[0] == far.shortfall
        assert chosen.shortfall == ""
        assert chosen._repr_html_().startswith(f"<p>{chosen.reason}</p><table>")
        assert str(chosen).splitlines()[0] == chosen.reason
        assert exact.reason == "One pair, exact."
        assert exact._repr_html_().startswith("<table>")
        assert str(exact) == f"1. {exact[0]}"

    def test_it_is_all_of_the_first_whatever_comes_last(self):
        exact, near, far = (setup(INCH, 40, 80, "middle", wanted=each) for each in ("16 tpi", "16.01 tpi", "15 tpi"))
        chosen = find_setups(INCH, "M10", (1, 2), 3, first="simplest")
        assert chosen.reason == find_setups(INCH, "M10", (1, 2), 1, first="simplest").reason
        assert SetupList([exact, far]).shortfall == ""
        assert SetupList([far, exact]).shortfall == far.shortfall != ""
        for first, last, shown in [(exact, near, False), (near, exact, True)]:
            both = SetupList([first, last], wanted=first.wanted, query=chosen.query)
            assert str(both).startswith(both.reason) is shown
            assert (both.reason in both._repr_html_()) is shown
        metric = setup(METRIC, 127, 60, "slow", wanted="16 tpi")
        for first, other in [(exact, metric), (metric, exact)]:
            (heading, *_) = rows_of(SetupList([first, other]), 7)
            assert heading == rows_of(SetupList([first]), 7)[0]

    def test_nothing_at_all(self):
        assert (str(SetupList()), SetupList()._repr_html_()) == ("No setups.", "<p>No setups.</p>")
        nothing = SetupList(why="Too <few> gears.")
        assert (str(nothing), nothing.notes, nothing.shortfall, nothing.reason) == ("Too <few> gears.", (), "", "")
        assert nothing._repr_html_() == "<p>Too &lt;few&gt; gears.</p>"
        with pytest.raises(gc.GearcalcError, match=r"^there is no setup to take\. The list is empty\.$"):
            SetupList()[0]

    def test_why_there_are_no_more_is_the_last_note(self):
        one = find_setups(a_lathe(40, 80), "16 tpi")[0]
        cut_short = SetupList([one], why="It gave up.")
        assert cut_short.notes[-1] == "It gave up."
        assert str(cut_short).endswith(f"\n{fit_not_checked([one])[0]}\nIt gave up.")

    def test_a_search_that_gave_up_says_so_behind_what_it_found(self, monkeypatch):
        monkeypatch.setattr("gearcalc.finding.rankings._STEPS_A_TRAIN", 100_000)
        found = find_setups(INCH, "16 tpi", count=300)
        assert 0 < len(found) < 300
        assert found.why == found.notes[-1]
        assert "trains that come next do not go on the bracket, and the search looked no farther" in found.why
        assert "list what does not go on too" in found.why
        loose = find_setups(INCH, "16 tpi", count=10_000, must_fit=False)
        assert "Ask for fewer meshes." in loose.why

    def test_a_part_keeps_the_question_where_it_keeps_the_first(self):
        found = find_setups(INCH, "M10", count=3, first="simplest")
        assert [part.query for part in (found[:2], found[1:], found[:0])] == [found.query, None, None]
        assert found[1:].wanted == found.wanted

    def test_warnings_behind_the_names_of_what_they_are_for(self):
        fast, steep = setup(INCH, 80, 20, "high", wanted="1 tpi"), setup(STEEP, 20, 100)
        other = evolve(fast, wanted=setup(INCH, 80, 20, "high", wanted="lead 1 in").wanted)
        said = warnings_by_name([fast, None, steep, other, fast])
        assert [each.split(":")[0] for each in said] == ["1 tpi, lead 1 in", "gears"]
        assert said == [f"1 tpi, lead 1 in: {fast.warnings[0]}", f"gears: {steep.warnings[0]}"]
        assert warnings_by_name([]) == warnings_by_name([None]) == []


class TestEveryRowOfOne:
    def rows(self, made: Setup) -> dict[str, str]:
        every = Reader(made._repr_html_()).plain_cells()
        return dict(zip(every[::2], every[1::2], strict=True))

    def test_of_a_thread_on_the_bracket(self):
        made = setup(INCH, (60, 40), (45, 50), "low", wanted="15 tpi")
        assert self.rows(made) == {
            "first driver": "60",
            "first driven": "45",
            "second driver": "40",
            "second driven": "50",
            "lever": "low",
            "reverse": "as the lathe file describes it",
            "lead": "15 tpi (≈ 1.6933 mm)",
            "hand": "right",
            "error": "exact",
            "fit": str(made.fit).replace("\N{NARROW NO-BREAK SPACE}", " "),
        }
        assert ">Setup for 15 tpi<" in made._repr_html_()

    def test_of_a_cross_feed_that_is_not_good_enough(self):
        made = setup(evolve(METRIC, bracket=None), 20, 60, "slow", wanted="0.05 mm/rev cross")
        assert self.rows(made) == {
            "good enough": "no. Not near enough to a feed of 0.05 mm/rev cross: −58.3 per cent is more than the 10 "
            "that we let pass.",
            "first driver": "20",
            "first driven": "60",
            "lever": "slow",
            "reverse": "as the feed is to go",
            "feed": "≈ 0.0208 mm/rev (≈ 0.00082 in/rev) cross",
            "error": "−583 333 ppm",
            "fit": "not checked",
        }
        assert next(iter(self.rows(made))) == "good enough"
        assert str(made) == (
            "20/60, lever slow: feed ≈ 0.0208 mm/rev (≈ 0.00082 in/rev) cross, −58.3 %, not good enough"
        )

    def test_of_the_wrong_hand_by_the_half_nuts(self):
        feed, thread = (setup(NO_REVERSE, 40, 80, wanted=wanted) for wanted in ("0.0625 in/rev", "16 tpi"))
        assert str(feed) == "40/80: feed 0.0625 in/rev (1.5875 mm/rev) longitudinal by the half-nuts, exact"
        assert str(thread) == "40/80: lead 16 tpi (1.5875 mm), exact, left-hand, not good enough"
        idler = "and the lathe has no reverse: put an idler more (or less) in one mesh."
        assert feed.warnings[0] == f"By the half-nuts the carriage goes away from the headstock, {idler}"
        assert thread.warnings == (f"This cuts a left-hand thread, {idler}",)
        assert feed.warnings[1].startswith("The feed goes by the half-nuts: the lathe file names no other drive for it")
        assert "reverse" not in self.rows(thread)
        assert self.rows(thread)["good enough"] == "no. Not good enough for 16 tpi: it cuts a left-hand thread."

    @in_one(
        ("per_cent", "said"),
        [
            ("999.6", "+999.6 %"),
            ("1000.4", "+1000 %"),
            ("1000.6", "+1001 %"),
            ("1487.5", "+1488 %"),
            ("-7.8", "−7.8 %"),
        ],
    )
    def test_a_feed_is_off_by_per_cents(self, per_cent, said):
        made = setup(NO_REVERSE, 40, 80, wanted=Feed(Fraction(127, 80) / (1 + Fraction(per_cent) / 100)))
        assert re.sub(r"\s", " ", str(made).split(", ")[1]) == said

    def test_of_nothing_wanted(self):
        made = setup(STEEP, 20, 80)
        assert self.rows(made) == {
            "first driver": "20",
            "first driven": "80",
            "reverse": "over",
            "lead": "2 mm (12.7 tpi)",
            "hand": "right",
            "fit": "not checked",
        }
        assert ">Setup<" in made._repr_html_()
        assert (made.settings, str(made), made.shortfall) == ("", "20/80: lead 2 mm (12.7 tpi)", "")


class TestTheLeverInWords:
    MIDDLE = setup(INCH, 40, 80, "middle", wanted="16 tpi")
    UNNAMED = Setup(ONE_LEVER, Train(40, 80), wanted=as_wanted("32 tpi"))
    """The only lever there is need not be named, and is not named then."""

    @in_one(
        ("made", "settings", "said", "short"),
        [
            (MIDDLE, "middle, reverse over", "lever middle, reverse over", True),
            (setup(INCH, 40, 80, "low"), "low", "lever low", True),
            (setup(ONE_LEVER, 40, 80, wanted="32 tpi"), "x, reverse over", "lever x, reverse over", True),
            (setup(a_lathe(40, 80), 40, 80, wanted="16 tpi"), "reverse over", "reverse over", False),
            (setup(NO_REVERSE, 40, 80), "", "", False),
            (UNNAMED, "reverse over", "reverse over", False),
        ],
    )
    def test_behind_a_train(self, made, settings, said, short):
        assert (made.settings, made.settings_said) == (settings, said)
        lever = said.removesuffix("reverse over").removesuffix(", ")
        assert made.gears_and_lever == (f"40/80, {lever}" if short else "40/80")
        assert str(made).startswith(f"40/80, {said}: lead " if said else "40/80: lead ")
        assert (">lever<" in made._repr_html_()) is short

    def test_of_several_levers_each(self):
        lathe = several_levers(2)
        name = lathe.positions[0].name
        made = setup(lathe, 40, 80, name)
        assert made.settings_said == lathe.positions[0].said == made.gears_and_lever.partition(", ")[2]
        stands = [(stand.called, stand.at) for stand in lathe.positions[0].stands]
        every = Reader(made._repr_html_()).plain_cells()
        assert [*zip(every[4:8:2], every[5:8:2], strict=True)] == stands

    def test_a_lever_ahead_of_the_gears_turns_the_first_driver(self):
        lathe = several_levers(2)
        for position in lathe.positions:
            made = setup(lathe, 40, 80, position.name)
            assert made.first_driver_turns == lathe.spindle_ratio * position.ahead
            assert made.leadscrew_turns == lathe.spindle_ratio * position.ratio / 2
        plain = evolve(a_lathe(40, 80), spindle_side=evolve(a_lathe().spindle_side, ratio=Fraction(2, 3)))
        assert setup(plain, 40, 80).first_driver_turns == Fraction(2, 3)

    def test_which_lever_turns_it_the_other_way(self):
        lathe = evolve(NO_REVERSE, gearbox=(Lever("in", "1"), Lever("out", "1", same_way=False), Lever("slow", "1/2")))
        made = setup(lathe, 40, 80, "in", wanted="16 tpi")
        assert made.warnings == ("This cuts a left-hand thread, and the lathe has no reverse: put the lever at out.",)
        assert setup(lathe, 40, 80, "slow", wanted="32 tpi").lever_the_other_way is None


class TestRefusedAndMadeAgain:
    @in_one(
        ("given", "said"),
        [
            ("40/80", "a setup is wanted here, not '40/80'. Make one with setup(), or take one of find_setups()."),
            (None, "Make one with setup(), or take one of find_setups()."),
            (
                INCH,
                (
                    "A setup knows its lathe, so that goes without saying: make one with setup(), or take one of "
                    "find_setups()."
                ),
            ),
        ],
    )
    def test_what_is_no_setup(self, given, said):
        with pytest.raises(ValueOutOfRangeError) as caught:
            as_setup(given)
        assert str(caught.value).endswith(said)

    def test_a_train_drawn_with_other_idlers_turns_the_other_way(self):
        made = setup(INCH, 40, 80, "middle", wanted="16 tpi")
        assert turning_of(made).provided == "spindle forward: clockwise; reverse over"
        assert "over" not in turning_of(made, Train(40, 80, 25)).provided
        assert turning_of(made, Train(40, 80)).provided == turning_of(made).provided

    def test_fitted_again_it_has_its_idlers(self):
        made = setup(INCH, 40, 80, "middle", wanted="16 tpi")
        assert refitted(INCH, made) == made.as_built
        assert str(refitted(INCH, made).train) == str(made.fit.train) != str(made.train)
        bare = evolve(INCH, bracket=None)
        assert refitted(bare, setup(bare, 40, 80, "middle")).fit is None
        kept = refitted(INCH, setup(INCH, (40, 30), (80, 60), "low"), keep_order=True)
        assert kept.train.drivers == (40, 30)
