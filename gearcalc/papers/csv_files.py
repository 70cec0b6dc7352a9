"""Tables as csv, for a spreadsheet."""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import normalize

from gearcalc.basics.arguments import as_path, plain_text, shown
from gearcalc.basics.errors import ValueOutOfRangeError, quoted, without_controls
from gearcalc.basics.files import save_whole
from gearcalc.papers.frames import pandas_here, rows_of
from gearcalc.papers.light_tables import LightTable

if TYPE_CHECKING:
    import pandas as pd

_BEGINS_A_FORMULA = ("=", "+", "-", "@")  # also behind blanks, which some leave out, and as wide signs


def save_csv(frame: pd.DataFrame | LightTable, path: str | os.PathLike[str]) -> Path:
    """Write a table as csv for a spreadsheet: the gears of a side as '40 30', idlers mesh by mesh as '50 | -'.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.papers.tables import chart
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = save_csv(chart(demo_lathe("inch"), "8 tpi"), f"{folder}/chart.csv")
    ...     print(path.read_text(encoding="utf-8-sig").split(",")[:4])
    ['thread', 'lever', 'drivers', 'driven']

    `frame`: a table of this package; `path`: of a file ending .csv.
    Written beside the file and then put in its place, so that it is never half. UTF-8 with a mark at the start, which
    spreadsheets look for; text that one would take for a formula gets an apostrophe in front.
    Raises ValueOutOfRangeError for what is no DataFrame or another ending than .csv, NotPossibleError where it can't
    be written.
    """
    if not isinstance(frame, LightTable) and not _is_frame(frame):
        raise ValueOutOfRangeError(
            "a table is wanted here", value=shown(frame), remedy="Take what chart() or pitch_error_table() returned."
        )
    path = as_path(path)
    if path.suffix.lower() != ".csv":
        raise ValueOutOfRangeError("this is saved as a file ending .csv", value=path.name)
    if isinstance(frame, LightTable):
        text = _light_csv(frame)
    else:
        named = any(name is not None for name in frame.index.names)
        table = frame.astype(object).map(_csv_cell).rename(index=_csv_cell, columns=_csv_cell)
        text = table.rename_axis(index=_csv_cell).to_csv(index=named)
    return save_whole(path, text.encode("utf-8-sig"), "the table")


def _is_frame(table: object) -> bool:
    pandas = pandas_here()
    return pandas is not None and isinstance(table, pandas.DataFrame)


def _light_csv(table: LightTable) -> str:
    page = io.StringIO()
    rows = (map(_csv_cell, row.values()) for row in rows_of(table))
    csv.writer(page, lineterminator=os.linesep).writerows([map(_csv_cell, table.columns), *rows])
    return page.getvalue()


def _in_words(value: object) -> str:
    return str(value) if _says_itself(value) else quoted(value)


def _says_itself(value: object) -> bool:
    """Whether there are words for it: Python has none for a number of thousands of digits, which would end it all."""
    try:
        str(value)
    except Exception:
        return False
    return True


def _csv_cell(value: Any) -> Any:
    value = plain_text(value)
    if isinstance(value, tuple):
        if not any(isinstance(each, tuple) for each in value):
            return " ".join(map(_in_words, value))
        return " | ".join(" ".join(map(_in_words, mesh)) or "-" for mesh in value) if any(value) else ""
    if not isinstance(value, str):
        return value if _says_itself(value) else quoted(value)
    shown = without_controls(value)
    return f"'{shown}" if normalize("NFKC", value.lstrip()).startswith(_BEGINS_A_FORMULA) else shown
