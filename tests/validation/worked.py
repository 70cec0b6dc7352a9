"""A worked train of a textbook, or one computed elsewhere, as a lathe with just those gears."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.lathes import Lathe

INCH_MM = Fraction(127, 5)  # the international inch, 1959

Gears = tuple[int, ...]


def gears(side: str) -> Gears:
    return tuple(map(int, side.split("x")))


def lathe_of(row: dict[str, str]) -> Lathe:
    owned = list(gears(row["drivers"]) + gears(row["driven"]))
    return Lathe.from_toml(f'name = "Just these gears"\nleadscrew.lead = "{row["leadscrew"]}"\ngears.teeth = {owned}')


def lead_mm(said: str) -> Fraction:
    """The lead that a source states as '7 tpi', '3 mm' or '0.2 in', in mm."""
    value, unit = said.split()
    return {"tpi": INCH_MM / Fraction(value), "mm": Fraction(value), "in": INCH_MM * Fraction(value)}[unit]


def with_one_missing(drivers: Gears, driven: Gears):
    """Each gear in turn, and the train without it."""
    for place, teeth in enumerate(drivers):
        yield teeth, (*drivers[:place], None, *drivers[place + 1 :]), driven
    for place, teeth in enumerate(driven):
        yield teeth, drivers, (*driven[:place], None, *driven[place + 1 :])
