"""Whether two ways of writing a name are one person's. The names are invented."""

from __future__ import annotations

from unicodedata import normalize

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.teaching.names import ALIKE, IN_PART, NOT_ALIKE, how_alike
from tests.how_much import in_one

LONG = "Maximiliana-Theodora Wolfeschlegelsteinhausenbergerdorff von und zu Hohenlohe-Schillingsfürst"


class TestHowANameIsTypedMakesNoDifference:
    @in_one(
        "typed, listed",
        [
            ("Lucja Zolkiewska-Was", "Łucja Żółkiewska-Wąs"),
            ("Sean O’Brannigan", "O'Brannigan Séan"),
            (normalize("NFD", "Zoë Müllerstein"), "Zoë Müllerstein"),
            ("ZOE MUELLERSTEIN", "Zoë Müllerstein"),
            ("emile chatelain duboeuf", "Émile Châtelain-Dubœuf"),
            ("Ivar Odegard", "Ivar Ødegård"),
            ("Thorunn Isdal", "Þórunn Ísdal"),
            ("Cagla Isikgoz", "Çağla Işıkgöz"),
            ("Nguyen Thi Anh Phuong", "Nguyễn Thị Ánh Phượng"),
            ("Chidi Okonkwo", "Okonkwo, Chidi"),
            ("Groß, Jo", "Jo Gross"),
            ("ЗОРИНА Мира", "Мира Зорина"),
        ],
        repr,
    )
    def test_accents_case_and_order(self, typed, listed):
        assert how_alike(typed, listed) == how_alike(listed, typed) == ALIKE

    @in_one(
        "typed, listed",
        [("Ada", "Ada Thorn"), ("A. Thorn", "Ada Thorn"), (LONG[:60], LONG), (LONG[:70], LONG), ("Séan", "Sean Low")],
        repr,
    )
    def test_a_part_of_a_name(self, typed, listed):
        assert how_alike(typed, listed) == how_alike(listed, typed) == IN_PART

    @in_one(
        "typed, listed",
        [("Bo", "Ada"), ("", "Ada"), ("a", "Ada Thorn"), ("Ada Reed", "Ada Thorn"), ("?!", "?!"), ("Ad", "Ada Thorn")],
        repr,
    )
    def test_another_name(self, typed, listed):
        assert how_alike(typed, listed) == how_alike(listed, typed) == NOT_ALIKE

    @given(st.text(max_size=20), st.text(max_size=20))
    def test_any_two_texts_are_compared_the_same_either_way_round(self, one, other):
        assert how_alike(one, other) == how_alike(other, one)
        assert how_alike(one, one) in {ALIKE, NOT_ALIKE}
