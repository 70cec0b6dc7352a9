"""What an instructor reads of the course is what stands in the lessons."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.learning.exercises import recipe_of, tasks
from gearcalc.teaching.guide import BY_A_GUESS, all_plans, exercises_by_goal, lessons_table, schedule, weeks_of_term
from gearcalc.teaching.lesson_plans import calls, lesson_plan, shared_out
from gearcalc.teaching.slips_to_know import slips_of_lesson, slips_table
from tests.how_much import in_one
from tests.notebooks import LESSONS, sources

NUMBERS = range(1, 14)


def page(number):
    return "\n".join(text for _, text in sources(LESSONS[f"{number:02}"]))


class TestPlans:
    @pytest.mark.parametrize("number", range(14))
    def test_parts_are_the_headings_and_come_to_the_minutes_that_it_states(self, number):
        plan, text = lesson_plan(number), page(number)
        asked = text.partition("## More practice")[0]
        assert [part.heading for part in plan.parts] == ["Start", *re.findall(r"^## (.+)$", asked, re.M)]
        assert sum(part.minutes for part in plan.parts) == int(re.search(r"about (\d+) minutes", text)[1])
        assert min(part.minutes for part in plan.parts) >= 1

    @pytest.mark.parametrize("number", NUMBERS)
    def test_each_guess_and_exercise_within_the_time_is_named_once_for_each_time(self, number):
        asked = page(number).partition("## More practice")[0]
        done = " ".join(words for part in lesson_plan(number).parts for words in part.done)
        assert done.count("Predict: ") == len(re.findall(r"^guess\(", asked, re.M))
        assert done.count("Do: ") == len(re.findall(r'exercise\("', asked))
        assert not re.search(r"[*`]|\]\(|\.\.", done)
        assert all(part.done for part in lesson_plan(number).parts)

    def test_what_is_beyond_the_time_is_named_below(self):
        assert lesson_plan(7).more == ("ask-the-rule", "does-it-clear", "open-the-mesh")
        assert "Open the mesh" in lesson_plan(7)._repr_html_()

    def test_the_slips_of_its_exercises_are_named(self):
        assert "How far apart: diameters added, tips for pitch circles" in str(lesson_plan(7))
        assert "In what order: cover before isolating, " in str(lesson_plan(9))
        assert re.search(r"and \d+ more\. How many turns by hand", str(lesson_plan(9)))

    def test_a_guess_about_a_lathe_leaves_no_hole_where_a_whole_sentence_is_left(self):
        lost = [words for part in lesson_plan(11).parts for words in part.done if "is …." in words]
        assert not lost

    @pytest.mark.parametrize("number", NUMBERS)
    def test_what_it_leans_on_stands_before_its_table_and_the_slips_behind_it(self, number):
        html = lesson_plan(number)._repr_html_()
        said = ("Afterwards they can", "Before it:", "<table", "</table>", "Slips to expect.")
        places = [html.index(words) for words in said]
        assert (places == sorted(places), html.count("<table")) == (True, 1)

    def test_shares_come_to_the_whole(self):
        for weights in ([1.0], [0.0, 0.0, 5.0], [1, 2, 3, 4, 5, 6.5], [1e-9] * 7):
            given = shared_out(60, weights)
            assert (sum(given), min(given) >= 1) == (60, True)

    @in_one(
        ("source", "texts"),
        [
            ('f("a")', ["a"]),
            ('f(f"{x} turns of {y}")', ["… turns of …"]),
            ('f("a" + g("b"))', ["a", "b"]),
            ('f("a", ("b", "c"), 1)', ["a", "b", "c"]),
        ],
    )
    def test_texts_that_are_handed_over(self, source, texts):
        assert next(calls(source)) == ("f", texts)

    @pytest.mark.parametrize("number", [14, -1, 1.5, "first"])
    def test_a_lesson_that_there_is_not(self, number):
        with pytest.raises(GearcalcError):
            lesson_plan(number)

    def test_what_is_predicted_and_tried_can_be_understood_without_the_page(self):
        said = {number: str(lesson_plan(number)) for number in (10, 11, 12)}
        assert (
            "Predict: One slip did it: ten turns are 18 mm in place of 12.5 mm. Which? Try: First on paper: "
            in said[10]
        )
        assert "The groove leaves 4.5 mm. How many seconds is that?" in said[11]
        assert "Try: It begins with one gear. Let it add two." in said[12]


class TestWhatNeedsWhat:
    """Read from the sentence before each lesson; the oracle is the page itself."""

    def test_every_lesson_that_is_named_is_read_once(self):
        for plan in all_plans():
            said = re.search(r"\*\*Before you start:\*\*.*", page(plan.lesson.number))[0]
            named = [int(number) for number in re.findall(r"\((\d\d)_", said)]
            assert [*plan.lesson.needs, *plan.lesson.helps] == named

    def test_the_order_of_the_lessons_serves_them_all(self):
        assert all(need < plan.lesson.number for plan in all_plans() for need in plan.lesson.needs)

    @in_one(
        ("number", "needs", "helps"),
        [(0, (), ()), (1, (0,), ()), (6, (4,), (5,)), (12, (2, 5), (7, 9)), (13, (5, 8, 10, 11), ())],
    )
    def test_as_read_by_a_person(self, number, needs, helps):
        assert (lesson_plan(number).lesson.needs, lesson_plan(number).lesson.helps) == (needs, helps)


class TestMorePractice:
    def test_is_what_stands_there_also_where_it_was_asked_before_of_ones_own_lathe(self):
        for number in NUMBERS:
            wanted = re.findall(r'exercise\("([\w-]+)"', page(number).partition("## More practice")[2])
            assert list(lesson_plan(number).more) == list(dict.fromkeys(wanted)), number

    def test_how_many_there_are_stands_in_the_table(self):
        counts = {row[0][:2]: str(row[2]) for row in lessons_table().rows}
        for number in NUMBERS:
            asked, _, more = page(number).partition("## More practice")
            before, after = (set(re.findall(r'exercise\("([\w-]+)"', part)) for part in (asked, more))
            others = len(after - before)
            assert counts[f"{number:02}"] == (f"{len(before)} + {others}" if others else str(len(before)))

    def test_the_column_adds_up_to_what_stands_above_it(self):
        table = lessons_table()
        assert str(sum(sum(map(int, row[2].split(" + "))) for row in table.rows)) in str(table.caption).split()


class TestGoals:
    def test_each_has_something_that_asks_it(self):
        rows = exercises_by_goal().rows
        assert len(rows) == sum(len(plan.lesson.goals) for plan in all_plans())
        by_a_guess = {(int(lesson), goal) for lesson, goal, asked in rows if asked == "a guess"}
        assert by_a_guess == {(n, lesson_plan(n).lesson.goals[place - 1]) for n, place in BY_A_GUESS}
        assert {lesson for lesson, _, asked in rows if asked == "what is tried on the page"} == {"00"}

    def test_every_exercise_is_asked_by_one_goal(self):
        titles = [title.strip("()") for *_, asked in exercises_by_goal().rows for title in asked.split("; ")]
        assert {recipe_of(name).title for name in gc.exercise_names()} <= set(titles)


class TestSlips:
    @pytest.mark.parametrize("number", NUMBERS)
    def test_those_of_a_learner_are_among_them_with_words(self, number):
        known = {(one.exercise, one.name) for one in slips_of_lesson(number)}
        made = {(name, slip.name) for name in gc.exercise_names(number) for slip in recipe_of(name).numbered(3).slips}
        assert made <= known
        said = [says for *_, says in slips_table(number).rows]
        assert sum(says.startswith("(it depends") for says in said) <= 4
        assert all(says.endswith((".", "?", "!", ")")) for says in said)

    def test_a_lesson_that_there_is_not_is_told(self):
        with pytest.raises(GearcalcError, match="there is no lesson"):
            slips_table(14)

    def test_a_lesson_without_exercises_is_told(self):
        with pytest.raises(GearcalcError, match="no exercise"):
            slips_table(0)


class TestTerm:
    @pytest.mark.parametrize("minutes", [20, 45, 60, 90, 120, 600])
    def test_every_minute_of_every_lesson_has_its_week_and_none_has_too_many(self, minutes):
        weeks = weeks_of_term(minutes)
        assert all(0 < week.minutes <= minutes for week in weeks)
        assert sum(week.minutes for week in weeks) == sum(plan.lesson.minutes for plan in all_plans())
        titles = [title.removeprefix("the rest of ") for week in weeks for title, _ in week.done]
        assert list(dict.fromkeys(titles)) == [plan.lesson.title for plan in all_plans()]
        if minutes >= 60:
            assert len(titles) == len(set(titles)), "no lesson goes over the week where it needn't"

    def test_weeks_off_are_left_out(self):
        begins = date(2027, 1, 12)
        off = ["2027-01-18", "2027-02-21"]
        days = [week.begins for week in weeks_of_term(60, str(begins), off)]
        every = [begins + timedelta(weeks=n) for n in range(len(days) + 2)]
        assert days == [day for day in every if day not in (date(2027, 1, 19), date(2027, 2, 16))]

    def test_one_week_off_needs_no_list(self):
        assert schedule(60, "2027-01-11", "2027-02-15") == schedule(60, "2027-01-11", ["2027-02-15"])

    def test_without_a_day_there_are_no_dates(self):
        assert {row[1] for row in schedule(60).rows} == {"–"}

    @pytest.mark.parametrize(
        "asked",
        [
            (10,),
            (601,),
            ("much",),
            (60, "soon"),
            (60, "2027-02-30"),
            (60, 5),
            (60, None, ["2027-01-11"]),
            (60, "2027-01-11", ["x"]),
        ],
    )
    def test_what_makes_no_term(self, asked):
        with pytest.raises(GearcalcError):
            weeks_of_term(*asked)


class TestTheInstructorsNotebook:
    def test_it_has_a_plan_of_each_lesson_and_the_exercise_of_one_s_own_works(self):
        path = LESSONS["00"].with_name("for_instructors.ipynb")
        cells = [text for kind, text in sources(path) if kind == "code"]
        assert [f"lesson_plan({n})" for n in NUMBERS] == [cell for cell in cells if cell.startswith("lesson_plan(")]
        (own,) = (cell for cell in cells if "@poses" in cell)
        names = {}
        exec(own, names)
        try:
            for number in range(1, 25):
                q = gc.exercise("our-bar-of-brass", class_number=number)
                threads, tpi = map(int, re.findall(r"\d+", str(q.task.question))[:2])
                mm = Fraction(254, 10) * threads / tpi
                for right in (mm, f"{threads}/{tpi} in", f"{float(mm):.3f}", f"{float(mm):.2f} mm", q.key):
                    assert q.check(right).is_right, right
                assert q.check(f"{threads}/{tpi}").slip == "inches"
                at_school = Decimal(threads * 254) / (10 * tpi)
                said = at_school.quantize(Decimal("0.01"), ROUND_HALF_UP).normalize()
                assert f"= {said:f} mm" in str(q.solution()), number
                assert q.key == f"{said:f} mm"
        finally:
            del tasks._RECIPES["our-bar-of-brass"]

    def test_what_is_said_of_a_table_stands_before_it(self):
        """So nothing of a part is left behind its table: a cell with a heading in it begins with one."""
        cells = sources(LESSONS["00"].with_name("for_instructors.ipynb"))
        headed = [text for kind, text in cells if kind == "markdown" and re.search(r"^#+ ", text, re.M)]
        assert [text[:40] for text in headed if not text.startswith("#")] == []
        before = next(cells[place - 1][1] for place, (_, text) in enumerate(cells) if text == "lessons_table()")
        (choice,) = (part for part in before.split("\n\n") if part.startswith("Nobody needs all of it."))
        assert sorted(re.findall(r"\d\d", choice)) == [f"{number:02}" for number in range(14)]

    def test_the_commands_that_it_names_are_read(self):
        path = LESSONS["00"].with_name("for_instructors.ipynb")
        text = " ".join("".join(cell["source"]) for cell in json.loads(path.read_text(encoding="utf-8"))["cells"])
        assert set(re.findall(r"python -m gearcalc (\w+)", text)) == {
            "worksheet",
            "handout",
            "marks",
            "check",
            "chart",
            "card",
            "lessons",
        }

    def test_the_table_of_all_lessons(self):
        rows = lessons_table().rows
        assert [row[0] for row in rows] == [plan.lesson.title for plan in all_plans()]
        assert all(cell.split(", ") == sorted(cell.split(", ")) for row in rows for cell in row[3:])
        assert rows[1][1:] == ("60", "4 + 3", "00", "–")
