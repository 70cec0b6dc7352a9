"""Worksheets on paper: a set for each learner that begins on a page of its own, and the key with the solutions."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import partial

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.cautions import FOOT
from gearcalc.learning.exercises.notes import Table, as_text
from gearcalc.papers.marks import RULE, Shape, Words, in_lettering, width_of_words_mm, wrapped
from gearcalc.papers.paper import Paper
from gearcalc.teaching.class_lists import Learner
from gearcalc.teaching.worksheets import Problem, ProblemSet, Worksheet

MOST_SPACE_MM = 200
_TEXT_PT, _HOW_PT, _KEY_PT, _WORKED_PT = 10.5, 9.0, 8.5, 8.2
_HEAD_MM, _NAME_LINE_MM, _ANSWER_MM, _BETWEEN_MM = 8.0, 5.2, 9.0, 3.5
_LONG_NAME = 28  # in a row of the key
_SPACE_MM = 1.5  # how far one space at the start of a line sets it in
_IN_COLUMNS = re.compile(r"(?<=[^\s.]) {2,}")  # between the name of a line and what stands in it


@frozen
class Key:
    """The key of a worksheet on paper; `solutions_from`: the page on which the worked solutions begin."""

    paper: Paper
    solutions_from: int


def set_papers(sheet: Worksheet, *, size: str = "A4", space_mm: object = 0, two_sided: bool = False) -> list[Paper]:
    """Lay out the sets of a class, a paper for each, to be bound one behind the other.

    `size`: of the paper, 'A4', 'A3' or 'Letter'; `space_mm`: room to work below each problem, 0 to 200 mm; `two_sided`:
    each set has an even number of pages, so that it begins on a sheet of its own when both sides are printed.
    Raises ValueOutOfRangeError for another size or space.
    """
    space = float(as_number(space_mm, what="the space", least=0, most=MOST_SPACE_MM, unit="mm"))
    return [_set(sheet, each, size, space, two_sided) for each in sheet.sets]


def key_paper(sheet: Worksheet, *, size: str = "A4", foot: str = "", by_problem: bool = False) -> Key:
    """Lay out the key: a line for each problem of each learner, and on pages of their own the worked solutions.

    `size`: of the paper; `foot`: small, on each page, as how it is made again; `by_problem`: its lines stand problem by
    problem, the class side by side, in place of learner by learner. Raises as set_papers() does.
    """
    below = f"One right answer each; others may be right too. {_about(sheet)}"
    paper = Paper(f"Key. {sheet.title}", below=below, foot=foot, size=size)
    if by_problem:
        for place in range(len(sheet.sets[0].problems)):
            paper.kept_whole(partial(_key_of_problem, paper, sheet, place))
    else:
        paper.table([row for each in sheet.sets for row in _key_rows(each)], size_pt=_KEY_PT)
    paper.next_page()
    begins = paper.pages
    paper.title("Worked solutions")
    for each in sheet.sets:
        _solutions(paper, each)
    return Key(paper, begins)


def not_on_paper(learners: Iterable[Learner]) -> tuple[Learner, ...]:
    """Those whose name has signs that the lettering of the sheets has not: theirs is left to be written by hand."""
    return tuple(each for each in learners if in_lettering(each.name) != each.name)


def _about(sheet: Worksheet) -> str:
    return f"Your lathe here: {sheet.lathe.name}" if sheet.lathe is not None else ""


def _set(sheet: Worksheet, mine: ProblemSet, size: str, space_mm: float, two_sided: bool) -> Paper:
    whose = f"{sheet.title}. {_named(mine.learner)}Class number {mine.learner.number}"
    paper = Paper(sheet.title, below=_about(sheet), foot=f"{whose}. {FOOT}", size=size)
    _head(paper, mine)
    for place, problem in enumerate(mine.problems, 1):
        paper.kept_whole(partial(_problem, paper, place, problem, space_mm))
    if two_sided and paper.pages % 2:
        paper.next_page()
        paper.words("Room to work", size_pt=_HOW_PT)
    return paper


def _named(learner: Learner) -> str:
    return f"{learner.name}. " if learner.name and not not_on_paper([learner]) else ""


def _head(paper: Paper, mine: ProblemSet) -> None:
    """Lines for name, date and points, the name where it is known."""
    if _named(mine.learner):
        _known_name(paper, mine.learner.name)
    else:
        left, _, right, down = paper.drawing(_HEAD_MM)
        _to_fill(paper, "Name", left, right, down)
    left, _, right, down = paper.drawing(_HEAD_MM)
    third = paper.width_mm / 3
    paper.put(Words(f"Class number {mine.learner.number}", left, down, _TEXT_PT, bold=True))
    _to_fill(paper, "Date", left + third, left + 2 * third - 6, down)
    if mine.points is not None:
        of = f" of {_points(mine.points)}"
        _to_fill(paper, "Points", left + 2 * third, right - width_of_words_mm(of, _TEXT_PT) - 1, down)
        paper.put(Words(of, right, down, _TEXT_PT, align="end"))
    paper.space(_BETWEEN_MM)


def _known_name(paper: Paper, name: str) -> None:
    """The name, in as many lines as it takes: a name is neither cut nor made small."""
    behind = _behind("Name")
    lines = wrapped(name, paper.width_mm - behind, _TEXT_PT, bold=True)
    more_mm = (len(lines) - 1) * _NAME_LINE_MM
    left, _, _, down = paper.drawing(_HEAD_MM + more_mm)
    paper.put(Words("Name", left, down - more_mm, _TEXT_PT))
    for place, line in enumerate(lines):
        paper.put(Words(line, left + behind, down - more_mm + place * _NAME_LINE_MM, _TEXT_PT, bold=True))


def _to_fill(paper: Paper, what: str, left: float, right: float, down: float) -> None:
    """A word and a line to write on behind it."""
    paper.put(Words(what, left, down, _TEXT_PT))
    start = left + _behind(what)
    paper.put(Shape(((start, down + 0.8), (right, down + 0.8)), RULE, line_pt=0.6, closed=False))


def _behind(what: str) -> float:
    """How far behind the start of a word it goes on, in mm."""
    return width_of_words_mm(f"{what} ", _TEXT_PT) + 1


def _problem(paper: Paper, place: int, problem: Problem, space_mm: float) -> None:
    """A problem: all that its form shows, but nothing that helps."""
    task = problem.task
    worth = "" if problem.points is None else f" ({_points(problem.points)} {_a_point(problem.points)})"
    paper.title(f"{place}. {problem.title}{worth}", size_pt=11.5)
    for paragraph in task.question.split("\n\n"):
        paper.marked(paragraph, size_pt=_TEXT_PT, after_mm=1.6)
    if task.table is not None:
        _table(paper, task.table)
    if task.answer.options:
        paper.choices(task.answer.options)
        if space_mm:
            paper.drawing(space_mm)
    else:
        paper.marked(task.answer.how, size_pt=_HOW_PT, after_mm=0)
        left, _, right, down = paper.drawing(space_mm + _ANSWER_MM)
        _to_fill(paper, "Answer", left, right, down)
    paper.space(_BETWEEN_MM)


def _table(paper: Paper, table: Table, size_pt: float = _HOW_PT) -> None:
    paper.marked(f"**{table.caption}**", size_pt=size_pt, after_mm=0.4)
    heads = table.heads.split(" | ")
    paper.table([dict(zip(heads, row, strict=True)) for row in table.rows], size_pt=size_pt)


def _points(points: Fraction) -> str:
    return writing.decimal(points, 2)


def _a_point(points: Fraction) -> str:
    return "point" if points == 1 else "points"


def _key_of_problem(paper: Paper, sheet: Worksheet, place: int) -> None:
    """What is right for each of the class, said once where it is the same for all."""
    answers = [(_in_row(each.learner), each.problems[place].key) for each in sheet.sets]
    problem = sheet.sets[0].problems[place]
    again = f" ({problem.time})" if problem.time > 1 else ""
    worth = "" if problem.points is None else f" ({_points(problem.points)} {_a_point(problem.points)})"
    paper.title(f"{place + 1}. {problem.title}{again}{worth}", size_pt=10)
    same = len(answers) > 1 and len({answer for _, answer in answers}) == 1
    paper.pairs([("For all", answers[0][1])] if same else answers, size_pt=_KEY_PT)


def _key_rows(mine: ProblemSet) -> Iterator[dict[str, object]]:
    for place, problem in enumerate(mine.problems, 1):
        row: dict[str, object] = {"learner": _in_row(mine.learner), "no.": place, "exercise": problem.title}
        if problem.time > 1:
            row["exercise"] = f"{problem.title} ({problem.time})"
        yield row | {"answer": problem.key} | ({} if problem.points is None else {"points": _points(problem.points)})


def _in_row(learner: Learner) -> str:
    name = learner.name if _named(learner) else ""
    short = name if len(name) <= _LONG_NAME else f"{name[: _LONG_NAME - 1].rstrip()}…"
    return f"{learner.number} {short}".strip()


def _solutions(paper: Paper, mine: ProblemSet) -> None:
    paper.title(f"{_named(mine.learner)}Class number {mine.learner.number}")
    for place, problem in enumerate(mine.problems, 1):
        paper.kept_whole(partial(_solution, paper, place, problem))


def _solution(paper: Paper, place: int, problem: Problem) -> None:
    paper.title(f"{place}. {problem.title}", size_pt=9.0)
    for part in problem.worked:
        if isinstance(part, Table):
            _table(paper, part, _WORKED_PT)
        else:
            _lines(paper, part)
    paper.space(1.5)


def _lines(paper: Paper, part: object) -> None:
    """Words with **bold**, or what the library worked out, in the lines in which it is written as text."""
    for line in str(part).splitlines():
        indent = len(line) - len(line.lstrip())
        words = line if isinstance(part, str) else _IN_COLUMNS.sub(": ", as_text(line))
        paper.marked(words, size_pt=_WORKED_PT, left_mm=indent * _SPACE_MM, after_mm=0)
