"""Plane geometry, against triangles that can be worked by hand: 3-4-5, 5-12-13, equilateral."""

from __future__ import annotations

import cmath
import math
import random

import pytest
from attrs import evolve
from shapely import Point, Polygon

from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.fits.geometry import (
    Line,
    Studs,
    angle_opposite,
    bearing,
    depth_inside,
    layout_if_any,
    layout_of,
    layout_of_bracket,
    reach_of,
    turned,
)
from gearcalc.lathes.pieces import piece
from tests.benches import bench
from tests.how_much import in_one


class TestLine:
    def test_a_slope_of_three_in_four(self):
        line = Line.between((1, 1), (9, 7))
        assert line.length == 10
        assert line.at(5) == pytest.approx((5, 4))

    def test_beside_is_positive_to_the_left(self):
        line = Line.between((0, 0), (0, 10))
        assert line.beside((-2, 7)) == pytest.approx((7, 2))
        assert line.beside((3, -1)) == pytest.approx((-1, -3))

    def test_circle_of_radius_13_is_crossed_5_to_either_side_of_the_foot_at_12(self):
        line = Line.between((-20, 12), (20, 12))
        assert line.at_distance((0, 0), 13) == pytest.approx((15, 25))

    def test_a_line_that_just_touches_meets_once(self):
        assert Line.between((0, 5), (10, 5)).at_distance((3, 0), 5) == pytest.approx((3,))

    def test_a_circle_too_small_is_not_met(self):
        assert Line.between((0, 5), (10, 5)).at_distance((3, 0), 4.99) == ()

    @in_one("radius", [5.000001, 5.001, 5.05, 5.1, 5.2, 6, 50])
    def test_however_little_it_is_cut_two_places_are_that_far_away(self, radius):
        line = Line.between((0, 5), (10, 5))
        places = line.at_distance((3, 0), radius)
        assert places == pytest.approx((3 - math.sqrt(radius**2 - 25), 3 + math.sqrt(radius**2 - 25)))
        assert [math.dist(line.at(along), (3, 0)) for along in places] == pytest.approx([radius, radius])

    def test_a_line_through_the_centre(self):
        assert Line.between((20, 0), (150, 0)).at_distance((0, 0), 60) == pytest.approx((-80, 40))

    @in_one(("along", "beyond"), [(-3, 3), (0, 0), (4, -4), (10, 0), (12.5, 2.5)])
    def test_beyond_the_nearer_end(self, along, beyond):
        assert Line.between((0, 0), (10, 0)).beyond(along) == pytest.approx(beyond)


class TestAngleOpposite:
    def test_a_right_angle_opposite_the_5(self):
        assert angle_opposite(5, 3, 4) == pytest.approx(math.pi / 2)

    def test_equilateral(self):
        assert angle_opposite(7, 7, 7) == pytest.approx(math.pi / 3)
        assert angle_opposite(0.5, 0.5, 0.5) == pytest.approx(math.pi / 3)

    def test_flat_triangles(self):
        assert angle_opposite(7, 3, 4) == pytest.approx(math.pi)
        assert angle_opposite(1, 3, 4) == pytest.approx(0)

    @pytest.mark.parametrize("sides", [(8, 3, 4), (0.5, 3, 4), (3, 0, 3), (3, 3, 0), (3, -1, 3), (3, 3, -1)])
    def test_sides_that_do_not_close(self, sides):
        assert angle_opposite(*sides) is None


class TestSwings:
    """A bracket swung by whole turns more or less stands the same: of all of them the one that the stops allow."""

    @in_one("seed", range(300))
    def test_against_nine_turns(self, seed):
        draw = random.Random(seed)
        low = draw.uniform(-170, 100)
        high, swing = draw.uniform(low, min(180, low + 300)), draw.uniform(-400, 400)
        if seed % 2:  # nearly as far beyond the one stop as beyond the other
            swing = (low + high) / 2 + 180 + draw.uniform(-0.3, 0.3)
        layout = layout_of(bench(swing_deg=(low, high)))
        turns = {
            swing + 360 * count: max(low - (swing + 360 * count), swing + 360 * count - high) for count in range(-4, 5)
        }
        allowed = [angle for angle, past in turns.items() if past <= 0]
        if allowed:
            assert layout.swing_within(swing) == pytest.approx(min(allowed, key=abs))
        else:
            assert layout.swing_within(swing) is None
            assert layout.swing_beyond(swing) == pytest.approx(min(turns.items(), key=lambda each: each[1]))

    @in_one("low", [-360, -300, -10, 0, 20, 300])
    @in_one("wide", [0, 30, 60])
    @in_one("turns", [-2, -1, 0, 1, 2])
    @in_one("hair", [-2e-9, -9e-10, 0, 9e-10, 2e-9])
    def test_a_hair_beyond_a_stop_is_on_it(self, low, wide, turns, hair):
        layout = layout_of(bench(swing_deg=(low, low + wide)))
        for stop in (low, low + wide):
            swing = stop + hair + 360 * turns
            each = [swing + 360 * count for count in range(-5, 6)]
            there = [turn for turn in each if low - 1.5e-9 < turn < low + wide + 1.5e-9]
            within = layout.swing_within(swing)
            assert within == (pytest.approx(min(there, key=abs), abs=1e-10) if there else None)
            if not there:
                assert layout.swing_beyond(swing)[1] == pytest.approx(2e-9, abs=1e-10)


class TestReach:
    """How near the spindle side a stud comes and how far it gets: at a stop, or in line with the two shafts."""

    @in_one("seed", range(300))
    def test_against_the_stops_and_the_places_in_line(self, seed):
        draw = random.Random(seed)
        low = draw.uniform(-360, 300)
        high = min(360.0, low + draw.choice([0, 20, 170, 200, 359, 500]))
        spindle, stud = (cmath.rect(draw.uniform(20, 120), draw.uniform(-4, 4)) for _ in range(2))
        if seed % 3 == 0:  # which may come to where the spindle side is
            stud *= abs(spindle) / abs(stud)
        layout = layout_of(bench(swing_deg=(low, high), spindle_side_at_mm=(spindle.real, spindle.imag)))
        in_line = math.degrees(cmath.phase(spindle / stud))
        swings = [low, high, *(in_line + 180 * half for half in range(-6, 7))]
        places = [stud * cmath.rect(1, math.radians(swing)) for swing in swings if low <= swing <= high]
        away = [abs(place - spindle) for place in places]
        found = reach_of(layout, Studs(((stud.real, stud.imag),)))
        assert found == pytest.approx((min(away), max(away)), abs=1e-5)


class TestHairs:
    """What a rounding may take is nothing; a little more is."""

    @in_one(("hair", "closes"), [(0.0, True), (9e-10, True), (2e-9, False)])
    def test_where_a_triangle_lies_flat_and_a_line_just_touches(self, hair, closes):
        assert (angle_opposite(7 + hair, 3, 4) == pytest.approx(math.pi)) is closes
        assert (angle_opposite(1 - hair, 3, 4) == pytest.approx(0)) is closes
        assert (angle_opposite(1 - hair, 4, 3) == pytest.approx(0)) is closes
        assert Line.between((0, 5 + hair), (10, 5 + hair)).at_distance((3, 0), 5) == (
            (pytest.approx(3),) if closes else ()
        )
        assert Line.between((0, -5 - hair), (10, -5 - hair)).at_distance((3, 0), 5) == (
            (pytest.approx(3),) if closes else ()
        )


class TestTooth:
    def test_two_of_the_largest_gears(self):
        layout = layout_of(bench(backlash_mm=0.2))
        assert layout.apart(1000, 1000) == pytest.approx(2000 + 0.1 / math.tan(math.radians(20)))
        assert layout.outside_radius(1000) == 1002

    def test_a_size_that_the_lathe_has_not_is_refused(self):
        with pytest.raises(ValueOutOfRangeError, match="the lathe has no gears of module 3"):
            layout_of(bench()).tooth(piece(40, "module 3"))

    def test_where_something_is_lacking_there_is_no_layout(self):
        assert layout_if_any(bench()) == layout_of(bench())
        assert layout_if_any(bench(module_mm=None)) is None
        assert layout_if_any(evolve(bench(), bracket=None)) is None
        with pytest.raises(NotPossibleError, match="has no bracket in its file"):
            layout_of_bracket(evolve(bench(), bracket=None))


class TestTurned:
    def test_a_quarter_turn_is_counter_clockwise(self):
        assert turned((3, 4), math.pi / 2) == pytest.approx((-4, 3))

    def test_bearing_turns_along(self):
        assert bearing(turned((3, 4), 0.3)) == pytest.approx(bearing((3, 4)) + 0.3)


class TestDepthInside:
    HOLLOW = ((0, 0), (10, 0), (10, 10), (5, 4), (0, 10))

    @in_one("point", [(5, 2), (5, 5), (5, 3.9), (1, 8), (-3, 5), (12, 12), (5, -1), (9, 1), (0.5, 0.2)])
    def test_as_shapely_measures_it(self, point):
        outline, spot = Polygon(self.HOLLOW), Point(point)
        distance = outline.exterior.distance(spot)
        assert depth_inside(self.HOLLOW, point) == pytest.approx(distance if outline.contains(spot) else -distance)

    @in_one("seed", range(60))
    def test_of_rooms_with_hollows_at_whole_numbers(self, seed):
        """So that corners and edges lie level with the point, and with one another."""
        draw = random.Random(seed)
        bearings = sorted(draw.sample(range(16), draw.randint(3, 9)))
        corners = [cmath.rect(draw.randint(4, 20), math.tau * n / 16) for n in bearings]
        outline = [(round(corner.real), round(corner.imag)) for corner in corners]
        room = Polygon(outline)
        if room.is_valid:
            for x, y in ((draw.randint(-20, 20), draw.randint(-20, 20)) for _ in range(30)):
                deep = room.exterior.distance(Point(x, y)) * (1 if room.contains(Point(x, y)) else -1)
                assert depth_inside(outline, (x, y)) == pytest.approx(deep)

    def test_either_way_round(self):
        assert depth_inside(self.HOLLOW[::-1], (5, 2)) == pytest.approx(depth_inside(self.HOLLOW, (5, 2)))

    def test_a_corner_given_twice_does_no_harm(self):
        assert depth_inside(((0, 0), (10, 0), (10, 0), (10, 10), (0, 10)), (5, 4)) == pytest.approx(4)

    def test_a_room_of_one_point_holds_nothing_and_is_as_far_as_that(self):
        assert depth_inside(((3, 4), (3, 4), (3, 4)), (0, 0)) == pytest.approx(-5)
