"""A train as a table or a line of an answer writes it, on a set whose gears their counts alone don't tell."""

from __future__ import annotations

import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes.train_lines import in_short, in_words, train_and_lever
from tests.how_much import in_one

ODD = gc.demo_lathe("odd")
FOUND = gc.find_setups(ODD, "3 mm", count=12, within_ppm=None)


class TestInShort:
    def test_every_answer_is_read_back_as_it_was_with_the_letters_of_its_gears(self):
        assert any(one.train.gears != tuple(map(int, one.train.gears)) for one in FOUND)
        for one in FOUND:
            short = in_short(ODD.gear_set, one.as_built.train)
            assert train_and_lever(f"{short}, lever {one.lever}", ODD.gear_set) == (one.as_built.train, one.lever)
            assert "module" not in short
            assert len(short) < 60

    @pytest.mark.parametrize("number", ["", "3. "])
    def test_an_error_in_threes_of_figures_is_no_part_of_the_lever(self, number):
        far = gc.setup(gc.demo_lathe("inch"), (40,), (80,), "low", wanted="1.25 mm")
        assert "−365\u202f000 ppm" in str(far)
        assert train_and_lever(number + str(far)) == (far.train, "low")

    def test_each_letter_is_explained_once(self):
        words = in_words(ODD.gear_set, [one.as_built.train for one in FOUND])
        assert words.count("module 1, bore 12") == 1
        assert "30 (module 1) and 50 in one piece" in words

    def test_plain_gears_have_none(self):
        lathe = gc.demo_lathe("inch")
        train = gc.find_setups(lathe, "1.5 mm", count=1)[0].as_built.train
        assert in_short(lathe.gear_set, train) == str(train)
        assert in_words(lathe.gear_set, [train]) == ""

    @pytest.mark.parametrize("text", ["40/80q", "45a/60", "40b/50a, second mesh of module 1", "40/80, idler 9999b"])
    def test_what_is_no_gear_of_the_set_is_refused(self, text):
        with pytest.raises(GearcalcError):
            train_and_lever(text, ODD.gear_set)

    def test_a_line_has_400_signs_at_most(self):
        line = "40/80, lever low"
        assert train_and_lever(line.ljust(400))[1] == "low"
        with pytest.raises(GearcalcError, match="not understood"):
            train_and_lever(line.ljust(401))

    @in_one(
        ("text", "lever"),
        [
            ('{"train": "40/80", "lever": "low"}', "low"),
            ('{"drivers": [40], "driven": [80], "lever": "low"}' + " " * 400, "low"),
            ('"16 tpi" = { drivers = [40], driven = [80], lever = "range slow, knob C" }', "range slow, knob C"),
            ('{"drivers": [40], "driven": [80]}', None),
            ("40/80", None),
        ],
    )
    def test_the_lever_is_read_as_a_file_or_json_has_it(self, text, lever):
        train, said = train_and_lever(text)
        assert (str(train), said) == ("40/80", lever)

    @in_one(
        ("lathe", "letters"),
        [(ODD, "a: 30 (module 1) and 50 in one piece; b: module 1, bore 12"), (gc.demo_lathe("inch"), "none")],
    )
    def test_a_letter_that_stands_for_nothing_is_told_which_there_are(self, lathe, letters):
        with pytest.raises(GearcalcError) as refused:
            train_and_lever("40/80q", lathe.gear_set)
        assert str(refused.value) == f"80q is no gear of the set. Its letters are {letters}."

    @pytest.mark.parametrize(
        "text", ["40/80", "(40 · 30)/(80 · 60)", "40/80, idler 50", "40/80, first mesh of module 1"]
    )
    def test_a_train_without_letters_is_read_as_it_is_everywhere(self, text):
        for gear_set in (None, ODD.gear_set, gc.demo_lathe("inch").gear_set):
            assert train_and_lever(text, gear_set) == (gc.Train.parse(text), None)
        if "module" not in text:
            assert in_short(ODD.gear_set, gc.Train.parse(text)) == text

    @in_one(
        ("text", "words"),
        [
            ("40b/60, first mesh of module 1", "the letters of this train are not understood"),
            ("45a/60", "45 is not one of 30 (module 1) and 50 in one piece"),
            ("40/80q", "80q is no gear of the set"),
        ],
    )
    def test_what_is_no_gear_of_the_set_is_told_why(self, text, words):
        with pytest.raises(GearcalcError) as refused:
            train_and_lever(text, ODD.gear_set)
        assert str(refused.value).startswith(words)
