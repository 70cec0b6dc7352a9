"""Whatever stands in answers.json, and whatever is typed: nothing raises, and what is not ours stays as it is."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.learning.answer_book import AnswerBook, Go
from tests.how_much import examples

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=12,
)
GOES = st.fixed_dictionaries({}, optional=dict.fromkeys(("class_number", "go", "answer", "tries", "lathe"), JSON))
OURS = st.fixed_dictionaries(
    {"what": st.just("answers to the lessons of gearcalc"), "version": st.just(1) | JSON},
    optional={
        "name": JSON,
        "class_number": JSON,
        "guesses": JSON | st.dictionaries(st.just("a"), JSON),
        "exercises": JSON | st.dictionaries(st.just("x"), st.lists(GOES | JSON, max_size=3)),
    },
)
PAGES = st.binary(max_size=60) | (JSON | OURS).map(lambda content: json.dumps(content).encode())


@given(page=PAGES, typed=st.text(max_size=600), number=st.integers(0, 10**6))
@examples(60)
def test_any_file_and_any_text(page, typed, number):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "answers.json"
        path.write_bytes(page)
        book = AnswerBook(path)
        assert book.class_number is None or 0 <= book.class_number <= 10**6
        assert all(isinstance(go, Go) for go in book.goes("x"))
        book.keep_class_number(number)
        book.keep_guess("a", typed)
        book.keep_answer("x", Go(number, answer=typed, tries=1))
        assert book.class_number == number
        assert " ".join(book.guess("a").split()) == book.guess("a")
        if book.trouble is not None:
            assert path.read_bytes() == page
            assert book.notice()
        else:
            again = AnswerBook(path)
            assert (again.class_number, again.guess("a"), again.goes("x")) == (number, book.guess("a"), book.goes("x"))
            assert Go(number, 1, book.guess("a"), 1) in again.goes("x")
