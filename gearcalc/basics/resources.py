"""Where data/ and notebooks/ are: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from gearcalc.basics.errors import UnknownNameError

_PACKAGE = Path(__file__).resolve().parent.parent


def data_folder() -> Path:
    """The folder with thread tables and demo lathes.

    >>> (data_folder() / "SOURCES.md").is_file()
    True

    Raises UnknownNameError when this installation has none.
    """
    return _find("data")


def notebooks_folder() -> Path:
    """The folder with the lessons.

    >>> notebooks_folder().is_dir()
    True

    Raises UnknownNameError when this installation has none.
    """
    return _find("notebooks")


@cache
def read_rows(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table in data/, each a mapping from column to text.

    >>> read_rows("threads/ba.csv")[2]["pitch_mm"]
    '0.81'

    `name` is a path inside data/. Raises UnknownNameError when there is no such table.
    """
    path = data_folder() / name
    if not path.is_file():
        raise UnknownNameError("there is no such table in data/", value=name)
    with path.open(encoding="utf-8", newline="") as table:
        return tuple(csv.DictReader(table))


def _find(name: str) -> Path:
    inside, beside = _PACKAGE / name, _PACKAGE.parent / name
    if inside.is_dir():
        return inside
    if (_PACKAGE.parent / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    raise UnknownNameError(f"the folder {name} is missing from this installation", remedy="Install gearcalc again.")
