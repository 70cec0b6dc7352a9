"""Worked change-gear trains of the old textbooks: the search finds each, and it cuts what the book says.

Sources, row by row in data/worked_trains.csv: F. D. Jones, Turning and Boring (1914); J. Rose, Modern Machine-Shop
Practice (1887-88); and books whose author is given from memory, which the file says. All rows were read in the source
(status S).
"""

from __future__ import annotations

from fractions import Fraction

from gearcalc.finding.search import find_setups
from gearcalc.lathes import Lathe
from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.published import rows

WORKED = rows("worked_trains", "S")
INCH_MM = Fraction(127, 5)
# Every size that these books speak of is between these, by fives, and so is the set of Jones, p. 170 (30 to 100).
OTHER_GEARS = range(30, 105, 5)

each_worked = in_one("row", WORKED, say=lambda row: row["id"])


def teeth(side: str) -> tuple[int, ...]:
    return tuple(sorted(map(int, side.split("x"))))


def a_lathe(leadscrew: str, gears: tuple[int, ...]) -> Lathe:
    return Lathe.from_toml(f'name = "Of the book"\nleadscrew.lead = "{leadscrew}"\ngears.teeth = {list(gears)}')


def published(row: dict[str, str]) -> Thread:
    """What the book says that is cut; where it rounds a lead in inches, the lead that its train cuts exactly."""
    result = row["published_result"]
    if not result.endswith(" in"):
        return Thread.parse(result)
    screw = Fraction(row["leadscrew"].removesuffix(" tpi"))
    return Thread.parse(f"lead {Fraction(row['ratio']) / screw} in")


class TestWorkedTrains:
    @each_worked
    def test_found_on_a_lathe_with_just_those_gears(self, row):
        drivers, driven = teeth(row["drivers"]), teeth(row["driven"])
        lathe = a_lathe(row["leadscrew"], drivers + driven)
        best = find_setups(lathe, published(row), count=1)[0]
        assert best.is_exact
        assert (drivers, driven) == (tuple(sorted(best.train.drivers)), tuple(sorted(best.train.driven)))
        assert Fraction(row["ratio"]) == best.train.ratio

    @each_worked
    def test_found_among_the_gears_of_a_whole_set(self, row):
        drivers, driven = teeth(row["drivers"]), teeth(row["driven"])
        gears = tuple(sorted({*OTHER_GEARS, *drivers, *driven}))
        lathe = a_lathe(row["leadscrew"], gears)
        found = find_setups(lathe, published(row), meshes=len(drivers), count=10_000, within_ppm=0)
        sides = [(tuple(sorted(each.train.drivers)), tuple(sorted(each.train.driven))) for each in found]
        assert sides.count((drivers, driven)) == 1

    def test_the_rounded_lead_of_jones(self):
        row = next(row for row in WORKED if row["id"] == "J9")
        assert row["published_result"] == f"{float(published(row).lead / INCH_MM):.6f} in"
