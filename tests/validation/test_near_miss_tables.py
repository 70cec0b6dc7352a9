"""Against the tables in data/: computed by somebody else, no published figure (status: C)."""

import csv
from fractions import Fraction
from pathlib import Path

import pytest

from gearcalc.basics.exact import Exact, PiMultiple, RelativeError
from gearcalc.finding.fractions import NearFraction, best_fractions, convergents
from gearcalc.finding.stand_ins import stand_ins
from tests.how_much import in_one

DATA = Path(__file__).parent / "data"

TARGETS: dict[str, Exact] = {
    "1.27": Fraction(127, 100),
    "25.4": Fraction(127, 5),
    "10/25.4 = 50/127": Fraction(50, 127),
    "pi": PiMultiple(Fraction(1)),
    "pi/2": PiMultiple(Fraction(1, 2)),
    "pi/25.4": PiMultiple(Fraction(5, 127)),
}


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as table:
        found = list(csv.DictReader(table))
    assert {row["status"] for row in found} == {"C"}
    return found


def ratio(text: str) -> Fraction:
    return Fraction(text)


CONTINUED = rows("continued_fractions.csv")


class TestContinuedFractions:
    def test_every_target_is_known(self):
        assert {row["target"] for row in CONTINUED} <= set(TARGETS) | {"pi"}

    @in_one("row", CONTINUED)
    def test_row(self, row):
        fraction = ratio(row["fraction"])
        found: dict[Fraction, NearFraction] = {
            near.fraction: near for near in best_fractions(TARGETS[row["target"]], fraction.denominator)
        }
        near = found[fraction]
        assert row["kind"].split()[0].strip(",") == near.kind
        assert float(row["error_ppm"]) == pytest.approx(near.error_ppm, abs=1e-4)
        assert float(row["value"]) == pytest.approx(float(near.fraction), abs=1e-10)

    @in_one("row", [row for row in CONTINUED if row["kind"].startswith("convergent")])
    def test_place_and_term(self, row):
        # 'convergent a4=292': the one that ends with term number four, counted from zero.
        place = int(row["kind"].split("=")[0].removeprefix("convergent a"))
        assert convergents(TARGETS[row["target"]])[place] == ratio(row["fraction"])


class TestStandInsFor127:
    @in_one("row", rows("substitutes_for_127.csv"))
    def test_row(self, row):
        driver, driven = map(int, row["gears"].split("/"))
        (found,) = stand_ins("127/100", gears=[driver, driven], meshes=1, count=1)
        assert (found.drivers, found.driven) == ((driver,), (driven,))
        assert ratio(row["lowest_terms"]) == found.ratio
        assert float(row["error_of_ratio_ppm"]) == pytest.approx(found.error_ppm, abs=0.005)

    @in_one("row", rows("substitutes_for_127.csv"))
    def test_upside_down_it_is_the_pitch_error_of_a_metric_thread_from_inches(self, row):
        driver, driven = map(int, row["gears"].split("/"))
        upside_down = RelativeError(Fraction(driven, driver), Fraction(100, 127))
        assert float(row["pitch_error_ppm_metric_on_inch_leadscrew"]) == pytest.approx(upside_down.ppm, abs=0.005)
        found = {(near.drivers, near.driven): near for near in stand_ins("100/127", [driver, driven], meshes=1)}
        assert upside_down.ppm == found[(driven,), (driver,)].error_ppm


class TestPiOver25Point4:
    @in_one("row", rows("pi_over_25_4.csv"))
    def test_row(self, row):
        top, bottom = map(int, row["fraction"].split("/"))
        # Small counts that are no gears are made up to gears of the same ratio.
        times = 1 if top >= 6 and bottom <= 1000 else 6
        found = stand_ins(TARGETS["pi/25.4"], gears=[top * times, bottom * times], meshes=1)
        near = next(near for near in found if near.ratio == ratio(row["fraction"]))
        assert float(row["error_ppm"]) == pytest.approx(near.error_ppm, abs=0.005)
        assert float(row["value"]) == pytest.approx(float(near.ratio), abs=1e-10)
