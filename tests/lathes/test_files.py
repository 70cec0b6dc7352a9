"""Lathe files: each thing that can be wrong with one gives one clear message; nothing is ever half written."""

from __future__ import annotations

import json
import os
import random
import re
import stat
from fractions import Fraction
from pathlib import Path

import pytest

from gearcalc.basics.errors import LatheFileError
from gearcalc.lathes import GearSet, Lathe, Leadscrew, Lever, PlateRow, demo_lathe
from tests.how_much import in_one

load, save, write = Lathe.load, Lathe.save, Lathe.to_toml


def read(text: str, source: str = "lathe text") -> Lathe:
    return Lathe.from_toml(text, source=source)


WHOLE = """\
name = "Test lathe"
note = "Invented."

[leadscrew]
lead = "8 tpi"
hand = "left"

[spindle_side]
ratio = "3/4"
same_way = false
reverse = false

[[gearbox]]
lever = "low"
ratio = "1/2"

[[gearbox]]
lever = "high"
ratio = 2
same_way = false

[gears]
teeth = [40, 20, 40]
module_mm = 1.25
pressure_angle_deg = 20

[bracket]
spindle_side_at_mm = [50, 94]
swing_deg = [-20, 75]
slots = [{ from_mm = [30, 0], to_mm = [150, 0] }]
studs = 3
stud_radius_mm = 7
shaft_radius_mm = 8
running_clearance_mm = 0.4
backlash_mm = 0.1
cover_mm = [[0, 0], [200, 0], [200, 200]]

[dial]
gears = [{ teeth = 16, lines = 8 }]

[feeds]
longitudinal = "1/8"
cross = "1/16"

[show]
units = "mm"
paper = "Letter"

[plate]
"16 tpi" = { drivers = [40], driven = [20], idlers = [[40]], lever = "low" }
"""


LEVERS = WHOLE[WHOLE.index("[[gearbox]]") : WHOLE.index("[gears]")]


def said(text: str) -> str:
    with pytest.raises(LatheFileError) as caught:
        read(text, "my.toml")
    message = str(caught.value)
    assert message.startswith("my.toml: ")
    assert message.replace("\n", "").isprintable()
    return message


def changed(old: str, new: str) -> str:
    assert WHOLE.count(old) >= 1
    return WHOLE.replace(old, new, 1)


class TestRead:
    def test_every_section(self):
        lathe = read(WHOLE)
        assert (lathe.name, lathe.note) == ("Test lathe", "Invented.")
        assert (lathe.leadscrew.lead, lathe.leadscrew.hand) == (Fraction(127, 40), "left")
        assert lathe.spindle_side.ratio == Fraction(3, 4)
        assert not lathe.spindle_side.same_way
        assert not lathe.spindle_side.reverse
        assert lathe.gearbox == (Lever("low", "1/2"), Lever("high", 2, same_way=False))
        assert lathe.gear_set == GearSet((20, 40, 40), module_mm=1.25)
        assert lathe.bracket is not None
        assert lathe.bracket.spindle_side_at_mm == (50, 94)
        assert lathe.bracket.swing_deg == (-20, 75)
        assert [(slot.from_mm, slot.to_mm) for slot in lathe.bracket.slots] == [((30, 0), (150, 0))]
        assert (lathe.bracket.studs, lathe.bracket.stud_radius_mm, lathe.bracket.shaft_radius_mm) == (3, 7, 8)
        assert (lathe.bracket.running_clearance_mm, lathe.bracket.backlash_mm) == (0.4, 0.1)
        assert lathe.bracket.cover_mm == ((0, 0), (200, 0), (200, 200))
        assert [(gear.teeth, gear.lines) for gear in lathe.dial.gears] == [(16, 8)]
        assert (lathe.feeds.longitudinal, lathe.feeds.cross) == (Fraction(1, 8), Fraction(1, 16))
        assert (lathe.units, lathe.paper) == ("mm", "Letter")
        assert lathe.plate == (PlateRow("16 tpi", (40,), (20,), ((40,),), "low"),)

    def test_only_three_things_are_needed(self):
        lathe = read('name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = []')
        assert lathe == Lathe("A", Leadscrew(3), GearSet(()))

    def test_byte_order_mark_and_windows_line_ends(self):
        assert read("\ufeff" + WHOLE.replace("\n", "\r\n")) == read(WHOLE)

    def test_decimal_comma_in_a_lead(self):
        assert read(changed('"8 tpi"', '"2,5 mm"')).leadscrew_lead_mm == Fraction(5, 2)

    def test_no_gears_is_a_lathe_too(self):
        assert read(changed("teeth = [40, 20, 40]", "teeth = []")).gears == ()


class TestFaults:
    """(what is changed, into what, what the message must say)."""

    @in_one(
        ("old", "new", "parts"),
        [
            # missing keys
            ('name = "Test lathe"', "", ["the key name is missing"]),
            ('lead = "8 tpi"', "", ["[leadscrew]", "line 4", "the key lead is missing"]),
            ("teeth = [40, 20, 40]", "", ["[gears]", "the key teeth is missing"]),
            ('ratio = "1/2"', "", ["[gearbox] entry 1", "line 13", "the key ratio is missing"]),
            ('[leadscrew]\nlead = "8 tpi"\nhand = "left"\n', "", ["the key leadscrew is missing"]),
            ("drivers = [40], ", "", ["[plate] '16 tpi'", "the key drivers is missing"]),
            ("{ teeth = 16, ", "{ ", ["[dial] gears, entry 1", "the key teeth is missing"]),
            # how it is shown
            ('units = "mm"', 'units = "metric"', ["[show] units (line 46)", "must be 'inch' or 'mm', not 'metric'"]),
            ('units = "mm"', "units = 5", ["[show] units (line 46)", "must be text"]),
            (
                'paper = "Letter"',
                'paper = "A5"',
                ["[show] paper (line 47)", "must be 'A4', 'A3' or 'Letter', not 'A5'"],
            ),
            ('paper = "Letter"', 'papr = "A4"', ["[show] papr", "line 47", "The nearest known one is paper"]),
            ("[show]", "[shown]", ["shown (line 45)", "The nearest known one is show"]),
            # unknown keys
            ("teeth = [40", "tooth = [40", ["[gears] tooth", "line 23", "The nearest known one is teeth"]),
            ("[feeds]", "[feds]", ["feds (line 41)", "The nearest known one is feeds"]),
            ('hand = "left"', 'maker = "x"', ["[leadscrew] maker", "Known here: lead, hand"]),
            ('hand = "left"', 'note = "x"', ["[leadscrew] note", "at the top of the file"]),
            ("lines = 8", "line = 8", ["[dial] gears, entry 1, line", "The nearest known one is lines"]),
            ('lever = "low" }', 'lev = "low" }', ["[plate] '16 tpi', lev", "The nearest known one is lever"]),
            ("same_way = false", '"two words" = 1', ["'two words'", "this key is unknown"]),
            # tooth counts
            ("[40, 20, 40]", "[40, 0, 40]", ["[gears] teeth, entry 2 (line 23)", "from 6 to 1000, not 0"]),
            ("[40, 20, 40]", "[40, 20, -5]", ["entry 3", "not -5"]),
            ("[40, 20, 40]", '[40, "20"]', ["entry 2", "not '20'"]),
            ("[40, 20, 40]", "[40, 20.5]", ["entry 2", "not 20.5"]),
            ("[40, 20, 40]", "[40, true]", ["entry 2", "not True"]),
            ("[40, 20, 40]", "40", ["list of tooth counts, like [40, 80]", "not 40"]),
            ("[40, 20, 40]", f"[{'40, ' * 301}]", ["at most 300 gears"]),
            ("[40, 20, 40]", f"[{'40, ' * 600}]", ["at most 500 entries"]),
            ("teeth = 16", "teeth = 0", ["[dial] gears, entry 1", "whole number of teeth"]),
            ("driven = [20]", "driven = [2]", ["[plate] '16 tpi', driven, entry 1", "not 2"]),
            ("driven = [20]", "driven = [20, 40]", ["[plate] '16 tpi'", "1 drivers over 2 driven"]),
            ("idlers = [[40]]", "idlers = 40", ["[plate] '16 tpi'", "one list a mesh"]),
            ("idlers = [[40]]", "idlers = [[2]]", ["[plate] '16 tpi'", "not 2"]),
            # text for a number, and the other way round
            ('name = "Test lathe"', "name = 5", ["name (line 1)", "text in quotes", "not 5"]),
            ("module_mm = 1.25", 'module_mm = "1.25"', ["[gears] module_mm (line 24)", "must be a number"]),
            ("studs = 3", "studs = 2.5", ["[bracket] studs (line 31)", "whole number"]),
            ("reverse = false", 'reverse = "no"', ["[spindle_side] reverse (line 11)", "true or false"]),
            ('lead = "8 tpi"', "lead = 8", ["[leadscrew] lead (line 5)", "'8 tpi' or '3 mm'"]),
            ('lead = "8 tpi"', 'lead = "8"', ["bare number", "'8 mm' or '8 tpi'"]),
            ('lead = "8 tpi"', 'lead = "0 tpi"', ["more than zero"]),
            ('lead = "8 tpi"', 'lead = "module 1"', ["a lead in mm or tpi"]),
            ('lead = "8 tpi"', 'lead = "8 tpi LH"', ["must not say the hand", 'hand = "left"']),
            ('lead = "8 tpi"', 'lead = "200 mm"', ["at most 100"]),
            ('ratio = "1/2"', 'ratio = "half"', ["[gearbox] entry 1, ratio (line 15)", "3/8"]),
            ('ratio = "1/2"', 'ratio = "1/0"', ["below the line"]),
            ('ratio = "1/2"', "ratio = 0", ["more than 0"]),
            ('ratio = "1/2"', "ratio = -1", ["more than 0", "not -1"]),
            ('ratio = "1/2"', "ratio = 0.3333333333333333", ["too many digits", "'1/3'"]),
            ('lever = "high"', "lever = 3", ["[gearbox] entry 2, lever (line 18)", "text in quotes"]),
            ('lever = "high"', 'lever = "low"', ["[gearbox]", "two positions are called 'low'"]),
            ('hand = "left"', 'hand = "Left"', ["[leadscrew] hand (line 6)", "'right' or 'left'", "not 'Left'"]),
            ("[-20, 75]", "[75, -20]", ["[bracket] swing_deg (line 29)", "smaller to a larger angle"]),
            ("[-20, 75]", "[75]", ["two numbers"]),
            ("to_mm = [150, 0]", "to_mm = [30, 0]", ["slots, entry 1", "end elsewhere"]),
            ("[[0, 0], [200, 0], [200, 200]]", "[[0, 0]]", ["[bracket] cover_mm", "3 to 500 corners"]),
            ("[{ from_mm = [30, 0], to_mm = [150, 0] }]", "[]", ["[bracket] slots", "one to ten"]),
            ("[{ from_mm = [30, 0], to_mm = [150, 0] }]", "3", ["[bracket] slots", "a list"]),
            ('"16 tpi" =', '"banana" =', ["[plate] 'banana'", "not understood as a thread"]),
            ('"16 tpi" =', '"16\\ntpi" =', ["printable signs, on one line"]),
            ('"16 tpi" =', '"16\\u0007tpi" =', ["printable signs, on one line"]),
            ('lever = "low" }', "lever = 5 }", ["[plate] '16 tpi'", "the name of a position, in quotes"]),
            (
                "module_mm = 1.25",
                "module_mm = 1.25\nfirst_bore_mm = 12",
                ["[gears] first_bore_mm (line 25)", "unknown"],
            ),
            ("module_mm = 1.25", "module_mm = 1.25\nmore = []", ["[gears] more (line 25)", "unknown"]),
            ('{ drivers = [40], driven = [20], idlers = [[40]], lever = "low" }', "3", ["[plate] '16 tpi'", "a table"]),
            ("module_mm = 1.25", "module_mm = 1.25\ndiametral_pitch = 20", ["not both"]),
            # sections of the wrong kind
            ("[gears]", "[[gears]]", ["[gears]", "one table", "single brackets"]),
            (LEVERS, '[gearbox]\nlever = "low"\nratio = "1/2"\n', ["[gearbox]", "double brackets"]),
            # numbers that are none
            ("module_mm = 1.25", "module_mm = nan", ["ordinary size", "not nan"]),
            ("module_mm = 1.25", "module_mm = inf", ["ordinary size", "not inf"]),
            ("module_mm = 1.25", f"module_mm = 1{'0' * 400}", ["ordinary size", "about 401 digits"]),
            ("module_mm = 1.25", f"module_mm = 1{'0' * 5000}", ["a number is too long"]),
            ("studs = 3", f"studs = 1{'0' * 400}", ["from 1 to 6"]),
            ('ratio = "1/2"', "ratio = nan", ["finite"]),
            ("module_mm = 1.25", "module_mm = 2020-01-01", ["must be a number"]),
            ("module_mm = 1.25", "module_mm = 1e6", ["at most 20, not 1000000"]),
            ("module_mm = 1.25", "module_mm = 1000001", ["ordinary size, not 1000001"]),
            ("[-20, 75]", "[-1000001, 75]", ["ordinary size, not -1000001"]),
            # not TOML
            ("[gears]", "[gears", ["not TOML", "line 22", "'[gears'"]),
            ('hand = "left"', 'hand = "left"\nhand = "right"', ["line 7", "'hand = \"right\"'", "stand only once"]),
            ("[feeds]", "[gears]", ["not TOML", "stand only once"]),
            ('lead = "8 tpi"', "lead = 8 tpi", ["not TOML", "line 5", "'lead = 8 tpi'"]),
            ("[feeds]", f"[{'a.' * 3000}a]", ["too many parts"]),
            ("studs = 3", '""."\\""' + ".''" * 3000 + " = 3", ["too many parts"]),
            ("studs = 3", "studs = " + "[" * 5000, ["nested too deeply"]),
        ],
    )
    def test_one_message_with_file_and_key(self, old, new, parts):
        message = said(changed(old, new))
        for part in parts:
            assert part in message
        assert len(message) < 400
        assert message.count("\n- ") != 1  # one alone is no list

    @in_one("plate", ["3", "[]", '"16 tpi"', "[{ drivers = [40] }]"])
    def test_a_plate_is_a_table_of_threads(self, plate):
        message = said(f'name = "A"\nplate = {plate}\nleadscrew.lead = "3 mm"\ngears.teeth = []')
        assert "must be a table of threads, like " in message

    @in_one(("key", "value"), [("leadscrew", "5"), ("leadscrew", '"8 tpi"'), ("gears", "40"), ("bracket", "true")])
    def test_a_section_is_a_table_of_keys(self, key, value):
        parts = {"leadscrew": '{ lead = "3 mm" }', "gears": "{ teeth = [] }"} | {key: value}
        message = said('name = "A"\n' + "".join(f"{name} = {part}\n" for name, part in parts.items()))
        assert f"[{key}]" in message
        assert "must be a table of keys, not " in message

    def test_what_is_far_too_long_is_named_with_its_section(self):
        for text, key in (
            (changed("[40, 20, 40]", f"[{'40, ' * 501}]"), "gears"),
            (changed("[[0, 0], [200, 0], [200, 200]]", f"[{'[0, 0], ' * 501}]"), "bracket"),
        ):
            assert re.match(rf"my.toml: \[?{key}\]?.*: takes at most 500 entries, not 501", said(text))

    def test_several_faults_are_all_told_each_on_its_line(self):
        text = changed("lead =", "led =").replace("studs = 3", "studs = 0").replace('name = "Test lathe"\n', "")
        lines = said(text).split("\n- ")[1:]
        assert len(lines) == 4
        assert all(line.count("(line") == 1 for line in lines if "name" not in line)

    @pytest.mark.parametrize("count", [2, 5, 6, 400])
    def test_of_very_many_the_first_five_are_told(self, count):
        message = said(WHOLE.replace("[gears]", "[gears]\n" + "\n".join(f"key{n:03} = 1" for n in range(count))))
        assert re.findall(r"key\d+", message) == [f"key{n:03}" for n in range(min(count, 5))]
        assert message.endswith("\n- and more.") == (count > 5)

    def test_a_long_fault_of_toml_is_told_whole_below_300_signs_and_else_its_first_200(self):
        whole, cut = set(), set()
        for length in range(130, 320):
            told = said(f"[{'k' * length}]\n" * 2).partition("not TOML: ")[2].partition(". Each key")[0]
            (cut if told.endswith("…") else whole).add(len(told))
        assert max(whole) == 299
        assert cut == {201}

    def test_the_bounds_of_a_file(self, tmp_path):
        """40 000 characters, 500 entries, 300 gears."""
        place = tmp_path / "long.toml"
        for text in (WHOLE, "\ufeff" + WHOLE):
            long = f"{text}#{'x' * (39_999 - len(text.encode()))}"
            place.write_text(long, encoding="utf-8")
            assert read(long) == load(place) == read(WHOLE)
            place.write_text(long + "x", encoding="utf-8")
            with pytest.raises(LatheFileError, match="longer than 40 kB"):
                load(place)
        assert "longer than 40 kB" in said("#" * 40_001)
        assert len(read(changed("[40, 20, 40]", f"[{'40, ' * 300}]")).gears) == 300
        assert "at most 300 gears" in said(changed("[40, 20, 40]", f"[{'40, ' * 500}]"))
        assert "at most 500 entries" in said(changed("[40, 20, 40]", f"[{'40, ' * 501}]"))

    @in_one("text", [None, 5, b"name = 1", Path("x"), ["name"]])
    def test_what_is_no_text(self, text):
        with pytest.raises(LatheFileError, match="described in text"):
            read(text)

    def test_too_long(self):
        assert "longer than 40 kB" in said("#" * 10_000_000)

    def test_a_place_with_control_characters_is_made_printable(self):
        with pytest.raises(LatheFileError) as caught:
            read("x", "odd\x1b[31m\nname.toml")
        assert str(caught.value).isprintable()


class TestLoad:
    def test_a_file(self, tmp_path):
        (tmp_path / "a.toml").write_text(WHOLE, encoding="utf-8")
        assert load(tmp_path / "a.toml") == load(str(tmp_path / "a.toml")) == read(WHOLE)

    def test_byte_order_mark(self, tmp_path):
        (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
        assert load(tmp_path / "a.toml") == read(WHOLE)

    @in_one(
        ("content", "words"),
        [
            (b"", "the key name is missing"),
            (random.Random(1).randbytes(10_000_000), "longer than 40 kB"),
            (random.Random(2).randbytes(1000), "not text in UTF-8"),
            (WHOLE.encode("utf-16"), "not text in UTF-8"),
            ('name = "Drehbänkle"'.encode("latin-1"), "not text in UTF-8"),
            (b"\x00" * 100, "not TOML"),
        ],
    )
    def test_what_is_no_lathe_file(self, tmp_path, content, words):
        (tmp_path / "a.toml").write_bytes(content)
        with pytest.raises(LatheFileError) as caught:
            load(tmp_path / "a.toml")
        assert str(caught.value).startswith(str(tmp_path / "a.toml"))
        assert words in str(caught.value)

    def test_a_folder(self, tmp_path):
        with pytest.raises(LatheFileError) as caught:
            load(tmp_path)
        assert str(caught.value) == f"{tmp_path}: this is a folder, not a lathe file. Name the file in it."

    def test_nothing_there(self, tmp_path):
        with pytest.raises(LatheFileError, match="No such file"):
            load(tmp_path / "a.toml")

    def test_no_permission(self, tmp_path, monkeypatch):
        (tmp_path / "a.toml").write_text(WHOLE)

        def refuse(*_: object, **__: object) -> None:
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr(Path, "open", refuse)
        with pytest.raises(LatheFileError, match=r"a\.toml: the file can't be opened \(Permission denied\)"):
            load(tmp_path / "a.toml")

    @in_one("nothing", [None, 5, [], Fraction(1, 2)])
    def test_what_names_no_file_is_told_so_in_words_of_ours(self, nothing):
        for asked, how in (
            (Lathe.load, "the file can't be opened"),
            (demo_lathe().save, "the lathe can't be saved here"),
        ):
            with pytest.raises(LatheFileError) as caught:
                asked(nothing)
            assert f"{how} (this names no file)" in str(caught.value)

    @in_one("path", ["a\x00b", "x" * 5000, None, 5, ""])
    def test_names_that_no_file_can_have(self, path):
        with pytest.raises(LatheFileError) as caught:
            load(path)
        assert str(caught.value).isprintable()


class TestWrite:
    @pytest.mark.parametrize("text", [WHOLE, 'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = []'])
    def test_reads_back_as_the_same_lathe(self, text):
        assert read(write(read(text))) == read(text)

    def test_idlers_of_any_mesh_of_a_plate_read_back(self):
        row = 'drivers = [40, 20], driven = [20, 40], idlers = {}, lever = "low"'
        for idlers in ("[[], [40]]", "[[40], []]", "[[40], [20]]", "[[], []]"):
            lathe = read(changed('drivers = [40], driven = [20], idlers = [[40]], lever = "low"', row.format(idlers)))
            assert read(write(lathe)) == lathe
            assert lathe.plate[0].idlers == tuple(map(tuple, json.loads(idlers)))

    def test_demo_lathes_read_back(self):
        for name in ("inch", "metric", "odd"):
            assert read(write(demo_lathe(name))) == demo_lathe(name)

    @in_one("name", ['"', "\\", "'''", "#", "ß × π 旋盤 🔧", " [gears] ", "a = 1"])
    def test_any_printable_name(self, name):
        lathe = Lathe(name, Leadscrew(3), GearSet(()), note=f"{name}\n{name}\ttab", gearbox=(Lever(name, 1),))
        assert read(write(lathe)) == lathe

    @in_one("lead", ["8 tpi", "11 1/2 tpi", "7 tpi", "3 mm", "1/3 mm", "0.123456 in pitch", "1/7 in lead"])
    def test_any_lead(self, lead):
        lathe = read(f'name = "A"\nleadscrew.lead = "{lead}"\ngears.teeth = []')
        assert read(write(lathe)) == lathe

    def test_leads_read_as_people_write_them(self):
        assert 'lead = "8 tpi"' in write(read(WHOLE))
        assert 'lead = "3 mm"' in write(demo_lathe("metric"))

    def test_how_it_is_shown_is_written_only_where_the_file_says_it(self):
        assert "[show]" not in write(demo_lathe("inch"))
        assert '[show]\nunits = "inch"\n\n' in write(demo_lathe("inch").with_show(units="INCH"))
        assert '[show]\npaper = "Letter"\n\n' in write(demo_lathe("inch").with_show(paper="letter"))

    def test_one_line_a_key(self):
        assert "teeth = [20, 40, 40]" in write(read(WHOLE)).splitlines()


class TestSave:
    def test_and_load(self, tmp_path):
        save(demo_lathe("inch"), tmp_path / "a.toml")
        assert load(tmp_path / "a.toml") == demo_lathe("inch")
        assert os.listdir(tmp_path) == ["a.toml"]

    def test_a_failing_write_leaves_the_old_file_and_no_litter(self, tmp_path, monkeypatch):
        place = tmp_path / "a.toml"
        place.write_text("old")

        def full(_: int) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(LatheFileError, match=r"No space left.*Make room.*untouched"):
            save(demo_lathe("inch"), place)
        assert place.read_text() == "old"
        assert os.listdir(tmp_path) == ["a.toml"]

    def test_an_interruption_leaves_the_old_file_and_no_litter(self, tmp_path, monkeypatch):
        place = tmp_path / "a.toml"
        place.write_text("old")

        def interrupted(*_: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(os, "replace", interrupted)
        with pytest.raises(KeyboardInterrupt):
            save(demo_lathe("inch"), place)
        assert place.read_text() == "old"
        assert os.listdir(tmp_path) == ["a.toml"]

    @pytest.mark.skipif(os.name == "nt", reason="modes are a POSIX matter")
    def test_keeps_the_mode_and_new_files_get_the_usual_one(self, tmp_path):
        old, new = tmp_path / "old.toml", tmp_path / "new.toml"
        old.write_text("old")
        old.chmod(0o640)
        mask = os.umask(0o027)
        try:
            save(demo_lathe("inch"), old)
            save(demo_lathe("inch"), new)
        finally:
            os.umask(mask)
        assert stat.S_IMODE(old.stat().st_mode) == 0o640
        assert stat.S_IMODE(new.stat().st_mode) == 0o666 & ~0o027

    @pytest.mark.skipif(os.name == "nt", reason="links need rights there")
    def test_follows_a_link_and_leaves_it_a_link(self, tmp_path):
        (tmp_path / "real").mkdir()
        target, link = tmp_path / "real" / "a.toml", tmp_path / "link.toml"
        target.write_text("old")
        link.symlink_to(target)
        save(demo_lathe("inch"), link)
        assert link.is_symlink()
        assert load(target) == demo_lathe("inch")
        assert sorted(os.listdir(tmp_path)) == ["link.toml", "real"]

    @pytest.mark.skipif(os.name == "nt", reason="links need rights there")
    def test_a_link_to_nothing_yet_makes_the_file(self, tmp_path):
        (tmp_path / "link.toml").symlink_to(tmp_path / "a.toml")
        save(demo_lathe("inch"), tmp_path / "link.toml")
        assert load(tmp_path / "a.toml") == demo_lathe("inch")

    def test_onto_a_folder(self, tmp_path):
        with pytest.raises(LatheFileError, match="folder"):
            save(demo_lathe("inch"), tmp_path)
        assert os.listdir(tmp_path) == []

    def test_into_a_folder_that_is_not_there(self, tmp_path):
        with pytest.raises(LatheFileError, match="No such file"):
            save(demo_lathe("inch"), tmp_path / "no" / "a.toml")

    @pytest.mark.parametrize("path", ["a\x00b", None, 5], ids=["NUL", "None", "number"])
    def test_names_that_no_file_can_have(self, path):
        with pytest.raises(LatheFileError):
            save(demo_lathe("inch"), path)
