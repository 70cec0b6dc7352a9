"""Error tables: columns, signs, what goes with what, and the HTML that shows them."""

from __future__ import annotations

import pickle
from fractions import Fraction
from math import isclose
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest

from gearcalc.basics.errors import ThreadTextError, ValueOutOfRangeError
from gearcalc.finding.setups import setup
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.papers.tables import captioned, pitch_error_table
from gearcalc.threads import Feed
from gearcalc.threads.deviations import judge
from tests.how_much import in_one

INCH = demo_lathe("inch")
HALF = setup(INCH, drivers=(40,), driven=(80,), lever="middle")  # 16 tpi, invented lathe
THIRD = setup(INCH, drivers=(40,), driven=(60,), lever="low")


class TestPitchErrorTable:
    def test_columns(self):
        table = pitch_error_table(HALF, "16 tpi")
        lengths = ["error_um_at_25mm", "error_um_at_100mm", "error_um_at_300mm"]
        assert list(table.columns) == ["thread", "setup", "error_ppm", *lengths, "share_used", "ok"]

    def test_signs_and_units_by_hand(self):
        # 1.5875 mm cut for 1.5 mm: too long by 0.0875/1.5; for 1.75 mm too short by 0.1625/1.75.
        table = pitch_error_table(HALF, ["M10", "M12"], lengths_mm=(100,))
        assert isclose(table["error_ppm"][0], 58333.333, rel_tol=1e-6)
        assert isclose(table["error_um_at_100mm"][0], 5833.3333, rel_tol=1e-6)
        assert isclose(table["error_um_at_100mm"][1], -9285.7143, rel_tol=1e-6)

    def test_agrees_with_the_verdict(self):
        table = pitch_error_table(HALF, ["M10", "1/2-16", "1/2 BSW"])
        for row in table.itertuples():
            verdict = judge(row.thread, row.error_ppm)
            assert row.ok is pd.NA if verdict.ok is None else row.ok == verdict.ok
            assert (
                np.isnan(row.share_used) if verdict.share_used is None else isclose(row.share_used, verdict.share_used)
            )

    def test_exact_is_exact(self):
        table = pitch_error_table(HALF, "16 tpi")
        assert (table.filter(like="error") == 0).all(axis=None)

    def test_setups_go_against_every_thread(self):
        table = pitch_error_table([HALF, THIRD], ["16 tpi", "M10"])
        assert len(table) == 4
        assert list(table["thread"]) == ["16 tpi", "16 tpi", "M10x1.5", "M10x1.5"]

    def test_a_setup_made_for_one_of_the_threads_goes_with_that_one(self):
        made = setup(INCH, drivers=(40,), driven=(80,), lever="middle", wanted="M10")
        table = pitch_error_table([made, THIRD], ["M10", "16 tpi"])
        assert list(table["thread"]) == ["M10x1.5", "M10x1.5", "16 tpi"]

    def test_a_setup_made_for_a_feed_goes_with_any(self):
        feeding = setup(INCH, drivers=(40,), driven=(80,), lever="middle", wanted=Feed.parse("0.1 mm/rev"))
        assert len(pitch_error_table(feeding, ["M10", "16 tpi"])) == 2

    def test_the_setup_is_told_with_its_lever(self):
        assert pitch_error_table(HALF, "M10")["setup"][0] == "40/80, lever middle"

    def test_lengths_of_ones_own(self):
        table = pitch_error_table(HALF, "M10", lengths_mm=[Fraction(127, 5), 12.5])
        assert [name for name in table if name.startswith("error_um")] == ["error_um_at_25.4mm", "error_um_at_12.5mm"]

    def test_nothing_asked_nothing_told(self):
        table = pitch_error_table([], ["M10"])
        assert table.empty
        assert "ok" in table.columns
        assert pitch_error_table(HALF, []).empty

    def test_no_units(self):
        with pytest.raises(ValueOutOfRangeError, match="'inch' or 'mm'"):
            pitch_error_table(HALF, "M10", units="yards")

    @in_one("wrong", [0, -25, float("nan"), "x", [], (25, 0), [1] * 21])
    def test_no_length(self, wrong):
        for threads in ("M10", []):
            with pytest.raises(ValueOutOfRangeError):
                pitch_error_table(HALF, threads, lengths_mm=wrong)

    @in_one("wrong", ["inch", None, 5, ["40/80"], [None]])
    def test_no_setup(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            pitch_error_table(wrong, "M10")

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            pitch_error_table(HALF, ["M10", "nonsense"])

    def test_a_lathe_gives_its_best_setup_of_each_thread(self):
        table = pitch_error_table(INCH, ["16 tpi", "M10"])
        assert list(table["thread"]) == ["16 tpi", "M10x1.5"]
        assert table["error_ppm"][0] == 0
        # The demo lathe has no 127, so no metric thread is exact (unique factorisation).
        assert 0 < abs(table["error_ppm"][1]) < 1000

    def test_a_lathe_that_can_not_cut_it_leaves_the_row_empty(self):
        bare = Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40]')
        table = pitch_error_table(bare, "M10")
        assert table["thread"][0] == "M10x1.5"
        assert table.drop(columns="thread").isna().all(axis=None)


class TestCaptioned:
    TABLE = captioned(pitch_error_table(HALF, ["16 tpi", "M10", "1/2 BSW"]), "Errors <of> 40/80", "A & note")

    def test_every_heading_has_words_and_scope(self):
        shown = ElementTree.fromstring(self.TABLE._repr_html_().split("<p>")[0])
        heads = shown.findall(".//thead//th")
        assert all(head.text and head.get("scope") == "col" for head in heads)
        assert [head.text for head in heads] == [
            "thread",
            "setup",
            "error",
            "over 25 mm",
            "over 100 mm",
            "over 300 mm",
            "share of tolerance used",
            "good enough",
        ]
        assert [head.get("scope") for head in shown.findall(".//tbody//th")] == ["row"] * 3
        assert shown.find("caption").text == "Errors <of> 40/80"

    def test_cells_have_units_and_unknowns_a_dash(self):
        shown = ElementTree.fromstring(self.TABLE._repr_html_().split("<p>")[0])
        cells = [[cell.text for cell in row] for row in shown.findall(".//tbody/tr")]
        assert cells[0][2] == "exact"
        assert cells[1][2].replace("\u202f", " ") == "+58 333 ppm"
        assert cells[1][3].replace("\u202f", " ") == "+1458.3 µm"
        assert cells[1][-1] == "no"
        assert cells[2][-2:] == ["–", "–"]

    def test_text_is_escaped(self):
        frame = pd.DataFrame({"<b>": ["<script>"]})
        shown = captioned(frame, "<i>", "<u>")._repr_html_()
        assert not any(tag in shown for tag in ("<b>", "<script>", "<i>", "<u>"))

    def test_a_named_index_is_the_first_column(self):
        frame = pd.DataFrame({"teeth": [40]}, index=pd.Index(["first driver"], name="place"))
        assert captioned(frame, "Gears").rows == [{"place": "first driver", "teeth": 40}]
        assert captioned(frame.reset_index(drop=True), "Gears").rows == [{"teeth": 40}]

    def test_rows_do_as_well_as_a_table_of_pandas(self):
        rows = [{"thread": "M10", "error_ppm": 125.0, "ok": True}, {"thread": "M8", "error_ppm": None, "ok": None}]
        shown = captioned(rows, "Errors")
        assert shown.rows == captioned(pd.DataFrame(rows), "Errors").rows
        assert shown._repr_html_() == captioned(pd.DataFrame(rows), "Errors")._repr_html_()
        assert str(shown).replace("\u202f", " ").splitlines() == [
            "Errors",
            "thread     error  good enough",
            "   M10  +125 ppm          yes",
            "    M8         –            –",
        ]

    def test_a_table_can_be_kept_for_later(self):
        kept = pickle.loads(pickle.dumps(pitch_error_table(HALF, "16 tpi")))
        assert list(kept["thread"]) == ["16 tpi"]
        assert type(kept).__name__ == "Frame"

    def test_empty(self):
        assert "nothing to show" in captioned(pd.DataFrame({"thread": []}), "Errors")._repr_html_()

    @pytest.mark.parametrize("wrong", ["", "  ", None, 5])
    def test_no_caption(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="caption"):
            captioned(pd.DataFrame({"a": [1]}), wrong)

    def test_reads_as_text(self):
        assert str(self.TABLE).startswith("Errors <of> 40/80\n")
