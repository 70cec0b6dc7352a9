"""Lessons run from clean, for a class to read: no answers in them, and the school's own lathe where one is named."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from gearcalc.basics.errors import NotPossibleError, UnknownNameError, quoted
from gearcalc.basics.files import notebooks_folder
from gearcalc.basics.writing import listed
from gearcalc.lathes import Lathe
from gearcalc.learning import answer_book, answer_files, own_lathe
from gearcalc.learning.live import check_on_a_computer
from gearcalc.learning.progress import lesson_paths

SECONDS_A_CELL = 120
_MOST_AT_ONCE = 4
_NUMBERS = re.compile(r"(\d{1,2})(?:[-–](\d{1,2}))?", re.A)
_LEFT_BEHIND = shutil.ignore_patterns(answer_files.FILE_NAME, own_lathe.FILE_NAME, ".*", "__pycache__")


def all_lessons() -> tuple[Path, ...]:
    """Find every lesson, and the workbench after them.

    >>> all_lessons()[1].stem
    '01_one_turn'
    """
    return (*lesson_paths().values(), notebooks_folder() / "workbench.ipynb")


def lessons_named(names: Iterable[str]) -> tuple[Path, ...]:
    """Find the lessons of these names, each once, in the order in which they are named.

    >>> [path.stem[:2] for path in lessons_named(["1", "03-05"])]
    ['01', '03', '04', '05']

    `names`: numbers, from one to another, the name of a notebook, or the file of a lesson of one's own. Raises
    UnknownNameError where there is none.
    """
    return tuple(dict.fromkeys(path for name in names for path in _named(name.strip())))


def _named(name: str) -> Iterator[Path]:
    numbers = _NUMBERS.fullmatch(name)
    known = {path.stem: path for path in sorted(notebooks_folder().glob("*.ipynb"))}
    if Path(name).suffix == ".ipynb" and os.path.isfile(name):
        found = [Path(name).resolve()]
    elif numbers is None:
        found = [path for stem, path in known.items() if name.removesuffix(".ipynb") == stem]
    else:
        first, last = int(numbers[1]), int(numbers[2] or numbers[1])
        numbered = lesson_paths()
        meant = range(first, last + 1) if {first, last} <= set(numbered) else ()
        found = [numbered[number] for number in meant if number in numbered]
    if not found:
        what = "such file" if Path(name).suffix == ".ipynb" else "lesson"
        remedy = f"There are {listed([_short(stem) for stem in known], 'and')}."
        raise UnknownNameError(f"there is no {what} {quoted(name)}", remedy=remedy)
    yield from found


def _short(stem: str) -> str:
    return stem[:2] if stem[:2].isdigit() else stem


def run_lessons(
    lessons: Iterable[Path],
    lathe: Lathe | None = None,
    class_number: int | None = None,
    called: str = own_lathe.FILE_NAME,
) -> Iterator[Any]:
    """Run lessons, some side by side, and hand each on as an executed notebook, in their order.

    ```python
    notebooks = list(run_lessons(lessons_named(["01"])))
    ```

    `lathe`: stands beside them as my_lathe.toml; `class_number`: whose numbers the exercises have, None for nobody's.
    `called`: the file of the lathe, as the lessons name it.
    Raises NotPossibleError where a cell fails or takes longer than two minutes.
    """
    check_on_a_computer("lessons are run")
    pool = ThreadPoolExecutor(min(_MOST_AT_ONCE, os.cpu_count() or 1))
    try:
        yield from pool.map(lambda lesson: _run_one(lesson, lathe, class_number, called), lessons)
    finally:
        pool.shutdown(cancel_futures=True)


def _run_one(lesson: Path, lathe: Lathe | None, class_number: int | None, called: str) -> Any:
    with _clean_folder(lathe, class_number) as folder:
        return _run(lesson, folder, called)


@contextmanager
def _clean_folder(lathe: Lathe | None, class_number: int | None) -> Iterator[Path]:
    """The lessons as they are shipped, with nobody's answers; gone afterwards."""
    with TemporaryDirectory(prefix="gearcalc-handout-", ignore_cleanup_errors=True) as scratch:
        folder = shutil.copytree(notebooks_folder(), Path(scratch) / "lessons", ignore=_LEFT_BEHIND)
        if lathe is not None:
            lathe.save(folder / own_lathe.FILE_NAME)
        if class_number is not None:
            answer_book.AnswerBook(folder / answer_files.FILE_NAME).keep_class_number(class_number)
        yield folder


def _run(lesson: Path, folder: Path, called: str) -> Any:
    """One lesson, executed by this same Python with this same package."""
    import nbformat
    from jupyter_client.kernelspec import KernelSpecManager
    from jupyter_client.manager import AsyncKernelManager
    from nbclient import NotebookClient
    from nbclient.exceptions import CellControlSignal, CellExecutionError, DeadKernelError

    try:
        notebook = nbformat.read(lesson, as_version=4)
    except Exception as problem:  # whatever a file that is no notebook makes of its reader
        raise NotPossibleError(f"this is no notebook that can be read ({problem})"[:200], where=lesson.name) from None
    only_this_python = KernelSpecManager(kernel_dirs=[])
    client = NotebookClient(
        notebook,
        km=AsyncKernelManager(kernel_name="python3", kernel_spec_manager=only_this_python),
        timeout=SECONDS_A_CELL,
        resources={"metadata": {"path": str(folder)}},
    )
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    try:
        client.execute(env={**_environment(folder, lesson.parent), own_lathe.CALLED: called}, **quiet)
    except CellExecutionError as failed:
        raise _stopped(lesson, f"{failed.ename}: {failed.evalue}") from None
    except (CellControlSignal, DeadKernelError, RuntimeError) as failed:
        raise _stopped(lesson, str(failed).strip().partition("\n")[0]) from None
    return notebook


def _stopped(lesson: Path, why: str) -> NotPossibleError:
    return NotPossibleError(
        f"the lesson stopped ({why.rstrip('.')})",
        where=lesson.stem,
        remedy="Open it in JupyterLab and run it, to see where. Only with --lathe FILE is my_lathe.toml beside it.",
    )


def _environment(folder: Path, beside: Path) -> dict[str, str]:
    """This package before any other, what lies beside the lesson, none of the settings of somebody's IPython."""
    package = str(Path(__file__).resolve().parents[2])
    paths = os.pathsep.join(filter(None, (package, str(beside), os.environ.get("PYTHONPATH"))))
    return {**os.environ, "PYTHONPATH": paths, "IPYTHONDIR": str(folder.parent / "ipython")}
