"""The commands about the lathe itself: a new file, what a check leaves open, and what goes on the bracket."""

from __future__ import annotations

import errno
import json
import os
from fractions import Fraction
from math import dist, hypot

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.files import data_folder
from gearcalc.commands import lathe_commands
from gearcalc.lathes.gear_sets import GearSet
from tests.how_much import in_one


def refuse_links(*_):
    raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))


BARE = 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40, 60]\n'


class TestLatheNew:
    def test_asks_nothing_and_loads(self, ask, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        code, out, err = ask("lathe", "new")
        assert (code, err) == (0, "")
        assert "Examples still stand there for name, leadscrew and gears" in out
        assert gc.Lathe.load("my_lathe.toml").name == "My lathe"
        assert ask("check", "my_lathe.toml")[0] == 0

    def test_in_a_browser_what_comes_next_is_typed_in_a_cell(self, ask, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        monkeypatch.setattr(lathe_commands, "IN_THE_BROWSER", True)
        told = ask("lathe", "new")[1].splitlines()[-1]
        assert told == "Then, in a cell: main(['check', 'my_lathe.toml'])"

    def test_what_is_there_is_never_overwritten(self, ask, tmp_path):
        path = tmp_path / "mine.toml"
        path.write_text("mine")
        code, out, err = ask("lathe", "new", path)
        assert (code, out, path.read_text()) == (2, "", "mine")
        assert "there is such a file already" in err
        assert "delete it first" in err  # no lesson reads another name

    def test_nor_is_what_a_link_points_to(self, ask, tmp_path):
        (tmp_path / "link.toml").symlink_to(tmp_path / "nowhere.toml")
        assert ask("lathe", "new", tmp_path / "link.toml")[0] == 2
        assert not (tmp_path / "nowhere.toml").exists()

    @pytest.mark.parametrize("linked", [True, False])
    def test_nor_is_what_comes_there_while_it_is_written(self, ask, tmp_path, monkeypatch, linked):
        """At the last moment before it is put there, on a disk that knows links and on one that doesn't."""
        path = tmp_path / "mine.toml"
        monkeypatch.setattr(os, "fsync", lambda _: path.write_text("another's"))
        if not linked:
            monkeypatch.setattr(os, "link", refuse_links)
        code, out, err = ask("lathe", "new", path)
        assert (code, out, path.read_text()) == (2, "", "another's")
        assert "there is such a file already" in err
        assert os.listdir(tmp_path) == [path.name], "left over"

    def test_a_disk_without_links_will_do(self, ask, tmp_path, monkeypatch):
        monkeypatch.setattr(os, "link", refuse_links)
        assert ask("lathe", "new", tmp_path / "mine.toml")[0] == 0
        assert gc.Lathe.load(tmp_path / "mine.toml").name == "My lathe"
        assert os.listdir(tmp_path) == ["mine.toml"], "left over"

    def test_with_answers(self, ask, tmp_path):
        path = tmp_path / "ours.toml"
        answers = ["--name", "Größe 'x' \"y\"", "--leadscrew", "1/3 in lead", "--hand", "left", "--module", "1,25"]
        answers += ["--gears", "80,20 40,40", "--lever", "a=b=1/3", "--lever", "slow=2", "--no-reverse"]
        code, out, _ = ask("lathe", "new", path, *answers, "--units", "INCH", "--paper", "letter", "--json")
        assert (code, json.loads(out)["examples"]) == (0, [])
        lathe = gc.Lathe.load(path)
        assert (lathe.name, lathe.leadscrew_lead_mm, lathe.leadscrew.hand) == (answers[1], Fraction("25.4") / 3, "left")
        assert (lathe.gears, lathe.module_mm, lathe.spindle_side.reverse) == ((20, 40, 40, 80), 1.25, False)
        assert dict(lathe.levers) == {"a=b": Fraction(1, 3), "slow": 2}
        assert (lathe.units, lathe.paper) == ("inch", "Letter")

    def test_with_several_levers(self, ask, tmp_path):
        """1/3 or 1, times 1/2, 2/3 or 1; the example of a [[lever]] stands below them, not read, as before."""
        path = tmp_path / "box.toml"
        levers = ["--levers", "range: slow=1/3, fast=1", "--levers", "cone:A=1/2,B = 2/3, a=b=1"]
        assert ask("lathe", "new", path, *levers)[0] == 0
        found = {frozenset(name.split(", ")): ratio for name, ratio in gc.Lathe.load(path).levers.items()}
        ranges = {"range slow": Fraction(1, 3), "range fast": Fraction(1)}
        cones = {"cone A": Fraction(1, 2), "cone B": Fraction(2, 3), "cone a=b": Fraction(1)}
        assert found == {frozenset((r, c)): ranges[r] * cones[c] for r in ranges for c in cones}
        assert set(data_folder().joinpath("example_lathe.toml").read_text("utf-8").splitlines()) <= set(
            path.read_text("utf-8").splitlines()
        )

    @pytest.mark.parametrize(
        ("levers", "said"),
        [(["r: a=-1"], "more than zero"), (["r: a=1", "r: b=1"], "two levers of --levers are called 'r'")],
    )
    def test_what_is_wrong_with_levers_is_said_of_the_answer_and_no_line_of_a_file(self, ask, tmp_path, levers, said):
        _, _, err = ask("lathe", "new", tmp_path / "x.toml", *(word for each in levers for word in ("--levers", each)))
        assert said in err
        assert "(line" not in err

    @in_one(
        "answers",
        [
            ["--levers", "slow=1"], ["--levers", "range:"], ["--levers", "range: slow"], ["--levers", ": slow=1"],
            ["--levers", "range: slow=1, slow=2"], ["--levers", "range: a=1", "--levers", "range: b=1"],
            ["--levers", "range: a=1, b=2", "--lever", "slow=1"], ["--levers", "range: a=x"],
            ["--leadscrew", "8 tip"], ["--gears", "2"], ["--gears", "x"], ["--module", "x"], ["--module", "-1"],
            ["--module", "1", "--diametral-pitch", "20"], ["--lever", "slow"], ["--lever", "slow=x"],
            ["--lever", "slow=1", "--lever", "slow=2"], ["--lever", "=1"], ["--name", ""], ["--name", "a\x1b[2J"],
            ["--units", "yards"], ["--paper", "a5"], ["--hand", "both"], ["--leadscrew", "8 tpi LH"],
        ],
    )  # fmt: skip
    def test_answers_that_are_none_write_nothing(self, ask, tmp_path, answers):
        code, out, err = ask("lathe", "new", tmp_path / "x.toml", *answers)
        assert (code, out, len(err.splitlines())) == (2, "", 1)
        assert list(tmp_path.iterdir()) == []
        assert "_number" not in err

    @pytest.mark.parametrize("arguments", [[], ["old"], ["new", "a", "b"]])
    def test_what_it_can_do(self, ask, arguments):
        assert ask("lathe", *arguments)[0] == 2


class TestCheck:
    def test_says_what_the_file_leaves_out(self, ask, tmp_path):
        (tmp_path / "bare.toml").write_text(BARE)
        out = ask("check", tmp_path / "bare.toml")[1]
        assert "Not in the file: [bracket], [dial], [feeds], [plate]." in out
        assert "Not in the file" not in ask("check", "inch")[1]

    def test_says_what_is_still_the_example(self, ask, tmp_path):
        path = tmp_path / "new.toml"
        still = "of the example"
        ask("lathe", "new", path)
        assert f"Leadscrew and gears are still those {still}: put in your own." in ask("check", path)[1]
        path.write_text(path.read_text(encoding="utf-8").replace('"8 tpi"', '"6 tpi"', 1), encoding="utf-8")
        assert f"The gears are still those {still}: put in your own." in ask("check", path)[1]
        path.write_text(path.read_text(encoding="utf-8").replace("20, 30,", "24, 30,", 1), encoding="utf-8")
        assert ask("check", path)[0] == 0
        assert still not in ask("check", path)[1] + ask("check", "inch")[1]

    def test_a_rounded_ratio_is_asked_about_and_a_decimal_that_is_meant_is_not(self, ask, tmp_path):
        file = tmp_path / "rounded.toml"
        drive = "feeds = {{ longitudinal = {0}, cross = {1} }}\n"
        for written, meant in (("0.333", "1/3"), ("0.6667", "2/3"), ("1.167", "7/6"), ("0.375", ""), ("0.33", "")):
            file.write_text(BARE + drive.format('"1/8"', written) + f"[[gearbox]]\nlever = 'low'\nratio = {written}\n")
            said = " ".join(ask("check", str(file))[1].split())
            assert said.count("rounded, write") == (2 if meant else 0), written
            assert meant == "" or f'The lever at low is {written}. If that is {meant}, rounded, write "{meant}"' in said
        file.write_text(BARE + "spindle_side.ratio = 0.333\n")
        assert "The spindle side is 0.333. If that is 1/3, rounded" in ask("check", str(file))[1]
        assert all("rounded" not in ask("check", name)[1] for name in ("inch", "metric", "odd"))


class TestBracket:
    def test_the_idle_gear_of_a_cluster_is_placed_from_its_idler_as_on_the_card(self, ask, tmp_path):
        gears = GearSet([30, 60], module_mm=1.25, clusters=[(65, 40)])
        path = tmp_path / "cluster.toml"
        path.write_text(evolve(gc.demo_lathe("inch"), gear_set=gears, plate=()).to_toml(), encoding="utf-8")
        found = gc.fit(gc.Lathe.load(path), "30/60")
        (idle,) = [plane for _, _, plane in found.idle_gears]
        side = "in front of" if idle > found.planes[0] else "behind"
        said = f"idle 40 of the cluster 40–65: in the plane {side} the idler 65, meshes with nothing"
        assert said in ask("bracket", path, "30/60")[1]

    def test_where_everything_stands(self, ask):
        """Centre distances by hand: module × half the sum of teeth, and for the backlash 0.2 mm ÷ (2 tan 20°)."""
        code, out, _ = ask("bracket", "inch", "(40 63)/(80 50)", "--json")
        said = json.loads(out)
        assert (code, said["goes_on"], said["reasons"]) == (0, True, [])
        pairs = zip(said["drivers"], said["driven"], strict=True)
        first, second = (1.25 * (driver + driven) / 2 + 0.1 / 0.36397 for driver, driven in pairs)
        spindle, stud, pivot = said["axes_mm"]
        assert (spindle, pivot) == ([-50, 94], [0, 0])
        assert (dist(spindle, stud), hypot(*stud)) == (pytest.approx(first, abs=1e-3), pytest.approx(second, abs=1e-3))
        assert -75 <= said["swing_deg"] <= 20
        assert [gap["mm"] for gap in said["clearances_mm"]] == sorted(gap["mm"] for gap in said["clearances_mm"])
        assert said["clearances_mm"][0]["mm"] >= 0.5

    def test_in_words_and_drawn(self, ask, tmp_path):
        code, out, _ = ask("bracket", "inch", "40/80", "--save", tmp_path / "b.svg")
        assert code == 0
        assert "40/80 goes on as 40/80, idler" in out
        assert "stud:" in out
        assert (tmp_path / "b.svg").read_text().startswith("<")

    def test_what_does_not_go_on(self, ask, tmp_path):
        # At module 1.25 mm the chain 40, 20, 80 reaches 37.5 + 62.5 mm; the fixed axes are √(50² + 94²) = 106 mm apart.
        code, out, _ = ask("bracket", "inch", "40/80", "--idlers", "20", "--save", tmp_path / "b.svg", "--json")
        said = json.loads(out)
        assert (code, said["goes_on"], said["idlers"]) == (1, False, [[20]])
        assert said["reasons"]
        assert (tmp_path / "b.svg").is_file()

    def test_a_gear_that_is_not_there_yet_may_be_tried(self, ask):
        for train, had in (("127/60", (127,)), ("(40 40 40)/(80 50 50)", (40, 50))):
            said = json.loads(ask("bracket", "inch", train, "--json")[1])
            assert tuple(said["not_owned"]) == had
            assert "which the lathe does not have" in ask("bracket", "inch", train)[1]
        assert "which the lathe" not in ask("bracket", "inch", "40/80")[1]

    def test_an_idler_to_be_avoided(self, ask):
        one = json.loads(ask("bracket", "inch", "40/80", "--json")[1])["idlers"]
        other = json.loads(ask("bracket", "inch", "40/80", "--avoid", str(one[0][0]), "--json")[1])["idlers"]
        assert one != other

    def test_without_a_bracket_it_says_what_to_add(self, ask, tmp_path):
        (tmp_path / "bare.toml").write_text(BARE)
        code, _, err = ask("bracket", tmp_path / "bare.toml", "20/40")
        assert code == 2
        assert "[bracket]" in err

    @in_one(
        "line",
        [
            "bracket inch", "bracket inch x", "bracket inch 40/80 --lever no", "bracket inch 40/80 --save b.pdf",
            "bracket inch 40/80 --idlers 3:20", "bracket inch 40/80 --hand both", "bracket no 40/80",
        ],
    )  # fmt: skip
    def test_one_clear_line(self, ask, line):
        code, out, err = ask(*line.split())
        assert (code, out, len(err.splitlines())) == (2, "", 1)
