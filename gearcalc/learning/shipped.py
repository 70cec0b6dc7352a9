"""What was put into a folder of lessons, remembered there in a hidden file: so a file that nobody wrote in is known."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from pathlib import Path, PurePosixPath

from gearcalc.basics.files import put_in_place
from gearcalc.learning import answer_files, own_lathe

FILE_NAME = ".gearcalc-shipped.json"
_WHAT, _VERSION = "the lessons as gearcalc put them here", 1
_LARGEST_FILE, _MOST_FILES = 1_000_000, 2000
_NEVER_OURS = {answer_files.FILE_NAME, own_lathe.FILE_NAME, "__pycache__"}

Fingerprints = Mapping[str, tuple[str, ...]]
"""By name, of what was put there: first that of the edition that what stands there came from."""


def fingerprint(content: bytes) -> str:
    """Tell a file by its content, and a notebook by its cells alone, which running a lesson leaves as they are.

    >>> lesson = b'{"cells": [{"cell_type": "code", "source": "1 + 1", "outputs": []}]}'
    >>> fingerprint(lesson) == fingerprint(lesson.replace(b"[]", b"[2]")), fingerprint(b"1") == fingerprint(b"2")
    (True, False)
    """
    cells = _cells(content)
    return sha256(content if cells is None else cells).hexdigest()


def remembered(folder: Path) -> Fingerprints | None:
    """What was put into a folder, as far as it is known there; None where nothing is, or what says so is broken.

    Raises OSError where the file is there and can't be read.
    """
    try:
        with (folder / FILE_NAME).open("rb") as file:
            content = json.loads(file.read(_LARGEST_FILE))
        listed = {name: tuple(prints) for name, prints in content["files"].items() if _is_one(name, prints)}
    except (FileNotFoundError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
    return listed if content.get("version") == _VERSION and len(listed) <= _MOST_FILES else None


def remember(folder: Path, files: Fingerprints) -> None:
    """Write down what was put into a folder. Raises OSError."""
    page = {"what": _WHAT, "version": _VERSION, "files": {name: list(prints) for name, prints in files.items()}}
    put_in_place(folder / FILE_NAME, json.dumps(page, indent=1).encode() + b"\n")


def is_never_ours(parts: Iterable[str]) -> bool:
    """Whether a file is the learner's own, or none for anybody: answers, lathe, what is hidden, what Python leaves.

    >>> is_never_ours(("images", "bench.png")), is_never_ours(("answers.json",)), is_never_ours((".idea", "x"))
    (False, True, True)
    """
    return any(part in _NEVER_OURS or part.startswith(".") for part in parts)


def ours_in(folder: Path) -> Iterator[PurePosixPath]:
    """Name the files in a folder of ours that are ours, in order, as they lie in it.

    >>> from gearcalc.basics.files import notebooks_folder
    >>> next(ours_in(notebooks_folder() / "images")).suffix
    '.png'
    """
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        if path.is_file() and not is_never_ours(name.parts):
            yield PurePosixPath(name.as_posix())


def _is_one(name: object, prints: object) -> bool:
    """A name inside the folder, with fingerprints; a file that is wrong leads to nothing outside of it."""
    if not isinstance(name, str) or not isinstance(prints, list) or not all(isinstance(it, str) for it in prints):
        return False
    parts = PurePosixPath(name).parts
    inside = bool(parts) and ".." not in parts and not any(sign in name for sign in "\\:\0") and name[0] != "/"
    return inside and not is_never_ours(parts)


def _cells(content: bytes) -> bytes | None:
    """Kind, source and pasted pictures of each cell; None when it is no notebook."""
    try:
        cells = json.loads(content)["cells"]
        told = [(cell["cell_type"], "".join(cell["source"]), cell.get("attachments") or None) for cell in cells]
        return json.dumps(told).encode()
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None
