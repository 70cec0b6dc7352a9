"""Who works here and what is done: from answers.json alone, each answer marked again."""

from __future__ import annotations

import re

import pytest

import gearcalc as gc
from gearcalc.basics.files import notebooks_folder
from gearcalc.learning.answer_book import Go, answer_book
from gearcalc.learning.progress import name_and_number, what_is_done


@pytest.fixture(autouse=True)
def beside(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path / "answers.json"


def rows():
    return {lesson.number: (len(lesson.right), len(lesson.answered)) for lesson in what_is_done().lessons}


class TestWhatIsDone:
    def test_nothing_yet(self):
        done = what_is_done()
        assert [lesson.number for lesson in done.lessons] == list(range(1, 14))
        assert sum(len(lesson.exercises) for lesson in done.lessons) == len(gc.exercise_names())
        assert set(rows().values()) == {(0, 0)}
        assert done.next.number == 1
        assert "Next: 01" in str(done)

    def test_an_answer_counts_while_it_is_right_and_the_learners_own(self):
        book, key = answer_book(), gc.exercise("pitch-and-lead", class_number=7).key
        book.keep_class_number(7)
        book.keep_answer("lead-of-a-leadscrew", Go(7, answer="1000 mm", tries=1))
        book.keep_answer("pitch-and-lead", Go(7, answer=key, tries=1))
        assert rows()[1] == (1, 2)
        book.keep_class_number(8)
        assert rows()[1] == (0, 0)

    def test_a_mark_is_never_read_from_the_file(self, beside):
        answer_book().keep_class_number(7)
        answer_book().keep_answer("pitch-and-lead", Go(7, answer="1000 mm", tries=1))
        beside.write_text(beside.read_text().replace('"tries": 1', '"tries": 1, "right": true, "state": "right"'))
        assert rows()[1] == (0, 1)

    def test_one_go_of_several_is_enough(self):
        answer_book().keep_class_number(7)
        second = gc.exercise("pitch-and-lead", class_number=7, go=2)
        answer_book().keep_answer("pitch-and-lead", Go(7, 1, "1000 mm", 1))
        answer_book().keep_answer("pitch-and-lead", Go(7, 2, second.key, 1))
        assert rows()[1] == (1, 1)

    def test_a_lesson_whose_exercises_are_all_right_is_done_and_the_next_one_comes(self):
        answer_book().keep_class_number(7)
        for name in gc.exercise_names(1):
            answer_book().keep_answer(name, Go(7, answer=gc.exercise(name, class_number=7).key, tries=1))
        done = what_is_done()
        assert done.lessons[0].state == "done"
        assert done.next.number == 2
        page = done._repr_html_()
        assert page.count('href="02_two_pairs.ipynb"') == 2  # in its row, and in what comes next
        assert "7 of 7" in page

    def test_more_practice_keeps_no_lesson_from_being_done(self):
        answer_book().keep_class_number(7)
        asked = ("lead-of-a-leadscrew", "one-pair-for-a-thread", "which-way-round", "threads-from-one-pair")
        for name in asked:
            assert what_is_done().next.number == 1
            answer_book().keep_answer(name, Go(7, answer=gc.exercise(name, class_number=7).key, tries=1))
        done = what_is_done()
        assert (done.lessons[0].state, len(done.lessons[0].right), done.next.number) == ("done", 4, 2)

    def test_minutes_are_those_that_each_lesson_states(self):
        done = what_is_done()
        for lesson in done.lessons:
            page = (notebooks_folder() / lesson.file).read_text(encoding="utf-8")
            stated = re.findall(r"Time:\*\* about (\d+) minutes", page)
            assert [str(lesson.minutes)] == stated or (lesson.minutes, stated) == (None, []), lesson.file
            row = next(row for row in done._repr_html_().split("<tr>") if lesson.file in row)
            assert f">{lesson.minutes or '–'}</td>" in row, lesson.file

    def test_links_lead_to_lessons(self):
        for file in re.findall(r'href="([^"]+)"', what_is_done()._repr_html_()):
            assert (notebooks_folder() / file).is_file()

    @pytest.mark.parametrize("lathe", ["rubbish", "name = 3"])
    def test_what_somebody_spoiled_counts_for_nothing(self, lathe):
        answer_book().keep_class_number(7)
        answer_book().keep_answer("pitch-and-lead", Go(7, answer="1", lathe=lathe))
        answer_book().keep_answer("no-such-exercise", Go(7, answer="1"))
        assert rows()[1][0] == 0


class TestNameAndNumber:
    def test_both_are_kept_and_shown_again(self):
        pytest.importorskip("anywidget")
        asks = name_and_number()
        assert "pick any" in asks.said
        asks.type("name", "Ada Nowhere")
        asks.type("class number", "7")
        assert (answer_book().name, answer_book().class_number) == ("Ada Nowhere", 7)
        assert "stays on this machine" in asks.said
        assert name_and_number().values == {"name": "Ada Nowhere", "class number": "7"}

    def test_what_is_no_class_number_is_told(self):
        pytest.importorskip("anywidget")
        asks = name_and_number()
        for text in ("seven", "-1", "1.5", "9" * 50, "²"):
            asks.type("class number", text)
            assert asks.said.startswith("<p>A class number must be a whole number")
        assert answer_book().class_number is None
        asks.type("class number", "")
        assert "pick any" in asks.said
