"""The lessons as they stand, and notebooks made for tests; what makes those loads seconds long, with the first."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from gearcalc.basics.files import notebooks_folder

LESSONS = {path.name[:2]: path for path in sorted(notebooks_folder().glob("[0-9][0-9]_*.ipynb"))}
"""Each lesson by its number."""
WORKBENCH = notebooks_folder() / "workbench.ipynb"
KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}


def sources(path: Path) -> list[tuple[str, str]]:
    """What kind each cell of a notebook is, and its text; read as JSON, which takes no time."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [(cell["cell_type"], "".join(cell["source"])) for cell in cells]


def as_committed(path: Path) -> Any:
    """A notebook that nobody has run."""
    import nbformat

    return nbformat.read(path, as_version=4)


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
