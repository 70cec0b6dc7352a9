"""Every command, paper and explorer on the demo lathe that has all that is odd: levers, a fixed gear, a cluster ..."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.lathes.pieces import kind_of, other_half
from gearcalc.learning import explorers
from gearcalc.learning.explorers.bench import PARTS
from tests.how_much import in_one

ODD = gc.demo_lathe("odd")
EVERY_INCH_GEAR = ",".join(map(str, sorted({*gc.demo_lathe("inch").gears})))
SO_NO_TRAIN = "40 is fixed, so no train goes without it."


class TestTheFile:
    def test_it_has_what_it_is_there_for(self):
        gears = ODD.gear_set
        assert len(ODD.box) == 2
        assert gears.fixed.first_driver == 40
        assert gears.damaged == (54,)
        assert len(gears.clusters) == 1
        assert {gears.standing.sizes[kind_of(gear)].module_mm for gear in gears.pieces} == {1.25, 1.0}
        assert any(gear.numbered not in (None, gear.lines) for gear in ODD.dial.gears)

    def test_most_trains_of_two_meshes_go_on_its_bracket(self):
        found = gc.find_setups(ODD, "1.3 mm", meshes=2, count=200, must_fit=False)
        assert sum(each.fit.goes_on for each in found) > 100

    def test_three_millimetres_by_the_gears_in_one_piece(self):
        # 4 mm × 40/50 × 30/32 is 3 mm; the 30 of the second size is in one piece with the 50 of the first.
        made = gc.setup(ODD, (40, 30), (50, 32), "fast, C", wanted="3 mm")
        assert made.is_exact
        assert other_half(made.train.driven[0]) == made.train.drivers[1]


class TestCommands:
    @in_one(
        "asked",
        [
            "find odd M8", "find odd 16tpi --first nearest --meshes 1,2,3", "chart odd M6 16tpi DP_20", "check odd",
            "card odd 3mm", "card odd M8 --mounted 40/80", "cuts odd 40/80 --lever range_fast,_cone_A",
            "feeds odd 0.1mm/rev", "dial odd 1.25mm", "add odd 16tpi --within-ppm 50", "coverage odd 1mm 2mm",
            "bracket odd 40/80 --lever range_fast,_cone_A",
            "proof M8 --turns 9 --length 9 --uncertainty 1 --lathe odd --train 40/48,45/60 --lever range_fast,_cone_A",
        ],
    )  # fmt: skip
    def test_answers(self, ask, asked):
        code, out, err = ask(*(part.replace("_", " ") for part in asked.split()))
        assert (code in (0, 1), err) == (True, "")
        assert out.strip()

    def test_find_names_what_the_counts_dont_tell(self, ask):
        _, out, _ = ask("find", "odd", "3 mm", "--json", "--count", "40", "--meshes", "2")
        found = json.loads(out)
        assert {each["drivers"][0] for each in found["setups"]} == {40}
        assert any("in one piece" in each["train"] for each in found["setups"])
        assert not any(54 in each["drivers"] + each["driven"] for each in found["setups"])

    @in_one(
        "asked",
        [
            "find odd M8", "add odd M8", "plan odd M8", "feeds odd 0.1mm/rev", "coverage odd 1mm 2mm", "cuts odd",
            "cuts odd 40/80 --lever range_fast,_cone_A", "card odd M8", "card odd 0.1mm/rev", "chart odd M8",
            "card odd M8 --train 40/80 --lever range_fast,_cone_A", "bracket odd 40/80",
        ],
    )  # fmt: skip
    def test_nothing_goes_without_the_fixed_gear(self, ask, asked):
        code, out, err = ask(*(part.replace("_", " ") for part in asked.split()), "--avoid", "40")
        assert code == 1
        assert (out + err).splitlines()[-1].removeprefix("gearcalc: ") == SO_NO_TRAIN

    def test_nor_is_a_purchase_proved_without_it(self):
        with pytest.raises(gc.GearcalcError, match=f"^{SO_NO_TRAIN}$"):
            ODD.gear_set.without({40})
        added = gc.gears_to_add(ODD, ["16 tpi"], 50)
        assert {one.train.drivers[0] for one in added.setups} == {40}

    @in_one(
        "asked",
        [
            "find M8",
            "plan M8",
            "card M8",
            "chart M8",
            "feeds 0.1mm/rev",
            "coverage 1mm 2mm",
            "cuts",
            "cuts 40/80 --lever low",
        ],
    )
    def test_no_gear_left(self, ask, asked):
        command, *more = asked.split()
        code, out, err = ask(command, "inch", *more, "--avoid", EVERY_INCH_GEAR)
        assert code == 1
        assert (out + err).splitlines()[-1].removeprefix("gearcalc: ").lower() == "there are no gears to choose from."

    def test_all_that_is_needed_can_still_be_bought(self, ask):
        named = "--avoid", EVERY_INCH_GEAR
        code, out, _ = ask("add", "inch", "32tpi", *named, "--meshes", "1", "--within-ppm", "0", "--json")
        assert code == 0
        bought = json.loads(out)["gears"]
        assert bought
        assert not {*bought} & {*gc.demo_lathe("inch").gears}


class TestPapers:
    @pytest.mark.parametrize("paper", ["card", "plate"])
    def test_is_saved(self, paper, tmp_path):
        found = gc.find_setups(ODD, "3 mm", count=1)[0]
        made = {
            "card": lambda: gc.change_card(ODD, found).on_paper(),
            "plate": lambda: gc.wall_plate(ODD, ["M6", "3 mm"], on="2026-01-01").paper,
        }[paper]()
        made.save(tmp_path / "paper.svg")
        assert (tmp_path / "paper.svg").read_text("utf-8").startswith("<?xml")

    def test_the_fixed_gear_is_never_fetched_nor_taken_off(self):
        before = gc.setup(ODD, (40, 45), (48, 60), "fast, A", wanted="1.25 mm")
        card = gc.change_card(ODD, gc.find_setups(ODD, "3 mm", count=1)[0], mounted=before)
        assert "40, first driver, off" not in str(card)
        assert "40" not in str(card).partition("From the box:")[2].partition("\n")[0]


class TestWhatItCuts:
    def test_every_row_of_its_plate_cut_out_by_hand(self):
        # leadscrew × drivers ÷ driven × lever, worked out here
        box = {"slow": Fraction(1, 3), "fast": Fraction(1), "A": Fraction(1, 2), "B": Fraction(2, 3), "C": Fraction(1)}
        for row in ODD.plate:
            lead = Fraction(4)
            for over, under in zip(row.drivers, row.driven, strict=True):
                lead *= Fraction(int(over), int(under))
            for at in row.lever.replace("range ", "").replace("cone ", "").split(", "):
                lead *= box[at]
            assert f"{float(lead):g} mm" == row.thread


OPENS = {
    name: it
    for name, it in sorted(vars(explorers).items())
    if callable(it) and not name.endswith("_view") and name not in ("limit_on_teeth", "time_to_the_shoulder")
}
MORE = {
    "gears_worth_adding": {"threads": ("1 mm", "16 tpi")},
    "turning_train": {"thread": "1.5 mm"},
    "bench": {"thread": "1.5 mm"},
}


class TestExplorers:
    @in_one("name", OPENS)
    def test_opens(self, name):
        asked = {"prove_the_cut": (gc.find_setups(ODD, "1.5 mm", count=1)[0],)}.get(name, ())
        explorer = OPENS[name](ODD, *asked, **MORE.get(name, {}))
        assert (explorer.message, explorer.failure) == ("", None)

    @in_one("part", PARTS)
    def test_every_part_of_the_bench(self, part):
        explorer = explorers.bench("odd", "1.5 mm", part=part)
        assert (explorer.message, explorer.failure) == ("", None)
