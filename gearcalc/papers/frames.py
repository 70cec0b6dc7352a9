"""Rows become a DataFrame, and a DataFrame rows; where pandas can't be had, a light table stands in.

Of pandas nothing is imported until there is a table to be made.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from math import isnan
from typing import TYPE_CHECKING, Any

from gearcalc.basics import markup
from gearcalc.papers.light_tables import LightTable

if TYPE_CHECKING:
    import pandas as pd


def frame_of(
    rows: Iterable[Mapping[str, Any]], columns: Sequence[str] | None = None, kinds: Mapping[str, str] | None = None
) -> pd.DataFrame:
    """Make a DataFrame of rows, or what stands in for one.

    >>> list(frame_of([{"name": "Ada", "right": 7}]).columns)
    ['name', 'right']

    `columns`: those that it has, in order; left out those of the rows. `kinds`: what they hold, in words of pandas.
    """
    make = _frame_class()
    frame: Any = LightTable(rows, kinds, columns) if make is None else make(list(rows), columns=columns)
    made: pd.DataFrame = frame.astype(kinds) if kinds and make is not None else frame
    return made


@cache
def _frame_class() -> Any:
    """Our kind of DataFrame; None without pandas."""
    pandas = pandas_here()
    if pandas is None:
        return None

    class Frame(pandas.DataFrame):  # type: ignore[misc, name-defined]
        """A DataFrame whose names are no mathematics: a notebook takes what stands between two dollars for that."""

        __qualname__ = "Frame"  # as __getattr__ below has it, for pickle

        @property
        def _constructor(self) -> type[pd.DataFrame]:
            return Frame

        def _repr_html_(self) -> str | None:
            shown = super()._repr_html_()
            return None if shown is None else markup.no_maths(shown)

    return Frame


def __getattr__(name: str) -> Any:
    if name == "Frame" and _frame_class() is not None:
        return _frame_class()
    raise AttributeError(name)


def pandas_here() -> Any:
    """The package pandas, imported now; None where it can't be had."""
    try:
        import pandas
    except ImportError:
        return None
    return pandas


def rows_of(frame: pd.DataFrame | LightTable) -> list[dict[str, Any]]:
    """The rows of either, each from column to value; the index as a column where it has a name, None for nothing."""
    if isinstance(frame, LightTable):
        return [{name: _or_none(value) for name, value in row.items()} for _, row in frame.iterrows()]
    if any(name is not None for name in frame.index.names):
        frame = frame.reset_index()
    values = frame.astype(object).where(frame.notna(), None)
    columns = [str(column) for column in frame.columns]
    return [dict(zip(columns, row, strict=True)) for row in values.itertuples(index=False, name=None)]


def _or_none(value: Any) -> Any:
    return None if isinstance(value, float) and isnan(value) else value
