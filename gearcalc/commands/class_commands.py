"""Commands for a class: lessons to hand out."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.commands.console import DONE, AddCommand, answer, shown
from gearcalc.commands.options import LATHE_HELP, add_lathe, add_shared, argument, lathe_shown
from gearcalc.learning.answer_book import read_class_number

_PAGES, _PDF = (".html", ".htm"), ".pdf"


def add_class_commands(command: AddCommand) -> None:
    """Enter handout."""
    handout = command(
        "handout",
        _handout,
        "lessons as pages to hand out, to show, or to print: each one file that asks nothing of any host",
        lathe=False,
        example="handout 01 --save lesson.html",
        sooner="Fewer lessons at a time are quicker.",
    )
    handout.add_argument("lessons", nargs="*", metavar="LESSON", help="like 01, 03-05 or workbench")
    handout.add_argument("--all", action="store_true", help="every lesson, and the workbench")
    where = "a file that ends in .html or .pdf for one lesson; for several a folder, made where there is none"
    handout.add_argument("--save", required=True, metavar="WHERE", help=where)
    handout.add_argument("--pdf", action="store_true", help="in a folder: a PDF of each as well")
    add_lathe(handout, "--lathe", f"the school's own, on which each lesson goes on at its end: {LATHE_HELP}")
    about = "whose numbers the exercises have; left out, each is only named"
    handout.add_argument("--class", dest="class_number", type=_class_number, metavar="N", help=about)
    handout.add_argument("--without-code", action="store_true", help="leave out what the cells say")
    add_shared(handout, "paper")


@argument
def _class_number(text: str) -> int:
    return read_class_number(text)


def _handout(options: argparse.Namespace) -> int:
    from gearcalc.teaching.handouts import handouts
    from gearcalc.teaching.lesson_runs import all_lessons, lessons_named
    from gearcalc.teaching.page_printer import find_printer, print_page

    lessons = all_lessons() if options.all else lessons_named(options.lessons)
    folder, kinds = _where_to(options, lessons)
    lathe = None if options.lathe is None else lathe_shown(options)
    paper = options.paper or ("A4" if lathe is None else lathe.paper)
    printer = find_printer() if _PDF in kinds else ""  # before the work, not after it
    made = handouts(lessons, lathe, options.class_number, not options.without_code, paper)
    done = []
    for handout in shown(made, f"Running {writing.counted(len(lessons), 'lesson')}"):
        stem = handout.name if folder is not None else Path(options.save).stem
        beside = Path(options.save) if folder is None else folder / stem
        files = {}
        for kind in kinds:
            path = beside.with_name(f"{stem}{kind}")
            files[kind] = str(print_page(handout.html, path, printer) if kind == _PDF else handout.save(path))
        page = next((path for kind, path in files.items() if kind != _PDF), None)
        done.append({"lesson": handout.name, "title": handout.title, "page": page, "pdf": files.get(_PDF)})
    lines = [f"{each['title']}: {writing.listed(filter(None, (each['page'], each['pdf'])))}" for each in done]
    answer(options, {"handouts": done}, *lines)
    return DONE


def _where_to(options: argparse.Namespace, lessons: Sequence[Path]) -> tuple[Path | None, tuple[str, ...]]:
    """The folder for several, None for a file; and the endings of what is written."""
    if not lessons:
        raise ValueOutOfRangeError("no lesson is named", remedy="Name one, like 01, or ask for --all.")
    where = Path(options.save)
    ending = where.suffix.lower()
    if ending in (*_PAGES, _PDF) and not where.is_dir():
        if len(lessons) > 1:
            remedy = "Name a folder; with --pdf a PDF of each is put there too."
            raise ValueOutOfRangeError("several lessons don't go into one file", value=options.save, remedy=remedy)
        return None, (where.suffix, _PDF) if options.pdf and ending != _PDF else (where.suffix,)
    try:
        where.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or problem
        remedy = "Name a folder that you may write to, or a file that ends in .html or .pdf."
        raise NotPossibleError(f"there can't be a folder here ({why})", where=options.save, remedy=remedy) from None
    return where, (".html", _PDF) if options.pdf else (".html",)
