"""Will it go on: triangles worked by hand, and every reason that can be given when it won't.

Gears of module 2 without backlash: two that mesh stand z₁ + z₂ mm apart, and a gear reaches z + 2 mm from its axis.
Spindle side at (0, 100), 100 mm above the pivot; one slot along the x axis from 20 to 150 mm.

The triangle of most tests: 30 on the spindle side drives 50 on the stud (80 mm apart), 24 on the stud drives 36 on the
leadscrew (60 mm apart). 60² + 80² = 100², a right angle at the stud. At the pivot the cosine is 60/100, so the stud
bears 90° − 53.13° = 36.87°: at (60·0.8, 60·0.6) = (48, 36); from the spindle side that is √(48² + 64²) = 80 mm. So the
bracket swings to 36.87° (or to 143.13°, beyond its stop at 75°).
"""

from __future__ import annotations

import math
import re

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.fits import clearances, fit
from gearcalc.lathes import Lever, Slot
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.bench import part_html
from tests.benches import bench
from tests.how_much import in_one

TRIANGLE = Train((30, 24), (50, 36))


def reasons(train: Train, lathe: gc.Lathe, **how: object) -> list[str]:
    found = fit(lathe, train, keep_order=True, **how)
    assert not found.goes_on
    return list(found.reasons)


class TestOneStud:
    found = fit(bench(), TRIANGLE, keep_order=True)

    def test_it_goes_on(self):
        assert self.found.goes_on
        assert self.found.reasons == ()
        assert self.found.train == TRIANGLE

    def test_where_the_axes_stand(self):
        spindle_side, stud, pivot = self.found.axes_mm
        assert spindle_side == (0, 100)
        assert stud == pytest.approx((48, 36))
        assert pivot == (0, 0)

    def test_the_swing(self):
        assert self.found.swing_deg == pytest.approx(36.8699, abs=1e-4)

    def test_two_meshes_lie_in_two_planes(self):
        assert self.found.planes == (0, 1)

    def test_every_clearance(self):
        # Reach of each gear: 30: 32, 50: 52, 24: 26, 36: 38 mm; each shaft and stud 5 mm.
        by_hand = {
            ("50 on the stud", "leadscrew shaft"): 60 - 52 - 5,
            ("24 on the stud", "leadscrew shaft"): 60 - 26 - 5,
            ("36 on the leadscrew", "stud"): 60 - 38 - 5,
            ("30 on the spindle side", "stud"): 80 - 32 - 5,
            ("24 on the stud", "spindle-side shaft"): 80 - 26 - 5,
            ("50 on the stud", "spindle-side shaft"): 80 - 52 - 5,
            ("30 on the spindle side", "leadscrew shaft"): 100 - 32 - 5,
            ("36 on the leadscrew", "spindle-side shaft"): 100 - 38 - 5,
            ("spindle-side shaft", "stud"): 80 - 5 - 5,
            ("stud", "leadscrew shaft"): 60 - 5 - 5,
        }
        measured = {(one, other): mm for one, other, mm in self.found.clearances_mm}
        assert measured == pytest.approx(by_hand)

    def test_the_tightest_comes_first(self):
        gaps = [mm for _, _, mm in self.found.clearances_mm]
        assert gaps == sorted(gaps)
        assert self.found.clearances_mm[0][:2] == ("50 on the stud", "leadscrew shaft")

    def test_the_other_side_of_the_line_of_shafts(self):
        found = fit(bench(swing_deg=(100.0, 180.0)), TRIANGLE, keep_order=True)
        assert found.swing_deg == pytest.approx(180 - 36.8699, abs=1e-4)
        assert found.axes_mm[1] == pytest.approx((-48, 36))

    def test_a_swing_given_a_whole_turn_away(self):
        found = fit(bench(swing_deg=(-350.0, -300.0)), TRIANGLE, keep_order=True)
        assert found.swing_deg == pytest.approx(36.8699 - 360, abs=1e-4)
        assert found.axes_mm[1] == pytest.approx((48, 36))

    def test_a_slot_that_does_not_point_at_the_pivot(self):
        # A slot along y = 36 holds the stud at (48, 36) with the bracket at swing 0.
        found = fit(bench(slots=(Slot((10.0, 36.0), (90.0, 36.0)),)), TRIANGLE, keep_order=True)
        assert found.swing_deg == pytest.approx(0, abs=1e-9)
        assert found.axes_mm[1] == pytest.approx((48, 36))


class TestHairs:
    """What a rounding may take from slot, stop, gap or cover is nothing; a little more is."""

    SWING = math.degrees(math.atan2(36, 48))

    @in_one(("hair", "goes_on"), [(0.0, True), (9e-10, True), (5e-9, False)])
    def test_at_each_end_of_slot_and_swing(self, hair, goes_on):
        cover = ((-200, -200), (100 - hair, -200), (100 - hair, 200), (-200, 200))
        for lathe in (
            bench(slots=(Slot((20, 0), (60 - hair, 0)),)),
            bench(slots=(Slot((60 + hair, 0), (150, 0)),)),
            bench(swing_deg=(-20, self.SWING - hair)),
            bench(swing_deg=(self.SWING + hair, 75)),
            bench(running_clearance_mm=3.0 + hair),
            bench(cover_mm=cover, running_clearance_mm=0),
        ):
            assert fit(lathe, TRIANGLE, keep_order=True).goes_on is goes_on

    @in_one(("hair", "goes_on"), [(0.0, True), (9e-10, True), (5e-9, False)])
    @in_one("keep_order", [True, False])
    def test_as_far_as_a_straight_row_reaches(self, hair, goes_on, keep_order):
        """40 and 60 mm between the axes; 36 and 28 meet 12 and 24 nowhere else in 100 mm."""
        lathe = bench(spindle_side_at_mm=(0.0, 100 + hair), swing_deg=(-20, 100))
        assert fit(lathe, Train((12, 24), (28, 36)), keep_order=keep_order).goes_on is goes_on

    @in_one(("hair", "goes_on"), [(0.0, True), (9e-10, True), (5e-9, False)])
    def test_of_each_end_shaft_in_the_cover(self, hair, goes_on):
        """The 50 on the spindle side reaches 52 mm, the 30 on the leadscrew 32 mm; there is no other order."""
        for left, bottom in ((hair - 52, -200), (-200, hair - 32)):
            cover = ((left, bottom), (200, bottom), (200, 200), (left, 200))
            lathe = bench(cover_mm=cover, running_clearance_mm=0)
            assert fit(lathe, Train((50,), (30,), (30,))).goes_on is goes_on


class TestTwoStuds:
    """Three meshes, 120 + 80 + 60 mm, in two slots.

    The second stud stands 60 mm from the pivot, at (60, 0) in the first slot; the first stud 80 mm from it, at
    (60, 80) in the second: 100 mm from the pivot, bearing 53.13°. The spindle side is 100 mm from the pivot too, and
    120 mm from the first stud: half of that is 60, so the angle at the pivot is 2·36.87° = 73.74°. The first stud
    then bears 90° − 73.74° = 16.26°: at (96, 28). The bracket has swung to 16.26° − 53.13° = −36.87°, and the second
    stud stands at (60·0.8, −60·0.6) = (48, −36).
    """

    LATHE = bench(
        studs=2, swing_deg=(-60.0, 60.0), slots=(Slot((20.0, 0.0), (80.0, 0.0)), Slot((60.0, 30.0), (60.0, 99.0)))
    )
    found = fit(LATHE, Train((50, 30, 24), (70, 50, 36)), keep_order=True)

    def test_where_the_axes_stand(self):
        assert self.found.goes_on
        assert [coordinate for axis in self.found.axes_mm for coordinate in axis] == pytest.approx(
            [0, 100, 96, 28, 48, -36, 0, 0]
        )
        assert self.found.swing_deg == pytest.approx(-36.8699, abs=1e-4)

    def test_the_third_mesh_needs_a_plane_of_its_own(self):
        # In the first mesh's plane the 24 on the second stud would run into the 70 on the first: 80 − 72 − 26 mm.
        assert self.found.planes == (0, 1, 2)

    def test_the_third_mesh_shares_the_first_mesh_s_plane_where_it_can(self):
        # Spindle side √(100² + 120²) mm from the pivot: a right angle at the first stud. In the plane of the first and
        # third mesh the 50 on the first stud reaches 52 mm, the 20 on the second 22, the 40 on the leadscrew 42.
        lathe = evolve(
            self.LATHE, bracket=evolve(self.LATHE.bracket, spindle_side_at_mm=(0.0, (100**2 + 120**2) ** 0.5))
        )
        found = fit(lathe, Train((70, 30, 20), (50, 50, 40)), keep_order=True)
        assert found.goes_on
        assert found.planes == (0, 1, 0)
        gaps = {gap[:2]: gap[2] for gap in found.clearances_mm}
        assert gaps["50 on the first stud", "20 on the second stud"] == pytest.approx(80 - 52 - 22)
        assert gaps["50 on the first stud", "40 on the leadscrew"] == pytest.approx(100 - 52 - 42)


class TestIdler:
    """One mesh: 50 on the spindle side, an idler of 30 (80 mm away), 30 on the leadscrew (60 mm away)."""

    def test_an_idler_named_is_used(self):
        found = fit(bench(), Train((50,), (30,), (30,)))
        assert found.goes_on
        assert found.axes_mm[1] == pytest.approx((48, 36))
        assert found.planes == (0,)

    def test_the_gears_that_it_joins_are_checked_against_each_other(self):
        found = fit(bench(), Train((50,), (30,), (30,)))
        gaps = {gap[:2]: gap[2] for gap in found.clearances_mm}
        assert gaps["50 on the spindle side", "30 on the leadscrew"] == pytest.approx(100 - 52 - 32)

    def test_one_is_added_from_the_gears_left_over(self):
        found = fit(bench((30, 30, 50)), Train((50,), (30,)))
        assert found.goes_on
        assert found.train == Train((50,), (30,), (30,))

    def test_a_gear_owned_once_is_not_its_own_idler(self):
        assert not fit(bench((30, 50)), Train((50,), (30,))).goes_on

    def test_two_are_added_where_one_does_not_reach(self):
        lathe = bench((20, 22, 24, 26), studs=2)
        found = fit(lathe, Train((20,), (24,)))  # 20 + 2·26 + 24 < 100, so one idler does not reach
        assert found.goes_on
        assert len(found.train.idlers[0]) == 2
        assert len(found.axes_mm) == 4

    def test_the_fewest_that_will_do(self):
        found = fit(bench((20, 24, 28, 30, 30, 50), studs=2), Train((50,), (30,)))
        assert len(found.train.idlers[0]) == 1

    def test_in_a_compound_train_it_has_a_stud_of_its_own(self):
        short = Train((20, 30), (25, 24))
        lathe = bench((20, 24, 25, 30, 48), studs=2)
        assert not fit(evolve(lathe, bracket=evolve(lathe.bracket, studs=1)), short).goes_on
        found = fit(lathe, short)
        assert found.goes_on
        assert found.train.idlers in (((48,), ()), ((), (48,)))


class TestOrder:
    def test_every_order_is_tried(self):
        # As given the 50 stands beside a pair of 20 + 40 and is 13 mm too large; the other way round it isn't.
        train = Train((40, 20), (50, 40))
        lathe = bench(shaft_radius_mm=10.0)
        assert not fit(lathe, train, keep_order=True).goes_on
        found = fit(lathe, train)
        assert found.goes_on
        assert sorted(found.train.drivers) == [20, 40]
        assert sorted(found.train.driven) == [40, 50]

    def test_the_order_given_makes_no_difference_to_the_answer(self):
        one, other = (fit(gc.demo_lathe(), train) for train in (Train((20, 40), (65, 70)), Train((40, 20), (70, 65))))
        assert one.train == other.train
        assert one.axes_mm == other.axes_mm

    def test_with_a_train_mounted_fewer_gears_move(self):
        lathe, train = gc.demo_lathe(), Train((30, 45), (60, 80))
        orders = {Train(drivers, driven) for drivers in ((30, 45), (45, 30)) for driven in ((60, 80), (80, 60))}
        that_go_on = [order for order in orders if fit(lathe, order, keep_order=True).train == order]
        assert len(that_go_on) > 1
        for mounted in that_go_on:
            assert fit(lathe, train, mounted=mounted).train == mounted

    def test_no_mesh_steeper_than_four_to_one_if_it_can_be_had(self):
        lathe = gc.demo_lathe("metric")
        steep, mild = Train((50, 20), (48, 100)), Train((20, 50), (48, 100))
        roomier, tighter = (fit(lathe, train, keep_order=True) for train in (steep, mild))
        assert roomier.clearances_mm[0][2] > tighter.clearances_mm[0][2]
        assert fit(lathe, steep).train == mild


class TestDirection:
    def test_without_a_reverse_the_hand_decides_how_many_idlers(self):
        lathe = bench((20, 24, 28, 30, 30, 36, 40, 44, 48, 50), reverse=False, studs=2)
        right, left = (fit(lathe, Train((50,), (30,)), hand=hand) for hand in ("right", "left"))
        assert right.goes_on
        assert right.train.turns_the_same_way
        assert left.goes_on
        assert not left.train.turns_the_same_way

    def test_with_a_reverse_either_hand_will_do(self):
        lathe = bench((30, 30, 50))
        assert fit(lathe, Train((50,), (30,)), hand="left").train == fit(lathe, Train((50,), (30,))).train

    def test_a_gearbox_that_turns_the_motion_round(self):
        boxes = (Lever("plain", 1), Lever("turned", 1, same_way=False))
        lathe = bench((30, 30, 50), reverse=False, gearbox=boxes)
        assert fit(lathe, Train((50,), (30,)), hand="right", lever="plain").goes_on
        assert not fit(lathe, Train((50,), (30,)), hand="right", lever="turned").goes_on
        assert fit(lathe, Train((50,), (30,)), hand="left", lever="turned").goes_on
        with pytest.raises(UnknownNameError, match="plain"):
            fit(lathe, Train((50,), (30,)), hand="right")
        with pytest.raises(UnknownNameError):
            fit(lathe, Train((50,), (30,)), lever="third")

    def test_gearbox_positions_that_all_turn_alike_need_not_be_told_apart(self):
        lathe = bench((30, 30, 50), reverse=False, gearbox=(Lever("low", 1), Lever("high", 2)))
        assert fit(lathe, Train((50,), (30,)), hand="right").goes_on

    @pytest.mark.parametrize("hand", ["up", "", 1])
    def test_a_hand_that_is_none(self, hand):
        with pytest.raises(ValueOutOfRangeError):
            fit(bench(), TRIANGLE, hand=hand)


class TestReasons:
    def test_slot_too_short(self):
        lathe = bench(slots=(Slot((20.0, 0.0), (55.9, 0.0)),))
        assert reasons(TRIANGLE, lathe) == ["The stud would stand 4.1 mm beyond the outer end of the slot."]

    def test_slot_starts_too_late(self):
        lathe = bench(slots=(Slot((150.0, 0.0), (62.5, 0.0)),))
        assert reasons(TRIANGLE, lathe) == ["The stud would stand 2.5 mm beyond the inner end of the slot."]

    @in_one(
        ("slot", "said"),
        [
            (((59.2, 0.0), (59.5, 0.0)), "0.5 mm beyond the outer"),  # which is less than a millimetre long
            (((60.5, 0.0), (80.0, 0.0)), "0.5 mm beyond the inner"),
            (((60.5, 0.0), (60.8, 0.0)), "0.5 mm beyond the inner"),
        ],
    )
    def test_by_less_than_a_millimetre(self, slot, said):
        assert reasons(TRIANGLE, bench(slots=(Slot(*slot),))) == [f"The stud would stand {said} end of the slot."]

    @in_one(
        ("ends", "swing", "said"),
        [
            ((-10.3, 10.0), (-110.0, -100.0), "37.7 mm beyond the outer"),
            ((-9.7, 10.0), (-110.0, -100.0), "38.3 mm beyond the inner"),
            ((-10.0, 10.3), (100.0, 110.0), "37.7 mm beyond the outer"),
            ((-10.0, 9.7), (100.0, 110.0), "38.3 mm beyond the inner"),
            ((-10.0, 10.0), (100.0, 110.0), "38 mm beyond the outer"),
            ((-10.0, 10.0), (-110.0, -100.0), "38 mm beyond the outer"),
        ],
    )
    def test_a_slot_across_whose_ends_are_nearly_as_far_out(self, ends, swing, said):
        """Level at 36 mm above the pivot the stud must be 48 mm to one side; the swing takes it to either."""
        lathe = bench(slots=(Slot((ends[0], 36.0), (ends[1], 36.0)),), swing_deg=swing)
        assert reasons(TRIANGLE, lathe)[0] == f"The stud would stand {said} end of the slot."

    def test_what_has_just_enough_room_is_not_in_the_way(self):
        """3 mm, as every clearance of the triangle above is at least."""
        assert len(reasons(TRIANGLE, bench(swing_deg=(-20.0, 30.0), running_clearance_mm=3.0))) == 1

    def test_which_slot(self):
        lathe = bench(slots=(Slot((0.0, -90.0), (0.0, -120.0)), Slot((20.0, 0.0), (59.0, 0.0))))
        assert reasons(TRIANGLE, lathe) == ["The stud would stand 1 mm beyond the outer end of the second slot."]

    @in_one(("stop", "said"), [(30, "30"), (35.5, "35.5"), (34.125, "34.13")])
    def test_swing_stops(self, stop, said):
        assert reasons(TRIANGLE, bench(swing_deg=(-20.0, stop))) == [
            f"The bracket would have to swing to 37°, and it stops at {said}°."
        ]

    def test_swing_stops_a_hair_too_soon(self):
        assert reasons(TRIANGLE, bench(swing_deg=(-20.0, 36.5))) == [
            "The bracket would have to swing to 36.87°, and it stops at 36.5°."
        ]

    @in_one(("radius", "mm"), [(11.2, "3.2"), (8.4, "0.4")])
    def test_fouls_a_shaft(self, radius, mm):
        # 60 − 52 − 11.2 = −3.2
        assert reasons(TRIANGLE, bench(shaft_radius_mm=radius)) == [
            f"The 50 on the stud fouls the leadscrew shaft by {mm} mm."
        ]

    def test_the_leadscrew_is_behind_a_gearbox(self):
        lathe = bench(shaft_radius_mm=11.2, gearbox=(Lever("low", 1), Lever("high", 2)))
        assert reasons(TRIANGLE, lathe) == ["The 50 on the stud fouls the gearbox input shaft by 3.2 mm."]

    def test_too_little_room(self):
        assert reasons(TRIANGLE, bench(shaft_radius_mm=7.75)) == [
            "The 50 on the stud would be only 0.25 mm from the leadscrew shaft, and 0.5 mm must be left."
        ]

    def test_fouls_a_stud(self):
        # A stud's bush of 20 mm: 60 − 38 − 20 = 2 mm from the 36, but 24 on the stud has only 26 mm and clears itself.
        assert reasons(TRIANGLE, bench(stud_radius_mm=24.0)) == ["The 36 on the leadscrew fouls the stud by 2 mm."]

    def test_gears_of_one_plane_foul(self):
        # 70 + 10 = 80 and 10 + 50 = 60 mm; the two reach 72 + 52 mm, and their shafts are 100 mm apart.
        first, *others = reasons(Train((70,), (50,), (10,)), bench(stud_radius_mm=1.0, shaft_radius_mm=1.0))
        assert first == "The 70 on the spindle side fouls the 50 on the leadscrew by 24 mm."
        assert others == []

    def test_no_reach(self):
        # 24 + 36 = 60 mm from the pivot, so the stud is never nearer than 40 mm to the spindle side: 40 − 28 = 12.
        assert reasons(Train((12, 24), (16, 36)), bench()) == [
            "Wherever the bracket swings, the 16 on the stud stays 12 mm short of the 12 on the spindle side."
        ]

    def test_too_large_together(self):
        # 60 + 100 = 160 mm is as far as the stud gets from the spindle side, and 90 + 85 = 175 are asked for.
        lathe = bench(stud_radius_mm=1.0, shaft_radius_mm=1.0)
        assert reasons(Train((90, 24), (85, 36)), lathe)[0] == (
            "Wherever the bracket swings, the 85 on the stud is 15 mm too near to mesh with the 90 on the spindle side."
        )

    def test_no_slot_near_enough(self):
        # The slot passes 70 mm from the pivot, and the pair on it reaches 60.
        assert reasons(TRIANGLE, bench(slots=(Slot((0.0, 70.0), (150.0, 70.0)),))) == [
            "No slot comes near enough for the 24 on the stud to mesh with the 36 on the leadscrew: 10 mm are missing."
        ]

    def test_what_fouls_wherever_the_studs_stand_is_said_too(self):
        # 12 + 50 = 62 mm, and the slot passes at 70. The 70 and the 50 reach 72 + 52 mm, and stand 100 apart.
        lathe = bench(slots=(Slot((0.0, 70.0), (150.0, 70.0)),), stud_radius_mm=1.0)
        assert reasons(Train((70,), (50,), (12,)), lathe) == [
            "No slot comes near enough for the idler 12 to mesh with the 50 on the leadscrew: 8 mm are missing.",
            "The 70 on the spindle side fouls the 50 on the leadscrew by 24 mm.",
        ]

    def test_cover(self):
        # The 36 on the leadscrew reaches 38 mm below the pivot, and the cover ends 30 below it.
        cover = ((-200.0, -30.0), (200.0, -30.0), (200.0, 200.0), (-200.0, 200.0))
        assert reasons(TRIANGLE, bench(cover_mm=cover)) == ["The 36 on the leadscrew fouls the cover by 8 mm."]
        roomy = ((-200.0, -38.5), *cover[1:])
        assert not fit(bench(cover_mm=roomy), TRIANGLE, keep_order=True).goes_on
        roomy = ((-200.0, -38.5), (200.0, -38.5), *cover[2:])
        assert fit(bench(cover_mm=roomy), TRIANGLE, keep_order=True).goes_on

    def test_too_few_studs(self):
        assert reasons(Train((30, 24, 20), (50, 36, 40)), bench()) == ["It takes 2 studs, and the bracket has 1."]

    def test_no_gear_left_for_an_idler(self):
        assert reasons(Train((50,), (30,)), bench((30, 50))) == [
            "It takes an idler, and the set has no gear left over for one."
        ]

    def test_the_wrong_hand_with_the_idler_named(self):
        assert reasons(Train((50,), (30,), (30,)), bench(reverse=False, studs=2), hand="left") == [
            "It turns the leadscrew the wrong way, and the lathe has no reverse: take one idler more or less."
        ]

    def test_the_wrong_hand_and_no_stud_for_an_idler(self):
        assert reasons(Train((50,), (30,)), bench((30, 30, 50), reverse=False), hand="left") == [
            "To turn the leadscrew the right way it takes 2 studs, and the bracket has 1."
        ]

    def test_the_wrong_hand_and_no_gear_for_an_idler(self):
        lathe = bench((24, 30, 36, 50), reverse=False, studs=2)
        assert reasons(TRIANGLE, lathe, hand="left") == [
            "To turn the leadscrew the right way it takes one idler more, and the set has no gear left over for it."
        ]

    def test_another_idler_would_clear_it(self):
        lathe = gc.demo_lathe()
        (said,) = fit(lathe, Train((20,), (80,), (30,))).reasons
        offered = re.search(r"; an idler of (\d+) instead of 30 would clear it\.$", said)
        assert offered is not None
        assert int(offered[1]) in lathe.gears
        assert fit(lathe, Train((20,), (80,), (int(offered[1]),))).goes_on

    def test_an_idler_that_would_have_to_be_bought(self):
        lathe = bench((30, 50, 127))
        said = fit(lathe, Train((50,), (30,))).reasons
        offered = re.search(r"; an idler of (\d+), which is not in the set, would clear it\.$", said[0])
        assert offered is not None
        assert fit(lathe.with_gears(add=(int(offered[1]),)), Train((50,), (30,))).goes_on

    @in_one(("idler", "named"), [(19, False), (20, True), (127, True), (128, False)])
    def test_only_gears_that_are_made_are_to_be_bought(self, idler, named):
        """A slot that holds a stud as far from the pivot as that idler asks beside the 30, and no other."""
        slot = Slot((idler + 29.6, 0.0), (idler + 30.4, 0.0))
        lathe = bench((24, 30, 50), slots=(slot,), stud_radius_mm=1.0, shaft_radius_mm=1.0)
        assert fit(lathe, Train((50,), (30,), (idler,))).goes_on
        said = f"; an idler of {idler}, which is not in the set, would clear it."
        assert fit(lathe, Train((50,), (30,))).reasons[0].endswith(said) is named

    @in_one(("meshes", "named"), [(1, True), (2, True), (3, False)])
    def test_of_three_meshes_no_idler_is_looked_for(self, meshes, named):
        """Each mesh of 24 and 26 teeth reaches 25 mm, and an idler of any size goes in between."""
        lathe = bench(
            (20, *(24, 26) * meshes),
            module_mm=1.0,
            studs=3,
            spindle_side_at_mm=(0.0, 25.0 * meshes + 40),
            swing_deg=(-180.0, 180.0),
            slots=(Slot((1.0, 0.0), (200.0, 0.0)),),
        )
        train = Train((24,) * meshes, (26,) * meshes)
        assert fit(lathe, Train(train.drivers, train.driven, (60,))).goes_on
        assert ("which is not in the set" in fit(lathe, train).reasons[0]) is named

    def test_each_is_one_sentence(self):
        for lathe in (
            bench(slots=(Slot((20.0, 0.0), (55.9, 0.0)),)),
            bench(shaft_radius_mm=40.0),
            bench(swing_deg=(0.0, 1.0)),
        ):
            found = reasons(TRIANGLE, lathe)
            assert found
            for said in found:
                assert re.fullmatch(r"[A-Z][^!?]*[^ .]\.", said)

    def test_the_arrangement_that_comes_nearest_is_shown(self):
        found = fit(bench(swing_deg=(-20.0, 30.0)), TRIANGLE, keep_order=True)
        assert found.axes_mm[1] == pytest.approx((48, 36))
        assert found.swing_deg == pytest.approx(36.8699, abs=1e-4)
        assert found.clearances_mm[0][2] == pytest.approx(3)

    def test_nothing_to_show_where_the_axes_cannot_be_placed(self):
        found = fit(bench(), Train((12, 24), (16, 36)))
        assert (found.axes_mm, found.clearances_mm, found.swing_deg) == ((), (), None)


class TestWhatIsShown:
    def test_text(self):
        assert str(fit(bench(), TRIANGLE, keep_order=True)) == (
            "goes on as (30 · 24)/(50 · 36), bracket swung to 36.9°; "
            "tightest: 3 mm between 50 on the stud and leadscrew shaft"
        )
        assert str(fit(bench(swing_deg=(-20.0, 30.0)), TRIANGLE, keep_order=True)) == (
            "does not go on; nearest to it as (30 · 24)/(50 · 36): "
            "The bracket would have to swing to 37°, and it stops at 30°."
        )

    def test_html(self):
        shown = fit(bench(), TRIANGLE, keep_order=True)._repr_html_()
        assert "48 mm across, 36 mm up from the pivot" in shown
        assert "3 mm" in shown
        assert "stops at 30°" in fit(bench(swing_deg=(-20.0, 30.0)), TRIANGLE, keep_order=True)._repr_html_()

    def test_at_the_prompt(self):
        assert repr(fit(bench(), TRIANGLE)) == "Fit(goes_on=True)"

    def test_a_setup_shows_it(self):
        lathe = gc.demo_lathe()
        setup = gc.setup(lathe, (40, 30), (80, 60), lever="low")
        assert "goes on as" in evolve(setup, fit=gc.fit(lathe, setup.train))._repr_html_()


class TestCannotBeAsked:
    def test_no_bracket(self):
        with pytest.raises(NotPossibleError, match=r"Add \[bracket\]"):
            fit(evolve(bench(), bracket=None), TRIANGLE)

    def test_no_size_of_gear(self):
        with pytest.raises(NotPossibleError, match="Add module_mm"):
            fit(bench(module_mm=None), TRIANGLE)

    @pytest.mark.parametrize(
        ("lathe", "lacks"),
        [
            (evolve(bench((40, 80)), bracket=None), "has no bracket."),
            (bench((40, 80), module_mm=None), "has no size of gear."),
            (evolve(bench((40, 80), module_mm=None), bracket=None), "has no bracket and no size of gear."),
        ],
    )
    def test_a_card_and_the_bench_say_which_of_the_two_the_file_lacks(self, lathe, lacks):
        made = gc.setup(lathe, 40, 80)
        assert f"The fit is not checked: the lathe file {lacks}" in gc.change_card(lathe, made).warnings
        assert f"The file of this lathe {lacks}" in part_html("will it go on", made, {})

    def test_spindle_side_on_the_pivot(self):
        with pytest.raises(ValueOutOfRangeError, match="spindle_side_at_mm"):
            bench(spindle_side_at_mm=(0.0, 0.0))

    @in_one("place", [(0.0, float("nan")), (1.0,), "ab", None, (1e9, 0.0)])
    def test_spindle_side_nowhere(self, place):
        with pytest.raises(ValueOutOfRangeError):
            bench(spindle_side_at_mm=place)

    @pytest.mark.parametrize("train", [None, 40, "forty over eighty", [(40,), (80,)]])
    def test_no_train(self, train):
        with pytest.raises(ValueOutOfRangeError):
            fit(bench(), train)

    def test_no_lathe(self):
        with pytest.raises(ValueOutOfRangeError):
            fit("inch", TRIANGLE)

    def test_text_of_a_train_will_do(self):
        assert fit(bench(), "30/50 24/36", keep_order=True).axes_mm == fit(bench(), TRIANGLE, keep_order=True).axes_mm


class TestClearances:
    def test_wherever_the_axes_stand(self):
        # The stud pulled out to (60, 36): √(60² + 64²) = 87.7 mm from the spindle side, √(60² + 36²) = 70.0 mm from
        # the pivot.
        gaps = {gap[:2]: gap[2] for gap in clearances(bench(), TRIANGLE, ((0, 100), (60, 36), (0, 0)), (0, 1))}
        assert gaps["50 on the stud", "leadscrew shaft"] == pytest.approx((60**2 + 36**2) ** 0.5 - 57)
        assert gaps["24 on the stud", "spindle-side shaft"] == pytest.approx((60**2 + 64**2) ** 0.5 - 31)

    @in_one("axes", [None, 7, "abc", ((0, 100), (60,), (0, 0)), ((0, 100), (60, math.nan), (0, 0)), [(0, 1, 2)] * 3])
    def test_what_is_no_place_is_refused(self, axes):
        with pytest.raises(ValueOutOfRangeError, match="pairs of numbers"):
            clearances(bench(), TRIANGLE, axes, (0, 1))

    @in_one("planes", [None, 1, "ab", (0, 1.5), (0, None)])
    def test_what_is_no_plane_is_refused(self, planes):
        with pytest.raises(ValueOutOfRangeError, match="whole numbers"):
            clearances(bench(), TRIANGLE, ((0, 100), (60, 36), (0, 0)), planes)

    @in_one(("planes", "taken"), [((0, 0, 1), False), ((0, 1, 1), False), ((0, 1, 0), True), ((2, 1, 2), True)])
    def test_neighbours_of_three_meshes_in_one_plane(self, planes, taken):
        try:
            clearances(bench(), Train((20,) * 3, (30,) * 3), ((0, 100), (60, 36), (40, 0), (0, 0)), planes)
        except ValueOutOfRangeError:
            assert not taken
        else:
            assert taken

    def test_how_many_there_are_and_how_many_are_wanted(self):
        with pytest.raises(ValueOutOfRangeError, match="this train has 3 axes and 2 planes, not '4 and 1'"):
            clearances(bench(), TRIANGLE, ((0, 100), (60, 36), (0, 0), (1, 1)), (0,))

    @pytest.mark.parametrize(("axes", "planes"), [(2, (0, 1)), (4, (0, 1)), (3, (0,)), (3, (0, 0))])
    def test_too_few_too_many_or_the_same_plane(self, axes, planes):
        with pytest.raises(ValueOutOfRangeError):
            clearances(bench(), TRIANGLE, ((0.0, 0.0),) * axes, planes)


class TestBacklash:
    def test_it_widens_the_centre_distance(self):
        # j/(2·tan α) with j = 0.2 and α = 20°: 0.2/0.72794 = 0.27475 mm.
        found = fit(bench(backlash_mm=0.2), TRIANGLE, keep_order=True)
        stud = found.axes_mm[1]
        assert (stud[0] ** 2 + stud[1] ** 2) ** 0.5 == pytest.approx(60.27475, abs=1e-5)
        assert (stud[0] ** 2 + (stud[1] - 100) ** 2) ** 0.5 == pytest.approx(80.27475, abs=1e-5)
