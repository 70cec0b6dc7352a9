"""Worksheets and tests: what a lesson stands for, whose numbers they are, and that each key is marked right."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.learning.exercises import exercise_names, recipe_of
from gearcalc.learning.exercises.answers import Choice, InOrder
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Recipe, Task
from gearcalc.teaching import worksheets
from gearcalc.teaching.class_lists import class_list
from gearcalc.teaching.worksheets import chosen_exercises, worksheet
from tests.how_much import THOROUGH, examples, in_one
from tests.notebooks import LESSONS, sources

NAMES = exercise_names()
WITH_EXERCISES = [lesson for lesson in LESSONS if exercise_names(int(lesson))]
ASKED = re.compile(r'exercise\("([a-z0-9-]+)"')


def one(name, number=1, **settings):
    """The one problem of one learner."""
    (mine,) = worksheet([name], class_list(str(number)), **settings).sets
    return mine.problems[0]


def asked_of(name, numbers, word):
    """What one exercise asks of each of a class, on a worksheet or in a test."""
    return [str(mine.problems[0].task) for mine in worksheet([name], class_list(numbers), test=word).sets]


class TestWhichExercises:
    @in_one("lesson", WITH_EXERCISES)
    def test_a_lesson_is_what_stands_in_it_before_more_practice(self, lesson):
        page = "\n".join(text for _, text in sources(LESSONS[lesson])).partition("## More practice")[0]
        own = [name for name in dict.fromkeys(ASKED.findall(page)) if name in exercise_names(int(lesson))]
        assert own
        assert list(chosen_exercises([lesson])) == list(chosen_exercises([f" {int(lesson)} "])) == own

    def test_several_lessons(self):
        each = [chosen_exercises([lesson]) for lesson in ("01", "02", "03")]
        assert chosen_exercises(["1-3"]) == chosen_exercises(["01–02", "3"]) == sum(each, ())
        assert chosen_exercises(["0-1"]) == each[0]

    def test_so_many_of_each(self):
        assert chosen_exercises(["01"], 2) == chosen_exercises(["01"])[:2]
        seven = chosen_exercises(["01"], 7)
        assert sorted(seven) == sorted(exercise_names(1))
        assert chosen_exercises(["01", "two-pairs"], 8) == (*seven, seven[0], *["two-pairs"] * 8)

    @in_one("given", ["14", "00", "3-2", "no-such-exercise", "01 02", "", "1-2-3", "١"])
    def test_neither_lesson_nor_exercise(self, given):
        with pytest.raises(UnknownNameError):
            chosen_exercises([given])

    @in_one("given, count", [([], None), (["01"], 0), (["01"], 51), (["two-pairs"] * 51, None), (["01", "01"], 99)])
    def test_too_many_or_none(self, given, count):
        with pytest.raises(ValueOutOfRangeError):
            chosen_exercises(given, count)


class TestWhoseNumbers:
    def test_those_of_the_class_number_and_once_more_those_of_the_next_go(self):
        sheet = worksheet(["two-pairs", "01", "two-pairs"], class_list("3, 8"))
        for mine in sheet.sets:
            gos = {}
            for problem in mine.problems:
                gos[problem.name] = go = gos.get(problem.name, 0) + 1
                asked = gc.exercise(problem.name, mine.learner.number, go=go)
                assert (problem.time, str(problem.task), problem.key) == (go, str(asked.task), asked.key)
                assert problem.title == asked.title
        assert [mine.learner.number for mine in sheet.sets] == [3, 8]

    def test_on_a_lathe_only_where_one_is_taken(self, monkeypatch):
        def pose(draw, lathe):
            asked = "none" if lathe is None else lathe.name
            return Task(question=asked, answer=Number(Fraction(1)), hints="a", solution="**1**", right="")

        of_any = Recipe("of-any", "Of any lathe", 1, pose, any_lathe=True)
        monkeypatch.setattr(worksheets, "recipe_of", lambda name: of_any if name == "of-any" else recipe_of(name))
        lathe = gc.demo_lathe("metric")
        (mine,) = worksheet(["of-any", "two-pairs"], class_list("1"), lathe=lathe).sets
        assert mine.problems[0].task.question == lathe.name
        assert str(mine.problems[1].task) == str(gc.exercise("two-pairs", 1).task)
        with pytest.raises(NotPossibleError):
            worksheet(["two-pairs"], class_list("1"), lathe=lathe)


class TestATestAsksWhatTheClassHasNotHad:
    @staticmethod
    def drawn(draw):
        much = draw.randrange(10**12)
        return Task(question=f"{much}", answer=Number(Fraction(much)), hints="a", solution=f"**{much}**", right="")

    def test_no_go_of_any_class_number_draws_them(self, monkeypatch):
        recipe = Recipe("much", "Much", 1, self.drawn)
        monkeypatch.setattr(worksheets, "recipe_of", lambda name: recipe)
        own = {str(recipe.numbered(number, go)) for number in range(200) for go in (1, 2, 3)}
        tests = {str(one("much", number, test=word).task) for word in ("spring", "autumn") for number in range(200)}
        assert (len(own), len(tests)) == (600, 400)
        assert not own & tests

    @in_one("word", ['a"b', "$HOME", "a;b", "`x`", "a\\b", "%x%", "x" * 61, "", " ", "-."])
    def test_no_word_that_is_empty_or_that_a_shell_would_take_otherwise(self, word):
        with pytest.raises(ValueOutOfRangeError):
            one("two-pairs", test=word)

    @in_one("name", NAMES[:: 1 if THOROUGH else 5])
    def test_not_what_the_learner_has_had(self, name):
        had, again = (problem.task for problem in worksheet([name] * 2, class_list("5"), test="w").sets[0].problems)
        assert len({str(had), str(again), str(gc.exercise(name, 5).task)}) == 3

    def test_where_there_are_few_questions_it_is_one_that_the_learner_has_not_had(self, monkeypatch):
        def pose(draw):
            few = draw.choice("abc")
            return Task(question=few, answer=Number(Fraction(1)), hints="a", solution="**1**", right="")

        recipe = Recipe("few", "Few", 1, pose)
        monkeypatch.setattr(worksheets, "recipe_of", lambda name: recipe)
        for mine in worksheet(["few", "few"], class_list("1-50"), test="spring").sets:
            asked = {problem.task.question for problem in mine.problems}
            assert asked == set("abc") - {recipe.numbered(mine.learner.number).question}

    def test_not_what_anybody_of_the_class_has_had_where_so_much_can_be_asked(self):
        for name in ("two-pairs", "one-pair-for-a-thread"):
            had, tested = (asked_of(name, "1-24", word) for word in (None, "autumn"))
            assert not set(had) & set(tested), name
            alone = [str(one(name, number, test="autumn").task) for number in range(1, 25)]
            assert set(had) & set(alone), "alone, nobody knows of the class"

    def test_word_and_class_make_them_again(self):
        asked = [str(one("two-pairs", 7, test=word).task) for word in ("Spring 2027", " spring  2027", "spring 2028")]
        assert asked[0] == asked[1] != asked[2]
        assert str(one("two-pairs", test="Pru\u0308fung").task) == str(one("two-pairs", test="PRÜFUNG").task)
        assert asked_of("two-pairs", "1-24", "w") == asked_of("two-pairs", "1-24", "W")
        assert set(asked_of("two-pairs", "1-24", "w")) == set(asked_of("two-pairs", "24,1-23", "w"))


class TestEachKeyIsMarkedRight:
    """By the marking of the form. All 24 numbers are asked under --thorough."""

    @in_one("name", NAMES)
    def test_on_a_worksheet_and_in_a_test(self, name):
        place = NAMES.index(name)
        for number in range(1, 25) if THOROUGH else (1 + place % 24,):
            for word in (None, "autumn"):
                problem = one(name, number, test=word)
                assert problem.task.check(problem.key).is_right, (number, word, problem.key)
                assert len(problem.key) < 60

    @pytest.mark.parametrize("lathe", ["inch", "metric", "odd"])
    def test_on_any_lathe(self, lathe):
        for name in (name for name in NAMES if recipe_of(name).any_lathe):
            for number in range(1, 25) if THOROUGH else (1, 2):
                for word in (None, "autumn"):
                    problem = one(name, number, test=word, lathe=gc.demo_lathe(lathe))
                    assert problem.task.check(problem.key).is_right, (name, number, word, problem.key)


class TestAnExerciseOfOnesOwn:
    """Its key is what its answer takes for right, or there is none; what nobody could answer is refused when asked."""

    @staticmethod
    def key(monkeypatch, answer, solution, **more):
        def pose(draw):
            return Task(question="?", answer=answer, hints="Look.", solution=solution, right="So it is.", **more)

        recipe = Recipe("bar", "Bar", 1, pose)
        monkeypatch.setattr(worksheets, "recipe_of", lambda name: recipe)
        monkeypatch.setattr(worksheets, "chosen_exercises", lambda names, count=None: ["bar"])
        return one("bar").key

    def test_the_key_is_the_last_in_bold_that_is_right(self, monkeypatch):
        said = "**8** turns of 3 mm make **24 mm**. Isolate **first**."
        assert self.key(monkeypatch, Number(24, "mm"), said) == "24 mm"

    @in_one("solution", ["**8** turns of 3 mm make 24 mm.", "24 mm."])
    def test_no_key_is_made_of_what_is_not_right(self, monkeypatch, solution):
        with pytest.raises(NotPossibleError, match=r"^exercise bar: there is no key"):
            self.key(monkeypatch, Number(24, "mm"), solution)

    def test_what_the_library_refuses_in_a_solution_is_told_of_the_exercise(self, monkeypatch):
        with pytest.raises(UnknownNameError, match=r"^exercise bar: .*'no such'"):
            self.key(monkeypatch, Number(24, "mm"), lambda: [gc.demo_lathe("inch").lever("no such")])

    @in_one(
        "answer",
        [
            lambda: Choice(("8 tpi", "10 tpi"), "10 tpi"),
            lambda: InOrder(("stop", "isolate")),
            lambda: InOrder((1, 3)),
            lambda: InOrder((2, 1, 3)),
        ],
    )
    def test_what_has_no_right_answer_or_no_rows_is_refused(self, monkeypatch, answer):
        def pose(draw):
            table = Table("Steps", "step | what", (("1", "stop"), ("2", "isolate")))
            return Task(question="?", answer=answer(), hints="", solution="**1**", right="", table=table)

        with pytest.raises(ValueOutOfRangeError, match=r"^exercise bar: ") as told:
            Recipe("bar", "Bar", 1, pose).numbered(1)
        assert told.value.remedy


class TestPointsAndTitle:
    @in_one(
        "points, each, total",
        [((), [None] * 4, None), ((2,), [2] * 4, 8), (("1,5", 2, 1, 0), [Fraction(3, 2), 2, 1, 0], Fraction(9, 2))],
    )
    def test_points(self, points, each, total):
        (mine,) = worksheet(["01"], class_list("1"), points=points).sets
        assert ([problem.points for problem in mine.problems], mine.points) == (each, total)

    @in_one("points", [(1, 2), ("x",), (-1,), (1001,), (1, 2, 3, 4, 5)])
    def test_what_are_no_points(self, points):
        with pytest.raises(ValueOutOfRangeError):
            worksheet(["01"], class_list("1"), points=points)

    def test_titles(self):
        assert worksheet(["two-pairs"], class_list("1")).title == "Exercises: 03 · Inches meet millimetres"
        assert worksheet(["03", "02"], class_list("1"), test="x").title == "Test: lessons 02 and 03"
        assert worksheet(["1-4"], class_list("1")).title == "Exercises: lessons 01 to 04"
        assert worksheet(["1-2", "4"], class_list("1")).title == "Exercises: lessons 01, 02 and 04"
        assert worksheet(["1-3", "5"], class_list("1")).title == "Exercises: lessons 01, 02, 03 and 05"
        assert worksheet(["03"], class_list("1"), title=" Our\nwork ").title == "Our work"

    @examples(8)
    @given(st.text(max_size=70), st.text(max_size=120), st.text(max_size=12), st.lists(st.text(max_size=6), max_size=3))
    def test_any_text_is_read_or_refused_in_our_words(self, word, title, named, points):
        for asked in (["two-pairs"], [named]):
            try:
                sheet = worksheet(asked, class_list("1"), title=title, test=word, points=points)
            except GearcalcError:
                continue
            assert sheet.title.strip() == sheet.title != ""
            assert not set(sheet.title + sheet.test) & set("\n\r\0\x1b\u2028")
