"""Setups: lead, error, turning direction, warnings, cost; each against arithmetic or a simulation done here."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from attrs import evolve

from gearcalc.basics.errors import (
    GearNotOwnedError,
    NotPossibleError,
    ThreadTextError,
    UnknownNameError,
    ValueOutOfRangeError,
)
from gearcalc.finding.setups import fit_if_any, refitted, setup
from gearcalc.lathes import Feeds, GearSet, Lathe, Leadscrew, Lever, PlateRow, SpindleSide, demo_lathe
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.threads import Feed, Thread
from gearcalc.threads.wanted import as_wanted
from tests.benches import lathe
from tests.how_much import in_one

INCH = demo_lathe("inch")
NASTY = '<script>alert("x")</script> $\\frac{1}{2}$ & \\'


class TestSetup:
    @pytest.mark.parametrize(("lever", "tpi"), [("high", 8), ("middle", 16), ("low", 32)])
    def test_forty_over_eighty_on_an_eight_tpi_leadscrew(self, lever, tpi):
        cut = setup(INCH, drivers=(40,), driven=(80,), lever=lever, wanted=f"{tpi} tpi")
        assert cut.lead_mm == Fraction(127, 5) / tpi
        assert cut.is_exact
        assert cut.error_ppm == 0

    def test_lead_is_the_product_of_all_that_turns(self):
        every = lathe(leadscrew=Leadscrew("7/2"), spindle_side=SpindleSide("3/4"), gearbox=(Lever("x", "5/3"),))
        cut = setup(every, drivers=(20, 30), driven=(50, 127), lever="x", idlers=((40,),))
        assert cut.lead_mm == Fraction(7, 2) * Fraction(3, 4) * Fraction(20 * 30, 50 * 127) * Fraction(5, 3)
        assert cut.leadscrew_turns == cut.lead_mm / Fraction(7, 2)

    def test_error_is_positive_when_what_is_cut_is_too_long(self):
        assert setup(INCH, 40, 80, "middle", wanted="1.5 mm").error_ppm == pytest.approx((1.5875 / 1.5 - 1) * 1e6)
        assert setup(INCH, 40, 80, "middle", wanted="1.6 mm").error_ppm < 0

    def test_nothing_wanted_is_no_error_and_not_exact(self):
        cut = setup(INCH, 40, 80, "middle")
        assert (cut.wanted, cut.error, cut.error_ppm, cut.is_exact) == (None, None, None, False)

    def test_one_gear_may_be_given_bare(self):
        assert setup(INCH, 40, 80, "middle", 50) == setup(INCH, (40,), (80,), "middle", ((50,),))

    def test_an_only_lever_need_not_be_named(self):
        only = lathe(gearbox=(Lever("x", "1/2"),))
        assert setup(only, 40, 80) == setup(only, 40, 80, "x")

    @in_one(
        ("changes", "error"),
        [
            ({"drivers": 127}, GearNotOwnedError),
            ({"driven": (40, 40, 40), "drivers": (20, 25, 30)}, GearNotOwnedError),
            ({"idlers": 127}, GearNotOwnedError),
            ({"lever": "nosuch"}, UnknownNameError),
            ({"lever": None}, UnknownNameError),
            ({"drivers": 0}, ValueOutOfRangeError),
            ({"drivers": "40"}, ValueOutOfRangeError),
            ({"drivers": (40, 30)}, ValueOutOfRangeError),
            ({"wanted": "banana"}, ThreadTextError),
            ({"wanted": 1.25}, ThreadTextError),
        ],
    )
    def test_bad_input(self, changes, error):
        with pytest.raises(error) as caught:
            setup(INCH, **{"drivers": 40, "driven": 80, "lever": "low"} | changes)
        assert str(caught.value).isprintable()

    @pytest.mark.parametrize("given", ["inch", None, 5, {"name": "A"}], ids=str)
    def test_what_is_no_lathe_is_told_how_to_get_one(self, given):
        with pytest.raises(ValueOutOfRangeError, match="demo_lathe"):
            setup(given, 40, 80)

    def test_an_empty_set_owns_nothing(self):
        with pytest.raises(GearNotOwnedError, match="none at all"):
            setup(lathe(gear_set=GearSet(())), 40, 80)


class TestWhatDecides:
    """What belongs to a setup and what is only known of it; its limits; which order of the meshes it is fitted in."""

    def test_two_are_the_same_whatever_is_known_of_their_fit(self):
        made = setup(INCH, 40, 80, "middle", wanted="16 tpi")
        assert made.fit is not None
        assert evolve(made, fit=None) == made
        assert len({made, evolve(made, fit=None)}) == 1
        assert len({made, evolve(made, wanted=None), evolve(made, lever="low"), evolve(made, train=Train(80, 40))}) == 4

    @in_one(("drivers", "by_hand"), [(60, False), (61, True)])
    def test_from_more_than_six_turns_it_is_pulled_by_hand(self, drivers, by_hand):
        made = setup(lathe(gear_set=GearSet((10, 60, 61))), drivers, 10)
        assert made.leadscrew_turns == Fraction(drivers, 10)
        assert made.pulled_by_hand is by_hand

    @in_one("wanted", ["0.1 mm/rev cross", Feed.parse("0.1 mm cross")])
    def test_a_feed_that_the_lathe_has_not_is_refused_at_once(self, wanted):
        with pytest.raises(NotPossibleError, match="cross feed"):
            setup(lathe(), 40, 80, wanted=wanted)

    def test_the_order_given_is_kept_where_it_is_asked_for_or_idlers_are_named(self):
        """63 and 45 first is the order in which these go on best."""
        given = setup(INCH, (45, 63), (60, 50), "low")
        assert given.train.drivers == (45, 63)
        assert given.as_built.train.drivers == refitted(INCH, given).train.drivers == (63, 45)
        assert refitted(INCH, given, keep_order=True).train.drivers == (45, 63)
        assert fit_if_any(INCH, given.train, given.position, None).train.drivers == (63, 45)
        assert fit_if_any(INCH, given.train, given.position, None, keep_order=True).train.drivers == (45, 63)
        for idlers in [((20,), ()), ((), (20,))]:
            named = setup(INCH, (45, 63), (60, 50), "low", idlers)
            assert named.fit.question.train == named.train
            assert named.fit.train is None or named.fit.train.drivers == (45, 63)


class TestDirection:
    """Every combination, against a simulation of shafts that turn and a nut that goes along."""

    @staticmethod
    def carriage_cuts(lathe: Lathe, train: Train, lever: Lever | None, reverse_over: bool) -> str:
        """Turn the spindle forward and see which way the shafts and then the carriage go."""
        spindle = +1
        shaft = spindle if lathe.spindle_side.same_way else -spindle
        if reverse_over:
            shaft = -shaft
        for mesh in train.chain():
            for _ in mesh[1:]:  # each gear that meshes with the one before it turns the other way
                shaft = -shaft
        if lever is not None and not lever.same_way:
            shaft = -shaft
        # A nut that can't turn on a right-hand screw goes backwards along it when the screw turns forward.
        carriage = -shaft if lathe.leadscrew.hand == "right" else shaft
        # The tool draws on the work what a nut would follow: the same rule the other way about.
        return "right" if carriage == -spindle else "left"

    @in_one("same_way", [True, False])
    @in_one("reverse", [True, False])
    @in_one("leadscrew_hand", ["right", "left"])
    @in_one("lever_same_way", [None, True, False])
    @in_one("meshes", [1, 2, 3])
    @in_one("idlers", [0, 1, 2])
    @in_one("wanted_hand", ["right", "left"])
    def test_hand_reverse_and_warning(
        self, same_way, reverse, leadscrew_hand, lever_same_way, meshes, idlers, wanted_hand
    ):
        lever = None if lever_same_way is None else Lever("x", "1/2", same_way=lever_same_way)
        ours = lathe(
            leadscrew=Leadscrew(3, hand=leadscrew_hand),
            spindle_side=SpindleSide(same_way=same_way, reverse=reverse),
            gearbox=() if lever is None else (lever,),
        )
        train = Train((20, 30, 40)[:meshes], (60, 80, 50)[:meshes], ((100, 127)[:idlers],))
        wanted = "2 mm" + (" LH" if wanted_hand == "left" else "")
        cut = setup(ours, train.drivers, train.driven, None, train.idlers, wanted=wanted)

        assert cut.natural_hand == self.carriage_cuts(ours, train, lever, reverse_over=False)
        assert cut.hand == self.carriage_cuts(ours, train, lever, cut.reverse_over)
        about_direction = [warning for warning in cut.warnings if "no reverse" in warning]
        if reverse:
            assert cut.hand == wanted_hand
            assert about_direction == []
        else:
            assert not cut.reverse_over
            assert bool(about_direction) == (cut.hand != wanted_hand)

    def test_the_rule_of_the_trade(self):
        # Right-hand leadscrew, spindle and leadscrew turning the same way: a right-hand thread.
        plain = lathe(spindle_side=SpindleSide(reverse=False))
        assert setup(plain, (20, 30), (60, 80)).hand == "right"
        assert setup(plain, 20, 60).hand == "left"
        assert setup(plain, 20, 60, idlers=100).hand == "right"


class TestWarnings:
    def test_four_to_one_is_still_fine_and_more_is_not(self):
        assert not setup(lathe(), 20, 80).strained
        steep = setup(lathe(), 20, 100)
        assert steep.strained
        assert "a ratio of more than 4:1" in " ".join(steep.warnings)
        assert "common practice, no source" in " ".join(steep.warnings)

    def test_three_turns_of_the_leadscrew_are_still_fine_and_more_are_not(self):
        assert not setup(lathe(), 60, 20).strained
        fast = setup(lathe(), (60, 80), (20, 50))
        assert fast.leadscrew_turns > 3
        assert fast.strained
        assert "more than 3 times" in " ".join(fast.warnings)

    def test_a_taper_thread_says_so(self):
        assert "taper" in " ".join(setup(INCH, 40, 80, "low", wanted="1/2 NPT").warnings)

    def test_nothing_to_mind(self):
        assert setup(INCH, 40, 80, "low", wanted="32 tpi").warnings == ()

    def test_a_feed_is_no_thread(self):
        """By the half-nuts the way is reckoned; a feed drive has gears of its own that the file doesn't know."""
        no_reverse = lathe(spindle_side=SpindleSide(reverse=False))
        along = " ".join(setup(no_reverse, 40, 80, wanted=Feed.parse("0.2 mm")).warnings)
        assert "away from the headstock" in along
        assert "thread" not in along
        driven = lathe(spindle_side=SpindleSide(reverse=False), feeds=Feeds("1/8", "1/16"))
        for feed in ("0.2 mm", "0.2 mm cross"):
            assert setup(driven, 40, 80, wanted=Feed.parse(feed)).warnings == ()


class TestFeeds:
    def test_lead_to_cut_is_the_feed_over_what_the_drive_makes_of_it(self):
        assert lead_to_cut(INCH, Feed.parse("0.1 mm/rev")) == Fraction(1, 10) / Fraction(1, 8)
        assert lead_to_cut(INCH, Feed.parse("0.1 mm/rev cross")) == Fraction(1, 10) / Fraction(1, 16)

    def test_without_a_feed_drive_it_goes_through_the_half_nuts(self):
        assert lead_to_cut(lathe(), Feed.parse("0.1 mm/rev")) == Fraction(1, 10)

    @pytest.mark.parametrize("feeds", [None, Feeds("1/8")])
    def test_no_cross_feed(self, feeds):
        with pytest.raises(NotPossibleError, match=r"no cross feed.*\[feeds\]"):
            lead_to_cut(lathe(feeds=feeds), Feed.parse("0.1 mm cross"))
        with pytest.raises(NotPossibleError, match="no cross feed"):
            setup(lathe(feeds=feeds), (20,), (40,), wanted="0.1 mm cross")

    def test_travel_of_the_tool_is_what_is_shown(self):
        cut = setup(INCH, 40, 80, "middle", wanted=Feed.parse("0.2 mm/rev"))
        assert cut.feed_mm == Fraction(127, 80) / 8
        assert str(cut) == "40/80, lever middle: feed ≈ 0.00781 in/rev (≈ 0.1984 mm/rev) longitudinal, −0.781 %"
        assert cut.error_ppm == pytest.approx((0.1984375 / 0.2 - 1) * 1e6)
        assert '<th scope="row" style="text-align:left">hand' not in cut._repr_html_()

    def test_a_thread_has_no_feed(self):
        assert setup(INCH, 40, 80, "middle", wanted="16 tpi").feed_mm is None
        assert setup(INCH, 40, 80, "middle").feed_mm is None


class TestAsWanted:
    def test_threads_and_feeds_and_their_text(self):
        assert as_wanted("M8") == Thread.parse("M8")
        assert as_wanted(Thread.parse("M8")) == Thread.parse("M8")
        for text in ("0.12 mm/rev", "5 thou", "0.12 mm cross", "0.005 in per turn", "feed 0.12 mm"):
            assert as_wanted(text) == Feed.parse(text)
        assert as_wanted(Feed.parse("5 thou")) == Feed.parse("5 thou")

    def test_a_length_alone_is_a_pitch(self):
        assert as_wanted("0.12 mm") == Thread.parse("0.12 mm")

    def test_half_a_feed_is_refused_as_a_feed(self):
        with pytest.raises(ThreadTextError, match="not understood as a feed"):
            as_wanted("x mm/rev")

    @in_one("given", ["banana", "", None, 1.25, Train((40,), (80,))])
    def test_the_rest_is_refused(self, given):
        with pytest.raises(ThreadTextError):
            as_wanted(given)


class TestCost:
    @in_one(
        ("one", "other", "moved"),
        [
            (Train(40, 80), Train(40, 80), 0),
            (Train(40, 80), Train(40, 60), 1),
            (Train(40, 80), Train(80, 40), 2),
            (Train(40, 80), Train(40, 80, 50), 1),
            (Train(40, 80, 50), Train(40, 80, (50, 30)), 1),
            (Train(40, 80, 50), Train(40, 80, 30), 1),
            (Train(40, 80), Train((40, 30), (80, 60)), 2),
            (Train((40, 30), (80, 60)), Train((30, 40), (80, 60)), 2),
            (Train((40, 30), (80, 60), ((50,), ())), Train((40, 30), (80, 60), ((), (50,))), 2),
        ],
    )
    def test_places_that_hold_a_different_gear(self, one, other, moved):
        assert places_that_differ(one, other) == moved
        assert places_that_differ(other, one) == moved

    def test_the_lever_costs_nothing(self):
        assert setup(INCH, 40, 80, "low").cost(setup(INCH, 40, 80, "high")) == 0

    @pytest.mark.parametrize("other", [None, "40/80", Train(40, 80), INCH])
    def test_what_is_no_setup_is_refused(self, other):
        with pytest.raises(ValueOutOfRangeError, match="a setup is wanted here"):
            setup(INCH, 40, 80, "low").cost(other)


class TestOnPlate:
    def test_rows_of_the_plate_in_any_order_of_gears(self):
        ours = lathe(plate=(PlateRow("1 mm", (20, 30), (40, 60), ((), ())),))
        assert setup(ours, (20, 30), (40, 60)).on_plate
        assert setup(ours, (30, 20), (40, 60)).on_plate
        assert not setup(ours, (20, 30), (40, 80)).on_plate

    def test_an_only_lever_need_not_be_named_on_the_plate(self):
        ours = lathe(gearbox=(Lever("x", "1/2"),), plate=(PlateRow("1 mm", (20,), (30,)),))
        assert setup(ours, 20, 30).on_plate

    def test_another_lever_is_another_row(self):
        assert setup(INCH, 40, 80, "middle").on_plate
        assert not setup(INCH, 40, 80, "high").on_plate


class TestShown:
    def test_nothing_typed_by_the_user_runs_in_html(self):
        ours = lathe(name=NASTY, gearbox=(Lever(NASTY, "1/2"),))
        shown = setup(ours, 40, 80, wanted="1.5 mm")._repr_html_()
        assert "<script" not in shown
        assert "&lt;script&gt;" in shown

    def test_nothing_typed_by_the_user_is_live_in_latex(self):
        ours = lathe(gearbox=(Lever(NASTY, "1/2"),))
        latex = setup(ours, 40, 80)._repr_latex_()
        assert latex.startswith("$")
        assert latex.endswith("$")
        assert latex[1:-1].replace(r"\$", "").count("$") == 0
        assert r"\frac{1}" not in latex

    def test_fit_not_checked_is_said(self):
        assert "not checked" in setup(evolve(INCH, bracket=None), 40, 80, "low")._repr_html_()

    def test_error_and_lead_both_ways(self):
        assert str(setup(INCH, 40, 80, "middle", wanted="1.6 mm")) == (
            "40/80, lever middle, reverse over: lead 16 tpi (1.5875 mm), −7813 ppm, not good enough"
        )

    @pytest.mark.parametrize(
        ("idlers", "wanted", "stands", "hand"),
        [
            ((), "16 tpi", "over", "right"),
            ((), "16 tpi LH", "as the lathe file describes it", "left"),
            ((50,), "16 tpi", "as the lathe file describes it", "right"),
            ((50,), "16 tpi LH", "over", "left"),
        ],
    )
    def test_html_and_line_say_where_the_reverse_stands(self, idlers, wanted, stands, hand):
        """One place where teeth touch turns the motion round, two do not; a right-hand leadscrew, all else in line."""
        cut = setup(lathe(), 40, 80, idlers=idlers, wanted=wanted)
        rows = dict(re.findall(r'<th scope="row"[^>]*>([^<]*)</th><td[^>]*>([^<]*)</td>', cut._repr_html_()))
        assert (rows["reverse"], rows["hand"]) == (stands, hand)
        assert (", reverse over: lead" in str(cut)) == (stands == "over")

    def test_html_of_a_train_that_takes_an_idler_speaks_of_the_train_as_it_goes_on(self):
        """40/80 touches in one place and wants the reverse over; with the idler that the bracket asks for, not."""
        shown = setup(INCH, 40, 80, "middle", wanted="16 tpi")._repr_html_()
        assert ">as the lathe file describes it, with the idlers that it goes on with<" in shown
        left = setup(INCH, 40, 80, "middle", wanted="16 tpi LH")._repr_html_()
        assert ">over, with the idlers that it goes on with<" in left

    def test_without_a_reverse_nothing_is_said_of_one(self):
        plain = setup(lathe(spindle_side=SpindleSide(reverse=False)), 40, 80, wanted="16 tpi")
        assert "reverse" not in str(plain)
        assert ">reverse<" not in plain._repr_html_()


class TestOnTheBracket:
    def test_gears_chosen_by_hand_are_checked_and_stay_as_they_were_given(self):
        by_hand = setup(INCH, (40, 30), (80, 60), "low")
        assert by_hand.train == Train((40, 30), (80, 60))
        assert by_hand.fit.goes_on
        assert sorted(by_hand.fit.train.drivers) == [30, 40]
        assert not setup(INCH, 20, 80, "low", 30).fit.goes_on

    def test_no_bracket_or_no_size_of_gear_leaves_it_unchecked(self):
        assert setup(evolve(INCH, bracket=None), 40, 80, "low").fit is None
        assert setup(evolve(INCH, gear_set=GearSet([40, 80])), 40, 80, "low").fit is None

    def test_an_idler_that_it_goes_on_with_turns_the_hand_round(self):
        by_hand = setup(INCH, 40, 80, "middle")
        built = by_hand.as_built
        assert (len(built.train.idlers[0]), by_hand.train.idlers) == (1, ((),))
        assert (by_hand.natural_hand, built.natural_hand) == ("left", "right")  # one mesh; one mesh and an idler
        assert built.lead_mm == by_hand.lead_mm
        assert "as the lathe file describes it, with the idlers" in by_hand._repr_html_()

    def test_without_a_reverse_the_idlers_are_those_that_the_wanted_hand_needs(self):
        no_reverse = evolve(INCH, spindle_side=SpindleSide(reverse=False))
        right = setup(no_reverse, 40, 80, "middle", wanted="16 tpi")
        left = setup(no_reverse, 40, 80, "middle", wanted="16 tpi LH")
        assert [len(made.as_built.train.idlers[0]) for made in (right, left)] == [1, 2]
        assert right.warnings == left.warnings == ()

    def test_what_does_not_go_on_is_built_as_it_was_given(self):
        made = setup(INCH, 20, 80, "low", 30)
        assert made.as_built is made
