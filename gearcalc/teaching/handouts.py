"""A lesson as one page to hand out: HTML that asks nothing of any host, to be read, shown on a wall, or printed.

A lesson that was run is made ready cell by cell, written by nbconvert through the template in data/handout/, and its
formulas, links and pictures are then made to stand alone.
"""

from __future__ import annotations

import ast
import html
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from copy import deepcopy
from pathlib import Path
from typing import Any

from attrs import frozen

from gearcalc.basics.cautions import FOOT
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import data_folder, notebooks_folder, save_whole
from gearcalc.basics.markup import HEAD, in_html
from gearcalc.lathes import Lathe
from gearcalc.lathes.parts import as_paper
from gearcalc.learning import own_lathe
from gearcalc.learning.exercises import exercise
from gearcalc.learning.exercises.notes import as_html
from gearcalc.learning.live import still_alone
from gearcalc.pictures import style
from gearcalc.teaching.alone import alone
from gearcalc.teaching.formulas import with_mathml
from gearcalc.teaching.lesson_runs import run_lessons

_ONLY_ASKS = {"guess", "taken_up", "exercise", "word_list", "name_and_number", "what_is_done"}
"""Calls of which a cell shows all that there is to know by what it puts out."""
_LINK = re.compile(r'<a\b[^>]*?\bhref="(?P<to>[^"]*)"[^>]*>(?P<words>.*?)</a>', re.S)
_HAS_PICTURE = re.compile(r"<(?:img|svg|figure)\b|image/")
_HEADING = re.compile(r"^# +(.+)$", re.M)
_TABLE = re.compile(r"<table\b.*?</table>", re.S)
_FOLDED = re.compile(r"<details><summary>.*?</summary>(.*?)</details>", re.S)
_GIVES_AWAY = re.compile(r"<!-- gives away (\d+) -->(.*?)<!-- to here -->", re.S)
_WHY = re.compile(r"<!-- why (\d+) -->\s*<details>\s*<summary>.*?</summary>(.*?)</details>", re.S)
_OWN_NUMBERS = "You do this one with numbers of your own: in the lesson, or on your sheet."
_TO_WRITE_ON = '<p class="to-write-on">Your answer:</p>'


@frozen
class Handout:
    """A lesson as a page: the `name` of its file without an ending, its `title`, and the page as `html`.

    `left_out`: what the lesson has and the page can't have, in words: a script, a picture that is not there.
    """

    name: str
    title: str
    html: str
    left_out: tuple[str, ...] = ()

    def save(self, path: str | Path) -> Path:
        """Write the page, whole or not at all; return where to. Raises NotPossibleError."""
        return save_whole(path, self.html, "the handout")


def handouts(
    lessons: Iterable[Path],
    lathe: Lathe | None = None,
    class_number: int | None = None,
    with_code: bool = True,
    paper: str = "A4",
    called: str = own_lathe.FILE_NAME,
) -> Iterator[Handout]:
    """Run lessons and make a page of each, in their order; links lead from one of these pages to another.

    ```python
    for handout in handouts(lessons_named(["01-03"])):
        handout.save(f"{handout.name}.html")
    ```

    `lessons`: as lessons_named() finds them. `lathe`: the school's own, on which each lesson goes on at its end.
    `class_number`: whose numbers the exercises have; None names each exercise alone. `with_code`: what a cell says is
    folded above what it puts out. `paper`: A4, A3 or Letter. `called`: the file of the lathe, as the
    pages name it. Raises NotPossibleError where a lesson can't be run.
    """
    lessons, paper = tuple(lessons), as_paper(paper)
    together = {lesson.stem for lesson in lessons}
    for lesson, notebook in zip(lessons, run_lessons(lessons, lathe, class_number, called), strict=True):
        numbered = class_number is not None
        yield as_handout(lesson.stem, notebook, together, numbered, with_code, paper, lesson.parent)


def as_handout(
    name: str,
    notebook: Any,
    together: Collection[str],
    numbered: bool = False,
    with_code: bool = True,
    paper: str = "A4",
    beside: Path | None = None,
) -> Handout:
    """Make a page of a lesson that was run.

    `together`: the names of the pages that links may lead to; `numbered`: whether its exercises have a class number's
    numbers; `beside`: the folder of its pictures, None for that of our lessons. The rest is as handouts() has it.
    """
    from nbconvert import HTMLExporter

    ready = deepcopy(notebook)
    for cell in ready.cells:
        if cell.cell_type == "code":
            cell.metadata["code_is_shown"] = with_code and _shows_code(cell)
            _stand_still(cell, numbered)
    answers = _answers_to_the_end(ready.cells)
    title = _title_of(ready, name)
    exporter = HTMLExporter(
        template_name="handout", extra_template_basedirs=[str(data_folder())], exclude_anchor_links=True
    )
    told: dict[str, Any] = {"head": HEAD, "title": title, "in_css": re.sub(r'["\\<>\n]', "", title), "paper": paper}
    told |= {"foot": FOOT, "palette": style.as_css(":root"), "answers": answers}
    folder = (notebooks_folder() if beside is None else beside).resolve()
    told["ours"] = folder == notebooks_folder().resolve()
    page, _ = exporter.from_notebook_node(ready, {"handout": told})
    page, left_out = alone(_none_below_its_guess(page), folder)
    page = _LINK.sub(lambda link: _linked(link, together), with_mathml(page))
    page = _TABLE.sub(
        lambda table: f'<div class="wide" tabindex="0" role="group" aria-label="Table">{table[0]}</div>', page
    )
    return Handout(name, title, page.replace("<th></th>", "<td></td>"), left_out)


def _title_of(notebook: Any, name: str) -> str:
    words = (_HEADING.search(cell.source) for cell in notebook.cells if cell.cell_type == "markdown")
    return next((re.sub("[*`]", "", found[1]).strip() for found in words if found), name)


def _shows_code(cell: Any) -> bool:
    """Whether the source of a cell says more than what comes out of it; an answer that it holds stays hidden."""
    if cell.metadata.get("jupyter", {}).get("source_hidden"):
        return False
    calls = _calls(cell.source)
    return not calls or not all(called in _ONLY_ASKS for called, _ in calls)


def _calls(source: str) -> list[tuple[str, ast.Call]]:
    """What a cell calls, by name, where it does nothing else; it may import what it calls."""
    try:
        parts = [part for part in ast.parse(source).body if not isinstance(part, (ast.Import, ast.ImportFrom))]
    except SyntaxError:  # a line of IPython's own
        return []
    calls = [part.value for part in parts if isinstance(part, ast.Expr) and isinstance(part.value, ast.Call)]
    return [(_name_of(call.func), call) for call in calls] if len(calls) == len(parts) else []


def _name_of(called: ast.expr) -> str:
    return called.attr if isinstance(called, ast.Attribute) else called.id if isinstance(called, ast.Name) else ""


def _stand_still(cell: Any, numbered: bool) -> None:
    """Leave of what a cell has put out what can be read on paper."""
    cell.outputs = [output for output in cell.outputs if not _lives(output)]
    posed, has_number = _exercise_in(cell.source)
    for output in cell.outputs:
        data = output.get("data", {})
        if "text/html" in data:
            data["text/html"] = still_alone(data["text/html"])
            if posed and (numbered or has_number):
                front, end, _ = data["text/html"].rpartition("</div>")
                data["text/html"] = f"{front}{_TO_WRITE_ON}{end}"
            elif posed:
                title = f"<p><strong>{in_html(posed)}</strong></p>"
                data["text/html"] = f'<div class="gearcalc-still">{title}<p>{_OWN_NUMBERS}</p></div>'


def _answers_to_the_end(cells: Sequence[Any]) -> list[str]:
    """What takes up a guess stays folded on the screen; on paper it says where to look, and stands in a last part."""
    asked: dict[str, tuple[int, str]] = {}
    answers: list[str] = []
    for place, cell in enumerate(cells):
        for called, call in _calls(cell.source)[-1:] if cell.cell_type == "code" else ():
            words = [str(given.value) for given in call.args if isinstance(given, ast.Constant)]
            if called == "guess":
                asked[words[0]] = place, "".join(words[1:2])
            if called == "taken_up":
                for output in cell.outputs:
                    page = output.get("data", {}).get("text/html", "")
                    if found := _FOLDED.search(page):
                        since, question = asked.get(words[0], (place, ""))
                        number = len(answers) + 1
                        front = as_html(f"**{question}**") if question else ""
                        answers.append(f"{front}<!-- comes out {number} -->{found[1]}<!-- and why {number} -->")
                        more = _goes_with(number, cells[since + 1 : place], cells[place + 1 : place + 2])
                        what = "What comes out, and your guess taken up" if more else "Your guess, taken up"
                        where = f'<p class="on-paper">{what}: at the end, number {number}.</p>'
                        output["data"]["text/html"] = f'<div class="on-screen">{page}</div>{where}'
    return answers


def _goes_with(number: int, between: Iterable[Any], after: Iterable[Any]) -> bool:
    """Mark what would give an answer away right below its guess: whether words come out before it, and the fold after.

    A picture stays: it is what one looks at to find the answer.
    """
    words = [
        output
        for cell in between
        if cell.cell_type == "code"
        for output in cell.outputs
        if output.output_type == "stream" or not _HAS_PICTURE.search(str(output.get("data", "")))
    ]
    for output in words:
        output["gives_away"] = number
    for cell in after:
        if cell.cell_type == "markdown" and cell.source.startswith("<details>"):
            cell.metadata["why"] = number
    return bool(words)


def _none_below_its_guess(page: str) -> str:
    """Have what gives an answer away, as it was marked, stand on paper with the answer alone."""
    for found in [*_GIVES_AWAY.finditer(page)]:
        at = f"<!-- comes out {found[1]} -->"
        page = page.replace(at, f"{found[2]}{at}")
    for found in [*_WHY.finditer(page)]:
        page = page.replace(f"<!-- and why {found[1]} -->", found[2])
    page = _WHY.sub(lambda found: f'<div class="on-screen">{found[0]}</div>', page)
    return re.sub(r"<!-- (?:gives away|to here|comes out|why|and why)(?: \d+)? -->", "", page)


def _lives(output: Any) -> bool:
    return "application/vnd.jupyter.widget-view+json" in output.get("data", {})


def _exercise_in(source: str) -> tuple[str, bool]:
    """The title of the exercise that a cell asks, or nothing; and whether the cell says whose numbers it has."""
    for called, call in _calls(source)[-1:]:
        if called == "exercise" and call.args and isinstance(call.args[0], ast.Constant):
            has_number = len(call.args) > 1 or any(given.arg == "class_number" for given in call.keywords)
            try:
                return exercise(str(call.args[0].value), class_number=1).title, has_number
            except GearcalcError:
                return "Exercise", has_number
    return "", False


def _linked(link: re.Match[str], together: Collection[str]) -> str:
    """A link to another of these pages or to a place in this one; of any other the words alone."""
    to, words = html.unescape(link["to"]), link["words"]
    name, hash_, place = to.partition("#")
    if not name:
        return link[0]
    stem = name.removesuffix(".ipynb")
    if stem == name or stem not in together:
        address = f" ({html.escape(to)})" if to.startswith("http") and to not in words else ""
        return f"{words}{address}"
    return f'<a href="{html.escape(stem)}.html{hash_}{html.escape(place)}">{words}</a>'
