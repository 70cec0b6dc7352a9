"""Options are even: which command has which, why one lacks, and that an option means the same wherever it stands."""

from __future__ import annotations

import argparse
import io
import json
import os
import re
import shlex
from contextlib import redirect_stderr, redirect_stdout
from fractions import Fraction
from functools import cache
from itertools import chain

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc import commands
from gearcalc.basics.files import data_folder
from gearcalc.commands.options import length
from gearcalc.lathes.train_lines import train_and_lever
from tests.how_much import examples, in_one
from tests.strategies import trains
from tests.teaching.invented_class import answers, write

SHARED = ("first", "avoid", "meshes", "within-ppm", "mounted", "units", "paper", "json")
NO_PAPER = "nothing is printed"
NAMED = "the gears are named"
ONE_TRAIN = "nothing else is set up"
NOTHING_SET_UP = dict.fromkeys(("first", "avoid", "meshes", "within-ppm", "mounted"), "no gears are looked for")
NEAREST = "they are chosen together; --within-ppm 0 for the nearest of each"
SIMPLEST = "the simplest train that is near enough is taken"
LACKS = {
    "lessons": {**NOTHING_SET_UP, "units": "it shows no length", "paper": NO_PAPER},
    "lathe": {**NOTHING_SET_UP},
    "find": {"paper": NO_PAPER},
    "cuts": {"first": NAMED, "mounted": ONE_TRAIN, "paper": NO_PAPER},
    "check": {**dict.fromkeys(("first", "avoid", "meshes"), NAMED), "mounted": ONE_TRAIN, "paper": NO_PAPER},
    "bracket": {
        **dict.fromkeys(("first", "meshes"), NAMED),
        "within-ppm": "nothing is cut",
        "units": "brackets are measured in mm, as in the lathe file",
        "paper": NO_PAPER,
    },
    "add": {"first": "all trains count", "mounted": "what is bought is not bought for one change", "paper": NO_PAPER},
    "coverage": {
        "first": "all trains count",
        "within-ppm": "it is what is asked for",
        "mounted": "no train of them is set up",
        "paper": NO_PAPER,
    },
    "chart": {"first": NEAREST, "mounted": "a plate begins nowhere"},
    "plan": {"first": NEAREST, "paper": NO_PAPER},
    "card": {},
    "dial": {"paper": NO_PAPER},
    "feeds": {"first": SIMPLEST, "meshes": SIMPLEST, "paper": NO_PAPER},
    "proof": {**NOTHING_SET_UP, "paper": NO_PAPER},
    "faults": {**NOTHING_SET_UP, "units": "it shows no length"},
    "handout": {**NOTHING_SET_UP, "units": "lessons show both"},
    "web": {**NOTHING_SET_UP, "units": "lessons show both", "paper": NO_PAPER},
    "supplies": {**NOTHING_SET_UP, "units": "it shows no length", "paper": NO_PAPER},
    "serve": {**NOTHING_SET_UP, "units": "it shows no length", "paper": NO_PAPER},
    "hub": {**NOTHING_SET_UP, "units": "it shows no length", "paper": NO_PAPER},
    "worksheet": {**NOTHING_SET_UP, "units": "each exercise has its own"},
    "exercises": {**NOTHING_SET_UP, "units": "it shows no length", "paper": NO_PAPER},
    "marks": {**NOTHING_SET_UP, "units": "it shows no length", "paper": NO_PAPER},
}
"""For each command the shared options that it lacks, and why; it has all the others."""


@cache
def parsers() -> dict[str, argparse.ArgumentParser]:
    (sub,) = (action for action in commands._parser()._actions if isinstance(action, argparse._SubParsersAction))
    return sub.choices


def option(command: str, name: str) -> argparse.Action | None:
    return parsers()[command]._option_string_actions.get(f"--{name}")


class TestWhichCommandHasWhich:
    def test_all_commands_are_here(self):
        assert set(LACKS) == set(parsers())

    @in_one("command", LACKS)
    def test_it_has_every_shared_option_or_a_reason(self, command):
        has = {name for name in SHARED if option(command, name) is not None}
        assert has == set(SHARED) - set(LACKS[command])
        assert all(LACKS[command].values())

    @in_one("name", SHARED)
    def test_it_is_asked_for_and_explained_alike(self, name):
        there = [found for command in LACKS if (found := option(command, name)) is not None]
        assert len({(found.metavar, found.type, found.help.split(" (here: ")[0]) for found in there}) == 1

    @in_one("command", LACKS)
    def test_every_option_is_explained_in_its_help(self, ask, command):
        code, said, _ = ask(command, "--help")
        assert code == 0
        assert all(action.help for action in parsers()[command]._actions)
        assert all(f"--{name}" in said for name in SHARED if option(command, name) is not None)


class TestEachHelpEndsWithAnExample:
    """One that works as it stands, typed in any shell."""

    @in_one("command", LACKS)
    def test_it_can_be_asked(self, command):
        given, _, typed = (parsers()[command].epilog or "").partition(" -m gearcalc ")
        assert given == "For example: python"
        assert typed.split()[0] == command
        assert not set("'$`\\%!") & set(typed)
        assert commands._parser().parse_args(shlex.split(typed)).run is not None

    def test_it_answers(self, ask, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        (tmp_path / "my_lathe.toml").write_text((data_folder() / "example_lathe.toml").read_text("utf-8"), "utf-8")
        write(tmp_path / "handed_in" / "answers-ada.json", answers(1, "Ada Thorn", {}))
        (tmp_path / "list.csv").write_text("1,Ada Thorn", "utf-8")
        failed = {}
        not_here = {"lessons", "lathe", "handout", "web", "serve", "hub"}  # pages, an overwriting, a kernel, a network
        for command in set(LACKS) - not_here:
            typed = parsers()[command].epilog.partition(" -m gearcalc ")[2].replace("1-24", "1-2")  # two are enough
            code, _, err = ask(*shlex.split(typed))
            failed |= {command: err} if code not in (0, 1) or err else {}
        assert not failed


class TestAnEmptyList:
    """What stands behind an option is a list with something in it; with nothing, it was not left out, but forgotten."""

    LISTS = ("avoid", "meshes", "idlers", "lessons", "gears", "points", "class", "turns")

    @in_one("command", LACKS)
    @in_one("value", ["", " ", ","])
    def test_is_refused(self, ask, tmp_path, monkeypatch, command, value):
        monkeypatch.chdir(tmp_path)
        typed = shlex.split(parsers()[command].epilog.partition(" -m gearcalc ")[2])
        for name in self.LISTS:
            if f"--{name}" not in parsers()[command]._option_string_actions and (command, name) != ("lathe", "gears"):
                continue
            rest = [word for place, word in enumerate(typed) if f"--{name}" not in (word, *typed[:place][-1:])]
            train = ["--train", "40/80", "--lever", "low"] if name == "idlers" and command in ("card", "dial") else []
            code, out, err = ask(*rest, *train, f"--{name}", value)
            assert (code, out, len(err.splitlines())) == (2, "", 1), (command, name)
        assert os.listdir(tmp_path) == []


class TestALeverWithoutItsTrain:
    @in_one("asked", ["card inch M8", "dial inch 8tpi", "proof M8 --turns 9 --length 9 --uncertainty 1"])
    @in_one("given", ["--lever low", "--lever nonsense", "--idlers 25"])
    def test_is_not_passed_over(self, ask, asked, given):
        code, out, err = ask(*asked.split(), *given.split())
        assert (code, out) == (2, "")
        assert "--train" in err


NAMED_TRAINS = (
    ["card", "inch", "20 tpi", "--train", "40/50, lever middle"],
    ["card", "inch", "0.1 mm/rev", "--train", "40/50, lever middle"],
    ["cuts", "inch", "40/50, lever middle"],
    ["dial", "inch", "20 tpi", "--train", "40/50, lever middle"],
    ["proof", "20 tpi", "--turns", "20", "--length", "1 in", "--uncertainty", "0.1", "--lathe", "inch", "--train",
     "40/50, lever middle"],
    ["bracket", "inch", "40/50, lever middle"],
)  # fmt: skip


class TestATrainThatIsNamed:
    @in_one("command", NAMED_TRAINS)
    def test_is_not_chosen(self, ask, command):
        for name, said in (("first", "nearest"), ("meshes", "1"), ("within-ppm", "1")):
            if option(command[0], name) is None or (command[0], name) == ("cuts", "within-ppm"):
                continue
            code, out, err = ask(*command, f"--{name}", said)
            assert (code, out) == (2, ""), (command, name)
            assert f"Leave --{name} out." in err, (command, name)

    @in_one("command", NAMED_TRAINS)
    @in_one("lever", ["low", "middle"])
    def test_names_its_lever_once(self, ask, command, lever):
        code, out, err = ask(*command, "--lever", lever)
        assert (code, out) == (2, ""), command
        assert "names its lever already" in err, command

    @in_one("command", NAMED_TRAINS)
    @in_one(("idlers", "avoid", "said"), [
        ([], "50", "50 is to be avoided, and the train that is named has it. Leave it out of --avoid"),
        ([], "40,50,55", "40 and 50 are to be avoided, and the train that is named has them. Leave them out of"),
        (["--idlers", "55"], "55", "55 is to be avoided"),
    ])  # fmt: skip
    def test_has_no_gear_that_is_to_be_avoided(self, ask, command, idlers, avoid, said):
        if option(command[0], "avoid") is not None:
            code, out, err = ask(*command, *idlers, "--avoid", avoid)
            assert (code, out) == (2, ""), command
            assert said in err, command

    def test_a_count_that_is_there_in_another_size_too_is_not_refused(self, ask, tmp_path):
        path = tmp_path / "two_sizes.toml"
        path.write_text(
            'name = "A"\nleadscrew.lead = "4 mm"\n[gears]\nteeth = [20, 40]\nmodule_mm = 1\n'
            "[[more_gears]]\nteeth = [20, 40]\nmodule_mm = 2\n"
        )
        assert "module 2" in ask("cuts", path, "20/40", "--avoid", "20,40")[1]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("find", "inch", "M8", "--within-ppm", "good"), "Or write 'any' or 'good enough'."),
        (("find", "inch", "M8", "--within-ppm", "-5"), "'any' or 'good enough'."),
        (("coverage", "inch", "0", "1"), "gearcalc: FROM must be from 0.001 to 1000 mm, not 0."),
        (("coverage", "inch", "1", "1001"), "gearcalc: TO must be from 0.001 to 1000 mm, not 1001."),
    ],
)
def test_what_was_typed_is_called_as_help_calls_it(ask, asked, said):
    code, out, err = ask(*asked)
    assert (code, out) == (2, "")
    assert said in err


def test_cuts_says_that_there_are_too_few_studs_as_find_does(ask):
    said = "A train of 4 meshes takes 3 studs, and the bracket has 2 studs."
    code, out, _ = ask("cuts", "inch", "--meshes", "4")
    assert (code, said in out.splitlines()) == (1, True)
    assert said in ask("find", "inch", "M8", "--meshes", "4")[1]
    assert "studs" not in ask("cuts", "inch", "--meshes", "1")[1]


def same_for_all(*commands: str):
    """The same asked of each of these commands."""
    return in_one("command", commands)


WITH_A_LIMIT = ("find inch M8", "card inch M8", "chart inch M8", "plan inch M8", "cuts inch 40/80 --lever low",
                "check inch", "feeds inch 0.1mm/rev")  # fmt: skip


class TestAvoid:
    @same_for_all("find inch 16tpi", "chart inch 16tpi M8", "plan inch 16tpi M8", "card inch 16tpi",
                  "feeds inch 0.1mm/rev", "cuts inch 60/80 --lever low")  # fmt: skip
    def test_no_train_has_such_a_gear_not_even_as_an_idler(self, ask, command):
        code, out, _ = ask(*command.split(), "--avoid", "40,25 55", "--json")
        assert code == 0
        setups = list(every_setup(json.loads(out)))
        assert setups
        for each in setups:
            assert not {40, 25, 55} & {*each["drivers"], *each["driven"], *chain.from_iterable(each["idlers"])}

    @same_for_all("find inch 16tpi", "chart inch 16tpi", "coverage inch 1 2", "bracket inch 40/80", "add inch 1mm")
    def test_what_is_no_gear(self, ask, command):
        code, _, err = ask(*command.split(), "--avoid", "20,-40")
        assert code == 2
        assert "argument --avoid: each must be a whole number of teeth from 1 to 1000, not -40" in err

    @same_for_all("find inch 16tpi", "chart inch 16tpi", "coverage inch 1 2", "bracket inch 40/80", "card inch 16tpi",
                  "plan inch 16tpi", "feeds inch", "cuts inch", "cuts inch 40/80 --lever low")  # fmt: skip
    def test_what_the_lathe_lacks(self, ask, command):
        code, out, err = ask(*command.split(), "--avoid", "40,81,41")
        assert (code, out) == (2, "")
        assert "the set has no gear of " in err
        assert "The nearest it has: " in err

    def test_a_damaged_gear(self, ask):
        assert ask("cuts", "odd", "--avoid", "54")[0] == 0

    @same_for_all("find inch 16tpi", "plan inch 16tpi", "card inch 16tpi", "feeds inch")
    def test_what_is_on_the_lathe_may_be_what_is_to_be_avoided(self, ask, command):
        code, out, _ = ask(*command.split(), "--avoid", "40", "--mounted", "40/80, idler 25", "--json")
        assert code == 0
        for each in every_setup(json.loads(out)):
            assert 40 not in [*each["drivers"], *each["driven"], *chain.from_iterable(each["idlers"])]

    def test_none_is_added(self, ask):
        # 127 is what metric threads need on this leadscrew; without it two or more gears do, or none.
        _, out, _ = ask("add", "inch", "1 mm", "--within-ppm", "0", "--avoid", "127", "--most", "1", "--json")
        assert 127 not in json.loads(out)["gears"]

    def test_there_is_less_to_cover_with(self, ask):
        # 20/40, 40/20 and 40/40 of 3.175 mm; without the 20 only 40/40 is left.
        lathe = gc.Lathe.from_toml('name = "A"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 40]')
        assert gc.coverage(lathe, 1, 9, 1).inside == 3
        without = gc.Lathe.from_toml('name = "A"\nleadscrew.lead = "4 mm"\ngears.teeth = [40, 40]')
        assert gc.coverage(without, 1, 9, 1).inside == 1

    def test_and_the_command_says_so(self, ask, tmp_path):
        path = tmp_path / "three.toml"
        path.write_text('name = "A"\nleadscrew.lead = "4 mm"\ngears.teeth = [20, 40, 40]')
        counted = [ask("coverage", path, "1", "9", *more, "--json")[1] for more in ([], ["--avoid", "20"])]
        assert [json.loads(out)["leads"] for out in counted] == [3, 1]


def every_setup(said: object):
    if isinstance(said, dict):
        if said.get("drivers"):
            yield said
        said = list(said.values())
    if isinstance(said, list):
        for each in said:
            yield from every_setup(each)


class TestWithinPpm:
    @in_one("ppm", ["0", "12.5", "1/3", "any", "good enough", "Good  Enough", "ANY"])
    @same_for_all(*WITH_A_LIMIT)
    def test_is_written_alike_everywhere(self, ask, command, ppm):
        _, _, err = ask(*command.split(), "--within-ppm", ppm)
        assert "--within-ppm" not in err

    @in_one("ppm", ["-1", "-1/2", "nan", "1e3", "", "many", "good"])
    @same_for_all(*WITH_A_LIMIT, "add inch M8")
    def test_and_refused_alike(self, ask, command, ppm):
        code, out, err = ask(*command.split(), "--within-ppm", ppm)
        assert (code, out) == (2, "")
        assert err.startswith("gearcalc: argument --within-ppm: it must be ")

    @pytest.mark.parametrize("ppm", ["any", "good enough"])
    def test_what_is_bought_for_all_threads_takes_a_number(self, ask, ppm):
        assert (
            "--within-ppm is a number here, the same for all threads"
            in ask("add", "inch", "M8", "--within-ppm", ppm)[2]
        )

    def test_good_enough_is_the_threads_own(self, ask):
        """M10: a tenth of its tolerance is 762 ppm; 16 tpi has none, so 200 ppm. Two meshes miss 1.5 mm by 125 ppm."""
        near = json.loads(ask("find", "inch", "M10", "--within-ppm", "good enough", "--count", "400", "--json")[1])
        errors = [abs(each["error_ppm"]) for each in near["setups"]]
        assert 200 < max(errors) <= 762.5

    def test_threads_that_a_lead_passes_for(self, ask):
        # 40/80 at middle: 16 tpi, 1.5875 mm. 0.8 mm is 794 ppm off half of it; with 'any' all of them are listed.
        all_of_them, own, within = (
            json.loads(ask("cuts", "inch", "(63 25)/(40 50)", "--lever", "low", "--within-ppm", ppm, "--json")[1])
            for ppm in ("any", "good enough", "1000")
        )
        assert len(all_of_them["passes_for"]) > 400
        assert {row["thread"] for row in own["passes_for"]} <= {row["thread"] for row in within["passes_for"]}
        assert "M8x1.25" in {row["thread"] for row in own["passes_for"]}

    def test_how_far_off_a_feed_may_be(self, ask):
        assert ask("feeds", "inch", "0.1 mm/rev", "--within-ppm", "0")[0] == 1
        assert ask("feeds", "inch", "0.1 mm/rev", "--within-ppm", "100000")[0] == 0


class TestMeshes:
    @same_for_all("find inch M10", "chart inch M10", "card inch M10", "plan inch M10 M8")
    @in_one("meshes", [1, 2, 3])
    def test_only_trains_of_so_many(self, ask, command, meshes):
        _, out, _ = ask(*command.split(), "--meshes", meshes, "--within-ppm", "any", "--json")
        assert {len(each["drivers"]) for each in every_setup(json.loads(out)) if "lead_mm" in each} == {meshes}

    def test_of_every_thread_that_is_cut_too_but_not_of_a_train_that_is_named(self, ask):
        out = json.loads(ask("cuts", "inch", "--meshes", "1", "--json")[1])
        assert {len(each["drivers"]) for each in out["threads"]} == {1}
        code, _, err = ask("cuts", "inch", "40/80", "--lever", "low", "--meshes", "1")
        assert code == 2
        assert "Leave --meshes out." in err

    @pytest.mark.parametrize("ending", ["pdf", "csv"])
    def test_on_a_plate_too(self, ask, tmp_path, ending):
        asked = ("chart", "inch", "M10", "16 tpi", "--meshes", "2", "--json")
        plain, saved = (json.loads(ask(*asked, *more)[1]) for more in ([], ["--save", tmp_path / f"a.{ending}"]))
        assert plain["chart"] == saved["chart"]

    @same_for_all("find inch M8", "chart inch M8", "card inch M8", "add inch M8", "coverage inch 1 2", "plan inch M8",
                  "cuts inch")  # fmt: skip
    @in_one("meshes", ["0", "9", "x", "", "1,5"])
    def test_none_such(self, ask, command, meshes):
        code, out, err = ask(*command.split(), "--meshes", meshes)
        assert (code, out) == (2, "")
        assert "--meshes" in err


class TestMounted:
    @in_one(
        "how",
        [
            "40→(25)→80",
            "1. 40/80, idler 25, lever middle: lead 1.5875 mm",
            '{"drivers": [40], "driven": [80], "idlers": [[25]]}',
        ],
    )
    @same_for_all("find inch 32tpi", "plan inch 32tpi", "card inch 32tpi", "feeds inch")
    def test_is_read_as_any_train_is(self, ask, command, how):
        plain, other = (ask(*command.split(), "--mounted", text) for text in ("40/80, idler 25", how))
        assert plain == other

    @same_for_all("find inch 32tpi", "plan inch 32tpi", "card inch 32tpi", "feeds inch 0.1mm",
                  "find inch 32tpi --avoid 25", "plan inch 32tpi --avoid 25", "card inch 32tpi --avoid 25",
                  "feeds inch 0.1mm --avoid 25")  # fmt: skip
    def test_an_idler_that_nobody_named_is_said_once(self, ask, command):
        said = "Of what is mounted idler 25 is assumed: say what is on."
        bare, named = (ask(*command.split(), "--mounted", text)[1] for text in ("40/80", "40/80, idler 25"))
        assert " ".join(bare.split()).count(said) == 1
        assert "assumed" not in named
        assert " ".join(bare.split()).replace(f" {said}", "") == " ".join(named.split())

    @same_for_all("find inch 32tpi", "plan inch 32tpi", "card inch 32tpi", "feeds inch 0.1mm")
    def test_json_says_it_too(self, ask, command):
        said = {"40/80": "Of what is mounted idler 25 is assumed: say what is on.", "40/80, idler 25": ""}
        for text, assumed in said.items():
            assert json.loads(ask(*command.split(), "--mounted", text, "--json")[1])["assumed"] == assumed
        assert json.loads(ask(*command.split(), "--json")[1])["assumed"] == ""

    @same_for_all("find inch 32tpi", "plan inch 32tpi", "card inch 32tpi", "feeds inch", "bracket inch 40/80")
    def test_a_lever_that_is_not_there(self, ask, command):
        assert "'nosuch'" in ask(*command.split(), "--mounted", "40/80, idler 25, lever nosuch")[2]

    def test_what_stands_may_stay_in_find_too(self, ask):
        # 40/80 at low cuts 32 tpi exactly, and so do many others.
        _, out, _ = ask("find", "inch", "32 tpi", "--mounted", "40/80", "--count", "2", "--json")
        first, other = json.loads(out)["setups"]
        assert (first["drivers"], first["driven"], first["moved"]) == ([40], [80], 0)
        assert other["moved"] > 0


class TestUnits:
    @same_for_all("find inch M8 --count 1", "cuts inch 40/80 --lever low", "check inch", "chart inch M8",
                  "plan inch M8", "card inch M8", "coverage inch 1 2")  # fmt: skip
    def test_the_other_unit_is_read_first(self, ask, command):
        """'8 tpi (3.175 mm)' and '3.175 mm (8 tpi)': what stands in front, and what in brackets."""
        in_inch, in_mm = (ask(*command.split(), "--units", unit)[1] for unit in ("Inch", "MM"))
        assert re.search(r"tpi \(.*?mm\)", in_inch)
        assert re.search(r"mm \(.*?tpi\)", in_mm)
        assert ask(*command.split())[1] == in_inch  # the demo lathe's leadscrew is an inch one

    @same_for_all("find inch M8", "card inch M8", "feeds inch", "dial inch M8")
    def test_a_unit_that_is_none(self, ask, command):
        assert ask(*command.split(), "--units", "yards")[:2] == (2, "")
        assert "--units: must be 'inch' or 'mm', not 'yards'" in ask(*command.split(), "--units", "yards")[2]

    def test_nothing_else_changes(self, ask):
        asked = ("find", "inch", "M8", "--json", "--units")
        assert ask(*asked, "mm") == ask(*asked, "inch")


SIZES = ("a4", 210, 297), ("A3", 297, 420), ("LETTER", 215.9, 279.4)  # ISO 216; ANSI/ASME Y14.1


class TestPaper:
    @in_one(
        ("command", "size", "wide", "high"),
        [("card inch M8", *size) for size in SIZES] + [(what, *SIZES[2]) for what in ("chart inch M8", "faults noisy")],
    )
    def test_what_is_saved_is_of_that_size(self, ask, tmp_path, command, size, wide, high):
        code, _, _ = ask(*command.split(), "--save", tmp_path / "sheet.pdf", "--paper", size)
        assert code == 0
        (box,) = set(re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+)", (tmp_path / "sheet.pdf").read_bytes()))
        assert sorted(float(side) * 25.4 / 72 for side in box) == pytest.approx([wide, high], abs=0.1)

    @same_for_all("card inch M8", "chart inch M8", "faults noisy")
    def test_a_paper_that_is_none(self, ask, command):
        assert "--paper: must be 'A4', 'A3' or 'Letter', not 'a5'" in ask(*command.split(), "--paper", "a5")[2]


class TestLengths:
    @in_one(
        ("text", "mm"),
        [
            ("1.0in", "25.4"), ("1.0 in", "25.4"), ("1 inch", "25.4"), ("2 inches", "50.8"), ('1"', "25.4"),
            ("½ in", "12.7"), ("1″", "25.4"), ("1 1/2 in", "38.1"), ("1-1/2in", "38.1"), ("25.4 mm", "25.4"),
            ("25,4mm", "25.4"), ("2.54 cm", "25.4"), ("1000 thou", "25.4"), ("1 IN.", "25.4"), ("-1/2 in", "-12.7"),
        ],
    )  # fmt: skip
    def test_with_a_unit(self, text, mm):
        assert length(text) == Fraction(mm)

    @in_one("of_20", ["31.75", "31.75 mm", "1 1/4 in", "1.25in", "3.175 cm", "1250 thou"])
    def test_of_what_was_measured(self, ask, of_20):
        asked = ["proof", "16 tpi", "--turns", "20", "--json"]
        code, out, _ = ask(*asked, "--length", of_20, "--uncertainty", "2 thou")
        assert code == 0
        assert json.loads(out) == json.loads(ask(*asked, "--length", "31.75", "--uncertainty", "0.0508")[1])

    @in_one("wrong", ["1 yard", "in", "1 in 2", "1e3 in", "1/0 in", "9" * 100 + " in"])
    def test_what_is_none(self, ask, wrong):
        code, out, err = ask("proof", "16 tpi", "--turns", "20", "--length", wrong, "--uncertainty", "0.1")
        assert (code, out, len(err.splitlines())) == (2, "", 1)

    @pytest.mark.parametrize(
        "ends", [("1.27", "2.54"), ("0.05 in", "0.1in"), ("20 tpi", "10 tpi"), ("50 thou", "2.54mm")]
    )
    def test_of_a_range_of_leads(self, ask, ends):
        assert ask("coverage", "inch", *ends) == ask("coverage", "inch", "1.27", "2.54")


class TestATrainFromAnAnswer:
    @given(trains(3, st.sampled_from([20, 30, 40, 50])), st.sampled_from([None, "low", "range slow, tumbler back"]))
    def test_is_read_back_with_its_lever(self, train, lever):
        said = "" if lever is None else f", lever {lever}"
        for tail in (
            "",
            ", reverse over",
            ": lead ≈ 1.25 mm (≈ 20.3 tpi), +125 ppm",
            ", reverse over: feed 0.1 mm/rev",
        ):
            for front in ("", "1. ", "12. "):
                assert train_and_lever(f"{front}{train}{said}{tail}") == (train, lever)

    def test_a_setup_as_json_has_it(self, ask):
        best = json.loads(ask("find", "inch", "M8", "--count", "1", "--json")[1])["setups"][0]
        for indent in (None, 2):
            again = json.loads(ask("cuts", "inch", json.dumps(best, indent=indent), "--wanted", "M8", "--json")[1])
            assert best == {"moved": None} | {key: again[key] for key in best if key != "moved"}

    @same_for_all("find inch M8 --count 3", "chart inch M8 16tpi", "plan inch M8 16tpi", "feeds inch")
    def test_a_line_of_any_list(self, ask, command):
        lines = [line for line in ask(*command.split())[1].splitlines() if ", lever " in line]
        assert lines
        for line in lines:
            train, lever = train_and_lever(line if command.startswith("find") else line.split(": ", 1)[1])
            assert lever in ("low", "middle", "high")
            assert str(train) in line


class TestOddInput:
    """Whatever stands behind an option: an answer, or one clear line, and never a traceback."""

    VALUES = st.one_of(
        st.sampled_from(
            ["", " ", "-1", "-5/8", "0", "1", "1,2", "2 3", "4", "9", "nan", "inf", "1e9", "½", "40", "40/80", "40→80",
             "any", "good enough", "None", "inch", "MM", "letter", "A4", "lever", "low", "slow", "2:25", "25", "{}",
             "left", "right", "8 tpi", "M8", "1 in", "\x1b[2J", "\udcff", "٤٠", "9" * 400, "nearest", "simplest", "[["]
        ),
        st.text(max_size=8),
    )  # fmt: skip
    ASKED = st.sampled_from(
        ["find THREE 3mm --count 1", "cuts THREE 40/80", "check THREE", "bracket THREE 40/80", "coverage THREE 1 2",
         "add THREE 3mm --most 1", "chart THREE 3mm 6mm", "plan THREE 6mm 1.5mm", "card THREE 6mm", "dial THREE 8tpi",
         "feeds THREE 1mm/rev", "proof M8 --turns 9 --length 9 --uncertainty 1", "faults noisy"]
    )  # fmt: skip

    @pytest.fixture(scope="class")
    @staticmethod
    def three(tmp_path_factory):
        path = tmp_path_factory.mktemp("lathes") / "three.toml"
        lathe = gc.demo_lathe("inch").to_toml().partition("[plate]")[0]
        path.write_text(re.sub(r"teeth = \[20.*\]", "teeth = [40, 40, 80]", lathe))
        return str(path)

    @examples(60)
    @given(asked=ASKED, data=st.data())
    def test_an_answer_or_one_clear_line(self, three, asked, data):
        words = [three if word == "THREE" else word for word in asked.split()]
        there = sorted(
            name for name in parsers()[words[0]]._option_string_actions
            if name.startswith("--") and not name.startswith(("--help", "--save", "--count", "--most"))
        )  # fmt: skip
        for name in data.draw(st.lists(st.sampled_from(there), max_size=3, unique=True)):
            words.append(name)
            if option(words[0], name[2:]).nargs != 0:
                words.append(data.draw(self.VALUES))
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = commands.main(words)
        assert code in (0, 1, 2), words
        assert len(err.getvalue().splitlines()) == (code == 2 or (code == 1 and not out.getvalue())), words
        assert all(sign.isprintable() or sign in "\n\u202f" for sign in out.getvalue() + err.getvalue()), words
