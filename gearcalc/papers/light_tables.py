"""A table that stands in for a DataFrame where pandas can't be had: the same columns, and what is asked of them first.

>>> table = LightTable([{"thread": "M8", "error_ppm": 12.5}, {"thread": "M10"}], {"error_ppm": "float64"})
>>> print(table[table["error_ppm"] > 10].to_string(index=False))
thread  error_ppm
    M8       12.5

Whatever else a DataFrame has is refused in words that say what to install.
"""

from __future__ import annotations

import operator
from collections import namedtuple
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import isnan, nan
from typing import Any

from gearcalc.basics import markup
from gearcalc.basics.errors import NotPossibleError
from gearcalc.pictures.picture import table_html

_MOST_SHOWN = 60  # rows, as pandas has it; of more the first and the last
_AT_EACH_END = 5
_PLACES = 6


class NeedsPandasError(NotPossibleError, AttributeError):
    """A light table is asked for something that only a DataFrame has."""


class Column:
    """One column: its values in order, each behind the label of its row."""

    def __init__(self, name: str, labels: Sequence[int], values: Sequence[Any], kind: str = "object") -> None:
        self.name, self.index, self.values, self._kind = name, tuple(labels), tuple(values), kind

    def __len__(self) -> int:
        return len(self.values)

    def __iter__(self) -> Iterator[Any]:
        return iter(self.values)

    def __getitem__(self, asked: Any) -> Any:
        """By the label of a row, or those for which another column says so."""
        if isinstance(asked, (Column, list)):
            places = _true_places(asked, len(self))
            return Column(self.name, [self.index[n] for n in places], [self.values[n] for n in places], self._kind)
        return self.values[self.index.index(asked)]

    def tolist(self) -> list[Any]:
        """The values as a list."""
        return list(self.values)

    def isna(self) -> Column:
        """Where nothing stands."""
        return self._each(_is_empty)

    def notna(self) -> Column:
        """Where something stands."""
        return self._each(lambda value: not _is_empty(value))

    def isin(self, several: Iterable[Any]) -> Column:
        """Where one of these stands."""
        those = list(several)
        return self._each(lambda value: value in those)

    def abs(self) -> Column:
        """Each without its sign."""
        return self._each(lambda value: value if _is_empty(value) else abs(value), self._kind)

    def sum(self) -> Any:
        """All together, the empty ones left out."""
        return sum(self._there())

    def min(self) -> Any:
        """The least, the empty ones left out."""
        return min(self._there())

    def max(self) -> Any:
        """The most, the empty ones left out."""
        return max(self._there())

    def all(self) -> bool:
        """Whether each is true, the empty ones left out."""
        return all(self._there())

    def any(self) -> bool:
        """Whether one is true, the empty ones left out."""
        return any(self._there())

    def _there(self) -> list[Any]:
        return [value for value in self.values if not _is_empty(value)]

    def _each(self, said: Callable[[Any], Any], kind: str = "boolean") -> Column:
        return Column(self.name, self.index, [said(value) for value in self.values], kind)

    def _against(self, other: Any, by: Callable[[Any, Any], Any]) -> Column:
        others = other.values if isinstance(other, Column) else [other] * len(self)
        unequal = by is operator.ne
        pairs = zip(self.values, others, strict=True)
        said = [unequal if _is_empty(one) or _is_empty(two) else by(one, two) for one, two in pairs]
        return Column(self.name, self.index, said, "boolean")

    def __eq__(self, other: object) -> Column:  # type: ignore[override]
        return self._against(other, operator.eq)

    def __ne__(self, other: object) -> Column:  # type: ignore[override]
        return self._against(other, operator.ne)

    __hash__ = None  # type: ignore[assignment]

    def __lt__(self, other: Any) -> Column:
        return self._against(other, operator.lt)

    def __le__(self, other: Any) -> Column:
        return self._against(other, operator.le)

    def __gt__(self, other: Any) -> Column:
        return self._against(other, operator.gt)

    def __ge__(self, other: Any) -> Column:
        return self._against(other, operator.ge)

    def __and__(self, other: Any) -> Column:
        return self._against(other, lambda one, two: one and two)

    def __or__(self, other: Any) -> Column:
        return self._against(other, lambda one, two: one or two)

    def __invert__(self) -> Column:
        return self._each(lambda value: False if _is_empty(value) else not value)

    def __bool__(self) -> bool:
        raise NotPossibleError("a whole column is neither true nor false", remedy="Ask whether all of it is, or any.")

    def __repr__(self) -> str:
        said = _written(self.values, self._kind)
        width = max((len(str(label)) for label in self.index), default=0)
        return "\n".join(f"{label!s:>{width}}  {value}" for label, value in zip(self.index, said, strict=True))

    def __getattr__(self, name: str) -> Any:
        raise _only_pandas("a column", name)


class LightTable:
    """Rows under columns, asked for as a DataFrame is.

    `rows`: each a mapping from column to value; `kinds`: of the columns that hold no mere text, 'float64', 'Int64' or
    'boolean'; `columns`: in their order, left out those of the rows; `labels`: of the rows, left out 0, 1, 2 ...
    """

    def __init__(
        self,
        rows: Iterable[Mapping[str, Any]],
        kinds: Mapping[str, str] | None = None,
        columns: Sequence[str] | None = None,
        labels: Sequence[int] | None = None,
    ) -> None:
        given = list(rows)
        self.columns = tuple(dict.fromkeys(name for row in given for name in row) if columns is None else columns)
        self._kinds = dict(kinds or {})
        self._rows = [{name: _as_kept(row.get(name, nan), self._kind(name)) for name in self.columns} for row in given]
        self.index = tuple(range(len(given)) if labels is None else labels)

    @property
    def empty(self) -> bool:
        """Whether there is no row, or no column."""
        return not (self._rows and self.columns)

    @property
    def shape(self) -> tuple[int, int]:
        """How many rows, how many columns."""
        return len(self._rows), len(self.columns)

    @property
    def loc(self) -> _Places:
        """Rows by label: one, several, a range with its end, or where a column says so; then columns by name."""
        return _Places(self, self._by_label, self._named)

    @property
    def iloc(self) -> _Places:
        """Rows by where they stand, from 0: one, a range, or a list; then columns likewise."""
        return _Places(self, lambda asked: _by_place(asked, len(self)), self._numbered)

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self) -> Iterator[str]:
        return iter(self.columns)

    def __contains__(self, name: object) -> bool:
        return name in self.columns

    def __getitem__(self, asked: Any) -> Any:
        """A column by its name, a table of some columns by a list, or rows for which a column says so."""
        if isinstance(asked, str):
            return self._column(asked)
        if _are_answers(asked):
            return self._some(_true_places(asked, len(self)))
        if isinstance(asked, slice):
            return self._some(range(len(self))[asked])
        return self._some(range(len(self)), self._named(asked))

    def head(self, n: int = 5) -> LightTable:
        """The first rows."""
        return self._some(range(len(self))[:n])

    def tail(self, n: int = 5) -> LightTable:
        """The last rows."""
        return self._some(range(len(self))[-n:] if n else ())

    def iterrows(self) -> Iterator[tuple[int, Mapping[str, Any]]]:
        """Each row behind its label."""
        return zip(self.index, (dict(row) for row in self._rows), strict=True)

    def itertuples(self, index: bool = True, name: str | None = "Pandas") -> Iterator[tuple[Any, ...]]:
        """Each row as a tuple whose entries are called as the columns are."""
        front = ["Index"] if index else []
        kind = namedtuple(name, [*front, *self.columns], rename=True) if name else None
        for label, row in zip(self.index, self._rows, strict=True):
            entries = ([label] if index else []) + list(row.values())
            yield kind(*entries) if kind is not None else tuple(entries)

    def to_dict(self, orient: str = "dict") -> Any:
        """The rows, for orient='records'."""
        if orient != "records":
            raise _only_pandas("a table", f'to_dict("{orient}")')
        return [dict(row) for row in self._rows]

    def to_string(self, index: bool = True) -> str:
        """All of it as text, in columns."""
        if self.empty:
            return f"Empty table\nColumns: {', '.join(self.columns)}"
        columns = [[name, *self._said(name)] for name in self.columns]
        if index:
            columns.insert(0, ["", *map(str, self.index)])
        widths = [max(map(len, column)) for column in columns]
        lines = zip(*columns, strict=True)
        return "\n".join("  ".join(map(str.rjust, line, widths)) for line in lines)

    def __repr__(self) -> str:
        return self.to_string()

    def _repr_html_(self) -> str:
        if self.empty:
            return f"<p>No rows. Columns: {markup.in_html(', '.join(self.columns))}</p>"
        written = {"row": map(str, self.index), **{name: self._said(name) for name in self.columns}}
        rows = [dict(zip(written, said, strict=True)) for said in zip(*written.values(), strict=True)]
        if len(rows) <= _MOST_SHOWN:
            return table_html(rows)
        left_out = dict.fromkeys(rows[0], "…")
        some = table_html([*rows[:_AT_EACH_END], left_out, *rows[-_AT_EACH_END:]])
        return f"{some}<p>{len(self)} rows × {len(self.columns)} columns</p>"

    def __getattr__(self, name: str) -> Any:
        if name in self.__dict__.get("columns", ()):
            return self._column(name)
        raise _only_pandas("a table", name)

    def _kind(self, name: str) -> str:
        return self._kinds.get(name, "object")

    def _values(self, name: str) -> list[Any]:
        return [row[name] for row in self._rows]

    def _said(self, name: str) -> list[str]:
        return _written(self._values(name), self._kind(name))

    def _column(self, name: str) -> Column:
        (name,) = self._named(name)
        return Column(name, self.index, self._values(name), self._kind(name))

    def _named(self, asked: Any) -> list[str]:
        if isinstance(asked, slice):
            ends = [None if end is None else self.columns.index(end) for end in (asked.start, asked.stop)]
            return list(self.columns[ends[0] : None if ends[1] is None else ends[1] + 1])
        names = [asked] if isinstance(asked, str) else list(asked)
        for name in names:
            if name not in self.columns:
                raise KeyError(name)
        return names

    def _numbered(self, asked: Any) -> list[str]:
        return [self.columns[place] for place in _by_place(asked, len(self.columns))]

    def _by_label(self, asked: Any) -> Sequence[int]:
        if _are_answers(asked):
            return _true_places(asked, len(self))
        if isinstance(asked, slice):
            first, last = asked.start, asked.stop
            inside = [(first is None or label >= first) and (last is None or label <= last) for label in self.index]
            return _true_places(inside, len(self))
        labels = [asked] if isinstance(asked, int) else list(asked)
        if missing := [label for label in labels if label not in self.index]:
            raise KeyError(missing[0])
        return [self.index.index(label) for label in labels]

    def _some(self, places: Iterable[int], columns: Sequence[str] | None = None) -> LightTable:
        chosen = list(places)
        rows = [self._rows[place] for place in chosen]
        names = self.columns if columns is None else columns
        return LightTable(rows, self._kinds, names, [self.index[place] for place in chosen])


class _Places:
    """What .loc and .iloc are: rows, or rows and columns, in square brackets."""

    def __init__(
        self, table: LightTable, rows: Callable[[Any], Sequence[int]], columns: Callable[[Any], list[str]]
    ) -> None:
        self._table, self._rows, self._columns = table, rows, columns

    def __getitem__(self, asked: Any) -> Any:
        which, what = asked if isinstance(asked, tuple) else (asked, slice(None))
        found = self._table._some(self._rows(which), self._columns(what))
        one_row, one_column = isinstance(which, int), isinstance(what, (str, int))
        if one_row and one_column:
            return found._rows[0][found.columns[0]]
        if one_row:
            return dict(found._rows[0])
        return found._column(found.columns[0]) if one_column else found


def _by_place(asked: Any, count: int) -> Sequence[int]:
    if isinstance(asked, (int, slice)):
        found = range(count)[asked]
        return [found] if isinstance(found, int) else found
    return [range(count)[place] for place in asked]


def _are_answers(asked: Any) -> bool:
    """Whether rows are chosen by a yes or no for each."""
    listed = isinstance(asked, list) and len(asked) > 0
    return isinstance(asked, Column) or (listed and all(isinstance(each, bool) for each in asked))


def _true_places(said: Iterable[Any], count: int) -> list[int]:
    listed = list(said)
    if len(listed) != count:
        raise NotPossibleError(f"rows are chosen by {count} answers, one for each", value=len(listed))
    return [place for place, each in enumerate(listed) if not _is_empty(each) and each]


def _is_empty(value: object) -> bool:
    return value is None or (isinstance(value, float) and isnan(value))


def _as_kept(value: Any, kind: str) -> Any:
    if kind == "object":  # where a row has no such entry it is NaN, and None where it says None, as in pandas
        return value
    if _is_empty(value):
        return nan if kind == "float64" else None
    return float(value) if kind == "float64" else value


def _written(values: Sequence[Any], kind: str) -> list[str]:
    """Each value as pandas writes it: floats of a column all to so many places as the longest of them needs."""
    if kind == "object":
        return ["NaN" if isinstance(value, float) and isnan(value) else str(value) for value in values]
    if kind != "float64":
        return ["<NA>" if _is_empty(value) else str(value) for value in values]
    there = [value for value in values if not _is_empty(value)]
    fixed = [f"{x:.{_PLACES}f}" for x in there]
    spare = min((len(said) - len(said.rstrip("0")) for said in fixed), default=0)
    fixed = [said[: len(said) - min(spare, _PLACES - 1)] for said in fixed]
    large, small = any(abs(x) > 1e6 for x in there), any(0 < abs(x) < 10**-_PLACES for x in there)
    if small or (large and max(map(len, fixed)) > 2 * _PLACES):
        fixed = [f"{x:.{_PLACES}e}" for x in there]
    written = iter(fixed)
    return ["NaN" if _is_empty(value) else next(written) for value in values]


def _only_pandas(what: str, name: str) -> Exception:
    if name.startswith("_"):  # asked by Python or a notebook, which go on without it
        return AttributeError(name)
    return NeedsPandasError(
        f"{what} has no {name} here: that is a part of pandas, which can't be had",
        remedy="Install gearcalc on a computer, as its README says, and it is there.",
    )
