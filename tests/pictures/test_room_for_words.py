"""Finding room for words among gears."""

from __future__ import annotations

import math

from gearcalc.pictures.room_for_words import Room, box_from_circle


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
