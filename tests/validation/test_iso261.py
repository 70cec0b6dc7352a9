"""Against ISO 261 (metric threads, general plan): pitches of the coarse and the fine series, second-hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.validation.cases import cases
from tests.validation.published import label, rows


class TestISO261CoarseSecondHand:
    @in_one("row", cases("iso261_coarse", "designation"))
    def test_size_alone_means_the_coarse_pitch(self, row):
        thread = Thread.parse(row["designation"])
        assert (thread.pitch_mm, thread.major_mm) == (Fraction(row["P_mm"]), Fraction(row["d_mm"]))
        assert (thread.thread_angle_deg, thread.standard) == (60, "ISO 261")


class TestISO261FineSecondHand:
    @in_one("row", cases("iso261_fine", "designation", "T"))
    def test_size_and_pitch(self, row):
        thread = Thread.parse(row["designation"])
        assert (thread.pitch_mm, thread.major_mm) == (Fraction(row["P_mm"]), Fraction(row["d_mm"]))
        assert thread.standard == "ISO 261"

    @pytest.mark.parametrize("row", rows("iso261_fine", "S!="), ids=label)
    def test_a_size_in_doubt_claims_no_standard(self, row):
        assert Thread.parse(row["designation"]).standard is None

    def test_a_fine_pitch_is_finer_than_the_coarse_one_of_its_size(self):
        coarse = {Fraction(row["d_mm"]): Fraction(row["P_mm"]) for row in rows("iso261_coarse")}
        fine = [(Fraction(row["d_mm"]), Fraction(row["P_mm"])) for row in rows("iso261_fine")]
        assert all(pitch < coarse[size] for size, pitch in fine if size in coarse)
