"""answers.json: kept, read again, shared by lessons that are open at once; what is broken or not ours is left alone."""

from __future__ import annotations

import json
import multiprocessing
import os
import stat

import pytest

from gearcalc.basics.errors import GearcalcError, UnknownNameError
from gearcalc.learning.answer_book import AnswerBook, Go, answer_book


@pytest.fixture
def path(tmp_path):
    return tmp_path / "answers.json"


class TestKeptAndReadAgain:
    def test_all_of_it(self, path):
        book = AnswerBook(path)
        book.keep_name("Ada <b> Nowhere")
        book.keep_class_number(7)
        book.keep_guess("carriage-in-one-turn", " about  4\n")
        book.keep_answer("two-pairs", Go(7, answer="40/80", tries=2))
        book.keep_answer("two-pairs", Go(7, go=2, answer="1/2", tries=1))
        book.keep_answer("two-pairs", Go(7, answer="30/60", tries=3))
        again = AnswerBook(path)
        assert (again.name, again.class_number, again.guess("carriage-in-one-turn")) == (
            "Ada <b> Nowhere",
            7,
            "about 4",
        )
        assert again.goes("two-pairs") == (Go(7, 1, "30/60", 3), Go(7, 2, "1/2", 1))
        assert list(json.loads(path.read_text())["exercises"]) == ["two-pairs"]
        assert os.listdir(path.parent) == ["answers.json"]

    def test_nothing_yet(self, path):
        book = AnswerBook(path)
        assert (book.name, book.class_number, book.guess("a"), book.goes("b")) == ("", None, "", ())
        assert not path.exists()
        assert book.notice() == ""

    def test_goes_on_two_lathes_are_two(self, path):
        book = AnswerBook(path)
        book.keep_answer("x", Go(7, answer="1", lathe="name = 'A'"))
        book.keep_answer("x", Go(7, answer="2", lathe="name = 'B'"))
        assert [go.answer for go in AnswerBook(path).goes("x")] == ["1", "2"]

    def test_what_others_wrote_is_seen_at_once(self, path):
        one, other = AnswerBook(path), AnswerBook(path)
        assert one.class_number is None
        other.keep_class_number(3)
        assert one.class_number == 3

    def test_what_another_program_added_is_left_in(self, path):
        AnswerBook(path).keep_class_number(3)
        content = json.loads(path.read_text()) | {"later": [1]}
        path.write_text(json.dumps(content))
        AnswerBook(path).keep_name("Ada")
        assert json.loads(path.read_text())["later"] == [1]

    @pytest.mark.parametrize("text", ["x" * 10_000, "\ud800", "a\x00\x1b[2Jb", "‮", "½ ✓ \u2028"])
    def test_any_text_is_taken(self, path, text):
        AnswerBook(path).keep_guess("a", text)
        kept = AnswerBook(path).guess("a")
        assert len(kept) <= 2000
        assert not {"\x00", "\x1b", "\u2028", "\u202e"} & set(kept)

    def test_those_who_follow_are_told(self, path):
        told = []

        class Follower:
            def follow(self):
                told.append(book.class_number)

        book, follower = AnswerBook(path), Follower()
        book.added(follower)
        book.keep_class_number(5)
        assert told == [5]


def write_many(path, number, count):
    book = AnswerBook(path)
    for n in range(count):
        book.keep_guess(f"of-{number}-{n}", str(n))


def test_two_kernels_lose_nothing_of_each_other(path):
    context = multiprocessing.get_context("fork")
    kernels = [context.Process(target=write_many, args=(path, number, 25)) for number in range(3)]
    for kernel in kernels:
        kernel.start()
    for kernel in kernels:
        kernel.join(60)
    book = AnswerBook(path)
    assert [(k, n) for k in range(3) for n in range(25) if book.guess(f"of-{k}-{n}") != str(n)] == []


def test_the_lock_of_a_killed_kernel_is_not_waited_for_long(path, monkeypatch):
    monkeypatch.setattr("gearcalc.learning.answer_book.alone_with", lambda place: _alone(place, patience_s=0.05))
    (path.parent / ".answers.json.lock").touch()
    AnswerBook(path).keep_class_number(3)
    assert AnswerBook(path).class_number == 3


def _alone(place, patience_s):
    from gearcalc.basics.files import alone_with

    return alone_with(place, patience_s)


OURS = '{"what": "answers to the lessons of gearcalc", "version": 1'


class TestWhatIsNotOursIsLeftAlone:
    @pytest.mark.parametrize(
        ("content", "said"),
        [
            (b"", "broken"),
            (b"\xff\xfe\x00", "broken"),
            (b'{\n"what": ', "line 2"),
            (b"[" * 100_000, "broken"),
            (b"[]", "not ours"),
            (b'{"answers": 3}', "not ours"),
            (b'{"what": "quiz", "version": 1}', "not ours"),
            (OURS[:-1].encode() + b'2, "guesses": {}}', "another version"),
            (OURS.encode() + b', "guesses": []}', "guesses"),
            (OURS.encode() + b', "exercises": "x"}', "exercises"),
            (b" " * 2_000_001, "larger than"),
        ],
    )
    def test_it_is_never_written_over(self, path, content, said):
        path.write_bytes(content)
        book = AnswerBook(path)
        book.keep_class_number(7)
        book.keep_answer("x", Go(7, answer="1"))
        assert path.read_bytes() == content
        assert (book.class_number, book.goes("x")) == (7, (Go(7, answer="1"),))  # in memory
        assert isinstance(book.trouble, GearcalcError)
        once = book.notice()
        assert said in once
        assert str(path) in once
        assert "not kept" in once
        assert book.notice() == ""

    def test_what_waited_goes_in_once_the_file_is_gone(self, path):
        path.write_text("[]")
        book = AnswerBook(path)
        book.keep_class_number(7)
        path.unlink()
        book.keep_name("Ada")
        assert (AnswerBook(path).class_number, AnswerBook(path).name, book.trouble) == (7, "Ada", None)

    def test_a_folder_of_that_name(self, path):
        path.mkdir()
        book = AnswerBook(path)
        book.keep_class_number(7)
        assert book.class_number == 7
        assert "no ordinary file" in book.notice()

    def test_a_folder_that_is_gone(self, tmp_path):
        book = AnswerBook(tmp_path / "gone" / "answers.json")
        book.keep_class_number(7)
        assert book.class_number == 7
        assert "nothing can be kept here" in book.notice()

    def test_a_file_marked_read_only(self, path):
        AnswerBook(path).keep_class_number(3)
        path.chmod(stat.S_IRUSR)
        book = AnswerBook(path)
        book.keep_class_number(7)
        assert (book.class_number, AnswerBook(path).class_number) == (7, 3)
        assert "read only" in book.notice()

    def test_entries_that_somebody_spoiled_count_for_nothing(self, path):
        spoiled = [
            None,
            3,
            {},
            {"class_number": True, "go": 1, "answer": "1"},
            {"class_number": 7, "go": 0, "answer": ""},
        ]
        spoiled += [{"class_number": 7, "go": 1, "answer": 3}, {"class_number": 7, "go": 1, "answer": "1", "tries": -1}]
        whole = {"class_number": "7", "name": 3, "guesses": {"a": []}, "exercises": {"x": spoiled, "y": 3}}
        path.write_text(OURS + ", " + json.dumps(whole)[1:])
        book = AnswerBook(path)
        assert (book.class_number, book.name, book.guess("a"), book.goes("y")) == (None, "", "", ())
        assert book.goes("x") == (Go(7, 1, "1", 0),)


class TestWhichBook:
    def test_the_one_of_the_working_folder(self, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        answer_book().keep_class_number(7)
        assert (tmp_path / "answers.json").is_file()
        (tmp_path / "other").mkdir()
        monkeypatch.chdir(tmp_path / "other")
        assert answer_book().class_number is None

    def test_visitors_of_a_page_that_is_served_share_none(self, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        monkeypatch.setenv("SERVER_SOFTWARE", "voila/0.5.13")
        book = answer_book()
        book.keep_guess("a", "1")
        assert os.listdir(tmp_path) == []
        assert "not kept" in book.notice()

    @pytest.mark.parametrize("name", ["", "Two", "two_pairs", "a--b", "-a", "a" * 61, None, "ä"])
    def test_a_name_is_lower_case_with_hyphens(self, name):
        with pytest.raises(UnknownNameError, match="lower case"):
            AnswerBook(None).keep_guess(name, "1")
