"""Results as tables: DataFrames to work with, and the same as HTML that a screen reader can follow."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import islice
from math import isnan
from typing import TYPE_CHECKING, Any

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_units, is_several
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, NumberLike, RelativeError, as_fraction
from gearcalc.basics.writing import Units
from gearcalc.cutting.feed_charts import FeedRow, feed_rows, other_slide_mm
from gearcalc.cutting.turning import finish
from gearcalc.finding.mounted import Mounted
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.papers.frames import frame_of, rows_of
from gearcalc.papers.light_tables import LightTable
from gearcalc.pictures.picture import Row, table_html
from gearcalc.planning.charts import ChartRow, chart_rows, threads_cut
from gearcalc.planning.plans import PLANNED_MESHES
from gearcalc.threads import FeedLike, Thread, ThreadLike, as_thread
from gearcalc.threads.deviations import GOOD_ENOUGH, LENGTHS_MM, deviation_um, judge
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT

if TYPE_CHECKING:
    import pandas as pd

_MOST_LENGTHS, _MOST_LISTED = 20, 10_000
_AT, _THOU_AT = "error_um_at_", "error_thou_at_"
_THOU_UM = float(INCH_MM)
_GEARS = ("lever", "drivers", "driven", "idlers")
_CHART = ("thread", *_GEARS, "lead_mm", "error_ppm", "is_exact", "fits", "ok", "moved", "hand", "reverse_over")
_FEEDS = ("feed", *_GEARS, "feed_mm", "feed_thou", "off_percent", "is_exact", "fits", "moved", "other_slide_mm",
          "reverse_over", "why")  # fmt: skip
_ROUGHNESS = ("rt_um", "ra_um")
_APART = "set_apart"


def pitch_error_table(
    setups_or_lathe: Lathe | Setup | Iterable[Setup],
    threads: ThreadLike | Iterable[ThreadLike],
    lengths_mm: NumberLike | Iterable[NumberLike] | None = None,
    units: Units = "mm",
) -> pd.DataFrame:
    """Tabulate how far each thread is off, over several lengths, and how much of its tolerance that uses.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> half = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="middle")
    >>> table = pitch_error_table(half, ["16 tpi", "M12x1.5"], lengths_mm=100)
    >>> list(table.columns)
    ['thread', 'setup', 'error_ppm', 'error_um_at_100mm', 'share_used', 'ok']
    >>> [round(um) for um in table["error_um_at_100mm"]]
    [0, 5833]

    `setups_or_lathe`: a lathe, for the best setup of each thread; or setups, each set against every thread, except
    that a setup made for one of these threads is set against that one only. `threads`: Threads or their texts.
    `lengths_mm`: one length or up to 20, from 0.001 mm; None: 25, 100 and 300 mm, or 1, 4 and 12 inches. `units`: 'mm',
    or 'inch' for columns error_thou_at_<length>in, in thousandths of an inch, in place of µm.
    Columns: thread, setup (text), error_ppm, an error_um_at_<length>mm for each length, share_used (of the
    pitch-diameter tolerance over one diameter of engagement, 1 is all of it) and ok as judge() has them; these two are
    empty where no tolerance is known, and all but the thread where the lathe has no setup for it. Errors are positive
    when the thread comes out too long.
    Raises ThreadTextError for text that is no thread, ValueOutOfRangeError for no setup or no length.
    """
    wanted = [as_thread(thread) for thread in _several(threads, (Thread, str))]
    first = as_units(units)
    lengths = _columns_of(LENGTHS_MM[first] if lengths_mm is None else lengths_mm, first)
    if isinstance(setups_or_lathe, Lathe):
        best = (find_setups(setups_or_lathe, thread, count=1) for thread in wanted)
        pairs = [(thread, found[0] if found else None) for thread, found in zip(wanted, best, strict=True)]
    else:
        setups = [_checked(setup) for setup in _several(setups_or_lathe, (Setup,))]
        pairs = [(t, each) for t in wanted for each in setups if each.wanted == t or each.wanted not in wanted]
    rows = [_error_row(thread, setup, lengths) for thread, setup in pairs]
    return _frame(rows, ["thread", "setup", "error_ppm", *lengths, "share_used", "ok"])


def chart(
    lathe: Lathe,
    threads: ThreadLike | Iterable[ThreadLike] | None = None,
    within_ppm: NumberLike | None = GOOD_ENOUGH,
    meshes: int | Iterable[int] = PLANNED_MESHES,
) -> pd.DataFrame:
    """List every thread that one cares about on this lathe: gears, lever, lead, error, verdict, gears to move.

    >>> from gearcalc.lathes import demo_lathe
    >>> table = chart(demo_lathe("inch"), ["8 tpi", "9 tpi", "UNC"])
    >>> list(table.columns)[:8]
    ['thread', 'lever', 'drivers', 'driven', 'idlers', 'lead_mm', 'error_ppm', 'is_exact']
    >>> table.loc[1, "driven"], int(table.loc[1, "moved"])
    ((45,), 1)

    `lathe`: a Lathe. `threads`: Threads, texts, or names of standard series ('metric coarse', 'UNC' ..., see
    threads/series.py), 1 to 300 in all; the rows are in that order. Chosen as a whole: among setups as simple as the
    simplest within it, those that leave most gears where they stand from row to row. None: every thread of the tables,
    each by itself, exact where it can be; the rest of a row is empty where no setup is within it.
    `within_ppm`: how far off a setup may be, 0 (exact) or more; 'good enough': as chart_rows() has it; None: no limit.
    Where none is within it, the nearest is shown, which within a number that was asked for is not ok.
    `meshes`: numbers of driver–driven pairs, 1 to 4.
    Columns after those above: set_apart, behind the gears and only where the tooth counts of some row don't tell them:
    what does, in words, as a train writes it ('second mesh of module 1'); fits (empty without a bracket); ok, as
    judge() has it, empty where no tolerance is known, False where nothing goes on or it is off by more than a number
    asked for; moved, the gears to move from the row above (places that hold another, are filled or left empty), empty
    in the first; hand, the hand that is cut; reverse_over, whether that takes the reverse turned over from how the file
    describes it.
    Gears are tuples as a Train has them; where no train serves, all of these are empty.
    Raises ValueOutOfRangeError, ThreadTextError and UnknownNameError as chart_rows() does.
    """
    asked = within_ppm, meshes
    return chart_frame(threads_cut(lathe, *asked) if threads is None else chart_rows(lathe, threads, *asked))


def chart_frame(rows: Iterable[ChartRow]) -> pd.DataFrame:
    """Make the table of rows that chart_rows() gave, as chart() has it."""
    cells = list(map(_chart_cells, rows))
    return _frame(cells, _marked(_CHART, cells))


def _marked(columns: Sequence[str], cells: Iterable[Mapping[str, Any]]) -> list[str]:
    """These columns, behind the gears one for what the tooth counts don't tell, where they don't tell all."""
    behind = columns.index("idlers") + 1
    apart = [_APART] if any(cell.get(_APART) for cell in cells) else []
    return [*columns[:behind], *apart, *columns[behind:]]


def feed_chart(
    lathe: Lathe,
    feeds: FeedLike | Iterable[FeedLike] | None = None,
    *,
    mounted: Mounted | None = None,
    within_percent: NumberLike = NEAR_ENOUGH_PERCENT,
    nose_radius_mm: NumberLike | None = None,
) -> pd.DataFrame:
    """List which gears and which lever give which feed, and how much has to be moved from row to row.

    >>> from gearcalc.lathes import demo_lathe
    >>> chart = feed_chart(demo_lathe("metric"), ["0.1 mm/rev", "0.2 mm/rev"], nose_radius_mm=0.8)
    >>> print(chart[["feed", "lever", "drivers", "driven", "moved", "rt_um"]].to_string(index=False))
          feed  lever drivers driven  moved    rt_um
    0.1 mm/rev   slow   (24,)  (30,)   <NA> 1.564029
    0.2 mm/rev medium   (24,)  (30,)      0 6.274607

    `lathe`: a Lathe. `feeds`, `mounted`, `within_percent`: as for feed_charts.feed_rows; None: preferred numbers from
    0.05 to 0.315 mm.
    `nose_radius_mm`: of the tool, more than 0 to 1000 mm, for two more columns, rt_um and ra_um; those are empty where
    the feed is wider than the nose.
    Columns: feed (text), lever, drivers, driven, idlers (as a Train has them, a tuple a mesh), set_apart (as for
    chart()), feed_mm and feed_thou
    (what the gears give), off_percent (from the feed asked for, positive when coarser), is_exact, fits (empty where
    it is not checked), moved (gears to move from the row above), other_slide_mm
    (what the cross slide does with the same gears, or in a row for the cross slide the carriage), reverse_over
    (whether by the half-nuts the carriage goes towards the headstock with the reverse turned over only; empty by a
    feed drive, of which that isn't known), why (there is no setup). Numbers are floats, as shown; the setups behind
    them are exact.
    Raises ThreadTextError for text that is no feed, ValueOutOfRangeError for numbers outside these.
    """
    if nose_radius_mm is not None:
        finish(Fraction(1, 10**9), nose_radius_mm)  # refused even when there is no row to use it in
    rows = feed_rows(lathe, feeds, mounted, within_percent)
    cells = [_feed_cells(row, nose_radius_mm) for row in rows]
    return _frame(cells, [*_marked(_FEEDS, cells), *(() if nose_radius_mm is None else _ROUGHNESS)])


@frozen
class Table:
    """Rows with a caption, shown as HTML without an empty heading. Made by captioned().

    `rows`: headings and values in words, for a Picture's table too.
    """

    rows: Sequence[Row]
    caption: str
    note: str = ""

    def __str__(self) -> str:
        columns = [[head, *(_cell(row[head]) for row in self.rows)] for head in (self.rows[0] if self.rows else ())]
        aligned = [[cell.rjust(max(map(len, column))) for cell in column] for column in columns]
        return "\n".join([self.caption, *map("  ".join, zip(*aligned, strict=True))])

    def _repr_html_(self) -> str:
        below = f"<p><small>{markup.plain(self.note).html}</small></p>" if self.note else ""
        if not self.rows:
            return f"<p>{markup.plain(self.caption).html}: nothing to show.</p>{below}"
        return table_html(self.rows, self.caption) + below


def captioned(table: pd.DataFrame | LightTable | Sequence[Row], caption: str, note: str = "") -> Table:
    """A table for a notebook page: caption, headings with scope, no empty corner, all escaped.

    >>> shown = captioned([{"thread": "M10", "error_ppm": 125.0}], "Pitch error")
    >>> shown._repr_html_().count('scope="col"')
    2
    >>> [dict(row) for row in shown.rows][0]["thread"]
    'M10'

    `table`: any DataFrame, its index shown as the first column where it has a name; or rows, each a mapping from column
    to value. `caption`: what it is a table of, not empty. Columns named as in pitch_error_table get headings in words
    and units. Raises ValueOutOfRangeError for a caption that is empty.
    """
    if not isinstance(caption, str) or not caption.strip():
        raise ValueOutOfRangeError("a table needs a caption", value=repr(caption))
    rows = table if isinstance(table, Sequence) else rows_of(table)
    return Table([{_heading(name): _shown(name, value) for name, value in row.items()} for row in rows], caption, note)


def _frame(rows: Iterable[Mapping[str, Any]], columns: Sequence[str]) -> pd.DataFrame:
    kinds = {name: "float64" if name.startswith((_AT, _THOU_AT)) else _COLUMNS.get(name, _TEXT)[0] for name in columns}
    return frame_of(rows, columns, kinds)


def _chart_cells(row: ChartRow) -> dict[str, Any]:
    cells: dict[str, Any] = {"thread": str(row.thread), "ok": row.ok}
    setup = row.setup
    if setup is None:
        return cells
    lead = {"lead_mm": float(setup.lead_mm), "error_ppm": setup.error_ppm}
    turned = {"hand": setup.hand, "reverse_over": setup.reverse_over}
    return cells | _gear_cells(setup) | lead | turned | {"fits": row.fits, "moved": row.moved}


def _feed_cells(row: FeedRow, nose_radius_mm: Any) -> dict[str, Any]:
    cells: dict[str, Any] = {"feed": str(row.feed), "why": row.why}
    setup = row.setup
    if setup is None or setup.feed_mm is None:
        return cells
    other = other_slide_mm(setup)
    cells |= _gear_cells(setup) | {
        "feed_mm": float(setup.feed_mm),
        "feed_thou": float(setup.feed_mm / INCH_MM * 1000),
        "off_percent": row.off_percent,
        "fits": None if setup.fit is None else setup.fit.goes_on,
        "moved": row.moved,
        "other_slide_mm": None if other is None else float(other),
        "reverse_over": setup.reverse_over if setup.way_known else None,
    }
    if nose_radius_mm is not None:
        try:
            made = finish(setup, nose_radius_mm)
        except ValueOutOfRangeError:  # wider than the nose, which the empty cells say
            return cells
        cells |= {"rt_um": made.rt_um, "ra_um": made.ra_um}
    return cells


def _gear_cells(setup: Setup) -> dict[str, Any]:
    train, apart = setup.train, ", ".join(setup.train.apart) or None
    gears = {"drivers": train.drivers, "driven": train.driven, "idlers": train.idlers}
    return {"lever": setup.lever, **gears, _APART: apart, "is_exact": setup.is_exact}


def _several(given: Any, single: tuple[type, ...]) -> Sequence[Any]:
    if isinstance(given, single):
        return [given]
    if not is_several(given):
        raise ValueOutOfRangeError(f"this takes one or several of {single[0].__name__}", value=given)
    listed = list(islice(given, _MOST_LISTED + 1))
    if len(listed) > _MOST_LISTED:
        raise ValueOutOfRangeError(f"this takes at most {_MOST_LISTED} of {single[0].__name__}")
    return listed


def _checked(setup: object) -> Setup:
    if not isinstance(setup, Setup):
        raise ValueOutOfRangeError(
            "a pitch error table is made of a lathe or of setups",
            value=setup,
            remedy="Make a setup with gearcalc.setup or gearcalc.find_setups.",
        )
    return setup


def _columns_of(lengths_mm: Any, units: Units) -> dict[str, Fraction]:
    """Column name -> length, each one checked even when there is no row to use it in."""
    given = islice(lengths_mm, _MOST_LENGTHS + 1) if is_several(lengths_mm) else [lengths_mm]
    lengths = [as_fraction(length, what="the length") for length in given]
    if not 1 <= len(lengths) <= _MOST_LENGTHS:
        raise ValueOutOfRangeError(f"a pitch error table takes 1 to {_MOST_LENGTHS} lengths")
    for length in lengths:
        deviation_um(0, length)
    if units == "inch":
        return {f"{_THOU_AT}{writing.decimal(length / INCH_MM, 4)}in": length for length in lengths}
    return {f"{_AT}{writing.decimal(length, 3)}mm": length for length in lengths}


def _error_row(thread: Thread, setup: Setup | None, lengths: dict[str, Fraction]) -> dict[str, Any]:
    if setup is None:
        return {"thread": str(thread), "setup": None}
    error = RelativeError(setup.lead_mm, thread.lead)
    verdict = judge(thread, error)
    off = {
        column: deviation_um(error, length) / (_THOU_UM if column.startswith(_THOU_AT) else 1)
        for column, length in lengths.items()
    }
    said = {"thread": str(thread), "setup": setup.gears_and_lever, "error_ppm": error.ppm}
    return {**said, **off, "share_used": verdict.share_used, "ok": verdict.ok}


def _row_of_gears(teeth: Any) -> str:
    return " · ".join(map(str, teeth)) or "none"


def _idlers_by_mesh(meshes: Sequence[Sequence[int]]) -> str:
    return " | ".join(" · ".join(map(str, mesh)) or "–" for mesh in meshes) if any(meshes) else "none"


def _rounded(places: int) -> Callable[[float], str]:
    return lambda x: writing.decimal(float(x), places)


def _as_it_is(value: Any) -> Any:
    return value.item() if hasattr(value, "item") else value


_TEXT = ("object", "", _as_it_is)
_COLUMNS: dict[str, tuple[str, str, Callable[[Any], Any]]] = {
    "drivers": ("object", "drivers", _row_of_gears),
    "driven": ("object", "driven", _row_of_gears),
    "idlers": ("object", "idlers", _idlers_by_mesh),
    "lead_mm": ("float64", "lead mm", _as_it_is),
    "error_ppm": ("float64", "error", writing.error),
    "share_used": ("float64", "share of tolerance used", writing.percent),
    "is_exact": ("boolean", "is exact", bool),
    "fits": ("boolean", "fits", bool),
    "ok": ("boolean", "good enough", bool),
    "moved": ("Int64", "gears moved", int),
    "reverse_over": ("boolean", "reverse over", bool),
    "feed_mm": ("float64", "feed given, mm", _rounded(4)),
    "feed_thou": ("float64", "feed given, thou", _rounded(2)),
    "off_percent": ("float64", "off by, per cent", lambda x: writing.signed(float(x))),
    "other_slide_mm": ("float64", "other slide, mm", _rounded(4)),
    "rt_um": ("float64", "Rt, µm", _rounded(2)),
    "ra_um": ("float64", "Ra, µm", _rounded(2)),
}
"""What a column holds, its heading, and how a value in it is said; all others are text or numbers as they come."""


def _heading(column: str) -> str:
    if column.startswith(_AT):
        return "over " + column.removeprefix(_AT).replace("mm", " mm")
    if column.startswith(_THOU_AT):
        return "over " + column.removeprefix(_THOU_AT).replace("in", " in")
    return _COLUMNS[column][1] if column in _COLUMNS else column.replace("_", " ")


def _shown(column: str, value: Any) -> Any:
    if value is None or (isinstance(value, float) and isnan(value)):
        return None
    if column.startswith(_AT):
        return writing.micrometres(value)
    if column.startswith(_THOU_AT):
        return both_units.off(value * _THOU_UM, "inch")
    return _COLUMNS.get(column, _TEXT)[2](value)


def _cell(value: object) -> str:
    return "–" if value is None else ("no", "yes")[value] if isinstance(value, bool) else str(value)
