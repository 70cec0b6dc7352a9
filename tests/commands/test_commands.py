"""The command line: what it says in words and in JSON, its exit codes, and that no error is a traceback."""

from __future__ import annotations

import errno
import json
import os
import re
import signal
import subprocess
import sys
import time
from contextlib import contextmanager, suppress
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc import commands
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import data_folder
from gearcalc.commands import main
from gearcalc.finding.search import find_setups
from gearcalc.learning import lesson_copies
from tests.how_much import in_one

INCH = data_folder() / "lathes" / "inch.toml"


@pytest.fixture
def ask_json(ask):
    def run(*arguments):
        code, out, err = ask(*arguments, "--json")
        assert err == ""
        return code, json.loads(out)

    return run


def assert_exact(fields, name):
    """A float stands beside the exact fraction that it is."""
    assert float(Fraction(fields[f"{name}_exact"])) == fields[name]


class TestFind:
    def test_best_first_in_words(self, ask):
        code, out, err = ask("find", "inch", "1.75", "mm", "--count", 3)
        lines = out.splitlines()
        assert (code, err) == (0, "")
        assert lines[0] == "Bench lathe with an inch leadscrew, for 1.75 mm:"
        best = find_setups(gc.demo_lathe("inch"), "1.75 mm", count=3, first="simplest")
        assert "\n".join(lines[1:]) == str(best)

    @pytest.mark.parametrize("said", ["nearest", "Nearest"])
    def test_the_nearest_first(self, ask, said):
        code, out, _ = ask("find", "inch", "M10", "--count", 3, "--first", said)
        assert code == 0
        assert out.split("\n", 1)[1].rstrip() == str(find_setups(gc.demo_lathe("inch"), "M10", count=3))

    def test_json_carries_the_same_setups(self, ask_json):
        code, said = ask_json("find", INCH, "M8", "--count", 4)
        best = find_setups(gc.Lathe.load(INCH), "M8", count=4, first="simplest")
        assert code == 0
        assert said["reason"] == best.reason
        assert [tuple(each["drivers"]) for each in said["setups"]] == [each.train.drivers for each in best]
        for fields, each in zip(said["setups"], best, strict=True):
            assert Fraction(fields["lead_mm_exact"]) == each.lead_mm
            assert fields["error_ppm"] == each.error_ppm
            assert Fraction(fields["error_exact"]) == each.lead_mm / Fraction(5, 4) - 1
            assert_exact(fields, "lead_mm")

    def test_options_are_kept_to(self, ask_json):
        options = ("--meshes", "1,2", "--avoid", "40,63", "--within-ppm", "5000", "--count", "30")
        _, said = ask_json("find", "inch", "1.25 mm", *options)
        assert said["setups"]
        for each in said["setups"]:
            assert len(each["drivers"]) <= 2
            assert not {40, 63} & {*each["drivers"], *each["driven"]}
            assert abs(each["error_ppm"]) <= 5000

    def test_options_before_the_thread(self, ask):
        assert (
            ask("find", "--count", 1, "inch", "--meshes", 1, "16", "tpi")[:2]
            == ask("find", "inch", "16 tpi", "--meshes", 1, "--count", 1)[:2]
        )

    def test_a_feed(self, ask_json):
        _, said = ask_json("find", "inch", "--feed", "0.1 mm/rev", "--count", 1)
        # The feed drive makes 1/8 of what the half-nuts would: ten times 0.08 mm.
        assert said["wanted"] == "0.1 mm/rev"
        best = said["setups"][0]
        assert best["lead_mm"] == pytest.approx(0.8 * (1 + best["error_ppm"] / 1e6), rel=1e-12)

    def test_a_worm(self, ask_json):
        _, said = ask_json("find", "metric", "module", "1", "--count", 1)
        assert said["setups"][0]["error_exact"] is None
        assert said["setups"][0]["lead_mm"] == pytest.approx(3.14159265, rel=1e-3)

    def test_nothing_near_enough_says_so(self, ask, ask_json):
        wanted = ("find", "inch", "1.25 mm", "--meshes", 1, "--within-ppm", "0.001")
        code, out, err = ask(*wanted)
        assert (code, err) == (1, "")
        assert len(out.splitlines()) >= 2
        code, said = ask_json(*wanted)
        assert (code, said["setups"]) == (1, [])
        assert said["note"]


class TestCuts:
    def test_in_words(self, ask):
        code, out, _ = ask("cuts", "inch", "40/80", "--lever", "middle")
        assert code == 0
        assert "lever middle: lead 16 tpi (1.5875 mm)\n" in out
        assert "3/8-16 UNC" in out

    # On an 8 tpi leadscrew 40/80 cuts 8, 16 and 32 tpi at levers 2, 1 and 1/2.
    @pytest.mark.parametrize(("lever", "tpi"), [("high", 8), ("middle", 16), ("low", 32)])
    def test_the_lever_halves_and_doubles(self, ask_json, lever, tpi):
        _, said = ask_json("cuts", "inch", "40/80", "--lever", lever, "--wanted", f"{tpi} tpi")
        assert Fraction(said["lead_mm_exact"]) == Fraction(127, 5) / tpi
        assert (said["error_ppm"], said["error_exact"], said["is_exact"]) == (0.0, "0", True)

    def test_passes_for(self, ask_json):
        _, said = ask_json("cuts", "metric", "40/80", "--lever", "fast", "--within-ppm", "0")
        assert {"M10x1.5", "M12x1.5"} <= {near["thread"] for near in said["passes_for"]}
        assert {near["lead_mm_exact"] for near in said["passes_for"]} == {"3/2"}

    @in_one(
        ("length", "says", "code"),
        [
            # +125 ppm of 12 and 50.8 mm act as 1.5 and 6.35 µm times √3 on the pitch diameter: of 150 µm 1.7 and 7.3 %.
            ("12", "Uses 1.7 % of the pitch-diameter tolerance of 6g (5.9 thou) over 0.4724 in of engagement", 0),
            ("2 in", "Uses 7.3 % of the pitch-diameter tolerance of 6g (5.9 thou) over 2 in of engagement", 0),
            ("1000", "Uses 144 % of the pitch-diameter tolerance", 1),
        ],
    )
    def test_over_an_engagement(self, ask, ask_json, length, says, code):
        asked = ("cuts", "inch", "(70 63)/(50 80)", "--lever", "low", "--wanted", "M12")
        got, said = ask_json(*asked, "--engagement", length)
        assert (got, said["engagement"].startswith(says)) == (code, True)
        assert said["engagement"] in ask(*asked, "--engagement", length)[1].splitlines()
        assert ask_json(*asked)[1]["engagement"] is None

    @in_one("asked", ["inch 40/80 --lever low", "inch 40/80 --lever low --wanted 0.1mm/rev", "inch"])
    def test_an_engagement_is_that_of_a_thread(self, ask, asked):
        code, out, err = ask("cuts", *asked.split(), "--engagement", "12")
        assert (code, out, "engagement go" in err) == (2, "", True)

    def test_near_nothing(self, ask):
        assert "near no standard thread" in ask("cuts", "inch", "20/63", "--lever", "low", "--within-ppm", "1")[1]

    def test_one_mesh_between_fixed_axes_is_given_an_idler(self, ask, ask_json):
        # Two meshing gears alone would turn the leadscrew the other way round; one idler puts that right again.
        _, said = ask_json("cuts", "inch", "40/80", "--lever", "low")
        assert [len(mesh) for mesh in said["idlers"]] == [1]
        assert said["reverse_over"] is False
        assert (said["fit"]["goes_on"], said["fit"]["reasons"]) == (True, [])
        assert "Fit: goes on" in ask("cuts", "inch", "40/80", "--lever", "low")[1]

    def test_what_does_not_go_on_is_still_worked_out(self, ask_json):
        # At module 1.25 mm the chain 40, 20, 80 reaches 37.5 + 62.5 mm; the fixed axes are √(50² + 94²) = 106 mm apart.
        _, said = ask_json("cuts", "inch", "40/80", "--lever", "low", "--idlers", "20")
        assert said["fit"]["goes_on"] is False
        assert "short of" in said["fit"]["reasons"][0]
        assert said["lead_mm_exact"] == "127/160"
        assert said["idlers"] == [[20]]

    def test_without_a_bracket_the_fit_is_not_checked(self, ask, ask_json, tmp_path):
        path = tmp_path / "bare.toml"
        path.write_text('name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 80]\n')
        assert "Fit not checked" in ask("cuts", path, "40/80")[1]
        _, said = ask_json("cuts", path, "40/80")
        assert (said["fit"], said["idlers"], said["reverse_over"]) == (None, [[]], True)

    def test_idlers_turn_the_hand_round_but_not_the_lead(self, ask_json):
        _, bare = ask_json("cuts", "metric", "40 50/80 60", "--lever", "fast")
        assert bare["idlers"] == [[], []]
        _, first = ask_json("cuts", "metric", "40 50/80 60", "--lever", "fast", "--idlers", "64")
        _, second = ask_json("cuts", "metric", "40/80 50/60", "--lever", "fast", "--idlers", "2:64,66")
        assert (first["idlers"], second["idlers"]) == ([[64], []], [[], [64, 66]])
        assert bare["lead_mm"] == first["lead_mm"] == second["lead_mm"]
        assert bare["reverse_over"] is not first["reverse_over"]
        assert bare["reverse_over"] is second["reverse_over"]


class TestCheck:
    def test_a_good_file(self, ask):
        code, out, err = ask("check", INCH)
        assert (code, err) == (0, "")
        assert "all 17 rows of the plate cut what they say" in out

    @pytest.fixture
    def misprinted(self, tmp_path):
        path = tmp_path / "misprinted.toml"
        plate = '"99 tpi" = { drivers = [40], driven = [80], lever = "nosuch" }\n"12 tpi" = { drivers = [40], '
        path.write_text(INCH.read_text().replace('"12 tpi" = { drivers = [40], ', plate).replace("[60], l", "[61], l"))
        return path

    def test_wrong_rows_are_named(self, ask, misprinted):
        code, out, err = ask("check", misprinted)
        assert (code, err) == (1, "")
        assert "99 tpi: Lever must be one of 'low', 'middle', 'high'; the row says 'nosuch'." in out
        assert "12 tpi: The set has no gear of 61 teeth." in out
        assert "3 of the 18 rows" in out  # 24 tpi has the 60 too
        assert "\n  8 tpi" not in out

    def test_in_json(self, ask_json, misprinted):
        code, said = ask_json("check", misprinted)
        assert (code, said["ok"]) == (1, False)
        rows = {row["thread"]: row for row in said["plate"]}
        assert not rows["12 tpi"]["ok"]
        assert rows["12 tpi"]["error_ppm"] == pytest.approx((60 / 61 - 1) * 1e6)
        assert rows["99 tpi"]["lead_mm"] is None
        assert {tuple(row) for row in said["plate"]} == {tuple(rows["8 tpi"])}  # the same keys, whatever the answer
        assert rows["8 tpi"] == {
            "thread": "8 tpi",
            "ok": True,
            "problems": [],
            "goes_on": True,
            "lead_mm": 3.175,
            "lead_mm_exact": "127/40",
            "error_ppm": 0.0,
            "error_exact": "0",
        }

    def test_an_allowance(self, ask, tmp_path):
        path = tmp_path / "near.toml"
        path.write_text(
            'name = "A"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 63]\n'
            '[plate]\n"2 mm" = {drivers=[40], driven=[63]}\n'
        )
        assert [ask("check", path, "--within-ppm", ppm)[0] for ppm in (0, 7000, 9000)] == [1, 1, 0]

    def test_no_plate(self, ask, tmp_path):
        (tmp_path / "bare.toml").write_text('name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n')
        code, out, _ = ask("check", tmp_path / "bare.toml")
        assert code == 0
        assert "no plate" in out
        assert "fit is not checked: the file describes no [bracket]" in out

    def test_a_bracket_measured_from_the_wrong_side(self, ask, ask_json, tmp_path):
        path = tmp_path / "mirrored.toml"
        path.write_text(INCH.read_text().replace("spindle_side_at_mm = [-50", "spindle_side_at_mm = [50"))
        code, out, _ = ask("check", path)
        assert code == 1
        assert "5 of the 17 rows of the plate do not go on" in out
        assert out.count("does not go on the bracket of the file.") == 5
        assert "the first number of spindle_side_at_mm negated" in out
        code, said = ask_json("check", path)
        assert (code, said["ok"]) == (1, False)
        assert [row["goes_on"] for row in said["plate"]].count(False) == 5


class TestLessons:
    @pytest.fixture
    def opened(self, monkeypatch):
        """What was opened, and at which port."""
        told = []
        monkeypatch.setattr("gearcalc.learning.lesson_copies.open_lessons", lambda *asked: told.append(asked) or 0)
        return told

    def test_copies_without_opening(self, ask_json, ask, tmp_path, opened):
        code, said = ask_json("lessons", tmp_path / "mine", "--no-open")
        assert code == 0
        assert {path.name for path in (tmp_path / "mine").glob("[!.]*.*")} <= {each["name"] for each in said["files"]}
        again = ask("lessons", tmp_path / "mine", "--no-open")[1]
        assert again == f"The lessons are in {tmp_path / 'mine'}: {len(said['files'])} unchanged.\n"
        assert opened == []

    def test_a_lesson_that_makes_room_is_named_and_the_rest_is_counted(self, ask, tmp_path, opened):
        ask("lessons", tmp_path, "--no-open")
        (tmp_path / ".gearcalc-shipped.json").unlink()
        (tmp_path / "01_one_turn.ipynb").write_text("my words")
        said, *named = ask("lessons", tmp_path)[1].splitlines()
        assert said.endswith(" unchanged and 1 moved.")
        assert [line.split(" is now ")[0] for line in named] == ["  01_one_turn.ipynb: there is a new edition; yours"]

    def test_opens_what_it_copied(self, ask, tmp_path, monkeypatch, opened):
        monkeypatch.chdir(tmp_path)
        assert ask("lessons", "--port", "8899")[0] == 0
        assert opened == [("gearcalc-lessons", 8899)]
        assert (tmp_path / "gearcalc-lessons" / "LICENSE").is_file()

    def test_a_port_of_nothing_is_refused(self, ask, tmp_path, opened):
        code, _, err = ask("lessons", tmp_path / "mine", "--port", "8899", "--no-open")
        assert (code, opened, (tmp_path / "mine").exists()) == (2, [], False)
        assert "nothing is started" in err

    def test_what_cannot_be_written_is_named_and_is_no_success(self, ask, tmp_path, monkeypatch, opened):
        ask("lessons", tmp_path, "--no-open")
        lesson = tmp_path / "01_one_turn.ipynb"
        lesson.unlink()
        as_it_is = lesson_copies.put_in_place

        def refuse_the_lesson(path, content, **how):
            if path == lesson:
                raise PermissionError(13, "Permission denied")
            as_it_is(path, content, **how)

        monkeypatch.setattr(lesson_copies, "put_in_place", refuse_the_lesson)
        code, out, _ = ask("lessons", tmp_path, "--no-open")
        assert code == 1
        assert "  01_one_turn.ipynb: left, Permission denied\n" in out
        (tmp_path / "01_one_turn.fresh.ipynb").write_text("a twin that is no failure")
        monkeypatch.undo()
        assert ask("lessons", tmp_path, "--no-open")[0] == 0

    @in_one("arguments", [["lessons", "", "--no-open"], ["lessons", " ", "--as-it-is"], ["web", ""], ["serve", " "],
                          ["hub", ""], ["marks", ""], ["handout", "01", "--save", ""], ["web", "x", "--parts", " "],
                          ["web", "x", "--pyodide", ""]])  # fmt: skip
    def test_a_folder_without_a_name_is_none(self, ask, tmp_path, monkeypatch, opened, arguments):
        monkeypatch.chdir(tmp_path)
        code, out, err = ask(*arguments)
        assert (code, out, opened) == (2, "", [])
        assert "needs a name" in err
        assert list(tmp_path.iterdir()) == []

    def test_as_it_is_nothing_is_changed(self, ask, ask_json, tmp_path, opened):
        (tmp_path / "01_one_turn.ipynb").write_text("my words")
        code, said = ask_json("lessons", tmp_path, "--as-it-is")
        assert (code, said["files"], opened) == (0, [], [(str(tmp_path), None)])
        assert [path.name for path in tmp_path.iterdir()] == ["01_one_turn.ipynb"]
        assert "01_one_turn.ipynb" not in ask("lessons", tmp_path, "--as-it-is")[1]


BAD = [
    ["find"],
    ["find", "inch"],
    ["find", "inch", "16 tip"],
    ["find", "inch", "16 tpi", "--count", "many"],
    ["find", "inch", "16 tpi", "--count", "-1"],
    ["find", "inch", "16 tpi", "--count", "0"],
    ["find", "inch", "16 tpi", "--meshes", "9"],
    ["find", "inch", "16 tpi", "--meshes", ""],
    ["find", "inch", "16 tpi", "--meshes", "x"],
    ["find", "inch", "16 tpi", "--within-ppm", "nan"],
    ["find", "inch", "16 tpi", "--within-ppm", "-5"],
    ["find", "inch", "16 tpi", "--avoid", "forty"],
    ["find", "inch", "fast", "--feed"],
    ["find", "nosuch", "M8"],
    ["find", "nosuch.toml", "M8"],
    ["find", "", "M8"],
    ["find", "x" * 5000, "M8"],
    ["find", "inch", "9" * 5000],
    ["cuts", "inch", "40/80"],
    ["cuts", "inch", "40/80", "--lever", "nosuch"],
    ["cuts", "inch", "40/81", "--lever", "low"],
    ["cuts", "inch", "forty/80", "--lever", "low"],
    ["cuts", "inch", "40/80", "--lever", "low", "--wanted", "x"],
    ["cuts", "inch", "40/80", "--lever", "low", "--idlers", "x"],
    ["cuts", "inch", "40/80", "--lever", "low", "--idlers", "2:60"],
    ["cuts", "inch", "40/80", "--lever", "low", "--idlers", "0:60"],
    ["cuts", "inch", "40/80", "--lever", "low", "--idlers", "61"],
    ["cuts", "inch", "40/80", "--lever", "low", "--within-ppm", "x"],
    ["check"],
    ["check", os.sep],
    ["check", "inch", "--within-ppm", "-1"],
    ["check", "inch", "--nosuch"],
    ["check", "inch", "metric"],
    ["lessons", os.devnull, "--no-open"],
    ["lessons", "nosuch", "--as-it-is"],
    ["lessons", "nosuch", "--as-it-is", "--no-open"],
    ["lessons", "--port", "0"],
    ["lessons", "--port", "65536"],
    ["lessons", "--port", "x"],
    ["nosuch"],
    ["--nosuch"],
]


class TestBadInput:
    @in_one("arguments", BAD)
    def test_one_clear_line(self, ask, arguments):
        code, out, err = ask(*arguments)
        assert (code, out) == (2, "")
        assert err.startswith("gearcalc: ")
        assert len(err.splitlines()) == 1
        assert len(err) < 1000

    def test_a_length_below_zero_is_told_the_limit(self, ask):
        _, _, err = ask("proof", "M8", "--turns", "10", "--length", "-5", "--uncertainty", "0.1")
        assert "the length measured must be more than zero and at most 100000 mm, not '-5'" in err

    @in_one("number", ["-5/8", "-.5", "-,5", "-1 1/2", "-5"])
    @in_one("option", ["--length", "--uncertainty", "--turns"])
    def test_a_minus_before_a_figure_is_a_value_and_no_option(self, ask, option, number):
        right = {"--turns": "10", "--length": "12.5", "--uncertainty": "0.1"}
        code, out, err = ask("proof", "M8", *(word for pair in (right | {option: number}).items() for word in pair))
        assert (code, out) == (2, "")
        assert f"not '{number}'" in err

    @pytest.mark.parametrize("option", ["--count", "--meshes"])
    def test_an_option_is_called_as_it_was_typed(self, ask, option):
        assert ask("find", "inch", "M8", option, "-40")[2].startswith(f"gearcalc: {option} must ")

    @in_one(
        "content", [b"", b"[[[[", b"\xff\xfe\x00", b"name = 3\n" * 2, b"[gears]\nteeth = [-1]\n", b"x" * 10_000_000]
    )
    def test_a_bad_lathe_file(self, ask, tmp_path, content):
        path = tmp_path / "bad.toml"
        path.write_bytes(content)
        code, out, err = ask("check", path)
        assert (code, out) == (2, "")
        assert "bad.toml" in err
        assert len(err.splitlines()) == 1
        assert path.read_bytes() == content

    @given(st.lists(st.text(max_size=12).filter(lambda text: "\0" not in text), max_size=4))
    def test_any_words_give_an_exit_code(self, words):
        # Neither a lathe file nor a folder is made by these two.
        assert main(["cuts", "inch", *words]) in (0, 2)
        assert main(["check", *words]) in (0, 1, 2)

    def test_an_error_of_another_kind_is_not_hidden(self, monkeypatch):
        monkeypatch.setattr(commands, "_parser", lambda: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            main([])

    def test_errors_are_ours(self, monkeypatch, capsys):
        def refuse(_):
            raise GearcalcError("first line\n- second line")

        monkeypatch.setattr(commands, "_run", refuse)
        assert main([]) == 2
        assert capsys.readouterr().err == "gearcalc: first line - second line.\n"


CONTROLS = ["\x1b[2J", "\r", "\x0b", "\x0c", "\x1c", "\x1d", "\x85", "\u2028", "\u202e", "\u2066", "\x07", "\x9b31m"]
CARRIERS = {
    "an unknown key": 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n"k{}" = 1\n',
    "a section that is too long": 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n"k{}" = [0{zeros}]\n',
    "a key of the plate": 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40]\n'
    '[plate]\n"3 mm{}" = {{ drivers = [20], driven = [40] }}\n',
    "a row of the plate": 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n[plate."3 mm"]\n"k{}" = 1\n',
    "a name": 'name = "A{}"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n',
    "a note": 'name = "A"\nnote = "{}"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n',
    "a lever": 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n[[gearbox]]\nlever = "l{}"\nratio = 1\n',
    "no TOML at all": "name = {}\n",
}


def obeyed_by_a_terminal(said: str) -> set[str]:
    """Independent of the package: all that is no sign with a shape, but the end of a line and blanks with a width."""
    return {sign for sign in said if not sign.isprintable() and sign not in "\n\u202f\xa0"}


class TestControlCharacters:
    @in_one("carrier", CARRIERS)
    @in_one("control", CONTROLS)
    def test_in_a_lathe_file_never_reach_the_terminal(self, ask, tmp_path, carrier, control):
        path = tmp_path / "odd.toml"
        escaped = "".join(f"\\u{ord(sign):04x}" for sign in control)
        for written in (escaped, control):
            path.write_text(CARRIERS[carrier].format(written, zeros=", 0" * 600), encoding="utf-8", newline="")
            for command in (["check"], ["cuts"], ["find"])[
                : 3 if written == escaped else 1
            ]:  # no file holds it as it is
                said = ask(*command, path, *{"check": [], "cuts": ["20/40"], "find": ["3 mm"]}[command[0]])
                assert obeyed_by_a_terminal(said[1] + said[2]) == set()

    @in_one("control", CONTROLS[::3])
    @in_one(
        "arguments",
        [
            ["{}"],
            ["--{}"],
            ["find", "{}", "M8"],
            ["find", "inch", "{}"],
            ["find", "inch", "M8{}"],
            ["find", "inch", "M8", "--{}"],
            ["find", "inch", "M8", "--meshes", "{}"],
            ["check", "{}.toml"],
            ["cuts", "inch", "40/80", "--lever", "{}"],
            ["cuts", "inch", "40/80", "--lever", "low", "--idlers", "{}"],
            ["chart", "inch", "8 tpi", "--save", "/nosuch{}/x.csv"],
            ["card", "inch", "8 tpi", "--save", "{}"],
            ["faults", "{}"],
            ["lessons", "/dev/null/{}", "--no-open"],
            ["chart", "inch", "8 tpi", "--paper", "{}"],
        ],
    )
    def test_in_what_was_typed_never_reach_the_terminal(self, ask, arguments, control):
        said = ask(*(each.format(control) for each in arguments))
        assert obeyed_by_a_terminal(said[1] + said[2]) == set()

    @pytest.mark.parametrize("control", CONTROLS[:1], ids=ascii)
    def test_in_the_name_of_a_file_that_is_written(self, ask, tmp_path, control):
        for ask_for in (
            ["faults", "--save", tmp_path / f"a{control}.txt"],
            ["lessons", tmp_path / control, "--no-open"],
        ):
            said = ask(*ask_for)
            assert said[0] == 0
            assert obeyed_by_a_terminal(said[1] + said[2]) == set()


BARE = "bare.toml"  # made for each test: a lathe with gears, a leadscrew, and nothing else in its file
REFUSED = [
    *[arguments for arguments in BAD if len(arguments) > 1],
    ["find", "inch", "16 tpi", "--within-ppm", "-1"],
    ["find", "inch", "1.25 mm", "--meshes", "1", "--within-ppm", "0.001"],
    ["find", BARE, "0.1 mm/rev", "--feed"],
    ["find", BARE, "M6", "--avoid", "20,40"],
    ["cuts", "inch", "40 40/80 20", "--lever", "low"],
    ["cuts", "inch", "60/80", "--lever", "low", "--idlers", "60,60"],
    ["cuts", "inch", "40/80", "--lever", "low", "--within-ppm", "-1"],
    ["cuts", "inch", "40/80", "--lever", "low", "--wanted", "9" * 400],
    ["check", "inch", "--within-ppm", "nan"],
    ["chart", "inch", "8 tpi", "--within-ppm", "-1"],
    ["chart", "inch", "nosuch"],
    ["chart", "inch", ""],
    ["chart", "inch", "8 tpi", "--save", "plate.doc"],
    ["chart", "inch", "8 tpi", "--paper", "a9"],
    ["plan", "inch", "1.25 mm", "--within-ppm", "0.001"],
    ["plan", "inch", "8 tpi", "--within-ppm", "-1"],
    ["plan", "inch", "8 tpi", "--within-ppm", "inf"],
    ["plan", "inch", "8 tpi", "--mounted", "41/80"],
    ["plan", "inch", *[f"{tpi} tpi" for tpi in range(4, 44)]],
    ["plan", BARE, "0.1 mm/rev"],
    ["card", "inch", "8 tpi", "--mounted", "x"],
    ["card", "inch", "8 tpi", "--train", "40/81", "--lever", "low"],
    ["card", "inch", "8 tpi", "--train", "40/80"],
    ["card", "inch", "8 tpi", "--save", "card.doc"],
    ["card", BARE, "0.1 mm/rev"],
    ["dial", BARE, "8 tpi"],
    ["dial", "inch", "8 tpi", "--train", "40/80"],
    ["dial", "inch", "nosuch"],
    ["feeds", BARE, "0.1 mm/rev"],
    ["feeds", "inch", "x"],
    ["feeds", "inch", "0.1 mm/rev", "--mounted", "40/41"],
    ["add", "inch", "1 mm", "--within-ppm", "-1"],
    ["add", "inch", "1 mm", "--within-ppm", "nan"],
    ["add", "inch", "1 mm", "--most", "99"],
    ["add", "inch", ""],
    ["proof", "M8", "--turns", "0", "--length", "1", "--uncertainty", "0.1"],
    ["proof", "M8", "--turns", "10", "--length", "x", "--uncertainty", "0.1"],
    ["proof", "M8", "--turns", "10", "--length", "12", "--uncertainty", "0.1", "--lathe", "inch"],
    [
        "proof",
        "M8",
        "--turns",
        "1",
        "--length",
        "1",
        "--uncertainty",
        "5",
        "--lathe",
        "inch",
        "--train",
        "40/80",
        "--lever",
        "low",
    ],
    ["faults", "nosuch", "symptom"],
]
IN_PYTHON = re.compile(r"\w=|=\w|\w\(|\b[a-z]+_[a-z_]+\b|\bNone\b(?! of)|\b(?:True|False|Setup|Train|lathe\.)\b")


class TestWordsOfTheShell:
    """What a shell complains of is mended in the shell: no word of Python, no option that the command has not."""

    @in_one("arguments", REFUSED)
    def test_no_word_of_python_and_no_option_that_is_not_there(self, ask, tmp_path, arguments):
        bare = tmp_path / BARE
        bare.write_text('name = "Bare"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40, 60]\n')
        code, out, err = ask(*(str(bare) if each == BARE else each for each in arguments))
        assert code in (0, 1, 2)
        said = (out + err).replace(str(bare), "bare")
        for typed in filter(None, arguments):  # what was typed may be said again
            said = said.replace(typed, "…")
        for key in ("module_mm", "diametral_pitch"):  # of a lathe file
            said = said.replace(key, "…")
        found = IN_PYTHON.findall(said)
        assert not found, said
        known = ask(arguments[0], "--help")[1] if arguments[0] in gc_commands(ask) else ask("--help")[1]
        for option in re.findall(r"(?<![\w-])--[a-z][a-z-]*", said):
            assert option in known or option == "--help"


@cache
def gc_commands(ask):
    return set(re.findall(r"^    ([a-z]+)  ", ask("--help")[1], re.MULTILINE))


class TestHelp:
    @in_one("arguments", [[], ["--help"], ["find", "--help"], ["cuts", "-h"], ["check", "-h"], ["lessons", "-h"]])
    def test_is_said_and_nothing_is_wrong(self, ask, arguments):
        code, out, err = ask(*arguments)
        assert (code, err) == (0, "")
        assert out.startswith("usage: gearcalc")

    @pytest.mark.parametrize(
        ("command", "told"),
        [("find", "LATHE THREAD"), ("bracket", "LATHE TRAIN"), ("cuts", "LATHE [TRAIN]"), ("faults", "[SYMPTOM]"),
         ("add", "LATHE THREAD [THREAD ...]"), ("plan", "LATHE JOB [JOB ...]")],
    )  # fmt: skip
    def test_shows_several_only_where_several_are_taken(self, ask, command, told):
        usage = " ".join(ask(command, "--help")[1].partition("\n\n")[0].split())
        assert usage.endswith(f"] {told}")

    def test_version(self, ask):
        assert ask("--version")[1] == f"gearcalc {gc.__version__}\n"


@pytest.fixture
def shell(checkout):
    """Start `python -m gearcalc` as a shell would."""

    def start(*arguments, **settings):
        environment = {**os.environ, "PYTHONPATH": str(checkout), **settings}
        return subprocess.Popen(
            [sys.executable, "-m", "gearcalc", *arguments],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
        )

    return start


@contextmanager
def open_when_read(pipe, process):
    """Hold the writing end of a named pipe, from when the process reads it and waits."""
    handle = None
    while handle is None:
        assert process.poll() is None
        try:
            handle = os.open(pipe, os.O_WRONLY | os.O_NONBLOCK)
        except OSError as problem:
            if problem.errno != errno.ENXIO:  # nobody reads yet
                raise
            time.sleep(0.05)
    yield handle
    os.close(handle)


def test_a_shell_completes_commands_options_and_lathes(checkout, tmp_path):
    """As bash asks it: the line in COMP_LINE, the answer on another file than the output."""
    pytest.importorskip("argcomplete")
    (tmp_path / "mine.toml").touch()
    (tmp_path / "notes.txt").touch()
    for line, expected in {
        "gearcalc co": {"coverage "},
        "gearcalc find me": {"metric "},
        "gearcalc find m": {"metric", "mine.toml"},
        "gearcalc card inch M8 --mou": {"--mounted "},
        "gearcalc proof M8 --hand l": {"left "},
    }.items():
        asked = {"COMP_LINE": line, "COMP_POINT": str(len(line)), "_ARGCOMPLETE": "1", "_ARGCOMPLETE_IFS": "\n"}
        subprocess.run(
            [sys.executable, "-m", "gearcalc"],
            env={**os.environ, **asked, "PYTHONPATH": os.pathsep.join([str(checkout), *sys.path]),
                 "_ARGCOMPLETE_STDOUT_FILENAME": str(tmp_path / "said")},
            cwd=tmp_path,
            check=True,
        )  # fmt: skip
        assert set((tmp_path / "said").read_text().split("\n")) == expected


STOPPED = b"gearcalc: stopped, before there was an answer.\n"


class TestFromAShell:
    def test_exit_code_and_words(self, shell):
        process = shell("cuts", "inch", "40/80", "--lever", "nosuch")
        out, err = process.communicate(timeout=60)
        assert (process.returncode, out) == (2, b"")
        assert err.decode().strip() == "gearcalc: --lever must be one of 'low', 'middle', 'high', not 'nosuch'."

    def test_a_console_of_another_encoding(self, shell):
        process = shell("cuts", "inch", "40 20/80 63", "--lever", "low", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
        out, err = process.communicate(timeout=60)
        assert (process.returncode, err) == (0, b"")
        assert re.match(
            rb"\((40 \* 20|20 \* 40)\)/\((80 \* 63|63 \* 80)\), lever low: lead 100\.8 tpi \(~ 0\.252 mm\)", out
        )
        assert b" deg; tightest" in out
        assert b"?" not in out

    @pytest.mark.parametrize("arguments", [["check", "inch"], ["--help"], ["find", "inch", "M8", "--json"]])
    def test_a_closed_pipe_is_quiet(self, shell, arguments):
        process = shell(*arguments)
        process.stdout.close()
        err = process.stderr.read()
        process.wait(timeout=60)
        process.stderr.close()
        assert err == b""

    @pytest.mark.skipif(not os.path.exists("/dev/full"), reason="only Linux has a device that is always full")
    @in_one("arguments", ["find inch '16 tpi' --count 1", "find inch M8 --json", "--help", "--version"])
    @in_one("to", [">/dev/full", ">&-"])
    def test_an_answer_that_cannot_be_written_is_no_answer_and_no_traceback(self, checkout, arguments, to):
        run = subprocess.run(
            ["sh", "-c", f"exec '{sys.executable}' -m gearcalc {arguments} {to}"],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(checkout), "PYTHONUNBUFFERED": ""},
            check=False,
        )
        assert (run.returncode, run.stdout) == (3, "")
        assert run.stderr.startswith("gearcalc: the answer can't be written (")
        assert len(run.stderr.splitlines()) == 1

    @pytest.mark.parametrize("to", ["2>/dev/full", "2>&-"])
    def test_a_complaint_that_nobody_hears_goes_nowhere_else(self, checkout, to):
        run = subprocess.run(
            ["sh", "-c", f"exec '{sys.executable}' -m gearcalc find inch x {to}"],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(checkout), "PYTHONUNBUFFERED": ""},
            check=False,
        )
        assert (run.returncode, run.stdout) == (2, "")

    def test_a_failure_of_the_program_has_an_exit_code_that_is_no_answer(self, checkout):
        broken = "import gearcalc.commands as c, gearcalc.__main__ as m; c._parser = lambda: 1 / 0; m.run()"
        run = subprocess.run(
            [sys.executable, "-c", broken],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            check=False,
        )
        assert run.returncode == 4
        assert "ZeroDivisionError" in run.stderr

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps a folder that somebody works in")
    @in_one("asked", ["web site", "handout 01 --class 3 --save a.html", "lessons mine", "marks .", "serve site --json"])
    def test_a_folder_that_is_gone_is_said(self, monkeypatch, tmp_path, ask, asked):
        (tmp_path / "here").mkdir()
        with monkeypatch.context() as there:
            there.chdir(tmp_path / "here")
            (tmp_path / "here").rmdir()
            code, out, err = ask(*asked.split())
        assert (code, out) == (2, ""), asked
        assert len(err.splitlines()) == 1, err
        assert "Traceback" not in err

    def test_a_file_that_is_missing_where_the_folder_is_there_is_a_failure_of_ours(self, monkeypatch, ask):
        monkeypatch.setattr("gearcalc.commands._parser", lambda: os.stat("no such file"))
        with pytest.raises(FileNotFoundError, match="no such file"):
            ask("find")

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal to send")
    @in_one("after", [0.02, 0.05, 0.1, 0.2, 0.3])
    def test_ctrl_c_is_no_traceback_however_early(self, checkout, after):
        """From when the package begins; before that, while Python and its signals are read, it can't be quiet."""
        begin = (
            "import gearcalc, signal, sys; print(flush=True)\n"
            "sys.argv[1:] = ['plan', 'inch', '8 tpi', '9 tpi', 'M6', 'M8']\n"
        )
        process = subprocess.Popen(
            [sys.executable, "-c", begin + "import gearcalc.__main__ as m; m.run()"],
            stderr=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        process.stdout.readline()
        time.sleep(after)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=60)
        assert (err, process.returncode) in ((STOPPED, 130), (b"", 0))

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal to send")
    def test_ctrl_c_after_the_answer_takes_nothing_of_it_back(self, checkout):
        last = "import atexit, os, signal, sys; atexit.register(os.kill, os.getpid(), signal.SIGINT)\n"
        begin = "sys.argv[1:] = ['find', 'inch', '20 tpi']; import gearcalc.__main__ as m; m.run()"
        done = subprocess.run(
            [sys.executable, "-c", last + begin],
            capture_output=True,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        assert (done.stderr, done.returncode) == (b"", 0)
        assert b"40/50" in done.stdout

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal to send")
    def test_ctrl_c_is_answered_in_one_line(self, checkout, tmp_path):
        # A command that takes its time: a lathe file that is a pipe, and nobody writes to it.
        os.mkfifo(tmp_path / "slow.toml")
        process = subprocess.Popen(
            [sys.executable, "-m", "gearcalc", "check", str(tmp_path / "slow.toml")],
            stderr=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            # Started in the background, a process is deaf to Ctrl-C, and hands that on.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        with open_when_read(tmp_path / "slow.toml", process):
            for _ in range(12):  # a signal between two steps of a read is only heard at the next one
                process.send_signal(signal.SIGINT)
                with suppress(subprocess.TimeoutExpired):
                    out, err = process.communicate(timeout=5)
                    break
        assert (process.returncode, out, err) == (130, b"", STOPPED)


@in_one(
    ("asked", "endings"),
    [
        ("marks gone --save x.txt", ".csv or .html"),
        ("worksheet no-such --class 1-3 --save x.html", ".pdf"),
        ("worksheet no-such --class 1-3 --key x.html", ".pdf"),
        ("chart gone.toml M8 --save x.html", ".pdf, .svg or .csv"),
        ("card gone.toml M8 --save x.svg", ".html, .pdf or .txt"),
        ("faults nonsense --save x.csv", ".html, .pdf or .txt"),
        ("bracket gone.toml 40/80 --save x.pdf", ".svg"),
    ],
)
def test_a_wrong_ending_is_said_before_the_work(ask, asked, endings):
    code, out, err = ask(*asked.split())
    assert (code, out) == (2, ""), asked
    assert f"saved as a file ending {endings}, not 'x." in err, err
