"""The mechanism of exercises: names, class numbers, drawing, hints, what is shown."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import product

import pytest
from attrs import evolve
from hypothesis import given

from gearcalc import demo_lathe, exercise, exercise_names
from gearcalc.basics import markup
from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.lathes import Lathe
from gearcalc.learning.exercises import Exercise
from gearcalc.learning.exercises.answers import Choice, Several, Slip, about
from gearcalc.learning.exercises.benches import plain_lathe
from gearcalc.learning.exercises.gear_answers import AnyTrain
from gearcalc.learning.exercises.notes import Note, Table, as_html, as_text, tidy
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import (
    _RECIPES,
    NOT_RIGHT,
    NOT_YET,
    RIGHT,
    Draw,
    Outcome,
    Recipe,
    Task,
    poses,
    recipes,
)
from gearcalc.learning.progress import lessons_with_exercises
from gearcalc.teaching.guide import BY_A_GUESS
from tests.how_much import examples, in_one
from tests.notebooks import LESSONS, sources
from tests.strategies import any_lathes


@cache
def in_another_process() -> str:
    """The lesson of each exercise, then each three times, where lesson 9 was read first and hashes are others."""
    code = (
        "import gearcalc.learning.exercises.lesson_09\n"
        "from gearcalc import exercise, exercise_names\n"
        "print(*(exercise(name).lesson for name in exercise_names()))\n"
        "for name in exercise_names():\n"
        "    for number in (1, 12, 345):\n"
        "        print(ascii(str(exercise(name, class_number=number))))\n"
    )
    seed = "1" if os.environ.get("PYTHONHASHSEED") != "1" else "2"
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "PYTHONHASHSEED": seed}
    return subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True
    ).stdout


class TestExerciseNames:
    def test_each_lesson_has_its_own(self):
        lessons = [exercise_names(lesson) for lesson in range(14)]
        assert sorted(name for names in lessons for name in names) == sorted(exercise_names())
        assert all(len(exercise_names(lesson)) >= 5 for lesson in (1, 2))
        assert all(exercise(name).lesson == lesson for lesson, names in enumerate(lessons) for name in names)

    def test_they_stand_in_the_order_of_the_lessons_whichever_was_read_first(self):
        lessons = list(map(int, in_another_process().partition("\n")[0].split()))
        assert lessons == sorted(lessons)

    def test_a_lesson_that_is_not_there_has_none(self):
        assert exercise_names(99) == []

    def test_names_are_lower_case_with_hyphens(self):
        assert all(name == name.lower() and name.replace("-", "").isalnum() for name in exercise_names())


class TestExercise:
    @in_one("name", ["two pairs", "Two-Pairs", "", "<script>", 7, None, ["two-pairs"], "x" * 10_000])
    def test_an_unknown_name_is_told_the_nearest(self, name):
        with pytest.raises(UnknownNameError) as told:
            exercise(name)
        assert any(known in str(told.value) for known in exercise_names())
        assert len(str(told.value)) < 400

    def test_a_slip_of_the_pen_finds_its_name(self):
        with pytest.raises(UnknownNameError, match="two-pairs"):
            exercise("two-pair")

    @in_one("number", [-1, 1.0, 1.5, "1", True, 1_000_001, 10**30, float("nan"), [1]])
    def test_a_class_number_is_a_whole_number(self, number):
        with pytest.raises(ValueOutOfRangeError, match="class number"):
            exercise("two-pairs", class_number=number)

    def test_the_ends_of_the_range_serve(self):
        assert exercise("two-pairs", class_number=0) != exercise("two-pairs", class_number=1_000_000)

    def test_two_are_equal_where_name_number_go_and_lathe_are(self):
        recipe = Recipe("half", "Half of it", 1, lambda draw, lathe: task(), any_lathe=True)
        inch, metric = demo_lathe("inch"), demo_lathe("metric")
        asked = [(7, 1, None), (8, 1, None), (7, 2, None), (7, 1, inch), (7, 1, metric)]

        def made():
            return [
                Exercise("half", "Half of it", 1, n, go, lathe, task=recipe.numbered(n, go, lathe))
                for n, go, lathe in asked
            ]

        assert made() == made()
        assert len(set(made())) == len(asked)
        assert exercise("two-pairs", class_number=7) == exercise("two-pairs", class_number=7, go=1)

    @pytest.mark.parametrize("go", [0, 51, 1.0, "2", True])
    def test_a_go_is_a_whole_number(self, go):
        with pytest.raises(ValueOutOfRangeError, match="a go"):
            exercise("two-pairs", class_number=7, go=go)

    def test_where_a_lathe_has_two_questions_all_fifty_goes_are_posed_few_times(self):
        """Each go looks for a question of its own; once there is none left, the next do not search again."""
        posed = []

        def pose(draw, lathe):
            posed.append(draw.choice(("One?", "Two?")))
            return evolve(task(), question=posed[-1])

        last = Recipe("either", "One or the other", 1, pose, any_lathe=True).numbered(7, 50, demo_lathe("inch"))
        assert last.question in set(posed) == {"One?", "Two?"}
        assert len(posed) < 2 * 50

    def test_an_exercise_with_a_lathe_of_its_own_takes_no_other(self):
        with pytest.raises(NotPossibleError, match="has a lathe of its own"):
            exercise("two-pairs", class_number=7, lathe=demo_lathe("inch"))

    def test_same_number_same_task_in_another_process(self):
        here = "".join(f"{str(exercise(name, class_number=k))!a}\n" for name in exercise_names() for k in (1, 12, 345))
        assert in_another_process().partition("\n")[2] == here

    @pytest.mark.parametrize(
        ("name", "number", "words"),
        # Noted down once: learners who come back next year, on another Python, must find their own numbers again.
        [
            ("lead-of-a-leadscrew", 12, "**4 1/2 threads per inch**"),
            ("pitch-and-lead", 12, "**4 starts** and a **pitch of 2.5 mm**"),
            ("which-way-round", 12, "A driver of 25 teeth turns **clockwise** and drives a gear of 45"),
            ("split-a-ratio", 12, "the ratio **16/35**"),
        ],
    )
    def test_numbers_stay_what_they_were(self, name, number, words):
        assert words in exercise(name, class_number=number).question


def task(**changes):
    parts = {
        "question": "What is **half** of one?",
        "answer": Number(Fraction(1, 2), places=3),
        "slips": (
            Slip("the whole", Fraction(1), "That is the whole."),
            Slip("too much", lambda read: read > 1, lambda read: f"{read} is more than there is."),
        ),
        "hints": ("Cut it in two.", "Take one part."),
        "solution": lambda: ("1 ÷ 2 = **1/2**",),
        "right": "Half of the part is left.",
    }
    return Task(**{**parts, **changes})


def posed(**changes):
    return Exercise("half", "Half of it", 1, 7, task=task(**changes))


class TestCheck:
    def test_three_outcomes(self):
        q = posed()
        assert [q.check(given).state for given in (..., 0.4, "1/2")] == [NOT_YET, NOT_RIGHT, RIGHT]
        assert [q.check(given).is_right for given in (..., 0.4, "1/2")] == [False, False, True]
        assert q.check().state == NOT_YET

    def test_slips_by_value_and_by_test(self):
        q = posed()
        assert [q.check(given).slip for given in (1, "3/2", 0.4, "0.501", None)] == [
            "the whole",
            "too much",
            None,
            "rounding",
            None,
        ]
        assert q.check("3/2").feedback == "3/2 is more than there is."

    def test_feedback_where_no_slip_shows(self):
        assert posed(otherwise="Think of a cake.").check(0.2).feedback == "Think of a cake."
        assert posed(otherwise=lambda read: f"Not {read}.").check(Fraction(1, 5)).feedback == "Not 1/5."

    def test_an_answer_with_a_mind_of_its_own(self):
        class Unruly:
            def __getattribute__(self, name):
                raise RuntimeError(name)

            def __eq__(self, other):
                raise RuntimeError("compared")

            def __repr__(self):
                raise RuntimeError("shown")

        outcome = posed().check(Unruly())
        assert (outcome.state, outcome.slip) == (NOT_YET, "not readable")

    def test_what_cannot_be_read_is_not_called_wrong(self):
        outcome = posed().check("one half")
        assert (outcome.state, outcome.slip) == (NOT_YET, "not readable")
        assert outcome.feedback.startswith("That can't be read as an answer. Answer with a number")

    @in_one(
        ("answer", "given"),
        [
            (Number(Fraction(127, 70), "mm", places=3), "1.814mm."),
            (Number(Fraction(127, 70), "mm", places=3), "1/14 in."),
            (Number(Fraction(14), "tpi"), "14 t.p.i."),
            (Number(Fraction(60)), " 60. "),
            (Choice("up", ("up", "down")), "Up."),
            (Choice("up.", ("up.", "down.")), "up."),
            (Several(frozenset({1, 3}), rows=4), "1 and 3."),
            (AnyTrain(Fraction(1, 2), box=(20, 40)), "20/40."),
        ],
    )
    def test_a_full_stop_is_no_part_of_an_answer(self, answer, given):
        assert posed(answer=answer, slips=()).check(given).is_right

    @in_one("given", [".", "...", "…"])
    def test_nor_is_it_an_answer(self, given):
        assert posed().check(given).state == NOT_YET

    def test_a_slip_that_was_rounded_as_well(self):
        gear = posed(answer=Number(Fraction(30), "teeth"), slips=(Slip("upside down", Fraction("28.8"), "Turn it."),))
        assert [gear.check(given).slip for given in (28.8, 29, "29 teeth", "29.9", 25)] == [
            "upside down",
            "upside down",
            "upside down",
            "rounding",
            None,
        ]

    @pytest.mark.parametrize(("given", "slip"), [(8, "the width"), ("8.0", "the width"), (7.9, "the height")])
    def test_of_two_slips_the_one_that_was_rounded_as_the_question_says(self, given, slip):
        """To one decimal 7.95 is 8.0 and 7.87 is 7.9, though 7.87 can be rounded to 8 as well."""
        slips = {"the height: Go on.": about(Fraction("7.87")), "the width: Go back.": about(Fraction("7.951"))}
        assert posed(answer=Number(Fraction(6), "%", places=1), slips=slips).check(given).slip == slip

    def test_a_fault_of_the_exercise_is_not_hidden(self):
        def broken(read):
            raise ZeroDivisionError

        with pytest.raises(ZeroDivisionError):
            posed(slips=(Slip("broken", broken, ""),)).check(0.2)


class TestQuestion:
    def test_only_one_about_the_learner_s_own_lathe_calls_a_box_theirs(self):
        """On a worksheet of a school's the head says which lathe is theirs; the others bring one of their own."""
        for name, number in product(exercise_names(), range(1, 9)):
            if not recipes()[name].any_lathe:
                asked = str(exercise(name, number).task)
                theirs = re.findall(r"\b[Yy]our (?:box|lathe|leadscrew|gears|gearbox|lever|bracket)\b", asked)
                assert not theirs, (name, theirs)

    def test_a_multiple_of_pi_is_one_word_and_once_pi_is_pi(self):
        lathes = (None, plain_lathe("1.5 mm", (20, 30, 40, 50)))  # a worm of module 1.5 needs just π on it
        asked = {str(exercise("fraction-for-pi", n, lathe).task) for n in range(1, 40) for lathe in lathes}
        assert any("the ratio π. " in each for each in asked)
        for each in asked:
            assert re.search(r"the ratio ([^ ]+)\. ", each)[1].endswith("π"), each
            assert not re.search(r"\b1\s·", each), each


class TestHint:
    def test_steps(self):
        q = posed()
        assert str(q.hint()) == "Hint 1 of 2\nCut it in two."
        assert str(q.hint(2)) == "Hint 2 of 2\nTake one part."
        assert q.hint(99) == q.hint(2)

    @in_one("step", [0, -1, 1.0, "1", None, True])
    def test_no_step(self, step):
        with pytest.raises(ValueOutOfRangeError, match="step"):
            posed().hint(step)


class TestShown:
    def test_question(self):
        q = posed(table=Table("Halves", "part | size", (("one", "1/2"), ("other <b>", "1/2"))))
        shown = q._repr_html_()
        assert "What is <strong>half</strong> of one?" in shown
        assert '<th scope="col"' in shown
        assert "other &lt;b&gt;" in shown
        assert str(q).splitlines()[:2] == ["Half of it (class number 7)", "What is half of one?"]
        assert "other <b> | 1/2" in str(q)
        assert repr(q) == str(q)

    def test_outcomes_are_told_apart_without_colour(self):
        shown = [posed().check(given)._repr_html_() for given in (..., 0.4, "1/2")]
        marks = ("…", markup.drawn(False), markup.drawn(True))
        assert [mark in html for mark, html in zip(marks, shown, strict=True)] == [True, True, True]
        assert len(set(marks)) == 3
        assert ["Not answered yet." in shown[0], "Not right." in shown[1], "Right." in shown[2]] == [True, True, True]
        assert all('role="status"' in html for html in shown)
        assert str(Outcome(RIGHT, "It **is**.")) == "✓ Right. It is."

    def test_solution_is_folded(self):
        note = posed().solution()
        assert note._repr_html_() == (
            "<details><summary>Worked solution</summary><p>1 ÷ 2 = <strong>1/2</strong></p></details>"
        )
        assert "<details>" not in note.html
        assert str(note) == "Worked solution\n1 ÷ 2 = 1/2"

    @in_one("given", ["<script>alert(1)</script>", "<img src=x onerror=y>", r"$\href{javascript:a}{b}$", "**x**"])
    @in_one("name", exercise_names())
    def test_what_is_typed_is_never_shown_raw(self, name, given):
        shown = exercise(name).check(given)._repr_html_()
        assert not any(bad in shown for bad in ("<script", "<img", "href", "$", "x**"))


class TestWords:
    def test_line_breaks_of_the_code_do_not_count(self):
        assert tidy("one\n    two\n\n    three ") == "one two\n\nthree"
        assert as_html("one\n\ntwo") == "<p>one</p><p>two</p>"

    def test_bold_needs_both_ends(self):
        assert as_html("2 ** 3") == "<p>2 ** 3</p>"
        assert as_text("a **b** c") == "a b c"

    def test_results_show_themselves(self):
        class Result:
            def _repr_html_(self):
                return "<b>shown</b>"

            def __str__(self):
                return "shown"

        note = Note(("before", Result()))
        assert note.html == "<p>before</p><b>shown</b>"
        assert str(note) == "before\nshown"


class TestDraw:
    def test_a_class_is_dealt_each_choice_equally_often(self):
        dealt = [Draw("which-row", number).evenly("abcd") for number in range(1, 41)]
        assert Counter(dealt) == dict.fromkeys("abcd", 10)
        rounds = ["".join(dealt[start : start + 4]) for start in range(0, 40, 4)]
        assert len(set(rounds)) > 4, "each round in an order of its own"

    def test_each_exercise_is_dealt_otherwise(self):
        first, second = ([Draw(name, number).evenly("abcd") for number in range(1, 41)] for name in ("one", "two"))
        assert first != second


class TestNumbersThatMakeASlipRight:
    """2 · 2 = 2 + 2: where the slip of adding can't be told, other numbers are drawn."""

    def posed(self, wrong):
        def pose(draw):
            x, y = draw.randrange(1, 4), draw.randrange(1, 4)
            return task(answer=Number(Fraction(x * y)), slips=(Slip("added", wrong(x + y), "Multiply."),))

        return [Recipe("times", "Times", 1, pose).numbered(number) for number in range(60)]

    @pytest.mark.parametrize("wrong", [Fraction, lambda added: about(Fraction(added))])
    def test_other_numbers_are_drawn(self, wrong):
        for q in self.posed(wrong):
            assert not any(q.answer.allows(slip) for slip in q.slips)

    @pytest.mark.parametrize("wrong", ["2.13", "2.24", "2.22", "2.12"])
    def test_as_it_is_or_rounded_as_the_question_says(self, wrong):
        """2.17 to one decimal: 2.13 is right as it stands, 2.24 once it is rounded."""
        answer = Number(Fraction("2.17"), "%", places=1)
        right = [answer.is_right(answer.read(given)) for given in (wrong, f"{float(wrong):.1f}")]
        assert answer.allows(Slip("half-way", Fraction(wrong), "Go on.")) is any(right)

    def test_a_slip_that_always_is_right_does_not_hang(self):
        def pose(draw):
            return task(slips=(Slip("half", Fraction(1, 2), "No."),))

        assert Recipe("half", "Half", 1, pose).numbered(1).check("1/2").is_right


class TestPoses:
    def test_a_name_is_given_once(self):
        with pytest.raises(GearcalcError, match="share a name"):

            @poses("two-pairs", lesson=99, title="Another")
            def another(draw):
                raise AssertionError("never posed")

        assert exercise("two-pairs").lesson == 3

    def test_not_even_by_a_function_that_is_called_the_same(self):
        with pytest.raises(GearcalcError, match="share a name"):

            @poses("two-pairs", lesson=99, title="Another")
            def two_pairs(draw):
                raise AssertionError("never posed")

    @pytest.mark.parametrize("goal", [0, -1, 1.5, "first"])
    def test_a_goal_is_counted_from_one(self, goal):
        with pytest.raises(GearcalcError, match="goal"):
            poses("never-entered", lesson=99, title="Own", goal=goal)


@pytest.fixture
def own():
    """An exercise of a school's own, in lesson 1, entered when all of ours have been asked for."""
    names = exercise_names()

    @poses("a-school-s-own", lesson=1, title="Own", goal=2)
    def own(draw):
        return task(answer=Number(Fraction(7)))

    yield [name for name in exercise_names() if name not in names]
    del _RECIPES["a-school-s-own"]


class TestASchoolsOwn:
    """It works whenever it is entered, and leaves the lessons as they are."""

    def test_it_is_found_like_ours(self, own):
        assert own == ["a-school-s-own"]
        assert exercise("a-school-s-own", 3).check("7").is_right
        assert set(exercise_names(1)) - set(lessons_with_exercises()[0].exercises) == set(own)

    def test_a_lesson_has_what_stands_in_it(self, own):
        lessons_with_exercises.cache_clear()
        lesson = lessons_with_exercises()[0]
        lessons_with_exercises.cache_clear()
        assert "a-school-s-own" not in lesson.exercises
        assert (lesson.exercises[0], lesson.asked, len(lesson.exercises)) == ("lead-of-a-leadscrew", 4, 7)


class TestGoals:
    """Each exercise is entered for one of the things that its lesson promises, and each of them is asked."""

    def test_each_exercise_asks_one_that_its_lesson_has(self):
        goals = {lesson.number: len(lesson.goals) for lesson in lessons_with_exercises()}
        assert not [
            name for name in exercise_names() if not 1 <= (recipes()[name].goal or 0) <= goals[recipes()[name].lesson]
        ]

    def test_each_goal_is_asked_by_an_exercise_or_else_by_a_guess(self):
        asked = {(recipes()[name].lesson, recipes()[name].goal) for name in exercise_names()}
        promised = {(one.number, n) for one in lessons_with_exercises() for n, _ in enumerate(one.goals, 1)}
        assert promised - asked == set(BY_A_GUESS)
        for (lesson, _), guess in BY_A_GUESS.items():
            assert any(f'"{guess}"' in text for _, text in sources(LESSONS[f"{lesson:02}"]))


class TestAboutALatheThatLacksSomething:
    """The demo lathe of its own units stands in, and the question says so before all else."""

    def asked(self, lathe, pose):
        return Recipe("half", "Half of it", 1, pose, any_lathe=True).numbered(7, lathe=lathe)

    @pytest.mark.parametrize("units", ["inch", "mm"])
    def test_what_it_has_not(self, units):
        met = []

        def pose(draw, lathe):
            met.append(lathe)
            draw.needs(lathe is None or bool(lathe.levers), "has no lever in its file")
            return task()

        lathe = evolve(demo_lathe("odd").with_show(units), box=())
        instead = demo_lathe("metric" if units == "mm" else "inch")
        question = self.asked(lathe, pose).question
        assert question == (
            f"Your lathe has no lever in its file, so this asks about the demo lathe, {instead.name}. {task().question}"
        )
        first_met = [each for place, each in enumerate(met) if each not in met[:place]]
        assert first_met == [None, lathe, instead]  # first what a lesson asks without a lathe
        assert self.asked(instead, pose).question == task().question

    def test_numbers_that_it_has_not(self):
        def pose(draw, lathe):
            draw.only_if(lathe in (None, demo_lathe("metric")))
            return task()

        assert self.asked(demo_lathe("metric").with_gears(add=99), pose).question.startswith(
            "Your lathe has no numbers that make a question here, so this asks about the demo lathe, Bench lathe with"
        )

    def test_numbers_of_which_the_exercise_says_what_is_missing(self):
        def pose(draw, lathe):
            draw.only_if(lathe in (None, demo_lathe("inch")), "has no even gear")
            return task()

        own = demo_lathe("inch").with_gears(add=99)
        assert self.asked(own, pose).question.startswith("Your lathe has no even gear, so this asks about the demo")

    @pytest.mark.parametrize(
        ("name", "gears", "lacks"),
        [
            (
                "lead-upside-down",
                "teeth = [20, 30, 40, 50]\nfixed.first_driver = 20",
                "has a first driver that is fixed",
            ),
            ("lead-upside-down", "teeth = [30, 40, 50, 90]\nfixed.last_driven = 90", "has a last gear that is fixed"),
            ("lead-upside-down", "teeth = [40, 40]", "has fewer than two different gears"),
            ("forgotten-pair", "teeth = [40, 50, 60, 60]", "has fewer than four different gears"),
            ("on-to-the-next-start", "teeth = [29, 37, 41, 43]", "has no gears with which the next start is a whole"),
            ("ppm-of-a-near-miss", "teeth = [40, 40]", "has fewer than two different gears"),
            ("how-far-out", "teeth = [40]", "has fewer than two different gears"),
            ("how-far-out", "teeth = [20, 100]", "has no pair of gears that comes near a common thread"),
            (
                "feed-from-the-gears",
                "teeth = [20, 30, 80]\nfixed.first_driver = 80",
                "has no small gear that may drive a larger",
            ),
            ("what-should-it-measure", "teeth = [20, 30]", "has no gears that cut a lead from 0.25 to 12 mm"),
        ],
    )
    def test_each_says_what_its_file_has_not(self, name, gears, lacks):
        """As one reads it off the file: gears fixed at an end, too few, or primes that share nothing."""
        lead = "60 mm" if name == "what-should-it-measure" else "8 tpi"
        own = Lathe.from_toml(f'name = "Own"\nleadscrew.lead = "{lead}"\n[gears]\n{gears}\n')
        assert exercise(name, 3, own).question.startswith(f"Your lathe {lacks}")

    @examples(10)
    @given(any_lathes)
    def test_on_any_lathe_it_is_said_what_is_missing(self, lathe):
        for name in (name for name, recipe in recipes().items() if recipe.any_lathe and name in exercise_names()):
            assert "no numbers that make a question here" not in exercise(name, 3, lathe).question

    def test_a_slip_that_is_right_there_or_meets_another_is_left_out(self):
        slips = {"by luck: No.": Fraction(1, 2), "one: No.": Fraction(3), "two: Not so.": Fraction(3)}
        asked = self.asked(demo_lathe("inch"), lambda draw, lathe: evolve(task(), slips=slips))
        assert [slip.name for slip in asked.slips] == ["one"]


class TestHowALeadscrewIsNamed:
    """'A leadscrew of 3 mm' could be 3 mm thick: millimetres are said to be its lead."""

    @in_one("name", exercise_names())
    def test_in_no_question_could_it_be_a_diameter(self, name):
        for number in range(1, 13):
            q = exercise(name, class_number=number)
            said = f"{q.question} {q.task.solved()}".replace("**", "")
            assert not re.search(r"leadscrew (of|has) [≈\d./ ]+\s?mm(?! lead)", said), said
