"""Lessons in the browser alone: each has a folder in memory, and one storage of the browser behind them all."""

from __future__ import annotations

import base64
import json
import re
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NotPossibleError
from gearcalc.commands import main
from gearcalc.learning import in_browser
from gearcalc.learning.answer_book import AnswerBook, Go
from gearcalc.learning.exercises import exercise


class ABrowser:
    """What the page's half does, one step at a time: what was asked for is done later, one after the other."""

    def __init__(self):
        self.kept, self.asked, self.lessons = {}, [], []

    def lesson(self, folder):
        folder.mkdir()
        self.lessons.append(ALesson(self, folder))
        return self.lessons[-1]

    def do_next(self):
        _, name, rule, refused = self.asked.pop(0)
        try:
            self.kept[name] = rule(self.kept.get(name))
        except Exception as problem:
            refused(str(problem))
            return
        for one in self.lessons:
            if not any(other is one and waits == name for other, waits, *_ in self.asked):
                one.put(name, self.kept[name])

    def do_all(self):
        while self.asked:
            self.do_next()


class ALesson:
    why_not = ""

    def __init__(self, browser, folder):
        self.browser, self.folder, self.listeners = browser, folder, []

    def put(self, name, text):
        (self.folder / name).write_text(text)
        for listened, told in self.listeners:
            if listened == name:
                told()

    def change(self, name, rule, refused):
        self.browser.asked.append((self, name, rule, refused))

    def listen(self, name, told):
        self.listeners.append((name, told))

    def book(self):
        return AnswerBook(self.folder / "answers.json", beyond=self)


@pytest.fixture
def browser():
    return ABrowser()


@pytest.fixture
def two(browser, tmp_path):
    return [browser.lesson(tmp_path / name).book() for name in ("one", "other")]


class TestTwoLessonsThatAreOpen:
    def test_neither_loses_what_the_other_wrote_before_it_was_told(self, browser, two):
        one, other = two
        one.keep_class_number(7)
        other.keep_answer("two-pairs", Go(7, answer="40/80", tries=1))
        one.keep_answer("two-pairs", Go(7, go=2, answer="1/2", tries=1))
        other.keep_guess("a-guess", "4")
        browser.do_all()
        for book in two:
            assert (book.class_number, book.guess("a-guess")) == (7, "4")
            assert {go.answer for go in book.goes("two-pairs")} == {"40/80", "1/2"}
        assert json.loads(browser.kept["answers.json"]) == json.loads(one.page)

    def test_the_newest_go_at_a_question_stays(self, browser, two):
        one, other = two
        one.keep_answer("x", Go(7, answer="first", tries=1))
        other.keep_answer("x", Go(7, answer="second", tries=1))
        browser.do_all()
        assert [go.answer for book in two for go in book.goes("x")] == ["second", "second"]

    @given(st.lists(st.tuples(st.integers(0, 1), st.integers(0, 3)), min_size=1, max_size=8))
    def test_the_guess_that_was_typed_last_stays_after_a_reload_too(self, typed):
        """`typed`: in which of two tabs, and how much of what was asked for is done before the next is typed."""
        with TemporaryDirectory() as folder:
            browser = ABrowser()
            tabs = [browser.lesson(Path(folder, name)).book() for name in ("one", "other")]
            for place, (tab, done) in enumerate(typed):
                tabs[tab].keep_guess("a-guess", str(place))
                assert tabs[tab].guess("a-guess") == str(place)
                for _ in range(min(done, len(browser.asked))):
                    browser.do_next()
            browser.do_all()
            again = browser.lesson(Path(folder, "again"))
            again.put("answers.json", browser.kept["answers.json"])
            assert {book.guess("a-guess") for book in (*tabs, again.book())} == {str(len(typed) - 1)}

    def test_fresh_numbers_in_one_leave_what_the_other_answers(self, browser, two):
        one, other = two
        one.keep_answer("x", Go(7, answer="1", tries=1))
        browser.do_all()
        one.keep_answer("x", Go(7, go=2))
        other.keep_answer("x", Go(7, answer="2", tries=2))
        one.keep_answer("x", Go(7, go=2, answer="3", tries=1))
        browser.do_all()
        for book in two:
            assert [(go.go, go.answer, go.tries) for go in book.goes("x")] == [(1, "2", 2), (2, "3", 1)]

    def test_what_is_written_is_seen_at_once_and_never_goes_back(self, browser, two):
        one, _ = two
        one.keep_guess("a", "1")
        one.keep_guess("b", "2")
        assert (one.guess("a"), one.guess("b")) == ("1", "2")
        browser.do_next()
        assert (one.guess("a"), one.guess("b")) == ("1", "2")

    def test_the_other_page_follows(self, browser, two):
        class Follower:
            def follow(self):
                seen.append(two[1].class_number)

        seen, follower = [], Follower()
        two[1].added(follower)
        two[0].keep_class_number(7)
        browser.do_all()
        assert seen == [7]

    def test_a_storage_that_refuses_is_said_and_the_page_goes_on(self, browser, two):
        browser.kept["answers.json"] = "not ours"
        two[0].keep_class_number(7)
        browser.do_all()
        assert two[0].class_number == 7
        assert "this browser can't keep it" in two[0].notice()
        assert two[0].where == ""
        assert browser.kept["answers.json"] == "not ours"

    def test_it_is_said_once_where_it_is_kept(self, two):
        assert "in this browser" in two[0].notice()
        assert "private window forgets" in two[0].where
        assert two[0].notice() == ""


class TestACopy:
    def copy(self, **more):
        book = AnswerBook(None)
        book.keep_class_number(7)
        book.keep_name("Ada")
        for name, go in more.items():
            book.keep_answer(name, go)
        return book

    def test_goes_to_another_computer_and_back(self):
        there, here = self.copy(x=Go(7, answer="1", tries=1), y=Go(7, answer="2", tries=1)), AnswerBook(None)
        here.bring_in(there.page)
        assert json.loads(here.page) == json.loads(there.page)
        here.bring_in(there.page)
        assert json.loads(here.page) == json.loads(there.page)

    def test_nothing_here_is_lost(self):
        here = self.copy(x=Go(7, answer="mine", tries=3), z=Go(7, answer="3", tries=1))
        here.keep_guess("g", "my guess")
        there = self.copy(x=Go(7, answer="older", tries=2), y=Go(7, answer="2", tries=1))
        there.keep_guess("g", "other")
        here.bring_in(there.page)
        assert [here.goes(name)[0].answer for name in "xyz"] == ["mine", "2", "3"]
        assert here.guess("g") == "my guess"

    def test_more_tries_are_the_later(self):
        here, there = self.copy(x=Go(7, answer="old", tries=1)), self.copy(x=Go(7, answer="new", tries=2))
        here.bring_in(there.page)
        assert [go.answer for go in here.goes("x")] == ["new"]

    def test_another_learners_is_not_taken(self):
        here = AnswerBook(None)
        here.keep_class_number(8)
        before = here.page
        with pytest.raises(NotPossibleError, match="of class number 7, and here it is 8"):
            here.bring_in(self.copy(x=Go(7, answer="1", tries=1)).page)
        assert here.page == before

    @pytest.mark.parametrize("page", [b"", b"{}", b"\xff", b"[1]", b'{"what": "other"}', b"x" * 3_000_000])
    def test_what_is_no_such_file_is_not_taken(self, page):
        here = self.copy()
        before = here.page
        with pytest.raises(NotPossibleError, match=r"the file that you chose: .* Choose one that") as refused:
            here.bring_in(page)
        assert not [word for word in ("answers.json", "not kept", "folder") if word in str(refused.value)]
        assert here.page == before

    def test_entries_spoiled_by_hand_are_left_out(self):
        page = json.loads(self.copy(x=Go(7, answer="1", tries=1)).page)
        page["exercises"] |= {
            "y": "none",
            "z": [3, {"class_number": "7"}, {"class_number": 7, "go": 1, "answer": "ok"}],
        }
        here = AnswerBook(None)
        here.bring_in(json.dumps(page).encode())
        assert [go.answer for name in "xyz" for go in here.goes(name)] == ["1", "ok"]

    def test_its_name_tells_marks_whose_it_is_and_it_is_marked(self, tmp_path, capsys):
        right, wrong = exercise("pitch-and-lead", 7).key, "1000 mm"
        book = self.copy(**{"pitch-and-lead": Go(7, answer=right, tries=1)})
        book.keep_answer("lead-of-a-leadscrew", Go(7, answer=wrong, tries=2))
        assert book.name_to_hand_in == "answers-7-Ada.json"
        (tmp_path / book.name_to_hand_in).write_bytes(book.page)
        assert main(["marks", str(tmp_path), "--json"]) == 0
        (ada,) = json.loads(capsys.readouterr().out)["learners"]
        states = {
            mark["exercise"]: mark["state"]
            for mark in ada["marks"]
            if mark["exercise"] in ("pitch-and-lead", "lead-of-a-leadscrew")
        }
        assert (ada["name"], ada["class_number"]) == ("Ada", 7)
        assert states == {"pitch-and-lead": "right", "lead-of-a-leadscrew": "not right"}

    @pytest.mark.parametrize("name", ["../../x", "<b>", "a/b\\c", "Łukasz Żak", "x" * 200, ""])
    def test_any_name_makes_a_name_of_a_file(self, name):
        book = AnswerBook(None)
        book.keep_name(name)
        assert re.fullmatch(r"answers(-\w+)*\.json", book.name_to_hand_in)
        assert len(book.name_to_hand_in) < 70


class TestWhatACellSaves:
    def test_is_a_link_with_all_of_it(self):
        line = in_browser.offered('a"<b>.html', b"<p>40</p>")
        link = re.search(r'download="([^"]*)" href="data:text/html;base64,([^"]*)"', line)
        assert unescape(link[1]) == 'a"<b>.html'
        assert base64.b64decode(link[2]) == b"<p>40</p>"
        assert "print it" in line
        assert "print it" not in in_browser.offered("my_lathe.toml", b"x")
