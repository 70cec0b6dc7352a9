"""One pair whose fit nobody checks: how far apart its shafts stand, and what the idler does that one then adds."""

from __future__ import annotations

from attrs import evolve

import gearcalc as gc
from gearcalc.finding.straight_across import fit_not_checked, straight_across, with_an_idler
from tests.how_much import in_one

# Module 1.25: (40 + 80)/2 · 1.25 = 75 mm, (40 + 60)/2 · 1.25 = 62.5 mm. 20 DP: 120/2/20 in = 3 in = 76.2 mm.
MODULE, DP, NO_SIZE = "gears.module_mm = 1.25", "gears.diametral_pitch = 20", ""
NO_REVERSE = "spindle_side.reverse = false"
LEFT = 'leadscrew.hand = "left"'


def lathe_of(*lines):
    head = ['name = "A"', 'leadscrew.lead = "8 tpi"', "gears.teeth = [30, 40, 60, 80]"]
    return gc.Lathe.from_toml("\n".join([*head, *filter(None, lines)]))


class TestWhatIsSaidOfOnePair:
    @in_one(("size", "apart"), [
        (MODULE, "75 mm apart"),
        (DP, "76.2 mm apart"),
        (NO_SIZE, "just as far apart as it takes"),
    ])  # fmt: skip
    def test_how_far_apart_and_which_way(self, size, apart):
        made = gc.setup(lathe_of(size), 40, 80, wanted="16 tpi")
        said = f"40/80 meshes only if the shafts stand {apart}; with an idler between the gears the reverse goes the "
        assert straight_across([None, made]) == f"{said}other way."
        assert made.reverse_over != gc.setup(made.lathe, 40, 80, idlers=60, wanted="16 tpi").reverse_over

    def test_pairs_of_several_distances(self):
        lathe = lathe_of(MODULE)
        one, alike, other = (gc.setup(lathe, *gears) for gears in ((40, 80), (80, 40), (40, 60)))
        assert "other pairs" not in straight_across([one, alike])
        assert "stand 75 mm apart, and other pairs at other distances; with" in straight_across([one, alike, other])

    @in_one(("more", "wanted", "turned"), [
        ((LEFT, NO_REVERSE), "16 tpi", "the carriage goes"),
        ((), "0.1 mm/rev", "the reverse goes"),
        (('feeds.longitudinal = "1/8"',), "0.1 mm/rev", "the feed goes"),
    ])  # fmt: skip
    def test_what_goes_the_other_way(self, more, wanted, turned):
        made = gc.setup(lathe_of(*more), 40, 80, wanted=wanted)
        assert with_an_idler(made) == f"with an idler between the gears {turned} the other way"

    def test_nothing_of_what_is_more_than_a_pair_or_known_to_go_on_or_not(self):
        lathe = lathe_of(MODULE)
        idler, two = gc.setup(lathe, 40, 80, idlers=60), gc.setup(lathe, (40, 30), (80, 60))
        known = [gc.setup(gc.demo_lathe("inch"), 40, 80, "middle", idlers) for idlers in ((), (25,))]
        assert [straight_across([each]) + with_an_idler(each) for each in (idler, two, *known)] == [""] * 4
        assert straight_across([]) == ""
        assert fit_not_checked([None, *known]) == []
        assert fit_not_checked([*known, idler, two]) == ["Fit not checked."]


class TestAtEachDoor:
    SAID = "40/60 meshes only if the shafts stand 62.5 mm apart"
    TURNED = "with an idler between the gears the reverse goes the other way"

    @in_one("command", [["find"], ["chart"], ["plan"], ["card"], ["cuts", "40/60", "--wanted"], ["add"]])
    def test_once(self, ask, tmp_path, command):
        path = tmp_path / "mine.toml"
        path.write_text(lathe_of(MODULE).to_toml())
        first, *rest = command
        out = " ".join(ask(first, path, *rest, "12 tpi")[1].split())
        assert out.count(self.SAID) == 1
        assert out.casefold().count(self.TURNED) == (2 if first == "card" else 1)

    def test_on_a_card_where_the_mesh_and_where_the_reverse_is_set(self):
        made = gc.setup(lathe_of(MODULE), 40, 60, wanted="12 tpi")
        steps = {step.key: " ".join(step.lines) for step in gc.change_card(made.lathe, made).steps}
        assert f"{self.SAID}; " in steps["mesh"]
        assert "With an idler between the gears the reverse goes the other way." in steps["levers"]
        bare = evolve(gc.demo_lathe("inch"), bracket=None)
        two = gc.change_card(bare, gc.setup(bare, (40, 63), (80, 50), "low"))
        assert "idler between" not in " ".join(line for step in two.steps for line in step.lines)

    def test_on_a_plate_for_the_wall(self):
        svg = gc.wall_plate(lathe_of(MODULE), ["12 tpi"]).paper.svg()
        assert "only if the shafts stand" in svg

    def test_of_a_list_as_a_table(self):
        assert self.SAID in gc.find_setups(lathe_of(MODULE), "12 tpi")._repr_html_()
