"""Guesses are kept, and taken up where the answer is, on the page and on paper."""

from __future__ import annotations

import json

import pytest

from gearcalc.basics.errors import GearcalcError, UnknownNameError
from gearcalc.learning.answer_book import answer_book
from gearcalc.learning.guesses import guess, taken_up

pytest.importorskip("anywidget")
NAME = "carriage-in-one-turn"


@pytest.fixture(autouse=True)
def beside(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path / "answers.json"


def still(asks):
    return asks.still()


class TestGuess:
    def test_is_kept_and_shown_again(self, beside):
        asks = guess(NAME, "How far, in mm?")
        assert (asks.values, "before you read on" in asks.said) == ({"guess": ""}, True)
        asks.type("guess", "about 4 <b>")
        assert json.loads(beside.read_text())["guesses"] == {NAME: "about 4 <b>"}
        assert "taken up" in asks.said
        again = guess(NAME, "How far, in mm?")
        assert again.values == {"guess": "about 4 <b>"}
        assert "about 4 &lt;b&gt;" in still(again)

    def test_an_empty_box_takes_nothing_back(self):
        asks = guess(NAME, "How far?")
        asks.type("guess", "4")
        asks.type("guess", "  ")
        assert answer_book().guess(NAME) == "4"

    def test_choices_are_buttons(self):
        asks = guess(NAME, "What does an **idler** do?", ("coarser", "nothing <i>"))
        assert asks.fields[0]["options"] == ["coarser", "nothing <i>"]
        assert "<strong>idler</strong>" in asks.question
        assert "coarser, nothing &lt;i&gt;" in still(asks)

    def test_a_screen_reader_hears_the_question_with_the_box(self):
        assert guess(NAME, "How far, in mm?").fields[0]["said"] == "Your guess: How far, in mm?"

    @pytest.mark.parametrize("name", ["Carriage", "two words", "", None])
    def test_another_kind_of_name_is_refused(self, name):
        for asking in (lambda: guess(name, "How far?"), lambda: taken_up(name, "3 mm")):
            with pytest.raises(UnknownNameError, match="hyphens"):
                asking()

    @pytest.mark.parametrize("words", [None, 3, b"x"])
    def test_words_are_words(self, words):
        with pytest.raises(GearcalcError):
            guess(NAME, words)


class TestTakenUp:
    def test_follows_the_guess_made_on_the_same_page(self):
        asks, taken = guess(NAME, "How far?"), taken_up(NAME, "3.175 mm", "Eight threads share **one inch** & no more.")
        on_screen, _, in_print = taken.said.partition('<div class="gearcalc-in-print">')
        assert "Make your guess above; it is taken up here." in on_screen
        assert "3.175" not in on_screen
        assert "3.175" in in_print
        asks.type("guess", "4 <b>")
        assert "You guessed <strong>4 &lt;b&gt;</strong>. The answer is <strong>3.175 mm</strong>." in taken.said
        assert "Eight threads share <strong>one inch</strong> &amp; no more." in taken.said
        assert "gearcalc-in-print" not in taken.said

    def test_one_made_before_is_taken_up_at_once(self):
        answer_book().keep_guess(NAME, "4")
        assert "You guessed <strong>4</strong>" in taken_up(NAME, "3.175 mm.").said
        assert "You guessed <strong>4</strong>" in still(taken_up(NAME, "3.175 mm."))

    def test_without_a_guess_the_answer_is_folded_where_no_kernel_runs(self):
        page = still(taken_up(NAME, "3.175 mm"))
        assert page.startswith("<details><summary>")
        assert "The answer is <strong>3.175 mm</strong>." in page

    @pytest.mark.parametrize("guessed", ["no", "No", " no. "])
    def test_a_right_one_is_called_right(self, guessed):
        answer_book().keep_guess(NAME, guessed)
        said = taken_up(NAME, "no", "It is too long.").said
        assert "</strong>. That's right.</p><p>It is too long.</p>" in said
        assert "The answer is <strong>" not in said

    def test_a_right_one_is_followed_by_what_the_answer_adds(self):
        answer_book().keep_guess(NAME, "larger")
        assert "That's right: <strong>larger, by 402 ppm</strong>.</p>" in taken_up(NAME, "larger, by 402 ppm").said
        assert "The answer is <strong>largest, by far" in taken_up(NAME, "largest, by far").said

    def test_without_a_why(self):
        answer_book().keep_guess(NAME, "4")
        assert taken_up(NAME, "3.175 mm").said.count("<p>") == 1
