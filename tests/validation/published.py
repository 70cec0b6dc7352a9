"""The published figures that tests check against: csv files beside this one, each row with status and source.

S: read in the named source. T: second-hand. M: from memory. C: computed by somebody else, nothing published.
S!= or M!=: the source differs from the formula, or from other reprints of the same table; the note says how.
"""

from __future__ import annotations

import csv
from pathlib import Path

_DATA = Path(__file__).parent / "data"


def rows(name: str, *statuses: str) -> list[dict[str, str]]:
    """The rows of a file, those of the given statuses only where any are given."""
    with (_DATA / f"{name}.csv").open(encoding="utf-8", newline="") as table:
        found = list(csv.DictReader(table))
    return [row for row in found if not statuses or row["status"] in statuses]


def label(row: dict[str, str]) -> str:
    """What a row is called in a test report."""
    return " ".join(value for key, value in row.items() if key in ("thread", "designation", "class", "pitch_mm", "P"))
