"""A train set by hand: distances by hand on gears of module 2, and places found against fit() and brute force."""

from __future__ import annotations

import cmath
import math
import random
import re
from functools import cache
from itertools import pairwise

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.fits import clearances, fit
from gearcalc.fits.by_hand import (
    HandSetting,
    StudPlace,
    axes_by_hand,
    mesh_states,
    nearest_setting,
    planes_by_hand,
    setting_of,
    short_gaps,
)
from gearcalc.lathes import Slot
from gearcalc.lathes.pieces import kind_of
from gearcalc.lathes.trains import Train
from tests.benches import bench
from tests.fits.by_force import (
    a_cramped_lathe,
    a_roomy_lathe,
    a_train,
    an_odd_lathe,
    angle_of,
    apart,
    bracket_of,
    discs,
    hands,
    missing_by_hand,
    module,
    planes_of,
    rooms,
    tips,
    with_idlers,
)
from tests.how_much import THOROUGH, in_one

TRIANGLE = Train((30, 24), (50, 36))  # 80 mm and 60 mm between the axes: see test_fitting.py
ALPHA = math.radians(20)


def states_at(apart: float, backlash_mm: float = 0.0) -> str:
    """How a 30 and a 50 of module 2 mesh so far apart: at 80 mm without play, at 84 mm the tips just pass."""
    lathe = bench(backlash_mm=backlash_mm)
    return mesh_states(lathe, Train((30,), (50,)), ((0.0, apart), (0.0, 0.0)))[0].state


class TestMeshStates:
    @in_one(
        ("apart", "state"),
        [
            (79.9, "pressed"),
            (80, "good"),
            (80.06, "good"),
            (80.1, "open"),
            (83.9, "open"),
            (84, "apart"),
            (90, "apart"),
        ],
    )
    def test_without_backlash_asked_for(self, apart, state):
        """0.05 mm of backlash, 0.069 mm of distance, is as fine as a hand sets it."""
        assert states_at(apart) == state

    @in_one(
        ("backlash", "state"),
        [(-0.01, "pressed"), (0.0, "tight"), (0.09, "tight"), (0.11, "good"), (0.29, "good"), (0.31, "open")],
    )
    def test_half_as_much_and_half_as_much_again_is_good(self, backlash, state):
        assert states_at(80 + backlash / (2 * math.tan(ALPHA)), 0.2) == state

    @in_one(("backlash", "wanted"), [(0.05, 0.0), (0.1, 0.2), (0.3, 0.2)])
    def test_the_ends_of_what_is_good_are_good(self, backlash, wanted):
        assert states_at(80 + backlash / (2 * math.tan(ALPHA)), wanted) == "good"

    def test_words_say_how_many_millimetres(self):
        lathe = bench(backlash_mm=0.2)
        right = 80 + 0.1 / math.tan(ALPHA)
        said = [
            mesh_states(lathe, Train((30,), (50,)), ((0, apart), (0, 0)))[0].words
            for apart in (78.75, 80.05, right, right + 1, 86)
        ]
        assert said == [
            "teeth pressed together by 1.3 mm",
            "tight: 0.04 mm of backlash",
            "good: 0.2 mm of backlash",
            "mesh open by 1 mm",
            "apart: 2 mm between the tips",
        ]

    def test_idlers_are_neighbours_too(self):
        states = mesh_states(bench(), Train((30,), (50,), (40,)), ((0, 160), (0, 90), (0, 0)))
        assert [(state.one.teeth, state.other.teeth, state.state) for state in states] == [
            (30, 40, "good"),
            (40, 50, "good"),
        ]

    def test_too_few_axes_are_refused(self):
        with pytest.raises(ValueOutOfRangeError, match="this train has 3 axes"):
            mesh_states(bench(), TRIANGLE, ((0, 100), (0, 0)))

    def test_a_lathe_without_a_bracket_is_refused(self):
        with pytest.raises(NotPossibleError, match="no bracket"):
            mesh_states(evolve(bench(), bracket=None), TRIANGLE, ((0, 100), (48, 36), (0, 0)))


class TestAxesByHand:
    def test_the_triangle_worked_by_hand(self):
        """60 mm from the pivot, swung by 36.87°: (48, 36)."""
        axes = axes_by_hand(bench(), HandSetting(math.degrees(math.atan2(3, 4)), (StudPlace(0, 40.0),)))
        assert axes == ((0, 100), pytest.approx((48, 36)), (0, 0))

    def test_slots_anywhere_turned_as_complex_numbers_are(self):
        lathe = bench(slots=(Slot((20, 0), (150, 0)), Slot((60, 30), (90, 70))), studs=2)
        axes = axes_by_hand(lathe, HandSetting(-15.0, (StudPlace(1, 25.0), StudPlace(0, 10.0))))
        second_slot = complex(60, 30) + 25 * complex(30, 40) / 50
        for axis, at_rest in zip(axes[1:3], (second_slot, complex(30, 0)), strict=True):
            assert complex(*axis) == pytest.approx(at_rest * cmath.rect(1, math.radians(-15)))

    @in_one(
        ("setting", "words"),
        [
            (HandSetting(-20.1, ()), "from −20 to 75°"),
            (HandSetting(76, ()), "from −20 to 75°"),
            (HandSetting(math.nan, ()), "the swing of the bracket"),
            (HandSetting(0, (StudPlace(1, 5.0),)), "one of 1 slots"),
            (HandSetting(0, (StudPlace(-1, 5.0),)), "one of 1 slots"),
            (HandSetting(0, (StudPlace(0, -0.1),)), "from 0 to 130 mm"),
            (HandSetting(0, (StudPlace(0, 130.1),)), "from 0 to 130 mm"),
            (HandSetting(0, (StudPlace(0, math.nan),)), "from 0 to 130 mm"),
        ],
    )
    def test_beyond_stops_and_slot_ends_is_refused(self, setting, words):
        with pytest.raises(ValueOutOfRangeError, match=words):
            axes_by_hand(bench(), setting)

    def test_what_is_refused_is_said_as_it_was_typed(self):
        with pytest.raises(ValueOutOfRangeError, match="to 75°, not -500"):
            axes_by_hand(bench(), HandSetting(-500.0, ()))


class TestPlanesByHand:
    lathe = gc.demo_lathe("inch")

    def test_two_meshes_lie_in_two_planes(self):
        assert planes_by_hand(bench(), TRIANGLE, ((0, 100), (48, 36), (0, 0))) == (0, 1)

    @in_one("seed", range(40))
    def test_of_three_meshes_the_outer_ones_share_a_plane_when_nothing_fouls_there(self, seed):
        draw = random.Random(seed)
        train = Train(*(tuple(draw.sample((20, 30, 40, 50, 60, 80), 3)) for _ in range(2)))
        axes = ((-50.0, 94.0), *((draw.uniform(-120, -20), draw.uniform(-20, 90)) for _ in range(2)), (0.0, 0.0))
        shared, apart = (clearances(self.lathe, train, axes, planes)[0][2] for planes in ((0, 1, 0), (0, 1, 2)))
        chosen = planes_by_hand(self.lathe, train, axes)
        assert chosen == ((0, 1, 0) if shared >= min(apart, 0.5) else (0, 1, 2))


class TestShortGaps:
    def test_the_same_as_clearances_has_them(self):
        axes = ((0, 100), (40, 40), (0, 0))
        gaps = short_gaps(bench(), TRIANGLE, axes, (0, 1))
        assert [gap.mm for gap in gaps] == [mm for _, _, mm in clearances(bench(), TRIANGLE, axes, (0, 1))]
        assert [gap.mm for gap in gaps] == sorted(gap.mm for gap in gaps)


def random_train(draw: random.Random, lathe: gc.Lathe) -> Train:
    meshes = draw.choice((1, 2, 3))
    gears = draw.sample(lathe.gears, 2 * meshes)
    return Train(gears[:meshes], gears[meshes:])


class TestSettingOf:
    @pytest.mark.parametrize("name", ["inch", "metric"])
    def test_set_so_by_hand_every_axis_stands_where_the_fit_has_it(self, name):
        lathe, draw, seen = gc.demo_lathe(name), random.Random(7), 0
        for _ in range(60):
            found = fit(lathe, random_train(draw, lathe))
            if not found.goes_on:
                continue
            setting = setting_of(lathe, found)
            axes = axes_by_hand(lathe, setting)
            for here, there in zip(axes, found.axes_mm, strict=True):
                assert here == pytest.approx(there, abs=1e-6)
            assert {mesh.state for mesh in mesh_states(lathe, found.train, axes)} == {"good"}
            seen += 1
        assert seen > 30

    def test_beyond_a_stop_or_a_slot_end_there_is_none(self):
        beyond_stop = bench(swing_deg=(-20, 30))
        assert setting_of(beyond_stop, fit(beyond_stop, TRIANGLE, keep_order=True)) is None
        beyond_end = bench(slots=(Slot((70, 0), (150, 0)),))
        assert setting_of(beyond_end, fit(beyond_end, TRIANGLE, keep_order=True)) is None

    @in_one(("beyond", "is_one"), [(0.0, True), (9e-7, True), (2e-6, False)])
    def test_a_rounding_beyond_them_it_is_on_them(self, beyond, is_one):
        swing = math.degrees(math.atan2(36, 48))
        for lathe, place in (
            (bench(swing_deg=(-20, swing - beyond)), (swing - beyond, 40.0)),
            (bench(swing_deg=(swing + beyond, 75)), (swing + beyond, 40.0)),
            (bench(slots=(Slot((20, 0), (60 - beyond, 0)),)), (swing, 40 - beyond)),
            (bench(slots=(Slot((60 + beyond, 0), (150, 0)),)), (swing, 0.0)),
        ):
            setting = setting_of(lathe, fit(lathe, TRIANGLE, keep_order=True))
            if is_one:
                assert (setting.swing_deg, setting.studs[0].along_mm) == pytest.approx(place, abs=1e-9)
                low, high = lathe.bracket.swing_deg
                assert low <= setting.swing_deg <= high
                assert setting.studs[0].along_mm >= 0
            else:
                assert setting is None

    @in_one(("beyond", "taken"), [(9e-7, True), (2e-6, False)])
    def test_and_so_is_a_place_that_is_set(self, beyond, taken):
        try:
            axes_by_hand(bench(), HandSetting(0, (StudPlace(0, 130 + beyond),)))
        except ValueOutOfRangeError:
            assert not taken
        else:
            assert taken

    @in_one(("off", "state"), [(-2e-6, "pressed"), (-9e-7, "tight"), (9e-7, "tight")])
    def test_and_so_are_teeth_that_touch(self, off, state):
        assert states_at(80 + off, 0.2) == state


def missing(train: Train, lathe: gc.Lathe, setting: HandSetting) -> float:
    """Millimetres by which meshes and gaps are wrong in all, from the distances alone."""
    axes = axes_by_hand(lathe, setting)
    meshes = mesh_states(lathe, train, axes)
    least = lathe.bracket.running_clearance_mm
    gaps = clearances(lathe, train, axes, planes_by_hand(lathe, train, axes))
    return sum(abs(mesh.off_mm) for mesh in meshes) + sum(max(0.0, least - mm) for _, _, mm in gaps)


@cache
def by_hand(seed: int) -> tuple[gc.Lathe, Train]:
    """A train on a lathe on which it may well not go on, with idlers or without; more studs than it needs, or just so
    many."""
    draw = random.Random(seed)
    while True:
        lathe = draw.choice([a_cramped_lathe, an_odd_lathe, a_roomy_lathe])(draw)
        meshes, pieces = draw.choice([1, 2, 2, 3]), len(lathe.gear_set.pieces)
        if pieces > 2 * meshes:
            plain = a_train(draw, lathe, meshes)
            train = with_idlers(draw, lathe, plain, draw.choice([0, 0, 1, 2]))
            train = Train(train.drivers, train.driven, draw.choice([train.idlers, train.idlers[::-1]]))
            one_size = all(len({kind_of(gear) for gear in mesh}) == 1 for mesh in train.chain())
            if one_size and train.shafts - 2 <= bracket_of(lathe).studs:
                return lathe, train


class TestAgainstEveryPlace:
    """Odd lathes with one slot or two, clusters, two sizes of tooth."""

    @in_one("seed", range(2000 if THOROUGH else 90))
    def test_the_nearest_setting(self, seed):
        lathe, train = by_hand(seed)
        setting = nearest_setting(lathe, train)
        axes = tuple(complex(*axis) for axis in axes_by_hand(lathe, setting))
        least = min(missing_by_hand(lathe, train, hand.axes) for hand in hands(lathe, train))
        assert missing_by_hand(lathe, train, axes) == pytest.approx(least, abs=1e-5)

    @in_one("seed", range(2000 if THOROUGH else 90))
    def test_the_planes(self, seed):
        lathe, train = by_hand(seed)
        axes = [(axis.real, axis.imag) for axis in next(hands(lathe, train)).axes]
        there = planes_by_hand(lathe, train, axes)
        places, room = tuple(complex(*axis) for axis in axes), {}
        for planes in planes_of(train):
            room[planes] = min(rooms(lathe, train, discs(lathe, train, *planes), places)).mm
        enough = min(max(room.values()), bracket_of(lathe).running_clearance_mm) - 1e-9
        assert room[there[: train.meshes], there[train.meshes :]] >= enough
        assert len({*there}) == min(len({*one, *other}) for (one, other), mm in room.items() if mm >= enough)

    @in_one("seed", range(120))
    def test_each_mesh(self, seed):
        lathe, train = by_hand(seed)
        axes = [(axis.real, axis.imag) for axis in next(hands(lathe, train)).axes]
        mates = [(one, other) for mesh in train.chain() for one, other in pairwise(mesh)]
        for number, (state, (one, other)) in enumerate(zip(mesh_states(lathe, train, axes), mates, strict=True)):
            assert (state.one.teeth, state.other.teeth) == (one, other)
            mm, right = math.dist(axes[number], axes[number + 1]), apart(lathe, one, other)
            play = (mm - module(lathe, one) * (one + other) / 2) * 2 * math.tan(math.radians(angle_of(one)))
            assert (state.apart_mm, state.off_mm) == pytest.approx((mm, mm - right))
            assert state.backlash_mm == pytest.approx(play)
            assert state.tips_mm == pytest.approx(tips(lathe, one) + tips(lathe, other))

    @in_one("seed", range(120))
    def test_the_setting_of_a_fit_is_where_it_has_the_axes_if_slots_and_swing_let_it(self, seed):
        lathe, train = by_hand(seed)
        found = fit(lathe, train)
        setting = setting_of(lathe, found)
        if setting is not None:
            axes = [complex(*axis) for axis in axes_by_hand(lathe, setting)]
            assert axes == pytest.approx([complex(*axis) for axis in found.axes_mm], abs=1e-5)
        else:
            said = " ".join(found.reasons)
            assert re.search("swing|beyond the|No slot|It takes|In no order|turn the", said), said


class TestNearestSetting:
    def test_the_triangle_worked_by_hand(self):
        setting = nearest_setting(bench(), TRIANGLE)
        assert setting.swing_deg == pytest.approx(36.8699, abs=1e-4)
        assert setting.studs == (StudPlace(0, pytest.approx(40)),)

    @pytest.mark.parametrize("name", ["inch", "metric"])
    def test_nothing_is_missing_when_the_train_goes_on_in_this_order(self, name):
        lathe, draw, seen = gc.demo_lathe(name), random.Random(11), 0
        for _ in range(60):
            found = fit(lathe, random_train(draw, lathe))
            if found.goes_on:
                assert missing(found.train, lathe, nearest_setting(lathe, found.train)) == pytest.approx(0, abs=1e-6)
                seen += 1
        assert seen > 30

    def test_too_short_a_train_misses_what_the_fit_says(self):
        """A 20, a 30 and an 80 of module 1.25 reach 100 mm and twice 0.275 mm; the shafts are 106.47 mm apart."""
        lathe, train = gc.demo_lathe("inch"), Train((20,), (80,), (30,))
        apart = math.hypot(50, 94)
        reach = 1.25 * (20 + 2 * 30 + 80) / 2 + 2 * 0.1 / math.tan(ALPHA)
        assert missing(train, lathe, nearest_setting(lathe, train)) == pytest.approx(apart - reach)

    @pytest.mark.parametrize(
        "train", [Train((20,), (80,), (30,)), Train((20, 65), (25, 70)), Train((20, 20), (25, 30))]
    )
    def test_no_place_on_a_grid_has_its_meshes_nearer_to_right(self, train):
        lathe = gc.demo_lathe("inch")

        def off(setting: HandSetting) -> float:
            return sum(abs(mesh.off_mm) for mesh in mesh_states(lathe, train, axes_by_hand(lathe, setting)))

        low, high = lathe.bracket.swing_deg
        grid = [
            HandSetting(low + (high - low) * turn / 60, (StudPlace(0, along),))
            for turn in range(61)
            for along in range(0, 121, 2)
        ]
        assert off(nearest_setting(lathe, train)) <= min(map(off, grid)) + 1e-6

    @in_one(("stops", "swing"), [((-20, 75), 0), ((10, 75), 10), ((-75, -10), -10)])
    def test_without_a_stud_the_bracket_hangs_as_near_to_rest_as_it_can(self, stops, swing):
        assert nearest_setting(bench(swing_deg=stops), Train((30,), (50,))) == HandSetting(swing, ())

    @in_one(
        ("train", "swing"),
        [(Train((12, 24), (16, 36)), 90), (Train((90, 24), (85, 36)), -90)],  # 28 of 40 mm; 175 of 160 mm
    )
    def test_too_short_or_too_long_it_stands_in_line_with_the_shafts(self, train, swing):
        lathe = bench(swing_deg=(-120, 120), stud_radius_mm=1.0, shaft_radius_mm=1.0)
        assert nearest_setting(lathe, train).swing_deg == pytest.approx(swing)

    def test_more_studs_than_there_are_is_refused(self):
        with pytest.raises(ValueOutOfRangeError, match="needs 2 studs, and the bracket has 1"):
            nearest_setting(bench(), Train((20, 20, 20), (40, 40, 40)))

    def test_axes_stand_along_the_chain(self):
        lathe = gc.demo_lathe("metric")
        train = Train((40, 30, 20), (50, 60, 80))
        axes = axes_by_hand(lathe, nearest_setting(lathe, train))
        sums = [40 + 50, 30 + 60, 20 + 80]
        for (one, other), teeth in zip(pairwise(axes), sums, strict=True):
            assert math.dist(one, other) == pytest.approx(teeth / 2 + 0.1 / math.tan(ALPHA))
