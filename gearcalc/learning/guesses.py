"""Guesses: written down before one looks, kept beside the lessons, taken up once the answer is there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_words
from gearcalc.learning.answer_book import answer_book, check_name
from gearcalc.learning.exercises.notes import as_html
from gearcalc.learning.right_guesses import guessed_right, plainly

if TYPE_CHECKING:
    from gearcalc.learning.asking import Asking

_FIELD = "guess"
_NOT_YET = "Write it down before you read on: any guess will do."
_KEPT = "It is kept, and taken up further down."


def guess(name: str, question: str, choices: tuple[str, ...] = ()) -> Asking:
    """Ask for a guess, in a box or by buttons, and keep it for taken_up().

    ```python
    guess("carriage-in-one-turn", "How far does the carriage go in one turn, in mm?")
    guess("idler-and-thread", "What does an idler do to the thread?", ("coarser", "finer", "nothing"))
    ```

    `name`: lower case with hyphens, unique over all lessons; `question`: words, **bold** allowed; `choices`: what there
    is to choose from, empty for a box. Raises UnknownNameError for another kind of name.
    """
    from gearcalc.learning.asking import Asking

    book = answer_book()
    check_name(name, "a guess")
    words = as_html(as_words(question, what="the question of a guess"))

    def keep(_: str, text: str) -> None:
        if text.strip():
            book.keep_guess(name, text)

    def look() -> None:
        kept = book.guess(name)
        asks.values = {_FIELD: kept}
        asks.said = as_html(" ".join(filter(None, (_KEPT if kept else _NOT_YET, book.notice() if kept else ""))))

    options = [as_words(choice, what="a choice") for choice in choices]
    field = {"name": _FIELD, "label": "Your guess:", "said": f"Your guess: {question}"}
    asks = Asking(
        title="Guess first", question=words, fields=[{**field, "options": options} if options else field], typed=keep
    )

    def still() -> str:
        kept = f" {markup.in_html(book.guess(name))}" if book.guess(name) else ""
        among = f" ({markup.in_html(', '.join(options))})" if options and not kept else ""
        return f"<p><strong>Guess first.</strong></p>{words}<p>Your guess{among}:{kept or ' …'}</p>"

    asks.follows(book, look)
    asks.still = still
    return asks


def taken_up(name: str, answer: str, why: str = "", also: tuple[str, ...] = (), *, any_order: bool = False) -> Asking:
    """Take up a guess: what was guessed, what it is, and why. It follows a guess that is made on the same page.

    ```python
    taken_up("carriage-in-one-turn", "3.175 mm", "Eight threads share one inch: 25.4/8.")
    ```

    `name`: that of the guess; `answer`: what it is, `why`: a sentence or two, **bold** allowed in both; `also`: other
    guesses that are right; `any_order`: whether a list's numbers may stand in another. A guess is right if it means one
    of them, whatever its words (right_guesses.py). As long as nothing was guessed, answer and why are kept back on the
    page, folded in an export, and open on paper. Raises UnknownNameError for what is no name.
    """
    from gearcalc.learning.asking import Asking

    book = answer_book()
    check_name(name, "a guess")
    it_is = as_words(answer, what="the answer").rstrip(".")
    because = as_html(as_words(why, what="the why")) if why else ""
    rights = (it_is, *(as_words(each, what="what is also right") for each in also))
    told = as_html(f"The answer is **{it_is}**.")

    def look() -> None:
        kept = book.guess(name)
        found = told
        if plainly(kept) == plainly(it_is):
            found = "<p>That's right.</p>"
        elif any(guessed_right(kept, right, any_order=any_order) for right in rights):
            found = told.replace("The answer is", "That's right:", 1)
        asks.said = (
            f"{found.replace('<p>', f'<p>You guessed <strong>{markup.in_html(kept)}</strong>. ', 1)}{because}"
            if kept
            else f'<p class="gearcalc-on-screen">Make your guess above; it is taken up here.</p>'
            f'<div class="gearcalc-in-print">{told}{because}</div>'
        )

    asks = Asking(title="Your guess, taken up")
    asks.follows(book, look)
    folded = f"<details><summary>Your guess, taken up</summary>{told}{because}</details>"
    asks.still = lambda: asks.said if book.guess(name) else folded
    return asks
