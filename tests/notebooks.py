"""Notebooks made for tests. What makes them takes seconds to load, so it is loaded with the first that is made."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}


def code(source: str, **more: Any) -> Any:
    """A code cell."""
    from nbformat.v4 import new_code_cell

    return new_code_cell(source, **more)


def words(source: str) -> Any:
    """A cell of words."""
    from nbformat.v4 import new_markdown_cell

    return new_markdown_cell(source)


def output(kind: str, *data: Any, **more: Any) -> Any:
    """What a cell has put out."""
    from nbformat.v4 import new_output

    return new_output(kind, *data, **more)


def notebook(cells: Iterable[Any], **metadata: Any) -> Any:
    """A notebook of these cells; a text is the source of a code cell."""
    from nbformat.v4 import new_notebook

    return new_notebook(cells=[code(cell) if isinstance(cell, str) else cell for cell in cells], metadata=metadata)


def write(cells: Iterable[Any], path: Path) -> None:
    """Write a notebook that opens with our kernel."""
    import nbformat

    nbformat.write(notebook(cells, **KERNEL), path)
