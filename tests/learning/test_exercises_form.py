"""The form of an exercise, driven as a hand would, without a browser."""

from __future__ import annotations

import json
import sys

import pytest

import gearcalc as gc
from gearcalc import exercise_names
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import NOT_RIGHT, NOT_YET, RIGHT, Recipe, Task
from tests.how_much import exercise, in_one
from tests.learning.exercise_cases import CASES

pytest.importorskip("anywidget")
LEAD = "lead-of-a-leadscrew"


def labels(form):
    return [label for _, label, _ in form.buttons]


@pytest.fixture
def beside(tmp_path, monkeypatch):
    """The learner's folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path / "answers.json"


@pytest.fixture
def seven(beside):
    """A learner with class number 7."""
    gc.exercise(LEAD).form().type("class number", "7")
    return beside


class TestFourStates:
    @in_one("name", CASES)
    def test_through_the_box(self, name):
        q = exercise(name, class_number=4)
        form = q.form()
        assert "Not answered yet" in form.said
        written = [*CASES[name].right(q), *(given for _, given in CASES[name].slips(q))]
        choices = q.task.answer.options or ["1", "2", "998/999", *map(str, written)]
        right = next(given for given in choices if q.check(given).state == RIGHT)
        wrong = next(given for given in choices if q.check(given).state == NOT_RIGHT)
        form.type("answer", wrong)
        assert "Not right." in form.said
        assert q.check(wrong).html == form.said
        form.type("answer", right)
        assert "Right." in form.said
        form.type("answer", "")
        assert "Not answered yet" in form.said


@in_one("name", exercise_names())
class TestForm:
    def test_hints_one_after_the_other_then_the_solution(self, name):
        form = exercise(name).form()
        hints = exercise(name).task.hints
        assert form.formulas.value == ""
        for count in range(1, len(hints) + 2):
            form.press("hint")
            shown = min(count, len(hints))
            assert [f"Hint {step} of" in form.formulas.value for step in range(1, len(hints) + 1)] == [
                step <= shown for step in range(1, len(hints) + 1)
            ]
        form.press("solution")
        assert "Worked solution" in form.formulas.value
        assert "Hide solution" in labels(form)
        form.press("solution")
        assert "Worked solution" not in form.formulas.value
        assert "Hint 1 of" in form.formulas.value

    def test_every_control_has_a_name(self, name):
        q = exercise(name)
        form = q.form()
        assert (form.title, form.whose) == (q.title, "class number 1")
        assert [(field["name"], field["label"]) for field in form.fields] == [("answer", "Your answer:")]
        assert form.fields[0].get("options", []) == list(q.task.answer.options)
        assert labels(form) == ["Check", "Hint", "Solution", "Fresh numbers"]
        assert f"gc.exercise(&quot;{name}&quot;)" in form.foot


class TestTheLearnersOwn:
    def test_without_a_class_number_it_asks_for_one_and_marks_nothing(self, beside):
        form = gc.exercise(LEAD).form()
        assert [field["name"] for field in form.fields] == ["class number"]
        assert (form.buttons, form.said) == ([], "")
        form.type("class number", "seven <b>")
        assert form.said.startswith("<p>A class number must be a whole number")
        assert "<b>" not in form.said
        assert not beside.exists()
        form.type("class number", "")
        assert form.said == "", "what was typed before is gone, and so is what was said of it"
        form.type("class number", " 7 ")
        assert form.question == gc.exercise(LEAD, class_number=7).task._repr_html_()
        assert (form.whose, form.fields[0]["name"]) == ("class number 7", "answer")
        assert json.loads(beside.read_text())["class_number"] == 7

    def test_given_in_one_form_it_is_known_in_all(self, beside):
        one, other = gc.exercise(LEAD).form(), gc.exercise("two-pairs").form()
        one.type("class number", "7")
        assert other.whose == "class number 7"
        assert gc.exercise("split-a-ratio") == gc.exercise("split-a-ratio", class_number=7)

    def test_what_was_typed_stands_when_the_page_is_opened_again(self, seven):
        q = gc.exercise(LEAD)
        form = q.form()
        form.type("answer", "1 mm")
        form.type("answer", "1 mm")
        form.press("check")
        form.type("answer", "rubbish <i>")
        form.type("answer", q.key)
        again = gc.exercise(LEAD).form()
        assert again.values == {"answer": q.key}
        assert "Right." in again.said
        (kept,) = json.loads(seven.read_text())["exercises"][LEAD]
        assert kept == {"class_number": 7, "go": 1, "answer": q.key, "tries": 2}

    def test_a_right_answer_is_not_given_up_for_what_is_tried_out_afterwards(self, seven):
        q = gc.exercise(LEAD)
        q.form().type("answer", q.key)
        form = gc.exercise(LEAD).form()
        form.type("answer", "1 mm")
        assert "Not right." in form.said
        assert q.kept().answer == q.key

    def test_fresh_numbers(self, seven):
        form = gc.exercise(LEAD).form()
        form.type("answer", gc.exercise(LEAD).key)
        form.press("hint")
        form.press("fresh")
        assert (form.whose, form.values, form.formulas.value) == ("class number 7, second go", {"answer": ""}, "")
        assert "Not answered yet" in form.said
        assert gc.exercise(LEAD).go == 2  # also when the page is opened next
        assert [go["go"] for go in json.loads(seven.read_text())["exercises"][LEAD]] == [1, 2]

    def test_another_class_number_brings_its_own_numbers_and_keeps_the_others(self, seven):
        form = gc.exercise(LEAD).form()
        form.type("answer", gc.exercise(LEAD).key)
        gc.exercise(LEAD, class_number=8)
        from gearcalc.learning.answer_book import answer_book

        answer_book().keep_class_number(8)
        assert (form.whose, form.values) == ("class number 8", {"answer": ""})
        answer_book().keep_class_number(7)
        assert "Right." in form.said

    def test_a_class_number_from_outside_is_looked_at_and_nothing_is_kept(self, beside):
        form = gc.exercise(LEAD, class_number=7).form()
        form.type("answer", form.exercise.key)
        form.press("fresh")
        gc.exercise(LEAD, class_number=7).check("1 mm")
        assert form.whose == "class number 7, second go"
        assert not beside.exists()

    def test_that_nothing_can_be_kept_is_said_once(self, beside):
        beside.write_text("[]")
        form = gc.exercise(LEAD).form()
        form.type("class number", "7")
        form.type("answer", "1 mm")
        assert "not ours" in form.said
        form.type("answer", "2 mm")
        assert "not ours" not in form.said
        assert beside.read_text() == "[]"


class TestInCode:
    @pytest.mark.usefixtures("beside")
    def test_without_a_class_number_it_says_so(self):
        q = gc.exercise(LEAD)
        outcome = q.check("1 mm")
        assert not outcome.is_right
        assert "class number" in outcome.feedback
        assert "class number" in str(q)
        gc.exercise("two-pairs").form().type("class number", "7")
        assert q.check(gc.exercise(LEAD, class_number=7).key).is_right

    def test_an_answer_in_code_is_kept_as_it_would_be_typed(self, seven):
        from fractions import Fraction

        q = gc.exercise("the-ratio-with-127")
        right = Fraction(q.key) if "·" not in q.key else q.key
        assert q.check(right).is_right
        assert gc.exercise("the-ratio-with-127").form().said == q.check(q.key).html
        q.check(...)
        assert q.kept().tries == 1
        assert "the-ratio-with-127" in json.loads(seven.read_text())["exercises"]

    @pytest.mark.usefixtures("seven")
    def test_an_answer_with_a_mind_of_its_own_is_marked_all_the_same(self):
        class Rude(str):
            def __str__(self):
                raise RuntimeError

            def strip(self):
                return "1"

        q = gc.exercise(LEAD)
        assert q.check(Rude(q.key)).state in (NOT_RIGHT, RIGHT, NOT_YET)
        q.check([q.key, Rude()])
        assert q.kept().tries <= 1

    def test_a_cell_shows_the_form_and_its_still_twin(self, seven, monkeypatch):
        gc.exercise(LEAD).form().type("answer", "1 <b>")
        bundles = []
        monkeypatch.setattr("IPython.display.display", lambda bundle, raw, display_id=None: bundles.append(bundle))
        gc.exercise(LEAD)._ipython_display_()
        form, still = bundles
        assert "application/vnd.jupyter.widget-view+json" in form
        assert "Your answer: 1 &lt;b&gt;" in still["text/html"]
        assert "To wake it" in still["text/html"]

    @pytest.mark.usefixtures("beside")
    def test_the_still_twin_asks_with_the_numbers_of_class_number_1_where_there_are_none(self):
        still = gc.exercise(LEAD).form().still()
        assert gc.exercise(LEAD, class_number=1)._repr_html_() in still

    def test_where_no_widgets_are_installed_a_cell_shows_the_question(self, seven, monkeypatch):
        bundles = []
        monkeypatch.setattr("IPython.display.display", lambda bundle, raw, display_id=None: bundles.append(bundle))
        monkeypatch.setitem(sys.modules, "gearcalc.learning.exercises.form", None)
        gc.exercise(LEAD)._ipython_display_()
        assert bundles == [{"text/plain": str(gc.exercise(LEAD)), "text/html": gc.exercise(LEAD)._repr_html_()}]

    def test_of_what_the_page_sends_only_what_was_asked_for_counts(self, seven):
        form = gc.exercise(LEAD).form()
        for sent in ({}, {"typed": "name", "text": "x"}, {"typed": "answer", "text": 3}, {"pressed": "_pose"}):
            form._hear(sent)
        assert form.values == {"answer": ""}
        form._hear({"typed": "answer", "text": "1 mm"})
        assert "Not right." in form.said


@pytest.mark.parametrize("given", ["<img src=x onerror=y>", "9" * 5000, "\x00", "½"])
def test_nonsense_is_an_outcome(given):
    form = exercise("two-pairs").form()
    form.type("answer", given)
    assert "can&#x27;t be read" in form.said
    assert "<img" not in form.said


class TestOnAnyLathe:
    @pytest.fixture
    def twice(self, monkeypatch):
        """An exercise about the lathe that it is given: the lead of its leadscrew in mm, so many times."""

        def pose(draw, lathe):
            lathe = lathe or gc.demo_lathe("metric")
            times = draw.randrange(2, 30)
            lead = lathe.leadscrew_lead_mm * times
            return Task(
                question=f"How far in **{times}** turns of the leadscrew of {lathe.name}?",
                answer=Number(lead, unit="mm"),
                hints="Each turn is one lead.",
                solution=f"It is **{float(lead)} mm**.",
                right="Lead after lead.",
            )

        recipe = Recipe("twice", "So many turns", 1, pose, any_lathe=True)
        monkeypatch.setattr("gearcalc.learning.exercises.recipe_of", lambda name: recipe)

    def test_what_is_answered_belongs_to_its_lathe(self, seven, twice):
        inch, metric = gc.demo_lathe("inch"), gc.demo_lathe("metric")
        q = gc.exercise("twice", lathe=inch)
        form = q.form()
        form.type("answer", q.key)
        assert "Right." in form.said
        assert gc.exercise("twice", lathe=inch).form().values == {"answer": q.key}
        assert gc.exercise("twice", lathe=metric).form().values == {"answer": ""}
        form.press("fresh")
        assert (gc.exercise("twice", lathe=inch).go, gc.exercise("twice", lathe=metric).go) == (2, 1)
        assert form.exercise.lathe == inch
        (kept,) = (go for go in json.loads(seven.read_text())["exercises"]["twice"] if go["go"] == 1)
        assert gc.Lathe.from_toml(kept["lathe"]) == inch
