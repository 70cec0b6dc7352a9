"""Where gears go on the sheet."""

from __future__ import annotations

from itertools import pairwise

import pytest

from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import place_train
from gearcalc.pictures.train_pictures import TrainDrawing
from gearcalc.pictures.train_sheets import Sheet


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
