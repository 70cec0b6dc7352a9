"""The words of the lessons: what each means, where it is first explained, and what else the trade calls it."""

from __future__ import annotations

from functools import cache

from attrs import field, frozen

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import UnknownNameError
from gearcalc.basics.files import read_rows


@frozen
class Word:
    """A word: `meaning` in a sentence, `also` other names, `lesson` that explains it, as its file's name begins."""

    word: str
    meaning: str
    also: str
    lesson: str


@frozen
class WordList:
    """Words in a table, that of all lessons folded; made by word_list()."""

    caption: str
    words: tuple[Word, ...] = field(repr=False)
    folded: bool

    def __str__(self) -> str:
        return "\n".join((self.caption, *(f"{one.word}: {one.meaning}{_in_brackets(one.also)}" for one in self.words)))

    def _repr_html_(self) -> str:
        lesson = ["lesson"] if self.folded else []
        rows = [[one.word, one.meaning, one.also, *([one.lesson] if self.folded else [])] for one in self.words]
        table = markup.html_columns(self.caption, ["word", "what it is", "also called", *lesson], rows)
        return f"<details><summary>{self.caption}</summary>{table}</details>" if self.folded else table


def _in_brackets(names: str) -> str:
    return f" (also: {names})" if names else ""


@cache
def all_words() -> tuple[Word, ...]:
    """All words, in the order in which the lessons explain them.

    >>> all_words()[0].lesson
    '00'
    """
    words = [Word(row["word"], row["meaning"], row["also"], row["lesson"]) for row in read_rows("words.csv")]
    return tuple(sorted(words, key=lambda one: one.lesson))


def word_list(lesson: int | None = None) -> WordList:
    """List the words that a lesson explains, or all of them by the alphabet, folded away.

    >>> print(word_list(8))
    Words of this lesson
    least common multiple: the smallest number that two numbers both divide (also: LCM)
    dial gear: the small gear by which the leadscrew turns the thread-chasing dial

    `lesson`: its number; None for all. Raises UnknownNameError for a lesson that explains none, ValueOutOfRangeError
    for what is no number.
    """
    if lesson is None:
        words = tuple(sorted(all_words(), key=lambda one: one.word.lower()))
        return WordList(f"All {len(words)} words, and the lesson that explains each", words, folded=True)
    number = f"{as_whole(lesson, what='a lesson', least=0):02}"
    words = tuple(one for one in all_words() if one.lesson == number)
    if not words:
        raise UnknownNameError("no lesson of this number explains words", value=number)
    return WordList("Words of this lesson", words, folded=False)
