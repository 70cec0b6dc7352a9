"""Every command, paper and explorer on a box of two levers and on one of three with 27 positions.

Where each lever stands is said alike everywhere; what it comes to is multiplied here.
"""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import pairwise

import pytest

import gearcalc as gc
from gearcalc.learning import explorers
from gearcalc.learning.explorers.bench import PARTS
from tests.benches import several_levers
from tests.how_much import in_one
from tests.papers.test_wall_plates import lettering

LATHES = {2: several_levers(2), 3: several_levers(3)}
STANDS = {2: "range slow, tumbler back", 3: "range slow, cone A, gear 2"}
COMES_TO = {2: Fraction(1, 2), 3: Fraction(1, 4) * Fraction(2, 3) * Fraction(1, 2)}
NAMED = {2: r"range (slow|fast), tumbler (on|back)", 3: r"range (slow|fast|coarse), cone [ABC], gear (1|2|back)"}


@pytest.fixture(params=[2, 3], ids=["two levers", "three levers"])
def number(request):
    return request.param


@pytest.fixture
def lathe(number):
    return LATHES[number]


@pytest.fixture
def file(tmp_path, lathe):
    lathe.save(tmp_path / "lathe.toml")
    return tmp_path / "lathe.toml"


class TestCommands:
    def test_cuts(self, ask, file, number):
        code, out, _ = ask("cuts", file, "40/80", "--lever", STANDS[number], "--json")
        assert code == 0
        found = json.loads(out)
        assert found["lever"] == STANDS[number]
        assert Fraction(found["lead_mm_exact"]) == Fraction(127, 40) / 2 * COMES_TO[number]

    def test_a_line_of_an_answer_is_read_back(self, ask, file, number):
        said = ask("cuts", file, "40/80", "--lever", STANDS[number])[1].splitlines()[0]
        assert f"levers {STANDS[number]}" in said
        assert ask("cuts", file, said)[1].splitlines()[0] == said

    def test_cuts_without_a_lever_asks_for_each(self, ask, file):
        code, out, err = ask("cuts", file, "40/80")
        assert (code, out) == (2, "")
        assert "The lever range can stand at" in err

    @in_one(
        "asked",
        [
            ("find", "M10", "--count", "3"),
            ("chart", "M6", "16 tpi"),
            ("plan", "M6", "16 tpi"),
            ("card", "16 tpi"),
            ("feeds", "0.1 mm/rev"),
        ],
    )
    def test_where_each_lever_stands_is_said(self, ask, file, number, asked):
        code, out, err = ask(asked[0], file, *asked[1:])
        assert (code in (0, 1), err) == (True, "")
        if asked[0] == "card":
            assert all(
                re.search(rf"Lever {name}: \w+", out) for name in re.findall(r"(\w+) \w+(?:,|$)", STANDS[number])
            )
        else:
            assert re.search(NAMED[number], out)

    def test_proof_says_which_lever_stands_elsewhere(self, ask, file, number):
        lead = Fraction(127, 40) / 2 * COMES_TO[number] * (2 if number == 2 else 4)  # range fast
        measured = ["--turns", "10", "--length", round(float(10 * lead), 3), "--uncertainty", "0.01"]
        meant = ["--lathe", file, "--train", "40/80", "--lever", STANDS[number]]
        _, out, err = ask("proof", "16 tpi", *measured, *meant)
        assert err == ""
        assert "The lever range stands at fast instead of slow." in out

    def test_a_card_knows_where_the_levers_stood(self, ask, file, number):
        now = f"40/80, idler 30, levers {STANDS[number]}"
        there = ["card", file, "16 tpi", "--mounted", now, "--train"]
        _, out, err = ask(*there, now)
        assert err == ""
        assert "Lever range: slow, where it is." in " ".join(out.split())
        _, out, err = ask(*there, now.replace("slow", "fast"))
        assert err == ""
        assert "Lever range: fast, from slow." in " ".join(out.split())

    def test_check(self, ask, file):
        code, out, _ = ask("check", file)
        assert code == 0
        assert "levers: range" in out

    @in_one("command", ["add", "coverage", "dial"])
    def test_the_rest_answers(self, ask, file, command):
        asked = {"add": ["1.25 mm"], "coverage": ["1 mm", "2 mm"], "dial": ["16 tpi"]}[command]
        code, out, err = ask(command, file, *asked)
        assert (code in (0, 1), bool(out), err) == (True, True, "")


class TestPapers:
    def test_the_card_says_which_levers_move(self):
        lathe = LATHES[3]
        now = gc.setup(lathe, 40, 80, "slow, A, 1", 30, wanted="16 tpi")
        card = gc.change_card(lathe, gc.setup(lathe, 40, 80, "slow, C, 2", 30), mounted=now)
        said = str(next(step for step in card.steps if step.key == "levers"))
        assert "Lever range: slow, where it is. Lever cone: C, from A. Lever gear: 2, from 1." in said
        assert dict(card.settings)["lever cone"] == "C, from A"
        assert "from" not in dict(card.settings)["lever range"]

    def test_nothing_to_do_where_all_stand_as_they_should(self):
        lathe = LATHES[3]
        now = gc.setup(lathe, 40, 80, "slow, A, 1", 30, wanted="16 tpi")
        assert gc.change_card(lathe, now, mounted=now).change.lever_stays

    def test_turns_by_hand_follow_the_lever_ahead_of_the_gears(self):
        lathe = LATHES[3]
        turns = {}
        for at in ("slow", "fast", "coarse"):
            card = gc.change_card(lathe, gc.setup(lathe, 40, 80, f"range {at}, C, 1", 30))
            turns[at] = dict(card.settings)["slowest gear, the 80"]
        # The 80 turns half as often as the first driver, which turns 1/4, 1 or 4 times with the spindle.
        assert turns == {
            "slow": "once round in 8 turns of the spindle",
            "fast": "once round in 2 turns of the spindle",
            "coarse": "once round in 0.5 turns of the spindle",
        }

    def test_every_paper_is_saved(self, lathe, number, tmp_path):
        found = gc.find_setups(lathe, "16 tpi", count=1)[0]
        for name, paper in {
            "card": gc.change_card(lathe, found).on_paper(),
            "plate": gc.wall_plate(lathe, ["M6", "16 tpi"], on="2026-01-01").paper,
        }.items():
            paper.save(tmp_path / f"{name}.svg")
            assert (tmp_path / f"{name}.svg").read_text("utf-8").startswith("<?xml")
        assert re.search(NAMED[number], str(gc.wall_plate(lathe, ["M6"], on="2026-01-01").rows))

    def test_on_the_wall_only_the_lever_that_moves_is_bold(self):
        plate = gc.wall_plate(LATHES[3], ["M6", "M10", "16 tpi", "8 tpi", "3 mm"], on="2026-01-01")
        setups = [row.setup.lever.split(", ") for row in plate.rows]
        moved = sum(one != other for pair in pairwise(setups) for one, other in zip(*pair, strict=True))
        said = {at.name for lever in LATHES[3].box for at in lever.positions}
        shown = lettering(plate.paper.svg())
        words = [(text, bold) for text, _, _, _, bold in shown if text in said]
        assert ", ".join(lever.name for lever in LATHES[3].box) in [text for text, *_ in shown]
        assert len(words) == 3 * len(setups)
        assert 0 < moved < len(words)
        assert sum(bold for _, bold in words) == moved

    def test_tables_and_pages_name_them_alike(self, lathe, number):
        assert re.fullmatch(NAMED[number], gc.chart(lathe, ["16 tpi"]).lever[0])
        plan = gc.plan_changeover(lathe, ["16 tpi", "M6"])
        found = gc.find_setups(lathe, "16 tpi", count=2)
        shown = [plan, found, gc.derive(found[0]), gc.change_to_feed(lathe, found[0], "0.1 mm/rev"), found[0]]
        for each in shown:
            assert each._repr_html_()
        assert all(re.search(NAMED[number], each._repr_html_()) for each in (plan, found))
        assert ">lever range<" in found[0]._repr_html_()

    def test_two_starts_are_opened_at_a_gear_that_the_lever_lets_serve(self):
        lathe = LATHES[3]
        # 1/4 turn of a first driver of 40 is 10 teeth; half of that 5: it can be opened there. 30 would need 3 3/4.
        made = gc.setup(lathe, 40, 80, "slow, C, 1", wanted="lead 3 mm 2 starts")
        assert gc.index_starts(lathe, made).openings[0].teeth_on == 5
        serve = gc.index_starts(lathe, "lead 3 mm 2 starts").first_drivers
        assert serve == tuple(z for z in dict.fromkeys(lathe.gears) if z % 8 == 0)  # wherever the lever stands


class TestExplorers:
    def test_each_lever_has_a_control(self, lathe, number):
        for explorer in (explorers.one_turn(lathe), explorers.two_pairs(lathe), explorers.turning_train(lathe)):
            named = [control["name"] for control in explorer.controls if control["name"].startswith("lever")]
            assert named == [f"lever_{place}" for place in range(1, number + 1)]
            before = explorer.shown.facts[0]["lead"]
            explorer.set(lever_1="range slow")
            slow = explorer.shown.facts[0]["lead"]
            explorer.set(lever_1="range fast")
            assert explorer.message == ""
            assert {str(slow), str(explorer.shown.facts[0]["lead"])} >= {str(before)}
            assert str(slow) != str(explorer.shown.facts[0]["lead"])

    def test_they_begin_where_they_are_told(self, lathe, number):
        explorer = explorers.one_turn(lathe, lever=STANDS[number])
        assert [explorer.values[f"lever_{place}"] for place in range(1, number + 1)] == STANDS[number].split(", ")

    def test_the_detective_is_told_where_they_were_meant_to_stand(self, lathe, number):
        meant = gc.setup(lathe, 40, 80, STANDS[number], wanted="16 tpi")
        lead = meant.lead_mm * (2 if number == 2 else 4)
        explorer = explorers.prove_the_cut(lathe, meant, show="which slip", length=float(10 * lead))
        explorer.set(limit=0.01)
        assert explorer.message == ""
        assert "The lever range stands at fast instead of slow." in str(explorer.shown.facts)

    @in_one("part", PARTS)
    def test_every_part_of_the_bench(self, lathe, number, part):
        explorer = explorers.bench(lathe, "16 tpi", part=part)
        assert (explorer.message, explorer.failure) == ("", None)
        assert re.search(NAMED[number], str(explorer.tables))

    def test_what_is_typed_on_the_bench(self, lathe):
        explorer = explorers.bench(lathe, "16 tpi")
        explorer.set(levers="speed (ahead of the change gears): 1: 1, 2: 2; way: on 1, back 1 the other way round")
        assert explorer.message == ""
        assert list(explorer.shown.lathe.levers.items()) == [
            ("speed 1, way on", 1),
            ("speed 1, way back", 1),
            ("speed 2, way on", 2),
            ("speed 2, way back", 2),
        ]
        assert [position.same_way for position in explorer.shown.lathe.positions] == [True, False, True, False]
        explorer.set(levers="speed: 1: 1, fast; way: on 1")
        assert explorer.message.startswith("levers: ")
        explorer.set(levers="low 1/2, high 1")
        assert list(explorer.shown.lathe.levers) == ["low", "high"]

    def test_more_levers_than_any_box_has_are_refused_not_left_out(self):
        explorer = explorers.bench(LATHES[2], "16 tpi")
        explorer.set(levers="; ".join(f"L{n}: a 1, b 2" for n in range(8)))  # 256 positions
        assert "256 ways, and at most 200" in explorer.message
        explorer.set(levers="; ".join(f"L{n}: a 1" for n in range(60)))
        assert explorer.message.startswith("levers: ")

    def test_the_others_show_something(self, lathe):
        feed, change = explorers.feed_and_finish(lathe), explorers.change_over(lathe)
        for explorer in (feed, change, explorers.ask(lathe), explorers.gears_worth_adding(lathe, ["1 mm"])):
            assert (explorer.message, explorer.failure) == ("", None)
