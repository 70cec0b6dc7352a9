"""Copy the lessons out of the package to where they can be worked on, never over someone's work, and open them."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import data_folder, in_its_words, notebooks_folder, put_in_place
from gearcalc.learning import answer_book, own_lathe

_MOST_FRESH_COPIES = 99
_LEFT_OUT = {".ipynb_checkpoints", "__pycache__", answer_book.FILE_NAME, own_lathe.FILE_NAME}
"""Nobody's own goes to others."""


@dataclass(frozen=True, slots=True)
class CopiedFile:
    """What became of one file: `name` inside the folder, `kept` when one was there that differs, and `fresh`.

    `fresh`: the name that the fresh copy has; None where what was there is the same and nothing was written.
    """

    name: str
    kept: bool
    fresh: str | None

    def __str__(self) -> str:
        if self.kept:
            return f"{self.name}: yours differs and is kept; the fresh copy beside it is {self.fresh}"
        return f"{self.name}: {'already there' if self.fresh is None else 'copied'}"


def copy_lessons(folder: str | Path) -> list[CopiedFile]:
    """Copy every lesson, with its pictures, into a folder, and say what became of each.

    `folder`: made where it is missing. A file that is there and differs is left alone: the fresh copy is
    written beside it under another name, once. A lesson that has only been run does not count as different.
    Raises GearcalcError when the folder can't be made or written to.
    """
    target = Path(folder)
    try:
        target.mkdir(parents=True, exist_ok=True)
        return [_copy(name, target) for name in _names(notebooks_folder())]
    except (OSError, ValueError) as problem:  # a ValueError for a path that no system takes
        raise GearcalcError(
            f"the lessons can't be copied here ({in_its_words(problem)})",
            where=str(folder),
            remedy="Name a folder that you may write to; nothing that was there is changed.",
        ) from None


def open_lessons(folder: str | Path) -> int:
    """Open the first lesson of a folder in JupyterLab, run by this same Python, until it is closed.

    `folder`: where copy_lessons put them. Returns JupyterLab's exit code; on POSIX it does not return, since this
    process becomes JupyterLab.
    Raises GearcalcError when JupyterLab is not installed in this Python.
    """
    if importlib.util.find_spec("jupyterlab") is None:
        raise GearcalcError(
            "JupyterLab is not installed in this Python",
            remedy=f"Install it: '{sys.executable} -m pip install jupyterlab'.",
        )
    root = Path(folder).resolve()
    first = min((path.name for path in root.glob("*.ipynb")), default="")
    command = [sys.executable, "-m", "jupyterlab"]
    command += [f"--ServerApp.root_dir={root}", f"--LabApp.default_url=/lab/tree/{quote(first)}"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")  # in a container there is nobody else to be
    sys.stdout.flush()
    if os.name == "posix":
        os.execve(command[0], command, _environment())  # this process becomes JupyterLab: Ctrl-C and kill reach it
    return subprocess.run(command, env=_environment(), check=False).returncode


def _environment() -> dict[str, str]:
    """This Python first, for kernels and in a terminal; no news and no look for newer versions: nothing is fetched."""
    ours = str(data_folder() / "jupyter")
    paths = os.pathsep.join(filter(None, (os.environ.get("JUPYTER_CONFIG_PATH"), ours)))
    programs = os.pathsep.join(filter(None, (str(Path(sys.executable).parent), os.environ.get("PATH"))))
    return {**os.environ, "PATH": programs, "JUPYTER_PREFER_ENV_PATH": "1", "JUPYTER_CONFIG_PATH": paths}


def _names(source: Path) -> Iterator[str]:
    for path in sorted(source.rglob("*")):
        if path.is_file() and not _LEFT_OUT.intersection(path.parts):
            yield path.relative_to(source).as_posix()


def _copy(name: str, target: Path) -> CopiedFile:
    content = (notebooks_folder() / name).read_bytes()
    place = target / name
    if not os.path.lexists(place):
        _write(place, content)
        return CopiedFile(name, kept=False, fresh=name)
    if _same(place, content):
        return CopiedFile(name, kept=False, fresh=None)
    for number in range(1, _MOST_FRESH_COPIES + 1):
        beside = place.with_name(f"{place.stem}.fresh{'' if number == 1 else number}{place.suffix}")
        there = os.path.lexists(beside)
        if not there:
            _write(beside, content)
        if not there or _same(beside, content):
            return CopiedFile(name, kept=True, fresh=beside.relative_to(target).as_posix())
    raise GearcalcError(
        f"there are {_MOST_FRESH_COPIES} fresh copies of {name} already, all changed",
        where=str(target),
        remedy="Move those that you don't need elsewhere.",
    )


def _write(place: Path, content: bytes) -> None:
    """Whole or not at all: a copy cut short would look like someone's work the next time."""
    place.parent.mkdir(parents=True, exist_ok=True)
    put_in_place(place, content)


def _same(place: Path, content: bytes) -> bool:
    if not place.is_file():
        return False
    there = place.read_bytes()
    if there == content:
        return True
    cells = _cells(content) if place.suffix == ".ipynb" else None
    return cells is not None and cells == _cells(there)


def _cells(notebook: bytes) -> list[tuple[str, str]] | None:
    """Kind and source of each cell, which running a lesson leaves as they are; None when it is no notebook."""
    try:
        cells = json.loads(notebook)["cells"]
        return [(cell["cell_type"], "".join(cell["source"])) for cell in cells]
    except (ValueError, TypeError, KeyError, RecursionError):
        return None
