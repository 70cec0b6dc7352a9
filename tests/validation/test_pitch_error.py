"""A pitch error as a change of pitch diameter: cotangents of the flank angle, and shares of the tolerance."""

from __future__ import annotations

from fractions import Fraction
from math import isclose

from gearcalc.threads import Thread
from gearcalc.threads.deviations import deviation_um, flank_cotangent, judge
from tests.how_much import in_one
from tests.validation.published import rows

OF_EACH_FORM = {60: "M10", 55: "1/2 BSW", 47.5: "2 BA", 30: "Tr 40x7", 29: "1/2 Acme"}


class TestFlankCotangent:
    CASES = tuple(row for row in rows("flank_cotangents") if float(row["included_angle_deg"]) in OF_EACH_FORM)

    @in_one("row", CASES)
    def test_computed(self, row):
        thread = OF_EACH_FORM[float(row["included_angle_deg"])]
        assert isclose(float(row["cot_half_angle"]), flank_cotangent(thread), abs_tol=1e-6)

    def test_published_for_whitworth(self):
        # Lecture slides, Screw Thread Measurement (pvk): change of effective diameter = 1.92 δp at 55°.
        (row,) = rows("flank_cotangents", "S")
        assert float(row["published"]) == round(flank_cotangent(OF_EACH_FORM[55]), 2)

    def test_every_form_is_covered(self):
        assert len(OF_EACH_FORM) == len(self.CASES)


class TestShareOfTheTolerance:
    """Stand-ins for 127/100 on an inch leadscrew; computed, no published figure."""

    @in_one("row", rows("pitch_error_share"))
    def test_share(self, row):
        ratio = Fraction(row["substitute_for_127/100_on_inch_leadscrew"])
        ppm = (Fraction(127, 100) / ratio - 1) * 1_000_000  # the gear stands for 127 below the line
        thread, mm = Thread.parse(row["thread"]), Fraction(row["engagement_mm"])
        verdict = judge(thread, ppm, engagement_mm=mm)
        assert float(row["pitch_error_ppm"]) == round(verdict.error_ppm, 1)
        assert float(row["delta_p_over_L_um"]) == round(deviation_um(ppm, mm), 3)
        assert float(row["dE_um"]) == round(verdict.pitch_diameter_um, 3)
        assert float(row["Td2_6g_um"]) == verdict.tolerance_um
        assert float(row["percent_of_tolerance"]) == round(100 * verdict.share_used, 1)
