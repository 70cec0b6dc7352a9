"""Who is in the class, as numbers or as a list of names."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ValueOutOfRangeError
from gearcalc.teaching.class_lists import Learner, class_list
from tests.how_much import in_one


def written(folder, text, encoding="utf-8"):
    path = folder / "list.csv"
    path.write_bytes(text.encode(encoding))
    return path


class TestNumbers:
    @in_one(
        "text, numbers",
        [("1-3", [1, 2, 3]), ("7", [7]), (" 1 – 2 , 9, 4-4 ", [1, 2, 9, 4]), ("0,1000000", [0, 1_000_000])],
    )
    def test_ranges_and_single_numbers(self, text, numbers):
        assert [learner.number for learner in class_list(text)] == numbers

    @in_one(
        "text", ["", ",", "3-1", "1-2-3", "-4", "x", "1,1", "1-5,3", "1.5", "1-3000", "²", "9" * 5000, "1\x1b[2J"], repr
    )
    def test_what_is_no_class_is_refused(self, text):
        with pytest.raises(ValueOutOfRangeError):
            class_list(text)

    def test_a_number_that_stands_twice_is_named(self):
        with pytest.raises(ValueOutOfRangeError, match="class number 3 stands twice, the first time in 1-5"):
            class_list("1-5, 3")

    @given(st.text(max_size=30))
    def test_any_text_is_read_or_refused(self, text):
        with suppress(GearcalcError):
            assert class_list(text)


class TestAFile:
    """The class of an invented shop."""

    @in_one(
        "text",
        [
            "1,Ada Reed\n2,Ben Low\n",
            "number,name\n1,Ada Reed\n2,Ben Low\n",
            "Name;Class number\nAda Reed;1\nBen Low;2\n",
            "\ufeffNo.\tName\r\n1\tAda Reed\r\n\r\n2\tBen Low\r\n",
            'Ada Reed,1\n"Ben Low",2',
        ],
        repr,
    )
    def test_the_columns_are_told_by_their_heads_or_what_is_in_them(self, text, tmp_path):
        assert class_list(written(tmp_path, text)) == (Learner(1, "Ada Reed"), Learner(2, "Ben Low"))

    @in_one(
        "text",
        [
            "No.,Surname,First\n1,Reed,Ada\n2,Low,Ben\n",
            "First name;Last name;Class number\nAda;Reed;1\nBen;Low;2\n",
            "class_number,name,given name,e-mail,group\n1,Reed,Ada,ada@example.org,B\n2,Low,Ben,,B\n",
            "1,Ada,Reed\n2,Ben,Low\n",
            "number,name,\n1,Ada,Reed\n2,Ben,Low\n",
            "Group name,no,username,family name,first name\nA,1,r1,Reed,Ada\nA,2,l2,Low,Ben\n",
        ],
        repr,
    )
    def test_a_name_in_several_columns_is_put_together(self, text, tmp_path):
        assert class_list(written(tmp_path, text)) == (Learner(1, "Ada Reed"), Learner(2, "Ben Low"))

    def test_a_long_name_stays_whole_and_one_without_end_is_seen_to_be_cut(self, tmp_path):
        long, endless = "Maximiliana " * 8 + "Reed", "x" * 500
        names = [learner.name for learner in class_list(written(tmp_path, f"1,{long}\n2,{endless}\n"))]
        assert names == [long, "x" * 199 + "…"]

    def test_a_letter_with_its_accent_apart_is_one_letter(self, tmp_path):
        assert class_list(written(tmp_path, "1,Zoe\u0308 Reed\n"))[0].name == "Zo\u00eb Reed"

    def test_numbers_alone_will_do(self, tmp_path):
        assert class_list(written(tmp_path, "4\n9\n")) == (Learner(4), Learner(9))

    def test_names_keep_their_letters_and_lose_what_a_terminal_obeys(self, tmp_path):
        learner = class_list(written(tmp_path, '1,"Łukasz  O\'Brien, jr.\x1b[2J"'))[0]
        assert learner.name == "Łukasz O'Brien, jr.\\x1b[2J"
        assert str(learner) == "Łukasz O'Brien, jr.\\x1b[2J (1)"

    @in_one(
        "text, named",
        [("1,Ada\n1,Ben", "row 2"), ("1,Ada\nx,Ben", "row 2"), ("number,name\n,Ada", "row 2"), ("", "nobody")],
    )
    def test_the_row_that_is_wrong_is_named(self, text, named, tmp_path):
        with pytest.raises(ValueOutOfRangeError, match=named):
            class_list(written(tmp_path, text))

    def test_what_is_no_text_or_not_there(self, tmp_path):
        with pytest.raises(NotPossibleError, match="UTF-8"):
            class_list(written(tmp_path, "1,Zoë", "latin-1"))
        with pytest.raises(NotPossibleError, match="can't be read"):
            class_list(tmp_path / "none.csv")
        with pytest.raises(NotPossibleError, match="too long"):
            class_list(written(tmp_path, "1,A\n" * 300_000))
