"""The keys of every answer in JSON are those of the table, the same ones whatever the answer is."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from gearcalc.basics.files import data_folder
from gearcalc.commands.json_keys import KEYS
from gearcalc.serving.sites import STAMP
from tests.commands.test_options import parsers
from tests.how_much import in_one
from tests.teaching.invented_class import SLIP, WRONG, answers, go, planted, write

BARE = 'name = "Bare"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40, 60]\n'
INCH = (data_folder() / "lathes" / "inch.toml").read_text("utf-8")
ONE_GEAR = 'name = "One gear"\nleadscrew.lead = "3 mm"\ngears.teeth = [20]\n'
WITH_FEEDS = BARE + '[feeds]\nlongitudinal = "1/10"\n[plate]\n"1.5 mm" = { drivers = [20], driven = [40] }\n'
ASKED = {
    "find": ["inch M8", "metric module_1", "BARE M8", "ONE M8", "inch M8 --within-ppm 0 --meshes 1", "inch 0.1mm/rev",
             "FEEDS 0.1mm/rev", "inch 40tpi_LH --mounted 40/80", "BARE 3mm", "CLUSTER 16tpi"],
    "cuts": ["inch 40/80 --lever low", "inch 40/80 --lever low --wanted 16tpi --engagement 12",
             "inch 25/80 --lever low --idlers 20", "BARE 20/40", "metric 40/80 --lever fast --wanted module_1",
             "inch 40/80 --lever low --wanted 0.1mm/rev",
             "inch 20/63 --lever low --within-ppm 0", "BARE", "metric --within-ppm 0"],
    "check": ["inch", "metric", "BARE", "FEEDS", "MISPRINTED"],
    "bracket": ["inch 40/80", "inch 40/80 --idlers 20", "inch (20_20)/(127_127)", "inch 40/80 --save b.svg",
                "CLUSTER 40/80"],
    "add": ["inch 16tpi", "inch 1mm --within-ppm 0 --most 0", "BARE 3mm M8", "inch 0.1mm/rev", "ONE 2mm --most 1"],
    "coverage": ["inch 1 2", "BARE 1 2 --meshes 1", "BARE 90 100"],
    "chart": ["inch 9tpi M8", "inch M12x0.05", "BARE M8", "ONE M8", "inch 9tpi --save a.pdf", "inch 9tpi --save a.csv"],
    "plan": ["inch 16tpi M8", "inch 16tpi --mounted 40/80", "BARE 1mm", "inch 0.1mm/rev M8_LH"],
    "card": ["inch M8", "inch M8 --mounted 40/80", "BARE 3mm", "inch 0.1mm/rev", "inch M8 --save c.txt"],
    "dial": ["inch 8tpi", "inch 11tpi", "metric 1.75mm", "BARE 3mm", "BARE M8",
             "inch 2mm --train (40_63)/(80_50) --lever low"],
    "feeds": ["inch", "metric 0.1mm/rev 9mm/rev", "BARE 0.1mm/rev", "FEEDS 0.15mm/rev_cross",
              "inch 0.1mm/rev --mounted 40/80"],
    "proof": ["M8 --turns 10 --length 12.5 --uncertainty 0.1", "M8 --turns 10 --length 14 --uncertainty 0.1",
              "16tpi --turns 16 --length 1in --uncertainty 0.1 --hand left",
              "16tpi --turns 16 --length 1in --uncertainty 0.1 --lathe inch --train 40/80 --lever middle",
              "16tpi --turns 16 --length 2in --uncertainty 0.1 --lathe inch --train 40/80 --lever middle"],
    "faults": ["", "noisy", "noisy --save f.txt"],
    "exercises": ["", "1"],
    "worksheet": ["01 --class 1-2", "one-wrong-row --class 3 --points 2 --test spring --save s.pdf --key k.pdf"],
    "marks": ["CLASS", "CLASS --class 1-3", "CLASS --save m.html"],
    "lessons": ["L --no-open"],
    "handout": ["13 --save a.html", "13 --save ."],
    "serve": ["SITE", "SITE --lan --port 18642"],
    "web": ["SITE", "SITE --lessons 01-02 --lathe BARE"],
    "hub": ["CLASS --sign-in pam", "CLASS --sign-in pam --lan"],
    "supplies": ["", "--save s.csv"],
    "lathe": ["new n.toml", "new n.toml --name A --leadscrew 3mm --gears 20,40"],
}  # fmt: skip


def paths(said: Any, front: str = "") -> Iterator[str]:
    """Every key there is, by its path; what a list or null holds nothing of is not told by it."""
    if isinstance(said, dict):
        for key, value in said.items():
            yield f"{front}{key}"
            yield from paths(value, f"{front}{key}.")
    elif isinstance(said, list):
        for each in said:
            yield from paths(each, f"{front.removesuffix('.')}[].")


def missing(said: Any, keys: set[str], front: str = "") -> Iterator[str]:
    """Keys of the table that an object which is there has not."""
    if isinstance(said, dict):
        here = {key for key in keys if "." not in key}
        yield from (f"{front}{key}" for key in here - set(said))
        for key, value in said.items():
            for form in (f"{key}.", f"{key}[]."):
                inside = {each.removeprefix(form) for each in keys if each.startswith(form)}
                for one in value if isinstance(value, list) else [value]:
                    yield from missing(one, inside, f"{front}{form}") if inside else ()


@pytest.fixture
def files(tmp_path, monkeypatch, nothing_runs):
    monkeypatch.setattr("gearcalc.serving.servers.SiteServer.serve_forever", lambda server: None)
    monkeypatch.setattr("gearcalc.serving.servers.addresses", lambda: ("192.168.1.20",))
    monkeypatch.setattr("gearcalc.commands.hub_commands.addresses", lambda: ("192.168.1.20",))
    (tmp_path / "SITE").mkdir()
    (tmp_path / "SITE" / STAMP).write_text('{"what": "a site of gearcalc lessons", "files": []}')
    misprinted = WITH_FEEDS.replace("[40] }", "[61] }")
    cluster = re.sub(r"teeth = \[20.*\]", "teeth = [40, 80]\nclusters = [[25, 50]]", INCH).partition("[plate]")[0]
    (tmp_path / "CLUSTER").write_text(cluster)
    for number, kind in ((1, SLIP), (2, WRONG)):
        name = "lead-of-a-leadscrew"
        typed = {name: [go(number, planted(name, number, kind)[0], right=True)]}
        write(tmp_path / "CLASS" / f"answers-{number}.json", answers(number, "", typed))
    for name, text in {"BARE": BARE, "ONE": ONE_GEAR, "FEEDS": WITH_FEEDS, "MISPRINTED": misprinted}.items():
        (tmp_path / name).write_text(text)


def test_the_table_is_of_all_commands():
    assert set(KEYS) == set(ASKED) == set(parsers())
    assert all(words and words == words.strip() for keys in KEYS.values() for words in keys.values())


@in_one("command", ASKED)
def test_the_keys_are_those_of_the_table_whatever_the_answer(ask, files, command):
    seen: set[str] = set()
    for line in ASKED[command]:
        code, out, err = ask(command, *(word.replace("_", " ") for word in line.split()), "--json")
        assert (code in (0, 1), err) == (True, ""), line
        said = json.loads(out)
        assert list(missing(said, set(KEYS[command]))) == [], line
        assert set(paths(said)) <= set(KEYS[command]), line
        assert [key for key in KEYS[command] if "." not in key] == list(said), line
        seen |= set(paths(said))
        if command == "lathe":
            Path("n.toml").unlink()
    unseen = set(KEYS[command]) - seen  # each key is seen to be there at least once
    assert not unseen or command not in ("find", "bracket")
    assert not {key for key in unseen if ".idle_gears[]." not in key and not key.startswith("idle_gears[]")}


@in_one("command", ASKED)
def test_the_table_is_said_by_the_command(ask, command):
    code, out, err = ask(command, "--help-json")
    assert (code, err) == (0, "")
    assert [line.split()[0] for line in out.splitlines()] == list(KEYS[command])


@in_one("command", ["find", "card", "chart", "plan", "add", "feeds"])
def test_that_there_is_nothing_is_an_answer_and_no_mistake(ask, files, command):
    wanted, typed_wrong = ("0.1 mm/rev", "0.1 mm/week") if command == "feeds" else ("M8", "M8x")
    assert ask(command, "ONE", wanted, *(["--most", "0"] if command == "add" else []))[0] == 1
    assert ask(command, "ONE", typed_wrong)[0] == 2
