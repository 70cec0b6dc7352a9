"""The small grammar of answers in code cells: what it reads comes to the same as in Python, and it runs nothing."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.exact import PiMultiple
from gearcalc.lathes.trains import Train
from gearcalc.teaching.cell_answers import CellAnswers, answers_in
from tests.how_much import examples, in_one


def found_in(*cells: str) -> CellAnswers:
    found = CellAnswers()
    answers_in(cells, found)
    return found


def read(answer: str):
    return [each.value for each in found_in(f"exercise('x').check({answer})").answers]


WHOLE = st.integers(1, 200).map(str)
FRACTION = st.builds("Fraction({}, {})".format, st.integers(-200, 200), st.integers(1, 200))
SUMS = st.recursive(
    WHOLE | FRACTION,
    lambda inner: st.builds("({} {} {})".format, inner, st.sampled_from("+-*"), inner) | inner.map("-({})".format),
    max_leaves=6,
)


class TestWhatItReads:
    @given(SUMS)
    @examples(150)
    def test_a_sum_comes_to_what_python_makes_of_it(self, text):
        assert read(text) == [eval(text, {"Fraction": Fraction})]

    @in_one(
        "text, value",
        [
            ("30/127", Fraction(30, 127)),
            ("0.236", Fraction(236, 1000)),
            ("25.4/8", Fraction(127, 40)),
            ("2**3", 8),
            ("2**-1", Fraction(1, 2)),
            ("'40/80'", "40/80"),
            ("[1, 3]", (1, 3)),
            ("((20, 30), (40, 50))", ((20, 30), (40, 50))),
            ("gc.Train((20,), (40,))", Train((20,), (40,))),
            ("Train.parse('20/40')", Train((20,), (40,))),
            ("gc.Thread.parse('M8')", "M8"),
            ("3*pi/2", PiMultiple(Fraction(3, 2))),
            ("answer=7", 7),
        ],
        lambda case: case[0],
    )
    def test_in_every_form(self, text, value):
        assert read(text) == [value]

    def test_names_stand_for_what_they_were_set_to_last(self):
        found = found_in("CLASS = 12\nq = gc.exercise('a', class_number=CLASS, go=2)", "n = 3\nn = n + 1", "q.check(n)")
        (answer,) = found.answers
        assert (answer.exercise, answer.class_number, answer.go, answer.value) == ("a", 12, 2, 4)
        assert found.class_number == 12

    def test_what_was_set_to_something_unknown_is_not_known(self):
        found = found_in("n = 3", "n = somewhere()", "exercise('a').check(n)")
        assert (found.answers, len(found.unread)) == ([], 1)

    @in_one(
        "cell",
        [
            "%matplotlib inline\nexercise('x').check(3)",
            "!ls it's\n  \n%load_ext autoreload\nexercise('x').check(3)",
            "if 1 < 2:\n    %time 3\nexercise?\nexercise('x').check(3)\n?exercise\n!pip install x = y",
            "%%time\na = 3\nexercise('x').check(a)",
            "a = (7\n% 4)\n%magic\nexercise('x').check(3)",
            "%magic\nexercise('x').check('3')",
        ],
        repr,
    )
    def test_lines_for_the_notebook_itself_are_passed_over(self, cell):
        found = found_in(cell)
        assert [str(each.value) for each in found.answers] == ["3"]
        assert found.unread == []

    def test_what_such_a_line_sets_is_not_known(self):
        found = found_in("n = 3", "n = !ls\nexercise('a').check(n)", "%time exercise('b').check(3)\nm = 2")
        assert (found.answers, len(found.unread)) == ([], 2)

    @in_one("cell", ["%%bash\nexercise('x').check(3)", "%%writefile x.py\nexercise('x').check(3)"], repr)
    def test_a_cell_that_is_no_python_is_not_read(self, cell):
        found = found_in(cell)
        assert (found.answers, len(found.unread)) == ([], 1)

    @in_one("text", ["...", "None"])
    def test_no_answer_yet(self, text):
        assert read(text) == []


class TestWhatItDoesNot:
    @in_one(
        "text",
        ["open('x', 'w')", "__import__('os').system('x')", "9**9**9**9", "2**1000", "10**20 * 10**20", "1/0", "True",
         "f'{1}'", "lambda: 1", "[x for x in (1,)]", "'a' * 10**9", "b'1'", "1j", "eval('1')", "x",
         "Train((0,), (1,))", "Fraction(1, 0)", "Fraction('x')", "(1,)[0]", "'" + "x" * 401 + "'",
         "a.b.c.d.e.Train((20,), (40,))", "Fraction(1.5, 2.5, 3)", "1 if True else 2"],
        repr,
    )  # fmt: skip
    def test_is_named_and_not_read(self, text):
        found = found_in(f"exercise('x').check({text})")
        assert (found.answers, len(found.unread)) == ([], 1), text

    @in_one(
        "cell",
        ["exercise('x').check(" + "(" * 5000, "exercise('x').check(" + "-" * 5000 + "1)", "exercise('x').check(\x00)",
         "x.check(" + "1+" * 20_000 + "1)", "%magic\nexercise('x').check(1", "[" * 300 + ".check(" + "]" * 300,
         "exercise('x').check(" + "+".join("1" * 4000) + ")", "for n in range(9): exercise('x').check(n)",
         "exercise('x').check(" + "not " * 2000 + "1)", "a" + ".b" * 3000 + ".check(1)"],
        lambda cell: cell[:30],
    )  # fmt: skip
    def test_nothing_breaks_it(self, cell):
        found = found_in(cell, "exercise('y').check(2)")
        assert [(each.exercise, each.value) for each in found.answers] == [("y", 2)]

    @given(st.text(max_size=80))
    @examples(150)
    def test_any_text_at_all(self, text):
        found_in(f"exercise('x').check({text})", text)
