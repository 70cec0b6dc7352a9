"""A fit asked for by counts takes the gears that the lathe has, and says where it takes others.

What is meant is worked out by hand from each lathe's file: a mesh of one size, a cluster in one piece on one stud.
"""

from __future__ import annotations

import pytest

import gearcalc as gc
from gearcalc.lathes.pieces import kind_of, mate_of, piece, plain
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.fit_bench import fit_bench_view

ODD = gc.demo_lathe("odd")
OLD = gc.Lathe.from_toml("""name = "Old lathe"
leadscrew.lead = "6 tpi"
[gears]
teeth = [24, 30, 36, 42, 45, 48, 48, 54, 60, 66, 72]
module_mm = 1.5
fixed = { first_driver = 36 }
damaged = [48, 60]
clusters = [[50, 25]]
[[more_gears]]
teeth = [40, 60, 65, 75]
module_mm = 1
[bracket]
spindle_side_at_mm = [-50, 94]
swing_deg = [-75, 30]
slots = [{ from_mm = [-30, 0], to_mm = [-170, 0] }, { from_mm = [-50, 30], to_mm = [-140, 80] }]
studs = 3
stud_radius_mm = 7
shaft_radius_mm = 7
running_clearance_mm = 0.5
backlash_mm = 0.2
""")


class TestReadAsGearsOfTheLathe:
    @pytest.mark.parametrize("given", ["(40 · 30)/(50 · 32)", "(30 · 40)/(32 · 50)"])
    def test_a_cluster_between_two_sizes(self, given):
        found = gc.fit(ODD, given)
        assert (found.train.drivers[0], found.train.driven[0]) == (40, piece(50, mate=piece(30, "module 1")))
        assert [kind_of(found.train.drivers[1]), kind_of(found.train.driven[1])] == ["module 1", "module 1, bore 12"]
        assert found.not_owned == ()

    def test_a_cluster_is_not_taken_apart(self):
        found = gc.fit(OLD, "(36 25)/(50 48)")
        assert found.train == Train((36, piece(25, mate=50)), (piece(50, mate=25), 48))

    def test_a_cluster_as_an_idler_has_its_other_gear_beside_it(self):
        found = gc.fit(OLD, Train((36,), (72,), (25,)))
        assert mate_of(found.train.idlers[0][0]) == 50
        assert plain(found.train.idlers[0][0]) == 25
        assert [plain(gear) for gear, *_ in found.idle_gears] == [50]

    def test_another_size(self):
        found = gc.fit(OLD, "(36·54·65)/(66·72·75)")
        assert found.goes_on
        assert found.not_owned == ()
        assert (found.train.drivers, found.train.driven)[0].count(piece(65, "module 1")) == 1

    @pytest.mark.parametrize("given", ["(36 25)/(50 48)", "36/72, idler 25"])
    def test_as_setup_reads_them(self, given):
        train = Train.parse(given)
        made = gc.setup(OLD, train.drivers, train.driven, idlers=train.idlers)
        assert set(made.train.gears) == set(gc.fit(OLD, train).train.gears)
        assert (
            gc.fit(OLD, train, keep_order=True).train.drivers == gc.fit(OLD, made.train, keep_order=True).train.drivers
        )

    def test_what_is_mounted_is_read_in_the_order_in_which_it_stands(self):
        # the 50 and the 25 lie on different studs there, so they are not the cluster; turned round they could be
        asked = gc.fit(OLD, "36/72", mounted="(36 · 45 · 25)/(50 · 54 · 72)").question
        assert asked.mounted == Train((36, 45, 25), (50, 54, 72))
        asked = gc.fit(OLD, "36/72", mounted="(36 · 25)/(50 · 72)").question
        assert asked.mounted == Train((36, piece(25, mate=50)), (piece(50, mate=25), 72))


class TestNotOwned:
    def test_is_taken_as_a_loose_gear_of_the_first_size_and_said(self):
        found = gc.fit(OLD, "(36 25)/(50 80)")
        assert found.not_owned == (80,)
        assert found.train.drivers[1] == piece(25, mate=50)
        assert "80 is taken as a loose gear of module 1.5, which the lathe does not have" in str(found)
        assert "80 is taken as a loose gear" in found._repr_html_()

    def test_a_cluster_apart_takes_gears_that_the_lathe_has_not(self):
        found = gc.fit(OLD, "36/25")
        assert found.not_owned == (25,)
        assert "25 is taken as a loose gear of module 1.5" in str(found)

    def test_a_damaged_gear_is_said(self):
        found = gc.fit(OLD, "(36 48)/(54 48)")
        assert found.not_owned == (48,)
        assert "The 48 is damaged" in str(found)

    def test_what_is_fixed_stays_the_reason(self):
        found = gc.fit(OLD, "42/72")
        assert not found.goes_on
        assert "the first driver is fixed: 36 teeth, not 42" in found.reasons[0]

    def test_the_bench_says_it_too(self):
        for placed in ("for me", "by hand"):
            assert "80 is taken as a loose gear" in fit_bench_view(OLD, train="(36 25)/(50 80)", placed=placed).note

    def test_a_plain_lathe_has_nothing_to_say(self):
        found = gc.fit(gc.demo_lathe("inch"), "(40 · 31)/(80 · 61)")
        assert found.not_owned == ()
        assert "taken as" not in str(found)
