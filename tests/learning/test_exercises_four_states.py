"""Every exercise, for many class numbers: not answered, wrong by a known slip, wrong otherwise, right in any form."""

from __future__ import annotations

import re

import gearcalc as gc
from gearcalc import exercise_names
from gearcalc.basics.files import notebooks_folder
from gearcalc.learning.exercises.tasks import NOT_RIGHT, NOT_YET
from tests.how_much import MANY, THOROUGH, exercise, in_one
from tests.learning.exercise_cases import CASES

FEW = range(100 if THOROUGH else 16)
_BOLD = re.compile(r"\*\*(.+?)\*\*")
_SPECIAL_IN_MARKDOWN = re.compile(r"[<>*_`$|\\#\[\]~]")


def test_every_exercise_is_worked_a_second_time():
    assert set(CASES) == set(exercise_names())


@in_one("name", exercise_names())
def test_it_stands_in_its_lesson(name):
    (path,) = notebooks_folder().glob(f"{exercise(name).lesson:02}_*.ipynb")
    assert f'exercise(\\"{name}\\"' in path.read_text(encoding="utf-8")


@in_one("name", CASES)
class TestWorkedASecondTime:
    def test_right_in_every_form(self, name):
        for number in FEW:
            q = exercise(name, class_number=number)
            answers = CASES[name].right(q)
            assert answers
            for answer in answers:
                outcome = q.check(answer)
                assert outcome.is_right, (number, answer, outcome)
                assert outcome.feedback == q.task.right
                assert outcome.slip is None

    def test_slips_are_recognised(self, name):
        seen = set()
        for number in FEW:
            q = exercise(name, class_number=number)
            slips = CASES[name].slips(q)
            for slip, answer in slips:
                outcome = q.check(answer)
                if outcome.is_right:  # with some numbers a slip leads to the right answer by luck
                    assert any(_equal(answer, right) for right in CASES[name].right(q)), (number, slip, answer)
                    continue
                assert outcome.state == NOT_RIGHT
                same = {other for other, given in slips if _equal(given, answer)}
                assert outcome.slip in same, (number, slip, answer, outcome.slip)
                assert outcome.feedback
                seen.add(outcome.slip)
        assert seen == {slip for number in FEW for slip, _ in CASES[name].slips(exercise(name, class_number=number))}
        assert len(seen) >= 2

    def test_feedback_and_hints_keep_the_answer_back(self, name):
        for number in FEW:
            q = exercise(name, class_number=number)
            answer = CASES[name].reveals(q)
            said = [q.check(given).feedback for _, given in CASES[name].slips(q) if not q.check(given).is_right]
            said += [q.check("?!").feedback.replace(q.task.answer.how, ""), *q.task.hints]
            if answer not in q.question:
                assert not [words for words in said if re.search(rf"(?<![\w.]){re.escape(answer)}(?!\w)", words)], (
                    answer
                )


@in_one("name", exercise_names())
class TestEveryExercise:
    def test_not_answered(self, name):
        q = exercise(name, class_number=3)
        for nothing in (None, ..., "", "   "):
            outcome = q.check(nothing)
            assert (outcome.state, outcome.slip) == (NOT_YET, None)

    def test_wrong_in_no_known_way(self, name):
        q = exercise(name, class_number=5)
        outcome = q.check("no such thing")
        assert (outcome.state, outcome.slip) == (NOT_YET, "not readable")
        assert q.task.answer.how in outcome.feedback

    def test_the_key_is_a_right_answer_that_the_solution_comes_to(self, name):
        for number in range(1, 13):
            q = exercise(name, class_number=number)
            solution = q.solution()
            assert q.check(q.key).is_right, (number, q.key)
            bold = [words for part in solution.parts if isinstance(part, str) for words in _BOLD.findall(part)]
            assert q.key in bold[-1], f"{name}: the result stands nowhere in bold"
            assert "<details>" in solution._repr_html_()

    def test_a_further_go_has_fresh_numbers(self, name):
        goes = [gc.exercise(name, class_number=7, go=go) for go in range(1, 4)]
        assert len({q.question + str(q.task.table) for q in goes}) == 3
        assert len({*goes}) == 3
        assert all(q.check(q.key).is_right for q in goes)
        assert [q.whose for q in goes] == ["class number 7", "class number 7, second go", "class number 7, third go"]

    def test_every_class_number_makes_sense(self, name):
        for number in MANY[::2] if name in CASES else FEW:
            q = exercise(name, class_number=number)
            assert 40 < len(q.question) < 700
            assert not _SPECIAL_IN_MARKDOWN.search(q.question.replace("**", "")), q.question
            assert q.question.count("**") % 2 == 0
            assert 2 <= len(q.task.hints) <= 3
            assert "\n" not in q.task.question
            assert "≈" not in q.question, "numbers in a question are exact"

    def test_a_class_gets_different_numbers(self, name):
        questions = [str(exercise(name, class_number=number)).partition("\n")[2] for number in range(1, 31)]
        assert len(set(questions)) >= 8


def _equal(one: object, other: object) -> bool:
    """The same answer, give or take how a number is written."""
    if one == other:
        return True
    try:
        return abs(float(one) - float(other)) < 0.006  # type: ignore[arg-type]
    except (TypeError, ValueError):
        return str(one).casefold().split() == str(other).casefold().split()
