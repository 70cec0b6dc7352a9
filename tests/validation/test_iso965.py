"""Against ISO 965-1 and 965-2 (tolerances and limits of metric threads) and ISO 724 (basic dimensions).

Read in reprints of the standards' tables, as each row says; the rows from memory are checked apart from those read.
"""

from __future__ import annotations

from fractions import Fraction

from gearcalc.basics.files import read_rows
from gearcalc.threads import Thread
from gearcalc.threads.tolerances import (
    basic_minor_diameter,
    basic_pitch_diameter,
    length_of_engagement_group,
    pitch_diameter_limits,
    pitch_diameter_tolerance,
)
from tests.how_much import in_one
from tests.validation.published import label, rows

READ, FROM_MEMORY = ("S",), ("M",)
MISPRINTS = ("S!=",)
UM = Fraction(1, 1000)

# The R40 series of preferred numbers (ISO 3), 1 to 10; from memory.
R40 = [
    100, 106, 112, 118, 125, 132, 140, 150, 160, 170, 180, 190, 200, 212, 224, 236, 250, 265, 280, 300,
    315, 335, 355, 375, 400, 425, 450, 475, 500, 530, 560, 600, 630, 670, 710, 750, 800, 850, 900, 950,
]  # fmt: skip


def nearest_r40(um: float) -> int:
    """The nearest preferred number, then in whole µm (halves to the even one, as the tables have them)."""
    preferred = [Fraction(value, 100) * 10**power for power in range(1, 3) for value in R40]
    return round(min(preferred, key=lambda value: abs(value - um)))


def limits(row: dict[str, str]) -> tuple[Fraction, Fraction]:
    return Fraction(row["d2_min"]), Fraction(row["d2_max"])


def size_in_step(row: dict[str, str]) -> str:
    """A thread in the row's diameter step: on its upper bound, which still belongs to it."""
    return f"M{row['d_to']}x{row['P']}"


class TestTheFilesAreWhole:
    """So that a check can't pass because its rows have gone."""

    @in_one(
        ("name", "read"),
        [
            ("iso_limits_6g", 7),
            ("iso_limits_6H", 6),
            ("iso724_basic", 13),
            ("iso965_limits_read", 107),
            ("iso965_tolerances_read", 74),
            ("iso965_engagement_read", 47),
        ],
    )
    def test_rows_read_in_a_source(self, name, read):
        assert read == len(rows(name, *READ))


class TestIso724:
    @in_one("row", rows("iso724_basic", *READ, *FROM_MEMORY), label)
    def test_basic_pitch_and_minor_diameter(self, row):
        assert Fraction(row["d2_published"]) == basic_pitch_diameter(row["designation"])
        assert Fraction(row["D1_published"]) == basic_minor_diameter(row["designation"])


class TestLimitsOf6g:
    @in_one("row", rows("iso_limits_6g", *READ, *FROM_MEMORY), label)
    def test_pitch_diameter(self, row):
        smallest, largest = pitch_diameter_limits(row["thread"], "6g")
        assert (Fraction(row["d2_min_6g_pub"]), Fraction(row["d2_max_pub"])) == (smallest, largest)

    @in_one("row", [row for row in rows("iso_limits_6g") if row["d2_min_4g6g_pub"]], label)
    def test_pitch_diameter_of_4g6g(self, row):
        assert Fraction(row["d2_min_4g6g_pub"]) == pitch_diameter_limits(row["thread"], "4g6g").min_mm


class TestLimitsOf6H:
    @in_one("row", rows("iso_limits_6H", *READ, *FROM_MEMORY), label)
    def test_pitch_diameter(self, row):
        smallest, largest = pitch_diameter_limits(row["thread"], row["class"])
        assert (Fraction(row["D2_min_pub"]), Fraction(row["D2_max_pub"])) == (smallest, largest)


class TestLimitsInReprints:
    """6g, 6h, 4g6g and 6H in a fastener catalogue, an encyclopedia, a handbook and a tap user guide."""

    @in_one("row", rows("iso965_limits_read", *READ), label)
    def test_pitch_diameter(self, row):
        assert limits(row) == pitch_diameter_limits(row["thread"], row["class"])

    @in_one("row", rows("iso965_limits_read", *MISPRINTS), label)
    def test_a_misprint_is_contradicted_by_another_reprint(self, row):
        others = [other for other in rows("iso965_limits_read", *READ) if label(other) == label(row)]
        assert others
        assert all(limits(other) != limits(row) for other in others)


class TestTolerancesInReprints:
    """4H, 5H, 6H and the deviation G in a tap catalogue; grade 6 in ISO 965-4 (class 6az) and in thread tables."""

    @in_one("row", rows("iso965_tolerances_read", *READ), label)
    def test_tolerance(self, row):
        if row["class"] == "G":
            start = pitch_diameter_limits(row["thread"], "6G").min_mm
            assert int(row["um"]) * UM == start - basic_pitch_diameter(row["thread"])
        else:
            assert int(row["um"]) == pitch_diameter_tolerance(row["thread"], row["class"]).um


def cell_name(row) -> str:
    return f"{row['kind']} {row['d_over_mm']} to {row['d_to_mm']}, {row['pitch_mm']}"


class TestGrade6Table:
    """The table rules; the formula of the standard, rounded to the R40 series, is the cross-check."""

    TABLE = rows("iso965_grade6_tolerances")

    @in_one("row", TABLE, size_in_step)
    def test_ours_is_the_table(self, row):
        assert int(row["Td2_6_table_um"]) == pitch_diameter_tolerance(size_in_step(row), "6h").um
        assert int(row["TD2_6_table_um"]) == pitch_diameter_tolerance(size_in_step(row), "6H").um

    def test_the_formula_misses_only_the_cells_that_say_so(self):
        missed = {}
        for row in read_rows("tolerances/iso965_pitch_diameter.csv"):
            low, high, pitch = (float(row[name]) for name in ("d_over_mm", "d_to_mm", "pitch_mm"))
            formula = 90 * pitch**0.4 * (low * high) ** 0.05
            by_formula = nearest_r40(formula if row["kind"] == "external" else 1.32 * formula)
            if by_formula != int(row["grade6_um"]):
                missed[row["kind"], low, pitch] = by_formula
                assert f"; the formula gives {by_formula}" in row["source"]
            else:
                assert "; the formula gives" not in row["source"]
        assert {key for key in missed if key[0] == "external"} == {("external", 2.8, 0.5), ("external", 45.0, 5.0)}
        assert len(missed) == 9

    @in_one("row", TABLE, size_in_step)
    def test_internal_is_five_r40_steps_above_external(self, row):
        # Rule from memory; it is why table cells that the formula misses still hang together.
        external, internal = int(row["Td2_6_table_um"]), int(row["TD2_6_table_um"])
        whole = [round(value * 10**power / 100) for power in range(1, 3) for value in R40]
        assert whole[whole.index(external) + 5] == internal


class TestOtherGrades:
    """ISO 3: every width that is worked out is a preferred number of the R40 series, whole steps from grade 6."""

    @in_one("row", read_rows("tolerances/iso965_pitch_diameter.csv"), cell_name)
    def test_whole_steps(self, row):
        whole = [round(value * 10**power / 100) for power in range(1, 3) for value in R40]
        letter = "H" if row["kind"] == "internal" else "h"
        thread = f"M{row['d_to_mm']}x{row['pitch_mm']}"
        for grade in (4, 5, 7, 8):
            if grade == 8 and float(row["pitch_mm"]) < 0.8:
                continue
            expected = whole[whole.index(int(row["grade6_um"])) + 4 * (grade - 6)]
            assert expected == pitch_diameter_tolerance(thread, f"{grade}{letter}").um


class TestDeviationG:
    TABLE = rows("iso965_deviation_g")

    @in_one("row", TABLE, label)
    def test_g_and_its_mirror(self, row):
        ours = {
            cell["position"]: int(cell["deviation_um"])
            for cell in read_rows("tolerances/iso965_deviations.csv")
            if Fraction(cell["pitch_mm"]) == Fraction(row["P"])
        }
        assert {"g": int(row["es_g_um"]), "G": int(row["EI_G_table_um"])} == ours

    def test_the_formula_misses_one_pitch(self):
        missed = [row["P"] for row in self.TABLE if nearest_r40(15 + 11 * float(row["P"])) != int(row["EI_G_table_um"])]
        assert missed == ["0.75"]


class TestLengthsOfEngagement:
    @in_one("row", rows("iso965_engagement_read", *READ), label)
    def test_bounds_of_the_normal_group(self, row):
        just_over = UM
        over, to = Fraction(row["normal_over"]), Fraction(row["normal_to"])
        groups = [length_of_engagement_group(row["thread"], mm) for mm in (over, over + just_over, to, to + just_over)]
        assert groups == ["S", "N", "N", "L"]

    @in_one("row", rows("iso965_engagement_from_memory"), label)
    def test_the_table_from_memory_agrees(self, row):
        assert length_of_engagement_group(row["thread"], Fraction(row["lN_to_table"])) == "N"
        assert length_of_engagement_group(row["thread"], Fraction(row["lN_over_table"])) == "S"

    def test_the_formula_is_near_the_table(self):
        # 2.24 P d^0.2 and 6.7 P d^0.2, d the smallest diameter in the step with that pitch (reprint of ASME B1.13M);
        # here the lower end of the step, so the table may lie above by what the step allows.
        for row in read_rows("tolerances/iso965_engagement.csv"):
            pitch, low, high = (float(row[name]) for name in ("pitch_mm", "d_over_mm", "d_to_mm"))
            for factor, name in ((2.24, "normal_over_mm"), (6.7, "normal_to_mm")):
                bound = float(row[name])
                assert 0.9 * factor * pitch * low**0.2 <= bound <= 1.1 * factor * pitch * high**0.2


class TestStatusOfOurTable:
    def test_a_cell_called_read_is_backed_by_limits_read(self):
        """Every S cell of the grade 6 table can be worked back from a row that was read."""
        backed = set()
        for row in [*rows("iso965_limits_read", *READ), *rows("iso965_tolerances_read", *READ)]:
            if row["class"] in ("6g", "6h", "6H"):
                backed.add(self.cell(row["thread"], row["class"]))
        for row in rows("iso_limits_6g", *READ):
            backed.add(self.cell(row["thread"], "6g"))
        for row in rows("iso_limits_6H", *READ):
            if row["class"] == "6H":
                backed.add(self.cell(row["thread"], "6H"))
        called_read = {
            (row["kind"], row["d_over_mm"], row["pitch_mm"])
            for row in read_rows("tolerances/iso965_pitch_diameter.csv")
            if row["status"] == "S" and "tap data sheet" not in row["source"]
        }
        assert called_read <= backed

    @staticmethod
    def cell(thread: str, tolerance_class: str) -> tuple[str, str, str]:
        parsed = Thread.parse(thread)
        kind = "internal" if tolerance_class.endswith("H") else "external"
        for row in read_rows("tolerances/iso965_pitch_diameter.csv"):
            low, high = Fraction(row["d_over_mm"]), Fraction(row["d_to_mm"])
            if row["kind"] == kind and low < parsed.major_mm <= high and Fraction(row["pitch_mm"]) == parsed.pitch:
                return kind, row["d_over_mm"], row["pitch_mm"]
        raise AssertionError(f"no cell for {thread}")
