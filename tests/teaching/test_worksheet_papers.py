"""Worksheets on paper: all that a form shows and nothing that helps, on the page, each set from a page of its own."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise

import pytest

from gearcalc.basics.cautions import FOOT
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.learning.exercises import exercise_names
from gearcalc.learning.exercises.notes import as_text
from gearcalc.papers.marks import in_lettering
from gearcalc.teaching.class_lists import Learner, class_list
from gearcalc.teaching.worksheet_papers import key_paper, not_on_paper, set_papers
from gearcalc.teaching.worksheets import worksheet
from tests.how_much import in_one
from tests.papers.test_paper import lines_on

NAMES = exercise_names()
INVENTED = (Learner(4, "Ada Invented"), Learner(9, "N" * 80), Learner(12, "李小龙"))


@cache
def all_of_them():
    """Every exercise, for one learner."""
    return worksheet(NAMES, class_list("3"), points=[2], title="All")


@cache
def a_class():
    return worksheet(["01", "one-wrong-row"], INVENTED, points=["1.5"])


def lines(paper):
    return [line for page in range(1, paper.pages + 1) for line in lines_on(paper.svg(page))]


def words(paper, page=None):
    there = lines(paper) if page is None else lines_on(paper.svg(page))
    return " ".join(" ".join(line.words for line in there).split())


def squeezed(text):
    """Without the blanks, since a line may break anywhere, or bold begin."""
    return "".join(in_lettering(as_text(text)).split())


def beside_each(key, sheet):
    """What stands to the right of each bold word in a key problem by problem, a mapping for each problem."""
    titles = [f"{place}. {problem.title}" for place, problem in enumerate(sheet.sets[0].problems, 1)]
    found = []
    for page in range(1, key.solutions_from):
        rows = {}
        for line in lines_on(key.paper.svg(page)):
            if line.words.strip():
                rows.setdefault(round(line.down, 2), []).append(line)
        for _, row in sorted(rows.items()):
            said = [line.words for line in sorted(row, key=lambda line: line.left)]
            assert all(one.right < other.left for one, other in pairwise(sorted(row, key=lambda line: line.left)))
            if len(found) < len(titles) and said[0].startswith(titles[len(found)]):
                found.append({})
            elif found and len(said) % 2 == 0:
                found[-1] |= {name.split()[0]: answer for name, answer in zip(said[::2], said[1::2], strict=True)}
    return found


class TestAllThatTheFormShowsIsOnThePaper:
    @pytest.mark.parametrize(("size", "wide", "high"), [("A4", 210, 297), ("Letter", 215.9, 279.4)])
    def test_and_nothing_that_helps(self, size, wide, high):
        (paper,) = set_papers(all_of_them(), size=size)
        foot = squeezed(f"All. Class number 3. {FOOT}")
        said = re.sub(r"page\d+of\d+", "", squeezed(words(paper)).replace(foot, ""))
        failed = []
        for problem in all_of_them().sets[0].problems:
            task = problem.task
            shown = [problem.title, *task.question.split("\n\n"), *(task.answer.options or [task.answer.how])]
            if task.table:
                shown += [
                    task.table.caption,
                    *task.table.heads.split(" | "),
                    *(c for row in task.table.rows for c in row),
                ]
            failed += [(problem.name, each) for each in shown if squeezed(each) not in said]
            failed += [(problem.name, each) for each in task.hints if squeezed(each) in said]
        assert not failed
        for line in lines(paper):
            assert 15 - 0.01 <= line.left <= line.right <= wide - 15 + 0.2, line
            assert 15 <= line.down <= high - 15 + 0.01, line

    def test_no_problem_is_parted(self):
        (paper,) = set_papers(all_of_them())
        numbers = []
        for page in range(1, paper.pages + 1):
            heads = [line for line in lines_on(paper.svg(page)) if line.words.endswith("(2 points)")]
            numbers += [int(line.words.split(".")[0]) for line in heads]
            assert heads[0].down < (57 if page == 1 else 21), page  # nothing of another stands above it
        assert numbers == list(range(1, len(NAMES) + 1))


class TestEachSet:
    def test_whose_it_is(self):
        known, long, foreign = map(words, set_papers(a_class()))
        assert "Name Ada Invented Class number 4 Date Points of 7.5" in known
        assert f"Name{'N' * 80}Classnumber9" in squeezed(long)
        assert "Name Class number 12" in foreign
        assert "\ufffd" not in foreign
        assert not_on_paper(INVENTED) == (INVENTED[2],)

    @in_one("name", ["Ada Of The Long And Winding Name " * 6, "W" * 200, "محمد عبد الرحمن الخوارزمي " * 4, "A" * 55])
    def test_a_long_name_stands_whole_below_itself_in_letters_as_large_as_the_others(self, name):
        (paper,) = set_papers(worksheet(["01"], [Learner(4, name.strip())]))
        there = lines(paper)
        date, mine = (next(line for line in there if line.words == what) for what in ("Date", "Name"))
        inside = [line for line in there if mine.down <= line.down < date.down and line is not mine]
        assert squeezed("".join(line.words for line in inside)) == squeezed(name)
        assert {line.size_pt for line in inside} == {date.size_pt}
        assert all(line.right <= 210 - 15 + 0.2 for line in inside)
        assert all(below.down - above.down > 4 for above, below in pairwise(inside))

    def test_its_foot_says_so_on_every_page(self):
        paper = set_papers(all_of_them())[0]
        for page in range(1, paper.pages + 1):
            said = " ".join(line.words for line in lines_on(paper.svg(page)))
            assert "All. Class number 3. The manual, local rules and a qualified person come first." in said
            assert f"page {page} of {paper.pages}" in said

    def test_the_word_of_a_test_stands_on_no_set(self):
        sheet = worksheet(["01"], INVENTED, test="quixotic")
        assert all("quixotic" not in words(paper).casefold() for paper in set_papers(sheet))

    @in_one("names", [["two-pairs"], ["01"], ["01", "02"], ["1-3"]])
    def test_an_even_number_of_pages_for_both_sides(self, names):
        sheet = worksheet(names, class_list("1-2"))
        for plain, even in zip(set_papers(sheet), set_papers(sheet, two_sided=True), strict=True):
            assert even.pages == plain.pages + plain.pages % 2

    @in_one("space", [0, 30, 200])
    def test_room_to_work(self, space):
        (paper,) = set_papers(worksheet(["two-pairs"], class_list("1")), space_mm=space)
        how = [line.down for line in lines(paper) if line.words.startswith("Answer with")][-1]
        answer = [line.down for line in lines(paper) if line.words == "Answer"][-1]
        assert space + 5 < answer - how < space + 12

    @in_one("space", [-1, 201, "x", None])
    def test_no_such_room(self, space):
        with pytest.raises(ValueOutOfRangeError):
            set_papers(a_class(), space_mm=space)


class TestTheKey:
    def test_a_line_for_each_problem_of_each_learner_then_the_solutions(self):
        key = key_paper(a_class(), foot="made again so")
        before = [line for page in range(1, key.solutions_from) for line in lines_on(key.paper.svg(page))]
        rows = {}
        for line in before:
            rows.setdefault(round(line.down, 1), []).append(line.words)
        for mine in a_class().sets:
            for place, problem in enumerate(mine.problems, 1):
                found = [row for row in rows.values() if row[0].split()[0] == str(mine.learner.number)]
                assert [row[1:] for row in found][place - 1] == [str(place), problem.title, problem.key, "1.5"]
        behind = [words(key.paper, page) for page in range(key.solutions_from, key.paper.pages + 1)]
        assert behind[0].startswith("made again so Worked solutions")
        assert all("Worked solutions" not in words(key.paper, page) for page in range(1, key.solutions_from))
        assert all("made again so" in page for page in behind)
        said = squeezed(" ".join(behind))
        for mine in a_class().sets:
            for problem in mine.problems:
                last = [part for part in problem.worked if isinstance(part, str)][-1]
                assert all(squeezed(line) in said for line in last.splitlines()), problem.name

    @pytest.mark.parametrize("size", ["A4", "Letter"])
    def test_problem_by_problem_a_class_is_on_a_few_pages_with_each_answer_beside_its_learner(self, size):
        sheet = worksheet(["01", "02", "03"], class_list("1-24"), points=["1.5"])
        key = key_paper(sheet, size=size, by_problem=True)
        assert len(sheet.sets[0].problems) == 13
        assert key.solutions_from - 1 <= 4
        assert beside_each(key, sheet) == [
            {str(mine.learner.number): mine.problems[place].key for mine in sheet.sets} for place in range(13)
        ]

    def test_problem_by_problem_it_says_once_what_is_the_same_for_all(self):
        sheet = worksheet(["one-wrong-row"], INVENTED * 2)
        once = worksheet(["01"], INVENTED[:1] * 3)
        assert len(beside_each(key_paper(sheet, by_problem=True), sheet)[0]) == 3
        assert beside_each(key_paper(once, by_problem=True), once) == [
            {"For": each.key} for each in once.sets[0].problems
        ]

    def test_every_worked_solution_stays_on_the_page(self):
        key = key_paper(all_of_them(), size="Letter")
        for line in lines(key.paper):
            assert 15 - 0.01 <= line.left <= line.right <= 215.9 - 15 + 0.2, line
            assert "**" not in line.words

    def test_what_comes_again_is_counted(self):
        key = key_paper(worksheet(["two-pairs"], class_list("1"), count=2))
        assert re.search(r"answer 1 1 ([^()]*) \(.*?\) 1 2 \1 \(2\) \(", words(key.paper))
