"""Lathe files with gears that are fixed, damaged, in clusters or of other sizes: read, refused, written back."""

from __future__ import annotations

import pytest

import gearcalc as gc
from gearcalc.basics.errors import LatheFileError
from gearcalc.lathes.pieces import kind_of, piece
from gearcalc.lathes.sizes import Cluster
from tests.how_much import in_one

HEAD = 'name = "Odd lathe"\n[leadscrew]\nlead = "3 mm"\ntakes_bore_mm = 12\n[spindle_side]\ntakes_bore_mm = 14\n'
GEARS = """[gears]
teeth = [24, 28, 32, 36, 40, 40, 44]
module_mm = 1.25
bore_mm = 12
fixed = { last_driven = 40 }
damaged = [36]
clusters = [[40, 50], { teeth = [50, 45], module_mm = [1.25, 1] }]

[[more_gears]]
teeth = [30, 60, 60]
module_mm = 1
bore_mm = 14
damaged = [60]
clusters = [[30, 30]]

[[more_gears]]
teeth = [33]
diametral_pitch = 24
"""


class TestRead:
    lathe = gc.Lathe.from_toml(HEAD + GEARS)

    def test_each_gear_is_what_its_table_says(self):
        small, pitch = [piece(teeth, "module 1, bore 14") for teeth in (30, 60)], piece(33, "DP 24, any bore")
        assert self.lathe.gears == (24, 28, small[0], 32, pitch, 40, 40, 44, small[1])
        pairs = self.lathe.gear_set.pairs
        both = piece(30, "module 1, bore 14", small[0])
        assert set(pairs) == {
            (piece(40, mate=50), piece(50, mate=40)),
            (piece(45, "module 1", 50), piece(50, mate=piece(45, "module 1"))),
            (both, both),
        }
        assert self.lathe.gear_set.standing.sizes[kind_of(pitch)][:2] == (25.4 / 24, 20)
        sizes = self.lathe.gear_set.standing.sizes
        assert [sizes[kind_of(gear)].bore_mm for gear in (24, small[0], pitch)] == [12, 14, None]

    def test_the_end_shafts_take_their_bores(self):
        rules = self.lathe.gear_set.standing
        assert [rules.first(gear) for gear in (24, piece(30, "module 1, bore 14"), piece(33, "DP 24, any bore"))] == [
            False, True, True]  # fmt: skip
        assert [rules.last(gear) for gear in (24, 40)] == [False, True]

    def test_what_is_damaged_and_what_is_in_one_piece_is_known(self):
        assert self.lathe.damaged == (36, piece(60, "module 1, bore 14"))
        assert self.lathe.gear_set.clusters == (Cluster((40, 50)), Cluster((50, 45), module_mm=(1.25, 1)))

    def test_it_is_written_back(self):
        text = self.lathe.to_toml()
        assert gc.Lathe.from_toml(text) == self.lathe
        assert "clusters = [[40, 50], { teeth = [50, 45], module_mm = [1.25, 1.0] }]\n" in text
        assert "fixed = { last_driven = 40 }\n" in text

    def test_it_says_so(self):
        said = str(self.lathe)
        damaged = "damaged: 36 (module 1.25, bore 12), one of the two 60 (module 1, bore 14)"
        for words in ("last driven gear fixed: 40", damaged, "in one piece: 40 and 50"):
            assert words in said


class TestPlainFilesStay:
    def test_nothing_new_is_written_for_a_lathe_without(self):
        text = gc.demo_lathe("inch").to_toml()
        for key in ("fixed", "damaged", "clusters", "bore", "more_gears"):
            assert key not in text


class TestRefused:
    @in_one(
        ("change", "words"),
        [
            (("last_driven = 40", "last_driven = 42"), r"\[gears\] fixed \(line 11\): 42 is fixed, and not"),
            (("damaged = [36]", "damaged = [36, 36]"), r"\[gears\] damaged \(line 12\): 36 is damaged more often"),
            (("damaged = [36]", "damaged = [37]"), r"\[gears\] damaged \(line 12\): 37 is damaged and not among"),
            (("[[40, 50],", "[[40, 50, 60],"), r"\[gears\] clusters, entry 1, teeth \(line 13\): a cluster"),
            (("[[40, 50],", "[40, 50,"), r"\[gears\] clusters, entry 1 .*must be a list of tooth counts"),
            (("{ teeth = [50, 45], mod", "{ mod"), r"clusters, entry 2 .*the key teeth is missing. Add teeth = \["),
            (("[1.25, 1] }", "[1.25] }"), r"\[gears\] clusters, entry 2, module_mm .*two entries"),
            (("[1.25, 1] }", "1 }"), r"\[gears\] clusters, entry 2, module_mm .*must be two numbers"),
            (("[1.25, 1] }", "[1.25, 99] }"), r"\[gears\] clusters, entry 2, module_mm .*at most 20"),
            (("teeth = [50, 45], mod", "teath = [50, 45], mod"), r"teath .*unknown. The nearest known one is teeth"),
            (("\nmodule_mm = 1\n", "\n"), r"\[more_gears\] entry 1 .*no size"),
            (("\nmodule_mm = 1\nbore_mm = 14", "\nmodule_mm = 1.25\nbore_mm = 12"), "of this size already"),
            (("diametral_pitch = 24", "module_mm = 1\nfixed = {}"), r"\[more_gears\] entry 2, fixed .*unknown"),
            (("bore_mm = 14\n", "bore_mm = 1400\n"), r"\[more_gears\] entry 1, bore_mm .*at most 200"),
            (("bore_mm = 14\ndam", "bore_mm = 14\nmore = 3\ndam"), r"\[more_gears\] entry 1, more .*unknown"),
            (("takes_bore_mm = 14", "takes_bore_mm = -1"), r"\[spindle_side\] takes_bore_mm \(line 6\): must be"),
        ],
    )  # fmt: skip
    def test_with_the_key_that_it_came_from(self, change, words):
        text = (HEAD + GEARS).replace(*change)
        assert text != HEAD + GEARS
        with pytest.raises(LatheFileError, match=words):
            gc.Lathe.from_toml(text)
