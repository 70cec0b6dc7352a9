"""What a lesson must keep to, as functions from a notebook to the faults found, in words."""

from __future__ import annotations

import ast
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from unittest.mock import patch
from urllib.parse import unquote

MOST_CODE_LINES = 15
MOST_CODE_COLUMNS = 100
"""JupyterLab, 1280 px wide with its list of files, shows 106 letters of code without scrolling: 834 px, at 7.8 px a
letter of DejaVu Sans Mono, measured. The rest is for letters that are a little wider."""
FEWEST_CELLS, MOST_CELLS = 25, 45
SECONDS_A_CELL = 120
MAY_IMPORT_FROM = {  # of ours, few and lasting: a lesson that someone keeps goes on running
    "gearcalc",
    "gearcalc.basics.cautions",
    "gearcalc.basics.exact",  # these two for an exercise of one's own
    "gearcalc.basics.writing",
    "gearcalc.commands",
    "gearcalc.learning.exercises.number_answers",
    "gearcalc.learning.exercises.tasks",
    "gearcalc.learning.explorers",
    "gearcalc.learning.guesses",
    "gearcalc.learning.lathe_upload",
    "gearcalc.learning.own_lathe",
    "gearcalc.learning.progress",
    "gearcalc.learning.words",
    "gearcalc.papers",
    "gearcalc.pictures",
    "gearcalc.teaching.guide",
    "gearcalc.teaching.lesson_plans",
    "gearcalc.teaching.slips_to_know",
}
MAY_IMPORT_FROM |= {"fractions", "itertools", "math", "pathlib", "tempfile", "textwrap", "sympy"}
NO_DESCRIPTION = "No description has been provided for this image"
_BESIDE = re.compile(r"(?:# [^\n]*\n)?(?:guess|taken_up)\(|.*\bword_list\(", re.S)
_RAW = re.compile(  # brackets, quotes, True, a name with its arguments, a float with all its figures
    r"""^\s*['"\[{] | ^\s*\([^·\n]*,[^·\n]*\)\s*$ | \(\d+,\) | \{\S+:\ | \d\.\d{9}
    | \b(?:True|False|None)\b | \b(?:Fraction|Eq|Thread)\(""",
    re.X,
)
_HANDS_BACK = re.compile(r"""(?<!= )\bmain\(\[|(?:`|# )[\w.]+(?:\([\w, ]*\))?\.save\("\w+\.(?:pdf|html)""")
_LINK = re.compile(r"\]\((?!https?:|#|mailto:|attachment:)([^)#\s]+)")


def read(path: Path) -> Any:
    """The notebook in a file."""
    import nbformat  # which takes seconds, as does all that runs a lesson

    return nbformat.read(path, as_version=4)


def faults_as_committed(notebook: Any, path: Path) -> list[str]:
    """No kernel, outputs, widget state, long cells, too many or too few, links that lead nowhere, odd imports."""
    parts = (
        _leftovers(notebook),
        _half_hidden(notebook),
        _sizes(notebook, path.name),
        _too_close(notebook),
        _dead_links(notebook, path.parent),
        _imports(notebook),
        _numbers_below(notebook),
    )
    return [fault for part in parts for fault in part]


def _leftovers(notebook: Any) -> Iterator[str]:
    if notebook.metadata.get("kernelspec", {}).get("name") != "python3":
        yield "names no kernel, so that JupyterLab would ask for one"
    if notebook.metadata.get("voila", {}).get("template") != "gearcalc":
        yield "names no template, so that voila would fetch from outside and speak of cells"
    if "widgets" in notebook.metadata:
        yield "committed with widget state"
    for place, cell in _code_cells(notebook):
        if cell.outputs or cell.execution_count is not None:
            yield f"cell {place}: committed with outputs"


def _half_hidden(notebook: Any) -> Iterator[str]:
    """Code in the first line of a cell whose source is folded, which JupyterLab goes on showing."""
    for place, cell in _code_cells(notebook):
        if cell.metadata.get("jupyter", {}).get("source_hidden") and not cell.source.startswith("# "):
            yield f"cell {place}: begin what is folded with a comment, since its first line can be read"


def _too_close(notebook: Any) -> Iterator[str]:
    """Text right below what is folded, where JupyterLab leaves no space."""
    for place, cell in enumerate(notebook.cells):
        if cell.cell_type == "markdown" and re.search(r"</details>\n+(?!<br>|\s*$)", cell.source):
            yield f"cell {place}: put <br> between </details> and the text below it"


def _sizes(notebook: Any, name: str) -> Iterator[str]:
    cells = sum(not _BESIDE.match(cell.source) for cell in notebook.cells)  # a guess, and the list of words
    is_short = name.startswith("00") or not name[:2].isdigit()  # the first lesson, and pages that are none
    fewest = 1 if is_short else FEWEST_CELLS
    if not fewest <= cells <= MOST_CELLS:
        yield f"{cells} cells, not {fewest} to {MOST_CELLS}"
    for place, cell in _code_cells(notebook):
        lines = len(cell.source.splitlines())
        if lines > MOST_CODE_LINES:
            yield f"cell {place}: {lines} lines of code, not at most {MOST_CODE_LINES}"
        if (longest := max(map(len, cell.source.splitlines()), default=0)) > MOST_CODE_COLUMNS:
            yield f"cell {place}: a line of {longest} letters, not at most {MOST_CODE_COLUMNS}"


def _dead_links(notebook: Any, folder: Path) -> Iterator[str]:
    for place, cell in enumerate(notebook.cells):
        if cell.cell_type == "markdown":
            for target in _LINK.findall(cell.source):
                if not (folder / unquote(target)).exists():
                    yield f"cell {place}: links to {target}, which is not there"
            yield from _pictures_without_words(place, cell.source)
            if re.search(r"!\[\s*\]\(", cell.source):
                yield f"cell {place}: a picture without a description"


def _imports(notebook: Any) -> Iterator[str]:
    for place, cell in _code_cells(notebook):
        for module in _modules_used(cell.source):
            if module not in MAY_IMPORT_FROM:
                yield f"cell {place}: imports from {module}, which no lesson may"


def _numbers_below(notebook: Any) -> Iterator[str]:
    """What hands back a 0 or a path, which would stand below the cell of whoever types it as it is told here."""
    for place, cell in enumerate(notebook.cells):
        for told in _HANDS_BACK.findall(cell.source):
            yield f"cell {place}: give a name to what {told} hands back, so that it is not shown: wrong =, saved ="


def _modules_used(source: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            modules = {f"{node.module}.{name.name}" for name in node.names}  # of a package a module may be taken whole
            yield from modules & MAY_IMPORT_FROM or {f"{'.' * node.level}{node.module or ''}"}


def run(notebook: Any, folder: Path) -> Any:
    """The notebook, executed from clean in `folder`; it stops at the first error, which stays in its outputs."""
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError

    client = NotebookClient(
        notebook, timeout=SECONDS_A_CELL, kernel_name="python3", resources={"metadata": {"path": str(folder)}}
    )
    with suppress(CellExecutionError):  # the cell's output says it, and faults_when_run reads it there
        client.execute()
    return notebook


@cache
def executed(path: Path) -> Any:
    """A lesson, executed from clean among copies of its neighbours, once for all who ask."""
    checkout = Path(__file__).resolve().parent.parent.parent
    with TemporaryDirectory() as scratch, patch.dict(os.environ, PYTHONPATH=str(checkout)):
        folder = shutil.copytree(path.parent, Path(scratch) / "lessons")
        return run(read(folder / path.name), folder)


def faults_when_run(notebook: Any) -> list[str]:
    """Errors, warnings and pictures without a description in the outputs of an executed notebook."""
    found = [
        fault
        for place, cell in _code_cells(notebook)
        for output in cell.outputs
        for fault in _output_faults(place, output)
    ]
    if not found:  # after a fault the rest is not run, and need not be told
        not_run = [cell for _, cell in _code_cells(notebook) if cell.source.strip() and cell.execution_count is None]
        found += [f"not run: {cell.source[:40]}" for cell in not_run]
    for state in _widget_states(notebook):
        found += _widget_faults(state)
    return found


def _output_faults(place: int, output: Any) -> Iterator[str]:
    if output.output_type == "error":
        yield f"cell {place}: {output.ename}: {output.evalue}"
    elif output.output_type == "stream":
        if output.name == "stderr" and re.search(r"gearcalc|Warning:|Traceback", output.text):
            yield f"cell {place}: on the error stream: {output.text.strip()}"
    else:
        data = output.data
        if any(kind.startswith("image/") for kind in data) and "text/html" not in data:
            yield f"cell {place}: a bare picture, which has no description"
        yield from _pictures_without_words(place, _text(data.get("text/html", "")))


def raw_python(notebook: Any) -> list[str]:
    """Where a lesson shows a structure of Python in place of words."""
    return [
        f"cell {place}: {text.strip()[:60]}"
        for place, cell in _code_cells(notebook)
        for output in cell.outputs
        for text in _plain_texts(output)
        if _RAW.search(text)
    ]


def _plain_texts(output: Any) -> Iterator[str]:
    """What an output says without markup, where it has none."""
    if output.output_type == "stream":
        yield output.text
    data = output.get("data", {})
    if set(data) == {"text/plain"}:
        yield data["text/plain"]


def _widget_states(notebook: Any) -> Iterator[dict[str, Any]]:
    for kept in notebook.metadata.get("widgets", {}).values():
        for model in kept.get("state", {}).values():
            yield model.get("state", {})


def _widget_faults(state: dict[str, Any]) -> Iterator[str]:
    for output in state.get("outputs", ()) if isinstance(state.get("outputs"), (list, tuple)) else ():
        if output.get("output_type") == "error":
            yield f"in a widget: {output.get('ename')}: {output.get('evalue')}"
    for value in state.values():
        if isinstance(value, str) and re.search(r"<(img|svg)\b", value):
            yield from _pictures_without_words("in a widget", value)
    if "The program failed here" in str(state.get("message", "")):
        yield f"in a widget: {state['message']}"


def faults_as_exported(notebook: Any) -> list[str]:
    """What the exported page shows for a picture that nobody described."""
    from nbconvert import HTMLExporter

    page, _ = HTMLExporter().from_notebook_node(notebook)
    return [f"exported: {NO_DESCRIPTION}"] if NO_DESCRIPTION in page else []


class _Pictures(HTMLParser):
    """Collects pictures that neither say what they show nor are marked as decoration."""

    def __init__(self) -> None:
        super().__init__()
        self.silent: list[str] = []
        self._open: list[bool] = []  # for each svg that is open: is it described?

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if tag == "img" and not (said.get("alt") or "").strip():
            self.silent.append("img")
        if tag == "svg":
            words = said.get("aria-label") or said.get("aria-labelledby") or said.get("aria-hidden") == "true"
            inside = bool(self._open) and self._open[-1]  # a part of a picture that is described
            self._open.append(inside or bool(words))
        if tag == "title" and self._open:
            self._open[-1] = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "svg" and self._open and not self._open.pop():
            self.silent.append("svg")


def _pictures_without_words(place: int | str, html: str) -> Iterator[str]:
    parser = _Pictures()
    parser.feed(html)
    where = f"cell {place}" if isinstance(place, int) else place
    yield from (f"{where}: an {tag} without a description" for tag in parser.silent)


def _code_cells(notebook: Any) -> Iterator[tuple[int, Any]]:
    return ((place, cell) for place, cell in enumerate(notebook.cells) if cell.cell_type == "code")


def _text(lines: str | list[str]) -> str:
    return lines if isinstance(lines, str) else "".join(lines)
