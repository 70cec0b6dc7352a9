"""The exercises of lesson 05 over many class numbers: each task can be solved, and is what it says it is."""

from __future__ import annotations

from tests.how_much import MANY, exercise, in_one
from tests.learning.exercise_cases.lesson_05 import CASES


@in_one("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        assert q.check(CASES[name].right(q)[0]).is_right, number


class TestHowFarOut:
    def test_words_for_the_sign_are_read(self):
        for number in range(40):
            q = exercise("how-far-out", class_number=number)
            um = float(q.task.answer.value)
            side = "too long" if um > 0 else "too short"
            assert q.check(f"{abs(um):.1f} µm {side}").is_right
            assert q.check(f"{abs(um):.1f} µm {'too short' if um > 0 else 'too long'}").slip == "wrong sign"


class TestShareOfTheTolerance:
    def test_there_is_something_left_of_the_tolerance(self):
        for number in MANY:
            assert 1 <= exercise("share-of-the-tolerance", class_number=number).task.answer.value < 95

    def test_what_is_from_memory_says_so(self):
        for number in range(20):
            rows = exercise("share-of-the-tolerance", class_number=number).task.table.rows
            assert all("from memory" in width for grade, width in rows if grade in ("4h", "8g"))


class TestHowManyPpmAreAllowed:
    def test_check_value(self):
        """M10 6g: 132 µm (ISO 965-1, limits 8.862 and 8.994 read in a reprint of ASME B1.13M, status S)."""
        found = [exercise("how-many-ppm-are-allowed", class_number=number) for number in MANY]
        m10 = [q for q in found if "**M10**" in q.question]
        assert m10
        assert all("from **8.862** to **8.994 mm**" in q.question for q in m10)
        over_15 = [q for q in m10 if "over **15 mm**" in q.question]
        assert over_15
        assert all(q.check(66 / 1.7320508 / 15 * 1000).is_right for q in over_15)


class TestFindTheWrongRow:
    def test_every_kind_of_misprint_is_met(self):
        told = {exercise("find-the-wrong-row", class_number=number).task.right for number in MANY}
        assert len(told) == 5

    def test_the_chart_shows_five_threads(self):
        for number in MANY:
            q = exercise("find-the-wrong-row", class_number=number)
            assert len(q.task.table.rows) == len(set(q.task.answer.options)) == 5


class TestGoodEnoughOrNot:
    def test_none_is_on_the_edge(self):
        """A rounding of cot 30° to 1.73 changes no verdict."""
        for number in MANY:
            q = exercise("good-enough-or-not", class_number=number)
            ppm = float(q.question.split("**")[1].removesuffix(" ppm").replace("−", "-"))
            good = set()
            for job, screw, over, width in q.task.table.rows:
                length = float("".join(sign for sign in over if sign.isdigit()))
                off = abs(ppm) * length / 1000
                limit = float(width.split()[0])
                if off <= limit if screw == "screw of a slide" else off * 1.73 <= limit / 2:
                    good.add(int(job))
            assert q.check(good).is_right
            assert 1 <= len(good) <= 3

    def test_the_solution_does_what_the_hint_says_and_brings_up_no_other_grade(self):
        for number in MANY:
            q = exercise("good-enough-or-not", class_number=number)
            worked = str(q.solution())
            assert worked.count("times 1.732") == worked.count("Half of the tolerance is") == 3
            assert "grade" not in worked
