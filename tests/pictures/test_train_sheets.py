"""Where gears go on the sheet."""

from __future__ import annotations

from itertools import pairwise

import pytest

import gearcalc as gc
from gearcalc.lathes.trains import Train
from gearcalc.pictures.bracket_pictures import bracket_picture
from gearcalc.pictures.gears_in_mesh import place_train
from gearcalc.pictures.style import text_width_px
from gearcalc.pictures.train_pictures import TrainDrawing
from gearcalc.pictures.train_sheets import Sheet
from tests.pictures.svg_texts import words_of


class TestSheet:
    def test_what_must_be_in_view_is(self):
        train = Train((40,), (80,))
        gears = place_train(train, ((0, 0), (60, 0)), (0,))
        alone = Sheet.lay_out(train, gears, 1.0, (800, 480))
        reach = [*((*gear.centre_mm, gear.outside_mm) for gear in gears), (300, -200, 0)]
        with_corner = Sheet.fitted(train, gears, 1.0, (800, 480), alone.front, alone.edge, reach, 30)
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


def test_gears_of_two_sizes_and_an_idler_leave_room_for_the_words_below():
    """The longest that stands there: a key of three kinds, two sizes of tooth, and a train of two meshes."""
    lathe = gc.demo_lathe("odd")
    made = gc.setup(lathe, (40, 30), (50, 32), "range fast, cone C", wanted="3 mm").as_built
    assert made.train.idler_count == 1
    svg = bracket_picture(lathe, made).svg
    below = [words for words in words_of(svg) if "module" in words.text or words.text.startswith("(40")]
    (figures,), (sizes,) = ([w for w in below if ("module" in w.text) == of] for of in (False, True))
    assert figures.x + text_width_px(figures.text, 12) / 2 < sizes.x - text_width_px(sizes.text, 12)
