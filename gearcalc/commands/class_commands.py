"""Commands for a class: sets to work on paper, lessons to hand out, marks of what was handed in."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import gearcalc
from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, UnknownNameError, ValueOutOfRangeError, on_one_line
from gearcalc.basics.files import said_where, save_whole
from gearcalc.commands.console import DONE, SOMETHING_WRONG, AddCommand, answer, shown
from gearcalc.commands.options import LATHE_HELP, add_lathe, add_shared, argument, folder_name, lathe_shown, to_file
from gearcalc.learning.answer_files import read_class_number
from gearcalc.teaching.class_lists import class_list

if TYPE_CHECKING:
    from gearcalc.teaching.marks import ClassMarks
    from gearcalc.teaching.worksheets import ProblemSet, Worksheet

CLASS_HELP = "class numbers like 1-24, or a csv file with a row for each learner: number, name"
_PAGES, _PDF = (".html", ".htm"), ".pdf"
_OF_A_FILE = re.compile(r"\.[a-z][a-z\d]{0,4}")  # an ending that names a kind of file; 'pages.2' may be a folder


def _add_own(parser: argparse.ArgumentParser) -> None:
    about = "exercises of your own are in this file too; it is run, so name none but your own"
    parser.add_argument("--with", dest="own", action="append", default=[], metavar="FILE.py", help=about)


def _read_own(options: argparse.Namespace) -> None:
    from gearcalc.teaching.own_exercises import read_own_exercises

    for path in options.own:
        read_own_exercises(path)


def add_class_commands(command: AddCommand) -> None:
    """Enter exercises, worksheet, handout and marks."""
    names = command(
        "exercises",
        _exercises,
        "the names of the exercises, by which a worksheet and a notebook ask for them",
        lathe=False,
        example="exercises 3",
    )
    names.add_argument("lesson", nargs="?", type=int, metavar="LESSON", help="its number; left out, all")
    _add_own(names)

    about = "exercises on paper, a set for each learner, by class number, and the key; or a test"
    example = "worksheet 01 which-way-round --class 1-24 --save set.pdf --key key.pdf"
    sheet = command("worksheet", _worksheet, about, lathe=False, example=example)
    named = "names as the command exercises lists them, or lessons: 01, 1-3; what is named again is asked again"
    sheet.add_argument("exercises", nargs="+", metavar="EXERCISE", help=named)
    sheet.add_argument("--class", dest="learners", required=True, metavar="CLASS", help=CLASS_HELP)
    count = (
        "so many of each that is named, with fresh numbers where there are no more; without it one of an exercise, of "
        "a lesson those before More practice"
    )
    sheet.add_argument("--count", type=int, metavar="N", help=count)
    add_lathe(sheet, "--lathe", f"{LATHE_HELP}; for exercises about any lathe")
    sheet.add_argument("--title", default="", metavar="TITLE", help="what stands on top")
    sheet.add_argument("--points", metavar="N", help="of each problem, or as 2,2,3 one for each")
    sheet.add_argument("--space", default="0", metavar="MM", help="room to work below each, 0 to 200 mm (0)")
    test = (
        "a test: questions that nobody of this class begins with in the lessons (where an exercise has few, a "
        "classmate may), made again by the same word for the same class; keep the word to yourself"
    )
    sheet.add_argument("--test", metavar="WORD", help=test)
    two_sided = "each set begins on a sheet of its own when both sides are printed"
    sheet.add_argument("--two-sided", action="store_true", help=two_sided)
    _add_own(sheet)
    add_shared(sheet, "paper")
    is_saved = to_file("sets and key are", ".pdf")
    sheet.add_argument("--save", type=is_saved, metavar="FILE", help="write the sets, to a file that ends in .pdf")
    about = "write the key and, from a page of its own, the worked solutions"
    sheet.add_argument("--key", type=is_saved, metavar="FILE", help=about)
    by = "its order: learner by learner (learner), or problem by problem, as one marks a pile (problem)"
    sheet.add_argument("--key-by", choices=("learner", "problem"), default="learner", help=by)

    handout = command(
        "handout",
        _handout,
        "lessons as pages to hand out, to show, or to print: each one file that asks nothing of any host",
        lathe=False,
        example="handout 01 --save lesson.html",
        sooner="Fewer lessons at a time are quicker.",
    )
    handout.add_argument(
        "lessons", nargs="*", metavar="LESSON", help="like 01, 03-05 or workbench; or own_lesson.ipynb"
    )
    handout.add_argument("--all", action="store_true", help="every lesson, and the workbench")
    where = "a file that ends in .html or .pdf for one lesson; for several a folder, made where there is none"
    handout.add_argument(
        "--save", dest="where", type=folder_name, required=True, metavar="WHERE", help=where
    )  # may be a folder to make
    handout.add_argument("--pdf", action="store_true", help="a PDF of each as well")
    add_lathe(handout, "--lathe", f"the school's own, on which each lesson goes on at its end: {LATHE_HELP}")
    about = "whose numbers the exercises have; left out, each is only named"
    handout.add_argument("--class", dest="class_number", type=_class_number, metavar="N", help=about)
    handout.add_argument("--without-code", action="store_true", help="leave out what the cells say")
    _add_own(handout)
    add_shared(handout, "paper")

    marks = command(
        "marks",
        _marks,
        "who has what right, and which slips the class makes, from the answers that they handed in",
        lathe=False,
        sooner="One week's folder at a time is quicker.",
        example="marks handed_in --class list.csv --save marks.html",
    )
    more = "what was handed in: a folder for each learner, or files like answers-ada.json; in folders by date or not"
    marks.add_argument("folder", type=folder_name, metavar="FOLDER", help=more)
    marks.add_argument("--class", dest="learners", metavar="CLASS", help=CLASS_HELP)
    _add_own(marks)
    is_saved = to_file("marks are", ".csv", ".html")
    marks.add_argument("--save", type=is_saved, metavar="FILE", help="write a table, to .csv, or a page, to .html")


def _exercises(options: argparse.Namespace) -> int:
    from gearcalc.learning.exercises import exercise_names, recipe_of

    _read_own(options)
    there = [recipe_of(name) for name in exercise_names(options.lesson)]
    if not there:
        raise UnknownNameError("no such lesson has exercises", value=options.lesson, remedy="Left out, all are listed.")
    wide = max(len(each.name) for each in there)
    lines = [
        f"{each.lesson:02}  {each.name:{wide}}  {each.title}{' (about any lathe)' if each.any_lathe else ''}"
        for each in there
    ]
    fields = [
        {"lesson": each.lesson, "exercise": each.name, "title": each.title, "any_lathe": each.any_lathe}
        for each in there
    ]
    answer(options, {"exercises": fields}, *lines)
    return DONE


def _worksheet(options: argparse.Namespace) -> int:
    from gearcalc.teaching.worksheets import worksheet

    _read_own(options)
    _two_files(options.save, options.key)
    learners = class_list(options.learners)
    sheet = worksheet(
        options.exercises,
        shown(learners, "Drawing numbers, learner"),
        count=options.count,
        lathe=None if options.lathe is None else lathe_shown(options),
        title=options.title,
        points=() if options.points is None else options.points.replace(",", " ").split() or [options.points],
        test=options.test,
    )
    asked = [_asked(each) for each in sheet.sets]  # every key, before anything is written
    pages, lines = _save_sets(sheet, options)
    key_pages, lines_of_key = _save_key(sheet, options)
    fields: dict[str, Any] = {"title": sheet.title, "test": sheet.test or None, "learners": asked}
    fields |= {"file": options.save, "pages": pages, "key_file": options.key, "key_pages": key_pages}
    answer(options, fields, *([*lines, *lines_of_key] or _key_in_lines(sheet)))
    return DONE


def _two_files(*paths: str | None) -> None:
    """See before the work that sets and key are not to be one file."""
    named = [Path(path) for path in paths if path is not None]
    if len({path.resolve() for path in named}) < len(named):
        raise ValueOutOfRangeError("the key can't be in the file of the sets", value=str(named[0]))


def _save_sets(sheet: Worksheet, options: argparse.Namespace) -> tuple[int | None, list[str]]:
    """How many pages were saved, and what there is to say of them."""
    from gearcalc.papers.paper import bound
    from gearcalc.teaching.worksheet_papers import not_on_paper, set_papers

    if options.save is None:
        return None, []
    papers = set_papers(sheet, size=_size(sheet, options), space_mm=options.space, two_sided=options.two_sided)
    saved = save_whole(options.save, bound(papers, sheet.title), "the worksheet")
    problems, learners = writing.counted(len(sheet.sets[0].problems), "problem"), len(sheet.sets)
    pages = [paper.pages for paper in papers]
    lines = [
        f"{sheet.title}: {problems} for each of {writing.counted(learners, 'learner')}, in {on_one_line(saved)}.",
        f"To print: {_to_print(pages, options.two_sided)}.",
    ]
    by_hand = [each.number for each in not_on_paper(one.learner for one in sheet.sets)]
    if by_hand:
        numbers = f"class number{'s' if len(by_hand) > 1 else ''} {writing.listed(by_hand)}"
        lines.append(f"The lettering has not all signs of the name of {numbers}: there is a line to write it on.")
    return sum(pages), lines


def _to_print(pages: Sequence[int], two_sided: bool) -> str:
    """How many pages a class makes, and how many are one learner's.

    >>> _to_print([2, 2, 4], True)
    '8 pages, 2 to 4 for each learner, on 4 sheets'
    """
    least, most = min(pages), max(pages)
    each = f"{least} to {most}" if least < most else str(most)
    sheets = f", on {writing.counted(sum(pages) // 2, 'sheet')}" if two_sided else ""
    return f"{writing.counted(sum(pages), 'page')}, {each} for each learner{sheets}"


def _save_key(sheet: Worksheet, options: argparse.Namespace) -> tuple[int | None, list[str]]:
    from gearcalc.teaching.worksheet_papers import key_paper

    if options.key is None:
        return None, []
    foot = f"gearcalc {gearcalc.__version__} makes the same numbers again with: {_again(options)}"
    key = key_paper(sheet, size=_size(sheet, options), foot=foot, by_problem=options.key_by == "problem")
    saved = save_whole(options.key, key.paper.pdf(), "the key")
    keys = "page 1" if key.solutions_from == 2 else f"pages 1 to {key.solutions_from - 1}"
    last = key.paper.pages
    solutions = f"page {last}" if key.solutions_from == last else f"pages {key.solutions_from} to {last}"
    return last, [f"The key is {keys} of {on_one_line(saved)}; the worked solutions are {solutions}."]


def _size(sheet: Worksheet, options: argparse.Namespace) -> str:
    return str(options.paper or (sheet.lathe.paper if sheet.lathe is not None else "A4"))


def _again(options: argparse.Namespace) -> str:
    """The command that makes the same again, as it is typed in any shell."""
    said = {
        "with": options.own,
        "class": options.learners,
        "count": options.count,
        "lathe": options.lathe,
        "test": options.test,
    }
    each = [(name, one) for name, value in said.items() for one in (value if isinstance(value, list) else [value])]
    given = [word for name, value in each if value not in (None, "") for word in (f"--{name}", str(value))]
    words = ["worksheet", *options.exercises, *given]
    return " ".join(["python -m gearcalc", *(f'"{word}"' if " " in word else word for word in words)])


def _asked(mine: ProblemSet) -> dict[str, Any]:
    problems = [
        {
            "exercise": problem.name,
            "title": problem.title,
            "time": problem.time,
            "points": None if problem.points is None else float(problem.points),
            "question": str(problem.task),
            "key": problem.key,
        }
        for problem in mine.problems
    ]
    return {"number": mine.learner.number, "name": mine.learner.name, "problems": problems}


def _key_in_lines(sheet: Worksheet) -> Iterator[str]:
    yield f"Key. {sheet.title}"
    for mine in sheet.sets:
        yield f"{mine.learner}:"
        yield from (f"  {place}. {each.title}: {each.key}" for place, each in enumerate(mine.problems, 1))


@argument
def _class_number(text: str) -> int:
    return read_class_number(text)


def _handout(options: argparse.Namespace) -> int:
    from gearcalc.teaching.handouts import handouts
    from gearcalc.teaching.lesson_runs import all_lessons, lessons_named
    from gearcalc.teaching.page_printer import find_printer, print_page

    _read_own(options)
    lessons = all_lessons() if options.all else lessons_named(options.lessons)
    folder, kinds = _where_to(options, lessons)
    lathe = None if options.lathe is None else lathe_shown(options)
    paper = options.paper or ("A4" if lathe is None else lathe.paper)
    printer = find_printer() if _PDF in kinds else ""  # before the work, not after it
    made = handouts(lessons, lathe, options.class_number, not options.without_code, paper, _called(options.lathe))
    done, lines = list[dict[str, Any]](), list[str]()
    for handout in shown(made, f"Running {writing.counted(len(lessons), 'lesson')}"):
        stem = handout.name if folder is not None else Path(options.where).stem
        beside = Path(options.where) if folder is None else folder / stem
        files = {}
        for kind in kinds:
            path = beside.with_name(f"{stem}{kind}")
            files[kind] = str(print_page(handout.html, path, printer) if kind == _PDF else handout.save(path))
        page = next((path for kind, path in files.items() if kind != _PDF), None)
        made_of = {"lesson": handout.name, "title": handout.title, "page": page, "pdf": files.get(_PDF)}
        done.append({**made_of, "left_out": list(handout.left_out)})
        lines.append(f"{handout.title}: {writing.listed(filter(None, (page, files.get(_PDF))))}")
        lines += [f"Left out of it, since it stands alone: {each}." for each in handout.left_out]
    answer(options, {"handouts": done}, *lines)
    return DONE


def _called(lathe: str | None) -> str:
    """How the pages name where the lathe is from."""
    if lathe is None:
        return "my_lathe.toml"
    return Path(lathe).name if os.path.isfile(lathe) else f"the demo lathes ({lathe})"


def _where_to(options: argparse.Namespace, lessons: Sequence[Path]) -> tuple[Path | None, tuple[str, ...]]:
    """The folder for several, None for a file; and the endings of what is written."""
    if not lessons:
        raise ValueOutOfRangeError("no lesson is named", remedy="Name one, like 01, or ask for --all.")
    where = Path(options.where)
    ending = where.suffix.lower()
    if _OF_A_FILE.fullmatch(ending) and ending not in (*_PAGES, _PDF) and not os.path.isdir(where):
        remedy = "Name a file that ends in .html or .pdf, or a folder."
        raise ValueOutOfRangeError("a handout is a page or a PDF", value=options.where, remedy=remedy)
    if ending in (*_PAGES, _PDF) and not os.path.isdir(where):
        if len(lessons) > 1:
            remedy = "Name a folder; with --pdf a PDF of each is put there too."
            raise ValueOutOfRangeError("several lessons don't go into one file", value=options.where, remedy=remedy)
        if not os.path.isdir(where.parent):
            remedy = "Name a file in a folder that is there."
            raise NotPossibleError("there is no such folder to save it in", where=options.where, remedy=remedy)
        return None, (where.suffix, _PDF) if options.pdf and ending != _PDF else (where.suffix,)
    remedy = "Name a folder that you may write to, or a file that ends in .html or .pdf."
    with said_where(options.where, "there can't be a folder here", remedy):
        where.mkdir(parents=True, exist_ok=True)
    return where, (".html", _PDF) if options.pdf else (".html",)


def _marks(options: argparse.Namespace) -> int:
    from gearcalc.teaching.marks import class_marks
    from gearcalc.teaching.marks_page import save_marks
    from gearcalc.teaching.taking_up import tomorrow

    _read_own(options)
    marks = class_marks(options.folder, class_list(options.learners) if options.learners is not None else (), shown)
    saved = None if options.save is None else str(save_marks(marks, options.save))
    takes_up = tomorrow(marks)
    left = [f"{one.how}: {one}" for one in marks.not_taken]
    written = [] if saved is None else [f"Written: {on_one_line(saved)}"]
    answer(options, _class_fields(marks, saved), *map(marks.in_a_line, marks.learners), *takes_up, *left, *written)
    return SOMETHING_WRONG if any(one.is_all for one in marks.not_taken) else DONE


def _class_fields(marks: ClassMarks, saved: str | None) -> dict[str, Any]:
    from gearcalc.teaching.taking_up import goals_reached, slips_made, tomorrow, weeks_gone

    return {
        "weeks": list(marks.weeks),
        "exercises": list(marks.exercises),
        "learners": [
            {
                "class_number": one.learner.number,
                "name": one.learner.name,
                "right": one.right,
                "marks": [
                    {"exercise": name, "state": work.state, "slip": work.slip, "tries": work.tries}
                    for name in marks.exercises
                    for work in [one.at(name)]
                ],
            }
            for one in marks.learners
        ],
        "slips": [
            {
                "exercise": made.exercise,
                "slip": made.slip,
                "says": made.says,
                "class_numbers": [learner.number for learner in made.learners],
                "answered": made.answered,
            }
            for made in slips_made(marks)
        ],
        "goals": [
            {
                "lesson": goal.lesson,
                "goal": goal.words,
                "exercises": list(goal.exercises),
                "unanswered": list(goal.unanswered),
                "reached": goal.reached,
                "began": goal.began,
            }
            for goal in goals_reached(marks)
        ],
        "by_week": [
            {"week": week.week, "learners": week.learners, "right": week.right, "slips": sum(week.slips.values())}
            for week in weeks_gone(marks)
        ],
        "tomorrow": list(tomorrow(marks)),
        "not_taken": [
            {
                "where": one.where,
                "why": one.why,
                "is_all": one.is_all,
                "class_number": one.class_number,
                "is_empty": one.is_empty,
            }
            for one in marks.not_taken
        ],
        "file": saved,
    }
