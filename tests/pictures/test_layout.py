"""Where gears and words go on the sheet."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import place_train, row_mm
from gearcalc.pictures.room_for_words import Room, box_from_circle
from gearcalc.pictures.train_pictures import TrainDrawing, arrange
from gearcalc.pictures.train_sheets import Sheet


class TestArrange:
    def test_a_short_train_stands_in_a_row(self):
        axes, planes = arrange(Train((40, 30), (80, 60)))
        assert axes == ((0, 0), (60, 0), (105, 0))
        assert planes == (0, 1)

    def test_the_smaller_gear_of_a_stud_stands_in_front(self):
        for train in (Train((40, 30), (80, 60)), Train((30, 80), (40, 60)), Train((20, 70, 30), (50, 40, 65))):
            _, planes = arrange(train)
            for mesh in range(1, train.meshes):
                driven, driver = train.driven[mesh - 1], train.drivers[mesh]
                assert (planes[mesh] > planes[mesh - 1]) == (driver <= driven)

    def test_a_long_train_is_folded_to_come_out_larger(self):
        train = Train((60, 60), (80, 80), ((50, 50, 50), (50, 50, 50)))
        folded, _ = arrange(train, 2.3)
        row = row_mm(train)
        assert folded[-1][0] < 0.95 * row[-1]
        for (start, end), apart in zip(pairwise(folded), row[1:], strict=True):
            assert math.dist(start, end) == pytest.approx(apart - row[folded.index(start)])


class TestSheet:
    def test_what_must_be_in_view_is(self):
        train = Train((40,), (80,))
        gears = place_train(train, ((0, 0), (60, 0)), (0,))
        alone = Sheet.lay_out(train, gears, 1.0, (800, 480))
        with_corner = Sheet.lay_out(train, gears, 1.0, (800, 480), [(300, -200)])
        assert with_corner.scale < alone.scale
        x, y = with_corner.at_px((300, -200))
        left, top, right, bottom = with_corner.front
        assert left <= x <= right
        assert top <= y <= bottom

    def test_in_a_row_the_edge_view_lies_right_under_the_front_view(self):
        drawing = TrainDrawing(Train((40, 30), (80, 60)))
        sheet = Sheet.lay_out(drawing.train, drawing.gears, 1.0, (800, 480))
        assert sheet.is_row
        for gear in drawing.gears:
            assert sheet.shafts_px[gear.shaft] == pytest.approx(sheet.at_px(gear.centre_mm)[0])

    def test_elsewhere_it_is_unfolded_and_keeps_to_the_sheet(self):
        drawing = TrainDrawing(Train((40, 30), (80, 60)), [(50, 94), (0, 60), (0, 0)])
        sheet = Sheet.lay_out(drawing.train, drawing.gears, 1.0, (800, 480))
        assert not sheet.is_row
        apart = [b - a for a, b in pairwise(sheet.shafts_px)]
        assert apart == pytest.approx([60 * sheet.edge_scale, 45 * sheet.edge_scale])
        assert sheet.edge[0] <= sheet.shafts_px[0]
        assert sheet.shafts_px[-1] <= sheet.edge[2]


class TestRoom:
    ZONE = (0, 0, 200, 100)

    def test_words_beside_a_gear_touch_nothing(self):
        discs = [(60, 50, 30), (120, 50, 30)]
        room = Room(self.ZONE, discs)
        for _ in range(4):
            box = room.beside(discs[0], 30, 10, range(0, 360, 15))
            assert box is not None
            assert all(box_from_circle(box, disc) > 0 for disc in discs)
            assert not any(box[0] < b[2] and b[0] < box[2] and box[1] < b[3] and b[1] < box[3] for b in room.boxes)
            room.take(box)

    def test_words_on_a_face_stay_on_it_and_off_what_covers_it(self):
        disc, hole, cover = (100, 50, 45), 10, (130, 50, 25)
        box = Room(self.ZONE, [disc]).inside(disc, hole, [cover], 30, 16)
        corners = [(x, y) for x in (box[0], box[2]) for y in (box[1], box[3])]
        assert all(math.dist(corner, disc[:2]) <= disc[2] for corner in corners)
        assert box_from_circle(box, (*disc[:2], hole)) > 0
        assert box_from_circle(box, cover) > 0

    def test_none_where_there_is_no_room(self):
        room = Room(self.ZONE, [(100, 50, 300)])
        assert room.beside((100, 50, 300), 30, 10, range(0, 360, 15)) is None
        assert room.inside((100, 50, 12), 8, [], 30, 16) is None

    def test_a_leader_may_not_cross_words(self):
        room = Room(self.ZONE, [], [(90, 40, 110, 60)])
        assert not room.line_is_free((50, 50), (150, 50))
        assert room.line_is_free((50, 10), (150, 10))
