"""Pictures of trains with gears of two sizes, and with half a cluster as an idler."""

from __future__ import annotations

import math

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.fits import fit
from gearcalc.lathes import GearSet
from gearcalc.lathes.pieces import piece
from gearcalc.lathes.sizes import GearTable
from gearcalc.lathes.trains import Train
from gearcalc.pictures.bracket_pictures import BracketDrawing
from gearcalc.pictures.train_pictures import TrainDrawing, other_sizes

DEMO = gc.demo_lathe("inch")
TWO_SIZES = evolve(
    DEMO,
    gear_set=GearSet(
        [40, 60, 80], module_mm=1.25, more=[GearTable([30, 50, 75], module_mm=1, pressure_angle_deg=14.5)]
    ),
)
SMALL = "module 1, 14.5°"
CLUSTER = evolve(DEMO, gear_set=GearSet([30, 60], module_mm=1.25, clusters=[(65, 40)]))


class TestTwoSizes:
    TRAIN = Train((40, piece(30, SMALL)), (80, piece(75, SMALL)))

    def test_every_outline_reaches_to_its_own_tips(self):
        """m·(z/2 + 1)."""
        drawing = BracketDrawing.of_fit(TWO_SIZES, fit(TWO_SIZES, self.TRAIN))
        tips = {30: 1.0 * 16, 75: 1.0 * 38.5, 40: 1.25 * 21, 80: 1.25 * 41}
        for gear in drawing.gears:
            away = max(math.dist(point, gear.centre_mm) for point in gear.outline())
            assert away == pytest.approx(tips[int(gear.teeth)], abs=1e-3)

    def test_pairs_stand_in_mesh_where_no_bracket_says_how(self):
        drawing = TrainDrawing(self.TRAIN, module_mm=1.25, sizes=other_sizes(TWO_SIZES))
        one, other, another = dict.fromkeys(gear.centre_mm for gear in drawing.gears)
        assert math.dist(one, other) == pytest.approx(1.25 * 60)
        assert math.dist(other, another) == pytest.approx(1.0 * 52.5)

    def test_both_sizes_are_named(self):
        drawn = gc.bracket_picture(TWO_SIZES, self.TRAIN).svg
        assert "module 1 mm, 14.5°" in drawn
        assert "module 1.25 mm, 20°" in drawn


class TestIdleGear:
    PICTURE = gc.bracket_picture(CLUSTER, "30/60")

    def test_it_is_in_the_table_with_a_plane_beside_the_idler_s(self):
        rows = {row["teeth"]: row for row in self.PICTURE.table}
        assert rows[40]["place"] == "idle"
        assert rows[40]["shaft"] == rows[65]["shaft"]
        plane = "plane, 1 next to the headstock"
        assert abs(rows[40][plane] - rows[65][plane]) == 1

    def test_the_description_says_that_it_meshes_with_nothing(self):
        assert (
            "The idle 40 of the cluster 40–65 is in one piece with the idler 65 and meshes with nothing, in "
            "the plane in front of it." in self.PICTURE.description
        )

    def test_it_is_drawn_and_named(self):
        assert "40 idle" in self.PICTURE.svg
        assert self.PICTURE.svg.count("broken-ring") == 1  # told by more than its tone

    def test_in_a_row_it_is_drawn_in_a_plane_where_it_meets_nothing(self):
        for idler, idle in ((65, 40), (40, 65)):
            train = Train((30, 28), (60, 50), ((piece(idler, mate=idle),), ()))
            drawing = TrainDrawing(train)
            there = {gear.place: gear for gear in drawing.gears}
            half, beside = there["idle"], there["idler in the first mesh"]
            assert (half.teeth, half.shaft, abs(half.plane - beside.plane)) == (
                piece(idle, mate=idler),
                beside.shaft,
                1,
            )
            for other in drawing.gears:
                if other.plane == half.plane and other != half:
                    assert math.dist(other.centre_mm, half.centre_mm) > other.outside_mm + half.outside_mm
            where = "in front of" if half.plane > beside.plane else "behind"
            assert f"meshes with nothing, in the plane {where} it." in drawing.description

    def test_where_planes_are_named_and_not_its_own_the_description_says_that_it_is_not_drawn(self):
        said = gc.train_picture(Train((30,), (60,), (piece(65, mate=40),)), planes=(0,)).description
        assert said.endswith("The idle 40 of the cluster 40–65 is in one piece with the idler 65 and is not drawn.")

    def test_by_hand_it_lies_where_it_fouls_least(self):
        setting = gc.fits.by_hand.nearest_setting(CLUSTER, fit(CLUSTER, "30/60").train)
        drawing = BracketDrawing.by_hand(CLUSTER, fit(CLUSTER, "30/60").train, setting)
        assert [gear.teeth for gear in drawing.gears if gear.kind == "idle"] == [piece(40, mate=65)]
        assert not drawing.fouls
