"""Marks of an invented class: planted answers are found again, and what nobody should trust is named."""

from __future__ import annotations

import csv
import json
import os
import re
from collections import Counter
from html.parser import HTMLParser
from types import SimpleNamespace
from unicodedata import normalize

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc import exercise_names
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import _RECIPES, NOT_RIGHT, Task, poses, recipes
from gearcalc.learning.exercises.tasks import RIGHT as IS_RIGHT
from gearcalc.learning.progress import lessons_with_exercises
from gearcalc.pictures.class_pictures import class_picture
from gearcalc.teaching.class_lists import Learner, class_list
from gearcalc.teaching.marking import UNREADABLE, mark
from gearcalc.teaching.marks import NOT_ANSWERED, class_marks
from gearcalc.teaching.marks_page import _bars, _lessons_of, marks_page, save_marks
from gearcalc.teaching.taking_up import goals_reached, slips_made, tomorrow, typed_otherwise, weeks_gone
from tests.how_much import THOROUGH, examples, in_one
from tests.teaching.invented_class import (
    NAMES,
    NONE,
    NONSENSE,
    RIGHT,
    SLIP,
    WRONG,
    answers,
    go,
    hand_in,
    name_of,
    planted,
    write,
)

LESSON = exercise_names(1)
STATES = {RIGHT: {IS_RIGHT}, SLIP: {NOT_RIGHT}, WRONG: {NOT_RIGHT, "not readable"}, NONE: {NOT_ANSWERED}}
LUCJA = "Łucja Żółkiewska-Wąs"  # invented
HOSTILE = '<img src=x onerror="alert(1)">'


def one(tmp_path, number=1, name="Ada Thorn", exercises=None, file="ada/answers.json", **more):
    return write(tmp_path / file, answers(number, name, exercises or {}, **more))


def right_by(number, name="lead-of-a-leadscrew"):
    return {name: [go(number, planted(name, number, RIGHT)[0])]}


def whys(marks):
    return [str(each) for each in marks.not_taken]


@pytest.fixture(autouse=True)
def marked_here(monkeypatch):
    """What one test asks is marked without another process; the planted class, and test_marking.py, go through them."""
    monkeypatch.setattr("gearcalc.teaching.marks.all_marked", lambda given: [list(map(mark, each)) for each in given])


@pytest.fixture(scope="module")
def planted_class(tmp_path_factory):
    folder = tmp_path_factory.mktemp("class")
    lessons = exercise_names() if THOROUGH else (*exercise_names(1), *exercise_names(3))
    sown = hand_in(folder, range(1, 501 if THOROUGH else 25), tuple(lessons))
    return sown, class_marks(folder)


class TestPlantedAnswersAreFoundAgain:
    def test_each_learner_at_each_exercise(self, planted_class):
        sown, marks = planted_class
        assert marks.not_taken == ()
        for (number, name), (kind, slip, tries) in sown.items():
            learner = next(each for each in marks.learners if each.learner.number == number)
            work = learner.at(name)
            assert learner.learner.name == name_of(number)
            assert (work.state in STATES[kind], work.tries) == (True, tries), (number, name, kind, work)
            if slip:
                assert work.slip == slip, (number, name)

    def test_the_slips_of_the_class_are_as_many_as_were_planted(self, planted_class):
        sown, marks = planted_class
        slips = Counter((name, slip) for (_, name), (_, slip, _) in sown.items() if slip)
        found = {(made.exercise, made.slip): len(made.learners) for made in slips_made(marks)}
        assert {key: found.get(key) for key in slips} == dict(slips)
        assert [len(made.learners) for made in slips_made(marks)] == sorted(found.values(), reverse=True)
        for made in slips_made(marks):
            assert made.says
            assert made.answered == sum(kind != NONE for (_, name), (kind, *_) in sown.items() if name == made.exercise)

    def test_the_goals_are_reached_by_who_has_all_of_one_right(self, planted_class):
        sown, marks = planted_class
        asked = {lesson.number: lesson.exercises[: lesson.asked] for lesson in lessons_with_exercises()}
        goals = goals_reached(marks)
        assert {name for goal in goals for name in goal.exercises} == {
            name for number in {recipes()[name].lesson for _, name in sown} for name in asked[number]
        }
        for goal in goals:
            numbers = {number for number, _ in sown}
            have_all = [n for n in numbers if all(sown[n, name][0] == RIGHT for name in goal.exercises)]
            assert goal.reached == len(have_all)
            assert goal.is_reached == (4 * goal.reached >= 3 * goal.began)

    def test_the_table_in_csv_says_the_same(self, planted_class, tmp_path):
        sown, marks = planted_class
        with save_marks(marks, tmp_path / "marks.csv").open(encoding="utf-8-sig", newline="") as file:
            rows = {int(row["class number"]): row for row in csv.DictReader(file)}
        for (number, name), (kind, slip, tries) in sown.items():
            cell = rows[number][name]
            expected = slip if slip else {RIGHT: "right", NONE: "not answered"}.get(kind)
            assert expected is None or cell.removesuffix(f" ({tries} tries)") == expected, (number, name, cell)
            assert (f"({tries} tries)" in cell) == (tries > 1)

    def test_three_sentences_say_the_largest_of_each(self, planted_class):
        _, marks = planted_class
        slip, *_, goal, whom = tomorrow(marks)
        most = slips_made(marks)[0]
        assert (most.slip in slip, most.says in slip) == (True, True)
        least = min(goals_reached(marks), key=lambda each: each.reached / each.began)
        assert f"{least.reached} of {least.began}" in goal
        fewest = min(one.right for one in marks.learners)
        assert f"{fewest} of" in whom
        assert all(sentence.endswith((".", "?")) for sentence in (slip, goal, whom))

    def test_the_page_is_whole_by_itself_and_says_all_of_it(self, planted_class, tmp_path):
        _, marks = planted_class
        page = save_marks(marks, tmp_path / "marks.html").read_text(encoding="utf-8")
        assert not re.search(r"""(?:src|href)=["'](?!data:)|url\(|@import|<script""", page)
        assert page.count('<th scope="row">') >= len(marks.learners)
        assert all(f"{name} (" in page for name in NAMES)
        assert '<html lang="en">' in page
        assert re.search(r'<img alt="How the class stands: lessons 01 (?:to|and) \d\d\. ', page)
        _balanced(page)

    @in_one(
        ("lessons", "words"),
        [((1,), "lesson 01"), ((99,), "lesson 99"), ((1, 1, 2, 99), "lessons 01, 02 and 99"),
         ((1, 2, 3), "lessons 01 to 03"), ((3, 4), "lessons 03 and 04")],
    )  # fmt: skip
    def test_a_picture_names_the_lessons_that_are_in_it_and_none_between(self, lessons, words):
        bars = [SimpleNamespace(group=f"Lesson {number:02}") for number in lessons]
        assert _lessons_of(bars) == f"How the class stands: {words}"


class TestGoals:
    def test_exercises_entered_for_a_goal_of_their_lesson_reach_it_together(self, tmp_path, monkeypatch):
        (lesson,) = (each for each in lessons_with_exercises() if each.number == 1)
        goals = dict(zip(LESSON, (1, 1, 2, 2, 3, 3, 3), strict=True))
        entered = {name: SimpleNamespace(title=name, lesson=1, goal=goals[name]) for name in LESSON}
        monkeypatch.setattr("gearcalc.teaching.taking_up.recipes", lambda: entered)
        asked = lesson.exercises[: lesson.asked]
        of_one = [name for name in asked if goals[name] == goals[asked[0]]]
        one(tmp_path, exercises={name: [go(1, planted(name, 1, RIGHT)[0])] for name in of_one})
        one(tmp_path, 2, "Bo Reed", right_by(2, asked[0]), "bo/answers.json")
        found = {goal.words: goal for goal in goals_reached(class_marks(tmp_path))}
        assert set(found) == {lesson.goals[goals[name] - 1] for name in asked}
        reached = found[lesson.goals[goals[asked[0]] - 1]]
        assert (set(reached.exercises), reached.reached, reached.began) == (
            set(of_one),
            2 if len(of_one) == 1 else 1,
            2,
        )

    def test_an_exercise_of_a_school_s_own_counts_for_the_goal_that_it_is_entered_for(self, tmp_path):
        @poses("a-school-s-own", lesson=1, title="Own", goal=2)
        def own(draw):
            return Task(question="?", answer=Number(7, ""), hints="a\nb", solution="7", right="So it is.")

        try:
            one(tmp_path, exercises={"a-school-s-own": [go(1, "7")]})
            marks = class_marks(tmp_path)
            assert marks.exercises == (*lessons_with_exercises()[0].exercises, "a-school-s-own")
            assert marks.learners[0].at("a-school-s-own").state == IS_RIGHT
            second = goals_reached(marks)[1]
            assert (second.words, second.exercises[-1]) == (lessons_with_exercises()[0].goals[1], "a-school-s-own")
            one(tmp_path, 2, "Bo Reed", right_by(2), "bo/answers.json")
            assert [goal.began for goal in goals_reached(class_marks(tmp_path))] == [2, 2, 2]
        finally:
            del _RECIPES["a-school-s-own"]

    def test_one_that_nobody_was_asked_about_is_not_asked_yet(self, tmp_path):
        for number, kind in ((1, RIGHT), (2, RIGHT), (3, WRONG)):
            given = "threads-from-two-pairs", "forgotten-pair"  # of the three exercises of the first goal
            answered = {name: [go(number, planted(name, number, kind)[0])] for name in given}
            one(tmp_path, number, name_of(number), answered, f"{number}/answers.json")
        marks = class_marks(tmp_path)
        first, second, third = goals_reached(marks)
        assert (first.unanswered, first.reached, first.is_reached) == (("one-wrong-row",), 2, False)
        assert [(goal.is_asked, goal.is_reached) for goal in (second, third)] == [(False, False)] * 2
        (said,) = (each for each in tomorrow(marks) if each.startswith("Then go back to a goal"))
        assert said.endswith(
            "reached by 2 of 3 ('One row of this plate is wrong' was answered by nobody); 2 goals were not asked yet."
        )
        page = marks_page(marks)
        counts = [page.count(f">{words}</td>") for words in ("reached", "not reached", "not asked yet", "0 of 3")]
        assert counts == [0, 1, 2, 0]
        assert "One row of this plate is wrong (answered by nobody)" in page

    def test_what_is_right_is_drawn_and_said_to_ears(self, tmp_path):
        one(tmp_path, exercises=right_by(1))
        page = marks_page(class_marks(tmp_path))
        cells = re.findall(r"<td>(<svg .+?</svg>.*?)</td>", page)
        assert cells
        assert [cell for cell in cells if 'role="img" aria-label="right"' not in cell] == []

    def test_where_all_that_was_asked_is_reached_it_is_said_so(self, tmp_path):
        one(tmp_path, exercises=right_by(1))
        marks = class_marks(tmp_path)
        assert len([goal for goal in goals_reached(marks) if goal.is_asked]) == 1
        assert "Every goal that was asked is reached by three in four or more; 2 goals were not asked yet." in [
            re.sub(r" \(.*?\)", "", sentence) for sentence in tomorrow(marks)
        ]

    def test_where_nobody_was_asked_anything_no_goal_is_said_to_be_reached(self, tmp_path):
        one(tmp_path, exercises={})
        assert not [sentence for sentence in tomorrow(class_marks(tmp_path)) if "goal" in sentence]

    def test_every_lesson_has_three_in_words(self):
        assert all(len(lesson.goals) == 3 for lesson in lessons_with_exercises())


class TestAnExerciseIsRightOnceOneGoIs:
    def test_a_wrong_further_go_takes_nothing_away(self, tmp_path):
        name = "lead-of-a-leadscrew"
        both = [*right_by(1)[name], {**go(1, "1 mm", 3), "go": 2}]
        one(tmp_path, exercises={name: both})
        work = class_marks(tmp_path).learners[0].at(name)
        assert (work.state, work.tries) == (IS_RIGHT, 4)

    def test_weeks_go_by_the_dates_of_folders(self, tmp_path):
        slip, called = planted("lead-of-a-leadscrew", 1, SLIP)
        first = {"lead-of-a-leadscrew": [go(1, slip)]}
        one(tmp_path, exercises=first, file="2026-11-16/ada/answers.json")
        one(tmp_path, exercises=right_by(1), file="2026-11-23/ada/answers.json")
        one(tmp_path, 2, "Bo Reed", right_by(2), file="2026-11-23/bo/answers.json")
        one(tmp_path, exercises=first, file="2026-11-30/ada/answers.json")  # an old copy: what was right stays right
        marks = class_marks(tmp_path)
        gone = weeks_gone(marks)
        assert [(week.week, week.learners, week.right) for week in gone] == [
            ("2026-11-16", 1, 0),
            ("2026-11-23", 2, 2),
            ("2026-11-30", 2, 2),
        ]
        assert [dict(week.slips) for week in gone] == [{("lead-of-a-leadscrew", called): 1}, {}, {}]
        assert "Week by week" in marks_page(marks)

    def test_what_is_no_date_is_no_week(self, tmp_path):
        one(tmp_path, exercises=right_by(1), file="2026-02-30/answers.json")
        marks = class_marks(tmp_path)
        assert (marks.weeks, marks.learners[0].right) == (("",), 1)
        assert whys(marks) == ["2026-02-30: there is no such day, so what lies in it is of no week."]
        assert not marks.not_taken[0].is_all

    def test_it_is_said_once_and_is_nobody_s_number(self, tmp_path):
        for number, place in ((1, "2026-02-30/ada"), (2, "bo/2026-02-30"), (3, "2026-02-30")):
            one(tmp_path, number, f"Nr {number}", right_by(number), f"{place}/answers.json")
        marks = class_marks(tmp_path)
        (said,) = whys(marks)
        assert said.startswith("2026-02-30: ")
        assert "no such day" in said
        assert [each.learner.number for each in marks.learners] == [1, 2, 3]

    @pytest.mark.parametrize("day", ["2026-11-16", "2026-02-30"])
    def test_a_day_is_nobody_s_number_where_notebooks_lie_in_it(self, tmp_path, day):
        cells = [{"cell_type": "code", "source": "exercise('lead-of-a-leadscrew').check(3)"}]
        write(tmp_path / "7 Ada" / day / "a.ipynb", {"cells": cells, "nbformat": 4})
        assert [each.learner.number for each in class_marks(tmp_path).learners] == [7]
        write(tmp_path / day / "a.ipynb", {"cells": cells, "nbformat": 4})
        assert any(f"{day}: no class number" in why for why in whys(class_marks(tmp_path)))

    def test_nor_where_more_stands_behind_it_or_it_is_the_name_of_a_file(self, tmp_path):
        cells = [{"cell_type": "code", "source": "exercise('lead-of-a-leadscrew').check(3)"}]
        write(tmp_path / "2026-11-16 Tuesday" / "a.ipynb", {"cells": cells, "nbformat": 4})
        write(tmp_path / "answers-2026-11-16.json", "not ours")
        one(tmp_path, 7, "Ada", right_by(7), "7/answers.json")
        marks = class_marks(tmp_path)
        assert [each.learner.number for each in marks.learners] == [7]
        assert {each.where: each.class_number for each in marks.not_taken} == {
            "2026-11-16 Tuesday": None,
            "answers-2026-11-16.json": None,
        }


class TestNothingThatAFileSaysOfItselfIsTrusted:
    def test_a_mark_written_into_it(self, tmp_path):
        name = "lead-of-a-leadscrew"
        one(tmp_path, exercises={name: [go(1, "1 mm", right=True)]}, marks={name: "right"})
        marks = class_marks(tmp_path)
        assert marks.learners[0].at(name).state == NOT_RIGHT
        assert re.search(r"'marks', 'right', which nobody asked", whys(marks)[0])

    def test_answers_to_another_numbers_questions(self, tmp_path):
        one(tmp_path, 1, exercises=right_by(9))
        marks = class_marks(tmp_path)
        assert marks.learners[0].right == 0
        assert "class number 9, not of its own, do not count: 1" in whys(marks)[0]

    def test_another_ones_answers_word_for_word(self, tmp_path):
        theirs = {name: planted(name, 2, RIGHT)[0] for name in LESSON}
        one(tmp_path, 2, "Bo Reed", {name: [go(2, text)] for name, text in theirs.items()}, "bo/answers.json")
        one(tmp_path, 1, exercises={name: [go(1, text)] for name, text in theirs.items()})
        marks = class_marks(tmp_path)
        assert [each for each in whys(marks) if re.search(r"ada/.*word for word.*Bo Reed \(2\)", each)]
        assert not any(each.startswith("bo/") for each in whys(marks))

    def test_choices_and_rows_that_happen_to_be_the_same_are_nobody_s(self, tmp_path):
        said = {name: planted(name, 1, RIGHT)[0] for name in exercise_names()}
        short = {name: text for name, text in said.items() if not re.search(r"\d.?\d", text)}
        one(tmp_path, 1, exercises={name: [go(1, text)] for name, text in short.items()})
        one(tmp_path, 2, "Bo Reed", {name: [go(2, text)] for name, text in short.items()}, "bo/answers.json")
        marks = class_marks(tmp_path)
        assert marks.learners[0].right - marks.learners[1].right >= 3
        assert not any("word for word" in why for why in whys(marks))

    def test_one_number_under_two_names(self, tmp_path):
        one(tmp_path, 1, exercises=right_by(1))
        one(tmp_path, 1, "Bo Reed", right_by(1), "bo/answers.json")
        one(tmp_path, 3, "Cleo Marsh", right_by(3), "cleo/answers.json")
        marks = class_marks(tmp_path)
        assert [each.learner.number for each in marks.learners] == [3]
        assert len([why for why in whys(marks) if "class number 1 is also that of" in why]) == 2
        assert "with the same answers word for word" in whys(marks)[0]

    def test_the_list_says_whose_number_it_is(self, tmp_path):
        one(tmp_path, 1, "ada", right_by(1))
        one(tmp_path, 1, "Bo Reed", right_by(1), "bo/answers.json")
        one(tmp_path, 7, "Nobody", right_by(7), "nobody/answers.json")
        marks = class_marks(tmp_path, (Learner(1, "Ada Thorn"), Learner(2, "Bo Reed")))
        assert [(str(each.learner), each.right) for each in marks.learners] == [
            ("Ada Thorn (1)", 1),
            ("Bo Reed (2)", 0),
        ]
        assert any("it says 'Bo Reed', and class number 1 is Ada Thorn's" in why for why in whys(marks))
        assert any("class number 7 is not on the list" in why for why in whys(marks))
        assert "Handed in, but not taken: Bo Reed (2)" in tomorrow(marks)[-1]

    @in_one(
        "name",
        ["Lucja Zolkiewska-Was", "ŻÓŁKIEWSKA-WĄS Łucja", "Lucja", "Łucja Żółkiewska", normalize("NFD", LUCJA)],
        repr,
    )
    def test_a_name_that_is_only_typed_otherwise_is_taken_and_nothing_said(self, tmp_path, name):
        one(tmp_path, 1, name, right_by(1))
        marks = class_marks(tmp_path, (Learner(1, LUCJA), Learner(2, "Lucie Reed")))
        assert (marks.learners[0].right, marks.not_taken) == (1, ())

    def test_a_name_like_nobody_s_on_the_list_is_taken_and_said(self, tmp_path):
        one(tmp_path, 1, "Taz", right_by(1))
        marks = class_marks(tmp_path, (Learner(1, "Ada Thorn"), Learner(2, "Bo Reed")))
        assert [each.right for each in marks.learners] == [1, 0]
        (said,) = marks.not_taken
        assert (said.is_all, "it says 'Taz', and class number 1 is Ada Thorn's on the list" in said.why) == (
            False,
            True,
        )

    def test_a_name_like_nobody_s_is_not_taken_where_another_one_has_the_number(self, tmp_path):
        one(tmp_path, 1, "Taz", {}, "taz/answers.json")
        one(tmp_path, 1, "Thorn, Ada", right_by(1))
        marks = class_marks(tmp_path, (Learner(1, "Ada Thorn"), Learner(2, "Bo Reed")))
        assert (marks.learners[0].right, marks.learners[0].where) == (1, ("ada/answers.json",))
        assert [each.where for each in marks.not_taken if each.is_all] == ["taz/answers.json"]

    def test_the_name_of_another_one_on_the_list_who_is_called_just_so(self, tmp_path):
        one(tmp_path, 1, "Ada Reed", right_by(1))
        marks = class_marks(tmp_path, (Learner(1, "Ada Reed Low"), Learner(2, "Ada Reed")))
        assert [each.right for each in marks.learners] == [0, 0]
        assert [each.class_number for each in marks.not_taken] == [2]
        one(tmp_path, 1, "Jo Low", right_by(1))
        assert class_marks(tmp_path, (Learner(1, "Jo Low"), Learner(2, "Jo Low"))).learners[0].right == 1

    def test_nothing_stands_both_under_taken_and_under_not_taken(self, tmp_path):
        cells = [{"cell_type": "code", "source": "exercise('which-way-round').check(open('x').read())"}]
        write(tmp_path / "gia" / "a.ipynb", {"cells": cells, "nbformat": 4})
        one(tmp_path, 2, "Bo Reed", {**right_by(2), "no-such": 3}, "bo/answers.json", marks={})
        one(tmp_path, 7, "Nobody", {"no-such": [go(7, "1")]}, "nobody/answers.json", marks={})
        marks = class_marks(tmp_path, (Learner(2, "Bo Reed"),))
        of_all, of_part = ({each.where for each in marks.not_taken if each.is_all is whole} for whole in (True, False))
        assert (of_all, of_part) == ({"gia", "nobody/answers.json"}, {"bo/answers.json"})

    def test_numbers_all_left_at_one_without_a_name(self, tmp_path):
        for folder in ("ada", "bo"):
            one(tmp_path, 1, "", right_by(1), f"{folder}/answers.json")
        assert class_marks(tmp_path, class_list("1-2")).learners[0].right == 0

    def test_one_learner_in_two_files_is_put_together(self, tmp_path):
        one(tmp_path, 1, "", right_by(1), "2026-11-16/ada/answers.json")
        one(tmp_path, 1, "Ada Thorn", right_by(1, "which-way-round"), "2026-11-23/ada/answers.json")
        marks = class_marks(tmp_path)
        assert (marks.not_taken, marks.learners[0].right) == ((), 2)

    def test_words_that_a_page_or_a_spreadsheet_would_obey(self, tmp_path):
        one(tmp_path, 1, HOSTILE, {"lead-of-a-leadscrew": [go(1, HOSTILE)]}, f"{HOSTILE[:4]}/answers.json")
        one(tmp_path, 2, "=cmd|'/c calc'!A1", right_by(2), "answers-b.json")
        one(tmp_path, 3, "@SUM(1)", {HOSTILE: [go(3, "1")]}, "answers-c.json")
        marks = class_marks(tmp_path)
        page = marks_page(marks)
        assert "<img src=x" not in page
        assert "&lt;img src=x" in page
        _balanced(page)
        with save_marks(marks, tmp_path / "m.csv").open(encoding="utf-8-sig", newline="") as file:
            cells = [cell for row in csv.reader(file) for cell in row]
        assert not [cell for cell in cells if cell.startswith(("=", "@", "+", "-"))]
        assert "'=cmd|'/c calc'!A1" in cells


class TestAFileThatLiesAtAnotherOnesPlace:
    """Whose it is, the class number in a file says, and so does where it lies; where these differ, it is asked."""

    LIST = (Learner(7, "Ida Petrel"), Learner(9, "Minh Nguyen"))

    @pytest.mark.parametrize(("where", "says"), [
        ("9 Nguyen/answers.json", "its folder is Minh Nguyen (9)'s"),
        ("2026-11-16/9/answers.json", "its folder is Minh Nguyen (9)'s"),
        ("Nguyen/lessons/answers.json", "its folder is Minh Nguyen (9)'s"),
        ("9 Nguyen/answers-ida.json", "its folder is Minh Nguyen (9)'s"),
        ("answers-nguyen.json", "its name is Minh Nguyen (9)'s"),
        ("answers-9.json", "its name is Minh Nguyen (9)'s"),
    ])  # fmt: skip
    def test_is_not_taken_where_a_list_says_whose_place_it_is(self, tmp_path, where, says):
        one(tmp_path, 7, "Ida Petrel", right_by(7), "7 Petrel/answers.json")
        one(tmp_path, 7, "Ida Petrel", right_by(7), where)
        marks = class_marks(tmp_path, self.LIST)
        (said,) = marks.not_taken
        assert (said.where, said.is_all, said.class_number) == (where, True, 9)
        assert f"it would count as Ida Petrel (7)'s, and {says}: whose is it?" in said.why
        assert [each.where for each in marks.learners] == [("7 Petrel/answers.json",), ()]
        assert "Handed in, but not taken: Minh Nguyen (9)" in tomorrow(marks)[-1]

    def test_is_said_where_there_is_no_list(self, tmp_path):
        one(tmp_path, 7, "Ida Petrel", right_by(7), "9 Nguyen/answers.json")
        (said,) = class_marks(tmp_path).not_taken
        assert (said.is_all, said.class_number) == (False, 7)
        assert said.why == "it counts as Ida Petrel (7)'s, and its folder is Nguyen (9)'s: whose is it?"

    @pytest.mark.parametrize(("where", "says"), [
        ("7 ada/answers.json", "its folder is ada (7)'s"),
        ("7/answers.json", "its folder is class number 7's"),
        ("answers-7-ada.json", "its name is ada (7)'s"),
    ])  # fmt: skip
    def test_without_a_list_both_are_called_as_they_are_named_there(self, tmp_path, where, says):
        one(tmp_path, 8, "max müller", right_by(8), where)
        (said,) = class_marks(tmp_path).not_taken
        assert said.why == f"it counts as max müller (8)'s, and {says}: whose is it?"

    def test_numbers_without_names_tell_it_too(self, tmp_path):
        one(tmp_path, 7, "", right_by(7), "9/answers.json")
        assert [each.class_number for each in class_marks(tmp_path, class_list("7-9")).not_taken] == [9]

    @pytest.mark.parametrize("where", [
        "7 Petrel/answers.json", "petrel/answers-1.json", "7/answers-1.json", "2026 autumn/answers.json",
        "9/Ida Petrel/answers.json", "9 lessons/7/answers.json", "Ida P/answers (1).json", "answers.json",
    ])  # fmt: skip
    def test_where_it_is_one_s_own_or_nobody_s_nothing_is_said(self, tmp_path, where):
        one(tmp_path, 7, "Ida Petrel", right_by(7), where)
        assert class_marks(tmp_path, self.LIST).not_taken == ()

    def test_a_folder_of_many_is_nobody_s_by_its_number(self, tmp_path):
        for number in (1, 2, 3):
            one(tmp_path, number, name_of(number), right_by(number), f"2 Tuesday/answers-{number}.json")
            one(tmp_path, number + 3, "", right_by(number + 3), f"3/answers-{'xyz'[number - 1]}.json")
        assert class_marks(tmp_path).not_taken == ()

    @pytest.mark.parametrize("folder", ["21 Anna", "9 Anna", "9_anna", "20 Minh Nguyen"])
    @pytest.mark.parametrize("cells", [True, False])
    def test_a_folder_whose_number_and_name_are_not_one_s_is_nobody_s(self, tmp_path, folder, cells):
        number = int(re.match(r"\d+", folder)[0])
        if cells:
            answer = planted("lead-of-a-leadscrew", number, RIGHT)[0]
            source = f"exercise('lead-of-a-leadscrew').check({answer!r})"
            write(tmp_path / folder / "a.ipynb", {"cells": [{"cell_type": "code", "source": source}], "nbformat": 4})
        else:
            one(tmp_path, number, "", right_by(number), f"{folder}/answers.json")
        marks = class_marks(tmp_path, (*self.LIST, Learner(20, "Anna"), Learner(21, "Anna-Lena")))
        (said,) = marks.not_taken
        assert (said.is_all, "whose is it?" in said.why, {each.works == {} for each in marks.learners}) == (
            True,
            True,
            {True},
        )

    @pytest.mark.parametrize(("folder", "number"), [("21 Anna-Lena", 21), ("20 Anna", 20), ("9", 9), ("7 x", 7)])
    def test_a_folder_of_notebooks_whose_number_and_name_are_one_s_counts(self, tmp_path, folder, number):
        answer = planted("lead-of-a-leadscrew", number, RIGHT)[0]
        cells = [{"cell_type": "code", "source": f"exercise('lead-of-a-leadscrew').check({answer!r})"}]
        write(tmp_path / folder / "a.ipynb", {"cells": cells, "nbformat": 4})
        marks = class_marks(tmp_path, (*self.LIST, Learner(20, "Anna"), Learner(21, "Anna-Lena")))
        assert (marks.not_taken, [each.learner.number for each in marks.learners if each.right]) == ((), [number])


class TestAFileThatIsNotTakenIsSeenWhereItsOwnerStands:
    LIST = (Learner(1, "Ada Thorn"), Learner(2, "Bo Reed"), Learner(3, "Cleo Marsh"), Learner(4, "Dan Flint"))

    def test_who_stands_as_of_the_week_before(self, tmp_path):
        one(tmp_path, 1, exercises=right_by(1), file="2026-11-16/ada/answers.json")
        broken = one(tmp_path, 1, file="2026-11-23/ada/answers.json")
        broken.write_text("{")
        one(tmp_path, 1, "Bo Reed", right_by(1), "2026-11-23/bo/answers.json")
        write(tmp_path / "2026-11-23" / "answers-3.json", {})
        marks = class_marks(tmp_path, self.LIST)
        assert [each.refused for each in marks.learners] == [
            ("2026-11-23/ada/answers.json",),
            ("2026-11-23/bo/answers.json",),
            ("2026-11-23/answers-3.json",),
            (),
        ]
        assert "without 2026-11-23/ada/answers.json, not taken" in str(marks).splitlines()[0]
        assert list(marks.table["not taken"])[2:] == ["2026-11-23/answers-3.json", ""]
        first, *_, whom = tomorrow(marks)
        assert first.startswith("3 files handed in were not taken: settle these first.")
        assert whom == (
            "Ask after Dan Flint (4): there is no answer of theirs yet. "
            "Handed in, but not taken: Bo Reed (2); Cleo Marsh (3)."
        )
        page = marks_page(marks)
        assert page.count("<br><small>1 file not taken</small>") == 3
        assert "are not in here, of: Ada Thorn (1); Bo Reed (2); Cleo Marsh (3)." in page
        assert {each.where: each.class_number for each in marks.not_taken} == {
            "2026-11-23/ada/answers.json": 1,
            "2026-11-23/bo/answers.json": 2,
            "2026-11-23/answers-3.json": 3,
        }


class TestWhatCanNotBeReadIsTakenUpToo:
    NAME, TYPED = "lead-of-a-leadscrew", "<b>dunno</b> banana"

    @pytest.fixture
    def marks(self, tmp_path):
        for number, typed in ((1, self.TYPED), (2, self.TYPED), (3, NONSENSE), (4, planted(self.NAME, 4, SLIP)[0])):
            exercises = {self.NAME: [go(number, typed)]}
            one(tmp_path, number, "Thorn, Ada" if number == 1 else name_of(number), exercises, f"{number}/answers.json")
        one(tmp_path, 5, "Eve Stone", right_by(5, "which-way-round"), "5/answers.json")
        return class_marks(tmp_path)

    def test_how_it_is_written_is_among_the_sentences(self, marks):
        (said,) = (each for each in tomorrow(marks) if each.startswith("Show how"))
        assert "'One turn of the leadscrew' (lesson 01) is written: 2 of 4 can't be read." in said

    def test_a_few_stand_as_they_were_typed(self, marks):
        found = [(each.typed, each.state, len(each.learners)) for each in typed_otherwise(marks)]
        assert found == [(self.TYPED, UNREADABLE, 2), (NONSENSE, NOT_RIGHT, 1)]
        page = marks_page(marks)
        assert "&lt;b&gt;dunno&lt;/b&gt; banana" in page
        assert "<b>dunno" not in page
        assert "Thorn, Ada (1); Bo Reed (2)" in page
        _balanced(page)

    def test_the_picture_has_a_part_of_its_own_for_it(self, marks):
        bar = next(bar for bar in _bars(marks) if bar.title == recipes()[self.NAME].title)
        assert (bar.right, bar.slips, bar.others, bar.unread, bar.unanswered) == (0, 1, 1, 2, 1)
        row = class_picture([bar], "A class").table[0]
        assert (row["not right"], row["not readable or not marked"]) == (1, 2)
        assert "2 not readable or not marked" in class_picture([bar], "A class").description


class TestTheTableAsCsv:
    """Common practice against formulas in csv: an apostrophe in front of what a spreadsheet would work out."""

    @in_one("name", ["=SUM(A1) Sam", "+1 Sam", "-1 Sam", "@SUM(1)", " =1", "\uff1d1+1"], repr)
    def test_no_name_of_a_list_or_a_file_begins_a_formula(self, tmp_path, name):
        one(tmp_path, 1, name, right_by(1))
        for learners in ((), (Learner(1, name),)):
            with save_marks(class_marks(tmp_path, learners), tmp_path / "m.csv").open(encoding="utf-8-sig") as file:
                (row,) = csv.DictReader(file)
            assert row["name"].startswith("'"), row["name"]


class TestHostileFilesAreNamed:
    @in_one(
        "name, content, why",
        [
            ("broken", b'{"what": "answers', "broken, or no JSON"),
            ("not ours", b'{"a": 1}', "not ours"),
            ("a list", b"[]", "not ours"),
            ("deep", b"[" * 200_000, "broken, or no JSON"),
            ("long number", b'{"class_number": ' + b"9" * 10_000 + b"}", "broken, or no JSON"),
            ("not text", b"\xff\xfe\x00", "broken, or no JSON"),
            ("huge", b" " * 2_000_001, "larger than 2 MB"),
            ("old", b'{"what": "answers to the lessons of gearcalc", "version": 99}', "another version"),
            (
                "no exercises",
                b'{"what": "answers to the lessons of gearcalc", "version": 1, "exercises": 3}',
                "no list",
            ),
        ],
        lambda case: case[0],
    )
    def test_what_is_no_file_of_answers(self, tmp_path, name, content, why):
        one(tmp_path, exercises=right_by(1))
        (tmp_path / "answers-bad.json").write_bytes(content)
        marks = class_marks(tmp_path)
        assert marks.learners[0].right == 1
        (said,) = marks.not_taken
        assert (said.where, said.is_all, why in said.why) == ("answers-bad.json", True, True), said

    @in_one("number", [None, "7", -1, 1.5, True, [1], 10**9], repr)
    def test_a_class_number_that_is_none(self, tmp_path, number):
        one(tmp_path, number, exercises=right_by(1))
        one(tmp_path, 2, "Bo Reed", right_by(2), "bo/answers.json")
        marks = class_marks(tmp_path)
        assert [each.learner.number for each in marks.learners] == [2]
        assert any("there is no class number" in why for why in whys(marks))

    @in_one(
        "entry",
        [3, None, "x", [3], [None], [[]], [{}], [{"class_number": 1, "go": 0, "answer": "1"}],
         [{"class_number": 1, "go": 1, "answer": 5}], [go(1, "1", lathe="x" * 50_000)], [go(1, "1", lathe=3)],
         {"a": 1}],
        repr,
    )  # fmt: skip
    def test_entries_of_a_wrong_kind(self, tmp_path, entry):
        one(tmp_path, exercises={"lead-of-a-leadscrew": entry, **right_by(1, "which-way-round")})
        marks = class_marks(tmp_path)
        assert marks.learners[0].right == 1
        assert any("no answers" in why for why in whys(marks)), whys(marks)

    def test_a_go_that_nobody_can_have_and_an_exercise_that_is_none(self, tmp_path):
        late = {**go(1, "1"), "go": 51}
        one(tmp_path, exercises={"lead-of-a-leadscrew": [late], "no-such": [go(1, "1")]})
        said = whys(class_marks(tmp_path))
        assert any("no such exercise: 'no-such'" in why for why in said)
        assert any("not marked: lead-of-a-leadscrew" in why for why in said)

    @in_one("lathe", ["x", "name = 3", "[" * 500, "name = 'A'\ngears.teeth = [20, 40]\n"], repr)
    def test_a_lathe_that_is_spoilt(self, tmp_path, lathe):
        name = next((name for name in exercise_names() if recipes()[name].any_lathe), "lead-of-a-leadscrew")
        one(tmp_path, exercises={name: [go(1, "1", lathe=lathe)], **right_by(1, "which-way-round")})
        marks = class_marks(tmp_path)
        assert marks.learners[0].right == 1
        assert any(f"not marked: {name}" in why for why in whys(marks))

    @pytest.mark.skipif(os.name == "nt", reason="links there need a right of their own")
    def test_links_out_of_the_folder(self, tmp_path):
        outside = one(tmp_path, exercises=right_by(1), file="outside/answers.json")
        inside = tmp_path / "inside"
        one(inside, 2, "Bo Reed", right_by(2), "bo/answers.json")
        (inside / "answers-ada.json").symlink_to(outside)
        (inside / "ada").symlink_to(outside.parent, target_is_directory=True)
        (inside / "round").symlink_to(inside, target_is_directory=True)
        os.mkfifo(inside / "answers-pipe.json")
        marks = class_marks(inside)
        assert [each.learner.number for each in marks.learners] == [2]
        assert {each.where for each in marks.not_taken} == {"answers-ada.json", "ada", "round", "answers-pipe.json"}

    def test_folders_in_folders_without_end(self, tmp_path):
        one(tmp_path, exercises=right_by(1))
        one(tmp_path, 2, "Bo Reed", right_by(2), "/".join("d" * 40) + "/answers.json")
        marks = class_marks(tmp_path)
        assert [each.learner.number for each in marks.learners] == [1]
        assert any("too deep" in why for why in whys(marks))

    def test_an_empty_folder_and_none(self, tmp_path):
        with pytest.raises(NotPossibleError, match="nothing here can be marked"):
            class_marks(tmp_path)
        with pytest.raises(NotPossibleError, match="this is no folder"):
            class_marks(tmp_path / "away")
        one(tmp_path, exercises=right_by(1))
        with pytest.raises(ValueOutOfRangeError, match=r"ending \.csv or \.html"):
            save_marks(class_marks(tmp_path), tmp_path / "marks.xls")


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 10**12) | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=8,
)
GOES = st.fixed_dictionaries(
    {},
    optional={
        "class_number": st.just(1) | ANYTHING,
        "go": st.integers(-1, 60) | ANYTHING,
        "answer": st.text(max_size=60) | ANYTHING,
        "tries": ANYTHING,
        "lathe": st.just("") | ANYTHING,
    },
)


class TestWhateverStandsInAFile:
    @given(
        st.dictionaries(
            st.sampled_from(LESSON) | st.text(max_size=9), st.lists(GOES, max_size=3) | ANYTHING, max_size=4
        ),
        ANYTHING,
        st.just(1) | ANYTHING,
    )
    @examples(40)
    def test_it_is_marked_or_named_and_takes_nothing_from_others(self, tmp_path_factory, exercises, name, number):
        folder = tmp_path_factory.mktemp("any")
        one(folder, 2, "Bo Reed", right_by(2), "bo/answers.json")
        write(folder / "answers-any.json", answers(number, name, exercises))
        marks = class_marks(folder)
        assert (number == 2) or {each.learner.number: each.right for each in marks.learners}[2] == 1
        _balanced(marks_page(marks))


class TestNotebooksWithoutAFileOfAnswers:
    def notebook(self, path, *cells):
        path.parent.mkdir(parents=True, exist_ok=True)
        made = [{"cell_type": "code", "source": cell.splitlines(keepends=True)} for cell in cells]
        path.write_text(json.dumps({"cells": made, "nbformat": 4}), encoding="utf-8")

    def test_answers_in_cells_are_marked_and_nothing_is_run(self, tmp_path):
        right = planted("lead-of-a-leadscrew", 7, RIGHT)[0]
        here = tmp_path / "7 Gia"
        self.notebook(
            here / "01_one_turn.ipynb",
            "import gearcalc as gc",
            f"open({str(tmp_path / 'was run')!r}, 'w')",
            f"q = gc.exercise('lead-of-a-leadscrew')\nanswer = {right!r}",
            "q.check(answer)",
            "gc.exercise('which-way-round').check(__import__('os').getcwd())",
        )
        self.notebook(here / "broken.ipynb")
        (here / "broken.ipynb").write_text("{")
        marks = class_marks(tmp_path)
        assert not (tmp_path / "was run").exists()
        assert marks.learners[0].learner.number == 7
        assert marks.learners[0].at("lead-of-a-leadscrew").state == IS_RIGHT
        assert marks.learners[0].at("which-way-round").state == NOT_ANSWERED
        assert any("can't be read without running it" in why for why in whys(marks))
        assert any("no notebook, or a broken one" in why for why in whys(marks))

    def test_what_is_left_out_past_the_most_answers_is_said(self, tmp_path, monkeypatch):
        monkeypatch.setattr("gearcalc.teaching.handed_in._MOST_ANSWERS", 3)
        cells = [f"exercise('lead-of-a-leadscrew').check({n})" for n in range(1, 6)]
        self.notebook(tmp_path / "1 Ada" / "a.ipynb", "CLASS = 1", *cells[:3])
        assert whys(class_marks(tmp_path)) == []
        self.notebook(tmp_path / "1 Ada" / "b.ipynb", "CLASS = 1", *cells[3:])
        assert whys(class_marks(tmp_path)) == ["1 Ada: more than 3 answers: the rest was left out."]

    def test_a_file_of_answers_comes_before_the_cells(self, tmp_path):
        self.notebook(tmp_path / "ada" / "a.ipynb", "CLASS = 1", "exercise('lead-of-a-leadscrew').check('1 mm')")
        one(tmp_path, exercises=right_by(1))
        assert class_marks(tmp_path).learners[0].right == 1

    def test_a_name_that_two_have_is_nobody_s(self, tmp_path):
        self.notebook(tmp_path / "ada" / "a.ipynb", "exercise('lead-of-a-leadscrew').check('1 mm')")
        marks = class_marks(tmp_path, (Learner(1, "Ada Thorn"), Learner(2, "Ada Reed")))
        assert any("no class number: begin the folder's name with it" in why for why in whys(marks))

    def test_the_number_comes_from_the_cell_the_list_or_the_folder(self, tmp_path):
        for folder, number, front in (("ada thorn", 1, ""), ("x", 2, "CLASS = 2\n"), ("03_cleo", 3, "")):
            right = planted("lead-of-a-leadscrew", number, RIGHT)[0]
            self.notebook(tmp_path / folder / "a.ipynb", f"{front}exercise('lead-of-a-leadscrew').check({right!r})")
        marks = class_marks(tmp_path, (Learner(1, "Ada Thorn"), Learner(2), Learner(3)))
        assert [each.right for each in marks.learners] == [1, 1, 1]

    @pytest.fixture
    def begun(self, tmp_path):
        """Folders of learners who have their lessons; of them Ada alone has answered."""
        one(tmp_path, 7, "Ada", right_by(7), file="7 Ada/answers.json")
        for folder in ("8 Bo", "9 Cleo"):
            self.notebook(tmp_path / folder / "01_one_turn.ipynb", "import gearcalc as gc", "gc.exercise('rack')")
        write(tmp_path / "10 Dan" / "answers.json", answers(None, "Dan", {}))
        return tmp_path

    @pytest.mark.parametrize("listed", [True, False])
    def test_who_has_answered_nothing_yet_handed_in_nothing_that_could_be_refused(self, begun, ask, tmp_path, listed):
        those = tuple(Learner(number, name) for number, name in ((7, "Ada"), (8, "Bo"), (9, "Cleo"), (10, "Dan")))
        marks = class_marks(begun, those if listed else ())
        assert {(each.where, each.class_number, each.how) for each in marks.not_taken} == {
            (where, int(where.split()[0]), "Nothing handed in yet")
            for where in ("10 Dan/answers.json", "8 Bo", "9 Cleo")
        }
        assert not any("not taken" in said or "settle" in said for said in (*tomorrow(marks), str(marks)))
        assert ("Ask after Bo (8); Cleo (9); Dan (10)" in tomorrow(marks)[-1]) is listed
        page = marks_page(marks)
        assert "<h2>Nothing handed in yet</h2>" in page
        assert "not taken" not in page.casefold()
        code, said, _ = ask("marks", begun, *(["--class", "7-10"] if listed else []))
        assert "Nothing handed in yet: 8 Bo: no file of answers, and no answer in the notebooks." in said.splitlines()
        assert code == 0

    def test_an_answer_that_can_not_be_read_is_no_empty_folder(self, begun):
        self.notebook(begun / "8 Bo" / "02.ipynb", "exercise('lead-of-a-leadscrew').check(__import__('os').getcwd())")
        (begun / "9 Cleo" / "02.ipynb").write_text("{")
        write(begun / "10 Dan" / "answers.json", answers(None, "Dan", right_by(7)))
        assert {each.where for each in class_marks(begun).not_taken if each.is_all} >= {
            "8 Bo",
            "9 Cleo/02.ipynb",
            "10 Dan/answers.json",
        }

    def test_a_class_that_has_only_begun_is_told_so(self, begun):
        (begun / "7 Ada" / "answers.json").unlink()
        with pytest.raises(NotPossibleError, match="nothing is handed in here yet"):
            class_marks(begun)


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in ("meta", "img", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def _balanced(page: str) -> None:
    """Every element is closed where it should be."""
    tags = _Tags()
    tags.feed(page)
    assert tags.open == []
