"""No lesson uses a word before it is explained, and a letter of a formula means one thing in all of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

import pytest

from gearcalc.basics.errors import GearcalcError
from gearcalc.deriving.formulas import LETTERS
from gearcalc.learning.words import all_words, word_list
from tests.notebooks import LESSONS, sources

EVERYDAY = {"thread", "gear", "cover", "error", "slot", "swing", "tip"}  # their everyday meaning does till then
WRITTEN = {  # where it is not the word with an s or without
    "lead": r"leads?(?! to\b| back\b)",
    "tpi": r"tpi|threads (?:per|to the) inch",
    "plate": r"(?<!swing )plates?(?! of\b)",
    "isolate": r"isolat\w+",
    "mesh": r"mesh(?:es|ed|ing)?",
    "starts": r"(?:two|three|several|\d+|next|of the|other) starts?",
    "reverse": r"reverse over|(?:a|the) reverse|tumblers?",
    "right-hand": r"(?:right|left)-hand",
    "scratch pass": r"scratch pass(?:es)?",
    "compound train": r"compound(?:ing)?(?: trains?)?",
    "keyed": r"keyed",
    "thread-chasing dial": r"(?:thread-chasing|thread) dial",
    "micrometre": r"micrometres?|µm",
    "tolerance": r"tolerances?",
    "class": r"class(?= (?:\dg|\d[AB]|\())|classes|tolerance class",
    "diametral pitch": r"diametral pitch|DP",
    "swing": r"swings?|swung",
    "calliper": r"callipers?",
    "relief": r"relief|undercut",
    "translation pair": r"translation(?: pairs?)?|translated",
}
CASE_COUNTS = {"Rt", "Ra", "DP"}
NOT_PROSE = re.compile(
    r"```.*?```|`[^`]*`|\$\$.*?\$\$|\$[^$\n]*\$"
    r"|^# .*?$|\[[^\]]*\]\([^)]*\)|^\| *\d\d *\|[^\n]*$"  # a title, another lesson's, and what that one answers
    r"|\*\*A question from the shop\.\*\*.*?(?=\n\n)"  # which is asked in the shop's own words
    r"|\*\*You will be able to\*\*.*?(?=\*\*Before you start)|<[^>]+>",  # goals name what is to come
    re.S | re.M,
)
BOLD = re.compile(r"\*\*(.+?)\*\*", re.S)


@cache
def prose(lesson: str) -> tuple[tuple[int, str], ...]:
    """What a lesson says in words, cell by cell: no code, formulas or titles of other lessons."""
    listed = ", ".join(f"**{one.word}**" for one in all_words() if one.lesson == lesson)
    said = []
    for place, (kind, text) in enumerate(sources(LESSONS[lesson])):
        if kind == "markdown":
            said.append((place, text))
        elif kind == "code" and f"word_list({int(lesson)})" in text:
            said.append((place, listed))  # the list explains them too
    return tuple((place, NOT_PROSE.sub(lambda found: " " * len(found.group()), text)) for place, text in said)


def pattern_of(word: str) -> re.Pattern[str]:
    written = WRITTEN.get(word, re.escape(word) + ("" if word.endswith("s") else "s?"))
    return re.compile(rf"(?<![\w-])(?:{written})(?![\w-])", 0 if word in CASE_COUNTS else re.I)


def explained_at(cells: tuple[tuple[int, str], ...], word: str, pattern: re.Pattern[str]) -> tuple[int, int]:
    """The cell and the place in it where a word stands in bold first; past the end if it does nowhere."""
    for place, text in cells:
        for found in BOLD.finditer(text):
            if pattern.search(found[1]) or found[1].strip(" .:,").lower() == word:
                return place, found.start()
    return 10**6, 0


def used_too_early(lesson: str, cells: tuple[tuple[int, str], ...]) -> Iterator[str]:
    """Each word that stands in a lesson before it is explained, with the words round it."""
    for one in all_words():
        if one.lesson < lesson or one.word in EVERYDAY:
            continue
        pattern = pattern_of(one.word)
        explained = explained_at(cells, one.word, pattern) if one.lesson == lesson else (10**6, 0)
        if one.lesson == lesson and explained[0] == 10**6:
            yield f"{one.word}: nowhere in bold"
        for place, text in cells:
            early = [found for found in pattern.finditer(text) if (place, found.start()) < explained]
            if early:
                where = max(0, early[0].start() - 30)
                yield f"{one.word}, cell {place}: …{' '.join(text[where : early[0].end() + 30].split())}…"
                break


class TestWordList:
    def test_each_word_once_in_a_lesson_that_is_there(self):
        words = [one.word for one in all_words()]
        assert sorted(words) == sorted(set(words))
        assert {one.lesson for one in all_words()} <= set(LESSONS)

    def test_each_meaning_is_short_and_says_something_else(self):
        for one in all_words():
            assert 3 <= len(one.meaning.split()) <= 25, one.word
            assert not one.meaning.endswith("."), one.word

    @pytest.mark.parametrize("lesson", LESSONS)
    def test_a_lesson_lists_its_own_words(self, lesson):
        shown = word_list(int(lesson))
        assert {one.lesson for one in shown.words} == {lesson}
        assert "<details>" not in shown._repr_html_()
        assert all(one.meaning in str(shown) for one in shown.words)

    def test_the_whole_list_is_folded(self):
        shown = word_list()
        assert len(shown.words) == len(all_words())
        assert shown._repr_html_().startswith("<details>")

    @pytest.mark.parametrize("lesson", [99, -1, "two", 1.5])
    def test_another_lesson_is_refused(self, lesson):
        with pytest.raises(GearcalcError):
            word_list(lesson)

    @pytest.mark.parametrize("name", ["split nut", "clasp nut", "banjo", "compound rest", "conversion gears"])
    def test_other_trade_names_are_there(self, name):
        assert any(name in one.also for one in all_words())


class TestBeforeItsWord:
    @pytest.mark.parametrize("lesson", LESSONS)
    def test_no_word_comes_before_it_is_explained(self, lesson):
        early = list(used_too_early(lesson, prose(lesson)))
        assert not early, "\n".join(early)

    def test_an_early_word_is_named(self):
        cells = ((0, "The mesh is **compound**."), (1, "A **mediant**."), (2, "A mediant."))
        assert [said.split(",")[0] for said in used_too_early("04", cells)][-1] != "mediant"
        assert any(said.startswith("mediant, cell 0") for said in used_too_early("04", ((0, "mediants"), *cells)))
        assert any(said.startswith("mediant, cell 1") for said in used_too_early("03", cells))


FORMULA = re.compile(r"\$\$(.*?)\$\$|\$([^$\n]*)\$", re.S)
GREEK = {"delta": "δ", "Delta": "", "alpha": "α", "varphi": "φ", "phi": "φ", "theta": "θ", "rho": "ρ", "ell": "ℓ"}
NAMES = re.compile(r"\\(?:text|mathrm|texttt|begin|end|operatorname)\s*\{[^}]*\}|_\{?\\text\{[^}]*\}\}?|_\{?\w+\}?")


def letters_of_the_table(developers: str) -> set[str]:
    """The letters in the first and third column of the table of letters."""
    table = developers.split("| letter | is | letter | is |", 1)[1].split("\n\n", 1)[0]
    cells = [row.split("|") for row in table.splitlines()[2:]]
    return {letter.strip() for row in cells for column in (1, 3) for letter in row[column].split(",")}


def letters_in(text: str) -> set[str]:
    """Each letter that stands for something in the formulas of a text."""
    found = set()
    for display, inline in FORMULA.findall(text):
        bare = NAMES.sub(" ", display or inline)
        bare = re.sub(r"\\([A-Za-z]+)", lambda command: f" {GREEK.get(command[1], '')} ", bare)
        found |= set(re.findall(r"[^\W\d_]", bare))
    return found - {"π"}


class TestLetters:
    def test_derivations_keep_to_the_table(self, checkout):
        assert set(LETTERS) <= letters_of_the_table((checkout / "DEVELOPERS.md").read_text(encoding="utf-8"))

    @pytest.mark.parametrize("lesson", LESSONS)
    def test_lessons_keep_to_the_table(self, lesson, checkout):
        known = letters_of_the_table((checkout / "DEVELOPERS.md").read_text(encoding="utf-8"))
        used = letters_in("\n".join(text for kind, text in sources(LESSONS[lesson]) if kind == "markdown"))
        assert used <= known, f"not in the table: {sorted(used - known)}"

    def test_a_letter_is_found(self):
        text = r"so $A_1 = \frac{m\,z}{2}$ and $$\Delta a \cdot \tan\alpha \text{ words } q_{\min}$$"
        assert letters_in(text) == set("Amzaαq")
