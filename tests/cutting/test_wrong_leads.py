"""The wrong-lead detective: each slip worked by hand, then planted by the hundred and looked for."""

from __future__ import annotations

import random
import re
from collections import Counter
from fractions import Fraction
from itertools import permutations
from math import prod

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics import markup
from gearcalc.basics.errors import GearNotOwnedError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.mistaken_leads import mistaken_leads
from gearcalc.cutting.setup_slips import HOW_COMMON, slips, train_slips, wrong_hand
from gearcalc.cutting.wrong_leads import explain_wrong_lead
from gearcalc.lathes.trains import ORDINALS
from gearcalc.threads import standard_threads
from gearcalc.threads.worms import modules
from tests.benches import a_lathe
from tests.how_much import THOROUGH, in_one

INCH = Fraction(254, 10)
INCH_SCREW = INCH / 8


def lead_of(lathe: gc.Lathe, drivers: tuple[int, ...], driven: tuple[int, ...], lever: str | None) -> Fraction:
    """The lead by the formula, written out again."""
    screw = INCH_SCREW if "inch" in lathe.name else Fraction(3)
    return screw * Fraction(prod(drivers), prod(driven)) * (lathe.levers[lever] if lever else 1)


@pytest.fixture(params=["inch", "metric"])
def lathe(request):
    return gc.demo_lathe(request.param)


TOO_SMALL = """
[bracket]
spindle_side_at_mm = [500.0, 0.0]
swing_deg = [0, 1]
slots = [{ from_mm = [30, 0], to_mm = [40, 0] }]
"""


NO_REVERSE = "spindle_side.reverse = false"


SHORT_OF_A_GEAR = """
name = "Short of a gear"
leadscrew.lead = "8 tpi"
gears.teeth = [20, 40]
plate."16 tpi" = { drivers = [40], driven = [80] }
"""


ROW_WITHOUT_A_LEVER = """
name = "A row that does not say where the levers stand"
leadscrew.lead = "8 tpi"
gears.teeth = [40, 80]
plate."4 tpi" = { drivers = [80], driven = [40] }
lever = [
  { name = "range", positions = { slow = "1/2", fast = "1" } },
  { name = "box", positions = { A = "1", B = "2" } },
]
"""


def compound(wanted="20 tpi"):
    """(40 · 50)/(80 · 63) with the lever at middle, on the inch lathe."""
    inch = gc.demo_lathe("inch")
    return inch, gc.setup(inch, (40, 50), (80, 63), "middle", ((55,), ()), wanted=wanted)


class TestEachSlipByHand:
    """The compound (40 · 50)/(80 · 63), idler 55 in the first mesh, middle lever, 8 tpi leadscrew."""

    @in_one(
        ("kind", "drivers", "driven", "lever"),
        [
            ("nothing wrong", (40, 50), (80, 63), 1),
            ("lever", (40, 50), (80, 63), Fraction(1, 2)),
            ("lever", (40, 50), (80, 63), 2),
            ("pair upside down", (80, 50), (40, 63), 1),
            ("pair upside down", (40, 63), (80, 50), 1),
            ("train upside down", (80, 63), (40, 50), 1),
            ("gears exchanged", (63, 50), (80, 40), 1),
            ("gears exchanged", (40, 80), (50, 63), 1),
            ("neighbour from the rack", (38, 50), (80, 63), 1),
            ("neighbour from the rack", (40, 46), (80, 63), 1),
            ("neighbour from the rack", (40, 50), (80, 65), 1),
            ("neighbour from the rack", (40, 50), (70, 63), 1),
            ("idler counts", (55, 50), (80, 63), 1),
            ("idler counts", (40, 55), (80, 63), 1),
            ("idler counts", (40, 50), (55, 63), 1),
            ("idler counts", (40, 50), (80, 55), 1),
            ("pair runs as idlers", (40,), (63,), 1),
            ("idler has become a pair", (40, 30, 50), (55, 80, 63), 1),
            ("idler has become a pair", (40, 55, 50), (30, 80, 63), 1),
        ],
    )
    def test_it_is_first(self, kind, drivers, driven, lever):
        _, meant = compound()
        lead = INCH_SCREW * Fraction(prod(drivers), prod(driven)) * lever
        found = explain_wrong_lead(meant, lead, 0)
        assert lead == found[0].lead_mm == found[0].setup.lead_mm
        assert kind in {slip.kind for slip in found}
        assert found[0].off_mm == 0

    def test_the_picture_and_the_list_give_a_slip_one_name(self):
        inch, meant = compound()
        named = {"neighbour from the rack", "idler counts", "idler has become a pair"}
        made = [(kind, words) for kind, words, _ in train_slips(inch, meant.train) if kind in named]
        assert {kind for kind, _ in made} == named
        assert all(kind in words for kind, words in made)

    def test_a_neighbour_is_never_a_gear_of_the_same_size(self):
        lathe = gc.Lathe.from_toml('name = "Twins"\nleadscrew.lead = "2 mm"\ngears.teeth = [30, 40, 40, 50, 80, 80]')
        made = [words for kind, words, _ in train_slips(lathe, gc.Train(40, 80)) if kind == "neighbour from the rack"]
        assert [words.split()[5] for words in made] == ["30", "50", "50"]  # twice for the 40, and below the 80

    def test_a_damaged_gear_is_as_easily_taken_as_any(self):
        # Left in the box: 38, the damaged 45, and 50. Of 20/40 that gives 38, 45 and 50 for the 40; for the 20 the 38.
        text = 'name = "D"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 38, 40, 45, 50]\ngears.damaged = [45]'
        meant = gc.setup(gc.Lathe.from_toml(text), 20, 40, idlers=())
        made = {slip.words for slip in slips(meant, lambda _: False) if slip.kind == "neighbour from the rack"}
        said = "A neighbour from the rack: {} in place of {} as the first {}."
        driven = {said.format(z, 40, "driven gear") for z in (38, 50)}
        damaged = {said.format(45, 40, "driven gear") + " The 45 is damaged."}
        assert made == driven | damaged | {said.format(38, 20, "driver")}
        found = explain_wrong_lead(meant, Fraction(16, 9), 0)  # 4 mm · 20/45
        assert [slip.slip for slip in found] == list(damaged)
        idler = gc.setup(meant.lathe, 20, 40, idlers=38)
        pairs = [slip.words for slip in slips(idler, lambda _: False) if slip.kind == "idler has become a pair"]
        assert sum(words.endswith("The 45 is damaged.") for words in pairs) == 2 < len(pairs)

    def test_a_row_of_the_plate_that_takes_a_damaged_gear(self):
        text = 'name = "D"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 50]\ngears.damaged = [50]\n'
        plate = 'plate."1.6 mm" = { drivers = [20], driven = [50] }'
        found = explain_wrong_lead(gc.setup(gc.Lathe.from_toml(text + plate), 20, 40), Fraction(8, 5), 0)
        row = "Another row of the plate: the gears of 1.6 mm. The 50 is damaged."
        assert row in {slip.words for slip in slips(gc.setup(gc.Lathe.from_toml(text + plate), 20, 40))}
        assert found[0].kind == "neighbour from the rack"  # the same gears, and the commoner slip

    def test_a_neighbour_that_cannot_stand_there_is_passed_over_for_the_next(self):
        # The 45 and the 35 are of another size of tooth, and mesh with none of the others.
        text = 'name = "T"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 30, 40, 50]\ngears.module_mm = 1\n'
        lathe = gc.Lathe.from_toml(text + "more_gears = [{ teeth = [35, 45], module_mm = 2 }]")
        made = [slip.words.split()[5] for slip in slips(gc.setup(lathe, 20, 40)) if slip.kind.startswith("neighbour")]
        assert made == ["30", "30", "50"]

    def test_a_damaged_gear_that_was_meant_is_not_said_again(self):
        text = 'name = "D"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 50]\ngears.damaged = [40]'
        meant = evolve(gc.setup(gc.Lathe.from_toml(text), 20, 50), train=gc.Train(20, 40))
        assert explain_wrong_lead(meant, 8, 0)[0].slip == "The pair is upside down: 40 drives 20."

    def test_no_gear_comes_or_goes_but_where_the_slip_says_so(self):
        """Of the same gears: one is another for a neighbour, one comes beside an idler, a driver goes for a pair."""
        inch, more, other = gc.demo_lathe("inch"), {"idler has become a pair": 1}, {"neighbour from the rack": 1}
        for idlers in (((), ()), ((30,), ()), ((30, 35), ()), ((30,), (35,)), ((), (30, 35)), ((30, 35, 70), ())):
            train = gc.Train((40, 50), (80, 60), idlers)
            there, seen = Counter(train.gears), set()
            for kind, words, made in train_slips(inch, train):
                came, went = Counter(made.gears) - there, there - Counter(made.gears)
                assert came.total() == more.get(kind, other.get(kind, 0)), words
                assert went.total() == other.get(kind, int(kind == "pair runs as idlers")), words
                seen.add(kind)
            assert {"pair upside down", "gears exchanged", "pair runs as idlers"} <= seen
            assert ("idler counts" in seen) == any(idlers)

    def test_of_three_pairs_each_slip_by_hand(self):
        """20 · 30 · 40 over 50 · 60 · 70, an idler in each mesh; in the rack lies a 90."""
        lathe = a_lathe(20, 21, 22, 23, 30, 40, 50, 60, 70, 90, leadscrew="3 mm")
        train = gc.Train((20, 30, 40), (50, 60, 70), ((21,), (22,), (23,)))
        made: dict[str, list] = {}
        for kind, words, other in train_slips(lathe, train):
            made.setdefault(kind, []).append((other, words))
        assert made["pair upside down"] == [
            (gc.Train((50, 30, 40), (20, 60, 70), train.idlers), "The first pair is upside down: 50 drives 20."),
            (gc.Train((20, 60, 40), (50, 30, 70), train.idlers), "The second pair is upside down: 60 drives 30."),
            (gc.Train((20, 30, 70), (50, 60, 40), train.idlers), "The third pair is upside down: 70 drives 40."),
        ]
        in_one_plane = "The pair {} and {} does not count: all in one plane, {} drives {} through {} as an idler."
        assert made["pair runs as idlers"] == [
            (gc.Train((20, 40), (60, 70), ((21, 50, 22), (23,))), in_one_plane.format(50, 30, 20, 60, 50)),
            (gc.Train((20, 30), (50, 70), ((21,), (22, 60, 23))), in_one_plane.format(60, 40, 30, 70, 60)),
        ]
        beside = "The idler has become a pair: 90 beside {}, so {} is driven and {} drives."
        assert made["idler has become a pair"] == [
            (
                gc.Train(
                    (*train.drivers[: mesh + 1], drives, *train.drivers[mesh + 1 :]),
                    (*train.driven[:mesh], driven, *train.driven[mesh:]),
                    (*train.idlers[:mesh], (), (), *train.idlers[mesh + 1 :]),
                ),
                beside.format(idler, driven, drives),
            )
            for mesh, idler in enumerate((21, 22, 23))
            for driven, drives in ((idler, 90), (90, idler))
        ]
        assert {tuple(sorted((*other.drivers, *other.driven))) for other, _ in made["gears exchanged"]} == {
            (20, 30, 40, 50, 60, 70)
        }
        pairs = {(other.drivers, other.driven) for other, _ in made["gears exchanged"]}
        assert len(pairs) == len(made["gears exchanged"]) == 6  # each driver with each driven gear of another pair
        assert ((60, 30, 40), (50, 20, 70)) in pairs
        assert made["train upside down"][0][0] == gc.Train(train.driven, train.drivers, train.idlers)
        first = made["idler counts"][0]
        assert first == (
            gc.Train((21, 30, 40), (50, 60, 70), ((20,), (22,), (23,))),
            "The idler counts: 21 sits as the first driver, and 20 is only the idler.",
        )
        assert len(made["idler counts"]) == 3 * 6

    @in_one("meshes", range(1, len(ORDINALS) + 1))
    def test_no_slip_has_more_pairs_than_a_train_can(self, meshes):
        lathe = a_lathe(*range(20, 60), leadscrew="3 mm")
        gears = [*range(20, 20 + 2 * meshes)]
        for idlers, kind in (((50,), "idler has become a pair"), ((50, 51), "idler counts")):
            train = gc.Train(gears[:meshes], gears[meshes:], (idlers,))
            made = [other.meshes for each, _, other in train_slips(lathe, train) if each == kind]
            assert (meshes + 1 in made) == (meshes < len(ORDINALS))

    def test_two_idlers_keyed_on_one_stud(self):
        inch = gc.demo_lathe("inch")
        meant = gc.setup(inch, 40, 80, "middle", (30, 50))
        found = explain_wrong_lead(meant, INCH_SCREW * Fraction(40 * 50, 30 * 80), 0)
        assert found[0].kind == "idler counts"
        assert "30 and 50 are keyed on one stud" in found[0].slip
        assert (found[0].setup.train.drivers, found[0].setup.train.driven) == ((40, 50), (30, 80))

    @in_one(
        ("which", "wanted", "other"),
        [
            ("metric", "1.25 mm", "20 tpi"),
            ("metric", "20 tpi", "1.25 mm"),
            ("inch", "20 tpi", "1.25 mm"),
            ("inch", "16 tpi", "1.5 mm"),
            ("metric", "5 mm", "5 tpi"),
            ("inch", "6 tpi", "6 mm"),
            ("metric", "module 1", "DP 25"),
            ("inch", "DP 16", "module 1.5"),
            ("inch", "1.5 mm", "17 tpi"),
        ],
    )
    def test_inch_for_metric(self, which, wanted, other):
        lathe = gc.demo_lathe(which)
        meant = gc.find_setups(lathe, wanted, count=1, must_fit=False)[0]
        lead = Fraction(float(gc.Thread.parse(other).lead)).limit_denominator(10**6)
        found = explain_wrong_lead(meant, lead, Fraction(1, 200))
        assert "inch and metric" in {slip.kind for slip in found[:3]}
        assert any(f"the gears of {other}" in slip.slip for slip in found[:3])

    def test_a_leadscrew_taken_for_the_other_kind(self):
        # 1.75 mm from a screw of 3 mm wants 7/12; on 8 tpi that cuts 7/12 × 3.175 = 1.85208 mm.
        inch = gc.demo_lathe("inch")
        meant = gc.find_setups(inch, "1.75 mm", count=1)[0]
        found = explain_wrong_lead(meant, 1.852, 0.001)
        words = "gears worked out for a leadscrew with a lead of 3 mm, and this is one of 8 tpi"
        assert any(words in slip.slip for slip in found[:3])
        assert Fraction(7, 12) * INCH_SCREW in {slip.lead_mm for slip in found}

    def test_two_starts_forgotten(self):
        metric = gc.demo_lathe("metric")
        meant = gc.find_setups(metric, "M16xPh3P1.5", count=1)[0]
        found = explain_wrong_lead(meant, 1.5, 0.001)
        assert "pitch for lead" in {slip.kind for slip in found[:3]}

    def test_another_row_of_the_plate(self):
        metric = gc.demo_lathe("metric")
        meant = gc.setup(metric, 50, 60, "medium", (40,), wanted="1.25 mm")
        found = explain_wrong_lead(meant, 0.75, 0.01)  # the plate: 40/80 with the lever at medium
        assert any(slip.slip == "Another row of the plate: the gears of 0.75 mm." for slip in found[:3])
        assert Fraction(3, 4) == found[0].lead_mm

    def test_the_hand(self):
        _, meant = compound("20 tpi LH")
        found = explain_wrong_lead(meant, meant.lead_mm, Fraction(1, 1000), hand="right")
        assert found[0].kind == "wrong hand"
        assert "right" == found[0].hand == found[0].setup.hand
        assert meant.lead_mm == found[0].lead_mm
        assert "nothing wrong" not in {slip.kind for slip in found}

    def test_the_hand_that_was_meant_is_nothing_wrong(self):
        _, meant = compound("20 tpi LH")
        kinds = [slip.kind for slip in explain_wrong_lead(meant, meant.lead_mm, 0, hand="left")]
        assert kinds == ["nothing wrong"]

    def test_nobody_looked_at_the_hand(self):
        _, meant = compound("20 tpi LH")
        kinds = [slip.kind for slip in explain_wrong_lead(meant, meant.lead_mm, 0)]
        assert kinds == ["nothing wrong", "wrong hand"]

    @pytest.mark.parametrize(
        ("wanted", "idlers", "cut"), [("16 tpi", [], "left"), ("16 tpi LH", [[60]], "right")], ids=["short", "over"]
    )
    def test_a_setup_that_cannot_cut_the_wanted_hand_is_not_called_right(self, wanted, idlers, cut):
        """One mesh turns the leadscrew against the spindle, which cuts left-hand; an idler turns that round."""
        poor = a_lathe(40, 60, 80, more=NO_REVERSE)
        meant = gc.setup(poor, 40, 80, idlers=idlers, wanted=wanted)
        looked = explain_wrong_lead(meant, Fraction(127, 80), Fraction(1, 100), hand=cut)
        assert [slip.kind for slip in looked] == ["setup of the other hand"]
        assert cut == looked[0].hand
        assert "no reverse" in looked[0].slip
        assert "idler" in looked[0].slip
        anyhow = explain_wrong_lead(meant, Fraction(127, 80), Fraction(1, 100))
        assert [slip.hand == cut for slip in anyhow] == [True, False]
        assert not any("Nothing wrong" in slip.slip for slip in anyhow)
        right = explain_wrong_lead(meant, Fraction(127, 80), Fraction(1, 100), hand=meant.wanted.hand)
        assert [slip.kind for slip in right] == ["wrong hand"]

    def test_a_slip_that_turns_the_motion_round_says_which_hand_to_look_for(self):
        """A lever whose other position halves the lead, and turns the other way: the hand shows it, so it is said."""
        lathe = gc.Lathe.from_toml(
            'name = "Head"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 50]\n[[lever]]\nname = "head"\n'
            'side = "spindle"\npositions = { front = "1", back = { ratio = "1/2", same_way = false } }'
        )
        meant = gc.setup(lathe, 40, 50, "front")
        found = gc.explain_wrong_lead(meant, meant.lead_mm / 2, 0.01)
        told = [each for each in found if "back" in (each.setup.lever or "")]
        assert [each.hand for each in told] == ["left" if meant.hand == "right" else "right"]
        assert told[0].slip.endswith(f"Then the thread is {told[0].hand}-hand too: look at it.")
        same = gc.explain_wrong_lead(meant, meant.lead_mm / 2, 0.01, hand=told[0].hand)
        assert not any("look at it" in each.slip for each in same)

    def test_a_slip_and_the_wrong_hand_besides(self):
        _, meant = compound("20 tpi LH")
        found = explain_wrong_lead(meant, meant.lead_mm * 2, 0, hand="right")
        assert found[0].kind == "lever"
        assert "the reverse, or an idler, is wrong as well" in found[0].slip

    def test_without_a_reverse_an_idler_makes_the_hand(self):
        text = gc.demo_lathe("inch").to_toml().replace("reverse = true", "reverse = false")
        lathe = gc.Lathe.from_toml(text)
        meant = gc.setup(lathe, 40, 80, "middle", (50,), wanted="16 tpi")
        found = explain_wrong_lead(meant, meant.lead_mm, 0, hand="left")
        assert "idler 50 left out" in found[0].slip
        assert "left" == found[0].setup.hand == found[0].hand
        bare = gc.setup(lathe, 40, 80, "middle", wanted="16 tpi LH")
        more = explain_wrong_lead(bare, bare.lead_mm, 0, hand="right")
        assert "an idler too many" in more[0].slip
        assert more[0].setup.hand == "right"

    @in_one(
        ("drivers", "driven", "idlers", "said", "left"),
        [
            (40, 80, (50, 60), "the idler 60 left out", ((50,),)),
            (40, 80, (50, 60, 70), "the idler 70 left out", ((50, 60),)),
            ((40, 30), (80, 60), ((), (50, 70)), "the idler 70 left out", ((), (50,))),
            ((40, 30), (80, 60), ((50,), (70,)), "the idler 50 left out", ((), (70,))),
            ((40, 30), (80, 60), ((50, 70), ()), "the idler 70 left out", ((50,), ())),
            ((40, 30), (80, 60), (), "an idler too many, such as 50", ((50,), ())),
        ],
    )
    def test_the_first_mesh_that_has_idlers_loses_its_last(self, drivers, driven, idlers, said, left):
        lathe = a_lathe(20, 30, 40, 50, 60, 70, 80, more=NO_REVERSE)
        meant = gc.setup(lathe, drivers, driven, None, idlers)
        (wrong,) = (slip for slip in explain_wrong_lead(meant, meant.lead_mm, 0) if slip.kind == "wrong hand")
        assert f", {said}: the lead is the same." in wrong.slip
        assert wrong.setup.train == gc.Train(drivers, driven, left)
        assert wrong.setup.hand == wrong.hand != meant.hand

    def test_where_no_gear_is_left_for_an_idler_none_is_named(self):
        meant = gc.setup(a_lathe(40, 80, more=NO_REVERSE), 40, 80)
        assert "-hand, an idler too many: the lead is the same." in wrong_hand(meant).words

    def test_a_plate_that_names_a_gear_that_is_lost(self):
        metric = gc.demo_lathe("metric").with_gears(remove=80)
        meant = gc.setup(metric, 50, 60, "medium", wanted="1.25 mm")
        rows = [slip.words for slip in slips(meant) if slip.kind == "another row of the plate"]
        assert not [words for words in rows if "0.75 mm" in words]
        assert [words for words in rows if "2.5 mm" in words]


class TestRanking:
    def test_common_before_rare_when_both_fit_as_well(self):
        _, meant = compound()
        found = explain_wrong_lead(meant, Fraction(3, 2), Fraction(3, 4))
        assert len(found) > 10
        weights = [slip.weight for slip in found]
        assert sorted(weights, reverse=True) == weights
        assert all(abs(slip.lead_mm - Fraction(3, 2)) <= Fraction(3, 4) for slip in found)

    def test_the_same_gears_are_listed_once(self):
        _, meant = compound()
        found = explain_wrong_lead(meant, Fraction(3, 2), Fraction(7, 5))
        keys = [
            (sorted(slip.setup.train.drivers), sorted(slip.setup.train.driven), slip.setup.lever, slip.hand)
            for slip in found
        ]
        assert all(keys.count(key) == 1 for key in keys)

    def test_it_is_the_same_each_time(self):
        _, meant = compound()
        one, other = (explain_wrong_lead(meant, 1.5, 0.5) for _ in range(2))
        assert list(one) == list(other)


class TestTheWeightByHand:
    """How common a slip is times how well it fits: all of it in the middle, an eighth at the edge, evenly between."""

    @in_one(("off", "share"), [(0, 1), (Fraction(1, 2), Fraction(9, 16)), (-1, Fraction(1, 8)), (1, Fraction(1, 8))])
    @in_one(("hand", "other"), [(None, 1), ("right", 1), ("left", Fraction(1, 8))])
    def test_of_the_lever(self, off, share, hand, other):
        _, meant = compound()
        limit = Fraction(1, 100)
        found = explain_wrong_lead(meant, 2 * meant.lead_mm + off * limit, limit, hand=hand)
        (lever,) = (slip for slip in found if slip.kind == "lever")
        assert lever.weight == HOW_COMMON["lever"] * share * other
        assert lever.off_mm == -off * limit
        assert lever not in found.ruled_out

    def test_with_no_limit_at_all_a_slip_fits_or_it_does_not(self):
        _, meant = compound()
        found = explain_wrong_lead(meant, 2 * meant.lead_mm, 0)
        assert [slip.weight for slip in found] == [HOW_COMMON[slip.kind] for slip in found] != []
        assert [slip.weight for slip in found.ruled_out] == [
            HOW_COMMON[slip.kind] * Fraction(1, 8) for slip in found.ruled_out
        ]

    def test_what_is_further_off_is_ruled_out_the_nearest_first(self):
        _, meant = compound()
        found = explain_wrong_lead(meant, 2 * meant.lead_mm, Fraction(1, 100))
        far = [abs(slip.off_mm) for slip in found.ruled_out]
        assert far == sorted(far)
        assert far[0] > Fraction(1, 100) >= max(abs(slip.off_mm) for slip in found)

    def test_two_slips_at_once_are_the_rarest_and_none_the_commonest(self):
        """The whole order of our own, those that are as common as each other side by side."""
        by_weight: dict[int, set[str]] = {}
        for kind, weight in HOW_COMMON.items():
            by_weight.setdefault(weight, set()).add(kind)
        assert [by_weight[weight] for weight in sorted(by_weight, reverse=True)] == [
            {"nothing wrong", "setup of the other hand"},
            {"wrong hand"},
            {"lever"},
            {"pair upside down"},
            {"neighbour from the rack"},
            {"gears exchanged", "inch and metric", "pitch for lead"},
            {"another row of the plate", "idler counts", "pair runs as idlers", "train upside down"},
            {"idler has become a pair"},
            {"two levers"},
        ]
        # from one to the next the weight is one less: five times as common at most as what is met at all
        assert HOW_COMMON["nothing wrong"] == 5 * HOW_COMMON["two levers"]


class TestGearsForAnotherLead:
    """Whoever took one lead for another chose the nearest train of one or two pairs: every one is tried here."""

    @in_one(("wanted", "kind"), [("1.25 mm", "inch and metric"), ("20 tpi", "inch and metric")])
    def test_are_the_nearest(self, wanted, kind):
        lathe = gc.Lathe.from_toml('name = "Six"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 24, 32, 45, 50, 63]')
        meant = gc.find_setups(lathe, wanted, count=1)[0]
        leads = {mistake.words: mistake.lead for mistake in mistaken_leads(lathe, meant.wanted)}
        ratios = [
            Fraction(prod(row[:meshes]), prod(row[meshes:]))
            for meshes in (1, 2)
            for row in permutations(lathe.gears, 2 * meshes)
        ]
        found = [slip for slip in slips(meant) if slip.kind == kind]
        made = {slip.words: slip.setup.lead_mm for slip in found}
        assert len(found) == len(made)  # of each lead the one, if it is near enough
        for words, lead in leads.items():
            nearest = min(abs(3 * ratio / lead - 1) for ratio in ratios)
            assert (words in made) == (nearest <= Fraction(5, 1000)), words
            if words in made:
                assert abs(made[words] / lead - 1) == nearest
        assert made

    @in_one(("screw", "taken"), [("2.01", True), ("1.99", True), ("2.010001", False), ("1.989999", False)])
    def test_half_a_per_cent_is_near_enough_and_no_more(self, screw, taken):
        """For a pitch of 2 mm with two gears alike the screw's own lead is cut; the bracket is not asked."""
        text = f'name = "Two"\nleadscrew.lead = "{screw} mm"\ngears.teeth = [40, 40, 80]\ngears.module_mm = 1'
        for bracket in ("", TOO_SMALL):
            lathe = gc.Lathe.from_toml(f"{text}\n{bracket}")
            meant = gc.setup(lathe, 80, 40, wanted="lead 4 mm 2 starts")
            made = [slip.setup.train for slip in slips(meant) if slip.kind == "pitch for lead"]
            assert made == [gc.Train(40, 40)] * taken
            listed = explain_wrong_lead(meant, lathe.leadscrew.lead, 0)
            assert "neighbour from the rack" in {slip.kind for slip in listed}
        far = gc.Lathe.from_toml(text.replace("40, 40, 80", "40, 40, 50, 80"))
        alone = explain_wrong_lead(gc.setup(far, 80, 50, wanted="lead 4 mm 2 starts"), far.leadscrew.lead, 0)
        assert ("pitch for lead" in {slip.kind for slip in alone}) == taken  # looked for a per cent around

    def test_where_nothing_can_be_found_there_is_no_slip(self):
        """With a spindle side that hardly turns, every ratio is far beyond a million, and a search refuses it."""
        lathe = a_lathe(20, 40, leadscrew="3 mm", more='spindle_side.ratio = "1/999999999"')
        found = slips(gc.setup(lathe, 20, 40, wanted="16 tpi"))
        assert [slip.kind for slip in found] == ["nothing wrong", "pair upside down"]


INCHES = [
    INCH / Fraction(tpi) for tpi in ("1/4", "1", "2", "5/2", "4", "8", "23/2", "16", "19", "20", "27", "80", "100")
]
MILLIMETRES = [
    Fraction(mm) for mm in ("0.2", "0.253", "0.3", "0.5", "1", "1.25", "1.5", "2", "3", "5", "6", "12", "30")
]


class TestWhatALeadIsTakenFor:
    """Listed once more from the tables of standard threads, one rule after the other, each lead at both its ends."""

    @in_one("lead", [*INCHES, *MILLIMETRES])
    def test_the_standard_next_to_it_and_the_same_number_of_the_other_system(self, lead):
        inch = lead in INCHES
        plain = {thread.lead for thread in standard_threads() if isinstance(thread.lead, Fraction)}
        other = sorted(x for x in plain if (x.numerator % 127 == 0) != inch)
        expected = {*[x for x in other if x < lead][-2:], *[x for x in other if x > lead][:2]}
        if not inch:
            expected |= {INCH / tpi for tpi in range(1, 200) if abs(INCH / lead - tpi) < 1 or INCH / lead == tpi}
            expected |= {INCH / (tpi + 1) for tpi in range(1, 200) if INCH / lead == tpi}
        same = INCH / lead
        expected |= {same} if Fraction(1, 20) <= same <= 100 else set()
        made = [each for each in mistaken_leads(gc.demo_lathe("inch"), lead) if "leadscrew" not in each.words]
        assert {mistake.lead for mistake in made} == {x for x in expected if Fraction(1, 20) <= x <= 100}
        assert len({mistake.lead for mistake in made}) == len(made)

    @in_one(
        ("screw", "taken"),
        # to the nearest half of a millimetre, and to the nearest whole number of threads to the inch
        [
            ("8 tpi", "3"),
            ("4 tpi", "6.5"),
            ("6 tpi", "4"),
            ("3 mm", INCH / 8),
            ("6 mm", INCH / 4),
            ("4 mm", INCH / 6),
            ("40 tpi", "0.5"),
            ("110 tpi", None),
            ("20 mm", INCH),
            ("60 mm", None),
        ],
    )
    def test_a_leadscrew_is_taken_for_the_nearest_of_the_other_system(self, screw, taken):
        lathe = a_lathe(40, 80, leadscrew=screw)
        made = [each.lead for each in mistaken_leads(lathe, Fraction(3, 2)) if "leadscrew" in each.words]
        assert made == ([] if taken is None else [Fraction(3, 2) * lathe.leadscrew.lead / Fraction(taken)])

    @in_one("lead", [Fraction(1, 20), 100])
    @in_one("hair", [0, Fraction(1, 1000)])
    def test_from_a_twentieth_of_a_millimetre_to_a_hundred(self, lead, hair):
        """What the same number of the other system would be, if it is no longer and no shorter."""
        beyond = lead + hair if lead == 100 else lead - hair
        found = {mistake.lead for mistake in mistaken_leads(gc.demo_lathe("metric"), INCH / beyond)}
        assert (beyond in found) == (hair == 0)

    @in_one("module", [*(Fraction(n, 20) for n in range(6, 140)), 8, 10, 20, 25])
    def test_a_module_for_the_diametral_pitches_beside_it(self, module):
        pitches = {INCH / dp: f"DP {dp}" for dp in range(1, 201)}
        below = max((m for m in pitches if m <= module), default=None)
        above = min((m for m in pitches if m > module), default=None)
        if INCH / module != int(INCH / module):
            assert self.worms(module) == {x for x in (below, above) if x}

    @in_one("dp", [1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 48, 64, 100, 200])
    def test_a_diametral_pitch_for_the_modules_beside_it(self, dp):
        below = [m for m in sorted(modules()) if m < INCH / dp]
        above = [m for m in sorted(modules()) if m > INCH / dp]
        assert self.worms(INCH / dp) == {*below[-1:], *above[:1]}

    @staticmethod
    def worms(module):
        thread = gc.Thread("worm", PiMultiple(Fraction(module)))
        made = [each for each in mistaken_leads(gc.demo_lathe("inch"), thread) if "leadscrew" not in each.words]
        return {each.lead.coefficient for each in made}


class TestAgainstBruteForce:
    """Every single slip listed again in another way, as bare tooth counts; the detective finds the same leads."""

    @staticmethod
    def leads(lathe, drivers, driven, idlers, lever):
        spare = sorted((Counter(lathe.gears) - Counter([*drivers, *driven, *idlers])).elements())
        gears, size = [*drivers, *driven], len(drivers)

        def with_lever(listed, which=lever):
            return lead_of(lathe, tuple(listed[:size]), tuple(listed[size:]), which)

        yield from (with_lever(gears, other) for other in lathe.levers)
        for one in range(2 * size):
            for other in range(2 * size):
                swapped = list(gears)
                swapped[one], swapped[other] = swapped[other], swapped[one]
                yield with_lever(swapped)
            smaller = [teeth for teeth in spare if teeth < gears[one]]
            larger = [teeth for teeth in spare if teeth > gears[one]]
            for other in (*smaller[-1:], *larger[:1], *idlers):
                yield with_lever([*gears[:one], other, *gears[one + 1 :]])
        yield with_lever([*driven, *drivers])

    def test_the_same_leads(self, lathe):
        draw = random.Random(3)
        for _ in range(400 if THOROUGH else 20):
            size, idle = draw.choice([1, 2, 3]), draw.choice([0, 1])
            rack = draw.sample(lathe.gears, 2 * size + idle)
            drivers, driven, idlers = rack[:size], rack[size : 2 * size], rack[2 * size :]
            lever = draw.choice(list(lathe.levers))
            meant = gc.setup(lathe, drivers, driven, lever, idlers)
            simple = {slip.setup.lead_mm for slip in slips(meant) if slip.kind in SIMPLE}
            expected = set(self.leads(lathe, drivers, driven, idlers, lever))
            assert expected == simple | {meant.lead_mm}


SIMPLE = {"nothing wrong", "lever", "pair upside down", "train upside down"}
SIMPLE |= {"gears exchanged", "neighbour from the rack", "idler counts"}


class TestPlantedAndFound:
    """Every kind of slip, planted in hundreds of random setups, measured with an error, found among the first three."""

    UNCERTAINTY = Fraction(2, 1000)  # a calliper good to ± 0.02 mm, over ten turns

    def test_every_kind(self, lathe):
        draw = random.Random(10)
        planted: Counter[str] = Counter()
        for _ in range(600 if THOROUGH else 30):
            meant = self.random_setup(lathe, draw)
            made: dict[str, list] = {}
            for slip in slips(meant):
                if slip.kind == "nothing wrong" or slip.setup.lead_mm != meant.lead_mm:
                    made.setdefault(slip.kind, []).append(slip)
            for kind, choices in made.items():
                slip = draw.choice(choices)
                measured = slip.setup.lead_mm + self.UNCERTAINTY * Fraction(draw.randint(-1000, 1000), 1000)
                found = explain_wrong_lead(meant, measured, self.UNCERTAINTY)
                leads = [guess.lead_mm for guess in found[:3]]
                assert slip.setup.lead_mm in leads, f"{slip.words} of {meant}: {found}"
                planted[kind] += 1
        assert set(HOW_COMMON) - {"wrong hand", "setup of the other hand", "pitch for lead", "two levers"} == set(
            planted
        )
        assert all(times > 5 for times in planted.values()), planted

    def test_every_hand(self, lathe):
        draw = random.Random(11)
        for _ in range(400 if THOROUGH else 20):
            meant = self.random_setup(lathe, draw, hand=draw.choice(["", " LH"]))
            other = {"right": "left", "left": "right"}[meant.hand]
            measured = meant.lead_mm + self.UNCERTAINTY * Fraction(draw.randint(-1000, 1000), 1000)
            assert explain_wrong_lead(meant, measured, self.UNCERTAINTY, hand=other)[0].kind == "wrong hand"
            unseen = explain_wrong_lead(meant, measured, self.UNCERTAINTY)[:3]
            assert "wrong hand" in {guess.kind for guess in unseen}

    @staticmethod
    def random_setup(lathe, draw, hand=""):
        while True:
            size, idle = draw.choice([1, 2, 3]), draw.choice([0, 1, 2])
            rack = draw.sample(lathe.gears, 2 * size + idle)
            idlers = [()] * size
            idlers[draw.randrange(size)] = tuple(rack[2 * size :])
            gears = (rack[:size], rack[size : 2 * size], draw.choice(list(lathe.levers)), idlers)
            lead = gc.setup(lathe, *gears).lead_mm
            near = gc.nearest_threads(lead, 20_000)
            if Fraction(1, 5) <= lead <= 12 and near and not set(gears[0]) & set(gears[1]):
                return gc.setup(lathe, *gears, wanted=gc.Thread.parse(f"{draw.choice(near)}{hand}"))


class TestOfSeveralLevers:
    """Each alone in its other position, each two of them, and never all three."""

    LATHE = gc.Lathe.from_toml(
        'name = "Three"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 80]\nlever = [\n'
        '{ name = "a", positions = { u = "1", v = "1/2" } },\n{ name = "b", positions = { u = "1", v = "1/4" } },\n'
        '{ name = "c", positions = { u = "1", v = "1/16" } },\n]'
    )

    def test_each_and_each_two(self):
        found = [slip for slip in slips(gc.setup(self.LATHE, 40, 80, "a u, b u, c u")) if "lever" in slip.kind]
        made = {(slip.kind, Fraction(3, 2) / slip.setup.lead_mm) for slip in found}
        assert made == {*(("lever", part) for part in (2, 4, 16)), *(("two levers", part) for part in (8, 32, 64))}
        assert len(found) == 6
        words = {slip.words for slip in found}
        assert "The lever a stands at v instead of u." in words
        assert "The lever a stands at v instead of u and the lever c stands at v instead of u." in words

    @in_one(("wanted", "taken"), [(None, True), ("1.5 mm", True), ("module 1", True), ("0.25 mm/rev", False)])
    def test_a_feed_is_taken_for_no_other_lead(self, wanted, taken):
        meant = gc.setup(gc.demo_lathe("metric"), 40, 80, "fast", wanted=wanted)
        assert ("inch and metric" in {slip.kind for slip in slips(meant)}) == taken


class TestNothingFits:
    def test_it_says_what_comes_nearest(self):
        # Meant is 16 tpi, 1.5875 mm; with the 38 for the 40 it would be 1.508125 mm, 6.875 µm or 0.271 thou less.
        meant = gc.setup(gc.demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")
        found = explain_wrong_lead(meant, "1.515", "0.001")
        assert found == []
        assert "No single slip known here gives 0.05961 to 0.05969 in (1.514 to 1.516 mm)" in found.why
        slip = found.ruled_out[0]
        assert slip.slip == "A neighbour from the rack: 38 in place of 40 as the first driver."
        assert f"gives a lead 0.271 thou shorter than was measured: {slip} Measure again" in str(found)

    NEAREST = (
        # measured, what is named. 1 % further than the limit: 1.508125 / 0.99 = 1.52336, and 1.51 · 1.01 + 0.001.
        ("1.524", True),
        ("1.525", False),
        ("1.5875", None),  # nothing wrong
        ("1.589", False),  # nearest are the setup itself and the other hand, which leave the lead as it is
        ("1.57", False),  # 1.508125 is further off than the setup itself
        ("2.6", False),  # 10 tpi, of the plate, is 2.3 % off, even if nearer than what was meant
        ("9.9", False),
    )

    @in_one(("measured", "named"), NEAREST)
    def test_only_a_slip_that_is_near_and_another_lead(self, measured, named):
        meant = gc.setup(gc.demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")
        found = explain_wrong_lead(meant, measured, "0.001")
        assert bool(found) == (named is None)
        assert ("The one that comes nearest" in found.why) == (named is True)
        itself = "er than what was meant" if measured == "1.589" else ""
        assert (f", nor comes near{itself}. Measure again" in found.why) == (named is False)
        assert "the lead is the same" not in found.why

    def test_one_gear_and_no_lever(self):
        lathe = gc.Lathe.from_toml('name = "Two gears"\nleadscrew.lead = "2 mm"\ngears.teeth = [20, 40]')
        meant = gc.setup(lathe, 20, 40)
        assert [slip.kind for slip in explain_wrong_lead(meant, 4, 0.1)] == ["pair upside down"]

    def test_a_row_of_the_plate_that_names_no_lever_is_passed_over(self):
        """The row would cut 4 tpi at some levers; which, it does not say. The pair upside down says the same."""
        lathe = gc.Lathe.from_toml(ROW_WITHOUT_A_LEVER)
        meant = gc.setup(lathe, 40, 80, "slow, B", wanted="16 tpi")
        assert [slip.kind for slip in explain_wrong_lead(meant, "6.35", "0.01")] == ["pair upside down"]


class TestBadInput:
    @in_one("wrong", [0, -1, 1001, float("nan"), None, "x", True])
    def test_no_lead(self, wrong):
        _, meant = compound()
        with pytest.raises(ValueOutOfRangeError):
            explain_wrong_lead(meant, wrong, 0.01)

    @pytest.mark.parametrize("wrong", [-0.1, float("inf"), None, "x"])
    def test_no_uncertainty(self, wrong):
        _, meant = compound()
        with pytest.raises(ValueOutOfRangeError):
            explain_wrong_lead(meant, 1.27, wrong)

    def test_an_uncertainty_as_large_as_the_lead(self):
        _, meant = compound()
        with pytest.raises(ValueOutOfRangeError, match="as large as the lead itself"):
            explain_wrong_lead(meant, 1.27, 1.27)

    @pytest.mark.parametrize("wrong", ["up", "", 1, True])
    def test_no_hand(self, wrong):
        _, meant = compound()
        with pytest.raises(ValueOutOfRangeError, match="hand must be"):
            explain_wrong_lead(meant, 1.27, 0.01, hand=wrong)

    def test_no_setup(self):
        with pytest.raises(ValueOutOfRangeError, match="a setup is wanted here"):
            explain_wrong_lead("40/80", 1.27, 0.01)

    def test_the_lathe_goes_without_saying(self):
        inch, meant = compound()
        with pytest.raises(ValueOutOfRangeError, match="A setup knows its lathe"):
            explain_wrong_lead(inch, meant, 1.27, 0.01)

    def test_gears_that_its_lathe_has_not(self):
        (row,) = gc.check_plate(gc.Lathe.from_toml(SHORT_OF_A_GEAR))
        with pytest.raises(GearNotOwnedError):
            explain_wrong_lead(row.setup, 1.27, 0.01)


class TestHowItIsShown:
    def test_the_cautions_are_always_there(self):
        _, meant = compound()
        for measured in (meant.lead_mm, Fraction(99, 10)):
            found = explain_wrong_lead(meant, measured, Fraction(1, 100))
            assert "isolate the lathe" in str(found)
            assert "isolate the lathe" in found._repr_html_()
            assert "machine&#x27;s manual" in found._repr_html_()

    @in_one(
        ("lathe", "lever", "cells"),
        [
            # 3 mm · 80/40 less 6.01 mm; 25.4/8 mm · 80/40 = 6.35 mm, and 0.01 mm is 0.394 thou
            ("metric", "fast", ["80/40, idler 50, fast", "6 mm (≈ 4.233 tpi)", "−10 µm"]),
            ("inch", "middle", ["80/40, idler 50, middle", "4 tpi (6.35 mm)", "−0.394 thou"]),
        ],
    )
    def test_what_stands_beside_a_slip(self, lathe, lever, cells):
        meant = gc.setup(gc.demo_lathe(lathe), 40, 80, lever, 50)
        found = explain_wrong_lead(meant, 4 * meant.lead_mm + Fraction(1, 100), Fraction(1, 50))
        shown = found._repr_html_().replace("\u202f", " ").replace("\xa0", " ")
        first = re.findall(r"<td[^>]*>(.*?)</td>", shown)[:4]
        assert first == ["The pair is upside down: 80 drives 40.", *cells]

    def test_places_are_numbered_from_one(self):
        _, meant = compound()
        found = explain_wrong_lead(meant, 1.5, 0.5)
        assert re.findall(r"<t[hd][^>]*>(\d+)</t", found._repr_html_()) == [str(n + 1) for n in range(len(found))]

    def test_one_slip_alone(self):
        _, meant = compound()
        slip = explain_wrong_lead(meant, 2 * meant.lead_mm, 0)[0]
        assert str(slip) == f"The lever stands at high instead of middle. Lead {slip.setup.written_lead}."
        assert slip._repr_html_() == f"<p>{markup.in_html(str(slip))}</p>"

    def test_what_a_lathe_file_says_is_escaped(self):
        lathe = gc.Lathe.from_toml(
            'name = "<b>"\nleadscrew.lead = "2 mm"\ngears.teeth = [20, 40]\n'
            '[[gearbox]]\nlever = "<i>"\nratio = "1"\n[[gearbox]]\nlever = "b"\nratio = "1/2"'
        )
        found = explain_wrong_lead(gc.setup(lathe, 20, 40, "b"), 1, 0.01)
        assert "<i>" not in found._repr_html_()
        assert "&lt;i&gt;" in found._repr_html_()

    def test_what_was_meant_is_said_once(self):
        _, meant = compound("20 tpi LH")
        said = "meant 20 tpi LH: a lead of 20 tpi (1.27 mm), and the setup cuts 20.16 tpi"
        assert said in explain_wrong_lead(meant, 1.5, 0.5).caption.replace("≈ ", "")

    @pytest.mark.parametrize(
        ("wanted", "said"),
        [
            # 8 tpi × 40/80 = 25.4/16 mm; module 1 is π mm by definition, M10 1.5 mm (ISO 261)
            ("module 1", "module 1: a lead of ≈ 8.085 tpi (π mm ≈ 3.1416 mm), and the setup cuts 16 tpi (1.5875 mm)"),
            ("M10", "M10x1.5: a lead of ≈ 16.933 tpi (1.5 mm), and the setup cuts 16 tpi (1.5875 mm)"),
            ("16 tpi", "16 tpi: a lead of 16 tpi (1.5875 mm)"),
            (None, "a lead of 16 tpi (1.5875 mm)"),
        ],
    )
    def test_the_lead_wanted_and_the_lead_cut_are_told_apart(self, wanted, said):
        made = gc.setup(gc.demo_lathe("inch"), 40, 80, "middle", wanted=wanted)
        assert (
            explain_wrong_lead(made, 1.6, 0.05).caption
            == f"Measured 0.06299 ± 0.00197 in (1.6 ± 0.05 mm), meant {said}"
        )

    def test_a_slice_keeps_what_it_has_to_say(self):
        _, meant = compound()
        found = explain_wrong_lead(meant, 1.5, 0.5)
        assert found.why == found[:2].why
        assert len(found[:2]) == 2


class TestOddLathe:
    def test_a_slip_is_something_that_can_stand_on_the_lathe(self):
        lathe = gc.demo_lathe("odd")
        meant = gc.setup(lathe, (40, 30), (50, 32), "fast, C", wanted="3 mm")
        made = [slip.setup.train for slip in slips(meant)]
        assert len(made) > 5
        assert all(lathe.gear_set.allows(train) for train in made)
        assert all(train.drivers[0] == 40 for train in made)  # it is fixed
