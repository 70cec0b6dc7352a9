"""Whatever the gears, teeth in mesh never overlap and always interleave, at every angle of the spindle."""

from __future__ import annotations

import math
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from gearcalc.pictures.gears_in_mesh import gear_outline, meshing_angle_deg
from gearcalc.pictures.train_pictures import TrainDrawing, arrange
from tests.how_much import examples
from tests.strategies import trains

TEETH = st.integers(12, 130)
ANGLES = st.sampled_from([14.5, 20.0])


class TestMeshingPairs:
    @given(TEETH, TEETH, ANGLES, st.floats(0.3, 6), st.floats(-180, 180), st.floats(-400, 400))
    def test_no_overlap_and_no_gap_over_a_tooth(self, teeth, mate, angle, module, bearing, turned):
        apart = module * (teeth + mate) / 2
        centre = (apart * math.cos(math.radians(bearing)), apart * math.sin(math.radians(bearing)))
        for part in (0, 0.25, 0.5, 0.75):
            first = turned + 360 / teeth * part
            second = meshing_angle_deg(teeth, first, mate, bearing)
            one, other = (
                Polygon(gear_outline(z, module, angle, backlash_mm=0.04 * module, turned_deg=at, centre_mm=where))
                for z, at, where in ((teeth, first, (0, 0)), (mate, second, centre))
            )
            assert one.intersection(other).area < 1e-6 * module**2
            assert one.buffer(0.06 * module).intersection(other).area > 1e-4 * module**2


class TestTrainsThatAreDrawn:
    @examples(20)
    @given(trains(3, TEETH, 2), st.floats(-2000, 2000), ANGLES, st.booleans())
    def test_teeth_stay_in_mesh_at_every_angle_of_the_spindle(self, train, spindle, angle, clockwise):
        drawing = TrainDrawing(train, clockwise=clockwise, pressure_angle_deg=angle)
        gears = list(zip(drawing.gears, map(Polygon, drawing.outlines(spindle)), strict=True))
        for (gear, one), (mate, other) in combinations(gears, 2):
            if gear.plane != mate.plane:
                continue
            assert one.intersection(other).area < 1e-6
            in_mesh = mate.shaft == gear.shaft + 1 and gear.kind != "driven"
            assert (one.buffer(0.06).intersection(other).area > 1e-4) == in_mesh

    @examples(30)
    @given(trains(3, st.integers(6, 200), 2))
    def test_gears_of_one_plane_that_do_not_mesh_stand_clear(self, train):
        axes, planes = arrange(train)
        stands = [(plane, teeth, at) for plane, teeth, at, _ in gears_of(train, axes, planes)]
        touching = [
            (one, other)
            for one, other in combinations(stands, 2)
            if one[0] == other[0] and math.dist(one[2], other[2]) < (one[1] + other[1]) / 2 + 2 - 1e-9
        ]
        assert len(touching) == sum(len(chain) - 1 for chain in train.chain())

    @examples(30)
    @given(trains(3, st.integers(6, 200), 2), st.sampled_from([(800, 480), (800, 400), (480, 320)]))
    def test_any_train_is_drawn(self, train, size):
        assert TrainDrawing(train, size_px=size).svg().endswith("</svg>")


def gears_of(train, axes, planes):
    shaft = 0
    for chain, plane in zip(train.chain(), planes, strict=True):
        for position, teeth in enumerate(chain):
            shaft += position > 0
            yield plane, teeth, axes[shaft], shaft
