"""One grammar for the public names: the lathe first, one name for one thing, typed arguments, a verb that opens."""

from __future__ import annotations

import pytest
from attrs import evolve

import gearcalc as gc

LATHE, OTHER = gc.demo_lathe("inch"), gc.demo_lathe("metric")
SETUP = gc.setup(LATHE, drivers=40, driven=80, lever="middle", wanted="16 tpi")
WITH_BOTH = {
    "bracket_picture": lambda lathe, made: gc.bracket_picture(lathe, made),
    "change_card": lambda lathe, made: gc.change_card(lathe, to=made),
    "change_card, mounted": lambda lathe, made: gc.change_card(lathe, gc.find_setups(lathe, "1 mm")[0], mounted=made),
    "change_to_feed": lambda lathe, made: gc.change_to_feed(lathe, made, "0.1 mm/rev"),
    "dial": lambda lathe, made: gc.dial(lathe, made),
    "feed_chart": lambda lathe, made: gc.feed_chart(lathe, "0.1 mm/rev", mounted=made),
    "find_setups": lambda lathe, made: gc.find_setups(lathe, "16 tpi", meshes=1, count=1, mounted=made),
    "index_starts": lambda lathe, made: gc.index_starts(lathe, made, starts=2),
    "plan_changeover": lambda lathe, made: gc.plan_changeover(lathe, "16 tpi", mounted=made, candidates=2),
}
"""Every public function that takes a lathe and may be handed a setup."""
UNLIKE = {
    "leadscrew": evolve(LATHE, leadscrew=evolve(LATHE.leadscrew, lead=4)),
    "spindle side": evolve(LATHE, spindle_side=evolve(LATHE.spindle_side, same_way=False)),
    "gearbox": evolve(LATHE, gearbox=LATHE.gearbox[:-1]),
    "bracket": evolve(LATHE, bracket=evolve(LATHE.bracket, studs=1)),
    "size of tooth": evolve(LATHE, gear_set=evolve(LATHE.gear_set, pressure_angle_deg=14.5)),
}
ALIKE = {
    "the same file read again": gc.Lathe.from_toml(LATHE.to_toml()),
    "called otherwise": evolve(LATHE, name="Shed lathe", note="Moved."),
    "a gear bought": LATHE.with_gears(add=127),
    "no dial, no plate": evolve(LATHE, dial=None, plate=()),
}


class TestASetupKnowsItsLathe:
    def test_the_one_that_it_was_made_for(self):
        assert SETUP.lathe == LATHE
        assert gc.find_setups(OTHER, "M8", count=1)[0].as_built.lathe == OTHER

    def test_with_the_gears_that_it_needs(self):
        added = gc.gears_to_add(LATHE, "1 mm", within_ppm=0)
        assert added.gears
        for made in added.setups:
            made.lathe.check_owned(made.train.gears)

    @pytest.mark.parametrize("name", WITH_BOTH)
    def test_another_lathes_setup_is_refused(self, name):
        with pytest.raises(gc.GearcalcError, match="made for another lathe"):
            WITH_BOTH[name](OTHER, SETUP)

    @pytest.mark.parametrize("part", UNLIKE)
    def test_what_differs_is_named(self, part):
        with pytest.raises(gc.GearcalcError, match=f"unlike it in {part}"):
            gc.dial(UNLIKE[part], SETUP)

    @pytest.mark.parametrize("name", WITH_BOTH)
    @pytest.mark.parametrize("like", ALIKE)
    def test_a_lathe_with_the_same_content_is_the_same(self, name, like):
        WITH_BOTH[name](ALIKE[like], SETUP)
