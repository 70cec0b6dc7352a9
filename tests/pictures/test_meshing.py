"""Gears in mesh: shapely measures whether teeth overlap, and whether they really interleave."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from shapely import Polygon

from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import (
    chain_angles_deg,
    gear_outline,
    meshing_angle_deg,
    place_train,
    shaft_count,
    shaft_names,
)


class TestMeshingAngle:
    @pytest.mark.parametrize(
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


class TestChainAngles:
    def test_idlers_turn_every_other_gear_the_other_way(self):
        axes = [(0, 0), (30, 0), (60, 10), (80, -20)]
        at_rest, moved = (chain_angles_deg((20, 40, 25, 30), axes, first) for first in (0.0, 10.0))
        steps = [b - a for a, b in zip(at_rest, moved, strict=True)]
        assert steps == pytest.approx([10, -5, 8, -20 / 3])


class TestPlaceTrain:
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

    @pytest.mark.parametrize(
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


class TestShaftNames:
    def test_one_stud_needs_no_number(self):
        assert shaft_names(Train((40, 30), (80, 60))) == ("spindle side", "stud", "leadscrew")

    def test_there_is_a_name_for_every_shaft(self):
        train = Train((20,) * 6, (40,) * 6, ((30,),) * 6)
        names = shaft_names(train, last="gearbox")
        assert len(names) == shaft_count(train) == len(set(names))
        assert (names[1], names[6], names[7], names[-1]) == ("first stud", "sixth stud", "stud 7", "gearbox")


def centre(teeth: int, mate: int, bearing_deg: float) -> tuple[float, float]:
    apart, bearing = (teeth + mate) / 2, math.radians(bearing_deg)
    return apart * math.cos(bearing), apart * math.sin(bearing)


def meshing_pair(teeth: int, mate: int, angle: float, turned: float, bearing: float = 30) -> tuple[Polygon, Polygon]:
    onto = meshing_angle_deg(teeth, turned, mate, bearing)
    return (
        Polygon(gear_outline(teeth, 1, angle, turned_deg=turned)),
        Polygon(gear_outline(mate, 1, angle, turned_deg=onto, centre_mm=centre(teeth, mate, bearing))),
    )
