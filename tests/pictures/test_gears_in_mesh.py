"""Gears against a rack rolled past a blank and the textbook sizes; in mesh, shapely measures whether teeth overlap."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from shapely import LineString, Point, Polygon, affinity

from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import gear_outline, meshing_angle_deg, place_train, tooth_outline
from tests.how_much import in_one

# m, z, alpha_deg, d, d_a, d_f, d_b, base_pitch. Status C: computed from the ISO 21771 formulas with another
# program, no published figure.
SPUR_GEARS = (
    (1, 20, 20, 20.0000, 22.0000, 17.5000, 18.7939, 2.95213),
    (1, 127, 20, 127.0000, 129.0000, 124.5000, 119.3410, 2.95213),
    (1.5, 63, 20, 94.5000, 97.5000, 90.7500, 88.8010, 4.42820),
    (1.5875, 44, 14.5, 69.8500, 73.0250, 65.8812, 67.6251, 4.82842),
)


class TestWhatIsNoGear:
    @in_one(
        ("teeth", "module", "angle"),
        [(5, 1, 20), (20.5, 1, 20), (20, 0, 20), (20, -1, 20), (20, math.nan, 20), (20, 1, 9), (20, 1, math.inf)],
    )
    def test_what_is_no_gear_is_refused(self, teeth, module, angle):
        with pytest.raises(GearcalcError):
            gear_outline(teeth, module, angle)


class TestOutlineHasTheTabulatedSizes:
    @pytest.mark.parametrize("row", SPUR_GEARS)
    def test_outside_and_root_diameter(self, row):
        module, teeth, angle, _, outside, root, *_ = row
        radii = [math.hypot(x, y) for x, y in gear_outline(teeth, module, angle)]
        assert 2 * max(radii) == pytest.approx(outside, abs=6e-5)
        assert 2 * min(radii) == pytest.approx(root, abs=6e-5)

    @in_one("row", SPUR_GEARS)
    @in_one("backlash", [0.0, 0.2])
    def test_a_tooth_is_half_a_pitch_thick_less_its_share_of_the_backlash(self, row, backlash):
        module, teeth, angle, diameter, *_ = row
        gear = Polygon(gear_outline(teeth, module, angle, backlash_mm=backlash, flank_points=40))
        circle = Point(0, 0).buffer(diameter / 2, quad_segs=20_000).exterior
        thickness = circle.intersection(gear).length / teeth
        assert thickness == pytest.approx(math.pi * module / 2 - backlash / 2, abs=2e-3)

    @pytest.mark.parametrize("row", SPUR_GEARS)
    def test_flanks_lie_a_base_pitch_apart_along_a_tangent_to_the_base_circle(self, row):
        """That is what makes a curve an involute: any tangent to the base circle crosses it at right angles."""
        module, teeth, angle, *_, base_diameter, base_pitch = row
        base, steep = base_diameter / 2, math.sin(math.radians(angle))
        form = module * (teeth / 2 * steep - 1 / steep)  # where the fillet ends and the involute begins
        tip = math.sqrt((module * (teeth / 2 + 1)) ** 2 - base**2)
        tangent = LineString([(base, form - module), (base, tip)])
        apart = []
        for step in range(20):
            turn = 360 / teeth * step / 20
            gear = Polygon(gear_outline(teeth, module, angle, flank_points=50, turned_deg=turn))
            inside = tangent.intersection(gear)
            # Going up, the line leaves a tooth through the flank that it stands square on.
            exits = sorted(part.bounds[3] for part in getattr(inside, "geoms", [inside]))
            exits = [y for y in exits if form + 0.01 < y < tip - 0.01]
            apart += [up - low for low, up in pairwise(exits)]
        assert len(apart) >= 10
        assert apart == pytest.approx([base_pitch] * len(apart), abs=5e-4 * module)


class TestOutlineIsWhatARackWouldCut:
    """Brute force: a rack with straight flanks and rounded tips is rolled past a blank, tooth by tooth."""

    @in_one(("teeth", "angle"), [(12, 20), (17, 20), (30, 20), (14, 14.5), (24, 14.5), (40, 14.5)])
    def test_outline_matches_the_rolled_rack(self, teeth, angle):
        cut = rolled_by_a_rack(teeth, angle)
        drawn = Polygon(gear_outline(teeth, 1, angle, backlash_mm=0, flank_points=40))
        assert drawn.is_valid
        # The rack moves in steps, so its envelope is scalloped a little outside the true curve.
        assert cut.symmetric_difference(drawn).area < 0.004 * teeth
        assert drawn.difference(cut.buffer(0.003)).area < 1e-6

    def test_a_gear_below_the_limit_has_a_waist(self):
        waist, flank = (half_thickness(12, 20, radius) for radius in (5.3, 5.7))
        assert waist < flank

    def test_a_gear_above_the_limit_has_none(self):
        assert half_thickness(30, 20, 13.9) > half_thickness(30, 20, 14.4)


class TestGearOutline:
    @in_one("angle", [10, 12, 14.5, 17.5, 20, 22.5, 25, 30])
    def test_every_outline_is_one_simple_curve_round_the_right_way(self, angle):
        for teeth in (6, 7, 8, 9, 10, 12, 15, 17, 18, 25, 40, 127, 400):
            for backlash in (0, 0.04, 0.4):
                outline = gear_outline(teeth, 1, angle, backlash_mm=backlash, flank_points=4)
                gear = Polygon(outline)
                assert gear.is_valid, (teeth, angle, backlash)
                assert gear.exterior.is_ccw
                assert outline[0] != outline[-1]

    def test_fewer_points_stay_close_to_the_same_shape(self):
        rough, fine = (Polygon(gear_outline(30, flank_points=points)) for points in (3, 40))
        assert len(rough.exterior.coords) * 4 < len(fine.exterior.coords)
        assert rough.hausdorff_distance(fine) < 0.05

    def test_turning_and_moving_are_what_they_say(self):
        moved = Polygon(gear_outline(23, 2, turned_deg=31, centre_mm=(5, -7)))
        by_shapely = affinity.translate(affinity.rotate(Polygon(gear_outline(23, 2)), 31, origin=(0, 0)), 5, -7)
        assert moved.symmetric_difference(by_shapely).area < 1e-9

    def test_no_tooth_ends_in_a_point(self):
        for teeth, angle in ((6, 25), (8, 30), (10, 30)):
            tooth = tooth_outline(teeth, angle, 0.0, 20)
            tip = max(math.hypot(x, y) for x, y in tooth)
            land = [y for x, y in tooth if math.hypot(x, y) > tip - 1e-9]
            assert max(land) - min(land) > 0.09

    @pytest.mark.parametrize("wrong", [{"backlash_mm": -0.1}, {"backlash_mm": 2}, {"flank_points": 1}])
    def test_what_cannot_be_drawn_is_refused(self, wrong):
        with pytest.raises(GearcalcError):
            gear_outline(20, **wrong)


_RACK_CORNERS = ((1.25, -1), (1.25, 1), (-2, 1), (-2, -1))  # depth below the pitch line, side


def rolled_by_a_rack(teeth: int, angle_deg: float) -> Polygon:
    """Module 1: what is left of a blank when the rack has rolled by, from shapely's own rounding and turning."""
    angle, pitch = math.radians(angle_deg), teeth / 2
    round_ = 0.25 / (1 - math.sin(angle))
    corners = [(-depth, side * (math.pi / 4 - depth * math.tan(angle))) for depth, side in _RACK_CORNERS]
    tooth = Polygon(corners).buffer(-round_, quad_segs=64).buffer(round_, quad_segs=64)
    cutter = affinity.translate(tooth, pitch, math.pi / 2)
    blank = Point(0, 0).buffer(pitch + 1, quad_segs=720)
    half_gap = math.pi / teeth
    sector = Polygon([(0, 0), *((20 * pitch * math.cos(a), 20 * pitch * math.sin(a)) for a in (-half_gap, half_gap))])
    tooth = blank.intersection(sector)
    steps = 200
    for step in range(-steps, steps + 1):
        shift = step * 6 / steps
        for other in (0, 1):  # the rack's teeth on either side of this tooth of the gear
            placed = affinity.translate(cutter, 0, shift - other * math.pi)
            tooth = tooth.difference(affinity.rotate(placed, -math.degrees(shift / pitch), origin=(0, 0)))
    whole = [affinity.rotate(tooth, 360 * k / teeth, origin=(0, 0)).buffer(1e-7) for k in range(teeth)]
    gear = whole[0]
    for one in whole[1:]:
        gear = gear.union(one)
    return gear


def half_thickness(teeth: int, angle: float, radius: float) -> float:
    circle = Point(0, 0).buffer(radius, quad_segs=4000).exterior
    gear = Polygon(gear_outline(teeth, 1, angle, backlash_mm=0, flank_points=50))
    return circle.intersection(gear).length / teeth / 2


class TestMeshingAngle:
    @in_one(
        ("teeth", "mate", "angle"),
        [(24, 127, 14.5), (127, 24, 14.5), (12, 12, 20), (20, 127, 20), (12, 60, 14.5), (40, 80, 20), (33, 52, 20)],
    )
    def test_teeth_neither_overlap_nor_stand_apart_over_a_whole_tooth(self, teeth, mate, angle):
        for step in range(13):
            first, second = meshing_pair(teeth, mate, angle, 360 / teeth * step / 12)
            assert first.intersection(second).area < 1e-9
            assert first.buffer(0.05).intersection(second).area > 1e-4

    def test_half_a_tooth_out_of_phase_they_do_overlap(self):
        """So that the test above could fail."""
        first, _ = meshing_pair(24, 127, 14.5, 0)
        shifted = meshing_angle_deg(24, 0, 127, 30) + 180 / 127
        second = Polygon(gear_outline(127, 1, 14.5, turned_deg=shifted, centre_mm=centre(24, 127, 30)))
        assert first.intersection(second).area > 1

    def test_turning_one_tooth_turns_the_mate_one_tooth_back(self):
        before, after = (meshing_angle_deg(20, turned, 50, 12.0) for turned in (0.0, 360 / 20))
        assert after - before == pytest.approx(-360 / 50)


class TestPlaceTrain:
    def test_idlers_turn_every_other_gear_the_other_way_and_all_stay_in_mesh(self):
        axes = [(0, 0), (30, 0), (60, 10), (80, -20)]
        placed = place_train(Train((20,), (30,), ((40, 25),)), axes, (0,))
        assert [gear.angle_deg(10) - gear.rest_deg for gear in placed] == pytest.approx([10, -5, 8, -20 / 3])
        for (one, other), (start, end) in zip(pairwise(placed), pairwise(axes), strict=True):
            bearing = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
            meshing = meshing_angle_deg(one.teeth, one.angle_deg(10), other.teeth, bearing)
            assert other.angle_deg(10) == pytest.approx(meshing)

    TRAIN = Train((40, 30), (80, 60), ((50,), ()))
    AXES = ((0, 0), (45, 0), (110, 0), (155, 0))

    def test_each_gear_has_its_place_shaft_and_plane(self):
        placed = place_train(self.TRAIN, self.AXES, (0, 1))
        assert [(gear.place, gear.kind, gear.teeth, gear.shaft, gear.plane) for gear in placed] == [
            ("first driver", "driver", 40, 0, 0),
            ("idler in the first mesh", "idler", 50, 1, 0),
            ("first driven", "driven", 80, 2, 0),
            ("second driver", "driver", 30, 2, 1),
            ("second driven", "driven", 60, 3, 1),
        ]

    def test_gears_keyed_on_one_stud_turn_together(self):
        placed = place_train(self.TRAIN, self.AXES, (0, 1))
        for turned in (0.0, 17.0, 360.0):
            assert placed[2].angle_deg(turned) == placed[3].angle_deg(turned)

    def test_the_last_gear_turns_by_the_ratio_of_the_train(self):
        for train, axes in ((self.TRAIN, self.AXES), (Train((40,), (80,)), ((0, 0), (60, 0)))):
            last = place_train(train, axes, tuple(range(train.meshes)))[-1]
            assert abs(last.turns) == train.ratio
            assert (last.turns > 0) == train.turns_the_same_way

    def test_turns_are_exact(self):
        assert [gear.turns for gear in place_train(self.TRAIN, self.AXES, (0, 1))] == [
            Fraction(1),
            Fraction(-4, 5),
            Fraction(1, 2),
            Fraction(1, 2),
            Fraction(-1, 4),
        ]

    @in_one(
        ("axes", "planes"),
        [
            (AXES[:3], (0, 1)),
            ((*AXES, (200, 0)), (0, 1)),
            (AXES, (0,)),
            (AXES, (0, 0)),
            (AXES, (-1, 0)),
            (AXES, (0, 0.5)),
            (((0, 0), (0, 0), (110, 0), (155, 0)), (0, 1)),
            (((0, 0), (math.nan, 0), (110, 0), (155, 0)), (0, 1)),
            (((0, 0), (math.inf, 0), (110, 0), (155, 0)), (0, 1)),
        ],
    )
    def test_axes_and_planes_that_do_not_match_are_refused(self, axes, planes):
        with pytest.raises(GearcalcError):
            place_train(self.TRAIN, axes, planes)


def centre(teeth: int, mate: int, bearing_deg: float) -> tuple[float, float]:
    apart, bearing = (teeth + mate) / 2, math.radians(bearing_deg)
    return apart * math.cos(bearing), apart * math.sin(bearing)


def meshing_pair(teeth: int, mate: int, angle: float, turned: float, bearing: float = 30) -> tuple[Polygon, Polygon]:
    onto = meshing_angle_deg(teeth, turned, mate, bearing)
    return (
        Polygon(gear_outline(teeth, 1, angle, turned_deg=turned)),
        Polygon(gear_outline(mate, 1, angle, turned_deg=onto, centre_mm=centre(teeth, mate, bearing))),
    )
