"""The feeds of a lathe as a table, with the finish that each leaves where a nose radius is given."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

import pandas as pd

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM
from gearcalc.cutting.feed_changes import FeedRow, feed_rows, other_slide_mm
from gearcalc.cutting.turning import finish
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.papers.tables import Frame
from gearcalc.threads import Feed
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT

_COLUMNS = (
    "feed",
    "lever",
    "drivers",
    "driven",
    "idlers",
    "feed_mm",
    "feed_thou",
    "off_percent",
    "is_exact",
    "fits",
    "moved",
    "other_slide_mm",
    "reverse_over",
    "why",
)
_NUMBERS = ("feed_mm", "feed_thou", "off_percent", "other_slide_mm")
_ROUGHNESS = ("rt_um", "ra_um")


def feed_chart(
    lathe: Lathe,
    feeds: Feed | str | Iterable[Feed | str] | None = None,
    *,
    mounted: Setup | Train | str | None = None,
    within_percent: Fraction | float = NEAR_ENOUGH_PERCENT,
    nose_radius_mm: Fraction | float | str | None = None,
) -> pd.DataFrame:
    """Which gears and which lever give which feed, and how much has to be moved from row to row.

    >>> from gearcalc.lathes import demo_lathe
    >>> chart = feed_chart(demo_lathe("metric"), ["0.1 mm/rev", "0.2 mm/rev"], nose_radius_mm=0.8)
    >>> print(chart[["feed", "lever", "drivers", "driven", "moved", "rt_um"]].to_string(index=False))
          feed  lever drivers driven  moved    rt_um
    0.1 mm/rev   slow   (24,)  (30,)   <NA> 1.564029
    0.2 mm/rev medium   (24,)  (30,)      0 6.274607

    `feeds`, `mounted`, `within_percent`: as for feed_charts.feed_rows; None: preferred numbers from 0.05 to 0.315 mm.
    `nose_radius_mm`: of the tool, more than 0 to 1000 mm, for two more columns, rt_um and ra_um; those are empty where
    the feed is wider than the nose.
    Columns: feed (text), lever, drivers, driven, idlers (as a Train has them, a tuple a mesh), feed_mm and feed_thou
    (what the gears give), off_percent (from the feed asked for, positive when coarser), is_exact, fits (empty where
    it is not checked), moved (gears, from the row above), other_slide_mm (what the cross slide does with the same
    gears, or in a row for the cross slide the carriage), reverse_over (whether by the half-nuts the carriage
    goes towards the headstock with the reverse turned over only; empty by a feed drive, of which that isn't known),
    why (there is no setup). Numbers are floats, as shown; the setups behind them are exact.
    Raises ThreadTextError for text that is no feed, ValueOutOfRangeError for numbers outside these.
    """
    if nose_radius_mm is not None:
        finish(Fraction(1, 10**9), nose_radius_mm)  # refused even when there is no row to use it in
    rows = feed_rows(lathe, feeds, mounted, within_percent)
    columns = [*_COLUMNS, *(() if nose_radius_mm is None else _ROUGHNESS)]
    frame = Frame([_cells(lathe, row, nose_radius_mm) for row in rows], columns=columns)
    numbers = {name: "float64" for name in (*_NUMBERS, *_ROUGHNESS) if name in columns}
    return frame.astype(
        {**numbers, "is_exact": "boolean", "fits": "boolean", "reverse_over": "boolean", "moved": "Int64"}
    )


def _cells(lathe: Lathe, row: FeedRow, nose_radius_mm: Any) -> dict[str, Any]:
    cells: dict[str, Any] = {"feed": str(row.feed), "why": row.why}
    setup = row.setup
    if setup is None or setup.feed_mm is None:
        return cells
    other = other_slide_mm(lathe, setup)
    cells |= {
        "lever": setup.lever,
        "drivers": setup.train.drivers,
        "driven": setup.train.driven,
        "idlers": setup.train.idlers,
        "feed_mm": float(setup.feed_mm),
        "feed_thou": float(setup.feed_mm / INCH_MM * 1000),
        "off_percent": row.off_percent,
        "is_exact": setup.is_exact,
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
