"""The commands for the shop and for the proof of the cut: in words, in JSON, and how they refuse."""

from __future__ import annotations

import json
import os
import re
from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.commands.json_keys import SETUP
from tests.how_much import in_one

SETUP_KEYS = [key for key in SETUP if "." not in key]


@pytest.fixture
def ask_json(ask):
    def run(*arguments):
        code, out, err = ask(*arguments, "--json")
        assert err == ""
        said = json.loads(out)
        return code, said

    return run


class TestChart:
    def test_a_row_a_thread(self, ask_json):
        # 40/80 on 8 tpi at 2, 1 and 1/2 cuts 8, 16 and 32 tpi: one train serves, and only the lever moves.
        code, said = ask_json("chart", "inch", "8 tpi", "16 tpi", "32 tpi")
        assert code == 0
        assert [Fraction(row["lead_mm_exact"]) for row in said["chart"]] == [
            Fraction(127, 5) / tpi for tpi in (8, 16, 32)
        ]
        assert [row["moved"] for row in said["chart"]] == [None, 0, 0]

    def test_in_words_what_is_not_good_enough(self, ask):
        # The largest lead by far: (80 · 70 · 65)/(20 · 25 · 30) · 2 · 3.175 mm is 154 mm.
        code, out, _ = ask("chart", "inch", "M8", "M12x0.05")
        assert code == 1
        assert out.splitlines()[2].startswith("  M12x0.05: ")
        assert "ppm, not good enough; " in out.splitlines()[2]

    def test_how_gears_to_move_are_counted_is_said_where_any_move(self, ask):
        said = "counts as moved when its place in the train"
        assert said in ask("chart", "inch", "M12", "M14")[1]
        assert said not in ask("chart", "inch", "8 tpi", "16 tpi")[1]
        assert said in ask("feeds", "inch", "0.1 mm", "0.05 mm", "--mounted", "40/80")[1]

    @pytest.mark.parametrize(("ending", "start"), [("csv", b"thread,"), ("pdf", b"%PDF"), ("svg", b"<?xml")])
    def test_saved(self, ask, tmp_path, ending, start):
        code, out, _ = ask("chart", "metric", "metric coarse", "--save", tmp_path / f"plate.{ending}")
        assert (code, "plate" in out) == (0, True)
        assert (tmp_path / f"plate.{ending}").read_bytes().lstrip(b"\xef\xbb\xbf").startswith(start)

    @pytest.mark.parametrize(("threads", "said"), [(["M8"], "1 thread"), (["M8", "M10"], "2 threads")])
    @pytest.mark.parametrize("ending", ["csv", "svg"])
    def test_one_thread_is_no_threads(self, ask, tmp_path, threads, said, ending):
        _, out, _ = ask("chart", "metric", *threads, "--save", tmp_path / f"plate.{ending}")
        assert re.search(rf": {said}[ ,]", out)

    def test_an_ending_that_is_none_of_them_is_refused_before_the_work(self, ask, tmp_path, monkeypatch):
        monkeypatch.setattr("gearcalc.papers.tables.chart_rows", None)
        monkeypatch.setattr("gearcalc.papers.wall_plates.chart_rows", None)
        code, out, err = ask("chart", "metric", "metric coarse", "--save", tmp_path / "plate.docx")
        assert (code, out) == (2, "")
        assert all(ending in err for ending in (".pdf", ".svg", ".csv"))
        assert list(tmp_path.iterdir()) == []


class TestPlan:
    # By hand: 40/50 low, 40/65 middle, 40/80 middle cut 20, 13 and 16 tpi on 8 tpi; one driven gear moves each time.
    JOBS = ("1/4-20", "1/2-13", "3/8-16")

    def test_two_moves_for_three_jobs(self, ask_json):
        code, said = ask_json("plan", "inch", *self.JOBS)
        assert (code, said["moved"], said["proven"]) == (0, 2, True)
        assert sorted(Fraction(one["lead_mm_exact"]) for one in said["setups"]) == [
            Fraction(127, 5) / tpi for tpi in (20, 16, 13)
        ]
        assert [one["moved"] for one in said["setups"]] == [None, 1, 1]

    def test_in_words_in_the_order_given(self, ask):
        code, out, _ = ask("plan", "inch", *self.JOBS, "--keep-order", "--mounted", "40/80, idler 40")
        assert code == 0
        assert out.splitlines()[1].startswith("1. 1/4-20 UNC")
        assert "; from the first job on the lever " in out


class TestCard:
    def test_steps_from_isolating_to_the_scratch_pass(self, ask_json):
        _, said = ask_json("card", "inch", "16 tpi", "--mounted", "40/60, idler 25")
        assert [step["step"] for step in said["steps"]][:2] == ["isolate", "cover"]
        assert said["steps"][-1]["step"] == "scratch"
        assert "40/80" in {row["name"]: row["value"] for row in said["settings"]}["train"]
        assert said["cautions"]

    @pytest.mark.parametrize("ending", ["pdf", "html", "txt"])
    def test_saved(self, ask, tmp_path, ending):
        code, out, _ = ask("card", "metric", "M10", "--save", tmp_path / f"card.{ending}")
        assert (code, "The card is in" in out) == (0, True)
        assert (tmp_path / f"card.{ending}").stat().st_size > 1000

    def test_gears_chosen_by_hand(self, ask_json):
        _, said = ask_json("card", "inch", "M10", "--train", "(40 63)/(80 50)", "--lever", "low")
        assert (sorted(said["drivers"]), sorted(said["driven"])) == ([40, 63], [50, 80])

    def test_a_feed_takes_few_gears(self, ask_json):
        for within, percent in (((), "10"), (("--within-ppm", 25_000), "2.5")):
            _, said = ask_json("card", "inch", "0.1 mm/rev", *within)
            assert len(said["drivers"]) == 1
            assert said["reason"] == f"The least work within {percent} per cent of the feed."

    def test_an_ending_that_nobody_reads(self, ask, tmp_path):
        code, out, err = ask("card", "inch", "M10", "--save", tmp_path / "card.exe")
        assert (code, out, len(err.splitlines())) == (2, "", 1)
        assert list(tmp_path.iterdir()) == []


class TestDial:
    # 11 tpi on 8 tpi: 8/11 turn of the leadscrew a turn, so a groove returns every 8 threads, half round a 16 gear.
    def test_every_fourth_line(self, ask_json):
        _, said = ask_json("dial", "inch", "11 tpi")
        assert (said["threads"], said["gear_teeth"], said["step"], said["lines"]) == (8, 16, 4, [1, 5])
        assert not said["anywhere"]
        assert not said["keep_closed"]

    def test_a_stand_in_has_a_rule_of_its_own(self, ask_json):
        # 8 tpi leadscrew, (40 · 63)/(80 · 50) = 63/100: a groove returns every 63 threads.
        _, said = ask_json("dial", "inch", "2 mm", "--train", "(40 63)/(80 50)", "--lever", "middle")
        assert (said["threads"], said["keep_closed"]) == (63, True)

    # 19 tpi is cut by (20 · 40)/(38 · 50); a 37 would need a gear of 37 or 74 teeth, and there is none.
    def test_a_thread_is_asked_about_by_the_train_of_its_card(self, ask, ask_json):
        for thread, exact in (("19 tpi", True), ("37 tpi", False)):
            _, card = ask_json("card", "inch", thread)
            _, said = ask_json("dial", "inch", thread)
            assert [said[key] for key in SETUP_KEYS] == [card[key] for key in SETUP_KEYS]
            assert (said["is_exact"], said["keep_closed"]) == (exact, not exact)
            assert (said["note"], said["only_for"]) == ("", "")
            _, out, _ = ask("dial", "inch", thread)
            assert out.splitlines()[1].startswith(said["train"])
            assert out.splitlines()[2].startswith("With the 16-tooth" if exact else "Keep the half-nuts closed")

    def test_without_a_train_it_is_said_for_which_gears_it_holds(self, ask, ask_json):
        _, said = ask_json("dial", "inch", "37 tpi", "--within-ppm", "0")
        assert (said["train"], said["keep_closed"], said["lines"]) == (None, False, [1, 5])
        assert said["note"].startswith("No train for 37 tpi. No train of 1, 2 or 3 meshes")
        _, out, _ = ask("dial", "inch", "37 tpi", "--within-ppm", "0")
        assert said["only_for"].startswith("That is for gears that cut it exactly")
        assert f"counted from the first used. {said['only_for']} The leadscrew" in out.replace("\u202f", " ")

    def test_what_chooses_a_train_is_refused_where_it_is_named(self, ask):
        code, _, err = ask("dial", "inch", "2 mm", "--train", "40/80", "--lever", "low", "--first", "nearest")
        assert (code, "--first chooses among trains" in err) == (2, True)


class TestProofOfAStandIn:
    # (70 · 63)/(50 · 80) at 1/2 on 8 tpi cuts 1.75021875 mm for 1.75 mm: 35.004375 mm over 20 turns.
    SETUP = ("--lathe", "inch", "--train", "(70 63)/(50 80)", "--lever", "low")

    @in_one(
        ("thread", "length", "code", "agrees", "as_cut", "said"),
        [
            ("1.75 mm", "35.004", 0, False, True, "not that of 1.75 mm, but what the setup cuts, ≈ 14.512 tpi"),
            ("1.75 mm", "35", 0, True, False, "1.75 mm agrees."),
            ("1.75 mm", "35.1", 1, False, False, "1.75 mm does not agree."),
            ("1.7 mm", "35.004", 1, False, True, "So there is no slip to look for. Not good enough for 1.7 mm: "),
            ("1.75 mm LH", "35.004", 1, False, True, "and this one came out right-hand."),
        ],
    )
    def test_what_it_cuts_is_no_slip(self, ask, ask_json, thread, length, code, agrees, as_cut, said):
        asked = ("proof", thread, "--turns", "20", "--length", length, "--uncertainty", "0.001", "--hand", "right")
        got, fields = ask_json(*asked, *self.SETUP)
        assert (got, fields["agrees"], fields["as_cut"]) == (code, agrees, as_cut)
        assert said in ask(*asked, *self.SETUP)[1].replace("\u202f", " ")
        assert ask_json(*asked)[1]["as_cut"] is None


class TestDamaged:
    LATHE = 'name = "D"\nleadscrew.lead = "4 mm"\ngears.teeth = [35, 40, 40, 45, 80]\ngears.damaged = [45]\n'

    def test_what_it_did_cut_is_answered_and_nothing_is_built_with_it(self, ask, ask_json, tmp_path):
        path = tmp_path / "d.toml"
        path.write_text(self.LATHE, "utf-8")
        train = "(40 35)/(45 80)"  # 4 mm · 35/90 = 14/9 mm
        code, said = ask_json("cuts", path, train)
        assert (code, said["lead_mm_exact"], said["train"]) == (0, "14/9", "(40 · 35)/(45 · 80)")
        assert said["warnings"] == ["The 45 is damaged: this holds for a sound one."]
        code, out, _ = ask("cuts", path, train)
        assert (code, out.count("The 45 is damaged")) == (0, 1)
        _, said = ask_json("dial", path, "14/9 mm", "--train", train)
        assert (said["threads"], said["lead_mm_exact"]) == (7, "14/9")
        measured = ("--turns", "9", "--length", "14", "--uncertainty", "0.05")
        _, said = ask_json("proof", "14/9 mm", *measured, "--lathe", path, "--train", train)
        assert said["slips"][0]["slip"] == "Nothing wrong: this is what the setup cuts."
        for ask_for in (("card", path, "14/9 mm", "--train", train), ("cuts", path, train, "--avoid", "45")):
            assert ask(*ask_for)[0] == 2


class TestFeeds:
    def test_what_the_gears_give(self, ask_json):
        code, said = ask_json("feeds", "metric", "0.05 mm/rev", "0.1 mm/rev")
        assert code == 0
        for row, wanted in zip(said["feeds"], (0.05, 0.1), strict=True):
            assert row["feed_mm"] == pytest.approx(row["lead_mm"] / 6)  # its feed drive makes a sixth of the lead
            assert abs(row["feed_mm"] / wanted - 1) <= 0.1

    def test_usual_feeds_in_words(self, ask):
        for lathe, feed, other in (
            ("inch", "  4 thou/rev: ", "  0.1 mm/rev: "),
            ("metric", "  0.1 mm/rev: ", "thou/rev: "),
        ):
            code, out, _ = ask("feeds", lathe)
            assert code == 0
            assert feed in out
            assert other not in out  # the owner's unit first
            assert "ppm" not in out
            assert " %" in out or "exact" in out


class TestAdd:
    def test_the_127_that_metric_threads_need_on_an_inch_leadscrew(self, ask_json):
        code, said = ask_json("add", "inch", "1 mm", "1.5 mm", "--within-ppm", "0")
        assert (code, said["gears"], said["proven"], said["lower_bound"]) == (0, [127], True, 1)
        assert [Fraction(one["lead_mm_exact"]) for one in said["setups"]] == [1, Fraction(3, 2)]

    def test_none_allowed(self, ask):
        code, out, _ = ask("add", "inch", "1 mm", "--within-ppm", "0", "--most", "0")
        assert code == 1
        assert out

    def test_with_three_meshes_fewer_do(self, ask, ask_json, tmp_path):
        # 20·30·50 over 24·40·60 is 25/48, lead 25/48 of 3 mm, and no two pairs of these come to that.
        lathe = tmp_path / "six.toml"
        lathe.write_text('name = "Six gears"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 30, 50, 24, 40, 60]')
        _, out, _ = ask("add", str(lathe), "lead 25/16 mm", "--within-ppm", "0")
        assert "proved for all trains of 1 or 2 meshes" in out
        assert "Trains of 3 meshes are not counted" in out
        code, said = ask_json("add", str(lathe), "lead 25/16 mm", "--within-ppm", "0", "--meshes", "1,2,3")
        assert (code, said["gears"], said["meshes"]) == (0, [], [1, 2, 3])

    def test_two_equal_gears_cut_the_leadscrews_own_lead(self, ask, tmp_path):
        lathe = tmp_path / "forties.toml"
        lathe.write_text('name = "Two forties"\nleadscrew.lead = "12 tpi"\ngears.teeth = [40, 40, 60]')
        assert "Nothing to add" in ask("add", str(lathe), "12 tpi")[1]
        assert "1. 40/40" in ask("find", str(lathe), "12 tpi")[1]


class TestCoverage:
    def test_the_middle_of_the_widest_gap_by_hand(self, ask, ask_json, tmp_path):
        # 20/40, 40/40 and 40/20 of 4 mm: leads of 2, 4 and 8 mm; worst off are 3 and 6 mm, a third away.
        lathe = tmp_path / "three.toml"
        lathe.write_text('name = "Three gears"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 40]')
        code, said = ask_json("coverage", str(lathe), "2", "8", "--meshes", "1")
        assert (code, said["leads"], said["meshes"]) == (0, 3, [1])
        assert said["worst_ppm"] == pytest.approx(1e6 / 3)
        assert [gap["at_mm_exact"] for gap in said["gaps"]][:2] == ["3", "6"]
        assert [(gap["below_mm"], gap["at_mm"], gap["above_mm"]) for gap in said["gaps"]][:2] == [(2, 3, 4), (4, 6, 8)]
        _, out, _ = ask("coverage", str(lathe), "2 mm", "8 mm")
        assert "1 or 2 meshes: 3 different leads from 2 mm to 8 mm" in out
        assert "All trains of 1 or 2 meshes from these gears count, those too that may not go on." in out

    def test_a_range_may_be_given_as_threads(self, ask_json):
        _, as_threads = ask_json("coverage", "inch", "20 tpi", "10 tpi")
        _, in_mm = ask_json("coverage", "inch", "1.27", "2.54 mm")
        assert as_threads == in_mm

    @pytest.mark.parametrize("range_", [("8", "2"), ("a lot", "8"), ("1", "module 1"), ("0", "1")])
    def test_ranges_that_are_none(self, ask, range_):
        code, _, said = ask("coverage", "inch", *range_)
        assert code == 2
        assert said.startswith("gearcalc: ")


class TestProof:
    # 12.6 ± 0.1 over 10 turns: 1.25 to 1.27 mm, which both 1.25 mm and 20 tpi (1.27 mm) are.
    def test_not_told_apart(self, ask_json):
        code, said = ask_json("proof", "1.25 mm", "--turns", "10", "--length", "12.6", "--uncertainty", "0.1")
        assert (code, said["agrees"], said["lead_from_mm"], said["lead_to_mm"]) == (0, True, 1.25, 1.27)
        assert {one["lead_mm_exact"] for one in said["also_possible"]} == {"127/100"}

    def test_a_pair_upside_down(self, ask_json):
        # 40/50 at low cuts 20 tpi on 8 tpi; 50/40 at low gives 3.175 · 5/4 / 2 = 1.984 mm.
        code, said = ask_json(
            "proof",
            "20 tpi",
            "--turns",
            "10",
            "--length",
            "19.8",
            "--uncertainty",
            "0.2",
            "--lathe",
            "inch",
            "--train",
            "40/50",
            "--lever",
            "low",
        )
        assert (code, said["agrees"]) == (1, False)
        assert "upside down" in said["slips"][0]["slip"]

    # 16 turns of 16 tpi are an inch, in either hand.
    @pytest.mark.parametrize(("seen", "agrees"), [("left", True), ("right", False), (None, True)])
    def test_the_hand_counts(self, ask, ask_json, seen, agrees):
        asked = ["proof", "16 tpi LH", "--turns", "16", "--length", "25.4", "--uncertainty", ".1"]
        asked += ["--hand", seen] if seen else []
        code, said = ask_json(*asked)
        assert (code, said["agrees"], said["hand"]) == (0 if agrees else 1, agrees, seen)
        code, out, _ = ask(*asked)
        assert code == (0 if agrees else 1)
        assert ("came out right-hand" in out) is not agrees

    def test_in_words(self, ask):
        code, out, _ = ask(
            "proof",
            "20 tpi",
            "--turns",
            10,
            "--length",
            19.8,
            "--uncertainty",
            0.2,
            "--lathe",
            "inch",
            "--train",
            "40/50",
            "--lever",
            "low",
        )
        assert code == 1
        assert "What may have happened:" in out


class TestFaults:
    def test_one_symptom(self, ask_json):
        _, said = ask_json("faults", "noisy")
        assert len(said["faults"]) > 2
        assert said["cautions"]

    def test_all_of_them_on_paper(self, ask, tmp_path):
        assert ask("faults", "--save", tmp_path / "faults.pdf")[0] == 0
        assert (tmp_path / "faults.pdf").read_bytes().startswith(b"%PDF")


class TestBadInput:
    @in_one(
        "line",
        [
            "chart", "chart inch", "chart inch banana", "chart inch M8 --within-ppm -1", "chart inch M8 --save x.doc",
            "chart inch M8 --save no/such/folder/x.pdf", "plan", "plan inch", "plan inch banana",
            "plan nowhere.toml M8", "plan inch M8 --within-ppm -1",
            "plan inch M8 --mounted banana", "card inch", "card inch banana", "card inch M8 --train 40/81 --lever low",
            "card inch M8 --train 40/80 --lever nowhere", "card inch M8 --mounted 40/81", "dial inch",
            "dial inch banana", "dial inch M8 --train x", "feeds inch banana", "feeds nowhere", "add inch",
            "add inch banana", "add inch M8 --within-ppm nan", "add inch M8 --most -1", "faults banana",
            "proof M8", "proof M8 --turns 0 --length 1 --uncertainty 0.1",
            "proof M8 --turns 10 --length -3 --uncertainty 0.1", "proof M8 --turns 10 --length 12 --uncertainty 9",
            "proof M8 --turns x --length 12 --uncertainty 0.1", "proof M8 --turns 10 --length 12 --uncertainty nan",
            "proof M8 --turns 10 --length 12.5 --uncertainty 0.1 --lathe inch",
        ],
    )  # fmt: skip
    def test_one_clear_line(self, ask, line):
        code, out, err = ask(*line.split())
        assert (code, out) == (2, "")
        assert len(err.splitlines()) == 1
        assert "Traceback" not in err


def test_the_answers_are_those_of_the_library(ask_json):
    _, said = ask_json("dial", "metric", "1.75 mm")
    rule = gc.dial(gc.demo_lathe("metric"), "1.75 mm")
    assert (said["threads"], tuple(said["lines"]), said["why"]) == (rule.threads, rule.lines, rule.why)


@pytest.mark.parametrize("lathe", ["inch", "odd"])
def test_a_card_for_a_feed_from_the_gears_that_are_mounted(ask, lathe):
    code, said, complained = ask("card", lathe, "0.1 mm/rev", "--mounted", "40/80")
    assert (code, complained) == (0, "")
    assert "No gear has to be moved." in said
    assert "out of its slot" not in said  # the idler that the train stands with stays


@pytest.mark.parametrize(("option", "given"), [("--first", "nearest"), ("--meshes", "3")])
def test_what_a_card_for_a_feed_does_not_take_is_refused_and_not_overlooked(ask, option, given):
    code, said, complained = ask("card", "inch", "0.1 mm/rev", option, given)
    assert (code, said) == (2, "")
    assert f"{option} chooses among trains for a thread" in complained


@pytest.mark.skipif(os.name == "nt", reason="no file can be called so there")
@in_one(
    "asked",
    [
        ("card", "inch", "20 tpi", "--save", "{}.txt"),
        ("chart", "inch", "20 tpi", "--save", "{}.csv"),
        ("bracket", "inch", "40/80", "--save", "{}.svg"),
        ("faults", "--save", "{}.txt"),
        ("lathe", "new", "{}.toml"),
        ("worksheet", "two-pairs", "--class", "1-2", "--save", "{}.pdf", "--key", "{}-key.pdf"),
    ],
)
def test_the_name_of_a_file_can_not_add_a_line_to_the_answer(ask, asked, tmp_path):
    name = f"{tmp_path}/a\nAll is exact."
    code, said, complained = ask(*(each.format(name) for each in asked))
    assert (code, complained) == (0, ""), asked
    assert "a\\nAll is exact." in said, asked
    assert not any(line.startswith("All is exact.") for line in said.splitlines()), asked


@in_one(
    "asked",
    [
        ("find", "inch", "20 tpi"),
        ("plan", "inch", "20 tpi", "16 tpi"),
        ("feeds", "inch", "0.2 mm/rev"),
        ("card", "inch", "20 tpi"),
        ("card", "inch", "0.2 mm/rev"),
        ("bracket", "inch", "40/80"),
    ],
)
def test_what_the_lathe_lacks_is_not_mounted(ask, asked):
    for slip in ("400/800", "41/80", "40/80, idler 80"):
        code, said, complained = ask(*asked, "--mounted", slip)
        assert (code, said) == (2, ""), (asked, slip)
        assert "the set has" in complained, (asked, slip)
    assert ask(*asked, "--mounted", "40/80, idler 25")[0] != 2


def test_why_these_gears_is_no_wider_than_the_card(ask, ask_json):
    card, why = ask("card", "inch", "M8")[1].split("\n\nWhy these gears: ")
    assert max(map(len, why.splitlines())) <= max(map(len, card.splitlines()))
    assert why.split() == ask_json("card", "inch", "M8")[1]["reason"].split()


def test_idlers_are_named_once(ask):
    for command in (("card", "inch", "13 tpi", "--train"), ("cuts", "inch")):
        assert "names its idlers already" in ask(*command, "40/65, idler 30", "--idlers", "50")[2]


def test_what_is_avoided_may_be_mounted_and_comes_off(ask_json):
    mounted = ("--avoid", "40", "--mounted", "40/80, idler 25, lever low")
    feeds, plan, card = (
        ask_json(*asked, *mounted)[1]
        for asked in (("feeds", "inch", "0.1 mm/rev"), ("plan", "inch", "32 tpi"), ("card", "inch", "0.1 mm/rev"))
    )
    for made in (*feeds["feeds"], *plan["setups"], card):
        assert made["drivers"]
        assert 40 not in made["drivers"] + made["driven"] + [gear for mesh in made["idlers"] for gear in mesh]
    assert "40, driver, off the spindle side" in [gear for step in card["steps"] for gear in step["gears"]]


def test_a_train_that_a_plan_names_is_put_on_as_the_plan_moves_it(ask):
    """Named with what is mounted: its order and its idlers are those that move fewest gears, as without a name."""
    named = ask("card", "inch", "13 tpi", "--mounted", "40/80, idler 40", "--train", "40/65", "--lever", "middle")[1]
    assert "From 40/80, idler 40 to 40/65, idler 40" in " ".join(named.split())
